"""The laws of cost, on random breads, prices and losses."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.bill import BatchCost
from formula.cost import price
from formula.costchange import sensitivity
from formula.expenses import Expenses
from formula.formula import Formula
from formula.losses import Losses
from formula.money import Price, apportioned, rounded_money
from formula.prices import Prices
from formula.pricing import break_even_pieces, price_for_margin, price_for_markup, sale_price
from tests.arithmetic import check_working
from tests.laws.strategies import (
    Written,
    exact_amounts,
    expenses,
    money_amounts,
    money_places,
    money_rules,
    prices_of,
    sold_pieces,
    written,
)


def listed(table: dict[str, Price]) -> Prices:
    return Prices(table, labour="24.00 EUR/h", packaging={"bag": "0.03 EUR/piece"})


def cost_of(bread: Formula, count: int, table: dict[str, Price], spent: Expenses, **how: Any) -> BatchCost:  # noqa: ANN401
    return price(
        bread.scale(pieces=count, piece="500 g", losses=Losses(bake="12 %")), listed(table), expenses=spent, **how
    )


class TestLinesMakeTheTotal:
    """Lines as they are shown add up to the whole as it is shown, for all, a mix, a piece and a kilogram."""

    @given(written(), sold_pieces, prices_of, expenses, money_rules, money_places)
    def test_law(
        self,
        drawn: Written,
        count: int,
        table: dict[str, Price],
        spent: Expenses,
        rule: Any,  # noqa: ANN401
        digits: int | None,
    ) -> None:
        cost = cost_of(drawn.formula(), count, table, spent, rounding=rule, digits=digits)
        assert cost.exact == sum((line.exact for line in cost.lines), Fraction(0))
        for per, whole in (("all", cost.total), ("mix", cost.per_mix), ("piece", cost.per_piece), ("kg", cost.per_kg)):
            assert whole is not None
            lines = cost.costs(per)  # type: ignore[arg-type]
            assert sum(money.amount for money in lines.values()) == whole.amount
        assert cost.per_piece is not None
        check_working(cost.working(), float(cost.per_piece.amount))


class TestApportioned:
    """Each part moves by less than one coin, and together they are the rounded whole."""

    @given(exact_amounts, money_rules, money_places)
    def test_law(self, parts: list[Fraction], rule: Any, digits: int | None) -> None:  # noqa: ANN401
        shown = apportioned(parts, "EUR", rule, digits)
        whole = rounded_money(sum(parts, Fraction(0)), "EUR", rule, digits)
        assert sum((money.amount for money in shown), Decimal(0)) == whole.amount
        coin = Fraction(1, 10 ** (2 if digits is None else digits))
        assert all(abs(Fraction(money.amount) - part) < coin for money, part in zip(shown, parts, strict=True))
        assert abs(Fraction(whole.amount) - sum(parts, Fraction(0))) <= coin / 2


class TestScaling:
    """Scaling a batch leaves its cost per kilogram unchanged, where nothing is counted by the mix or the load."""

    @given(written(), sold_pieces, prices_of, st.integers(2, 50))
    def test_law(self, drawn: Written, count: int, table: dict[str, Price], factor: int) -> None:
        bread, spent = drawn.formula(), Expenses(packaging=["bag"], unsold="5 %")
        one, many = (cost_of(bread, number, table, spent) for number in (count, factor * count))
        assert float(many.per_kg_exact) == pytest.approx(float(one.per_kg_exact), rel=1e-9)
        assert float(many.per_piece_exact) == pytest.approx(float(one.per_piece_exact), rel=1e-9)
        assert float(many.exact) == pytest.approx(factor * float(one.exact), rel=1e-9)


class TestSensitivity:
    """A price that rises by 10 %, the others staying, adds exactly 10 % of its lines."""

    @given(written(), sold_pieces, prices_of, expenses, st.data())
    def test_law(
        self, drawn: Written, count: int, table: dict[str, Price], spent: Expenses, data: st.DataObject
    ) -> None:
        bread = drawn.formula()
        cost = cost_of(bread, count, table, spent)
        found = {effect.item: effect.change for effect in sensitivity(cost, "10 %").effects}
        item = data.draw(st.sampled_from(sorted(line.name for line in cost.lines if line.kind == "dough")))
        old = table[item]
        dearer = {**table, item: Price(old.amount * Decimal("1.1"), old.currency, old.per)}
        changed = cost_of(bread, count, dearer, spent)
        line = next(line for line in cost.lines if line.name == item)
        assert changed.exact - cost.exact == line.exact / 10
        assert changed.per_piece_exact - cost.per_piece_exact == found[item]


class TestPaidForBySales:
    """What the pieces sold bring in at their cost is the cost of all that is made."""

    @given(written(), sold_pieces, prices_of, expenses)
    def test_law(self, drawn: Written, count: int, table: dict[str, Price], spent: Expenses) -> None:
        cost = cost_of(drawn.formula(), count, table, spent)
        assert cost.sold * cost.per_piece_exact == cost.exact
        assert cost.sold <= cost.good <= count


class TestMarginAndMarkup:
    """A margin and its mark-up are one price: 1 / (1 - margin) = 1 + mark-up; the margin is never the larger."""

    @given(st.floats(0.01, 1000), st.floats(0, 0.95))
    def test_law(self, cost: float, margin: float) -> None:
        markup = margin / (1 - margin)
        assert price_for_margin(cost, margin) == pytest.approx(price_for_markup(cost, markup), rel=1e-12)
        assert markup >= margin

    @given(money_amounts, st.integers(0, 95))
    def test_the_price_leaves_what_was_asked_for(self, cost: Decimal, margin: int) -> None:
        found = sale_price(f"{cost} EUR", margin=f"{margin} %")
        exact = Fraction(cost) / (1 - Fraction(margin, 100))
        assert abs(Fraction(found.price.amount) - exact) <= Fraction(1, 200)
        check_working(found.working(), float(found.price.amount))


class TestBreakEven:
    """At the break-even the pieces bring in what they and the fixed costs cost."""

    @given(st.floats(1, 1e5), st.floats(0.1, 10), st.floats(0.01, 10))
    def test_law(self, fixed: float, cost: float, above: float) -> None:
        count = break_even_pieces(fixed, cost + above, cost)
        assert count * (cost + above) == pytest.approx(fixed + count * cost, rel=1e-6)
