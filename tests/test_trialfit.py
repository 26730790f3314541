"""Friction from many trials: mean and rate, spread, outliers, groups and doubtful readings."""

import copy
import math
import pickle
from statistics import stdev
from typing import Any

import pytest

from formula.errors import QuantityError
from formula.trialfit import friction_from_trials
from formula.trials import Trial
from formula.water import dough_temperature, water_temperature
from tests.arithmetic import check_working


def mixes(*factors_k: float, **others: Any) -> list[Trial]:  # noqa: ANN401 - facts of a trial
    """Make trials with flour and room at 20 °C and water at 10 °C whose factors are those given."""
    return [
        Trial(flour="20 °C", room="20 °C", water="10 °C", dough=f"{(50 + factor) / 3:.9f} °C", **others)
        for factor in factors_k
    ]


def codes(made: Any) -> list[str]:  # noqa: ANN401
    return [caution.code for caution in made.cautions]


def test_a_mean() -> None:
    made = friction_from_trials(mixes(18.0, 20.0, 19.0, 21.0, 17.0))
    assert made.friction_k == pytest.approx(19.0, abs=1e-8)
    assert made.standard_deviation_k == pytest.approx(stdev([18, 20, 19, 21, 17]), abs=1e-8)
    assert made.standard_error_k == pytest.approx(stdev([18, 20, 19, 21, 17]) / math.sqrt(5), abs=1e-8)
    # The printed t for 4 degrees of freedom is 2.776.
    half = 2.776 * math.sqrt(2.5 + 0.5)
    assert (made.low_k, made.high_k) == pytest.approx((19 - half, 19 + half), abs=0.001)
    assert (made.count, made.outliers, made.rate_k_per_min, codes(made)) == (3, (), None, [])
    check_working(made.working(), made.friction_k, exact=False)


def test_it_stands_where_friction_is_asked_for() -> None:
    made = friction_from_trials(mixes(18.0, 20.0, 19.0))
    water = water_temperature("25 °C", flour="21 °C", room="23 °C", friction=made)
    assert water.temperature_c == pytest.approx(75 - 44 - 19)
    back = dough_temperature(flour="21 °C", room="23 °C", water="12 °C", friction=made)
    assert back.temperature_c == pytest.approx(25.0)
    with pytest.raises(QuantityError, match=r"for_count\(4\)"):
        water_temperature("25 °C", flour="21 °C", room="23 °C", friction=made, preferments="20 °C")
    four = made.for_count(4)
    assert four.friction_k == pytest.approx(19.0 * 4 / 3)
    assert four.rise_k == pytest.approx(made.rise_k)
    assert four.standard_deviation_k == pytest.approx((made.standard_deviation_k or 0) * 4 / 3)
    assert water_temperature("25 °C", flour="21 °C", room="23 °C", friction=four, preferments="20 °C")
    check_working(four.working(), four.friction_k, exact=False)
    with pytest.raises(QuantityError, match="count: got 0"):
        made.for_count(0)


def test_one_trial_has_no_spread() -> None:
    made = friction_from_trials(mixes(19.0))
    assert made.friction_k == pytest.approx(19.0, abs=1e-8)
    spread = (made.standard_deviation_k, made.standard_error_k, made.low_k, made.high_k, made.next_k)
    assert spread == (None,) * 5
    assert (made.standard_deviation, made.standard_error, made.low, made.high, made.time) == (None,) * 5
    assert codes(made) == ["few-trials"]
    assert codes(friction_from_trials(mixes(19.0, 19.5))) == ["few-trials"]


def test_an_outlier_is_named_and_counts() -> None:
    trials = mixes(18.0, 19.0, 18.5, 19.5, 31.0)
    made = friction_from_trials(trials)
    assert (made.outliers, made.dropped, made.kept) == ((5,), False, (1, 2, 3, 4, 5))
    assert made.friction_k == pytest.approx(21.2, abs=1e-8)
    assert codes(made) == ["outliers", "contradictory-trials"]
    assert "trial 5 (31 K)" in made.cautions[0].text
    assert "Counted all the same" in made.cautions[0].text


