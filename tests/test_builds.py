"""Builds backwards from the clock, the levain of a bread, the upkeep of a culture: weights, times and refusals."""

import math
import pickle
import re
from itertools import pairwise
from typing import Any

import pytest

from formula.batch import Batch
from formula.builds import levain_builds, levain_for
from formula.errors import FormulaError, QuantityError, UnknownNameError
from formula.formula import Formula
from formula.levainlog import LevainRecord, calibrated
from formula.levainplan import LevainPlan
from formula.souring import YEAST
from formula.stage import Stage
from formula.timeofday import clock
from formula.upkeep import LevainUpkeep, levain_upkeep, totals_g
from tests.arithmetic import check_working

TONIGHT: dict[str, Any] = {"start": "18:00", "ready": "05:00", "temperature": "24 °C"}
TWICE: dict[str, Any] = {"feedings": ("06:00", "18:00"), "temperature": "24 °C", "take": {"06:00": "400 g"}}


def share(temperature_c: float, time_h: float) -> float:
    """The seed share by arithmetic of our own."""
    x = YEAST.highest.value - temperature_c
    rate = YEAST.a.value * math.exp(YEAST.b.value * math.log(x) - YEAST.c.value * x)
    return math.exp(-0.83 * rate * time_h)


def harbour_sour(**stage: Any) -> Formula:  # noqa: ANN401
    lines = {"bread flour": 80, "medium rye flour": 20, "water": 100, "culture": 15}
    sour = Stage("sour", lines, **{"flour": "20 %", "culture": "returned", **stage})
    overall = {"bread flour": 90, "medium rye flour": 10, "water": 68, "salt": 2}
    return Formula.from_percents("Harbour Sour", overall, stages=[sour])


def check_plan(plan: LevainPlan) -> None:
    """The weights add up, one build runs into the next, and the working's last line is the seed."""
    for build in plan.builds:
        assert build.seed_g + sum(build.fed_g.values()) == pytest.approx(build.total_g, rel=1e-12)
        assert build.seed_g == pytest.approx(build.total_g * build.share_percent / 100, rel=1e-12)
        assert build.earliest_min < build.ready_min < build.latest_min
        band = (build.ripening.low_factor, build.ripening.high_factor)
        stands_min = build.ready_min - build.start_min
        ends = [build.earliest_min - build.start_min, build.latest_min - build.start_min]
        assert ends == pytest.approx([factor * stands_min for factor in band], rel=1e-9)
    for first, second in pairwise(plan.builds):
        assert first.ready_min == second.start_min
        assert first.total_g == second.seed_g
    assert plan.total_g == pytest.approx(plan.wanted_g + plan.kept_g, rel=1e-12)
    assert plan.seed_g + sum(plan.fed_g.values()) == pytest.approx(plan.total_g, rel=1e-12)
    check_working(plan.working(), plan.seed_g)


# -- builds ------------------------------------------------------------------------------------------------------------


def test_one_build_by_hand() -> None:
    plan = levain_builds("12 kg", **TONIGHT, keep="500 g", hydration="80 %")
    (build,) = plan.builds
    assert (build.start, build.ready, build.time_h) == ("18:00 the day before", "05:00", 11.0)
    assert build.total_g == 12500
    assert build.seed_g == pytest.approx(12500 * share(24, 11))
    assert build.fed_g["water"] == pytest.approx(0.8 * build.fed_g["flour"])
    check_plan(plan)


def test_as_much_is_kept_as_it_took() -> None:
    plan = levain_builds("12 kg", **TONIGHT)
    assert plan.kept_g == plan.seed_g
    assert plan.total_g == pytest.approx(12000 / (1 - share(24, 11)))
    check_plan(plan)
    assert levain_builds("12 kg", **TONIGHT, keep="0 g").total_g == 12000


def test_several_builds_of_equal_time() -> None:
    plan = levain_builds("12 kg", **TONIGHT, builds=2, keep="0 g")
    assert [build.start for build in plan.builds] == ["18:00 the day before", "23:30 the day before"]
    assert plan.seed_g == pytest.approx(12000 * share(24, 5.5) ** 2)
    # Two builds one after the other dilute like one: the rule is exponential.
    assert plan.seed_g == pytest.approx(levain_builds("12 kg", **TONIGHT, keep="0 g").seed_g)
    check_plan(plan)


