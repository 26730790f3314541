"""Laws of the base temperature."""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula import basetemp
from formula.basetemp import base_temperature, read_base, water_from_base, write_base
from formula.quantity import DIFFERENCE, TEMPERATURE, write
from formula.water import water_temperature
from tests.laws.strategies import differences_k, factor_counts, temperature_fractions, temperatures_c

BASE: Any = basetemp


class TestTheBaseIsTheRuleWrittenOtherwise:
    """The water from the base is the water of the rule, whatever is summed and whichever friction is given."""

    @given(
        temperatures_c, temperatures_c, temperatures_c, st.lists(temperatures_c, max_size=3), differences_k,
        st.sampled_from(["friction", "rise"]),
    )  # fmt: skip
    def test_law(
        self, dough_c: float, flour_c: float, room_c: float, others_c: list[float], friction_k: float, name: str
    ) -> None:
        mix: dict[str, Any] = {
            "flour": write(TEMPERATURE, flour_c),
            "room": write(TEMPERATURE, room_c),
            "preferments": [write(TEMPERATURE, value) for value in others_c],
        }
        friction: dict[str, Any] = {name: write(DIFFERENCE, friction_k)}
        dough = write(TEMPERATURE, dough_c)
        base = base_temperature(dough, count=3 + len(others_c), **friction)
        by_rule = water_temperature(dough, **mix, **friction)
        assert water_from_base(base, **mix).temperature_c == pytest.approx(by_rule.temperature_c, abs=1e-9)


class TestABaseConvertsAsASum:
    """In exact fractions, the base of temperatures in °F is the base in °C times 9/5, and 32 for each one summed."""

    @given(temperature_fractions, temperature_fractions, factor_counts)
    def test_exactly(self, dough_c: Fraction, friction_k: Fraction, count: int) -> None:
        base_c = BASE.base_temperature_c(dough_c, friction_k, count)
        base_f = BASE.base_temperature_c(dough_c * 9 / 5 + 32, friction_k * 9 / 5, count)
        assert BASE.base_in_fahrenheit(base_c, count) == base_f
        assert BASE.base_in_celsius(base_f, count) == base_c

    @given(temperature_fractions, st.lists(temperature_fractions, min_size=1, max_size=6))
    def test_the_water_of_either_scale_is_the_same(self, base_c: Fraction, known_c: list[Fraction]) -> None:
        count = len(known_c) + 1
        water_c = BASE.water_from_base_c(base_c, tuple(known_c))
        base_f, known_f = BASE.base_in_fahrenheit(base_c, count), tuple(value * 9 / 5 + 32 for value in known_c)
        assert BASE.water_from_base_c(base_f, known_f) == water_c * 9 / 5 + 32


class TestTheTextOfABaseReadsBack:
    """A base that was read, written in either unit, reads back to itself."""

    @given(st.integers(-2000, 4000), factor_counts, st.sampled_from(["°C", "°F"]), st.sampled_from(["°C", "°F"]))
    def test_law(self, tenths: int, count: int, unit: str, other: str) -> None:
        base_c = read_base(f"{tenths / 10} {unit}", count)
        assert read_base(write_base(base_c, other, count), count) == base_c


class TestRecountingKeepsTheDoughAndItsRise:
    """A base for another number of temperatures is in proportion to the number, and there and back is the same."""

    @given(temperatures_c, differences_k, factor_counts, factor_counts)
    def test_law(self, dough_c: float, friction_k: float, count: int, other: int) -> None:
        base = base_temperature(write(TEMPERATURE, dough_c), friction=write(DIFFERENCE, friction_k), count=count)
        again = base.for_count(other)
        assert again.base_c == pytest.approx(base.base_c * other / count, abs=1e-9)
        assert again.rise_k == base.rise_k
        assert again.for_count(count).base_c == pytest.approx(base.base_c, abs=1e-9)
