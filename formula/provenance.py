"""Where a number comes from: every constant, every rule and every row of the tables, by words, with its source.

A number of the library is a ``Constant`` at the top of a room or stands in a table (TOML) that names its source; a rule
names its source in the code that does it.  All are found by looking, so that a new one is here without a second list.
"""

from __future__ import annotations

import ast
import importlib
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from importlib.resources import files
from typing import Any, cast

import attrs
from attrs import frozen

from .errors import Fault, UnknownNameError, cited
from .sources import Constant, Source, all_sources
from .working import shown

__all__ = ["Origin", "all_origins", "origins"]

_NAMES = ("name", "product", "title", "key", "id", "words")
"""What a row of a table may be called by."""
_NO_ROOMS = frozenset({"__init__", "__main__"})


@frozen
class Origin:
    """A number, a rule or a row of numbers, the room or table it stands in, and its source.

    Attributes:
        name: what it is called there, in words; of a rule, the function or class that does it.
        place: the room, or the table with its ending.
        source: the source, which says how it is known.
        where: the page, table or section of the source.
        value: the number; None for a rule and for a row of a table.
        unit: its unit; "1" for a ratio.
        uncertainty: half its published spread, in the same unit.
        note: what the table says beside it.
    """

    name: str
    place: str
    source: Source
    where: str = ""
    value: float | None = None
    unit: str = ""
    uncertainty: float = 0.0
    note: str = ""

    def __str__(self) -> str:
        """Return it on one line, without its source."""
        words = f"{self.name} [{self.place}]"
        if self.value is not None:
            unit = "" if self.unit == "1" else f" {self.unit}"
            spread = f" ± {shown(self.uncertainty)}" if self.uncertainty else ""
            words += f": {shown(self.value, 12)}{spread}{unit}"
        return words


@cache
def all_origins() -> tuple[Origin, ...]:
    """Return every constant and rule of every room and every row of the tables that names a source.

    Example:
        >>> len(all_origins()) > 500
        True
    """
    return (*_from_rooms(), *_rows())


def origins(what: str) -> tuple[Origin, ...]:
    """Find where numbers come from, by words.

    Args:
        what: words that all must occur in the name, the place, the unit, or in the source's id, title or author;
            capitals make no difference.  A source's id finds all that rests on it.

    Raises:
        UnknownNameError: nothing is called so.

    Example:
        >>> for found in origins("latent heat"):
        ...     print(found, "<-", found.source.id)
        latent heat [capacity]: 333.427 ± 0.001 kJ/kg <- iapws
    """
    words = what.casefold().split() if isinstance(what, str) else []  # pyright: ignore[reportUnnecessaryIsInstance]
    if not words:
        raise UnknownNameError(Fault("what", cited(what), "a word", "for example 'yeast' or the id of a source"))
    exact = [each for each in all_origins() if each.source.id == what]
    found = exact or [each for each in all_origins() if all(word in _haystack(each) for word in words)]
    if not found and what not in all_sources():
        expected = "words of a constant, an ingredient, a printed row or a source"
        raise UnknownNameError(
            Fault("what", cited(what), expected, "try one word, such as 'yeast', or none for all sources")
        )
    return tuple(found)


@cache
def _haystack(each: Origin) -> str:
    source = each.source
    texts = (each.name, each.place, each.unit, each.where, source.id, source.title, source.author)
    return " ".join(texts).casefold()


def _from_rooms() -> Iterator[Origin]:
    folder = files(__package__ or "formula")
    texts = {
        path.name[:-3]: path.read_text(encoding="utf-8")
        for path in sorted(folder.iterdir(), key=lambda each: each.name)
        if path.name.endswith(".py") and path.name[:-3] not in _NO_ROOMS
    }
    # Most rooms name no source and need not be parsed: only those with an id or a constant, or a name that stands for one.
    quoted = re.compile("|".join(map(re.escape, (*(f'"{id_}"' for id_ in all_sources()), "Constant("))))
    given = {room: _ids_given(ast.parse(text)) for room, text in texts.items() if quoted.search(text)}
    names = re.compile(rf"\b({'|'.join(name for ids in given.values() for name in ids)})\b")
    trees = {room: ast.parse(text) for room, text in texts.items() if room in given or names.search(text)}
    for room, tree in trees.items():
        yield from _constants(room, tree)
        taken = {
            each.asname or each.name: given[node.module][each.name]
            for node in tree.body
            if isinstance(node, ast.ImportFrom) and node.module in given
            for each in node.names
            if each.name in given[node.module]
        }
        yield from _rules(room, tree, given.get(room, {}) | taken)


