"""Old dough: dough held over from one bread and put into another, deducted line by line.

Old dough enters the next bread as a stage.  Its flour, water, salt and yeast are taken off the final dough, so that the
overall formula, and with it the label, stays what it is.  That works only where the next bread declares everything that
is in the old dough, and only as long as no line of the final dough runs out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import ClassVar, Final, Literal, get_args

from attrs import evolve, frozen

from .batch import Batch
from .catalogue import Catalogue
from .counting import read_choice, read_weight
from .errors import ContradictionError, Fault, FormulaError, UnknownNameError, cited
from .formula import Formula
from .lines import Lines
from .quantity import MASS, TEMPERATURE, TIME, Door, Measure, View, write
from .readerunits import with_units
from .refit import remade
from .stage import Stage
from .table import SMALL
from .working import Caution, Step, Working, shown, summed_steps

__all__ = ["OldDough", "WithOldDough", "with_old_dough"]

Declared = Literal["ingredients", "allergens"]

_CAUTIONS: Final = (
    Caution("raw-dough", "raw dough is not food: keep it cold and covered, and taste none of it"),
    Caution(
        "fermented-flour",
        "old dough brings flour that has fermented, acid and living yeast: the dough is stronger and ripens sooner, the"
        " deduction is by weight only",
    ),
)


@frozen(init=False)
class OldDough:
    """Dough that is held to go into another: which bread it is, how much there is of it, how old and how warm it is.

    Args:
        formula: the bread it was mixed as; its own stages are resolved to their ingredients.
        mass: how much there is of it, a mass above zero.
        age: the time since it was mixed.
        temperature: how warm it was kept, at its warmest.

    Raises:
        FormulaError: every bad argument at once.

    Example:
        >>> lean = Formula.from_percents("Lean", {"bread flour": 100, "water": 65, "salt": 2, "fresh yeast": 1})
        >>> OldDough(lean, "4.2 kg", age="10 h", temperature="5 °C").flour_g
        2500.0
    """

    formula: Formula
    mass_g: float
    age_h: float
    temperature_c: float

    def __init__(self, formula: Formula, mass: Measure, *, age: Measure, temperature: Measure) -> None:
        """Read every argument and tell of all the bad ones at once."""
        with Door(FormulaError) as door:
            if not isinstance(formula, Formula):  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
                door.refuse("old dough", cited(formula), "the Formula it was mixed as")
            mass_g = read_weight(door, mass, "mass")
            age_h = door.read(TIME, age, "age")
            temperature_c = door.read(TEMPERATURE, temperature, "temperature")
        for key, value in (
            ("formula", formula), ("mass_g", mass_g), ("age_h", age_h), ("temperature_c", temperature_c),
        ):  # fmt: skip
            object.__setattr__(self, key, value)

    mass: ClassVar[View] = View(MASS, "mass_g", "How much there is of it.")
    age: ClassVar[View] = View(TIME, "age_h", "The time since it was mixed.")
    temperature: ClassVar[View] = View(TEMPERATURE, "temperature_c", "How warm it was kept.")
    flour: ClassVar[View] = View(MASS, "flour_g", "The flour in it.")

    @property
    def flour_g(self) -> float:
        """The flour in it."""
        return 100 * self.mass_g / self.formula.total_percent

    @property
    def contents_g(self) -> Lines[float]:
        """Grams of every ingredient in it, its own stages resolved; what it lost in fermenting is not counted."""
        return Lines((line, percent * self.flour_g / 100) for line, percent in self.formula.percents.items())


@frozen
class WithOldDough:
    """A batch with old dough in it.

    ``before`` is the batch without, ``batch`` the one with ``used_g`` of old dough as the stage ``stage``; both weigh the
    same, but for the lines in ``added``, which the bread did not have.  ``most_g`` is the most that would fit, and
    ``limited_by`` the line of the final dough that runs out at that.  ``brought_g`` is what the old dough brings of each
    line, ``room_g`` what the final dough had of it.
    """

    before: Batch
    batch: Batch
    old: OldDough
    stage: str
    used_g: float
    most_g: float
    limited_by: str
    brought_g: Lines[float]
    room_g: Lines[float]
    oldest_h: float
    warmest_c: float
    added: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()

    used: ClassVar[View] = View(MASS, "used_g", "The old dough that goes in.")
    most: ClassVar[View] = View(MASS, "most_g", "The most old dough that would fit.")
    kept: ClassVar[View] = View(MASS, "kept_g", "The old dough that stays over.")
    dough: ClassVar[View] = View(MASS, "dough_g", "The dough that leaves the mixer.")
    oldest: ClassVar[View] = View(TIME, "oldest_h", "The age that the bakery allows.")
    warmest: ClassVar[View] = View(TEMPERATURE, "warmest_c", "The temperature that the bakery allows.")

    @property
    def formula(self) -> Formula:
        """The bread with the old dough as a stage."""
        return self.batch.formula

    @property
    def kept_g(self) -> float:
        """The old dough that stays over."""
        return self.old.mass_g - self.used_g

    @property
    def dough_g(self) -> float:
        """The dough that leaves the mixer, the old dough in it."""
        return self.batch.dough_g

    def working(self) -> Working:
        """Show what limits the old dough and what it takes off each line; the last line is the dough, as it was."""
        steps: list[Step] = []
        shares = {line: grams / self.used_g for line, grams in self.brought_g.items()}
        fits: dict[str, float] = {}
        for number, (line, share) in enumerate(shares.items(), 1):
            if line in self.room_g:
                values = {f"room_{number}": self.room_g[line], f"share_{number}": share}
                expression = f"room_{number} / share_{number}"
                fits[f"most_{number}"] = self.room_g[line] / share
                note = f"{line}: what the final dough has of it, and the part of old dough that it is"
                steps.append(Step(f"most_{number}", expression, values, fits[f"most_{number}"], "g", note=note))
        limit = "min" if len(fits) > 1 else ""
        note = f"{self.limited_by} sets the limit"
        steps.append(Step("most", f"{limit}({', '.join(fits)})", fits, self.most_g, "g", note=note))
        values = {"used": self.used_g}
        steps.append(
            Step("used", "used", values, self.used_g, "g", note=f"of the {shown(self.old.mass_g)} g there are")
        )
        taken: dict[str, float] = {}
        for number, (line, share) in enumerate(shares.items(), 1):
            had_g = self.before.mass_g(line) if line not in self.added else self.brought_g[line]
            values = {f"had_{number}": had_g, "used": self.used_g, f"share_{number}": share}
            expression = f"had_{number} - used * share_{number}"
            left_g = had_g - self.brought_g[line]
            steps.append(Step(f"left_{number}", expression, values, left_g, "g", note=f"{line} beside the old dough"))
            taken[f"left_{number}"] = left_g
        rest_g = math.fsum(row.mass_g for row in self.before.rows if row.name not in shares)
        if rest_g:
            steps.append(Step("others", "others", {"others": rest_g}, rest_g, "g", note="lines that it has nothing of"))
            taken["others"] = rest_g
        sums, _ = summed_steps("dough", {"used": self.used_g, **taken}, unit="g")
        *blocks, last = sums
        steps += blocks
        note = "what is new in the bread comes on top" if self.added else "as it was without"
        steps.append(evolve(last, value=self.dough_g, note=note))
        told = {"g": "room had", "1": "share"}
        return Working(f"{self.formula.name} with old dough", with_units(steps, told), self.cautions)


def with_old_dough(
    batch: Batch,
    old: OldDough,
    *,
    oldest: Measure,
    warmest: Measure,
    amount: Measure | None = None,
    declared: Declared = "ingredients",
    stage: str = "old dough",
) -> WithOldDough:
    """Put old dough into a batch as a stage, and take what is in it off the final dough.

    With s the part of the old dough that an ingredient is, the old dough brings s * amount of it.  The most that fits is
    the smallest of room / s, room being what the final dough has of the ingredient, late additions not counted.

    Args:
        batch: the next dough, from ``Formula.scale``; its exact weights count.
        old: the old dough.
        oldest: the age up to which the bakery uses old dough; there is no default.
        warmest: the temperature up to which the bakery keeps it; there is no default.
        amount: how much of it goes in; left out, as much as there is and as fits.
        declared: what the next bread must have of the old dough.  "ingredients": every ingredient is one of its lines, so
            that its overall formula stays.  "allergens": every flour is, and every allergen is in one of its lines; other
            ingredients become new lines, on top of the dough, and the bread's declaration changes.
        stage: the name of the stage; another one where the bread has an ``old dough`` already.

    Returns:
        The batch with the stage in it, what limits the old dough, and what stays over.

    Raises:
        QuantityError: a mass, time or temperature that cannot be read, an unknown choice.
        FormulaError: a formula that is not scaled yet, a stage of that name in the bread.
        ContradictionError: old dough that is too old or was too warm, that holds what the bread does not declare, or more
            of it than fits; all at once.

    Range: the deduction is by weight as mixed; what fermented away since is not counted.  Acid, yeast and
    strength that old dough brings are not in these sums: begin with a small part, and watch the dough.

    Example:
        >>> lines = {"bread flour": 100, "water": 68, "salt": 2, "fresh yeast": 1}
        >>> bread = Formula.from_percents("Quay Round", lines)
        >>> lean = Formula.from_percents("Mooring Stick", {"bread flour": 100, "water": 60, "salt": 2, "fresh yeast": 2})
        >>> old = OldDough(lean, "8.2 kg", age="10 h", temperature="5 °C")
        >>> made = with_old_dough(bread.scale(flour="50 kg"), old, oldest="12 h", warmest="8 °C")
        >>> made.used_g, round(made.most_g), made.limited_by, round(made.formula.prefermented_flour, 6)
        (8200.0, 41000, 'fresh yeast', 10.0)
        >>> [(row.name, round(row.mass_g)) for row in made.batch.final.rows]
        [('bread flour', 45000), ('water', 31000), ('salt', 900), ('fresh yeast', 400), ('old dough', 8200)]
    """
    if not isinstance(batch, Batch):  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
        got = f"an object of type {type(batch).__name__}"
        raise FormulaError(Fault("batch", got, "a Batch", 'scale the formula first: bread.scale(dough="93 kg")'))
    with Door() as door:
        oldest_h = door.read(TIME, oldest, "oldest")
        warmest_c = door.read(TEMPERATURE, warmest, "warmest")
        asked_g = None if amount is None else read_weight(door, amount, "amount")
        read_choice(door, declared, "declared", get_args(Declared))
    before = evolve(batch, masses_g=batch.exact_g, exact_g=()) if batch.exact_g else batch
    bread, flour_g = before.formula, before.flour_g
    lines, added = _lines(bread, old.formula)
    with Door(ContradictionError) as door:
        _check_limits(door, old, oldest_h, warmest_c)
        _check_declared(door, bread, old.formula, added, declared)
    shares = {line: percent / old.formula.total_percent for line, percent in lines.items()}
    room_g = _room_g(before, shares)
    most_g, limited_by = min((room / shares[line], line) for line, room in room_g.items())
    used_g = _used_g(old, asked_g, most_g, limited_by, bread.name)
    brought_g = Lines((line, share * used_g) for line, share in shares.items())
    new = Stage(
        stage, lines, kind="preferment", base=_base(bread, old.formula), culture=_culture(lines, bread.catalogue)
    )
    stages = [*_fixed(bread), new.changed(weight_percent=100 * used_g / flour_g)]
    overall = {**bread.percents, **{line: 100 * brought_g[line] / flour_g for line in added}}
    made = remade(bread, overall, stages).scale(flour=write(MASS, flour_g))
    if not added:
        told = ("asked", "asked_g", "pieces", "piece_g", "baked_g", "losses")
        made = evolve(made, **{name: getattr(before, name) for name in told})
    return WithOldDough(
        before=before,
        batch=made,
        old=old,
        stage=stage,
        used_g=used_g,
        most_g=most_g,
        limited_by=limited_by,
        brought_g=brought_g,
        room_g=room_g,
        oldest_h=oldest_h,
        warmest_c=warmest_c,
        added=added,
        cautions=(*_CAUTIONS, *_about(old, stage, added)),
    )


def _line(bread: Formula, name: str) -> str:
    """Return the bread's line for an ingredient, or the name itself where it has none."""
    try:
        return bread.line(name)
    except UnknownNameError:
        return name


