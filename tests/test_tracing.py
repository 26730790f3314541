"""Tracing: nothing that a lot may have touched is left out."""

import json

import pytest

from formula.day import DayPlan, plan_day
from formula.daylog import Log
from formula.errors import ContradictionError, UnknownNameError
from formula.formula import Formula
from formula.logentry import Entry
from formula.measured import logged_masses, logged_trials
from formula.orders import Order
from formula.stage import Stage
from formula.tracing import Delivery, LotTrace, Origin, trace_loaf, trace_lot
from formula.trialfit import friction_from_trials
from tests.nights import BAKERY, BREAD, ROUND

STICK = "Mooring Stick"


def day() -> DayPlan:
    stick = Formula.from_percents(
        STICK,
        {"bread flour": 100, "water": 66, "salt": 2, "instant yeast": 0.4},
        stages=[Stage("autolyse", {"bread flour": 100, "water": 60}, flour="100 %")],
    )
    orders = [
        Order(BREAD, pieces=60, baked="600 g", due="05:00"),
        Order(BREAD, pieces=40, baked="600 g", due="07:00"),
        Order(stick, pieces=90, baked="250 g", due="06:00"),
    ]
    return plan_day(orders, BAKERY)


DAY = day()
BIGA = Entry(
    "16:00 the day before", "stage built", stage="biga", lot="B 1", lots={"bread flour": "F 1", "fresh yeast": "Y 1"}
)
OTHER = Entry(
    "16:10 the day before", "stage built", stage="biga", lot="B 2", lots={"bread flour": "F 2", "fresh yeast": "Y 1"}
)
REST = {"bread flour": "F 3", "salt": "S 1", "fresh yeast": "Y 1", "sesame seeds": "N 1"}
FIRST = Entry("00:00", "mix begun", bread=ROUND, mix=1, lots={"biga": "B 1", **REST}, who="M.")
SECOND = Entry("00:20", "mix begun", bread=ROUND, mix=2, lots={"biga": "B 2", **REST}, who="T.")
STICKS = Entry("01:00", "mix begun", bread=STICK, mix=1, lots={"magic powder": "x"})
SENT = (
    Entry("03:30", "sent", bread=ROUND, mix=1, load=1, due="05:00", pieces=50),
    Entry("04:30", "sent", bread=ROUND, mix=2, load=1, due="05:00", pieces=10),
    Entry("05:30", "sent", bread=ROUND, mix=2, load=1, due="07:00", pieces=40),
)
STICK_LOTS = {"bread flour": ["F 3", "F 4"], "salt": "S 1", "instant yeast": "I 1"}
ALL_STICKS = tuple(
    Entry("01:00", "mix begun", bread=STICK, mix=mix, lots=STICK_LOTS) for mix in range(1, DAY.breads[1].mix_count + 1)
)
WHOLE = Log((BIGA, OTHER, FIRST, SECOND, *ALL_STICKS, *SENT))


def mixes(found: LotTrace) -> list[tuple[str, int]]:
    return [(trace.bread, trace.mix) for trace in found.mixes]


def perhaps(found: LotTrace) -> list[tuple[str, int]]:
    return [(trace.bread, trace.mix) for trace in found.perhaps]


def dues(found: LotTrace) -> list[tuple[str, str, bool]]:
    return [(each.bread, each.due, each.certain) for each in found.deliveries]


