"""Broken and hostile input: it is read, or refused in words that name the file; never another error, never for long."""

import json
import os
import re
import shutil
import tomllib
from collections.abc import Callable, Iterator
from copy import deepcopy
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import formula
from formula.bulkcsv import MOST_DIFFERENT, MOST_ROWS
from formula.catalogue import Catalogue
from formula.daylog import LARGEST_LOG, MOST_LINES
from formula.errors import FileError, FormulaError
from formula.files import read_json
from formula.folder import bread_files
from formula.intake import DEEPEST, LARGEST_FILE, LARGEST_WHOLE, LONGEST_TEXT, MOST_FAULTS, MOST_VALUES, read_text
from formula.logentry import Entry
from formula.tables import read_toml
from tests.conftest import run_fresh
from tests.hostile import DAY, EXAMPLES, SMALL, TARGETS, corpus
from tests.rarely import rarely

JUNK: list[Any] = [
    "", " ", "\0", "\n", "x", "-1", "nan g", "1e999 kg", "½ cup", "1 lb 8 oz", "99999999999999999999 kg", "25 °C", "-274 °C",
    "../../../etc/passwd", "/etc/passwd", "C:\\x", "\\\\host\\share", "<script>", "=1+1", "{0.__class__}", "\U0001d7d9\U0001d7d8 g", "10\u00a0g",
    "ß" * 90, "x" * 1001, "24:00", "02:30 (the second time)", "2026-02-30", "100 %", "0 g", "final", "default", "bread flour",
    0, -1, 1, 100, 10**13, 10**400, 0.1, -0.0, 1e300, -1e300, 5e-324, True, False, [], [[]], [1], ["x"], [{}], {}, {"": ""},
    {"x": 1}, {"bread flour": 100}, {"name": []}, {"a": {"b": {"c": {"d": {"e": {}}}}}},
]  # fmt: skip
"""What somebody may put in the place of any value."""
TOKEN = re.compile(r"[^\W\d]+|\d+|\s+|.", re.DOTALL)
SNIPPETS = [
    "\0", "\ufeff", "\r\n", "\r", '"', "'''", '"""', "[[", "]]", "{", "}", "=", ",", "#", "\\", "\\u0000", "\\ud800", ".", "-",
    "9" * 400, "9" * 5000, "1e999", "1e999999999", "nan", "inf", "NaN", "Infinity", "null", "true", "1979-05-27", "07:32:00",
    "[" * 300, "{" * 300, "a." * 300, "½", "٣", "\u202e", "\x1b[2J", " # unfinished", "999999999999999999999 g", "°",
]  # fmt: skip
"""What somebody may put between any two words."""
FILES = [name for name in TARGETS if name not in {"text", "day"}]


@pytest.fixture(scope="module")
def scratch() -> Iterator[Path]:
    with TemporaryDirectory() as folder:
        yield Path(folder)


