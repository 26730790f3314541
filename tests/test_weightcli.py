"""The command about net weight answers as the library does, and refuses in one message."""

import json
from pathlib import Path

import pytest

from formula.packrules import weight_rules
from formula.samplecheck import check_weighings
from formula.samples import read_weighings
from formula.scalingweight import net_weight
from tests.conftest import Run

LOAF = ("weight", "400 g", "--divider-sd", "6 g", "--loss", "11 %", "--loss-sd", "1 %")
LOAVES = Path(__file__).parents[1] / "docs" / "examples" / "samples.csv"


def test_all_rules_as_a_table(run: Run) -> None:
    code, out, _ = run(*LOAF, "--price", "2.40 EUR/kg")
    assert code == 0
    assert out.startswith("spread of the weight as sold 6.98 g")
    for rule in weight_rules():
        assert f"\n{rule.name} " in out
    assert "EUR" in out
    assert "Verify before legal use" in out


def test_json(run: Run) -> None:
    _, out, _ = run(*LOAF, "--step", "1 g", "--pieces", 500, "--price", "2.40 EUR/kg", "--json")
    tables = json.loads(out)
    found = net_weight(
        "400 g", divider_sd="6 g", loss="11 %", loss_sd="1 %", step="1 g", pieces=500, price="2.40 EUR/kg"
    )
    assert tables["baked_sd_g"] == found.baked_sd_g
    for name, answer in found.rules.items():
        assert tables["rules"][name]["scaling_weight_g"] == answer.scaling_weight_g
        assert tables["rules"][name]["below_limit_share"] == answer.below_limit_share
        assert tables["rules"][name]["giveaway_cost"]["amount"] == str(answer.giveaway_cost).split()[0]
    assert json.loads(run(*LOAF, "--json")[1])["rules"]["eu"]["giveaway_cost"] is None


def test_some_rules_and_all_other_options(run: Run) -> None:
    options = ("--divider-limit", "12 g", "--sigmas", 2, "--loss", "11 %", "--none-share", "1 ‰", "--drift", "1 g")
    more = ("--between-sd", "1 g", "--batches", 4, "--confidence", "95 %", "--sampling", "0.5 g", "--rule", "us")
    _, out, _ = run("weight", "1 lb", *options, *more, "--json")
    found = net_weight(
        "1 lb",
        divider_limit="12 g",
        sigmas=2,
        loss="11 %",
        none_share="1 ‰",
        drift="1 g",
        between_sd="1 g",
        batches=4,
        confidence="95 %",
        sampling="0.5 g",
        rules="us",
    )
    assert list(json.loads(out)["rules"]) == ["us"]
    assert json.loads(out)["rules"]["us"]["mean_g"] == found.rules["us"].mean_g
    assert " oz " in run("weight", "1 lb", *options, *more, "--unit", "oz")[1]


def test_working(run: Run) -> None:
    _, out, _ = run(*LOAF, "--rule", "eu", "--rule", "us", "--working")
    assert out.count("scaling_weight = mean / (1 - loss)") == 2


def test_check(run: Run) -> None:
    code, out, _ = run("weight", "400 g", "--check", LOAVES, "--rule", "eu", "--lot", 800)
    found = check_weighings(read_weighings(LOAVES), "400 g", rule="eu", lot=800)
    assert code == 0
    assert out.startswith(str(found))
    tables = json.loads(run("weight", "400 g", "--check", LOAVES, "--rule", "eu", "--lot", 800, "--json")[1])
    assert (tables["verdict"], tables["mean_g"]) == (found.verdict, found.mean_g)
    assert [clause["passed"] for clause in tables["clauses"]] == [clause.passed for clause in found.clauses]
    assert "margin = " in run("weight", "400 g", "--check", LOAVES, "--rule", "eu", "--lot", 800, "--working")[1]


@pytest.mark.parametrize(
    "options",
    [
        ("--check", LOAVES),
        ("--check", LOAVES, "--lot", 800),
        ("--check", LOAVES, "--rule", "eu", "--rule", "us", "--lot", 800),
        ("--check", LOAVES, "--rule", "eu", "--lot", 800, "--loss", "11 %"),
        ("--lot", 800),
        ("--destructive",),
        ("--rule", "fr"),
    ],
)
def test_wrong_usage(run: Run, options: tuple[str, ...]) -> None:
    code, out, err = run("weight", "400 g", *options)
    assert (code, out) == (2, "")
    assert "--" in err


def test_bad_input(run: Run) -> None:
    code, out, err = run("weight", "400", "--divider-sd", "6", "--loss", "11", "--pieces", 0)
    assert (code, out) == (1, "")
    assert len([line for line in err.splitlines() if line.startswith("  - ")]) == 4
    code, out, err = run("weight", "400 g", "--check", "nowhere.csv", "--rule", "eu", "--lot", 800)
    assert (code, out) == (1, "")
    assert "nowhere.csv" in err
