"""The reach of water: how warm yeast lets it be, and what to do where it cannot be had as warm or as cold as wanted.

Limits depend on where the yeast goes: stirred into the water, mixed into the flour, added once the flour is wet, or not
into this water at all (a scald).  Water that a limit or the supply stops short is no failure of the sum: the flour, the
room or the mixing can bring the dough to its temperature instead, and by how much is worked out here.
"""

from __future__ import annotations

from typing import ClassVar, Final, Literal

from attrs import frozen

from .quantity import DIFFERENCE, TEMPERATURE, TIME, OptionalView, View
from .sources import Constant
from .water import FRESH_YEAST_LIMIT, YEAST_LIMIT, WaterTemperature, dough_temperature_c, water_cautions
from .working import Caution, shown

__all__ = [
    "ACTIVE_DRY_HIGHEST",
    "ACTIVE_DRY_LOWEST",
    "COLD_FOR_YEAST",
    "YEAST_IN_FLOUR_PRINTED",
    "OutOfReach",
    "Use",
    "highest_c",
    "out_of_reach",
    "use_cautions",
]

Use = Literal["in water", "in flour", "after wetting", "none"]

ACTIVE_DRY_LOWEST: Final = Constant(
    38.0, "°C", 3.0, "gardiner-wilson-1998", "colder than 38 °C it leaks glutathione; another school begins at 35 °C"
)
ACTIVE_DRY_HIGHEST: Final = Constant(46.0, "°C", 0.0, "gardiner-wilson-1998", "dry yeast in water, 41 to 46 °C")
YEAST_IN_FLOUR_PRINTED: Final = Constant(
    55.0, "°C", 0.0, "gardiner-wilson-1998", "yeast mixed with the dry ingredients: water of 49 to 55 °C"
)
COLD_FOR_YEAST: Final = Constant(10.0, "°C", 2.0, "common-practice", "water below which yeast is better added last")
_COLDEST_FLOUR_C: Final = -18.0
"""A freezer's; flour that would have to be colder is no advice."""
_WARMEST_FLOUR_C: Final = 50.0
"""Nobody warms flour further; that would be advice to harm it."""


@frozen
class OutOfReach:
    """Why the wanted water cannot be had, and what else would bring the dough to its temperature.

    ``water_c`` is the nearest that can be had and ``limit`` what stops it there.  The rest is known if the water was
    asked for by the result of ``water_temperature``: the dough that the nearest water gives, and the flour, the room or
    the friction with which it would be the right one, each None where none would do.  ``shorter_h`` is how much less to
    mix (less than nothing for longer), if the friction of a minute is known.
    """

    wanted_c: float
    water_c: float
    limit: str
    dough_c: float | None = None
    flour_c: float | None = None
    room_c: float | None = None
    friction_k: float | None = None
    shorter_h: float | None = None

    wanted: ClassVar[View] = View(TEMPERATURE, "wanted_c", "The water that was wanted.")
    water: ClassVar[View] = View(TEMPERATURE, "water_c", "The nearest water that can be had.")
    dough: ClassVar[OptionalView] = OptionalView(TEMPERATURE, "dough_c", "The dough that it gives.")
    flour: ClassVar[OptionalView] = OptionalView(TEMPERATURE, "flour_c", "The flour with which it is the right water.")
    room: ClassVar[OptionalView] = OptionalView(TEMPERATURE, "room_c", "The room with which it is the right water.")
    friction: ClassVar[OptionalView] = OptionalView(
        DIFFERENCE, "friction_k", "The friction factor with which it is the right water."
    )
    shorter: ClassVar[OptionalView] = OptionalView(
        TIME, "shorter_h", "How much less to mix; less than nothing for longer."
    )

    @property
    def alternatives(self) -> tuple[str, ...]:
        """What would bring the dough to its temperature, one way each."""
        cold = self.wanted_c < self.water_c
        verb, other = ("cool", "shorten") if cold else ("warm", "lengthen")
        places = (("flour", self.flour_c), ("room", self.room_c))
        ways = [f"{verb} the {place} to {_degrees(value)}" for place, value in places if value is not None]
        if self.shorter_h is not None:
            ways.append(f"{other} mixing by {shown(abs(self.shorter_h) * 60, 2)} min")
        elif self.friction_k is not None:
            ways.append(f"{other} mixing until its friction factor is {shown(self.friction_k, 3)} K")
        return tuple(ways)

    def __str__(self) -> str:
        """Say why, where the dough ends, and what would help."""
        text = f"Water of {_degrees(self.wanted_c)} cannot be reached: {self.limit}."
        if self.dough_c is None:
            return text
        end = "coldest" if self.wanted_c < self.water_c else "warmest"
        text = f"{text} The {end} dough is {_degrees(self.dough_c)}."
        advice = "; or ".join(self.alternatives)
        return f"{text} {advice[0].upper()}{advice[1:]}." if advice else text


