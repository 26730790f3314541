"""The formula file: one bread a file, in TOML that a baker can read aloud, or the same tree in JSON for programs.

Percentages are bare numbers; everything else is text with its unit.  A file is read strictly (every fault at once, with
its table and key), may be written in any notation (overall percentages, weights, a final dough that lists its stages)
and is written back in one: the overall percentages and the sizes of the stages.  Writing is all or nothing.
"""

from __future__ import annotations

import json
import os
import tempfile
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final, cast

from attrs import evolve, frozen

from .catalogue import Catalogue
from .errors import ContradictionError, Fault, FileError, FormulaError, cited
from .formula import Formula
from .intake import check_tables, check_values, is_writable, read_text
from .layout import LOSSES, json_text, to_tables, toml_text
from .losses import NO_LOSSES, Combine, Losses, On
from .printed import Printed, check_printed
from .quantity import MASS, SHARE, TEMPERATURE, write
from .stage import Culture, Stage
from .tables import Celsius, Grams, MassText, Share, lay, read_toml

__all__ = ["dump", "load"]

LINES: Final = ("percent", "weights", "final", "final_weights")
MOST_STAGES: Final = 60
MOST_OWN: Final = 500
"""Ingredients of its own that one bread may bring."""
MOST_LINES: Final = 500
"""Lines of all lists together; a sweet dough with four stages has forty."""
FACTS: Final = ("dough_temperature", "later", "reject", "toppings")


@frozen
class _CultureTable:
    counted: str
    percent: dict[str, float] | None = None


@frozen
class _StageTable:
    name: str
    percent: dict[str, float] | None = None
    weights: dict[str, MassText] | None = None
    flour: float | None = None
    takes: dict[str, float] | None = None
    weight: float | None = None
    weight_on_final: float | None = None
    total_percent: float | None = None
    total: MassText | None = None
    kind: str = ""
    base: tuple[str, ...] = ()
    culture: _CultureTable | None = None
    keep: float = 0.0
    boiled_off: float = 0.0


@frozen
class _LossesTable:
    handling: Share | None = None
    bulk: Share | None = None
    divider: Share | None = None
    ferment: Share | None = None
    bake: Share | None = None
    cool: Share | None = None
    dry: Share | None = None
    combine: str = "compound"
    on: str = "dough"


@frozen
class _FormulaTable:
    name: str
    percent: dict[str, float] | None = None
    weights: dict[str, MassText] | None = None
    final: dict[str, float] | None = None
    final_weights: dict[str, MassText] | None = None
    total_percent: float | None = None
    total: MassText | None = None
    stage: tuple[_StageTable, ...] = ()
    flours: tuple[str, ...] = ()
    dough_temperature: Celsius | None = None
    losses: _LossesTable | None = None
    toppings: dict[str, Grams] | None = None
    later: dict[str, float] | None = None
    reject: Share | None = None
    ingredient: dict[str, dict[str, Any]] | None = None


def load(path: str | os.PathLike[str], catalogue: Catalogue | None = None) -> Formula:
    """Read a formula file.

    Args:
        path: a ``.toml`` or ``.json`` file.
        catalogue: what the names mean; the file's own ``ingredient`` tables are added to it.

    Raises:
        FileError: a file that is missing, too large, not UTF-8, not TOML or JSON, or with unknown, missing or wrong keys;
            every fault is told at once with its table and key.
        FormulaError: lines that do not make a formula, with the file's name.

    Example:
        >>> load("docs/examples/harbour/breads/quay-round.toml").percent("salt")
        2.0
    """
    file = Path(path)
    data = read_json(file) if file.suffix.lower() == ".json" else read_toml(file)
    return from_tables(data, str(file), catalogue)


def read_json(file: Path) -> dict[str, Any]:
    """Read a JSON file as plain tables, refusing repeated keys and numbers that are not finite."""

    def pairs(found: list[tuple[str, Any]]) -> dict[str, Any]:
        table = dict(found)
        if len(table) < len(found):
            counted = Counter(key for key, _ in found)
            twice = [cited(key, str) for key, count in counted.items() if count > 1]
            raise FileError(Fault(str(file), f"the key {', '.join(sorted(twice)[:9])} twice", "each key once"))
        return table

    def constant(name: str) -> float:
        raise FileError(Fault(str(file), name, "finite numbers"))

    text = read_text(file)
    check_values(text, str(file), ":,[{")
    try:
        data = json.loads(text, object_pairs_hook=pairs, parse_constant=constant)
    except FileError:
        raise
    except (ValueError, RecursionError) as error:
        # Besides mistakes of JSON: tables nested too deeply, and whole numbers of thousands of digits.
        raise FileError(Fault(str(file), f"a JSON mistake: {error}", "valid JSON", "mend the line")) from None
    if not isinstance(data, dict):
        raise FileError(Fault(str(file), f"a {type(data).__name__}", "an object"))
    check_tables(data, str(file))
    return data


