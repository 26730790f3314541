"""Two formulas side by side, and two doughs in one bowl."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from attrs import frozen

from .catalogue import Catalogue
from .errors import ContradictionError, Fault, FormulaError
from .formula import Formula
from .ingredient import folded
from .lines import Lines
from .quantity import MASS, Door, Measure
from .readerunits import with_units
from .stage import on_base
from .working import Step, Working, shown

__all__ = ["Change", "Comparison", "blend", "compare"]

SMALLEST_POINTS: Final = 1e-6
"""Percentage points below which two lines are the same."""


@frozen
class Change:
    """One line in two formulas, in percent of all the flour; a line that is not there counts 0."""

    name: str
    first_percent: float
    second_percent: float

    @property
    def difference_percent(self) -> float:
        """Second less first, in percentage points of the flour."""
        return self.second_percent - self.first_percent

    @property
    def is_change(self) -> bool:
        """Whether the line differs by more than a millionth of a percentage point."""
        return abs(self.difference_percent) > SMALLEST_POINTS


@frozen
class Comparison:
    """What changed between two formulas, line by line on the same base: ``lines`` overall, ``stages`` stage by stage."""

    first: str
    second: str
    lines: tuple[Change, ...]
    stages: Lines[tuple[Change, ...]]

    @property
    def changed(self) -> tuple[Change, ...]:
        """The overall lines that differ by more than a millionth of a percentage point."""
        return tuple(line for line in self.lines if line.is_change)

    @property
    def changed_stages(self) -> Lines[tuple[Change, ...]]:
        """The lines that differ in each stage where any does, in percent of all the flour; ``"final"`` is one of them."""
        found = ((name, tuple(line for line in lines if line.is_change)) for name, lines in self.stages.items())
        return Lines((name, lines) for name, lines in found if lines)

    @property
    def first_total_percent(self) -> float:
        """The total percentage of the first formula."""
        return sum(line.first_percent for line in self.lines)

    @property
    def second_total_percent(self) -> float:
        """The total percentage of the second formula."""
        return sum(line.second_percent for line in self.lines)

    @property
    def difference_percent(self) -> float:
        """The second total less the first, in percentage points of the flour."""
        return self.second_total_percent - self.first_total_percent

    def working(self) -> Working:
        """Show every difference; the last line is the difference of the totals."""
        rows = [(str(number), line.first_percent, line.second_percent) for number, line in enumerate(self.lines, 1)]
        steps = [
            Step(
                f"d_{place}",
                f"second_{place} - first_{place}",
                {f"second_{place}": second, f"first_{place}": first},
                second - first,
                "%",
                note=line.name,
            )
            for (place, first, second), line in zip(rows, self.lines, strict=True)
        ]
        for which, total, column in (("first", self.first_total_percent, 1), ("second", self.second_total_percent, 2)):
            values = {f"{which}_{row[0]}": float(row[column]) for row in rows}
            steps.append(Step(f"{which}_total", " + ".join(values), values, total, "%", note="of all the flour"))
        totals = {"second_total": self.second_total_percent, "first_total": self.first_total_percent}
        steps.append(Step("d_total", "second_total - first_total", totals, self.difference_percent, "%"))
        return Working(f"{self.first} and {self.second}", with_units(steps, {"%": "first second"}))

    def __str__(self) -> str:
        """Return the comparison as a small table: all overall lines, and of the stages the lines that differ."""
        stages = self.changed_stages if len(self.stages) > 1 else Lines[tuple[Change, ...]]()
        labels = [line.name for lines in (self.lines, *stages.values()) for line in lines] + list(stages)
        width = max(map(len, labels))
        wide = [max(12, len(name)) for name in (self.first, self.second, "difference")]
        heads = zip((self.first, self.second, "difference"), wide, strict=True)
        rows = [f"{'':<{width}}" + "".join(f"  {head:>{room}}" for head, room in heads)]
        for name, lines in (("", self.lines), *stages.items()):
            rows += ["", name] if name else []
            for line in lines:
                cells = zip((line.first_percent, line.second_percent, line.difference_percent), wide, strict=True)
                rows.append(f"{line.name:<{width}}" + "".join(f"  {shown(cell):>{room}}" for cell, room in cells))
        return "\n".join(rows)


def compare(first: Formula, second: Formula) -> Comparison:
    """Compare two formulas line by line, both in percent of all their flour.

    Args:
        first: the one.
        second: the other; its names may be other aliases of the same ingredients.  Stages are matched by their names.

    Example:
        >>> old = Formula.from_percents("Old", {"bread flour": 100, "water": 68, "salt": 2})
        >>> new = Formula.from_percents("New", {"strong flour": 100, "water": 70, "salt": 2, "honey": 1})
        >>> [(line.name, line.difference_percent) for line in compare(old, new).changed]
        [('water', 2.0), ('honey', 1.0)]
    """
    names = dict.fromkeys(column.name for formula in (first, second) for column in formula.table.columns[:-1])
    final = first.table.columns[-1].name
    stages = (
        (name, tuple(_changes(_column(first, name), _column(second, name), first, second))) for name in (*names, final)
    )
    overall = tuple(_changes(first.percents, second.percents, first, second))
    return Comparison(first.name, second.name, overall, Lines(stages))


def _column(formula: Formula, name: str) -> Lines[float]:
    for column in formula.table.columns:
        if column.name == name:
            return Lines(zip(column.lines, column.percents, strict=True))
    return Lines()


def _changes(one: Lines[float], other: Lines[float], first: Formula, second: Formula) -> Iterator[Change]:
    theirs = {_meaning(line, second): (line, percent) for line, percent in other.items()}
    for line, percent in one.items():
        _, found = theirs.pop(_meaning(line, first), ("", 0.0))
        yield Change(line, percent, found)
    for line, percent in theirs.values():
        yield Change(line, 0.0, percent)


def _meaning(line: str, formula: Formula) -> str:
    """Return what a line means: a stage by its own name, an ingredient by the catalogue's, in whatever spelling."""
    is_stage = any(stage.name == line for stage in formula.stages)
    return f"stage {line}" if is_stage else folded(formula.catalogue.find(line).name)


