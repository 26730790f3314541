"""When the day does not fit: days worked out by hand, one for each kind of change, and what cannot be asked."""

import pickle
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

import pytest

from formula.bakery import Bakery, Mixer
from formula.changes import KINDS, Kind, Setting, possible_changes
from formula.clockwork import Timetable, timetable
from formula.day import plan_day
from formula.errors import FormulaError
from formula.formula import Formula
from formula.orders import Order
from formula.process import Process, Wait
from formula.relief import Remedies, remedies
from formula.workshop import Oven, Shift, Workshop
from tests.timetables import check_tables, facts_of

LEAN = {"bread flour": 100, "water": 68, "salt": 2, "fresh yeast": 1}
ROUND, STICK = (Formula.from_percents(name, LEAN) for name in ("Quay Round", "Mooring Stick"))
SPIRAL = Mixer("spiral", capacity="100 kg", friction="20 K")


def bakery(*mixers: Mixer) -> Bakery:
    return Bakery("Harbour Bakery", mixers=mixers or [SPIRAL], flour="20 °C", room="22 °C", tap="14 °C")


def rounds(**more: Any) -> Process:  # noqa: ANN401
    """Mixed in 20 min, 1 h of bulk, 1 h of proof, baked in 30 min, 40 in a load: 170 min in all."""
    facts: dict[str, Any] = {"mix": "20 min", "bulk": "1 h", "bake": "30 min", "loads": {"deck": 40}}
    facts["proof"] = Wait("1 h", latest="1 h 20 min")
    return Process(**(facts | more))


def shop(processes: Mapping[str, Process] | None = None, **more: Any) -> Workshop:  # noqa: ANN401
    facts: dict[str, Any] = {"opens": "00:00", "ovens": [Oven("deck")]}
    return Workshop(processes=processes or {"Quay Round": rounds()}, **(facts | more))


def day(workshop: Workshop, *orders: Order, mixers: tuple[Mixer, ...] = ()) -> Timetable:
    return timetable(plan_day(orders, bakery(*mixers), workshop), workshop)


def order(pieces: int, due: str, bread: Formula = ROUND) -> Order:
    return Order(bread, pieces=pieces, baked="800 g", due=due)


def only(table: Timetable, *kinds: Kind, **more: Any) -> Remedies:  # noqa: ANN401
    """Find the remedies of some kinds, and hold every timetable against the independent checker."""
    found = remedies(table, costs=dict.fromkeys(kinds, "1 h"), **more)
    for remedy in found.remedies:
        assert check_tables(remedy.timetable.to_tables(), facts_of(remedy.timetable)) == []
        assert set(remedy.kinds) <= set(kinds)
    return found


def best(found: Remedies) -> str:
    assert found.best is not None, found.said
    assert found.best.timetable.fits
    return found.best.what


# Two mixes of 40: the second is mixed from 00:20, but the oven is free for it at 02:50 only; packed at 03:20.
def two_loads(due: str = "03:00", **more: Any) -> Timetable:  # noqa: ANN401
    return day(shop(**more), order(80, due))


def test_what_is_late_and_what_the_day_waits_for() -> None:
    """With two ovens the second mix is packed at 03:10, with two mixers as late as ever: 40 pieces by 10 or by 20 min."""
    table = two_loads()
    assert (table.late_pieces, table.late_min, table.late_piece_min) == (40, 20, 800)
    found = remedies(table)
    assert found.bottleneck == "deck"
    assert [(each.station, each.late_piece_min) for each in found.strains[:2]] == [("deck", 400), ("spiral", 800)]


def test_a_day_that_fits_needs_nothing() -> None:
    found = remedies(two_loads("03:20"))
    assert (found.bottleneck, found.best, found.remedies, found.replans) == ("", None, (), 0)
    assert found.said == ("The day fits: every order is packed in time.",)
    assert found.to_tables()["fits"] is True


def test_the_cheapest_by_the_plain_rule_comes_first() -> None:
    """Opening 30 min earlier is enough; two ovens are not, so that no machine is offered."""
    found = remedies(two_loads())
    assert best(found) == "open 30 min earlier, at 23:30 the day before"
    assert [remedy.kinds for remedy in found.remedies if remedy.fits] == [("opening",), ("opening",)]
    assert found.remedies[-1].kinds == ("oven",)
    assert (found.remedies[-1].late_pieces, found.remedies[-1].late_min, found.remedies[-1].short_pieces) == (40, 10, 0)


