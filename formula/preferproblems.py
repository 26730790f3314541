"""Problems about preferments: whose flour and water are a part of the formula's, and not in the final dough any more."""

from __future__ import annotations

from typing import Final

from .batch import Batch
from .draws import Ask, Dice, amount, is_on, joined, posed, told
from .formula import Formula
from .kinds import MASS, SHARE
from .percentproblems import AS_FLOUR, FLOUR, formula_words, line_working
from .problems import Problem
from .stage import Stage
from .working import Step, Working

__all__ = ["PREFERMENT_PROBLEMS"]

_PINCH: Final = "its pinch of yeast is not counted"
_HYDRATIONS: Final = (("biga", (50.0, 55.0, 60.0)), ("poolish", (100.0,)), ("sponge", (60.0, 65.0)))
_DRIEST, _WETTEST = 58.0, 78.0
_WHOLE_OFF: Final = "the whole preferment was taken off, not only its {}"
_NONE_OFF: Final = "the preferment was forgotten: its {} was not taken off"


class _Drawn:
    """A formula with one preferment of flour and water alone."""

    def __init__(self, dice: Dice, *, hydrations: tuple[float, ...] = ()) -> None:
        self.water = dice.number(60, 75, 1)
        self.salt = dice.pick((1.8, 2.0, 2.2))
        self.share = dice.pick((20.0, 25.0, 30.0, 40.0, 50.0))
        self.name, ratios = dice.pick(_HYDRATIONS)
        self.hydration = dice.pick(hydrations or ratios)
        if hydrations:
            self.name = "biga" if self.hydration <= 60 else "sponge"
        self.percents = {FLOUR: 100.0, "water": self.water, "salt": self.salt}
        stage = Stage(self.name, {FLOUR: 100, "water": self.hydration}, flour=amount(self.share, "%"))
        self.bread = Formula.from_percents("Loaf", self.percents, stages=[stage])

    @property
    def texts(self) -> dict[str, str]:
        """The givens that every problem about it shares."""
        overall = {name: amount(percent, "%") for name, percent in self.percents.items()}
        return overall | {
            "prefermented flour": amount(self.share, "%"),
            "water of the preferment": amount(self.hydration, "%"),
        }

    @property
    def words(self) -> str:
        """The same in words."""
        overall = {name: amount(percent, "%") for name, percent in self.percents.items()}
        return (
            f"A formula has {formula_words(overall)}. {amount(self.share, '%')} of the flour goes into a {self.name}"
            f" with {amount(self.hydration, '%')} of water on its own flour ({_PINCH})."
        )

    def preferment_steps(self, batch: Batch, unit: str) -> list[Step]:
        """Return the steps from all the flour to the preferment's flour and water."""
        flour, water = self.weights(batch, unit)
        return [
            Step("preferment_flour", "flour * prefermented / 100", {"flour": told(MASS, batch.flour_g, unit), "prefermented": self.share},
                 flour, unit, units={"flour": unit, "prefermented": "%"}),
            Step("preferment_water", "preferment_flour * hydration / 100", {"preferment_flour": flour, "hydration": self.hydration},
                 water, unit, note="on the preferment's own flour", units={"hydration": "%"}),
        ]  # fmt: skip

    def weights(self, batch: Batch, unit: str) -> tuple[float, float]:
        """Return the preferment's flour and water."""
        flour, water = (batch.mass_g(line, stage=self.name) for line in (FLOUR, "water"))
        return told(MASS, flour, unit), told(MASS, water, unit)


def _preferment_water(dice: Dice) -> Problem | None:
    drawn = _Drawn(dice, hydrations=(50.0, 55.0, 60.0, 65.0))
    flour = dice.number(5, 40, 1)
    batch = drawn.bread.scale(flour=amount(flour, "kg"))
    steps = drawn.preferment_steps(batch, "kg")
    its_flour = drawn.weights(batch, "kg")[0]
    solution = Working(f"Water of the {drawn.name}", tuple(steps))
    wrong = [
        (flour * drawn.hydration / 100, "the water was reckoned on all the flour instead of the preferment's own"),
        (its_flour * drawn.water / 100, "the water of the whole formula was used instead of the preferment's own"),
        (its_flour, f"this is the flour of the {drawn.name}, not yet its water"),
    ]
    text = (
        f"{drawn.words} The batch has {amount(flour, 'kg')} of flour. How much water goes into the {drawn.name}, in kg?"
    )
    given = drawn.texts | {"flour": amount(flour, "kg")}
    return posed(Ask("water of the preferment", MASS.name, "kg", 0.05), text, given, solution, wrong)


