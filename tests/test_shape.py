"""Shapes of bread: their forms by integration, their sizes, and every refusal."""

import copy
import math
import pickle
from typing import Any

import numpy as np
import pint
import pytest
from scipy.integrate import quad

from formula import shape as room
from formula.errors import QuantityError
from formula.shape import SHAPES, Loaf, LoafShape, flat_form, long_form, pan_form, ring_form, round_form
from tests.arithmetic import check_working

KERNELS: Any = room
QUADRATURE: Any = quad


def turned(radius: Any, slope: Any, low: float, high: float) -> tuple[float, float]:  # noqa: ANN401 - functions of a float
    """Volume and mantle of a body of revolution, by integration."""
    volume, _ = QUADRATURE(lambda x: math.pi * radius(x) ** 2, low, high)
    mantle, _ = QUADRATURE(lambda x: 2 * math.pi * radius(x) * math.hypot(1, slope(x)), low, high)
    return volume, mantle


@pytest.mark.parametrize("h", [0.2, 0.35, 0.5])
def test_a_dome_is_the_cap_of_a_sphere_with_its_sole(h: float) -> None:
    ball = (0.25 + h**2) / (2 * h)
    low = ball - h
    volume, mantle = turned(
        lambda x: math.sqrt(max(ball**2 - x**2, 0)), lambda x: -x / math.sqrt(max(ball**2 - x**2, 1e-300)), low, ball
    )
    assert round_form(h) == pytest.approx((volume, mantle + math.pi / 4, h / 2), rel=1e-6)


@pytest.mark.parametrize("length", [1.0, 4.0, 12.0])
def test_a_long_loaf_has_rounded_ends(length: float) -> None:
    straight = length - 1
    volume = math.pi / 4 * straight + math.pi / 6
    assert long_form(length) == pytest.approx((volume, math.pi * straight + math.pi, 0.5), rel=1e-12)


def test_a_disc_a_ring_and_a_pan_by_hand() -> None:
    assert flat_form(0.2) == pytest.approx((math.pi * 0.25 * 0.2, 2 * math.pi * 0.25 + math.pi * 0.2, 0.1))
    # Pappus: the circle of the strand times the way of its centre, which lies at (D - 1) / 2.
    way = 2 * math.pi * (6 - 1) / 2
    assert ring_form(6.0) == pytest.approx((way * math.pi / 4, way * math.pi, 0.5))
    assert pan_form(3.0, 0.5, 0.25) == pytest.approx((1.5, 3 + 0.25 * (3 + 2 * 3 * 0.5 + 2 * 0.5), 0.25))


def test_the_same_body_by_two_names() -> None:
    """A ball is a long loaf of length 1, and a sphere over its mass is 6 / (rho d)."""
    ball = LoafShape("long", length_to_diameter=1, density="500 kg/m3").of("1 kg")
    diameter_m = (6 / math.pi * 1 / 500) ** (1 / 3)
    assert ball.measure_m == pytest.approx(diameter_m)
    assert ball.surface_m2 == pytest.approx(math.pi * diameter_m**2)
    assert ball.surface_per_mass_m2_kg == pytest.approx(6 / (500 * diameter_m))
    assert ball.half_thickness_m == pytest.approx(diameter_m / 2)


@pytest.mark.parametrize("name", SHAPES)
def test_working_and_views(name: str) -> None:
    loaf = LoafShape(name, density="350 kg/m3").of("0.9 kg")
    check_working(loaf.working(), loaf.surface_per_mass_m2_kg)
    assert loaf.thickness_steps()[-1].value == loaf.half_thickness_m
    assert loaf.mass.m_as("kg") == pytest.approx(0.9)
    assert loaf.measure.m_as("m") == pytest.approx(loaf.measure_m)
    assert loaf.surface.m_as("m ** 2") == pytest.approx(loaf.surface_m2)
    assert loaf.half_thickness.m_as("cm") == pytest.approx(100 * loaf.half_thickness_m)
    assert loaf.shape.density.m_as("g/L") == pytest.approx(350)
    # The volume times the density is the mass, for each shape.
    assert loaf.shape.form[0] * loaf.measure_m**3 * 350 == pytest.approx(0.9)


