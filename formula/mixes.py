"""The mixes of one dough: as few as a mixer holds, as equal as whole pieces allow, and every line on a step of the scale.

A dough may be that of several breads, which are divided apart.  Each bread's pieces are shared out evenly; where they do
not come out even, the breads take turns with the piece more, so that no mix gets all of them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Final

from attrs import frozen

from .bakery import Bakery, Mixer
from .batch import Batch
from .counting import even
from .formula import Formula
from .quantity import MASS, write

__all__ = ["Need", "Portion", "Split", "shared_out", "split_dough"]

SMALL_G: Final = 1e-6
"""Grams that no scale shows: what floats leave behind."""


@frozen
class Need:
    """What one bread wants of a dough: so many pieces of a scaling weight, of which handling leaves a share ``left``.

    ``most`` is the number of its pieces that a mix may have for another reason than the mixer, None if there is none.
    """

    bread: str
    pieces: int
    piece_g: float
    left: float
    most: int | None = None


@frozen
class Portion:
    """What one mix holds of one bread: its pieces, the weight of each on the divider's scale, and the dough they need."""

    bread: str
    pieces: int
    piece_g: float
    needed_g: float


@frozen
class Split:
    """The mixes of one dough in one mixer: runs of equal ones, each with their number, their portions and their batch."""

    mixer: Mixer
    slack_g: float
    runs: tuple[tuple[int, tuple[Portion, ...], Batch], ...]

    @property
    def count(self) -> int:
        """The number of mixes."""
        return sum(count for count, _, _ in self.runs)

    @property
    def smallest_g(self) -> float:
        """The dough of the smallest mix."""
        return min(batch.dough_g for _, _, batch in self.runs)

    @property
    def rank(self) -> tuple[bool, int, float]:
        """Mixers that the mixes are large enough for come first, then the fewest mixes, then the smallest mixer."""
        return self.smallest_g < self.mixer.smallest_g, self.count, self.mixer.capacity_g


def shared_out(pieces: Sequence[int], mixes: int) -> tuple[tuple[int, tuple[int, ...]], ...]:
    """Share the pieces of several breads over some mixes; return runs of equal mixes: their number, the pieces of each bread.

    Of each bread, and of all together, no mix has more than one piece more than another; the fuller mixes come first.

    Args:
        pieces: of each bread.
        mixes: how many, 1 or more.

    Example:
        >>> shared_out([400], 3)
        ((1, (134,)), (2, (133,)))
        >>> shared_out([5, 4], 3)
        ((2, (2, 1)), (1, (1, 2)))
    """
    begins: list[int] = []
    begin, cuts = 0, {0, mixes}
    for each in pieces:
        # The next bread begins to give its piece more where the last one has ended, round and round.
        begins.append(begin)
        cuts.add(begin)
        begin = (begin + each) % mixes
        cuts.add(begin)
    places = sorted(cuts)
    runs = [
        (until - since, tuple(each // mixes + ((since - first) % mixes < each % mixes) for each, first in zip(pieces, begins, strict=True)))
        for since, until in pairwise(places)
    ]  # fmt: skip
    return tuple(runs)


def split_dough(dough: Formula, needs: Sequence[Need], mixer: Mixer, bakery: Bakery) -> Split | None:
    """Split a dough over as few mixes as the mixer holds, or return None if it does not hold one piece of each bread.

    Args:
        dough: the formula that is mixed.
        needs: what the breads want of it, one or more.
        mixer: the mixer.
        bakery: for the steps of its scales.
    """
    steps = {line: step for line, step in bakery.steps_g.items() if line == "default" or line in dough.catalogue}
    slack_g = 0.0
    while True:
        holds = [even((mixer.capacity_g - slack_g) * need.left / need.piece_g) for need in needs]
        if min(holds) < 1:
            return None
        runs = tuple(
            (count, portions, _weighable(dough, sum(portion.needed_g for portion in portions), steps))
            for count, portions in _fewest(needs, holds)
        )
        if all(batch.dough_g <= mixer.capacity_g + SMALL_G for _, _, batch in runs):
            return Split(mixer, slack_g, runs)
        slack_g += max(steps.values())


def _fewest(needs: Sequence[Need], holds: Sequence[float]) -> list[tuple[int, tuple[Portion, ...]]]:
    """Return the runs of the fewest mixes of which none is fuller than full; ``holds``: pieces of one bread alone in a mix."""
    pieces = [need.pieces for need in needs]
    most = [math.floor(hold if need.most is None else min(hold, need.most)) for need, hold in zip(needs, holds, strict=True)]  # fmt: skip
    together = sum(each / hold for each, hold in zip(pieces, holds, strict=True))
    mixes = max(math.ceil(even(together)), *(math.ceil(each / top) for each, top in zip(pieces, most, strict=True)))
    while True:
        # As many mixes as there are pieces would hold one each, so that this ends.
        runs = shared_out(pieces, mixes)
        if all(sum(size / hold for size, hold in zip(sizes, holds, strict=True)) <= 1 + 1e-9 for _, sizes in runs):
            break
        mixes += 1
    return [
        (
            count,
            tuple(
                Portion(need.bread, size, need.piece_g, size * need.piece_g / need.left)
                for size, need in zip(sizes, needs, strict=True)
                if size
            ),
        )
        for count, sizes in runs
    ]


def _weighable(dough: Formula, dough_g: float, steps_g: Mapping[str, float]) -> Batch:
    """Scale to at least this much dough, and at most one of the coarsest steps more, with every line on the scale."""
    steps = {line: write(MASS, step) for line, step in steps_g.items()}
    half = max(steps_g.values()) / 2
    wanted = dough_g
    while True:
        # Rounding moves the dough by half a step at the most: what is short is made up by half a step more.
        batch = dough.scale(dough=write(MASS, wanted)).rounded(steps)
        if batch.dough_g >= dough_g - SMALL_G:
            return batch
        wanted += half
