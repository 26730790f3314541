"""Water temperature by three methods side by side: the rule with a friction factor, the heat balance, the correction.

All three learn from one mix that was measured.  Under its own conditions they give the same water.  On another day the
rule follows flour and room one for one, the balance only as far as they weigh in the dough, and the plain correction of
the last water not at all: what lies between them is the room for doubt, and this room says how wide it is.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, cast

from attrs import frozen

from .balance import HeatBalance
from .batch import Batch
from .correction import Correction, correct_water
from .day import DayPlan
from .errors import Fault, FormulaError
from .friction import friction_factor
from .heat import heat_balance
from .heatspread import check_trial, work_of_trial
from .lines import Lines
from .quantity import DIFFERENCE, ENERGY_PER_MASS, TEMPERATURE, Door, Measure, View, write
from .trials import Trial
from .water import WaterTemperature, water_temperature
from .working import Caution, Step, Working

__all__ = ["ThreeWays", "day_three_ways", "water_three_ways"]


@frozen
class ThreeWays:
    """The water for one mix by ``rule``, by ``balance`` and by ``correction`` of the water of the trial mix.

    ``moved_k`` is how far flour, room and stages are from the trial, all added up: the rule and the correction differ by
    no more than that and the change of the wanted dough, and the balance lies within the same band of the rule.
    """

    trial: Trial
    rule: WaterTemperature
    balance: HeatBalance
    correction: Correction
    moved_k: float
    cautions: tuple[Caution, ...] = ()

    @property
    def rule_c(self) -> float:
        """The water by the rule with the trial's friction factor."""
        return self.rule.temperature_c

    @property
    def balance_c(self) -> float:
        """The water by the heat balance with the trial's mixing work."""
        return self.balance.water_c if self.balance.water_c is not None else float("nan")

    @property
    def correction_c(self) -> float:
        """The trial's water, corrected for what its dough was off, flour and room as they were then."""
        return self.correction.water_c

    @property
    def spread_k(self) -> float:
        """The distance between the warmest and the coldest of the three."""
        return max(self._all_c) - min(self._all_c)

    spread: ClassVar[View] = View(DIFFERENCE, "spread_k", "The same as a quantity.")

    @property
    def _all_c(self) -> tuple[float, float, float]:
        return self.rule_c, self.balance_c, self.correction_c

    def working(self) -> Working:
        """Show the three workings one after the other; the last line is the spread between their answers."""
        steps = [step for found in (self.rule, self.balance, self.correction) for step in found.working().steps]
        values = {"T_rule": self.rule_c, "T_balance": self.balance_c, "T_correction": self.correction_c}
        names = ", ".join(values)
        units, note = dict.fromkeys(values, "°C"), "the three apart"
        steps.append(Step("spread", f"max({names}) - min({names})", values, self.spread_k, "K", note=note, units=units))
        return Working("Water temperature by three methods", tuple(steps), self.cautions)


