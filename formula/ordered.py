"""From orders to dough, without a bakery: pieces, scaling weights, the dough of each bread, and its mixes.

Breads of one formula are one dough, whatever they weigh; it is mixed together and divided apart.  No mix leaves an order
short: a mix holds whole pieces, and each has its own share of the losses before the divider.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import ClassVar, get_args

from attrs import frozen

from .batch import Batch
from .counting import Rounding, even, read_choice, read_weight, scaling_weight_g, short_scaling
from .errors import FormulaError, cited
from .formula import Formula
from .losses import Losses, dough_mass_g
from .orders import Order, numbered, order_steps
from .quantity import MASS, Door, Measure, OptionalView, View, write
from .readerunits import with_units
from .working import Caution, Step, Working, shown

__all__ = ["DoughForOrders", "OrderedDough", "OrderedMix", "OrderedProduct", "dough_for_orders"]


@frozen
class OrderedProduct:
    """One size of a bread: its orders, the ``pieces`` to make and the scaling weight ``piece_g`` on the divider's scale."""

    orders: tuple[Order, ...]
    pieces: int
    exact_g: float
    piece_g: float

    baked: ClassVar[View] = View(MASS, "baked_g", "The weight of a piece when sold.")
    exact: ClassVar[View] = View(MASS, "exact_g", "The scaling weight before it is put on the scale's step.")
    piece: ClassVar[View] = View(MASS, "piece_g", "The scaling weight: what the divider's scale shows for a piece.")
    dough: ClassVar[View] = View(MASS, "dough_g", "The dough to mix for all its pieces.")

    @property
    def baked_g(self) -> float:
        """The weight of a piece when sold."""
        return self.orders[0].baked_g

    @property
    def losses(self) -> Losses:
        """The losses on its way."""
        return self.orders[0].losses

    @property
    def mixed_g(self) -> float:
        """The dough to mix for one piece: the losses before the divider are allowed for as well."""
        return dough_mass_g(self.piece_g, self.losses.before_divider_left)

    @property
    def dough_g(self) -> float:
        """The dough to mix for all its pieces."""
        return dough_mass_g(self.pieces * self.piece_g, self.losses.before_divider_left)


@frozen
class OrderedMix:
    """``count`` equal mixes: the pieces of each product in one of them, and what to weigh for it."""

    count: int
    pieces: tuple[int, ...]
    batch: Batch


@frozen
class OrderedDough:
    """The dough of one bread: its products, which are divided from it, and its mixes."""

    bread: Formula
    products: tuple[OrderedProduct, ...]
    mixes: tuple[OrderedMix, ...]
    step_g: float
    rounding: Rounding
    capacity_g: float | None
    cautions: tuple[Caution, ...] = ()

    dough: ClassVar[View] = View(MASS, "dough_g", "The dough of all mixes.")
    step: ClassVar[View] = View(MASS, "step_g", "The step of the divider's scale; 0 if it shows any weight.")
    capacity: ClassVar[OptionalView] = OptionalView(
        MASS, "capacity_g", "The most dough that a mix may be, if there is a limit."
    )

    @property
    def dough_g(self) -> float:
        """The dough of all mixes."""
        return math.fsum(product.dough_g for product in self.products)

    @property
    def pieces(self) -> int:
        """All pieces."""
        return sum(product.pieces for product in self.products)

    @property
    def mix_count(self) -> int:
        """The number of mixes."""
        return sum(mix.count for mix in self.mixes)

    def working(self) -> Working:
        """Show every loss from the baked weight to the dough and its mixes; the last line is the dough of all mixes."""
        return Working(
            f"{self.bread.name}: dough for the orders",
            with_units(self._steps(), {"1": "pieces n times"}),
            self.cautions,
        )

    def _steps(self) -> Iterator[Step]:
        one = len(self.products) == 1
        doughs: dict[str, float] = {}
        for number, product in enumerate(self.products, 1):
            steps = order_steps(product.orders, product.pieces, product.piece_g, self.step_g, self.rounding)
            yield from steps if one else numbered(steps, number)
            doughs["dough" if one else f"dough_{number}"] = product.dough_g
        if self.mix_count == 1:
            if not one:
                yield Step("dough", " + ".join(doughs), doughs, self.dough_g, "g", note="one mix for all of them")
            return
        mixed = {f"mixed_{number}": product.mixed_g for number, product in enumerate(self.products, 1)}
        for number, product in enumerate(self.products, 1):
            suffix = "" if one else f"_{number}"
            values = {f"dough{suffix}": product.dough_g, f"pieces{suffix}": float(product.pieces)}
            yield Step(f"mixed_{number}", " / ".join(values), values, product.mixed_g, "g", note="dough for one piece")
        whole: dict[str, float] = {}
        for group, mix in enumerate(self.mixes, 1):
            values = {f"n_{group}_{number}": float(count) for number, count in enumerate(mix.pieces, 1)}
            expression = " + ".join(f"{count} * {each}" for count, each in zip(values, mixed, strict=True))
            most = "" if self.capacity_g is None else f", at most {shown(self.capacity_g)} g"
            note = f"a mix of {sum(mix.pieces)} pieces{most}"
            yield Step(f"mix_{group}", expression, values | mixed, mix.batch.dough_g, "g", note=note)
            whole |= {f"times_{group}": float(mix.count), f"mix_{group}": mix.batch.dough_g}
        names = list(whole)
        expression = " + ".join(f"{times} * {each}" for times, each in zip(names[::2], names[1::2], strict=True))
        yield Step("dough", expression, whole, self.dough_g, "g", note=f"{self.mix_count} mixes")


