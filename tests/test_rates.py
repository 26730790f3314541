"""Rates: published ratios, closed forms against quadrature, and every refusal."""

import copy
import math
import pickle
from typing import Any

import numpy as np
import pint
import pytest
from scipy.integrate import quad

from formula.errors import FormulaError, QuantityError
from formula.growth import GROWTH_CURVE
from formula.numeric import integral
from formula.otherrates import Q10, OwnRate, SquareLaw, q10_rate, square_rate
from formula.rates import BEST_C, HIGH_C, LOW_C, GasCurve, Rate, cardinal_rate, spread_factor
from tests.arithmetic import check_step
from tests.beside import RATES as RATES_IN_PRINT
from tests.rows import holds, rows


def own(temperature_c: float) -> float:
    return temperature_c * (40 - temperature_c)


def below_zero(temperature_c: float) -> float:
    return temperature_c - 20


def breaks(temperature_c: float) -> float:
    return 1 / (math.floor(temperature_c) - 20) ** 2


def nothing(temperature_c: float) -> float:
    return 0.0 * temperature_c


def text(temperature_c: float) -> str:
    return str(temperature_c)


RATES: dict[str, Rate] = {
    **RATES_IN_PRINT,
    "no pole": GasCurve("0 °C", "30 °C", "45.5 °C"),
    "pole below": GasCurve("0 °C", "30 °C", "58 °C"),
    "own": OwnRate(own, "0 °C", "40 °C"),
}


@pytest.mark.parametrize("row", rows("rates"))
def test_published(row: dict[str, str]) -> None:
    holds("rates", row)


@pytest.mark.parametrize("rate", RATES.values(), ids=RATES)
def test_sums_against_quadrature(rate: Rate) -> None:
    for start, end in ((10.0, 30.0), (30.0, 3.0), (24.0, 24.0000001), (5.0, 5.5), (39.0, 20.0), (25.0, 25.0)):
        found = quad(lambda part, a=start, b=end: rate.at(a + (b - a) * part), 0, 1, epsabs=1e-14, epsrel=1e-13)[0]
        assert rate.ramp_mean(start, end) == pytest.approx(found, rel=1e-11)
    for air, start, spans in (
        (4.0, 24.0, 10.7),
        (31.0, 26.0, 2.0),
        (25.0, 5.0, 1e-7),
        (58.9, 20.0, 0.5),
        (60.0, 20.0, 0.5),
    ):
        found = quad(
            lambda span, a=air, b=start: rate.at(a + (b - a) * math.exp(-span)), 0, spans, epsabs=1e-14, epsrel=1e-13
        )[0]
        assert rate.decay_sum(air, start, spans) == pytest.approx(found, rel=1e-11)


def test_the_curve_ends_where_it_says() -> None:
    curve = GasCurve()
    assert [curve.at(celsius) for celsius in (-5.0, 0.0, 48.0, 57.0)] == [0.0] * 4
    assert curve.at(38.0) == 1.0
    assert (curve.edges_c, curve.peak_c) == ((0.0, 48.0), 38.0)
    assert cardinal_rate(59.1111111111111, 0.0, 38.0, 48.0) == 0.0
    assert SquareLaw("2 °C").at(2.0) == 0.0
    assert (SquareLaw("2 °C").edges_c, SquareLaw().peak_c) == ((2.0, math.inf), math.inf)
    assert (Q10(2.0).edges_c, Q10(2.0).peak_c) == ((-math.inf, math.inf), math.inf)


def test_local_factors_for_ten_degrees() -> None:
    """3.7 at 15, 2.5 at 20, 2.0 at 24 and 1.8 at 27 °C, as the docs say."""
    curve = GasCurve()
    for celsius, printed in ((15, 3.7), (20, 2.5), (24, 2.0), (27, 1.8)):
        assert curve.at(celsius + 5) / curve.at(celsius - 5) == pytest.approx(printed, abs=0.05)


def test_the_best_of_your_own_rate_is_found() -> None:
    assert OwnRate(own, "0 °C", "40 °C").peak_c == pytest.approx(20.0, abs=1e-4)
    assert OwnRate(math.exp, "0 °C", "40 °C").peak_c == 40.0
    made = OwnRate(own, "10 °C", "40 °C")
    assert (made.at(10.0), made.at(40.0), made.edges_c) == (0.0, 0.0, (10.0, 40.0))


@pytest.mark.parametrize(
    ("function", "complaint"),
    [
        (lambda celsius: celsius, "a function of a module"),
        (None, "an object of type NoneType"),
        (below_zero, "a finite number of 0 or more"),
        (breaks, "ZeroDivisionError"),
        (nothing, "0 everywhere"),
        (text, "a finite number of 0 or more"),
    ],
)
def test_what_is_no_rate(function: Any, complaint: str) -> None:  # noqa: ANN401 - that is the point
    with pytest.raises(FormulaError, match=complaint):
        OwnRate(function)


