"""The command line: what it prints, what programs can read of it, and how it says no."""

import errno
import io
import json
import re
import shutil
import sys
from importlib.metadata import PackageNotFoundError
from pathlib import Path
from typing import Any

import click
import pytest

from formula import cli, ice_for, load, load_day, load_workshop, plan_day, timetable, water_temperature
from formula.__main__ import main
from formula.batch import Batch
from formula.day import DayPlan
from formula.formula import Formula
from formula.quantity import MASS, read
from tests.conftest import Run, run_fresh

HARBOUR = Path(__file__).parents[1] / "docs" / "examples" / "harbour"
QUAY = HARBOUR / "breads" / "quay-round.toml"
RYE = HARBOUR / "breads" / "lighthouse-rye.toml"
WATER = ("water", "--dough", "25 °C", "--flour", "20 °C", "--room", "22 °C", "--friction", "8 K")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(HARBOUR, tmp_path / "day"))


def change(file: Path, old: str, new: str) -> None:
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")


def harbour_plan() -> DayPlan:
    return plan_day(*load_day(HARBOUR), load_workshop(HARBOUR))


def harbour_tables() -> dict[str, Any]:
    workshop = load_workshop(HARBOUR)
    assert workshop
    plan = harbour_plan()
    return {**plan.to_tables(), "timetable": timetable(plan, workshop).to_tables()}


def printed_weights(text: str, line: str) -> list[float]:
    """Read every weight that stands in a line of a table, in g."""
    row = next(row for row in text.splitlines() if row.startswith(f"{line} "))
    return [read(MASS, weight, line) for weight in re.findall(r"[0-9.]+ (?:kg|g|lb|oz)\b", row)]


class TestDay:
    def test_it_prints_the_plan(self, run: Run) -> None:
        code, out, err = run("day", HARBOUR)
        assert (code, err) == (0, "")
        plan = harbour_plan()
        assert f"{plan.pieces} pieces from" in out
        assert f"in {plan.mix_count} mixes" in out
        for bread in plan.breads:
            assert f"scaled at {bread.piece_g:g} g to be {bread.baked_g:g} g" in out
            for mix in bread.mixes:
                which = f"mix {mix.first}" if mix.count == 1 else f"mixes {mix.first}-{mix.last}"
                assert f"{which} of {bread.mix_count}, {mix.pieces} pieces: " in out
        for caution in plan.cautions:
            assert f"Caution: {caution.text.split(': ')[-1]}" in out

    def test_every_weight_of_a_sheet_is_shown_as_it_is_weighed(self, run: Run) -> None:
        out = run("day", HARBOUR)[1]
        (quay,) = (bread for bread in harbour_plan().breads if bread.bread.name == "Quay Round")
        section = out.split("\nQuay Round\n")[1].split("\nMooring Stick\n")[0]
        final = section.split("\nfinal ")[1]
        for row in quay.mixes[0].batch.final.rows:
            shown = printed_weights(final, row.name)
            assert shown == pytest.approx([mix.batch.mass_g(row.name, stage="final") for mix in quay.mixes], abs=1e-6)

    def test_water_ice_and_toppings_are_said(self, run: Run) -> None:
        out = run("day", HARBOUR)[1]
        plan = harbour_plan()
        mix = plan.breads[0].mixes[0]
        assert mix.pour is not None
        assert mix.pour.ice_g > 0
        assert f"needs ice: {mix.pour.ice_g:g} g of ice" in out
        assert "Topping: 12.828 kg of sesame seeds" in out  # 2138 pieces of 6 g
        assert "nothing to pour" not in out
        ready = out.split("To have ready")[1]
        assert printed_weights(ready, "salt") == pytest.approx([plan.ingredients_g["salt"]])

    def test_as_json(self, run: Run) -> None:
        code, out, err = run("day", HARBOUR, "--json")
        assert (code, err) == (0, "")
        assert json.loads(out) == harbour_tables()

    def test_with_its_working(self, run: Run) -> None:
        out = run("day", HARBOUR, "--working")[1]
        plan = harbour_plan()
        for working in (*(bread.working() for bread in plan.breads), plan.working()):
            assert working.text() in out

    def test_a_dough_that_nothing_is_poured_into_and_one_without_a_temperature(self, run: Run, folder: Path) -> None:
        change(folder / "breads" / "ballast-tin.toml", 'dough_temperature = "26 °C"\n', "")
        change(folder / "breads" / "gull-bun.toml", '"whole milk" = 52\n', "")
        out = run("day", folder)[1]
        assert "nothing to pour" in out
        tin = out.split("\nBallast Tin\n")[1].split("\nEmber Flat\n")[0]
        assert "°C" not in tin
        milky = run("day", HARBOUR)[1]
        assert "mix 1 of 1, 1460 pieces: liquid at" in milky

    def test_water_beside_other_liquid(self, run: Run, folder: Path) -> None:
        change(folder / "breads" / "gull-bun.toml", '"whole milk" = 52\n', '"whole milk" = 32\nwater = 20\n')
        assert "water and other liquid at" in run("day", folder)[1]


