"""The bill of a dough: its lines, and what all of it, a mix, a piece sold and a kilogram of bread come to.

Amounts are exact fractions until they are shown; then the whole is rounded once, by a named rule, and its lines are cut
so that they add up to it.
"""

from __future__ import annotations

from fractions import Fraction
from typing import ClassVar, Literal, get_args

from attrs import evolve, frozen

from .errors import Fault, FormulaError, UnknownNameError, cited
from .kinds import VOLUME
from .lines import Lines
from .money import PIECES, Money, MoneyRule, Price, apportioned, rounded_money
from .prices import FREE
from .quantity import MASS, View
from .readerunits import with_units
from .working import Caution, Step, Working, summed_steps

__all__ = ["LINE_KINDS", "BatchCost", "CostLine", "LineKind", "coin_step", "exact"]

Per = Literal["all", "mix", "piece", "kg"]
LineKind = Literal["dough", "topping", "energy", "labour", "packaging"]
LINE_KINDS: tuple[LineKind, ...] = get_args(LineKind)
"""What a line can be, in the order in which they stand on a bill."""
_SIZES = {MASS: "g", VOLUME: "mL", PIECES: "pieces"}
"""The units of what a price is for; energy and time are in those of their line."""
NOT_IN_PIECES = 'scale with pieces= and piece= or baked=, such as scale(pieces=120, baked="800 g")'


def exact(value: float) -> Fraction:
    """Return a float as the decimal number it prints as.

    Example:
        >>> exact(0.1)
        Fraction(1, 10)
    """
    return Fraction(repr(float(value)))


@frozen
class CostLine:
    """One line of a cost: so much of what, at which price.

    Attributes:
        name: as it is shown.
        item: what the price list calls it: the same for sesame in the dough and on top.
        kind: "dough", "topping", "energy", "labour" or "packaging".
        amount: how much of it, in ``unit``.
        unit: "g", "kJ", "h", "pieces", or "loads" where a load is given as money.
        price: its price; None if it is free, or a load given as money.
        per_unit: grams in a millilitre or in a piece, where the price is for those; 1 otherwise.
        exact: what it comes to, not rounded.
    """

    name: str
    item: str
    kind: LineKind
    amount: float
    unit: str
    price: Price | None
    per_unit: float
    exact: Fraction


