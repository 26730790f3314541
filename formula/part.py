"""Stages made ready for the table: names understood, lines on their base, what each hands on, and the order to build.

A ``Part`` is a stage whose lines are sorted into ingredients, other stages and a ripe culture.  Everything that can be
wrong with the stages of a formula by themselves is found here, and all of it is told at once.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from typing import Final

from attrs import frozen

from .catalogue import Catalogue
from .errors import ContradictionError, Fault, FormulaError, Gathered, UnknownNameError, cited
from .lines import Lines
from .stage import Stage, base_of, on_base
from .working import shown

__all__ = ["Part", "check_flour", "flour_names", "flours_of", "prepared", "read_names"]

MOST_GUESSED: Final = 10
"""Unknown names of a list to which the nearest are looked for."""


@frozen
class Part:
    """A stage made ready: its lines sorted into ingredients, stages and culture, and what it hands on per 100 of base."""

    stage: Stage
    ingredients: tuple[tuple[str, str, float], ...]
    nested: tuple[tuple[str, float], ...]
    culture: tuple[str, str, float] | None
    split: tuple[tuple[str, str, float], ...]
    flour: float
    ferments: bool
    returned: float
    out: float
    carry: float
    base_g: float
    water_line: str


def read_names(lines: Iterable[str], catalogue: Catalogue, where: str) -> Lines[str]:
    """Return the catalogue's name for each line, refusing unknown names and an ingredient under two names.

    Raises:
        UnknownNameError: with every unknown name.
        ContradictionError: with every ingredient that stands twice.
    """
    tried = Gathered()
    pairs: list[tuple[str, str]] = []
    seen: dict[str, str] = {}
    unknown = 0
    for name in lines:
        if unknown >= MOST_GUESSED and name not in catalogue:
            tried.refuse(UnknownNameError, f"{where}: ingredient", cited(name), "a name of the larder")
            continue
        try:
            canonical = catalogue.find(name).name
        except UnknownNameError as error:
            unknown += 1
            for fault in error.faults:
                tried.refuse(UnknownNameError, f"{where}: {fault.where}", fault.got, fault.expected, fault.fix)
            continue
        if canonical in seen:
            got = f"{seen[canonical]!r} and {name!r}, which are both {canonical}"
            tried.refuse(ContradictionError, where, got, "each ingredient once", "add them up in one line")
        seen.setdefault(canonical, name)
        pairs.append((name, canonical))
    tried.close()
    return Lines(pairs)


def flour_names(names: Lines[str], catalogue: Catalogue, flours: tuple[str, ...]) -> frozenset[str]:
    """Return the catalogue names of the lines that are the 100 %."""
    return frozenset(names[line] for line in base_of(names, catalogue, flours, final=True))


def _ready(stage: Stage, stages: frozenset[str], catalogue: Catalogue, flours: tuple[str, ...]) -> Part:
    where = f"stage {stage.name}"
    names = read_names([line for line in stage.percents if line not in stages], catalogue, where)
    base = base_of(names, catalogue, stage.base or flours, final=False) or base_of(names, catalogue, final=False)
    if not base:
        raise FormulaError(Fault(where, "no flour, grain or seed", "a line that is its 100 %", "name it with base="))
    if sum(stage.percents[line] for line in base) <= 0:
        raise FormulaError(Fault(where, f"0 of {', '.join(base)}", "more than nothing of what is its 100 %"))
    absent = [name for name in stage.base if catalogue.find(name).name not in names.values()]
    if absent:
        raise FormulaError(Fault(f"{where}: base", ", ".join(map(repr, absent)), f"its own lines: {', '.join(names)}"))
    lines = on_base(stage.percents, base) if stage.in_grams else stage.percents
    tried = Gathered()
    whole = sum(lines[line] for line in base)
    if abs(whole - 100) > 1e-6:
        got = f"{' + '.join(f'{line} {shown(lines[line])}' for line in base)} = {shown(whole, 9)}"
        fractions = "these look like fractions; multiply by 100"
        fix = fractions if abs(whole - 1) < 0.01 else "a stage's lines are percentages of its own flour"
        tried.refuse(FormulaError, where, got, "a base of 100", fix)
    flour_set = flour_names(names, catalogue, flours)
    cultures = [
        (line, names[line], lines[line]) for line in names if catalogue.find(line).kind == "culture" and lines[line] > 0
    ]
    if len(cultures) > 1:
        tried.refuse(FormulaError, where, f"{len(cultures)} lines of ripe culture", "one", "build the other as a stage")
    culture = cultures[0] if cultures else None
    if culture and stage.culture is None:
        fix = 'culture="returned", "line" or "split"'
        tried.refuse(FormulaError, where, f"a line of ripe culture ({culture[0]})", "the way it is counted", fix)
    ingredients = tuple((line, names[line], lines[line]) for line in names if culture is None or line != culture[0])
    total = sum(lines.values())
    returned = culture[2] if culture and stage.culture and stage.culture.counted == "returned" else 0.0
    ripe = total - returned - stage.boiled_off_percent
    waters = [line for line, name, _ in ingredients if catalogue.find(name).kind == "water"]
    water = max((lines[line] for line in waters), default=0.0)
    if stage.boiled_off_percent > water:
        got = f"{shown(stage.boiled_off_percent)} % boiled off"
        tried.refuse(ContradictionError, where, got, f"no more than its water, {shown(water)} %")
    if stage.keep_percent >= ripe:
        got = f"{shown(stage.keep_percent)} % kept back"
        tried.refuse(ContradictionError, where, got, f"less than the {shown(ripe)} % that is there to keep from")
    split: tuple[tuple[str, str, float], ...] = ()
    if culture and stage.culture and stage.culture.counted == "split":
        own = stage.culture.percents or Lines((line, percent) for line, _, percent in ingredients)
        sums = sum(own.values())
        if sums <= 0:
            tried.refuse(FormulaError, f"{where}: culture", "a culture of nothing", "its own flour and water")
        known = tried.attempt(lambda: read_names(own, catalogue, f"{where}: culture")) or Lines[str]()
        split = tuple(
            (line, known.get(line, line), culture[2] * percent / (sums or 1)) for line, percent in own.items()
        )
    tried.close()
    has_flour = any(name in flour_set for _, name, _ in ingredients)
    return Part(
        stage=stage.changed(percents=lines, in_grams=False),
        ingredients=ingredients,
        nested=tuple((line, lines[line]) for line in lines if line in stages and lines[line] > 0),
        culture=culture,
        split=split,
        flour=sum(percent for _, name, percent in ingredients if name in flour_set),
        ferments=stage.kind == "preferment" or (not stage.kind and has_flour),
        returned=returned,
        out=ripe - stage.keep_percent,
        carry=1 - stage.keep_percent / ripe,
        base_g=sum(stage.percents[line] for line in base) if stage.in_grams else 0.0,
        water_line=max(waters, key=lambda line: lines[line], default=""),
    )


def prepared(stages: tuple[Stage, ...], used: Lines[str], catalogue: Catalogue, flours: tuple[str, ...]) -> list[Part]:
    """Make the stages ready and put them in building order, users before what they use."""
    names = [stage.name for stage in stages]
    tried = Gathered()
    for name in sorted({n for n in names if names.count(n) > 1}):
        tried.refuse(FormulaError, f"stage {name}", "two stages of this name", "one")
    known = frozenset(names)
    made = [tried.attempt(partial(_ready, stage, known, catalogue, flours)) for stage in stages]
    parts = {part.stage.name: part for part in made if part}
    ingredients = {*used.values(), *(name for part in parts.values() for _, name, _ in part.ingredients)}
    for name in names:
        if name in catalogue and catalogue.find(name).name in ingredients:
            taken = ("the name of an ingredient in use", "a name of its own", "rename the stage")
            tried.refuse(FormulaError, f"stage {name}", *taken)
    users = {
        stage.name: [line for line, amount in stage.percents.items() if line in known and amount > 0]
        for stage in stages
    }
    ordered: list[str] = []
    path: list[str] = []

    def visit(name: str) -> None:
        if name in path:
            circle = " -> ".join([*path[path.index(name) :], name])
            tried.refuse(ContradictionError, f"stage {name}", f"stages that need each other: {circle}", "no circle")
        elif name not in ordered:
            path.append(name)
            for nested in users[name]:
                visit(nested)
            path.pop()
            ordered.append(name)

    for name in names:
        visit(name)
    tried.close()
    return [parts[name] for name in reversed(ordered)]


def flours_of(lines: Lines[float], catalogue: Catalogue, named: tuple[str, ...], where: str) -> tuple[str, ...]:
    """Return the lines that are the 100 %, refusing a formula without flour."""
    names = read_names(lines, catalogue, where)
    base = base_of(names, catalogue, named, final=True)
    if not base or sum(lines[line] for line in base) <= 0:
        got = f"no flour among {', '.join(lines)}"
        raise FormulaError(Fault(where, got, "at least one flour", "name the lines that are the 100 % with flours="))
    return base


def check_flour(lines: Lines[float], catalogue: Catalogue, named: tuple[str, ...], where: str) -> None:
    """Refuse flours that do not sum to 100, with the sum."""
    base = flours_of(lines, catalogue, named, where)
    whole = sum(lines[line] for line in base)
    if abs(whole - 100) <= 1e-6:
        return
    got = f"{' + '.join(f'{line} {shown(lines[line], 9)}' for line in base)} = {shown(whole, 9)}"
    fix = "use from_weights for weights, or divide every line by the flour"
    if abs(whole - 1) < 1e-6:
        fix = "these look like fractions: multiply every line by 100"
    raise FormulaError(Fault(where, got, "flours that sum to 100", fix))
