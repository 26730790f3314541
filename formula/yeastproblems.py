"""Problems about yeast: its forms, and the dose for another time."""

from __future__ import annotations

from typing import Final

from attrs import evolve

from .draws import Ask, Dice, Wrong, amount, is_on, joined, posed, told
from .formula import Formula
from .kinds import MASS, SHARE, TIME
from .percentproblems import FLOUR, line_working
from .problems import Problem
from .readerunits import in_units
from .timing import time_for_yeast, yeast_for_time
from .working import Working
from .yeast import convert_yeast, yeast_form

__all__ = ["YEAST_PROBLEMS"]

UPSIDE_DOWN: Final = "the yeast factor was used upside down"
NO_FACTOR: Final = "the yeast factor was forgotten"
TIME_UPSIDE_DOWN: Final = "the two times stand the wrong way round: more time needs less yeast"
_HUNDRED: Final = 100.0
_SAID: Final = {"assumed-temperature", "steady-temperature"}


def _factor(form: str) -> float:
    """Return the weight of a form that does the work of 100 of fresh yeast."""
    return _HUNDRED * yeast_form(form).factor.value


def _plain(working: Working) -> Working:
    """Leave out the water that makes up for the yeast: it is another question."""
    return evolve(working, steps=tuple(step for step in working.steps if step.symbol != "water"))


def _form(
    dice: Dice, forms: tuple[str, str], unit: str, step: float, weights: tuple[float, float, float]
) -> Problem | None:
    """From fresh yeast to a dry one, or back."""
    old, new = forms
    weight = dice.number(*weights)
    mass = amount(weight, unit)
    found = convert_yeast(mass, old, new)
    value = told(MASS, found.mass_g, unit)
    dry = [form for form in forms if form != "fresh"]
    given = {"yeast": mass} | {f"{form} for 100 {unit} of fresh": amount(_factor(form), unit) for form in dry}
    facts = " or ".join(f"{amount(_factor(form), unit)} of {form} yeast" for form in dry)
    text = (
        f"A dough asks for {mass} of {old} yeast, but only {new} yeast is there. {facts} do the work of"
        f" {amount(_HUNDRED, unit)} of fresh yeast. How much {new} yeast is needed, in {unit}?"
    )
    wrong: list[tuple[float, str]] = [
        (weight**2 / value, UPSIDE_DOWN),
        (weight, NO_FACTOR),
    ]
    if old == "fresh":
        wrong.append((weight - value, "this is the weight that falls away, not the yeast that is left"))
    solution = in_units(_plain(found.working()), mass=unit)
    return posed(Ask(f"weight of the {new} yeast", MASS.name, unit, step), text, given, solution, wrong)


def _to_dry(dice: Dice) -> Problem | None:
    return _form(dice, ("fresh", dice.pick(("instant", "active dry"))), "g", 1.0, (50.0, 900.0, 10.0))


def _to_fresh(dice: Dice) -> Problem | None:
    return _form(dice, (dice.pick(("instant", "active dry")), "fresh"), "g", 5.0, (33.0, 660.0, 1.0))


def _dry_to_dry(dice: Dice) -> Problem | None:
    return _form(dice, dice.pick((("instant", "active dry"), ("active dry", "instant"))), "oz", 0.1, (1.0, 40.0, 0.1))


def _hours(dice: Dice) -> tuple[float, float]:
    """Draw two times, on the quarter of an hour and within what the rule is good for."""
    old = dice.number(2, 6, 0.5)
    quarters = [old * times for times in (0.5, 0.75, 1.25, 1.5, 2.0) if old * times * 4 == round(old * times * 4)]
    return old, dice.pick(quarters)


def _time(hours: float, unit: str) -> str:
    return amount(hours * 60, unit) if unit == "min" else amount(hours, unit)


def _dose_for_time(dice: Dice, unit: str) -> Problem | None:
    old, new = _hours(dice)
    dose = dice.number(0.5, 3, 0.1)
    given = {"dose": amount(dose, "%"), "time": _time(old, unit), "new time": _time(new, unit)}
    solution = _likely(yeast_for_time(given["dose"], time=given["time"], new_time=given["new time"]).working())
    if solution is None:
        return None
    text = (
        f"With {given['dose']} of fresh yeast a dough is ready in {given['time']}. It shall be ready in {given['new time']}, at the"
        " same temperature. By the rule that dose times time stays the same, what is the new dose?"
    )
    wrong: Wrong = [
        (dose * new / old, TIME_UPSIDE_DOWN),
        (dose, "the dose was left as it was"),
    ]
    ask = Ask("dose of yeast", SHARE.name, "%", 0.05)
    return posed(ask, text, given, solution, wrong)


