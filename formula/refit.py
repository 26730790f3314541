"""Formulas built anew from changed lines, with every stage made to fit again.

A stage's size is its base (flour, grain or seed) per 100 of all the flour.  When its lines change, its weight, the share
of an ingredient it takes or the lines of the stages that use it would no longer say the same size: they are worked out
anew, and the size stays said in the way it was.  What did not change stays as it was written, to the last digit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

from attrs import evolve, frozen

from .catalogue import Catalogue
from .errors import Fault, FormulaError
from .formula import Formula
from .lines import Lines
from .part import Part, prepared, read_names
from .readerunits import with_units
from .stage import Culture, Stage, base_of
from .table import SMALL, spread
from .working import Caution, Step, Working

__all__ = [
    "Exchange",
    "changed_stage",
    "is_number",
    "line_of",
    "parts_of",
    "refitted",
    "remade",
    "swapped",
    "water_line",
]


@frozen
class Exchange:
    """A changed ``formula`` beside the one ``before``, the steps that decided it, and what to know about it."""

    before: Formula
    formula: Formula
    title: str
    steps: tuple[Step, ...]
    cautions: tuple[Caution, ...] = ()

    @property
    def total_percent(self) -> float:
        """The total percentage of the changed formula; an exchange of yeast or milk leaves it as it was."""
        return self.formula.total_percent

    @property
    def changes(self) -> Lines[float]:
        """Percentage points of the flour by which each overall line moved; lines that stayed are left out."""
        old, new = self.before.percents, self.formula.percents
        moved = {line: new.get(line, 0.0) - old.get(line, 0.0) for line in (*old, *new)}
        return Lines((line, points) for line, points in moved.items() if abs(points) > SMALL)

    def working(self) -> Working:
        """Show the deciding steps and every line that moved; the last line is the new total percentage."""
        steps = list(self.steps)
        totals = {"old_total": self.before.total_percent}
        for number, (line, points) in enumerate(self.changes.items(), 1):
            was, change = f"old_{number}", f"change_{number}"
            values = {was: self.before.percents.get(line, 0.0), change: points}
            percent = self.formula.percents.get(line, 0.0)
            steps.append(Step(f"new_{number}", f"{was} + {change}", values, percent, "%", note=line))
            totals[change] = points
        steps.append(Step("new_total", " + ".join(totals), totals, self.total_percent, "%", note="of all the flour"))
        return Working(self.title, with_units(steps, {"%": "old change"}), self.cautions)


def is_number(value: object) -> bool:
    """Return whether a value is a plain number, as percentages and factors are; true and false are none."""
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def line_of(lines: Iterable[str], name: str, catalogue: Catalogue) -> str:
    """Return the line that means an ingredient, under whatever alias; empty if there is none."""
    meant = catalogue.find(name).name
    return next((line for line in lines if line in catalogue and catalogue.find(line).name == meant), "")


def water_line(lines: Iterable[str], catalogue: Catalogue) -> str:
    """Return the line of water: plain water before ice and others; empty if there is none."""
    waters = [line for line in lines if line in catalogue and catalogue.find(line).kind == "water"]
    return line_of(waters, "water", catalogue) or next(iter(waters), "")


def swapped(
    lines: Mapping[str, float], old: str, new: str, ratio: float, part: float, catalogue: Catalogue
) -> tuple[dict[str, float], float]:
    """Put ``new`` in the place of a part of ``old``; return the lines and the weight that falls away.

    Where ``new`` has a line already, under whatever alias, that line takes it up.
    """
    line, target = line_of(lines, old, catalogue), line_of(lines, new, catalogue) or new
    found: dict[str, float] = {}
    freed = 0.0
    for name, percent in lines.items():
        if name != line:
            found[name] = found.get(name, 0.0) + percent
            continue
        if part < 1:
            found[name] = percent * (1 - part)
        found[target] = found.get(target, 0.0) + percent * part * ratio
        freed = percent * part * (1 - ratio)
    return found, freed


def changed_stage(
    stage: Stage,
    percents: Lines[float],
    change: Callable[[Lines[float], str], Lines[float]],
    catalogue: Catalogue,
    old: str,
    new: str,
    *,
    part: float = 1.0,
) -> Stage:
    """Give a stage other lines, and the new name wherever it named the old ingredient: base, size, culture."""

    def names(name: str) -> tuple[str, ...]:
        if not name or not catalogue.same(name, old):
            return (name,)
        return (new,) if part >= 1 else (name, new)

    culture = stage.culture
    if culture and culture.percents:
        culture = Culture(culture.counted, change(culture.percents, f"stage {stage.name}: culture"))
    base = tuple(dict.fromkeys(each for name in stage.base for each in names(name)))
    return stage.changed(percents=percents, base=base, taken=names(stage.taken)[0], culture=culture)


def remade(
    formula: Formula,
    percents: Mapping[str, float],
    stages: Iterable[Stage],
    flours: tuple[str, ...] | None = None,
    later: Mapping[str, float] | None = None,
) -> Formula:
    """Build a formula anew with other lines, so that everything is checked again; its other facts stay."""
    named = formula.named_flours if flours is None else flours
    late = formula.later if later is None else Lines(later)
    built = Formula.from_percents(
        formula.name, percents, stages=stages, flours=named, catalogue=formula.catalogue, later=late
    )
    return evolve(formula, percents=built.percents, stages=built.stages, named_flours=named, later=late)


def parts_of(formula: Formula, stages: Iterable[Stage] | None = None) -> list[Part]:
    """Return a formula's stages, or others in their place, made ready, users before what they use."""
    names = read_names(formula.percents, formula.catalogue, "overall formula")
    given = formula.stages if stages is None else tuple(stages)
    return prepared(given, names, formula.catalogue, formula.named_flours)


