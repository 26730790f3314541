"""Ice: how much of the dough water to weigh as ice so that it acts like colder water.

The water drawn from the tap cools, the ice melts, and both meet at the wanted temperature.  Either the ice replaces
water of the formula (``keep="total"``: ice and water together weigh what the formula says), or it comes on top of it
(``keep="water"``).  A wanted temperature below freezing is sound bookkeeping: the ice goes on melting in the dough.
The often copied shortcut that divides by the heat of fusion alone forgets that the melted ice must still be warmed to
the wanted temperature, and takes too much ice.
"""

from __future__ import annotations

from typing import ClassVar, Final, Literal, get_args

from attrs import frozen

from .quantity import MASS, TEMPERATURE, Door, Measure, View, write
from .readerunits import with_units
from .sources import Constant
from .working import Caution, Step, Working, shown

__all__ = [
    "ICE_HEAT_RATIO",
    "LARGEST_TABULATED_SHARE",
    "LATENT_K",
    "IceFor",
    "Keep",
    "Latent",
    "ice_cautions",
    "ice_for",
    "ice_on_top_g",
    "ice_replacing_g",
    "ice_takes_k",
    "iced_water_c",
]

Keep = Literal["total", "water"]
Latent = Literal["trade", "physical"]

_TRADE_LATENT: Final = Constant(
    80.0, "K", 0.6, "koerner-ice-table", "80 kcal/kg over 1 kcal/kg K, in °F 144: the table's rule"
)
_PHYSICAL_LATENT: Final = Constant(79.4, "K", 0.3, "iapws", "333.427 kJ/kg over the mean 4.197 kJ/kg K from 0 to 20 °C")
LATENT_K: Final = (("trade", _TRADE_LATENT), ("physical", _PHYSICAL_LATENT))
"""Heat of fusion of ice over the heat capacity of water, by the name of the choice."""

ICE_HEAT_RATIO: Final = Constant(
    2.03 / 4.19, "1", 0.016, "iapws", "2.03 kJ/kg K for ice from -18 to 0 °C over 4.19 for water"
)
"""Heat capacity of ice over that of water."""

_UNITS: Final = {"°C": "tap wanted ice_temperature", "K": "L_c", "1": "ci_c", "g": "water"}

LARGEST_TABULATED_SHARE: Final = Constant(0.573, "1", 0.0005, "koerner-ice-table", "tap 80 °F, calculated water -30 °F")
"""The largest share of ice in the dough water for which the trade prints a figure."""


def ice_replacing_g(
    water_g: float,
    tap_c: float,
    wanted_c: float,
    ice_c: float = 0.0,
    latent_k: float = _TRADE_LATENT.value,
    ice_heat_ratio: float = ICE_HEAT_RATIO.value,
) -> float:
    """Return the ice when it replaces part of the water: I = W (T - R) / (T + L/c + (ci/c) abs(ti)).

    Args:
        water_g: W, water and ice together, g.
        tap_c: T, the tap water, °C.
        wanted_c: R, the temperature the water must act like, °C, at most T and at least -(L/c + (ci/c) abs(ti)).
        ice_c: ti, the ice, °C, at most 0.
        latent_k: L/c, heat of fusion over heat capacity of water, K.
        ice_heat_ratio: ci/c, heat capacity of ice over that of water.

    Example:
        >>> round(ice_replacing_g(30_000.0, 18.0, 13.0), 1)
        1530.6
    """
    # The temperatures are divided first: their ratio cannot pass 1, so the ice cannot pass the water by rounding.
    return water_g * ((tap_c - wanted_c) / (tap_c + (latent_k - ice_heat_ratio * ice_c)))


def ice_on_top_g(
    water_g: float,
    tap_c: float,
    wanted_c: float,
    ice_c: float = 0.0,
    latent_k: float = _TRADE_LATENT.value,
    ice_heat_ratio: float = ICE_HEAT_RATIO.value,
) -> float:
    """Return the ice when it comes on top of the water: I = W (T - R) / (R + L/c + (ci/c) abs(ti)).

    Args:
        water_g: W, the water drawn from the tap, g.
        tap_c: T, the tap water, °C.
        wanted_c: R, the temperature the water must act like, °C, at most T and above -(L/c + (ci/c) abs(ti)).
        ice_c: ti, the ice, °C, at most 0.
        latent_k: L/c, heat of fusion over heat capacity of water, K.
        ice_heat_ratio: ci/c, heat capacity of ice over that of water.

    Example:
        >>> round(ice_on_top_g(40_000.0, 20.0, 10.0), 1)
        4444.4
    """
    return water_g * ((tap_c - wanted_c) / (wanted_c + (latent_k - ice_heat_ratio * ice_c)))


