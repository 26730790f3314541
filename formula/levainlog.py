"""The levain's log: what a bakery has seen of its own levain, and the constant that it shows.

The one constant of the ripening time, phi, is not the same for every culture.  A handful of notes (how much seed, how
warm, when it was ripe) gives the bakery its own, and a band that is its own scatter instead of the 40 % of print.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from statistics import stdev
from typing import ClassVar, Final

from attrs import frozen

from .errors import Fault, FormulaError
from .quantity import MASS, SHARE, TEMPERATURE, TIME, Door, Measure, OptionalView, View, write
from .readerunits import with_units
from .souring import COLDEST_C, CURVES, growth_rate_per_h, phi_from_log, share_from_starter
from .spread import outlying, student_t95
from .working import Caution, Step, Working, shown

__all__ = [
    "BAND",
    "LEAST_RECORDS",
    "Dilution",
    "LevainCalibration",
    "LevainRecord",
    "calibrated",
    "rate_steps",
    "read_dilution",
    "read_ripe",
    "read_warmth",
]

BAND: Final = (0.6, 1.4)
"""Earliest and latest over the time found: the printed times lie within 40 % of the model but for those in the docs."""
LEAST_RECORDS: Final = 3
"""Fewer notes than this say nothing of a scatter."""
_LEAST_SIGMA: Final = 0.05
"""Nobody sees the top of a rise more exactly than half an hour in ten (common practice, no source)."""


@frozen
class Dilution:
    """How much ripe seed there is in a levain, in percent of the whole; and what it was said by, if it was said so."""

    share_percent: float
    seed_g: float | None = None
    total_g: float | None = None
    starter_percent: float | None = None
    hydration_percent: float | None = None


def read_ripe(door: Door, ripe: object, where: str = "ripe") -> bool:
    """Note at the door if ``ripe`` is none of the meanings there are."""
    known = isinstance(ripe, str) and ripe in CURVES
    if not known:
        expected = '"peak" (the top of the rise) or "sour" (fully soured)'
        door.refuse(where, repr(ripe), expected, "say what ripe means")
    return known


def read_warmth(door: Door, temperature: Measure, ripe: str, where: str = "temperature") -> float:
    """Read the levain's own temperature, noting at the door one that the growth curve says nothing of."""
    value_c = door.read(TEMPERATURE, temperature, where)
    curve = CURVES.get(ripe) if isinstance(ripe, str) else None  # pyright: ignore[reportUnnecessaryIsInstance]
    if curve is None or math.isnan(value_c):
        return value_c
    low, high = COLDEST_C.value, curve.limit.value
    expected = f"{shown(low)} °C to {shown(high)} °C for {ripe!r}"
    if value_c < low:
        door.refuse(
            where, write(TEMPERATURE, value_c), expected, f"nothing is known below; the nearest is {shown(low)} °C"
        )
    elif value_c > high:
        other = ', or ask for ripe="sour"' if ripe == "peak" and value_c <= CURVES["sour"].limit.value else ""
        fix = f"it stops the culture or leaves what was measured; the nearest is {shown(high)} °C{other}"
        door.refuse(where, write(TEMPERATURE, value_c), expected, fix)
    return value_c


def read_dilution(
    door: Door,
    seed: Measure | None,
    total: Measure | None,
    starter: Measure | None,
    hydration: Measure | None,
    salt_share: float = 0.0,
) -> Dilution:
    """Read the seed, said in one of two ways: ``seed`` in ``total``, or ``starter`` on flour with ``hydration``."""
    hydration_share = None if hydration is None else door.read(SHARE, hydration, "hydration")
    percent = None if hydration_share is None else 100 * hydration_share
    total_g = None if total is None else door.read(MASS, total, "total")
    if total_g == 0:
        door.refuse("total", "0 g", "a levain of more than nothing")
    if (seed is None) == (starter is None):
        got = "nothing" if seed is None else "seed and starter together"
        door.refuse("seed", got, "seed= with total=, or starter= with hydration=", "keep one of them")
        return Dilution(math.nan)
    if seed is not None:
        seed_g = door.read(MASS, seed, "seed")
        if total_g is None:
            door.refuse("total", "nothing", "the whole levain, seed and flour and water together")
            return Dilution(math.nan)
        if not door.faults:
            _check_seed(door, seed_g, total_g)
        return Dilution(100 * seed_g / total_g if total_g else math.nan, seed_g, total_g, None, percent)
    starter_share = door.read(SHARE, starter, "starter") if starter is not None else math.nan
    if starter_share == 0:
        door.refuse("starter", "0 %", "more than nothing", "a levain without ripe seed never gets ripe; try 1 %")
    if hydration_share is None:
        fix = 'a starter is counted on the flour, so say the water too, such as hydration="100 %"'
        door.refuse("hydration", "nothing", "the water fed, on the flour fed", fix)
        return Dilution(math.nan)
    share = share_from_starter(starter_share, hydration_share, salt_share)
    weighed_g = None if total_g is None else share * total_g
    return Dilution(100 * share, weighed_g, total_g, 100 * starter_share, percent)


