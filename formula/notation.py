"""The two notations of the trade, and the way from each to the ingredient-by-stage table.

From an *overall* formula and the sizes of its stages follows what is left to weigh into the final dough; from a *final
dough* that lists its stages as lines follows the overall formula.  Either way the answer is one table.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from .catalogue import Catalogue
from .errors import ContradictionError, Fault, FormulaError, Gathered
from .lines import Lines
from .part import Part, flour_names, prepared, read_names
from .stage import Stage
from .table import SMALL, Table, laid_out, spread
from .working import shown

__all__ = ["stages_alone", "table_from_final", "table_from_overall"]

ROUNDED: Final = 1e-3
"""The part of a stage written by weight that may be left over by rounding."""


def stages_alone(
    percents: Lines[float], stages: tuple[Stage, ...], catalogue: Catalogue, flours: tuple[str, ...]
) -> None:
    """Tell what is wrong in the stages by themselves, where the overall formula cannot be split over them."""
    tried = Gathered()
    _refuse_stages(tried, percents, stages)
    tried.attempt(lambda: prepared(stages, Lines[str](), catalogue, flours))
    tried.close()


def _refuse_stages(tried: Gathered, percents: Lines[float], stages: tuple[Stage, ...]) -> None:
    for name in [stage.name for stage in stages if stage.name in percents]:
        fix = "use from_stages for a final dough that lists its stages"
        tried.refuse(FormulaError, f"overall formula: {name}", "a stage", "ingredients", fix)


def _named(
    percents: Lines[float], stages: tuple[Stage, ...], catalogue: Catalogue, flours: tuple[str, ...]
) -> tuple[Lines[str], list[Part]]:
    tried = Gathered()
    _refuse_stages(tried, percents, stages)
    known = {stage.name for stage in stages}
    own = [line for line in percents if line not in known]
    names = tried.attempt(lambda: read_names(own, catalogue, "overall formula")) or Lines[str]()
    parts = tried.attempt(lambda: prepared(stages, names, catalogue, flours)) or []
    tried.close()
    return names, parts


def table_from_overall(
    percents: Lines[float],
    stages: tuple[Stage, ...],
    catalogue: Catalogue,
    flours: tuple[str, ...],
    *,
    flour_g: float = 0.0,
) -> tuple[Table, tuple[Stage, ...]]:
    """Split an overall formula over its stages.

    Args:
        percents: the overall formula, on all the flour.
        stages: each sized in one of the four ways, or used by another stage.
        catalogue: what the names mean.
        flours: the lines named as the 100 %; empty for the rule of the catalogue.
        flour_g: the weight of all the flour, where stages are written in weights on the same footing.

    Returns:
        The table, and the stages with their lines as percentages and their sizes.

    Raises:
        ContradictionError: when a stage takes more of an ingredient than there is, with the arithmetic; a circle.
        FormulaError: when a stage has no size, or nothing to be its 100 %.
    """
    names, parts = _named(percents, stages, catalogue, flours)
    amounts = Lines((names[line], percent) for line, percent in percents.items())
    flour_set = flour_names(names, catalogue, flours)
    inner = {nested for part in parts for nested, _ in part.nested}
    by_weight = {part.stage.name for part in parts if part.base_g and flour_g and not part.stage.is_sized}
    _check_sizes(parts, amounts, catalogue, inner | by_weight)

    def sized(final_flour: float) -> tuple[dict[str, float], dict[str, float]]:
        bases: dict[str, float] = {}
        straight: dict[str, float] = {}
        for part in parts:
            name = part.stage.name
            uses = sum(
                bases[user.stage.name] * percent / 100
                for user in parts
                for nested, percent in user.nested
                if nested == name
            )
            if name in by_weight:
                bases[name] = 100 * part.base_g / flour_g
            else:
                bases[name] = _base(part, uses, final_flour, amounts, catalogue)
            out = bases[name] * part.out / 100
            straight[name] = out - uses if part.stage.is_sized or name in by_weight else 0.0
            if name in by_weight and uses and abs(straight[name]) < ROUNDED * out:
                # Printed weights are rounded: what other stages all but use up, they use up.
                bases[name], straight[name] = 100 * uses / part.out, 0.0
        return bases, straight

    def flour_left(final_flour: float) -> float:
        found = spread(parts, *sized(final_flour))
        return 100 - sum(
            percent for lines in found.brought for _, canonical, percent in lines if canonical in flour_set
        )

    bases, straight = sized(_fixed_point(flour_left))
    found = spread(parts, bases, straight)
    left = dict(percents.items())
    spelt = {canonical: line for line, canonical in names.items()}
    for part, lines in zip(parts, found.brought, strict=True):
        for line, canonical, percent in lines:
            own = spelt.setdefault(canonical, line)
            is_culture = part.culture is not None and canonical == part.culture[1]
            left[own] = left.get(own, percent if is_culture else 0.0) - percent
    _check_left(left, percents, parts, bases, straight, catalogue)
    overall = Lines(
        (line, percents.get(line, sum(p for ls in found.brought for _, c, p in ls if c == catalogue.find(line).name)))
        for line in left
    )
    final = [
        (line, percent)
        for line, percent in left.items()
        if percent > _hair(percents.get(line, 0.0)) or percents.get(line) == 0
    ]
    ready = (
        _sized(part, bases, straight) if part.stage.name in by_weight else part.stage
        for part in _in_order(parts, stages)
    )
    return laid_out(overall, final, parts, bases, straight, found, catalogue, flour_set), tuple(ready)


def table_from_final(
    final: Lines[float], stages: tuple[Stage, ...], catalogue: Catalogue, flours: tuple[str, ...]
) -> tuple[Table, tuple[Stage, ...]]:
    """Gather a final dough and its stages into an overall formula.

    Args:
        final: the final dough in any one unit; a line whose name is a stage means that stage.
        stages: the stages, without sizes: the final dough and the other stages say how much of each is used.
        catalogue: what the names mean.
        flours: the lines named as the 100 %; empty for the rule of the catalogue.

    Returns:
        The table on all the flour, and the stages with their lines as percentages and their sizes.

    Raises:
        FormulaError: when a stage is not used, or there is no flour anywhere.
    """
    known = {stage.name for stage in stages}
    names = read_names([line for line in final if line not in known], catalogue, "final dough")
    parts = prepared(stages, names, catalogue, flours)
    tried = Gathered()
    for part in parts:
        if part.stage.is_sized:
            expected = "no size: the final dough says how much is used"
            tried.refuse(FormulaError, f"stage {part.stage.name}", "a size of its own", expected, "leave it out")
    straight = {name: final.get(name, 0.0) for name in known}
    bases: dict[str, float] = {}
    for part in parts:
        name = part.stage.name
        uses = straight[name] + sum(
            bases[user.stage.name] * percent / 100
            for user in parts
            for nested, percent in user.nested
            if nested == name
        )
        if uses <= 0:
            expected = "a line in the final dough or in another stage"
            tried.refuse(FormulaError, f"stage {name}", "no use of it", expected, "add the line")
        bases[name] = 100 * uses / part.out
    tried.close()
    found = spread(parts, bases, straight)
    spelt = {canonical: line for line, canonical in names.items()}
    sums = {line: amount for line, amount in final.items() if line not in known}
    for lines in found.brought:
        for line, canonical, amount in lines:
            own = spelt.setdefault(canonical, line)
            sums[own] = sums.get(own, 0.0) + amount
    all_names = Lines((line, canonical) for canonical, line in spelt.items())
    flour_set = flour_names(all_names, catalogue, flours)
    flour = sum(amount for line, amount in sums.items() if all_names[line] in flour_set)
    if flour <= 0:
        raise FormulaError(
            Fault(
                "final dough and stages",
                "no flour",
                "at least one flour",
                "name the lines that are the 100 % with flours=",
            )
        )
    scale = 100 / flour
    bases = {name: base * scale for name, base in bases.items()}
    straight = {name: amount * scale for name, amount in straight.items()}
    found = spread(parts, bases, straight)
    overall = Lines((line, amount * scale) for line, amount in sums.items())
    left = [(line, amount * scale) for line, amount in final.items() if line not in known]
    table = laid_out(overall, left, parts, bases, straight, found, catalogue, flour_set)
    return table, tuple(_sized(part, bases, straight) for part in _in_order(parts, stages))


def _sized(part: Part, bases: dict[str, float], straight: dict[str, float]) -> Stage:
    """Give a stage its size in the overall notation: by its flour, or without flour by its weight."""
    name = part.stage.name
    if straight[name] <= 0:
        return part.stage
    if part.flour > 0:
        return part.stage.changed(flour_percent=bases[name] * part.flour * part.carry / 100)
    return part.stage.changed(weight_percent=bases[name] * part.out / 100)


def _base(part: Part, uses: float, final_flour: float, amounts: Lines[float], catalogue: Catalogue) -> float:
    """Find k, the stage's base per 100 of all the flour, from the one way in which its size is said."""
    stage = part.stage
    if stage.flour_percent is not None:
        return 100 * stage.flour_percent / (part.flour * part.carry)
    if stage.taken_percent is not None:
        taken = catalogue.find(stage.taken).name
        own = next(percent for _, name, percent in part.ingredients if name == taken)
        return stage.taken_percent * amounts[taken] / (own * part.carry)
    if stage.weight_percent is not None:
        return 100 * stage.weight_percent / part.out
    if stage.weight_on_final_percent is not None:
        return stage.weight_on_final_percent * final_flour / part.out
    return 100 * uses / part.out


