"""Correcting the water by the dough that came off: published rows, three ratios side by side, and every refusal."""

import copy
import pickle
from typing import Any

import numpy as np
import pytest

from formula import correction
from formula.basetemp import base_temperature
from formula.correction import correct_water
from formula.errors import QuantityError
from tests.arithmetic import check_working
from tests.beside import made_correction
from tests.rows import holds, rows

KERNELS: Any = correction


@pytest.mark.parametrize("row", rows("correction"))
def test_published(row: dict[str, str]) -> None:
    holds("correction", row)
    made = made_correction(row)
    check_working(made.working(), made.water_c)


def test_a_correction_into_water_too_hot_is_cautioned() -> None:
    """The published sum of check value thermal/B08 ends at 63 °C."""
    made = correct_water("51 °C", measured="21 °C", wanted="25 °C")
    assert made.water_c == 63.0
    assert [caution.code for caution in made.cautions] == ["too-hot-for-yeast", "scald"]


def test_three_ratios_side_by_side() -> None:
    made = correct_water("12 °C", measured="27 °C", wanted="25 °C", count=4, ratio=1.7)
    assert (made.by_count_c, made.by_trade_c, made.by_ratio_c) == pytest.approx((4.0, 6.0, 8.6))
    assert made.water_c == made.by_count_c
    for rule, water_c in (("count", 4.0), ("trade", 6.0), ("ratio", 8.6)):
        again = correct_water("12 °C", measured="27 °C", wanted="25 °C", count=4, ratio=1.7, rule=rule)  # type: ignore[arg-type]
        assert again.water_c == pytest.approx(water_c)
        assert len(again.working().steps) == 3
        check_working(again.working(), again.water_c)


def test_without_a_ratio_there_are_two() -> None:
    made = correct_water("12 °C", measured="27 °C", wanted="25 °C")
    assert (made.by_ratio_c, made.by_ratio, made.base_c, made.new_base_c, made.new_base_f) == (None,) * 5
    assert len(made.working().steps) == 2


def test_a_base_moves_with_the_water() -> None:
    base = base_temperature("25 °C", friction="13 K")
    made = correct_water("12 °C", measured="27 °C", wanted="25 °C", ratio=1.7, rule="ratio", base=base)
    assert made.new_base_c == pytest.approx(62 - 3.4)
    assert made.new_base_f == pytest.approx((62 - 3.4) * 1.8 + 96)
    check_working(made.working(), made.water_c)
    in_fahrenheit = correct_water("12 °C", measured="27 °C", wanted="25 °C", base="207.6 °F")
    assert in_fahrenheit.base_c == pytest.approx(62.0, abs=1e-9)
    strange = correct_water("12 °C", measured="21 °C", wanted="25 °C", base="70 °C")
    assert [caution.code for caution in strange.cautions] == ["unusual-base"]


def test_a_dough_far_off_is_cautioned() -> None:
    made = correct_water("12 °C", measured="30.1 °C", wanted="25 °C")
    assert "far-off" in [caution.code for caution in made.cautions]
    made = correct_water("22 °C", measured="30 °C", wanted="25 °C")
    assert "far-off" not in [caution.code for caution in made.cautions]


def test_water_colder_than_freezing_asks_for_ice() -> None:
    made = correct_water("4 °C", measured="27 °C", wanted="25 °C", yeast="fresh")
    assert (made.water_c, [caution.code for caution in made.cautions]) == (-2.0, ["needs-ice"])
    warm = correct_water("34 °C", measured="24 °C", wanted="25 °C", yeast="fresh")
    assert [caution.code for caution in warm.cautions] == ["too-warm-for-fresh-yeast"]


def test_every_bad_argument_is_named_at_once() -> None:
    with pytest.raises(QuantityError) as caught:
        correct_water("15", measured="26", wanted="24", rule="guess", count=1, ratio=-1.0, base="70", yeast="beer")  # type: ignore[arg-type]
    expected = ["water_used", "measured", "wanted", "yeast", "count", "rule", "ratio"]
    assert [fault.where for fault in caught.value.faults] == expected
    with pytest.raises(QuantityError) as caught:
        correct_water("15 °C", measured="26 °C", wanted="24 °C", base="70")
    assert [fault.where for fault in caught.value.faults] == ["base"]


@pytest.mark.parametrize("ratio", [0, -2, float("nan"), float("inf"), True, "1.7"])
def test_a_ratio_is_a_number_above_zero(ratio: Any) -> None:  # noqa: ANN401 - whatever a caller may write
    with pytest.raises(QuantityError, match=r"ratio: got .* a number above 0"):
        correct_water("15 °C", measured="26 °C", wanted="24 °C", ratio=ratio)


def test_a_rule_needs_its_ratio_and_a_base_its_count() -> None:
    with pytest.raises(QuantityError, match="ratio: got nothing"):
        correct_water("15 °C", measured="26 °C", wanted="24 °C", rule="ratio")
    base = base_temperature("25 °C", friction="13 K")
    with pytest.raises(QuantityError, match="base: got a sum of 3 temperatures, expected one of the 4"):
        correct_water("15 °C", measured="26 °C", wanted="24 °C", count=4, base=base)


def test_views_and_values() -> None:
    made = correct_water("12 °C", measured="27 °C", wanted="25 °C", ratio=1.7, base="62 °C")
    found = (made.water_used, made.measured, made.wanted, made.by_count, made.by_trade, made.water)
    assert [value.m_as("degC") for value in found] == pytest.approx([12, 27, 25, 6, 6, 6])
    assert made.by_ratio is not None
    assert made.by_ratio.m_as("degF") == pytest.approx(8.6 * 1.8 + 32)
    assert made.change.m_as("delta_degC") == pytest.approx(-6.0)
    assert pickle.loads(pickle.dumps(made)) == copy.deepcopy(made) == made  # noqa: S301 - our own bytes
    assert hash(copy.deepcopy(made)) == hash(made)
    assert KERNELS.corrected_water_c(12.0, np.array([27.0, 24.0]), 25.0, 3.0).tolist() == [6.0, 15.0]
