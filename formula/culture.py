"""The levain: when it is ripe, and how much ripe culture to seed it with so that it is ripe in time.

Two meanings of ripe are kept apart, for they follow two organisms: the top of the rise follows the yeast, full souring
follows the bacteria.  The temperature is always the levain's own, and taken as held: a levain set at 26 °C in a room of
20 °C is not one at 26 °C.  Every time comes with its band; see ``docs/levain.md`` for what the printed tables say of it.
"""

from __future__ import annotations

from typing import ClassVar, Final

from attrs import frozen

from .levainlog import LevainCalibration, rate_steps, read_dilution
from .quantity import MASS, SHARE, TIME, Door, Measure, OptionalView, View
from .readerunits import with_units
from .ripening import Ripening, advised_share, as_facts, log_cautions, read_ripening
from .souring import starter_from_share
from .working import Caution, Step, Working, shown

__all__ = ["LevainSeed", "LevainTime", "levain_seed", "levain_time"]

_UNITS: Final = {"%": "starter hydration salt", "g": "seed total", "1/h": "mu", "h": "t", "1": "phi f"}


@frozen
class LevainTime(Ripening):
    """When a levain is ripe: after ``time``, between ``low`` and ``high``; ``share`` is the seed's part of the whole."""

    share_percent: float
    seed_g: float | None
    total_g: float | None
    starter_percent: float | None
    hydration_percent: float | None
    time_h: float
    low_h: float
    high_h: float
    cautions: tuple[Caution, ...] = ()

    share: ClassVar[View] = View(SHARE, "share_percent", "The seed's share of the whole levain.", percent=True)
    seed: ClassVar[OptionalView] = OptionalView(MASS, "seed_g", "The ripe seed, if it is known by weight.")
    total: ClassVar[OptionalView] = OptionalView(MASS, "total_g", "The whole levain, if it is known by weight.")
    starter: ClassVar[OptionalView] = OptionalView(
        SHARE, "starter_percent", "The seed on the flour that is fed, if it was said so.", percent=True
    )
    hydration: ClassVar[OptionalView] = OptionalView(
        SHARE, "hydration_percent", "The water fed on the flour fed, if it was said.", percent=True
    )
    time: ClassVar[View] = View(TIME, "time_h", "The time to ripeness.")
    low: ClassVar[View] = View(TIME, "low_h", "The earliest that the band allows.")
    high: ClassVar[View] = View(TIME, "high_h", "The latest that the band allows.")

    def __str__(self) -> str:
        """Return the time with its band."""
        band = f"{shown(self.low_h, 3)} to {shown(self.high_h, 3)} h"
        return f"ripe ({self.ripe}) after {shown(self.time_h, 3)} h, {band}, if the levain stays at {shown(self.temperature_c, 3)} °C"

    def working(self) -> Working:
        """Show the steps; the last line is the time."""
        share = self.share_percent
        if self.starter_percent is not None and self.hydration_percent is not None:
            values = {"starter": self.starter_percent, "hydration": self.hydration_percent, "salt": self.salt_percent}
            expression = "100 * starter / (100 + hydration + salt + starter)"
            steps = [Step("share", expression, values, share, "%", note="from on the flour to of the whole levain")]
        else:
            values = {"seed": self.seed_g or 0.0, "total": self.total_g or 0.0}
            steps = [Step("share", "100 * seed / total", values, share, "%", note="of the whole levain")]
        steps += [*rate_steps(self.ripe, self.temperature_c), self.phi_step()]
        values = {"share": share, "phi": self.phi, "mu": self.rate_per_h}
        expression = "ln(100 / share) / (phi * mu)"
        for name, factor, value in (("low", self.low_factor, self.low_h), ("high", self.high_factor, self.high_h)):
            times = {f"f_{name}": factor, **values}
            steps.append(Step(f"t_{name}", f"f_{name} * {expression}", times, value, "h", note="end of the band"))
        steps.append(Step("t", expression, values, self.time_h, "h", self.curve.phi.source))
        return Working(f"When the levain is ripe ({self.ripe})", with_units(steps, _UNITS), self.cautions)


