"""Weighings: reading them, their spread by the textbook, and samples held against the plans of every rule."""

import copy
import pickle
from pathlib import Path
from statistics import fmean, stdev
from typing import Any

import numpy as np
import pytest
from scipy.stats import f_oneway, t

from formula.errors import FileError, QuantityError
from formula.packrules import weight_rule
from formula.samplecheck import WeighingCheck, check_weighings, mean_factor
from formula.samples import MOST_WEIGHINGS, Weighing, control_limits, read_weighings
from tests.arithmetic import check_working


def grams(*masses_g: float) -> list[str]:
    return [f"{mass_g:g} g" for mass_g in masses_g]


def sample(count: int, short: int = 0, shorter: int = 0, at: float = 402.0) -> list[str]:
    """Return weighings of 400 g with so many below 388 and 376 g, the short ones first; the others about ``at``."""
    rest = count - short - shorter
    return grams(*[375.0] * shorter, *[387.0] * short, *(at + place % 3 - 1 for place in range(rest)))


class TestWeighing:
    def test_the_tare_is_taken_off(self) -> None:
        weighing = Weighing("404 g", tare="3.5 g", time="05:10", batch="2")
        assert weighing.mass_g == 400.5
        assert weighing.mass.m_as("g") == pytest.approx(400.5)
        assert (weighing.weight.m_as("g"), weighing.tare.m_as("g")) == pytest.approx((404, 3.5))
        # 404.3 - 2.1 in binary fractions is a hair more than 402.2.
        assert Weighing("404.3 g", tare="2.1 g").mass_g == 402.2
        assert hash(weighing) == hash(Weighing("0.404 kg", tare="3.5 g", time="05:10", batch="2"))
        assert pickle.loads(pickle.dumps(weighing)) == copy.deepcopy(weighing)  # noqa: S301 - our own bytes

    def test_every_bad_argument_is_named_at_once(self) -> None:
        wrong: dict[str, Any] = {"tare": "3", "time": 5, "batch": 2}
        with pytest.raises(QuantityError) as caught:
            Weighing("404", **wrong)
        assert [fault.where for fault in caught.value.faults] == ["weight", "tare", "time", "batch"]
        for weight, tare, where in (("0 g", "0 g", "weight"), ("3 g", "3 g", "tare")):
            with pytest.raises(QuantityError) as caught:
                Weighing(weight, tare=tare)
            assert [fault.where for fault in caught.value.faults] == [where]

    def test_a_file(self, tmp_path: Path) -> None:
        path = tmp_path / "loaves.csv"
        path.write_text("batch,weight,tare\n1,404 g,2 g\n1,14.2 oz,\n", encoding="utf-8")
        first, second = read_weighings(path)
        assert (first.mass_g, first.batch, second.tare_g) == (402, "1", 0)
        assert second.mass_g == pytest.approx(14.2 * 28.349523125)

    def test_a_bad_file(self, tmp_path: Path) -> None:
        path = tmp_path / "loaves.csv"
        path.write_text("weight,tare\n404,0 g\n3 g,5 g\n\n402 g,1 K\n", encoding="utf-8")
        with pytest.raises(FileError) as caught:
            read_weighings(path)
        assert [fault.where.removeprefix(f"{path}: ") for fault in caught.value.faults] == [
            "line 2, column weight",
            "line 3, column tare",
            "line 5, column tare",
        ]
        path.write_text("mass\n404 g\n", encoding="utf-8")
        with pytest.raises(FileError, match="no column weight"):
            read_weighings(path)


