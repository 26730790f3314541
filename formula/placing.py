"""Placing one mix on the clock: mixer, bulk, bench, proof, oven, cooling, packing, each where there is room for it.

From the mixer on a dough does not wait for people: every part begins when the one before ends, within the room that the
waits of its process leave.  Where a station is taken, the whole mix begins later by as much as is missing.  A mix for
several breads is mixed and risen as one and divided one bread after the other; from there each goes its own way.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Callable, Iterator, Mapping
from typing import Final, TypeAlias

from .bookings import FOREVER, Bookings
from .process import busy_min
from .stations import Job, Stations, Task
from .workshop import Oven

__all__ = ["Placed", "Tried", "fits", "place", "resume"]

LAST_MIN: Final = 2 * 1440
"""Nothing of a day is begun later than this: two days after its midnight."""
MOST_TRIES: Final = 400
"""A mix that has been moved so often stands in its own way, or in a day that is full."""

Tried: TypeAlias = dict[tuple[int, str], tuple[int | None, str]]
"""From the minute of a try and the oven used last: the minute to try next, and the oven used last after it."""


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
        done: Mapping[tuple[str, int], Task] | None = None,
        now_min: int = -FOREVER,
        *,
        hurried: bool = False,
        forced: bool = False,
    ) -> None:
        """Begin with nothing taken; loads are set after the best proof, hurried ones after the shortest, or when an oven is free."""
        self.hurried = hurried
        self.stations = stations
        self.done: Mapping[tuple[str, int], Task] = done or {}
        self.now_min = now_min
        self.forced = forced
        self.taken: list[tuple[Bookings, int, int, int]] = []
        self.mixed: list[tuple[str, tuple[int, int, tuple[str, ...]]]] = []
        self.tasks: list[Task] = []

    def take(self, calendar: Bookings | None, begin: int, end: int, count: int = 1) -> None:
        """Take so many for a while, if they are counted at all."""
        if calendar is not None:
            calendar.take(begin, end, count)
            self.taken.append((calendar, begin, end, count))

    def mix(self, job: Job, mixer: str, begin: int, end: int) -> None:
        """Take a mixer, and note what is mixed in it then."""
        self.take(self.stations.mixers[mixer], begin, end + self.stations.workshop.turn_round_min)
        self.mixed.append((mixer, (begin, end, job.allergens)))
        insort(self.stations.mixed[mixer], (begin, end, job.allergens))

    @property
    def begin_min(self) -> int:
        """When the mixer starts."""
        return self.tasks[0].begin_min

    def end_of(self, bread: str) -> int:
        """When the last piece of one of its breads is packed."""
        return max(task.end_min for task in self.tasks if task.bread == bread)

    def undo(self) -> None:
        """Give everything back."""
        for calendar, begin, end, count in reversed(self.taken):
            calendar.give_back(begin, end, count)
        for mixer, mixed in self.mixed:
            self.stations.mixed[mixer].remove(mixed)

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


def place(job: Job, start_min: int, stations: Stations, tried: Tried | None = None) -> Placed | None:
    """Place a mix at the earliest minute from ``start_min`` on at which all its parts find room, and book them.

    Args:
        job: the mix.
        start_min: the earliest minute at which it may begin.
        stations: the calendars; they are changed only when the mix is placed.
        tried: what came of the tries so far, if the mix is placed more than once with the same bookings.  Where it found room
            before, it has been undone since, and None is returned.

    Returns:
        The mix with its tasks, or None if it finds no room at all.
    """
    start = start_min
    found: Placed | int | None
    for _ in range(MOST_TRIES):
        if start > LAST_MIN:
            break
        # The oven that was used last decides which of two like ovens is taken, so it is a part of what is the same.
        now = start, stations.last_oven
        if tried is not None and now in tried:
            found, stations.last_oven = tried[now]
        else:
            found = _try(job, start, stations)
            if tried is not None:
                tried[now] = found if isinstance(found, int) else None, stations.last_oven
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
    for hurried, forced in ((False, False), (True, False), (False, True)):
        attempt = Placed(stations, done, now_min, hurried=hurried, forced=forced)
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
    hurry = any(part.process.proof.earliest_min < part.process.proof.best_min for part in job.breads)
    # A short proof leaves more time to the loads behind, so it is tried before the mix is moved.
    for hurried in (False, True) if hurry else (False,):
        attempt = Placed(stations, hurried=hurried)
        try:
            _mix(job, start, attempt)
        except _Late as late:
            attempt.undo()
            if late.minutes is not None:
                waits.append((attempt.begin_min if attempt.tasks else start) + late.minutes)
        else:
            return attempt
    return min(waits, default=None)


def _mix(job: Job, start: int, attempt: Placed) -> None:
    process, tasks, done = job.process, attempt.tasks, attempt.done
    if mixing := done.get(("mix", 0)):
        begin, mixed = done.get(("autolyse", 0), mixing).begin_min, mixing.end_min
        filled, mixer = mixing.begin_min, mixing.station
    else:
        length = process.autolyse_min + process.mix_min
        begin, mixer = _free_mixer(job, start, length, attempt.stations)
        filled, mixed = begin + process.autolyse_min, begin + length
    attempt.mix(job, mixer, begin, mixed)
    if process.autolyse_min:
        tasks.append(Task("autolyse", job.bread, job.mix, mixer, begin, filled, job.pieces))
    tasks.append(Task("mix", job.bread, job.mix, mixer, filled, mixed, job.pieces))
    mixed_so_far = len(tasks)
    divided = _divide(job, attempt, mixed)
    tasks.insert(mixed_so_far, Task("bulk", job.bread, job.mix, "tubs", mixed, divided[0][1], job.pieces))
    attempt.hold("tubs", mixed, max(divided[-1][2], mixed + 1), 1)
    for part, since, until in divided:
        for load in _bake(part, attempt, *_shape(part, attempt, since, until)):
            _finish(part, attempt, load)


def _divide(job: Job, attempt: Placed, mixed: int) -> list[tuple[Job, int, int]]:
    """Return each bread with the minutes between which it is divided: the first when the bulk is over, then one by one."""
    bulk, found = job.process.bulk, list[tuple[Job, int, int]]()
    earliest, best, latest = mixed + bulk.earliest_min, mixed + bulk.best_min, mixed + bulk.latest_min
    for part in job.breads:
        rate, people = part.process.divide_rate, part.process.divide_people
        long = busy_min(part.pieces, rate, people) if rate else 0
        if not long and ("bulk", 0) in attempt.done:
            divide = divided = attempt.done["bulk", 0].end_min
        else:
            divide, divided = attempt.part("divide", earliest, best, latest, long, people)
        if long:
            attempt.tasks.append(Task("divide", part.bread, job.mix, "bench", divide, divided, part.pieces, people))
        found.append((part, divide, divided))
        # What is left in the tub waits for its turn at the divider, as the last pieces of a single bread do.
        earliest = best = divided
        latest = max(divided, latest)
    return found


def _free_mixer(job: Job, start: int, length: int, stations: Stations) -> tuple[int, str]:
    """Return when the first of a mix's mixers is free for so long, and which it is: its own before those like it."""
    best: tuple[int, str] | None = None
    for name in (job.mixer, *job.alike):
        begin = stations.mixer_free(job, name, start, length)
        if begin is not None and (best is None or begin < best[0]):
            best = begin, name
            if begin == start:
                break
    if best is None:
        raise _Late(None)
    return best


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
    ovens = attempt.stations.oven_named

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
    process, count = job.process, len(left)
    turn, least, most = attempt.stations.in_turn(process.loads)
    proof_min = process.proof.earliest_min if attempt.hurried else process.proof.best_min

    def ready(pieces: int) -> int:
        return max(moment(left.start + pieces) + proof_min, attempt.now_min)

    least, most = min(least, count), min(most, count)
    found: list[tuple[int, int, int, int, str]] = []
    soonest, since, last = ready(least), 0, 0
    for name, holds in turn:
        pieces = min(holds, count)
        if pieces != last:
            last, since = pieces, ready(pieces)
        begin, long = _free_oven(attempt, ovens[name], since, process.bake_min)
        if begin is not None:
            found.append((max(0, begin - latest), begin, -pieces, long, name))
        if begin == soonest and pieces == most and long == process.bake_min:
            break  # No other oven is better.
    if not found:
        raise _Late(None)
    late, begin, pieces, long, name = min(found)
    if late and not attempt.forced:
        raise _Late(late)
    attempt.stations.last_oven = name
    return Task("bake", job.bread, job.mix, name, begin, begin + long, -pieces, 1, number)


def _free_oven(attempt: Placed, oven: Oven, start: int, bake_min: int) -> tuple[int | None, int]:
    """Return when an oven is free for a load, and how long that load bakes in it."""
    calendar, wall = attempt.stations.ovens[oven.name], attempt.stations.workshop.wall
    if not oven.fired_min:
        return calendar.first(start, bake_min + oven.turn_round_min, 1), bake_min
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
