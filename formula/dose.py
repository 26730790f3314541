"""The dose: how much yeast for another time, another temperature or another schedule.

What the yeast did must be done again: F = sum of rate(T) Y dt stays the same.  With constant yeast that is the inverse
rule, twice the time and half the yeast.  Where yeast has time to grow, less of it is enough; how much less, handbooks do
not agree about, and the answer carries the band between no growth and growth as counted.

All doses are on the flour that the yeast ferments; limits are held against fresh yeast.
"""

from __future__ import annotations

import math
from typing import ClassVar, Final

from attrs import frozen

from .ferment import fermentation_percent_h, hours_at_27, mean_yeast
from .growth import read_dose, read_growth
from .limits import Extras, check_schedules, dose_cautions, read_extras, read_new_form
from .numeric import bracketed_root
from .quantity import SHARE, Door, Measure, View
from .rates import GasCurve, spread_factor
from .readerunits import with_units
from .schedule import DEFAULT_RATE, Schedule
from .sources import Constant
from .steps import Hold
from .working import Caution, Step, Working
from .yeast import converted_mass_g, yeast_form

__all__ = [
    "BAND_FROM_H",
    "YeastDose",
    "band_starts",
    "dose_for",
    "inverse_dose_percent",
    "rate_spread",
    "square_law_dose_percent",
    "stays_alike",
    "yeast_dose",
    "yeast_for_schedule",
]

BAND_FROM_H: Final = 4.0
"""Hours at 27 °C from which on the band of growth is told; before, growth changes next to nothing."""
_SQUARE_LAW: Final = Constant(100_000.0, "%^2 °C^2 h", 0.0, "impasto-perfetto", "chapter 70, the formula's own number")


def inverse_dose_percent(dose_percent: float, time_h: float, new_time_h: float) -> float:
    """Return the dose by the inverse rule: new dose = dose * time / new time.

    Args:
        dose_percent: yeast that does it in the old time, in percent of its flour (or any other unit).
        time_h: the old time, h.
        new_time_h: the new one, h.

    Range: printed "only within narrow limits", about a factor of two; see ``yeast_for_schedule``.

    Example:
        >>> inverse_dose_percent(12.0, 2.0, 1.5)
        16.0
    """
    return dose_percent * time_h / new_time_h


def square_law_dose_percent(hydration_percent: float, temperature_c: float, time_h: float) -> float:
    """Return a dose of fresh yeast from nothing but hydration, temperature and time: 100000 / (hydration T^2 t).

    Args:
        hydration_percent: water on the flour, %.
        temperature_c: T, the dough's temperature, °C, 5 or more.
        time_h: t, h.

    Source: ``impasto-perfetto``, whose author calls it his own formula.  No account of its accuracy is given; a
    stiffer dough gets more yeast.

    Example:
        >>> round(square_law_dose_percent(56.0, 24.0, 16.0), 2)
        0.19
    """
    return _SQUARE_LAW.value / (hydration_percent * temperature_c**2 * time_h)


def dose_for(fresh_percent: float, old: Schedule, new: Schedule, growth: float = 0.0) -> float:
    """Return the fresh yeast that ferments as much in a new schedule as a dose did in an old one.

    Args:
        fresh_percent: fresh yeast in percent of its flour, above 0.
        old: what it did it in.
        new: what it is to be done in; something must ferment there.
        growth: 0 (constant yeast: dose times the ratio of the rates summed up) to 1 (growth as counted).

    Example:
        >>> two, eight = (Schedule(Hold(time, "26 °C")) for time in ("2 h", "8 h"))
        >>> dose_for(2.0, two, eight), round(dose_for(2.0, two, eight, growth=1.0), 2)
        (0.5, 0.33)
    """
    if growth <= 0:
        return fresh_percent * old.sum_h / new.sum_h
    wanted = fermentation_percent_h(fresh_percent, old, growth)
    most = wanted / new.sum_h

    def missing(log_dose: float) -> float:
        return math.log(fermentation_percent_h(math.exp(log_dose), new, growth) / wanted)

    # Growing yeast ferments more than constant yeast, so the dose lies below the one without growth.
    high = math.log(most)
    if missing(high) <= 0:
        return most
    low = high - 1
    while missing(low) > 0:
        low -= 1 + (high - low)
    return math.exp(bracketed_root(missing, low, high))


