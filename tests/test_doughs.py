"""Doughs that several breads share: what is one dough, its mixes, what each bread gets of them, and their way on the clock."""

import json
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from formula import cli
from formula.bakery import Bakery, Hour, Mixer
from formula.clockwork import Timetable, timetable
from formula.day import DayPlan, plan_day
from formula.daycalendar import day_ics
from formula.dayjobs import plan_jobs
from formula.daypages import PageTable, day_pages
from formula.daysheet import day_html
from formula.doughs import common_dough, dough_key
from formula.errors import ContradictionError, FileError, FormulaError
from formula.evening import StageBuilds, stage_builds
from formula.folder import load_day
from formula.formula import Formula
from formula.hourwater import waters
from formula.losses import Losses
from formula.nightorders import changed_orders
from formula.orders import Order
from formula.plot import plot_timetable
from formula.process import Process, Wait
from formula.stage import Culture, Stage
from formula.workshop import Oven, Shift, Workshop
from tests import evenings
from tests.arithmetic import check_working
from tests.days import check_doughs
from tests.timetables import check_tables, facts_of

LINES = {"bread flour": 100, "water": 60, "salt": 2}
ROUND = Formula.from_percents("Quay Round", LINES, losses=Losses(handling="2 %", bake="11 %"), toppings={"sesame seeds": "5 g"})  # fmt: skip
STICK = Formula.from_percents("Quay Stick", LINES, losses=Losses(handling="5 %", bake="20 %"), reject="1 %")
BUN = Formula.from_percents("Gull Bun", {**LINES, "whole milk": 5})
SPIRAL = Mixer("spiral", capacity="60 kg", friction="20 K")
BAKERY = Bakery("harbour", mixers=[SPIRAL], flour="21 °C", room="23 °C", tap="14 °C", steps="10 g", divider="5 g")
ORDERS = (
    Order(ROUND, pieces=100, baked="800 g", due="08:00"),
    Order(STICK, pieces=199, baked="250 g", due="09:00"),
    Order(ROUND, pieces=50, baked="400 g", due="09:00"),
    Order(BUN, pieces=300, baked="80 g", due="08:00"),
)
POOLISH = Stage("poolish", {"bread flour": 100, "water": 100}, flour="20 %")


def formula(name: str = "x", lines: dict[str, float] | None = None, **facts: Any) -> Formula:  # noqa: ANN401
    return Formula.from_percents(name, lines or LINES, **facts)


class TestOneDough:
    def test_what_makes_no_difference(self) -> None:
        other = formula(
            "another", {"salt": 2, "strong flour": 100, "Water": 60}, losses=Losses(bake="9 %"), reject="1 %"
        )
        assert dough_key(other) == dough_key(ROUND) == dough_key(STICK)

    def test_weights_and_percentages(self) -> None:
        weighed = Formula.from_weights("w", {"bread flour": "3 kg", "water": "1.8 kg", "salt": "60 g"})
        assert dough_key(weighed) == dough_key(ROUND)

    def test_a_stage_whose_size_is_said_in_another_way(self) -> None:
        one = formula(stages=[POOLISH])
        two = formula(stages=[Stage("poolish", {"bread flour": "1 kg", "water": "1 kg"}, flour="20 %")])
        three = formula(stages=[Stage("poolish", {"bread flour": 100, "water": 100}, weight="40 %")])
        assert dough_key(one) == dough_key(two) == dough_key(three)

    @pytest.mark.parametrize(
        "other",
        [
            formula(lines={"bread flour": 100, "water": 61, "salt": 2}),
            formula(dough_temperature="25 °C"),
            formula(stages=[POOLISH]),
            formula(later={"water": 5}),
            formula(lines={"bread flour": 100, "water": 60, "salt": 2, "fresh yeast": 1}),
            formula(lines={"whole wheat flour": 100, "water": 60, "salt": 2}),
        ],
    )
    def test_what_does(self, other: Formula) -> None:
        assert dough_key(other) != dough_key(formula())

    def test_how_a_stage_is_made_does(self) -> None:
        levain = {"bread flour": 100, "water": 100, "culture": 20}
        made = [
            formula(stages=[Stage("levain", levain, flour="20 %", culture=Culture(counted), keep=keep)])
            for counted, keep in (("returned", 0.0), ("returned", 5.0))
        ]
        assert len({dough_key(each) for each in made}) == 2

    def test_the_common_dough_has_nothing_of_one_bread(self) -> None:
        both = common_dough([ROUND, STICK])
        assert (both.name, dict(both.toppings_g), both.reject_share) == ("Quay Round + Quay Stick", {}, 0)
        assert dough_key(both) == dough_key(ROUND)
        assert common_dough([ROUND]) is ROUND


