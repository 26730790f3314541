"""Names of standardised bread: what a bread may be called in the USA, by the standards of identity of 21 CFR 136.

Each name asks for something that can be worked out from the formula and the loss of water: solids of the loaf, parts of
milk solids or raisins to 100 of flour, whole egg solids, nothing but whole wheat flour.  What the composition does not
tell leaves the name open; it is then neither allowed nor refused here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from attrs import frozen

from .finished import FinishedLoaf, Ingoing, Mixture, finished_loaf
from .formula import Formula
from .lines import Lines
from .listing import DRAFT
from .losses import Losses
from .quantity import MASS, Door, Measure
from .readerunits import with_units
from .sources import Constant
from .working import Caution, Step, Working, shown

__all__ = ["NameCheck", "StandardNames", "is_bread_by_solids", "standard_names"]

LEAST_SOLIDS: Final = Constant(62.0, "%", 0.0, "cfr-21-136", "136.110(a)")
MILK_SOLIDS: Final = Constant(8.2, "parts per 100 of flour", 0.0, "cfr-21-136", "136.130")
EGG_SOLIDS: Final = Constant(2.56, "%", 0.0, "cfr-21-136", "136.110, whole egg solids")
RAISINS: Final = Constant(50.0, "parts per 100 of flour", 0.0, "cfr-21-136-160", "136.160")
_ENRICHED: Final = "found least1 least2 least3 least4 least5"
UNIT_LB: Final = Constant(0.5, "lb", 0.0, "cfr-136-3", "136.3, after cooling; less is a roll or bun")
ENRICHED_MG_PER_LB: Final = Lines(
    {
        "thiamin": Constant(1.8, "mg/lb", 0.0, "cfr-21-136", "136.115"),
        "riboflavin": Constant(1.1, "mg/lb", 0.0, "cfr-21-136", "136.115"),
        "niacin": Constant(15.0, "mg/lb", 0.0, "cfr-21-136", "136.115"),
        "folic acid": Constant(0.43, "mg/lb", 0.0, "cfr-21-136", "136.115"),
        "iron": Constant(12.5, "mg/lb", 0.0, "cfr-21-136", "136.115"),
    }
)
"""What a pound of enriched bread holds."""
CALCIUM_MG_PER_LB: Final = Constant(600.0, "mg/lb", 0.0, "cfr-21-136", "136.115, optional")
_POUND_G: Final = 453.59237
"""By definition."""
_MILKS: Final = ("whole milk", "unfortified whole milk")
_WHOLE_WHEAT: Final = ("whole wheat flour", "white whole wheat flour")
_WHOLE_EGG: Final = ("egg", "dried whole egg")
_RAISINS: Final = ("raisins", "golden raisins")
_ROUNDING: Final = 1e-9


def is_bread_by_solids(solids_percent: float) -> bool:
    """Return whether a loaf holds the total solids that bread must: solids >= 62 %.

    Args:
        solids_percent: what is not water in 100 g of the loaf, at most 100.

    Source: 21 CFR 136.110(a) (cfr-21-136).

    Example:
        >>> is_bread_by_solids(100 - 34.8), is_bread_by_solids(61.9)
        (True, False)
    """
    return solids_percent >= LEAST_SOLIDS.value - _ROUNDING


@frozen
class NameCheck:
    """Whether a bread may carry a name: ``may`` is None where it cannot be told; ``why`` says what decided."""

    name: str
    may: bool | None
    why: str
    steps: tuple[Step, ...] = ()

    def __str__(self) -> str:
        """Return the verdict as one line."""
        verdict = {True: "yes", False: "no", None: "cannot be told"}[self.may]
        return f"{self.name}: {verdict} ({self.why})"


@frozen
class StandardNames:
    """The names of standardised bread, each with its verdict and arithmetic."""

    bread: str
    checks: tuple[NameCheck, ...]
    loaf: FinishedLoaf
    cautions: tuple[Caution, ...] = ()

    @property
    def may_be_called(self) -> tuple[str, ...]:
        """The names that the bread may carry."""
        return tuple(check.name for check in self.checks if check.may)

    @property
    def cannot_be_told(self) -> tuple[str, ...]:
        """The names that must be left open."""
        return tuple(check.name for check in self.checks if check.may is None)

    def check(self, name: str) -> NameCheck:
        """Return the verdict on one name.

        Raises:
            KeyError: when there is no such name.
        """
        return {check.name: check for check in self.checks}[name]

    def __str__(self) -> str:
        """Return the verdicts as text."""
        return "\n".join([f"{self.bread}: names by 21 CFR 136", *(f"  {check}" for check in self.checks)])

    def working(self) -> Working:
        """Show the steps of every name, after those of the finished loaf; the last line is that of the last name."""
        loaf = self.loaf
        steps = loaf.steps() if loaf.water_g is None else (*loaf.steps(), *loaf.water_steps())
        # Two names may ask for the flour: it is added up once.
        once = {step.symbol: step for step in (*steps, *(step for check in self.checks for step in check.steps))}
        told = {"%": "least", "g/lb": "pound", "mg/lb": _ENRICHED, "g/100 g": "dry"}
        return Working(f"{self.bread}: names by 21 CFR 136", with_units(once.values(), told), self.cautions)


def standard_names(
    formula: Formula,
    *,
    losses: Losses | None = None,
    piece: Measure | None = None,
    baked: Measure | None = None,
    cultures: Mapping[str, Mixture] | None = None,
    enrichment: Mapping[str, Measure] | None = None,
) -> StandardNames:
    """Find which names of standardised bread a bread may carry in the USA, with the arithmetic of each.

    Args:
        formula: the bread.
        losses: from the mixer to the shelf, if not the formula's own.
        piece: the weight of a piece on the divider's scale; it or ``baked`` tells bread from rolls.
        baked: the weight of a piece when sold.
        cultures: what cultures and old dough are made of, see ``finished_loaf``.
        enrichment: what a pound of the bread holds, by analysis or the mill's figures, of thiamin, riboflavin, niacin,
            folic acid and iron: name -> mass, such as "1.8 mg".

    Raises:
        QuantityError: a mass that cannot be read, a vitamin that the standard does not have.
        FormulaError: as ``finished_loaf``.

    Only what the formula shows is checked: optional ingredients, methods and further conditions of a standard are not.
    That raisin bread holds 50 parts is from memory (cfr-21-136-160); the rest was read in copies (cfr-21-136).

    Example:
        >>> loaf = Formula.from_percents("Loaf", {"unenriched bread flour": 100, "water": 62, "salt": 2, "fresh yeast": 2})
        >>> made = standard_names(loaf, losses=Losses(bake="12 %"), baked="800 g")
        >>> made.check("bread").may, round(made.loaf.solids_percent, 1)
        (False, 61.1)
        >>> standard_names(loaf, losses=Losses(bake="15 %"), baked="800 g").may_be_called
        ('bread',)
    """
    loaf = finished_loaf(formula, losses=losses, piece=piece, baked=baked, cultures=cultures)
    with Door() as door:
        rich = {name: 1000 * door.read(MASS, mass, f"enrichment: {name}") for name, mass in (enrichment or {}).items()}
        for name in rich:
            if name not in ENRICHED_MG_PER_LB:
                door.refuse("enrichment", repr(name), f"one of {', '.join(ENRICHED_MG_PER_LB)}")
    base = _base(loaf)
    flours = tuple(each for each in loaf.ingoing if each.ingredient.is_flour)
    checks = (
        base,
        _enriched(base, rich),
        _milk(base, loaf, flours),
        _egg(base, loaf),
        _parts(base, "raisin bread", "raisins", loaf, _RAISINS, flours, RAISINS),
        _whole_wheat(base, flours),
    )
    found = [DRAFT, *loaf.cautions]
    found.append(Caution("names-partly", "A standard asks for more than a formula shows; raisin bread is from memory."))
    return StandardNames(formula.name, checks, loaf, tuple(found))


def _base(loaf: FinishedLoaf) -> NameCheck:
    """Check the solids, and tell bread from rolls by the weight of the unit."""
    name = (
        "bread"
        if not loaf.per_piece or loaf.finished_g >= UNIT_LB.value * _POUND_G * (1 - _ROUNDING)
        else "roll or bun"
    )
    if loaf.solids_percent is None:
        return NameCheck(name, None, f"the water in {', '.join(loaf.water_gaps)} is not known")
    may = is_bread_by_solids(loaf.solids_percent)
    sign = ">=" if may else "<"
    step = Step(
        "over_least",
        "solids_percent - least",
        {"solids_percent": loaf.solids_percent, "least": LEAST_SOLIDS.value},
        loaf.solids_percent - LEAST_SOLIDS.value,
        "%",
        LEAST_SOLIDS.source,
        "total solids over the least that bread holds, 136.110(a)",
    )
    steps: tuple[Step, ...] = (step,)
    if loaf.per_piece:
        values = {"finished": loaf.finished_g, "pound": _POUND_G}
        note = f"a unit of {shown(UNIT_LB.value)} lb or more is bread, a lighter one a roll or bun, 136.3"
        steps = (step, Step("unit", "finished / pound", values, loaf.finished_g / _POUND_G, "lb", UNIT_LB.source, note))
    why = f"solids {shown(loaf.solids_percent, 4)} % {sign} {shown(LEAST_SOLIDS.value)} %"
    return NameCheck(name, may, why, steps)


def _with(base: NameCheck, name: str, why: str, steps: tuple[Step, ...] = (), *, may: bool | None) -> NameCheck:
    """Return a verdict that also asks for what every bread must hold."""
    named = name if base.name == "bread" else name.replace("bread", "roll or bun")
    verdicts = (base.may, may)
    both = False if False in verdicts else None if None in verdicts else True
    return NameCheck(named, both, why if both is may else f"{base.why}; {why}", steps)


def _enriched(base: NameCheck, rich: Mapping[str, float]) -> NameCheck:
    short = [
        name for name, least in ENRICHED_MG_PER_LB.items() if name in rich and rich[name] < least.value - _ROUNDING
    ]
    absent = [name for name in ENRICHED_MG_PER_LB if name not in rich]
    steps = tuple(
        Step(
            f"over_{name.replace(' ', '_')}",
            f"found{number} - least{number}",
            {f"found{number}": rich[name], f"least{number}": least.value},
            rich[name] - least.value,
            "mg/lb",
            least.source,
            f"{name} in a pound of bread over the least, 136.115",
        )
        for number, (name, least) in enumerate(ENRICHED_MG_PER_LB.items(), 1)
        if name in rich
    )
    if short:
        why = ", ".join(f"{name} {shown(rich[name])} < {shown(ENRICHED_MG_PER_LB[name].value)} mg/lb" for name in short)
        return _with(base, "enriched bread", why, steps, may=False)
    if absent:
        return _with(
            base, "enriched bread", f"nobody told the {', '.join(absent)} in a pound (enrichment=)", steps, may=None
        )
    return _with(base, "enriched bread", "the vitamins and the iron of 136.115", steps, may=True)


def _milk(base: NameCheck, loaf: FinishedLoaf, flours: tuple[Ingoing, ...]) -> NameCheck:
    others = [
        each.name for each in loaf.ingoing if each.ingredient.kind in ("water", "liquid") and each.name not in _MILKS
    ]
    found = _parts(base, "milk bread", "milk solids", loaf, _MILKS, flours, MILK_SOLIDS, solids=True)
    if found.may is not False and others:
        return _with(
            base,
            "milk bread",
            f"{', '.join(others)} beside the milk: milk is the only moistener",
            found.steps,
            may=False,
        )
    return found


def _parts(
    base: NameCheck,
    name: str,
    what: str,
    loaf: FinishedLoaf,
    counted: tuple[str, ...],
    flours: tuple[Ingoing, ...],
    least: Constant,
    *,
    solids: bool = False,
) -> NameCheck:
    """Check parts of something, or of its solids, to 100 parts of flour."""
    mine = [each for each in loaf.ingoing if each.name in counted]
    flour_g = math.fsum(each.mass_g for each in flours)
    symbols = {each.name: f"m{number}" for number, each in enumerate(loaf.ingoing, 1)}
    if solids and any(each.water_g is None for each in mine):
        return _with(base, name, f"the water in {', '.join(each.name for each in mine)} is not known", may=None)
    grams = math.fsum(each.mass_g - (each.water_g or 0.0) * solids for each in mine)
    parts = 100 * grams / flour_g
    key = what.replace(" ", "_")
    values = {symbols[each.name]: each.mass_g for each in mine}
    terms = list(values)
    if solids:
        values |= {f"dry{symbols[each.name][1:]}": each.ingredient.solids_g or 0.0 for each in mine}
        terms = [f"{term} * dry{term[1:]} / 100" for term in terms]
    flour = {symbols[each.name]: each.mass_g for each in flours}
    steps = (
        Step(f"{key}_g", " + ".join(terms) or "0", values, grams, "g", note=what),
        Step("flour", " + ".join(flour), flour, flour_g, "g", note="all flours"),
        Step(
            f"{key}_parts",
            f"100 * {key}_g / flour",
            {f"{key}_g": grams, "flour": flour_g},
            parts,
            "",
            least.source,
            least.where,
        ),
    )
    may = parts >= least.value - _ROUNDING
    why = f"{shown(parts, 4)} parts of {what} to 100 of flour {'>=' if may else '<'} {shown(least.value)}"
    return _with(base, name, why, steps, may=may)


def _egg(base: NameCheck, loaf: FinishedLoaf) -> NameCheck:
    mine = [each for each in loaf.ingoing if each.name in _WHOLE_EGG]
    symbols = {each.name: f"m{number}" for number, each in enumerate(loaf.ingoing, 1)}
    if any(each.water_g is None for each in mine):
        return _with(base, "egg bread", f"the water in {', '.join(each.name for each in mine)} is not known", may=None)
    grams = math.fsum(each.mass_g - (each.water_g or 0.0) for each in mine)
    percent = 100 * grams / loaf.finished_g
    values = {symbols[each.name]: each.mass_g for each in mine}
    terms = [f"{symbol} * dry{symbol[1:]} / 100" for symbol in values]
    values |= {f"dry{symbols[each.name][1:]}": each.ingredient.solids_g or 0.0 for each in mine}
    steps = (
        Step("egg_solids_g", " + ".join(terms) or "0", values, grams, "g", note="whole egg solids"),
        Step(
            "egg_solids",
            "100 * egg_solids_g / finished",
            {"egg_solids_g": grams, "finished": loaf.finished_g},
            percent,
            "%",
            EGG_SOLIDS.source,
            "of the finished bread",
        ),
    )
    may = percent >= EGG_SOLIDS.value - _ROUNDING
    why = f"{shown(percent, 3)} % of whole egg solids {'>=' if may else '<'} {shown(EGG_SOLIDS.value)} %"
    return _with(base, "egg bread", why, steps, may=may)


def _whole_wheat(base: NameCheck, flours: tuple[Ingoing, ...]) -> NameCheck:
    others = [each.name for each in flours if each.name not in _WHOLE_WHEAT]
    why = f"{', '.join(others)} beside whole wheat flour" if others else "whole wheat flour alone"
    return _with(base, "whole wheat bread", why, may=not others)
