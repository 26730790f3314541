"""Reading CSV tables strictly: one error that names line and column, for everything wrong in the file at once.

A table begins with a header that names its columns, in any order; a cell is text with its unit ("21 °C", "402 g"), and
one left empty says that nothing is known.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Collection, Sequence
from typing import TYPE_CHECKING, Final, TypeVar

from .errors import Fault, FileError, QuantityError, cited
from .intake import command_in, read_text

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["csv_mistake", "read_csv", "read_header", "wrong_width"]

T = TypeVar("T")
MOST_COLUMNS: Final = 50
"""Of any table here; the widest has eighteen."""


def read_csv(
    path: Path,
    make: Callable[[dict[str, str]], T],
    *,
    columns: Sequence[str],
    needed: Sequence[str],
    most: int,
    noun: str,
    more: str = "",
    column: Callable[[str, dict[str, str]], str] = lambda where, _: where,
) -> tuple[T, ...]:
    r"""Read a table, one thing a line.

    Args:
        path: the file, UTF-8, cells parted by commas.
        make: makes a thing of a line's cells by column; what it refuses is told with line and column.
        columns: the columns that may stand in the header.
        needed: those of them that must.
        most: the most lines that make sense; a longer table is likely the wrong file.
        noun: what a line holds, for messages: "trial".
        more: a column of which there may be several: "preferment", then "preferment 2" and so on to 9.
        column: names the column of a fault that ``make`` found in an argument of another name.

    Raises:
        FileError: for everything wrong in the file at once.

    Example:
        >>> import tempfile, pathlib
        >>> path = pathlib.Path(tempfile.mkdtemp()) / "loaves.csv"
        >>> _ = path.write_text("baked,scaled\n402 g,450 g\n", encoding="utf-8")
        >>> read_csv(path, dict, columns=["scaled", "baked"], needed=["baked"], most=9, noun="loaf")
        ({'baked': '402 g', 'scaled': '450 g'},)
    """
    rows = _rows(path, most, noun)
    if not rows:
        raise FileError(Fault(str(path), "an empty file", f"a header and one line for each {noun}"))
    (_, written), *lines = rows
    header = read_header(str(path), written, columns, needed, more)
    faults: list[Fault] = []
    made: list[T] = []
    for number, cells in lines:
        where = f"{path}: line {number}"
        if len(cells) != len(header):
            faults.append(wrong_width(where, cells, len(header)))
            continue
        row = {name: cell.strip() for name, cell in zip(header, cells, strict=True)}
        try:
            made.append(make(row))
        except QuantityError as error:
            faults += [
                Fault(f"{where}, column {column(fault.where, row)}", fault.got, fault.expected, fault.fix)
                for fault in error.faults
            ]
    if not lines:
        faults.append(Fault(str(path), "a header alone", f"one line for each {noun}"))
    if faults:
        raise FileError(*faults)
    return tuple(made)


def _rows(path: Path, most: int, noun: str) -> list[tuple[int, list[str]]]:
    """Read the lines that hold anything, each with its number in the file, and stop where they are too many."""
    found: list[tuple[int, list[str]]] = []
    reader = csv.reader(io.StringIO(read_text(path), newline=""), strict=True)
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                found.append((reader.line_num, row))
            if faults := [fault for cell in row for fault in command_in(f"{path}: line {reader.line_num}", cell)]:
                raise FileError(faults[0])
            if len(found) > most + 1:
                got = f"more than {most} lines, a {noun} each"
                raise FileError(Fault(str(path), got, f"at most {most}", "keep the latest"))
    except csv.Error as error:
        raise FileError(csv_mistake(f"{path}: line {reader.line_num}", error)) from None
    return found


def csv_mistake(where: str, error: csv.Error) -> Fault:
    """Tell of a line that is no CSV."""
    return Fault(where, f"a CSV mistake: {error}", "cells parted by commas", "mend the line")


def wrong_width(where: str, cells: Sequence[str], width: int) -> Fault:
    """Tell of a line with more or fewer cells than the header."""
    mend = "a comma too many or too few; write a decimal point, not a comma"
    return Fault(where, f"{len(cells)} cells", f"{width}, as the header has", mend)


def read_header(
    path: str, written: Sequence[str], columns: Sequence[str], needed: Collection[str], more: str = ""
) -> list[str]:
    """Return the names of the columns in small letters, and refuse any that are unknown, missing or there twice.

    Args:
        path: the file, for messages.
        written: the cells of the header.
        columns: the columns that may stand in it.
        needed: those of them that must.
        more: a column of which there may be several, or "".

    Raises:
        FileError: for everything wrong in it at once.
    """
    where = f"{path}: header"
    if len(written) > MOST_COLUMNS:
        raise FileError(Fault(where, f"{len(written)} cells", f"at most {MOST_COLUMNS}", "check the file"))
    header = [" ".join(cell.split()).casefold() for cell in written]
    if len(header) == 1 and any(mark in header[0] for mark in ";\t"):
        raise FileError(Fault(where, cited(header[0]), "cells parted by commas", "save the file as CSV with commas"))
    numbered = {f"{more} {number}" for number in range(2, 10)} if more else set[str]()
    known = ", ".join(columns)
    faults = [
        Fault(where, cited(name), f"one of {known}", "units go into the cells, not into the header")
        for name in header
        if name not in columns and name not in numbered
    ]
    mend = f"call a further {more} {more} 2, {more} 3" if more else "leave one of them out"
    faults += [
        Fault(where, f"{name} {header.count(name)} times", "each column once", mend)
        for name in dict.fromkeys(header)
        if header.count(name) > 1
    ]
    faults += [
        Fault(where, f"no column {name}", f"at least {', '.join(needed)}") for name in needed if name not in header
    ]
    if faults:
        raise FileError(*faults)
    return header
