"""Printed formulas checked: do the percentages, weights and totals of a printed formula agree with each other?

Printed formulas contain slips.  A list of lines with percentages, weights and totals says the same thing several times,
and whatever disagrees by more than its printed digits allow is reported with the arithmetic, never silently resolved.
Columns in two systems of weights are independent roundings, not conversions (source: professional-cooking): each is held
against the percentages by itself, and never against the other.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Final

from attrs import frozen

from .catalogue import Catalogue
from .errors import ContradictionError, Fault, FormulaError
from .lines import Lines
from .part import read_names
from .quantity import MASS, Door
from .stage import base_of
from .units import KINDS
from .working import shown

__all__ = ["Printed", "PrintedCheck", "check_printed"]

_NUMBER: Final = re.compile(r"([0-9]+)(?:\.([0-9]+))?")


@frozen
class _Figure:
    """A number as printed: its value, and half a unit of its last printed digit, which is all that rounding can hide."""

    value: float
    half: float
    text: str


def _figure(value: float | str, where: str, door: Door) -> _Figure:
    text = value if isinstance(value, str) else f"{value:g}" if float(value).is_integer() else repr(value)
    match = None if isinstance(value, bool) else _NUMBER.fullmatch(text)
    if match is None:
        door.refuse(where, repr(value), 'a percentage as printed, such as 2 or "2.0"')
        return _Figure(0.0, 0.0, text)
    return _Figure(float(text), 0.5 * 10.0 ** -len(match[2] or ""), text)


def _weight(text: str, where: str, door: Door) -> _Figure:
    grams = door.read(MASS, text, where)
    number = re.match(r"[0-9]+(?:\.([0-9]+))?", text)
    # Half a unit of the last digit of the last part: "1 lb 8 oz" is printed to the ounce.
    unit = text.rsplit(maxsplit=1)[-1].lstrip("0123456789.") if text.strip() else ""
    digits = re.findall(r"[0-9]+(?:\.([0-9]+))?", text)
    factor = KINDS[0].scale.get(unit, (1.0, 0.0))[0]
    return _Figure(grams, 0.5 * 10.0 ** -len(digits[-1] if number else "") * factor, text)


@frozen(init=False)
class Printed:
    """One list of a printed formula: the overall formula, a preferment or the final dough.

    Args:
        where: what the list is called, for the messages.
        percents: line -> percentage as printed; a number, or text where trailing zeros say how exact it is.
        weights: line -> weight as text, as printed.
        other_weights: the same in another system of weights, an independent column.
        total_percent: the printed total of the percentages.
        total: the printed total of ``weights``.
        base: the lines that are its 100 %; its flours if left out.

    Raises:
        FormulaError: with every number or weight that cannot be read.

    Example:
        >>> list_ = Printed("poolish", {"bread flour": 100, "water": 100}, total_percent=220)
        >>> print(check_printed(list_).contradictions[0])
        poolish: got 100 + 100 = 200, expected the printed total of 220 %; one of them is a slip
    """

    where: str
    percents: Lines[_Figure]
    columns: tuple[Lines[_Figure], ...]
    total_percent: _Figure | None
    total: _Figure | None
    base: tuple[str, ...]

    def __init__(
        self,
        where: str,
        percents: Mapping[str, float | str] | None = None,
        *,
        weights: Mapping[str, str] | None = None,
        other_weights: Mapping[str, str] | None = None,
        total_percent: float | str | None = None,
        total: str | None = None,
        base: Iterable[str] = (),
    ) -> None:
        """Read every figure with its printed digits."""
        with Door(FormulaError) as door:
            figures = Lines(
                (line, _figure(value, f"{where}: {line}", door)) for line, value in (percents or {}).items()
            )
            columns = tuple(
                Lines((line, _weight(text, f"{where}: {line}", door)) for line, text in column.items())
                for column in (weights, other_weights)
                if column
            )
            whole = None if total_percent is None else _figure(total_percent, f"{where}: total_percent", door)
            mass = None if total is None else _weight(total, f"{where}: total", door)
            if not figures and not columns:
                door.refuse(where, "no lines", "percentages or weights")
        facts = {
            "where": where,
            "percents": figures,
            "columns": columns,
            "total_percent": whole,
            "total": mass,
            "base": tuple(base),
        }
        for name, value in facts.items():
            object.__setattr__(self, name, value)


@frozen
class PrintedCheck:
    """What a check of printed lists found: ``contradictions``, each with its arithmetic; none if all agree."""

    contradictions: tuple[Fault, ...]

    @property
    def agrees(self) -> bool:
        """Whether every printed number agrees with the others."""
        return not self.contradictions

    def or_raise(self) -> None:
        """Raise everything that was found as one error.

        Raises:
            ContradictionError: when anything was found.
        """
        if self.contradictions:
            raise ContradictionError(*self.contradictions)

    def __str__(self) -> str:
        """Return one line a contradiction."""
        return "\n".join(map(str, self.contradictions)) or "all printed numbers agree"


def check_printed(*lists: Printed, catalogue: Catalogue | None = None) -> PrintedCheck:
    """Find every place where a printed formula contradicts itself by more than its digits allow.

    Checked in each list: percentage = 100 x weight / weight of the base, for each line and column of weights; the sum of
    the percentages and the printed total; the sum of the weights and the printed total; total weight / base and total
    percentage.  The tolerance is half a unit of the last printed digit of each number that enters.

    Args:
        lists: the lists, each as printed.
        catalogue: what the names mean, to tell the flours.

    Raises:
        UnknownNameError: a line that the catalogue does not know.
        FormulaError: a list without flour whose base is not named.

    Example:
        >>> overall = Printed("overall", {"bread flour": 100, "water": 62}, weights={"bread flour": "25000 g", "water": "15000 g"})
        >>> print(check_printed(overall))
        overall: water: got 62 % beside 15000 g, expected 100 x 15000 / 25000 = 60 %, or 15500 g; one of them is a slip
    """
    larder = catalogue or Catalogue()
    return PrintedCheck(tuple(fault for printed in lists for fault in _of_list(printed, larder)))


def _of_list(printed: Printed, catalogue: Catalogue) -> Iterable[Fault]:
    for column in printed.columns:
        yield from _of_column(printed, column, catalogue)
    slip = "one of them is a slip"
    if printed.total_percent and printed.percents:
        figures = printed.percents.values()
        whole = sum(figure.value for figure in figures)
        room = sum(figure.half for figure in figures) + printed.total_percent.half
        if abs(whole - printed.total_percent.value) > room * (1 + 1e-9):
            got = f"{' + '.join(figure.text for figure in figures)} = {shown(whole)}"
            yield Fault(printed.where, got, f"the printed total of {printed.total_percent.text} %", slip)
    if printed.total and printed.columns:
        figures = printed.columns[0].values()
        whole = sum(figure.value for figure in figures)
        room = sum(figure.half for figure in figures) + printed.total.half
        if abs(whole - printed.total.value) > room * (1 + 1e-9):
            got = f"{' + '.join(figure.text for figure in figures)} = {shown(whole)} g"
            yield Fault(printed.where, got, f"the printed total of {printed.total.text}", slip)


def _of_column(printed: Printed, column: Lines[_Figure], catalogue: Catalogue) -> Iterable[Fault]:
    base = base_of(read_names(column, catalogue, printed.where), catalogue, printed.base, final=False)
    if not base or sum(column[line].value for line in base) <= 0:
        raise FormulaError(
            Fault(printed.where, "no flour, grain or seed", "a line that is its 100 %", "name it with base=")
        )
    flour_g = sum(column[line].value for line in base)
    flour_half = sum(column[line].half for line in base)
    for line, weight in column.items():
        if line not in printed.percents:
            continue
        percent = printed.percents[line]
        found = 100 * weight.value / flour_g
        room = percent.half + 100 * weight.half / flour_g + found * flour_half / flour_g
        if abs(found - percent.value) > room * (1 + 1e-9):
            sum_ = f"100 x {shown(weight.value)} / {shown(flour_g)} = {shown(found)} %"
            expected = f"{sum_}, or {shown(percent.value * flour_g / 100)} g"
            yield Fault(
                f"{printed.where}: {line}", f"{percent.text} % beside {weight.text}", expected, "one of them is a slip"
            )
    if printed.total_percent and len(column) == len(printed.percents):
        whole = sum(figure.value for figure in column.values())
        found = 100 * whole / flour_g
        halves = sum(figure.half for figure in column.values())
        # Totals of percentages are often printed rounded down to a whole number: a whole unit is allowed.
        room = 2 * printed.total_percent.half + 100 * halves / flour_g + found * flour_half / flour_g
        if abs(found - printed.total_percent.value) > room * (1 + 1e-9):
            got = f"weights that are 100 x {shown(whole)} / {shown(flour_g)} = {shown(found)} % of the base"
            yield Fault(
                printed.where, got, f"the printed total of {printed.total_percent.text} %", "one of them is a slip"
            )
