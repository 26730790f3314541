"""The numerical tools against scipy, which is for tests alone."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy import integrate, optimize, special

from formula.numeric import bessel, bracketed_root, gauss_legendre, integral


def test_bessel_functions() -> None:
    places = np.concatenate([np.linspace(0, 60, 6001), np.linspace(60, 1000, 3001)])
    found = np.array([bessel(float(x)) for x in places])
    assert np.abs(found[:, 0] - special.j0(places)).max() < 1e-14
    assert np.abs(found[:, 1] - special.j1(places)).max() < 1e-14


def test_bessel_functions_meet_where_the_way_changes() -> None:
    before, after = bessel(math.nextafter(25.0, 0.0)), bessel(25.0)
    assert before == pytest.approx(after, abs=1e-14)


@pytest.mark.parametrize(
    ("function", "low", "high", "root"),
    [
        (lambda x: x**2 - 2, 0.0, 2.0, math.sqrt(2)),
        (lambda x: x**2 - 2, 2.0, 0.0, math.sqrt(2)),
        (lambda x: math.exp(x) - 1e6, 0.0, 100.0, math.log(1e6)),
        (lambda x: math.atan(1e6 * (x - 0.123)), -1.0, 1.0, 0.123),
        (lambda x: -1.0 if x < 0.7 else 1.0, 0.0, 1.0, 0.7),
        (lambda x: x * 1e-300, -1.0, 3.0, 0.0),
        (lambda x: math.cos(x) - x, 0.0, 1.0, optimize.brentq(lambda x: math.cos(x) - x, 0, 1, xtol=1e-15)),
    ],
)
def test_a_search_finds_the_root(function: Callable[[float], float], low: float, high: float, root: float) -> None:
    evaluated: list[float] = []

    def counted(x: float) -> float:
        evaluated.append(x)
        return function(x)

    assert bracketed_root(counted, low, high) == pytest.approx(root, rel=1e-14, abs=1e-14)
    assert len(evaluated) < 200
    assert all(min(low, high) <= x <= max(low, high) for x in evaluated)


def test_a_flat_root_is_found_as_well_as_floats_allow() -> None:
    # A ninefold root is 0 to the last digit over a range of the ninth root of the smallest float.
    assert bracketed_root(lambda x: (x - 0.3) ** 9, 0.0, 1.0) == pytest.approx(0.3, abs=1e-12)


def test_a_root_a_hair_from_nothing_is_not_sought_for_ever() -> None:
    # A step at 1e-200 would take 664 halvings of the range from 0 to 1; after 200 it is known to 2 ** -200.
    evaluated: list[float] = []

    def step(x: float) -> float:
        evaluated.append(x)
        return 1.0 if x > 1e-200 else -1.0

    assert abs(bracketed_root(step, 0.0, 1.0) - 1e-200) <= 2.0**-200
    assert len(evaluated) == 202


@pytest.mark.parametrize("end", [0.0, 1.0])
def test_a_root_may_lie_at_an_end(end: float) -> None:
    assert bracketed_root(lambda x: x - end, 0.0, 1.0) == end


@pytest.mark.parametrize("count", [1, 2, 3, 8, 20, 100])
def test_a_rule_of_integration(count: int) -> None:
    places, weights = np.polynomial.legendre.leggauss(count)
    found = sorted(gauss_legendre(count))
    assert [place for place, _ in found] == pytest.approx((1 + places) / 2, abs=1e-14)
    assert [weight for _, weight in found] == pytest.approx(weights / 2, rel=1e-11)
    for power in (0, 1, 2 * count - 2, 2 * count - 1):
        assert math.fsum(weight * place**power for place, weight in found) == pytest.approx(1 / (power + 1), rel=1e-13)


@pytest.mark.parametrize(
    ("function", "low", "high"),
    [
        (lambda x: x**7, 0.0, 2.0),
        (math.exp, -3.0, 5.0),
        (lambda x: 1 / (1 + 100 * x * x), -1.0, 1.0),
        (lambda x: math.sin(20 * x), 0.0, 10.0),
        (lambda x: math.exp(-50 * x), 0.0, 4.0),
        (lambda x: abs(x - 0.3), 0.0, 1.0),
        (lambda _: 0.0, 0.0, 1.0),
        (math.exp, 2.0, 2.0),
    ],
)
def test_an_integral(function: Callable[[float], float], low: float, high: float) -> None:
    reference, _ = integrate.quad(function, low, high, epsabs=1e-13, epsrel=1e-12, limit=400)
    assert integral(function, low, high) == pytest.approx(reference, rel=1e-10, abs=1e-12)
