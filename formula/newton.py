"""Newton's law of cooling: a body that is at one temperature throughout nears that of the air exponentially.

It holds for small pieces (Biot number below 0.1), for anything that is stirred, and roughly for the mean temperature of
larger ones after a while.  Its one number, the time constant, comes from the body's properties, or better from a
thermometer: ``cooling_from_reading`` takes it from one reading in the bakery's own cold room.
"""

from __future__ import annotations

import math
from typing import ClassVar, Final

from attrs import frozen

from .errors import Fault, QuantityError
from .quantity import TEMPERATURE, TIME, Door, Measure, View, read, write
from .readerunits import with_units
from .working import Caution, Step, Working, shown

__all__ = [
    "NewtonCooling",
    "NewtonTemperature",
    "NewtonTime",
    "biot_number",
    "cooling_from_reading",
    "diffusivity_m2_h",
    "lumped_tau_h",
    "newton_c",
    "newton_tau_h",
    "newton_time_h",
]

_UNITS: Final = {"°C": "start air reading target", "h": "t t_read tau"}

_READING_ERROR_K: Final = 0.5
"""What a kitchen thermometer is good for; a reading that such an error changes by more than a tenth is called weak."""


def newton_c(start_c: float, air_c: float, time_h: float, tau_h: float) -> float:
    """Return the temperature of a body that is the same throughout: T = air + (start - air) exp(-t / tau).

    Args:
        start_c: its temperature at the beginning, °C.
        air_c: the temperature around it, °C.
        time_h: t, the time passed, h.
        tau_h: tau, its time constant, h, above 0.

    Example:
        >>> round(newton_c(4.0, 20.0, 1.0, 1 / 0.393), 1)
        9.2
    """
    # Written as a power, so that arrays pass through without numpy being imported.
    left: float = math.e ** (-time_h / tau_h)
    return air_c + (start_c - air_c) * left


def newton_time_h(start_c: float, air_c: float, target_c: float, tau_h: float) -> float:
    """Return how long a body takes to a temperature: t = tau ln((start - air) / (target - air)).

    Args:
        start_c: its temperature at the beginning, °C.
        air_c: the temperature around it, °C.
        target_c: a temperature between the two, °C; not that of the air, which is never quite reached.
        tau_h: tau, its time constant, h.

    Example:
        >>> round(newton_time_h(375.0, 72.0, 120.0, 1 / 0.05006), 1)
        36.8
    """
    return tau_h * math.log((start_c - air_c) / (target_c - air_c))


def newton_tau_h(start_c: float, air_c: float, reading_c: float, time_h: float) -> float:
    """Return the time constant that one reading shows: tau = t / ln((start - air) / (reading - air)).

    Args:
        start_c: the temperature at the beginning, °C.
        air_c: the temperature around, °C.
        reading_c: the temperature read, °C, between the two.
        time_h: t, when it was read, h.

    Example:
        >>> round(1 / newton_tau_h(375.0, 72.0, 215.0, 15.0), 5)
        0.05006
    """
    return time_h / math.log((start_c - air_c) / (reading_c - air_c))


def lumped_tau_h(
    volume_per_area_m: float, heat_transfer_w_m2_k: float, density_kg_m3: float, specific_heat_kj_kg_k: float
) -> float:
    """Return the time constant of a body that is the same throughout: tau = rho c (V / A) / h.

    Args:
        volume_per_area_m: V / A, its volume over the surface that gives off heat, m.
        heat_transfer_w_m2_k: h, heat transfer coefficient of that surface, W/m²K.
        density_kg_m3: rho, kg/m³.
        specific_heat_kj_kg_k: c, kJ/kgK.

    Example:
        >>> round(1 / (3600 * lumped_tau_h(0.0105, 120.0, 998.0, 4.182)), 6)
        0.002738
    """
    # 1000 J in a kJ over 3600 s in an hour.
    return density_kg_m3 * specific_heat_kj_kg_k * volume_per_area_m / heat_transfer_w_m2_k / 3.6


