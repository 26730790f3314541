"""The mixes of one dough: as few as a mixer holds, equal but for one piece, and every line on a step of the scale."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from attrs import frozen

from .bakery import Bakery, Mixer
from .batch import Batch
from .counting import even, share_pieces
from .formula import Formula
from .quantity import MASS, write

__all__ = ["Split", "split_dough"]

SMALL_G: Final = 1e-6
"""Grams that no scale shows: what floats leave behind."""


@frozen
class Split:
    """The mixes of one bread in one mixer."""

    mixer: Mixer
    slack_g: float
    batches: tuple[tuple[int, int, Batch], ...]

    @property
    def count(self) -> int:
        """The number of mixes."""
        return sum(count for _, count, _ in self.batches)

    @property
    def smallest_g(self) -> float:
        """The dough of the smallest mix."""
        return min(batch.dough_g for _, _, batch in self.batches)

    @property
    def rank(self) -> tuple[bool, int, float]:
        """Mixers that the mixes are large enough for come first, then the fewest mixes, then the smallest mixer."""
        return self.smallest_g < self.mixer.smallest_g, self.count, self.mixer.capacity_g


def split_dough(
    bread: Formula, pieces: int, mixed_g: float, mixer: Mixer, bakery: Bakery, most: int | None = None
) -> Split | None:
    """Split a bread's pieces over as few mixes as the mixer holds, or return None if it does not hold one piece.

    ``mixed_g`` is the dough to mix for a piece, the losses before the divider allowed for; ``most`` the number of pieces
    that a mix may have for another reason than the mixer.
    """
    steps = {line: step for line, step in bakery.steps_g.items() if line == "default" or line in bread.catalogue}
    slack_g = 0.0
    while True:
        at_most = math.floor(even((mixer.capacity_g - slack_g) / mixed_g))
        if at_most < 1:
            return None
        if most is not None:
            at_most = min(at_most, most)
        shares = share_pieces(pieces, math.ceil(pieces / at_most))
        batches = tuple(
            (size, shares.count(size), _weighable(bread, size * mixed_g, steps))
            for size in sorted(set(shares), reverse=True)
        )
        if all(batch.dough_g <= mixer.capacity_g + SMALL_G for _, _, batch in batches):
            return Split(mixer, slack_g, batches)
        slack_g += max(steps.values())


def _weighable(bread: Formula, dough_g: float, steps_g: Mapping[str, float]) -> Batch:
    """Scale to at least this much dough, and at most one of the coarsest steps more, with every line on the scale."""
    steps = {line: write(MASS, step) for line, step in steps_g.items()}
    half = max(steps_g.values()) / 2
    wanted = dough_g
    while True:
        # Rounding moves the dough by half a step at the most: what is short is made up by half a step more.
        batch = bread.scale(dough=write(MASS, wanted)).rounded(steps)
        if batch.dough_g >= dough_g - SMALL_G:
            return batch
        wanted += half
