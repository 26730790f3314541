"""The commands about yeast and levain answer as the library does, and refuse in one message."""

import json
from pathlib import Path

import pytest

from formula.builds import levain_for
from formula.culture import levain_seed, levain_time
from formula.files import load
from formula.processes import typical_processes
from formula.timing import time_for_yeast, yeast_for_time
from formula.upkeep import levain_upkeep
from tests.conftest import Run

SOUR = Path(__file__).parents[1] / "docs" / "examples" / "harbour" / "breads" / "harbour-sour.toml"
STEPS = ("--step", "hold 1 h at 24 °C", "--step", "cool 16 h to 4 °C lag 1.5 h", "--step", "hold 2 h at 26 °C")


class TestYeast:
    def test_ready_in_twelve_hours_instead_of_three(self, run: Run) -> None:
        code, out, _ = run("yeast", "--dose", "2 %", "--time", "3 h", "--new-time", "12 h", "--json")
        found = yeast_for_time("2 %", time="3 h", new_time="12 h")
        assert code == 0
        tables = json.loads(out)
        # The inverse rule: 2 x 3 / 12.
        assert tables["dose_percent"] == found.dose_percent == pytest.approx(0.5)
        assert (tables["low_percent"], tables["high_percent"]) == (found.low_percent, found.high_percent)
        assert run("yeast", "--dose", "2 %", "--time", "3 h", "--new-time", "12 h")[1].startswith(
            "0.5 % of fresh yeast (from"
        )

    def test_the_room_is_31_today(self, run: Run) -> None:
        options = ("--temperature", "26 °C", "--room", "26 °C", "--new-room", "31 °C", "--lag", "3 h")
        _, out, _ = run("yeast", "--dose", "2 %", "--time", "3 h", *options, "--json")
        told = {"temperature": "26 °C", "room": "26 °C", "new_room": "31 °C", "lag": "3 h"}
        assert json.loads(out)["dose_percent"] == yeast_for_time("2 %", time="3 h", **told).dose_percent  # type: ignore[arg-type]
        _, out, _ = run("yeast", "--dose", "2 %", "--time", "3 h", *options, "--new-dose", "2 %", "--json")
        assert json.loads(out)["time_h"] == time_for_yeast("2 %", time="3 h", new_dose="2 %", **told).time_h  # type: ignore[arg-type]

    def test_what_a_night_in_the_cold_is_worth(self, run: Run) -> None:
        code, out, _ = run("yeast", *STEPS, "--at", "26 °C", "--json")
        assert code == 0
        # Worked out by integration when the model was laid down: 0.877 + 1.339 + 2 h.
        assert json.loads(out)["time_h"] == pytest.approx(4.215, abs=0.0005)
        assert json.loads(out)["steps_h"] == pytest.approx([0.877, 1.339, 2.0], abs=0.0005)
        assert run("yeast", *STEPS, "--at", "26 °C")[1].startswith("worth 4.215 h at 26 °C")

    def test_the_dose_for_a_schedule(self, run: Run) -> None:
        _, out, _ = run("yeast", *STEPS, "--dose", "2 %", "--time", "3 h", "--temperature", "26 °C", "--json")
        assert json.loads(out)["dose_percent"] == pytest.approx(2 * 3 / 4.215, rel=1e-4)

    def test_all_words_for_a_step(self, run: Run) -> None:
        steps = ("ramp 2 h from 20 °C to 30 °C", "warm 1 h to 30 °C lag 1 h", "cool 1 h from 30 °C to 5 °C lag 2 h")
        code, _, err = run("yeast", *(word for step in steps for word in ("--step", step)), "--at", "26 °C")
        assert (code, err) == (0, "")

    @pytest.mark.parametrize("step", ["hold 1 h", "rest 1 h at 20 °C", "cool 3 h to 4 °C", "", "hold at 20 °C"])
    def test_a_step_that_is_none(self, run: Run, step: str) -> None:
        code, out, err = run("yeast", "--step", step, "--at", "26 °C")
        assert (code, out) == (1, "")
        assert "a step such as" in err

    def test_forms(self, run: Run) -> None:
        _, out, _ = run("yeast", "--amount", "40 g", "--form", "fresh", "--new-form", "instant", "--json")
        assert json.loads(out)["mass_g"] == pytest.approx(40 * 0.33)
        _, out, _ = run("yeast", "--amount", "10 g", "--form", "instant", "--new-form", "fresh")
        assert out.startswith("30.303 g of fresh yeast")
        assert out.rstrip().endswith("20.303 g less water")

    def test_the_usual_processes(self, run: Run) -> None:
        _, out, _ = run("yeast", "--processes")
        assert len(out.splitlines()) == len(typical_processes())
        assert "poolish" in json.loads(run("yeast", "--processes", "--json")[1])

    def test_working(self, run: Run) -> None:
        _, out, _ = run("yeast", "--dose", "2 %", "--time", "2 h", "--new-time", "8 h", "--working")
        assert "1. " in out

    @pytest.mark.parametrize(
        "options",
        [
            (),
            ("--dose", "2 %"),
            ("--amount", "40 g"),
            STEPS,
            (*STEPS, "--at", "26 °C", "--room", "20 °C"),
            ("--dose", "2 %", "--time", "2 h", "--new-time", "3 h", "--new-dose", "1 %"),
        ],
    )
    def test_wrong_usage(self, run: Run, options: tuple[str, ...]) -> None:
        code, out, err = run("yeast", *options)
        assert (code, out) == (2, "")
        assert "--" in err

    def test_bad_input(self, run: Run) -> None:
        code, out, err = run("yeast", "--dose", "2", "--time", "3", "--new-time", "0 h")
        assert (code, out) == (1, "")
        assert len([line for line in err.splitlines() if line.startswith("  - ")]) == 3


