"""Problems about losses and net weight: what must be mixed and divided so that the bread holds what it promises."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from attrs import evolve

from .draws import Ask, Dice, Wrong, amount, is_on, joined, posed, renamed, told
from .formula import Formula
from .kinds import MASS
from .losses import Combine, Losses
from .netweight import TargetMass, mean_for_limit_g, target_mass
from .percentproblems import FLOUR
from .problems import Problem
from .quantity import write
from .readerunits import in_units
from .samples import Weighing
from .working import Step, Working

__all__ = ["LOSS_PROBLEMS", "NET_WEIGHT_PROBLEMS"]

ADDED: Final = "the losses were added up instead of taken one after the other"
ON_BREAD: Final = "the loss was added to the baked weight; it is a share of the dough"
TAKEN_OFF: Final = "the loss was taken off the baked weight: the dough must be heavier, not lighter"
ALL_TAKEN_OFF: Final = "the losses were taken off the baked weight: the dough must be heavier, not lighter"
FORGOTTEN: Final = "the loss {} was forgotten"
_PIECES_G: Final = (
    60.0,
    80.0,
    90.0,
    100.0,
    300.0,
    400.0,
    450.0,
    500.0,
    600.0,
    750.0,
    800.0,
    900.0,
    1000.0,
    1200.0,
    1500.0,
)
_PIECES_OZ: Final = (2.0, 2.5, 4.0, 5.0, 8.0, 10.0, 16.0, 20.0, 24.0, 32.0, 40.0)
_LARGEST: Final[Mapping[str, float]] = {"kg": 150.0, "lb": 330.0}
"""As much as a large mixer takes."""
_BAKE: Final = (8.0, 10.0, 11.0, 12.0, 12.5, 13.0, 14.0, 15.0, 18.0, 20.0)
_WORDS: Final[Mapping[str, str]] = {
    "handling": "in the bowl and on the bench",
    "bake": "in the oven",
    "cool": "in cooling",
    "ferment": "in proofing",
}


def _losses(shares: Mapping[str, float], *, added: bool = False) -> Losses:
    texts = {name: amount(shares.get(name, 0.0), "%") for name in _WORDS}
    handling, bake, cool, ferment = texts.values()
    combine: Combine = "add" if added else "compound"
    return Losses(handling=handling, bake=bake, cool=cool, ferment=ferment, combine=combine)


def _scaling_weight(dice: Dice) -> Problem | None:
    piece, bake = dice.pick(_PIECES_G), dice.pick(_BAKE)
    losses = _losses({"bake": bake})
    bread = losses.bread_from(amount(piece, "g")).mass_g
    if not is_on(bread, 1):
        return None
    given = {"baked weight": amount(bread, "g"), "bake loss": amount(bake, "%")}
    found = losses.dough_for(given["baked weight"])
    keeps = 1 - bake / 100
    wrong: Wrong = [
        (bread * (1 + bake / 100), ON_BREAD),
        (bread * keeps, TAKEN_OFF),
    ]
    text = (
        f"A loaf shall weigh {given['baked weight']} when baked. The oven takes {given['bake loss']} of the dough."
        " How heavy must the piece of dough be, in g?"
    )
    ask = Ask("weight of the dough", MASS.name, "g", 1.0)
    return posed(ask, text, given, Working("Dough for a baked weight", found.working().steps[:1]), wrong)


def _baked_weight(dice: Dice) -> Problem | None:
    piece, bake = dice.pick(_PIECES_G), dice.pick(_BAKE)
    given = {"piece of dough": amount(piece, "g"), "bake loss": amount(bake, "%")}
    found = _losses({"bake": bake}).bread_from(given["piece of dough"])
    wrong: Wrong = [
        (piece * bake / 100, "this is the loss itself; the bread is the rest"),
        (piece / (1 - bake / 100), "it was divided instead of multiplied: the bread is lighter than its dough"),
    ]
    text = (
        f"A piece of dough weighs {given['piece of dough']}. The oven takes {given['bake loss']} of it."
        " How heavy is the bread, in g?"
    )
    return posed(Ask("weight of the bread", MASS.name, "g", 1.0), text, given, found.working(), wrong)


def _several(dice: Dice, unit: str, sizes: tuple[float, ...], step: float, names: tuple[str, ...]) -> Problem | None:
    """Several losses, one after the other, of one piece."""
    dough = dice.pick(sizes)
    shares = {name: dice.pick(_BAKE if name == "bake" else (1.0, 2.0, 2.5, 4.0, 5.0)) for name in names}
    losses = _losses(shares)
    bread = told(MASS, losses.bread_from(amount(dough, unit)).mass_g, unit)
    if not is_on(bread, 1.0 if unit == "g" else 0.1):
        return None
    given = {"baked weight": amount(bread, unit)} | {
        f"{name} loss": amount(share, "%") for name, share in shares.items()
    }
    found = losses.dough_for(given["baked weight"])
    value = told(MASS, found.mass_g, unit)
    added = told(MASS, _losses(shares, added=True).dough_for(given["baked weight"]).mass_g, unit)
    last = next(name for name in names if name != "bake")
    wrong: Wrong = [
        (added, ADDED),
        (value * (1 - shares["bake"] / 100), FORGOTTEN.format(_WORDS["bake"])),
        (value * (1 - shares[last] / 100), FORGOTTEN.format(_WORDS[last])),
        (bread * bread / value, ALL_TAKEN_OFF),
    ]
    parts = [f"{amount(share, '%')} {_WORDS[name]}" for name, share in shares.items()]
    text = (
        f"A loaf shall weigh {given['baked weight']} when it is sold. Its dough loses {', then '.join(parts)}, each of what is"
        f" left by then. How much dough must be mixed for it, in {unit}?"
    )
    solution = in_units(found.working(), mass=unit)
    ask = Ask("weight of the dough", MASS.name, unit, step, fine=True)
    return posed(ask, text, given, solution, wrong)


def _two_in_g(dice: Dice) -> Problem | None:
    return _several(dice, "g", _PIECES_G, 1.0, dice.pick((("handling", "bake"), ("bake", "cool"), ("ferment", "bake"))))


def _two_in_oz(dice: Dice) -> Problem | None:
    return _several(
        dice, "oz", _PIECES_OZ, 0.5, dice.pick((("handling", "bake"), ("bake", "cool"), ("ferment", "bake")))
    )


def _mix_for_pieces(dice: Dice, unit: str, small: str, sizes: tuple[float, ...], step: float) -> Problem | None:
    """Two stages: the piece on the divider's scale, and the dough to mix for all of them."""
    piece, bake, handling = dice.pick(sizes), dice.pick(_BAKE), dice.pick((2.0, 2.5, 4.0, 5.0))
    losses = _losses({"handling": handling, "bake": bake})
    baked = told(MASS, losses.bread_from(amount(piece, small), at="divider").mass_g, small)
    each = told(MASS, losses.dough_for(amount(baked, small)).mass_g, unit)
    fits = [pieces for pieces in range(20, 241) if is_on(pieces * each, step) and pieces * each <= _LARGEST[unit]]
    if not fits or not is_on(baked, 1.0 if small == "g" else 0.1):
        return None
    pieces = dice.pick(fits)
    given = {
        "pieces": f"{pieces} pieces",
        "baked weight": amount(baked, small),
        "handling loss": amount(handling, "%"),
        "bake loss": amount(bake, "%"),
    }
    loaf = Formula.from_percents("Loaf", {FLOUR: 100})
    batch = loaf.scale(pieces=pieces, baked=given["baked weight"], losses=losses)
    value = told(MASS, batch.dough_g, unit)
    added = _losses({"handling": handling, "bake": bake}, added=True).dough_for(given["baked weight"]).mass_g * pieces
    whole = next(n for n, each in enumerate(batch.working().steps) if each.symbol == "dough") + 1
    solution = in_units(Working("Dough for all pieces", batch.working().steps[:whole]), mass=unit)
    wrong: Wrong = [
        (told(MASS, added, unit), ADDED),
        (value * (1 - handling / 100), FORGOTTEN.format(_WORDS["handling"])),
        (value * (1 - bake / 100), FORGOTTEN.format(_WORDS["bake"])),
        (value / pieces, "this is the dough for one piece only"),
    ]
    text = (
        f"{given['pieces']} shall weigh {given['baked weight']} each when baked. The oven takes {given['bake loss']} of each piece,"
        f" and before that {given['handling loss']} of all the dough stays in the bowl and on the bench."
        f" How much dough must be mixed, in {unit}?"
    )
    ask = Ask("weight of the dough", MASS.name, unit, step, fine=True)
    return posed(ask, text, given, solution, wrong)


