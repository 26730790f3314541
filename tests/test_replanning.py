"""Replanning, held against nights worked out by hand."""

import copy
import json
import math
import pickle

import pytest

from formula.clockwork import timetable
from formula.day import plan_day
from formula.daylog import Log
from formula.errors import ContradictionError, FormulaError, QuantityError, UnknownNameError
from formula.formula import Formula
from formula.happened import what_happened
from formula.logentry import Entry
from formula.orders import Order
from formula.replanning import Replan, replan
from formula.underway import _BEFORE
from formula.workshop import Shift, Workshop
from tests.arithmetic import check_working
from tests.nights import BAKERY, BREAD, ROUND, night, times


def line(at: str, what: str, mix: int | None = None, load: int | None = None, **more: object) -> Entry:
    about = {"bread": ROUND} if mix or what == "order changed" else {}
    return Entry(at, what, **about, mix=mix, load=load, **more)  # type: ignore[arg-type]


def codes(found: Replan) -> list[str]:
    return [caution.code for caution in found.cautions]


def test_the_night_is_as_worked_out() -> None:
    assert times(night(), 1) == {
        "mix": (0, 20), "bulk": (20, 80), "shape": (80, 85), "proof": (80, 145), "bake": (145, 175), "cool": (175, 205),
        "pack": (205, 210),
    }  # fmt: skip
    assert times(night(), 2)["bake"] == (181, 211)


class TestAMixBegunLate:
    FOUND = replan(night(), Log((line("00:10", "mix begun", 1),)), "00:15")

    def test_its_own_parts_come_later(self) -> None:
        assert times(self.FOUND.timetable, 1) == {
            "mix": (10, 30), "bulk": (30, 90), "shape": (90, 95), "proof": (90, 155), "bake": (155, 185), "cool": (185, 215),
            "pack": (215, 220),
        }  # fmt: skip

    def test_the_next_waits_for_the_mixer_and_the_oven(self) -> None:
        second = times(self.FOUND.timetable, 2)
        assert (second["mix"], second["shape"], second["bake"]) == ((30, 50), (110, 115), (191, 221))

    def test_it_says_what_moved(self) -> None:
        moved = {(each.what, each.mix): (each.old_begin_min, each.new_begin_min) for each in self.FOUND.moved}
        assert moved["mix", 1] == (0, 10)
        assert moved["bake", 2] == (181, 191)
        assert [each.new_begin_min for each in self.FOUND.moved] == sorted(moved[key][1] or 0 for key in moved)
        assert self.FOUND.late == ()
        assert codes(self.FOUND) == []

    def test_the_rest_is_what_is_to_come(self) -> None:
        assert self.FOUND.rest[0].what == "mix"
        assert self.FOUND.rest[0].mix == 2
        assert all(task.begin_min > 15 for task in self.FOUND.rest)

    def test_it_travels(self) -> None:
        again = pickle.loads(pickle.dumps(self.FOUND))  # noqa: S301 - our own bytes
        assert again == copy.deepcopy(self.FOUND) == self.FOUND
        assert hash(again) == hash(self.FOUND)
        tables = json.loads(json.dumps(self.FOUND.to_tables()))
        assert (tables["now"], tables["moved"][0]["old_begin"]) == ("00:15", "00:00")


