"""Measure how the seconds grow from one bakery to a thousand, here and on workers: ``python tests/benchmarks/many.py``.

Each bakery has a day of the harbour's ten breads with orders of its own and a workshop.  The cluster is started and
warmed before anything is counted, as it would be for a chain that plans every night.  Run by hand, never a test; what was
measured on which machine is stated in docs/many.md.
"""

import logging
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

from formula.day import plan_day
from formula.folder import load_day
from formula.manydays import Day, ManyDays, plan_days
from formula.orders import Order
from formula.quantity import MASS, write
from formula.shopfile import load_workshop

COUNTS = (1, 10, 100, 1_000)
HARBOUR = Path(__file__).parents[2] / "docs" / "examples" / "harbour"


def a_chain(count: int) -> dict[str, Day]:
    """Return the days of so many bakeries, no two of them alike."""
    orders, bakery = load_day(HARBOUR)
    workshop = load_workshop(HARBOUR)

    def own(number: int) -> tuple[Order, ...]:
        return tuple(
            Order(
                each.bread,
                pieces=each.pieces + number % 97,
                baked=write(MASS, each.baked_g),
                due=each.due,
                spares=each.spares,
            )
            for each in orders
        )

    return {f"bakery {number}": (own(number), bakery, workshop) for number in range(count)}


Clocks = Callable[[], list[float]]


def measured(plan: Callable[[], ManyDays], workers: Clocks) -> tuple[float, float, float, ManyDays]:
    """Return seconds on the wall, of this process's processor and of the busiest worker's, and the plans."""
    before, own, start = workers(), time.process_time(), time.perf_counter()
    found = plan()
    wall, used = time.perf_counter() - start, time.process_time() - own
    busiest = max((after - since for since, after in zip(before, workers(), strict=True)), default=0.0)
    return wall, used, busiest, found


def main() -> None:
    """Print the table."""
    from distributed import Client, LocalCluster

    cores = os.cpu_count() or 1
    print(f"{cores} cores; load before: {os.getloadavg()[0]:.1f}")
    print(f"{'':>8}{'':>9}{'':>9}   of the processor, s")
    print(f"{'bakeries':>8}{'workers':>9}{'wall, s':>9}{'here':>9}{'worker':>9}", flush=True)

    def row(count: int, workers: int, wall: float, used: float, busiest: float) -> None:
        print(f"{count:>8}{workers or 'none':>9}{wall:>9.2f}{used:>9.2f}{busiest:>9.2f}", flush=True)

    here: dict[int, ManyDays] = {}
    plan_day(*load_day(HARBOUR))
    for count in COUNTS:
        days = a_chain(count)
        wall, used, _, here[count] = measured(lambda days=days: plan_days(days), list)  # type: ignore[misc]
        row(count, 0, wall, used, 0.0)
    for workers in sorted({1, cores}):
        with (
            TemporaryDirectory() as folder,
            LocalCluster(  # type: ignore[no-untyped-call]
                n_workers=workers,
                threads_per_worker=1,
                host="127.0.0.1",
                dashboard_address="127.0.0.1:0",
                silence_logs=logging.CRITICAL,
                local_directory=folder,
            ) as cluster,
            Client(cluster) as client,  # type: ignore[no-untyped-call]
        ):
            plan_days(a_chain(4 * workers), client, bundle=1)

            def clocks(client: Any = client) -> list[float]:  # noqa: ANN401
                return list(client.run(time.process_time).values())

            for count in COUNTS:
                days = a_chain(count)
                wall, used, busiest, found = measured(
                    lambda days=days, client=client: plan_days(days, client),  # type: ignore[misc]
                    clocks,
                )
                if found != here[count]:
                    message = "the workers planned something else"
                    raise ArithmeticError(message)
                row(count, workers, wall, used, busiest)


if __name__ == "__main__":
    main()
