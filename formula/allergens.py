"""Allergens: what is in a bread, by region, and what may be in it because it shares a line with others.

The larder knows the allergens of the plain ingredient, not of what a supplier sold.  What is not known is shown as a gap
and never counts as free.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Final, TypeAlias, cast

from attrs import evolve, frozen

from .catalogue import Catalogue
from .errors import ContradictionError, Fault, FormulaError
from .finished import Mixture, ingredients_in
from .formula import Formula
from .ingredient import ALLERGENS, Ingredient
from .legalnames import REGION_WORDS, Region, read_region
from .lines import Lines
from .quantity import Door
from .working import Caution

__all__ = [
    "AllergenMatrix",
    "AllergenTable",
    "Parts",
    "Status",
    "allergen_matrix",
    "allergen_table",
    "allergen_word",
    "as_names",
    "listed_allergens",
    "read_parts",
    "status_of",
    "with_allergens",
]

Parts: TypeAlias = Mapping[str, Iterable[str] | Mapping[str, float]]
"""Ingredient -> what it is made of: names in falling weight as its own label has them, or name -> percentage of it."""

US_LISTED: Final = (
    "wheat", "crustaceans", "egg", "fish", "peanut", "soya", "milk", "almond", "hazelnut", "walnut", "cashew", "pecan",
    "brazil nut", "pistachio", "macadamia", "pine nut", "sesame",
)  # fmt: skip
"""The major food allergens (source us-major-allergens; which nuts count is from memory)."""
EU_LISTED: Final = tuple(word for word in ALLERGENS if word != "pine nut")
"""Annex II (source eu-1169-2011)."""
_WORDS: Final[Mapping[str, Mapping[str, str]]] = {
    "eu": {"egg": "egg", "peanut": "peanuts", "soya": "soya"},
    "us": {
        "egg": "egg",
        "peanut": "peanuts",
        "soya": "soy",
        "crustaceans": "crustacean shellfish",
        "sulphites": "sulfites",
    },
}
_NUTS: Final = ("almond", "hazelnut", "walnut", "cashew", "pecan", "pistachio", "brazil nut", "pine nut", "macadamia")
_SPELLINGS: Final = {
    "oats": r"oats?", "egg": r"eggs?", "peanut": r"peanuts?", "soya": r"soya|soy|soybeans?|soya beans?",
    "sulphites": r"sul(?:ph|f)ites?", "milk": r"milk", "molluscs": r"mollus[ck]s?",
    **{nut: rf"{nut}s?" for nut in _NUTS},
}  # fmt: skip
_PLAIN: Final = (
    "niacin", "iron", "thiamin", "thiamine", "thiamine mononitrate", "riboflavin", "folic acid", "calcium carbonate",
)  # fmt: skip
"""What mills add by law: vitamins and minerals, without an allergen of their own."""


def listed_allergens(region: Region) -> tuple[str, ...]:
    """Return the allergens that the law of a region names, in the words of the larder."""
    return EU_LISTED if region == "eu" else US_LISTED


def allergen_word(allergen: str, region: Region) -> str:
    """Return what a label of a region calls an allergen.

    Example:
        >>> allergen_word("soya", "us"), allergen_word("almond", "eu")
        ('soy', 'almonds')
    """
    return _WORDS[region].get(allergen, f"{allergen}s" if allergen in _NUTS else allergen)


def allergen_pattern(allergen: str) -> re.Pattern[str]:
    """Return what finds the word of an allergen in the name of an ingredient, whole words only."""
    return re.compile(rf"\b(?:{_SPELLINGS.get(allergen, re.escape(allergen))})\b", re.IGNORECASE)


def with_allergens(formula: Formula, allergens: Mapping[str, Iterable[str]] | None) -> Formula:
    """Return a formula whose larder knows what suppliers say of the allergens of some ingredients.

    Args:
        formula: the bread.
        allergens: ingredient -> words of ``ALLERGENS``; an empty list says that it has none.

    Raises:
        UnknownNameError: an ingredient that the catalogue does not know.
        FormulaError: a word that is no allergen.
    """
    if not allergens:
        return formula
    told = [evolve(formula.catalogue.find(name), allergens=words) for name, words in allergens.items()]
    return evolve(formula, catalogue=formula.catalogue.adding(*told))


@frozen
class Status:
    """The allergens of an ingredient in the larder's words, and what of it is not known."""

    allergens: tuple[str, ...]
    unknown: tuple[str, ...]