@frozen
class DoughForOrders:
    """The doughs behind some orders, a bread each, in the order in which they were ordered."""

    breads: tuple[OrderedDough, ...]

    dough: ClassVar[View] = View(MASS, "dough_g", "All the dough to mix.")

    @property
    def dough_g(self) -> float:
        """All the dough to mix."""
        return math.fsum(bread.dough_g for bread in self.breads)

    @property
    def pieces(self) -> int:
        """All pieces."""
        return sum(bread.pieces for bread in self.breads)

    @property
    def mix_count(self) -> int:
        """The number of mixes."""
        return sum(bread.mix_count for bread in self.breads)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """The cautions of all breads, each once."""
        return tuple(dict.fromkeys(caution for bread in self.breads for caution in bread.cautions))

    def working(self) -> Working:
        """Show every step of every bread; the last line is all the dough."""
        if len(self.breads) == 1:
            return self.breads[0].working()
        steps: list[Step] = []
        doughs: dict[str, float] = {}
        for number, bread in enumerate(self.breads, 1):
            steps += numbered(bread.working().steps, number)
            doughs[f"dough_{number}"] = bread.dough_g
        steps.append(Step("all_dough", " + ".join(doughs), doughs, self.dough_g, "g", note="all breads"))
        return Working("Dough for the orders", tuple(steps), self.cautions)


def dough_for_orders(
    orders: Iterable[Order],
    *,
    step: Measure | None = None,
    rounding: Rounding = "up",
    capacity: Measure | None = None,
) -> DoughForOrders:
    """Turn orders into dough: dough = sum of pieces x scaling weight / what the losses before the divider leave.

    The scaling weight is the baked weight before the losses after the divider, on the divider's step.  Handling is lost
    before it: counted again on the scale, it would be given away with every loaf.

    Args:
        orders: at least one; orders of one formula are one dough, those at one baked weight one product.
        step: the step of the divider's scale, to which scaling weights are rounded; left out, it shows any weight.
        rounding: how they are rounded: "up" (no piece is short), "nearest" or "down".
        capacity: the most dough that a mix may be; left out, there is one mix.

    Returns:
        For each bread its products, its dough and the fewest equal mixes, which hold whole pieces, of each product as
        many in one mix as in another but for one piece, which goes to the lightest mix.

    Raises:
        FormulaError: no orders, a bad mass, a piece that no mix holds; all at once.

    Accuracy: exact for the losses as they are given, which are averages: half the loaves lose more.

    Example:
        >>> losses = Losses(handling="2 %", ferment="1 %", bake="11 %", cool="1 %")
        >>> lines = {"bread flour": 100, "water": 70, "salt": 2}
        >>> bread = Formula.from_percents("Quay Round", lines, losses=losses)
        >>> made = dough_for_orders([Order(bread, pieces=600, baked="800 g")], step="5 g", capacity="200 kg")
        >>> product = made.breads[0].products[0]
        >>> round(product.exact_g, 1), product.piece_g, round(made.dough_g), made.mix_count
        (917.1, 920.0, 563265, 3)
    """
    groups: dict[Formula, dict[tuple[float, Losses], list[Order]]] = {}
    with Door(FormulaError) as door:
        step_g = 0.0 if step is None else read_weight(door, step, "step")
        read_choice(door, rounding, "rounding", get_args(Rounding))
        capacity_g = None if capacity is None else read_weight(door, capacity, "capacity")
        for order in orders:
            if isinstance(order, Order):  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
                groups.setdefault(order.bread, {}).setdefault((order.baked_g, order.losses), []).append(order)
            else:
                door.refuse("orders", cited(order), "an Order")
        if not groups:
            door.refuse("orders", "none", "at least one order")
    with Door(FormulaError) as door:
        planned = [
            (bread, [_product(door, tuple(lines), step_g, rounding, capacity_g) for lines in sizes.values()])
            for bread, sizes in groups.items()
        ]
    breads = tuple(
        OrderedDough(
            bread=bread,
            products=tuple(products),
            mixes=_mixes(bread, products, capacity_g),
            step_g=step_g,
            rounding=rounding,
            capacity_g=capacity_g,
            cautions=tuple(_about(bread, products)),
        )
        for bread, products in planned
    )
    return DoughForOrders(breads)


