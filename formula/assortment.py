"""An assortment: many formulas as one table of numbers, scaled and priced all at once.

Scaling and pricing are products with the table of percentages.  Numpy (the extra ``many``) does them, when asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from attrs import frozen

from .cost import price_of_gram
from .errors import Fault, FormulaError
from .formulatable import FormulaTable, Grams, by_formula, lines_of, read_weights
from .lines import Lines
from .money import Price
from .packed import Packed, load_numpy
from .prices import Prices
from .quantity import Door
from .working import Step, Working

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Assortment", "AssortmentCosts", "AssortmentMasses"]


@frozen
class Assortment(FormulaTable):
    """Many formulas in one table; made by ``Assortment.of``.

    What counts is what ends in the dough, as in ``Batch.rows``.  The seed that a stage keeps for tomorrow, water boiled
    off and toppings come on top: ``DayPlan.ingredients_g`` has them.

    Example:
        >>> from formula.formula import Formula
        >>> rye = Formula.from_percents("Rye", {"dark rye flour": 100, "water": 80, "salt": 2})
        >>> white = Formula.from_percents("White", {"bread flour": 100, "water": 65, "salt": 2})
        >>> both = Assortment.of([rye, white])
        >>> both.scale(flour_g=[1_000, 2_000]).totals_g["water"]
        2100.0
    """

    def scale(self, *, dough_g: Grams | None = None, flour_g: Grams | None = None) -> AssortmentMasses:
        """Scale every formula, by its dough or by its flour: mass = percentage * flour / 100.

        flour = 100 * dough / total percentage.

        Args:
            dough_g: for each formula the weight of dough to mix, g, zero or more; or
            flour_g: the weight of all its flour, g.

        Raises:
            FormulaError: not exactly one of them, too many or too few weights, a weight that is negative or no number.
            UnknownNameError: a weight for an id that is not here.
            MissingExtraError: without numpy.

        Example:
            >>> from formula.formula import Formula
            >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70, "salt": 2})
            >>> masses = Assortment.of([loaf]).scale(dough_g={"Loaf": 1_720})
            >>> masses.totals_g
            Lines({'bread flour': 1000.0, 'water': 700.0, 'salt': 20.0})
        """
        if (dough_g is None) == (flour_g is None):
            got = "neither" if dough_g is None else "both"
            raise FormulaError(Fault("scale", got, "one of dough_g= and flour_g="))
        if flour_g is not None:
            return AssortmentMasses(self, Packed.of(read_weights(self, flour_g, "flour_g")))
        weights = read_weights(self, dough_g if dough_g is not None else (), "dough_g")
        return AssortmentMasses(self, Packed.of(100 * weights / self.total_percents()))

    def price(self, prices: Prices | Mapping[str, str | Price]) -> AssortmentCosts:
        """Price every formula: what the ingredients of a kilogram of its dough cost.

        cost = sum of percentage * price / total percentage.  In floats, to be compared and sorted; what goes on a bill is
        worked out exactly by ``formula.price``, with toppings, energy and hours.

        Args:
            prices: the price list, or ingredient -> price.

        Raises:
            FormulaError: every ingredient without a price, or with one that needs a density that is not known.
            MissingExtraError: without numpy.

        Example:
            >>> from formula.formula import Formula
            >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70, "salt": 2})
            >>> found = Assortment.of([loaf]).price({"bread flour": "0.86 EUR/kg", "water": "free", "salt": "0.43 EUR/kg"})
            >>> round(found.per_kg("Loaf"), 9), found.currency
            (0.505, 'EUR')
        """
        price_list = prices if isinstance(prices, Prices) else Prices(prices)
        # What is in no dough needs no price.
        taken = load_numpy().bincount(self.places.array(), weights=self.percents.array()).tolist()
        with Door(FormulaError) as door:
            each = [
                float(1000 * price_of_gram(door, name, larder, price_list)) if percent else 0.0
                for name, larder, percent in zip(self.ingredients, self.catalogues, taken, strict=True)
            ]
        return AssortmentCosts(self, price_list.currency, Packed.of(each))


@frozen
class AssortmentMasses:
    """Every formula of an assortment scaled; made by ``Assortment.scale``.

    Attributes:
        table: the formulas.
        flours_g: for each formula the weight of all its flour.
    """

    table: FormulaTable
    flours_g: Packed

    def masses_g(self) -> NDArray[Any]:
        """Return the grams of every line, formula by formula."""
        np, table = load_numpy(), self.table
        per_percent = np.repeat(self.flours_g.array() / 100, np.diff(table.starts.array()))
        found: NDArray[Any] = table.percents.array() * per_percent
        found.setflags(write=False)
        return found

    def doughs_g(self) -> NDArray[Any]:
        """Return the grams of dough of each formula."""
        found: NDArray[Any] = self.table.total_percents() * (self.flours_g.array() / 100)
        found.setflags(write=False)
        return found

    @property
    def totals_g(self) -> Lines[float]:
        """Grams of every ingredient over all formulas: what to have ready."""
        np, table = load_numpy(), self.table
        sums = np.bincount(table.places.array(), weights=self.masses_g(), minlength=len(table.ingredients))
        return Lines(zip(table.ingredients, sums.tolist(), strict=True))

    def masses_of(self, name: str) -> Lines[float]:
        """Return the grams of every ingredient of one formula.

        Args:
            name: its id.

        Raises:
            UnknownNameError: when there is no such formula.
        """
        lines, table = lines_of(self.table, name), self.table
        flour_g = float(self.flours_g.array()[table.ids.index(name)])
        places, percents = table.places.array()[lines].tolist(), table.percents.array()[lines].tolist()
        return Lines(
            (table.ingredients[p], percent * (flour_g / 100)) for p, percent in zip(places, percents, strict=True)
        )

    def columns(self) -> dict[str, Any]:
        """Return a row for each line: ``formula``, ``ingredient``, ``percent`` and ``mass_g``."""
        return {**self.table.columns(), "mass_g": self.masses_g()}

    def total_columns(self) -> dict[str, Any]:
        """Return a row for each ingredient: ``ingredient`` and ``mass_g`` over all formulas."""
        totals = self.totals_g
        return {"ingredient": list(totals), "mass_g": Packed.of(tuple(totals.values())).array()}

    def working_of(self, name: str) -> Working:
        """Show how the weights of one formula come about; the last line is its dough.

        Args:
            name: its id.

        Raises:
            UnknownNameError: when there is no such formula.
        """
        masses = self.masses_of(name)
        table = self.table
        flour_g = float(self.flours_g.array()[table.ids.index(name)])
        percents = table.percents.array()[lines_of(table, name)].tolist()
        steps: list[Step] = []
        for number, ((line, grams), percent) in enumerate(zip(masses.items(), percents, strict=True), 1):
            values = {"flour": flour_g, f"p{number}": percent}
            units = {"flour": "g", f"p{number}": "1"}
            steps.append(Step(f"m{number}", f"flour * p{number} / 100", values, grams, "g", note=line, units=units))
        named = {f"m{number}": grams for number, grams in enumerate(masses.values(), 1)}
        dough_g = float(self.doughs_g()[table.ids.index(name)])
        steps.append(Step("dough", " + ".join(named), named, dough_g, "g", note="all lines together"))
        return Working(f"{name}: dough", tuple(steps))


@frozen
class AssortmentCosts:
    """What the dough of every formula of an assortment costs; made by ``Assortment.price``.

    Attributes:
        table: the formulas.
        currency: the code.
        prices_kg: for each ingredient what a kilogram costs.
    """

    table: FormulaTable
    currency: str
    prices_kg: Packed

    def costs_per_kg(self) -> NDArray[Any]:
        """Return what the ingredients of a kilogram of each dough cost."""
        table = self.table
        lines = table.percents.array() * self.prices_kg.array()[table.places.array()]
        found: NDArray[Any] = by_formula(table, lines) / table.total_percents()
        found.setflags(write=False)
        return found

    def per_kg(self, name: str) -> float:
        """Return what a kilogram of one dough costs.

        Args:
            name: the formula's id.

        Raises:
            UnknownNameError: when there is no such formula.
        """
        lines_of(self.table, name)
        return float(self.costs_per_kg()[self.table.ids.index(name)])

    def columns(self) -> dict[str, Any]:
        """Return a row for each formula: ``formula``, ``cost_per_kg`` of dough and ``currency``."""
        table = self.table
        return {
            "formula": list(table.ids),
            "cost_per_kg": self.costs_per_kg(),
            "currency": [self.currency] * len(table),
        }

    def working_of(self, name: str) -> Working:
        """Show what each ingredient adds to a kilogram of one dough; the last line is what it costs.

        Args:
            name: the formula's id.

        Raises:
            UnknownNameError: when there is no such formula.
        """
        table, unit = self.table, f"{self.currency}/kg"
        lines = lines_of(table, name)
        percents, places = table.percents.array()[lines].tolist(), table.places.array()[lines].tolist()
        prices = self.prices_kg.array()[places].tolist()
        symbols = {f"p{number}": percent for number, percent in enumerate(percents, 1)}
        total = float(table.total_percents()[table.ids.index(name)])
        units = dict.fromkeys(symbols, "%")
        steps = [Step("total", " + ".join(symbols), symbols, total, "%", note="the total percentage", units=units)]
        adds: dict[str, float] = {}
        for number, (percent, place, each) in enumerate(zip(percents, places, prices, strict=True), 1):
            adds[f"c{number}"] = percent * each / total
            values = {f"p{number}": percent, f"k{number}": each, "total": total}
            expression, units = f"p{number} * k{number} / total", {f"k{number}": unit, f"p{number}": "%"}
            note = table.ingredients[place]
            steps.append(Step(f"c{number}", expression, values, adds[f"c{number}"], unit, note=note, units=units))
        steps.append(Step("cost", " + ".join(adds), adds, self.per_kg(name), unit, note="for a kilogram of dough"))
        return Working(f"{name}: cost of the dough", tuple(steps))
