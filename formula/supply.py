"""Water supply: what to draw from the taps and how much ice to weigh, so that the water of a mix has its temperature.

A bakery has a tap, perhaps a chilled and a hot one, perhaps ice.  One tap alone may do; two are blended, the masses in
the ratio in which their heats balance; below the coldest of them ice takes over.  Where none of this reaches the wanted
temperature, that is an answer too: how near it comes, where the dough then ends, and what else would bring it home.
"""

from __future__ import annotations

import math
from typing import ClassVar, Final, Literal, cast, get_args

from attrs import frozen

from .ice import (
    ICE_HEAT_RATIO,
    LATENT_K,
    Keep,
    Latent,
    ice_cautions,
    ice_on_top_g,
    ice_replacing_g,
    ice_takes_k,
    iced_water_c,
)
from .quantity import DIFFERENCE, MASS, TEMPERATURE, Door, Measure, View, grid, write
from .reach import OutOfReach, Use, highest_c, out_of_reach, use_cautions
from .readerunits import with_units
from .water import YEAST_LIMIT, WaterTemperature, read_yeast
from .working import Caution, Step, Working, shown

__all__ = ["Draw", "DrawnPart", "blend_g", "draw_water", "to_step_g"]

_UNITS: Final = {"°C": "T", "g": "m step", "K": "L_c", "1": "ci_c n"}

Method = Literal["one", "blend", "ice"]


def blend_g(mass_g: float, wanted_c: float, first_c: float, second_c: float) -> float:
    """Return how much of the first of two waters to draw: m1 = m (T - T2) / (T1 - T2).

    Args:
        mass_g: m, both together, g.
        wanted_c: T, between the two, °C.
        first_c: T1, °C.
        second_c: T2, °C, not equal to T1.

    Accuracy: it takes water to hold equal heat at any temperature; from 0 to 50 °C that is true to 1 % (IAPWS-95).

    Example:
        >>> blend_g(18_000.0, 30.0, 60.0, 15.0)
        6000.0
    """
    return mass_g * ((wanted_c - second_c) / (first_c - second_c))


def to_step_g(exact_g: float, step_g: float | None, most_g: float, *, up: bool) -> float:
    """Return a weight as whole steps of the scale, up or down, and never more than ``most_g``.

    Example:
        >>> to_step_g(2448.98, 10.0, 20_000.0, up=True), to_step_g(2448.98, None, 20_000.0, up=True)
        (2450.0, 2448.98)
    """
    if step_g is None:
        return exact_g
    # A hair over a step, left by the arithmetic, is that step.
    steps = round(exact_g / step_g, 9)
    return min(round((math.ceil(steps) if up else math.floor(steps)) * step_g, 9), most_g)


@frozen
class DrawnPart:
    """One thing to draw or to weigh: from the "tap", the "chilled" or the "hot" one, or "ice"."""

    name: str
    mass_g: float
    temperature_c: float

    mass: ClassVar[View] = View(MASS, "mass_g", "How much of it.")
    temperature: ClassVar[View] = View(TEMPERATURE, "temperature_c", "Its temperature.")


