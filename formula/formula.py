"""The formula: a bread in baker's percentages, all the flour being 100.

A ``Formula`` holds the overall formula and the sizes of its stages; everything else (the final dough, true
percentages, hydration, pre-fermented flour) follows from the ingredient-by-stage table and is worked out when asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Any, ClassVar, Unpack, cast

from attrs import field, frozen

from .catalogue import Catalogue
from .errors import Fault, FormulaError, Gathered, UnknownNameError
from .facts import Facts, ReadFacts, read_facts
from .lines import Lines
from .losses import NO_LOSSES, Losses
from .moisture import dough_yield_percent, hydration_percent
from .notation import stages_alone, table_from_final, table_from_overall
from .part import check_flour, flours_of
from .quantity import SHARE, TEMPERATURE, Measure, OptionalView, View
from .stage import Amounts, Stage, base_of, on_base, percent_lines
from .table import Table
from .working import Step, Working, shown

if TYPE_CHECKING:
    from .batch import Batch

__all__ = ["Formula"]


@frozen
class Formula:
    """A bread in baker's percentages; make one with ``from_percents``, ``from_weights`` or ``from_stages``.

    Every number inside is a percentage of all the flour (bare), and nothing else.  A formula never changes; two
    formulas with the same lines are equal in whatever order the lines were written.

    Example:
        >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70, "salt": 2, "fresh yeast": 0.8})
        >>> loaf.total_percent
        172.8
    """

    name: str
    percents: Lines[float]
    stages: tuple[Stage, ...] = ()
    named_flours: tuple[str, ...] = ()
    catalogue: Catalogue = field(factory=Catalogue)
    losses: Losses = NO_LOSSES
    dough_temperature_c: float | None = None
    toppings_g: Lines[float] = field(factory=Lines)
    later: Lines[float] = field(factory=Lines)
    reject_share: float = 0.0

    # -- ways in ---------------------------------------------------------------------------------------------------

    @classmethod
    def from_percents(
        cls,
        name: str,
        percents: Mapping[str, float],
        *,
        stages: Iterable[Stage] = (),
        **facts: Unpack[Facts],
    ) -> Formula:
        """Make a formula from overall baker's percentages and the sizes of its stages.

        Args:
            name: the bread's name.
            percents: ingredient -> percentage of all the flour, bare numbers; the flours sum to 100.
            stages: preferments, soakers and so on, each with its own lines and its size.
            facts: ``flours``: the lines that make the 100 %, if not those that the catalogue counts as flour;
                ``catalogue``: what the names mean; ``losses``: from the mixer to the shelf; ``dough_temperature``: the
                desired one; ``toppings``: ingredient -> weight per piece, outside the dough; ``later``: ingredient -> the
                percentage of it that goes in after the dough is mixed, as held-back water or fruit; ``reject``: the
                share of pieces sorted out after baking.

        Raises:
            FormulaError: no line, flours that do not sum to 100, a number that is negative or not finite.
            UnknownNameError: names that the catalogue does not know, with the nearest that it does.
            ContradictionError: a stage that takes more than there is, a circle of stages, an ingredient twice.

        Example:
            >>> biga = Stage("biga", {"bread flour": 100, "water": 55, "fresh yeast": 0.2}, flour="40 %")
            >>> overall = {"bread flour": 100, "water": 70, "salt": 2, "fresh yeast": 0.8}
            >>> Formula.from_percents("Biga loaf", overall, stages=[biga]).final["water"]
            80.0
        """
        lines, in_grams = percent_lines(percents, _label(name))
        if in_grams:
            raise FormulaError(
                Fault(_label(name), "weights", "baker's percentages as bare numbers", "use from_weights")
            )
        return cls._made(name, lines, tuple(stages), facts, flour_told=True)

    @classmethod
    def from_weights(
        cls,
        name: str,
        weights: Mapping[str, Measure],
        *,
        stages: Iterable[Stage] = (),
        **facts: Unpack[Facts],
    ) -> Formula:
        """Make a formula from the weights of all that goes in: percentage = 100 x weight / weight of the flours.

        Args:
            name: the bread's name.
            weights: ingredient -> weight, all together, stages included.
            stages: stages whose lines are percentages with a size, or weights on the same footing as ``weights``.
            facts: as in ``from_percents``.

        Raises:
            FormulaError: no flour among the lines, a bare number, a weight that cannot be read.

        Example:
            >>> loaf = Formula.from_weights("Loaf", {"bread flour": "12 kg", "water": "8.1 kg", "salt": "240 g"})
            >>> loaf.percent("water"), loaf.percent("salt")
            (67.5, 2.0)
        """
        lines, in_grams = percent_lines(weights, _label(name))
        if not in_grams:
            raise FormulaError(Fault(_label(name), "bare numbers", "weights with their unit", "use from_percents"))
        larder, named = _meaning(facts)
        base = flours_of(lines, larder, named, _label(name))
        flour_g = sum(lines[line] for line in base)
        percents = on_base(lines, base)
        _, sized = table_from_overall(percents, tuple(stages), larder, named, flour_g=flour_g)
        return cls._made(name, percents, sized, facts)

    @classmethod
    def from_stages(
        cls,
        name: str,
        final: Amounts,
        stages: Mapping[str, Amounts] | Iterable[Stage],
        **facts: Unpack[Facts],
    ) -> Formula:
        """Make a formula from a final dough that lists its stages as lines.

        Args:
            name: the bread's name.
            final: the final dough: bare numbers on its own flour, or weights; a line named like a stage means the stage.
            stages: name -> lines, or ``Stage`` objects without a size; each in percentages or in weights of its own.
            facts: as in ``from_percents``.

        Raises:
            FormulaError: a stage that nothing uses, a final dough whose flours do not sum to 100.

        Example:
            >>> poolish = {"bread flour": 100, "water": 100}
            >>> final = {"bread flour": 100, "water": 55, "poolish": 90}
            >>> loaf = Formula.from_stages("Loaf", final=final, stages={"poolish": poolish})
            >>> round(loaf.prefermented_flour_percent, 3)
            31.034
        """
        lines, in_grams = percent_lines(final, _label(name))
        larder, named = _meaning(facts)
        built = _built(stages)
        if not in_grams:
            known = {stage.name for stage in built}
            straight = Lines((line, percent) for line, percent in lines.items() if line not in known)
            tried = Gathered()
            tried.attempt(lambda: check_flour(straight, larder, named, f"{_label(name)}, final dough"))
            if not tried.is_clean:
                tried.attempt(lambda: stages_alone(straight, built, larder, named))
            tried.close()
        table, sized = table_from_final(lines, built, larder, named)
        return cls._made(name, table.overall, sized, facts)

    @classmethod
    def _made(
        cls, name: str, lines: Lines[float], stages: tuple[Stage, ...], facts: Facts, *, flour_told: bool = False
    ) -> Formula:
        """Check everything by building the table once, tell of all that is wrong, and keep the completed lines."""
        catalogue, flours = _meaning(facts)
        label = _label(name)
        tried = Gathered()
        if flour_told:
            # Percentages say what the flours sum to; weights and final doughs are divided by it.
            known = {stage.name for stage in stages}
            plain = Lines((line, percent) for line, percent in lines.items() if line not in known)
            tried.attempt(lambda: check_flour(plain, catalogue, flours, label))
        if tried.is_clean:
            made = tried.attempt(lambda: table_from_overall(lines, stages, catalogue, flours))
        else:
            # What stages take of a formula that does not sum to 100 says nothing; what is wrong in them does.
            made = tried.attempt(lambda: stages_alone(lines, stages, catalogue, flours))
        column = made[0].columns[-1] if made else None
        final = dict(zip(column.lines, column.percents, strict=True)) if column else None
        bread = tried.attempt(lambda: read_facts(facts, catalogue, final, label))
        tried.close()
        table, ready = cast("tuple[Table, tuple[Stage, ...]]", made)
        return cls(name, table.overall, ready, flours, catalogue, **cast("ReadFacts", bread))

    # -- what follows from it --------------------------------------------------------------------------------------

    @cached_property
    def table(self) -> Table:
        """The ingredient-by-stage table, per 100 of all the flour."""
        return table_from_overall(self.percents, self.stages, self.catalogue, self.named_flours)[0]

    @cached_property
    def total_percent(self) -> float:
        """The sum of all lines of the overall formula, in percent of the flour."""
        return sum(self.percents.values())

    @cached_property
    def flours(self) -> tuple[str, ...]:
        """The lines that make the 100 %."""
        return base_of(self.percents, self.catalogue, self.named_flours, final=True)

    dough_temperature: ClassVar[OptionalView] = OptionalView(
        TEMPERATURE, "dough_temperature_c", "The desired dough temperature, if the formula says one."
    )
    reject: ClassVar[View] = View(SHARE, "reject_share", "The share of pieces that is sorted out after baking.")

    def line(self, name: str) -> str:
        """Return the line that a name or alias means.

        Raises:
            UnknownNameError: when the formula has no such line, naming those it has.
        """
        if name in self.percents:
            return name
        try:
            meant = self.catalogue.find(name).name
        except UnknownNameError:
            meant = ""
        for line in self.percents:
            if meant and self.catalogue.find(line).name == meant:
                return line
        raise UnknownNameError(Fault(_label(self.name), repr(name), f"one of its lines: {', '.join(self.percents)}"))

    def percent(self, name: str) -> float:
        """Return an ingredient's baker's percentage in the overall formula.

        Raises:
            UnknownNameError: when the formula has no such line.

        Example:
            >>> Formula.from_percents("Loaf", {"bread flour": 100, "water": 70}).percent("water")
            70.0
        """
        return self.percents[self.line(name)]

    def true_percent(self, name: str) -> float:
        """Return an ingredient's share of the whole dough: 100 x percentage / total percentage.

        Raises:
            UnknownNameError: when the formula has no such line.
        """
        return 100 * self.percent(name) / self.total_percent

    @property
    def true_percents(self) -> Lines[float]:
        """Every line's share of the whole dough; they sum to 100."""
        return Lines((line, 100 * percent / self.total_percent) for line, percent in self.percents.items())

    @property
    def final(self) -> Lines[float]:
        """The final dough's lines, stages among them, in percent of the final dough's own flour.

        Raises:
            FormulaError: when all the flour is prefermented, so that the final dough has none to count on.
        """
        column = self.table.columns[-1]
        flour = sum(p for line, p in zip(column.lines, column.percents, strict=True) if line in self.flours)
        if flour <= 0:
            fix = "use the overall percentages, or weights"
            raise FormulaError(Fault(_label(self.name), "all the flour in stages", "flour in the final dough", fix))
        return Lines((line, 100 * percent / flour) for line, percent in zip(column.lines, column.percents, strict=True))

    @property
    def prefermented_flour_percent(self) -> float:
        """The same as ``prefermented_flour``, with its unit in the name."""
        return self.prefermented_flour

    @property
    def prefermented_flour(self) -> float:
        """The flour in all preferments per 100 of all the flour, a split culture's flour included."""
        return self.table.fermented_flour

    def hydration(self, way: str = "added") -> float:
        """Return the hydration in percent of the flour, counted in one of three ways.

        Args:
            way: ``"added"``: water alone; ``"liquid"``: water, milk, egg and other liquids at full weight;
                ``"content"``: the water in everything but the flour itself, by the composition table.

        Raises:
            FormulaError: for another way, or by content when an ingredient's water is not known.

        Example:
            >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 25, "whole milk": 40, "egg": 10})
            >>> loaf.hydration("added"), loaf.hydration("liquid"), round(loaf.hydration("content"), 1)
            (25.0, 75.0, 67.9)
        """
        return hydration_percent(self.percents, self.flours, self.catalogue, way)

    @property
    def dough_yield_percent(self) -> float:
        """The dough yield of the German trade (TA): flour and liquid per 100 flour; 160 is 60 % of liquid."""
        return dough_yield_percent(self.percents, self.flours, self.catalogue)

    # -- ways out --------------------------------------------------------------------------------------------------

    def scale(
        self,
        *,
        dough: Measure | None = None,
        flour: Measure | None = None,
        pieces: int | None = None,
        piece: Measure | None = None,
        baked: Measure | None = None,
        losses: Losses | None = None,
        using: Mapping[str, Measure] | None = None,
    ) -> Batch:
        """Turn the formula into weights.

        Args:
            dough: the weight of dough to mix; or
            flour: the weight of all the flour; or
            pieces: a whole number of pieces, with
            piece: the weight of each on the divider's scale, or
            baked: the weight of each when sold, with
            losses: the losses on the way; the formula's own if left out; or
            using: ingredient -> weight at hand; the scarcest of them sets the batch.

        Returns:
            The batch, with every weight in every stage.

        Raises:
            FormulaError: when not exactly one of the four ways is given, or a weight is zero.

        Example:
            >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70, "salt": 2, "fresh yeast": 0.8})
            >>> loaf.scale(dough="93 kg").mass_g("water")
            37673.6111...
        """
        from .batch import scaled  # noqa: PLC0415 - a batch is made of a formula; only this call looks upwards

        return scaled(self, dough, flour, pieces, piece, baked, losses, using)

    def working(self) -> Working:
        """Return how the total, and with stages the final dough, come about."""
        names = [f"p{number}" for number in range(1, len(self.percents) + 1)]
        legend = ", ".join(f"{symbol} {line}" for symbol, line in zip(names, self.percents, strict=True))
        values = dict(zip(names, self.percents.values(), strict=True))
        units = dict.fromkeys(names, "%")
        total = Step("total", " + ".join(names), values, self.total_percent, "%", note=legend, units=units)
        return Working(f"{self.name}: the total percentage", (total,))

    def __str__(self) -> str:
        """Return the formula as a short table."""
        width = max(len(line) for line in self.percents)
        rows = [f"{line:<{width}}  {shown(percent):>8} %" for line, percent in self.percents.items()]
        return "\n".join([self.name, *rows, f"{'total':<{width}}  {shown(self.total_percent):>8} %"])

    def _repr_html_(self) -> str:
        """Return the tables of its sheet for a notebook."""
        from .sheet import notebook_html  # noqa: PLC0415 - drawn by a face, only where a notebook asks for it

        return notebook_html(self)


def _label(name: Any) -> str:  # noqa: ANN401 - a wrong name is told of here
    if not isinstance(name, str) or not name.strip():
        raise FormulaError(Fault("name", repr(name), "the bread's name as text"))
    return f"formula {name!r}"


def _meaning(facts: Facts) -> tuple[Catalogue, tuple[str, ...]]:
    flours = facts.get("flours") or ()
    return facts.get("catalogue") or Catalogue(), (flours,) if isinstance(flours, str) else tuple(flours)


def _built(stages: Mapping[str, Amounts] | Iterable[Stage]) -> tuple[Stage, ...]:
    if isinstance(stages, Mapping):
        named = cast("Mapping[str, Amounts]", stages)
        return tuple(Stage(name, lines) for name, lines in named.items())
    return tuple(stages)
