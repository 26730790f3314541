"""Problems about dough temperature and ice: a sum of temperatures, and what ice takes up."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from attrs import evolve

from .draws import Ask, Dice, Wrong, amount, joined, posed, renamed, told
from .friction import friction_factor
from .ice import LATENT_K, Keep, ice_for
from .kinds import DIFFERENCE, MASS, TEMPERATURE
from .problems import Problem
from .readerunits import in_units
from .water import dough_temperature, water_temperature
from .working import Step, Working

__all__ = ["ICE_PROBLEMS", "WATER_PROBLEMS"]

_WATER_C: Final = (3.0, 40.0)
"""Between what is drawn without ice, and what neither scalds nor kills yeast."""
_ASK_C: Final = Ask("water temperature", TEMPERATURE.name, "°C", 0.5)
_ASK_F: Final = Ask("water temperature", TEMPERATURE.name, "°F", 1.0)
_WARM: Final = "How warm must the water be?"
NO_FRICTION: Final = "the friction was forgotten"
PLUS_FRICTION: Final = "the friction was added instead of taken off"
FORGOTTEN: Final = "the {} was left out of the sum"


def _poured(water_c: float) -> bool:
    return _WATER_C[0] <= water_c <= _WATER_C[1]


def _temperatures(dice: Dice, unit: str) -> dict[str, float]:
    """Draw the temperatures of a dough, its flour and the room, as a bakery meets them."""
    if unit == "°F":
        return {"dough": dice.number(74, 80, 1), "flour": dice.number(62, 76, 1), "room": dice.number(64, 80, 1)}
    return {"dough": dice.number(23, 28, 0.5), "flour": dice.number(16, 26, 1), "room": dice.number(17, 28, 1)}


def _told(numbers: Mapping[str, float], unit: str) -> dict[str, str]:
    return {f"{name} temperature": amount(value, unit) for name, value in numbers.items()}


def _sentence(texts: Mapping[str, str]) -> str:
    return (
        f"The dough shall leave the mixer at {texts['dough temperature']}. The flour has {texts['flour temperature']},"
        f" the room {texts['room temperature']}."
    )


def _sum_wrong(value: float, dough: float, room: float, friction: float) -> list[tuple[float, str]]:
    """Return what goes wrong in every sum of temperatures."""
    return [
        (value + friction, NO_FRICTION),
        (value + 2 * friction, PLUS_FRICTION),
        (value + room, FORGOTTEN.format("room")),
        (
            value - dough,
            "the dough temperature was taken once too seldom: it counts as often as there are temperatures, the water's included",
        ),
    ]


def _water(dice: Dice, unit: str) -> Problem | None:
    numbers = _temperatures(dice, unit)
    friction = dice.number(4, 16, 1) if unit == "°C" else dice.number(10, 30, 1)
    texts = _told(numbers, unit)
    factor = amount(friction, "K" if unit == "°C" else "°F")
    found = water_temperature(
        texts["dough temperature"], flour=texts["flour temperature"], room=texts["room temperature"], friction=factor
    )
    if not _poured(found.temperature_c):
        return None
    value = told(TEMPERATURE, found.temperature_c, unit)
    wrong = _sum_wrong(value, numbers["dough"], numbers["room"], friction)
    text = f"{_sentence(texts)} The friction factor of the mixer is {factor}. {_WARM}"
    solution = in_units(found.working(), temperature=unit)
    ask = _ASK_C if unit == "°C" else _ASK_F
    return posed(ask, text, texts | {"friction factor": factor}, solution, wrong)


def _water_in_c(dice: Dice) -> Problem | None:
    return _water(dice, "°C")


def _water_in_f(dice: Dice) -> Problem | None:
    return _water(dice, "°F")


def _with_preferment(dice: Dice) -> Problem | None:
    numbers = _temperatures(dice, "°C")
    name, preferment = dice.pick(
        (("poolish", dice.number(18, 24, 1)), ("biga", dice.number(14, 20, 1)), ("levain", dice.number(22, 28, 1)))
    )
    friction = dice.number(4, 20, 1)
    texts = _told(numbers, "°C")
    factor, its = amount(friction, "K"), amount(preferment, "°C")
    found = water_temperature(
        texts["dough temperature"],
        flour=texts["flour temperature"],
        room=texts["room temperature"],
        friction=factor,
        preferments=[its],
    )
    if not _poured(found.temperature_c):
        return None
    value = found.temperature_c
    wrong = _sum_wrong(value, numbers["dough"], numbers["room"], friction)
    wrong.append(
        (value - numbers["dough"] + preferment, f"the {name} was left out, as if there were three temperatures only")
    )
    text = (
        f"{_sentence(texts)} The {name} has {its}. For these four temperatures the friction factor is {factor}. {_WARM}"
    )
    given = texts | {"preferment temperature": its, "friction factor": factor}
    return posed(_ASK_C, text, given, found.working(), wrong)


def _dough(dice: Dice) -> Problem | None:
    """The other way round: what comes out."""
    drawn = _temperatures(dice, "°C")
    numbers = {"flour": drawn["flour"], "room": drawn["room"], "water": dice.number(4, 34, 1)}
    friction = dice.number(4, 16, 1)
    texts, factor = _told(numbers, "°C"), amount(friction, "K")
    found = dough_temperature(
        flour=texts["flour temperature"],
        room=texts["room temperature"],
        water=texts["water temperature"],
        friction=factor,
    )
    value = found.temperature_c
    if not 22 <= value <= 29:
        return None
    total = 3 * value
    wrong = [
        ((total - friction) / 3, NO_FRICTION),
        ((total - 2 * friction) / 3, "the friction was taken off instead of added: the mixer warms the dough"),
        (total / 4, "the friction was counted as a fourth temperature: the sum is of three"),
        (total / 2, "the sum was divided by two instead of three temperatures"),
    ]
    text = (
        f"The flour has {texts['flour temperature']}, the room {texts['room temperature']} and the water"
        f" {texts['water temperature']}; the friction factor of the mixer is {factor}. How warm does the dough leave the mixer?"
    )
    ask = Ask("dough temperature", TEMPERATURE.name, "°C", 0.5)
    return posed(ask, text, texts | {"friction factor": factor}, found.working(), wrong)


def _friction(dice: Dice, unit: str) -> Problem | None:
    """A trial mix, and the factor it tells."""
    numbers = _temperatures(dice, unit)
    numbers["water"] = dice.number(5, 34, 1) if unit == "°C" else dice.number(42, 90, 1)
    texts = _told(numbers, unit)
    found = friction_factor(**{name: texts[f"{name} temperature"] for name in numbers})
    unit_k = "K" if unit == "°C" else "°F"
    value = told(DIFFERENCE, found.friction_k, unit_k)
    if not 2 <= found.friction_k <= 18:
        return None
    wrong: Wrong = [
        (value / 3, "this is how much the dough itself was warmed; the factor is for the sum of three temperatures"),
        (value - numbers["dough"], "the dough temperature was taken twice instead of three times"),
        (value + numbers["room"], FORGOTTEN.format("room")),
        (value + numbers["water"], FORGOTTEN.format("water")),
    ]
    text = (
        f"In a trial mix the flour had {texts['flour temperature']}, the room {texts['room temperature']} and the water"
        f" {texts['water temperature']}. The dough left the mixer at {texts['dough temperature']}."
        " What is the friction factor, on the sum of the three temperatures?"
    )
    solution = in_units(found.working(), temperature=unit)
    ask = Ask("friction factor", DIFFERENCE.name, unit_k, 0.5)
    return posed(ask, text, texts, solution, wrong)


def _friction_in_c(dice: Dice) -> Problem | None:
    return _friction(dice, "°C")


def _friction_then_water(dice: Dice, unit: str) -> Problem | None:
    """Two stages: the factor from yesterday's mix, and the water of today's."""
    old = _temperatures(dice, unit)
    old["water"] = dice.number(5, 34, 1) if unit == "°C" else dice.number(42, 90, 1)
    before = _told(old, unit)
    factor = friction_factor(**{name: before[f"{name} temperature"] for name in old})
    new = _temperatures(dice, unit) | {"dough": dice.number(23, 28, 0.5) if unit == "°C" else dice.number(74, 80, 1)}
    texts = _told(new, unit)
    found = water_temperature(
        texts["dough temperature"], flour=texts["flour temperature"], room=texts["room temperature"], friction=factor
    )
    if not _poured(found.temperature_c) or not 2 <= factor.friction_k <= 18:
        return None
    value = told(TEMPERATURE, found.temperature_c, unit)
    friction = told(DIFFERENCE, factor.friction_k, "K" if unit == "°C" else "°F")
    wrong = [
        *_sum_wrong(value, new["dough"], new["room"], friction)[:2],
        (value + friction - friction / 3, "the warming of the dough itself was used in place of the factor, which is three times that"),
        (old["water"], "the water of the trial was used again, though flour, room or dough have changed"),
    ]  # fmt: skip
    symbols = {name: f"{name}_trial" for name in ("T_dough", "T_flour", "T_room", "T_water")}
    trial = renamed(in_units(factor.working(), temperature=unit).steps, symbols)
    solution = joined("Friction, then water temperature", trial, in_units(found.working(), temperature=unit))
    text = (
        f"Yesterday the flour had {before['flour temperature']}, the room {before['room temperature']} and the water"
        f" {before['water temperature']}; the dough left the mixer at {before['dough temperature']}. Today the same dough"
        f" shall come out at {texts['dough temperature']}; the flour has {texts['flour temperature']}, the room"
        f" {texts['room temperature']}. {_WARM}"
    )
    given = {f"{name} of the trial": text for name, text in before.items()} | texts
    return posed(_ASK_C if unit == "°C" else _ASK_F, text, given, solution, wrong)


def _trial_in_c(dice: Dice) -> Problem | None:
    return _friction_then_water(dice, "°C")


def _trial_in_f(dice: Dice) -> Problem | None:
    return _friction_then_water(dice, "°F")


def _rise(dice: Dice) -> Problem | None:
    """Two stages: from the dough's own rise to the factor for four temperatures, and on to the water."""
    unit = dice.pick(("°C", "°F"))
    numbers = _temperatures(dice, unit)
    low, high, step = (2, 6, 0.5) if unit == "°C" else (4, 12, 1)
    rise = dice.number(low, high, step)
    preferment = dice.number(15, 25, 1) if unit == "°C" else dice.number(60, 76, 1)
    texts = _told(numbers, unit)
    warms, its = amount(rise, "K" if unit == "°C" else "°F"), amount(preferment, unit)
    found = water_temperature(
        texts["dough temperature"],
        flour=texts["flour temperature"],
        room=texts["room temperature"],
        rise=warms,
        preferments=[its],
    )
    if not _poured(found.temperature_c):
        return None
    value = told(TEMPERATURE, found.temperature_c, unit)
    wrong: Wrong = [
        (value + 4 * rise, NO_FRICTION),
        (value + 3 * rise, "the warming of the dough was taken off once; the sum is of four temperatures, so it counts four times"),
        (value + rise, "the warming of the dough was counted three times, but the sum is of four temperatures"),
        (value + preferment, FORGOTTEN.format("preferment")),
    ]  # fmt: skip
    text = f"{_sentence(texts)} The preferment has {its}. The mixer warms the dough itself by {warms}. {_WARM}"
    solution = in_units(found.working(), temperature=unit)
    given = texts | {"preferment temperature": its, "rise": warms}
    return posed(_ASK_C if unit == "°C" else _ASK_F, text, given, solution, wrong)


