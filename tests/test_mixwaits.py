"""The water of every mix by the hour, and what to change of a mix that waits."""

import json
import math
import pickle
from typing import Any

import pytest

from formula.bakery import Bakery, Hour, Mixer
from formula.catalogue import Catalogue
from formula.clockwork import Timetable, timetable
from formula.day import plan_day
from formula.errors import FormulaError
from formula.formula import Formula
from formula.hourwater import waters
from formula.ingredient import Ingredient
from formula.mixwaits import mix_waits
from formula.orders import Order
from formula.otherrates import Q10
from formula.process import Process, Wait
from formula.stage import Stage
from formula.workshop import Oven, Shift, Workshop
from tests.arithmetic import check_working

LINES = {"bread flour": 100, "water": 68, "salt": 2, "fresh yeast": 1}
HOURS = (Hour("00:30", flour="22 °C"), Hour("01:10", room="26 °C", tap="15 °C"))


def bakery(**changes: Any) -> Bakery:  # noqa: ANN401 - what a bakery takes
    facts: dict[str, Any] = {
        "mixers": [Mixer("spiral", capacity="60 kg", friction="20 K")], "flour": "20 °C", "room": "23 °C", "tap": "14 °C",
        "steps": {"default": "10 g", "fresh yeast": "1 g"}, "divider": "5 g", "hours": HOURS, **changes,
    }  # fmt: skip
    return Bakery("harbour", **facts)


def on_the_clock(bread: Formula | None = None, place: Bakery | None = None, **changes: Any) -> Timetable:  # noqa: ANN401
    """Four mixes of 45 pieces, made one after the other and divided by one person: each waits longer than the one before."""
    bread = bread or Formula.from_percents("Quay Round", LINES, dough_temperature="25 °C")
    facts: dict[str, Any] = {
        "mix": "20 min", "bulk": Wait("90 min", latest="3 h"), "divide": 80, "rest": Wait("20 min", latest="50 min"),
        "proof": Wait("60 min", latest="100 min"), "bake": "30 min", "loads": {"deck": 80}, "cool": "30 min", **changes,
    }  # fmt: skip
    breaks = facts.pop("breaks", ())
    shop = Workshop(
        opens="00:00",
        ovens=[Oven("deck", turn_round="5 min")],
        processes={bread.name: Process(**facts)},
        shifts=[Shift("00:00", "12:00", people=1, breaks=breaks)],
        turn_round="5 min",
    )
    day = plan_day([Order(bread, pieces=180, baked="900 g", due="09:00")], place or bakery(), shop)
    return timetable(day, shop, aim="earliest")


TABLE = on_the_clock()


class TestWaters:
    FOUND = waters(TABLE)

    def test_by_the_hour(self) -> None:
        # The mixes begin at 00:00, 00:25, 00:50 and 01:15; 3 x 25 - flour - room - 20.
        assert [water.begin for water in self.FOUND] == ["00:00", "00:25", "00:50", "01:15"]
        assert [water.water_c for water in self.FOUND] == [12, 12, 10, 7]
        assert [(each.flour_c, each.room_c, each.tap_c) for each in self.FOUND][1:] == [(20, 23, 14), (22, 23, 14), (22, 26, 15)]  # fmt: skip

    def test_ice_by_the_tap_of_the_hour(self) -> None:
        last = self.FOUND[-1].pour
        # Water 15 °C to 7 °C by the trade's rule of ice: (15 - 7) / (15 + 80) of the water, rounded up to 10 g.
        assert last.ice_g == math.ceil(last.water_g * 8 / 95 / 10) * 10

    def test_working_tables_and_views(self) -> None:
        for water in self.FOUND:
            check_working(water.working(), water.water_c)
        first = self.FOUND[0]
        assert first.working().title == "Water of Quay Round, mix 1 at 00:00"
        table = json.loads(json.dumps(first.to_table()))
        assert (table["mix"], table["begin"], table["water_c"], table["room_c"]) == (1, "00:00", 12, 23)
        for view, celsius in ((first.water, 12), (first.flour, 20), (first.room, 23), (first.tap, 14)):
            assert view.m_as("degC") == pytest.approx(celsius)
        assert pickle.loads(pickle.dumps(self.FOUND)) == self.FOUND  # noqa: S301 - our own pickle
        assert hash(self.FOUND)

    def test_an_autolyse_is_where_the_water_goes(self) -> None:
        autolyse = Stage("autolyse", {"bread flour": 100, "water": 66}, flour="100 %")
        bread = Formula.from_percents("Quay Round", LINES, stages=[autolyse], dough_temperature="25 °C")
        found = waters(on_the_clock(bread, autolyse="40 min"))
        assert found[0].pour.stage == "autolyse"
        # With it a mix takes 65 min and the turn-round: the second begins at 01:05, by the hour of its autolyse.
        assert (found[1].begin, found[1].flour_c, found[1].room_c) == ("01:05", 22, 23)

    def test_a_dough_without_a_temperature(self) -> None:
        assert waters(on_the_clock(Formula.from_percents("Quay Round", LINES))) == ()

    def test_without_hours_all_mixes_are_alike(self) -> None:
        table = on_the_clock(place=bakery(hours=()))
        assert {water.water_c for water in waters(table)} == {12.0}
        assert {water.pour for water in waters(table)} <= {mix.pour for mix in table.day.breads[0].mixes}


