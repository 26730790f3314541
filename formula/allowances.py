"""Allowances on the mean: what moves whole batches, and so cannot be seen in the spread within one.

Batches differ, a divider creeps between two adjustments, and a sample sees only so much.  None of it is part of the
standard deviation within a batch, from which single pieces fall short; it is added to the mean.
"""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import Final

from attrs import frozen

from .errors import cited
from .quantity import MASS, SHARE, Door, Measure, write
from .readerunits import with_units
from .working import Step

__all__ = ["CONFIDENCE", "NO_ALLOWANCES", "Allowances", "read_allowances", "z_leaving"]

CONFIDENCE: Final = "97.5 %"
"""How sure it shall be that the mean of a lot of several batches reaches the target: our choice, to be named anew."""


def z_leaving(share: float) -> float:
    """Return how many standard deviations above a limit the mean must lie so that a share stays below it.

    Args:
        share: a fraction between 0 and 1.

    Example:
        >>> round(z_leaving(0.025), 3), round(z_leaving(0.02), 3), round(z_leaving(0.0001), 3)
        (1.96, 2.054, 3.719)
    """
    return -NormalDist().inv_cdf(share)


@frozen
class Allowances:
    """What is added to the mean because whole batches move: the batches themselves, the divider's drift, the sampling."""

    between_sd_g: float = 0.0
    batches: int = 1
    confidence_share: float = 0.975  # one side of 95 %
    drift_g: float = 0.0
    sampling_g: float = 0.0

    @property
    def between_g(self) -> float:
        """The allowance for the spread of batch means over a lot: z(confidence) * sd / sqrt(batches), g."""
        return z_leaving(1 - self.confidence_share) * self.between_sd_g / math.sqrt(self.batches)

    @property
    def total_g(self) -> float:
        """All of it together, g."""
        return self.between_g + self.drift_g + self.sampling_g

    def steps(self) -> tuple[list[Step], dict[str, float]]:
        """Return the steps of a working, and the allowances that are not zero by their names."""
        steps: list[Step] = []
        if self.between_sd_g:
            z = z_leaving(1 - self.confidence_share)
            values = {"z_lot": z, "s_batches": self.between_sd_g, "batches": float(self.batches)}
            note = f"the lot's mean reaches the target with {write(SHARE, self.confidence_share)} confidence"
            between = Step("between", "z_lot * s_batches / batches ** 0.5", values, self.between_g, "g", note=note)
            steps += with_units([between], {"1": "z_lot batches", "g": "s_batches"})
        named = {"between": self.between_g, "drift": self.drift_g, "sampling": self.sampling_g}
        return steps, {name: value for name, value in named.items() if value}


NO_ALLOWANCES: Final = Allowances()


def read_allowances(
    door: Door, between_sd: Measure, batches: int, confidence: Measure, drift: Measure, sampling: Measure
) -> Allowances:
    """Read the allowances on the mean.

    Args:
        door: where faults are noted.
        between_sd: the standard deviation of batch means, a mass.
        batches: batches in a lot.
        confidence: a share of 50 % or more and less than all.
        drift: a mass.
        sampling: a mass.
    """
    share = door.read(SHARE, confidence, "confidence")
    if not math.isnan(share) and not 0.5 <= share < 1:
        door.refuse(
            "confidence", write(SHARE, share), "50 % or more and less than 100 %", f'the default is "{CONFIDENCE}"'
        )
    if isinstance(batches, bool) or not isinstance(batches, int) or batches < 1:  # pyright: ignore[reportUnnecessaryIsInstance]
        door.refuse("batches", cited(batches), "a whole number of 1 or more", "count the batches of a lot")
    return Allowances(
        between_sd_g=door.read(MASS, between_sd, "between_sd"),
        batches=batches,
        confidence_share=share,
        drift_g=door.read(MASS, drift, "drift"),
        sampling_g=door.read(MASS, sampling, "sampling"),
    )