class TestSharedMixes:
    PLAN = plan_day(ORDERS, BAKERY, share=True)

    def test_everything_adds_up(self) -> None:
        check_doughs(self.PLAN, ORDERS, BAKERY)
        assert [len(dough.breads) for dough in self.PLAN.doughs] == [3, 1]

    def test_by_hand(self) -> None:
        # Pieces on the divider: 800 / 0.89 = 898.9 -> 900 g, 250 / 0.8 = 312.5 -> 315 g, 400 / 0.89 = 449.4 -> 450 g.
        # 199 / 0.99 = 201.01 -> 202 sticks.  Dough: 100 x 900 / 0.98 + 202 x 315 / 0.95 + 50 x 450 / 0.98 = 181,775 g:
        # four mixes of a mixer that holds 60 kg; 100, 202 and 50 pieces are 25, 50 or 51, and 12 or 13 in each.
        dough = self.PLAN.doughs[0]
        assert dough.name == "Quay Round 800 g + Quay Stick + Quay Round 400 g"
        assert dough.mix_count == 4
        sizes = [tuple(portion.pieces for portion in mix.portions) for mix in dough.mixes for _ in range(mix.count)]
        assert sizes == [(25, 51, 12), (25, 51, 12), (25, 50, 13), (25, 50, 13)]
        needed = 25 * 900 / 0.98 + 51 * 315 / 0.95 + 12 * 450 / 0.98
        assert dough.mixes[0].needed_g == pytest.approx(needed)
        assert needed <= dough.mixes[0].batch.dough_g <= needed + 10

    def test_fewer_mixes_than_apart(self) -> None:
        # Apart: 91,837 g in 2 mixes, 66,979 g in 2, 22,959 g in 1.
        apart = plan_day(ORDERS[:3], BAKERY)
        assert [bread.mix_count for bread in apart.breads] == [2, 2, 1]

    def test_the_part_of_each_bread(self) -> None:
        dough = self.PLAN.doughs[0]
        assert sum(bread.dough_g for bread in dough.breads) == pytest.approx(dough.dough_g, rel=1e-12)
        for bread in dough.breads:
            assert bread.is_shared
            check_working(bread.working(), float(bread.mix_count))
        check_working(dough.working(), 4.0)
        check_working(self.PLAN.doughs[1].working(), 1.0)
        check_working(self.PLAN.working(), self.PLAN.dough_g)
        assert self.PLAN.dough.m_as("g") == pytest.approx(self.PLAN.dough_g)
        assert dough.dough.m_as("kg") == pytest.approx(dough.dough_g / 1000)

    def test_toppings_go_to_their_bread(self) -> None:
        toppings = {bread.name: dict(bread.toppings_g()) for bread in self.PLAN.breads}
        assert toppings == {
            "Quay Round 800 g": {"sesame seeds": 500}, "Quay Stick": {}, "Quay Round 400 g": {"sesame seeds": 250},
            "Gull Bun": {},
        }  # fmt: skip
        assert self.PLAN.ingredients_g["sesame seeds"] == 750

    def test_the_tables(self) -> None:
        tables = json.loads(json.dumps(self.PLAN.to_tables()))
        assert tables["mixes"] == 5
        first = tables["breads"][0]
        assert first["dough"] == self.PLAN.doughs[0].name
        assert first["mixes"][0]["pieces"] == 25
        assert [portion["pieces"] for portion in first["mixes"][0]["portions"]] == [25, 51, 12]
        assert sum(bread["dough_g"] for bread in tables["breads"]) == pytest.approx(tables["dough_g"])

    def test_more_mixes_than_pieces_of_one_bread(self) -> None:
        orders = (Order(ROUND, pieces=200, baked="800 g"), Order(STICK, pieces=2, baked="250 g"))
        plan = plan_day(orders, BAKERY, share=True)
        check_doughs(plan, orders, BAKERY)
        # Of two sticks ordered three are made: 2 / 0.99, rounded up.
        assert [bread.mix_count for bread in plan.breads] == [4, 3]

    def test_whole_pieces_may_ask_for_one_mix_more(self) -> None:
        # 2 x 36 and 2 x 27 kg are 126 kg, which three mixes of 60 kg would hold; but of the four pieces two would have to
        # go together, and no two of them do.
        one, two = formula("one"), formula("two")
        orders = (Order(one, pieces=2, baked="36 kg"), Order(two, pieces=2, baked="27 kg"))
        plan = plan_day(orders, BAKERY, share=True)
        check_doughs(plan, orders, BAKERY)
        assert plan.mix_count == 4

    def test_the_bakery_says_it_too(self) -> None:
        sharing = Bakery(
            "h",
            mixers=[SPIRAL],
            flour="21 °C",
            room="23 °C",
            tap="14 °C",
            steps="10 g",
            divider="5 g",
            share_doughs=True,
        )
        assert len(plan_day(ORDERS, sharing).doughs) == 2
        assert len(plan_day(ORDERS, sharing, share=False).doughs) == 4
        assert len(plan_day(ORDERS, BAKERY).doughs) == 4

    def test_two_formulas_of_one_name_at_one_weight(self) -> None:
        other = Formula.from_percents("Quay Round", LINES)
        orders = (Order(ROUND, pieces=10, baked="800 g"), Order(other, pieces=20, baked="800 g"))
        plan = plan_day(orders, BAKERY, share=True)
        check_doughs(plan, orders, BAKERY)
        assert [bread.name for bread in plan.breads] == ["Quay Round 800 g (1)", "Quay Round 800 g (2)"]
        assert len(plan.doughs) == 1
        assert len(plan_day(orders, BAKERY).doughs) == 2

    def test_a_piece_heavier_than_every_mixer(self) -> None:
        orders = (Order(ROUND, pieces=1, baked="1 kg"), Order(STICK, pieces=1, baked="70 kg"))
        with pytest.raises(FormulaError, match="Quay Stick: got pieces of 87500 g"):
            plan_day(orders, BAKERY, share=True)

    def test_cautions_are_told_once(self) -> None:
        coarse = Mixer("spiral", capacity="60 kg", smallest="59 kg", friction="20 K")
        place = Bakery("h", mixers=[coarse], flour="21 °C", room="23 °C", tap="14 °C")
        plan = plan_day(ORDERS[:3], place, share=True)
        assert [caution.text.split(":")[0] for caution in plan.cautions] == [plan.doughs[0].name]


