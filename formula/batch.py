"""The batch: a formula in weights, stage by stage, and how it is rounded to what the scale can show.

A batch is a tuple of floats, one for each line that somebody weighs; rows, totals and views are made when asked.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import TYPE_CHECKING, ClassVar, Final

from attrs import evolve, frozen

from .errors import Fault, FormulaError, UnknownNameError
from .formula import Formula
from .lines import Lines
from .losses import NO_LOSSES, Losses
from .quantity import MASS, Door, Measure, View, read, view, write
from .readerunits import with_grams
from .rounding import read_steps, rounded_masses
from .stage import FINAL
from .table import contents_g, flows
from .weighing import BatchStage, Row, too_small
from .working import Caution, Step, Working, shown

if TYPE_CHECKING:
    from .quantity import Quantity

__all__ = ["Batch", "BatchStage", "Row", "scaled"]


_NO_MINIMUM: Final = Lines[float]()


@frozen
class Batch:
    """A formula in weights; made by ``Formula.scale``.

    ``masses_g`` holds every weighed line, stage by stage in building order, the final dough last.  ``asked`` and
    ``asked_g`` are what the batch was scaled by; ``pieces``, ``piece_g`` (on the divider's scale) and ``baked_g`` are
    0 when the batch was not asked for in pieces.
    """

    formula: Formula
    masses_g: tuple[float, ...]
    asked: str
    asked_g: float
    pieces: int = 0
    piece_g: float = 0.0
    baked_g: float = 0.0
    losses: Losses = NO_LOSSES
    exact_g: tuple[float, ...] = ()
    minimum_g: Lines[float] = _NO_MINIMUM

    # -- totals ----------------------------------------------------------------------------------------------------

    @cached_property
    def stages(self) -> Lines[BatchStage]:
        """Every stage in building order, the final dough last."""
        built: list[tuple[str, BatchStage]] = []
        first = 0
        table = self.formula.table
        for column, flow in zip(table.columns, flows(table, self.masses_g), strict=True):
            masses = self.masses_g[first : first + len(column.lines)]
            first += len(column.lines)
            rows = tuple(map(Row, column.lines, column.percents, masses))
            out = (flow.returned_g, flow.kept_g, flow.boiled_off_g)
            built.append((column.name, BatchStage(column.name, rows, *out)))
        return Lines(built)

    @property
    def final(self) -> BatchStage:
        """The final dough."""
        return self.stages[FINAL]

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """The overall lines: all of each ingredient that ends in the dough, whatever stage it was weighed into."""
        table = self.formula.table
        sums = contents_g(table, self.masses_g, rounded=bool(self.exact_g))
        return tuple(
            Row(line, percent, mass) for (line, percent), mass in zip(table.overall.items(), sums, strict=True)
        )

    @property
    def dough_g(self) -> float:
        """The dough that leaves the mixer: the sum of the final dough's lines."""
        return self.final.total_g

    dough: ClassVar[View] = View(MASS, "dough_g", "The dough that leaves the mixer, as a quantity.")

    @property
    def flour_g(self) -> float:
        """All the flour, the flour in stages included."""
        flours = set(self.formula.flours)
        return sum(row.mass_g for row in self.rows if row.name in flours)

    flour: ClassVar[View] = View(MASS, "flour_g", "All the flour, as a quantity.")
    piece: ClassVar[View] = View(MASS, "piece_g", "A piece on the divider's scale, as a quantity.")
    baked: ClassVar[View] = View(MASS, "baked_g", "A piece when sold, as a quantity.")

    def mass_g(self, name: str, *, stage: str | None = None) -> float:
        """Return grams of an ingredient or stage, in the whole batch or as weighed into one stage.

        Args:
            name: an ingredient's name or alias, or a stage: without ``stage``, an ingredient's overall total, or all
                that is weighed into that stage, what is kept or taken back out included.
            stage: the stage it is weighed into; ``"final"`` is the final dough.

        Raises:
            UnknownNameError: when there is no such line or stage.

        Example:
            >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70})
            >>> loaf.scale(flour="10 kg").mass_g("water")
            7000.0
        """
        if stage is None:
            # To ask all stages for their lines would cost as much as the rest of the batch.
            if name != FINAL and any(column.name == name for column in self.formula.table.columns):
                return self.stages[name].total_g
            line = self.formula.line(name)
            return next(row.mass_g for row in self.rows if row.name == line)
        if stage not in self.stages:
            raise UnknownNameError(Fault("stage", repr(stage), f"one of {', '.join(self.stages)}"))
        rows = {row.name: row.mass_g for row in self.stages[stage].rows}
        if name in rows:
            return rows[name]
        catalogue = self.formula.catalogue
        for line, mass_g in rows.items():
            if line in catalogue and name in catalogue and catalogue.find(line).name == catalogue.find(name).name:
                return mass_g
        raise UnknownNameError(Fault(f"stage {stage}", repr(name), f"one of its lines: {', '.join(rows)}"))

    def mass(self, name: str, *, stage: str | None = None) -> Quantity:
        """Return the same as ``mass_g`` as a quantity."""
        return view(MASS, self.mass_g(name, stage=stage))

    @property
    def later(self) -> tuple[Row, ...]:
        """What is held back from the mix and added to the dough afterwards: water by and by, fruit and nuts at the end."""
        scale = self.flour_g / 100
        return tuple(Row(line, percent, percent * scale) for line, percent in self.formula.later.items())

    @property
    def plain_dough_g(self) -> float:
        """The dough before the late additions, which may be divided before they go in."""
        return self.dough_g - sum(row.mass_g for row in self.later)

    # -- rounding --------------------------------------------------------------------------------------------------

    def rounded(
        self,
        steps: Mapping[str, Measure] | Measure,
        *,
        mode: str = "nearest",
        minimum: Mapping[str, Measure] | Measure | None = None,
    ) -> Batch:
        """Round every weight to what the scale can show, and keep the drift of every percentage.

        Salt, yeast, culture and improvers go to their nearest step; the other lines are rounded down and the missing
        steps handed to those with the largest remainders, so that each line moves by less than one step and a total by
        at most half the coarsest.  Stages are rounded first and the final dough takes the difference, of each ingredient
        and in all: its largest line moves further where no other can make up for them.  A stage's line in the final
        dough is the sum of its rounded parts, less what is taken out of it.

        Args:
            steps: the scale's step, or ingredient -> step with ``"default"`` for the rest.
            mode: ``"nearest"``; ``"up"`` or ``"down"`` moves every line that way.
            minimum: the least the scale weighs well, or ingredient -> least with ``"default"`` for the rest; a line below
                it brings a caution with a dilution and the size of batch that would do.

        Raises:
            FormulaError: a step of zero, no default, an unknown mode or name.

        Example:
            >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70, "salt": 2})
            >>> [row.mass_g for row in loaf.scale(dough="1 kg").rounded("5 g").rows]
            [580.0, 410.0, 10.0]
        """
        exact = self.exact_g or self.masses_g
        least = _NO_MINIMUM if minimum is None else Lines(read_steps(self.formula, minimum, "minimum", "a weight"))
        masses_g = rounded_masses(self.formula, exact, steps, mode)
        return evolve(self, masses_g=masses_g, exact_g=exact, minimum_g=least)

    def with_flour_up_to(self, step: Measure) -> Batch:
        """Return a batch with all the flour rounded up to a step, as teaching texts do so as not to run short.

        Rounding the factor, dough / total percentage, up to a decimal is the same with a step of a hundred times it.

        Args:
            step: the flour becomes a whole number of these.

        Raises:
            FormulaError: a step that is no weight above zero.

        Example:
            >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 66.25, "salt": 2})
            >>> round(loaf.scale(dough="150 lb").with_flour_up_to("10 lb").dough.m_as("lb"), 3)
            151.425
        """
        step_g = read_steps(self.formula, step, "step")["default"]
        return self.formula.scale(flour=write(MASS, math.ceil(self.flour_g / step_g - 1e-9) * step_g))

    @property
    def drift(self) -> Lines[float]:
        """How far rounding moved every overall percentage, in percentage points; all zero for an exact batch."""
        per_flour = 100 / self.flour_g if self.flour_g else 0.0
        return Lines((row.name, row.mass_g * per_flour - row.percent) for row in self.rows)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What to know before weighing: lines that rounding moved by a tenth of themselves, or too small to weigh."""
        found: list[Caution] = []
        for row, points in zip(self.rows, self.drift.values(), strict=True):
            if row.percent > 0 and abs(points) > 0.1 * row.percent:
                change = f"{shown(row.percent)} % to {shown(row.percent + points)} %"
                text = f"rounding moves {row.name} from {change}: use a finer scale, a dilution or a larger batch"
                found.append(Caution("coarse-scale", text))
        if self.minimum_g:
            exact = evolve(self, masses_g=self.exact_g or self.masses_g, exact_g=())
            found += too_small(exact.stages.values(), self.minimum_g, self.formula.catalogue, exact.dough_g)
        return tuple(found)

    # -- showing ---------------------------------------------------------------------------------------------------

    def working(self) -> Working:
        """Return how the weights come about, from what the batch was asked for to each line and, rounded, to the scale."""
        exact = evolve(self, masses_g=self.exact_g, exact_g=()) if self.exact_g else self
        flour_g = exact.flour_g
        steps = list(exact._flour_steps(flour_g))  # noqa: SLF001 - of the same class
        lines = {f"m{number}": row for number, row in enumerate(exact.rows, 1)}
        for (name, row), p in zip(lines.items(), self._percent_names(), strict=True):
            values = {"flour": flour_g, p: row.percent}
            steps.append(Step(name, f"flour * {p} / 100", values, row.mass_g, "g", note=row.name, units={p: "%"}))
        values = {name: row.mass_g for name, row in lines.items()}
        steps.append(Step("dough", " + ".join(values), values, exact.dough_g, "g", note="all lines together"))
        if self.exact_g:
            values = {f"w{number}": row.mass_g for number, row in enumerate(self.final.rows, 1)}
            note = f"the final dough as the scale shows it: {', '.join(row.name for row in self.final.rows)}"
            units = dict.fromkeys(values, "g")
            steps.append(Step("weighed", " + ".join(values), values, self.dough_g, "g", note=note, units=units))
        return Working(f"{self.formula.name}: {shown(self.dough_g / 1000)} kg of dough", tuple(steps), self.cautions)

    def _percent_names(self) -> list[str]:
        return [f"p{number}" for number in range(1, len(self.formula.percents) + 1)]

    def _flour_steps(self, flour_g: float) -> Iterator[Step]:
        """Show how all the flour follows from what was asked for."""
        if self.asked == "flour":
            yield Step("flour", "flour", {"flour": self.asked_g}, flour_g, "g", note="asked for", units={"flour": "g"})
            return
        if self.asked.startswith("using "):
            line = self.asked.removeprefix("using ")
            p = self._percent_names()[list(self.formula.percents).index(line)]
            values = {"at_hand": self.asked_g, p: self.formula.percents[line]}
            note, units = f"{line} sets the batch", {"at_hand": "g", p: "%"}
            yield Step("flour", f"100 * at_hand / {p}", values, flour_g, "g", note=note, units=units)
            return
        if self.baked_g:
            *before, mixed = self.losses.dough_for(write(MASS, self.baked_g)).working().steps
            yield from before
            values = {"pieces": float(self.pieces), **mixed.values}
            units = {"pieces": "1", **mixed.units}
            yield Step("dough", f"pieces * {mixed.expression}", values, self.dough_g, "g", note="to mix", units=units)
        elif self.pieces:
            values = {"pieces": float(self.pieces), "piece": self.piece_g, "kept": self.losses.before_divider_left}
            expression, note = "pieces * piece / kept", "to mix; kept: what is left of it at the divider"
            if values["kept"] == 1:
                # Nothing is lost on the way to the divider.
                del values["kept"]
                expression, note = "pieces * piece", "to mix"
            units = with_grams(values, "piece")
            yield Step("dough", expression, values, self.dough_g, "g", note=note, units=units)
        total = self.formula.total_percent
        percents = self._percents()
        units = dict.fromkeys(percents, "%")
        yield Step("total", " + ".join(percents), percents, total, "%", note="the total percentage", units=units)
        values = {"dough": self.dough_g, "total": total}
        yield Step("flour", "100 * dough / total", values, flour_g, "g", note="all the flour", units={"dough": "g"})

    def _percents(self) -> dict[str, float]:
        return dict(zip(self._percent_names(), self.formula.percents.values(), strict=True))

    def __str__(self) -> str:
        """Return the batch as weigh sheets, a stage at a time."""
        out = [f"{self.formula.name}: {shown(self.dough_g / 1000)} kg of dough"]
        for stage in self.stages.values():
            width = max(len(row.name) for row in stage.rows)
            out += ["", stage.name]
            out += [
                f"  {row.name:<{width}}  {shown(row.mass_g):>10} g  {shown(row.percent):>8} %" for row in stage.rows
            ]
        return "\n".join(out)

    def _repr_html_(self) -> str:
        """Return its weigh sheets for a notebook."""
        from .sheet import notebook_html  # noqa: PLC0415 - drawn by a face, only where a notebook asks for it

        return notebook_html(self)


def scaled(
    formula: Formula,
    dough: Measure | None,
    flour: Measure | None,
    pieces: int | None,
    piece: Measure | None,
    baked: Measure | None,
    losses: Losses | None,
    using: Mapping[str, Measure] | None,
) -> Batch:
    """Scale a formula; see ``Formula.scale``, which calls this."""
    others = (flour, pieces, piece, baked, losses, using)
    if dough is not None and all(other is None for other in others):
        grams = read(MASS, dough, "dough")
        if grams > 0:
            return _batch(formula, grams / formula.total_percent, "dough", grams)
    ways = {"dough": dough, "flour": flour, "pieces": pieces, "using": using}
    given = [way for way, value in ways.items() if value is not None]
    door = Door(FormulaError)
    if len(given) != 1:
        door.refuse("scale", " and ".join(given) or "nothing", "one of dough=, flour=, pieces=, using=")
    elif given != ["pieces"] and any(other is not None for other in (piece, baked, losses)):
        door.refuse("scale", "a piece weight or losses without pieces", "pieces= with it")
    door.close()
    if pieces is not None:
        return _in_pieces(formula, pieces, piece, baked, losses)
    if using is not None:
        return _limited(formula, using)
    way, amount = ("flour", flour) if flour is not None else ("dough", dough)
    grams = door.read(MASS, amount, way) if amount is not None else 0.0
    if grams == 0:
        door.refuse(way, "0 g", "a weight above zero")
    door.close()
    return _batch(formula, grams / 100, way, grams)


def _batch(formula: Formula, per_percent: float, asked: str, asked_g: float) -> Batch:
    return Batch(
        formula,
        tuple([percent * per_percent for column in formula.table.columns for percent in column.percents]),
        asked,
        asked_g,
    )


def _in_pieces(
    formula: Formula, pieces: int, piece: Measure | None, baked: Measure | None, losses: Losses | None
) -> Batch:
    door = Door(FormulaError)
    own = formula.losses if losses is None else losses
    if isinstance(pieces, bool) or not isinstance(pieces, int) or pieces < 1:  # pyright: ignore[reportUnnecessaryIsInstance]
        door.refuse("pieces", repr(pieces), "a whole number of at least 1")
    if (piece is None) == (baked is None):
        got = "neither a piece weight nor a baked weight" if piece is None else "a piece weight and a baked weight"
        door.refuse("scale", got, "one of piece= and baked=", "piece= is on the divider's scale, baked= is when sold")
    measure, where = (piece, "piece") if piece is not None else (baked, "baked")
    grams = door.read(MASS, measure, where) if measure is not None else 0.0
    if measure is not None and grams == 0:
        door.refuse(where, "0 g", "a weight above zero")
    door.close()
    baked_g = 0.0
    if where == "baked":
        baked_g = grams
        grams = own.dough_for(write(MASS, baked_g)).scaling_weight_g
    dough_g = pieces * grams / own.before_divider_left
    whole = _batch(formula, dough_g / formula.total_percent, "pieces", dough_g)
    return evolve(whole, pieces=pieces, piece_g=grams, baked_g=baked_g, losses=own)


def _limited(formula: Formula, using: Mapping[str, Measure]) -> Batch:
    door = Door(FormulaError)
    factors: list[tuple[float, str, float]] = []
    for name, amount in using.items():
        grams = door.read(MASS, amount, f"using: {name}")
        try:
            percent = formula.percent(name)
        except UnknownNameError as error:
            door.faults.extend(error.faults)
            continue
        if grams == 0 or percent == 0:
            got = f"{shown(grams)} g at {shown(percent)} %"
            door.refuse(f"using: {name}", got, "a weight and a percentage above zero")
        else:
            factors.append((grams / percent, formula.line(name), grams))
    if not using:
        door.refuse("using", "nothing", "at least one ingredient and its weight")
    door.close()
    factor, name, grams = min(factors)
    return _batch(formula, factor, f"using {name}", grams)
