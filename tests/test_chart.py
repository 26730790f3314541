"""A wall chart on paper: text, HTML and CSV say the same numbers, and nothing in a title can do harm."""

import csv
import io
import re
from html.parser import HTMLParser
from typing import Any

import pytest

from formula.chart import chart_csv, chart_html, chart_text
from formula.wallchart import WaterChart, temperatures_between, water_chart


class Page(HTMLParser):
    """Read a page: its tags, its cells by rows, and what it asks for from elsewhere."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.open: list[str] = []
        self.rows: list[list[str]] = []
        self.addresses: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        if tag != "meta":
            self.open.append(tag)
        self.addresses += [f"{name}={value}" for name, value in attrs if name in {"src", "href", "style", "onclick"}]
        if tag == "tr":
            self.rows.append([])
        if tag in {"th", "td"}:
            self.rows[-1].append("")

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] in {"th", "td"}:
            self.rows[-1][-1] += data


def harbour(**others: Any) -> WaterChart:  # noqa: ANN401 - whatever a chart takes
    """Make the chart of the big spiral."""
    mix: dict[str, Any] = {
        "flour": temperatures_between("16 °C", "28 °C", "4 K"),
        "room": temperatures_between("18 °C", "38 °C", "10 K"),
        "friction": "20 K",
        "title": "The big spiral",
    }
    return water_chart("25 °C", **(mix | others))


def test_text() -> None:
    assert chart_text(harbour()).splitlines() == [
        "The big spiral: water temperature, °C",
        "Dough 25 °C; friction factor 20 K; flour + room + water = 55 °C",
        "",
        "room \\ flour    16     20     24     28",
        "          18    21     17     13      9",
        "          28    11      7      3     -1*",
        "          38     1*    -3*    -7*   -11*",
        "",
        "* colder than it can be drawn: weigh a part of it as ice",
    ]


def test_text_in_fahrenheit() -> None:
    chart = harbour(
        flour=["60 °F", "70 °F"], room=["70 °F"], friction="26 °F", preferments="72 °F", unit="°F", title=""
    )
    lines = chart_text(chart).splitlines()
    assert lines[0] == "Water temperature, °F"
    assert lines[1] == "Dough 77 °F; friction factor 26 °F; preferment 72 °F; flour + room + water = 210 °F"
    # 4 * 77 - 26 - 72 - 60 - 70 and ten less.
    assert lines[3:] == ["room \\ flour   60    70", "          70   80    70"]


def test_tenths_where_there_are_any() -> None:
    lines = chart_text(harbour(friction="19.5 K", flour=["16 °C", "16.5 °C"], room=["39.5 °C"])).splitlines()
    assert lines[3:5] == ["room \\ flour     16    16.5", "        39.5    0.0*   -0.5*"]


def test_wide_charts_show_whole_degrees() -> None:
    wide = harbour(friction="19.5 K", flour=[f"{place} °C" for place in range(21)], room=["20 °C"])
    assert "." not in chart_text(wide).splitlines()[4]
    assert chart_text(harbour(friction="19.5 K")).splitlines()[4].split()[1] == "21.5"


def test_all_signs_have_their_legend() -> None:
    chart = harbour(room=["-20 °C", "20 °C", "50 °C", "150 °C"], flour=["20 °C"])
    lines = chart_text(chart).splitlines()
    assert [line.split()[-1] for line in lines[4:8]] == ["55!", "15", "-15*", "-115x"]
    assert [line[0] for line in lines[9:]] == ["*", "!", "x"]


def test_html_holds_the_same_numbers() -> None:
    page = Page(chart_html(harbour()))
    assert page.rows == [
        ["room \\ flour, °C", "16", "20", "24", "28"],
        ["18", "21", "17", "13", "9"],
        ["28", "11", "7", "3", "-1*"],
        ["38", "1*", "-3*", "-7*", "-11*"],
    ]
    assert page.open == []


def test_html_stands_alone() -> None:
    text = chart_html(harbour())
    page = Page(text)
    assert page.addresses == []
    assert not {"script", "link", "img", "iframe"} & set(page.tags)
    assert "url(" not in text
    assert "@import" not in text
    assert "color-scheme: light dark" in text
    assert "prefers-color-scheme: dark" in text
    assert "size: landscape" in text


@pytest.mark.parametrize("title", ["<script>alert(1)</script>", '"><img src=x>', "a & b", "</title><p>", "</style>"])
def test_a_title_is_escaped(title: str) -> None:
    plain, page = Page(chart_html(harbour(title="x"))), Page(chart_html(harbour(title=title)))
    assert page.tags == plain.tags
    assert page.addresses == []


@pytest.mark.parametrize(("columns", "rows"), [(1, 1), (9, 10), (40, 1), (1, 40), (40, 40)])
@pytest.mark.parametrize("unit", ["°C", "°F"])
def test_the_table_fits_the_page(columns: int, rows: int, unit: str) -> None:
    """On A4 and Letter, laid on its side with margins of 10 mm, 259 by 190 mm are left."""
    flour = [f"{10 + place * 0.5} °C" for place in range(columns)]
    room = [f"{10 + place * 2.5} °C" for place in range(rows)]
    chart = harbour(flour=flour, room=room, unit=unit)
    text = chart_html(chart)
    (letter,) = re.findall(r"table { font-size: ([0-9.]+)mm", text)
    (height,) = re.findall(r"th, td { height: ([0-9.]+)mm", text)
    longest = max(len(cell) for row in Page(text).rows for cell in row[1:])
    # The widest digits of a plain face are 0.64 of its height; the table has two columns more than cells.
    assert longest * 0.64 * float(letter) * (columns + 2) <= 259
    assert max(float(height), 1.3 * float(letter)) * (rows + 1) <= 145
    assert float(letter) >= 1.6
    assert float(letter) <= 6.0


def test_csv_holds_the_same_numbers() -> None:
    text = chart_csv(harbour())
    header, *lines = csv.reader(io.StringIO(text))
    assert header == ["chart", "flour (°C)", "room (°C)", "water (°C)", "mark"]
    assert len(lines) == 12
    assert lines[0] == ["The big spiral", "16", "18", "21", ""]
    assert lines[-1] == ["The big spiral", "28", "38", "-11", "ice"]
    for _, flour, room, water, mark in lines:
        assert float(water) == 55 - float(flour) - float(room)
        assert (mark == "ice") == (float(water) < 2)
    fahrenheit = chart_csv(harbour(unit="°F")).splitlines()
    assert fahrenheit[0] == "chart,flour (°F),room (°F),water (°F),mark"
    assert fahrenheit[1] == "The big spiral,60.8,64.4,69.8,"


@pytest.mark.parametrize("title", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n@x", " =1"])
def test_a_title_is_no_formula(title: str) -> None:
    rows = list(csv.reader(io.StringIO(chart_csv(harbour(title=title)), newline="")))
    assert all(row[0] == f"'{title.strip()}" for row in rows[1:])


def test_a_title_with_commas_and_quotes() -> None:
    title = 'Rye, "dark"\nand light'
    rows = list(csv.reader(io.StringIO(chart_csv(harbour(title=title)), newline="")))
    assert all(row[0] == 'Rye, "dark" and light' for row in rows[1:])


def test_a_title_cannot_command_a_terminal() -> None:
    text = chart_text(harbour(title="big\x1b[31m\nspiral"))
    assert text.splitlines()[0] == "big [31m spiral: water temperature, °C"
