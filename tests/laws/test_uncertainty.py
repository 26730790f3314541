"""Laws of carrying a plus-minus to the answer."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.uncertainty import dough_uncertainty, propagated, water_uncertainty
from tests.laws.strategies import doubts_k, sigmas_k, uncertain_parts


class TestAPlusMinusLiesBetweenTheLargestAndTheWorst:
    """Independent errors make no less than the largest of them and no more than all of them falling the same way."""

    @given(uncertain_parts)
    def test_law(self, made: list[tuple[float, float]]) -> None:
        partials, sigmas = zip(*made, strict=True)
        moved = [abs(partial * sigma) for partial, sigma in made]
        total = propagated(partials, sigmas)
        assert max(moved) * (1 - 1e-12) <= total <= sum(moved) * (1 + 1e-12)


class TestMoreDoubtIsMorePlusMinus:
    """A larger plus-minus of any input never makes a smaller one of the answer, and twice all of them makes twice it."""

    @given(uncertain_parts, sigmas_k, st.data())
    def test_law(self, made: list[tuple[float, float]], more: float, data: st.DataObject) -> None:
        partials, sigmas = (list(values) for values in zip(*made, strict=True))
        total = propagated(partials, sigmas)
        assert propagated(partials, [2 * sigma for sigma in sigmas]) == pytest.approx(2 * total, rel=1e-12, abs=1e-12)
        sigmas[data.draw(st.integers(0, len(sigmas) - 1))] += more
        assert propagated(partials, sigmas) >= total * (1 - 1e-12)


class TestTheWaterErrsNTimesTheDough:
    """From the same thermometers, the water is N times as much in doubt as the dough made with a water that is not."""

    @given(doubts_k, doubts_k, doubts_k)
    def test_law(self, flour: float, room: float, friction: float) -> None:
        doubts = {"flour": f"{flour} K", "room": f"{room} K", "friction": f"{friction} K"}
        water = water_uncertainty("25 °C", flour="20 °C", room="22 °C", friction="8 K", plus_minus=doubts)
        dough = dough_uncertainty(flour="20 °C", room="22 °C", water="25 °C", friction="8 K", plus_minus=doubts)
        assert water.plus_minus_k == pytest.approx(3 * dough.plus_minus_k, rel=1e-12, abs=1e-12)
        total = sum(part.share for part in water.contributions)
        assert total == pytest.approx(1.0 if water.plus_minus_k else 0.0)
