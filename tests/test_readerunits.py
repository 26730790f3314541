"""Workings in pounds and Fahrenheit: the sums are done again, not translated."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula import (
    Formula,
    Losses,
    base_temperature,
    convert_yeast,
    divide,
    dough_temperature,
    friction_factor,
    heat_balance,
    ice_for,
    in_units,
    water_temperature,
)
from formula.errors import UnknownNameError
from formula.readerunits import with_units
from formula.working import Step, Working
from tests.arithmetic import back, check_readers, check_units, evaluate
from tests.dimensions import MixedKindsError, kind_of

LOSSES = Losses(handling="2 %", bake="11 %")
BREAD = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70, "salt": 2}, losses=LOSSES)
BATCH = BREAD.scale(pieces=60, baked="800 g")
WORKINGS = {
    "water": water_temperature("25 °C", flour="20 °C", room="22 °C", friction="8 K").working(),
    "water, rise": water_temperature("25 °C", flour="20 °C", room="22 °C", rise="5 K").working(),
    "dough": dough_temperature(flour="20 °C", room="22 °C", water="12 °C", friction="24 K").working(),
    "friction": friction_factor(dough="26 °C", flour="21 °C", room="23 °C", water="14 °C").working(),
    "base": base_temperature("25 °C", rise="5 K").working(),
    "ice": ice_for("20 kg", tap="18 °C", wanted="6 °C", ice="-5 °C").working(),
    "ice on top": ice_for("20 kg", tap="18 °C", wanted="6 °C", ice="0 °C", keep="water").working(),
    "yeast": convert_yeast("40 g", "fresh", "instant").working(),
    "losses": LOSSES.dough_for("800 g").working(),
    "losses added": Losses(handling="2 %", bake="11 %", combine="add").dough_for("800 g").working(),
    "bread": LOSSES.bread_from("900 g").working(),
    "dividing": divide("58.75 kg", piece="1.2 kg", remainder="spread", step="5 g").working(),
    "batch": BATCH.working(),
    "batch by flour": BREAD.scale(flour="50 lb").working(),
    "batch by an ingredient": BREAD.scale(using={"salt": "1 lb"}).working(),
    "heat": heat_balance(
        BATCH, target="25 °C", temperatures={"bread flour": "20 °C"}, room="22 °C", work="4 Wh/kg"
    ).working(),
}


@pytest.mark.parametrize("name", WORKINGS)
@pytest.mark.parametrize("mass", ["", "g", "kg", "oz", "lb"])
@pytest.mark.parametrize("temperature", ["", "°C", "°F"])
def test_every_sum_holds_in_the_units_of_the_reader(name: str, mass: str, temperature: str) -> None:
    check_readers(WORKINGS[name], mass, temperature)


@pytest.mark.parametrize(
    ("expression", "unit", "units", "said"),
    [
        ("a + b", "g", {"a": "g"}, "b has no unit"),
        ("a + b", "g", {"a": "g", "b": "g", "c": "g"}, "have a unit, but no value"),
        ("a + b", "g", {"a": "g", "b": "1"}, "a sum of"),
        ("a + b", "h", {"a": "g", "b": "g"}, "and not h"),
        ("a + b", "g", {"a": "stone", "b": "stone"}, "no unit 'stone'"),
        ("exp(a) + b", "1", {"a": "h", "b": "1"}, "of no plain number"),
        ("a ** b", "g", {"a": "g", "b": "1"}, "which tells no kind"),
        ("a + b", "g", {"a": "kg", "b": "kg"}, "could be in the unit of the reader"),
        ("a + b", "°C", {"a": "K", "b": "K"}, "could be in the unit of the reader"),
        ("a - b", "°C", {"a": "°C", "b": "°C"}, "could be in the unit of the reader"),
    ],
)
def test_a_wrong_unit_is_found(expression: str, unit: str, units: dict[str, str], said: str) -> None:
    """The net has no hole: what is untold, of another kind or of another size cannot pass."""
    values = {"a": 3.0, "b": 2.0}
    wrong = Working("Wrong", (Step("x", expression, values, evaluate(expression, values), unit, units=units),))
    with pytest.raises((AssertionError, MixedKindsError), match=re.escape(said)):
        check_readers(wrong, "lb", "°F")


def test_a_name_keeps_its_unit() -> None:
    first = Step("x", "a", {"a": 1.0}, 1.0, "g", units={"a": "g"})
    second = Step("y", "a", {"a": 1.0}, 1.0, "kg", units={"a": "kg"})
    with pytest.raises(AssertionError, match="a was in g, and is in kg"):
        check_units(Working("Twice", (first, second)))


@pytest.mark.parametrize(
    ("unit", "kind"),
    [
        ("", {}),
        ("g/100 g", {}),
        ("g2", {"mass": 2}),
        ("K/min", {"temperature": 1, "time": -1}),
        ("kJ/kg K", {"length": 2, "time": -2, "temperature": -1}),
        ("kJ/kg K^2", {"length": 2, "time": -2, "temperature": -2}),
        ("EUR/kg", {"money": 1, "mass": -1}),
        ("g/L", {"mass": 1, "length": -3}),
    ],
)
def test_the_kind_of_a_unit(unit: str, kind: dict[str, int]) -> None:
    assert kind_of(unit) == kind


@pytest.mark.parametrize(
    ("name", "unit"),
    [("piece", "g"), ("piece_2", "g"), ("piece_2_1", "g"), ("piece2", "g"), ("piece_old", "g"), ("piece_sd", "1")],
)
def test_a_name_is_told_its_unit_also_with_numbers_or_words_behind_it(name: str, unit: str) -> None:
    (told,) = with_units([Step("x", name, {name: 3.0}, 3.0, unit)], {"g": "piece", "1": "piece_sd"})
    assert told.units == {name: unit}


def test_what_is_found_or_told_already_stays() -> None:
    first = Step("dough", "dough", {"dough": 900.0}, 900.0, "g")
    second = Step("half", "dough / n", {"dough": 900.0, "n": 2.0}, 450.0, "g", units={"n": "1"})
    third = Step("whole", "half * m", {"half": 450.0, "m": 2.0}, 900.0, "g")
    steps = with_units([first, second, third], {"kg": "dough half", "%": "n"})
    assert [dict(step.units) for step in steps] == [{"dough": "g"}, {"n": "1"}, {}]


@pytest.mark.parametrize(
    ("name", "last"),
    [
        # 3 * 77 - 68 - 71.6 - 14.4 and so on, by hand.
        ("water", "T_water = N * T_dough - T_flour - T_room - friction = 3 * 77 - 68 - 71.6 - 14.4 = 77 °F"),
        (
            "friction",
            "friction = N * T_dough - T_flour - T_room - T_water = 3 * 78.8 - 69.8 - 73.4 - 57.2 = 36 °F difference",
        ),
    ],
)
def test_the_rule_in_fahrenheit(name: str, last: str) -> None:
    assert str(in_units(WORKINGS[name], temperature="°F").steps[-1]) == last


def test_a_sum_with_a_constant_of_its_own_unit_keeps_its_numbers() -> None:
    """L_c is 80 K in degrees Celsius only: the step stays, its outcome is 98 K or 176.4 °F wide."""
    working = in_units(ice_for("20 kg", tap="18 °C", wanted="6 °C", ice="0 °C").working(), temperature="°F")
    assert str(working.steps[0]) == "D = tap + L_c = 18 + 80 = 98 K (176.4 °F difference)"
    assert "98\\,\\mathrm{K}\\;(\\text{176.4 {^\\circ}F difference})" in working.latex()
    assert "<mn>98</mn><mtext>&#160;K (176.4 °F difference)</mtext>" in working.html()


def test_the_sum_of_several_temperatures_is_no_temperature() -> None:
    """A base temperature of 60 °C is three temperatures: 140 °F, as one would be, is wrong for it."""
    (*_, base) = in_units(WORKINGS["base"], temperature="°F").steps
    assert (base.value, base.unit, base.beside) == (60.0, "°C summed", "")


def test_a_number_without_a_unit_is_not_guessed() -> None:
    step = Step("dough", "flour + water", {"flour": 1000.0, "water": 700.0}, 1700.0, "g")
    (moved,) = in_units(Working("Dough", (step,)), mass="kg").steps
    assert str(moved) == "dough = flour + water = 1000 + 700 = 1700 g (1.7 kg)"


def test_what_an_earlier_step_has_found_has_its_unit() -> None:
    flour = Step("flour", "flour", {"flour": 1000.0}, 1000.0, "g", units={"flour": "g"})
    both = Step("twice", "2 * flour", {"flour": 1000.0}, 2000.0, "g")
    assert str(in_units(Working("Twice", (flour, both)), mass="kg").steps[-1]) == "twice = 2 * flour = 2 * 1 = 2 kg"


@pytest.mark.parametrize(
    ("expression", "values"),
    [
        ("-a + abs(b)", {"a": 1.0, "b": 3.0}),
        ("max(a, b) ** 1", {"a": 1.0, "b": 2.0}),
        ("a / b * b", {"a": 2.0, "b": 4.0}),
    ],
)
def test_all_that_a_working_can_say_is_done_again(expression: str, values: dict[str, float]) -> None:
    value = evaluate(expression, values)
    step = Step("x", expression, values, value, "kg", units=dict.fromkeys(values, "kg"))
    (moved,) = in_units(Working("x", (step,)), mass="g").steps
    assert (moved.value, moved.unit) == (value * 1000, "g")


def test_a_sum_that_has_no_answer_in_the_other_unit_keeps_its_numbers() -> None:
    """0 °F stands below the line of a fraction: there is no outcome to show."""
    units = {"a": "1", "t": "°C"}
    step = Step("x", "a / t", {"a": -160 / 9, "t": -160 / 9}, 1.0, "°C", units=units)
    (moved,) = in_units(Working("x", (step,)), temperature="°F").steps
    assert (moved.value, moved.unit, moved.beside) == (1.0, "°C", "33.8 °F")


def test_what_is_no_arithmetic_keeps_its_numbers() -> None:
    step = Step("x", "a if a else a", {"a": 1000.0}, 1000.0, "g", units={"a": "g"})
    (moved,) = in_units(Working("x", (step,)), mass="kg").steps
    assert (moved.value, moved.beside) == (1000.0, "1 kg")


@given(st.floats(-30, 60), st.floats(-30, 60), st.floats(0, 40))
def test_there_and_back(dough_c: float, flour_c: float, friction_k: float) -> None:
    values = {"T_dough": dough_c, "T_flour": flour_c, "friction": friction_k}
    units = {"T_dough": "°C", "T_flour": "°C", "friction": "K"}
    water = Step(
        "T_water", "2 * T_dough - T_flour - friction", values, 2 * dough_c - flour_c - friction_k, "°C", units=units
    )
    (moved,) = in_units(Working("Water", (water,)), temperature="°F").steps
    assert moved.unit == "°F"
    assert back(moved.value, "°F", "°C") == pytest.approx(water.value, abs=1e-9)


@pytest.mark.parametrize(
    ("wish", "said"),
    [
        ({"mass": "stone"}, "mass: got 'stone', expected one of g, kg, oz, lb"),
        ({"temperature": "K"}, "temperature: got 'K'"),
    ],
)
def test_another_unit_is_refused(wish: dict[str, str], said: str) -> None:
    with pytest.raises(UnknownNameError, match=re.escape(said)):
        in_units(WORKINGS["water"], **wish)
