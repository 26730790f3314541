"""Dough presses: heads that a press divides into equal parts, and the pieces that come of them.

A press gives as many pieces as its knives make parts, whatever lies in it: the head on the scale decides what a piece
weighs.  Presses of 18, 30 and 36 parts are usual, 30 for rolls (common practice, no source); any number will do here.
How light and how heavy a head may be stands on the maker's plate, and nowhere else.
"""

from __future__ import annotations

from typing import ClassVar, get_args

from attrs import evolve, frozen

from .counting import (
    Rounding,
    even,
    on_step,
    read_choice,
    read_count,
    read_weight,
    remainder_caution,
    scaling_weight_g,
    short_scaling,
    step_steps,
    whole_pieces,
)
from .errors import Fault, FormulaError, cited
from .quantity import MASS, Door, Measure, OptionalView, View, write
from .readerunits import with_units
from .working import Caution, Step, Working, shown

__all__ = ["Heads", "Press", "heads_for", "heads_from"]


@frozen(init=False)
class Press:
    """A press that divides a head of dough into equal parts.

    Args:
        parts: how many parts it makes, a whole number of 2 or more.
        lightest: the lightest head that it divides, from the maker's plate.
        heaviest: the heaviest head that it divides, from the maker's plate.

    Raises:
        FormulaError: every bad argument at once.

    Example:
        >>> Press(30, lightest="900 g", heaviest="3 kg").heaviest_g
        3000.0
    """

    parts: int
    lightest_g: float | None
    heaviest_g: float | None

    def __init__(self, parts: int, *, lightest: Measure | None = None, heaviest: Measure | None = None) -> None:
        """Read every argument and tell of all the bad ones at once."""
        with Door(FormulaError) as door:
            count = read_count(door, parts, "parts", 2)
            lightest_g = None if lightest is None else read_weight(door, lightest, "lightest")
            heaviest_g = None if heaviest is None else read_weight(door, heaviest, "heaviest")
            if lightest_g is not None and heaviest_g is not None and lightest_g > heaviest_g:
                expected = f"at most the heaviest head, {write(MASS, heaviest_g)}"
                door.refuse("lightest", write(MASS, lightest_g), expected)
        object.__setattr__(self, "parts", count)
        object.__setattr__(self, "lightest_g", lightest_g)
        object.__setattr__(self, "heaviest_g", heaviest_g)

    lightest: ClassVar[OptionalView] = OptionalView(
        MASS, "lightest_g", "The lightest head that it divides, if it is known."
    )
    heaviest: ClassVar[OptionalView] = OptionalView(
        MASS, "heaviest_g", "The heaviest head that it divides, if it is known."
    )