def test_builds_in_whole_minutes_end_on_the_minute() -> None:
    plan = levain_builds("1 kg", start="18:01", ready="04:30", builds=3, temperature="26 °C")
    assert (plan.builds[0].start_min, plan.builds[-1].ready_min) == (18 * 60 + 1 - 1440, 270)
    assert all(isinstance(build.start_min, int) for build in plan.builds)
    check_plan(plan)


def test_given_times_and_each_build_at_its_own() -> None:
    plan = levain_builds(
        "10 kg",
        ready="06:00",
        times=["8 h", "15 h", "3 h 30 min"],
        temperature=["25 °C", "21 °C", "28 °C"],
        hydration=["100 %", "60 %", "110 %"],
        keep="1 kg",
    )
    assert [build.start for build in plan.builds] == [
        "03:30 the day before",
        "11:30 the day before",
        "02:30",
    ]
    shares = [build.share_percent / 100 for build in plan.builds]
    assert shares == pytest.approx([share(25, 8), share(21, 15), share(28, 3.5)])
    assert [build.fed_g["water"] / build.fed_g["flour"] for build in plan.builds] == pytest.approx([1, 0.6, 1.1])
    check_plan(plan)


def test_given_shares_set_the_times() -> None:
    plan = levain_builds("10 kg", ready="06:00", shares=["5 %", "20 %"], temperature="24 °C", ripe="sour")
    assert [build.share_percent for build in plan.builds] == [5.0, 20.0]
    for build in plan.builds:
        exact_h = build.ripening.time_h_for(build.share_percent / 100)
        assert abs(build.time_h - exact_h) <= 0.5 / 60 + 1e-12
    assert plan.builds[-1].ready_min == 360
    assert [caution.text.partition(":")[0] for caution in plan.cautions] == ["Build 2"]
    check_plan(plan)
    assert len(levain_builds("10 kg", ready="06:00", shares="10 %", temperature="24 °C").builds) == 1


def test_one_clock_is_a_whole_day() -> None:
    (build,) = levain_builds("1 kg", start="05:00", ready="05:00", temperature="20 °C").builds
    assert build.time_h == 24


def test_your_own_log_goes_into_every_build() -> None:
    log = calibrated([LevainRecord(seed="50 g", total="1 kg", temperature="24 °C", time="9 h")])
    plan = levain_builds("1 kg", **TONIGHT, builds=2, phi=log)
    assert {build.ripening.phi for build in plan.builds} == {log.phi}
    assert [caution.code for caution in plan.cautions] == ["too-few-records"]
    check_plan(plan)


def test_a_caution_for_all_is_told_once() -> None:
    plan = levain_builds("1 kg", start="18:00", ready="05:00", builds=2, temperature="31 °C")
    assert [caution.code for caution in plan.cautions] == ["hot-levain"]
    assert not plan.cautions[0].text.startswith("Build")


@pytest.mark.parametrize(
    ("minutes", "text"),
    [
        (0, "00:00"),
        (1439, "23:59"),
        (1440, "00:00 the day after"),
        (-1, "23:59 the day before"),
        (-1441, "23:59 2 days before"),
        (4000, "18:40 2 days after"),
    ],
)
def test_the_clock(minutes: int, text: str) -> None:
    assert clock(minutes) == text