def test_two_changes_where_one_is_not_enough() -> None:
    found = only(two_loads(), "oven", "mixer")
    assert best(found) == "one more oven like deck and one more mixer like spiral"
    assert [station for station, _ in _used(found, "bake")] == ["deck", "deck (new 1)"]
    assert {station for station, _ in _used(found, "mix")} == {"spiral", "spiral (new 1)"}


def _used(found: Remedies, what: str) -> list[tuple[str, int]]:
    assert found.best is not None
    tasks = found.best.timetable.tasks
    return sorted((task.station, task.begin_min) for task in tasks if task.what == what)


def test_costs_decide_and_what_has_none_is_not_to_be_had() -> None:
    costs: dict[Kind, Any] = {"opening": "90 EUR", "oven": "5 EUR", "mixer": "5 EUR"}
    found = remedies(two_loads("02:59"), costs=costs)
    assert [(remedy.kinds, str(remedy.cost)) for remedy in found.remedies if remedy.fits] == [
        (("opening",), "45.00 EUR"),
        (("opening",), "90.00 EUR"),
    ]
    dear = remedies(two_loads("02:40"), costs={"oven": "5 min", "mixer": "5 min"})
    assert dear.best is None
    assert {kind for remedy in dear.remedies for kind in remedy.kinds} <= {"oven", "mixer"}


def test_the_order_of_the_deliveries() -> None:
    """Sticks, due first but written last, come out of the one oven at 03:50; made first at 02:50, the last rounds at 03:50."""
    both = {"Quay Round": rounds(), "Mooring Stick": rounds()}
    table = day(shop(both), order(80, "03:30"), order(40, "02:50", STICK))
    assert table.late_piece_min == 40 * 60
    alone = only(table, "order").remedies[0]
    assert alone.what == "make what is due first before the rest"
    assert alone.timetable.late_piece_min == 40 * 20
    assert timetable(table.day, table.workshop, order="due") == alone.timetable


def hands(**more: Any) -> Workshop:  # noqa: ANN401
    """Divided 240 an hour: 40 pieces take two people 5 min, one 10; from 01:20, or when somebody is there."""
    process = rounds(divide=240)
    return shop({"Quay Round": process}, **more)


def test_a_break_moved() -> None:
    """Dividing would be from 01:20 to 01:30, but from 01:00 to 01:45 nobody works: packed 25 min later than 03:00."""
    shift = Shift("00:00", "08:00", people=1, breaks=[("01:00", "01:45"), ("03:00", "03:30")])
    table = day(hands(shifts=[shift]), order(40, "03:00"))
    assert (table.late_min, remedies(table).bottleneck) == (25, "the hours")
    assert best(only(table, "break")) == "move the break of 01:00 to 00:30"
    told = [task.begin_min for task in _tasks(only(table, "break"), "divide")]
    assert told == [80]


def _tasks(found: Remedies, what: str) -> list[Any]:
    assert found.best is not None
    return [task for task in found.best.timetable.tasks if task.what == what]


def test_a_break_is_never_moved_out_of_the_shift_or_into_another() -> None:
    shift = Shift("00:00", "03:40", people=1, breaks=[("01:00", "01:45"), ("02:00", "02:30")])
    for remedy in only(day(hands(shifts=[shift]), order(40, "03:00")), "break").remedies:
        for table_shift in remedy.timetable.workshop.shifts:
            assert all(one[1] <= other[0] for one, other in pairwise(table_shift.breaks_min))
            assert table_shift.breaks_min[-1][1] <= table_shift.end_min


def test_a_break_ends_with_its_shift_at_the_latest() -> None:
    """Of 30 min from 01:00 in a shift until 02:00: half an hour later it just fits, an hour later it does not."""
    table = day(hands(shifts=[Shift("00:00", "02:00", people=1, breaks=[("01:00", "01:30")])]), order(40, "03:00"))
    changes = possible_changes(Setting(table.day, table.workshop), {})
    assert {change.what for change in changes if change.kind == "break"} == {
        f"move the break of 01:00 to {to}" for to in ("00:00", "00:30", "01:30")
    }


