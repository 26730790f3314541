"""The laws of remedies: on random days, what is said to mend the day does, by the independent checker."""

import json

from hypothesis import given
from hypothesis import strategies as st

from formula.relief import remedies
from formula.workshop import Workshop
from tests.laws.strategies import Line, order_lines, workshops
from tests.laws.test_clockwork import planned
from tests.rarely import rarely
from tests.timetables import check_tables, facts_of


class TestARemedyDoesWhatIsSaid:
    """Every remedy's timetable can be followed, makes every piece ordered, and is less late or less short than the day was."""

    @rarely(0.05)
    @given(order_lines, workshops(), st.integers(5, 12), st.booleans())
    def test_it_does(self, written: list[Line], workshop: Workshop, most: int, share: bool) -> None:  # noqa: FBT001
        table = planned(written, workshop, "latest", share=share)
        found = remedies(table, most_replans=most)
        assert found.replans <= most
        assert bool(found.remedies) <= (not table.fits)
        for remedy in found.remedies:
            tables = json.loads(json.dumps(remedy.timetable.to_tables()))
            assert check_tables(tables, facts_of(remedy.timetable)) == []
            asked = [(order.name, order.order) for order in table.orders]
            assert [(order.name, order.order) for order in remedy.timetable.orders] == asked
            before, after = (
                (sum(order["short_pieces"] for order in each["orders"]), sum(order["late_piece_min"] for order in each["orders"]))
                for each in (table.to_tables(), tables)
            )  # fmt: skip
            assert after < before
            assert remedy.fits == (after == (0, 0))


class TestTheCheapestComesFirst:
    """What mends the day stands before what only helps, one change before two, and by the costs given."""

    @rarely(0.2)
    @given(
        order_lines,
        workshops(),
        st.dictionaries(
            st.sampled_from(("opening", "people", "oven", "mixer", "order")),
            st.sampled_from(("0 h", "20 min", "1 h", "90 min")),
        ),
    )
    def test_it_does(self, written: list[Line], workshop: Workshop, costs: dict[str, str]) -> None:
        found = remedies(planned(written, workshop, "latest"), costs=costs, most_replans=80)  # type: ignore[arg-type]
        fitting = [remedy.fits for remedy in found.remedies]
        assert fitting == sorted(fitting, reverse=True)
        prices = [remedy.work_h for remedy in found.remedies if remedy.fits and remedy.work_h is not None]
        assert len(prices) == sum(fitting)
        assert prices == sorted(prices)
        assert len({len(remedy.kinds) for remedy in found.remedies if remedy.fits}) <= 1
