"""The evening before: what is built when, how much of it, and what is left to weigh at the mixer."""

import copy
import json
import pickle

import pytest

from formula.clockwork import Timetable
from formula.errors import FormulaError
from formula.evening import StageBuilds, stage_builds
from formula.feeding import StageBuild, begin_near, fewest_builds
from formula.orders import Order
from formula.process import Wait
from formula.stage import Stage
from formula.workshop import Shift
from tests.arithmetic import check_working
from tests.evenings import OVERALL, POOLISH, WAIT, bakery, bread, check_builds, poolish, process, table


def built(found: Timetable, loss: str = "0 %") -> StageBuilds:
    """Plan the builds, and hold them against everything that must be true of them."""
    made = stage_builds(found, stage_loss=loss)
    check_builds(json.loads(json.dumps(made.to_tables())), found)
    for build in made.builds:
        check_working(build.working(), build.mass_g)
    check_working(made.working(), made.mass_g)
    assert pickle.loads(pickle.dumps(made)) == made == copy.deepcopy(made)  # noqa: S301 - our own bytes
    assert hash(made) == hash(copy.deepcopy(made))
    return made


def only(made: StageBuilds, name: str) -> StageBuild:
    (build,) = [build for build in made.builds if build.name == name]
    return build


LOAF = bread("Loaf", poolish())
# 172.8 % of dough on the flour, 30 % of the flour in the poolish of 200.1 %: 60.03 of 172.8.
SHARE = 60.03 / 172.8


class TestOneBuild:
    def test_by_hand(self) -> None:
        # 100 pieces of 1 kg in one mix: 100 kg of dough, of which the poolish is 34.7396 kg.
        found = table([Order(LOAF, pieces=100, baked="1 kg", due="06:00")], {"Loaf": process()})
        (mix,) = (task for task in found.tasks if task.what == "mix")
        made = built(found)
        build = only(made, "poolish")
        assert build.mass_g == pytest.approx(100_000 * SHARE, abs=1)
        # One use: begun 12 h before it, ripe from 10 h on and until 14 h after its begin.
        assert build.begin_min == mix.begin_min - 720
        assert (build.ripe_min, build.over_min) == (mix.begin_min - 120, mix.begin_min + 120)
        assert (build.first_min, build.last_min) == (mix.begin_min, mix.begin_min)
        assert build.begin == found.clock(build.begin_min)
        assert (build.ripe, build.over) == (found.clock(build.ripe_min), found.clock(build.over_min))
        assert build.title == "poolish"
        assert str(build.uses[0]) == "Loaf, mix 1"
        # Equal flour and water, a thousandth of yeast: 17.36 kg, 17.36 kg, 17 g.
        assert build.lines_g["bread flour"] == pytest.approx(100_000 * SHARE / 2.001, abs=1)
        assert build.lines_g["fresh yeast"] == 17
        assert build.mass.m_as("kg") == pytest.approx(34.74, abs=0.001)

    def test_the_loss_and_what_is_left_to_weigh(self) -> None:
        found = table([Order(LOAF, pieces=100, baked="1 kg", due="06:00")], {"Loaf": process()})
        made = built(found, "2 %")
        build = only(made, "poolish")
        taken = made.mix_sheet("Loaf", 1)[0]
        used_g = {row.name: row.mass_g for row in taken.rows}["poolish"]
        assert build.mass_g == pytest.approx(used_g / 0.98)
        assert build.usable_g == pytest.approx(used_g, abs=2)
        assert build.seed_g == 0
        # At the mixer stand the final dough alone and in it the poolish as one line: nothing is weighed twice.
        assert [row.name for row in taken.rows] == ["bread flour", "water", "salt", "fresh yeast", "poolish"]
        assert taken.total_g == pytest.approx(100_000, abs=1)
        flour_g = made.ingredients_g["bread flour"]
        assert flour_g == build.lines_g["bread flour"] + {row.name: row.mass_g for row in taken.rows}["bread flour"]
        assert flour_g == pytest.approx(100_000 / 172.8 * 100 + used_g / 2.001 * (1 / 0.98 - 1), abs=3)

    def test_without_loss_nothing_more_is_taken_than_the_day_says(self) -> None:
        orders = [Order(LOAF, pieces=250, baked="1 kg", due="06:00")]
        found = table(orders, {"Loaf": process()})
        made = built(found)
        assert dict(made.ingredients_g) == pytest.approx(dict(found.day.ingredients_g), abs=6)

    def test_a_stage_that_none_of_goes_into_another(self) -> None:
        sponge = Stage("sponge", {"bread flour": 100, "water": 60, "fresh yeast": 0.1, "poolish": 0}, flour="10 %")
        ways = {"Loaf": process(stages={"poolish": WAIT, "sponge": WAIT})}
        made = built(table([Order(bread("Loaf", poolish(), sponge), pieces=50, baked="1 kg", due="06:00")], ways))
        assert [str(use) for use in only(made, "poolish").uses] == ["Loaf, mix 1"]

    def test_no_stage_no_build(self) -> None:
        found = table([Order(bread("Plain"), pieces=50, baked="1 kg")], {"Plain": process(stages={})})
        made = built(found)
        assert made.builds == made.evening == ()
        assert made.mass_g == 0
        with pytest.raises(FormulaError, match="poolish of Plain, expected one of those that are built: none"):
            made.name_of("Plain", "poolish")
        with pytest.raises(FormulaError, match="mix 2 of Plain, expected a mix of the day"):
            made.mix_sheet("Plain", 2)


