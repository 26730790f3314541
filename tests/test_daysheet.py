"""The day on paper, in a workbook and in a calendar: all of it, in order, and nothing that acts."""

import io
import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from html.parser import HTMLParser
from pathlib import Path

import openpyxl
import pytest

from formula.clockwork import timetable
from formula.day import plan_day
from formula.daycalendar import day_ics
from formula.daypages import STAGES, StationPage, day_pages, verdict
from formula.daysheet import day_html, day_xlsx
from formula.errors import FormulaError, UnknownNameError
from formula.folder import load_day
from formula.shopfile import load_workshop
from formula.timeofday import WallClock
from formula.words import one_line
from tests.shopdays import FLAT, WILD, small_day, small_workshop

HARBOUR = Path(__file__).parents[1] / "docs" / "examples" / "harbour"
DAY = small_day()
PAGES = day_pages(DAY)
SHORT = small_day(small_workshop(people=2), pieces=2000)
WORK = ("autolyse", "mix", "divide", "shape", "bake", "slice", "pack")


def page(title: str, pages: tuple[StationPage, ...] = PAGES) -> StationPage:
    (found,) = (each for each in pages if each.title == title)
    return found


def lines(each: StationPage, start: str) -> list[tuple[str | int, ...]]:
    """Return the rows of the tables whose title begins so."""
    return [row for table in each.tables if table.title.startswith(start) for row in table.rows]


class TestStagesBuiltBefore:
    """Where the processes say how long a stage ripens it is built once, and weighed ripe at the mixer."""

    def pages(self) -> tuple[StationPage, ...]:
        shop = load_workshop(HARBOUR)
        assert shop
        return day_pages(timetable(plan_day(*load_day(HARBOUR), shop), shop))

    def test_a_page_of_its_own_and_no_second_weighing(self) -> None:
        pages = self.pages()
        built = page(STAGES, pages)
        assert {str(row[3]).split(" ")[0] for row in lines(built, "To build")} == {"biga", "rye", "poolish", "soaker"}
        sheets = [table for each in pages for table in each.tables if table.title.endswith("to weigh for one mix")]
        assert {table.columns[0] for table in sheets} == {"final"}
        (quay,) = (table for table in sheets if table.title.startswith("Quay Round, final"))
        assert "biga" in [row[0] for row in quay.rows]

    def test_what_is_weighed_is_what_the_mixes_take(self) -> None:
        """13 mixes of Quay Round take 41.011 or 40.76 kg of biga each: 6 * 41.011 + 7 * 40.76 = 531.386 kg."""
        rows = lines(page(STAGES, self.pages()), "To build")
        biga_kg = sum(float(str(row[4]).removesuffix(" kg")) for row in rows if str(row[3]).startswith("biga"))
        assert biga_kg == pytest.approx(531.386, abs=0.02)

    def test_without_a_ripening_time_the_mixer_weighs_everything(self) -> None:
        assert STAGES not in [each.title for each in PAGES]