def _lines(bread: Formula, old: Formula) -> tuple[Lines[float], tuple[str, ...]]:
    """Return the old dough's ingredients under the bread's names, and those that are none of the bread's lines."""
    lines = Lines((_line(bread, line), percent) for line, percent in old.percents.items() if percent > 0)
    return lines, tuple(line for line in lines if line not in bread.percents)


def _check_limits(door: Door, old: OldDough, oldest_h: float, warmest_c: float) -> None:
    if old.age_h > oldest_h:
        expected = f"at most {write(TIME, oldest_h)}, the bakery's limit"
        door.refuse("old dough: age", write(TIME, old.age_h), expected, "do not bake with it")
    if old.temperature_c > warmest_c:
        expected = f"at most {write(TEMPERATURE, warmest_c)}, the bakery's limit"
        door.refuse("old dough: temperature", write(TEMPERATURE, old.temperature_c), expected, "do not bake with it")


def _check_declared(door: Door, bread: Formula, old: Formula, added: tuple[str, ...], declared: Declared) -> None:
    """Refuse what the bread does not declare: ingredients, or flours and unknown ones, and allergens in any case."""
    flours = {_line(bread, line) for line in old.flours}
    for line in added:
        if declared == "ingredients" or line in flours:
            got = f"{line}, which is no line of {bread.name}"
            fix = "put the old dough into a bread that has it"
            door.refuse("old dough", got, f"one of its lines: {', '.join(bread.percents)}", fix)
        elif old.catalogue.find(line).allergens is None:
            door.refuse(
                "old dough", f"{line}, whose allergens nobody knows", "known allergens", "add it to the catalogue"
            )
    known = _allergens(bread)
    for allergen, line in _allergens(old).items():
        if allergen not in known:
            got = f"the allergen {allergen}, in its {line}"
            expected = f"an allergen that {bread.name} declares: {', '.join(known) or 'it has none'}"
            door.refuse("old dough", got, expected, "put the old dough into a bread that has it")


