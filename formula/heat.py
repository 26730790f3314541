"""Heat balance of a mix: water temperature, dough temperature, ice or mixing work from the heats of all that goes in.

The rule with a friction factor takes flour, room and water for equals.  Here each body counts by its weight and specific
heat: the flour, every stage, the salt, what is poured, the bowl; the mixer adds its work and the flour the heat it gives
off when wetted.  There is no default for the mixing work: it is measured, or found from a trial mix.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final, cast

from attrs import evolve

from .balance import (
    HYDRATION_HEAT,
    RESERVED,
    HeatBalance,
    Motor,
    Sought,
    balanced_dough_c,
    balanced_water_c,
    mixing_work_kj,
)
from .batch import Batch
from .bodies import AIR, BOWL, Bodies, bodies_of
from .capacity import ICE_CP, LATENT_HEAT, WATER_CP
from .errors import Fault, FormulaError, QuantityError, UnknownNameError
from .friction import Friction
from .ice import LARGEST_TABULATED_SHARE, ice_replacing_g
from .quantity import CONDUCTANCE, ENERGY_PER_MASS, POWER, SHARE, TEMPERATURE, TIME, Door, Measure, write
from .sources import Constant
from .stage import FINAL
from .water import YEAST_LIMIT, dough_temperature, water_cautions, water_temperature
from .working import Caution, shown

__all__ = ["INTENSE_WORK", "heat_balance"]

INTENSE_WORK: Final = Constant(
    39.68, "kJ/kg", 0.4, "bakers-dictionary", "high-speed mixing: 5 Wh per lb of dough, 11 Wh/kg"
)
_FLOUR_C: Final = (-20.0, 45.0)
"""°C between which flour can be kept: from the freezer to a hot store."""
_NO_WORK: Final = (
    'there is no default: give work="4 Wh/kg", or power=, time= and share=; from a trial mix give target= and water='
)


def heat_balance(
    batch: Batch,
    *,
    room: Measure,
    target: Measure | None = None,
    water: Measure | None = None,
    work: Measure | None = None,
    power: Measure | None = None,
    time: Measure | None = None,
    share: Measure | None = None,
    temperatures: Mapping[str, Measure] | None = None,
    later: Mapping[str, Measure] | None = None,
    bowl: Measure | None = None,
    air: Measure | None = None,
    tap: Measure | None = None,
    ice: Measure = "0 °C",
    friction: Measure | Friction | None = None,
    hydration_heat: Measure | None = None,
    stage: str = FINAL,
) -> HeatBalance:
    """Balance the heat of a mix: sum of m c (T - T_dough) over all that goes in, + mixing work + heat of hydration = 0.

    Give two of ``target``, ``water`` and the mixing work, and the third is found.

    Args:
        batch: the batch; its final dough is mixed, from its lines and its stages.
        room: the room's temperature: what is not named in ``temperatures`` has it.
        target: the dough temperature, desired or, in a trial mix, measured.
        water: the temperature of what is poured: all the water that goes in here and now, or milk and the like where
            there is no water.  Below freezing it stands for ice.
        work: the mixing work per mass of dough that reaches it as heat; or
        power: the motor's power while it mixes, with
        time: how long, and
        share: the share of it that reaches the dough.
        temperatures: stage, ingredient, kind of ingredient (such as "flour" or "dairy") or "bowl" -> temperature; a
            name counts before its kind.
        later: late addition -> temperature, of those that go in before the dough is measured; others are left out.
        bowl: the mass of steel that comes to the dough's temperature.
        air: the heat exchanged with the room's air, surface times heat transfer coefficient, such as "12 W/K" for an open
            bowl of 1.2 m2 at 10 W/m2K; it needs ``time``.
        tap: the tap water's temperature, 0 to 100 °C: where the water must be colder, the ice is found.
        ice: the temperature of the ice, at most 0 °C.
        friction: a friction factor on the scale of the sum, or a result that holds one, as of
            ``friction_factor``: the answer of the rule is put beside.
        hydration_heat: the heat that flour gives off when wetted, per mass of flour; 15.12 kJ/kg if left out.
        stage: a stage of the batch, to find its own water, as for an autolyse or a biga.

    Returns:
        ``dough``, ``water``, ``work``, with ``ice`` and ``draw``, ``rise`` by the work, ``energies_kj`` of all, and
        cautions: what was assumed or left out, water that cannot be poured or would kill yeast, with what to do instead.

    Raises:
        UnknownNameError: a stage that the batch has not.
        QuantityError: every other bad argument and unknown name at once; no mixing work, or all three of the three.

    Accuracy: taking specific heats as constant moves the dough by less than 0.1 K (flour of 0 to 35, water of 2 to 50, dough
    of 10 to 35 °C), the published spread of the flour's by less than 0.15 K for flour within 15 K of the dough.  The heat of
    hydration makes about 3 K of the dough; it is known for one moisture (11 to 12 %), and drier flour gives off more.  Not
    in it unless told: heat from the air (our estimate: 0.2 K for 100 kg in ten minutes at 5 K of difference).  Never in it:
    the cold of dissolving salt and sugar (0.3 K for 2 % of salt or 10 % of sugar, from memory).

    Example:
        >>> from formula.formula import Formula
        >>> loaf = Formula.from_percents("Quay loaf", {"bread flour": 100, "water": 65, "salt": 2, "fresh yeast": 1})
        >>> batch = loaf.scale(flour="50 kg")
        >>> found = heat_balance(batch, target="25 °C", temperatures={"flour": "20 °C"}, room="22 °C", work="4 Wh/kg")
        >>> round(found.water_c, 1), round(found.rise_k, 1)
        (14.0, 5.2)
    """
    if not isinstance(cast("object", batch), Batch):
        raise QuantityError(Fault("batch", f"an object of type {type(batch).__name__}", "a batch", "use Formula.scale"))
    if stage not in batch.stages:
        raise UnknownNameError(Fault("stage", repr(stage), f"one of {', '.join(batch.stages)}"))
    with Door() as door:
        room_c = door.read(TEMPERATURE, room, "room")
        target_c = None if target is None else door.read(TEMPERATURE, target, "target")
        water_c = None if water is None else door.read(TEMPERATURE, water, "water")
        heat_kj_kg = HYDRATION_HEAT.value
        if hydration_heat is not None:
            heat_kj_kg = door.read(ENERGY_PER_MASS, hydration_heat, "hydration_heat")
        air_kj_k = _read_air(door, air, time)
        # The time alone may stand there for the air's sake.
        for_motor = time if power is not None or share is not None or air is None else None
        work_kj_kg, motor = _read_work(door, work, power, for_motor, share)
        tap_c, ice_c = _read_ice(door, tap, ice)
        mix = bodies_of(door, batch, stage, room_c, temperatures or {}, later or {}, bowl, air_kj_k)
        has_work = any(each is not None for each in (work, power, for_motor, share))
        sought = _read_sought(door, mix, target_c, water_c, has_work=has_work, has_tap=tap_c is not None)
        rule_c = None
        if friction is not None and not door.faults:
            rule_c = _by_rule(door, friction, mix, sought, room_c, water_c if sought == "dough" else target_c)
    asked = HeatBalance(
        stage=stage,
        sought=sought,
        bodies=mix.bodies,
        poured=mix.poured,
        hydration_heat_kj_kg=heat_kj_kg,
        dough_c=math.nan if target_c is None else target_c,
        water_c=water_c,
        work_kj_kg=math.nan if work_kj_kg is None else work_kj_kg,
        motor=motor,
        tap_c=tap_c,
        ice_temperature_c=ice_c,
        rule_c=rule_c,
    )
    made = _solved(asked)
    return evolve(made, cautions=(*mix.cautions, *_cautions(made)))


def _solved(asked: HeatBalance) -> HeatBalance:
    """Find what is sought; until then it is no number."""
    capacities = [body.capacity_kj_k for body in asked.bodies]
    temperatures = [body.temperature_c for body in asked.bodies]
    if asked.motor:
        asked = evolve(asked, work_kj_kg=asked.motor.work_kj / (asked.mass_g / 1000))
    if asked.sought == "water":
        heat_kj = asked.work_kj + asked.hydration_kj
        water_c = balanced_water_c(asked.dough_c, capacities, temperatures, heat_kj, asked.poured.capacity_kj_k)
        return evolve(asked, water_c=water_c, ice_g=_ice_g(asked, water_c))
    if asked.water_c is not None:
        capacities.append(asked.poured.capacity_kj_k)
        temperatures.append(asked.water_c)
    if asked.sought == "work":
        work_kj = mixing_work_kj(asked.dough_c, capacities, temperatures, asked.hydration_kj)
        return evolve(asked, work_kj_kg=work_kj / (asked.mass_g / 1000))
    return evolve(asked, dough_c=balanced_dough_c(capacities, temperatures, asked.work_kj + asked.hydration_kj))


def _coldest_c(asked: HeatBalance) -> float:
    """Return the temperature that all ice stands for; what is poured without water can only be chilled to freezing."""
    if not asked.poured.water_g:
        return 0.0
    return -(LATENT_HEAT.value - ICE_CP.value * asked.ice_temperature_c) / WATER_CP.value


def _ice_g(asked: HeatBalance, water_c: float) -> float | None:
    """Return the ice that brings the tap's water to this temperature, or None where it cannot or nobody asked."""
    if asked.tap_c is None or not asked.poured.water_g or water_c < _coldest_c(asked):
        return None
    if water_c >= asked.tap_c:
        return 0.0
    latent_k, ratio = LATENT_HEAT.value / WATER_CP.value, ICE_CP.value / WATER_CP.value
    return ice_replacing_g(asked.poured.mass_g, asked.tap_c, water_c, asked.ice_temperature_c, latent_k, ratio)


