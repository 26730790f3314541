"""Schedules: what a dough's hours at changing temperatures are worth in hours at one.

Fermentation is the rate at the dough's temperature summed up over time.  One hour of bulk, a night in the cold and two
hours of proof come down to so many hours at 26 °C, by closed forms where there are some and by Gauss and Legendre's rule
elsewhere.  As long as the yeast does not grow, the order of the steps does not matter; ``ferment`` has growing yeast.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise
from typing import ClassVar, Final, Protocol, TypeAlias, cast

from attrs import field, frozen

from .errors import Fault, QuantityError
from .quantity import TEMPERATURE, TIME, Door, Measure, View, read, write
from .rates import GasCurve, Rate, spread_factor
from .readerunits import with_units
from .steps import Cool, Hold, Leg, Ramp, set_fields
from .working import Caution, Step, Working, shown

__all__ = [
    "DEFAULT_RATE",
    "EquivalentTime",
    "FermentStep",
    "Readings",
    "Schedule",
    "StateLike",
    "rate_given",
    "schedule_cautions",
]

FermentStep: TypeAlias = Hold | Ramp | Cool
DEFAULT_RATE: Final = GasCurve()
_JUMP_K: Final = 2.0
"""A dough whose temperature changes by more between two steps would need a lag."""
_COLD_C: Final = 10.0
"""Below it a constant Q10 promises too much: rates are 3 to 5 times smaller than it says."""


class StateLike(Protocol):
    """A time with the dough's temperatures then, as ``Cooling.course`` returns them."""

    @property
    def time_h(self) -> float:
        """The time from the start, h."""
        ...

    @property
    def mean_c(self) -> float:
        """The mean temperature over the dough, °C."""
        ...


@frozen(init=False)
class Readings:
    """The dough's temperature as it was read or computed at several times, taken as straight between them.

    Args:
        points: pairs of a time and a temperature, times rising from any beginning; two or more.

    Raises:
        QuantityError: for every bad point at once; fewer than two; times that do not rise.

    A schedule takes it apart: n points are n - 1 steps.

    Example:
        >>> course = Readings(("0 h", "26 °C"), ("1 h", "20 °C"), ("3 h", "10 °C"))
        >>> [str(ramp) for ramp in course.ramps]
        ['1 h from 26 to 20 °C', '2 h from 20 to 10 °C']
    """

    times_h: tuple[float, ...]
    temperatures_c: tuple[float, ...]

    def __init__(self, *points: tuple[Measure, Measure]) -> None:
        """Read all points."""
        with Door() as door:
            times_h, temperatures_c = list[float](), list[float]()
            for number, (time, temperature) in enumerate(points, 1):
                times_h.append(door.read(TIME, time, f"point {number}: time"))
                temperatures_c.append(door.read(TEMPERATURE, temperature, f"point {number}: temperature"))
            _check_times(door, times_h)
        set_fields(self, times_h=tuple(times_h), temperatures_c=tuple(temperatures_c))

    @classmethod
    def of(cls, states: Iterable[StateLike]) -> Readings:
        """Take over a computed course, such as ``cooling(...).course("16 h", steps=64)``, with its mean temperatures.

        Raises:
            QuantityError: fewer than two states, or times that do not rise.
        """
        points = [(state.time_h, state.mean_c) for state in states]
        with Door() as door:
            _check_times(door, [time_h for time_h, _ in points])
        made = object.__new__(cls)
        set_fields(
            made, times_h=tuple(time for time, _ in points), temperatures_c=tuple(celsius for _, celsius in points)
        )
        return made

    @property
    def ramps(self) -> tuple[Ramp, ...]:
        """The steps from point to point."""
        points = list(zip(self.times_h, self.temperatures_c, strict=True))
        return tuple(Ramp.of(to_h - from_h, from_c, to_c) for (from_h, from_c), (to_h, to_c) in pairwise(points))


def _check_times(door: Door, times_h: list[float]) -> None:
    if len(times_h) < 2:
        door.refuse("points", f"{len(times_h)}", "two points or more, each a time and a temperature")
    if any(after <= before for before, after in pairwise(times_h)):
        door.refuse("points", "times that do not rise", "each point later than the one before")


