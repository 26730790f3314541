"""A piece or a mass of dough as a body that heat leaves: its shape, its size and what it is made of.

A sphere's size follows from its mass and density; a cylinder needs its diameter, its length or the ratio of the two; a
slab its thickness.  The ends of a cylinder count, the edges of a slab do not.  What a caller does not know of the dough
is taken from print, where it is scarce and wide: a result says what it had to assume, and how far it would move.
"""

from __future__ import annotations

import math
from typing import ClassVar, Final, cast, get_args

from attrs import frozen

from .conduction import Axis, Shape
from .errors import cited
from .newton import biot_number, diffusivity_m2_h
from .quantity import (
    CONDUCTIVITY,
    DENSITY,
    HEAT_TRANSFER,
    LENGTH,
    MASS,
    SPECIFIC_HEAT,
    Door,
    Measure,
    OptionalView,
    View,
)
from .readerunits import with_units
from .sources import Constant
from .working import Step

__all__ = [
    "AIR_HEAT_TRANSFER",
    "BIOT_RANGE",
    "DOUGH_CONDUCTIVITY",
    "DOUGH_DENSITY",
    "DOUGH_SPECIFIC_HEAT",
    "PROPERTIES",
    "SIZE_UNITS",
    "Piece",
    "cylinder_diameter_m",
    "read_piece",
    "sphere_diameter_m",
]

SIZE_UNITS: Final = {
    "g": "m", "m": "s d l V_A L", "kg/m3": "rho", "W/m K": "k", "W/m2 K": "h", "kJ/kg K": "c", "1": "pi n ratio",
}  # fmt: skip

DOUGH_CONDUCTIVITY: Final = Constant(
    0.5, "W/mK", 0.05, "dough-cooling-text", "thermal conductivity of dough, 0.45 to 0.55 W/mK; low authority"
)
AIR_HEAT_TRANSFER: Final = Constant(
    11.5, "W/m2K", 3.5, "dough-cooling-text", "dough to air, 8 to 15 W/m2K; low authority"
)
DOUGH_SPECIFIC_HEAT: Final = Constant(
    2.7, "kJ/kgK", 0.5, "dough-calorimeter", "five doughs, 2.15 to 3.19 kJ/kgK between 20 and 90 °C"
)
DOUGH_DENSITY: Final = Constant(
    1210.0,
    "kg/m3",
    20.0,
    "choi-okos-1986",
    "dough without gas by its composition: 1233 to 1193 kg/m3 at 55 to 80 % hydration; risen dough is lighter",
)

PROPERTIES: Final = (
    ("heat_transfer", HEAT_TRANSFER, AIR_HEAT_TRANSFER),
    ("conductivity", CONDUCTIVITY, DOUGH_CONDUCTIVITY),
    ("density", DENSITY, DOUGH_DENSITY),
    ("specific_heat", SPECIFIC_HEAT, DOUGH_SPECIFIC_HEAT),
)
"""What a caller may give of the dough, and what is taken where he does not."""

BIOT_RANGE: Final = (1e-6, 1e6)
"""For which the roots are exact; every dough lies within."""


def sphere_diameter_m(mass_g: float, density_kg_m3: float) -> float:
    """Return the diameter of a sphere: d = (6 m / (pi rho))^(1/3).

    Args:
        mass_g: m, g.
        density_kg_m3: rho, kg/m³.

    Example:
        >>> round(100 * sphere_diameter_m(500.0, 1210.0), 2)
        9.24
    """
    return math.cbrt(6 * mass_g / 1000 / (math.pi * density_kg_m3))


def cylinder_diameter_m(mass_g: float, density_kg_m3: float, ratio: float) -> float:
    """Return the diameter of a cylinder: d = (4 m / (pi rho ratio))^(1/3).

    Args:
        mass_g: m, g.
        density_kg_m3: rho, kg/m³.
        ratio: length over diameter.

    Example:
        >>> round(100 * cylinder_diameter_m(350.0, 1210.0, 10.0), 2)
        3.33
    """
    return math.cbrt(4 * mass_g / 1000 / (math.pi * density_kg_m3 * ratio))