def stays_alike(old: Schedule, new: Schedule) -> bool:
    """Return whether only the time differs: both schedules stay at one and the same temperature."""
    legs = (*old.legs, *new.legs)
    return all(isinstance(leg, Hold) for leg in legs) and len({leg.last_c for leg in legs}) == 1


def band_starts(old: Schedule, new: Schedule) -> bool:
    """Return whether the longer of two schedules is long enough for growth to be told of."""
    return max(hours_at_27(old), hours_at_27(new)) > BAND_FROM_H


def rate_spread(old: Schedule, new: Schedule) -> float:
    """Return by what factor the ratio of two schedules' mean rates may be off; 1 where they ferment alike."""
    rate = new.rate
    if not rate.has_spread or not old.sum_h or not new.sum_h:
        return 1.0
    ratio = (new.sum_h / new.time_h) / (old.sum_h / old.time_h)
    return spread_factor(ratio, max(old.warmest_c, new.warmest_c))


@frozen
class YeastDose:
    """The dose of a new schedule, from ``low`` to ``high``; ``fresh`` is the same as fresh yeast."""

    old_percent: float
    form: str
    new_form: str
    old: Schedule
    new: Schedule
    growth: float
    dose_percent: float
    low_percent: float
    high_percent: float
    cautions: tuple[Caution, ...] = ()

    old_dose: ClassVar[View] = View(SHARE, "old_percent", "The dose of the old schedule.", percent=True)
    dose: ClassVar[View] = View(
        SHARE, "dose_percent", "The new dose, in percent of the flour it ferments.", percent=True
    )
    low: ClassVar[View] = View(
        SHARE, "low_percent", "The least it may be: where the yeast grows as counted.", percent=True
    )
    high: ClassVar[View] = View(
        SHARE, "high_percent", "The most it may be: where the yeast does not grow.", percent=True
    )

    @property
    def fresh_percent(self) -> float:
        """The new dose as fresh yeast, %."""
        return self.dose_percent / yeast_form(self.new_form).factor.value

    fresh: ClassVar[View] = View(SHARE, "fresh_percent", "The new dose as fresh yeast.", percent=True)

    def working(self) -> Working:
        """Show the steps; the last line is the dose."""
        steps: list[Step] = []
        old, new = yeast_form(self.form).factor, yeast_form(self.new_form).factor
        name, start = "dose", self.old_percent
        if self.form != self.new_form:
            name, start = "converted", self.old_percent * new.value / old.value
            for symbol, form, factor in (("f_old", self.form, old), ("f_new", self.new_form, new)):
                values = {symbol: factor.value}
                steps.append(Step(symbol, symbol, values, factor.value, "1", factor.source, f"{form} per 1 of fresh"))
            values = {"dose": self.old_percent, "f_old": old.value, "f_new": new.value}
            steps.append(Step("converted", "dose * f_new / f_old", values, start, "%", note=f"as {self.new_form}"))
        values = {name: start}
        if stays_alike(self.old, self.new):
            values |= {"t_old": self.old.time_h, "t_new": self.new.time_h}
            expression = f"{name} * t_old / t_new"
        else:
            for symbol, schedule in (("s_old", self.old), ("s_new", self.new)):
                steps.append(schedule.sum_step(symbol))
                values[symbol] = schedule.sum_h
            expression = f"{name} * s_old / s_new"
        if self.growth:
            for symbol, percent, schedule in (
                ("m_old", self.old_percent / old.value, self.old),
                ("m_new", self.fresh_percent, self.new),
            ):
                mean = mean_yeast(percent, schedule, self.growth)
                steps.append(
                    Step(symbol, symbol, {symbol: mean}, mean, "1", "growth-in-dough", "yeast at work per dose")
                )
                values[symbol] = mean
            expression += " * m_old / m_new"
        steps.append(Step("new_dose", expression, values, self.dose_percent, "%", note=f"{self.new_form} on its flour"))
        return Working("Yeast for a new schedule", with_units(steps, {"%": "dose", "h": "t"}), self.cautions)


