"""Dividing: whole pieces from a dough, on the steps of the scale, and what becomes of the dough that is left over."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar, Final, Literal, get_args

from attrs import frozen

from .counting import (
    Rounding,
    read_choice,
    read_weight,
    remainder_caution,
    scaling_weight_g,
    short_scaling,
    step_steps,
    whole_pieces,
)
from .lines import Lines
from .quantity import MASS, Door, Measure, View, write
from .readerunits import with_units
from .working import Caution, Step, Working, shown

__all__ = ["Division", "Portion", "Remainder", "divide"]

Remainder = Literal["report", "spread", "old dough", "odd piece"]

_LEFT: Final[Lines[str]] = Lines(
    {
        "report": "what is left over",
        "spread": "to spread over the pieces",
        "old dough": "held as old dough",
        "odd piece": "one odd piece",
    }
)


@frozen
class Portion:
    """Some pieces of one weight."""

    pieces: int
    piece_g: float

    piece: ClassVar[View] = View(MASS, "piece_g", "The weight of one of them on the divider's scale.")


@frozen
class Division:
    """A dough divided: ``pieces`` whole pieces, what lies on the bench as ``portions``, and the ``remainder``.

    ``asked_g`` is the piece asked for and ``piece_g`` what the divider's scale shows: on the scale's step, and with the
    remainder spread the new weight (some pieces may be one step heavier).  ``portions`` holds all pieces, the heaviest
    first, an odd piece last: their weights and ``remainder_g`` make the dough.
    """

    dough_g: float
    piece_g: float
    pieces: int
    remainder_g: float
    asked_g: float
    portions: tuple[Portion, ...]
    step_g: float = 0.0
    rounding: Rounding = "up"
    choice: Remainder = "report"
    cautions: tuple[Caution, ...] = ()

    dough: ClassVar[View] = View(MASS, "dough_g", "The dough to divide.")
    piece: ClassVar[View] = View(MASS, "piece_g", "The scaling weight: what the divider's scale shows for a piece.")
    remainder: ClassVar[View] = View(MASS, "remainder_g", "The dough that is left over.")
    asked: ClassVar[View] = View(MASS, "asked_g", "The weight of a piece as it was asked for.")
    step: ClassVar[View] = View(MASS, "step_g", "The step of the divider's scale; 0 if it shows any weight.")
    drift: ClassVar[View] = View(MASS, "drift_g", "How much heavier than asked a piece is scaled.")

    @property
    def drift_g(self) -> float:
        """How much heavier (or, below zero, lighter) than asked a piece is scaled."""
        return self.piece_g - self.asked_g

    def working(self) -> Working:
        """Show the steps; the last line is the number of pieces or, with a remainder spread, the new piece weight."""
        steps: list[Step] = []
        piece_g = self.asked_g
        if self.step_g:
            steps += step_steps("asked", self.asked_g, self.step_g, self.rounding)
            piece_g = steps[-1].value
        left_g = whole_pieces(self.dough_g, piece_g)[1]
        # What is no remainder but only the last digit of the reading is shown as the sum gives it.
        shown_g = left_g or self.dough_g - self.pieces * piece_g
        quotient = self.pieces + left_g / piece_g
        values = {"dough": self.dough_g, "piece": piece_g}
        count = {"n": quotient}
        steps += (
            Step("n", "dough / piece", values, quotient, ""),
            Step("remainder", "dough - floor(n) * piece", values | count, shown_g, "g", note=_LEFT[self.choice]),
            Step("pieces", "floor(n)", count, float(self.pieces), "", note="whole pieces"),
        )
        if self.choice == "spread" and left_g:
            steps += self._spread_steps(piece_g, left_g)
        return Working("Dividing", with_units(steps, {"g": "dough piece scale_step"}), self.cautions)

    def _spread_steps(self, piece_g: float, left_g: float) -> Iterator[Step]:
        values = {"piece": piece_g, "remainder": left_g, "pieces": float(self.pieces)}
        if not self.step_g:
            note = "the remainder spread over the pieces"
            yield Step("new_piece", "piece + remainder / pieces", values, self.piece_g, "g", note=note)
            return
        over, stays_g = whole_pieces(left_g, self.step_g, self.dough_g)
        more, heavier = divmod(over, self.pieces)
        k = over + stays_g / self.step_g
        yield Step("k", "remainder / scale_step", {"remainder": left_g, "scale_step": self.step_g}, k, "")
        values = {"k": k, "pieces": float(self.pieces)}
        note = "whole steps for every piece"
        yield Step("more", "floor(floor(k) / pieces)", values, float(more), "", note=note)
        note = "pieces that take one step more"
        yield Step("heavier", "floor(k) - more * pieces", values | {"more": float(more)}, float(heavier), "", note=note)
        values = {"remainder": left_g, "k": k, "scale_step": self.step_g}
        yield Step("stays", "remainder - floor(k) * scale_step", values, self.remainder_g, "g", note="less than a step")
        values = {"piece": piece_g, "more": float(more), "scale_step": self.step_g}
        yield Step("new_piece", "piece + more * scale_step", values, self.piece_g, "g", note="the lighter pieces")


def divide(
    dough: Measure,
    *,
    piece: Measure,
    step: Measure | None = None,
    rounding: Rounding = "up",
    remainder: Remainder = "report",
) -> Division:
    """Divide a dough into whole pieces: pieces = floor(dough / piece).

    Args:
        dough: the dough as it comes to the divider, a mass.
        piece: the weight of one piece on the divider's scale, a mass above zero.
        step: the step of the divider's scale, to which the piece is rounded; left out, it shows any weight.
        rounding: how it is rounded: "up" (no piece is short), "nearest" or "down".
        remainder: what becomes of the dough left over.  "report": it is told, no more.  "spread": it goes onto the
            pieces, in whole steps if there is a step, so that some pieces are one step heavier.  "old dough": it is held
            for a later dough.  "odd piece": it is scaled as one piece of its own weight.

    Returns:
        ``pieces``, ``piece`` as the scale shows it, all ``portions`` and the ``remainder``; a caution tells what was
        done with it.

    Raises:
        QuantityError: a bad mass, a piece or step of nothing, a piece that rounds to nothing or is heavier than the
            dough, an unknown choice; all at once.

    Accuracy: exact for the weights as they are read, to 12 digits.

    Example:
        >>> made = divide("62 kg", piece="1.5 kg")
        >>> made.pieces, made.remainder_g
        (41, 500.0)
        >>> spread = divide("62 kg", piece="1.5 kg", step="5 g", remainder="spread")
        >>> [(portion.pieces, portion.piece_g) for portion in spread.portions], spread.remainder_g
        ([(18, 1515.0), (23, 1510.0)], 0.0)
    """
    with Door() as door:
        dough_g = door.read(MASS, dough, "dough")
        asked_g = read_weight(door, piece, "piece")
        step_g = 0.0 if step is None else read_weight(door, step, "step")
        read_choice(door, rounding, "rounding", get_args(Rounding))
        read_choice(door, remainder, "remainder", get_args(Remainder))
        piece_g = scaling_weight_g(door, asked_g, step_g, rounding)
        if not door.faults and whole_pieces(dough_g, piece_g)[0] == 0:
            expected = f"no more than the dough, {write(MASS, dough_g)}"
            door.refuse("piece", write(MASS, piece_g), expected, "make lighter pieces or more dough")
    pieces, left_g = whole_pieces(dough_g, piece_g)
    portions, remainder_g = _portions(dough_g, pieces, piece_g, left_g, step_g, remainder)
    new_g = portions[-1].piece_g if remainder == "spread" else piece_g
    return Division(
        dough_g=dough_g,
        piece_g=new_g,
        pieces=pieces,
        remainder_g=remainder_g,
        asked_g=asked_g,
        portions=portions,
        step_g=step_g,
        rounding=rounding,
        choice=remainder,
        cautions=(*short_scaling(asked_g, piece_g), *_about(left_g, pieces, remainder, remainder_g)),
    )


def _portions(
    dough_g: float, pieces: int, piece_g: float, left_g: float, step_g: float, choice: Remainder
) -> tuple[tuple[Portion, ...], float]:
    """Lay out the pieces, and say what stays over."""
    if choice == "odd piece" and left_g:
        return (Portion(pieces, piece_g), Portion(1, left_g)), 0.0
    if choice != "spread":
        return (Portion(pieces, piece_g),), left_g
    if not step_g:
        return (Portion(pieces, piece_g + left_g / pieces),), 0.0
    over, stays_g = whole_pieces(left_g, step_g, dough_g)
    more, heavier = divmod(over, pieces)
    light_g = round(piece_g + more * step_g, 9)
    found = (Portion(heavier, round(light_g + step_g, 9)), Portion(pieces - heavier, light_g))
    return tuple(portion for portion in found if portion.pieces), stays_g


def _about(left_g: float, pieces: int, choice: Remainder, stays_g: float) -> tuple[Caution, ...]:
    """Say what becomes of the remainder."""
    if not left_g:
        return ()
    left = f"{shown(left_g)} g of dough"
    if choice == "report" or (stays_g == left_g and choice == "spread"):
        return (remainder_caution(left_g),)
    if choice == "old dough":
        text = (
            f"{left} is held as old dough: keep it cold, write its bread, time and allergens on it, and put it only into"
            " a dough that has everything in it; raw dough is not food"
        )
        return (Caution("held-as-old-dough", text),)
    if choice == "odd piece":
        text = f"{left} makes one odd piece: it does not bake like the others and is not sold at their weight"
        return (Caution("odd-piece", text),)
    given_g = left_g - stays_g
    text = (
        f"{shown(given_g)} g of dough is spread over the pieces, {shown(given_g / pieces, 3)} g on each of them on"
        " average, and given away"
    )
    stays = f"; {shown(stays_g)} g, less than a step for any of them, stays over" if stays_g else ""
    return (Caution("spread", text + stays),)