class TestOneBuildForSeveralBreads:
    def test_the_same_poolish_under_two_names(self) -> None:
        stick = bread("Stick", poolish("stick poolish", "20 %"))
        orders = [
            Order(LOAF, pieces=50, baked="1 kg", due="06:00"),
            Order(stick, pieces=80, baked="500 g", due="06:00"),
        ]
        ways = {"Loaf": process(), "Stick": process(stages={"stick poolish": WAIT})}
        made = built(table(orders, ways))
        (build,) = made.builds
        # 50 kg with 34.74 % and 40 kg with two thirds of that.
        assert build.used_g == pytest.approx(50_000 * SHARE + 40_000 * SHARE * 2 / 3, abs=2)
        assert {use.into for use in build.uses} == {"Loaf", "Stick"}
        assert made.name_of("Stick", "stick poolish") == made.name_of("Loaf", "poolish") == "poolish"
        # At the mixer each stands under its own bread's name: 40 kg for the second of the day.
        (sheet,) = made.mix_sheet("Stick", 1)
        assert [row.name for row in sheet.rows][-1] == "stick poolish"
        assert sheet.total_g == pytest.approx(40_000, abs=2)
        (tables,) = (mix for mix in made.to_tables()["mixes"] if mix["bread"] == "Stick")
        assert tables["built_as"] == {"stick poolish": "poolish"}

    @pytest.mark.parametrize("weighed", [POOLISH, {"bread flour": "50 kg", "water": "50 kg", "fresh yeast": "50 g"}])
    def test_written_in_percent_or_by_weight(self, weighed: dict[str, float]) -> None:
        other = bread("Other", Stage("poolish", weighed, flour="30 %"))
        orders = [Order(LOAF, pieces=20, baked="1 kg"), Order(other, pieces=20, baked="1 kg")]
        assert len(built(table(orders, {"Loaf": process(), "Other": process()})).builds) == 1

    @pytest.mark.parametrize(
        ("other", "shop"),
        [
            (poolish(fresh_yeast=0.2), bakery()),
            (poolish("cold poolish"), bakery(stages={"poolish": "22 °C", "cold poolish": "6 °C"})),
            (Stage("poolish", POOLISH, flour="30 %", keep=10), bakery()),
            (Stage("poolish", POOLISH, flour="30 %", kind="soaker"), bakery()),
        ],
    )
    def test_what_differs_is_built_apart(self, other: Stage, shop: object) -> None:
        second = bread("Other", other)
        orders = [Order(LOAF, pieces=20, baked="1 kg"), Order(second, pieces=20, baked="1 kg")]
        ways = {"Loaf": process(), "Other": process(stages={other.name: WAIT})}
        made = built(table(orders, ways, shop))  # type: ignore[arg-type]
        assert len(made.builds) == 2
        names = {build.name for build in made.builds}
        assert names == (
            {"poolish", other.name} if other.name != "poolish" else {"poolish of Loaf", "poolish of Other"}
        )

    def test_each_use_has_the_wait_of_its_own_bread(self) -> None:
        other = bread("Other", poolish())
        orders = [Order(LOAF, pieces=20, baked="1 kg", due="06:00"), Order(other, pieces=20, baked="1 kg", due="06:00")]
        longer = process(stages={"poolish": Wait("13 h", earliest="11 h", latest="16 h")})
        (build,) = built(table(orders, {"Loaf": process(), "Other": longer})).builds
        assert {use.ripe.latest_min for use in build.uses} == {840, 960}