class TestALot:
    def test_in_one_mix(self) -> None:
        found = trace_lot(WHOLE, DAY, "b 1")
        assert (found.ingredients, mixes(found), perhaps(found)) == (("biga",), [(ROUND, 1)], [])
        assert found.deliveries == (Delivery(ROUND, "05:00", 60, certain=True),)

    def test_through_a_built_stage(self) -> None:
        found = trace_lot(WHOLE, DAY, "F 2")
        assert (found.ingredients, found.builds) == (("bread flour",), ("biga B 2",))
        assert (mixes(found), perhaps(found)) == ([(ROUND, 2)], [])
        assert dues(found) == [(ROUND, "05:00", True), (ROUND, "07:00", True)]

    def test_through_the_autolyse_with_which_a_mix_begins(self) -> None:
        found = trace_lot(WHOLE, DAY, "F 4")
        assert mixes(found) == [(STICK, trace.mix) for trace in found.mixes]
        assert len(found.mixes) == len(ALL_STICKS)
        # Nobody wrote where the sticks went.
        assert dues(found) == [(STICK, "06:00", False)]

    def test_of_a_topping(self) -> None:
        assert mixes(trace_lot(WHOLE, DAY, "N 1")) == [(ROUND, 1), (ROUND, 2)]

    def test_capitals_and_spaces_do_not_matter(self) -> None:
        assert mixes(trace_lot(WHOLE, DAY, "  f   2 ")) == [(ROUND, 2)]

    def test_a_stage_that_went_into_no_mix(self) -> None:
        log = Log(
            (
                BIGA,
                OTHER,
                FIRST,
                SECOND,
                Entry("17:00 the day before", "stage built", stage="biga", lot="B 3", lots={"rye": "R 1"}),
            )
        )
        found = trace_lot(log, DAY, "R 1")
        assert (found.ingredients, found.builds, mixes(found)) == (("medium rye flour",), ("biga B 3",), [])

    def test_a_stage_built_of_another(self) -> None:
        seed = Entry("08:00 the day before", "stage built", stage="seed", lot="A 1", lots={"bread flour": "F 0"})
        biga = Entry("16:00 the day before", "stage built", stage="biga", lot="B 1", lots={"seed": "A 1"})
        found = trace_lot(Log((seed, biga)), DAY, "F 0")
        assert (found.ingredients, found.builds) == (("bread flour",), ("seed A 1", "biga B 1"))
        assert mixes(trace_lot(Log((seed, biga, FIRST)), DAY, "F 0")) == [(ROUND, 1)]

    def test_a_stage_that_is_written_to_be_built_of_itself(self) -> None:
        biga = Entry(
            "16:00 the day before", "stage built", stage="biga", lot="B 1", lots={"biga": "B 1", "bread flour": "F 0"}
        )
        assert mixes(trace_lot(Log((biga, FIRST)), DAY, "F 0")) == [(ROUND, 1)]

    def test_it_travels_as_tables(self) -> None:
        tables = json.loads(json.dumps(trace_lot(WHOLE, DAY, "F 2").to_tables()))
        assert tables["mixes"][0]["who"] == "T."
        assert [caution["code"] for caution in tables["cautions"]] == ["trace-law"]


class TestWhatIsNotKnown:
    def test_a_mix_without_its_lots_may_have_had_any(self) -> None:
        found = trace_lot(Log((BIGA, FIRST, *ALL_STICKS, *SENT)), DAY, "F 1")
        assert (mixes(found), perhaps(found)) == ([(ROUND, 1)], [(ROUND, 2)])
        assert dues(found) == [(ROUND, "05:00", True), (ROUND, "07:00", False)]

    def test_an_ingredient_that_was_left_out(self) -> None:
        bare = Entry(
            "00:20", "mix begun", bread=ROUND, mix=2, lots={"biga": "B 2", "bread flour": "F 3", "fresh yeast": "Y 1"}
        )
        log = Log((BIGA, OTHER, FIRST, bare, *ALL_STICKS))
        assert perhaps(trace_lot(log, DAY, "N 1")) == [(ROUND, 2)]
        assert perhaps(trace_lot(log, DAY, "F 1")) == []

    def test_a_build_that_nobody_wrote_down(self) -> None:
        log = Log((OTHER, FIRST, SECOND, *ALL_STICKS))
        found = trace_lot(log, DAY, "F 2")
        # Of the biga that mix 1 got nothing is known: it may have held that flour.
        assert (mixes(found), perhaps(found)) == ([(ROUND, 2)], [(ROUND, 1)])

    def test_a_lot_that_the_log_does_not_know(self) -> None:
        found = trace_lot(Log((BIGA, OTHER, FIRST, *ALL_STICKS)), DAY, "X 9")
        assert (found.ingredients, mixes(found), perhaps(found)) == ((), [], [(ROUND, 2)])
        assert found.cautions[0].code == "unknown-lot"
        assert "it knows F 3, S 1, Y 1, B 1" in found.cautions[0].text

    def test_an_empty_log(self) -> None:
        found = trace_lot(Log(), DAY, "X 9")
        assert len(found.perhaps) == DAY.mix_count
        assert "it knows none" in found.cautions[0].text
        assert {each.certain for each in found.deliveries} == {False}
        assert len(found.deliveries) == 3

    def test_what_was_used_beside_the_formula(self) -> None:
        found = trace_lot(Log((STICKS,)), DAY, "x")
        assert found.ingredients == ("magic powder",)
        assert Origin("magic powder", "not in the formula", ("x",)) in found.mixes[0].origins

    def test_water_of_the_tap_has_no_lot(self) -> None:
        assert "water" not in {
            origin.ingredient for trace in trace_lot(WHOLE, DAY, "F 1").mixes for origin in trace.origins
        }

    def test_an_unfinished_line_is_told(self) -> None:
        log = Log((FIRST,), "log", (trace_lot(Log(), DAY, "x").cautions[0],))
        assert log.cautions[0] in trace_lot(log, DAY, "Y 1").cautions


