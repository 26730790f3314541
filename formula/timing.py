"""Timing: the same dough ready at another time, in another room or with another dose, asked in one call.

Time is from the end of mixing to the oven: bulk, rests, bench and proof together.  Where one phase alone changes, it is
named and the time of the others given, because the dose works through all of them.  The temperature is the dough's; a
room enters through a lag, and without one the dough is taken to stay at its own temperature.
"""

from __future__ import annotations

import math
from typing import ClassVar, Final, TypedDict, Unpack

from attrs import frozen

from .dose import YeastDose, band_starts, rate_spread, stays_alike, yeast_dose
from .errors import Fault, QuantityError
from .ferment import fermentation_percent_h, mean_yeast
from .growth import read_dose, read_growth
from .limits import check_schedules, dose_cautions, read_extras, read_new_form
from .numeric import bracketed_root
from .quantity import SHARE, TEMPERATURE, TIME, Door, Measure, View, write
from .rates import Rate
from .readerunits import with_units
from .schedule import FermentStep, Schedule, rate_given
from .sources import Constant
from .steps import LONGEST_H, Cool, Hold
from .working import Caution, Step, Working, shown
from .yeast import yeast_form

__all__ = ["Conditions", "YeastTime", "time_for_yeast", "yeast_for_time"]

ASSUMED_C: Final = Constant(
    26.0, "°C", 1.5, "common-practice", "desired dough temperature of wheat doughs, 24 to 27 °C"
)
_SHORTEST_H: Final = 1e-9


class Conditions(TypedDict, total=False):
    """What may be said besides dose and time.

    Attributes:
        temperature: the dough's, from mixing on; 26 °C is assumed for the band if it is left out.
        new_temperature: the new dough's; the same as before if left out.
        room: the room's, with ``lag``: the dough nears it. Left out, the dough stayed as it was.
        new_room: the new room's, with ``lag``.
        lag: how long a difference to the room takes to shrink to 37 %; see ``cooling_from_reading``.
        phase: the name of the one phase whose time is meant, such as "proof".
        other_time: with ``phase``: the time of all the others, at ``temperature``.
        growth: 0 (constant yeast, the inverse rule) to 1 (growth as counted), a plain number.
        form: the form of the yeast.
        new_form: another form for the new dose.
        sugar: sugar on the flour.
        salt: salt on the flour.
        new_salt: salt in the new dough, if it changes.
        rate: how fast yeast works at a temperature; the gas curve by default.
        of: whose yeast this is: "dough", "preferment", or a process such as "poolish".
    """

    temperature: Measure
    new_temperature: Measure
    room: Measure
    new_room: Measure
    lag: Measure
    phase: str
    other_time: Measure
    growth: float
    form: str
    new_form: str
    sugar: Measure
    salt: Measure
    new_salt: Measure
    rate: Rate
    of: str


@frozen
class _Course:
    """How a dough's temperature goes: held before the phase in question, then held or nearing a room."""

    other_h: float
    other_c: float
    start_c: float
    room_c: float | None
    tau_h: float | None
    rate: Rate

    def schedule(self, time_h: float) -> Schedule:
        """Return the schedule with a time for what changes."""
        step: FermentStep = Hold.of(time_h, self.start_c)
        if self.room_c is not None and self.tau_h is not None:
            step = Cool.of(time_h, self.start_c, self.room_c, self.tau_h)
        before = (Hold.of(self.other_h, self.other_c),) if self.other_h else ()
        return Schedule(*before, step, rate=self.rate)


