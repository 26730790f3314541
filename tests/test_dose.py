"""The dose of yeast: published values, the three questions of the bench, bands, cautions and every refusal."""

import copy
import math
import pickle
from typing import Any

import numpy as np
import pytest

from formula.dose import (
    YeastDose,
    dose_for,
    inverse_dose_percent,
    rate_spread,
    square_law_dose_percent,
    yeast_for_schedule,
)
from formula.errors import FormulaError, QuantityError
from formula.otherrates import Q10, OwnRate
from formula.schedule import Schedule
from formula.steps import Cool, Hold
from formula.timing import YeastTime, time_for_yeast, yeast_for_time
from tests.arithmetic import check_working
from tests.handbooks import printed_doses
from tests.rows import holds, rows


@pytest.mark.parametrize("row", rows("dose"))
def test_published(row: dict[str, str]) -> None:
    holds("dose", row)
    if not row["temperature_c"]:
        dose, time_h, new_time_h = (float(row[key]) for key in ("dose_percent", "time_h", "new_time_h"))
        found = inverse_dose_percent(dose, time_h, new_time_h)
        assert found == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]), rel=0)


def test_the_book_formula() -> None:
    """Rows IN05 and IN06: 56 % of water at 24 °C, 16 h: 0.19 % printed; 4 h: about 8 g a kg printed."""
    # 100,000 over 50 times 20 times 20 times 10, by hand.
    assert square_law_dose_percent(50, 20, 10) == pytest.approx(0.5, rel=1e-12)
    assert square_law_dose_percent(56, 24, 16) == pytest.approx(0.19, abs=0.005)
    assert square_law_dose_percent(56, 24, 4) == pytest.approx(0.8, abs=0.05)
    for hours, _, dose in printed_doses()["G"]:
        assert square_law_dose_percent(56, 24, hours) == pytest.approx(dose, abs=5e-5)


# -- the three questions -------------------------------------------------------------------------------------------------


def test_same_dough_but_ready_in_12_hours_instead_of_3() -> None:
    made = yeast_for_time("2 %", time="3 h", new_time="12 h", temperature="26 °C")
    assert made.dose_percent == 0.5
    assert made.high_percent == 0.5
    old, new = Schedule(Hold("3 h", "26 °C")), Schedule(Hold("12 h", "26 °C"))
    assert made.low_percent == pytest.approx(dose_for(2.0, old, new, 1.0))
    assert 0.2 < made.low_percent < 0.3
    assert [caution.code for caution in made.cautions] == ["steady-temperature", "large-change"]
    middle = yeast_for_time("2 %", time="3 h", new_time="12 h", temperature="26 °C", growth=0.5)
    assert made.low_percent < middle.dose_percent < made.high_percent
    assert (middle.low_percent, middle.high_percent) == (made.low_percent, made.high_percent)


def test_the_room_is_31_degrees_today() -> None:
    made = yeast_for_time("2 %", time="3 h", temperature="26 °C", room="26 °C", new_room="31 °C", lag="3 h")
    course = Schedule(Cool("3 h", start="26 °C", to="31 °C", tau="3 h"))
    assert made.dose_percent == pytest.approx(2 * 3 / course.equivalent("26 °C").time_h)
    assert made.low_percent < made.dose_percent < made.high_percent < 2
    assert made.cautions == ()
    earlier = time_for_yeast("2 %", time="3 h", temperature="26 °C", room="26 °C", new_room="31 °C", lag="3 h")
    assert 2.5 < earlier.low_h < earlier.time_h < earlier.high_h < 3
    assert earlier.new.equivalent("26 °C").time_h == pytest.approx(3.0)


def test_without_a_lag_the_room_does_not_enter_and_the_answer_says_so() -> None:
    made = yeast_for_time("2 %", time="3 h", temperature="26 °C", new_room="31 °C")
    assert made.dose_percent == 2.0
    (caution,) = made.cautions
    assert caution.code == "steady-temperature"
    assert "whatever the room" in caution.text


