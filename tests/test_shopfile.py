"""The workshop's file: what it says, what it refuses, and the harbour's day on the clock."""

import json
import re
import shutil
from functools import cache
from pathlib import Path

import pytest
from attrs import fields_dict

from formula import load_day, load_workshop, plan_day, timetable
from formula.clockwork import Timetable
from formula.errors import FileError
from formula.shopfile import _OvenTable, _ProcessTable, _ShiftTable, _WorkshopTable
from formula.workshop import Workshop
from tests.timetables import check_tables, facts_of

HARBOUR = Path(__file__).parents[1] / "docs" / "examples" / "harbour"


def harbour() -> Workshop:
    found = load_workshop(HARBOUR)
    assert found
    return found


@cache
def harbour_table() -> Timetable:
    shop = harbour()
    return timetable(plan_day(*load_day(HARBOUR), shop), shop)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(HARBOUR, tmp_path / "day"))


def change(folder: Path, *pairs: tuple[str, str]) -> Path:
    file = folder / "workshop.toml"
    text = file.read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new, 1)
    file.write_text(text, encoding="utf-8")
    return folder


def told(folder: Path, **options: str) -> str:
    with pytest.raises(FileError) as caught:
        load_workshop(folder, **options)
    return str(caught.value)


class TestWhatItSays:
    def test_hours_places_and_machines(self) -> None:
        shop = harbour()
        assert shop.opens_min == -8 * 60
        assert (shop.tubs, shop.proof_places, shop.cool_places, shop.slicers, shop.packers) == (16, 2400, 4000, 1, 3)
        assert (shop.turn_round_min, shop.cleaning_min, shop.gear_return_min) == (5, 0, 30)
        assert dict(shop.gear) == {"baskets": 1100, "tins": 500}
        clay = shop.ovens[-1]
        assert (clay.name, clay.turn_round_min, clay.firing_min, clay.lasts_min) == ("the clay oven", 3, 30, 120)
        assert clay.fired_min == (30, 180, 330, 480)
        assert clay.slows_share == pytest.approx(0.25)
        first = shop.shifts[0]
        assert (first.begin_min, first.end_min, first.people) == (-360, 360, 8)
        assert first.breaks_min == ((-120, -90), (120, 140))
        assert (shop.wall.date, shop.wall.zone) == ("", "")

    def test_a_process(self) -> None:
        found = harbour().processes["Quay Round"]
        assert (found.mix_min, found.bake_min, found.cool_min, found.folds_min) == (12, 34, 45, (30,))
        assert (found.bulk.earliest_min, found.bulk.best_min, found.bulk.latest_min) == (50, 60, 100)
        assert (found.divide_rate, found.shape_rate, found.shape_people, found.pack_rate) == (1200, 150, 6, 1200)
        assert dict(found.loads) == dict.fromkeys(("deck 1", "deck 2", "deck 3", "deck 4"), 170)
        assert found.stages["biga"].latest_min == 20 * 60
        assert dict(found.gear) == {"baskets": "proof"}

    def test_the_page_of_the_documentation_shows_every_key(self, folder: Path) -> None:
        page = (HARBOUR.parents[1] / "day.md").read_text(encoding="utf-8")
        (folder / "workshop.toml").write_text(page.split("```toml\n")[1].split("```")[0], encoding="utf-8")
        found = load_workshop(folder)
        assert found
        assert (found.cleaning_min, found.wall.date, found.wall.zone) == (15, "2026-11-25", "Etc/GMT-1")
        process = found.processes["Quay Round 800 g"]
        assert (process.autolyse_min, process.rest.latest_min, process.gear["baskets"]) == (20, 15, "proof")
        for table in (_WorkshopTable, _OvenTable, _ShiftTable, _ProcessTable):
            for key in fields_dict(table):
                assert re.search(rf"^(\[+|\[process\.)?{key}(\]| =)", page, re.MULTILINE), key

    def test_every_bread_that_is_ordered_has_one(self) -> None:
        assert {order.bread.name for order in load_day(HARBOUR)[0]} == set(harbour().processes)

    def test_a_wait_of_one_time(self, folder: Path) -> None:
        change(folder, ('bulk = { best = "1 h", earliest = "50 min", latest = "1 h 40 min" }', 'bulk = "1 h"'))
        found = load_workshop(folder)
        assert found
        bulk = found.processes["Quay Round"].bulk
        assert (bulk.earliest_min, bulk.best_min, bulk.latest_min) == (60, 60, 60)

    def test_without_the_file_there_is_no_clock(self, folder: Path) -> None:
        (folder / "workshop.toml").unlink()
        assert load_workshop(folder) is None

    def test_a_date_from_outside(self) -> None:
        found = load_workshop(HARBOUR, date="2026-11-25")
        assert found
        assert found.wall.date == "2026-11-25"

    def test_a_process_for_one_weight(self, folder: Path) -> None:
        """It holds for that weight, also where the day has the bread in this weight alone; the other keeps the plain one."""
        text = (HARBOUR / "workshop.toml").read_text(encoding="utf-8")
        plain = text.split("[[process]]")[1]
        own = plain.replace('bread = "quay-round"', 'bread = "quay-round"\nbaked = "0.8 kg"').replace(
            'bake = "34 min"', 'bake = "41 min"'
        )
        (folder / "workshop.toml").write_text(f"{text}\n[[process]]{own}", encoding="utf-8")
        orders, bakery = load_day(folder)
        shop = load_workshop(folder)
        assert shop
        table = timetable(plan_day(orders, bakery, shop), shop)
        baking = {t.end_min - t.begin_min for t in table.tasks if t.what == "bake" and t.bread == "Quay Round"}
        assert baking == {41}
        text = (folder / "orders.toml").read_text(encoding="utf-8")
        (folder / "orders.toml").write_text(text.replace('"800 g"', '"1 kg"', 1), encoding="utf-8")
        orders, bakery = load_day(folder)
        table = timetable(plan_day(orders, bakery, shop), shop)
        baking = {t.end_min - t.begin_min for t in table.tasks if t.what == "bake" and t.bread == "Quay Round 1000 g"}
        assert baking == {34}


