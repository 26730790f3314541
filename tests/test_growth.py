"""Growth of yeast: counts in print, the closed form against a numerical solution, and every refusal."""

import copy
import math
import pickle
from decimal import Decimal, localcontext
from typing import Any

import pytest
from scipy.integrate import quad, solve_ivp

from formula.errors import FormulaError, QuantityError, UnknownNameError
from formula.ferment import clock_h, fermentation_percent_h, hours_at_27, mean_yeast
from formula.growth import (
    GAIN_PERCENT,
    GAS_CURVE,
    GROWTH_CURVE,
    GROWTH_PER_H,
    LAG_H,
    growth_sum_h,
    growth_z,
    yeast_growth,
)
from formula.otherrates import Q10
from formula.schedule import Schedule
from formula.steps import Cool, Hold, Ramp
from tests.arithmetic import check_working
from tests.rows import holds, rows


@pytest.mark.parametrize("row", rows("growth"))
def test_published(row: dict[str, str]) -> None:
    holds("growth", row)


def test_counts_of_bakeries_are_missed_as_the_docs_say() -> None:
    """A sponge gained 50 to 60 % in 4 h, a straight dough 35 % in 3 to 3.5 h: whatever the dose, the model has less."""
    small = "0.01 %"
    assert yeast_growth(small, time="4 h").increase_percent == pytest.approx(50, abs=1)
    assert yeast_growth(small, time="195 min").increase_percent == pytest.approx(17, abs=1)
    assert yeast_growth("2 %", time="4 h").increase_percent < 50


@pytest.mark.parametrize("to", [7.0, 10.0, 18.5, 24.0, 33.0, 35.0])
@pytest.mark.parametrize("start", [7.0, 10.0, 18.5, 24.0, 33.0, 35.0])
def test_at_the_last_digit_of_the_lag_nothing_has_grown_yet(start: float, to: float) -> None:
    """The lag is 2.79 h at 27 °C by the gas curve: until then, to the last digit, the sum is rate times time."""
    rate = GAS_CURVE.at(start) if start == to else GAS_CURVE.ramp_mean(start, to)
    lag_h = LAG_H.value * GAS_CURVE.at(27.0) / rate
    for time_h in (math.nextafter(lag_h, 0), lag_h, math.nextafter(lag_h, math.inf)):
        step = Hold.of(time_h, start) if start == to else Ramp.of(time_h, start, to)
        assert fermentation_percent_h(0.5, Schedule(step), 1.0) == pytest.approx(0.5 * rate * time_h, rel=1e-14)


@pytest.mark.parametrize("growth", [0.25, 1.0])
@pytest.mark.parametrize("dose", [0.01, 0.5, 1.0, 6.0])
def test_the_closed_form_solves_the_equation(dose: float, growth: float) -> None:
    def slope(_: float, y: Any) -> list[float]:  # noqa: ANN401 - an array of scipy's
        return [GROWTH_PER_H.value * growth * y[0] * (1 - (y[0] - dose) / GAIN_PERCENT.value)]

    solved = solve_ivp(slope, (0, 20), [dose], rtol=1e-12, atol=1e-14, method="DOP853", dense_output=True)
    for hours in (0.1, 1.0, 3.21, 8.0, 20.0):
        assert dose * (1 + growth_z(hours, dose, growth)) == pytest.approx(solved.sol(hours)[0], rel=1e-9)


@pytest.mark.parametrize("dose", [0.001, 0.1, 1.0, 6.0])
@pytest.mark.parametrize("hours", [1e-4, 1e-3, 0.01, 0.1, 1.0, 5.0, 50.0])
def test_the_sum_is_the_integral(dose: float, hours: float) -> None:
    found = quad(lambda t: growth_z(t, dose), 0, hours, epsabs=0, epsrel=1e-12, limit=500)[0]
    assert growth_sum_h(hours, dose) == pytest.approx(found, rel=2e-9, abs=0)


