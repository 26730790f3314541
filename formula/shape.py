"""Shapes of bread: how much surface a loaf of some mass has to lose water from, and how far it is to its core.

Each shape of the trade is a plain body with proportions that can be given: round and roll a dome, long a cylinder with
rounded ends, flat a low disc, ring a torus, pan a box whose walls count in part.  The whole skin of a hearth loaf counts,
its sole as well, for all of it becomes crust.  Surface over mass of two loaves of one density compares without it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import ClassVar, Final

from attrs import frozen

from .errors import cited
from .lines import Lines
from .quantity import AREA, DENSITY, LENGTH, MASS, SHARE, Door, Measure, View, write
from .readerunits import with_units
from .sources import Constant
from .working import Caution, Step, Working

__all__ = [
    "LOAF_DENSITY",
    "SHAPES",
    "Loaf",
    "LoafShape",
    "flat_form",
    "long_form",
    "pan_form",
    "read_shape",
    "ring_form",
    "round_form",
    "surface_per_mass_m2_kg",
]

_UNITS: Final = {"g": "m", "kg/m3": "rho"}

LOAF_DENSITY: Final = Constant(
    300.0, "kg/m3", 100.0, "common-practice", "dough over the volume of the risen loaf: 2.5 to 5 mL a gram; no source"
)
_OURS: Final = "a plain proportion of our own choice; no source"
HEIGHT_OF_ROUND: Final = Constant(0.5, "1", 0.15, "common-practice", f"height over diameter: {_OURS}")
LENGTH_OF_LONG: Final = Constant(
    4.0, "1", 2.0, "common-practice", f"length over diameter: {_OURS}; a baguette has about 10"
)
HEIGHT_OF_FLAT: Final = Constant(0.1, "1", 0.05, "common-practice", f"height over diameter: {_OURS}")
DIAMETER_OF_RING: Final = Constant(6.0, "1", 2.0, "common-practice", f"outer diameter over thickness: {_OURS}")
LENGTH_OF_PAN: Final = Constant(2.0, "1", 1.0, "common-practice", f"length over width: {_OURS}")
HEIGHT_OF_PAN: Final = Constant(1.0, "1", 0.3, "common-practice", f"height over width: {_OURS}")
OPEN_WALLS: Final = Constant(
    0.5, "1", 0.5, "common-practice", f"the part of the skin behind the pan's walls and bottom that counts: {_OURS}"
)

SHAPES: Final[Mapping[str, Mapping[str, Constant]]] = {
    "round": {"height_to_diameter": HEIGHT_OF_ROUND},
    "roll": {"height_to_diameter": HEIGHT_OF_ROUND},
    "long": {"length_to_diameter": LENGTH_OF_LONG},
    "flat": {"height_to_diameter": HEIGHT_OF_FLAT},
    "ring": {"diameter_to_thickness": DIAMETER_OF_RING},
    "pan": {"length_to_width": LENGTH_OF_PAN, "height_to_width": HEIGHT_OF_PAN, "open_walls": OPEN_WALLS},
}
"""The shapes, each with its proportions and what is taken where one is not given."""

_LEAST: Final = {"length_to_diameter": 1.0, "diameter_to_thickness": 2.0, "length_to_width": 1.0}
"""A long loaf is no shorter than it is thick, and a ring has no less than no hole; the others may be small."""
_SMALLEST, _LARGEST = 0.001, 1000.0

Form = tuple[float, float, float]
"""Of a loaf whose measure is 1: volume, skin that counts, and the way from its core to the nearest skin."""


def round_form(height_to_diameter: float) -> Form:
    """Return volume, surface and half thickness of a dome (the cap of a sphere, with its sole) of diameter 1.

    V = pi h (3/4 + h²) / 6, A = pi (1/2 + h²), half thickness h / 2.

    Args:
        height_to_diameter: h, its height over its diameter.

    Example:
        >>> [round(part, 4) for part in round_form(0.5)]
        [0.2618, 2.3562, 0.25]
    """
    h = height_to_diameter
    return math.pi * h * (3 / 4 + h**2) / 6, math.pi * (1 / 2 + h**2), h / 2


def long_form(length_to_diameter: float) -> Form:
    """Return volume, surface and half thickness of a cylinder with ends of half spheres, of diameter 1.

    V = pi (l / 4 - 1/12), A = pi l, half thickness 1/2.

    Args:
        length_to_diameter: l, its whole length over its diameter, 1 (a ball) or more.

    Example:
        >>> [round(part, 4) for part in long_form(1.0)]
        [0.5236, 3.1416, 0.5]
    """
    length = length_to_diameter
    return math.pi * (length / 4 - 1 / 12), math.pi * length, 0.5 + 0.0 * length


def flat_form(height_to_diameter: float) -> Form:
    """Return volume, surface and half thickness of a disc of diameter 1.

    V = pi h / 4, A = pi (1/2 + h), half thickness h / 2.

    Args:
        height_to_diameter: h, its height over its diameter.

    Example:
        >>> [round(part, 4) for part in flat_form(0.1)]
        [0.0785, 1.885, 0.05]
    """
    h = height_to_diameter
    return math.pi * h / 4, math.pi * (1 / 2 + h), h / 2


def ring_form(diameter_to_thickness: float) -> Form:
    """Return volume, surface and half thickness of a ring (a torus) of thickness 1.

    V = pi² (D - 1) / 4, A = pi² (D - 1), half thickness 1/2.

    Args:
        diameter_to_thickness: D, its outer diameter over the thickness of its strand, 2 (no hole) or more.

    Example:
        >>> [round(part, 4) for part in ring_form(3.0)]
        [4.9348, 19.7392, 0.5]
    """
    around = diameter_to_thickness - 1
    return math.pi**2 * around / 4, math.pi**2 * around, 0.5 + 0.0 * around


def pan_form(length_to_width: float, height_to_width: float, open_walls: float) -> Form:
    """Return volume, counting surface and half thickness of a box of width 1: its top, and its walls and bottom in part.

    V = l h, A = l + w (l + 2 h + 2 l h), half thickness min(1, h) / 2.

    Args:
        length_to_width: l, its length over its width, 1 or more.
        height_to_width: h, its height over its width.
        open_walls: w, the part of walls and bottom that counts: 0 for the top alone, 1 for a loaf without a pan.

    Example:
        >>> pan_form(2.0, 1.0, 0.0), pan_form(2.0, 1.0, 1.0)
        ((2.0, 2.0, 0.5), (2.0, 10.0, 0.5))
    """
    length, h, w = length_to_width, height_to_width, open_walls
    return length * h, length + w * (length + 2 * h + 2 * length * h), min(1.0, h) / 2


def surface_per_mass_m2_kg(mass_g: float, volume: float, surface: float, density_kg_m3: float) -> float:
    """Return the surface of a loaf over its mass, m²/kg: A d² / m with the loaf's measure d = (m / (rho V))^(1/3).

    For loaves of one form it goes with m^(-1/3).

    Args:
        mass_g: m, the dough of the loaf, g.
        volume: V of its form.
        surface: A of its form.
        density_kg_m3: rho, dough over the volume of the loaf, kg/m³.

    Example:
        >>> round(surface_per_mass_m2_kg(1000.0, *round_form(0.5)[:2], 300.0), 4)
        0.1285
    """
    mass_kg = mass_g / 1000
    square_m2: float = (mass_kg / (density_kg_m3 * volume)) ** (2 / 3)
    return surface * square_m2 / mass_kg


@frozen
class _Drawn:
    """A shape's form as a kernel and as the arithmetic a working shows, with the short name of each proportion."""

    form: Callable[..., Form]
    short: Mapping[str, str]
    volume: str
    surface: str
    half: str


