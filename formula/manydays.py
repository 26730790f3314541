"""Many days: the plans of a chain of bakeries, made one after the other or by the workers of a Dask cluster.

A day needs nothing of another: they are sent out in bundles and put together again in their order.  The workers make the
same plan of the same values, so that what comes back equals the plan made here, to the last bit.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, ClassVar, Protocol, TypeAlias, cast

from attrs import frozen

from .bakery import Bakery
from .day import DayPlan, plan_day
from .errors import Fault, FormulaError, cited
from .folder import load_day
from .lines import Lines
from .orders import Order
from .quantity import MASS, Door, View
from .shopfile import load_workshop
from .workshop import Workshop

__all__ = ["DayClient", "ManyDays", "PlannedDay", "plan_days"]

Day: TypeAlias = (
    "str | os.PathLike[str] | tuple[Iterable[Order], Bakery] | tuple[Iterable[Order], Bakery, Workshop | None]"
)
"""A day's folder, or its orders and its bakery, with a workshop or without."""

_Read: TypeAlias = "str | tuple[tuple[Order, ...], Bakery, Workshop | None]"
_Task: TypeAlias = "tuple[str, _Read, bool | None]"

_MOST_IN_A_BUNDLE = 50
"""Days: what a worker that dies takes with it is planned again."""
_BUNDLES_A_THREAD = 8
"""So that the last bundles are small against the whole, and no worker waits long for another."""
_BY_NAME = "a day that can be planned"


class DayClient(Protocol):
    """What is asked of a client of Dask: ``distributed.Client`` has it."""

    def submit(self, func: Any, *args: Any, pure: bool) -> Any:  # noqa: ANN401 - a function of Dask's
        """Send a call to a worker and return its future."""

    def nthreads(self) -> Any:  # noqa: ANN401
        """Return the threads of each worker."""


@frozen
class PlannedDay:
    """A day of many: its plan, or what is wrong with it.

    Attributes:
        name: what it was called.
        plan: None if it could not be made.
        faults: why not.

    Example:
        >>> PlannedDay("Pier", faults=(Fault("orders", "none", "at least one order"),)).plan is None
        True
    """

    name: str
    plan: DayPlan | None = None
    faults: tuple[Fault, ...] = ()


@frozen
class ManyDays:
    """The days in the order in which they were given; a day that could not be planned is among them, with its faults."""

    days: tuple[PlannedDay, ...]

    @property
    def plans(self) -> Lines[DayPlan]:
        """The plans of the days that could be planned, by their names."""
        return Lines((day.name, day.plan) for day in self.days if day.plan)

    @property
    def failed(self) -> tuple[PlannedDay, ...]:
        """The days that could not be planned."""
        return tuple(day for day in self.days if not day.plan)

    @property
    def dough_g(self) -> float:
        """All dough of all days."""
        return sum(plan.dough_g for plan in self.plans.values())

    dough: ClassVar[View] = View(MASS, "dough_g", "All dough of all days, as a quantity.")

    @property
    def ingredients_g(self) -> Lines[float]:
        """Grams of every ingredient to have ready, all days together."""
        sums: dict[str, float] = {}
        for plan in self.plans.values():
            for name, grams in plan.ingredients_g.items():
                sums[name] = sums.get(name, 0.0) + grams
        return Lines(sorted(sums.items(), key=lambda item: -item[1]))

    def columns(self) -> dict[str, list[Any]]:
        """Return a row for each day that could be planned: ``day``, ``bakery``, ``breads``, ``pieces``, ``mixes``, ``dough_g``."""
        plans = self.plans
        return {
            "day": list(plans),
            "bakery": [plan.bakery.name for plan in plans.values()],
            "breads": [len(plan.breads) for plan in plans.values()],
            "pieces": [plan.pieces for plan in plans.values()],
            "mixes": [plan.mix_count for plan in plans.values()],
            "dough_g": [plan.dough_g for plan in plans.values()],
        }

    def ingredient_columns(self) -> dict[str, list[Any]]:
        """Return a row for each ingredient of each day: ``day``, ``ingredient`` and ``mass_g``."""
        rows = [(name, each, g) for name, plan in self.plans.items() for each, g in plan.ingredients_g.items()]
        return {
            "day": [name for name, _, _ in rows],
            "ingredient": [each for _, each, _ in rows],
            "mass_g": [grams for _, _, grams in rows],
        }

    def check(self) -> ManyDays:
        """Return itself, or refuse if a day could not be planned.

        Raises:
            FormulaError: with the faults of all of them, each with the name of its day.
        """
        faults = [
            Fault(f"{day.name}: {fault.where}", fault.got, fault.expected, fault.fix)
            for day in self.failed
            for fault in day.faults
        ]
        if faults:
            raise FormulaError(*faults)
        return self


