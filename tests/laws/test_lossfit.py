"""Laws of losses that are estimated and measured."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.lossestimate import estimate_loss, line_bread_g, line_dough_g
from formula.lossfit import LossWeighing, measured_loss
from formula.quantity import MASS, SHARE, write
from tests.laws.strategies import fit_methods, fitted_losses, fitted_shares, shape_names, whole_pieces_g


class TestTheKnownLoafKeepsItsLoss:
    """At the known size and shape the estimate is the known loss, and so are both ends of its band."""

    @given(whole_pieces_g, fitted_shares, shape_names, fit_methods)
    def test_law(self, piece_g: int, share: float, name: str, method: str) -> None:
        found = estimate_loss(
            write(SHARE, share),
            known=f"{piece_g} g",
            new=f"{piece_g} g",
            shape=name,
            method=method,  # type: ignore[arg-type]
        )
        assert found.low_share == found.loss_share == found.high_share == found.known_share


class TestASmallerPieceNeverLosesLess:
    """Of one shape the smaller piece never loses a smaller share, nor more grams, and the band holds the estimate."""

    @given(whole_pieces_g, whole_pieces_g, fitted_shares, shape_names, fit_methods)
    def test_law(self, one_g: int, other_g: int, share: float, name: str, method: str) -> None:
        small, large = sorted((one_g, other_g))
        found = estimate_loss(
            write(SHARE, share / 8),
            known=f"{large} g",
            new=f"{small} g",
            shape=name,
            method=method,  # type: ignore[arg-type]
        )
        assert found.loss_share >= found.known_share
        assert found.lost_g <= large * found.known_share * (1 + 1e-12)
        assert found.low_share <= found.loss_share * (1 + 1e-12)
        assert found.loss_share <= found.high_share * (1 + 1e-12)


class TestThereAndBack:
    """From one loaf to another and back is the known loss again; so is the line from bread to dough and back."""

    @given(st.integers(200, 2000), st.integers(200, 2000), fitted_shares, shape_names, shape_names)
    def test_law(self, one_g: int, other_g: int, share: float, name: str, other: str) -> None:
        there = estimate_loss(
            write(SHARE, share / 4), known=f"{one_g} g", new=f"{other_g} g", shape=name, new_shape=other
        )
        back = estimate_loss(
            write(SHARE, there.loss_share), known=f"{other_g} g", new=f"{one_g} g", shape=other, new_shape=name
        )
        assert back.loss_share == pytest.approx(there.known_share, rel=1e-9)

    @given(st.floats(100.0, 2000.0))
    def test_line(self, bread_g: float) -> None:
        assert line_bread_g(line_dough_g(bread_g)) == pytest.approx(bread_g)


class TestExactDataReturnTheirLoss:
    """Weighings that all lost the same share measure it, without any spread, outlier or trend."""

    @given(st.lists(st.tuples(whole_pieces_g, st.integers(1, 40)), min_size=2, max_size=12), st.floats(0.0, 0.6))
    def test_law(self, weighed: list[tuple[int, int]], share: float) -> None:
        found = measured_loss(
            LossWeighing(write(MASS, grams * count), write(MASS, grams * count * (1 - share)), count=count)
            for grams, count in weighed
        )
        assert found.loss_share == pytest.approx(share, abs=1e-10)
        assert found.spread_share == pytest.approx(0, abs=1e-9)
        assert (found.outliers, found.has_trend) == ((), False)


class TestScalingAllWeightsLeavesTheShare:
    """Weighing everything in another unit of mass, or tenfold, changes no share."""

    @given(fitted_losses, st.sampled_from([0.1, 3.0, 10.0, 453.59237]))
    def test_law(self, shares_: list[float], factor: float) -> None:
        weights = [(900.0 + 7 * place, share) for place, share in enumerate(shares_)]
        one, other = (
            measured_loss(
                LossWeighing(write(MASS, by * grams), write(MASS, by * grams * (1 - share))) for grams, share in weights
            )
            for by in (1.0, factor)
        )
        assert other.loss_share == pytest.approx(one.loss_share, abs=1e-9)
        assert other.spread_share == pytest.approx(one.spread_share, abs=1e-9)
        assert other.outliers == one.outliers


class TestTheIntervalHoldsTheMean:
    """The mean lies in its interval, and between the least and the most loss that was weighed."""

    @given(fitted_losses)
    def test_law(self, shares_: list[float]) -> None:
        found = measured_loss(LossWeighing("1 kg", write(MASS, 1000 * (1 - share))) for share in shares_)
        assert found.low_share <= found.loss_share <= found.high_share
        assert min(shares_) - 1e-9 <= found.loss_share <= max(shares_) + 1e-9
