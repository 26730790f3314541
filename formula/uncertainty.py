"""Uncertainty: the plus-minus of every thermometer carried to the water and to the dough, and which matters most.

The rule is a sum, so first order is exact: the plus-minus of the answer is the root of the sum of squares of what each
input contributes.  That holds for errors that know nothing of each other; ``worst`` is what they make if all fall the
same way.  What a plus-minus means (a standard deviation, a maker's limit) is the same coming out as going in.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import ClassVar, Literal

from attrs import frozen

from .friction import Friction, Preferments
from .quantity import DIFFERENCE, TEMPERATURE, Door, Measure, View, write
from .readerunits import with_units
from .trialfit import TrialFriction
from .water import dough_temperature, water_temperature
from .working import Caution, Step, Working, shown

__all__ = ["Contribution", "Uncertainty", "dough_uncertainty", "propagated", "water_uncertainty"]

Found = Literal["water", "dough"]


def propagated(partials: Sequence[float], sigmas: Sequence[float]) -> float:
    """Return the plus-minus of an answer, first order: sqrt(sum((partial * sigma)²)).

    Args:
        partials: how much the answer moves for 1 of each input.
        sigmas: the plus-minus of each input, in its own unit.

    Accuracy: exact where the answer is a sum of its inputs, and their errors are independent.

    Example:
        >>> propagated([1.0, -1.0], [3.0, 4.0])
        5.0
    """
    squares = sum((partial * sigma) * (partial * sigma) for partial, sigma in zip(partials, sigmas, strict=True))
    return math.sqrt(squares)


@frozen
class Contribution:
    """What one input's doubt does to the answer: ``partial`` K of it for 1 K, ``share`` of the variance."""

    name: str
    plus_minus_k: float
    partial: float
    share: float

    plus_minus: ClassVar[View] = View(DIFFERENCE, "plus_minus_k", "The plus-minus of the input.")


@frozen
class Uncertainty:
    """A temperature with its plus-minus: of the ``found`` water or dough, by ``contributions``, the largest first.

    ``worst`` is the plus-minus if all errors fall the same way; ``matters_most`` names the input to measure better.
    """

    found: Found
    temperature_c: float
    plus_minus_k: float
    worst_k: float
    contributions: tuple[Contribution, ...]
    cautions: tuple[Caution, ...] = ()

    temperature: ClassVar[View] = View(TEMPERATURE, "temperature_c", "The temperature found.")
    plus_minus: ClassVar[View] = View(DIFFERENCE, "plus_minus_k", "Its plus-minus.")
    worst: ClassVar[View] = View(DIFFERENCE, "worst_k", "Its plus-minus if all errors fall the same way.")

    @property
    def matters_most(self) -> str:
        """The input that contributes most; "" if none has a plus-minus."""
        first = self.contributions[0]
        return first.name if first.plus_minus_k > 0 else ""

    def __str__(self) -> str:
        """Return the temperature with its plus-minus, and what matters most."""
        text = f"{self.found} {shown(self.temperature_c, 3)} ± {shown(self.plus_minus_k, 2)} °C"
        return f"{text}; the {self.matters_most} matters most" if self.matters_most else text

    def working(self) -> Working:
        """Show the steps; the last line is the plus-minus."""
        names = [part.name.replace("[", "_").replace("]", "") for part in self.contributions]
        steps: list[Step] = []
        for name, part in zip(names, self.contributions, strict=True):
            values = {f"c_{name}": part.partial, f"u_{name}": part.plus_minus_k}
            moved_k = part.partial * part.plus_minus_k
            note = f"{shown(part.share * 100, 3)} % of the variance"
            steps.append(Step(f"d_{name}", f"c_{name} * u_{name}", values, moved_k, "K", note=note))
        moved = {f"d_{name}": step.value for name, step in zip(names, steps, strict=True)}
        expression = f"({' + '.join(f'{name} ** 2' for name in moved)}) ** 0.5"
        last = Step("u", expression, moved, self.plus_minus_k, "K", note="independent errors add by their squares")
        told = with_units((*steps, last), {"1": "c", "K": "u"})
        return Working(f"Plus-minus of the {self.found} temperature", told, self.cautions)


