"""Legal names: what a label calls an ingredient, in the EU and in the USA, and what that is made of.

The names stand in ``legalnames.toml`` and are from memory; an ingredient that is not in there keeps the larder's own name.
A flour whose additions nobody told is a gap and not plain flour, and so is everything whose recipe only its maker knows.
"""

from __future__ import annotations

import pkgutil
import tomllib
from functools import cache
from typing import Any, Final, Literal, cast, get_args

from attrs import frozen

from .ingredient import Ingredient
from .quantity import Door

__all__ = ["REGION_WORDS", "LegalName", "Region", "legal_name", "read_region"]

Region = Literal["eu", "us"]
REGION_WORDS: Final = {"eu": "the European Union", "us": "the USA"}


@frozen
class LegalName:
    """What a label of one region calls an ingredient.

    ``parts`` is its sub-list in falling weight, the empty tuple where it is one thing, and None where nobody told; ``source``
    is where the name comes from.
    """

    name: str
    parts: tuple[str, ...] | None
    source: str


@cache
def _table() -> dict[str, dict[str, Any]]:
    text = cast("bytes", pkgutil.get_data("formula", "legalnames.toml")).decode("utf-8")
    return tomllib.loads(text)


def legal_name(ingredient: Ingredient, region: Region) -> LegalName:
    """Return what a label of a region calls an ingredient.

    Args:
        ingredient: of the larder or of your own; one of your own keeps its name.
        region: "eu" or "us".

    Source: label-names and us-enriched-flour, from memory.

    Example:
        >>> from formula import Catalogue
        >>> legal_name(Catalogue().find("bread flour"), "us").parts[:2]
        ('wheat flour', 'niacin')
        >>> print(legal_name(Catalogue().find("spelt flour"), "eu").parts)
        None
    """
    told = _table().get(ingredient.name, {})
    parts: Any = told.get(f"{region}_parts", told.get("parts"))
    # What the larder cannot tell the allergens of depends on its maker, and so does what a mill adds to its flour.
    asks = ingredient.is_flour or ingredient.kind == "culture" or ingredient.allergens is None or told.get("unknown")
    if parts is None and not asks:
        parts = ()
    return LegalName(
        name=told.get(region, ingredient.name),
        parts=None if parts is None else tuple(parts),
        source=told.get("source", "label-names"),
    )


def read_region(door: Door, region: str) -> None:
    """Note a region that there is no rule for."""
    if region not in get_args(Region):
        door.refuse("region", repr(region), 'one of "eu", "us"', "no other region's rules are built in")
