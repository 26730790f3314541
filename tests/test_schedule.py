"""Schedules: published values, quadrature, what is sought in them, and every refusal."""

import copy
import math
import pickle
from itertools import pairwise
from typing import Any

import pytest
from scipy.integrate import quad

from formula.chill import cooling
from formula.errors import QuantityError
from formula.otherrates import Q10, OwnRate, SquareLaw
from formula.rates import GasCurve, Rate
from formula.ready import ready_time, step_temperature, step_time
from formula.schedule import FermentStep, Readings, Schedule
from formula.steps import Cool, Hold, Ramp
from tests.arithmetic import check_working
from tests.rows import holds, rows

RATES: dict[str, Rate] = {"gas": GasCurve(), "q2": Q10(2.0), "square": SquareLaw()}


@pytest.mark.parametrize("row", rows("schedule"))
def test_published(row: dict[str, str]) -> None:
    holds("schedule", row)


def anything(value: object) -> Any:  # noqa: ANN401 - what a caller without a type checker may hand over
    return value


def own(temperature_c: float) -> float:
    return temperature_c * (40 - temperature_c)


OWN = OwnRate(own, "2 °C", "40 °C")
STEPS: dict[str, FermentStep] = {
    "hold": Hold("2 h", "24 °C"),
    "hold, frozen": Hold("2 h", "-18 °C"),
    "ramp": Ramp("3 h", start="10 °C", to="30 °C"),
    "ramp down through both ends": Ramp("30 h", start="60 °C", to="-10 °C"),
    "ramp, all too cold": Ramp("3 h", start="-10 °C", to="-1 °C"),
    "ramp, standing still": Ramp("3 h", start="20 °C", to="20 °C"),
    "cool": Cool("16 h", start="24 °C", to="4 °C", tau="1.5 h"),
    "cool, standing still": Cool("16 h", start="24 °C", to="24 °C", tau="1.5 h"),
    "cool, into the freezer": Cool("6 h", start="24 °C", to="-18 °C", tau="1.5 h"),
    "warm, out of the freezer": Cool("6 h", start="-18 °C", to="30 °C", tau="2 h"),
    "warm, through both ends": Cool("9 h", start="-10 °C", to="60 °C", tau="2 h"),
    "cool, a hair above the edge": Cool.of(1.0, 1e-38, -1.0, 1.0),
    "warm, to the end of the curve and no further": Cool.of(38.0, -1.0, 48.0, 0.5),
    "cool, all too hot": Cool("1 h", start="90 °C", to="70 °C", tau="2 h"),
    "warm, near the pole of the curve": Cool("1 h", start="20 °C", to="59 °C", tau="2 h"),
}