@frozen
class Draw:
    """What to draw for a mix: the ``parts``, and the temperature they have together as weighed, ``reached``.

    ``method`` is "one" (one tap alone), "blend" (two of them) or "ice".  Where the wanted water cannot be had,
    ``out_of_reach`` says why, and the parts make ``aimed_c``, the nearest that can.
    """

    wanted_c: float
    aimed_c: float
    asked_g: float
    parts: tuple[DrawnPart, ...]
    method: Method
    keep: Keep
    latent: Latent
    yeast: str
    use: Use
    step_g: float | None
    reached_c: float
    out_of_reach: OutOfReach | None = None
    cautions: tuple[Caution, ...] = ()

    @property
    def reachable(self) -> bool:
        """Whether the wanted temperature can be reached."""
        return self.out_of_reach is None

    wanted: ClassVar[View] = View(TEMPERATURE, "wanted_c", "The temperature the water should have.")
    reached: ClassVar[View] = View(TEMPERATURE, "reached_c", "The temperature the parts have together, as weighed.")

    @property
    def ice_g(self) -> float:
        """The ice to weigh, g."""
        return self.mass_g("ice")

    ice: ClassVar[View] = View(MASS, "ice_g", "The ice to weigh.")

    @property
    def liquid_g(self) -> float:
        """The liquid water to draw, g: what the water meter must be set to."""
        return sum(part.mass_g for part in self.parts if part.name != "ice")

    liquid: ClassVar[View] = View(MASS, "liquid_g", "The liquid water to draw: what the water meter must be set to.")

    def mass_g(self, name: str) -> float:
        """Return how much to take of the "tap", the "chilled", the "hot" or the "ice", g; 0 if none."""
        return sum(part.mass_g for part in self.parts if part.name == name)

    def working(self) -> Working:
        """Show the steps; the last line is the temperature that the parts, as weighed, have together."""
        if self.method == "one":
            (part,) = self.parts
            values = {f"T_{part.name}": part.temperature_c}
            alone = Step("T_water", f"T_{part.name}", values, self.reached_c, "°C", note=f"{part.name} alone")
            return Working("Water to draw", with_units([alone], _UNITS), self.cautions)
        steps = self._blend_steps() if self.method == "blend" else self._ice_steps()
        return Working("Water to draw", with_units(steps, _UNITS), self.cautions)

    def _blend_steps(self) -> tuple[Step, ...]:
        first, second = self.parts
        t_1, t_2, m_1, m_2 = f"T_{first.name}", f"T_{second.name}", f"m_{first.name}", f"m_{second.name}"
        here = {t_1: first.temperature_c, t_2: second.temperature_c}
        exact_g = blend_g(self.asked_g, self.aimed_c, first.temperature_c, second.temperature_c)
        values = {"m_water": self.asked_g, "T_aimed": self.aimed_c, **here}
        expression = f"m_water * ((T_aimed - {t_2}) / ({t_1} - {t_2}))"
        exact = Step(f"{m_1}_exact", expression, values, exact_g, "g", note="by equal heat")
        weighed = self._weighed_steps(m_1, exact_g, first.mass_g, up=False)
        rest = Step(m_2, f"m_water - {m_1}", {"m_water": self.asked_g, m_1: first.mass_g}, second.mass_g, "g")
        masses = {m_1: first.mass_g, m_2: second.mass_g}
        expression = f"({m_1} * {t_1} + {m_2} * {t_2}) / ({m_1} + {m_2})"
        mixed = Step("T_water", expression, masses | here, self.reached_c, "°C", note="as drawn")
        return (exact, *weighed, rest, mixed)

    def _ice_steps(self) -> tuple[Step, ...]:
        liquid, ice = self.parts
        latent = dict(LATENT_K)[self.latent]
        takes_k = ice_takes_k(self.latent, ice.temperature_c)
        t_1, m_1 = f"T_{liquid.name}", f"m_{liquid.name}"
        heat = {"L_c": latent.value, "ci_c": ICE_HEAT_RATIO.value, "T_ice": ice.temperature_c}
        note = "what each part of ice takes up in warming and melting, in degrees of water"
        takes = Step("D", "L_c - ci_c * T_ice", heat, takes_k, "K", latent.source, note)
        exact_g = _ice_g(self.keep, self.asked_g, liquid.temperature_c, self.aimed_c, takes_k)
        base = t_1 if self.keep == "total" else "T_aimed"
        values = {"m_water": self.asked_g, t_1: liquid.temperature_c, "T_aimed": self.aimed_c, "D": takes_k}
        exact = Step("m_ice_exact", f"m_water * (({t_1} - T_aimed) / ({base} + D))", values, exact_g, "g")
        weighed = self._weighed_steps("m_ice", exact_g, ice.mass_g, up=True)
        if self.keep == "total":
            rest = Step(m_1, "m_water - m_ice", {"m_water": self.asked_g, "m_ice": ice.mass_g}, liquid.mass_g, "g")
        else:
            rest = Step(m_1, "m_water", {"m_water": self.asked_g}, liquid.mass_g, "g", note="the ice comes on top")
        shares = {m_1: liquid.mass_g, t_1: liquid.temperature_c, "m_ice": ice.mass_g, "D": takes_k}
        expression = f"({m_1} * {t_1} - m_ice * D) / ({m_1} + m_ice)"
        return (
            takes,
            exact,
            *weighed,
            rest,
            Step("T_water", expression, shares, self.reached_c, "°C", note="as weighed"),
        )

    def _weighed_steps(self, symbol: str, exact_g: float, weighed_g: float, *, up: bool) -> tuple[Step, ...]:
        exact = {f"{symbol}_exact": exact_g}
        if self.step_g is None:
            return (Step(symbol, f"{symbol}_exact", exact, weighed_g, "g"),)
        steps = round(exact_g / self.step_g, 9)
        values = {"n": steps, "step": self.step_g, "m_water": self.asked_g}
        way, note = ("ceil", "up to the scale's step") if up else ("floor", "down to the scale's step")
        return (
            Step("n", f"{symbol}_exact / step", exact | {"step": self.step_g}, steps, "", note="steps of the scale"),
            Step(symbol, f"min({way}(n) * step, m_water)", values, weighed_g, "g", note=note),
        )


