"""Formula files: what is written reads back, the schema knows what is read, and a bad file is told of in full."""

import errno
import json
import os
import re
import stat
import tomllib
from collections.abc import Callable, Iterator
from importlib.resources import files as resources
from pathlib import Path
from typing import Any, Self

import jsonschema
import pytest
from attrs import fields
from hypothesis import given
from hypothesis import strategies as st

from formula.catalogue import Catalogue
from formula.errors import ContradictionError, FileError, FormulaError, UnknownNameError
from formula.files import dump, from_tables, load, write_whole
from formula.formula import Formula
from formula.ingredient import ALLERGENS, FIGURES, INGREDIENT_KINDS, Ingredient
from formula.layout import NOTATIONS, to_json, to_tables, to_toml
from formula.losses import Losses
from formula.stage import Culture, Stage
from tests.laws.strategies import Written, written

HARBOUR = sorted((Path(__file__).parents[1] / "docs" / "examples" / "harbour" / "breads").glob("*.toml"))
SCHEMA = json.loads((resources("formula") / "formula-file.schema.json").read_text(encoding="utf-8"))
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)

LARDER = Catalogue().adding(
    Ingredient('harbour "mix"', kind="flour", also=["mix"], water_g=13.0, allergens=["wheat"], household={"1 cup": 120})
)
FULL = Formula.from_percents(
    'Größe "1" \\ of\tall',
    {'harbour "mix"': 60, "bread flour": 40, "water": 70.123456789, "rye meal": 10, "salt": 2, "fresh yeast": 1e-5},
    stages=[
        Stage("levain", {"bread flour": 100, "water": 60, "build": 12.5}, flour="20 %", keep=1.5, kind="preferment"),
        Stage(
            "build",
            {"bread flour": 100, "water": 60, "culture": 7},
            culture=Culture("split", {"bread flour": 100, "water": 1}),
        ),
        Stage("hot scald", {"rye meal": 100, "water": 200}, takes=("rye meal", "50 %"), base="rye meal", boiled_off=3),
        Stage("small soaker", {"bread flour": 100, "water": 50}, weight_on_final="3 %"),
        Stage("autolyse", {"bread flour": 100, "water": 50}, weight="3 %"),
    ],
    flours=['harbour "mix"', "bread flour"],
    catalogue=LARDER,
    losses=Losses(handling="1.5 %", bake="11.25 %", combine="add", on="bread"),
    dough_temperature="77 °F",
    toppings={"sesame seeds": "6 g"},
    later={"water": 5},
    reject="0.5 %",
)


def told(make: Callable[[], object]) -> str:
    with pytest.raises(FormulaError) as caught:
        make()
    return str(caught.value)


def same_order(one: Formula, other: Formula) -> bool:
    def orders(bread: Formula) -> Iterator[list[str]]:
        yield list(bread.percents)
        yield [stage.name for stage in bread.stages]
        for stage in bread.stages:
            yield list(stage.percents)
        yield [*bread.toppings_g, *bread.later]

    return list(orders(one)) == list(orders(other))


