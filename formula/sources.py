"""Where the numbers come from.

A number taken from the trade or from a book is a ``Constant``, and a constant cannot exist without the id of a
``Source``.  The sources stand in ``sources.toml`` beside this file and are read on first look-up, never at import.
"""

from __future__ import annotations

import tomllib
from functools import cache

from attrs import field, frozen, validators

from .errors import Fault, UnknownNameError
from .lines import Lines

__all__ = ["Constant", "Source", "all_sources", "source"]

KNOWN_BY = ("read", "read in a copy", "memory", "common practice", "measured by a library", "derived")


@frozen
class Source:
    """A book, paper, standard, page or habit of the trade that a number rests on.

    ``known_by`` says how honest the link is: read in the document, read in somebody's copy of it, from memory,
    common practice of the trade without a document, measured by a reference library, or derived here by arithmetic.

    Example:
        >>> from formula import source
        >>> source("common-practice").known_by
        'common practice'
    """

    id: str
    title: str
    known_by: str = field(validator=validators.in_(KNOWN_BY))
    author: str = ""
    edition: str = ""
    year: str = ""
    publisher: str = ""
    where: str = ""
    note: str = ""

    def __str__(self) -> str:
        """Return the source as one line of a bibliography."""
        parts = [self.author, self.title, self.edition, self.publisher, self.year, self.where]
        return ", ".join(part for part in parts if part) + f" ({self.known_by})"


@frozen
class Constant:
    """A number with its unit, its uncertainty, the id of its source and the place in that source.

    Args:
        value: the number, in ``unit``.
        unit: the unit as text; "1" for a ratio.
        uncertainty: half the published spread, in the same unit; 0 for a definition.
        source: the id of a source in ``sources.toml``.
        where: the page, table or section of the source.

    Raises:
        TypeError: when any of the five is missing.

    Example:
        >>> Constant(0.33, "1", 0.06, "yeast-conversion-ckbk", "table").value
        0.33
    """

    value: float
    unit: str
    uncertainty: float
    source: str = field(validator=validators.min_len(1))
    where: str


@cache
def all_sources() -> Lines[Source]:
    """Return every source of the library by its id.

    Example:
        >>> "common-practice" in all_sources()
        True
    """
    from importlib.resources import files  # noqa: PLC0415 - 4 ms that only a look-up pays

    text = files("formula").joinpath("sources.toml").read_text(encoding="utf-8")
    return Lines((name, Source(id=name, **facts)) for name, facts in tomllib.loads(text).items())


def source(name: str) -> Source:
    """Return the source with an id.

    Args:
        name: the id, as a constant or a step of a working gives it.

    Raises:
        UnknownNameError: when no source has this id.

    Example:
        >>> source("common-practice").known_by
        'common practice'
    """
    try:
        return all_sources()[name]
    except KeyError:
        known = ", ".join(all_sources())
        raise UnknownNameError(Fault("source", repr(name), f"one of: {known}")) from None
