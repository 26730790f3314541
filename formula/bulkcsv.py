"""Long tables of few columns in CSV, read and written as columns: names each kept once, numbers as numpy takes them.

A line costs less than a microsecond here, where ``csvtable`` spends ten on each.  What is plain (no quotes, each line with as
many cells as the header) is cut at its commas, some thousand lines at a time; from the first other line on the ``csv`` of Python
reads.  Both are as strict, and a test holds one against the other.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, cast

from attrs import frozen

from .bulknames import Coded, Coder, harmless, is_name, undone, wrong_name
from .csvtable import csv_mistake, read_header, wrong_width
from .errors import Fault, FileError, cited
from .intake import MOST_FAULTS, read_bytes
from .lines import Lines
from .packed import Packed, load_numpy

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["LARGEST_BULK", "MOST_DIFFERENT", "MOST_ROWS", "BulkTable", "bulk_csv", "read_bulk"]

LARGEST_BULK: Final = 16_000_000
"""Bytes of a file. A line has about 25."""
MOST_ROWS: Final = 300_000
"""Lines of a file: twenty-five thousand formulas of twelve lines."""
MOST_DIFFERENT: Final = 50_000
"""Different names in a column; each costs what several lines cost."""
_CHUNK: Final = 1 << 16
"""Bytes cut at a time: what becomes of them stays in the cache of the processor, which halves the time."""
_ROWS: Final = 1 << 12
"""Rows written at a time, for the same reason."""
_LONGEST_NUMBER: Final = 40
"""Characters; a float needs 24 at most."""
_NUMBER: Final = re.compile(r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?", re.ASCII)
_NUMBERS: Final = b"0123456789.eE+-"


@frozen
class BulkTable:
    """A file as columns; made by ``read_bulk``.

    Attributes:
        path: the file, for messages.
        lines: for each row the line of the file on which it stands.
        texts: the columns of names.
        numbers: the columns of numbers.
    """

    path: str
    lines: Packed
    texts: Lines[Coded]
    numbers: Lines[Packed]

    def where(self, row: int) -> str:
        """Name the line of a row for a message."""
        return f"{self.path}: line {self.lines.array()[row]}"


def read_bulk(
    path: Path,
    *,
    texts: Sequence[str],
    numbers: Sequence[str],
    needed: Sequence[str],
    noun: str,
    most: int = MOST_ROWS,
) -> BulkTable:
    r"""Read a file as columns.

    A name that a spreadsheet would take for a formula stands in the file behind an apostrophe, which is taken off.

    Args:
        path: the file, UTF-8, cells parted by commas, a header first, each row on a line of its own.
        texts: the columns that hold names.
        numbers: the columns that hold bare numbers of 0 or more.
        needed: those that must be there, and filled; the others may be left out, and cells of theirs left empty.
        noun: what a line holds, for messages: "line of a formula".
        most: the most lines.

    Raises:
        FileError: with the lines of everything that is wrong, the first hundred.
        MissingExtraError: without numpy.

    Example:
        >>> import tempfile, pathlib
        >>> path = pathlib.Path(tempfile.mkdtemp()) / "table.csv"
        >>> _ = path.write_text("bread,percent\nRye,70\n'=A1,2.5\nRye,2\n", encoding="utf-8")
        >>> table = read_bulk(path, texts=["bread"], numbers=["percent"], needed=["bread"], noun="line")
        >>> table.texts["bread"].names, table.numbers["percent"].array().tolist(), table.where(2)[-6:]
        (('Rye', '=A1'), [70.0, 2.5, 2.0], 'line 4')
    """
    np, name = load_numpy(), str(path)
    data, begin, written = _opened(path, most, noun)
    header = read_header(name, written, [*texts, *numbers], needed)
    coders = {column: Coder() for column in header if column in texts}
    values: dict[str, list[Any]] = {column: [] for column in header if column in numbers}
    lines: list[Any] = []
    faults: list[Fault] = []
    for at, columns in _chunks(data, begin, len(header), name, faults):
        lines.append(np.asarray(at, "i4"))
        for column, cells in zip(header, columns, strict=True):
            if column in coders:
                coders[column].add(cells)
                if len(coders[column].index) > MOST_DIFFERENT:
                    got, expected = f"more than {MOST_DIFFERENT} different names", f"at most {MOST_DIFFERENT}"
                    raise FileError(Fault(f"{name}: column {column}", got, expected, "split the file"))
            else:
                values[column].append(_floats(cells, at, f"{name}: line", column, faults))
        if len(faults) >= MOST_FAULTS:
            break
    del data
    where: NDArray[Any] = np.concatenate([np.empty(0, "i4"), *lines])
    if not where.size and not faults:
        faults.append(Fault(name, "a header alone", f"one line for each {noun}"))
    found: dict[str, Coded] = {}
    for column, coder in coders.items():
        names = found[column] = coder.made([undone(text.strip()) for text in coder.index])
        wrong = (
            number
            for number, text in enumerate(names.names)
            if not (is_name(text) or (not text and column not in needed))
        )
        for place in islice(wrong, MOST_FAULTS):
            line = where[names.first(place)]
            faults.append(wrong_name(f"{name}: line {line}, column {column}", names.names[place]))
    if faults:
        raise FileError(*faults[:MOST_FAULTS])
    return BulkTable(
        name,
        Packed.of(where, "i8"),
        Lines(found),
        Lines((column, Packed.of(np.concatenate([np.empty(0), *parts]))) for column, parts in values.items()),
    )


def _opened(path: Path, most: int, noun: str) -> tuple[bytes, int, list[str]]:
    """Return a file, where its second line begins, and the cells of its header."""
    name = str(path)
    data = read_bytes(path, LARGEST_BULK).removeprefix(b"\xef\xbb\xbf")
    if not data.strip():
        raise FileError(Fault(name, "an empty file", f"a header and one line for each {noun}"))
    if data.count(b"\n") > most + 1:
        got = f"more than {most} lines, a {noun} each"
        raise FileError(Fault(name, got, f"at most {most}", "split the file"))
    begin = _line_end(data, 0, name)
    return data, begin, next(_quoted(data[:begin], 1, name))[1]


def _line_end(data: bytes, begin: int, name: str) -> int:
    """Return where the last whole line within a chunk ends; for the first call on a file, its header."""
    end = data.find(b"\n", begin, begin + _CHUNK) if not begin else data.rfind(b"\n", begin, begin + _CHUNK)
    if end >= 0:
        return end + 1
    if len(data) - begin > _CHUNK:
        line = data.count(b"\n", 0, begin) + 1
        raise FileError(Fault(f"{name}: line {line}", "more than 65,000 bytes", "a short line", "check the file"))
    return len(data)


def _chunks(
    data: bytes, begin: int, width: int, name: str, faults: list[Fault]
) -> Iterator[tuple[Sequence[int], Sequence[Sequence[str]]]]:
    """Cut a file into columns, some thousand lines at a time, each with its number."""
    line = 2
    careful = False
    while begin < len(data):
        end = _line_end(data, begin, name)
        chunk = data[begin:end]
        columns = None if careful else _plain(chunk, width)
        if columns is None:
            # The next chunk would most likely be tried in vain too.
            careful = True
            yield _careful(chunk, line, width, name, faults)
        else:
            yield load_numpy().arange(line, line + len(columns[0])), columns
        line += chunk.count(b"\n")
        begin = end


def _plain(chunk: bytes, width: int) -> list[list[str]] | None:
    """Cut lines at their commas; None where that would not do, for the other way to read or to refuse."""
    if b'"' in chunk or chunk.startswith(b",") or b"\n," in chunk:
        return None
    chunk = chunk.replace(b"\r\n", b"\n").removesuffix(b"\n")
    if b"\r" in chunk:
        return None
    np = load_numpy()
    signs = np.frombuffer(chunk + b"\n", "u1")
    signs = signs[(signs == ord(",")) | (signs == ord("\n"))]
    if signs.size % width or (signs.reshape(-1, width) != [*b"," * (width - 1), ord("\n")]).any():
        return None
    try:
        cells = chunk.decode().replace("\n", ",").split(",")
    except UnicodeDecodeError:
        return None
    return [cells[column::width] for column in range(width)]


def _careful(
    chunk: bytes, line: int, width: int, name: str, faults: list[Fault]
) -> tuple[Sequence[int], Sequence[Sequence[str]]]:
    """Read lines that may have quotes; those with too many or too few cells are told of and left out."""
    numbers: list[int] = []
    rows: list[list[str]] = []
    for number, row in _quoted(chunk, line, name):
        if len(row) == width:
            if any(row):
                numbers.append(number)
                rows.append(row)
        elif any(row):
            faults.append(wrong_width(f"{name}: line {number}", row, width))
            if len(faults) >= MOST_FAULTS:
                break
    return numbers, list(zip(*rows, strict=True)) if rows else [[] for _ in range(width)]


def _quoted(chunk: bytes, line: int, name: str) -> Iterator[tuple[int, list[str]]]:
    """Yield the number and the cells of each line."""
    number, ended = line - 1, True

    def lines() -> Iterator[str]:
        nonlocal number, ended
        for raw in io.BytesIO(chunk):
            if not ended:
                raise FileError(
                    Fault(f"{name}: line {number}", "a cell that goes on in the next line", "one line", fix)
                )
            number, ended = number + 1, False
            try:
                yield raw.decode()
            except UnicodeDecodeError:
                got = "a byte that is not UTF-8"
                raise FileError(Fault(f"{name}: line {number}", got, "UTF-8 text", "save the file as UTF-8")) from None

    fix = "mend the quotes, or take the break out of the name"
    try:
        for row in csv.reader(lines(), strict=True):
            ended = True
            yield number, row
    except csv.Error as error:
        raise FileError(csv_mistake(f"{name}: line {number}", error)) from None


def _floats(cells: Sequence[str], lines: Sequence[int], where: str, column: str, faults: list[Fault]) -> NDArray[Any]:
    """Read bare numbers; what is none, or below 0, is told of."""
    np = load_numpy()
    texts = set(cells)
    # ``float`` reads more than we do (underscores, digits of other scripts, "nan"), all of it with other signs than these.
    if not "".join(texts).encode("utf-8", "replace").translate(None, _NUMBERS):
        try:
            read = {text: float(text) for text in texts if len(text) <= _LONGEST_NUMBER}
            found: NDArray[Any] = np.fromiter(map(read.__getitem__, cells), "f8", len(cells))
        except (ValueError, KeyError):
            pass
        else:
            if np.isfinite(found).all() and (found >= 0).all():
                return found
    found = np.zeros(len(cells))
    for place, cell in enumerate(cells):
        text = cell.strip()
        value = float(text) if len(text) <= _LONGEST_NUMBER and _NUMBER.fullmatch(text) else float("nan")
        if 0 <= value < float("inf"):
            found[place] = value
        elif len(faults) < MOST_FAULTS:
            fix = "write a decimal point, and no sign of a unit"
            got = cited(cell) if text else "nothing"
            faults.append(
                Fault(f"{where} {lines[place]}, column {column}", got, "a bare number of 0 or more, such as 2.5", fix)
            )
    return found


def bulk_csv(columns: Mapping[str, Coded | NDArray[Any]], where: str) -> bytes:
    r"""Write columns as CSV that ``read_bulk`` reads back, and in which no name can act as a spreadsheet's formula.

    Args:
        columns: name of the column -> names, or an array of numbers; all of one length.
        where: the file, for messages.

    Raises:
        FileError: with every name that would not come back as it is.

    Example:
        >>> from formula.bulknames import coded
        >>> bulk_csv({"bread": coded(["=A1", "Rye, dark"])}, "table.csv")
        b'bread\n\'=A1\n"Rye, dark"\n'
    """
    np = load_numpy()
    faults: list[Fault] = []
    cells: dict[str, NDArray[Any]] = {}
    rows = 0
    for column, values in columns.items():
        if isinstance(values, Coded):
            wrong = [name for name in values.names if not is_name(name)]
            faults += [wrong_name(f"{where}: {column} {cited(name)}", name) for name in wrong]
            cells[column] = np.empty(len(values.names), object)
            if not wrong:
                cells[column][:] = [harmless(name) for name in values.names]
        rows = len(values.places if isinstance(values, Coded) else values)
    if faults:
        raise FileError(*faults[:MOST_FAULTS])

    def written(column: str, values: Coded | NDArray[Any], part: slice) -> Iterable[str]:
        if isinstance(values, Coded):
            return cast("list[str]", cells[column][values.places.array()[part]].tolist())
        numbers: list[float] = values[part].tolist()
        if len(set(numbers[:200])) < 100:
            # Percentages mostly repeat; to write a float out is dearer than to look it up.
            text = {number: repr(number) for number in set(numbers)}
            return map(text.__getitem__, numbers)
        return map(repr, numbers)

    parts = [",".join(columns)]
    for begin in range(0, rows, _ROWS):
        part = slice(begin, begin + _ROWS)
        parts += map(",".join, zip(*(written(*each, part) for each in columns.items()), strict=True))
    return "\n".join([*parts, ""]).encode()
