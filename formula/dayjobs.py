"""The jobs of a day: every mix with what is due of it, in the order in which they are to be placed on the clock."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from heapq import merge
from itertools import accumulate

from attrs import evolve, frozen

from .bakery import Mixer
from .breadplan import Dough
from .day import DayPlan
from .delivered import by_due
from .doughorder import allergen_cautions, allergens_of, fewest_cleanings
from .errors import ContradictionError, Fault, UnknownNameError
from .orders import Order
from .process import Process, Wait
from .stations import Job
from .working import Caution
from .workshop import Workshop

__all__ = ["Due", "by_allergens", "dues_of", "plan_jobs"]


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
    return tuple(job for dough in day.doughs for job in _jobs(dough, day.bakery.mixers, known_by))


def _jobs(dough: Dough, mixers: Sequence[Mixer], processes: Mapping[str, Process]) -> Iterator[Job]:
    allergens = allergens_of(dough.mixes[0].batch.formula)
    alike = tuple(each.name for each in mixers if each != dough.mixer and each.is_like(dough.mixer))
    for mix in dough.mixes:
        for number in range(mix.first, mix.last + 1):
            parts = tuple(
                Job(portion.bread, number, portion.pieces, dough.mixer.name, processes[portion.bread])
                for portion in mix.portions
            )
            process = processes[dough.breads[0].name]
            shared = parts if dough.is_shared else ()
            yield Job(dough.name, number, mix.pieces, dough.mixer.name, process, shared, allergens, alike)


def _disagreements(dough: Dough, processes: Mapping[str, Process]) -> Iterator[Fault]:
    """Tell where breads that are mixed together are to be mixed or risen in different ways."""
    first, *others = (plan.name for plan in dough.breads)
    alike = _up_to_the_divider(processes[first])
    for name in others:
        for what, words in _up_to_the_divider(processes[name]).items():
            if words != alike[what]:
                expected, mend = "the same, for they are one dough", "give both the same, or do not share the dough"
                yield Fault(f"{what} of {first} and {name}", f"{alike[what]} and {words}", expected, mend)


def _up_to_the_divider(process: Process) -> dict[str, str]:
    stages = ", ".join(f"{name} {_words(process.stages[name])}" for name in sorted(process.stages))
    return {
        "autolyse": f"{process.autolyse_min} min",
        "mix": f"{process.mix_min} min",
        "bulk": _words(process.bulk),
        "folds": ", ".join(f"{fold} min" for fold in process.folds_min) or "none",
        "stages": stages or "none",
    }


def _words(wait: Wait) -> str:
    if wait.earliest_min == wait.latest_min:
        return f"{wait.best_min} min"
    return f"{wait.best_min} min ({wait.earliest_min} to {wait.latest_min} min)"


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


def _due_of(orders: Sequence[tuple[int | None, Order]], piece: int) -> int | None:
    # No more is made than is ordered, as what is over is an order without a time.
    ends = accumulate(order.pieces_made for _, order in orders)
    return next(due for (due, _), end in zip(orders, ends, strict=True) if piece < end)


def by_allergens(dues: Sequence[Due]) -> tuple[list[Due], tuple[Caution, ...]]:
    """Return the mixes in an order in which each mixer needs the fewest cleanings; of equal doughs those that are due first."""
    queues: dict[str, list[Due]] = {}
    # Each mixer keeps its own order, so that none of its mixes may go to another like it.
    held = [evolve(due, job=evolve(due.job, alike=())) for due in dues]
    for due in sorted(held, key=lambda due: due.due_min):
        queues.setdefault(due.job.mixer, []).append(due)
    for queue in queues.values():
        allergens = {due.job.bread: due.job.allergens for due in queue}
        names = list(allergens)
        order = [names[place] for place in fewest_cleanings(list(allergens.values()))]
        queue.sort(key=lambda due: (order.index(due.job.bread), due.job.mix))
    # Of the mixers' next ones the one that is due first is placed first.
    merged = list(merge(*queues.values(), key=lambda due: due.due_min))
    return merged, allergen_cautions(due.job.allergens for due in dues)
