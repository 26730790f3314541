"""The commands about the log answer as the library does, and refuse in one message."""

import json
import re
from pathlib import Path

import pytest

from formula.clockwork import Timetable, timetable
from formula.day import plan_day
from formula.daylog import append_log, read_log
from formula.folder import load_day
from formula.logentry import Entry
from formula.replanning import replan
from formula.shopfile import load_workshop
from formula.tracing import trace_loaf, trace_lot
from tests.conftest import Run

EXAMPLES = Path(__file__).parents[1] / "docs" / "examples"
HARBOUR, NIGHT = EXAMPLES / "harbour", EXAMPLES / "harbour-night.jsonl"


@pytest.fixture(scope="module")
def table() -> Timetable:
    shop = load_workshop(HARBOUR)
    assert shop is not None
    return timetable(plan_day(*load_day(HARBOUR), shop), shop)


class TestReplan:
    def test_it_answers_as_the_library(self, run: Run, table: Timetable) -> None:
        code, out, _ = run("day", HARBOUR, "--replan", NIGHT, "--now", "02:10", "--json")
        found = replan(table, read_log(NIGHT), "02:10")
        assert code == 0
        answer = json.loads(out)
        assert answer["replan"] == json.loads(json.dumps(found.to_tables()))
        assert answer["timetable"] == json.loads(json.dumps(found.timetable.to_tables()))

    def test_now_is_the_latest_line(self, run: Run) -> None:
        _, out, _ = run("day", HARBOUR, "--replan", NIGHT)
        assert out.startswith("From 02:05 on\n")

    def test_what_becomes_late_is_told(self, run: Run, tmp_path: Path) -> None:
        log = tmp_path / "log.jsonl"
        append_log(
            log,
            *(Entry("23:00 the day before", "station down", station=f"deck {n}", until="06:00") for n in (1, 2, 3, 4)),
        )
        code, out, _ = run("day", HARBOUR, "--replan", log)
        assert code == 0
        # Baked from 06:00 on, a tin loaf is packed after 07:00: not one of 624 is in time.
        (tins,) = re.findall(r"LATER THAN PLANNED\. Ballast Tin, due 07:00: (.*)", out)
        assert sum(map(int, re.findall(r"([0-9]+) pieces (?:late|short)", tins))) == 624

    def test_a_mix_more(self, run: Run, tmp_path: Path) -> None:
        log = tmp_path / "log.jsonl"
        append_log(log, Entry("23:00 the day before", "order changed", bread="Gull Bun", pieces=4000))
        _, out, _ = run("day", HARBOUR, "--replan", log)
        assert [line.split()[2] for line in out.splitlines() if "mix " in line and "Gull Bun" in line].count("new") == 2

    def test_what_finds_no_oven_is_short(self, run: Run, tmp_path: Path) -> None:
        log = tmp_path / "log.jsonl"
        append_log(log, Entry("01:00", "station down", station="the clay oven"))
        _, out, _ = run("day", HARBOUR, "--replan", log)
        assert "LATER THAN PLANNED. Ember Flat, due 11:00:" in out
        assert "pieces short" in out

    def test_another_oven(self, run: Run, tmp_path: Path) -> None:
        log = tmp_path / "log.jsonl"
        append_log(log, Entry("01:30", "station down", station="deck 1", until="04:00"))
        _, out, _ = run("day", HARBOUR, "--replan", log)
        moved = [line for line in out.splitlines() if ", deck 1 " in line]
        assert moved
        assert all(" bake " in line and line.count("deck 1") == 1 for line in moved)

    def test_a_bad_log(self, run: Run, tmp_path: Path) -> None:
        log = tmp_path / "log.jsonl"
        append_log(log, Entry("01:30", "mix begun", bread="Keel", mix=1))
        code, out, err = run("day", HARBOUR, "--replan", log)
        assert (code, out) == (1, "")
        assert f"{log}: line 1: got 'Keel', expected one of" in err

    def test_it_needs_a_clock(self, run: Run, tmp_path: Path) -> None:
        for file in HARBOUR.rglob("*.toml"):
            if file.name != "workshop.toml":
                to = tmp_path / file.relative_to(HARBOUR)
                to.parent.mkdir(exist_ok=True)
                to.write_bytes(file.read_bytes())
        code, _, err = run("day", tmp_path, "--replan", NIGHT)
        assert code == 1
        assert "workshop.toml" in err
        assert "--replan" in err

    def test_now_alone(self, run: Run) -> None:
        assert run("day", HARBOUR, "--now", "02:10")[0] == 2


class TestTrace:
    def test_a_lot(self, run: Run, table: Timetable) -> None:
        _, out, _ = run("trace", "B 1", HARBOUR, "--log", NIGHT, "--json")
        assert json.loads(out) == json.loads(json.dumps(trace_lot(read_log(NIGHT), table.day, "B 1").to_tables()))

    def test_a_loaf(self, run: Run, table: Timetable) -> None:
        _, out, _ = run("trace", HARBOUR, "--log", NIGHT, "--bread", "Quay Round", "--due", "05:30", "--json")
        found = trace_loaf(read_log(NIGHT), table.day, "Quay Round", due="05:30")
        assert json.loads(out) == json.loads(json.dumps(found.to_tables()))
        assert [mix.mix for mix in found.mixes] == [1]

    def test_for_the_eye(self, run: Run) -> None:
        _, out, _ = run("trace", "4711", HARBOUR, "--log", NIGHT)
        assert "built stage: biga B 1" in out
        _, out, _ = run("trace", HARBOUR, "--log", NIGHT, "--bread", "Gull Bun")
        assert "Gull Bun, mix 1: begun not known, mixed by not known" in out
        _, out, _ = run("trace", HARBOUR, "--log", NIGHT, "--bread", "Quay Round")
        assert "perhaps Quay Round, mix 13" in out

    def test_a_lot_that_is_not_there(self, run: Run) -> None:
        code, out, _ = run("trace", "X 1", HARBOUR, "--log", NIGHT)
        assert code == 0
        assert "Lot X 1: not in the log" in out

    @pytest.mark.parametrize(
        "words",
        [("4711",), ("4711", HARBOUR, "more"), ("4711", HARBOUR, "--bread", "x"), ("4711", HARBOUR, "--mix", "1")],
    )
    def test_wrong_usage(self, run: Run, words: tuple[object, ...]) -> None:
        assert run("trace", *words, "--log", NIGHT)[0] == 2
