"""The bakery: what there is to bake with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from attrs import frozen

from .errors import FormulaError
from .lines import Lines
from .quantity import DIFFERENCE, MASS, TEMPERATURE, Door, Measure, View, write

__all__ = ["Bakery", "Mixer"]


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

    capacity = View(MASS, "capacity_g", "The most dough it mixes well.")
    smallest = View(MASS, "smallest_g", "The least dough it mixes well.")
    friction = View(DIFFERENCE, "friction_k", "The friction factor on the scale of ``count`` temperatures.")

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

    Raises:
        FormulaError: every bad argument at once.
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
            taken = tuple(mixers)
            _check_name(door, name, "bakery")
            _check_bakery(door, taken, temperatures, steps_g, divider_g)
        facts = {
            "name": name,
            "mixers": taken,
            "steps_g": steps_g,
            "divider_g": divider_g,
            "stages_c": stages_c,
            **temperatures,
        }
        for key, value in facts.items():
            object.__setattr__(self, key, value)

    flour = View(TEMPERATURE, "flour_c", "The flour's temperature.")
    room = View(TEMPERATURE, "room_c", "The room's temperature.")
    tap = View(TEMPERATURE, "tap_c", "The tap water's temperature.")
    ice = View(TEMPERATURE, "ice_c", "The ice's temperature.")
    divider = View(MASS, "divider_g", "The step of the divider's scale.")


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
    if temperatures["tap_c"] < 0 or temperatures["tap_c"] > 100:
        door.refuse("tap", write(TEMPERATURE, temperatures["tap_c"]), "liquid water, 0 to 100 °C")
