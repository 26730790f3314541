"""Base temperature: published rows, a sum that converts as a sum, and every refusal."""

import copy
import pickle
from fractions import Fraction
from typing import Any

import numpy as np
import pint
import pytest

from formula import basetemp
from formula.basetemp import base_in_celsius, base_temperature, read_base, water_from_base, write_base
from formula.errors import QuantityError
from formula.friction import friction_factor
from formula.water import water_temperature
from tests.arithmetic import check_working
from tests.beside import made_base
from tests.rows import holds, rows

BASE: Any = basetemp


@pytest.mark.parametrize("row", rows("base_temperature"))
def test_published(row: dict[str, str]) -> None:
    holds("base_temperature", row)
    made = made_base(row)
    check_working(made.working(), made.temperature_c)


def test_a_base_is_a_sum_in_fahrenheit() -> None:
    """As one temperature 58 °C would be 136.4 °F; as the sum of three it is 200.4 °F."""
    made = base_temperature("24 °C", friction="14 K")
    assert (made.base_c, made.base_f, made.count) == (58.0, 200.4, 3)
    assert (made.written(), made.written("°F")) == ("58 °C", "200.4 °F")
    # By the rule in °F throughout: 3 * 75.2 - 25.2.
    assert made.base_f == pytest.approx(3 * 75.2 - 25.2)
    four = base_temperature("24 °C", friction="16 K", count=4)
    assert (four.base_c, four.base_f) == (80.0, 272.0)
    check_working(made.working(), 58.0)


@pytest.mark.parametrize("count", [2, 3, 4, 5])
def test_text_goes_out_and_comes_back(count: int) -> None:
    for unit in ("°C", "°F"):
        assert read_base(write_base(61.5, unit, count), count) == 61.5
    assert read_base(f"{32 * count} °F", count) == pytest.approx(0.0, abs=1e-9)


def test_in_fractions() -> None:
    base_c = BASE.base_temperature_c(Fraction(49, 2), Fraction(31, 3), 3)
    assert BASE.base_in_fahrenheit(base_c) == 3 * (Fraction(49, 2) * 9 / 5 + 32) - Fraction(31, 3) * 9 / 5
    assert BASE.base_in_celsius(BASE.base_in_fahrenheit(base_c, 4), 4) == base_c


def test_a_rise_counts_for_every_temperature() -> None:
    made = base_temperature("26 °C", rise="3 K")
    assert (made.friction_k, made.base_c) == (9.0, 69.0)
    four = made.for_count(4)
    assert (four.friction_k, four.base_c, four.count) == (12.0, 92.0, 4)
    check_working(four.working(), 92.0)
    assert water_from_base(four, flour="22 °C", room="22 °C", preferments="6 °C").temperature_c == 42.0


def test_a_factor_of_a_trial_mix() -> None:
    factor = friction_factor(dough="24 °C", flour="20 °C", room="21 °C", water="29 °C")
    assert base_temperature("24 °C", friction=factor).base_c == 70.0
    with pytest.raises(QuantityError, match=r"friction\.for_count\(4\)"):
        base_temperature("24 °C", friction=factor, count=4)


def test_the_base_and_the_rule_say_the_same() -> None:
    by_rule = water_temperature("25 °C", flour="20 °C", room="22 °C", friction="8 K", preferments=["18 °C"])
    base = base_temperature("25 °C", friction="8 K", count=4)
    assert (
        water_from_base(base, flour="20 °C", room="22 °C", preferments=["18 °C"]).temperature_c == by_rule.temperature_c
    )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("58", "add the unit"),
        ("58 C", "did you mean °C"),
        ("58,5 °C", "decimal point"),
        ("331 K", "the sum of 3 temperatures"),
        ("-900 °C", "nothing is colder"),
        (58, "a base is a sum of temperatures and no quantity of one"),
        (None, "a base is a sum of temperatures"),
        (pint.UnitRegistry().Quantity(58.0, "degC"), "a base is a sum of temperatures"),
    ],
)
def test_what_is_no_base(text: Any, words: str) -> None:  # noqa: ANN401 - whatever a caller may write
    with pytest.raises(QuantityError, match=words):
        water_from_base(text, flour="18 °C", room="18 °C")


