"""From a dough back to bread: pieces, what is left at the divider, and what each loaf and all of them weigh when sold."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar, get_args

from attrs import evolve, frozen

from .counting import Rounding, read_choice, read_weight
from .errors import FormulaError, cited
from .formula import Formula
from .losses import At, Losses, bread_mass_g
from .losssteps import divider_steps
from .orders import numbered
from .portion import Remainder, divide
from .products import Product, Short, divide_among
from .quantity import MASS, Door, Measure, View, grid, write
from .readerunits import with_units
from .working import Caution, Step, Working

__all__ = ["BakedPieces", "BreadFromDough", "bread_from_dough"]


@frozen
class BakedPieces:
    """Some pieces of one weight: ``piece_g`` on the divider's scale, ``baked_g`` when sold."""

    name: str
    pieces: int
    piece_g: float
    baked_g: float

    piece: ClassVar[View] = View(MASS, "piece_g", "The weight of one on the divider's scale.")
    baked: ClassVar[View] = View(MASS, "baked_g", "The weight of one when it is sold.")


@frozen
class BreadFromDough:
    """What a dough gives: ``portions`` of pieces with their baked weights, and the ``remainder`` at the divider."""

    dough_g: float
    at: At
    losses: Losses
    at_divider_g: float
    portions: tuple[BakedPieces, ...]
    remainder_g: float
    cautions: tuple[Caution, ...] = ()

    dough: ClassVar[View] = View(MASS, "dough_g", "The dough asked about.")
    at_divider: ClassVar[View] = View(MASS, "at_divider_g", "The dough that reaches the divider.")
    remainder: ClassVar[View] = View(MASS, "remainder_g", "The dough left over at the divider.")
    bread: ClassVar[View] = View(MASS, "bread_g", "All the bread, when it is sold.")

    @property
    def pieces(self) -> int:
        """All pieces."""
        return sum(portion.pieces for portion in self.portions)

    @property
    def bread_g(self) -> float:
        """All the bread, when it is sold."""
        return sum(portion.pieces * portion.baked_g for portion in self.portions)

    def working(self) -> Working:
        """Show every loss on the way from the dough to the bread; the last line is all the bread."""
        steps: list[Step] = []
        dough = {"dough": self.dough_g}
        if self.at == "mixer":
            *turned, step = divider_steps(self.losses, self.dough_g)
            steps += [*turned, evolve(step, value=self.at_divider_g)]
        else:
            steps.append(Step("at_divider", "dough", dough, self.at_divider_g, "g", note="weighed at the divider"))
        scaled = {"at_divider": self.at_divider_g}
        baked: dict[str, float] = {}
        for number, portion in enumerate(self.portions, 1):
            scaled |= {f"pieces_{number}": float(portion.pieces), f"piece_{number}": portion.piece_g}
            bread = f"bread_{number}"
            sold = self.losses.bread_from(write(MASS, portion.piece_g), at="divider").working().steps
            for each in numbered(sold, number):
                # The piece on the scale is the dough that this way begins with.
                expression = each.expression.replace(f"dough_{number}", f"piece_{number}")
                values = {name.replace("dough_", "piece_"): value for name, value in each.values.items()}
                units = {name.replace("dough_", "piece_"): unit for name, unit in each.units.items()}
                steps.append(evolve(each, expression=expression, values=values, units=units))
            note = f"a piece of {portion.name}, sold" if portion.name else "a piece, sold"
            steps[-1] = evolve(steps[-1], value=portion.baked_g, note=note)
            baked |= {f"pieces_{number}": float(portion.pieces), bread: portion.baked_g}
        names = list(scaled)[1:]
        left_g = self.remainder_g or self.at_divider_g - sum(each.pieces * each.piece_g for each in self.portions)
        taken = "".join(f" - {count} * {piece}" for count, piece in zip(names[::2], names[1::2], strict=True))
        steps.append(Step("remainder", f"at_divider{taken}", scaled, left_g, "g", note="left at the divider"))
        names = list(baked)
        whole = " + ".join(f"{count} * {bread}" for count, bread in zip(names[::2], names[1::2], strict=True))
        steps.append(Step("bread", whole, baked, self.bread_g, "g", note="all of it, sold"))
        told = {"g": "dough piece", "1": "pieces"}
        return Working("Bread from a dough, divided", with_units(steps, told), self.cautions)