class TestControlLimits:
    def test_against_the_analysis_of_variance(self) -> None:
        random = np.random.default_rng(7)
        batches = [random.normal(402 + shift, 6, size).round(1) for shift, size in ((0, 8), (5, 12), (-4, 10))]
        weighings = [Weighing(f"{mass_g} g", batch=str(name)) for name, batch in enumerate(batches) for mass_g in batch]
        random.shuffle(weighings)
        found = control_limits(weighings)
        assert sorted(group.count for group in found.groups) == [8, 10, 12]
        within = sum((len(batch) - 1) * batch.var(ddof=1) for batch in batches) / 27
        assert found.within_sd_g == pytest.approx(within**0.5, rel=1e-12)
        # F = MS_between / MS_within, so s_between^2 = (F - 1) MS_within / n0.
        usual = (30 - (64 + 144 + 100) / 30) / 2
        assert found.between_sd_g == pytest.approx(((f_oneway(*batches).statistic - 1) * within / usual) ** 0.5)
        check_working(found.working(), found.within_sd_g)

    def test_limits(self) -> None:
        found = control_limits(grams(400, 402, 404, 406, 430, 432, 399), size=2, target="410 g")
        # Each pair has a variance of 2, and 3 * sqrt(2 / 2) is 3.
        assert [(group.mean_g, group.is_out) for group in found.groups] == [(401, True), (405, True), (431, True)]
        assert found.groups[0].low_g == pytest.approx(407)
        assert found.groups[0].high_g == pytest.approx(413)
        assert found.centre_g == 410
        assert found.cautions[0].code == "weighings-left-out"
        assert found.groups[1].places == (3, 4)
        assert control_limits(grams(400, 402, 404, 406), size=2).centre_g == 403
        assert (found.centre.m_as("g"), found.within_sd.m_as("g")) == pytest.approx((410, 2**0.5))
        assert found.between_sd.m_as("g") == pytest.approx(found.between_sd_g)
        assert found.groups[0].mean.m_as("g") == pytest.approx(401)
        assert pickle.loads(pickle.dumps(found)) == found  # noqa: S301 - our own bytes

    def test_chance_alone_is_no_spread_between(self) -> None:
        assert control_limits(grams(400, 410, 401, 409), size=2).between_sd_g == 0

    @pytest.mark.parametrize(
        ("weighings", "given", "words"),
        [
            (grams(400, 402, 404), {"size": 2}, "at least 2 subgroups"),
            (grams(400, 402), {"size": 1}, "2 or more"),
            (grams(400, 402), {"size": 2.0}, "2 or more"),
            ([], {}, "at least 2 subgroups"),
            ([Weighing("4 g", batch="a"), Weighing("5 g", batch="a"), Weighing("4 g", batch="b")], {}, "of batch b"),
            (["400", "0 g"], {"target": "4"}, "3 faults"),
            ("400 g", {}, "a list of weighings"),
            (None, {}, "a list of weighings"),
            (grams(400) * (MOST_WEIGHINGS + 1), {}, f"at most {MOST_WEIGHINGS}"),
        ],
    )
    def test_refusals(self, weighings: Any, given: dict[str, Any], words: str) -> None:  # noqa: ANN401
        with pytest.raises(QuantityError, match=words):
            control_limits(weighings, **given)


def judged(found: WeighingCheck) -> list[bool | None]:
    return [clause.passed for clause in found.clauses]


