"""The best order of the mixes: days worked out by hand, what is proven, and what it says when it cannot help."""

import pickle
import sys
from collections.abc import Callable
from typing import Any

import pytest

from formula.clockwork import timetable
from formula.day import plan_day
from formula.errors import FormulaError, MissingExtraError
from formula.formula import Formula
from formula.optimum import Optimum, optimise
from formula.orders import Order
from formula.process import Wait
from formula.solver import DaySolver
from formula.working import Caution
from formula.workshop import Oven, Shift, Workshop
from tests.test_relief import STICK, bakery, order, rounds, shop
from tests.timetables import check_tables, facts_of

pytest.importorskip("ortools", reason="the best order needs the extra 'plan'")


def best_of(workshop: Workshop, *orders: Order, **more: Any) -> Optimum:  # noqa: ANN401
    """Optimise a day, and hold the plan against the independent checker."""
    found = optimise(plan_day(orders, bakery(), workshop), workshop, **more)
    assert check_tables(found.timetable.to_tables(), facts_of(found.timetable)) == []
    return found


def begins(found: Optimum, what: str) -> list[tuple[str, int]]:
    return sorted((task.bread, task.begin_min) for task in found.timetable.tasks if task.what == what)


def test_what_is_due_first_is_made_first() -> None:
    """One oven, 30 min a load, the first at 02:20: sticks at 02:50, rounds at 03:20 and 03:50, 40 of them 20 min late."""
    found = best_of(
        shop({"Quay Round": rounds(), "Mooring Stick": rounds()}), order(80, "03:30"), order(40, "02:50", STICK)
    )
    assert found.plain.late_piece_min == 40 * 60
    assert (found.late_piece_min, found.bound_piece_min, found.proven) == (800, 800, True)
    assert begins(found, "bake") == [("Mooring Stick", 140), ("Quay Round", 170), ("Quay Round", 200)]
    # From the first mix at 00:00 to 03:50.
    assert (found.span_min, found.bound_span_min, found.span_proven, found.is_better) == (230, 230, True, True)
    assert found.cautions == ()


def test_fewer_minutes_of_pieces_rather_than_fewer_late_orders() -> None:
    """Of 40 rounds and 10 sticks for the same minute the rounds go first: 10 sticks by 30 min, not 40 rounds."""
    both = {"Quay Round": rounds(), "Mooring Stick": rounds()}
    found = best_of(shop(both), order(10, "02:50", STICK), order(40, "02:50"))
    assert found.plain.late_piece_min == 40 * 30
    assert (found.late_piece_min, found.proven) == (10 * 30, True)


def test_orders_of_one_bread_at_several_times() -> None:
    """The first 40 are for 02:50, the next for 03:20, the last for no time of day: nothing is late."""
    found = best_of(shop(), order(40, "03:20"), order(40, ""), order(40, "02:50"))
    assert (found.late_piece_min, found.proven) == (0, True)
    assert [each.ready_min for each in found.timetable.orders] == [170, 200, 230]
    late = best_of(shop(), order(40, "03:00"), order(40, ""), order(60, "02:50"))
    # 140 pieces in four mixes of 35: packed at 170, 200, 230, 260; of the 60, 25 are late by 30; of the 40, 10 by 20, 30 by 50.
    assert (late.late_piece_min, late.proven) == (25 * 30 + 10 * 20 + 30 * 50, True)


def test_ovens_of_unequal_size() -> None:
    """60 pieces at once: 40 in the deck, 20 in the small oven; the deck alone would take two loads."""
    workshop = shop(
        {
            "Quay Round": rounds(
                loads={"small": 20, "deck": 40}, slice=240, pack=240, cool="10 min", gear={"tins": "proof"}
            )
        },
        ovens=[Oven("deck"), Oven("small", turn_round="1 min")],
        gear={"tins": 100},
        cool_places=60,
    )
    found = best_of(workshop, order(60, "03:20"))
    # Drawn at 02:50 and cooled at 03:00, sliced and packed at four a minute: the 40 by 03:10 and 03:20, the 20 by 03:15
    # and, when the packer is free, 03:25: 20 pieces are late by 5 min.  The other way round it would be the 40.
    assert (found.late_piece_min, found.proven) == (100, True)
    assert {task.station: task.pieces for task in found.timetable.tasks if task.what == "bake"} == {
        "deck": 40,
        "small": 20,
    }


