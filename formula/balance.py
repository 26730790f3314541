"""The sums of a heat balance, and the result that holds them.

Every body gives the dough the heat m c (T - T_dough); the mixer's work and the wetting of the flour add theirs; together
they are nothing.  Specific heats are taken as constant, so every answer has a closed form.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import ClassVar, Final, Literal

from attrs import frozen

from .bodies import AIR, BOWL, Body, Poured
from .capacity import FLOUR_CP, ICE_CP, LATENT_HEAT, WATER_CP, SpecificHeat
from .lines import Lines
from .quantity import DIFFERENCE, ENERGY_PER_MASS, MASS, POWER, TEMPERATURE, TIME, OptionalView, View
from .readerunits import with_units
from .sources import Constant
from .working import Caution, Step, Working

__all__ = [
    "HYDRATION_HEAT",
    "RESERVED",
    "HeatBalance",
    "Motor",
    "Sought",
    "balanced_dough_c",
    "balanced_water_c",
    "mixing_work_kj",
    "rise_from_work_k",
    "water_per_dough_k",
]

_UNITS: Final = {
    "kg": "m", "kJ/kg K": "c", "°C": "T", "kW": "P", "h": "t", "1": "share", "kJ/kg": "w q L", "kJ/K": "C", "kJ": "H W",
}  # fmt: skip

Sought = Literal["water", "dough", "work"]

HYDRATION_HEAT: Final = Constant(
    15.12, "kJ/kg", 0.12, "bakers-dictionary", "Heat of Hydration: 6.5 Btu per lb of flour at 11 to 12 % moisture"
)

_WORK: Final = "mixing work"
_WETTING: Final = "heat of hydration"
_ICE: Final = "ice to melt"
RESERVED: Final = (AIR, BOWL, _WORK, _WETTING, _ICE)
"""Names of a balance's own entries, which no line of the mix may bear."""


def balanced_dough_c(capacities_kj_k: Sequence[float], temperatures_c: Sequence[float], heat_kj: float) -> float:
    """Return the dough temperature: (sum(C * T) + Q) / sum(C).

    Args:
        capacities_kj_k: C, heat capacity of each body, water and bowl included, kJ/K.
        temperatures_c: T of each, °C.
        heat_kj: Q, mixing work and heat of hydration, kJ.

    Example:
        >>> balanced_dough_c((1.84, 2.724), (20.0, 18.0), 20.0)
        23.188...
    """
    pairs = zip(capacities_kj_k, temperatures_c, strict=True)
    return (sum(capacity * temperature for capacity, temperature in pairs) + heat_kj) / sum(capacities_kj_k)


def balanced_water_c(
    dough_c: float,
    capacities_kj_k: Sequence[float],
    temperatures_c: Sequence[float],
    heat_kj: float,
    water_kj_k: float,
) -> float:
    """Return the water temperature: T_dough + (sum(C * (T_dough - T)) - Q) / C_water.

    Args:
        dough_c: T_dough, the desired dough temperature, °C.
        capacities_kj_k: C, heat capacity of each body but the water, kJ/K.
        temperatures_c: T of each, °C.
        heat_kj: Q, mixing work and heat of hydration, kJ.
        water_kj_k: C_water, kJ/K.

    Example:
        >>> round(balanced_water_c(15.0, (2 * 1.76,), (15.0,), 2 * 15.0, 4.18), 2)
        7.82
    """
    pairs = zip(capacities_kj_k, temperatures_c, strict=True)
    return dough_c + (sum(capacity * (dough_c - temperature) for capacity, temperature in pairs) - heat_kj) / water_kj_k


def mixing_work_kj(
    dough_c: float, capacities_kj_k: Sequence[float], temperatures_c: Sequence[float], other_kj: float
) -> float:
    """Return the mixing work of a trial mix: sum(C * (T_dough - T)) - Q_other.

    Args:
        dough_c: the temperature at which the dough came off, °C.
        capacities_kj_k: C, heat capacity of each body, water and bowl included, kJ/K.
        temperatures_c: T of each, °C.
        other_kj: Q_other, heat of hydration, kJ.
    """
    pairs = zip(capacities_kj_k, temperatures_c, strict=True)
    return sum(capacity * (dough_c - temperature) for capacity, temperature in pairs) - other_kj


