"""Exchanges: another flour, another form of yeast or of milk, with the water that goes with it.

Every exchange is made in the overall formula and in every stage alike, and every stage keeps its size.  Yeast and milk
leave the dough its weight, because water makes up for what falls away; another flour changes the water of the final dough
by its moisture and absorption.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from .catalogue import Catalogue
from .errors import ContradictionError, Fault, FormulaError, UnknownNameError, cited
from .formula import Formula
from .ingredient import Ingredient
from .lines import Lines
from .moisture import BASIS, absorption_as_is, absorption_at_basis
from .quantity import SHARE, Door, Measure
from .readerunits import with_units
from .refit import Exchange, changed_stage, is_number, line_of, refitted, remade, swapped, water_line
from .table import SMALL
from .working import Caution, Step, shown
from .yeast import LARGEST_FACTOR, YeastForm, convert_yeast, yeast_form

__all__ = ["Exchange", "exchange_flour", "exchange_milk", "exchange_yeast", "remade"]

MILKS: Final = ("liquid", "dairy", "egg")
FAT_POINTS: Final = 0.25
"""Fat, in percent of the flour, below which the difference is not worth a word (common practice, no source)."""
LARGEST_ABSORPTION: Final = 1000.0


# -- yeast and milk: the dough keeps its weight ------------------------------------------------------------------------


def exchange_yeast(formula: Formula, old: str, new: str, *, factor: float | None = None) -> Exchange:
    """Exchange a form of yeast everywhere, its lost weight made up with water: new = old * f_new / f_old.

    A stage with water in it makes up for its own yeast and keeps its weight; for a stage without water, such as a sponge
    made with milk, the water of the final dough does.

    Args:
        formula: what is changed; every stage with this yeast changes alike.
        old: the yeast line, such as ``"fresh yeast"``.
        new: the yeast to put there, such as ``"instant yeast"``; what the formula has of it already is added up.
        factor: your own weight of ``new`` per 1 of ``old``, instead of the published ones.

    Raises:
        UnknownNameError: a line that is not there, a name that is no form of yeast.
        FormulaError: a factor that is not above zero.
        ContradictionError: more water to hold back than there is.

    Accuracy: that of the factors, see ``convert_yeast``; the maker's own factor goes first.

    Example:
        >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 65, "fresh yeast": 2})
        >>> exchange_yeast(loaf, "fresh yeast", "instant yeast").formula.percents
        Lines({'bread flour': 100.0, 'water': 66.34, 'instant yeast': 0.66})
    """
    line = formula.line(old)
    forms, faults = _yeast_forms(formula.catalogue, line, new)
    if factor is None and faults:
        raise UnknownNameError(*faults)
    with Door(FormulaError) as door:
        for name in (line, new):
            if formula.catalogue.find(name).kind != "yeast":
                door.refuse("yeast", repr(name), "a yeast")
        if factor is not None and not (is_number(factor) and 0 < factor <= LARGEST_FACTOR):
            door.refuse("factor", cited(factor), f"a number above zero, at most {shown(LARGEST_FACTOR)}")
    cautions: tuple[Caution, ...] = ()
    if len(forms) == 2:
        cautions = convert_yeast("1 g", forms[0].name, forms[1].name, factor).cautions
    if factor is not None:
        ratio = float(factor)
        found = [Step("ratio", "ratio", {"ratio": ratio}, ratio, "1", note="your own factor")]
    else:
        f_old, f_new = (form.factor for form in forms)
        ratio = f_new.value / f_old.value
        found = [
            Step("f_old", "f_old", {"f_old": f_old.value}, f_old.value, "1", f_old.source, forms[0].name),
            Step("f_new", "f_new", {"f_new": f_new.value}, f_new.value, "1", f_new.source, forms[1].name),
            Step("ratio", "f_new / f_old", {"f_new": f_new.value, "f_old": f_old.value}, ratio, "1"),
        ]
    made = _exchanged(formula, line, new, ratio, moist=False)
    steps = with_units((*found, *_by_weight(formula.percents[line], ratio, new)), {"%": "old"})
    return Exchange(formula, made, f"{formula.name}: {line} to {new}", steps, cautions)


def _yeast_forms(catalogue: Catalogue, *names: str) -> tuple[list[YeastForm], list[Fault]]:
    forms: list[YeastForm] = []
    faults: list[Fault] = []
    for name in names:
        try:
            forms.append(yeast_form(catalogue.find(name).name))
        except UnknownNameError as error:
            fix = "give factor=, your weight of the new yeast per 1 of the old"
            faults += [Fault(name, fault.got, fault.expected, fault.fix or fix) for fault in error.faults]
    return forms, faults


def exchange_milk(formula: Formula, old: str, new: str) -> Exchange:
    """Exchange fluid milk for dry milk and water, or back, by equal solids: new = old * solids_old / solids_new.

    Args:
        formula: what is changed; every stage with this milk changes alike, and its water with it.
        old: the line, such as ``"whole milk"``; egg and dried egg are exchanged likewise.
        new: what to put there, such as ``"dry whole milk"``; what the formula has of it already is added up.

    Raises:
        UnknownNameError: a line or ingredient that is not there.
        FormulaError: an ingredient that is neither milk nor egg, or whose solids are not known.
        ContradictionError: dry milk exchanged for more fluid milk than there is water for.

    Accuracy: the solids are the catalogue's; the packet's own figures go first.

    Example:
        >>> bun = Formula.from_percents("Bun", {"bread flour": 100, "whole milk": 50, "water": 5})
        >>> made = exchange_milk(bun, "whole milk", "dry whole milk").formula
        >>> round(made.percent("dry whole milk"), 2), round(made.percent("water"), 2)
        (6.09, 48.91)
    """
    line = formula.line(old)
    milks = [formula.catalogue.find(name) for name in (line, new)]
    with Door(FormulaError) as door:
        for name, milk in zip((line, new), milks, strict=True):
            if milk.kind not in MILKS:
                door.refuse(name, f"an ingredient of the kind {milk.kind}", "milk or egg, fluid or dry")
            elif not milk.solids_g:
                door.refuse(name, "no solids known", "its water content", "add it to the catalogue with water_g")
    solids = [milk.solids_g or 0.0 for milk in milks]
    ratio = solids[0] / solids[1]
    made = _exchanged(formula, line, new, ratio, moist=True)
    values = {"solids_old": solids[0], "solids_new": solids[1]}
    steps = [
        Step(symbol, symbol, {symbol: value}, value, "g/100 g", milk.source, milk.name)
        for (symbol, value), milk in zip(values.items(), milks, strict=True)
    ]
    steps.append(Step("ratio", "solids_old / solids_new", values, ratio, "1", note="equal solids"))
    steps += _by_weight(formula.percents[line], ratio, new)
    cautions = _fat_caution(formula.percents[line], line, new, milks, ratio)
    told = with_units(steps, {"%": "old"})
    return Exchange(formula, made, f"{formula.name}: {line} to {new}", told, cautions)


def _fat_caution(percent: float, old: str, new: str, milks: Iterable[Ingredient], ratio: float) -> tuple[Caution, ...]:
    was, now = (milk.fat_g for milk in milks)
    if was is None or now is None:
        return (Caution("milk-fat", f"the fat of {old} or {new} is not known: the dough may become leaner or richer"),)
    points = percent * (now * ratio - was) / 100
    if abs(points) < FAT_POINTS:
        return ()
    mend = "hold back butter or other fat" if points > 0 else "make up for it with butter or other fat"
    change = f"{'more' if points > 0 else 'less'} fat, by {shown(abs(points), 2)} % of the flour"
    return (Caution("milk-fat", f"with {new} for {old} the dough has {change}: {mend}"),)


def _by_weight(percent: float, ratio: float, new: str) -> tuple[Step, Step]:
    values = {"old": percent, "ratio": ratio}
    return (
        Step("new", "old * ratio", values, percent * ratio, "%", note=f"{new} in its place"),
        Step("water", "old * (1 - ratio)", values, percent * (1 - ratio), "%", note="water that makes up the weight"),
    )


def _exchanged(formula: Formula, old: str, new: str, ratio: float, *, moist: bool) -> Formula:
    """Exchange by a ratio of weights, with water for what falls away.

    ``moist``: a stage that has no water gets some, because without it the stage would be dry.
    """
    catalogue = formula.catalogue
    spelt = line_of(formula.percents, new, catalogue) or new
    poured = water_line(formula.percents, catalogue)
    door = Door(ContradictionError)

    def change(lines: Lines[float], where: str, *, anyway: bool = True) -> Lines[float]:
        found, freed = swapped(lines, old, spelt, ratio, 1.0, catalogue)
        water = water_line(lines, catalogue)
        if freed == 0 or not (water or anyway):
            return Lines(found)
        line = water or poured or "water"
        had = found.get(line, 0.0)
        if had + freed < -SMALL:
            got = f"{shown(-freed)} % of water to hold back, of {shown(had)} % that is there"
            door.refuse(
                where, got, "enough water to hold back", f"exchange less of {old}, or write part of it as water"
            )
        found[line] = max(0.0, had + freed)
        if found[line] <= SMALL and anyway:
            # Water that has come to nothing is no line; where it was none before, it goes as it came.
            del found[line]
        return Lines(found)

    percents = change(formula.percents, f"exchanging {old} for {new}")
    stages = tuple(
        changed_stage(stage, change(stage.percents, f"stage {stage.name}", anyway=moist), change, catalogue, old, spelt)
        for stage in formula.stages
    )
    door.close()
    later, freed = swapped(formula.later, old, spelt, ratio, 1.0, catalogue)
    water = water_line(later, catalogue) or water_line(percents, catalogue)
    if moist and freed and water:
        # What was poured later as milk is poured later as water; what the mix holds back, it holds back first.
        later[water] = later.get(water, 0.0) + freed
        if later[water] <= SMALL:
            del later[water]
    return refitted(formula, stages, percents, later=later)


# -- flour: the water follows it ---------------------------------------------------------------------------------------


def exchange_flour(
    formula: Formula,
    old: str,
    new: str,
    *,
    share: Measure = "100 %",
    old_moisture: Measure | None = None,
    new_moisture: Measure | None = None,
    absorption: float = 0.0,
) -> Exchange:
    """Exchange a flour and correct the water for moisture and absorption.

    The hydration h of the formula, liquids at their full weight, is taken as what its flour absorbs: on the 14 % basis
    A = (h + 100) * 86 / (100 - M) - 100, with M the mean moisture of all the flour.  The new flour adds ``absorption`` to
    A by its share of the flour; with the new mean moisture the same relation gives the new hydration, and the water of
    the final dough takes the difference.

    Args:
        formula: what is changed; the flour changes in every stage alike, the water in the final dough.
        old: the flour line.
        new: the flour to put there; the same flour again for a delivery of another moisture.
        share: how much of the old flour is exchanged.
        old_moisture: the old flour's moisture; the catalogue's if left out.
        new_moisture: the new flour's moisture; the catalogue's if left out.
        absorption: how many points more (or less) the new flour absorbs on the 14 % basis; a bare number, in percent.

    Raises:
        UnknownNameError: a line or ingredient that is not there.
        FormulaError: a line that is no flour, a moisture that is not known, a new ingredient that is no flour.
        ContradictionError: less water than none.

    Accuracy: exact for moisture; a flour beside the exchanged one whose moisture is not known counts as 14 %, which moves
    the change of the water by a twentieth of itself at most.  The absorption is the mill's or your own.

    Example:
        >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 65})
        >>> drier = exchange_flour(loaf, "bread flour", "all-purpose flour", old_moisture="14 %", new_moisture="12 %")
        >>> round(drier.formula.percent("water"), 2)
        68.84
    """
    catalogue, line = formula.catalogue, formula.line(old)
    had = line_of(formula.percents, new, catalogue)
    spelt = had or new
    with Door(FormulaError) as door:
        if line not in formula.flours:
            door.refuse("old", repr(old), f"a flour of the formula: {', '.join(formula.flours)}")
        if had and had not in formula.flours:
            door.refuse("new", repr(new), "a flour", f"{had} stands outside the 100 %: name it in flours= first")
        elif not had and not catalogue.find(new).is_flour:
            door.refuse("new", repr(new), "a flour", "name a flour, or change its kind in the catalogue")
        part = door.read(SHARE, share, "share")
        if part == 0 or part > 1:
            door.refuse("share", f"{shown(100 * part)} %", "more than 0 % and at most 100 %")
        m_old = _moisture(door, old_moisture, "old_moisture", catalogue.find(line))
        m_new = _moisture(door, new_moisture, "new_moisture", catalogue.find(new))
        if not (is_number(absorption) and abs(absorption) <= LARGEST_ABSORPTION):
            door.refuse("absorption", cited(absorption), "percentage points as a bare number")
    moved = formula.percents[line] * part
    rest = sum(
        (percent - moved * (name == line)) * _moisture_beside(catalogue, name, {spelt: m_new, line: m_old}) / 100
        for name, percent in ((name, formula.percents[name]) for name in formula.flours)
    )
    steps = _water_steps(formula.hydration("liquid"), moved, rest, (m_old, m_new), float(absorption))
    points = steps[-1].value

    def change(lines: Lines[float], _: str = "") -> Lines[float]:
        return Lines(swapped(lines, line, spelt, 1.0, part, catalogue)[0])

    percents = dict(change(formula.percents))
    water = water_line(percents, catalogue) or "water"
    was = percents.get(water, 0.0)
    if was + points < -SMALL:
        got = f"{shown(was)} % - {shown(-points)} % = {shown(was + points)} %"
        raise ContradictionError(Fault(water, got, "0 % or more", "exchange less, or a flour that absorbs more"))
    if abs(points) > SMALL:
        percents[water] = was + points
        if percents[water] <= SMALL:
            del percents[water]
    flours = formula.named_flours
    if flours:
        kept = [name for name in flours if part < 1 or not catalogue.same(name, line)]
        flours = (*kept, *(() if line_of(kept, spelt, catalogue) else (spelt,)))
    stages = [
        changed_stage(stage, change(stage.percents), change, catalogue, line, spelt, part=part)
        for stage in formula.stages
    ]
    made = refitted(formula, stages, percents, flours=flours, later=change(formula.later))
    told = with_units(steps, {"%": "rest s M_old M_new h basis d"})
    return Exchange(formula, made, f"{formula.name}: {line} to {new}", told)


def _water_steps(
    hydration: float, moved: float, rest: float, moistures: tuple[float, float], absorption: float
) -> tuple[Step, ...]:
    """Work out the new hydration by equal total water per dry flour, all the flour being mixed."""
    before, after = (rest + moved * moisture / 100 for moisture in moistures)
    at_basis = absorption_at_basis(hydration, before)
    new_at_basis = at_basis + absorption * moved / 100
    new = absorption_as_is(new_at_basis, after)
    mean = "rest + s * {0} / 100"
    shared = {"rest": rest, "s": moved}
    basis, source = {"basis": BASIS.value}, "aacc-54-21"
    return (
        Step("M_before", mean.format("M_old"), {**shared, "M_old": moistures[0]}, before, "%",
             note="mean moisture of all the flour; rest: what flour brings that stays, s: the flour exchanged"),
        Step("A_before", "(h + 100) * (100 - basis) / (100 - M_before) - 100",
             {"h": hydration, "M_before": before, **basis}, at_basis, "%", source, "hydration, on the basis"),
        Step("A_after", "A_before + d * s / 100", {"A_before": at_basis, "d": absorption, "s": moved}, new_at_basis, "%",
             note="with what the new flour absorbs more"),
        Step("M_after", mean.format("M_new"), {**shared, "M_new": moistures[1]}, after, "%"),
        Step("h_after", "(A_after + 100) * (100 - M_after) / (100 - basis) - 100",
             {"A_after": new_at_basis, "M_after": after, **basis}, new, "%", source, "the new hydration"),
        Step("water", "h_after - h", {"h_after": new, "h": hydration}, new - hydration, "%", note="more water"),
    )  # fmt: skip


def _moisture(door: Door, given: Measure | None, where: str, flour: Ingredient) -> float:
    """Return a flour's moisture in percent: as given, or else as the catalogue has it."""
    if given is None:
        if flour.water_g is None:
            got = f"no moisture of {flour.name} known"
            door.refuse(where, got, "the flour's moisture", f'give {where}="13 %" from the mill\'s sheet')
        return flour.water_g or 0.0
    percent = 100 * door.read(SHARE, given, where)
    if percent >= 100:
        door.refuse(where, f"{shown(percent)} %", "a flour's moisture, below 100 %")
    return percent


def _moisture_beside(catalogue: Catalogue, name: str, known: Mapping[str, float]) -> float:
    if name in known:
        return known[name]
    water_g = catalogue.find(name).water_g
    return BASIS.value if water_g is None else water_g
