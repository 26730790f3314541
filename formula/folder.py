"""The day's folder: the files that say what there is to bake with and what is wanted.

It holds ``bakery.toml`` (mixers, scale steps, temperatures), ``orders.toml`` (bread, pieces, baked weight, due time) and
a folder ``breads`` with one formula file a bread, whose file name is how an order calls it.  A ``workshop.toml`` beside
them puts the day on the clock; it has a room of its own.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Final, TypeVar

from attrs import evolve, field, frozen

from .bakery import Bakery, Hour, Mixer
from .catalogue import Catalogue
from .errors import Fault, FileError, FormulaError, cited
from .files import load
from .formula import Formula
from .intake import is_writable, own_file
from .orders import Order
from .quantity import DIFFERENCE, MASS, TEMPERATURE, write
from .tables import Celsius, Grams, Kelvins, lay, read_toml

__all__ = ["bread_files", "day_folder", "load_day", "unknown_breads"]

T = TypeVar("T")
MOST_ORDERED: Final = 50_000
"""Values of a file of orders: six thousand orders, of which a chain has some hundred."""
MOST_LISTED: Final = 50
"""Breads that are listed to who has named one that is not there."""


@frozen
class _MixerTable:
    name: str
    capacity: Grams
    friction: Kelvins
    smallest: Grams = field(factory=lambda: Grams(0.0))
    count: int = 3


@frozen
class _TemperatureTable:
    flour: Celsius
    room: Celsius
    tap: Celsius
    ice: Celsius = field(factory=lambda: Celsius(0.0))


@frozen
class _HourTable:
    since: str
    flour: Celsius | None = None
    room: Celsius | None = None
    tap: Celsius | None = None


@frozen
class _BakeryTable:
    name: str
    temperature: _TemperatureTable
    mixer: tuple[_MixerTable, ...] = ()
    steps: dict[str, Grams] = field(factory=lambda: {"default": Grams(1.0)})
    divider: Grams = field(factory=lambda: Grams(1.0))
    stages: dict[str, Celsius] = field(factory=dict)
    hour: tuple[_HourTable, ...] = ()
    share_doughs: bool = False


@frozen
class _OrderTable:
    bread: str
    pieces: int
    baked: Grams
    due: str = ""
    spares: int = 0


@frozen
class _OrdersTable:
    order: tuple[_OrderTable, ...] = ()


def load_day(folder: str | os.PathLike[str], catalogue: Catalogue | None = None) -> tuple[tuple[Order, ...], Bakery]:
    """Read a day's folder: ``bakery.toml``, ``orders.toml`` and the formula files in ``breads``.

    Args:
        folder: the folder.
        catalogue: what the names mean; a file ``ingredients.toml`` in the folder is laid over it.

    Returns:
        The orders in their written order, and the bakery.

    Raises:
        FileError: with every fault of a file, with its table and key; an order for a bread that has no file.

    Example:
        >>> orders, bakery = load_day("docs/examples/harbour")
        >>> orders[0].bread.name, bakery.mixers[0].name
        ('Quay Round', 'the big spiral')
    """
    place = day_folder(folder)
    faults: list[Fault] = []

    def reading(read: Callable[[], T]) -> T | None:
        """Read one file; what is wrong with it is told with the faults of the others."""
        try:
            return read()
        except FormulaError as error:
            faults.extend(error.faults)
            return None

    larder: Catalogue | None = catalogue or Catalogue()
    # A link that leads nowhere is told of, not passed over: the file may hold allergens.
    if os.path.lexists(place / "ingredients.toml"):
        larder = reading(lambda: (catalogue or Catalogue()).with_file(own_file(place, "ingredients.toml")))
    bakery = reading(lambda: _read_bakery(own_file(place, "bakery.toml")))
    table = reading(lambda: _laid_orders(own_file(place, "orders.toml")))
    breads: dict[str, Formula | None] = {}
    if larder is not None and table is not None:
        files = bread_files(place)
        wanted = {line.bread for line in table.order}
        for name, file in files.items():
            if name in wanted:
                breads[name] = reading(partial(_own_bread, place, file, larder))
        named = {f"order[{number}]": line.bread for number, line in enumerate(table.order)}
        faults += unknown_breads(named, files, str(place / "orders.toml"))
    if bakery is not None and larder is not None:
        larders = [larder, *(bread.catalogue for bread in breads.values() if bread)]
        faults += _unknown_steps(bakery, larders, str(place / "bakery.toml"))
    orders = [] if table is None else _orders(table, breads, str(place / "orders.toml"), faults)
    if faults or bakery is None:
        raise FileError(*faults)
    return tuple(orders), bakery


def day_folder(folder: str | os.PathLike[str]) -> Path:
    """Return the path of a day's folder; one that is not there is refused."""
    place = Path(folder)
    if not place.is_dir():
        expected = "a folder with bakery.toml, orders.toml and breads/"
        raise FileError(Fault(str(place), "no folder", expected, "check the path"))
    return place


