"""Reckon the nutrition table of a bread, with everything that a reader must know before it is printed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Final, cast, get_args

from attrs import evolve

from .breadband import outside
from .energyfactors import SOLUBLE_FIBRE
from .errors import Fault, FormulaError, Gathered, UnknownNameError, cited
from .finished import FinishedLoaf, Mixture, finished_loaf
from .formula import Formula
from .labelchecks import SALT_PER_SODIUM
from .labelrounding import label_rules
from .legalnames import Region
from .lines import Lines
from .losses import Losses
from .nutrients import ENERGY_WAYS, EnergyWay, TapWater
from .nutritiontable import Nutrition, figures_of
from .quantity import MASS, Door, Measure, read
from .sources import source
from .tablefigure import Nutrient
from .working import Caution, shown

__all__ = ["nutrition"]

SUPPLIED: Final = ("trans_fat_g", "added_sugars_g")
"""Figures of a table of the USA that no table of compositions has."""


def nutrition(
    formula: Formula,
    *,
    losses: Losses | None = None,
    region: str = "eu",
    serving: Measure | None = None,
    served_as: str = "bread",
    energy: str | None = None,
    tap_water: str = "plain",
    piece: Measure | None = None,
    baked: Measure | None = None,
    cultures: Mapping[str, Mixture] | None = None,
    supplied: Mapping[str, Mapping[str, float]] | None = None,
) -> Nutrition:
    """Reckon the nutrition table of a bread: figure = sum of weight x figure of each ingredient / weight of the loaf.

    Args:
        formula: the bread; levains and old dough are taken apart into what they are made of.
        losses: from the mixer to the shelf, if not the formula's own. What is lost after the mixer is water.
        region: "eu" (Regulation 1169/2011) or "us" (21 CFR 101.9).
        serving: a mass of bread. In the USA the reference amount of ``served_as``, if it is not told.
        served_as: "bread", "roll", "bagel", "biscuit", "croissant", "tortilla", "soft pretzel" or "english muffin".
        energy: in the USA how calories are reckoned: "4-4-9" (if not told), "less fibre" or "specific". The EU has one way.
        tap_water: "plain": water is water and nothing else; "table": with the minerals of the catalogue's tap water.
        piece: the weight of a piece on the divider's scale; this, or ``baked``, is needed where there are toppings.
        baked: the weight of a piece when sold, without its toppings.
        cultures: line of culture or old dough -> what it is made of.
        supplied: ingredient -> ``trans_fat_g`` and ``added_sugars_g`` in 100 g of it, as its supplier told: for the USA.

    Raises:
        FormulaError: an unknown region, way or serving, losses that leave no water; all that can be told at once.
        UnknownNameError: an ingredient or culture that is not in the bread.

    Accuracy: that of the tables of composition: flours and fruit differ by a tenth from sack to sack. What yeast eats is not
    reckoned. A draft: local law decides.

    Example:
        >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 62, "salt": 2, "fresh yeast": 2})
        >>> made = nutrition(loaf, losses=Losses(bake="12 %"), region="us")
        >>> round(made.figure("protein_g").per_100_g, 1), round(made.figure("sodium_mg").per_100_g), made.figure("trans_fat_g").gaps
        (8.3, 532, ('bread flour', 'fresh yeast'))
    """
    tried, door = Gathered(), Door(FormulaError)
    serving_g = None if serving is None else door.read_above_zero(MASS, serving, "serving")
    references = {row["name"]: row["amount"] for row in label_rules()["reference"]}
    regions = get_args(Region)
    own_way = ENERGY_WAYS if region == "us" else ()
    for where, value, known in (
        ("region", region, regions),
        ("served_as", served_as, tuple(references)),
        ("tap_water", tap_water, get_args(TapWater)),
        ("energy", own_way[0] if own_way and energy is None else energy, own_way or (None,)),
    ):
        if value not in known and not (where == "energy" and region not in regions):
            names = ", ".join(f'"{name}"' for name in known if name)
            door.refuse(
                where, cited(value), f"one of {names}" if names else "nothing", "" if names else "the EU has one way"
            )
    tried.attempt(door.close)
    found = tried.attempt(lambda: finished_loaf(formula, losses=losses, piece=piece, baked=baked, cultures=cultures))
    told = tried.attempt(lambda: _supplied(formula, supplied or {}, region))
    tried.close()
    loaf = cast("FinishedLoaf", found)
    _check_there(told or Lines(), loaf)
    is_us = region == "us"
    made = Nutrition(
        bread=formula.name,
        region=cast("Region", region),
        way=cast("EnergyWay", energy or ENERGY_WAYS[0]) if is_us else "eu",
        tap_water=cast("TapWater", tap_water),
        loaf=loaf,
        flours=_flours(formula, loaf),
        supplied=told or Lines(),
        serving_g=read(MASS, references[served_as], served_as) if is_us and serving_g is None else serving_g,
        nutrients=(),
    )
    made = evolve(made, nutrients=tuple(_nutrients(made)))
    return evolve(made, cautions=tuple(_cautions(made, None if serving is not None or not is_us else served_as)))


def _nutrients(made: Nutrition) -> Iterator[Nutrient]:
    loaf = made.loaf
    figures = figures_of(loaf, made.way, made.tap_water, made.supplied)
    for row in label_rules()["figure"]:
        if row["region"] != made.region:
            continue
        key = row["key"]
        found = [(each.mass_g, figures[each.name][key]) for each in loaf.ingoing]
        total = math.fsum(mass_g * value for mass_g, value in found if value)
        yield Nutrient(
            key=key,
            words=row["words"],
            unit=row["unit"],
            # Carbohydrate by difference may come out a little below zero for a single seed.
            least_per_100_g=max(0.0, total) / loaf.finished_g,
            gaps=tuple(each.name for each in loaf.ingoing if figures[each.name][key] is None),
            source=row["source"],
            daily=float(row["daily"]) if "daily" in row else None,
            daily_rounding=row.get("daily_rounding", ""),
        )


def _cautions(made: Nutrition, reference: str | None) -> Iterator[Caution]:
    known = made.per_100_g
    salt_g = known.get("salt_g")
    sodium_mg = known.get("sodium_mg") if salt_g is None else 1000 * salt_g / SALT_PER_SODIUM.value
    ingoing_g = math.fsum(each.mass_g for each in made.loaf.ingoing)
    shares = {
        each.name: f"{each.name} ({shown(100 * each.mass_g / ingoing_g, 2)} % of what went in)"
        for each in made.loaf.ingoing
    }
    memory = "; ".join(source(name).title for name in made.rules if source(name).known_by == "memory")
    yield Caution(
        "draft", f"This is a draft: local law decides, and somebody licensed must confirm it. From memory: {memory}."
    )
    for gaps in dict.fromkeys(each.gaps for each in made.nutrients if each.gaps):
        words = [
            f"{each.words} ({each.unit})" if each.key.startswith("energy") else each.words
            for each in made.nutrients
            if each.gaps == gaps
        ]
        yield Caution("not-known", f"{', '.join(words)}: not known for {', '.join(shares[name] for name in gaps)}.")
    yield Caution(
        "before-fermentation",
        "Sugars are those of the ingredients: yeast eats some and flour sets others free; only an analysis tells the bread's.",
    )
    fibre_g = known.get("fibre_g")
    if made.way == "less fibre" and fibre_g is not None:
        most = shown(SOLUBLE_FIBRE.value * fibre_g, 2)
        yield Caution(
            "soluble-fibre", f"Fibre is reckoned without energy; soluble fibre could add up to {most} kcal in 100 g."
        )
    if reference is not None:
        yield Caution(
            "reference-amount",
            f"{shown(made.serving_g or 0.0)} g is the reference amount of {reference}: the serving on the label is the household"
            " measure next to it (from memory).",
        )
    held = {"water_g": made.water_percent, "protein_g": known["protein_g"], "sodium_mg": sodium_mg}
    yield from outside({**held, "energy_kcal": known["energy_kcal"]})


def _supplied(formula: Formula, told: Mapping[str, Mapping[str, float]], region: str) -> Lines[Lines[float]]:
    """Read what suppliers told of trans fat and added sugars."""
    found: dict[str, Lines[float]] = {}
    with Door(FormulaError) as door:
        if told and region == "eu":
            door.refuse(
                "supplied", "figures for a table of the EU", 'region="us"', "the EU's table has neither of them"
            )
        for name, figures in told.items():
            where = f"supplied: {name}"
            for key, value in figures.items():
                if key in SUPPLIED:
                    door.read_number(value, f"{where}: {key}", 0, 100)
                else:
                    door.refuse(where, cited(key), f"one of {', '.join(SUPPLIED)}", "others stand in the catalogue")
            found[formula.catalogue.find(name).name] = Lines(figures)
    return Lines(found)


def _check_there(supplied: Lines[Lines[float]], loaf: FinishedLoaf) -> None:
    there = [each.name for each in loaf.ingoing]
    strange = [
        Fault("supplied", cited(name), f"one of {', '.join(there)}", "it is not in the bread")
        for name in supplied
        if name not in there
    ]
    if strange:
        raise UnknownNameError(*strange)


def _flours(formula: Formula, loaf: FinishedLoaf) -> tuple[str, ...]:
    """Return the ingredients that make up the 100 %: those the formula names, or all flour in the loaf."""
    named = {formula.catalogue.find(line).name for line in formula.named_flours}
    return tuple(each.name for each in loaf.ingoing if (each.name in named if named else each.ingredient.is_flour))