def _mix_kg(dice: Dice) -> Problem | None:
    return _mix_for_pieces(dice, "kg", "g", _PIECES_G, 0.05)


def _mix_lb(dice: Dice) -> Problem | None:
    return _mix_for_pieces(dice, "lb", "oz", _PIECES_OZ, 0.1)


_NOMINALS: Final = (200.0, 250.0, 300.0, 350.0, 400.0, 450.0, 500.0, 600.0, 700.0, 750.0, 800.0, 900.0, 1000.0)
_BEYOND: Final = 1.96
"""How many standard deviations leave 1 in 40 below, as it is taught; elsewhere the library reckons with more digits."""


def _net(dice: Dice, unit: str) -> Problem | None:
    """Off the scale, with the wrapping on it."""
    if unit == "g":
        tare, weight = dice.number(4, 25, 1), dice.number(250, 1100, 1)
    else:
        tare, weight = dice.number(0.2, 0.9, 0.1), dice.number(9, 40, 0.1)
    given = {"weight on the scale": amount(weight, unit), "wrapping": amount(tare, unit)}
    net = told(MASS, Weighing(given["weight on the scale"], tare=given["wrapping"]).mass_g, unit)
    step = Step("net", "gross - tare", {"gross": weight, "tare": tare}, net, unit, units={"gross": unit, "tare": unit})
    wrong: Wrong = [
        (weight, "the tare was forgotten: this is the bread with its wrapping"),
        (weight + tare, "the tare was added instead of taken off"),
    ]
    text = (
        f"A wrapped loaf shows {given['weight on the scale']} on the scale; the wrapping alone weighs {given['wrapping']}."
        f" What is the net weight, in {unit}?"
    )
    ask = Ask("net weight", MASS.name, unit, 1.0 if unit == "g" else 0.1, fine=True)
    return posed(ask, text, given, Working("Net weight", (step,)), wrong)