def rate_given(rate: Rate | None, door: Door) -> Rate:
    """Return the rate, or the default where none is given; refuse what is none."""
    if rate is None:
        return DEFAULT_RATE
    if not isinstance(rate, Rate):  # pyright: ignore[reportUnnecessaryIsInstance] - callers without a type checker
        door.refuse("rate", repr(rate), "a rate", "take GasCurve(), Q10(2.0), SquareLaw() or OwnRate(your_function)")
    return rate


@frozen(init=False)
class Schedule:
    """The steps a dough goes through, in order, with the rate at which it ferments.

    Args:
        steps: ``Hold``, ``Ramp``, ``Cool`` and ``Readings``; the first ones must say where the dough begins.
        rate: how fast it works at a temperature; the gas curve by default.

    Raises:
        QuantityError: no step, something else than a step, a first step without a beginning.

    Example:
        >>> night = Schedule(Hold("1 h", "24 °C"), Cool("16 h", to="4 °C", tau="1.5 h"), Hold("2 h", "26 °C"))
        >>> round(night.equivalent("26 °C").time_h, 3)
        4.215
    """

    steps: tuple[FermentStep, ...]
    rate: Rate
    legs: tuple[FermentStep, ...] = field(eq=False, repr=False)
    """The steps with every beginning filled in."""

    def __init__(self, *steps: FermentStep | Readings, rate: Rate | None = None) -> None:
        """Take readings apart, and let every step begin where the one before ended unless it says otherwise."""
        taken, legs = list[FermentStep](), list[FermentStep]()
        with Door() as door:
            chosen = rate_given(rate, door)
            if not steps:
                door.refuse("schedule", "no step", "at least one", 'for example Hold("2 h", "26 °C")')
            for number, step in enumerate(steps, 1):
                if isinstance(step, Readings):
                    taken += step.ramps
                elif isinstance(step, (Hold, Ramp, Cool)):  # pyright: ignore[reportUnnecessaryIsInstance] - see above
                    taken.append(step)
                else:
                    got = f"an object of type {type(step).__name__}"
                    door.refuse(f"step {number}", got, "a Hold, a Ramp, a Cool or Readings")
            for step in taken:
                if step.first_c is None and not legs:
                    door.refuse("step 1", str(step), "the dough's temperature at the beginning", "give start=")
                    break
                legs.append(step.begun(legs[-1].last_c) if legs else step)
        set_fields(self, steps=tuple(taken), rate=chosen, legs=tuple(legs))

    @property
    def time_h(self) -> float:
        """How long it all takes, h."""
        return math.fsum(step.time_h for step in self.steps)

    time: ClassVar[View] = View(TIME, "time_h", "How long it all takes.")

    @property
    def sum_h(self) -> float:
        """The rate summed up over all steps, in hours at a rate of 1."""
        return math.fsum(leg.sum_h(self.rate) for leg in self.legs)

    @property
    def warmest_c(self) -> float:
        """The warmest that the dough is, °C."""
        return max(_warmest(leg) for leg in self.legs)

    def temperature_c(self, time_h: float) -> float:
        """Return the dough's temperature, °C, after a time in hours; beyond the end, that at the end."""
        left_h = time_h
        for leg in self.legs:
            if left_h <= leg.time_h:
                return leg.temperature_c(left_h)
            left_h -= leg.time_h
        return self.legs[-1].last_c

    def rate_at(self, time_h: float) -> float:
        """Return the relative rate after a time in hours, for a plot of what the dough does."""
        return self.rate.at(self.temperature_c(time_h))

    def with_step(self, number: int, step: FermentStep) -> Schedule:
        """Return the schedule with another step in the place of one, counted from 1."""
        return Schedule(*self.steps[: number - 1], step, *self.steps[number:], rate=self.rate)

    def until(self, time_h: float) -> Schedule:
        """Return the beginning of the schedule up to a time in hours, above zero."""
        taken, left_h = list[FermentStep](), time_h
        for leg in self.legs:
            if left_h <= leg.time_h:
                taken.append(leg.until(left_h))
                break
            taken.append(leg)
            left_h -= leg.time_h
        return Schedule(*taken, rate=self.rate)

    def equivalent(self, at: Measure, rate: Rate | None = None) -> EquivalentTime:
        """Find how many hours at one temperature the schedule is worth: sum of rate(T) dt / rate(at).

        Args:
            at: the temperature of the dough to compare with.
            rate: another rate than the schedule's own.

        Returns:
            ``time``, with ``low`` and ``high`` by what print says of the rate; ``steps_h`` for each step.

        Raises:
            QuantityError: no temperature, or one at which nothing ferments.

        Accuracy: closed forms and integration are good to 1e-11; the rate is not.  See ``spread_factor``.

        Example:
            >>> made = Schedule(Ramp("3 h", start="10 °C", to="30 °C")).equivalent("20 °C")
            >>> round(made.time_h, 2), round(made.low_h, 2), round(made.high_h, 2)
            (3.11, 3.06, 3.17)
        """
        schedule = self if rate is None else Schedule(*self.steps, rate=rate)
        at_c = read(TEMPERATURE, at, "at")
        reference = schedule.rate.at(at_c)
        if not reference > 0:
            low_c, high_c = schedule.rate.edges_c
            expected = f"a temperature at which the dough ferments, between {shown(low_c)} and {shown(high_c)} °C"
            raise QuantityError(Fault("at", write(TEMPERATURE, at_c), expected, 'for example "26 °C"'))
        return schedule.worth(at_c, reference)

    def worth(self, at_c: float, reference: float | None = None) -> EquivalentTime:
        """Return what ``equivalent`` does for a float, °C, at which the dough ferments; ``reference`` is the rate there."""
        rate = self.rate
        at = reference or rate.at(at_c)
        steps_h = tuple([leg.sum_h(rate) / at for leg in self.legs])
        return EquivalentTime(self, at_c, steps_h, math.fsum(steps_h))

    def sum_working(self) -> Working:
        """Show how the rate is summed up over all steps; the last line is the sum, in hours at a rate of 1."""
        steps: list[Step] = []
        parts: dict[str, float] = {}
        for number, leg in enumerate(self.legs, 1):
            parts[f"s{number}"] = summed = leg.sum_h(self.rate)
            if isinstance(leg, Hold):
                steps.append(self.rate.step(f"k{number}", f"T{number}", leg.held_c))
                values = {f"k{number}": self.rate.at(leg.held_c), f"t{number}": leg.time_h}
                steps.append(Step(f"s{number}", f"k{number} * t{number}", values, summed, "h", note=str(leg)))
            else:
                steps.append(self.summed_step(number, leg))
        steps.append(Step("s", " + ".join(parts), parts, self.sum_h, "h", note="hours at a rate of 1"))
        return Working(f"The rate summed up over {self}", with_units(steps, {"h": "t"}))

    def sum_step(self, symbol: str) -> Step:
        """Return the sum over all steps as one step under a name, which opens to ``sum_working``."""
        summed, note = self.sum_h, f"rate summed up over {self}"
        inside = (self.sum_working(),)
        return Step(symbol, symbol, {symbol: summed}, summed, "h", self.rate.source, note, inside=inside)

    def summed_step(self, number: int, leg: Leg) -> Step:
        """Return the sum over a step in which the temperature moves, which is an integral and not done on the board."""
        name, summed = f"s{number}", leg.sum_h(self.rate)
        return Step(name, name, {name: summed}, summed, "h", self.rate.source, f"the rate summed up over {leg}")

    def __str__(self) -> str:
        """Return the steps in words."""
        return "; ".join(str(leg) for leg in self.legs)


