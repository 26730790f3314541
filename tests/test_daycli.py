"""The command of the day with a workshop: its clock on the screen, its files, and how it says no."""

import io
import json
import sys
import time
from pathlib import Path

import openpyxl
import pytest

from formula import load_day, load_workshop, plan_day, timetable
from formula.clockwork import Timetable
from formula.relief import remedies
from formula.screen import waiting
from tests.conftest import Run, run_fresh
from tests.test_cli import HARBOUR, change, folder

__all__ = ["folder"]


def harbour(where: Path = HARBOUR) -> Timetable:
    shop = load_workshop(where)
    assert shop
    return timetable(plan_day(*load_day(where), shop), shop)


class TestOnTheScreen:
    def test_the_clock(self, run: Run) -> None:
        code, out, err = run("day", HARBOUR)
        assert (code, err) == (0, "")
        table = harbour()
        clock = out.split("\nThe whole day\n")[1]
        lines = [" ".join(line.split()) for line in clock.splitlines()]
        for order in table.orders:
            spare = f"{(order.due_min or 0) - order.ready_min} min to spare"
            expected = (order.order.due, order.name, str(order.order.pieces), table.clock(order.ready_min), spare)
            assert " ".join(expected) in lines
        for task in table.tasks:
            times = f"{table.clock(task.begin_min)[:5]} {table.clock(task.end_min)[:5]}"
            if task.what == "bake":
                count = next(plan.mix_count for plan in table.day.breads if plan.name == task.bread)
                assert f"{times} {task.bread} {task.mix}/{count} {task.load} {task.pieces}" in lines
        assert f"busiest: {table.bottleneck}" in clock
        assert "DOES NOT FIT" not in out

    def test_it_is_narrow_enough(self, run: Run) -> None:
        """A hundred signs fit across a screen, and across a page laid on its side."""
        clock = run("day", HARBOUR)[1].split("\nThe whole day\n")[1]
        tables = [line for line in clock.splitlines() if not line.startswith("From ")]
        assert max(map(len, tables)) <= 100

    def test_late_and_short_cannot_be_overlooked(self, run: Run, folder: Path) -> None:
        change(folder / "workshop.toml", "people = 8", "people = 1")
        code, out, _ = run("day", folder)
        table = harbour(folder)
        assert code == 0
        assert not table.fits
        last = out.rstrip().splitlines()[-1]
        assert last.startswith("THE DAY DOES NOT FIT. From ")
        assert f"LATE: {table.late_pieces} pieces, by up to {table.late_min} min" in last
        for order in table.orders:
            if order.late_min:
                assert f"LATE {order.late_min} min, {order.late_pieces} pieces" in out

    def test_as_early_as_the_shop_opens(self, run: Run) -> None:
        _, out, _ = run("day", HARBOUR, "--json", "--aim", "earliest")
        found = json.loads(out)["timetable"]
        assert found["aim"] == "earliest"
        assert found["tasks"][0]["begin_min"] < harbour().begin_min

    def test_a_day_without_a_workshop_is_what_it_was(self, run: Run, folder: Path) -> None:
        (folder / "workshop.toml").unlink()
        assert "The whole day" not in run("day", folder)[1]
        assert json.loads(run("day", folder, "--json")[1]) == plan_day(*load_day(HARBOUR)).to_tables()

    def test_methods_and_working(self, run: Run) -> None:
        out = run("day", HARBOUR, "--working")[1]
        assert harbour().day.working().text() in out


class TestWhatWouldMendIt:
    """One person where eight are needed: nothing else comes near."""

    def test_remedies_are_said(self, run: Run, folder: Path) -> None:
        change(folder / "workshop.toml", "people = 8", "people = 1")
        code, out, _ = run("day", folder, "--remedies")
        found = remedies(harbour(folder))
        assert code == 0
        assert out.rstrip().splitlines()[-len(found.said) :] == list(found.said)
        tables = json.loads(run("day", HARBOUR, "--remedies", "--json")[1])
        assert tables["remedies"] == remedies(harbour()).to_tables()

    def test_the_best_order(self, run: Run) -> None:
        pytest.importorskip("ortools", reason="the best order needs the extra 'plan'")
        _, out, _ = run("day", HARBOUR, "--optimise", "--time-limit", "2 s")
        assert (
            "Minutes by which pieces are late, summed: 0, in the plain plan 0; none is less late." in out.splitlines()
        )
        tables = json.loads(run("day", HARBOUR, "--optimise", "--time-limit", "2 s", "--json")[1])
        assert tables["optimum"]["proven"] is True
        assert tables["timetable"]["late_min"] == 0
        assert tables["optimum"]["span_min"] <= tables["optimum"]["plain_span_min"]

    @pytest.mark.parametrize(
        ("options", "said"),
        [
            (("--optimise", "--aim", "latest"), "without --aim"),
            (("--time-limit", "2 s"), "--time-limit goes with --optimise"),
        ],
    )
    def test_what_does_not_go_together(self, run: Run, options: tuple[str, ...], said: str) -> None:
        code, _, err = run("day", HARBOUR, *options)
        assert (code, said in err) == (2, True)

    def test_without_a_workshop_there_is_nothing_to_mend(self, run: Run, folder: Path) -> None:
        (folder / "workshop.toml").unlink()
        code, _, err = run("day", folder, "--remedies", "--optimise")
        assert code != 0
        assert "--remedies and --optimise" in err


