"""Workings on the board: the command shows them and nothing else, in every notation."""

import io
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from rich.console import Console

from formula.board import show_working, taken_workings, working_page
from formula.cli import commands
from formula.water import water_temperature
from formula.working import Caution, Step, Working
from tests.conftest import Run

WATER = ("water", "--dough", "25 °C", "--flour", "20 °C", "--room", "22 °C", "--friction", "8 K")
WORKING = water_temperature("25 °C", flour="20 °C", room="22 °C", friction="8 K").working()
WEIGHINGS = Path(__file__).parents[1] / "docs" / "examples" / "weighings.csv"


class TestTheCommand:
    def test_the_working_and_nothing_else(self, run: Run) -> None:
        assert run("working", *WATER) == (0, f"\n{WORKING.text()}\n", "")

    def test_every_notation(self, run: Run) -> None:
        assert run("working", "--to", "markdown", *WATER)[1] == WORKING.markdown()
        assert run("working", "--to", "latex", *WATER)[1] == WORKING.latex()
        assert run("working", "--to", "html", *WATER)[1] == working_page([WORKING])

    @pytest.mark.parametrize("degrees", ["°F", "degF"])
    def test_the_degrees_of_the_class(self, run: Run, degrees: str) -> None:
        _, out, _ = run("working", "--temperature", degrees, *WATER)
        assert "= 3 * 77 - 68 - 71.6 - 14.4 = 77 °F" in out

    def test_the_weights_of_the_class(self, run: Run) -> None:
        _, out, _ = run("working", "--mass", "kg", "divide", "58750 g", "--piece", "1250 g")
        assert "n = dough / piece = 58.75 / 1.25 = 47\n" in out

    def test_a_command_in_a_group(self, run: Run) -> None:
        code, out, _ = run("working", "loss", "measured", WEIGHINGS, "--bread", "Quay Round")
        assert code == 0
        assert out.count("\n1. ") >= 1

    def test_the_options_of_the_other_command_stay_its_own(self, run: Run) -> None:
        code, out, err = run("working", "water", "--doh", "25 °C")
        assert (code, out) == (2, "")
        assert "No such option" in err

    @pytest.mark.parametrize("flag", ["-h", "--help"])
    def test_help_is_that_of_the_other_command_now_and_later(self, run: Run, flag: str) -> None:
        code, out, _ = run("working", "ice", flag)
        assert (code, out) == run("ice", flag)[:2] == (0, out)
        assert out.startswith("Usage: formula ice")

    def test_a_refusal_reads_as_that_of_the_other_command(self, run: Run) -> None:
        wrong = [word if word != "8 K" else "8 kg" for word in WATER]
        assert run("working", *wrong) == run(*wrong)

    @pytest.mark.parametrize("words", [("nothing",), ("compare", "a", "b"), ("loss",), ("loss", "typical")])
    def test_what_has_no_working_is_told_what_has(self, run: Run, words: tuple[str, ...]) -> None:
        code, out, err = run("working", *words)
        assert (code, out) == (2, "")
        assert f"no working of {words[0]!r}" in err
        assert "loss measured" in err
        assert "water" in err

    def test_steps_are_opened(self, run: Run) -> None:
        words = ["yeast", "--dose", "2 %", "--time", "2 h", "--temperature", "24 °C", "--new-time", "5 h"]
        words += ["--new-temperature", "20 °C"]
        _, closed, _ = run("working", *words)
        _, opened, _ = run("working", "--open", *words)
        assert closed.count("▸") == 3
        assert "    The rate summed up over 5 h at 20 °C\n" not in closed
        assert "    The rate summed up over 5 h at 20 °C\n" in opened
        assert "<details open>" in run("working", "--open", "--to", "html", *words)[1]

    def test_nothing_shown_is_said(self, run: Run) -> None:
        code, out, err = run("working", *WATER, "--json")
        assert (code, out) == (2, "")
        assert "water had nothing to show" in err

    def test_every_command_with_a_working_is_offered(self, run: Run) -> None:
        _, _, err = run("working", "nothing")
        for name, command in commands.commands.items():
            if any(option.name == "working" for option in command.params):
                assert re.search(rf"[ ,]{name}[, ]", err), name


class TestThePage:
    def test_it_stands_alone_and_is_well_formed(self) -> None:
        page = working_page([WORKING, WORKING])
        plain = re.sub(r"<!DOCTYPE html>\n|<meta [^>]*>", "", page)  # what XML does not know
        root = ET.fromstring(plain)  # noqa: S314 - our own text
        assert root.get("lang") == "en"
        assert len(root.findall("./body/main/section")) == 2
        assert not re.search(r"(src|href)=|url\(|<script", page)

    def test_what_is_inside_opens(self) -> None:
        outer = Working("Twice", (Step("twice", "2 * x", {"x": 25.0}, 50.0, "", inside=(WORKING,)),))
        assert "<details><summary>" in working_page([outer])
        assert "<details open><summary>" in working_page([outer], opened=True)

    def test_text_is_escaped(self) -> None:
        step = Step("a", "b", {"b": 1.0}, 1.0, "g", note="<script>x</script>")
        page = working_page([Working("<b>{}", (step,), (Caution("hot", "<i>"),))])
        assert "<title>&lt;b&gt;{}</title>" in page
        assert "<script" not in page
        assert "<i>" not in page


class TestTheTerminal:
    def shown(self, *, terminal: bool) -> str:
        out = io.StringIO()
        console = Console(file=out, force_terminal=terminal, width=60, highlight=False, markup=False, emoji=False)
        show_working(console, WORKING)
        return out.getvalue()

    def test_plain_is_the_text(self) -> None:
        assert self.shown(terminal=False) == f"\n{WORKING.text()}\n"

    def test_on_a_terminal_the_outcome_stands_out(self) -> None:
        drawn = self.shown(terminal=True)
        assert re.search(r"\x1b\[1m25 °C\x1b\[0m", drawn)
        assert re.sub(r"\x1b\[[0-9;]*m", "", drawn) == f"\n{WORKING.text()}\n"

    def test_a_step_is_opened(self) -> None:
        out = io.StringIO()
        console = Console(file=out, width=60, highlight=False, markup=False, emoji=False)
        outer = Working("Twice", (Step("twice", "2 * x", {"x": 25.0}, 50.0, "", inside=(WORKING,)),))
        show_working(console, outer, opened=True)
        assert out.getvalue() == f"\n{outer.text(opened=True)}\n"
        show_working(console, outer)
        assert out.getvalue().endswith("\n▸ has a working inside: formula working --open and the same command\n\n")

    def test_taken_it_is_not_shown(self) -> None:
        with taken_workings() as taken:
            assert not self.shown(terminal=False)
        assert taken == [WORKING]
        assert self.shown(terminal=False)
