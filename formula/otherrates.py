"""Other rates than the default: a constant Q10, the square law, and a function of your own.

The table in ``rates`` says how well each does against what is printed.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from typing import ClassVar, Final, cast

from attrs import field, frozen

from .errors import Fault, FormulaError, QuantityError
from .quantity import DIFFERENCE, TEMPERATURE, Door, Measure, View, read, write
from .rates import Rate
from .working import Step, shown

__all__ = ["Q10", "OwnRate", "SquareLaw", "q10_rate", "square_rate"]

_Q10: Final = "ten-percent-a-degree"
_SQUARE: Final = "impasto-perfetto"


def q10_rate(temperature_c: float, q10: float) -> float:
    """Return the rate relative to that at 0 °C where it grows by the same factor with every 10 K: k = q10 ** (T / 10).

    Args:
        temperature_c: T, the dough's temperature, °C; numpy arrays pass through.
        q10: the factor for 10 K, above 1.

    Example:
        >>> q10_rate(30.0, 2.0)
        8.0
    """
    rate: float = q10 ** (temperature_c / 10)
    return rate


def square_rate(temperature_c: float, low_c: float) -> float:
    """Return the rate of the square law: k = (T - Tl)^2, and zero below Tl.

    Args:
        temperature_c: T, the dough's temperature, °C; a single number, because the curve has a beginning.
        low_c: Tl, where it begins, °C.

    Source: a handbook's formula for yeast, dose = 100000 / (hydration T^2 hours), said to hold from 5 °C.

    Example:
        >>> square_rate(24.0, 0.0) / square_rate(16.0, 0.0)
        2.25
    """
    return (temperature_c - low_c) ** 2 if temperature_c > low_c else 0.0


def _q10(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not 1 < value <= 100:
        fix = "2 to 2.6 is usual; 10 % a degree is 2.59"
        raise FormulaError(Fault("factor", repr(value), "a number above 1, at most 100", fix))
    return float(value)


@frozen
class Q10(Rate):
    """A rate that grows by the same factor with every 10 K: k = factor ** (T / 10).

    Args:
        factor: a plain number above 1: 2 (twice for 10 K), 2.59 (10 % a degree).

    Range and accuracy: good for a few degrees around the temperature it was found at, about 15 to 30 °C.  A constant
    factor overstates fermentation in the cold 3 to 5 times, and it knows no best temperature.

    Example:
        >>> Q10(2.0).at(30.0) / Q10(2.0).at(20.0)
        2.0
    """

    source: ClassVar[str] = _Q10
    has_spread: ClassVar[bool] = True
    factor: float = field(default=2.0, converter=_q10)

    @classmethod
    def doubling(cls, difference: Measure) -> Q10:
        """Make the rate that doubles with every such difference, for example "17 °F".

        Raises:
            QuantityError: when it is no difference above zero.

        Example:
            >>> round(Q10.doubling("17 °F").factor, 2)
            2.08
        """
        difference_k = read(DIFFERENCE, difference, "difference")
        if difference_k <= 0:
            raise QuantityError(Fault("difference", write(DIFFERENCE, difference_k), "a difference above zero"))
        return cls(2 ** (10 / difference_k))

    @property
    def edges_c(self) -> tuple[float, float]:
        """It has none."""
        return -math.inf, math.inf

    @property
    def peak_c(self) -> float:
        """It has none."""
        return math.inf

    def at(self, temperature_c: float) -> float:
        """Return the rate at a dough temperature, °C, relative to that at 0 °C."""
        return q10_rate(temperature_c, self.factor)

    def ramp_mean(self, start_c: float, end_c: float) -> float:
        """Return the mean rate while the temperature goes evenly from one to another, °C: the logarithmic mean."""
        growth = math.log(self.factor) * (end_c - start_c) / 10
        return self.at(start_c) * (math.expm1(growth) / growth if growth else 1.0)

    def step(self, symbol: str, name: str, temperature_c: float) -> Step:
        """Show the rate at a temperature as a step of a working."""
        values = {"Q": self.factor, name: temperature_c}
        return Step(
            symbol,
            f"Q ** ({name} / 10)",
            values,
            self.at(temperature_c),
            "1",
            _Q10,
            "rate, 1 at 0 °C",
            {"Q": "1", name: "°C"},
        )


@frozen(init=False)
class SquareLaw(Rate):
    """A rate that grows with the square of the temperature above ``low``: k = (T - low)^2.

    Args:
        low: where it begins, 0 °C by default.

    Range and accuracy: 5 to 30 °C; 9 % above the curve for gas between 16 and 24 °C, a quarter below printed ratios in
    the cold.  It knows no best temperature.

    Example:
        >>> SquareLaw().at(24.0) / SquareLaw().at(16.0)
        2.25
    """

    source: ClassVar[str] = _SQUARE
    has_spread: ClassVar[bool] = True
    low_c: float

    def __init__(self, low: Measure = "0 °C") -> None:
        """Read the temperature."""
        object.__setattr__(self, "low_c", read(TEMPERATURE, low, "low"))

    low: ClassVar[View] = View(TEMPERATURE, "low_c", "Where it begins.")

    @property
    def edges_c(self) -> tuple[float, float]:
        """The temperature, °C, where it begins; it has no end."""
        return self.low_c, math.inf

    @property
    def peak_c(self) -> float:
        """It has none."""
        return math.inf

    def at(self, temperature_c: float) -> float:
        """Return the rate at a dough temperature, °C, in squares of a kelvin."""
        return square_rate(temperature_c, self.low_c)

    def ramp_mean(self, start_c: float, end_c: float) -> float:
        """Return the mean rate while the temperature goes evenly from one to another, °C; in closed form."""
        a, b = start_c - self.low_c, end_c - self.low_c
        return (a * a + a * b + b * b) / 3

    def decay_sum(self, air_c: float, start_c: float, spans: float) -> float:
        """Return the rate summed up over time constants while a dough nears a room, °C; in closed form."""
        air, excess = air_c - self.low_c, start_c - air_c
        return air * air * spans - 2 * air * excess * math.expm1(-spans) - excess * excess / 2 * math.expm1(-2 * spans)

    def step(self, symbol: str, name: str, temperature_c: float) -> Step:
        """Show the rate at a temperature as a step of a working."""
        if temperature_c <= self.low_c:
            return Step(
                symbol, symbol, {symbol: 0.0}, 0.0, "1", note="below the curve nothing happens", units={symbol: "1"}
            )
        values = {name: temperature_c, "T_low": self.low_c}
        units = dict.fromkeys(values, "°C")
        rate = self.at(temperature_c)
        return Step(symbol, f"({name} - T_low) ** 2", values, rate, "1", _SQUARE, "relative rate", units)


def _checked(function: object) -> Callable[[float], float]:
    """Refuse what could not be pickled or is no rate."""
    where = "function"
    name = getattr(function, "__qualname__", "")
    module = sys.modules.get(getattr(function, "__module__", None) or "")
    found: object = module
    for part in name.split("."):
        found = getattr(found, part, None)
    if not callable(function) or not name or found is not function:
        fix = "write it with def at the top of a module, so that results can be stored and sent to other processes"
        got = f"the function {name}" if name else f"an object of type {type(function).__name__}"
        raise FormulaError(Fault(where, got, "a function of a module", fix))
    return cast("Callable[[float], float]", function)


def _rate_of(function: Callable[[float], float], temperature_c: float) -> float:
    try:
        found = cast("object", function(temperature_c))
    except Exception as error:
        got = f"{type(error).__name__} at {shown(temperature_c)} °C: {error}"
        raise FormulaError(Fault("function", got, "a rate for every temperature between its edges")) from error
    if isinstance(found, bool) or not isinstance(found, (int, float)) or not 0 <= found < math.inf:
        got = f"{found!r} at {shown(temperature_c)} °C"
        raise FormulaError(Fault("function", got, "a rate: a finite number of 0 or more", "mend the function"))
    return float(found)


@frozen(init=False)
class OwnRate(Rate):
    """A rate of your own: a function of the dough's temperature in °C that returns a number of 0 or more.

    Args:
        function: takes a temperature in °C and returns a relative rate; it stands at the top of a module, so that it can
            be pickled, and should be smooth between the edges.
        low: where it begins; the function is not asked there and below, 0 °C by default.
        high: where it ends, 48 °C by default.

    Raises:
        FormulaError: a function that is none, stands inside another, or returns no rate at one of 201 temperatures.

    The best temperature is sought among these 201, then between its neighbours.  How far it may be off is yours to
    judge: results with it carry no spread for the temperature.

    Example:
        >>> import math
        >>> round(OwnRate(math.exp, low="0 °C", high="40 °C").at(1.0), 3)
        2.718
    """

    source: ClassVar[str] = ""
    function: Callable[[float], float]
    low_c: float
    high_c: float
    peak_found_c: float

    def __init__(self, function: Callable[[float], float], low: Measure = "0 °C", high: Measure = "48 °C") -> None:
        """Read the edges and try the function out."""
        with Door() as door:
            low_c = door.read(TEMPERATURE, low, "low")
            high_c = door.read(TEMPERATURE, high, "high")
            if not door.faults and low_c >= high_c:
                got = f"{write(TEMPERATURE, low_c)} and {write(TEMPERATURE, high_c)}"
                door.refuse("low, high", got, "low below high")
        checked = _checked(function)
        step_k = (high_c - low_c) / 202
        places = [low_c + step_k * number for number in range(1, 202)]
        rates = [_rate_of(checked, place) for place in places]
        if not any(rates):
            raise FormulaError(Fault("function", "0 everywhere", "a rate above zero somewhere between low and high"))
        peak_c = places[rates.index(max(rates))]
        for _ in range(40):
            # A ternary search: the curve is taken to have one top between the neighbours of the best place.
            step_k *= 2 / 3
            peak_c = max(
                (peak_c - step_k, peak_c, peak_c + step_k), key=lambda place: _or_nothing(checked, place, low_c, high_c)
            )
        if rates[-1] == max(rates):
            peak_c = high_c
        for name, value in (("function", checked), ("low_c", low_c), ("high_c", high_c), ("peak_found_c", peak_c)):
            object.__setattr__(self, name, value)

    low: ClassVar[View] = View(TEMPERATURE, "low_c", "Where it begins.")
    high: ClassVar[View] = View(TEMPERATURE, "high_c", "Where it ends.")

    @property
    def edges_c(self) -> tuple[float, float]:
        """The temperatures, °C, at and beyond which nothing happens."""
        return self.low_c, self.high_c

    @property
    def peak_c(self) -> float:
        """The temperature, °C, at which it is fastest."""
        return self.peak_found_c

    def at(self, temperature_c: float) -> float:
        """Return the relative rate at a dough temperature, °C."""
        return _or_nothing(self.function, temperature_c, self.low_c, self.high_c)


def _or_nothing(function: Callable[[float], float], temperature_c: float, low_c: float, high_c: float) -> float:
    return _rate_of(function, temperature_c) if low_c < temperature_c < high_c else 0.0
