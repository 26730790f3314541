"""Laws of the levain."""

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from formula.builds import levain_builds
from formula.culture import levain_seed, levain_time
from formula.levainlog import LevainRecord, calibrated
from formula.quantity import MASS, TEMPERATURE, TIME, grid, write
from formula.souring import (
    CURVES,
    GrowthCurve,
    growth_rate_per_h,
    optimum_c,
    phi_from_log,
    ripening_time_h,
    seed_share_after,
    share_from_starter,
    starter_from_share,
    temperature_for_rate_c,
)
from formula.upkeep import levain_upkeep
from tests.laws.strategies import curves, levain_c, masses_g, meanings, phis, seed_shares


class TestTimeAndSeedAreInverses:
    """The seed for a time is ripe after that time, and the time of a seed asks for that seed."""

    @given(seed_shares, levain_c, curves, phis)
    def test_kernels(self, share: float, temperature_c: float, curve: GrowthCurve, phi: float) -> None:
        rate = growth_rate_per_h(temperature_c, curve)
        time_h = ripening_time_h(share, rate, phi)
        assert seed_share_after(time_h, rate, phi) == pytest.approx(share, rel=1e-12)
        assert phi_from_log(share, rate, time_h) == pytest.approx(phi, rel=1e-12)

    @given(masses_g, st.floats(0.006, 0.39), levain_c, meanings)
    def test_shells(self, total_g: float, share: float, temperature_c: float, ripe: str) -> None:
        total, temperature = write(MASS, total_g), write(TEMPERATURE, temperature_c)
        seed_g = grid(MASS, share * total_g)
        time = levain_time(seed=write(MASS, seed_g), total=total, temperature=temperature, ripe=ripe)
        back = levain_seed(total=total, time=write(TIME, time.time_h), temperature=temperature, ripe=ripe)
        assert back.seed_g == pytest.approx(seed_g, rel=1e-9)
        assert back.low_g <= back.seed_g <= back.high_g
        assert time.low_h <= time.time_h <= time.high_h


class TestMoreSeedOrWarmerIsNeverSlower:
    """More seed is never slower, nor is a warmer levain below the optimum."""

    @given(seed_shares, seed_shares, levain_c, levain_c, curves)
    def test_law(self, one: float, other: float, here_c: float, there_c: float, curve: GrowthCurve) -> None:
        top = optimum_c(curve)
        cool, warm = sorted((min(here_c, top), min(there_c, top)))
        little, much = sorted((one, other))
        phi = curve.phi.value
        slow = ripening_time_h(little, growth_rate_per_h(cool, curve), phi)
        assert ripening_time_h(much, growth_rate_per_h(cool, curve), phi) <= slow
        assert ripening_time_h(little, growth_rate_per_h(warm, curve), phi) <= slow * (1 + 1e-12)


class TestTheUnitsDoNotMatter:
    """Grams and pounds, Celsius and Fahrenheit, starter on flour and seed in the whole give the same time."""

    @given(masses_g, st.floats(0.01, 0.39), levain_c, meanings)
    def test_units(self, total_g: float, share: float, temperature_c: float, ripe: str) -> None:
        seed_g = grid(MASS, share * total_g)
        metric = levain_time(
            seed=write(MASS, seed_g),
            total=write(MASS, total_g),
            temperature=write(TEMPERATURE, temperature_c),
            ripe=ripe,
        )
        other = levain_time(
            seed=write(MASS, seed_g, "lb"),
            total=write(MASS, total_g, "oz"),
            temperature=write(TEMPERATURE, temperature_c, "°F"),
            ripe=ripe,
        )
        assert other == metric

    @given(seed_shares, st.floats(0.4, 2.0), st.floats(0.0, 0.03))
    def test_conventions(self, share: float, hydration: float, salt: float) -> None:
        starter = starter_from_share(share, hydration, salt)
        assert share_from_starter(starter, hydration, salt) == pytest.approx(share, rel=1e-12)
        # Counted in weights: for 1 of flour.
        assert starter / (1 + hydration + salt + starter) == pytest.approx(share, rel=1e-12)


class TestTheCoolerTemperatureGivesTheRate:
    """The temperature found for a rate has that rate, and lies below the optimum."""

    @given(st.floats(2.0, 40.0), curves)
    def test_law(self, temperature_c: float, curve: GrowthCurve) -> None:
        assume(temperature_c < curve.highest.value)
        rate = growth_rate_per_h(temperature_c, curve)
        found = temperature_for_rate_c(rate, curve)
        if found is None:
            assert rate < growth_rate_per_h(2.0, curve)
        else:
            assert growth_rate_per_h(found, curve) == pytest.approx(rate, rel=1e-9)
            assert found <= optimum_c(curve) + 1e-9


