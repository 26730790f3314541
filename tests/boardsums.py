"""Solve the problems of a class anew, in exact fractions, from what the question gives and from nothing of the library.

Masses are in g, temperatures in °C, differences in K, times in h, shares as fractions, money in its own currency.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from fractions import Fraction

from formula.problems import Problem

POUND = Fraction("453.59237")
GRAMS = {"g": Fraction(1), "kg": Fraction(1000), "oz": POUND / 16, "lb": POUND}
HOURS = {"h": Fraction(1), "min": Fraction(1, 60)}
KELVINS = {"K": Fraction(1), "°C": Fraction(1), "°F": Fraction(5, 9)}
NUMBER = r"(-?[0-9]+(?:\.[0-9]+)?)"


def parts(text: str) -> tuple[Fraction, str]:
    """Take a number and its unit apart."""
    match = re.fullmatch(rf"{NUMBER} (\S.*)", text)
    assert match, text
    return Fraction(match[1]), match[2]


def mass(text: str) -> Fraction:
    match = re.fullmatch(rf"{NUMBER} lb {NUMBER} oz", text)
    if match:
        return Fraction(match[1]) * GRAMS["lb"] + Fraction(match[2]) * GRAMS["oz"]
    number, unit = parts(text)
    return number * GRAMS[unit]


def temperature(text: str) -> Fraction:
    number, unit = parts(text)
    return {"°C": number, "°F": (number - 32) * 5 / 9}[unit]


def difference(text: str) -> Fraction:
    number, unit = parts(text)
    return number * KELVINS[unit]


def share(text: str) -> Fraction:
    number, unit = parts(text)
    assert unit == "%"
    return number / 100


def time(text: str) -> Fraction:
    number, unit = parts(text)
    return number * HOURS[unit]


def pieces(text: str) -> Fraction:
    number, unit = parts(text)
    assert unit == "pieces"
    return number


def price(text: str) -> Fraction:
    """Read a price as money for a gram, or for an hour."""
    match = re.fullmatch(rf"{NUMBER} [A-Z]{{3}}/(?:{NUMBER} )?(\w+)", text)
    assert match, text
    size = Fraction(match[2] or 1)
    return Fraction(match[1]) / (size * (GRAMS | HOURS)[match[3]])


def in_board_units(problem: Problem, value: Fraction) -> Fraction:
    """Turn an answer into the unit of the problem."""
    match problem.kind:
        case "a mass":
            return value / GRAMS[problem.unit]
        case "a temperature":
            return value if problem.unit == "°C" else value * 9 / 5 + 32
        case "a temperature difference":
            return value / KELVINS[problem.unit]
        case "a share":
            return value * 100
        case "a time":
            return value / HOURS[problem.unit]
    assert problem.kind == "an amount of money"
    return value


def is_mass(text: str) -> bool:
    return text.rsplit(" ", maxsplit=1)[-1] in GRAMS


def left(givens: Mapping[str, str]) -> Fraction:
    """What all losses leave, one after the other."""
    remaining = Fraction(1)
    for name, text in givens.items():
        if name.endswith(" loss"):
            remaining *= 1 - share(text)
    return remaining


def flours(names: Iterable[str]) -> list[str]:
    return [name for name in names if name.endswith(" flour") and not name.startswith(("prefermented", "price"))]


def bakers_percent(problem: Problem) -> Fraction:
    givens = problem.givens
    line = problem.asks.removeprefix("weight of the ").removeprefix("percentage of the ")
    if "water in the trough" in givens:
        return mass(givens["water in the trough"]) / share(givens["water"]) * share(givens[line])
    flour = sum((mass(givens[name]) for name in flours(givens)), Fraction(0))
    if problem.asks.startswith("percentage"):
        return mass(givens[line]) / flour
    return flour * share(givens[line])


FORMULA = ("bread flour", "water", "salt", "fresh yeast")


def dough_mass(givens: Mapping[str, str]) -> Fraction:
    if "dough" in givens:
        return mass(givens["dough"])
    piece = mass(givens["piece"]) if "piece" in givens else mass(givens["baked weight"]) / left(givens)
    return pieces(givens["pieces"]) * piece


def flour_of(givens: Mapping[str, str]) -> Fraction:
    if "flour" in givens:
        return mass(givens["flour"])
    return dough_mass(givens) / sum(share(givens[name]) for name in FORMULA if name in givens)


def scaling(problem: Problem) -> Fraction:
    flour = flour_of(problem.givens)
    return flour * share(problem.givens["water"]) if problem.asks == "weight of the water" else flour


def preferment(problem: Problem) -> Fraction:
    givens = problem.givens
    ratio = share(givens["water of the preferment"])
    if problem.asks == "water on all the flour":
        whole = next(share(text) for name, text in givens.items() if name in {"poolish", "biga", "sponge"})
        flour = whole / (1 + ratio)
        return (share(givens["water"]) + whole - flour) / (1 + flour)
    flour = flour_of(givens)
    part = flour * share(givens["prefermented flour"])
    return {
        "water of the preferment": part * ratio,
        "flour of the final dough": flour - part,
        "water of the final dough": flour * share(givens["water"]) - part * ratio,
        "weight of the preferment": part + part * ratio,
    }[problem.asks]


def of_trial(givens: Mapping[str, str], ending: str = "") -> Fraction:
    """The friction factor of a mix that was made."""
    read = {name: temperature(givens[f"{name} temperature{ending}"]) for name in ("dough", "flour", "room", "water")}
    return 3 * read["dough"] - read["flour"] - read["room"] - read["water"]


def known(givens: Mapping[str, str]) -> list[Fraction]:
    names = ("flour temperature", "room temperature", "preferment temperature")
    return [temperature(givens[name]) for name in names if name in givens]


def friction(givens: Mapping[str, str]) -> Fraction:
    if "friction factor" in givens:
        return difference(givens["friction factor"])
    if "rise" in givens:
        return (len(known(givens)) + 1) * difference(givens["rise"])
    return of_trial(givens, " of the trial")


def water_for(givens: Mapping[str, str], factor: Fraction) -> Fraction:
    others = known(givens)
    return (len(others) + 1) * temperature(givens["dough temperature"]) - sum(others) - factor


def dough_temperature(problem: Problem) -> Fraction:
    givens = problem.givens
    if problem.asks == "friction factor":
        return of_trial(givens)
    if problem.asks == "dough temperature":
        others = known(givens)
        return (sum(others) + temperature(givens["water temperature"]) + friction(givens)) / (len(others) + 1)
    return water_for(givens, friction(givens))


def ice_mass(problem: Problem, wanted: Fraction) -> Fraction:
    """Heat given up by the tap water is heat taken up by the ice: what is drawn cools, what melts warms."""
    givens = problem.givens
    whole, tap, latent = mass(givens["water"]), temperature(givens["tap water"]), difference(givens["heat of melting"])
    if "on top" in problem.text:
        return whole * (tap - wanted) / (latent + wanted)
    # (whole - ice) (tap - wanted) = ice (latent + wanted)
    return whole * (tap - wanted) / (latent + wanted + tap - wanted)


def ice(problem: Problem) -> Fraction:
    givens = problem.givens
    if "water wanted" in givens:
        return ice_mass(problem, temperature(givens["water wanted"]))
    return ice_mass(problem, water_for(givens, friction(givens)))


def factor(givens: Mapping[str, str], form: str) -> Fraction:
    """What a form weighs for 1 of fresh yeast."""
    for name, text in givens.items():
        match = re.fullmatch(rf"(.*) for ({NUMBER} \w+) of fresh", name)
        if match and match[1] == form:
            return mass(text) / mass(match[2])
    assert form == "fresh"
    return Fraction(1)


def yeast(problem: Problem) -> Fraction:
    givens = problem.givens
    if problem.asks == "time":
        return time(givens["time"]) * share(givens["dose"]) / share(givens["new dose"])
    if problem.asks == "dose of yeast":
        return share(givens["dose"]) * time(givens["time"]) / time(givens["new time"])
    form = problem.asks.removeprefix("weight of the ").removesuffix(" yeast")
    if "flour" in givens:
        dose = share(givens["dose"]) * time(givens["time"]) / time(givens["new time"])
        return mass(givens["flour"]) * dose * factor(givens, form)
    told = re.search(r"of ([a-z ]+) yeast, but only", problem.text)
    assert told
    return mass(givens["yeast"]) / factor(givens, told[1]) * factor(givens, form)


def losses(problem: Problem) -> Fraction:
    givens = problem.givens
    if problem.asks == "weight of the bread":
        return mass(givens["piece of dough"]) * left(givens)
    count = pieces(givens["pieces"]) if "pieces" in givens else 1
    return mass(givens["baked weight"]) / left(givens) * count


def net_weight(problem: Problem) -> Fraction:
    givens = problem.givens
    if problem.asks == "net weight":
        return mass(givens["weight on the scale"]) - mass(givens["wrapping"])
    nominal, allowed = mass(givens["nominal weight"]), mass(givens["tolerance T"])
    if problem.asks == "limit":
        return nominal - (2 * allowed if "twice T" in problem.text else allowed)
    mean = nominal - allowed + Fraction(givens["standard deviations of room"]) * mass(givens["standard deviation"])
    return mean / left(givens)


def cost(problem: Problem) -> Fraction:
    givens = problem.givens
    total = sum(
        ((mass if is_mass(text) else time)(text) * price(givens[f"price of {name}"])
         for name, text in givens.items() if f"price of {name}" in givens),
        Fraction(0),
    )  # fmt: skip
    if "loaves" in givens:
        return total / (pieces(givens["loaves"]) * (1 - share(givens["unsold"])))
    return total


SOLVERS: Mapping[str, Callable[[Problem], Fraction]] = {
    "baker's percent": bakers_percent,
    "scaling": scaling,
    "preferment": preferment,
    "dough temperature": dough_temperature,
    "ice": ice,
    "yeast": yeast,
    "losses": losses,
    "net weight": net_weight,
    "cost": cost,
}


def solved(topic: str, problem: Problem) -> Fraction:
    """Return the answer in the unit of the problem."""
    return in_board_units(problem, SOLVERS[topic](problem))
