"""A small night worked out by hand: two mixes of fifty rounds, one oven, forwards from midnight.

Mix 1: mixed 0-20, bulk to 80, shaped 80-85, in the oven 145-175, packed 205-210.
Mix 2: mixed 20-40, bulk to 100, shaped 100-105, in the oven when it is free again, 181-211, packed 241-246.
"""

from typing import Any

from formula.bakery import Bakery, Mixer
from formula.clockwork import Timetable, timetable
from formula.day import plan_day
from formula.formula import Formula
from formula.orders import Order
from formula.process import Process, Wait
from formula.stage import Stage
from formula.workshop import Oven, Shift, Workshop

ROUND = "Quay Round"
BREAD = Formula.from_percents(
    ROUND,
    {"bread flour": 100, "water": 65, "salt": 2, "fresh yeast": 1},
    dough_temperature="25 °C",
    toppings={"sesame seeds": "5 g"},
    stages=[Stage("biga", {"bread flour": 100, "water": 50, "fresh yeast": 0.3}, flour="20 %")],
)
BAKERY = Bakery(
    "harbour", mixers=[Mixer("spiral", capacity="40 kg", friction="20 K")], flour="20 °C", room="22 °C", tap="14 °C"
)


def night(*, pieces: int = 100, people: int = 3, latest: str = "90 min", divide: int = 0, aim: str = "earliest", ovens: int = 1, due: str = "05:00", holds: int = 50, pack: int = 600, **more: Any) -> Timetable:  # fmt: skip # noqa: ANN401
    names = [f"deck {number}" for number in range(1, ovens + 1)]
    process = Process(
        mix="20 min", bulk=Wait("60 min", earliest="50 min", latest=latest), divide=divide, shape=200, shape_people=3,
        proof=Wait("60 min", earliest="50 min", latest="90 min"), bake="30 min", loads=dict.fromkeys(names, holds), cool="30 min",
        pack=pack,
    )  # fmt: skip
    facts: dict[str, Any] = {"opens": "00:00", "shifts": [Shift("00:00", "12:00", people=people)], **more}
    shop = Workshop(ovens=[Oven(name, turn_round="6 min") for name in names], processes={ROUND: process}, **facts)
    day = plan_day([Order(BREAD, pieces=pieces, baked="600 g", due=due)], BAKERY, shop)
    return timetable(day, shop, aim="latest" if aim == "latest" else "earliest")


def times(table: Timetable, mix: int) -> dict[str, tuple[int, int]]:
    """When each part of a mix is done; of loads the last."""
    return {task.what: (task.begin_min, task.end_min) for task in table.tasks if task.mix == mix}