def clock(minutes: int) -> str:
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


class TestBuildsEndAtTheWantedTime:
    """Whatever the builds, the last is ripe at the wanted minute, the first begins at the given one, and weights add up."""

    @given(
        masses_g, st.integers(0, 1439), st.integers(1, 4), st.floats(0.006, 0.38), st.floats(16.0, 33.0), meanings,
        st.none() | masses_g,
    )  # fmt: skip
    def test_law(
        self, total_g: float, ready_min: int, most: int, share: float, warm: float, ripe: str, keep_g: float | None
    ) -> None:
        curve = CURVES[ripe]
        each_h = ripening_time_h(share, growth_rate_per_h(warm, curve), curve.phi.value)
        assume(each_h <= 24)
        builds = min(most, int(24 / each_h))
        span_min = round(60 * builds * each_h)
        ready, start = clock(ready_min), clock(ready_min - span_min)
        plan = levain_builds(
            write(MASS, total_g),
            start=start,
            ready=ready,
            builds=builds,
            temperature=write(TEMPERATURE, warm),
            ripe=ripe,
            keep=None if keep_g is None else write(MASS, keep_g),
        )
        assert plan.builds[-1].ready == ready
        assert plan.builds[0].start_min == ready_min - span_min
        assert plan.builds[0].start.removesuffix(" the day before") == start
        assert len(plan.builds) == builds
        fed_g = math.fsum(mass for build in plan.builds for mass in build.fed_g.values())
        assert plan.seed_g + fed_g == pytest.approx(plan.wanted_g + plan.kept_g, rel=1e-12)
        for build in plan.builds:
            time = levain_time(
                seed=write(MASS, build.seed_g),
                total=write(MASS, build.total_g),
                temperature=write(TEMPERATURE, warm),
                ripe=ripe,
            )
            assert time.time_h == pytest.approx(build.time_h, rel=1e-9)


class TestUpkeepLosesNothing:
    """What is fed over the plan is what is taken and discarded, and each feeding is ripe at the next."""

    @given(
        st.integers(1, 4),
        st.lists(st.integers(-60, 60), min_size=4, max_size=4),
        st.floats(0.03, 0.2),
        meanings,
        masses_g,
        masses_g,
        st.integers(1, 5),
    )
    def test_law(
        self, count: int, early: list[int], share: float, ripe: str, take_g: float, smallest_g: float, days: int
    ) -> None:
        curve = CURVES[ripe]
        rate = math.log(1 / share) / (curve.phi.value * 24 / count)
        warm = temperature_for_rate_c(rate, curve)
        assume(warm is not None)
        feedings = [clock(120 + 1440 * number // count + early[number]) for number in range(count)]
        plan = levain_upkeep(
            feedings=feedings,
            temperature=write(TEMPERATURE, warm or 0.0),
            ripe=ripe,
            take=write(MASS, take_g),
            smallest=write(MASS, smallest_g),
            days=days,
        )
        assert [feeding.start for feeding in plan.feedings[:count]] == feedings
        assert plan.taken_g + plan.discard_g == pytest.approx(plan.flour_g + plan.water_g, rel=1e-9)
        for feeding, after in pairwise((*plan.feedings, plan.feedings[0])):
            assert after.ripe_g == feeding.total_g
            assert after.discard_g >= 0
            gone_g = after.taken_g + after.seed_g + after.discard_g
            assert gone_g == pytest.approx(after.ripe_g, rel=1e-9)
            hours = ripening_time_h(feeding.share_percent / 100, growth_rate_per_h(warm or 0.0, curve), curve.phi.value)
            assert (feeding.ripe_min - feeding.start_min) / 60 == pytest.approx(hours, rel=1e-6)


class TestALogOfOneConstantGivesIt:
    """Levains that all follow one constant calibrate to it."""

    @given(phis, st.lists(st.tuples(st.floats(0.01, 0.39), st.floats(20.0, 30.0)), min_size=1, max_size=8), meanings)
    def test_law(self, phi: float, levains: list[tuple[float, float]], ripe: str) -> None:
        log = [
            LevainRecord(
                seed=write(MASS, 1000 * share),
                total="1 kg",
                temperature=write(TEMPERATURE, warm),
                time=write(TIME, ripening_time_h(share, growth_rate_per_h(warm, CURVES[ripe]), phi)),
                ripe=ripe,
            )
            for share, warm in levains
        ]
        found = calibrated(log)
        assert found.phi == pytest.approx(phi, rel=1e-9)
        assert found.low_factor < 1 < found.high_factor
