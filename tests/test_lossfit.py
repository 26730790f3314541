"""Measured losses: the statistics by numpy, trays of pieces, the trend, files, and every refusal."""

import copy
import math
import pickle
import statistics
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats

from formula import lossfit as room
from formula.errors import FileError, QuantityError, UnknownNameError
from formula.losses import Losses
from formula.lossfit import MOST_WEIGHINGS, LossWeighing, measured_loss, read_loss_weighings
from tests.arithmetic import check_working

KERNELS: Any = room
BAKED = (801, 794, 806, 798, 802, 806, 793, 803, 795, 802)
SCALED = (902, 898, 905, 895, 900, 910, 897, 903, 899, 901)
SINGLE = tuple(LossWeighing(f"{scaled} g", f"{baked} g") for scaled, baked in zip(SCALED, BAKED, strict=True))
SHARES = [1 - baked / scaled for scaled, baked in zip(SCALED, BAKED, strict=True)]


def codes(found: Any) -> list[str]:  # noqa: ANN401 - any result
    return [caution.code for caution in found.cautions]


def test_single_pieces_by_another_hand() -> None:
    found = measured_loss(SINGLE)
    mean, spread = statistics.fmean(SHARES), statistics.stdev(SHARES)
    low, high = stats.t.interval(0.95, 9, loc=mean, scale=spread / math.sqrt(10))
    assert (found.loss_share, found.spread_share) == pytest.approx((mean, spread), rel=1e-12)
    assert found.standard_error_share == pytest.approx(spread / math.sqrt(10), rel=1e-12)
    assert (found.low_share, found.high_share) == pytest.approx((low, high), rel=1e-9)
    assert (found.pieces, found.kept, found.outliers) == (10, tuple(range(1, 11)), ())
    assert codes(found) == []
    check_working(found.working(), found.loss_share)


def test_the_trend_by_another_hand() -> None:
    baked = (530, 628, 719, 812, 908, 1001)
    scaled = (600, 700, 800, 900, 1000, 1100)
    found = measured_loss(LossWeighing(f"{s} g", f"{b} g") for s, b in zip(scaled, baked, strict=True))
    line: Any = stats.linregress(scaled, [1 - b / s for s, b in zip(scaled, baked, strict=True)])
    assert found.trend_share == pytest.approx(100 * line.slope, rel=1e-9)
    assert found.trend_error_share == pytest.approx(100 * line.stderr, rel=1e-9)
    assert found.has_trend == (line.pvalue < 0.05)
    assert found.has_trend
    assert found.trend is not None
    assert found.trend.m_as("percent") == pytest.approx(1e4 * line.slope)
    assert found.trend_error is not None
    assert found.trend_error.m_as("percent") == pytest.approx(1e4 * line.stderr)
    assert codes(found) == ["few-weighings", "trend"]
    # A smaller piece lost a larger share, and fewer grams.
    assert found.trend_share is not None
    assert found.trend_share < 0
    assert scaled[0] - baked[0] < scaled[-1] - baked[-1]


def test_no_trend_where_there_is_none() -> None:
    assert measured_loss(SINGLE).has_trend is False
    alike = measured_loss([LossWeighing("900 g", f"{baked} g") for baked in (800, 801, 802, 803)])
    assert (alike.trend_share, alike.trend, alike.trend_error_share, alike.has_trend) == (None, None, None, False)
    few = measured_loss(
        [LossWeighing("900 g", "800 g"), LossWeighing("600 g", "520 g"), LossWeighing("300 g", "250 g")]
    )
    assert few.trend_share is None
    exact = measured_loss([LossWeighing(f"{grams} g", f"{grams * 0.88} g") for grams in (300, 500, 700, 1100)])
    assert exact.trend_share == pytest.approx(0, abs=1e-12)
    assert exact.has_trend is False


def test_trays_of_pieces_give_the_spread_of_single_ones() -> None:
    """Ten thousand loaves that scatter by 1 % on their own, weighed by the dozen: the spread comes back."""
    chance = np.random.default_rng(7)
    losses = 0.12 + 0.01 * chance.standard_normal((900, 12))
    trays = [LossWeighing("10.8 kg", f"{900 * float((1 - row).sum()):.6f} g", count=12) for row in losses]
    found = measured_loss(trays)
    assert found.pieces == 900 * 12
    assert found.loss_share == pytest.approx(0.12, abs=3 * 0.01 / math.sqrt(10800))
    # The standard deviation of 900 trays is known to 1 / sqrt(2 * 899), 2.4 %.
    assert found.spread_share == pytest.approx(0.01, rel=3 * 0.024)
    assert codes(found) == ["weighed-together"]
    assert found.standard_error_share == pytest.approx(found.spread_share / math.sqrt(10800))


def test_trays_and_single_pieces_together_by_hand() -> None:
    found = measured_loss([LossWeighing("1 kg", "900 g"), LossWeighing("4 kg", "3.52 kg", count=4)])
    mean = (0.10 + 4 * 0.12) / 5
    squares = (0.10 - mean) ** 2 + 4 * (0.12 - mean) ** 2
    assert found.loss_share == pytest.approx(mean)
    assert found.spread_share == pytest.approx(math.sqrt(squares / 1))
    check_working(found.working(), found.loss_share)
    assert LossWeighing("4 kg", "3.52 kg", count=4).piece_g == 1000


