"""Cooling and warming of dough: how long until the core is at 5 °C, and what the dough goes through until then.

The answer is only as good as the dough's properties, which are printed scarcely and wide: where they were assumed, the
time comes with the earliest and latest that print allows.  One reading in the bakery's own cold room (see
``cooling_from_reading``) is worth more than all of them.

For fermentation it is not the core that counts but the mean of what goes on everywhere: ``local_temperatures`` gives the
places to average over, and ``exponential_h`` the one exponential that stands for the course.
"""

from __future__ import annotations

import math
from itertools import product
from typing import Final, Literal, TypeAlias, cast, get_args

from attrs import asdict, evolve, frozen

from .conduction import Shape
from .cooled import CoolingState, CoolingTime, LocalTemperatures
from .course import WHERES, Course, Method, Where
from .errors import Fault, QuantityError
from .piece import PROPERTIES, Piece, read_piece
from .quantity import TEMPERATURE, TIME, WARMING, Door, Measure, read, write
from .sources import Constant
from .working import Caution, Working, shown

__all__ = ["FREEZING", "LUMPED_LIMIT", "Choice", "Cooling", "cooling"]

Choice: TypeAlias = Literal["auto", "lumped", "series"]

LUMPED_LIMIT: Final = Constant(
    0.1, "1", 0.0, "cengel-heat-transfer", "Bi over volume / surface below 0.1: one temperature will do (from memory)"
)
FREEZING: Final = Constant(-4.0, "°C", 0.5, "ireks-compendium", "6.2.1: the water of dough begins to freeze near -4 °C")
_HOTTEST_C: Final = 60.0
"""°C. Above it starch sets and water evaporates: what cools then is bread."""