def process(**changes: Any) -> Process:  # noqa: ANN401
    facts: dict[str, Any] = {
        "mix": "20 min", "bulk": Wait("90 min", earliest="80 min", latest="2 h"), "divide": 600, "shape": 400,
        "rest": Wait("20 min", earliest="10 min", latest="50 min"), "bake": "30 min", "loads": {"deck": 80},
        "proof": Wait("60 min", earliest="40 min", latest="100 min"), "cool": "30 min", "pack": 1000, **changes,
    }  # fmt: skip
    return Process(**facts)


def workshop(stick: Process | None = None, **changes: Any) -> Workshop:  # noqa: ANN401
    facts: dict[str, Any] = {
        "opens": "20:00 the day before",
        "ovens": [Oven("deck", turn_round="5 min")],
        "shifts": [Shift("20:00 the day before", "12:00", people=2)],
        "processes": {"Quay Round": process(), "Quay Stick": stick or process(bake="20 min"), "Gull Bun": process(bake="12 min")},
        "turn_round": "5 min",
        **changes,
    }  # fmt: skip
    return Workshop(**facts)


def on_the_clock(shop: Workshop, plan: DayPlan | None = None, **options: Any) -> Timetable:  # noqa: ANN401
    found = timetable(plan or plan_day(ORDERS, BAKERY, shop, share=True), shop, **options)
    assert check_tables(json.loads(json.dumps(found.to_tables())), facts_of(found)) == []
    return found


