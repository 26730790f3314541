"""Replanning: what really happened is kept, and the rest of the day is planned from now on.

A mix that is under way goes on as soon as there is room, within its waits; what has not begun keeps its place if it can, and
is placed anew with all other mixes that have not begun where it cannot.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from attrs import evolve, frozen

from .bookings import Bookings
from .clockwork import Timetable, made_table, place_backwards, place_forwards, stations_of
from .dayjobs import dues_of, plan_jobs
from .daylog import Log
from .delivered import OrderTime
from .errors import Fault, FormulaError, QuantityError
from .happened import Happened, moment_min, what_happened
from .logentry import Entry
from .pace import Pace, pace_of
from .placing import Placed, resume
from .quantity import TEMPERATURE, TIME, write
from .reorder import with_changed_orders
from .stations import Job, Stations, Task
from .underway import Part, UnderWay
from .working import Caution

__all__ = ["MixPace", "Moved", "Replan", "replan"]

Key = tuple[str, int]


@frozen
class Moved:
    """A part of a mix that has another time or place than before; None where it was or is not planned."""

    what: str
    bread: str
    mix: int
    load: int
    old_begin_min: int | None
    new_begin_min: int | None
    old_station: str
    new_station: str


@frozen
class MixPace:
    """A mix whose dough was measured, and the waits that it has at this temperature."""

    bread: str
    mix: int
    pace: Pace


@frozen
class Replan:
    """The rest of a day, planned anew at a moment.

    ``timetable`` is the whole day: what has begun, as it was, and the rest; ``before`` is the one that was followed until
    now.  ``moved`` are the parts with another time or place, ``late`` the orders that are later or shorter than before
    and not in time, ``paces`` the mixes that ferment faster or slower than planned.
    """

    before: Timetable
    timetable: Timetable
    now_min: int
    moved: tuple[Moved, ...]
    late: tuple[OrderTime, ...]
    paces: tuple[MixPace, ...]

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What to know before following it."""
        return self.timetable.cautions

    @property
    def rest(self) -> tuple[Task, ...]:
        """What is still to be begun, in the order of time."""
        left = [task for task in self.timetable.tasks if task.begin_min > self.now_min]
        return tuple(sorted(left, key=lambda task: (task.begin_min, task.end_min, task.bread, task.mix, task.load)))

    def to_tables(self) -> dict[str, object]:
        """Return what has moved and what is late as plain tables for other programs; the day is in ``timetable.to_tables()``."""
        clock = self.timetable.clock

        def written(minute: int | None) -> str | None:
            return None if minute is None else clock(minute)

        return {
            "now": clock(self.now_min),
            "now_min": self.now_min,
            "moved": [
                {
                    "what": each.what,
                    "bread": each.bread,
                    "mix": each.mix,
                    "load": each.load,
                    "old_begin_min": each.old_begin_min,
                    "new_begin_min": each.new_begin_min,
                    "old_begin": written(each.old_begin_min),
                    "new_begin": written(each.new_begin_min),
                    "old_station": each.old_station,
                    "new_station": each.new_station,
                }
                for each in self.moved
            ],
            "late": [
                {"bread": order.name, "due_min": order.due_min, "late_min": order.late_min,
                 "late_pieces": order.late_pieces, "short_pieces": order.short_pieces}
                for order in self.late
            ],
            "paces": [{"bread": each.bread, "mix": each.mix, "factor": each.pace.factor} for each in self.paces],
        }  # fmt: skip