def _final_flour(dice: Dice) -> Problem | None:
    drawn = _Drawn(dice)
    flour = dice.number(5, 40, 1)
    batch = drawn.bread.scale(flour=amount(flour, "kg"))
    its_flour, its_water = drawn.weights(batch, "kg")
    value = told(MASS, batch.mass_g(FLOUR, stage="final"), "kg")
    final = Step("final_flour", "flour - preferment_flour", {"flour": flour, "preferment_flour": its_flour}, value, "kg",
                 note="left for the final dough", units={"flour": "kg"})  # fmt: skip
    solution = Working("Flour of the final dough", (drawn.preferment_steps(batch, "kg")[0], final))
    wrong = [
        (flour, _NONE_OFF.format("flour")),
        (flour - its_flour - its_water, _WHOLE_OFF.format("flour")),
    ]
    if drawn.share != 50:
        wrong.append((its_flour, f"this is the flour of the {drawn.name}; the rest is asked for"))
    text = f"{drawn.words} The batch has {amount(flour, 'kg')} of flour. How much flour is left for the final dough, in kg?"
    given = drawn.texts | {"flour": amount(flour, "kg")}
    return posed(Ask("flour of the final dough", MASS.name, "kg", 0.05), text, given, solution, wrong)


def _water_steps(drawn: _Drawn, batch: Batch, unit: str) -> list[Step]:
    """Return the steps from all the flour to the water of the final dough."""
    its_water = drawn.weights(batch, unit)[1]
    flour, water = told(MASS, batch.flour_g, unit), told(MASS, batch.mass_g("water"), unit)
    final = told(MASS, batch.mass_g("water", stage="final"), unit)
    return [
        Step("water", "flour * p_water / 100", {"flour": flour, "p_water": drawn.water}, water, unit,
             note="of the whole formula", units={"flour": unit, "p_water": "%"}),
        *drawn.preferment_steps(batch, unit),
        Step("final_water", "water - preferment_water", {"water": water, "preferment_water": its_water}, final, unit,
             note="left for the final dough"),
    ]  # fmt: skip


def _final_water(dice: Dice, unit: str) -> Problem | None:
    drawn = _Drawn(dice)
    flour = dice.number(5, 40, 1)
    batch = drawn.bread.scale(flour=amount(flour, unit))
    its_flour, its_water = drawn.weights(batch, unit)
    water = told(MASS, batch.mass_g("water"), unit)
    solution = Working("Water of the final dough", tuple(_water_steps(drawn, batch, unit)))
    wrong = [
        (water, _NONE_OFF.format("water")),
        (water - its_flour - its_water, _WHOLE_OFF.format("water")),
        ((flour - its_flour) * drawn.water / 100, "the water was reckoned on the flour of the final dough, not on all the flour"),
    ]  # fmt: skip
    given = drawn.texts | {"flour": amount(flour, unit)}
    text = f"{drawn.words} The batch has {amount(flour, unit)} of flour. How much water is left for the final dough, in {unit}?"
    ask = Ask("water of the final dough", MASS.name, unit, 0.05 if unit == "kg" else 0.1)
    return posed(ask, text, given, solution, wrong)


def _final_water_kg(dice: Dice) -> Problem | None:
    return _final_water(dice, "kg")


def _final_water_lb(dice: Dice) -> Problem | None:
    return _final_water(dice, "lb")


def _preferment_whole(dice: Dice) -> Problem | None:
    drawn = _Drawn(dice)
    flour = dice.number(5, 40, 1)
    batch = drawn.bread.scale(flour=amount(flour, "kg"))
    its_flour, its_water = drawn.weights(batch, "kg")
    value = told(MASS, batch.mass_g(drawn.name, stage="final"), "kg")
    both = Step("preferment", "preferment_flour + preferment_water", {"preferment_flour": its_flour, "preferment_water": its_water},
                value, "kg", note="all of it goes into the final dough")  # fmt: skip
    solution = Working(f"Weight of the {drawn.name}", (*drawn.preferment_steps(batch, "kg"), both))
    wrong = [
        (its_flour, f"this is only the flour of the {drawn.name}"),
        (
            told(MASS, batch.dough_g, "kg") * drawn.share / 100,
            "the share was taken of the whole dough instead of the flour",
        ),
        (its_flour + flour * drawn.hydration / 100, "the preferment's water was reckoned on all the flour"),
    ]
    given = drawn.texts | {"flour": amount(flour, "kg")}
    text = f"{drawn.words} The batch has {amount(flour, 'kg')} of flour. How much {drawn.name} goes into the final dough, in kg?"
    return posed(Ask("weight of the preferment", MASS.name, "kg", 0.05), text, given, solution, wrong)