def _melting(latent: str, zero: str) -> str:
    return f"Ice at {zero} takes up in melting what would cool its own weight of water by {latent}."


def _from_melting_point(working: Working) -> Working:
    """Write the first step of the working in °F, where water at the melting point has 32."""
    first, second, *others = working.steps
    values = {"tap": second.values["tap"], "L_c": told(DIFFERENCE, first.values["L_c"], "°F")}
    units = {"tap": "°F", "L_c": "°F difference"}
    step = Step("D", "tap - 32 + L_c", values, second.values["D"], "°F difference", first.source, first.note, units)
    return evolve(working, steps=(step, second, *others))


def _ice(dice: Dice, temperature: str, keep: Keep) -> Problem | None:
    latent = dict(LATENT_K)["trade"].value
    if temperature == "°C":
        water, tap, wanted = dice.number(4, 60, 0.5), dice.number(10, 28, 1), dice.number(1, 12, 1)
        unit, latent_unit = "kg", "K"
    else:
        water, tap, wanted = dice.number(8, 100, 1), dice.number(50, 84, 1), dice.number(34, 56, 1)
        unit, latent_unit = "lb", "°F"
    if wanted > tap - 3:
        return None
    texts = {
        "water": amount(water, unit),
        "tap water": amount(tap, temperature),
        "water wanted": amount(wanted, temperature),
        "heat of melting": amount(told(DIFFERENCE, latent, latent_unit), latent_unit),
    }
    found = ice_for(texts["water"], tap=texts["tap water"], wanted=texts["water wanted"], keep=keep)
    ice = told(MASS, found.ice_g, unit)
    cooled = tap - wanted
    melts = told(DIFFERENCE, latent, latent_unit)
    zero = told(TEMPERATURE, 0.0, temperature)
    wrong: list[tuple[float, str]] = [
        (water * cooled / melts, "only the melting of the ice was counted; the water it becomes has to be warmed, too"),
    ]
    if keep == "total":
        wrong += [
            (told(MASS, found.water_g, unit), "this is the water to draw; the ice is the rest"),
            (
                water * cooled / (wanted - zero + melts),
                "the ice was put on top of the water instead of replacing part of it",
            ),
        ]
        how = f"Ice shall replace part of it, so that both together weigh {texts['water']}."
    else:
        wrong += [
            (
                water * cooled / (tap - zero + melts),
                "the ice was made to replace part of the water instead of going on top of it",
            ),
        ]
        how = "Ice shall go on top of it."
    if temperature == "°F":
        base = tap if keep == "total" else wanted
        wrong.append(
            (water * cooled / (base + melts), "the sum begins at 0 °F instead of the 32 °F at which ice melts")
        )
    text = (
        f"A dough needs {texts['water']} of water at {texts['water wanted']}; the tap gives {texts['tap water']}. {how}"
        f" {_melting(texts['heat of melting'], amount(zero, temperature))} How much ice, in {unit}?"
    )
    solution = in_units(found.working(), mass=unit, temperature=temperature)
    if temperature == "°F":
        solution = _from_melting_point(solution)
    ask = Ask("weight of the ice", MASS.name, unit, 0.05 if unit == "kg" else 0.1)
    return posed(ask, text, texts, solution, wrong) if ice > 0 else None


