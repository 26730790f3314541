"""The laws of a day, on random breads, orders, scales and mixers."""

from collections.abc import Mapping

import pytest
from attrs import frozen
from hypothesis import assume, given
from hypothesis import strategies as st

from formula.bakery import Bakery, Mixer
from formula.day import plan_day
from formula.errors import FormulaError
from formula.formula import Formula
from formula.losses import Losses
from formula.orders import Order
from formula.units import SHARE, write
from tests.arithmetic import check_working
from tests.days import check_day
from tests.laws.breads import FLOURS, OTHERS, Written, in_grams, stage_name, written
from tests.laws.strategies import losses as shares

steps = st.sampled_from((0.1, 1.0, 2.0, 5.0, 10.0))
small = shares.map(lambda share: write(SHARE, round(share / 4, 4)))
celsius = st.integers(-2, 30).map(lambda degrees: f"{degrees} °C")


@frozen
class Facts:
    """What a bread has beside its lines."""

    handling: str
    bulk: str
    bake: str
    combine: str
    reject: str
    dough_temperature: str | None
    toppings: Mapping[str, str]

    def bread(self, drawn: Written, name: str) -> Formula:
        final = in_grams(drawn.final)
        stages = [drawn.stage(number) for number in range(len(drawn.stages))]
        losses = Losses(handling=self.handling, bulk=self.bulk, bake=self.bake, combine=self.combine)  # type: ignore[arg-type]
        return Formula.from_stages(
            name,
            final,
            stages,
            losses=losses,
            reject=self.reject,
            dough_temperature=self.dough_temperature,
            toppings=self.toppings,
        )


toppings = st.dictionaries(
    st.sampled_from(("sesame seeds", "poppy seeds")), st.sampled_from(("2 g", "1.5 g")), max_size=2
)
facts = st.builds(
    Facts,
    small,
    small,
    small,
    st.sampled_from(("compound", "add")),
    small,
    st.one_of(st.none(), st.integers(18, 32).map(lambda degrees: f"{degrees} °C")),
    toppings,
)


@st.composite
def bakeries(draw: st.DrawFn) -> Bakery:
    own = draw(st.dictionaries(st.sampled_from([*FLOURS, *OTHERS, "water", "culture"]), steps, max_size=4))
    sizes = draw(st.lists(st.one_of(st.integers(1, 3), st.integers(5, 300)), min_size=1, max_size=3))
    mixers = [
        Mixer(
            f"mixer {number}",
            capacity=f"{size} kg",
            smallest=f"{draw(st.integers(0, min(5, size)))} kg",
            friction=f"{draw(st.integers(0, 30))} K",
        )
        for number, size in enumerate(sizes)
    ]
    return Bakery(
        "drawn",
        mixers=mixers,
        flour=draw(celsius),
        room=draw(celsius),
        tap=f"{draw(st.integers(0, 30))} °C",
        ice=f"{draw(st.integers(-20, 0))} °C",
        steps=in_grams({**own, "default": draw(steps)}),
        divider=f"{draw(steps)!r} g",
        stages={stage_name(0): draw(celsius)} if draw(st.booleans()) else None,
    )


@st.composite
def orders(draw: st.DrawFn, bread: Formula) -> Order:
    return Order(
        bread,
        pieces=draw(st.integers(1, 3_000)),
        baked=f"{draw(st.sampled_from((60, 250, 333.3, 800, 1500)))} g",
        due=draw(st.sampled_from(("", "05:30", "23:59"))),
        spares=draw(st.integers(0, 20)),
        reject=draw(st.one_of(st.none(), small)),
    )


@st.composite
def days(draw: st.DrawFn) -> tuple[tuple[Order, ...], Bakery]:
    breads = [draw(facts).bread(draw(written(most_stages=2)), f"bread {number}") for number in (1, 2)]
    taken = draw(st.lists(st.sampled_from(breads).flatmap(orders), min_size=1, max_size=4))
    return tuple(taken), draw(bakeries())


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
