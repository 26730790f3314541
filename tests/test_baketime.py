"""The bake time of another loaf: the two powers by hand, the band, and every refusal."""

import copy
import pickle
from typing import Any

import numpy as np
import pytest

from formula import baketime as room
from formula.baketime import CORE_DONE, bake_time
from formula.errors import QuantityError
from formula.shape import LoafShape
from tests.arithmetic import check_working

KERNELS: Any = room


def test_like_shapes_go_with_the_mass() -> None:
    found = bake_time("40 min", known="1 kg", new="125 g")
    # Half as thick: a quarter of the time by conduction, half of it by the plain thickness.
    assert found.ratio == pytest.approx(0.5)
    assert (60 * found.time_h, 60 * found.low_h, 60 * found.high_h) == pytest.approx((10, 10, 20))
    larger = bake_time("40 min", known="125 g", new="1 kg", exponent=1.5)
    assert (60 * larger.low_h, 60 * larger.time_h, 60 * larger.high_h) == pytest.approx((80, 40 * 2**1.5, 160))


def test_another_shape_goes_by_its_half_thickness() -> None:
    ball = LoafShape("long", length_to_diameter=1)
    disc = LoafShape("flat", height_to_diameter=0.2)
    found = bake_time("40 min", known="1 kg", new="1 kg", shape=ball, new_shape=disc)
    # By hand: a ball of volume V has the radius (3 V / (4 pi))^(1/3), the disc is 0.2 (20 V / pi)^(1/3) high.
    volume = 1 / 300
    radius = (3 * volume / (4 * np.pi)) ** (1 / 3)
    half = 0.2 * (20 * volume / np.pi) ** (1 / 3) / 2
    assert found.time_h == pytest.approx(40 / 60 * (half / radius) ** 2)


@pytest.mark.parametrize("shape", ["round", "roll", "long", "flat", "ring", "pan"])
@pytest.mark.parametrize("new", ["400 g", "2 kg"])
def test_working_and_views(shape: str, new: str) -> None:
    found = bake_time("35 min", known="900 g", new=new, shape=shape, new_shape="pan")
    check_working(found.working(), found.time_h)
    assert found.low_h <= found.time_h <= found.high_h
    for view, hours in (
        (found.known_time, 35 / 60),
        (found.time, found.time_h),
        (found.low, found.low_h),
        (found.high, found.high_h),
    ):
        assert view.m_as("min") == pytest.approx(60 * hours)


def test_it_says_what_decides_and_that_ovens_burn() -> None:
    found = bake_time("35 min", known="900 g", new="450 g")
    assert [caution.code for caution in found.cautions] == ["check-core", "burns"]
    assert "93 to 99 °C" in found.cautions[0].text
    ends = [(each.value - each.uncertainty, each.value + each.uncertainty) for each in CORE_DONE]
    # 200 and 210 °F in the third source.
    assert ends[2] == pytest.approx(((200 - 32) / 1.8, (210 - 32) / 1.8), abs=0.1)
    assert (min(low for low, _ in ends), max(high for _, high in ends)) == (93, 99)


def test_refusals() -> None:
    with pytest.raises(QuantityError) as caught:
        bake_time("0 min", known="1", new="0 g", shape="ball", new_shape="cube", exponent=3)
    assert [fault.where for fault in caught.value.faults] == ["time", "known", "new", "shape", "new_shape", "exponent"]
    assert "one of round, roll, long, flat, ring, pan" in str(caught.value)
    with pytest.raises(QuantityError, match="exponent: got True"):
        bake_time("40 min", known="1 kg", new="2 kg", exponent=True)


def test_values_not_objects() -> None:
    found = bake_time("40 min", known="1 kg", new="500 g")
    assert found == bake_time("2400 s", known="1000 g", new="0.5 kg", new_shape="round")
    assert pickle.loads(pickle.dumps(found)) == found  # noqa: S301 - our own bytes
    assert copy.deepcopy(found) == found
    assert KERNELS.scaled_time_h(1.0, np.array([1.0, 2.0]), 2.0).tolist() == [1.0, 4.0]