def draw_water(
    wanted: Measure | WaterTemperature,
    mass: Measure,
    *,
    tap: Measure,
    chilled: Measure | None = None,
    hot: Measure | None = None,
    ice: Measure | None = None,
    keep: Keep = "total",
    latent: Latent = "trade",
    yeast: str | None = None,
    use: Use = "in water",
    step: Measure | None = None,
    rate: Measure | None = None,
) -> Draw:
    """Find what to draw: two waters by m1 = m (T - T2) / (T1 - T2), water and ice as ``ice_for`` does, or why neither.

    Args:
        wanted: the water temperature, or the result of ``water_temperature``, which lets an answer out of reach say what
            else would do.
        mass: the water still to be poured into this mix: not what is already in preferments, soakers or an autolyse.
        tap: the tap's temperature.
        chilled: that of a chilled tap, if there is one; not warmer than the tap.
        hot: that of a hot tap, if there is one; not colder than the tap.
        ice: the temperature of the ice, at most 0 °C, if there is any.
        keep: what stays at the formula's weight: "total" (ice replaces water) or "water" (ice comes on top).
        latent: heat of fusion over heat capacity as the trade rounds it ("trade") or as measured ("physical").
        yeast: the form of yeast, if any; the one of ``wanted`` if left out.
        use: where the yeast goes: "in water", "in flour", "after wetting" (of the flour), or "none" (a scald).
        step: the scale's step: ice is rounded up to it, and of two waters the warmer one down; the other takes the rest, so
            that the sum stays.
        rate: friction factor of each minute of mixing, on the scale of the rule's sum; it turns friction into minutes.

    Returns:
        ``parts`` and the temperature they have together; ``out_of_reach`` where the wanted water cannot be had: the supply
        is too warm or too cold, the ice would outweigh the water, or yeast would meet water above 50 °C.

    Raises:
        QuantityError: for every bad argument at once.

    Accuracy: heat from the bowl and the air on the way is left out.  Two waters hold equal heat to 1 %; for ice see
    ``ice_for``.

    Example:
        >>> made = draw_water("6 °C", "20 kg", tap="18 °C", ice="0 °C", step="10 g")
        >>> made.ice_g, made.liquid_g, round(made.reached_c, 1)
        (2450.0, 17550.0, 6.0)
    """
    rule = wanted if isinstance(wanted, WaterTemperature) else None
    with Door() as door:
        wanted_c = rule.temperature_c if rule else door.read(TEMPERATURE, cast("Measure", wanted), "wanted")
        mass_g = door.read(MASS, mass, "mass")
        waters = {"tap": door.read(TEMPERATURE, tap, "tap")}
        others = (("chilled", chilled), ("hot", hot))
        waters |= {name: door.read(TEMPERATURE, value, name) for name, value in others if value is not None}
        ice_c = None if ice is None else door.read(TEMPERATURE, ice, "ice")
        step_g = None if step is None else door.read(MASS, step, "step")
        rate_k = None if rate is None else door.read(DIFFERENCE, rate, "rate")
        form = rule.yeast if rule is not None and yeast is None else read_yeast(door, yeast)
        for name, value, kinds in (("keep", keep, Keep), ("latent", latent, Latent), ("use", use, Use)):
            if value not in get_args(kinds):
                door.refuse(name, repr(value), "one of " + ", ".join(f'"{choice}"' for choice in get_args(kinds)))
        _check(door, mass_g, waters, ice_c, step_g, rate_k)
    takes_k = None if ice_c is None else ice_takes_k(latent, ice_c)
    # On the grid, or a tap of just the right temperature would be missed by a rounding.
    wanted_c = grid(TEMPERATURE, wanted_c)
    aimed_c, limit = _aim(wanted_c, waters, takes_k, keep, use)
    parts, method = _parts(aimed_c, mass_g, waters, ice_c, keep, latent, step_g)
    missed = None if limit is None else out_of_reach(wanted_c, aimed_c, limit, rule, rate_k)
    reached_c = _together_c(parts, latent)
    return Draw(
        wanted_c=wanted_c,
        aimed_c=aimed_c,
        asked_g=mass_g,
        parts=parts,
        method=method,
        keep=keep,
        latent=latent,
        yeast=form,
        use=use,
        step_g=step_g,
        reached_c=reached_c,
        out_of_reach=missed,
        cautions=_cautions(missed, parts, reached_c, keep, form, use),
    )


