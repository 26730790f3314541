"""The clock of the day: when each mix begins, and every part of its way until it is packed.

Backwards from the deliveries: each mix begins as late as its delivery allows, the last one first.  Where that would
begin before the opening, or a delivery would still be late, all is planned forwards from the opening, in the given order.
A delivery time means packed.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any, Final, Literal, get_args

from attrs import evolve, frozen

from .day import BreadPlan, DayPlan
from .errors import Fault, FormulaError, UnknownNameError, cited
from .lines import Lines
from .orders import Order
from .placing import Job, Placed, Stations, Task, fits, place
from .quantity import Door
from .timeofday import read_clock
from .working import Caution
from .workshop import Workshop

__all__ = [
    "Due",
    "OrderTime",
    "Timetable",
    "as_timetable",
    "dues_of",
    "place_backwards",
    "place_forwards",
    "plan_jobs",
    "stations_of",
    "timetable",
]

Aim = Literal["latest", "earliest"]
_STEP_MIN: Final = 5


@frozen
class OrderTime:
    """When an order is packed: the last of its pieces at ``ready_min``, due at ``due_min`` (None if it does not matter).

    ``late_pieces`` are packed after that, ``short_pieces`` not at all.
    """

    order: Order
    name: str
    ready_min: int
    due_min: int | None
    late_pieces: int
    short_pieces: int

    @property
    def late_min(self) -> int:
        """Minutes from the time due until all of it that is made is packed, 0 if in time."""
        return 0 if self.due_min is None else max(0, self.ready_min - self.due_min)


@frozen
class Timetable:
    """The day on the clock: every task, and when each order is packed.  Minutes count from midnight of the day."""

    day: DayPlan
    workshop: Workshop
    tasks: tuple[Task, ...]
    orders: tuple[OrderTime, ...]
    aim: Aim
    unplaced: tuple[Job, ...] = ()
    cautions: tuple[Caution, ...] = ()

    @cached_property
    def begin_min(self) -> int:
        """When the first mix begins."""
        return min(task.begin_min for task in self.tasks)

    @cached_property
    def end_min(self) -> int:
        """When the last piece is packed."""
        return max(task.end_min for task in self.tasks)

    @property
    def late_min(self) -> int:
        """The minutes by which the latest order is late."""
        return max((order.late_min for order in self.orders), default=0)

    @property
    def late_pieces(self) -> int:
        """Pieces of all orders that are not packed when they are due."""
        return sum(order.late_pieces for order in self.orders)

    @property
    def short_pieces(self) -> int:
        """Pieces of all orders for which there is no room at all."""
        return sum(order.short_pieces for order in self.orders)

    @property
    def fits(self) -> bool:
        """Whether every order is packed, and in time."""
        return not self.unplaced and self.late_min == 0

    def clock(self, minutes: int) -> str:
        """Write a moment of the plan as the clock on the wall shows it."""
        return self.workshop.wall.text(minutes)

    @cached_property
    def busy(self) -> Lines[float]:
        """The share of the time from the first mix to the last piece in which each mixer, oven and the bench is at work."""
        return Lines((name, _busy_share(self, name)) for name in self.stations)

    @cached_property
    def stations(self) -> tuple[str, ...]:
        """The stations that set the pace: mixers, the bench and ovens."""
        mixers = [mixer.name for mixer in self.day.bakery.mixers]
        names = {task.station for task in self.tasks}
        return tuple(name for name in (*mixers, "bench", *(oven.name for oven in self.workshop.ovens)) if name in names)

    @property
    def bottleneck(self) -> str:
        """The station that is busiest; more of anything else would not make the day shorter."""
        return max(self.busy, key=lambda name: self.busy[name])

    def to_tables(self) -> dict[str, Any]:
        """Return the timetable as plain tables for other programs; minutes from midnight of the day, and clock times."""
        return {
            "aim": self.aim,
            "date": self.workshop.wall.date,
            "zone": self.workshop.wall.zone,
            "late_min": self.late_min,
            "late_pieces": self.late_pieces,
            "short_pieces": self.short_pieces,
            "busy_share": dict(self.busy),
            "orders": [
                {
                    "bread": each.name,
                    "pieces": each.order.pieces_made,
                    "due_min": each.due_min,
                    "ready_min": each.ready_min,
                    "ready": self.clock(each.ready_min),
                    "late_min": each.late_min,
                    "late_pieces": each.late_pieces,
                    "short_pieces": each.short_pieces,
                }
                for each in self.orders
            ],
            "tasks": [
                {
                    "what": task.what,
                    "bread": task.bread,
                    "mix": task.mix,
                    "load": task.load,
                    "station": task.station,
                    "begin_min": task.begin_min,
                    "end_min": task.end_min,
                    "begin": self.clock(task.begin_min),
                    "end": self.clock(task.end_min),
                    "pieces": task.pieces,
                    "count": task.count,
                }
                for task in self.tasks
            ],
            "cautions": [{"code": caution.code, "text": caution.text} for caution in self.cautions],
        }


def _busy_share(table: Timetable, station: str) -> float:
    tasks = [task for task in table.tasks if task.station == station]
    turns = {oven.name: oven.turn_round_min for oven in table.workshop.ovens}
    work = sum((task.end_min - task.begin_min) * task.count + turns.get(station, 0) for task in tasks)
    there = _people(table.workshop, table.begin_min, table.end_min) if station == "bench" else 1.0
    return work / ((table.end_min - table.begin_min) * there)


def _people(workshop: Workshop, begin: int, end: int) -> float:
    """Return how many people are at the bench on average between two moments."""
    if not workshop.shifts:
        return 1.0
    there = workshop.wall.elapsed
    minutes = sum(
        people * max(0, min(end, there(until)) - max(begin, there(since)))
        for shift in workshop.shifts
        for since, until, people in shift.stretches()
    )
    return max(1.0, minutes / max(1, end - begin))


@frozen
class Due:
    """A mix with the moment at which its first piece is due."""

    job: Job
    due_min: int


def plan_jobs(day: DayPlan, workshop: Workshop) -> tuple[Job, ...]:
    """Return the day's mixes as jobs, in the given order; a bread without a process is refused, all at once.

    Args:
        day: the day's doughs and mixes.
        workshop: with a process for each of its breads.

    Raises:
        UnknownNameError: for every bread that has none.
    """
    missing = [
        plan.bread.name for plan in day.breads if workshop.process_of(plan.weighed_name, plan.bread.name) is None
    ]
    if missing:
        known = ", ".join(workshop.processes) or "none"
        faults = [
            Fault(f"process of {name}", "none", f"one; there are: {known}", "say how it is made")
            for name in dict.fromkeys(missing)
        ]
        raise UnknownNameError(*faults)
    return tuple(
        Job(plan.name, number, mix.pieces, plan.mixer.name, process)
        for plan in day.breads
        if (process := workshop.process_of(plan.weighed_name, plan.bread.name))
        for mix in plan.mixes
        for number in range(mix.first, mix.last + 1)
    )


def timetable(day: DayPlan, workshop: Workshop, *, aim: Aim = "latest") -> Timetable:
    """Put a day on the clock: when each mix begins, and every part of its way until it is packed.

    Args:
        day: the day's doughs and mixes, from ``plan_day``.
        workshop: hours, ovens, people, places, and a process for each bread.
        aim: "latest": backwards from the deliveries, so that the bread is fresh and the shift begins late; what does not
            fit so is planned forwards.  "earliest": forwards from the opening.

    Returns:
        The timetable; it says which orders are late rather than fail.

    Raises:
        UnknownNameError: a bread without a process, an unknown ``aim``.
        FormulaError: a mix that fits nowhere even in an empty workshop; all of them at once.

    Every part of a mix begins when the one before ends, within what the waits of its process allow; a load holds pieces of
    one mix.  The plain order is a good one, not the best there is.
    """
    if aim not in get_args(Aim):
        raise UnknownNameError(Fault("aim", cited(aim), 'one of "latest", "earliest"'))
    jobs = plan_jobs(day, workshop)
    _check_alone(jobs, workshop, day)
    dues = dues_of(day, jobs, workshop)
    if aim == "latest":
        placed = place_backwards(dues, stations_of(day, workshop), workshop.opening_min)
        if placed is not None:
            found = as_timetable(day, workshop, placed, "latest")
            if found.fits:
                return found
    tasks, unplaced = place_forwards(dues, stations_of(day, workshop), workshop.opening_min)
    return as_timetable(day, workshop, tasks, "earliest", unplaced)


def stations_of(day: DayPlan, workshop: Workshop) -> Stations:
    """Return the calendars of a day's stations, with everything free."""
    return Stations(workshop, [mixer.name for mixer in day.bakery.mixers])


