"""What somebody weighs: the rows of a sheet, and the stages they belong to."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import ClassVar

from attrs import frozen

from .catalogue import Catalogue
from .lines import Lines
from .quantity import MASS, View
from .working import Caution, shown

__all__ = ["BatchStage", "Row", "too_small"]


@frozen
class Row:
    """One line of a weigh sheet: what, its percentage of all the flour, and how many grams."""

    name: str
    percent: float
    mass_g: float

    mass: ClassVar[View] = View(MASS, "mass_g", "The weight as a quantity.")


@frozen
class BatchStage:
    """One stage of a batch: its rows, and what is taken out of it before it goes on."""

    name: str
    rows: tuple[Row, ...]
    returned_g: float = 0.0
    kept_g: float = 0.0
    boiled_off_g: float = 0.0

    @property
    def total_g(self) -> float:
        """What is weighed into the stage."""
        return sum(row.mass_g for row in self.rows)

    total: ClassVar[View] = View(MASS, "total_g", "What is weighed into the stage, as a quantity.")

    @property
    def handed_on_g(self) -> float:
        """What goes on into other stages and the final dough."""
        return self.total_g - self.returned_g - self.kept_g - self.boiled_off_g

    handed_on: ClassVar[View] = View(MASS, "handed_on_g", "What goes on, as a quantity.")


def too_small(
    stages: Iterable[BatchStage], minimum_g: Lines[float], catalogue: Catalogue, dough_g: float
) -> Iterable[Caution]:
    """Say for each line below the least that the scale weighs well how to weigh it all the same.

    Args:
        stages: the exact weights.
        minimum_g: ingredient -> least, ``"default"`` for the rest.
        catalogue: what the names mean.
        dough_g: the dough of the batch.
    """
    for stage in stages:
        for row in stage.rows:
            if row.name not in catalogue:
                continue
            least = minimum_g.get(catalogue.find(row.name).name, minimum_g["default"])
            if not 0 < row.mass_g < least:
                continue
            parts = 10 ** math.ceil(math.log10(least / row.mass_g) - 1e-9)
            text = (
                f"{stage.name}: {shown(row.mass_g, 3)} g of {row.name} is less than the {shown(least)} g that the scale"
                f" weighs well: stir 1 part into {parts - 1} parts of the water and weigh {shown(row.mass_g * parts, 3)} g"
                f" of that, or mix at least {shown(dough_g * least / row.mass_g / 1000, 4)} kg of dough"
            )
            yield Caution("too-small-to-weigh", text)