def plan_days(
    days: str | os.PathLike[str] | Iterable[Day] | Mapping[str, Day],
    client: DayClient | None = None,
    *,
    share: bool | None = None,
    bundle: int | None = None,
) -> ManyDays:
    """Plan the days of many bakeries, each by ``plan_day``.

    A day that cannot be planned brings its faults by name, and the others are planned all the same.  With a client of a
    Dask cluster the workers plan; each needs this library in the same version, and folders must be where they can be read
    from.  A bundle whose worker dies goes to another; one that goes on killing workers is taken apart and its days are
    tried one at a time, so that only the day that does it is lost.

    Args:
        days: a folder, or any number of folders, (orders, bakery) and (orders, bakery, workshop); a mapping calls each by
            its key.  Without one, a folder is called by its path and any other by its bakery, with a number from the
            second of a name on.
        client: a client of Dask (``distributed.Client``) that is not asynchronous; without, the days are planned here.
        share: whether one dough is mixed for several breads; as each bakery does it, if left out.
        bundle: days that are sent together; enough for eight bundles a thread, at most 50, if left out.

    Returns:
        The days in their order.

    Raises:
        FormulaError: when there is no day, or ``client`` or ``bundle`` is none.

    Example:
        >>> from formula import Bakery, Formula, Mixer, Order
        >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70, "salt": 2})
        >>> mixers = [Mixer("spiral", capacity="160 kg", friction="20 K")]
        >>> pier = Bakery("Pier", mixers=mixers, flour="20 °C", room="22 °C", tap="14 °C")
        >>> found = plan_days({"Monday": ([Order(loaf, pieces=100, baked="800 g")], pier), "Tuesday": ([], pier)})
        >>> found.plans["Monday"].pieces
        100
        >>> [(day.name, str(day.faults[0])) for day in found.failed]
        [('Tuesday', 'orders: got none, expected at least one order')]
    """
    with Door(FormulaError) as door:
        if bundle is not None and (isinstance(bundle, bool) or not isinstance(bundle, int) or bundle < 1):  # pyright: ignore[reportUnnecessaryIsInstance]
            door.refuse("bundle", cited(bundle), "a whole number of at least 1")
        if client is not None and not (hasattr(client, "submit") and hasattr(client, "nthreads")):
            door.refuse("client", cited(client), "a client of Dask", "make one with distributed.Client(cluster)")
        if client is not None and getattr(client, "asynchronous", False):
            door.refuse("client", "an asynchronous one", "one that waits", "make it without asynchronous=True")
        named = _named(days)
        if not named:
            door.refuse("days", "none", "at least one day")
    found: dict[str, PlannedDay] = {}
    tasks: list[_Task] = []
    for name, day in named.items():
        try:
            tasks.append((name, _read(day), share))
        except FormulaError as error:
            found[name] = PlannedDay(name, faults=error.faults)
    planned = _planned(tasks) if client is None else _on_workers(client, tasks, bundle)
    found |= {day.name: day for day in planned}
    return ManyDays(tuple(found[name] for name in named))


def _named(days: str | os.PathLike[str] | Iterable[Day] | Mapping[str, Day]) -> dict[str, Day]:
    """Give each day its name; one that comes again gets a number."""
    if isinstance(days, Mapping):
        return dict(cast("Mapping[str, Day]", days))
    found: dict[str, Day] = {}
    for day in [days] if isinstance(days, (str, os.PathLike)) else days:
        if isinstance(day, (str, os.PathLike)):
            own = os.fspath(day)
        else:
            bakery = day[1] if isinstance(day, tuple) and len(day) > 1 else None  # pyright: ignore[reportUnnecessaryIsInstance, reportUnnecessaryComparison]
            own = bakery.name if isinstance(bakery, Bakery) else f"day {len(found) + 1}"
        name, number = own, 1
        while name in found:
            number += 1
            name = f"{own} ({number})"
        found[name] = day
    return found


