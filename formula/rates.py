"""Rates: how fast yeast works at a dough's temperature, as curves that can be compared, integrated and replaced.

Only ratios matter: every rate is relative, and what it is relative to cancels.  The temperature is always that of the
dough, never that of the room.  Here stands the default, the cardinal-temperature curve for gas; ``otherrates`` has a
constant Q10, the square law and a function of your own.

How well they do (published ratio, then this curve, Q10 = 2, Q10 = 2.59, square law):

====================================  =========  ============  ======  ====  ======
what was printed                      printed    ``GasCurve``  Q10 2   2.59  square
====================================  =========  ============  ======  ====  ======
1 K warmer at 25 °C                   1.10       1.07          1.07    1.10  1.08
63 to 80 °F                           2.0        2.15          1.93    2.46  2.40
80 to 97 °F                           2.0        1.44          1.92    2.46  1.83
16 to 24 °C                           2.25       2.07          1.74    2.14  2.25
6 against 21 °C, poolish              0.10       0.091         0.35    0.24  0.082
5.7 against 28 °C, culture            0.055      0.051         0.21    0.12  0.041
15 against 28 °C, culture             0.383      0.334         0.41    0.29  0.287
15 to 30 °C, gas in a classroom       about 2    3.3           2.8     4.2   4.0
====================================  =========  ============  ======  ====  ======
"""

from __future__ import annotations

import math
from typing import ClassVar, Final

from attrs import field, frozen

from .numeric import integral
from .quantity import TEMPERATURE, Door, Measure, View, write
from .sources import Constant
from .working import Step

__all__ = [
    "BEST_C",
    "HIGH_C",
    "LOW_C",
    "GasCurve",
    "Rate",
    "cardinal_rate",
    "spread_factor",
]

_CHOSEN: Final = "chosen inside the published ranges before any test was run, and fitted to none"
LOW_C: Final = Constant(0.0, "°C", 4.0, "gas-curve", f"gas begins: {_CHOSEN}")
BEST_C: Final = Constant(38.0, "°C", 3.0, "gas-curve", f"gas is fastest; published 35 to 40: {_CHOSEN}")
HIGH_C: Final = Constant(48.0, "°C", 7.0, "gas-curve", f"gas ends; published 42 to 55: {_CHOSEN}")
_ROSSO: Final = "rosso-1993"

_WARM_C: Final = Constant(30.0, "°C", 0.0, "gas-curve", "above it the printed ratios part from the curve")
_POWER: Final = Constant(0.5, "1", 0.0, "gas-curve", "small steps err less than large ones")
_MOST: Final = Constant(1.15, "1", 0.0, "gas-curve", "up to 30 °C five printed ratios lie within 15 %")
_WARM_POWER: Final = Constant(0.9, "1", 0.0, "gas-curve", "above 30 °C rules of thumb are steeper than the curve")
_WARM_MOST: Final = Constant(1.4, "1", 0.0, "gas-curve", "80 to 97 °F: printed 2.0, the curve has 1.44")


def cardinal_rate(temperature_c: float, low_c: float, best_c: float, high_c: float) -> float:
    """Return the rate relative to that at the best temperature, by the cardinal-temperature curve.

    k = (T - Th)(T - Tl)^2 / {(Tb - Tl)[(Tb - Tl)(T - Tb) - (Tb - Th)(Tb + Tl - 2T)]}, and zero outside Tl to Th.

    Args:
        temperature_c: T, the dough's temperature, °C; a single number, because the curve ends on both sides.
        low_c: Tl, where it begins, °C.
        best_c: Tb, where it is fastest, °C, nearer to Th than to Tl.
        high_c: Th, where it ends, °C.

    Source: Rosso, Lobry and Flandrois 1993, as printed in the documentation of a library of curves.

    Example:
        >>> round(cardinal_rate(26.0, 0.0, 38.0, 48.0), 5)
        0.65666
    """
    if not low_c < temperature_c < high_c:
        return 0.0
    rise = best_c - low_c
    below = rise * (rise * (temperature_c - best_c) - (best_c - high_c) * (best_c + low_c - 2 * temperature_c))
    rate: float = (temperature_c - high_c) * (temperature_c - low_c) ** 2 / below
    return rate