def diffusivity_m2_h(conductivity_w_m_k: float, density_kg_m3: float, specific_heat_kj_kg_k: float) -> float:
    """Return the thermal diffusivity: alpha = k / (rho c), in m²/h.

    Args:
        conductivity_w_m_k: k, W/mK.
        density_kg_m3: rho, kg/m³.
        specific_heat_kj_kg_k: c, kJ/kgK.

    Example:
        >>> round(diffusivity_m2_h(0.45, 1100.0, 2.8) / 3600 * 1e7, 3)
        1.461
    """
    return 3.6 * conductivity_w_m_k / (density_kg_m3 * specific_heat_kj_kg_k)


def biot_number(heat_transfer_w_m2_k: float, length_m: float, conductivity_w_m_k: float) -> float:
    """Return the Biot number, resistance inside over resistance outside: Bi = h L / k.

    Args:
        heat_transfer_w_m2_k: h, W/m²K.
        length_m: L, m: volume over surface to judge whether the body is the same throughout (Bi < 0.1); half the
            thickness of a slab or the radius of a cylinder or sphere for the series.
        conductivity_w_m_k: k, W/mK.

    Example:
        >>> round(biot_number(120.0, 0.0105, 0.607), 3)
        2.076
    """
    return heat_transfer_w_m2_k * length_m / conductivity_w_m_k


@frozen
class NewtonCooling:
    """How one body cools or warms in one place, by one reading: ``tau`` is its time constant."""

    start_c: float
    air_c: float
    reading_c: float
    reading_time_h: float
    tau_h: float
    cautions: tuple[Caution, ...] = ()

    start: ClassVar[View] = View(TEMPERATURE, "start_c", "The temperature at the beginning.")
    air: ClassVar[View] = View(TEMPERATURE, "air_c", "The temperature around the body.")
    reading: ClassVar[View] = View(TEMPERATURE, "reading_c", "The temperature read.")
    reading_time: ClassVar[View] = View(TIME, "reading_time_h", "When it was read.")
    tau: ClassVar[View] = View(TIME, "tau_h", "The time constant: after it, 37 % of the first difference is left.")

    def after(self, time: Measure) -> NewtonTemperature:
        """Find the temperature after a time: T = air + (start - air) exp(-t / tau).

        Args:
            time: t, a time from the start.

        Raises:
            QuantityError: when ``time`` is no time.

        Example:
            >>> chilled = cooling_from_reading(start="4 °C", air="20 °C", reading="9.2 °C", after="1 h")
            >>> round(chilled.after("2 h").temperature_c, 2)
            12.71
        """
        time_h = read(TIME, time, "time")
        temperature_c = newton_c(self.start_c, self.air_c, time_h, self.tau_h)
        return NewtonTemperature(self, time_h, temperature_c, self.cautions)

    def time_to(self, temperature: Measure) -> NewtonTime:
        """Find the time to a temperature: t = tau ln((start - air) / (target - air)).

        Args:
            temperature: a temperature from that of the start up to, but not quite, that of the air.

        Raises:
            QuantityError: when it is none, or is never reached.

        Example:
            >>> pie = cooling_from_reading(start="375 °F", air="72 °F", reading="215 °F", after="15 min")
            >>> round(pie.time_to("120 °F").time_h * 60, 1)
            36.8
        """
        target_c = read(TEMPERATURE, temperature, "temperature")
        if not 0 < (target_c - self.air_c) / (self.start_c - self.air_c) <= 1:
            start, air = write(TEMPERATURE, self.start_c), write(TEMPERATURE, self.air_c)
            mend = "the air's own temperature is never quite reached; ask for one a little short of it"
            expected = f"from the start's {start} towards the air's {air}"
            raise QuantityError(Fault("temperature", write(TEMPERATURE, target_c), expected, mend))
        time_h = newton_time_h(self.start_c, self.air_c, target_c, self.tau_h) + 0.0
        return NewtonTime(self, target_c, time_h, self.cautions)

    def working(self) -> Working:
        """Show the steps; the last line is the time constant."""
        values = {"start": self.start_c, "air": self.air_c, "reading": self.reading_c, "t_read": self.reading_time_h}
        expression = "t_read / ln((start - air) / (reading - air))"
        step = Step("tau", expression, values, self.tau_h, "h", note="time constant by one reading")
        return Working("Newton's law of cooling", with_units([step], _UNITS), self.cautions)


