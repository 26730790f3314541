"""Problems about baker's percentages and scaling: a percentage of the flour, never of the dough."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from attrs import evolve

from .batch import Batch
from .draws import Ask, Dice, amount, is_on, posed, renamed, told
from .formula import Formula
from .kinds import MASS, SHARE
from .losses import Losses
from .problems import Problem
from .readerunits import in_units
from .working import Step, Working

__all__ = ["PERCENT_PROBLEMS", "SCALING_PROBLEMS", "drawn_formula", "formula_words", "line_working"]

FLOUR: Final = "bread flour"
YEAST: Final = "fresh yeast"
OF_DOUGH: Final = "the percentage was taken of the whole dough instead of the flour"
AS_FLOUR: Final = "the weight of the dough was taken for the weight of the flour"
SLIPPED: Final = "the decimal point slipped by a place"
TOTAL_SHORT: Final = "salt and yeast were left out of the total percentage"


def drawn_formula(dice: Dice) -> dict[str, float]:
    """Draw a plain wheat dough: flour, water, salt and yeast in percent of the flour."""
    return {
        FLOUR: 100.0,
        "water": dice.number(60, 75, 1),
        "salt": dice.pick((1.8, 2.0, 2.2)),
        YEAST: dice.pick((0.5, 0.8, 1.0, 1.5, 2.0)),
    }


def formula_words(percents: Mapping[str, str]) -> str:
    """Write a formula in words: "100 % bread flour, 68 % water and 2 % salt"."""
    words = [f"{percent} {name}" for name, percent in percents.items()]
    return f"{', '.join(words[:-1])} and {words[-1]}"


def line_working(batch: Batch, line: str, title: str, unit: str, *, names: Mapping[str, str] | None = None) -> Working:
    """Return the steps of a batch that lead to one line, or to the flour, in the units of the board.

    Args:
        batch: the batch, whose own working shows every line.
        line: the line asked for; "" for all the flour.
        title: what the working is about.
        unit: the unit of the weights.
        names: symbols to use instead of those of the batch, beside those of the lines.
    """
    whole = batch.working()
    symbols = {f"p{n}": f"p_{name.replace(' ', '_')}" for n, name in enumerate(batch.formula.percents, 1)}
    flour = [step.symbol for step in whole.steps].index("flour") + 1
    steps = list(whole.steps[:flour])
    if line:
        wanted = next(step for step in whole.steps[flour:] if step.note == line)
        symbols[wanted.symbol] = line.replace(" ", "_")
        steps.append(evolve(wanted, note=""))
    steps = list(renamed(steps, symbols | dict(names or {})))
    return in_units(Working(title, tuple(steps), whole.cautions), mass=unit)


def _texts(percents: Mapping[str, float]) -> dict[str, str]:
    return {name: amount(percent, "%") for name, percent in percents.items()}


def _weight_of_a_line(dice: Dice, unit: str, flours: Sequence[str], line: str, step: float) -> Problem | None:
    percents = drawn_formula(dice)
    flour = dice.number(5, 40, 1)
    if len(flours) == 2:
        second = dice.pick((10.0, 20.0, 25.0, 30.0))
        rest = {name: percent for name, percent in percents.items() if name != FLOUR}
        percents = {FLOUR: 100 - second, flours[1]: second, **rest}
    bread = Formula.from_percents("Loaf", percents)
    # Salt and yeast are weighed in the smaller unit of the scale.
    small = line != "water"
    asked_unit = {"kg": "g", "lb": "oz"}[unit] if small else unit
    batch = bread.scale(flour=amount(flour, unit))
    solution = line_working(batch, line, f"Weight of the {line}", asked_unit)
    value, percent = solution.value, percents[line]
    if len(flours) == 2:
        parts = {name.replace(" ", "_"): told(MASS, batch.mass_g(name), asked_unit) for name in flours}
        units = dict.fromkeys(parts, asked_unit)
        both = Step(
            "flour", " + ".join(parts), parts, solution.steps[0].value, asked_unit, note="all flours", units=units
        )
        solution = evolve(solution, steps=(both, *solution.steps[1:]))
    weights = [(name, told(MASS, batch.mass_g(name), unit)) for name in flours]
    if not all(is_on(weight, 0.5) for _, weight in weights):
        return None
    given = {name: amount(weight, unit) for name, weight in weights}
    others = {name: amount(percent, "%") for name, percent in percents.items() if name not in flours}
    told_flours = " and ".join(f"{text} of {name}" for name, text in given.items())
    text = (
        f"A dough is made with {told_flours}. Its formula adds {formula_words(others)}."
        f" How much {line} must be weighed, in {asked_unit}?"
    )
    wrong = [
        (value * bread.total_percent / 100, OF_DOUGH),
        (10 * value, SLIPPED) if small else
        (value * (100 / percent) ** 2, "the flour was divided by the percentage instead of multiplied with it"),
    ]  # fmt: skip
    if len(flours) == 2:
        only = weights[0][1] / sum(weight for _, weight in weights)
        wrong.append(
            (value * only, f"only the {FLOUR} was counted as flour; the percentages are of all flours together")
        )
    return posed(Ask(f"weight of the {line}", MASS.name, asked_unit, step), text, given | others, solution, wrong)


def _percent_of_a_line(dice: Dice, unit: str, flours: Sequence[str], line: str) -> Problem | None:
    percents = drawn_formula(dice)
    if len(flours) == 2:
        second = dice.pick((10.0, 20.0, 25.0, 30.0))
        rest = {name: percent for name, percent in percents.items() if name != FLOUR}
        percents = {FLOUR: 100 - second, flours[1]: second, **rest}
    drawn = Formula.from_percents("Loaf", percents).scale(flour=amount(dice.number(5, 40, 1), unit))
    scale = {"kg": (("kg", 0.1), ("g", 5.0)), "lb": (("lb", 0.25), ("oz", 0.1))}[unit]
    given: dict[str, str] = {}
    for name in percents:
        its, shows = scale[name in {"salt", YEAST}]
        weight = told(MASS, drawn.mass_g(name), its)
        if not is_on(weight, shows):
            return None
        given[name] = amount(weight, its)
    bread = Formula.from_weights("Loaf", given)
    weights = {name: drawn.mass_g(name) for name in percents}
    all_flour = sum(weights[name] for name in flours)
    symbols = {name: f"{name.replace(' ', '_')}_weight" for name in (*flours, line)}
    values = {symbols[name]: weights[name] for name in (line, *flours)}
    total = " + ".join(symbols[name] for name in flours)
    step = Step(
        line.replace(" ", "_"),
        f"100 * {symbols[line]} / {f'({total})' if len(flours) == 2 else total}",
        values,
        bread.percent(line),
        "%",
        note="of all the flour",
        units=dict.fromkeys(values, "g"),
    )
    solution = in_units(Working(f"Percentage of the {line}", (step,)), mass=unit)
    dough = sum(weights.values())
    wrong = [
        (100 * weights[line] / dough, "the weight was divided by the whole dough instead of the flour"),
        (10 * bread.percent(line), SLIPPED) if line != "water" else
        (100 * all_flour / weights[line], "the fraction stands upside down: flour over the ingredient"),
    ]  # fmt: skip
    if len(flours) == 2:
        reveals = f"only the {FLOUR} was counted as flour; the percentages are of all flours together"
        wrong.append((100 * weights[line] / weights[FLOUR], reveals))
    words = [f"{weight} of {name}" for name, weight in given.items()]
    text = f"A mix holds {', '.join(words[:-1])} and {words[-1]}. What is the baker's percentage of the {line}?"
    ask = Ask(f"percentage of the {line}", SHARE.name, "%", 0.1)
    return posed(ask, text, given, solution, wrong)


def _weight_in_kg(dice: Dice) -> Problem | None:
    return _weight_of_a_line(dice, "kg", (FLOUR,), *dice.pick((("water", 0.05), ("salt", 5.0))))


def _percent_in_kg(dice: Dice) -> Problem | None:
    return _percent_of_a_line(dice, "kg", (FLOUR,), dice.pick(("water", "salt")))


def _weight_in_lb(dice: Dice) -> Problem | None:
    second = dice.pick(("medium rye flour", "whole wheat flour"))
    return _weight_of_a_line(dice, "lb", (FLOUR, second), *dice.pick((("water", 0.1), ("salt", 0.1))))


def _percent_in_lb(dice: Dice) -> Problem | None:
    return _percent_of_a_line(dice, "lb", (FLOUR, dice.pick(("medium rye flour", "whole wheat flour"))), "water")


def _line_from_a_line(dice: Dice, unit: str, small: str, step: float) -> Problem | None:
    """Two stages: from the water at hand back to the flour, and on to the salt."""
    percents = drawn_formula(dice)
    bread = Formula.from_percents("Loaf", percents)
    flour = dice.number(5, 40, 1)
    water = told(MASS, bread.scale(flour=amount(flour, unit)).mass_g("water"), unit)
    at_hand = amount(water, unit)
    if unit == "lb":
        if not is_on(water, 0.25):
            return None
        # As a scale in pounds and ounces shows it.
        at_hand = f"{int(water)} lb {int(water % 1 * 16)} oz".removesuffix(" 0 oz")
    line = dice.pick(("salt", YEAST))
    batch = bread.scale(using={"water": at_hand})
    solution = line_working(batch, line, f"From the water to the {line}", small, names={"at_hand": "water_weight"})
    water_small = told(MASS, batch.mass_g("water"), small)
    share = percents[line] / 100
    wrong = [
        (water_small * share, f"the percentage of the {line} was taken of the water instead of the flour"),
        (solution.value * bread.total_percent / 100, OF_DOUGH),
        (water_small * percents["water"] / 100 * share,
         "the water was multiplied with its percentage instead of divided by it"),
    ]  # fmt: skip
    texts = _texts(percents)
    text = (
        f"A formula has {formula_words(texts)}. In the trough are already {at_hand} of water."
        f" How much {line} belongs to it, in {small}?"
    )
    ask = Ask(f"weight of the {line}", MASS.name, small, step)
    return posed(ask, text, texts | {"water in the trough": at_hand}, solution, wrong)


def _line_from_kg(dice: Dice) -> Problem | None:
    return _line_from_a_line(dice, "kg", "g", 5.0)


def _line_from_lb(dice: Dice) -> Problem | None:
    return _line_from_a_line(dice, "lb", "oz", 0.1)


def _from_dough(dice: Dice, unit: str, line: str) -> Problem | None:
    """From the weight of a dough to its flour, or on to its water."""
    percents = drawn_formula(dice)
    bread = Formula.from_percents("Loaf", percents)
    dough = told(MASS, bread.scale(flour=amount(dice.number(5, 40, 1), unit)).dough_g, unit)
    if not is_on(dough, 0.05):
        return None
    batch = bread.scale(dough=amount(dough, unit))
    what = line or "flour"
    solution = line_working(batch, line, f"Weight of the {what}", unit)
    percent = percents[line] if line else 100.0
    wrong = [
        (dough * percent / (100 + percents["water"]), TOTAL_SHORT),
        (told(MASS, batch.flour_g, unit), f"the sum stopped at the flour: its {what} is still to come") if line else
        (dough * bread.total_percent / 100, "the dough was multiplied with the total percentage instead of divided by it"),
        (dough * percent / 100, AS_FLOUR) if line else
        (dough * (200 - bread.total_percent) / 100, "the other percentages were taken off the dough, as if they were of the dough"),
    ]  # fmt: skip
    texts = _texts(percents)
    asked = line or "flour in all"
    text = f"A formula has {formula_words(texts)}. Make {amount(dough, unit)} of dough: how much {asked}, in {unit}?"
    ask = Ask(f"weight of the {what}", MASS.name, unit, 0.05 if unit == "kg" else 0.1)
    return posed(ask, text, texts | {"dough": amount(dough, unit)}, solution, wrong)


def _water_from_dough(dice: Dice) -> Problem | None:
    return _from_dough(dice, "kg", "water")


def _flour_from_dough(dice: Dice) -> Problem | None:
    return _from_dough(dice, "kg", "")


def _whole(dough: float, flours: Sequence[float], sizes: Sequence[float]) -> list[tuple[int, float]]:
    """Return which pieces, 10 to 200 of them, some flours make: their number and their size.

    Args:
        dough: what one unit of flour makes, in the unit of the sizes.
        flours: weights of flour.
        sizes: weights of a piece.
    """
    counts = [(dough * flour / size, size) for flour in flours for size in sizes]
    return [(round(count), size) for count, size in counts if is_on(count, 1) and 10 <= count <= 200]


def _from_pieces(dice: Dice, unit: str, sizes: Sequence[float], small: str) -> Problem | None:
    """From a number of pieces to the water."""
    percents = drawn_formula(dice)
    bread = Formula.from_percents("Loaf", percents)
    dough = told(MASS, bread.scale(flour=amount(1, unit)).dough_g, small)
    fits = _whole(dough, range(5, 41), sizes)
    if not fits:
        return None
    pieces, piece = dice.pick(fits)
    batch = bread.scale(pieces=pieces, piece=amount(piece, small))
    solution = line_working(batch, "water", "Water for the pieces", unit)
    value, water = solution.value, percents["water"]
    wrong = [
        (value / pieces, "this is the water for one piece only"),
        (value * bread.total_percent / 100, AS_FLOUR),
        (value * bread.total_percent / (100 + water), TOTAL_SHORT),
    ]
    texts = _texts(percents)
    given = texts | {"pieces": f"{pieces} pieces", "piece": amount(piece, small)}
    text = (
        f"{pieces} pieces of {amount(piece, small)} are to be divided from a dough of {formula_words(texts)}."
        f" How much water goes into it, in {unit}?"
    )
    step = 0.05 if unit == "kg" else 0.1
    return posed(Ask("weight of the water", MASS.name, unit, step), text, given, solution, wrong)


def _from_pieces_kg(dice: Dice) -> Problem | None:
    return _from_pieces(dice, "kg", (60.0, 80.0, 90.0, 150.0, 300.0, 350.0, 450.0, 500.0, 600.0, 900.0), "g")


def _from_pieces_lb(dice: Dice) -> Problem | None:
    return _from_pieces(dice, "lb", (2.0, 2.5, 4.0, 5.0, 9.0, 12.0, 18.0, 20.0, 24.0, 28.0), "oz")


def _from_baked(dice: Dice, unit: str, sizes: Sequence[float], small: str) -> Problem | None:
    """Two stages: from the baked weight to the dough, and on to the flour."""
    percents = drawn_formula(dice)
    bread = Formula.from_percents("Loaf", percents)
    bake = dice.pick((10.0, 12.0, 12.5, 15.0, 20.0))
    losses = Losses(bake=amount(bake, "%"))
    dough = told(MASS, bread.scale(flour=amount(1, unit)).dough_g, small)
    baked_of = {piece: told(MASS, losses.bread_from(amount(piece, small)).mass_g, small) for piece in sizes}
    flours = [half / 2 for half in range(10, 81)]
    fits = _whole(dough, flours, [piece for piece, baked in baked_of.items() if is_on(baked, 0.5)])
    if not fits:
        return None
    pieces, piece = dice.pick(fits)
    baked = baked_of[piece]
    batch = bread.scale(pieces=pieces, baked=amount(baked, small), losses=losses)
    solution = line_working(batch, "", "From baked bread to the flour", unit)
    value = solution.value
    keeps = 1 - bake / 100
    wrong = [
        (value * keeps, "the bake loss was forgotten"),
        (value * keeps * (1 + bake / 100), "the loss was added to the baked weight; it is a share of the dough"),
        (value * bread.total_percent / 100, AS_FLOUR),
        (value / pieces, "this is the flour for one piece only"),
    ]
    texts = _texts(percents)
    given = texts | {"pieces": f"{pieces} pieces", "baked weight": amount(baked, small), "bake loss": amount(bake, "%")}
    text = (
        f"{pieces} pieces shall weigh {amount(baked, small)} each when baked; the oven takes {amount(bake, '%')} of the"
        f" dough. The formula has {formula_words(texts)}. How much flour is needed in all, in {unit}?"
    )
    return posed(Ask("weight of the flour", MASS.name, unit, 0.1, fine=True), text, given, solution, wrong)


def _from_baked_kg(dice: Dice) -> Problem | None:
    return _from_baked(dice, "kg", (60.0, 80.0, 100.0, 300.0, 400.0, 450.0, 500.0, 600.0, 800.0, 900.0, 1000.0), "g")


def _from_baked_lb(dice: Dice) -> Problem | None:
    return _from_baked(dice, "lb", (2.0, 2.5, 4.0, 5.0, 8.0, 10.0, 16.0, 20.0, 24.0, 40.0), "oz")


PERCENT_PROBLEMS: Final = (
    (_weight_in_kg, _percent_in_kg),
    (_weight_in_lb, _percent_in_lb),
    (_line_from_kg, _line_from_lb),
)
"""Makers of problems about baker's percentages, level by level."""

SCALING_PROBLEMS: Final = (
    (_water_from_dough, _flour_from_dough),
    (_from_pieces_kg, _from_pieces_lb),
    (_from_baked_kg, _from_baked_lb),
)
"""Makers of problems about scaling, level by level."""
