"""Friction: how much a mixer warms a dough, and on which scale that is said.

Two figures are called friction.  The *friction factor* stands on the scale of a sum of N temperatures: flour, room,
preferments and water.  The *rise* is what a thermometer in the dough shows, 1/N of it.  The trade prints both, often
under one name.  A factor is good for the number of temperatures it was measured with and no other: a
``FrictionFactor`` remembers it, and ``for_count`` rescales.  Every result here and in ``trials`` is a ``Friction`` and
may be handed on as ``friction=``.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, ClassVar, Final, Literal, TypeAlias, cast

from attrs import frozen

from .errors import Fault, QuantityError
from .quantity import DIFFERENCE, TEMPERATURE, Door, Measure, OptionalView, View, view
from .working import Caution, Step, Working, shown

if TYPE_CHECKING:
    from .quantity import Quantity

__all__ = [
    "RISE_RULE",
    "Friction",
    "FrictionFactor",
    "Given",
    "MixTemperatures",
    "Preferments",
    "check_count",
    "count_fault",
    "friction_factor",
    "friction_factor_k",
    "friction_from_rise_k",
    "read_mix",
]

Preferments: TypeAlias = "Measure | Iterable[Measure]"
Given = Literal["friction", "rise"]

FACTOR_RULE: Final = "sfbi-2009"
"""Where the rule with the friction factor was read."""
TWO_TEMPERATURE_RULE: Final = "two-temperatures-2010"
"""Where the older rule, without the room, was read."""
RISE_RULE: Final = "kneading-rise-2021"
"""Where the rule with the dough's own rise was read."""


def friction_factor_k(dough_c: float, known_c: Sequence[float], water_c: float) -> float:
    """Return the friction factor of a trial mix: N * dough - sum(known) - water, where N = number known + 1.

    Args:
        dough_c: temperature at which the dough came off, °C.
        known_c: temperatures of flour, room and preferments, °C each.
        water_c: water temperature, °C.

    Example:
        >>> friction_factor_k(24.0, (20.0, 21.0), 29.0)
        2.0
    """
    return (len(known_c) + 1) * dough_c - sum(known_c) - water_c


def friction_from_rise_k(rise_k: float, count: int) -> float:
    """Return the friction factor that a rise of the dough makes on the scale of the sum: N * rise.

    Args:
        rise_k: how much the mixer warms the dough itself, K.
        count: N, the number of temperatures in the sum, that of the water included.

    Example:
        >>> friction_from_rise_k(3.0, 4)
        12.0
    """
    return count * rise_k


def count_fault(count: object, where: str = "count") -> Fault | None:
    """Return what is wrong with a number of temperatures, or None: it is a whole number of 2 or more."""
    if isinstance(count, int) and not isinstance(count, bool) and count >= 2:
        return None
    return Fault(where, repr(count), "a whole number of 2 or more", "count flour, room, preferments and water")


def check_count(count: object) -> None:
    """Raise a ``QuantityError`` unless the count is a whole number of 2 or more."""
    fault = count_fault(count)
    if fault is not None:
        raise QuantityError(fault)


class Friction:
    """What every friction factor answers, wherever it comes from; it may stand wherever ``friction=`` is asked for.

    ``friction`` stands on the sum scale of ``count`` temperatures and holds for no other number; ``rise`` is the dough's
    own and holds for any.
    """

    __slots__ = ()

    friction_k: float
    count: int

    friction: ClassVar[View] = View(DIFFERENCE, "friction_k", "The factor, a temperature difference on the sum scale.")

    @property
    def rise_k(self) -> float:
        """How much the mixer warms the dough itself, K."""
        return self.friction_k / self.count

    rise: ClassVar[View] = View(DIFFERENCE, "rise_k", "How much the mixer warms the dough itself.")

    def for_count(self, count: int) -> Friction:
        """Rescale the factor to another number of temperatures: friction * count / measured count."""
        raise NotImplementedError


@frozen
class MixTemperatures:
    """What goes into the mixer apart from the water; three results stand on it."""

    flour_c: float
    room_c: float | None
    preferments_c: tuple[float, ...]

    flour: ClassVar[View] = View(TEMPERATURE, "flour_c", "The flour's temperature.")
    room: ClassVar[OptionalView] = OptionalView(
        TEMPERATURE, "room_c", "The room's temperature, or None where the rule leaves it out."
    )

    @property
    def preferments(self) -> tuple[Quantity, ...]:
        """The temperatures of the preferments."""
        return tuple(view(TEMPERATURE, value) for value in self.preferments_c)

    @property
    def measured_count(self) -> int:
        """N: the number of temperatures in the sum, that of the water included."""
        return len(self.known_c) + 1

    @property
    def rule(self) -> str:
        """The id of the source of the rule that holds for these temperatures."""
        return FACTOR_RULE if self.room_c is not None else TWO_TEMPERATURE_RULE

    @property
    def known_c(self) -> tuple[float, ...]:
        """The temperatures of flour, room and preferments, °C."""
        return tuple(self.named_c.values())

    @property
    def named_c(self) -> dict[str, float]:
        """The same with the symbols of the working."""
        named = {"T_flour": self.flour_c}
        if self.room_c is not None:
            named["T_room"] = self.room_c
        if len(self.preferments_c) == 1:
            named["T_preferment"] = self.preferments_c[0]
        else:
            named |= {f"T_preferment_{place}": value for place, value in enumerate(self.preferments_c, 1)}
        return named