class TestScale:
    @pytest.mark.parametrize(
        ("options", "asked"),
        [
            (("--dough", "93 kg"), {"dough": "93 kg"}),
            (("--flour", "50 lb"), {"flour": "50 lb"}),
            (("--pieces", "120", "--piece", "1 kg"), {"pieces": 120, "piece": "1 kg"}),
            (("--pieces", "120", "--baked", "800 g"), {"pieces": 120, "baked": "800 g"}),
            (("--using", "water = 9 kg", "--using", "salt=1 kg"), {"using": {"water": "9 kg", "salt": "1 kg"}}),
        ],
    )
    def test_as_json_it_is_the_library_s(self, run: Run, options: tuple[str, ...], asked: dict[str, Any]) -> None:
        code, out, err = run("scale", RYE, *options, "--round", "5 g", "--json")
        assert (code, err) == (0, "")
        batch: Batch = load(RYE).scale(**asked).rounded("5 g")
        found = json.loads(out)
        assert found["bread"] == "Lighthouse Rye"
        assert (found["dough_g"], found["flour_g"]) == (batch.dough_g, batch.flour_g)
        assert (found["pieces"], found["scaling_weight_g"], found["baked_g"]) == (
            batch.pieces,
            batch.piece_g,
            batch.baked_g,
        )
        rows = [(row["name"], row["percent"], row["mass_g"]) for row in found["overall"]]
        assert rows == [(row.name, row.percent, row.mass_g) for row in batch.rows]
        for name, stage in batch.stages.items():
            rows = [(row["name"], row["percent"], row["mass_g"]) for row in found["stages"][name]]
            assert rows == [(row.name, row.percent, row.mass_g) for row in stage.rows]
        assert found["cautions"] == [{"code": caution.code, "text": caution.text} for caution in batch.cautions]

    def test_its_sheets(self, run: Run) -> None:
        code, out, err = run("scale", RYE, "--pieces", 120, "--baked", "800 g", "--round", "5 g")
        assert (code, err) == (0, "")
        batch = load(RYE).scale(pieces=120, baked="800 g").rounded("5 g")
        assert "120 pieces of" in out
        assert "800 g each when sold" in out
        sour, final = out.split("\nfinal ")
        assert printed_weights(sour, "taken back out") == [batch.stages["rye sour"].returned_g]
        assert printed_weights(final, "rye sour") == [batch.mass_g("rye sour", stage="final")]
        assert printed_weights(final, "together") == pytest.approx([batch.dough_g])

    @pytest.mark.parametrize(("unit", "grams"), [("g", 1.0), ("kg", 1000.0), ("oz", 28.349523125), ("lb", 453.59237)])
    def test_units(self, run: Run, unit: str, grams: float) -> None:
        out = run("scale", QUAY, "--flour", "9 kg", "--unit", unit)[1]
        final = out.split("\nfinal ")[1]
        batch = load(QUAY).scale(flour="9 kg")
        assert printed_weights(final, "salt") == pytest.approx([batch.mass_g("salt")], rel=1e-5)
        assert f" {batch.mass_g('salt') / grams:g} {unit} " in final
        assert ("kg" in out) == (unit in ("kg", "g"))

    def test_with_its_working(self, run: Run) -> None:
        out = run("scale", QUAY, "--dough", "93 kg", "--working")[1]
        assert load(QUAY).scale(dough="93 kg").working().text() in out

    def test_cautions(self, run: Run) -> None:
        code, out, _ = run("scale", QUAY, "--dough", "1 g", "--round", "1 kg")
        assert code == 0
        assert "Caution: rounding moves bread flour from 90 % to 0 %" in out

    def test_names_are_shown_as_they_are(self, run: Run, tmp_path: Path) -> None:
        name = "[bold]Round[/bold] :bread: " + "x" * 300
        file = tmp_path / "x.toml"
        file.write_text(
            f'name = "{name}"\n[percent]\n"[red]mix" = 100\n[ingredient."[red]mix"]\nkind = "flour"\n', encoding="utf-8"
        )
        out = run("scale", file, "--dough", "1 kg")[1]
        assert name in out
        assert "[red]mix" in out