class TestFiles:
    @pytest.mark.parametrize("kind", ["html", "xlsx", "json", "ics"])
    def test_a_sheet(self, run: Run, tmp_path: Path, kind: str) -> None:
        file = tmp_path / f"day.{kind}"
        options = ("--date", "2026-11-25") if kind == "ics" else ()
        assert run("day", HARBOUR, "--sheet", kind, "--out", file, *options) == (0, f"{file} written\n", "")
        if kind == "xlsx":
            assert openpyxl.load_workbook(file).sheetnames[0] == "The whole day"
            return
        text = file.read_bytes().decode()
        if kind == "json":
            assert json.loads(text) == json.loads(run("day", HARBOUR, "--json")[1])
        else:
            assert text.startswith({"html": "<!DOCTYPE html>", "ics": "BEGIN:VCALENDAR\r\n"}[kind])
        assert list(tmp_path.iterdir()) == [file]

    def test_a_day_that_does_not_fit_is_written_but_not_in_silence(
        self, run: Run, folder: Path, tmp_path: Path
    ) -> None:
        change(folder / "workshop.toml", "people = 8", "people = 1")
        for options in (("--sheet", "html", "--out", tmp_path / "x"), ("--plot", tmp_path / "x.svg"), ("--json",)):
            code, _, err = run("day", folder, *options)
            assert (code, err.startswith("THE DAY DOES NOT FIT. From ")) == (0, True)

    def test_weights_in_pounds(self, run: Run, tmp_path: Path) -> None:
        run("day", HARBOUR, "--sheet", "html", "--out", tmp_path / "x", "--unit", "lb")
        assert " lb</td>" in (tmp_path / "x").read_text(encoding="utf-8")

    def test_json_of_a_day_without_a_workshop(self, run: Run, folder: Path, tmp_path: Path) -> None:
        (folder / "workshop.toml").unlink()
        assert run("day", folder, "--sheet", "json", "--out", tmp_path / "x")[0] == 0
        assert "timetable" not in json.loads((tmp_path / "x").read_text(encoding="utf-8"))

    @pytest.mark.parametrize("name", ["day.png", "day.svg", "day.PDF"])
    def test_a_picture(self, run: Run, tmp_path: Path, name: str) -> None:
        file = tmp_path / name
        assert run("day", HARBOUR, "--plot", file) == (0, f"{file} written\n", "")
        start = {"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}[name[-3:].lower()]
        assert file.read_bytes().startswith(start)

    def test_with_json_the_answer_stays_json(self, run: Run, tmp_path: Path) -> None:
        code, out, err = run(
            "day", HARBOUR, "--json", "--plot", tmp_path / "x.svg", "--sheet", "html", "--out", tmp_path / "y"
        )
        assert code == 0
        assert json.loads(out)["timetable"]["late_min"] == 0
        assert err.count(" written\n") == 2

    @pytest.mark.parametrize("kind", ["html", "xlsx"])
    def test_an_old_file_stays_whole_when_the_new_one_fails(
        self, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str
    ) -> None:
        file = tmp_path / "day"
        file.write_bytes(b"yesterday")

        def full(_: object, __: object) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(Path, "replace", full)
        code, out, err = run("day", HARBOUR, "--sheet", kind, "--out", file)
        assert (code, out) == (1, "")
        assert "no writable file (No space left on device)" in err
        assert file.read_bytes() == b"yesterday"
        assert list(tmp_path.iterdir()) == [file]

    def test_a_place_that_cannot_be_written(self, run: Run, tmp_path: Path) -> None:
        code, out, err = run("day", HARBOUR, "--sheet", "html", "--out", tmp_path / "nowhere" / "day.html")
        assert (code, out) == (1, "")
        assert "nowhere/day.html: got no writable file" in err


class TestRefusals:
    @pytest.mark.parametrize(
        "options", [("--sheet", "html"), ("--out", "x"), ("--sheet", "pdf", "--out", "x"), ("--aim", "soon")]
    )
    def test_usage(self, run: Run, options: tuple[str, ...]) -> None:
        code, out, err = run("day", HARBOUR, *options)
        assert (code, out) == (2, "")
        assert "--" in err

    @pytest.mark.parametrize(
        ("options", "name"),
        [
            (("--sheet", "html", "--out", "x"), "--sheet"), (("--sheet", "xlsx", "--out", "x"), "--sheet"),
            (("--sheet", "ics", "--out", "x"), "--sheet"), (("--plot", "x.png"), "--plot"),
            (("--aim", "latest"), "--aim"), (("--date", "2026-11-25"), "--date"),
        ],
    )  # fmt: skip
    def test_what_needs_a_workshop(self, run: Run, folder: Path, options: tuple[str, ...], name: str) -> None:
        (folder / "workshop.toml").unlink()
        code, out, err = run("day", folder, *options)
        assert (code, out) == (1, "")
        assert f"workshop.toml: got no such file, but {name}, expected a file that puts the day on the clock" in err

    def test_a_calendar_without_a_date(self, run: Run, tmp_path: Path) -> None:
        code, _, err = run("day", HARBOUR, "--sheet", "ics", "--out", tmp_path / "day.ics")
        assert (code, "calendar: got a day without a date" in err) == (1, True)
        assert list(tmp_path.iterdir()) == []

    def test_a_picture_of_no_known_kind(self, run: Run, tmp_path: Path) -> None:
        code, _, err = run("day", HARBOUR, "--plot", tmp_path / "day.doc")
        assert (code, "picture: got '.doc', expected a file that ends in one of: " in err) == (1, True)

    def test_the_faults_of_all_files_at_once(self, run: Run, folder: Path) -> None:
        change(folder / "orders.toml", "pieces = 1700", "pieces = 0")
        change(folder / "workshop.toml", "tubs = 16", "tubs = 0")
        change(folder / "breads" / "quay-round.toml", "water = 69", "water = ")
        code, out, err = run("day", folder)
        assert (code, out) == (1, "")
        assert "2 faults" in err
        assert "workshop.toml: tubs" in err
        assert err.count("quay-round.toml: got a TOML mistake") == 1

    def test_a_bread_without_a_process(self, run: Run, folder: Path) -> None:
        change(folder / "workshop.toml", 'bread = "gull-bun"', 'bread = "harbour-sour"')
        code, _, err = run("day", folder)
        assert (code, "process of Gull Bun: got none, expected one; there are: Quay Round" in err) == (1, True)

    def test_without_the_packages_of_the_sheets(
        self, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setitem(sys.modules, "jinja2", None)
        code, out, err = run("day", HARBOUR, "--sheet", "html", "--out", tmp_path / "x")
        assert (code, out) == (2, "")
        assert err == "jinja2 is not installed; this needs: pip install 'dough-formula[sheet]'\n"

    def test_the_plain_day_needs_none_of_them(self) -> None:
        code = """
import sys
for package in ("jinja2", "openpyxl", "matplotlib"):
    sys.modules[package] = None
from formula.__main__ import main
sys.exit(main())
"""
        ran = run_fresh("-c", code, "day", str(HARBOUR))
        assert (ran.returncode, ran.stderr) == (0, "")


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


class TestWaiting:
    def test_what_takes_longer_than_a_second_says_so_on_a_terminal(self, monkeypatch: pytest.MonkeyPatch) -> None:
        terminal = Terminal()
        monkeypatch.setattr(sys, "stderr", terminal)
        with waiting("planning"):
            time.sleep(1.3)
        assert terminal.getvalue() == "\r\x1b[Kplanning: 1 s \r\x1b[K"

    def test_another_line_takes_its_place(self, monkeypatch: pytest.MonkeyPatch) -> None:
        terminal = Terminal()
        monkeypatch.setattr(sys, "stderr", terminal)
        with waiting("planning") as say:
            say("3 of at most 200")
            time.sleep(1.3)
        assert terminal.getvalue() == "\r\x1b[K3 of at most 200: 1 s \r\x1b[K"

    def test_what_is_quick_or_has_no_terminal_says_nothing(self, monkeypatch: pytest.MonkeyPatch) -> None:
        for stream in (Terminal(), io.StringIO()):
            monkeypatch.setattr(sys, "stderr", stream)
            with waiting("planning"):
                pass
            assert stream.getvalue() == ""

    def test_it_is_wiped_off_also_when_planning_fails(self, monkeypatch: pytest.MonkeyPatch) -> None:
        terminal = Terminal()
        monkeypatch.setattr(sys, "stderr", terminal)

        def fail() -> None:
            time.sleep(1.3)
            int("no")

        with pytest.raises(ValueError, match="invalid literal"), waiting("planning"):
            fail()
        assert terminal.getvalue().endswith("\x1b[K")