def _check(
    door: Door, mass_g: float, waters: dict[str, float], ice_c: float | None, step_g: float | None, rate_k: float | None
) -> None:
    if mass_g == 0:
        door.refuse("mass", "0 g", "a weight above zero", "without water to pour there is nothing to draw")
    for name, value in waters.items():
        if value < 0 or value > 100:
            door.refuse(name, write(TEMPERATURE, value), "liquid water, from 0 to 100 °C")
    for name, sign, word in (("chilled", 1, "warmer"), ("hot", -1, "colder")):
        if (waters.get(name, waters["tap"]) - waters["tap"]) * sign > 0:
            tap = write(TEMPERATURE, waters["tap"])
            door.refuse(name, write(TEMPERATURE, waters[name]), f"not {word} than the tap, {tap}", "exchange the two")
    if ice_c is not None and ice_c > 0:
        door.refuse("ice", write(TEMPERATURE, ice_c), "ice, at most 0 °C", "above that it is water")
    if step_g == 0:
        door.refuse("step", "0 g", "a step above zero")
    if rate_k is not None and rate_k <= 0:
        door.refuse("rate", write(DIFFERENCE, rate_k), "more than 0 K for each minute")


def _ice_g(keep: Keep, mass_g: float, water_c: float, wanted_c: float, takes_k: float) -> float:
    # The temperature of the ice is already in what it takes up.
    kernel = ice_replacing_g if keep == "total" else ice_on_top_g
    # The aim is no colder than as much ice as water can make it: a rounding must not go beyond.
    return min(kernel(mass_g, water_c, wanted_c, 0.0, takes_k), mass_g)