def _net_g(dice: Dice) -> Problem | None:
    return _net(dice, "g")


def _net_oz(dice: Dice) -> Problem | None:
    return _net(dice, "oz")


def _target(dice: Dice) -> TargetMass:
    return target_mass(amount(dice.pick(_NOMINALS), "g"), sd=amount(dice.number(2.5, 20, 0.5), "g"))


def _rule(found: TargetMass) -> tuple[dict[str, str], str]:
    given = {"nominal weight": amount(found.nominal_g, "g"), "tolerance T": amount(found.tolerance_g, "g")}
    words = f"A loaf is sold as {given['nominal weight']}. For this weight the rule of the class has a tolerance T of {given['tolerance T']}"
    return given, words


def _limit(dice: Dice) -> Problem | None:
    found = _target(dice)
    given, words = _rule(found)
    outer = dice.pick((False, True))
    value, other = found.limit_g, found.outer_limit_g
    symbol, asks = "limit_T", "Below which weight does a loaf fall short by more than T?"
    if outer:
        value, other = other, value
        symbol, asks = "limit_2T", "Below which weight does a loaf fall short by more than twice T?"
    wrong: Wrong = [
        (2 * found.nominal_g - value, "the tolerance was added instead of taken off"),
        (other, f"T was taken off {'once' if outer else 'twice'}"),
    ]
    solution = _steps_of(found, "Limit for one loaf", symbol)
    return posed(Ask("limit", MASS.name, "g", 0.5, fine=True), f"{words}. {asks}", given, solution, wrong)