def replan(timetable: Timetable, log: Log, now: str | None = None) -> Replan:
    """Plan the rest of a day from what has really happened.

    Args:
        timetable: the day's timetable as it was made before it began.
        log: what has happened; where a line "replanned" stands, the plan made at that moment is the one that was followed
            from then on.
        now: the moment from which to plan, "02:10"; the latest that the log tells of, if left out.

    Returns:
        The timetable of the whole day, with what moved and which orders become late.  Nothing that has begun by now is
        changed, stations that are down are not used, doughs that came out warm or cold have other waits, and changed orders
        are split into mixes anew.

    Raises:
        FormulaError: a log that contradicts the timetable or itself, or tells of what is yet to come; a day with doughs that
            several breads share, which cannot be planned anew yet.

    What is not logged is taken to have happened as planned, later or earlier by as much as the part before it was.  A mix
    under way that cannot hold its waits is told by the caution "wait-broken"; where more stands somewhere than there is
    room for, by "overfull".  What has not begun keeps its place where nothing stands in the way; otherwise it is placed
    anew, as late as the orders allow if the timetable was made so and it fits, else as early as may be.
    """
    shared = [dough.name for dough in timetable.day.doughs if dough.is_shared]
    if shared:
        mend = "plan the day without sharing"
        raise FormulaError(
            Fault("timetable", f"doughs shared by several breads: {', '.join(shared)}", "a dough for each bread", mend)
        )
    told = [moment_min(timetable, str(entry.at)) for entry in log.standing]
    if now is None and not told:
        raise QuantityError(Fault("now", "an empty log", "a time of day", 'such as "02:10"'))
    now_min = max(told) if now is None else moment_min(timetable, now)
    before, start = timetable, 0
    for place, entry in enumerate(log.entries):
        if entry.what == "replanned" and any(entry is each for each in log.standing):
            then = Log(log.entries[:place], log.name)
            made = _replanned(before, then, moment_min(before, str(entry.at)), then.entries[start:]).timetable
            # Its cautions were for that moment.
            before, start = evolve(made, cautions=timetable.cautions), place
    return _replanned(before, log, now_min, log.entries[start:])


def _replanned(before: Timetable, log: Log, now_min: int, new: Sequence[Entry]) -> Replan:
    """Plan anew from a moment on; ``new`` are the lines since the plan before, whose orders are not yet in it."""
    happened = what_happened(before, log, now_min)
    begun = {(each.job.bread, each.job.mix) for each in happened.under_way}
    changes = [entry for entry in happened.orders if any(entry is each for each in new)]
    day, cautions = with_changed_orders(before.day, changes, begun)
    rest = _Rest(before, happened, now_min)
    rest.go_on()
    jobs = [job for job in plan_jobs(day, before.workshop) if (job.bread, job.mix) not in begun]
    aim = before.aim
    if not (rest.unchanged and day == before.day and rest.keep(jobs)):
        later = [due for due in dues_of(day, plan_jobs(day, before.workshop), before.workshop) if due.job in jobs]
        earliest_min = max(now_min, before.workshop.opening_min)
        placed = place_backwards(later, rest.stations, earliest_min) if aim == "latest" else None
        unplaced: tuple[Job, ...] = ()
        if placed is None:
            placed, unplaced = place_forwards(later, rest.stations, earliest_min)
        rest.add(placed)
        rest.unplaced += unplaced
    tasks = rest.tasks()
    table = made_table(day, before.workshop, tasks, aim, tuple(rest.unplaced))
    told = dict.fromkeys((*log.cautions, *before.cautions, *cautions, *rest.cautions, *rest.overfull()))
    table = evolve(table, cautions=tuple(told))
    return Replan(before, table, now_min, _moved(before, table), _late(before, table), tuple(rest.paces))


