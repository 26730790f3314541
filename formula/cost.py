"""What a dough costs: ingredients, oven, hours and bags, for a piece that is sold, a kilogram of bread and a mix.

All that is mixed is paid for: the dough that stays in the bowl, the pieces sorted out and the bread that comes back in
the evening are carried by the pieces that are sold.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Final

from attrs import frozen

from .batch import Batch
from .bill import NOT_IN_PIECES, BatchCost, CostLine, LineKind, exact
from .catalogue import Catalogue
from .errors import FormulaError, cited
from .expenses import Expenses
from .formula import Formula
from .lines import Lines
from .losses import Losses
from .money import MONEY_RULES, PIECES, Money, MoneyRule, Price
from .prices import FREE, Prices
from .quantity import MASS, VOLUME, Door, write
from .working import Caution

__all__ = ["Made", "check_rounding", "cost_of", "cost_per_piece_sold", "named", "price", "price_of_gram"]

PARTIAL: Final = "partial-cost"
_NEAR_G: Final = 0.5
"""Grams. Two scaling weights that differ by less are the same but for rounding."""


def cost_per_piece_sold(cost: float, pieces: float, reject_share: float, unsold_share: float) -> float:
    """Return what each piece that is sold must bring in: cost / (pieces * (1 - reject) * (1 - unsold)).

    Args:
        cost: of all the pieces made, in a currency.
        pieces: how many are made.
        reject_share: the share of them that is sorted out.
        unsold_share: the share of the good ones that is not sold.

    Example:
        >>> cost_per_piece_sold(57.6, 100.0, 0.1, 0.2)
        0.8
    """
    return cost / (pieces * (1.0 - reject_share) * (1.0 - unsold_share))


@frozen
class Made:
    """What has to be paid for: the dough of one bread as it was weighed, and the pieces that come of it."""

    bread: Formula
    dough_g: Lines[float]
    mixes: int
    pieces: int
    baked_g: float
    bread_g: float
    losses: Losses
    good: Fraction
    packed: Fraction
    giveaway_g: float
    loads: int | None = None
    labour_h: float | None = None


def named(batch: Batch) -> Lines[float]:
    """Return what a batch's dough holds, g, by the catalogue's names.

    What a stage keeps back for tomorrow is tomorrow's to pay, and yesterday's seed was paid for yesterday.

    Args:
        batch: the batch.
    """
    find = batch.formula.catalogue.find
    return Lines((find(row.name).name, row.mass_g) for row in batch.rows if row.mass_g)


def price(
    batch: Batch,
    prices: Prices | Mapping[str, str | Price],
    *,
    expenses: Expenses | None = None,
    rounding: MoneyRule = "half up",
    digits: int | None = None,
) -> BatchCost:
    """Find what a batch costs, as one mix.

    cost = sum of amount x price over ingredients, toppings, whole oven loads, hours and packaging;
    cost for a piece sold = cost / (pieces x (1 - reject) x (1 - unsold)).

    Args:
        batch: a formula scaled; with ``pieces=`` where something is counted by the piece.
        prices: the price list, or ingredient -> price.
        expenses: what it takes beside dough and toppings; the price list's for this bread if left out.
        rounding: "half up" or "half even".
        digits: digits after the point in all that is shown; the currency's own if left out.

    Returns:
        The cost with its lines; exact until it is shown, and then rounded once.

    Raises:
        FormulaError: every price that is missing, a second currency, something counted by the piece in a batch that is
            not in pieces; all at once.

    Example:
        >>> bread = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70, "salt": 2})
        >>> prices = {"bread flour": "18.50 EUR/25 kg", "water": "free", "salt": "0.40 EUR/kg"}
        >>> cost = price(bread.scale(pieces=100, piece="860 g"), prices, digits=4)
        >>> str(cost.total), str(cost.per_piece)
        ('37.4000 EUR', '0.3740 EUR')
    """
    with Door(FormulaError) as door:
        check_rounding(door, rounding, digits)
        if not isinstance(batch, Batch):  # pyright: ignore[reportUnnecessaryIsInstance]
            door.refuse("batch", cited(batch), "a Batch", "scale the formula first")
    price_list = prices if isinstance(prices, Prices) else Prices(prices)
    bread = batch.formula
    taken = price_list.expenses_of(bread.name) if expenses is None else expenses
    losses = batch.losses if batch.pieces else bread.losses
    baked_g = batch.baked_g or batch.piece_g * losses.after_divider_left
    reject = bread.reject_share if taken.reject_share is None else taken.reject_share
    good = batch.pieces * (1 - exact(reject))
    made = Made(
        bread=bread,
        dough_g=named(batch),
        mixes=1,
        pieces=batch.pieces,
        baked_g=baked_g,
        bread_g=batch.pieces * baked_g if batch.pieces else batch.dough_g * losses.left,
        losses=losses,
        good=good,
        packed=good,
        giveaway_g=taken.giveaway_g,
    )
    with Door(FormulaError) as door:
        found = cost_of(door, made, price_list, taken, rounding, digits, batch.piece_g)
    return found  # noqa: RET504 - only once the door has let it through


def check_rounding(door: Door, rule: str, digits: int | None) -> None:
    """Refuse what is no rule of rounding money.

    Args:
        door: where faults are noted.
        rule: one of ``MONEY_RULES``.
        digits: None, or 0 to 9 digits after the point.
    """
    if rule not in MONEY_RULES:
        door.refuse("rounding", cited(rule), f"one of {', '.join(MONEY_RULES)}")
    if digits is not None and (isinstance(digits, bool) or not isinstance(digits, int) or not 0 <= digits <= 9):  # pyright: ignore[reportUnnecessaryIsInstance]
        door.refuse("digits", cited(digits), "a whole number from 0 to 9", "leave it out for whole cents")


def cost_of(
    door: Door,
    made: Made,
    prices: Prices,
    expenses: Expenses,
    rule: MoneyRule,
    digits: int | None,
    piece_g: float,
) -> BatchCost:
    """Add up what has been made; prices that are missing are noted at the door, each by its name.

    Args:
        door: where faults are noted.
        made: what is to be paid for.
        prices: the price list.
        expenses: what it takes beside dough and toppings.
        rule: how money is rounded.
        digits: digits after the point.
        piece_g: what the divider's scale shows for a piece, g; 0 if it is not divided.
    """
    _check_pieces(door, made, expenses)
    lines = [*_food(door, made, prices), *_work(door, made, prices, expenses)]
    sold = made.good * (1 - exact(expenses.unsold_share))
    return BatchCost(
        name=made.bread.name,
        lines=tuple(lines),
        currency=prices.currency,
        rule=rule,
        digits=digits,
        mixes=made.mixes,
        pieces=made.pieces,
        baked_g=made.baked_g,
        bread_g=made.bread_g,
        good=made.good,
        sold=sold,
        giveaway_g=made.giveaway_g,
        carried_exact=_carried(made, lines, sold),
        cautions=tuple(_cautions(lines, expenses, piece_g)),
    )


def _check_pieces(door: Door, made: Made, expenses: Expenses) -> None:
    counted = {
        "toppings": made.bread.toppings_g,
        "packaging": expenses.packaging,
        "oven loads": expenses.load_kj or expenses.load_money,
        "giveaway": made.giveaway_g,
    }
    by_piece = ", ".join(what for what, there in counted.items() if there)
    if by_piece and not made.pieces:
        got = f"a batch that is not in pieces, with what goes by the piece ({by_piece})"
        door.refuse(made.bread.name, got, "a batch in pieces", NOT_IN_PIECES)
    if made.pieces and made.giveaway_g >= made.baked_g:
        door.refuse("giveaway", write(MASS, made.giveaway_g), f"less than the bread, {write(MASS, made.baked_g)}")


def _carried(made: Made, lines: list[CostLine], sold: Fraction) -> Lines[Fraction]:
    """Return what is paid for and not sold, see ``BatchCost.carried``."""
    whole = sum((line.exact for line in lines), Fraction(0))
    dough = sum((line.exact for line in lines if line.kind == "dough"), Fraction(0))
    divided = exact(made.losses.before_divider_left)
    found = {"dough lost": dough * (1 - divided)}
    if made.pieces:
        found["giveaway"] = dough * divided * exact(made.giveaway_g / made.baked_g)
        found["rejects"] = whole * (1 - made.good / made.pieces)
        found["unsold"] = whole * (made.good - sold) / made.pieces
    return Lines(found)


def _food(door: Door, made: Made, prices: Prices) -> Iterator[CostLine]:
    find = made.bread.catalogue.find
    for name, grams in made.dough_g.items():
        yield _ingredient(door, name, name, "dough", grams, made.bread, prices)
    for topping, grams in made.bread.toppings_g.items():
        name = find(topping).name
        yield _ingredient(door, name, f"{name} (topping)", "topping", made.pieces * grams, made.bread, prices)


def _ingredient(
    door: Door, item: str, name: str, kind: LineKind, grams: float, bread: Formula, prices: Prices
) -> CostLine:
    listed, at, per_unit = _priced(door, item, bread.catalogue, prices)
    cost = at.of(exact(grams) / exact(per_unit)) if at else Fraction(0)
    return CostLine(name, listed, kind, grams, "g", at, per_unit, cost)


def price_of_gram(door: Door, item: str, catalogue: Catalogue, prices: Prices) -> Fraction:
    """Return what a gram of an ingredient costs, exactly; a price that is missing is noted at the door.

    Args:
        door: where faults are noted.
        item: the catalogue's name of it.
        catalogue: what the names mean.
        prices: the price list.
    """
    _, at, per_unit = _priced(door, item, catalogue, prices)
    return at.of(1 / exact(per_unit)) if at else Fraction(0)


def _priced(door: Door, item: str, catalogue: Catalogue, prices: Prices) -> tuple[str, Price | None, float]:
    """Return the line of the list that prices an ingredient, its price, and the grams in a unit of it."""
    found = prices.find(item, catalogue)
    if found is None:
        door.refuse(
            f"prices: {item}", "no price", "a price by weight, volume or piece", f'add it; "{FREE}" if it costs nothing'
        )
    listed, at = found or (item, None)
    per_unit: float | None = 1.0
    if at and at.kind is VOLUME:
        per_unit = catalogue.find(item).density_g_per_ml or (1.0 if item == "water" else None)
        if not per_unit:
            mend = "give its price by weight, or a measure of it (such as 1 cup) in an ingredients file"
            door.refuse(f"prices: {listed}", str(at), "a price by weight, as its density is not known", mend)
    elif at and at.kind is PIECES:
        per_unit = prices.piece_g(item, catalogue)
        if not per_unit:
            mend = "say under pieces what one weighs, or give the price for its weight"
            door.refuse(f"prices: {listed}", str(at), "a price by weight, as the weight of a piece is not known", mend)
    return listed, at, per_unit or 1.0


def _work(door: Door, made: Made, prices: Prices, expenses: Expenses) -> Iterator[CostLine]:
    yield from _energy(door, made, prices, expenses)
    hours = expenses.labour_h * made.mixes if made.labour_h is None else made.labour_h
    if hours and prices.labour is None:
        door.refuse("prices: labour", "no price", "the price of an hour", 'add labour="24.00 EUR/h"')
    elif hours and prices.labour:
        # A third of an hour is 20 min, and no decimal number.
        paid = prices.labour.of(Fraction(hours).limit_denominator(3_600_000))
        yield CostLine("labour", "labour", "labour", hours, "h", prices.labour, 1.0, paid)
    for bag, count in Counter(expenses.packaging).items():
        at = prices.packaging.get(bag)
        if at is None:
            known = ", ".join(prices.packaging) or "none"
            door.refuse(f"prices: packaging: {bag}", "no price", f"one of: {known}", f'add "{bag}" to packaging')
            continue
        name, number = f"{bag} (packaging)", count * made.packed
        yield CostLine(name, name, "packaging", float(number), "pieces", at, 1.0, at.of(number))


def _energy(door: Door, made: Made, prices: Prices, expenses: Expenses) -> Iterator[CostLine]:
    loads, load = made.loads, expenses.load_kj if expenses.load_money is None else expenses.load_money
    if load is None:
        return
    if loads is None and expenses.load_pieces is None:
        door.refuse("expenses: load_pieces", "nothing", "the pieces in an oven load", "say it beside load")
        return
    count = (
        math.ceil(Fraction(made.pieces, expenses.load_pieces)) if loads is None and expenses.load_pieces else loads or 0
    )
    if isinstance(load, Money):
        if load.currency != prices.currency:
            got = f"{load}, with prices in {prices.currency}"
            door.refuse("expenses: load", got, "one currency", "put it into the one of the prices")
        yield CostLine("oven", "oven", "energy", float(count), "loads", None, 1.0, Fraction(load.amount) * count)
    elif prices.energy is None:
        door.refuse("prices: energy", "no price", "the price of energy", 'add energy="0.30 EUR/kWh"')
    else:
        kj = load * count
        yield CostLine("oven", "oven", "energy", kj, "kJ", prices.energy, 1.0, prices.energy.of(kj))


def _cautions(lines: list[CostLine], expenses: Expenses, piece_g: float) -> Iterator[Caution]:
    kinds = {line.kind for line in lines}
    missing = [word for kind, word in (("energy", "energy"), ("labour", "labour")) if kind not in kinds]
    if missing:
        yield Caution(
            PARTIAL, f"no {' and no '.join(missing)} counted: this is a part of the cost, no base for a price"
        )
    if expenses.scaled_g is not None and abs(expenses.scaled_g - piece_g) > _NEAR_G:
        yield Caution(
            "other-scaling-weight",
            f"the giveaway belongs to pieces divided at {write(MASS, round(expenses.scaled_g, 1))}, and these are divided"
            f" at {write(MASS, round(piece_g, 1))}: scale the batch with the piece of the rule",
        )
