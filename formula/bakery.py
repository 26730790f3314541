"""The bakery: what there is to bake with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from copy import copy
from itertools import pairwise
from typing import ClassVar

from attrs import frozen

from .errors import FormulaError
from .lines import Lines
from .quantity import DIFFERENCE, MASS, TEMPERATURE, Door, Measure, OptionalView, View, write
from .timeofday import clock, read_clock

__all__ = ["Bakery", "Hour", "Mixer"]


@frozen(init=False)
class Mixer:
    """A mixer: how much dough it takes at most and at least, and how much it warms it.

    Args:
        name: what the bakers call it.
        capacity: the most dough it mixes well.
        smallest: the least dough it mixes well.
        friction: its friction factor on the scale of a sum of temperatures.
        count: the number of temperatures (flour, room, preferments, water) that the factor was measured with.

    Raises:
        FormulaError: every bad argument at once.

    Example:
        >>> Mixer("spiral", capacity="120 kg", friction="24 K").capacity_g
        120000.0
    """

    name: str
    capacity_g: float
    smallest_g: float
    friction_k: float
    count: int

    def __init__(
        self, name: str, *, capacity: Measure, smallest: Measure = "0 g", friction: Measure, count: int = 3
    ) -> None:
        """Read every argument and tell of all the bad ones at once."""
        with Door(FormulaError) as door:
            capacity_g = door.read(MASS, capacity, f"mixer {name}: capacity")
            smallest_g = door.read(MASS, smallest, f"mixer {name}: smallest")
            friction_k = door.read(DIFFERENCE, friction, f"mixer {name}: friction")
            _check_mixer(door, name, capacity_g, smallest_g, count)
        for key, value in (
            ("name", name),
            ("capacity_g", capacity_g),
            ("smallest_g", smallest_g),
            ("friction_k", friction_k),
            ("count", count),
        ):
            object.__setattr__(self, key, value)

    capacity: ClassVar[View] = View(MASS, "capacity_g", "The most dough it mixes well.")
    smallest: ClassVar[View] = View(MASS, "smallest_g", "The least dough it mixes well.")
    friction: ClassVar[View] = View(
        DIFFERENCE, "friction_k", "The friction factor on the scale of ``count`` temperatures."
    )

    def friction_for_k(self, count: int) -> float:
        """Return the friction factor on the scale of another number of temperatures: the dough's rise stays the same."""
        return self.friction_k * count / self.count

    def is_like(self, other: Mixer) -> bool:
        """Tell whether another mixer could take its mixes without any change to them."""
        own, its = ((each.capacity_g, each.smallest_g, each.friction_k, each.count) for each in (self, other))
        return own == its


def _check_name(door: Door, name: object, where: str) -> None:
    if not isinstance(name, str) or not name.strip():
        door.refuse(where, repr(name), "a name as text")


def _check_mixer(door: Door, name: str, capacity_g: float, smallest_g: float, count: int) -> None:
    _check_name(door, name, "mixer")
    if capacity_g == 0:
        door.refuse(f"mixer {name}: capacity", "0 g", "a weight above zero")
    if smallest_g > capacity_g:
        expected = f"at most its capacity, {write(MASS, capacity_g)}"
        door.refuse(f"mixer {name}: smallest", write(MASS, smallest_g), expected)
    if isinstance(count, bool) or not isinstance(count, int) or count < 2:  # pyright: ignore[reportUnnecessaryIsInstance]
        door.refuse(f"mixer {name}: count", repr(count), "the number of temperatures, 2 or more")


@frozen(init=False)
class Hour:
    """What the thermometers show from one time of the day on; what is left out stays as it was before.

    Args:
        since: from when on, as "02:00" or "20:00 the day before".
        flour: the flour's temperature.
        room: the room's.
        tap: the tap water's.

    Raises:
        FormulaError: every bad argument at once; an hour that says nothing.

    Example:
        >>> Hour("02:00", flour="22 °C").flour_c
        22.0
    """

    since_min: int
    flour_c: float | None
    room_c: float | None
    tap_c: float | None

    def __init__(
        self, since: str, *, flour: Measure | None = None, room: Measure | None = None, tap: Measure | None = None
    ) -> None:
        """Read every argument and tell of all the bad ones at once."""
        told = {"flour": flour, "room": room, "tap": tap}
        with Door(FormulaError) as door:
            since_min = read_clock(door, since, "hour", other_days=True)
            read = {
                name: None if value is None else door.read(TEMPERATURE, value, f"hour {since}: {name}")
                for name, value in told.items()
            }
            if not any(value is not None for value in told.values()):
                door.refuse(f"hour {since}", "no temperature", "flour, room or tap")
            if read["tap"] is not None:
                _check_tap(door, f"hour {since}: tap", read["tap"])
        object.__setattr__(self, "since_min", since_min)
        for name, value in read.items():
            object.__setattr__(self, f"{name}_c", value)

    flour: ClassVar[OptionalView] = OptionalView(TEMPERATURE, "flour_c", "The flour's temperature, if it is told.")
    room: ClassVar[OptionalView] = OptionalView(TEMPERATURE, "room_c", "The room's temperature, if it is told.")
    tap: ClassVar[OptionalView] = OptionalView(TEMPERATURE, "tap_c", "The tap water's temperature, if it is told.")