class TestWater:
    def test_its_temperature(self, run: Run) -> None:
        code, out, err = run(*WATER)
        assert (code, err) == (0, "")
        assert out == "water 25 °C  (77 °F)\n"

    def test_preferments_and_rise(self, run: Run) -> None:
        options = (
            "--dough",
            "25 °C",
            "--flour",
            "20 °C",
            "--rise",
            "5 K",
            "--preferment",
            "18 °C",
            "--preferment",
            "19 °C",
        )
        out = run("water", *options, "--json")[1]
        found = water_temperature("25 °C", flour="20 °C", rise="5 K", preferments=["18 °C", "19 °C"])
        assert json.loads(out)["water_c"] == found.temperature_c

    def test_ice(self, run: Run) -> None:
        cold = ("water", "--dough", "23 °C", "--flour", "24 °C", "--room", "25 °C", "--friction", "12 K")
        found = water_temperature("23 °C", flour="24 °C", room="25 °C", friction="12 K")
        ice = ice_for("20 kg", tap="18 °C", wanted="8 °C")
        assert found.temperature_c == 8
        code, out, _ = run(*cold, "--water", "20 kg", "--tap", "18 °C")
        assert code == 0
        assert f"ice {ice.ice_g:.6g} g, and {ice.water_g / 1000:.6g} kg of water from the tap" in out
        assert "Caution: Use flake or crushed ice" in out
        answer = json.loads(run(*cold, "--water", "20 kg", "--tap", "18 °C", "--json")[1])
        assert (answer["ice_g"], answer["draw_g"]) == (ice.ice_g, ice.water_g)
        assert (answer["water_c"], answer["water_f"]) == (8, pytest.approx(46.4))
        assert [caution["code"] for caution in answer["cautions"]] == ["clean-ice"]
        worked = run(*cold, "--water", "20 kg", "--tap", "18 °C", "--working")[1]
        assert found.working().text() in worked
        assert ice.working().text() in worked

    def test_no_ice_where_the_tap_is_cold_enough(self, run: Run) -> None:
        code, out, err = run(*WATER, "--water", "20 kg", "--tap", "14 °C", "--working")
        assert (code, err) == (0, "")
        assert "no ice: the tap is cold enough" in out
        answer = json.loads(run(*WATER, "--water", "20 kg", "--tap", "14 °C", "--json")[1])
        assert (answer["ice_g"], answer["draw_g"]) == (0, 20_000)


class TestConvertAndCompare:
    @pytest.mark.parametrize("options", [(), ("--json",), ("--to", "final"), ("--to", "weights", "--flour", "10 kg")])
    def test_what_is_written_reads_back(self, run: Run, options: tuple[str, ...], tmp_path: Path) -> None:
        code, out, err = run("convert", QUAY, *options)
        assert (code, err) == (0, "")
        file = tmp_path / ("x.json" if "--json" in options else "x.toml")
        file.write_text(out, encoding="utf-8")
        assert load(file).percents == pytest.approx(dict(load(QUAY).percents))

    def test_as_a_table(self, run: Run) -> None:
        out = run("convert", QUAY, "--table")[1]
        assert "pre-fermented flour 30 %" in out

    def test_a_table_without_flour_in_the_final_dough(self, run: Run, tmp_path: Path) -> None:
        text = BREAD + '[[stage]]\nname = "sponge"\nflour = 100\n[stage.percent]\n"bread flour" = 100\nwater = 60\n'
        (tmp_path / "x.toml").write_text(text, encoding="utf-8")
        code, out, _ = run("convert", tmp_path / "x.toml", "--table")
        assert code == 0
        assert "The final dough has no flour of its own" in out

    def test_compare(self, run: Run) -> None:
        code, out, err = run("compare", QUAY, RYE)
        assert (code, err) == (0, "")
        assert "Quay Round" in out
        found = json.loads(run("compare", QUAY, RYE, "--json")[1])
        salt = next(line for line in found["overall"] if line["name"] == "salt")
        assert (salt["first_percent"], salt["second_percent"]) == (2, 2)


