"""``formula divide`` answers as the library does, and refuses in one message."""

import json
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from formula.byhand import dough_by_hand, pieces_by_hand
from formula.files import load
from formula.press import Press, heads_from
from formula.yielded import bread_from_dough
from tests.conftest import Run

ROUND = Path(__file__).parents[1] / "docs" / "examples" / "harbour" / "breads" / "quay-round.toml"


@pytest.fixture
def run(run: Run) -> Run:
    """Run the command ``divide``."""
    return partial(run, "divide")


def answer(run: Run, *arguments: object) -> dict[str, Any]:
    code, out, err = run(*arguments, "--json")
    assert (code, err) == (0, "")
    found: dict[str, Any] = json.loads(out)
    return found


def test_pieces_and_what_is_left(run: Run) -> None:
    code, out, _ = run("62 kg", "--piece", "1.5 kg")
    assert code == 0
    assert out.splitlines()[:2] == ["41 pieces of 1500 g", "500 g left over"]
    assert run("61.5 kg", "--piece", "1.5 kg")[1] == "41 pieces of 1500 g\nnothing left over\n"
    assert "3.30693 lb" in run("62 kg", "--piece", "1.5 kg", "--unit", "lb")[1]


def test_the_remainder_by_choice(run: Run) -> None:
    found = answer(run, "62 kg", "--piece", "1.5 kg", "--step", "5 g", "--remainder", "spread")
    assert found["portions"] == [{"pieces": 18, "piece_g": 1515.0}, {"pieces": 23, "piece_g": 1510.0}]
    assert (found["pieces"], found["remainder_g"], found["asked_g"]) == (41, 0.0, 1500.0)
    assert "1 piece of 500 g" in run("62 kg", "--piece", "1.5 kg", "--remainder", "odd-piece")[1]
    held = answer(run, "62 kg", "--piece", "1.5 kg", "--remainder", "old-dough")
    assert [caution["code"] for caution in held["cautions"]] == ["held-as-old-dough"]


def test_a_press(run: Run) -> None:
    found = answer(run, "12.5 kg", "--parts", 30, "--head", "1.86 kg", "--lightest", "1 kg", "--heaviest", "3 kg")
    made = heads_from("12.5 kg", Press(30), head="1.86 kg")
    for name in ("heads", "head_g", "piece_g", "last_g", "last_pieces", "pieces", "remainder_g"):
        assert found[name] == getattr(made, name)
    out = run("12.5 kg", "--parts", 30, "--piece", "62 g", "--step", "20 g")[1]
    assert out.startswith("6 heads of 1860 g, pieces of 62 g\nand 1340 g left, 21 pieces by hand\n201 pieces in all\n")
    assert "left" not in run("3720 g", "--parts", 30, "--piece", "62 g")[1]


def test_several_products(run: Run) -> None:
    products = ("--product", "large=30x920 g", "--product", " small = 40 x 460 g")
    found = answer(run, "48 kg", *products, "--fill", "small")
    assert [(each["name"], each["wanted"], each["pieces"]) for each in found["products"]] == [
        ("large", 30, 30),
        ("small", 40, 44),
    ]
    assert run("48 kg", *products)[1].startswith(
        "large: 30 pieces of 920 g\nsmall: 40 pieces of 460 g\n2000 g left over"
    )
    short = answer(run, "30 kg", *products, "--short", "in-order")
    assert [each["pieces"] for each in short["products"]] == [30, 5]


def test_the_bread_that_comes_of_it(run: Run) -> None:
    found = answer(run, "100 kg", "--piece", "920 g", "--bread", ROUND)
    made = bread_from_dough("100 kg", load(ROUND), piece="920 g")
    assert (found["bread_g"], found["pieces"]) == (made.bread_g, made.pieces)
    out = run("100 kg", "--product", "large=20x920 g", "--product", "small=9x475 g", "--bread", ROUND)[1]
    assert out.startswith("98.5 kg of dough at the divider\nlarge: 20 pieces of 920 g, 802.5 g each when sold\n")
    assert "Quay Round: 107 pieces of 920 g" in run("100 kg", "--piece", "920 g", "--bread", ROUND)[1]