class TestWhatItRefuses:
    @pytest.mark.parametrize(
        ("old", "new", "text"),
        [
            ('opens = "16:00 the day before"', "", "workshop.toml: opens: got nothing, expected the key 'opens'"),
            ('opens = "16:00 the day before"', 'opens = "4 pm"', "workshop.toml: opens: got '4 pm', expected a time of day"),
            ("tubs = 16", "tubs = 0", "workshop.toml: tubs: got 0, expected a whole number of 1 or more"),
            ("tubs = 16", 'tubs = "16"', "workshop.toml: tubs: got '16', expected a whole number"),
            ("packers = 3", "packer = 3", "workshop.toml: packer: got an unknown key"),
            ('turn_round = "5 min"', 'turn_round = "5"', "workshop.toml: turn_round: got '5', expected a time"),
            ("baskets = 1100", "baskets = 1.5", "workshop.toml: gear.baskets: got 1.5"),
            ('name = "deck 1"', "name = 1", "workshop.toml: oven[0].name: got 1, expected text"),
            ('firing = "30 min"', "", "workshop.toml: oven[4] (oven the clay oven): got firings without their times"),
            ('fired = ["00:30",', 'fired = ["24:30",', "workshop.toml: oven[4] (oven the clay oven: fired[0]): got '24:30'"),
            ('slows = "25 %"', "slows = 0.25", "workshop.toml: oven[4].slows: got 0.25, expected a share"),
            ('end = "06:00"', 'end = "18:00 the day before"', "workshop.toml: shift[0] (shift): got 18:00 the day before to"),
            ("people = 8", "people = 0", "workshop.toml: shift[0] (shift: people): got 0"),
            ('["02:00", "02:20"]', '["02:00"]', "workshop.toml: shift[0] (breaks[1]): got 1 times"),
            ('["02:00", "02:20"]', '"02:00"', "workshop.toml: shift[0].breaks[1]: got '02:00', expected a list"),
            ('["02:00", "02:20"]', '["02:00", "07:00"]', "workshop.toml: shift[0] (shift: breaks): got 02:00 to 07:00"),
            ('bread = "quay-round"', 'bread = "quay"', "workshop.toml: process[0].bread: got 'quay', expected one of the files"),
            ('bread = "gull-bun"', 'bread = "quay-round"', "workshop.toml: process[3]: got a second process for Quay Round"),
            ('mix = "12 min"', "", "workshop.toml: process[0].mix: got nothing, expected the key 'mix'"),
            ('mix = "12 min"', 'mix = "0 min"', "workshop.toml: process[0] (mix): got 0 min"),
            ('mix = "12 min"', 'mix = "12 °C"', "workshop.toml: process[0].mix: got '12 °C', expected a time"),
            ('latest = "1 h 40 min"', 'latest = "40 min"', "workshop.toml: process[0] (bulk): got earliest, best and latest"),
            ('latest = "1 h 40 min"', 'last = "40 min"', "workshop.toml: process[0].bulk.last: got an unknown key"),
            ('bulk = { best = "1 h", earliest = "50 min", latest = "1 h 40 min" }', 'bulk = "1"', "process[0].bulk: got '1', expected a time"),
            ('bulk = { best = "1 h", earliest = "50 min", latest = "1 h 40 min" }', 'bulk = ["1 h"]', "process[0].bulk: got a list, expected a table"),
            ('folds = ["30 min"]', 'folds = ["3 h"]', "workshop.toml: process[0] (folds): got 180 min"),
            ("shape = 150", "shape = -1", "workshop.toml: process[0] (shape): got -1"),
            ('"deck 1" = 170', '"deck 9" = 170', "workshop.toml: process[0] (loads): got 'deck 9', expected one of the ovens: deck 1"),
            ('"deck 1" = 170', '"deck 1" = 0', "workshop.toml: process[0] (loads: deck 1): got 0"),
            ('baskets = "proof"', 'boards = "proof"', "workshop.toml: process[0] (gear): got 'boards', expected one of: baskets, tins"),
            ('baskets = "proof"', 'baskets = "cool"', "workshop.toml: process[0] (gear: baskets): got 'cool'"),
            ('biga = { best = "16 h"', 'biga = { best = "9 h"', "workshop.toml: process[0] (stages: biga): got earliest, best"),
            ("[gear]", "[gear", "workshop.toml: got a TOML mistake"),
        ],
    )  # fmt: skip
    def test_one_fault(self, folder: Path, old: str, new: str, text: str) -> None:
        found = told(change(folder, (old, new)))
        assert text in found
        assert "faults" not in found

    def test_all_at_once(self, folder: Path) -> None:
        """A faulty part is no reason to keep quiet about the others, nor to complain of what names it."""
        found = told(
            change(
                folder,
                ('opens = "16:00 the day before"', 'opens = "25:00"'),
                ('name = "deck 1"\nturn_round = "6 min"', 'name = "deck 1"\nturn_round = "6 min"\nslows = "1 %"'),
                ('name = "deck 2"', 'name = " "'),
                ("people = 6", "people = -6"),
                ('mix = "12 min"', 'mix = "0 min"'),
                ('rest = { best = "20 min"', 'rest = { best = "2 min"'),
                ('bread = "regatta-braid"', 'bread = "regatta"'),
            )
        )
        for text in (
            "workshop.toml: opens: got '25:00'",
            "oven[0] (oven deck 1): got times of a firing",
            "oven[1] (oven): got ' '",
            "shift[1] (shift: people): got -6",
            "process[0] (mix): got 0 min",
            "process[1] (rest): got earliest, best and latest",
            "process[7].bread: got 'regatta'",
        ):
            assert text in found, text
        # Deck 2 has lost its name, which the loads of eight breads still ask for.
        assert "deck 1'" not in found

    def test_two_ovens_of_one_name(self, folder: Path) -> None:
        found = told(change(folder, ('name = "deck 4"', 'name = "deck 2"')))
        assert "workshop.toml: ovens: got deck 2 2 times, expected each name once" in found
        assert "workshop.toml: process[7] (loads): got 'deck 4', expected one of the ovens: deck 1, deck 2" in found

    def test_a_formula_file_that_cannot_be_read(self, folder: Path) -> None:
        (folder / "breads" / "quay-round.toml").write_text("name = ", encoding="utf-8")
        assert "quay-round.toml: got a TOML mistake" in told(folder)

    def test_dates(self, folder: Path) -> None:
        assert "workshop.toml: date: got 'tomorrow'" in told(folder, date="tomorrow")
        change(folder, ("tubs = 16", 'zone = "Europe/Berlin"\ntubs = 16'))
        assert "workshop.toml: zone: got 'Europe/Berlin' without a date" in told(folder)
        assert load_workshop(folder, date="2026-11-25")

    def test_a_folder_that_is_not_there(self, tmp_path: Path) -> None:
        assert "got no folder" in told(tmp_path / "nowhere")


