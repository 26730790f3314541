"""How a list of ingredients is written: entries with their sub-lists, emphasis, percentages and visible blanks."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from html import escape
from typing import ClassVar, Final

from attrs import frozen

from .allergens import allergen_pattern, allergen_word, listed_allergens, status_of
from .catalogue import Catalogue
from .ingredient import Ingredient
from .legalnames import Region, legal_name
from .quantity import MASS, View
from .sources import Constant
from .working import Caution, escaped_markdown, shown

__all__ = [
    "ALLERGENS_OF",
    "BLANK",
    "DRAFT",
    "Entry",
    "Listed",
    "as_html",
    "as_markdown",
    "as_text",
    "listed",
    "quid_text",
]

BLANK: Final = "[to fill in: {}]"
ALLERGENS_OF: Final = "allergens of "
DRAFT: Final = Caution(
    "draft", "This is a draft: local law decides, and a licensed person confirms it before anything is printed."
)
QUID_HALVES: Final = Constant(
    5.0, "%", 0.0, "eu-quid-rounding", "below it percentages go by halves, from it on by wholes"
)
Run = tuple[str, bool]


@frozen
class Listed:
    """One name of a list: its allergens in the larder's words, its sub-list, and what is not known of it."""

    name: str
    allergens: tuple[str, ...]
    parts: tuple[Listed, ...]
    gaps: tuple[str, ...]

    def runs(self, region: Region, *, strong: bool, quid: str = "") -> list[Run]:
        """Return it as pieces of text, each with whether it is emphasised.

        An allergen whose word does not stand in the name or in the sub-list is put behind it in brackets.
        """
        shown_below = {word for part in self.parts for word in part.allergens}
        marked, missing = _marked(self.name, self.allergens, strong=strong)
        runs = marked
        if quid:
            runs.append((f" ({quid})", False))
        if self.parts:
            runs.append((" (", False))
            for number, part in enumerate(self.parts):
                runs += [(", ", False)] * bool(number) + part.runs(region, strong=strong)
            runs.append((")", False))
        behind = [word for word in missing if word not in shown_below]
        if behind:
            runs.append((" (", False))
            for number, word in enumerate(behind):
                runs += [(", ", False)] * bool(number) + [(allergen_word(word, region), strong)]
            runs.append((")", False))
        runs += [(" " + BLANK.format(gap), False) for gap in self.gaps]
        return runs


@frozen
class Entry:
    """An entry of the list with its weight: ``mass_g`` decides its place, ``ingoing_g`` is what went in.

    ``by_difference`` marks added water and volatile ingredients (EU), ``is_small`` what is below 2 % of the bread,
    ``is_emphasised`` what gives its percentage.
    """

    listed: Listed
    ingredients: tuple[str, ...]
    ingoing_g: float
    mass_g: float
    finished_g: float
    by_difference: bool
    is_emphasised: bool
    is_small: bool

    mass: ClassVar[View] = View(MASS, "mass_g", "The weight that decides its place.")
    ingoing: ClassVar[View] = View(MASS, "ingoing_g", "What went in.")

    @property
    def percent(self) -> float:
        """The weight in percent of the finished bread."""
        return 100 * self.mass_g / self.finished_g

    @property
    def quid_percent(self) -> float:
        """The ingoing weight in percent of the finished bread; above 100 it is told as grams in 100 g."""
        return 100 * self.ingoing_g / self.finished_g


def quid_text(entry: Entry) -> str:
    """Return the percentage of an emphasised ingredient as a label gives it, or nothing.

    To a whole percent, below 5 % to half a percent (from memory, eu-quid-rounding); above 100 %, as bread that has lost
    water may hold more of something than it weighs, as grams that went into 100 g.
    """
    if not entry.is_emphasised:
        return ""
    percent = entry.quid_percent
    if percent > 100:
        return f"{shown(_half_up(percent, 1.0))} g per 100 g"
    rounded = _half_up(percent, 0.5 if percent < QUID_HALVES.value else 1.0)
    return f"{shown(rounded)} %" if rounded else "< 0.5 %"


