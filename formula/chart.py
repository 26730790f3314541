"""Wall charts on paper: text for a terminal, HTML for one printed page, CSV for a spreadsheet.

Marks are signs with a legend in words; colour only repeats them.  Nothing is fetched from anywhere: the page is whole,
follows the reader's light or dark screen, and is sized so that the chart fills one A4 or Letter page laid on its side.
"""

from __future__ import annotations

import csv
import io
from typing import Final

from .basetemp import base_in_fahrenheit
from .wallchart import MARKS, WaterChart
from .words import one_line, whole_page
from .working import shown

__all__ = ["chart_csv", "chart_html", "chart_text"]

_SIGNS: Final = {name: sign for name, sign, _ in MARKS}
# The smaller of A4 and Letter laid on its side, less margins, head and legend, in mm.
_WIDE_MM: Final = 252.0
_HIGH_MM: Final = 132.0
_LARGEST_MM: Final = 6.0
_WIDE_CHART: Final = 20
"""Columns beyond which whole degrees are shown, so that the digits stay large enough."""
_FORMULA_SIGNS: Final = ("=", "+", "-", "@")

_STYLE: Final = """\
:root { color-scheme: light dark; --ink: #1b1b1b; --paper: #fff; --line: #8a8a8a; --head: #e9e6df; --ice: #d6e6f5; --hot: #f7d9cf; }
@media (prefers-color-scheme: dark) {
  :root { --ink: #ececec; --paper: #161616; --line: #777; --head: #2c2a26; --ice: #1d3850; --hot: #57281b; }
}
@page { size: landscape; margin: 10mm; }
@media print {
  :root { --ink: #000; --paper: #fff; --line: #555; --head: #eee; --ice: #d6e6f5; --hot: #f7d9cf; }
  table { break-inside: avoid; }
}
body { margin: 0 auto; max-width: 259mm; padding: 2mm; color: var(--ink); background: var(--paper); font-family: sans-serif; font-size: 10pt; }
h1 { font-size: 16pt; margin: 0 0 1mm; overflow-wrap: anywhere; }
p { margin: 0 0 2mm; }
table { border-collapse: collapse; width: 100%; table-layout: fixed; margin-bottom: 2mm; font-variant-numeric: tabular-nums; }
th, td { border: 0.2mm solid var(--line); padding: 0 0.2em; text-align: right; white-space: nowrap; }
th { background: var(--head); }
thead th:first-child { text-align: left; white-space: normal; }
td.ice, td.none { background: var(--ice); font-style: italic; }
td.hot { background: var(--hot); font-weight: bold; }
"""


def chart_text(chart: WaterChart) -> str:
    r"""Return a chart as plain text, a row for each room temperature.

    Args:
        chart: the result of ``water_chart``.

    Example:
        >>> from formula.wallchart import water_chart
        >>> print(chart_text(water_chart("25 °C", flour=["18 °C", "22 °C"], room=["20 °C", "40 °C"], friction="16 K")))
        Water temperature, °C
        Dough 25 °C; friction factor 16 K; flour + room + water = 59 °C
        <BLANKLINE>
        room \ flour   18    22
                  20   21    17
                  40    1*   -3*
        <BLANKLINE>
        * colder than it can be drawn: weigh a part of it as ice
    """
    cells = _cells(chart)
    corner = "room \\ flour"
    width = max(len(cell) for row in cells for cell in row)
    width = max(width, *(len(head) for head in _heads(chart, chart.flour_c))) + 3
    head = corner + "".join(f"{text:>{width}} " for text in _heads(chart, chart.flour_c))
    rows = [
        f"{room:>{len(corner)}}"
        + "".join(f"{number:>{width}}{sign or ' '}" for number, sign in zip(row, signs, strict=True))
        for room, row, signs in zip(_heads(chart, chart.room_c), cells, _signs(chart), strict=True)
    ]
    lines = [_title(chart), _about(chart), "", head, *rows]
    legend = _legend(chart)
    return "\n".join(line.rstrip() for line in [*lines, *([""] if legend else []), *legend])


def chart_html(chart: WaterChart) -> str:
    """Return a chart as one HTML page that stands alone and prints on one sheet of A4 or Letter.

    Args:
        chart: the result of ``water_chart``.

    Example:
        >>> from formula.wallchart import water_chart
        >>> page = chart_html(water_chart("25 °C", flour=["18 °C"], room=["20 °C"], friction="16 K", title="Rye & more"))
        >>> "<h1>Rye &amp; more: water temperature, °C</h1>" in page
        True
    """
    from html import escape  # noqa: PLC0415 - 1 ms that only a page pays

    cells, signs = _cells(chart), _signs(chart)
    columns = "".join(f'<th scope="col">{head}</th>' for head in _heads(chart, chart.flour_c))
    rows = "\n".join(
        f'<tr><th scope="row">{room}</th>'
        + "".join(
            f'<td class="{mark}">{number}{sign}</td>' if mark else f"<td>{number}</td>"
            for number, sign, mark in zip(row, row_signs, marks, strict=True)
        )
        + "</tr>"
        for room, row, row_signs, marks in zip(_heads(chart, chart.room_c), cells, signs, chart.marks, strict=True)
    )
    legend = "".join(f"<p>{escape(line)}</p>\n" for line in _legend(chart))
    title = _title(chart)
    letter_mm, row_mm = _sizes_mm(chart)
    style = f"""\
{_STYLE}table {{ font-size: {letter_mm:.2f}mm; }}
th, td {{ height: {min(row_mm, 2 * letter_mm):.2f}mm; }}
thead th:first-child {{ width: {200 / (len(chart.flour_c) + 2):.2f}%; }}
"""
    body = f"""\
<h1>{escape(title)}</h1>
<p>{escape(_about(chart))}</p>
<table>
<thead><tr><th scope="col">room \\ flour, {chart.unit}</th>{columns}</tr></thead>
<tbody>
{rows}
</tbody>
</table>
{legend}"""
    return whole_page(title, style, body)