def rise_from_work_k(work_kj_kg: float, cp_kj_kg_k: float) -> float:
    """Return how much work warms a dough that loses nothing: W / c.

    Args:
        work_kj_kg: W, work per mass of dough, kJ/kg.
        cp_kj_kg_k: c, the dough's specific heat, 2.5 to 2.9 kJ/kg K by its hydration.

    Example:
        >>> round(rise_from_work_k(39.6, 2.7), 2)
        14.67
    """
    return work_kj_kg / cp_kj_kg_k


def water_per_dough_k(
    hydration_percent: float, flour_cp_kj_kg_k: float = FLOUR_CP.value, water_cp_kj_kg_k: float = WATER_CP.value
) -> float:
    """Return by how many kelvins the water must change for one kelvin of the dough: 1 + 100 c_flour / (H c_water).

    By the rule with a factor it is N, the number of temperatures.  One less than it, c_flour over c_water of the dough,
    is how far a flour warmer by one kelvin lowers the water: 1 by the rule.

    Args:
        hydration_percent: H, water per 100 of flour, %.
        flour_cp_kj_kg_k: specific heat of the flour, kJ/kg K.
        water_cp_kj_kg_k: specific heat of the water, kJ/kg K.

    Example:
        >>> [round(water_per_dough_k(hydration), 2) for hydration in (55.0, 65.0, 80.0)]
        [1.8, 1.68, 1.55]
    """
    return 1 + 100 * flour_cp_kj_kg_k / (hydration_percent * water_cp_kj_kg_k)


@frozen
class Motor:
    """How mixing work was told by the motor: its power, the time it ran, and the share that reaches the dough."""

    power_kw: float
    time_h: float
    share: float

    power: ClassVar[View] = View(POWER, "power_kw", "The power.")
    time: ClassVar[View] = View(TIME, "time_h", "The time.")

    @property
    def work_kj(self) -> float:
        """The work done on the dough, kJ."""
        return self.power_kw * self.time_h * 3600 * self.share