class TestRoundTrip:
    """A formula that is written and read again is the same formula, line by line in the same order."""

    @pytest.mark.parametrize("ending", ["toml", "json", "JSON"])
    @pytest.mark.parametrize("bread", [FULL, *map(load, HARBOUR)], ids=lambda bread: bread.name[:12])
    def test_through_a_file(self, bread: Formula, ending: str, tmp_path: Path) -> None:
        file = tmp_path / f"bread.{ending}"
        dump(bread, file)
        assert load(file) == bread
        assert same_order(load(file), bread)

    @given(written())
    def test_of_any_bread(self, drawn: Written) -> None:
        bread = drawn.formula()
        for again in (
            from_tables(tomllib.loads(to_toml(bread)), "file"),
            from_tables(json.loads(to_json(bread)), "file"),
        ):
            assert again == bread
            assert same_order(again, bread)

    @given(st.text(min_size=1).filter(lambda text: text.strip() and text.isprintable() and text == text.strip()))
    def test_of_any_name(self, name: str) -> None:
        larder = Catalogue().adding(Ingredient(f"x{name}", kind="other"))
        lines = {"bread flour": 100, f"x{name}": 3}
        stage = Stage(f"y{name}", {"bread flour": 100, f"x{name}": 1}, flour="10 %")
        bread = Formula.from_percents(name, lines, stages=[stage], catalogue=larder)
        assert from_tables(tomllib.loads(to_toml(bread)), "file") == bread
        assert from_tables(json.loads(to_json(bread)), "file") == bread

    @given(st.floats(0, 1e12, allow_subnormal=True))
    def test_of_any_number(self, percent: float) -> None:
        bread = Formula.from_percents("x", {"bread flour": 100, "water": percent})
        assert from_tables(tomllib.loads(to_toml(bread)), "file").percent("water") == percent
        assert from_tables(json.loads(to_json(bread)), "file").percent("water") == percent

    def test_a_byte_order_mark_is_no_part_of_it(self, tmp_path: Path) -> None:
        for ending, text in (("toml", to_toml(FULL)), ("json", to_json(FULL))):
            (tmp_path / f"x.{ending}").write_text(text, encoding="utf-8-sig")
            assert load(tmp_path / f"x.{ending}") == FULL


class TestNotations:
    def test_weights_and_final_doughs_are_read(self, tmp_path: Path) -> None:
        text = 'name = "x"\n[{}]\n"bread flour" = {}\nwater = {}\n'
        read: list[Formula] = []
        for key, flour, water in (
            ("weights", '"1 kg"', '"700 g"'),
            ("final", 100, 70),
            ("final_weights", '"1 kg"', '"0.7 kg"'),
        ):
            (tmp_path / "x.toml").write_text(text.format(key, flour, water), encoding="utf-8")
            read.append(load(tmp_path / "x.toml"))
        assert {bread.percent("water") for bread in read} == {70}

    def test_a_final_dough_with_its_poolish(self) -> None:
        data = {
            "name": "x",
            "final": {"bread flour": 100, "water": 55, "poolish": 90},
            "stage": [{"name": "poolish", "weights": {"bread flour": "1 lb", "water": "1 lb"}}],
        }
        assert VALIDATOR.is_valid(data)
        assert from_tables(data, "x").percent("water") == pytest.approx(100 * 100 / 145)

    def test_the_wrong_word_for_one(self) -> None:
        assert "one of overall, final, percent, weights" in told(lambda: to_tables(FULL, "loose"))
        assert "weights without a batch" in told(lambda: to_toml(FULL, "weights"))


class TestSchema:
    def test_it_is_one(self) -> None:
        jsonschema.Draft202012Validator.check_schema(SCHEMA)

    @pytest.mark.parametrize("file", HARBOUR, ids=lambda file: file.stem)
    def test_the_harbour_breads(self, file: Path) -> None:
        VALIDATOR.validate(tomllib.loads(file.read_text(encoding="utf-8")))

    def test_every_key_there_is(self) -> None:
        VALIDATOR.validate(to_tables(FULL))
        assert set(to_tables(FULL)) == set(SCHEMA["properties"]) - {
            "weights",
            "final",
            "final_weights",
            "total",
            "total_percent",
        }

    @given(written(), st.sampled_from(NOTATIONS))
    def test_every_dumped_formula(self, drawn: Written, notation: str) -> None:
        bread = drawn.formula()
        batch = bread.scale(dough="100 kg") if notation == "weights" else None
        VALIDATOR.validate(to_tables(bread, notation, batch))
        VALIDATOR.validate(tomllib.loads(to_toml(bread, notation, batch)))

    def test_its_ingredient_is_the_larder_s(self) -> None:
        ingredient = SCHEMA["$defs"]["ingredient"]
        figures = {name for pattern in ingredient["patternProperties"] for name in pattern[2:-2].split("|")}
        assert figures == set(FIGURES)
        assert figures | set(ingredient["properties"]) == {field.name for field in fields(Ingredient)} - {"name"}
        assert ingredient["properties"]["kind"]["enum"] == list(INGREDIENT_KINDS)
        assert ingredient["properties"]["allergens"]["items"]["enum"] == list(ALLERGENS)
        for pattern, rule in ingredient["patternProperties"].items():
            assert {FIGURES[name] for name in pattern[2:-2].split("|")} == {rule["maximum"]}

    @pytest.mark.parametrize("text", ["93 kg", "250g", "1 lb 8 oz", "0.5 oz", "1.5e+05 g", "2 mg", "1 t"])
    def test_weights(self, text: str) -> None:
        data = {"name": "x", "weights": {"bread flour": text}}
        assert VALIDATOR.is_valid(data)
        assert from_tables(data, "x").percent("bread flour") == pytest.approx(100)


