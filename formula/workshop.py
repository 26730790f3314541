"""The workshop: ovens, people, places and hours, and the process of every bread that is made there."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import Final

from attrs import frozen

from .bookings import FOREVER
from .errors import FormulaError, cited
from .lines import Lines
from .process import Process, minutes_up
from .quantity import SHARE, TIME, Door, Measure
from .timeofday import WallClock, clock, read_clock

__all__ = ["Oven", "Shift", "Workshop", "check_gear", "check_ovens"]

_COUNTED: Final = ("proof_places", "cool_places", "tubs", "slicers", "packers")


@frozen(init=False)
class Oven:
    """An oven: how long it stands between two loads, and, where it is fired and then baked in, its firings.

    Args:
        name: what the bakers call it.
        turn_round: from drawing one load to setting the next: unloading, loading, getting its heat back.
        fired: when a firing begins; none for an oven that is heated while it bakes.
        firing: how long a firing takes, during which nothing is baked.
        lasts: how long the heat of a firing bakes bread.
        slows: how much longer a bread bakes for every hour since the firing: a share of its bake time.

    Raises:
        FormulaError: every bad argument at once.

    Example:
        >>> clay = Oven("the clay oven", turn_round="2 min", fired=["01:00"], firing="1 h", lasts="3 h", slows="20 %")
        >>> clay.bake_min(10, at=120), clay.bake_min(10, at=180)
        (10, 12)
    """

    name: str
    turn_round_min: int
    fired_min: tuple[int, ...]
    firing_min: int
    lasts_min: int
    slows_share: float

    def __init__(
        self,
        name: str,
        *,
        turn_round: Measure = "0 min",
        fired: Iterable[str] = (),
        firing: Measure = "0 min",
        lasts: Measure | None = None,
        slows: Measure = "0 %",
    ) -> None:
        """Read every argument and tell of all the bad ones at once."""
        at = f"oven {name}"
        with Door(FormulaError) as door:
            _name(door, name, "oven")
            turn_h = door.read(TIME, turn_round, f"{at}: turn_round")
            firing_h = door.read(TIME, firing, f"{at}: firing")
            lasts_h = 0.0 if lasts is None else door.read(TIME, lasts, f"{at}: lasts")
            slows_share = door.read(SHARE, slows, f"{at}: slows")
            begins = tuple(read_clock(door, each, f"{at}: fired[{n}]", other_days=True) for n, each in enumerate(fired))
            if begins and not (firing_h > 0 and lasts_h > 0) and not door.faults:
                door.refuse(at, "firings without their times", "firing and lasts", "say how long each takes")
            if not begins and (lasts is not None or firing_h or slows_share) and not door.faults:
                door.refuse(at, "times of a firing", "fired as well", 'say when it is fired, such as fired=["01:00"]')
            if any(later < earlier + 60 * firing_h for earlier, later in pairwise(begins)):
                door.refuse(f"{at}: fired", ", ".join(map(clock, begins)), "firings one after the other")
        facts = {
            "name": name,
            "turn_round_min": minutes_up(turn_h),
            "fired_min": begins,
            "firing_min": minutes_up(firing_h),
            "lasts_min": minutes_up(lasts_h),
            "slows_share": slows_share,
        }
        for key, value in facts.items():
            object.__setattr__(self, key, value)

    def hot(self) -> tuple[tuple[int, int], ...]:
        """Return the stretches in which it bakes, on the wall's clock: from a firing's end until it is cold or fired again."""
        if not self.fired_min:
            return ((-FOREVER, FOREVER),)
        ends = [begin + self.firing_min + self.lasts_min for begin in self.fired_min]
        cut = [min(end, later) for end, later in zip(ends, (*self.fired_min[1:], FOREVER), strict=True)]
        return tuple((begin + self.firing_min, end) for begin, end in zip(self.fired_min, cut, strict=True))

    def bake_min(self, bake_min: int, at: int) -> int:
        """Return how long a bread bakes that goes in at a minute: longer the longer the firing is past."""
        past = [at - begin - self.firing_min for begin in self.fired_min if begin + self.firing_min <= at]
        return math.ceil(round(bake_min * (1 + self.slows_share * past[-1] / 60), 6)) if past else bake_min


@frozen(init=False)
class Shift:
    """People at the bench from one time to another.

    Args:
        begin: "20:00 the day before" or "02:00".
        end: when they leave.
        people: how many they are.
        breaks: (begin, end) of each break, in which none of them works.

    Raises:
        FormulaError: every bad argument at once.

    Example:
        >>> Shift("20:00 the day before", "04:00", people=6, breaks=[("00:00", "00:30")]).stretches()
        ((-240, 240, 6), (0, 30, -6))
    """

    begin_min: int
    end_min: int
    people: int
    breaks_min: tuple[tuple[int, int], ...]

    def __init__(self, begin: str, end: str, *, people: int, breaks: Iterable[tuple[str, str]] = ()) -> None:
        """Read every argument and tell of all the bad ones at once."""
        with Door(FormulaError) as door:
            begin_min = read_clock(door, begin, "shift: begin", other_days=True)
            end_min = read_clock(door, end, "shift: end", other_days=True)
            pauses = tuple(
                (
                    read_clock(door, start, f"shift: breaks[{number}]", other_days=True),
                    read_clock(door, stop, f"shift: breaks[{number}]", other_days=True),
                )
                for number, (start, stop) in enumerate(breaks)
            )
            if not door.faults and not begin_min < end_min:
                mend = 'a shift that begins in the evening begins "the day before"'
                door.refuse("shift", f"{begin} to {end}", "an end after its beginning", mend)
            for start, stop in () if door.faults else pauses:
                if not begin_min <= start < stop <= end_min:
                    door.refuse("shift: breaks", f"{clock(start)} to {clock(stop)}", f"within {begin} to {end}")
            if any(later[0] < earlier[1] for earlier, later in pairwise(pauses)):
                door.refuse("shift: breaks", "breaks that overlap", "one after the other")
            if isinstance(people, bool) or not isinstance(people, int) or people < 1:  # pyright: ignore[reportUnnecessaryIsInstance]
                door.refuse("shift: people", repr(people), "a whole number of people, 1 or more")
        for key, value in (("begin_min", begin_min), ("end_min", end_min), ("people", people), ("breaks_min", pauses)):
            object.__setattr__(self, key, value)

    def stretches(self) -> tuple[tuple[int, int, int], ...]:
        """Return (begin, end, how many) on the wall's clock: the shift, and its breaks taken off."""
        return (
            (self.begin_min, self.end_min, self.people),
            *((begin, end, -self.people) for begin, end in self.breaks_min),
        )