@frozen
class HeatBalance:
    """A heat balance: ``dough``, ``water`` and ``work`` (per mass of dough), of which one was ``sought``.

    ``water`` is the temperature of what is poured; below freezing it is bookkeeping, and stands for ice.  Where a tap was
    given, ``ice`` and ``draw`` are what to weigh and to draw.  ``rule`` is what the rule with a friction factor says, of
    the water or of the dough, where a factor was given.
    """

    stage: str
    sought: Sought
    bodies: tuple[Body, ...]
    poured: Poured
    hydration_heat_kj_kg: float
    dough_c: float
    water_c: float | None
    work_kj_kg: float
    motor: Motor | None = None
    tap_c: float | None = None
    ice_temperature_c: float = 0.0
    ice_g: float | None = None
    rule_c: float | None = None
    cautions: tuple[Caution, ...] = ()

    # -- quantities ------------------------------------------------------------------------------------------------

    dough: ClassVar[View] = View(TEMPERATURE, "dough_c", "The dough's temperature as it leaves the mixer.")
    water: ClassVar[OptionalView] = OptionalView(
        TEMPERATURE, "water_c", "The temperature of what is poured, or None where nothing is."
    )
    work: ClassVar[View] = View(ENERGY_PER_MASS, "work_kj_kg", "The mixing work per mass of dough.")
    hydration_heat: ClassVar[View] = View(
        ENERGY_PER_MASS, "hydration_heat_kj_kg", "The heat that flour gives off when it is wetted, per mass of flour."
    )
    tap: ClassVar[OptionalView] = OptionalView(TEMPERATURE, "tap_c", "The tap water's temperature, if it was given.")
    ice_temperature: ClassVar[View] = View(TEMPERATURE, "ice_temperature_c", "The temperature of the ice.")
    ice: ClassVar[OptionalView] = OptionalView(
        MASS, "ice_g", "The ice to weigh, replacing water; None where no tap was given or ice cannot do it."
    )

    @property
    def draw_g(self) -> float | None:
        """The water to draw besides the ice, g."""
        return None if self.ice_g is None else self.poured.mass_g - self.ice_g

    draw: ClassVar[OptionalView] = OptionalView(MASS, "draw_g", "The water to draw besides the ice.")
    rule: ClassVar[OptionalView] = OptionalView(
        TEMPERATURE, "rule_c", "What the rule with a friction factor says, of the water or of the dough."
    )

    # -- sums ------------------------------------------------------------------------------------------------------

    @property
    def mass_g(self) -> float:
        """The dough in the mixer, late additions that count included, g."""
        return sum(body.mass_g for body in self.bodies if body.role not in (AIR, BOWL)) + self.poured.mass_g

    @property
    def dry_flour_g(self) -> float:
        """The flour that goes in dry, g: what is already wet in a stage gives off no more heat."""
        return sum(body.mass_g for body in self.bodies if body.role == "flour")

    @property
    def capacity_kj_k(self) -> float:
        """The heat capacity of all that comes to the dough's temperature, bowl included, kJ/K."""
        return sum(body.capacity_kj_k for body in self.bodies) + self.poured.capacity_kj_k

    @property
    def work_kj(self) -> float:
        """The mixing work, kJ."""
        return self.motor.work_kj if self.motor else self.work_kj_kg * self.mass_g / 1000

    @property
    def hydration_kj(self) -> float:
        """The heat of hydration of the dry flour, kJ."""
        return self.hydration_heat_kj_kg * self.dry_flour_g / 1000

    @property
    def energies_kj(self) -> Lines[float]:
        """What each body, the work and the wetting give to the dough, kJ; together they are nothing."""
        given = [(body.name, body.capacity_kj_k * (body.temperature_c - self.dough_c)) for body in self.bodies]
        if self.water_c is not None:
            water_kj = self.poured.capacity_kj_k * (self.water_c - self.dough_c)
            if self.ice_g and self.tap_c is not None:
                cold = self.ice_temperature_c * ICE_CP.value - LATENT_HEAT.value - self.dough_c * WATER_CP.value
                ice_kj = self.ice_g / 1000 * cold
                drawn_kj_k = self.poured.capacity_kj_k - self.ice_g / 1000 * WATER_CP.value
                given += [(self.poured.name, drawn_kj_k * (self.tap_c - self.dough_c)), (_ICE, ice_kj)]
            else:
                given.append((self.poured.name, water_kj))
        return Lines([*given, (_WORK, self.work_kj), (_WETTING, self.hydration_kj)])

    @property
    def rise_k(self) -> float:
        """How much the mixing work warms the dough (and the bowl), K."""
        return self.work_kj / self.capacity_kj_k

    rise: ClassVar[View] = View(DIFFERENCE, "rise_k", "How much the mixing work warms the dough (and the bowl).")

    @property
    def hydration_rise_k(self) -> float:
        """How much the wetting of the flour warms the dough (and the bowl), K."""
        return self.hydration_kj / self.capacity_kj_k

    hydration_rise: ClassVar[View] = View(
        DIFFERENCE, "hydration_rise_k", "How much the wetting of the flour warms the dough (and the bowl)."
    )

    @property
    def water_per_dough_k(self) -> float | None:
        """By how many kelvins the water must change for one kelvin of the dough; by the rule it is N."""
        return self.capacity_kj_k / self.poured.capacity_kj_k if self.poured.mass_g else None

    @property
    def water_per_flour_k(self) -> float | None:
        """By how many kelvins one kelvin more in the dry flour lowers the water; by the rule it is 1."""
        flour_kj_k = sum(body.capacity_kj_k for body in self.bodies if body.role == "flour")
        return flour_kj_k / self.poured.capacity_kj_k if self.poured.mass_g else None

    @property
    def rule_difference_k(self) -> float | None:
        """By how much the rule with a friction factor lies above this balance, K; None without a factor."""
        if self.rule_c is None:
            return None
        return self.rule_c - (self.dough_c if self.sought == "dough" else self.water_c or 0.0)

    # -- working ---------------------------------------------------------------------------------------------------

    def working(self) -> Working:
        """Show every term; the last line is what was sought: water, dough, work, or the ice where it is needed."""
        steps = [*self._capacity_steps(), *self._heat_steps(), self._sought_step(), *self._ice_steps()]
        place = "" if self.stage == "final" else f" of the {self.stage}"
        return Working(f"Heat balance{place}: the {self.sought}", with_units(steps, _UNITS), self.cautions)

    def _terms(self) -> tuple[dict[str, float], dict[str, float]]:
        """Return the heat capacities and the temperatures of the bodies by their symbols."""
        capacities = {f"C_{number}": body.capacity_kj_k for number, body in enumerate(self.bodies, 1)}
        temperatures = {f"T_{number}": body.temperature_c for number, body in enumerate(self.bodies, 1)}
        if self.water_c is not None and self.sought != "water":
            capacities["C_water"] = self.poured.capacity_kj_k
            temperatures["T_water"] = self.water_c
        return capacities, temperatures

    def _capacity_steps(self) -> Iterator[Step]:
        for number, body in enumerate(self.bodies, 1):
            values = {f"m_{number}": body.mass_g / 1000, f"c_{number}": body.cp_kj_kg_k}
            note = f"{body.name}: {body.note}" if body.note else body.name
            heat, inside = body.capacity_kj_k, _inside(body.heat)
            yield Step(f"C_{number}", " * ".join(values), values, heat, "kJ/K", body.source, note, inside=inside)
        if self.poured.mass_g:
            values = {"m_water": self.poured.mass_g / 1000, "c_water": self.poured.cp_kj_kg_k}
            heat, inside = self.poured.capacity_kj_k, _inside(self.poured.heat)
            about = (self.poured.source, self.poured.name)
            yield Step("C_water", " * ".join(values), values, heat, "kJ/K", *about, inside=inside)

    def _mass_step(self) -> Step:
        masses = {f"m_{n}": body.mass_g / 1000 for n, body in enumerate(self.bodies, 1) if body.role not in (AIR, BOWL)}
        if self.poured.mass_g:
            masses["m_water"] = self.poured.mass_g / 1000
        return Step("m_dough", " + ".join(masses), masses, self.mass_g / 1000, "kg", note="what is in the mixer")

    def _heat_steps(self) -> Iterator[Step]:
        if self.sought == "work":
            yield self._mass_step()
        elif self.motor:
            values = {"P": self.motor.power_kw, "t": self.motor.time_h, "share": self.motor.share}
            note = "motor power, hours and the share that reaches the dough"
            yield Step("W", "P * t * 3600 * share", values, self.work_kj, "kJ", note=note)
        else:
            yield self._mass_step()
            values = {"w": self.work_kj_kg, "m_dough": self.mass_g / 1000}
            yield Step("W", "w * m_dough", values, self.work_kj, "kJ", note="mixing work")
        values = {"q": self.hydration_heat_kj_kg, "m_flour": self.dry_flour_g / 1000}
        note = "wetting of the flour that goes in dry"
        yield Step("H", "q * m_flour", values, self.hydration_kj, "kJ", HYDRATION_HEAT.source, note)

    def _sought_step(self) -> Step:
        capacities, temperatures = self._terms()
        values = capacities | temperatures | {"H": self.hydration_kj}
        pairs = list(zip(capacities, temperatures, strict=True))
        taken = " + ".join(f"{capacity} * (T_dough - {temperature})" for capacity, temperature in pairs)
        if self.sought == "dough":
            given = " + ".join(f"{capacity} * {temperature}" for capacity, temperature in pairs)
            expression = f"({given} + W + H) / ({' + '.join(capacities)})"
            return Step("T_dough", expression, values | {"W": self.work_kj}, self.dough_c, "°C")
        values |= {"T_dough": self.dough_c}
        if self.sought == "work":
            values |= {"m_dough": self.mass_g / 1000}
            return Step("w", f"({taken} - H) / m_dough", values, self.work_kj_kg, "kJ/kg", note="mixing work")
        values |= {"W": self.work_kj, "C_water": self.poured.capacity_kj_k}
        expression = f"T_dough + ({taken} - W - H) / C_water"
        return Step("T_water", expression, values, self.water_c or 0.0, "°C")

    def _ice_steps(self) -> Iterator[Step]:
        if not self.ice_g or self.tap_c is None or self.water_c is None:
            return
        values = {"L": LATENT_HEAT.value, "c_ice": ICE_CP.value, "c_water": self.poured.cp_kj_kg_k}
        values |= {"T_ice": self.ice_temperature_c}
        melts_k = (LATENT_HEAT.value - ICE_CP.value * self.ice_temperature_c) / self.poured.cp_kj_kg_k
        note = "what ice takes up to become water of 0 °C, in degrees of water"
        yield Step("D", "(L - c_ice * T_ice) / c_water", values, melts_k, "K", LATENT_HEAT.source, note)
        values = {"m_water": self.poured.mass_g / 1000, "T_tap": self.tap_c, "T_water": self.water_c, "D": melts_k}
        expression = "1000 * m_water * (T_tap - T_water) / (T_tap + D)"
        yield Step("ice", expression, values, self.ice_g, "g", note="replacing as much water")


def _inside(heat: SpecificHeat | None) -> tuple[Working, ...]:
    """Return how a specific heat was put together; one that was looked up says so in its source."""
    return (heat.working(),) if heat and heat.way == "composition" else ()
