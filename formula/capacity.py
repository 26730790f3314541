"""Specific heat: the heat that a kilogram of each ingredient takes up to become one kelvin warmer.

Where somebody has measured it, the measured value counts.  Where nobody has, it is put together from the composition by
the polynomials of Choi and Okos, which meet the tables for vegetables but lie up to 15 % above what was measured on the
foods of a bakery: flour of 1.84 kJ/kg K comes out at 1.92 to 2.00.  Where not even the composition is known, the kind of
ingredient must do, and a caution says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

from attrs import frozen

from .errors import Fault, UnknownNameError
from .ingredient import Ingredient
from .readerunits import with_units
from .sources import Constant
from .working import Caution, Step, Working, shown

__all__ = [
    "ASSUMED_CP",
    "COMPONENTS",
    "COMPOSITION_EXCESS",
    "FLOUR_CP",
    "ICE_CP",
    "LATENT_HEAT",
    "MEASURED_CP",
    "STEEL_CP",
    "WATER_CP",
    "SpecificHeat",
    "component_cp_kj_kg_k",
    "composition_cp_kj_kg_k",
    "ingredient_cp",
]

WaterPrint = Literal["original", "ashrae"]
Way = Literal["measured", "composition", "assumed"]

UNIT: Final = "kJ/kg K"
MEAN_C: Final = 20.0
"""°C. Where a dough's ingredients are on their way from the cellar's temperature to the mixer's."""

COMPONENTS: Final[Mapping[str, tuple[Constant, Constant, Constant]]] = {
    name: tuple(  # type: ignore[misc] # three coefficients each
        Constant(value, unit, half_a_digit, "choi-okos-1986", f"cp of {name}, t from -40 to 150 °C")
        for value, unit, half_a_digit in zip(
            coefficients, (UNIT, "kJ/kg K^2", "kJ/kg K^3"), (5e-5, 5e-8, 5e-11), strict=True
        )
    )
    for name, coefficients in {
        "protein": (2.0082, 1.2089e-3, -1.3129e-6),
        "fat": (1.9842, 1.4733e-3, -4.8008e-6),
        "carbohydrate": (1.5488, 1.9625e-3, -5.9399e-6),
        "fibre": (1.8459, 1.8306e-3, -4.6509e-6),
        "ash": (1.0926, 1.8896e-3, -3.6817e-6),
        "water": (4.1762, -9.0864e-5, 5.4731e-6),
        "ice": (2.0623, 6.0769e-3, 0.0),
    }.items()
}
"""cp = a0 + a1 t + a2 t^2 in kJ/kg K, t in °C; the three coefficients of each component."""

ASHRAE_WATER: Final = Constant(
    4.1289,
    UNIT,
    5e-5,
    "ashrae-refrigeration-2006",
    "a0 of water as printed there: 1 % low, and not what its Table 3 used",
)

WATER_CP: Final = Constant(
    4.19, UNIT, 0.03, "iapws", "4.179 to 4.219 from 0 to 50 °C; the mean from 0 to 30 °C is 4.192"
)
ICE_CP: Final = Constant(2.03, UNIT, 0.07, "iapws", "1.964 at -18 °C to 2.097 at 0 °C; at -30 °C it is 1.877")
LATENT_HEAT: Final = Constant(333.427, "kJ/kg", 0.001, "iapws", "water less ice at 273.1525 K")
STEEL_CP: Final = Constant(0.48, UNIT, 0.02, "stainless-steel", "18/8 stainless steel, 0.46 to 0.50")
FLOUR_CP: Final = Constant(
    1.84,
    UNIT,
    0.04,
    "geankoplis",
    "Table A.4-1: wheat flour of 12 to 13.5 % water, 1.80 to 1.88; 1.76 is in use as well",
)
_SALT: Final = Constant(0.864, UNIT, 0.005, "thermo-library", "sodium chloride, solid, 25 °C")
_SUCROSE: Final = Constant(
    1.21, UNIT, 0.05, "thermo-library", "sucrose, 25 °C: 1.162, an estimate; experiments 1.24 to 1.25 (from memory)"
)
_WHOLE_MILK: Final = Constant(3.85, UNIT, 0.05, "geankoplis", "Table A.4-1: whole milk, 87.5 % water; 3.9 elsewhere")
_SKIM_MILK: Final = Constant(4.00, UNIT, 0.02, "geankoplis", "Table A.4-1: skim milk, 91 % water, 3.98 to 4.02")

