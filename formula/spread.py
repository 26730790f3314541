"""Spread: how far measured numbers lie apart, which of them do not fit, and how far their mean can be trusted.

Plain statistics of few readings: a robust rule for outliers, a fit through zero, and Student's t for small numbers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import median
from typing import Final

from .sources import Constant

__all__ = ["MAD_SIGMA", "OUTLIER_SIGMAS", "alike", "fitted_rate", "outlying", "student_t", "student_t95"]

OUTLIER_SIGMAS: Final = Constant(3.5, "1", 0.0, "iglewicz-hoaglin-1993", "modified z-score above 3.5")
MAD_SIGMA: Final = Constant(
    1.4826, "1", 0.0001, "iglewicz-hoaglin-1993", "1 / 0.6745: standard deviations per median absolute deviation"
)
_LEAST_FOR_OUTLIERS: Final = 4


def alike(values: Sequence[float], ratio: float) -> tuple[tuple[int, ...], ...]:
    """Sort the places of values into classes from small to large, the largest of each at most ``ratio`` times its smallest.

    Example:
        >>> alike([40.0, 12.0, 44.0, 90.0], 1.25)
        ((1,), (0, 2), (3,))
    """
    classes: list[list[int]] = []
    for place in sorted(range(len(values)), key=lambda place: values[place]):
        if classes and values[place] <= ratio * values[classes[-1][0]]:
            classes[-1].append(place)
        else:
            classes.append([place])
    return tuple(tuple(sorted(places)) for places in classes)


def fitted_rate(times: Sequence[float], values: Sequence[float]) -> float:
    """Return the least-squares rate of values that begin at zero: sum(time * value) / sum(time * time).

    Example:
        >>> fitted_rate([4.0, 8.0], [6.0, 12.0])
        1.5
    """
    pairs = zip(times, values, strict=True)
    return math.fsum(time * value for time, value in pairs) / math.fsum(time * time for time in times)


def outlying(values: Sequence[float], least_sigma: float = 0.0) -> tuple[int, ...]:
    """Return the places of values further from their median than 3.5 robust standard deviations (1.4826 MAD).

    Args:
        values: readings, or what each has over a fit; fewer than 4 have no outliers.
        least_sigma: a standard deviation that the readings have at least, however well they happen to agree.

    Example:
        >>> outlying([18.0, 19.0, 18.5, 19.5, 31.0])
        (4,)
    """
    if len(values) < _LEAST_FOR_OUTLIERS:
        return ()
    middle = median(values)
    sigma = max(least_sigma, MAD_SIGMA.value * median(abs(value - middle) for value in values))
    limit = OUTLIER_SIGMAS.value * sigma
    return tuple(place for place, value in enumerate(values) if abs(value - middle) > limit)


def student_t(share: float, freedom: int) -> float:
    """Return the quantile of Student's t below which a share of it lies.

    Args:
        share: 0.5 or more and less than 1; 0.995 leaves half a percent above.
        freedom: degrees of freedom, one less than the readings.

    Raises:
        ValueError: another share, for which there is no such quantile.

    Accuracy: 1e-10 of it up to a share of 0.9999.

    Example:
        >>> round(student_t(0.995, 29), 3), round(student_t(0.975, 11), 3)
        (2.756, 2.201)
    """
    if not 0.5 <= share < 1:
        message = f"share: got {share!r}, expected 0.5 or more and less than 1"
        raise ValueError(message)
    low, high = 0.0, 1.0
    while _within(high, freedom) < 2 * share - 1:
        low, high = high, 2 * high
    while high - low > 1e-12 * high:
        half = (low + high) / 2
        low, high = (half, high) if _within(half, freedom) < 2 * share - 1 else (low, half)
    return high


def student_t95(freedom: int) -> float:
    """Return Student's t that leaves 2.5 % on either side, for 1 or more degrees of freedom.

    Args:
        freedom: degrees of freedom, one less than the trials.

    Example:
        >>> round(student_t95(1), 2), round(student_t95(10), 3)
        (12.71, 2.228)
    """
    return student_t(0.975, freedom)


def _within(t: float, freedom: int) -> float:
    """Return the chance that Student's t lies between -t and t: the finite series for whole degrees of freedom."""
    angle = math.atan2(t, math.sqrt(freedom))
    sine, cosine = math.sin(angle), math.cos(angle)
    odd = freedom % 2
    term = total = 0.0 if odd and freedom == 1 else (cosine if odd else 1.0)
    for step in range(2 if odd else 1, freedom - 1, 2):
        term *= step / (step + 1) * cosine * cosine
        total += term
    return (angle + sine * total) * 2 / math.pi if odd else sine * total