class TestOnTheClock:
    def test_mixed_once_and_divided_apart(self) -> None:
        found = on_the_clock(workshop())
        assert found.fits
        name = found.day.doughs[0].name
        mixed = [task for task in found.tasks if task.what == "mix" and task.bread == name]
        assert [task.mix for task in mixed] == [1, 2, 3, 4]
        first = sorted((t for t in found.tasks if t.what == "divide" and t.mix == 1), key=lambda t: t.begin_min)
        parts = [task for task in first if task.bread != "Gull Bun"]
        assert [(task.bread, task.pieces) for task in parts] == [("Quay Round 800 g", 25), ("Quay Stick", 51), ("Quay Round 400 g", 12)]  # fmt: skip
        assert [one.end_min for one in parts[:-1]] == [two.begin_min for two in parts[1:]]
        assert found.to_tables()["doughs"][name] == ["Quay Round 800 g", "Quay Stick", "Quay Round 400 g"]

    def test_each_bread_by_its_own_process(self) -> None:
        found = on_the_clock(workshop(stick=process(divide=0, bake="20 min", proof=Wait("30 min", latest="80 min"))))
        bakes = {task.bread: task.end_min - task.begin_min for task in found.tasks if task.what == "bake"}
        assert bakes["Quay Stick"] == 20
        assert bakes["Quay Round 800 g"] == 30

    def test_breads_that_do_not_agree_are_refused(self) -> None:
        shop = workshop(stick=process(mix="25 min", bulk="80 min"))
        with pytest.raises(ContradictionError) as caught:
            plan_jobs(plan_day(ORDERS, BAKERY, share=True), shop)
        text = str(caught.value)
        assert "mix of Quay Round 800 g and Quay Stick: got 20 min and 25 min" in text
        assert "bulk of Quay Round 800 g and Quay Stick: got 90 min (80 to 120 min) and 80 min" in text
        assert "do not share" in text
        on_the_clock(shop, plan_day(ORDERS, BAKERY, shop, share=False))

    def test_no_mix_has_more_than_the_oven_keeps_up_with(self) -> None:
        slow = workshop(stick=process(bake="60 min", loads={"deck": 20}))
        plan = plan_day(ORDERS, BAKERY, slow, share=True)
        check_doughs(plan, ORDERS, BAKERY)
        stick = plan.breads[1]
        assert stick.most is not None
        assert max(stick.portion(mix).pieces for mix in stick.mixes) <= stick.most < 50
        check_working(plan.doughs[0].working(), float(plan.doughs[0].mix_count))

    def test_what_finds_no_room_is_short_bread_by_bread(self) -> None:
        shop = workshop(
            ovens=[Oven("deck", turn_round="5 min", fired=["20:00 the day before"], firing="2 h", lasts="5 h")]
        )
        found = on_the_clock(shop)
        assert found.short_pieces > 0
        unplaced = [part for job in found.unplaced for part in job.breads]
        assert sum(part.pieces for part in unplaced) == found.short_pieces


class TestCleaning:
    def test_between_milk_and_none(self) -> None:
        shop = workshop(cleaning="20 min")
        orders = (ORDERS[3], *ORDERS[:3])
        found = on_the_clock(shop, plan_day(orders, BAKERY, shop, share=True), aim="earliest")
        (clean,) = [task for task in found.tasks if task.what == "clean"]
        before = max(t.end_min for t in found.tasks if t.what == "mix" and t.bread == "Gull Bun")
        after = min(t.begin_min for t in found.tasks if t.what == "mix" and t.bread != "Gull Bun")
        assert (clean.begin_min, clean.end_min) == (before + 5, before + 25)
        assert after >= clean.end_min
        assert [caution.code for caution in found.cautions] == ["cross-contact"]

    def test_none_in_the_order_of_allergens(self) -> None:
        shop = workshop(cleaning="20 min")
        orders = (ORDERS[3], *ORDERS[:3])
        for aim in ("latest", "earliest"):
            found = on_the_clock(shop, plan_day(orders, BAKERY, shop, share=True), aim=aim, order="allergens")
            assert [task for task in found.tasks if task.what == "clean"] == []
            assert found.order == "allergens"
            ends = [task.end_min for task in found.tasks if task.what == "mix" and task.bread != "Gull Bun"]
            begins = [task.begin_min for task in found.tasks if task.what == "mix" and task.bread == "Gull Bun"]
            assert max(ends) <= min(begins)

    def test_without_cleaning_time_nothing_is_cleaned(self) -> None:
        found = on_the_clock(workshop())
        assert "clean" not in {task.what for task in found.tasks}
        assert found.cautions == ()

    def test_an_unknown_order(self) -> None:
        with pytest.raises(FormulaError, match='order: got \'milk\', expected one of "given", "due", "allergens"'):
            timetable(plan_day(ORDERS, BAKERY), workshop(), order="milk")  # type: ignore[arg-type]

    @pytest.mark.parametrize("slip", ["none", "short", "late", "twice"])
    def test_the_checker_sees_a_slip(self, slip: str) -> None:
        shop = workshop(cleaning="20 min")
        found = on_the_clock(shop, plan_day((ORDERS[3], *ORDERS[:3]), BAKERY, shop, share=True), aim="earliest")
        tables = json.loads(json.dumps(found.to_tables()))
        place = next(place for place, task in enumerate(tables["tasks"]) if task["what"] == "clean")
        clean = tables["tasks"][place]
        if slip == "none":
            del tables["tasks"][place]
        elif slip == "short":
            clean["end_min"] -= 1
        elif slip == "late":
            clean["begin_min"], clean["end_min"] = clean["begin_min"] + 200, clean["end_min"] + 200
        else:
            tables["tasks"].append(dict(clean))
        assert check_tables(tables, facts_of(found))

    @pytest.mark.parametrize("what", ["mix", "bulk", "divide", "bake"])
    def test_the_checker_sees_a_part_that_is_missing(self, what: str) -> None:
        found = on_the_clock(workshop())
        tables = json.loads(json.dumps(found.to_tables()))
        place = next(
            place for place, task in enumerate(tables["tasks"]) if task["what"] == what and "Quay" in task["bread"]
        )
        del tables["tasks"][place]
        assert check_tables(tables, facts_of(found))


