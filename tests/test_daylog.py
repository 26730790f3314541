"""The log of the day: only ever added to, read back strictly, and not lost in a crash."""

import json
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor, wait
from errno import EIO
from pathlib import Path
from typing import Any

import pytest

from formula.daylog import LARGEST_LOG, Log, append_log, read_log
from formula.errors import FileError, FormulaError
from formula.intake import MOST_FAULTS
from formula.logentry import KINDS, MOST_IN_A_LIST, Entry
from tests.conftest import HOUSE

BEGUN = Entry(
    "23:40 the day before", "mix begun", bread="Quay Round", mix=3, station="the big spiral", flour="21 °C", room="23 °C",
    water="12 °C", preferments=["18 °C"], weights={"bread flour": "26.9 kg"}, lots={"bread flour": ["4711", "4712"], "salt": "S 1"}, who="M.",
)  # fmt: skip
ENTRIES = (
    BEGUN,
    Entry("00:05", "mix ended", bread="Quay Round", mix=3, dough="26.5 °C"),
    Entry("01:10", "pieces weighed", bread="Quay Round", masses=["912 g", "0.908 kg"]),
    Entry("02:00", "station down", station="deck 1", until="02:40", note="the door: größer als gedacht"),
    Entry("02:30 (the second time)", "order changed", bread="Quay Round", pieces=0, due="05:30"),
)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "log.jsonl"


class TestThereAndBack:
    def test_what_is_added_is_read(self, file: Path) -> None:
        for entry in ENTRIES:
            append_log(file, entry)
        log = read_log(file)
        assert log.entries == ENTRIES
        assert [entry.line for entry in log.entries] == [1, 2, 3, 4, 5]
        assert log.cautions == ()

    def test_several_at_once(self, file: Path) -> None:
        append_log(file, *ENTRIES)
        assert read_log(file).entries == ENTRIES

    def test_the_layout_is_plain(self, file: Path) -> None:
        append_log(file, BEGUN)
        assert json.loads(file.read_text(encoding="utf-8")) == {
            "at": "23:40 the day before", "what": "mix begun", "bread": "Quay Round", "mix": 3, "who": "M.",
            "station": "the big spiral", "flour": "21 °C", "room": "23 °C", "water": "12 °C", "preferments": ["18 °C"],
            "weights": {"bread flour": "26900 g"}, "lots": {"bread flour": ["4711", "4712"], "salt": "S 1"},
        }  # fmt: skip

    def test_every_kind_of_line(self, file: Path) -> None:
        values: dict[str, Any] = {
            "bread": "Quay Round", "mix": 1, "load": 2, "station": "deck", "since": "01:00", "until": "02:00", "count": 1,
            "pieces": 50, "due": "05:30", "dough": "25 °C", "flour": "20 °C", "room": "22 °C", "water": "9 °C",
            "preferments": ["18 °C"], "weights": {"salt": "2 kg"}, "lots": {"salt": "7"}, "stage": "biga", "lot": "B1",
            "masses": ["900 g"],
        }  # fmt: skip
        every = [
            Entry("03:00", what, **{key: values[key] for key in (*needed, *allowed)})
            for what, (needed, allowed) in KINDS.items()
        ]
        append_log(file, *every)
        assert read_log(file).entries == tuple(every)

    def test_a_byte_order_mark_and_empty_lines_do_no_harm(self, file: Path) -> None:
        file.write_text('\ufeff{"at": "02:00", "what": "note"}\n\n{"at": "02:10", "what": "note"}\n', encoding="utf-8")
        assert [(str(entry), entry.line) for entry in read_log(file).entries] == [("02:00 note", 1), ("02:10 note", 3)]

    def test_a_line_takes_the_place_of_another(self, file: Path) -> None:
        wrong = Entry("02:00", "mix begun", bread="Quay Round", mix=1)
        right = Entry("02:00", "mix begun", bread="Quay Round", mix=2, instead_of=1)
        append_log(file, wrong, right)
        assert read_log(file).standing == (right,)
        assert len(read_log(file).entries) == 2

    @pytest.mark.parametrize("number", [2, 7])
    def test_only_of_one_before_it(self, number: int) -> None:
        entries = (Entry("02:00", "note"), Entry("02:10", "note", instead_of=number))
        with pytest.raises(FormulaError, match=rf"log: line 2: got instead_of {number}"):
            Log(entries)


