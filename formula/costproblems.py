"""Problems about cost: a price is for a sack, a loaf pays for those that are not sold.  All prices are invented."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from attrs import evolve

from .bill import BatchCost
from .cost import price
from .draws import Ask, Dice, amount, is_on, posed, renamed, told
from .expenses import Expenses
from .formula import Formula
from .kinds import MASS
from .percentproblems import FLOUR, YEAST
from .prices import Prices
from .problems import MONEY, Problem
from .readerunits import in_units
from .working import Step, Working

__all__ = ["COST_PROBLEMS"]

SACK: Final = "the price of a sack was taken for the price of {}"
FORGOTTEN: Final = "the {} was forgotten"
_PRICES: Final[Mapping[str, Mapping[str, Sequence[tuple[float, str]]]]] = {
    "kg": {
        FLOUR: ((18.5, "EUR/25 kg"), (20.0, "EUR/25 kg"), (22.5, "EUR/25 kg"), (15.0, "EUR/20 kg")),
        "salt": ((0.4, "EUR/kg"), (10.0, "EUR/25 kg"), (0.5, "EUR/kg")),
        YEAST: ((1.5, "EUR/500 g"), (1.4, "EUR/500 g"), (2.0, "EUR/500 g")),
    },
    "lb": {
        FLOUR: ((20.0, "USD/50 lb"), (24.0, "USD/50 lb"), (22.5, "USD/50 lb")),
        "salt": ((12.5, "USD/25 lb"), (0.6, "USD/lb")),
        YEAST: ((3.0, "USD/2 lb"), (2.0, "USD/lb")),
    },
}
_SMALL: Final = {"kg": "g", "lb": "oz"}


class _Drawn:
    """A dough, or one ingredient of it, with its prices; water costs nothing and is not asked about."""

    def __init__(self, dice: Dice, unit: str, names: Sequence[str]) -> None:
        self.unit = unit
        percents = {FLOUR: 100.0, "salt": 2.0, YEAST: dice.pick((1.0, 2.0, 2.5, 4.0))}
        self.bread = Formula.from_percents("Loaf", {name: percents[name] for name in names})
        self.flour = dice.number(10, 60, 2.5) if unit == "kg" else dice.number(20, 150, 5)
        self.priced = {name: dice.pick(_PRICES[unit][name]) for name in names}
        self.prices = {name: amount(*each) for name, each in self.priced.items()}

    @property
    def currency(self) -> str:
        """The code of the prices' currency."""
        return self.priced[FLOUR][1][:3]

    def weights(self) -> dict[str, str] | None:
        """Return what is weighed, salt and yeast in the small unit of the scale; None where it is not round."""
        batch = self.bread.scale(flour=amount(self.flour, self.unit))
        texts: dict[str, str] = {}
        for name in self.priced:
            its = self.unit if name == FLOUR else _SMALL[self.unit]
            weight = told(MASS, batch.mass_g(name), its)
            if not is_on(weight, 0.1):
                return None
            texts[name] = amount(weight, its)
        return texts

    def cost(self, *, pieces: int = 0, expenses: Expenses | None = None, labour: str | None = None) -> BatchCost:
        """Return what it costs, of so many pieces if they are told."""
        prices = Prices(self.prices, labour=labour)
        if not pieces:
            batch = self.bread.scale(flour=amount(self.flour, self.unit))
        else:
            whole = self.bread.scale(flour=amount(self.flour, self.unit)).dough_g
            batch = self.bread.scale(pieces=pieces, piece=f"{whole / pieces!r} g")
        return price(batch, prices, expenses=expenses)

    def steps(self, found: BatchCost, *last: str) -> tuple[Step, ...]:
        """Return the steps of the bill up to what is asked, with the names of the ingredients."""
        kept: list[Step] = []
        names: dict[str, str] = {}
        for place, line in enumerate(found.lines, 1):
            word = line.name.replace(" ", "_")
            names |= {
                f"c{place}": f"c_{word}",
                f"a{place}": word,
                f"p{place}": f"price_{word}",
                f"s{place}": f"per_{word}",
            }
        for step in found.working().steps:
            if step.symbol in names:
                kept.append(evolve(step, note=step.note.replace(", g,", "").replace(", h,", "")))
            elif step.symbol in last:
                kept.append(step)
        return in_units(Working("", renamed(kept, names)), mass=self.unit).steps


def _words(weights: Mapping[str, str], prices: Mapping[str, str]) -> str:
    parts = [f"{weight} of {name} at {prices[name]}" for name, weight in weights.items()]
    return f"{', '.join(parts[:-1])} and {parts[-1]}" if len(parts) > 1 else parts[0]


def _given(weights: Mapping[str, str], prices: Mapping[str, str]) -> dict[str, str]:
    return dict(weights) | {f"price of {name}": text for name, text in prices.items()}


def _one(dice: Dice, unit: str) -> Problem | None:
    """What one ingredient costs."""
    drawn = _Drawn(dice, unit, (FLOUR,))
    found = drawn.cost()
    steps = drawn.steps(found)
    each, per = drawn.priced[FLOUR]
    size = float(per.split("/")[1].split(" ")[0])
    weights = {FLOUR: amount(drawn.flour, unit)}
    wrong = [
        (drawn.flour * each, SACK.format(f"1 {unit}")),
        (each / size, f"this is the price of 1 {unit}"),
        (each, "this is the price of a whole sack"),
    ]
    text = f"A dough takes {_words(weights, drawn.prices)}. What does the flour in it cost?"
    ask = Ask("cost of the flour", MONEY, drawn.currency, 0.01)
    return posed(ask, text, _given(weights, drawn.prices), Working("Cost of the flour", steps), wrong)


