"""The clock of the day: when each mix begins, and every part of its way until it is packed.

Backwards from the deliveries: each mix begins as late as its delivery allows, the last one first.  Where that would
begin before the opening, or a delivery would still be late, all is planned forwards from the opening, in the given order.
A delivery time means packed.  Doughs may also be kept in an order in which their allergens ask for the fewest cleanings.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import pairwise
from typing import Any, Final, Literal, TypeAlias, get_args

from attrs import evolve, frozen

from .bookings import FOREVER
from .day import DayPlan
from .dayjobs import Due, by_allergens, dues_of, plan_jobs
from .delivered import OrderTime, order_times
from .doughorder import CROSS_CONTACT, allergens_of, lost_allergens
from .errors import Fault, FormulaError, UnknownNameError, cited
from .lines import Lines
from .placing import Placed, Tried, fits, place
from .stations import Job, Stations, Task
from .working import Caution
from .workshop import Workshop

__all__ = ["Timetable", "made_table", "place_backwards", "place_forwards", "stations_of", "timetable"]

Aim = Literal["latest", "earliest"]
InOrder = Literal["given", "due", "allergens"]
_STEP_MIN: Final = 5
MANY_MIXES: Final = 150
"""From so many on, planning backwards has to be quick rather than thorough."""
_Size: TypeAlias = tuple[str, tuple[tuple[str, int], ...]]


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
    order: InOrder = "given"

    @cached_property
    def begin_min(self) -> int:
        """When the first mix begins; the opening, where there is no room for any."""
        return min((task.begin_min for task in self.tasks), default=self.workshop.opening_min)

    @cached_property
    def end_min(self) -> int:
        """When the last piece is packed; the opening, where there is no room for any."""
        return max((task.end_min for task in self.tasks), default=self.workshop.opening_min)

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
        """The station that is busiest; more of anything else would not make the day shorter.  "" where nothing is made."""
        return max(self.busy, key=lambda name: self.busy[name], default="")

    def to_tables(self) -> dict[str, Any]:
        """Return the timetable as plain tables for other programs; minutes from midnight of the day, and clock times."""
        return {
            "aim": self.aim,
            "order": self.order,
            "doughs": {dough.name: [plan.name for plan in dough.breads] for dough in self.day.doughs},
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


def timetable(day: DayPlan, workshop: Workshop, *, aim: Aim = "latest", order: InOrder = "given") -> Timetable:
    """Put a day on the clock: when each mix begins, and every part of its way until it is packed.

    Args:
        day: the day's doughs and mixes, from ``plan_day``.
        workshop: hours, ovens, people, places, and a process for each bread.
        aim: "latest": backwards from the deliveries, so that the bread is fresh and the shift begins late; what does not
            fit so is planned forwards.  "earliest": forwards from the opening.
        order: "given": as ordered, by what is due first when planned backwards.  "due": forwards, too, those due first come
            first.  "allergens": each mixer goes through its doughs in the order that needs the fewest cleanings (see
            ``allergen_order``), even if that makes bread late.

    Returns:
        The timetable; it says which orders are late rather than fail.

    Raises:
        UnknownNameError: a bread without a process, an unknown ``aim`` or ``order``.
        ContradictionError: breads that share a dough, but are to be mixed or risen in different ways.
        FormulaError: a mix that fits nowhere even in an empty workshop; all of them at once.

    Every part of a mix begins when the one before ends, within what the waits of its process allow; a load holds pieces of
    one bread of one mix.  A mixer is cleaned (``Workshop.cleaning``) before a dough that lacks an allergen of the one
    before it.  The plain order is a good one, not the best there is.

    Example:
        >>> from formula import load_day, load_workshop, plan_day
        >>> shop = load_workshop("docs/examples/harbour")
        >>> table = timetable(plan_day(*load_day("docs/examples/harbour"), shop), shop)
        >>> table.fits
        True
    """
    for name, value, choices in (("aim", aim, get_args(Aim)), ("order", order, get_args(InOrder))):
        if value not in choices:
            expected = "one of " + ", ".join(f'"{choice}"' for choice in choices)
            raise UnknownNameError(Fault(name, cited(value), expected))
    jobs = plan_jobs(day, workshop)
    _check_alone(jobs, workshop, day)
    dues = dues_of(day, jobs, workshop)
    cautions: tuple[Caution, ...] = (CROSS_CONTACT,) if workshop.cleaning_min else ()
    if order == "allergens":
        dues, cautions = by_allergens(dues)
    elif order == "due":
        dues.sort(key=lambda each: each.due_min)
    found = None
    if aim == "latest":
        placed = place_backwards(dues, stations_of(day, workshop), workshop.opening_min, order)
        found = None if placed is None else made_table(day, workshop, placed, "latest")
    if found is None or not found.fits:
        tasks, unplaced = place_forwards(dues, stations_of(day, workshop), workshop.opening_min, order)
        found = made_table(day, workshop, tasks, "earliest", unplaced)
    return evolve(found, order=order, cautions=cautions)


def stations_of(day: DayPlan, workshop: Workshop) -> Stations:
    """Return the calendars of a day's stations, with everything free."""
    return Stations(workshop, [mixer.name for mixer in day.bakery.mixers])


def _size(job: Job) -> _Size:
    """Return what mixes that are alike have in common: the dough, and the pieces of each of its breads."""
    return job.bread, tuple((part.bread, part.pieces) for part in job.breads)