GOOD: dict[str, Any] = {"name": "Loaf", "percent": {"bread flour": 100, "water": 70, "salt": 2}}
BIGA = {"name": "biga", "flour": 30, "percent": {"bread flour": 100, "water": 55}}

WRONG: dict[str, tuple[dict[str, Any], str]] = {
    "no name": ({"percent": {"bread flour": 100}}, "'name'"),
    "blank name": (GOOD | {"name": "  "}, "name: got '  '"),
    "a number for a name": (GOOD | {"name": 5}, "x.toml: name: got 5, expected text"),
    "an unknown key": (GOOD | {"losess": {}}, "x.toml: losess: got an unknown key, expected one of"),
    "an unknown key in a stage": (GOOD | {"stage": [BIGA | {"flower": 5}]}, "x.toml: stage[0].flower: got an unknown key"),
    "an unknown loss": (GOOD | {"losses": {"oven": "5 %"}}, "x.toml: losses.oven: got an unknown key"),
    "no lines": ({"name": "Loaf"}, "no lines"),
    "empty lines": (GOOD | {"percent": {}}, "no lines"),
    "two lists": (GOOD | {"final": {"bread flour": 100}}, "percent and final"),
    "a number in quotes": ({"name": "x", "percent": {"bread flour": "100"}}, "x.toml: percent.bread flour: got '100'"),
    "true for a number": ({"name": "x", "percent": {"bread flour": True}}, "x.toml: percent.bread flour: got True"),
    "a negative number": (GOOD | {"percent": {"bread flour": 100, "water": -70}}, "x.toml: percent.water: got -70"),
    "a number out of reach": (GOOD | {"percent": {"bread flour": 100, "water": 1e300}}, "percent.water: got 1e+300"),
    "a list for a table": (GOOD | {"percent": ["bread flour"]}, "x.toml: percent"),
    "a weight without its unit": ({"name": "x", "weights": {"bread flour": 12}}, "x.toml: weights.bread flour: got 12"),
    "no unit": ({"name": "x", "weights": {"bread flour": "12"}}, "weights.bread flour: got '12', expected a mass; add the"),
    "a decimal comma": ({"name": "x", "weights": {"bread flour": "1,5 kg"}}, "x.toml: weights.bread flour: got '1,5 kg'"),
    "a negative weight": ({"name": "x", "weights": {"bread flour": "-1 kg"}}, "cannot be less than zero"),
    "an infinite weight": ({"name": "x", "weights": {"bread flour": "inf kg"}}, "must be finite"),
    "a weight that is none": ({"name": "x", "weights": {"bread flour": "nan g"}}, "must be finite"),
    "the wrong dimension": (GOOD | {"toppings": {"flaxseed": "5 °C"}}, "x.toml: toppings.flaxseed: got '5 °C'"),
    "a temperature in grams": (GOOD | {"dough_temperature": "25 g"}, "x.toml: dough_temperature: got '25 g'"),
    "a bare temperature": (GOOD | {"dough_temperature": 25}, "x.toml: dough_temperature: got 25"),
    "a temperature without its degrees": (GOOD | {"dough_temperature": "25 C"}, "write the degree sign"),
    "a share in grams": (GOOD | {"reject": "1 g"}, "x.toml: reject: got '1 g'"),
    "a bare loss": (GOOD | {"losses": {"bake": 11}}, "x.toml: losses.bake: got 11"),
    "an unknown way to combine": (GOOD | {"losses": {"combine": "mix"}}, "x.toml: losses.combine: got 'mix'"),
    "an unknown base of losses": (GOOD | {"losses": {"on": "flour"}}, "x.toml: losses.on: got 'flour'"),
    "two sizes": (GOOD | {"stage": [BIGA | {"weight": 5}]}, "x.toml: stage biga: got flour and weight together"),
    "a negative size": (GOOD | {"stage": [BIGA | {"flour": -5}]}, "x.toml: stage biga: flour: got -5"),
    "takes of two": (GOOD | {"stage": [{**BIGA, "flour": None, "takes": {"salt": 5, "water": 5}}]}, "2 ingredients"),
    "a stage without lines": (GOOD | {"stage": [{"name": "biga", "flour": 30}]}, "x.toml: stage biga: got no lines"),
    "a stage without a name": (GOOD | {"stage": [{"flour": 30, "percent": {"bread flour": 100}}]}, "'name'"),
    "a stage called final": (GOOD | {"stage": [BIGA | {"name": "final"}]}, "the final dough is the stage called final"),
    "an unknown kind": (GOOD | {"stage": [BIGA | {"kind": "levain"}]}, "x.toml: stage biga: kind: got 'levain'"),
    "an unknown convention": (
        GOOD | {"stage": [BIGA | {"culture": {"counted": "twice"}}]}, "x.toml: stage biga: culture: got 'twice'",
    ),
    "a table for a list": (GOOD | {"stage": BIGA}, "x.toml: stage: got a table, expected a list"),
    "text for a list": (GOOD | {"flours": "bread flour"}, "x.toml: flours: got 'bread flour', expected a list"),
    "an unknown kind of ingredient": (
        GOOD | {"ingredient": {"harbour mix": {"kind": "flower"}}}, "harbour mix: kind: got 'flower'",
    ),
    "an unknown key of an ingredient": (
        GOOD | {"ingredient": {"harbour mix": {"kind": "flour", "colour": 5}}}, "harbour mix: colour: got an unknown key",
    ),
    "an ingredient of too much": (
        GOOD | {"ingredient": {"harbour mix": {"kind": "flour", "water_g": 120}}}, "harbour mix: water_g: got 120",
    ),
}  # fmt: skip

