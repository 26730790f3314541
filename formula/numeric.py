"""Numerical tools that know nothing of baking: a bracketed search, a rule of integration, Bessel functions.

They are short and exact to the last digits of a float, so that the library needs no numerical package.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache
from typing import Final

__all__ = ["bessel", "bracketed_root", "gauss_legendre", "integral"]


def bracketed_root(function: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function passes zero between two ends at which it has different signs (Chandrupatla, 1997).

    Args:
        function: a continuous function.
        low: one end.
        high: the other end.

    Accuracy: the last digit or two of a float.

    Example:
        >>> round(bracketed_root(lambda x: x * x - 2, 0.0, 2.0), 12)
        1.414213562373
    """
    a, b = high, low
    at_a, at_b = function(a), function(b)
    if at_a == 0 or at_b == 0:
        return a if at_a == 0 else b
    best, part = b, 0.5
    for _ in range(200):
        x = a + part * (b - a)
        at_x = function(x)
        if (at_x > 0) == (at_a > 0):
            c, at_c = a, at_a
        else:
            c, b, at_c, at_b = b, a, at_b, at_a
        a, at_a = x, at_x
        best, at_best = (a, at_a) if abs(at_a) < abs(at_b) else (b, at_b)
        least = 4e-16 * abs(best) / abs(b - a) if b != a else 1.0
        if at_best == 0 or least > 0.5:
            return best
        xi, phi = (a - b) / (c - b), (at_a - at_b) / (at_c - at_b)
        if phi**2 < xi and (1 - phi) ** 2 < 1 - xi:
            part = at_a / (at_b - at_a) * at_c / (at_b - at_c)
            part += (c - a) / (b - a) * at_a / (at_c - at_a) * at_b / (at_c - at_b)
        else:
            part = 0.5
        part = min(1 - least, max(least, part))
    return best


@lru_cache(maxsize=64)
def gauss_legendre(count: int) -> tuple[tuple[float, float], ...]:
    """Return the places and weights of Gauss and Legendre's rule from 0 to 1, exact for powers up to 2 count - 1.

    Args:
        count: how many places, 1 to 100.

    Accuracy: 1e-14.

    Example:
        >>> round(sum(weight * place**3 for place, weight in gauss_legendre(2)), 12)
        0.25
    """
    found: list[tuple[float, float]] = []
    for number in range(count):
        x = math.cos(math.pi * (number + 0.75) / (count + 0.5))
        slope = step = 1.0
        # Newton's way, from a place so near that it never strays.
        while abs(step) >= 1e-15:
            value, before = x, 1.0
            for degree in range(2, count + 1):
                value, before = ((2 * degree - 1) * x * value - (degree - 1) * before) / degree, value
            slope = count * (x * value - before) / (x * x - 1)
            step = value / slope
            x -= step
        found.append(((1 - x) / 2, 1 / ((1 - x * x) * slope * slope)))
    return tuple(found)


def integral(function: Callable[[float], float], low: float, high: float) -> float:
    """Return the integral of a smooth function by Gauss and Legendre's rule, halved until two orders agree to 1e-11.

    Args:
        function: what is summed up, smooth between the ends.
        low: the lower end.
        high: the upper end.

    Example:
        >>> round(integral(lambda x: x**3, 0.0, 2.0), 12)
        4.0
    """

    def rule(count: int, at: float, to: float) -> float:
        return (to - at) * math.fsum(weight * function(at + (to - at) * x) for x, weight in gauss_legendre(count))

    whole = abs(rule(16, low, high))
    waiting, parts = [(low, high, 0)], list[float]()
    while waiting:
        at, to, depth = waiting.pop()
        fine = rule(16, at, to)
        off = abs(fine - rule(9, at, to))
        if off <= 1e-11 * abs(fine) or off <= 1e-13 * whole or depth > 40:
            parts.append(fine)
        else:
            middle = (at + to) / 2
            waiting += [(at, middle, depth + 1), (middle, to, depth + 1)]
    return math.fsum(parts)


# The middles of 32 equal parts; half of them, as the others mirror them.
_SINES: Final = tuple(math.sin(math.pi * (place + 0.5) / 32) for place in range(16))


def bessel(x: float) -> tuple[float, float]:
    """Return the Bessel functions J0(x) and J1(x).

    Up to 25 by Bessel's integral, J0 = mean of cos(x sin t) and J1 = mean of sin t sin(x sin t), with the midpoint rule,
    which converges faster than any power for a periodic function; beyond by Hankel's expansion.

    Args:
        x: 0 or more.

    Accuracy: 1e-14 up to 1000.

    Example:
        >>> abs(bessel(2.404825557695773)[0]) < 1e-14
        True
    """
    if x < 25:
        return (
            sum(math.cos(x * sine) for sine in _SINES) / 16,
            sum(sine * math.sin(x * sine) for sine in _SINES) / 16,
        )
    return _hankel(0, x), _hankel(1, x)


def _hankel(order: int, x: float) -> float:
    term, even, odd = 1.0, 1.0, 0.0
    for k in range(1, 21):
        term *= (4 * order**2 - (2 * k - 1) ** 2) / (8 * k * x)
        if k % 2:
            odd += term if k % 4 == 1 else -term
        else:
            even += term if k % 4 == 0 else -term
    angle = x - (order / 2 + 0.25) * math.pi
    return math.sqrt(2 / (math.pi * x)) * (even * math.cos(angle) - odd * math.sin(angle))
