"""Steps of a fermentation: what temperature the dough has for how long, held, ramped, cooling or warming, or as read.

The temperature is that of the dough.  A room enters through ``Cool``: the dough nears the room's temperature with a lag,
colder or warmer, and never jumps.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import ClassVar, Final, Self, cast

from attrs import frozen

from .quantity import TEMPERATURE, TIME, Door, Measure, View, write
from .rates import Rate
from .working import shown

__all__ = ["LONGEST_H", "Cool", "Hold", "Leg", "Ramp", "set_fields"]

LONGEST_H: Final = 2400.0
"""A hundred days: a longer step is a slip."""


class Leg:
    """What every step answers, times counted in hours from its own beginning."""

    __slots__ = ()
    time_h: float

    time: ClassVar[View] = View(TIME, "time_h", "How long it lasts.")

    def temperature_c(self, time_h: float) -> float:
        """Return the dough's temperature, °C, after a time."""
        raise NotImplementedError

    @property
    def first_c(self) -> float | None:
        """The dough's temperature at the beginning; None if it is that at the end of the step before."""
        raise NotImplementedError

    @property
    def last_c(self) -> float:
        """The dough's temperature at the end, °C."""
        return self.temperature_c(self.time_h)

    def sum_h(self, rate: Rate) -> float:
        """Return the rate summed up over the step, in hours at a rate of 1."""
        raise NotImplementedError

    def begun(self, before_c: float) -> Self:
        """Return the step with its beginning filled in from the end of the step before."""
        del before_c
        return self

    def until(self, time_h: float) -> Leg:
        """Return the part up to a time."""
        raise NotImplementedError

    def after(self, time_h: float) -> Leg:
        """Return the part from a time on."""
        raise NotImplementedError

    def time_at_h(self, temperature_c: float) -> float:
        """Return the time at which a step that moves passes a temperature between its ends."""
        raise NotImplementedError

    def times_at(self, temperatures_c: Iterable[float]) -> list[float]:
        """Return the times strictly inside the step at which it passes temperatures, in order."""
        first_c, last_c = cast("float", self.first_c), self.last_c
        low_c, high_c = min(first_c, last_c), max(first_c, last_c)
        return sorted(self.time_at_h(each) for each in temperatures_c if low_c < each < high_c)


def _read_time(door: Door, value: Measure, name: str) -> float:
    time_h = door.read(TIME, value, name)
    if time_h == 0 or time_h > LONGEST_H:
        expected = f"a time above zero, at most {shown(LONGEST_H)} h"
        door.refuse(name, write(TIME, time_h), expected, "leave the step out" if time_h == 0 else "")
    return time_h


def set_fields(step: object, **fields: object) -> None:
    """Set fields of a frozen object under construction."""
    for name, value in fields.items():
        object.__setattr__(step, name, value)


@frozen(init=False)
class Hold(Leg):
    """The dough stays at one temperature.

    Args:
        time: how long, above zero.
        temperature: the dough's.

    Raises:
        QuantityError: for both arguments at once.

    Example:
        >>> Hold("90 min", "24 °C").time_h
        1.5
    """

    time_h: float
    held_c: float

    def __init__(self, time: Measure, temperature: Measure) -> None:
        """Read both."""
        with Door() as door:
            set_fields(
                self, time_h=_read_time(door, time, "time"), held_c=door.read(TEMPERATURE, temperature, "temperature")
            )

    @classmethod
    def of(cls, time_h: float, temperature_c: float) -> Self:
        """Make one from computed floats."""
        made = object.__new__(cls)
        set_fields(made, time_h=time_h, held_c=temperature_c)
        return made

    held: ClassVar[View] = View(TEMPERATURE, "held_c", "The dough's temperature.")

    def temperature_c(self, time_h: float) -> float:
        """Return the dough's temperature, °C, which does not depend on the time."""
        del time_h
        return self.held_c

    @property
    def first_c(self) -> float:
        """The dough's temperature, °C."""
        return self.held_c

    def sum_h(self, rate: Rate) -> float:
        """Return the rate summed up over the step: rate times time."""
        return self.time_h * rate.at(self.held_c)

    def until(self, time_h: float) -> Hold:
        """Return the part up to a time."""
        return Hold.of(time_h, self.held_c)

    def after(self, time_h: float) -> Hold:
        """Return the part from a time on."""
        return Hold.of(self.time_h - time_h, self.held_c)

    def __str__(self) -> str:
        """Return the step in words."""
        return f"{shown(self.time_h, 4)} h at {shown(self.held_c, 4)} °C"


