"""Counting: whole pieces, even shares and loads, and weights on the steps of a scale.

Pieces, parts and loads are counts, so the arithmetic here is exact: 0.3 kg holds three pieces of 0.1 kg, whatever
binary fractions make of it.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Final, Literal

from .errors import cited
from .lines import Lines
from .quantity import MASS, Door, Measure, write
from .working import Caution, Step, shown

__all__ = [
    "READING",
    "Rounding",
    "even",
    "exact",
    "loads",
    "on_step",
    "read_choice",
    "read_count",
    "read_weight",
    "remainder_caution",
    "scaling_weight_g",
    "share_pieces",
    "short_scaling",
    "step_steps",
    "whole_pieces",
]

Rounding = Literal["up", "down", "nearest"]

_TO_STEP: Final[Lines[str]] = Lines({"up": "ceil(c)", "down": "floor(c)", "nearest": "floor(c + 0.5)"})
READING: Final = Fraction(1, 10**11)
"""Weights are read to 12 digits, so two of them agree to about this part; 64.5 oz is three times 21.5 oz."""


def exact(value: float) -> Fraction:
    """Return the decimal number that a float prints as."""
    return Fraction(repr(float(value)))


def whole_pieces(total_g: float, piece_g: float, read_g: float | None = None) -> tuple[int, float]:
    """Return how many whole pieces a dough holds and what is left, g: floor(total / piece), exactly.

    Both floats are taken as the decimal numbers they print as.  A last piece that is short by no more than the reading
    of the weights (a part in 10^11 of the dough) counts as whole, and a remainder as small as that is none.

    Args:
        total_g: the dough, g.
        piece_g: one piece, g, more than zero.
        read_g: what was read where ``total_g`` is only what is left of it, g: its last digit is the one that counts.

    Example:
        >>> whole_pieces(0.3, 0.1)
        (3, 0.0)
    """
    total, piece = exact(total_g), exact(piece_g)
    slack = (total if read_g is None else exact(read_g)) * READING
    pieces = (total + slack) // piece
    remainder = total - pieces * piece
    return pieces, float(remainder) if remainder > slack else 0.0


def share_pieces(pieces: int, parts: int) -> tuple[int, ...]:
    """Share pieces out over mixes, shifts or vans as evenly as whole pieces allow; the larger parts come first.

    Args:
        pieces: how many there are, 0 or more.
        parts: over how many parts, 1 or more.

    Raises:
        QuantityError: when one of them is no such whole number.

    Example:
        >>> share_pieces(400, 3)
        (134, 133, 133)
    """
    with Door() as door:
        read_count(door, pieces, "pieces", 0)
        read_count(door, parts, "parts", 1)
    each, over = divmod(pieces, parts)
    return (each + 1,) * over + (each,) * (parts - over)


def loads(pieces: int, capacity: int) -> int:
    """Return how many loads (of an oven, a trolley, a divider's pocket) hold all the pieces: ceil(pieces / capacity).

    Args:
        pieces: how many there are, 0 or more.
        capacity: how many one load holds, 1 or more.

    Raises:
        QuantityError: when one of them is no such whole number.

    Example:
        >>> loads(8000, 56)
        143
    """
    with Door() as door:
        read_count(door, pieces, "pieces", 0)
        read_count(door, capacity, "capacity", 1)
    return -(-pieces // capacity)


def even(value: float) -> float:
    """Return the whole number that a quotient misses by a hair, so that rounding does not make it one more or less.

    Example:
        >>> even((0.1 + 0.2) / 0.1), even(2.5)
        (3.0, 2.5)
    """
    return float(round(value)) if abs(value - round(value)) < 1e-9 else value


def on_step(amount: float, step: float, rounding: Rounding = "up") -> float:
    """Return an amount on a whole number of a scale's steps; what misses a step by a hair is on it.

    Args:
        amount: what is to be weighed.
        step: the scale's step, in the same unit, more than zero.
        rounding: "up", "down" or "nearest" (halves up).

    Example:
        >>> on_step(917.1, 5.0), on_step(917.1, 5.0, "down"), on_step(917.1, 5.0, "nearest")
        (920.0, 915.0, 915.0)
    """
    count = even(amount / step)
    if rounding == "nearest":
        count += 0.5
    return round((math.ceil(count) if rounding == "up" else math.floor(count)) * step, 9)


def step_steps(name: str, amount_g: float, step_g: float, rounding: Rounding = "up") -> tuple[Step, Step]:
    """Show how a weight comes onto the scale's steps; the second step is the weight that the scale shows.

    Args:
        name: what the weight before it is called in the working.
        amount_g: that weight, g.
        step_g: the scale's step, g.
        rounding: "up", "down" or "nearest".
    """
    count = even(amount_g / step_g)
    values = {name: amount_g, "scale_step": step_g}
    note = "in steps of the divider's scale"
    first = Step("c", f"{name} / scale_step", values, count, "", note=note, units=dict.fromkeys(values, "g"))
    values = {"c": count, "scale_step": step_g}
    shown_g = on_step(amount_g, step_g, rounding)
    expression, units = f"{_TO_STEP[rounding]} * scale_step", {"scale_step": "g"}
    return first, Step("piece", expression, values, shown_g, "g", note="what the scale shows", units=units)


def read_count(door: Door, value: object, where: str, least: int) -> int:
    """Read a count as a plain whole number; a bad one is noted and answered with ``least``."""
    if isinstance(value, bool) or not isinstance(value, int) or value < least:
        door.refuse(where, cited(value), f"a whole number of {least} or more")
        return least
    return value


def read_weight(door: Door, value: Measure, where: str) -> float:
    """Read a mass that must be above zero; a bad one is noted and answered with NaN."""
    grams = door.read(MASS, value, where)
    if grams == 0:
        door.refuse(where, write(MASS, grams), "a mass above zero")
        return math.nan
    return grams


def read_choice(door: Door, value: str, where: str, choices: tuple[str, ...]) -> None:
    """Note a word that is none of the choices."""
    if value not in choices:
        door.refuse(where, cited(value), f"one of {', '.join(map(repr, choices))}")


def scaling_weight_g(door: Door, asked_g: float, step_g: float, rounding: Rounding, where: str = "piece") -> float:
    """Put a piece on the scale's step, if there is one; one that rounds to nothing is noted and answered with NaN."""
    if not step_g or math.isnan(step_g) or math.isnan(asked_g):
        return asked_g
    piece_g = on_step(asked_g, step_g, rounding)
    if piece_g == 0:
        got = f"{write(MASS, asked_g)}, which rounds to nothing"
        door.refuse(where, got, f"at least a step of the scale, {write(MASS, step_g)}", "use a finer scale")
        return math.nan
    return piece_g


def short_scaling(asked_g: float, piece_g: float, name: str = "the piece") -> tuple[Caution, ...]:
    """Warn of a piece that its rounding makes lighter than asked."""
    if piece_g >= asked_g * (1 - 1e-12):
        return ()
    text = (
        f"{name} is scaled {shown(asked_g - piece_g)} g lighter than asked: the bread may be short of its promised"
        " weight, which the law of the place decides; rounding up leaves none short"
    )
    return (Caution("scaled-short", text),)


def remainder_caution(remainder_g: float) -> Caution:
    """Say that dough is left over, so that it is never dropped in silence."""
    text = f"{shown(remainder_g)} g of dough is left over: spread it over the pieces, or use it up elsewhere."
    return Caution("remainder", text)
