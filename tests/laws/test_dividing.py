"""Laws of dividing: nothing is lost, whatever becomes of the remainder, among however many products, by press or hand."""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from formula.byhand import dough_by_hand, kept_in_hand_g, last_short_share, pieces_at, pieces_by_hand
from formula.counting import READING, even, on_step
from formula.errors import FormulaError
from formula.portion import divide
from formula.press import Press, heads_for, heads_from
from formula.products import Product, divide_among
from formula.quantity import MASS, write
from tests.arithmetic import check_working
from tests.laws.strategies import divided_g, divider_steps_g, pieces_g, products, remainders, roundings, spreads_g


def grams(value: float | None) -> str | None:
    return None if value is None else write(MASS, value)


def whole(portions: Any, remainder_g: float) -> Fraction:  # noqa: ANN401 - anything with pieces of a weight
    return sum((each.pieces * Fraction(each.piece_g) for each in portions), Fraction(remainder_g))


class TestPiecesAndRemainderAreTheDough:
    """Whatever becomes of the remainder and whatever the scale shows, all pieces and what stays make the dough."""

    @given(divided_g, pieces_g, divider_steps_g, roundings, remainders)
    def test_law(self, dough_g: float, piece_g: float, step_g: float | None, rounding: Any, choice: Any) -> None:  # noqa: ANN401
        shown_g = piece_g if step_g is None else on_step(piece_g, step_g, rounding)
        assume(0 < shown_g <= dough_g)
        made = divide(
            grams(dough_g) or "", piece=grams(piece_g) or "", step=grams(step_g), rounding=rounding, remainder=choice
        )
        assert float(whole(made.portions, made.remainder_g)) == pytest.approx(dough_g, rel=1e-11)
        assert made.remainder_g >= 0
        weights = [portion.piece_g for portion in made.portions]
        if choice == "spread":
            assert made.remainder_g < (step_g or 1e-9)
            assert max(weights) - min(weights) <= (step_g or 0) * (1 + 1e-9)
            assert min(weights) >= shown_g
            assert sum(portion.pieces for portion in made.portions) == made.pieces
        if step_g and choice != "odd piece":
            for weight in weights:
                assert weight / step_g == pytest.approx(round(weight / step_g), abs=1e-6)
        check_working(made.working(), made.working().value)


class TestRoundingGoesTheWayItIsNamed:
    """Up is never lighter, down never heavier, nearest never further than half a step; each by less than a step."""

    @given(pieces_g, st.sampled_from((0.1, 0.5, 1.0, 5.0, 20.0)))
    def test_law(self, piece_g: float, step_g: float) -> None:
        up, down, nearest = (on_step(piece_g, step_g, way) for way in ("up", "down", "nearest"))
        tiny = 1e-8 * step_g
        assert piece_g - tiny <= up < piece_g + step_g - tiny
        assert piece_g - step_g + tiny < down <= piece_g + tiny
        assert abs(nearest - piece_g) <= step_g / 2 + tiny
        assert nearest in (up, down)


class TestProductsAndRemainderAreTheDough:
    """Among several products nothing is lost, nobody gets more than wanted unless it fills up, and no whole piece is over."""

    @given(divided_g, products, st.sampled_from(("in order", "share")), divider_steps_g, st.booleans())
    def test_law(self, dough_g: float, asked: list[Product], short: Any, step_g: float | None, fills: bool) -> None:  # noqa: ANN401, FBT001
        fill = asked[0].name if fills else ""
        made = divide_among(write(MASS, dough_g), asked, short=short, step=grams(step_g), fill=fill)
        assert float(whole(made.products, made.remainder_g)) == pytest.approx(dough_g, rel=1e-11)
        assert made.remainder_g >= 0
        for each in made.products:
            assert each.pieces <= each.wanted or each.name == fill
            # Served in order, who is short could not have had one more; who fills up neither.
            if each.name == fill or (short == "in order" and each.pieces < each.wanted):
                assert made.remainder_g < each.piece_g * (1 + 1e-9)
        check_working(made.working(), float(made.pieces))


class TestTheOrderOfProductsDoesNotMatterWhereTheDoughSuffices:
    """With enough dough every product gets its pieces and the same dough is over, in whatever order they are served."""

    @given(products, st.randoms(), st.integers(0, 100_000), st.sampled_from(("refuse", "in order", "share")))
    def test_law(self, asked: list[Product], chance: Any, more: int, short: Any) -> None:  # noqa: ANN401
        needed = sum((each.pieces * Fraction(repr(each.piece_g)) for each in asked), Fraction(more, 10))
        other = list(asked)
        chance.shuffle(other)
        first, second = (divide_among(f"{float(needed)!r} g", each, short=short) for each in (asked, other))
        assert {each.name: each for each in first.products} == {each.name: each for each in second.products}
        assert first.remainder_g == second.remainder_g
        assert all(each.pieces == each.wanted for each in first.products)
        assert first.remainder_g == pytest.approx(more / 10, abs=float(needed) * 2e-11)


