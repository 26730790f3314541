"""The jobs of a day: every mix with what is due of it, in the order in which they are to be placed on the clock."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from attrs import frozen

from .breadplan import BreadPlan, Dough
from .day import DayPlan
from .doughorder import allergen_cautions, allergens_of, fewest_cleanings
from .errors import ContradictionError, Fault, UnknownNameError
from .orders import Order
from .placing import Job
from .process import Process
from .quantity import Door
from .timeofday import read_clock
from .working import Caution
from .workshop import Workshop

__all__ = ["Due", "by_allergens", "by_due", "dues_of", "plan_jobs"]


@frozen
class Due:
    """A mix with the moments at which the first piece of each of its breads is due."""

    job: Job
    dues_min: tuple[int, ...]

    @property
    def due_min(self) -> int:
        """When the first of all its pieces is due."""
        return min(self.dues_min)


def plan_jobs(day: DayPlan, workshop: Workshop) -> tuple[Job, ...]:
    """Return the day's mixes as jobs, in the given order; a bread without a process is refused, all at once.

    Args:
        day: the day's doughs and mixes.
        workshop: with a process for each of its breads.

    Raises:
        UnknownNameError: for every bread that has none.
        ContradictionError: breads that share a dough, but are to be mixed or risen in different ways.
    """
    processes = {plan.name: workshop.process_of(plan.weighed_name, plan.bread.name) for plan in day.breads}
    missing = [plan.bread.name for plan in day.breads if processes[plan.name] is None]
    if missing:
        known = ", ".join(workshop.processes) or "none"
        faults = [
            Fault(f"process of {name}", "none", f"one; there are: {known}", "say how it is made")
            for name in dict.fromkeys(missing)
        ]
        raise UnknownNameError(*faults)
    known_by = {name: process for name, process in processes.items() if process}
    apart = [fault for dough in day.doughs for fault in _disagreements(dough, known_by)]
    if apart:
        raise ContradictionError(*apart)
    return tuple(job for dough in day.doughs for job in _jobs(dough, known_by))


def _jobs(dough: Dough, processes: Mapping[str, Process]) -> Iterator[Job]:
    allergens = allergens_of(dough.mixes[0].batch.formula)
    for mix in dough.mixes:
        for number in range(mix.first, mix.last + 1):
            parts = tuple(
                Job(portion.bread, number, portion.pieces, dough.mixer.name, processes[portion.bread])
                for portion in mix.portions
            )
            process = processes[dough.breads[0].name]
            yield Job(
                dough.name, number, mix.pieces, dough.mixer.name, process, parts if dough.is_shared else (), allergens
            )


def _disagreements(dough: Dough, processes: Mapping[str, Process]) -> Iterator[Fault]:
    """Tell where breads that are mixed together are to be mixed or risen in different ways."""
    first, *others = (plan.name for plan in dough.breads)
    for name in others:
        for what, key in (
            ("autolyse", "autolyse_min"),
            ("mix", "mix_min"),
            ("bulk", "bulk"),
            ("folds", "folds_min"),
            ("stages", "stages"),
        ):
            one, two = getattr(processes[first], key), getattr(processes[name], key)
            if one != two:
                mend = "give both the same, or do not share the dough"
                yield Fault(
                    f"{what} of {first} and {name}", f"{one} and {two}", "the same, for they are one dough", mend
                )


def dues_of(day: DayPlan, jobs: Sequence[Job], workshop: Workshop) -> list[Due]:
    """Return each mix with the moments at which the first of its pieces are due: pieces go to the orders as they are due."""
    orders = {plan.name: by_due(plan, workshop) for plan in day.breads}
    made = dict.fromkeys(orders, 0)
    # What has no delivery time of its own is done with the last of the others.
    last = max((due for each in orders.values() for due, _ in each if due is not None), default=workshop.opening_min)
    found: list[Due] = []
    for job in jobs:
        dues = [_due_of(orders[part.bread], made[part.bread]) for part in job.breads]
        found.append(Due(job, tuple(last if due is None else due for due in dues)))
        for part in job.breads:
            made[part.bread] += part.pieces
    return found


def by_due(plan: BreadPlan, workshop: Workshop) -> list[tuple[int | None, Order]]:
    """Return the orders of a bread with the moment at which each is due, those due first before the others."""
    with Door() as door:
        pairs = [
            (workshop.wall.elapsed(read_clock(door, order.due, "due")) if order.due else None, order)
            for order in plan.orders
        ]
    return sorted(pairs, key=lambda pair: (pair[0] is None, pair[0] or 0))


def _due_of(orders: Sequence[tuple[int | None, Order]], piece: int) -> int | None:
    made = 0
    for due, order in orders:
        made += order.pieces_made
        if piece < made:
            return due
    return None


def by_allergens(dues: Sequence[Due]) -> tuple[list[Due], tuple[Caution, ...]]:
    """Return the mixes in the order of doughs that needs the fewest cleanings; of equal ones those that are due first."""
    allergens = {due.job.bread: due.job.allergens for due in sorted(dues, key=lambda due: due.due_min)}
    places = fewest_cleanings(list(allergens.values()))
    order = [list(allergens)[place] for place in places]
    return sorted(dues, key=lambda due: order.index(due.job.bread)), allergen_cautions(allergens.values())
