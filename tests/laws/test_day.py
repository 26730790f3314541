"""The laws of a day, on random breads, orders, scales and mixers."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from formula.bakery import Bakery
from formula.day import plan_day
from formula.errors import FormulaError
from formula.orders import Order
from tests.arithmetic import check_working
from tests.days import check_day
from tests.laws.strategies import Facts, Written, bakeries, days, facts, written


class TestADay:
    """Every piece ordered is made, no mix is short or too heavy, and all that is weighed adds up."""

    @given(days())
    def test_law(self, day: tuple[tuple[Order, ...], Bakery]) -> None:
        taken, bakery = day
        try:
            plan = plan_day(taken, bakery)
        except FormulaError as error:
            # Refused is only what no mixer holds: a single piece, with what rounding may add to it.
            largest = max(mixer.capacity_g for mixer in bakery.mixers) - max(bakery.steps_g.values())
            heavy = [
                order
                for order in taken
                if order.baked_g / order.bread.losses.left + bakery.divider_g / order.bread.losses.before_divider_left
                > largest
            ]
            assert heavy, error  # noqa: PT017 - the error itself is what is looked at
            return
        check_day(plan, taken, bakery)
        for bread in plan.breads:
            check_working(bread.working(), float(bread.mix_count))
        check_working(plan.working(), plan.dough_g)

    @given(days())
    def test_the_order_of_the_orders_does_not_matter(self, day: tuple[tuple[Order, ...], Bakery]) -> None:
        taken, bakery = day
        try:
            plan = plan_day(taken, bakery)
        except FormulaError:
            return
        turned = plan_day(reversed(taken), bakery)
        assert turned.pieces == plan.pieces
        assert dict(turned.ingredients_g) == pytest.approx(dict(plan.ingredients_g))
        doughs = {(bread.bread.name, bread.baked_g): bread.dough_g for bread in plan.breads}
        assert doughs == {(bread.bread.name, bread.baked_g): bread.dough_g for bread in turned.breads}

    @given(days())
    def test_a_plan_is_a_value(self, day: tuple[tuple[Order, ...], Bakery]) -> None:
        taken, bakery = day
        try:
            plan = plan_day(taken, bakery)
        except FormulaError:
            return
        assert plan == plan_day(taken, bakery)
        assert hash(plan) == hash(plan_day(taken, bakery))


class TestFewestMixes:
    """No mixer that is large enough for its share would do with fewer mixes, but for the room that rounding needs."""

    @given(written(most_stages=1), facts, st.integers(1, 3_000), bakeries())
    def test_law(self, drawn: Written, told: Facts, pieces: int, bakery: Bakery) -> None:
        bread = told.bread(drawn, "bread")
        taken = Order(bread, pieces=pieces, baked="800 g")
        # A piece that no mixer holds, with what rounding may add to it, is refused: that is the first law's subject.
        largest = max(mixer.capacity_g for mixer in bakery.mixers) - max(bakery.steps_g.values())
        piece = 800 / bread.losses.left + bakery.divider_g / bread.losses.before_divider_left
        assume(piece <= largest)
        (plan,) = plan_day([taken], bakery).breads
        needed = plan.pieces * plan.piece_g / bread.losses.before_divider_left
        one = plan.piece_g / bread.losses.before_divider_left
        for mixer in bakery.mixers:
            holds = mixer.capacity_g - max(bakery.steps_g.values())
            if mixer.smallest_g == 0 and holds >= one:
                # As many whole pieces as go in make so many mixes at the most.
                fewest = -(-plan.pieces // int(holds / one + 1e-9))
                assert plan.mix_count <= fewest or plan.mixer.smallest_g > plan.mixes[-1].batch.dough_g, needed