def _by_rule(
    door: Door, friction: Measure | Friction, mix: Bodies, sought: Sought, room_c: float, known_c: float | None
) -> float | None:
    """Return what the rule with a friction factor says, flour, room and each stage having one temperature each."""
    flours = [body for body in mix.bodies if body.role == "flour"]
    if sought == "work" or known_c is None or not flours:
        got = "a factor where nothing is poured, no flour is dry or the work is sought"
        door.refuse("friction", got, "a mix of which the rule can tell", "leave it out")
        return None
    flour_c = sum(body.mass_g * body.temperature_c for body in flours) / sum(body.mass_g for body in flours)
    flour, room, known = (write(TEMPERATURE, value) for value in (flour_c, room_c, known_c))
    stages = [write(TEMPERATURE, body.temperature_c) for body in mix.bodies if body.role == "stage"]
    try:
        if sought == "dough":
            by_rule = dough_temperature(flour=flour, water=known, room=room, friction=friction, preferments=stages)
            return by_rule.temperature_c
        return water_temperature(known, flour=flour, room=room, friction=friction, preferments=stages).temperature_c
    except FormulaError as error:
        door.faults.extend(error.faults)
        return None


# -- reading -----------------------------------------------------------------------------------------------------------


def _read_work(
    door: Door, work: Measure | None, power: Measure | None, time: Measure | None, share: Measure | None
) -> tuple[float | None, Motor | None]:
    """Read the mixing work: per mass of dough, or by the motor."""
    work_kj_kg = None if work is None else door.read(ENERGY_PER_MASS, work, "work")
    if power is None and time is None and share is None:
        return work_kj_kg, None
    if work is not None:
        door.refuse("work", "work and the motor's power, time or share", "one of the two", "leave one out")
        return work_kj_kg, None
    if power is None or time is None or share is None:
        told = {"power": power, "time": time, "share": share}
        missing = " and ".join(name for name, value in told.items() if value is None)
        door.refuse(
            "work", f"no {missing}", "power, time and share", "measure the share: from a trial mix, or else guess"
        )
        return work_kj_kg, None
    motor = Motor(door.read(POWER, power, "power"), door.read(TIME, time, "time"), door.read(SHARE, share, "share"))
    if motor.share > 1:
        door.refuse("share", f"{motor.share:.0%}", "at most 100 %")
    return work_kj_kg, motor


