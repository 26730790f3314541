"""What a cooling piece is asked: its state after a time, the time to a temperature, the temperatures throughout.

These are answers and no more: each holds the ``Course`` it was read from and shows how it came about.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar, Final

from attrs import frozen

from .course import Course, Where
from .quantity import ENERGY, TEMPERATURE, TIME, View, view
from .readerunits import with_units
from .sources import Constant
from .working import Caution, Step, Working

if TYPE_CHECKING:
    from .quantity import Quantity

__all__ = ["SELF_WARMING", "CoolingState", "CoolingTime", "LocalTemperatures"]

_UNITS: Final = {"h": "t tau J", "°C": "air start target", "K/h": "w", "1": "A"}

SELF_WARMING: Final = Constant(
    1.5, "K/h", 0.5, "self-warming-of-dough", "1 to 2 °C an hour at room temperature, by batch size; low authority"
)
"""What the trade says of a fermenting dough; it is never assumed."""


@frozen
class CoolingState:
    """The temperatures of a piece after a time, and the ``heat`` it has given off (below zero: taken up)."""

    course: Course
    time_h: float
    core_c: float
    mean_c: float
    surface_c: float
    heat_kj: float
    cautions: tuple[Caution, ...] = ()

    time: ClassVar[View] = View(TIME, "time_h", "The time from the start.")
    core: ClassVar[View] = View(TEMPERATURE, "core_c", "The temperature at the core.")
    mean: ClassVar[View] = View(TEMPERATURE, "mean_c", "The mean temperature over the volume.")
    surface: ClassVar[View] = View(TEMPERATURE, "surface_c", "The temperature of the surface.")
    heat: ClassVar[View] = View(ENERGY, "heat_kj", "The heat given off to the air since the start.")

    def working(self, where: Where = "core") -> Working:
        """Show the steps to the temperature of the core, the mean or the surface; the last line is it."""
        steps = (*self.course.tau_steps(where), *_temperature_steps(self.course, where, self.time_h))
        return Working(f"Temperature of the {where}", with_units(steps, _UNITS | {"1": "rest"}), self.cautions)


def _temperature_steps(course: Course, where: Where, time_h: float) -> list[Step]:
    left = course.excess(where, time_h)
    time = {"t": time_h, "tau": course.tau_h}
    if course.method == "lumped":
        steps = [Step("theta", "exp(-t / tau)", time, left, "1", note="part of the difference that is left")]
    else:
        weight = course.weight(where)
        first = weight * math.exp(-time_h / course.tau_h)
        parts = {"theta_1": first, "rest": left - first}
        steps = [
            Step("theta_1", "A * exp(-t / tau)", {"A": weight} | time, first, "1", note="the first term"),
            Step("theta", "theta_1 + rest", parts, left, "1", note="rest: the further terms"),
        ]
    values = {"air": course.air_c, "start": course.start_c, "theta": left}
    expression = "air + (start - air) * theta"
    if course.self_warming_k_h:
        warmed_h = course.warmed_h(where, time_h)
        note = "theta summed up over time: each moment's warming cools off like a new start"
        steps.append(Step("J", "J", {"J": warmed_h}, warmed_h, "h", note=note))
        values |= {"w": course.self_warming_k_h, "J": warmed_h}
        expression += " + w * J"
    return [*steps, Step("T", expression, values, course.temperature_c(where, time_h), "°C")]


@frozen
class CoolingTime:
    """The ``time`` until a place is at a temperature, from ``low`` to ``high`` by what print says of the dough."""

    course: Course
    where: Where
    temperature_c: float
    time_h: float
    low_h: float
    high_h: float
    cautions: tuple[Caution, ...] = ()

    temperature: ClassVar[View] = View(TEMPERATURE, "temperature_c", "The temperature asked for.")
    time: ClassVar[View] = View(TIME, "time_h", "The time from the start.")
    low: ClassVar[View] = View(TIME, "low_h", "The earliest that the printed spread of the assumed properties allows.")
    high: ClassVar[View] = View(TIME, "high_h", "The latest that the printed spread of the assumed properties allows.")

    def working(self) -> Working:
        """Show the steps; the last line is the time."""
        course, where = self.course, self.where
        steps = course.tau_steps(where)
        if course.self_warming_k_h:
            steps += _temperature_steps(course, where, self.time_h)
            note = f"found by search: the first time that the {where} is there"
            steps.append(Step("t", "t", {"t": self.time_h}, self.time_h, "h", note=note))
        else:
            ends = {"target": self.temperature_c, "air": course.air_c, "start": course.start_c}
            left = (self.temperature_c - course.air_c) / (course.start_c - course.air_c)
            note = "part of the difference that is left"
            steps.append(Step("theta", "(target - air) / (start - air)", ends, left, "1", note=note))
            values = {"tau": course.tau_h, "theta": left}
            if course.method == "lumped":
                steps.append(Step("t", "-tau * ln(theta)", values, self.time_h, "h"))
            else:
                weight = course.weight(where)
                first_h = course.tau_h * math.log(weight / left)
                parts = {"t_1": first_h, "rest": self.time_h - first_h}
                note = "rest: what the further terms add, found by search"
                steps += [
                    Step("t_1", "tau * ln(A / theta)", values | {"A": weight}, first_h, "h", note="by the first term"),
                    Step("t", "t_1 + rest", parts, self.time_h, "h", note=note),
                ]
        told = _UNITS | {"1" if course.self_warming_k_h else "h": "rest"}
        return Working(f"Time until the {where} is there", with_units(steps, told), self.cautions)


@frozen
class LocalTemperatures:
    """Temperatures throughout a piece after a time, each with the share of the volume that it stands for."""

    course: Course
    time_h: float
    shares: tuple[float, ...]
    temperatures_c: tuple[float, ...]
    cautions: tuple[Caution, ...] = ()

    time: ClassVar[View] = View(TIME, "time_h", "The time from the start.")

    @property
    def temperatures(self) -> tuple[Quantity, ...]:
        """The temperatures."""
        return tuple(view(TEMPERATURE, value) for value in self.temperatures_c)

    def mean_of(self, rate: Callable[[float], float]) -> float:
        """Return the mean over the volume of something that goes by the temperature, such as a rate of fermentation.

        Args:
            rate: a function of a temperature in °C.
        """
        pairs = zip(self.shares, self.temperatures_c, strict=True)
        return math.fsum(share * rate(temperature_c) for share, temperature_c in pairs)

    @property
    def mean_c(self) -> float:
        """The mean temperature over the volume, °C."""
        return self.mean_of(float)

    mean: ClassVar[View] = View(TEMPERATURE, "mean_c", "The mean temperature over the volume.")

    def working(self) -> Working:
        """Show the mean over the volume; the last line is the mean temperature."""
        values: dict[str, float] = {}
        for place, (share, temperature_c) in enumerate(zip(self.shares, self.temperatures_c, strict=True), 1):
            values |= {f"s_{place}": share, f"T_{place}": temperature_c}
        expression = " + ".join(f"s_{place} * T_{place}" for place in range(1, len(self.shares) + 1))
        mean = Step("T_mean", expression, values, self.mean_c, "°C")
        return Working("Mean over the volume", with_units([mean], {"1": "s", "°C": "T"}), self.cautions)