def test_flat_and_long_have_more_skin_than_round_and_a_pan_less() -> None:
    skin = {name: LoafShape(name).of("1 kg").surface_per_mass_m2_kg for name in SHAPES}
    assert skin["pan"] < skin["round"] == skin["roll"] < skin["long"] < skin["ring"] < skin["flat"]


BAD: list[tuple[dict[str, Any], list[str]]] = [
    ({"name": "ball"}, ["shape: got 'ball', expected one of round, roll, long, flat, ring, pan"]),
    ({"name": ["long"]}, ["shape: got ['long']"]),
    ({"name": "long", "height_to_diameter": 0.5}, ["height_to_diameter: got a value, expected nothing", "length_to_diameter"]),
    ({"name": "long", "length_to_diameter": 0.9}, ["length_to_diameter: got 0.9, expected a plain number from 1 to 1000"]),
    ({"name": "long", "length_to_diameter": "4"}, ["length_to_diameter: got '4'"]),
    ({"name": "long", "length_to_diameter": True}, ["length_to_diameter: got True"]),
    ({"name": "ring", "diameter_to_thickness": 1.5}, ["from 2 to 1000"]),
    ({"name": "flat", "height_to_diameter": math.nan}, ["height_to_diameter: got nan"]),
    ({"name": "pan", "open_walls": "120 %", "density": "0 g/mL"}, ["open_walls: got 120 %", "density: got 0 kg/m³"]),
    ({"name": "pan", "open_walls": 0.5}, ["open_walls: got the bare number 0.5"]),
]  # fmt: skip


@pytest.mark.parametrize(("arguments", "words"), BAD)
def test_refusals(arguments: dict[str, Any], words: list[str]) -> None:
    with pytest.raises(QuantityError) as caught:
        LoafShape(**arguments)
    assert all(word in str(caught.value) for word in words), str(caught.value)


@pytest.mark.parametrize("mass", ["0 g", "1e-12 g", "1e+15 g", "3"])
def test_a_mass_that_no_loaf_has(mass: str) -> None:
    with pytest.raises(QuantityError, match="mass: got"):
        LoafShape().of(mass)


def test_values_not_objects() -> None:
    loaf = LoafShape("pan", open_walls="30 %").of("900 g")
    assert loaf == LoafShape("pan", open_walls="300 ‰").of("0.9 kg")
    assert hash(loaf) == hash(LoafShape("pan", open_walls="30 %").of("900 g"))
    assert loaf != LoafShape("pan").of("900 g")
    assert pickle.loads(pickle.dumps(loaf)) == loaf  # noqa: S301 - our own bytes
    assert copy.deepcopy(loaf) == loaf
    assert isinstance(loaf, Loaf)


def test_kernels_take_arrays_and_keep_their_dimensions() -> None:
    ratios = np.array([1.0, 4.0])
    volume, surface, half = KERNELS.long_form(ratios)
    assert volume.tolist() == [long_form(1.0)[0], long_form(4.0)[0]]
    assert (surface.shape, half.tolist()) == ((2,), [0.5, 0.5])
    masses = np.array([500.0, 1000.0])
    skin = KERNELS.surface_per_mass_m2_kg(masses, 0.5, 3.0, 300.0)
    assert skin[0] / skin[1] == pytest.approx(2 ** (1 / 3))
    registry: Any = pint.UnitRegistry()
    # The kernel's own 1000 is that of grams in a kilogram.
    found = KERNELS.surface_per_mass_m2_kg(
        1000 * registry.kilogram, 0.5, 3.0, 300 * registry.kilogram / registry.meter**3
    )
    assert found.check("[length] ** 2 / [mass]")