@pytest.mark.parametrize("rate", [*RATES.values(), OWN], ids=[*RATES, "own"])
@pytest.mark.parametrize("leg", STEPS.values(), ids=STEPS)
def test_sums_against_quadrature(leg: FermentStep, rate: Rate) -> None:
    ends = leg.times_at([each for each in rate.edges_c if math.isfinite(each)])
    pieces = [0.0, *ends, leg.time_h]
    found = sum(
        quad(lambda t: rate.at(leg.temperature_c(t)), at, to, epsabs=1e-13, epsrel=1e-12, limit=200)[0]
        for at, to in pairwise(pieces)
    )
    assert leg.sum_h(rate) == pytest.approx(found, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("leg", STEPS.values(), ids=STEPS)
def test_a_step_can_be_cut(leg: FermentStep) -> None:
    for part in (0.1, 0.5, 0.99):
        cut = part * leg.time_h
        first, second = leg.until(cut), leg.after(cut)
        assert first.time_h + second.time_h == pytest.approx(leg.time_h)
        assert first.last_c == pytest.approx(leg.temperature_c(cut), abs=1e-9)
        assert second.last_c == pytest.approx(leg.last_c, abs=1e-9)
        for rate in RATES.values():
            assert first.sum_h(rate) + second.sum_h(rate) == pytest.approx(leg.sum_h(rate), rel=1e-9, abs=1e-13)


def night() -> Schedule:
    return Schedule(Hold("1 h", "24 °C"), Cool("16 h", to="4 °C", tau="1.5 h"), Hold("2 h", "26 °C"))


def test_a_night_in_the_cold() -> None:
    made = night().equivalent("26 °C")
    assert made.steps_h == pytest.approx((0.877, 1.339, 2.0), abs=5e-4)
    assert made.low_h < made.time_h < made.high_h
    assert (made.low_h, made.high_h) == pytest.approx((3.98, 4.48), abs=0.01)
    assert [caution.code for caution in made.cautions] == ["jump"]
    check_working(made.working(), made.time_h)
    assert made.schedule.legs[1].first_c == 24.0


def test_of_48_hours_at_4_degrees() -> None:
    """48 h at 4 °C are worth 2.1 h at 25 °C besides 0.67 h of cooling with a lag of 1 h, by print."""
    whole = Schedule(Cool("48 h", start="25 °C", to="4 °C", tau="1 h")).equivalent("25 °C").time_h
    still = Schedule(Hold("48 h", "4 °C")).equivalent("25 °C").time_h
    assert whole - still == pytest.approx(0.67, abs=0.005)


def test_the_band_of_other_rates_reaches_the_default() -> None:
    gas = night().equivalent("26 °C")
    made = night().equivalent("26 °C", Q10(2.0))
    assert (made.low_h, made.high_h) == pytest.approx((gas.low_h, made.time_h))
    square = night().equivalent("26 °C", SquareLaw())
    assert square.low_h == pytest.approx(gas.low_h)
    assert square.high_h == pytest.approx(gas.high_h)
    mine = night().equivalent("26 °C", OWN)
    assert mine.low_h == mine.time_h == mine.high_h


@pytest.mark.parametrize(
    ("steps", "rate", "codes"),
    [
        ([Hold("1 h", "26 °C")], None, []),
        ([Hold("1 h", "40 °C")], None, ["above-best"]),
        ([Hold("1 h", "26 °C"), Cool("1 h", to="52 °C", tau="10 min")], None, ["yeast-dies"]),
        ([Hold("1 h", "26 °C"), Cool("9 h", to="-18 °C", tau="1 h")], None, ["standstill"]),
        ([Cool("9 h", start="26 °C", to="4 °C", tau="1 h")], Q10(2.0), ["factor-in-the-cold"]),
        ([Hold("1 h", "26 °C"), Hold("1 h", "23.9 °C"), Hold("1 h", "4 °C")], None, ["jump"]),
        ([Hold("1 h", "26 °C"), Hold("1 h", "24 °C")], None, []),
    ],
)
def test_what_to_know(steps: list[FermentStep], rate: Rate | None, codes: list[str]) -> None:
    made = Schedule(*steps, rate=rate).equivalent("26 °C")
    assert [caution.code for caution in made.cautions] == codes


def test_readings_are_ramps() -> None:
    course = Readings(("1 h", "26 °C"), ("2 h", "20 °C"), ("4 h", "10 °C"))
    ramps = Schedule(Ramp("1 h", start="26 °C", to="20 °C"), Ramp("2 h", to="10 °C"))
    assert Schedule(course).equivalent("26 °C").time_h == pytest.approx(ramps.equivalent("26 °C").time_h)
    assert pickle.loads(pickle.dumps(course)) == course  # noqa: S301 - our own bytes


def test_the_course_of_a_cooling_piece() -> None:
    """A lumped body follows Newton's law: its computed course is worth as much as a lag."""
    made = cooling("60 g", shape="sphere", start="26 °C", air="4 °C", method="lumped")
    course = Schedule(Readings.of(made.course("8 h", steps=400))).equivalent("26 °C").time_h
    lag = Schedule(Cool.of(8.0, 26.0, 4.0, made.tau_h)).equivalent("26 °C").time_h
    assert course == pytest.approx(lag, rel=1e-3)


def test_a_schedule_tells_where_the_dough_is() -> None:
    schedule = night()
    assert schedule.time_h == 19
    assert schedule.temperature_c(0.5) == 24
    assert schedule.temperature_c(2.5) == pytest.approx(4 + 20 * math.exp(-1))
    assert schedule.temperature_c(99.0) == 26
    assert schedule.rate_at(0.5) == GasCurve().at(24)
    assert str(schedule) == "1 h at 24 °C; 16 h from 24 towards 4 °C, lag 1.5 h; 2 h at 26 °C"
    assert str(Cool("1 h", to="4 °C", tau="1 h")) == "1 h towards 4 °C, lag 1 h"
    assert str(Ramp("1 h", to="4 °C")) == "1 h to 4 °C"
    assert schedule.until(3.0).time_h == pytest.approx(3.0)
    assert schedule.warmest_c == 26
    assert schedule.until(50.0).time_h == 19


# -- what is sought in a schedule ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("number", "wanted"), [(1, "5 h"), (2, "5 h"), (3, "5 h"), (2, "3.5 h"), (3, "2.5 h"), (1, "3.34 h")]
)
def test_a_time_is_sought(number: int, wanted: str) -> None:
    schedule = Schedule(
        Hold("1 h", "24 °C"), Cool("16 h", to="4 °C", tau="1.5 h"), Ramp("2 h", start="20 °C", to="30 °C")
    )
    found = step_time(schedule, number, wanted, at="26 °C")
    again = found.schedule.equivalent("26 °C").time_h
    assert again == pytest.approx(float(wanted.removesuffix(" h")), rel=1e-9)
    assert found.schedule.steps[number - 1].time_h == found.time_h
    assert found.low_h <= found.time_h <= found.high_h
    check_working(found.working(), found.time_h)


