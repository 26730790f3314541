"""The stock: what the day takes of every ingredient, in sacks, and what to order when too little is left after it."""

from __future__ import annotations

import math
import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, ClassVar, Final

from attrs import field, frozen

from .catalogue import Catalogue
from .counting import even
from .day import DayPlan
from .errors import Fault, FormulaError, UnknownNameError
from .evening import StageBuilds
from .lines import Lines
from .quantity import MASS, Door, Measure, OptionalView, View, write
from .readerunits import with_units
from .tables import Grams, lay, read_toml
from .working import Caution, Step, Working, shown

__all__ = ["ReadyLine", "ReadyList", "Stock", "load_stock", "to_have_ready"]

_UNITS: Final = {"g": "needed sack on_hand point"}


@frozen(init=False)
class Stock:
    """What is known of one ingredient in the store.

    Args:
        sack: what a sack, can or box of it weighs; none for what comes loose, such as water.
        on_hand: what there is now; none if nobody has counted.
        order_point: when less than this is left after the day, it is ordered, so that at least this much is there again.

    Raises:
        FormulaError: every bad argument at once; an order point without what is on hand.

    Example:
        >>> Stock(sack="25 kg", on_hand="210 kg", order_point="150 kg").on_hand_g
        210000.0
    """

    sack_g: float | None
    on_hand_g: float | None
    order_point_g: float | None

    def __init__(
        self,
        *,
        sack: Measure | None = None,
        on_hand: Measure | None = None,
        order_point: Measure | None = None,
        where: str = "",
    ) -> None:
        """Read every argument and tell of all the bad ones at once; ``where`` names the ingredient in messages."""
        at = f"{where}: " if where else ""
        with Door(FormulaError) as door:
            for name, value in (("sack", sack), ("on_hand", on_hand), ("order_point", order_point)):
                grams = None if value is None else door.read(MASS, value, f"{at}{name}")
                object.__setattr__(self, f"{name}_g", grams)
            if self.sack_g == 0:
                door.refuse(f"{at}sack", "0 g", "a weight above zero")
            if order_point is not None and on_hand is None:
                door.refuse(f"{at}order_point", "no on_hand", "what there is of it now", "count it")

    sack: ClassVar[OptionalView] = OptionalView(MASS, "sack_g", "What a sack of it weighs.")
    on_hand: ClassVar[OptionalView] = OptionalView(MASS, "on_hand_g", "What there is now.")
    order_point: ClassVar[OptionalView] = OptionalView(
        MASS, "order_point_g", "The least that may be left after the day."
    )


UNKNOWN = Stock()


