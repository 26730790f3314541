"""The text grammar: what is read, what is refused and with which advice, and what is written."""

import copy
import math
import pickle
from fractions import Fraction

import pytest

from formula.errors import QuantityError
from formula.units import (
    CONDUCTIVITY,
    DENSITY,
    DIFFERENCE,
    ENERGY,
    ENERGY_PER_MASS,
    HEAT_TRANSFER,
    KINDS,
    LENGTH,
    MASS,
    POWER,
    SHARE,
    SPECIFIC_HEAT,
    TEMPERATURE,
    TIME,
    VOLUME,
    WARMING,
    Kind,
    grid,
    parse,
    write,
)

LB = 453.59237
CUP = 236.5882365
UNITS = [(kind, spelling) for kind in KINDS for spelling in kind.spellings]

GOOD = [
    (MASS, "93 kg", 93_000.0),
    (MASS, "93kg", 93_000.0),
    (MASS, "0 g", 0.0),
    (MASS, "007 g", 7.0),
    (MASS, "0.25 mg", 0.00025),
    (MASS, "1.5 t", 1_500_000.0),
    (MASS, "1 lb", LB),
    (MASS, "16 oz", LB),
    (MASS, "1 lb 8 oz", 1.5 * LB),
    (MASS, "0 lb 8 oz", 0.5 * LB),
    (MASS, "1 lb 8.25 oz", LB * (1 + 8.25 / 16)),
    (MASS, "1e-05 g", 1e-5),
    (MASS, "1.25e+06 g", 1_250_000.0),
    (MASS, "1e+100 g", 1e100),
    (TEMPERATURE, "25 °C", 25.0),
    (TEMPERATURE, "25°C", 25.0),
    (TEMPERATURE, "25 ℃", 25.0),
    (TEMPERATURE, "25 degC", 25.0),
    (TEMPERATURE, "77 °F", 25.0),
    (TEMPERATURE, "77 ℉", 25.0),
    (TEMPERATURE, "77 degF", 25.0),
    (TEMPERATURE, "298.15 K", 25.0),
    (TEMPERATURE, "-18 °C", -18.0),
    (TEMPERATURE, "+4 °C", 4.0),
    (TEMPERATURE, "-0 °C", 0.0),
    (TEMPERATURE, "-40 °F", -40.0),
    (TEMPERATURE, "0 K", -273.15),
    (TEMPERATURE, "-459.67 °F", -273.15),
    (TEMPERATURE, "-273.15 °C", -273.15),
    (DIFFERENCE, "8 K", 8.0),
    (DIFFERENCE, "8 °C", 8.0),
    (DIFFERENCE, "14.4 °F", 8.0),
    (DIFFERENCE, "-9 °F", -5.0),
    (DIFFERENCE, "+9 degF", 5.0),
    (TIME, "4 h", 4.0),
    (TIME, "90 min", 1.5),
    (TIME, "1800 s", 0.5),
    (TIME, "2 d", 48.0),
    (TIME, "1 h 20 min", 1.33333333333),
    (TIME, "1 d 0 h 30 min", 24.5),
    (TIME, "1 h 0 min 36 s", 1.01),
    (TIME, "2 min 30.5 s", 0.0418055555556),
    (VOLUME, "500 mL", 500.0),
    (VOLUME, "500 ml", 500.0),
    (VOLUME, "2 L", 2000.0),
    (VOLUME, "2 l", 2000.0),
    (VOLUME, "1 US cup", CUP),
    (VOLUME, "1 cup", CUP),
    (VOLUME, "16 tbsp", CUP),
    (VOLUME, "48 tsp", CUP),
    (VOLUME, "8 fl oz", CUP),
    (VOLUME, "1 pt", 2 * CUP),
    (VOLUME, "1 qt", 4 * CUP),
    (VOLUME, "1 gal", 16 * CUP),
    (VOLUME, "1 1/2 cup", 1.5 * CUP),
    (VOLUME, "1 1/2 US cup", 1.5 * CUP),
    (VOLUME, "3/4 cup", 0.75 * CUP),
    (VOLUME, "½ cup", 0.5 * CUP),
    (VOLUME, "½cup", 0.5 * CUP),
    (VOLUME, "1½ cup", 1.5 * CUP),
    (VOLUME, "1 ½ cup", 1.5 * CUP),
    (VOLUME, "⅔ tsp", float(grid(VOLUME, CUP / 48 * 2 / 3))),
    (VOLUME, "1/4 fl oz", CUP / 32),
    (VOLUME, "0/4 cup", 0.0),
    (ENERGY, "150 kJ", 150.0),
    (ENERGY, "4 Wh", 14.4),
    (ENERGY, "1 kWh", 3600.0),
    (ENERGY, "1 Btu", 1.05505585262),
    (SHARE, "12 %", 0.12),
    (SHARE, "12%", 0.12),
    (SHARE, "5 ‰", 0.005),
    (SHARE, "150 %", 1.5),
    (SHARE, "0 %", 0.0),
]
COMMA = "write the number without commas: a decimal point, no thousands mark"
PLAIN = "has no place here: use the plain digits 0-9, - for minus and °"
LADDER = "are written together: falling, a space between all"
FRACTION = "fractions are for household volumes only; write a decimal number"
SPACE = "leave no more than one space, and none around it"
FIRST = "write the number first, then the unit"
OUT = "write the number out, without an exponent"
BAD = [
    (MASS, "1,5 kg", "write a decimal point, not a comma: '1.5 kg'"),
    (MASS, "1,500 kg", COMMA),
    (MASS, "1,500.5 kg", COMMA),
    (MASS, "1.500,5 kg", COMMA),
    (MASS, "1,500,000 g", COMMA),
    (MASS, "1.2.3 kg", "the number has more than one decimal point"),
    (MASS, "nan g", "the number must be finite"),
    (MASS, "NaN kg", "the number must be finite"),
    (MASS, "inf kg", "the number must be finite"),
    (MASS, "Infinity kg", "the number must be finite"),
    (MASS, "-3 kg", "a mass cannot be less than zero"),
    (MASS, "-0 kg", "a mass cannot be less than zero"),
    (MASS, "+3 kg", "a mass cannot carry a sign"),
    (MASS, "", 'write for example "93 kg"'),
    (MASS, "   ", 'write for example "93 kg"'),
    (MASS, "93", 'add the unit, for example "93 kg"'),
    (MASS, "9.5", 'add the unit, for example "93 kg"'),
    (MASS, "kg", FIRST),
    (MASS, "kg 93", FIRST),
    (MASS, "about 3 kg", FIRST),
    (MASS, " 3 kg", SPACE),
    (MASS, "3 kg ", SPACE),
    (MASS, "3  kg", SPACE),
    (MASS, "3\tkg", SPACE),
    (MASS, "3 kg\n", SPACE),
    (MASS, "3\u00a0kg", PLAIN),
    (MASS, "3\u202fkg", PLAIN),
    (MASS, "٣ kg", PLAIN),
    (MASS, "\uff13 kg", PLAIN),
    (MASS, "3² kg", PLAIN),
    (MASS, "3 µg", "'µ' " + PLAIN),
    (MASS, "\u22123 kg", "'\u2212' " + PLAIN),
    (MASS, "1_000 g", "write the digits without underscores"),
    (MASS, ".5 kg", "write a zero before the decimal point"),
    (MASS, "5. kg", "write a digit after the decimal point"),
    (MASS, "1e3 g", OUT),
    (MASS, "1E+03 g", OUT),
    (MASS, "1e+3 g", OUT),
    (MASS, "2e+3", OUT),
    (MASS, "0x10 g", "the units are g, kg, mg, t, lb, oz"),
    (MASS, "3 KG", "did you mean kg?"),
    (MASS, "3 Lb", "did you mean lb?"),
    (MASS, "3 lbs", "did you mean lb?"),
    (MASS, "3 pounds", "did you mean lb?"),
    (MASS, "3 ounces", "did you mean oz?"),
    (MASS, "3 kilo", "did you mean kg?"),
    (MASS, "3 grams", "did you mean g?"),
    (MASS, "3 tonnes", "did you mean t?"),
    (MASS, "3 kg;", "did you mean kg?"),
    (MASS, "3 stone", "the units are g, kg, mg, t, lb, oz"),
    (MASS, "3*2 kg", "the units are g, kg, mg, t, lb, oz"),
    (MASS, "3 kg + 2 kg", "only lb oz " + LADDER),
    (MASS, "3 kg 200 g", "only lb oz " + LADDER),
    (MASS, "8 oz 1 lb", "only lb oz " + LADDER),
    (MASS, "1 lb 16 oz", "only lb oz " + LADDER),
    (MASS, "1.5 lb 8 oz", "only lb oz " + LADDER),
    (MASS, "1lb 8oz", "only lb oz " + LADDER),
    (MASS, "1 lb 8", "only lb oz " + LADDER),
    (MASS, "1 lb -8 oz", "only lb oz " + LADDER),
    (MASS, "1 lb 1 lb", "only lb oz " + LADDER),
    (MASS, "1/2 kg", FRACTION),
    (MASS, "½ kg", FRACTION),
    (MASS, "1 1/2 lb", FRACTION),
    (MASS, "1/0 kg", "a fraction cannot have a zero below the line"),
    (MASS, "25 °C", "°C is a unit of a temperature"),
    (MASS, "3 h", "h is a unit of a time"),
    (MASS, "2 cup", "cup is a unit of a volume"),
    (MASS, "5 %", "% is a unit of a share"),
    (MASS, "9" * 400 + " kg", "the number is too large"),
    (MASS, "1e+400 g", "the number is too large"),
    (MASS, "1e+308 t", "the number is too large"),
    (MASS, "9" * 5000 + " lb 8 oz", "write no more than 80 characters"),
    (MASS, "x" * 1000, "write no more than 80 characters"),
    (TEMPERATURE, "5 C", "write the degree sign: °C"),
    (TEMPERATURE, "5C", "write the degree sign: °C"),
    (TEMPERATURE, "78 F", "write the degree sign: °F"),
    (TEMPERATURE, "78 f", "write the degree sign: °F"),
    (TEMPERATURE, "25", 'add the unit, for example "25 °C"'),
    (TEMPERATURE, "-18", 'add the unit, for example "25 °C"'),
    (TEMPERATURE, "25 ° C", "did you mean °C?"),
    (TEMPERATURE, "25 °c", "did you mean °C?"),
    (TEMPERATURE, "25 deg C", "did you mean degC?"),
    (TEMPERATURE, "25 celsius", "did you mean °C?"),
    (TEMPERATURE, "78 Fahrenheit", "did you mean °F?"),
    (TEMPERATURE, "25 ºC", "'º' " + PLAIN),
    (TEMPERATURE, "\u221218 °C", "'\u2212' " + PLAIN),
    (TEMPERATURE, "--18 °C", "write one sign only"),
    (TEMPERATURE, "- 18 °C", "leave no space between the sign and the number"),
    (TEMPERATURE, "1/2 °C", FRACTION),
    (TEMPERATURE, "-273.16 °C", "nothing is colder than -273.15 °C"),
    (TEMPERATURE, "-460 °F", "nothing is colder than -273.15 °C"),
    (TEMPERATURE, "-1 K", "nothing is colder than -273.15 °C"),
    (TEMPERATURE, "20 °C 5 °C", "the units are °C, ℃, degC, °F, ℉, degF, K"),
    (TEMPERATURE, "25 kg", "kg is a unit of a mass"),
    (TEMPERATURE, "1e+400 °C", "the number is too large"),
    (DIFFERENCE, "8", 'add the unit, for example "8 K" or "14 °F" (read as a difference)'),
    (DIFFERENCE, "14 F", "write the degree sign: °F"),
    (DIFFERENCE, "8 delta_degC", "the units are K, °C, ℃, degC, °F, ℉, degF"),
    (TIME, "1:20", "the units are h, min, s, d"),
    (TIME, "1h20", "only d h min s " + LADDER),
    (TIME, "1h 20min", "only d h min s " + LADDER),
    (TIME, "1 h 60 min", "only d h min s " + LADDER),
    (TIME, "1 d 24 h", "only d h min s " + LADDER),
    (TIME, "1 h 30 s", "only d h min s " + LADDER),
    (TIME, "20 min 1 h", "only d h min s " + LADDER),
    (TIME, "1.5 h 20 min", "only d h min s " + LADDER),
    (TIME, "4 hours", "did you mean h?"),
    (TIME, "20 minutes", "did you mean min?"),
    (TIME, "-1 h", "a time cannot be less than zero"),
    (TIME, "4 m", "m is a unit of a length"),
    (VOLUME, "1 1/2 L", FRACTION),
    (VOLUME, "½ mL", FRACTION),
    (VOLUME, "1 1/0 cup", "a fraction cannot have a zero below the line"),
    (VOLUME, "1.5 1/2 cup", "the units are mL"),
    (VOLUME, "1/2/3 cup", "the units are mL"),
    (VOLUME, "1\u20442 cup", "'\u2044' " + PLAIN),
    (VOLUME, "2 cups", "did you mean cup?"),
    (VOLUME, "2 Tbsp", "did you mean tbsp?"),
    (VOLUME, "2 teaspoons", "did you mean tsp?"),
    (VOLUME, "2 litres", "did you mean L?"),
    (VOLUME, "2 gallons", "did you mean gal?"),
    (VOLUME, "2 kg", "kg is a unit of a mass"),
    (VOLUME, "-½ cup", "a volume cannot be less than zero"),
    (ENERGY, "4 wh", "did you mean Wh?"),
    (ENERGY, "4 kcal", "the units are kJ, Wh, kWh, Btu"),
    (SHARE, "12", 'add the unit, for example "12 %"'),
    (SHARE, "0.12", 'add the unit, for example "12 %"'),
    (SHARE, "12 percent", "did you mean %?"),
    (SHARE, "-5 %", "a share cannot be less than zero"),
    (SHARE, "½ %", FRACTION),
]


