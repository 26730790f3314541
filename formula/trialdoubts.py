"""Doubts about trials: too few of them, readings that stand apart, contradict each other, or cannot be.

The fit is made all the same; whoever uses it is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from .working import Caution, shown

if TYPE_CHECKING:
    from .trials import Trial

__all__ = ["UNEQUAL", "trial_cautions"]

UNEQUAL: Final = 1.25
"""Times or masses that differ by more than this ratio do not belong into one mean; our own judgement."""
_LEAST_TRIALS: Final = 3
_CONTRADICTORY_K: Final = 5.0


def trial_cautions(
    trials: Sequence[Trial],
    outliers: Sequence[int],
    count: int,
    left_k: Sequence[float],
    *,
    alike_times: bool = False,
    dropped: bool = False,
) -> tuple[Caution, ...]:
    """Say what is wrong with trials from which a friction factor was fitted.

    Args:
        trials: all that were made.
        outliers: the places of those that stand apart, from 0.
        count: the number of temperatures that the factor is for.
        left_k: what each trial that counts has over the fit, K.
        alike_times: say nothing of times that differ, as in a fit by time.
        dropped: the outliers do not count.

    Example:
        >>> from formula.trials import Trial
        >>> trial = Trial(flour="21 °C", room="23 °C", water="12 °C", dough="25 °C")
        >>> [caution.code for caution in trial_cautions([trial], [], 3, [0.0])]
        ['few-trials']
    """
    found: list[Caution] = []
    if len(left_k) < _LEAST_TRIALS:
        text = f"{len(left_k)} trial{'s tell' if len(left_k) > 1 else ' tells'} little of the spread: make at least {_LEAST_TRIALS}."
        found.append(Caution("few-trials", text))
    if outliers:
        each = ", ".join(f"trial {place + 1} ({shown(trials[place].factor_k(count), 3)} K)" for place in outliers)
        fate = "Left out." if dropped else "Counted all the same; drop_outliers=True leaves it out."
        found.append(Caution("outliers", f"Apart from the others: {each}; check the readings. ({fate})"))
    cold = [str(place) for place, trial in enumerate(trials, 1) if trial.friction_k < 0]
    if cold:
        text = f"Trial {', '.join(cold)}: the factor is negative, and no mixer cools a dough unless it has a cold jacket; check the readings."
        found.append(Caution("negative-friction", text))
    if max(left_k) - min(left_k) > _CONTRADICTORY_K:
        text = f"The trials contradict each other: they lie {shown(max(left_k) - min(left_k), 3)} K apart on the scale of the factor."
        found.append(Caution("contradictory-trials", text))
    if len({trial.measured_count for trial in trials} | {count}) > 1:
        text = f"Not all trials sum {count} temperatures: the others are rescaled, the dough's own rise kept."
        found.append(Caution("mixed-counts", text))
    times_h = [trial.time_h for trial in trials if trial.time_h is not None]
    if not alike_times and len(times_h) > 1 and max(times_h) > UNEQUAL * min(times_h):
        text = 'The trials were mixed for very different times: by="time" fits a rate for each minute.'
        found.append(Caution("mixed-times", text))
    return tuple(found)