def blend(first: Formula, first_dough: Measure, second: Formula, second_dough: Measure, *, name: str = "") -> Formula:
    """Return the formula of two doughs kneaded together, as one straight dough.

    Each ingredient weighs dough_1 * p_1 / total_1 + dough_2 * p_2 / total_2, and is then put on all the flour.

    Args:
        first: the one formula.
        first_dough: how much of its dough.
        second: the other formula; its catalogue may be another, as long as both mean the same by what they use.
        second_dough: how much of its dough.
        name: the blend's name; both names if left out.

    Returns:
        The overall formula of the blend; its stages are resolved into ingredients, since what was preferment in one dough
        is not a stage of the blend.  Losses, temperatures and toppings are not blended.

    Raises:
        FormulaError: a dough that is no weight, or zero.
        ContradictionError: a name that means different things in the two catalogues.

    Example:
        >>> white = Formula.from_percents("White", {"bread flour": 100, "water": 60})
        >>> brown = Formula.from_percents("Brown", {"whole wheat flour": 100, "water": 80})
        >>> blend(white, "160 g", brown, "180 g").percents
        Lines({'bread flour': 50.0, 'water': 70.0, 'whole wheat flour': 50.0})
    """
    with Door(FormulaError) as door:
        weights = (door.read(MASS, first_dough, "first_dough"), door.read(MASS, second_dough, "second_dough"))
        for grams, where in zip(weights, ("first_dough", "second_dough"), strict=True):
            if grams == 0:
                door.refuse(where, "0 g", "a weight above zero")
    catalogue = _one_catalogue(first, second)
    sums: dict[str, float] = {}
    spelt: dict[str, str] = {}
    flours: list[str] = []
    for formula, grams in zip((first, second), weights, strict=True):
        for line, percent in formula.percents.items():
            own = spelt.setdefault(folded(formula.catalogue.find(line).name), line)
            sums[own] = sums.get(own, 0.0) + grams * percent / formula.total_percent
            if line in formula.flours and own not in flours:
                flours.append(own)
    percents = on_base(Lines(sums), tuple(flours))
    named = flours if first.named_flours or second.named_flours else ()
    title = name or f"{first.name} and {second.name}"
    return Formula.from_percents(title, percents, flours=named, catalogue=catalogue)


def _one_catalogue(first: Formula, second: Formula) -> Catalogue:
    """Lay one catalogue over the other, refusing names in use that would change their meaning."""
    if first.catalogue == second.catalogue:
        return first.catalogue
    catalogue = first.catalogue.adding(*second.catalogue.own)
    faults = [
        Fault(
            f"{formula.name}: {line}",
            "an ingredient that is another one in the other catalogue",
            "one meaning of each name",
            "use one catalogue for both formulas",
        )
        for formula in (first, second)
        for line in formula.percents
        if catalogue.find(line) != formula.catalogue.find(line)
    ]
    if faults:
        raise ContradictionError(*faults)
    return catalogue
