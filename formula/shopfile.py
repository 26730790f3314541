"""The workshop's file: ``workshop.toml`` in a day's folder, which puts the day on the clock.

It says when the shop opens, which ovens, people, places and gear there are, and for each bread how it is made and how long
every part of that takes.  A bread is called by its file name, as in the orders.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import ClassVar, TypeVar

from attrs import evolve, field, frozen

from .errors import Fault, FileError, FormulaError
from .folder import bread_files, day_folder, unknown_breads
from .intake import own_file
from .process import Process, Wait
from .quantity import MASS, SHARE, TIME, Door, write
from .tables import Grams, Hours, Share, lay, read_toml
from .workshop import Oven, Shift, Workshop

__all__ = ["load_workshop"]

T = TypeVar("T")
NO_TIME = Hours(0.0)


@frozen
class _WaitTable:
    """A wait: its best time alone, or with an earliest and a latest."""

    SHORT: ClassVar = "best"
    best: Hours
    earliest: Hours | None = None
    latest: Hours | None = None

    @property
    def longest_h(self) -> float:
        """The longest of its times."""
        return max(self.best, self.earliest or 0.0, self.latest or 0.0)


@frozen
class _OvenTable:
    name: str
    turn_round: Hours = NO_TIME
    fired: tuple[str, ...] = ()
    firing: Hours = NO_TIME
    lasts: Hours | None = None
    slows: Share = field(factory=lambda: Share(0.0))


@frozen
class _ShiftTable:
    begin: str
    end: str
    people: int
    breaks: tuple[tuple[str, ...], ...] = ()


@frozen
class _ProcessTable:
    bread: str
    mix: Hours
    bulk: _WaitTable
    proof: _WaitTable
    bake: Hours
    loads: dict[str, int]
    baked: Grams | None = None
    divide: int = 0
    shape: int = 0
    cool: Hours = NO_TIME
    autolyse: Hours = NO_TIME
    folds: tuple[Hours, ...] = ()
    divide_people: int = 1
    rest: _WaitTable = field(factory=lambda: _WaitTable(NO_TIME))
    shape_people: int = 1
    slice: int = 0
    pack: int = 0
    stages: dict[str, _WaitTable] = field(factory=dict)
    gear: dict[str, str] = field(factory=dict)


@frozen
class _WorkshopTable:
    opens: str
    date: str = ""
    zone: str = ""
    proof_places: int | None = None
    cool_places: int | None = None
    tubs: int | None = None
    turn_round: Hours = NO_TIME
    cleaning: Hours = NO_TIME
    slicers: int = 1
    packers: int = 1
    gear: dict[str, int] = field(factory=dict)
    gear_return: Hours = NO_TIME
    oven: tuple[_OvenTable, ...] = ()
    shift: tuple[_ShiftTable, ...] = ()
    process: tuple[_ProcessTable, ...] = ()


def load_workshop(folder: str | os.PathLike[str], *, date: str = "") -> Workshop | None:
    """Read ``workshop.toml`` of a day's folder: hours, ovens, shifts, places, gear, and the process of each bread.

    Args:
        folder: the day's folder, with ``breads`` in it.
        date: the day of the deliveries, "2026-11-25", in the place of the file's.

    Returns:
        The workshop; a day whose folder has no such file has no clock, and this answers None.

    Raises:
        FileError: with every fault of the file, with its table and key; a process for a bread that has no file, or with an
            oven or gear that is not there.

    Example:
        >>> from tempfile import TemporaryDirectory
        >>> with TemporaryDirectory() as folder:
        ...     print(load_workshop(folder))
        None
    """
    place = day_folder(folder)
    if not os.path.lexists(place / "workshop.toml"):
        return None
    file = own_file(place, "workshop.toml")
    table = lay(read_toml(file), _WorkshopTable, str(file))
    if date:
        table = evolve(table, date=date)
    reading = _Reading(str(file))
    called = {f"process[{number}]": each for number, each in enumerate(table.process)}
    reading.faults += unknown_breads({at: each.bread for at, each in called.items()}, bread_files(place), str(file))
    names = reading.names(called, place)
    shop = reading.workshop(table, {names[at]: (at, each) for at, each in called.items() if at in names})
    if shop is None or reading.faults:
        raise FileError(*dict.fromkeys(reading.faults))
    return shop


class _Reading:
    """Makes the parts of a workshop from their tables, and gathers what is wrong with them."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[Fault] = []

    def attempt(self, at: str, make: Callable[[], T]) -> T | None:
        """Return what is made of a table, or None with its faults kept."""
        try:
            return make()
        except FormulaError as error:
            self.faults += [evolve(fault, where=f"{self.file}: {at} ({fault.where})") for fault in error.faults]
            return None

    def names(self, called: Mapping[str, _ProcessTable], place: Path) -> dict[str, str]:
        """Return what the plan calls the bread of each process: its name, with the weight where the process is for one."""
        names: dict[str, str] = {}
        files, breads, taken = bread_files(place), dict[str, str](), set[str]()
        for at, each in called.items():
            if each.bread not in files:
                continue
            if each.bread not in breads:
                try:
                    file = own_file(place, files[each.bread].relative_to(place))
                    breads[each.bread] = str(read_toml(file).get("name", each.bread))
                except FileError as error:
                    self.faults += error.faults
                    breads[each.bread] = each.bread
            bread = breads[each.bread]
            name = bread if each.baked is None else f"{bread} {write(MASS, each.baked)}"
            if name in taken:
                self.faults.append(Fault(f"{self.file}: {at}", f"a second process for {name}", "one", "leave one out"))
            taken.add(name)
            names[at] = name
        return names

    def workshop(self, table: _WorkshopTable, called: Mapping[str, tuple[str, _ProcessTable]]) -> Workshop | None:
        """Make the workshop of its parts; a part that cannot be made is left out, once its faults are kept."""
        ovens = [self.oven(f"oven[{number}]", each) for number, each in enumerate(table.oven)]
        shifts = [self.attempt(f"shift[{number}]", partial(_shift, each)) for number, each in enumerate(table.shift)]
        processes = {name: self.process(at, each) for name, (at, each) in called.items()}
        try:
            return Workshop(
                opens=table.opens,
                ovens=ovens,
                processes={name: process for name, process in processes.items() if process},
                shifts=[shift for shift in shifts if shift],
                proof_places=table.proof_places,
                cool_places=table.cool_places,
                tubs=table.tubs,
                turn_round=write(TIME, table.turn_round),
                cleaning=write(TIME, table.cleaning),
                slicers=table.slicers,
                packers=table.packers,
                gear=table.gear,
                gear_return=write(TIME, table.gear_return),
                day=table.date,
                zone=table.zone,
            )
        except FormulaError as error:
            for fault in error.faults:
                head, colon, key = fault.where.partition(": ")
                where = f"{called[head][0]} ({key})" if colon and head in called else fault.where
                self.faults.append(evolve(fault, where=f"{self.file}: {where}"))
            return None

    def oven(self, at: str, table: _OvenTable) -> Oven:
        """Make an oven; in the place of one that cannot be made stands a plain one, so that its name is known."""
        lasts = None if table.lasts is None else write(TIME, table.lasts)
        made = self.attempt(
            at,
            lambda: Oven(
                table.name,
                turn_round=write(TIME, table.turn_round),
                fired=table.fired,
                firing=write(TIME, table.firing),
                lasts=lasts,
                slows=write(SHARE, table.slows),
            ),
        )
        return made or Oven(table.name if table.name.strip() else at)

    def process(self, at: str, table: _ProcessTable) -> Process | None:
        """Make the process of a bread."""
        bulk, rest, proof = (self.wait(at, name, getattr(table, name)) for name in ("bulk", "rest", "proof"))
        stages = {name: self.wait(at, f"stages: {name}", each) for name, each in table.stages.items()}
        return self.attempt(
            at,
            lambda: Process(
                mix=write(TIME, table.mix),
                bulk=bulk,
                divide=table.divide,
                shape=table.shape,
                proof=proof,
                bake=write(TIME, table.bake),
                loads=table.loads,
                cool=write(TIME, table.cool),
                autolyse=write(TIME, table.autolyse),
                folds=[write(TIME, fold) for fold in table.folds],
                divide_people=table.divide_people,
                rest=rest,
                shape_people=table.shape_people,
                slice=table.slice,
                pack=table.pack,
                stages=stages,
                gear=table.gear,
            ),
        )

    def wait(self, at: str, name: str, table: _WaitTable) -> Wait:
        """Make a wait; in the place of one whose times stand in no order, its longest time."""
        times = {
            key: write(TIME, each)
            for key, each in (("earliest", table.earliest), ("latest", table.latest))
            if each is not None
        }
        made = self.attempt(at, lambda: Wait(write(TIME, table.best), **times, where=name))
        return made or Wait(write(TIME, table.longest_h))


def _shift(table: _ShiftTable) -> Shift:
    with Door(FormulaError) as door:
        for number, each in enumerate(table.breaks):
            if len(each) != 2:
                door.refuse(f"breaks[{number}]", f"{len(each)} times", "when it begins and when it ends")
    return Shift(table.begin, table.end, people=table.people, breaks=[(each[0], each[1]) for each in table.breaks])