def refitted(
    formula: Formula,
    stages: Iterable[Stage],
    percents: Mapping[str, float] | None = None,
    *,
    factors: Mapping[str, float] | None = None,
    flours: tuple[str, ...] | None = None,
    later: Mapping[str, float] | None = None,
) -> Formula:
    """Build a formula anew from stages whose lines have changed, each of the size it had, said in the way it was.

    Args:
        formula: what is changed.
        stages: its stages with other lines, but for the lines that are stages; a base that has changed is made 100 again.
        percents: the new overall formula; left out, the final dough stays, and the overall formula follows from it.
        factors: stage -> how many times its old size it shall have; 1 if not named.
        flours: the lines named as the 100 %, if they change.
        later: what goes in later, if it changes.

    Raises:
        FormulaError: a stage of which nothing is left to stand on.
        ContradictionError: stages that take more than the formula has.
    """
    named = formula.named_flours if flours is None else flours
    fits = _fits(formula, {stage.name: stage for stage in stages}, factors or {}, named)
    scale = 1.0
    if percents is None:
        percents, scale = _gathered(formula, fits)
        later = {line: percent * scale for line, percent in formula.later.items()}
    made = remade(formula, percents, _sized(formula, fits, percents, scale, 0.0), named, later)
    if all(stage.weight_on_final_percent is None for stage in formula.stages):
        return made
    return remade(formula, percents, _sized(formula, fits, percents, scale, _final_flour(made)), named, later)


@frozen
class _Fit:
    """A stage with its new lines, and how many times as large some things are: all it hands on, its flour, its base."""

    stage: Stage
    handed_on: float
    flour: float
    base: float


def _fits(
    formula: Formula, changed: Mapping[str, Stage], factors: Mapping[str, float], named: tuple[str, ...]
) -> dict[str, _Fit]:
    """Put the changed lines on their base, and those that are stages in step with what these hand on."""
    catalogue = formula.catalogue
    fits: dict[str, _Fit] = {}
    for part in reversed(parts_of(formula)):
        stage = changed[part.stage.name]
        factor = factors.get(stage.name, 1.0)
        lines = dict(stage.percents)
        own = [line for line in lines if line not in changed]
        base = _base(stage, own, catalogue, named)
        was = _base(part.stage, [line for line, _, _ in part.ingredients], catalogue, formula.named_flours)
        whole = _settled(sum(lines[line] for line in base) / sum(part.stage.percents[line] for line in was))
        if whole <= 0:
            got = f"nothing left of {' and '.join(base)}, which is its 100 %"
            raise FormulaError(Fault(f"stage {stage.name}", got, "more than nothing", "take the stage out"))
        for nested, _ in part.nested:
            lines[nested] *= _settled(fits[nested].handed_on / factor)
        lines = {line: percent / whole for line, percent in lines.items()}
        keep, boiled = stage.keep_percent / whole, stage.boiled_off_percent / whole
        returned = lines[part.culture[0]] if part.culture and part.returned else 0.0
        out = sum(lines.values()) - returned - boiled - keep
        carried = factor * whole * (1 - keep / (out + keep)) / part.carry
        flour = sum(lines[line] for line in base_of(own, catalogue, named, final=True))
        fits[stage.name] = _Fit(
            stage.changed(percents=Lines(lines), keep_percent=keep, boiled_off_percent=boiled),
            handed_on=_settled(factor * whole * out / part.out),
            flour=_settled(carried * flour / part.flour) if part.flour else 0.0,
            base=_settled(carried),
        )
    return fits


