"""From orders to dough and back: published sums, every loss once, shared doughs and equal mixes."""

import copy
import pickle
from collections.abc import Callable
from typing import Any

import pytest

from formula.bakery import Bakery, Mixer
from formula.day import plan_day
from formula.errors import FormulaError
from formula.formula import Formula
from formula.losses import Losses
from formula.ordered import dough_for_orders
from formula.orders import Order
from formula.products import Product
from formula.quantity import MASS, read
from formula.yielded import bread_from_dough
from tests.arithmetic import check_working
from tests.beside import made_orders
from tests.rows import holds, rows

LOSSES = Losses(handling="2 %", ferment="1 %", bake="11 %", cool="1 %")
LINES = {"bread flour": 100, "water": 70, "salt": 2}
ROUND = Formula.from_percents("Quay Round", LINES, losses=LOSSES)
PLAIN = Formula.from_percents("Plain", LINES)
OTHER_WAYS = (
    LOSSES,
    Losses(bulk="1 %", divider="5 ‰", bake="12 %", dry="1 %", combine="add"),
    Losses(handling="2 %", bake="14 %", on="bread"),
    Losses(handling="2 %", bake="14 %", on="bread", combine="add"),
    Losses(),
)


def told(make: Callable[[], object]) -> str:
    with pytest.raises(FormulaError) as caught:
        make()
    return str(caught.value)


@pytest.mark.parametrize("row", rows("orders"))
def test_published(row: dict[str, str]) -> None:
    holds("orders", row)
    made = made_orders(row)
    check_working(made.working(), made.dough_g)


class TestLossesAreCountedOnce:
    def test_handling_is_mixed_in_but_not_weighed_into_the_piece(self) -> None:
        made = dough_for_orders([Order(ROUND, pieces=600, baked="800 g")])
        product = made.breads[0].products[0]
        # 800 / (0.99 x 0.89 x 0.99) on the scale; 0.98 of the dough reaches it.
        assert product.piece_g == product.exact_g == pytest.approx(917.127, abs=5e-4)
        assert made.dough_g / 600 == pytest.approx(935.844, abs=5e-4)

    def test_the_step_of_the_scale(self) -> None:
        made = dough_for_orders([Order(ROUND, pieces=600, baked="800 g")], step="5 g")
        assert made.breads[0].products[0].piece_g == 920.0
        assert made.dough_g == pytest.approx(600 * 920 / 0.98, rel=1e-12)
        down = dough_for_orders([Order(ROUND, pieces=600, baked="800 g")], step="5 g", rounding="down")
        assert down.breads[0].products[0].piece_g == 915.0
        assert "scaled-short" in [caution.code for caution in down.cautions]

    @pytest.mark.parametrize("losses", OTHER_WAYS)
    def test_and_back(self, losses: Losses) -> None:
        made = dough_for_orders([Order(PLAIN, pieces=120, baked="800 g", losses=losses)])
        piece_g = made.breads[0].products[0].piece_g
        back = bread_from_dough(f"{made.dough_g!r} g", losses, piece=f"{piece_g!r} g")
        assert back.pieces == 120
        assert back.portions[0].baked_g == pytest.approx(800, rel=1e-11)
        assert back.bread_g == pytest.approx(96_000, rel=1e-11)
        assert back.remainder_g == pytest.approx(0, abs=1e-6)
        check_working(back.working(), back.bread_g)

    def test_no_losses_are_told(self) -> None:
        assert [caution.code for caution in dough_for_orders([Order(PLAIN, pieces=1, baked="1 kg")]).cautions] == [
            "no-losses"
        ]
        assert [caution.code for caution in dough_for_orders([Order(ROUND, pieces=1, baked="1 kg")]).cautions] == [
            "losses-are-averages"
        ]