@pytest.mark.parametrize(("kind", "text", "value"), GOOD)
def test_good_text_is_read(kind: Kind, text: str, value: float) -> None:
    assert parse(kind, text, "x") == grid(kind, value)


@pytest.mark.parametrize(("kind", "text", "advice"), BAD, ids=lambda value: repr(value)[:30])
def test_bad_text_gives_one_error_with_its_mend(kind: Kind, text: str, advice: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(kind, text, "dough")
    (fault,) = caught.value.faults
    assert advice in fault.fix
    assert fault.where == "dough"
    assert fault.expected == kind.name
    assert len(fault.got) < 120
    if len(text) < 80:
        assert fault.got == repr(text)


@pytest.mark.parametrize(("kind", "spelling"), UNITS)
def test_every_spelling_is_read_with_and_without_a_space(kind: Kind, spelling: str) -> None:
    assert parse(kind, f"300 {spelling}", "x") == parse(kind, f"300{spelling}", "x")


@pytest.mark.parametrize(("kind", "spelling"), UNITS)
def test_every_spelling_can_be_written(kind: Kind, spelling: str) -> None:
    assert write(kind, parse(kind, f"300 {spelling}", "x"), spelling) == f"300 {spelling}"


def test_factors_are_the_legal_definitions() -> None:
    # International yard and pound agreement of 1959; the US gallon is 231 cubic inches of 2.54 cm.
    assert MASS.spellings["lb"].factor == Fraction("453.59237")
    assert VOLUME.spellings["gal"].factor == 231 * Fraction("2.54") ** 3
    # The international table Btu is 1 lb of water by 1 °F at 4.1868 kJ/kgK.
    assert ENERGY.spellings["Btu"].factor == Fraction("0.45359237") * Fraction("4.1868") * Fraction(5, 9)


def test_the_canonical_unit_is_written_when_none_is_asked_for() -> None:
    assert [write(kind, 0.5) for kind in KINDS] == [
        "0.5 g", "0.5 °C", "0.5 K", "0.5 h", "0.5 mL", "0.5 kJ", "0.5 kJ/kg", "0.5 kW", "50 %",
        "0.5 m", "0.5 kg/m³", "0.5 kJ/kgK", "0.5 W/mK", "0.5 W/m²K", "0.5 W/K", "0.5 K/h",
        "0.5 m²", "0.5 kg/m²",
    ]  # fmt: skip


def test_a_unit_of_another_kind_cannot_be_written() -> None:
    with pytest.raises(QuantityError, match="unit: got '°C', expected a unit of a mass: g, kg, mg, t, lb, oz"):
        write(MASS, 1.0, "°C")


def test_computed_values_are_written_short() -> None:
    assert write(MASS, 0.1 + 0.2) == "0.3 g"
    assert write(SHARE, 0.07 * 100 / 100) == "7 %"


@pytest.mark.parametrize("kind", KINDS)
def test_minus_zero_becomes_zero(kind: Kind) -> None:
    assert math.copysign(1.0, grid(kind, -0.0)) == 1.0


def test_the_grid() -> None:
    assert grid(MASS, 1.2345678901234) == 1.23456789012
    assert grid(TEMPERATURE, 1.2345678901234) == 1.234567890
    assert grid(DIFFERENCE, 1.2345678901234) == 1.234567890
    assert grid(MASS, grid(MASS, 2.0 / 3.0)) == grid(MASS, 2.0 / 3.0)


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_is_one_object_however_it_travels(kind: Kind) -> None:
    assert pickle.loads(pickle.dumps(kind)) is kind  # noqa: S301 - our own bytes
    assert copy.deepcopy(kind) is kind
    assert repr(kind) == f"<Kind {kind.name}>"


def test_text_may_be_of_a_subclass() -> None:
    class Label(str):
        __slots__ = ()

    assert parse(MASS, Label("3 kg"), "x") == 3000.0


def test_energy_per_mass() -> None:
    assert parse(ENERGY_PER_MASS, "4 Wh/kg", "work") == 14.4
    assert parse(ENERGY_PER_MASS, "11 Wh/kg", "work") == 39.6
    # Printed for one way of mixing: 5 Wh per lb of dough; and for wetting flour: 6.5 Btu per lb.
    assert parse(ENERGY_PER_MASS, "5 Wh/lb", "work") == pytest.approx(39.683, abs=5e-4)
    assert parse(ENERGY_PER_MASS, "6.5 Btu/lb", "heat") == pytest.approx(15.119, abs=5e-4)
    # A Btu per lb by the definitions of both.
    assert ENERGY_PER_MASS.spellings["Btu/lb"].factor == ENERGY.spellings["Btu"].factor / Fraction("0.45359237")


def test_power() -> None:
    assert parse(POWER, "750 W", "power") == parse(POWER, "0.75 kW", "power") == 0.75


@pytest.mark.parametrize(
    ("kind", "text", "advice"),
    [
        (ENERGY_PER_MASS, "4", 'add the unit, for example "4 Wh/kg"'),
        (ENERGY_PER_MASS, "4 Wh", "Wh is a unit of an energy"),
        (ENERGY_PER_MASS, "4 wh/kg", "did you mean Wh/kg?"),
        (ENERGY_PER_MASS, "4 Wh / kg", "the units are kJ/kg, Wh/kg, Wh/lb, Btu/lb"),
        (ENERGY_PER_MASS, "-4 Wh/kg", "an energy per mass cannot be less than zero"),
        (ENERGY, "4 Wh/kg", "Wh/kg is a unit of an energy per mass"),
        (POWER, "5 kWh", "kWh is a unit of an energy"),
        (POWER, "5 kw", "did you mean kW?"),
        (POWER, "7 hp", "the units are kW, W"),
    ],
)
def test_work_and_power_that_cannot_be_read(kind: Kind, text: str, advice: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(kind, text, "work")
    (fault,) = caught.value.faults
    assert advice in fault.fix


def test_length() -> None:
    assert parse(LENGTH, "250 mm", "x") == parse(LENGTH, "25 cm", "x") == parse(LENGTH, "0.25 m", "x") == 0.25
    # International yard and pound agreement of 1959.
    assert LENGTH.spellings["in"].factor == Fraction("0.0254")
    assert parse(LENGTH, "10in", "x") == 0.254


def test_what_conduction_needs() -> None:
    assert parse(DENSITY, "1.21 g/mL", "x") == parse(DENSITY, "1210 kg/m³", "x") == parse(DENSITY, "1210 kg/m3", "x")
    assert parse(CONDUCTIVITY, "0.5 W/mK", "x") == parse(CONDUCTIVITY, "0.5 W/m K", "x") == 0.5
    assert parse(HEAT_TRANSFER, "10 W/m²K", "x") == parse(HEAT_TRANSFER, "10 W/m2 K", "x") == 10.0
    assert parse(SPECIFIC_HEAT, "2.7 kJ/kgK", "x") == 2.7
    # A Btu of the international table per lb and °F is a kcal of that table per kg and K.
    found = ENERGY_PER_MASS.spellings["Btu/lb"].factor / DIFFERENCE.spellings["°F"].factor
    assert SPECIFIC_HEAT.spellings["Btu/lb°F"].factor == found


def test_a_rate_of_warming_is_one_of_differences() -> None:
    assert parse(WARMING, "1.5 K/h", "x") == parse(WARMING, "1.5 °C/h", "x") == 1.5
    assert parse(WARMING, "1.8 °F/h", "x") == 1.0


@pytest.mark.parametrize(
    ("kind", "text", "advice"),
    [
        (LENGTH, "8", 'add the unit, for example "8 cm" or "3 in"'),
        (LENGTH, "8 inches", "did you mean in?"),
        (LENGTH, "8 millimetres", "did you mean mm?"),
        (LENGTH, '3"', "the units are m, mm, cm, in"),
        (LENGTH, "1/2 in", FRACTION),
        (LENGTH, "-8 cm", "a length cannot be less than zero"),
        (DENSITY, "1.1", 'add the unit, for example "1100 kg/m3"'),
        (DENSITY, "1.1 g/cm³", "did you mean"),
        (DENSITY, "1.1 kg", "kg is a unit of a mass"),
        (SPECIFIC_HEAT, "2.7 kJ/kg", "kJ/kg is a unit of an energy per mass"),
        (CONDUCTIVITY, "0.5 W/m2K", "W/m2K is a unit of a heat transfer coefficient"),
        (HEAT_TRANSFER, "10 W/mK", "W/mK is a unit of a thermal conductivity"),
        (HEAT_TRANSFER, "10 W/m²", "did you mean W/m²K?"),
        (HEAT_TRANSFER, "10 W/m³K", "'³' " + PLAIN),
        (WARMING, "1.5 K", "K is a unit of a temperature"),
        (WARMING, "-1.5 K/h", "a rate of warming cannot be less than zero"),
    ],
)
def test_what_conduction_cannot_read(kind: Kind, text: str, advice: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(kind, text, "x")
    (fault,) = caught.value.faults
    assert advice in fault.fix
