"""Household measures: cups, spoons and eggs by count turned into weights, with a word about their spread.

A cup of flour weighs what its filling makes it weigh: sifted, spooned and dipped cups differ by a fifth and more.  The
weights per measure are those of the composition table; volumes are US customary.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from typing import ClassVar, Final, Unpack

from attrs import frozen

from .catalogue import Catalogue
from .errors import Fault, FormulaError, QuantityError, UnknownNameError, cited
from .facts import Facts
from .formula import Formula
from .ingredient import Ingredient
from .quantity import MASS, VOLUME, Measure, View, read, write
from .working import Caution, Step, Working

__all__ = ["HouseholdMass", "from_measures", "household_mass"]

LONGEST: Final = 80
"""Characters of a measure; what is longer is none, and not worth a big number's arithmetic."""
_VULGAR: Final = "½¼¾⅓⅔⅛⅜⅝⅞"
_AMOUNT: Final = re.compile(
    rf"(?:(?P<number>[0-9]+(?:\.[0-9]+)?)|(?:(?P<whole>[0-9]+) )?(?P<above>[0-9]+)/(?P<below>[0-9]+)"
    rf"|(?P<before>[0-9]*) ?(?P<vulgar>[{_VULGAR}]))(?: ?(?P<word>[^\s0-9/{_VULGAR}].*))?"
)
_OF_THE_TABLE: Final = re.compile(r"([0-9]*\.?[0-9]+) (.+)")
_MEANT_AS_WEIGHT: Final = re.compile(r"(?<!fl )(?:\b|(?<=[0-9]))(?:kg|mg|g|lb|oz)$")
_WORDS: Final = {"tablespoon": "tbsp", "teaspoon": "tsp", "quart": "qt", "liter": "L"}
"""The composition table's words for units, and ours."""
_POURED: Final = ("water", "liquid", "fat")
LOOSE_G_PER_ML: Final = 0.95
"""What weighs less than this and is neither liquid nor fat lies loose, with air in it (common practice, no source)."""


@frozen
class HouseholdMass:
    """What a household measure of an ingredient weighs: ``mass``, with a caution about its spread."""

    measure: str
    ingredient: str
    amount: float
    each_g: float
    each: str
    mass_g: float
    source: str = ""
    cautions: tuple[Caution, ...] = ()

    mass: ClassVar[View] = View(MASS, "mass_g", "The weight as a quantity.")

    def working(self) -> Working:
        """Show the step; its value is the weight."""
        values = {"n": self.amount, "each": self.each_g}
        step = Step(
            "mass", "n * each", values, self.mass_g, "g", self.source, f"each: {self.each}", {"n": "1", "each": "g"}
        )
        return Working(f"{self.measure} of {self.ingredient}", (step,), self.cautions)


def household_mass(measure: Measure, ingredient: str, catalogue: Catalogue | None = None) -> HouseholdMass:
    """Weigh a household measure: mass = number * weight of the measure in the composition table.

    Args:
        measure: a volume ("1 1/2 cup", "½ tsp", "250 mL", or a quantity), a count ("2 large", or "3" for large eggs), or
            any measure of the table in its own words ("1 cup, chopped", "3 cloves").
        ingredient: what is measured.
        catalogue: what the name means.

    Raises:
        UnknownNameError: an ingredient that the catalogue does not know.
        QuantityError: a measure that cannot be read, or one for which no weight is known.

    Accuracy: the table's own measures, and where it has none of the size, the density of its largest; for what lies loose
    in the cup the filling decides, and a scale is better.

    Example:
        >>> household_mass("1 1/2 cup", "bread flour").mass_g, household_mass("2 large", "egg").mass_g
        (205.5, 100.0)
    """
    found = (catalogue or Catalogue()).find(ingredient)
    where = f"{ingredient}: measure"
    # A quantity may be of any unit: it is read as a volume, and from there on it is text like the others.
    text = measure if isinstance(measure, str) else write(VOLUME, read(VOLUME, measure, where))
    match = _AMOUNT.fullmatch(text) if len(text) <= LONGEST else None
    amount = None if match is None else _amount(match)
    if match is None or amount is None:
        raise QuantityError(_no_such_measure(found, text, where))
    word = match["word"] or ""
    known = _by_the_table(found, word) or _by_density(found, word)
    if known is None:
        raise QuantityError(_no_such_measure(found, text, where))
    each, each_g = known
    cautions = _spread(found, word)
    return HouseholdMass(text, found.name, amount, each_g, each, amount * each_g, found.source, cautions)


def _amount(match: re.Match[str]) -> float | None:
    """Return the number of a measure: "1 1/2", "1/2", "1½" or decimal; none for a fraction with zero below the line."""
    if match["number"]:
        return float(match["number"])
    if match["vulgar"]:
        return int(match["before"] or 0) + unicodedata.numeric(match["vulgar"])
    below = int(match["below"])
    return int(match["whole"] or 0) + int(match["above"]) / below if below else None


