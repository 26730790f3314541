"""The commands about labels answer as the library does, and refuse in one message."""

import json
from pathlib import Path

from formula.draft import label_draft
from formula.files import load
from formula.label import declaration
from tests.conftest import Run

DAY = Path(__file__).parents[1] / "docs" / "examples" / "harbour"
ROUND, BUN = DAY / "breads" / "quay-round.toml", DAY / "breads" / "gull-bun.toml"


def test_the_draft_is_the_library_s(run: Run) -> None:
    made = declaration(load(ROUND), region="eu", baked="800 g", emphasised=["sesame seeds"])
    draft = label_draft(made, net="800 g", name="wheat bread", sold="packed-on-site")
    call = ("label", ROUND, "--region", "eu", "--baked", "800 g", "--emphasise", "sesame seeds", "--net", "800 g")
    code, out, _ = run(*call, "--name", "wheat bread", "--sold", "packed-on-site")
    assert code == 0
    assert draft.text() in out
    assert "benchmark 50 µg" in out
    for form, words in (("markdown", draft.markdown()), ("html", draft.html())):
        assert words in run(*call, "--name", "wheat bread", "--sold", "packed-on-site", "--format", form)[1]


def test_json_holds_the_same(run: Run) -> None:
    call = ("label", BUN, "--region", "us", "--baked", "60 g", "--salt-target", "0.9 %", "--json")
    tables = json.loads(run(*call)[1])
    made = declaration(load(BUN), region="us", baked="60 g")
    assert tables["ingredients"] == made.text()
    assert [entry["mass_g"] for entry in tables["entries"]] == [entry.mass_g for entry in made.entries]
    assert tables["allergens"] == list(made.allergens)
    assert {each["name"]: each["may"] for each in tables["names"]}["roll or bun"] is True
    assert tables["acrylamide"] is None
    assert tables["salt"]["is_met"] is False
    assert (
        json.loads(run("label", BUN, "--region", "eu", "--baked", "60 g", "--json")[1])["acrylamide"][
            "benchmark_ug_per_kg"
        ]
        == 50
    )


def test_what_suppliers_tell_fills_the_gaps(run: Run) -> None:
    call = ("label", BUN, "--region", "eu", "--baked", "60 g", "--part", "bread flour=", "--allergens", "butter=")
    out = run(*call)[1]
    assert "Ingredients: WHEAT flour, whole MILK, butter, sugar" in out
    assert run("label", BUN, "--region", "eu", "--part", "bread flour")[0] == 2


def test_working_shows_every_step(run: Run) -> None:
    out = run("label", BUN, "--region", "us", "--baked", "60 g", "--working", "--salt-target", "1 %")[1]
    assert "Gull Bun: the list of ingredients by the rules of the USA" in out
    assert "[cfr-21-101-4]" in out
    assert "names by 21 CFR 136" in out
    assert "[eu-salt-factor]" in out


def test_refusals_are_one_message(run: Run) -> None:
    code, out, err = run("label", ROUND, "--region", "eu")
    assert (code, out) == (1, "")
    assert err == (
        "Quay Round: got toppings (sesame seeds) without the weight of a piece, expected piece= or baked=;"
        " toppings are weighed by the piece\n"
    )
    assert run("label", ROUND, "--region", "uk")[0] == 2
    assert run("label", ROUND)[0] == 2


def test_the_matrix_of_a_day(run: Run) -> None:
    code, out, _ = run("allergens", DAY)
    assert code == 0
    assert out.splitlines()[0].split() == ["bread", "wheat", "rye", "barley", "egg", "milk", "sesame", "others"]
    alone = json.loads(run("allergens", DAY, "--share", "nothing", "--json")[1])
    assert all(bread["may_contain"] == [] for bread in alone["breads"])
    shared = json.loads(run("allergens", DAY, "--share", "day", "--region", "us", "--json")[1])
    plain = next(bread for bread in shared["breads"] if bread["bread"] == "Quay Round")
    assert plain["contains"] == {"wheat": ["bread flour", "whole wheat flour"], "sesame": ["sesame seeds"]}
    assert plain["may_contain"] == ["egg", "milk"]
    assert plain["shares_with"]["Gull Bun"] == "the day"
    assert run("allergens", DAY, "--format", "markdown")[1].startswith("| bread | wheat |")
