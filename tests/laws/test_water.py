"""Laws of the dough temperature."""

from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from formula.friction import friction_factor, friction_factor_k, friction_from_rise_k
from formula.quantity import DIFFERENCE, TEMPERATURE, write
from formula.water import dough_temperature, dough_temperature_c, water_temperature, water_temperature_c
from tests.laws.strategies import differences_k, known_temperatures_c, more_k, temperatures_c, water_mixes


def in_fahrenheit(text: str | None, factor: float = 1.8, zero: float = 32.0) -> str | None:
    """Write a temperature in °F by arithmetic of our own."""
    return None if text is None else f"{float(text.split()[0]) * factor + zero:.10f} °F"


class TestWaterAndDoughTemperatureAreInverses:
    """The water found for a dough gives that dough, and the dough found for a water asks for that water."""

    @given(temperatures_c, known_temperatures_c, differences_k)
    def test_law(self, wanted_c: float, known_c: tuple[float, ...], friction_k: float) -> None:
        water_c = water_temperature_c(wanted_c, known_c, friction_k)
        assert dough_temperature_c(known_c, water_c, friction_k) == pytest.approx(wanted_c, abs=1e-11)
        dough_c = dough_temperature_c(known_c, wanted_c, friction_k)
        assert water_temperature_c(dough_c, known_c, friction_k) == pytest.approx(wanted_c, abs=1e-11)


class TestTheFrictionFactorIsTheInverseOfBoth:
    """A trial mix that behaved as the rule says gives back the friction it was reckoned with."""

    @given(temperatures_c, known_temperatures_c, differences_k)
    def test_law(self, wanted_c: float, known_c: tuple[float, ...], friction_k: float) -> None:
        water_c = water_temperature_c(wanted_c, known_c, friction_k)
        assert friction_factor_k(wanted_c, known_c, water_c) == pytest.approx(friction_k, abs=1e-11)
        dough_c = dough_temperature_c(known_c, wanted_c, friction_k)
        assert friction_factor_k(dough_c, known_c, wanted_c) == pytest.approx(friction_k, abs=1e-11)


class TestWhateverIsWarmerMakesTheWaterColder:
    """More friction, warmer flour, a warmer room or preferment mean colder water; a warmer dough means warmer water."""

    @given(temperatures_c, known_temperatures_c, differences_k, more_k, st.data())
    def test_law(
        self, wanted_c: float, known_c: tuple[float, ...], friction_k: float, more: float, data: st.DataObject
    ) -> None:
        water_c = water_temperature_c(wanted_c, known_c, friction_k)
        place = data.draw(st.integers(0, len(known_c) - 1))
        warmer = (*known_c[:place], known_c[place] + more, *known_c[place + 1 :])
        assert water_temperature_c(wanted_c, warmer, friction_k) < water_c
        assert water_temperature_c(wanted_c, known_c, friction_k + more) < water_c
        assert water_temperature_c(wanted_c + more, known_c, friction_k) > water_c


class TestCelsiusAndFahrenheitAgree:
    """The rule gives the same water whichever scale its temperatures are written in."""

    @given(water_mixes(), temperatures_c, differences_k, st.sampled_from(["friction", "rise"]))
    def test_law(self, mix: dict[str, Any], wanted_c: float, friction_k: float, given_: str) -> None:
        wanted = write(TEMPERATURE, wanted_c)
        celsius = water_temperature(wanted, **mix, **{given_: write(DIFFERENCE, friction_k)})
        other = {
            "flour": in_fahrenheit(mix["flour"]),
            "room": in_fahrenheit(mix["room"]),
            "preferments": [in_fahrenheit(value) for value in mix["preferments"]],
            given_: in_fahrenheit(write(DIFFERENCE, friction_k), zero=0.0),
        }
        fahrenheit = water_temperature(in_fahrenheit(wanted) or "", **other)  # type: ignore[arg-type]
        assert fahrenheit.temperature_c == pytest.approx(celsius.temperature_c, abs=1e-8 * celsius.measured_count)


class TestARiseIsAFrictionForEveryTemperature:
    """A rise of the dough is the friction factor divided by the number of temperatures."""

    @given(water_mixes(), temperatures_c, differences_k)
    def test_law(self, mix: dict[str, Any], wanted_c: float, rise_k: float) -> None:
        wanted = write(TEMPERATURE, wanted_c)
        by_rise = water_temperature(wanted, **mix, rise=write(DIFFERENCE, rise_k))
        factor_k = friction_from_rise_k(rise_k, by_rise.measured_count)
        by_factor = water_temperature(wanted, **mix, friction=f"{factor_k:.12f} K")
        assert by_factor.temperature_c == pytest.approx(by_rise.temperature_c, abs=1e-8)
        assert by_factor.rise_k == pytest.approx(by_rise.rise_k, abs=1e-8)


class TestATrialMixForetellsTheNext:
    """The factor of a trial mix gives the trial's own dough again, and keeps its rise for any number of temperatures."""

    @given(water_mixes(), temperatures_c, temperatures_c, st.integers(2, 9))
    def test_law(self, mix: dict[str, Any], dough_c: float, water_c: float, count: int) -> None:
        dough, water = write(TEMPERATURE, dough_c), write(TEMPERATURE, water_c)
        factor = friction_factor(dough=dough, water=water, **mix)
        assert water_temperature(dough, **mix, friction=factor).temperature_c == pytest.approx(water_c, abs=1e-9)
        assert dough_temperature(water=water, **mix, friction=factor).temperature_c == pytest.approx(dough_c, abs=1e-9)
        other = factor.for_count(count)
        assert other.rise_k == pytest.approx(factor.rise_k, abs=1e-9)
        assert other.for_count(factor.count) == factor


class TestTheOrderOfPrefermentsDoesNotMatter:
    """Two preferments are two preferments, whichever is named first."""

    @given(water_mixes(), temperatures_c, differences_k)
    def test_law(self, mix: dict[str, Any], wanted_c: float, friction_k: float) -> None:
        assume(len(mix["preferments"]) > 1)
        turned = {**mix, "preferments": mix["preferments"][::-1]}
        wanted, friction = write(TEMPERATURE, wanted_c), write(DIFFERENCE, friction_k)
        one = water_temperature(wanted, **mix, friction=friction).temperature_c
        assert water_temperature(wanted, **turned, friction=friction).temperature_c == pytest.approx(one, abs=1e-9)
