"""Spread of readings: Student's t against the printed table, outliers and a fit through zero."""

import math

import pytest
from scipy.stats import t

from formula.spread import alike, fitted_rate, outlying, student_t, student_t95

# The two-sided 95 % column of any printed table of Student's t; from memory, three decimals.
TABLE = [(1, 12.706), (2, 4.303), (3, 3.182), (4, 2.776), (5, 2.571), (6, 2.447), (7, 2.365), (8, 2.306), (9, 2.262),
         (10, 2.228), (15, 2.131), (20, 2.086), (29, 2.045), (30, 2.042), (60, 2.000), (120, 1.980)]  # fmt: skip


@pytest.mark.parametrize(("freedom", "printed"), TABLE)
def test_students_table(freedom: int, printed: float) -> None:
    assert student_t95(freedom) == pytest.approx(printed, abs=0.0006)


@pytest.mark.parametrize("freedom", [1, 2, 3, 11, 19, 29, 49, 79, 124, 1000])
@pytest.mark.parametrize("share", [0.5, 0.6, 0.9, 0.975, 0.995, 0.9999])
def test_any_quantile(share: float, freedom: int) -> None:
    assert student_t(share, freedom) == pytest.approx(t.ppf(share, freedom), rel=1e-9, abs=1e-9)


def test_many_readings_come_to_the_bell_curve() -> None:
    assert student_t95(399) == pytest.approx(1.9659, abs=0.0001)


@pytest.mark.parametrize(
    ("values", "places"),
    [
        ([], ()),
        ([1.0, 2.0, 90.0], ()),
        ([18.0, 19.0, 18.5, 31.0], (3,)),
        ([31.0, 18.0, 19.0, 18.5, 2.0], (0, 4)),
        ([10.0, 14.0, 18.0, 22.0, 26.0], ()),
    ],
)
def test_outliers(values: list[float], places: tuple[int, ...]) -> None:
    assert outlying(values) == places


def test_readings_that_agree_too_well() -> None:
    """Three equal readings have no spread of their own; a least one keeps the fourth from being an outlier."""
    values = [18.0, 18.0, 18.0, 18.0, 19.0]
    assert outlying(values) == (4,)
    assert outlying(values, least_sigma=0.5) == ()


def test_where_the_limit_lies() -> None:
    """Median 0 and median deviation 1: the limit is 3.5 * 1.4826 = 5.189."""
    assert outlying([-1.0, -1.0, 0.0, 0.0, 1.0, 1.0, 5.18]) == ()
    assert outlying([-1.0, -1.0, 0.0, 0.0, 1.0, 1.0, 5.20]) == (6,)


def test_a_fit_through_zero() -> None:
    # Least squares by hand: (2 * 3 + 4 * 7) / (4 + 16).
    assert fitted_rate([2.0, 4.0], [3.0, 7.0]) == 34 / 20
    with pytest.raises(ValueError, match="zip"):
        fitted_rate([2.0, 4.0], [3.0])


def test_alike_values_are_put_together() -> None:
    # From 8, a ratio of 1.25 reaches 10 and no further; 10.1 begins the next class, which reaches 12.625.
    assert alike([10.1, 8.0, 10.0, 12.6, 12.7], 1.25) == ((1, 2), (0, 3), (4,))
    assert alike([], 1.25) == ()


@pytest.mark.parametrize("share", [0.4, 1.0, 20.0, math.nan])
def test_there_is_no_quantile_of_another_share(share: float) -> None:
    with pytest.raises(ValueError, match="share: got"):
        student_t(share, 5)