def water_three_ways(
    batch: Batch,
    *,
    target: Measure,
    trial: Trial,
    flour: Measure,
    room: Measure,
    stages: Mapping[str, Measure] | None = None,
) -> ThreeWays:
    """Find the water temperature of a mix by three methods from one trial mix.

    Rule: the trial's friction factor, in today's temperatures.  Balance: the mixing work that explains the trial by heat,
    in today's temperatures.  Correction: the trial's water, moved by N K for each K that its dough was off.

    Args:
        batch: what is mixed, today and in the trial.
        target: the desired dough temperature.
        trial: one measured mix of this dough, with the room, and with a temperature for each stage of the dough.
        flour: today's flour temperature.
        room: today's room temperature.
        stages: stage -> its temperature today; the room's if left out.

    Returns:
        ``rule``, ``balance`` and ``correction``, each with its own working, and how far they lie apart.

    Raises:
        FormulaError: a trial without a room or with another number of preferments than the dough has stages; a trial
            whose dough is colder than its parts; a dough with nothing to pour; a temperature that cannot be read.

    Accuracy: under the trial's conditions all agree to 1e-6 K.  Away from it rule and balance stay within ``moved_k`` of
    each other (tested on grids of flour, room and stages): the balance weighs each change by its share of the heat.

    Example:
        >>> from formula import Formula
        >>> batch = Formula.from_percents("Loaf", {"bread flour": 100, "water": 65, "salt": 2}).scale(dough="100 kg")
        >>> measured = Trial(flour="20 °C", room="20 °C", water="17 °C", dough="25 °C")
        >>> found = water_three_ways(batch, target="25 °C", trial=measured, flour="26 °C", room="20 °C")
        >>> round(found.rule_c, 1), round(found.balance_c, 1), round(found.correction_c, 1)
        (11.0, 12.9, 17.0)
    """
    names = [row.name for row in batch.final.rows if row.name in batch.stages]
    given = dict(stages or {})
    with Door(FormulaError) as door:
        target_c = door.read(TEMPERATURE, target, "target")
        flour_c = door.read(TEMPERATURE, flour, "flour")
        room_c = door.read(TEMPERATURE, room, "room")
        stages_c = {
            name: door.read(TEMPERATURE, given.pop(name), f"stages: {name}") if name in given else room_c
            for name in names
        }
        for name in given:
            door.refuse(f"stages: {name}", repr(name), f"a stage of the dough: {', '.join(names) or 'it has none'}")
        check_trial(door, trial, names)
    learned = work_of_trial(batch, trial)
    then = dict(zip(names, trial.preferments_c, strict=True))
    trial_room_c = cast("float", trial.room_c)
    balance = heat_balance(
        batch,
        target=_text(target_c),
        work=write(ENERGY_PER_MASS, learned.work_kj_kg),
        room=_text(room_c),
        temperatures={"flour": _text(flour_c), **{name: _text(value) for name, value in stages_c.items()}},
    )
    factor = friction_factor(
        dough=_text(trial.dough_c),
        flour=_text(trial.flour_c),
        room=_text(trial_room_c),
        water=_text(trial.water_c),
        preferments=[_text(value) for value in then.values()],
    )
    rule = water_temperature(
        _text(target_c),
        flour=_text(flour_c),
        room=_text(room_c),
        friction=factor,
        preferments=[_text(value) for value in stages_c.values()],
    )
    correction = correct_water(
        _text(trial.water_c),
        measured=_text(trial.dough_c),
        wanted=_text(target_c),
        count=factor.count,
        ratio=balance.water_per_dough_k,
    )
    changes = [flour_c - trial.flour_c, room_c - trial_room_c, *(stages_c[name] - then[name] for name in names)]
    return ThreeWays(trial, rule, balance, correction, sum(map(abs, changes)))


def _text(value_c: float) -> str:
    return write(TEMPERATURE, value_c)


def day_three_ways(plan: DayPlan, trials: Mapping[str, Trial] | None = None) -> Lines[ThreeWays]:
    """Find the water of the first mix of every bread of a day by three methods.

    Args:
        plan: the day; breads without a dough temperature, or with nothing to pour, are left out.
        trials: bread -> a measured mix of it.  Where there is none, a mix stands in that the mixer's friction factor
            explains, with flour, room and stages at 20 °C and the dough at its temperature; a caution says so.

    Returns:
        Bread -> its three answers.

    Raises:
        FormulaError: trials for a bread that is not in the plan, or that do not fit it.

    Example:
        >>> from formula import load_day, plan_day
        >>> found = day_three_ways(plan_day(*load_day("docs/examples/harbour")))["Quay Round"]
        >>> round(found.rule_c, 1), round(found.balance_c, 1), round(found.correction_c, 1)
        (11.3, 13.8, 13.3)
    """
    given = dict(trials or {})
    unknown = [name for name in given if name not in {bread.bread.name for bread in plan.breads}]
    if unknown:
        raise FormulaError(*(Fault("trials", repr(name), "a bread of the day") for name in unknown))
    found: dict[str, ThreeWays] = {}
    bakery = plan.bakery
    for bread in plan.breads:
        mix = bread.mixes[0]
        target_c = bread.bread.dough_temperature_c
        if target_c is None or mix.pour is None or mix.pour.liquid_g == 0:
            continue
        stages = [row.name for row in mix.batch.final.rows if row.name in mix.batch.stages]
        trial = given.get(bread.bread.name)
        caution: tuple[Caution, ...] = ()
        if trial is None:
            count = 3 + len(stages)
            usual = "20 °C"
            water_c = count * target_c - 20.0 * (count - 1) - bread.mixer.friction_for_k(count)
            trial = Trial(
                flour=usual, room=usual, water=_text(water_c), dough=_text(target_c), preferments=[usual] * len(stages)
            )
            text = f"no mix was measured: one at 20 °C by the friction of {bread.mixer.name} stands in"
            caution = (Caution("trial-assumed", text),)
        made = water_three_ways(
            mix.batch,
            target=_text(target_c),
            trial=trial,
            flour=_text(bakery.flour_c),
            room=_text(bakery.room_c),
            stages={name: _text(bakery.stages_c[name]) for name in stages if name in bakery.stages_c},
        )
        name = bread.bread.name if bread.bread.name not in found else f"{bread.bread.name}, {bread.baked_g:g} g"
        found[name] = ThreeWays(made.trial, made.rule, made.balance, made.correction, made.moved_k, caution)
    return Lines(found)