MEASURED_CP: Final[Mapping[str, Constant]] = {
    "butter": Constant(2.30, UNIT, 0.05, "geankoplis", "Table A.4-1: butter, 15 % water, 4.4 °C"),
    "olive oil": Constant(2.01, UNIT, 0.02, "geankoplis", "Table A.4-1: olive oil, 20 °C"),
    "whole milk": _WHOLE_MILK,
    "unfortified whole milk": _WHOLE_MILK,
    "skim milk": _SKIM_MILK,
    "unfortified skim milk": _SKIM_MILK,
    "egg": Constant(3.18, UNIT, 0.05, "geankoplis", "Table A.4-1: eggs, fresh"),
    "egg yolk": Constant(2.81, UNIT, 0.05, "geankoplis", "Table A.4-1: egg yolk"),
    "sugar": _SUCROSE,
    "powdered sugar": _SUCROSE,
    "demerara sugar": _SUCROSE,
    "dextrose": Constant(1.175, UNIT, 0.05, "thermo-library", "glucose, 25 °C, an estimate"),
    "fresh yeast": Constant(3.2, UNIT, 0.2, "ashrae-commodities", "compressed yeast, 71 % water, 0.77 Btu/lb °F"),
    "old bread": Constant(2.79, UNIT, 0.07, "geankoplis", "Table A.4-1: white bread, 44 to 45 % water, 2.72 to 2.85"),
}
"""Measured values by the name of the ingredient, with the spread that is published or half of the last printed digits."""

_MEASURED_KINDS: Final[Mapping[str, Constant]] = {"flour": FLOUR_CP, "water": WATER_CP, "salt": _SALT}

_RANGE: Final = "the middle of what the composition gives for this kind in the larder"
ASSUMED_CP: Final[Mapping[str, Constant]] = {
    "liquid": Constant(3.9, UNIT, 0.1, "choi-okos-1986", _RANGE),
    "yeast": Constant(2.7, UNIT, 0.8, "choi-okos-1986", _RANGE),
    "culture": Constant(
        3.0, UNIT, 0.3, "geankoplis", "flour 1.84 and water 4.19 in equal parts; firmer or softer is within"
    ),
    "fat": Constant(2.2, UNIT, 0.3, "choi-okos-1986", _RANGE),
    "sugar": Constant(2.0, UNIT, 0.5, "choi-okos-1986", _RANGE),
    "egg": Constant(3.0, UNIT, 1.0, "choi-okos-1986", _RANGE),
    "dairy": Constant(2.8, UNIT, 1.2, "choi-okos-1986", _RANGE),
    "seed": Constant(2.0, UNIT, 0.1, "choi-okos-1986", _RANGE),
    "inclusion": Constant(3.0, UNIT, 1.0, "choi-okos-1986", _RANGE),
    "other": Constant(1.8, UNIT, 0.4, "choi-okos-1986", _RANGE),
}
"""What is taken for an ingredient of which only the kind is known."""

COMPOSITION_EXCESS: Final = Constant(
    0.15, "1", 0.0, "choi-okos-1986", "against the measured foods above: 1 % too low (skim milk) to 15 % too high (egg)"
)
"""How far the composition may lead above a measurement, as a share of it; far more for pure salt and sugar crystals."""

_WHOLE: Final = (0.9, 1.1)
"""What the shares of a known composition add up to; baking soda's table leaves two thirds of it unnamed."""


