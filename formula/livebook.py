"""The workbook of a formula that calculates: type the flour, or another percentage, and every weight follows.

One cell, named ``flour_weight``, holds the flour; framed cells are there to be typed into, and nothing is locked.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from attrs import evolve

from .batch import Batch
from .formula import Formula
from .livesheet import FLOUR, Block, Live, live_formula
from .sheetparts import SheetPage
from .words import UNITS, one_line
from .workbook import book_bytes, fit_to_width, new_book, put_text

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["live_workbook", "page_workbook"]

_SHEET: Final = "Formula"
_FORMATS: Final = {"g": "0.0", "kg": "0.000#", "oz": "0.00#", "lb": "0.000#"}
_PERCENT: Final = "0.0####"
_FLOUR_ROW, _DOUGH_ROW, _CHECK_ROW, _TOP = 4, 5, 6, 8
_GRAMS: Final = 1000.0
"""The flour of a formula that nobody has scaled yet."""


def live_workbook(made: Formula | Batch, page: SheetPage, unit: str = "g") -> bytes:
    """Return a workbook in which every weight is a formula of the flour and the percentages.

    Args:
        made: a formula, with a kilogram of flour to begin with, or a batch with its own flour.
        page: the sheet's page, for its title and its cautions.
        unit: the unit of the weights: "g", "kg", "oz" or "lb".

    Raises:
        MissingExtraError: without openpyxl.
    """
    formula = made.formula if isinstance(made, Batch) else made
    exact, rounded = _exact(made)
    # Twelve digits, which a workbook keeps to the last: what stands in the cell is what the formulas compare it with.
    flour = float(f"{(exact.flour_g if exact else _GRAMS) / UNITS[unit]:.12g}")
    book = _titled(new_book(), page)
    pen = _Pen(book.create_sheet(_SHEET), unit)
    live = live_formula(formula, _TOP)
    _head(pen, page, live, flour)
    _whole(pen, live)
    for block in live.stages:
        _stage(pen, live, block)
    _final(pen, live)
    if rounded:
        _on_the_scale(pen, live, rounded, flour)
    _below(pen, live, page)
    _define(book, FLOUR, _SHEET, f"$B${_FLOUR_ROW}")
    _pieces(book, live, made, unit)
    book.calculation.fullCalcOnLoad = True
    return book_bytes(book)


def page_workbook(page: SheetPage) -> bytes:
    """Return a workbook of a page of particulars, all of it text.

    Raises:
        MissingExtraError: without openpyxl.
    """
    book = _titled(new_book(), page)
    pen = _Pen(book.create_sheet(page.kind[:31]), "g")
    pen.text(1, "A", page.title, bold=True, size=16)
    pen.text(2, "A", page.about, wrap=True)
    pen.sheet.merge_cells("A2:C2")
    pen.height(2, (page.about, 100))
    for letter, head in zip("ABC", ("particular", "on the label", "asked for"), strict=True):
        pen.text(4, letter, head, bold=True)
    row = 5
    for each in page.particulars:
        for letter, words in zip("ABC", (each.term, each.text, each.rule), strict=True):
            pen.text(row, letter, words, wrap=True, bold=each.is_blank and letter == "B")
        pen.height(row, (each.term, 24), (each.text, 44), (each.rule, 36))
        row += 1
    pen.cautions(row + 1, page, "C")
    pen.widths(26, 48, 40)
    return book_bytes(book)


def _exact(made: Formula | Batch) -> tuple[Batch | None, Batch | None]:
    """Return the exact batch, and the rounded one if the batch is rounded."""
    if not isinstance(made, Batch):
        return None, None
    return (evolve(made, masses_g=made.exact_g, exact_g=()), made) if made.exact_g else (made, None)


def _titled(book: Workbook, page: SheetPage) -> Workbook:
    book.properties.title = f"{one_line(page.title)}: {page.kind}"
    book.properties.creator = "formula"
    return book


def _define(book: Workbook, name: str, sheet: str, cell: str) -> None:
    from openpyxl.workbook.defined_name import DefinedName  # noqa: PLC0415

    book.defined_names[name] = DefinedName(name, attr_text=f"'{sheet}'!{cell}")


class _Pen:
    """Writes cells of one sheet: text that stays text, figures and formulas in their format, and framed cells to type in."""

    def __init__(self, sheet: Worksheet, unit: str) -> None:
        fit_to_width(sheet)
        self.sheet, self.unit = sheet, unit
        sheet.sheet_view.showGridLines = False

    def text(
        self,
        row: int,
        letter: str,
        text: str,
        *,
        bold: bool = False,
        size: int = 12,
        wrap: bool = False,
        right: bool = False,
        indent: int = 0,
    ) -> None:
        """Write text that stays text."""
        from openpyxl.styles import Alignment, Font  # noqa: PLC0415

        cell: Any = self.sheet[f"{letter}{row}"]
        cell.font = Font(bold=bold, size=size)
        cell.alignment = Alignment(
            wrap_text=wrap,
            vertical="top" if wrap else None,
            horizontal="right" if right else "left",
            indent=indent,
        )
        put_text(cell, text)

    def figure(self, row: int, letter: str, value: float | str, *, percent: bool, bold: bool = False) -> None:
        """Write a figure or a formula of our own making; nobody's text comes this way."""
        from openpyxl.styles import Font  # noqa: PLC0415

        if value == "":
            return
        cell: Any = self.sheet[f"{letter}{row}"]
        cell.value = value
        cell.font = Font(bold=bold, size=12)
        cell.number_format = _PERCENT if percent else _FORMATS[self.unit]

    def entry(self, row: int, letter: str, value: float, number_format: str) -> None:
        """Write a cell that is there to be typed into."""
        from openpyxl.styles import Border, Font, PatternFill, Side  # noqa: PLC0415

        cell: Any = self.sheet[f"{letter}{row}"]
        cell.value = value
        side = Side(style="thin", color="6F7B81")
        cell.border = Border(left=side, right=side, top=side, bottom=side)
        cell.fill = PatternFill("solid", fgColor="FFF6DC")
        cell.font = Font(size=12)
        cell.number_format = number_format

    def heads(self, block: Block, title: str, percent: str) -> None:
        """Write the title of a block and the heads of its columns."""
        from openpyxl.styles import Border, Side  # noqa: PLC0415

        self.text(block.top, "A", title, bold=True, size=14)
        row = block.first - 1
        self.text(row, "A", "ingredient", bold=True)
        self.text(row, "B", percent, bold=True, right=True)
        self.text(row, "C", self.unit, bold=True, right=True)
        for letter in "ABC":
            self.sheet[f"{letter}{row}"].border = Border(bottom=Side(style="medium", color="6F7B81"))

    def total(self, block: Block) -> None:
        """Write the sums of a block."""
        self.text(block.total, "A", "together", bold=True)
        for letter, percent in (("B", True), ("C", False)):
            words = f"=SUM({letter}{block.first}:{letter}{block.last})"
            self.figure(block.total, letter, words, percent=percent, bold=True)

    def cautions(self, row: int, page: SheetPage, last: str) -> None:
        """Write the cautions across the columns up to the last."""
        for place, caution in enumerate(page.cautions, row):
            self.text(place, "A", f"Caution: {caution.text}", wrap=True)
            self.sheet.merge_cells(f"A{place}:{last}{place}")
            self.height(place, (f"Caution: {caution.text}", 84))

    def height(self, row: int, *texts: tuple[str, int]) -> None:
        """Make a row high enough for texts that are broken after so many signs."""
        self.sheet.row_dimensions[row].height = 17 * max(1 + len(text) // width for text, width in texts)

    def widths(self, *widths: int) -> None:
        """Set the widths of the columns from the first on, in signs."""
        for letter, width in zip("ABCD", widths, strict=False):
            self.sheet.column_dimensions[letter].width = width


def _head(pen: _Pen, page: SheetPage, live: Live, flour: float) -> None:
    pen.text(1, "A", page.title, bold=True, size=16)
    pen.text(2, "A", "Type the flour, or other percentages, into the framed cells: every weight follows.")
    pen.text(_FLOUR_ROW, "A", "All the flour", bold=True)
    pen.entry(_FLOUR_ROW, "B", flour, _FORMATS[pen.unit])
    pen.text(_FLOUR_ROW, "C", pen.unit, indent=1)
    pen.text(_DOUGH_ROW, "A", "Dough", bold=True)
    pen.figure(_DOUGH_ROW, "B", f"=C{live.final.total}", percent=False, bold=True)
    pen.text(_DOUGH_ROW, "C", pen.unit, indent=1)
    pen.text(_CHECK_ROW, "A", "Check", bold=True)
    # A number of the workbook decides, so that nothing typed here is text.
    weights = [f"MIN(C{block.first}:C{block.last})" for block in (live.whole, *live.stages, live.final)]
    lost = f"ABS(C{live.final.total}-C{live.whole.total})>0.000001*ABS(C{live.whole.total})"
    pen.figure(
        _CHECK_ROW,
        "B",
        f'=IF(ABS({live.flour_check()}-100)>0.001,"the flours are not 100 %",'
        f'IF(MIN({",".join(weights)})<-0.000001*{FLOUR},"a stage takes more than there is",'
        f'IF({lost},"stages and final dough are not the whole","adds up")))',
        percent=False,
    )
    pen.sheet.freeze_panes = f"A{_CHECK_ROW + 1}"
    pen.widths(44, 16, 16, 16)


def _whole(pen: _Pen, live: Live) -> None:
    pen.heads(live.whole, "Whole formula", "% of flour")
    for line, percent in live.formula.table.overall.items():
        row = live.whole.row(line)
        pen.text(row, "A", line)
        pen.entry(row, "B", percent, _PERCENT)
        pen.figure(row, "C", live.whole_weight(line), percent=False)
    pen.total(live.whole)


def _stage(pen: _Pen, live: Live, block: Block) -> None:
    stage = next(stage for stage in live.formula.stages if stage.name == block.name)
    pen.heads(block, block.name, "% of its own")
    if block.size:
        words, size = live.size_words(block.name)
        pen.text(block.size, "A", words)
        pen.entry(block.size, "B", size, _PERCENT)
    pen.text(block.base, "A", "its 100 %")
    pen.figure(block.base, "C", live.base_weight(block.name), percent=False)
    for line, percent in stage.percents.items():
        row = block.row(line)
        pen.text(row, "A", line)
        pen.entry(row, "B", percent, _PERCENT)
        pen.figure(row, "C", live.stage_weight(block.name, line), percent=False)
    pen.total(block)
    for words, row, share, mass in live.leaving(block.name):
        pen.text(row, "A", words)
        if isinstance(share, float):
            pen.entry(row, "B", share, _PERCENT)
        else:
            pen.figure(row, "B", share, percent=True)
        pen.figure(row, "C", mass, percent=row == block.part)


def _final(pen: _Pen, live: Live) -> None:
    pen.heads(live.final, "Final dough", "% of its own")
    for line in live.final.lines:
        row = live.final.row(line)
        pen.text(row, "A", line)
        pen.figure(row, "B", live.final_percent(row), percent=True)
        pen.figure(row, "C", live.final_weight(line), percent=False)
    pen.total(live.final)


def _on_the_scale(pen: _Pen, live: Live, rounded: Batch, flour: float) -> None:
    """Write what a rounded batch weighs beside the exact weights, as long as the flour is the one it was rounded for."""
    for block in (*live.stages, live.final):
        pen.text(block.first - 1, "D", f"on the scale, {pen.unit}", bold=True, right=True)
        for line, row in zip(block.lines, rounded.stages[block.name].rows, strict=True):
            mass = row.mass_g / UNITS[pen.unit]
            pen.figure(block.row(line), "D", f'=IF({FLOUR}={flour!r},{mass!r},"")', percent=False, bold=True)


def _below(pen: _Pen, live: Live, page: SheetPage) -> None:
    row = live.end + 2
    if live.formula.later:
        pen.text(row, "A", "Of these weights, added after mixing", bold=True)
        for line, percent in live.formula.later.items():
            row += 1
            pen.text(row, "A", line)
            pen.entry(row, "B", percent, _PERCENT)
            pen.figure(row, "C", f"=B{row}*{FLOUR}/100", percent=False)
        row += 2
    pen.cautions(row, page, "D")


def _pieces(book: Workbook, live: Live, made: Formula | Batch, unit: str) -> None:
    """Write the sheet that turns pieces into flour."""
    pen = _Pen(book.create_sheet("Pieces"), unit)
    in_pieces = isinstance(made, Batch) and bool(made.pieces)
    losses = made.losses
    pen.text(1, "A", "From pieces to flour", bold=True, size=16)
    pen.text(2, "A", "Fill in the framed cells, and type the flour into the framed cell of the other sheet.")
    rows = (
        (4, "Pieces", float(made.pieces) if isinstance(made, Batch) and in_pieces else 0.0, "0", "pieces"),
        (
            5,
            f"A piece on the divider's scale, {unit}",
            made.piece_g / UNITS[unit] if isinstance(made, Batch) and in_pieces else 0.0,
            _FORMATS[unit],
            "piece_weight",
        ),
        (6, "Lost before the divider, %", 100 * (1 - losses.before_divider_left), _PERCENT, "loss_before_divider"),
    )
    for row, words, value, number_format, name in rows:
        pen.text(row, "A", words)
        pen.entry(row, "B", value, number_format)
        _define(book, name, "Pieces", f"$B${row}")
    pen.text(7, "A", f"Dough to mix, {unit}")
    pen.figure(7, "B", "=pieces*piece_weight/(1-loss_before_divider/100)", percent=False)
    pen.text(8, "A", f"All the flour, {unit}", bold=True)
    pen.figure(8, "B", f"=100*B7/{_SHEET}!B{live.whole.total}", percent=False, bold=True)
    pen.widths(44, 16)
