"""Feeding: one build of a stage (preferment, levain, sour or soaker) and the mixes that it feeds.

A stage that is used at one time and ripens within a wait may be begun within a window: from the use less its longest
time to the use less its shortest.  One build feeds every use whose windows have a moment in common.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import Any, ClassVar, Final

from attrs import evolve, frozen

from .lines import Lines
from .process import Wait
from .quantity import MASS, SHARE, View
from .readerunits import with_units
from .timeofday import WallClock
from .working import Caution, Step, Working, summed_steps

__all__ = ["StageBuild", "StageUse", "begin_near", "fewest_builds"]

_UNITS: Final = {"min": "last latest first earliest", "1": "n loss seeded", "g": "m used"}


def fewest_builds(windows: Sequence[tuple[int, int]]) -> tuple[tuple[int, ...], ...]:
    """Put windows into the fewest groups so that those of a group have a moment in common.

    The window that closes first decides how long its build may wait; all that are open then are fed by it, and so on
    with the rest: no other way needs fewer.

    Args:
        windows: (opens, closes) of each use, both of which still do, min.

    Returns:
        The places of the windows of each group, the groups in the order in which they close.

    Example:
        >>> fewest_builds([(0, 60), (120, 180), (30, 90), (90, 130)])
        ((0, 2), (3, 1))
    """
    groups: list[tuple[int, ...]] = []
    rest = sorted(range(len(windows)), key=lambda place: (windows[place][1], windows[place][0]))
    while rest:
        closes = windows[rest[0]][1]
        groups.append(tuple(place for place in rest if windows[place][0] <= closes))
        rest = [place for place in rest if windows[place][0] > closes]
    return tuple(groups)


def begin_near(opens_min: int, closes_min: int, bests_min: Sequence[int]) -> int:
    """Return the minute within a window at which the farthest of the best times is nearest.

    Args:
        opens_min: the first minute that will do.
        closes_min: the last one.
        bests_min: when the build would best begin for each of its uses.

    Example:
        >>> begin_near(0, 100, [40, 80]), begin_near(0, 50, [40, 80])
        (60, 50)
    """
    middle = (min(bests_min) + max(bests_min)) // 2
    return min(max(middle, opens_min), closes_min)


@frozen
class StageUse:
    """One use of a stage: a mix of a bread (``into`` and ``mix``), or a build of another stage (``mix`` is 0)."""

    into: str
    mix: int
    at_min: int
    mass_g: float
    ripe: Wait

    mass: ClassVar[View] = View(MASS, "mass_g", "How much of the stage goes in.")

    @property
    def window(self) -> tuple[int, int]:
        """The first and the last minute at which its build may begin."""
        return self.at_min - self.ripe.latest_min, self.at_min - self.ripe.earliest_min

    @property
    def best_begin_min(self) -> int:
        """When its build would best begin."""
        return self.at_min - self.ripe.best_min

    def __str__(self) -> str:
        """Return what it goes into."""
        return f"{self.into}, mix {self.mix}" if self.mix else self.into


@frozen
class StageBuild:
    """One build of a stage: when it is begun, what it feeds, and what is weighed for it.

    Minutes count from midnight of the day.  ``seeded_share`` is the part of the ripe stage that is taken out for tomorrow,
    ``boiled_share`` the part of what is weighed that boils off; ``inner`` holds the lines that are other
    stages; ``number`` of ``count`` builds of the stage.
    """

    name: str
    kind: str
    number: int
    count: int
    begin_min: int
    uses: tuple[StageUse, ...]
    lines_g: Lines[float]
    inner: tuple[str, ...]
    loss_share: float
    seeded_share: float
    boiled_share: float
    wall: WallClock
    cautions: tuple[Caution, ...] = ()

    @property
    def title(self) -> str:
        """The stage, with the number of the build where there are several."""
        return self.name if self.count == 1 else f"{self.name} {self.number} of {self.count}"

    @property
    def begin(self) -> str:
        """When it is built, as the clock shows it."""
        return self.wall.text(self.begin_min)

    @property
    def ripe_min(self) -> int:
        """From when on it is ripe for every mix that it feeds."""
        return self.begin_min + max(use.ripe.earliest_min for use in self.uses)

    @property
    def over_min(self) -> int:
        """Until when it may be used in all of them."""
        return self.begin_min + min(use.ripe.latest_min for use in self.uses)

    @property
    def ripe(self) -> str:
        """From when on it is ripe, as the clock shows it."""
        return self.wall.text(self.ripe_min)

    @property
    def over(self) -> str:
        """Until when it may be used, as the clock shows it."""
        return self.wall.text(self.over_min)

    @property
    def first_min(self) -> int:
        """When it is first used."""
        return min(use.at_min for use in self.uses)

    @property
    def last_min(self) -> int:
        """When it is last used."""
        return max(use.at_min for use in self.uses)

    @cached_property
    def used_g(self) -> float:
        """What the mixes and stages that it feeds take."""
        return math.fsum(use.mass_g for use in self.uses)

    @property
    def seed_g(self) -> float:
        """What is taken out for tomorrow: as much as it was seeded with, and what the formula keeps."""
        return self.seeded_share * self.used_g / (1 - self.loss_share - self.seeded_share)

    @property
    def mass_g(self) -> float:
        """The ripe stage that must be there: (what is used + the seed) / (1 - loss)."""
        return (self.used_g + self.seed_g) / (1 - self.loss_share)

    @property
    def weighed_g(self) -> float:
        """The sum of its weigh sheet, rounded up to the scale; with what will boil off."""
        return math.fsum(self.lines_g.values())

    @property
    def usable_g(self) -> float:
        """What the build as weighed has for mixes and stages: less what boils off, its loss and the seed."""
        ripe_g = self.weighed_g * (1 - self.boiled_share)
        return ripe_g * (1 - self.loss_share - self.seeded_share)

    used: ClassVar[View] = View(MASS, "used_g", "What the mixes and stages that it feeds take.")
    seed: ClassVar[View] = View(MASS, "seed_g", "What is taken out for tomorrow.")
    mass: ClassVar[View] = View(MASS, "mass_g", "The ripe stage that must be there.")
    weighed: ClassVar[View] = View(MASS, "weighed_g", "The sum of its weigh sheet.")
    usable: ClassVar[View] = View(MASS, "usable_g", "What the build as weighed has for mixes and stages.")
    loss: ClassVar[View] = View(SHARE, "loss_share", "The part of the ripe stage that is lost.")

    def working(self) -> Working:
        """Show when it may be begun and how its mass comes about; the last line is the mass."""
        steps = [*self._time_steps(), *self._mass_steps()]
        return Working(f"{self.title}: built at {self.begin}", with_units(steps, _UNITS), self.cautions)

    def _time_steps(self) -> Iterable[Step]:
        groups = {
            ripe: [use.at_min for use in self.uses if use.ripe == ripe]
            for ripe in dict.fromkeys(use.ripe for use in self.uses)
        }
        opens: dict[str, float] = {}
        closes: dict[str, float] = {}
        for number, (ripe, times) in enumerate(groups.items(), 1):
            mark = f"_{number}" if len(groups) > 1 else ""
            last, first = float(max(times)), float(min(times))
            opens[f"opens{mark}"], closes[f"closes{mark}"] = last - ripe.latest_min, first - ripe.earliest_min
            values = {f"last{mark}": last, f"latest{mark}": float(ripe.latest_min)}
            note = f"not sooner, for the use at {self.wall.text(max(times))}; minutes from midnight of the day"
            yield Step(f"opens{mark}", f"last{mark} - latest{mark}", values, opens[f"opens{mark}"], "min", note=note)
            values = {f"first{mark}": first, f"earliest{mark}": float(ripe.earliest_min)}
            note = f"not later, for the use at {self.wall.text(min(times))}"
            yield Step(
                f"closes{mark}", f"first{mark} - earliest{mark}", values, closes[f"closes{mark}"], "min", note=note
            )
        if len(groups) > 1:
            yield Step("opens", f"max({', '.join(opens)})", opens, max(opens.values()), "min")
            yield Step("closes", f"min({', '.join(closes)})", closes, min(closes.values()), "min")
        begin = float(self.begin_min)
        note = f"between the two, as near the best time as may be: {self.begin}"
        yield Step("begin", "begin", {"begin": begin}, begin, "min", note=note)

    def _mass_steps(self) -> Iterable[Step]:
        counts: dict[tuple[str, float], int] = {}
        for use in self.uses:
            counts[use.into, use.mass_g] = counts.get((use.into, use.mass_g), 0) + 1
        terms: dict[str, float] = {}
        names: dict[str, float] = {}
        for number, ((_, mass_g), count) in enumerate(counts.items(), 1):
            terms[f"n_{number} * m_{number}"] = count * mass_g
            names |= {f"n_{number}": float(count), f"m_{number}": mass_g}
        told = "; ".join(f"n_{number}, m_{number}: {into}" for number, (into, _) in enumerate(counts, 1))
        steps, _ = summed_steps("used", terms, names, "g")
        yield from steps[:-1]
        yield evolve(steps[-1], value=self.used_g, note=told)
        values = {"used": self.used_g, "loss": self.loss_share}
        if self.seeded_share:
            seeded = {**values, "seeded": self.seeded_share}
            note = "for tomorrow; seeded: its part of the ripe stage"
            yield Step("seed", "seeded * used / (1 - loss - seeded)", seeded, self.seed_g, "g", note=note)
            values["seed"] = self.seed_g
        whole = "(used + seed)" if self.seeded_share else "used"
        yield Step("mass", f"{whole} / (1 - loss)", values, self.mass_g, "g", note="the ripe stage")

    def to_tables(self) -> dict[str, Any]:
        """Return the build as plain tables; weights in g, minutes from midnight of the day."""
        return {
            "stage": self.name,
            "number": self.number,
            "count": self.count,
            "kind": self.kind,
            "begin_min": self.begin_min,
            "begin": self.begin,
            "ripe_min": self.ripe_min,
            "ripe": self.ripe,
            "over_min": self.over_min,
            "over": self.over,
            "mass_g": self.mass_g,
            "used_g": self.used_g,
            "seed_g": self.seed_g,
            "loss_share": self.loss_share,
            "lines_g": dict(self.lines_g),
            "feeds": [
                {
                    "into": use.into,
                    "mix": use.mix,
                    "at_min": use.at_min,
                    "at": self.wall.text(use.at_min),
                    "mass_g": use.mass_g,
                    "earliest_min": use.ripe.earliest_min,
                    "best_min": use.ripe.best_min,
                    "latest_min": use.ripe.latest_min,
                }
                for use in self.uses
            ],
        }