def test_what_is_made_in_the_order_of_the_deliveries_is_not_put_into_it_again() -> None:
    table = two_loads()
    given, due = (possible_changes(Setting(table.day, table.workshop, each), {}) for each in ("given", "due"))
    assert [change.what for change in given if change.kind == "order"] == ["make what is due first before the rest"]
    assert due == tuple(change for change in given if change.kind != "order")


def by_hand(people: int, capacity: str, due: str) -> Timetable:
    """Shaped by one for each mix, 40 in 40 min; two ovens."""
    process = rounds(shape=60, proof=Wait("1 h", latest="2 h"), loads={"deck": 40, "other": 40})
    workshop = shop(
        {"Quay Round": process},
        shifts=[Shift("00:00", "08:00", people=people)],
        ovens=[Oven("deck"), Oven("other", turn_round="1 min")],
    )
    return day(workshop, order(80, due), mixers=(Mixer("spiral", capacity=capacity, friction="20 K"),))


def test_one_more_person() -> None:
    """The first mix is shaped from 01:20 to 02:00, so the second from 02:00 to 02:40, and packed at 04:10; with two from 01:40."""
    table = by_hand(1, "40 kg", "03:50")
    assert (table.day.mix_count, table.late_min) == (2, 20)
    found = only(table, "people")
    assert best(found) == "one more person on the shift from 00:00 to 08:00"
    assert found.bottleneck == "bench"


def test_smaller_mixes() -> None:
    """One shapes 80 from 01:20 to 02:40, so that the second load is packed at 04:10; two mixes are shaped side by side."""
    table = by_hand(2, "100 kg", "03:50")
    assert (table.day.mix_count, table.late_min) == (1, 20)
    found = only(table, "mixes")
    assert best(found) == "make Quay Round in 2 mixes instead of 1"
    assert found.best is not None
    assert [mix.pieces for mix in found.best.timetable.day.breads[0].mixes] == [40]


def test_a_shift_that_begins_earlier_or_ends_later() -> None:
    """Who divides comes at 02:00, forty minutes late for the first dough."""
    table = day(hands(shifts=[Shift("02:00", "08:00", people=1)]), order(40, "03:00"))
    assert table.late_min == 40
    assert best(only(table, "shift")) == "begin the shift from 02:00 to 08:00 60 min earlier"
    night = day(hands(shifts=[Shift("00:00", "01:10", people=1)]), order(40, "03:00"))
    assert night.short_pieces == 40
    assert best(only(night, "shift")) == "end the shift from 00:00 to 01:10 30 min later"


def test_the_first_shift_opens_with_the_doors() -> None:
    table = day(hands(shifts=[Shift("00:00", "08:00", people=1)]), order(40, "02:40"))
    found = only(table, "opening")
    assert best(found) == "open 30 min earlier, at 23:30 the day before, with the shift that begins then"
    assert found.best is not None
    assert found.best.timetable.workshop.shifts[0].begin_min == -30


def test_a_quicker_turn_round() -> None:
    """The second load waits for 20 min of turn-round; 10 are enough."""
    table = two_loads("03:30", ovens=[Oven("deck", turn_round="20 min")])
    assert table.late_min == 10
    assert best(only(table, "turn-round")) == "load deck again 10 min after it is drawn, not 20"
    mixer = day(shop(ovens=[Oven("deck"), Oven("other")], processes={"Quay Round": rounds(loads={"deck": 40, "other": 40})},
                     turn_round="20 min"), order(160, "03:20"))  # fmt: skip
    assert best(only(mixer, "turn-round")) == "fill a mixer again 10 min after it is emptied, not 20"


def test_one_more_tub() -> None:
    """One tub: the second bulk begins when the first ends at 01:20; with two it waits for the oven alone."""
    table = two_loads("03:20", tubs=1)
    assert table.late_min == 30
    found = only(table, "places")
    assert best(found) == "2 tubs instead of 1"
    assert found.bottleneck == "tubs"


def test_more_gear() -> None:
    """Of 48 tins 30 are back when the first load is drawn at 02:50; with 60 the second mix waits for the oven alone."""
    table = day(shop({"Quay Round": rounds(gear={"tins": "bake"})}, gear={"tins": 48}), order(60, "03:20"))
    assert table.late_min == 60
    found = only(table, "gear")
    assert best(found) == "60 tins instead of 48"
    assert found.bottleneck == "tins"