def yeast_dose(
    dose_percent: float,
    forms: tuple[str, str],
    schedules: tuple[Schedule, Schedule],
    growth: float,
    extras: Extras,
    cautions: tuple[Caution, ...] = (),
) -> YeastDose:
    """Return the dose for floats that were read and schedules that ferment."""
    old, new = schedules
    factor, new_factor = (yeast_form(form).factor.value for form in forms)
    fresh = dose_percent / factor
    start = dose_percent if forms[0] == forms[1] else converted_mass_g(dose_percent, factor, new_factor)
    if growth > 0:
        found = dose_for(fresh, old, new, growth) * new_factor
    elif stays_alike(old, new):
        # Only the time differs: the rate cancels, and the sum is the one that a baker does.
        found = inverse_dose_percent(start, old.time_h, new.time_h)
    else:
        found = start * old.sum_h / new.sum_h
    ends = [found]
    if band_starts(old, new):
        ends += [dose_for(fresh, old, new, end) * new_factor for end in (0.0, 1.0)]
    if new.rate.has_spread and not isinstance(new.rate, GasCurve):
        # The other rates miss more of what is printed: the band reaches to the default's answer.
        old_gas, new_gas = (Schedule(*schedule.steps, rate=DEFAULT_RATE) for schedule in schedules)
        if old_gas.sum_h > 0 and new_gas.sum_h > 0:
            ends.append(dose_for(fresh, old_gas, new_gas) * new_factor)
    off = rate_spread(old, new)
    return YeastDose(
        old_percent=dose_percent,
        form=forms[0],
        new_form=forms[1],
        old=old,
        new=new,
        growth=float(growth),
        dose_percent=found,
        low_percent=min(ends) / off,
        high_percent=max(ends) * off,
        cautions=(*cautions, *dose_cautions(fresh, found / new_factor, schedules, forms[1], extras)),
    )


def yeast_for_schedule(
    dose: Measure,
    old: Schedule,
    new: Schedule,
    *,
    growth: float = 0.0,
    form: str = "fresh",
    new_form: str | None = None,
    sugar: Measure | None = None,
    salt: Measure | None = None,
    new_salt: Measure | None = None,
    of: str = "dough",
) -> YeastDose:
    """Find the yeast that ferments as much in a new schedule: F = sum of rate(T) Y dt is the same in both.

    Args:
        dose: yeast in the old schedule, on the flour it ferments, a share.
        old: what the dough went through from the end of mixing to the oven, or a preferment until it is used.
        new: what it is to go through.
        growth: 0 (constant yeast, the inverse rule) to 1 (growth as counted), a plain number.
        form: the form of the yeast; see ``yeast_form``.
        new_form: another form for the new dose.
        sugar: sugar on the flour; above 5 % the answer cautions.
        salt: salt on the flour.
        new_salt: salt in the new dough, if it changes.
        of: whose yeast this is: "dough", "preferment", or a process such as "poolish".

    Returns:
        ``dose``, with ``low`` and ``high``: once the longer schedule is worth more than 4 h at 27 °C, from growth as
        counted to none; wider where the dough is colder or warmer than before, by what print says of the rate.

    Raises:
        QuantityError: for every bad argument at once; a schedule in which nothing ferments.
        UnknownNameError: when a form is unknown.

    Accuracy: for a ratio of times up to 2, printed tables are met within 0.90 to 1.93 (median 1.1 to 1.2); beyond,
    typically by a factor of 1.3 to 1.4, and up to 4 on one table.  Handbooks disagree with each other by as much.

    Example:
        >>> from formula.steps import Cool
        >>> plan = Schedule(Hold("3 h", "26 °C"))
        >>> night = Schedule(Hold("1 h", "26 °C"), Cool("9 h", to="5 °C", tau="2 h"), Cool("2 h", to="26 °C", tau="2 h"))
        >>> made = yeast_for_schedule("2 %", plan, night)
        >>> round(made.dose_percent, 2), round(made.low_percent, 2), round(made.high_percent, 2)
        (1.78, 1.55, 2.04)
    """
    with Door() as door:
        percent, name, _ = read_dose(door, dose, form, "dose")
        new_name = read_new_form(door, new_form, name)
        read_growth(door, growth)
        extras = read_extras(door, sugar, salt, new_salt, of)
        check_schedules(door, old, new)
    return yeast_dose(percent, (name, new_name), (old, new), growth, extras)