def _read(day: object) -> _Read:
    """Check that a day is one, and make it a value that can be sent."""
    if isinstance(day, (str, os.PathLike)):
        # A worker may stand in another folder.
        return str(Path(day).absolute())
    parts = cast("tuple[object, ...]", day) if isinstance(day, tuple) else ()
    if len(parts) not in {2, 3}:
        raise FormulaError(Fault("day", cited(day), "a folder, or (orders, bakery), or (orders, bakery, workshop)"))
    given, bakery, workshop = (*parts, None)[:3]
    with Door(FormulaError) as door:
        orders = tuple(cast("Iterable[object]", given)) if isinstance(given, Iterable) else (given,)
        for number, order in enumerate(orders):
            if not isinstance(order, Order):
                door.refuse(f"orders[{number}]", cited(order), "an Order")
        if not isinstance(bakery, Bakery):
            door.refuse("bakery", cited(bakery), "a Bakery")
        if workshop is not None and not isinstance(workshop, Workshop):
            door.refuse("workshop", cited(workshop), "a Workshop or None")
    return cast("tuple[Order, ...]", orders), cast("Bakery", bakery), cast("Workshop | None", workshop)


def _planned(tasks: Sequence[_Task]) -> tuple[PlannedDay, ...]:
    """Plan some days; what is wrong with one stays with it.  Runs on the workers too."""
    return tuple(map(_one, tasks))


def _one(task: _Task) -> PlannedDay:
    name, day, share = task
    try:
        if isinstance(day, str):
            orders, bakery = load_day(day)
            return PlannedDay(name, plan_day(orders, bakery, load_workshop(day), share=share))
        return PlannedDay(name, plan_day(*day, share=share))
    except FormulaError as error:
        return PlannedDay(name, faults=error.faults)
    except Exception as error:  # noqa: BLE001 - whatever it is, the other days must not be lost with it
        return PlannedDay(name, faults=(_unplanned(error),))


def _unplanned(error: BaseException) -> Fault:
    return Fault("day", f"{type(error).__name__}: {cited(error, str)}", _BY_NAME, "plan it alone to see where")


def _on_workers(client: DayClient, tasks: list[_Task], bundle: int | None) -> Iterator[PlannedDay]:
    threads = sum(cast("dict[str, int]", client.nthreads()).values()) or 1
    size = bundle or min(_MOST_IN_A_BUNDLE, math.ceil(len(tasks) / (_BUNDLES_A_THREAD * threads)))
    bundles = [tuple(tasks[first : first + size]) for first in range(0, len(tasks), size)]
    again: list[_Task] = []
    for together, planned in zip(bundles, _asked(client, bundles), strict=True):
        if isinstance(planned, Exception):
            again += together
        else:
            yield from planned
    for task in again:
        # Only one is under way at a time: Dask blames whatever waits at a worker that dies, the innocent too.
        (planned,) = _asked(client, [(task,)])
        if isinstance(planned, Exception):
            yield PlannedDay(task[0], faults=(_unplanned(planned),))
        else:
            yield from planned


def _asked(client: DayClient, bundles: Sequence[tuple[_Task, ...]]) -> Iterator[tuple[PlannedDay, ...] | Exception]:
    """Send bundles out, all at once, and bring back in their order what became of them: days, or an error."""
    futures: list[Any] = []
    for together in bundles:
        try:
            futures.append(client.submit(_planned, together, pure=False))
        except Exception as error:  # noqa: BLE001 - a day that cannot be pickled must not lose the others
            futures.append(error)
    for future in futures:
        if isinstance(future, Exception):
            yield future
            continue
        try:
            yield cast("tuple[PlannedDay, ...]", future.result())
        except Exception as error:  # noqa: BLE001 - a worker that died, and whatever else befell a bundle
            yield error
