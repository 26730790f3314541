"""Fermentation: the yeast at work, summed up over a schedule, with yeast that stays as it is or grows on the way.

F = sum of rate(T) Y dt, in percent of yeast times hours.  With constant yeast it is the dose times what ``schedule``
sums up, and the order of the steps does not matter.  Growing yeast works more later on: then it does, because a warm hour
early in the day raises a crop for all the hours after it.
"""

from __future__ import annotations

import math
from itertools import pairwise

from .growth import GAS_CURVE, GROWTH_CURVE, LAG_H, REFERENCE_C, growth_sum_h, growth_z
from .numeric import bracketed_root, integral
from .rates import Rate
from .schedule import FermentStep, Schedule
from .steps import Hold

__all__ = ["clock_h", "fermentation_percent_h", "hours_at_27", "mean_yeast"]


def hours_at_27(schedule: Schedule) -> float:
    """Return what a schedule is worth at 27 °C by the gas curve, whatever its own rate: the clock of lag and band, h."""
    return math.fsum(leg.sum_h(GAS_CURVE) for leg in schedule.legs) / GAS_CURVE.at(REFERENCE_C.value)


def clock_h(leg: FermentStep) -> float:
    """Return the hours of growth at 27 °C that a step is worth."""
    return leg.sum_h(GROWTH_CURVE) / GROWTH_CURVE.at(REFERENCE_C.value)


def fermentation_percent_h(dose_percent: float, schedule: Schedule, growth: float = 0.0) -> float:
    """Return the fermentation of a dose over a schedule: F = sum of rate(T) Y dt.

    Args:
        dose_percent: Y at the beginning, fresh yeast in percent of the flour it ferments, above 0.
        schedule: the steps and the rate.
        growth: 0: the yeast stays as it is, F = Y times the rate summed up; 1: it grows as counted (see ``growth_z``),
            its lag running with the gas curve, its growth with that of growing yeast.

    Accuracy: 1e-10; holds in closed form, moving steps by Gauss and Legendre's rule between the points where a curve
    begins or ends and where the lag is over.  Strictly increasing in the dose.

    Example:
        >>> eight_hours = Schedule(Hold("8 h", "26 °C"))
        >>> constant, growing = (fermentation_percent_h(0.5, eight_hours, growth) for growth in (0.0, 1.0))
        >>> round(growing / constant, 2)
        1.41
    """
    if growth <= 0:
        return dose_percent * schedule.sum_h
    lag_left_h = LAG_H.value * GAS_CURVE.at(REFERENCE_C.value)
    grown_h = 0.0
    parts: list[float] = []
    for whole in schedule.legs:
        leg = whole
        if lag_left_h > 0:
            lag_h = leg.sum_h(GAS_CURVE)
            if lag_h <= lag_left_h:
                lag_left_h -= lag_h
                parts.append(leg.sum_h(schedule.rate))
                continue
            over_h = _lag_end_h(leg, lag_left_h)
            lag_left_h = 0.0
            parts.append(leg.until(over_h).sum_h(schedule.rate))
            if over_h >= leg.time_h:
                continue
            leg = leg.after(over_h)
        parts.append(_growing_sum_h(leg, schedule.rate, grown_h, dose_percent, growth))
        grown_h += clock_h(leg)
    return dose_percent * math.fsum(parts)


def _lag_end_h(leg: FermentStep, left: float) -> float:
    """Return when, within a step, so much of the gas curve has been summed up."""
    if isinstance(leg, Hold):
        return left / GAS_CURVE.at(leg.held_c)
    return bracketed_root(
        lambda time_h: leg.until(time_h).sum_h(GAS_CURVE) - left if time_h else -left, 0.0, leg.time_h
    )


def _growing_sum_h(leg: FermentStep, rate: Rate, grown_h: float, dose_percent: float, growth: float) -> float:
    """Return rate times yeast over its dose, summed up over a step with no lag left."""
    if isinstance(leg, Hold):
        speed = GROWTH_CURVE.at(leg.held_c) / GROWTH_CURVE.at(REFERENCE_C.value)
        gone_h = speed * leg.time_h
        if gone_h < 1e-4:
            # So little growth that its sum would lose digits: the part grown is as good as straight.
            more_h = leg.time_h * growth_z(grown_h + gone_h / 2, dose_percent, growth)
        else:
            summed = (growth_sum_h(hours, dose_percent, growth) for hours in (grown_h + gone_h, grown_h))
            more_h = (next(summed) - next(summed)) / speed
        return rate.at(leg.held_c) * (leg.time_h + more_h)
    edges_h = leg.times_at((*rate.edges_c, *GROWTH_CURVE.edges_c))
    ends_h = [0.0, *edges_h, leg.time_h]

    def at_work(time_h: float) -> float:
        grown = grown_h + clock_h(leg.until(time_h))
        return rate.at(leg.temperature_c(time_h)) * (1 + growth_z(grown, dose_percent, growth))

    return math.fsum(integral(at_work, at, to) for at, to in pairwise(ends_h))


def mean_yeast(dose_percent: float, schedule: Schedule, growth: float) -> float:
    """Return the yeast at work in the mean, relative to the dose: 1 where it does not grow."""
    constant = dose_percent * schedule.sum_h
    return fermentation_percent_h(dose_percent, schedule, growth) / constant if constant else 1.0