class _Rest:
    """The calendars of the rest of a day, and the tasks of each mix."""

    def __init__(self, before: Timetable, happened: Happened, now_min: int) -> None:
        self.before, self.happened, self.now_min = before, happened, now_min
        self.stations = stations_of(before.day, before.workshop)
        self.groups: dict[Key, tuple[Task, ...]] = {}
        self.planned: dict[Key, dict[Part, Task]] = {}
        for task in before.tasks:
            if task.what == "clean":
                # Cleanings follow from the mixes on either side.
                continue
            self.planned.setdefault((task.bread, task.mix), {})[task.what, task.load] = task
        self.unplaced: list[Job] = []
        self.cautions: list[Caution] = []
        self.paces: list[MixPace] = []
        self.unchanged = True
        for down in happened.down:
            calendar = _calendars(self.stations)[down.station]
            calendar.close(down.begin_min, down.end_min, down.count or None)

    def go_on(self) -> None:
        """Place what is left of the mixes under way, those that began first before the others."""
        mixes = sorted(self.happened.under_way, key=lambda each: each.done[0].begin_min)
        # What has begun is in nobody's gift: it is booked before anything is sought for the first of them.
        for mix in mixes:
            self._book(mix, 1)
        for mix in mixes:
            self._book(mix, -1)
            job = self._at_its_pace(mix)
            if self._as_planned(mix, job):
                continue
            self.unchanged = False
            key = job.bread, job.mix
            placed = resume(job, mix.parts, self.now_min, self.stations)
            if placed is None:
                self._book(mix, 1)
                self.groups[key] = mix.done
                self.unplaced.append(job)
                text = f"{job.bread}, mix {job.mix}: there are no people or no oven for the rest of it."
                self.cautions.append(Caution("no-room", text))
            else:
                self.groups[key] = tuple(placed.tasks)
                self.cautions += _broken(job, mix, placed.tasks)

    def keep(self, jobs: Sequence[Job]) -> bool:
        """Keep all mixes that have not begun where they are; False, and none of them kept, if something stands in the way."""
        kept: list[Placed] = []
        for job in jobs:
            parts = self.planned.get((job.bread, job.mix))
            if parts is None:
                continue
            placed = self._kept(job, parts) if _begin(parts) > self.now_min else None
            if placed is None:
                for each in kept:
                    each.undo()
                return False
            kept.append(placed)
        for job in jobs:
            parts = self.planned.get((job.bread, job.mix))
            if parts:
                self.groups[job.bread, job.mix] = tuple(parts.values())
        self.unplaced += [job for job in self.before.unplaced if job in jobs]
        return True

    def add(self, tasks: Sequence[Task]) -> None:
        """Take over tasks of mixes that were placed anew."""
        for task in tasks:
            key = task.bread, task.mix
            self.groups[key] = (*self.groups.get(key, ()), task)

    def tasks(self) -> tuple[Task, ...]:
        """Return all tasks, mix by mix in the order of the timetable before; mixes that are new come last."""
        order = {key: place for place, key in enumerate(self.planned)}
        keys = sorted(self.groups, key=lambda key: order.get(key, len(order)))
        return tuple(task for key in keys for task in self.groups[key])

    def overfull(self) -> tuple[Caution, ...]:
        """Return a caution for each station of which more is in use from now on than there is."""
        found: list[Caution] = []
        for name, calendar in _calendars(self.stations).items():
            over = calendar.overbooked(self.now_min)
            if over:
                text = f"{name}: from {self.before.clock(over[0])} {over[1]} more in use than there are."
                found.append(Caution("overfull", text))
        return tuple(found)

    def _book(self, mix: UnderWay, times: int) -> None:
        """Take the people and machines that what has begun of a mix is or was at, or give them back."""
        workshop = self.before.workshop
        turns = {oven.name: oven.turn_round_min for oven in workshop.ovens}
        for task in mix.done:
            calendar = _calendars(self.stations).get(task.station) if task.what in _ACTIVE else None
            turn = workshop.turn_round_min if task.what == "mix" else turns.get(task.station, 0)
            if calendar and times > 0:
                calendar.take(task.begin_min, task.end_min + turn, task.count)
            elif calendar:
                calendar.give_back(task.begin_min, task.end_min + turn, task.count)

    def _at_its_pace(self, mix: UnderWay) -> Job:
        """Return the job of a mix with the waits that its dough has at the temperature that was measured."""
        job = mix.job
        plan = next(each for each in self.before.day.breads if each.name == job.bread)
        planned_c = plan.bread.dough_temperature_c
        baked = sum(task.pieces for task in mix.done if task.what == "bake")
        if planned_c is None or not mix.readings or baked == job.pieces:
            return job
        readings = [(write(TIME, minute / 60), write(TEMPERATURE, celsius)) for minute, celsius in mix.readings]
        try:
            pace = pace_of(job.process, write(TEMPERATURE, planned_c), readings)
        except QuantityError as error:
            text = f"{job.bread}, mix {job.mix}: its waits are left as they are; {error}."
            self.cautions.append(Caution("pace-unknown", text))
            return job
        if (pace.bulk, pace.rest, pace.proof) == (job.process.bulk, job.process.rest, job.process.proof):
            return job
        self.paces.append(MixPace(job.bread, job.mix, pace))
        self.cautions += [Caution(each.code, f"{job.bread}, mix {job.mix}: {each.text}") for each in pace.cautions]
        return evolve(job, process=job.process.with_waits(pace.bulk, pace.rest, pace.proof))

    def _as_planned(self, mix: UnderWay, job: Job) -> bool:
        """Keep a mix that has gone as planned, if nothing stands in the way of the rest of it."""
        key = job.bread, job.mix
        parts, done = self.planned.get(key, {}), mix.parts
        if job.process != mix.job.process or any(parts.get(part) != task for part, task in done.items()):
            return False
        to_do = [task for part, task in parts.items() if part not in done and task.what in _ACTIVE]
        if any(task.begin_min <= self.now_min for task in to_do) or self._kept(job, parts) is None:
            return False
        self.groups[key] = tuple(parts.values())
        return True

    def _kept(self, job: Job, parts: dict[Part, Task]) -> Placed | None:
        """Book a mix where it is; None, and nothing booked, if a station is not free from now on."""
        # Room is sought for what has no place yet, and here every part has one.
        placed = cast("Placed", resume(job, parts, self.now_min, self.stations))
        for calendar, begin, end, _ in placed.taken:
            if end > self.now_min and calendar.least(max(begin, self.now_min), end) < 0:
                placed.undo()
                return None
        return placed