@frozen
class Heads:
    """Pieces from a press: ``heads`` of ``head_g``, each of them ``parts`` pieces of ``piece_g``, and a short last head.

    ``asked_g`` is the piece asked for (0 where the head was given) and ``unrounded_g`` the head before it is put on the
    scale's step.  The last head holds ``last_pieces`` pieces and is scaled at ``last_g``; 0 where every head is full.
    """

    press: Press
    dough_g: float
    asked_g: float
    unrounded_g: float
    head_g: float
    heads: int
    last_pieces: int
    last_g: float
    step_g: float = 0.0
    rounding: Rounding = "up"
    from_dough: bool = False
    cautions: tuple[Caution, ...] = ()

    dough: ClassVar[View] = View(MASS, "dough_g", "The dough that the heads are scaled from.")
    asked: ClassVar[View] = View(MASS, "asked_g", "The weight of a piece as it was asked for.")
    head: ClassVar[View] = View(MASS, "head_g", "The weight of a head on the scale.")
    piece: ClassVar[View] = View(MASS, "piece_g", "The weight of a piece that comes of a head.")
    last: ClassVar[View] = View(MASS, "last_g", "The weight of the short last head.")
    step: ClassVar[View] = View(MASS, "step_g", "The step of the scale for the heads; 0 if it shows any weight.")
    remainder: ClassVar[View] = View(MASS, "remainder_g", "The dough that is in no piece of the right weight.")

    @property
    def piece_g(self) -> float:
        """The weight of a piece that comes of a head, on average: the head divided by its parts."""
        return self.head_g / self.press.parts

    @property
    def pieces(self) -> int:
        """All pieces, those of the last head included."""
        return self.heads * self.press.parts + self.last_pieces

    @property
    def remainder_g(self) -> float:
        """The dough in the last head beyond its pieces; less than a piece, or what the scale's step adds to it."""
        left_g = self.last_g - self.last_pieces * self.piece_g
        return left_g if abs(left_g) > 1e-9 * self.head_g else 0.0

    def working(self) -> Working:
        """Show the steps; the last line is all pieces or, where the pieces were given, the dough."""
        parts = {"parts": float(self.press.parts)}
        steps: list[Step] = []
        if self.asked_g:
            values = {"asked": self.asked_g, **parts}
            steps.append(
                Step("weight", "asked * parts", values, self.unrounded_g, "g", note="a head, before the scale")
            )
        if self.step_g:
            first, second = step_steps("weight", self.unrounded_g, self.step_g, self.rounding)
            steps += [first, evolve(second, symbol="head", value=self.head_g)]
        elif self.asked_g:
            steps.append(Step("head", "weight", {"weight": self.unrounded_g}, self.head_g, "g", note="on the scale"))
        values = {"head": self.head_g, **parts}
        steps.append(Step("piece", "head / parts", values, self.piece_g, "g", note="what comes of a head"))
        steps += self._from_dough(parts) if self.from_dough else self._from_pieces(parts)
        told = {"1": "parts pieces", "g": "asked weight head dough scale_step"}
        return Working(f"A press of {self.press.parts} parts", with_units(steps, told), self.cautions)

    def _from_pieces(self, parts: dict[str, float]) -> tuple[Step, ...]:
        n = self.heads + self.last_pieces / self.press.parts
        wanted = {"pieces": float(self.pieces)}
        heads = {"heads": float(self.heads)}
        dough = heads | {"head": self.head_g, "last": self.last_g}
        left = {"left": float(self.last_pieces), "piece": self.piece_g}
        short_g = self.last_pieces * self.piece_g
        if self.step_g:
            k = even(short_g / self.step_g)
            values = {"k": k, "scale_step": self.step_g}
            last: tuple[Step, ...] = (
                Step("short", "left * piece", left, short_g, "g", note="the last head, before the scale"),
                Step("k", "short / scale_step", {"short": short_g, "scale_step": self.step_g}, k, ""),
                Step("last", "ceil(k) * scale_step", values, self.last_g, "g", note="the last head on the scale"),
            )
        else:
            last = (Step("last", "left * piece", left, self.last_g, "g", note="the last head"),)
        return (
            Step("n", "pieces / parts", wanted | parts, n, ""),
            Step("heads", "floor(n)", {"n": n}, float(self.heads), "", note="full heads"),
            Step("left", "pieces - heads * parts", wanted | heads | parts, float(self.last_pieces), "", note="pieces"),
            *last,
            Step("dough", "heads * head + last", dough, self.dough_g, "g", note="for all of them"),
        )

    def _from_dough(self, parts: dict[str, float]) -> tuple[Step, ...]:
        n = self.heads + self.last_g / self.head_g
        more = self.last_pieces + self.remainder_g / self.piece_g
        heads = {"heads": float(self.heads)}
        whole = {"dough": self.dough_g, "head": self.head_g}
        last_g = self.last_g or self.dough_g - self.heads * self.head_g
        pieces = heads | parts | {"m": more}
        return (
            Step("n", "dough / head", whole, n, ""),
            Step("heads", "floor(n)", {"n": n}, float(self.heads), "", note="full heads"),
            Step("last", "dough - heads * head", whole | heads, last_g, "g", note="what is left of the dough"),
            Step(
                "m",
                "last / piece",
                {"last": last_g, "piece": self.piece_g},
                more,
                "",
                note="pieces in it, by hand",
            ),
            Step("pieces", "heads * parts + floor(m)", pieces, float(self.pieces), "", note="all pieces"),
        )


def heads_for(
    pieces: int, press: Press, *, piece: Measure, step: Measure | None = None, rounding: Rounding = "up"
) -> Heads:
    """Find the heads for a number of pieces: head = parts x piece, heads = floor(pieces / parts), and a short last one.

    Args:
        pieces: how many pieces are wanted, 1 or more.
        press: the press.
        piece: the weight of a piece, a mass above zero.
        step: the step of the scale for the heads, to which they are rounded; left out, it shows any weight.
        rounding: how they are rounded: "up" (no piece is short), "nearest" or "down".

    Returns:
        The heads, what they weigh, the piece that comes of them, and what the short last head weighs, its pieces at the
        weight of the others, rounded up to the step.

    Raises:
        FormulaError: a bad mass or count, a head that the press does not take; all at once.

    Accuracy: a press divides by volume: its pieces spread about their average, more in a slack or gassy dough.

    Example:
        >>> made = heads_for(200, Press(30, lightest="1 kg", heaviest="3 kg"), piece="62 g", step="20 g")
        >>> made.heads, made.head_g, made.last_pieces, made.last_g, round(made.piece_g, 2)
        (6, 1860.0, 20, 1240.0, 62.0)
    """
    _check_press(press)
    with Door(FormulaError) as door:
        count = read_count(door, pieces, "pieces", 1)
        asked_g = read_weight(door, piece, "piece")
        step_g = _read_step(door, step, rounding)
        unrounded_g = press.parts * asked_g
        head_g = _head_g(door, press, unrounded_g, step_g, rounding)
    heads, last_pieces = divmod(count, press.parts)
    last_g = last_pieces * head_g / press.parts
    if step_g:
        last_g = on_step(last_g, step_g)
    return Heads(
        press=press,
        dough_g=heads * head_g + last_g,
        asked_g=asked_g,
        unrounded_g=unrounded_g,
        head_g=head_g,
        heads=heads,
        last_pieces=last_pieces,
        last_g=last_g,
        step_g=step_g,
        rounding=rounding,
        cautions=(*_about_head(press, unrounded_g, head_g), *_about_last(press, last_pieces, last_g)),
    )