class TestHelp:
    @pytest.mark.parametrize("command", [(), ("day",), ("scale",), ("water",), ("convert",), ("compare",)])
    @pytest.mark.parametrize("flag", ["--help", "-h"])
    def test_it_is_no_error(self, run: Run, command: tuple[str, ...], flag: str) -> None:
        code, out, err = run(*command, flag)
        assert (code, err) == (0, "")
        assert out.startswith(f"Usage: formula {' '.join(command)}".rstrip())

    def test_version(self, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
        code, out, _ = run("--version")
        assert code == 0
        assert out.startswith("formula, version ")

        def missing(_: str) -> str:
            raise PackageNotFoundError

        monkeypatch.setattr(cli, "version", missing)
        assert cli._version() == "unknown (not installed)"
        monkeypatch.setattr(cli, "version", lambda name: f"{name} 7")
        assert cli._version() == "dough-formula 7"


class TestUsage:
    @pytest.mark.parametrize(
        ("arguments", "text"),
        [
            ((), "Usage: formula"),
            (("bake",), "No such command 'bake'"),
            (("day",), "Missing argument 'FOLDER'"),
            (("day", "a", "b"), "unexpected extra argument"),
            (("day", "a", "--yaml"), "No such option"),
            (("scale",), "Missing argument 'FILE'"),
            (("scale", QUAY, "--pieces", "many"), "'many' is not a valid integer"),
            (("scale", QUAY, "--pieces", "1.5"), "'1.5' is not a valid integer"),
            (("scale", QUAY, "--unit", "stone"), "'stone' is not one of"),
            (("scale", QUAY, "--using", "milk"), "write NAME=WEIGHT"),
            (("scale", QUAY, "--using", "=5 g"), "write NAME=WEIGHT"),
            (("scale", QUAY, "--using", "salt=5 g", "--using", "salt=6 g"), "salt stands twice"),
            (("water", "--flour", "20 °C"), "Missing option '--dough'"),
            ((*WATER, "--tap", "14 °C"), "--water and --tap go together"),
            ((*WATER, "--water", "14 kg"), "--water and --tap go together"),
            (("convert", QUAY, "--to", "loose"), "'loose' is not one of"),
            (("convert", QUAY, "--to", "weights"), "needs --dough or --flour"),
        ],
    )
    def test_wrong_usage_is_2(self, run: Run, arguments: tuple[object, ...], text: str) -> None:
        code, out, err = run(*arguments)
        assert (code, out) == (2, "")
        assert text in err
        assert "Traceback" not in err


BREAD = 'name = "Loaf"\n[percent]\n"bread flour" = 100\nwater = 70\nsalt = 2\n'


class TestBadInput:
    """Exit code 1, nothing printed, and one message that names the file, the table and the key."""

    @pytest.mark.parametrize(
        ("old", "new", "texts"),
        [
            ("= 100", "= 90", ("x.toml: percent: got bread flour 90 = 90, expected flours that sum to 100",)),
            ("= 70", "= -70", ("x.toml: percent.water: got -70",)),
            ("= 70", "= nan", ("x.toml: percent.water: got nan, expected a finite number",)),
            ("= 70", "= inf", ("x.toml: percent.water: got inf, expected a finite number",)),
            ("= 70", '= "70"', ("x.toml: percent.water: got '70', expected a number; write it without quotes",)),
            ("= 70", "= 70,5", ("x.toml: got a TOML mistake", "line 4")),
            ("= 70", "=", ("x.toml: got a TOML mistake", "line 4")),
            ("water", "watter", ("x.toml: percent.ingredient: got 'watter'", "'water'")),
            ("[percent]", "[percents]", ("x.toml: percents: got an unknown key",)),
            ('"Loaf"', '"Loaf"\nweight = "1 kg"', ("x.toml: weight: got an unknown key, expected one of",)),
            ("[percent]", "[weights]", ("x.toml: weights.bread flour: got 100, expected", "write text with a unit")),
            (
                '"Loaf"',
                '"Loaf"\nreject = "0,5 %"',
                ("x.toml: reject: got '0,5 %'", "a decimal point, not a comma: '0.5 %'"),
            ),
            ('"Loaf"', '"Loaf"\ndough_temperature = "25 g"', ("x.toml: dough_temperature: got '25 g'",)),
            ('"Loaf"', '"Loaf"\ndough_temperature = "25"', ("x.toml: dough_temperature: got '25'", "add the unit")),
        ],
    )
    def test_a_bread(self, run: Run, old: str, new: str, texts: tuple[str, ...], tmp_path: Path) -> None:
        file = tmp_path / "x.toml"
        file.write_text(BREAD, encoding="utf-8")
        change(file, old, new)
        self.refused(run("scale", file, "--dough", "1 kg"), *texts)

    @pytest.mark.parametrize(
        ("name", "old", "new", "texts"),
        [
            ("orders", 'bread = "quay-round"', 'bread = "quay"', ("orders.toml: order[0].bread: got 'quay'", "quay-round")),
            ("orders", "pieces = 1700", "pieces = 0", ("orders.toml: order[0] (Quay Round: pieces): got 0",)),
            ("orders", "pieces = 1700", "pieces = -5", ("orders.toml: order[0] (Quay Round: pieces): got -5",)),
            ("orders", "pieces = 1700", "pieces = 1.5", ("orders.toml: order[0].pieces: got 1.5",)),
            ("orders", "pieces = 1700", 'pieces = "1700"', ("orders.toml: order[0].pieces: got '1700'",)),
            ("orders", 'baked = "800 g"', 'baked = "800"', ("orders.toml: order[0].baked: got '800'", "add the unit")),
            ("orders", 'baked = "800 g"', "baked = 800", ("orders.toml: order[0].baked: got 800",)),
            ("orders", 'baked = "800 g"', 'baked = "0,8 kg"', ("orders.toml: order[0].baked: got '0,8 kg'", "0.8 kg")),
            ("orders", 'baked = "800 g"', 'baked = "800 mL"', ("orders.toml: order[0].baked: got '800 mL'", "a volume")),
            ("orders", 'baked = "800 g"', 'baked = "0 g"', ("orders.toml: order[0] (Quay Round: baked): got 0 g",)),
            ("orders", 'baked = "1 kg"', 'baked = "1 t"', ("orders.toml: order[3] (Lighthouse Rye: baked)", "a mixer holds")),
            ("orders", 'due = "05:30"', 'due = "5:30"', ("orders.toml: order[0] (Quay Round: due): got '5:30'",)),
            ("orders", "spares = 6", "spares = true", ("orders.toml: order[0].spares: got True",)),
            ("orders", "spares = 6", "spare = 6", ("orders.toml: order[0].spare: got an unknown key",)),
            ("bakery", 'flour = "21 °C"', 'flour = "21 K/h"', ("bakery.toml: temperature.flour: got '21 K/h'",)),
            ("bakery", 'tap = "14 °C"', 'tap = "-14 °C"', ("bakery.toml: tap: got -14 °C",)),
            ("bakery", 'capacity = "160 kg"', 'capacity = "-160 kg"', ("bakery.toml: mixer[0].capacity: got '-160 kg'",)),
            ("bakery", 'capacity = "160 kg"', "", ("bakery.toml: mixer[0].capacity: got nothing, expected the key 'capacity'",)),
            ("bakery", 'default = "10 g"', 'default = "0 g"', ("bakery.toml: steps: default: got 0 g",)),
            ("bakery", 'default = "10 g"', "", ("bakery.toml: steps: got no default",)),
            ("bakery", "[steps]", "[step]", ("bakery.toml: step: got an unknown key",)),
        ],
    )  # fmt: skip
    def test_a_day(self, run: Run, folder: Path, name: str, old: str, new: str, texts: tuple[str, ...]) -> None:
        change(folder / f"{name}.toml", old, new)
        self.refused(run("day", folder), *texts)

    def test_all_faults_at_once(self, run: Run, folder: Path) -> None:
        change(folder / "orders.toml", "pieces = 1700", "pieces = 0")
        change(folder / "bakery.toml", 'divider = "5 g"', 'divider = "0 g"')
        change(folder / "breads" / "quay-round.toml", "water = 69", "watter = 69")
        change(folder / "breads" / "gull-bun.toml", "egg = 8", 'egg = "8"\nmilk = true')
        found = run("day", folder)
        self.refused(found, "4 faults", "bakery.toml", "quay-round.toml", "gull-bun.toml: percent.egg", "percent.milk")

    def test_an_empty_order(self, run: Run, folder: Path) -> None:
        (folder / "orders.toml").write_text("", encoding="utf-8")
        self.refused(run("day", folder), "orders.toml: got no orders, expected at least one [[order]] table")

    def test_a_folder_that_is_not_there(self, run: Run, tmp_path: Path) -> None:
        self.refused(run("day", tmp_path / "nowhere"), "nowhere: got no folder")
        (tmp_path / "file").write_text("", encoding="utf-8")
        self.refused(run("day", tmp_path / "file"), "file: got no folder")
        self.refused(run("scale", tmp_path / "x.toml", "--dough", "1 kg"), "x.toml: got nothing")
        self.refused(run("scale", tmp_path, "--dough", "1 kg"), "not a file")

    @pytest.mark.parametrize("name", ["orders.toml", "bakery.toml", "breads/quay-round.toml"])
    def test_a_file_that_is_not_text(self, run: Run, folder: Path, name: str) -> None:
        (folder / name).write_bytes("name = 'brûlé'".encode("latin-1"))
        self.refused(run("day", folder), f"{name}: got a byte that is not UTF-8")

    @pytest.mark.parametrize("name", ["orders.toml", "bakery.toml", "breads/quay-round.toml"])
    def test_a_file_of_50_mb(self, run: Run, folder: Path, name: str) -> None:
        with (folder / name).open("wb") as file:
            file.truncate(50_000_000)
        self.refused(run("day", folder), f"{name}: got 50.0 MB, expected at most 1 MB")

    @pytest.mark.parametrize(
        ("options", "text"),
        [
            ((), "scale: got nothing, expected one of dough="),
            (("--dough", "1 kg", "--flour", "1 kg"), "got dough and flour"),
            (("--dough", "0 g"), "dough: got 0 g"),
            (("--dough", "-1 kg"), "dough: got '-1 kg'"),
            (("--dough", "93"), "add the unit"),
            (("--dough", "93,5 kg"), "'93.5 kg'"),
            (("--flour", "nan g"), "must be finite"),
            (("--pieces", "0", "--piece", "1 kg"), "pieces: got 0"),
            (("--pieces", "5"), "neither a piece weight nor a baked weight"),
            (("--using", "milk=5 g"), "'milk', expected one of its lines"),
            (("--using", "salt=5"), "using: salt: got '5'"),
            (("--dough", "1 kg", "--round", "0 g"), "steps: default: got a step of 0 g"),
        ],
    )
    def test_options_of_scale(self, run: Run, options: tuple[str, ...], text: str) -> None:
        self.refused(run("scale", QUAY, *options), text)

    @pytest.mark.parametrize(
        ("options", "text"),
        [
            (("--dough", "25 C"), "write the degree sign"),
            (("--dough", "25 kg"), "kg is a unit of a mass"),
            (("--rise", "3 K"), "got both"),
            (("--preferment", "x"), "preferment"),
            (("--water", "20", "--tap", "14 °C"), "water: got '20'"),
            (("--water", "20 kg", "--tap", "14"), "tap: got '14'"),
            (("--dough", "-60 °C", "--water", "20 kg", "--tap", "14 °C"), "the coldest that ice alone can stand for"),
        ],
    )
    def test_options_of_water(self, run: Run, options: tuple[str, ...], text: str) -> None:
        self.refused(run(*WATER, *options), text)

    @staticmethod
    def refused(found: tuple[int, str, str], *texts: str) -> None:
        code, out, err = found
        assert (code, out) == (1, "")
        assert "Traceback" not in err
        for text in texts:
            assert text in err
        # One message: a line, or a heading with a line for each fault.
        first, *others = err.splitlines()
        assert not others or (first.endswith(" faults:") and all(line.startswith("  - ") for line in others))


class TestEndings:
    """How a run ends that does not come to its end."""

    @pytest.mark.parametrize(
        ("error", "code", "text"),
        [
            (BrokenPipeError(), 0, ""),
            (SystemExit(1), 0, ""),
            (click.Abort(), 1, ""),
            (click.exceptions.Exit(3), 3, ""),
            (OSError(errno.ENOSPC, "No space left on device"), 1, "the output: No space left on device\n"),
            (PermissionError(errno.EACCES, "Permission denied", "x.toml"), 1, "x.toml: Permission denied\n"),
        ],
    )
    def test_each(self, run: Run, error: BaseException, code: int, text: str, monkeypatch: pytest.MonkeyPatch) -> None:
        def fail(*_: object) -> None:
            raise error

        monkeypatch.setattr(cli, "load", fail)
        assert run("scale", QUAY, "--dough", "1 kg") == (code, "", text)

    def test_without_any_output(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(sys, "stdout", None)
        monkeypatch.setattr(sys, "stderr", None)
        assert cli.run(["scale", str(QUAY), "--dough", "1 kg"]) == 0
        assert cli.run(["scale", str(QUAY), "--dough", "0 kg"]) == 1

    @pytest.mark.parametrize(
        "arguments", [("day", HARBOUR), ("day", HARBOUR, "--json"), WATER, (*WATER, "--flour", "-20 °C", "--json")]
    )
    def test_an_output_that_knows_no_degree_sign(
        self, arguments: tuple[object, ...], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        buffer = io.BytesIO()
        monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(buffer, encoding="ascii"))
        assert cli.run([str(argument) for argument in arguments]) == 0
        text = buffer.getvalue().decode("ascii")
        if "--json" in arguments:
            assert json.loads(text)
        else:
            assert "\\xb0C" in text

    @pytest.mark.parametrize("width", ["20", "50", "80"])
    def test_a_narrow_terminal_cuts_nothing(self, run: Run, width: str, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
        for name, value in (("COLUMNS", width), ("TERM", "xterm"), ("NO_COLOR", "1")):
            monkeypatch.setenv(name, value)
        code, drawn, _ = run("day", HARBOUR)
        out = re.sub(r"\x1b\[[0-9;]*m", "", drawn)
        assert code == 0
        assert "…" not in out
        for name in harbour_plan().ingredients_g:
            assert f"\n{name} " in out


class TestAsAProgram:
    """The same in a process of its own, as a shell starts it."""

    def test_day(self) -> None:
        ran = run_fresh("-m", "formula", "day", str(HARBOUR))
        assert (ran.returncode, ran.stderr) == (0, "")
        assert ran.stdout.startswith("Harbour Bakery, Old Quay\n")
        assert "…" not in ran.stdout

    def test_json(self) -> None:
        ran = run_fresh("-m", "formula", "day", str(HARBOUR), "--json")
        assert json.loads(ran.stdout) == harbour_tables()

    @pytest.mark.parametrize(
        ("arguments", "code"), [(("--help",), 0), (("bake",), 2), ((), 2), (("day", "nowhere"), 1), (("day",), 2)]
    )
    def test_exit_codes(self, arguments: tuple[str, ...], code: int) -> None:
        ran = run_fresh("-m", "formula", *arguments)
        assert ran.returncode == code
        assert "Traceback" not in ran.stderr

    def test_a_pipe_does_not_break_or_cut_lines(self, tmp_path: Path) -> None:
        name, line = "Round " * 60 + "end", "mix " * 60 + "end"
        bread = Formula.from_percents(name, {"bread flour": 100})
        text = f'name = "{bread.name}"\n[percent]\n"{line}" = 100\nwater = 70\n[ingredient."{line}"]\nkind = "flour"\n'
        (tmp_path / "x.toml").write_text(text, encoding="utf-8")
        ran = run_fresh("-m", "formula", "scale", str(tmp_path / "x.toml"), "--dough", "1 kg", "--working")
        assert ran.returncode == 0
        assert name in ran.stdout.splitlines()
        assert any(row.startswith(line) and row.endswith("588.235 g          100 %") for row in ran.stdout.splitlines())

    @pytest.mark.parametrize("arguments", [("day", HARBOUR), ("day", HARBOUR, "--json"), ("--help",), WATER])
    def test_a_reader_that_has_gone(self, arguments: tuple[object, ...]) -> None:
        code = """
import os, subprocess, sys
reading, writing = os.pipe()
os.close(reading)
ran = subprocess.run([sys.executable, "-m", "formula", *sys.argv[1:]], stdout=writing, stderr=subprocess.PIPE)
print(ran.returncode, ran.stderr)
"""
        ran = run_fresh("-c", code, *map(str, arguments))
        assert ran.stdout == "0 b''\n"

    @pytest.mark.skipif(not Path("/dev/full").exists(), reason="only Linux has a device that is always full")
    def test_a_full_disk(self) -> None:
        code = """
import subprocess, sys
with open("/dev/full", "wb") as full:
    ran = subprocess.run([sys.executable, "-m", "formula", *sys.argv[1:]], stdout=full, stderr=subprocess.PIPE)
print(ran.returncode, ran.stderr)
"""
        ran = run_fresh("-c", code, "day", str(HARBOUR))
        assert ran.stdout == "1 b'the output: No space left on device\\n'\n"

    @pytest.mark.parametrize(
        ("missing", "words"), [(["click"], "click"), (["rich"], "rich"), (["click", "rich"], "click and rich")]
    )
    def test_without_its_packages_it_prints_the_install_line(self, missing: list[str], words: str) -> None:
        code = f"""
import sys
for package in {missing!r}:
    sys.modules[package] = None
from formula.__main__ import main
code = main()
assert "formula.cli" not in sys.modules
sys.exit(code)
"""
        ran = run_fresh("-c", code, "day", str(HARBOUR))
        assert (ran.returncode, ran.stdout) == (2, "")
        assert ran.stderr == f"the command line needs {words}: pip install 'dough-formula[cli]'\n"

    def test_nothing_is_half_written(self, folder: Path) -> None:
        before = {file: file.read_bytes() for file in folder.rglob("*") if file.is_file()}
        change(folder / "bakery.toml", 'divider = "5 g"', 'divider = "0 g"')
        ran = run_fresh("-m", "formula", "day", str(folder), folder=folder)
        assert (ran.returncode, ran.stdout) == (1, "")
        assert {file for file in folder.rglob("*") if file.is_file()} == set(before)


class TestTheDoor:
    """What the console script calls."""

    def test_it_runs_the_command_line(
        self, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
    ) -> None:
        monkeypatch.setattr(sys, "argv", ["formula", *WATER])
        assert main() == 0
        assert capsys.readouterr().out == "water 25 °C  (77 °F)\n"

    def test_it_looks_for_its_packages(
        self, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
    ) -> None:
        monkeypatch.setattr("formula.__main__.find_spec", lambda _: None)
        assert main() == 2
        assert capsys.readouterr().err == "the command line needs click and rich: pip install 'dough-formula[cli]'\n"


class TestUnitsAndHeldBack:
    def test_the_day_in_pounds(self, run: Run) -> None:
        code, out, _ = run("day", HARBOUR, "--unit", "lb")
        assert code == 0
        assert " lb" in out
        assert not re.search(r"[0-9] k?g\b", out.split("For the whole day")[0].split("Caution")[0])

    def test_what_is_held_back_is_shown(self, run: Run, folder: Path) -> None:
        file = folder / "breads" / "ember-flat.toml"
        change(file, "[losses]", "[later]\nwater = 10\n\n[losses]")
        _, out, _ = run("scale", file, "--flour", "10 kg")
        assert "held back and added later: 1000 g of water" in out
        _, out, _ = run("day", folder)
        assert "held back and added later: " in out

    @pytest.mark.parametrize(
        "options", [("scale", QUAY, "--dough", "1 kg", "--minimum", "1 g"), ("convert", QUAY, "--dough", "1 kg")]
    )
    def test_options_that_would_do_nothing(self, run: Run, options: tuple[object, ...]) -> None:
        code, out, err = run(*options)
        assert (code, out) == (2, "")
        assert "with --" in err