class TestSharedDough:
    ORDERS = (
        Order(ROUND, pieces=600, baked="800 g"),
        Order(ROUND, pieces=100, baked="400 g", losses=Losses(handling="2 %", bake="15 %")),
        Order(ROUND, pieces=21, baked="400 g", losses=Losses(handling="2 %", bake="15 %"), spares=2, reject="2 %"),
        Order(PLAIN, pieces=30, baked="1 kg"),
    )

    def test_products_of_one_formula_are_one_dough(self) -> None:
        made = dough_for_orders(self.ORDERS, step="5 g")
        first, second = made.breads
        # (21 + 2) / 0.98 = 23.5: 24 pieces; 400 / 0.85 = 470.6 g, 475 g on the scale.
        assert [(each.pieces, each.piece_g) for each in first.products] == [(600, 920.0), (124, 475.0)]
        assert first.dough_g == pytest.approx((600 * 920 + 124 * 475) / 0.98, rel=1e-12)
        assert second.dough_g == 30_000.0
        assert (made.pieces, made.mix_count) == (754, 2)
        check_working(made.working(), made.dough_g)
        for bread in made.breads:
            check_working(bread.working(), bread.dough_g)

    @pytest.mark.parametrize("capacity", ["700 kg", "200 kg", "155 kg", "61.2 kg", "2 kg"])
    def test_mixes_are_equal_within_a_piece(self, capacity: str) -> None:
        made = dough_for_orders(self.ORDERS, step="5 g", capacity=capacity)
        capacity_g = read(MASS, capacity, "capacity")
        for bread in made.breads:
            for place, product in enumerate(bread.products):
                counts = [mix.pieces[place] for mix in bread.mixes for _ in range(mix.count)]
                assert sum(counts) == product.pieces
                assert max(counts) - min(counts) <= 1
            assert sum(mix.count * mix.batch.dough_g for mix in bread.mixes) == pytest.approx(bread.dough_g, rel=1e-9)
            assert max(mix.batch.dough_g for mix in bread.mixes) <= capacity_g * (1 + 1e-9)
            assert bread.mix_count >= bread.dough_g / capacity_g - 1e-9
            check_working(bread.working(), bread.dough_g)
        check_working(made.working(), made.dough_g)

    def test_the_pieces_over_go_to_the_lightest_mixes(self) -> None:
        orders = [Order(PLAIN, pieces=3, baked="1 kg"), Order(PLAIN, pieces=3, baked="900 g")]
        made = dough_for_orders(orders, capacity="3 kg")
        # 5,700 g in two mixes: 2 + 1 and 1 + 2, not 2 + 2 and 1 + 1.
        assert [(mix.count, mix.pieces) for mix in made.breads[0].mixes] == [(1, (2, 1)), (1, (1, 2))]


def test_the_day_plan_says_the_same() -> None:
    orders = [Order(ROUND, pieces=600, baked="800 g", spares=3, reject="1 %")]
    bakery = Bakery(
        "Harbour", mixers=[Mixer("spiral", capacity="200 kg", friction="20 K")], flour="20 °C", room="22 °C", tap="12 °C",
        steps="0.001 g", divider="5 g",
    )  # fmt: skip
    plan = plan_day(orders, bakery).breads[0]
    made = dough_for_orders(orders, step="5 g", capacity="200 kg").breads[0]
    product = made.products[0]
    assert (product.pieces, product.piece_g, made.mix_count) == (plan.pieces, plan.piece_g, plan.mix_count)
    assert made.dough_g == pytest.approx(plan.dough_g, rel=1e-6)
    ours = {step.symbol: step.value for step in made.working().steps}
    theirs = {step.symbol: step.value for step in plan.working().steps}
    assert {name: ours[name] for name in ("needed", "pieces", "scaling_weight", "piece", "dough")} == pytest.approx(
        {name: theirs[name] for name in ("needed", "pieces", "scaling_weight", "piece", "dough")}
    )


def test_a_size_may_have_losses_of_its_own_in_the_day_plan() -> None:
    orders = [
        Order(ROUND, pieces=60, baked="400 g"),
        Order(ROUND, pieces=40, baked="400 g", losses=Losses(handling="5 %", bake="20 %")),
    ]
    bakery = Bakery(
        "Harbour", mixers=[Mixer("spiral", capacity="30 kg", friction="20 K")], flour="20 °C", room="22 °C", tap="12 °C"
    )
    first, second = plan_day(orders, bakery).breads
    assert (first.piece_g, second.piece_g) == (459.0, 500.0)
    assert second.dough_g == pytest.approx(40 * 500 / 0.95, abs=1)
    for plan in (first, second):
        check_working(plan.working(), float(plan.mix_count))


