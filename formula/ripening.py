"""Ripening: what decides how fast a levain gets ripe, where that is known, and where it is not.

A ``Ripening`` is a meaning of ripe, the levain's own temperature and the culture's constant with its band.  Everything
that print does not cover comes with a caution; what the curve says nothing of is refused, with the nearest that works.
"""

from __future__ import annotations

import math
from typing import Any, ClassVar, Final

from attrs import asdict, frozen

from .levainlog import BAND, LevainCalibration, read_ripe, read_warmth
from .quantity import SHARE, TEMPERATURE, TIME, Door, Measure, View, write
from .sources import Constant
from .souring import (
    CURVES,
    LEAST_SHARE,
    MOST_SHARE,
    GrowthCurve,
    growth_rate_per_h,
    optimum_c,
    ripening_time_h,
    seed_share_after,
    temperature_for_rate_c,
)
from .working import Caution, Step, shown

__all__ = ["MOST_BUILDS", "Ripening", "advised_share", "as_facts", "log_cautions", "read_ripening"]

SALT_FELT: Final = Constant(0.01, "1", 0.0, "common-practice", "salt on levain flour that is no longer passed over")
SALT_STOPS_SOUR: Final = Constant(
    0.04, "1", 0.0, "brandt-2004", "abstract: 4 % on flour stops the bacteria, not the yeast"
)
RICH_SHARE: Final = Constant(0.2, "1", 0.05, "levain-ripening-fit", "San Francisco sponges, 25 and 40 % seed")
_GIVEN: Final = "given"
_PRINT: Final = "printed tables"
MOST_BUILDS: Final = 12
"""More builds than this nobody makes of one levain."""
MOST_PHI: Final = 20.0
"""A constant above this is a slip of the decimal point."""


@frozen
class Ripening:
    """What decides how fast a levain ripens; both results and every build stand on it.

    ``low_factor`` and ``high_factor`` times a time found are its band; ``phi_from`` says where phi comes from.
    """

    ripe: str
    temperature_c: float
    phi: float
    low_factor: float
    high_factor: float
    phi_from: str
    salt_percent: float

    temperature: ClassVar[View] = View(TEMPERATURE, "temperature_c", "The levain's own temperature, taken as held.")
    salt: ClassVar[View] = View(SHARE, "salt_percent", "Salt on the levain's flour.", percent=True)

    @property
    def curve(self) -> GrowthCurve:
        """The growth curve of the organism that tells."""
        return CURVES[self.ripe]

    @property
    def rate_per_h(self) -> float:
        """The growth rate, 1/h."""
        return growth_rate_per_h(self.temperature_c, self.curve)

    def time_h_for(self, share: float) -> float:
        """Return the time to ripeness for a seed share, h."""
        return ripening_time_h(share, self.rate_per_h, self.phi)

    def share_for(self, time_h: float) -> float:
        """Return the seed share for a time to ripeness."""
        return seed_share_after(time_h, self.rate_per_h, self.phi)

    def phi_step(self) -> Step:
        """Return the step of a working that says where phi comes from."""
        source = self.curve.phi.source if self.phi_from == _PRINT else ""
        return Step(
            "phi", "phi", {"phi": self.phi}, self.phi, "1", source, f"dough over broth; {self.phi_from}", {"phi": "1"}
        )

    def cautions_for(self, share: float) -> tuple[Caution, ...]:
        """Return what to know about this ripening with a seed share."""
        return tuple(self._cautions(share))

    def _cautions(self, share: float) -> list[Caution]:
        found: list[Caution] = []
        curve, here = self.curve, f"{shown(self.temperature_c, 3)} °C"
        if self.temperature_c < curve.coldest.value:
            text = f"{here} is below the {shown(curve.coldest.value)} °C of the printed times: the curve alone speaks, and nothing checks it."
            found.append(Caution("cold-levain", text))
        if self.temperature_c > curve.warmest.value:
            text = f"{here} is above {shown(curve.warmest.value)} °C: printed sours this warm are ripe in as little as half the time; look early."
            found.append(Caution("hot-levain", text))
        if not LEAST_SHARE.value <= share <= MOST_SHARE.value:
            text = (
                f"A seed of {shown(100 * share, 3)} % of the levain stands in no printed table, which have 0.5 to 40 %."
            )
            found.append(Caution("unusual-seed", text))
        if self.ripe == "sour" and share >= RICH_SHARE.value:
            text = f"A sour with {shown(100 * share, 3)} % seed is held longer in print than growth alone asks for, up to 1.7 times."
            found.append(Caution("rich-sour", text))
        if self.salt_percent > 100 * SALT_FELT.value:
            text = f"{shown(self.salt_percent, 3)} % salt on the levain's flour slows it, by up to 24 h at 2 %; no number here counts it."
            found.append(Caution("salted-levain", text))
        return found