class TestACrash:
    def test_at_every_byte_of_the_last_line(self, file: Path) -> None:
        append_log(file, *ENTRIES[:3])
        whole = file.read_bytes()
        append_log(file, ENTRIES[3])
        last = file.read_bytes()[len(whole) :]
        for kept in range(len(last)):
            file.write_bytes(whole + last[:kept])
            log = read_log(file)
            # The line is whole but for its end.
            complete = kept == len(last) - 1
            assert log.entries == (ENTRIES[:4] if complete else ENTRIES[:3])
            torn = kept > 0 and not complete
            assert [caution.code for caution in log.cautions] == (["unfinished-line"] if torn else [])

    def test_the_next_line_is_not_lost_in_it(self, file: Path) -> None:
        append_log(file, *ENTRIES[:3])
        whole = file.read_bytes()
        append_log(file, ENTRIES[3])
        last = file.read_bytes()[len(whole) :]
        for kept in range(len(last)):
            file.write_bytes(whole + last[:kept])
            append_log(file, ENTRIES[4])
            assert file.read_bytes().startswith(whole + last[:kept])
            log = read_log(file)
            complete = kept == len(last) - 1
            assert log.entries == (*(ENTRIES[:4] if complete else ENTRIES[:3]), ENTRIES[4])
            assert len(log.cautions) == (kept > 0 and not complete)

    def test_a_disk_that_is_full(self, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        append_log(file, ENTRIES[0])
        write = os.write
        with monkeypatch.context() as patch:
            patch.setattr(os, "write", lambda place, data: write(place, data[:10]))
            with pytest.raises(FileError, match="room for 10 bytes"):
                append_log(file, ENTRIES[1])
        append_log(file, ENTRIES[2])
        log = read_log(file)
        assert log.entries == (ENTRIES[0], ENTRIES[2])
        assert [caution.code for caution in log.cautions] == ["unfinished-line"]

    def test_a_disk_that_fails(self, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        def broken(_: int) -> None:
            raise OSError(EIO, os.strerror(EIO))

        monkeypatch.setattr(os, "fsync", broken)
        with pytest.raises(FileError, match=f"a path that cannot be written .{os.strerror(EIO)}"):
            append_log(file, ENTRIES[0])

    def test_one_write_and_on_the_disk(self, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        calls: list[str] = []
        write, sync = os.write, os.fsync

        def told_write(place: int, data: bytes) -> int:
            calls.append("write")
            return write(place, data)

        def told_sync(place: int) -> None:
            calls.append("fsync")
            sync(place)

        monkeypatch.setattr(os, "write", told_write)
        monkeypatch.setattr(os, "fsync", told_sync)
        append_log(file, *ENTRIES)
        assert calls == ["write", "fsync"]


class TestTwoAtOnce:
    def test_no_line_is_lost_or_torn(self, file: Path) -> None:
        program = (
            "import sys; from formula.daylog import append_log; from formula.logentry import Entry\n"
            "for number in range(1, 101):\n"
            "    append_log(sys.argv[1], Entry('02:00', 'mix begun', bread=sys.argv[2] * 40, mix=number))\n"
        )
        environment = {**os.environ, "PYTHONPATH": str(HOUSE.parent)}
        running = [subprocess.Popen([sys.executable, "-c", program, str(file), name], env=environment) for name in "ab"]
        assert [each.wait(120) for each in running] == [0, 0]
        log = read_log(file)
        assert log.cautions == ()
        for name in "ab":
            assert [entry.mix for entry in log.entries if entry.bread == name * 40] == list(range(1, 101))

    def test_a_line_that_is_being_written_is_waited_for(self, file: Path) -> None:
        fcntl = pytest.importorskip("fcntl")
        line = b'{"at": "02:00", "what": "note", "note": "half of this is there"}\n'
        with ThreadPoolExecutor() as threads, file.open("ab", buffering=0) as other:
            fcntl.flock(other, fcntl.LOCK_EX)
            other.write(line[:20])
            added = threads.submit(append_log, file, Entry("02:10", "note", note="the next"))
            read = threads.submit(read_log, file)
            assert not wait([added], timeout=0.5).done
            assert not read.done()
            other.write(line[20:])
            fcntl.flock(other, fcntl.LOCK_UN)
            added.result(60)
            assert read.result(60).cautions == ()
        log = read_log(file)
        assert log.cautions == ()
        assert [entry.note for entry in log.entries] == ["half of this is there", "the next"]


class TestWhatIsNoLog:
    @pytest.mark.parametrize(
        ("line", "words"),
        [
            ('{"at": "02:00"', "one whole JSON object"),
            ("[1, 2]", "a table of keys and values"),
            ('{"at": "02:00", "what": "note", "wat": 1}', "wat: got an unknown key"),
            ('{"what": "note"}', "at: got nothing, expected the key 'at'"),
            ('{"at": "02:00", "what": "note", "at": "03:00"}', "at: got the key twice"),
            ('{"at": "02:00", "what": "note", "who": null}', "who: got null"),
            ('{"at": "02:00", "what": "mix begun", "bread": "x", "mix": NaN}', "NaN, expected a finite number"),
            ('{"at": "26:00", "what": "note"}', "at: got '26:00'"),
            ('{"at": "02:00", "what": "mix eaten"}', "what: got 'mix eaten', expected one of stage built"),
            ('{"at": "02:00", "what": "mix begun", "bread": "x", "mix": "3"}', "mix: got '3'"),
            ('{"at": "02:00", "what": "mix begun", "bread": "x", "mix": true}', "mix: got True"),
            ('{"at": "02:00", "what": "mix begun", "bread": 5, "mix": 1}', "bread: got 5"),
            ('{"at": "02:00", "what": "mix begun", "bread": "x"}', 'mix: got nothing, expected it, for "mix begun"'),
            ('{"at": "02:00", "what": "load in", "bread": "x", "mix": 1, "load": 1, "dough": "25 °C"}', "dough: got it in"),
            ('{"at": "02:00", "what": "mix ended", "bread": "x", "mix": 1, "dough": 25}', "the bare number 25"),
            ('{"at": "02:00", "what": "pieces weighed", "bread": "x", "masses": "900 g"}', "expected a list of"),
            ('{"at": "02:00", "what": "mix ended", "bread": "x", "mix": 1, "weights": ["salt"]}', "a table of names"),
            ('{"at": "02:00", "what": "mix ended", "bread": "x", "mix": 1, "weights": {"salt": "2"}}', "add the unit"),
            ('{"at": "02:00", "what": "mix ended", "bread": "x", "mix": 1, "lots": {"salt": []}}', "no lot number"),
            ('{"at": "02:00", "what": "mix ended", "bread": "x", "mix": 1, "lots": {"salt": [7]}}', "salt: got 7"),
            ('{"at": "02:00", "what": "mix ended", "bread": "x", "mix": 1, "lots": {" ": "7"}}', "a name that is empty"),
            ('{"at": "02:00", "what": "note", "note": "' + "x" * 501 + '"}', "at most 500 characters"),
            ('{"at": "02:00", "what": "note", "note": "\\u001b[31m"}', "text on one line"),
        ],
    )  # fmt: skip
    def test_the_line_is_named(self, file: Path, line: str, words: str) -> None:
        good = '{"at": "02:00", "what": "note"}\n'
        file.write_text(good + line + "\n" + good, encoding="utf-8")
        with pytest.raises(FileError) as caught:
            read_log(file)
        assert f"{file}: line 2" in str(caught.value)
        assert words in str(caught.value)

    def test_all_at_once(self, file: Path) -> None:
        file.write_text('nonsense\n{"at": "02:00", "what": "note"}\n\xff\n{"at": "2"}\n', encoding="latin-1")
        with pytest.raises(FileError) as caught:
            read_log(file)
        assert [fault.where.removeprefix(f"{file}: ")[:6] for fault in caught.value.faults] == [
            "line 1",
            "line 3",
            "line 4",
        ]

    def test_a_place_that_is_not_there(self, file: Path) -> None:
        file.write_text('{"at": "02:00", "what": "note", "instead_of": 5}\n', encoding="utf-8")
        with pytest.raises(FileError, match="line 1: got instead_of 5"):
            read_log(file)

    def test_a_list_that_is_too_long(self) -> None:
        with pytest.raises(FormulaError, match="10001 of them"):
            Entry("02:00", "pieces weighed", bread="x", masses=["1 g"] * (MOST_IN_A_LIST + 1))
        table = {f"seed {number}": "1 g" for number in range(MOST_IN_A_LIST + 1)}
        with pytest.raises(FormulaError, match="weights: got 10001 of them, expected at most 10000; write more lines"):
            Entry("02:00", "mix ended", bread="x", mix=1, weights=table)

    @pytest.mark.parametrize("name", ["nowhere.jsonl", "", "a\0b"])
    def test_no_file(self, tmp_path: Path, name: str) -> None:
        with pytest.raises(FileError):
            read_log(tmp_path / name)

    @pytest.mark.parametrize("name", ["", "nowhere/log.jsonl", "a\0b"])
    def test_no_file_to_write(self, tmp_path: Path, name: str) -> None:
        with pytest.raises(FileError, match="a path that cannot be written"):
            append_log(tmp_path / name, ENTRIES[0])

    def test_only_so_many_faults_are_told(self, file: Path) -> None:
        file.write_text("[1]\n" * (MOST_FAULTS + 20), encoding="utf-8")
        with pytest.raises(FileError) as caught:
            read_log(file)
        assert len(caught.value.faults) == MOST_FAULTS

    def test_a_huge_file(self, file: Path) -> None:
        with file.open("wb") as opened:
            opened.truncate(LARGEST_LOG + 1)
        with pytest.raises(FileError, match=r"1\.0 MB, expected at most 1 MB"):
            read_log(file)
        with pytest.raises(FileError, match="a log that is full"):
            append_log(file, ENTRIES[0])
        assert file.stat().st_size == LARGEST_LOG + 1

    def test_a_line_that_is_too_long(self, file: Path) -> None:
        entry = Entry("02:00", "pieces weighed", bread="x", masses=["900 g"] * MOST_IN_A_LIST)
        append_log(file, entry)
        assert read_log(file).entries == (entry,)
        long = {f"{'x' * 400}{number}": "1 kg" for number in range(3000)}
        with pytest.raises(FileError, match="a longer line"):
            append_log(file, Entry("02:00", "mix ended", bread="x", mix=1, weights=long))
