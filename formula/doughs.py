"""Doughs: which breads are one dough, so that they can be mixed together and divided apart."""

from __future__ import annotations

from collections.abc import Hashable, Sequence

from attrs import evolve

from .formula import Formula
from .lines import Lines
from .losses import NO_LOSSES
from .stage import Stage

__all__ = ["common_dough", "dough_key"]


def dough_key(bread: Formula) -> Hashable:
    """Return what is equal for two breads just when their doughs are the same.

    The same are: what every stage and the final dough take of each ingredient (whatever it is called, in whatever order
    it is written, and however the size of a stage is said), the kind of each stage and what is kept of it, what is added
    later, and the dough's temperature.  Name, losses, toppings and rejects make no difference; nor do the weights of
    pieces.

    Args:
        bread: the formula.

    Example:
        >>> one = Formula.from_percents("Quay Round", {"bread flour": 100, "water": 68}, toppings={"sesame seeds": "5 g"})
        >>> two = Formula.from_percents("Quay Stick", {"water": 68, "strong flour": 100})
        >>> dough_key(one) == dough_key(two)
        True
    """
    stages = {stage.name: stage for stage in bread.stages}

    def meant(line: str) -> Hashable:
        return line if line in stages else bread.catalogue.find(line)

    def lines(percents: Sequence[tuple[str, float]]) -> Hashable:
        # Percentages that only differ in how they were worked out are the same.
        return frozenset((meant(line), float(f"{percent:.9g}")) for line, percent in percents)

    columns = frozenset(
        (
            column.name,
            lines(list(zip(column.lines, column.percents, strict=True))),
            _way_of(stages.get(column.name)),
        )
        for column in bread.table.columns
    )
    return columns, lines(list(bread.later.items())), frozenset(map(meant, bread.flours)), bread.dough_temperature_c


def _way_of(stage: Stage | None) -> Hashable:
    return stage and (stage.kind, stage.culture, stage.keep_percent, stage.boiled_off_percent)


def common_dough(breads: Sequence[Formula]) -> Formula:
    """Return the formula that is mixed for several breads of one dough: their common part, under all their names.

    Args:
        breads: one or more with the same ``dough_key``; a single one is its own dough.
    """
    if len(breads) == 1:
        return breads[0]
    name = " + ".join(dict.fromkeys(bread.name for bread in breads))
    return evolve(breads[0], name=name, losses=NO_LOSSES, toppings_g=Lines(), reject_share=0.0)
