"""Ready: how long or how warm a step must be, and when a dough is ready, so that a schedule is worth what is wanted.

Every answer is a bracketed search, or a division where the step is a hold.  Above the best temperature two temperatures
give the same; the cold one is taken, and the warm one told.  What cannot be reached is refused with the nearest that can.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import ClassVar, Final, Literal, TypeAlias, cast

from attrs import frozen

from .errors import Fault, QuantityError
from .numeric import bracketed_root
from .quantity import TEMPERATURE, TIME, Door, Measure, OptionalView, View, write
from .schedule import EquivalentTime, Schedule, schedule_cautions
from .steps import LONGEST_H, Cool, Hold, Ramp
from .working import Caution, Step, Working, shown

__all__ = ["ReadyTime", "StepTemperature", "StepTime", "ready_time", "step_temperature", "step_time"]

Wanted: TypeAlias = Measure | EquivalentTime
Which: TypeAlias = Literal["time_h", "low_h", "high_h"]
_SHORTEST_H: Final = 1e-9
_COLDEST_C, _WARMEST_C = -40.0, 60.0
"""Where a rate knows no edge of its own, a temperature is sought between these."""


@frozen
class _Solved:
    """What the answers share: the schedule with the answer put in, and what it was to be worth."""

    schedule: Schedule
    wanted_h: float
    at_c: float

    wanted: ClassVar[View] = View(TIME, "wanted_h", "What the schedule is worth.")
    at: ClassVar[View] = View(TEMPERATURE, "at_c", "The temperature at which it is worth this.")

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What to know before using it."""
        return schedule_cautions(self.schedule)

    def _checked(self, title: str, symbol: str, value: float, unit: str, note: str) -> Working:
        """Put the answer into the schedule, show that it is worth what was wanted, and end with the answer."""
        steps = self.schedule.worth(self.at_c).working().steps
        answer = Step(symbol, symbol, {symbol: value}, value, unit, note=note, units={symbol: unit})
        return Working(title, (*steps, answer), self.cautions)


@frozen
class StepTime(_Solved):
    """How long one step must be: ``time``, from ``low`` to ``high`` by what print says of the rate."""

    step: int
    time_h: float
    low_h: float
    high_h: float

    time: ClassVar[View] = View(TIME, "time_h", "How long the step must be.")
    low: ClassVar[View] = View(TIME, "low_h", "The shortest it may have to be.")
    high: ClassVar[View] = View(TIME, "high_h", "The longest it may have to be.")

    def working(self) -> Working:
        """Show that with it the schedule is worth what was wanted; the last line is the time of the step."""
        note = f"step {self.step} was sought so that the line before is {shown(self.wanted_h)} h"
        return self._checked("Time of a step", f"t{self.step}", self.time_h, "h", note)