def component_cp_kj_kg_k(component: str, temperature_c: float, water_a0: WaterPrint = "original") -> float:
    """Return the specific heat of one component of food: a0 + a1 t + a2 t^2.

    Args:
        component: "protein", "fat", "carbohydrate", "fibre", "ash", "water" (above freezing) or "ice".
        temperature_c: t, °C, from -40 to 150; for water from 0.
        water_a0: the leading coefficient of water: "original" (4.1762) or "ashrae" (4.1289, as the handbook prints it).

    Raises:
        UnknownNameError: for another component.

    Accuracy: against IAPWS, water is within 0.7 % from 5 to 50 °C with the original coefficient and 1.0 to 1.8 % low with
    the other; ice is within 0.6 % from -30 to -18 °C and 1.7 % low at the melting point.

    Source: Choi and Okos (choi-okos-1986).

    Example:
        >>> component_cp_kj_kg_k("carbohydrate", 0.0)
        1.5488
    """
    if component not in COMPONENTS:
        raise UnknownNameError(Fault("component", repr(component), f"one of {', '.join(COMPONENTS)}"))
    a0, a1, a2 = (coefficient.value for coefficient in COMPONENTS[component])
    if component == "water" and water_a0 == "ashrae":
        a0 = ASHRAE_WATER.value
    return a0 + (a1 + a2 * temperature_c) * temperature_c


def composition_cp_kj_kg_k(
    water_share: float,
    protein_share: float,
    fat_share: float,
    carbohydrate_share: float,
    fibre_share: float,
    ash_share: float,
    temperature_c: float = MEAN_C,
    water_a0: WaterPrint = "original",
) -> float:
    """Return the specific heat of a food above freezing: the sum of share times specific heat of its components.

    Args:
        water_share: of the whole, 0 to 1; the other shares likewise.
        protein_share: see ``water_share``.
        fat_share: see ``water_share``.
        carbohydrate_share: see ``water_share``.
        fibre_share: see ``water_share``; it is added as given.  The handbook's table is met only when the fibre comes on
            top of a carbohydrate that holds it already; ``ingredient_cp`` counts each gram once.
        ash_share: see ``water_share``.
        temperature_c: °C.
        water_a0: as in ``component_cp_kj_kg_k``.

    Accuracy: with the original coefficient within 0.006 kJ/kg K of the foods of the handbook's table, of whose 25 we hold
    it against 17; for flour 4 to 9 % above the measured 1.84.

    Source: Choi and Okos (choi-okos-1986); the foods: ASHRAE (ashrae-refrigeration-2006).

    Example:
        >>> round(composition_cp_kj_kg_k(0.5858, 0.0636, 0.005, 0.3307, 0.021, 0.015), 2)
        3.17
    """
    shares = {
        "water": water_share,
        "protein": protein_share,
        "fat": fat_share,
        "carbohydrate": carbohydrate_share,
        "fibre": fibre_share,
        "ash": ash_share,
    }
    return sum(share * component_cp_kj_kg_k(name, temperature_c, water_a0) for name, share in shares.items())


