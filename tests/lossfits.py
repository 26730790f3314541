"""The fit of the loss over the surface, done anew with other arithmetic, and the tables of ``docs/losses.md``."""

import math
from collections.abc import Sequence
from itertools import permutations
from statistics import median
from typing import Any

import numpy as np

from formula.lossestimate import EXPONENT, estimate_loss
from formula.losstable import TypicalLoss, typical_losses
from formula.shape import Loaf

FIT = tuple(row for row in typical_losses() if row.fit)
SOURCES = tuple(dict.fromkeys(row.source for row in FIT))


def loaf(row: TypicalLoss) -> Loaf:
    assert row.dough_g is not None
    assert row.shape is not None
    return Loaf(row.dough_g, row.shape)


def share(row: TypicalLoss) -> float:
    assert row.low_on_dough_share is not None
    return row.low_on_dough_share


def fitted(rows: Sequence[TypicalLoss]) -> tuple[float, float, list[float], float]:
    """Return slope, its standard error, the level of each row and the scatter; one level for each source, by matrices."""
    sources = list(dict.fromkeys(row.source for row in rows))
    columns = [
        [math.log(loaf(row).surface_per_mass_m2_kg), *(float(row.source == name) for name in sources)] for row in rows
    ]
    design: Any = np.array(columns)
    losses: Any = np.log([share(row) for row in rows])
    found, *_ = np.linalg.lstsq(design, losses, rcond=None)
    residuals = losses - design @ found
    variance = float(residuals @ residuals) / (len(rows) - len(found))
    error = math.sqrt(variance * float(np.linalg.inv(design.T @ design)[0, 0]))
    return float(found[0]), error, [float(value) for value in residuals], math.sqrt(variance)


def left_out() -> dict[str, float]:
    """Return the exponent fitted without each source."""
    return {name: fitted([row for row in FIT if row.source != name])[0] for name in SOURCES}


def alone() -> dict[str, float]:
    """Return the exponent of each source by itself."""
    return {name: fitted([row for row in FIT if row.source == name])[0] for name in SOURCES}


def misses() -> list[float]:
    """Return the factors by which losses are missed, predicted from each other by a power fitted without their source."""
    found = []
    for name, power in left_out().items():
        for known, new in permutations([row for row in FIT if row.source == name], 2):
            ratio = loaf(new).surface_per_mass_m2_kg / loaf(known).surface_per_mass_m2_kg
            predicted = share(known) * ratio**power
            found.append(max(predicted / share(new), share(new) / predicted))
    return found


def fit_table() -> str:
    """Return the rows of the fit with what the fit makes of them."""
    residuals = fitted(FIT)[2]
    lines = ["| bread | dough, g | skin, m²/kg | printed, % | fitted, % |", "|---|---|---|---|---|"]
    for row, residual in zip(FIT, residuals, strict=True):
        percent = 100 * share(row)
        skin = loaf(row).surface_per_mass_m2_kg
        lines.append(
            f"| {row.product} | {loaf(row).mass_g:.0f} | {skin:.3f} | {percent:.1f} | {percent / math.exp(residual):.1f} |"
        )
    return "\n".join(lines) + "\n"


def source_table() -> str:
    """Return the exponents by source."""
    lines = ["| source | rows | its own power | without it |", "|---|---|---|---|"]
    own, without = alone(), left_out()
    for name in SOURCES:
        count = sum(row.source == name for row in FIT)
        lines.append(f"| `{name}` | {count} | {own[name]:.2f} | {without[name]:.2f} |")
    return "\n".join(lines) + "\n"


UNSEEN = (
    ("mixed rye loaf, 1150 g to rolls of 57 g", "13 %", "1150 g", "57 g", "round", "roll", "18 to 22, from memory"),
    ("mixed rye loaf, 1150 g to 595 g", "13 %", "1150 g", "595 g", "round", "round", "15 to 16, from memory"),
    ("a home baker's small loaf, 314 g to rolls of 84 g", "15 %", "314 g", "84 g", "round", "roll", "10.7"),
)


def unseen_table() -> str:
    """Return printed losses that the fit has not seen, predicted from another bread of the same source."""
    lines = ["| from ... to | reckoned, % | printed, % |", "|---|---|---|"]
    for words, loss, known, new, shape, new_shape, printed in UNSEEN:
        found = estimate_loss(loss, known=known, new=new, shape=shape, new_shape=new_shape)
        band = f"{100 * found.loss_share:.0f} ({100 * found.low_share:.0f} to {100 * found.high_share:.0f})"
        lines.append(f"| {words} | {band} | {printed} |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    print(fitted(FIT)[:2], EXPONENT.value, median(misses()), max(misses()))  # noqa: T201
    print(fit_table(), source_table(), unseen_table(), sep="\n")  # noqa: T201
