"""Is it likely? A loaf reckoned from its ingredients, held against finished breads as they are published.

Five breads are no law: a brioche is richer and a salt-free loaf has no salt, rightly.  A figure far outside is a reason to
look once more at the losses, the salt and the figures of the ingredients.
"""

from __future__ import annotations

import pkgutil
import tomllib
from collections.abc import Mapping
from functools import cache
from typing import Any, Final, cast

from attrs import frozen

from .lines import Lines
from .sources import Constant
from .working import Caution, shown

__all__ = ["MARGIN", "PublishedBread", "band", "outside", "published_breads"]

MARGIN: Final = Constant(0.25, "1", 0.0, "bread-band", "a quarter beyond the least and the most")
_HELD: Final = ("water_g", "protein_g", "sodium_mg", "energy_kcal")
"""What tells a slip. Fat does not: the published breads all have some, and a lean hearth loaf has hardly any."""


@frozen
class PublishedBread:
    """A finished bread as it is published: its figures per 100 g by their names, those that are given."""

    name: str
    ndb: str
    source: str
    note: str
    figures: Lines[float]


@cache
def published_breads() -> tuple[PublishedBread, ...]:
    """Return the breads of ``breads.toml``.

    Example:
        >>> [bread.figures["water_g"] for bread in published_breads() if bread.name == "rye bread"]
        [37.3]
    """
    text = cast("bytes", pkgutil.get_data("formula", "breads.toml")).decode("utf-8")
    return tuple(_bread(dict(row)) for row in tomllib.loads(text)["bread"])


def _bread(row: dict[str, Any]) -> PublishedBread:
    words = {key: row.pop(key) for key in ("name", "ndb", "source", "note")}
    return PublishedBread(**words, figures=Lines({key: float(value) for key, value in row.items()}))


def band(key: str) -> tuple[float, float]:
    """Return the least and the most that is likely: a quarter below the least and above the most that is published.

    Args:
        key: a figure that all published breads have, such as "water_g".

    Example:
        >>> [round(limit, 4) for limit in band("water_g")]
        [24.75, 48.7625]
    """
    values = [bread.figures[key] for bread in published_breads()]
    return (1 - MARGIN.value) * min(values), (1 + MARGIN.value) * max(values)


def outside(figures: Mapping[str, float | None]) -> tuple[Caution, ...]:
    """Return a caution for each figure of a loaf that lies outside its band; what is not known is passed over.

    Args:
        figures: water, protein, sodium and energy in 100 g of the loaf, by key.
    """
    found: list[Caution] = []
    for key in _HELD:
        value = figures.get(key)
        least, most = band(key)
        if value is None or least <= value <= most:
            continue
        name, _, unit = key.rpartition("_")
        words = f"{shown(value, 3)} {unit} of {name} in 100 g" if unit != "kcal" else f"{shown(value, 3)} kcal in 100 g"
        limits = f"{shown(least, 3)} to {shown(most, 3)} {unit}"
        text = f"{words} lie outside what finished breads have ({limits}): right for a special bread, else look for a slip."
        found.append(Caution(f"unlikely-{name}", text))
    return tuple(found)