def test_an_outlier_is_left_out_if_asked() -> None:
    made = friction_from_trials(mixes(18.0, 19.0, 31.0, 18.5, 19.5), drop_outliers=True)
    assert (made.outliers, made.dropped, made.kept) == ((3,), True, (1, 2, 4, 5))
    assert made.friction_k == pytest.approx(18.75, abs=1e-8)
    assert made.standard_deviation_k == pytest.approx(stdev([18.0, 19.0, 18.5, 19.5]), abs=1e-8)
    assert codes(made) == ["outliers"]
    assert "Left out" in made.cautions[0].text
    check_working(made.working(), made.friction_k, exact=False)
    assert made.for_count(4).kept == made.kept


def test_three_trials_have_no_outliers() -> None:
    made = friction_from_trials(mixes(18.0, 18.0, 40.0), drop_outliers=True)
    assert (made.outliers, codes(made)) == ((), ["contradictory-trials"])


def test_a_rate_for_each_minute() -> None:
    trials = [
        trial
        for factor, time in ((8.1, "4 min"), (15.9, "8 min"), (24.0, "12 min"))
        for trial in mixes(factor, time=time)
    ]
    made = friction_from_trials(trials, by="time", time="10 min")
    # Least squares through zero by hand: (4 * 8.1 + 8 * 15.9 + 12 * 24) / (16 + 64 + 144).
    rate = 447.6 / 224
    assert made.rate_k_per_min == pytest.approx(rate, abs=1e-8)
    assert made.friction_k == pytest.approx(10 * rate, abs=1e-7)
    left = [8.1 - 4 * rate, 15.9 - 8 * rate, 24 - 12 * rate]
    deviation = math.sqrt(sum(value * value for value in left) / 2)
    assert made.standard_deviation_k == pytest.approx(deviation, abs=1e-7)
    assert made.standard_error_k == pytest.approx(deviation * 10 / math.sqrt(224), abs=1e-7)
    assert codes(made) == []
    check_working(made.working(), made.friction_k, exact=False)
    assert made.time is not None
    assert made.time.m_as("minute") == pytest.approx(10.0)
    at_the_mean = friction_from_trials(trials, by="time")
    assert at_the_mean.friction_k == pytest.approx(8 * rate, abs=1e-7)
    assert "mixed-times" in codes(friction_from_trials(trials))
    four = made.for_count(4)
    assert four.rate_k_per_min == pytest.approx(rate * 4 / 3, abs=1e-7)
    check_working(four.working(), four.friction_k, exact=False)


def test_an_outlier_of_a_rate() -> None:
    pairs = ((8.0, "4 min"), (12.0, "6 min"), (16.0, "8 min"), (20.0, "10 min"), (32.0, "12 min"))
    trials = [trial for factor, time in pairs for trial in mixes(factor, time=time)]
    made = friction_from_trials(trials, by="time", time="10 min", drop_outliers=True)
    assert made.outliers == (5,)
    assert made.rate_k_per_min == pytest.approx(2.0, abs=1e-8)
    # A mean would find nothing odd in 8, 12, 16, 20 and 32: its limit is 3.5 * 1.4826 * 4 = 20.8 from 16.
    assert friction_from_trials(trials).outliers == ()