def test_by_hand(run: Run) -> None:
    found = answer(run, "100 kg", "--piece", "900 g", "--limit", "20 g", "--sigmas", 2)
    made = pieces_by_hand("100 kg", piece="900 g", sd="10 g")
    assert (found["fewest"], found["most"], found["short_share"]) == (made.fewest, made.most, made.short_share)
    assert found["dough_by_hand_g"] == dough_by_hand(111, piece="900 g", sd="10 g").mass_g
    out = run("100 kg", "--piece", "900 g", "--sd", "10 g")[1]
    assert "by hand: 110 to 111 pieces; the last of 111 is short in 17.1 % of doughs" in out
    # The hand aims at what the scale shows.
    found = answer(run, "100 kg", "--piece", "896 g", "--step", "10 g", "--sd", "10 g")
    assert found["fewest"] == made.fewest


@pytest.mark.parametrize(
    ("arguments", "titles"),
    [
        (("--piece", "1.5 kg"), ["Dividing"]),
        (("--piece", "1.5 kg", "--sd", "10 g"), ["Dividing", "Pieces by hand", "Dough to keep in hand"]),
        (("--parts", "30", "--piece", "62 g"), ["A press of 30 parts"]),
        (("--product", "a=1x1 kg"), ["Dividing among several products"]),
        (("--piece", "1.5 kg", "--bread", ROUND), ["Bread from a dough, divided"]),
    ],
)
def test_working(run: Run, arguments: tuple[object, ...], titles: list[str]) -> None:
    out = run("62 kg", *arguments, "--working")[1]
    assert [line for line in out.splitlines() if line in titles] == titles


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((), "say one of --piece, --head and --product"),
        (("--piece", "1 kg", "--product", "a=1x1 kg"), "say one of --piece, --head and --product"),
        (("--head", "3 kg"), "--head goes with --parts"),
        (("--piece", "1 kg", "--heaviest", "3 kg"), "--heaviest goes with --parts"),
        (("--piece", "1 kg", "--fill", "a"), "--fill goes with --product"),
        (("--piece", "1 kg", "--short", "share"), "--short goes with --product"),
        (("--product", "a=1x1 kg", "--remainder", "spread"), "--remainder goes with --piece"),
        (("--product", "a=1x1 kg", "--sd", "1 g"), "--sd goes with --piece"),
        (("--piece", "62 g", "--parts", "30", "--sd", "1 g"), "--parts does not go with --sd"),
        (("--piece", "62 g", "--parts", "30", "--bread", ROUND), "--parts does not go with --bread"),
        (("--piece", "62 g", "--sd", "1 g", "--bread", ROUND), "--sd does not go with --bread"),
        (("--piece", "62 g", "--limit", "1 g", "--remainder", "spread"), "--limit does not go with --remainder"),
        (("--product", "1 kg"), "write NAME=PIECESxWEIGHT"),
        (("--product", "a=1.5x1 kg"), "write NAME=PIECESxWEIGHT"),
    ],
)
def test_wrong_usage(run: Run, arguments: tuple[object, ...], message: str) -> None:
    code, out, err = run("62 kg", *arguments)
    assert (code, out) == (2, "")
    assert message in err


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--piece", "63 kg"), "piece: got 63000 g, expected no more than the dough, 62000 g"),
        (("--piece", "1 kg", "--limit", "20 g"), "sigmas: got None"),
        (("--piece", "1 kg", "--sigmas", "2"), "spread: got neither"),
        (("--parts", "1", "--piece", "1 kg"), "parts: got 1, expected a whole number of 2 or more"),
        (("--product", "a=0x1 kg"), "a: pieces: got 0"),
        (("--product", "a=70x1 kg"), "a: got dough for 62 of 70 pieces, 8 short"),
        (("--piece", "1 kg", "--bread", "nowhere.toml"), "there is no such file"),
    ],
)
def test_bad_input(run: Run, arguments: tuple[object, ...], message: str) -> None:
    code, out, err = run("62 kg", *arguments)
    assert (code, out) == (1, "")
    assert message in err
    assert "Traceback" not in err
