"""Laws of dose and time."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.dose import dose_for, inverse_dose_percent, yeast_for_schedule
from formula.ferment import fermentation_percent_h
from formula.schedule import FermentStep, Schedule
from formula.steps import Hold
from formula.timing import time_for_yeast, yeast_for_time
from formula.units import TEMPERATURE, TIME, write
from formula.yeast import YEAST_FORMS
from tests.laws.strategies import dose_hours, doses, ferment_c, ferment_steps, growths, schedules, yeast_form_names


class TestDoseToTimeToDose:
    """The dose for a time asks for that time again."""

    @given(doses, dose_hours, dose_hours, ferment_c, ferment_c, growths)
    def test_law(self, dose: float, old: float, new: float, before: float, after: float, growth: float) -> None:
        temperatures: dict[str, Any] = {
            "temperature": write(TEMPERATURE, before),
            "new_temperature": write(TEMPERATURE, after),
        }
        made = yeast_for_time(
            f"{dose} %", time=write(TIME, old), new_time=write(TIME, new), growth=growth, **temperatures
        )
        back = time_for_yeast(
            f"{dose} %", time=write(TIME, old), new_dose=f"{made.dose_percent:.12f} %", growth=growth, **temperatures
        )
        if made.dose_percent > 1e-3:
            assert back.time_h == pytest.approx(new, rel=1e-7)


class TestTheInverseRule:
    """At one temperature twice the time takes half the yeast, to the last digits."""

    @given(doses, dose_hours, dose_hours)
    def test_law(self, dose: float, old: float, new: float) -> None:
        made = yeast_for_time(f"{dose} %", time=write(TIME, old), new_time=write(TIME, new))
        assert made.dose_percent == pytest.approx(inverse_dose_percent(dose, old, new), rel=1e-11)


class TestThereAndBack:
    """From one schedule to another and back is the same dose; by way of a third it changes nothing."""

    @given(doses, schedules, schedules, schedules, growths)
    def test_law(self, dose: float, one: Schedule, other: Schedule, third: Schedule, growth: float) -> None:
        there = dose_for(dose, one, other, growth)
        assert dose_for(there, other, one, growth) == pytest.approx(dose, rel=1e-7)
        by_way = dose_for(dose_for(dose, one, third, growth), third, other, growth)
        assert by_way == pytest.approx(there, rel=1e-7)


class TestLongerOrWarmerNeverNeedsMoreYeast:
    """Below the best temperature a longer or warmer new schedule takes no more yeast."""

    @given(doses, dose_hours, dose_hours, ferment_c, st.floats(1.0, 3.0), st.floats(0.0, 1.0), growths)
    def test_law(
        self, dose: float, old: float, new: float, at_c: float, longer: float, warmer: float, growth: float
    ) -> None:
        before = Schedule(Hold.of(old, 26.0))
        short = dose_for(dose, before, Schedule(Hold.of(new, at_c)), growth)
        # Growth is slower above its own best, 32.3 °C: the law of temperature holds up to there.
        top_c = 37.0 if growth == 0 else max(at_c, 32.0)
        long = dose_for(dose, before, Schedule(Hold.of(new * longer, at_c + (top_c - at_c) * warmer)), growth)
        assert long <= short * (1 + 1e-9)


class TestMoreYeastFermentsMore:
    """Fermentation grows with the dose and with the growth of the yeast."""

    @given(doses, st.floats(1.01, 4.0), schedules, growths)
    def test_law(self, dose: float, more: float, schedule: Schedule, growth: float) -> None:
        done = fermentation_percent_h(dose, schedule, growth)
        assert fermentation_percent_h(dose * more, schedule, growth) > done
        assert done >= fermentation_percent_h(dose, schedule, 0.0) * (1 - 1e-12)
        assert fermentation_percent_h(dose, schedule, 1.0) >= done * (1 - 1e-12)


class TestSplittingAStepChangesNothing:
    """A step cut in two gives the same fermentation, also where the yeast grows."""

    @given(doses, ferment_steps, st.floats(0.05, 0.95), growths)
    def test_law(self, dose: float, leg: FermentStep, part: float, growth: float) -> None:
        cut = leg.time_h * part
        whole = fermentation_percent_h(dose, Schedule(leg), growth)
        both = fermentation_percent_h(dose, Schedule(leg.until(cut), leg.after(cut)), growth)
        assert both == pytest.approx(whole, rel=1e-8)


class TestTheBandHoldsBothEnds:
    """The band holds the answer, and once the longer time passes 4 h at 27 °C both the end without growth and with it."""

    @given(doses, schedules, schedules, growths)
    def test_law(self, dose: float, old: Schedule, new: Schedule, growth: float) -> None:
        made = yeast_for_schedule(f"{dose} %", old, new, growth=growth)
        assert made.low_percent <= made.dose_percent <= made.high_percent
        if max(old.worth(27.0).time_h, new.worth(27.0).time_h) > 4.0:
            for end in (0.0, 1.0):
                ending = dose_for(dose, old, new, end)
                assert made.low_percent * (1 - 1e-9) <= ending <= made.high_percent * (1 + 1e-9)


class TestAFormChangesNothingButTheWeight:
    """Whatever form the yeast is given in and asked for in, its fresh equivalent is the same."""

    @given(doses, schedules, schedules, yeast_form_names, yeast_form_names)
    def test_law(self, dose: float, old: Schedule, new: Schedule, one: str, other: str) -> None:
        factor = next(form.factor.value for form in YEAST_FORMS if form.name == one)
        fresh = yeast_for_schedule(f"{dose} %", old, new)
        made = yeast_for_schedule(f"{dose * factor:.12f} %", old, new, form=one, new_form=other)
        assert made.fresh_percent == pytest.approx(fresh.dose_percent, rel=1e-9)