def iced_water_c(water_g: float, water_c: float, ice_g: float, takes_k: float = _TRADE_LATENT.value) -> float:
    """Return what water and ice act like together: (w T - I D) / (w + I), D = L/c + (ci/c) abs(ti).

    Args:
        water_g: w, the liquid water, g.
        water_c: T, its temperature, °C.
        ice_g: I, the ice, g.
        takes_k: D, what ice takes up in warming to 0 °C and melting, in degrees of water, K; 80 is the trade's for ice
            at 0 °C.

    Example:
        >>> iced_water_c(15_000.0, 20.0, 5_000.0)
        -5.0
    """
    return (water_g * water_c - ice_g * takes_k) / (water_g + ice_g)


def ice_takes_k(latent: Latent, ice_c: float) -> float:
    """Return what ice takes up in warming to 0 °C and melting, in degrees of its weight of water: L/c + (ci/c) abs(ti).

    Args:
        latent: which L/c, "trade" or "physical".
        ice_c: ti, the ice, °C, at most 0.

    Example:
        >>> ice_takes_k("trade", 0.0)
        80.0
    """
    return dict(LATENT_K)[latent].value - ICE_HEAT_RATIO.value * ice_c


@frozen
class IceFor:
    """What to weigh: ``ice``, and ``water`` to draw from the tap; ``total`` is both."""

    formula_water_g: float
    tap_c: float
    wanted_c: float
    ice_temperature_c: float
    keep: Keep
    latent: Latent
    ice_g: float
    water_g: float
    total_g: float
    cautions: tuple[Caution, ...] = ()

    formula_water: ClassVar[View] = View(MASS, "formula_water_g", "The water the formula asks for.")
    tap: ClassVar[View] = View(TEMPERATURE, "tap_c", "The temperature of the tap water.")
    wanted: ClassVar[View] = View(TEMPERATURE, "wanted_c", "The temperature the water must act like.")
    ice_temperature: ClassVar[View] = View(TEMPERATURE, "ice_temperature_c", "The temperature of the ice.")
    ice: ClassVar[View] = View(MASS, "ice_g", "The ice to weigh.")
    water: ClassVar[View] = View(MASS, "water_g", "The liquid water to draw: what the water meter must be set to.")
    total: ClassVar[View] = View(MASS, "total_g", "Ice and water together.")

    def working(self) -> Working:
        """Show the steps; the last line is the ice."""
        latent = dict(LATENT_K)[self.latent]
        colder = self.ice_temperature_c < 0
        base, base_c = ("tap", self.tap_c) if self.keep == "total" else ("wanted", self.wanted_c)
        values = {base: base_c, "L_c": latent.value}
        expression = f"{base} + L_c"
        divisor = base_c + latent.value
        if colder:
            values |= {"ci_c": ICE_HEAT_RATIO.value, "ice_temperature": self.ice_temperature_c}
            expression += " - ci_c * ice_temperature"
            divisor -= ICE_HEAT_RATIO.value * self.ice_temperature_c
        note = f"what each part of ice takes up, in degrees of water; L_c: {latent.where}"
        per_water = (self.tap_c - self.wanted_c) / divisor
        share = {"tap": self.tap_c, "wanted": self.wanted_c, "D": divisor}
        mass, part = {"water": self.formula_water_g}, {"x": per_water}
        liquid = "water * (1 - x)" if self.keep == "total" else "water"
        steps = (
            Step("D", expression, values, divisor, "K", latent.source, note),
            Step("x", "(tap - wanted) / D", share, per_water, "1", note="ice per part of the formula's water"),
            Step(
                "draw",
                liquid,
                mass | part if self.keep == "total" else mass,
                self.water_g,
                "g",
                note="water to draw",
            ),
            Step("ice", "water * x", mass | part, self.ice_g, "g"),
        )
        kept = "replacing water" if self.keep == "total" else "on top of the water"
        return Working(f"Ice {kept}", with_units(steps, _UNITS), self.cautions)


