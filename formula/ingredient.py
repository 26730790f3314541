"""The larder: what the name of an ingredient means.

An ``Ingredient`` has its kind (is it flour, does it count as liquid), its composition per 100 g, its allergens and its
household measures; what is not known is a gap, never zero.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from typing import Any, Final, cast

from attrs import field, frozen

from .errors import FormulaError
from .lines import Lines
from .quantity import VOLUME, Door

__all__ = ["ALLERGENS", "FIGURES", "INGREDIENT_KINDS", "Ingredient", "folded"]

INGREDIENT_KINDS: Final = (
    "flour", "water", "liquid", "salt", "yeast", "culture", "fat", "sugar", "egg", "dairy", "seed", "inclusion", "other",
)  # fmt: skip
"""What an ingredient can be. "flour" makes up the 100 %; "liquid" counts at its full weight where liquids are counted."""

ALLERGENS: Final = (
    "wheat", "rye", "barley", "oats", "crustaceans", "egg", "fish", "peanut", "soya", "milk",
    "almond", "hazelnut", "walnut", "cashew", "pecan", "brazil nut", "pistachio", "macadamia", "pine nut",
    "celery", "mustard", "sesame", "sulphites", "lupin", "molluscs",
)  # fmt: skip
"""The words for allergens: Regulation (EU) 1169/2011, Annex II (source eu-1169-2011), the cereal or nut by its own name.
"wheat" covers spelt and khorasan. "pine nut" is on the list of the USA only (from memory)."""

FIGURES: Final[Mapping[str, float]] = {
    "water_g": 100, "protein_g": 100, "fat_g": 100, "carbohydrate_by_difference_g": 100, "fibre_g": 100,
    "sugars_g": 100, "ash_g": 100, "sodium_mg": 1e5, "energy_kcal": 1000, "saturated_fat_g": 100, "cholesterol_mg": 1e5,
    "calcium_mg": 1e5, "iron_mg": 1e5, "potassium_mg": 1e5, "vitamin_d_ug": 1e8, "n_to_protein_factor": 10,
    "kcal_per_g_protein": 10, "kcal_per_g_fat": 10, "kcal_per_g_carbohydrate": 10,
}  # fmt: skip
"""The figures an ingredient may carry, with the largest value each can have: 100 g hold no more than 100 g of anything."""

_UNITS: Final = {"liter": "L", "litre": "L", "quart": "qt", "tablespoon": "tbsp", "teaspoon": "tsp"}
_MEASURE: Final = rf"([0-9]*\.?[0-9]+) ({'|'.join(sorted({*_UNITS, *VOLUME.spellings}, key=len, reverse=True))})\b(.*)"
"""A household measure by volume: a decimal amount, a unit and perhaps the state of what is in it: "1 cup, chopped"."""
_SAME: Final = str.maketrans({"_": " ", "-": " ", "'": None, "’": None})  # noqa: RUF001 - the printed apostrophe


def folded(name: str) -> str:
    """Return the one spelling that stands for all spellings of a name."""
    return " ".join(unicodedata.normalize("NFC", name).translate(_SAME).casefold().split())


def _words(value: Iterable[str]) -> tuple[str, ...]:
    given: Any = value  # what is of the wrong type is left as it is, for the check to refuse with all the other faults
    return tuple(given) if isinstance(given, (list, tuple, set, frozenset)) else given


def _allergens(value: Iterable[str] | None) -> tuple[str, ...] | None:
    words: Any = None if value is None else _words(value)
    return tuple(sorted(set(words))) if _are_words(words) else words


def _measures(value: Mapping[str, float]) -> Lines[float]:
    given: Any = value
    return Lines(given) if isinstance(given, Mapping) else given


def _are_words(value: Any) -> bool:  # noqa: ANN401 - whatever a caller gave
    return isinstance(value, tuple) and all(isinstance(word, str) and folded(word) for word in value)


@frozen
class Ingredient:
    """One thing a baker weighs: what it is and what 100 g of it hold.

    A figure that is not known is None, a gap, and never zero.  ``allergens`` is None where nobody knows them, and the
    empty tuple where the plain ingredient has none; the supplier's label has the last word.

    Args:
        name: the name a baker says, in any spelling.
        kind: one of ``INGREDIENT_KINDS``.
        also: other names for the same thing.
        allergens: words of ``ALLERGENS``, or None if not known.
        water_g: grams in 100 g as sold; the other figures ending in ``_g``, ``_mg`` and ``_ug`` likewise.
        carbohydrate_by_difference_g: with fibre; 100 less water, protein, fat and ash.
        energy_kcal: kilocalories in 100 g, by the factors ``kcal_per_g_protein``, ``_fat`` and ``_carbohydrate``.
        n_to_protein_factor: grams of protein a gram of nitrogen stands for.
        household: grams of a measure such as "1 cup" or "1 large".
        source: the id of a source; empty for figures of your own.
        ndb: the item's number in the source's tables.
        note: the source's description of the item, or how its figures came about.

    Raises:
        FormulaError: an unknown kind or allergen, an empty name, or a figure that is no number in its range; all at once.

    Example:
        >>> mix = Ingredient("harbour mix", kind="flour", water_g=13.0, allergens=["wheat"])
        >>> mix.is_flour, mix.solids_g, mix.protein_g is None
        (True, 87.0, True)
    """

    name: str
    kind: str
    also: tuple[str, ...] = field(default=(), converter=_words, kw_only=True)
    allergens: tuple[str, ...] | None = field(default=None, converter=_allergens, kw_only=True)
    water_g: float | None = field(default=None, kw_only=True)
    protein_g: float | None = field(default=None, kw_only=True)
    fat_g: float | None = field(default=None, kw_only=True)
    carbohydrate_by_difference_g: float | None = field(default=None, kw_only=True)
    fibre_g: float | None = field(default=None, kw_only=True)
    sugars_g: float | None = field(default=None, kw_only=True)
    ash_g: float | None = field(default=None, kw_only=True)
    sodium_mg: float | None = field(default=None, kw_only=True)
    energy_kcal: float | None = field(default=None, kw_only=True)
    saturated_fat_g: float | None = field(default=None, kw_only=True)
    cholesterol_mg: float | None = field(default=None, kw_only=True)
    calcium_mg: float | None = field(default=None, kw_only=True)
    iron_mg: float | None = field(default=None, kw_only=True)
    potassium_mg: float | None = field(default=None, kw_only=True)
    vitamin_d_ug: float | None = field(default=None, kw_only=True)
    n_to_protein_factor: float | None = field(default=None, kw_only=True)
    kcal_per_g_protein: float | None = field(default=None, kw_only=True)
    kcal_per_g_fat: float | None = field(default=None, kw_only=True)
    kcal_per_g_carbohydrate: float | None = field(default=None, kw_only=True)
    household: Lines[float] = field(factory=Lines, converter=_measures, kw_only=True)
    source: str = field(default="", kw_only=True)
    ndb: str = field(default="", kw_only=True)
    note: str = field(default="", kw_only=True)

    def __attrs_post_init__(self) -> None:
        """Check every field and tell of all the faults at once."""
        door = Door(FormulaError)
        _check_words(self, door, where := f"{self.name or 'ingredient'}: ")
        for name, largest in FIGURES.items():
            value = getattr(self, name)
            if value is not None and _check_number(value, f"{where}{name}", largest, door):
                object.__setattr__(self, name, float(value))
        household: Any = self.household
        if not isinstance(household, Lines) or not all(isinstance(measure, str) for measure in cast("Any", household)):
            door.refuse(f"{where}household", repr(household), "measures and their grams", 'say { "1 cup" = 137 }')
        else:
            for measure, grams in household.items():
                _check_number(grams, f"{where}household: {measure}", 1e6, door)
        door.close()

    @property
    def is_flour(self) -> bool:
        """Whether it belongs to the 100 % that all baker's percentages are taken on."""
        return self.kind == "flour"

    @property
    def solids_g(self) -> float | None:
        """Grams in 100 g that are not water, or None where the water is not known."""
        return None if self.water_g is None else 100.0 - self.water_g

    @property
    def density_g_per_ml(self) -> float | None:
        """Grams per millilitre as it lies in a household measure, or None where no measure by volume is known.

        The largest measure counts, a plain one ("1 cup") before "1 cup, chopped"; cups and spoons are US customary.  It is
        a bulk density and depends on the filling: sifted, spooned and dipped cups of flour are far apart.

        Example:
            >>> round(Ingredient("whole milk", kind="liquid", household={"1 cup": 244}).density_g_per_ml, 3)
            1.031
        """
        sized = [
            (float(match[1]) * VOLUME.scale[_UNITS.get(match[2], match[2])][0], not match[3], grams)
            for measure, grams in self.household.items()
            if (match := re.fullmatch(_MEASURE, measure))
        ]
        millilitres, _, grams = max(sized, key=lambda each: each[:2], default=(0.0, True, 0.0))
        return grams / millilitres if millilitres else None


