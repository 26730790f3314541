"""What handbooks print of yeast and time, as data: the dots beside the curve of a model.

The tables disagree with each other by far more than any model with one of them; see ``docs/fermentation.md``.
"""

from __future__ import annotations

import pkgutil
import tomllib
from functools import cache
from typing import TYPE_CHECKING, Any, cast

from attrs import field, frozen

from .quantity import SHARE, TIME, view

if TYPE_CHECKING:
    from .quantity import Quantity

__all__ = ["HandbookDose", "handbook_doses"]


def _ends(pair: Any) -> tuple[float, float]:  # noqa: ANN401 - whatever stands in the file; a test reads it all
    low, high = pair
    return float(low), float(high)


@frozen
class HandbookDose:
    """One printed row: fresh yeast on the flour it ferments for a time, each from the least to the most printed."""

    table: str
    time_h: tuple[float, float] = field(converter=_ends)
    dose_percent: tuple[float, float] = field(converter=_ends)
    temperature_c: tuple[float, float] = field(converter=_ends)
    source: str

    @property
    def time(self) -> tuple[Quantity, Quantity]:
        """The times printed."""
        low, high = self.time_h
        return view(TIME, low), view(TIME, high)

    @property
    def dose(self) -> tuple[Quantity, Quantity]:
        """The doses printed."""
        low, high = self.dose_percent
        return view(SHARE, low / 100), view(SHARE, high / 100)

    @property
    def middle(self) -> tuple[float, float]:
        """The middle of the times in hours and of the doses in percent, as a dot has it."""
        return sum(self.time_h) / 2, sum(self.dose_percent) / 2


@cache
def handbook_doses() -> tuple[HandbookDose, ...]:
    """Return every printed row, table by table.

    Example:
        >>> sorted({row.table for row in handbook_doses()})[:2]
        ["a French home baker's poolish", 'a German preferment']
    """
    text = cast("bytes", pkgutil.get_data("formula", "handbooks.toml")).decode("utf-8")
    return tuple(
        HandbookDose(table, row[:2], row[2:], facts["temperature_c"], facts["source"])
        for table, facts in tomllib.loads(text).items()
        for row in facts["rows"]
    )