@frozen
class BatchCost:
    """What some mixes of a bread, or all of a day, cost.

    ``pieces`` are made of it, each of ``baked`` weight; 0 where the batch was not asked for in pieces, and then nothing
    is known for a piece.  ``good`` of them are offered for sale, ``sold`` of them sold: both may be broken numbers, being
    what is expected.  Every amount of money is rounded from the exact sum by itself.
    """

    name: str
    lines: tuple[CostLine, ...]
    currency: str
    rule: MoneyRule
    digits: int | None
    mixes: int
    pieces: int
    baked_g: float
    bread_g: float
    good: Fraction
    sold: Fraction
    giveaway_g: float
    carried_exact: Lines[Fraction]
    cautions: tuple[Caution, ...] = ()

    baked: ClassVar[View] = View(MASS, "baked_g", "The weight of a piece when sold; 0 if the batch is not in pieces.")
    bread: ClassVar[View] = View(MASS, "bread_g", "All the bread that is made.")
    giveaway: ClassVar[View] = View(MASS, "giveaway_g", "What a piece weighs beyond what it is sold as.")

    @property
    def exact(self) -> Fraction:
        """The cost of all of it, not rounded."""
        return sum((line.exact for line in self.lines), Fraction(0))

    @property
    def per_piece_exact(self) -> Fraction:
        """The cost for each piece sold, not rounded.

        Raises:
            FormulaError: when the batch is not in pieces.
        """
        if not self.pieces:
            raise FormulaError(Fault(self.name, "a batch that is not in pieces", "one in pieces", NOT_IN_PIECES))
        return self.exact / self.sold

    @property
    def per_kg_exact(self) -> Fraction:
        """The cost for each kilogram of bread made, not rounded."""
        return 1000 * self.exact / exact(self.bread_g)

    def money(self, amount: Fraction) -> Money:
        """Round an exact amount by the rule of this cost."""
        return rounded_money(amount, self.currency, self.rule, self.digits)

    @property
    def total(self) -> Money:
        """The cost of all of it."""
        return self.money(self.exact)

    @property
    def per_mix(self) -> Money:
        """The cost of a mix."""
        return self.money(self.exact / self.mixes)

    @property
    def per_piece(self) -> Money | None:
        """The cost for each piece sold: it carries the losses, the rejects and what is not sold."""
        return self.money(self.per_piece_exact) if self.pieces else None

    @property
    def per_piece_made(self) -> Money | None:
        """The cost for each piece made, whether it is sold or not."""
        return self.money(self.exact / self.pieces) if self.pieces else None

    @property
    def per_kg(self) -> Money:
        """The cost for each kilogram of bread made, as it weighs when sold."""
        return self.money(self.per_kg_exact)

    @property
    def per_sold_kg(self) -> Money | None:
        """The cost for each kilogram that a customer pays for: what is sold, at the weight it is sold as."""
        if not self.pieces:
            return None
        return self.money(1000 * self.exact / (self.sold * exact(self.baked_g - self.giveaway_g)))

    def costs(self, per: Per = "all") -> Lines[Money]:
        """Return every line in money; the lines add up to the whole as it is shown, to the last coin.

        Args:
            per: "all", or for a "mix", a "piece" sold or a "kg" of bread.

        Raises:
            FormulaError: for a piece of a batch that is not in pieces.
            UnknownNameError: when ``per`` is none of these.
        """
        parts = [line.exact / self._shares(per) for line in self.lines]
        money = apportioned(parts, self.currency, self.rule, self.digits)
        return Lines(zip((line.name for line in self.lines), money, strict=True))

    def _shares(self, per: Per) -> Fraction:
        if per not in get_args(Per):
            raise UnknownNameError(Fault("per", cited(per), f"one of {', '.join(get_args(Per))}"))
        if per == "piece":
            return self.exact / self.per_piece_exact
        return {"all": Fraction(1), "mix": Fraction(self.mixes), "kg": exact(self.bread_g) / 1000}[per]

    @property
    def carried(self) -> Lines[Money]:
        """What is paid for and not sold, as parts of the whole; they overlap, and are not added to it.

        "dough lost" before the divider, "giveaway" beyond the weight the bread is sold as, both at the cost of the dough's
        ingredients; "rejects" (in a day with the spares) and "unsold" at the whole cost.
        """
        return Lines((name, self.money(amount)) for name, amount in self.carried_exact.items() if amount)

    def working(self) -> Working:
        """Show every line, their sum, and what a kilogram and a piece come to; the last line is what is shown of it.

        The steps are floats for the eye; the last one puts the exact sum on the coin, and says by how much.
        """
        steps: list[Step] = []
        costs: dict[str, float] = {}
        for number, line in enumerate(self.lines, 1):
            costs[f"c{number}"] = float(line.exact)
            steps.append(_line_step(line, number, self.currency))
        sums, total = summed_steps("cost", costs, unit=self.currency)
        steps += [evolve(step, note="all lines together") for step in sums]
        per_kg = 1000 * total / self.bread_g
        values = {"cost": total, "bread": self.bread_g}
        steps.append(
            Step("cost_kg", "1000 * cost / bread", values, per_kg, f"{self.currency}/kg", note="of bread made")
        )
        last, coin, unit = per_kg, self.per_kg, f"{self.currency}/kg"
        if self.pieces:
            reject = float(1 - self.good / self.pieces)
            unsold = float(1 - self.sold / self.good)
            values = {"pieces": float(self.pieces), "not_offered": reject, "unsold": unsold}
            sold, last = float(self.sold), float(self.per_piece_exact)
            note = "expected; not_offered: rejects and spares"
            steps.append(Step("sold", "pieces * (1 - not_offered) * (1 - unsold)", values, sold, "", note=note))
            steps.append(Step("cost_piece", "cost / sold", {"cost": total, "sold": sold}, last, self.currency))
            coin, unit = self.money(self.per_piece_exact), self.currency
        steps.append(coin_step("cost_piece" if self.pieces else "cost_kg", last, coin, unit, self.rule))
        told = {"g": "bread", "1": "pieces not_offered unsold", self.currency: "to_coin"}
        return Working(f"{self.name}: cost", with_units(steps, told), self.cautions)


def coin_step(symbol: str, value: float, money: Money, unit: str, rule: MoneyRule) -> Step:
    """Show how an amount is put on the coin: by how much, and by which rule.

    Args:
        symbol: the amount's name.
        value: the amount.
        money: what it is rounded to.
        unit: its unit.
        rule: the rule by which it was rounded.
    """
    coin = float(money.amount)
    values = {symbol: value, "to_coin": coin - value}
    note = f"rounded once, {rule}"
    return Step("shown", f"{symbol} + to_coin", values, coin, unit, note=note, units={"to_coin": unit})


def _line_step(line: CostLine, number: int, currency: str) -> Step:
    amount, paid, size = f"a{number}", f"p{number}", f"s{number}"
    value = float(line.exact)
    values, units = {amount: line.amount}, {amount: line.unit}
    if line.price is None and not line.exact:
        note = f"{line.name}: {FREE}"
        return Step(f"c{number}", f"0 * {amount}", values, 0.0, currency, note=note, units=units)
    if line.price is None:
        values[paid] = value / line.amount
        units[paid] = f"{currency}/{line.unit}"
        return Step(f"c{number}", f"{amount} * {paid}", values, value, currency, note=line.name, units=units)
    units |= {paid: currency, size: _SIZES.get(line.price.kind, line.unit)}
    values |= {paid: float(line.price.amount), size: float(line.price.size)}
    expression = f"{amount} * {paid} / {size}"
    if line.per_unit != 1:
        values[f"w{number}"] = line.per_unit
        units[f"w{number}"] = f"{line.unit}/{units[size]}"
        expression = f"{amount} / w{number} * {paid} / {size}"
    # A weight is not said to be in grams: a reader may be shown it in pounds.
    what = line.name if line.unit == "g" else f"{line.name}, {line.unit}"
    note = f"{what}, at {line.price}"
    return Step(f"c{number}", expression, values, value, currency, note=note, units=units)