@frozen(init=False)
class Ramp(Leg):
    """The dough's temperature goes evenly from one to another.

    Args:
        time: how long, above zero.
        to: the dough's temperature at the end.
        start: that at the beginning; left out, where the step before ended.

    Raises:
        QuantityError: for every bad argument at once.

    Example:
        >>> Ramp("3 h", start="10 °C", to="30 °C").temperature_c(1.5)
        20.0
    """

    time_h: float
    start_c: float | None
    to_c: float

    def __init__(self, time: Measure, *, to: Measure, start: Measure | None = None) -> None:
        """Read all three."""
        with Door() as door:
            set_fields(
                self,
                time_h=_read_time(door, time, "time"),
                to_c=door.read(TEMPERATURE, to, "to"),
                start_c=None if start is None else door.read(TEMPERATURE, start, "start"),
            )

    @classmethod
    def of(cls, time_h: float, start_c: float | None, to_c: float) -> Self:
        """Make one from computed floats."""
        made = object.__new__(cls)
        set_fields(made, time_h=time_h, start_c=start_c, to_c=to_c)
        return made

    def temperature_c(self, time_h: float) -> float:
        """Return the dough's temperature, °C, after a time; the beginning must be known."""
        start_c = cast("float", self.start_c)
        return start_c + (self.to_c - start_c) * (time_h / self.time_h)

    @property
    def first_c(self) -> float | None:
        """The dough's temperature at the beginning, °C, or None."""
        return self.start_c

    def sum_h(self, rate: Rate) -> float:
        """Return the rate summed up: its mean over the temperatures passed, times time."""
        # A beginning that is not known yet is filled in by the schedule, and only then a step is summed up.
        start_c, end_c = self.start_c or 0.0, self.to_c
        low_c, high_c = rate.edges_c
        if low_c <= start_c <= high_c and low_c <= end_c <= high_c:
            return self.time_h * rate.ramp_mean(start_c, end_c)
        bottom_c, top_c = (start_c, end_c) if start_c <= end_c else (end_c, start_c)
        inside_bottom_c, inside_top_c = max(bottom_c, low_c), min(top_c, high_c)
        if inside_bottom_c >= inside_top_c:
            return 0.0
        part = (inside_top_c - inside_bottom_c) / (top_c - bottom_c)
        return self.time_h * part * rate.ramp_mean(inside_bottom_c, inside_top_c)

    def begun(self, before_c: float) -> Self:
        """Return the step with its beginning filled in."""
        return self if self.start_c is not None else self.of(self.time_h, before_c, self.to_c)

    def until(self, time_h: float) -> Ramp:
        """Return the part up to a time."""
        return Ramp.of(time_h, self.start_c, self.temperature_c(time_h))

    def after(self, time_h: float) -> Ramp:
        """Return the part from a time on."""
        return Ramp.of(self.time_h - time_h, self.temperature_c(time_h), self.to_c)

    def time_at_h(self, temperature_c: float) -> float:
        """Return the time at which it passes a temperature between its ends."""
        start_c = cast("float", self.start_c)
        return self.time_h * (temperature_c - start_c) / (self.to_c - start_c)

    def __str__(self) -> str:
        """Return the step in words."""
        start = "" if self.start_c is None else f"from {shown(self.start_c, 4)} "
        return f"{shown(self.time_h, 4)} h {start}to {shown(self.to_c, 4)} °C"