def heads_from(
    dough: Measure,
    press: Press,
    *,
    piece: Measure | None = None,
    head: Measure | None = None,
    step: Measure | None = None,
    rounding: Rounding = "up",
) -> Heads:
    """Divide a dough into heads for a press: heads = floor(dough / head), and what is left as a short last head.

    Args:
        dough: the dough, a mass above zero.
        press: the press.
        piece: the weight of a piece, from which the head follows: parts x piece; or
        head: the weight of a head.
        step: the step of the scale for the heads, to which they are rounded; left out, it shows any weight.
        rounding: how they are rounded: "up" (no piece is short), "nearest" or "down".

    Returns:
        The heads, the piece that comes of them, what is left of the dough as the last head, and how many pieces are in it.

    Raises:
        FormulaError: a bad mass, both or neither of piece and head, a head that the press does not take; all at once.

    Accuracy: see ``heads_for``; the count is exact for the weights as they are read.

    Example:
        >>> made = heads_from("12.5 kg", Press(30, lightest="1 kg", heaviest="3 kg"), head="1.86 kg")
        >>> made.heads, made.last_g, made.last_pieces, made.pieces
        (6, 1340.0, 21, 201)
    """
    _check_press(press)
    with Door(FormulaError) as door:
        dough_g = read_weight(door, dough, "dough")
        if (piece is None) == (head is None):
            got = "neither a piece nor a head" if piece is None else "a piece and a head"
            door.refuse("head", got, "one of piece= and head=")
        asked_g = 0.0 if piece is None else read_weight(door, piece, "piece")
        given_g = 0.0 if head is None else read_weight(door, head, "head")
        step_g = _read_step(door, step, rounding)
        unrounded_g = given_g or press.parts * asked_g
        head_g = _head_g(door, press, unrounded_g, step_g, rounding)
    heads, last_g = whole_pieces(dough_g, head_g)
    # The piece is not a decimal number where the head is not a multiple of its parts: count in whole parts of a head.
    last_pieces, left_g = whole_pieces(last_g * press.parts, head_g, dough_g * press.parts)
    if heads + last_pieces == 0:
        expected = f"no more than the dough, {write(MASS, dough_g)}"
        raise FormulaError(Fault("piece", write(MASS, head_g / press.parts), expected))
    left_g /= press.parts
    found = (*_about_head(press, unrounded_g, head_g), *_about_last(press, last_pieces, last_g))
    return Heads(
        press=press,
        dough_g=dough_g,
        asked_g=asked_g,
        unrounded_g=unrounded_g,
        head_g=head_g,
        heads=heads,
        last_pieces=last_pieces,
        last_g=last_g,
        step_g=step_g,
        rounding=rounding,
        from_dough=True,
        cautions=(*found, remainder_caution(left_g)) if left_g else found,
    )


def _check_press(press: object) -> None:
    if not isinstance(press, Press):
        raise FormulaError(Fault("press", cited(press), "a Press", "write Press(30)"))


def _read_step(door: Door, step: Measure | None, rounding: Rounding) -> float:
    read_choice(door, rounding, "rounding", get_args(Rounding))
    return 0.0 if step is None else read_weight(door, step, "step")


def _head_g(door: Door, press: Press, unrounded_g: float, step_g: float, rounding: Rounding) -> float:
    """Put a head on the scale's step, and note one that the press does not take."""
    head_g = scaling_weight_g(door, unrounded_g, step_g, rounding, "head")
    if press.lightest_g is not None and head_g < press.lightest_g:
        expected = f"at least the {write(MASS, press.lightest_g)} of the press's plate"
        door.refuse("head", write(MASS, head_g), expected, "a press with more parts, or heavier pieces")
    if press.heaviest_g is not None and head_g > press.heaviest_g:
        expected = f"at most the {write(MASS, press.heaviest_g)} of the press's plate"
        door.refuse("head", write(MASS, head_g), expected, "a press with fewer parts, or lighter pieces")
    return head_g


def _about_head(press: Press, unrounded_g: float, head_g: float) -> tuple[Caution, ...]:
    found = short_scaling(unrounded_g / press.parts, head_g / press.parts)
    if press.lightest_g is None or press.heaviest_g is None:
        text = "how light and how heavy a head may be stands on the press's plate: it is not checked here"
        found += (Caution("plate-not-checked", text),)
    return found


def _about_last(press: Press, last_pieces: int, last_g: float) -> tuple[Caution, ...]:
    if not last_pieces:
        return ()
    text = (
        f"a press makes {press.parts} parts of whatever lies in it: divide the last {shown(last_g)} g by hand into"
        f" {last_pieces}, or press a full head more and have {press.parts - last_pieces} pieces over"
    )
    return (Caution("short-head", text),)