def _aim(
    wanted_c: float, waters: dict[str, float], takes_k: float | None, keep: Keep, use: Use
) -> tuple[float, str | None]:
    """Return the nearest temperature that can be had, and what stops it there."""
    coldest_c, warmest_c = min(waters.values()), max(waters.values())
    lowest_c, cold = coldest_c, f"the coldest water is {shown(coldest_c, 3)} °C, and there is no ice"
    if takes_k is not None:
        # Never more ice than water to be poured: all of it, or as much again on top.
        lowest_c = -takes_k if keep == "total" else (coldest_c - takes_k) / 2
        most = "all of it is ice" if keep == "total" else "there is as much ice as water"
        cold = f"at {shown(lowest_c, 3)} °C {most}"
    allowed_c = highest_c(use)
    if wanted_c > allowed_c:
        reason = f"no yeast may meet water above {allowed_c:.0f} °C" if allowed_c < 100 else "water boils at 100 °C"
        if warmest_c < allowed_c:
            reason += f", and the warmest here is {shown(warmest_c, 3)} °C"
        return max(min(allowed_c, warmest_c), lowest_c), reason
    if wanted_c > warmest_c:
        return warmest_c, f"the warmest water is {shown(warmest_c, 3)} °C"
    return (lowest_c, cold) if wanted_c < lowest_c else (wanted_c, None)


def _parts(
    aimed_c: float,
    mass_g: float,
    waters: dict[str, float],
    ice_c: float | None,
    keep: Keep,
    latent: Latent,
    step_g: float | None,
) -> tuple[tuple[DrawnPart, ...], Method]:
    for name in ("tap", "chilled", "hot"):
        if waters.get(name) == aimed_c:
            return (DrawnPart(name, mass_g, aimed_c),), "one"
    ordered = sorted(waters.items(), key=lambda water: water[1])
    coldest, coldest_c = ordered[0]
    if ice_c is not None and aimed_c < coldest_c:
        exact_g = _ice_g(keep, mass_g, coldest_c, aimed_c, ice_takes_k(latent, ice_c))
        ice_g = to_step_g(exact_g, step_g, mass_g, up=True)
        liquid_g = mass_g - ice_g if keep == "total" else mass_g
        return (DrawnPart(coldest, liquid_g, coldest_c), DrawnPart("ice", ice_g, ice_c)), "ice"
    place = next(number for number, (_, value) in enumerate(ordered) if value > aimed_c)
    (second, second_c), (first, first_c) = ordered[place - 1], ordered[place]
    first_g = to_step_g(blend_g(mass_g, aimed_c, first_c, second_c), step_g, mass_g, up=False)
    return (DrawnPart(first, first_g, first_c), DrawnPart(second, mass_g - first_g, second_c)), "blend"


def _together_c(parts: tuple[DrawnPart, ...], latent: Latent) -> float:
    first, second = parts[0], parts[-1]
    if len(parts) == 1:
        return first.temperature_c
    if second.name == "ice":
        return iced_water_c(first.mass_g, first.temperature_c, second.mass_g, ice_takes_k(latent, second.temperature_c))
    masses_g = first.mass_g + second.mass_g
    return (first.mass_g * first.temperature_c + second.mass_g * second.temperature_c) / masses_g


def _cautions(
    missed: OutOfReach | None, parts: tuple[DrawnPart, ...], reached_c: float, keep: Keep, yeast: str, use: Use
) -> tuple[Caution, ...]:
    found = [] if missed is None else [Caution("out-of-reach", str(missed))]
    found += use_cautions(reached_c, yeast, use)
    ice_g = sum(part.mass_g for part in parts if part.name == "ice")
    found += ice_cautions(ice_g, sum(part.mass_g for part in parts), reached_c, keep)
    for part in parts:
        if len(parts) > 1 and part.temperature_c > YEAST_LIMIT.value:
            text = f"The {part.name} water of {shown(part.temperature_c, 3)} °C scalds and kills yeast: run the cold water first, and add the yeast to both together."
            found.append(Caution("hot-tap", text))
    return tuple(found)