def _check_seed(door: Door, seed_g: float, total_g: float) -> None:
    if seed_g == 0:
        fix = f"a levain without ripe seed never gets ripe; the nearest is {write(MASS, 0.005 * total_g)}"
        door.refuse("seed", "0 g", "more than nothing", fix)
    elif seed_g >= total_g:
        fix = "the total is seed and flour and water together; feed it, or use the seed as it is"
        door.refuse("seed", write(MASS, seed_g), f"less than the total, {write(MASS, total_g)}", fix)


def rate_steps(ripe: str, temperature_c: float, mark: str = "") -> tuple[Step, ...]:
    """Return the steps of a working that find the growth rate; ``mark`` is put behind the symbols."""
    curve = CURVES[ripe]
    x_k = curve.highest.value - temperature_c
    x, mu = f"x{mark}", f"mu{mark}"
    held = "how far below the temperature at which it stops; T is the levain's own, taken as held"
    values = {f"T_max_{ripe}": curve.highest.value, f"T{mark}": temperature_c}
    a, b, c = f"a_{ripe}", f"b_{ripe}", f"c_{ripe}"
    fitted = {a: curve.a.value, b: curve.b.value, c: curve.c.value, x: x_k}
    rate = growth_rate_per_h(temperature_c, curve)
    units = {"°C": f"T_max_{ripe} T{mark}", "1/(h K^b)": a, "1": b, "1/K": c}
    steps = (
        Step(x, f"T_max_{ripe} - T{mark}", values, x_k, "K", curve.highest.source, held),
        Step(mu, f"{a} * {x} ** {b} * exp(-{c} * {x})", fitted, rate, "1/h", curve.a.source, curve.organism),
    )
    return with_units(steps, units)


@frozen(init=False)
class LevainRecord:
    """One note of the bakery's own: a levain that was watched until it was ripe.

    Args:
        seed: the ripe seed that went in, with
        total: the whole levain, seed included; or instead of both
        starter: the ripe seed on the flour that was fed, with
        hydration: the water that was fed on that flour.
        temperature: the levain's own temperature, which it kept.
        time: from building it to its being ripe.
        ripe: what ripe meant: ``"peak"``, the top of the rise, or ``"sour"``, fully soured.

    Raises:
        FormulaError: for every bad argument at once.

    Example:
        >>> round(LevainRecord(seed="50 g", total="1 kg", temperature="24 °C", time="9 h").phi, 3)
        0.913
    """

    share_percent: float
    temperature_c: float
    time_h: float
    ripe: str

    def __init__(
        self,
        *,
        seed: Measure | None = None,
        total: Measure | None = None,
        starter: Measure | None = None,
        hydration: Measure | None = None,
        temperature: Measure,
        time: Measure,
        ripe: str = "peak",
    ) -> None:
        """Read every argument and tell of all the bad ones at once."""
        with Door(FormulaError) as door:
            read_ripe(door, ripe)
            seeded = read_dilution(door, seed, total, starter, hydration)
            temperature_c = read_warmth(door, temperature, ripe)
            time_h = door.read(TIME, time, "time")
            if time_h == 0:
                door.refuse("time", "0 h", "a time above zero")
        facts = {"share_percent": seeded.share_percent, "temperature_c": temperature_c, "time_h": time_h, "ripe": ripe}
        for name, value in facts.items():
            object.__setattr__(self, name, value)

    share: ClassVar[View] = View(SHARE, "share_percent", "The seed's share of the whole levain.", percent=True)
    temperature: ClassVar[View] = View(TEMPERATURE, "temperature_c", "The levain's own temperature.")
    time: ClassVar[View] = View(TIME, "time_h", "How long it took.")

    @property
    def phi(self) -> float:
        """The constant that this note alone shows."""
        rate = growth_rate_per_h(self.temperature_c, CURVES[self.ripe])
        return phi_from_log(self.share_percent / 100, rate, self.time_h)