def test_views_and_values() -> None:
    plan = levain_builds("12 kg", **TONIGHT, keep="500 g")
    (build,) = plan.builds
    found = [view.m_as("g") for view in (plan.wanted, plan.kept, plan.total, plan.seed, build.seed, build.total)]
    assert found == [12000.0, 500.0, 12500.0, plan.seed_g, build.seed_g, 12500.0]
    assert {name: view.m_as("g") for name, view in build.fed.items()} == dict(build.fed_g)
    assert build.time.m_as("minute") == pytest.approx(660)
    assert build.share.m_as("percent") == pytest.approx(build.share_percent)
    assert build.temperature.m_as("degC") == pytest.approx(24)
    same = levain_builds("12000 g", start="18:00", ready="05:00", temperature="75.2 °F", keep="0.5 kg")
    assert (same, hash(same)) == (plan, hash(plan))
    assert pickle.loads(pickle.dumps(plan)) == plan  # noqa: S301 - our own bytes
    assert str(plan).splitlines()[-1] == "05:00: 12000 g for the dough, 500 g kept"


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"total": "0 g"}, "total: got 0 g"),
        ({"ready": "25:00"}, "ready: got '25:00', expected a time of day"),
        ({"ready": "5:00"}, 'write for example "05:30"'),
        ({"start": 18}, "start: got 18, expected a time of day"),
        ({"start": None}, "builds: got nothing, expected one of start=, times=, shares="),
        ({"times": "4 h"}, "builds: got start and times"),
        ({"start": None, "times": "8 h", "builds": 2}, "builds: got a number beside times"),
        ({"start": None, "times": []}, "times: got 0 builds, expected 1 to 12"),
        ({"start": None, "times": ["5 h"] * 13}, "times: got 13 builds"),
        ({"start": None, "times": ["5 h", "x"]}, "times[1]: got 'x'"),
        ({"start": None, "times": "0 h"}, "build: time: got 0 h, expected a minute to 60 days"),
        ({"start": None, "times": "70 d"}, "a minute to 60 days"),
        ({"start": None, "shares": "0 %"}, "the nearest is 0.5 %"),
        ({"start": None, "shares": ["10 %", "60 %"]}, "build 2: share: got 60 %, expected 0.5 % to 40 % of the build; the nearest is 40 %"),
        ({"builds": 0}, "builds: got 0, expected a whole number of builds"),
        ({"builds": 2.0}, "builds: got 2.0"),
        ({"builds": True}, "builds: got True"),
        ({"temperature": ["24 °C", "25 °C"]}, "temperature: got 2 of them, expected one for all, or one for each build, of which there are 1"),
        ({"builds": 2, "temperature": ["24 °C", "40 °C"]}, "build 2: temperature: got 40 °C"),
        ({"builds": 2, "hydration": ["60 %", "1"]}, "build 2: hydration: got '1'"),
        ({"keep": "2"}, "keep: got '2'"),
        ({"temperature": "28 °C", "start": "06:00"}, "make it in 2 builds"),
        ({"builds": 5}, "at 24 °C 11 h are enough for 3 of equal time"),
    ],
)  # fmt: skip
def test_bad_input(changed: dict[str, Any], says: str) -> None:
    given = {"total": "1 kg", **TONIGHT, **changed}
    with pytest.raises(QuantityError, match=re.escape(says)):
        levain_builds(given.pop("total"), **given)


def test_the_builds_that_a_refusal_names_work() -> None:
    assert len(levain_builds("1 kg", **TONIGHT, builds=3).builds) == 3
    assert len(levain_builds("1 kg", start="06:00", ready="05:00", temperature="28 °C", builds=2).builds) == 2


def test_a_bad_clock_is_told_once() -> None:
    with pytest.raises(QuantityError) as caught:
        levain_builds("1 kg", start="18:00", ready="noon", temperature="24 °C")
    assert [fault.where for fault in caught.value.faults] == ["ready"]


# -- the levain of a bread ---------------------------------------------------------------------------------------------


def test_the_levain_of_forty_kilograms() -> None:
    batch = harbour_sour().scale(dough="40 kg")
    plan = levain_for(batch, start="18:00", ready="04:30", temperature="22 °C")
    (build,) = plan.builds
    assert plan.wanted_g == pytest.approx(batch.stages["sour"].handed_on_g)
    assert build.share_percent == pytest.approx(100 * share(22, 10.5))
    fed = build.fed_g
    assert list(fed) == ["bread flour", "medium rye flour", "water"]
    assert fed["bread flour"] == pytest.approx(4 * fed["medium rye flour"])
    assert fed["water"] == pytest.approx(fed["bread flour"] + fed["medium rye flour"])
    assert plan.kept_g == plan.seed_g
    assert [caution.code for caution in plan.cautions] == ["seed-differs"]
    assert "6.98 % of the levain, is ripe after 10.9 h" in plan.cautions[0].text
    check_plan(plan)


