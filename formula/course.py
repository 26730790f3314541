"""The course of a temperature: how a piece of dough follows the temperature of the air around it.

A small piece is at one temperature throughout and follows Newton's law; in a larger one the core lags behind, and the
series of ``conduction`` is summed with as many terms as it needs.  A dough that ferments warms itself besides.  A
``Course`` takes hours and gives degrees as plain floats, for whoever must ask often; ``chill`` is its front door.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import product
from typing import ClassVar, Final, Literal, TypeAlias

from attrs import frozen

from .conduction import Place, body_excess, body_excess_integral_h, modes, volume_nodes
from .newton import lumped_tau_h
from .numeric import bracketed_root
from .piece import SIZE_UNITS, Piece
from .quantity import TEMPERATURE, TIME, WARMING, View
from .readerunits import with_units
from .working import Step

__all__ = ["WHERES", "Course", "Method", "Where"]

Method: TypeAlias = Literal["lumped", "series"]
Where: TypeAlias = Literal["core", "mean", "surface"]
WHERES: Final[tuple[Where, ...]] = ("core", "mean", "surface")

_FIRST_SCAN, _SCAN, _SCANS = 1e-3, 1.1, 112
"""Where a dough warms itself its temperature may turn; a passing is then sought between times from a thousandth of the
time constant on, each a tenth later than the one before, up to 40 time constants."""


@frozen
class Course(Piece):
    """A piece of dough, its temperature at the start and that of the air, which stays as it is.

    ``method`` is "lumped" (one temperature throughout) or "series".
    """

    start_c: float
    air_c: float
    self_warming_k_h: float
    method: Method

    start: ClassVar[View] = View(TEMPERATURE, "start_c", "The dough's temperature at the start.")
    air: ClassVar[View] = View(TEMPERATURE, "air_c", "The temperature of the air.")
    self_warming: ClassVar[View] = View(WARMING, "self_warming_k_h", "By how much the dough warms itself.")

    @property
    def tau_h(self) -> float:
        """The time constant, h: of the lumped body, or of the first term, which outlives the others."""
        if self.method == "lumped":
            return lumped_tau_h(
                self.volume_per_area_m, self.heat_transfer_w_m2_k, self.density_kg_m3, self.specific_heat_kj_kg_k
            )
        return 1 / sum(modes(axis.shape, axis.biot, 0.0, 1)[0][1] * axis.rate_per_h for axis in self.axes)

    tau: ClassVar[View] = View(
        TIME, "tau_h", "The time constant: once the first term is alone, 37 % of a difference is left after it."
    )

    def weight(self, where: Where) -> float:
        """Return the weight of the first term at the core, in the mean or at the surface."""
        if self.method == "lumped":
            return 1.0
        # The last term of a mean takes what is missing from the sum: ask for two and keep the first.
        parts = zip(self.axes, self._places(where), strict=True)
        return math.prod(modes(axis.shape, axis.biot, place, 2)[0][0] for axis, place in parts)

    def exponential_h(self, where: Literal["core", "mean"] = "mean") -> tuple[float, float]:
        """Return the one exponential that stands for the course: its time constant and its lag, both in hours.

        T = air + (start - air) exp(-(t - lag) / tau), through the points where a half and a tenth of the first difference
        are left.  The core lags behind; the mean is ahead of it from the start, and its lag is a little below zero.  A
        self-warming is left out.

        Accuracy, of the first difference: up to a Biot number of 0.7 within 0.5 % from the half on and 8 % before; up to
        5 within 1 % and 18 %.
        """
        if self.method == "lumped":
            return self.tau_h, 0.0
        half_h, tenth_h = (self._left_h(where, left) for left in (0.5, 0.1))
        tau_h = (tenth_h - half_h) / math.log(5)
        return tau_h, half_h - tau_h * math.log(2)

    def _left_h(self, where: Where, left: float) -> float:
        """Return when a part of the first difference is left."""
        late_h = self.tau_h
        while self.excess(where, late_h) > left:
            late_h *= 2
        return bracketed_root(lambda time_h: self.excess(where, time_h) - left, 0.0, late_h)

    def _places(self, where: Where) -> tuple[Place, ...]:
        # The surface of a cylinder is the middle of its side.
        first = {"core": 0.0, "mean": None, "surface": 1.0}[where]
        rest = None if where == "mean" else 0.0
        return (first, *(rest for _ in self.axes[1:]))

    def excess(self, where: Where, time_h: float) -> float:
        """Return the part of the first difference to the air that is left after a time."""
        return self._excess(self._places(where), time_h)

    def _excess(self, places: tuple[Place, ...], time_h: float) -> float:
        return math.exp(-time_h / self.tau_h) if self.method == "lumped" else body_excess(self.axes, places, time_h)

    def warmed_h(self, where: Where, time_h: float) -> float:
        """Return how much warmer a self-warming of 1 K an hour has made the dough after a time: K per K/h."""
        return self._warmed_h(self._places(where), time_h)

    def _warmed_h(self, places: tuple[Place, ...], time_h: float) -> float:
        if self.method == "lumped":
            return self.tau_h * -math.expm1(-time_h / self.tau_h)
        return body_excess_integral_h(self.axes, places, time_h)

    def _temperature_c(self, places: tuple[Place, ...], time_h: float) -> float:
        temperature_c = self.air_c + (self.start_c - self.air_c) * self._excess(places, time_h)
        if self.self_warming_k_h:
            temperature_c += self.self_warming_k_h * self._warmed_h(places, time_h)
        return temperature_c

    def temperature_c(self, where: Where, time_h: float) -> float:
        """Return the temperature, °C, after a time in hours.

        T = air + (start - air) excess + self-warming times the excess summed up over time.
        """
        return self._temperature_c(self._places(where), time_h)

    def settles_c(self, where: Where) -> float:
        """Return the temperature, °C, that is neared in the end: the air's, or above it if the dough warms itself."""
        if not self.self_warming_k_h:
            return self.air_c
        return self.air_c + self.self_warming_k_h * self.warmed_h(where, math.inf)

    def local_c(self, time_h: float, nodes: int = 8) -> tuple[tuple[float, float], ...]:
        """Return temperatures throughout the piece after a time in hours: pairs of a share of the volume and °C."""
        if self.method == "lumped":
            return ((1.0, self.temperature_c("mean", time_h)),)
        spots = product(*(volume_nodes(axis.shape, nodes) for axis in self.axes))
        return tuple(
            (math.prod(share for _, share in spot), self._temperature_c(tuple(place for place, _ in spot), time_h))
            for spot in spots
        )

    def time_to_h(self, where: Where, target_c: float) -> float:
        """Return the first time, h, at which a temperature is reached; infinite where it never is.

        Without self-warming the temperature goes one way only, and a bracketed search finds the one passing.  With it the
        temperature may turn, and the first passing is sought step by step.
        """
        if target_c == self.start_c:
            return 0.0
        if not self.self_warming_k_h:
            left = (target_c - self.air_c) / (self.start_c - self.air_c) if self.start_c != self.air_c else 0.0
            return self._left_h(where, left) if 0 < left < 1 else math.inf
        sign = 1 if target_c < self.start_c else -1
        return self._scanned_h(lambda time_h: sign * (self.temperature_c(where, time_h) - target_c))

    def _scan_h(self) -> list[float]:
        return [self.tau_h * _FIRST_SCAN * _SCAN**step for step in range(_SCANS)]

    def _scanned_h(self, missing_k: Callable[[float], float]) -> float:
        before_h = 0.0
        for time_h in self._scan_h():
            if missing_k(time_h) <= 0:
                return bracketed_root(missing_k, before_h, time_h)
            before_h = time_h
        return math.inf

    def extremes_c(self, where: Where) -> tuple[float, float]:
        """Return the lowest and the highest temperature, °C, that a place ever has; the air's is only neared."""
        if not self.self_warming_k_h:
            return min(self.start_c, self.air_c), max(self.start_c, self.air_c)
        found = [self.start_c, self.settles_c(where), *(self.temperature_c(where, time_h) for time_h in self._scan_h())]
        return min(found), max(found)

    def tau_steps(self, where: Where = "core") -> list[Step]:
        """Show the size, the Biot number and the time constant; in a series also the first term at a place."""
        steps = self.size_steps()
        if self.method == "lumped":
            values = {"rho": self.density_kg_m3, "c": self.specific_heat_kj_kg_k, "V_A": self.volume_per_area_m}
            values["h"] = self.heat_transfer_w_m2_k
            expression = "rho * c * V_A / h / 3.6"
            tau = Step("tau", expression, values, self.tau_h, "h", note="one temperature throughout")
            return [*with_units((*steps, tau), SIZE_UNITS)]
        equations = {
            "slab": "first root of x tan x = Bi",
            "cylinder": "first root of x J1(x) / J0(x) = Bi",
            "sphere": "first root of 1 - x cot x = Bi",
        }
        terms: list[str] = []
        known = {"alpha": self.diffusivity_m2_h}
        for (shape, half_m), axis in zip(self.halves_m, self.axes, strict=True):
            mark = "" if len(self.axes) == 1 else f"_{shape}"
            names = {f"L{mark}": half_m}
            over = {"h": self.heat_transfer_w_m2_k, "k": self.conductivity_w_m_k}
            root = math.sqrt(modes(axis.shape, axis.biot, 0.0, 1)[0][1])
            steps += [
                Step(f"Bi_{shape}", f"h * L{mark} / k", names | over, axis.biot, "1", note="over the way to the core"),
                Step(f"x{mark}", f"x{mark}", {f"x{mark}": root}, root, "1", "cengel-heat-transfer", equations[shape]),
            ]
            known |= names | {f"x{mark}": root}
            terms.append(f"x{mark} ** 2 * alpha / L{mark} ** 2")
        expression = f"1 / ({' + '.join(terms)})"
        weight = self.weight(where)
        steps += [
            Step("A", "A", {"A": weight}, weight, "1", "cengel-heat-transfer", f"weight of the first term, {where}"),
            Step("tau", expression, known, self.tau_h, "h", note="time constant of the first term"),
        ]
        return [*with_units(steps, SIZE_UNITS)]