WRONG_FOR_LOAD_ALONE: dict[str, tuple[dict[str, Any], str, type[FormulaError]]] = {
    "flours that do not sum to 100": (
        {"name": "x", "percent": {"bread flour": 90, "water": 70}}, "x.toml: percent: got bread flour 90 = 90, expected",
        FormulaError,
    ),
    "flours that look like fractions": (
        {"name": "x", "percent": {"bread flour": 1, "water": 0.7}}, "x.toml: percent: got bread flour 1 = 1", FormulaError,
    ),
    "an unknown ingredient": (
        {"name": "x", "percent": {"bread flour": 100, "watter": 70}}, "x.toml: percent.ingredient: got 'watter'",
        UnknownNameError,
    ),
    "an unknown topping": (
        GOOD | {"toppings": {"seedz": "5 g"}}, "x.toml: toppings.ingredient: got 'seedz'", UnknownNameError,
    ),
    "an unknown ingredient of a stage": (
        GOOD | {"stage": [BIGA | {"percent": {"flower": 100}}]}, "x.toml: stage biga: ingredient: got 'flower'",
        UnknownNameError,
    ),
    "no flour": ({"name": "x", "weights": {"water": "1 kg"}}, "x.toml: weights: got no flour among water", FormulaError),
    "a final dough that does not sum to 100": (
        {"name": "x", "final": {"bread flour": 50, "p": 9}, "stage": [{"name": "p", "percent": {"bread flour": 100}}]},
        "x.toml: final: got bread flour 50 = 50", FormulaError,
    ),
    "all is rejected": (GOOD | {"reject": "100 %"}, "x.toml: reject: got 100%", FormulaError),
    "more later than there is": (GOOD | {"later": {"water": 80}}, "x.toml: later: got 80 % of water", FormulaError),
    "all is lost": (GOOD | {"losses": {"bake": "100 %"}}, "x.toml: losses.bake: got 100 %", FormulaError),
    "all is lost together": (
        GOOD | {"losses": {"bake": "60 %", "cool": "40 %", "combine": "add"}}, "x.toml: losses: got bake 60 %", FormulaError,
    ),
    "more in a stage than there is": (
        GOOD | {"stage": [BIGA | {"flour": 130}]}, "x.toml: final dough: bread flour: got the biga uses 130 %",
        ContradictionError,
    ),
    "percentages and weights that disagree": (
        GOOD | {"weights": {"bread flour": "1000 g", "water": "600 g", "salt": "20 g"}}, "70 % beside 600 g", ContradictionError,
    ),
    "a total that is none": (GOOD | {"total_percent": 160}, "the printed total of 160 %", ContradictionError),
    "a total of what stands on nothing": (
        GOOD | {"stage": [{"name": "p", "flour": 5, "weights": {"water": "5 g"}, "total": "5 g"}]},
        "x.toml: stage p: got no flour", FormulaError,
    ),
    "a stage without a size": (
        GOOD | {"stage": [{"name": "p", "percent": {"bread flour": 100}}]}, "x.toml: stage p: got no size", FormulaError,
    ),
}  # fmt: skip


