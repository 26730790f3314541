"""The day on paper and in a spreadsheet: pages to print as HTML, and a workbook of the same tables.

Every page of ``daypages`` is a sheet of A4 in print and a sheet of the workbook.  Nothing in a name can act: HTML is
escaped, and a workbook takes all text as text.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from .clockwork import Timetable
from .daypages import StationPage, day_pages
from .sheetpage import page_template
from .words import one_line
from .workbook import book_bytes, fit_to_width, new_book, put_text

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["day_html", "day_xlsx"]

_WIDEST: Final = 40
"""Signs in a column of a workbook; longer names run on or are cut on the screen, never in the cell."""

_PAGE: Final = """\
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{{ title }}</title>
<style>
@page { size: A4 portrait; margin: 12mm; }
body { margin: 0 auto; max-width: 186mm; padding: 2mm; color: #000; background: #fff; font: 10pt/1.25 sans-serif; }
section { break-before: page; }
section:first-of-type { break-before: auto; }
header { display: flex; justify-content: space-between; border-bottom: 0.5mm solid #000; margin-bottom: 2mm; }
h1 { font-size: 16pt; margin: 0; }
h2 { font-size: 11pt; margin: 4mm 0 1mm; break-after: avoid; }
p { margin: 1mm 0; overflow-wrap: anywhere; }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
th, td { border-bottom: 0.2mm solid #777; padding: 0.6mm 1.5mm; text-align: left; vertical-align: top; }
th { border-bottom: 0.4mm solid #000; }
tbody tr:nth-child(even) { background: #f2f2f2; }
.count { text-align: right; }
.tick { width: 5mm; }
.tick span { display: inline-block; width: 3mm; height: 3mm; border: 0.3mm solid #000; }
.caution { border-left: 1mm solid #000; padding-left: 2mm; }
</style>
</head>
<body>
{% for page in pages %}
<section>
<header><h1>{{ page.title }}</h1><span>{{ title }}</span></header>
<p>{{ page.about }}</p>
{% for table in page.tables %}
<h2>{{ table.title }}</h2>
<table>
<thead><tr>
{%- for head in table.columns %}<th scope="col"{% if table.is_count(loop.index0) %} class="count"{% endif %}>{{ head }}</th>{% endfor %}
{%- if table.tick %}<th scope="col" class="tick">done</th>{% endif %}</tr></thead>
<tbody>
{% for row in table.rows -%}
<tr>{% for cell in row %}<td{% if table.is_count(loop.index0) %} class="count"{% endif %}>{{ cell }}</td>{% endfor %}
{%- if table.tick %}<td class="tick"><span></span></td>{% endif %}</tr>
{% endfor -%}
</tbody>
</table>
{% for note in table.notes %}<p>{{ note }}</p>
{% endfor -%}
{% endfor -%}
{% for caution in page.cautions %}<p class="caution">Caution: {{ caution.text }}</p>
{% endfor -%}
</section>
{% endfor -%}
</body>
</html>
"""


def _title(table: Timetable) -> str:
    date = table.workshop.wall.date
    return one_line(f"{table.day.bakery.name}{', ' + date if date else ''}")


def day_html(table: Timetable, *, unit: str = "g") -> str:
    """Return a day as one HTML page that stands alone and prints on A4, a sheet for each station.

    Args:
        table: the day on the clock.
        unit: the unit of the weights: "g", "kg", "oz" or "lb".

    Raises:
        MissingExtraError: without jinja2.
        UnknownNameError: for another unit.

    It reads in black and white; each line that is to be done has a box to tick.

    Example:
        >>> from formula import load_day, load_workshop, plan_day, timetable
        >>> shop = load_workshop("docs/examples/harbour")
        >>> table = timetable(plan_day(*load_day("docs/examples/harbour"), shop), shop)
        >>> day_html(table)[:15]
        '<!DOCTYPE html>'
    """
    page = page_template(_PAGE)
    return page.render(title=_title(table), pages=day_pages(table, unit)) + "\n"


def day_xlsx(table: Timetable, *, unit: str = "g") -> bytes:
    """Return a day as a workbook, a sheet for each station, with the tables of ``day_html``.

    Args:
        table: the day on the clock.
        unit: the unit of the weights: "g", "kg", "oz" or "lb".

    Raises:
        MissingExtraError: without openpyxl.
        UnknownNameError: for another unit.

    Counts are numbers; all else is text, also where it begins with a sign that a spreadsheet would calculate with.

    Example:
        >>> from formula import load_day, load_workshop, plan_day, timetable
        >>> shop = load_workshop("docs/examples/harbour")
        >>> table = timetable(plan_day(*load_day("docs/examples/harbour"), shop), shop)
        >>> day_xlsx(table)[:2]
        b'PK'
    """
    book = new_book()
    pages = day_pages(table, unit)
    for page, name in zip(pages, _sheet_names(pages), strict=True):
        _fill(book.create_sheet(name), page, _title(table))
    return book_bytes(book)


def _sheet_names(pages: tuple[StationPage, ...]) -> list[str]:
    """Return names that a workbook takes: 31 characters without signs of its own, each once."""
    names: list[str] = []
    for number, page in enumerate(pages, 1):
        plain = "".join(" " if sign in "[]:*?/\\'" else sign for sign in one_line(page.title))
        name = plain.strip()[:31] or f"page {number}"
        if name.casefold() in (other.casefold() for other in names):
            name = f"{name[:25]} ({number})"
        names.append(name)
    return names


def _fill(sheet: Worksheet, page: StationPage, title: str) -> None:
    from openpyxl.styles import Font  # noqa: PLC0415
    from openpyxl.utils import get_column_letter  # noqa: PLC0415

    bold, large = Font(bold=True), Font(bold=True, size=14)
    widths: dict[int, int] = {}
    place = 0

    def line(cells: tuple[str | int, ...], font: Font | None = None, *, measured: bool = False) -> None:
        nonlocal place
        place += 1
        for number, value in enumerate(cells, 1):
            cell: Any = sheet.cell(place, number)
            if font:
                cell.font = font
            if isinstance(value, str):
                put_text(cell, value)
            else:
                cell.value = value
            if measured:
                widths[number] = max(widths.get(number, 0), len(str(value)))

    line((page.title,), large)
    line((title,))
    line((page.about,))
    for table in page.tables:
        line(())
        line((table.title,), bold)
        line(table.columns, bold, measured=len(table.columns) > 1)
        for row in table.rows:
            line(row, measured=len(row) > 1)
        for note in table.notes:
            line((note,))
    line(())
    for caution in page.cautions:
        line((f"Caution: {caution.text}",))
    for number, width in widths.items():
        sheet.column_dimensions[get_column_letter(number)].width = min(width + 2, _WIDEST)
    sheet.page_setup.paperSize = sheet.PAPERSIZE_A4
    sheet.page_setup.orientation = "portrait"
    fit_to_width(sheet)
