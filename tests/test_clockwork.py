"""The clock of the day: days worked out by hand, what is late or short, and that the checker sees every mistake."""

import copy
import pickle
from collections.abc import Callable, Mapping
from itertools import pairwise
from typing import Any

import pytest
from attrs import evolve

from formula import clockwork
from formula.bakery import Bakery, Mixer
from formula.clockwork import Aim, Timetable, timetable
from formula.day import plan_day
from formula.delivered import OrderTime
from formula.errors import FormulaError, QuantityError, UnknownNameError
from formula.formula import Formula
from formula.orders import Order
from formula.placing import Placed, Tried, place
from formula.process import Process, Wait
from formula.stations import Job, Stations
from formula.workshop import Oven, Shift, Workshop
from tests.timetables import check_tables, facts_of

ROUND = Formula.from_percents("Quay Round", {"bread flour": 100, "water": 68, "salt": 2, "fresh yeast": 1})
STICK = Formula.from_percents("Mooring Stick", {"bread flour": 100, "water": 66, "salt": 2, "fresh yeast": 1})
BAKERY = Bakery(
    "Harbour Bakery", mixers=[Mixer("spiral", capacity="100 kg", friction="20 K")], flour="20 °C", room="22 °C", tap="14 °C"
)  # fmt: skip


def rounds(**more: Any) -> Process:  # noqa: ANN401
    facts: dict[str, Any] = {
        "mix": "20 min",
        "bulk": "1 h",
        "divide": 240,
        "rest": "20 min",
        "shape": 120,
        "shape_people": 2,
        "proof": Wait("1 h", latest="1 h 40 min"),
        "bake": "30 min",
        "loads": {"deck": 20},
        "cool": "30 min",
        "pack": 60,
    }
    return Process(**(facts | more))


def workshop(processes: Mapping[str, Process] | None = None, **more: Any) -> Workshop:  # noqa: ANN401
    facts: dict[str, Any] = {"opens": "00:00", "ovens": [Oven("deck", turn_round="5 min")]}
    return Workshop(processes=processes or {"Quay Round": rounds()}, **(facts | more))


def planned(shop: Workshop, *orders: Order, aim: Aim = "latest") -> Timetable:
    return timetable(plan_day(orders, BAKERY, shop), shop, aim=aim)


def order(pieces: int = 40, due: str = "05:30", bread: Formula = ROUND, baked: str = "800 g") -> Order:
    return Order(bread, pieces=pieces, baked=baked, due=due)


def told(found: Timetable, what: str) -> list[tuple[int, int]]:
    return [(task.begin_min, task.end_min) for task in found.tasks if task.what == what]


def test_a_mix_by_hand() -> None:
    """40 rounds: divided in 10 min, shaped in 10 min, baked in two loads of 20."""
    found = planned(workshop(), order(), aim="earliest")
    assert told(found, "mix") == [(0, 20)]
    assert told(found, "bulk") == [(20, 80)]
    assert told(found, "divide") == [(80, 90)]
    assert told(found, "rest") == [(80, 100)]
    assert told(found, "shape") == [(100, 110)]
    assert told(found, "proof") == [(100, 165), (105, 200)]
    assert told(found, "bake") == [(165, 195), (200, 230)]
    assert told(found, "cool") == [(195, 225), (230, 260)]
    assert told(found, "pack") == [(225, 245), (260, 280)]
    (only,) = found.orders
    assert (only.ready_min, only.due_min, only.late_min, only.late_pieces, only.short_pieces) == (280, 330, 0, 0, 0)


def test_backwards_the_same_mix_is_packed_when_it_is_due() -> None:
    found = planned(workshop(), order())
    assert (found.aim, told(found, "mix"), found.orders[0].ready_min) == ("latest", [(50, 70)], 330)


def test_what_is_late_and_by_how_much() -> None:
    found = planned(workshop(), order(due="04:20"))
    assert (found.aim, found.fits) == ("earliest", False)
    assert (found.late_min, found.late_pieces, found.short_pieces) == (20, 20, 0)


