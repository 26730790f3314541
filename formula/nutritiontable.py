"""The nutrition table of a bread: what 100 g of the loaf and a serving of it hold, by the rules of the EU or of the USA.

Every figure is the sum over the ingredients of weight x figure, divided by the weight of the finished loaf: only water
leaves between mixer and shelf, so whatever is lost there makes all other figures larger.  An ingredient without a figure
leaves a gap: the table then says "at least" and names it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any, ClassVar, Final

from attrs import evolve, frozen

from .energyfactors import SOLUBLE_FIBRE
from .errors import Fault, UnknownNameError, cited
from .finished import FinishedLoaf, Ingoing
from .labelrounding import TIES, rounded, rounding_of
from .legalnames import REGION_WORDS, Region
from .lines import Lines
from .nutrients import EnergyWay, TapWater, figure_steps, ingredient_figures
from .quantity import MASS, OptionalView
from .readerunits import with_units
from .sources import source
from .tablefigure import Nutrient, NutritionRow
from .working import Caution, Step, Working, shown, summed_steps

__all__ = ["Nutrition", "figures_of"]

_ORDER: Final[Mapping[Region, str]] = {"eu": "eu-1169-2011-annex-xv", "us": "us-label-2016-memory"}
_DAILY: Final = "us-daily-values-2016"


@frozen
class Nutrition:
    """The nutrition table of a bread, per 100 g and per serving, as a draft.

    ``nutrients`` are its figures in the order of the region; ``loaf`` is what they are reckoned from.
    """

    bread: str
    region: Region
    way: EnergyWay
    tap_water: TapWater
    loaf: FinishedLoaf
    flours: tuple[str, ...]
    supplied: Lines[Lines[float]]
    serving_g: float | None
    nutrients: tuple[Nutrient, ...]
    cautions: tuple[Caution, ...] = ()

    serving: ClassVar[OptionalView] = OptionalView(
        MASS, "serving_g", "A serving of the bread; None where none is told."
    )

    def figure(self, key: str) -> Nutrient:
        """Return one figure of the table.

        Args:
            key: its name with its unit, such as "fat_g", "energy_kcal" or "salt_g".

        Raises:
            UnknownNameError: when the region's table has no such figure.
        """
        for nutrient in self.nutrients:
            if nutrient.key == key:
                return nutrient
        raise UnknownNameError(Fault("figure", cited(key), f"one of {', '.join(each.key for each in self.nutrients)}"))

    @property
    def per_100_g(self) -> Lines[float | None]:
        """Every figure for 100 g of the loaf by its key, not rounded; None where an ingredient leaves a gap."""
        return Lines((each.key, each.per_100_g) for each in self.nutrients)

    @property
    def per_serving(self) -> Lines[float | None] | None:
        """Every figure for a serving by its key, not rounded; None without a serving."""
        mass_g = self.serving_g
        return None if mass_g is None else Lines((each.key, each.in_mass(mass_g)) for each in self.nutrients)

    @property
    def water_percent(self) -> float | None:
        """The water in 100 g of the loaf; None where the water of an ingredient is not known."""
        return self.loaf.water_percent

    @property
    def solids_percent(self) -> float | None:
        """What is not water in 100 g of the loaf."""
        return self.loaf.solids_percent

    @property
    def baked_hydration_percent(self) -> float | None:
        """The hydration of the loaf: what is left of the water that came with all but the flour, in percent of the flour.

        It is the dough's ``hydration("content")`` less the water lost; the flour's own water is not in it.
        """
        flour_g = math.fsum(each.mass_g for each in self.loaf.ingoing if each.name in self.flours)
        waters = [each.water_g for each in self.loaf.ingoing if each.name not in self.flours]
        known = [water for water in waters if water is not None]
        if len(known) < len(waters) or not flour_g:
            return None
        return 100 * (math.fsum(known) - self.loaf.lost_g) / flour_g

    @property
    def rules(self) -> tuple[str, ...]:
        """The ids of the sources of all rules that the table follows."""
        roundings = (rounding_of(each.key, self.region).source for each in self.nutrients)
        factors = (SOLUBLE_FIBRE.source,) if self.way == "less fibre" else ()
        daily = (_DAILY,) if self.region == "us" else ()
        ids = (
            _ORDER[self.region],
            *(each.source for each in self.nutrients),
            *factors,
            *roundings,
            TIES[self.region],
            *daily,
        )
        return tuple(dict.fromkeys(ids))

    @property
    def rows(self) -> tuple[NutritionRow, ...]:
        """The table as text, a row a figure; the two energies of the EU share one."""
        rows = [self._row(each) for each in self.nutrients]
        if self.region == "us":
            return tuple(rows)
        kj, kcal, *others = rows
        per_serving = f"{kj.per_serving} / {kcal.per_serving}" if self.serving_g is not None else ""
        return (NutritionRow(kj.words, f"{kj.per_100_g} / {kcal.per_100_g}", per_serving, ""), *others)

    def _row(self, nutrient: Nutrient) -> NutritionRow:
        mass_g = self.serving_g
        percent = None if mass_g is None else nutrient.daily_percent(mass_g)
        return NutritionRow(
            nutrient.words,
            nutrient.text(100.0, self.region),
            "" if mass_g is None else nutrient.text(mass_g, self.region),
            "" if percent is None else rounded(nutrient.daily_rounding, percent, self.region, "%").text,
        )

    def to_tables(self) -> dict[str, Any]:
        """Return the table as plain tables, for JSON: amounts are not rounded, ``label`` is how they are written."""
        mass_g = self.serving_g
        return {
            "bread": self.bread,
            "region": self.region,
            "energy": self.way,
            "draft": True,
            "serving_g": mass_g,
            "finished_g": self.loaf.finished_g,
            "water_percent": self.water_percent,
            "solids_percent": self.solids_percent,
            "baked_hydration_percent": self.baked_hydration_percent,
            "figures": {
                each.key: {
                    "words": each.words,
                    "per_100_g": each.per_100_g,
                    "at_least_per_100_g": each.least_per_100_g,
                    "not_known_for": list(each.gaps),
                    "label_per_100_g": each.text(100.0, self.region),
                    "per_serving": None if mass_g is None else each.in_mass(mass_g),
                    "label_per_serving": None if mass_g is None else each.text(mass_g, self.region),
                    "percent_daily_value": None if mass_g is None else each.daily_percent(mass_g),
                    "label_percent_daily_value": self._row(each).daily_value or None,
                    "rule": each.source,
                }
                for each in self.nutrients
            },
            "rules": {name: str(source(name)) for name in self.rules},
        }

    def working(self) -> Working:
        """Show the steps; the last line is the energy in kcal, of a serving where there is one."""
        steps = [*self.loaf.steps(), *(self.loaf.water_steps() if self.loaf.water_g is not None else ())]
        for number, each in numbered(self.loaf):
            if each.ingredient.kind != "water":
                found = figure_steps(each.ingredient, self.way, number).values()
                steps += [evolve(step, note=_note(each.name, step.note)) for step in found if step and step.value]
        figures = figures_of(self.loaf, self.way, self.tap_water, self.supplied)
        # Energy comes last: it is made of the others.
        for nutrient in sorted(self.nutrients, key=lambda each: each.key == "energy_kcal"):
            steps += self._steps(nutrient, figures)
        return Working(
            f"{self.bread}: nutrition, {self.region.upper()}", with_units(steps, self._told()), self.cautions
        )

    def _told(self) -> dict[str, str]:
        """Return the units of the names in the working: figures for 100 g of an ingredient, factors and daily values."""
        told = {"g": "serving m", "1": "n_factor", "kcal/g": "factor"}
        figures = {
            "g": "table by_difference share fat_g fibre_g ash_g protein_g carbohydrate_g",
            "mg": "sodium_mg",
            "kcal": "table_kcal energy_kcal",
        }
        for each in self.nutrients:
            figures[each.unit] = f"{figures.get(each.unit, '')} {each.key}"
            told[f"{each.unit}/day"] = f"{told.get(f'{each.unit}/day', '')} {each.key}_daily"
        return told | {f"{unit}/100 g": names for unit, names in figures.items()}

    def _steps(self, nutrient: Nutrient, figures: Mapping[str, Lines[float | None]]) -> Iterator[Step]:
        """Show one figure: weights times figures, over the weight of the loaf; then a serving, and its daily value."""
        key = nutrient.key
        names: dict[str, float] = {}
        terms: dict[str, float] = {}
        for number, each in numbered(self.loaf):
            if value := figures[each.name][key]:
                names |= {f"m{number}": each.mass_g, f"{key}{number}": value}
                terms[f"m{number} * {key}{number}"] = each.mass_g * value
        unit, mass_g = f"{nutrient.unit}/100 g", self.serving_g
        note = (
            f"at least: not known for {', '.join(nutrient.gaps)}"
            if nutrient.gaps
            else _label_note(nutrient, 100.0, self.region)
        )
        if not terms:
            yield Step(key, "0", {}, nutrient.least_per_100_g, unit, nutrient.source, note)
        else:
            sums, total = summed_steps(f"{key}_sum", terms, names, f"{nutrient.unit}/100")
            yield from sums
            values = {f"{key}_sum": total, "finished": self.loaf.finished_g}
            value = nutrient.least_per_100_g
            yield Step(key, f"max(0, {key}_sum) / finished", values, value, unit, nutrient.source, f"in 100 g; {note}")
        if mass_g is None:
            return
        held = nutrient.least_per_100_g * mass_g / 100
        values = {key: nutrient.least_per_100_g, "serving": mass_g}
        percent = nutrient.daily_percent(mass_g)
        if percent is not None and nutrient.daily is not None:
            daily = {key: nutrient.least_per_100_g, "serving": mass_g, f"{key}_daily": nutrient.daily}
            text = rounded(nutrient.daily_rounding, percent, self.region, "%")
            expression = f"100 * {key} * serving / 100 / {key}_daily"
            yield Step(
                f"{key}_percent", expression, daily, percent, "%", _DAILY, f"on the label {text.text} ({text.source})"
            )
        note = "at least" if nutrient.gaps else _label_note(nutrient, mass_g, self.region)
        yield Step(
            f"{key}_serving",
            f"{key} * serving / 100",
            values,
            held,
            f"{nutrient.unit}/serving",
            "",
            f"in a serving; {note}",
        )

    def __str__(self) -> str:
        """Return the table as text."""
        return self.text()

    def text(self) -> str:
        """Return the table as plain text: draft, figures, water, cautions."""
        head = ["", "100 g", *([f"{shown(self.serving_g)} g"] if self.serving_g is not None else [])]
        cells = [[row.words, row.per_100_g, row.per_serving, row.daily_value] for row in self.rows]
        if self.region == "us" and self.serving_g is not None:
            head.append("daily value")
        table = [head, *(row[: len(head)] for row in cells)]
        widths = [max(len(row[place]) for row in table) for place in range(len(head))]
        lines = [f"{self.bread}: nutrition by the rules of {REGION_WORDS[self.region]}, a draft", ""]
        for row in table:
            first, *others = (cell.rjust(width) for cell, width in zip(row, widths, strict=True))
            lines.append("  ".join((first.lstrip().ljust(widths[0]), *others)).rstrip())
        lines += ["", *self.loaf_words, *(f"Caution: {caution.text}" for caution in self.cautions)]
        return "\n".join(lines) + "\n"

    @property
    def line(self) -> str:
        """The table in one line, as a label without room for a table has it, for 100 g or in the USA for the serving."""
        is_us = self.region == "us"
        figures = (f"{row.words} {row.per_serving if is_us else row.per_100_g}" for row in self.rows)
        mass_g = self.serving_g if is_us and self.serving_g is not None else 100.0
        return f"{shown(mass_g)} g: {', '.join(figures)}"

    @property
    def loaf_words(self) -> tuple[str, ...]:
        """Water, solids and hydration of the loaf in one sentence; nothing where they are not known."""
        if self.water_percent is None or self.solids_percent is None or self.baked_hydration_percent is None:
            return ()
        shares = [shown(value, 3) for value in (self.water_percent, self.solids_percent, self.baked_hydration_percent)]
        return (f"The loaf: {shares[0]} % water, {shares[1]} % solids, baked hydration {shares[2]} % of the flour.",)


def numbered(loaf: FinishedLoaf) -> Iterator[tuple[str, Ingoing]]:
    """Number the ingredients as the steps of the loaf do."""
    return ((str(number), each) for number, each in enumerate(loaf.ingoing, 1))


def figures_of(
    loaf: FinishedLoaf, way: EnergyWay, tap_water: TapWater, supplied: Lines[Lines[float]]
) -> dict[str, Lines[float | None]]:
    """Return what 100 g of each ingredient of a loaf bring.

    Args:
        loaf: the finished loaf.
        way: how energy is reckoned, and with it the region.
        tap_water: what water counts as.
        supplied: what suppliers told, by ingredient.
    """
    return {
        each.name: ingredient_figures(each.ingredient, way, tap_water, supplied.get(each.name, Lines()))
        for each in loaf.ingoing
    }


def _note(name: str, words: str) -> str:
    return f"in 100 g of {name}; {words}" if words else f"in 100 g of {name}"


def _label_note(nutrient: Nutrient, mass_g: float, region: Region) -> str:
    return f"on the label {nutrient.text(mass_g, region)} ({rounding_of(nutrient.key, region).source})"