def without_gaps(data: Any) -> Any:  # noqa: ANN401 - tables
    """A case takes a key away by giving it None."""
    if isinstance(data, dict):
        return {key: without_gaps(value) for key, value in data.items() if value is not None}
    return [without_gaps(value) for value in data] if isinstance(data, list) else data


class TestRefused:
    """What the reader refuses for its form, the schema refuses too; the message names the file, the table and the key."""

    @pytest.mark.parametrize("case", WRONG)
    def test_by_both(self, case: str) -> None:
        data, text = without_gaps(WRONG[case][0]), WRONG[case][1]
        assert not VALIDATOR.is_valid(data)
        found = told(lambda: from_tables(data, "x.toml"))
        assert text in found
        assert "x.toml" in found

    @pytest.mark.parametrize("case", WRONG_FOR_LOAD_ALONE)
    def test_by_the_reader_alone(self, case: str) -> None:
        data, text, kind = WRONG_FOR_LOAD_ALONE[case]
        assert VALIDATOR.is_valid(data)
        with pytest.raises(kind) as caught:
            from_tables(data, "x.toml")
        assert text in str(caught.value)
        assert all(fault.where.startswith("x.toml: ") for fault in caught.value.faults)

    def test_all_faults_at_once(self) -> None:
        form = {
            "name": 5,
            "percent": {"bread flour": "100", "water": True},
            "losess": 1,
            "stage": [{"name": "p", "flour": "30 %", "percent": {}}, {"percent": {"water": None}}],
        }
        assert told(lambda: from_tables(form, "x.toml")).startswith("7 faults")
        meaning = GOOD | {
            "losses": {"bake": "100 %", "on": "flour"},
            "stage": [BIGA | {"weight": 5}, BIGA | {"kind": "levain"}, BIGA | {"culture": {"counted": "twice"}}],
        }
        assert told(lambda: from_tables(meaning, "x.toml")).startswith("5 faults")
        lines = GOOD | {"percent": {"bread flour": -100, "water": -70, "salt": 1e300}}
        assert told(lambda: from_tables(lines, "x.toml")).startswith("3 faults")