def test_another_mixer() -> None:
    """All goes to the arm, the smaller one; the rounds take it until 00:40."""
    arm = Mixer("arm", capacity="60 kg", friction="12 K")
    both = {"Quay Round": rounds(), "Mooring Stick": rounds(loads={"other": 40})}
    workshop = shop(both, ovens=[Oven("deck"), Oven("other")])
    # One is too small for a piece, and one too large for a mix of theirs.
    others = (
        Mixer("bowl", capacity="500 g", friction="9 K"),
        Mixer("tub", capacity="200 kg", smallest="90 kg", friction="9 K"),
    )
    table = day(workshop, order(80, "03:20"), order(40, "03:00", STICK), mixers=(SPIRAL, arm, *others))
    assert table.late_min == 30
    found = only(table, "other mixer")
    assert best(found) == "mix Quay Round in spiral"
    assert [remedy.what for remedy in found.remedies] == ["mix Quay Round in spiral", "mix Mooring Stick in spiral"]
    assert {station for station, _ in _used(found, "mix")} == {"spiral", "arm"}


def test_a_process_retarded_overnight() -> None:
    """The clay oven bakes from 03:00; who divides is there in the evening and from 02:00, too late for the first load."""
    workshop = shop(
        opens="18:00 the day before",
        processes={"Quay Round": rounds(divide=240)},
        ovens=[Oven("deck", fired=["02:00"], firing="1 h", lasts="1 h 15 min")],
        shifts=[Shift("18:00 the day before", "20:00 the day before", people=1), Shift("02:00", "08:00", people=1)],
    )
    table = day(workshop, order(80, "04:00"))
    assert (table.late_min, table.late_pieces) == (10, 40)
    night = rounds(divide=240, proof=Wait("8 h", earliest="7 h", latest="9 h"))
    found = only(table, "process", variants={"Quay Round": {"retarded overnight": night}})
    assert best(found) == "make Quay Round another way: retarded overnight"
    assert sorted(begin for _, begin in _used(found, "bake")) == [180, 210]


def test_what_is_said_in_words() -> None:
    found = remedies(two_loads(), costs={"oven": "3 h", "mixer": "2 h"})
    assert found.said == (
        "40 pieces are late, the last of them by 20 min.",
        "The day waits for deck.",
        "One more oven like deck and one more mixer like spiral (5 h): then all is in time.",
        "One more oven like deck (3 h): then 40 pieces are late, the last by 10 min.",
    )


def test_pieces_without_room_are_said_to_be_short() -> None:
    night = day(hands(shifts=[Shift("00:00", "01:10", people=1)]), order(40, "03:00"))
    found = remedies(night, costs={"oven": "1 EUR"})
    assert found.said[:2] == ("No piece is late.", "For 40 pieces there is no room at all.")
    assert found.bottleneck == "the hours"


def test_the_search_stops_and_says_so() -> None:
    lines: list[str] = []
    found = remedies(two_loads(), most_replans=4, progress=lines.append)
    assert (found.replans, len(lines)) == (4, 4)
    assert lines[0] == "1 of at most 4: twice as much of spiral"
    assert [caution.code for caution in found.cautions] == ["search-stopped"]


def test_it_is_a_value_and_a_table() -> None:
    found = remedies(two_loads())
    assert found == remedies(two_loads())
    assert hash(found) == hash(remedies(two_loads()))
    assert pickle.loads(pickle.dumps(found)) == found  # noqa: S301 - our own
    tables = found.to_tables()
    assert tables["bottleneck"] == "deck"
    assert tables["remedies"][0]["fits"] is True
    assert tables["strains"][0] == {
        "station": "deck", "short_pieces": 0, "late_pieces": 40, "late_piece_min": 400
    }  # fmt: skip


def test_what_cannot_be_asked_is_told_at_once() -> None:
    wrong: Any = {"ovens": "1 EUR", "oven": 1.0, "mixer": "1 h", "people": "90 EUR"}
    strange = {
        "Pier Roll": {"slow": rounds()},
        "Quay Round": {"slow": rounds(loads={"clay": 30}, gear={"tins": "bake"})},
    }
    with pytest.raises(FormulaError) as told:
        remedies(two_loads(), costs=wrong, variants=strange)
    assert [fault.where for fault in told.value.faults] == [
        "variants",
        "variants: Quay Round: slow: loads",
        "variants: Quay Round: slow: gear",
        "costs",
        "costs: oven",
        "costs",
    ]
    assert ", ".join(KINDS) in str(told.value)
