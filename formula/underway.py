"""A mix under way: what of it has begun, by the log where it tells of it, else as planned.

A part that is not logged is taken to have happened later or earlier than planned by as much as the part before it was.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Final, TypeAlias

from attrs import evolve, frozen

from .clockwork import Timetable
from .daylog import Log
from .errors import ContradictionError, Gathered
from .logentry import Entry
from .process import busy_min
from .stations import Job, Task
from .workshop import Oven

__all__ = ["Down", "MixReader", "Part", "Scene", "UnderWay"]

Part: TypeAlias = tuple[str, int]
"""What is done, and the number of the load or 0."""
Edge: TypeAlias = tuple[str, int, str]
_EDGES: Final = {
    "mix begun": ("mix", "begin"),
    "mix ended": ("mix", "end"),
    "divide begun": ("divide", "begin"),
    "divide ended": ("divide", "end"),
    "shape begun": ("shape", "begin"),
    "shape ended": ("shape", "end"),
    "load in": ("bake", "begin"),
    "load out": ("bake", "end"),
    "packed": ("pack", "end"),
}
_CHAIN: Final = tuple(
    (what, edge) for what in ("mix", "divide", "shape", "bake", "slice", "pack") for edge in ("begin", "end")
    if (what, edge) not in (("divide", "end"), ("shape", "end"))
)  # fmt: skip
"""The way of a mix, none of it earlier than what stands before it."""
_BEFORE: Final = {edge: set(_CHAIN[:place]) for place, edge in enumerate(_CHAIN)} | {
    # Shaping begins while the last pieces are divided, and the first load is set while the last pieces are shaped.
    ("divide", "end"): set(_CHAIN[:3]),
    ("shape", "end"): {*_CHAIN[:4], ("divide", "end")},
}
_OF_A_LOAD: Final = ("bake", "slice", "pack")


@frozen
class Down:
    """So many of a station are not there for a while."""

    station: str
    begin_min: int
    end_min: int
    count: int


@frozen
class UnderWay:
    """A mix that has begun: what of it has, with actual times, and the dough temperatures since the end of mixing (min, °C)."""

    job: Job
    done: tuple[Task, ...]
    readings: tuple[tuple[int, float], ...]

    @property
    def parts(self) -> dict[Part, Task]:
        """What has begun, by what it is and the load."""
        return {(task.what, task.load): task for task in self.done}


class Scene:
    """What the reading of a log looks at: the timetable, the log, the moment, and what is wrong so far."""

    def __init__(self, table: Timetable, log: Log, now_min: int) -> None:
        """Begin with nothing wrong and nothing down."""
        self.table: Timetable = table
        self.log: Log = log
        self.now_min: int = now_min
        self.wrong: Gathered = Gathered()
        self.ovens: dict[str, Oven] = {oven.name: oven for oven in table.workshop.ovens}
        self.mixers: list[str] = [mixer.name for mixer in table.day.bakery.mixers]
        self.down: tuple[Down, ...] = ()

    def refuse(self, entry: Entry, got: str, expected: str, fix: str = "") -> None:
        """Note that a line cannot be true beside the others."""
        self.wrong.refuse(ContradictionError, self.log.where(entry), got, expected, fix)

    def is_down(self, station: str, minute: int) -> bool:
        """Whether a mixer or an oven, of which there is one of a name, is down at a moment."""
        machine = station in self.ovens or station in self.mixers
        return machine and any(
            down.station == station and down.begin_min <= minute < down.end_min for down in self.down
        )


class MixReader:
    """One mix: its logged beginnings and ends, and what follows from them."""

    def __init__(
        self, scene: Scene, job: Job, planned: Mapping[Part, Task], entries: Sequence[tuple[Entry, int]]
    ) -> None:
        """Begin with what was planned of a mix and what the log tells of it, each with its minute."""
        self.scene: Scene = scene
        self.job: Job = job
        self.planned: Mapping[Part, Task] = planned
        self.entries: Sequence[tuple[Entry, int]] = entries
        self.logged: dict[Edge, tuple[int, Entry]] = {}
        self.shift_min: int = 0

    def read(self) -> UnderWay | None:
        """Return what of it has begun; None if it has not."""
        self._edges()
        self._in_order()
        put_off = max((minute for entry, minute in self.entries if entry.what == "mix put off"), default=None)
        mixing = self._mixing(put_off)
        if mixing is None:
            self._never_mixed()
            return None
        done = [*mixing, *self._bench(mixing[-1])]
        begun = self.job.process.divide_rate == 0 or any(task.what == "divide" for task in done)
        begun = begun and (self.job.process.shape_rate == 0 or any(task.what == "shape" for task in done))
        if begun:
            done += self._loads(done[-1].begin_min)
        readings = self._readings(mixing[-1].end_min)
        job = evolve(self.job, mixer=mixing[-1].station)
        return UnderWay(job, tuple(done), readings)

    def _edges(self) -> None:
        parts = self.job.process
        for entry, minute in self.entries:
            if entry.what not in _EDGES:
                continue
            what, edge = _EDGES[entry.what]
            key = what, entry.load or 0, edge
            if (what == "divide" and not parts.divide_rate) or (what == "shape" and not parts.shape_rate):
                self.scene.refuse(entry, str(entry), f"a part of the process of {entry.bread}", "it has none of this")
            elif key in self.logged:
                other = self.logged[key][1]
                mend = f"write instead_of = {other.line}, if this line is right" if other.line else ""
                self.scene.refuse(entry, f"{entry} once more, after {other.at}", "each once", mend)
            else:
                self.logged[key] = minute, entry

    def _in_order(self) -> None:
        """Refuse what is earlier than something that must have been before it."""
        for (what, load, edge), (minute, entry) in self.logged.items():
            for name, end in _BEFORE[what, edge]:
                at = self.logged.get((name, load if name in _OF_A_LOAD else 0, end))
                if at and minute < at[0]:
                    self.scene.refuse(entry, str(entry), f"no earlier than {at[1]}", "correct one of the two")

    def _never_mixed(self) -> None:
        for minute, entry in self.logged.values():
            plan = self.planned.get(("mix", 0))
            when = f"planned for {self.scene.table.clock(plan.begin_min)}" if plan else "not planned"
            got = f"{entry}, of a mix that is {when} and that nothing says was mixed"
            self.scene.refuse(
                entry, got, 'a line "mix begun" before it', f"add it, at {self.scene.table.clock(minute)} or before"
            )

    def _later(self, what: str, load: int, edge: str) -> int | None:
        """Return the earliest logged time of what cannot have been before this."""
        times = [
            minute
            for (name, number, end), (minute, _) in self.logged.items()
            if (what, edge) in _BEFORE[name, end] and (what not in _OF_A_LOAD or number == load)
        ]
        return min(times, default=None)

    def _part(self, what: str, load: int, station: str, previous_min: int, length: Callable[[int], int]) -> Task | None:
        """Return a part as it was done, or as it is taken to have been; None if it has not begun.

        ``length`` says how long it takes if it begins at a minute.
        """
        plan = self.planned.get((what, load))
        begin = self.logged[what, load, "begin"][0] if (what, load, "begin") in self.logged else None
        end = self.logged[what, load, "end"][0] if (what, load, "end") in self.logged else None
        later = self._later(what, load, "begin")
        if begin is None:
            expected = plan.begin_min + self.shift_min if plan else None
            if end is not None:
                begin = end - length(end)
            elif later is not None:
                begin = later if expected is None else min(expected, later)
            elif expected is None or expected > self.scene.now_min or self.scene.is_down(station, expected):
                return None
            else:
                begin = expected
            begin = max(begin, previous_min)
        if end is None:
            end = begin + length(begin)
            until = self._later(what, load, "end")
            if until is not None:
                end = max(begin, min(end, until))
        if plan:
            self.shift_min = end - plan.end_min
        pieces, count = (plan.pieces, plan.count) if plan else (self.job.pieces, 1)
        return Task(what, self.job.bread, self.job.mix, station, begin, max(begin, end), pieces, count, load)

    def _mixing(self, put_off: int | None) -> list[Task] | None:
        """Return the mixing, after its autolyse if it has one."""
        process, logged = self.job.process, self.logged.get(("mix", 0, "begin"))
        mixer = (logged[1].station if logged else "") or self.job.mixer
        if logged and put_off is not None and logged[0] < put_off:
            self.scene.refuse(
                logged[1], str(logged[1]), f"no beginning before it was put off, {self.scene.table.clock(put_off)}"
            )
        if put_off is not None and not logged:
            return None
        plan = self.planned.get(("mix", 0))
        long = process.autolyse_min + process.mix_min
        ended = self.logged.get(("mix", 0, "end"))
        if logged:
            begin = logged[0]
        elif ended:
            begin = ended[0] - long
        else:
            first = self.planned.get(("autolyse", 0), plan)
            later = self._later("mix", 0, "end")
            by = self.scene.now_min if later is None else later
            if first is None or first.begin_min > by or self.scene.is_down(mixer, first.begin_min):
                return None
            begin = first.begin_min
        end = ended[0] if ended else begin + long
        until = self._later("mix", 0, "end")
        end = max(begin, end if until is None else min(end, until))
        soaked = min(begin + process.autolyse_min, end)
        if plan:
            self.shift_min = end - plan.end_min
        job = self.job
        mix = Task("mix", job.bread, job.mix, mixer, soaked, end, job.pieces)
        if process.autolyse_min:
            return [Task("autolyse", job.bread, job.mix, mixer, begin, soaked, job.pieces), mix]
        return [mix]

    def _bench(self, mix: Task) -> list[Task]:
        """Return bulk where nothing is divided, dividing and shaping, as far as they have begun."""
        process, pieces, done = self.job.process, self.job.pieces, list[Task]()
        if process.divide_rate:
            long = busy_min(pieces, process.divide_rate, process.divide_people)
            part = self._part("divide", 0, "bench", mix.end_min, _constantly(long))
        else:
            plan = self.planned.get(("bulk", 0))
            later = self._later("divide", 0, "begin")
            end = plan.end_min + self.shift_min if plan else mix.end_min + process.bulk.best_min
            end = end if later is None else min(end, later)
            part = None
            if end <= self.scene.now_min:
                part = Task("bulk", self.job.bread, self.job.mix, "tubs", mix.end_min, max(end, mix.end_min), pieces)
        done += [part] if part else []
        if part and process.shape_rate:
            long = busy_min(pieces, process.shape_rate, process.shape_people)
            shape = self._part("shape", 0, "bench", part.begin_min, _constantly(long))
            done += [shape] if shape else []
        return done

    def _loads(self, previous_min: int) -> list[Task]:
        """Return the loads that have gone in, each with what has been done of it since."""
        numbers = {load for what, load in self.planned if what == "bake"}
        numbers |= {load for what, load, _ in self.logged if what in _OF_A_LOAD}
        done: list[Task] = []
        left = self.job.pieces
        for number in sorted(numbers):
            load = self._load(number, left, previous_min)
            if load:
                left -= load.pieces
                done += [load, *self._after(load)]
        return done

    def _load(self, number: int, left: int, previous_min: int) -> Task | None:
        plan, logged = self.planned.get(("bake", number)), self.logged.get(("bake", number, "begin"))
        entry = logged[1] if logged else None
        station = (entry.station if entry else "") or (plan.station if plan else "")
        if not station:
            _, own = next(each for key, each in self.logged.items() if key[1] == number)
            self.scene.refuse(
                own, str(own), "a planned load, or one whose oven is known", "add the station to its load in"
            )
            return None
        oven, wall = self.scene.ovens[station], self.scene.table.workshop.wall
        bake_min = self.job.process.bake_min
        load = self._part(
            "bake", number, station, previous_min, lambda begin: oven.bake_min(bake_min, wall.wall(begin))
        )
        if load is None:
            return None
        pieces = entry.pieces if entry else None
        if pieces is None:
            pieces = min(left, plan.pieces if plan else self.job.process.loads.get(station, left))
        if entry and (pieces > left or not pieces):
            got, expected = (
                f"{pieces} pieces in load {number}",
                f"1 to {left} of the {self.job.pieces} that the mix has",
            )
            self.scene.refuse(entry, got, expected, "write the pieces of every load")
            return None
        return evolve(load, pieces=pieces, count=1) if pieces else None

    def _after(self, load: Task) -> list[Task]:
        """Return slicing and packing of a load, as far as they have begun."""
        process, kept = self.job.process, self.shift_min
        at, done = load.end_min, list[Task]()
        packed = self.logged.get(("pack", load.load, "end"))
        for what, station, rate in (("slice", "slicing", process.slice_rate), ("pack", "packing", process.pack_rate)):
            if rate and (not done or what == "pack"):
                long = busy_min(load.pieces, rate)
                part = self._part(what, load.load, station, at, _constantly(long))
                if part is None:
                    break
                done.append(evolve(part, pieces=load.pieces))
                at = part.end_min
        if packed and not process.slice_rate and not process.pack_rate:
            done = [Task("cool", load.bread, load.mix, "cooling", at, packed[0], load.pieces, load.pieces, load.load)]
        self.shift_min = kept
        return done

    def _readings(self, mixed_min: int) -> tuple[tuple[int, float], ...]:
        found: dict[int, float] = {}
        for entry, minute in self.entries:
            if entry.dough_c is not None:
                found[max(0, minute - mixed_min)] = entry.dough_c
        return tuple(sorted(found.items()))


def _constantly(minutes: int) -> Callable[[int], int]:
    """Return what takes the same time whenever it begins."""
    return lambda _: minutes