@frozen
class FrictionFactor(MixTemperatures, Friction):
    """The friction factor of a mixer and a dough, on the sum scale of ``count`` temperatures.

    ``friction`` holds for ``count`` temperatures only; ``rise`` is the dough's own rise and holds for any number.
    """

    dough_c: float
    water_c: float
    friction_k: float
    count: int
    cautions: tuple[Caution, ...] = ()

    dough: ClassVar[View] = View(TEMPERATURE, "dough_c", "The temperature at which the dough came off the mixer.")
    water: ClassVar[View] = View(TEMPERATURE, "water_c", "The water's temperature.")

    def for_count(self, count: int) -> FrictionFactor:
        """Rescale the factor to another number of temperatures: friction * count / measured count.

        Args:
            count: N, the number of temperatures in the new sum, that of the water included: 2 or more.

        Raises:
            QuantityError: when ``count`` is no whole number of 2 or more.

        Example:
            >>> factor = friction_factor(dough="26 °C", flour="22 °C", room="22 °C", water="25 °C")
            >>> factor.friction_k, factor.for_count(4).friction_k
            (9.0, 12.0)
        """
        check_count(count)
        # Always from the trial mix, so that there and back is the very same factor.
        measured_k = friction_factor_k(self.dough_c, self.known_c, self.water_c)
        friction_k = measured_k if count == self.measured_count else measured_k * count / self.measured_count
        return FrictionFactor(
            flour_c=self.flour_c,
            room_c=self.room_c,
            preferments_c=self.preferments_c,
            dough_c=self.dough_c,
            water_c=self.water_c,
            friction_k=friction_k,
            count=count,
            cautions=self.cautions,
        )

    def working(self) -> Working:
        """Show the steps; the last line is the friction factor."""
        measured_k = friction_factor_k(self.dough_c, self.known_c, self.water_c)
        values = {"N": float(self.measured_count), "T_dough": self.dough_c, **self.named_c, "T_water": self.water_c}
        expression = " - ".join(("N * T_dough", *self.named_c, "T_water"))
        note = f"on the sum scale of {self.measured_count} temperatures"
        steps = [Step("friction", expression, values, measured_k, "K", self.rule, note, sum_units(values))]
        if self.count != self.measured_count:
            both = {"friction": measured_k, "M": float(self.count), "N": float(self.measured_count)}
            note = f"rescaled to {self.count} temperatures"
            units = {"M": "1", "N": "1"}
            steps.append(Step("friction_new", "friction * M / N", both, self.friction_k, "K", RISE_RULE, note, units))
        return Working("Friction factor from a trial mix", tuple(steps), self.cautions)


def sum_units(names: Iterable[str]) -> dict[str, str]:
    """Return the unit of each name in a step of the rule: degrees, their differences and the count.

    Example:
        >>> sum_units(("N", "T_dough", "friction"))
        {'N': '1', 'T_dough': '°C', 'friction': 'K'}
    """
    return {name: {"N": "1", "friction": "K"}.get(name, "°C") for name in names}


def friction_factor(
    *,
    dough: Measure,
    flour: Measure,
    water: Measure,
    room: Measure | None = None,
    preferments: Preferments = (),
) -> FrictionFactor:
    """Find the friction factor from a trial mix: friction = N * T_dough - sum of the known - T_water.

    Args:
        dough: temperature at which the dough came off the mixer.
        flour: flour temperature.
        water: water temperature.
        room: room temperature; None drops the room from the rule.
        preferments: temperature of the preferment, or of each of several.

    Returns:
        ``friction`` on the sum scale with the ``count`` of temperatures it holds for, and ``rise``, the dough's own.

    Raises:
        QuantityError: for every bad argument at once.

    Accuracy: an error of 1 K in the dough's temperature is one of N kelvins in the factor.  The factor belongs to the
    mixer, the speed, the time and the size of the dough it was measured with.

    Example:
        >>> factor = friction_factor(dough="24 °C", flour="20 °C", room="21 °C", water="29 °C")
        >>> factor.friction_k, factor.count
        (2.0, 3)
    """
    with Door() as door:
        dough_c = door.read(TEMPERATURE, dough, "dough")
        water_c = door.read(TEMPERATURE, water, "water")
        mix = read_mix(door, flour, room, preferments)
    friction_k = friction_factor_k(dough_c, mix.known_c, water_c)
    found: tuple[Caution, ...] = ()
    if friction_k < 0:
        text = f"The factor is {shown(friction_k)} K: no mixer cools a dough, unless it has a cold jacket; check the readings."
        found = (Caution("negative-friction", text),)
    return FrictionFactor(
        flour_c=mix.flour_c,
        room_c=mix.room_c,
        preferments_c=mix.preferments_c,
        dough_c=dough_c,
        water_c=water_c,
        friction_k=friction_k,
        count=mix.measured_count,
        cautions=found,
    )


def read_mix(door: Door, flour: Measure, room: Measure | None, preferments: Preferments) -> MixTemperatures:
    """Read the temperatures that go into the rule besides the water; bad ones are noted at the door."""
    flour_c = door.read(TEMPERATURE, flour, "flour")
    room_c = None if room is None else door.read(TEMPERATURE, room, "room")
    # A scalar quantity has a magnitude, and claims to be iterable as well.
    one = isinstance(preferments, str) or hasattr(preferments, "magnitude") or not isinstance(preferments, Iterable)
    if one:
        given = {"preferments": cast("Measure", preferments)}
    else:
        given = {f"preferments[{place}]": value for place, value in enumerate(cast("Iterable[Measure]", preferments))}
    preferments_c = tuple(door.read(TEMPERATURE, value, where) for where, value in given.items())
    return MixTemperatures(flour_c=flour_c, room_c=room_c, preferments_c=preferments_c)
