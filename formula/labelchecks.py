"""Other checks beside a label: salt against a target, the class for acrylamide, rich dough held warm.

They inform; none of them allows or forbids anything.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import partial
from itertools import pairwise
from typing import ClassVar, Final, Literal, get_args

from attrs import frozen

from .errors import Fault, FormulaError
from .finished import FinishedLoaf, Ingoing, Mixture, finished_loaf, ingredients_in
from .formula import Formula
from .lines import Lines
from .losses import Losses
from .numeric import bracketed_root
from .quantity import SHARE, TIME, Measure, OptionalView, View, read
from .readerunits import with_units
from .schedule import Schedule
from .sources import Constant
from .steps import Leg
from .working import Caution, Step, Working, shown, summed_steps

__all__ = [
    "AcrylamideClass",
    "HeldDough",
    "SaltCheck",
    "acrylamide_class",
    "held_dough",
    "salt_target",
]

SALT_PER_SODIUM: Final = Constant(2.5, "1", 0.0, "eu-salt-factor", "Annex I: salt = sodium x 2.5")
BENCHMARKS: Final = Lines(
    {
        "soft, of wheat": Constant(50.0, "ug/kg", 0.0, "eu-2017-2158", "Annex IV, soft bread, wheat based"),
        "soft, other": Constant(100.0, "ug/kg", 0.0, "eu-2017-2158", "Annex IV, soft bread other than wheat based"),
        "crispbread": Constant(350.0, "ug/kg", 0.0, "eu-2017-2158", "Annex IV, crispbread"),
        "cracker": Constant(400.0, "ug/kg", 0.0, "eu-2017-2158", "Annex IV, crackers"),
    }
)
COLD_C: Final = Constant(5.0, "°C", 0.0, "fda-food-code", "3-501.16, 41 °F or below")
HOT_C: Final = Constant(57.0, "°C", 0.0, "fda-food-code", "3-501.16, 135 °F or above")
TIME_H: Final = Constant(4.0, "h", 0.0, "fda-food-code", "3-501.19, time alone as the control")
COOL_TIME_H: Final = Constant(6.0, "h", 0.0, "fda-food-code", "3-501.19, if never above 21 °C")
COOL_C: Final = Constant(21.0, "°C", 0.0, "fda-food-code", "3-501.19, 70 °F")
_RICH: Final = ("egg", "dairy")

BreadForm = Literal["soft", "crispbread", "cracker"]


@frozen
class SaltCheck:
    """The salt in 100 g of a loaf against a target.

    ``salt_percent`` is sodium x 2.5 of everything whose sodium is known, so with ``unknown`` it is the least that it can be;
    ``line_percent`` is the salt line of the formula, in percent of the flour, that meets the target exactly.
    """

    loaf: FinishedLoaf
    target_percent: float
    salt_percent: float
    unknown: tuple[str, ...]
    line_percent: float | None
    cautions: tuple[Caution, ...] = ()

    target: ClassVar[View] = View(SHARE, "target_percent", "The target, of the loaf.", percent=True)
    salt: ClassVar[View] = View(SHARE, "salt_percent", "The salt of the loaf.", percent=True)
    line: ClassVar[OptionalView] = OptionalView(
        SHARE, "line_percent", "The salt on the flour that meets the target.", percent=True
    )

    @property
    def is_met(self) -> bool | None:
        """Whether the loaf stays within the target; None where sodium that nobody knows might break it."""
        if self.salt_percent > self.target_percent * (1 + 1e-9):
            return False
        return None if self.unknown else True

    def __str__(self) -> str:
        """Return the salt beside its target, and the salt line that meets it."""
        least = "at least " if self.unknown else ""
        verdict = {True: "met", False: "not met", None: "cannot be told"}[self.is_met]
        line = "" if self.line_percent is None else f"; {shown(self.line_percent, 3)} % of salt on the flour meets it"
        words = f"{least}{shown(self.salt_percent, 3)} % of the loaf, target {shown(self.target_percent, 3)} %"
        return f"{self.loaf.bread}: salt {words}: {verdict}{line}"

    def working(self) -> Working:
        """Show the steps; the last line is the salt in 100 g of the loaf."""
        loaf = self.loaf
        lines = [(n, each) for n, each in enumerate(loaf.ingoing, 1) if each.ingredient.sodium_mg is not None]
        steps = list(loaf.steps())
        sodium = {f"na{number}": _sodium_mg(each) for number, each in lines}
        for number, each in lines:
            values = {f"m{number}": each.mass_g, f"mg{number}": each.ingredient.sodium_mg or 0.0}
            expression = f"m{number} * mg{number} / 100"
            steps.append(
                Step(f"na{number}", expression, values, sodium[f"na{number}"], "mg", note=f"sodium of {each.name}")
            )
        sums, total_mg = summed_steps("sodium", sodium, unit="mg")
        steps += sums
        values = {"factor": SALT_PER_SODIUM.value, "sodium": total_mg, "finished": loaf.finished_g}
        expression = "100 * factor * sodium / 1000 / finished"
        steps.append(Step("salt", expression, values, self.salt_percent, "%", SALT_PER_SODIUM.source, "of the loaf"))
        told = {"mg/100 g": "mg", "1": "factor"}
        return Working(f"{loaf.bread}: salt in 100 g", with_units(steps, told), self.cautions)


def salt_target(
    formula: Formula,
    target: Measure,
    *,
    losses: Losses | None = None,
    piece: Measure | None = None,
    baked: Measure | None = None,
    cultures: Mapping[str, Mixture] | None = None,
) -> SaltCheck:
    """Hold the salt of a bread against a target: salt = 2.5 x sodium of all ingredients / loaf.

    Args:
        formula: the bread.
        target: the most salt in the loaf, a share such as "1.1 %" (1.1 g in 100 g); whose target it is, is yours to say.
        losses: as in ``finished_loaf``, and so are ``piece``, ``baked`` and ``cultures``.
        piece: the weight of a piece on the divider's scale.
        baked: the weight of a piece when sold.
        cultures: what cultures and old dough are made of.

    Raises:
        QuantityError: a target that is no share.
        FormulaError: as ``finished_loaf``.

    Ingredients of unknown sodium are named, and the salt is then the least that it can be.

    Source: eu-salt-factor.

    Example:
        >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 62, "salt": 2, "fresh yeast": 2})
        >>> made = salt_target(loaf, "1.1 %", losses=Losses(bake="12 %"))
        >>> round(made.salt_percent, 2), made.is_met, round(made.line_percent, 2)
        (1.34, False, 1.64)
    """
    target_percent = 100 * read(SHARE, target, "target")
    loaf = finished_loaf(formula, losses=losses, piece=piece, baked=baked, cultures=cultures)
    unknown = tuple(each.name for each in loaf.ingoing if each.ingredient.sodium_mg is None)
    sodium_mg = math.fsum(_sodium_mg(each) for each in loaf.ingoing)
    salt_percent = 100 * SALT_PER_SODIUM.value * sodium_mg / 1000 / loaf.finished_g
    found: tuple[Caution, ...] = ()
    if unknown:
        text = f"The sodium of {', '.join(unknown)} is not known: the salt is the least that it can be."
        found = (Caution("sodium-unknown", text),)
    line = None if unknown else _line_percent(loaf, formula, target_percent / 100, sodium_mg)
    return SaltCheck(loaf, target_percent, salt_percent, unknown, line, found)


def _sodium_mg(each: Ingoing) -> float:
    return each.mass_g * (each.ingredient.sodium_mg or 0.0) / 100


def _line_percent(loaf: FinishedLoaf, formula: Formula, target: float, sodium_mg: float) -> float | None:
    """Solve for the salt in the dough: salt of the rest + x * salt per salt = target * ((dough - salt + x) * left + toppings)."""
    mine = [each for each in loaf.ingoing if each.ingredient.kind == "salt"]
    if len(mine) != 1:
        return None
    salt_g, per_salt = mine[0].mass_g, SALT_PER_SODIUM.value * (mine[0].ingredient.sodium_mg or 0.0) / 1e5
    left = loaf.losses.moist_left
    rest = SALT_PER_SODIUM.value * sodium_mg / 1000 - salt_g * per_salt
    grams = (target * ((loaf.dough_g - salt_g) * left + loaf.toppings_g) - rest) / (per_salt - target * left)
    return grams / loaf.dough_g * formula.total_percent if grams >= 0 else None


@frozen
class AcrylamideClass:
    """The benchmark class of a bread in the EU, and the level that goes with it: information, no limit."""

    bread: str
    bread_class: str
    benchmark_ug_per_kg: float
    wheat_percent: float
    cautions: tuple[Caution, ...] = ()

    def __str__(self) -> str:
        """Return the class and its level."""
        return f"{self.bread}: {self.bread_class}, benchmark {shown(self.benchmark_ug_per_kg)} µg acrylamide in a kg"

    def working(self) -> Working:
        """Show the steps; the last line is the benchmark."""
        values = {"benchmark": self.benchmark_ug_per_kg}
        rule = BENCHMARKS[self.bread_class]
        steps = (
            Step(
                "wheat", "wheat", {"wheat": self.wheat_percent}, self.wheat_percent, "%", note="wheat among the flours"
            ),
            Step("benchmark", "benchmark", values, self.benchmark_ug_per_kg, "µg/kg", rule.source, rule.where),
        )
        return Working(f"{self.bread}: acrylamide", with_units(steps, {}), self.cautions)


def acrylamide_class(
    formula: Formula, *, form: BreadForm = "soft", cultures: Mapping[str, Mixture] | None = None
) -> AcrylamideClass:
    """Tell the benchmark class for acrylamide that a bread falls into in the EU.

    Args:
        formula: the bread.
        form: "soft", "crispbread" or "cracker".
        cultures: what cultures and old dough are made of, see ``finished_loaf``.

    Raises:
        FormulaError: another form.

    A soft bread counts as one of wheat where at least half of its flour is wheat; that reading of "wheat based" is ours.
    The benchmarks are levels to work towards, not legal limits (from memory); only an analysis tells what a bread holds.

    Source: eu-2017-2158.

    Example:
        >>> loaf = Formula.from_percents("Rye", {"medium rye flour": 100, "water": 80})
        >>> acrylamide_class(loaf).benchmark_ug_per_kg
        100.0
    """
    if form not in get_args(BreadForm):
        raise FormulaError(Fault("form", repr(form), 'one of "soft", "crispbread", "cracker"'))
    flours = [each for each in _dissolved_lines(formula, cultures) if each.ingredient.is_flour]
    wheat_g = math.fsum(each.mass_g for each in flours if "wheat" in (each.ingredient.allergens or ()))
    wheat_percent = 100 * wheat_g / math.fsum(each.mass_g for each in flours)
    bread_class = form if form != "soft" else "soft, of wheat" if wheat_percent >= 50 else "soft, other"
    text = "A benchmark to work towards, no legal limit (from memory); only an analysis tells. Dark crusts hold most."
    found = (Caution("acrylamide", text),)
    return AcrylamideClass(formula.name, bread_class, BENCHMARKS[bread_class].value, wheat_percent, found)


def _dissolved_lines(formula: Formula, cultures: Mapping[str, Mixture] | None) -> tuple[Ingoing, ...]:
    # Only the flours matter, and toppings are none: any weight of a piece will do.
    return finished_loaf(formula, piece="1 kg", cultures=cultures).ingoing


@frozen
class HeldDough:
    """A dough with egg or dairy on its way: how long it stays between 5 and 57 °C, and how long time alone would allow."""

    bread: str
    rich: tuple[str, ...]
    warm_h: float
    warmest_c: float
    limit_h: float
    schedule: Schedule
    cautions: tuple[Caution, ...] = ()

    warm: ClassVar[View] = View(TIME, "warm_h", "The time between 5 and 57 °C.")
    limit: ClassVar[View] = View(TIME, "limit_h", "The time that time alone allows.")

    @property
    def is_within(self) -> bool:
        """Whether the time stays within the limit, or nothing in the dough asks for one."""
        return not self.rich or self.warm_h <= self.limit_h + 1e-9

    def working(self) -> Working:
        """Show the steps; the last line is the time between 5 and 57 °C."""
        hours = {f"t{n}": _warm_h(leg) for n, leg in enumerate(self.schedule.legs, 1)}
        steps = [
            Step(name, name, {name: value}, value, "h", COLD_C.source, f"between 5 and 57 °C: {leg}")
            for (name, value), leg in zip(hours.items(), self.schedule.legs, strict=True)
        ]
        note = f"of {shown(self.limit_h)} h that time alone allows"
        steps.append(Step("warm", " + ".join(hours), hours, self.warm_h, "h", TIME_H.source, note))
        return Working(f"{self.bread}: dough with egg or dairy held warm", with_units(steps, {}), self.cautions)


def held_dough(formula: Formula, schedule: Schedule, *, cultures: Mapping[str, Mixture] | None = None) -> HeldDough:
    """Find how long a dough with egg or dairy is held between 5 and 57 °C, against the limits of time alone.

    Args:
        formula: the bread.
        schedule: the dough's temperatures from the mixer to the oven.
        cultures: what cultures and old dough are made of, see ``finished_loaf``.

    Time counts in full, also in two stretches: cooling does not set the clock back.  The limit is 4 h, and 6 h for a dough
    that never passes 21 °C; both only as a written rule of the house.  Butter and other fats alone do not make a dough
    rich in this sense.

    Source: FDA Food Code 3-501.16 and 3-501.19 (fda-food-code); other places have other rules.

    Example:
        >>> from formula import Hold
        >>> bun = Formula.from_percents("Bun", {"bread flour": 100, "whole milk": 60, "salt": 2})
        >>> made = held_dough(bun, Schedule(Hold("14 h", "4 °C"), Hold("5 h", "26 °C")))
        >>> made.warm_h, made.limit_h, made.is_within
        (5.0, 4.0, False)
    """
    rich = tuple(
        each.name
        for each in ingredients_in(formula, cultures or {})
        if each.kind in _RICH or (each.kind == "liquid" and "milk" in (each.allergens or ()))
    )
    warm_h = math.fsum(_warm_h(leg) for leg in schedule.legs)
    limit = TIME_H if schedule.warmest_c > COOL_C.value else COOL_TIME_H
    found: tuple[Caution, ...] = ()
    if rich and warm_h > limit.value + 1e-9:
        text = (
            f"The dough holds {', '.join(rich)} and is between 5 and 57 °C for {shown(warm_h, 3)} h, more than the"
            f" {shown(limit.value)} h that time alone allows: retard it colder, or shorten it; your local code decides."
        )
        found = (Caution("rich-dough-warm", text),)
    elif rich:
        text = (
            f"Time alone replaces temperature only as a written rule of the house, {shown(limit.value)} h at the most."
        )
        found = (Caution("rich-dough", text),)
    return HeldDough(formula.name, rich, warm_h, schedule.warmest_c, limit.value, schedule, found)


def _warm_h(leg: Leg) -> float:
    """Return the hours of a step, which only warms or only cools, between 5 and 57 °C."""
    first_c, last_c = leg.temperature_c(0.0), leg.last_c

    low_c, high_c = min(first_c, last_c), max(first_c, last_c)
    if high_c <= COLD_C.value or low_c >= HOT_C.value:
        return 0.0
    marks = [mark for mark in (COLD_C.value, HOT_C.value) if low_c < mark < high_c]
    times = [0.0, *sorted(bracketed_root(partial(_over, leg, mark), 0.0, leg.time_h) for mark in marks), leg.time_h]
    return math.fsum(
        end - start
        for start, end in pairwise(times)
        if COLD_C.value < leg.temperature_c((start + end) / 2) < HOT_C.value
    )


def _over(leg: Leg, mark_c: float, time_h: float) -> float:
    return leg.temperature_c(time_h) - mark_c