class TestSeveralBuilds:
    def test_uses_too_far_apart(self) -> None:
        orders = [
            Order(LOAF, pieces=100, baked="1 kg", due="03:30"),
            Order(LOAF, pieces=100, baked="1 kg", due="12:00"),
        ]
        found = table(orders, {"Loaf": process()}, opens="20:00 the day before")
        made = built(found)
        first, second = made.builds
        mixes = [task.begin_min for task in found.tasks if task.what == "mix"]
        assert mixes[1] - mixes[0] > 240
        assert (first.title, second.title) == ("poolish 1 of 2", "poolish 2 of 2")
        assert (first.begin_min, second.begin_min) == (mixes[0] - 720, mixes[1] - 720)

    def test_near_enough_is_one(self) -> None:
        orders = [
            Order(LOAF, pieces=100, baked="1 kg", due="05:00"),
            Order(LOAF, pieces=100, baked="1 kg", due="08:00"),
        ]
        found = table(orders, {"Loaf": process()})
        (build,) = built(found).builds
        first, last = (task.begin_min for task in found.tasks if task.what == "mix")
        # Best for neither, as near as may be for both: in the middle of what would be best.
        assert build.begin_min == (first + last) // 2 - 720

    @pytest.mark.parametrize(
        ("windows", "groups"),
        [
            ([], ()),
            ([(0, 10)], ((0,),)),
            ([(0, 10), (10, 20)], ((0, 1),)),
            ([(0, 10), (11, 20)], ((0,), (1,))),
            ([(0, 100), (0, 10), (90, 100)], ((1, 0), (2,))),
        ],
    )
    def test_the_fewest(self, windows: list[tuple[int, int]], groups: object) -> None:
        assert fewest_builds(windows) == groups

    def test_near_the_best(self) -> None:
        assert begin_near(-100, 100, [7]) == 7
        assert begin_near(8, 100, [7]) == 8
        assert begin_near(-100, 6, [7, 9]) == 6


class TestStagesInStages:
    def test_a_soured_soaker(self) -> None:
        # The sour goes into the soaker, the soaker into the dough: it is used when the soaker is made.
        soaker = Stage(
            "sour soaker", {"cracked rye": 100, "water": 100, "sour": 50}, takes=("cracked rye", "100 %"), base=["cracked rye"],
        )  # fmt: skip
        inner = Stage("sour", {"bread flour": 100, "water": 100, "culture": 10}, culture="returned")
        overall = {**OVERALL, "cracked rye": 20.0}
        loaf = bread("Soaked", inner, soaker, overall=overall)
        way = process(stages={"sour": Wait("8 h", earliest="6 h", latest="9 h"), "sour soaker": Wait("5 h")})
        found = table([Order(loaf, pieces=50, baked="1 kg", due="09:00")], {"Soaked": way})
        made = built(found, "1 %")
        first, second = made.builds
        (mix,) = (task.begin_min for task in found.tasks if task.what == "mix")
        assert (first.name, second.name) == ("sour", "sour soaker")
        assert second.begin_min == mix - 300
        assert first.begin_min == second.begin_min - 480
        assert str(first.uses[0]) == "sour soaker"
        assert first.used_g == second.lines_g["sour"]
        assert second.inner == ("sour",)
        # 10 parts of culture in 210 of ripe sour go back: mass - 1 % - 10/210 of it is what the soaker takes.
        assert first.mass_g == pytest.approx(second.lines_g["sour"] / (0.99 - 10 / 210))
        assert first.seed_g == pytest.approx(first.mass_g * 10 / 210)
        assert "sour" not in made.ingredients_g
        assert [sheet.name for sheet in made.mix_sheet("Soaked", 1)] == ["final"]

    def test_an_autolyse_is_the_beginning_of_the_mix(self) -> None:
        autolyse = Stage("autolyse", {"bread flour": 100, "water": 60, "poolish": 20}, flour="60 %")
        loaf = bread("Rested", Stage("poolish", POOLISH), autolyse)
        found = table([Order(loaf, pieces=50, baked="1 kg", due="06:00")], {"Rested": process(autolyse="30 min")})
        made = built(found)
        (build,) = made.builds
        begins = {task.what: task.begin_min for task in found.tasks}
        assert build.name == "poolish"
        assert build.first_min == begins["autolyse"] == begins["mix"] - 30
        assert [sheet.name for sheet in made.mix_sheet("Rested", 1)] == ["autolyse", "final"]

    def test_what_boils_off_is_weighed_as_well(self) -> None:
        scald = Stage(
            "scald", {"medium rye flour": 100, "water": 200}, flour="10 %", boiled_off=30,
        )  # fmt: skip
        overall = {"bread flour": 90.0, "medium rye flour": 10.0, "water": 70.0, "salt": 2.0, "fresh yeast": 1.0}
        loaf = bread("Scalded", scald, overall=overall)
        found = table([Order(loaf, pieces=50, baked="1 kg")], {"Scalded": process(stages={"scald": WAIT})})
        build = only(built(found, "5 %"), "scald")
        # 300 parts are weighed, 270 are left.
        assert build.mass_g == pytest.approx(build.used_g / 0.95)
        assert build.weighed_g == pytest.approx(build.mass_g / 0.9, abs=3)
        assert build.usable_g == pytest.approx(build.used_g, abs=3)


