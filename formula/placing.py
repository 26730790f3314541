"""Placing one mix on the clock: mixer, bulk, bench, proof, oven, cooling, packing, each where there is room for it.

From the mixer on a dough does not wait for people: every part begins when the one before ends, within the room that the
waits of its process leave.  Where a station is taken, the whole mix begins later by as much as is missing.  A mix for
several breads is mixed and risen as one and divided one bread after the other; from there each goes its own way.
"""

from __future__ import annotations

from bisect import bisect, insort
from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from attrs import frozen

from .bookings import Bookings
from .doughorder import lost_allergens
from .process import Process, busy_min
from .workshop import Oven, Workshop

__all__ = ["Job", "Placed", "Stations", "Task", "fits", "place"]

LAST_MIN: Final = 2 * 1440
"""Nothing of a day is begun later than this: two days after its midnight."""
MOST_TRIES: Final = 400
"""A mix that has been moved so often stands in its own way, or in a day that is full."""


@frozen
class Job:
    """A mix to be placed: its bread, its number, its pieces and its mixer.

    A mix for several breads has the name of the dough, and in ``parts`` a job for each bread, which are divided in this
    order.  ``allergens`` are those of the dough, for the cleaning of the mixer; ``alike`` are other mixers like its own.
    """

    bread: str
    mix: int
    pieces: int
    mixer: str
    process: Process
    parts: tuple[Job, ...] = ()
    allergens: tuple[str, ...] = ()
    alike: tuple[str, ...] = ()

    @property
    def breads(self) -> tuple[Job, ...]:
        """A job for each of its breads: itself, if it has only one."""
        return self.parts or (self,)


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
        # What was mixed where, in order of time: begin, end and allergens of each.
        self.mixed: dict[str, list[tuple[int, int, tuple[str, ...]]]] = {name: [] for name in self.mixers}
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
        self.last_oven = ""

    def in_turn(self, loads: Mapping[str, int]) -> list[tuple[str, int]]:
        """Return ovens and their loads, those first that come after the one set last: they are likely to be free."""
        pairs = list(loads.items())
        at = next((number for number, (name, _) in enumerate(pairs, 1) if name == self.last_oven), 0)
        return pairs[at:] + pairs[:at]

    def mixer_free(self, job: Job, mixer: str, start: int, length: int) -> int | None:
        """Return when a mixer is free for a mix, with the time to clean it before and after where allergens ask for it."""
        turn, cleaning = self.workshop.turn_round_min, self.workshop.cleaning_min
        while True:
            begin = self.mixers[mixer].first(start, length + turn, 1)
            if begin is None or not cleaning:
                return begin
            others = self.mixed[mixer]
            place = bisect(others, (begin, begin, ()))
            start = begin
            if place and lost_allergens(others[place - 1][2], job.allergens):
                start = max(begin, others[place - 1][1] + turn + cleaning)
            if start == begin and place < len(others) and lost_allergens(job.allergens, others[place][2]):
                start = begin if begin + length + turn + cleaning <= others[place][0] else others[place][1]
            if start == begin:
                return begin


class _Late(Exception):  # noqa: N818 - not an error: the mix has to begin later
    """A part finds no room in its time; the mix must begin so many minutes later."""

    def __init__(self, minutes: int | None) -> None:
        super().__init__()
        self.minutes = minutes


class Placed:
    """A mix on the clock: its tasks, and what it has taken of the stations, which ``undo`` gives back."""

    def __init__(self, stations: Stations, *, hurried: bool = False) -> None:
        """Begin with nothing taken; loads are set after the best proof, hurried ones after the shortest, or when an oven is free."""
        self.hurried = hurried
        self.stations = stations
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

    @property
    def end_min(self) -> int:
        """When the last piece is packed."""
        return max(task.end_min for task in self.tasks)

    def end_of(self, bread: str) -> int:
        """When the last piece of one of its breads is packed."""
        return max(task.end_min for task in self.tasks if task.bread == bread)

    def undo(self) -> None:
        """Give everything back."""
        for calendar, begin, end, count in reversed(self.taken):
            calendar.give_back(begin, end, count)
        for mixer, mixed in self.mixed:
            self.stations.mixed[mixer].remove(mixed)

    def begin(self, station: str, earliest: int, best: int, latest: int, length: int, count: int) -> int:
        """Return when a part can begin: at its best time or soon after, else as soon as may be; too late asks for a later mix."""
        calendar = self.stations.places.get(station)
        if calendar is None or not length:
            return best
        for wish in (best, earliest):
            found = calendar.first(wish, length, count)
            if found is not None and found <= latest:
                return found
        raise _Late(None if found is None else found - latest)

    def hold(self, station: str, begin: int, end: int, count: int) -> None:
        """Take places for a while that is already settled; if they are not free, ask for a later mix."""
        calendar = self.stations.places.get(station)
        if calendar is None:
            return
        found = calendar.first(begin, end - begin, count)
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
    process, tasks = job.process, attempt.tasks
    length = process.autolyse_min + process.mix_min
    begin, mixer = _free_mixer(job, start, length, attempt.stations)
    mixed = begin + length
    attempt.mix(job, mixer, begin, mixed)
    if process.autolyse_min:
        end = begin + process.autolyse_min
        tasks.append(Task("autolyse", job.bread, job.mix, mixer, begin, end, job.pieces))
    tasks.append(Task("mix", job.bread, job.mix, mixer, begin + process.autolyse_min, mixed, job.pieces))
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
        divide = attempt.begin("bench", earliest, best, latest, long, people)
        divided = divide + long
        if long:
            attempt.take(attempt.stations.places.get("bench"), divide, divided, people)
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
    begin = attempt.begin("bench", earliest, best, latest, long, process.shape_people)
    attempt.take(attempt.stations.places.get("bench"), begin, begin + long, process.shape_people)
    if begin > divide:
        attempt.tasks.append(Task("rest", job.bread, job.mix, "boards", divide, begin, job.pieces))
    attempt.tasks.append(
        Task("shape", job.bread, job.mix, "bench", begin, begin + long, job.pieces, process.shape_people)
    )
    return begin, begin + long


