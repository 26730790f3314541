"""The process of a bread: how long each part of its way takes, who does it, and how far a wait may be stretched.

Times are whole minutes, rounded up, because a shift reads them off a clock.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from copy import copy
from typing import ClassVar, Final

from attrs import field, frozen

from .errors import FormulaError
from .lines import Lines
from .quantity import TIME, Door, Measure, View, write

__all__ = ["Process", "Wait", "busy_min", "minutes_up"]


def minutes_up(time_h: float) -> int:
    """Return a time as whole minutes, rounded up; a hair over a minute is that minute.

    Example:
        >>> minutes_up(0.75), minutes_up(0.751)
        (45, 46)
    """
    return math.ceil(round(time_h * 60, 6))


def busy_min(pieces: int, rate: int, people: int = 1) -> int:
    """Return the minutes that people need for some pieces: pieces / (rate * people) hours, rounded up.

    Args:
        pieces: how many there are.
        rate: how many one person does in an hour.
        people: how many work at it together.

    Example:
        >>> busy_min(165, 220, 3)
        15
    """
    # Divided downwards and negated twice: rounded up, in whole numbers.
    return -(-60 * pieces // (rate * people))


@frozen(init=False)
class Wait:
    """A wait with room in it: the best time, and how much earlier or later will still do.

    Args:
        best: the time it should take.
        earliest: the shortest; the best if left out.
        latest: the longest; the best if left out.

    Raises:
        FormulaError: every bad argument at once, a latest before the earliest among them.

    Example:
        >>> proof = Wait("1 h", earliest="50 min", latest="1 h 20 min")
        >>> proof.earliest_min, proof.best_min, proof.latest_min
        (50, 60, 80)
    """

    earliest_min: int
    best_min: int
    latest_min: int

    def __init__(
        self, best: Measure, *, earliest: Measure | None = None, latest: Measure | None = None, where: str = "wait"
    ) -> None:
        """Read the three times; ``where`` names the wait in messages."""
        with Door(FormulaError) as door:
            best_h = door.read(TIME, best, where)
            earliest_h = best_h if earliest is None else door.read(TIME, earliest, f"{where}: earliest")
            latest_h = best_h if latest is None else door.read(TIME, latest, f"{where}: latest")
            if not door.faults and not earliest_h <= best_h <= latest_h:
                got = ", ".join(write(TIME, each) for each in (earliest_h, best_h, latest_h))
                door.refuse(where, f"earliest, best and latest {got}", "times in this order")
        for name, time_h in (("earliest_min", earliest_h), ("best_min", best_h), ("latest_min", latest_h)):
            object.__setattr__(self, name, minutes_up(time_h))

    @property
    def best_h(self) -> float:
        """The time it should take, h."""
        return self.best_min / 60

    @property
    def earliest_h(self) -> float:
        """The shortest time, h."""
        return self.earliest_min / 60

    @property
    def latest_h(self) -> float:
        """The longest time, h."""
        return self.latest_min / 60

    best: ClassVar[View] = View(TIME, "best_h", "The time it should take.")
    earliest: ClassVar[View] = View(TIME, "earliest_h", "The shortest time.")
    latest: ClassVar[View] = View(TIME, "latest_h", "The longest time.")


NOTHING: Final = Wait("0 min")


@frozen(init=False)
class Process:
    """What happens to a bread between the mixer and the door, and how long it takes.

    Args:
        mix: mixing.
        bulk: bulk fermentation, as a time or a ``Wait``.
        divide: pieces that one person (or the machine) divides in an hour; 0 if it is not divided.
        shape: pieces that one person shapes in an hour; 0 if it is not shaped by hand.
        proof: from shaping to the oven, as a time or a ``Wait``.
        bake: in the oven.
        loads: oven -> pieces that it takes in one load.
        cool: from the oven until it may be sliced or packed: a core that is cool enough.
        autolyse: flour and water stand in the mixer before mixing.
        folds: when the dough is folded, counted from the end of mixing.
        divide_people: how many divide together.
        rest: bench rest from dividing to shaping, as a time or a ``Wait``.
        shape_people: how many shape together.
        slice: pieces sliced in an hour; 0 if it is not sliced.
        pack: pieces packed in an hour; 0 if packing is not counted.
        stages: stage -> the time it ripens before the mix, as a time or a ``Wait``.
        gear: gear (baskets, tins, boards) -> "proof" if it is free when the load goes in, "bake" if when it comes out;
            one for each piece.

    Raises:
        FormulaError: every bad argument at once.

    Example:
        >>> made = Process(
        ...     mix="12 min", bulk=Wait("1 h", latest="2 h"), divide=900, proof="1 h", bake="35 min", loads={"deck": 120}
        ... )
        >>> made.bulk.latest_min, made.loads["deck"]
        (120, 120)
    """

    mix_min: int
    bulk: Wait
    divide_rate: int
    shape_rate: int
    proof: Wait
    bake_min: int
    loads: Lines[int]
    cool_min: int
    autolyse_min: int
    folds_min: tuple[int, ...]
    divide_people: int
    rest: Wait
    shape_people: int
    slice_rate: int
    pack_rate: int
    stages: Lines[Wait]
    gear: Lines[str] = field(factory=Lines)

    def __init__(
        self,
        *,
        mix: Measure,
        bulk: Measure | Wait,
        divide: int = 0,
        shape: int = 0,
        proof: Measure | Wait,
        bake: Measure,
        loads: Mapping[str, int],
        cool: Measure = "0 min",
        autolyse: Measure = "0 min",
        folds: Iterable[Measure] = (),
        divide_people: int = 1,
        rest: Measure | Wait = "0 min",
        shape_people: int = 1,
        slice: int = 0,  # noqa: A002 - the baker's word
        pack: int = 0,
        stages: Mapping[str, Measure | Wait] | None = None,
        gear: Mapping[str, str] | None = None,
        where: str = "",
    ) -> None:
        """Read every argument and tell of all the bad ones at once; ``where`` names the bread in messages."""
        at = f"{where}: " if where else ""
        with Door(FormulaError) as door:
            times = {
                name: _minutes(door, value, f"{at}{name}")
                for name, value in (("mix", mix), ("bake", bake), ("cool", cool), ("autolyse", autolyse))
            }
            waits = {
                name: _wait(door, value, f"{at}{name}")
                for name, value in (("bulk", bulk), ("rest", rest), ("proof", proof))
            }
            folds_min = tuple(_minutes(door, value, f"{at}folds[{n}]") for n, value in enumerate(folds))
            ripe = {name: _wait(door, value, f"{at}stages: {name}") for name, value in (stages or {}).items()}
            rates = {"divide": divide, "shape": shape, "slice": slice, "pack": pack}
            people = {"divide_people": divide_people, "shape_people": shape_people}
            for name, count in rates.items():
                _count(door, count, f"{at}{name}", 0, "pieces an hour")
            for name, count in people.items():
                _count(door, count, f"{at}{name}", 1, "people")
            for name, count in loads.items():
                _count(door, count, f"{at}loads: {name}", 1, "pieces in a load")
            if not loads:
                door.refuse(f"{at}loads", "none", "the pieces that at least one oven takes")
            for name in ("mix", "bake"):
                if times[name] == 0 and not door.faults:
                    door.refuse(f"{at}{name}", "0 min", "a time above zero")
            for fold in folds_min:
                if fold > waits["bulk"].latest_min and not door.faults:
                    expected = f"within the bulk fermentation of {waits['bulk'].latest_min} min"
                    door.refuse(f"{at}folds", f"{fold} min", expected)
            for name, until in (gear or {}).items():
                if until not in ("proof", "bake"):
                    door.refuse(f"{at}gear: {name}", repr(until), 'until when it is used: "proof" or "bake"')
        facts: dict[str, object] = {f"{name}_min": value for name, value in times.items()}
        facts.update({f"{name}_rate": count for name, count in rates.items()}, **people, **waits)
        facts |= {"folds_min": folds_min, "loads": Lines(loads), "stages": Lines(ripe), "gear": Lines(gear or {})}
        for name, value in facts.items():
            object.__setattr__(self, name, value)

    def with_waits(self, bulk: Wait, rest: Wait, proof: Wait) -> Process:
        """Return the same process with other waits."""
        made = copy(self)
        for name, wait in (("bulk", bulk), ("rest", rest), ("proof", proof)):
            object.__setattr__(made, name, wait)
        return made


def _minutes(door: Door, value: Measure, where: str) -> int:
    time_h = door.read(TIME, value, where)
    return 0 if math.isnan(time_h) else minutes_up(time_h)


def _wait(door: Door, value: Measure | Wait, where: str) -> Wait:
    if isinstance(value, Wait):
        return value
    try:
        return Wait(value, where=where)
    except FormulaError as error:
        door.faults.extend(error.faults)
        return NOTHING


def _count(door: Door, count: object, where: str, least: int, what: str) -> None:
    if isinstance(count, bool) or not isinstance(count, int) or count < least:
        door.refuse(where, repr(count), f"a whole number of {what}, {least} or more")
