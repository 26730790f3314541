"""Growth: how much the yeast in a dough multiplies while it ferments.

The counts in print are few and disagree: 29 to 88 % more in six hours in one text, 35 % in a straight dough after three
in another, "almost none" in a third.  The model here fits the first: after a lag the yeast grows, and what it can gain is
a share of the flour, not of itself, so that a small dose multiplies and a large one hardly does.
"""

from __future__ import annotations

import math
from typing import ClassVar, Final

from attrs import frozen

from .errors import UnknownNameError
from .quantity import SHARE, TEMPERATURE, TIME, Door, Measure, View, write
from .rates import GasCurve
from .readerunits import with_units
from .sources import Constant
from .working import Caution, Step, Working, shown
from .yeast import yeast_form

__all__ = [
    "GAIN_PERCENT",
    "GAS_CURVE",
    "GROWTH_CURVE",
    "GROWTH_PER_H",
    "LAG_H",
    "REFERENCE_C",
    "YeastGrowth",
    "growth_sum_h",
    "growth_z",
    "read_dose",
    "read_growth",
    "yeast_growth",
]

_FIT: Final = "growth-in-dough"
GROWTH_PER_H: Final = Constant(
    0.336, "1/h", 0.05, _FIT, "growth at 27 °C, twice as much in 2.06 h; fitted to five counts"
)
LAG_H: Final = Constant(2.79, "h", 0.5, _FIT, "lag at 27 °C; fitted to the same counts")
GAIN_PERCENT: Final = Constant(
    0.593, "%", 0.1, _FIT, "the most it gains, in percent of flour; fitted to the same counts"
)
REFERENCE_C: Final = Constant(27.0, "°C", 0.0, "dough-yeast-counts", "the counts were made at 27 °C")
COLDEST_C: Final = Constant(
    2.8, "°C", 1.5, "salvado-2011", "middle of 1.3 to 4.3 °C, the lowest of the genus; abstract"
)
BEST_C: Final = Constant(32.3, "°C", 0.5, "salvado-2011", "growth is fastest; abstract")
HOTTEST_C: Final = Constant(45.4, "°C", 0.5, "salvado-2011", "growth ends; abstract")

GROWTH_CURVE: Final = GasCurve(
    write(TEMPERATURE, COLDEST_C.value), write(TEMPERATURE, BEST_C.value), write(TEMPERATURE, HOTTEST_C.value)
)
"""The same shape of curve as for gas, with the temperatures of growth."""
GAS_CURVE: Final = GasCurve()


def growth_z(grown_h: float, dose_percent: float, growth: float = 1.0) -> float:
    """Return by what part the yeast has grown: z = (E - 1) / (1 + b E), E = exp(mu t (1 + b)), b = dose / gain.

    It solves dY/dt = mu Y (1 - (Y - Y0) / G) from the end of the lag on, with Y = Y0 (1 + z).

    Args:
        grown_h: t, hours at 27 °C since the end of the lag; 0 or less is no growth.
        dose_percent: Y0, fresh yeast in percent of the flour it ferments, above 0.
        growth: what mu is multiplied with, 0 (none) to 1 (as counted).

    Accuracy: the five counts it was fitted to within 0.3 points, with three constants; one count held out, 49 %, comes out
    as 54 %; of two others, made in bakeries, growth begins earlier, and they are missed.

    Example:
        >>> round(growth_z(6.0 - 2.79, 1.0), 3)
        0.543
    """
    if grown_h <= 0 or growth <= 0:
        return 0.0
    b = dose_percent / GAIN_PERCENT.value
    exponent = GROWTH_PER_H.value * growth * grown_h * (1 + b)
    # Multiplied with exp(-exponent) above and below, so that nothing overflows after weeks.
    left = math.exp(-exponent)
    return -math.expm1(-exponent) / (left + b)


