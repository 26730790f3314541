"""The factors of a nutrition table: protein from nitrogen, available carbohydrate, salt from sodium, and energy.

Plain arithmetic on grams in 100 g; numpy arrays pass through.
"""

from __future__ import annotations

from typing import Final

from .labelchecks import SALT_PER_SODIUM
from .sources import Constant

__all__ = [
    "GENERAL_CARBOHYDRATE",
    "GENERAL_FAT",
    "GENERAL_PROTEIN",
    "KCAL_CARBOHYDRATE",
    "KCAL_FAT",
    "KCAL_FIBRE",
    "KJ_CARBOHYDRATE",
    "KJ_FAT",
    "KJ_FIBRE",
    "PROTEIN_IN_NITROGEN",
    "SOLUBLE_FIBRE",
    "carbohydrate_eu_g",
    "energy_449_kcal",
    "energy_eu_kcal",
    "energy_eu_kj",
    "energy_less_fibre_kcal",
    "protein_eu_g",
    "salt_g",
]

_XIV: Final = "eu-1169-2011-annex-xiv"
KJ_CARBOHYDRATE: Final = Constant(17.0, "kJ/g", 0.0, _XIV, "carbohydrate, except polyols; protein has the same")
KJ_FAT: Final = Constant(37.0, "kJ/g", 0.0, _XIV, "fat")
KJ_FIBRE: Final = Constant(8.0, "kJ/g", 0.0, _XIV, "fibre")
KCAL_CARBOHYDRATE: Final = Constant(4.0, "kcal/g", 0.0, _XIV, "carbohydrate, except polyols; protein has the same")
KCAL_FAT: Final = Constant(9.0, "kcal/g", 0.0, _XIV, "fat")
KCAL_FIBRE: Final = Constant(2.0, "kcal/g", 0.0, _XIV, "fibre")
PROTEIN_IN_NITROGEN: Final = Constant(6.25, "1", 0.0, "eu-1169-2011-annex-i", "protein")
GENERAL_PROTEIN: Final = Constant(4.0, "kcal/g", 0.0, "cfr-21-101-9-energy", "general factors 4, 4 and 9")
GENERAL_CARBOHYDRATE: Final = Constant(4.0, "kcal/g", 0.0, "cfr-21-101-9-energy", "general factors 4, 4 and 9")
GENERAL_FAT: Final = Constant(9.0, "kcal/g", 0.0, "cfr-21-101-9-energy", "general factors 4, 4 and 9")
SOLUBLE_FIBRE: Final = Constant(2.0, "kcal/g", 0.0, "us-less-fibre-memory", "soluble non-digestible carbohydrate")


def protein_eu_g(protein_g: float, n_factor: float) -> float:
    """Return protein as nitrogen x 6.25: protein * 6.25 / (the factor it was reckoned with).

    Args:
        protein_g: protein by the table, g.
        n_factor: grams of protein that the table takes a gram of nitrogen for, above 0.

    Example:
        >>> round(protein_eu_g(11.98, 5.7), 2)
        13.14
    """
    return protein_g * PROTEIN_IN_NITROGEN.value / n_factor


def carbohydrate_eu_g(organic_g: float, protein_g: float, fibre_g: float) -> float:
    """Return available carbohydrate: what is neither water, ash, fat, protein nor fibre.

    Args:
        organic_g: protein and carbohydrate together, with the fibre: 100 - water - fat - ash.
        protein_g: protein as nitrogen x 6.25, g.
        fibre_g: fibre, g.

    Example:
        >>> carbohydrate_eu_g(84.0, 13.0, 2.5)
        68.5
    """
    return organic_g - protein_g - fibre_g


def salt_g(sodium_mg: float) -> float:
    """Return the salt that the EU declares for sodium: sodium * 2.5.

    Example:
        >>> salt_g(400.0)
        1.0
    """
    return sodium_mg * SALT_PER_SODIUM.value / 1000


def energy_eu_kj(organic_g: float, fat_g: float, fibre_g: float) -> float:
    """Return energy by the factors of the EU in kJ: 17 * (protein + carbohydrate) + 37 * fat + 8 * fibre.

    Protein and carbohydrate have the same factor, so energy is known also where the split of the two is not.

    Args:
        organic_g: protein and carbohydrate together, with the fibre, g.
        fat_g: fat, g.
        fibre_g: fibre, g.

    Example:
        >>> energy_eu_kj(10.0, 1.0, 2.0)
        189.0
    """
    return KJ_CARBOHYDRATE.value * (organic_g - fibre_g) + KJ_FAT.value * fat_g + KJ_FIBRE.value * fibre_g


def energy_eu_kcal(organic_g: float, fat_g: float, fibre_g: float) -> float:
    """Return energy by the factors of the EU in kcal: 4 * (protein + carbohydrate) + 9 * fat + 2 * fibre.

    Example:
        >>> energy_eu_kcal(10.0, 1.0, 2.0)
        45.0
    """
    return KCAL_CARBOHYDRATE.value * (organic_g - fibre_g) + KCAL_FAT.value * fat_g + KCAL_FIBRE.value * fibre_g


def energy_449_kcal(protein_g: float, carbohydrate_g: float, fat_g: float) -> float:
    """Return calories by the general factors: 4 * protein + 4 * carbohydrate (with fibre) + 9 * fat.

    Example:
        >>> energy_449_kcal(10.0, 70.0, 2.0)
        338.0
    """
    return GENERAL_PROTEIN.value * protein_g + GENERAL_CARBOHYDRATE.value * carbohydrate_g + GENERAL_FAT.value * fat_g


def energy_less_fibre_kcal(protein_g: float, carbohydrate_g: float, fat_g: float, fibre_g: float) -> float:
    """Return calories by the general factors with no energy in fibre: 4 * protein + 4 * (carbohydrate - fibre) + 9 * fat.

    Soluble fibre would add 2 kcal a gram; tables of compositions do not tell how much of the fibre it is.

    Example:
        >>> energy_less_fibre_kcal(10.0, 70.0, 2.0, 5.0)
        318.0
    """
    return energy_449_kcal(protein_g, carbohydrate_g - fibre_g, fat_g)