class TestTooLittleIsRefused:
    """A dough that does not hold every piece is refused, and the same dough in order gives somebody less than wanted."""

    @given(products, st.floats(0.01, 0.99))
    def test_law(self, asked: list[Product], part: float) -> None:
        needed_g = sum(each.needed_g for each in asked)
        dough = write(MASS, needed_g * part)
        with pytest.raises(FormulaError):
            divide_among(dough, asked)
        made = divide_among(dough, asked, short="in order")
        assert any(each.pieces < each.wanted for each in made.products)


class TestHeadsAreTheDough:
    """Heads, the last head's pieces and the remainder make the dough, from a dough and for pieces alike."""

    @given(divided_g, st.integers(2, 60), pieces_g, divider_steps_g)
    def test_from_a_dough(self, dough_g: float, parts: int, piece_g: float, step_g: float | None) -> None:
        head_g = parts * piece_g if step_g is None else on_step(parts * piece_g, step_g)
        assume(head_g / parts <= dough_g * (1 - 1e-9))
        made = heads_from(write(MASS, dough_g), Press(parts), piece=write(MASS, piece_g), step=grams(step_g))
        assert made.heads * made.head_g + made.last_g == pytest.approx(dough_g, rel=1e-11)
        assert made.pieces * made.piece_g + made.remainder_g == pytest.approx(dough_g, rel=1e-9)
        assert 0 <= made.last_pieces < parts
        assert made.remainder_g < made.piece_g
        assert made.piece_g >= piece_g * (1 - 1e-9)
        check_working(made.working(), float(made.pieces))

    @given(st.integers(1, 5_000), st.integers(2, 60), pieces_g, divider_steps_g)
    def test_for_pieces(self, pieces: int, parts: int, piece_g: float, step_g: float | None) -> None:
        made = heads_for(pieces, Press(parts), piece=write(MASS, piece_g), step=grams(step_g))
        assert made.pieces == pieces
        assert made.heads * made.head_g + made.last_g == pytest.approx(made.dough_g, rel=1e-12)
        assert made.pieces * made.piece_g + made.remainder_g == pytest.approx(made.dough_g, rel=1e-9)
        assert -1e-6 <= made.remainder_g <= (step_g or 0) + 1e-6
        check_working(made.working(), made.dough_g)
        back = heads_from(write(MASS, made.dough_g), Press(parts), head=write(MASS, made.head_g))
        assert back.pieces >= pieces


class TestTheSpreadOfASum:
    """Fewest <= planned mean <= most; kept in hand and pieces are inverses; more dough is never worse."""

    @given(st.integers(1, 5_000), st.integers(100, 20_000), spreads_g, st.sampled_from((-2.0, 0.0, 1.96, 3.0)))
    def test_inverse(self, pieces: int, tenths: int, sd_g: float, z: float) -> None:
        mean_g = tenths / 10
        assume(sd_g < mean_g / 4)
        dough_g = kept_in_hand_g(pieces, mean_g, sd_g, z)
        assert pieces_at(dough_g, mean_g, sd_g, z) == pytest.approx(pieces, rel=1e-9)

    @given(st.integers(1, 5_000), st.integers(100, 20_000), spreads_g)
    def test_order(self, pieces: int, tenths: int, sd_g: float) -> None:
        piece_g = tenths / 10
        assume(sd_g < piece_g / 4)
        piece, sd = write(MASS, piece_g), write(MASS, sd_g)
        kept = dough_by_hand(pieces, piece=piece, sd=sd)
        assert kept.spare_g > 0
        made = pieces_by_hand(write(MASS, kept.mass_g), piece=piece, sd=sd)
        assert made.fewest in (pieces, pieces - 1)
        assert even(pieces_at(kept.mass_g, piece_g, sd_g, kept.z)) == pytest.approx(pieces, rel=1e-9)
        assert made.fewest <= kept.mass_g / piece_g <= made.most + 1
        assert last_short_share(kept.mass_g, pieces, piece_g, sd_g) == pytest.approx(0.025, rel=1e-6)
        check_working(made.working(), float(made.fewest))

    @given(st.integers(1, 300), st.floats(1.0, 1.5))
    def test_more_dough(self, pieces: int, times: float) -> None:
        first, second = (
            pieces_by_hand(write(MASS, 900.0 * pieces * by), piece="900 g", sd="12 g", pieces=pieces)
            for by in (1.0, times)
        )
        assert second.fewest >= first.fewest
        assert second.most >= first.most
        assert second.short_share <= first.short_share


def test_the_reading_is_what_the_grid_keeps() -> None:
    assert Fraction(1, 10**12) < READING