@frozen
class ReadyLine:
    """One ingredient of the day: what it takes, and what that leaves in the store; what is not known is None."""

    name: str
    needed_g: float
    stock: Stock = UNKNOWN

    needed: ClassVar[View] = View(MASS, "needed_g", "What the day takes.")

    @property
    def sacks(self) -> int | None:
        """The sacks to have ready: what the day takes, rounded up."""
        return None if self.stock.sack_g is None else math.ceil(even(self.needed_g / self.stock.sack_g))

    @property
    def left_g(self) -> float | None:
        """What is left after the day; below zero where it does not last."""
        return None if self.stock.on_hand_g is None else self.stock.on_hand_g - self.needed_g

    @property
    def missing_g(self) -> float:
        """What the day lacks, as far as somebody has counted."""
        return max(0.0, -(self.left_g or 0.0))

    @property
    def order_g(self) -> float:
        """What to order: up to the order point again where less is left, or what the day lacks; not yet in sacks."""
        wanted_g = self.stock.order_point_g or 0.0
        return 0.0 if self.left_g is None or self.left_g >= wanted_g else wanted_g - self.left_g

    @property
    def order_sacks(self) -> int | None:
        """The sacks to order; None where no sack is known."""
        return None if self.stock.sack_g is None else math.ceil(even(self.order_g / self.stock.sack_g))

    left: ClassVar[OptionalView] = OptionalView(MASS, "left_g", "What is left after the day.")
    missing: ClassVar[View] = View(MASS, "missing_g", "What the day lacks.")
    order: ClassVar[View] = View(MASS, "order_g", "What to order.")

    def steps(self, mark: str = "") -> Iterable[Step]:
        """Yield the steps from what the day takes to what to order, their names ending in a mark."""
        needed = {f"needed{mark}": self.needed_g}
        yield Step(
            f"needed{mark}",
            f"needed{mark}",
            needed,
            self.needed_g,
            "g",
            note=f"{self.name}: all stages, mixes, toppings",
        )
        sack = {} if self.stock.sack_g is None else {f"sack{mark}": self.stock.sack_g}
        if self.sacks is not None:
            expression = f"ceil(needed{mark} / sack{mark})"
            yield Step(f"sacks{mark}", expression, {**needed, **sack}, float(self.sacks), "", note="to have ready")
        if self.left_g is None:
            return
        values = {f"on_hand{mark}": self.stock.on_hand_g or 0.0, **needed}
        yield Step(f"left{mark}", f"on_hand{mark} - needed{mark}", values, self.left_g, "g", note="after the day")
        point = {f"point{mark}": self.stock.order_point_g or 0.0, f"left{mark}": self.left_g}
        expression = f"max(0, point{mark} - left{mark})"
        yield Step(f"order{mark}", expression, point, self.order_g, "g", note="point: the least that may be left")
        if self.order_sacks is not None:
            values = {f"order{mark}": self.order_g, **sack}
            expression = f"ceil(order{mark} / sack{mark})"
            yield Step(f"order_sacks{mark}", expression, values, float(self.order_sacks), "", note="to order")

    def working(self) -> Working:
        """Show the steps; the last line is the sacks (or grams) to order, or to have ready where nobody has counted."""
        return Working(f"{self.name}: to have ready", with_units(self.steps(), _UNITS))


@frozen
class ReadyList:
    """What to have ready for a day, the most first."""

    lines: tuple[ReadyLine, ...]
    cautions: tuple[Caution, ...] = ()

    def line(self, name: str) -> ReadyLine:
        """Return the line of an ingredient by its name in the catalogue.

        Raises:
            UnknownNameError: when there is none.
        """
        for line in self.lines:
            if line.name == name:
                return line
        known = ", ".join(line.name for line in self.lines)
        raise UnknownNameError(Fault("ingredient", repr(name), f"one of: {known}"))

    @property
    def to_order(self) -> tuple[ReadyLine, ...]:
        """The lines of which something is to be ordered."""
        return tuple(line for line in self.lines if line.order_g > 0)

    @property
    def needed_g(self) -> float:
        """All that the day takes."""
        return math.fsum(line.needed_g for line in self.lines)

    needed: ClassVar[View] = View(MASS, "needed_g", "All that the day takes.")

    def working(self) -> Working:
        """Show the steps of every line; the last line is all that the day takes."""
        steps: list[Step] = []
        for number, line in enumerate(self.lines, 1):
            steps += line.steps(f"_{number}")
        needed = {f"needed_{number}": line.needed_g for number, line in enumerate(self.lines, 1)}
        steps.append(Step("needed", " + ".join(needed), needed, self.needed_g, "g", note="all together"))
        return Working("To have ready", with_units(steps, _UNITS), self.cautions)

    def to_tables(self) -> dict[str, Any]:
        """Return the list as plain tables for other programs; weights in g, None for what is not known."""
        return {
            "ingredients": [
                {
                    "ingredient": line.name,
                    "needed_g": line.needed_g,
                    "sack_g": line.stock.sack_g,
                    "sacks": line.sacks,
                    "on_hand_g": line.stock.on_hand_g,
                    "left_g": line.left_g,
                    "missing_g": line.missing_g,
                    "order_point_g": line.stock.order_point_g,
                    "order_g": line.order_g,
                    "order_sacks": line.order_sacks,
                }
                for line in self.lines
            ],
            "cautions": [{"code": caution.code, "text": caution.text} for caution in self.cautions],
        }


