"""Water in flour and in formulas: hydration counted three ways, dough yield, and the 14 % moisture basis.

Flours are compared at one moisture, 14 % by the standard of the trade, because a drier flour holds more flour and takes
more water.  Absorption converts by equal water per dry flour; protein and ash by equal dry matter.
"""

from __future__ import annotations

from typing import Final

from .catalogue import Catalogue
from .errors import Fault, FormulaError
from .ingredient import Ingredient
from .lines import Lines
from .sources import Constant

__all__ = [
    "BASIS",
    "absorption_as_is",
    "absorption_at_basis",
    "dough_yield_percent",
    "hydration_percent",
    "on_basis",
    "tempering_water_percent",
]

BASIS: Final = Constant(14.0, "%", 0.0, "icc-115", "farinograph absorption is stated at 14.0 % moisture")
HYDRATION_WAYS: Final = ("added", "liquid", "content")
_COUNTED: Final = {"added": ("water",), "liquid": ("water", "liquid", "egg")}


def on_basis(value: float, moisture_percent: float, basis_percent: float = BASIS.value) -> float:
    """Convert a share of protein or ash to a moisture basis: value * (100 - basis) / (100 - moisture).

    Args:
        value: as analysed, % of the flour as it is.
        moisture_percent: the flour's moisture, %.
        basis_percent: the moisture to convert to, %; 0 for dry matter.

    Source: AACC International practice, quoted from a flour guide (aacc-basis).

    Example:
        >>> round(on_basis(11.98, 13.36), 2), round(on_basis(11.98, 13.36, 0), 2)
        (11.89, 13.83)
    """
    return value * (100 - basis_percent) / (100 - moisture_percent)


def absorption_at_basis(
    absorption_percent: float, moisture_percent: float, basis_percent: float = BASIS.value
) -> float:
    """Convert an absorption as weighed to a moisture basis: (A + 100) * (100 - basis) / (100 - moisture) - 100.

    Args:
        absorption_percent: water taken up per 100 of the flour as it is, %.
        moisture_percent: the flour's moisture, %.
        basis_percent: the moisture to convert to, %.

    Source: AACC 54-21, equal total water per dry flour (aacc-54-21, from memory, checked by arithmetic).

    Example:
        >>> round(absorption_at_basis(62.0, 12.0), 2)
        58.32
    """
    return (absorption_percent + 100) * (100 - basis_percent) / (100 - moisture_percent) - 100


def absorption_as_is(absorption_percent: float, moisture_percent: float, basis_percent: float = BASIS.value) -> float:
    """Convert an absorption on a moisture basis to the flour as it is; the inverse of ``absorption_at_basis``.

    Args:
        absorption_percent: water per 100 of flour at the basis, %.
        moisture_percent: the flour's moisture, %.
        basis_percent: the basis, %.

    Example:
        >>> round(absorption_as_is(absorption_at_basis(62.0, 12.0), 12.0), 9)
        62.0
    """
    return (absorption_percent + 100) * (100 - moisture_percent) / (100 - basis_percent) - 100


def tempering_water_percent(moisture_percent: float, target_percent: float) -> float:
    """Return the water that brings grain to a moisture: (target - moisture) / (100 - target) * 100, per 100 of grain.

    Args:
        moisture_percent: of the grain as it is, %.
        target_percent: wanted, %.

    Source: a laboratory mill's manual (mill-manual).

    Example:
        >>> round(tempering_water_percent(10.0, 16.5), 1)
        7.8
    """
    return 100 * (target_percent - moisture_percent) / (100 - target_percent)


def hydration_percent(percents: Lines[float], flours: tuple[str, ...], catalogue: Catalogue, way: str) -> float:
    """Return the hydration of a list of lines; see ``Formula.hydration``, which calls this."""
    if way not in HYDRATION_WAYS:
        raise FormulaError(Fault("hydration", repr(way), f"one of {', '.join(HYDRATION_WAYS)}"))
    found = [(line, percent, catalogue.find(line)) for line, percent in percents.items()]
    if way in _COUNTED:
        return sum(percent for _, percent, ingredient in found if ingredient.kind in _COUNTED[way])
    others = [(percent, ingredient) for line, percent, ingredient in found if line not in flours and percent > 0]
    gaps = [ingredient.name for _, ingredient in others if ingredient.water_g is None]
    if gaps:
        got = f"no water content for {', '.join(gaps)}"
        raise FormulaError(
            Fault("hydration by content", got, "the water in every ingredient", "add it to the catalogue")
        )
    return sum(percent * _water_share(ingredient) for percent, ingredient in others)


def _water_share(ingredient: Ingredient) -> float:
    # Tap water is 99.9 % water by the table; a baker who pours 25 kg of it counts 25 kg.
    return 1.0 if ingredient.kind == "water" else (ingredient.water_g or 0.0) / 100


def dough_yield_percent(percents: Lines[float], flours: tuple[str, ...], catalogue: Catalogue) -> float:
    """Return the dough yield as the German trade counts it: flour and liquid per 100 flour; see ``Formula``."""
    flour = sum(percents[line] for line in flours)
    return flour + hydration_percent(percents, flours, catalogue, "liquid")
