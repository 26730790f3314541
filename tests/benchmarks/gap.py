"""Measure how far the plain plan is from the best one, on random small days: ``python tests/benchmarks/gap.py``.

The days are drawn from a seed, so that the same days come each time; the best plan is that of the solver, within ten
seconds.  Never a test: what is measured is stated in docs/fit.md.
"""

import random
import sys
from pathlib import Path
from statistics import mean, median

sys.path.insert(0, str(Path(__file__).parents[2]))

from formula.bakery import Bakery, Mixer
from formula.clockwork import Timetable, timetable
from formula.day import DayPlan, plan_day
from formula.formula import Formula
from formula.optimum import optimise
from formula.orders import Order
from formula.process import Process, Wait
from formula.workshop import Oven, Shift, Workshop

DAYS = 60
LEAN = {"bread flour": 100, "water": 68, "salt": 2, "fresh yeast": 1}


def small_day(seed: int) -> tuple[DayPlan, Workshop]:
    """Draw a day of two to four breads in one oven hall, with deliveries that are tight for about half of the days."""
    draw = random.Random(seed)  # noqa: S311 - no secret
    ovens = [Oven(f"deck {number}", turn_round="6 min") for number in range(draw.randint(1, 3))]
    processes: dict[str, Process] = {}
    orders: list[Order] = []
    for number in range(draw.randint(2, 4)):
        bread = Formula.from_percents(f"bread {number}", LEAN)
        bulk, proof = draw.randint(30, 120), draw.randint(30, 80)
        processes[bread.name] = Process(
            mix=f"{draw.randint(8, 30)} min",
            bulk=Wait(f"{bulk} min", latest=f"{bulk + 30} min"),
            divide=600,
            rest=Wait("15 min", latest="30 min"),
            shape=draw.randint(100, 300),
            shape_people=2,
            proof=Wait(f"{proof} min", earliest=f"{proof - 10} min", latest=f"{proof + 40} min"),
            bake=f"{draw.randint(15, 50)} min",
            loads={oven.name: 60 for oven in ovens},
            cool="45 min",
            pack=1200,
        )
        due = draw.randint(300, 560)
        orders.append(Order(bread, pieces=draw.randint(40, 180), baked="800 g", due=f"{due // 60:02d}:{due % 60:02d}"))
    bakery = Bakery(
        "small", mixers=[Mixer("spiral", capacity="100 kg", friction="20 K")], flour="20 °C", room="22 °C", tap="14 °C"
    )
    workshop = Workshop(
        opens="00:00",
        ovens=ovens,
        processes=processes,
        turn_round="5 min",
        shifts=[Shift("00:00", "16:00", people=4, breaks=[("03:00", "03:30")])],
    )
    return plan_day(orders, bakery, workshop), workshop


def minutes(table: Timetable) -> float:
    """Return the minutes by which a piece is late, on average over all pieces."""
    return table.late_piece_min / table.day.pieces


def main() -> None:
    """Print how late each plan is."""
    names = ("plain", "due first", "best")
    lateness: dict[str, list[float]] = {name: [] for name in names}
    proven = least = 0
    for seed in range(DAYS):
        day, workshop = small_day(seed)
        best = optimise(day, workshop, time_limit="10 s")
        due = timetable(day, workshop, order="due")
        for name, table in zip(names, (best.plain, due, best.timetable), strict=True):
            lateness[name].append(minutes(table))
        proven += best.proven
        least += best.plain.late_piece_min == best.late_piece_min
        print(seed, day.mix_count, *(f"{lateness[name][-1]:.1f}" for name in names), best.proven, flush=True)
    print(f"{DAYS} days, {proven} proven; on {least} the plain plan is no later than the best")
    for name, found in lateness.items():
        fit = sum(each == 0 for each in found)
        print(
            f"{name}: {fit} days in time; a piece late by {mean(found):.1f} min on average, {median(found):.1f} median"
        )


if __name__ == "__main__":
    main()