def _degrees(value_c: float) -> str:
    return f"{shown(value_c, 3)} °C ({shown(value_c * 1.8 + 32, 3)} °F)"


def out_of_reach(
    wanted_c: float,
    water_c: float,
    limit: str,
    rule: WaterTemperature | None = None,
    rate_k_per_min: float | None = None,
) -> OutOfReach:
    """Work out what else would do where only water of ``water_c`` can be had.

    Args:
        wanted_c: the water wanted, °C.
        water_c: the nearest that can be had, °C.
        limit: what stops it there, in words.
        rule: the temperatures that the wanted water was worked out from.
        rate_k_per_min: friction factor of each minute of mixing, on the scale of the rule's sum, K/min.

    Example:
        >>> out_of_reach(-7.0, 2.0, "the tap gives no colder").water_c
        2.0
    """
    if rule is None:
        return OutOfReach(wanted_c, water_c, limit)
    # The sum must stay what it is: what the water is too warm, something else has to be colder.
    over_k = water_c - wanted_c
    flour_c, friction_k = rule.flour_c - over_k, rule.friction_k - over_k
    can_mix = friction_k >= 0
    return OutOfReach(
        wanted_c=wanted_c,
        water_c=water_c,
        limit=limit,
        dough_c=dough_temperature_c(rule.known_c, water_c, rule.friction_k),
        flour_c=flour_c if _COLDEST_FLOUR_C <= flour_c <= _WARMEST_FLOUR_C else None,
        room_c=None if rule.room_c is None or rule.room_c - over_k < 0 else rule.room_c - over_k,
        friction_k=friction_k if can_mix else None,
        shorter_h=over_k / rate_k_per_min / 60 if rate_k_per_min and can_mix else None,
    )


def highest_c(use: Use) -> float:
    """Return how warm water may be by where the yeast goes: 50 °C where they meet, boiling where they do not.

    Example:
        >>> highest_c("in flour"), highest_c("none")
        (50.0, 100.0)
    """
    return YEAST_LIMIT.value if use in {"in water", "in flour"} else 100.0


def use_cautions(water_c: float, yeast: str, use: Use) -> tuple[Caution, ...]:
    """Return what must be known of water of a temperature and of yeast of a form ("" if not said) used in a way.

    Args:
        water_c: what the water acts like, ice included, °C.
        yeast: the name of the form.
        use: where the yeast goes.

    Example:
        >>> [caution.code for caution in use_cautions(40.0, "fresh", "in water")]
        ['too-warm-for-fresh-yeast']
    """
    met = use in {"in water", "in flour"}
    codes = (
        {"scald"}
        | ({"too-hot-for-yeast"} if met else set())
        | ({"too-warm-for-fresh-yeast"} if use == "in water" else set())
    )
    found = [caution for caution in water_cautions(water_c, yeast) if caution.code in codes]
    shown_c = f"{shown(water_c, 4)} °C"
    low_c, high_c = ACTIVE_DRY_LOWEST.value, ACTIVE_DRY_HIGHEST.value
    if use == "in water" and yeast == "active dry" and water_c < low_c:
        text = (
            f"Water of {shown_c} is too cold to dissolve active dry yeast in: take a small part of the water at {low_c:.0f} to"
            f" {high_c:.0f} °C (100 to 115 °F) for it, and reckon that part as a body of its own."
        )
        found.append(Caution("too-cold-for-active-dry-yeast", text))
    elif use == "in water" and yeast == "active dry" and high_c < water_c <= YEAST_LIMIT.value:
        text = f"Water of {shown_c} is warmer than active dry yeast is dissolved in: {low_c:.0f} to {high_c:.0f} °C (100 to 115 °F)."
        found.append(Caution("too-warm-for-active-dry-yeast", text))
    if use == "in flour" and water_c > FRESH_YEAST_LIMIT.value:
        text = (
            f"Yeast mixed into the flour takes water of up to {YEAST_LIMIT.value:.0f} °C (122 °F);"
            f" some schools print {YEAST_IN_FLOUR_PRINTED.value:.0f} °C (130 °F), which is not followed here."
        )
        found.append(Caution("yeast-in-flour", text))
    if met and water_c < COLD_FOR_YEAST.value and not (use == "in water" and yeast == "active dry"):
        text = f"Water of {shown_c}, or ice, stuns yeast that it meets: add the yeast once the flour is wetted (common practice, no source)."
        found.append(Caution("yeast-after-wetting", text))
    return tuple(found)
