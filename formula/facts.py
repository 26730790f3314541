"""What a bread has beside its lines: losses, dough temperature, toppings, late additions, rejects."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TypedDict

from .catalogue import Catalogue
from .errors import ContradictionError, FormulaError, Gathered
from .lines import Lines
from .losses import NO_LOSSES, Losses
from .part import read_names
from .quantity import SHARE, TEMPERATURE, Door, Measure
from .stage import percent_lines
from .working import shown

__all__ = ["Facts", "ReadFacts", "read_facts"]


class Facts(TypedDict, total=False):
    """The facts as a caller gives them; see ``Formula.from_percents``."""

    flours: Iterable[str]
    catalogue: Catalogue | None
    losses: Losses | None
    dough_temperature: Measure | None
    toppings: Mapping[str, Measure] | None
    later: Mapping[str, float] | None
    reject: Measure | None


class ReadFacts(TypedDict):
    """The facts as a formula holds them."""

    losses: Losses
    dough_temperature_c: float | None
    toppings_g: Lines[float]
    later: Lines[float]
    reject_share: float


def read_facts(facts: Facts, catalogue: Catalogue, final: Mapping[str, float] | None, label: str) -> ReadFacts:
    """Read the facts of a bread, and tell of every bad one at once.

    Args:
        facts: as given.
        catalogue: what the names mean.
        final: the lines of the final dough, of which late additions are a part; None where they are not known.
        label: the bread, for the messages.

    Raises:
        FormulaError: a weight, temperature or share that cannot be read; more added later than there is.
        UnknownNameError: a topping that the catalogue does not know.
    """
    temperature, reject = facts.get("dough_temperature"), facts.get("reject")
    tried, door = Gathered(), Door(FormulaError)
    dough_c = None if temperature is None else door.read(TEMPERATURE, temperature, f"{label}: dough_temperature")
    reject_share = 0.0 if reject is None else door.read(SHARE, reject, f"{label}: reject")
    if reject_share >= 1:
        door.refuse(f"{label}: reject", f"{reject_share:.0%}", "a share below 100 %")
    toppings = _lines(door, facts.get("toppings"), f"{label}, toppings", weights=True)
    later = _lines(door, facts.get("later"), f"{label}, later", weights=False)
    tried.attempt(door.close)
    tried.attempt(lambda: read_names(toppings, catalogue, f"{label}, toppings"))
    known = tried.attempt(lambda: read_names(later, catalogue, f"{label}, later")) or Lines[str]()
    # "tap water" held back is a part of the line "water": the formula's own word for it counts.
    own = {catalogue.find(line).name: line for line in final or () if line in catalogue}
    later = Lines((own.get(known.get(line, ""), line), percent) for line, percent in later.items())
    for line, percent in later.items():
        there = percent if final is None else final.get(line, 0.0)
        if percent > there + 1e-9:
            got = f"{shown(percent)} % of {line} added later"
            expected = f"at most the {shown(there)} % of it in the final dough"
            tried.refuse(ContradictionError, f"{label}, later", got, expected)
    tried.close()
    return {
        "losses": facts.get("losses") or NO_LOSSES,
        "dough_temperature_c": dough_c,
        "toppings_g": toppings,
        "later": later,
        "reject_share": reject_share,
    }


def _lines(
    door: Door, given: Mapping[str, float] | Mapping[str, Measure] | None, where: str, *, weights: bool
) -> Lines[float]:
    if not given:
        return Lines()
    try:
        lines, in_grams = percent_lines(given, where)
    except FormulaError as error:
        door.faults.extend(error.faults)
        return Lines()
    if in_grams != weights:
        wanted = ("weights per piece", 'write "5 g"') if weights else ("percentages of all the flour", "write 5")
        door.refuse(where, "bare numbers" if weights else "weights", *wanted)
    return lines