def test_a_night_in_the_cold() -> None:
    day = Schedule(Hold("4 h", "26 °C"))
    night = Schedule(
        Hold("1 h", "26 °C"),
        Cool("14 h", to="4 °C", tau="1.5 h"),
        Cool("4 h", to="26 °C", tau="2 h"),
        Hold("1 h", "26 °C"),
    )
    made = yeast_for_schedule("1.5 %", day, night)
    assert made.dose_percent == pytest.approx(1.5 * 4 / night.equivalent("26 °C").time_h)
    ends = [dose_for(1.5, day, night, growth) for growth in (0.0, 1.0)]
    off = rate_spread(day, night)
    assert off == 1.15
    assert (made.low_percent, made.high_percent) == pytest.approx((min(ends) / off, max(ends) * off))
    check_working(made.working(), made.dose_percent)


# -- what enters ---------------------------------------------------------------------------------------------------------


def test_one_phase_alone_does_not_rescale_the_whole_dose() -> None:
    whole = yeast_for_time("2 %", time="1 h", new_time="2 h")
    proof = yeast_for_time("2 %", time="1 h", new_time="2 h", phase="proof", other_time="2 h")
    assert whole.dose_percent == 1.0
    assert proof.dose_percent == 1.5
    back = time_for_yeast("2 %", time="1 h", new_dose="1.5 %", phase="proof", other_time="2 h")
    assert back.time_h == pytest.approx(2.0)
    assert (back.phase, back.other.m_as("h")) == ("proof", 2.0)
    check_working(back.working(), back.time_h)
    warm = yeast_for_time(
        "2 %", time="1 h", temperature="26 °C", new_temperature="32 °C", phase="proof", other_time="2 h"
    )
    assert [leg.last_c for leg in warm.new.legs] == [26.0, 32.0]


@pytest.mark.parametrize(("form", "factor"), [("fresh", 1.0), ("active dry", 0.4), ("instant", 0.33)])
@pytest.mark.parametrize("growth", [0.0, 1.0])
def test_forms(form: str, factor: float, growth: float) -> None:
    fresh = yeast_for_time("2 %", time="3 h", new_time="10 h", growth=growth)
    dry = yeast_for_time(f"{2 * factor:g} %", time="3 h", new_time="10 h", growth=growth, form=form)
    other = yeast_for_time("2 %", time="3 h", new_time="10 h", growth=growth, new_form=form)
    for made in (dry, other):
        assert made.dose_percent == pytest.approx(fresh.dose_percent * factor)
        assert made.fresh_percent == pytest.approx(fresh.dose_percent)
        assert (made.low_percent, made.high_percent) == pytest.approx(
            (fresh.low_percent * factor, fresh.high_percent * factor)
        )
        check_working(made.working(), made.dose_percent)
    time = time_for_yeast("2 %", time="3 h", new_dose=f"{factor:g} %", new_form=form, growth=growth)
    assert time.time_h == pytest.approx(time_for_yeast("2 %", time="3 h", new_dose="1 %", growth=growth).time_h)
    check_working(time.working(), time.time_h)
    same = time_for_yeast("2 %", time="3 h", new_form=form, growth=growth)
    assert same.time_h == pytest.approx(
        time_for_yeast("2 %", time="3 h", new_dose=f"{2 / factor:.9g} %", growth=growth).time_h
    )


def codes(made: YeastDose | YeastTime) -> set[str]:
    return {caution.code for caution in made.cautions} - {"steady-temperature", "assumed-temperature"}


def test_limits_are_held_against_fresh_yeast() -> None:
    """0.04 % of instant yeast is 0.12 % fresh, and 2.2 % of it 6.7 %."""
    assert codes(yeast_for_time("0.04 %", time="12 h", form="instant")) == set()
    assert "outside-usual-dose" in codes(yeast_for_time("0.04 %", time="12 h"))
    assert codes(yeast_for_time("2.2 %", time="1 h", form="instant")) == {"outside-usual-dose"}
    assert "outside-usual-dose" not in codes(yeast_for_time("6 %", time="1 h"))
    assert "outside-usual-dose" not in codes(yeast_for_time("0.05 %", time="16 h", of="poolish"))