def from_tables(data: Mapping[str, Any], where: str, catalogue: Catalogue | None = None) -> Formula:
    """Make a formula of plain tables as TOML and JSON give them.

    Args:
        data: the tables.
        where: the name of the file, for messages.
        catalogue: what the names mean.

    Raises:
        FileError: on wrong keys or values, or lines that do not make a formula.
    """
    table = lay(data, _FormulaTable, where)
    try:
        return _formula(table, catalogue or Catalogue())
    except FormulaError as error:
        faults = (evolve(fault, where=f"{where}: {_place(table, fault.where)}") for fault in error.faults)
        raise type(error)(*faults) from None


def _place(table: _FormulaTable, where: str) -> str:
    """Say the table and the key for what a formula calls by its bread's name."""
    lines = next((key for key in LINES if getattr(table, key) is not None), "the file")
    for name in (f"formula {table.name!r}", "overall formula"):
        if where.startswith(name):
            inner = where.removeprefix(name).lstrip(":, ").removeprefix("final dough").lstrip(": ")
            key, _, rest = inner.partition(": ")
            if key in FACTS:
                return f"{key}.{rest}" if rest else key
            return f"{lines}.{inner}" if inner else lines
    return where


def _formula(table: _FormulaTable, catalogue: Catalogue) -> Formula:
    given = [key for key in LINES if getattr(table, key) is not None]
    if len(given) != 1 and given != ["percent", "weights"]:
        expected = "one of the tables percent, weights, final, final_weights (or percent and weights, to be compared)"
        raise FormulaError(Fault("the file", " and ".join(given) or "no lines", expected))
    _check_length(table)
    if table.ingredient:
        catalogue = catalogue.with_tables(table.ingredient)
    faults: list[Fault] = []
    losses, stages = NO_LOSSES, list[Stage]()
    try:
        _check_printed(table, catalogue)
    except ContradictionError:
        raise
    except FormulaError as error:
        faults += error.faults
    try:
        losses = _losses(table.losses or _LossesTable())
    except FormulaError as error:
        faults += [
            evolve(fault, where=f"losses.{fault.where}".replace("losses.losses", "losses")) for fault in error.faults
        ]
    for each in table.stage:
        try:
            stages.append(_stage(each))
        except FormulaError as error:
            faults += error.faults
    if faults:
        raise FormulaError(*faults)
    facts: dict[str, Any] = {
        "flours": table.flours,
        "catalogue": catalogue,
        "losses": losses,
        "dough_temperature": None if table.dough_temperature is None else write(TEMPERATURE, table.dough_temperature),
        "toppings": _weights(table.toppings) if table.toppings else None,
        "later": table.later,
        "reject": write(SHARE, table.reject or 0.0),
    }
    if table.percent is not None:
        return Formula.from_percents(table.name, table.percent, stages=stages, **facts)
    if table.weights is not None:
        return Formula.from_weights(table.name, table.weights, stages=stages, **facts)
    final: Any = table.final if table.final is not None else table.final_weights
    return Formula.from_stages(table.name, final, stages, **facts)


def _check_length(table: _FormulaTable) -> None:
    """Refuse what no bread has, before it is reckoned with."""
    if len(table.stage) > MOST_STAGES:
        raise FormulaError(
            Fault("stage", f"{len(table.stage)} stages", f"at most {MOST_STAGES}", "write several breads")
        )
    if table.ingredient and len(table.ingredient) > MOST_OWN:
        fix = "put them into an ingredients file"
        raise FormulaError(Fault("ingredient", f"{len(table.ingredient)} tables", f"at most {MOST_OWN}", fix))
    lists = [getattr(table, key) for key in LINES]
    lists += [each for stage in table.stage for each in (stage.percent, stage.weights)]
    count = sum(len(lines or ()) for lines in lists)
    if count > MOST_LINES:
        raise FormulaError(Fault("the file", f"{count} lines", f"at most {MOST_LINES}", "write several breads"))


