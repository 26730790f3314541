"""Laws of tins and trays."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.quantity import AREA, DENSITY, MASS, MASS_PER_AREA, VOLUME, write
from formula.tin import Tin, fill_tin
from formula.tray import fill_tray
from tests.laws.strategies import areas_m2, fillings_kg_m3, masses_per_area_kg_m2, volumes_ml


class TestThereAndBack:
    """Dough for a tin, then its filling, then the tin: each gives back what it came from; so for a tray."""

    @given(volumes_ml, fillings_kg_m3)
    def test_tin(self, volume_ml: float, filling: float) -> None:
        made = fill_tin(write(VOLUME, volume_ml), filling=write(DENSITY, filling))
        dough = write(MASS, made.dough_g)
        assert fill_tin(write(VOLUME, volume_ml), dough=dough).filling_kg_m3 == pytest.approx(filling, rel=1e-10)
        assert fill_tin(dough=dough, filling=write(DENSITY, filling)).volume_ml == pytest.approx(volume_ml, rel=1e-10)

    @given(areas_m2, masses_per_area_kg_m2)
    def test_tray(self, area_m2: float, filling: float) -> None:
        made = fill_tray(write(AREA, area_m2), filling=write(MASS_PER_AREA, filling))
        dough = write(MASS, made.dough_g)
        assert fill_tray(write(AREA, area_m2), dough=dough).filling_kg_m2 == pytest.approx(filling, rel=1e-10)
        assert fill_tray(dough=dough, filling=write(MASS_PER_AREA, filling)).area_m2 == pytest.approx(
            area_m2, rel=1e-10
        )


class TestDoughGoesWithVolume:
    """A tin k times as large takes k times the dough, at one filling."""

    @given(st.integers(1, 10_000), st.integers(1, 20), fillings_kg_m3)
    def test_law(self, volume_ml: int, times: int, filling: float) -> None:
        one = fill_tin(f"{volume_ml} mL", filling=write(DENSITY, filling)).dough_g
        assert fill_tin(f"{volume_ml * times} mL", filling=write(DENSITY, filling)).dough_g == pytest.approx(
            times * one
        )


class TestWarmerWaterMeansALargerTin:
    """The same weight of warmer water, above 5 °C, fills a larger tin; by at most 1.2 % up to 50 °C."""

    @given(st.integers(5, 49))
    def test_law(self, celsius: int) -> None:
        cool, warm = (Tin(water="1 kg", temperature=f"{each} °C").volume_ml for each in (celsius, celsius + 1))
        assert 1000 <= cool < warm < 1000 * 1.0125