def test_a_schedule_like_another() -> None:
    day = Schedule(Hold("4 h", "26 °C"))
    found = step_time(night(), 3, day.equivalent("26 °C"))
    assert found.time_h == pytest.approx(1.785, abs=5e-4)
    assert found.time.m_as("h") == found.time_h
    assert (found.low.m_as("h"), found.high.m_as("h")) == (found.low_h, found.high_h)
    assert [found.wanted.m_as("h"), found.at.m_as("degC")] == pytest.approx([4.0, 26.0])
    assert [each.code for each in found.cautions] == ["jump"]


def test_the_cold_one_of_two_temperatures() -> None:
    schedule = Schedule(Hold("2 h", "26 °C"), Hold("6 h", "20 °C"))
    found = step_temperature(schedule, 2, "5 h", at="26 °C")
    assert found.warm_c is not None
    assert found.low_c < found.temperature_c < found.high_c < 38 < found.warm_c < 48
    for celsius in (found.temperature_c, found.warm_c):
        assert schedule.with_step(2, Hold.of(6, celsius)).equivalent("26 °C").time_h == pytest.approx(5.0)
    assert found.cautions[0].code == "two-temperatures"
    assert found.warm is not None
    assert found.warm.m_as("degC") == pytest.approx(found.warm_c)
    views = [each.m_as("degC") for each in (found.temperature, found.low, found.high)]
    assert views == pytest.approx([found.temperature_c, found.low_c, found.high_c])
    check_working(found.working(), found.temperature_c)


def test_a_rate_without_a_best_has_one_temperature() -> None:
    schedule = Schedule(Hold("2 h", "26 °C"), Hold("6 h", "20 °C"), rate=Q10(2.0))
    found = step_temperature(schedule, 2, "5 h", at="26 °C")
    assert found.temperature_c == pytest.approx(16.0)
    assert (found.warm_c, found.warm) == (None, None)
    assert [each.code for each in found.cautions] == ["jump"]


@pytest.mark.parametrize("number", [1, 2])
def test_the_room_and_the_end_of_a_ramp_are_sought(number: int) -> None:
    schedule = Schedule(Cool("8 h", start="26 °C", to="4 °C", tau="2 h"), Ramp("4 h", to="30 °C"))
    found = step_temperature(schedule, number, "4.4 h", at="26 °C")
    assert found.schedule.equivalent("26 °C").time_h == pytest.approx(4.4)


@pytest.mark.parametrize("wanted_h", [0.5, 1.0, 2.0, 4.0, 4.2153])
def test_when_it_is_ready(wanted_h: float) -> None:
    found = ready_time(night(), f"{wanted_h} h", at="26 °C")
    assert found.schedule.equivalent("26 °C").time_h == pytest.approx(wanted_h)
    assert found.low_h <= found.time_h <= found.high_h
    check_working(found.working(), found.time_h, exact=False)
    assert found.time.m_as("h") == found.time_h
    assert (found.low.m_as("h"), found.high.m_as("h")) == (found.low_h, found.high_h)


