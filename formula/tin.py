"""Tins: how much dough one takes, how full a dough makes it, and how large a one it needs.

Of the three, volume, dough and filling, any two give the third.  The filling is the mass of dough for each litre of tin; it
depends on the bread and has no default, but a tin that is known gives it.  The sure way to a tin's volume is to fill it
with water on a scale.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import ClassVar, Final, Literal

from attrs import frozen

from .piece import DOUGH_DENSITY
from .quantity import DENSITY, LENGTH, MASS, SHARE, TEMPERATURE, VOLUME, Door, Measure, OptionalView, View, write
from .readerunits import with_units
from .sources import Constant
from .working import Caution, Step, Working, shown

__all__ = [
    "WATER_DENSITY",
    "Sought",
    "Tin",
    "TinFill",
    "box_volume_ml",
    "fill_tin",
    "round_volume_ml",
    "sought_step",
    "two_of_three",
    "water_density_kg_m3",
]

_WHERE: Final = "density of water at 101.325 kPa"
WATER_DENSITY: Final[tuple[tuple[float, Constant], ...]] = tuple(
    (celsius, Constant(density, "kg/m3", 0.001, "iapws", _WHERE))
    for celsius, density in (
        (0.01, 999.844), (5.0, 999.967), (10.0, 999.703), (15.0, 999.103), (20.0, 998.207),
        (25.0, 997.048), (30.0, 995.650), (40.0, 992.216), (50.0, 988.035),
    )
)  # fmt: skip
"""By temperature, °C."""
PLAIN_WATER: Final = Constant(
    1000.0, "kg/m3", 5.0, "common-practice", "1 g of water is 1 mL, where no temperature is told"
)


def water_density_kg_m3(temperature_c: float) -> float:
    """Return the density of water, kg/m³, on straight lines between the tabled temperatures.

    Args:
        temperature_c: from 0.01 to 50 °C.

    Accuracy: 0.11 kg/m³, a hundredth of a percent.

    Example:
        >>> round(water_density_kg_m3(22.5), 2)
        997.63
    """
    for (low_c, low), (high_c, high) in pairwise(WATER_DENSITY):
        if low_c <= temperature_c <= high_c:
            return low.value + (high.value - low.value) * (temperature_c - low_c) / (high_c - low_c)
    return math.nan


def box_volume_ml(
    length_m: float, width_m: float, bottom_length_m: float, bottom_width_m: float, height_m: float
) -> float:
    """Return the volume of a tin with sloping sides, mL: h / 6 * (top + bottom + 4 * middle), areas.

    Args:
        length_m: at the rim, m.
        width_m: at the rim, m.
        bottom_length_m: at the bottom, m.
        bottom_width_m: at the bottom, m.
        height_m: h, upright, m.

    Example:
        >>> round(box_volume_ml(0.3, 0.1, 0.3, 0.1, 0.1), 6)
        3000.0
    """
    middle = (length_m + bottom_length_m) * (width_m + bottom_width_m)
    return 1e6 * height_m / 6 * (length_m * width_m + bottom_length_m * bottom_width_m + middle)


def round_volume_ml(diameter_m: float, bottom_diameter_m: float, height_m: float) -> float:
    """Return the volume of a round tin with sloping sides, mL: pi h / 12 * (D² + D d + d²).

    Args:
        diameter_m: D, at the rim, m.
        bottom_diameter_m: d, at the bottom, m.
        height_m: h, upright, m.

    Example:
        >>> round(round_volume_ml(0.2, 0.2, 0.1), 1)
        3141.6
    """
    squares = diameter_m**2 + diameter_m * bottom_diameter_m + bottom_diameter_m**2
    return 1e6 * math.pi * height_m / 12 * squares


@frozen(init=False)
class Tin:
    """A tin by its volume, by the water that fills it, or by its measures.

    Args:
        volume: to the rim, a volume; or
        water: the mass of the water that fills it to the rim; with ``temperature``, the water's, to be exact; or
        length, width, height: of a tin with corners, at the rim; ``bottom_length`` and ``bottom_width`` where its sides
            slope, both or neither; or
        diameter, height: of a round one, at the rim; ``bottom_diameter`` where its sides slope.

    Raises:
        QuantityError: a bad measure, or not exactly one of the four ways; all of it at once.

    Range and accuracy: by water as exact as the scale, and half a percent without a temperature; measures leave out
    rounded corners, which take some percent.

    Example:
        >>> Tin(water="1.48 kg").volume_ml, round(Tin(length="30 cm", width="11 cm", height="10 cm").volume_ml)
        (1480.0, 3300)
    """

    volume_ml: float
    water_g: float | None
    temperature_c: float | None
    sizes_m: tuple[tuple[str, float], ...]
    cautions: tuple[Caution, ...]

    def __init__(
        self,
        volume: Measure | None = None,
        *,
        water: Measure | None = None,
        temperature: Measure | None = None,
        length: Measure | None = None,
        width: Measure | None = None,
        bottom_length: Measure | None = None,
        bottom_width: Measure | None = None,
        diameter: Measure | None = None,
        bottom_diameter: Measure | None = None,
        height: Measure | None = None,
    ) -> None:
        """Read every argument and tell of all the bad ones at once."""
        sizes = {
            "length": length, "width": width, "bottom_length": bottom_length, "bottom_width": bottom_width,
            "diameter": diameter, "bottom_diameter": bottom_diameter, "height": height,
        }  # fmt: skip
        given = {name for name, value in (*sizes.items(), ("volume", volume), ("water", water)) if value is not None}
        ways = (
            {"volume"}, {"water"}, {"length", "width", "height"}, {"diameter", "height"},
            {"length", "width", "height", "bottom_length", "bottom_width"}, {"diameter", "height", "bottom_diameter"},
        )  # fmt: skip
        water_g = temperature_c = None
        with Door() as door:
            if given not in ways:
                expected = "volume, or water, or length, width and height, or diameter and height"
                mend = "give one way only; sloping sides add bottom_length and bottom_width, or bottom_diameter"
                door.refuse("tin", ", ".join(sorted(given)) or "nothing", expected, mend)
            found = {
                name: door.read_above_zero(LENGTH, value, name) for name, value in sizes.items() if value is not None
            }
            volume_ml = math.nan if volume is None else door.read_above_zero(VOLUME, volume, "volume")
            if water is not None:
                water_g = door.read_above_zero(MASS, water, "water")
            if temperature is not None:
                temperature_c = _water_temperature(door, temperature, measured=water is not None)
        if water_g is not None:
            volume_ml = 1000 * water_g / _density(temperature_c)
        elif found:
            volume_ml = _volume_ml(found)
        for name, value in (
            ("volume_ml", volume_ml),
            ("water_g", water_g),
            ("temperature_c", temperature_c),
            ("sizes_m", tuple(found.items())),
            ("cautions", ()),
        ):
            object.__setattr__(self, name, value)

    volume: ClassVar[View] = View(VOLUME, "volume_ml", "The volume to the rim.")
    water: ClassVar[OptionalView] = OptionalView(MASS, "water_g", "The water that filled it.")
    temperature: ClassVar[OptionalView] = OptionalView(
        TEMPERATURE, "temperature_c", "The temperature of that water, where it was told."
    )

    def working(self) -> Working:
        """Show the steps; the last line is the volume."""
        return Working("Volume of a tin", self.volume_steps(), self.cautions)

    def volume_steps(self) -> tuple[Step, ...]:
        """Show how the volume follows from what was given; one that was given itself stands alone."""
        if self.water_g is not None:
            values = {"water": self.water_g, "rho": _density(self.temperature_c)}
            origin = PLAIN_WATER.source if self.temperature_c is None else WATER_DENSITY[0][1].source
            units = {"water": "g", "rho": "kg/m3"}
            note = "the water that fills it"
            return (Step("V", "1000 * water / rho", values, self.volume_ml, "mL", origin, note, units),)
        if not self.sizes_m:
            return (Step("V", "V", {"V": self.volume_ml}, self.volume_ml, "mL", note="as given", units={"V": "mL"}),)
        short = {"length": "l", "width": "w", "height": "h", "diameter": "D", "bottom_length": "l_b", "bottom_width": "w_b", "bottom_diameter": "d"}  # fmt: skip
        sizes = {short[name]: value for name, value in self.sizes_m}
        if "D" in sizes:
            sizes = {"d": sizes["D"], "pi": math.pi, **sizes}
            expression = "10 ** 6 * pi * h / 12 * (D ** 2 + D * d + d ** 2)"
        else:
            sizes = {"l_b": sizes["l"], "w_b": sizes["w"], **sizes}
            expression = "10 ** 6 * h / 6 * (l * w + l_b * w_b + (l + l_b) * (w + w_b))"
        units, note = (
            {name: "1" if name == "pi" else "m" for name in sizes},
            "measures in m, at the rim and at the bottom",
        )
        return (Step("V", expression, sizes, self.volume_ml, "mL", note=note, units=units),)


def _water_temperature(door: Door, temperature: Measure, *, measured: bool) -> float:
    celsius = door.read(TEMPERATURE, temperature, "temperature")
    low_c, high_c = WATER_DENSITY[0][0], WATER_DENSITY[-1][0]
    if not measured:
        door.refuse("temperature", "a value", "nothing without water", "it is the temperature of the water in the tin")
    elif celsius < low_c or celsius > high_c:
        door.refuse(
            "temperature", write(TEMPERATURE, celsius), f"from {low_c} to {high_c:g} °C", "fill it with tap water"
        )
    return celsius


def _density(temperature_c: float | None) -> float:
    return PLAIN_WATER.value if temperature_c is None else water_density_kg_m3(temperature_c)


def _volume_ml(sizes_m: dict[str, float]) -> float:
    height_m = sizes_m["height"]
    if "diameter" in sizes_m:
        return round_volume_ml(sizes_m["diameter"], sizes_m.get("bottom_diameter", sizes_m["diameter"]), height_m)
    length_m, width_m = sizes_m["length"], sizes_m["width"]
    return box_volume_ml(
        length_m, width_m, sizes_m.get("bottom_length", length_m), sizes_m.get("bottom_width", width_m), height_m
    )


Sought = Literal["dough", "filling", "size"]


@frozen
class TinFill:
    """A tin, its dough and its filling, two of which were given: ``sought`` is the third."""

    tin: Tin | None
    volume_ml: float
    dough_g: float
    filling_kg_m3: float
    density_kg_m3: float
    given_filled_share: float | None
    sought: Sought
    cautions: tuple[Caution, ...] = ()

    volume: ClassVar[View] = View(VOLUME, "volume_ml", "The volume of the tin.")
    dough: ClassVar[View] = View(MASS, "dough_g", "The dough in it, on the divider's scale.")
    filling: ClassVar[View] = View(DENSITY, "filling_kg_m3", "Dough for each volume of tin; kg/m³ is g/L.")
    density: ClassVar[View] = View(DENSITY, "density_kg_m3", "The density of the dough before it rises.")
    filled: ClassVar[View] = View(SHARE, "filled_share", "The part of the tin that the dough takes up before it rises.")

    @property
    def filled_share(self) -> float:
        """The part of the tin that the dough takes up before it rises."""
        return self.filling_kg_m3 / self.density_kg_m3

    def working(self) -> Working:
        """Show the steps; the last line is what was sought."""
        steps = [] if self.tin is None else list(self.tin.volume_steps())
        if self.given_filled_share is not None:
            values = {"filled": self.given_filled_share, "rho_dough": self.density_kg_m3}
            steps.append(
                Step("filling", "filled * rho_dough", values, self.filling_kg_m3, "g/L", note="before it rises")
            )
        parts = {"V": self.volume_ml, "dough": self.dough_g, "filling": self.filling_kg_m3}
        found = {
            "dough": ("dough", "filling * V / 1000", "g"),
            "filling": ("filling", "1000 * dough / V", "g/L"),
            "size": ("V", "1000 * dough / filling", "mL"),
        }
        told = {"1": "filled", "kg/m3": "rho_dough", "mL": "V", "g": "dough", "g/L": "filling"}
        whole = with_units((*steps, sought_step(found[self.sought], parts)), told)
        return Working("Dough for a tin", whole, self.cautions)


def sought_step(found: tuple[str, str, str], parts: dict[str, float]) -> Step:
    """Return the step of the symbol, expression and unit that were sought among three parts."""
    symbol, expression, unit = found
    values = {name: value for name, value in parts.items() if name != symbol}
    return Step(symbol, expression, values, parts[symbol], unit)


def two_of_three(
    door: Door, name: str, size: float | None, dough_g: float | None, filling: float | None, factor: float
) -> tuple[Sought, float, float, float]:
    """Find the third of size, dough and filling: dough = factor * filling * size; all three, or one alone, are refused.

    Args:
        door: where a fault is noted.
        name: what has the size: "tin" or "tray".
        size: volume or area, None if it is sought.
        dough_g: the dough, g.
        filling: dough for each volume or area.
        factor: from the unit of filling times size to grams.
    """
    parts = {name: size, "dough": dough_g, "filling": filling}
    given = [part for part, value in parts.items() if value is not None]
    if len(given) != 2:
        mend = "a known one gives the filling" if dough_g is None and filling is None else "leave out what is sought"
        got = f"{given[0]} alone" if len(given) == 1 else ", ".join(given) or "nothing"
        door.refuse(name, got, f"two of {name}, dough and filling", mend)
    if size is not None and filling is not None:
        return "dough", size, factor * filling * size, filling
    if dough_g is None:
        return "size", math.nan, math.nan, math.nan
    if size is not None:
        return "filling", size, dough_g, dough_g / (factor * size) if size else math.nan
    return "size", dough_g / (factor * filling) if filling else math.nan, dough_g, filling or math.nan


def fill_tin(
    tin: Tin | Measure | None = None,
    *,
    dough: Measure | None = None,
    filling: Measure | None = None,
    filled: Measure | None = None,
    density: Measure | None = None,
) -> TinFill:
    """Find the dough for a tin, the filling that a dough makes, or the tin that a dough needs: dough = filling * volume.

    Give two of tin, dough and filling.  For another tin, take the filling of one that is known:
    ``fill_tin("2 L", filling=fill_tin("1.5 L", dough="700 g").filling)``.

    Args:
        tin: a ``Tin`` or its volume.
        dough: the piece on the divider's scale, a mass.
        filling: dough for each volume of tin, a density such as "450 g/L"; or
        filled: the part of the tin that the dough takes up before it rises, a share.
        density: the dough's before it rises; 1210 kg/m3, dough without gas, if left out.

    Raises:
        QuantityError: a bad measure, or not exactly two of the three; all of it at once.

    Range and accuracy: plain proportion.  There is no default filling, for it is a matter of the bread and of the crumb
    one wants; a dough of other flour or hydration fills the same tin differently.

    Example:
        >>> fill_tin("1.5 L", filling="450 g/L").dough_g, fill_tin("1.5 L", dough="675 g").filling_kg_m3
        (675.0, 450.0)
    """
    with Door() as door:
        size = (
            tin.volume_ml if isinstance(tin, Tin) else None if tin is None else door.read_above_zero(VOLUME, tin, "tin")
        )
        dough_g = None if dough is None else door.read_above_zero(MASS, dough, "dough")
        amount = None if filling is None else door.read_above_zero(DENSITY, filling, "filling")
        own = DOUGH_DENSITY.value if density is None else door.read_above_zero(DENSITY, density, "density")
        share = None
        if filled is not None:
            share = door.read_above_zero(SHARE, filled, "filled")
            if share > 1:
                door.refuse(
                    "filled", write(SHARE, share), "100 % at most", "it is the part taken up before the dough rises"
                )
            if amount is not None:
                door.refuse("filled", "a value", "nothing beside filling", "give one of the two")
            amount = share * own
        sought, volume_ml, mass_g, filling_kg_m3 = two_of_three(door, "tin", size, dough_g, amount, 1e-3)
    found: tuple[Caution, ...] = ()
    if filling_kg_m3 > own:
        text = (
            f"{shown(filling_kg_m3, 4)} g of dough for each litre is more than dough itself weighs, {shown(own, 4)} g: it will"
            " not go in."
        )
        found = (Caution("overfull", text),)
    return TinFill(
        tin=tin if isinstance(tin, Tin) else None,
        volume_ml=volume_ml,
        dough_g=mass_g,
        filling_kg_m3=filling_kg_m3,
        density_kg_m3=own,
        given_filled_share=share,
        sought=sought,
        cautions=found,
    )
