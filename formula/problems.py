"""One problem for a class: its question, its answer with a tolerance, its working, and the mistakes that are often made.

An answer is read as every other measure of this library is, in any unit of its kind, and judged in words that help
without giving the number away.
"""

from __future__ import annotations

import re
from numbers import Number
from typing import Final

from attrs import field, frozen

from .errors import Fault, FormulaError, QuantityError, cited
from .kinds import DIFFERENCE, MASS, SHARE, TEMPERATURE, TIME, Kind
from .lines import Lines
from .money import read_money
from .quantity import Measure, read
from .working import Working, shown

__all__ = ["MONEY", "Checked", "Mistake", "Problem"]

MONEY: Final = "an amount of money"
"""The kind of an answer in a currency; the other kinds are those of ``kinds``, by their names."""
_KINDS: Final = Lines((kind.name, kind) for kind in (MASS, TEMPERATURE, DIFFERENCE, SHARE, TIME))
_UNITS: Final = Lines(
    [
        (MASS.name, "g, kg, oz or lb"),
        (TEMPERATURE.name, "°C or °F"),
        (DIFFERENCE.name, "K or °F"),
        (SHARE.name, "%"),
        (TIME.name, "h or min"),
    ]
)
_NEAR: Final = 5.0
"""Within so many tolerances an answer is likely the right sum, rounded too early."""
_BARE: Final = r"[+-]?[0-9]+(?:[.,][0-9]+)?"


@frozen
class Mistake:
    """A wrong answer that tells what went wrong: its ``value`` in the unit of the problem, and what it ``reveals``."""

    value: float
    reveals: str


@frozen
class Checked:
    """What became of an answer: whether it is ``right``, and a ``hint`` in words."""

    right: bool
    hint: str


def _givens(givens: Lines[str]) -> Lines[str]:
    return Lines(givens)


@frozen
class Problem:
    """A question with one number for an answer.

    Attributes:
        text: the question in words; every given stands in it.
        asks: the name of what is asked for, such as "water temperature".
        givens: what is known, by its name, as text with its unit.
        value: the answer in ``unit``, on the step of the board.
        unit: the unit of the answer, of the tolerance and of the mistakes; a currency code for money.
        kind: what the answer is, such as "a mass".
        tolerance: how far off an answer may be, in ``unit``.
        tolerance_reason: why so far and no further.
        mistakes: wrong answers, none within a tolerance of the right one or of another.
        solution: the steps of the library to the answer.

    Raises:
        FormulaError: when the kind is none of an answer, or has no such unit.

    Example:
        >>> from formula import exercises
        >>> problem = exercises("dough temperature", count=1, seed=7).problems[0]
        >>> problem.check(problem.answer)
        Checked(right=True, hint='Right.')
        >>> problem.check("12").hint
        'Say the unit as well: °C or °F.'
    """

    text: str
    asks: str
    givens: Lines[str] = field(converter=_givens)
    value: float
    unit: str
    kind: str
    tolerance: float
    tolerance_reason: str
    mistakes: tuple[Mistake, ...]
    solution: Working

    def __attrs_post_init__(self) -> None:
        """Refuse what no answer could be read in."""
        kind = _KINDS.get(self.kind)
        if kind is None and self.kind != MONEY:
            raise FormulaError(Fault("kind", cited(self.kind), f"one of {', '.join((*_KINDS, MONEY))}"))
        if kind is not None and self.unit not in kind.scale:
            raise FormulaError(Fault("unit", cited(self.unit), f"a unit of {kind.name}, such as {_UNITS[self.kind]}"))

    @property
    def answer(self) -> str:
        """The answer as text with its unit."""
        return f"{shown(self.value, 9)} {self.unit}" if self.kind != MONEY else self.told(self.value)

    def told(self, value: float) -> str:
        """Return a value as text with the problem's unit, to four digits or to the cent.

        Args:
            value: such as that of a mistake, in the problem's unit.
        """
        return f"{value:.2f} {self.unit}" if self.kind == MONEY else f"{shown(value, 4)} {self.unit}"

    @property
    def tolerance_text(self) -> str:
        """The tolerance as text: "± 0.3 °C"; of a share, in percentage points."""
        return f"± {shown(self.tolerance, 3)} {'points' if self.kind == SHARE.name else self.unit}"

    def working(self) -> Working:
        """Show the steps; the last line is the answer, in the problem's unit."""
        return self.solution

    def check(self, answer: Measure) -> Checked:
        """Judge an answer; whatever is given, the answer is a sentence and never an error.

        Args:
            answer: text with its unit, such as "18 °C", in any unit of its kind, or a pint quantity.
        """
        told = " ".join(answer.split()) if isinstance(answer, str) else answer
        try:
            number = self._read(told)
        except QuantityError as error:
            return Checked(right=False, hint=self._mend(told, error))
        off = number - self.value
        if abs(off) <= self.tolerance * (1 + 1e-9):
            return Checked(right=True, hint="Right.")
        near = [mistake for mistake in self.mistakes if abs(number - mistake.value) <= self.tolerance]
        if near:
            nearest = min(near, key=lambda mistake: abs(number - mistake.value))
            return Checked(right=False, hint=f"Not yet. It looks as if {nearest.reveals}.")
        if abs(off) <= _NEAR * self.tolerance:
            return Checked(
                right=False, hint=f"Close, but not within {self.tolerance_text}: round at the end, not on the way."
            )
        much, little = ("warm", "cold") if self.kind == TEMPERATURE.name else ("much", "little")
        return Checked(right=False, hint=f"That is too {much if off > 0 else little}: do the sum again.")

    def _read(self, answer: Measure) -> float:
        """Read an answer in the problem's unit."""
        if self.kind == MONEY:
            money = read_money(answer if isinstance(answer, str) else "", "answer")
            if money.currency != self.unit:
                raise QuantityError
            return float(money.amount)
        kind = _KINDS[self.kind]
        factor, offset = kind.scale[self.unit]
        return (read(kind, answer, "answer") - offset) / factor

    def _mend(self, answer: object, error: QuantityError) -> str:
        """Say why an answer cannot be read."""
        units = _UNITS.get(self.kind, self.unit)
        if not isinstance(answer, str):
            bare = type(answer) is not bool and isinstance(answer, Number)
            return f"Say the unit as well: {units}." if bare else f"Write the answer with its unit: {units}."
        if re.fullmatch(_BARE, answer):
            return f"Say the unit as well: {units}."
        other = _kind_of(answer)
        if other and other != self.kind:
            return f"{cited(answer)} is {other}; what is asked for is {self.kind}, in {units}."
        fix = next((fault.fix for fault in error.faults), "")
        # A mend may show an example, and the example may happen to be the answer.
        if not fix or self.answer in fix:
            fix = f"write a number and its unit, {units}"
        return f"{cited(answer)} cannot be read as {self.kind}: {fix}."


def _kind_of(answer: str) -> str:
    """Return the kind of measure that a text is, "" if none."""

    def reads(kind: Kind) -> bool:
        try:
            read(kind, answer, "")
        except QuantityError:
            return False
        return True

    found = next((name for name, kind in _KINDS.items() if reads(kind)), "")
    if found:
        return found
    try:
        read_money(answer, "")
    except QuantityError:
        return ""
    return MONEY
