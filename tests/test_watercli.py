"""The commands about water answer as the library does, and refuse in one message."""

import csv
import io
import json
from pathlib import Path

import pytest

from formula.day import plan_day
from formula.folder import load_day
from formula.ice import ice_for
from formula.shopfile import load_workshop
from formula.threeways import day_three_ways
from formula.trialfit import friction_from_trials
from formula.trials import read_trials
from tests.conftest import Run

HARBOUR = Path(__file__).parents[1] / "docs" / "examples" / "harbour"
ICE = ("ice", "--water", "20 kg", "--tap", "18 °C", "--wanted", "6 °C")
CHART = ("chart", "water", "--dough", "25 °C", "--friction", "20 K", "--flour", "18 °C", "22 °C", "2 K")
TRIALS = """flour,room,water,dough,mixer
21 °C,23 °C,12 °C,25 °C,spiral
21 °C,23 °C,13 °C,25.5 °C,spiral
20 °C,22 °C,13 °C,25 °C,arm
"""


@pytest.fixture
def trials(tmp_path: Path) -> Path:
    file = tmp_path / "trials.csv"
    file.write_text(TRIALS, encoding="utf-8")
    return file


class TestIce:
    def test_it_answers_as_the_library(self, run: Run) -> None:
        code, out, _ = run(*ICE, "--json")
        found = ice_for("20 kg", tap="18 °C", wanted="6 °C")
        assert code == 0
        # 20 kg x (18 - 6) / (18 + 80) = 2.449 kg.
        assert json.loads(out)["ice_g"] == found.ice_g == pytest.approx(20_000 * 12 / 98)
        assert json.loads(out)["draw_g"] == found.water_g

    def test_on_top_of_the_water(self, run: Run) -> None:
        _, out, _ = run(*ICE, "--keep", "water", "--json")
        # 20 kg x (18 - 6) / (6 + 80): the ice has only to come up to the wanted 6 °C.
        assert json.loads(out)["ice_g"] == pytest.approx(20_000 * 12 / 86)
        assert json.loads(out)["total_g"] == pytest.approx(20_000 * (1 + 12 / 86))

    def test_words_and_working(self, run: Run) -> None:
        _, out, _ = run(*ICE, "--working")
        assert out.startswith("ice 2448.98 g, and 17.551 kg of water from the tap\n")
        assert "drinking quality" in out
        assert "ice = water * x" in out

    def test_ice_that_is_warm(self, run: Run) -> None:
        code, out, err = run(*ICE, "--ice", "3 °C")
        assert (code, out) == (1, "")
        assert "at most 0 °C" in err


class TestFriction:
    def test_it_answers_as_the_library(self, run: Run, trials: Path) -> None:
        code, out, _ = run("friction", trials, "--json")
        found = friction_from_trials(read_trials(trials))
        assert code == 0
        tables = json.loads(out)
        # 3 x 25 - 56 = 19, 3 x 25.5 - 57 = 19.5, 3 x 25 - 55 = 20: the mean is 19.5 K.
        assert tables["friction_k"] == found.friction_k == pytest.approx(19.5)
        assert tables["trials"] == 3
        assert {group["mixer"]: group["friction_k"] for group in tables["groups"]} == {
            "spiral": pytest.approx(19.25),
            "arm": pytest.approx(20),
        }

    def test_words_and_working(self, run: Run, trials: Path) -> None:
        _, out, _ = run("friction", trials, "--working")
        assert "friction factor 19.5 K (35.1 °F) on 3 temperatures, from 3 trials" in out
        assert "spiral: friction factor" in out
        assert "from 1 trial" in out

    def test_each_size_of_batch(self, run: Run, trials: Path) -> None:
        rows = zip(TRIALS.splitlines(), ("mass", "12 kg", "80 kg", ""), strict=True)
        trials.write_text("".join(f"{row},{mass}\n" for row, mass in rows), encoding="utf-8")
        _, out, _ = run("friction", trials)
        assert "spiral 12 kg: friction factor 19 K" in out
        assert "spiral 80 kg: friction factor 19.5 K" in out
        tables = json.loads(run("friction", trials, "--json")[1])
        spiral = tables["groups"][0]
        assert [size["masses_g"] for size in spiral["sizes"]] == [[12_000, 12_000], [80_000, 80_000]]
        assert [size["friction_k"] for size in spiral["sizes"]] == pytest.approx([19.0, 19.5])

    def test_for_another_count(self, run: Run, trials: Path) -> None:
        _, out, _ = run("friction", trials, "--count", "4", "--json")
        assert json.loads(out)["friction_k"] == pytest.approx(19.5 * 4 / 3)

    def test_a_file_with_a_mistake(self, run: Run, trials: Path) -> None:
        trials.write_text(TRIALS.replace("13 °C", "13"), encoding="utf-8")
        code, out, err = run("friction", trials)
        assert (code, out) == (1, "")
        assert "trials.csv" in err
        assert "line 3" in err
        assert "line 4" in err

    def test_a_file_that_is_not_there(self, run: Run, tmp_path: Path) -> None:
        code, _, err = run("friction", tmp_path / "none.csv")
        assert code == 1
        assert "no such file" in err


class TestChart:
    AXES = (*CHART, "--room", "20 °C", "24 °C", "4 K")

    def test_as_text(self, run: Run) -> None:
        code, out, _ = run(*self.AXES)
        assert code == 0
        # 3 x 25 - 20 - 20 - 20 = 15 °C in the middle of the first row.
        assert [line.split() for line in out.splitlines() if line.strip().startswith("20 ")] == [
            ["20", "17", "15", "13"]
        ]

    def test_as_html_and_csv(self, run: Run) -> None:
        _, out, _ = run(*self.AXES, "--as", "html", "--title", "<Quay>")
        assert out.lower().startswith("<!doctype html>")
        assert "<Quay>" not in out
        _, out, _ = run(*self.AXES, "--as", "csv")
        assert len(list(csv.reader(io.StringIO(out)))) >= 1 + 2 * 3

    def test_in_fahrenheit(self, run: Run) -> None:
        _, out, _ = run(*self.AXES, "--unit", "°F")
        assert "59" in out  # 15 °C

    def test_too_many_columns(self, run: Run) -> None:
        code, _, err = run(*CHART[:-3], "0 °C", "50 °C", "0.5 K", "--room", "20 °C", "24 °C", "4 K")
        assert code == 1
        assert "40" in err

    def test_a_missing_option_is_a_wrong_usage(self, run: Run) -> None:
        assert run(*CHART)[0] == 2


class TestMethods:
    def test_the_day_by_three_methods(self, run: Run) -> None:
        ways = day_three_ways(plan_day(*load_day(HARBOUR), load_workshop(HARBOUR)))
        code, out, _ = run("day", HARBOUR, "--methods", "--json")
        assert code == 0
        tables = json.loads(out)["methods"]
        assert {name: table["balance_c"] for name, table in tables.items()} == {
            name: found.balance_c for name, found in ways.items()
        }
        _, out, _ = run("day", HARBOUR, "--methods", "--working")
        assert "The water by three methods" in out
        assert out.count("no mix was measured") >= 1
        assert "spread = max(" in out

    def test_without_the_option_there_are_none(self, run: Run) -> None:
        assert "methods" not in json.loads(run("day", HARBOUR, "--json")[1])