@frozen
class Cooling(Course):
    """How a piece cools or warms: ask it for a state, a course, or the time to a temperature."""

    cautions: tuple[Caution, ...] = ()

    def after(self, time: Measure) -> CoolingState:
        """Find the temperatures after a time, and the heat given off until then.

        Args:
            time: a time from the start.

        Raises:
            QuantityError: when ``time`` is no time.

        Example:
            >>> made = cooling("1 kg", shape="sphere", start="26 °C", air="4 °C").after("2 h")
            >>> round(made.core_c, 1), round(made.mean_c, 1), round(made.surface_c, 1)
            (14.8, 11.8, 10.0)
        """
        return self._state(read(TIME, time, "time"))

    def course(self, time: Measure, steps: int = 12) -> tuple[CoolingState, ...]:
        """Find the course of the temperatures: the states at equal steps from the start to a time.

        Args:
            time: the end.
            steps: how many, 1 to 10,000; one more state than steps is returned.

        Raises:
            QuantityError: when one of them is none.

        Example:
            >>> course = cooling("1 kg", shape="sphere", start="26 °C", air="4 °C").course("3 h", steps=3)
            >>> [round(state.core_c) for state in course]
            [26, 22, 15, 11]
        """
        with Door() as door:
            time_h = door.read(TIME, time, "time")
            _read_count(door, steps, "steps", 1, 10_000)
        return tuple(self._state(time_h * step / steps) for step in range(steps + 1))

    def _state(self, time_h: float) -> CoolingState:
        core_c, mean_c, surface_c = (self.temperature_c(where, time_h) for where in WHERES)
        lost_k = self.start_c + self.self_warming_k_h * time_h - mean_c
        heat_kj = self.mass_g / 1000 * self.specific_heat_kj_kg_k * lost_k
        return CoolingState(self, time_h, core_c, mean_c, surface_c, heat_kj, self.cautions)

    def local_temperatures(self, time: Measure, nodes: int = 8) -> LocalTemperatures:
        """Find the temperatures throughout the piece after a time, each with the share of the volume it stands for.

        Args:
            time: a time from the start.
            nodes: places along each direction, 2 to 32; a cylinder has two directions.

        Raises:
            QuantityError: when one of them is none.

        Accuracy: with 8 places the mean is good to 1e-6 of the first difference once the Fourier number passes 0.05,
        and to 1e-2 before.

        Example:
            >>> places = cooling("1 kg", shape="sphere", start="26 °C", air="4 °C").local_temperatures("1 h")
            >>> round(places.mean_c, 2), round(places.mean_of(lambda temperature_c: temperature_c**2), 1)
            (16.98, 292.2)
        """
        with Door() as door:
            time_h = door.read(TIME, time, "time")
            _read_count(door, nodes, "nodes", 2, 32)
        shares, temperatures_c = zip(*self.local_c(time_h, nodes), strict=True)
        return LocalTemperatures(self, time_h, shares, temperatures_c, self.cautions)

    def time_to(
        self, *, core: Measure | None = None, mean: Measure | None = None, surface: Measure | None = None
    ) -> CoolingTime:
        """Find the time until a temperature is first reached at one place; give one of the three.

        Args:
            core: a temperature of the core, which lags behind.
            mean: a mean temperature over the volume.
            surface: a temperature of the surface; of a cylinder, of the middle of its side.

        Returns:
            ``time``, with ``low`` and ``high``: the earliest and the latest that the printed spread of the properties
            allows which were not given; the same as ``time`` if all were. ``high_h`` is infinite if it may never be.

        Raises:
            QuantityError: none or several given, or a temperature that is never reached; the message has the nearest.

        Example:
            >>> made = cooling("1 kg", shape="sphere", start="26 °C", air="3 °C").time_to(core="5 °C")
            >>> round(made.time_h, 1), round(made.low_h, 1), round(made.high_h, 1)
            (5.4, 3.6, 8.6)
        """
        asked: tuple[tuple[Where, Measure | None], ...] = (("core", core), ("mean", mean), ("surface", surface))
        given: list[tuple[Where, Measure]] = [(where, value) for where, value in asked if value is not None]
        if len(given) != 1:
            got = " and ".join(where for where, _ in given) or "nothing"
            raise QuantityError(Fault("time_to", got, "one of core, mean and surface", 'for example core="5 °C"'))
        where, value = given[0]
        target_c = read(TEMPERATURE, value, where)
        time_h = self.time_to_h(where, target_c)
        if math.isinf(time_h):
            raise QuantityError(self._never(where, target_c))
        times_h = [time_h, *(course.time_to_h(where, target_c) for course in self._corners())]
        return CoolingTime(self, where, target_c, time_h, min(times_h), max(times_h), self.cautions)

    def _corners(self) -> tuple[Cooling, ...]:
        """Return the same piece with every property that was not given at either end of its printed spread."""
        # The density is left: it is a matter of how far the dough has risen, and would change the size of the piece.
        spread = {name: constant.uncertainty for name, constant in self.assumed if name != "density"}

        def ends(name: str, value: float) -> tuple[float, ...]:
            return (value - spread[name], value + spread[name]) if name in spread else (value,)

        return tuple(
            evolve(self, heat_transfer_w_m2_k=h, conductivity_w_m_k=k, specific_heat_kj_kg_k=c)
            for h, k, c in product(
                ends("heat_transfer", self.heat_transfer_w_m2_k),
                ends("conductivity", self.conductivity_w_m_k),
                ends("specific_heat", self.specific_heat_kj_kg_k),
            )
        )

    def _never(self, where: Where, target_c: float) -> Fault:
        low_c, high_c = self.extremes_c(where)
        expected = f"a temperature that the {where} reaches, between {shown(low_c, 4)} and {shown(high_c, 4)} °C"
        settles_c = self.settles_c(where)
        short_c = settles_c + math.copysign(0.5, self.start_c - settles_c)
        fix = f"it nears {shown(settles_c, 4)} °C without ever quite being there"
        near_h = self.time_to_h(where, short_c)
        if math.isfinite(near_h) and near_h > 0:
            fix += f"; it is at {shown(short_c, 4)} °C after {shown(near_h, 3)} h"
        return Fault(where, write(TEMPERATURE, target_c), expected, fix)

    def working(self) -> Working:
        """Show the steps; the last line is the time constant."""
        return Working("Cooling: the time constant", tuple(self.tau_steps()), self.cautions)