class TestSeed:
    def test_a_culture_goes_on(self) -> None:
        levain = Stage("levain", {"bread flour": 100, "water": 100, "culture": 20}, flour="20 %", culture="returned")
        sour = bread("Sour", levain, overall={"bread flour": 100, "water": 70, "salt": 2})
        found = table([Order(sour, pieces=50, baked="1 kg")], {"Sour": process(stages={"levain": WAIT})})
        batch = found.day.breads[0].mixes[0].batch
        made = only(built(found), "levain")
        assert made.seed_g == pytest.approx(batch.stages["levain"].returned_g, abs=1)
        assert made.mass_g == pytest.approx(batch.stages["levain"].total_g, abs=2)
        # With a loss, too, as much goes back as it was seeded with.
        lossy = only(built(found, "10 %"), "levain")
        assert lossy.seed_g == pytest.approx(lossy.lines_g["culture"], abs=1)

    def test_what_the_formula_keeps(self) -> None:
        levain = Stage(
            "levain", {"bread flour": 100, "water": 100, "culture": 20}, flour="20 %", culture="line", keep=20
        )  # fmt: skip
        overall = {"bread flour": 100, "water": 70, "salt": 2, "culture": 4}
        sour = bread("Sour", levain, overall=overall)
        found = table([Order(sour, pieces=50, baked="1 kg")], {"Sour": process(stages={"levain": WAIT})})
        kept_g = found.day.breads[0].mixes[0].batch.stages["levain"].kept_g
        assert kept_g > 0
        assert only(built(found), "levain").seed_g == pytest.approx(kept_g, abs=1)

    def test_a_loss_and_a_seed_that_leave_nothing(self) -> None:
        levain = Stage("levain", {"bread flour": 100, "water": 100, "culture": 200}, flour="20 %", culture="returned")
        sour = bread("Sour", levain, overall={"bread flour": 100, "water": 70, "salt": 2})
        found = table([Order(sour, pieces=5, baked="1 kg")], {"Sour": process(stages={"levain": WAIT})})
        with pytest.raises(FormulaError, match=r"stage_loss \(levain\): got 50 % lost and 50 % kept for tomorrow"):
            stage_builds(found, stage_loss="50 %")