def test_the_oven_sets_the_beat_of_the_mixes() -> None:
    """The proof has no room for a second load: a mix a load, every 35 min, though the mixer is free after 20."""
    short = Wait("1 h", earliest="55 min", latest="1 h 8 min")
    found = planned(workshop({"Quay Round": rounds(proof=short)}), order(160, ""), aim="earliest")
    assert len(told(found, "mix")) == 160 / 20
    begins = [begin for begin, _ in told(found, "bake")]
    assert [later - earlier for earlier, later in pairwise(begins)] == [35] * 7
    assert found.bottleneck == "deck"


def test_a_short_proof_is_tried_where_the_oven_is_cold_after_the_best() -> None:
    """Hot from 01:40 to 02:45: an hour of proof from 01:20 on would end in a bake that is cut off, 20 min do not."""
    quick = Process(
        mix="20 min", bulk="1 h", proof=Wait("1 h", earliest="20 min", latest="1 h 20 min"), bake="30 min", loads={"deck": 40}
    )  # fmt: skip
    shop = workshop({"Quay Round": quick}, ovens=[Oven("deck", fired=["00:40"], firing="1 h", lasts="1 h 5 min")])
    found = planned(shop, order(80, ""), aim="earliest")
    assert told(found, "bake") == [(100, 130), (130, 160)]


def test_two_mixers_that_are_alike_share_the_mixes_of_a_dough() -> None:
    two = [Mixer(name, capacity="20 kg", friction="20 K") for name in ("spiral 1", "spiral 2")]
    bakery = Bakery("Harbour Bakery", mixers=[*two, Mixer("arm", capacity="20 kg", friction="12 K")], flour="20 °C", room="22 °C", tap="14 °C")  # fmt: skip
    shop = workshop(ovens=[Oven("deck"), Oven("other")], processes={"Quay Round": rounds(loads={"deck": 20, "other": 20}, divide=0, shape=0, proof=Wait("1 h", latest="2 h"))})  # fmt: skip
    found = timetable(plan_day([order(40, "")], bakery, shop), shop, aim="earliest")
    assert [(task.station, task.begin_min) for task in found.tasks if task.what == "mix"] == [
        ("spiral 1", 0),
        ("spiral 2", 0),
    ]


def test_mixes_in_the_order_of_their_deliveries() -> None:
    shop = workshop({"Quay Round": rounds(), "Mooring Stick": rounds()})
    orders = [order(20, "09:00"), order(20, "03:00", STICK)]
    given, due = (
        timetable(plan_day(orders, BAKERY, shop), shop, aim="earliest", order=each) for each in ("given", "due")
    )
    assert [task.bread for task in given.tasks if task.what == "mix"] == ["Quay Round", "Mooring Stick"]
    assert [task.bread for task in due.tasks if task.what == "mix"] == ["Mooring Stick", "Quay Round"]
    assert (given.order, due.order) == ("given", "due")


def test_the_minutes_of_the_pieces_are_summed() -> None:
    """Of the loads packed at 04:05 and 04:40 the second is late by 20 min."""
    assert planned(workshop(), order(due="04:20")).late_piece_min == 20 * 20


def test_a_break_of_the_shift_moves_the_mix() -> None:
    """Dividing would begin at 01:20; from 01:00 to 01:45 nobody works, and the bulk has no room to wait."""
    shop = workshop(shifts=[Shift("00:00", "08:00", people=2, breaks=[("01:00", "01:45")])])
    found = planned(shop, order(), aim="earliest")
    assert told(found, "divide") == [(105, 115)]
    assert told(found, "mix") == [(25, 45)]


def test_a_bulk_with_room_waits_for_the_bench() -> None:
    shop = workshop(
        {"Quay Round": rounds(bulk=Wait("1 h", latest="1 h 30 min"))},
        shifts=[Shift("00:00", "08:00", people=2, breaks=[("01:00", "01:45")])],
    )
    found = planned(shop, order(), aim="earliest")
    assert (told(found, "mix"), told(found, "bulk")) == ([(0, 20)], [(20, 105)])


