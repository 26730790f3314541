"""A workbook as this house writes one: text that stays text, sheets that fit the paper, and the same bytes every time."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any, Final
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from .errors import MissingExtraError
from .words import one_line

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["book_bytes", "fit_to_width", "new_book", "put_text"]

_FIRST_DAY: Final = (1980, 1, 1, 0, 0, 0)
"""The earliest moment that an archive can name, and the only one that ours do."""
_MOMENT: Final = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*(<)")


def new_book() -> Workbook:
    """Return an empty workbook without a sheet.

    Raises:
        MissingExtraError: without openpyxl.
    """
    try:
        from openpyxl import Workbook  # noqa: PLC0415 - an extra
    except ImportError:
        raise MissingExtraError("sheet", "openpyxl") from None
    book = Workbook()
    book.remove(book.worksheets[0])
    return book


def put_text(cell: Any, text: str) -> None:  # noqa: ANN401 - a cell of a package without types
    """Put text into a cell so that it stays text, now and when somebody edits the cell, whatever sign it begins with.

    What cannot be seen (breaks, tabs, control characters, which a workbook may not hold) becomes a space.
    """
    cell.value = one_line(text)
    cell.data_type = "s"
    cell.quotePrefix = True


def fit_to_width(sheet: Worksheet) -> None:
    """Make a sheet print on pages as wide as the printer's paper, as many as it takes."""
    from openpyxl.worksheet.properties import PageSetupProperties  # noqa: PLC0415

    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)


def book_bytes(book: Workbook) -> bytes:
    """Return a workbook as a file: the same bytes for the same cells, whatever the clock says."""
    written, fixed = io.BytesIO(), io.BytesIO()
    book.save(written)
    with ZipFile(written) as source, ZipFile(fixed, "w", ZIP_DEFLATED) as target:
        for name in source.namelist():
            content = source.read(name)
            if name == "docProps/core.xml":
                content = _MOMENT.sub(rb"\g<1>1980-01-01T00:00:00Z\g<2>", content)
            entry = ZipInfo(name, _FIRST_DAY)
            entry.compress_type = ZIP_DEFLATED
            entry.create_system, entry.external_attr = 3, 0o600 << 16
            target.writestr(entry, content)
    return fixed.getvalue()