class TestWhoIsThere:
    ORDERS = (Order(LOAF, pieces=100, baked="1 kg", due="06:00"),)

    def begun(self, *shifts: Shift) -> tuple[StageBuilds, int]:
        """Return the builds, and when the one mix begins; the build would best begin 12 h, at most 14 or 10 h before."""
        bench = process(shape=400)
        found = table(self.ORDERS, {"Loaf": bench}, shifts=shifts)
        (mix,) = (task.begin_min for task in found.tasks if task.what == "mix")
        return built(found), mix

    def test_at_the_best_time_if_somebody_is_there(self) -> None:
        made, mix = self.begun(Shift("12:00 the day before", "12:00", people=3))
        assert made.builds[0].begin_min == mix - 720
        assert made.evening == made.builds
        assert made.cautions == ()

    def test_else_when_somebody_is_there(self) -> None:
        late = Shift("22:00 the day before", "12:00", people=3)
        _, mix = self.begun(late)
        # The late afternoon shift ends before the best time, but not before the earliest that will do.
        leaves = (mix - 720 - 60) // 60 * 60
        end = f"{(leaves % 1440) // 60:02d}:00 the day before"
        made, _ = self.begun(Shift("08:00 the day before", end, people=1), late)
        assert made.builds[0].begin_min == leaves - 1
        assert made.cautions == ()

    def test_a_break_at_the_best_time(self) -> None:
        late = Shift("22:00 the day before", "12:00", people=3)
        _, mix = self.begun(late)
        best = mix - 720

        def clock(minutes: int) -> str:
            return f"{minutes % 1440 // 60:02d}:{minutes % 60:02d} the day before"

        day = Shift(
            "08:00 the day before", "22:00 the day before", people=1, breaks=[(clock(best - 20), clock(best + 10))]
        )
        made, _ = self.begun(day, late)
        assert made.builds[0].begin_min == best + 10

    def test_nobody_is_there(self) -> None:
        made, mix = self.begun(Shift("22:00 the day before", "12:00", people=3))
        (caution,) = made.cautions
        assert made.builds[0].begin_min == mix - 720
        assert caution.code == "nobody-there"
        assert "poolish: nobody is on shift at " in caution.text

    def test_no_shifts_are_known(self) -> None:
        made, _ = self.begun()
        assert [caution.code for caution in made.cautions] == ["before-opening"]
        found = table(self.ORDERS, {"Loaf": process()}, shifts=(), opens="06:00 the day before")
        assert built(found).cautions == ()


class TestWhatIsRefused:
    def test_a_stage_without_its_time(self) -> None:
        second = bread("Other", poolish("sponge"), poolish("soaker", "10 %"))
        orders = [Order(LOAF, pieces=20, baked="1 kg"), Order(second, pieces=20, baked="1 kg")]
        found = table(orders, {"Loaf": process(stages={}), "Other": process(stages={"spnge": WAIT, "soaker": WAIT})})
        with pytest.raises(FormulaError) as caught:
            stage_builds(found, stage_loss="101 %")
        first, other, *_ = caught.value.faults
        assert str(first).startswith(
            "Loaf: poolish: got no ripening time, expected the time before its use; add stages="
        )
        assert "its process has: spnge, soaker" in str(other)
        assert len(caught.value.faults) == 4

    def test_a_mix_without_a_place(self) -> None:
        # One proof place for all, and the day is only so long: what is not mixed is not built for.
        found = table([Order(LOAF, pieces=3000, baked="1 kg")], {"Loaf": process(bake="3 h", loads={"deck": 100})})
        assert found.unplaced
        made = built(found)
        assert "unplaced" in {caution.code for caution in made.cautions}

    def test_a_scale_too_coarse_for_the_yeast(self) -> None:
        found = table([Order(LOAF, pieces=20, baked="1 kg", due="06:00")], {"Loaf": process()}, bakery(steps="10 g"))
        made = built(found)
        # 3.5 g of yeast on a scale of 10 g: none at all.
        (caution,) = made.cautions
        assert caution.code == "coarse-scale"
        assert "rounding moves fresh yeast from 3.47" in caution.text
        assert made.builds[0].lines_g["fresh yeast"] == 0


def test_a_night_on_which_the_clocks_change() -> None:
    # From 02:00 to 03:00 an hour is missing: twelve hours before 06:00 on the wall the clock shows 17:00.
    found = table(
        [Order(LOAF, pieces=10, baked="1 kg", due="09:00")], {"Loaf": process()},
        opens="05:00", shifts=(), day="2026-03-29", zone="Europe/Berlin",
    )  # fmt: skip
    (build,) = built(found).builds
    (mix,) = (task.begin_min for task in found.tasks if task.what == "mix")
    hour, minute = map(int, found.clock(mix).split(":"))
    assert hour > 3
    assert build.begin == f"{hour + 24 - 12 - 1:02d}:{minute:02d} the day before"
