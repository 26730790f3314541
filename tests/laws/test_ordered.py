"""Laws of the way from orders to dough and back."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.losses import Losses
from formula.ordered import dough_for_orders
from formula.orders import Order
from formula.quantity import MASS, write
from formula.yielded import bread_from_dough
from tests.arithmetic import check_working
from tests.laws.strategies import PLAIN_BREADS, loss_choices, ordered_pieces, piece_texts, plain_orders


class TestBakedToDoughToBakedReturns:
    """The dough for some loaves gives just these loaves back, at their weight."""

    @given(ordered_pieces, piece_texts, loss_choices)
    def test_law(self, pieces: int, baked: str, losses: Losses) -> None:
        made = dough_for_orders([Order(PLAIN_BREADS[0], pieces=pieces, baked=baked, losses=losses)])
        piece_g = made.breads[0].products[0].piece_g
        back = bread_from_dough(write(MASS, made.dough_g), losses, piece=write(MASS, piece_g))
        assert back.pieces == pieces
        assert back.portions[0].baked_g == pytest.approx(float(baked.split(maxsplit=1)[0]), rel=1e-10)
        assert back.bread_g == pytest.approx(pieces * float(baked.split(maxsplit=1)[0]), rel=1e-10)
        check_working(back.working(), back.bread_g)


class TestNoOrderIsShort:
    """Rounded up to the scale, every loaf holds its promised weight, and is heavier by less than a step."""

    @given(plain_orders, st.sampled_from(("1 g", "5 g", "20 g")))
    def test_law(self, asked: list[Order], step: str) -> None:
        made = dough_for_orders(asked, step=step)
        for bread in made.breads:
            for product in bread.products:
                baked_g = product.losses.bread_from(write(MASS, product.piece_g), at="divider").mass_g
                assert baked_g >= product.baked_g * (1 - 1e-9)
                assert product.piece_g - product.exact_g < float(step.split(maxsplit=1)[0])
        check_working(made.working(), made.dough_g)


class TestMixesAreTheDough:
    """The mixes hold all pieces and all the dough, none is heavier than the capacity, and of no product differs by two."""

    @given(plain_orders, st.integers(60, 400))
    def test_law(self, asked: list[Order], kilos: int) -> None:
        made = dough_for_orders(asked, step="1 g", capacity=f"{kilos} kg")
        whole = dough_for_orders(asked, step="1 g")
        assert made.dough_g == whole.dough_g
        for bread in made.breads:
            for place, product in enumerate(bread.products):
                pieces = [mix.pieces[place] for mix in bread.mixes]
                assert sum(mix.count * mix.pieces[place] for mix in bread.mixes) == product.pieces
                assert max(pieces) - min(pieces) <= 1
            assert math.fsum(mix.count * mix.batch.dough_g for mix in bread.mixes) == pytest.approx(bread.dough_g)
            assert max(mix.batch.dough_g for mix in bread.mixes) <= kilos * 1000 * (1 + 1e-9)
            check_working(bread.working(), bread.dough_g)


class TestTheOrderOfOrdersDoesNotMatter:
    """The dough is the same in whatever order the orders come in."""

    @given(plain_orders, st.randoms())
    def test_law(self, asked: list[Order], chance: Any) -> None:  # noqa: ANN401
        other = list(asked)
        chance.shuffle(other)
        first, second = dough_for_orders(asked), dough_for_orders(other)
        assert first.dough_g == pytest.approx(second.dough_g, rel=1e-12)
        assert first.pieces == second.pieces