def _steps_of(found: TargetMass, title: str, *symbols: str) -> Working:
    """Return some of the steps of a lowest mean, with the factor as it is taught; the tolerance is given."""
    every = found.working().steps
    # Steps that are left out have found what these take; then they tell its unit themselves.
    units = {name: unit for each in every for name, unit in (*each.units.items(), (each.symbol, each.unit or "1"))}
    steps = [
        evolve(each, units={name: units[name] for name in each.values if name not in symbols})
        for each in every
        if each.symbol in symbols
    ]
    for place, step in enumerate(steps):
        if step.symbol == "mean_T":
            values = {**step.values, "z_T": _BEYOND}
            mean_g = mean_for_limit_g(found.limit_g, found.sd_g, _BEYOND)
            steps[place] = evolve(step, values=values, value=mean_g)
    return Working(title, tuple(steps), found.cautions)


def _spread_words(found: TargetMass, words: str) -> tuple[dict[str, str], str]:
    given = {"standard deviation": amount(found.sd_g, "g"), "standard deviations of room": amount(_BEYOND, "")}
    return given, (
        f"{words}. 1 loaf in 40 may be short by more than T; {given['standard deviations of room']} standard deviations leave"
        f" room for that. The baked loaves have a standard deviation of {given['standard deviation']}"
    )


def _mean(dice: Dice) -> Problem | None:
    found = _target(dice)
    rule, words = _rule(found)
    solution = _steps_of(found, "Mean weight", "limit_T", "mean_T")
    nominal, limit, spread = found.nominal_g, found.limit_g, found.sd_g
    if solution.value < nominal:
        # Then not this limit counts, but the nominal weight itself.
        return None
    wrong: Wrong = [
        (nominal + _BEYOND * spread, "the tolerance was not taken off before the spread was added"),
        (limit + spread, "the standard deviation was added once, without the factor"),
        (limit - _BEYOND * spread, "the spread was taken off instead of added"),
    ]
    given, words = _spread_words(found, words)
    text = f"{words}. Which mean weight do they need, as far as this limit goes?"
    ask = Ask("mean weight", MASS.name, "g", 0.1, fine=True)
    return posed(ask, text, rule | given, solution, wrong)


def _mean_then_piece(dice: Dice) -> Problem | None:
    """Two stages: the mean that the rule asks for, and what to divide at for it."""
    found = _target(dice)
    bake = dice.pick(_BAKE)
    rule, words = _rule(found)
    mean = _steps_of(found, "Mean weight", "limit_T", "mean_T")
    if mean.value < found.nominal_g:
        return None
    piece = _losses({"bake": bake}).dough_for(write(MASS, mean.value))
    keeps = 1 - bake / 100
    wrong: Wrong = [
        (mean.value * keeps, TAKEN_OFF),
        (mean.value * (1 + bake / 100), ON_BREAD),
        (found.nominal_g / keeps, "the mean was left at the nominal weight: the spread was forgotten"),
        ((mean.value + found.tolerance_g) / keeps, "the tolerance was not taken off before the spread was added"),
    ]
    given, words = _spread_words(found, words)
    given |= {"bake loss": amount(bake, "%")}
    text = (
        f"{words}, and the oven takes {given['bake loss']} of the dough. At which weight must the dough be divided, as far as this"
        " limit goes?"
    )
    weighed = renamed(piece.working().steps[:1], {"bread": "mean_T"})
    solution = joined("Mean weight, then the weight to divide at", mean, weighed)
    ask = Ask("weight to divide at", MASS.name, "g", 0.1, fine=True)
    return posed(ask, text, rule | given, solution, wrong)


LOSS_PROBLEMS: Final = (
    (_scaling_weight, _baked_weight),
    (_two_in_g, _two_in_oz),
    (_mix_kg, _mix_lb),
)
"""Makers of problems about losses, level by level."""

NET_WEIGHT_PROBLEMS: Final = (
    (_net_g, _limit),
    (_mean, _net_oz),
    (_mean_then_piece,),
)
"""Makers of problems about net weight, level by level."""