_ROUND: Final = _Drawn(round_form, {"height_to_diameter": "h"}, "pi * {h} * (3 / 4 + {h} ** 2) / 6", "pi * (1 / 2 + {h} ** 2)", "{h} / 2")  # fmt: skip
_DRAWN: Final[Mapping[str, _Drawn]] = {
    "round": _ROUND,
    "roll": _ROUND,
    "long": _Drawn(long_form, {"length_to_diameter": "l"}, "pi * ({l} / 4 - 1 / 12)", "pi * {l}", "1 / 2"),
    "flat": _Drawn(flat_form, {"height_to_diameter": "h"}, "pi * {h} / 4", "pi * (1 / 2 + {h})", "{h} / 2"),
    "ring": _Drawn(
        ring_form, {"diameter_to_thickness": "D"}, "pi ** 2 * ({D} - 1) / 4", "pi ** 2 * ({D} - 1)", "1 / 2"
    ),
    "pan": _Drawn(
        pan_form,
        {"length_to_width": "l", "height_to_width": "h", "open_walls": "w"},
        "{l} * {h}",
        "{l} + {w} * ({l} + 2 * {h} + 2 * {l} * {h})",
        "min(1, {h}) / 2",
    ),
}


@frozen(init=False)
class LoafShape:
    """The shape of a loaf with its proportions, without its size.

    Args:
        name: "round", "roll", "long", "flat", "ring" or "pan".
        height_to_diameter: of a round loaf, a roll or a flat one.
        length_to_diameter: of a long one; a baguette has about 10.
        diameter_to_thickness: of a ring: outer diameter over the thickness of its strand.
        length_to_width: of a pan.
        height_to_width: of a pan.
        open_walls: of a pan: the part of the skin behind walls and bottom that counts, a share; "0 %" for the top alone.
        density: dough over the volume of the risen loaf, a density; it cancels where two loaves have the same.

    Raises:
        QuantityError: an unknown shape, a proportion that this shape does not have, or one out of its range; all at once.

    What is not given is a plain proportion of our own choice, not a measured one.

    Example:
        >>> LoafShape("long", length_to_diameter=10).proportions["length_to_diameter"]
        10.0
    """

    name: str
    proportions: Lines[float]
    density_kg_m3: float

    def __init__(
        self,
        name: str = "round",
        *,
        height_to_diameter: float | None = None,
        length_to_diameter: float | None = None,
        diameter_to_thickness: float | None = None,
        length_to_width: float | None = None,
        height_to_width: float | None = None,
        open_walls: Measure | None = None,
        density: Measure | None = None,
    ) -> None:
        """Read every argument and tell of all the bad ones at once."""
        numbers = {
            "height_to_diameter": height_to_diameter,
            "length_to_diameter": length_to_diameter,
            "diameter_to_thickness": diameter_to_thickness,
            "length_to_width": length_to_width,
            "height_to_width": height_to_width,
        }
        with Door() as door:
            given = {
                key: door.read_number(value, key, _LEAST.get(key, _SMALLEST), _LARGEST)
                for key, value in numbers.items()
                if value is not None
            }
            if open_walls is not None:
                given["open_walls"] = door.read(SHARE, open_walls, "open_walls")
                if given["open_walls"] > 1:
                    door.refuse(
                        "open_walls", write(SHARE, given["open_walls"]), "100 % at most", "0 % is the top alone"
                    )
            density_kg_m3 = LOAF_DENSITY.value if density is None else door.read_above_zero(DENSITY, density, "density")
            own = SHAPES.get(name, {}) if isinstance(name, str) else {}  # pyright: ignore[reportUnnecessaryIsInstance]
            if not own:
                door.refuse("shape", cited(name), f"one of {', '.join(SHAPES)}")
            for key in given:
                if own and key not in own:
                    door.refuse(key, "a value", f"nothing, for the shape {name!r}", f"it has {', '.join(own)}")
        object.__setattr__(self, "name", name)
        taken = Lines((key, given.get(key, constant.value)) for key, constant in own.items())
        object.__setattr__(self, "proportions", taken)
        object.__setattr__(self, "density_kg_m3", density_kg_m3)

    density: ClassVar[View] = View(DENSITY, "density_kg_m3", "Dough over the volume of the risen loaf.")

    @property
    def form(self) -> Form:
        """Volume, skin that counts and half thickness of a loaf of this shape whose measure is 1."""
        return _DRAWN[self.name].form(**self.proportions)

    def of(self, mass: Measure) -> Loaf:
        """Return a loaf of this shape.

        Args:
            mass: its dough, a mass above zero.

        Raises:
            QuantityError: when it is not.

        Example:
            >>> loaf = LoafShape("round").of("900 g")
            >>> round(100 * loaf.measure_m, 1), round(1e4 * loaf.surface_m2)
            (22.5, 1198)
        """
        with Door() as door:
            mass_g = door.read_above_zero(MASS, mass, "mass")
        return Loaf(mass_g=mass_g, shape=self)