class TestBackFromALoaf:
    def test_of_a_load(self) -> None:
        found = trace_loaf(WHOLE, DAY, ROUND, mix=2, load=1)
        (trace,) = found.mixes
        assert (trace.begun, trace.who, trace.loads) == ("00:20", "T.", (1,))
        assert Origin("bread flour", "biga B 2", ("F 2",)) in trace.origins
        assert Origin("sesame seeds", "topping", ("N 1",)) in trace.origins
        assert trace.unknown == ()
        assert found.perhaps == ()

    def test_of_a_delivery(self) -> None:
        assert [trace.mix for trace in trace_loaf(WHOLE, DAY, ROUND, due="07:00").mixes] == [2]
        both = trace_loaf(WHOLE, DAY, ROUND, due="05:00")
        assert ([trace.mix for trace in both.mixes], both.perhaps) == ([1, 2], ())

    def test_of_a_delivery_of_which_not_all_is_written(self) -> None:
        found = trace_loaf(Log((FIRST, SECOND, SENT[0])), DAY, ROUND, due="05:00")
        assert ([trace.mix for trace in found.mixes], [trace.mix for trace in found.perhaps]) == ([1], [2])
        # All of mix 1 went to the first delivery.
        found = trace_loaf(Log((FIRST, SECOND, SENT[0])), DAY, ROUND, due="07:00")
        assert ([trace.mix for trace in found.mixes], [trace.mix for trace in found.perhaps]) == ([], [2])

    def test_of_a_bread_alone(self) -> None:
        found = trace_loaf(WHOLE, DAY, ROUND)
        assert (found.mixes, [trace.mix for trace in found.perhaps]) == ((), [1, 2])

    def test_the_only_mix_of_a_bread(self) -> None:
        few = plan_day([Order(BREAD, pieces=5, baked="600 g")], BAKERY)
        assert [trace.mix for trace in trace_loaf(Log(), few, ROUND).mixes] == [1]
        assert json.loads(json.dumps(trace_loaf(Log(), few, ROUND).to_tables()))["mixes"][0]["begun"] is None

    @pytest.mark.parametrize(
        ("where", "words"),
        [
            ({"bread": "Keel"}, "bread: got Keel, expected one of Quay Round, Mooring Stick"),
            ({"bread": ROUND, "mix": 9}, "mix of Quay Round: got 9, expected one of 1, 2"),
            ({"bread": ROUND, "mix": 1, "load": 4}, "load of mix 1: got 4, expected one of 1"),
            ({"bread": STICK, "mix": 1, "load": 4}, "expected one that is in the log; it has none"),
            ({"bread": ROUND, "due": "09:00"}, "delivery of Quay Round: got 09:00, expected one of 05:00, 07:00"),
        ],
    )
    def test_what_is_not_there(self, where: dict[str, object], words: str) -> None:
        with pytest.raises(UnknownNameError) as caught:
            trace_loaf(WHOLE, DAY, **where)  # type: ignore[arg-type]
        assert words in str(caught.value)

    def test_what_makes_no_sense(self) -> None:
        with pytest.raises(ContradictionError, match="a load without its mix"):
            trace_loaf(WHOLE, DAY, ROUND, load=1)
        with pytest.raises(ContradictionError, match="a mix and a delivery"):
            trace_loaf(WHOLE, DAY, ROUND, mix=1, due="05:00")