@frozen
class Piece:
    """A body of dough: its shape and size, and the four properties that conduction asks for.

    ``given`` holds the names of the properties and sizes that a caller gave; the other properties are assumed.
    """

    mass_g: float
    shape: Shape
    thickness_m: float | None
    diameter_m: float | None
    length_m: float | None
    faces: int
    heat_transfer_w_m2_k: float
    conductivity_w_m_k: float
    density_kg_m3: float
    specific_heat_kj_kg_k: float
    given: tuple[str, ...]

    mass: ClassVar[View] = View(MASS, "mass_g", "The mass.")
    thickness: ClassVar[OptionalView] = OptionalView(LENGTH, "thickness_m", "The thickness of a slab.")
    diameter: ClassVar[OptionalView] = OptionalView(LENGTH, "diameter_m", "The diameter of a sphere or cylinder.")
    length: ClassVar[OptionalView] = OptionalView(LENGTH, "length_m", "The length of a cylinder.")
    heat_transfer: ClassVar[View] = View(
        HEAT_TRANSFER, "heat_transfer_w_m2_k", "The heat transfer coefficient of the surface."
    )
    conductivity: ClassVar[View] = View(CONDUCTIVITY, "conductivity_w_m_k", "The thermal conductivity of the dough.")
    density: ClassVar[View] = View(DENSITY, "density_kg_m3", "The density of the dough, its gas included.")
    specific_heat: ClassVar[View] = View(SPECIFIC_HEAT, "specific_heat_kj_kg_k", "The specific heat of the dough.")

    @property
    def diffusivity_m2_h(self) -> float:
        """The thermal diffusivity, m²/h."""
        return diffusivity_m2_h(self.conductivity_w_m_k, self.density_kg_m3, self.specific_heat_kj_kg_k)

    @property
    def assumed(self) -> tuple[tuple[str, Constant], ...]:
        """The properties that were not given, with what was taken instead."""
        return tuple((name, constant) for name, _, constant in PROPERTIES if name not in self.given)

    @property
    def volume_per_area_m(self) -> float:
        """Volume over the surface that gives off heat, m."""
        if self.shape == "slab":
            return _size(self.thickness_m) / self.faces
        diameter_m = _size(self.diameter_m)
        if self.shape == "sphere":
            return diameter_m / 6
        length_m = _size(self.length_m)
        return diameter_m * length_m / (4 * length_m + 2 * diameter_m)

    @property
    def area_m2(self) -> float:
        """The surface that gives off heat, m²."""
        return self.mass_g / 1000 / self.density_kg_m3 / self.volume_per_area_m

    @property
    def biot(self) -> float:
        """The Biot number over volume / surface: below 0.1 the piece is at about one temperature throughout."""
        return biot_number(self.heat_transfer_w_m2_k, self.volume_per_area_m, self.conductivity_w_m_k)

    @property
    def axes(self) -> tuple[Axis, ...]:
        """The directions in which heat leaves; a cylinder has two."""
        return tuple(
            Axis(
                shape,
                biot_number(self.heat_transfer_w_m2_k, half_m, self.conductivity_w_m_k),
                self.diffusivity_m2_h / half_m**2,
            )
            for shape, half_m in self.halves_m
        )

    @property
    def halves_m(self) -> tuple[tuple[Shape, float], ...]:
        """For each axis its shape and the way from the core to the surface, m: half the thickness, or the radius.

        A slab that gives off heat on one face alone is half of one of twice the thickness that does so on both.
        """
        if self.shape == "slab":
            return (("slab", _size(self.thickness_m) / self.faces),)
        radius_m = _size(self.diameter_m) / 2
        if self.shape == "sphere":
            return (("sphere", radius_m),)
        return (("cylinder", radius_m), ("slab", _size(self.length_m) / 2))

    def size_steps(self) -> list[Step]:
        """Show the size, volume over surface, the Biot number and the diffusivity."""
        body = {"m": self.mass_g, "pi": math.pi, "rho": self.density_kg_m3}
        heat = {"k": self.conductivity_w_m_k, "rho": self.density_kg_m3, "c": self.specific_heat_kj_kg_k}
        steps: list[Step] = []
        if self.shape == "slab":
            sizes = {"s": _size(self.thickness_m), "n": float(self.faces)}
            over = "s / n"
        else:
            diameter_m, length_m = _size(self.diameter_m), self.length_m or 0.0
            sizes = {"d": diameter_m} if self.shape == "sphere" else {"d": diameter_m, "l": length_m}
            over = "d / 6" if self.shape == "sphere" else "d * l / (4 * l + 2 * d)"
            if self.shape == "sphere":
                steps.append(Step("d", "(6 * m / 1000 / (pi * rho)) ** (1 / 3)", body, diameter_m, "m"))
            elif "diameter" in self.given:
                steps.append(Step("l", "4 * m / 1000 / (pi * rho * d ** 2)", body | {"d": diameter_m}, length_m, "m"))
            elif "length" in self.given:
                root = "(4 * m / 1000 / (pi * rho * l)) ** (1 / 2)"
                steps.append(Step("d", root, body | {"l": length_m}, diameter_m, "m"))
            else:
                ratio = {"ratio": length_m / diameter_m}
                root = "(4 * m / 1000 / (pi * rho * ratio)) ** (1 / 3)"
                steps.append(Step("d", root, body | ratio, diameter_m, "m"))
                steps.append(Step("l", "ratio * d", {"d": diameter_m} | ratio, length_m, "m"))
        taken = ", ".join(f"{name.replace('_', ' ')} ({constant.source})" for name, constant in self.assumed)
        heat_transfer = {"h": self.heat_transfer_w_m2_k, "V_A": self.volume_per_area_m, "k": self.conductivity_w_m_k}
        steps += [
            Step("V_A", over, sizes, self.volume_per_area_m, "m", note="volume over the surface that gives off heat"),
            Step("Bi", "h * V_A / k", heat_transfer, self.biot, "1", note=f"assumed: {taken}" if taken else ""),
            Step("alpha", "3.6 * k / (rho * c)", heat, self.diffusivity_m2_h, "m2/h", note="diffusivity"),
        ]
        return [*with_units(steps, SIZE_UNITS)]