def test_the_count_of_a_base_is_held_to_the_temperatures_given() -> None:
    with pytest.raises(QuantityError, match=r"base: got a sum of 3 temperatures, expected one of the 4 .* say count="):
        water_from_base("58 °C", flour="18 °C", room="18 °C", preferments="20 °C")
    with pytest.raises(QuantityError, match=r"base\.for_count\(2\)"):
        water_from_base(base_temperature("24 °C", friction="14 K"), flour="18 °C")
    assert water_from_base("78 °C", flour="18 °C", room="18 °C", preferments="20 °C", count=4).temperature_c == 22.0
    assert water_from_base("40 °C", flour="18 °C", count=2).temperature_c == 22.0


def test_every_bad_argument_is_named_at_once() -> None:
    with pytest.raises(QuantityError) as caught:
        water_from_base("58", flour="18", room="18 C", preferments=["6"], count=True, yeast="beer")
    assert [fault.where for fault in caught.value.faults] == ["flour", "room", "preferments[0]", "yeast", "count"]
    with pytest.raises(QuantityError) as caught:
        base_temperature("24", count=1)
    assert [fault.where for fault in caught.value.faults] == ["dough", "count", "friction"]
    for count in (0, 1, 2.0, "3", True):
        with pytest.raises(QuantityError, match="count: got"):
            write_base(58.0, "°C", count)  # type: ignore[arg-type]
    with pytest.raises(QuantityError, match="unit: got 'K'"):
        write_base(58.0, "K")


@pytest.mark.parametrize(
    ("base", "codes"),
    [("37 °C", ["unusual-base"]), ("38 °C", []), ("80 °C", []), ("81 °C", ["unusual-base"])],
)
def test_a_strange_base_is_cautioned(base: str, codes: list[str]) -> None:
    made = water_from_base(base, flour="18 °C", room="18 °C")
    assert [caution.code for caution in made.cautions if "base" in caution.code] == codes


def test_cautions_of_the_water() -> None:
    made = water_from_base("58 °C", flour="2 °C", room="3 °C", yeast="fresh")
    assert [caution.code for caution in made.cautions] == ["too-hot-for-yeast", "scald"]
    assert made.yeast == "fresh"


def test_views_and_values() -> None:
    base = base_temperature("24 °C", friction="14 K")
    water = water_from_base(base, flour="18 °C", room="18 °C")
    assert base.dough.m_as("degF") == pytest.approx(75.2)
    assert base.friction.m_as("delta_degC") == pytest.approx(14.0)
    assert base.rise.m_as("delta_degC") == pytest.approx(14 / 3)
    assert water.temperature.m_as("degC") == pytest.approx(22.0)
    assert water.base_f == pytest.approx(200.4)
    assert base_temperature("75.2 °F", friction="25.2 °F") == base
    for result in (base, water):
        assert pickle.loads(pickle.dumps(result)) == copy.deepcopy(result) == result  # noqa: S301 - our own bytes
        assert hash(copy.deepcopy(result)) == hash(result)


def test_the_kernels_take_arrays_and_keep_their_dimensions() -> None:
    assert BASE.base_temperature_c(np.array([24.0, 25.0]), 14.0).tolist() == [58.0, 61.0]
    assert BASE.water_from_base_c(np.array([58.0, 61.0]), (18.0, 18.0)).tolist() == [22.0, 25.0]
    kelvin = pint.UnitRegistry().delta_degC
    assert BASE.base_temperature_c(24 * kelvin, 14 * kelvin).m_as("delta_degC") == pytest.approx(58)
    assert BASE.water_from_base_c(58 * kelvin, (18 * kelvin, 18 * kelvin)).m_as("delta_degC") == pytest.approx(22)


def test_a_base_is_the_sum_of_three_unless_told() -> None:
    # Three times 20 °C are three times 68 °F.
    assert base_in_celsius(204.0) == pytest.approx(60.0, abs=1e-12)
