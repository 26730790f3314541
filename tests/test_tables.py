"""Reading TOML: what cannot be read, and what does not fit, with its path."""

import math
import os
from pathlib import Path

import pytest
from attrs import Factory, field, frozen

from formula.errors import FileError
from formula.intake import LARGEST_FILE, read_text
from formula.tables import Celsius, Grams, Hours, Kelvins, Millilitres, Share, lay, read_toml

HOT = Celsius(230.0)
AN_HOUR = Hours(1.0)
NO_RISE = Kelvins(0.0)
EMPTY = Millilitres(0.0)


@frozen
class Oven:
    name: str
    loads: int = 1
    heat: Celsius = HOT
    spare: Share | None = None


@frozen
class House:
    name: str
    oven: Oven | None = None
    deck: tuple[Oven, ...] = ()
    stock: dict[str, Grams] = Factory(dict)
    words: tuple[str, ...] = ()
    steam: bool = False
    factor: float = 1.0
    rest: Hours = AN_HOUR
    rise: Kelvins = NO_RISE
    jug: Millilitres = EMPTY
    own: str = field(default="", alias="their")


WHOLE = {
    "name": "Quay",
    "oven": {"name": "clay", "loads": 3, "heat": "450 °F", "spare": "5 %"},
    "deck": [{"name": "upper"}, {"name": "lower", "heat": "210 °C"}],
    "stock": {"rye": "1 lb 8 oz", "salt": "250 g"},
    "words": ["early", "late"],
    "steam": True,
    "factor": 2,
    "rest": "1 h 30 min",
    "rise": "9 °F",
    "jug": "½ cup",
    "their": "tide",
}


def test_a_whole_table_is_laid_out() -> None:
    house = lay(WHOLE, House, "house.toml")
    assert house == House(
        name="Quay",
        oven=Oven("clay", 3, Celsius(232.222222222), Share(0.05)),
        deck=(Oven("upper"), Oven("lower", 1, Celsius(210.0))),
        stock={"rye": Grams(680.388555), "salt": Grams(250.0)},
        words=("early", "late"),
        steam=True,
        factor=2.0,
        rest=Hours(1.5),
        rise=Kelvins(5.0),
        jug=Millilitres(118.29411825),
        their="tide",
    )
    assert isinstance(house.factor, float)


def test_what_is_left_out_keeps_its_default() -> None:
    assert lay({"name": "Quay"}, House, "house.toml") == House("Quay")


QUOTES = "put it between quotes"
LIST = "put it between [ and ], or a table under [[ and ]]"
BAD = [
    ({}, "house.toml: name", "nothing", "the key 'name'", "add it"),
    ({"name": 3}, "house.toml: name", "3", "text", QUOTES),
    ({"name": True}, "house.toml: name", "True", "text", QUOTES),
    ({"name": ["Quay"]}, "house.toml: name", "a list", "text", QUOTES),
    ({"name": "Q", "wall": 1}, "house.toml: wall", "an unknown key", None, ""),
    ({"name": "Q", "own": "x"}, "house.toml: own", "an unknown key", None, ""),
    ({"name": "Q", "oven": "clay"}, "house.toml: oven", "'clay'", "a table of keys and values", ""),
    ({"name": "Q", "oven": 3}, "house.toml: oven", "3", "a table of keys and values", ""),
    ({"name": "Q", "oven": [{"name": "a"}]}, "house.toml: oven", "a list", "a table of keys and values", ""),
    ({"name": "Q", "oven": {"name": "a", "loads": 2.0}}, "house.toml: oven.loads", "2.0", "a whole number",
     "write it without quotes or decimals"),
    ({"name": "Q", "oven": {"name": "a", "loads": True}}, "house.toml: oven.loads", "True", "a whole number",
     "write it without quotes or decimals"),
    ({"name": "Q", "oven": {"name": "a", "heat": 230}}, "house.toml: oven.heat", "230", "a temperature",
     'write text with a unit: "25 °C" or "78 °F"'),
    ({"name": "Q", "oven": {"name": "a", "heat": "230 C"}}, "house.toml: oven.heat", "'230 C'", "a temperature",
     "write the degree sign: °C"),
    ({"name": "Q", "oven": {"name": "a", "spare": 0.05}}, "house.toml: oven.spare", "0.05", "a share",
     'write text with a unit: "12 %" or "5 ‰"'),
    ({"name": "Q", "deck": {"name": "a"}}, "house.toml: deck", "a table", "a list", LIST),
    ({"name": "Q", "deck": "upper"}, "house.toml: deck", "'upper'", "a list", LIST),
    ({"name": "Q", "deck": [{"name": "a"}, {}]}, "house.toml: deck[1].name", "nothing", "the key 'name'", "add it"),
    ({"name": "Q", "deck": [3]}, "house.toml: deck[0]", "3", "a table of keys and values", ""),
    ({"name": "Q", "stock": {"rye": 3}}, "house.toml: stock.rye", "3", "a mass", None),
    ({"name": "Q", "stock": {"rye": "1,5 kg"}}, "house.toml: stock.rye", "'1,5 kg'", "a mass", None),
    ({"name": "Q", "stock": "3 kg"}, "house.toml: stock", "something else", "a table of keys and values", ""),
    ({"name": "Q", "words": "early"}, "house.toml: words", "'early'", "a list", LIST),
    ({"name": "Q", "words": {"early": 1}}, "house.toml: words", "a table", "a list", LIST),
    ({"name": "Q", "words": ["early", 4]}, "house.toml: words[1]", "4", "text", QUOTES),
    ({"name": "Q", "steam": 1}, "house.toml: steam", "1", "true or false", ""),
    ({"name": "Q", "steam": "true"}, "house.toml: steam", "'true'", "true or false", ""),
    ({"name": "Q", "factor": "2"}, "house.toml: factor", "'2'", "a number", "write it without quotes"),
    ({"name": "Q", "factor": False}, "house.toml: factor", "False", "a number", "write it without quotes"),
    ({"name": "Q", "factor": math.nan}, "house.toml: factor", "nan", "a finite number", ""),
    ({"name": "Q", "factor": math.inf}, "house.toml: factor", "inf", "a finite number", ""),
    ({"name": "Q", "factor": 10**400}, "house.toml: factor", "10000000000000000000... (401 characters)",
     "a finite number", ""),
    ("Quay", "house.toml", "'Quay'", "a table of keys and values", ""),
    ([], "house.toml", "a list", "a table of keys and values", ""),
]  # fmt: skip


