"""How problems are drawn: dice that fall alike everywhere, and the rules by which a draw is kept or drawn anew.

A draw is kept when its answer is a whole number of the step of the board, and when its answer and every mistake lie so far
apart that no answer can be taken for another.
"""

from __future__ import annotations

import random
import re
from collections.abc import Mapping, Sequence
from typing import Final, TypeVar

from attrs import evolve, frozen

from .kinds import DIFFERENCE, SHARE, TEMPERATURE, Kind
from .lines import Lines
from .problems import MONEY, Mistake, Problem
from .working import Caution, Step, Working, shown

__all__ = ["Ask", "Dice", "Wrong", "amount", "is_on", "joined", "number", "posed", "renamed", "told"]

T = TypeVar("T")
Wrong = Sequence[tuple[float, str]]
"""Mistakes: the wrong number, in the unit of the answer, and what it reveals."""

_DUST: Final = 1e-6
_FINE: Final = 0.002
_COARSE: Final = 0.005


class Dice:
    """Dice that fall alike on every machine and in every version of Python.

    Args:
        words: what the falls depend on, and nothing else.

    Of a seeded generator Python promises only ``random()`` to stay as it is, so all else is made of that.

    Example:
        >>> Dice("dough temperature/1/7").pick(range(10)) == Dice("dough temperature/1/7").pick(range(10))
        True
    """

    def __init__(self, words: str) -> None:
        """Seed the generator."""
        self._random = random.Random(words)  # noqa: S311 - problems, no secrets

    def pick(self, options: Sequence[T]) -> T:
        """Return one of some options, each as likely as the others."""
        return options[int(self._random.random() * len(options))]

    def number(self, low: float, high: float, step: float) -> float:
        """Return a number from ``low`` to ``high``, on a step counted from ``low``."""
        count = round((high - low) / step) + 1
        return number(low + step * int(self._random.random() * count))


@frozen
class Ask:
    """What is asked for: its name, kind and unit, and the step of the board that the answer must be on.

    ``fine`` asks for a narrower tolerance, where a common mistake comes out close to the answer.
    """

    asks: str
    kind: str
    unit: str
    step: float
    fine: bool = False


def posed(ask: Ask, text: str, givens: Mapping[str, str], solution: Working, wrong: Wrong) -> Problem | None:
    """Put a problem together, or return None where the draw is no good for the board.

    Args:
        ask: what is asked for.
        text: the question, every given in it.
        givens: what is known, as text with its unit.
        solution: the steps; the last is the answer in the unit of ``ask``.
        wrong: the mistakes.
    """
    if not is_on(solution.value, ask.step):
        return None
    value = number(round(solution.value / ask.step) * ask.step)
    tolerance, reason = _tolerance(ask, value)
    numbers = [value, *(each for each, _ in wrong)]
    apart = all(abs(a - b) > 2.001 * tolerance for i, a in enumerate(numbers) for b in numbers[:i])
    sensible = ask.kind in {TEMPERATURE.name, DIFFERENCE.name} or min(numbers) > 0
    if not apart or not sensible:
        return None
    return Problem(
        text=text,
        asks=ask.asks,
        givens=Lines(givens),
        value=value,
        unit=ask.unit,
        kind=ask.kind,
        tolerance=tolerance,
        tolerance_reason=reason,
        mistakes=tuple(Mistake(number(each), reveals) for each, reveals in wrong),
        solution=solution,
    )


def _tolerance(ask: Ask, value: float) -> tuple[float, str]:
    if ask.kind in {TEMPERATURE.name, DIFFERENCE.name}:
        if ask.unit == "°F":
            return 0.5, "a thermometer is read to a whole °F"
        return 0.3, "a thermometer is read to half a degree, and a whole °F is less than 0.3 °C off"
    if ask.kind == MONEY:
        return 0.01, "a cent may be lost in rounding"
    if ask.fine:
        return number(_FINE * value), "0.2 % of the answer, for rounding: a common mistake lies close by"
    where = "" if ask.kind == SHARE.name else " and in another unit"
    return number(_COARSE * value), f"0.5 % of the answer, for rounding on the way{where}"


def number(value: float) -> float:
    """Return a number without the dust of binary fractions.

    Example:
        >>> number(0.1 + 0.2)
        0.3
    """
    return float(f"{value:.9g}") + 0.0


def is_on(value: float, step: float) -> bool:
    """Return whether a number is a whole multiple of a step, but for the dust of binary fractions.

    Example:
        >>> is_on(0.3, 0.1), is_on(0.35, 0.1)
        (True, False)
    """
    return abs(value / step - round(value / step)) < _DUST


def amount(value: float, unit: str) -> str:
    """Return a number with its unit as it stands in a problem; money with its cents.

    Example:
        >>> amount(12.50, "kg"), amount(18.5, "EUR/25 kg")
        ('12.5 kg', '18.50 EUR/25 kg')
    """
    return f"{value:.2f} {unit}" if re.match("[A-Z]{3}", unit) else f"{shown(value, 9)} {unit}".rstrip()


def told(kind: Kind, value: float, unit: str) -> float:
    """Return a value of the library in a unit of the board.

    Args:
        kind: what it is.
        value: in the kind's canonical unit.
        unit: one of the kind's units.

    Example:
        >>> told(TEMPERATURE, 25.0, "°F")
        77.0
    """
    factor, offset = kind.scale[unit]
    return number((value - offset) / factor)


def renamed(steps: Sequence[Step], names: Mapping[str, str]) -> tuple[Step, ...]:
    """Return steps with other symbols, so that two calculations stand in one working without a name meaning both.

    Args:
        steps: of one calculation.
        names: old symbol -> new one.

    Example:
        >>> print(*renamed([Step("m2", "flour * p2 / 100", {"flour": 10.0, "p2": 70.0}, 7.0, "kg")], {"m2": "water"}))
        water = flour * p2 / 100 = 10 * 70 / 100 = 7 kg
    """

    def new(name: str) -> str:
        return names.get(name, name)

    def put(match: re.Match[str]) -> str:
        return new(match.group())

    return tuple(
        evolve(
            step,
            symbol=new(step.symbol),
            expression=re.sub(r"\b[^\W\d]\w*", put, step.expression),
            values={new(name): value for name, value in step.values.items()},
            units={new(name): unit for name, unit in step.units.items()},
        )
        for step in steps
    )


def joined(title: str, *parts: Working | Sequence[Step]) -> Working:
    """Return several calculations as one working, its cautions those of all of them.

    Args:
        title: what the working is about.
        parts: workings, or steps alone, in the order of the sum.
    """
    steps: list[Step] = []
    cautions: dict[Caution, None] = {}
    for part in parts:
        steps += part.steps if isinstance(part, Working) else part
        if isinstance(part, Working):
            cautions |= dict.fromkeys(part.cautions)
    return Working(title, tuple(steps), tuple(cautions))
