"""Stretching a preferment: the same dough with less of it, or more, and what that asks of the yeast or of the time.

The overall formula stays, so that the flour, water and yeast that the preferment lacks go into the final dough.  What goes
with it is the yeast that would have grown in it.  Either fresh yeast makes up for that, or the dough takes longer.
A dough without yeast rises by its levain: then only the time can make up for it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import ClassVar, Final

from attrs import field, frozen

from .adjust import with_percent, with_prefermented
from .culture import LevainTime, levain_time
from .errors import Fault, FormulaError
from .formula import Formula
from .growth import YeastGrowth, read_growth, yeast_growth
from .quantity import MASS, SHARE, TEMPERATURE, TIME, Door, Measure, View, write
from .readerunits import with_units
from .refit import is_number, parts_of
from .table import SMALL
from .timing import time_for_yeast
from .working import Caution, Step, Working, shown
from .yeast import yeast_form

__all__ = ["Stretch", "stretch_preferment"]

_UNITS: Final = {"%": "wanted had s active grown there", "1": "phi form", "1/h": "mu", "h": "time"}

_TOTAL_G: Final = 1e6


@frozen
class Stretch:
    """A dough with another share of preferment: ``formula`` with its yeast, or ``slow`` with another time instead.

    ``before`` is the bread as it was.  ``active_percent`` is the yeast at work in it, as fresh yeast on all the flour: what is
    weighed, and what grew in the preferments; ``stretched_percent`` the same after stretching, before anything makes up
    for it.  ``grown_percent`` is the part of it that grows in the preferments.  ``more_percent`` is the change of the
    ``yeast`` line.  Without yeast (``yeast`` is "") the ``levain`` times stand in their place.
    """

    before: Formula
    slow: Formula
    formula: Formula
    factor: float
    yeast: str
    yeast_factor: float
    in_final_percent: float
    grown_percent: float
    active_percent: float
    stretched_percent: float
    more_percent: float
    time_h: float
    new_time_h: float
    low_h: float
    high_h: float
    levain: tuple[LevainTime, LevainTime] | None = None
    cautions: tuple[Caution, ...] = ()

    more: ClassVar[View] = View(
        SHARE, "more_percent", "The yeast to add, below zero to take away, on all the flour.", percent=True
    )
    time: ClassVar[View] = View(TIME, "time_h", "The time from the end of mixing to the oven.")
    new_time: ClassVar[View] = View(TIME, "new_time_h", "The time it takes if the yeast is not changed.")
    low: ClassVar[View] = View(TIME, "low_h", "The shortest that may take.")
    high: ClassVar[View] = View(TIME, "high_h", "The longest that may take.")

    @property
    def percent(self) -> float:
        """The pre-fermented flour of the stretched dough, %."""
        return self.slow.prefermented_flour

    def working(self) -> Working:
        """Show the steps; the last line is the time it takes if the yeast is not changed."""
        values = {"wanted": self.percent, "had": self.before.prefermented_flour}
        steps = [Step("factor", "wanted / had", values, self.factor, "1", note="for every preferment")]
        f = {"factor": self.factor}
        if self.levain:
            first, second = self.levain
            for mark, each in (("old", first), ("new", second)):
                values = {f"s_{mark}": each.share_percent, "phi": each.phi, "mu": each.rate_per_h}
                expression = f"ln(100 / s_{mark}) / (phi * mu)"
                note = f"a dough of {shown(each.share_percent, 3)} % levain as a levain of its own"
                steps.append(Step(f"t_{mark}", expression, values, each.time_h, "h", each.curve.phi.source, note))
            values = {"time": self.time_h, "t_new": second.time_h, "t_old": first.time_h}
            steps.append(Step("new_time", "time + t_new - t_old", values, self.new_time_h, "h", note="mixing to oven"))
            return Working(
                f"{self.before.name}: {shown(self.percent)} % pre-fermented", with_units(steps, _UNITS), self.cautions
            )
        grown, active = {"grown": self.grown_percent}, {"active": self.active_percent}
        told = "yeast at work as fresh, on all the flour"
        steps.append(Step("active", "active", active, self.active_percent, "%", note=told))
        note = "grown: what grows in the preferments as they were"
        values = {**active, **grown, **f}
        steps.append(
            Step(
                "stretched",
                "active - (1 - factor) * grown",
                values,
                self.stretched_percent,
                "%",
                "growth-in-dough",
                note,
            )
        )
        values = {
            **active,
            "stretched": self.stretched_percent,
            "form": self.yeast_factor,
            "there": self.in_final_percent,
        }
        note = f"{self.yeast} to add to the final dough; there: what it has to take away"
        steps.append(
            Step("more", "max((active - stretched) * form, -there)", values, self.more_percent, "%", note=note)
        )
        values = {"time": self.time_h, **active, "stretched": self.stretched_percent}
        note = "or so long from mixing to oven, without that yeast"
        steps.append(Step("new_time", "time * active / stretched", values, self.new_time_h, "h", note=note))
        return Working(
            f"{self.before.name}: {shown(self.percent)} % pre-fermented", with_units(steps, _UNITS), self.cautions
        )


@frozen
class _Yeast:
    """The yeast of a bread, as fresh on all the flour: weighed, and what grows in its preferments."""

    line: str
    form: float
    weighed_percent: float
    grown_percent: float
    cautions: tuple[Caution, ...] = field(default=())


def stretch_preferment(
    bread: Formula,
    percent: float,
    *,
    ripened: Mapping[str, Measure],
    stages: Mapping[str, Measure],
    time: Measure,
    temperature: Measure | None = None,
    growth: float = 1.0,
) -> Stretch:
    """Change how much of the flour is pre-fermented, and find the yeast or the time that makes up for it.

    With y the yeast of each preferment and z the part by which it has grown when it is used, the yeast at work is the
    weighed yeast and sum(y z).  Stretching by a factor takes (1 - factor) sum(y z) of it away: as much yeast is added, or
    time * active / stretched is the time.  A dough without yeast is taken for a levain of its share s: the time becomes
    longer by ln(s / s_new) / (phi mu(T)).

    Args:
        bread: the bread; every preferment changes by the same factor, soakers do not.
        percent: the wanted pre-fermented flour, in percent of all the flour, a bare number.
        ripened: preferment -> how long it has ripened when it is used.
        stages: preferment -> its own temperature while it ripens.
        time: from the end of mixing to the oven.
        temperature: the dough's; the bread's own if left out.
        growth: 0 (the yeast in preferments does not grow, so that nothing has to make up for it) to 1 (as counted).

    Returns:
        ``formula`` with changed yeast for the same time, and ``slow`` with ``new_time`` for the same yeast; ``low`` to
        ``high`` reaches from no growth in the preferments to the band of the yeast model.

    Raises:
        FormulaError: no preferment, a share that cannot be reached, a preferment without its time or temperature, a bread
            without yeast and levain; all at once where they stand beside each other.

    Assumed: yeast grows in a preferment as in a dough (counts at 27 °C, 0.5 to 2 %, and they disagree); yeast in the ripe
    culture of a sour is not counted beside weighed yeast; acid, flavour and dough strength go with the preferment, and no
    number here brings them back.

    Example:
        >>> from formula.stage import Stage
        >>> biga = Stage("biga", {"bread flour": 100, "water": 55, "fresh yeast": 0.5}, flour="40 %")
        >>> overall = {"bread flour": 100, "water": 68, "salt": 2, "fresh yeast": 0.8}
        >>> loaf = Formula.from_percents("Loaf", overall, stages=[biga], dough_temperature="25 °C")
        >>> thin = stretch_preferment(loaf, 30, ripened={"biga": "14 h"}, stages={"biga": "18 °C"}, time="3 h")
        >>> round(thin.more_percent, 3), round(thin.formula.percent("fresh yeast"), 3), round(thin.new_time_h, 2)
        (0.052, 0.852, 3.16)
    """
    with Door(FormulaError) as door:
        read_growth(door, growth)
        if not isinstance(bread, Formula):  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
            door.refuse("bread", repr(bread), "a Formula")
            door.close()
        if not is_number(percent) or not 0 < percent < 100:
            door.refuse("percent", repr(percent), "a percentage between 0 and 100 as a bare number")
        time_h = door.read(TIME, time, "time")
        if time_h == 0:
            door.refuse("time", "0 h", "a time above zero")
        given = bread.dough_temperature_c if temperature is None else door.read(TEMPERATURE, temperature, "temperature")
        if given is None:
            door.refuse("temperature", "nothing", "the dough's temperature", "the bread does not say one")
        yeast = _yeast_of(bread, door, ripened, stages, growth)
    slow = with_prefermented(bread, percent).formula
    factor = slow.prefermented_flour / bread.prefermented_flour
    temperature_c = 0.0 if given is None else given
    if yeast is None:
        return _by_levain(bread, slow, factor, time_h, temperature_c)
    active = yeast.weighed_percent + yeast.grown_percent
    stretched = active - (1 - factor) * yeast.grown_percent
    line = yeast.line
    final = dict(zip(slow.table.columns[-1].lines, slow.table.columns[-1].percents, strict=True))
    there = final.get(line, 0.0)
    more = max((active - stretched) * yeast.form, -there)
    cautions = list(yeast.cautions)
    if more > (active - stretched) * yeast.form + SMALL:
        text = f"the final dough has only {shown(there, 3)} % of {line} to take away: shorten the time as well"
        cautions.append(Caution("too-little-yeast", text))
    if _levain_share(bread) > 0:
        text = "the ripe culture raises the dough too, which is not counted beside its yeast: watch the proof"
        cautions.append(Caution("culture-not-counted", text))
    if factor < 1:
        text = (
            "with less preferment the dough has less acid, flavour and strength; a dough with much rye needs its sour"
        )
        cautions.append(Caution("less-preferment", text))
    made = with_percent(slow, line, slow.percent(line) + more).formula if abs(more) > SMALL else slow
    told = time_for_yeast(
        write(SHARE, active / 100),
        time=write(TIME, time_h),
        new_dose=write(SHARE, stretched / 100),
        temperature=write(TEMPERATURE, temperature_c),
    )
    new_h = time_h * active / stretched
    return Stretch(
        before=bread,
        slow=slow,
        formula=made,
        factor=factor,
        yeast=line,
        yeast_factor=yeast.form,
        in_final_percent=there,
        grown_percent=yeast.grown_percent,
        active_percent=active,
        stretched_percent=stretched,
        more_percent=more,
        time_h=time_h,
        new_time_h=new_h,
        low_h=min(time_h, new_h, told.low_h),
        high_h=max(time_h, new_h, told.high_h),
        cautions=tuple(dict.fromkeys(cautions)),
    )


def _yeast_of(
    bread: Formula, door: Door, ripened: Mapping[str, Measure], stages: Mapping[str, Measure], growth: float
) -> _Yeast | None:
    """Add up the yeast of a bread; None where it has none, and its levain raises it."""
    larder = bread.catalogue
    yeasts = [line for line, percent in bread.percents.items() if larder.find(line).kind == "yeast" and percent > 0]
    if not yeasts:
        return None
    forms = {larder.find(line).name: yeast_form(larder.find(line).name).factor.value for line in yeasts}
    weighed = math.fsum(bread.percents[line] / forms[larder.find(line).name] for line in yeasts)
    ferments = {part.stage.name for part in parts_of(bread) if part.ferments}
    grown = 0.0
    cautions: list[Caution] = []
    for column in bread.table.columns:
        own = dict(zip(column.lines, column.percents, strict=True))
        flour = sum(percent for line, percent in own.items() if line in larder and larder.find(line).is_flour)
        for line, percent in own.items():
            if (
                column.name not in ferments
                or flour <= 0
                or line not in larder
                or larder.find(line).kind != "yeast"
                or percent <= 0
            ):
                continue
            rise = _growth_in(door, column.name, percent / flour, larder.find(line).name, ripened, stages, growth)
            if rise is not None:
                carried = percent * column.carried / forms[larder.find(line).name]
                grown += carried * rise.increase_percent / 100
                cautions += rise.cautions
    main = max(yeasts, key=lambda line: bread.percents[line])
    return _Yeast(main, forms[larder.find(main).name], weighed, grown, tuple(cautions))


def _growth_in(
    door: Door,
    stage: str,
    dose: float,
    form: str,
    ripened: Mapping[str, Measure],
    stages: Mapping[str, Measure],
    growth: float,
) -> YeastGrowth | None:
    """Return how the yeast of a preferment has grown; what is not said of it is noted at the door."""
    for name, told in (("ripened", ripened), ("stages", stages)):
        if stage not in told:
            what = "how long it has ripened" if told is ripened else "how warm it has ripened"
            door.refuse(f"{name}: {stage}", "nothing", what)
    if door.faults:
        return None
    try:
        return yeast_growth(
            write(SHARE, dose), time=ripened[stage], temperature=stages[stage], form=form, growth=growth
        )
    except FormulaError as error:
        door.faults.extend(Fault(f"{stage}: {each.where}", each.got, each.expected, each.fix) for each in error.faults)
        return None


def _by_levain(bread: Formula, slow: Formula, factor: float, time_h: float, temperature_c: float) -> Stretch:
    """Take a dough without yeast for a levain of its share."""
    shares = [_levain_share(each) for each in (bread, slow)]
    if shares[0] <= 0:
        raise FormulaError(Fault(bread.name, "neither yeast nor a ripe culture", "a bread that something raises"))
    first, second = (
        levain_time(
            seed=write(MASS, share * _TOTAL_G),
            total=write(MASS, _TOTAL_G),
            temperature=write(TEMPERATURE, temperature_c),
        )
        for share in shares
    )
    text = "the dough is taken to rise like a levain of the same share at its own temperature; its salt slows it more"
    extra = [second.time_h - first.time_h, second.low_h - first.low_h, second.high_h - first.high_h]
    ends = [time_h + each for each in extra]
    if min(ends) <= 0:
        got = f"{shown(slow.prefermented_flour, 4)} % of pre-fermented flour"
        raise FormulaError(Fault(bread.name, got, "less, so that the dough is not ripe before it is mixed"))
    return Stretch(
        before=bread,
        slow=slow,
        formula=slow,
        factor=factor,
        yeast="",
        yeast_factor=1.0,
        in_final_percent=0.0,
        grown_percent=0.0,
        active_percent=0.0,
        stretched_percent=0.0,
        more_percent=0.0,
        time_h=time_h,
        new_time_h=ends[0],
        low_h=min(ends),
        high_h=max(ends),
        levain=(first, second),
        cautions=(Caution("levain-alone", text), *dict.fromkeys((*first.cautions, *second.cautions))),
    )


def _levain_share(bread: Formula) -> float:
    """Return the part of the dough that is levain: stages with a ripe culture in them, as they go into the final dough."""
    larder, columns = bread.catalogue, bread.table.columns
    levains = {
        column.name
        for column in columns[:-1]
        if any(line in larder and larder.find(line).kind == "culture" for line in column.lines)
    }
    final = columns[-1]
    return sum(part for line, part in zip(final.lines, final.percents, strict=True) if line in levains) / final.total