def places(tree: object, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every key and every item of a tree."""
    inner = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for key, value in inner:
        yield (*path, key)
        yield from places(value, (*path, key))


@st.composite
def broken_trees(draw: st.DrawFn, trees: list[dict[str, Any]]) -> dict[str, Any]:
    """A good tree with one to three values deleted, doubled, renamed or put in another's place, or junk in theirs."""
    tree: dict[str, Any] = json.loads(json.dumps(draw(st.sampled_from(trees))))
    for _ in range(draw(st.integers(1, 3))):
        found = list(places(tree))
        if not found:
            break
        *way, last = draw(st.sampled_from(found))
        holder: Any = tree
        for key in way:
            holder = holder[key]
        what = draw(st.sampled_from(["junk", "junk", "junk", "delete", "rename", "repeat"]))
        if what == "junk":
            holder[last] = deepcopy(draw(st.sampled_from(JUNK)))
        elif what == "delete":
            del holder[last]
        elif isinstance(holder, list):
            holder.append(holder[last])
        else:
            keys = [key for *_, key in found if isinstance(key, str)] + ["", "x", "\0", "x" * 1001, "__class__", "name"]
            holder[draw(st.sampled_from(keys))] = holder[last] if what == "repeat" else holder.pop(last)
    return tree


def toml(value: object) -> str:
    """Write a tree as TOML, tables within tables on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{quoted(key)} = {toml(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    return quoted(value) if isinstance(value, str) else str(value).lower() if isinstance(value, bool) else repr(value)


def quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def toml_file(tree: dict[str, Any]) -> bytes:
    return "".join(f"{quoted(key)} = {toml(value)}\n" for key, value in tree.items()).encode()


@st.composite
def broken_texts(draw: st.DrawFn, examples: list[bytes]) -> bytes:
    """A good file with words deleted, doubled, exchanged or put in; or cut off; or any bytes at all."""
    words = TOKEN.findall(draw(st.sampled_from(examples)).decode())
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, len(words)))
        what = draw(st.sampled_from(["insert", "insert", "delete", "double", "exchange", "cut"]))
        if what == "insert":
            words.insert(place, draw(st.sampled_from(SNIPPETS) | st.text(max_size=5)))
        elif what == "delete":
            del words[place : place + draw(st.integers(1, 5))]
        elif what == "double":
            words[place:place] = words[max(0, place - draw(st.integers(1, 20))) : place]
        elif what == "exchange" and len(words) > 1:
            one, other = place % len(words), draw(st.integers(0, len(words) - 1))
            words[one], words[other] = words[other], words[one]
        elif what == "cut":
            words = words[:place]
    return "".join(words).encode("utf-8", "replace")


TREES: dict[str, list[dict[str, Any]]] = {
    name: [tomllib.loads(data.decode()) for data in corpus(name)] for name in ("formula-toml", "prices", "stock")
}
LINES = [json.loads(line) for data in corpus("log") for line in data.splitlines()]
DAYS = [(data[:1], tomllib.loads(data[1:].decode())) for data in corpus("day")]


class TestAnyFile:
    """Each file is read or refused as ours; what warns is an error here."""

    @rarely(0.6)
    @given(data=st.data())
    @pytest.mark.parametrize("target", FILES)
    def test_with_words_out_of_place(self, target: str, data: st.DataObject, scratch: Path) -> None:
        TARGETS[target](data.draw(broken_texts(corpus(target))), scratch)

    @rarely(0.2)
    @given(data=st.binary(max_size=300) | st.text(max_size=100).map(lambda text: text.encode("utf-8", "surrogatepass")))
    @pytest.mark.parametrize("target", FILES)
    def test_of_anything(self, target: str, data: bytes, scratch: Path) -> None:
        TARGETS[target](data, scratch)

    @given(tree=broken_trees(TREES["formula-toml"]), target=st.sampled_from(["formula-json", "formula-toml"]))
    def test_a_formula_with_wrong_values(self, tree: dict[str, Any], target: str, scratch: Path) -> None:
        TARGETS[target](json.dumps(tree).encode() if target == "formula-json" else toml_file(tree), scratch)

    @given(data=st.data())
    @pytest.mark.parametrize("target", ["prices", "stock"])
    def test_a_table_with_wrong_values(self, target: str, data: st.DataObject, scratch: Path) -> None:
        TARGETS[target](toml_file(data.draw(broken_trees(TREES[target]))), scratch)

    @given(lines=st.lists(broken_trees(LINES), min_size=1, max_size=3))
    def test_a_log_with_wrong_values(self, lines: list[dict[str, Any]], scratch: Path) -> None:
        TARGETS["log"]("\n".join(map(json.dumps, lines)).encode(), scratch)

    @pytest.mark.parametrize("number", range(len(DAY)), ids=DAY)
    @rarely(0.4)
    @given(data=st.data())
    def test_a_day_with_wrong_values(self, number: int, data: st.DataObject, scratch: Path) -> None:
        which, tree = DAYS[number]
        TARGETS["day"](which + toml_file(data.draw(broken_trees([tree]))), scratch)

    @rarely(0.5)
    @given(data=broken_texts(corpus("text")) | st.text(max_size=90).map(lambda text: text.encode("utf-8", "replace")))
    def test_a_text(self, data: bytes, scratch: Path) -> None:
        TARGETS["text"](data, scratch)

    @pytest.mark.parametrize("target", TARGETS)
    def test_the_good_files_are_read(self, target: str, scratch: Path) -> None:
        """Or the tests above would break what is broken already."""
        if target in {"text", "day"}:
            assert formula.load_day(SMALL)
            return
        readers: dict[str, Callable[[Path], object]] = {
            "log": formula.read_log, "trials": formula.read_trials, "weighings": formula.read_weighings,
            "losses": formula.read_loss_weighings, "prices": formula.load_prices, "stock": formula.load_stock,
            "assortment": formula.load_assortment,
        }  # fmt: skip
        for data in corpus(target):
            file = scratch / ("good.json" if target == "formula-json" else "good.toml")
            file.write_bytes(data)
            assert readers.get(target, formula.load)(file)


def told(make: Callable[[], object]) -> str:
    with pytest.raises(FormulaError) as caught:
        make()
    return str(caught.value)


def written(folder: Path, name: str, data: str | bytes) -> Path:
    file = folder / name
    file.write_bytes(data if isinstance(data, bytes) else data.encode("utf-8", "surrogatepass"))
    return file


LOAF = 'name = "x"\n[percent]\n"bread flour" = 100\nwater = 60\n'
DEEP_LIST = '{"a":' * (DEEPEST + 2) + "1" + "}" * (DEEPEST + 2)


class TestLimits:
    """Each limit has one clear error, with the file, the place and the limit; what lies just within is read."""

    @pytest.mark.parametrize(
        ("name", "data", "text"),
        [
            ("x.toml", "#" * (LARGEST_FILE + 1), "1.0 MB, expected at most 1 MB; split the file"),
            ("x.json", " " * (LARGEST_FILE + 1), "1.0 MB, expected at most 1 MB; split the file"),
            ("x.toml", "a = [" + "0," * MOST_VALUES + "]", f"expected at most {MOST_VALUES}; check that it is the right file"),
            ("x.json", "[" + "0," * MOST_VALUES + "0]", f"expected at most {MOST_VALUES}; check that it is the right file"),
            ("x.toml", "\n" + "a." * 400_000 + "a = 1", f"x.toml: line 2: got tables nested too deeply, expected at most {DEEPEST}"),
            ("x.toml", "[" + "'a' . \"\\\"b\"." * 20 + "a]", "line 1: got tables nested too deeply"),
            ("x.toml", "k = '''\n'''\nl = [\"\"\"\n\"\"\", {" + "a." * 20 + "a = 'x'}]", "line 4: got tables nested too deeply"),
            ("x.toml", "a = " + "[" * 30 + "]" * 30, "a[0][0]"),
            ("x.toml", "a = " + "[" * 4000 + "]" * 4000, "tables nested too deeply"),
            ("x.json", DEEP_LIST, f"got tables nested too deeply, expected at most {DEEPEST} in each other"),
            ("x.json", '{"a":' * 900 + "1" + "}" * 900, "got tables nested too deeply"),
            ("x.toml", LOAF.replace("x", "x" * (LONGEST_TEXT + 1), 1), f"name: got {LONGEST_TEXT + 1} characters"),
            ("x.toml", LOAF + "x" * (LONGEST_TEXT + 1) + " = 1", f"percent: got a key of {LONGEST_TEXT + 1} characters"),
            ("x.toml", f"count = {LARGEST_WHOLE + 1}", "count: got 1000000000001, expected a whole number of at most 12 digits"),
            ("x.toml", "count = 1" + "0" * 4000, "count: got 10000000000000000000... (4001 characters)"),
            ("x.toml", "count = -1" + "0" * 4000, "count: got -1000000000000000000... (4002 characters)"),
            ("x.toml", "count = 1" + "0" * 100_000, "a whole number of thousands of digits"),
            ("x.json", '{"count": 1' + "0" * 100_000 + "}", "a JSON mistake"),
            ("x.toml", LOAF + "salt = 1e999999", "percent.salt: got inf, expected a finite number"),
            ("x.toml", LOAF + "".join(f"s{number} = 1\n" for number in range(500)), "502 lines, expected at most 500"),
            ("x.toml", LOAF + "".join(f"[ingredient.a{n}]\nkind = 'flour'\n" for n in range(501)), "501 tables, expected at most 500"),
            ("x.toml", LOAF + "[[stage]]\nname = 's'\n" * 61, "61 stages, expected at most 60"),
            ("x.json", "{" + '"a": 1,' * 2000 + '"a": 2}', "the key a twice"),
            ("x.json", "{" + ",".join(f'"k{n}":0,"k{n}":0' for n in range(2000)) + "}", "the key k0, k1, k10"),
            ("x.toml", LOAF.encode("utf-16"), "a byte that is not UTF-8 at position 0"),
            ("x.toml", LOAF.replace("x", "x\0"), "a TOML mistake"),
            ("x.json", '{"name": "\\ud800"}', "half a character"),
            ("x.json", '{"name": "a\\u001b[2J"}', r"name: got the character '\x1b', which is a command to a terminal"),
            ("x.toml", LOAF + '"s\\u001b[2J" = 2', r"percent: got a key of the character '\x1b'"),
            ("x.toml", LOAF + '"s\\u009b2J" = 2', r"percent: got a key of the character '\x9b'"),
        ],
    )  # fmt: skip
    def test_of_a_formula(self, name: str, data: str | bytes, text: str, tmp_path: Path) -> None:
        found = told(lambda: formula.load(written(tmp_path, name, data)))
        assert found.replace("\n", "").isprintable()
        assert text in found
        assert f"{tmp_path / name}" in found
        assert len(found) < 1000

    def test_what_lies_within_is_read(self, tmp_path: Path) -> None:
        dots = (
            "# "
            + "." * 100
            + '\nnote = """\n'
            + "a." * 50
            + '\n"""\n'
            + "b." * (DEEPEST - 2)
            + "c = 'a."
            + "a." * 30
            + "'\n"
        )
        assert set(read_toml(written(tmp_path, "x.toml", dots))) == {"note", "b"}
        values = "a = [" + "0," * (MOST_VALUES - 2) + "]"
        assert len(read_toml(written(tmp_path, "x.toml", values))["a"]) == MOST_VALUES - 2
        assert read_toml(written(tmp_path, "x.toml", f"a = -{LARGEST_WHOLE}")) == {"a": -LARGEST_WHOLE}
        assert read_json(written(tmp_path, "x.json", '{"a": "' + "x" * LONGEST_TEXT + '"}'))["a"] == "x" * LONGEST_TEXT
        assert len(read_text(written(tmp_path, "x.toml", "#" * LARGEST_FILE))) == LARGEST_FILE
        lines = LOAF.replace("\n", "\r\n")
        assert formula.load(written(tmp_path, "x.toml", b"\xef\xbb\xbf" + lines.encode())).name == "x"

    def test_only_so_many_faults_are_told(self, tmp_path: Path) -> None:
        data = LOAF + "".join(f"[[stage]]\nnames{number} = 1\n" for number in range(500))
        with pytest.raises(FileError) as caught:
            formula.load(written(tmp_path, "x.toml", data))
        assert len(caught.value.faults) == MOST_FAULTS
        many = FormulaError(*(formula.errors.Fault(str(number), "x", "y") for number in range(1000)))
        assert str(many).endswith("  - 99: got x, expected y\n  - and 900 more")

    @pytest.mark.parametrize(
        ("read", "text"),
        [
            (formula.read_trials, "more than 400 lines, a trial each, expected at most 400; keep the latest"),
            (formula.read_weighings, "more than 5000 lines, a weighing each, expected at most 5000"),
            (formula.read_loss_weighings, "more than 2000 lines, a weighing each, expected at most 2000"),
        ],
    )
    def test_of_a_csv_file(self, read: Callable[[Path], object], text: str, tmp_path: Path) -> None:
        assert text in told(lambda: read(written(tmp_path, "x.csv", "weight\n" + "x\n" * 300_000)))

    def test_of_a_header(self, tmp_path: Path) -> None:
        found = told(lambda: formula.read_trials(written(tmp_path, "x.csv", "x," * 51)))
        assert "header: got 52 cells, expected at most 50" in found

    def test_of_a_log(self, tmp_path: Path) -> None:
        line = '{"at": "02:10", "what": "note", "note": "snow"}\n'
        file = written(tmp_path, "log.jsonl", line * MOST_LINES)
        assert len(formula.read_log(file).entries) == MOST_LINES
        # What would make it unreadable is not added.
        assert "a log that is full" in told(lambda: formula.append_log(file, Entry("02:10", "note", note="x")))
        assert file.stat().st_size == len(line) * MOST_LINES
        assert f"at most {MOST_LINES}; give the day's log" in told(
            lambda: formula.read_log(written(tmp_path, "log.jsonl", "x\n" * (MOST_LINES + 1)))
        )
        assert "1.0 MB, expected at most 1 MB" in told(
            lambda: formula.read_log(written(tmp_path, "log.jsonl", " " * (LARGEST_LOG + 1)))
        )
        wrong = '{"at": "02:10", "what": "note", "instead_of": 5000}\n' * 4000
        assert told(lambda: formula.read_log(written(tmp_path, "log.jsonl", wrong))).startswith("100 faults")
        huge = '{"at": "02:10", "what": "note", "instead_of": 1' + "0" * 4000 + "}\n"
        assert "(4001 characters)" in told(lambda: formula.read_log(written(tmp_path, "log.jsonl", huge)))

    def test_a_torn_line_nested_without_end(self, tmp_path: Path) -> None:
        file = written(tmp_path, "log.jsonl", "[" * 100_000)
        formula.append_log(file, Entry("02:10", "note", note="x"))
        log = formula.read_log(file)
        assert [entry.note for entry in log.entries] == ["x"]
        assert len(log.cautions) == 1

    def test_of_a_day(self, tmp_path: Path) -> None:
        folder = shutil.copytree(SMALL, tmp_path / "day")
        orders = (folder / "orders.toml").read_text(encoding="utf-8")

        def planned(old: str, new: str) -> Callable[[], object]:
            (folder / "orders.toml").write_text(orders.replace(old, new), encoding="utf-8")
            return lambda: formula.plan_day(*formula.load_day(folder))

        assert planned("800 g", "801 g")()
        assert "at most 100000000" in told(planned("pieces = 150", "pieces = 1000000000000"))
        assert "mixes of one dough, expected at most 10000 in a day" in told(
            planned("pieces = 150", "pieces = 90000000")
        )
        assert "pieces that the divider's scale shows" in told(planned("800 g", "0.000000001 g"))
        for number in range(60):
            written(folder / "breads", f"b{number:02}.toml", "")
        assert re.search(r"one of the files in breads: b00, .*, b49 and 11 more", told(planned("pier-loaf", "x")))

    def test_of_names_that_nothing_answers_to(self) -> None:
        """The nearest are looked for to the first ten, and not to one as long as a page."""
        lines = {"bread flour": 100.0} | {f"wtaer{number}": 1.0 for number in range(30)}
        with pytest.raises(FormulaError) as caught:
            formula.Formula.from_percents("x", lines)
        assert ["nearest" in fault.expected for fault in caught.value.faults] == [True] * 10 + [False] * 20
        assert "nearest" not in told(lambda: Catalogue().find("water" * 20))


