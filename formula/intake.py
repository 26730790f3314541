"""What comes in from a file, held to limits, so that a broken or hostile file costs a moment and not the machine.

A file is read only if it is one (no folder, pipe or device), never beyond its limit, as UTF-8.  Before a parser sees the
text its values are counted, and how deeply its keys are dotted; the tables that come of it are held to a depth, a length
of names and texts, and a size of whole numbers.  Each limit lies far above what a bakery writes.
"""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Iterator
from functools import cache
from typing import TYPE_CHECKING, Any, Final, cast

from .errors import COMMANDS, MOST_TOLD, Fault, FileError, cited

if TYPE_CHECKING:
    from pathlib import Path

__all__ = [
    "DEEPEST",
    "LARGEST_FILE",
    "LARGEST_WHOLE",
    "LONGEST_TEXT",
    "MOST_FAULTS",
    "MOST_VALUES",
    "check_dotted",
    "check_tables",
    "check_values",
    "command_in",
    "is_writable",
    "own_file",
    "read_bytes",
    "read_text",
]

LARGEST_FILE: Final = 1_000_000
"""Bytes. A formula is 2 kB and a day's order of a chain 200 kB; more than this is a mistake or an attack."""
MOST_VALUES: Final = 10_000
"""Values of a file, with its list items and headings. A formula has 20 to 100, a list of prices some hundred."""
DEEPEST: Final = 16
"""Tables in tables. Our own files have three."""
LONGEST_TEXT: Final = 1_000
"""Characters of a name, a key or a text."""
LARGEST_WHOLE: Final = 10**12
"""A whole number; no bakery counts more of anything."""
MOST_FAULTS: Final = MOST_TOLD
"""Faults of one list or file that are told; who has mended so many asks again."""

_PART: Final = r"""(?:[A-Za-z0-9_-]++|"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+')"""


def read_bytes(path: Path, most: int = LARGEST_FILE, fix: str = "split the file") -> bytes:
    """Read a file whole, never more than its limit.

    Args:
        path: the file.
        most: the most bytes.
        fix: what to do with a larger one.

    Raises:
        FileError: when the file is missing, larger, or something else than a file, which might never come to an end.
    """
    name = str(path)
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise _no_file(name)
        # Should a pipe have taken its place meanwhile, it is not waited for.
        place = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(place, "rb") as file:
            found = os.fstat(place)
            if not stat.S_ISREG(found.st_mode):
                raise _no_file(name)
            # Some files of the system say that they are empty and are not: the limit holds for what is read.
            size = max(found.st_size, 0)
            data = b"" if size > most else file.read(most + 1)
    except FileError:
        raise
    except FileNotFoundError:
        raise FileError(Fault(name, "nothing", "a file", "there is no such file; check the path")) from None
    except (OSError, ValueError) as error:
        got = f"a path that cannot be read ({getattr(error, 'strerror', None) or error})"
        raise FileError(Fault(repr(name), got, "a file", "check the path and its permissions")) from None
    size = max(size, len(data))
    if size > most:
        raise FileError(Fault(name, f"{size / 1e6:.1f} MB", f"at most {most / 1e6:.0f} MB", fix))
    return data


def _no_file(name: str) -> FileError:
    return FileError(Fault(name, "something that is not a file", "a file", "give the path of a file"))


def read_text(path: Path, most: int = LARGEST_FILE) -> str:
    """Read a file as text.

    Args:
        path: the file.
        most: the most bytes.

    Raises:
        FileError: when the file is missing, a directory, too large or not UTF-8.
    """
    try:
        # Some editors put a byte order mark in front, which is no part of the text.
        return read_bytes(path, most).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        got = f"a byte that is not UTF-8 at position {error.start}"
        raise FileError(Fault(str(path), got, "UTF-8 text", "save the file as UTF-8")) from None


def check_values(text: str, name: str, signs: str, most: int = MOST_VALUES) -> None:
    """Count what a parser would have to make of a text, before it does.

    Args:
        text: TOML or JSON.
        name: the file, for the message.
        signs: what stands before or behind each value: "=,[{" in TOML, ":,[{" in JSON.
        most: how many there may be.

    Raises:
        FileError: for more of them.
    """
    count = sum(map(text.count, signs))
    if count > most:
        got = f"about {count} values, list items and headings"
        raise FileError(Fault(name, got, f"at most {most}", "check that it is the right file, or split it"))