def _final_water_from_dough(dice: Dice, unit: str) -> Problem | None:
    """Two stages: from the dough to the flour, and on to the water of the final dough."""
    drawn = _Drawn(dice)
    dough = told(MASS, drawn.bread.scale(flour=amount(dice.number(5, 40, 1), unit)).dough_g, unit)
    if not is_on(dough, 0.05):
        return None
    batch = drawn.bread.scale(dough=amount(dough, unit))
    its_flour, its_water = drawn.weights(batch, unit)
    water = told(MASS, batch.mass_g("water"), unit)
    flour = line_working(batch, "", "", unit)
    solution = joined("From the dough to the water of the final dough", flour, _water_steps(drawn, batch, unit))
    whole = drawn.bread.total_percent / 100
    wrong = [
        (water, _NONE_OFF.format("water")),
        (water - its_flour - its_water, _WHOLE_OFF.format("water")),
        ((water - its_water) * whole, AS_FLOUR),
    ]
    given = drawn.texts | {"dough": amount(dough, unit)}
    text = f"{drawn.words} Make {amount(dough, unit)} of dough: how much water is left for the final dough, in {unit}?"
    ask = Ask("water of the final dough", MASS.name, unit, 0.05 if unit == "kg" else 0.1)
    return posed(ask, text, given, solution, wrong)


def _from_dough_kg(dice: Dice) -> Problem | None:
    return _final_water_from_dough(dice, "kg")


def _from_dough_lb(dice: Dice) -> Problem | None:
    return _final_water_from_dough(dice, "lb")


def _overall_water(dice: Dice) -> Problem | None:
    """From a final dough that lists its preferment to the water on all the flour."""
    name, ratio = dice.pick((("poolish", 100.0), ("biga", 50.0), ("biga", 60.0)))
    its_flour, water = dice.pick((20.0, 25.0, 40.0, 50.0, 60.0, 100.0)), dice.number(45, 75, 1)
    its_water = its_flour * ratio / 100
    preferment = its_flour + its_water
    lines = {FLOUR: 100.0, "water": water, name: preferment}
    bread = Formula.from_stages("Loaf", final=lines, stages={name: {FLOUR: 100, "water": ratio}})
    if not _WETTEST >= bread.percent("water") >= _DRIEST:
        return None
    values = {name: preferment, "hydration": ratio}
    solution = Working("Water on all the flour", (
        Step("preferment_flour", f"100 * {name} / (100 + hydration)", values, its_flour, "%", note="the flour in it",
             units=dict.fromkeys(values, "%")),
        Step("preferment_water", f"{name} - preferment_flour", {name: preferment, "preferment_flour": its_flour},
             its_water, "%", note="the water in it", units={name: "%"}),
        Step("overall_water", "100 * (water + preferment_water) / (flour + preferment_flour)",
             {"water": water, "preferment_water": its_water, "flour": 100.0, "preferment_flour": its_flour},
             bread.percent("water"), "%", note="of all the flour", units={"water": "%", "flour": "%"}),
    ))  # fmt: skip
    wrong = [
        (water, "the preferment was forgotten: its flour and its water"),
        (water + its_water, "the preferment's flour was forgotten; its water was counted"),
        (100 * water / (100 + its_flour), "the preferment's water was forgotten; its flour was counted"),
    ]
    texts = {each: amount(percent, "%") for each, percent in lines.items()}
    given = texts | {"water of the preferment": amount(ratio, "%")}
    text = (
        f"A final dough is written as {formula_words(texts)}. The {name} has {amount(ratio, '%')} of water on its own flour"
        f" ({_PINCH}). How much water is there in percent of all the flour?"
    )
    return posed(Ask("water on all the flour", SHARE.name, "%", 0.5), text, given, solution, wrong)


PREFERMENT_PROBLEMS: Final = (
    (_preferment_water, _final_flour),
    (_final_water_kg, _final_water_lb, _preferment_whole),
    (_from_dough_kg, _overall_water, _from_dough_lb),
)
"""Makers of problems about preferments, level by level."""
