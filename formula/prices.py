"""The price list: what ingredients, energy, hours and bags cost.

A price list is in one currency.  What costs nothing is written "free", so that a price that was forgotten is never
taken for one of zero.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from attrs import evolve, field, frozen

from .catalogue import Catalogue
from .errors import Fault, FileError, FormulaError, QuantityError, cited
from .expenses import Expenses
from .ingredient import folded
from .lines import Lines
from .money import NO_MONEY, PIECES, Price, read_price
from .quantity import ENERGY, MASS, TIME, VOLUME, Door, Kind, Measure
from .tables import lay, read_toml

__all__ = ["FREE", "Prices", "load_prices"]

FREE: Final = "free"
_NO_PRICE: Final = Price(NO_MONEY.amount, NO_MONEY.currency, "piece")


@frozen(init=False)
class Prices:
    """A price list, with what each bread takes beside its dough.

    Args:
        ingredients: ingredient -> its price by weight ("18.50 EUR/25 kg", "1.20 EUR/kg"), by volume ("1.10 EUR/L", where
            the larder knows how heavy it is), by the piece (where ``pieces`` knows), or "free".
        energy: the price of energy, such as "0.30 EUR/kWh".
        labour: what an hour of one person costs, such as "24.00 EUR/h".
        packaging: name -> its price, such as "0.03 EUR/piece" or "21.00 EUR/500 pieces".
        pieces: ingredient -> what one piece of it weighs, where it is bought by the piece.
        expenses: what every bread takes beside its dough.
        breads: bread -> what it takes instead.

    Raises:
        FormulaError: every bad argument at once: a price that cannot be read, is zero or in another currency.

    Example:
        >>> prices = Prices({"bread flour": "18.50 EUR/25 kg", "water": "free"}, labour="24.00 EUR/h")
        >>> prices.currency, str(prices.ingredients["bread flour"])
        ('EUR', '18.50 EUR/25 kg')
    """

    ingredients: Lines[Price | None]
    energy: Price | None
    labour: Price | None
    packaging: Lines[Price]
    pieces_g: Lines[float]
    expenses: Expenses
    breads: Lines[Expenses]

    def __init__(
        self,
        ingredients: Mapping[str, str | Price],
        *,
        energy: str | Price | None = None,
        labour: str | Price | None = None,
        packaging: Mapping[str, str | Price] | None = None,
        pieces: Mapping[str, Measure] | None = None,
        expenses: Expenses | None = None,
        breads: Mapping[str, Expenses] | None = None,
    ) -> None:
        """Read every argument and tell of all the bad ones at once."""
        with Door(FormulaError) as door:
            by = (MASS, VOLUME, PIECES)
            priced: dict[str, Price | None] = {
                name: None if value == FREE else _above_zero(door, value, name, by)
                for name, value in ingredients.items()
            }
            bags = {
                name: _above_zero(door, value, f"packaging: {name}", (PIECES,))
                for name, value in (packaging or {}).items()
            }
            hourly = None if labour is None else _above_zero(door, labour, "labour", (TIME,))
            burnt = None if energy is None else _above_zero(door, energy, "energy", (ENERGY,))
            pieces_g = {
                name: door.read_above_zero(MASS, value, f"pieces: {name}") for name, value in (pieces or {}).items()
            }
            _check_names(door, priced)
            if not door.faults:
                _check_currency(door, {**priced, **bags, "labour": hourly, "energy": burnt})
        facts: dict[str, object] = {
            "ingredients": Lines(priced),
            "energy": burnt,
            "labour": hourly,
            "packaging": Lines(bags),
            "pieces_g": Lines(pieces_g),
            "expenses": expenses or Expenses(),
            "breads": Lines(breads or {}),
        }
        for name, value in facts.items():
            object.__setattr__(self, name, value)

    @property
    def currency(self) -> str:
        """The code of the currency that all of them are in."""
        every = (*self.ingredients.values(), *self.packaging.values(), self.labour, self.energy)
        return next(price.currency for price in every if price)

    def expenses_of(self, *names: str) -> Expenses:
        """Return what a bread takes beside its dough: its own if it has any, or what every bread takes.

        Args:
            names: what the bread is called, the most particular name first ("Quay Round 800 g", "Quay Round").
        """
        own = {folded(name): expenses for name, expenses in self.breads.items()}
        return next((own[folded(name)] for name in names if folded(name) in own), self.expenses)

    def find(self, ingredient: str, catalogue: Catalogue) -> tuple[str, Price | None] | None:
        """Return the line of the list that prices an ingredient, under whatever name, or None if there is none.

        Args:
            ingredient: the catalogue's name.
            catalogue: what the names mean.
        """
        for name, found in self.ingredients.items():
            if folded(name) == folded(ingredient) or (
                name in catalogue and folded(catalogue.find(name).name) == folded(ingredient)
            ):
                return name, found
        return None

    def piece_g(self, ingredient: str, catalogue: Catalogue) -> float | None:
        """Return what a piece of an ingredient weighs, g, or None if the list does not say so.

        Args:
            ingredient: the catalogue's name.
            catalogue: what the names mean.
        """
        for name, grams in self.pieces_g.items():
            if name in catalogue and catalogue.find(name).name == ingredient:
                return grams
        return None


def _above_zero(door: Door, value: str | Price, where: str, kinds: tuple[Kind, ...]) -> Price:
    """Read a price that is more than nothing; a bad one is noted and answered with a price of no currency.

    Args:
        door: where faults are noted.
        value: text such as "18.50 EUR/25 kg", or a ``Price``.
        where: what it is the price of, for the message.
        kinds: what it may be for.
    """
    try:
        found = read_price(value, where, kinds)
    except QuantityError as error:
        door.faults.extend(error.faults)
        return _NO_PRICE
    if not found.amount > 0:
        fix = f'write "{FREE}" for an ingredient that costs nothing' if MASS in kinds else "leave it out"
        door.refuse(where, str(found), "a price above zero", fix)
    return found


def _check_names(door: Door, priced: Mapping[str, object]) -> None:
    """Refuse two prices for one ingredient; which of them would count?"""
    if not priced:
        door.refuse("ingredients", "no price", "the price of at least one ingredient")
    larder, seen = Catalogue(), dict[str, str]()
    for name in priced:
        meaning = folded(larder.find(name).name if name in larder else name)
        if meaning in seen:
            door.refuse(name, f"a second price beside that of {seen[meaning]}", "one price for each ingredient")
        seen.setdefault(meaning, name)


def _check_currency(door: Door, priced: Mapping[str, Price | None]) -> None:
    codes: dict[str, list[str]] = {}
    for name, found in priced.items():
        if found:
            codes.setdefault(found.currency, []).append(name)
    if not codes:
        door.refuse("ingredients", "nothing but what is free", "at least one price")
    if len(codes) > 1:
        got = "; ".join(f"{code} ({', '.join(names)})" for code, names in codes.items())
        door.refuse("prices", got, "one currency", "put all prices into one, at the rate that you pay")


@frozen
class _ExpensesTable:
    load: str = ""
    load_pieces: int = 1
    labour: str = ""
    packaging: tuple[str, ...] = ()
    unsold: str = ""
    reject: str = ""
    giveaway: str = ""


@frozen
class _BreadTable(_ExpensesTable):
    name: str = field(kw_only=True)


@frozen
class _PricesTable:
    ingredients: dict[str, str]
    energy: str = ""
    labour: str = ""
    packaging: dict[str, str] = field(factory=dict)
    pieces: dict[str, str] = field(factory=dict)
    expenses: _ExpensesTable = field(factory=_ExpensesTable)
    bread: tuple[_BreadTable, ...] = ()


def load_prices(path: str | os.PathLike[str]) -> Prices:
    """Read a price list from a TOML file.

    It holds a table ``[ingredients]`` and, where they are needed, the keys ``energy`` and ``labour`` and the tables
    ``[packaging]``, ``[pieces]``, ``[expenses]`` and a ``[[bread]]`` for each bread that differs, with its ``name`` and
    the keys of ``[expenses]`` that are others.

    Args:
        path: the file.

    Raises:
        FileError: with every fault in it, with its table and key.

    Example:
        >>> load_prices("docs/examples/harbour/prices.toml").currency
        'EUR'
    """
    name, data = str(path), read_toml(Path(path))
    lay(data, _PricesTable, name)
    common: dict[str, Any] = data.pop("expenses", {})
    faults: list[Fault] = []

    def expenses(where: str, told: dict[str, Any]) -> Expenses | None:
        try:
            return Expenses(**told)
        except FormulaError as error:
            faults.extend(evolve(fault, where=f"{name}: {where}.{fault.where}") for fault in error.faults)
            return None

    every = expenses("expenses", common)
    breads: dict[str, Expenses | None] = {}
    for number, table in enumerate(data.pop("bread", [])):
        bread = table.pop("name")
        if bread in breads:
            faults.append(Fault(f"{name}: bread[{number}].name", cited(bread), "each bread once"))
        # What is wrong with the common expenses is told once, not with every bread.
        breads[bread] = expenses(f"bread[{number}]", {**(common if every else {}), **table})
    ingredients = data.pop("ingredients")
    try:
        known = {bread: found for bread, found in breads.items() if found}
        prices = Prices(ingredients, **data, expenses=every, breads=known)
    except FormulaError as error:
        faults.extend(evolve(fault, where=f"{name}: {fault.where}") for fault in error.faults)
    else:
        if not faults:
            return prices
    raise FileError(*faults)