class TestOnPaper:
    """Sheets, calendar and picture of a day with a shared dough, cleanings and temperatures by the hour."""

    SHOP = workshop(cleaning="20 min", day="2026-11-25")
    PLACE = Bakery(
        "harbour", mixers=[SPIRAL], flour="21 °C", room="23 °C", tap="14 °C", steps="10 g", divider="5 g",
        hours=[Hour("21:00 the day before", room="26 °C")], share_doughs=True,
    )  # fmt: skip
    BREADS = tuple(
        Order(
            Formula.from_percents(order.bread.name, dict(order.bread.percents), dough_temperature="25 °C", toppings={name: f"{grams} g" for name, grams in order.bread.toppings_g.items()}),
            pieces=order.pieces, baked=f"{order.baked_g} g", due=order.due,
        )
        for order in (ORDERS[3], *ORDERS[:3])
    )  # fmt: skip
    TABLE = timetable(plan_day(BREADS, PLACE, SHOP), SHOP, aim="earliest")
    NAME = "Quay Round 800 g + Quay Stick + Quay Round 400 g"

    def page(self, title: str) -> dict[str, PageTable]:
        (page,) = [page for page in day_pages(self.TABLE) if page.title == title]
        return {table.title: table for table in page.tables}

    def test_the_whole_day_has_a_line_for_each_bread_of_a_mix(self) -> None:
        tables = self.page("The whole day")
        rows = [row for title, table in tables.items() if title.startswith("Mixes") for row in table.rows]
        mixes = self.TABLE.day.doughs[1].mix_count
        count = {
            bread: sum(row[1] == bread for row in rows) for bread in ("Quay Round 800 g", "Quay Stick", "Gull Bun")
        }
        assert count == {"Quay Round 800 g": mixes, "Quay Stick": mixes, "Gull Bun": 1}
        assert self.NAME not in {row[1] for row in rows}
        # Those of one mix are mixed at the same time.
        assert len({row[0] for row in rows if row[2] == f"1/{mixes}"}) == 1

    def test_the_mixer_sees_doughs_cleanings_and_the_water_of_the_hour(self) -> None:
        tables = self.page("spiral")
        rows = [row for title, table in tables.items() if title.startswith("Mixing") for row in table.rows]
        assert [row[2] for row in rows].count("clean before") == 1
        water = {water.mix: f"{water.water_c:g} °C" for water in waters(self.TABLE) if water.dough == self.NAME}
        assert {
            int(str(row[4]).split("/")[0]): row[6] for row in rows if row[2] == "mix" and row[3] == self.NAME
        } == water
        # 3 x 25 - 21 - 26 - 20: by the base room of 23 °C it would be 11 °C.
        assert set(water.values()) == {"8 °C"}
        sheet = tables[f"{self.NAME}, final: to weigh for one mix"]
        # Without losses 100 x 800, 199 x 250 and 50 x 400 g are 149.75 kg, three mixes: 34 rounds in the first.
        assert any("34 + " in note and "to divide: 34 of Quay Round 800 g at 800 g" in note for note in sheet.notes)
        assert sheet.notes[-1].startswith("The water of each mix, by the hour")

    def test_the_bench_gets_each_bread_and_its_toppings(self) -> None:
        tables = self.page("The bench")
        rows = [row for title, table in tables.items() if title.startswith("Bench") for row in table.rows]
        assert {row[3] for row in rows if row[2] == "divide"} == {plan.name for plan in self.TABLE.day.breads}
        assert [row[0] for row in tables["Toppings and washes"].rows] == [
            "Quay Round 800 g: 5 g of sesame seeds on each piece",
            "Quay Round 400 g: 5 g of sesame seeds on each piece",
        ]

    def test_sheet_calendar_and_picture(self) -> None:
        assert self.NAME in day_html(self.TABLE)
        calendar = day_ics(self.TABLE).replace("\r\n ", "")
        assert f"SUMMARY:clean before {self.NAME}\\, mix 1\r\n" in calendar
        plot_timetable(self.TABLE)