def test_what_to_know() -> None:
    ask: dict[str, Any] = {"time": "3 h", "new_time": "4 h"}
    assert codes(yeast_for_time("2 %", time="3 h", new_time="4 h")) == set()
    assert codes(yeast_for_time("2 %", time="2 h", new_time="4 h")) == set()
    assert codes(yeast_for_time("2 %", time="2 h", new_time="4.1 h")) == {"large-change"}
    assert codes(yeast_for_time("2 %", time="2 h", new_time="57 min")) == {"large-change"}
    assert codes(yeast_for_time("2 %", **ask, sugar="5 %")) == set()
    assert codes(yeast_for_time("2 %", **ask, sugar="5.1 %")) == {"sugar"}
    assert codes(yeast_for_time("2 %", **ask, salt="2 %")) == set()
    assert codes(yeast_for_time("2 %", **ask, salt="2 %", new_salt="2 %")) == set()
    assert codes(yeast_for_time("2 %", **ask, salt="2 %", new_salt="1 %")) == {"salt-changed"}
    assert codes(yeast_for_time("2 %", **ask, temperature="26 °C", new_temperature="39 °C")) == {
        "above-best",
        "large-change",
    }
    assert codes(yeast_for_time("0.2 %", time="2 h", temperature="24 °C")) == {"unlike-handbooks"}
    sweet = yeast_for_time("2 %", **ask, sugar="12 %").cautions[-1].text
    assert "Osmotolerant instant" in sweet
    better = yeast_for_time("2 %", **ask, sugar="12 %", new_form="osmotolerant instant").cautions[-1].text
    assert "Osmotolerant" not in better
    assumed = yeast_for_time("2 %", **ask).cautions
    assert [each.code for each in assumed] == ["assumed-temperature", "steady-temperature"]


def test_no_band_while_growth_has_no_time() -> None:
    for hours in (1, 2, 3, 4):
        made = yeast_for_time("2 %", time="2 h", new_time=f"{hours} h", temperature="26 °C")
        assert made.low_percent == made.dose_percent == made.high_percent
    made = yeast_for_time("2 %", time="2 h", new_time="4.3 h", temperature="26 °C")
    assert made.low_percent < made.dose_percent


def anything(value: object) -> Any:  # noqa: ANN401 - what a caller without a type checker may hand over
    return value


def own(temperature_c: float) -> float:
    return temperature_c


def test_other_rates() -> None:
    ask: dict[str, Any] = {"time": "3 h", "temperature": "26 °C", "new_temperature": "20 °C"}
    gas = yeast_for_time("2 %", **ask)
    made = yeast_for_time("2 %", **ask, rate=Q10(2.0))
    assert made.dose_percent == pytest.approx(2 * 2**0.6)
    assert made.low_percent < gas.dose_percent < made.high_percent
    mine = yeast_for_time("2 %", **ask, rate=OwnRate(own))
    assert mine.low_percent == mine.dose_percent == mine.high_percent == pytest.approx(2 * 26 / 20)
    # A rate that works where the gas curve does not: its answer stands alone.
    frozen = yeast_for_time("2 %", time="3 h", temperature="26 °C", new_temperature="-1 °C", rate=Q10(2.0))
    assert frozen.dose_percent > 10


def test_growth_from_next_to_nothing() -> None:
    """After four days hardly any yeast is needed if it grows: the search comes to an end all the same."""
    old, new = Schedule(Hold("3 h", "26 °C")), Schedule(Hold("96 h", "26 °C"))
    found = dose_for(1.0, old, new, 1.0)
    assert 0 < found < 1e-9


def test_dose_and_time_of_a_dough_that_warms() -> None:
    conditions: dict[str, Any] = {
        "temperature": "24 °C",
        "room": "22 °C",
        "new_room": "30 °C",
        "lag": "4 h",
        "growth": 0.5,
    }
    made = yeast_for_time("1 %", time="5 h", new_time="9 h", **conditions)
    back = time_for_yeast("1 %", time="5 h", new_dose=f"{made.dose_percent:.12g} %", **conditions)
    assert back.time_h == pytest.approx(9.0)
    check_working(made.working(), made.dose_percent)
    check_working(back.working(), back.time_h)