def _product(
    door: Door, orders: tuple[Order, ...], step_g: float, rounding: Rounding, capacity_g: float | None
) -> OrderedProduct:
    first = orders[0]
    exact_g = first.losses.dough_for(write(MASS, first.baked_g)).scaling_weight_g
    piece_g = scaling_weight_g(door, exact_g, step_g, rounding, f"{first.bread.name}: piece")
    product = OrderedProduct(orders, sum(order.pieces_made for order in orders), exact_g, piece_g)
    if capacity_g is not None and product.mixed_g > capacity_g:
        got = f"{write(MASS, product.mixed_g)} of dough for one piece"
        expected = f"at most what a mix may be, {write(MASS, capacity_g)}"
        door.refuse(f"{first.bread.name}: baked", got, expected, "a larger mixer or smaller pieces")
    return product


def _mixes(bread: Formula, products: Sequence[OrderedProduct], capacity_g: float | None) -> tuple[OrderedMix, ...]:
    """Split the pieces over the fewest equal mixes that the capacity allows, the heaviest first."""
    total_g = math.fsum(product.dough_g for product in products)
    count = 1 if capacity_g is None else math.ceil(even(total_g / capacity_g))
    while True:
        dealt = _dealt(products, count)
        if capacity_g is None or dealt[0][0] <= capacity_g * (1 + 1e-12):
            break
        count += 1
    groups: dict[tuple[int, ...], int] = {}
    for _, pieces in dealt:
        groups[pieces] = groups.get(pieces, 0) + 1
    return tuple(
        OrderedMix(times, pieces, bread.scale(dough=write(MASS, _mass_g(products, pieces))))
        for pieces, times in groups.items()
    )


def _dealt(products: Sequence[OrderedProduct], count: int) -> list[tuple[float, tuple[int, ...]]]:
    """Deal the pieces out: as many of each product to every mix, and those over one by one to the lightest mixes."""
    each = [product.pieces // count for product in products]
    mixes = [[*each] for _ in range(count)]
    heaviest = sorted(range(len(products)), key=lambda place: -products[place].mixed_g)
    for place in heaviest:
        mixes.sort(key=lambda pieces: _mass_g(products, pieces))
        for mix in mixes[: products[place].pieces % count]:
            mix[place] += 1
    return sorted(((_mass_g(products, pieces), tuple(pieces)) for pieces in mixes), reverse=True)


def _mass_g(products: Sequence[OrderedProduct], pieces: Sequence[int]) -> float:
    return math.fsum(count * product.mixed_g for count, product in zip(pieces, products, strict=True))


def _about(bread: Formula, products: Sequence[OrderedProduct]) -> Iterator[Caution]:
    for product in products:
        name = f"{bread.name} of {shown(product.baked_g)} g"
        yield from short_scaling(product.exact_g, product.piece_g, name)
        if product.losses.is_none:
            text = (
                f"{name}: no losses are given, so it is scaled at its baked weight and will be lighter when it is sold"
            )
            yield Caution("no-losses", text)
    if any(not product.losses.is_none for product in products):
        text = (
            "the losses are averages: half the loaves weigh less than promised unless the scaling weight allows for the"
            " spread, and how many may, the law of the place decides"
        )
        yield Caution("losses-are-averages", text)
