"""The log of the day: a file to which lines are only ever added, read back strictly.

One JSON object a line, UTF-8.  A line is added with one write and is on the disk before the call returns, so that a crash
leaves at most one line unfinished, the last.  Reading tells of it and goes on; the next line that is added marks it.

A line that another program is just writing looks like one that a crash has cut short.  So whoever adds takes the file's
lock first, and whoever reads an unfinished line waits for that lock and reads again.
"""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Iterable, Iterator
from contextlib import suppress
from functools import cached_property
from itertools import islice
from pathlib import Path
from typing import Any, Final, NoReturn

from attrs import frozen

from .errors import Fault, FileError, FormulaError, cited
from .intake import MOST_FAULTS, read_bytes
from .logentry import Entry
from .working import Caution

__all__ = ["LARGEST_LOG", "Log", "append_log", "read_log"]

LARGEST_LOG: Final = 1_000_000
"""Bytes. A line for every load of 8,000 loaves is 100 kB; much more than that is the wrong file."""
LONGEST_LINE: Final = 500_000
"""Bytes: the weights of ten thousand pieces and more."""
MOST_LINES: Final = 8_000
"""One for every loaf of such a day."""
_UNFINISHED: Final = b" # unfinished"
"""Put behind a line that a crash has cut short, by whoever adds the next one."""


@frozen
class Log:
    """What happened, in the order in which it was written down.

    Args:
        entries: what was read, or entries made by the program that asks.
        name: the file, for messages.
        cautions: lines that a crash has cut short.

    Raises:
        FormulaError: a line that takes the place of one that is not there, or of a later one.

    Example:
        >>> log = Log((Entry("01:49", "mix ended", bread="Ballast Tin", mix=2, dough="28 °C"),))
        >>> print(log.entries[0])
        01:49 mix ended, Ballast Tin, mix 2
    """

    entries: tuple[Entry, ...] = ()
    name: str = "log"
    cautions: tuple[Caution, ...] = ()

    def __attrs_post_init__(self) -> None:
        """Check that a line takes the place only of one before it."""
        numbers = {number for number, _ in self._numbered()}
        wrong = (
            Fault(
                f"{self.name}: line {number}", f"instead_of {entry.instead_of}", "the number of a line before this one"
            )
            for number, entry in self._numbered()
            if entry.instead_of is not None and (entry.instead_of not in numbers or entry.instead_of >= number)
        )
        faults = tuple(islice(wrong, MOST_FAULTS))
        if faults:
            raise FormulaError(*faults)

    def _numbered(self) -> Iterator[tuple[int, Entry]]:
        return ((entry.line or place, entry) for place, entry in enumerate(self.entries, 1))

    @cached_property
    def standing(self) -> tuple[Entry, ...]:
        """The entries that no later one takes the place of."""
        gone = {entry.instead_of for entry in self.entries}
        return tuple(entry for number, entry in self._numbered() if number not in gone)

    def where(self, entry: Entry) -> str:
        """Return the place of an entry, for messages."""
        number = next((number for number, each in self._numbered() if each is entry), entry.line)
        return f"{self.name}: line {number}"

    def of(self, what: str, bread: str = "", mix: int | None = None) -> tuple[Entry, ...]:
        """Return the standing entries of a kind, of one bread or mix if asked."""
        return tuple(
            entry
            for entry in self.standing
            if entry.what == what and (not bread or entry.bread == bread) and (mix is None or entry.mix == mix)
        )


def append_log(path: str | os.PathLike[str], *entries: Entry) -> None:
    r"""Add lines to a log, all of them with one write, and wait until they are on the disk.

    Args:
        path: the file; it is made if it is not there.
        entries: what happened.

    Raises:
        FileError: when the file cannot be written, is full or holds lines that are none; nothing in it is changed.

    Several programs may add to one log on a disk of the same computer: each waits until the one before it is done.  Windows
    has no such lock; there one program adds, and an unfinished line may be told of that is only being written.

    Example:
        >>> import tempfile
        >>> path = Path(tempfile.mkdtemp()) / "log.jsonl"
        >>> append_log(path, Entry("02:10", "mix begun", bread="Quay Round", mix=3))
        >>> path.read_text(encoding="utf-8")
        '{"at": "02:10", "what": "mix begun", "bread": "Quay Round", "mix": 3}\n'
    """
    lines = [json.dumps(entry.to_table(), ensure_ascii=False).encode() + b"\n" for entry in entries]
    if any(len(line) > LONGEST_LINE for line in lines):
        raise FileError(Fault(str(path), "a longer line", f"at most {LONGEST_LINE / 1e6:.0f} MB", "write several"))
    try:
        place = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o666)
    except (OSError, ValueError) as error:
        _refuse(path, error)
    try:
        if not stat.S_ISREG(os.fstat(place).st_mode):
            raise FileError(Fault(str(path), "something that is not a file", "a file", "give the path of a file"))
        _wait_for_others(place)
        held = _held(place)
        data = _mend(held) + b"".join(lines)
        if len(held) + len(data) > LARGEST_LOG or held.count(b"\n") + data.count(b"\n") > MOST_LINES:
            expected = f"at most {LARGEST_LOG / 1e6:.0f} MB and {MOST_LINES} lines"
            raise FileError(Fault(str(path), "a log that is full", expected, "begin a new log for every day"))
        written = os.write(place, data)
        os.fsync(place)
    except OSError as error:
        _refuse(path, error)
    finally:
        os.close(place)
    if written < len(data):
        mend = "make room on the disk and write it again; the unfinished line is passed over"
        raise FileError(Fault(str(path), f"room for {written} bytes", f"room for {len(data)}", mend))