class TestLevain:
    def test_the_levain_of_a_bread_by_the_clock(self, run: Run) -> None:
        options = ("--dough", "40 kg", "--start", "18:00", "--ready", "04:30", "--temperature", "22 °C")
        code, out, _ = run("levain", SOUR, *options, "--json")
        batch = load(SOUR).scale(dough="40 kg")
        plan = levain_for(batch, start="18:00", ready="04:30", temperature="22 °C")
        assert code == 0
        tables = json.loads(out)
        assert tables["seed_g"] == plan.seed_g
        assert (tables["builds"][0]["start"], tables["builds"][0]["ready"]) == ("18:00 the day before", "04:30")
        # What the dough takes of it, and the seed for tomorrow, is all there is.
        assert tables["builds"][0]["total_g"] == pytest.approx(batch.mass_g("levain", stage="final") + plan.seed_g)
        assert run("levain", SOUR, *options)[1].startswith(str(plan))

    def test_builds_without_a_bread(self, run: Run) -> None:
        options = (
            "--total",
            "12 kg",
            "--start",
            "18:00",
            "--ready",
            "05:00",
            "--builds",
            "2",
            "--temperature",
            "25 °C",
        )
        _, out, _ = run("levain", *options, "--keep", "300 g", "--json")
        builds = json.loads(out)["builds"]
        assert len(builds) == 2
        assert builds[-1]["total_g"] == pytest.approx(12_300)
        assert builds[1]["seed_g"] == pytest.approx(builds[0]["total_g"])

    def test_builds_by_their_times(self, run: Run) -> None:
        options = ("--total", "5 kg", "--ready", "05:00", "--time", "6 h", "--time", "5 h", "--temperature", "25 °C")
        _, out, _ = run("levain", *options, "--json")
        assert [build["start"] for build in json.loads(out)["builds"]] == ["18:00 the day before", "00:00"]

    def test_when_it_is_ripe(self, run: Run) -> None:
        _, out, _ = run("levain", "--seed", "16 g", "--total", "360 g", "--temperature", "21 °C", "--json")
        assert json.loads(out)["time_h"] == levain_time(seed="16 g", total="360 g", temperature="21 °C").time_h
        _, out, _ = run(
            "levain", "--starter", "10 %", "--hydration", "100 %", "--temperature", "21 °C", "--ripe", "sour"
        )
        assert out.startswith("ripe (sour)")

    def test_how_much_seed(self, run: Run) -> None:
        _, out, _ = run("levain", "--total", "12 kg", "--time", "10 h", "--temperature", "22 °C", "--json")
        assert json.loads(out)["seed_g"] == levain_seed(total="12 kg", time="10 h", temperature="22 °C").seed_g

    def test_upkeep(self, run: Run) -> None:
        options = ("--feed", "06:00", "--feed", "18:00", "--temperature", "24 °C", "--take", "400 g", "--days", "2")
        _, out, _ = run("levain", *options, "--json")
        plan = levain_upkeep(feedings=("06:00", "18:00"), temperature="24 °C", take="400 g", days=2)
        assert [feeding["seed_g"] for feeding in json.loads(out)["feedings"]] == [each.seed_g for each in plan.feedings]

    def test_a_bread_without_a_levain(self, run: Run) -> None:
        lean = SOUR.parent / "ember-flat.toml"
        code, out, err = run(
            "levain", lean, "--dough", "40 kg", "--ready", "04:30", "--time", "8 h", "--temperature", "22 °C"
        )
        assert (code, out) == (1, "")
        assert "levain" in err

    def test_wrong_usage(self, run: Run) -> None:
        assert run("levain", "--temperature", "22 °C")[0] == 2
        assert run("levain", "--total", "1 kg", "--time", "8 h")[0] == 2