def _likely(working: Working) -> Working | None:
    """Leave out what the question itself says; None where the library warns of more: no handbook has such a dose."""
    if any(caution.code not in _SAID for caution in working.cautions):
        return None
    return evolve(working, cautions=())


def _dose_in_hours(dice: Dice) -> Problem | None:
    return _dose_for_time(dice, "h")


def _dose_in_minutes(dice: Dice) -> Problem | None:
    return _dose_for_time(dice, "min")


def _time_for_dose(dice: Dice) -> Problem | None:
    """The time that another dose needs."""
    old = dice.number(2, 6, 0.25)
    dose, new = dice.number(0.6, 2.4, 0.2), dice.number(0.6, 2.4, 0.2)
    if not 0.5 <= dose / new <= 2:
        return None
    given = {"dose": amount(dose, "%"), "time": _time(old, "min"), "new dose": amount(new, "%")}
    solution = _likely(time_for_yeast(given["dose"], time=given["time"], new_dose=given["new dose"]).working())
    if solution is None:
        return None
    text = (
        f"With {given['dose']} of fresh yeast a dough is ready in {given['time']}. How long does it take with"
        f" {given['new dose']}, at the same temperature, if dose times time stays the same?"
    )
    wrong: Wrong = [
        (old * new / dose, "the two doses stand the wrong way round: less yeast needs more time"),
        (old, "the time was left as it was"),
    ]
    ask = Ask("time", TIME.name, "h", 0.25)
    return posed(ask, text, given, solution, wrong)


def _dose_and_form(dice: Dice, unit: str, small: str, step: float) -> Problem | None:
    """Two stages: a new dose for the time and in another form, and its weight."""
    old, new = _hours(dice)
    dose, form = dice.number(0.5, 3, 0.1), dice.pick(("instant", "active dry"))
    factor = _factor(form)
    given = {
        "dose": amount(dose, "%"),
        "time": _time(old, "h"),
        "new time": _time(new, "h"),
        f"{form} for 100 {small} of fresh": amount(factor, small),
    }
    found = yeast_for_time(given["dose"], time=given["time"], new_time=given["new time"], new_form=form)
    line = f"{form} yeast"
    bread = Formula.from_percents("Loaf", {FLOUR: 100, line: found.dose_percent})
    changed = _likely(found.working())
    if changed is None:
        return None
    each = told(MASS, bread.scale(flour=amount(1, unit)).mass_g(line), small)
    fits = [flour for flour in range(5, 41) if is_on(flour * each, step)]
    if not fits:
        return None
    given = {"flour": amount(dice.pick(fits), unit)} | given
    batch = bread.scale(flour=given["flour"])
    weighed = line_working(batch, line, "", small, names={"p2": "new_dose"})
    value = weighed.value
    text = (
        f"A dough with {given['flour']} of flour is ready in {given['time']} with {given['dose']} of fresh yeast. It shall be ready"
        f" in {given['new time']}, with {line}; {amount(factor, small)} of that do the work of {amount(_HUNDRED, small)} of fresh"
        f" yeast. At the same temperature dose times time stays the same. How much {line} must be weighed, in {small}?"
    )
    wrong: Wrong = [
        (value * 100 / factor, NO_FACTOR),
        (value * (100 / factor) ** 2, UPSIDE_DOWN),
        (value * (new / old) ** 2, TIME_UPSIDE_DOWN),
        (value * new / old, "the new time was not allowed for"),
    ]
    solution = joined("Yeast for another time and of another form", changed, weighed)
    return posed(Ask(f"weight of the {line}", MASS.name, small, step), text, given, solution, wrong)


def _dose_and_form_g(dice: Dice) -> Problem | None:
    return _dose_and_form(dice, "kg", "g", 1.0)


def _dose_and_form_oz(dice: Dice) -> Problem | None:
    return _dose_and_form(dice, "lb", "oz", 0.1)


YEAST_PROBLEMS: Final = (
    (_to_dry, _dose_in_hours),
    (_to_fresh, _dose_in_minutes, _dry_to_dry, _time_for_dose),
    (_dose_and_form_g, _dose_and_form_oz),
)
"""Makers of problems about yeast, level by level."""