class TestBack:
    def test_pieces_remainder_and_bread(self) -> None:
        made = bread_from_dough("100 kg", ROUND, piece="920 g")
        # 98,000 g reach the divider: 106 x 920 = 97,520 g; 0.98 x 0.99 x 0.89 x ... of a piece is left.
        assert (made.at_divider_g, made.pieces, made.remainder_g) == (98_000.0, 106, 480.0)
        assert made.portions[0].baked_g == pytest.approx(920 * 0.99 * 0.89 * 0.99, rel=1e-12)
        assert made.bread_g == pytest.approx(106 * 802.50588, rel=1e-9)
        assert made.portions[0].name == "Quay Round"
        check_working(made.working(), made.bread_g)

    def test_weighed_at_the_divider(self) -> None:
        made = bread_from_dough("98 kg", LOSSES, piece="920 g", at="divider")
        assert (made.at_divider_g, made.pieces) == (98_000.0, 106)
        check_working(made.working(), made.bread_g)

    @pytest.mark.parametrize("losses", OTHER_WAYS)
    @pytest.mark.parametrize("remainder", ["report", "spread", "old dough", "odd piece"])
    def test_every_remainder(self, losses: Losses, remainder: Any) -> None:  # noqa: ANN401
        made = bread_from_dough("100 kg", losses, piece="917 g", step="5 g", remainder=remainder)
        whole = sum(portion.pieces * portion.piece_g for portion in made.portions) + made.remainder_g
        assert whole == pytest.approx(made.at_divider_g, rel=1e-11)
        for portion in made.portions:
            assert portion.baked_g == pytest.approx(portion.piece_g * losses.after_divider_left, rel=1e-12)
        check_working(made.working(), made.bread_g)

    @pytest.mark.parametrize("losses", OTHER_WAYS)
    def test_several_products(self, losses: Losses) -> None:
        products = [Product("large", pieces=40, piece="920 g"), Product("small", pieces=60, piece="470 g")]
        made = bread_from_dough("100 kg", losses, products=products, fill="small")
        assert [portion.name for portion in made.portions] == ["large", "small"]
        assert made.remainder_g < 470
        check_working(made.working(), made.bread_g)

    def test_refusals(self) -> None:
        bad: Any = {"at": "oven"}
        message = told(lambda: bread_from_dough("0 g", "bread", **bad))  # type: ignore[arg-type]
        assert message.startswith("4 faults")
        assert "a piece and products" in told(lambda: bread_from_dough("1 kg", LOSSES, piece="1 g", products=[]))
        assert "products: got none" in told(lambda: bread_from_dough("1 kg", LOSSES, products=[]))
        assert "piece: got 1000 g, expected no more than the dough, 980 g" in told(
            lambda: bread_from_dough("1 kg", LOSSES, piece="1 kg")
        )


def test_views_and_values() -> None:
    made = dough_for_orders([Order(ROUND, pieces=600, baked="800 g")], step="5 g", capacity="200 kg")
    bread = made.breads[0]
    product = bread.products[0]
    assert made.dough.m_as("g") == pytest.approx(made.dough_g)
    assert bread.capacity is not None
    assert (bread.step.m_as("g"), bread.capacity.m_as("kg")) == (5.0, 200.0)
    views = (product.baked, product.exact, product.piece, product.dough, bread.dough)
    assert [view.m_as("g") for view in views] == pytest.approx([800, product.exact_g, 920, made.dough_g, made.dough_g])
    back = bread_from_dough("100 kg", ROUND, piece="920 g")
    seen = (back.dough, back.at_divider, back.remainder, back.bread, back.portions[0].piece, back.portions[0].baked)
    assert [view.m_as("g") for view in seen] == pytest.approx(
        [100_000, 98_000, 480, back.bread_g, 920, back.portions[0].baked_g]
    )
    for result in (made, back):
        assert pickle.loads(pickle.dumps(result)) == copy.deepcopy(result) == result  # noqa: S301 - our own bytes
        assert isinstance(hash(result), int)


def test_refusals() -> None:
    bad: Any = ["order"]
    message = told(lambda: dough_for_orders(bad, step="0 g", rounding="sideways", capacity="0 g"))  # type: ignore[arg-type]
    assert message.startswith("5 faults")
    message = told(
        lambda: dough_for_orders(
            [Order(ROUND, pieces=1, baked="800 g"), Order(PLAIN, pieces=1, baked="2 g")],
            step="5 g",
            rounding="down",
            capacity="900 g",
        )
    )
    assert "Plain: piece: got 2 g, which rounds to nothing" in message
    message = told(lambda: dough_for_orders([Order(ROUND, pieces=1, baked="800 g")], capacity="900 g"))
    assert "Quay Round: baked: got 935.84" in message