def _check_printed(table: _FormulaTable, catalogue: Catalogue) -> None:
    """Hold percentages, weights and totals that say the same thing against each other."""
    names = {stage.name for stage in table.stage}
    lists: list[Printed] = []
    written: list[tuple[str, _FormulaTable | _StageTable, tuple[str, ...]]] = [(table.name, table, table.flours)]
    written += [(f"stage {stage.name}", stage, stage.base) for stage in table.stage]
    for where, given, base in written:
        repeated = given.total_percent is not None or given.total is not None or (given.percent and given.weights)
        nested = names & {*(given.percent or ()), *(given.weights or ())}
        if repeated and not nested:
            lists.append(
                Printed(
                    where,
                    given.percent,
                    weights=given.weights,
                    total_percent=given.total_percent,
                    total=given.total,
                    base=base,
                )
            )
    check_printed(*lists, catalogue=catalogue).or_raise()


def _losses(table: _LossesTable) -> Losses:
    shares = {name: write(SHARE, getattr(table, name) or 0.0) for name in LOSSES}
    return Losses(**shares, combine=cast("Combine", table.combine), on=cast("On", table.on))


def _weights(grams: Mapping[str, float]) -> dict[str, str]:
    return {name: write(MASS, mass) for name, mass in grams.items()}


def _stage(table: _StageTable) -> Stage:
    where = f"stage {table.name}"
    if table.percent is None and table.weights is None:
        raise FormulaError(Fault(where, "no lines", "a table percent or weights"))
    sizes = {
        "flour": table.flour,
        "takes": next(iter(table.takes.values())) if table.takes else None,
        "weight": table.weight,
        "weight_on_final": table.weight_on_final,
    }
    given = {key: percent for key, percent in sizes.items() if percent is not None}
    if len(given) > 1:
        raise FormulaError(
            Fault(where, " and ".join(given) + " together", "its size said in one way", "keep one of them")
        )
    if table.takes and len(table.takes) != 1:
        raise FormulaError(Fault(f"{where}: takes", f"{len(table.takes)} ingredients", "one"))
    for key, percent in given.items():
        if percent < 0:
            raise FormulaError(Fault(f"{where}: {key}", repr(percent), "a percentage of 0 or more"))
    amounts: Any = table.percent if table.percent is not None else table.weights
    try:
        culture = None if table.culture is None else Culture(table.culture.counted, table.culture.percent or {})
    except FormulaError as error:
        raise FormulaError(*(evolve(fault, where=f"{where}: {fault.where}") for fault in error.faults)) from None
    stage = Stage(
        table.name,
        amounts,
        kind=table.kind,
        base=table.base,
        culture=culture,
        keep=table.keep,
        boiled_off=table.boiled_off,
    )
    return stage.changed(
        flour_percent=table.flour,
        taken=next(iter(table.takes)) if table.takes else "",
        taken_percent=sizes["takes"],
        weight_percent=table.weight,
        weight_on_final_percent=table.weight_on_final,
    )


def dump(formula: Formula, path: str | os.PathLike[str]) -> None:
    """Write a formula file, TOML or by its ending JSON; the old file stays whole until the new one is complete.

    Args:
        formula: what to write.
        path: where to; an existing file is replaced.

    Raises:
        FileError: when the file cannot be written, or could not be read again: a name that is too long, or holds what
            is a command to a terminal.

    Example:
        >>> import tempfile
        >>> path = Path(tempfile.mkdtemp()) / "loaf.toml"
        >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 65, "salt": 2})
        >>> dump(loaf, path)
        >>> load(path) == loaf
        True
    """
    file = Path(path)
    tables = to_tables(formula)
    check_tables(tables, str(file))
    write_whole(file, json_text(tables) if file.suffix.lower() == ".json" else toml_text(tables))


def write_whole(file: Path, content: str | bytes) -> None:
    """Write a file in one piece: into a file beside it, then over it, so that no reader meets half a file."""
    if isinstance(content, str):
        if not is_writable(content):
            raise FileError(Fault(str(file), "half a character in a name", "whole characters", "write the name anew"))
        content = content.encode()
    # A link to a file stays a link: what it leads to is written.
    file = Path(os.path.realpath(file))
    if file.exists() and not file.is_file():
        # To put a file in the place of a device would take the device away.
        got = "no writable file (something else is there)"
        raise FileError(Fault(str(file), got, "a place to write", "give another path"))
    try:
        handle, name = tempfile.mkstemp(dir=file.parent, prefix=".formula-")
        beside = Path(name)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(content)
            beside.chmod(file.stat().st_mode & 0o777 if file.exists() else 0o644)
            beside.replace(file)
        except BaseException:
            beside.unlink(missing_ok=True)
            raise
    except OSError as error:
        got = f"no writable file ({error.strerror})"
        raise FileError(Fault(str(file), got, "a place to write", "check the folder and its permissions")) from None