def test_a_fired_oven_bakes_longer_the_colder_it_is() -> None:
    """Hot from 02:00 and 20 % slower every hour: 30 min at 02:00 are 32 at 02:20, 36 at 02:54 (35.4) and 40 at 03:32 (39.2)."""
    clay = Oven("deck", fired=["01:00"], firing="1 h", lasts="3 h", slows="20 %", turn_round="2 min")
    wide = rounds(proof=Wait("1 h", latest="3 h"))
    found = best_of(shop({"Quay Round": wide}, ovens=[clay]), order(120, "03:30"))
    bakes = sorted((task.begin_min, task.end_min) for task in found.timetable.tasks if task.what == "bake")
    assert bakes == [(140, 172), (174, 210), (212, 252)]
    assert (found.late_piece_min, found.proven) == (40 * 42, True)


def test_people_and_breaks() -> None:
    """Dividing takes one person ten minutes, and from 01:00 to 01:45 nobody is there."""
    workshop = shop(
        {"Quay Round": rounds(divide=240, autolyse="10 min")},
        shifts=[Shift("00:00", "08:00", people=1, breaks=[("01:00", "01:45")])],
        proof_places=80,
        tubs=2,
    )
    found = best_of(workshop, order(80, "05:00"))
    assert all(not 50 < task.begin_min < 105 for task in found.timetable.tasks if task.what == "divide")
    assert (found.late_piece_min, found.proven) == (0, True)


def test_breads_of_one_dough() -> None:
    """One mix, divided one bread after the other from 01:20 in 10 min each; an hour of proof, two at most; one oven.

    The rounds first would be baked 02:30 to 03:00, the sticks 03:00 to 03:30, 20 min late.  The sticks are proofed by 02:40:
    baked from then on they are in time at 03:10, and the rounds after them at 03:40, after 1 h 50 min of proof.
    """
    # The sticks' dough waits in the tub for the divider, longer than the rounds' might.
    way = rounds(bulk=Wait("1 h", latest="1 h 5 min"), divide=240, proof=Wait("1 h", latest="2 h"))
    workshop = shop({"Quay Round": way, "Mooring Stick": way})
    day = plan_day([order(40, "03:40"), order(40, "03:10", STICK)], bakery(), workshop, share=True)
    assert [[bread.name for bread in dough.breads] for dough in day.doughs] == [["Quay Round", "Mooring Stick"]]
    found = optimise(day, workshop)
    assert check_tables(found.timetable.to_tables(), facts_of(found.timetable)) == []
    assert found.plain.late_piece_min == 40 * 20
    assert (found.late_piece_min, found.proven) == (0, True)
    assert begins(found, "divide") == [("Mooring Stick", 90), ("Quay Round", 80)]
    assert begins(found, "bake") == [("Mooring Stick", 160), ("Quay Round", 190)]


def test_a_mixer_is_cleaned_between_allergens() -> None:
    """Egg in one, milk in the other: whichever is first, the other begins at 00:40, and is packed 20 min late at 03:30."""
    lean = {"bread flour": 100, "water": 60, "salt": 2}
    egg, milk = (Formula.from_percents(name, {**lean, name: 8}) for name in ("egg", "whole milk"))
    way = rounds(loads={"deck": 40, "other": 40})
    workshop = shop({"egg": way, "whole milk": way}, ovens=[Oven("deck"), Oven("other")], cleaning="20 min")
    found = best_of(workshop, order(40, "03:10", egg), order(30, "03:10", milk))
    assert (found.late_piece_min, found.proven) == (30 * 20, True)
    assert begins(found, "mix") == [("egg", 0), ("whole milk", 40)]
    assert [(task.begin_min, task.end_min) for task in found.timetable.tasks if task.what == "clean"] == [(20, 40)]
    # The search begins from the plain plan: held to it, the problem has a solution.
    cp: Any = pytest.importorskip("ortools.sat.python.cp_model")
    search, solver = DaySolver(cp, found.plain), cp.CpSolver()
    assert [task.what for task in found.plain.tasks].count("clean") == 1
    solver.parameters.fix_variables_to_their_hinted_value = True
    assert solver.solve(search.model) == cp.OPTIMAL


def test_where_the_plain_plan_is_the_best() -> None:
    found = best_of(shop(), order(40, "02:50"))
    assert found.timetable == found.plain
    assert (found.proven, found.span_proven, found.is_better) == (True, True, False)
    assert [caution.code for caution in found.cautions] == ["plain-plan"]
    assert "none is less late" in found.cautions[0].text