def _refuse(path: object, error: Exception) -> NoReturn:
    got = f"a path that cannot be written ({getattr(error, 'strerror', None) or error})"
    raise FileError(Fault(str(path), got, "a file", "check the path and its permissions")) from None


def _wait_for_others(place: int) -> None:
    """Take the lock of an open file, which goes when it is closed; a disk that knows no locks is used without."""
    with suppress(ImportError, OSError):
        from fcntl import LOCK_EX, flock  # noqa: PLC0415 - Windows has none

        flock(place, LOCK_EX)


def _read_whole(path: Path) -> bytes:
    """Return what a log holds; if its last line is unfinished, once nobody is adding to it any more."""
    fix = "give the day's log"
    data = read_bytes(path, LARGEST_LOG, fix)
    if _mend(data) in {b"", b"\n"}:
        return data
    with path.open("rb") as file:
        _wait_for_others(file.fileno())
        return read_bytes(path, LARGEST_LOG, fix)


def _held(place: int) -> bytes:
    """Return what a log holds, and of one that is too large a little more than it may."""
    os.lseek(place, 0, os.SEEK_SET)
    held = b""
    while len(held) <= LARGEST_LOG and (part := os.read(place, LARGEST_LOG + 1 - len(held))):
        held += part
    return held


def _mend(held: bytes) -> bytes:
    """Return what must come before a new line: nothing, the end of a line that lacks only it, or the mark of a torn one."""
    last = held.rpartition(b"\n")[2]
    if not last:
        return b""
    try:
        json.loads(last)
    except (ValueError, RecursionError):
        return _UNFINISHED + b"\n"
    return b"\n"


def read_log(path: str | os.PathLike[str]) -> Log:
    r"""Read a log.

    Args:
        path: the file.

    Returns:
        Its entries, with a caution for each line that a crash has cut short.

    Raises:
        FileError: for every bad line at once, with its number; a file that is missing, too large or no file.

    Example:
        >>> import tempfile
        >>> path = Path(tempfile.mkdtemp()) / "log.jsonl"
        >>> _ = path.write_text('{"at": "02:10", "what": "note", "note": "snow"}\n{"at": "02:2', encoding="utf-8")
        >>> log = read_log(path)
        >>> print(log.entries[0], "/", log.cautions[0].code)
        02:10 note / unfinished-line
    """
    name = str(path)
    entries: list[Entry] = []
    faults: list[Fault] = []
    cautions: list[Caution] = []
    data = _read_whole(Path(path)).removeprefix(b"\xef\xbb\xbf")
    # Some editors put a byte order mark in front, which is no part of the text.
    if data.count(b"\n") > MOST_LINES:
        got = f"{len(data.splitlines())} lines"
        raise FileError(Fault(name, got, f"at most {MOST_LINES}", "give the day's log"))
    *lines, last = data.split(b"\n")
    for number, line in enumerate((*lines, last), 1):
        where = f"{name}: line {number}"
        if line.endswith(_UNFINISHED):
            cautions.append(_unfinished(where))
        elif line.strip():
            try:
                entries.append(Entry.from_table(_parsed(line, where), where=where, line=number))
            except _NotJsonError as error:
                if number > len(lines):
                    cautions.append(_unfinished(where))
                else:
                    faults += error.faults
            except FormulaError as error:
                faults += error.faults
        if len(faults) >= MOST_FAULTS:
            break
    if not faults:
        try:
            return Log(tuple(entries), name, tuple(cautions))
        except FormulaError as error:
            faults += error.faults
    raise FileError(*faults)


class _NotJsonError(FileError):
    """A line that is no JSON: torn if it is the last, broken if it is not."""


def _unfinished(where: str) -> Caution:
    return Caution("unfinished-line", f"{where} was not finished, as after a crash; it is passed over.")


def _parsed(line: bytes, where: str) -> object:
    try:
        return json.loads(line.decode(), object_pairs_hook=_once, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        if isinstance(error, FormulaError):
            raise FormulaError(*(Fault(f"{where}: {fault.where}", *_rest(fault)) for fault in error.faults)) from None
        got = cited(line[:200].decode(errors="replace"))
        raise _NotJsonError(Fault(where, got, "one whole JSON object", "mend the line, or take it out")) from None


def _rest(fault: Fault) -> tuple[str, str, str]:
    return fault.got, fault.expected, fault.fix


def _once(pairs: Iterable[tuple[str, Any]]) -> dict[str, Any]:
    table: dict[str, Any] = {}
    for key, value in pairs:
        if key in table:
            raise FormulaError(Fault(cited(key, str), "the key twice", "each key once"))
        table[key] = value
    return table


def _no_number(text: str) -> NoReturn:
    raise FormulaError(Fault("a number", text, "a finite number"))