def growth_sum_h(grown_h: float, dose_percent: float, growth: float = 1.0) -> float:
    """Return the part grown, summed up over the hours: the integral of ``growth_z`` from the end of the lag.

    = {-x + (1 + 1 / b) ln[(1 + b E) / (1 + b)]} / lambda, with lambda = mu (1 + b) and x = lambda t.

    Args:
        grown_h: t, hours at 27 °C since the end of the lag.
        dose_percent: fresh yeast in percent of the flour it ferments, above 0.
        growth: 0 (none) to 1 (as counted).

    Example:
        >>> round(growth_sum_h(3.21, 1.0), 3)
        1.139
    """
    if grown_h <= 0 or growth <= 0:
        return 0.0
    b = dose_percent / GAIN_PERCENT.value
    per_h = GROWTH_PER_H.value * growth * (1 + b)
    x = per_h * grown_h
    if x < 1e-3:
        # z = (1 - e^-x) / (e^-x + b) as a series: what follows would lose its digits.
        c = 1 / (1 + b)
        return (c * x**2 / 2 + c * (c - 0.5) * x**3 / 3 + c * (c * c - c + 1 / 6) * x**4 / 4) / per_h
    log = math.log1p(b * math.expm1(x) / (1 + b)) if x < 1 else x + math.log((math.exp(-x) + b) / (1 + b))
    return (-x + (1 + 1 / b) * log) / per_h


def read_dose(door: Door, dose: Measure, form: str, where: str) -> tuple[float, str, float]:
    """Read a dose and its form: the dose in percent of the flour, the form's name, and its weight per 1 of fresh."""
    percent = float(f"{100 * door.read(SHARE, dose, where):.12g}")
    if percent == 0:
        door.refuse(where, write(SHARE, 0.0), "a dose above zero", "yeast that is not there raises nothing")
    try:
        found = yeast_form(form, f"form of {where}")
    except UnknownNameError as error:
        door.faults.extend(error.faults)
        return percent, "", math.nan
    return percent, found.name, found.factor.value


@frozen
class YeastGrowth:
    """How much yeast there is after a time at one temperature: ``yeast``, ``increase`` on what was put in."""

    dose_percent: float
    form: str
    factor: float
    time_h: float
    temperature_c: float
    growth: float
    lag_h: float
    increase_percent: float
    yeast_percent: float
    cautions: tuple[Caution, ...] = ()

    dose: ClassVar[View] = View(SHARE, "dose_percent", "The yeast put in.", percent=True)
    time: ClassVar[View] = View(TIME, "time_h", "The time it had.")
    temperature: ClassVar[View] = View(TEMPERATURE, "temperature_c", "The dough's temperature.")
    lag: ClassVar[View] = View(TIME, "lag_h", "The time at this temperature before growth begins.")
    increase: ClassVar[View] = View(
        SHARE, "increase_percent", "What it gained, in percent of what was put in.", percent=True
    )
    yeast: ClassVar[View] = View(SHARE, "yeast_percent", "The yeast there is then, in the same form.", percent=True)

    def working(self) -> Working:
        """Show the steps; the last line is the increase in percent."""
        clock = GROWTH_CURVE.at(self.temperature_c) / GROWTH_CURVE.at(REFERENCE_C.value)
        grown_h = max(0.0, self.time_h - self.lag_h) * clock if clock else 0.0
        fresh, b = self.dose_percent / self.factor, self.dose_percent / self.factor / GAIN_PERCENT.value
        exponent = GROWTH_PER_H.value * self.growth * grown_h * (1 + b)
        clocked = {"growth_T": GROWTH_CURVE.at(self.temperature_c), "growth_27": GROWTH_CURVE.at(REFERENCE_C.value)}
        lagged: dict[str, float] = {"t": self.time_h, "lag": self.lag_h, "r": clock}
        begun = self.time_h > self.lag_h
        ends = {"increase": self.increase_percent}
        if not begun or not clock or not self.growth:
            note = "the lag is not over" if not begun else "no growth"
            stays = Step("increase", "increase", ends, 0.0, "%", note=note)
            return Working("Growth of yeast", with_units([stays], {}), self.cautions)
        steps = (
            Step("r", "growth_T / growth_27", clocked, clock, "1", "rosso-1993", "growth beside that at 27 °C"),
            Step("grown", "(t - lag) * r", lagged, grown_h, "h", note="hours at 27 °C after the lag"),
            Step("fresh", "dose / factor", {"dose": self.dose_percent, "factor": self.factor}, fresh, "%"),
            Step("b", "fresh / gain", {"fresh": fresh, "gain": GAIN_PERCENT.value}, b, "1", _FIT),
            Step(
                "x",
                "mu * growth * grown * (1 + b)",
                {"mu": GROWTH_PER_H.value, "growth": self.growth, "grown": grown_h, "b": b},
                exponent,
                "1",
                _FIT,
            ),
            Step(
                "increase",
                "100 * (1 - exp(-x)) / (exp(-x) + b)",
                {"x": exponent, "b": b},
                self.increase_percent,
                "%",
            ),
        )
        told = {"1/h": "growth_T growth_27 mu", "h": "t lag", "%": "dose gain", "1": "factor growth"}
        return Working("Growth of yeast", with_units(steps, told), self.cautions)


