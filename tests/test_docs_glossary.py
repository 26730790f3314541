"""The glossary names every unit that is read, and every sign that stands in a working."""

import ast
import re
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import pytest

from formula.kinds import KINDS, Kind
from formula.units import parse, write
from formula.working import FUNCTIONS
from tests.conftest import HOUSE

PAGE = (Path(__file__).parents[1] / "docs" / "glossary.md").read_text(encoding="utf-8")
GREEK = {"alpha", "mu", "phi", "pi", "rho", "tau", "theta"}
SHORT = {"ci", "sd"}
"""Signs of two letters; every other word of a working is a word, and its step's note says what it is."""


def part(heading: str) -> str:
    """Return one part of the page."""
    found = re.search(rf"^## {heading}$(.*?)(?=^## |\Z)", PAGE, re.MULTILINE | re.DOTALL)
    assert found is not None, f"docs/glossary.md has no part called {heading}"
    return found[1]


def rows(heading: str) -> list[list[str]]:
    """Return the cells of the table of a part, its head left out."""
    lines = [line for line in part(heading).splitlines() if line.startswith("| ")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[1:]]


UNITS = dict(rows("Units"))


def listed(kind: Kind) -> str:
    return ", ".join(" ".join(f"`{spelling}`" for spelling in unit.spellings) for unit in kind.units)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_the_units_of_a_kind_are_those_that_are_read(kind: Kind) -> None:
    row = f"| {kind.name} | {listed(kind)} |"
    assert UNITS.get(kind.name) == listed(kind), f"put this row into the units of docs/glossary.md:\n{row}"


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_a_unit_as_the_glossary_spells_it_is_read(kind: Kind) -> None:
    groups = [re.findall("`([^`]+)`", group) for group in UNITS[kind.name].split(", ")]
    for group in groups:
        # All spellings of a group are one unit, and the first is the one that is written.
        values = {parse(kind, f"300 {spelling}", "value") for spelling in group}
        assert len(values) == 1
        assert write(kind, values.pop(), group[0]) == f"300 {group[0]}"


def test_no_kind_stands_in_the_glossary_that_is_not_there() -> None:
    assert set(UNITS) == {kind.name for kind in KINDS}


def spoken(node: ast.expr) -> str:
    """Return what is written out of a text: all of it, or the beginning of one that is put together."""
    if isinstance(node, ast.JoinedStr) and node.values:
        return spoken(node.values[0])
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""


def sign(word: str) -> str:
    """Return the sign in front of a name: T of T_flour, x of x2; nothing if it is a word."""
    bare = re.sub(r"[0-9]+$", "", word.partition("_")[0])
    is_sign = len(bare) == 1 or bare != bare.lower() or bare in GREEK | SHORT
    return bare if is_sign else ""


def signs() -> Iterator[tuple[str, str]]:
    """Yield every sign of every step in the house, with its room."""
    for path in sorted(HOUSE.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and ast.unparse(node.func).endswith("Step"):
                for argument in node.args[:2]:
                    for word in re.findall(r"[A-Za-z]\w*", spoken(argument)):
                        if word not in FUNCTIONS and sign(word):
                            yield sign(word), path.stem


USED: dict[str, set[str]] = defaultdict(set)
for _sign, _room in signs():
    USED[_sign].add(_room)
TOLD = {name for cells in rows("Symbols in workings") for name in re.findall("`([^`]+)`", cells[0])}


@pytest.mark.parametrize("name", sorted(USED))
def test_a_sign_of_a_working_is_explained(name: str) -> None:
    assert name in TOLD, f"docs/glossary.md does not explain {name}, used in {', '.join(sorted(USED[name]))}"


def test_there_are_signs_to_look_at_and_none_is_explained_that_no_working_has() -> None:
    assert {"N", "T", "tau", "phi"} <= set(USED)
    assert set(USED) >= TOLD


def test_every_function_of_an_expression_is_named() -> None:
    assert {name for name in FUNCTIONS if f"`{name}`" not in part("Symbols in workings")} == set()


def test_the_terms_stand_in_the_order_of_the_alphabet() -> None:
    block = re.search(r"^```\{glossary\}\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
    assert block is not None
    groups = [group.splitlines() for group in block[1].strip().split("\n\n")]
    heads = [lines[0].casefold() for lines in groups]
    assert heads == sorted(heads)
    assert len(set(heads)) == len(heads)
    assert all(lines[-1].startswith("  ") for lines in groups), "a term without a sentence"