def levain_time(
    *,
    seed: Measure | None = None,
    total: Measure | None = None,
    starter: Measure | None = None,
    hydration: Measure | None = None,
    temperature: Measure,
    ripe: str = "peak",
    phi: float | LevainCalibration | None = None,
    salt: Measure | None = None,
) -> LevainTime:
    """Find when a levain is ripe: t = ln(1 / s) / (phi mu(T)), s = seed / total.

    Args:
        seed: the ripe seed, with
        total: the whole levain, seed and flour and water together; or instead of the seed
        starter: the ripe seed on the flour that is fed, as bakers count it, with
        hydration: the water fed on that flour, such as ``"100 %"``.
        temperature: the levain's own, which it keeps; not the room's.
        ripe: ``"peak"``, the top of the rise, or ``"sour"``, fully soured.
        phi: the culture's own constant, from ``calibrated``, or a number; left out, that of the printed tables.
        salt: salt on the levain's flour, for its caution; it counts in the total only with ``starter``.

    Returns:
        ``time`` with its band ``low`` to ``high`` (40 % either way, or the log's own), and ``share``.

    Raises:
        QuantityError: for every bad argument at once; no seed; a temperature at which the curve says nothing (below 2 °C,
            above 33 °C for the rise and 34 °C for the sour); salt that stops the bacteria.

    Accuracy: printed times lie within 40 % of it, between 20 and 30 °C for the rise and 20 and 32 °C for the sour, for
    seeds of 0.5 to 40 % of the levain, with the exceptions listed in ``docs/levain.md``; outside, a caution says so.

    Source: levain-ripening-fit.

    Example:
        >>> made = levain_time(seed="16 g", total="360 g", temperature="21 °C", ripe="peak")
        >>> print(made)
        ripe (peak) after 14.5 h, 8.68 to 20.3 h, if the levain stays at 21 °C
    """
    with Door() as door:
        ripening = read_ripening(door, temperature, ripe, phi, salt)
        seeded = read_dilution(door, seed, total, starter, hydration, ripening.salt_percent / 100)
    share = seeded.share_percent / 100
    time_h = ripening.time_h_for(share)
    return LevainTime(
        **as_facts(ripening),
        share_percent=seeded.share_percent,
        seed_g=seeded.seed_g,
        total_g=seeded.total_g,
        starter_percent=seeded.starter_percent,
        hydration_percent=seeded.hydration_percent,
        time_h=time_h,
        low_h=ripening.low_factor * time_h,
        high_h=ripening.high_factor * time_h,
        cautions=(*ripening.cautions_for(share), *log_cautions(phi)),
    )


@frozen
class LevainSeed(Ripening):
    """How much ripe seed makes a levain ripe in time: ``seed`` in ``total``, and between ``low`` and ``high``.

    ``low`` is enough if the culture is as fast as the band allows, ``high`` is needed if it is as slow.  ``starter``,
    ``flour`` and ``water`` are known where the hydration was said.
    """

    total_g: float
    time_h: float
    share_percent: float
    hydration_percent: float | None
    starter_percent: float | None
    flour_g: float | None
    water_g: float | None
    seed_g: float
    low_g: float
    high_g: float
    cautions: tuple[Caution, ...] = ()

    total: ClassVar[View] = View(MASS, "total_g", "The whole levain.")
    time: ClassVar[View] = View(TIME, "time_h", "The time to ripeness.")
    share: ClassVar[View] = View(SHARE, "share_percent", "The seed's share of the whole levain.", percent=True)
    hydration: ClassVar[OptionalView] = OptionalView(
        SHARE, "hydration_percent", "The water fed on the flour fed, if it was said.", percent=True
    )
    starter: ClassVar[OptionalView] = OptionalView(
        SHARE, "starter_percent", "The seed on the flour that is fed, as bakers count it.", percent=True
    )
    flour: ClassVar[OptionalView] = OptionalView(MASS, "flour_g", "The flour to feed.")
    water: ClassVar[OptionalView] = OptionalView(MASS, "water_g", "The water to feed.")
    seed: ClassVar[View] = View(MASS, "seed_g", "The ripe seed.")
    low: ClassVar[View] = View(MASS, "low_g", "The seed for a culture as fast as the band allows.")
    high: ClassVar[View] = View(MASS, "high_g", "The seed for a culture as slow as the band allows.")

    def __str__(self) -> str:
        """Return the seed with its band."""
        band = f"{shown(self.low_g, 3)} to {shown(self.high_g, 3)} g"
        share = f"{shown(self.share_percent, 3)} % of the levain"
        return f"{shown(self.seed_g, 3)} g of ripe seed ({share}), {band}, if the levain stays at {shown(self.temperature_c, 3)} °C"

    def working(self) -> Working:
        """Show the steps; the last line is the seed."""
        steps = [*rate_steps(self.ripe, self.temperature_c), self.phi_step()]
        values = {"phi": self.phi, "mu": self.rate_per_h, "t": self.time_h}
        source = self.curve.phi.source
        note = "of the whole levain"
        steps.append(Step("share", "100 * exp(-phi * mu * t)", values, self.share_percent, "%", source, note))
        share = {"share": self.share_percent}
        if self.hydration_percent is not None and self.starter_percent is not None:
            fed = {"hydration": self.hydration_percent, "salt": self.salt_percent}
            expression, note = "share * (100 + hydration + salt) / (100 - share)", "on the flour that is fed"
            steps.append(Step("starter", expression, {**share, **fed}, self.starter_percent, "%", note=note))
        whole = {"total": self.total_g}
        for name, factor, value in (("low", self.low_factor, self.low_g), ("high", self.high_factor, self.high_g)):
            expression = f"total * exp(-phi * mu * t / f_{name})"
            numbers = {**whole, **values, f"f_{name}": factor}
            steps.append(Step(f"seed_{name}", expression, numbers, value, "g", note="end of the band"))
        steps.append(Step("seed", "total * share / 100", {**whole, **share}, self.seed_g, "g"))
        title = f"Seed for a levain that is ripe ({self.ripe}) in time"
        return Working(title, with_units(steps, _UNITS), self.cautions)


