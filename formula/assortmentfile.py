"""An assortment in one file: a CSV table with a row for each line of each formula, read and written as columns.

Ten thousand formulas are read, scaled and written in a fifth of a second; formula files, one bread each, say more but take
a hundred times as long.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from .assortment import Assortment, AssortmentCosts, AssortmentMasses
from .bulkcsv import MOST_ROWS, bulk_csv, read_bulk
from .bulknames import Coded, coded
from .catalogue import Catalogue
from .errors import Fault, FileError
from .files import write_whole
from .formulacolumns import COLUMNS, STAGE, laid
from .packed import Packed, load_numpy

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["dump_assortment", "load_assortment"]

InColumns: TypeAlias = Assortment | AssortmentMasses | AssortmentCosts


def load_assortment(
    path: str | os.PathLike[str], catalogue: Catalogue | None = None, *, flours: Iterable[str] = ()
) -> Assortment:
    r"""Read many formulas from one CSV file.

    The header names the columns, in any order: ``formula``, ``ingredient`` and ``percent``, a bare number on all the flour
    of the formula.  A fourth column ``stage`` may say where a line is weighed in: its lines are added up over the stages.
    The rows of a formula may stand apart.

    Args:
        path: a file of at most 16 MB and 300,000 lines.
        catalogue: what the names mean; the built-in larder if left out.
        flours: the ingredients that make the 100 % of those formulas where it is not what the catalogue counts as flour.

    Raises:
        FileError: a file that cannot be read, or lines that do not fit the header; all of them at once, by their numbers.
        FormulaError: percentages that are too large, formulas whose flours do not sum to 100; likewise.
        UnknownNameError: names that the catalogue does not know; likewise.
        ContradictionError: an ingredient that stands twice in a formula, or in one of its stages; likewise.
        MissingExtraError: without numpy.

    Example:
        >>> import tempfile
        >>> path = Path(tempfile.mkdtemp()) / "breads.csv"
        >>> rows = "formula,ingredient,percent\nRye,dark rye flour,100\nRye,water,80\nWhite,bread flour,100\nWhite,water,65\n"
        >>> _ = path.write_text(rows, encoding="utf-8")
        >>> load_assortment(path).scale(flour_g=[1_000, 2_000]).totals_g["water"]
        2100.0
    """
    table = read_bulk(
        Path(path), texts=(*COLUMNS[:2], STAGE), numbers=COLUMNS[2:], needed=COLUMNS, noun="line of a formula"
    )
    percents = table.numbers["percent"].array()
    return Assortment(*laid(table.texts, percents, catalogue or Catalogue(), flours, table.where))


def dump_assortment(found: InColumns, path: str | os.PathLike[str]) -> None:
    """Write an assortment, its masses or its costs as one CSV file; the old file stays whole until the new one is complete.

    Floats are written in full, and no name can act as a spreadsheet's formula.  An assortment comes back by
    ``load_assortment`` as it was, with the same catalogue; masses and costs are for other programs.

    Args:
        found: what to write, as its ``columns`` have it.
        path: where to; an existing file is replaced.

    Raises:
        FileError: when the file cannot be written, or could not be read again: a name that has spaces around it, breaks a line
            or is too long, more than 300,000 lines of formulas.
        MissingExtraError: without numpy.

    Example:
        >>> import tempfile
        >>> path = Path(tempfile.mkdtemp()) / "masses.csv"
        >>> columns = {"formula": ["Rye"] * 2, "ingredient": ["dark rye flour", "water"], "percent": [100, 80]}
        >>> dump_assortment(Assortment.from_columns(columns).scale(dough_g=[900]), path)
        >>> print(path.read_text(encoding="utf-8"))
        formula,ingredient,percent,mass_g
        Rye,dark rye flour,100.0,500.0
        Rye,water,80.0,400.0
        <BLANKLINE>
    """
    file = Path(path)
    if isinstance(found, Assortment) and len(found.places) > MOST_ROWS:
        # What could not be read again is not written.
        got, expected = f"{len(found.places)} lines of formulas", f"at most {MOST_ROWS}"
        raise FileError(Fault(str(file), got, expected, "write several files"))
    write_whole(file, bulk_csv(_columns(found), str(file)))


def _columns(found: InColumns) -> dict[str, Coded | NDArray[Any]]:
    """Return what ``columns`` returns, with each name once."""
    if isinstance(found, AssortmentCosts):
        ids, currencies = coded(found.table.ids), coded([found.currency] * len(found.table))
        return {"formula": ids, "cost_per_kg": found.costs_per_kg(), "currency": currencies}
    table = found if isinstance(found, Assortment) else found.table
    np, starts = load_numpy(), table.starts.array()
    owners = np.repeat(np.arange(len(table)), starts[1:] - starts[:-1])
    columns: dict[str, Coded | NDArray[Any]] = {
        "formula": Coded(table.ids, Packed.of(owners, "i8")),
        "ingredient": Coded(table.ingredients, table.places),
        "percent": table.percents.array(),
    }
    return columns if isinstance(found, Assortment) else {**columns, "mass_g": found.masses_g()}