def as_names(given: Iterable[str]) -> tuple[str, ...]:
    """Return names as a tuple; one name alone may stand for itself."""
    return (given,) if isinstance(given, str) else tuple(given)


def read_parts(parts: Parts | None, catalogue: Catalogue) -> Lines[tuple[str, ...]]:
    """Read what ingredients are made of, each as names in falling weight.

    Raises:
        UnknownNameError: when the catalogue does not know the ingredient.
        FormulaError: when its parts are no names.
        ContradictionError: when ingredients are made of each other.
    """
    read: dict[str, tuple[str, ...]] = {}
    with Door(FormulaError) as door:
        if not isinstance(parts or {}, Mapping):  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
            door.refuse(
                "parts", repr(parts), "ingredients and what they are made of", 'write {"margarine": ["oil", "water"]}'
            )
            door.close()
        for name, given in (parts or {}).items():
            if isinstance(given, str):
                door.refuse(f"parts: {name}", repr(given), "several names", f'write ["{given}"], or [] for nothing')
                continue
            if isinstance(given, Mapping):
                shares = cast("Mapping[str, float]", given)
                names = sorted(shares, key=lambda part: -shares[part])
            else:
                names = list(given)
            wrong = [part for part in names if not isinstance(part, str) or not part.strip()]  # pyright: ignore[reportUnnecessaryIsInstance]
            if wrong:
                door.refuse(f"parts: {name}", repr(wrong[0]), "the name of a part as text")
            read[catalogue.find(name).name] = tuple(names)
    for name in read:
        _refuse_circle(name, read, catalogue, ())
    return Lines(read)


def _refuse_circle(
    name: str, parts: Mapping[str, tuple[str, ...]], catalogue: Catalogue, path: tuple[str, ...]
) -> None:
    if name in path:
        circle = " -> ".join([*path[path.index(name) :], name])
        raise ContradictionError(Fault("parts", f"ingredients made of each other: {circle}", "no circle"))
    for part in parts.get(name, ()):
        if part in catalogue:
            _refuse_circle(catalogue.find(part).name, parts, catalogue, (*path, name))


def status_of(ingredient: Ingredient, parts: Mapping[str, tuple[str, ...]], catalogue: Catalogue) -> Status:
    """Return the allergens of an ingredient: its own, and those of its parts.

    Args:
        ingredient: what is asked about.
        parts: as ``read_parts`` returns them.
        catalogue: where parts are looked up.

    An ingredient whose own allergens are told is known, whatever its parts; one that is not is known when all its parts are.
    """
    found, unknown = set(ingredient.allergens or ()), list[str]()
    inner = parts.get(ingredient.name)
    for part in inner or ():
        if part in catalogue:
            status = status_of(catalogue.find(part), parts, catalogue)
            found |= set(status.allergens)
            unknown += status.unknown
        elif part not in _PLAIN:
            unknown.append(part)
    if ingredient.allergens is None and not inner:
        unknown = [ingredient.name]
    elif ingredient.allergens is not None:
        unknown = []
    return Status(tuple(word for word in ALLERGENS if word in found), tuple(dict.fromkeys(unknown)))


@frozen
class AllergenTable:
    """The allergens of one bread: ``contains`` names the ingredients that bring each, ``unknown`` what is not known."""

    bread: str
    region: Region
    contains: Lines[tuple[str, ...]]
    unknown: tuple[str, ...]
    cautions: tuple[Caution, ...] = ()

    def __str__(self) -> str:
        """Return the table as text."""
        lines = [f"{self.bread}: allergens by the law of {REGION_WORDS[self.region]}"]
        lines += [f"  {allergen_word(word, self.region)}: {', '.join(names)}" for word, names in self.contains.items()]
        lines += [f"  not known: {', '.join(self.unknown)}"] * bool(self.unknown)
        lines += ["  none in the plain ingredients"] * (not self.contains and not self.unknown)
        return "\n".join(lines)