def listed(
    ingredient: Ingredient,
    region: Region,
    parts: Mapping[str, tuple[str, ...]],
    catalogue: Catalogue,
    spared: set[str],
    prefix: str = "",
) -> Listed:
    """Return how an ingredient stands in the list: its name, its sub-list, its allergens and what is not known of it.

    Args:
        ingredient: what is listed.
        region: whose names and allergens.
        parts: as ``read_parts`` returns them.
        catalogue: where parts are looked up.
        spared: ingredients whose allergens the law exempts.
        prefix: what stands before the name.
    """
    legal = legal_name(ingredient, region)
    told = parts.get(ingredient.name, legal.parts)
    status = status_of(ingredient, parts, catalogue)
    gaps = [f"{ALLERGENS_OF}{name}" for name in status.unknown]
    if told is None:
        gaps.insert(0, f"what is added to {legal.name}" if ingredient.is_flour else f"what {legal.name} is made of")
    # Sulphites are no major allergen, yet a label in the USA names them from 10 parts in a million (from memory).
    lawful = (*listed_allergens(region), "sulphites")
    words = tuple(word for word in status.allergens if word in lawful and ingredient.name not in spared)
    return Listed(
        name=prefix + legal.name,
        allergens=words,
        parts=tuple(_part(part, words, parts, catalogue) for part in told or ()),
        gaps=tuple(gaps),
    )


def _part(name: str, of_whole: tuple[str, ...], parts: Mapping[str, tuple[str, ...]], catalogue: Catalogue) -> Listed:
    """Return a part of a compound ingredient in its own label's words, with the parts told of it in turn."""
    known = catalogue.find(name) if name in catalogue else None
    words = set(status_of(known, parts, catalogue).allergens if known else ())
    words |= {word for word in of_whole if allergen_pattern(word).search(name)}
    return Listed(
        name=name,
        allergens=tuple(word for word in of_whole if word in words),
        parts=tuple(_part(part, of_whole, parts, catalogue) for part in parts.get(known.name if known else "", ())),
        gaps=(),
    )


def _half_up(value: float, step: float) -> float:
    """Round to a step, halves upwards; a tie that floats have missed by their last digits is a tie."""
    return math.floor(value / step + 0.5 + 1e-9) * step


def _marked(name: str, allergens: tuple[str, ...], *, strong: bool) -> tuple[list[Run], list[str]]:
    """Cut a name where the words of allergens stand in it; return the pieces, and the allergens that it does not say."""
    spans = list[tuple[int, int]]()
    missing = list[str]()
    for word in allergens:
        matches = [match.span() for match in allergen_pattern(word).finditer(name)]
        spans += matches
        missing += [word] * (not matches)
    runs, last = list[Run](), 0
    for start, end in sorted(spans):
        runs += [(name[last:start], False)] * (start > last) + [(name[start:end], strong)]
        last = end
    return [*runs, *([(name[last:], False)] * (last < len(name)))], missing


def as_text(runs: Iterable[Run]) -> str:
    """Write pieces as plain text, the emphasised ones in capitals."""
    return "".join(text.upper() if strong else text for text, strong in runs)


def as_markdown(runs: Iterable[Run]) -> str:
    """Write pieces in Markdown, the emphasised ones in bold."""
    return "".join(f"**{escaped_markdown(text)}**" if strong else escaped_markdown(text) for text, strong in runs)


def as_html(runs: Iterable[Run]) -> str:
    """Write pieces as an HTML paragraph, the emphasised ones as strong, all text escaped."""
    pieces = (f"<strong>{escape(text)}</strong>" if strong else escape(text) for text, strong in runs)
    return f"<p>{''.join(pieces)}</p>"