def test_a_log_of_another_day() -> None:
    log = Log((Entry("01:00", "mix begun", bread="Keel", mix=1), Entry("01:00", "mix begun", bread=ROUND, mix=7)))
    with pytest.raises(UnknownNameError) as caught:
        trace_lot(log, DAY, "F 1")
    assert [fault.got for fault in caught.value.faults] == ["'Keel'", "mix 7 of Quay Round"]


class TestMeasured:
    BEGUN = Entry(
        "00:00", "mix begun", bread=ROUND, mix=1, flour="21 °C", room="23 °C", water="12 °C", preferments=["18 °C"]
    )
    ENDED = Entry("00:14", "mix ended", bread=ROUND, mix=1, dough="25 °C")

    def test_a_trial(self) -> None:
        (trial,) = logged_trials(Log((self.BEGUN, self.ENDED)), DAY)
        # 4 x 25 - (21 + 23 + 18 + 12) = 26.
        assert trial.friction_k == 26
        assert (trial.mixer, trial.mass_g) == ("spiral", DAY.breads[0].mixes[0].batch.dough_g)
        assert trial.time_h == pytest.approx(14 / 60)

    def test_it_feeds_the_friction(self) -> None:
        more = Entry(
            "00:20",
            "mix begun",
            bread=ROUND,
            mix=2,
            flour="21 °C",
            room="23 °C",
            water="14 °C",
            preferments=["18 °C"],
            station="spiral",
        )
        log = Log((self.BEGUN, self.ENDED, more, Entry("00:34", "mix ended", bread=ROUND, mix=2, dough="25.5 °C")))
        assert friction_from_trials(logged_trials(log, DAY)).friction_k == 26

    def test_what_is_no_trial(self) -> None:
        dry = Entry("00:00", "mix begun", bread=ROUND, mix=1, flour="21 °C")
        assert logged_trials(Log((dry, self.ENDED)), DAY) == ()
        assert logged_trials(Log((self.BEGUN,)), DAY) == ()

    def test_an_autolyse_is_no_time_of_mixing(self) -> None:
        begun = Entry("23:50 the day before", "mix begun", bread=STICK, mix=1, flour="21 °C", water="12 °C")
        (trial,) = logged_trials(Log((begun, Entry("00:30", "mix ended", bread=STICK, mix=1, dough="25 °C"))), DAY)
        assert (trial.time_h, trial.room_c) == (None, None)

    def test_an_hour_that_comes_twice(self) -> None:
        begun = Entry("02:50", "mix begun", bread=ROUND, mix=1, flour="21 °C", water="12 °C")
        ended = Entry("02:05 (the second time)", "mix ended", bread=ROUND, mix=1, dough="25 °C")
        (trial,) = logged_trials(Log((begun, ended)), DAY)
        assert trial.time_h == pytest.approx(0.25)

    def test_what_cannot_be(self) -> None:
        early = Entry("23:50 the day before", "mix ended", bread=ROUND, mix=1, dough="25 °C")
        with pytest.raises(ValueError, match="expected an end after 00:00"):
            logged_trials(Log((self.BEGUN, early)), DAY)
        strange = [
            Entry("00:00", "mix begun", bread="Keel", mix=1, flour="21 °C", water="12 °C"),
            Entry("00:14", "mix ended", bread="Keel", mix=1, dough="25 °C"),
        ]
        with pytest.raises(UnknownNameError, match="Keel, mix 1"):
            logged_trials(Log(tuple(strange)), DAY)

    def test_pieces_that_were_weighed(self) -> None:
        log = Log(
            tuple(
                Entry("03:00", "pieces weighed", bread=ROUND, masses=masses)
                for masses in (["670 g"], ["0.668 kg", "671 g"])
            )
        )
        assert dict(logged_masses(log)) == {ROUND: (670.0, 668.0, 671.0)}
