"""Laws of the wall chart."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.quantity import DIFFERENCE, TEMPERATURE, write
from formula.wallchart import temperatures_between, water_chart
from tests.laws.strategies import differences_k, temperatures_c, whole_axes


class TestAChartFallsAlongBothAxes:
    """Warmer flour and a warmer room mean colder water, kelvin for kelvin, and flour and room may be exchanged."""

    @given(temperatures_c, differences_k, whole_axes, whole_axes)
    def test_law(self, dough_c: float, friction_k: float, flour: list[int], room: list[int]) -> None:
        dough, friction = write(TEMPERATURE, dough_c), write(DIFFERENCE, friction_k)
        columns, rows = [f"{value} °C" for value in flour], [f"{value} °C" for value in room]
        chart = water_chart(dough, flour=columns, room=rows, friction=friction)
        for line in chart.water_c:
            for (warm, cold), (left, right) in zip(pairwise(line), pairwise(flour), strict=True):
                assert warm - cold == pytest.approx(right - left, abs=1e-9)
        turned = water_chart(dough, flour=rows, room=columns, friction=friction)
        for place, line in enumerate(chart.water_c):
            assert [row[place] for row in turned.water_c] == pytest.approx(list(line), abs=1e-9)


class TestAnAxisEndsWhereItWasTold:
    """An axis begins at its first temperature, goes on by its step, and ends less than a step before its last or on it."""

    @given(st.integers(-20, 40), st.integers(0, 60), st.integers(2, 20), st.sampled_from(["°C", "°F"]))
    def test_law(self, first: int, over: int, step: int, unit: str) -> None:
        if over / step >= 40:
            return
        made = temperatures_between(f"{first} {unit}", f"{first + over} {unit}", f"{step} {unit}")
        assert len(made) == over // step + 1
