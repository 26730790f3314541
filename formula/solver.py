"""The search for the best plan of a day: least lateness first, then the shortest day, from the plain plan on."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable
from typing import Any, Final

from attrs import frozen

from .clockwork import Timetable
from .daymodel import END_MIN, DayModel, Expression, LoadChoice, MixChoice, PartChoice
from .process import Process
from .stations import Job, Task

__all__ = ["ChosenLoad", "ChosenMix", "ChosenPart", "DaySolver", "after_cooling"]

_SEED: Final = 7

Told = Callable[[int, int], None]


@frozen
class ChosenLoad:
    """What a solver chose for a load; ``later_min`` is when it is sliced and when it is packed."""

    pieces: int
    oven: str
    drawn_min: int
    shaped_min: int
    begin_min: int
    later_min: tuple[int, ...]


@frozen
class ChosenPart:
    """What a solver chose for one bread of a mix."""

    job: Job
    divide_min: int
    shape_min: int
    loads: tuple[ChosenLoad, ...]


@frozen
class ChosenMix:
    """What a solver chose for a mix."""

    job: Job
    mixer: str
    begin_min: int
    parts: tuple[ChosenPart, ...]


class DaySolver:
    """A search for the best plan of a day.

    Args:
        cp: the solver's module.
        plain: the plain plan, where the search begins.
    """

    def __init__(self, cp: Any, plain: Timetable) -> None:  # noqa: ANN401 - imported late
        """Write the problem down."""
        self.cp: Any = cp
        self.plain: Timetable = plain
        self.day: DayModel = DayModel(cp, plain)
        self.model: Any = self.day.model
        self.solver: Any = None
        self.hinted: set[int] = set()
        self.values: list[int] = []
        self.is_impossible: bool = False
        self.late: Expression = self._lateness()
        if not plain.unplaced:
            self.model.add(self.late <= plain.late_piece_min)
            self._begin_from_the_plain_plan()

    def least_lateness(self, limit_s: float, workers: int, told: Told) -> int | None:
        """Search for the least lateness; return the proven bound, or None if no plan was found in this time."""
        self.model.minimize(self.late)
        bound = self._solve(limit_s, workers, told)
        if bound is not None:
            self.model.add(self.late <= self._value(self.late))
        return bound

    def least_span(self, limit_s: float, workers: int, told: Told) -> int:
        """Search for the shortest day that is no later than what was found; return the proven bound."""
        self.model.clear_hints()
        for number, value in enumerate(self.values):
            self.model.add_hint(self.model.get_int_var_from_proto_index(number), value)
        self.model.minimize(self.day.end - self.day.begin)
        return self._solve(limit_s, workers, told) or 0

    def _solve(self, limit_s: float, workers: int, told: Told) -> int | None:
        solver = self.cp.CpSolver()
        solver.parameters.max_time_in_seconds = limit_s
        solver.parameters.num_workers = workers
        solver.parameters.random_seed = _SEED
        cp = self.cp
        callback: Any = cp.CpSolverSolutionCallback

        class _Watch(callback):  # type: ignore[misc]
            def on_solution_callback(self) -> None:
                told(round(self.objective_value), max(0, round(self.best_objective_bound)))

        status = solver.solve(self.model, _Watch())
        self.is_impossible = bool(status == cp.INFEASIBLE)
        if status not in (cp.OPTIMAL, cp.FEASIBLE):
            return None
        self.values = list(solver.response_proto.solution)
        self.solver = solver
        bound: float = solver.best_objective_bound
        return max(0, math.ceil(bound - 1e-6))

    def _value(self, expression: Expression) -> int:
        return int(self.solver.value(expression))

    def _lateness(self) -> Expression:
        """Sum over all pieces the minutes by which each is packed late; pieces go to the orders as is best."""
        costs: list[Expression] = []
        for plan in self.plain.day.breads:
            wanted: defaultdict[int | None, int] = defaultdict(int)
            for order in self.plain.orders:
                if order.name == plan.name:
                    wanted[order.due_min] += order.order.pieces_made
            loads = [
                load
                for mix in self.day.mixes
                for part in mix.parts
                if part.job.bread == plan.name
                for load in part.loads
            ]
            shares: list[list[Expression]] = [[load.pieces for load in loads]]
            if len(wanted) > 1:
                shares = [[self.model.new_int_var(0, pieces, "") for _ in loads] for pieces in wanted.values()]
                for share, pieces in zip(shares, wanted.values(), strict=True):
                    self.model.add(sum(share) == pieces)
                for load, parts in zip(loads, zip(*shares, strict=True), strict=True):
                    self.model.add(sum(parts) == load.pieces)
            costs += [
                self._cost(load, due, part)
                for due, share in zip(wanted, shares, strict=True)
                if due is not None
                for load, part in zip(loads, share, strict=True)
            ]
        return sum(costs)

    def _cost(self, load: LoadChoice, due: int, pieces: Expression) -> Expression:
        late = self.model.new_int_var(0, max(0, END_MIN - due), "")
        self.model.add(late >= load.ready - due)
        if isinstance(pieces, int):
            return pieces * late
        cost = self.model.new_int_var(0, self.plain.day.pieces * max(0, END_MIN - due), "")
        self.model.add_multiplication_equality(cost, [pieces, late])
        return cost

    def _begin_from_the_plain_plan(self) -> None:
        plain: defaultdict[tuple[str, int], list[Task]] = defaultdict(list)
        for task in self.plain.tasks:
            if task.what != "clean":
                plain[task.bread, task.mix].append(task)
        for group in self.day.like_mixes().values():
            own = sorted(
                ((mix.job.mix, plain[mix.job.bread, mix.job.mix]) for mix in group), key=lambda m: _begin(m[1])
            )
            for mix, (number, tasks) in zip(group, own, strict=True):
                self._hint(mix, tasks)
                divide = next(task.end_min for task in tasks if task.what == "bulk")
                for part in mix.parts:
                    divide = self._hint_part(part, plain[part.job.bread, number], divide)

    def _hint(self, mix: MixChoice, tasks: list[Task]) -> None:
        self._hint_one(mix.begin, _begin(tasks))
        station = next(task.station for task in tasks if task.what == "mix")
        for pool, chosen in mix.mixers:
            self._hint_one(chosen, int(station in self.day.pools[pool].names))

    def _hint_part(self, part: PartChoice, tasks: list[Task], divide: int) -> int:
        """Begin from the plain plan of one bread of a mix; return when the next is divided at the earliest."""
        when = {task.what: task for task in tasks}
        if "divide" in when:
            divide = when["divide"].begin_min
        self._hint_one(part.divide, divide)
        if "shape" in when:
            self._hint_one(part.shape, when["shape"].begin_min)
        by_load = {(task.what, task.load): task for task in tasks}
        for number, load in enumerate(part.loads, 1):
            bake = by_load.get(("bake", number))
            self._hint_one(load.pieces, bake.pieces if bake else 0)
            if bake is not None:
                self._hint_one(load.begin, bake.begin_min)
                long = bake.end_min - bake.begin_min
                for pool, bakes, chosen in load.options:
                    self._hint_one(chosen, int(bake.station in self.day.pools[pool].names and bakes == long))
                for what, since in zip(after_cooling(part.job.process), load.later, strict=True):
                    self._hint_one(since, by_load[what, number].begin_min)
        return when["divide"].end_min if "divide" in when else divide

    def _hint_one(self, expression: Expression, value: int) -> None:
        # A part that begins when the one before ends has no variable of its own.
        if isinstance(expression, self.cp.IntVar) and expression.index not in self.hinted:
            self.hinted.add(expression.index)
            self.model.add_hint(expression, value)

    def found(self) -> tuple[ChosenMix, ...]:
        """Return what was chosen in the plan that was found last, each thing with a station of its pool."""
        value = self._value
        stations = self._stations()
        return tuple(
            ChosenMix(
                mix.job,
                stations[id(mix)][0],
                value(mix.begin),
                tuple(
                    ChosenPart(
                        part.job,
                        value(part.divide),
                        value(part.shape),
                        tuple(
                            ChosenLoad(
                                value(load.pieces),
                                *stations[id(load)],
                                value(load.shaped),
                                value(load.begin),
                                tuple(value(since) for since in load.later),
                            )
                            for load in part.loads
                            if value(load.pieces)
                        ),
                    )
                    for part in mix.parts
                ),
            )
            for mix in self.day.mixes
        )

    def _stations(self) -> dict[int, tuple[str, int]]:
        """Return the mixer of each mix and the oven of each load, and when it ends there."""
        value = self._value
        wanted: defaultdict[str, list[tuple[int, int, int]]] = defaultdict(list)
        for mix in self.day.mixes:
            process = mix.job.process
            for pool, chosen in mix.mixers:
                if value(chosen):
                    begin = value(mix.begin)
                    wanted[pool].append((begin, begin + process.autolyse_min + process.mix_min, id(mix)))
            for load in (load for part in mix.parts for load in part.loads):
                for pool, long, chosen in load.options:
                    if value(chosen):
                        wanted[pool].append((value(load.begin), value(load.begin) + long, id(load)))
        stations: dict[int, tuple[str, int]] = {}
        for pool, uses in wanted.items():
            free = dict.fromkeys(self.day.pools[pool].names, self.day.opening)
            for begin, end, key in sorted(uses):
                name = next(name for name, since in free.items() if since <= begin)
                free[name] = end + self.day.pools[pool].turn_min
                stations[key] = name, end
        return stations


def after_cooling(process: Process) -> list[str]:
    """What is done to a load after it has cooled."""
    return [what for what, rate in (("slice", process.slice_rate), ("pack", process.pack_rate)) if rate]


def _begin(tasks: Iterable[Task]) -> int:
    return min(task.begin_min for task in tasks)
