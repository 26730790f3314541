"""Orders, and how pieces, scaling weight and dough come of them: the arithmetic of every plan."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from typing import ClassVar, Final

from attrs import evolve, field, frozen

from .counting import Rounding, even, step_steps
from .errors import FormulaError, cited
from .formula import Formula
from .losses import Losses
from .losssteps import mixed_step
from .quantity import MASS, SHARE, Door, Measure, View, write
from .readerunits import with_units
from .timeofday import read_clock
from .working import FUNCTIONS, Step

__all__ = ["Order", "numbered", "order_steps"]

MOST_PIECES: Final = 100_000_000
"""Of one order; more is a slip of the pen."""


@frozen(init=False)
class Order:
    """One line of the day's orders.

    Args:
        bread: the formula.
        pieces: how many are ordered.
        baked: the weight of each when sold.
        due: when they must be there, as "05:30"; "" if it does not matter.
        spares: pieces made beyond the order.
        reject: the share of pieces that is sorted out after baking; the formula's own if left out.
        losses: what this size of it loses on its way; the formula's own if left out.
        where: where the order is written, for messages; it makes no difference to the order.

    Raises:
        FormulaError: every bad argument at once.

    Example:
        >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 65, "salt": 2})
        >>> order = Order(loaf, pieces=300, baked="800 g", due="06:00")
        >>> order.pieces, order.baked_g
        (300, 800.0)
    """

    bread: Formula
    pieces: int
    baked_g: float
    due: str
    spares: int
    reject_share: float
    losses: Losses
    where: str = field(eq=False)

    def __init__(
        self,
        bread: Formula,
        *,
        pieces: int,
        baked: Measure,
        due: str = "",
        spares: int = 0,
        reject: Measure | None = None,
        losses: Losses | None = None,
        where: str = "",
    ) -> None:
        """Read every argument and tell of all the bad ones at once."""
        name = getattr(bread, "name", repr(bread))
        with Door(FormulaError) as door:
            if not isinstance(bread, Formula):  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
                door.refuse("order", repr(bread), "a Formula")
            baked_g = door.read(MASS, baked, f"{name}: baked")
            own = getattr(bread, "reject_share", 0.0)
            share = own if reject is None else door.read(SHARE, reject, f"{name}: reject")
            if baked_g == 0:
                door.refuse(f"{name}: baked", "0 g", "a weight above zero")
            if share >= 1:
                door.refuse(f"{name}: reject", write(SHARE, share), "a share below 100 %")
            for label, count, least in (("pieces", pieces, 1), ("spares", spares, 0)):
                if isinstance(count, bool) or not isinstance(count, int) or count < least:  # pyright: ignore[reportUnnecessaryIsInstance]
                    door.refuse(f"{name}: {label}", cited(count), f"a whole number of at least {least}")
                elif count > MOST_PIECES:
                    door.refuse(f"{name}: {label}", cited(count), f"a whole number of at most {MOST_PIECES}")
            if due:
                read_clock(door, due, f"{name}: due")
        facts = {
            "bread": bread,
            "pieces": pieces,
            "baked_g": baked_g,
            "due": due,
            "spares": spares,
            "reject_share": share,
            "losses": bread.losses if losses is None else losses,
            "where": where,
        }
        for key, value in facts.items():
            object.__setattr__(self, key, value)

    baked: ClassVar[View] = View(MASS, "baked_g", "The weight of a piece when sold.")
    reject: ClassVar[View] = View(SHARE, "reject_share", "The share of pieces that is sorted out.")

    @property
    def pieces_made(self) -> int:
        """Pieces to make: (ordered + spares) / (1 - reject share), rounded up to a whole piece."""
        return math.ceil((self.pieces + self.spares) / (1 - self.reject_share) - 1e-9)


def order_steps(
    orders: tuple[Order, ...], pieces: int, piece_g: float, step_g: float, rounding: Rounding = "up"
) -> list[Step]:
    """Show how orders of one bread at one baked weight become pieces, a scaling weight and dough, with every loss.

    Args:
        orders: at least one, all of one bread at one baked weight with the same losses.
        pieces: the pieces to make.
        piece_g: what the divider's scale shows for one, g.
        step_g: the step of that scale, g; 0 if it shows any weight.
        rounding: how the scaling weight is put on it.

    Returns:
        The steps; the last one is the dough to mix.
    """
    one, first = len(orders) == 1, orders[0]
    steps: list[Step] = []
    made: dict[str, float] = {}
    for number, order in enumerate(orders, 1):
        ordered, spares, reject, needed = (
            name if one else f"{name}_{number}" for name in ("ordered", "spares", "reject", "needed")
        )
        values = {ordered: float(order.pieces), spares: float(order.spares), reject: order.reject_share}
        count = even((order.pieces + order.spares) / (1 - order.reject_share))
        expression = f"({ordered} + {spares}) / (1 - {reject})"
        steps.append(Step(needed, expression, values, count, "", note="pieces to bake for this order"))
        made[needed] = count
    whole = " + ".join(f"ceil({needed})" for needed in made)
    steps.append(Step("pieces", whole, made, float(pieces), "", note="whole pieces to make"))
    steps += first.losses.dough_for(write(MASS, first.baked_g)).working().steps[:-1]
    exact_g = steps[-1].value
    if step_g:
        steps += step_steps("scaling_weight", exact_g, step_g, rounding)
    else:
        values = {"scaling_weight": exact_g}
        steps.append(Step("piece", "scaling_weight", values, piece_g, "g", note="what the scale shows"))
    steps.append(mixed_step(first.losses, pieces, piece_g))
    return [*with_units(steps, {"1": "ordered spares reject"})]


def numbered(steps: Iterable[Step], number: int) -> list[Step]:
    """Put a number behind every name of some steps, so that several products stand in one working."""

    def name(match: re.Match[str]) -> str:
        return match.group() if match.group() in FUNCTIONS else f"{match.group()}_{number}"

    return [
        evolve(
            step,
            symbol=f"{step.symbol}_{number}",
            expression=re.sub(r"\b[^\W\d]\w*", name, step.expression),
            values={f"{each}_{number}": value for each, value in step.values.items()},
            units={f"{each}_{number}": unit for each, unit in step.units.items()},
        )
        for step in steps
    ]
