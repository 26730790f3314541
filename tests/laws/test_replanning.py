"""The laws of replanning: what has begun stays, what goes as planned stays planned, and the rest can be followed."""

import json
from typing import Any

from hypothesis import assume, given
from hypothesis import strategies as st

from formula.clockwork import Aim, Timetable, timetable
from formula.day import plan_day
from formula.daylog import Log
from formula.errors import FormulaError
from formula.formula import Formula
from formula.logentry import Entry
from formula.replanning import Replan, replan
from formula.workshop import Workshop
from tests.laws.strategies import CLOCK_BREADS, LEAN, Line, aims, order_lines, workshops
from tests.laws.test_clockwork import BAKERY
from tests.rarely import rarely
from tests.replans import check_rest
from tests.timetables import check_tables, facts_of

BREADS = {name: Formula.from_percents(name, LEAN, dough_temperature="25 °C") for name in CLOCK_BREADS}


def planned(written: list[Line], workshop: Workshop, aim: Aim) -> Timetable:
    try:
        return timetable(plan_day([line.order(BREADS) for line in written], BAKERY, workshop), workshop, aim=aim)
    except FormulaError:
        assume(False)  # noqa: FBT003 - hypothesis takes no keyword here
        raise


def moments(table: Timetable) -> st.SearchStrategy[int]:
    assume(table.tasks)
    return st.integers(table.begin_min - 30, table.end_min + 10)


def told_as_planned(table: Timetable, now: int) -> Log:
    """Write down everything that has happened by now, as it was planned."""
    entries: list[tuple[int, Entry]] = []

    def tell(minute: int, what: str, task: Any, **more: Any) -> None:  # noqa: ANN401
        if minute <= now:
            text = table.clock(minute)
            entries.append((minute, Entry(text, what, bread=task.bread, mix=task.mix, **more)))

    soaked = {(task.bread, task.mix): task.begin_min for task in table.tasks if task.what == "autolyse"}
    for task in table.tasks:
        if task.what == "mix":
            tell(soaked.get((task.bread, task.mix), task.begin_min), "mix begun", task, station=task.station)
            tell(task.end_min, "mix ended", task, dough="25 °C")
        elif task.what in ("divide", "shape"):
            tell(task.begin_min, f"{task.what} begun", task)
            tell(task.end_min, f"{task.what} ended", task)
        elif task.what == "bake":
            tell(task.begin_min, "load in", task, load=task.load, station=task.station, pieces=task.pieces)
            tell(task.end_min, "load out", task, load=task.load)
        elif task.what == "pack":
            tell(task.end_min, "packed", task, load=task.load)
    return Log(tuple(entry for _, entry in sorted(entries, key=lambda each: each[0])))


class TestAnEmptyLogChangesNothing:
    """Whatever the time is, a day of which nothing is told goes on as planned."""

    @rarely(0.15)
    @given(order_lines, workshops(), aims, st.data())
    def test_nothing(self, written: list[Line], workshop: Workshop, aim: Aim, data: st.DataObject) -> None:
        table = planned(written, workshop, aim)
        found = replan(table, Log(), table.clock(data.draw(moments(table))))
        assert found.timetable == table
        assert (found.moved, found.late, found.cautions) == ((), (), table.cautions)


class TestALogThatAllWentAsPlannedChangesNothing:
    """Telling what was planned is the same as telling nothing."""

    @rarely(0.3)
    @given(order_lines, workshops(), aims, st.data())
    def test_as_planned(self, written: list[Line], workshop: Workshop, aim: Aim, data: st.DataObject) -> None:
        table = planned(written, workshop, aim)
        now = data.draw(moments(table))
        assert replan(table, told_as_planned(table, now), table.clock(now)).timetable == table


class TestNothingBegunChanges:
    """After any disturbance what has begun is as it was told, and the rest can be followed."""

    @rarely(0.2)
    @given(order_lines, workshops(), aims, st.data())
    def test_disturbed(self, written: list[Line], workshop: Workshop, aim: Aim, data: st.DataObject) -> None:
        table = planned(written, workshop, aim)
        now = data.draw(moments(table))
        entries: list[Entry] = []
        told: dict[tuple[str, int], int | None] = {}
        for task in table.tasks:
            if task.what not in ("autolyse", "mix") or task.begin_min > now or (task.bread, task.mix) in told:
                continue
            late = data.draw(st.sampled_from((None, 0, 0, 7, 40)))
            if late is None:
                entries.append(Entry(table.clock(now), "mix put off", bread=task.bread, mix=task.mix))
                told[task.bread, task.mix] = None
            elif task.begin_min + late <= now:
                begin = task.begin_min + late
                entries.append(Entry(table.clock(begin), "mix begun", bread=task.bread, mix=task.mix))
                celsius = data.draw(st.sampled_from(("25 °C", "27 °C", "22 °C")))
                process = workshop.process_of(task.bread, task.bread)
                mixed = begin + process.autolyse_min + process.mix_min if process else now
                if mixed <= now:
                    at = table.clock(mixed)
                    entries.append(Entry(at, "mix ended", bread=task.bread, mix=task.mix, dough=celsius))
                told[task.bread, task.mix] = begin
            else:
                entries.append(Entry(table.clock(now), "mix put off", bread=task.bread, mix=task.mix))
                told[task.bread, task.mix] = None
        downs: list[tuple[str, int, int]] = []
        if data.draw(st.booleans()):
            end = now + data.draw(st.integers(1, 60))
            entries.append(Entry(table.clock(now), "station down", station="deck", until=table.clock(end)))
            downs.append(("deck", now, end))
        found = replan(table, Log(tuple(entries)), table.clock(now))
        self.check(found, now, told, downs)

    def check(
        self, found: Replan, now: int, told: dict[tuple[str, int], int | None], downs: list[tuple[str, int, int]]
    ) -> None:
        tables: dict[str, Any] = json.loads(json.dumps(found.timetable.to_tables()))
        begun = {key for key, begin in told.items() if begin is not None}
        assert check_rest(tables, facts_of(found.timetable), now, begun, downs) == []
        firsts: dict[tuple[str, int], int] = {}
        for task in found.timetable.tasks:
            key = task.bread, task.mix
            firsts[key] = min(task.begin_min, firsts.get(key, task.begin_min))
        assert {key: begin for key, begin in firsts.items() if key in begun} == {key: told[key] for key in begun}
        assert all(begin >= now for key, begin in firsts.items() if key not in begun)
        # Mixes that have not begun hold every wait, and each piece goes all its way.
        whole = found.timetable.to_tables()
        rest = {**whole, "tasks": [task for task in whole["tasks"] if (task["bread"], task["mix"]) not in begun]}
        wrong = check_tables(rest, facts_of(found.timetable))
        mixes = [f"{task['bread']} mix {task['mix']}:" for task in rest["tasks"]]
        assert [text for text in wrong if text.startswith(tuple(mixes))] == []
