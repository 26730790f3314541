"""Allergens of doughs: what each brings into a mixer, and the order of a day that needs the fewest cleanings.

A mixer that goes from one dough to the next need not be cleaned for its allergens if the next has all of them anyway.
So doughs that only gain allergens make a row without cleaning, and a day needs one row less than it has rows: the fewest
rows are found exactly.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from attrs import frozen

from .errors import FormulaError, cited
from .formula import Formula
from .quantity import Door
from .readerunits import with_units
from .working import Caution, Step, Working

__all__ = [
    "CROSS_CONTACT",
    "AllergenOrder",
    "allergen_cautions",
    "allergen_order",
    "allergens_of",
    "fewest_cleanings",
    "lost_allergens",
]

CROSS_CONTACT: Final = Caution(
    "cross-contact",
    "An order of doughs and cleaning between them lessen cross-contact, they do not rule it out: flour dust, benches,"
    " belts, ovens, hands and toppings carry allergens too. Local law and licensed practice decide what is enough.",
)

_UNKNOWN: Final = "what is in "


def allergens_of(bread: Formula) -> tuple[str, ...]:
    """Return the allergens that a dough brings into the mixer, by the words of ``ALLERGENS`` in alphabetical order.

    An ingredient whose allergens nobody knows counts as one of its own, "what is in <its name>": it is neither free of any
    nor known to have the same as another.  Toppings are not in the mixer and do not count.

    Args:
        bread: the formula; its catalogue says what its ingredients hold.

    Example:
        >>> allergens_of(Formula.from_percents("Bun", {"bread flour": 100, "whole milk": 60, "egg": 8}))
        ('egg', 'milk', 'wheat')
    """
    found: set[str] = set()
    for line in bread.percents:
        ingredient = bread.catalogue.find(line)
        unknown = (f"{_UNKNOWN}{ingredient.name}",)
        found.update(unknown if ingredient.allergens is None else ingredient.allergens)
    return tuple(sorted(found))


def lost_allergens(before: Iterable[str], after: Iterable[str]) -> tuple[str, ...]:
    """Return the allergens of one dough that the next one lacks; if there are any, the mixer is cleaned between them.

    Args:
        before: the allergens of the dough before.
        after: those of the one after it.

    Example:
        >>> lost_allergens(["milk", "wheat"], ["wheat"]), lost_allergens(["wheat"], ["milk", "wheat"])
        (('milk',), ())
    """
    has = set(after)
    return tuple(each for each in before if each not in has)


@frozen
class AllergenOrder:
    """Doughs in the order that needs the fewest cleanings, from none to most allergens where that is free.

    ``breads`` are the formulas, ``allergens`` those of each, ``lost`` what has to be cleaned away before each (nothing
    before the first).
    """

    breads: tuple[Formula, ...]
    allergens: tuple[tuple[str, ...], ...]
    lost: tuple[tuple[str, ...], ...]
    cautions: tuple[Caution, ...] = ()

    @property
    def cleanings(self) -> int:
        """How often the mixer is cleaned, if all are mixed in one."""
        return sum(bool(each) for each in self.lost)

    def working(self) -> Working:
        """Show what is cleaned away between each two doughs; the last line is the number of cleanings."""
        steps: list[Step] = []
        counts: dict[str, float] = {}
        for number, (before, after) in enumerate(zip(self.breads, self.breads[1:], strict=False), 1):
            symbol = f"lost_{number}"
            counts[symbol] = float(len(self.lost[number]))
            what = ", ".join(self.lost[number]) or "nothing to clean away"
            note = f"from {before.name} to {after.name}: {what}"
            steps.append(Step(symbol, symbol, {symbol: counts[symbol]}, counts[symbol], "", note=note))
        expression = " + ".join(f"min(1, {symbol})" for symbol in counts) or "0"
        steps.append(Step("cleanings", expression, counts, float(self.cleanings), "", note="the fewest there can be"))
        return Working("Order of doughs by allergens", with_units(steps, {}), self.cautions)


def allergen_order(breads: Iterable[Formula]) -> AllergenOrder:
    """Order doughs from none to most allergens, so that a mixer has to be cleaned for them as seldom as possible.

    Doughs are laid in rows in which each has all allergens of the one before; the fewest rows (a smallest chain cover of
    the sets, by matching each dough with the next of its row) need one cleaning less than there are rows.  Rows begin
    with the dough of the fewest allergens, and the row with the fewest comes first.  That the order runs from none to most
    is common practice; that this one needs the fewest cleanings is proven by the matching.

    Args:
        breads: the formulas, one or more.

    Returns:
        ``breads`` in their order, and ``lost``: what is cleaned away before each.

    Raises:
        FormulaError: no bread, or what is no formula.

    Accuracy: it knows the plain ingredients and what your own catalogue says; toppings and what else happens in the room
    it does not see.

    Example:
        >>> lines = {"bread flour": 100, "water": 60}
        >>> bun = Formula.from_percents("Gull Bun", {**lines, "whole milk": 20})
        >>> seeded = Formula.from_percents("Seeded", {**lines, "sesame seeds": 10})
        >>> plain = Formula.from_percents("Quay Round", lines)
        >>> found = allergen_order([bun, seeded, plain])
        >>> [bread.name for bread in found.breads], found.lost, found.cleanings
        (['Quay Round', 'Gull Bun', 'Seeded'], ((), (), ('milk',)), 1)
    """
    given = tuple(breads)
    with Door(FormulaError) as door:
        if not given:
            door.refuse("breads", "none", "at least one formula")
        for bread in given:
            if not isinstance(bread, Formula):  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
                door.refuse("breads", cited(bread), "a Formula")
    sets = [allergens_of(bread) for bread in given]
    places = fewest_cleanings(sets)
    ordered = tuple(sets[place] for place in places)
    lost = tuple(
        lost_allergens(before, after) for before, after in zip((*ordered[:1], *ordered), ordered, strict=False)
    )
    return AllergenOrder(tuple(given[place] for place in places), ordered, lost, allergen_cautions(sets))


def allergen_cautions(sets: Iterable[Iterable[str]]) -> tuple[Caution, ...]:
    """Return what must be known of any order of doughs with these allergens."""
    words = dict.fromkeys(word for each in sets for word in each if word.startswith(_UNKNOWN))
    if not words:
        return (CROSS_CONTACT,)
    names = ", ".join(word.removeprefix(_UNKNOWN) for word in words)
    text = f"Nobody has said which allergens these bring: {names}; they count as allergens of their own."
    return CROSS_CONTACT, Caution("allergens-unknown", text)


def fewest_cleanings(sets: Sequence[tuple[str, ...]]) -> list[int]:
    """Return the places of sets in an order in which as few as possible lack something of the one before them.

    Args:
        sets: the allergens of each dough.

    Example:
        >>> fewest_cleanings([("milk", "wheat"), ("sesame", "wheat"), ("wheat",)])
        [2, 0, 1]
    """
    # Equal sets stand in the given order; from there on everything follows from it, so that the answer is always the same.
    order = sorted(range(len(sets)), key=lambda place: (len(sets[place]), sets[place], place))
    rank = {place: number for number, place in enumerate(order)}
    follows = {
        place: [later for later in order if rank[later] > rank[place] and set(sets[place]) <= set(sets[later])]
        for place in order
    }
    before: dict[int, int] = {}

    def matched(place: int, tried: set[int]) -> bool:
        """Find the next of a row for a dough, moving other rows' next ones where that makes room."""
        for later in follows[place]:
            if later not in tried:
                tried.add(later)
                if later not in before or matched(before[later], tried):
                    before[later] = place
                    return True
        return False

    for place in order:
        matched(place, set())
    after = {place: later for later, place in before.items()}
    found: list[int] = []
    for begin in order:
        if begin not in before:
            found.append(begin)
            while found[-1] in after:
                found.append(after[found[-1]])
    return found