class TestNone:
    def test_who_waits(self) -> None:
        # 45 pieces at 80 an hour are 34 min, and a mix comes every 25 min: each waits 9 min more than the one before.
        found = mix_waits(TABLE)
        assert [(wait.mix, wait.best_min, wait.bulk_min, wait.wait_min) for wait in found] == [(2, 90, 99, 9), (3, 90, 108, 18), (4, 90, 117, 27)]  # fmt: skip
        assert not any(wait.is_changed for wait in found)
        for wait in found:
            check_working(wait.working(), wait.left_min)
            assert wait.left.m_as("min") == pytest.approx(wait.wait_min)

    def test_a_dough_that_is_never_late_is_not_told_of(self) -> None:
        assert mix_waits(on_the_clock(divide=400)) == ()


def rate(celsius: float) -> float:
    """The cardinal curve of gas from 0 over 38 to 48 °C, written anew."""
    low, best, high = 0.0, 38.0, 48.0
    over = (celsius - high) * (celsius - low) ** 2
    under = (best - low) * ((best - low) * (celsius - best) - (best - high) * (best + low - 2 * celsius))
    return over / under


class TestCooler:
    def test_the_bulk_is_worth_the_best(self) -> None:
        for wait in mix_waits(TABLE, "cooler"):
            assert wait.new_dough_c is not None
            assert rate(wait.new_dough_c) * wait.bulk_min == pytest.approx(rate(25) * 90)
            assert abs(wait.left_min) < 1e-6
            check_working(wait.working(), wait.new_dough_c)
            assert wait.pour is not None
            now = bakery().at(wait.begin_min)
            water_c = 3 * wait.new_dough_c - now.flour_c - now.room_c - 20
            assert wait.pour.temperature.temperature_c == pytest.approx(water_c)

    def test_by_ten_percent_a_degree(self) -> None:
        # Where 10 K double the rate, 108 min instead of 90 are 25 - 10 log2(108 / 90) = 22.37 °C.
        second = mix_waits(TABLE, "cooler", rate=Q10(2.0))[1]
        assert second.new_dough_c == pytest.approx(25 - 10 * math.log2(1.2))

    def test_not_below_the_coldest(self) -> None:
        last = mix_waits(TABLE, "cooler", coldest="23 °C", rate=Q10(2.0))[2]
        # At 23 °C the best of 90 min is 90 x 2^0.2 = 103.4 min of 117: 13.6 min are left.
        assert last.new_dough_c == 23
        assert last.left_min == pytest.approx(117 - 90 * 2**0.2)
        assert "beyond-range" in [caution.code for caution in last.cautions]
        check_working(last.working(), 23.0)

    def test_a_bread_that_is_colder_anyway(self) -> None:
        cold = Formula.from_percents("Quay Round", LINES, dough_temperature="18 °C")
        found = mix_waits(on_the_clock(cold), "cooler", coldest="20 °C")
        assert {wait.new_dough_c for wait in found} == {18.0}

    def test_a_shorter_bulk_is_mixed_warmer(self) -> None:
        # Divided at its best, from 01:50 to 02:24, the first mix would fall into the break: it is divided at 01:40.
        breaks = [("02:15", "03:30")]
        table = on_the_clock(breaks=breaks, bulk=Wait("90 min", earliest="80 min", latest="95 min"))
        first = mix_waits(table, "cooler")[0]
        assert (first.mix, first.bulk_min, first.wait_min) == (1, 80, -10)
        assert first.new_dough_c is not None
        assert rate(first.new_dough_c) * 80 == pytest.approx(rate(25) * 90)
        check_working(first.working(), first.new_dough_c)
        limited = mix_waits(table, "cooler", warmest="25.5 °C")[0]
        assert limited.new_dough_c == 25.5
        assert limited.left_min < 0
        assert "min too short" in limited.cautions[-1].text

    def test_what_cannot_be_changed(self) -> None:
        plain = Formula.from_percents("Quay Round", LINES)
        for wait in mix_waits(on_the_clock(plain), "cooler"):
            assert [caution.code for caution in wait.cautions] == ["no-dough-temperature"]
            assert wait.left_min == wait.wait_min
            check_working(wait.working(), wait.left_min)
        for wait in mix_waits(on_the_clock(bulk=Wait("0 min", latest="2 h")), "cooler"):
            assert [caution.code for caution in wait.cautions] == ["no-bulk"]

    def test_tables(self) -> None:
        (first, *_) = [json.loads(json.dumps(wait.to_table())) for wait in mix_waits(TABLE, "cooler")]
        assert first["new_dough_c"] == pytest.approx(23.6, abs=0.05)
        assert first["new_yeast_g"] == {}
        (plain, *_) = [wait.to_table() for wait in mix_waits(TABLE)]
        assert plain["water_c"] is plain["ice_g"] is None