def test_the_formulas_own_seed_is_the_plans() -> None:
    batch = harbour_sour().scale(dough="40 kg")
    own = batch.mass_g("culture", stage="sour") / batch.stages["sour"].total_g
    plan = levain_for(batch, shares=f"{100 * own:.9f} %", ready="04:30", temperature="22 °C")
    assert plan.cautions == ()
    (build,) = plan.builds
    stage = {row.name: row.mass_g for row in batch.stages["sour"].rows}
    assert build.seed_g == pytest.approx(stage.pop("culture"))
    assert dict(build.fed_g) == pytest.approx(stage)


def test_several_builds_are_fed_alike() -> None:
    batch = harbour_sour().scale(dough="40 kg")
    plan = levain_for(batch, times=["6 h", "8 h"], ready="04:30", temperature="24 °C", stage="sour", keep="0 g")
    assert plan.total_g == pytest.approx(batch.stages["sour"].handed_on_g)
    assert plan.cautions == ()
    check_plan(plan)


def test_what_the_formula_keeps_is_kept() -> None:
    batch = harbour_sour(culture="line", keep=10).scale(dough="40 kg")
    plan = levain_for(batch, start="18:00", ready="04:30", temperature="22 °C")
    assert plan.kept_g == pytest.approx(batch.stages["sour"].kept_g)
    assert plan.kept_g > 0
    check_plan(plan)


def test_salt_in_the_levain_is_seen() -> None:
    sour = Stage("sour", {"bread flour": 100, "water": 80, "salt": 2, "culture": 15}, flour="20 %", culture="line")
    overall = {"bread flour": 100, "water": 68, "salt": 2}
    batch = Formula.from_percents("Salted Sour", overall, stages=[sour]).scale(dough="10 kg")
    plan = levain_for(batch, start="18:00", ready="04:30", temperature="22 °C")
    assert "salted-levain" in [caution.code for caution in plan.cautions]
    assert plan.builds[0].fed_g["salt"] == pytest.approx(0.02 * plan.builds[0].fed_g["bread flour"])


def bread_with(*stages: Stage) -> Batch:
    overall = {"bread flour": 100, "water": 68, "salt": 2, "fresh yeast": 1}
    return Formula.from_percents("Other", overall, stages=stages).scale(dough="10 kg")


CULTURED = {"bread flour": 100, "water": 100, "culture": 10}


@pytest.mark.parametrize(
    ("batch", "stage", "error", "says"),
    [
        (bread_with(), None, FormulaError, "no stage with a ripe culture, expected one levain; name the stage with stage=: it has no stages"),
        (bread_with(), "sour", UnknownNameError, "'sour', expected a bread with stages"),
        (bread_with(Stage("biga", {"bread flour": 100, "water": 50, "fresh yeast": 0.2}, flour="30 %")), "biga", FormulaError, "stage biga: got fresh yeast, expected a levain without yeast"),
        (bread_with(Stage("a levain", CULTURED, flour="5 %", culture="returned"), Stage("b levain", CULTURED, flour="5 %", culture="returned")), None, FormulaError, "2 stages with a ripe culture, expected one levain; name the stage with stage=: "),
        (bread_with(Stage("a levain", CULTURED, flour="5 %", culture="returned")), "b levain", UnknownNameError, "'b levain', expected one of its stages: a levain"),
        (bread_with(Stage("first", CULTURED, culture="returned"), Stage("full", {"bread flour": 100, "water": 100, "first": 50}, flour="20 %")), "full", FormulaError, "stage full: got the stage first in it"),
        (bread_with(Stage("grain", {"salt": 5, "water": 100}, weight="10 %", base="water")), "grain", FormulaError, "stage grain: got no flour"),
    ],
)  # fmt: skip
def test_what_is_no_levain(batch: Batch, stage: str | None, error: type[FormulaError], says: str) -> None:
    with pytest.raises(error, match=re.escape(says)):
        levain_for(batch, stage=stage, start="18:00", ready="04:30", temperature="22 °C")


def test_a_named_stage_needs_no_culture_line() -> None:
    batch = bread_with(Stage("levain", {"bread flour": 100, "water": 100}, flour="20 %"))
    plan = levain_for(batch, stage="levain", start="18:00", ready="04:30", temperature="22 °C")
    assert plan.cautions == ()
    assert plan.wanted_g == pytest.approx(batch.stages["levain"].total_g)