def _allergens(bread: Formula) -> dict[str, str]:
    """Return the allergens of a dough, each with the first line that holds it."""
    found: dict[str, str] = {}
    for line, percent in bread.percents.items():
        for allergen in (bread.catalogue.find(line).allergens or ()) if percent > 0 else ():
            found.setdefault(allergen, line)
    return found


def _room_g(before: Batch, wanted: Iterable[str]) -> Lines[float]:
    """Return what the final dough has of each line beside its late additions."""
    later = {row.name: row.mass_g for row in before.later}
    final = {row.name: row.mass_g for row in before.final.rows}
    return Lines(
        (line, max(0.0, final.get(line, 0.0) - later.get(line, 0.0)))
        for line in wanted
        if line in before.formula.percents
    )


def _used_g(old: OldDough, asked_g: float | None, most_g: float, limited_by: str, name: str) -> float:
    """Settle how much goes in: what was asked for, or as much as there is and fits."""
    if most_g <= SMALL:
        got = f"no {limited_by} that old dough could take the place of"
        raise ContradictionError(Fault(f"final dough of {name}", got, "more than nothing", "make its stages smaller"))
    if asked_g is None:
        return min(old.mass_g, most_g)
    with Door(ContradictionError) as door:
        if asked_g > old.mass_g:
            door.refuse("amount", write(MASS, asked_g), f"at most what there is, {write(MASS, old.mass_g)}")
        if asked_g > most_g * (1 + SMALL):
            expected = f"at most {write(MASS, most_g)}: with more, {limited_by} runs out in the final dough"
            door.refuse("amount", write(MASS, asked_g), expected, "use less, or make more dough")
    return min(asked_g, most_g)


