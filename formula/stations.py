"""The stations of a workshop as calendars, and what is to be placed on them: jobs that become tasks."""

from __future__ import annotations

from bisect import bisect
from collections.abc import Iterable, Mapping

from attrs import frozen

from .bookings import Bookings
from .doughorder import lost_allergens
from .process import Process
from .workshop import Oven, Workshop

__all__ = ["Job", "Stations", "Task"]


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


@frozen
class _Turns:
    """The ovens of a process; the loads themselves are held so that no others come to stand in their place."""

    loads: Mapping[str, int]
    pairs: list[tuple[str, int]]
    after: dict[str, int]
    least: int
    most: int


class Stations:
    """The calendars of a workshop and its mixers."""

    def __init__(self, workshop: Workshop, mixers: Iterable[str], *, always: bool = False) -> None:
        """Begin with everything free; with ``always`` all people are always there, and every oven is always hot."""
        self.workshop = workshop
        wall = workshop.wall.elapsed
        self.mixers: dict[str, Bookings] = {name: Bookings(1) for name in mixers}
        # What was mixed where, in order of time: begin, end and allergens of each.
        self.mixed: dict[str, list[tuple[int, int, tuple[str, ...]]]] = {name: [] for name in self.mixers}
        self.ovens: dict[str, Bookings] = {
            oven.name: Bookings(1)
            if always or not oven.fired_min
            else Bookings.within((wall(begin), wall(end), 1) for begin, end in oven.hot())
            for oven in workshop.ovens
        }
        self.places: dict[str, Bookings] = {
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
        self.oven_named: dict[str, Oven] = {oven.name: oven for oven in workshop.ovens}
        self.last_oven = ""
        self._turns: dict[int, _Turns] = {}

    def in_turn(self, loads: Mapping[str, int]) -> tuple[list[tuple[str, int]], int, int]:
        """Return ovens and their loads, those first that come after the one set last: they are likely to be free.

        Beside them the smallest and the largest of all the loads.
        """
        turns = self._turns.get(id(loads))
        if turns is None:
            pairs = list(loads.items())
            after = {name: number for number, (name, _) in enumerate(pairs, 1)}
            turns = self._turns[id(loads)] = _Turns(loads, pairs, after, min(loads.values()), max(loads.values()))
        at = turns.after.get(self.last_oven, 0)
        return turns.pairs[at:] + turns.pairs[:at], turns.least, turns.most

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