_ACTIVE = ("autolyse", "mix", "divide", "shape", "bake", "slice", "pack")


def _calendars(stations: Stations) -> dict[str, Bookings]:
    return {**stations.mixers, **stations.ovens, **stations.places}


def _begin(parts: dict[Part, Task]) -> int:
    return min(task.begin_min for task in parts.values())


def _broken(job: Job, mix: UnderWay, tasks: Sequence[Task]) -> list[Caution]:
    """Tell of the waits still to come that are longer than they may be."""
    found: list[Caution] = []
    process = job.process
    bounds = {"bulk": ("divide", process.bulk), "rest": ("shape", process.rest), "proof": ("bake", process.proof)}
    for task in tasks:
        if task.what in bounds:
            ends_with, wait = bounds[task.what]
            long = task.end_min - task.begin_min
            # The pieces of a load are shaped one after the other, and the clock shows whole minutes.
            if (ends_with, task.load) not in mix.parts and long > wait.latest_min + 1:
                load = f", load {task.load}" if task.load else ""
                text = (
                    f"{job.bread}, mix {job.mix}{load}: {task.what} of {long} min, where {wait.latest_min} is the most."
                )
                found.append(Caution("wait-broken", text))
    return found


def _moved(before: Timetable, after: Timetable) -> tuple[Moved, ...]:
    """Return the parts that have another beginning or station, in the order of their new times."""
    old = {(task.bread, task.mix, task.what, task.load): task for task in before.tasks}
    new = {(task.bread, task.mix, task.what, task.load): task for task in after.tasks}
    found: list[Moved] = []
    for key in dict.fromkeys((*old, *new)):
        was, now = old.get(key), new.get(key)
        if was is None or now is None or (was.begin_min, was.station) != (now.begin_min, now.station):
            bread, mix, what, load = key
            begins = (was.begin_min if was else None, now.begin_min if now else None)
            stations = (was.station if was else "", now.station if now else "")
            found.append(Moved(what, bread, mix, load, *begins, *stations))

    def time_of(moved: Moved) -> tuple[bool, int, str, int, int]:
        at = moved.old_begin_min if moved.new_begin_min is None else moved.new_begin_min
        return moved.new_begin_min is None, at or 0, moved.bread, moved.mix, moved.load

    return tuple(sorted(found, key=time_of))


def _late(before: Timetable, after: Timetable) -> tuple[OrderTime, ...]:
    """Return the orders that are late or short now, and were less so before."""
    was = _by_place(before)
    found: list[OrderTime] = []
    for key, order in _by_place(after).items():
        old = was.get(key)
        missing = (order.late_min, order.late_pieces, order.short_pieces)
        if any(missing) and (old is None or missing > (old.late_min, old.late_pieces, old.short_pieces)):
            found.append(order)
    return tuple(found)


def _by_place(table: Timetable) -> dict[tuple[str, int | None, int], OrderTime]:
    """Return the orders by bread, time, and their place among those of one bread due at one time."""
    found: dict[tuple[str, int | None, int], OrderTime] = {}
    for order in table.orders:
        place = sum((order.name, order.due_min) == key[:2] for key in found)
        found[order.name, order.due_min, place] = order
    return found