class TestWhatIsNotLogged:
    def test_the_rest_of_a_late_mix_is_taken_to_be_as_late(self) -> None:
        found = replan(night(), Log((line("00:10", "mix begun", 1),)), "02:40")
        # 145 + 10 = 155 is before 160: the load is in.
        assert times(found.timetable, 1)["bake"] == (155, 185)

    def test_where_a_part_has_caught_up(self) -> None:
        found = replan(night(), Log((line("00:10", "mix begun", 1), line("01:20", "shape begun", 1))), "01:30")
        assert times(found.timetable, 1)["shape"] == (80, 85)
        assert times(found.timetable, 1)["bulk"] == (30, 80)

    def test_an_end_alone(self) -> None:
        found = replan(night(), Log((line("00:25", "mix ended", 1),)), "00:30")
        assert times(found.timetable, 1)["mix"] == (5, 25)

    def test_a_later_part_says_that_the_earlier_ones_were_before_it(self) -> None:
        found = replan(night(), Log((line("02:15", "load in", 1, 1),)), "02:15")
        first = times(found.timetable, 1)
        assert (first["mix"], first["bake"]) == ((0, 20), (135, 165))
        assert first["pack"] == (195, 200)

    def test_a_mix_that_was_put_off(self) -> None:
        found = replan(night(), Log((line("00:20", "mix put off", 1),)), "00:30")
        # Mix 2 is taken to have begun at 20 and has the oven until 217, where a mix that begins at 47 proofs for 90 min.
        assert times(found.timetable, 1)["mix"] == (47, 67)

    def test_a_mixer_that_was_down(self) -> None:
        found = replan(night(), Log((line("00:00", "station down", station="spiral", until="00:30"),)), "00:05")
        assert times(found.timetable, 1)["mix"] == (30, 50)
        assert times(found.timetable, 2)["mix"] == (50, 70)

    def test_the_latest_line_is_now(self) -> None:
        log = Log((line("00:10", "mix begun", 1), line("00:05", "note")))
        assert replan(night(), log).now_min == 10
        with pytest.raises(QuantityError, match="now: got an empty log"):
            replan(night(), Log())


class TestAMixWithoutAPlace:
    """Whoever shapes goes at 01:30: mix 1 is shaped by 01:25, for mix 2 nobody would be there at 01:40."""

    TABLE = night(shifts=[Shift("00:00", "01:30", people=3)])

    def test_it_has_none_in_the_plan(self) -> None:
        assert [job.mix for job in self.TABLE.unplaced] == [2]
        assert times(self.TABLE, 2) == {}

    @pytest.mark.parametrize("now", ["23:50 the day before", "00:05", "02:00"])
    def test_it_is_not_looked_for_again_where_all_goes_as_planned(self, now: str) -> None:
        found = replan(self.TABLE, Log(), now)
        assert found.timetable == self.TABLE
        assert found.moved == ()

    @pytest.mark.parametrize(("now", "bulk"), [("00:50", {}), ("01:45", {"bulk": (40, 100)})])
    def test_it_was_mixed_all_the_same(self, now: str, bulk: dict[str, tuple[int, int]]) -> None:
        found = replan(self.TABLE, Log((line("00:20", "mix begun", 2),)), now)
        assert times(found.timetable, 1) == times(self.TABLE, 1)
        assert times(found.timetable, 2) == {"mix": (20, 40)} | bulk
        assert [job.mix for job in found.timetable.unplaced] == [2]
        assert codes(found) == ["no-room"]


class TestNobodyKnowsForHowLong:
    def test_the_mixer_is_down(self) -> None:
        found = replan(night(), Log((line("00:20", "station down", station="spiral"),)), "00:20")
        assert times(found.timetable, 1) == times(night(), 1)
        assert [job.mix for job in found.timetable.unplaced] == [2]
        assert [(order.short_pieces, order.order.pieces) for order in found.late] == [(50, 100)]

    def test_nobody_packs(self) -> None:
        found = replan(night(), Log((line("02:00", "station down", station="packing"),)), "02:00")
        assert [job.mix for job in found.timetable.unplaced] == [1, 2]
        assert codes(found) == ["no-room", "no-room"]


