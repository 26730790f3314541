"""Placing one mix on the clock: mixer, bulk, bench, proof, oven, cooling, packing, each where there is room for it.

From the mixer on a dough does not wait for people: every part begins when the one before ends, within the room that the
waits of its process leave.  Where a station is taken, the whole mix begins later by as much as is missing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Final

from attrs import frozen

from .bookings import FOREVER, Bookings
from .process import Process, busy_min
from .workshop import Oven, Workshop

__all__ = ["Job", "Placed", "Stations", "Task", "fits", "place", "resume"]

LAST_MIN: Final = 2 * 1440
"""Nothing of a day is begun later than this: two days after its midnight."""
MOST_TRIES: Final = 400
"""A mix that has been moved so often stands in its own way, or in a day that is full."""


@frozen
class Job:
    """A mix to be placed: its bread, its number, its pieces and its mixer."""

    bread: str
    mix: int
    pieces: int
    mixer: str
    process: Process


@frozen
class Task:
    """Something that is done from one minute to another: what, for which mix (and load), where, and how much of it is used."""

    what: str
    bread: str
    mix: int
    station: str
    begin_min: int
    end_min: int
    pieces: int
    count: int = 1
    load: int = 0


class Stations:
    """The calendars of a workshop and its mixers."""

    def __init__(self, workshop: Workshop, mixers: Iterable[str], *, always: bool = False) -> None:
        """Begin with everything free; with ``always`` all people are always there, and every oven is always hot."""
        self.workshop = workshop
        wall = workshop.wall.elapsed
        self.mixers = {name: Bookings(1) for name in mixers}
        self.ovens = {
            oven.name: Bookings(1)
            if always or not oven.fired_min
            else Bookings.within((wall(begin), wall(end), 1) for begin, end in oven.hot())
            for oven in workshop.ovens
        }
        self.places = {
            name: Bookings(count)
            for name, count in (
                ("tubs", workshop.tubs),
                ("proof", workshop.proof_places),
                ("cooling", workshop.cool_places),
                ("slicing", workshop.slicers),
                ("packing", workshop.packers),
                *workshop.gear.items(),
            )
            if count is not None
        }
        shifts = [stretch for shift in workshop.shifts for stretch in shift.stretches()]
        if shifts:
            bench = Bookings.within((wall(begin), wall(end), people) for begin, end, people in shifts)
            self.places["bench"] = Bookings(bench.most) if always else bench


class _Late(Exception):  # noqa: N818 - not an error: the mix has to begin later
    """A part finds no room in its time; the mix must begin so many minutes later."""

    def __init__(self, minutes: int | None) -> None:
        super().__init__()
        self.minutes = minutes


class Placed:
    """A mix on the clock: its tasks, and what it has taken of the stations, which ``undo`` gives back.

    Of a mix that is under way, ``done`` holds what has begun, by what it is and the load; its place is taken as it is, and
    nothing else begins before ``now_min``.  ``forced``: what finds no room in its time takes the next there is.
    """

    def __init__(
        self,
        stations: Stations,
        proof_min: int,
        done: Mapping[tuple[str, int], Task] | None = None,
        now_min: int = -FOREVER,
        *,
        forced: bool = False,
    ) -> None:
        """Begin with nothing taken; the loads are set after ``proof_min`` of proof, or as soon after as there is an oven."""
        self.proof_min = proof_min
        self.stations = stations
        self.done = done or {}
        self.now_min = now_min
        self.forced = forced
        self.taken: list[tuple[Bookings, int, int, int]] = []
        self.tasks: list[Task] = []

    def take(self, calendar: Bookings | None, begin: int, end: int, count: int = 1) -> None:
        """Take so many for a while, if they are counted at all."""
        if calendar is not None:
            calendar.take(begin, end, count)
            self.taken.append((calendar, begin, end, count))

    @property
    def begin_min(self) -> int:
        """When the mixer starts."""
        return self.tasks[0].begin_min

    @property
    def end_min(self) -> int:
        """When the last piece is packed."""
        return max(task.end_min for task in self.tasks)

    def undo(self) -> None:
        """Give everything back."""
        for calendar, begin, end, count in reversed(self.taken):
            calendar.give_back(begin, end, count)

    def part(self, what: str, earliest: int, best: int, latest: int, length: int, count: int) -> tuple[int, int]:
        """Return from when to when the bench does a part, and book it: as it was done, or when it can be done."""
        bench = self.stations.places.get("bench")
        if done := self.done.get((what, 0)):
            begin, end = done.begin_min, done.end_min
        else:
            best = max(best, self.now_min)
            begin = best if bench is None or not length else self._begin(bench, earliest, best, latest, length, count)
            end = begin + length
        self.take(bench, begin, end, count)
        return begin, end

    def _begin(self, bench: Bookings, earliest: int, best: int, latest: int, length: int, count: int) -> int:
        """Return the best time or one soon after, else one as soon as may be; too late asks for a later mix."""
        found = None
        for wish in (best, max(earliest, self.now_min)):
            found = bench.first(wish, length, count)
            if found is not None and found <= latest:
                return found
        if found is None or not self.forced:
            raise _Late(None if found is None else found - latest)
        return found

    def hold(self, station: str, begin: int, end: int, count: int) -> None:
        """Take places for a while that is already settled; if they are not free, ask for a later mix."""
        calendar = self.stations.places.get(station)
        if calendar is None:
            return
        found = begin if self.forced else calendar.first(begin, end - begin, count)
        if found != begin:
            raise _Late(None if found is None else found - begin)
        self.take(calendar, begin, end, count)


def place(job: Job, start_min: int, stations: Stations) -> Placed | None:
    """Place a mix at the earliest minute from ``start_min`` on at which all its parts find room, and book them.

    Args:
        job: the mix.
        start_min: the earliest minute at which it may begin.
        stations: the calendars; they are changed only when the mix is placed.

    Returns:
        The mix with its tasks, or None if it finds no room at all.
    """
    start = start_min
    for _ in range(MOST_TRIES):
        if start > LAST_MIN:
            break
        found = _try(job, start, stations)
        if not isinstance(found, int):
            return found
        start = max(start + 1, found)
    return None


def resume(job: Job, done: Mapping[tuple[str, int], Task], now_min: int, stations: Stations) -> Placed | None:
    """Place what is left of a mix that is under way: it cannot be moved any more, only its parts that have not begun.

    Args:
        job: the mix, with its waits as they now are.
        done: what has begun, by what it is and the number of the load, with its actual times.
        now_min: nothing else begins before this minute.
        stations: the calendars.

    Returns:
        All its tasks, or None if a part finds no people or no oven at all.  Where a wait cannot be held it is too long, and
        where a place is taken, more are in use than there are, since dough that is there has to stand somewhere.
    """
    proof = job.process.proof
    for proof_min, forced in ((proof.best_min, False), (proof.earliest_min, False), (proof.best_min, True)):
        attempt = Placed(stations, proof_min, done, now_min, forced=forced)
        try:
            _mix(job, now_min, attempt)
        except _Late:
            attempt.undo()
        else:
            return attempt
    return None


def fits(job: Job, stations: Stations) -> bool:
    """Tell whether a mix finds room at once where nothing else is made; nothing is booked."""
    found = _try(job, 0, stations)
    if isinstance(found, Placed):
        found.undo()
    return isinstance(found, Placed)


def _try(job: Job, start: int, stations: Stations) -> Placed | int | None:
    """Place a mix that begins at a minute, or return the minute at which to try next; None if there is none."""
    waits: list[int] = []
    # A short proof leaves more time to the loads behind, so it is tried before the mix is moved.
    for proof_min in dict.fromkeys((job.process.proof.best_min, job.process.proof.earliest_min)):
        attempt = Placed(stations, proof_min)
        try:
            _mix(job, start, attempt)
        except _Late as late:
            attempt.undo()
            if late.minutes is None:
                return None
            waits.append((attempt.begin_min if attempt.tasks else start) + late.minutes)
        else:
            return attempt
    return min(waits)


def _mix(job: Job, start: int, attempt: Placed) -> None:
    process, stations, done = job.process, attempt.stations, attempt.done
    mixer, turn_min = stations.mixers[job.mixer], stations.workshop.turn_round_min
    if mixing := done.get(("mix", 0)):
        begin, mixed = done.get(("autolyse", 0), mixing).begin_min, mixing.end_min
        filled = mixing.begin_min
    else:
        length = process.autolyse_min + process.mix_min
        free = mixer.first(start, length + turn_min, 1)
        if free is None:
            raise _Late(None)
        begin, mixed = free, free + length
        filled = begin + process.autolyse_min
    attempt.take(mixer, begin, mixed + turn_min)
    tasks = attempt.tasks

    def add(
        what: str, station: str, since: int, until: int, count: int = 1, pieces: int = job.pieces, load: int = 0
    ) -> None:
        tasks.append(Task(what, job.bread, job.mix, station, since, until, pieces, count, load))

    if process.autolyse_min:
        add("autolyse", job.mixer, begin, filled)
    add("mix", job.mixer, filled, mixed)
    bulk = process.bulk
    long = busy_min(job.pieces, process.divide_rate, process.divide_people) if process.divide_rate else 0
    if not long and ("bulk", 0) in done:
        divide = divided = done["bulk", 0].end_min
    else:
        earliest, best, latest = (mixed + each for each in (bulk.earliest_min, bulk.best_min, bulk.latest_min))
        divide, divided = attempt.part("divide", earliest, best, latest, long, process.divide_people)
    add("bulk", "tubs", mixed, divide)
    attempt.hold("tubs", mixed, max(divided, mixed + 1), 1)
    if long:
        add("divide", "bench", divide, divided, process.divide_people)
    shaped = _shape(job, attempt, divide, divided)
    for load in _bake(job, attempt, *shaped):
        _finish(job, attempt, load)


def _shape(job: Job, attempt: Placed, divide: int, divided: int) -> tuple[int, int]:
    """Return when shaping begins and ends: no piece rests less than it must, the first of them no longer than it may."""
    process = job.process
    if not process.shape_rate:
        return divide + process.rest.best_min, divided + process.rest.best_min
    long = busy_min(job.pieces, process.shape_rate, process.shape_people)
    slow = max(0, divided - divide - long)
    earliest, best, latest = (
        divide + slow + each for each in (process.rest.earliest_min, process.rest.best_min, process.rest.latest_min)
    )
    begin, shaped = attempt.part("shape", earliest, best, latest, long, process.shape_people)
    if begin > divide:
        attempt.tasks.append(Task("rest", job.bread, job.mix, "boards", divide, begin, job.pieces))
    attempt.tasks.append(Task("shape", job.bread, job.mix, "bench", begin, shaped, job.pieces, process.shape_people))
    return begin, shaped


def _bake(job: Job, attempt: Placed, shape: int, shaped: int) -> Iterator[Task]:
    """Set the pieces in loads, in the order in which they were shaped, each load in the oven that is free first."""
    process, set_in, number = job.process, 0, 0
    ovens = {oven.name: oven for oven in attempt.stations.workshop.ovens}

    def moment(piece: int) -> int:
        """When so many pieces are shaped, rounded up to the minute."""
        return shape + -(-(shaped - shape) * piece // job.pieces)

    def fill(load: Task) -> None:
        attempt.take(
            attempt.stations.ovens[load.station], load.begin_min, load.end_min + ovens[load.station].turn_round_min
        )

    baked = {number: load for (what, number), load in attempt.done.items() if what == "bake"}
    for load in baked.values():
        fill(load)
    while set_in < job.pieces:
        number += 1
        proofing = moment(set_in)
        if bake := baked.get(number):
            # Its first piece was shaped when it was, whatever the clock of the plan says.
            proofing = min(proofing, bake.begin_min)
        else:
            later = sum(load.pieces for each, load in baked.items() if each > number)
            if set_in + later == job.pieces:
                continue
            latest = shape + (shaped - shape) * set_in // job.pieces + process.proof.latest_min
            bake = _next_load(job, attempt, ovens, range(set_in, job.pieces - later), latest, moment, number)
            fill(bake)
        begin, pieces = bake.begin_min, bake.pieces
        attempt.hold("proof", proofing, max(begin, proofing + 1), pieces)
        for gear, until in process.gear.items():
            back = (begin if until == "proof" else bake.end_min) + attempt.stations.workshop.gear_return_min
            attempt.hold(gear, proofing, max(back, proofing + 1), pieces)
        proof = Task("proof", job.bread, job.mix, "proof", proofing, begin, pieces, pieces, number)
        attempt.tasks += [proof, bake]
        set_in += pieces
        yield bake


def _next_load(
    job: Job, attempt: Placed, ovens: Mapping[str, Oven], left: range, latest: int, moment: Callable[[int], int], number: int
) -> Task:  # fmt: skip
    """Find the oven that a load of the pieces left can go into first, by ``latest``; ask for a later mix if there is none."""
    found: list[tuple[int, int, int, int, str]] = []
    for name, holds in job.process.loads.items():
        pieces = min(holds, len(left))
        earliest = max(moment(left.start + pieces) + attempt.proof_min, attempt.now_min)
        begin, long = _free_oven(attempt, ovens[name], earliest, job.process.bake_min)
        if begin is not None:
            found.append((max(0, begin - latest), begin, -pieces, long, name))
    if not found:
        raise _Late(None)
    late, begin, pieces, long, name = min(found)
    if late and not attempt.forced:
        raise _Late(late)
    return Task("bake", job.bread, job.mix, name, begin, begin + long, -pieces, 1, number)


def _free_oven(attempt: Placed, oven: Oven, start: int, bake_min: int) -> tuple[int | None, int]:
    """Return when an oven is free for a load, and how long that load bakes in it."""
    calendar, wall = attempt.stations.ovens[oven.name], attempt.stations.workshop.wall
    while True:
        long = oven.bake_min(bake_min, wall.wall(start))
        begin = calendar.first(start, long + oven.turn_round_min, 1)
        if begin is None or begin == start:
            return begin, long
        start = begin


def _finish(job: Job, attempt: Placed, bake: Task) -> None:
    """Cool, slice and pack a load; bread can wait for its turn, so nothing here moves the mix, but for want of a place to cool."""
    process, places = job.process, attempt.stations.places
    at = bake.end_min + process.cool_min
    later: list[Task] = []
    for what, station, rate in (("slice", "slicing", process.slice_rate), ("pack", "packing", process.pack_rate)):
        if rate:
            calendar = places.get(station)
            if done := attempt.done.get((what, bake.load)):
                begin, end = done.begin_min, done.end_min
            else:
                at = max(at, attempt.now_min)
                long = busy_min(bake.pieces, rate)
                free = at if calendar is None else calendar.first(at, long, 1)
                if free is None:
                    raise _Late(None)
                begin, end = free, free + long
            attempt.take(calendar, begin, end)
            later.append(Task(what, job.bread, job.mix, station, begin, end, bake.pieces, 1, bake.load))
            at = end
    cooled = attempt.done.get(("cool", bake.load))
    leaves = later[0].begin_min if later else cooled.end_min if cooled else at
    attempt.hold("cooling", bake.end_min, max(leaves, bake.end_min + 1), bake.pieces)
    attempt.tasks += [
        Task("cool", job.bread, job.mix, "cooling", bake.end_min, leaves, bake.pieces, bake.pieces, bake.load),
        *later,
    ]