def spread_factor(ratio: float, warmest_c: float) -> float:
    """Return by what factor a ratio of two rates of the gas curve may be off, by what is in print.

    Up to 30 °C the curve is within 15 % of five printed ratios, and nearer for small steps: ratio^0.5, at most 1.15.
    Above 30 °C rules of thumb are steeper: ratio^0.9, at most 1.4.

    Args:
        ratio: the ratio of the two rates, above 0.
        warmest_c: the warmest temperature that goes into it, °C.

    Example:
        >>> round(spread_factor(0.5, 26.0), 2), round(spread_factor(1.1, 35.0), 2), spread_factor(1.0, 40.0)
        (1.15, 1.09, 1.0)
    """
    if ratio <= 0:
        return 1.0
    power, most = (_POWER, _MOST) if warmest_c <= _WARM_C.value else (_WARM_POWER, _WARM_MOST)
    return min(most.value, math.pow(max(ratio, 1 / ratio), power.value))


class Rate:
    """What every rate answers; take one of ``GasCurve``, ``Q10``, ``SquareLaw`` and ``OwnRate``."""

    __slots__ = ()
    source: ClassVar[str] = ""
    has_spread: ClassVar[bool] = False
    """Whether what is in print says how far it may be off; your own rate is yours to judge."""

    @property
    def edges_c(self) -> tuple[float, float]:
        """The temperatures, °C, at and beyond which nothing happens."""
        raise NotImplementedError

    @property
    def peak_c(self) -> float:
        """The temperature, °C, at which it is fastest; infinite if it knows none."""
        raise NotImplementedError

    def at(self, temperature_c: float) -> float:
        """Return the relative rate at a dough temperature, °C."""
        raise NotImplementedError

    def ramp_mean(self, start_c: float, end_c: float) -> float:
        """Return the mean rate while the temperature goes evenly from one to another, both within the edges, °C."""
        if start_c == end_c:
            return self.at(start_c)
        return integral(lambda part: self.at(start_c + (end_c - start_c) * part), 0.0, 1.0)

    def decay_sum(self, air_c: float, start_c: float, spans: float) -> float:
        """Return the rate summed up over time, while a dough nears a room, both within the edges.

        Args:
            air_c: the temperature it nears, °C.
            start_c: the dough's at the beginning, °C.
            spans: the time, in time constants.
        """
        return integral(lambda span: self.at(air_c + (start_c - air_c) * math.exp(-span)), 0.0, spans)

    def step(self, symbol: str, name: str, temperature_c: float) -> Step:
        """Show the rate at a temperature as a step of a working; ``name`` is the temperature's."""
        del name
        rate = self.at(temperature_c)
        return Step(symbol, symbol, {symbol: rate}, rate, "1", self.source, "relative rate", {symbol: "1"})


# The curve is a (T - Th)(T - Tl)^2 / (T - Tp) with one pole Tp beyond its ends.  With y = T - Tp, u = Tp - Th and
# v = Tp - Tl it is a (y^2 + (u + 2v) y + v^2 + 2uv + u v^2 / y), which can be summed up in closed form.
def _parts(low_c: float, best_c: float, high_c: float) -> tuple[float, float, float, float, float]:
    rise, fall = best_c - low_c, high_c - best_c
    # (Tb - Tl)(T - Tb) + (Th - Tb)(Tb + Tl - 2T) = slope T - rest
    slope = rise - 2 * fall
    if abs(slope) < 0.1 * rise:
        # The pole is far away, or there is none: the sum of the parts would lose digits.
        return 0.0, 0.0, 0.0, 0.0, 0.0
    pole_c = (rise * best_c - fall * (best_c + low_c)) / slope
    u, v = pole_c - high_c, pole_c - low_c
    return 1 / (rise * slope), pole_c, u + 2 * v, v * v + 2 * u * v, u * v * v


