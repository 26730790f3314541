"""A levain's plan: its builds in the order of the clock, each with what is weighed and when it is ripe.

The weights are worked out backwards: the last build weighs what the dough takes and what is kept; its seed is the whole of
the build before; and so back to the ripe culture that there is.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, ClassVar

from attrs import frozen

from .levainlog import LevainCalibration, rate_steps
from .lines import Lines
from .quantity import MASS, SHARE, TIME, View, view
from .readerunits import with_units
from .ripening import Ripening, log_cautions
from .timeofday import clock
from .working import Caution, Step, Working, shown

if TYPE_CHECKING:
    from .quantity import Quantity

__all__ = ["Build", "LevainPlan", "planned", "told"]


@frozen
class Build:
    """One build: what is weighed when, and when it is ripe; ``start_min`` counts from midnight of the day of the dough.

    ``earliest_min`` and ``latest_min`` are when it may be ripe by the band.
    """

    ripening: Ripening
    start_min: int
    ready_min: int
    share_percent: float
    seed_g: float
    fed_g: Lines[float]
    total_g: float

    @property
    def start(self) -> str:
        """When to build it, as a time of day."""
        return clock(self.start_min)

    @property
    def ready(self) -> str:
        """When it is ripe, as a time of day."""
        return clock(self.ready_min)

    @property
    def time_h(self) -> float:
        """The hours between."""
        return (self.ready_min - self.start_min) / 60

    time: ClassVar[View] = View(TIME, "time_h", "The time between.")

    @property
    def earliest_min(self) -> float:
        """When it is ripe if the culture is as fast as the band allows."""
        return self.start_min + self.ripening.low_factor * 60 * self.time_h

    @property
    def latest_min(self) -> float:
        """When it is ripe if the culture is as slow as the band allows."""
        return self.start_min + self.ripening.high_factor * 60 * self.time_h

    share: ClassVar[View] = View(SHARE, "share_percent", "The seed's share of the whole build.", percent=True)

    @property
    def temperature(self) -> Quantity:
        """The temperature at which it is kept."""
        return self.ripening.temperature

    seed: ClassVar[View] = View(MASS, "seed_g", "The ripe seed, which is all of the build before.")

    @property
    def fed(self) -> Lines[Quantity]:
        """What is fed to it, a line each."""
        return Lines((name, view(MASS, mass)) for name, mass in self.fed_g.items())

    total: ClassVar[View] = View(MASS, "total_g", "What the build weighs.")

    def __str__(self) -> str:
        """Return the build on one line."""
        fed = ", ".join(f"{shown(mass, 4)} g {name}" for name, mass in self.fed_g.items())
        return f"{self.start}: {shown(self.seed_g, 4)} g seed, {fed} = {shown(self.total_g, 5)} g, ripe at {self.ready}"


@frozen
class LevainPlan:
    """The builds of a levain in the order of the clock: ``wanted`` goes into the dough, ``kept`` seeds the next one.

    ``seed`` is the ripe culture to have when it begins.
    """

    wanted_g: float
    kept_g: float
    keeps_seed: bool
    builds: tuple[Build, ...]
    cautions: tuple[Caution, ...] = ()

    wanted: ClassVar[View] = View(MASS, "wanted_g", "What goes into the dough.")
    kept: ClassVar[View] = View(MASS, "kept_g", "What is kept of the ripe levain.")

    @property
    def total_g(self) -> float:
        """What the last build weighs."""
        return self.builds[-1].total_g

    total: ClassVar[View] = View(MASS, "total_g", "What the last build weighs.")

    @property
    def seed_g(self) -> float:
        """The ripe culture that the first build takes."""
        return self.builds[0].seed_g

    seed: ClassVar[View] = View(MASS, "seed_g", "The ripe culture that the first build takes.")

    @property
    def fed_g(self) -> Lines[float]:
        """What all builds together are fed."""
        names = dict.fromkeys(name for build in self.builds for name in build.fed_g)
        return Lines((name, sum(build.fed_g.get(name, 0.0) for build in self.builds)) for name in names)

    def __str__(self) -> str:
        """Return the plan, a build a line."""
        last = f"{self.builds[-1].ready}: {shown(self.wanted_g, 5)} g for the dough, {shown(self.kept_g, 4)} g kept"
        return "\n".join([*map(str, self.builds), last])

    def working(self) -> Working:
        """Show the steps, from the last build back to the first; the last line is the seed of the first."""
        steps: list[Step] = []
        shares: dict[str, float] = {}
        for number, build in enumerate(self.builds, 1):
            mark, ripening = f"_{number}", build.ripening
            steps += rate_steps(ripening.ripe, ripening.temperature_c, mark)
            phi = f"phi_{ripening.ripe}"
            values = {phi: ripening.phi, f"mu{mark}": ripening.rate_per_h, f"t{mark}": build.time_h}
            found, note = build.share_percent / 100, f"{build.start} to {build.ready}"
            shares[f"s{mark}"] = found
            exact = math.isclose(ripening.share_for(build.time_h), found, rel_tol=1e-9)
            # A share that was asked for sets the time, which is then told to the minute.
            if exact:
                source = ripening.curve.phi.source
                steps.append(Step(f"s{mark}", f"exp(-{phi} * mu{mark} * t{mark})", values, found, "1", source, note))
            else:
                steps.append(Step(f"s{mark}", f"s{mark}", {f"s{mark}": found}, found, "1", note=f"asked for; {note}"))
        count = len(self.builds)
        if self.keeps_seed:
            expression, values = f"wanted / (1 - {' * '.join(shares)})", {"wanted": self.wanted_g, **shares}
            note = "as much is kept as it began with"
        else:
            expression, values = "wanted + kept", {"wanted": self.wanted_g, "kept": self.kept_g}
            note = "for the dough and to keep"
        steps.append(Step(f"total_{count}", expression, values, self.total_g, "g", note=note))
        for number in range(count, 0, -1):
            build, total = self.builds[number - 1], f"total_{number}"
            if number < count:
                seed = {f"seed_{number + 1}": self.builds[number].seed_g}
                steps.append(Step(total, f"seed_{number + 1}", seed, build.total_g, "g", note="all of it is seed"))
            values = {total: build.total_g, f"s_{number}": build.share_percent / 100}
            fed_g, note = math.fsum(build.fed_g.values()), f"fed: {' and '.join(build.fed_g)}"
            steps.append(Step(f"fed_{number}", f"{total} * (1 - s_{number})", values, fed_g, "g", note=note))
            steps.append(Step(f"seed_{number}", f"{total} * s_{number}", values, build.seed_g, "g"))
        told = {"1": "phi", "h": "t", "g": "wanted kept seed"}
        return Working("Builds of the levain, backwards", with_units(steps, told), self.cautions)


def planned(
    wanted_g: float,
    keep_g: float | None,
    ready_min: int,
    seeds: Sequence[tuple[int, float]],
    ripenings: Sequence[Ripening],
    fed: Sequence[dict[str, float]],
    phi: float | LevainCalibration | None,
    more: tuple[Caution, ...] = (),
) -> LevainPlan:
    """Work out the weights backwards; ``seeds`` holds minutes and seed share of each build, ``fed`` proportions."""
    total_g = wanted_g + keep_g if keep_g is not None else wanted_g / (1 - math.prod(share for _, share in seeds))
    end_min, made = ready_min, list[Build]()
    for (minutes, share), ripening, parts in reversed(list(zip(seeds, ripenings, fed, strict=True))):
        seed_g = total_g * share
        whole = sum(parts.values())
        fed_g = Lines((name, (total_g - seed_g) * part / whole) for name, part in parts.items())
        made.append(Build(ripening, end_min - minutes, end_min, 100 * share, seed_g, fed_g, total_g))
        end_min, total_g = end_min - minutes, seed_g
    made.reverse()
    cautions = [
        (n, c) for n, build in enumerate(made, 1) for c in build.ripening.cautions_for(build.share_percent / 100)
    ]
    return LevainPlan(
        wanted_g=wanted_g,
        kept_g=made[0].seed_g if keep_g is None else keep_g,
        keeps_seed=keep_g is None,
        builds=tuple(made),
        cautions=(*told(cautions, len(made)), *log_cautions(phi), *more),
    )


def told(cautions: Iterable[tuple[int, Caution]], count: int, what: str = "Build") -> tuple[Caution, ...]:
    """Return each caution once, with the numbers of those that it holds for where it is not all."""
    where: dict[Caution, list[int]] = {}
    for number, caution in cautions:
        where.setdefault(caution, []).append(number)
    return tuple(
        caution
        if len(numbers) == count
        else Caution(caution.code, f"{what} {', '.join(map(str, numbers))}: {caution.text}")
        for caution, numbers in where.items()
    )