# -- upkeep ------------------------------------------------------------------------------------------------------------


def check_upkeep(plan: LevainUpkeep) -> None:
    """Everything that is ripe is taken, kept or discarded; everything fed adds up; the end is the beginning."""
    for number, feeding in enumerate(plan.feedings):
        before = plan.feedings[number - 1]
        assert feeding.ripe_g == before.total_g
        gone_g = feeding.taken_g + feeding.seed_g + feeding.discard_g
        assert gone_g == pytest.approx(feeding.ripe_g, rel=1e-9)
        assert feeding.seed_g + feeding.flour_g + feeding.water_g == pytest.approx(feeding.total_g, rel=1e-12)
        assert feeding.total_g >= plan.smallest_g
        assert feeding.discard_g == 0 or before.total_g == plan.smallest_g
    out_g, in_g = plan.taken_g + plan.discard_g, plan.flour_g + plan.water_g
    assert out_g == pytest.approx(in_g, rel=1e-9)
    check_working(plan.working(), plan.seed_g)


def test_a_week_by_hand() -> None:
    plan = levain_upkeep(**TWICE)
    assert len(plan.feedings) == 14
    assert [(feeding.day, feeding.start) for feeding in plan.feedings[:3]] == [(1, "06:00"), (1, "18:00"), (2, "06:00")]
    s = share(24, 12)
    morning, evening = plan.feedings[0], plan.feedings[1]
    assert morning.total_g == 50
    assert evening.total_g == pytest.approx(400 + 50 * s)
    assert (morning.seed_g, evening.seed_g) == pytest.approx((50 * s, s * (400 + 50 * s)))
    assert (morning.discard_g, evening.discard_g) == pytest.approx((0, 50 - evening.seed_g))
    assert plan.taken_g == 2800
    check_upkeep(plan)


def test_a_circle_with_a_large_seed() -> None:
    """1 g is taken and 99 % kept: total = 1 + 0.99 total, so 100 g; with a second feeding 1 + 0.5 (1 + 0.99 total)."""
    assert totals_g([0.99], [1.0], 0.0) == pytest.approx([100.0])
    first = 1.5 / (1 - 0.495)
    assert totals_g([0.99, 0.5], [1.0, 1.0], 0.0) == pytest.approx([first, 1 + 0.99 * first])
    # No less than 5 g: the first would be 2.97 g, and is 5; the second 1 + 0.99 x 5.
    assert totals_g([0.99, 0.5], [1.0, 1.0], 5.0) == pytest.approx([5.0, 5.95])
    # No less than 4 g: the second would be 1 g and is 4, which makes the first 3 + 0.5 x 4.
    assert totals_g([0.0, 0.5], [1.0, 3.0], 4.0) == pytest.approx([5.0, 4.0])


def test_nothing_is_thrown_away_where_nothing_need_be() -> None:
    plan = levain_upkeep(feedings="05:00", temperature="18 °C", take="600 g", hydration="60 %")
    assert plan.discard_g == 0
    assert plan.feedings[0].total_g == pytest.approx(600 / (1 - share(18, 24)))
    assert plan.feedings[0].water_g == pytest.approx(0.6 * plan.feedings[0].flour_g)
    assert [caution.code for caution in plan.cautions] == ["cold-levain"]
    check_upkeep(plan)


def test_one_day_alone() -> None:
    takes = {"06:00": "400 g", "day 6 06:00": "1 kg", "day 7 06:00": "0 g"}
    plan = levain_upkeep(**{**TWICE, "take": takes})
    taken = [feeding.taken_g for feeding in plan.feedings if feeding.start == "06:00"]
    assert taken == [400.0] * 5 + [1000.0, 0.0]
    check_upkeep(plan)


def test_once_a_week_in_the_cold() -> None:
    plan = levain_upkeep(feedings="16:00", every=7, temperature="5 °C", smallest="100 g")
    (feeding,) = plan.feedings
    assert feeding.share_percent == pytest.approx(100 * share(5, 168))
    assert [caution.code for caution in plan.cautions] == ["cold-levain"]
    check_upkeep(plan)