def _check_alone(jobs: Sequence[Job], workshop: Workshop, day: DayPlan) -> None:
    """Refuse a mix for which there is no room even when nothing else is made."""
    faults: list[Fault] = []
    tried: set[tuple[str, int]] = set()
    for job in jobs:
        if (job.bread, job.pieces) not in tried:
            tried.add((job.bread, job.pieces))
            # Where everything is always there, another time would not help: one try decides.
            free = Stations(workshop, [mixer.name for mixer in day.bakery.mixers], always=True)
            if not fits(job, free):
                got = f"a mix of {job.pieces} pieces"
                expected = "one that the bench, the proof places and the ovens keep up with"
                faults.append(Fault(job.bread, got, expected, "smaller mixes, more room in its proof, people or oven"))
    if faults:
        raise FormulaError(*faults)


def dues_of(day: DayPlan, jobs: Sequence[Job], workshop: Workshop) -> list[Due]:
    """Return each mix with the moment at which the first of its pieces is due: pieces go to the orders as they are due."""
    found: list[Due] = []
    rest = list(jobs)
    orders = [_by_due(plan, workshop) for plan in day.breads]
    # What has no delivery time of its own is done with the last of the others.
    last = max((due for each in orders for due, _ in each if due is not None), default=workshop.opening_min)
    for plan, dues in zip(day.breads, orders, strict=True):
        mine, rest = rest[: plan.mix_count], rest[plan.mix_count :]
        made = 0
        for job in mine:
            due = _due_of(dues, made)
            found.append(Due(job, last if due is None else due))
            made += job.pieces
    return found


