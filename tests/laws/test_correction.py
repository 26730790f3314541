"""Laws of correcting the water."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.correction import corrected_water_c
from formula.water import dough_temperature_c
from tests.laws.strategies import differences_k, known_temperatures_c, mass_ratios, temperatures_c


class TestAWarmerDoughMeansColderWater:
    """A dough that came off too warm gets colder water next, one too cold warmer water, and one that was right the same."""

    @given(temperatures_c, temperatures_c, st.floats(0.01, 20.0), mass_ratios)
    def test_law(self, water_c: float, wanted_c: float, off_k: float, ratio: float) -> None:
        assert corrected_water_c(water_c, wanted_c + off_k, wanted_c, ratio) < water_c
        assert corrected_water_c(water_c, wanted_c - off_k, wanted_c, ratio) > water_c
        assert corrected_water_c(water_c, wanted_c, wanted_c, ratio) == water_c


class TestByCountTheRuleIsRightAtOnce:
    """If doughs follow the rule with a friction nobody knows, one correction by the count brings the dough home."""

    @given(temperatures_c, temperatures_c, known_temperatures_c, differences_k)
    def test_law(self, water_c: float, wanted_c: float, known_c: tuple[float, ...], hidden_k: float) -> None:
        measured_c = dough_temperature_c(known_c, water_c, hidden_k)
        again_c = corrected_water_c(water_c, measured_c, wanted_c, len(known_c) + 1)
        assert dough_temperature_c(known_c, again_c, hidden_k) == pytest.approx(wanted_c, abs=1e-9)