class TestCheck:
    @pytest.mark.parametrize("share", [0.975, 0.995])
    @pytest.mark.parametrize("count", [2, 12, 20, 24, 30, 48, 50, 80, 125, 400])
    def test_the_factor_is_students(self, share: float, count: int) -> None:
        assert mean_factor(share, count) == pytest.approx(t.ppf(share, count - 1) / count**0.5, rel=1e-9)

    @pytest.mark.parametrize("rule", ["eu", "uk", "de", "oiml", "us"])
    def test_the_mean(self, rule: str) -> None:
        """A sample whose mean is just not, and just, as far below as its own spread excuses."""
        lot = 800
        spread = [-5.0, -3.0, 0.0, 3.0, 5.0] * 16
        deviation = stdev(spread)
        excused = t.ppf(weight_rule(rule).confidence_share, 79) / 80**0.5 * deviation
        for more, passed in ((0.001, True), (-0.001, False)):
            masses = [400 - excused + more + each for each in spread]
            found = check_weighings([f"{mass:.9f} g" for mass in masses], "400 g", rule=rule, lot=lot)
            assert judged(found)[0] is passed
            assert found.margin_g == pytest.approx(more, abs=1e-6)
            assert found.mean_g == pytest.approx(fmean(masses))
            check_working(found.working(), found.margin_g)

    @pytest.mark.parametrize(
        ("lot", "count", "short", "passed"),
        [
            # First samples: up to the acceptance number, from the rejection number on, and between them.
            (100, 30, 1, True), (100, 30, 2, None), (500, 30, 2, None), (500, 30, 3, False),
            (501, 50, 2, True), (501, 50, 3, None), (3200, 50, 4, None), (3200, 50, 5, False),
            (3201, 80, 3, True), (3201, 80, 4, None), (9000, 80, 6, None), (9000, 80, 7, False),
        ],
    )  # fmt: skip
    def test_the_double_plans(self, lot: int, count: int, short: int, passed: bool | None) -> None:  # noqa: FBT001
        found = check_weighings(sample(count, short, at=404), "400 g", lot=lot)
        assert judged(found) == [True, passed, True]
        assert found.verdict == {True: "accept", False: "reject", None: "second sample"}[passed]
        assert found.wanted == count
        assert ("of " + str(count) + " more" in str(found)) is (passed is None)

    @pytest.mark.parametrize(("lot", "both", "most", "first"), [(400, 60, 4, 2), (800, 100, 6, 4), (9000, 160, 8, 5)])
    def test_the_second_sample_decides(self, lot: int, both: int, most: int, first: int) -> None:
        for further, passed in ((most - first, True), (most - first + 1, False)):
            second = sample(both // 2, first, at=404) + sample(both // 2, further, at=404)
            found = check_weighings(second, "400 g", lot=lot)
            assert judged(found)[1] is passed
            assert found.wanted == 0
        # A first sample that decides by itself is not asked again.
        good = sample(both // 2, 0, at=404) + sample(both // 2, 9, at=404)
        assert judged(check_weighings(good, "400 g", lot=lot))[1] is True

    def test_destructive(self) -> None:
        for short, passed in ((1, True), (2, False)):
            found = check_weighings(sample(20, short, at=404), "400 g", rule="uk", lot=400, destructive=True)
            assert judged(found)[1] is passed
        assert "from-memory" not in {caution.code for caution in found.cautions}
        assert "from-memory" in {c.code for c in check_weighings(sample(30), "400 g", lot=400).cautions}

    def test_none_may_be_short_by_twice_the_tolerance(self) -> None:
        found = check_weighings(sample(30, 0, 1, at=404), "400 g", lot=400)
        assert judged(found) == [True, True, False]
        assert found.verdict == "reject"
        assert (found.beyond, found.beyond_outer) == (1, 1)

    def test_just_at_the_limit_is_not_short(self) -> None:
        found = check_weighings([*grams(388, 376), *sample(28, at=404)], "400 g", lot=400)
        assert (found.beyond, found.beyond_outer) == (1, 0)
        # 7.5 - 0.7 and 110 - 5 are limits too, whatever a binary fraction makes of them.
        assert check_weighings([*grams(6.8), *grams(7.6) * 29], "7.5 g", lot=400).beyond == 0

    def test_a_small_lot_is_weighed_whole(self) -> None:
        # All 80 averaged without any doubt; 2.5 % of 80 are 2.
        for short, passed in ((2, True), (3, False)):
            found = check_weighings(sample(80, short, at=401), "400 g", lot=80)
            assert judged(found)[1] is passed
            assert found.lowest_mean_g == 400
            check_working(found.working(), found.margin_g)
        assert judged(check_weighings(grams(*[399.9, 400.1] * 20), "400 g", lot=40))[0] is True
        assert judged(check_weighings(grams(*[399.9, 400.0] * 20), "400 g", lot=40))[0] is False

    @pytest.mark.parametrize(("lot", "count", "most"), [(100, 50, 3), (501, 80, 5), (3201, 125, 7)])
    def test_oiml(self, lot: int, count: int, most: int) -> None:
        assert judged(check_weighings(sample(count, most, at=404), "400 g", rule="oiml", lot=lot)) == [True, True, True]
        found = check_weighings(sample(count, most + 1, at=404), "400 g", rule="oiml", lot=lot)
        assert judged(found)[1] is False

    @pytest.mark.parametrize(("lot", "count", "most"), [(12, 12, 0), (250, 12, 0), (251, 24, 0), (3201, 48, 1)])
    def test_handbook(self, lot: int, count: int, most: int) -> None:
        # 400 g are 0.88 lb: the variation is 0.040 lb, so 381.86 g; 387 g are not short.
        for shorter, passed in ((most, True), (most + 1, False)):
            found = check_weighings(sample(count, 1, shorter, at=408), "400 g", rule="us", lot=lot)
            assert [clause.name for clause in found.clauses] == ["mean", "MAV"]
            assert judged(found)[1] is passed

    def test_canada(self) -> None:
        # Of 40, one may be below 394 g; one may be below 388 g, not two; and the mean is compared as it is.
        assert judged(check_weighings(grams(390, *[401] * 39), "400 g", rule="ca", lot=5000)) == [True, True, True]
        assert judged(check_weighings(grams(390, 391, *[401] * 38), "400 g", rule="ca", lot=5000)) == [
            True,
            False,
            True,
        ]
        assert judged(check_weighings(grams(380, *[401] * 39), "400 g", rule="ca", lot=5000)) == [True, True, True]
        twice = check_weighings(grams(380, 380, *[402] * 78), "400 g", rule="ca", lot=5000)
        assert judged(twice) == [True, True, False]
        assert judged(check_weighings(grams(*[399.99] * 3), "400 g", rule="ca", lot=5000))[0] is False

    def test_no_spread(self) -> None:
        found = check_weighings(grams(400) * 30, "400 g", lot=400)
        assert found.verdict == "accept"
        assert found.cautions[-1].code == "no-spread"
        assert check_weighings(grams(399.9) * 30, "400 g", lot=400).verdict == "reject"

    def test_it_says_what_it_is_not(self) -> None:
        found = check_weighings(sample(30), "400 g", lot=400)
        assert [caution.code for caution in found.cautions][:2] == ["own-check", "verify-before-legal-use"]
        assert found.nominal.m_as("g") == pytest.approx(400)
        for name in ("mean", "sd", "lowest_mean", "margin"):
            assert getattr(found, name).m_as("g") == pytest.approx(getattr(found, f"{name}_g"))
        assert pickle.loads(pickle.dumps(found)) == copy.deepcopy(found)  # noqa: S301 - our own bytes

    @pytest.mark.parametrize(
        ("weighings", "given", "words"),
        [
            (sample(29), {"lot": 400}, "expected at least 30 for a lot of 400 under rule eu; weigh 1 more"),
            (sample(40), {"lot": 800}, "at least 50"),
            (sample(60), {"lot": 9000}, "at least 80"),
            (sample(19), {"lot": 400, "destructive": True}, "at least 20"),
            (sample(40), {"lot": 400, "rule": "oiml"}, "at least 50"),
            (sample(11), {"lot": 100, "rule": "us"}, "at least 12"),
            (sample(1), {"lot": 100, "rule": "ca"}, "at least 2"),
            (sample(30), {"lot": 40}, "all 40 pieces"),
            (sample(40), {"lot": 40, "destructive": True}, "a lot of 100 or more"),
            (sample(60), {"lot": 50}, "at least as many as were weighed, 60"),
            (sample(60), {"lot": 60, "rule": "oiml"}, "a lot of 100 or more"),
            (sample(5), {"lot": 5, "rule": "us"}, "a lot of 12 or more"),
            (sample(30), {"lot": 1}, "2 or more"),
            (sample(30), {"lot": 400.0}, "2 or more"),
            (sample(30), {"lot": 400, "rule": "fr"}, "one of"),
            (["400"], {"lot": 0}, "2 faults"),
        ],
    )
    def test_refusals(self, weighings: list[str], given: dict[str, Any], words: str) -> None:
        with pytest.raises(QuantityError, match=words):
            check_weighings(weighings, "400 g", **given)