def _by_due(plan: BreadPlan, workshop: Workshop) -> list[tuple[int | None, Order]]:
    with Door() as door:
        pairs = [
            (workshop.wall.elapsed(read_clock(door, order.due, "due")) if order.due else None, order)
            for order in plan.orders
        ]
    return sorted(pairs, key=lambda pair: (pair[0] is None, pair[0] or 0))


def _due_of(orders: Sequence[tuple[int | None, Order]], piece: int) -> int | None:
    made = 0
    for due, order in orders:
        made += order.pieces_made
        if piece < made:
            return due
    return None


def place_forwards(
    dues: Sequence[Due], stations: Stations, earliest_min: int
) -> tuple[tuple[Task, ...], tuple[Job, ...]]:
    """Place the mixes in the given order, each as early as it can be; return their tasks, and those without room."""
    tasks: list[Task] = []
    unplaced: list[Job] = []
    for due in dues:
        placed = place(due.job, earliest_min, stations)
        if placed is None:
            unplaced.append(due.job)
        else:
            tasks += placed.tasks
    return tuple(tasks), tuple(unplaced)


def place_backwards(dues: Sequence[Due], stations: Stations, earliest_min: int) -> tuple[Task, ...] | None:
    """Place the mixes that are due last first, each as late as it may; none, and None, if one would begin too early."""
    spans: dict[tuple[str, int], int] = {}
    groups: list[Placed] = []
    for _, due in sorted(enumerate(dues), key=lambda each: (-each[1].due_min, -each[0])):
        job = due.job
        key = (job.bread, job.pieces)
        if key not in spans:
            spans[key] = _span(job, stations)
        start, step = due.due_min - spans[key], _STEP_MIN
        while True:
            if start < earliest_min:
                for group in groups:
                    group.undo()
                return None
            placed = place(job, start, stations)
            if placed and placed.end_min <= due.due_min:
                groups.append(placed)
                break
            if placed:
                placed.undo()
            start -= step
            step = min(2 * step, 60)
    return _numbered(groups)


def _numbered(groups: Sequence[Placed]) -> tuple[Task, ...]:
    """Number those mixes of a bread that are alike in the order in which they begin."""
    ordered = sorted(groups, key=lambda group: group.begin_min)
    numbers: dict[tuple[str, int], list[int]] = {}
    for first in (group.tasks[0] for group in ordered):
        numbers.setdefault((first.bread, first.pieces), []).append(first.mix)
    free = {key: iter(sorted(mixes)) for key, mixes in numbers.items()}
    return tuple(
        evolve(task, mix=number)
        for group in ordered
        for number in (next(free[group.tasks[0].bread, group.tasks[0].pieces]),)
        for task in group.tasks
    )


def _span(job: Job, stations: Stations) -> int:
    """Return how long a mix takes from the opening on, where nothing else is made."""
    workshop = stations.workshop
    placed = place(job, workshop.opening_min, Stations(workshop, stations.mixers))
    return placed.end_min - placed.begin_min if placed else 0


def as_timetable(
    day: DayPlan, workshop: Workshop, tasks: tuple[Task, ...], aim: Aim, unplaced: tuple[Job, ...] = ()
) -> Timetable:
    """Make a timetable of tasks: find out when each order is packed."""
    orders = tuple(each for plan in day.breads for each in _order_times(plan, tasks, workshop))
    return Timetable(day=day, workshop=workshop, tasks=tasks, orders=orders, aim=aim, unplaced=unplaced)


def _order_times(plan: BreadPlan, tasks: Sequence[Task], workshop: Workshop) -> list[OrderTime]:
    """Give the pieces to the orders in the order in which they are packed and due."""
    ends: dict[tuple[int, int], tuple[int, int]] = {}
    for task in tasks:
        if task.bread == plan.name and task.load:
            key = task.mix, task.load
            ends[key] = max(ends.get(key, (task.end_min, 0))[0], task.end_min), task.pieces
    loads = sorted(ends.values())
    found: list[OrderTime] = []
    for due, order in _by_due(plan, workshop):
        left, ready, late = order.pieces_made, 0, 0
        while left and loads:
            end, pieces = loads[0]
            taken = min(left, pieces)
            loads[0] = end, pieces - taken
            if not loads[0][1]:
                loads.pop(0)
            left -= taken
            ready = end
            late += taken if due is not None and end > due else 0
        found.append(OrderTime(order, plan.name, ready, due, late, left))
    return found