class TestPages:
    def test_a_page_for_every_station_that_works(self) -> None:
        titles = ["The whole day", "+spiral", "The bench", "-deck [1]", "clay/oven", "Packing and dispatch"]
        assert [each.title for each in PAGES] == titles

    @pytest.mark.parametrize(
        ("title", "start", "what"),
        [
            ("+spiral", "Mixing", ("autolyse", "mix")),
            ("The bench", "Bench", ("divide", "shape")),
            ("-deck [1]", "Loads", ("bake",)),
            ("clay/oven", "Loads", ("bake",)),
            ("Packing and dispatch", "Packing", ("slice", "pack")),
        ],
    )
    def test_every_task_of_a_station_stands_on_its_page_by_the_clock(
        self, title: str, start: str, what: tuple[str, ...]
    ) -> None:
        own = [task for task in DAY.tasks if task.what in what and (what != ("bake",) or task.station == title)]
        rows = [row for row in lines(page(title), start) if "fold" not in row]
        expected = sorted((task.begin_min, DAY.clock(task.begin_min)[:5], DAY.clock(task.end_min)[:5]) for task in own)
        assert [row[0] for row in rows] == [begin for _, begin, _ in expected]
        assert sorted(row[:2] for row in rows) == sorted((begin, end) for _, begin, end in expected)

    def test_days_are_told_apart(self) -> None:
        """The shop opens at 22:00: what begins before midnight stands under the day before."""
        tables = [table for table in page("+spiral").tables if table.title.startswith("Mixing")]
        assert [table.title for table in tables] == ["Mixing, the day before", "Mixing, the day"]
        assert all(str(row[0]) >= "22:00" for row in tables[0].rows)
        assert all(str(row[0]) < "22:00" for row in tables[1].rows)

    def test_the_way_of_a_mix(self) -> None:
        """Hand arithmetic: 20 min autolyse, 12 min mixing; the parts of mix 1 follow its tasks."""
        tasks = [task for task in DAY.tasks if (task.bread, task.mix) == (WILD, 1)]
        begin = min(task.begin_min for task in tasks)
        (row,) = (
            row for row in lines(page("The whole day"), "Mixes") if row[1] == WILD and str(row[2]).startswith("1/")
        )
        assert row[0] == f"{DAY.clock(begin)[:5]}-{DAY.clock(begin + 32)[:5]}"
        assert row[7] == DAY.clock(max(task.end_min for task in tasks))[:5]
        flat = next(row for row in lines(page("The whole day"), "Mixes") if row[1] == FLAT)
        assert flat[4] == ""  # it is not divided

    def test_folds_come_25_minutes_after_mixing(self) -> None:
        folds = [row for row in lines(page("The bench"), "Bench") if row[2] == "fold"]
        mixes = [task for task in DAY.tasks if task.what == "mix" and task.bread == WILD]
        assert sorted(str(row[0]) for row in folds) == sorted(DAY.clock(task.end_min + 25)[:5] for task in mixes)

    def test_weigh_sheets_and_the_water(self) -> None:
        mixer = page("+spiral")
        (plan, _) = DAY.day.breads
        sheet = next(table for table in mixer.tables if table.title == f"{WILD}, final: to weigh for one mix")
        grams = plan.mixes[0].batch.mass_g("salt")
        assert ("salt", f"{grams:.0f} g") in [row[:2] for row in sheet.rows]
        pour = plan.mixes[0].pour
        assert pour
        assert pour.ice_g
        assert f"{pour.ice_g:.0f} g of ice" in sheet.notes[0]
        assert any(str(row[7]) == f"{pour.ice_g:.0f} g" for row in lines(mixer, "Mixing"))
        assert any("lb" in str(row[1]) for row in lines(page("+spiral", day_pages(DAY, "lb")), f"{WILD}, final"))

    def test_orders_by_due_time(self) -> None:
        rows = lines(page("Packing and dispatch"), "Orders")
        assert [row[0] for row in rows] == ["04:30", "06:00", ""]
        first = min((each for each in DAY.orders if each.due_min is not None), key=lambda each: each.due_min or 0)
        assert rows[0][2:] == (100, DAY.clock(first.ready_min), f"{270 - first.ready_min} min to spare")
        assert rows[2][4] == ""

    def test_firings(self) -> None:
        """Fired at 00:00 for half an hour, hot for three hours; then again at 04:00."""
        assert lines(page("clay/oven"), "Firings") == [("00:00", "00:30", "03:30"), ("04:00", "04:30", "07:30")]
        assert "carbon monoxide" in " ".join(each.text for each in page("clay/oven").cautions)

    def test_toppings_and_cautions(self) -> None:
        assert lines(page("The bench"), "Toppings") == [(f"{WILD}: 3 g of sesame seeds on each piece",)]
        for title, word in (("+spiral", "dust"), ("-deck [1]", "burn"), ("Packing and dispatch", "allergens")):
            assert word in " ".join(caution.text for caution in page(title).cautions)

    def test_what_is_late_or_short_is_said_loudly(self) -> None:
        rows = lines(day_pages(SHORT)[0], "Orders")
        for order, row in zip(
            sorted(SHORT.orders, key=lambda each: (each.due_min is None, each.due_min or 0)), rows, strict=True
        ):
            assert (f"LATE {order.late_min} min, {order.late_pieces} pieces" in str(row[4])) == bool(order.late_min)
            assert (f"SHORT {order.short_pieces} pieces" in str(row[4])) == bool(order.short_pieces)
        assert SHORT.late_min
        assert SHORT.short_pieces
        assert f"LATE: {SHORT.late_pieces} pieces, by up to {SHORT.late_min} min" in verdict(SHORT)
        assert f"{SHORT.short_pieces} pieces SHORT" in verdict(SHORT)

    def test_a_day_in_which_nothing_fits(self) -> None:
        none = small_day(small_workshop(opens="23:00 the day after"), pieces=100)
        assert not none.tasks
        assert verdict(none) == "NOTHING FITS: 210 pieces SHORT"
        assert [each.title for each in day_pages(none)] == ["The whole day", "Packing and dispatch"]
        assert {row[3] for row in lines(day_pages(none)[0], "Orders")} == {"never"}

    def test_an_unknown_unit(self) -> None:
        with pytest.raises(UnknownNameError, match="unit: got 'stone', expected one of g, kg, oz, lb"):
            day_pages(DAY, "stone")

    def test_an_hour_that_comes_twice_is_marked(self) -> None:
        night = small_day(small_workshop(day="2026-10-25", zone="Europe/Berlin"))
        text = day_html(night)
        twice = [task for task in night.tasks if night.clock(task.begin_min).endswith("(the second time)")]
        assert twice
        assert "(the second time)" in text