def water_uncertainty(
    dough: Measure,
    *,
    flour: Measure,
    room: Measure | None = None,
    friction: Measure | Friction | None = None,
    rise: Measure | None = None,
    preferments: Preferments = (),
    plus_minus: Mapping[str, Measure],
) -> Uncertainty:
    """Find the plus-minus of the water temperature: sqrt(sum((c * u)²)), c = N for dough and -1 for the others.

    Args:
        dough: desired dough temperature.
        flour: flour temperature.
        room: room temperature; None drops the room from the rule.
        friction: friction factor, or a result such as that of ``friction_from_trials``, whose own scatter is then taken
            for its plus-minus unless another is given.
        rise: instead of ``friction``: how much the mixer warms the dough itself; its c is -N.
        preferments: temperature of the preferment, or of each of several.
        plus_minus: input -> its plus-minus, a temperature difference of 0 or more; "preferments" is for each of them.

    Returns:
        ``temperature``, its ``plus_minus``, the ``worst`` case, and what each input contributes.

    Raises:
        QuantityError: for every bad argument at once, as ``water_temperature`` does; a plus-minus of an unknown input.

    Accuracy: exact for independent errors, since the rule is a sum.  Flour and room often err together: see ``worst``.

    Example:
        >>> doubts = {"flour": "1 K", "room": "1 K", "friction": "2 K"}
        >>> made = water_uncertainty("25 °C", flour="20 °C", room="22 °C", friction="8 K", plus_minus=doubts)
        >>> print(made)
        water 25 ± 2.4 °C; the friction matters most
    """
    found = water_temperature(dough, flour=flour, room=room, friction=friction, rise=rise, preferments=preferments)
    count = float(found.measured_count)
    partials = {"dough": count, "flour": -1.0}
    if found.room_c is not None:
        partials["room"] = -1.0
    partials |= dict.fromkeys(_preferment_names(len(found.preferments_c)), -1.0)
    partials[found.given] = -1.0 if found.given == "friction" else -count
    return _uncertainty("water", found.temperature_c, partials, plus_minus, friction, optional={"dough"})


def dough_uncertainty(
    *,
    flour: Measure,
    water: Measure,
    room: Measure | None = None,
    friction: Measure | Friction | None = None,
    rise: Measure | None = None,
    preferments: Preferments = (),
    plus_minus: Mapping[str, Measure],
) -> Uncertainty:
    """Find the plus-minus of the dough temperature: sqrt(sum((c * u)²)), c = 1/N for each input, 1 for a rise.

    Args:
        flour: flour temperature.
        water: water temperature; below freezing it stands for ice.
        room: room temperature; None drops the room from the rule.
        friction: friction factor, or a result such as that of ``friction_from_trials``, as in ``water_uncertainty``.
        rise: instead of ``friction``: how much the mixer warms the dough itself.
        preferments: temperature of the preferment, or of each of several.
        plus_minus: input -> its plus-minus, a temperature difference of 0 or more; "preferments" is for each of them.

    Returns:
        ``temperature``, its ``plus_minus``, the ``worst`` case, and what each input contributes.

    Raises:
        QuantityError: for every bad argument at once, as ``dough_temperature`` does; a plus-minus of an unknown input.

    Accuracy: as for ``water_uncertainty``.

    Example:
        >>> doubts = {"flour": "0 K", "room": "0 K", "water": "3 K", "friction": "0 K"}
        >>> made = dough_uncertainty(flour="20 °C", room="22 °C", water="25 °C", friction="8 K", plus_minus=doubts)
        >>> made.temperature_c, made.plus_minus_k
        (25.0, 1.0)
    """
    found = dough_temperature(
        flour=flour, water=water, room=room, friction=friction, rise=rise, preferments=preferments
    )
    part = 1 / found.measured_count
    partials = {"flour": part, "water": part}
    if found.room_c is not None:
        partials["room"] = part
    partials |= dict.fromkeys(_preferment_names(len(found.preferments_c)), part)
    partials[found.given] = part if found.given == "friction" else 1.0
    return _uncertainty("dough", found.temperature_c, partials, plus_minus, friction)


def _preferment_names(number: int) -> list[str]:
    return ["preferment"] if number == 1 else [f"preferment_{place}" for place in range(1, number + 1)]


def _uncertainty(
    found: Found,
    temperature_c: float,
    partials: Mapping[str, float],
    plus_minus: Mapping[str, Measure],
    friction: object,
    optional: frozenset[str] | set[str] = frozenset(),
) -> Uncertainty:
    known = list(dict.fromkeys("preferments" if name.startswith("preferment") else name for name in partials))
    with Door() as door:
        for name in plus_minus:
            if name not in known:
                door.refuse(f"plus_minus: {name}", repr(name), f"one of the inputs given: {', '.join(known)}")
        given = {name: door.read(DIFFERENCE, value, f"plus_minus: {name}") for name, value in plus_minus.items()}
        for name, value in given.items():
            if value < 0:
                door.refuse(f"plus_minus: {name}", write(DIFFERENCE, value), "0 K or more", "leave the sign out")
    if "friction" not in given and isinstance(friction, TrialFriction) and friction.next_k is not None:
        given["friction"] = friction.next_k
    exact = [name for name in known if name not in given and name not in optional]
    sigmas = {name: given.get("preferments" if name.startswith("preferment") else name, 0.0) for name in partials}
    moved = {name: abs(partial * sigmas[name]) for name, partial in partials.items()}
    total_k = propagated(list(partials.values()), list(sigmas.values()))
    contributions = [
        Contribution(name, sigmas[name], partial, (moved[name] / total_k) ** 2 if total_k else 0.0)
        for name, partial in partials.items()
        if name not in optional or sigmas[name]
    ]
    cautions: tuple[Caution, ...] = ()
    if exact:
        text = f"Taken as exact, since no plus-minus is given: {', '.join(exact)}."
        cautions = (Caution("taken-as-exact", text),)
    return Uncertainty(
        found=found,
        temperature_c=temperature_c,
        plus_minus_k=total_k,
        worst_k=sum(moved.values()),
        contributions=tuple(sorted(contributions, key=lambda part: -moved[part.name])),
        cautions=cautions,
    )