def test_every_refusal() -> None:
    with pytest.raises(QuantityError, match="low below best below high"):
        GasCurve("0 °C", "20 °C", "48 °C")
    with pytest.raises(QuantityError) as caught:
        GasCurve("0", "38", "48 °C")
    assert [fault.where for fault in caught.value.faults] == ["low", "best"]
    with pytest.raises(QuantityError, match="low below high"):
        OwnRate(own, "40 °C", "10 °C")
    with pytest.raises(QuantityError, match="a difference above zero"):
        Q10.doubling("0 K")
    bad: list[Any] = [1.0, -2.0, "2", True, math.nan, 101]
    for factor in bad:
        with pytest.raises(FormulaError, match="factor"):
            Q10(factor)


@pytest.mark.parametrize("rate", RATES.values(), ids=RATES)
@pytest.mark.parametrize("celsius", [-5.0, 5.0, 26.0, 45.0])
def test_working(rate: Rate, celsius: float) -> None:
    step = rate.step("k", "T", celsius)
    check_step(step)
    assert step.value == rate.at(celsius)


def test_values() -> None:
    for rate in RATES.values():
        assert pickle.loads(pickle.dumps(rate)) == copy.deepcopy(rate) == rate  # noqa: S301 - our own bytes
        assert hash(copy.copy(rate)) == hash(rate)
    assert GasCurve() == GasCurve("32 °F", "311.15 K", "48 °C")
    assert GasCurve() != GROWTH_CURVE
    curve = GasCurve()
    assert [view.m_as("degC") for view in (curve.low, curve.best, curve.high)] == pytest.approx([0, 38, 48])
    assert SquareLaw("2 °C").low.m_as("degC") == pytest.approx(2)
    made = OwnRate(own, "1 °C", "39 °C")
    assert (made.low.m_as("degC"), made.high.m_as("degC")) == pytest.approx((1, 39))


def test_the_kernels() -> None:
    kernel: Any = q10_rate
    assert kernel(np.array([0.0, 10.0, 20.0]), 2.0).tolist() == [1.0, 2.0, 4.0]
    curve: Any = cardinal_rate
    kelvin = pint.UnitRegistry().kelvin
    found = curve(299.15 * kelvin, 273.15 * kelvin, 311.15 * kelvin, 321.15 * kelvin)
    assert found.m_as("dimensionless") == pytest.approx(0.65666, abs=5e-6)
    square: Any = square_rate
    assert square(299.15 * kelvin, 273.15 * kelvin).m_as("K**2") == pytest.approx(676)


def test_how_far_a_ratio_may_be_off() -> None:
    """Every printed ratio below 30 °C, but the classroom's, lies within the spread of the curve's."""
    curve = GasCurve()
    pairs = (
        (26.0, 25.0, 1.1),
        (26.6667, 17.2222, 2.0),
        (24.0, 16.0, 2.25),
        (6.0, 21.0, 0.1),
        (5.7, 28.0, 0.055),
        (15.0, 28.0, 0.383),
    )
    for warm, beside, printed in pairs:
        ratio = curve.at(warm) / curve.at(beside)
        factor = spread_factor(ratio, max(warm, beside))
        assert ratio / factor <= printed * 1.005
        assert printed <= ratio * factor * 1.01
    ratio = curve.at(36.1111) / curve.at(26.6667)
    assert ratio * spread_factor(ratio, 36.1111) == pytest.approx(2.0, abs=0.02)
    assert spread_factor(0.0, 20.0) == spread_factor(1.0, 20.0) == 1.0


def test_integration_is_adaptive() -> None:
    def peak(x: float) -> float:
        return 1 / (1e-4 + (x - 0.3) ** 2)

    assert integral(peak, 0.0, 1.0) == pytest.approx(100 * (math.atan(70) + math.atan(30)), rel=1e-11)
    assert integral(math.sqrt, 0.0, 1.0) == pytest.approx(2 / 3, rel=1e-9)
    assert integral(nothing, 0.0, 1.0) == 0.0


def test_the_curve_taken_by_default_is_that_of_its_constants() -> None:
    """They stand twice: as text in the signature, for the reader, and as constants with their source."""
    assert GasCurve() == GasCurve(*(f"{each.value:g} {each.unit}" for each in (LOW_C, BEST_C, HIGH_C)))


def test_thirty_degrees_are_not_yet_warm() -> None:
    # Half the rate: at most 15 % off up to 30 °C, and 2^0.9 held to 1.4 above.
    assert spread_factor(0.5, 30.0) == 1.15
    assert spread_factor(0.5, 30.01) == 1.4


def test_a_small_step_errs_less() -> None:
    # The square root of the ratio: nine tenths of 0.81.
    assert spread_factor(0.81, 20.0) == pytest.approx(1 / 0.9, rel=1e-12)