class TestBadFiles:
    @pytest.mark.parametrize(
        ("name", "content", "text"),
        [
            ("x.toml", b"name = ", "a TOML mistake"),
            ("x.toml", b"name = 'x'\nname = 'y'", "a TOML mistake"),
            ("x.toml", b"a=" + b"[" * 100_000, "x.toml: got"),
            ("x.toml", b"a = " + b"9" * 5_000, "thousands of digits"),
            ("x.toml", "name = 'Pain brûlé'".encode("latin-1"), "not UTF-8 at position 15"),
            ("x.toml", b"\xff\xfen\x00", "not UTF-8 at position 0"),
            ("x.toml", b"[percent]\nwater = nan\n'bread flour' = inf", "x.toml: percent.water: got nan, expected a finite number"),
            ("x.toml", b"name = 2025-01-01", "x.toml: name: got"),
            ("x.json", b"{", "a JSON mistake"),
            ("x.json", b"[" * 100_000, "about 100000 values"),
            ("x.json", b"[" * 9_900, "a JSON mistake"),
            ("x.json", b'{"a": ' + b"9" * 5_000 + b"}", "a JSON mistake"),
            ("x.json", b"[]", "a list, expected an object"),
            ("x.json", b'{"name": "x", "name": "y"}', "the key name twice"),
            ("x.json", b'{"name": "x", "percent": {"bread flour": NaN}}', "NaN, expected finite"),
            ("x.json", b'{"name": "x", "percent": {"bread flour": -Infinity}}', "-Infinity, expected finite"),
            ("x.json", b'{"name": "x", "percent": {"bread flour": 1e999}}', "got inf, expected a finite number"),
            ("x.json", b'{"name": "\\ud800", "percent": {"bread flour": 100}}', "half a character"),
            ("x.json", b"", "a JSON mistake"),
        ],
    )  # fmt: skip
    def test_content(self, name: str, content: bytes, text: str, tmp_path: Path) -> None:
        (tmp_path / name).write_bytes(content)
        with pytest.raises(FileError) as caught:
            load(tmp_path / name)
        assert text in str(caught.value)
        assert str(tmp_path / name) in str(caught.value)

    @pytest.mark.parametrize("name", ["x.toml", "x.json"])
    def test_a_file_of_50_mb(self, name: str, tmp_path: Path) -> None:
        with (tmp_path / name).open("wb") as file:
            file.truncate(50_000_000)
        with pytest.raises(FileError, match=r"50\.0 MB, expected at most 1 MB"):
            load(tmp_path / name)

    def test_no_file(self, tmp_path: Path) -> None:
        assert "there is no such file" in told(lambda: load(tmp_path / "x.toml"))
        assert "not a file" in told(lambda: load(tmp_path))
        assert "\\x00" in told(lambda: load("a\0b.toml"))

    def test_an_ingredient_only_has_to_say_what_differs(self) -> None:
        data = GOOD | {"ingredient": {"bread flour": {"water_g": 12.5}}}
        assert VALIDATOR.is_valid(data)
        assert from_tables(data, "x").catalogue.find("bread flour").water_g == 12.5