class TestPlaces:
    """Where a file is asked for, nothing else is read, waited for or written over."""

    READERS = (
        formula.load, formula.load_prices, formula.load_stock, formula.read_log, formula.read_trials,
        formula.read_weighings, formula.read_loss_weighings, Catalogue().with_file, read_json, formula.load_assortment,
    )  # fmt: skip

    @pytest.mark.parametrize("read", READERS)
    def test_what_is_no_file(self, read: Callable[[Path], object], tmp_path: Path) -> None:
        assert "something that is not a file" in told(lambda: read(tmp_path))
        assert "there is no such file" in told(lambda: read(tmp_path / "none"))
        assert "a path that cannot be read" in told(lambda: read(Path("a\0b")))
        loop = tmp_path / "loop"
        loop.symlink_to(loop)
        assert "a path that cannot be read" in told(lambda: read(loop))
        with (tmp_path / "sparse").open("wb") as sparse:
            sparse.truncate(10**12)
        assert "1000000.0 MB" in told(lambda: read(tmp_path / "sparse"))

    @pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="a system without pipes in folders")
    @pytest.mark.parametrize("read", READERS)
    def test_a_pipe_is_not_waited_for(self, read: Callable[[Path], object], tmp_path: Path) -> None:
        os.mkfifo(tmp_path / "pipe")
        assert "something that is not a file" in told(lambda: read(tmp_path / "pipe"))

    @pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="a system without pipes in folders")
    @pytest.mark.parametrize("read", READERS)
    def test_nor_is_one_that_takes_the_place_of_a_file(
        self, read: Callable[[Path], object], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        file = written(tmp_path, "file", "")
        os.mkfifo(tmp_path / "pipe")
        opened = os.open

        def exchanged(path: object, flags: int, mode: int = 0o777) -> int:
            return opened(tmp_path / "pipe" if path == file else str(path), flags, mode)

        monkeypatch.setattr(os, "open", exchanged)
        assert "something that is not a file" in told(lambda: read(file))

    @pytest.mark.skipif(not Path("/dev/zero").exists(), reason="a system without endless devices")
    @pytest.mark.parametrize("read", READERS)
    def test_a_device_has_no_end(self, read: Callable[[Path], object]) -> None:
        assert "something that is not a file" in told(lambda: read(Path("/dev/zero")))

    @pytest.mark.skipif(not Path("/dev/zero").exists(), reason="a system without endless devices")
    def test_a_device_is_not_written_over(self) -> None:
        bread = formula.Formula.from_percents("x", {"bread flour": 100})
        assert "something else is there" in told(lambda: formula.dump(bread, "/dev/zero"))
        assert "something that is not a file" in told(
            lambda: formula.append_log("/dev/zero", Entry("02:10", "replanned"))
        )
        assert Path("/dev/zero").is_char_device()


ESCAPES = [
    "../orders", "../../breads/pier-loaf", "/etc/passwd", "/srv/x.toml", "C:\\breads\\x", "C:x", "\\\\host\\share\\x", "//host/x",
    "..\\orders", "%2e%2e/orders", "~/x", "pier-loaf.toml", "./pier-loaf", "breads/pier-loaf", "pier-loaf\0", "CON", "", ".",
]  # fmt: skip
"""Names of breads that look like ways to a file."""


class TestNothingCommandsATerminal:
    """What a file holds is shown; it may not hide a line or put another in its place."""

    @pytest.mark.parametrize("command", ["\x1b[2J", "\x9b2J", "\b\b\b", "\x7f"])
    def test_cells_of_a_table(self, command: str, tmp_path: Path) -> None:
        file = written(tmp_path, "loaves.csv", f"loaf\n400 g\n40{command}0 g\n")
        found = told(lambda: formula.read_weighings(file))
        assert "line 3: got the character" in found
        assert command not in found


class TestNamesOfFiles:
    """No name that is written in a file, and no link in a day's folder, leads out of it."""

    @pytest.fixture
    def folder(self, tmp_path: Path) -> Path:
        shutil.copytree(EXAMPLES / "tutorial", tmp_path / "elsewhere")
        return shutil.copytree(SMALL, tmp_path / "day")

    def test_a_file_that_is_a_link_to_itself(self, folder: Path) -> None:
        (folder / "orders.toml").unlink()
        (folder / "orders.toml").symlink_to(folder / "orders.toml")
        found = told(lambda: formula.load_day(folder))
        assert f"{folder / 'orders.toml'}" in found
        assert "a path that cannot be read" in found

    @pytest.mark.parametrize("name", ESCAPES)
    def test_a_bread_is_one_of_the_files_in_breads(self, name: str, folder: Path) -> None:
        for file, read in (("orders.toml", formula.load_day), ("workshop.toml", formula.load_workshop)):
            text = (folder / file).read_text(encoding="utf-8")
            (folder / file).write_text(text.replace('"pier-loaf"', json.dumps(name)), encoding="utf-8")
            found = told(lambda read=read: read(folder))  # type: ignore[misc]
            expected = "a command to a terminal" if "\0" in name else "one of the files in breads: pier-loaf"
            assert expected in found
            assert f"{folder / file}" in found
            (folder / file).write_text(text, encoding="utf-8")

    @pytest.mark.parametrize(
        "name",
        [
            "../../../etc/passwd",
            "/etc/passwd",
            "C:\\x",
            "\\\\host\\x",
            "Europe",
            "",
            "x" * 999,
            "a\0b",
            "a/b" + "." * 400 + "/c",
            "a.b/c",
        ],
    )
    def test_a_zone_is_no_path(self, name: str, folder: Path) -> None:
        file = folder / "workshop.toml"
        text = file.read_text(encoding="utf-8")
        file.write_text(f'date = "2026-11-25"\nzone = {json.dumps(name)}\n{text}', encoding="utf-8")
        if name:
            expected = "a command to a terminal" if "\0" in name else "an IANA time zone"
            assert expected in told(lambda: formula.load_workshop(folder))
        else:
            assert formula.load_workshop(folder)

    @pytest.mark.parametrize("name", ["bakery.toml", "orders.toml", "workshop.toml", "breads/pier-loaf.toml", "breads"])
    def test_a_link_out_of_the_folder(self, name: str, folder: Path) -> None:
        read = formula.load_workshop if name == "workshop.toml" else formula.load_day
        here, there = folder / name, folder.parent / "elsewhere" / name
        shutil.rmtree(here) if here.is_dir() else here.unlink()
        here.symlink_to(there)
        found = told(lambda: read(folder))
        assert "a link that leads out of the folder" in found
        assert str(here) in found
        assert "copy what it leads to into the folder" in found

    def test_a_link_within_the_folder(self, folder: Path) -> None:
        """And a folder that is itself reached through a link, which whoever gives the path has chosen."""
        (folder / "breads" / "pier-loaf.toml").rename(folder / "bread.txt")
        (folder / "breads" / "pier-loaf.toml").symlink_to("../bread.txt")
        (folder.parent / "today").symlink_to("day")
        assert formula.load_day(folder.parent / "today") == formula.load_day(SMALL)
        assert formula.load_workshop(folder.parent / "today") == formula.load_workshop(SMALL)

    @pytest.mark.parametrize("name", ["ingredients.toml", "workshop.toml"])
    def test_a_link_to_nothing_is_told(self, name: str, folder: Path) -> None:
        """A larder that cannot be read is not passed over: it may hold the allergens."""
        (folder / name).unlink(missing_ok=True)
        (folder / name).symlink_to(folder / "nowhere")
        read = formula.load_workshop if name == "workshop.toml" else formula.load_day
        assert f"{name}: got nothing" in told(lambda: read(folder))

    def test_a_name_that_is_no_text(self, folder: Path) -> None:
        try:
            (folder / "breads" / os.fsdecode(b"\xff.toml")).write_text("", encoding="utf-8")
        except OSError:
            pytest.skip("this file system takes no such name")
        assert list(bread_files(folder)) == ["pier-loaf"]
        assert formula.load_day(folder)


NEAR = MOST_VALUES - 20
COLUMNS = "formula,ingredient,percent\n"
WORST: dict[str, str] = {
    "dotted to the limit.toml": "x = 1\n" + "".join("a." * (DEEPEST - 1) + f"b{n} = 1\n" for n in range(NEAR)),
    "escapes.toml": 'name = "' + "\\n" * 490_000 + '"\n',
    "numbers.toml": "# " + "." * 20 + "\na = [\n" + "1.\n" * 300_000,
    "quotes.toml": "x = '" + "." * 20 + "'\n" + 'y = "' + '\\"' * 490_000 + '"',
    "wrong weights.toml": "[weights]\n" + "".join(f"k{n} = '{'°' * 40}'\n" for n in range(NEAR)),
    "wrong stages.toml": "[[stage]]\n" * (NEAR // 2),
    "chained stages.toml": LOAF + "".join(
        f"[[stage]]\nname = 's{n}'\nweight = 0.0\n[stage.percent]\n'bread flour' = 100\ns{n + 1} = 1\n" for n in range(59)),
    "own names.toml": LOAF + "".join(f"'wholemeal wheat flower {n}' = 1\n" for n in range(490))
        + "".join(f"[ingredient.'wholemeal wheat fluor x{n}']\nkind = 'flour'\n" for n in range(500)),
    "twice.json": "{" + ",".join(f'"k{n}":0,"k{n}":0' for n in range(NEAR // 4)) + "}",
    "header.csv": "x," * 490_000,
    "instead.jsonl": '{"at": "02:10", "what": "note", "instead_of": 7999}\n' * MOST_LINES,
    "keys.jsonl": "{" + ",".join(f'"k{n}": 0' for n in range(80_000)) + "}",
    "quoted.breads": COLUMNS + "".join(f'"b{n // 7}","water",{n % 7}\n' for n in range(MOST_ROWS)),
    "spaced.breads": COLUMNS + "".join(f"b{n // 7}, water,{n / 7} \n" for n in range(MOST_ROWS)),
    "staged.breads": "stage," + COLUMNS + "".join(f"s{n % 49_000},b{n // 7},water,{n % 7}\n" for n in range(MOST_ROWS)),
    "good.breads": COLUMNS + "".join(
        f"b{n},bread flour,100\n" + "".join(f"b{n},{line},{n / 7}\n" for line in ("water", "salt", "sugar", "butter", "honey"))
        for n in range(MOST_DIFFERENT)),
    "too many.breads": COLUMNS + "".join(f"b{n:0240},water,100\n" for n in range(60_000)),
    "unknown.breads": COLUMNS + "".join(f"b,wholemeal wheat fluor {n},1\n" for n in range(MOST_DIFFERENT)),
    "wide.breads": COLUMNS + ("," * 60_000 + "\n") * 260,
    "long.breads": COLUMNS + "".join(f"{'x' * 199}\U0001f35e{n},water,1\n" for n in range(49_000)),
    "wrong orders": "".join("[[order]]\nbread = 'x'\npieces = 1\nbaked = '1 g'\n" for _ in range(9_990)),
}  # fmt: skip
"""What costs most of each kind, just within or just beyond the limits."""


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="a system that does not tell how large a process is")
def test_the_worst_files_cost_a_moment(tmp_path: Path) -> None:
    """Less than a second of the processor and 200 MB each, the least of three times because others run beside."""
    for name, data in WORST.items():
        if "." in name:
            written(tmp_path, name, data)
        else:
            shutil.copytree(SMALL, tmp_path / name)
            written(tmp_path / name, "orders.toml", data)
    ran = run_fresh("-c", COST, str(tmp_path))
    assert ran.returncode == 0, ran.stderr
    costs = {name: float(seconds) for seconds, name in (line.split(" ", 1) for line in ran.stdout.splitlines())}
    assert set(costs) == set(WORST)
    assert {name: seconds for name, seconds in costs.items() if seconds > 1} == {}


COST = """
import pathlib, resource, sys, time
import formula, numpy
read = {".toml": formula.load, ".json": formula.load, ".csv": formula.read_trials, ".jsonl": formula.read_log, "": formula.load_day, ".breads": formula.load_assortment}
def cost(file):
    begin = time.process_time()
    try:
        read[file.suffix](file)
    except formula.FormulaError as error:
        assert 0 < len(str(error)) < 200_000
    return time.process_time() - begin
folder = pathlib.Path(sys.argv[1])
pages = int(pathlib.Path("/proc/self/statm").read_text().split()[0])
most = pages * resource.getpagesize() + 200_000_000
resource.setrlimit(resource.RLIMIT_AS, (most, most))
for file in sorted(folder.iterdir()):
    least = cost(file)
    for _ in range(2):
        if least > 0.7:
            least = min(least, cost(file))
    print(f"{least:.3f} {file.name}")
"""
