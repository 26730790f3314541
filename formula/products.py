"""Several products from one dough: each its pieces and weight, in the order given, and what is over."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import ClassVar, Literal, get_args

from attrs import frozen

from .counting import (
    READING,
    Rounding,
    exact,
    read_choice,
    read_count,
    read_weight,
    remainder_caution,
    scaling_weight_g,
    short_scaling,
)
from .errors import FormulaError, cited
from .quantity import MASS, Door, Measure, View
from .readerunits import with_units
from .working import Caution, Step, Working, shown

__all__ = ["DividedAmong", "Product", "ProductPieces", "divide_among"]

Short = Literal["refuse", "in order", "share"]


@frozen(init=False)
class Product:
    """One product to divide a dough into.

    Args:
        name: what the bakers call it.
        pieces: how many are wanted.
        piece: the weight of one on the divider's scale.

    Raises:
        FormulaError: every bad argument at once.

    Example:
        >>> Product("Quay Round, large", pieces=20, piece="920 g").needed_g
        18400.0
    """

    name: str
    pieces: int
    piece_g: float

    def __init__(self, name: str, *, pieces: int, piece: Measure) -> None:
        """Read every argument and tell of all the bad ones at once."""
        with Door(FormulaError) as door:
            if not isinstance(name, str) or not name.strip():  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
                door.refuse("product", repr(name), "a name as text")
            count = read_count(door, pieces, f"{name}: pieces", 1)
            piece_g = read_weight(door, piece, f"{name}: piece")
        object.__setattr__(self, "name", name)
        object.__setattr__(self, "pieces", count)
        object.__setattr__(self, "piece_g", piece_g)

    piece: ClassVar[View] = View(MASS, "piece_g", "The weight of one on the divider's scale.")
    needed: ClassVar[View] = View(MASS, "needed_g", "The dough that all of them take.")

    @property
    def needed_g(self) -> float:
        """The dough that all of them take."""
        return self.pieces * self.piece_g


@frozen
class ProductPieces:
    """What one product gets of a dough: ``pieces`` of ``piece_g`` on the scale, of the ``wanted`` ones."""

    name: str
    wanted: int
    asked_g: float
    pieces: int
    piece_g: float

    asked: ClassVar[View] = View(MASS, "asked_g", "The weight of a piece as it was asked for.")
    piece: ClassVar[View] = View(MASS, "piece_g", "The scaling weight: what the divider's scale shows for a piece.")
    mass: ClassVar[View] = View(MASS, "mass_g", "The dough in all its pieces.")

    @property
    def mass_g(self) -> float:
        """The dough in all its pieces."""
        return self.pieces * self.piece_g


@frozen
class DividedAmong:
    """A dough divided among ``products``, in the order given, and the ``remainder``."""

    dough_g: float
    products: tuple[ProductPieces, ...]
    remainder_g: float
    cautions: tuple[Caution, ...] = ()

    dough: ClassVar[View] = View(MASS, "dough_g", "The dough to divide.")
    remainder: ClassVar[View] = View(MASS, "remainder_g", "The dough that is left over.")

    @property
    def pieces(self) -> int:
        """All pieces."""
        return sum(product.pieces for product in self.products)

    def working(self) -> Working:
        """Show the steps; the last line is the number of pieces."""
        steps: list[Step] = []
        doughs: dict[str, float] = {}
        counts: dict[str, float] = {}
        for number, product in enumerate(self.products, 1):
            values = {f"pieces_{number}": float(product.pieces), f"piece_{number}": product.piece_g}
            note = f"{product.name}: {product.pieces} of {product.wanted} wanted"
            steps.append(Step(f"dough_{number}", " * ".join(values), values, product.mass_g, "g", note=note))
            doughs[f"dough_{number}"] = product.mass_g
            counts[f"pieces_{number}"] = float(product.pieces)
        left_g = self.remainder_g or self.dough_g - sum(doughs.values())
        values = {"dough": self.dough_g, **doughs}
        steps.append(Step("remainder", " - ".join(values), values, left_g, "g", note="what is left over"))
        steps.append(Step("pieces", " + ".join(counts), counts, float(self.pieces), "", note="all pieces"))
        told = with_units(steps, {"1": "pieces", "g": "piece dough"})
        return Working("Dividing among several products", told, self.cautions)


def divide_among(
    dough: Measure,
    products: Iterable[Product],
    *,
    step: Measure | None = None,
    rounding: Rounding = "up",
    fill: str = "",
    short: Short = "refuse",
) -> DividedAmong:
    """Divide one dough among several products: remainder = dough - sum of pieces x piece.

    Args:
        dough: the dough as it comes to the divider, a mass.
        products: at least one ``Product``, in the order in which they are served.
        step: the step of the divider's scale, to which every piece is rounded; left out, it shows any weight.
        rounding: how it is rounded: "up" (no piece is short), "nearest" or "down".
        fill: the name of the product that takes what is over, as more whole pieces.
        short: what happens where the dough does not suffice.  "refuse": an error tells how many pieces of which product
            are short, served in the order given.  "in order": the products are served in the order given, each as far as
            the dough goes, and a lighter one may still get what a heavier one could not use.  "share": every product gets
            the same share of its pieces, rounded down, and one piece more as far as they still fit, those first that
            lost most by the rounding.

    Returns:
        What each product gets, in the order given, and the remainder.

    Raises:
        FormulaError: a bad mass, no product, a name twice, a fill that is none of them, an unknown choice; too little dough.

    Accuracy: exact for the weights as they are read, to 12 digits.

    Example:
        >>> products = [Product("large", pieces=30, piece="920 g"), Product("small", pieces=40, piece="460 g")]
        >>> made = divide_among("48 kg", products, fill="small")
        >>> [(product.name, product.pieces) for product in made.products], made.remainder_g
        ([('large', 30), ('small', 44)], 160.0)
    """
    asked = tuple(products)
    with Door(FormulaError) as door:
        dough_g = read_weight(door, dough, "dough")
        step_g = 0.0 if step is None else read_weight(door, step, "step")
        read_choice(door, rounding, "rounding", get_args(Rounding))
        read_choice(door, short, "short", get_args(Short))
        _check_products(door, asked, fill)
        sound = asked if not door.faults else ()
        weights = tuple(scaling_weight_g(door, each.piece_g, step_g, rounding, each.name) for each in sound)
    counts = (_shared if short == "share" else _served)(dough_g, asked, weights)
    if short == "refuse":
        _refuse_short(dough_g, asked, weights, counts)
    if fill:
        place = [each.name for each in asked].index(fill)
        counts[place] += _fitting(dough_g, counts, weights, place)
    made = tuple(
        ProductPieces(each.name, each.pieces, each.piece_g, count, piece_g)
        for each, count, piece_g in zip(asked, counts, weights, strict=True)
    )
    left = _left(dough_g, counts, weights)
    remainder_g = float(left) if left > exact(dough_g) * READING else 0.0
    return DividedAmong(dough_g, made, remainder_g, tuple(_about(made, remainder_g)))


def _check_products(door: Door, asked: tuple[Product, ...], fill: str) -> None:
    if not asked:
        door.refuse("products", "none", "at least one product")
    names: list[str] = []
    for each in asked:
        if not isinstance(each, Product):  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
            door.refuse("products", cited(each), "a Product")
        elif each.name in names:
            door.refuse("products", f"{each.name!r} twice", "every product once", "add up its pieces")
        else:
            names.append(each.name)
    if fill and fill not in names:
        door.refuse("fill", cited(fill), f"one of the products: {', '.join(names)}")


def _left(dough_g: float, counts: Sequence[int], weights: Sequence[float]) -> Fraction:
    """Return what is left of the dough, exactly; a hair below zero where the last piece is short by a hair."""
    taken = (count * exact(piece_g) for count, piece_g in zip(counts, weights, strict=True))
    return exact(dough_g) - sum(taken, Fraction(0))


def _fitting(dough_g: float, counts: Sequence[int], weights: Sequence[float], place: int) -> int:
    """Return how many more pieces of one product the dough holds; the hair is that of ``whole_pieces``."""
    left = _left(dough_g, counts, weights) + exact(dough_g) * READING
    return max(0, left // exact(weights[place]))


def _served(dough_g: float, asked: Sequence[Product], weights: Sequence[float]) -> list[int]:
    """Serve the products one after the other, each as far as the dough goes."""
    counts = [0] * len(asked)
    for place, each in enumerate(asked):
        counts[place] = min(each.pieces, _fitting(dough_g, counts, weights, place))
    return counts


def _shared(dough_g: float, asked: Sequence[Product], weights: Sequence[float]) -> list[int]:
    """Give every product the same share of its pieces, and one more as far as they fit, who lost most first."""
    wanted = [each.pieces for each in asked]
    needed = exact(dough_g) - _left(dough_g, wanted, weights)
    share = min(Fraction(1), exact(dough_g) * (1 + READING) / needed)
    counts = [math.floor(count * share) for count in wanted]
    lost = [count * share - whole for count, whole in zip(wanted, counts, strict=True)]
    for place in sorted(range(len(asked)), key=lambda place: -lost[place]):
        counts[place] += min(1, wanted[place] - counts[place], _fitting(dough_g, counts, weights, place))
    return counts


def _refuse_short(dough_g: float, asked: Sequence[Product], weights: Sequence[float], counts: Sequence[int]) -> None:
    """Refuse a dough that does not suffice, telling how many pieces of which product are short."""
    wanted = [each.pieces for each in asked]
    short_g = -float(_left(dough_g, wanted, weights))
    with Door(FormulaError) as door:
        for each, count in zip(asked, counts, strict=True):
            if count < each.pieces:
                got = f"dough for {count} of {each.pieces} pieces, {each.pieces - count} short"
                fix = f'mix {shown(short_g)} g more, or say short="in order" or short="share"'
                door.refuse(each.name, got, "dough for every piece", fix)


def _about(made: tuple[ProductPieces, ...], remainder_g: float) -> Iterator[Caution]:
    for each in made:
        yield from short_scaling(each.asked_g, each.piece_g, each.name)
        if each.pieces < each.wanted:
            text = f"{each.name}: {each.pieces} of {each.wanted} pieces, {each.wanted - each.pieces} short"
            yield Caution("short-of-dough", text)
    if remainder_g:
        yield remainder_caution(remainder_g)