@frozen
class EquivalentTime:
    """The hours at one temperature that a schedule is worth, from ``low`` to ``high``; ``steps_h`` for each step."""

    schedule: Schedule
    at_c: float
    steps_h: tuple[float, ...]
    time_h: float

    at: ClassVar[View] = View(TEMPERATURE, "at_c", "The temperature compared with.")
    time: ClassVar[View] = View(TIME, "time_h", "The time at it.")

    @property
    def low_h(self) -> float:
        """The least that print allows, h."""
        return self._spread_h()[0]

    @property
    def high_h(self) -> float:
        """The most that print allows, h."""
        return self._spread_h()[1]

    low: ClassVar[View] = View(TIME, "low_h", "The least that print allows.")
    high: ClassVar[View] = View(TIME, "high_h", "The most that print allows.")

    def _spread_h(self) -> tuple[float, float]:
        rate = self.schedule.rate
        if not rate.has_spread:
            return self.time_h, self.time_h
        if not isinstance(rate, GasCurve) and DEFAULT_RATE.at(self.at_c) > 0:
            # The other rates miss more of what is printed: their spread reaches to that of the gas curve.
            gas = Schedule(*self.schedule.steps, rate=DEFAULT_RATE).worth(self.at_c)
            return min(self.time_h, gas.low_h), max(self.time_h, gas.high_h)
        low_h, high_h = list[float](), list[float]()
        for leg, step_h in zip(self.schedule.legs, self.steps_h, strict=True):
            factor = spread_factor(step_h / leg.time_h, max(_warmest(leg), self.at_c))
            low_h.append(step_h / factor)
            high_h.append(step_h * factor)
        return math.fsum(low_h), math.fsum(high_h)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What to know before using it."""
        return schedule_cautions(self.schedule)

    def working(self) -> Working:
        """Show the steps; the last line is the time."""
        rate = self.schedule.rate
        reference = rate.at(self.at_c)
        steps = [rate.step("k_at", "T_at", self.at_c)]
        for number, (leg, step_h) in enumerate(zip(self.schedule.legs, self.steps_h, strict=True), 1):
            if isinstance(leg, Hold):
                steps.append(rate.step(f"k{number}", f"T{number}", leg.held_c))
                values = {f"k{number}": rate.at(leg.held_c), f"t{number}": leg.time_h, "k_at": reference}
                expression = f"k{number} * t{number} / k_at"
            else:
                steps.append(self.schedule.summed_step(number, leg))
                values = {f"s{number}": steps[-1].value, "k_at": reference}
                expression = f"s{number} / k_at"
            steps.append(Step(f"e{number}", expression, values, step_h, "h", note=str(leg)))
        parts = {f"e{number}": step_h for number, step_h in enumerate(self.steps_h, 1)}
        steps.append(Step("time", " + ".join(parts), parts, self.time_h, "h", note=f"at {shown(self.at_c)} °C"))
        return Working(f"Hours at {shown(self.at_c)} °C", with_units(steps, {"h": "t"}), self.cautions)


def _warmest(leg: Leg) -> float:
    return max(cast("float", leg.first_c), leg.last_c)


def schedule_cautions(schedule: Schedule) -> tuple[Caution, ...]:
    """Return what must be known of a schedule and its rate."""
    legs, rate = schedule.legs, schedule.rate
    low_c, high_c = rate.edges_c
    warmest_c = schedule.warmest_c
    coldest_c = min(min(cast("float", leg.first_c), leg.last_c) for leg in legs)
    found: list[Caution] = []
    if warmest_c >= high_c:
        text = f"At {shown(warmest_c, 4)} °C the curve has ended, at {shown(high_c)} °C: yeast dies, and does not come back."
        found.append(Caution("yeast-dies", text))
    elif warmest_c > rate.peak_c:
        text = f"{shown(warmest_c, 4)} °C is above the best temperature, {shown(rate.peak_c, 4)} °C: warmer is slower there."
        found.append(Caution("above-best", text))
    if coldest_c <= low_c:
        text = f"At {shown(coldest_c, 4)} °C nothing ferments: the curve begins at {shown(low_c)} °C."
        found.append(Caution("standstill", text))
    if math.isinf(low_c) and coldest_c < _COLD_C:
        text = "In the cold a constant factor for 10 K overstates fermentation 3 to 5 times: use the gas curve."
        found.append(Caution("factor-in-the-cold", text))
    for number, (before, after) in enumerate(pairwise(legs), 2):
        jump_k = abs(cast("float", after.first_c) - before.last_c)
        if jump_k > _JUMP_K:
            text = (
                f"Before step {number} the dough's temperature jumps by {shown(jump_k, 3)} K, which takes hours in truth:"
                " use Cool with a lag, or a measured course."
            )
            found.append(Caution("jump", text))
            break
    return tuple(found)