class TestTheOvenIsDown:
    DOWN = line("02:00", "station down", station="deck 1", until="02:40")

    def test_loads_wait(self) -> None:
        found = replan(night(), Log((self.DOWN,)), "02:00")
        # 145 becomes 160; then the second load at 160 + 30 + 6 = 196, where 100 + 90 = 190 is the latest of its first piece.
        assert times(found.timetable, 1)["bake"] == (160, 190)
        assert times(found.timetable, 2)["bake"] == (196, 226)
        assert codes(found) == ["wait-broken"]
        assert "Quay Round, mix 2, load 1: proof of 96 min, where 90 is the most" in found.cautions[0].text

    def test_a_load_that_should_be_in_it_is_not(self) -> None:
        found = replan(night(), Log((self.DOWN,)), "02:30")
        assert times(found.timetable, 1)["bake"] == (160, 190)

    def test_it_is_back_before(self) -> None:
        back = line("02:20", "station back", station="deck 1")
        found = replan(night(), Log((self.DOWN, back)), "02:20")
        assert found.timetable.tasks == night().tasks

    def test_nobody_knows_for_how_long(self) -> None:
        found = replan(night(), Log((line("02:00", "station down", station="deck 1"),)), "02:00")
        assert [job.mix for job in found.timetable.unplaced] == [1, 2]
        assert codes(found) == ["no-room", "no-room"]
        assert [(order.short_pieces, order.order.pieces) for order in found.late] == [(100, 100)]
        assert not found.timetable.fits

    def test_it_was_down_with_a_load_in_it(self) -> None:
        log = Log((line("02:30", "station down", station="deck 1", until="02:50"),))
        found = replan(night(), log, "02:30")
        assert times(found.timetable, 1)["bake"] == (145, 175)
        assert found.cautions[0].text == "deck 1: from 02:30 1 more in use than there are."

    def test_since_before_it_was_told(self) -> None:
        log = Log((line("02:30", "station down", station="deck 1", since="02:00", until="02:50"),))
        assert times(replan(night(), log, "02:30").timetable, 1)["bake"] == (170, 200)

    def test_another_oven_takes_the_load(self) -> None:
        log = Log((line("02:00", "station down", station="deck 1"),))
        found = replan(night(ovens=2), log, "02:00")
        assert {task.station for task in found.timetable.tasks if task.what == "bake"} == {"deck 2"}


class TestTheBenchIsShort:
    def test_two_of_three_are_gone(self) -> None:
        log = Log((line("01:00", "station down", station="bench", count=1, until="01:40"),))
        found = replan(night(), log, "01:00")
        # Shaping takes three; from 60 to 100 two are there: 80 waits until 100, where mix 2 shapes next, from 105.
        assert times(found.timetable, 1)["shape"] == (100, 105)
        assert times(found.timetable, 2)["shape"] == (105, 110)

    def test_without_shifts_hands_are_not_counted(self) -> None:
        with pytest.raises(UnknownNameError, match="'tubs', expected one of spiral, deck 1, bench, slicing, packing"):
            replan(night(), Log((line("01:00", "station down", station="tubs"),)))


def rate(celsius: float) -> float:
    """The gas curve with its ends at 0, 38 and 48 °C, written out."""
    below = 38 * (38 * (celsius - 38) + 10 * (38 - 2 * celsius))
    return (celsius - 48) * celsius**2 / below


class TestADoughThatIsWarm:
    FOUND = replan(night(), Log((line("00:20", "mix ended", 1, dough="27 °C"),)), "00:20")

    def test_it_is_ready_sooner(self) -> None:
        factor = rate(25) / rate(27)
        bulk, proof = math.ceil(60 * factor), math.ceil(60 * factor)
        assert (bulk, proof) == (54, 54)
        first = times(self.FOUND.timetable, 1)
        assert first["bulk"] == (20, 20 + bulk)
        assert first["bake"][0] == 20 + bulk + 5 + proof
        (pace,) = self.FOUND.paces
        assert pace.mix == 1
        assert pace.pace.factor == pytest.approx(factor)

    def test_the_reader_is_told(self) -> None:
        assert codes(self.FOUND) == ["dough-off-temperature"]
        assert "Quay Round, mix 1: A dough of 27 °C instead of 25 °C: waits take 0.884" in self.FOUND.cautions[0].text

    def test_the_arithmetic(self) -> None:
        working = self.FOUND.paces[0].pace.working()
        check_working(working, self.FOUND.paces[0].pace.factor)

    def test_measured_again_in_the_bulk(self) -> None:
        log = Log((line("00:20", "mix ended", 1, dough="27 °C"), line("00:50", "dough measured", 1, dough="24 °C")))
        found = replan(night(), log, "00:50")
        # 30 min at 27 °C, and the rest of 60 at 25 °C at 24 °C.
        left = (60 * rate(25) - 30 * rate(27)) / rate(24)
        assert times(found.timetable, 1)["bulk"] == (20, 50 + math.ceil(left))

    def test_as_warm_as_planned(self) -> None:
        found = replan(night(), Log((line("00:20", "mix ended", 1, dough="25 °C"),)), "00:20")
        assert found.timetable == night()
        assert found.paces == ()

    def test_when_all_is_in_the_oven_it_does_not_matter(self) -> None:
        found = replan(night(), Log((line("00:20", "mix ended", 1, dough="27 °C"),)), "02:30")
        assert found.timetable.tasks == night().tasks

    def test_what_the_model_cannot_say(self) -> None:
        found = replan(night(), Log((line("00:20", "mix ended", 1, dough="49 °C"),)), "00:20")
        assert found.timetable.tasks == night().tasks
        assert codes(found) == ["pace-unknown"]