class TestTheHarbourDay:
    """A day as a head baker would run it."""

    @pytest.fixture
    def table(self) -> Timetable:
        return harbour_table()

    def test_it_fits_backwards_from_the_deliveries(self, table: Timetable) -> None:
        assert table.fits
        assert table.aim == "latest"
        assert all(each.ready_min <= each.due_min for each in table.orders if each.due_min is not None)

    def test_an_independent_checker_can_follow_it(self, table: Timetable) -> None:
        assert check_tables(json.loads(json.dumps(table.to_tables())), facts_of(table)) == []

    def test_about_600_loaves_a_shaper(self, table: Timetable) -> None:
        """Common practice for large loaves in a shift of 12 hours; our day has small ones among them."""
        # By day, before the opening, there is one baker for the preferments alone.
        shifts = [shift for shift in table.workshop.shifts if shift.end_min > table.workshop.opens_min]
        shapers = sum(shift.people for shift in shifts)
        assert all(shift.end_min - shift.begin_min == 12 * 60 for shift in shifts)
        assert 500 <= sum(task.pieces for task in table.tasks if task.what == "shape") / shapers <= 600

    def test_the_clay_oven_is_fired_again_and_again_and_bakes_within_minutes(self, table: Timetable) -> None:
        loads = [task for task in table.tasks if task.station == "the clay oven"]
        assert len(loads) >= 1140 / 72
        assert max(task.pieces for task in loads) == 72
        assert {task.bread for task in loads} == {"Ember Flat"}
        assert all(4 <= task.end_min - task.begin_min <= 6 for task in loads)
        assert len({number for t in loads for number, (begin, end) in enumerate(table.workshop.ovens[-1].hot()) if begin <= t.begin_min < end}) == 4  # fmt: skip

    def test_the_slow_arm_takes_forty_minutes_and_the_bulk_up_to_four_hours(self, table: Timetable) -> None:
        flats = [task for task in table.tasks if task.bread == "Ember Flat"]
        assert {(task.station, task.end_min - task.begin_min) for task in flats if task.what == "mix"} == {
            ("the slow arm", 40)
        }
        assert all(180 <= task.end_min - task.begin_min <= 240 for task in flats if task.what == "bulk")

    def test_mixes_that_are_alike_are_numbered_as_they_are_made(self, table: Timetable) -> None:
        for plan in table.day.breads:
            for group in plan.mixes:
                begins = [
                    task.begin_min
                    for number in range(group.first, group.last + 1)
                    for task in table.tasks
                    if (task.what, task.bread, task.mix) == ("mix", plan.name, number)
                ]
                assert len(begins) == group.count
                assert begins == sorted(begins)
