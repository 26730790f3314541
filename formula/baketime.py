"""The bake time of another size or shape, from one that is known: a rough start for the first trial.

Heat works its way from the skin to the core.  By conduction alone the time goes with the square of the way, so for like
shapes with mass^(2/3).  Real ovens lie between that and the plain way, for crust and colour take their time as well; the
band says how far.  What decides is the core's temperature.
"""

from __future__ import annotations

from typing import ClassVar, Final

from attrs import frozen

from .quantity import MASS, TIME, Door, Measure, View
from .readerunits import with_units
from .shape import Loaf, LoafShape, read_shape
from .sources import Constant
from .working import Caution, Step, Working

__all__ = ["CORE_DONE", "BakeTime", "bake_time", "scaled_time_h"]

CONDUCTION: Final = 2.0
"""The power of the thickness, by the law of heat conduction; 1 is where the skin holds the heat up instead."""
PLAIN: Final = 1.0
CORE_DONE: Final = (
    Constant(98.0, "°C", 0.0, "latvian-bakery", "core when done"),
    Constant(98.0, "°C", 0.0, "baking-trust-nz", "core out of the oven: about 98 °C"),
    Constant(96.1, "°C", 2.8, "home-baking-dozen", "200 to 210 °F"),
    Constant(96.0, "°C", 3.0, "enriched-core", "enriched breads, 93 to 99 °C; low authority"),
)
"""The core's temperature when bread is done, as it is printed."""
_LEAST_C: Final = min(constant.value - constant.uncertainty for constant in CORE_DONE)
_MOST_C: Final = max(constant.value + constant.uncertainty for constant in CORE_DONE)
_CAUTIONS: Final = (
    Caution(
        "check-core",
        f"A bake time for another loaf is rough: check the core, which is done at {_LEAST_C:.0f} to {_MOST_C:.0f} °C by the"
        " product.",
    ),
    Caution("burns", "Ovens, tins, steam and fresh bread burn: gloves, and a probe that is made for the oven."),
)


def scaled_time_h(known_h: float, ratio: float, exponent: float) -> float:
    """Return a bake time at another thickness, h: known * ratio^n.

    Args:
        known_h: the known time, h.
        ratio: the new half thickness over the known one.
        exponent: n, 2 for conduction.

    Example:
        >>> scaled_time_h(0.5, 2.0, 2.0)
        2.0
    """
    power: float = ratio**exponent
    return known_h * power


@frozen
class BakeTime:
    """A bake time reckoned from a known one: ``time`` by the exponent, from ``low`` to ``high``."""

    known_time_h: float
    known: Loaf
    new: Loaf
    exponent: float
    time_h: float
    low_h: float
    high_h: float
    cautions: tuple[Caution, ...] = ()

    known_time: ClassVar[View] = View(TIME, "known_time_h", "The known bake time.")
    time: ClassVar[View] = View(TIME, "time_h", "The bake time of the new loaf.")
    low: ClassVar[View] = View(TIME, "low_h", "The shorter end of the band.")
    high: ClassVar[View] = View(TIME, "high_h", "The longer end of the band.")

    @property
    def ratio(self) -> float:
        """The way from skin to core of the new loaf, over that of the known one."""
        return self.new.half_thickness_m / self.known.half_thickness_m

    def working(self) -> Working:
        """Show the steps; the last line is the bake time."""
        halves = {"half_new": self.new.half_thickness_m, "half_known": self.known.half_thickness_m}
        base = {"t_known": self.known_time_h, "r": self.ratio}
        low, high = sorted((PLAIN, CONDUCTION), key=lambda n: self.ratio**n)
        steps = (
            *self.known.thickness_steps("_known"),
            *self.new.thickness_steps("_new"),
            Step("r", "half_new / half_known", halves, self.ratio, "1", note="thicker or thinner"),
            Step("t_low", "t_known * r ** n_low", {**base, "n_low": low}, self.low_h, "h"),
            Step("t_high", "t_known * r ** n_high", {**base, "n_high": high}, self.high_h, "h"),
            Step("t", "t_known * r ** n", {**base, "n": self.exponent}, self.time_h, "h", note="2 is conduction alone"),
        )
        return Working("Bake time of another loaf", with_units(steps, {"h": "t_known", "1": "n"}), self.cautions)


def bake_time(
    time: Measure,
    *,
    known: Measure,
    new: Measure,
    shape: str | LoafShape = "round",
    new_shape: str | LoafShape | None = None,
    exponent: float = CONDUCTION,
) -> BakeTime:
    """Estimate the bake time of another size or shape: t_new = t_known * (thickness_new / thickness_known)^n.

    Args:
        time: the known bake time.
        known: the dough of the loaf that has it, a mass.
        new: the dough of the loaf to come, a mass.
        shape: the known loaf's shape: "round", "roll", "long", "flat", "ring" or "pan", or a ``LoafShape`` with its own
            proportions and density.
        new_shape: the new loaf's; the same if left out.
        exponent: n, from 1 to 2; 2 is heat conduction alone, and for like shapes the time goes with mass^(2/3).

    Raises:
        QuantityError: a bad time or mass, an unknown shape, an exponent out of its range; all of it at once.

    Range and accuracy: rough; the same oven at the same temperature, and like dough.  The band is that of n from 1 to 2.
    Small pieces, which a baker puts into a hotter oven, lie nearer the end of 1.  No published bake times were at hand to
    test it on.

    Source: the square law is that of conduction, cengel-heat-transfer.

    Example:
        >>> found = bake_time("40 min", known="1 kg", new="500 g")
        >>> round(60 * found.time_h, 1), round(60 * found.low_h, 1), round(60 * found.high_h, 1)
        (25.2, 25.2, 31.7)
    """
    with Door() as door:
        known_h = door.read_above_zero(TIME, time, "time")
        known_g = door.read_above_zero(MASS, known, "known")
        new_g = door.read_above_zero(MASS, new, "new")
        old_shape = read_shape(door, shape, "shape")
        to_shape = old_shape if new_shape is None else read_shape(door, new_shape, "new_shape")
        power = door.read_number(exponent, "exponent", PLAIN, CONDUCTION)
    old_loaf, new_loaf = Loaf(known_g, old_shape), Loaf(new_g, to_shape)
    ratio = new_loaf.half_thickness_m / old_loaf.half_thickness_m
    ends = sorted(scaled_time_h(known_h, ratio, end) for end in (PLAIN, CONDUCTION))
    return BakeTime(
        known_time_h=known_h,
        known=old_loaf,
        new=new_loaf,
        exponent=power,
        time_h=scaled_time_h(known_h, ratio, power),
        low_h=ends[0],
        high_h=ends[1],
        cautions=_CAUTIONS,
    )