@frozen
class SpecificHeat:
    """The specific heat of an ingredient, with the ``way`` it is known, its uncertainty and its source.

    ``shares`` holds the components by which it was put together, empty for the other two ways.
    """

    ingredient: str
    temperature_c: float
    cp_kj_kg_k: float
    uncertainty_kj_kg_k: float
    way: Way
    source: str
    where: str
    shares: tuple[tuple[str, float], ...] = ()

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """A caution where only the kind of the ingredient is known."""
        if self.way != "assumed":
            return ()
        text = (
            f"nobody has said what {self.ingredient} is made of: its specific heat is taken as {shown(self.cp_kj_kg_k)}"
            f" ± {shown(self.uncertainty_kj_kg_k)} kJ/kg K, from its kind; give its composition"
        )
        return (Caution("specific-heat-assumed", text),)

    def working(self) -> Working:
        """Show the steps; the last line is the specific heat."""
        title = f"Specific heat of {self.ingredient}"
        if self.way != "composition":
            step = Step("c", "c", {"c": self.cp_kj_kg_k}, self.cp_kj_kg_k, UNIT, self.source, self.where)
            return Working(title, with_units([step], {}), self.cautions)
        steps: list[Step] = []
        parts: dict[str, float] = {}
        for name, share in self.shares:
            a0, a1, a2 = COMPONENTS[name]
            values = {f"a0_{name}": a0.value, f"a1_{name}": a1.value, f"a2_{name}": a2.value, "t": self.temperature_c}
            cp = component_cp_kj_kg_k(name, self.temperature_c)
            polynomial = f"a0_{name} + (a1_{name} + a2_{name} * t) * t"
            steps.append(Step(f"c_{name}", polynomial, values, cp, UNIT, a0.source))
            parts |= {f"x_{name}": share, f"c_{name}": cp}
        sums = " + ".join(f"x_{name} * c_{name}" for name, _ in self.shares)
        note = "each gram counted once: the fibre is not in the carbohydrate"
        steps.append(Step("c", sums, parts, self.cp_kj_kg_k, UNIT, self.source, note))
        told = {"°C": "t", UNIT: "a0", f"{UNIT}^2": "a1", f"{UNIT}^3": "a2", "1": "x"}
        return Working(title, with_units(steps, told), self.cautions)


def ingredient_cp(ingredient: Ingredient, temperature_c: float = MEAN_C) -> SpecificHeat:
    """Find the specific heat of an ingredient: measured, else from its composition, else from its kind.

    Args:
        ingredient: as the catalogue has it.
        temperature_c: °C, for the composition; measured values are taken as they are, at any temperature.

    Returns:
        ``cp_kj_kg_k`` with its uncertainty, way and source, and a caution where only the kind is known.

    Accuracy: measured values as published; every flour has that of wheat flour, whatever its grain and its moisture
    (a percent more of water adds about 0.024 kJ/kg K).  From the composition 1 % too low to 15 % too high.

    Example:
        >>> from formula.catalogue import Catalogue
        >>> larder = Catalogue()
        >>> [ingredient_cp(larder.find(name)).way for name in ("rye flour", "honey", "vanilla extract")]
        ['measured', 'composition', 'assumed']
    """
    known = MEASURED_CP.get(ingredient.name) or _MEASURED_KINDS.get(ingredient.kind)
    way: Way = "measured"
    shares = () if known else _shares(ingredient)
    if shares:
        cp = sum(share * component_cp_kj_kg_k(name, temperature_c) for name, share in shares)
        spread = COMPOSITION_EXCESS.value * cp
        where = f"by the composition of {ingredient.source or 'the catalogue'}"
        return SpecificHeat(ingredient.name, temperature_c, cp, spread, "composition", "choi-okos-1986", where, shares)
    if known is None:
        known, way = ASSUMED_CP[ingredient.kind], "assumed"
    return SpecificHeat(ingredient.name, temperature_c, known.value, known.uncertainty, way, known.source, known.where)


def _shares(ingredient: Ingredient) -> tuple[tuple[str, float], ...]:
    """Return the components, each gram once, or nothing where the composition has a gap.

    A fibre that is not known stays in the carbohydrate, which holds it by definition.
    """
    fibre_g = ingredient.fibre_g or 0.0
    by_difference_g = ingredient.carbohydrate_by_difference_g
    # A measured fibre may pass the carbohydrate by difference by a rounding.
    digestible_g = None if by_difference_g is None else max(0.0, by_difference_g - fibre_g)
    grams = (ingredient.water_g, ingredient.protein_g, ingredient.fat_g, digestible_g, fibre_g, ingredient.ash_g)
    names = ("water", "protein", "fat", "carbohydrate", "fibre", "ash")
    known = tuple((name, value / 100) for name, value in zip(names, grams, strict=True) if value is not None)
    if len(known) < len(names) or not _WHOLE[0] <= sum(share for _, share in known) <= _WHOLE[1]:
        return ()
    return known