def _ice_in_kg(dice: Dice) -> Problem | None:
    return _ice(dice, "°C", "total")


def _ice_in_lb(dice: Dice) -> Problem | None:
    return _ice(dice, "°F", "total")


def _ice_on_top(dice: Dice) -> Problem | None:
    return _ice(dice, "°C", "water")


def _water_then_ice(dice: Dice) -> Problem | None:
    """Two stages: the water temperature, which the tap does not reach, and the ice for it."""
    numbers = _temperatures(dice, "°C") | {"tap water": dice.number(12, 25, 1)}
    friction, water = dice.number(10, 24, 1), dice.number(5, 60, 0.5)
    latent = dict(LATENT_K)["trade"].value
    texts = _told({name: value for name, value in numbers.items() if name != "tap water"}, "°C")
    factor, tap, mass = amount(friction, "K"), amount(numbers["tap water"], "°C"), amount(water, "kg")
    wanted = water_temperature(
        texts["dough temperature"], flour=texts["flour temperature"], room=texts["room temperature"], friction=factor
    )
    value = wanted.temperature_c
    if not -10 <= value <= numbers["tap water"] - 3:
        return None
    found = ice_for(mass, tap=tap, wanted=amount(value, "°C"))
    cooled = numbers["tap water"] - value
    divisor = numbers["tap water"] + latent
    wrong = [
        (water * cooled / latent, "only the melting of the ice was counted; the water it becomes has to be warmed, too"),
        (told(MASS, found.water_g, "kg"), "this is the water to draw; the ice is the rest"),
        (water * (cooled + numbers["dough"]) / divisor, "in the first sum the dough temperature was taken twice instead of three times"),
    ]  # fmt: skip
    if cooled > friction:
        wrong.append((water * (cooled - friction) / divisor, f"in the first sum {NO_FRICTION}"))
    steps = renamed(found.working().steps, {"wanted": "T_water"})
    solution = joined("Water temperature, then ice", wanted.working().steps, evolve(found.working(), steps=steps))
    given = texts | {
        "friction factor": factor,
        "water": mass,
        "tap water": tap,
        "heat of melting": amount(latent, "K"),
    }
    text = (
        f"{_sentence(texts)} The friction factor of the mixer is {factor}. The dough takes {mass} of water, and the tap gives"
        f" {tap}. Ice shall replace part of the water. {_melting(amount(latent, 'K'), '0 °C')} How much ice, in kg?"
    )
    ask = Ask("weight of the ice", MASS.name, "kg", 0.05)
    return posed(ask, text, given, in_units(solution, mass="kg"), wrong)


WATER_PROBLEMS: Final = (
    (_water_in_c, _dough),
    (_water_in_f, _with_preferment, _friction_in_c),
    (_trial_in_c, _rise, _trial_in_f),
)
"""Makers of problems about dough temperature, level by level."""

ICE_PROBLEMS: Final = (
    (_ice_in_kg,),
    (_ice_in_lb, _ice_on_top),
    (_water_then_ice,),
)
"""Makers of problems about ice, level by level."""