@frozen
class NewtonTemperature:
    """The temperature of a body after a time."""

    cooling: NewtonCooling
    time_h: float
    temperature_c: float
    cautions: tuple[Caution, ...] = ()

    time: ClassVar[View] = View(TIME, "time_h", "The time from the start.")
    temperature: ClassVar[View] = View(TEMPERATURE, "temperature_c", "The temperature then.")

    def working(self) -> Working:
        """Show the steps; the last line is the temperature."""
        values = {"air": self.cooling.air_c, "start": self.cooling.start_c, "t": self.time_h, "tau": self.cooling.tau_h}
        step = Step("T", "air + (start - air) * exp(-t / tau)", values, self.temperature_c, "°C")
        steps = with_units((*self.cooling.working().steps, step), _UNITS)
        return Working("Temperature after a time", steps, self.cautions)


@frozen
class NewtonTime:
    """The time a body takes to a temperature."""

    cooling: NewtonCooling
    temperature_c: float
    time_h: float
    cautions: tuple[Caution, ...] = ()

    temperature: ClassVar[View] = View(TEMPERATURE, "temperature_c", "The temperature asked for.")
    time: ClassVar[View] = View(TIME, "time_h", "The time from the start.")

    def working(self) -> Working:
        """Show the steps; the last line is the time."""
        values = {"tau": self.cooling.tau_h, "start": self.cooling.start_c, "air": self.cooling.air_c}
        target = {"target": self.temperature_c}
        step = Step("t", "tau * ln((start - air) / (target - air))", values | target, self.time_h, "h")
        steps = with_units((*self.cooling.working().steps, step), _UNITS)
        return Working("Time to a temperature", steps, self.cautions)


def cooling_from_reading(*, start: Measure, air: Measure, reading: Measure, after: Measure) -> NewtonCooling:
    """Find a body's time constant from one reading: tau = t / ln((start - air) / (reading - air)).

    Args:
        start: the body's temperature at the beginning.
        air: the temperature around it, which stays as it is.
        reading: the body's temperature later on, between the two.
        after: t, how much later it was read.

    Returns:
        ``tau``, with ``after`` and ``time_to`` for other times and temperatures; with a caution where a small mistake of
        the thermometer weighs heavily.

    Raises:
        QuantityError: for every bad argument at once; a reading that does not lie between start and air; no time passed.

    Accuracy: exact for a body that is at one temperature throughout.  The core of a larger piece stays as it is at first,
    so that an early reading in it promises too long a time, and one at the surface too short; read late, at the place
    that matters.  A dough that ferments warms itself, and the law does not know it.

    Example:
        >>> dough = cooling_from_reading(start="26 °C", air="4 °C", reading="15 °C", after="2 h")
        >>> round(dough.tau_h, 3), round(dough.time_to("6 °C").time_h, 2)
        (2.885, 6.92)
    """
    with Door() as door:
        start_c = door.read(TEMPERATURE, start, "start")
        air_c = door.read(TEMPERATURE, air, "air")
        reading_c = door.read(TEMPERATURE, reading, "reading")
        time_h = door.read(TIME, after, "after")
        if time_h == 0:
            door.refuse("after", write(TIME, time_h), "a time above zero", "read again after a while")
        if not door.faults and not min(start_c, air_c) < reading_c < max(start_c, air_c):
            between = f"between the start's {write(TEMPERATURE, start_c)} and the air's {write(TEMPERATURE, air_c)}"
            door.refuse("reading", write(TEMPERATURE, reading_c), between, "check the three temperatures")
    tau_h = newton_tau_h(start_c, air_c, reading_c, time_h)
    return NewtonCooling(
        start_c=start_c,
        air_c=air_c,
        reading_c=reading_c,
        reading_time_h=time_h,
        tau_h=tau_h,
        cautions=_reading_cautions(reading_c - air_c, time_h / tau_h),
    )


def _reading_cautions(left_k: float, exponent: float) -> tuple[Caution, ...]:
    # d tau / tau = dT / (left * ln(...)), to first order.
    mistake = _READING_ERROR_K / (abs(left_k) * exponent)
    if mistake <= 0.1:
        return ()
    text = (
        f"If the reading is {_READING_ERROR_K} K off, the time constant is about {shown(mistake * 100, 2)} % off:"
        " read when the body is about two thirds of the way."
    )
    return (Caution("weak-reading", text),)