class TestChangedOrders:
    def test_more(self) -> None:
        found = replan(night(), Log((line("00:10", "order changed", pieces=150),)), "00:10")
        (plan,) = found.timetable.day.breads
        # Mix 1 with its 50 has begun; the other 100 are two mixes, as the mixer holds 40 kg.
        assert [(mix.first, mix.last, mix.pieces) for mix in plan.mixes] == [(1, 1, 50), (2, 3, 50)]
        assert plan.pieces == 150
        assert found.timetable.orders[0].short_pieces == 0
        check_working(plan.working(), 3)

    def test_fewer(self) -> None:
        found = replan(night(), Log((line("00:10", "order changed", pieces=70, due="05:00"),)), "00:10")
        (plan,) = found.timetable.day.breads
        assert [(mix.first, mix.last, mix.pieces) for mix in plan.mixes] == [(1, 1, 50), (2, 2, 20)]
        assert {(each.mix, each.new_begin_min is None) for each in found.moved} <= {(2, False)}

    def test_fewer_than_have_been_mixed(self) -> None:
        found = replan(night(), Log((line("00:10", "order changed", pieces=30),)), "00:10")
        (plan,) = found.timetable.day.breads
        assert (plan.pieces, plan.mix_count) == (50, 1)
        assert codes(found) == ["surplus"]
        assert "20 pieces more" in found.cautions[0].text
        assert all(each.new_begin_min is None for each in found.moved)
        check_working(plan.working(), 1)

    def test_called_off(self) -> None:
        found = replan(night(), Log((line("00:10", "order changed", pieces=0),)), "00:10")
        assert [(each.order.pieces, each.due_min, each.short_pieces) for each in found.timetable.orders] == [
            (50, None, 0)
        ]
        assert [caution.text for caution in found.cautions] == [
            "Quay Round: 50 pieces more have been mixed than are ordered now."
        ]
        check_working(found.timetable.day.breads[0].working(), 1)

    def test_called_off_before_anything_was_mixed(self) -> None:
        log = Log((line("00:00", "mix put off", 1), line("00:00", "order changed", pieces=0)))
        with pytest.raises(FormulaError, match="all of them called off"):
            replan(night(), log)

    def test_which_order(self) -> None:
        with pytest.raises(
            UnknownNameError, match="no orders of Quay Round, due 06:00, expected one; they are due at 05:00"
        ):
            replan(night(), Log((line("00:10", "order changed", pieces=3, due="06:00"),)))


class TestAPlanMadeDuringTheNight:
    def test_it_is_the_one_that_was_followed(self) -> None:
        down = line("00:05", "station down", station="spiral", since="00:10", until="00:50")
        told = Log((down, line("00:05", "replanned")))
        first = replan(night(), told, "00:05")
        # Mix 1 had begun at 0; mix 2 waits for 50.
        assert times(first.timetable, 2)["mix"] == (50, 70)
        later = replan(night(), told, "01:00")
        assert later.timetable.tasks == first.timetable.tasks
        assert later.before.tasks == first.timetable.tasks
        assert later.moved == ()

    def test_what_comes_in_the_way_of_one_mix_leaves_the_other_where_it_was(self) -> None:
        down = line("23:50 the day before", "station down", station="deck 1", since="03:10", until="03:30")
        found = replan(night(), Log((down,)), "23:50 the day before")
        assert times(found.timetable, 1) == times(night(), 1)
        # Mix 2 was to be in it 181-211.  Now it is from 210, where its first piece, shaped at 120, has proofed for 90 min.
        second = times(found.timetable, 2)
        assert (second["mix"], second["shape"], second["bake"]) == ((40, 60), (120, 125), (210, 240))
        assert codes(found) == []

    def test_without_that_line_the_first_plan_counts(self) -> None:
        down = line("00:05", "station down", station="spiral", since="00:10", until="00:50")
        # At 20 the mixer was down, so that mix 2 cannot have begun.
        found = replan(night(), Log((down,)), "01:00")
        assert times(found.timetable, 2)["mix"] == (60, 80)