@frozen
class LevainCalibration:
    """A bakery's own constant; hand it on as ``phi=``.

    ``phi`` is the geometric mean of the ``records``; ``scatter_percent`` is their standard deviation about it, None for
    a single one.  A time found with it lies between ``low_factor`` and ``high_factor`` times itself in 19 of 20 cases;
    with too few records these are those of print.
    """

    ripe: str
    records: tuple[LevainRecord, ...]
    phi: float
    scatter_percent: float | None
    low_factor: float
    high_factor: float
    cautions: tuple[Caution, ...] = ()

    @property
    def count(self) -> int:
        """How many records there are."""
        return len(self.records)

    scatter: ClassVar[OptionalView] = OptionalView(
        SHARE, "scatter_percent", "The standard deviation of the records about their mean.", percent=True
    )

    def __str__(self) -> str:
        """Return the constant with its scatter."""
        scatter = "" if self.scatter_percent is None else f" ± {shown(self.scatter_percent, 2)} %"
        return f"phi {shown(self.phi, 3)}{scatter} ({self.ripe}), of {self.count}"

    def working(self) -> Working:
        """Show the steps; the last line is phi."""
        steps: list[Step] = []
        found: dict[str, float] = {}
        for number, record in enumerate(self.records, 1):
            steps += rate_steps(self.ripe, record.temperature_c, f"_{number}")
            names = {f"share_{number}": record.share_percent, f"mu_{number}": steps[-1].value}
            names[f"t_{number}"] = record.time_h
            expression = f"ln(100 / share_{number}) / (mu_{number} * t_{number})"
            found[f"phi_{number}"] = record.phi
            steps.append(Step(f"phi_{number}", expression, names, record.phi, "1", note="share in % of the levain"))
        product = " * ".join(found)
        values = {**found, "n": float(self.count)}
        steps.append(Step("phi", f"({product}) ** (1 / n)", values, self.phi, "1", note="their geometric mean"))
        told = {"%": "share", "h": "t", "1": "n"}
        return Working(f"The levain's own constant, ripe meaning {self.ripe}", with_units(steps, told), self.cautions)


def calibrated(records: Iterable[LevainRecord]) -> LevainCalibration:
    """Find the bakery's own constant: phi = the geometric mean of ln(1 / s) / (mu t).

    Args:
        records: notes of one culture, all with the same meaning of ripe.

    Returns:
        ``phi`` with its ``scatter`` and the band that it makes, with a caution where there are fewer than 3 records, and
        one naming each that does not fit the others.  No record is left out.

    Raises:
        FormulaError: no records, or such as mean different things by ripe.

    Accuracy: the band is Student's t for 95 % on the logarithms, for the next levain; with few records it is wide.  It
    holds near the temperatures and seed shares of the records.

    Example:
        >>> log = [
        ...     LevainRecord(seed="50 g", total="1 kg", temperature="24 °C", time="9 h"),
        ...     LevainRecord(seed="50 g", total="1 kg", temperature="22 °C", time="11 h"),
        ...     LevainRecord(seed="80 g", total="1 kg", temperature="25 °C", time="7 h"),
        ... ]
        >>> print(calibrated(log))
        phi 0.918 ± 0.54 % (peak), of 3
    """
    taken = tuple(records)
    with Door(FormulaError) as door:
        for place, record in enumerate(taken, 1):
            if not isinstance(record, LevainRecord):  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
                door.refuse(f"record {place}", repr(record), "a LevainRecord")
        if not taken:
            door.refuse("records", "none", "at least one record", "note seed, total, temperature and time of a levain")
    meanings = sorted({record.ripe for record in taken})
    if len(meanings) > 1:
        raise FormulaError(Fault("records", " and ".join(meanings), "one meaning of ripe", "calibrate each by itself"))
    ripe, count = meanings[0], len(taken)
    logs = [math.log(record.phi) for record in taken]
    sigma = stdev(logs) if count > 1 else None
    low, high = BAND
    if sigma is not None and count >= LEAST_RECORDS:
        high = math.exp(student_t95(count - 1) * max(sigma, _LEAST_SIGMA) * math.sqrt(1 + 1 / count))
        low = 1 / high
    return LevainCalibration(
        ripe=ripe,
        records=taken,
        phi=math.exp(math.fsum(logs) / count),
        scatter_percent=None if sigma is None else 100 * (math.exp(sigma) - 1),
        low_factor=low,
        high_factor=high,
        cautions=_log_cautions(taken, logs),
    )


def _log_cautions(records: tuple[LevainRecord, ...], logs: list[float]) -> tuple[Caution, ...]:
    found: list[Caution] = []
    if len(records) < LEAST_RECORDS:
        text = f"{len(records)} of at least {LEAST_RECORDS} records: the scatter is not known, and the band is that of print, 40 %."
        found.append(Caution("too-few-records", text))
    for place in outlying(logs, _LEAST_SIGMA):
        record = records[place]
        text = (
            f"Record {place + 1} ({shown(record.share_percent, 3)} % seed, {shown(record.temperature_c)} °C,"
            f" {shown(record.time_h, 3)} h) does not fit the others: look it up, and leave it out if it is a slip."
        )
        found.append(Caution("outlying-record", text))
    return tuple(found)
