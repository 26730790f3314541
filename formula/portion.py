"""Dividing: whole pieces from a dough, and what is left over.

Pieces, parts and loads are counts, so the arithmetic here is exact: 0.3 kg holds three pieces of 0.1 kg, whatever
binary fractions make of it.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from attrs import frozen

from .errors import Fault, QuantityError
from .quantity import MASS, Door, Measure, View, write
from .working import Caution, Step, Working, shown

__all__ = ["Division", "divide", "loads", "share_pieces", "whole_pieces"]

READING: Final = Fraction(1, 10**11)
"""Weights are read to 12 digits, so two of them agree to about this part; 64.5 oz is three times 21.5 oz."""


def whole_pieces(total_g: float, piece_g: float) -> tuple[int, float]:
    """Return how many whole pieces a dough holds and what is left, g: floor(total / piece), exactly.

    Both floats are taken as the decimal numbers they print as.  A last piece that is short by no more than the reading
    of the weights (a part in 10^11 of the dough) counts as whole, and a remainder as small as that is none.

    Args:
        total_g: the dough, g.
        piece_g: one piece, g, more than zero.

    Example:
        >>> whole_pieces(0.3, 0.1)
        (3, 0.0)
    """
    total, piece = Fraction(repr(float(total_g))), Fraction(repr(float(piece_g)))
    slack = total * READING
    pieces = (total + slack) // piece
    remainder = total - pieces * piece
    return pieces, float(remainder) if remainder > slack else 0.0


@frozen
class Division:
    """A dough divided: ``pieces`` of one weight and the ``remainder``."""

    dough_g: float
    piece_g: float
    pieces: int
    remainder_g: float
    cautions: tuple[Caution, ...] = ()

    dough = View(MASS, "dough_g", "The dough to divide.")
    piece = View(MASS, "piece_g", "The weight of one piece.")
    remainder = View(MASS, "remainder_g", "The dough that is left over.")

    def working(self) -> Working:
        """Show the steps; the last line is the number of pieces."""
        quotient = self.pieces + self.remainder_g / self.piece_g
        values = {"dough": self.dough_g, "piece": self.piece_g}
        count = {"n": quotient}
        left = "dough - floor(n) * piece"
        steps = (
            Step("n", "dough / piece", values, quotient, ""),
            Step("remainder", left, values | count, self.remainder_g, "g", note="what is left over"),
            Step("pieces", "floor(n)", count, float(self.pieces), "", note="whole pieces"),
        )
        return Working("Dividing", steps, self.cautions)


def divide(dough: Measure, *, piece: Measure) -> Division:
    """Divide a dough into whole pieces: pieces = floor(dough / piece).

    Args:
        dough: the dough as it comes to the divider, a mass.
        piece: the weight of one piece on the divider's scale, a mass above zero.

    Returns:
        ``pieces`` and the ``remainder``, which a caution names if there is one.

    Raises:
        QuantityError: a bad mass, a piece of nothing, or a piece heavier than the dough.

    Accuracy: exact for the weights as they are read, to 12 digits.

    Example:
        >>> made = divide("62 kg", piece="1.5 kg")
        >>> made.pieces, made.remainder_g
        (41, 500.0)
    """
    with Door() as door:
        dough_g = door.read(MASS, dough, "dough")
        piece_g = door.read(MASS, piece, "piece")
        if piece_g == 0:
            door.refuse("piece", write(MASS, piece_g), "a mass above zero", "give the weight of one piece")
        elif not door.faults and whole_pieces(dough_g, piece_g)[0] == 0:
            expected = f"no more than the dough, {write(MASS, dough_g)}"
            door.refuse("piece", write(MASS, piece_g), expected, "make lighter pieces or more dough")
    pieces, remainder_g = whole_pieces(dough_g, piece_g)
    found: tuple[Caution, ...] = ()
    if remainder_g:
        text = f"{shown(remainder_g)} g of dough is left over: spread it over the pieces, or use it up elsewhere."
        found = (Caution("remainder", text),)
    return Division(dough_g=dough_g, piece_g=piece_g, pieces=pieces, remainder_g=remainder_g, cautions=found)


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
    _check_counts(pieces=(pieces, 0), parts=(parts, 1))
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
    _check_counts(pieces=(pieces, 0), capacity=(capacity, 1))
    return -(-pieces // capacity)


def _check_counts(**counts: tuple[int, int]) -> None:
    faults = [
        Fault(where, repr(value), f"a whole number of {least} or more")
        for where, (value, least) in counts.items()
        if isinstance(value, bool) or not isinstance(value, int) or value < least  # pyright: ignore[reportUnnecessaryIsInstance]
    ]
    if faults:
        raise QuantityError(*faults)