@pytest.mark.parametrize("dose", [0.001, 0.1, 1.0, 6.0])
@pytest.mark.parametrize("exponent", [1e-4, 5e-4, 9.99e-4, 1.5e-3, 0.01, 0.5, 3.0])
def test_the_sum_keeps_its_digits(dose: float, exponent: float) -> None:
    """The integral in closed form with sixty digits, where floats would lose theirs and a series stands in."""
    hours = exponent / (GROWTH_PER_H.value * (1 + dose / GAIN_PERCENT.value))
    with localcontext(prec=60):
        b = Decimal(dose) / Decimal(GAIN_PERCENT.value)
        per_h = Decimal(GROWTH_PER_H.value) * (1 + b)
        x = per_h * Decimal(hours)
        exact = (-x + (1 + 1 / b) * ((1 + b * x.exp()) / (1 + b)).ln()) / per_h
    assert growth_sum_h(hours, dose) == pytest.approx(float(exact), rel=5e-11, abs=0)


def test_nothing_overflows_after_weeks() -> None:
    assert growth_z(5000.0, 1.0) == pytest.approx(GAIN_PERCENT.value)
    assert growth_sum_h(5000.0, 1.0) == pytest.approx(5000 * GAIN_PERCENT.value, rel=1e-3)
    assert growth_z(-1.0, 1.0) == growth_sum_h(-1.0, 1.0) == growth_z(3.0, 1.0, 0.0) == growth_sum_h(3.0, 1.0, 0.0) == 0


SCHEDULES = {
    "one hold": Schedule(Hold("8 h", "26 °C")),
    "a night": Schedule(
        Hold("1 h", "24 °C"), Cool("16 h", to="4 °C", tau="1.5 h"), Cool("4 h", to="26 °C", tau="1.5 h")
    ),
    "beyond both ends": Schedule(
        Hold("4 h", "27 °C"), Cool("16 h", to="-2 °C", tau="1.5 h"), Cool("8 h", to="50 °C", tau="3 h")
    ),
    "ramp, other rate": Schedule(Ramp("9 h", start="10 °C", to="30 °C"), rate=Q10(2.0)),
    "too cold to grow": Schedule(Hold("4 h", "27 °C"), Hold("10 h", "2 °C"), Hold("2 h", "47 °C")),
    "the lag ends with a step": Schedule(Hold("2 h", "27 °C"), Hold("0.79 h", "27 °C"), Hold("3 h", "27 °C")),
}


def solved(dose: float, schedule: Schedule, growth: float) -> float:
    """Return the fermentation by a numerical solution of the equations for yeast, lag and fermentation."""
    yeast, lag, done = dose, 0.0, 0.0

    def slopes(at: Hold | Ramp | Cool, *, grows: bool) -> Any:  # noqa: ANN401 - a function for scipy
        def slope(time: float, y: Any) -> list[float]:  # noqa: ANN401 - an array of scipy's
            celsius = at.temperature_c(time)
            speed = GROWTH_PER_H.value * growth * GROWTH_CURVE.at(celsius) / GROWTH_CURVE.at(27.0) if grows else 0.0
            more = speed * y[0] * (1 - (y[0] - dose) / GAIN_PERCENT.value)
            return [more, GAS_CURVE.at(celsius) / GAS_CURVE.at(27.0), schedule.rate.at(celsius) * y[0]]

        return slope

    def over(_: float, y: Any) -> float:  # noqa: ANN401 - an array of scipy's
        return float(y[1] - LAG_H.value)

    over.terminal = True  # type: ignore[attr-defined]
    options: dict[str, Any] = {"rtol": 1e-11, "atol": 1e-13, "method": "DOP853", "max_step": 0.1}
    for leg in schedule.legs:
        begun = 0.0
        if lag < LAG_H.value - 1e-9:
            found = solve_ivp(slopes(leg, grows=False), (0, leg.time_h), [yeast, lag, done], events=over, **options)
            yeast, lag, done = found.y[:, -1]
            begun = found.t[-1]
        if begun < leg.time_h:
            found = solve_ivp(slopes(leg, grows=True), (begun, leg.time_h), [yeast, lag, done], **options)
            yeast, lag, done = found.y[:, -1]
    return float(done)


