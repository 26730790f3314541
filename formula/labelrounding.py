"""How a figure is rounded before it stands on a label: the guidance of the EU and the rule of the USA.

The bands stand in ``labelrules.toml``.  All arithmetic is decimal: an amount is taken to 12 significant digits, so that
what is a tie on paper is a tie here, and a tie is rounded up.
"""

from __future__ import annotations

import pkgutil
import tomllib
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from typing import Any, Final, cast

from attrs import frozen

from .legalnames import Region

__all__ = ["TIES", "LabelFigure", "Rounding", "label_rules", "rounded", "rounding_of"]

TIES: Final[dict[Region, str]] = {"eu": "eu-rounding-2012", "us": "fda-half-up-memory"}
"""Who says that a half is rounded up; for the EU nobody does, and the source's note says so."""


@frozen
class _Band:
    """Amounts below ``below`` or up to ``upto``, or all that are left: rounded to ``step``, or written as ``text``."""

    step: Decimal | None
    text: str
    below: Decimal | None
    upto: Decimal | None

    def holds(self, amount: Decimal) -> bool:
        if self.below is not None:
            return amount < self.below
        return self.upto is None or amount <= self.upto


@frozen
class Rounding:
    """The bands of one figure in one region, and the source they are from."""

    source: str
    bands: tuple[_Band, ...]


@frozen
class LabelFigure:
    """A figure as a label writes it: its ``text``, and the ``number`` in it, None where it only says "less than"."""

    text: str
    number: float | None
    source: str


def rounded(key: str, amount: float, region: Region, unit: str = "") -> LabelFigure:
    """Round a figure as its region does: to the nearest step of its band, a half up.

    Args:
        key: the figure, such as "fat_g" or "sodium_mg"; "percent" and "mineral percent" are percentages of a daily value.
        amount: how much of it, in the unit that its name ends in, 0 or more.
        region: "eu" or "us".
        unit: the unit as it is written, if it is not the end of the name.

    Raises:
        KeyError: when the region has no rule for the figure.

    Example:
        >>> rounded("fat_g", 4.75, "us").text, rounded("fat_g", 4.75, "eu").text, rounded("fat_g", 0.4, "eu").text
        ('5 g', '4.8 g', '<0.5 g')
    """
    rule = rounding_of(key, region)
    exact = Decimal(f"{amount:.12g}")
    written = unit or key.rpartition("_")[2]
    if not exact:
        return LabelFigure(f"0 {written}", 0.0, rule.source)
    bands = iter(rule.bands)
    band = next(band for band in bands if band.holds(exact))
    if band.step is None:
        return LabelFigure(band.text, 0.0 if band.text.startswith("0") else None, rule.source)
    number = _nearest(exact, band.step)
    step = band.step
    # 9.96 rounds to 10.0, and ten grams are written without a decimal.
    if band.below is not None and number >= band.below:
        step = cast("Decimal", next(bands).step)
        number = _nearest(exact, step)
    text = str(number.quantize(step)) if region == "eu" else f"{number.normalize():f}"
    return LabelFigure(f"{text} {written}", float(number), rule.source)


def rounding_of(key: str, region: Region) -> Rounding:
    """Return the rule by which a region rounds a figure.

    Args:
        key: the figure.
        region: "eu" or "us".

    Raises:
        KeyError: when the region has no rule for the figure.

    Example:
        >>> rounding_of("salt_g", "eu").source
        'eu-rounding-2012'
    """
    return _roundings()[region, key]


@cache
def label_rules() -> dict[str, Any]:
    """Return the tables of ``labelrules.toml`` as they stand there."""
    return tomllib.loads(cast("bytes", pkgutil.get_data("formula", "labelrules.toml")).decode("utf-8"))


def _nearest(amount: Decimal, step: Decimal) -> Decimal:
    return (amount / step).quantize(Decimal(1), ROUND_HALF_UP) * step


@cache
def _roundings() -> dict[tuple[str, str], Rounding]:
    found: dict[tuple[str, str], Rounding] = {}
    for row in label_rules()["rounding"]:
        rule = Rounding(row["source"], tuple(_band(**band) for band in row["bands"]))
        found |= {(row["region"], key): rule for key in row["keys"]}
    return found


def _band(step: str = "", text: str = "", below: str = "", upto: str = "") -> _Band:
    numbers = (Decimal(number) if number else None for number in (step, below, upto))
    at, under, most = numbers
    return _Band(at, text, under, most)
