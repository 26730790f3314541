"""The ingredient-by-stage table: how much of what is weighed into which stage, per 100 of all the flour.

A column a stage in the order they are built, the final dough last.  With k the base of a stage per 100 of all the flour,
p a line on that base, T the sum of its lines and r the part that is carried on (the rest is kept for tomorrow):
weighed = k p / 100, handed on = k (T - culture returned - boiled off) r / 100.  How k follows from what is written is the
subject of ``notation.py``.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from attrs import frozen

from .catalogue import Catalogue
from .lines import Lines
from .part import Part
from .stage import FINAL

__all__ = ["SMALL", "Column", "Flow", "Spread", "Table", "contents_g", "flows", "laid_out", "spread"]

SMALL: Final = 1e-9
"""Percentage points below which a remainder is what floats leave behind, not dough."""


@frozen
class Column:
    """One stage as it is weighed, per 100 of all the flour; ``lines`` may name other stages.

    ``carried`` is the part of its ingredients that ends in the dough; ``returned`` (a ripe culture taken back out),
    ``kept`` (for tomorrow) and ``boiled_off`` leave it before the next stage.  ``returned_line`` and ``boiled_line`` are
    the lines of which they are a part.
    """

    name: str
    lines: tuple[str, ...]
    percents: tuple[float, ...]
    carried: float = 1.0
    returned: float = 0.0
    kept: float = 0.0
    boiled_off: float = 0.0
    returned_line: str = ""
    boiled_line: str = ""

    @property
    def total(self) -> float:
        """What is weighed into the stage."""
        return sum(self.percents)

    @property
    def handed_on(self) -> float:
        """What goes on into other stages and the final dough."""
        return self.total - self.returned - self.kept - self.boiled_off

    def leaving_g(self, masses_g: Sequence[float]) -> tuple[float, float]:
        """Return the culture taken back out, all that was weighed of it, and the water boiled off, in g."""
        weighed = dict(zip(self.lines, masses_g, strict=True))
        boiled = self.boiled_off / self.percents[self.lines.index(self.boiled_line)] if self.boiled_off else 0.0
        return (weighed[self.returned_line] if self.returned else 0.0), boiled * weighed.get(self.boiled_line, 0.0)


@frozen
class Table:
    """The whole formula: its overall lines, and one column a stage with the final dough last.

    ``counts`` says for every weighed line (column by column) which overall lines it stands for, as (row, factor) pairs:
    1 for an ingredient that wholly reaches the dough, 0 for a culture taken back out, shares for one that is split.
    """

    overall: Lines[float]
    columns: tuple[Column, ...]
    counts: tuple[tuple[tuple[int, float], ...], ...]
    fermented_flour: float


@frozen
class Flow:
    """What becomes of one stage of a batch: what leaves it, in g, and the part of the rest that ends in the dough."""

    returned_g: float
    kept_g: float
    boiled_off_g: float
    carried: float


def flows(table: Table, masses_g: Sequence[float]) -> tuple[Flow, ...]:
    """Follow the weights of a batch, exact or rounded, from the final dough back through its stages."""
    uses: dict[str, list[tuple[float, float]]] = {column.name: [] for column in table.columns}
    found: list[Flow] = []
    end = len(masses_g)
    for column in reversed(table.columns):
        masses = masses_g[end - len(column.lines) : end]
        end -= len(column.lines)
        returned_g, boiled_g = column.leaving_g(masses)
        ripe_g = sum(masses) - returned_g - boiled_g
        handed_g = sum(mass for mass, _ in uses[column.name])
        into_dough_g = sum(mass * carried for mass, carried in uses[column.name])
        carried = 1.0 if column.name == FINAL else into_dough_g / ripe_g if ripe_g > 0 else 0.0
        found.append(Flow(returned_g, ripe_g - handed_g if column.kept else 0.0, boiled_g, carried))
        for line, mass in zip(column.lines, masses, strict=True):
            if line in uses:
                uses[line].append((mass, carried))
    return tuple(reversed(found))


def contents_g(table: Table, masses_g: Sequence[float], *, rounded: bool) -> list[float]:
    """Add up what ends in the dough of each overall line, in g; rounded weights are followed stage by stage."""
    sums = [0.0] * len(table.overall)
    changed = [1.0] * len(masses_g)
    if rounded:
        found = zip(flows(table, masses_g), table.columns, strict=True)
        changed = [flow.carried / column.carried for flow, column in found for _ in column.lines]
    for mass, counts, change in zip(masses_g, table.counts, changed, strict=True):
        for row, factor in counts:
            sums[row] += mass * factor * change
    return sums


@frozen
class Spread:
    """What the stages bring into the dough: (line, catalogue name, percent) for each, and the part each carries."""

    brought: tuple[tuple[tuple[str, str, float], ...], ...]
    carried: tuple[float, ...]


def spread(parts: list[Part], bases: dict[str, float], straight: dict[str, float]) -> Spread:
    """Follow every stage into the dough.

    ``bases`` holds k for each stage, ``straight`` what goes into the final dough without passing another stage.
    """
    brought: list[tuple[tuple[str, str, float], ...]] = []
    carried: dict[str, float] = {}
    for part in parts:
        name = part.stage.name
        uses = straight.get(name, 0.0)
        weighted = uses
        for user in parts:
            for nested, percent in user.nested:
                if nested == name:
                    amount = bases[user.stage.name] * percent / 100
                    uses += amount
                    weighted += amount * carried[user.stage.name]
        carried[name] = part.carry * weighted / uses if uses > 0 else part.carry
        factor = bases[name] / 100 * carried[name]
        lines = [(line, canonical, percent * factor) for line, canonical, percent in part.ingredients]
        if part.stage.boiled_off_percent:
            lost = part.stage.boiled_off_percent * factor
            lines = [(line, name, percent - lost * (line == part.water_line)) for line, name, percent in lines]
        if part.culture and part.stage.culture and part.stage.culture.counted == "line":
            lines.append((part.culture[0], part.culture[1], part.culture[2] * factor))
        lines += [(line, canonical, percent * factor) for line, canonical, percent in part.split]
        brought.append(tuple(lines))
    return Spread(tuple(brought), tuple(carried[part.stage.name] for part in parts))


def laid_out(
    overall: Lines[float],
    final: list[tuple[str, float]],
    parts: list[Part],
    bases: dict[str, float],
    straight: dict[str, float],
    found: Spread,
    catalogue: Catalogue,
    flour_set: frozenset[str],
) -> Table:
    """Lay everything out: stages in building order (what is used comes before its user), the final dough last."""
    rows = {catalogue.find(line).name: number for number, line in enumerate(overall)}
    columns: list[Column] = []
    counts: list[tuple[tuple[int, float], ...]] = []
    for part, carried in reversed(list(zip(parts, found.carried, strict=True))):
        base = bases[part.stage.name] / 100
        percents = part.stage.percents
        boiled = part.stage.boiled_off_percent
        columns.append(
            Column(
                name=part.stage.name,
                lines=tuple(percents),
                percents=tuple(percent * base for percent in percents.values()),
                carried=carried,
                returned=part.returned * base,
                kept=part.stage.keep_percent * base,
                boiled_off=boiled * base,
                returned_line=part.culture[0] if part.culture and part.returned else "",
                boiled_line=part.water_line if boiled else "",
            )
        )
        canonical = {line: name for line, name, _ in part.ingredients}
        for line, percent in percents.items():
            if line in canonical:
                left = 1 - boiled / percent if boiled and line == part.water_line else 1.0
                counts.append(((rows[canonical[line]], carried * left),))
            elif (
                part.culture and line == part.culture[0] and part.stage.culture and part.stage.culture.counted == "line"
            ):
                counts.append(((rows[part.culture[1]], carried),))
            elif part.culture and line == part.culture[0]:
                counts.append(tuple((rows[name], carried * share / percent) for _, name, share in part.split))
            else:
                counts.append(())
    handed = ((column.name, straight[column.name]) for column in columns)
    final_lines = [*final, *((name, amount) for name, amount in handed if amount > SMALL)]
    counts += [((rows[catalogue.find(line).name], 1.0),) for line, _ in final]
    counts += [() for _ in final_lines[len(final) :]]
    columns.append(Column(FINAL, tuple(line for line, _ in final_lines), tuple(amount for _, amount in final_lines)))
    fermented = sum(
        percent
        for part, lines in zip(parts, found.brought, strict=True)
        if part.ferments
        for _, name, percent in lines
        if name in flour_set
    )
    return Table(overall, tuple(columns), tuple(counts), fermented)