def bread_files(place: Path) -> dict[str, Path]:
    """Return the formula files of a day's folder under the names by which orders call them."""
    # No order can name a file whose name is not UTF-8.
    return {file.stem: file for file in sorted((place / "breads").glob("*.toml")) if is_writable(file.name)}


def unknown_breads(named: Mapping[str, str], files: Mapping[str, Path], where: str) -> Iterator[Fault]:
    """Tell of the tables of a file (table -> bread) that name a bread without a formula file."""
    known = ", ".join(islice(files, MOST_LISTED)) or "none"
    known += f" and {len(files) - MOST_LISTED} more" if len(files) > MOST_LISTED else ""
    for table, bread in named.items():
        if bread not in files:
            yield Fault(f"{where}: {table}.bread", cited(bread), f"one of the files in breads: {known}")


def _own_bread(place: Path, file: Path, larder: Catalogue) -> Formula:
    return load(own_file(place, file.relative_to(place)), larder)


def _unknown_steps(bakery: Bakery, larders: list[Catalogue], where: str) -> Iterator[Fault]:
    """Tell of steps for what is no ingredient: a slip of the pen would leave its line on the coarse scale."""
    for line in bakery.steps_g:
        if line != "default" and not any(line in larder for larder in larders):
            yield Fault(f"{where}: steps.{line}", repr(line), "an ingredient, or default for all others")


def _orders(table: _OrdersTable, breads: Mapping[str, Formula | None], file: str, faults: list[Fault]) -> list[Order]:
    orders: list[Order] = []
    for number, line in enumerate(table.order):
        bread = breads.get(line.bread)
        if bread is None:
            continue
        where = f"{file}: order[{number}]"
        baked = write(MASS, line.baked)
        try:
            orders.append(Order(bread, pieces=line.pieces, baked=baked, due=line.due, spares=line.spares, where=where))
        except FormulaError as error:
            faults += [evolve(fault, where=f"{where} ({fault.where})") for fault in error.faults]
    return orders


def _laid_orders(file: Path) -> _OrdersTable:
    table = lay(read_toml(file, MOST_ORDERED), _OrdersTable, str(file))
    if not table.order:
        raise FileError(Fault(str(file), "no orders", "at least one [[order]] table"))
    return table


def _read_bakery(file: Path) -> Bakery:
    table = lay(read_toml(file), _BakeryTable, str(file))
    try:
        return Bakery(
            table.name,
            mixers=[
                Mixer(
                    m.name,
                    capacity=write(MASS, m.capacity),
                    smallest=write(MASS, m.smallest),
                    friction=write(DIFFERENCE, m.friction),
                    count=m.count,
                )
                for m in table.mixer
            ],
            flour=write(TEMPERATURE, table.temperature.flour),
            room=write(TEMPERATURE, table.temperature.room),
            tap=write(TEMPERATURE, table.temperature.tap),
            ice=write(TEMPERATURE, table.temperature.ice),
            steps={line: write(MASS, step) for line, step in table.steps.items()},
            divider=write(MASS, table.divider),
            stages={stage: write(TEMPERATURE, value) for stage, value in table.stages.items()},
            hours=[Hour(each.since, **_told(flour=each.flour, room=each.room, tap=each.tap)) for each in table.hour],
            share_doughs=table.share_doughs,
        )
    except FormulaError as error:
        raise FileError(
            *(Fault(f"{file}: {fault.where}", fault.got, fault.expected, fault.fix) for fault in error.faults)
        ) from None


def _told(**celsius: float | None) -> dict[str, str]:
    return {name: write(TEMPERATURE, value) for name, value in celsius.items() if value is not None}