def _read_courses(door: Door, told: Conditions) -> tuple[_Course, _Course, tuple[Caution, ...]]:
    """Read how the old and the new dough's temperatures go, and what must be said about it."""
    found: list[Caution] = []
    rate = rate_given(told.get("rate"), door)

    def celsius(key: str) -> float | None:
        value = told.get(key)
        return None if value is None else door.read(TEMPERATURE, value, key)  # type: ignore[arg-type]

    temperature_c, new_c = celsius("temperature"), celsius("new_temperature")
    room_c, new_room_c = celsius("room"), celsius("new_room")
    if temperature_c is None:
        temperature_c = ASSUMED_C.value
        if any(key in told for key in ("new_temperature", "room", "new_room")):
            fix = "say how warm the dough left the mixer"
            door.refuse("temperature", "nothing", "the dough's temperature beside the new one or the room's", fix)
        text = f"No temperature is given: the dough is taken to be at {shown(temperature_c)} °C."
        found.append(Caution("assumed-temperature", text))
    lag = told.get("lag")
    tau_h = None if lag is None else door.read(TIME, lag, "lag")
    if tau_h == 0:
        door.refuse("lag", "0 h", "a lag above zero", "leave the room out for a dough that stays as it is")
    if tau_h is not None and room_c is None and new_room_c is None:
        door.refuse("room", "nothing", "the room beside its lag", 'for example new_room="31 °C"')
    if tau_h is None:
        room = "" if room_c is None and new_room_c is None else ", whatever the room; give lag= to let it warm or cool"
        text = f"No lag is given: the dough is taken to stay at its own temperature from mixer to oven{room}."
        found.append(Caution("steady-temperature", text))
    phase, other = told.get("phase"), told.get("other_time")
    if (phase is None) != (other is None):
        got = f"{phase!r} alone" if phase is not None else "other_time alone"
        fix = "the dose works through all phases: give phase= and the time of all the others, other_time="
        door.refuse("phase, other_time", got, "both or none", fix)
    other_h = 0.0 if other is None else door.read(TIME, other, "other_time")
    start_c = temperature_c if new_c is None else new_c
    old = _Course(other_h, temperature_c, temperature_c, room_c, tau_h, rate)
    # Where one phase changes, the others stay at the old temperature.
    new = _Course(other_h, temperature_c if phase is not None else start_c, start_c, new_room_c, tau_h, rate)
    return old, new, tuple(found)


def _read_hours(door: Door, value: Measure, where: str) -> float:
    time_h = door.read(TIME, value, where)
    if time_h == 0 or time_h > LONGEST_H:
        door.refuse(where, write(TIME, time_h), f"a time above zero, at most {shown(LONGEST_H)} h")
    return time_h


def yeast_for_time(
    dose: Measure, *, time: Measure, new_time: Measure | None = None, **conditions: Unpack[Conditions]
) -> YeastDose:
    """Find the yeast for another time, temperature or room: new dose = dose * (sum of rate dt) / (sum of rate dt, new).

    At one temperature this is the inverse rule: new dose = dose * time / new time.

    Args:
        dose: yeast on the flour it ferments, a share.
        time: from the end of mixing to the oven; of a preferment until it is used; of one phase if ``phase`` is named.
        new_time: the time it has now; the same if left out.
        conditions: see ``Conditions``: temperatures, rooms with their lag, one phase, growth, forms, sugar and salt.

    Returns:
        ``dose``, with ``low`` and ``high``; see ``yeast_for_schedule`` for the band and its accuracy.

    Raises:
        QuantityError: for every bad argument at once; a dose or a time of zero; a temperature at which nothing ferments.
        UnknownNameError: when a form is unknown.

    Example:
        >>> made = yeast_for_time("2 %", time="3 h", new_time="12 h")
        >>> made.dose_percent, round(made.low_percent, 2), made.high_percent
        (0.5, 0.24, 0.5)
        >>> hot = yeast_for_time("2 %", time="3 h", temperature="26 °C", room="26 °C", new_room="31 °C", lag="3 h")
        >>> round(hot.dose_percent, 2), round(hot.low_percent, 2), round(hot.high_percent, 2)
        (1.8, 1.71, 1.9)
    """
    with Door() as door:
        percent, form, _ = read_dose(door, dose, conditions.get("form", "fresh"), "dose")
        new_form = read_new_form(door, conditions.get("new_form"), form)
        time_h = _read_hours(door, time, "time")
        new_time_h = time_h if new_time is None else _read_hours(door, new_time, "new_time")
        growth = conditions.get("growth", 0.0)
        read_growth(door, growth)
        old_course, new_course, cautions = _read_courses(door, conditions)
        extras = read_extras(
            door,
            conditions.get("sugar"),
            conditions.get("salt"),
            conditions.get("new_salt"),
            conditions.get("of", "dough"),
        )
        door.close()
        old, new = old_course.schedule(time_h), new_course.schedule(new_time_h)
        check_schedules(door, old, new)
    return yeast_dose(percent, (form, new_form), (old, new), growth, extras, cautions)