class TestYeast:
    def test_by_hand(self) -> None:
        # Bulk, rest and proof: 90 + 20 + 60 = 170 min, and 179, 188 and 197 min; the dose is 1 % x 170 / 179 and so on.
        found = mix_waits(TABLE, "yeast")
        assert [wait.dose.dose_percent for wait in found if wait.dose] == pytest.approx(
            [170 / 179, 170 / 188, 170 / 197]
        )
        for wait in found:
            old = wait.yeast_g["fresh yeast"]
            assert wait.new_yeast_g["fresh yeast"] == round(old * 170 / (wait.bulk_min + 80))
            check_working(wait.working(), wait.new_yeast_g["fresh yeast"])
            assert wait.is_changed

    def test_less_than_the_least_change_is_left_alone(self) -> None:
        # 170 / 179 is 5.03 % less.
        first = mix_waits(TABLE, "yeast", least="5.1 %")[0]
        assert [caution.code for caution in first.cautions] == ["small-change"]
        assert "less than 5.1 %" in first.cautions[0].text
        assert not first.is_changed
        assert first.left_min == 9
        check_working(first.working(), 9.0)

    def test_less_than_a_step_of_the_scale_is_left_alone(self) -> None:
        found = mix_waits(on_the_clock(place=bakery(steps="100 g")), "yeast")
        # 200 g of yeast become 190, 181 and 173 g, which a scale of 100 g does not show.
        assert {caution.code for wait in found for caution in wait.cautions} == {"small-change"}
        assert "less than a step" in found[0].cautions[0].text

    def test_a_preferment_keeps_its_yeast(self) -> None:
        biga = Stage("biga", {"bread flour": 100, "water": 60, "fresh yeast": 1}, flour="30 %")
        bread = Formula.from_percents("Quay Round", LINES, stages=[biga], dough_temperature="25 °C")
        last = mix_waits(on_the_clock(bread), "yeast")[-1]
        # 0.3 of the 1 % stand in the biga: what goes in later changes by more, so that all together are 170 / 197.
        old, new = last.yeast_g["fresh yeast"], last.new_yeast_g["fresh yeast"]
        assert last.mixed_share == pytest.approx(0.7, abs=0.01)
        assert new / old == pytest.approx(1 + (170 / 197 - 1) / 0.7, abs=0.01)
        check_working(last.working(), new)

    def test_a_preferment_that_brings_it_all(self) -> None:
        levain = Stage("sponge", {"bread flour": 100, "water": 60, "fresh yeast": 2}, flour="50 %")
        bread = Formula.from_percents("Quay Round", LINES, stages=[levain], dough_temperature="25 °C")
        found = mix_waits(on_the_clock(bread), "yeast")
        assert {caution.code for wait in found for caution in wait.cautions} == {"no-yeast"}

    def test_more_in_the_preferment_than_the_bulk_allows(self) -> None:
        biga = Stage("biga", {"bread flour": 100, "water": 60, "fresh yeast": 1.9}, flour="50 %")
        bread = Formula.from_percents("Quay Round", LINES, stages=[biga], dough_temperature="25 °C")
        last = mix_waits(on_the_clock(bread), "yeast")[-1]
        assert last.new_yeast_g["fresh yeast"] == 0
        assert "yeast-in-the-preferment" in [caution.code for caution in last.cautions]
        check_working(last.working(), 0.0)

    def test_dry_yeast_and_one_of_unknown_form(self) -> None:
        lines = {"bread flour": 100, "water": 68, "salt": 2, "instant yeast": 0.33, "harbour yeast": 1.0}
        larder = Catalogue().adding(Ingredient("harbour yeast", kind="yeast"))
        last = mix_waits(on_the_clock(Formula.from_percents("Quay Round", lines, catalogue=larder)), "yeast")[-1]
        assert last.dose is not None
        assert last.dose.old_percent == pytest.approx(2.0)
        assert sum(last.new_yeast_g.values()) / sum(last.yeast_g.values()) == pytest.approx(170 / 197, abs=0.05)

    def test_nothing_ferments(self) -> None:
        table = on_the_clock(
            bulk=Wait("0 min", latest="2 h"), rest="0 min", proof=Wait("0 min", latest="2 h"), divide=80
        )
        assert {c.code for wait in mix_waits(table, "yeast") for c in wait.cautions} == {"no-bulk"}

    def test_of_a_shared_dough_the_longest_proof_counts(self) -> None:
        one, two = (
            Formula.from_percents(name, LINES, dough_temperature="25 °C") for name in ("Quay Round", "Quay Stick")
        )
        common: dict[str, Any] = {
            "mix": "20 min", "bulk": Wait("90 min", latest="3 h"), "divide": 100, "bake": "20 min", "loads": {"deck": 120},
            "rest": Wait("20 min", latest="60 min"),
        }  # fmt: skip
        shop = Workshop(
            opens="00:00",
            ovens=[Oven("deck")],
            processes={
                "Quay Round": Process(**common, proof=Wait("60 min", latest="3 h")),
                "Quay Stick": Process(**common, proof=Wait("75 min", latest="3 h")),
            },
            shifts=[Shift("00:00", "12:00", people=1)],
            turn_round="5 min",
        )
        orders = [Order(one, pieces=90, baked="900 g"), Order(two, pieces=90, baked="900 g")]
        table = timetable(plan_day(orders, bakery(), shop, share=True), shop, aim="earliest")
        found = mix_waits(table, "yeast")
        assert found
        for wait in found:
            assert wait.dough == "Quay Round + Quay Stick"
            after = 20 + 75
            assert wait.dose is None or wait.dose.dose_percent == pytest.approx((90 + after) / (wait.bulk_min + after))


class TestRefused:
    def test_all_at_once(self) -> None:
        with pytest.raises(FormulaError) as caught:
            mix_waits(TABLE, "colder", coldest="20", warmest="28 °C", least="x")  # type: ignore[arg-type]
        text = str(caught.value)
        for part in ("3 faults", 'one of "none", "cooler", "yeast"', "coldest: got '20'", "least: got 'x'"):
            assert part in text, part

    def test_limits_that_cross(self) -> None:
        with pytest.raises(FormulaError, match="warmest: got 20 °C, expected warmer than the coldest, 21 °C"):
            mix_waits(TABLE, "cooler", coldest="21 °C", warmest="20 °C")
        with pytest.raises(FormulaError, match="at most 38 °C, where yeast is quickest"):
            mix_waits(TABLE, "cooler", warmest="40 °C")
