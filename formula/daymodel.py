"""A day as a constraint problem: the tasks of the plain planner with their windows, for a solver to choose when and where.

Mixers that are alike, and ovens that are alike, are one pool each: which of them takes what is settled afterwards, in the
order in which things begin, and always can be.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise
from typing import Any, Final

from attrs import frozen

from .changes import alike
from .clockwork import Timetable
from .dayjobs import plan_jobs
from .placing import LAST_MIN
from .process import Process, busy_min
from .stations import Job, Stations
from .workshop import Oven

__all__ = ["END_MIN", "DayModel", "Expression", "LoadChoice", "MixChoice", "Pool"]

END_MIN: Final = LAST_MIN + 1440
"""Nothing of a day ends later than this: a day after the last mix may begin."""

Expression = Any
"""A variable of the solver, a sum of such, or a whole number."""


@frozen(eq=False)
class LoadChoice:
    """The variables of a load; ``options`` are pools of ovens with a length of the bake, and whether it is chosen."""

    pieces: Expression
    shaped: Expression
    begin: Expression
    options: list[tuple[str, int, Any]]
    later: list[Expression]
    ready: Expression


@frozen(eq=False)
class MixChoice:
    """The variables of a mix."""

    job: Job
    pool: str
    begin: Expression
    divide: Expression
    shape: Expression
    loads: list[LoadChoice]


@frozen
class Pool:
    """Stations that are alike: how many minutes each stands between two uses, and their names."""

    names: tuple[str, ...]
    turn_min: int


class DayModel:
    """The constraint problem of a day.

    Args:
        cp: the solver's module.
        plain: a plan of the day, for its mixes and its workshop.
    """

    def __init__(self, cp: Any, plain: Timetable) -> None:  # noqa: ANN401 - imported late
        """Write down every task with its room."""
        self.cp, self.workshop = cp, plain.workshop
        self.model = cp.CpModel()
        self.free = Stations(self.workshop, [mixer.name for mixer in plain.day.bakery.mixers])
        self.opening = self.workshop.opening_min
        self.pools: dict[str, Pool] = {}
        self.ovens: dict[str, Oven] = {}
        for oven in self.workshop.ovens:
            group = alike(self.workshop, oven)
            if oven == group[0]:
                self.ovens[f"oven {oven.name}"] = oven
                self.pools[f"oven {oven.name}"] = Pool(tuple(each.name for each in group), oven.turn_round_min)
        self.bakes: dict[tuple[str, int], list[tuple[int, Any]]] = {}
        self.uses: defaultdict[str, list[tuple[Any, Expression]]] = defaultdict(list)
        self.begin, self.end = self._moment(), self._moment()
        self.mixes = [self._mix(job) for job in plan_jobs(plain.day, self.workshop)]
        self._keep_capacities()
        self._keep_alike_in_order()

    def _moment(self, last: int = END_MIN) -> Expression:
        return self.model.new_int_var(self.opening, last, "")

    def _within(self, since: Expression, earliest: int, latest: int) -> Expression:
        """Return a moment so many minutes after another."""
        if earliest == latest:
            return since + earliest
        found = self._moment()
        self.model.add(found >= since + earliest)
        self.model.add(found <= since + latest)
        return found

    def _use(self, station: str, begin: Expression, end: Expression, count: Expression) -> None:
        """Use so many of something from one moment to another, at least for a minute, if it is counted at all."""
        if station not in self.free.places:
            return
        until, length = self._moment(), self.model.new_int_var(1, END_MIN - self.opening, "")
        self.model.add(until >= end)
        self.uses[station].append((self.model.new_interval_var(begin, length, until, ""), count))

    def _work(self, station: str, begin: Expression, length: int, count: Expression) -> None:
        self.uses[station].append((self.model.new_fixed_size_interval_var(begin, length, ""), count))

    def _mix(self, job: Job) -> MixChoice:
        """Follow one mix from the mixer to the last pack, as the plain planner does."""
        process, model = job.process, self.model
        begin = self._moment(LAST_MIN)
        model.add(self.begin <= begin)
        names, turn = tuple(sorted((job.mixer, *job.alike))), self.workshop.turn_round_min
        pool = f"mixer {names[0]}"
        self.pools[pool] = Pool(names, turn)
        length = process.autolyse_min + process.mix_min
        self._work(pool, begin, length + turn, 1)
        mixed = begin + length
        divide = self._within(mixed, process.bulk.earliest_min, process.bulk.latest_min)
        long = busy_min(job.pieces, process.divide_rate, process.divide_people) if process.divide_rate else 0
        if long:
            self._work("bench", divide, long, process.divide_people)
        self._use("tubs", mixed, divide + long, 1)
        if process.shape_rate:
            shaping = busy_min(job.pieces, process.shape_rate, process.shape_people)
            slow = max(0, long - shaping)
            shape = self._within(divide, slow + process.rest.earliest_min, slow + process.rest.latest_min)
            self._work("bench", shape, shaping, process.shape_people)
        else:
            shaping, shape = long, divide + process.rest.best_min
        return MixChoice(job, pool, begin, divide, shape, self._loads(job, shape, shaping))

    def _loads(self, job: Job, shape: Expression, shaping: int) -> list[LoadChoice]:
        """Set the pieces in loads: of their full size where all ovens hold as many, else as the solver likes."""
        process, left, done = job.process, job.pieces, 0
        least, most = min(process.loads.values()), max(process.loads.values())
        sizes: list[Expression] = []
        if least == most:
            while left:
                sizes.append(min(most, left))
                left -= sizes[-1]
        else:
            sizes = [self.model.new_int_var(0, min(most, left), "") for _ in range(-(-left // least))]
            self.model.add(sum(sizes) == left)
        loads: list[LoadChoice] = []
        for pieces in sizes:
            loads.append(self._load(job, shape, shaping, done, pieces))
            done = done + pieces
        return loads

    def _load(self, job: Job, shape: Expression, shaping: int, done: Expression, pieces: Expression) -> LoadChoice:
        process, model, total = job.process, self.model, job.pieces
        fixed = isinstance(pieces, int)
        begin = self._moment()
        options = self._ovens(process, begin, pieces)
        end = self._moment()
        model.add(end == begin + sum(long * chosen for _, long, chosen in options))
        # In whole minutes: the last piece is shaped at shape + ceil(shaping * (done + pieces) / total).
        model.add(total * (begin - shape - process.proof.earliest_min) >= shaping * (done + pieces))
        latest = model.add(total * (begin - shape - process.proof.latest_min) <= shaping * done)
        shaped = shape + -(-shaping * done // total) if isinstance(done, int) else self._moment()
        if not isinstance(done, int):
            model.add(total * (shaped - shape) >= shaping * done)
            model.add(total * (shaped - shape) <= shaping * done + total - 1)
        used: Expression = True
        if not fixed:
            used = model.new_bool_var("")
            model.add(pieces >= 1).only_enforce_if(used)
            model.add(pieces == 0).only_enforce_if(used.negated())
            model.add(sum(chosen for _, _, chosen in options) == used)
        latest.only_enforce_if(used)
        self._use("proof", shaped, begin, pieces)
        for gear, until in process.gear.items():
            back = (begin if until == "proof" else end) + self.workshop.gear_return_min
            self._use(gear, shaped, back, pieces)
        later, ready, leaves = [], end + process.cool_min, None
        for station, rate in (("slicing", process.slice_rate), ("packing", process.pack_rate)):
            if rate:
                since = self._moment()
                model.add(since >= ready)
                length: Expression = (
                    busy_min(pieces, rate) if fixed else model.new_int_var(0, busy_min(total, rate), "")
                )
                if fixed:
                    self._work(station, since, length, 1)
                else:
                    model.add(rate * length >= 60 * pieces)
                    model.add(rate * length <= 60 * pieces + rate - 1)
                    until_ = self._moment()
                    self.uses[station].append((model.new_interval_var(since, length, until_, ""), 1))
                later.append(since)
                leaves, ready = leaves if leaves is not None else since, since + length
        self._use("cooling", end, ready if leaves is None else leaves, pieces)
        model.add(self.end >= ready).only_enforce_if(used)
        return LoadChoice(pieces, shaped, begin, options, later, ready)

    def _ovens(self, process: Process, begin: Expression, pieces: Expression) -> list[tuple[str, int, Any]]:
        """Offer every pool of ovens, and for one that is fired every length of the bake with the moments that have it."""
        options: list[tuple[str, int, Any]] = []
        model = self.model
        for pool, oven in self.ovens.items():
            for long, moments in self._bakes(oven, process.bake_min) if oven.name in process.loads else ():
                chosen = model.new_bool_var("")
                model.add_linear_expression_in_domain(begin, moments).only_enforce_if(chosen)
                length = long + oven.turn_round_min
                interval = model.new_optional_fixed_size_interval_var(begin, length, chosen, "")
                self.uses[pool].append((interval, 1))
                options.append((pool, long, chosen))
                if not isinstance(pieces, int):
                    model.add(pieces <= process.loads[oven.name]).only_enforce_if(chosen)
        if isinstance(pieces, int):
            model.add_exactly_one(chosen for _, _, chosen in options)
        return options

    def _bakes(self, oven: Oven, bake_min: int) -> list[tuple[int, Any]]:
        """Return each length of a bake in an oven with the moments at which it may begin and last so long."""
        if not oven.fired_min:
            return [(bake_min, self.cp.Domain(self.opening, END_MIN))]
        if (oven.name, bake_min) in self.bakes:
            return self.bakes[oven.name, bake_min]
        found: defaultdict[int, list[int]] = defaultdict(list)
        hot = self.free.ovens[oven.name]
        for moment in range(self.opening, END_MIN):
            if hot.least(moment, moment + 1):
                long = oven.bake_min(bake_min, self.workshop.wall.wall(moment))
                if hot.least(moment, moment + long + oven.turn_round_min):
                    found[long].append(moment)
        bakes = [(long, self.cp.Domain.from_values(moments)) for long, moments in found.items()]
        self.bakes[oven.name, bake_min] = bakes
        return bakes

    def _keep_capacities(self) -> None:
        for station, uses in self.uses.items():
            intervals, counts = [interval for interval, _ in uses], [count for _, count in uses]
            if station in self.pools:
                capacity = len(self.pools[station].names)
            elif station in self.free.places:
                calendar = self.free.places[station]
                capacity = calendar.most
                for begin, end, free in calendar.stretches(self.opening, END_MIN):
                    if free < capacity:
                        gap = self.model.new_fixed_size_interval_var(begin, end - begin, "")
                        intervals, counts = [*intervals, gap], [*counts, capacity - free]
            else:
                continue
            self.model.add_cumulative(intervals, counts, capacity)

    def _keep_alike_in_order(self) -> None:
        """Mixes that are alike begin in the order of their numbers: the other orders would be the same."""
        for group in self.like_mixes().values():
            for one, other in pairwise(group):
                self.model.add(one.begin <= other.begin)

    def like_mixes(self) -> dict[tuple[str, int], list[MixChoice]]:
        """Return the mixes of one bread with as many pieces together."""
        groups: defaultdict[tuple[str, int], list[MixChoice]] = defaultdict(list)
        for mix in self.mixes:
            groups[mix.job.bread, mix.job.pieces].append(mix)
        return groups