def _check_alone(jobs: Sequence[Job], workshop: Workshop, day: DayPlan) -> None:
    """Refuse a mix for which there is no room even when nothing else is made."""
    faults: list[Fault] = []
    tried: set[_Size] = set()
    for job in jobs:
        if _size(job) not in tried:
            tried.add(_size(job))
            # Where everything is always there, another time would not help: one try decides.
            free = Stations(workshop, [mixer.name for mixer in day.bakery.mixers], always=True)
            if not fits(job, free):
                got = f"a mix of {job.pieces} pieces"
                expected = "one that the bench, the proof places and the ovens keep up with"
                faults.append(Fault(job.bread, got, expected, "smaller mixes, more room in its proof, people or oven"))
    if faults:
        raise FormulaError(*faults)


def place_forwards(
    dues: Sequence[Due], stations: Stations, earliest_min: int, order: InOrder = "given"
) -> tuple[tuple[Task, ...], tuple[Job, ...]]:
    """Place the mixes in the given order, each as early as it can be; return their tasks, and those without room."""
    tasks: list[Task] = []
    unplaced: list[Job] = []
    after: dict[str, int] = {}
    # The calendars only fill: where one mix found no room, the next like it does not look.
    since: dict[_Size, int] = {}
    for due in dues:
        size = _size(due.job)
        start = max(after.get(due.job.mixer, earliest_min), since.get(size, earliest_min))
        placed = place(due.job, start, stations)
        if placed is None:
            unplaced.append(due.job)
        else:
            since[size] = placed.begin_min
            tasks += placed.tasks
            if order == "allergens":
                after[due.job.mixer] = placed.begin_min
    return tuple(tasks), tuple(unplaced)


def place_backwards(
    dues: Sequence[Due], stations: Stations, earliest_min: int, order: InOrder = "given"
) -> tuple[Task, ...] | None:
    """Place the mixes that are due last first, each as late as it may; none, and None, if one would begin too early.

    In the order of allergens the last dough comes first instead, and no mix begins after one of the same mixer that is to
    come later.  On a day of very many mixes none is sought a place later than the mix like it that was placed before: that
    is quick, but leaves some of them earlier than they could be.
    """
    quick = len(dues) > MANY_MIXES
    spans: dict[_Size, tuple[int, ...]] = {}
    until: dict[tuple[_Size, tuple[int, ...]], int] = {}
    groups: list[tuple[Job, Placed]] = []
    before: dict[str, int] = {}
    last_first = list(reversed(dues))
    if order != "allergens":
        last_first.sort(key=lambda due: -due.due_min)
    for due in last_first:
        job, size = due.job, _size(due.job)
        if size not in spans:
            spans[size] = _spans(job, stations)
        start = min(by - span for by, span in zip(due.dues_min, spans[size], strict=True))
        start = min(start, before.get(job.mixer, start), until.get((size, due.dues_min), start))
        step = _STEP_MIN
        tried: Tried = {}
        while True:
            if start < earliest_min:
                for _, group in groups:
                    group.undo()
                return None
            placed = place(job, start, stations, tried)
            if placed and placed.begin_min < before.get(job.mixer, FOREVER) and _in_time(placed, due):
                groups.append((job, placed))
                if quick:
                    until[size, due.dues_min] = placed.begin_min
                break
            if placed:
                placed.undo()
            start -= step
            step = min(2 * step, 60)
        if order == "allergens":
            before[job.mixer] = placed.begin_min
    return _numbered(groups)


def _numbered(groups: Sequence[tuple[Job, Placed]]) -> tuple[Task, ...]:
    """Number those mixes of a dough that are alike in the order in which they begin."""
    ordered = sorted(groups, key=lambda group: group[1].begin_min)
    numbers: dict[_Size, list[int]] = {}
    for job, _ in ordered:
        numbers.setdefault(_size(job), []).append(job.mix)
    free = {key: iter(sorted(mixes)) for key, mixes in numbers.items()}
    return tuple(
        evolve(task, mix=number)
        for job, placed in ordered
        for number in (next(free[_size(job)]),)
        for task in placed.tasks
    )


def _in_time(placed: Placed, due: Due) -> bool:
    return all(placed.end_of(part.bread) <= by for part, by in zip(due.job.breads, due.dues_min, strict=True))


def _spans(job: Job, stations: Stations) -> tuple[int, ...]:
    """Return how long each bread of a mix takes from its beginning on, where nothing else is made."""
    workshop = stations.workshop
    placed = place(job, workshop.opening_min, Stations(workshop, stations.mixers))
    return tuple(placed.end_of(part.bread) - placed.begin_min if placed else 0 for part in job.breads)


def made_table(
    day: DayPlan, workshop: Workshop, tasks: tuple[Task, ...], aim: Aim, unplaced: tuple[Job, ...] = ()
) -> Timetable:
    """Make a timetable of tasks: when each order is packed, and where a mixer is cleaned, follows from them."""
    orders = tuple(each for plan in day.breads for each in order_times(plan, tasks, workshop))
    every = (*tasks, *_cleanings(day, workshop, tasks))
    return Timetable(day=day, workshop=workshop, tasks=every, orders=orders, aim=aim, unplaced=unplaced)


def _cleanings(day: DayPlan, workshop: Workshop, tasks: Sequence[Task]) -> Iterator[Task]:
    """Clean each mixer before a dough that lacks an allergen of the one before it, for which the placing left the time."""
    if not workshop.cleaning_min:
        return
    allergens = {dough.name: allergens_of(dough.mixes[0].batch.formula) for dough in day.doughs}
    for mixer in day.bakery.mixers:
        mixes = sorted((t for t in tasks if t.what == "mix" and t.station == mixer.name), key=lambda t: t.begin_min)
        for before, after in pairwise(mixes):
            if lost_allergens(allergens[before.bread], allergens[after.bread]):
                begin = before.end_min + workshop.turn_round_min
                yield Task("clean", after.bread, after.mix, mixer.name, begin, begin + workshop.cleaning_min, 0)
