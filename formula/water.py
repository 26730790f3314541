"""Water temperature: how warm the water must be so that the dough leaves the mixer at its temperature.

The rule of the trade takes the dough's temperature as the plain mean of everything that goes in, the friction of the
mixer added: N times the dough temperature is the sum of the N temperatures of flour, room, preferments and water, and
the friction factor.  Where the dough's own rise is given instead of a factor, it counts N times.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar, Final, cast

from attrs import frozen

from .errors import UnknownNameError
from .friction import (
    RISE_RULE,
    Friction,
    Given,
    MixTemperatures,
    Preferments,
    friction_from_rise_k,
    read_mix,
    sum_units,
)
from .quantity import DIFFERENCE, TEMPERATURE, Door, Measure, View
from .sources import Constant
from .working import Caution, Step, Working, shown
from .yeast import yeast_form

__all__ = [
    "COLDEST_DRAWN",
    "FRESH_YEAST_LIMIT",
    "YEAST_LIMIT",
    "DoughTemperature",
    "WaterTemperature",
    "dough_temperature",
    "dough_temperature_c",
    "read_friction",
    "read_yeast",
    "water_cautions",
    "water_temperature",
    "water_temperature_c",
]

COLDEST_DRAWN: Final = Constant(2.0, "°C", 1.0, "levapan-31", "coldest practical water without ice, 2 to 3 °C")
YEAST_LIMIT: Final = Constant(50.0, "°C", 0.0, "go2hr-2015", "chapter 35, Using Yeast: 50 °C (122 °F)")
FRESH_YEAST_LIMIT: Final = Constant(
    35.0, "°C", 0.0, "gardiner-wilson-1998", "liquid for compressed yeast, 35 °C (95 °F)"
)


def water_temperature_c(dough_c: float, known_c: Sequence[float], friction_k: float) -> float:
    """Return the water temperature: N * dough - sum(known) - friction, where N = number known + 1.

    Args:
        dough_c: desired dough temperature, °C.
        known_c: temperatures of flour, room and preferments, °C each.
        friction_k: friction factor on the scale of the sum, K.

    Example:
        >>> water_temperature_c(24.0, (20.0, 21.0), 2.0)
        29.0
    """
    return (len(known_c) + 1) * dough_c - sum(known_c) - friction_k


def dough_temperature_c(known_c: Sequence[float], water_c: float, friction_k: float) -> float:
    """Return the dough temperature: (sum(known) + water + friction) / N, where N = number known + 1.

    Args:
        known_c: temperatures of flour, room and preferments, °C each.
        water_c: water temperature, °C.
        friction_k: friction factor on the scale of the sum, K.

    Example:
        >>> dough_temperature_c((20.0, 21.0), 29.0, 2.0)
        24.0
    """
    return (sum(known_c) + water_c + friction_k) / (len(known_c) + 1)


@frozen
class _Rule(MixTemperatures):
    """The rule with its friction: ``friction`` on the sum scale, ``rise`` of the dough itself, one of them ``given``."""

    friction_k: float
    rise_k: float
    given: Given

    friction: ClassVar[View] = View(
        DIFFERENCE, "friction_k", "The friction factor, a temperature difference on the sum scale."
    )
    rise: ClassVar[View] = View(DIFFERENCE, "rise_k", "How much the mixer warms the dough itself.")

    def friction_steps(self) -> tuple[Step, ...]:
        """Show how a rise becomes a friction factor; nothing where the factor was given."""
        if self.given == "friction":
            return ()
        values = {"N": float(self.measured_count), "rise": self.rise_k}
        note = "from the dough's own rise to the sum scale"
        return (Step("friction", "N * rise", values, self.friction_k, "K", RISE_RULE, note, {"N": "1", "rise": "K"}),)


@frozen
class WaterTemperature(_Rule):
    """The water temperature for a dough temperature; ``friction`` on the sum scale, ``rise`` that of the dough itself."""

    dough_c: float
    yeast: str
    temperature_c: float
    cautions: tuple[Caution, ...] = ()

    dough: ClassVar[View] = View(TEMPERATURE, "dough_c", "The desired dough temperature.")
    temperature: ClassVar[View] = View(TEMPERATURE, "temperature_c", "The water temperature.")

    def working(self) -> Working:
        """Show the steps; the last line is the water temperature."""
        values = {"N": float(self.measured_count), "T_dough": self.dough_c, **self.named_c, "friction": self.friction_k}
        expression = " - ".join(("N * T_dough", *self.named_c, "friction"))
        water = Step("T_water", expression, values, self.temperature_c, "°C", self.rule, units=sum_units(values))
        steps = (*self.friction_steps(), water)
        return Working("Water temperature", steps, self.cautions)


@frozen
class DoughTemperature(_Rule):
    """The dough temperature that a water temperature leads to."""

    water_c: float
    temperature_c: float
    cautions: tuple[Caution, ...] = ()

    water: ClassVar[View] = View(TEMPERATURE, "water_c", "The water's temperature.")
    temperature: ClassVar[View] = View(TEMPERATURE, "temperature_c", "The dough temperature.")

    def working(self) -> Working:
        """Show the steps; the last line is the dough temperature."""
        values = {**self.named_c, "T_water": self.water_c, "friction": self.friction_k}
        expression = f"({' + '.join(values)}) / N"
        count = {"N": float(self.measured_count)}
        units = sum_units(values | count)
        dough = Step("T_dough", expression, values | count, self.temperature_c, "°C", self.rule, units=units)
        steps = (*self.friction_steps(), dough)
        return Working("Dough temperature", steps, self.cautions)


def water_temperature(
    dough: Measure,
    *,
    flour: Measure,
    room: Measure | None = None,
    friction: Measure | Friction | None = None,
    rise: Measure | None = None,
    preferments: Preferments = (),
    yeast: str | None = None,
) -> WaterTemperature:
    """Find the water temperature for a dough temperature: T_water = N * T_dough - sum of the known - friction.

    Args:
        dough: desired dough temperature.
        flour: flour temperature.
        room: room temperature; None drops the room from the rule.
        friction: friction factor, a temperature difference on the scale of the sum, or the result of
            ``friction_factor``, ``friction_from_trials`` or ``friction_from_minutes``; "0 K" for a dough mixed by hand.
        rise: instead of ``friction``: how much the mixer warms the dough itself; the factor is then N * rise.
        preferments: temperature of the preferment, or of each of several.
        yeast: the form of yeast that is stirred into this water, if any; see ``yeast_form``.

    Returns:
        ``temperature``, with cautions where it cannot be poured ("needs-ice": see ``ice_for``), is colder than water is
        drawn in practice ("very-cold"), kills yeast ("too-hot-for-yeast"), scalds ("scald"), cannot be water at all
        ("steam") or harms fresh yeast stirred into it ("too-warm-for-fresh-yeast").

    Raises:
        QuantityError: for every bad argument at once; both or neither of ``friction`` and ``rise``; a friction factor
            measured with another number of temperatures.

    Accuracy: the rule gives flour, room and water equal weight, whatever their masses and heats.  It is good near the
    conditions its friction was measured under; for other masses or for ice, a heat balance is the better tool.

    Example:
        >>> water_temperature("24 °C", flour="20 °C", room="21 °C", friction="2 K").temperature_c
        29.0
    """
    with Door() as door:
        dough_c = door.read(TEMPERATURE, dough, "dough")
        mix = read_mix(door, flour, room, preferments)
        friction_k, rise_k, given = read_friction(door, friction, rise, mix.measured_count)
        form = read_yeast(door, yeast)
    temperature_c = water_temperature_c(dough_c, mix.known_c, friction_k)
    return WaterTemperature(
        flour_c=mix.flour_c,
        room_c=mix.room_c,
        preferments_c=mix.preferments_c,
        dough_c=dough_c,
        friction_k=friction_k,
        rise_k=rise_k,
        given=given,
        yeast=form,
        temperature_c=temperature_c,
        cautions=water_cautions(temperature_c, form),
    )


def dough_temperature(
    *,
    flour: Measure,
    water: Measure,
    room: Measure | None = None,
    friction: Measure | Friction | None = None,
    rise: Measure | None = None,
    preferments: Preferments = (),
) -> DoughTemperature:
    """Find the dough temperature that comes out: T_dough = (sum of the known + T_water + friction) / N.

    Args:
        flour: flour temperature.
        water: water temperature; below freezing it stands for ice.
        room: room temperature; None drops the room from the rule.
        friction: friction factor, a temperature difference on the scale of the sum, or the result of
            ``friction_factor``, ``friction_from_trials`` or ``friction_from_minutes``; "0 K" for a dough mixed by hand.
        rise: instead of ``friction``: how much the mixer warms the dough itself; the factor is then N * rise.
        preferments: temperature of the preferment, or of each of several.

    Returns:
        ``temperature``, with the cautions about the water that ``water_temperature`` gives.

    Raises:
        QuantityError: for every bad argument at once, as ``water_temperature`` does.

    Accuracy: as for ``water_temperature``, whose inverse this is.

    Example:
        >>> dough_temperature(flour="21 °C", water="31 °C", friction="0 K").temperature_c
        26.0
    """
    with Door() as door:
        water_c = door.read(TEMPERATURE, water, "water")
        mix = read_mix(door, flour, room, preferments)
        friction_k, rise_k, given = read_friction(door, friction, rise, mix.measured_count)
    return DoughTemperature(
        flour_c=mix.flour_c,
        room_c=mix.room_c,
        preferments_c=mix.preferments_c,
        water_c=water_c,
        friction_k=friction_k,
        rise_k=rise_k,
        given=given,
        temperature_c=dough_temperature_c(mix.known_c, water_c, friction_k),
        cautions=water_cautions(water_c, ""),
    )


def read_friction(
    door: Door, friction: Measure | Friction | None, rise: Measure | None, count: int
) -> tuple[float, float, Given]:
    """Read the one of friction and rise that is given, and return both and which it was."""
    if (friction is None) == (rise is None):
        got = "neither" if friction is None else "both"
        mend = 'give one; friction="0 K" for a dough mixed by hand' if friction is None else "leave one out"
        expected = "one of friction (on the scale of the sum) and rise (of the dough itself)"
        door.refuse("friction", got, expected, mend)
        return 0.0, 0.0, "friction"
    if rise is not None:
        rise_k = door.read(DIFFERENCE, rise, "rise")
        return friction_from_rise_k(rise_k, count), rise_k, "rise"
    if isinstance(friction, Friction):
        if friction.count != count:
            got = f"a factor for {friction.count} temperatures"
            mend = f"rescale it: friction.for_count({count})"
            door.refuse("friction", got, f"one for the {count} temperatures of this mix", mend)
        return friction.friction_k, friction.rise_k, "friction"
    friction_k = door.read(DIFFERENCE, cast("Measure", friction), "friction")
    return friction_k, friction_k / count, "friction"


def read_yeast(door: Door, yeast: str | None) -> str:
    """Read the form of a yeast; "" if none is named, and an unknown one is noted at the door."""
    if yeast is None:
        return ""
    try:
        return yeast_form(yeast, "yeast").name
    except UnknownNameError as error:
        door.faults.extend(error.faults)
        return ""


def water_cautions(water_c: float, yeast: str) -> tuple[Caution, ...]:
    """Return what must be known of water of a temperature, and of the form of yeast ("" for none) stirred into it."""
    shown_c = f"{shown(water_c, 4)} °C"
    found: list[Caution] = []
    if water_c < 0:
        found.append(Caution("needs-ice", f"Water of {shown_c} cannot be poured: weigh part of it as ice (ice_for)."))
    elif water_c < COLDEST_DRAWN.value:
        text = f"Water of {shown_c} is colder than it is drawn in practice without ice, 2 to 3 °C."
        found.append(Caution("very-cold", text))
    if water_c >= 100:
        found.append(Caution("steam", f"There is no water of {shown_c}: warm the flour, the room or the preferment."))
    if water_c > YEAST_LIMIT.value:
        text = f"Water of {shown_c} kills yeast: none may meet water above 50 °C (122 °F)."
        found.append(Caution("too-hot-for-yeast", text))
        found.append(Caution("scald", f"Water of {shown_c} scalds: carry it covered and pour it away from you."))
    elif yeast == "fresh" and water_c > FRESH_YEAST_LIMIT.value:
        text = f"Water of {shown_c} is too warm to stir fresh yeast into: at most 35 °C (95 °F)."
        found.append(Caution("too-warm-for-fresh-yeast", text))
    return tuple(found)