def _one_in_kg(dice: Dice) -> Problem | None:
    return _one(dice, "kg")


def _one_in_lb(dice: Dice) -> Problem | None:
    return _one(dice, "lb")


def _dough(dice: Dice, unit: str) -> Problem | None:
    """What the ingredients of a dough cost together."""
    drawn = _Drawn(dice, unit, (FLOUR, "salt", YEAST))
    weights = drawn.weights()
    if weights is None:
        return None
    found = drawn.cost()
    value = float(found.exact)
    lines = {line.name: float(line.exact) for line in found.lines}
    sack = drawn.priced[FLOUR][0]
    wrong = [
        (value - lines[YEAST], FORGOTTEN.format("yeast")),
        (value - lines["salt"], FORGOTTEN.format("salt")),
        (value - lines[FLOUR] + sack, "a whole sack of flour was paid for, whatever the dough takes of it"),
    ]
    text = f"A dough takes {_words(weights, drawn.prices)}; its water is not counted. What do these ingredients cost together?"
    ask = Ask("cost of the ingredients", MONEY, drawn.currency, 0.01)
    solution = Working("Cost of the ingredients", drawn.steps(found, "cost"))
    return posed(ask, text, _given(weights, drawn.prices), solution, wrong)


def _dough_in_kg(dice: Dice) -> Problem | None:
    return _dough(dice, "kg")


def _dough_in_lb(dice: Dice) -> Problem | None:
    return _dough(dice, "lb")


_HOURLY: Final = 24.0
_PIECES: Final = (20, 24, 25, 30, 32, 36, 40, 45, 48, 50, 60, 64, 72, 75, 80, 90, 96, 100, 120, 125, 150, 160, 180, 200)
_LOAVES: Final = {"kg": (1.0, 3.5), "lb": (0.45, 1.6)}
"""Loaves of one unit of flour: from large ones to small ones."""
_UNSOLD: Final = (4.0, 5.0, 6.0, 8.0, 10.0)


def _sold(dice: Dice, unit: str) -> Problem | None:
    """Two stages: what a mix costs with its labour, and what each loaf that is sold has to bring in."""
    drawn = _Drawn(dice, unit, (FLOUR, YEAST))
    weights = drawn.weights()
    if weights is None:
        return None
    food = float(drawn.cost().exact)
    fits = [
        (minutes, pieces, unsold)
        for minutes in range(20, 95, 5)
        for pieces in _PIECES
        for unsold in _UNSOLD
        if _LOAVES[unit][0] <= pieces / drawn.flour <= _LOAVES[unit][1]
        and is_on(pieces * (100 - unsold) / 100, 1)
        and is_on((food + _HOURLY * minutes / 60) / (pieces * (100 - unsold) / 100), 0.01)
    ]
    if not fits:
        return None
    minutes, pieces, unsold = dice.pick(fits)
    more = {
        "labour": amount(minutes, "min"),
        "price of labour": amount(_HOURLY, f"{drawn.currency}/h"),
        "loaves": f"{pieces} pieces",
        "unsold": amount(unsold, "%"),
    }
    expenses = Expenses(labour=more["labour"], unsold=more["unsold"])
    found = drawn.cost(pieces=pieces, expenses=expenses, labour=more["price of labour"])
    value, keeps = float(found.per_piece_exact), 1 - unsold / 100
    wrong = [
        (value * keeps, "the unsold loaves were forgotten: those that are sold pay for them"),
        (value * keeps**2, "the cost was multiplied with the share that is sold instead of divided by it"),
        (food / pieces / keeps, FORGOTTEN.format("labour")),
        (value * pieces * keeps, "this is the cost of the whole mix, not of one loaf"),
    ]
    text = (
        f"A mix takes {_words(weights, drawn.prices)}, and {more['labour']} of labour at {more['price of labour']}; the rest is"
        f" not counted. It gives {more['loaves']}; {more['unsold']} of them are not sold. What must each of the others bring in,"
        " to cover this cost?"
    )
    plain = [
        evolve(step, expression="pieces * (1 - unsold)", values={"pieces": float(pieces), "unsold": unsold / 100},
               units={"pieces": "1", "unsold": "1"}, note="expected")
        if step.symbol == "sold"
        else step
        for step in drawn.steps(found, "cost", "sold", "cost_piece")
    ]  # fmt: skip
    ask = Ask("cost of a loaf sold", MONEY, drawn.currency, 0.01)
    return posed(ask, text, _given(weights, drawn.prices) | more, Working("Cost of a loaf sold", tuple(plain)), wrong)


def _sold_in_kg(dice: Dice) -> Problem | None:
    return _sold(dice, "kg")


def _sold_in_lb(dice: Dice) -> Problem | None:
    return _sold(dice, "lb")


COST_PROBLEMS: Final = (
    (_one_in_kg,),
    (_dough_in_kg, _one_in_lb, _dough_in_lb),
    (_sold_in_kg, _sold_in_lb),
)
"""Makers of problems about cost, level by level."""
