"""A small day for the faces: names that try to be more than names, folds, toppings, a fired oven and a slicer."""

from formula.bakery import Bakery, Mixer
from formula.clockwork import Timetable, timetable
from formula.day import plan_day
from formula.formula import Formula
from formula.losses import Losses
from formula.orders import Order
from formula.process import Process, Wait
from formula.workshop import Oven, Shift, Workshop

LEAN = {"bread flour": 100.0, "water": 65.0, "salt": 2.0, "fresh yeast": 1.0}
WILD = "=1+1 <b>Round</b>, \\new; \x1b[31m"
FLAT = "@Flat"


def small_workshop(*, people: int = 3, day: str = "", zone: str = "", opens: str = "22:00 the day before") -> Workshop:
    return Workshop(
        opens=opens,
        ovens=[
            Oven("-deck [1]", turn_round="5 min"),
            Oven("clay/oven", turn_round="2 min", fired=["00:00", "04:00"], firing="30 min", lasts="3 h", slows="20 %"),
        ],
        shifts=[Shift("21:00 the day before", "08:00", people=people)],
        processes={
            WILD: Process(
                mix="12 min", autolyse="20 min", bulk=Wait("1 h", latest="3 h"), folds=["25 min"], divide=600, shape=200,
                proof=Wait("1 h", earliest="40 min", latest="2 h"), bake="30 min", loads={"-deck [1]": 60}, cool="30 min",
                slice=600, pack=600,
            ),
            FLAT: Process(
                mix="20 min", bulk=Wait("90 min", latest="3 h"), shape=200, proof=Wait("20 min", latest="90 min"),
                bake="5 min", loads={"clay/oven": 30}, pack=600,
            ),
        },
        turn_round="5 min",
        day=day,
        zone=zone,
    )  # fmt: skip


def small_day(workshop: Workshop | None = None, *, pieces: int = 100) -> Timetable:
    """A hundred rounds due at 04:30 and fifty at 06:00, sixty flats at any time."""
    shop = workshop or small_workshop()
    wild = Formula.from_percents(
        WILD, LEAN, losses=Losses(bake="10 %"), toppings={"sesame seeds": "3 g"}, dough_temperature="20 °C"
    )
    flat = Formula.from_percents(FLAT, LEAN)
    orders = [
        Order(wild, pieces=50, baked="540 g", due="06:00"),
        Order(wild, pieces=pieces, baked="540 g", due="04:30"),
        Order(flat, pieces=60, baked="200 g"),
    ]
    bakery = Bakery(
        "Harbour & Sons", mixers=[Mixer("+spiral", capacity="60 kg", friction="20 K"), Mixer("unused", capacity="1 kg", friction="1 K")],
        flour="22 °C", room="24 °C", tap="14 °C",
    )  # fmt: skip
    return timetable(plan_day(orders, bakery, shop), shop)
