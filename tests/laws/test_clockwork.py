"""The laws of the clock: on random days a timetable can be followed, and says truly what is late."""

import json
from collections.abc import Mapping
from itertools import pairwise, permutations
from typing import Any

from attrs import frozen
from hypothesis import assume, given
from hypothesis import strategies as st

from formula.bakery import Bakery, Mixer
from formula.clockwork import Aim, InOrder, Timetable, timetable
from formula.day import plan_day
from formula.doughorder import allergens_of
from formula.errors import FormulaError
from formula.formula import Formula
from formula.orders import Order
from formula.process import Process, Wait
from formula.workshop import Oven, Shift, Workshop
from tests.rarely import rarely
from tests.timetables import check_tables, facts_of

LEAN = {"bread flour": 100.0, "water": 68.0, "salt": 2.0, "fresh yeast": 1.0}
NAMES = ("round", "stick", "tin", "seeded")


def minutes(low: int, high: int) -> st.SearchStrategy[str]:
    return st.integers(low, high).map(lambda number: f"{number} min")


@st.composite
def waits(draw: st.DrawFn, low: int, high: int) -> Wait:
    earliest, best, latest = sorted(draw(st.tuples(*[st.integers(low, high)] * 3)))
    return Wait(f"{best} min", earliest=f"{earliest} min", latest=f"{latest + 15} min")


@st.composite
def processes(draw: st.DrawFn, ovens: tuple[str, ...]) -> Process:
    used = draw(st.lists(st.sampled_from(ovens), min_size=1, unique=True))
    return Process(
        mix=draw(minutes(5, 40)),
        autolyse=draw(minutes(0, 30)),
        bulk=draw(waits(0, 120)),
        divide=draw(st.one_of(st.just(0), st.integers(200, 2000))),
        divide_people=draw(st.integers(1, 2)),
        rest=draw(waits(0, 40)),
        shape=draw(st.one_of(st.just(0), st.integers(60, 600))),
        shape_people=draw(st.integers(1, 3)),
        proof=draw(waits(10, 90)),
        bake=draw(minutes(5, 50)),
        loads={name: draw(st.integers(10, 120)) for name in used},
        cool=draw(minutes(0, 60)),
        slice=draw(st.sampled_from((0, 600))),
        pack=draw(st.sampled_from((0, 900))),
        gear=draw(st.sampled_from(({}, {"tins": "bake"}, {"tins": "proof"}))),
    )


@st.composite
def several_processes(draw: st.DrawFn, ovens: tuple[str, ...]) -> dict[str, Process]:
    """A process for each bread; round and stick are sometimes one dough, so they are mixed and risen alike."""
    drawn = {name: draw(processes(ovens)) for name in NAMES}
    like = {key: getattr(drawn["round"], key) for key in ("mix_min", "autolyse_min", "bulk")}
    for key, value in like.items():
        object.__setattr__(drawn["stick"], key, value)
    return drawn


@st.composite
def workshops(draw: st.DrawFn) -> Workshop:
    ovens = [Oven("deck", turn_round=draw(minutes(0, 10)))]
    if draw(st.booleans()):
        fired = [f"{hour:02d}:00" for hour in sorted(draw(st.sets(st.integers(0, 12), min_size=1, max_size=3)))]
        clay = Oven(
            "clay", turn_round="1 min", fired=fired, firing="45 min", lasts=draw(minutes(60, 300)), slows=draw(st.sampled_from(("0 %", "20 %")))
        )  # fmt: skip
        ovens.append(clay)
    names = tuple(oven.name for oven in ovens)
    shifts = draw(
        st.sampled_from(
            (
                (),
                (
                    Shift("18:00 the day before", "06:00", people=4, breaks=[("00:00", "00:30")]),
                    Shift("04:00", "16:00", people=5),
                ),
                (Shift("18:00 the day before", "20:00 the day after", people=3),),
            )
        )
    )
    day, zone = draw(st.sampled_from((("", ""), ("2026-03-29", "Europe/Berlin"), ("2026-10-25", "Europe/Berlin"))))
    return Workshop(
        opens=draw(st.sampled_from(("18:00 the day before", "22:30 the day before", "00:00"))),
        ovens=ovens,
        shifts=shifts,
        processes=draw(several_processes(names)),
        proof_places=draw(st.one_of(st.none(), st.integers(120, 400))),
        cool_places=draw(st.one_of(st.none(), st.integers(150, 500))),
        tubs=draw(st.one_of(st.none(), st.integers(1, 3))),
        turn_round=draw(minutes(0, 10)),
        cleaning=draw(st.sampled_from(("0 min", "15 min", "40 min"))),
        slicers=draw(st.sampled_from((1, 2, None))),
        packers=draw(st.sampled_from((1, 2, None))),
        gear={"tins": draw(st.integers(120, 400))},
        gear_return=draw(minutes(0, 30)),
        day=day,
        zone=zone,
    )