@pytest.mark.parametrize(
    ("ask", "complaint"),
    [
        (lambda: yeast_for_time("0 %", time="0 h", new_time="0 h"), "3 faults"),
        (lambda: yeast_for_time("2", time="3000 h"), "2 faults"),
        (lambda: yeast_for_time("2 %", time="2 h", new_room="31 °C", lag="2 h"), "how warm the dough left the mixer"),
        (lambda: yeast_for_time("2 %", time="2 h", lag="2 h"), "the room beside its lag"),
        (lambda: yeast_for_time("2 %", time="2 h", temperature="26 °C", room="20 °C", lag="0 h"), "a lag above zero"),
        (lambda: yeast_for_time("2 %", time="2 h", phase="proof"), "both or none"),
        (lambda: yeast_for_time("2 %", time="2 h", other_time="1 h"), "both or none"),
        (lambda: yeast_for_time("2 %", time="2 h", temperature="26 °C", new_temperature="-4 °C"), "just above 0 °C"),
        (lambda: yeast_for_time("2 %", time="2 h", temperature="60 °C"), "between 0 and 48 °C"),
        (lambda: yeast_for_time("2 %", time="2 h", of="brioche"), "one of dough, preferment, straight"),
        (lambda: yeast_for_time("2 %", time="2 h", new_salt="1 %"), "the old salt"),
        (lambda: yeast_for_time("2 %", time="2 h", growth=2.0), "growth"),
        (lambda: yeast_for_time("2 %", time="2 h", form="beer", new_form="wine"), "2 faults"),
        (lambda: yeast_for_time("2 %", time="2 h", rate=anything(2)), "rate: got 2"),
        (
            lambda: yeast_for_schedule("2 %", anything(1), Schedule(Hold("1 h", "26 °C"))),
            "old: got an object of type int",
        ),
        (
            lambda: yeast_for_schedule(
                "2 %", Schedule(Hold("1 h", "26 °C")), Schedule(Hold("1 h", "26 °C"), rate=Q10(2.0))
            ),
            "give both the same rate=",
        ),
        (lambda: time_for_yeast("2 %", time="2 h", new_dose="0 %"), "a dose above zero"),
        (
            lambda: time_for_yeast("2 %", time="2 h", temperature="26 °C", new_temperature="-4 °C"),
            "a dough between 0 and 48 °C",
        ),
        (
            lambda: time_for_yeast("2 %", time="6 h", temperature="26 °C", new_room="-10 °C", lag="2 h"),
            r"more than 18\.1 %, which is ready",
        ),
        (
            lambda: time_for_yeast("1 %", time="1 h", new_dose="3 %", phase="proof", other_time="3 h"),
            "before the phase begins",
        ),
    ],
)
def test_every_refusal_names_the_nearest(ask: Any, complaint: str) -> None:  # noqa: ANN401 - a call
    with pytest.raises(FormulaError, match=complaint):
        ask()


def test_a_dose_that_is_refused_names_one_that_is_not() -> None:
    with pytest.raises(QuantityError) as caught:
        time_for_yeast("2 %", time="6 h", temperature="26 °C", new_room="-10 °C", lag="2 h")
    nearest = float(caught.value.faults[0].expected.split()[2])
    made = time_for_yeast(
        "2 %", time="6 h", new_dose=f"{nearest * 1.01} %", temperature="26 °C", new_room="-10 °C", lag="2 h"
    )
    assert math.isfinite(made.time_h)
    assert made.high_h == math.inf


def test_views_and_values() -> None:
    made = yeast_for_time("2 %", time="3 h", new_time="12 h", new_form="instant")
    views = [made.old_dose, made.dose, made.low, made.high, made.fresh]
    floats = [2.0, made.dose_percent, made.low_percent, made.high_percent, 0.5]
    assert [view.m_as("percent") for view in views] == pytest.approx(floats)
    assert pickle.loads(pickle.dumps(made)) == copy.deepcopy(made) == made  # noqa: S301 - our own bytes
    assert hash(made) == hash(yeast_for_time("20 ‰", time="180 min", new_time="12 h", new_form="idy"))
    time = time_for_yeast("2 %", time="3 h", new_dose="0.5 %")
    assert [view.m_as("h") for view in (time.time, time.low, time.high)] == [time.time_h, time.low_h, time.high_h]
    assert [view.m_as("percent") for view in (time.old_dose, time.new_dose)] == pytest.approx([2.0, 0.5])
    assert pickle.loads(pickle.dumps(time)) == time  # noqa: S301 - our own bytes
    check_working(time.working(), time.time_h)


def test_the_kernel() -> None:
    kernel: Any = inverse_dose_percent
    assert kernel(2.0, 2.0, np.array([1.0, 4.0])).tolist() == [4.0, 1.0]
    square: Any = square_law_dose_percent
    assert square(56, 24, np.array([16.0])) == pytest.approx([0.1938], abs=5e-5)
