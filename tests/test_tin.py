"""Tins and trays: volumes by integration, the three ways round, and every refusal."""

import copy
import math
import pickle
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from iapws import IAPWS95
from scipy.integrate import quad

from formula import tin as room
from formula.errors import QuantityError
from formula.tin import WATER_DENSITY, Tin, TinFill, box_volume_ml, fill_tin, round_volume_ml, water_density_kg_m3
from formula.tray import Tray, TrayFill, fill_tray
from tests.arithmetic import check_working

KERNELS: Any = room
QUADRATURE: Any = quad
WATER: Any = IAPWS95


def test_a_sloping_box_by_layers() -> None:
    found, _ = QUADRATURE(lambda z: (0.28 + 0.02 * z / 0.1) * (0.09 + 0.02 * z / 0.1), 0, 0.1)
    assert box_volume_ml(0.30, 0.11, 0.28, 0.09, 0.1) == pytest.approx(1e6 * found, rel=1e-9)


def test_a_sloping_round_by_layers() -> None:
    found, _ = QUADRATURE(lambda z: math.pi / 4 * (0.18 + 0.04 * z / 0.08) ** 2, 0, 0.08)
    assert round_volume_ml(0.22, 0.18, 0.08) == pytest.approx(1e6 * found, rel=1e-9)


def test_water_between_the_tabled_temperatures() -> None:
    assert water_density_kg_m3(20.0) == 998.207
    assert (water_density_kg_m3(0.01), water_density_kg_m3(50.0)) == (999.844, 988.035)
    for celsius, density in WATER_DENSITY:
        assert density.value == pytest.approx(WATER(T=celsius + 273.15, P=0.101325).rho, abs=0.0006)
    for celsius in (2.0, 12.5, 22.0, 35.0, 45.0):
        assert water_density_kg_m3(celsius) == pytest.approx(WATER(T=celsius + 273.15, P=0.101325).rho, abs=0.11)
    assert math.isnan(water_density_kg_m3(60.0))


TINS: list[tuple[dict[str, Any], float]] = [
    ({"volume": "1.5 L"}, 1500),
    ({"water": "1.48 kg"}, 1480),
    ({"water": "1.48 kg", "temperature": "20 °C"}, 1480 / 0.998207),
    ({"length": "30 cm", "width": "11 cm", "height": "10 cm"}, 3300),
    ({"length": "30 cm", "width": "11 cm", "height": "10 cm", "bottom_length": "28 cm", "bottom_width": "9 cm"},
     10 * (30 * 11 + 28 * 9 + 4 * 29 * 10) / 6),
    ({"diameter": "20 cm", "height": "8 cm"}, math.pi * 100 * 8),
    ({"diameter": "20 cm", "height": "8 cm", "bottom_diameter": "16 cm"}, math.pi * 8 / 3 * (100 + 80 + 64)),
]  # fmt: skip


@pytest.mark.parametrize(("given", "volume_ml"), TINS)
def test_volumes(given: dict[str, Any], volume_ml: float) -> None:
    tin = Tin(**given)
    assert tin.volume_ml == pytest.approx(volume_ml, rel=1e-12)
    assert tin.volume.m_as("liter") == pytest.approx(volume_ml / 1000)
    check_working(tin.working(), tin.volume_ml)
    for found in (
        fill_tin(tin, filling="450 g/L"),
        fill_tin(tin, dough="700 g"),
        fill_tin(tin, filled="40 %", density="1150 kg/m3"),
    ):
        check_working(found.working(), {"dough": found.dough_g, "filling": found.filling_kg_m3}[found.sought])


def test_views_of_a_tin() -> None:
    tin = Tin(water="1.48 kg", temperature="20 °C")
    assert tin.water is not None
    assert tin.temperature is not None
    assert (tin.water.m_as("kg"), tin.temperature.m_as("degC")) == pytest.approx((1.48, 20))
    assert Tin("1 L").water is None


def test_the_three_ways_round() -> None:
    dough = fill_tin("1.5 L", filling="450 g/L")
    filling = fill_tin("1.5 L", dough="675 g")
    size = fill_tin(dough="675 g", filling="0.45 g/mL")
    assert [found.sought for found in (dough, filling, size)] == ["dough", "filling", "size"]
    for found in (dough, filling, size):
        assert (found.volume_ml, found.dough_g, found.filling_kg_m3) == pytest.approx((1500, 675, 450))
        assert found.volume.m_as("L") == pytest.approx(1.5)
        assert found.dough.m_as("kg") == pytest.approx(0.675)
        assert found.filling.m_as("g/mL") == pytest.approx(0.45)
        assert found.filled.m_as("percent") == pytest.approx(100 * 450 / 1210)
        assert found.density.m_as("kg/m^3") == pytest.approx(1210)
    check_working(size.working(), size.volume_ml)


def test_another_tin_from_a_known_one() -> None:
    known = fill_tin("1.5 L", dough="700 g")
    assert fill_tin("2 L", filling=known.filling).dough_g == pytest.approx(700 * 2 / 1.5)


def test_the_part_filled() -> None:
    found = fill_tin("2 L", filled="50 %", density="1.1 g/mL")
    assert (found.dough_g, found.filling_kg_m3, found.filled_share) == pytest.approx((1100, 550, 0.5))
    assert fill_tin("1 L", filled="40 %").dough_g == pytest.approx(0.4 * 1210)
    back = fill_tin("2 L", dough="1.1 kg", density="1.1 g/mL")
    assert back.filled_share == pytest.approx(0.5)


