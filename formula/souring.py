"""Souring: how fast a sourdough's yeast and its lactic bacteria grow, and when a levain is ripe because of it.

A seed of ripe culture grows exponentially until the levain is as full of life as the seed was.  So the time to ripeness
goes with the logarithm of the dilution: t = ln(1 / s) / (phi mu(T)), where s is the mass of ripe seed over the mass of
the built levain, mu the growth rate at the levain's own temperature, and phi how fast the dough is against the broth
that mu was measured in.  At the top of its rise a levain follows its yeast; fully soured it follows its bacteria.

These are the kernels; ``culture`` and ``builds`` stand on them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from attrs import frozen

from .lines import Lines
from .numeric import bracketed_root
from .sources import Constant

__all__ = [
    "BACTERIA",
    "COLDEST_C",
    "CURVES",
    "LEAST_SHARE",
    "MOST_SHARE",
    "YEAST",
    "GrowthCurve",
    "growth_rate_per_h",
    "optimum_c",
    "phi_from_log",
    "ripening_time_h",
    "seed_share_after",
    "share_from_starter",
    "starter_from_share",
    "temperature_for_rate_c",
]

_FITTED: Final = "levain-growth-curves"
_CALIBRATED: Final = "levain-ripening-fit"
_TABLE: Final = "gaenzle-growth-table-1998"


@frozen
class GrowthCurve:
    """How fast an organism of the sourdough grows: mu = a x**b exp(-c x), x = highest - T, and zero above.

    ``ripe`` is what it tells; ``phi`` is the rate in dough over the rate in broth.  ``fit_error`` is the largest miss of
    the curve at the 16 temperatures that it was fitted to.  ``coldest`` and ``warmest`` bound the temperatures at which
    printed times were compared; above ``limit`` the curve must not be used.
    """

    organism: str
    ripe: str
    a: Constant
    b: Constant
    c: Constant
    highest: Constant
    phi: Constant
    fit_error: Constant
    coldest: Constant
    warmest: Constant
    limit: Constant


# The uncertainty of a, b and c is the standard error of the fit; the three move together, so that fit_error, not these,
# says how good the curve is.
YEAST: Final = GrowthCurve(
    organism="sourdough yeast (C. milleri, now Kazachstania humilis)",
    ripe="peak",
    a=Constant(0.012543, "1/h", 0.0001, _FITTED, "least squares, x in K"),
    b=Constant(2.973, "1", 0.006, _FITTED, "least squares"),
    c=Constant(0.33484, "1/K", 0.0006, _FITTED, "least squares"),
    highest=Constant(36.0, "°C", 1.0, _FITTED, "a free fit gives 36.1; the answer 39 of the FAQ says 35"),
    phi=Constant(
        0.83,
        "1",
        0.33,
        _CALIBRATED,
        "set from 8 printed times to the top of the rise, which differ by 10 %; the band is 40 %",
    ),
    fit_error=Constant(0.0016, "1/h", 0.0, _FITTED, "largest of 16 differences, at 34 °C"),
    coldest=Constant(20.0, "°C", 1.0, _CALIBRATED, "the coolest printed time is at 21 °C"),
    warmest=Constant(30.0, "°C", 1.0, _CALIBRATED, "printed full sours at 31 and 32 °C are 1.7 and 2.7 times faster"),
    limit=Constant(
        33.0, "°C", 1.0, _CALIBRATED, "near the yeast's end the curve falls far faster than the printed times"
    ),
)
BACTERIA: Final = GrowthCurve(
    organism="lactic bacteria (L. sanfranciscensis, now Fructilactobacillus sanfranciscensis)",
    ripe="sour",
    a=Constant(0.11182, "1/h", 0.002, _FITTED, "least squares, x in K"),
    b=Constant(1.6117, "1", 0.011, _FITTED, "least squares"),
    c=Constant(0.19748, "1/K", 0.0009, _FITTED, "least squares"),
    highest=Constant(41.0, "°C", 1.0, "gaenzle-faq-39", "no growth at 41 °C; a free fit gives 40.0"),
    phi=Constant(
        0.43,
        "1",
        0.17,
        _CALIBRATED,
        "set from 12 printed times to a full sour; the 13 of docs/levain.md ask for 0.39; the band is 40 %",
    ),
    fit_error=Constant(0.0025, "1/h", 0.0, _FITTED, "largest of 16 differences, at 32 °C"),
    coldest=Constant(20.0, "°C", 1.0, _CALIBRATED, "the coolest printed time is at 20 °C"),
    warmest=Constant(32.0, "°C", 1.0, _CALIBRATED, "printed sours at 35 and 41 °C are far faster than the curve"),
    limit=Constant(34.0, "°C", 1.0, _TABLE, "the growth table ends here"),
)
CURVES: Final[Mapping[str, GrowthCurve]] = Lines({curve.ripe: curve for curve in (YEAST, BACTERIA)})
"""What ripe may mean, and the organism that tells: ``"peak"``, the top of the rise, and ``"sour"``, fully soured."""

COLDEST_C: Final = Constant(2.0, "°C", 0.0, _TABLE, "the growth table begins here")
LEAST_SHARE: Final = Constant(0.005, "1", 0.0, _CALIBRATED, "smaller seeds stand in no printed table")
MOST_SHARE: Final = Constant(0.4, "1", 0.0, _CALIBRATED, "larger seeds stand in no printed table")


def growth_rate_per_h(temperature_c: float, curve: GrowthCurve = YEAST) -> float:
    """Return a growth rate: mu = a x**b exp(-c x) with x = highest - T, in 1/h; zero from the highest temperature on.

    Args:
        temperature_c: T, the levain's own temperature, °C; a number or an array.
        curve: ``YEAST`` or ``BACTERIA``.

    Accuracy: fitted to 16 rates from 2 to 34 °C, missing them by at most 0.0025 1/h (bacteria) and 0.0016 1/h (yeast).
    The rates themselves are one strain's, in broth: take them as relative.  The table behind them is from memory.

    Source: levain-growth-curves, fitted to gaenzle-growth-table-1998.

    Example:
        >>> round(growth_rate_per_h(24.0), 3), round(growth_rate_per_h(24.0, BACTERIA), 3), growth_rate_per_h(36.0)
        (0.365, 0.375, 0.0)
    """
    x = curve.highest.value - temperature_c
    x = (x + abs(x)) / 2  # zero above the highest temperature, without a branch, so that arrays pass through
    fall: float = math.e ** (-curve.c.value * x)
    rate: float = curve.a.value * x**curve.b.value * fall
    return rate


def optimum_c(curve: GrowthCurve = YEAST) -> float:
    """Return the temperature of fastest growth: highest - b / c.

    Example:
        >>> round(optimum_c(YEAST), 1), round(optimum_c(BACTERIA), 1)
        (27.1, 32.8)
    """
    return curve.highest.value - curve.b.value / curve.c.value


def temperature_for_rate_c(rate_per_h: float, curve: GrowthCurve = YEAST) -> float | None:
    """Return the temperature below the optimum at which an organism grows at a rate, or None if it never does.

    Two temperatures give a rate, one on either side of the optimum; this is the cooler.

    Args:
        rate_per_h: mu, 1/h.
        curve: ``YEAST`` or ``BACTERIA``.

    Example:
        >>> round(temperature_for_rate_c(0.225), 1), temperature_for_rate_c(0.5)
        (20.0, None)
    """
    low, high = COLDEST_C.value, optimum_c(curve)
    if not growth_rate_per_h(low, curve) <= rate_per_h <= growth_rate_per_h(high, curve):
        return None
    return bracketed_root(lambda t: growth_rate_per_h(t, curve) - rate_per_h, low, high)


def ripening_time_h(seed_share: float, rate_per_h: float, phi: float) -> float:
    """Return the time to ripeness: t = ln(1 / s) / (phi mu), in h.

    Args:
        seed_share: s, mass of ripe seed over mass of the built levain, above 0 and below 1.
        rate_per_h: mu, the growth rate at the levain's temperature, 1/h.
        phi: the rate in dough over the rate in broth.

    Accuracy: with the phi of the printed tables x/÷ 1.10 at the top of the rise (8 printed times) and x/÷ 1.26 for a full
    sour (13), in the range of temperatures and in sample: phi was set from these times.

    Example:
        >>> round(ripening_time_h(16 / 360, 0.260, 0.83), 1)
        14.4
    """
    return math.log(1 / seed_share) / (phi * rate_per_h)


def seed_share_after(time_h: float, rate_per_h: float, phi: float) -> float:
    """Return the seed share that is ripe after a time: s = exp(-phi mu t); the inverse of ``ripening_time_h``.

    Args:
        time_h: t, h; a number or an array.
        rate_per_h: mu, the growth rate at the levain's temperature, 1/h; a number or an array.
        phi: the rate in dough over the rate in broth.

    Example:
        >>> round(seed_share_after(14.4, 0.260, 0.83), 4)
        0.0447
    """
    share: float = math.e ** (-phi * rate_per_h * time_h)
    return share


def phi_from_log(seed_share: float, rate_per_h: float, time_h: float) -> float:
    """Return the phi that a levain of one's own shows: ln(1 / s) / (mu t).

    Args:
        seed_share: s, mass of ripe seed over mass of the built levain, above 0 and below 1.
        rate_per_h: mu, the growth rate at the levain's temperature, 1/h.
        time_h: t, when it was ripe, h.

    Example:
        >>> round(phi_from_log(16 / 360, 0.260, 14.4), 2)
        0.83
    """
    return math.log(1 / seed_share) / (rate_per_h * time_h)


def share_from_starter(starter: float, hydration: float, salt: float = 0.0) -> float:
    """Return the seed share of a starter counted on the flour that is fed: p / (1 + h + salt + p).

    Args:
        starter: p, mass of ripe starter over mass of the flour fed.
        hydration: h, mass of the water fed over that flour.
        salt: mass of salt over that flour.

    Example:
        >>> round(share_from_starter(0.10, 1.10), 4)
        0.0455
    """
    return starter / (1 + hydration + salt + starter)


def starter_from_share(seed_share: float, hydration: float, salt: float = 0.0) -> float:
    """Return the starter on the flour that is fed: p = s (1 + h + salt) / (1 - s); inverse of ``share_from_starter``.

    Args:
        seed_share: s, mass of ripe seed over mass of the built levain, below 1.
        hydration: h, mass of the water fed over the flour fed.
        salt: mass of salt over that flour.

    Example:
        >>> round(starter_from_share(16 / 360, 190 / 154), 3)
        0.104
    """
    return seed_share * (1 + hydration + salt) / (1 - seed_share)
