"""Mixes that wait: what to change of a dough whose bulk on the clock is not the best for it.

Mixes are staggered, so that mostly none waits.  Where several are made one after the other and divided at one bench, or a
process leaves room in its bulk, the timetable may give a dough another bulk than its best.  It can then be left as it is,
mixed cooler (or warmer) so that it is ripe when its turn comes, or given another dose of yeast.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, ClassVar, Final, Literal, get_args

from attrs import evolve, frozen

from .batch import Batch
from .clockwork import Timetable
from .dose import YeastDose, yeast_for_schedule
from .errors import FormulaError, cited
from .formula import Formula
from .hourwater import SingleMix, single_mixes
from .lines import Lines
from .pour import Pour, pour_for
from .process import Process
from .quantity import SHARE, TEMPERATURE, TIME, Door, Measure, OptionalView, View, write
from .rates import Rate
from .readerunits import with_units
from .ready import step_temperature
from .schedule import Schedule, rate_given
from .steps import Hold
from .timing import ASSUMED_C
from .working import Caution, Step, Working, shown
from .yeast import YEAST_FORMS, yeast_form

__all__ = ["MixWait", "WaitChoice", "mix_waits"]

WaitChoice = Literal["none", "cooler", "yeast"]

_NO_LINES: Final = Lines[float]()
_TOLD_MIN: Final = 0.5
"""Less than half a minute of a clock in whole minutes is no wait."""


@frozen
class MixWait:
    """One mix whose bulk is not its best, and what is changed for it.

    ``left_min`` is how much longer than it needs the bulk still is after the change, less than 0 if it is shorter.
    ``new_dough_c`` and ``pour`` are for a dough mixed cooler or warmer, ``yeast_g`` and ``new_yeast_g`` (line -> grams in
    the mix, in ``steps_g`` of their scales) and ``dose`` for another dose, of which ``mixed_share`` goes into the mix itself
    and the rest into preferments; what is not changed is None or empty.
    """

    dough: str
    mix: int
    begin_min: int
    choice: WaitChoice
    best_min: int
    bulk_min: int
    left_min: float
    dough_c: float | None = None
    new_dough_c: float | None = None
    schedule: Schedule | None = None
    pour: Pour | None = None
    dose: YeastDose | None = None
    yeast_g: Lines[float] = _NO_LINES
    new_yeast_g: Lines[float] = _NO_LINES
    steps_g: Lines[float] = _NO_LINES
    mixed_share: float = 1.0
    cautions: tuple[Caution, ...] = ()

    usual_dough: ClassVar[OptionalView] = OptionalView(
        TEMPERATURE, "dough_c", "The dough's usual temperature, if the formula says one."
    )
    new_dough: ClassVar[OptionalView] = OptionalView(
        TEMPERATURE, "new_dough_c", "The temperature to mix it to, if that is changed."
    )
    left: ClassVar[View] = View(
        TIME, "left_h", "How much longer than it needs the bulk still is; less than nothing if shorter."
    )

    @property
    def left_h(self) -> float:
        """The same as ``left_min`` in hours."""
        return self.left_min / 60

    @property
    def wait_min(self) -> int:
        """How much longer than the best its bulk is; less than 0 if it is shorter."""
        return self.bulk_min - self.best_min

    @property
    def is_changed(self) -> bool:
        """Whether anything is to be done differently for this mix."""
        return self.new_dough_c is not None or bool(self.new_yeast_g)

    def to_table(self) -> dict[str, Any]:
        """Return it as a plain table for other programs; temperatures in °C, weights in g."""
        return {
            "dough": self.dough,
            "mix": self.mix,
            "begin_min": self.begin_min,
            "choice": self.choice,
            "best_min": self.best_min,
            "bulk_min": self.bulk_min,
            "left_min": self.left_min,
            "new_dough_c": self.new_dough_c,
            "water_c": self.pour.temperature.temperature_c if self.pour else None,
            "ice_g": self.pour.ice_g if self.pour else None,
            "new_yeast_g": dict(self.new_yeast_g),
            "cautions": [{"code": caution.code, "text": caution.text} for caution in self.cautions],
        }

    def working(self) -> Working:
        """Show the steps; the last line is the new temperature, the new yeast or the minutes that are left."""
        title = f"The wait of {self.dough}, mix {self.mix}"
        clocks = {"bulk": float(self.bulk_min), "best": float(self.best_min)}
        steps = [Step("wait", "bulk - best", clocks, float(self.wait_min), "min", note="longer than the best")]
        if self.schedule is not None and self.new_dough_c is not None and self.dough_c is not None:
            worth = self.schedule.worth(self.dough_c)
            values = {"bulk": float(self.bulk_min), "best": float(self.best_min), "time": worth.time_h}
            note = "of the bulk too long, or too short, at the new temperature"
            steps += [
                *worth.working().steps,
                Step("left", "bulk * (1 - best / 60 / time)", values, self.left_min, "min", note=note),
                Step("T_new", "T_new", {"T_new": self.new_dough_c}, self.new_dough_c, "°C", note="sought for that"),
            ]
        elif self.dose is not None and self.new_yeast_g:
            steps += self.dose.working().steps
            old, new = self.dose.old_percent, self.dose.dose_percent
            values = {"dose": old, "new_dose": new, "part": self.mixed_share}
            times = _times(new / old, self.mixed_share)
            note = "of its yeast into the mix; part: what goes in there of all the yeast, for preferments keep theirs"
            steps.append(Step("times", "max(0, 1 + (new_dose / dose - 1) / part)", values, times, "1", note=note))
            for number, (line, grams) in enumerate(self.new_yeast_g.items(), 1):
                values = {"yeast": self.yeast_g[line], "times": times, "scale_step": self.steps_g[line]}
                expression = "floor(yeast * times / scale_step + 0.5) * scale_step"
                steps.append(Step(f"yeast_{number}", expression, values, grams, "g", note=line))
            total = sum(self.new_yeast_g.values())
            parts = {f"yeast_{number}": grams for number, grams in enumerate(self.new_yeast_g.values(), 1)}
            note = f"to weigh into the mix instead of {shown(sum(self.yeast_g.values()))} g"
            steps.append(Step("new_yeast", " + ".join(parts), parts, total, "g", note=note))
        else:
            values = {"wait": float(self.wait_min)}
            steps.append(Step("left", "wait", values, self.left_min, "min", note="nothing is changed"))
        told = {"min": "bulk best", "%": "dose", "1": "part", "g": "yeast scale_step"}
        return Working(title, with_units(steps, told), self.cautions)


def mix_waits(
    table: Timetable,
    choice: WaitChoice = "none",
    *,
    coldest: Measure = "20 °C",
    warmest: Measure = "28 °C",
    least: Measure = "5 %",
    rate: Rate | None = None,
) -> tuple[MixWait, ...]:
    """Find what to change for every mix whose bulk in the timetable is not the best of its process.

    "cooler": rate(T_new) * bulk = rate(T) * best, so that the bulk is worth what it should be, T_new between ``coldest``
    and ``warmest``; with the water for it by the temperatures of the hour.  "yeast": dose_new = dose * (best + rest) /
    (bulk + rest), where rest is the bench rest and proof that follow, because yeast works through all of it; of breads
    that share a dough the longest counts.  The change is made in the yeast that goes into the mix; preferments, made the
    evening before, keep theirs.  A change below ``least``, or below a step of the yeast's scale, is not made.

    Args:
        table: the day on the clock.
        choice: "none": say who waits, change nothing; "cooler" or "yeast".
        coldest: the coldest dough that the bakery mixes (20 °C, the warmest 28 °C and the least change of 5 % are our own
            judgement: give yours); a bread that is colder anyway may be as cold as that.
        warmest: the warmest, for a bulk that is shorter than the best; a bread that is warmer anyway may be as warm.
        least: the least change of a dose.
        rate: how fast yeast works at a temperature; the gas curve by default.

    Returns:
        One for each mix whose bulk is longer or shorter than the best, in the order in which they begin.

    Raises:
        FormulaError: every bad argument at once; an unknown choice.

    Accuracy: the dough is taken to stay as it leaves the mixer, which holds for a large dough in a tub and less for a small
    one.  A cooler dough also proofs more slowly until it has warmed, which is not counted; another dose shifts ripeness
    between bulk and proof.  Rates and doses carry the doubts of ``Schedule.worth`` and ``yeast_for_schedule``.

    Example:
        >>> from formula import load_day, load_workshop, plan_day, timetable
        >>> shop = load_workshop("docs/examples/harbour")
        >>> table = timetable(plan_day(*load_day("docs/examples/harbour"), shop), shop)
        >>> [(wait.mix, wait.bulk_min, wait.best_min) for wait in mix_waits(table)][0]
        (8, 69, 60)
    """
    with Door(FormulaError) as door:
        coldest_c, warmest_c = (
            door.read(TEMPERATURE, value, name) for name, value in (("coldest", coldest), ("warmest", warmest))
        )
        least_share = door.read(SHARE, least, "least")
        given = rate_given(rate, door)
        if choice not in get_args(WaitChoice):
            door.refuse("choice", cited(choice), 'one of "none", "cooler", "yeast"')
        if not door.faults and not coldest_c < warmest_c <= given.peak_c:
            expected = f"warmer than the coldest, {shown(coldest_c)} °C, and at most {shown(given.peak_c, 4)} °C, where yeast is quickest"
            door.refuse("warmest", write(TEMPERATURE, warmest_c), expected)
    found: list[MixWait] = []
    for each in single_mixes(table):
        processes = _processes(table, each)
        wait = MixWait(
            dough=each.dough.name,
            mix=each.number,
            begin_min=each.begin_min,
            choice=choice,
            best_min=processes[0].bulk.best_min,
            bulk_min=each.bulk.end_min - each.bulk.begin_min,
            left_min=0.0,
            dough_c=each.mix.batch.formula.dough_temperature_c,
        )
        if wait.wait_min:
            wait = evolve(wait, left_min=float(wait.wait_min))
            if choice == "cooler":
                wait = _cooler(wait, each, table, (coldest_c, warmest_c), given)
            elif choice == "yeast":
                wait = _yeast(wait, each, table, processes, least_share, given)
            found.append(wait)
    return tuple(found)


def _processes(table: Timetable, each: SingleMix) -> list[Process]:
    found = (table.workshop.process_of(plan.name, plan.bread.name) for plan in each.dough.breads)
    return [process for process in found if process]


def _with(wait: MixWait, code: str, text: str) -> MixWait:
    return evolve(wait, cautions=(*wait.cautions, Caution(code, text)))


def _cooler(wait: MixWait, each: SingleMix, table: Timetable, limits_c: tuple[float, float], rate: Rate) -> MixWait:
    usual_c = wait.dough_c
    if usual_c is None:
        return _with(wait, "no-dough-temperature", f"{wait.dough} has no dough temperature that could be changed.")
    if not wait.best_min or not wait.bulk_min:
        return _with(wait, "no-bulk", f"{wait.dough} has no bulk that a temperature could stretch or shorten.")
    best_h, bulk_h = wait.best_min / 60, wait.bulk_min / 60
    low_c, high_c = min(limits_c[0], usual_c), max(limits_c[1], usual_c)

    def held(celsius: float) -> Schedule:
        return Schedule(Hold.of(bulk_h, celsius), rate=rate)

    if held(low_c).worth(usual_c).time_h >= best_h:
        new_c = low_c
    elif held(high_c).worth(usual_c).time_h <= best_h:
        new_c = high_c
    else:
        wanted = Schedule(Hold.of(best_h, usual_c), rate=rate).worth(usual_c)
        new_c = step_temperature(held(usual_c), 1, wanted).temperature_c
    schedule = held(new_c)
    left_min = wait.bulk_min * (1 - best_h / schedule.worth(usual_c).time_h)
    bread = evolve(each.mix.batch.formula, dough_temperature_c=new_c)
    pour = pour_for(bread, each.mix.batch, each.dough.mixer, each.bakery(table))
    text = "The dough is taken to stay as it leaves the mixer; one that is cooler also proofs more slowly at first."
    cautions = [Caution("steady-temperature", text), *(pour.cautions if pour else ())]
    if abs(left_min) >= _TOLD_MIN:
        side = "long" if left_min > 0 else "short"
        text = f"Even at {shown(new_c, 3)} °C the bulk of {wait.dough}, mix {wait.mix}, is {shown(abs(left_min), 2)} min too {side}."
        cautions.append(Caution("beyond-range", text))
    return evolve(
        wait, new_dough_c=new_c, schedule=schedule, pour=pour, left_min=left_min, cautions=(*wait.cautions, *cautions)
    )


def _times(ratio: float, mixed_share: float) -> float:
    """Return by what the yeast that goes into the mix is multiplied so that all the yeast changes by a ratio."""
    return max(0.0, 1 + (ratio - 1) / mixed_share)


def _on_step(grams: float, step_g: float) -> float:
    return round(math.floor(grams / step_g + 0.5) * step_g, 9)


def _fresh(bread: Formula, line: str) -> float:
    """Return how much fresh yeast one of a line of yeast stands for; one of unknown form is taken as it is."""
    name = bread.catalogue.find(line).name.removesuffix(" yeast")
    return 1 / yeast_form(name).factor.value if name in {form.name for form in YEAST_FORMS} else 1.0


def _mixed_in(batch: Batch) -> Mapping[str, float]:
    """Return the yeast that goes into the final dough, not into a stage."""
    bread = batch.formula
    names = {stage.name for stage in bread.stages}
    rows = [row for row in batch.final.rows if row.name not in names]
    return {row.name: row.mass_g for row in rows if bread.catalogue.find(row.name).kind == "yeast"}


def _yeast(
    wait: MixWait, each: SingleMix, table: Timetable, processes: list[Process], least_share: float, rate: Rate
) -> MixWait:
    batch = each.mix.batch
    bread = batch.formula
    larder = bread.catalogue
    old_g = _mixed_in(batch)
    fresh = {line: _fresh(bread, line) for line in bread.percents if larder.find(line).kind == "yeast"}
    if not sum(old_g.values()):
        text = f"No yeast goes into the mix of {wait.dough}: only a preferment or levain raises it, and that is made already."
        return _with(wait, "no-yeast", text)
    after_min = max(process.rest.best_min + process.proof.best_min for process in processes)
    celsius = ASSUMED_C.value if wait.dough_c is None else wait.dough_c
    old, new = (
        [Hold.of(minutes / 60, celsius) for minutes in (bulk_min, after_min) if minutes]
        for bulk_min in (wait.best_min, wait.bulk_min)
    )
    if not old or not new:
        return _with(wait, "no-bulk", f"{wait.dough} has no fermentation that a dose could stretch or shorten.")
    percent = sum(bread.percents[line] * factor for line, factor in fresh.items())
    dose = yeast_for_schedule(f"{percent!r} %", Schedule(*old, rate=rate), Schedule(*new, rate=rate))
    ratio = dose.dose_percent / percent
    # All the yeast of the dough changes by the ratio, but only what goes into the mix can.
    mixed = sum(grams * fresh[line] for line, grams in old_g.items())
    every = sum(batch.mass_g(line) * factor for line, factor in fresh.items())
    times = _times(ratio, mixed / every)
    cautions = list(dose.cautions)
    if not times:
        text = f"Even without yeast in the mix, the preferment of {wait.dough} brings more than the bulk allows."
        cautions.append(Caution("yeast-in-the-preferment", text))
    scale = table.day.bakery.steps_g
    own = {larder.find(name).name: step for name, step in scale.items() if name in larder}
    steps_g = {line: own.get(larder.find(line).name, scale["default"]) for line in old_g}
    new_g = {line: _on_step(grams * times, steps_g[line]) for line, grams in old_g.items()}
    if abs(ratio - 1) < least_share or new_g == old_g:
        why = (
            f"by less than {shown(100 * least_share, 3)} %"
            if abs(ratio - 1) < least_share
            else "by less than a step of its scale"
        )
        text = f"The yeast of {wait.dough}, mix {wait.mix}, would change {why}: it is left alone."
        return _with(wait, "small-change", text)
    return evolve(
        wait,
        dose=dose,
        yeast_g=Lines(old_g),
        new_yeast_g=Lines(new_g),
        steps_g=Lines(steps_g),
        mixed_share=mixed / every,
        left_min=0.0,
        cautions=tuple(cautions),
    )
