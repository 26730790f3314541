"""The laws of the best order: never worse than the plain plan, can be followed, and as good as trying all orders."""

import json
from itertools import permutations
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from formula.changes import Change, Setting
from formula.clockwork import timetable
from formula.day import plan_day
from formula.formula import Formula
from formula.optimum import optimise
from formula.orders import Order
from formula.process import Process
from formula.solver import DaySolver
from formula.workshop import Oven, Workshop
from tests.laws.strategies import LEAN, Line, OvenBread, order_lines, oven_breads, workshops
from tests.laws.test_clockwork import BAKERY, planned
from tests.rarely import rarely
from tests.timetables import check_tables, facts_of

pytest.importorskip("ortools", reason="the best order needs the extra 'plan'")


class TestNeverWorseThanThePlainPlan:
    """The best plan found can be followed, is never later, shorter of pieces or longer than the plain one, and above its bound."""

    @rarely(0.1)
    @given(order_lines, workshops(), st.booleans(), st.booleans())
    def test_it_is_not(self, written: list[Line], workshop: Workshop, share: bool, twice: bool) -> None:  # noqa: FBT001
        plain = planned(written, workshop, "latest", share=share)
        if twice:
            more = Setting(plain.day, workshop).with_change(Change("mixer", "one more arm", name="arm"))
            assert more is not None
            plain = timetable(more.day, workshop)
            assert check_tables(plain.to_tables(), facts_of(plain)) == []
        assume(plain.day.mix_count <= 10)
        best = optimise(plain.day, workshop, time_limit="1 s")
        tables = json.loads(json.dumps(best.timetable.to_tables()))
        assert check_tables(tables, facts_of(best.timetable)) == []
        found, before = (
            (table.short_pieces, table.late_piece_min, table.end_min - table.begin_min)
            for table in (best.timetable, plain)
        )
        assert found <= before
        assert best.is_better == (found < before)
        assert best.plain == plain
        if not best.timetable.unplaced:
            assert best.bound_piece_min <= best.late_piece_min
            assert best.bound_span_min <= best.span_min
        for task in best.timetable.tasks:
            if task.what == "bake":
                oven = next(oven for oven in workshop.ovens if oven.name == task.station)
                plan = next(plan for plan in plain.day.breads if plan.name == task.bread)
                process = workshop.process_of(plan.weighed_name, plan.bread.name)
                assert process is not None
                bake_min = oven.bake_min(process.bake_min, workshop.wall.wall(task.begin_min))
                assert task.end_min - task.begin_min == bake_min


class TestThePlainPlanIsOneOfThoseSearched:
    """With everything held where the plain plan has it, the problem has a solution, and none that is later: so its bounds hold."""

    @rarely(0.2)
    @given(order_lines, workshops(), st.booleans())
    def test_it_is(self, written: list[Line], workshop: Workshop, share: bool) -> None:  # noqa: FBT001
        plain = planned(written, workshop, "latest", share=share)
        assume(not plain.unplaced)
        cp: Any = pytest.importorskip("ortools.sat.python.cp_model")
        search = DaySolver(cp, plain)
        search.model.minimize(search.late)
        solver = cp.CpSolver()
        solver.parameters.fix_variables_to_their_hinted_value = True
        assert solver.solve(search.model) == cp.OPTIMAL
        assert solver.objective_value <= plain.late_piece_min


SPAN, TURN = 60, 5


def by_all_orders(day: list[OvenBread]) -> int:
    """Return the least lateness over all orders of the mixes: nothing can wait between mixer and oven, so each order has one best plan."""
    least = 10**9
    for order in permutations(day):
        mixer = oven = late = 0
        for bread in order:
            # From the mixer's beginning to the oven: mixing, then bulk and proof of an hour together.
            begin = max(mixer, oven - bread.mix_min - SPAN)
            into = begin + bread.mix_min + SPAN
            mixer, oven = begin + bread.mix_min, into + bread.bake_min + TURN
            late += bread.pieces * max(0, into + bread.bake_min - bread.due_min)
        least = min(least, late)
    return least


class TestAsGoodAsAllOrders:
    """Where nothing can wait, the proven least lateness is that of the best of all orders, tried one by one."""

    @rarely(0.1)
    @given(oven_breads)
    def test_it_is(self, day: list[OvenBread]) -> None:
        names = [f"bread {number}" for number in range(len(day))]
        processes = {
            name: Process(
                mix=f"{bread.mix_min} min",
                bulk="30 min",
                proof="30 min",
                bake=f"{bread.bake_min} min",
                loads={"deck": 30},
            )
            for name, bread in zip(names, day, strict=True)
        }
        workshop = Workshop(opens="00:00", ovens=[Oven("deck", turn_round=f"{TURN} min")], processes=processes)
        orders = [
            Order(
                Formula.from_percents(name, LEAN), pieces=bread.pieces, baked="500 g",
                due=f"{bread.due_min // 60:02d}:{bread.due_min % 60:02d}",
            )
            for name, bread in zip(names, day, strict=True)
        ]  # fmt: skip
        best = optimise(plan_day(orders, BAKERY), workshop, time_limit="20 s")
        assert best.proven
        assert best.late_piece_min == by_all_orders(day)
        assert best.late_piece_min <= timetable(best.plain.day, workshop, order="due").late_piece_min