class TestTheEveningOfASharedDough:
    """The preferment of a shared dough is built once, for the dough and not for each of its breads."""

    ROUND, STICK = (evenings.bread(name, evenings.poolish()) for name in ("Quay Round", "Quay Stick"))
    ORDERS = (Order(ROUND, pieces=100, baked="800 g"), Order(STICK, pieces=100, baked="400 g"))
    PROCESSES = {name: evenings.process() for name in ("Quay Round", "Quay Stick")}  # noqa: RUF012 - read only

    def builds(self, *, share: bool) -> StageBuilds:
        return stage_builds(evenings.table(self.ORDERS, self.PROCESSES, evenings.bakery(share_doughs=share)))

    def test_as_much_as_apart(self) -> None:
        shared, apart = self.builds(share=True), self.builds(share=False)
        (build,) = shared.builds
        assert {use.into for use in build.uses} == {"Quay Round + Quay Stick"}
        # 120 kg of dough of 172.8 %, of which 30 flour, 30 water and 0.03 yeast are poolish.
        assert build.used_g == pytest.approx(120_000 * 60.03 / 172.8, abs=10)
        assert build.used_g == pytest.approx(sum(each.used_g for each in apart.builds), abs=10)
        assert dict(shared.ingredients_g) == pytest.approx(dict(apart.ingredients_g), abs=10)
        assert shared.name_of("Quay Stick", "poolish") == "poolish"
        assert shared.mix_sheet("Quay Stick", 1) == shared.mix_sheet("Quay Round + Quay Stick", 1)
        assert [mix["bread"] for mix in shared.to_tables()["mixes"]] == ["Quay Round + Quay Stick"]

    def test_orders_changed_at_night(self) -> None:
        found = changed_orders(self.builds(share=True), [Order(self.ROUND, pieces=90, baked="800 g"), self.ORDERS[1]])
        (stage,) = found.stages
        assert stage.needed_g == pytest.approx((90 * 800 + 100 * 400) * 60.03 / 172.8, abs=10)
        # What stands is enough for the 100 rounds of the evening, the sticks being made as ordered.
        carried = {bread.bread: bread.most for bread in found.breads}
        assert carried["Quay Round"] == 100
        assert len(found.stretches) <= 1