def allergen_table(
    formula: Formula,
    *,
    region: Region = "eu",
    parts: Parts | None = None,
    allergens: Mapping[str, Iterable[str]] | None = None,
    cultures: Mapping[str, Mixture] | None = None,
    exempt: Iterable[str] = (),
    unknown: str = "gap",
) -> AllergenTable:
    """Find every allergen of a bread and the ingredients that bring it.

    All ingredients count: those of stages and toppings, and the ripe culture a levain was seeded with, even if as much of
    it is taken back out.

    Args:
        formula: the bread.
        region: whose list of allergens, "eu" or "us".
        parts: what compound ingredients are made of, see ``declaration``.
        allergens: ingredient -> the allergens that its supplier tells, in words of ``ALLERGENS``; [] for none.
        cultures: what cultures and old dough are made of, see ``finished_loaf``.
        exempt: ingredients that the law exempts in the form you buy, such as fully refined soybean oil.
        unknown: "gap" shows what is not known, "refuse" refuses it.

    Raises:
        FormulaError: an unknown region, or with "refuse" an ingredient whose allergens are not known.
        UnknownNameError: names that the catalogue does not know.

    Source: eu-1169-2011, us-major-allergens.

    Example:
        >>> bun = Formula.from_percents("Bun", {"bread flour": 100, "whole milk": 60, "margarine": 8})
        >>> print(allergen_table(bun, region="us"))
        Bun: allergens by the law of the USA
          wheat: bread flour
          milk: whole milk
          not known: margarine
    """
    with Door(FormulaError) as door:
        read_region(door, region)
        if unknown not in ("gap", "refuse"):
            door.refuse("unknown", repr(unknown), 'one of "gap", "refuse"')
    formula = with_allergens(formula, allergens)
    catalogue = formula.catalogue
    read = read_parts(parts, catalogue)
    spared = {catalogue.find(name).name for name in as_names(exempt)}
    contains: dict[str, list[str]] = {}
    gaps: list[str] = []
    for ingredient in ingredients_in(formula, cultures or {}):
        status = Status((), ()) if ingredient.name in spared else status_of(ingredient, read, catalogue)
        for word in status.allergens:
            contains.setdefault(word, []).append(ingredient.name)
        gaps += status.unknown
    if gaps and unknown == "refuse":
        fix = "ask the supplier; add it to the catalogue, or tell its parts"
        door.refuse(formula.name, f"no word on the allergens of {', '.join(gaps)}", "the allergens of all", fix)
        door.close()
    lawful = Lines((word, tuple(contains[word])) for word in listed_allergens(region) if word in contains)
    found = [Caution("read-the-packet", "The larder knows the plain ingredient: the supplier's label decides.")]
    if gaps:
        text = f"The allergens of {', '.join(gaps)} are not known; the bread must not pass as free of any."
        found.insert(0, Caution("allergen-unknown", text))
    return AllergenTable(formula.name, region, lawful, tuple(dict.fromkeys(gaps)), tuple(found))


CONTAINS, MAY_CONTAIN, UNKNOWN, NONE = "contains", "may contain", "not known", "-"