def to_have_ready(day: DayPlan | StageBuilds, stock: Mapping[str, Stock] | None = None) -> ReadyList:
    """List what the day takes of every ingredient, in sacks, and what to order.

    sacks = needed / sack, rounded up; left = on hand - needed; where less than the order point is left, sacks to order =
    (order point - left) / sack, rounded up, so that at least the order point is there again.

    Args:
        day: the day's plan, or its builds, which add what is lost of the stages that are built.
        stock: ingredient -> what is known of it, from ``load_stock`` or written down; under any of its names.

    Returns:
        A line for every ingredient of the day, toppings included, and for whatever else there is stock of.

    Raises:
        UnknownNameError: stock of what is no ingredient of the catalogues of the day's breads.
        FormulaError: an ingredient twice, under two names.

    Example:
        >>> from formula.bakery import Bakery, Mixer
        >>> from formula.day import plan_day
        >>> from formula.formula import Formula
        >>> from formula.orders import Order
        >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70})
        >>> shop = Bakery("B", mixers=[Mixer("arm", capacity="90 kg", friction="12 K")], flour="20 °C", room="22 °C", tap="14 °C")
        >>> day = plan_day([Order(loaf, pieces=100, baked="850 g")], shop)
        >>> flour = to_have_ready(day, {"bread flour": Stock(sack="25 kg", on_hand="80 kg", order_point="100 kg")}).lines[0]
        >>> flour.needed_g, flour.sacks, flour.left_g, flour.order_sacks
        (50000.0, 2, 30000.0, 3)
    """
    plan = day.table.day if isinstance(day, StageBuilds) else day
    known = _by_name(stock or {}, [bread.bread.catalogue for bread in plan.breads])
    needed = {**dict.fromkeys(known, 0.0), **day.ingredients_g}
    lines = [ReadyLine(name, needed_g, known.get(name, UNKNOWN)) for name, needed_g in needed.items()]
    lines.sort(key=lambda line: -line.needed_g)
    cautions = [
        Caution(
            "short-today",
            f"{line.name}: {shown(line.missing_g / 1000)} kg of {shown(line.needed_g / 1000)} kg are missing for today; an order may come too late",
        )
        for line in lines
        if line.missing_g > 0
    ]
    return ReadyList(tuple(lines), tuple(cautions))


def _by_name(stock: Mapping[str, Stock], catalogues: list[Catalogue]) -> dict[str, Stock]:
    found: dict[str, Stock] = {}
    with Door(UnknownNameError) as door:
        for written, each in stock.items():
            name = next((larder.find(written).name for larder in catalogues if written in larder), None)
            if name is None:
                door.refuse(
                    f"stock: {written}", "no ingredient of the catalogue", "one of its names", "check the spelling"
                )
            elif name in found:
                door.refuse(f"stock: {written}", f"{name} a second time", "each ingredient once", "add them up")
            else:
                found[name] = each
    return found


@frozen
class _StockTable:
    sack: Grams | None = None
    on_hand: Grams | None = None
    order_point: Grams | None = None


@frozen
class _StockFile:
    stock: dict[str, _StockTable] = field(factory=dict)


def load_stock(path: str | os.PathLike[str]) -> Lines[Stock]:
    """Read a file of what is in store: a table ``[stock."bread flour"]`` an ingredient, with sack, on_hand, order_point.

    Args:
        path: a TOML file, such as ``stock.toml``.

    Raises:
        FileError: with every fault of the file, with its table and key.
        FormulaError: an order point without what is on hand.

    Example:
        >>> load_stock("docs/examples/harbour/stock.toml")["bread flour"].sack_g
        25000.0
    """
    place = Path(path)
    table = lay(read_toml(place), _StockFile, str(place))

    def text(grams: float | None) -> str | None:
        return None if grams is None else write(MASS, grams)

    found: list[tuple[str, Stock]] = []
    with Door(FormulaError) as door:
        for name, each in table.stock.items():
            try:
                sack, on_hand, point = (text(grams) for grams in (each.sack, each.on_hand, each.order_point))
                found.append((name, Stock(sack=sack, on_hand=on_hand, order_point=point, where=f"{place}: {name}")))
            except FormulaError as error:
                door.faults.extend(error.faults)
    return Lines(found)
