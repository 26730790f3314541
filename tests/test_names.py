"""Every public name has its line in the index, its entry in the reference, and an example of its own that runs."""

import inspect
import re
import sys
from pathlib import Path

import pytest

import formula
from tests.publicnames import REFERENCE, home, index, summary

PUBLIC = sorted(formula.__all__)
PROJECT = Path(__file__).parents[1]
MADE_BY = {
    "AllergenOrder": "allergen_order",
    "AssortmentCosts": "Assortment.price",
    "AssortmentMasses": "Assortment.scale",
    "Batch": "Formula.scale",
    "ChangedOrders": "changed_orders",
    "Exercises": "exercises",
    "HeatBalance": "heat_balance",
    "LoafTrace": "trace_loaf",
    "LotTrace": "trace_lot",
    "ManyDays": "plan_days",
    "MixTrace": "LoafTrace.mixes",
    "MixWait": "mix_waits",
    "MixWater": "waters",
    "Origin": "origins",
    "Pace": "pace_of",
    "ReadyList": "to_have_ready",
    "Replan": "replan",
    "StageBuilds": "stage_builds",
    "Stretch": "stretch_preferment",
    "Timetable": "timetable",
}
"""Answers that nobody makes by hand: the example of what makes them shows them."""
ON_A_PAGE = {"replan": "docs/log.md"}
"""What needs the log of a night to be shown: a page has one, and shows it there."""


def test_the_index_lists_all_names_once_by_the_alphabet() -> None:
    listed = re.findall(r"^\| \{py:obj\}`(\w+) <([\w.]+)>` \|", index(), re.MULTILINE)
    assert [name for name, _ in listed] == sorted(PUBLIC, key=lambda name: (name.lower(), name))
    assert all(entry == f"{home(name)}.{name}" for name, entry in listed)


@pytest.mark.parametrize("name", PUBLIC)
def test_a_name_has_its_room_in_the_reference(name: str) -> None:
    reference = (PROJECT / REFERENCE).read_text(encoding="utf-8")
    found = re.search(rf"automodule:: {re.escape(home(name))}\n   :members:(.*)$", reference, re.MULTILINE)
    assert found, f"{home(name)} is not in {REFERENCE}"
    listed = [each.strip() for each in found[1].split(",") if each.strip()]
    assert not listed or name in listed


@pytest.mark.parametrize("name", PUBLIC)
def test_a_name_says_in_one_sentence_what_it_is(name: str) -> None:
    assert summary(name).endswith((".", ":", "?"))
    assert 10 < len(summary(name)) < 260


def shows(name: str) -> bool:
    """Say whether what a public name, or a name of a public class, says of itself has an example."""
    thing: object = formula
    for part in name.split("."):
        thing = getattr(thing, part)
    return ">>> " in (inspect.getdoc(thing) or "")


@pytest.mark.parametrize("name", [name for name in PUBLIC if name not in {*MADE_BY, *ON_A_PAGE}])
def test_a_name_has_an_example_of_its_own(name: str) -> None:
    assert shows(name), f"{home(name)}.{name} shows no example"


@pytest.mark.parametrize(("name", "maker"), MADE_BY.items())
def test_an_answer_is_shown_by_what_makes_it(name: str, maker: str) -> None:
    assert not shows(name), f"{name} has an example of its own by now"
    thing = getattr(sys.modules[home(name)], maker.partition(".")[0], None) or getattr(formula, maker.partition(".")[0])
    if maker == "LoafTrace.mixes":
        assert name in str(thing.__annotations__["mixes"])
        return
    if "." in maker:
        thing = getattr(thing, maker.partition(".")[2])
    assert name in str(inspect.signature(thing).return_annotation)
    assert maker in ON_A_PAGE or ">>> " in (inspect.getdoc(thing) or "")


@pytest.mark.parametrize(("name", "page"), ON_A_PAGE.items())
def test_a_page_shows_what_has_no_example(name: str, page: str) -> None:
    assert not shows(name), f"{name} has an example of its own by now"
    assert re.search(rf">>> .*\b{name}\(", (PROJECT / page).read_text(encoding="utf-8"))