def _by_the_table(ingredient: Ingredient, word: str) -> tuple[str, float] | None:
    """Find one of a measure by the words of the table, which may give the weight of several: "50 raisins" or ".5 cup"."""
    # A bare number of eggs means large ones, the size that recipes mean (common practice, no source).
    wanted = "large" if not word and ingredient.kind == "egg" else word.removeprefix("US ")
    found: list[tuple[str, float]] = []
    for measure, grams in ingredient.household.items():
        match = _OF_THE_TABLE.fullmatch(measure)
        if match and wanted in (match[2], _WORDS.get(match[2])):
            number = float(match[1])
            if number == 1:
                return measure, float(grams)
            found.append((f"one of {measure}", grams / number))
    return found[0] if found else None


def _by_density(ingredient: Ingredient, word: str) -> tuple[str, float] | None:
    density = ingredient.density_g_per_ml
    if density is None or word not in VOLUME.scale:
        return None
    millilitres = VOLUME.scale[word][0]
    return f"{word}, {millilitres:.6g} mL at {density:.4g} g/mL", millilitres * density


def _no_such_measure(ingredient: Ingredient, text: str, where: str) -> Fault:
    known = "; ".join(ingredient.household)
    ways = [f"one of its measures ({known})"] if known else []
    ways += ["a volume"] if ingredient.density_g_per_ml is not None else []
    expected = " or ".join([*ways, 'a weight such as "250 g"'])
    mends: list[str] = []
    for kind in (MASS, VOLUME):
        try:
            read(kind, text, where)
        except QuantityError as error:
            # The list of all units of one kind helps nobody who may write several kinds.
            mends.append(error.faults[0].fix.split("the units are")[0].rstrip())
    meant = [mend for mend in mends if mend.startswith("did you mean")]
    number = [mend for mend in mends[-1:] if "unit" not in mend]
    return Fault(where, cited(text), expected, next(filter(None, [*meant, *number]), "weigh it"))


def _spread(ingredient: Ingredient, word: str) -> tuple[Caution, ...]:
    is_volume = any(word == unit or word.startswith((f"{unit},", f"{unit} ")) for unit in VOLUME.scale)
    if ingredient.kind == "egg" and not is_volume:
        text = "sizes of eggs differ from country to country; these are eggs without shell in the sizes of the table"
        return (Caution("egg-size", text),)
    density = ingredient.density_g_per_ml
    is_loose = ingredient.kind == "salt" or (density is not None and density < LOOSE_G_PER_ML)
    if not is_volume or ingredient.kind in _POURED or not is_loose:
        return ()
    spread = "; sifted and dipped cups differ by a fifth and more" if ingredient.is_flour else ""
    text = f"a measure of {ingredient.name} weighs what its filling and its grain make it weigh{spread}: use a scale"
    return (Caution("household-measure", text),)


def from_measures(name: str, amounts: Mapping[str, Measure], **facts: Unpack[Facts]) -> Formula:
    """Make a formula from a household recipe: weights, volumes and counts, each line in its own measure.

    Args:
        name: the bread's name.
        amounts: ingredient -> weight ("500 g"), or a measure as ``household_mass`` reads it ("2 tsp", "2 large"); ask
            that for the cautions that go with a measure.
        facts: as in ``Formula.from_percents``.

    Raises:
        FormulaError: with every line that can be neither weighed nor measured.
        UnknownNameError: when nothing else is wrong than names that the catalogue does not know.

    Example:
        >>> loaf = from_measures("Loaf", {"bread flour": "4 cup", "water": "1 1/2 cup", "salt": "2 tsp", "egg": "1 large"})
        >>> round(loaf.percent("salt"), 2), round(loaf.percent("egg"), 1)
        (2.19, 9.1)
    """
    catalogue = facts.get("catalogue") or Catalogue()
    weights: dict[str, Measure] = {}
    errors: list[FormulaError] = []
    for line, amount in amounts.items():
        try:
            catalogue.find(line)
            weights[line] = write(MASS, _grams(line, amount, catalogue))
        except FormulaError as error:
            errors.append(error)
    if errors:
        kinds = {type(error) for error in errors}
        kind = UnknownNameError if kinds == {UnknownNameError} else FormulaError
        raise kind(*(fault for error in errors for fault in error.faults))
    return Formula.from_weights(name, weights, **facts)


def _grams(line: str, amount: Measure, catalogue: Catalogue) -> float:
    """Weigh a line: a weight is a weight, and everything else is a household measure."""
    try:
        return read(MASS, amount, line)
    except QuantityError as as_weight:
        if isinstance(amount, str) and _MEANT_AS_WEIGHT.search(amount):
            raise
        try:
            return household_mass(amount, line, catalogue).mass_g
        except QuantityError as error:
            raise error if isinstance(amount, str) else as_weight from None