def cooling(
    mass: Measure,
    *,
    shape: Shape,
    start: Measure,
    air: Measure,
    thickness: Measure | None = None,
    diameter: Measure | None = None,
    length: Measure | None = None,
    ratio: float | None = None,
    faces: int = 2,
    heat_transfer: Measure | None = None,
    conductivity: Measure | None = None,
    density: Measure | None = None,
    specific_heat: Measure | None = None,
    self_warming: Measure = "0 K/h",
    method: Choice = "auto",
) -> Cooling:
    """Find how a piece or a mass of dough cools or warms in air of one temperature.

    Where h (V / A) / k < 0.1 it is at one temperature throughout: T = air + (start - air) exp(-t / tau) with
    tau = rho c (V / A) / h.  Elsewhere the series over the roots of its shape is summed; see ``excess``.

    Args:
        mass: the mass of the piece.
        shape: "sphere" (a rounded piece), "cylinder" (a long one) or "slab" (a flat layer, whose edges do not count).
        start: the dough's temperature at the start, the same throughout.
        air: the temperature of the air, which stays as it is.
        thickness: of a slab.
        diameter: of a cylinder; or give its ``length``, or its ``ratio``.
        length: of a cylinder.
        ratio: of a cylinder, length over diameter, a plain number.
        faces: on how many faces a slab gives off heat: 2 in the air, 1 in a tub or on a board that lets none through.
        heat_transfer: h, between dough and air; "11.5 W/m2K" is assumed. Wind makes it more, a cover less.
        conductivity: k, of the dough; "0.5 W/mK" is assumed.
        density: rho, its gas included; "1210 kg/m3" is assumed, a dough without gas.
        specific_heat: c, of the dough; "2.7 kJ/kgK" is assumed.
        self_warming: by how much the dough would warm by itself if no heat left it, such as "1.5 K/h"; none is assumed.
        method: "auto", or "lumped" or "series" whatever the Biot number.

    Returns:
        ``tau``, ``biot`` and ``method``; ask it for ``after(time)``, ``course(time)``, ``time_to(core=...)`` and
        ``local_temperatures(time)``.  With cautions for assumed properties, a lumped body that is too large for it,
        self-warming, freezing and heat above that of dough.

    Raises:
        QuantityError: for every bad argument at once; a size that the shape has no use for, or one that is missing.

    Accuracy: the sum is good to 1e-6 of the first difference; the model is not.  The printed spread of its properties
    moves a time by a third either way or more.  It knows no drying of the skin, which cools, no heat from racks, no
    freezing, no growing of the dough, and a self-warming that does not slow down in the cold.

    Example:
        >>> made = cooling("900 g", shape="cylinder", diameter="9 cm", start="26 °C", air="4 °C")
        >>> made.method, round(made.biot, 2), round(made.time_to(core="7 °C").time_h, 1)
        ('series', 0.37, 4.0)
    """
    sizes: dict[str, Measure | float | None]
    sizes = {"thickness": thickness, "diameter": diameter, "length": length, "ratio": ratio}
    values = (heat_transfer, conductivity, density, specific_heat)
    properties = {name: value for (name, _, _), value in zip(PROPERTIES, values, strict=True)}
    with Door() as door:
        start_c = door.read(TEMPERATURE, start, "start")
        air_c = door.read(TEMPERATURE, air, "air")
        warming_k_h = door.read(WARMING, self_warming, "self_warming")
        piece = read_piece(door, mass, shape, sizes, faces, properties)
        if method not in get_args(Choice):
            door.refuse("method", repr(method), f"one of {', '.join(repr(name) for name in get_args(Choice))}")
    # Where the piece is None, the door has said why and let nobody through.
    piece = cast("Piece", piece)
    chosen: Method = method if method != "auto" else "lumped" if piece.biot < LUMPED_LIMIT.value else "series"
    made = Cooling(
        **asdict(piece, recurse=False),
        start_c=start_c,
        air_c=air_c,
        self_warming_k_h=warming_k_h,
        method=chosen,
    )
    return evolve(made, cautions=_cautions(made))


def _cautions(course: Course) -> tuple[Caution, ...]:
    found: list[Caution] = []
    if course.assumed:
        taken = ", ".join(
            f"{name.replace('_', ' ')} {shown(constant.value)} ± {shown(constant.uncertainty)} {constant.unit}"
            for name, constant in course.assumed
        )
        risen = "; risen dough is lighter" if "density" not in course.given else ""
        found.append(Caution("assumed-properties", f"Assumed, for want of better: {taken}{risen}."))
    if course.method == "lumped" and course.biot >= LUMPED_LIMIT.value:
        text = (
            f"At a Biot number of {shown(course.biot, 2)} the core lags behind: one temperature throughout is too fast."
        )
        found.append(Caution("lumped-too-large", text))
    if course.self_warming_k_h:
        text = (
            "The dough is taken to warm itself as long as it lies there, however cold it gets; the truth lies between"
            " this and no self-warming at all. Left alone, its core would settle at"
            f" {shown(course.settles_c('core'), 3)} °C. The trade's figures, 1 to 2 °C an hour, are of low authority."
        )
        found.append(Caution("self-warming", text))
    if min(course.start_c, course.air_c) < FREEZING.value:
        text = (
            f"Dough begins to freeze near {shown(FREEZING.value)} °C, and the heat that ice sets free is not counted:"
            " from there on it takes much longer."
        )
        found.append(Caution("freezing", text))
    if max(course.start_c, course.air_c) > _HOTTEST_C:
        text = (
            f"Above {shown(_HOTTEST_C)} °C starch sets and water evaporates: these sums are for dough, not for bread."
        )
        found.append(Caution("too-hot-for-dough", text))
    return tuple(found)


def _read_count(door: Door, value: object, where: str, least: int, most: int) -> None:
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        door.refuse(where, repr(value), f"a whole number from {least} to {most:,}")
