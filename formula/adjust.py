"""Adjustments: another hydration, salt or yeast, another pre-fermented share, holding what the caller says to hold."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from .errors import Fault, FormulaError, cited
from .exchange import Exchange
from .formula import Formula
from .lines import Lines
from .part import Part
from .quantity import Door
from .refit import is_number, line_of, parts_of, refitted, remade
from .stage import LARGEST_PERCENT
from .working import Step, shown

__all__ = ["with_percent", "with_prefermented"]

HOLDS: Final = ("stages", "proportions")
HOLDS_SHARE: Final = ("overall", "final")


def with_percent(formula: Formula, line: str, percent: float, *, hold: str = "stages") -> Exchange:
    """Set one overall line (the water for another hydration, the salt, the yeast) to another percentage.

    Args:
        formula: what is changed.
        line: an ingredient of the formula, not its flour.
        percent: the new percentage of all the flour.
        hold: ``"stages"``: the stages stay as they are and the final dough takes the difference, but a stage that is
            sized by its share of this very line grows with it; ``"proportions"``: the line changes in every stage and in
            the final dough in the same proportion, and all other weights stay.

    Raises:
        UnknownNameError: a line that is not there.
        FormulaError: a flour, a percentage that is negative, an unknown hold.
        ContradictionError: stages that hold more than the new percentage.

    Example:
        >>> from formula import Stage
        >>> biga = Stage("biga", {"bread flour": 100, "water": 50}, flour="40 %")
        >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 65, "salt": 2}, stages=[biga])
        >>> with_percent(loaf, "water", 71.5).formula.stages[0].percents["water"]
        50.0
        >>> round(with_percent(loaf, "water", 71.5, hold="proportions").formula.stages[0].percents["water"], 9)
        55.0
    """
    name = formula.line(line)
    old = formula.percents[name]
    with Door(FormulaError) as door:
        if name in formula.flours:
            door.refuse("line", repr(line), "a line that is not flour", "use exchange_flour")
        if hold not in HOLDS:
            door.refuse("hold", repr(hold), f"one of {', '.join(HOLDS)}")
        elif hold == "proportions" and old == 0:
            door.refuse("hold", "a line of 0 %", "a line above 0 % to keep its proportions", 'use hold="stages"')
        if not is_number(percent) or not 0 <= percent <= LARGEST_PERCENT:
            door.refuse("percent", cited(percent), "a percentage of 0 or more as a bare number")
    overall = {**formula.percents, name: float(percent)}
    if hold == "stages":
        made = remade(formula, overall, formula.stages)
    else:
        factor = percent / old

        def scaled(lines: Mapping[str, float]) -> Lines[float]:
            same = line_of(lines, name, formula.catalogue)
            return Lines((each, value * factor if each == same else value) for each, value in lines.items())

        stages = [stage.changed(percents=scaled(stage.percents)) for stage in formula.stages]
        made = refitted(formula, stages, overall, later=scaled(formula.later))
    values = {"wanted": float(percent), "had": old}
    step = Step("change", "wanted - had", values, percent - old, "%", note=name, units=dict.fromkeys(values, "%"))
    return Exchange(formula, made, f"{formula.name}: {name} at {shown(percent)} %", (step,))


def with_prefermented(formula: Formula, percent: float, *, hold: str = "overall") -> Exchange:
    """Change how much of the flour is pre-fermented, every preferment by the same factor.

    With P the pre-fermented flour, the factor is wanted / P where the overall formula stays.  Where the final dough stays,
    it is wanted * (100 - Q) / (100 * P - wanted * Q), with Q the flour of all the stages that grow: P, and what
    the preferments contain of stages that are none.

    Args:
        formula: what is changed; it needs at least one preferment.
        percent: the wanted pre-fermented flour, in percent of all the flour.
        hold: ``"overall"``: the overall formula stays, the final dough takes the difference; ``"final"``: the final dough
            stays, in percent of its own flour, and the overall formula follows.  Soakers, scalds and autolyses keep their
            size either way.

    Raises:
        FormulaError: no preferment, a percentage that cannot be reached, an unknown hold.
        ContradictionError: preferments that would take more of an ingredient than there is.

    Example:
        >>> from formula import Stage
        >>> biga = Stage("biga", {"bread flour": 100, "water": 50}, flour="40 %")
        >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 65, "salt": 2}, stages=[biga])
        >>> with_prefermented(loaf, 20).formula.prefermented_flour
        20.0
        >>> dough = with_prefermented(loaf, 20, hold="final").formula
        >>> round(dough.final["water"], 9) == round(loaf.final["water"], 9)
        True
    """
    had = formula.prefermented_flour
    with Door(FormulaError) as door:
        if hold not in HOLDS_SHARE:
            door.refuse("hold", repr(hold), f"one of {', '.join(HOLDS_SHARE)}")
        if had <= 0:
            door.refuse(formula.name, "no pre-fermented flour", "at least one preferment")
        if not is_number(percent) or not 0 < percent < 100:
            door.refuse("percent", cited(percent), "a percentage between 0 and 100 as a bare number")
    values = {"wanted": float(percent), "had": had}
    if hold == "overall":
        factor = percent / had
        step = Step(
            "factor", "wanted / had", values, factor, "1", note="for every preferment", units=dict.fromkeys(values, "%")
        )
    else:
        grows = _flour_that_grows(formula)
        rest = 100 * had - percent * grows
        if grows > 100 - 1e-9 or rest <= 0:
            got = f"{shown(grows)} % of the flour in preferments and what they contain"
            fix = 'hold="overall", or change the stages themselves'
            raise FormulaError(Fault(formula.name, got, f"room for {shown(percent)} % beside the final dough", fix))
        factor = percent * (100 - grows) / rest
        expression = "wanted * (100 - grows) / (100 * had - wanted * grows)"
        note = "for every preferment, beside the same final dough"
        values["grows"] = grows
        step = Step("factor", expression, values, factor, "1", note=note, units=dict.fromkeys(values, "%"))
    factors = _factors(formula, factor)
    made = refitted(formula, formula.stages, formula.percents if hold == "overall" else None, factors=factors)
    if abs(made.prefermented_flour - percent) > 1e-6:
        got = f"{shown(made.prefermented_flour)} % where every preferment is {shown(factor)} times as large"
        fix = "keep nothing back from a stage that holds a preferment, or change the stages themselves"
        raise FormulaError(Fault(formula.name, got, f"{shown(percent)} % of pre-fermented flour", fix))
    return Exchange(formula, made, f"{formula.name}: {shown(percent)} % pre-fermented", (step,))


def _uses(part: Part, parts: list[Part], formula: Formula) -> list[tuple[Part, float]]:
    """Return the stages that use a stage, and how much of it, per 100 of all the flour."""
    columns = {column.name: column for column in formula.table.columns}
    found: list[tuple[Part, float]] = []
    for user in parts:
        column = columns[user.stage.name]
        found += [
            (user, percent)
            for line, percent in zip(column.lines, column.percents, strict=True)
            if line == part.stage.name
        ]
    return found


def _factors(formula: Formula, factor: float) -> dict[str, float]:
    """Say how much each stage grows: preferments by the factor, others not, but what has no size follows its users."""
    parts, factors = parts_of(formula), dict[str, float]()
    for part in parts:
        factors[part.stage.name] = factor if part.ferments else 1.0
        uses = _uses(part, parts, formula)
        used = sum(amount for _, amount in uses)
        if not part.ferments and not part.stage.is_sized and used > 0:
            grown = sum(amount * factors[user.stage.name] for user, amount in uses)
            factors[part.stage.name] = grown / used
    return factors


def _flour_that_grows(formula: Formula) -> float:
    """Return the flour of the preferments and of what only they contain, per 100 of all the flour."""
    table = formula.table
    growth = {name: factor - 1 for name, factor in _factors(formula, 2.0).items()}
    rows = [line in formula.flours for line in table.overall]
    first, found = 0, 0.0
    for column in table.columns[:-1]:
        counts = table.counts[first : first + len(column.lines)]
        first += len(column.lines)
        found += growth[column.name] * sum(
            percent * share
            for percent, shares in zip(column.percents, counts, strict=True)
            for row, share in shares
            if rows[row]
        )
    return found