def _check_words(ingredient: Ingredient, door: Door, where: str) -> None:
    for key in ("name", "source", "ndb", "note"):
        value: Any = getattr(ingredient, key)
        if not isinstance(value, str):
            door.refuse(f"{where}{key}", repr(value), "text", "put it between quotes")
        elif key == "name" and (not folded(value) or value != value.strip() or not value.isprintable()):
            door.refuse("name", repr(value), "a name on one line with no space around it", 'such as "rye flour"')
    kind: Any = ingredient.kind
    if kind not in INGREDIENT_KINDS:
        door.refuse(f"{where}kind", repr(kind), f"one of {', '.join(INGREDIENT_KINDS)}", "say what it is")
    for key, words in (("also", ingredient.also), ("allergens", ingredient.allergens or ())):
        if not _are_words(words):
            door.refuse(f"{where}{key}", repr(words), "a list of words", "put each in quotes, between [ and ]")
        elif key == "allergens":
            for word in [word for word in words if word not in ALLERGENS]:
                expected = f"one of {', '.join(ALLERGENS)}"
                door.refuse(f"{where}{key}", repr(word), expected, "name the cereal or nut itself (spelt is wheat)")
        else:
            spellings = [folded(word) for word in (str(ingredient.name), *words)]
            for word in sorted({word for word in spellings if spellings.count(word) > 1}):
                door.refuse(f"{where}{key}", repr(word), "every name once", "leave it out: spelling does not matter")


def _check_number(value: object, where: str, largest: float, door: Door) -> bool:
    if not isinstance(value, bool) and isinstance(value, (int, float)) and 0 <= value <= largest:
        return True
    fix = "write it without quotes" if isinstance(value, str) else "leave it out if it is not known"
    door.refuse(where, repr(value), f"a number from 0 to {largest:.0f}", fix)
    return False
