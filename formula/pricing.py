"""From cost to price: for a margin or a mark-up, what a price leaves, and how many pieces carry the fixed costs.

Margin and mark-up are two names for the same money and are never the same number: the margin is a share of the price,
the mark-up a share of the cost.  A mark-up of 50 % is a margin of 33 %.  Prices are without tax.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import ClassVar

from attrs import frozen

from .bill import BatchCost, coin_step, exact
from .counting import even
from .errors import FormulaError, QuantityError
from .money import NO_MONEY, Money, MoneyRule, read_money, rounded_money
from .quantity import SHARE, Door, Measure, View, write
from .readerunits import with_units
from .working import Caution, Step, Working

__all__ = [
    "BreakEven",
    "SalePrice",
    "break_even",
    "break_even_pieces",
    "margin_of_markup",
    "price_for_margin",
    "price_for_markup",
    "sale_price",
]


def price_for_margin(cost: float, margin_share: float) -> float:
    """Return the price of which a share is left after the cost: cost / (1 - margin).

    Args:
        cost: in a currency.
        margin_share: the share of the price, below 1.

    Example:
        >>> price_for_margin(0.75, 0.25)
        1.0
    """
    return cost / (1.0 - margin_share)


def price_for_markup(cost: float, markup_share: float) -> float:
    """Return the price that lies above the cost by a share of the cost: cost * (1 + mark-up).

    Args:
        cost: in a currency.
        markup_share: the share of the cost.

    Example:
        >>> price_for_markup(0.8, 0.25)
        1.0
    """
    return cost * (1.0 + markup_share)


def margin_of_markup(markup_share: float) -> float:
    """Return the margin on the price that a mark-up on the cost is: mark-up / (1 + mark-up).

    Args:
        markup_share: the share of the cost.

    Example:
        >>> margin_of_markup(0.25)
        0.2
    """
    return markup_share / (1.0 + markup_share)


def break_even_pieces(fixed: float, price: float, cost: float) -> float:
    """Return the pieces whose prices pay for themselves and the fixed costs: fixed / (price - cost).

    Args:
        fixed: what must be paid however many are sold, in a currency.
        price: of a piece.
        cost: of a piece, without the fixed costs; less than the price.

    Example:
        >>> break_even_pieces(120.0, 2.0, 0.8)
        100.0
    """
    return fixed / (price - cost)


@frozen
class SalePrice:
    """A price and what it leaves above the cost: ``margin`` of the price, ``markup`` of the cost.

    ``price`` is the rounded one, and both shares are those that it really leaves; ``asked`` is what it was made for:
    "margin", "markup" or "price", with ``asked_share`` (0 for a price).
    """

    cost: Fraction
    price: Money
    asked: str
    asked_share: float
    rule: MoneyRule
    cautions: tuple[Caution, ...] = ()

    margin: ClassVar[View] = View(SHARE, "margin_share", "What is left of the price, as a share of the price.")
    markup: ClassVar[View] = View(SHARE, "markup_share", "What the price lies above the cost, as a share of the cost.")

    @property
    def profit(self) -> Money:
        """What is left of the price of a piece, rounded; less than zero where it is sold below cost."""
        return rounded_money(Fraction(self.price.amount) - self.cost, self.price.currency, self.rule)

    @property
    def margin_share(self) -> float:
        """What is left of the price, as a share of the price."""
        return float(1 - self.cost / Fraction(self.price.amount))

    @property
    def markup_share(self) -> float:
        """What the price lies above the cost, as a share of the cost."""
        return float(Fraction(self.price.amount) / self.cost - 1)

    def working(self) -> Working:
        """Show the steps; the last line is the price, or for a price the margin it leaves."""
        cost, price, unit = float(self.cost), float(self.price.amount), self.price.currency
        if self.asked == "price":
            values = {"price": price, "cost": cost}
            steps = (
                Step("markup", "price / cost - 1", values, self.markup_share, "1", note="a share of the cost"),
                Step("margin", "1 - cost / price", values, self.margin_share, "1", note="a share of the price"),
            )
            return Working("What a price leaves", with_units(steps, {unit: "price cost"}), self.cautions)
        values = {"cost": cost, self.asked: self.asked_share}
        if self.asked == "margin":
            step = Step("price", "cost / (1 - margin)", values, price_for_margin(cost, self.asked_share), unit)
        else:
            step = Step("price", "cost * (1 + markup)", values, price_for_markup(cost, self.asked_share), unit)
        steps = (step, coin_step("price", step.value, self.price, unit, self.rule))
        told = with_units(steps, {unit: "cost", "1": "margin markup"})
        return Working(f"Price for a {self.asked}", told, self.cautions)


def sale_price(
    cost: BatchCost | Money | str,
    *,
    margin: Measure | None = None,
    markup: Measure | None = None,
    price: str | Money | None = None,
) -> SalePrice:
    """Find the price for a margin or a mark-up, or what a price leaves of both.

    price = cost / (1 - margin) = cost x (1 + mark-up).

    Args:
        cost: of a piece: a batch's cost, whose piece sold is meant, or money such as "0.82 EUR".
        margin: the share of the price that shall be left, below 100 %.
        markup: the share of the cost that is put on it.
        price: a price to look at instead.

    Raises:
        FormulaError: not exactly one of the three, a margin of 100 % or more, another currency, a cost or price of zero.

    Example:
        >>> found = sale_price("0.82 EUR", margin="40 %")
        >>> str(found.price), round(100 * found.margin_share, 1), round(100 * found.markup_share, 1)
        ('1.37 EUR', 40.1, 67.1)
    """
    with Door(FormulaError) as door:
        each, currency, rule, digits = _cost(door, cost)
        ways = {"margin": margin, "markup": markup, "price": price}
        given = [way for way, value in ways.items() if value is not None]
        if len(given) != 1:
            door.refuse("sale_price", " and ".join(given) or "nothing", "one of margin=, markup=, price=")
        share, at = 0.0, NO_MONEY
        if margin is not None:
            share = door.read(SHARE, margin, "margin")
            if share >= 1:
                mend = "a margin is a share of the price; a share of the cost is a mark-up, markup="
                door.refuse("margin", write(SHARE, share), "a share below 100 %", mend)
        if markup is not None:
            share = door.read(SHARE, markup, "markup")
        if price is not None:
            at = _money(door, price, "price", currency)
    if price is None:
        ask = 1 / (1 - exact(share)) if margin is not None else 1 + exact(share)
        at = rounded_money(each * ask, currency, rule, digits)
        if not at.amount:
            # A piece that costs less than half a coin has no price in coins.
            door.refuse("cost", _written(each, currency), "a cost of which a price in coins can be made", "digits=4")
            door.close()
    below = Fraction(at.amount) < each
    cautions = (Caution("below-cost", "This price does not pay what the bread costs."),) if below else ()
    return SalePrice(each, at, given[0], share, rule, cautions)


def _written(amount: Fraction, currency: str) -> str:
    """Write an exact amount for a message."""
    return f"{float(amount):.6g} {currency}"


@frozen
class BreakEven:
    """The pieces that carry fixed costs: from ``pieces`` on nothing is lost."""

    fixed: Money
    price: Money
    cost: Fraction
    pieces: int
    cautions: tuple[Caution, ...] = ()

    @property
    def contribution(self) -> Fraction:
        """What each piece sold leaves for the fixed costs, not rounded."""
        return Fraction(self.price.amount) - self.cost

    @property
    def turnover(self) -> Money:
        """What those pieces bring in."""
        return rounded_money(self.pieces * Fraction(self.price.amount), self.price.currency)

    def working(self) -> Working:
        """Show the steps; the last line is the number of pieces."""
        fixed, price, cost = float(self.fixed.amount), float(self.price.amount), float(self.cost)
        needed = float(Fraction(self.fixed.amount) / self.contribution)
        values = {"fixed": fixed, "price": price, "cost": cost}
        steps = (
            Step("needed", "fixed / (price - cost)", values, even(needed), ""),
            Step("pieces", "ceil(needed)", {"needed": even(needed)}, float(self.pieces), "", note="whole pieces"),
        )
        told = with_units(steps, {self.fixed.currency: "fixed price cost"})
        return Working("Break-even", told, self.cautions)


def break_even(fixed: str | Money, *, price: str | Money, cost: BatchCost | Money | str) -> BreakEven:
    """Find the pieces that must be sold to carry fixed costs: fixed / (price - cost), rounded up.

    Args:
        fixed: what must be paid however many are sold (rent, wages that are paid anyway), for any span of time.
        price: of a piece, without tax.
        cost: of a piece: a batch's cost, whose piece sold is meant, or money.  What is in ``fixed`` must not be in it
            again.

    Raises:
        FormulaError: a price that is not above the cost, another currency, a bad amount; all at once.

    Example:
        >>> break_even("900 EUR", price="1.60 EUR", cost="0.85 EUR").pieces
        1200
    """
    with Door(FormulaError) as door:
        each, currency, _, _ = _cost(door, cost)
        paid = _money(door, fixed, "fixed", currency)
        at = _money(door, price, "price", currency)
        if not door.faults and Fraction(at.amount) <= each:
            mend = "at this price every piece sold adds to the loss"
            door.refuse("price", str(at), f"more than the cost of a piece, {_written(each, currency)}", mend)
    pieces = math.ceil(even(float(Fraction(paid.amount) / (Fraction(at.amount) - each))))
    return BreakEven(paid, at, each, pieces)


def _cost(door: Door, cost: BatchCost | Money | str) -> tuple[Fraction, str, MoneyRule, int | None]:
    """Read the cost of a piece: exact, its currency, and how it is rounded."""
    if isinstance(cost, BatchCost):
        try:
            each = cost.per_piece_exact
        except FormulaError as error:
            door.faults.extend(error.faults)
            return Fraction(1), cost.currency, cost.rule, cost.digits
        if not each:
            door.refuse("cost", "a cost of nothing", "a cost above zero", "nothing in it has a price")
        return each or Fraction(1), cost.currency, cost.rule, cost.digits
    money = _money(door, cost, "cost", "")
    return (Fraction(1) if money is NO_MONEY else Fraction(money.amount)), money.currency, "half up", None


def _money(door: Door, value: str | Money, where: str, currency: str) -> Money:
    """Read an amount above zero in a currency; a bad one is noted and answered with none."""
    try:
        money = read_money(value, where)
    except QuantityError as error:
        door.faults.extend(error.faults)
        return NO_MONEY
    if not money.amount:
        door.refuse(where, str(money), "an amount above zero")
        return NO_MONEY
    if currency not in ("", NO_MONEY.currency, money.currency):
        door.refuse(where, str(money), f"an amount in {currency}", "put all amounts into one currency")
    return money
