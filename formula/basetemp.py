"""Base temperature: the whole rule in one number, as French and Spanish bakers write it on the wall.

The base is a *sum* of temperatures: flour, room and water (and preferments) must add up to it.  So it has no unit of a
single temperature, and no quantity of one: 54 °C is 129.2 °F as a temperature, but as a sum of three it is 193.2 °F,
since each of the three brings its own 32.  It is read and written here as text, with the number of temperatures summed.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import ClassVar, Final

from attrs import frozen

from .errors import Fault, QuantityError
from .friction import (
    RISE_RULE,
    Friction,
    Given,
    MixTemperatures,
    Preferments,
    check_count,
    count_fault,
    read_mix,
)
from .quantity import DIFFERENCE, TEMPERATURE, Door, Measure, View
from .readerunits import with_units
from .sources import Constant
from .units import Kind, Unit, parse, write
from .water import read_friction, read_yeast, water_cautions
from .working import Caution, Step, Working, shown

__all__ = [
    "BASE_RULE",
    "HIGHEST_PRINTED_BASE",
    "LOWEST_PRINTED_BASE",
    "BaseTemperature",
    "WaterFromBase",
    "base_cautions",
    "base_in_celsius",
    "base_in_fahrenheit",
    "base_temperature",
    "base_temperature_c",
    "read_base",
    "read_base_at",
    "water_from_base",
    "water_from_base_c",
    "write_base",
]

_UNITS: Final = {"1": "N", "K": "rise friction", "°C": "T", "°C summed": "base"}

BASE_RULE: Final = "base-temperature-sheet"
"""Where the rule with the base temperature was read."""
LOWEST_PRINTED_BASE: Final = Constant(48.0, "°C", 0.0, "base-temperatures-printed", "the lowest of those read")
HIGHEST_PRINTED_BASE: Final = Constant(70.0, "°C", 0.0, "base-temperatures-printed", "the highest, for work by hand")
_FAR_K: Final = 10.0
"""How far beyond the printed bases one is worth a second look; our own judgement."""


def base_temperature_c(dough_c: float, friction_k: float, count: int = 3) -> float:
    """Return the base temperature: N * dough - friction, a sum of N temperatures.

    Args:
        dough_c: desired dough temperature, °C.
        friction_k: friction factor on the scale of the sum, K.
        count: N, the number of temperatures in the sum, that of the water included.

    Example:
        >>> base_temperature_c(24.0, 14.0)
        58.0
    """
    return count * dough_c - friction_k


def water_from_base_c(base_c: float, known_c: tuple[float, ...]) -> float:
    """Return the water temperature: base - sum(known).

    Args:
        base_c: base temperature, the sum of all temperatures, °C.
        known_c: temperatures of flour, room and preferments, °C each.

    Example:
        >>> water_from_base_c(58.0, (18.0, 18.0))
        22.0
    """
    return base_c - sum(known_c)


def base_in_fahrenheit(base_c: float, count: int = 3) -> float:
    """Return a base temperature on the other scale: base * 9/5 + 32 for each of the ``count`` temperatures summed.

    Example:
        >>> base_in_fahrenheit(58.0), base_in_fahrenheit(80.0, count=4)
        (200.4, 272.0)
    """
    return base_c * 9 / 5 + 32 * count


def base_in_celsius(base_f: float, count: int = 3) -> float:
    """Return a base temperature in °C: (base - 32 for each of the ``count`` temperatures summed) * 5/9.

    Example:
        >>> base_in_celsius(200.4)
        58.0
    """
    return (base_f - 32 * count) * 5 / 9


@lru_cache(maxsize=16)
def _sum_of(count: int) -> Kind:
    """Return the kind of a sum of temperatures: its zero on the Fahrenheit scale is ``count`` zeros away."""
    return Kind(
        name=f"a base temperature, the sum of {count} temperatures",
        pint_unit="",
        example='"58 °C" or "200 °F"',
        units=(
            Unit(("°C", "℃", "degC"), Fraction(1)),
            Unit(("°F", "℉", "degF"), Fraction(5, 9), Fraction(-160 * count, 9)),
        ),
        signed=True,
        lowest=-273.15 * count,
    )


def read_base(text: str, count: int = 3, where: str = "base") -> float:
    """Read the text of a base temperature, in °C.

    Args:
        text: a number and °C or °F, such as "58 °C".
        count: how many temperatures the base sums; it decides what a base in °F means.
        where: the name of the argument, for the message.

    Raises:
        QuantityError: for anything but such a text; a quantity is refused, since its unit would convert as one temperature.

    Example:
        >>> read_base("200 °F"), read_base("200 °F", count=4)
        (57.7777777778, 40.0)
    """
    check_count(count)
    if not isinstance(text, str):  # pyright: ignore[reportUnnecessaryIsInstance]
        mend = 'a base is a sum of temperatures and no quantity of one: write text such as "58 °C"'
        raise QuantityError(Fault(where, f"an object of type {type(text).__name__}", "a base temperature", mend))
    return parse(_sum_of(count), text, where)


def write_base(base_c: float, unit: str = "°C", count: int = 3) -> str:
    """Write a base temperature as text that ``read_base`` reads back.

    Args:
        base_c: the base, °C.
        unit: "°C" or "°F".
        count: how many temperatures the base sums.

    Raises:
        QuantityError: for another unit, or a count that is no whole number of 2 or more.

    Example:
        >>> write_base(58.0, "°F")
        '200.4 °F'
    """
    check_count(count)
    return write(_sum_of(count), base_c, unit)


@frozen
class BaseTemperature:
    """The base of a dough and a mixer: what the ``count`` temperatures of flour, room, preferments and water add up to.

    It has no quantity: ``written`` gives it as text in °C or °F, and ``base_f`` as a number.
    """

    dough_c: float
    friction_k: float
    rise_k: float
    given: Given
    count: int
    base_c: float
    cautions: tuple[Caution, ...] = ()

    dough: ClassVar[View] = View(TEMPERATURE, "dough_c", "The desired dough temperature.")
    friction: ClassVar[View] = View(DIFFERENCE, "friction_k", "The friction factor on the scale of the sum.")
    rise: ClassVar[View] = View(DIFFERENCE, "rise_k", "How much the mixer warms the dough itself.")

    @property
    def base_f(self) -> float:
        """The base in °F: 32 more for each temperature summed."""
        return base_in_fahrenheit(self.base_c, self.count)

    def written(self, unit: str = "°C") -> str:
        """Return the base as text in "°C" or "°F"."""
        return write_base(self.base_c, unit, self.count)

    def for_count(self, count: int) -> BaseTemperature:
        """Return the base for another number of temperatures, the dough's own rise kept: base * count / old count.

        Raises:
            QuantityError: when ``count`` is no whole number of 2 or more.

        Example:
            >>> base_temperature("26 °C", rise="3 K").for_count(4).base_c
            92.0
        """
        check_count(count)
        friction_k = self.friction_k * count / self.count
        return _base(self.dough_c, friction_k, self.rise_k, self.given, count)

    def working(self) -> Working:
        """Show the steps; the last line is the base temperature."""
        count = {"N": float(self.count)}
        steps: list[Step] = []
        if self.given == "rise":
            note = "from the dough's own rise to the sum scale"
            steps.append(
                Step("friction", "N * rise", count | {"rise": self.rise_k}, self.friction_k, "K", RISE_RULE, note)
            )
        values = count | {"T_dough": self.dough_c, "friction": self.friction_k}
        note = f"a sum of {self.count} temperatures; {self.written('°F')}"
        steps.append(Step("base", "N * T_dough - friction", values, self.base_c, "°C summed", BASE_RULE, note))
        return Working("Base temperature", with_units(steps, _UNITS), self.cautions)


@frozen
class WaterFromBase(MixTemperatures):
    """The water temperature that a base leaves, when flour, room and preferments are taken off it."""

    base_c: float
    yeast: str
    temperature_c: float
    cautions: tuple[Caution, ...] = ()

    @property
    def base_f(self) -> float:
        """The base in °F: 32 more for each temperature summed."""
        return base_in_fahrenheit(self.base_c, self.measured_count)

    temperature: ClassVar[View] = View(TEMPERATURE, "temperature_c", "The water temperature.")

    def working(self) -> Working:
        """Show the step; its value is the water temperature."""
        values = {"base": self.base_c, **self.named_c}
        step = Step("T_water", " - ".join(values), values, self.temperature_c, "°C", BASE_RULE)
        return Working("Water from the base temperature", with_units([step], _UNITS), self.cautions)


def base_temperature(
    dough: Measure, *, friction: Measure | Friction | None = None, rise: Measure | None = None, count: int = 3
) -> BaseTemperature:
    """Find the base temperature of a dough and a mixer: base = N * T_dough - friction.

    Args:
        dough: desired dough temperature.
        friction: friction factor, a temperature difference on the scale of the sum of ``count`` temperatures, or a
            result such as that of ``friction_factor``; "0 K" for a dough mixed by hand.
        rise: instead of ``friction``: how much the mixer warms the dough itself; the factor is then N * rise.
        count: N, the number of temperatures summed: flour, room and water are 3, with one preferment 4.

    Returns:
        ``base_c``, ``base_f`` and ``written``: a base has no quantity, because it is no single temperature.

    Raises:
        QuantityError: for every bad argument at once, as ``water_temperature`` does.

    Accuracy: that of ``water_temperature``, whose rule it is, written with the wanted and the mixer on one side.  Bases
    in print run from 48 to 70 °C for three temperatures.

    Example:
        >>> made = base_temperature("24 °C", friction="14 K")
        >>> made.base_c, made.base_f, made.written("°F")
        (58.0, 200.4, '200.4 °F')
    """
    with Door() as door:
        dough_c = door.read(TEMPERATURE, dough, "dough")
        fault = count_fault(count)
        if fault is not None:
            door.faults.append(fault)
        friction_k, rise_k, given = read_friction(door, friction, rise, 3 if fault is not None else count)
    return _base(dough_c, friction_k, rise_k, given, count)


def water_from_base(
    base: str | BaseTemperature,
    *,
    flour: Measure,
    room: Measure | None = None,
    preferments: Preferments = (),
    count: int = 3,
    yeast: str | None = None,
) -> WaterFromBase:
    """Find the water temperature from a base: T_water = base - sum of the known.

    Args:
        base: text such as "58 °C" or "200 °F", or the result of ``base_temperature``.
        flour: flour temperature.
        room: room temperature; None if the base sums flour and water alone.
        preferments: temperature of the preferment, or of each of several, if the base counts them.
        count: how many temperatures a base given as text sums; 3 is what is meant in print.
        yeast: the form of yeast that is stirred into this water, if any.

    Returns:
        ``temperature``, with the cautions of ``water_temperature``, and one for a base far from those in print.

    Raises:
        QuantityError: for every bad argument at once, and when the base sums another number of temperatures than given.

    Accuracy: as for ``water_temperature``.

    Example:
        >>> water_from_base("58 °C", flour="18 °C", room="18 °C").temperature_c
        22.0
    """
    with Door() as door:
        mix = read_mix(door, flour, room, preferments)
        form = read_yeast(door, yeast)
        fault = count_fault(count)
        if fault is not None:
            door.faults.append(fault)
        summed, base_c = read_base_at(door, base, count)
        if count_fault(summed) is None and summed != mix.measured_count:
            mend = f"use base.for_count({mix.measured_count})" if isinstance(base, BaseTemperature) else "say count="
            expected = f"one of the {mix.measured_count} temperatures given, that of the water included"
            door.refuse("base", f"a sum of {summed} temperatures", expected, mend)
    temperature_c = water_from_base_c(base_c, mix.known_c)
    return WaterFromBase(
        flour_c=mix.flour_c,
        room_c=mix.room_c,
        preferments_c=mix.preferments_c,
        base_c=base_c,
        yeast=form,
        temperature_c=temperature_c,
        cautions=(*base_cautions(base_c, summed), *water_cautions(temperature_c, form)),
    )


def read_base_at(door: Door, base: str | BaseTemperature, count: int) -> tuple[int, float]:
    """Read a base given as text or as a result: how many temperatures it sums, and the base in °C.

    A ``count`` that is none has been noted at the door; text is then not read, as it would mean nothing.
    """
    if isinstance(base, BaseTemperature):
        return base.count, base.base_c
    if count_fault(count) is not None:
        return count, 0.0
    try:
        return count, read_base(base, count)
    except QuantityError as error:
        door.faults.extend(error.faults)
        return count, 0.0


def base_cautions(base_c: float, count: int) -> tuple[Caution, ...]:
    """Return a caution where a base of three temperatures is far from all those in print."""
    low_c, high_c = LOWEST_PRINTED_BASE.value, HIGHEST_PRINTED_BASE.value
    if count != 3 or low_c - _FAR_K <= base_c <= high_c + _FAR_K:
        return ()
    text = f"A base of {shown(base_c, 4)} °C is far from those in print, {low_c:.0f} to {high_c:.0f} °C: check it, and its unit."
    return (Caution("unusual-base", text),)


def _base(dough_c: float, friction_k: float, rise_k: float, given: Given, count: int) -> BaseTemperature:
    base_c = base_temperature_c(dough_c, friction_k, count)
    return BaseTemperature(dough_c, friction_k, rise_k, given, count, base_c, base_cautions(base_c, count))