def ice_for(
    water: Measure,
    *,
    tap: Measure,
    wanted: Measure,
    ice: Measure = "0 °C",
    keep: Keep = "total",
    latent: Latent = "trade",
) -> IceFor:
    """Find the ice that brings the dough water from the tap's temperature to the wanted one.

    keep="total": I = W (T - R) / (T + L/c + (ci/c) abs(ti)); keep="water": I = W (T - R) / (R + L/c + (ci/c) abs(ti)).

    Args:
        water: W, the water the formula asks for, a mass.
        tap: T, the tap water, a temperature from 0 to 100 °C.
        wanted: R, the water temperature asked for, at most that of the tap; below freezing it is bookkeeping.
        ice: ti, the temperature of the ice, at most 0 °C.
        keep: what stays at the formula's weight: "total" (ice replaces water) or "water" (ice comes on top).
        latent: L/c as the trade rounds it ("trade": 80 K, that is 144 °F) or as measured ("physical": 79.4 K).

    Returns:
        ``ice``, ``water`` to draw, ``total``; with cautions about the kind of ice, more water than the formula's, a share
        of ice beyond the trade's tables, and a wanted temperature below freezing.

    Raises:
        QuantityError: a bad argument, ice above 0 °C, a wanted temperature above the tap's, or one that cannot be reached
            even with all of it ice; the message names the coldest that can.

    Accuracy: the two values of ``latent`` differ by 0.6 % of the ice at a tap of 20 °C; heat from bowl, flour and air is
    not in it.  No source says which way to round; up is the side of a dough that is not too warm.

    Example:
        >>> made = ice_for("20 kg", tap="18 °C", wanted="6 °C")
        >>> round(made.ice_g), round(made.water_g)
        (2449, 17551)
    """
    with Door() as door:
        water_g = door.read(MASS, water, "water")
        tap_c = door.read(TEMPERATURE, tap, "tap")
        wanted_c = door.read(TEMPERATURE, wanted, "wanted")
        ice_c = door.read(TEMPERATURE, ice, "ice")
        for name, value, choices in (("keep", keep, get_args(Keep)), ("latent", latent, get_args(Latent))):
            if value not in choices:
                door.refuse(name, repr(value), f'one of "{choices[0]}", "{choices[1]}"')
        if tap_c < 0 or tap_c > 100:
            door.refuse("tap", write(TEMPERATURE, tap_c), "liquid water, from 0 to 100 °C")
        if ice_c > 0:
            door.refuse("ice", write(TEMPERATURE, ice_c), "ice, at most 0 °C", "above that it is water")
        if wanted_c > tap_c:
            expected = f"at most the tap's {write(TEMPERATURE, tap_c)}"
            door.refuse("wanted", write(TEMPERATURE, wanted_c), expected, "no ice is needed: warm the water")
        if not door.faults:
            coldest_c = -(dict(LATENT_K)[latent].value - ICE_HEAT_RATIO.value * ice_c)
            if wanted_c < coldest_c or (keep == "water" and wanted_c == coldest_c):
                reach = "no less than" if keep == "total" else "more than"
                expected = f"{reach} {coldest_c:.1f} °C, the coldest that ice alone can stand for"
                door.refuse("wanted", write(TEMPERATURE, wanted_c), expected, "chill the flour as well")
    latent_k = dict(LATENT_K)[latent].value
    if keep == "total":
        ice_g = ice_replacing_g(water_g, tap_c, wanted_c, ice_c, latent_k)
        drawn_g, total_g = water_g - ice_g, water_g
    else:
        ice_g = ice_on_top_g(water_g, tap_c, wanted_c, ice_c, latent_k)
        drawn_g, total_g = water_g, water_g + ice_g
    return IceFor(
        formula_water_g=water_g,
        tap_c=tap_c,
        wanted_c=wanted_c,
        ice_temperature_c=ice_c,
        keep=keep,
        latent=latent,
        ice_g=ice_g,
        water_g=drawn_g,
        total_g=total_g,
        cautions=ice_cautions(ice_g, total_g, wanted_c, keep),
    )


def ice_cautions(ice_g: float, total_g: float, wanted_c: float, keep: Keep) -> tuple[Caution, ...]:
    """Return what must be known of a weight of ice in the dough water."""
    if ice_g == 0:
        return ()
    found = [Caution("clean-ice", "Use flake or crushed ice of drinking quality; it must melt before mixing ends.")]
    if wanted_c < 0:
        text = (
            f"Water of {shown(wanted_c, 3)} °C is bookkeeping: the ice goes on melting in the dough."
            " Do not wait for it to melt in the water."
        )
        found.append(Caution("below-freezing", text))
    share = ice_g / total_g
    if share > LARGEST_TABULATED_SHARE.value:
        text = (
            f"{share * 100:.0f} % of the water is ice, more than the {LARGEST_TABULATED_SHARE.value * 100:.0f} % at which"
            " the trade's table ends; it may not melt in time. Chill the flour as well."
        )
        found.append(Caution("much-ice", text))
    if keep == "water":
        text = f"The ice comes on top: the dough gets {shown(ice_g)} g more water than its formula says."
        found.append(Caution("more-water", text))
    return tuple(found)