@frozen(init=False)
class Cool(Leg):
    """The dough cools or warms towards a room: T = room + (start - room) exp(-t / tau).

    Args:
        time: how long, above zero.
        to: the temperature of the room, cold or warm, which the dough nears.
        tau: the lag: after it, 37 % of the difference is left; measure it with one reading (``cooling_from_reading``).
        start: the dough's temperature at the beginning; left out, where the step before ended.

    Raises:
        QuantityError: for every bad argument at once.

    Example:
        >>> round(Cool("16 h", start="24 °C", to="4 °C", tau="1.5 h").temperature_c(1.5), 2)
        11.36
    """

    time_h: float
    start_c: float | None
    to_c: float
    tau_h: float

    def __init__(self, time: Measure, *, to: Measure, tau: Measure, start: Measure | None = None) -> None:
        """Read all four."""
        with Door() as door:
            tau_h = door.read(TIME, tau, "tau")
            if tau_h == 0:
                door.refuse("tau", write(TIME, tau_h), "a lag above zero", "use Hold for a dough that does not lag")
            set_fields(
                self,
                time_h=_read_time(door, time, "time"),
                to_c=door.read(TEMPERATURE, to, "to"),
                tau_h=tau_h,
                start_c=None if start is None else door.read(TEMPERATURE, start, "start"),
            )

    @classmethod
    def of(cls, time_h: float, start_c: float | None, to_c: float, tau_h: float) -> Self:
        """Make one from computed floats."""
        made = object.__new__(cls)
        set_fields(made, time_h=time_h, start_c=start_c, to_c=to_c, tau_h=tau_h)
        return made

    tau: ClassVar[View] = View(TIME, "tau_h", "The lag.")

    def temperature_c(self, time_h: float) -> float:
        """Return the dough's temperature, °C, after a time; the beginning must be known."""
        return self.to_c + (cast("float", self.start_c) - self.to_c) * math.exp(-time_h / self.tau_h)

    @property
    def first_c(self) -> float | None:
        """The dough's temperature at the beginning, °C, or None."""
        return self.start_c

    def sum_h(self, rate: Rate) -> float:
        """Return the rate summed up over the step."""
        start_c = self.start_c or 0.0
        spans = self.time_h / self.tau_h
        low_c, high_c = rate.edges_c
        if low_c <= start_c <= high_c and low_c <= self.to_c <= high_c:
            return self.tau_h * rate.decay_sum(self.to_c, start_c, spans)
        # The temperature goes one way only: it comes in at one edge, if it begins outside, and may leave at the other.
        begin_c, goal_c = min(max(start_c, low_c), high_c), min(max(self.to_c, low_c), high_c)
        if begin_c == goal_c:
            return 0.0
        from_h = 0.0 if begin_c == start_c else self.time_at_h(begin_c)
        to_h = self.time_h if goal_c == self.to_c else min(self.time_h, self.time_at_h(goal_c))
        return self.tau_h * rate.decay_sum(self.to_c, begin_c, (to_h - from_h) / self.tau_h) if to_h > from_h else 0.0

    def begun(self, before_c: float) -> Self:
        """Return the step with its beginning filled in."""
        return self if self.start_c is not None else self.of(self.time_h, before_c, self.to_c, self.tau_h)

    def until(self, time_h: float) -> Cool:
        """Return the part up to a time."""
        return Cool.of(time_h, self.start_c, self.to_c, self.tau_h)

    def after(self, time_h: float) -> Cool:
        """Return the part from a time on."""
        return Cool.of(self.time_h - time_h, self.temperature_c(time_h), self.to_c, self.tau_h)

    def time_at_h(self, temperature_c: float) -> float:
        """Return the time at which it passes a temperature between its ends."""
        return self.tau_h * math.log((cast("float", self.start_c) - self.to_c) / (temperature_c - self.to_c))

    def __str__(self) -> str:
        """Return the step in words."""
        start = "" if self.start_c is None else f"from {shown(self.start_c, 4)} "
        return f"{shown(self.time_h, 4)} h {start}towards {shown(self.to_c, 4)} °C, lag {shown(self.tau_h, 4)} h"
