"""Upkeep: how a culture is kept from day to day, what it is fed and when, and how little of it need be kept.

At every feeding the culture is ripe: the dough takes its part, the seed of the next feeding stays, and the rest is thrown
away or used otherwise.  The seed is what makes the culture ripe at the next feeding, and each feeding is no larger than
the next one needs, so that as little as possible is thrown away.  The plan closes in a circle: its end is its beginning.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import ClassVar, Final, TypeAlias

from attrs import frozen

from .levainlog import LevainCalibration, rate_steps
from .levainplan import told
from .quantity import MASS, SHARE, Door, Measure, View
from .readerunits import with_units
from .ripening import Ripening, advised_share, log_cautions, read_ripening
from .timeofday import DAY_MIN, clock, read_clock
from .working import Caution, Step, Working, shown

__all__ = ["Feeding", "LevainUpkeep", "Taken", "levain_upkeep", "totals_g"]

Taken: TypeAlias = "Measure | Mapping[str, Measure]"
"""What the dough takes: the same at every feeding, or ``"05:00"`` or ``"day 3 05:00"`` -> a weight."""

MOST_DAYS: Final = 92
"""A quarter of a year; nobody plans a culture for longer."""


def totals_g(shares: list[float], takes_g: list[float], smallest_g: float) -> list[float]:
    """Return what every feeding must weigh, the last being followed by the first: total_i = take_j + s_j total_j.

    Here j is the next feeding; no total is below ``smallest_g``.

    Args:
        shares: s, the seed's share of each feeding, below one.
        takes_g: what is taken of the ripe culture at each feeding, g.
        smallest_g: the least that a feeding may weigh, g.

    Example:
        >>> [round(total, 9) for total in totals_g([0.5, 0.5], [30.0, 30.0], 0.0)]
        [60.0, 60.0]
    """
    count = len(shares)
    # Once round the circle as if there were no least: what is taken on the way, and what is left of the first total.
    taken_g, left = 0.0, 1.0
    for after in (*range(1, count), 0):
        taken_g += left * takes_g[after]
        left *= shares[after]
    totals = [taken_g / (1 - left)] * count
    # Back from there: the first round finds the first total with its least, the second the others.
    for place in 2 * [*reversed(range(count))]:
        after = (place + 1) % count
        totals[place] = max(smallest_g, takes_g[after] + shares[after] * totals[after])
    return totals


@frozen
class Feeding:
    """One feeding: the ripe culture of the feeding before is taken from, seeds the new one, and the rest is discarded."""

    start_min: int
    ripe_min: int
    ripe_g: float
    taken_g: float
    seed_g: float
    discard_g: float
    flour_g: float
    water_g: float
    total_g: float
    share_percent: float

    @property
    def day(self) -> int:
        """The day of the plan, from 1."""
        return self.start_min // DAY_MIN + 1

    @property
    def start(self) -> str:
        """The time of day."""
        return clock(self.start_min % DAY_MIN)

    ripe: ClassVar[View] = View(MASS, "ripe_g", "The ripe culture that is there.")
    taken: ClassVar[View] = View(MASS, "taken_g", "What the dough takes.")
    seed: ClassVar[View] = View(MASS, "seed_g", "What is kept and fed.")
    discard: ClassVar[View] = View(MASS, "discard_g", "What is left over.")
    flour: ClassVar[View] = View(MASS, "flour_g", "The flour fed.")
    water: ClassVar[View] = View(MASS, "water_g", "The water fed.")
    total: ClassVar[View] = View(MASS, "total_g", "What it weighs when fed.")
    share: ClassVar[View] = View(SHARE, "share_percent", "The seed's share of what it weighs when fed.", percent=True)

    def __str__(self) -> str:
        """Return the feeding on one line."""
        return (
            f"day {self.day} {self.start}: take {shown(self.taken_g, 4)} g, keep {shown(self.seed_g, 3)} g, discard"
            f" {shown(self.discard_g, 3)} g; feed {shown(self.flour_g, 4)} g flour, {shown(self.water_g, 4)} g water"
        )


@frozen
class LevainUpkeep:
    """The feedings of a culture over some days, which then begin again; ``seed`` is what to keep of it at the first."""

    ripening: Ripening
    hydration_percent: float
    smallest_g: float
    feedings: tuple[Feeding, ...]
    cautions: tuple[Caution, ...] = ()

    hydration: ClassVar[View] = View(SHARE, "hydration_percent", "The water fed on the flour fed.", percent=True)
    smallest: ClassVar[View] = View(MASS, "smallest_g", "The least that the culture weighs when fed.")

    @property
    def seed_g(self) -> float:
        """The ripe culture that the first feeding keeps: what to have when the plan begins, but for what is taken."""
        return self.feedings[0].seed_g

    seed: ClassVar[View] = View(MASS, "seed_g", "The ripe culture that the first feeding keeps.")

    @property
    def flour_g(self) -> float:
        """All the flour fed."""
        return sum(feeding.flour_g for feeding in self.feedings)

    flour: ClassVar[View] = View(MASS, "flour_g", "All the flour fed.")

    @property
    def water_g(self) -> float:
        """All the water fed."""
        return sum(feeding.water_g for feeding in self.feedings)

    water: ClassVar[View] = View(MASS, "water_g", "All the water fed.")

    @property
    def taken_g(self) -> float:
        """All that the doughs take."""
        return sum(feeding.taken_g for feeding in self.feedings)

    taken: ClassVar[View] = View(MASS, "taken_g", "All that the doughs take.")

    @property
    def discard_g(self) -> float:
        """All that is left over."""
        return sum(feeding.discard_g for feeding in self.feedings)

    discard: ClassVar[View] = View(MASS, "discard_g", "All that is left over.")

    def __str__(self) -> str:
        """Return the plan, a feeding a line."""
        return "\n".join(map(str, self.feedings))

    def working(self) -> Working:
        """Show the steps, from the last feeding back to the first; the last line is the seed of the first."""
        ripening, count = self.ripening, len(self.feedings)
        steps = [*rate_steps(ripening.ripe, ripening.temperature_c), ripening.phi_step()]
        common = {"phi": ripening.phi, "mu": ripening.rate_per_h}
        for number in range(count, 0, -1):
            feeding, after = self.feedings[number - 1], number % count + 1
            when = f"day {feeding.day} {feeding.start}"
            next_one = self.feedings[after - 1]
            values = {f"take_{after}": next_one.taken_g, f"seed_{after}": next_one.seed_g, "smallest": self.smallest_g}
            expression = f"max(smallest, take_{after} + seed_{after})"
            steps.append(Step(f"total_{number}", expression, values, feeding.total_g, "g", note=when))
            hours = {f"t_{number}": (feeding.ripe_min - feeding.start_min) / 60}
            share = feeding.share_percent / 100
            source = ripening.curve.phi.source
            steps.append(Step(f"s_{number}", f"exp(-phi * mu * t_{number})", {**common, **hours}, share, "1", source))
            values = {f"s_{number}": share, f"total_{number}": feeding.total_g}
            steps.append(Step(f"seed_{number}", f"s_{number} * total_{number}", values, feeding.seed_g, "g", note=when))
        told = {"g": "take seed smallest", "h": "t"}
        return Working("Upkeep of the culture, backwards", with_units(steps, told), self.cautions)


def levain_upkeep(
    *,
    feedings: str | Iterable[str],
    temperature: Measure,
    take: Taken = "0 g",
    smallest: Measure = "50 g",
    days: int = 7,
    every: int = 1,
    ripe: str = "peak",
    hydration: Measure = "100 %",
    phi: float | LevainCalibration | None = None,
) -> LevainUpkeep:
    """Plan the feedings of a culture: seed = s(t) total, where t is the time to the next feeding.

    Args:
        feedings: the times of day at which it is fed, such as ``("06:00", "18:00")``.
        temperature: the culture's own, which it keeps; not the room's.
        take: what the dough takes of the ripe culture at each feeding; or a time of day (``"06:00"``, or
            ``"day 3 06:00"`` for one day alone) -> its weight.
        smallest: the least that the culture may weigh when fed; too little dries out and is hard to weigh.
        days: how long the plan runs before it begins again.
        every: days from one day of feeding to the next; 7 for a culture that is fed once a week in the cold.
        ripe: ``"peak"``, the top of the rise, or ``"sour"``, fully soured.
        hydration: the water fed on the flour fed.
        phi: the culture's own constant, from ``calibrated``, or a number; left out, that of the printed tables.

    Returns:
        The ``feedings`` with what to take, keep, discard and feed at each; ``seed``, what to keep at the first; and the
        sums ``flour``, ``water``, ``taken`` and ``discard``.

    Raises:
        QuantityError: for every bad argument at once; feedings too far apart or too near for a seed of 0.5 to 40 %, with
            the nearest time and temperature that work.

    Accuracy: as for ``levain_time``.

    Example:
        >>> plan = levain_upkeep(feedings=("06:00", "18:00"), temperature="24 °C", take={"06:00": "400 g"}, days=1)
        >>> print(plan)
        day 1 06:00: take 400 g, keep 1.32 g, discard 0 g; feed 24.34 g flour, 24.34 g water
        day 1 18:00: take 0 g, keep 10.6 g, discard 39.4 g; feed 195.3 g flour, 195.3 g water
    """
    with Door() as door:
        ripening = read_ripening(door, temperature, ripe, phi)
        smallest_g = door.read(MASS, smallest, "smallest")
        hydration_share = door.read(SHARE, hydration, "hydration")
        starts = _read_starts(door, feedings, days, every)
        takes_g = _read_takes(door, take, starts)
        if not door.faults and smallest_g == 0 and not any(takes_g):
            door.refuse("smallest", "0 g", "more than nothing, where nothing is taken", 'write for example "50 g"')
        ends = [*starts[1:], starts[0] + days * DAY_MIN] if starts and not door.faults else []
        spans = [after - before for before, after in zip(starts, ends, strict=False)]
        # Feedings that are equally far apart are one case, and one fault.
        found = {
            span: advised_share(door, ripening, span / 60, "feedings: time between them")
            for span in dict.fromkeys(spans)
        }
    shares = [found[span] for span in spans]
    totals = totals_g(shares, takes_g, smallest_g)
    made: list[Feeding] = []
    for place, (start, end, share, total_g) in enumerate(zip(starts, ends, shares, totals, strict=True)):
        flour_g = total_g * (1 - share) / (1 + hydration_share)
        left_g = totals[place - 1] - takes_g[place] - share * total_g
        made.append(
            Feeding(
                start_min=start,
                ripe_min=end,
                ripe_g=totals[place - 1],
                taken_g=takes_g[place],
                seed_g=share * total_g,
                # What floats leave behind is no culture.
                discard_g=left_g if left_g > 1e-9 * totals[place - 1] else 0.0,
                flour_g=flour_g,
                water_g=flour_g * hydration_share,
                total_g=total_g,
                share_percent=100 * share,
            )
        )
    cautions = [(n, caution) for n, share in enumerate(shares, 1) for caution in ripening.cautions_for(share)]
    return LevainUpkeep(
        ripening=ripening,
        hydration_percent=100 * hydration_share,
        smallest_g=smallest_g,
        feedings=tuple(made),
        cautions=(*told(cautions, len(made), "Feeding"), *log_cautions(phi)),
    )


def _read_starts(door: Door, feedings: str | Iterable[str], days: int, every: int) -> list[int]:
    """Return the minutes from the first midnight at which the culture is fed."""
    listed = [feedings] if isinstance(feedings, str) else list(feedings)
    before = len(door.faults)
    clocks = [read_clock(door, each, "feedings") for each in listed]
    if not listed:
        door.refuse("feedings", "none", "at least one time of day", 'write for example ("06:00", "18:00")')
    if len(set(clocks)) < len(clocks) and len(door.faults) == before:
        door.refuse("feedings", ", ".join(listed), "each time of day once")
    for where, value, most in (("days", days, MOST_DAYS), ("every", every, MOST_DAYS)):
        if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= most:  # pyright: ignore[reportUnnecessaryIsInstance]
            door.refuse(where, repr(value), f"a whole number of days, 1 to {most}")
    if len(door.faults) > before:
        return []
    if days % every:
        fix = f"{days - days % every + every} days are the nearest"
        door.refuse("days", str(days), f"a whole number of times every {every} days", fix)
        return []
    return [day * DAY_MIN + each for day in range(0, days, every) for each in sorted(clocks)]


def _read_takes(door: Door, take: Taken, starts: list[int]) -> list[float]:
    """Return what is taken at each feeding, g."""
    if not isinstance(take, Mapping):
        return [door.read(MASS, take, "take")] * len(starts)
    asked = {key: door.read(MASS, value, f"take: {key}") for key, value in take.items()}
    names = [(f"day {start // DAY_MIN + 1} {clock(start % DAY_MIN)}", clock(start % DAY_MIN)) for start in starts]
    known = {name for pair in names for name in pair}
    for key in asked:
        if starts and key not in known:
            expected = (
                f"a feeding: {', '.join(dict.fromkeys(short for _, short in names))}, alone or after day 1 and so on"
            )
            door.refuse(f"take: {key}", repr(key), expected)
    return [asked.get(full, asked.get(short, 0.0)) for full, short in names]