def _base(bread: Formula, old: Formula) -> tuple[str, ...]:
    """Name the flours of the old dough as its 100 %, where one of the two breads has named flours of its own."""
    if not (bread.named_flours or old.named_flours):
        return ()
    return tuple(_line(bread, line) for line in old.flours if old.percents[line] > 0)


def _culture(lines: Iterable[str], catalogue: Catalogue) -> str | None:
    """Say how a line of ripe culture in the old dough is counted: it is a line of both breads."""
    return "line" if any(catalogue.find(line).kind == "culture" for line in lines) else None


def _fixed(bread: Formula) -> Iterator[Stage]:
    """Keep the bread's own stages their size, also where it is said on a final dough that now has less flour."""
    handed_on = {column.name: column.handed_on for column in bread.table.columns}
    for each in bread.stages:
        if each.weight_on_final_percent is None:
            yield each
        else:
            yield each.changed(weight_on_final_percent=None, weight_percent=handed_on[each.name])


def _about(old: OldDough, stage: str, added: tuple[str, ...]) -> Iterator[Caution]:
    if any(each.name == stage for each in old.formula.stages):
        text = "the old dough holds older dough itself: a part of it is older than its age says"
        yield Caution("older-than-its-age", text)
    if {"egg", "milk"} & set(_allergens(old.formula)):
        text = "the old dough holds egg or milk: local food codes say how long and how warm such dough may be kept"
        yield Caution("egg-or-milk", text)
    if added:
        text = f"the bread now holds {' and '.join(added)}: its declaration changes"
        yield Caution("declared-anew", text)
