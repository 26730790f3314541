"""Laws of dividing and of counting."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.counting import READING, loads, share_pieces, whole_pieces
from formula.portion import divide
from formula.quantity import MASS, write
from tests.laws.strategies import masses_g, piece_counts, portions_g, whole_grams


class TestPiecesAndRemainderAreTheDough:
    """Pieces times piece and the remainder make the dough; the remainder is less than a piece and never below zero."""

    @given(masses_g, masses_g)
    def test_law(self, total_g: float, piece_g: float) -> None:
        pieces, remainder_g = whole_pieces(total_g, piece_g)
        total, piece = Fraction(repr(total_g)), Fraction(repr(piece_g))
        assert abs(pieces * piece + Fraction(remainder_g) - total) <= total * READING * 2
        assert 0 <= remainder_g < piece_g

    @given(st.integers(1, 10_000_000), st.integers(1, 5_000))
    def test_whole_grams_divide_like_whole_numbers(self, total_g: int, piece_g: int) -> None:
        assert whole_pieces(float(total_g), float(piece_g)) == divmod(total_g, piece_g)


class TestAWholeNumberOfPiecesLeavesNothing:
    """A dough weighed together from n pieces gives n pieces, in every unit."""

    @given(portions_g, piece_counts, st.sampled_from(["g", "kg", "lb", "oz"]))
    def test_law(self, piece_g: float, count: int, unit: str) -> None:
        size = float(write(MASS, piece_g, unit).split()[0])
        made = divide(f"{float(Fraction(repr(size)) * count)!r} {unit}", piece=f"{size!r} {unit}")
        assert (made.pieces, made.remainder_g) == (count, 0.0)


class TestEveryUnitOfMassGivesTheSameAnswer:
    """Whole grams divide alike whichever unit they are written in."""

    @given(whole_grams, st.integers(1, 5_000))
    def test_law(self, total_g: float, piece_g: int) -> None:
        if total_g >= piece_g:
            made = {
                divide(write(MASS, total_g, u), piece=write(MASS, float(piece_g), u)) for u in ("g", "kg", "lb", "oz")
            }
            assert len(made) == 1


class TestSharesAreEvenAndWhole:
    """The parts make the whole, differ by one piece at the most, and the larger come first."""

    @given(st.integers(0, 1_000_000), st.integers(1, 500))
    def test_law(self, pieces: int, parts: int) -> None:
        shares = share_pieces(pieces, parts)
        assert len(shares) == parts
        assert sum(shares) == pieces
        assert max(shares) - min(shares) <= 1
        assert list(shares) == sorted(shares, reverse=True)


class TestLoadsAreEnoughAndNotTooMany:
    """The loads hold all the pieces, and one load fewer does not."""

    @given(st.integers(0, 10**18), st.integers(1, 10**6))
    def test_law(self, pieces: int, capacity: int) -> None:
        count = loads(pieces, capacity)
        assert count * capacity >= pieces
        assert (count - 1) * capacity < pieces or count == 0


class TestMoreDoughNeverGivesFewerPieces:
    """More dough, or a lighter piece, never means fewer pieces."""

    @given(masses_g, masses_g, st.floats(1.0, 10.0))
    def test_law(self, total_g: float, piece_g: float, times: float) -> None:
        pieces = whole_pieces(total_g, piece_g)[0]
        assert whole_pieces(total_g * times, piece_g)[0] >= pieces
        assert whole_pieces(total_g, piece_g * times)[0] <= pieces
        assert pieces == pytest.approx(total_g / piece_g, abs=1.0, rel=1e-9)
