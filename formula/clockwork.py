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

from .day import DayPlan
from .delivered import OrderTime, by_due, order_times
from .errors import Fault, FormulaError, UnknownNameError, cited
from .lines import Lines
from .orders import Order
from .placing import Job, Placed, Stations, Task, fits, place
from .working import Caution
from .workshop import Workshop

__all__ = ["Timetable", "made_table", "plan_jobs", "timetable"]

Aim = Literal["latest", "earliest"]
MixOrder = Literal["given", "due"]
_STEP_MIN: Final = 5


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
    mix_order: MixOrder = "given"

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
    def late_piece_min(self) -> int:
        """The minutes by which each piece is late, summed: ten pieces by one minute count like one by ten."""
        return sum(order.late_piece_min for order in self.orders)

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
                    "late_piece_min": each.late_piece_min,
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
class _Due:
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
        Job(plan.name, number, mix.pieces, plan.mixer.name, process, alike)
        for plan in day.breads
        if (process := workshop.process_of(plan.weighed_name, plan.bread.name))
        for alike in [tuple(each.name for each in day.bakery.mixers if each != plan.mixer and each.is_like(plan.mixer))]
        for mix in plan.mixes
        for number in range(mix.first, mix.last + 1)
    )


def timetable(day: DayPlan, workshop: Workshop, *, aim: Aim = "latest", order: MixOrder = "given") -> Timetable:
    """Put a day on the clock: when each mix begins, and every part of its way until it is packed.

    Args:
        day: the day's doughs and mixes, from ``plan_day``.
        workshop: hours, ovens, people, places, and a process for each bread.
        aim: "latest": backwards from the deliveries, so that the bread is fresh and the shift begins late; what does not
            fit so is planned forwards.  "earliest": forwards from the opening.
        order: in which mixes are placed forwards: "given", as the orders are written, or "due", those due first come first.

    Returns:
        The timetable; it says which orders are late rather than fail.

    Raises:
        UnknownNameError: a bread without a process, an unknown ``aim`` or ``order``.
        FormulaError: a mix that fits nowhere even in an empty workshop; all of them at once.

    Every part of a mix begins when the one before ends, within what the waits of its process allow; a load holds pieces of
    one mix.  The plain order is a good one, not the best there is.
    """
    for where, got, known in (("aim", aim, get_args(Aim)), ("order", order, get_args(MixOrder))):
        if got not in known:
            raise UnknownNameError(Fault(where, cited(got), "one of " + ", ".join(f'"{each}"' for each in known)))
    jobs = plan_jobs(day, workshop)
    _check_alone(jobs, workshop, day)
    dues = _dues(day, jobs, workshop)
    if order == "due":
        dues.sort(key=lambda each: each.due_min)
    if aim == "latest":
        placed = _backwards(dues, workshop, day)
        if placed is not None:
            found = made_table(day, workshop, placed, "latest")
            if found.fits:
                return found
    tasks, unplaced = _forwards(dues, workshop, day)
    return evolve(made_table(day, workshop, tasks, "earliest", unplaced), mix_order=order)


def _stations(day: DayPlan, workshop: Workshop) -> Stations:
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


def _dues(day: DayPlan, jobs: Sequence[Job], workshop: Workshop) -> list[_Due]:
    """Return each mix with the moment at which the first of its pieces is due: pieces go to the orders as they are due."""
    found: list[_Due] = []
    rest = list(jobs)
    orders = [by_due(plan, workshop) for plan in day.breads]
    # What has no delivery time of its own is done with the last of the others.
    last = max((due for each in orders for due, _ in each if due is not None), default=workshop.opening_min)
    for plan, dues in zip(day.breads, orders, strict=True):
        mine, rest = rest[: plan.mix_count], rest[plan.mix_count :]
        made = 0
        for job in mine:
            due = _due_of(dues, made)
            found.append(_Due(job, last if due is None else due))
            made += job.pieces
    return found


def _due_of(orders: Sequence[tuple[int | None, Order]], piece: int) -> int | None:
    made = 0
    for due, order in orders:
        made += order.pieces_made
        if piece < made:
            return due
    return None


def _forwards(dues: Sequence[_Due], workshop: Workshop, day: DayPlan) -> tuple[tuple[Task, ...], tuple[Job, ...]]:
    """Place the mixes in the given order, each as early as it can be; return their tasks, and those without room."""
    stations = _stations(day, workshop)
    tasks: list[Task] = []
    unplaced: list[Job] = []
    # The calendars only fill: where one mix found no room, the next like it does not look.
    since: dict[tuple[str, int], int] = {}
    for due in dues:
        key = due.job.bread, due.job.pieces
        placed = place(due.job, since.get(key, workshop.opening_min), stations)
        if placed is None:
            unplaced.append(due.job)
        else:
            since[key] = placed.begin_min
            tasks += placed.tasks
    return tuple(tasks), tuple(unplaced)


def _backwards(dues: Sequence[_Due], workshop: Workshop, day: DayPlan) -> tuple[Task, ...] | None:
    """Place the mixes that are due last first, each as late as it may; None if one would begin before the opening."""
    stations = _stations(day, workshop)
    spans: dict[tuple[str, int], int] = {}
    until: dict[tuple[str, int, int], int] = {}
    groups: list[Placed] = []
    for _, due in sorted(enumerate(dues), key=lambda each: (-each[1].due_min, -each[0])):
        job = due.job
        key = (job.bread, job.pieces)
        if key not in spans:
            spans[key] = _span(job, workshop, day)
        # As in planning forwards: no later than the mix like it that was placed before.
        start, step = until.get((*key, due.due_min), due.due_min - spans[key]), _STEP_MIN
        while True:
            if start < workshop.opening_min:
                return None
            placed = place(job, start, stations)
            if placed and placed.end_min <= due.due_min:
                groups.append(placed)
                until[*key, due.due_min] = placed.begin_min
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


def _span(job: Job, workshop: Workshop, day: DayPlan) -> int:
    placed = place(job, workshop.opening_min, _stations(day, workshop))
    return placed.end_min - placed.begin_min if placed else 0


def made_table(
    day: DayPlan, workshop: Workshop, tasks: tuple[Task, ...], aim: Aim, unplaced: tuple[Job, ...] = ()
) -> Timetable:
    """Make a timetable of tasks: when each order is packed follows from them."""
    orders = tuple(each for plan in day.breads for each in order_times(plan, tasks, workshop))
    return Timetable(day=day, workshop=workshop, tasks=tasks, orders=orders, aim=aim, unplaced=unplaced)
