"""The finished loaf: everything that went into it, ingredient by ingredient, and what is left after the oven.

Labels and nutrition ask what a loaf was made of, not how it was mixed: stages are folded together, a levain is its flour
and water, old dough is what it was made of, and equal ingredients are one.  Only water leaves a loaf on its way from the
mixer to the shelf; dough left in a bowl takes all its ingredients with it and changes nothing in the loaf.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import ClassVar, Final, TypeAlias

from attrs import evolve, frozen

from .catalogue import Catalogue
from .errors import ContradictionError, Fault, FormulaError, UnknownNameError
from .formula import Formula
from .ingredient import Ingredient
from .lines import Lines
from .losses import DOUGH_LOSSES, PLACES, Losses, times, turned_steps, written_left
from .quantity import MASS, Door, Measure, OptionalView, View
from .readerunits import with_units
from .stage import Amounts, Stage, percent_lines
from .working import Caution, Step, Working, shown, summed_steps

__all__ = ["FinishedLoaf", "Ingoing", "Mixture", "finished_loaf", "ingredients_in", "seed_cultures"]

Mixture: TypeAlias = Formula | Amounts
"""What a culture or an old dough is made of: a formula, percentages or weights."""

_ROUNDING: Final = 1e-9
"""The part of the water below which what is left of it is what floats leave behind."""


@frozen
class Ingoing:
    """One ingredient of a finished loaf: how much of it went in, and how much of that is water."""

    ingredient: Ingredient
    mass_g: float

    mass: ClassVar[View] = View(MASS, "mass_g", "What went in.")

    @property
    def name(self) -> str:
        """The name in the catalogue."""
        return self.ingredient.name

    @property
    def water_g(self) -> float | None:
        """The water in what went in, g; None where the composition does not tell.

        Water from the tap counts whole, as everywhere in this house; the table finds a thousandth of minerals in it.
        """
        if self.ingredient.kind == "water":
            return self.mass_g
        return None if self.ingredient.water_g is None else self.mass_g * self.ingredient.water_g / 100


@frozen
class FinishedLoaf:
    """A loaf on the shelf: what went into it and what it weighs.

    ``ingoing`` are the ingredients in falling weight, toppings included; ``dough_g`` is what the dough in the loaf weighed
    when it left the mixer, ``left_g`` what is left of it, ``finished_g`` the loaf with its toppings.  All is for one piece,
    or where no piece was told for 100 g of flour.
    """

    bread: str
    ingoing: tuple[Ingoing, ...]
    dough_g: float
    left_g: float
    toppings_g: float
    losses: Losses
    per_piece: bool
    cautions: tuple[Caution, ...] = ()

    dough: ClassVar[View] = View(MASS, "dough_g", "The dough in the loaf, as it left the mixer.")
    left: ClassVar[View] = View(MASS, "left_g", "What is left of the dough.")
    toppings: ClassVar[View] = View(MASS, "toppings_g", "What was put on the dough.")
    finished: ClassVar[View] = View(MASS, "finished_g", "The loaf.")
    water: ClassVar[OptionalView] = OptionalView(
        MASS, "water_g", "The water in the loaf; None where the composition does not tell."
    )
    lost: ClassVar[View] = View(MASS, "lost_g", "The water that left.")

    @property
    def finished_g(self) -> float:
        """The loaf with its toppings, g."""
        return self.left_g + self.toppings_g

    @property
    def lost_g(self) -> float:
        """The water that left on the way from the mixer to the shelf, g."""
        return self.dough_g - self.left_g

    @property
    def water_gaps(self) -> tuple[str, ...]:
        """The ingredients whose water is not known."""
        return tuple(each.name for each in self.ingoing if each.water_g is None)

    @property
    def water_g(self) -> float | None:
        """The water in the loaf, g: that of all ingredients less what left; None where one of them is not known."""
        waters = [each.water_g for each in self.ingoing]
        known = [water for water in waters if water is not None]
        return None if len(known) < len(waters) else max(0.0, math.fsum(known) - self.lost_g)

    @property
    def water_percent(self) -> float | None:
        """The water in 100 g of the loaf."""
        return None if self.water_g is None else 100 * self.water_g / self.finished_g

    @property
    def solids_percent(self) -> float | None:
        """What is not water in 100 g of the loaf."""
        return None if self.water_percent is None else 100 - self.water_percent

    def steps(self) -> tuple[Step, ...]:
        """Return the steps of ``working``, for a working that goes on from here."""
        lines = {f"m{number}": each for number, each in enumerate(self.ingoing, 1)}
        masses = {name: each.mass_g for name, each in lines.items()}
        toppings = {"toppings": self.toppings_g} if self.toppings_g else {}
        sums, ingoing_g = summed_steps("ingoing", masses, unit="g")
        steps = (
            *(Step(name, name, {name: each.mass_g}, each.mass_g, "g", note=each.name) for name, each in lines.items()),
            *sums,
            Step("dough", " - ".join(("ingoing", *toppings)), {"ingoing": ingoing_g, **toppings}, self.dough_g, "g"),
            *_moist_steps(self.losses, self.dough_g, self.left_g),
            Step("finished", " + ".join(("left", *toppings)), {"left": self.left_g, **toppings}, self.finished_g, "g"),
        )
        return with_units(steps, {"g": "toppings", "1": " ".join(PLACES)})

    def water_steps(self) -> tuple[Step, ...]:
        """Return the steps from the water of the ingredients to the water and the solids in 100 g of the loaf.

        Raises:
            FormulaError: when the water of an ingredient is not known.
        """
        if self.water_g is None or self.water_percent is None or self.solids_percent is None:
            got = f"no water content for {', '.join(self.water_gaps)}"
            raise FormulaError(Fault(self.bread, got, "the water in every ingredient", "add it to the catalogue"))
        waters = {f"w{number}": each.water_g or 0.0 for number, each in enumerate(self.ingoing, 1)}
        sums, brought_g = summed_steps("brought", waters, unit="g")
        flows = {"brought": brought_g, "dough": self.dough_g, "left": self.left_g}
        shares = {"water": self.water_g, "finished": self.finished_g}
        steps = (
            *(
                Step(name, f"m{name[1:]} * share{name[1:]} / 100", _shares(name[1:], each), each.water_g or 0.0, "g")
                for name, each in zip(waters, self.ingoing, strict=True)
            ),
            *(evolve(step, note="the water of all ingredients") for step in sums),
            Step("water", "max(0, brought - (dough - left))", flows, self.water_g, "g", note="only water leaves"),
            Step("water_percent", "100 * water / finished", shares, self.water_percent, "%"),
            Step(
                "solids_percent", "100 - water_percent", {"water_percent": self.water_percent}, self.solids_percent, "%"
            ),
        )
        return with_units(steps, {"g": "m dough left finished", "g/100 g": "share"})

    def working(self) -> Working:
        """Show the steps; the last line is the weight of the loaf, or with its water all known its solids."""
        steps = self.steps() if self.water_g is None else (*self.steps(), *self.water_steps())
        basis = "one piece" if self.per_piece else "from 100 g of flour"
        return Working(f"{self.bread}: the finished loaf, {basis}", steps, self.cautions)


def finished_loaf(
    formula: Formula,
    *,
    losses: Losses | None = None,
    piece: Measure | None = None,
    baked: Measure | None = None,
    cultures: Mapping[str, Mixture] | None = None,
) -> FinishedLoaf:
    """Find what a loaf was made of and what is left of it: finished = dough * (1 - water lost) + toppings.

    Stages are folded together as the formula's overall lines have them: what is kept for tomorrow and a culture taken back
    out are not in the loaf.  A culture or old dough that is a line of the dough is dissolved into what it is made of; a
    levain's is known from its stage.  Forms of one ingredient stay apart: a label decides what they are called.

    Args:
        formula: the bread.
        losses: from the mixer to the shelf, if not the formula's own.
        piece: the weight of a piece on the divider's scale; needed, or ``baked``, where there are toppings.
        baked: the weight of a piece when sold, without its toppings.
        cultures: line of culture or old dough -> what it is made of: a formula, percentages or weights.  The bread's own
            formula stands for old dough of the same bread.

    Raises:
        FormulaError: toppings without the weight of a piece, both weights, a weight of nothing.
        UnknownNameError: a culture that the bread does not have, or an ingredient that the catalogue does not.
        ContradictionError: losses that leave no water, cultures that are made of each other.

    Accuracy: what yeast eats of the sugar (about 1 % of the dough) is counted as water, as the trade does.

    Example:
        >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 62, "salt": 2, "fresh yeast": 2})
        >>> made = finished_loaf(loaf, losses=Losses(bake="12 %"))
        >>> round(made.finished_g, 2), round(made.water_percent, 1)
        (146.08, 38.9)
    """
    own = formula.losses if losses is None else losses
    with Door(FormulaError) as door:
        weights = [(where, value) for where, value in (("piece", piece), ("baked", baked)) if value is not None]
        grams = [door.read(MASS, value, where) for where, value in weights]
        if len(weights) > 1:
            door.refuse("piece", "the weight of a piece and a baked weight", "one of piece= and baked=")
        if 0.0 in grams:
            door.refuse(weights[0][0], "0 g", "a weight above zero")
        if formula.toppings_g and not weights:
            got = f"toppings ({', '.join(formula.toppings_g)}) without the weight of a piece"
            door.refuse(formula.name, got, "piece= or baked=", "toppings are weighed by the piece")
    found = _dissolved(formula, cultures or {})
    if baked is not None:
        dough_g = grams[0] / own.moist_left
    elif piece is not None:
        dough_g = grams[0] * own.after_divider_left / own.moist_left
    else:
        dough_g = formula.total_percent
    per_percent = dough_g / formula.total_percent
    masses = {name: percent * per_percent for name, percent in found.items() if percent > 0}
    toppings = formula.toppings_g if weights else Lines[float]()
    for line, topping_g in toppings.items():
        name = formula.catalogue.find(line).name
        masses[name] = masses.get(name, 0.0) + topping_g
    ingoing = [Ingoing(formula.catalogue.find(name), mass_g) for name, mass_g in masses.items()]
    made = FinishedLoaf(
        bread=formula.name,
        ingoing=tuple(sorted(ingoing, key=lambda each: (-each.mass_g, each.name))),
        dough_g=dough_g,
        left_g=dough_g * own.moist_left,
        toppings_g=math.fsum(toppings.values()),
        losses=own,
        per_piece=bool(weights),
    )
    return evolve(made, cautions=_checked(made))


def ingredients_in(formula: Formula, cultures: Mapping[str, Mixture]) -> tuple[Ingredient, ...]:
    """Return every ingredient that comes into a bread, once: cultures taken apart, toppings and seeds of levains included.

    Args:
        formula: the bread.
        cultures: as for ``finished_loaf``.

    Raises:
        UnknownNameError: a culture that the bread does not have.
    """
    catalogue = formula.catalogue
    found = [name for name, percent in _dissolved(formula, cultures).items() if percent > 0]
    found += [catalogue.find(line).name for line, grams in formula.toppings_g.items() if grams > 0]
    return tuple(catalogue.find(name) for name in dict.fromkeys([*found, *seed_cultures(formula)]))


def seed_cultures(formula: Formula) -> tuple[str, ...]:
    """Return the ripe cultures that seed a levain and are taken back out: in no total, yet something of them stays."""
    catalogue = formula.catalogue
    lines = [line for column in formula.table.columns if column.returned > 0 and (line := column.returned_line)]
    return tuple(dict.fromkeys(catalogue.find(line).name for line in lines))


def _moist_steps(losses: Losses, dough_g: float, left_g: float) -> tuple[Step, ...]:
    """Show how much of the dough is left once its water has gone; added shares are all on the dough mixed."""
    added = losses.combine == "add"
    used = PLACES if added else tuple(name for name in PLACES if name not in DOUGH_LOSSES)
    left, values = written_left(losses, used)
    over = written_left(losses, DOUGH_LOSSES)[0] if added else ""
    expression = f"dough{times('*', left)}{times('/', over)}"
    note = "what is left once water has gone" if values else "no water is lost"
    step = Step("left", expression, {"dough": dough_g, **values}, left_g, "g", note=note)
    return *turned_steps(losses, used), step


def _checked(made: FinishedLoaf) -> tuple[Caution, ...]:
    """Refuse a loss that leaves no water, and tell what is not known of it."""
    # An ingredient of unknown water might be nothing but water.
    most_g = math.fsum(each.mass_g if each.water_g is None else each.water_g for each in made.ingoing)
    if made.lost_g > 0 and made.lost_g >= most_g * (1 - _ROUNDING):
        got = f"{shown(made.lost_g, 4)} g of water lost"
        expected = f"less than the {shown(most_g, 4)} g that went in"
        raise ContradictionError(
            Fault(f"{made.bread}: losses", got, expected, "a loss is a share of the dough: check it")
        )
    if not made.water_gaps:
        return ()
    text = f"The water in {', '.join(made.water_gaps)} is not known: the loaf's water and solids cannot be told."
    return (Caution("water-unknown", text),)


def _shares(number: str, each: Ingoing) -> dict[str, float]:
    share = 100.0 if each.ingredient.kind == "water" else each.ingredient.water_g or 0.0
    return {f"m{number}": each.mass_g, f"share{number}": share}


def _dissolved(formula: Formula, cultures: Mapping[str, Mixture]) -> dict[str, float]:
    """Return the percentages of all ingredients by their catalogue names, cultures taken apart into what they are."""
    catalogue = formula.catalogue
    told = {catalogue.find(line).name: mixture for line, mixture in cultures.items()}
    lines = {catalogue.find(line).name for line in formula.percents}
    strange = [name for name in told if name not in lines]
    if strange:
        raise UnknownNameError(
            Fault(f"{formula.name}: cultures", repr(strange[0]), f"one of {', '.join(sorted(lines))}")
        )
    for stage in formula.stages:
        told = {**_own_culture(stage, formula), **told}
    return _taken_apart(dict(_by_name(formula.percents, catalogue)), told, catalogue, ())


def _own_culture(stage: Stage, formula: Formula) -> dict[str, Mixture]:
    """Return what the ripe culture of a stage is made of, where it is counted as a line of its own."""
    if stage.culture is None or stage.culture.counted != "line":
        return {}
    kinds = {line: formula.catalogue.find(line) for line in stage.percents if line in formula.catalogue}
    name = next(found.name for found in kinds.values() if found.kind == "culture")
    own = {line: stage.percents[line] for line, found in kinds.items() if found.kind != "culture"}
    return {name: stage.culture.percents or own}


def _taken_apart(
    percents: dict[str, float], told: Mapping[str, Mixture], catalogue: Catalogue, path: tuple[str, ...]
) -> dict[str, float]:
    found: dict[str, float] = {}
    for name, percent in percents.items():
        parts = {name: 1.0}
        if name in told:
            if name in path:
                circle = " -> ".join([*path[path.index(name) :], name])
                raise ContradictionError(Fault("cultures", f"cultures made of each other: {circle}", "no circle"))
            parts = _taken_apart(_made_of(name, told[name], catalogue), told, catalogue, (*path, name))
        for part, share in parts.items():
            found[part] = found.get(part, 0.0) + percent * share
    return found


def _made_of(name: str, mixture: Mixture, catalogue: Catalogue) -> dict[str, float]:
    """Return what a culture is made of in shares of 1.

    A part of itself is left out: what is refreshed with itself for ever is, in the end, made of what it is refreshed with.
    """
    if isinstance(mixture, Formula):
        lines = _dissolved(mixture, {})
    else:
        lines = dict(_by_name(percent_lines(mixture, f"cultures: {name}")[0], catalogue))
    parts = {part: percent for part, percent in lines.items() if part != name}
    whole = math.fsum(parts.values())
    if whole <= 0:
        raise FormulaError(Fault(f"cultures: {name}", "nothing", "its own flour and water"))
    return {part: percent / whole for part, percent in parts.items()}


def _by_name(lines: Lines[float], catalogue: Catalogue) -> Iterator[tuple[str, float]]:
    return ((catalogue.find(line).name, percent) for line, percent in lines.items())