def _read_air(door: Door, air: Measure | None, time: Measure | None) -> float | None:
    """Return the heat exchanged with the air over the whole mix, kJ for each kelvin."""
    if air is None:
        return None
    if time is None:
        door.refuse("air", "no time", "how long the dough is in the mixer", 'give time="12 min"')
        return None
    return door.read(CONDUCTANCE, air, "air") * door.read(TIME, time, "time") * 3.6


def _read_ice(door: Door, tap: Measure | None, ice: Measure) -> tuple[float | None, float]:
    tap_c = None if tap is None else door.read(TEMPERATURE, tap, "tap")
    ice_c = door.read(TEMPERATURE, ice, "ice")
    if tap_c is not None and (tap_c < 0 or tap_c > 100):
        door.refuse("tap", write(TEMPERATURE, tap_c), "liquid water, from 0 to 100 °C")
    if ice_c > 0:
        door.refuse("ice", write(TEMPERATURE, ice_c), "ice, at most 0 °C", "above that it is water")
    return tap_c, ice_c


def _read_sought(
    door: Door, mix: Bodies, target_c: float | None, water_c: float | None, *, has_work: bool, has_tap: bool
) -> Sought:
    """Find out which of the three is sought, and refuse what does not fit."""
    for body in mix.bodies:
        if body.name in RESERVED and body.role not in (AIR, BOWL):
            door.refuse(body.name, "a line with a name of the balance's own", "another name", "rename it")
    has_target, has_water, pours = target_c is not None, water_c is not None, mix.poured.mass_g > 0
    if not pours and (has_water or (has_target and has_work)):
        fix = "set the temperature of what is already wet, or of the stage that takes the water (stage=)"
        door.refuse("water" if has_water else "target", "a mix into which nothing is poured", "water to pour", fix)
    elif has_target and has_water and has_work:
        door.refuse("heat_balance", "target, water and mixing work", "two of the three", "leave out the one you seek")
    elif not has_work and not (has_target and (has_water or not pours)):
        door.refuse("work", "nothing", "the mixing work", _NO_WORK)
    elif has_work and pours and not has_target and not has_water:
        door.refuse("target", "neither target nor water", "one of the two")
    sought: Sought = "water" if has_target and has_work else "dough" if has_work else "work"
    if has_tap and sought != "water":
        door.refuse("tap", "a tap while the water's temperature is not sought", "none", "leave it out")
    return sought