@pytest.mark.parametrize(("data", "where", "got", "expected", "fix"), BAD, ids=lambda part: str(part)[:40])
def test_what_does_not_fit_is_one_fault(
    data: object, where: str, got: str, expected: str | None, fix: str | None
) -> None:
    with pytest.raises(FileError) as caught:
        lay(data, House, "house.toml")
    (fault,) = caught.value.faults
    assert (fault.where, fault.got) == (where, got)
    assert expected is None or fault.expected == expected
    assert fix is None or fault.fix == fix


def test_an_unknown_key_is_told_the_known_ones() -> None:
    with pytest.raises(FileError, match="expected one of heat, loads, name, spare"):
        lay({"name": "Q", "oven": {"name": "a", "heatt": "1 °C"}}, House, "house.toml")


def test_every_fault_is_told_at_once() -> None:
    data = {
        "oven": {"loads": "3", "heat": 25, "extra": 1},
        "deck": [{"name": 1}, {"nam": "x"}],
        "stock": {"rye": 3, "salt": "x"},
        "factor": "2",
    }
    with pytest.raises(FileError) as caught:
        lay(data, House, "house.toml")
    assert sorted(fault.where.removeprefix("house.toml: ") for fault in caught.value.faults) == sorted(
        [
            "name",
            "oven.name",
            "oven.loads",
            "oven.heat",
            "oven.extra",
            "deck[0].name",
            "deck[1].name",
            "deck[1].nam",
            "stock.rye",
            "stock.salt",
            "factor",
        ]
    )


def test_a_file_is_read(tmp_path: Path) -> None:
    file = tmp_path / "house.toml"
    file.write_text('name = "Kai"\nheat = "230 °C"\n', encoding="utf-8")
    assert read_toml(file) == {"name": "Kai", "heat": "230 °C"}


def test_a_byte_order_mark_is_no_part_of_the_text(tmp_path: Path) -> None:
    file = tmp_path / "house.toml"
    file.write_bytes(b"\xef\xbb\xbfname = 'Kai'\r\n")
    assert read_toml(file) == {"name": "Kai"}


@pytest.mark.parametrize(
    ("content", "got", "fix"),
    [
        (b"name = 'a", "a TOML mistake: ", "mend the line"),
        (b"name = a", "a TOML mistake: ", "mend the line"),
        (b"name = 'a'\nname = 'b'", "a TOML mistake: ", "mend the line"),
        (b"[oven]\n[oven]\n", "a TOML mistake: ", "mend the line"),
        (b"name = 'a'\x00", "a TOML mistake: ", "mend the line"),
        (b"name = 'caf\xe9'", "a byte that is not UTF-8 at position 11", "save the file as UTF-8"),
        (b"\xff\xfen\x00", "a byte that is not UTF-8 at position 0", "save the file as UTF-8"),
        (b"n = " + b"9" * 5000, "a whole number of thousands of digits", "mend the number"),
        (b"n = " + b"[" * 9_000, "tables nested too deeply", "mend the file"),
        (b"#" * (LARGEST_FILE + 1), "1.0 MB", "split the file"),
    ],
    ids=["cut", "bare", "twice", "table twice", "NUL", "latin", "utf-16", "digits", "deep", "large"],
)
def test_a_file_that_is_no_good_is_named(tmp_path: Path, content: bytes, got: str, fix: str) -> None:
    file = tmp_path / "house.toml"
    file.write_bytes(content)
    with pytest.raises(FileError) as caught:
        read_toml(file)
    (fault,) = caught.value.faults
    assert fault.where == str(file)
    assert fault.got.startswith(got)
    assert fault.fix == fix


def test_a_toml_mistake_names_its_line(tmp_path: Path) -> None:
    file = tmp_path / "house.toml"
    file.write_text("a = 1\nb = \n", encoding="utf-8")
    with pytest.raises(FileError, match="line 2"):
        read_toml(file)


def test_a_huge_file_is_refused_before_it_is_read(tmp_path: Path) -> None:
    file = tmp_path / "house.toml"
    with file.open("wb") as empty:
        empty.truncate(50_000_000)
    with pytest.raises(FileError, match=r"got 50\.0 MB, expected at most 1 MB"):
        read_toml(file)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="there is no such file; check the path"):
        read_text(tmp_path / "none.toml")


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="something that is not a file"):
        read_text(tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    with pytest.raises(FileError, match="something that is not a file"):
        read_text(tmp_path / "pipe.toml")


@pytest.mark.parametrize("name", ["file.toml/below.toml", "x" * 300, "a\x00b"], ids=["below a file", "long", "NUL"])
def test_a_path_that_cannot_be(tmp_path: Path, name: str) -> None:
    (tmp_path / "file.toml").write_text("", encoding="utf-8")
    with pytest.raises(FileError, match="check the path and its permissions"):
        read_text(tmp_path / name)
