"""Laws of rates and schedules."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from formula.rates import Rate
from formula.ready import ready_time, step_temperature, step_time
from formula.schedule import FermentStep, Schedule
from formula.steps import Cool, Hold, Ramp
from formula.units import TEMPERATURE, TIME, write
from tests.laws.strategies import any_c, cool_c, lags, rates, step_hours


def steps(celsius: st.SearchStrategy[float]) -> st.SearchStrategy[FermentStep]:
    return st.one_of(
        st.builds(Hold.of, step_hours, celsius),
        st.builds(Ramp.of, step_hours, celsius, celsius),
        st.builds(Cool.of, step_hours, celsius, celsius, lags),
    )


class TestSplittingAStepChangesNothing:
    """A hold, ramp or cooling cut in two is worth what it was worth whole."""

    @given(steps(any_c), st.floats(0.01, 0.99), rates)
    def test_law(self, leg: FermentStep, part: float, rate: Rate) -> None:
        cut = leg.time_h * part
        whole = leg.sum_h(rate)
        both = leg.until(cut).sum_h(rate) + leg.after(cut).sum_h(rate)
        assert both == pytest.approx(whole, rel=1e-8, abs=1e-11 * leg.time_h)


class TestConstantTemperatureIsRateTimesTime:
    """A ramp or a cooling that goes nowhere is a hold."""

    @given(step_hours, any_c, lags, rates)
    def test_law(self, time_h: float, celsius: float, tau_h: float, rate: Rate) -> None:
        held = time_h * rate.at(celsius)
        assert Ramp.of(time_h, celsius, celsius).sum_h(rate) == pytest.approx(held, rel=1e-9, abs=1e-12 * time_h)
        assert Cool.of(time_h, celsius, celsius, tau_h).sum_h(rate) == pytest.approx(held, rel=1e-9, abs=1e-12 * time_h)


class TestTheOrderOfStepsDoesNotMatter:
    """As long as the yeast does not grow, the steps may be taken in any order."""

    @given(st.lists(steps(cool_c), min_size=1, max_size=6), st.randoms(use_true_random=False))
    def test_law(self, legs: list[FermentStep], random: object) -> None:
        mixed = list(legs)
        random.shuffle(mixed)  # type: ignore[attr-defined]
        assert Schedule(*mixed).sum_h == pytest.approx(Schedule(*legs).sum_h, rel=1e-12)


class TestWarmerIsFasterBelowTheBest:
    """Below the best temperature a warmer dough never ferments less, and beyond the edges nothing happens."""

    @given(any_c, any_c, rates)
    def test_law(self, one: float, other: float, rate: Rate) -> None:
        colder, warmer = sorted((one, other))
        assert rate.at(colder) >= 0
        if warmer <= rate.peak_c:
            assert rate.at(colder) <= rate.at(warmer)
        low_c, high_c = rate.edges_c
        assert rate.at(colder) == 0 or low_c < colder < high_c


class TestWarmerStepsAreWorthMore:
    """Below the best temperature no step is worth less for being warmer or longer."""

    @given(steps(st.floats(-20.0, 30.0)), st.floats(0.0, 7.0), st.floats(1.0, 2.0), rates)
    def test_law(self, leg: FermentStep, warmer_k: float, longer: float, rate: Rate) -> None:
        assume(rate.peak_c >= 37.0)
        more: FermentStep
        if isinstance(leg, Hold):
            more = Hold.of(leg.time_h * longer, leg.held_c + warmer_k)
        elif isinstance(leg, Ramp):
            more = Ramp.of(leg.time_h * longer, (leg.start_c or 0.0) + warmer_k, leg.to_c + warmer_k)
        else:
            more = Cool.of(leg.time_h * longer, (leg.start_c or 0.0) + warmer_k, leg.to_c + warmer_k, leg.tau_h)
        assert more.sum_h(rate) >= leg.sum_h(rate) * (1 - 1e-9) - 1e-12


class TestTheBandHoldsTheAnswer:
    """The hours at a temperature lie within their band, and a schedule held there is worth its time without one."""

    @given(st.lists(steps(cool_c), min_size=1, max_size=4), st.floats(5.0, 37.0), rates)
    def test_law(self, legs: list[FermentStep], at_c: float, rate: Rate) -> None:
        made = Schedule(*legs, rate=rate).equivalent(write(TEMPERATURE, at_c))
        assert made.low_h <= made.time_h * (1 + 1e-12)
        assert made.time_h <= made.high_h * (1 + 1e-12)
        held = Schedule(Hold.of(legs[0].time_h, made.at_c), rate=rate).worth(made.at_c)
        assert held.time_h == pytest.approx(legs[0].time_h, rel=1e-12)


class TestWhatIsSoughtIsFound:
    """A time or temperature that was sought makes the schedule worth what was wanted."""

    @given(st.lists(steps(cool_c), min_size=1, max_size=4), st.floats(1.05, 3.0), st.data())
    def test_time(self, legs: list[FermentStep], more: float, data: st.DataObject) -> None:
        number = data.draw(st.integers(1, len(legs)))
        schedule = Schedule(*legs)
        wanted_h = schedule.worth(26.0).time_h * more
        sought = legs[number - 1]
        end_c = sought.to_c if isinstance(sought, Cool) else sought.last_c
        # A step so cold that a hundred days of it would not do is refused, and no matter here.
        assume(schedule.rate.at(end_c) * 1000 > wanted_h)
        wanted = write(TIME, wanted_h)
        found = step_time(schedule, number, wanted, at="26 °C")
        assert found.schedule.worth(26.0).time_h == pytest.approx(found.wanted_h, rel=1e-9)
        assert found.low_h <= found.time_h * (1 + 1e-9)
        assert found.time_h <= found.high_h * (1 + 1e-9)

    @given(st.lists(steps(cool_c), min_size=1, max_size=4), st.floats(3.0, 36.0), st.data())
    def test_temperature(self, legs: list[FermentStep], celsius: float, data: st.DataObject) -> None:
        number = data.draw(st.integers(1, len(legs)))
        held = [*legs[: number - 1], Hold.of(legs[number - 1].time_h, celsius), *legs[number:]]
        wanted = Schedule(*held).worth(26.0)
        found = step_temperature(Schedule(*held), number, wanted)
        assert found.schedule.worth(26.0).time_h == pytest.approx(wanted.time_h, rel=1e-9)
        assert found.temperature_c <= 38.0
        assert found.temperature_c == pytest.approx(celsius, abs=1e-4)

    @given(st.lists(steps(cool_c), min_size=1, max_size=4), st.floats(0.05, 0.999))
    def test_ready(self, legs: list[FermentStep], part: float) -> None:
        schedule = Schedule(*legs)
        found = ready_time(schedule, write(TIME, schedule.worth(26.0).time_h * part), at="26 °C")
        assert found.schedule.worth(26.0).time_h == pytest.approx(found.wanted_h, rel=1e-8)
        assert found.low_h <= found.time_h * (1 + 1e-9)
        assert found.time_h <= schedule.time_h
        assert math.isinf(found.high_h) or found.high_h >= found.time_h * (1 - 1e-9)