def test_what_may_never_be_ready_says_so() -> None:
    found = ready_time(night(), "4.2 h", at="26 °C")
    assert found.high_h == math.inf
    cold = Schedule(Hold("2 h", "26 °C"), Cool("40 h", to="-10 °C", tau="2 h"))
    assert step_time(cold, 2, "2.6 h", at="26 °C").high_h == math.inf


@pytest.mark.parametrize(
    ("ask", "complaint"),
    [
        (Schedule, "no step"),
        (lambda: Schedule(anything("1 h")), "step 1: got an object of type str"),
        (lambda: Schedule(Hold("1 h", "26 °C"), rate=anything(2)), "rate: got 2"),
        (lambda: Schedule(Cool("1 h", to="4 °C", tau="1 h")), "give start="),
        (lambda: Hold("0 h", "26 °C"), "leave the step out"),
        (lambda: Hold("3000 h", "26 °C"), "at most 2400 h"),
        (lambda: Hold(anything(1), "26"), "2 faults"),
        (lambda: Cool("1 h", to="4 °C", tau="0 h", start="26 °C"), "use Hold"),
        (lambda: Readings(("1 h", "26 °C")), "two points or more"),
        (lambda: Readings(("1 h", "26 °C"), ("1 h", "20 °C")), "do not rise"),
        (lambda: Readings.of([]), "two points or more"),
        (lambda: night().equivalent("-5 °C"), "between 0 and 48 °C"),
        (lambda: night().equivalent("50 °C"), "between 0 and 48 °C"),
        (lambda: step_time(night(), 4, "5 h", at="26 °C"), "the number of a step, 1 to 3"),
        (lambda: step_time(night(), step=True, wanted="5 h", at="26 °C"), "the number of a step"),
        (lambda: step_time(Schedule(Hold("1 h", "26 °C")), 0, "5 h", at="26 °C"), "the only step"),
        (lambda: step_time(night(), 1, "5 h"), "the temperature at which the time is counted"),
        (lambda: step_time(night(), 1, "0 h", at="26 °C"), "a time above zero"),
        (lambda: step_time(night(), 1, "5 h", at="-3 °C"), "a temperature at which the dough ferments"),
        (lambda: step_time(night(), 1, night().equivalent("26 °C"), at="26 °C"), "no second temperature"),
        (lambda: step_time(night(), 1, night().equivalent("26 °C", Q10(2.0))), "the schedule's own rate"),
        (lambda: step_time(night(), 2, "2 h", at="26 °C"), r"more than 2\.877 h"),
        (lambda: step_time(Schedule(Hold("1 h", "26 °C"), Hold("1 h", "-2 °C")), 2, "2 h", at="26 °C"), "at most 1 h"),
        (lambda: step_temperature(night(), 3, "9 h", at="26 °C"), r"at most 5\.\d+ h.*step 3 at 38 °C"),
        (lambda: step_temperature(night(), 3, "1 h", at="26 °C"), "more than"),
        (lambda: ready_time(night(), "5 h", at="26 °C"), r"at most 4\.215 h.*about 0\.785 h more at 26 °C"),
        (lambda: ready_time(Schedule(Hold("1 h", "26 °C"), Hold("9 h", "-2 °C")), "2 h", at="26 °C"), "a warmer step"),
    ],
)
def test_every_refusal_names_the_nearest(ask: Any, complaint: str) -> None:  # noqa: ANN401 - a call
    with pytest.raises(QuantityError, match=complaint):
        ask()


def test_views_and_values() -> None:
    made = night().equivalent("26 °C")
    assert [made.time.m_as("h"), made.at.m_as("degC")] == pytest.approx([made.time_h, 26])
    assert (made.low.m_as("h"), made.high.m_as("h")) == (made.low_h, made.high_h)
    assert night().time.m_as("h") == 19
    assert Hold("1 h", "26 °C").held.m_as("degC") == pytest.approx(26)
    assert Cool("1 h", to="4 °C", tau="2 h").tau.m_as("h") == 2
    assert Hold("1 h", "26 °C").time.m_as("h") == 1
    assert pickle.loads(pickle.dumps(made)) == copy.deepcopy(made) == made  # noqa: S301 - our own bytes
    assert hash(made) == hash(night().equivalent("78.8 °F"))
    assert night() != Schedule(*night().steps, rate=Q10(2.0))
