"""Columns of names for long tables: each name kept once, and none that acts as a spreadsheet's formula once it is in a file."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from attrs import frozen

from .errors import COMMANDS, Fault, cited
from .intake import LONGEST_TEXT, is_writable
from .packed import Packed, load_numpy

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Coded", "Coder", "coded", "harmless", "is_name", "undone", "wrong_name"]

_SIGNS: Final = ("=", "+", "-", "@")
"""What a spreadsheet takes for the beginning of a formula."""


@frozen
class Coded:
    """A column of names, each kept once; made by ``coded``.

    Attributes:
        names: the names, as they first come up.
        places: for each line its name, as its place among them.

    Example:
        >>> found = coded(["Rye", "White", "Rye"])
        >>> found.names, found.places.array().tolist()
        (('Rye', 'White'), [0, 1, 0])
    """

    names: tuple[str, ...]
    places: Packed

    def first(self, place: int) -> int:
        """Return the first line that has a name, counted from 0."""
        return int(load_numpy().argmax(self.places.array() == place))


def coded(cells: Sequence[str]) -> Coded:
    """Keep each name of a column once.

    Args:
        cells: a name for each line.

    Raises:
        MissingExtraError: without numpy.
    """
    coder = Coder()
    coder.add(cells)
    return coder.made(list(coder.index))


class Coder:
    """Gives each name of a column a number, chunk by chunk."""

    def __init__(self) -> None:
        """Start with no name."""
        self.index: dict[str, int] = {}
        self._parts: list[Any] = []

    def add(self, cells: Sequence[str]) -> None:
        """Take more cells of the column."""
        index, np = self.index, load_numpy()
        for name in dict.fromkeys(cells):
            index.setdefault(name, len(index))
        self._parts.append(np.fromiter(map(index.__getitem__, cells), "i4", len(cells)))

    def made(self, names: Sequence[str]) -> Coded:
        """Return the column under cleaned names, of which two may have become one."""
        np = load_numpy()
        places: NDArray[Any] = np.concatenate([np.empty(0, "i4"), *self._parts])
        self._parts = []
        unique = {name: place for place, name in enumerate(dict.fromkeys(names))}
        if len(unique) < len(names):
            places = np.fromiter(map(unique.__getitem__, names), "i4", len(names))[places]
        return Coded(tuple(unique), Packed.of(places, "i8"))


def harmless(text: str) -> str:
    """Return a cell of a CSV file that holds a name, behind an apostrophe if it begins as a spreadsheet's formula does.

    Example:
        >>> harmless("=A1"), harmless("Rye, dark")
        ("'=A1", '"Rye, dark"')
    """
    # An apostrophe of the name's own, before such a sign or another, gets one more, so that reading takes off ours alone.
    if text.startswith(_SIGNS) or (text[0] == "'" and text[1:2] in {*_SIGNS, "'"}):
        text = f"'{text}"
    return '"' + text.replace('"', '""') + '"' if "," in text or '"' in text else text


def undone(text: str) -> str:
    """Return a name without the apostrophe that ``harmless`` put before it.

    Example:
        >>> undone("'=A1"), undone("'n Kaap"), undone(harmless("'-"))
        ('=A1', "'n Kaap", "'-")
    """
    return text[1:] if text.startswith("'") and text[1:2] in {*_SIGNS, "'"} else text


def is_name(text: str) -> bool:
    """Tell whether text is a name that comes back from a file as it was: one line, not too long, no spaces around it."""
    return (
        0 < len(text) <= LONGEST_TEXT
        and not COMMANDS.search(text)
        and text == text.strip()
        and "\n" not in text
        and "\r" not in text
        and (text.isascii() or is_writable(text))
    )


def wrong_name(where: str, text: str) -> Fault:
    """Tell of text that is no such name."""
    if not text:
        return Fault(where, "nothing", "a name", "fill in the cell")
    expected = f"a name on one line, of at most {LONGEST_TEXT} characters, without spaces around it"
    return Fault(where, cited(text), expected, "mend the name")