class Page(HTMLParser):
    """Read a page: its rows by section, its heads, and what it asks for from elsewhere."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.sections: list[list[list[str]]] = []
        self.heads: list[str] = []
        self.tags: set[str] = set()
        self.addresses: list[str] = []
        self.style = ""
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        if tag != "meta":
            self.open.append(tag)
        self.addresses += [f"{name}={value}" for name, value in attrs if name in {"src", "href", "style", "onclick"}]
        if tag == "section":
            self.sections.append([])
        elif tag == "tr":
            self.sections[-1].append([])
        elif tag in {"td", "th"}:
            self.sections[-1][-1].append("")
        elif tag == "h1":
            self.heads.append("")

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if {"td", "th"} & set(self.open):
            self.sections[-1][-1][-1] += data
        elif "h1" in self.open:
            self.heads[-1] += data
        elif "style" in self.open:
            self.style += data


class TestHtml:
    PAGE = Page(day_html(DAY))

    def test_it_holds_every_table(self) -> None:
        assert self.PAGE.heads == [each.title for each in PAGES]
        for section, each in zip(self.PAGE.sections, PAGES, strict=True):
            expected: list[list[str]] = []
            for table in each.tables:
                expected.append([*table.columns, *(["done"] if table.tick else [])])
                expected += [[*map(str, row), *([""] if table.tick else [])] for row in table.rows]
            assert section == [[one_line(cell) for cell in row] for row in expected]

    def test_it_prints_on_a4_a_page_for_each_station_and_asks_for_nothing(self) -> None:
        assert "size: A4" in self.PAGE.style
        assert "section { break-before: page; }" in self.PAGE.style
        assert "thead { display: table-header-group; }" in self.PAGE.style
        assert self.PAGE.addresses == []
        assert not {"script", "link", "img", "iframe"} & self.PAGE.tags

    def test_a_name_is_text(self) -> None:
        text = day_html(DAY)
        assert "b" not in self.PAGE.tags
        assert "&lt;b&gt;Round&lt;/b&gt;" in text
        assert "<title>Harbour &amp; Sons</title>" in text
        assert "\x1b" not in text
        assert "Harbour &amp; Sons, 2026-11-25" in day_html(small_day(small_workshop(day="2026-11-25")))

    def test_a_day_that_does_not_fit(self) -> None:
        assert f"{SHORT.short_pieces} pieces SHORT" in day_html(SHORT)


class TestXlsx:
    BOOK = openpyxl.load_workbook(io.BytesIO(day_xlsx(DAY)))

    def test_a_sheet_for_each_page(self) -> None:
        assert self.BOOK.sheetnames == [
            "The whole day", "+spiral", "The bench", "-deck  1", "clay oven", "Packing and dispatch",
        ]  # fmt: skip

    def test_it_holds_every_table(self) -> None:
        for sheet, each in zip(self.BOOK.worksheets, PAGES, strict=True):
            found = [tuple(cell for cell in row if cell is not None) for row in sheet.iter_rows(values_only=True)]
            for table in each.tables:
                for row in (table.columns, *table.rows):
                    clean = tuple(one_line(cell) if isinstance(cell, str) else cell for cell in row)
                    assert tuple(cell for cell in clean if cell != "") in found

    def test_nothing_is_a_formula(self) -> None:
        """Text that begins with = + - @ or with what cannot be seen is text, and stays so when it is edited."""
        starts = set()
        for sheet in self.BOOK.worksheets:
            for cell in (cell for row in sheet.iter_rows() for cell in row if cell.value is not None):
                assert cell.data_type == ("n" if isinstance(cell.value, int) else "s"), cell.value
                if isinstance(cell.value, str):
                    starts.add(cell.value[0])
                    assert cell.quotePrefix
                    assert cell.value == one_line(cell.value)
        assert set("=+-@") <= starts

    def test_names_that_would_clash(self) -> None:
        from formula.daysheet import _sheet_names

        pages = tuple(StationPage(title, "", ()) for title in ("Deck " * 8, "deck " * 9, "//", "History'"))
        assert _sheet_names(pages) == [
            "Deck Deck Deck Deck Deck Deck D",
            "deck deck deck deck deck  (2)",
            "page 3",
            "History",
        ]


def events(text: str) -> list[dict[str, str]]:
    """Unfold a calendar and read its events, as RFC 5545 says."""
    assert text.endswith("END:VCALENDAR\r\n")
    assert "\n" not in text.replace("\r\n", "")
    for line in text.split("\r\n"):
        assert len(line.encode()) <= 75
    plain = text.replace("\r\n ", "").split("\r\n")
    assert plain[0] == "BEGIN:VCALENDAR"
    assert {"VERSION:2.0"} <= set(plain)
    found: list[dict[str, str]] = []
    for line in plain:
        if line == "BEGIN:VEVENT":
            found.append({})
        elif found and ":" in line and not line.startswith(("END", "BEGIN")):
            name, _, value = line.partition(":")
            found[-1][name] = re.sub(r"\\(.)", r"\1", value)
    return found


class TestCalendar:
    ZONED = small_day(small_workshop(day="2026-03-29", zone="Europe/Berlin"))
    STAMP = datetime(2026, 3, 28, 12, 0, tzinfo=UTC)

    def test_every_task_at_a_station_is_an_event(self) -> None:
        found = events(day_ics(self.ZONED, stamp=self.STAMP))
        tasks = sorted((task for task in self.ZONED.tasks if task.what in WORK), key=lambda task: task.begin_min)
        assert [each["LOCATION"] for each in found] == [task.station for task in tasks]
        # Midnight of that day in Berlin is 23:00 of the day before in UTC.
        midnight = datetime(2026, 3, 28, 23, 0, tzinfo=UTC)
        for event, task in zip(found, tasks, strict=True):
            for name, minutes in (("DTSTART", task.begin_min), ("DTEND", task.end_min)):
                assert event[name] == f"{midnight + timedelta(minutes=minutes):%Y%m%dT%H%M%S}Z"
            assert event["DTSTAMP"] == "20260328T120000Z"
            load = f", load {task.load}" if task.load else ""
            assert event["SUMMARY"] == f"{task.what} {one_line(task.bread)}, mix {task.mix}{load}, {task.pieces} pieces"

    def test_an_event_keeps_its_name(self) -> None:
        first, again = (
            [each["UID"] for each in events(day_ics(self.ZONED, stamp=stamp))] for stamp in (self.STAMP, None)
        )
        assert first == again
        assert len(set(first)) == len(first)

    def test_without_a_zone_times_are_those_of_the_wall(self) -> None:
        day = small_day(small_workshop(day="2026-03-29"))
        task = min((task for task in day.tasks if task.what in WORK), key=lambda task: task.begin_min)
        assert task.begin_min < 0
        found = events(day_ics(day))[0]["DTSTART"]
        assert found == f"{datetime(2026, 3, 29) + timedelta(minutes=task.begin_min):%Y%m%dT%H%M%S}"  # noqa: DTZ001

    def test_signs_of_its_own_are_told_apart(self) -> None:
        text = day_ics(self.ZONED).replace("\r\n ", "")
        assert "=1+1 <b>Round</b>\\, \\\\new\\; [31m" in text

    def test_long_lines_are_folded_between_signs(self) -> None:
        from formula.daycalendar import _folded

        line = "SUMMARY:" + "ö€" * 40
        parts = list(_folded(line))
        assert all(len(part.encode()) <= 75 for part in parts)
        assert all(part.startswith(" ") for part in parts[1:])
        assert parts[0] + "".join(part[1:] for part in parts[1:]) == line
        assert list(_folded("A:" + "b" * 73)) == ["A:" + "b" * 73]

    def test_a_day_without_a_date_is_refused(self) -> None:
        with pytest.raises(FormulaError, match="calendar: got a day without a date, expected the date of the deliv"):
            day_ics(DAY)
        with pytest.raises(FormulaError, match="date: got none, expected the date of the day"):
            WallClock().moment(0)


@pytest.mark.parametrize(
    ("package", "call"), [("jinja2", "formula.day_html(table)"), ("openpyxl", "formula.day_xlsx(table)")]
)
def test_without_its_package_it_says_what_to_install(
    package: str, call: str, fresh_python: Callable[[str], str]
) -> None:
    code = f"""
import sys
sys.modules[{package!r}] = None
import formula
table = None
try:
    {call}
except formula.MissingExtraError as error:
    print(error)
"""
    assert fresh_python(code) == f"{package} is not installed; this needs: pip install 'dough-formula[sheet]'\n"


def test_a_day_that_fits_says_so() -> None:
    assert verdict(DAY).startswith(
        f"From {DAY.clock(DAY.begin_min)} to {DAY.clock(DAY.end_min)}; every order is packed"
    )
