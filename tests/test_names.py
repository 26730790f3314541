"""Every public name has its line in the index, its entry in the reference, and an example of its own that runs."""

import inspect
import re
from pathlib import Path

import pytest

import formula
from tests.publicnames import REFERENCE, home, index, summary

PUBLIC = sorted(formula.__all__)
PROJECT = Path(__file__).parents[1]
WITHOUT: dict[str, str] = dict.fromkeys(
    (
        "AllergenOrder",
        "Bakery",
        "Batch",
        "Caution",
        "ChangedOrders",
        "ContradictionError",
        "FileError",
        "HeatBalance",
        "LoafTrace",
        "Log",
        "LotTrace",
        "MissingExtraError",
        "MixTrace",
        "MixWait",
        "MixWater",
        "Order",
        "Pace",
        "Process",
        "QuantityError",
        "ReadyList",
        "Replan",
        "Source",
        "StageBuilds",
        "Stretch",
        "Timetable",
        "UnknownNameError",
        "Working",
        "Workshop",
        "changed_orders",
        "day_html",
        "day_ics",
        "day_pages",
        "day_three_ways",
        "day_xlsx",
        "dump",
        "load",
        "load_day",
        "load_prices",
        "load_stock",
        "logged_trials",
        "mix_waits",
        "plan_day",
        "plot_timetable",
        "price_day",
        "replan",
        "stage_builds",
        "timetable",
        "trace_loaf",
        "trace_lot",
        "waters",
    ),
    "shown on a page alone so far",
)
"""Names without an example of their own, each with the reason."""


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


@pytest.mark.parametrize("name", [name for name in PUBLIC if name not in WITHOUT])
def test_a_name_has_an_example_of_its_own(name: str) -> None:
    assert ">>> " in (inspect.getdoc(getattr(formula, name)) or ""), f"{home(name)}.{name} shows no example"


@pytest.mark.parametrize("name", WITHOUT)
def test_an_exception_is_one(name: str) -> None:
    assert name in PUBLIC
    assert ">>> " not in (inspect.getdoc(getattr(formula, name)) or "")