def test_groups_by_mixer_and_speed() -> None:
    trials = [
        *mixes(18.0, 19.0, 20.0, mixer="big", speed="second"),
        *mixes(9.0, 10.0, 11.0, mixer="big", speed="first"),
        *mixes(12.0, mixer="arm"),
    ]
    made = friction_from_trials(trials)
    assert [(group.mixer, group.speed, round(group.friction_k, 6)) for group in made.groups] == [
        ("big", "second", 19.0),
        ("big", "first", 10.0),
        ("arm", "", 12.0),
    ]
    assert made.group("big", "first").friction_k == pytest.approx(10.0)
    assert (made.mixer, made.speed) == ("", "")
    assert "mixed-mixers" in codes(made)
    assert codes(made.group("arm")) == ["few-trials"]
    alone = friction_from_trials(trials[:3])
    assert (alone.groups, alone.mixer, alone.group("big", "second")) == ((), "big", alone)
    with pytest.raises(QuantityError, match="one of: big, second; big, first; arm"):
        made.group("big", "third")
    four = made.for_count(4)
    assert four.group("arm").friction_k == pytest.approx(16.0)


def test_mixed_counts() -> None:
    plain = Trial(flour="22 °C", room="22 °C", water="25 °C", dough="26 °C")
    with_biga = Trial(flour="22 °C", room="22 °C", preferments="6 °C", water="42 °C", dough="26 °C")
    with pytest.raises(QuantityError, match=r"sums of 3 and 4 temperatures, expected all of one number; say count=3"):
        friction_from_trials([plain, with_biga])
    made = friction_from_trials([plain, with_biga], count=3)
    assert (made.friction_k, made.count) == (9.0, 3)
    assert "mixed-counts" in codes(made)
    check_working(made.working(), made.friction_k, exact=False)
    assert friction_from_trials([plain, with_biga], count=4).friction_k == 12.0


def test_a_mixer_that_cools_is_cautioned() -> None:
    made = friction_from_trials(mixes(-2.0, 1.0, 1.0))
    assert codes(made) == ["negative-friction"]
    assert "Trial 1:" in made.cautions[0].text


def test_doughs_of_unlike_size_are_cautioned() -> None:
    trials = [*mixes(18.0, mass="40 kg"), *mixes(19.0, mass="50 kg"), *mixes(18.0)]
    assert codes(friction_from_trials(trials)) == []
    assert codes(friction_from_trials([*trials, *mixes(18.0, mass="51 kg")])) == ["mixed-sizes"]


def test_sizes_of_one_mixer() -> None:
    """Ends of each class by hand: 12 and 15 kg are a quarter apart and alike, 16 kg begins the next."""
    trials = [
        *mixes(14.0, mass="16 kg"),
        *mixes(10.0, mass="12 kg"),
        *mixes(12.0, mass="15 kg"),
        *mixes(20.0, 22.0, mass="80 kg"),
        *mixes(30.0),
    ]
    made = friction_from_trials(trials)
    assert [(size.masses_g, size.mass_range, round(size.friction_k, 6)) for size in made.sizes] == [
        ((12_000.0, 15_000.0), "12 to 15 kg", 11.0),
        ((16_000.0, 16_000.0), "16 kg", 14.0),
        ((80_000.0, 80_000.0), "80 kg", 21.0),
    ]
    # The trial whose mass nobody wrote down counts in the mean of all, 108 / 6, and in no size.
    assert made.friction_k == pytest.approx(18.0)
    assert made.groups == ()
    assert "take of_size(...) for the batch to come (12 to 15 kg; 16 kg; 80 kg)" in str(made.cautions[-1])
    assert made.of_size("14 kg").friction_k == pytest.approx(11.0)
    assert made.of_size("65 kg") is made.of_size("100 kg") is made.sizes[2]
    assert made.for_count(6).of_size("16 kg").friction_k == pytest.approx(28.0)


def test_the_size_nearest_is_taken_up_to_a_quarter_away() -> None:
    made = friction_from_trials([*mixes(10.0, mass="10 kg"), *mixes(12.0, mass="14 kg")])
    # 12 kg is 1.2 times the one and the other is 1.17 times it.
    assert made.of_size("12 kg").friction_k == pytest.approx(12.0)
    assert made.of_size("8 kg").friction_k == pytest.approx(10.0)
    for mass in ("7.9 kg", "17.6 kg", "0 kg"):
        with pytest.raises(QuantityError, match="a size that was tried: 10 kg; 14 kg; make trials of it"):
            made.of_size(mass)