@frozen
class Line:
    """One line of the orders."""

    name: str
    pieces: int
    due: str
    baked: str

    def order(self, breads: Mapping[str, Formula]) -> Order:
        return Order(breads[self.name], pieces=self.pieces, baked=self.baked, due=self.due)


lines = st.lists(
    st.builds(
        Line,
        st.sampled_from(NAMES),
        st.integers(1, 300),
        st.sampled_from(("", "05:30", "07:00", "12:00", "23:00")),
        st.sampled_from(("500 g", "800 g")),
    ),
    min_size=1,
    max_size=5,
)
BAKERY = Bakery(
    "harbour",
    mixers=[Mixer("spiral", capacity="80 kg", friction="20 K"), Mixer("arm", capacity="40 kg", friction="12 K")],
    flour="20 °C", room="22 °C", tap="14 °C",
)  # fmt: skip


MORE = {"round": {}, "stick": {}, "tin": {"whole milk": 10.0}, "seeded": {"sesame seeds": 8.0}}
"""Round and stick are one dough; tin and seeded have allergens that the others have not."""


def planned(
    written: list[Line], workshop: Workshop, aim: Aim, order: InOrder = "given", *, share: bool = False
) -> Timetable:
    breads = {name: Formula.from_percents(name, LEAN | more) for name, more in MORE.items()}
    try:
        day = plan_day([line.order(breads) for line in written], BAKERY, workshop, share=share)
        return timetable(day, workshop, aim=aim, order=order)
    except FormulaError:
        # A proof too short for one load, or a mix that even an empty workshop has no room for.
        assume(False)  # noqa: FBT003 - hypothesis takes no keyword here
        raise


class TestATimetableCanBeFollowed:
    """No station is used twice at once, no capacity exceeded, every wait held, every piece made or said to be short."""

    @rarely(0.5)
    @given(
        lines,
        workshops(),
        st.sampled_from(("latest", "earliest")),
        st.sampled_from(("given", "allergens")),
        st.booleans(),
    )
    def test_it_can(
        self,
        written: list[Line],
        workshop: Workshop,
        aim: Aim,
        order: InOrder,
        share: bool,  # noqa: FBT001 - drawn by hypothesis
    ) -> None:
        found = planned(written, workshop, aim, order, share=share)
        tables: dict[str, Any] = json.loads(json.dumps(found.to_tables()))
        assert check_tables(tables, facts_of(found)) == []


class TestLaterIsNotLate:
    """What is planned backwards is in time, or is what planning forwards gives."""

    @rarely(0.3)
    @given(lines, workshops())
    def test_backwards(self, written: list[Line], workshop: Workshop) -> None:
        late, early = planned(written, workshop, "latest"), planned(written, workshop, "earliest")
        assert late.fits or late.tasks == early.tasks
        assert late.aim == ("latest" if late.tasks != early.tasks else late.aim)
        assert late.begin_min >= early.begin_min or not late.fits


class TestPlanningTwiceGivesTheSame:
    """The plan depends on nothing but what it is given."""

    @rarely(0.3)
    @given(lines, workshops())
    def test_twice(self, written: list[Line], workshop: Workshop) -> None:
        assert planned(written, workshop, "latest") == planned(written, workshop, "latest")


class TestTheOrderOfAllergensIsKept:
    """In the order of allergens no mixer is cleaned more often than in the best of all orders of its doughs."""

    @given(lines, workshops(), st.sampled_from(("latest", "earliest")), st.booleans())
    def test_order(self, written: list[Line], workshop: Workshop, aim: Aim, share: bool) -> None:  # noqa: FBT001
        found = planned(written, workshop, aim, "allergens", share=share)
        assume(not found.unplaced)
        for mixer in found.day.bakery.mixers:
            cleanings = sum(task.what == "clean" and task.station == mixer.name for task in found.tasks)
            doughs = [set(allergens_of(d.breads[0].bread)) for d in found.day.doughs if d.mixer == mixer]
            orders = permutations(doughs)
            fewest = min(sum(bool(before - after) for before, after in pairwise(order)) for order in orders)
            assert cleanings == (fewest if workshop.cleaning_min else 0)