# -- cautions ----------------------------------------------------------------------------------------------------------


def _cautions(made: HeatBalance) -> tuple[Caution, ...]:
    found: list[Caution] = []
    if not any(body.role == BOWL for body in made.bodies):
        text = "the bowl is left out: a cold one takes heat from the first mix; give the mass of steel with bowl="
        found.append(Caution("bowl-left-out", text))
    if made.work_kj_kg < 0:
        text = f"the readings need a mixing work of {_wh(made.work_kj_kg)}: no mixer cools a dough, unless it has a cold jacket"
        found.append(Caution("negative-work", text))
    elif made.work_kj_kg > INTENSE_WORK.value + INTENSE_WORK.uncertainty:
        text = f"{_wh(made.work_kj_kg)} is more than high-speed mixing puts in ({_wh(INTENSE_WORK.value)}); check it"
        found.append(Caution("much-work", text))
    if made.water_c is not None:
        found += _water_cautions(made, made.water_c)
    return tuple(found)


def _water_cautions(made: HeatBalance, water_c: float) -> list[Caution]:
    """Say what is to know about what is poured: what the rule's water gets said, and what else would do instead."""
    coldest_c = _coldest_c(made)
    name = f"{made.poured.name} of {shown(water_c, 3)} °C"
    if water_c < coldest_c:
        what = "ice alone" if made.poured.water_g else "it can be poured"
        return [Caution("cannot-be-reached", f"{name} would be colder than {what}: {_instead(made, coldest_c)}")]
    if made.ice_g:
        found = [Caution("clean-ice", "use flake or crushed ice of drinking quality; it must melt before mixing ends")]
        share = made.ice_g / made.poured.mass_g
        if share > LARGEST_TABULATED_SHARE.value:
            text = f"{share * 100:.0f} % of the water is ice, more than the trade tabulates; it may not melt in time"
            found.append(Caution("much-ice", f"{text}: {_instead(made, 0.0)}"))
        return found
    found = list(water_cautions(water_c, ""))
    if water_c > YEAST_LIMIT.value:
        text = f"{name} is warmer than yeast may meet: {_instead(made, YEAST_LIMIT.value)}"
        found.append(Caution("cannot-be-reached", text))
    return found


def _instead(made: HeatBalance, limit_c: float) -> str:
    """Say what dough comes of the limit, and what else would have to change for the wanted dough."""
    if made.water_c is None or made.sought != "water":
        return "change what else goes in"
    short_kj = made.poured.capacity_kj_k * (limit_c - made.water_c)
    reached_c = made.dough_c + short_kj / made.capacity_kj_k
    ways: list[str] = []
    flours = [body for body in made.bodies if body.role == "flour"]
    flour_kj_k = sum(body.capacity_kj_k for body in flours)
    if flour_kj_k:
        flour_c = sum(body.capacity_kj_k * body.temperature_c for body in flours) / flour_kj_k
        needed_c = flour_c - short_kj / flour_kj_k
        if _FLOUR_C[0] <= needed_c <= _FLOUR_C[1]:
            ways.append(f"with the flour at {shown(needed_c, 3)} °C instead of {shown(flour_c, 3)} °C")
    less_kj_kg = short_kj / made.mass_g * 1000
    if 0 < less_kj_kg <= made.work_kj_kg:
        ways.append(f"with {_wh(less_kj_kg)} less mixing work")
    asked = f"{shown(made.dough_c, 3)} °C comes {' or '.join(ways)}" if ways else "no single change is enough"
    return f"at {shown(limit_c, 3)} °C the dough comes to {shown(reached_c, 3)} °C; {asked}"


def _wh(work_kj_kg: float) -> str:
    return f"{shown(work_kj_kg / 3.6, 3)} Wh/kg"