def test_a_mix_without_room_is_short_not_lost() -> None:
    """Two mixes of 40; the oven is full until 03:50, and for a dough that comes to it then nobody is left to shape."""
    found = planned(workshop(shifts=[Shift("00:00", "02:00", people=2)]), order(30), order(50, "06:00"))
    assert [(each.short_pieces, each.late_pieces) for each in found.orders] == [(0, 0), (40, 0)]
    assert [(job.mix, job.pieces) for job in found.unplaced] == [(2, 40)]
    late = planned(workshop(shifts=[Shift("00:00", "01:00", people=2)]), order(40))
    assert (late.short_pieces, late.fits, len(late.unplaced), late.tasks) == (40, False, 1, ())
    assert late.begin_min == late.end_min == 0


def test_a_fired_oven_bakes_while_it_is_hot_and_slower_as_it_cools() -> None:
    clay = Oven("clay", turn_round="0 min", fired=["02:00"], firing="1 h", lasts="2 h", slows="20 %")
    shop = workshop({"Quay Round": rounds(loads={"clay": 20}, bake="20 min", shape=1200)}, ovens=[clay])
    found = planned(shop, order(40, ""), aim="earliest")
    # From 03:00 on: at once 20 min; 20 min later 20 * (1 + 0.2 / 3) = 21.33, so 22.
    assert told(found, "bake") == [(180, 200), (200, 222)]


def test_midnight_and_the_hour_that_is_skipped() -> None:
    """In the night to 29 March 2026 the clocks go from 02:00 to 03:00: what is due at 05:30 has an hour less."""
    plain = planned(workshop(opens="22:00 the day before"), order())
    shop = workshop(opens="22:00 the day before", day="2026-03-29", zone="Europe/Berlin")
    spring = planned(shop, order())
    assert (plain.clock(plain.begin_min), spring.clock(spring.begin_min)) == ("00:50", "23:50 the day before")
    assert spring.clock(spring.orders[0].ready_min) == "05:30"
    with pytest.raises(QuantityError, match="02:30 on 2026-03-29"):
        planned(shop, order(due="02:30"))


def test_one_bread_in_two_sizes_has_two_processes() -> None:
    shop = workshop({"Quay Round": rounds(), "Quay Round 400 g": rounds(bake="20 min")})
    found = planned(shop, order(), order(20, "05:00", baked="400 g"))
    bakes = {task.bread: task.end_min - task.begin_min for task in found.tasks if task.what == "bake"}
    assert bakes == {"Quay Round 800 g": 30, "Quay Round 400 g": 20}


def test_on_a_day_of_many_mixes_none_is_sought_later_than_one_like_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clockwork, "MANY_MIXES", 3)
    tried: list[int] = []

    def watched(job: Job, start_min: int, stations: Stations, before: Tried | None = None) -> Placed | None:
        tried.append(start_min)
        return place(job, start_min, stations, before)

    monkeypatch.setattr(clockwork, "place", watched)
    # The oven takes a load of 20 every 35 min: 160 pieces are eight mixes, one after the other.
    short = Wait("1 h", earliest="55 min", latest="1 h 8 min")
    found = planned(workshop({"Quay Round": rounds(proof=short)}), order(160, "10:00"))
    assert (found.aim, found.fits, len(told(found, "mix"))) == ("latest", True, 8)
    assert check_tables(found.to_tables(), facts_of(found)) == []
    # The first try is alone at midnight, to see how long a mix takes.
    assert tried[0] == 0
    assert tried[1:] == sorted(tried[1:], reverse=True)


def test_what_is_refused() -> None:
    with pytest.raises(
        UnknownNameError, match="process of Mooring Stick: got none, expected one; there are: Quay Round"
    ):
        planned(workshop(), order(bread=STICK))
    with pytest.raises(UnknownNameError, match="aim: got 'soon'"):
        planned(workshop(), order(), aim="soon")  # type: ignore[arg-type]
    few = workshop(proof_places=15)
    with pytest.raises(FormulaError, match="Quay Round: got a mix of 40 pieces, expected one that the bench"):
        planned(few, order())