@frozen(init=False)
class GasCurve(Rate):
    """The cardinal-temperature curve for gas, the default: begins at ``low``, is fastest at ``best``, ends at ``high``.

    Args:
        low: where gas begins, 0 °C by default.
        best: where it is fastest, 38 °C by default.
        high: where it ends, 48 °C by default.

    Raises:
        QuantityError: a temperature that cannot be read, or three that make no such curve.

    Range and accuracy: the defaults are the project's own choice inside the published ranges.  Between 5 and 30 °C within
    15 % of five of the printed ratios, but 65 % off a classroom's; above 30 °C rules of thumb are steeper.  Proof to a
    *height* in the cold depends on more than gas and is missed by a factor of 3 to 5.  The factor for the 10 K
    around it is 3.7 at 15 °C, 2.5 at 20, 2.0 at 24 and 1.8 at 27 °C.

    Example:
        >>> curve = GasCurve()
        >>> round(curve.at(24.0) / curve.at(16.0), 2)
        2.07
    """

    source: ClassVar[str] = _ROSSO
    has_spread: ClassVar[bool] = True
    low_c: float
    best_c: float
    high_c: float
    parts: tuple[float, float, float, float, float] = field(eq=False, repr=False)
    """The curve's scale, its pole and its three coefficients there; zeros where there is no pole nearby."""

    def __init__(self, low: Measure = "0 °C", best: Measure = "38 °C", high: Measure = "48 °C") -> None:
        """Read the three temperatures."""
        with Door() as door:
            low_c, best_c, high_c = (
                door.read(TEMPERATURE, value, name) for name, value in (("low", low), ("best", best), ("high", high))
            )
            if not door.faults and not (low_c + high_c) / 2 < best_c < high_c:
                got = ", ".join(write(TEMPERATURE, value) for value in (low_c, best_c, high_c))
                expected = "low below best below high, with best nearer to high than to low"
                door.refuse("low, best, high", got, expected, "check the order")
        parts = _parts(low_c, best_c, high_c)
        for name, value in (("low_c", low_c), ("best_c", best_c), ("high_c", high_c), ("parts", parts)):
            object.__setattr__(self, name, value)

    low: ClassVar[View] = View(TEMPERATURE, "low_c", "Where gas begins.")
    best: ClassVar[View] = View(TEMPERATURE, "best_c", "Where it is fastest.")
    high: ClassVar[View] = View(TEMPERATURE, "high_c", "Where it ends.")

    @property
    def edges_c(self) -> tuple[float, float]:
        """The temperatures, °C, at and beyond which nothing happens."""
        return self.low_c, self.high_c

    @property
    def peak_c(self) -> float:
        """The temperature, °C, at which it is fastest."""
        return self.best_c

    def at(self, temperature_c: float) -> float:
        """Return the rate at a dough temperature, °C, relative to the fastest."""
        return cardinal_rate(temperature_c, self.low_c, self.best_c, self.high_c)

    def ramp_mean(self, start_c: float, end_c: float) -> float:
        """Return the mean rate while the temperature goes evenly from one to another, °C; in closed form."""
        scale, pole_c, linear, constant, inverse = self.parts
        if not scale:
            return Rate.ramp_mean(self, start_c, end_c)
        y0, y1 = start_c - pole_c, end_c - pole_c
        way = y1 - y0
        over_y = math.log1p(way / y0) / way if way else 1 / y0
        square = (y0 * y0 + y0 * y1 + y1 * y1) / 3
        return scale * (square + linear * (y0 + y1) / 2 + constant + inverse * over_y)

    def decay_sum(self, air_c: float, start_c: float, spans: float) -> float:
        """Return the rate summed up over time constants while a dough nears a room, °C; in closed form."""
        scale, pole_c, linear, constant, inverse = self.parts
        at_air = air_c - pole_c
        if not scale or abs(at_air) < 1:
            return Rate.decay_sum(self, air_c, start_c, spans)
        x0 = start_c - air_c
        way = -x0 * math.expm1(-spans)
        x1 = x0 - way
        last = inverse / at_air
        settled = at_air * (at_air + linear) + constant + last
        moving = way * (2 * at_air + linear + (x0 + x1) / 2) + last * math.log1p(-way / (at_air + x0))
        return scale * (settled * spans + moving)

    def step(self, symbol: str, name: str, temperature_c: float) -> Step:
        """Show the rate at a temperature as a step of a working."""
        low_c, high_c = self.edges_c
        if not low_c < temperature_c < high_c:
            return Step(
                symbol, symbol, {symbol: 0.0}, 0.0, "1", note="outside the curve nothing happens", units={symbol: "1"}
            )
        values = {name: temperature_c, "T_low": low_c, "T_best": self.best_c, "T_high": high_c}
        expression = (
            f"({name} - T_high) * ({name} - T_low) ** 2 / ((T_best - T_low) * ((T_best - T_low) * ({name} - T_best)"
            f" - (T_best - T_high) * (T_best + T_low - 2 * {name})))"
        )
        rate, units = self.at(temperature_c), dict.fromkeys(values, "°C")
        return Step(symbol, expression, values, rate, "1", _ROSSO, "rate, 1 at the best temperature", units)
