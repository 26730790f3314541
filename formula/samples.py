"""Weighings of a sample: written down or read from a file, with the spread within batches and between them.

A file is CSV: a header with the names of ``COLUMNS``, cells with their units ("402 g").  They are kept in their order.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from statistics import fmean, variance
from typing import TYPE_CHECKING, ClassVar, Final, TypeAlias

from attrs import frozen

from .csvtable import read_csv
from .errors import QuantityError, cited
from .quantity import MASS, Door, Measure, View, grid, read, write
from .readerunits import with_units
from .sources import Constant
from .working import Caution, Step, Working, summed_steps

if TYPE_CHECKING:
    from pathlib import Path

__all__ = [
    "COLUMNS",
    "MOST_WEIGHINGS",
    "SIGMAS",
    "ControlLimits",
    "Subgroup",
    "Weighing",
    "Weighings",
    "control_limits",
    "read_sample",
    "read_weighings",
]

COLUMNS: Final = ("weight", "tare", "time", "batch")
"""The columns of a file of weighings; weight must be there."""
MOST_WEIGHINGS: Final = 5000
"""More than anybody weighs of a lot by hand; a longer list is likely the wrong file."""
SIGMAS: Final = Constant(3.0, "1", 0.0, "shewhart-limits", "standard errors from the centre to a limit")


@frozen(init=False)
class Weighing:
    """One piece on the scale.

    Args:
        weight: what the scale showed, a mass above zero.
        tare: the wrapping that was on the scale as well, a mass.
        time: when, in your words.
        batch: of which batch, in your words.

    Raises:
        QuantityError: for every bad argument at once; a tare that leaves nothing.

    Example:
        >>> Weighing("404 g", tare="3 g", batch="1").mass_g
        401.0
    """

    weight_g: float
    tare_g: float
    time: str
    batch: str

    def __init__(self, weight: Measure, *, tare: Measure = "0 g", time: str = "", batch: str = "") -> None:
        """Read every argument and tell of all the bad ones at once."""
        with Door() as door:
            weight_g, tare_g = door.read(MASS, weight, "weight"), door.read(MASS, tare, "tare")
            if weight_g == 0:
                door.refuse("weight", "0 g", "a weight above zero", "leave the line out if nothing was weighed")
            elif weight_g <= tare_g:
                door.refuse("tare", write(MASS, tare_g), f"less than the weight, {write(MASS, weight_g)}")
            for name, word in (("time", time), ("batch", batch)):
                if not isinstance(word, str):  # pyright: ignore[reportUnnecessaryIsInstance]
                    door.refuse(name, cited(word), "text", "put it between quotes")
        for name, value in (("weight_g", weight_g), ("tare_g", tare_g), ("time", time), ("batch", batch)):
            object.__setattr__(self, name, value)

    weight: ClassVar[View] = View(MASS, "weight_g", "What the scale showed.")
    tare: ClassVar[View] = View(MASS, "tare_g", "The wrapping.")
    mass: ClassVar[View] = View(MASS, "mass_g", "The weight of the bread alone.")

    @property
    def mass_g(self) -> float:
        """The weight of the bread alone, g."""
        return grid(MASS, self.weight_g - self.tare_g)


Weighings: TypeAlias = Iterable[Weighing | Measure]
"""What a caller may give as a sample: weighings, or plain masses."""


def read_weighings(path: Path) -> tuple[Weighing, ...]:
    r"""Read weighings from a CSV file, one a line, in their order.

    The header names the columns, in any order: weight; if known tare, time and batch.  A weight is text with its unit.

    Args:
        path: the file, UTF-8, cells parted by commas.

    Raises:
        FileError: for everything wrong in the file at once, each with its line and column.

    Example:
        >>> import tempfile, pathlib
        >>> path = pathlib.Path(tempfile.mkdtemp()) / "loaves.csv"
        >>> _ = path.write_text("time,weight\n05:10,402 g\n05:12,398 g\n", encoding="utf-8")
        >>> [weighing.mass_g for weighing in read_weighings(path)]
        [402.0, 398.0]
    """
    return read_csv(path, _weighing, columns=COLUMNS, needed=("weight",), most=MOST_WEIGHINGS, noun="weighing")


def _weighing(row: dict[str, str]) -> Weighing:
    return Weighing(row["weight"], tare=row.get("tare") or "0 g", time=row.get("time", ""), batch=row.get("batch", ""))


def read_sample(door: Door, weighings: Weighings) -> tuple[Weighing, ...]:
    """Read weighings given one by one, as ``Weighing`` or as masses.

    Args:
        door: where faults are noted.
        weighings: the sample.
    """
    if isinstance(weighings, str) or not isinstance(weighings, Iterable):  # pyright: ignore[reportUnnecessaryIsInstance]
        door.refuse("weighings", cited(weighings), "a list of weighings", 'write ["402 g", "398 g"]')
        return ()
    found: list[Weighing] = []
    for place, given in enumerate(weighings, 1):
        if isinstance(given, Weighing):
            found.append(given)
            continue
        try:
            read(MASS, given, f"weighing {place}")
            found.append(Weighing(given))
        except QuantityError as error:
            door.faults.extend(error.faults)
    if len(found) > MOST_WEIGHINGS:
        door.refuse("weighings", str(len(found)), f"at most {MOST_WEIGHINGS}", "keep the latest")
    return tuple(found)


@frozen
class Subgroup:
    """A few weighings together, their ``places`` counted from 1: their mean and spread, and where such a mean may lie."""

    name: str
    places: tuple[int, ...]
    mean_g: float
    sd_g: float
    low_g: float
    high_g: float

    mean: ClassVar[View] = View(MASS, "mean_g", "The mean of these weighings.")

    @property
    def count(self) -> int:
        """How many they are."""
        return len(self.places)

    @property
    def is_out(self) -> bool:
        """Whether the mean lies outside its control limits."""
        return not self.low_g <= self.mean_g <= self.high_g


@frozen
class ControlLimits:
    """Weighings in subgroups: ``within_sd`` is what ``target_mass`` asks for as ``sd``, ``between_sd`` as ``between_sd``.

    A subgroup's mean belongs between centre - 3 s / sqrt(n) and centre + 3 s / sqrt(n).
    """

    masses_g: tuple[float, ...]
    groups: tuple[Subgroup, ...]
    centre_g: float
    within_sd_g: float
    between_sd_g: float
    cautions: tuple[Caution, ...] = ()

    centre: ClassVar[View] = View(MASS, "centre_g", "The target, or the mean of all the subgroups' weighings.")
    within_sd: ClassVar[View] = View(MASS, "within_sd_g", "The spread within a subgroup.")
    between_sd: ClassVar[View] = View(MASS, "between_sd_g", "The spread of the subgroups' true means.")

    def working(self) -> Working:
        """Show the steps; the last line is the spread within."""
        names: dict[str, float] = {}
        terms: dict[str, float] = {}
        freedom: dict[str, float] = {}
        for place, group in enumerate(self.groups, 1):
            names |= {f"f_{place}": group.count - 1.0, f"s_{place}": group.sd_g}
            terms[f"f_{place} * s_{place} * s_{place}"] = (group.count - 1) * group.sd_g**2
            freedom[f"f_{place}"] = group.count - 1.0
        squares, total = summed_steps("squares", terms, names, "g2")
        free, count = summed_steps("freedom", freedom)
        values = {"squares": total, "freedom": count}
        note = "the spread within, pooled over the subgroups"
        last = Step("s_within", "(squares / freedom) ** 0.5", values, self.within_sd_g, "g", note=note)
        steps = with_units((*squares, *free, last), {"1": "f", "g": "s"})
        return Working("Spread within subgroups", steps, self.cautions)


def control_limits(weighings: Weighings, *, size: int = 5, target: Measure | None = None) -> ControlLimits:
    """Find the spread within and between subgroups of weighings, and the control limits of their means.

    Within, variances are pooled; between, s_between^2 = (MS_between - MS_within) / n0, as in the analysis of variance.

    Args:
        weighings: the sample in its order, as ``Weighing``, from ``read_weighings``, or plain masses.
        size: how many weighings follow each other in a subgroup, 2 or more, where not every weighing names its batch;
            where each does, the batches are the subgroups.
        target: the mean aimed at, a mass, as the centre; the mean of the weighings if left out.

    Returns:
        ``within_sd``, ``between_sd`` (0 where chance alone explains it) and ``groups`` with their limits.

    Raises:
        QuantityError: for every bad argument at once; fewer than two subgroups, or a batch weighed once only.

    Accuracy: of a spread from n weighings about 1 / sqrt(2 n) of it: 10 % from 50, and between batches far less.  Limits
    at three standard errors are the habit of all trades: 1 in 370 means lies outside by chance.

    Example:
        >>> found = control_limits(["400 g", "402 g", "404 g", "406 g"], size=2)
        >>> round(found.within_sd_g, 3), round(found.between_sd_g, 3), [group.mean_g for group in found.groups]
        (1.414, 2.646, [401.0, 405.0])
    """
    with Door() as door:
        sample = read_sample(door, weighings)
        if isinstance(size, bool) or not isinstance(size, int) or size < 2:  # pyright: ignore[reportUnnecessaryIsInstance]
            door.refuse("size", cited(size), "a whole number of 2 or more", "5 is usual")
            door.close()
        target_g = None if target is None else door.read(MASS, target, "target")
        parts = _parts(sample, size)
        single = [name for name, places in parts.items() if len(places) < 2]
        if not door.faults and single:
            door.refuse(
                "weighings", f"one weighing of batch {single[0]}", "at least 2 of each batch", "weigh more of it"
            )
        elif not door.faults and len(parts) < 2:
            got = f"{len(parts)} subgroups from {len(sample)} weighings"
            door.refuse("weighings", got, "at least 2 subgroups", "weigh more, or in more batches")
    masses_g = tuple(weighing.mass_g for weighing in sample)
    split = [[masses_g[place - 1] for place in places] for places in parts.values()]
    used = [mass_g for part in split for mass_g in part]
    within = math.fsum((len(part) - 1) * variance(part) for part in split) / (len(used) - len(split))
    mean_g = fmean(used)
    means = math.fsum(len(part) * (fmean(part) - mean_g) ** 2 for part in split) / (len(split) - 1)
    usual = (len(used) - math.fsum(len(part) ** 2 for part in split) / len(used)) / (len(split) - 1)
    centre_g = mean_g if target_g is None else target_g
    left = len(sample) - len(used)
    return ControlLimits(
        masses_g=masses_g,
        groups=tuple(
            _group(name, places, part, centre_g, math.sqrt(within))
            for (name, places), part in zip(parts.items(), split, strict=True)
        ),
        centre_g=centre_g,
        within_sd_g=math.sqrt(within),
        between_sd_g=math.sqrt(max(0.0, means - within) / usual),
        cautions=(Caution("weighings-left-out", f"{left} at the end make no whole subgroup: left out."),)
        if left
        else (),
    )


def _parts(sample: Sequence[Weighing], size: int) -> dict[str, tuple[int, ...]]:
    """Part a sample into its batches where all are named, else into subgroups of one size; a short last one is left out."""
    if all(weighing.batch for weighing in sample):
        batches: dict[str, list[int]] = {}
        for place, weighing in enumerate(sample, 1):
            batches.setdefault(weighing.batch, []).append(place)
        return {batch: tuple(places) for batch, places in batches.items()}
    starts = range(1, len(sample) - size + 2, size)
    return {str(number): tuple(range(start, start + size)) for number, start in enumerate(starts, 1)}


def _group(name: str, places: tuple[int, ...], part: Sequence[float], centre_g: float, within_sd_g: float) -> Subgroup:
    reach_g = SIGMAS.value * within_sd_g / math.sqrt(len(part))
    return Subgroup(
        name=name,
        places=places,
        mean_g=fmean(part),
        sd_g=math.sqrt(variance(part)),
        low_g=centre_g - reach_g,
        high_g=centre_g + reach_g,
    )