def test_an_outlier_is_named_and_left_out_only_if_asked() -> None:
    slip = (*SINGLE, LossWeighing("900 g", "701 g"))
    found = measured_loss(slip)
    assert (found.outliers, found.dropped, found.pieces) == ((11,), False, 11)
    assert codes(found) == ["outlier"]
    dropped = measured_loss(slip, drop_outliers=True)
    assert dropped.loss_share == pytest.approx(statistics.fmean(SHARES))
    assert dropped.kept == tuple(range(1, 11))
    assert "was left out" in dropped.cautions[0].text
    check_working(dropped.working(), dropped.loss_share)
    three_at_once = (*SINGLE, LossWeighing("2700 g", "2103 g", count=3))
    assert measured_loss(three_at_once).pieces == 13
    assert measured_loss(three_at_once, drop_outliers=True).pieces == 10
    # Scales that read whole grams make no outlier of one gram.
    alike = [LossWeighing("900 g", "800 g")] * 6 + [LossWeighing("900 g", "801 g")]
    assert measured_loss(alike).outliers == ()


def test_many_weighings_still_work_out() -> None:
    found = measured_loss([*SINGLE] * 5)
    check_working(found.working(), found.loss_share, exact=False)


def test_use_and_views() -> None:
    found = measured_loss(SINGLE)
    assert Losses(bake=found.loss).bread_from("900 g").mass_g == pytest.approx(900 * (1 - found.loss_share))
    for view, share in (
        (found.loss, found.loss_share),
        (found.low, found.low_share),
        (found.high, found.high_share),
        (found.spread, found.spread_share),
        (found.standard_error, found.standard_error_share),
    ):
        assert view.m_as("percent") == pytest.approx(100 * share)
    first = SINGLE[0]
    assert (first.scaled.m_as("g"), first.baked.m_as("g")) == pytest.approx((902, 801))
    assert first.loss.m_as("percent") == pytest.approx(100 * SHARES[0])


def test_several_breads() -> None:
    other = LossWeighing("350 g", "270 g", bread="Pilot Stick")
    named = [LossWeighing("900 g", f"{baked} g", bread="Quay Round") for baked in (800, 801)]
    with pytest.raises(
        QuantityError, match=r"several breads: 'Quay Round', 'Pilot Stick', expected those of one bread"
    ):
        measured_loss([*named, other])
    assert measured_loss([*named, other], bread="Quay Round").bread == "Quay Round"
    with pytest.raises(UnknownNameError, match="bread: got 'Quay', expected one of: 'Quay Round', 'Pilot Stick'"):
        measured_loss([*named, other], bread="Quay")
    with pytest.raises(UnknownNameError, match="a bread that was weighed"):
        measured_loss([], bread="Quay")


@pytest.mark.parametrize(("number", "got"), [(0, "0 weighings"), (1, "1 weighing,")])
def test_too_few(number: int, got: str) -> None:
    with pytest.raises(QuantityError) as caught:
        measured_loss(SINGLE[:number])
    assert got in str(caught.value)
    assert "weigh at least 2; with 10" in str(caught.value)


def test_refusals_of_a_weighing() -> None:
    with pytest.raises(QuantityError) as caught:
        LossWeighing("0 g", "801", count=0, bread=3)  # type: ignore[arg-type]
    assert [fault.where for fault in caught.value.faults] == ["scaled", "baked", "count", "bread"]
    with pytest.raises(QuantityError, match="baked: got 905 g, expected no more than was scaled, 900 g"):
        LossWeighing("900 g", "905 g")
    for count in (True, 1.5, "2"):
        with pytest.raises(QuantityError, match="count"):
            LossWeighing("900 g", "800 g", count=count)  # type: ignore[arg-type]
    assert LossWeighing("900 g", "900 g").loss_share == 0


class TestFile:
    def read(self, folder: Path, text: str) -> tuple[LossWeighing, ...]:
        path = folder / "weighings.csv"
        path.write_text(text, encoding="utf-8")
        return read_loss_weighings(path)

    def test_a_file(self, tmp_path: Path) -> None:
        text = "count,bread,baked,scaled\n,Quay Round,801 g,902 g\n12,Quay Round,9.6 kg,10.8 kg\n"
        assert self.read(tmp_path, text) == (
            LossWeighing("902 g", "801 g", bread="Quay Round"),
            LossWeighing("10.8 kg", "9.6 kg", count=12, bread="Quay Round"),
        )

    def test_every_mistake_is_told_with_its_place(self, tmp_path: Path) -> None:
        text = "scaled,baked,count\n902,801 g,\n902 g,950 g,two\n902 g,801 g,0\n902 g,801 g,12345678901234567890\n"
        with pytest.raises(FileError) as caught:
            self.read(tmp_path, text)
        places = [fault.where.split("weighings.csv: ")[1] for fault in caught.value.faults]
        assert places == [
            "line 2, column scaled", "line 3, column baked", "line 3, column count", "line 4, column count",
            "line 5, column count",
        ]  # fmt: skip

    def test_a_missing_column_and_a_long_file(self, tmp_path: Path) -> None:
        with pytest.raises(FileError, match="no column baked"):
            self.read(tmp_path, "scaled\n900 g\n")
        with pytest.raises(FileError, match=f"at most {MOST_WEIGHINGS}"):
            self.read(tmp_path, "scaled,baked\n" + "900 g,800 g\n" * (MOST_WEIGHINGS + 1))


def test_values_not_objects() -> None:
    found = measured_loss(SINGLE)
    same = measured_loss([LossWeighing(f"{s / 1000} kg", f"{b} g") for s, b in zip(SCALED, BAKED, strict=True)])
    assert found == same
    assert hash(found) == hash(same)
    assert pickle.loads(pickle.dumps(found)) == found  # noqa: S301 - our own bytes
    assert copy.deepcopy(found) == found
    assert KERNELS.loss_of(np.array([1000.0]), np.array([880.0])).tolist() == [0.12]
