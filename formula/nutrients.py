"""What 100 g of an ingredient bring to a nutrition table, by the rules of the region.

In the EU protein is nitrogen x 6.25, whatever factor the table of compositions used; carbohydrate is what is left after
that, without the fibre, and fibre has its own energy.  In the USA the table's protein stays and carbohydrate holds the
fibre.  A figure that cannot be told is None: a gap, and never zero.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

from attrs import evolve

from .energyfactors import (
    GENERAL_CARBOHYDRATE,
    GENERAL_FAT,
    GENERAL_PROTEIN,
    KCAL_CARBOHYDRATE,
    KCAL_FAT,
    KCAL_FIBRE,
    KJ_CARBOHYDRATE,
    KJ_FAT,
    KJ_FIBRE,
    PROTEIN_IN_NITROGEN,
    SOLUBLE_FIBRE,
    carbohydrate_eu_g,
    energy_449_kcal,
    energy_eu_kcal,
    energy_eu_kj,
    energy_less_fibre_kcal,
    protein_eu_g,
    salt_g,
)
from .ingredient import Ingredient
from .labelchecks import SALT_PER_SODIUM
from .lines import Lines
from .working import Step

__all__ = [
    "ENERGY_WAYS",
    "EnergyWay",
    "TapWater",
    "energy_specific_kcal",
    "figure_steps",
    "ingredient_figures",
    "organic_g",
    "rest_g",
]

EnergyWay = Literal["eu", "4-4-9", "less fibre", "specific"]
ENERGY_WAYS: Final = ("4-4-9", "less fibre", "specific")
"""The ways to reckon calories that a caller may name in the USA; the EU has one, ``"eu"``."""
TapWater = Literal["plain", "table"]

_UNACCOUNTED_G: Final = 1.0
"""Proximates that sum to 100 within this are rounded or analysed a little apart; further off, something else is in there."""

_COPIED: Final = Lines(
    {
        "fat_g": "fat_g",
        "saturates_g": "saturated_fat_g",
        "sugars_g": "sugars_g",
        "fibre_g": "fibre_g",
        "sodium_mg": "sodium_mg",
        "cholesterol_mg": "cholesterol_mg",
        "vitamin_d_ug": "vitamin_d_ug",
        "calcium_mg": "calcium_mg",
        "iron_mg": "iron_mg",
        "potassium_mg": "potassium_mg",
    }
)
"""Figures of a nutrition table that stand in the table of compositions as they are."""
_MINERALS: Final = ("sodium_mg", "calcium_mg", "iron_mg", "potassium_mg")
_NEVER_SUGARED: Final = ("flour", "water", "salt", "yeast", "culture", "fat", "egg", "seed")
"""Kinds of ingredients whose sugars are their own; what is of the kind "sugar" is added sugar, honey and syrups too."""


def energy_specific_kcal(ingredient: Ingredient) -> float | None:
    """Return calories by the ingredient's own factors, or where it has none what its table says; None where neither is known.

    Args:
        ingredient: with ``kcal_per_g_protein``, ``_fat`` and ``_carbohydrate``, or with ``energy_kcal``.

    Example:
        >>> from formula import Catalogue
        >>> round(energy_specific_kcal(Catalogue().find("bread flour")), 1)
        361.2
    """
    parts = _specific_parts(ingredient)
    return ingredient.energy_kcal if parts is None else sum(amount * factor for amount, factor in parts.values())


def organic_g(ingredient: Ingredient) -> float | None:
    """Return protein and carbohydrate of 100 g together, with the fibre: 100 - water - fat - ash.

    Where the figures of the table leave more than 1 g of 100 unaccounted for (the acid of vinegar, the carbonate of baking
    soda), or where water, fat or ash is not known, it is the table's own protein and carbohydrate.  None where neither is known.

    Args:
        ingredient: with its composition.
    """
    given = _sum(ingredient.protein_g, ingredient.carbohydrate_by_difference_g)
    others = _sum(ingredient.water_g, ingredient.fat_g, ingredient.ash_g)
    if others is None or (given is not None and abs(100 - others - given) > _UNACCOUNTED_G):
        return given
    return 100 - others


def rest_g(ingredient: Ingredient) -> float:
    """Return what in 100 g is neither water, fat, ash, protein nor carbohydrate; 0 for what is analysed whole.

    Args:
        ingredient: with its composition.
    """
    others, organic = _sum(ingredient.water_g, ingredient.fat_g, ingredient.ash_g), organic_g(ingredient)
    return 0.0 if others is None or organic is None else 100 - others - organic


def ingredient_figures(
    ingredient: Ingredient, way: EnergyWay, tap_water: TapWater, supplied: Mapping[str, float]
) -> Lines[float | None]:
    """Return every figure of a nutrition table for 100 g of an ingredient; None is a gap.

    Args:
        ingredient: what it is.
        way: "eu" for the rules of the EU; "4-4-9", "less fibre" or "specific" for those of the USA, with energy by that way.
        tap_water: "plain": water is water and nothing else; "table": with the minerals that the table finds in it.
        supplied: figures that no table has, by key: ``trans_fat_g``, ``added_sugars_g``.
    """
    if ingredient.kind == "water":
        names = (*_COPIED, *_derived(way))
        found: dict[str, float | None] = dict.fromkeys(names, 0.0)
        if tap_water == "table":
            found |= {key: getattr(ingredient, key) for key in _MINERALS}
            sodium_mg = ingredient.sodium_mg
            found |= {"salt_g": None if sodium_mg is None else salt_g(sodium_mg)} if way == "eu" else {}
        return Lines(found)
    found = {key: getattr(ingredient, name) for key, name in _COPIED.items()}
    if ingredient.fat_g == 0:
        found["saturates_g"] = 0.0
    steps = figure_steps(ingredient, way, "")
    found |= {key: None if step is None else step.value for key, step in steps.items()}
    if way != "eu":
        found |= {"trans_fat_g": 0.0 if ingredient.fat_g == 0 else None, "added_sugars_g": _added_sugars_g(ingredient)}
        found |= supplied
    return Lines(found)


def figure_steps(ingredient: Ingredient, way: EnergyWay, number: str) -> dict[str, Step | None]:
    """Return the steps to the figures that stand in no table: protein, carbohydrate, salt and energy; None is a gap.

    Args:
        ingredient: what it is, no water.
        way: as for ``ingredient_figures``.
        number: what the names in the working end in, such as "2".
    """
    steps = _steps_eu(ingredient, number) if way == "eu" else _steps_us(ingredient, way, number)
    done = {key: evolve(step, unit=f"{step.unit}/100 g") for key, step in steps.items()}
    return {key: done.get(key) for key in _derived(way)}


def _derived(way: EnergyWay) -> tuple[str, ...]:
    own = ("salt_g", "energy_kj") if way == "eu" else ("trans_fat_g", "added_sugars_g")
    return ("protein_g", "carbohydrate_g", *own, "energy_kcal")


def _steps_eu(ingredient: Ingredient, number: str) -> dict[str, Step]:
    steps: dict[str, Step] = {}
    organic, fat, fibre = organic_g(ingredient), ingredient.fat_g, ingredient.fibre_g
    protein, n_factor, sodium = ingredient.protein_g, ingredient.n_to_protein_factor, ingredient.sodium_mg
    protein_name, fibre_name = f"protein_g{number}", f"fibre_g{number}"
    if protein == 0:
        # Nothing to convert: salt, sugar and oil have no factor and need none.
        steps["protein_g"] = Step(protein_name, "0", {}, 0.0, "g")
    elif protein is not None and n_factor:
        values = {f"table{number}": protein, f"n_factor{number}": n_factor}
        expression = f"table{number} * {PROTEIN_IN_NITROGEN.value:g} / n_factor{number}"
        value = protein_eu_g(protein, n_factor)
        steps["protein_g"] = Step(protein_name, expression, values, value, "g", PROTEIN_IN_NITROGEN.source)
    if sodium is not None:
        name = f"sodium_mg{number}"
        expression = f"{name} * {SALT_PER_SODIUM.value:g} / 1000"
        steps["salt_g"] = Step(
            f"salt_g{number}", expression, {name: sodium}, salt_g(sodium), "g", SALT_PER_SODIUM.source
        )
    if organic is None or fibre is None:
        return steps
    written, values = _organic_written(ingredient, number)
    values[fibre_name] = fibre
    if "protein_g" in steps:
        own = steps["protein_g"].value
        value = carbohydrate_eu_g(organic, own, fibre)
        expression = f"{written} - {protein_name} - {fibre_name}"
        source = PROTEIN_IN_NITROGEN.source
        steps["carbohydrate_g"] = Step(
            f"carbohydrate_g{number}", expression, {**values, protein_name: own}, value, "g", source
        )
    if fat is None or _rest_has_energy(ingredient):
        return steps
    values[f"fat_g{number}"] = fat
    for key, unit, found, factors in (
        ("energy_kj", "kJ", energy_eu_kj(organic, fat, fibre), (KJ_CARBOHYDRATE, KJ_FAT, KJ_FIBRE)),
        ("energy_kcal", "kcal", energy_eu_kcal(organic, fat, fibre), (KCAL_CARBOHYDRATE, KCAL_FAT, KCAL_FIBRE)),
    ):
        both, of_fat, of_fibre = (f"{factor.value:g}" for factor in factors)
        expression = f"{both} * ({written} - {fibre_name}) + {of_fat} * fat_g{number} + {of_fibre} * {fibre_name}"
        note = "protein and carbohydrate have one factor"
        steps[key] = Step(f"{key}{number}", expression, values, found, unit, KJ_FAT.source, note)
    return steps


def _steps_us(ingredient: Ingredient, way: EnergyWay, number: str) -> dict[str, Step]:
    steps: dict[str, Step] = {}
    organic, fat, fibre = organic_g(ingredient), ingredient.fat_g, ingredient.fibre_g
    names = {key: f"{key}{number}" for key in ("protein_g", "carbohydrate_g", "fat_g", "fibre_g", "energy_kcal")}
    source = "cfr-21-101-9-protein"
    protein, carbohydrate = ingredient.protein_g, ingredient.carbohydrate_by_difference_g
    if protein is not None:
        steps["protein_g"] = Step(
            names["protein_g"], f"table{number}", {f"table{number}": protein}, protein, "g", source
        )
    if organic is not None and protein is not None:
        written, values = _organic_written(ingredient, number)
        carbohydrate = organic - protein
        values[names["protein_g"]] = protein
        expression = f"{written} - {names['protein_g']}"
        steps["carbohydrate_g"] = Step(names["carbohydrate_g"], expression, values, carbohydrate, "g", source)
    elif carbohydrate is not None:
        name = f"by_difference{number}"
        steps["carbohydrate_g"] = Step(names["carbohydrate_g"], name, {name: carbohydrate}, carbohydrate, "g", source)
    if way == "specific":
        found = _specific_step(ingredient, number)
        return steps if found is None else steps | {"energy_kcal": found}
    if protein is None or carbohydrate is None or fat is None or _rest_has_energy(ingredient):
        return steps
    values = {names["protein_g"]: protein, names["carbohydrate_g"]: carbohydrate, names["fat_g"]: fat}
    of_protein, of_carbohydrate, of_fat = GENERAL_PROTEIN.value, GENERAL_CARBOHYDRATE.value, GENERAL_FAT.value
    counted, energy, source = names["carbohydrate_g"], energy_449_kcal(protein, carbohydrate, fat), GENERAL_FAT.source
    if way == "less fibre":
        if fibre is None:
            return steps
        values[names["fibre_g"]] = fibre
        counted = f"({counted} - {names['fibre_g']})"
        energy, source = energy_less_fibre_kcal(protein, carbohydrate, fat, fibre), SOLUBLE_FIBRE.source
    expression = (
        f"{of_protein:g} * {names['protein_g']} + {of_carbohydrate:g} * {counted} + {of_fat:g} * {names['fat_g']}"
    )
    steps["energy_kcal"] = Step(names["energy_kcal"], expression, values, energy, "kcal", source)
    return steps


def _specific_parts(ingredient: Ingredient) -> dict[str, tuple[float, float]] | None:
    """Return what has a factor of its own and is not zero; None where an amount or a factor is missing."""
    found: dict[str, tuple[float, float]] = {}
    for name, amount in (
        ("protein", ingredient.protein_g),
        ("fat", ingredient.fat_g),
        ("carbohydrate", ingredient.carbohydrate_by_difference_g),
    ):
        factor: float | None = getattr(ingredient, f"kcal_per_g_{name}")
        if amount is None or (amount and factor is None) or _rest_has_energy(ingredient):
            return None
        if amount and factor is not None:
            found[name] = (amount, factor)
    return found


def _specific_step(ingredient: Ingredient, number: str) -> Step | None:
    energy_kcal, parts = energy_specific_kcal(ingredient), _specific_parts(ingredient)
    if energy_kcal is None:
        return None
    if parts is None:
        expression, values = f"table_kcal{number}", {f"table_kcal{number}": energy_kcal}
    else:
        # The specific factors belong to the table's own carbohydrate, to its last digit.
        expression = " + ".join(f"table_{name}{number} * factor_{name}{number}" for name in parts) or "0"
        values = {f"table_{name}{number}": amount for name, (amount, _) in parts.items()}
        values |= {f"factor_{name}{number}": factor for name, (_, factor) in parts.items()}
    return Step(f"energy_kcal{number}", expression, values, energy_kcal, "kcal", "cfr-21-101-9-energy")


def _organic_written(ingredient: Ingredient, number: str) -> tuple[str, dict[str, float]]:
    """Return protein and carbohydrate together as ``organic_g`` has them, as a working writes it."""
    names = ("water_g", "fat_g", "ash_g")
    values = [getattr(ingredient, name) for name in names]
    if None not in values and organic_g(ingredient) == 100 - sum(values):
        written = dict(zip((f"share{number}", f"fat_g{number}", f"ash_g{number}"), values, strict=True))
        return " - ".join(["100", *written]), written
    written = {
        f"table_protein{number}": ingredient.protein_g or 0.0,
        f"table_carbohydrate{number}": ingredient.carbohydrate_by_difference_g or 0.0,
    }
    return " + ".join(written), written


def _rest_has_energy(ingredient: Ingredient) -> bool:
    """Whether something in it that is not accounted for may have energy: acids have, a carbonate has none."""
    return rest_g(ingredient) > _UNACCOUNTED_G and ingredient.energy_kcal != 0


def _added_sugars_g(ingredient: Ingredient) -> float | None:
    if ingredient.kind == "sugar":
        return ingredient.sugars_g
    own = ingredient.kind in _NEVER_SUGARED or (ingredient.source == "usda-sr28" and ingredient.sugars_g is not None)
    # Of a supplier's fruit, chocolate or cheese nobody but the supplier knows what was added.
    return 0.0 if own or ingredient.sugars_g == 0 else None


def _sum(*parts: float | None) -> float | None:
    known = [part for part in parts if part is not None]
    return sum(known) if len(known) == len(parts) else None
