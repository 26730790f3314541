"""What has happened so far: the log held against the timetable.

What the log tells of is as it tells.  A part of a mix that it does not tell of is taken to have happened as planned, later or
earlier by as much as the part before it was; but not where its station was down, or the log says that it was put off.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from attrs import evolve, frozen

from .bookings import FOREVER
from .clockwork import Timetable
from .dayjobs import plan_jobs
from .daylog import Log
from .errors import UnknownNameError, cited
from .logentry import Entry
from .quantity import Door
from .stations import Job, Task
from .timeofday import Moment, read_moment
from .underway import Down, MixReader, Part, Scene, UnderWay

__all__ = ["Happened", "moment_min", "what_happened"]


@frozen
class Happened:
    """The state of a day at a moment: mixes under way, mixes that have not begun, stations that are down, changed orders."""

    under_way: tuple[UnderWay, ...]
    waiting: tuple[Job, ...]
    down: tuple[Down, ...]
    orders: tuple[Entry, ...]


def moment_min(table: Timetable, moment: str, where: str = "now") -> int:
    """Read a moment of a day as minutes from its midnight.

    Args:
        table: the day.
        moment: "02:10", "23:40 the day before".
        where: what it is, for messages.

    Raises:
        QuantityError: no time of day, or one that the clocks do not show.
    """
    with Door() as door:
        found = read_moment(door, moment, where)
    return table.workshop.wall.elapsed(found.wall_min, again=found.again)


def what_happened(table: Timetable, log: Log, now_min: int) -> Happened:
    """Hold a log against a timetable: what has begun by now, and how.

    Args:
        table: the timetable that was followed.
        log: what really happened.
        now_min: the moment, in minutes of the timetable.

    Raises:
        FormulaError: a bread, mix or station that the day has not; a time that is yet to come; lines that contradict each
            other, such as a load of a mix that was never mixed.  All at once.
    """
    return _Reader(table, log, now_min).read()


class _Reader:
    """Reads a log once; what is wrong with it is gathered."""

    def __init__(self, table: Timetable, log: Log, now_min: int) -> None:
        self.table, self.log, self.now_min = table, log, now_min
        self.scene = Scene(table, log, now_min)
        self.wrong = self.scene.wrong
        self.jobs = {(job.bread, job.mix): job for job in plan_jobs(table.day, table.workshop)}
        self.planned: dict[tuple[str, int], dict[Part, Task]] = {}
        for task in table.tasks:
            self.planned.setdefault((task.bread, task.mix), {})[task.what, task.load] = task

    def read(self) -> Happened:
        entries = [(entry, minute) for entry in self.log.standing if (minute := self._checked(entry)) is not None]
        self.scene.down = self._downs(entries)
        under_way: list[UnderWay] = []
        waiting: list[Job] = []
        for key, job in self.jobs.items():
            own = [(entry, minute) for entry, minute in entries if (entry.bread, entry.mix) == key]
            found = MixReader(self.scene, job, self.planned.get(key, {}), own).read()
            if found is None:
                waiting.append(job)
            else:
                under_way.append(found)
        self._machines(entries)
        self.wrong.close()
        orders = tuple(entry for entry, _ in entries if entry.what == "order changed")
        return Happened(tuple(under_way), tuple(waiting), self.scene.down, orders)

    def minute(self, moment: Moment) -> int:
        return self.table.workshop.wall.elapsed(moment.wall_min, again=moment.again)

    def _checked(self, entry: Entry) -> int | None:
        """Return the minute of an entry, or None if it says nothing that can be used."""
        minute = self.wrong.attempt(lambda: self.minute(entry.at))
        if minute is None:
            return None
        if minute > self.now_min:
            self.scene.refuse(
                entry, str(entry), f"a time up to now, {self.table.clock(self.now_min)}", "check the clock"
            )
            return None
        names = {bread for bread, _ in self.jobs}
        if entry.bread and entry.bread not in names:
            self._unknown(entry, entry.bread, names)
        elif entry.bread and entry.mix is not None and (entry.bread, entry.mix) not in self.jobs:
            numbers = {str(mix) for bread, mix in self.jobs if bread == entry.bread}
            self._unknown(entry, f"mix {entry.mix} of {entry.bread}", sorted(numbers, key=int))
        elif entry.station and entry.station not in self._stations(entry.what):
            self._unknown(entry, entry.station, self._stations(entry.what))
        else:
            return minute
        return None

    def _unknown(self, entry: Entry, got: str, known: Iterable[str]) -> None:
        self.wrong.refuse(UnknownNameError, self.log.where(entry), cited(got), f"one of {', '.join(known)}")

    def _stations(self, what: str) -> list[str]:
        if what == "mix begun":
            return self.scene.mixers
        if what == "load in":
            return list(self.scene.ovens)
        shop = self.table.workshop
        counted = {"tubs": shop.tubs, "proof": shop.proof_places, "cooling": shop.cool_places}
        counted |= {"slicing": shop.slicers, "packing": shop.packers, **shop.gear}
        bench = ["bench"] if shop.shifts else []
        return [
            *self.scene.mixers,
            *self.scene.ovens,
            *bench,
            *(name for name, count in counted.items() if count is not None),
        ]

    def _downs(self, entries: Sequence[tuple[Entry, int]]) -> tuple[Down, ...]:
        found: list[Down] = []
        for entry, minute in entries:
            if entry.what == "station down":
                begin = minute if entry.since is None else self.minute(entry.since)
                end = FOREVER if entry.until is None else self.minute(entry.until)
                if end <= begin:
                    got = f"down from {self.table.clock(begin)} until {self.table.clock(end)}"
                    self.scene.refuse(entry, got, "an end after its beginning")
                found.append(Down(entry.station, begin, end, entry.count or 0))
            elif entry.what == "station back":
                mine = [down for down in found if down.station == entry.station and down.begin_min <= minute]
                if not mine:
                    self.scene.refuse(entry, str(entry), "a line before it that says it was down")
                found = [evolve(down, end_min=min(down.end_min, minute)) if down in mine else down for down in found]
        return tuple(found)

    def _machines(self, entries: Sequence[tuple[Entry, int]]) -> None:
        """Refuse two loads that were in one oven at once by their own times."""
        stays: dict[str, list[tuple[int, int, Entry]]] = {}
        for entry, begin in entries:
            if entry.what == "load in":
                load = self.planned.get((entry.bread, entry.mix or 0), {}).get(("bake", entry.load or 0))
                outs = [
                    minute
                    for other, minute in entries
                    if other.what == "load out"
                    and (other.bread, other.mix, other.load) == (entry.bread, entry.mix, entry.load)
                ]
                station = entry.station or (load.station if load else "")
                stays.setdefault(station, []).extend((begin, end, entry) for end in outs)
        for station, loads in stays.items():
            loads.sort(key=lambda stay: stay[:2])
            for (_, end, earlier), (begin, _, later) in pairwise(loads):
                if begin < end:
                    got = f"{later}, into {station}, where {earlier} was until {self.table.clock(end)}"
                    self.scene.refuse(later, got, "one load at a time in an oven")