class TestLoads:
    def test_fewer_pieces_than_the_oven_takes(self) -> None:
        found = replan(night(), Log((line("02:25", "load in", 1, 1, pieces=30),)), "02:25")
        loads = [task for task in found.timetable.tasks if task.what == "bake" and task.mix == 1]
        assert [(load.load, load.pieces) for load in loads] == [(1, 30), (2, 20)]
        assert loads[1].begin_min == 145 + 36
        assert found.timetable.short_pieces == 0

    def test_a_load_that_waits_for_its_oven_while_the_next_is_in_another(self) -> None:
        log = Log((line("02:20", "station down", station="deck 1", until="02:40"),))
        found = replan(night(pieces=50, ovens=2, holds=30), log, "02:30")
        loads = {task.load: task for task in found.timetable.tasks if task.what == "bake"}
        # Load 1 was to go in at 80 + 3 + 60 = 143; load 2 is in since 85 + 60 = 145.
        assert {number: (load.station, load.begin_min, load.pieces) for number, load in loads.items()} == {
            1: ("deck 1", 160, 30),
            2: ("deck 2", 145, 20),
        }

    def test_a_load_more_than_planned(self) -> None:
        first, out = line("02:25", "load in", 1, 1, pieces=30), line("02:55", "load out", 1, 1)
        second = line("03:01", "load in", 1, 2, pieces=20, station="deck 1")
        found = replan(night(pieces=50), Log((first, out, second)), "03:05")
        loads = [task for task in found.timetable.tasks if task.what == "bake"]
        assert [(load.load, load.begin_min, load.end_min, load.pieces) for load in loads] == [
            (1, 145, 175, 30),
            (2, 181, 211, 20),
        ]
        assert (found.timetable.short_pieces, codes(found)) == (0, [])

    def test_all_pieces_in_the_second_load_while_the_oven_of_the_first_is_down(self) -> None:
        down = line("02:20", "station down", station="deck 1", until="02:40")
        log = Log((down, line("02:25", "load in", 1, 2, pieces=50)))
        found = replan(night(pieces=50, ovens=2, holds=30), log, "02:30")
        loads = [task for task in found.timetable.tasks if task.what == "bake"]
        assert [(load.load, load.station, load.begin_min, load.pieces) for load in loads] == [(2, "deck 2", 145, 50)]
        assert found.timetable.short_pieces == 0

    def test_taken_away_where_nobody_packs(self) -> None:
        log = Log((line("02:25", "load in", 1, 1), line("02:55", "load out", 1, 1), line("03:30", "packed", 1, 1)))
        first = times(replan(night(pack=0), log).timetable, 1)
        assert (first["bake"], first["cool"]) == ((145, 175), (175, 210))
        assert "pack" not in first

    def test_a_load_that_came_out_late(self) -> None:
        log = Log((line("02:25", "load in", 1, 1), line("03:05", "load out", 1, 1), line("03:45", "packed", 1, 1)))
        first = times(replan(night(), log).timetable, 1)
        assert (first["bake"], first["cool"], first["pack"]) == ((145, 185), (185, 220), (220, 225))

    def test_another_oven_than_planned(self) -> None:
        plan = night(ovens=2)
        (planned,) = {task.station for task in plan.tasks if task.what == "bake" and task.mix == 1}
        other = "deck 2" if planned == "deck 1" else "deck 1"
        found = replan(plan, Log((line("02:25", "load in", 1, 1, station=other),)))
        assert [task.station for task in found.timetable.tasks if task.what == "bake" and task.mix == 1] == [other]