@frozen
class Loaf:
    """A loaf: its dough and its shape; ``measure`` is its diameter, the thickness of a ring or the width of a pan."""

    mass_g: float
    shape: LoafShape
    cautions: tuple[Caution, ...] = ()

    mass: ClassVar[View] = View(MASS, "mass_g", "The dough of the loaf.")
    measure: ClassVar[View] = View(LENGTH, "measure_m", "Its diameter; of a ring its thickness, of a pan its width.")
    surface: ClassVar[View] = View(AREA, "surface_m2", "The skin that counts.")
    half_thickness: ClassVar[View] = View(LENGTH, "half_thickness_m", "The way from its core to the nearest skin.")

    @property
    def measure_m(self) -> float:
        """The length that all others go with, m: (m / (rho V))^(1/3)."""
        volume = self.shape.form[0]
        return math.cbrt(self.mass_g / 1000 / (self.shape.density_kg_m3 * volume))

    @property
    def surface_m2(self) -> float:
        """The skin that counts, m²."""
        return self.surface_per_mass_m2_kg * self.mass_g / 1000

    @property
    def surface_per_mass_m2_kg(self) -> float:
        """The skin that counts over the mass of the dough, m²/kg."""
        volume, surface, _ = self.shape.form
        return surface_per_mass_m2_kg(self.mass_g, volume, surface, self.shape.density_kg_m3)

    @property
    def half_thickness_m(self) -> float:
        """The way from the core to the nearest skin, m."""
        return self.shape.form[2] * self.measure_m

    def surface_steps(self, suffix: str = "") -> tuple[Step, ...]:
        """Show the surface over the mass; the names carry the suffix, so that two loaves can stand in one working."""
        drawn, values = self._put(suffix)
        volume, surface, _ = self.shape.form
        skin, mass, rho = f"A{suffix}", f"m{suffix}", f"rho{suffix}"
        expression = f"{skin} * ({mass} / 1000 / ({rho} * V{suffix})) ** (2 / 3) / ({mass} / 1000)"
        over = {skin: surface, **self._size(suffix)}
        steps = (
            _form_step(
                f"V{suffix}", drawn.volume, values, volume, f"{self.shape.name}: volume of one whose measure is 1"
            ),
            _form_step(skin, drawn.surface, values, surface, "its skin that counts"),
            Step(f"S{suffix}", expression, over, self.surface_per_mass_m2_kg, "m2/kg", note="surface over mass"),
        )
        return with_units(steps, _UNITS)

    def thickness_steps(self, suffix: str = "") -> tuple[Step, ...]:
        """Show the half thickness; the names carry the suffix."""
        drawn, values = self._put(suffix)
        volume, _, half = self.shape.form
        expression = f"z{suffix} * (m{suffix} / 1000 / (rho{suffix} * V{suffix})) ** (1 / 3)"
        over = {f"z{suffix}": half, **self._size(suffix)}
        steps = (
            _form_step(
                f"V{suffix}", drawn.volume, values, volume, f"{self.shape.name}: volume of one whose measure is 1"
            ),
            _form_step(f"z{suffix}", drawn.half, values, half, "its half thickness"),
            Step(f"half{suffix}", expression, over, self.half_thickness_m, "m", note="from the core to the skin"),
        )
        return with_units(steps, _UNITS)

    def working(self) -> Working:
        """Show the steps; the last line is the surface over the mass."""
        return Working("Surface over mass of a loaf", self.surface_steps(), self.cautions)

    def _size(self, suffix: str) -> dict[str, float]:
        rho = self.shape.density_kg_m3
        return {f"m{suffix}": self.mass_g, f"rho{suffix}": rho, f"V{suffix}": self.shape.form[0]}

    def _put(self, suffix: str) -> tuple[_Drawn, dict[str, float]]:
        drawn = _DRAWN[self.shape.name]
        return drawn, {f"{drawn.short[key]}{suffix}": value for key, value in self.shape.proportions.items()}


def _form_step(symbol: str, template: str, values: Mapping[str, float], value: float, note: str) -> Step:
    named = {name.partition("_")[0]: name for name in values}
    expression = template.format(**named)
    used = {name: number for name, number in values.items() if f"{{{name.partition('_')[0]}}}" in template}
    pi = {"pi": math.pi} if "pi" in template else {}
    return Step(symbol, expression, used | pi, value, "1", note=note, units=dict.fromkeys(used | pi, "1"))


def read_shape(door: Door, value: str | LoafShape, where: str) -> LoafShape:
    """Read a shape: its name, with the proportions taken for it, or a ``LoafShape``; a bad one is noted."""
    if isinstance(value, LoafShape):
        return value
    if not isinstance(value, str) or value not in SHAPES:  # pyright: ignore[reportUnnecessaryIsInstance]
        door.refuse(where, cited(value), f"one of {', '.join(SHAPES)}, or a LoafShape with its own proportions")
        return LoafShape()
    return LoafShape(value)
