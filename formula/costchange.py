"""Which price moves a cost most, and where two breads differ in cost, line by line."""

from __future__ import annotations

from fractions import Fraction
from typing import ClassVar

from attrs import frozen

from .bill import BatchCost, Per, exact
from .errors import Fault, FormulaError
from .lines import Lines
from .money import Money, minor_digits, rounded_money
from .quantity import SHARE, Door, Measure, View
from .readerunits import with_units
from .working import Caution, Step, Working

__all__ = ["CostComparison", "CostDifference", "PriceEffect", "Sensitivity", "compare_costs", "sensitivity"]

_FINER = 2
"""Digits more than the currency's: the effect of one price on one roll is a fraction of a cent."""


@frozen
class PriceEffect:
    """What a rise of one price does to a cost.

    Attributes:
        item: what the price is of.
        part_share: its part of the whole cost.
        change: what a rise adds, not rounded.
        shown: the same in money, two digits finer than the currency's coin.
    """

    item: str
    part_share: float
    change: Fraction
    shown: Money

    part: ClassVar[View] = View(SHARE, "part_share", "Its part of the whole cost.")


@frozen
class Sensitivity:
    """The effect of a rise of each price by itself, the largest first, ``per`` piece sold or kg of bread."""

    rise_share: float
    per: str
    cost: Fraction
    effects: tuple[PriceEffect, ...]
    cautions: tuple[Caution, ...] = ()

    rise: ClassVar[View] = View(SHARE, "rise_share", "By how much each price rises.")

    def working(self) -> Working:
        """Show every effect, the smallest first: the last line is the price that moves the cost most."""
        steps: list[Step] = []
        for number, effect in reversed(tuple(enumerate(self.effects, 1))):
            values = {"rise": self.rise_share, "cost": float(self.cost), f"part_{number}": effect.part_share}
            expression = f"rise * cost * part_{number}"
            steps.append(
                Step(
                    f"change_{number}",
                    expression,
                    values,
                    float(effect.change),
                    effect.shown.currency,
                    note=effect.item,
                    units={"rise": "1", "cost": effect.shown.currency, f"part_{number}": "1"},
                )
            )
        return Working(f"What a rise of each price adds to a {self.per}", tuple(steps), self.cautions)


def sensitivity(cost: BatchCost, rise: Measure = "10 %") -> Sensitivity:
    """Find which price moves the cost most: each rises by itself, the others stay.

    A price that rises by a share adds that share of its lines, so no batch is reckoned anew.

    Args:
        cost: of a batch or a day; for a piece sold if it is in pieces, for a kg of bread otherwise.
        rise: by how much each price rises.

    Raises:
        FormulaError: a rise that is no share above zero, or a cost of nothing.

    Example:
        >>> from .cost import price
        >>> from .formula import Formula
        >>> bread = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70, "salt": 2})
        >>> prices = {"bread flour": "0.74 EUR/kg", "water": "free", "salt": "0.40 EUR/kg"}
        >>> found = sensitivity(price(bread.scale(pieces=100, piece="860 g"), prices))
        >>> [(effect.item, str(effect.shown)) for effect in found.effects]
        [('bread flour', '0.0370 EUR'), ('salt', '0.0004 EUR')]
    """
    with Door(FormulaError) as door:
        share = door.read_above_zero(SHARE, rise, "rise")
        if not cost.exact:
            door.refuse("cost", "a cost of nothing", "a cost above zero", "nothing in it has a price")
    base = cost.per_piece_exact if cost.pieces else cost.per_kg_exact
    sums: dict[str, Fraction] = {}
    for line in cost.lines:
        sums[line.item] = sums.get(line.item, Fraction(0)) + line.exact
    digits = max(cost.digits or 0, minor_digits(cost.currency) + _FINER)
    effects: list[PriceEffect] = []
    for item, amount in sorted(sums.items(), key=lambda each: -each[1]):
        if amount:
            change = exact(share) * base * amount / cost.exact
            shown = rounded_money(change, cost.currency, cost.rule, digits)
            effects.append(PriceEffect(item, float(amount / cost.exact), change, shown))
    return Sensitivity(share, "piece" if cost.pieces else "kg", base, tuple(effects))


@frozen
class CostDifference:
    """One line of two costs, and what the second costs more."""

    name: str
    first: Money
    second: Money

    @property
    def difference(self) -> Money:
        """The second less the first."""
        return Money(self.second.amount - self.first.amount, self.first.currency)


@frozen
class CostComparison:
    """Two costs line by line, ``per`` piece sold, kg of bread, mix or all; each column adds up to its whole."""

    first: str
    second: str
    per: Per
    lines: tuple[CostDifference, ...]
    whole: CostDifference
    cautions: tuple[Caution, ...] = ()

    def working(self) -> Working:
        """Show what each line adds; the last line is what the second costs more in all."""
        unit = self.whole.first.currency
        steps: list[Step] = []
        added: dict[str, float] = {}
        for number, line in enumerate(self.lines, 1):
            name = f"d{number}"
            added[name] = float(line.difference.amount)
            values = {f"second_{number}": float(line.second.amount), f"first_{number}": float(line.first.amount)}
            steps.append(Step(name, " - ".join(values), values, added[name], unit, note=line.name))
        whole = float(self.whole.difference.amount)
        steps.append(Step("difference", " + ".join(added), added, whole, unit, note=f"{self.second} less {self.first}"))
        told = with_units(steps, {unit: "first second"})
        return Working(f"Cost of a {self.per}: {self.first} and {self.second}", told, self.cautions)


def compare_costs(first: BatchCost, second: BatchCost, per: Per | None = None) -> CostComparison:
    """Compare two costs line by line.

    Args:
        first: the one.
        second: the other.
        per: for a "piece" sold, a "kg" of bread, a "mix" or "all"; a piece if both are in pieces, a kg otherwise.

    Raises:
        FormulaError: two currencies, or a piece of a batch that is not in pieces.
        UnknownNameError: when ``per`` is none of these.

    Example:
        >>> from .cost import price
        >>> from .formula import Formula
        >>> prices = {"bread flour": "0.74 EUR/kg", "water": "free", "honey": "6.00 EUR/kg"}
        >>> old = Formula.from_percents("Old", {"bread flour": 100, "water": 70}).scale(dough="10 kg")
        >>> new = Formula.from_percents("New", {"bread flour": 100, "water": 68, "honey": 2}).scale(dough="10 kg")
        >>> found = compare_costs(price(old, prices), price(new, prices))
        >>> str(found.whole.first), str(found.whole.second), str(found.whole.difference)
        ('0.44 EUR', '0.51 EUR', '0.07 EUR')
    """
    if first.currency != second.currency:
        got = f"{first.currency} and {second.currency}"
        raise FormulaError(Fault("compare_costs", got, "one currency", "price both by one list"))
    way: Per = per or ("piece" if first.pieces and second.pieces else "kg")
    ours, theirs = first.costs(way), second.costs(way)
    none = rounded_money(Fraction(0), first.currency, first.rule, first.digits)
    lines = tuple(
        CostDifference(name, ours.get(name, none), theirs.get(name, none)) for name in dict.fromkeys((*ours, *theirs))
    )
    return CostComparison(first.name, second.name, way, lines, CostDifference("together", _sum(ours), _sum(theirs)))


def _sum(costs: Lines[Money]) -> Money:
    """Add up lines, which make the whole as it is shown."""
    every = tuple(costs.values())
    return Money(sum((each.amount for each in every[1:]), every[0].amount), every[0].currency)
