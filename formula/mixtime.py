"""Friction by the clock: a mixer that runs longer warms the dough more, at a rate for each minute.

Printed rates stand on either scale, that of the factor or that of the dough's own rise; which one is said by name.
"""

from __future__ import annotations

from typing import ClassVar, Final

from attrs import frozen

from .friction import RISE_RULE, Friction, Given, check_count, count_fault, friction_from_rise_k
from .quantity import DIFFERENCE, TIME, Door, Measure, View
from .readerunits import with_units
from .working import Caution, Step, Working

__all__ = ["MINUTE_RULE", "FrictionFromTime", "friction_from_minutes", "friction_from_minutes_k", "minutes_of"]

MINUTE_RULE: Final = "stand-mixer-per-minute"
"""Where a friction factor for each minute of mixing was read."""


def friction_from_minutes_k(rate_k_per_min: float, time_min: float) -> float:
    """Return the friction of a time of mixing: rate * minutes, on the scale on which the rate is said.

    Args:
        rate_k_per_min: friction for each minute, K/min.
        time_min: how long the mixer runs, min.

    Example:
        >>> friction_from_minutes_k(1.5, 8.0)
        12.0
    """
    return rate_k_per_min * time_min


def minutes_of(time_h: float) -> float:
    """Return a time in minutes; the grid of the reading, 12 digits of an hour, must not show in 8 minutes.

    Example:
        >>> minutes_of(0.133333333333)
        8.0
    """
    return float(f"{time_h * 60:.10g}")


@frozen
class FrictionFromTime(Friction):
    """The friction of a time of mixing, from its rate for each minute.

    ``given`` tells what the rate is said of: the factor of ``measured_count`` temperatures, or the dough's own rise.
    """

    rate_k_per_min: float
    time_h: float
    given: Given
    measured_count: int
    friction_k: float
    count: int
    cautions: tuple[Caution, ...] = ()

    time: ClassVar[View] = View(TIME, "time_h", "How long the mixer runs.")

    def for_count(self, count: int) -> FrictionFromTime:
        """Rescale the factor to another number of temperatures: friction * count / measured count.

        Raises:
            QuantityError: when ``count`` is no whole number of 2 or more.

        Example:
            >>> friction_from_minutes("10 min", rise="0.3 K").for_count(4).friction_k
            12.0
        """
        check_count(count)
        return _from_time(self.rate_k_per_min, self.time_h, self.given, self.measured_count, count)

    def working(self) -> Working:
        """Show the steps; the last line is the friction factor."""
        minutes = minutes_of(self.time_h)
        made_k = friction_from_minutes_k(self.rate_k_per_min, minutes)
        values = {"rate": self.rate_k_per_min, "minutes": minutes}
        by_rise = self.given == "rise"
        symbol, note = (
            ("rise", "the dough's own") if by_rise else ("friction", f"for {self.measured_count} temperatures")
        )
        steps = [Step(symbol, "rate * minutes", values, made_k, "K", MINUTE_RULE, note)]
        if by_rise:
            scale = {"N": float(self.count), "rise": made_k}
            steps.append(Step("friction", "N * rise", scale, self.friction_k, "K", RISE_RULE, "on the sum scale"))
        elif self.count != self.measured_count:
            both = {"friction": made_k, "M": float(self.count), "N": float(self.measured_count)}
            note = f"rescaled to {self.count} temperatures"
            steps.append(Step("friction_new", "friction * M / N", both, self.friction_k, "K", RISE_RULE, note))
        told = {"K/min": "rate", "min": "minutes", "1": "N M"}
        return Working("Friction from the time of mixing", with_units(steps, told), self.cautions)


def friction_from_minutes(
    time: Measure, *, friction: Measure | None = None, rise: Measure | None = None, count: int = 3
) -> FrictionFromTime:
    """Find the friction of a time of mixing from its rate for each minute: friction = rate * minutes.

    Args:
        time: how long the mixer runs.
        friction: the friction factor for each minute, on the scale of the sum of ``count`` temperatures.
        rise: instead of ``friction``: how much the dough itself warms in each minute.
        count: N, the number of temperatures in the sum, that of the water included.

    Raises:
        QuantityError: for every bad argument at once; both or neither of ``friction`` and ``rise``.

    Accuracy: a rate belongs to one mixer at one speed with one size of dough; printed ones (2 °F of factor a minute for a
    stand mixer, 0.3 to 0.5 K of rise a minute for a machine) are a start until trials have been made.

    Example:
        >>> round(friction_from_minutes("8 min", friction="2 °F").friction_k * 1.8, 6)
        16.0
    """
    given: Given = "friction" if rise is None else "rise"
    with Door() as door:
        time_h = door.read(TIME, time, "time")
        if (friction is None) == (rise is None):
            got = "neither" if friction is None else "both"
            door.refuse("friction", got, "one of friction and rise, for each minute", "give one of the two")
        rates = [
            door.read(DIFFERENCE, rate, name)
            for name, rate in (("friction", friction), ("rise", rise))
            if rate is not None
        ]
        fault = count_fault(count)
        if fault is not None:
            door.faults.append(fault)
    return _from_time(rates[0], time_h, given, count, count)


def _from_time(rate_k_per_min: float, time_h: float, given: Given, measured_count: int, count: int) -> FrictionFromTime:
    made_k = friction_from_minutes_k(rate_k_per_min, minutes_of(time_h))
    if given == "rise":
        friction_k = friction_from_rise_k(made_k, count)
    else:
        friction_k = made_k if count == measured_count else made_k * count / measured_count
    return FrictionFromTime(rate_k_per_min, time_h, given, measured_count, friction_k, count)