CONTRADICTIONS: list[tuple[tuple[Entry, ...], str]] = [
    ((line("00:30", "mix begun", 1), line("00:20", "mix ended", 1)), "no earlier than 00:30 mix begun"),
    ((line("00:40", "mix begun", 1), line("00:45", "mix begun", 1)), "once more, after 00:40"),
    ((line("00:10", "load in", 2, 1),), 'a line "mix begun" before it'),
    ((line("00:20", "mix put off", 2), line("01:00", "load in", 2, 1)), 'a line "mix begun" before it'),
    ((line("00:20", "mix begun", 2), line("00:30", "mix put off", 2)), "no beginning before it was put off"),
    ((line("02:00", "load in", 1, 1), line("01:50", "load out", 1, 1)), "no earlier than 02:00 load in"),
    ((line("02:00", "load in", 1, 1, pieces=60),), "60 pieces in load 1, expected 1 to 50 of the 50"),
    ((line("02:00", "load in", 1, 1, pieces=0),), "0 pieces in load 1"),
    ((line("02:00", "load in", 1, 9),), "add the station to its load in"),
    ((line("01:00", "divide begun", 1),), "a part of the process of Quay Round"),
    ((line("02:00", "station back", station="deck 1"),), "a line before it that says it was down"),
    ((line("02:00", "station down", station="deck 1", until="01:00"),), "down from 02:00 until 01:00"),
    (
        (
            line("02:00", "load in", 1, 1), line("02:30", "load out", 1, 1), line("02:10", "load in", 2, 1),
            line("02:40", "load out", 2, 1),
        ),
        "into deck 1, where 02:00 load in, Quay Round, mix 1, load 1 was until 02:30",
    ),
    ((line("04:30", "note"),), "04:30 note, expected a time up to now, 04:00"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("entries", "words"), CONTRADICTIONS, ids=lambda value: value if isinstance(value, str) else ""
)
def test_what_cannot_be_true(entries: tuple[Entry, ...], words: str) -> None:
    with pytest.raises(ContradictionError) as caught:
        replan(night(), Log(entries, "night.jsonl"), "04:00")
    assert words in str(caught.value)
    assert "night.jsonl: line " in str(caught.value)


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        (Entry("01:00", "mix begun", bread="Keel Stick", mix=1), "'Keel Stick', expected one of Quay Round"),
        (line("01:00", "mix begun", 3), "'mix 3 of Quay Round', expected one of 1, 2"),
        (line("01:00", "station down", station="deck 7"), "'deck 7', expected one of spiral, deck 1"),
        (line("01:00", "mix begun", 1, station="deck 1"), "'deck 1', expected one of spiral"),
        (line("02:30", "load in", 1, 1, station="spiral"), "'spiral', expected one of deck 1"),
    ],
)
def test_names_that_the_day_has_not(entry: Entry, words: str) -> None:
    with pytest.raises(UnknownNameError) as caught:
        replan(night(), Log((entry,)), "04:00")
    assert words in str(caught.value)


def test_a_minute_that_the_clocks_leave_out() -> None:
    """In the night to 29 March 2026 the clocks go from 02:00 to 03:00; of a line with such a time nothing else is asked."""
    table = night(day="2026-03-29", zone="Europe/Berlin")
    log = Log(tuple(Entry(at, "mix begun", bread="Keel Stick", mix=1) for at in ("02:30", "01:00")))
    with pytest.raises(FormulaError) as caught:
        what_happened(table, log, 300)
    assert len(caught.value.faults) == 2
    assert "02:30 on 2026-03-29" in str(caught.value)
    assert str(caught.value).count("'Keel Stick', expected one of Quay Round") == 1