def _check_sizes(parts: list[Part], amounts: Lines[float], catalogue: Catalogue, used: set[str]) -> None:
    faults: list[Fault] = []
    for part in parts:
        stage, where = part.stage, f"stage {part.stage.name}"
        if not stage.is_sized and stage.name not in used:
            faults.append(
                Fault(where, "no size", "one of flour=, takes=, weight=, weight_on_final=", 'for example flour="30 %"')
            )
        if stage.flour_percent is not None and part.flour <= 0:
            faults.append(
                Fault(f"{where}: flour", "a share of the flour", "a stage with flour", "size it with takes= or weight=")
            )
        if stage.taken_percent is not None:
            taken = catalogue.find(stage.taken).name if stage.taken in catalogue else ""
            if taken not in amounts or not any(name == taken and percent > 0 for _, name, percent in part.ingredients):
                faults.append(
                    Fault(f"{where}: takes", repr(stage.taken), "an ingredient of both the formula and the stage")
                )
    if faults:
        raise FormulaError(*faults)


def _check_left(
    left: dict[str, float],
    percents: Lines[float],
    parts: list[Part],
    bases: dict[str, float],
    straight: dict[str, float],
    catalogue: Catalogue,
) -> None:
    """Refuse stages that take more than the formula has, each with its arithmetic."""
    faults: list[Fault] = []
    for line, rest in left.items():
        if rest >= -_hair(percents.get(line, 0.0)):
            continue
        canonical = catalogue.find(line).name
        takers = [
            (part, percent)
            for part in parts
            for _, name, percent in (*part.ingredients, *part.split)
            if name == canonical and percent > 0
        ]
        taken = [bases[part.stage.name] * percent / 100 for part, percent in takers]
        words = [
            f"the {part.stage.name} uses {shown(bases[part.stage.name])} % of the flour at {shown(percent)} % {line}: {shown(amount)} %"
            if part.flour > 0
            else f"the {part.stage.name} takes {shown(amount)} %"
            for (part, percent), amount in zip(takers, taken, strict=True)
        ]
        whole = f", together {shown(sum(taken))} %," if len(taken) > 1 else ""
        got = f"{', and '.join(words)}{whole} of {line}, but the formula has {shown(percents.get(line, 0.0))} %"
        faults.append(
            Fault(f"final dough: {line}", got, "a final dough of 0 % or more", "make the stage smaller or stiffer")
        )
    for name, amount in straight.items():
        if amount < -SMALL:
            got = f"{shown(-amount)} % more taken by other stages than it hands on"
            faults.append(
                Fault(f"stage {name}", got, "a stage large enough for its users", "leave its size out, or enlarge it")
            )
    if faults:
        raise ContradictionError(*faults)


def _hair(percent: float) -> float:
    """Return what floats, and weights written to twelve digits, leave behind of a line that large."""
    return SMALL * max(1.0, percent / 100)


def _fixed_point(function: Callable[[float], float]) -> float:
    """Solve x = function(x) for the flour of the final dough; the function is a straight line, or very nearly one."""
    low, high, left = 0.0, 100.0, 60
    at_low, at_high = function(low) - low, function(high) - high
    while abs(at_high) >= 1e-12 and at_high != at_low and left:
        root = high - at_high * (high - low) / (at_high - at_low)
        low, at_low, high, at_high, left = high, at_high, root, function(root) - root, left - 1
    return high


def _in_order(parts: list[Part], stages: tuple[Stage, ...]) -> list[Part]:
    by_name = {part.stage.name: part for part in parts}
    return [by_name[stage.name] for stage in stages]