def _bake(job: Job, attempt: Placed, shape: int, shaped: int) -> Iterator[Task]:
    """Set the pieces in loads, in the order in which they were shaped, each load in the oven that is free first."""
    process, done, number = job.process, 0, 0
    least, most = min(process.loads.values()), max(process.loads.values())
    proof_min = process.proof.earliest_min if attempt.hurried else process.proof.best_min
    ovens = {oven.name: oven for oven in attempt.stations.workshop.ovens}

    def moment(piece: int) -> int:
        """When so many pieces are shaped, rounded up to the minute."""
        return shape + -(-(shaped - shape) * piece // job.pieces)

    while done < job.pieces:
        number += 1
        found: list[tuple[int, int, int, str, int]] = []
        missing: list[int] = []
        left = job.pieces - done
        soonest = moment(done + min(least, left)) + proof_min
        for name, holds in attempt.stations.in_turn(process.loads):
            pieces = min(holds, left)
            latest = shape + (shaped - shape) * done // job.pieces + process.proof.latest_min
            begin, long = _free_oven(attempt, ovens[name], moment(done + pieces) + proof_min, process.bake_min)
            if begin is not None:
                found.append((begin, -pieces, long, name, latest)) if begin <= latest else missing.append(
                    begin - latest
                )
            if begin == soonest and pieces == min(most, left) and long == process.bake_min:
                break  # No other oven is better.
        if not found:
            raise _Late(min(missing, default=None))
        begin, pieces, long, name, _ = min(found)
        pieces = -pieces
        proofing = moment(done)
        turn = ovens[name].turn_round_min
        attempt.stations.last_oven = name
        attempt.take(attempt.stations.ovens[name], begin, begin + long + turn)
        attempt.hold("proof", proofing, max(begin, proofing + 1), pieces)
        for gear, until in process.gear.items():
            back = (begin if until == "proof" else begin + long) + attempt.stations.workshop.gear_return_min
            attempt.hold(gear, proofing, max(back, proofing + 1), pieces)
        proof = Task("proof", job.bread, job.mix, "proof", proofing, begin, pieces, pieces, number)
        bake = Task("bake", job.bread, job.mix, name, begin, begin + long, pieces, 1, number)
        attempt.tasks += [proof, bake]
        done += pieces
        yield bake


def _free_oven(attempt: Placed, oven: Oven, start: int, bake_min: int) -> tuple[int | None, int]:
    """Return when an oven is free for a load, and how long that load bakes in it."""
    calendar, wall = attempt.stations.ovens[oven.name], attempt.stations.workshop.wall
    while True:
        long = oven.bake_min(bake_min, wall.wall(start)) if oven.fired_min else bake_min
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
            long = busy_min(bake.pieces, rate)
            calendar = places.get(station)
            begin = at if calendar is None else calendar.first(at, long, 1)
            if begin is None:
                raise _Late(None)
            attempt.take(calendar, begin, begin + long)
            later.append(Task(what, job.bread, job.mix, station, begin, begin + long, bake.pieces, 1, bake.load))
            at = begin + long
    leaves = later[0].begin_min if later else at
    attempt.hold("cooling", bake.end_min, max(leaves, bake.end_min + 1), bake.pieces)
    attempt.tasks += [
        Task("cool", job.bread, job.mix, "cooling", bake.end_min, leaves, bake.pieces, bake.pieces, bake.load),
        *later,
    ]