@frozen(init=False)
class Bakery:
    """What a bakery has: mixers, the steps of its scales, and the temperatures of the day.

    Args:
        name: the bakery's name.
        mixers: at least one; a dough goes to the mixer that needs the fewest mixes.
        flour: the flour's temperature.
        room: the room's temperature.
        tap: the tap water's temperature.
        ice: the ice's temperature.
        steps: ingredient -> scale step, ``"default"`` for the rest.
        divider: the step of the divider's scale; scaling weights are rounded up to it.
        stages: stage -> its temperature when it goes into the dough; the room's if left out.
        hours: the temperatures over the day; before the first of them those above hold, and from each on what it says,
            unchanged until the next.
        share_doughs: whether one dough is mixed for all breads that are made of it.

    Raises:
        FormulaError: every bad argument at once.

    Example:
        >>> spiral = Mixer("spiral", capacity="60 kg", friction="20 K")
        >>> made = Bakery("Harbour", mixers=[spiral], flour="21 °C", room="23 °C", tap="14 °C", steps={"default": "10 g"})
        >>> made.mixers[0].name, made.steps_g["default"]
        ('spiral', 10.0)
    """

    name: str
    mixers: tuple[Mixer, ...]
    flour_c: float
    room_c: float
    tap_c: float
    ice_c: float
    steps_g: Lines[float]
    divider_g: float
    stages_c: Lines[float]
    hours: tuple[Hour, ...]
    share_doughs: bool

    def __init__(
        self,
        name: str,
        *,
        mixers: Iterable[Mixer],
        flour: Measure,
        room: Measure,
        tap: Measure,
        ice: Measure = "0 °C",
        steps: Mapping[str, Measure] | Measure = "1 g",
        divider: Measure = "1 g",
        stages: Mapping[str, Measure] | None = None,
        hours: Iterable[Hour] = (),
        share_doughs: bool = False,
    ) -> None:
        """Read every argument and tell of all the bad ones at once."""
        table = dict(steps) if isinstance(steps, Mapping) else {"default": steps}
        with Door(FormulaError) as door:
            temperatures = {
                "flour_c": door.read(TEMPERATURE, flour, "flour"),
                "room_c": door.read(TEMPERATURE, room, "room"),
                "tap_c": door.read(TEMPERATURE, tap, "tap"),
                "ice_c": door.read(TEMPERATURE, ice, "ice"),
            }
            steps_g = Lines((line, door.read(MASS, step, f"steps: {line}")) for line, step in table.items())
            divider_g = door.read(MASS, divider, "divider")
            stages_c = Lines(
                (stage, door.read(TEMPERATURE, value, f"stages: {stage}")) for stage, value in (stages or {}).items()
            )
            taken, told = tuple(mixers), tuple(hours)
            _check_name(door, name, "bakery")
            _check_hours(door, told, share_doughs)
            _check_bakery(door, taken, temperatures, steps_g, divider_g)
        facts = {
            "name": name,
            "mixers": taken,
            "steps_g": steps_g,
            "divider_g": divider_g,
            "stages_c": stages_c,
            "hours": told,
            "share_doughs": share_doughs,
            **temperatures,
        }
        for key, value in facts.items():
            object.__setattr__(self, key, value)

    flour: ClassVar[View] = View(TEMPERATURE, "flour_c", "The flour's temperature.")
    room: ClassVar[View] = View(TEMPERATURE, "room_c", "The room's temperature.")
    tap: ClassVar[View] = View(TEMPERATURE, "tap_c", "The tap water's temperature.")
    ice: ClassVar[View] = View(TEMPERATURE, "ice_c", "The ice's temperature.")
    divider: ClassVar[View] = View(MASS, "divider_g", "The step of the divider's scale.")

    def at(self, wall_min: int) -> Bakery:
        """Return the bakery as it is at a time of the day: with the temperatures of that hour, and no others.

        Args:
            wall_min: minutes after midnight as the clock shows them, negative for the evening before.
        """
        now = {"flour_c": self.flour_c, "room_c": self.room_c, "tap_c": self.tap_c, "hours": ()}
        for hour in self.hours:
            if hour.since_min <= wall_min:
                told = {"flour_c": hour.flour_c, "room_c": hour.room_c, "tap_c": hour.tap_c}
                now |= {name: value for name, value in told.items() if value is not None}
        made = copy(self)
        for name, value in now.items():
            object.__setattr__(made, name, value)
        return made


def _check_bakery(
    door: Door, mixers: tuple[Mixer, ...], temperatures: Mapping[str, float], steps_g: Lines[float], divider_g: float
) -> None:
    if not mixers:
        door.refuse("mixers", "none", "at least one mixer")
    for mixer in mixers:
        if not isinstance(mixer, Mixer):  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
            door.refuse("mixers", repr(mixer), "a Mixer")
    for where, step in (*((f"steps: {line}", step) for line, step in steps_g.items()), ("divider", divider_g)):
        if step == 0:
            door.refuse(where, "0 g", "a step above zero")
    if "default" not in steps_g:
        door.refuse("steps", "no default", "a step for all other ingredients", 'add default = "5 g"')
    if temperatures["ice_c"] > 0:
        door.refuse("ice", write(TEMPERATURE, temperatures["ice_c"]), "ice, at most 0 °C")
    _check_tap(door, "tap", temperatures["tap_c"])


def _check_tap(door: Door, where: str, tap_c: float) -> None:
    if tap_c < 0 or tap_c > 100:
        door.refuse(where, write(TEMPERATURE, tap_c), "liquid water, 0 to 100 °C")


def _check_hours(door: Door, hours: tuple[Hour, ...], share_doughs: object) -> None:
    for hour in hours:
        if not isinstance(hour, Hour):  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
            door.refuse("hours", repr(hour), "an Hour", 'write Hour("02:00", flour="22 °C")')
            return
    for earlier, later in pairwise(hours):
        if later.since_min <= earlier.since_min:
            got = f"{clock(later.since_min)} after {clock(earlier.since_min)}"
            door.refuse("hours", got, "each hour once, in the order of the day", 'the evening is "the day before"')
    if not isinstance(share_doughs, bool):
        door.refuse("share_doughs", repr(share_doughs), "true or false")