class TestWriting:
    """The old file stays whole until the new one is complete, and nothing is left lying about."""

    def test_over_an_old_file(self, tmp_path: Path) -> None:
        file = tmp_path / "bread.toml"
        file.write_text("old", encoding="utf-8")
        file.chmod(0o600)
        dump(FULL, file)
        assert load(file) == FULL
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
        assert os.listdir(tmp_path) == ["bread.toml"]  # noqa: PTH208 - hidden files too

    def test_a_link_stays_a_link(self, tmp_path: Path) -> None:
        dump(load(HARBOUR[0]), tmp_path / "real.toml")
        (tmp_path / "link.toml").symlink_to(tmp_path / "real.toml")
        dump(FULL, tmp_path / "link.toml")
        assert (tmp_path / "link.toml").is_symlink()
        assert load(tmp_path / "real.toml") == FULL

    def test_a_long_name(self, tmp_path: Path) -> None:
        file = tmp_path / f"{'x' * 250}.toml"
        dump(FULL, file)
        assert load(file) == FULL

    @pytest.mark.parametrize("broken", ["write", "replace", "chmod"])
    def test_a_failing_write(self, broken: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        file = tmp_path / "bread.toml"
        file.write_text("old", encoding="utf-8")

        def full(*_: object, **__: object) -> None:
            raise OSError(errno.ENOSPC, "No space left on device")

        class Full:
            def __init__(self, handle: int) -> None:
                self.handle = handle

            def __enter__(self) -> Self:
                return self

            def __exit__(self, *_: object) -> None:
                os.close(self.handle)

            write = full

        if broken == "write":
            monkeypatch.setattr("formula.files.os.fdopen", lambda handle, *_, **__: Full(handle))
        else:
            monkeypatch.setattr(Path, broken, full)
        with pytest.raises(FileError, match=r"bread\.toml: got no writable file \(No space left on device\)"):
            dump(FULL, file)
        monkeypatch.undo()
        assert file.read_text(encoding="utf-8") == "old"
        assert os.listdir(tmp_path) == ["bread.toml"]  # noqa: PTH208 - hidden files too

    def test_an_interrupted_write(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        file = tmp_path / "bread.toml"
        file.write_text("old", encoding="utf-8")

        def interrupted(*_: object) -> None:
            raise KeyboardInterrupt

        monkeypatch.setattr(Path, "replace", interrupted)
        with pytest.raises(KeyboardInterrupt):
            dump(FULL, file)
        assert file.read_text(encoding="utf-8") == "old"
        assert os.listdir(tmp_path) == ["bread.toml"]  # noqa: PTH208 - hidden files too

    def test_where_nothing_can_be_written(self, tmp_path: Path) -> None:
        assert "no writable file" in told(lambda: dump(FULL, tmp_path / "nowhere" / "x.toml"))
        (tmp_path / "folder.toml").mkdir()
        assert "no writable file" in told(lambda: dump(FULL, tmp_path / "folder.toml"))
        assert os.listdir(tmp_path) == ["folder.toml"]  # noqa: PTH208 - hidden files too

    @pytest.mark.parametrize("ending", ["toml", "json"])
    @pytest.mark.parametrize(
        ("name", "text"),
        [("a\x1b[2J", r"the character '\\x1b'"), ("a\x7f", r"the character '\\x7f'"), ("a" * 1001, "1001 characters")],
    )
    def test_nothing_is_written_that_could_not_be_read(self, name: str, text: str, ending: str, tmp_path: Path) -> None:
        for bread in (
            Formula.from_percents(name, {"bread flour": 100}),
            Formula.from_percents(
                "x", {"bread flour": 100, "water": 60}, stages=[Stage(name, {"bread flour": 100}, flour="5 %")]
            ),
        ):
            assert re.search(text, told(lambda bread=bread: dump(bread, tmp_path / f"x.{ending}")))  # type: ignore[misc]
        assert list(tmp_path.iterdir()) == []

    def test_half_a_character(self, tmp_path: Path) -> None:
        (tmp_path / "x.toml").write_text("old", encoding="utf-8")
        bread = Formula.from_percents("\ud800", {"bread flour": 100})
        assert "half a character" in told(lambda: dump(bread, tmp_path / "x.toml"))
        assert "half a character" in told(lambda: write_whole(tmp_path / "x.toml", "a sheet of \ud800"))
        assert (tmp_path / "x.toml").read_text(encoding="utf-8") == "old"
