"""Builds: a levain made in one or several builds, worked out backwards from the clock time at which it must be ripe.

Each build is seeded for its own hours, so that each is ripe when the next begins.  ``levain_builds`` plans a weight of
levain, ``levain_for`` the levain of a bread, with the flour and water of its formula: the formula says what the levain is
made of and how much of it the dough takes, the clock and the temperature say how much seed it needs.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Final, TypeAlias, cast

from .batch import Batch, BatchStage
from .errors import Fault, FormulaError, UnknownNameError
from .formula import Formula
from .levainlog import LevainCalibration
from .levainplan import LevainPlan, planned
from .quantity import MASS, SHARE, TIME, Door, Measure, write
from .ripening import MOST_BUILDS, Ripening, advised_share, read_ripening
from .souring import LEAST_SHARE, MOST_SHARE
from .stage import FINAL
from .timeofday import DAY_MIN, read_clock
from .working import Caution, shown

__all__ = ["Each", "levain_builds", "levain_for"]

Each: TypeAlias = "Measure | Sequence[Measure]"
"""One measure for all builds, or one for each."""

LONGEST_H: Final = 24.0 * 60
"""Two months: longer than any culture is left to itself."""
_SEED_DIFFERS: Final = 0.05
"""A formula's own seed within a twentieth of the plan's is the same seed."""


def levain_builds(
    total: Measure,
    *,
    ready: str,
    start: str | None = None,
    builds: int | None = None,
    times: Each | None = None,
    shares: Each | None = None,
    temperature: Each,
    ripe: str = "peak",
    hydration: Each = "100 %",
    keep: Measure | None = None,
    phi: float | LevainCalibration | None = None,
) -> LevainPlan:
    """Plan a levain backwards from the clock: total_n = wanted + kept, seed_i = s_i total_i, total_(i-1) = seed_i.

    Args:
        total: the ripe levain that the dough takes.
        ready: when it must be ripe, as ``"05:00"``.
        start: when the first build is made, within the 24 hours before; with
        builds: how many, of equal time; 1 if left out; or instead of both
        times: the time of each build, the last one ending at ``ready``; or
        shares: the seed's share of each build, from which its time follows.
        temperature: the levain's own, which it keeps; one for all, or one for each build.
        ripe: ``"peak"``, the top of the rise, or ``"sour"``, fully soured.
        hydration: the water fed on the flour fed; one for all, or one for each build.
        keep: what is kept of the ripe levain; left out, as much as the first build takes, so that the culture goes on.
        phi: the culture's own constant, from ``calibrated``, or a number; left out, that of the printed tables.

    Returns:
        The ``builds`` with their clock times and weights; ``seed``, the ripe culture to have when it begins.

    Raises:
        QuantityError: for every bad argument at once; builds too long or too short for a seed of 0.5 to 40 %, with the
            nearest time, temperature and number of builds that work.

    Accuracy: as for ``levain_time``; the last build ends at ``ready`` exactly, and times are whole minutes.

    Example:
        >>> print(levain_builds("12 kg", start="18:00", ready="05:00", builds=2, temperature="25 °C", keep="300 g"))
        18:00 the day before: 338.8 g seed, 851.3 g flour, 851.3 g water = 2041.4 g, ripe at 23:30 the day before
        23:30 the day before: 2041 g seed, 5129 g flour, 5129 g water = 12300 g, ripe at 05:00
        05:00: 12000 g for the dough, 300 g kept
    """
    with Door() as door:
        wanted_g = door.read(MASS, total, "total")
        if wanted_g == 0:
            door.refuse("total", "0 g", "a levain of more than nothing")
        keep_g = None if keep is None else door.read(MASS, keep, "keep")
        ready_min, seeds, ripenings = _read_builds(door, ready, start, builds, times, shares, temperature, ripe, phi)
        fed = [
            {"flour": 1.0, "water": door.read(SHARE, each, where)}
            for where, each in _for_each(door, hydration, len(ripenings), "hydration")
        ]
    return planned(wanted_g, keep_g, ready_min, seeds, ripenings, fed, phi)


def _read_builds(
    door: Door,
    ready: str,
    start: str | None,
    builds: int | None,
    times: Each | None,
    shares: Each | None,
    temperature: Each,
    ripe: str,
    phi: float | LevainCalibration | None,
    salt: Measure | None = None,
) -> tuple[int, list[tuple[int, float]], list[Ripening]]:
    """Read when the levain is ripe, the minutes and seed share of each build, and how each ripens."""
    ready_min = read_clock(door, ready, "ready")
    spans = _read_spans(door, ready_min, start, builds, times, shares)
    ripenings = [
        read_ripening(door, each, ripe, phi, salt, where.removesuffix("temperature"))
        for where, each in _for_each(door, temperature, len(spans), "temperature")
    ]
    return ready_min, _seeds(door, spans, ripenings, by_share=shares is not None), ripenings


def _as_list(given: Each | None) -> list[Measure]:
    if isinstance(given, str) or hasattr(given, "magnitude") or not isinstance(given, Iterable):
        return [cast("Measure", given)]
    return list(cast("Iterable[Measure]", given))


def _for_each(door: Door, given: Each, count: int, name: str) -> list[tuple[str, Measure]]:
    """Return a measure for each build, with its name for messages."""
    listed = _as_list(given)
    if len(listed) == 1:
        return [(name, listed[0])] * count
    if count and len(listed) != count:
        door.refuse(name, f"{len(listed)} of them", f"one for all, or one for each build, of which there are {count}")
        return []
    return [(f"build {number}: {name}", each) for number, each in enumerate(listed, 1)]


def _read_spans(
    door: Door, ready_min: int, start: str | None, builds: int | None, times: Each | None, shares: Each | None
) -> list[float]:
    """Read the hours of each build, or its seed share where shares were given."""
    given = {"start": start, "times": times, "shares": shares}
    named = [name for name, value in given.items() if value is not None]
    if len(named) != 1:
        got = " and ".join(named) or "nothing"
        door.refuse("builds", got, "one of start=, times=, shares=", 'write for example start="18:00"')
        return []
    if start is None:
        if builds is not None:
            door.refuse(
                "builds", f"a number beside {named[0]}", f"only with start=; {named[0]} says how many there are"
            )
        kind, values = (TIME, times) if times is not None else (SHARE, shares)
        each = _as_list(values)
        if not 1 <= len(each) <= MOST_BUILDS:
            door.refuse(named[0], f"{len(each)} builds", f"1 to {MOST_BUILDS}")
        return [
            door.read(kind, one, f"{named[0]}[{place}]" if len(each) > 1 else named[0])
            for place, one in enumerate(each)
        ]
    count = 1 if builds is None else builds
    if isinstance(count, bool) or not isinstance(count, int) or not 1 <= count <= MOST_BUILDS:  # pyright: ignore[reportUnnecessaryIsInstance]
        door.refuse("builds", repr(builds), f"a whole number of builds, 1 to {MOST_BUILDS}")
        return []
    whole_min = (ready_min - read_clock(door, start, "start")) % DAY_MIN or DAY_MIN
    ends = [round(whole_min * number / count) for number in range(count + 1)]
    return [(after - before) / 60 for before, after in pairwise(ends)]


def _seeds(door: Door, spans: list[float], ripenings: list[Ripening], *, by_share: bool) -> list[tuple[int, float]]:
    """Return (minutes, seed share) of each build, noting at the door those that no levain can do."""
    if door.faults:
        return []
    found: list[tuple[int, float]] = []
    for number, (value, ripening) in enumerate(zip(spans, ripenings, strict=True), 1):
        where = "build" if len(spans) == 1 else f"build {number}"
        if by_share:
            low, high = LEAST_SHARE.value, MOST_SHARE.value
            if not low <= value <= high:
                nearest = write(SHARE, min(max(value, low), high))
                door.refuse(
                    f"{where}: share", write(SHARE, value), "0.5 % to 40 % of the build", f"the nearest is {nearest}"
                )
                continue
            found.append((max(1, round(60 * ripening.time_h_for(value))), value))
            continue
        minutes = 0 if value > LONGEST_H else round(60 * value)
        if minutes < 1:
            door.refuse(f"{where}: time", write(TIME, value), "a minute to 60 days")
            continue
        found.append((minutes, advised_share(door, ripening, minutes / 60, f"{where}: time", sum(spans))))
    return found


def levain_for(
    batch: Batch,
    *,
    stage: str | None = None,
    ready: str,
    start: str | None = None,
    builds: int | None = None,
    times: Each | None = None,
    shares: Each | None = None,
    temperature: Each,
    ripe: str = "peak",
    keep: Measure | None = None,
    phi: float | LevainCalibration | None = None,
) -> LevainPlan:
    """Plan the levain of a batch backwards from the clock, as ``levain_builds`` does, with the formula's own lines.

    Args:
        batch: the bread in weights, such as ``bread.scale(dough="40 kg")``.
        stage: the stage that is the levain; left out, the one with a ripe culture in it.
        ready: when the levain must be ripe, as ``"04:30"``.
        start: when the first build is made; with
        builds: how many, of equal time; or instead of both
        times: the time of each build; or
        shares: the seed's share of each build.
        temperature: the levain's own, which it keeps; one for all, or one for each build.
        ripe: ``"peak"``, the top of the rise, or ``"sour"``, fully soured.
        keep: what is kept of the ripe levain; left out, what the formula keeps, else as much as the first build takes.
        phi: the culture's own constant, from ``calibrated``, or a number; left out, that of the printed tables.

    Returns:
        The ``builds``; the last one hands the dough what the formula asks for.  Each is fed the stage's lines in the
        formula's proportion; only the seed is the plan's.

    Raises:
        FormulaError: a bread without a levain, or with several; a stage raised with yeast or built of other stages.
        UnknownNameError: a stage that the bread does not have.
        QuantityError: as ``levain_builds``.

    Accuracy: as for ``levain_time``.

    Example:
        >>> from formula.stage import Stage
        >>> sour = Stage("sour", {"bread flour": 100, "water": 100, "culture": 15}, flour="20 %", culture="returned")
        >>> bread = Formula.from_percents("Harbour Sour", {"bread flour": 100, "water": 68, "salt": 2}, stages=[sour])
        >>> plan = levain_for(bread.scale(dough="40 kg"), start="18:00", ready="04:30", temperature="22 °C")
        >>> print(plan)
        18:00 the day before: 778.5 g seed, 4706 g bread flour, 4706 g water = 10190 g, ripe at 04:30
        04:30: 9411.8 g for the dough, 778.5 g kept
    """
    bread = batch.formula
    found = _levain(batch, stage)
    fed, culture_g, salt = _lines(found, bread)
    with Door() as door:
        keep_g = None if keep is None else door.read(MASS, keep, "keep")
        ready_min, seeds, ripenings = _read_builds(
            door, ready, start, builds, times, shares, temperature, ripe, phi, salt=salt
        )
    if keep_g is None and found.kept_g > 0:
        keep_g = found.kept_g
    more = _own_seed(culture_g / found.total_g, seeds[-1], ripenings[-1]) if culture_g and len(seeds) == 1 else ()
    return planned(found.handed_on_g, keep_g, ready_min, seeds, ripenings, [fed] * len(seeds), phi, more)


def _levain(batch: Batch, stage: str | None) -> BatchStage:
    """Find the stage that is the levain."""
    where = f"formula {batch.formula.name!r}"
    stages = {name: each for name, each in batch.stages.items() if name != FINAL}
    if stage is not None:
        if stage not in stages:
            expected = f"one of its stages: {', '.join(stages)}" if stages else "a bread with stages"
            raise UnknownNameError(Fault(where, repr(stage), expected))
        return stages[stage]
    seeded = [each for each in stages.values() if _of_kind(each, batch.formula, "culture")]
    if len(seeded) != 1:
        got = f"{len(seeded)} stages with a ripe culture" if seeded else "no stage with a ripe culture"
        names = ", ".join(stages) or "it has no stages"
        raise FormulaError(Fault(where, got, "one levain", f"name the stage with stage=: {names}"))
    return seeded[0]


def _of_kind(stage: BatchStage, bread: Formula, *kinds: str) -> list[str]:
    names: Iterable[str] = (row.name for row in stage.rows if row.name in bread.catalogue)
    return [name for name in names if bread.catalogue.find(name).kind in kinds]


def _lines(stage: BatchStage, bread: Formula) -> tuple[dict[str, float], float, str]:
    """Return what the levain is fed, in g, its ripe culture, in g, and its salt on the flour as text."""
    where = f"stage {stage.name}"
    yeast = _of_kind(stage, bread, "yeast")
    if yeast:
        raise FormulaError(Fault(where, ", ".join(yeast), "a levain without yeast", "yeast_for_time doses yeast"))
    stages = {each.name for each in bread.stages}
    nested = [row.name for row in stage.rows if row.name in stages]
    if nested:
        fix = "plan it with levain_builds, with the total and the time of each build"
        raise FormulaError(
            Fault(where, f"the stage {', '.join(nested)} in it", "a levain of flour, water and culture", fix)
        )
    masses = {row.name: row.mass_g for row in stage.rows}
    cultures = set(_of_kind(stage, bread, "culture"))
    fed = {name: mass for name, mass in masses.items() if name not in cultures and mass > 0}
    flour_g = sum(masses[name] for name in _of_kind(stage, bread, "flour"))
    salt_g = sum(masses[name] for name in _of_kind(stage, bread, "salt"))
    if flour_g <= 0:
        raise FormulaError(Fault(where, "no flour", "a levain of flour, water and culture"))
    return fed, sum(masses[name] for name in cultures), f"{100 * salt_g / flour_g:.9f} %"


def _own_seed(own_share: float, seed: tuple[int, float], ripening: Ripening) -> tuple[Caution, ...]:
    minutes, share = seed
    if abs(own_share / share - 1) <= _SEED_DIFFERS:
        return ()
    text = (
        f"The formula's own seed, {shown(100 * own_share, 3)} % of the levain, is ripe after"
        f" {shown(ripening.time_h_for(own_share), 3)} h; for {shown(minutes / 60, 3)} h this plan takes {shown(100 * share, 3)} %."
    )
    return (Caution("seed-differs", text),)
