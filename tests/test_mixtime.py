"""Friction by the clock, and every result that may stand for a friction: published rows, two scales, refusals."""

import copy
import pickle
from typing import Any

import numpy as np
import pytest

from formula import mixtime
from formula.errors import QuantityError
from formula.friction import Friction
from formula.mixtime import friction_from_minutes
from formula.water import water_temperature
from tests.arithmetic import check_working
from tests.beside import made_friction
from tests.rows import holds, rows

KERNELS: Any = mixtime


@pytest.mark.parametrize("row", rows("friction"))
def test_published(row: dict[str, str]) -> None:
    holds("friction", row)
    assert row["unit"] == "°F"
    made = made_friction(row)
    check_working(made.working(), made.friction_k)


def test_two_scales() -> None:
    """The same number a minute is three times as much when it is the dough's own rise."""
    factor = friction_from_minutes("10 min", friction="0.5 K")
    rise = friction_from_minutes("10 min", rise="0.5 K")
    assert (factor.friction_k, rise.friction_k, rise.rise_k) == (5.0, 15.0, 5.0)
    check_working(rise.working(), 15.0)


def test_rescaling() -> None:
    factor = friction_from_minutes("9 min", friction="1 K")
    four = factor.for_count(4)
    assert (four.friction_k, four.count, four.rise_k) == (12.0, 4, 3.0)
    assert four.for_count(3) == factor
    check_working(four.working(), 12.0)
    rise = friction_from_minutes("9 min", rise="0.5 K").for_count(5)
    assert rise.friction_k == 22.5
    check_working(rise.working(), 22.5)
    with pytest.raises(QuantityError, match="count: got 1"):
        factor.for_count(1)


def test_it_stands_where_friction_is_asked_for() -> None:
    factor = friction_from_minutes("8 min", friction="1 K")
    assert isinstance(factor, Friction)
    made = water_temperature("25 °C", flour="20 °C", room="22 °C", friction=factor)
    assert (made.temperature_c, made.given) == (25.0, "friction")
    with pytest.raises(QuantityError, match=r"for_count\(4\)"):
        water_temperature("25 °C", flour="20 °C", room="22 °C", friction=factor, preferments="18 °C")


def test_a_bare_friction_cannot_be_rescaled() -> None:
    with pytest.raises(NotImplementedError):
        Friction().for_count(3)


def test_every_bad_argument_is_named_at_once() -> None:
    with pytest.raises(QuantityError) as caught:
        friction_from_minutes("8", count=True)
    assert [fault.where for fault in caught.value.faults] == ["time", "friction", "count"]
    assert "neither" in str(caught.value)
    with pytest.raises(QuantityError, match="friction: got both"):
        friction_from_minutes("8 min", friction="1 K", rise="1 K")
    with pytest.raises(QuantityError, match="rise: got"):
        friction_from_minutes("8 min", rise="1")


def test_views_and_values() -> None:
    made = friction_from_minutes("8 min", friction="1 K")
    assert made.time.m_as("minute") == pytest.approx(8.0)
    assert made.friction.m_as("delta_degF") == pytest.approx(14.4)
    assert made.rise.m_as("delta_degC") == pytest.approx(8 / 3)
    assert friction_from_minutes("480 s", friction="1 K") == made
    assert pickle.loads(pickle.dumps(made)) == copy.deepcopy(made) == made  # noqa: S301 - our own bytes
    assert hash(copy.deepcopy(made)) == hash(made)
    assert KERNELS.friction_from_minutes_k(2.0, np.array([4.0, 8.0])).tolist() == [8.0, 16.0]