def levain_seed(
    *,
    total: Measure,
    time: Measure,
    temperature: Measure,
    ripe: str = "peak",
    hydration: Measure | None = None,
    phi: float | LevainCalibration | None = None,
    salt: Measure | None = None,
) -> LevainSeed:
    """Find the ripe seed that makes a levain ripe after a time: s = exp(-phi mu(T) t), seed = s total.

    Args:
        total: the whole levain, seed and flour and water together.
        time: from building it to its being ripe.
        temperature: the levain's own, which it keeps; not the room's.
        ripe: ``"peak"``, the top of the rise, or ``"sour"``, fully soured.
        hydration: the water fed on the flour fed, to have flour, water and the starter on flour as well.
        phi: the culture's own constant, from ``calibrated``, or a number; left out, that of the printed tables.
        salt: salt on the levain's flour, for its caution.

    Returns:
        ``seed`` with its band ``low`` to ``high``, its ``share`` of the levain, and with a hydration the ``starter`` on
        the flour, ``flour`` and ``water``.

    Raises:
        QuantityError: for every bad argument at once, as ``levain_time`` does; a time that asks for less than 0.5 or more
            than 40 % of seed, with the nearest time and temperature that work.

    Accuracy: as for ``levain_time``.  The seed stands in an exponent, so that 40 % in the time is a large factor in the
    seed, and a small mistake in the seed is a very small one in the time.

    Source: levain-ripening-fit.

    Example:
        >>> made = levain_seed(total="12 kg", time="10 h 30 min", temperature="22 °C", hydration="100 %")
        >>> round(made.seed_g), round(made.share_percent, 2), round(made.starter_percent, 1)
        (917, 7.64, 16.5)
    """
    with Door() as door:
        total_g = door.read(MASS, total, "total")
        time_h = door.read(TIME, time, "time")
        hydration_share = None if hydration is None else door.read(SHARE, hydration, "hydration")
        ripening = read_ripening(door, temperature, ripe, phi, salt)
        if total_g == 0:
            door.refuse("total", "0 g", "a levain of more than nothing")
        if not door.faults:
            advised_share(door, ripening, time_h)
    share = ripening.share_for(time_h)
    starter = flour_g = water_g = None
    if hydration_share is not None:
        starter = 100 * starter_from_share(share, hydration_share, ripening.salt_percent / 100)
        flour_g = (1 - share) * total_g / (1 + hydration_share + ripening.salt_percent / 100)
        water_g = flour_g * hydration_share
    return LevainSeed(
        **as_facts(ripening),
        total_g=total_g,
        time_h=time_h,
        share_percent=100 * share,
        hydration_percent=None if hydration_share is None else 100 * hydration_share,
        starter_percent=starter,
        flour_g=flour_g,
        water_g=water_g,
        seed_g=share * total_g,
        low_g=total_g * ripening.share_for(time_h / ripening.low_factor),
        high_g=total_g * ripening.share_for(time_h / ripening.high_factor),
        cautions=(*ripening.cautions_for(share), *log_cautions(phi)),
    )
