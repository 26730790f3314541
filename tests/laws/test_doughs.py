"""The laws of doughs that several breads share, on random breads, orders, scales and mixers."""

import math

from hypothesis import given
from hypothesis import strategies as st

from formula.bakery import Bakery
from formula.day import plan_day
from formula.doughs import dough_key
from formula.errors import FormulaError
from formula.mixes import shared_out
from formula.orders import Order
from tests.arithmetic import check_working
from tests.days import check_doughs
from tests.laws.strategies import shared_days


class TestASharedDay:
    """Every piece ordered is in a mix, no mix is short or too heavy, and all dough is that of some bread."""

    @given(shared_days())
    def test_law(self, day: tuple[tuple[Order, ...], Bakery]) -> None:
        taken, bakery = day
        try:
            plan = plan_day(taken, bakery, share=True)
        except FormulaError:
            # A piece that no mixer holds; the first law of a day says when that may be.
            return
        check_doughs(plan, taken, bakery)
        for bread in plan.breads:
            check_working(bread.working(), float(bread.mix_count))
        for dough in plan.doughs:
            check_working(dough.working(), float(dough.mix_count))
            assert len({dough_key(bread.bread) for bread in dough.breads}) == 1
        check_working(plan.working(), plan.dough_g)
        assert len({dough_key(order.bread) for order in taken}) == len(plan.doughs)


class TestSharingMakesNoBreadDifferent:
    """Pieces, scaling weights and toppings of every bread are the same whether its dough is shared or not."""

    @given(shared_days())
    def test_law(self, day: tuple[tuple[Order, ...], Bakery]) -> None:
        taken, bakery = day
        try:
            shared, alone = plan_day(taken, bakery, share=True), plan_day(taken, bakery)
        except FormulaError:
            return
        for one, two in zip(shared.breads, alone.breads, strict=True):
            assert (one.name, one.pieces, one.piece_g, one.toppings_g()) == (two.name, two.pieces, two.piece_g, two.toppings_g())  # fmt: skip


class TestFewestSharedMixes:
    """There are no more mixes than would do if every one held all that an equal share, rounded up, comes to."""

    @given(shared_days())
    def test_law(self, day: tuple[tuple[Order, ...], Bakery]) -> None:
        taken, bakery = day
        try:
            plan = plan_day(taken, bakery, share=True)
        except FormulaError:
            return
        for dough in plan.doughs:
            holds = dough.mixer.capacity_g - dough.breads[0].slack_g
            one = [bread.piece_g / bread.bread.losses.before_divider_left for bread in dough.breads]
            fewer = dough.mix_count - 1
            if fewer:
                full = sum(math.ceil(b.pieces / fewer) * each for b, each in zip(dough.breads, one, strict=True))
                assert full > holds * (1 - 1e-9)


class TestSharedOut:
    """Shared out, no mix has more than one piece more than another of any bread, or of all together, and none is lost."""

    @given(st.lists(st.integers(0, 500), min_size=1, max_size=5), st.integers(1, 60))
    def test_law(self, pieces: list[int], mixes: int) -> None:
        each = [sizes for count, sizes in shared_out(pieces, mixes) for _ in range(count)]
        assert len(each) == mixes
        for bread, wanted in enumerate(pieces):
            sizes = [mix[bread] for mix in each]
            assert sum(sizes) == wanted
            assert max(sizes) - min(sizes) <= 1
        totals = [sum(mix) for mix in each]
        assert max(totals) - min(totals) <= 1
        assert totals == sorted(totals, reverse=True)