@frozen(init=False)
class Workshop:
    """What the clock of a day depends on: hours, ovens, people and places, and each bread's process.

    Args:
        opens: the earliest time at which anything may begin, "20:00 the day before".
        ovens: at least one.
        shifts: people at the bench; without any, hands are not counted.
        processes: bread -> its process.
        proof_places: pieces that can stand at proof at once; None if there is always room.
        cool_places: pieces that can cool at once; None if there is always room.
        tubs: mixes that can stand in bulk at once; None if there is always a tub.
        turn_round: from emptying a mixer to filling it again.
        cleaning: more of it before a dough that lacks an allergen of the one before.
        slicers: machines that slice.
        packers: places where bread is packed.
        gear: gear (baskets, tins, boards) -> how many there are.
        gear_return: how long gear takes to come back to the bench.
        day: the date of the deliveries, for nights on which the clocks change.
        zone: the time zone of the bakery, with ``day``.

    Raises:
        FormulaError: every bad argument at once; no oven; a process with an oven or gear that is not there.

    Example:
        >>> process = Process(mix="12 min", bulk="1 h", proof="1 h", bake="35 min", loads={"deck": 60})
        >>> Workshop(opens="01:00", ovens=[Oven("deck")], processes={"Loaf": process}).opens_min
        60
    """

    opens_min: int
    ovens: tuple[Oven, ...]
    shifts: tuple[Shift, ...]
    processes: Lines[Process]
    proof_places: int | None
    cool_places: int | None
    tubs: int | None
    turn_round_min: int
    cleaning_min: int
    slicers: int | None
    packers: int | None
    gear: Lines[int]
    gear_return_min: int
    wall: WallClock

    def __init__(
        self,
        *,
        opens: str,
        ovens: Iterable[Oven],
        processes: Mapping[str, Process],
        shifts: Iterable[Shift] = (),
        proof_places: int | None = None,
        cool_places: int | None = None,
        tubs: int | None = None,
        turn_round: Measure = "0 min",
        cleaning: Measure = "0 min",
        slicers: int | None = 1,
        packers: int | None = 1,
        gear: Mapping[str, int] | None = None,
        gear_return: Measure = "0 min",
        day: str = "",
        zone: str = "",
    ) -> None:
        """Read every argument and tell of all the bad ones at once."""
        counts = dict(zip(_COUNTED, (proof_places, cool_places, tubs, slicers, packers), strict=True))
        taken = tuple(ovens)
        with Door(FormulaError) as door:
            opens_min = read_clock(door, opens, "opens", other_days=True)
            turn_h = door.read(TIME, turn_round, "turn_round")
            cleaning_h = door.read(TIME, cleaning, "cleaning")
            return_h = door.read(TIME, gear_return, "gear_return")
            for name, count in (*counts.items(), *(gear or {}).items()):
                if count is not None and (isinstance(count, bool) or not isinstance(count, int) or count < 1):  # pyright: ignore[reportUnnecessaryIsInstance]
                    door.refuse(name, repr(count), "a whole number of 1 or more")
            if not taken:
                door.refuse("ovens", "none", "at least one oven", "nothing can be baked without")
            check_ovens(door, taken, processes)
            check_gear(door, gear or {}, processes)
            wall = _wall(door, day, zone)
        facts = counts | {
            "opens_min": opens_min,
            "ovens": taken,
            "shifts": tuple(shifts),
            "processes": Lines(processes),
            "turn_round_min": minutes_up(turn_h),
            "cleaning_min": minutes_up(cleaning_h),
            "gear": Lines(gear or {}),
            "gear_return_min": minutes_up(return_h),
            "wall": wall,
        }
        for key, value in facts.items():
            object.__setattr__(self, key, value)

    @property
    def opening_min(self) -> int:
        """The opening in minutes that pass from midnight of the day."""
        return self.wall.elapsed(self.opens_min)

    def process_of(self, name: str, bread: str) -> Process | None:
        """Return the process of a bread of one weight ("Quay Round 800 g"), or of the bread whatever it weighs."""
        return self.processes.get(name) or self.processes.get(bread)


