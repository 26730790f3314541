"""One figure of a nutrition table: what the loaf holds of it, where it is not known, and how it is written."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from attrs import frozen

from .labelrounding import LabelFigure, rounded
from .legalnames import Region
from .lines import Lines
from .quantity import ENERGY, MASS, view
from .working import shown

if TYPE_CHECKING:
    from .quantity import Quantity

__all__ = ["Nutrient", "NutritionRow"]

_GRAMS: Final = Lines({"g": 1.0, "mg": 1e-3, "ug": 1e-6})
# A thermochemical kilocalorie, by definition.
_KJ: Final = Lines({"kJ": 1.0, "kj": 1.0, "kcal": 4.184})


@frozen
class Nutrient:
    """One figure of a nutrition table.

    ``key`` names it and ends in its unit; ``least_per_100_g`` is what the ingredients bring whose figures are known, in that
    unit for 100 g of the loaf, and ``gaps`` are the ingredients whose figures are not.  ``daily`` is its daily value.
    """

    key: str
    words: str
    unit: str
    least_per_100_g: float
    gaps: tuple[str, ...]
    source: str
    daily: float | None = None
    daily_rounding: str = ""

    @property
    def per_100_g(self) -> float | None:
        """How much 100 g of the loaf hold, in the unit that the key ends in; None where an ingredient leaves a gap."""
        return None if self.gaps else self.least_per_100_g

    @property
    def amount(self) -> Quantity | None:
        """How much 100 g of the loaf hold, as a quantity; None where an ingredient leaves a gap."""
        ending = self.key.rpartition("_")[2]
        if self.per_100_g is None:
            return None
        if ending in _GRAMS:
            return view(MASS, self.per_100_g * _GRAMS[ending])
        return view(ENERGY, self.per_100_g * _KJ[ending])

    def in_mass(self, mass_g: float) -> float | None:
        """Return how much a mass of the loaf holds, in the unit that the key ends in; None where there is a gap.

        Args:
            mass_g: the mass of bread, g.
        """
        return None if self.per_100_g is None else self.per_100_g * mass_g / 100

    def daily_percent(self, mass_g: float) -> float | None:
        """Return the percentage of the daily value in a mass of the loaf; None where there is a gap or no daily value.

        Args:
            mass_g: the mass of bread, g.
        """
        held = self.in_mass(mass_g)
        return None if held is None or self.daily is None else 100 * held / self.daily

    def on_label(self, mass_g: float, region: Region) -> LabelFigure | None:
        """Return the figure as a label writes it for a mass of the loaf; None where there is a gap.

        Args:
            mass_g: the mass of bread, g.
            region: by whose rounding.
        """
        held = self.in_mass(mass_g)
        return None if held is None else rounded(self.key, held, region, self.unit)

    def text(self, mass_g: float, region: Region) -> str:
        """Return the figure for the eye: as a label writes it, or with a gap what it is at least, cut and not rounded.

        Args:
            mass_g: the mass of bread, g.
            region: by whose rounding.
        """
        written = self.on_label(mass_g, region)
        if written is not None:
            return written.text
        least = math.floor(self.least_per_100_g * mass_g) / 100
        return f"at least {shown(least)} {self.unit}" if least else "not known"


@frozen
class NutritionRow:
    """One line of the table as text; the columns that are not asked for are empty."""

    words: str
    per_100_g: str
    per_serving: str
    daily_value: str