def test_doughs_that_several_breads_share_are_refused() -> None:
    names = (ROUND, "Quay Stick")
    plain = {"bread flour": 100, "water": 65, "salt": 2, "fresh yeast": 1}
    shop = night(people=6).workshop
    both = Workshop(
        opens="00:00", ovens=shop.ovens, processes=dict.fromkeys(names, shop.processes[ROUND]), shifts=shop.shifts
    )
    orders = [Order(Formula.from_percents(name, plain), pieces=20, baked="600 g") for name in names]
    with pytest.raises(
        FormulaError,
        match=r"doughs shared by several breads: Quay Round \+ Quay Stick, expected a dough for each bread",
    ):
        replan(timetable(plan_day(orders, BAKERY, both, share=True), both), Log(), "00:00")
    alone = timetable(plan_day(orders, BAKERY, both), both)
    assert replan(alone, Log(), "00:00").timetable == alone


def test_cleanings_stay_between_the_mixes_that_ask_for_them() -> None:
    breads = {
        name: Formula.from_percents(name, {"bread flour": 100, "water": 65, "salt": 2, **more})
        for name, more in (("Gull Bun", {"whole milk": 5}), ("Quay Stick", {}))
    }
    shop = night().workshop
    both = Workshop(
        opens="00:00", ovens=shop.ovens, processes=dict.fromkeys(breads, shop.processes[ROUND]), cleaning="15 min"
    )
    table = timetable(
        plan_day([Order(bread, pieces=20, baked="600 g") for bread in breads.values()], BAKERY, both),
        both,
        aim="earliest",
    )
    # The bun with its milk is mixed 0-20, the mixer cleaned 20-35.
    assert [(task.begin_min, task.end_min) for task in table.tasks if task.what == "clean"] == [(20, 35)]
    assert replan(table, Log(), "00:10").timetable == table
    late = Log((Entry("00:10", "mix begun", bread="Gull Bun", mix=1),))
    moved = replan(table, late, "00:15").timetable
    assert [(task.begin_min, task.end_min) for task in moved.tasks if task.what == "clean"] == [(30, 45)]


def test_everything_wrong_is_told_at_once() -> None:
    wrong = [entry for entries, _ in CONTRADICTIONS[:3] for entry in entries]
    with pytest.raises(ContradictionError) as caught:
        replan(night(), Log(tuple(wrong)), "04:00")
    assert len(caught.value.faults) >= 3


class TestBackwards:
    def test_what_can_still_be_as_late_as_allowed_is(self) -> None:
        plan = night(aim="latest", due="06:00")
        assert plan.aim == "latest"
        first = min(plan.tasks, key=lambda task: task.begin_min)
        late = plan.clock(first.begin_min)
        log = Log((Entry(late, "mix put off", bread=ROUND, mix=first.mix),))
        found = replan(plan, log, plan.clock(first.begin_min + 2))
        assert found.timetable.aim == "latest"
        assert all(task.begin_min >= first.begin_min + 2 for task in found.timetable.tasks)

    def test_later_than_due_is_told(self) -> None:
        log = Log((line("00:20", "mix begun", 1), line("00:20", "mix put off", 2)))
        found = replan(night(due="04:10"), log, "00:25")
        (order,) = found.late
        # Mix 1 is in the oven 165-195, so that mix 2 is in it 201-231 and packed 261-266, due at 250.
        assert (order.late_min, order.late_pieces) == (16, 50)


def test_two_orders_due_at_one_time_are_told_apart() -> None:
    shop = night().workshop
    orders = [Order(BREAD, pieces=50, baked="600 g", due="03:40") for _ in range(2)]
    table = timetable(plan_day(orders, BAKERY, shop), shop)
    # The first is packed at 210, in time; the second at 246, 26 minutes late before anything has happened.
    assert [order.late_min for order in table.orders] == [0, 26]
    assert replan(table, Log(), "00:00").late == ()


def test_what_may_overlap_in_the_way_of_a_mix() -> None:
    """Shaping begins while the last pieces are divided, and the first load is set while the last pieces are shaped."""
    mixed = {("mix", "begin"), ("mix", "end")}
    assert _BEFORE["divide", "end"] == mixed | {("divide", "begin")}
    assert _BEFORE["shape", "end"] == mixed | {("divide", "begin"), ("divide", "end"), ("shape", "begin")}
    assert _BEFORE["bake", "begin"] == mixed | {("divide", "begin"), ("shape", "begin")}