def read_ripening(
    door: Door,
    temperature: Measure,
    ripe: str,
    phi: float | LevainCalibration | None,
    salt: Measure | None = None,
    where: str = "",
) -> Ripening:
    """Read what decides how fast a levain ripens; everything bad is noted at the door, ``where`` set before its name."""
    known = read_ripe(door, ripe, f"{where}ripe")
    temperature_c = read_warmth(door, temperature, ripe, f"{where}temperature")
    salt_share = 0.0 if salt is None else door.read(SHARE, salt, f"{where}salt")
    if known and ripe == "sour" and salt_share >= SALT_STOPS_SOUR.value:
        fix = 'salt it later, or ask for the top of the rise with ripe="peak"'
        door.refuse(
            f"{where}salt", write(SHARE, salt_share), "less than 4 % of the flour, which stops the bacteria", fix
        )
    low, high = BAND
    value, told = CURVES[ripe].phi.value if known else math.nan, _PRINT
    if isinstance(phi, LevainCalibration):
        value, low, high, told = phi.phi, phi.low_factor, phi.high_factor, f"own log of {phi.count}"
        if known and phi.ripe != ripe:
            door.refuse(
                f"{where}phi", f"a calibration for {phi.ripe!r}", f"one for {ripe!r}", "calibrate each by itself"
            )
    elif phi is not None:
        good = isinstance(phi, (int, float)) and not isinstance(phi, bool) and 0 < phi <= MOST_PHI  # pyright: ignore[reportUnnecessaryIsInstance]
        value, told = (float(phi), _GIVEN) if good else (math.nan, _GIVEN)
        if not good:
            expected = f"a number above 0 and at most {shown(MOST_PHI)}, or what calibrated() gives"
            door.refuse(f"{where}phi", repr(phi), expected, "leave it out for that of the printed tables")
    return Ripening(
        ripe=ripe,
        temperature_c=temperature_c,
        phi=value,
        low_factor=low,
        high_factor=high,
        phi_from=told,
        salt_percent=100 * salt_share,
    )


def advised_share(
    door: Door, ripening: Ripening, time_h: float, where: str = "time", whole_h: float | None = None
) -> float:
    """Return the seed share for a time, noting at the door one that no printed levain has, with the nearest that works.

    ``whole_h`` is the time of all builds together, where this is one of several.
    """
    share = ripening.share_for(time_h)
    if LEAST_SHARE.value <= share <= MOST_SHARE.value:
        return share
    curve, here = ripening.curve, f"{shown(ripening.temperature_c, 3)} °C"
    # Rounded towards the inside, so that the advice works.
    least_h = math.ceil(ripening.time_h_for(MOST_SHARE.value) * 100) / 100
    most_h = math.floor(ripening.time_h_for(LEAST_SHARE.value) * 100) / 100
    expected = f"{shown(least_h)} h to {shown(most_h)} h at {here}, for a seed of 40 % to 0.5 %"
    too_long = share < LEAST_SHARE.value
    edge = LEAST_SHARE.value if too_long else MOST_SHARE.value
    needed = -math.log(edge) / (ripening.phi * time_h) if time_h > 0 else math.inf
    found_c = temperature_for_rate_c(needed, curve)
    if too_long:
        builds = math.ceil(time_h / most_h) if time_h < MOST_BUILDS * most_h else MOST_BUILDS
        cooler = "" if found_c is None else f", or keep it at {shown(math.floor(found_c * 10) / 10)} °C"
        fix = f"make it in {builds} builds{cooler}" if time_h <= builds * most_h else "begin later"
    elif found_c is not None and math.ceil(found_c * 10) / 10 <= optimum_c(curve):
        fix = f"keep it at {shown(math.ceil(found_c * 10) / 10)} °C, or begin earlier"
    else:
        fastest = growth_rate_per_h(optimum_c(curve), curve)
        least = math.ceil(ripening_time_h(MOST_SHARE.value, fastest, ripening.phi) * 100) / 100
        fix = f"no temperature is fast enough; the least is {shown(least)} h, at {shown(optimum_c(curve), 3)} °C"
    if not too_long and whole_h is not None and whole_h > time_h:
        fix = f"{fix}; at {here} {shown(whole_h)} h are enough for {max(1, int(whole_h / least_h))} of equal time"
    door.refuse(where, write(TIME, time_h), expected, fix)
    return share


def as_facts(ripening: Ripening) -> dict[str, Any]:
    """Return the fields of a ripening by name, for a result that stands on it."""
    return asdict(ripening)


def log_cautions(phi: float | LevainCalibration | None) -> tuple[Caution, ...]:
    """Return what a calibration wants to be known wherever it is used."""
    return phi.cautions if isinstance(phi, LevainCalibration) else ()
