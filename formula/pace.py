"""The pace of a dough: a dough that came out warmer than planned is ready sooner, a colder one later.

The waits of its process are meant for the dough at its own temperature.  Bulk is summed up over the temperatures that were
measured; rest and proof go at the rate of the last one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import ClassVar

from attrs import frozen

from .process import Process, Wait
from .quantity import TEMPERATURE, TIME, Door, Measure, View, write
from .ready import ReadyTime, ready_time
from .schedule import DEFAULT_RATE, Schedule
from .steps import LONGEST_H, Hold
from .working import Caution, Step, Working, shown

__all__ = ["Pace", "pace_of"]


@frozen
class Pace:
    """The waits of a dough at the temperatures that it was measured to have.

    ``bulk``, ``rest`` and ``proof`` stand in the place of the process's; ``factor`` is what a wait at the last temperature
    takes of what it takes at the planned one, from ``low`` to ``high`` by what print says of the rate.  ``ready`` is how
    the best time of the bulk was found, None if there is no bulk.
    """

    planned_c: float
    readings: tuple[tuple[float, float], ...]
    bulk: Wait
    rest: Wait
    proof: Wait
    ready: ReadyTime | None
    factor: float
    low: float
    high: float

    planned: ClassVar[View] = View(TEMPERATURE, "planned_c", "The temperature that the waits are meant for.")

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What to know before using it."""
        text = (
            f"A dough of {shown(self.readings[-1][1], 4)} °C instead of {shown(self.planned_c, 4)} °C: waits take"
            f" {shown(self.factor, 3)} of their time ({shown(self.low, 3)} to {shown(self.high, 3)}) by the gas of baker's"
            " yeast alone; shaped pieces near the room, so that the proof changes by less. Look at the dough."
        )
        return (Caution("dough-off-temperature", text), *(self.ready.cautions if self.ready else ()))

    def working(self) -> Working:
        """Show when the bulk is ready, and last the factor of rest and proof."""
        steps = list(self.ready.working().steps) if self.ready else []
        last_c = self.readings[-1][1]
        steps += [
            DEFAULT_RATE.step("k_planned", "T_planned", self.planned_c),
            DEFAULT_RATE.step("k_dough", "T_dough", last_c),
        ]
        rates = {"k_planned": DEFAULT_RATE.at(self.planned_c), "k_dough": DEFAULT_RATE.at(last_c)}
        note = "of a wait at the planned temperature"
        steps.append(Step("factor", "k_planned / k_dough", rates, self.factor, "1", note=note))
        return Working("The pace of a dough", tuple(steps), self.cautions)


def pace_of(process: Process, planned: Measure, readings: Iterable[tuple[Measure, Measure]]) -> Pace:
    """Find how long a dough waits that was measured to be warmer or colder than planned.

    A wait is over when the rate, summed up over the measured temperatures, is what it is over the wait at the planned
    temperature.  A temperature holds from its reading to the next; the first is taken from the end of mixing.

    Args:
        process: with the waits at the planned temperature.
        planned: the dough's temperature that the process is meant for.
        readings: pairs of the time since the end of mixing, and the dough's temperature then; times rise.

    Returns:
        ``bulk``, ``rest`` and ``proof`` as they now are.

    Raises:
        QuantityError: every bad argument at once; no reading; a temperature at which a dough does not ferment.

    Accuracy: that of the gas curve (``low`` to ``high``), for baker's yeast in the amount the bread always has.  A levain
    has a curve of its own.  Where the pieces stand, they near the place's own temperature: the proof changes by less.

    Example:
        >>> made = Process(mix="15 min", bulk="2 h", proof="1 h", bake="30 min", loads={"deck": 60})
        >>> warm = pace_of(made, "25 °C", [("0 h", "27 °C")])
        >>> warm.bulk.best_min, warm.proof.best_min, round(warm.factor, 3)
        (107, 54, 0.884)
    """
    with Door() as door:
        planned_c = door.read(TEMPERATURE, planned, "planned")
        points = [
            (door.read(TIME, time, f"readings[{n}]: time"), door.read(TEMPERATURE, celsius, f"readings[{n}]"))
            for n, (time, celsius) in enumerate(readings)
        ]
        if not points:
            door.refuse("readings", "none", "at least one", 'such as ("0 h", "27 °C")')
        if any(later <= earlier for (earlier, _), (later, _) in pairwise(points)):
            door.refuse("readings", "times that do not rise", "each reading later than the one before")
        for where, celsius in (
            ("planned", planned_c),
            *((f"readings[{n}]", each) for n, (_, each) in enumerate(points)),
        ):
            if not math.isnan(celsius) and not DEFAULT_RATE.at(celsius) > 0:
                low_c, high_c = DEFAULT_RATE.edges_c
                expected = f"a dough that ferments, between {shown(low_c)} and {shown(high_c)} °C"
                door.refuse(where, write(TEMPERATURE, celsius), expected)
    schedule = _held(points)
    last = Schedule(Hold.of(1.0, points[-1][1])).worth(planned_c)
    bulk = process.bulk
    ready = ready_time(schedule, write(TIME, bulk.best_h), write(TEMPERATURE, planned_c)) if bulk.best_min else None
    return Pace(
        planned_c=planned_c,
        readings=tuple(points),
        bulk=_wait(*(_ready_h(schedule, wait_h, planned_c) for wait_h in _hours(bulk))),
        rest=_wait(*(wait_h / last.time_h for wait_h in _hours(process.rest))),
        proof=_wait(*(wait_h / last.time_h for wait_h in _hours(process.proof))),
        ready=ready,
        factor=1 / last.time_h,
        low=1 / last.high_h,
        high=1 / last.low_h,
    )


def _held(points: Sequence[tuple[float, float]]) -> Schedule:
    """Hold each temperature until the next reading; the last one for good."""
    lengths = [later - (earlier if place else 0.0) for place, ((earlier, _), (later, _)) in enumerate(pairwise(points))]
    return Schedule(
        *(Hold.of(time_h, celsius) for time_h, (_, celsius) in zip((*lengths, LONGEST_H), points, strict=True))
    )


def _ready_h(schedule: Schedule, wait_h: float, planned_c: float) -> float:
    return ready_time(schedule, write(TIME, wait_h), write(TEMPERATURE, planned_c)).time_h if wait_h else 0.0


def _hours(wait: Wait) -> tuple[float, float, float]:
    return wait.earliest_h, wait.best_h, wait.latest_h


def _wait(earliest_h: float, best_h: float, latest_h: float) -> Wait:
    return Wait(write(TIME, best_h), earliest=write(TIME, earliest_h), latest=write(TIME, latest_h))
