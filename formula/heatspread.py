"""How sure a heat balance is: the plus-minus of each input carried to its answer, and mixing work learned from trials.

The balance weighs every body by its share of the heat, so a kelvin of flour moves the water by less than the kelvin of
the factor rule: between 55 and 80 % hydration by 0.80 to 0.55 K.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from statistics import fmean, stdev
from typing import TYPE_CHECKING, ClassVar

from attrs import frozen

from .balance import HeatBalance
from .batch import Batch
from .errors import Fault, FormulaError
from .heat import heat_balance
from .quantity import DIFFERENCE, ENERGY_PER_MASS, TEMPERATURE, Door, Measure, View, view, write
from .readerunits import with_units
from .trials import Trial
from .uncertainty import Contribution, Uncertainty, propagated
from .working import Caution, Step, Working

if TYPE_CHECKING:
    from .quantity import Quantity

__all__ = ["WorkFromTrials", "check_trial", "heat_uncertainty", "work_from_trials", "work_of_trial"]


def heat_uncertainty(found: HeatBalance, plus_minus: Mapping[str, Measure]) -> Uncertainty:
    """Find the plus-minus of the water or the dough of a heat balance: sqrt(sum((c * u)²)).

    For the water c = -C_i / C_water for a body i, C_all / C_water for the dough wanted; for the dough c = C_i / C_all.
    Work and heat of hydration count as the kelvins by which they warm the dough.

    Args:
        found: a balance whose water or dough was sought.
        plus_minus: body, ``"flour"`` (all flours together), ``"dough"`` or ``"water"`` (the one that was given) -> a
            temperature difference; ``"work"`` and ``"hydration"`` -> a heat per mass of dough and of flour.

    Returns:
        The temperature, its ``plus_minus``, the ``worst`` case, and what each input contributes.

    Raises:
        FormulaError: a balance whose work was sought, an unknown name, a plus-minus below zero; all at once.

    Accuracy: exact for independent errors, since the balance is a sum (checked by sampling).

    Example:
        >>> from formula.formula import Formula
        >>> batch = Formula.from_percents("Loaf", {"bread flour": 100, "water": 65}).scale(dough="100 kg")
        >>> found = heat_balance(batch, target="25 °C", room="22 °C", temperatures={"flour": "20 °C"}, work="4 Wh/kg")
        >>> sure = heat_uncertainty(found, {"flour": "1 K", "work": "0.5 Wh/kg"})
        >>> round(sure.contributions[1].partial, 2), sure.matters_most
        (-0.68, 'work')
    """
    if found.sought == "work":
        raise FormulaError(Fault("found", "a balance whose work was sought", "one whose water or dough was sought"))
    partials = _partials(found)
    all_kj_k, dough_kg, flour_kg = found.capacity_kj_k, found.mass_g / 1000, found.dry_flour_g / 1000
    heats = {"work": dough_kg / all_kj_k, "hydration": flour_kg / all_kj_k}
    sigmas: dict[str, float] = {}
    with Door(FormulaError) as door:
        for name, amount in plus_minus.items():
            where = f"plus_minus: {name}"
            if name not in partials:
                door.refuse(where, repr(name), f"one of {', '.join(partials)}")
                continue
            if name in heats:
                sigmas[name] = door.read(ENERGY_PER_MASS, amount, where) * heats[name]
            else:
                sigmas[name] = door.read(DIFFERENCE, amount, where)
            if sigmas[name] < 0:
                door.refuse(where, str(amount), "a plus-minus of 0 or more")
        if not plus_minus:
            door.refuse("plus_minus", "nothing", "at least one input and its plus-minus")
    sigma_k = propagated([partials[name] for name in sigmas], list(sigmas.values()))
    parts = [
        Contribution(name, each, partials[name], (partials[name] * each / sigma_k) ** 2 if sigma_k else 0.0)
        for name, each in sigmas.items()
    ]
    parts.sort(key=lambda part: -part.share)
    answer_c = found.water_c if found.sought == "water" else found.dough_c
    return Uncertainty(
        found=found.sought,
        temperature_c=math.nan if answer_c is None else answer_c,
        plus_minus_k=sigma_k,
        worst_k=sum(abs(part.partial) * part.plus_minus_k for part in parts),
        contributions=tuple(parts),
    )


def _partials(found: HeatBalance) -> dict[str, float]:
    """Return K of the answer for 1 K of each input; heats count as the kelvins by which they warm the dough."""
    bodies = {body.name: body.capacity_kj_k for body in found.bodies}
    bodies["flour"] = sum(body.capacity_kj_k for body in found.bodies if body.role == "flour")
    if found.sought == "water":
        poured = found.poured.capacity_kj_k
        warming = found.capacity_kj_k / poured
        given = {name: -capacity / poured for name, capacity in bodies.items()}
        return {**given, "dough": warming, "work": -warming, "hydration": -warming}
    whole = found.capacity_kj_k
    given = {name: capacity / whole for name, capacity in bodies.items()}
    return {**given, "water": found.poured.capacity_kj_k / whole, "work": 1.0, "hydration": 1.0}


def check_trial(door: Door, trial: Trial, stages: Sequence[str]) -> None:
    """Refuse a trial without the room, or with another number of preferments than the dough has stages."""
    if trial.room_c is None:
        door.refuse("trial", "no room temperature", "a trial with the room", "measure the room as well")
    if len(trial.preferments_c) != len(stages):
        got = f"{len(trial.preferments_c)} temperatures of preferments"
        door.refuse("trial", got, f"{len(stages)}, one for each stage of the dough")


def work_of_trial(batch: Batch, trial: Trial) -> HeatBalance:
    """Find the mixing work that explains a measured mix of a batch.

    Args:
        batch: what was mixed.
        trial: its temperatures, with the room, and with one for each stage of the dough in the order of its lines.

    Raises:
        FormulaError: a trial without a room or with another number of preferments than the dough has stages; a dough that
            nothing is poured into, or that came off colder than its parts and the wetting of its flour make it.
    """
    names = [row.name for row in batch.final.rows if row.name in batch.stages]
    with Door(FormulaError) as door:
        check_trial(door, trial, names)
    then = dict(zip(names, trial.preferments_c, strict=True))
    learned = heat_balance(
        batch,
        target=write(TEMPERATURE, trial.dough_c),
        water=write(TEMPERATURE, trial.water_c),
        room=write(TEMPERATURE, trial.dough_c if trial.room_c is None else trial.room_c),
        temperatures={name: write(TEMPERATURE, value) for name, value in {"flour": trial.flour_c, **then}.items()},
    )
    if learned.work_kj_kg < 0:
        got = f"a dough {-learned.work_kj_kg:.1f} kJ/kg colder than its parts and the wetting of the flour make it"
        raise FormulaError(Fault("trial", got, "a mix that took work of 0 kJ/kg or more", "check its thermometers"))
    return learned


@frozen
class WorkFromTrials:
    """The mixing work per mass of dough that trials explain: their mean, with the scatter if there are several."""

    works_kj_kg: tuple[float, ...]
    work_kj_kg: float
    standard_deviation_kj_kg: float | None
    cautions: tuple[Caution, ...] = ()

    work: ClassVar[View] = View(
        ENERGY_PER_MASS, "work_kj_kg", "The mean, to be handed to ``heat_balance`` as ``work=``."
    )

    @property
    def standard_deviation(self) -> Quantity | None:
        """The scatter of the trials."""
        scatter = self.standard_deviation_kj_kg
        return None if scatter is None else view(ENERGY_PER_MASS, scatter)

    def working(self) -> Working:
        """Show the mean; the last line is the work."""
        names = [f"w_{number}" for number in range(1, len(self.works_kj_kg) + 1)]
        values = dict(zip(names, self.works_kj_kg, strict=True))
        expression = f"({' + '.join(names)}) / {len(names)}"
        step = Step("work", expression, values, self.work_kj_kg, "kJ/kg", note="each by the heat balance of its trial")
        steps = with_units([step], {"kJ/kg": "w"})
        return Working("Mixing work from trials", steps, self.cautions)


def work_from_trials(batch: Batch, trials: Iterable[Trial]) -> WorkFromTrials:
    """Learn a mixer's work per mass of dough from measured mixes of a batch: the mean of what each explains.

    Args:
        batch: what was mixed.
        trials: at least one; see ``work_of_trial``.

    Returns:
        ``work`` with its ``standard_deviation``; a caution where trials scatter by more than a quarter of it.

    Raises:
        FormulaError: no trial, or trials that do not fit, each named by its number.

    Accuracy: a kelvin of the dough is about 2.8 kJ/kg of work, so thermometers decide.

    Example:
        >>> from formula.formula import Formula
        >>> batch = Formula.from_percents("Loaf", {"bread flour": 100, "water": 65}).scale(dough="100 kg")
        >>> measured = [Trial(flour="20 °C", room="20 °C", water=w, dough=d) for w, d in (("16 °C", "25 °C"), ("14 °C", "24 °C"))]
        >>> round(work_from_trials(batch, measured).work_kj_kg, 1)
        11.5
    """
    works: list[float] = []
    faults: list[Fault] = []
    for number, trial in enumerate(trials, 1):
        try:
            works.append(work_of_trial(batch, trial).work_kj_kg)
        except FormulaError as error:
            faults += [Fault(f"trial {number}", each.got, each.expected, each.fix) for each in error.faults]
    if faults:
        raise FormulaError(*faults)
    if not works:
        raise FormulaError(Fault("trials", "none", "at least one trial"))
    mean = fmean(works)
    scatter = stdev(works) if len(works) > 1 else None
    cautions: tuple[Caution, ...] = ()
    if scatter is not None and scatter > 0.25 * mean:
        text = f"the trials scatter by {scatter:.1f} kJ/kg about a work of {mean:.1f}: check the thermometers, or mix alike"
        cautions = (Caution("trials-scatter", text),)
    return WorkFromTrials(tuple(works), mean, scatter, cautions)
