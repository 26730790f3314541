"""The one way this library says no.

Every refusal names what was wrong, where, what was expected and how to mend it.  A caller who made five
mistakes hears of all five at once: an error holds any number of faults.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TypeVar

from attrs import frozen

__all__ = [
    "COMMANDS",
    "ContradictionError",
    "Fault",
    "FileError",
    "FormulaError",
    "Gathered",
    "MissingExtraError",
    "QuantityError",
    "UnknownNameError",
    "cited",
]

LONGEST_CITED = 80
"""Characters of a value that a message repeats: it should fit on a line."""
MOST_TOLD = 100
"""Faults that are written out; all of them are in ``faults``."""
COMMANDS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
"""Characters that are no part of a text; on a terminal they could hide a line or put another in its place."""


_Made = TypeVar("_Made")


@frozen
class Fault:
    """One thing that is wrong: ``where`` it stands, what we ``got``, what was ``expected``, and the ``fix``."""

    where: str
    got: str
    expected: str
    fix: str = ""

    def __str__(self) -> str:
        """Return the fault as one sentence a baker can act on."""
        ending = f"; {self.fix}" if self.fix else ""
        return f"{self.where}: got {self.got}, expected {self.expected}{ending}"


def cited(value: object, write: Callable[[object], str] = repr) -> str:
    """Return a value for a message: never longer than a line, whatever was given.

    Args:
        value: what was got.
        write: ``repr`` for text, ``str`` for numbers.

    Example:
        >>> cited("3 C"), cited("3" * 500)
        ("'3 C'", "'3333333333333333333... (502 characters)")
    """
    try:
        text = write(value)
    except ValueError:
        # Python refuses to write out a whole number of more than 4,300 digits.
        return "too long to write"
    text = COMMANDS.sub(lambda found: repr(found[0])[1:-1], text)
    return text if len(text) <= LONGEST_CITED else f"{text[:20]}... ({len(text)} characters)"


class FormulaError(ValueError):
    """Anything this library refuses, with its ``faults``; every other error here is one of these.

    Example:
        >>> str(FormulaError(Fault("salt", "-2", "a percentage of 0 or more", "write 2")))
        'salt: got -2, expected a percentage of 0 or more; write 2'
    """

    def __init__(self, *faults: Fault) -> None:
        """Hold one or more faults."""
        super().__init__(*faults)
        self.faults: tuple[Fault, ...] = faults

    def __str__(self) -> str:
        """Return the single fault, or a list with one line a fault, as many as anybody reads."""
        if len(self.faults) == 1:
            return str(self.faults[0])
        lines = [f"{len(self.faults)} faults:", *(f"  - {fault}" for fault in self.faults[:MOST_TOLD])]
        if len(self.faults) > MOST_TOLD:
            lines.append(f"  - and {len(self.faults) - MOST_TOLD} more")
        return "\n".join(lines)


class QuantityError(FormulaError):
    """A mass, temperature, time, volume, energy or share that cannot be read as one.

    Example:
        >>> from formula import Losses
        >>> Losses(bake="11 g")
        Traceback (most recent call last):
        ...
        formula.errors.QuantityError: bake: got '11 g', expected a share; g is a unit of a mass; write for example "12 %" or "5 ‰"
    """


class UnknownNameError(FormulaError, LookupError):
    """A name (ingredient, stage, yeast form, bread) that nothing here answers to.

    Example:
        >>> from formula import Catalogue
        >>> Catalogue().find("chalk")
        Traceback (most recent call last):
        ...
        formula.errors.UnknownNameError: ingredient: got 'chalk', expected a name of the larder; ...
    """


class ContradictionError(FormulaError):
    """Numbers that cannot all be true: each fault carries the arithmetic that shows it.

    Example:
        >>> from formula import Printed, check_printed
        >>> card = Printed("card", {"bread flour": 100, "water": 62}, weights={"bread flour": "25.0 kg", "water": "15.0 kg"})
        >>> check_printed(card).or_raise()
        Traceback (most recent call last):
        ...
        formula.errors.ContradictionError: card: water: got 62 % beside 15.0 kg, expected 100 x 15000 / 25000 = 60 %, ...
    """


class FileError(FormulaError):
    """A file that cannot be read; ``where`` names the file, the table and the key.

    Example:
        >>> from formula import load
        >>> load("nowhere.toml")
        Traceback (most recent call last):
        ...
        formula.errors.FileError: nowhere.toml: got nothing, expected a file; there is no such file; check the path
    """


class MissingExtraError(ImportError):
    """A face of the library needs a package that is not installed; the message holds the install line.

    Example:
        >>> print(MissingExtraError("plot", "matplotlib"))
        matplotlib is not installed; this needs: pip install 'dough-formula[plot]'
    """

    def __init__(self, extra: str, package: str) -> None:
        """Name the missing ``package`` and the ``extra`` that brings it."""
        super().__init__(f"{package} is not installed; this needs: pip install 'dough-formula[{extra}]'", name=package)
        self.extra = extra
        self.package = package

    def __reduce__(self) -> tuple[type[MissingExtraError], tuple[str, str]]:
        """Pickle by the two names, not by the finished sentence."""
        return type(self), (self.extra, self.package)


class Gathered:
    """Try several things one after the other, and tell of the faults of all of them in one error.

    Example:
        >>> tried = Gathered()
        >>> for word in ("salt", "chalk"):
        ...     tried.refuse(UnknownNameError, word, "nothing", "a line")
        >>> tried.close()
        Traceback (most recent call last):
        ...
        formula.errors.UnknownNameError: 2 faults:
          - salt: got nothing, expected a line
          - chalk: got nothing, expected a line
    """

    def __init__(self) -> None:
        """Start with no error."""
        self._errors: list[FormulaError] = []

    @property
    def is_clean(self) -> bool:
        """Whether nothing has failed so far."""
        return not self._errors

    def attempt(self, make: Callable[[], _Made]) -> _Made | None:
        """Return what ``make`` makes, or None if it fails; its faults are kept."""
        try:
            return make()
        except FormulaError as error:
            self._errors.append(error)
            return None

    def refuse(self, kind: type[FormulaError], where: str, got: str, expected: str, fix: str = "") -> None:
        """Keep one fault of a kind of error."""
        self._errors.append(kind(Fault(where, got, expected, fix)))

    def close(self) -> None:
        """Raise all faults together, as their own kind of error where they are all of one kind."""
        if self._errors:
            kinds = {type(error) for error in self._errors}
            faults = dict.fromkeys(fault for error in self._errors for fault in error.faults)
            raise (kinds.pop() if len(kinds) == 1 else FormulaError)(*faults)