def chart_csv(chart: WaterChart) -> str:
    """Return a chart as CSV, one line a cell, units in the header; a title cannot act as a spreadsheet's formula.

    Args:
        chart: the result of ``water_chart``.

    Example:
        >>> from formula.wallchart import water_chart
        >>> print(chart_csv(water_chart("25 °C", flour=["22 °C"], room=["40 °C"], friction="16 K", title="=A1")))
        chart,flour (°C),room (°C),water (°C),mark
        '=A1,22,40,-3,ice
        <BLANKLINE>
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["chart", *(f"{name} ({chart.unit})" for name in ("flour", "room", "water")), "mark"])
    title = _harmless(one_line(chart.title))
    for room, row, marks in zip(_heads(chart, chart.room_c), _cells(chart), chart.marks, strict=True):
        for flour, water, mark in zip(_heads(chart, chart.flour_c), row, marks, strict=True):
            writer.writerow([title, flour, room, water, mark])
    return out.getvalue()


def _in_unit(chart: WaterChart, value_c: float) -> float:
    # To the thousandth: what the grid of the reading adds far behind the point is nobody's temperature.
    return round(value_c * 9 / 5 + 32 if chart.unit == "°F" else value_c, 3)


def _heads(chart: WaterChart, values_c: tuple[float, ...]) -> list[str]:
    return [shown(_in_unit(chart, value)) for value in values_c]


def _cells(chart: WaterChart) -> list[list[str]]:
    values = [[_in_unit(chart, value) for value in row] for row in chart.water_c]
    whole = all(value == round(value) for row in values for value in row)
    digits = 0 if whole or len(chart.flour_c) > _WIDE_CHART else 1
    # Adding zero turns -0.0 into 0.0.
    return [[f"{round(value, digits) + 0.0:.{digits}f}" for value in row] for row in values]


def _signs(chart: WaterChart) -> list[list[str]]:
    return [[_SIGNS.get(mark, "") for mark in row] for row in chart.marks]


def _legend(chart: WaterChart) -> list[str]:
    used = {mark for row in chart.marks for mark in row}
    return [f"{sign} {meaning}" for name, sign, meaning in MARKS if name in used]


def _title(chart: WaterChart) -> str:
    title = one_line(chart.title)
    name = f"{title}: water" if title else "Water"
    return f"{name} temperature, {chart.unit}"


def _about(chart: WaterChart) -> str:
    friction = f"{shown(chart.friction_k * 1.8, 3)} °F" if chart.unit == "°F" else f"{shown(chart.friction_k, 3)} K"
    parts = [f"Dough {_degrees(chart, chart.dough_c)}", f"friction factor {friction}"]
    parts += [f"preferment {_degrees(chart, value)}" for value in chart.preferments_c]
    parts.append(f"flour + room + water = {_base(chart)}")
    return "; ".join(parts)


def _base(chart: WaterChart) -> str:
    base = base_in_fahrenheit(chart.base_c) if chart.unit == "°F" else chart.base_c
    return f"{shown(round(base, 3))} {chart.unit}"


def _degrees(chart: WaterChart, value_c: float) -> str:
    return f"{shown(_in_unit(chart, value_c), 4)} {chart.unit}"


def _sizes_mm(chart: WaterChart) -> tuple[float, float]:
    """Return the size of letters with which the table fills the page, by its width or its height, and that of a row."""
    longest = max(len(cell) + 1 for row in _cells(chart) for cell in row)
    longest = max(longest, *(len(head) for head in _heads(chart, chart.flour_c)))
    row_mm = _HIGH_MM / (len(chart.room_c) + 1.5)
    # A digit is about 0.6 of the letter's height wide, a row 1.5 of it high; the first column takes two cells.
    by_width = _WIDE_MM / (len(chart.flour_c) + 2) / (longest * 0.6 + 0.4)
    return min(_LARGEST_MM, by_width, row_mm / 1.5), row_mm


def _harmless(text: str) -> str:
    """Put an apostrophe before text that a spreadsheet would take for a formula."""
    return f"'{text}" if text.startswith(_FORMULA_SIGNS) else text