@pytest.mark.parametrize("growth", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("schedule", SCHEDULES.values(), ids=SCHEDULES)
def test_fermentation_solves_the_equations(schedule: Schedule, growth: float) -> None:
    for dose in (0.1, 2.0):
        assert fermentation_percent_h(dose, schedule, growth) == pytest.approx(solved(dose, schedule, growth), rel=1e-8)


def test_where_yeast_grows_the_order_matters() -> None:
    """A warm hour early raises a crop for the hours after it."""
    warm, cool = Hold("4 h", "28 °C"), Hold("8 h", "18 °C")
    early, late = Schedule(warm, cool), Schedule(cool, warm)
    assert fermentation_percent_h(0.3, early) == pytest.approx(fermentation_percent_h(0.3, late), rel=1e-14)
    assert fermentation_percent_h(0.3, early, 1.0) != pytest.approx(fermentation_percent_h(0.3, late, 1.0), rel=1e-3)


def test_clocks() -> None:
    assert hours_at_27(Schedule(Hold("4 h", "27 °C"))) == pytest.approx(4.0)
    assert clock_h(Hold("4 h", "27 °C")) == pytest.approx(4.0)
    assert mean_yeast(1.0, Schedule(Hold("2 h", "27 °C")), 1.0) == pytest.approx(1.0)
    assert mean_yeast(1.0, Schedule(Hold("2 h", "-5 °C")), 1.0) == 1.0


@pytest.mark.parametrize(
    ("time", "celsius", "growth"),
    [("6 h", 27, 1.0), ("9 h", 22, 0.5), ("1 h", 27, 1.0), ("6 h", 1, 1.0), ("6 h", 27, 0.0)],
)
def test_working(time: str, celsius: float, growth: float) -> None:
    made = yeast_growth("0.4 %", time=time, temperature=f"{celsius} °C", form="instant", growth=growth)
    check_working(made.working(), made.increase_percent)


def test_a_dry_yeast_counts_as_fresh() -> None:
    dry = yeast_growth("0.33 %", time="6 h", form="instant")
    fresh = yeast_growth("1 %", time="6 h")
    assert dry.increase_percent == pytest.approx(fresh.increase_percent)
    assert dry.yeast_percent == pytest.approx(0.33 * fresh.yeast_percent)


def test_what_to_know() -> None:
    def codes(dose: str, celsius: float) -> list[str]:
        return [each.code for each in yeast_growth(dose, time="6 h", temperature=f"{celsius} °C").cautions]

    assert codes("1 %", 27) == []
    assert codes("1 %", 20) == ["not-counted"]
    assert codes("4 %", 1) == ["no-growth", "not-counted-dose"]
    assert yeast_growth("1 %", time="6 h", temperature="-2 °C").lag_h == math.inf


def test_every_bad_argument_is_named_at_once() -> None:
    with pytest.raises(QuantityError) as caught:
        yeast_growth("0 %", time="0 h", temperature="27", form="beer", growth=2)
    assert [fault.where for fault in caught.value.faults] == ["dose", "form of dose", "temperature", "growth", "time"]
    with pytest.raises(FormulaError, match="form of dose"):
        yeast_growth("1 %", time="1 h", form="beer")
    growth: Any
    for growth in (True, "1", -0.1, 1.1, math.nan):
        with pytest.raises(QuantityError, match="growth"):
            yeast_growth("1 %", time="6 h", growth=growth)


def test_an_unknown_form_says_so() -> None:
    with pytest.raises((UnknownNameError, QuantityError), match="one of"):
        yeast_growth("1 %", time="6 h", form="wine")


def test_views_and_values() -> None:
    made = yeast_growth("1 %", time="6 h")
    assert made.dose.m_as("percent") == pytest.approx(1)
    assert made.time.m_as("h") == pytest.approx(6)
    assert made.temperature.m_as("degC") == pytest.approx(27)
    assert made.lag.m_as("h") == pytest.approx(2.79)
    assert made.increase.m_as("percent") == pytest.approx(54.25, abs=0.01)
    assert made.yeast.m_as("percent") == pytest.approx(1.5425, abs=1e-4)
    assert pickle.loads(pickle.dumps(made)) == copy.deepcopy(made) == made  # noqa: S301 - our own bytes
