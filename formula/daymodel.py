"""A day as a constraint problem: the tasks of the plain planner with their windows, for a solver to choose when and where.

Mixers that are alike, and ovens that are alike, are one pool each: which of them takes what is settled afterwards, in the
order in which things begin, and always can be.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations, pairwise, product
from typing import Any, Final

from attrs import frozen

from .changes import alike
from .clockwork import Timetable
from .dayjobs import plan_jobs
from .doughorder import lost_allergens
from .placing import LAST_MIN
from .process import Process, busy_min
from .stations import Job, Stations
from .workshop import Oven, Workshop

__all__ = ["END_MIN", "DayModel", "Expression", "LoadChoice", "MixChoice", "PartChoice", "Pool"]

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
class PartChoice:
    """The variables of one bread of a mix, from the divider on."""

    job: Job
    divide: Expression
    shape: Expression
    loads: list[LoadChoice]


@frozen(eq=False)
class MixChoice:
    """The variables of a mix; ``mixers`` are pools of mixers, and whether it is mixed there."""

    job: Job
    begin: Expression
    mixers: list[tuple[str, Expression]]
    parts: list[PartChoice]


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
        self.cp: Any = cp
        self.workshop: Workshop = plain.workshop
        self.model: Any = cp.CpModel()
        self.free: Stations = Stations(self.workshop, [mixer.name for mixer in plain.day.bakery.mixers])
        self.opening: int = self.workshop.opening_min
        self.pools: dict[str, Pool] = {}
        self.ovens: dict[str, Oven] = {}
        for oven in self.workshop.ovens:
            group = alike(self.workshop, oven)
            if oven == group[0]:
                self.ovens[f"oven {oven.name}"] = oven
                self.pools[f"oven {oven.name}"] = Pool(tuple(each.name for each in group), oven.turn_round_min)
        self.bakes: dict[tuple[str, int], list[tuple[int, Any]]] = {}
        self.uses: defaultdict[str, list[tuple[Any, Expression]]] = defaultdict(list)
        self.begin: Expression = self._moment()
        self.end: Expression = self._moment()
        self.mixes: list[MixChoice] = [self._mix(job) for job in plan_jobs(plain.day, self.workshop)]
        self._keep_capacities()
        self._keep_alike_in_order()
        self._keep_clean()

    def _moment(self, last: int = END_MIN) -> Expression:
        return self.model.new_int_var(self.opening, last, "")

    def _between(self, earliest: Expression, latest: Expression, same: bool) -> Expression:  # noqa: FBT001
        """Return a moment between two others, or the first of them where they are the same."""
        if same:
            return earliest
        found = self._moment()
        self.model.add(found >= earliest)
        self.model.add(found <= latest)
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
        process = job.process
        begin = self._moment(LAST_MIN)
        self.model.add(self.begin <= begin)
        length = _mixing(job)
        mixers = self._mixers(job, begin, length)
        mixed = begin + length
        earliest, latest = mixed + process.bulk.earliest_min, mixed + process.bulk.latest_min
        parts: list[PartChoice] = []
        divided: Expression = mixed
        for part in job.breads:
            rate, people = part.process.divide_rate, part.process.divide_people
            long = busy_min(part.pieces, rate, people) if rate else 0
            # What is not divided goes its way at once, after the first as well.
            same = process.bulk.earliest_min == process.bulk.latest_min or bool(parts and not long)
            divide = self._between(earliest, latest, same)
            if long:
                self._work("bench", divide, long, people)
            divided = divide + long
            parts.append(self._part(part, divide, long))
            # The next bread's dough waits in the tub, for its turn at the divider or as long as it may rise.
            if part is not job.breads[-1]:
                late = self._moment()
                self.model.add_max_equality(late, [divided, latest])
                earliest, latest = divided, late
        self._use("tubs", mixed, divided, 1)
        return MixChoice(job, begin, mixers, parts)

    def _mixers(self, job: Job, begin: Expression, length: int) -> list[tuple[str, Expression]]:
        """Take a mixer: of several that are alike any, one by one only where cleaning tells them apart."""
        names, turn = tuple(sorted((job.mixer, *job.alike))), self.workshop.turn_round_min
        pools = [(name,) for name in names] if self.workshop.cleaning_min else [names]
        options: list[tuple[str, Expression]] = []
        for pool in pools:
            key = f"mixer {pool[0]}"
            self.pools[key] = Pool(pool, turn)
            chosen = self.model.new_bool_var("")
            interval = self.model.new_optional_fixed_size_interval_var(begin, length + turn, chosen, "")
            self.uses[key].append((interval, 1))
            options.append((key, chosen))
        self.model.add_exactly_one(chosen for _, chosen in options)
        return options

    def _part(self, job: Job, divide: Expression, long: int) -> PartChoice:
        """Follow one bread of a mix from the divider on."""
        process = job.process
        if not process.shape_rate:
            shape = divide + process.rest.best_min
            return PartChoice(job, divide, shape, self._loads(job, shape, long))
        shaping = busy_min(job.pieces, process.shape_rate, process.shape_people)
        slow = max(0, long - shaping)
        rest = process.rest
        shape = self._between(
            divide + slow + rest.earliest_min, divide + slow + rest.latest_min, rest.earliest_min == rest.latest_min
        )
        self._work("bench", shape, shaping, process.shape_people)
        return PartChoice(job, divide, shape, self._loads(job, shape, shaping))

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

    def like_mixes(self) -> dict[tuple[str, tuple[int, ...]], list[MixChoice]]:
        """Return the mixes of one dough with as many pieces of each bread together."""
        groups: defaultdict[tuple[str, tuple[int, ...]], list[MixChoice]] = defaultdict(list)
        for mix in self.mixes:
            groups[mix.job.bread, tuple(part.pieces for part in mix.job.breads)].append(mix)
        return groups

    def _keep_clean(self) -> None:
        """Leave time to clean a mixer between two mixes where the later one lacks an allergen of the earlier.

        That holds between any two in one mixer: of three in a row a lost allergen is lost on the way, so that they are
        cleaned between anyway.
        """
        cleaning, turn = self.workshop.cleaning_min, self.workshop.turn_round_min
        for one, other in combinations(self.mixes, 2) if cleaning else ():
            there, back = (
                turn + (cleaning if lost_allergens(first.job.allergens, second.job.allergens) else 0)
                for first, second in ((one, other), (other, one))
            )
            for (mixer, chosen), (its, also) in product(one.mixers, other.mixers):
                if mixer == its and max(there, back) > turn:
                    first = self.model.new_bool_var("")
                    # Which comes first, where both are in this mixer.
                    self.model.add(other.begin >= one.begin + _mixing(one.job) + there).only_enforce_if(
                        first, chosen, also
                    )
                    self.model.add(one.begin >= other.begin + _mixing(other.job) + back).only_enforce_if(
                        first.negated(), chosen, also
                    )


def _mixing(job: Job) -> int:
    return job.process.autolyse_min + job.process.mix_min