@frozen
class AllergenMatrix:
    """The allergens of a day: breads by allergens, each cell "contains", "may contain", "not known" or "-".

    ``shared`` says, for each bread, which breads share a line with it, and which line.
    """

    region: Region
    tables: tuple[AllergenTable, ...]
    shared: Lines[tuple[tuple[str, str], ...]]
    cautions: tuple[Caution, ...] = ()

    @property
    def breads(self) -> tuple[str, ...]:
        """The breads, in the order given."""
        return tuple(table.bread for table in self.tables)

    @property
    def allergens(self) -> tuple[str, ...]:
        """The allergens that any bread contains, in the larder's words; those of the law that none has are left out."""
        return tuple(
            word for word in listed_allergens(self.region) if any(word in table.contains for table in self.tables)
        )

    def cell(self, bread: str, allergen: str) -> str:
        """Return what is known of an allergen in a bread."""
        tables = {table.bread: table for table in self.tables}
        others = [tables[name] for name, _ in self.shared[bread]]
        if allergen in tables[bread].contains:
            return CONTAINS
        if any(allergen in other.contains for other in others):
            return MAY_CONTAIN
        return UNKNOWN if any(table.unknown for table in (tables[bread], *others)) else NONE

    def may_contain(self, bread: str) -> tuple[str, ...]:
        """Return the allergens that a bread may contain because of what shares a line with it."""
        return tuple(word for word in self.allergens if self.cell(bread, word) == MAY_CONTAIN)

    def rows(self) -> tuple[tuple[str, ...], ...]:
        """Return the matrix as rows of text, the heading first; "others" is every allergen without a column."""
        head = ("bread", *(allergen_word(word, self.region) for word in self.allergens), "others")
        others = {
            table.bread: UNKNOWN
            if any(each.unknown for each in self.tables if each.bread in {table.bread, *dict(self.shared[table.bread])})
            else NONE
            for table in self.tables
        }
        return (
            head,
            *((name, *(self.cell(name, word) for word in self.allergens), others[name]) for name in self.breads),
        )

    def __str__(self) -> str:
        """Return the matrix as text."""
        rows = self.rows()
        widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
        return "\n".join(
            "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
        )

    def markdown(self) -> str:
        """Return the matrix as a Markdown table."""
        head, *rest = [[cell.replace("|", r"\|") for cell in row] for row in self.rows()]
        lines = [head, ["---"] * len(head), *rest]
        return "\n".join(f"| {' | '.join(line)} |" for line in lines) + "\n"


def allergen_matrix(
    breads: Iterable[AllergenTable], lines: Mapping[str, Iterable[str]] | None = None
) -> AllergenMatrix:
    """Lay out the allergens of a day, with what a bread may contain because it shares a line with others.

    Nothing is guessed: without ``lines`` no bread may contain what it does not, and only breads that you name together on
    a mixer, divider, oven or day share anything.

    Args:
        breads: one ``allergen_table`` for each bread, all of one region.
        lines: what is shared (a mixer, a divider, an oven, a day) -> the names of the breads that share it.

    Raises:
        FormulaError: no bread, a bread twice, two regions, a line with a bread that is not there; all at once.

    Source: fda-allergens for keeping apart by time, space and cleaning.

    Example:
        >>> plain = Formula.from_percents("Round", {"bread flour": 100, "water": 70, "salt": 2})
        >>> seeded = Formula.from_percents("Seeded", {"bread flour": 100, "water": 70, "sesame seeds": 8})
        >>> day = [allergen_table(plain), allergen_table(seeded)]
        >>> print(allergen_matrix(day, {"the big spiral": ["Round", "Seeded"]}))
        bread   wheat     sesame       others
        Round   contains  may contain  -
        Seeded  contains  contains     -
    """
    tables = tuple(breads)
    names = [table.bread for table in tables]
    partners: dict[str, dict[str, str]] = {name: {} for name in names}
    with Door(FormulaError) as door:
        if not tables:
            door.refuse("breads", "none", "at least one bread")
        for name in sorted({name for name in names if names.count(name) > 1}):
            door.refuse("breads", f"{name!r} twice", "every bread once")
        if len({table.region for table in tables}) > 1:
            door.refuse("breads", "tables of two regions", "tables of one region")
        for line, sharing in (lines or {}).items():
            together = list(sharing)
            for name in together:
                if name not in partners:
                    door.refuse(f"lines: {line}", repr(name), f"one of {', '.join(names)}")
            for name in (name for name in together if name in partners):
                for other in (other for other in together if other != name):
                    partners[name].setdefault(other, line)
    found = [
        Caution(
            "keep-apart",
            "Keep allergens apart by time, space, cleaning and training; what you do not name is not here.",
        ),
        *{caution for table in tables for caution in table.cautions if caution.code == "read-the-packet"},
    ]
    found += [caution for table in tables for caution in table.cautions if caution.code == "allergen-unknown"]
    shared = Lines((name, tuple(others.items())) for name, others in partners.items())
    return AllergenMatrix(tables[0].region, tables, shared, tuple(found))