@cache
def _tokens() -> re.Pattern[str]:
    """Return what TOML is made of, taken from the start, so that a dot in a text or a comment is none in a key."""
    return re.compile(
        rf"""(?P<deep>(?:{_PART}[ \t]*+\.[ \t]*+){{{DEEPEST}}})
        |\#[^\n]*+|\"\"\"(?:[^"\\]|\\.|"(?!""))*+(?:\"\"\")?|'''(?:[^']|'(?!''))*+(?:''')?|{_PART}|["'][^\n]*+|[^"'\#A-Za-z0-9_-]++""",
        re.DOTALL | re.VERBOSE,
    )


def check_dotted(text: str, name: str) -> None:
    """Refuse keys of TOML that are dotted too deeply, for each part of which the parser walks through all before it.

    Args:
        text: TOML.
        name: the file, for the message.

    Raises:
        FileError: with the line.
    """
    if max(line.count(".") for line in text.split("\n")) < DEEPEST:
        return
    for token in _tokens().finditer(text):
        if token["deep"]:
            line = text.count("\n", 0, token.start()) + 1
            raise FileError(_too_deep(f"{name}: line {line}"))


def _too_deep(where: str) -> Fault:
    return Fault(where, "tables nested too deeply", f"at most {DEEPEST} in each other", "mend the file")


def check_tables(data: dict[str, Any], name: str) -> None:
    """Hold tables that a parser made to the limits of depth, of names and texts, and of whole numbers.

    Args:
        data: tables, lists, texts and numbers.
        name: the file, for messages.

    Raises:
        FileError: for everything that is too large.
    """
    faults: list[Fault] = []
    rest: list[tuple[str, object, int]] = [("", data, 0)]
    while rest and len(faults) < MOST_FAULTS:
        where, value, depth = rest.pop()
        if isinstance(value, str):
            faults += _wrong_text(f"{name}: {where}", value)
        elif isinstance(value, int) and abs(value) > LARGEST_WHOLE:
            expected = f"a whole number of at most {len(str(LARGEST_WHOLE)) - 1} digits"
            faults.append(Fault(f"{name}: {where}", cited(value), expected, "mend the number"))
        elif isinstance(value, (dict, list)):
            if depth > DEEPEST:
                faults.append(_too_deep(f"{name}: {where}"))
                continue
            inner = list(_inner(where, cast("dict[str, object] | list[object]", value)))
            if isinstance(value, dict):
                names = list(cast("dict[str, object]", value))
                faults += [
                    fault for key in names for fault in _wrong_text(f"{name}: {where}".rstrip(": "), key, "a key of ")
                ]
            rest += [(place, each, depth + 1) for place, each in reversed(inner)]
    if faults:
        raise FileError(*faults[:MOST_FAULTS])


def _inner(where: str, value: dict[str, object] | list[object]) -> Iterator[tuple[str, object]]:
    if isinstance(value, dict):
        for key, each in value.items():
            short = cited(key, str)
            yield (f"{where}.{short}" if where else short), each
    else:
        for number, each in enumerate(value):
            yield f"{where}[{number}]", each


def _wrong_text(where: str, text: str, noun: str = "") -> Iterator[Fault]:
    if len(text) > LONGEST_TEXT:
        got = f"{noun}{len(text)} characters"
        yield Fault(where, got, f"at most {LONGEST_TEXT} characters", "shorten it")
    elif not is_writable(text):
        got = f"{noun}half a character (an escape from \\ud800 to \\udfff alone)"
        yield Fault(where, got, "whole characters", "write the text anew")
    else:
        yield from command_in(where, text, noun)


def command_in(where: str, text: str, noun: str = "") -> Iterator[Fault]:
    """Tell of the first character of a text that is a command to a terminal, if there is one."""
    if found := COMMANDS.search(text):
        got = f"{noun}the character {found[0]!r}, which is a command to a terminal"
        yield Fault(where, got, "text that can be seen", "write the text anew")


def is_writable(text: str) -> bool:
    """Tell whether text can be written as UTF-8; halves of characters cannot."""
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def own_file(folder: Path, file: str | Path) -> Path:
    """Return the path of a file of a folder; one that a link leads out of it is refused.

    A folder that somebody sent could otherwise show what is none of its business.

    Args:
        folder: the folder, which may itself be reached through a link.
        file: the file's name, or its path as the folder was searched.

    Raises:
        FileError: when a link leads out of the folder.
    """
    place = folder / file
    try:
        inside = place.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):
        # Links that lead to each other have no end; opening the file tells of it.
        inside = True
    if not inside:
        got, fix = "a link that leads out of the folder", "copy what it leads to into the folder"
        raise FileError(Fault(str(place), got, f"a file in {folder}", fix))
    return place