def bread_from_dough(
    dough: Measure,
    bread: Formula | Losses,
    *,
    piece: Measure | None = None,
    products: Iterable[Product] | None = None,
    at: At = "mixer",
    step: Measure | None = None,
    rounding: Rounding = "up",
    remainder: Remainder = "report",
    fill: str = "",
    short: Short = "refuse",
) -> BreadFromDough:
    """Find the bread that a dough gives: pieces from what reaches the divider, each baked = piece x what the rest leaves.

    Args:
        dough: a mass of dough.
        bread: the formula, whose losses count, or the losses themselves.
        piece: the scaling weight of one piece; or
        products: several products from the one dough, served in the order given, each with its pieces and scaling weight.
        at: where the dough was weighed: "mixer" (all losses are still to come) or "divider".
        step: the step of the divider's scale, to which pieces are rounded; left out, it shows any weight.
        rounding: how they are rounded: "up" (no piece is short), "nearest" or "down".
        remainder: with ``piece``, what becomes of the dough left over; see ``divide``.
        fill: with ``products``, the one that takes what is over; see ``divide_among``.
        short: with ``products``, what happens where the dough does not suffice; see ``divide_among``.

    Returns:
        All pieces with their baked weights, the remainder at the divider and all the bread.

    Raises:
        FormulaError: a bad mass or choice, both or neither of piece and products, a piece heavier than the dough.

    Accuracy: that of the losses, which are averages and larger for a small piece than for a large one.

    Example:
        >>> losses = Losses(handling="2 %", ferment="1 %", bake="11 %", cool="1 %")
        >>> made = bread_from_dough("100 kg", losses, piece="920 g")
        >>> made.pieces, round(made.remainder_g), round(made.portions[0].baked_g, 1), round(made.bread_g)
        (106, 480, 802.5, 85066)
    """
    with Door(FormulaError) as door:
        losses = bread.losses if isinstance(bread, Formula) else bread
        if not isinstance(losses, Losses):  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
            door.refuse("bread", cited(bread), "a Formula or Losses")
        dough_g = read_weight(door, dough, "dough")
        read_choice(door, at, "at", get_args(At))
        if (piece is None) == (products is None):
            got = "neither a piece nor products" if piece is None else "a piece and products"
            door.refuse("piece", got, "one of piece= and products=")
    # On the grid, as the divider's scale would be read: the remainder is what is left of just this weight.
    at_divider_g = grid(MASS, bread_mass_g(dough_g, losses.before_divider_left)) if at == "mixer" else dough_g
    scaled = write(MASS, at_divider_g)
    found: list[tuple[str, int, float]] = []
    if piece is not None:
        name = bread.name if isinstance(bread, Formula) else ""
        made = divide(scaled, piece=piece, step=step, rounding=rounding, remainder=remainder)
        found += ((name, portion.pieces, portion.piece_g) for portion in made.portions)
        remainder_g, cautions = made.remainder_g, made.cautions
    else:
        among = divide_among(scaled, products or (), step=step, rounding=rounding, fill=fill, short=short)
        found += ((each.name, each.pieces, each.piece_g) for each in among.products)
        remainder_g, cautions = among.remainder_g, among.cautions
    left = losses.after_divider_left
    portions = (BakedPieces(name, count, grams, bread_mass_g(grams, left)) for name, count, grams in found)
    return BreadFromDough(
        dough_g=dough_g,
        at=at,
        losses=losses,
        at_divider_g=at_divider_g,
        portions=tuple(portions),
        remainder_g=remainder_g,
        cautions=cautions,
    )