def test_where_no_plan_makes_all_the_pieces() -> None:
    """Hot for 40 min only: one load."""
    workshop = shop(ovens=[Oven("deck", fired=["03:00"], firing="1 h", lasts="40 min")])
    found = best_of(workshop, order(80, "05:00"))
    assert (found.timetable.short_pieces, found.proven, found.span_proven) == (40, False, False)
    assert found.cautions[0].text.startswith("no plan makes all the pieces")


def test_a_search_of_no_time_gives_the_plain_plan() -> None:
    breads = {"Quay Round": rounds(), "Mooring Stick": rounds()}
    found = best_of(shop(breads), *[order(400, "03:30"), order(400, "02:50", STICK)], time_limit="0.001 s")
    assert found.late_piece_min <= found.plain.late_piece_min
    assert found.bound_piece_min <= found.late_piece_min


@pytest.mark.parametrize("workers", [1, 8])
def test_progress_is_told(workers: int) -> None:
    lines: list[str] = []
    best_of(shop({"Quay Round": rounds(), "Mooring Stick": rounds()}), order(80, "03:30"), order(40, "02:50", STICK), progress=lines.append, workers=workers)  # fmt: skip
    assert any(line.startswith("late by 800 minutes of pieces; no plan is late by less than ") for line in lines)
    assert any(line.startswith("done in 230 min; ") for line in lines)


def test_it_is_a_value_and_a_table() -> None:
    found = best_of(
        shop({"Quay Round": rounds(), "Mooring Stick": rounds()}), order(80, "03:30"), order(40, "02:50", STICK)
    )
    assert pickle.loads(pickle.dumps(found)) == found  # noqa: S301 - our own
    assert hash(found) == hash(pickle.loads(pickle.dumps(found)))  # noqa: S301
    tables = found.to_tables()
    assert (tables["late_piece_min"], tables["proven"], tables["plain_late_piece_min"]) == (800, True, 2400)
    assert tables["timetable"] == found.timetable.to_tables()


def test_what_cannot_be_asked_is_told_at_once() -> None:
    day = plan_day([order(40, "02:50")], bakery(), shop())
    with pytest.raises(FormulaError) as told:
        optimise(day, shop(), time_limit="0 s", workers=0)
    assert [fault.where for fault in told.value.faults] == ["time_limit", "workers"]
    with pytest.raises(FormulaError, match="time_limit"):
        optimise(day, shop(), time_limit="ten seconds")


def test_an_unknown_order_is_refused() -> None:
    day = plan_day([order(40, "02:50")], bakery(), shop())
    wrong: Any = "quickest"
    with pytest.raises(FormulaError, match='"given", "due"'):
        timetable(day, shop(), order=wrong)


def test_where_the_solver_does_not_load(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "ortools.sat.python", None)
    with pytest.raises(MissingExtraError, match="ortools is not installed"):
        best_of(shop(), order(40, "02:50"))


def test_without_the_solver_it_says_what_to_install(fresh_python: Callable[[str], str]) -> None:
    code = """
import sys
sys.modules["ortools"] = None
from formula import Bakery, Formula, Mixer, MissingExtraError, Order, Oven, Process, Wait, Workshop, optimise, plan_day
bakery = Bakery("b", mixers=[Mixer("m", capacity="9 kg", friction="9 K")], flour="20 °C", room="20 °C", tap="9 °C")
bread = Formula.from_percents("bread", {"bread flour": 100, "water": 68})
process = Process(mix="9 min", bulk="1 h", proof="1 h", bake="30 min", loads={"deck": 9})
try:
    optimise(plan_day([Order(bread, pieces=1, baked="1 kg")], bakery), Workshop(opens="00:00", ovens=[Oven("deck")], processes={"bread": process}))
except MissingExtraError as error:
    print(error)
"""
    assert fresh_python(code) == "ortools is not installed; this needs: pip install 'dough-formula[plan]'\n"


def test_what_is_said_of_the_plain_plan() -> None:
    plain = best_of(shop(), order(40, "03:20")).plain
    found = Optimum(plain, plain, 0, 0, (Caution("plain-plan", "no better order was found in 2 s"),))
    assert found.said[-1] == "No better order was found in 2 s."