def _size(value_m: float | None) -> float:
    """Return a size that this shape has by construction."""
    return cast("float", value_m)


def read_piece(
    door: Door,
    mass: Measure,
    shape: str,
    sizes: dict[str, Measure | float | None],
    faces: int,
    properties: dict[str, Measure | None],
) -> Piece | None:
    """Read a piece; None when something about it was refused at the door.

    Args:
        door: notes every bad argument.
        mass: the mass.
        shape: "sphere", "cylinder" or "slab".
        sizes: "thickness" for a slab, one of "diameter", "length" and "ratio" for a cylinder, none for a sphere.
        faces: on how many faces a slab gives off heat, 1 or 2.
        properties: the values of ``PROPERTIES`` by name; None where they are to be assumed.
    """
    before = len(door.faults)
    mass_g = door.read_above_zero(MASS, mass, "mass")
    values = {name: constant.value for name, _, constant in PROPERTIES}
    for name, kind, _ in PROPERTIES:
        value = properties[name]
        if value is not None:
            values[name] = door.read_above_zero(kind, value, name)
    found = _read_sizes(door, shape, sizes, faces)
    if len(door.faults) > before:
        return None
    density_kg_m3 = values["density"]
    diameter_m, length_m = found.get("diameter"), found.get("length")
    if shape == "sphere":
        diameter_m = sphere_diameter_m(mass_g, density_kg_m3)
    elif shape == "cylinder":
        volume = 4 * mass_g / 1000 / (math.pi * density_kg_m3)
        if diameter_m is not None:
            length_m = volume / diameter_m**2
        elif length_m is not None:
            diameter_m = math.sqrt(volume / length_m)
        else:
            diameter_m = cylinder_diameter_m(mass_g, density_kg_m3, found["ratio"])
            length_m = found["ratio"] * diameter_m
    piece = Piece(
        mass_g=mass_g,
        shape=cast("Shape", shape),
        thickness_m=found.get("thickness"),
        diameter_m=diameter_m,
        length_m=length_m,
        faces=faces,
        heat_transfer_w_m2_k=values["heat_transfer"],
        conductivity_w_m_k=values["conductivity"],
        density_kg_m3=density_kg_m3,
        specific_heat_kj_kg_k=values["specific_heat"],
        given=(*found, *(name for name, value in properties.items() if value is not None)),
    )
    biots = [piece.biot, *(biot_number(values["heat_transfer"], m, values["conductivity"]) for _, m in piece.halves_m)]
    if not all(BIOT_RANGE[0] <= biot <= BIOT_RANGE[1] for biot in biots):
        got = f"Biot numbers of {' and '.join(f'{biot:.2g}' for biot in biots)}"
        mend = "check the size, the heat transfer coefficient and the conductivity"
        door.refuse("piece", got, f"from {BIOT_RANGE[0]} to {BIOT_RANGE[1]}", mend)
    return piece


def _read_sizes(door: Door, shape: str, sizes: dict[str, Measure | float | None], faces: int) -> dict[str, float]:
    """Read the sizes that this shape needs and refuse those it has no use for."""
    wanted = {"sphere": (), "cylinder": ("diameter", "length", "ratio"), "slab": ("thickness",)}
    if shape not in wanted:
        door.refuse("shape", repr(shape), f"one of {', '.join(repr(name) for name in get_args(Shape)[::-1])}")
        return {}
    names = [name for name, value in sizes.items() if value is not None]
    for name in names:
        if name not in wanted[shape]:
            door.refuse(name, "a value", f"nothing, for a {shape}", "leave it out")
    if wanted[shape] and len([name for name in names if name in wanted[shape]]) != 1:
        got = " and ".join(names) or "nothing"
        expected = f"{'one of ' if len(wanted[shape]) > 1 else ''}{', '.join(wanted[shape])}"
        door.refuse("size", got, f"{expected} for a {shape}", "the rest of its size follows from mass and density")
    whole = isinstance(faces, int) and not isinstance(faces, bool)  # pyright: ignore[reportUnnecessaryIsInstance]
    if not whole or faces not in {1, 2}:
        door.refuse("faces", repr(faces), "1 or 2", "a slab in the air gives off heat on 2 faces, one in a tub on 1")
    elif faces == 1 and shape != "slab":
        door.refuse("faces", "1", f"2 for a {shape}", "leave it out")
    found: dict[str, float] = {}
    for name in names:
        if name == "ratio":
            found[name] = _read_ratio(door, sizes[name])
        else:
            found[name] = door.read_above_zero(LENGTH, cast("Measure", sizes[name]), name)
    return found


def _read_ratio(door: Door, value: object) -> float:
    if isinstance(value, (int, float)) and not isinstance(value, bool) and 0 < value < 1e6:
        return float(value)
    door.refuse("ratio", cited(value), "a number above zero, length over diameter", "write for example 6")
    return math.nan
