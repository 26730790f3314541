"""The laws of the clock: on random days a timetable can be followed, and says truly what is late."""

import json
from itertools import pairwise, permutations
from typing import Any

from hypothesis import assume, given
from hypothesis import strategies as st

from formula.bakery import Bakery, Mixer
from formula.clockwork import Aim, InOrder, Timetable, stations_of, timetable
from formula.day import plan_day
from formula.dayjobs import plan_jobs
from formula.doughorder import allergens_of
from formula.errors import FormulaError
from formula.formula import Formula
from formula.placing import Tried, place
from formula.workshop import Workshop
from tests.laws.strategies import LEAN, Line, order_lines, workshops
from tests.rarely import rarely
from tests.timetables import check_tables, facts_of

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
        order_lines,
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
    @given(order_lines, workshops())
    def test_backwards(self, written: list[Line], workshop: Workshop) -> None:
        late, early = planned(written, workshop, "latest"), planned(written, workshop, "earliest")
        assert late.fits or late.tasks == early.tasks
        assert late.aim == ("latest" if late.tasks != early.tasks else late.aim)
        assert late.begin_min >= early.begin_min or not late.fits


class TestPlanningTwiceGivesTheSame:
    """The plan depends on nothing but what it is given."""

    @rarely(0.5)
    @given(order_lines, workshops(), st.lists(st.integers(-30, 600), min_size=2, max_size=12))
    def test_nor_on_what_was_tried_before(self, written: list[Line], workshop: Workshop, back: list[int]) -> None:
        """A mix that is placed again and again remembers its tries, and comes to where it would come without."""
        day = planned(written, workshop, "earliest").day
        *others, job = plan_jobs(day, workshop)
        ones, twos = stations_of(day, workshop), stations_of(day, workshop)
        for other in others:
            place(other, workshop.opening_min, ones)
            place(other, workshop.opening_min, twos)
        tried: Tried = {}
        met: set[int] = set()
        for minutes in back:
            start = workshop.opening_min + 600 - minutes
            plain, known = place(job, start, ones), place(job, start, twos, tried)
            if known is None:
                assert plain is None or plain.begin_min in met
            else:
                assert plain is not None
                assert known.tasks == plain.tasks
                met.add(known.begin_min)
            for placed in (plain, known):
                if placed:
                    placed.undo()
            assert ones.last_oven == twos.last_oven

    @rarely(0.3)
    @given(order_lines, workshops())
    def test_twice(self, written: list[Line], workshop: Workshop) -> None:
        assert planned(written, workshop, "latest") == planned(written, workshop, "latest")


class TestTheOrderOfAllergensIsKept:
    """In the order of allergens no mixer is cleaned more often than in the best of all orders of its doughs."""

    @given(order_lines, workshops(), st.sampled_from(("latest", "earliest")), st.booleans())
    def test_order(self, written: list[Line], workshop: Workshop, aim: Aim, share: bool) -> None:  # noqa: FBT001
        found = planned(written, workshop, aim, "allergens", share=share)
        assume(not found.unplaced)
        for mixer in found.day.bakery.mixers:
            cleanings = sum(task.what == "clean" and task.station == mixer.name for task in found.tasks)
            doughs = [set(allergens_of(d.breads[0].bread)) for d in found.day.doughs if d.mixer == mixer]
            orders = permutations(doughs)
            fewest = min(sum(bool(before - after) for before, after in pairwise(order)) for order in orders)
            assert cleanings == (fewest if workshop.cleaning_min else 0)
