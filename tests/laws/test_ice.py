"""Laws of ice."""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.ice import ICE_HEAT_RATIO, LATENT_K, ice_for, ice_on_top_g, ice_replacing_g
from formula.quantity import MASS, TEMPERATURE, write
from tests.laws.strategies import ice_cases, ice_choices, masses_g, tenths_c

REPLACING: Any = ice_replacing_g
ON_TOP: Any = ice_on_top_g


class TestTheHeatBalances:
    """What the tap water gives off is what the ice takes up in warming, melting and warming on."""

    @given(masses_g, ice_cases(), ice_choices)
    def test_law(self, water_g: float, case: tuple[float, float, float], choice: dict[str, Any]) -> None:
        tap, wanted, ice = (write(TEMPERATURE, value) for value in case)
        made = ice_for(write(MASS, water_g), tap=tap, wanted=wanted, ice=ice, **choice)
        latent_k = dict(LATENT_K)[made.latent].value
        given_off = made.water_g * (made.tap_c - made.wanted_c)
        taken_up = made.ice_g * (ICE_HEAT_RATIO.value * -made.ice_temperature_c + latent_k + made.wanted_c)
        assert taken_up == pytest.approx(given_off, rel=1e-9, abs=1e-9 * water_g)


class TestIceStaysWithinTheWater:
    """Replacing water, the ice is neither less than nothing nor more than the water, down to all of it."""

    @given(masses_g, tenths_c, st.floats(0.0, 1.0), tenths_c)
    def test_law(self, water_g: float, tap_c: float, part: float, below: float) -> None:
        coldest_c = -(80.0 - ICE_HEAT_RATIO.value * -below)
        for wanted_c in (tap_c - part * (tap_c - coldest_c), coldest_c, tap_c):
            if coldest_c <= wanted_c <= tap_c:
                assert 0.0 <= ice_replacing_g(water_g, tap_c, wanted_c, -below) <= water_g

    @given(masses_g, ice_cases(), st.sampled_from(["trade", "physical"]))
    def test_shell(self, water_g: float, case: tuple[float, float, float], latent: Any) -> None:  # noqa: ANN401
        tap, wanted, ice = (write(TEMPERATURE, value) for value in case)
        made = ice_for(write(MASS, water_g), tap=tap, wanted=wanted, ice=ice, latent=latent)
        assert 0.0 <= made.ice_g <= water_g
        assert 0.0 <= made.water_g <= water_g
        assert made.total_g == water_g


class TestCelsiusAndFahrenheitAgree:
    """T + 80 in °C and T + 112 in °F are one rule: exactly in fractions, and at the shell to the grid."""

    @given(st.fractions(32, 212), st.fractions(-111, 212), st.fractions(1, 1000))
    def test_fractions(self, tap_f: Fraction, wanted_f: Fraction, water: Fraction) -> None:
        tap, wanted = ((value - 32) * Fraction(5, 9) for value in (tap_f, wanted_f))
        zero, ratio = Fraction(0), Fraction(203, 419)
        replacing = REPLACING(water, tap, wanted, zero, Fraction(80), ratio)
        assert replacing == water * (tap_f - wanted_f) / (tap_f + 112)
        on_top = ON_TOP(water, tap, wanted, zero, Fraction(80), ratio)
        assert on_top == water * (tap_f - wanted_f) / (wanted_f + 112)

    @given(masses_g, ice_cases(), ice_choices)
    def test_shell(self, water_g: float, case: tuple[float, float, float], choice: dict[str, Any]) -> None:
        names = ("tap", "wanted", "ice")
        in_c: dict[str, Any] = {name: f"{value:.9f} °C" for name, value in zip(names, case, strict=True)}
        in_f: dict[str, Any] = {name: f"{value * 1.8 + 32:.10f} °F" for name, value in zip(names, case, strict=True)}
        celsius = ice_for(write(MASS, water_g), **in_c, **choice)
        fahrenheit = ice_for(write(MASS, water_g), **in_f, **choice)
        assert fahrenheit.ice_g == pytest.approx(celsius.ice_g, rel=1e-8, abs=1e-8 * water_g)


class TestColderWaterTakesMoreIce:
    """A colder wish or a warmer tap never takes less ice; ice on top is never less than ice that replaces."""

    @given(ice_cases(), st.floats(0.0, 1.0), st.floats(0.0, 20.0))
    def test_law(self, case: tuple[float, float, float], part: float, more: float) -> None:
        tap_c, wanted_c, ice_c = case
        milder_c = wanted_c + part * (tap_c - wanted_c)
        slack = 1e-9
        for kernel in (ice_replacing_g, ice_on_top_g):
            ice_g = kernel(1000.0, tap_c, wanted_c, ice_c)
            assert kernel(1000.0, tap_c, milder_c, ice_c) <= ice_g + slack
            assert kernel(1000.0, tap_c + more, wanted_c, ice_c) >= ice_g - slack
            assert kernel(1000.0, tap_c, wanted_c, ice_c - more) <= ice_g + slack
        on_top, replacing = (kernel(1000.0, tap_c, wanted_c, ice_c) for kernel in (ice_on_top_g, ice_replacing_g))
        assert on_top >= replacing - slack


class TestTwiceTheWaterIsTwiceTheIce:
    """The ice is in proportion to the water."""

    @given(masses_g, ice_cases(), st.integers(2, 50))
    def test_law(self, water_g: float, case: tuple[float, float, float], times: int) -> None:
        for kernel in (ice_replacing_g, ice_on_top_g):
            assert kernel(times * water_g, *case) == pytest.approx(times * kernel(water_g, *case), rel=1e-12)