@frozen
class YeastTime:
    """The time that a dose needs, from ``low`` to ``high``; of the named phase if there is one, else of all."""

    old_percent: float
    form: str
    new_percent: float
    new_form: str
    old: Schedule
    new: Schedule
    growth: float
    phase: str
    other_h: float
    time_h: float
    low_h: float
    high_h: float
    cautions: tuple[Caution, ...] = ()

    old_dose: ClassVar[View] = View(SHARE, "old_percent", "The old dose.", percent=True)
    new_dose: ClassVar[View] = View(SHARE, "new_percent", "The new dose.", percent=True)
    other: ClassVar[View] = View(TIME, "other_h", "The time of all the other phases, if one is named.")
    time: ClassVar[View] = View(TIME, "time_h", "The time it needs.")
    low: ClassVar[View] = View(TIME, "low_h", "The shortest it may need.")
    high: ClassVar[View] = View(TIME, "high_h", "The longest it may need; infinite where it may never be ready.")

    def working(self) -> Working:
        """Show the steps; the last line is the time."""
        old, new = yeast_form(self.form).factor, yeast_form(self.new_form).factor
        steps: list[Step] = []
        values = {"dose": self.old_percent, "new_dose": self.new_percent}
        ratio = "dose / new_dose"
        if self.form != self.new_form:
            for symbol, form, factor in (("f_old", self.form, old), ("f_new", self.new_form, new)):
                given = {symbol: factor.value}
                steps.append(Step(symbol, symbol, given, factor.value, "1", factor.source, f"{form} per 1 of fresh"))
            values |= {"f_old": old.value, "f_new": new.value}
            ratio = "dose / f_old / (new_dose / f_new)"
        if stays_alike(self.old, self.new) and not self.growth:
            values["t_old"] = self.old.time_h
            other = {"t_other": self.other_h} if self.other_h else {}
            expression = f"t_old * {ratio}" + (" - t_other" if other else "")
            steps.append(Step("time", expression, values | other, self.time_h, "h", note=self.phase))
            return Working("Time for a dose", with_units(steps, {"%": "dose new_dose", "h": "t"}), self.cautions)
        work = {"m_old": 1.0, "m_new": 1.0}
        for symbol, schedule in (("s_old", self.old), ("s_new", self.new)):
            steps.append(schedule.sum_step(symbol))
            values[symbol] = schedule.sum_h
        for symbol, percent, schedule in (
            ("m_old", self.old_percent / old.value, self.old),
            ("m_new", self.new_percent / new.value, self.new),
        ):
            work[symbol] = mean_yeast(percent, schedule, self.growth) if self.growth else 1.0
            note = "yeast at work per dose"
            steps.append(Step(symbol, symbol, {symbol: work[symbol]}, work[symbol], "1", note=note))
        done = self.new_percent / new.value * values["s_new"] * work["m_new"]
        done /= self.old_percent / old.value * values["s_old"] * work["m_old"]
        note = "fermentation done again, 1 where the time is right"
        expression = f"s_new * m_new / (s_old * m_old * ({ratio}))"
        steps += [
            Step("again", expression, values | work, done, "1", note=note),
            Step("time", "time", {"time": self.time_h}, self.time_h, "h", note=f"sought: {self.phase or 'all'}"),
        ]
        return Working("Time for a dose", with_units(steps, {"%": "dose new_dose", "h": "t"}), self.cautions)


def _solved_h(course: _Course, fresh_percent: float, wanted: float, growth: float) -> float:
    """Return the time after which so much is fermented: zero if before the phase begins, infinite if never."""

    def missing(time_h: float) -> float:
        return wanted - fermentation_percent_h(fresh_percent, course.schedule(time_h), growth)

    if missing(_SHORTEST_H) <= 0:
        return 0.0
    before_h = _SHORTEST_H
    for power in range(-60, 1):
        after_h = LONGEST_H * 1.25**power
        if missing(after_h) <= 0:
            return bracketed_root(missing, before_h, after_h)
        before_h = after_h
    return math.inf


