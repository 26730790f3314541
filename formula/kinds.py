"""The kinds of measure a baker meets, each with its units.

A ``Kind`` is one physical dimension with one canonical unit, in which every float inside the library is kept.  Factors
are exact by definition (international pound, inch and gallon, 1959; BIPM SI brochure) and kept as fractions, floats
being made of them once.

A temperature and a temperature difference are two kinds: 25 °C is 77 °F, but a rise of 25 K is one of 45 °F.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import cached_property
from typing import Final

from attrs import field, frozen

__all__ = [
    "AREA",
    "CONDUCTANCE",
    "CONDUCTIVITY",
    "DENSITY",
    "DIFFERENCE",
    "ENERGY",
    "ENERGY_PER_MASS",
    "FRACTION",
    "HEAT_TRANSFER",
    "KINDS",
    "LENGTH",
    "MASS",
    "MASS_PER_AREA",
    "NUMBER",
    "POWER",
    "SHARE",
    "SPECIFIC_HEAT",
    "TEMPERATURE",
    "TIME",
    "VOLUME",
    "VULGAR",
    "WARMING",
    "Kind",
    "Unit",
]

NUMBER: Final = r"[0-9]+(?:\.[0-9]+)?(?:e[+-][0-9]{2,3})?"
VULGAR: Final[Mapping[str, Fraction]] = {
    "½": Fraction(1, 2), "¼": Fraction(1, 4), "¾": Fraction(3, 4), "⅓": Fraction(1, 3), "⅔": Fraction(2, 3),
    "⅛": Fraction(1, 8), "⅜": Fraction(3, 8), "⅝": Fraction(5, 8), "⅞": Fraction(7, 8),
}  # fmt: skip
FRACTION: Final = rf"(?:([0-9]+) ([0-9]+)/([0-9]+)|()([0-9]+)/([0-9]+)|([0-9]*) ?([{''.join(VULGAR)}]))"


def _either(spellings: Iterable[str]) -> str:
    return "|".join(re.escape(spelling) for spelling in sorted(spellings, key=len, reverse=True))


@frozen
class Unit:
    """A unit: its spellings (the first is the one we write), its size and its zero in the canonical unit."""

    spellings: tuple[str, ...]
    factor: Fraction
    offset: Fraction = Fraction(0)
    household: bool = False


@frozen(eq=False)
class Kind:
    """One dimension: what it is called, its units, its canonical unit and an example for messages.

    ``pint_unit`` is the canonical unit as pint names it; ``signed`` tells whether less than zero makes sense;
    ``compound`` names the pairs that may be written together ("1 lb 8 oz"); ``lowest`` is the smallest value allowed.
    """

    name: str
    pint_unit: str
    example: str
    units: tuple[Unit, ...]
    signed: bool = False
    lowest: float = 0.0
    compound: tuple[tuple[str, int], ...] = ()
    spellings: dict[str, Unit] = field(init=False)
    scale: dict[str, tuple[float, float]] = field(init=False)

    def __attrs_post_init__(self) -> None:
        """Prepare the table of spellings and the factors as floats."""
        table = {spelling: unit for unit in self.units for spelling in unit.spellings}
        object.__setattr__(self, "spellings", table)
        object.__setattr__(self, "scale", {s: (float(unit.factor), float(unit.offset)) for s, unit in table.items()})

    @cached_property
    def pattern(self) -> re.Pattern[str]:
        """The grammar of a number and a unit, compiled when a text of this kind is first read."""
        sign = "([+-]?)" if self.signed else "()"
        return re.compile(rf"{sign}({NUMBER}) ?({_either(self.spellings)})")

    @cached_property
    def household_pattern(self) -> re.Pattern[str] | None:
        """The grammar of a fraction and a household unit, if this kind has such units."""
        household = [spelling for spelling, unit in self.spellings.items() if unit.household]
        return re.compile(rf"{FRACTION} ?({_either(household)})") if household else None

    def __repr__(self) -> str:
        """Return the kind's name."""
        return f"<Kind {self.name}>"

    def __reduce__(self) -> str:
        """Pickle by name: a kind is one of the constants of this room."""
        return next(name for name, kind in globals().items() if kind is self)


