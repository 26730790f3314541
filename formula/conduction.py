"""Conduction: how fast heat finds its way out of a slab, a cylinder and a sphere, or into them.

Everything is said by the *excess*: the part of the first temperature difference between the body and the air that is
still there, 1 at the start and 0 in the end; T = air + (start - air) * excess.  A small body is at one temperature
throughout and its excess falls exponentially (see ``newton``).  In a larger one the excess is a series of such terms,
one for each root of the shape's own equation.  These are the kernels; ``course`` stands on them.

A *place* runs from 0, the core, to 1, the surface; None stands for the mean over the volume.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import product
from typing import Final, Literal, TypeAlias

from attrs import frozen

from .numeric import bessel, bracketed_root, gauss_legendre

__all__ = [
    "DIMENSIONS",
    "MOST_TERMS",
    "Axis",
    "Shape",
    "body_excess",
    "body_excess_integral_h",
    "coefficient",
    "eigenvalues",
    "excess",
    "modes",
    "terms_needed",
    "volume_nodes",
]

Shape: TypeAlias = Literal["slab", "cylinder", "sphere"]
Place: TypeAlias = float | None

DIMENSIONS: Final[tuple[tuple[Shape, int], ...]] = (("slab", 1), ("cylinder", 2), ("sphere", 3))
"""In how many directions heat leaves; volume over surface is half the thickness, or the radius, over this number."""
_POWER: Final[dict[Shape, int]] = {shape: count - 1 for shape, count in DIMENSIONS}

MOST_TERMS: Final = 128
"""Enough for Fourier numbers down to 2e-4; further terms are too small to tell, or too many to pay for."""
_STEADY_TERMS: Final = 32
"""Of a sum whose terms fall with the fourth power of their root."""
_SMALLEST_EXPONENT: Final = 30.0
"""A term of exp(-30) = 1e-13 of the whole is left out."""
_EARLIEST: Final = _SMALLEST_EXPONENT / (MOST_TERMS * math.pi) ** 2
"""The Fourier number below which ``MOST_TERMS`` do not do: there the skin alone has cooled, as if the body had no end."""


def _sine_excess(x: float) -> float:
    """Return sin x - x cos x, which near 0 is x³/3 and would be lost between two equal numbers."""
    if x >= 0.5:
        return math.sin(x) - x * math.cos(x)
    return sum((1 - k % 2 * 2) * (2 * k + 2) * x ** (2 * k + 3) / math.factorial(2 * k + 3) for k in range(8))


def _condition(shape: Shape, biot: float, x: float) -> float:
    """Return what is zero at an eigenvalue; below the first it is negative."""
    if shape == "slab":
        return x * math.sin(x) - biot * math.cos(x)
    if shape == "cylinder":
        j0, j1 = bessel(x)
        return x * j1 - biot * j0
    return (_sine_excess(x) - biot * math.sin(x)) / x if x else -biot


@lru_cache(maxsize=256)
def eigenvalues(shape: Shape, biot: float, count: int) -> tuple[float, ...]:
    """Return the first roots of a shape's equation, of which there is one between (n - 1) pi and n pi.

    Slab: x tan x = Bi; cylinder: x J1(x) / J0(x) = Bi; sphere: 1 - x cot x = Bi.

    Args:
        shape: "slab", "cylinder" or "sphere".
        biot: Bi = h L / k over half the thickness or the radius, above 0.
        count: how many.

    Accuracy: 1e-13 of the root for Bi from 1e-6 to 1e6.

    Example:
        >>> [round(root, 4) for root in eigenvalues("sphere", 1.0, 2)]
        [1.5708, 4.7124]
    """
    return tuple(
        bracketed_root(lambda x: _condition(shape, biot, x), number * math.pi, (number + 1) * math.pi)
        for number in range(count)
    )


def coefficient(shape: Shape, biot: float, eigenvalue: float) -> float:
    """Return the weight A of a term at the core.

    Slab: 2 sin x / (x + sin x cos x); cylinder: 2 J1 / (x (J0² + J1²)); sphere: 4 (sin x - x cos x) / (2 x - sin 2x),
    written so that it holds for the smallest bodies too.

    Args:
        shape: "slab", "cylinder" or "sphere".
        biot: Bi over half the thickness or the radius.
        eigenvalue: x, a root of the shape's equation for this Bi.

    Example:
        >>> round(coefficient("slab", 1.0, eigenvalues("slab", 1.0, 1)[0]), 4)
        1.1191
    """
    x = eigenvalue
    if shape == "slab":
        return 2 * math.sin(x) / (x + math.sin(x) * math.cos(x))
    if shape == "cylinder":
        j0, j1 = bessel(x)
        return 2 * j1 / (x * (j0**2 + j1**2))
    # By the equation, sin x - x cos x = Bi sin x.
    return 2 * biot * math.sin(x) / x * (x**2 + (biot - 1) ** 2) / (x**2 + biot**2 - biot)


def _profile(shape: Shape, x: float) -> float:
    """Return how a term varies from the core outwards."""
    if shape == "slab":
        return math.cos(x)
    if shape == "cylinder":
        return bessel(x)[0]
    return math.sin(x) / x if x else 1.0


def _mean_profile(shape: Shape, x: float) -> float:
    """Return the mean of the profile over the volume."""
    if shape == "slab":
        return math.sin(x) / x
    if shape == "cylinder":
        return 2 * bessel(x)[1] / x
    return 3 * _sine_excess(x) / x**3


def terms_needed(fourier: float) -> int:
    """Return how many terms hold more than 1e-13 of the whole: about sqrt(30 / Fo) / pi, at most ``MOST_TERMS``.

    Args:
        fourier: Fo = alpha t / L², above 0.

    Example:
        >>> terms_needed(0.2), terms_needed(5.0)
        (5, 2)
    """
    if fourier < _EARLIEST:
        return MOST_TERMS
    return min(MOST_TERMS, 1 + math.ceil(math.sqrt(_SMALLEST_EXPONENT / fourier) / math.pi))


@lru_cache(maxsize=512)
def modes(shape: Shape, biot: float, place: Place, count: int) -> tuple[tuple[float, float], ...]:
    """Return the terms of the series at a place: a weight and the rate at which it dies, per unit of Fourier number.

    Args:
        shape: "slab", "cylinder" or "sphere".
        biot: Bi over half the thickness or the radius.
        place: 0 at the core, 1 at the surface, None for the mean.
        count: how many terms.

    Example:
        >>> ((weight, rate),) = modes("slab", 1.0, 0.0, 1)
        >>> round(weight, 4), round(rate, 4)
        (1.1191, 0.7402)
    """
    found: list[tuple[float, float]] = []
    for root in eigenvalues(shape, biot, count):
        part = _mean_profile(shape, root) if place is None else _profile(shape, root * place)
        found.append((coefficient(shape, biot, root) * part, root**2))
    if place is None:
        # The weights of the mean are positive and sum to 1: what is missing goes to the last, which is soon gone.
        weight, rate = found[-1]
        found[-1] = (weight + 1 - math.fsum(weight for weight, _ in found), rate)
    return tuple(found)


def excess(shape: Shape, biot: float, fourier: float, place: Place = 0.0) -> float:
    """Return the excess at a place: the sum of A_n profile(x_n place) exp(-x_n² Fo), with as many terms as it needs.

    Args:
        shape: "slab" (endless, cooled on both faces), "cylinder" (endless) or "sphere".
        biot: Bi = h L / k over half the thickness or the radius L, above 0.
        fourier: Fo = alpha t / L², 0 or more.
        place: 0 at the core, 1 at the surface, None for the mean.

    Accuracy: 1e-12 of the first difference from Fo = 2e-4 on; before, 1e-6 times (1 + Bi) at a place and
    1e-8 times (1 + Bi²) in the mean.

    Example:
        >>> round(excess("sphere", 1.0, 0.5), 3), round(excess("sphere", 1.0, 0.5, 1.0), 3)
        (0.371, 0.236)
    """
    if fourier <= 0:
        return 1.0
    if fourier < _EARLIEST and place is not None:
        return _early(shape, biot, fourier, 1 - place)
    terms = modes(shape, biot, place, _count(fourier))
    return math.fsum(weight * math.exp(-rate * fourier) for weight, rate in terms)


def _count(fourier: float) -> int:
    """Return a power of two that is enough: doubled instead of fitted, the terms are found once and used again."""
    return 1 << max(3, (terms_needed(fourier) - 1).bit_length())


def _early(shape: Shape, biot: float, fourier: float, depth: float) -> float:
    """Return the excess while only the skin has cooled, the curvature of the surface counted to first order."""
    root = math.sqrt(fourier)
    z = depth / (2 * root)
    if z > 6:
        return 1.0
    power = _POWER[shape] / 2
    lowered = biot - power
    if abs(lowered) < 1e-4:
        lowered = 1e-4
    gone = math.erfc(z) - math.exp(-z * z) * _scaled_erfc(z + lowered * root)
    spread: float = (1 - depth) ** power
    return 1 - biot / lowered * gone / spread


def _scaled_erfc(x: float) -> float:
    """Return exp(x²) erfc(x), also where one of the two is beyond floats."""
    if x < 20:
        return math.exp(x * x) * math.erfc(x)
    y = 1 / (2 * x * x)
    return (1 - y * (1 - 3 * y * (1 - 5 * y * (1 - 7 * y)))) / (x * math.sqrt(math.pi))


@frozen
class Axis:
    """One direction in which a body loses heat: a shape, its Biot number and alpha / L², the Fourier number of an hour."""

    shape: Shape
    biot: float
    rate_per_h: float


def body_excess(axes: Sequence[Axis], places: Sequence[Place], time_h: float) -> float:
    """Return the excess of a body: the product over its axes; a cylinder with ends is a cylinder and a slab.

    Args:
        axes: the directions in which heat leaves.
        places: the place on each axis.
        time_h: h.

    Example:
        >>> round(body_excess([Axis("cylinder", 1.0, 1.0), Axis("slab", 2.0, 0.25)], [0.0, 0.0], 0.5), 4)
        0.5348
    """
    return math.prod(
        excess(axis.shape, axis.biot, axis.rate_per_h * time_h, place) for axis, place in zip(axes, places, strict=True)
    )


def body_excess_integral_h(axes: Sequence[Axis], places: Sequence[Place], time_h: float) -> float:
    """Return the integral of ``body_excess`` over time: by how much a body is warmer that warms itself by 1 K an hour.

    Heat set free evenly at a steady rate acts like a new start every moment, so that its effect is the sum of all the
    starts' excesses (Duhamel's theorem).

    Args:
        axes: the directions in which heat leaves.
        places: the place on each axis.
        time_h: h; infinite for the end.

    Accuracy: 1e-5 times (1 + Bi) of L² / alpha.

    Example:
        >>> round(body_excess_integral_h([Axis("slab", 2.0, 1.0)], [0.0], float("inf")), 4)
        1.0
    """
    if time_h <= 0:
        return 0.0
    return _steady_h(tuple(axes), tuple(places)) - _outlasting_h(axes, places, time_h)


@lru_cache(maxsize=256)
def _steady_h(axes: tuple[Axis, ...], places: tuple[Place, ...]) -> float:
    """Return the integral over all time, which is asked for again and again."""
    return _outlasting_h(axes, places, 0.0)


def _outlasting_h(axes: Sequence[Axis], places: Sequence[Place], time_h: float) -> float:
    """Return the integral from a time on to the end."""
    each: list[list[tuple[float, float]]] = []
    for axis, place in zip(axes, places, strict=True):
        fourier = axis.rate_per_h * time_h
        terms = modes(axis.shape, axis.biot, place, min(_STEADY_TERMS, _count(fourier) if fourier else _STEADY_TERMS))
        each.append([(weight, rate * axis.rate_per_h) for weight, rate in terms])
    total = 0.0
    for combination in product(*each):
        rate = math.fsum(rate for _, rate in combination)
        total += math.prod(weight for weight, _ in combination) * math.exp(-rate * time_h) / rate
    return total


@lru_cache(maxsize=64)
def volume_nodes(shape: Shape, count: int) -> tuple[tuple[float, float], ...]:
    """Return places along an axis with the share of the volume that each stands for (Gauss and Legendre's rule).

    Args:
        shape: "slab", "cylinder" or "sphere".
        count: how many places, 2 or more for a sphere.

    Example:
        >>> [(round(place, 4), round(share, 4)) for place, share in volume_nodes("sphere", 2)]
        [(0.2113, 0.067), (0.7887, 0.933)]
    """
    power = _POWER[shape]
    found = [(place, (power + 1) * weight * place**power) for place, weight in gauss_legendre(count)]
    # With few places the shares of a cylinder or sphere miss 1 by the rule's own error: none may be lost.
    total = math.fsum(share for _, share in found)
    return tuple((place, share / total) for place, share in found)