@frozen
class StepTemperature(_Solved):
    """How warm one step must be: ``temperature``; ``warm`` is the other one above the best, if there is one."""

    step: int
    temperature_c: float
    low_c: float
    high_c: float
    warm_c: float | None

    temperature: ClassVar[View] = View(
        TEMPERATURE, "temperature_c", "The temperature of the hold, the room that is neared, or the end of the ramp."
    )
    low: ClassVar[View] = View(TEMPERATURE, "low_c", "The coldest it may have to be.")
    high: ClassVar[View] = View(
        TEMPERATURE, "high_c", "The warmest it may have to be; the best temperature where even that may not be enough."
    )
    warm: ClassVar[OptionalView] = OptionalView(
        TEMPERATURE, "warm_c", "The other temperature that would do, above the best; never to be used."
    )

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What to know before using it."""
        found = schedule_cautions(self.schedule)
        if self.warm_c is None:
            return found
        text = (
            f"Two temperatures do: {shown(self.temperature_c, 4)} °C was taken; {shown(self.warm_c, 4)} °C lies above the"
            f" best, {shown(self.schedule.rate.peak_c, 4)} °C, where yeast suffers."
        )
        return (Caution("two-temperatures", text), *found)

    def working(self) -> Working:
        """Show that with it the schedule is worth what was wanted; the last line is the temperature."""
        note = f"step {self.step} was sought so that the line before is {shown(self.wanted_h)} h"
        return self._checked("Temperature of a step", f"T{self.step}", self.temperature_c, "°C", note)


@frozen
class ReadyTime(_Solved):
    """When a schedule is worth what is wanted: ``time`` from its beginning; ``schedule`` ends there."""

    time_h: float
    low_h: float
    high_h: float

    time: ClassVar[View] = View(TIME, "time_h", "When it is ready, from the beginning.")
    low: ClassVar[View] = View(TIME, "low_h", "The earliest.")
    high: ClassVar[View] = View(TIME, "high_h", "The latest; infinite where it may not be ready within the schedule.")

    def working(self) -> Working:
        """Show what the schedule is worth up to there; the last line is the time."""
        times = {f"t{number}": leg.time_h for number, leg in enumerate(self.schedule.legs, 1)}
        steps = self.schedule.worth(self.at_c).working().steps
        note = f"so far it is worth the {shown(self.wanted_h)} h of the line before"
        ready = Step("ready", " + ".join(times), times, self.time_h, "h", note=note, units=dict.fromkeys(times, "h"))
        return Working("When it is ready", (*steps, ready), self.cautions)


def _read(door: Door, schedule: Schedule, wanted: Wanted, at: Measure | None) -> tuple[float, float]:
    """Read what is wanted: an equivalent time with its own temperature, or a time with ``at``."""
    if isinstance(wanted, EquivalentTime):
        wanted_h, at_c = wanted.time_h, wanted.at_c
        if at is not None:
            door.refuse("at", "both", "no second temperature", "an equivalent time has its own")
        if wanted.schedule.rate != schedule.rate:
            door.refuse("wanted", "a time by another rate", "the schedule's own rate", "give both the same rate=")
    else:
        wanted_h = door.read(TIME, wanted, "wanted")
        if at is None:
            door.refuse("at", "nothing", "the temperature at which the time is counted", 'for example at="26 °C"')
            return wanted_h, math.nan
        at_c = door.read(TEMPERATURE, at, "at")
    if wanted_h == 0:
        door.refuse("wanted", write(TIME, 0.0), "a time above zero")
    if schedule.rate.at(at_c) == 0:
        door.refuse("at", write(TEMPERATURE, at_c), "a temperature at which the dough ferments", 'for example "26 °C"')
    return wanted_h, at_c


def _read_step(door: Door, schedule: Schedule, step: object) -> None:
    if isinstance(step, bool) or not isinstance(step, int) or not 1 <= step <= len(schedule.steps):
        count = len(schedule.steps)
        door.refuse("step", repr(step), f"the number of a step, 1 to {count}" if count > 1 else "1, the only step")


def _crossing(missing: Callable[[float], float], places: list[float]) -> float | None:
    """Return the first place where what is missing turns from above zero to nothing, or None."""
    before = places[0]
    for place in places[1:]:
        if missing(place) <= 0:
            return bracketed_root(missing, before, place)
        before = place
    return None


def step_time(schedule: Schedule, step: int, wanted: Wanted, at: Measure | None = None) -> StepTime:
    """Find how long one step must be for the schedule to be worth a time at a temperature.

    Args:
        schedule: the steps; the time of the sought one does not matter.
        step: which one, counted from 1.
        wanted: a time, with ``at``; or what another schedule's ``equivalent`` answered.
        at: the temperature of the dough at which the time is counted.

    Returns:
        ``time``, with ``low`` and ``high`` by what print says of the rate, and ``schedule`` with it put in.

    Raises:
        QuantityError: a step that is not there; a wanted time that the other steps pass by themselves, or that is never
            reached, with the nearest that is.

    Example:
        >>> night = Schedule(Hold("1 h", "24 °C"), Cool("16 h", to="4 °C", tau="1.5 h"), Hold("1 h", "26 °C"))
        >>> round(step_time(night, 3, "4 h", at="26 °C").time_h, 3)
        1.785
    """
    with Door() as door:
        wanted_h, at_c = _read(door, schedule, wanted, at)
        _read_step(door, schedule, step)
    old = schedule.steps[step - 1]

    def with_time(time_h: float) -> Schedule:
        if isinstance(old, Hold):
            return schedule.with_step(step, Hold.of(time_h, old.held_c))
        if isinstance(old, Ramp):
            return schedule.with_step(step, Ramp.of(time_h, old.start_c, old.to_c))
        return schedule.with_step(step, Cool.of(time_h, old.start_c, old.to_c, old.tau_h))

    def solved_h(which: Which) -> float | None:
        def missing_h(time_h: float) -> float:
            return wanted_h - cast("float", getattr(with_time(time_h).worth(at_c), which))

        if missing_h(_SHORTEST_H) <= 0:
            return 0.0
        return _crossing(missing_h, [_SHORTEST_H, *(LONGEST_H * 1.25**power for power in range(-90, 1))])

    time_h = solved_h("time_h")
    if not time_h:
        without_h = with_time(_SHORTEST_H).worth(at_c).time_h
        most_h = with_time(LONGEST_H).worth(at_c).time_h
        got = f"{shown(wanted_h, 4)} h at {shown(at_c, 4)} °C"
        if time_h is None:
            expected = (
                f"at most {shown(most_h, 4)} h, what it is worth with {shown(LONGEST_H)} h of step {step} ({old})"
            )
            fix = "make this step warmer, or another one longer"
        else:
            expected = f"more than {shown(without_h, 4)} h, what the other steps are worth without step {step}"
            fix = "leave the step out, and make another one shorter or colder"
        raise QuantityError(Fault("wanted", got, expected, fix))
    # Where the rate is slower than it says, the step must be longer.
    late_h, early_h = solved_h("low_h"), solved_h("high_h")
    return StepTime(
        with_time(time_h), wanted_h, at_c, step, time_h, early_h or 0.0, math.inf if late_h is None else late_h
    )


def step_temperature(schedule: Schedule, step: int, wanted: Wanted, at: Measure | None = None) -> StepTemperature:
    """Find how warm one step must be for the schedule to be worth a time at a temperature.

    Args:
        schedule: the steps; the temperature of the sought one does not matter.
        step: which one, counted from 1: of a hold its temperature, of ``Cool`` the room, of a ramp its end.
        wanted: a time, with ``at``; or what another schedule's ``equivalent`` answered.
        at: the temperature of the dough at which the time is counted.

    Returns:
        ``temperature``, the cold one of two; ``warm`` the other above the best, with a caution "two-temperatures".

    Raises:
        QuantityError: a step that is not there; a wanted time that is passed without this step, or not reached at its best
            temperature, with what is.

    Example:
        >>> day = Schedule(Hold("2 h", "26 °C"), Hold("6 h", "20 °C"))
        >>> found = step_temperature(day, 2, "5 h", at="26 °C")
        >>> round(found.temperature_c, 2), round(found.warm_c, 1)
        (17.5, 46.7)
    """
    with Door() as door:
        wanted_h, at_c = _read(door, schedule, wanted, at)
        _read_step(door, schedule, step)
    old = schedule.steps[step - 1]

    def with_c(celsius: float) -> Schedule:
        if isinstance(old, Hold):
            return schedule.with_step(step, Hold.of(old.time_h, celsius))
        if isinstance(old, Ramp):
            return schedule.with_step(step, Ramp.of(old.time_h, old.start_c, celsius))
        return schedule.with_step(step, Cool.of(old.time_h, old.start_c, celsius, old.tau_h))

    low_edge_c, high_edge_c = schedule.rate.edges_c
    coldest_c, best_c = max(low_edge_c, _COLDEST_C), min(schedule.rate.peak_c, _WARMEST_C)

    def solved_c(which: Which, *, warm: bool = False) -> float | None:
        def missing_h(celsius: float) -> float:
            return wanted_h - cast("float", getattr(with_c(celsius).worth(at_c), which))

        if warm:
            return bracketed_root(missing_h, best_c, high_edge_c) if missing_h(high_edge_c) > 0 else None
        if missing_h(coldest_c) <= 0:
            return coldest_c
        return _crossing(missing_h, [coldest_c + (best_c - coldest_c) * part / 16 for part in range(17)])

    temperature_c = solved_c("time_h")
    if temperature_c is None or temperature_c == coldest_c:
        nearest_c = best_c if temperature_c is None else coldest_c
        worth_h = with_c(nearest_c).worth(at_c).time_h
        side = "at most" if temperature_c is None else "more than"
        expected = f"{side} {shown(worth_h, 4)} h, what it is worth with step {step} at {shown(nearest_c, 4)} °C"
        fix = "make the step longer" if temperature_c is None else "make the steps shorter, or the others colder"
        raise QuantityError(Fault("wanted", f"{shown(wanted_h, 4)} h at {shown(at_c, 4)} °C", expected, fix))
    cold_c, hot_c = solved_c("high_h"), solved_c("low_h")
    warm_c = solved_c("time_h", warm=True) if schedule.rate.peak_c < high_edge_c < math.inf else None
    return StepTemperature(
        with_c(temperature_c),
        wanted_h,
        at_c,
        step,
        temperature_c,
        temperature_c if cold_c is None else cold_c,
        best_c if hot_c is None else hot_c,
        warm_c if warm_c != temperature_c else None,
    )


def ready_time(schedule: Schedule, wanted: Wanted, at: Measure | None = None) -> ReadyTime:
    """Find when a schedule is worth a time at a temperature: when the dough is ready.

    Args:
        schedule: the steps.
        wanted: a time, with ``at``; or what another schedule's ``equivalent`` answered.
        at: the temperature of the dough at which the time is counted.

    Returns:
        ``time`` from the beginning, with ``low`` and ``high`` by what print says of the rate.

    Raises:
        QuantityError: when it is never worth as much, with what it is worth and how much longer the last step must be.

    Example:
        >>> today = Schedule(Cool("4 h", start="26 °C", to="31 °C", tau="2 h"))
        >>> round(ready_time(today, "2 h", at="26 °C").time_h, 2)
        1.81
    """
    with Door() as door:
        wanted_h, at_c = _read(door, schedule, wanted, at)
    total_h = schedule.time_h

    def solved_h(which: Which) -> float:
        def missing_h(time_h: float) -> float:
            return wanted_h - cast("float", getattr(schedule.until(time_h).worth(at_c), which)) if time_h else wanted_h

        ends = [0.0]
        for leg in schedule.legs:
            ends.append(ends[-1] + leg.time_h)
        found = _crossing(missing_h, ends)
        return math.inf if found is None else found

    time_h = solved_h("time_h")
    if math.isinf(time_h):
        found_h = schedule.worth(at_c).time_h
        last = schedule.legs[-1]
        speed = schedule.rate.at(last.last_c) / schedule.rate.at(at_c)
        more_h = (wanted_h - found_h) / speed if speed > 0 else math.inf
        fix = f"about {shown(more_h, 3)} h more at {shown(last.last_c, 4)} °C would do"
        if more_h > LONGEST_H:
            fix = "end with a warmer step"
        expected = f"at most {shown(found_h, 4)} h, what all its {shown(total_h, 4)} h are worth"
        raise QuantityError(Fault("wanted", f"{shown(wanted_h, 4)} h at {shown(at_c, 4)} °C", expected, fix))
    return ReadyTime(schedule.until(time_h), wanted_h, at_c, time_h, solved_h("high_h"), solved_h("low_h"))