def test_sizes_within_groups() -> None:
    trials = [
        *mixes(18.0, mass="80 kg", mixer="big"),
        *mixes(14.0, mass="40 kg", mixer="big"),
        *mixes(9.0, mixer="arm"),
    ]
    made = friction_from_trials(trials)
    assert made.sizes == ()
    assert made.group("big").of_size("42 kg").friction_k == pytest.approx(14.0)
    with pytest.raises(QuantityError, match=r"one mixer and speed; take group\(...\) first: big; arm"):
        made.of_size("42 kg")
    with pytest.raises(QuantityError, match="a size that was tried: no trial has its mass"):
        made.group("arm").of_size("42 kg")


def test_a_fit_by_time_for_each_size() -> None:
    small, large = [(8.0, "4 min"), (16.0, "8 min")], [(12.0, "4 min"), (24.0, "8 min")]
    trials = [trial for factor, time in small for trial in mixes(factor, time=time, mass="20 kg")]
    trials += [trial for factor, time in large for trial in mixes(factor, time=time, mass="90 kg")]
    made = friction_from_trials(trials, by="time", time="10 min")
    assert [size.rate_k_per_min for size in made.sizes] == pytest.approx([2.0, 3.0], abs=1e-8)
    assert [size.friction_k for size in made.sizes] == pytest.approx([20.0, 30.0], abs=1e-7)


def test_contradictory_is_more_than_five_kelvins() -> None:
    assert codes(friction_from_trials(mixes(16.0, 18.0, 20.9))) == []
    assert codes(friction_from_trials(mixes(16.0, 18.0, 21.1))) == ["contradictory-trials"]


def test_a_hundred_trials_can_still_be_read() -> None:
    made = friction_from_trials(mixes(*(18 + place % 5 for place in range(100)), time="8 min"))
    working = made.working()
    check_working(working, made.friction_k, exact=False)
    assert len(working.steps) == 100 + 5 + 1 + 1
    by_time = friction_from_trials(made.trials, by="time")
    check_working(by_time.working(), by_time.friction_k, exact=False)


def test_refusals() -> None:
    with pytest.raises(QuantityError, match="trials: got none, expected at least one trial"):
        friction_from_trials([])
    with pytest.raises(QuantityError, match="trials: got 401, expected at most 400"):
        friction_from_trials(mixes(18.0) * 401)
    with pytest.raises(QuantityError, match=r"make them with Trial"):
        friction_from_trials([19.0])  # type: ignore[list-item]
    with pytest.raises(QuantityError, match="no time of mixing in trial 2"):
        friction_from_trials([*mixes(18.0, time="8 min"), *mixes(18.0)], by="time")
    with pytest.raises(QuantityError) as caught:
        friction_from_trials(mixes(18.0), by="guess", time="8", count=1)  # type: ignore[arg-type]
    assert [fault.where for fault in caught.value.faults] == ["by", "time", "count"]
    with pytest.raises(QuantityError, match='a time for by="time" only'):
        friction_from_trials(mixes(18.0), time="8 min")


def test_views_and_values() -> None:
    made = friction_from_trials(mixes(18.0, 20.0, 19.0))
    assert made.friction.m_as("delta_degF") == pytest.approx(34.2)
    assert made.next_k == pytest.approx(math.sqrt(1 + 1 / 3))
    for quantity, value in (
        (made.standard_deviation, made.standard_deviation_k),
        (made.standard_error, made.standard_error_k),
        (made.low, made.low_k),
        (made.high, made.high_k),
    ):
        assert quantity is not None
        assert quantity.m_as("delta_degC") == pytest.approx(value)
    assert pickle.loads(pickle.dumps(made)) == copy.deepcopy(made) == made  # noqa: S301 - our own bytes
    assert hash(copy.deepcopy(made)) == hash(made)