def test_feedings_may_be_told_in_any_order_and_unevenly() -> None:
    plan = levain_upkeep(
        feedings=["20:00", "05:30", "13:00"], temperature="26 °C", take="200 g", days=2, smallest="0 g"
    )
    assert [feeding.start for feeding in plan.feedings] == ["05:30", "13:00", "20:00"] * 2
    shares = [feeding.share_percent / 100 for feeding in plan.feedings[:3]]
    assert shares == pytest.approx([share(26, 7.5), share(26, 7), share(26, 9.5)])
    check_upkeep(plan)


def test_totals_by_hand() -> None:
    assert totals_g([0.1], [90.0], 0.0) == pytest.approx([100.0])
    assert totals_g([0.1], [0.0], 50.0) == [50.0]
    # T1 = 100 + 0.1 T2 and T2 = 10 + 0.5 T1, so that T1 = 101 / 0.95.
    assert totals_g([0.5, 0.1], [10.0, 100.0], 0.0) == pytest.approx([101 / 0.95, 10 + 0.5 * 101 / 0.95])


def test_upkeep_views_and_values() -> None:
    plan = levain_upkeep(**TWICE)
    found = [view.m_as("g") for view in (plan.seed, plan.flour, plan.water, plan.taken, plan.discard, plan.smallest)]
    assert found == [plan.seed_g, plan.flour_g, plan.water_g, plan.taken_g, plan.discard_g, 50.0]
    assert plan.hydration.m_as("percent") == pytest.approx(100)
    one = plan.feedings[1]
    views = (one.ripe, one.taken, one.seed, one.discard, one.flour, one.water, one.total)
    grams = [view.m_as("g") for view in views]
    assert grams == [one.ripe_g, one.taken_g, one.seed_g, one.discard_g, one.flour_g, one.water_g, one.total_g]
    assert one.share.m_as("percent") == pytest.approx(one.share_percent)
    assert pickle.loads(pickle.dumps(plan)) == plan  # noqa: S301 - our own bytes
    assert hash(plan) == hash(levain_upkeep(**TWICE))
    assert str(plan).splitlines()[0].startswith("day 1 06:00: take 400 g, keep 1.32 g")


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"feedings": ()}, "feedings: got none, expected at least one time of day"),
        ({"feedings": ("06:00", "06:00")}, "feedings: got 06:00, 06:00, expected each time of day once"),
        ({"feedings": ("6",)}, "feedings: got '6', expected a time of day"),
        ({"days": 0}, "days: got 0, expected a whole number of days, 1 to 92"),
        ({"days": 93}, "days: got 93"),
        ({"every": 1.5}, "every: got 1.5"),
        ({"every": 2}, "days: got 7, expected a whole number of times every 2 days; 8 days are the nearest"),
        ({"take": {"07:00": "1 kg"}}, "take: 07:00: got '07:00', expected a feeding: 06:00, 18:00, alone or after day 1 and so on"),
        ({"take": {"day 8 06:00": "1 kg"}}, "take: day 8 06:00"),
        ({"take": {"06:00": "400"}}, "take: 06:00: got '400'"),
        ({"take": "400"}, "take: got '400'"),
        ({"take": "0 g", "smallest": "0 g"}, "smallest: got 0 g, expected more than nothing, where nothing is taken"),
        ({"temperature": "35 °C"}, "temperature: got 35 °C"),
        ({"hydration": "x"}, "hydration: got 'x'"),
        ({"feedings": "06:00"}, "feedings: time between them: got 24 h, expected 3.03 h to 17.5 h at 24 °C"),
    ],
)  # fmt: skip
def test_upkeep_bad_input(changed: dict[str, Any], says: str) -> None:
    with pytest.raises(QuantityError, match=re.escape(says)):
        levain_upkeep(**{**TWICE, "take": "100 g", **changed})


def test_upkeep_tells_the_nearest_that_works() -> None:
    with pytest.raises(QuantityError) as caught:
        levain_upkeep(feedings="06:00", temperature="24 °C")
    (fault,) = caught.value.faults
    told = re.search(r"keep it at ([0-9.]+) °C", fault.fix)
    assert told
    check_upkeep(levain_upkeep(feedings="06:00", temperature=f"{told[1]} °C"))
