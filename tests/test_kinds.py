"""Each unit of measure beside pint, which has it from elsewhere, and each fraction beside the standard library."""

import math
import unicodedata
from fractions import Fraction
from itertools import pairwise

import pint
import pytest

from formula.kinds import KINDS, TEMPERATURE, VULGAR, Kind, Unit

REGISTRY: pint.UnitRegistry[Fraction] = pint.UnitRegistry(non_int_type=Fraction)
IN_PINT = {
    # What pint writes otherwise, or means otherwise.
    "oz": "ounce", "lb": "pound", "t": "metric_ton", "min": "minute", "s": "second", "d": "day", "h": "hour",
    "US gal": "gallon", "US qt": "quart", "US pt": "pint", "US cup": "cup", "US fl oz": "fluid_ounce",
    "US tbsp": "tablespoon", "US tsp": "teaspoon", "Btu": "Btu_it", "in": "inch", "%": "percent", "‰": "permille",
    "kJ/kgK": "kJ/kg/delta_degC", "W/mK": "W/m/delta_degC", "W/m²K": "W/m**2/delta_degC", "Btu/lb": "Btu_it/lb",
    "Btu/lb°F": "Btu_it/lb/delta_degF", "W/K": "W/delta_degC", "K/h": "delta_degC/hour", "°F/h": "delta_degF/hour",
    "kg/m³": "kg/m**3", "m²": "m**2", "cm²": "cm**2", "in²": "inch**2", "kg/m²": "kg/m**2", "g/cm²": "g/cm**2",
    "oz/in²": "ounce/inch**2", "Wh/lb": "Wh/lb",
}  # fmt: skip
UNITS = [(kind, unit) for kind in KINDS for unit in kind.units]


def in_pint(kind: Kind, unit: Unit) -> str:
    name = unit.spellings[0]
    if kind is not TEMPERATURE and name in {"K", "°C", "°F"}:
        return "delta_degF" if name == "°F" else "delta_degC"
    return {"°C": "degC", "°F": "degF", "K": "kelvin"}.get(name) or IN_PINT.get(name, name)


@pytest.mark.parametrize(("kind", "unit"), UNITS, ids=[f"{kind.name}: {unit.spellings[0]}" for kind, unit in UNITS])
def test_a_unit_is_as_large_as_in_pint(kind: Kind, unit: Unit) -> None:
    one, two = (
        float(REGISTRY.Quantity(Fraction(count), in_pint(kind, unit)).to(kind.pint_unit).magnitude) for count in (1, 2)
    )
    assert float(unit.factor) == pytest.approx(two - one, rel=1e-12)
    assert float(unit.factor + unit.offset) == pytest.approx(one, rel=1e-12)


@pytest.mark.parametrize("sign", VULGAR)
def test_a_fraction_is_worth_what_its_letter_is(sign: str) -> None:
    assert VULGAR[sign] == Fraction(unicodedata.numeric(sign)).limit_denominator(9)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind.compound], ids=lambda kind: kind.name)
def test_units_that_go_together_are_counted_by_their_size(kind: Kind) -> None:
    sizes = [kind.spellings[unit].factor for unit, _ in kind.compound]
    counts = [count for _, count in kind.compound]
    assert counts[1:] == [large / small for large, small in pairwise(sizes)]


def test_nothing_is_colder_than_the_coldest() -> None:
    assert float(REGISTRY.Quantity(Fraction(0), "kelvin").to("degC").magnitude) == TEMPERATURE.lowest
    assert {kind.lowest for kind in KINDS if kind is not TEMPERATURE} == {0.0, -math.inf}