def time_for_yeast(
    dose: Measure, *, time: Measure, new_dose: Measure | None = None, **conditions: Unpack[Conditions]
) -> YeastTime:
    """Find the time that another dose, temperature or room asks for: the inverse of ``yeast_for_time``.

    Args:
        dose: yeast that did it in ``time``, on the flour it ferments, a share.
        time: from the end of mixing to the oven; of one phase if ``phase`` is named.
        new_dose: the yeast there is now; the same if left out.
        conditions: see ``Conditions``.

    Returns:
        ``time``, with ``low`` and ``high``: from growth as counted to none where it takes long, and by what print says of
        the rate where the temperature changes.

    Raises:
        QuantityError: for every bad argument at once; a dose or a time of zero; a dough that is never ready, with the
            nearest dose that is; a phase before which it is ready already.
        UnknownNameError: when a form is unknown.

    Example:
        >>> round(time_for_yeast("2 %", time="2 h", new_dose="1 %").time_h, 9)
        4.0
        >>> hot = time_for_yeast("2 %", time="3 h", temperature="26 °C", room="26 °C", new_room="31 °C", lag="3 h")
        >>> round(hot.time_h, 2), round(hot.low_h, 2), round(hot.high_h, 2)
        (2.72, 2.59, 2.85)
    """
    with Door() as door:
        percent, form, factor = read_dose(door, dose, conditions.get("form", "fresh"), "dose")
        new_form = read_new_form(door, conditions.get("new_form"), form)
        new_percent, new_factor = percent, factor
        if new_dose is not None or new_form != form:
            new_percent, _, new_factor = read_dose(
                door, new_dose if new_dose is not None else dose, new_form or "fresh", "new_dose"
            )
        time_h = _read_hours(door, time, "time")
        growth = conditions.get("growth", 0.0)
        read_growth(door, growth)
        old_course, new_course, cautions = _read_courses(door, conditions)
        extras = read_extras(
            door,
            conditions.get("sugar"),
            conditions.get("salt"),
            conditions.get("new_salt"),
            conditions.get("of", "dough"),
        )
        door.close()
        old = old_course.schedule(time_h)
        check_schedules(door, old, old)
    fresh, new_fresh = percent / factor, new_percent / new_factor
    wanted = fermentation_percent_h(fresh, old, growth)
    found_h = _solved_h(new_course, new_fresh, wanted, growth)
    if found_h == 0 or math.isinf(found_h):
        raise QuantityError(_never(new_course, new_fresh, wanted, growth, found_h))
    new = new_course.schedule(found_h)
    off = rate_spread(old, new)
    ends_h: list[float] = []
    for end in {growth, 0.0, 1.0} if band_starts(old, new) else {growth}:
        target = fermentation_percent_h(fresh, old, end)
        ends_h += [_solved_h(new_course, new_fresh, target * times, end) for times in (1 / off, off)]
    if stays_alike(old, new) and not growth:
        # Only time and yeast differ: the rate cancels, and the sum is the one that a baker does.
        found_h = old.time_h * percent / factor / (new_percent / new_factor) - new_course.other_h
    return YeastTime(
        old_percent=percent,
        form=form,
        new_percent=new_percent,
        new_form=new_form,
        old=old,
        new=new,
        growth=float(growth),
        phase=conditions.get("phase", ""),
        other_h=new_course.other_h,
        time_h=found_h,
        low_h=min(found_h, *ends_h),
        high_h=max(found_h, *ends_h),
        cautions=(*cautions, *dose_cautions(fresh, new_fresh, (old, new), new_form, extras)),
    )


def _never(course: _Course, fresh_percent: float, wanted: float, growth: float, found_h: float) -> Fault:
    got = f"{shown(fresh_percent, 3)} % of fresh yeast"
    if found_h == 0:
        done = fermentation_percent_h(fresh_percent, course.schedule(_SHORTEST_H), growth) / wanted
        fix = "the dough is ready before the phase begins: shorten the others"
        return Fault("new_dose", got, f"at most {shown(fresh_percent / done, 3)} %, or less other_time", fix)
    most = fermentation_percent_h(fresh_percent, course.schedule(LONGEST_H), growth)
    if most <= 0:
        low_c, high_c = course.rate.edges_c
        where = "new_temperature"
        return Fault(
            where, got, f"a dough between {shown(low_c)} and {shown(high_c)} °C", "nothing ferments in this one"
        )
    expected = f"more than {shown(fresh_percent * wanted / most, 3)} %, which is ready just after {shown(LONGEST_H)} h"
    return Fault("new_dose", got, expected, "the dough is never ready: give more yeast, or a warmer dough or room")