def test_more_dough_than_goes_in() -> None:
    assert [caution.code for caution in fill_tin("1 L", dough="1.3 kg").cautions] == ["overfull"]
    assert fill_tin("1 L", filled="100 %").cautions == ()


def test_trays() -> None:
    sheet, disc = Tray(length="60 cm", width="40 cm"), Tray(diameter="20 cm")
    assert (sheet.area_m2, disc.area_m2) == pytest.approx((0.24, math.pi * 0.01))
    assert sheet.area.m_as("cm ** 2") == pytest.approx(2400)
    dough = fill_tray(sheet, filling="5 kg/m2")
    filling = fill_tray("2400 cm2", dough="1.2 kg")
    size = fill_tray(dough="1.2 kg", filling="0.5 g/cm2")
    for found in (dough, filling, size):
        assert (found.area_m2, found.dough_g, found.filling_kg_m2) == pytest.approx((0.24, 1200, 5))
        assert found.area.m_as("m ** 2") == pytest.approx(0.24)
        assert found.dough.m_as("g") == pytest.approx(1200)
        assert found.filling.m_as("g/cm^2") == pytest.approx(0.5)
    check_working(dough.working(), dough.dough_g)
    check_working(filling.working(), filling.filling_kg_m2)
    check_working(size.working(), size.area_m2)
    check_working(fill_tray(disc, dough="100 g").working(), 0.1 / disc.area_m2, exact=False)
    for tray in (sheet, disc, Tray("0.24 m2")):
        check_working(tray.working(), tray.area_m2)


WAYS = "expected volume, or water, or length, width and height, or diameter and height"
BAD: list[tuple[Callable[[], object], list[str]]] = [
    (Tin, [f"tin: got nothing, {WAYS}"]),
    (lambda: Tin("1 L", water="1 kg"), ["tin: got volume, water"]),
    (lambda: Tin(length="30 cm", width="11 cm", height="0 cm", bottom_length="3"),
     ["tin: got bottom_length, height, length, width", "height: got 0 m", "bottom_length: got '3'"]),
    (lambda: Tin("1.5 kg"), ["volume: got '1.5 kg', expected a volume"]),
    (lambda: Tin("1 L", temperature="20 °C"), ["temperature: got a value, expected nothing without water"]),
    (lambda: Tin(water="1 kg", temperature="70 °C"), ["temperature: got 70 °C, expected from 0.01 to 50 °C"]),
    (lambda: Tin(water="1 kg", temperature="20"), ["temperature: got '20'"]),
    (fill_tin, ["tin: got nothing, expected two of tin, dough and filling"]),
    (lambda: fill_tin("1 L"), ["tin: got tin alone", "a known one gives the filling"]),
    (lambda: fill_tin(dough="2 kg"), ["tin: got dough alone"]),
    (lambda: fill_tin(filling="450 g/L"), ["tin: got filling alone"]),
    (lambda: fill_tin("1 L", dough="2 kg", filling="2 g/mL"), ["tin: got tin, dough, filling", "leave out what is sought"]),
    (lambda: fill_tin("0 L", dough="0 g"), ["tin: got 0 mL", "dough: got 0 g"]),
    (lambda: fill_tin("0 L", dough="1 g"), ["tin: got 0 mL"]),
    (lambda: fill_tin(dough="1 g", filling="0 g/L"), ["filling: got 0 kg/m³"]),
    (lambda: fill_tin("1 L", filled="120 %"), ["filled: got 120 %"]),
    (lambda: fill_tin("1 L", filled="20 %", filling="2 g/L"), ["filled: got a value, expected nothing beside filling"]),
    (lambda: fill_tin("1 L", filling=450), ["filling: got the bare number 450"]),  # type: ignore[arg-type]
    (Tray, ["tray: got nothing, expected area, or length and width, or diameter"]),
    (lambda: Tray("3", length="2 cm"), ["tray: got area, length", "area: got '3'"]),
    (lambda: Tray(diameter="0 cm"), ["diameter: got 0 m"]),
    (lambda: fill_tray("0.2 m2"), ["tray: got tray alone"]),
    (lambda: fill_tray("0.2 m2", filling="5"), ["filling: got '5', expected a mass per area"]),
]  # fmt: skip


@pytest.mark.parametrize(("call", "words"), BAD)
def test_refusals(call: Callable[[], object], words: list[str]) -> None:
    with pytest.raises(QuantityError) as caught:
        call()
    assert all(word in str(caught.value) for word in words), str(caught.value)


def test_values_not_objects() -> None:
    tin, tray = Tin(water="1.48 kg"), Tray(diameter="20 cm")
    for one, other in (
        (tin, Tin(water="1480 g")),
        (tray, Tray(diameter="200 mm")),
        (fill_tin(tin, dough="1 lb"), fill_tin(tin, dough="16 oz")),
        (fill_tray(tray, dough="1 kg"), fill_tray(tray, dough="1000 g")),
    ):
        assert one == other
        assert hash(one) == hash(other)
        assert pickle.loads(pickle.dumps(one)) == one  # noqa: S301 - our own bytes
        assert copy.deepcopy(one) == one
    assert isinstance(fill_tin(tin, dough="1 lb"), TinFill)
    assert isinstance(fill_tray(tray, dough="1 lb"), TrayFill)


def test_kernels_take_arrays() -> None:
    heights = np.array([0.1, 0.2])
    assert KERNELS.box_volume_ml(0.1, 0.1, 0.1, 0.1, heights) == pytest.approx([1000, 2000])
    assert KERNELS.round_volume_ml(0.2, 0.2, heights) == pytest.approx([math.pi * 1000, math.pi * 2000])