def _targets(tree: ast.Module) -> Iterator[tuple[str, ast.expr | None]]:
    """Yield the names that are given at the top of a room, with what they are given."""
    for node in tree.body:
        if isinstance(node, (ast.Assign, ast.AnnAssign)):
            for target in node.targets if isinstance(node, ast.Assign) else [node.target]:
                if isinstance(target, ast.Name):
                    yield target.id, node.value
                elif isinstance(target, ast.Tuple) and isinstance(node.value, ast.Tuple):
                    for each, value in zip(target.elts, node.value.elts, strict=False):
                        if isinstance(each, ast.Name):
                            yield each.id, value


def _ids_given(tree: ast.Module) -> dict[str, str]:
    """Return the names that stand for the id of a source."""
    return {
        name: value.value
        for name, value in _targets(tree)
        if isinstance(value, ast.Constant) and isinstance(value.value, str) and value.value in all_sources()
    }


def _constants(room: str, tree: ast.Module) -> Iterator[Origin]:
    """Yield the constants of the names that are given in a room, not of those that it imports."""
    if not any(isinstance(node, ast.Name) and node.id == "Constant" for node in ast.walk(tree)):
        return  # it need not be imported, nor its extra be installed
    values = vars(importlib.import_module(f"{__package__}.{room}"))
    seen: set[int] = set()
    for name, _ in _targets(tree):
        for path, constant in _inside(values.get(name), (_in_words(name),), seen):
            yield Origin(
                name=", ".join(path),
                place=room,
                source=all_sources()[constant.source],
                where=constant.where,
                value=constant.value,
                unit=constant.unit,
                uncertainty=constant.uncertainty,
            )


def _rules(room: str, tree: ast.Module, given: Mapping[str, str]) -> Iterator[Origin]:
    """Yield what the functions and classes of a room name as the source of what they do, by its id or a name for that."""
    named = [(node.name, node) for node in tree.body if isinstance(node, (ast.FunctionDef, ast.ClassDef))]
    tables = [(name, value) for name, value in _targets(tree) if isinstance(value, (ast.Dict, ast.Tuple, ast.Call))]
    for name, node in (*named, *tables):
        every = list(ast.walk(node))
        numbers = {id(word) for each in every if _is_constant(each) for word in ast.walk(each)}
        parts = [each for each in every if id(each) not in numbers]
        words = [each.value for each in parts if isinstance(each, ast.Constant)]
        words += [given[each.id] for each in parts if isinstance(each, ast.Name) and each.id in given]
        for id_ in dict.fromkeys(word for word in words if isinstance(word, str) and word in all_sources()):
            yield Origin(_in_words(re.sub(r"(?<=[a-z])(?=[A-Z])", "_", name)), room, all_sources()[id_])


def _is_constant(node: ast.AST) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Constant"


def _inside(value: object, path: tuple[str, ...], seen: set[int]) -> Iterator[tuple[tuple[str, ...], Constant]]:
    """Yield the constants in a value: itself, or inside mappings, rows and frozen classes; each once."""
    if id(value) in seen:
        return
    seen.add(id(value))
    if isinstance(value, Constant):
        yield path, value
    elif isinstance(value, Mapping):
        for name, inner in cast("Mapping[object, object]", value).items():
            yield from _inside(inner, (*path, str(name)), seen)
    elif isinstance(value, (tuple, list, set, frozenset)):
        for number, inner in enumerate(cast("Iterable[object]", value), 1):
            yield from _inside(inner, (*path, str(number)), seen)
    elif not isinstance(value, type) and attrs.has(type(value)):
        for field in attrs.fields(cast("Any", type(value))):
            yield from _inside(getattr(value, field.name, None), (*path, _in_words(field.name)), seen)


def _rows() -> Iterator[Origin]:
    for table in sorted(files(__package__ or "formula").iterdir(), key=lambda each: each.name):
        if table.name.endswith(".toml") and table.name != "sources.toml":
            facts = tomllib.loads(table.read_text(encoding="utf-8"))
            for name, row in _with_source(facts, ""):
                ids: list[str] = [row["source"]] if "source" in row else row["sources"]
                note = str(row.get("printed", row.get("note", "")))
                for id_ in ids:
                    yield Origin(name, table.name, all_sources()[id_], note=note)


def _with_source(value: object, name: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Yield every table that names its source, with what it is called: by its own name, else by the keys above it."""
    if isinstance(value, list):
        for each in cast("list[object]", value):
            yield from _with_source(each, name)
    elif isinstance(value, dict):
        row = cast("dict[str, Any]", value)
        if isinstance(row.get("source"), str) or isinstance(row.get("sources"), list):
            own = next((str(row[key]) for key in _NAMES if isinstance(row.get(key), str)), "")
            yield own or name, row
        for key, each in row.items():
            yield from _with_source(each, f"{name} {key}".strip())


def _in_words(name: str) -> str:
    return re.sub(r"_+", " ", name).strip().lower()