def _name(door: Door, name: object, where: str) -> None:
    if not isinstance(name, str) or not name.strip():
        door.refuse(where, cited(name), "a name as text")


def _wall(door: Door, day: str, zone: str) -> WallClock:
    try:
        return WallClock(day, zone)
    except FormulaError as error:
        door.faults.extend(error.faults)
        return WallClock()


def check_ovens(door: Door, ovens: tuple[Oven, ...], processes: Mapping[str, Process]) -> None:
    """Note at the door ovens of one name, and processes with an oven that is not there."""
    names = [oven.name for oven in ovens]
    for name in sorted({name for name in names if names.count(name) > 1}):
        door.refuse("ovens", f"{name} {names.count(name)} times", "each name once", "number them")
    for bread, process in processes.items():
        for name in process.loads:
            if name not in names:
                door.refuse(f"{bread}: loads", cited(name), f"one of the ovens: {', '.join(names) or 'none'}")


def check_gear(door: Door, gear: Mapping[str, int], processes: Mapping[str, Process]) -> None:
    """Note at the door processes with gear that is not there."""
    for bread, process in processes.items():
        for name in process.gear:
            if name not in gear:
                door.refuse(
                    f"{bread}: gear", cited(name), f"one of: {', '.join(gear) or 'none'}", "say how many there are"
                )
