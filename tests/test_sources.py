"""Every number has a source, and every source is used."""

import ast
import csv
import importlib
import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

import attrs
import pytest

from formula.errors import UnknownNameError
from formula.sources import KNOWN_BY, Constant, all_sources, source
from tests.conftest import HOUSE

PROJECT = Path(__file__).parents[1]
ROOMS = sorted(path.stem for path in HOUSE.glob("*.py") if path.stem not in {"__init__", "__main__", "cli"})
TABLES = sorted((PROJECT / "tests" / "oracles").glob("*.csv"))


def constants(value: object, place: str, seen: set[int]) -> Iterator[tuple[str, Constant]]:
    """Find every constant in a value: itself, or inside tuples, mappings and frozen classes."""
    if id(value) in seen:
        return
    seen.add(id(value))
    if isinstance(value, Constant):
        yield place, value
    elif isinstance(value, Mapping):
        for name, inner in value.items():
            yield from constants(inner, f"{place}[{name!r}]", seen)
    elif isinstance(value, (tuple, list, set, frozenset)):
        for number, inner in enumerate(value):
            yield from constants(inner, f"{place}[{number}]", seen)
    elif attrs.has(kind := type(value)):
        for field in attrs.fields(kind):
            yield from constants(getattr(value, field.name, None), f"{place}.{field.name}", seen)


def all_constants() -> list[tuple[str, Constant]]:
    seen: set[int] = set()
    return [
        found
        for room in ROOMS
        for name, value in vars(importlib.import_module(f"formula.{room}")).items()
        for found in constants(value, f"{room}.{name}", seen)
    ]


CONSTANTS = all_constants()


def strings(room: str) -> Iterator[str]:
    """Yield the texts of a room's code, without its docstrings and its examples."""
    tree = ast.parse((HOUSE / f"{room}.py").read_text(encoding="utf-8"))
    says = {
        id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in says:
            yield node.value


@cache
def uses() -> set[str]:
    """Find every id that code, tables or pages name; all of them are read once."""
    used = {constant.source for _, constant in CONSTANTS}
    for room in ROOMS:
        used |= set(strings(room))
    for table in HOUSE.glob("*.toml"):
        if table.name != "sources.toml":
            used |= set(re.findall(r'"([a-z0-9]+(?:-[a-z0-9]+)+)"', table.read_text(encoding="utf-8")))
    for table in [*TABLES, *(PROJECT / "docs").glob("*.md")]:
        used |= set(re.findall(r"[a-z0-9]+(?:-[a-z0-9]+)+", table.read_text(encoding="utf-8")))
    return used


def test_there_are_constants_to_look_at() -> None:
    assert CONSTANTS


@pytest.mark.parametrize(("place", "constant"), CONSTANTS, ids=[place for place, _ in CONSTANTS])
def test_a_constant_has_a_source_and_a_place_in_it(place: str, constant: Constant) -> None:
    assert constant.source in all_sources(), f"{place}: {constant.source!r} is not in sources.toml"
    assert constant.where.strip()
    assert constant.unit.strip()
    assert constant.uncertainty >= 0


@pytest.mark.parametrize("room", ROOMS)
def test_constants_stand_in_the_open(room: str) -> None:
    """One made inside a function would be hidden from the tests above."""
    tree = ast.parse((HOUSE / f"{room}.py").read_text(encoding="utf-8"))
    for function in ast.walk(tree):
        if isinstance(function, (ast.FunctionDef, ast.Lambda)):
            hidden = [
                ast.unparse(node)
                for node in ast.walk(function)
                if isinstance(node, ast.Call) and ast.unparse(node.func) == "Constant"
            ]
            assert not hidden


@pytest.mark.parametrize("name", list(all_sources()))
def test_a_source_is_used(name: str) -> None:
    assert name in uses(), f"nothing uses the source {name!r}"


@pytest.mark.parametrize("name", list(all_sources()))
def test_a_source_is_well_formed(name: str) -> None:
    found = source(name)
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name), "ids are written in kebab-case"
    assert found.id == name
    assert found.title.strip()
    assert found.known_by in KNOWN_BY
    assert str(found).endswith(f"({found.known_by})")


def test_no_constant_without_its_five_facts() -> None:
    with pytest.raises(TypeError):
        Constant(0.33, "1", 0.06, "common-practice")  # type: ignore[call-arg]
    with pytest.raises(ValueError, match="source"):
        Constant(0.33, "1", 0.06, "", "table")


def test_an_unknown_source_is_told_the_known_ones() -> None:
    with pytest.raises(UnknownNameError, match="common-practice"):
        source("hearsay")


def rows() -> list[tuple[str, dict[str, str]]]:
    found = []
    for table in TABLES:
        with table.open(encoding="utf-8", newline="") as file:
            found += [(table.name, row) for row in csv.DictReader(file)]
    return found


ROWS = rows()


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.name)
def test_a_table_of_check_values_is_whole(table: Path) -> None:
    mine = [row for name, row in ROWS if name == table.name]
    ids = [row["id"] for row in mine]
    assert len(ids) == len(set(ids)), "an id stands once"
    for row in mine:
        assert None not in row, f"{row['id']} has more cells than the header"
        assert None not in row.values(), f"{row['id']} has fewer cells than the header"
        assert re.fullmatch(r"[a-z_]+/\S.*", row["id"]), row["id"]
        for column in ("reason", "source", "known"):
            assert row[column].strip(), f"{row['id']} says nothing under {column}"


PAGES = sorted((PROJECT / "docs").glob("*.md"))
NO_SOURCES = {"cannot-be-reached", "dough-formula", "formula-json", "formula-toml"}
"""What else is written like an id of a source: the code of a caution, this package, and what is fuzzed."""


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_a_page_names_only_sources_and_check_values_that_are_there(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    unknown = set(re.findall(r"`([a-z0-9]+(?:-[a-z0-9]+)+)`", text)) - NO_SOURCES - set(all_sources())
    assert not unknown, "no such source; what only looks like one belongs into NO_SOURCES"
    heads = set(re.findall(r"^[a-z]+/[A-Z]+[0-9]+", "\n".join(row["id"] for _, row in ROWS), re.MULTILINE))
    assert set(re.findall(r"\b(?:formulas|thermal|yeast)/[A-Z]+[0-9]+", text)) <= heads
