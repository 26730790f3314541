"""The page of accuracy says what is so: nothing left out, no miss that is not disputed, and made without the tools of the tests."""

import re
from pathlib import Path

import pytest

from tests.accuracy import (
    PARTS,
    SUBJECTS,
    WORD_FOR_WORD,
    compared,
    disputes,
    farthest,
    how_known,
    is_disputed,
    percent_off,
    summary,
    undisputed,
)
from tests.beside import WAYS, Beside, beside
from tests.checkvalues import ORACLES, read_rows
from tests.conftest import run_fresh
from tests.rows import holds

PROJECT = Path(__file__).parents[1]
PAGE = (PROJECT / "docs" / "accuracy.md").read_text(encoding="utf-8")
PRINTED = {"expected", "expected_change", "expected_h", "expected_ice", "expected_g", "expected_percent", "low_percent"}
PRINTED |= {"expected_remainder"}
TABLES = sorted(path.stem for path in ORACLES.glob("*.csv"))


def test_every_table_is_on_the_page() -> None:
    assert SUBJECTS.keys() == WAYS.keys()
    assert sorted([*SUBJECTS, *WORD_FOR_WORD]) == TABLES
    shown = PARTS["summary"]() + PARTS["others"]()
    assert [name for name in TABLES if f"`{name}`" not in shown] == []


@pytest.mark.parametrize("name", WORD_FOR_WORD)
def test_a_table_of_words_is_held_where_the_page_says(name: str) -> None:
    module = PROJECT / "tests" / f"{WORD_FOR_WORD[name][1]}.py"
    assert f'"{name}' in module.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", SUBJECTS)
def test_what_is_not_met_is_disputed(name: str) -> None:
    for row in read_rows(name):
        for each in beside(name, row):
            assert each.within or is_disputed(row), each


@pytest.mark.parametrize("name", SUBJECTS)
def test_a_row_that_is_wrong_is_seen(name: str) -> None:
    """A printed number three times as large is no longer met."""
    row = next(row for row in read_rows(name) if not is_disputed(row) and beside(name, row))
    (column,) = (column for column in row if column in PRINTED and row[column])
    wrong = re.sub(r"\d+(\.\d+)?", lambda digits: f"{3 * float(digits[0]) + 1:g}", row[column])
    holds(name, row)
    with pytest.raises(AssertionError):
        holds(name, {**row, column: wrong})


def test_the_sentence_counts_right() -> None:
    rows, tables, with_numbers, numbers, met, missed = map(int, re.findall(r"\d+", PARTS["sentence"]()))
    assert tables == len(TABLES)
    assert rows == sum(len((ORACLES / f"{name}.csv").read_text(encoding="utf-8").splitlines()) - 1 for name in TABLES)
    assert with_numbers == len(WAYS)
    assert numbers == met + missed
    assert missed == sum(not each.within for name in WAYS for each in compared(name))


def test_the_farthest_are_the_farthest() -> None:
    by_hand = max((each for _, each in undisputed()), key=percent_off)
    assert by_hand.row in farthest().splitlines()[2]


def test_every_disputed_row_has_its_reason() -> None:
    told = {miss.row for miss in disputes()}
    marked = {row["id"] for name in SUBJECTS for row in read_rows(name) if is_disputed(row) and beside(name, row)}
    assert marked <= told
    assert all(len(miss.reason) > 20 for miss in disputes())


def test_how_far_off() -> None:
    far = Beside("x", "", printed=4.0, found=5.0, tolerance=0.5, unit="g")
    assert not far.within
    assert percent_off(far) == 25
    assert Beside("x", "", printed=4.0, found=4.5, tolerance=0.5, unit="g").within
    assert percent_off(Beside("x", "", printed=0.0, found=0.0, tolerance=0.0, unit="g")) == 0
    # A count of next to nothing is not "off by 100 %" within a band of a third of a point.
    assert percent_off(Beside("x", "", printed=0.003, found=0.0, tolerance=0.3, unit="%")) == pytest.approx(1)


def test_the_weakest_word_decides() -> None:
    assert how_known("read") == "read"
    assert how_known("read; totals derived").startswith("derived")
    assert how_known("memory (the 377.5 % total was read, the rows recalled)").startswith("from memory")
    assert how_known("computed with scipy; equal to the textbook table from memory").startswith("from memory")


def test_the_page_has_every_part_and_no_number_typed() -> None:
    included = re.findall(r"\{include\} _generated/accuracy-(\w+)\.txt", PAGE)
    assert sorted(included) == sorted(PARTS)
    assert not re.search(r"\d", PAGE)


def test_arithmetic_and_models_are_told_apart() -> None:
    """What the page says of the column: plain arithmetic is met to the printed digits, rules about dough are not."""
    lines = {line.split("|")[2].strip(" `"): line.split("|")[5].strip() for line in summary().splitlines()[2:]}
    for name in ("base_temperature", "correction", "dividing", "friction", "orders", "water"):
        assert lines[name] == "none"
    for name in ("levain", "rates"):
        assert float(lines[name].removesuffix(" %")) > 20


def test_the_page_needs_none_of_the_tools_of_the_tests() -> None:
    """The documentation is built where pytest, hypothesis, scipy and the others may not be."""
    tools = ("pytest", "_pytest", "hypothesis", "scipy", "iapws", "sybil", "jsonschema", "openpyxl")
    code = (
        f"import sys; sys.path.append({str(PROJECT)!r})\n"
        f"sys.modules.update(dict.fromkeys({tools!r}))\n"
        "from tests.accuracy import PARTS\n"
        "print(sum(len(part()) for part in PARTS.values()) > 5000)"
    )
    ran = run_fresh("-c", code)
    assert ran.stdout == "True\n", ran.stderr
