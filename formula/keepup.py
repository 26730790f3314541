"""The largest mix that the oven keeps up with.

Where the oven takes pieces more slowly than the bench shapes them, every piece waits a little longer at proof than the one
before.  A mix may be as large as the proof can be stretched.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from attrs import frozen

from .errors import Fault, FormulaError
from .process import Process
from .readerunits import with_units
from .working import Caution, Step, Working
from .workshop import Oven

__all__ = ["LargestMix", "largest_mix", "rounds_kept_up"]

CLOCK_MIN: Final = 2.0
"""What whole minutes of the clock may cost: one where shaping, one where a load is rounded up."""


def rounds_kept_up(window_min: float, load: float, together: float, shape_min: float, cycle_min: float) -> float:
    """Return how many rounds of all ovens a mix may take: 1 + (window - load * s) / (cycle - together * s).

    From round to round the pieces wait longer by what the ovens' cycle takes more than the bench does for as many
    pieces; within a load the first piece has waited load * s longer than the last.

    Args:
        window_min: from the earliest to the latest proof, min.
        load: pieces in the largest load.
        together: pieces in one round, a load in each oven.
        shape_min: minutes of the bench for a piece, s.
        cycle_min: minutes from one load to the next in the slowest oven.

    Returns:
        Rounds, not yet whole; infinite where the ovens are no slower than the bench, below 1 where not one load can wait.

    Example:
        >>> rounds_kept_up(30.0, 50.0, 100.0, 0.125, 25.0)
        2.9
    """
    spare_min = window_min - load * shape_min
    if spare_min < 0:
        return window_min / (load * shape_min)
    lag_min = cycle_min - together * shape_min
    return math.inf if lag_min <= 0 else 1 + spare_min / lag_min


@frozen
class LargestMix:
    """The most ``pieces`` that one mix may have; None if the oven keeps up with any."""

    window_min: float
    load: int
    together: int
    shape_min: float
    cycle_min: float
    pieces: int | None
    cautions: tuple[Caution, ...] = ()

    def working(self) -> Working:
        """Show the steps; the last line is the number of pieces, or by how much the ovens are quicker than the bench."""
        title = "The largest mix that the oven keeps up with"
        a_round = {"cycle": self.cycle_min, "together": float(self.together), "s": self.shape_min}
        lag = self.cycle_min - self.together * self.shape_min
        told = "minutes by which a round of the ovens is longer than the bench takes; s: of the bench for a piece"
        steps = [Step("lag", "cycle - together * s", a_round, lag, "min", note=told)]
        values = {"window": self.window_min, "load": float(self.load), "s": self.shape_min}
        spare = self.window_min - self.load * self.shape_min
        if spare < 0:
            held = {"window": self.window_min, "s": self.shape_min}
            steps = [Step("pieces", "floor(window / s)", held, float(self.pieces or 0), "", note="less than a load")]
        elif self.pieces is not None:
            note = "what is left of the window when the first piece of a load has waited for its last"
            steps.append(Step("spare", "window - load * s", values, spare, "min", note=note))
            values = {"spare": spare, "lag": lag, "together": float(self.together)}
            whole = "together * (1 + floor(spare / lag))"
            steps.append(Step("pieces", whole, values, float(self.pieces), "", note="whole rounds of all ovens"))
        return Working(title, with_units(steps, {"min": "cycle s window", "1": "together load"}), self.cautions)


def largest_mix(process: Process, ovens: Iterable[Oven]) -> LargestMix:
    """Find the most pieces that a mix may have so that the proof of none is too long, in whole rounds of the ovens.

    pieces = together * (1 + floor((window - load s) / (cycle - together s))).  Two minutes of the window are kept back,
    because the clock's minutes are whole.  Of several ovens the slowest sets the cycle, and one that is fired counts with
    its longest bake.

    Args:
        process: the bread's process.
        ovens: all of the workshop's; those that take the bread count.

    Returns:
        ``pieces``, or None if the bench is no faster than the ovens.

    Raises:
        FormulaError: a proof with so little room that not even one piece can be held.

    Accuracy: for ovens that stand empty when the mix comes; in a full day the ovens are shared, and the timetable finds
    out whether there is room.  Ovens of unequal cycles keep up with a little more than is said here.

    Example:
        >>> from formula.process import Wait
        >>> rounds = Process(
        ...     mix="20 min", bulk="2 h", shape=300, shape_people=4, bake="34 min", loads={"deck": 60},
        ...     proof=Wait("1 h", earliest="50 min", latest="1 h 40 min"),
        ... )
        >>> largest_mix(rounds, [Oven("deck", turn_round="6 min")]).pieces
        120
    """
    load = together = 0
    cycle_min = 0.0
    for oven in ovens:
        if oven.name in process.loads:
            longest = math.ceil(process.bake_min * (1 + oven.slows_share * oven.lasts_min / 60))
            load = max(load, process.loads[oven.name])
            together += process.loads[oven.name]
            cycle_min = max(cycle_min, float(longest + oven.turn_round_min))
    # Pieces come to the proof as they are shaped, or, where nothing is shaped by hand, as they are divided.
    rate = process.shape_rate * process.shape_people or process.divide_rate * process.divide_people
    shape_min = 60 / rate if rate else 0.0
    window_min = process.proof.latest_min - process.proof.earliest_min - CLOCK_MIN
    rounds = rounds_kept_up(window_min, load, together, shape_min, cycle_min) if window_min >= 0 else -1.0
    pieces = None if math.isinf(rounds) else together * math.floor(rounds)
    if rounds < 1:
        pieces = math.floor(window_min / shape_min) if window_min > 0 else 0
    if pieces == 0:
        got = f"{process.proof.earliest_min} to {process.proof.latest_min} min"
        mend = "give it an earliest and a latest time"
        raise FormulaError(Fault("proof", got, "room for the minutes that it takes to shape and load", mend))
    return LargestMix(window_min, load, together, shape_min, cycle_min, pieces)