def _base(stage: Stage, lines: list[str], catalogue: Catalogue, named: tuple[str, ...]) -> tuple[str, ...]:
    """Return the lines that are a stage's 100 %."""
    return base_of(lines, catalogue, stage.base or named, final=False) or base_of(lines, catalogue, final=False)


def _settled(ratio: float) -> float:
    """Let a ratio that is 1 but for what floats leave behind be 1, so that what did not change stays as written."""
    return 1.0 if abs(ratio - 1) < 1e-12 else ratio


def _sized(
    formula: Formula, fits: Mapping[str, _Fit], percents: Mapping[str, float], scale: float, final_flour: float
) -> Iterator[Stage]:
    """Give each stage its size in the way it was said; one on the final dough's flour is a weight until that is known."""
    for old in formula.stages:
        fit = fits[old.name]
        if old.flour_percent is not None:
            yield fit.stage.changed(flour_percent=old.flour_percent * _settled(fit.flour * scale))
        elif old.taken_percent is not None:
            share = _share_taken(formula, old, fit.stage, percents)
            yield fit.stage.changed(taken_percent=old.taken_percent * _settled(fit.base * scale * share))
        elif old.weight_percent is not None:
            yield fit.stage.changed(weight_percent=old.weight_percent * _settled(fit.handed_on * scale))
        elif old.weight_on_final_percent is None:
            yield fit.stage
        elif final_flour > SMALL:
            change = _settled(fit.handed_on * scale * _final_flour(formula) / final_flour)
            yield fit.stage.changed(weight_on_final_percent=old.weight_on_final_percent * change)
        else:
            weight = _handed_on(formula, old.name) * fit.handed_on * scale
            yield fit.stage.changed(weight_on_final_percent=None, weight_percent=weight)


def _share_taken(formula: Formula, old: Stage, new: Stage, percents: Mapping[str, float]) -> float:
    """Return how many times as much of the formula's ingredient the stage holds, per its base."""
    catalogue = formula.catalogue
    line = line_of(percents, new.taken, catalogue)
    if percents[line] <= 0:
        got = f"a size by its share of {line}, of which there is nothing left"
        raise FormulaError(Fault(f"stage {new.name}", got, "more than nothing", "size it with weight="))
    own = new.percents[line_of(new.percents, new.taken, catalogue)]
    was = old.percents[line_of(old.percents, old.taken, catalogue)]
    return own / was * formula.percent(old.taken) / percents[line]


def _handed_on(formula: Formula, stage: str) -> float:
    return next(column.handed_on for column in formula.table.columns if column.name == stage)


def _final_flour(formula: Formula) -> float:
    column = formula.table.columns[-1]
    return sum(percent for line, percent in zip(column.lines, column.percents, strict=True) if line in formula.flours)


def _gathered(formula: Formula, fits: Mapping[str, _Fit]) -> tuple[dict[str, float], float]:
    """Gather an overall formula from the old final dough and its stages of new size; return the scale to 100 as well."""
    parts = parts_of(formula, [fit.stage for fit in fits.values()])
    handed = {name: _handed_on(formula, name) * fit.handed_on for name, fit in fits.items()}
    bases = {part.stage.name: 100 * handed[part.stage.name] / part.out for part in parts}
    column = formula.table.columns[-1]
    final = dict(zip(column.lines, column.percents, strict=True))
    straight = {name: final.pop(name, 0.0) * fit.handed_on for name, fit in fits.items()}
    sums = {line: final.get(line, 0.0) for line in formula.percents}
    for lines in spread(parts, bases, straight).brought:
        for line, _, percent in lines:
            sums[formula.line(line)] += percent
    scale = 100 / sum(sums[line] for line in formula.flours)
    return {line: percent * scale for line, percent in sums.items()}, scale