MASS: Final = Kind(
    name="a mass",
    pint_unit="gram",
    example='"93 kg", "250 g" or "1 lb 8 oz"',
    units=(
        Unit(("g",), Fraction(1)),
        Unit(("kg",), Fraction(1000)),
        Unit(("mg",), Fraction(1, 1000)),
        Unit(("t",), Fraction(1_000_000)),
        Unit(("lb",), Fraction("453.59237")),
        Unit(("oz",), Fraction("453.59237") / 16),
    ),
    compound=(("lb", 0), ("oz", 16)),
)
# 32 °F are 0 °C and 180 °F are 100 K, so 0 °F are -160/9 °C; -273.15 °C is the absolute zero, by definition.
TEMPERATURE: Final = Kind(
    name="a temperature",
    pint_unit="degree_Celsius",
    example='"25 °C" or "78 °F"',
    units=(
        Unit(("°C", "℃", "degC"), Fraction(1)),
        Unit(("°F", "℉", "degF"), Fraction(5, 9), Fraction(-160, 9)),
        Unit(("K",), Fraction(1), Fraction("-273.15")),
    ),
    signed=True,
    lowest=-273.15,
)
DIFFERENCE: Final = Kind(
    name="a temperature difference",
    pint_unit="delta_degree_Celsius",
    example='"8 K" or "14 °F" (read as a difference)',
    units=(Unit(("K", "°C", "℃", "degC"), Fraction(1)), Unit(("°F", "℉", "degF"), Fraction(5, 9))),
    signed=True,
    lowest=-math.inf,
)
TIME: Final = Kind(
    name="a time",
    pint_unit="hour",
    example='"4 h", "90 min" or "1 h 20 min"',
    units=(
        Unit(("h",), Fraction(1)),
        Unit(("min",), Fraction(1, 60)),
        Unit(("s",), Fraction(1, 3600)),
        Unit(("d",), Fraction(24)),
    ),
    compound=(("d", 0), ("h", 24), ("min", 60), ("s", 60)),
)
_GALLON_ML: Final = Fraction("3785.411784")
# A US gallon is 231 cubic inches; four quarts, eight pints, and so on by halves and thirds.
VOLUME: Final = Kind(
    name="a volume",
    pint_unit="milliliter",
    example='"500 mL", "2 L" or "1 1/2 cup" (US customary)',
    units=(
        Unit(("mL", "ml"), Fraction(1)),
        Unit(("L", "l"), Fraction(1000)),
        *(
            Unit((f"US {name}", name), _GALLON_ML / parts, household=True)
            for name, parts in zip(
                ("gal", "qt", "pt", "cup", "fl oz", "tbsp", "tsp"), (1, 4, 8, 16, 128, 256, 768), strict=True
            )
        ),
    ),
)
ENERGY: Final = Kind(
    name="an energy",
    pint_unit="kilojoule",
    example='"150 kJ" or "4 Wh"',
    units=(
        Unit(("kJ",), Fraction(1)), Unit(("Wh",), Fraction("3.6")),
        Unit(("kWh",), Fraction(3600)), Unit(("Btu",), Fraction("1.05505585262")),
    ),
)  # fmt: skip
ENERGY_PER_MASS: Final = Kind(
    name="an energy per mass",
    pint_unit="kilojoule / kilogram",
    example='"4 Wh/kg" or "15 kJ/kg"',
    units=(
        Unit(("kJ/kg",), Fraction(1)), Unit(("Wh/kg",), Fraction("3.6")),
        Unit(("Wh/lb",), Fraction("3.6") / Fraction("0.45359237")), Unit(("Btu/lb",), Fraction("2.326")),
    ),
)  # fmt: skip
POWER: Final = Kind(
    name="a power",
    pint_unit="kilowatt",
    example='"5.5 kW" or "750 W"',
    units=(Unit(("kW",), Fraction(1)), Unit(("W",), Fraction(1, 1000))),
)
SHARE: Final = Kind(
    name="a share",
    pint_unit="dimensionless",
    example='"12 %" or "5 ‰"',
    units=(Unit(("%",), Fraction(1, 100)), Unit(("‰",), Fraction(1, 1000))),
)
LENGTH: Final = Kind(
    name="a length",
    pint_unit="meter",
    example='"8 cm" or "3 in"',
    units=(
        Unit(("m",), Fraction(1)),
        Unit(("mm",), Fraction(1, 1000)),
        Unit(("cm",), Fraction(1, 100)),
        Unit(("in",), Fraction("0.0254")),
    ),
)
DENSITY: Final = Kind(
    name="a density",
    pint_unit="kilogram / meter ** 3",
    example='"1100 kg/m3" or "1.1 g/mL"',
    units=(Unit(("kg/m³", "kg/m3", "g/L", "g/l"), Fraction(1)), Unit(("g/mL", "g/ml"), Fraction(1000))),
)
SPECIFIC_HEAT: Final = Kind(
    name="a specific heat",
    pint_unit="kilojoule / kilogram / kelvin",
    example='"2.8 kJ/kgK"',
    units=(Unit(("kJ/kgK", "kJ/kg K"), Fraction(1)), Unit(("Btu/lb°F", "Btu/lb °F"), Fraction("4.1868"))),
)
CONDUCTIVITY: Final = Kind(
    name="a thermal conductivity",
    pint_unit="watt / meter / kelvin",
    example='"0.5 W/mK"',
    units=(Unit(("W/mK", "W/m K"), Fraction(1)),),
)
HEAT_TRANSFER: Final = Kind(
    name="a heat transfer coefficient",
    pint_unit="watt / meter ** 2 / kelvin",
    example='"10 W/m2K"',
    units=(Unit(("W/m²K", "W/m2K", "W/m² K", "W/m2 K"), Fraction(1)),),
)
CONDUCTANCE: Final = Kind(
    name="a heat exchange",
    pint_unit="watt / kelvin",
    example='"12 W/K"',
    units=(Unit(("W/K",), Fraction(1)),),
)
WARMING: Final = Kind(
    name="a rate of warming",
    pint_unit="kelvin / hour",
    example='"1.5 K/h" or "3 °F/h"',
    units=(Unit(("K/h", "°C/h", "℃/h", "degC/h"), Fraction(1)), Unit(("°F/h", "℉/h", "degF/h"), Fraction(5, 9))),
)
AREA: Final = Kind(
    name="an area",
    pint_unit="meter ** 2",
    example='"0.24 m2" or "2400 cm2"',
    units=(
        Unit(("m²", "m2"), Fraction(1)),
        Unit(("cm²", "cm2"), Fraction(1, 10_000)),
        Unit(("in²", "in2"), Fraction("0.00064516")),
    ),
)
# A pound is 0.45359237 kg and an inch 2.54 cm, by definition.
MASS_PER_AREA: Final = Kind(
    name="a mass per area",
    pint_unit="kilogram / meter ** 2",
    example='"5 kg/m2" or "0.5 g/cm2"',
    units=(
        Unit(("kg/m²", "kg/m2"), Fraction(1)),
        Unit(("g/cm²", "g/cm2"), Fraction(10)),
        Unit(("oz/in²", "oz/in2"), Fraction("453.59237") / 16_000 / Fraction("0.00064516")),
    ),
)
KINDS: Final = (
    MASS, TEMPERATURE, DIFFERENCE, TIME, VOLUME, ENERGY, ENERGY_PER_MASS, POWER, SHARE,
    LENGTH, DENSITY, SPECIFIC_HEAT, CONDUCTIVITY, HEAT_TRANSFER, CONDUCTANCE, WARMING,
    AREA, MASS_PER_AREA,
)  # fmt: skip