def yeast_growth(
    dose: Measure, *, time: Measure, temperature: Measure = "27 °C", form: str = "fresh", growth: float = 1.0
) -> YeastGrowth:
    """Find how much the yeast in a dough grows: z = (E - 1) / (1 + b E), E = exp(mu t (1 + b)), b = dose / gain.

    Args:
        dose: yeast on the flour it ferments, a share.
        time: from the end of mixing on.
        temperature: the dough's, which stays.
        form: the form of the yeast; see ``yeast_form``.
        growth: 0 (none) to 1 (as counted), a plain number.

    Returns:
        ``increase`` in percent of what was put in, ``yeast`` there is then, and the ``lag`` at this temperature.

    Raises:
        QuantityError: for every bad argument at once; a dose or a time of zero.
        UnknownNameError: when the form is unknown and nothing else is wrong.

    Accuracy: counts of yeast in dough are few and disagree; see ``growth_z``.  The lag is taken to run with the gas curve,
    growth with that of growing yeast; away from 27 °C nothing was counted in dough.

    Example:
        >>> round(yeast_growth("1 %", time="6 h").increase_percent, 1)
        54.3
    """
    with Door() as door:
        dose_percent, name, factor = read_dose(door, dose, form, "dose")
        time_h = door.read(TIME, time, "time")
        temperature_c = door.read(TEMPERATURE, temperature, "temperature")
        read_growth(door, growth)
        if time_h == 0:
            door.refuse("time", write(TIME, time_h), "a time above zero")
    fresh_percent = dose_percent / factor
    gas = GAS_CURVE.at(temperature_c) / GAS_CURVE.at(REFERENCE_C.value)
    clock = GROWTH_CURVE.at(temperature_c) / GROWTH_CURVE.at(REFERENCE_C.value)
    lag_h = LAG_H.value / gas if gas else math.inf
    grown_h = max(0.0, time_h - lag_h) * clock
    increase_percent = 100 * growth_z(grown_h, fresh_percent, growth)
    return YeastGrowth(
        dose_percent=dose_percent,
        form=name,
        factor=factor,
        time_h=time_h,
        temperature_c=temperature_c,
        growth=float(growth),
        lag_h=lag_h,
        increase_percent=increase_percent,
        yeast_percent=dose_percent * (1 + increase_percent / 100),
        cautions=_cautions(temperature_c, fresh_percent),
    )


def read_growth(door: Door, growth: object) -> None:
    """Refuse what is no growth multiplier."""
    if isinstance(growth, bool) or not isinstance(growth, (int, float)) or not 0 <= growth <= 1:
        door.refuse("growth", repr(growth), "a plain number from 0 (constant yeast) to 1 (growth as counted)")


def _cautions(temperature_c: float, fresh_percent: float) -> tuple[Caution, ...]:
    found: list[Caution] = []
    if not COLDEST_C.value < temperature_c < HOTTEST_C.value:
        between = f"{shown(COLDEST_C.value)} to {shown(HOTTEST_C.value)} °C"
        found.append(Caution("no-growth", f"At {shown(temperature_c)} °C yeast does not grow: it does from {between}."))
    elif abs(temperature_c - REFERENCE_C.value) > 3:
        text = "Growth in dough was counted at 27 °C only; elsewhere it is scaled by growth in broth."
        found.append(Caution("not-counted", text))
    if not 0.5 <= fresh_percent <= 2:
        text = f"Growth was counted in doughs with 0.5 to 2 % of fresh yeast; this is {shown(fresh_percent, 3)} %."
        found.append(Caution("not-counted-dose", text))
    return tuple(found)
