"""A formula laid out as the formula file has it: as plain tables, as TOML text and as JSON text.

The TOML writer is our own and knows only the subset that our files use: bare and quoted keys, text, numbers, truths,
lists of text, tables and lists of tables.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from typing import Any, Final

from .batch import Batch
from .errors import Fault, FormulaError
from .formula import Formula
from .lines import Lines
from .quantity import MASS, SHARE, TEMPERATURE, grid, write
from .stage import Stage

__all__ = ["LOSSES", "NOTATIONS", "json_text", "to_json", "to_tables", "to_toml", "toml_text"]

LOSSES: Final = ("handling", "bulk", "divider", "ferment", "bake", "cool", "dry")
NOTATIONS: Final = ("overall", "final", "percent", "weights")


def to_tables(formula: Formula, notation: str = "overall", batch: Batch | None = None) -> dict[str, Any]:
    """Return a formula as plain tables, in the layout of the formula file.

    Args:
        formula: what to lay out.
        notation: ``"overall"``: overall percentages and the sizes of the stages, which keeps everything exactly;
            ``"final"``: the final dough that lists its stages, in percent of its own flour; ``"percent"``: the overall
            percentages as one straight list, stages resolved; ``"weights"``: everything by weight, as in ``batch``.
        batch: the formula in weights.

    Raises:
        FormulaError: another notation, weights without a batch, a final dough without flour.
    """
    if notation not in NOTATIONS:
        raise FormulaError(Fault("notation", repr(notation), f"one of {', '.join(NOTATIONS)}"))
    if notation == "weights" and batch is None:
        raise FormulaError(Fault("notation", "weights without a batch", "a batch", "say how much dough or flour"))
    data: dict[str, Any] = {"name": formula.name}
    if formula.dough_temperature_c is not None:
        data["dough_temperature"] = write(TEMPERATURE, formula.dough_temperature_c)
    if formula.reject_share:
        data["reject"] = write(SHARE, formula.reject_share)
    if formula.named_flours:
        data["flours"] = list(formula.named_flours)
    if notation == "weights" and batch is not None:
        data["weights"] = _weights(Lines((row.name, row.mass_g) for row in batch.rows))
    else:
        data["final" if notation == "final" else "percent"] = (
            # Worked out, so that the last digits of a float say nothing.
            {name: grid(SHARE, percent) for name, percent in formula.final.items()}
            if notation == "final"
            else dict(formula.percents)
        )
    if formula.stages and notation != "percent":
        data["stage"] = [_stage_tables(stage, notation, batch) for stage in formula.stages]
    losses = formula.losses
    shares = {
        name: write(SHARE, getattr(losses, f"{name}_share")) for name in LOSSES if getattr(losses, f"{name}_share")
    }
    ways = {
        key: getattr(losses, key)
        for key, usual in (("combine", "compound"), ("on", "dough"))
        if getattr(losses, key) != usual
    }
    if shares or ways:
        data["losses"] = {**shares, **ways}
    if formula.toppings_g:
        data["toppings"] = _weights(formula.toppings_g)
    if formula.later:
        data["later"] = dict(formula.later)
    if formula.catalogue.own:
        data["ingredient"] = formula.catalogue.to_tables()
    return data


def _weights(grams: Mapping[str, float]) -> dict[str, str]:
    return {name: write(MASS, mass) for name, mass in grams.items()}


def _stage_tables(stage: Stage, notation: str, batch: Batch | None) -> dict[str, Any]:
    sizes = {
        "flour": stage.flour_percent,
        "weight": stage.weight_percent,
        "weight_on_final": stage.weight_on_final_percent,
    }
    data: dict[str, Any] = {"name": stage.name}
    if notation == "overall":
        # In the other notations the final dough, or the weights themselves, say how large the stage is.
        data |= {key: size for key, size in sizes.items() if size is not None}
        if stage.taken_percent is not None:
            data["takes"] = {stage.taken: stage.taken_percent}
    if stage.kind:
        data["kind"] = stage.kind
    if stage.base:
        data["base"] = list(stage.base)
    if stage.keep_percent:
        data["keep"] = stage.keep_percent
    if stage.boiled_off_percent:
        data["boiled_off"] = stage.boiled_off_percent
    if stage.culture is not None:
        own = {"percent": dict(stage.culture.percents)} if stage.culture.percents else {}
        data["culture"] = {"counted": stage.culture.counted, **own}
    if notation == "weights" and batch is not None:
        data["weights"] = _weights(Lines((row.name, row.mass_g) for row in batch.stages[stage.name].rows))
    else:
        data["percent"] = dict(stage.percents)
    return data


def to_json(formula: Formula, notation: str = "overall", batch: Batch | None = None) -> str:
    """Return a formula as JSON text in the layout of the formula file; its JSON Schema ships with the library."""
    return json_text(to_tables(formula, notation, batch))


def to_toml(formula: Formula, notation: str = "overall", batch: Batch | None = None) -> str:
    """Return a formula as TOML text in the layout of the formula file; see ``to_tables`` for the notations.

    Example:
        >>> print(to_toml(Formula.from_percents("Loaf", {"bread flour": 100, "water": 70})), end="")
        name = "Loaf"
        <BLANKLINE>
        [percent]
        "bread flour" = 100
        water = 70
    """
    return toml_text(to_tables(formula, notation, batch))


def json_text(tables: Mapping[str, Any]) -> str:
    """Write the tables of a formula as JSON."""
    return json.dumps(tables, ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def toml_text(tables: Mapping[str, Any]) -> str:
    """Write the tables of a formula as TOML."""
    return "\n".join(_toml(tables, ())) + "\n"


def _toml(data: Mapping[str, Any], path: tuple[str, ...]) -> Iterable[str]:
    """Write the subset of TOML that our files use: plain values first, then tables, then lists of tables."""
    for key, value in data.items():
        if not _is_table(value):
            yield f"{_key(key)} = {_value(value)}"
    for key, value in data.items():
        if isinstance(value, Mapping):
            heading = (
                [] if value and all(map(_is_table, value.values())) else ["", f"[{'.'.join(map(_key, (*path, key)))}]"]
            )
            yield from (*heading, *_toml(value, (*path, key)))
        elif _is_table(value):
            for item in value:
                yield from ("", f"[[{'.'.join(map(_key, (*path, key)))}]]", *_toml(item, (*path, key)))


def _is_table(value: object) -> bool:
    return isinstance(value, Mapping) or (isinstance(value, list) and bool(value) and isinstance(value[0], Mapping))


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _value(key)


def _value(value: object) -> str:
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
