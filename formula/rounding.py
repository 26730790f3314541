"""Rounding to the scale: every weight a whole number of the scale's steps, and the totals kept.

Salt, yeast and the like go to their nearest step; the other lines are rounded down and the missing steps handed to those
with the largest remainders, so that each line moves by less than one step and a total by at most half the coarsest.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from .errors import Fault, FormulaError
from .formula import Formula
from .quantity import MASS, Door, Measure
from .stage import FINAL
from .table import Column

__all__ = ["apportioned", "read_steps", "rounded_masses"]

MODES: Final = ("nearest", "up", "down")
HALF: Final = 0.5 + 1e-9
PROTECTED: Final = ("salt", "yeast", "culture", "other")
"""Kinds that take a rounding residual only when no other line can: their percentages matter most."""


def rounded_masses(
    formula: Formula, exact_g: tuple[float, ...], steps: Mapping[str, Measure] | Measure, mode: str
) -> tuple[float, ...]:
    """Round the weighed lines of a batch, stage by stage; see ``Batch.rounded``, which calls this.

    Args:
        formula: the formula of the batch.
        exact_g: the exact weights, column by column.
        steps: the scale's step, or ingredient -> step with ``"default"`` for the rest.
        mode: ``"nearest"``, ``"up"`` or ``"down"``.

    Raises:
        FormulaError: a step of zero, no default, an unknown mode or name.
    """
    if mode not in MODES:
        raise FormulaError(Fault("mode", repr(mode), f"one of {', '.join(MODES)}"))
    step_g = read_steps(formula, steps, "steps")
    table = formula.table
    left = _Left(table.columns, step_g["default"])
    owed = [0.0] * len(table.overall)
    masses: list[float] = []
    for column in table.columns:
        first = len(masses)
        exact = exact_g[first : first + len(column.lines)]
        counts = table.counts[first : first + len(column.lines)]
        wanted = list(exact)
        if column.name == FINAL:
            # The final dough makes up for what the stages rounded away, ingredient by ingredient.
            made_up = [
                amount + sum(owed[row] for row, _ in pairs) for amount, pairs in zip(wanted, counts, strict=True)
            ]
            wanted = [max(0.0, amount) for amount in made_up]
        done = [left.take(line, amount) for line, amount in zip(column.lines, wanted, strict=True)]
        # A stage's line is already decided; what it and the made-up lines leave over, the other lines take.
        carry = sum(exact) - sum(amount if fixed is None else fixed for amount, fixed in zip(wanted, done, strict=True))
        places = [place for place, fixed in enumerate(done) if fixed is None]
        lines = [column.lines[place] for place in places]
        found = apportioned(
            [wanted[place] for place in places],
            [step_g.get(formula.catalogue.find(line).name, step_g["default"]) for line in lines],
            [formula.catalogue.find(line).kind in PROTECTED for line in lines],
            carry,
            mode,
        )
        for place, amount in zip(places, found, strict=True):
            done[place] = amount
        rounded = [amount or 0.0 for amount in done]
        masses += rounded
        left.put(column, rounded)
        for amount, rounded_to, pairs in zip(wanted, rounded, counts, strict=True):
            for row, factor in pairs:
                owed[row] += (amount - rounded_to) * factor
    return tuple(masses)


class _Left:
    """How much of each rounded stage is left for those that use it: the last of them takes all of it."""

    def __init__(self, columns: tuple[Column, ...], step_g: float) -> None:
        """Count the uses of every stage."""
        self._uses = {stage.name: sum(stage.name in column.lines for column in columns) for stage in columns}
        self._left: dict[str, float] = {}
        self._step_g = step_g

    def put(self, column: Column, masses: list[float]) -> None:
        """Note what a rounded stage hands on: the sum of its parts, less what is taken out of it."""
        total = sum(masses)
        returned, boiled = column.leaving_g(masses)
        kept = column.kept * total / column.total if column.total else 0.0
        ripe = total - returned - boiled
        self._left[column.name] = round(max(0.0, ripe - round(kept / self._step_g) * self._step_g), 9)

    def take(self, name: str, amount: float) -> float | None:
        """Take of a stage for one use; None if the name is an ingredient."""
        if name not in self._left:
            return None
        self._uses[name] -= 1
        taken = self._left[name]
        if self._uses[name]:
            taken = round(min(taken, round(amount / self._step_g) * self._step_g), 9)
        self._left[name] = round(self._left[name] - taken, 9)
        return taken


def read_steps(
    formula: Formula, steps: Mapping[str, Measure] | Measure, where: str, noun: str = "a step"
) -> dict[str, float]:
    """Read a weight for every line: one for all, or ingredient -> weight with ``"default"`` for the rest.

    Raises:
        FormulaError: a weight of zero, no default, an unknown name; all at once.
    """
    table = dict(steps) if isinstance(steps, Mapping) else {"default": steps}
    door = Door(FormulaError)
    read_in: dict[str, float] = {}
    for name, step in table.items():
        grams = door.read(MASS, step, f"{where}: {name}")
        if grams == 0:
            door.refuse(f"{where}: {name}", f"{noun} of 0 g", f"{noun} above zero")
        if name != "default" and name not in formula.catalogue:
            door.refuse(f"{where}: {name}", repr(name), "an ingredient or default")
        read_in[name if name == "default" or name not in formula.catalogue else formula.catalogue.find(name).name] = (
            grams
        )
    if "default" not in table:
        door.refuse(where, "no default", f'{noun} for the other lines: "default"', '{"default": "1 g", ...}')
    door.close()
    return read_in


def apportioned(
    amounts: list[float], steps: list[float], protected: list[bool], carry: float = 0.0, mode: str = "nearest"
) -> list[float]:
    """Round amounts to multiples of their steps so that their sum stays, by largest remainder.

    Args:
        amounts: what each line should be, in g.
        steps: the scale's step for each line, in g.
        protected: the lines that take a residual last.
        carry: what lines decided elsewhere left to make up, in g.
        mode: ``"nearest"``, ``"up"`` or ``"down"``.

    Returns:
        A multiple of its step for each line; with ``"nearest"`` their sum is off by at most half the coarsest step as
        long as there is something to take it from.  Each is less than one step away, but for the largest line where the
        others cannot take up the carry.

    Example:
        >>> apportioned([33.4, 33.3, 33.3], [1.0, 1.0, 1.0], [False, False, False])
        [34.0, 33.0, 33.0]
    """
    # The whole steps below each amount; a hair under the next one is the next one.
    whole = [math.floor(amount / step + 1e-9) for amount, step in zip(amounts, steps, strict=True)]
    rest = [max(0.0, amount / step - steps_) for amount, step, steps_ in zip(amounts, steps, whole, strict=True)]
    rest = [0.0 if part < 1e-9 else part for part in rest]
    more = [int(mode == "up" and part > 0) for part in rest]
    if mode == "nearest":
        # The protected lines go to their nearest step, and what that leaves the others take: the finest scale first,
        # whose own leavings are carried to the next coarser one.
        more = [int(safe and part >= 0.5) for safe, part in zip(protected, rest, strict=True)]
        owed = sum((rest[i] - more[i]) * steps[i] for i, safe in enumerate(protected) if safe)
        free = [i for i, safe in enumerate(protected) if not safe]
        scales = sorted({steps[i] for i in free})
        for step in scales:
            owed += carry if step == scales[-1] else 0.0
            members = [i for i in free if steps[i] == step]
            owed += sum(rest[i] for i in members) * step
            able = sorted((i for i in members if rest[i] > 0), key=lambda i: (-rest[i], -amounts[i]))
            count = min(max(0, math.ceil(owed / step - 0.5 - 1e-12)), len(able))
            more = [extra + (i in able[:count]) for i, extra in enumerate(more)]
            owed -= count * step
        if scales and abs(carry) > 1e-9 and abs(owed) > scales[-1] * HALF:
            largest = max(free, key=lambda i: amounts[i])
            count = max(round(owed / steps[largest]), -(whole[largest] + more[largest]))
            more[largest] += count
            owed -= count * steps[largest]
        if not free or abs(carry) <= 1e-9:
            _turned(rest, more, steps, owed)
    return [round((w + m) * step, 9) for w, m, step in zip(whole, more, steps, strict=True)]


def _turned(rest: list[float], more: list[int], steps: list[float], owed: float) -> None:
    """Let protected lines take what no other line could, those first that are nearest to the middle."""
    up = owed > 0
    for i in sorted(
        (i for i, part in enumerate(rest) if part > 0 and more[i] == (not up)), key=lambda i: abs(rest[i] - 0.5)
    ):
        if abs(owed) <= max(steps) * HALF:
            return
        more[i] = int(up)
        owed -= steps[i] if up else -steps[i]
