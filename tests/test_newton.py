"""Newton's law: published readings, the kernels, cautions and every refusal."""

import copy
import math
import pickle
from typing import Any

import numpy as np
import pint
import pytest

from formula.errors import QuantityError
from formula.newton import (
    biot_number,
    cooling_from_reading,
    diffusivity_m2_h,
    lumped_tau_h,
    newton_c,
    newton_tau_h,
    newton_time_h,
)
from tests.arithmetic import check_working
from tests.rows import holds, rows

READINGS = [row for row in rows("cooling") if str(row.id).startswith("thermal/N05")]


def test_there_are_readings() -> None:
    assert len(READINGS) == 2


@pytest.mark.parametrize("row", READINGS)
def test_published(row: dict[str, str]) -> None:
    holds("cooling", row)
    made = cooling_from_reading(start=row["start"], air=row["air"], reading=row["reading"], after=row["reading_time"])
    check_working(made.working(), made.tau_h)


def test_flake_ice_and_chilled_water() -> None:
    # Printed: chilled water standing an hour at 20 °C goes from 4.0 to 9.2 °C; 0.393 an hour is derived from it.
    made = cooling_from_reading(start="4 °C", air="20 °C", reading="9.2 °C", after="1 h")
    assert 1 / made.tau_h == pytest.approx(0.393, abs=5e-4)
    assert made.after("1 h").temperature_c == pytest.approx(9.2, abs=1e-12)


def test_arrays_pass_through() -> None:
    times_h = np.array([0.0, 1.0, 2.0])
    found = newton_c(26.0, 4.0, times_h, 2.0)  # type: ignore[arg-type]
    assert found == pytest.approx([newton_c(26.0, 4.0, time_h, 2.0) for time_h in (0.0, 1.0, 2.0)], rel=1e-15)
    sizes_m = np.array([0.01, 0.02])
    assert lumped_tau_h(sizes_m, 10.0, 1100.0, 2.8) == pytest.approx(  # type: ignore[arg-type]
        [lumped_tau_h(size_m, 10.0, 1100.0, 2.8) for size_m in (0.01, 0.02)]
    )


def test_the_dimensions_are_right() -> None:
    unit: Any = pint.UnitRegistry()
    h, k = unit.Quantity(10.0, "W/m**2/K"), unit.Quantity(0.5, "W/m/K")
    density, heat, size = unit.Quantity(1100.0, "kg/m**3"), unit.Quantity(2.8, "kJ/kg/K"), unit.Quantity(0.02, "m")
    biot: Any = biot_number(h, size, k)
    assert biot.to("").magnitude == pytest.approx(biot_number(10.0, 0.02, 0.5))
    tau = (density * heat * size / h).to("hour").magnitude
    assert lumped_tau_h(0.02, 10.0, 1100.0, 2.8) == pytest.approx(tau, rel=1e-12)
    alpha = (k / density / heat).to("m**2/hour").magnitude
    assert diffusivity_m2_h(0.5, 1100.0, 2.8) == pytest.approx(alpha, rel=1e-12)


def test_quantities_and_views() -> None:
    quantity = pint.UnitRegistry().Quantity
    made = cooling_from_reading(
        start=quantity(26.0, "degC"), air="4 °C", reading=quantity(59.0, "degF"), after=quantity(120, "minute")
    )
    assert made == cooling_from_reading(start="26 °C", air="4 °C", reading="15 °C", after="2 h")
    assert made.start.m_as("degC") == 26.0
    assert made.air.m_as("degC") == 4.0
    assert made.reading.m_as("degC") == 15.0
    assert made.reading_time.m_as("hour") == 2.0
    assert made.tau.m_as("hour") == made.tau_h
    state = made.after("3 h")
    assert (state.time.m_as("hour"), state.temperature.m_as("degC")) == (3.0, state.temperature_c)
    arrival = made.time_to("6 °C")
    assert (arrival.time.m_as("hour"), arrival.temperature.m_as("degC")) == (arrival.time_h, 6.0)


def test_workings_and_values() -> None:
    made = cooling_from_reading(start="-18 °C", air="24 °C", reading="5 °C", after="200 min")
    for result, value in (
        (made, made.tau_h),
        (made.after("90 min"), made.after("90 min").temperature_c),
        (made.time_to("20 °C"), made.time_to("20 °C").time_h),
    ):
        check_working(result.working(), value)
        assert pickle.loads(pickle.dumps(result)) == result  # noqa: S301 - our own bytes
        assert copy.deepcopy(result) == result
        assert len({result, copy.deepcopy(result)}) == 1
    assert made.tau_h == newton_tau_h(-18.0, 24.0, 5.0, made.reading_time_h)
    assert made.time_to("20 °C").time_h == newton_time_h(-18.0, 24.0, 20.0, made.tau_h)
    assert made.time_to("-18 °C").time_h == 0.0
    assert math.copysign(1.0, made.time_to("-18 °C").time_h) == 1.0


@pytest.mark.parametrize(("reading", "weak"), [("15 °C", False), ("25 °C", True), ("4.5 °C", True), ("20 °C", False)])
def test_a_weak_reading_is_cautioned(reading: str, *, weak: bool) -> None:
    made = cooling_from_reading(start="26 °C", air="4 °C", reading=reading, after="2 h")
    assert [caution.code for caution in made.cautions] == ["weak-reading"] * weak
    # The caution says how far half a kelvin moves the constant, to first order.
    lower, higher = (newton_tau_h(26.0, 4.0, made.reading_c + error_k, 2.0) for error_k in (-0.01, 0.01))
    slope = (higher - lower) / 0.02 / made.tau_h
    assert (abs(slope) * 0.5 > 0.1) == weak


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"reading": "26 °C"}, "reading: got 26 °C"),
        ({"reading": "4 °C"}, "between the start's 26 °C and the air's 4 °C"),
        ({"reading": "30 °C"}, "check the three temperatures"),
        ({"air": "26 °C"}, "reading"),
        ({"after": "0 h"}, "after: got 0 h, expected a time above zero"),
        ({"after": "2"}, "after: got '2'"),
        ({"start": 26}, "start: got the bare number 26"),
    ],
)
def test_a_reading_that_cannot_be(change: dict[str, str], words: str) -> None:
    given = {"start": "26 °C", "air": "4 °C", "reading": "15 °C", "after": "2 h"} | change
    with pytest.raises(QuantityError) as caught:
        cooling_from_reading(**given)
    assert words in str(caught.value)


def test_all_bad_arguments_are_told_at_once() -> None:
    with pytest.raises(QuantityError, match="4 faults"):
        cooling_from_reading(start="a", air="b", reading="c", after="d")


@pytest.mark.parametrize("target", ["4 °C", "3 °C", "26.1 °C"])
def test_a_temperature_that_is_never_reached(target: str) -> None:
    made = cooling_from_reading(start="26 °C", air="4 °C", reading="15 °C", after="2 h")
    with pytest.raises(QuantityError, match="from the start's 26 °C towards the air's 4 °C"):
        made.time_to(target)
