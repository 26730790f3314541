"""Trays and sheets: how much dough one takes, how thickly a dough covers it, and how large a one it needs.

As with a tin, two of area, dough and filling give the third; the filling is the mass of dough for each area.
"""

from __future__ import annotations

import math
from typing import ClassVar, Final

from attrs import frozen

from .quantity import AREA, LENGTH, MASS, MASS_PER_AREA, Door, Measure, View
from .readerunits import with_units
from .tin import Sought, sought_step, two_of_three
from .working import Caution, Step, Working

__all__ = ["Tray", "TrayFill", "fill_tray"]

_UNITS: Final = {"m": "D l w", "1": "pi", "g": "dough", "kg/m2": "filling", "m2": "A"}


@frozen(init=False)
class Tray:
    """A tray or sheet by its area or its measures.

    Args:
        area: an area; or
        length, width: of one with corners; or
        diameter: of a round one.

    Raises:
        QuantityError: a bad measure, or not exactly one of the three ways; all of it at once.

    Example:
        >>> Tray(length="60 cm", width="40 cm").area_m2
        0.24
    """

    area_m2: float
    sizes_m: tuple[tuple[str, float], ...]
    cautions: tuple[Caution, ...]

    def __init__(
        self,
        area: Measure | None = None,
        *,
        length: Measure | None = None,
        width: Measure | None = None,
        diameter: Measure | None = None,
    ) -> None:
        """Read every argument and tell of all the bad ones at once."""
        sizes = {"length": length, "width": width, "diameter": diameter}
        given = {name for name, value in (*sizes.items(), ("area", area)) if value is not None}
        with Door() as door:
            if given not in ({"area"}, {"length", "width"}, {"diameter"}):
                got = ", ".join(sorted(given)) or "nothing"
                door.refuse("tray", got, "area, or length and width, or diameter", "give one way only")
            found = {
                name: door.read_above_zero(LENGTH, value, name) for name, value in sizes.items() if value is not None
            }
            area_m2 = math.nan if area is None else door.read_above_zero(AREA, area, "area")
        if "diameter" in found:
            area_m2 = math.pi * found["diameter"] ** 2 / 4
        elif found:
            area_m2 = found["length"] * found["width"]
        for name, value in (("area_m2", area_m2), ("sizes_m", tuple(found.items())), ("cautions", ())):
            object.__setattr__(self, name, value)

    area: ClassVar[View] = View(AREA, "area_m2", "The area that the dough covers.")

    def working(self) -> Working:
        """Show the steps; the last line is the area."""
        return Working("Area of a tray", with_units(self.area_steps(), _UNITS), self.cautions)

    def area_steps(self) -> tuple[Step, ...]:
        """Show how the area follows from what was given."""
        sizes = dict(self.sizes_m)
        if "diameter" in sizes:
            return (Step("A", "pi * D ** 2 / 4", {"pi": math.pi, "D": sizes["diameter"]}, self.area_m2, "m2"),)
        if sizes:
            return (Step("A", "l * w", {"l": sizes["length"], "w": sizes["width"]}, self.area_m2, "m2"),)
        return (Step("A", "A", {"A": self.area_m2}, self.area_m2, "m2", note="as given"),)


@frozen
class TrayFill:
    """A tray, its dough and its filling, two of which were given: ``sought`` is the third."""

    tray: Tray | None
    area_m2: float
    dough_g: float
    filling_kg_m2: float
    sought: Sought
    cautions: tuple[Caution, ...] = ()

    area: ClassVar[View] = View(AREA, "area_m2", "The area of the tray.")
    dough: ClassVar[View] = View(MASS, "dough_g", "The dough on it.")
    filling: ClassVar[View] = View(MASS_PER_AREA, "filling_kg_m2", "Dough for each area.")

    def working(self) -> Working:
        """Show the steps; the last line is what was sought."""
        steps = () if self.tray is None else self.tray.area_steps()
        parts = {"A": self.area_m2, "dough": self.dough_g, "filling": self.filling_kg_m2}
        found = {
            "dough": ("dough", "1000 * filling * A", "g"),
            "filling": ("filling", "dough / 1000 / A", "kg/m2"),
            "size": ("A", "dough / 1000 / filling", "m2"),
        }
        whole = with_units((*steps, sought_step(found[self.sought], parts)), _UNITS)
        return Working("Dough for a tray", whole, self.cautions)


def fill_tray(
    tray: Tray | Measure | None = None, *, dough: Measure | None = None, filling: Measure | None = None
) -> TrayFill:
    """Find the dough for a tray, the filling that a dough makes, or the area that a dough needs: dough = filling * area.

    Give two of tray, dough and filling.  For another tray, take the filling of one that is known.

    Args:
        tray: a ``Tray`` or its area.
        dough: all the dough on it, a mass.
        filling: dough for each area, such as "5 kg/m2" or "0.5 g/cm2".

    Raises:
        QuantityError: a bad measure, or not exactly two of the three; all of it at once.

    Example:
        >>> known = fill_tray(Tray(length="60 cm", width="40 cm"), dough="1.2 kg")
        >>> round(fill_tray(Tray(diameter="32 cm"), filling=known.filling).dough_g, 1)
        402.1
    """
    with Door() as door:
        size = (
            tray.area_m2
            if isinstance(tray, Tray)
            else None
            if tray is None
            else door.read_above_zero(AREA, tray, "tray")
        )
        dough_g = None if dough is None else door.read_above_zero(MASS, dough, "dough")
        amount = None if filling is None else door.read_above_zero(MASS_PER_AREA, filling, "filling")
        sought, area_m2, mass_g, filling_kg_m2 = two_of_three(door, "tray", size, dough_g, amount, 1e3)
    return TrayFill(
        tray=tray if isinstance(tray, Tray) else None,
        area_m2=area_m2,
        dough_g=mass_g,
        filling_kg_m2=filling_kg_m2,
        sought=sought,
    )