class TestInTheFolder:
    def folder(self, tmp_path: Path, more: str) -> Path:
        (tmp_path / "breads").mkdir()
        (tmp_path / "breads" / "round.toml").write_text(
            'name = "Round"\n[percent]\n"bread flour" = 100\nwater = 60\n', encoding="utf-8"
        )
        (tmp_path / "orders.toml").write_text(
            "".join(f'[[order]]\nbread = "round"\npieces = 10\nbaked = "{grams} g"\n' for grams in (400, 800)),
            encoding="utf-8",
        )
        (tmp_path / "bakery.toml").write_text(
            f'name = "Small"\n{more}\n[temperature]\nflour = "20 °C"\nroom = "21 °C"\ntap = "10 °C"\n'
            '[[mixer]]\nname = "m"\ncapacity = "1 t"\nfriction = "20 K"\n'
            '[[hour]]\nsince = "20:00 the day before"\nroom = "24 °C"\n'
            '[[hour]]\nsince = "02:00"\nflour = "22 °C"\ntap = "9 °C"\n',
            encoding="utf-8",
        )
        return tmp_path

    def test_share_doughs_and_hours(self, tmp_path: Path) -> None:
        orders, place = load_day(self.folder(tmp_path, "share_doughs = true"))
        assert len(plan_day(orders, place).doughs) == 1
        assert [hour.since_min for hour in place.hours] == [-240, 120]
        evening, night = place.at(-200), place.at(130)
        assert (evening.flour_c, evening.room_c, evening.tap_c) == (20, 24, 10)
        assert (night.flour_c, night.room_c, night.tap_c) == (22, 24, 9)

    def test_by_default_they_are_apart(self, tmp_path: Path) -> None:
        orders, place = load_day(self.folder(tmp_path, ""))
        assert len(plan_day(orders, place).doughs) == 2

    def test_on_the_command_line(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        folder = self.folder(tmp_path, "share_doughs = true")
        assert cli.run(["day", str(folder)]) == 0
        out = capsys.readouterr().out
        for part in (
            "20 pieces from 12 kg of dough in 1 mix", "Round 400 g + Round 800 g", "one dough, divided apart; 12 kg in 1 mix, m",
            "Round 800 g: 10 pieces (10 ordered), scaled at 800 g to be 800 g", "10 + 10 pieces",
            "mix 1 of 1, to divide: 10 of Round 400 g at 400 g, 10 of Round 800 g at 800 g",
        ):  # fmt: skip
            assert part in out, part
        assert cli.run(["day", str(folder), "--working"]) == 0
        assert "together = dough_1 + dough_2 = 4000 + 8000 = 12000 g" in capsys.readouterr().out

    def test_share_on_the_command_line(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        folder = self.folder(tmp_path, "")
        mixes = []
        for options in ([], ["--share"]):
            assert cli.run(["day", str(folder), "--json", *options]) == 0
            mixes.append(json.loads(capsys.readouterr().out)["mixes"])
        assert mixes == [2, 1]

    def test_a_bad_hour(self, tmp_path: Path) -> None:
        folder = self.folder(tmp_path, "")
        text = (folder / "bakery.toml").read_text(encoding="utf-8")
        (folder / "bakery.toml").write_text(text.replace('"02:00"', '"2:00"'), encoding="utf-8")
        with pytest.raises(FileError, match=r"bakery.toml: hour: got '2:00'"):
            load_day(folder)


class TestHours:
    def test_before_the_first_the_base_holds(self) -> None:
        place = Bakery(
            "h", mixers=[SPIRAL], flour="21 °C", room="23 °C", tap="14 °C",
            hours=[Hour("02:00", flour="22 °C"), Hour("05:00", room="27 °C", tap="15 °C")],
        )  # fmt: skip

        def known(minute: int) -> tuple[float, float, float]:
            now = place.at(minute)
            return now.flour_c, now.room_c, now.tap_c

        assert known(119) == (21, 23, 14)
        assert known(120) == (22, 23, 14)
        assert known(299) == (22, 23, 14)
        assert known(300) == (22, 27, 15)
        assert place.at(300).hours == ()
        assert place.flour_c == 21

    def test_views(self) -> None:
        hour = Hour("02:00", flour="68 °F")
        assert hour.flour is not None
        assert hour.flour.m_as("degC") == pytest.approx(20)
        assert hour.room is hour.tap is None

    def test_refused(self) -> None:
        for make, part in (
            (partial(Hour, "2:00", flour="20 °C"), "hour: got '2:00'"),
            (partial(Hour, "02:00"), "hour 02:00: got no temperature, expected flour, room or tap"),
            (partial(Hour, "02:00", tap="101 °C"), "hour 02:00: tap: got 101 °C, expected liquid water"),
            (partial(Hour, "02:00", flour="20"), "hour 02:00: flour: got '20'"),
        ):
            with pytest.raises(FormulaError) as caught:
                make()
            assert part in str(caught.value)
        facts: dict[str, Any] = {"mixers": [SPIRAL], "flour": "21 °C", "room": "23 °C", "tap": "14 °C"}
        with pytest.raises(FormulaError, match="02:00 after 03:00, expected each hour once"):
            Bakery("h", hours=[Hour("03:00", flour="20 °C"), Hour("02:00", flour="20 °C")], **facts)
        with pytest.raises(FormulaError, match="an Hour"):
            Bakery("h", hours=["02:00"], **facts)  # type: ignore[list-item]
        with pytest.raises(FormulaError, match="true or false"):
            Bakery("h", share_doughs=1, **facts)  # type: ignore[arg-type]