def test_it_travels() -> None:
    found = planned(workshop(), order())
    again = pickle.loads(pickle.dumps(found))  # noqa: S301 - our own bytes
    assert again == found == copy.deepcopy(found)
    assert hash(again) == hash(found)


def move(what: str, **changes: int) -> Callable[[dict[str, Any]], None]:
    def change(tables: dict[str, Any]) -> None:
        task = next(task for task in tables["tasks"] if task["what"] == what)
        for key, value in changes.items():
            task[key] += value

    return change


def drop(what: str) -> Callable[[dict[str, Any]], None]:
    def change(tables: dict[str, Any]) -> None:
        tables["tasks"].remove(next(task for task in tables["tasks"] if task["what"] == what))

    return change


def say(key: str, value: int) -> Callable[[dict[str, Any]], None]:
    def change(tables: dict[str, Any]) -> None:
        tables["orders"][0][key] = value

    return change


class TestTheCheckerSeesEveryMistake:
    """A timetable with one thing wrong does not pass, so that passing means something."""

    @pytest.mark.parametrize(
        "change",
        [
            move("mix", begin_min=5),
            move("mix", begin_min=-100, end_min=-100),
            move("bulk", end_min=1),
            move("divide", end_min=-1),
            move("shape", begin_min=-25, end_min=-25),
            move("shape", end_min=-5),
            move("bake", end_min=-1),
            move("bake", begin_min=-10, end_min=-10),
            move("bake", begin_min=10, end_min=10),
            move("bake", pieces=1),
            move("proof", end_min=-1),
            move("pack", begin_min=-1),
            move("pack", end_min=-1),
            drop("pack"),
            drop("cool"),
            say("late_pieces", 1),
            say("short_pieces", 1),
            say("ready_min", 100),
        ],
    )
    def test_a_change(self, change: Callable[[dict[str, Any]], None]) -> None:
        shop = workshop(shifts=[Shift("00:00", "08:00", people=3)], proof_places=40)
        found = planned(shop, order())
        assert check_tables(found.to_tables(), facts_of(found)) == []
        tables = copy.deepcopy(found.to_tables())
        change(tables)
        assert check_tables(tables, facts_of(found))

    def test_fewer_of_anything_than_is_used(self) -> None:
        shop = workshop(
            {"Quay Round": rounds(gear={"baskets": "proof"})},
            shifts=[Shift("00:00", "08:00", people=3)], proof_places=60, cool_places=60, tubs=2, gear={"baskets": 80},
        )  # fmt: skip
        found = planned(shop, order(80))
        facts = facts_of(found)
        assert check_tables(found.to_tables(), facts) == []
        for key in ("tubs", "proof", "cooling", "packing"):
            assert check_tables(found.to_tables(), {**facts, "places": {**facts["places"], key: 0}})
        assert check_tables(found.to_tables(), {**facts, "gear": {"baskets": 19}})
        assert check_tables(found.to_tables(), {**facts, "shifts": [(0, 480, 1)]})
        assert check_tables(found.to_tables(), {**facts, "ovens": {"deck": {"turn": 6, "hot": [(0, 480)]}}})
        assert check_tables(found.to_tables(), {**facts, "pieces": {"Quay Round": 81}})


@pytest.mark.parametrize(
    ("ready_min", "due_min", "late_min"), [(300, None, 0), (300, 300, 0), (300, 360, 0), (307, 300, 7)]
)
def test_an_order_is_late_by_the_minutes_after_it_is_due(ready_min: int, due_min: int | None, late_min: int) -> None:
    bread = Formula.from_percents("Harbour White", {"bread flour": 100, "water": 65, "salt": 2, "fresh yeast": 2})
    order = Order(bread, pieces=10, baked="800 g")
    assert OrderTime(order, bread.name, ready_min, due_min, late_pieces=0, short_pieces=0).late_min == late_min


def test_a_day_without_orders_is_not_late() -> None:
    assert evolve(planned(workshop(), order()), orders=()).late_min == 0
