"""Correction: the water for the next mix, from how far this one's dough came off its temperature.

Three ratios are in use.  The rule itself says N: as many kelvins of water as it sums temperatures, for each kelvin of
dough.  The trade says 3, whatever is summed.  An energy balance says less, about 1.5 to 1.8, since the water is the
greater part of a dough's heat.  All are worked out side by side; which one the answer follows is named.
A dough that came off too warm asks for colder water.
"""

from __future__ import annotations

import math
from typing import ClassVar, Final, Literal, get_args

from attrs import frozen

from .basetemp import BASE_RULE, BaseTemperature, base_cautions, base_in_fahrenheit, read_base_at
from .errors import cited
from .friction import count_fault
from .quantity import DIFFERENCE, TEMPERATURE, Door, Measure, OptionalView, View
from .readerunits import with_units
from .sources import Constant
from .water import read_yeast, water_cautions
from .working import Caution, Step, Working, shown

__all__ = ["TRADE_RATIO", "Correction", "correct_water", "corrected_water_c"]

CorrectionRule = Literal["count", "trade", "ratio"]

TRADE_RATIO: Final = Constant(
    3.0, "1", 0.5, "base-temperature-handout", "3 K of water for 1 K of dough; another says 5 °F for 2 °F, 2.5"
)
"""What the trade changes the water by for each degree of the dough."""
_FAR_OFF_K: Final = 5.0
"""A dough further off than this is rather a slip than a matter of correction; our own judgement."""


def corrected_water_c(water_used_c: float, measured_c: float, wanted_c: float, ratio: float) -> float:
    """Return the water for the next mix: water used + ratio * (wanted - measured).

    Args:
        water_used_c: the water of this mix, °C.
        measured_c: the temperature at which its dough came off, °C.
        wanted_c: the temperature it should have had, °C.
        ratio: kelvins of water for each kelvin of dough.

    Example:
        >>> corrected_water_c(15.0, 26.0, 24.0, 3.0)
        9.0
    """
    return water_used_c + ratio * (wanted_c - measured_c)


@frozen
class Correction:
    """The water for the next mix, by the rule's count, by the trade's 3 and, if one was given, by a balance's ratio.

    ``water`` follows ``rule``; ``new_base_c`` is the base temperature moved by the same step, if the old one was given.
    """

    water_used_c: float
    measured_c: float
    wanted_c: float
    rule: CorrectionRule
    count: int
    ratio: float | None
    by_count_c: float
    by_trade_c: float
    by_ratio_c: float | None
    water_c: float
    base_c: float | None = None
    new_base_c: float | None = None
    cautions: tuple[Caution, ...] = ()

    water_used: ClassVar[View] = View(TEMPERATURE, "water_used_c", "The water of this mix.")
    measured: ClassVar[View] = View(TEMPERATURE, "measured_c", "The temperature at which the dough came off.")
    wanted: ClassVar[View] = View(TEMPERATURE, "wanted_c", "The temperature the dough should have had.")
    by_count: ClassVar[View] = View(
        TEMPERATURE,
        "by_count_c",
        "The water by the rule: as many kelvins as it sums temperatures for each kelvin of dough.",
    )
    by_trade: ClassVar[View] = View(TEMPERATURE, "by_trade_c", "The water by the trade: 3 K for each kelvin of dough.")
    by_ratio: ClassVar[OptionalView] = OptionalView(TEMPERATURE, "by_ratio_c", "The water by the ratio given, or None.")
    water: ClassVar[View] = View(TEMPERATURE, "water_c", "The water for the next mix, by the rule chosen.")

    @property
    def change_k(self) -> float:
        """How much warmer the next water is, K; less than nothing when colder."""
        return self.water_c - self.water_used_c

    change: ClassVar[View] = View(DIFFERENCE, "change_k", "How much warmer the next water is.")

    @property
    def new_base_f(self) -> float | None:
        """The new base in °F, 32 more for each temperature summed, or None."""
        return None if self.new_base_c is None else base_in_fahrenheit(self.new_base_c, self.count)

    def working(self) -> Working:
        """Show the steps; the last line is the water by the rule chosen."""
        values = {"T_used": self.water_used_c, "T_wanted": self.wanted_c, "T_measured": self.measured_c}
        ways = {
            "count": ("N", float(self.count), self.by_count_c, "", f"the rule sums {self.count} temperatures"),
            "trade": ("r_trade", TRADE_RATIO.value, self.by_trade_c, TRADE_RATIO.source, "whatever it sums"),
        }
        if self.ratio is not None and self.by_ratio_c is not None:
            ways["ratio"] = ("r_balance", self.ratio, self.by_ratio_c, "", "the ratio given")
        steps = {
            way: Step(
                f"T_by_{way}",
                f"T_used + {name} * (T_wanted - T_measured)",
                values | {name: ratio},
                water_c,
                "°C",
                source,
                note,
            )
            for way, (name, ratio, water_c, source, note) in ways.items()
        }
        # The chosen way comes last, the base before it.
        others = [step for way, step in steps.items() if way != self.rule]
        if self.base_c is not None and self.new_base_c is not None:
            name, ratio = ways[self.rule][:2]
            moved = {"base": self.base_c, name: ratio, "T_wanted": self.wanted_c, "T_measured": self.measured_c}
            expression = f"base + {name} * (T_wanted - T_measured)"
            others.append(Step("base_new", expression, moved, self.new_base_c, "°C summed", BASE_RULE))
        told = {"°C": "T", "1": "N r_trade r_balance", "°C summed": "base"}
        return Working("Water for the next mix", with_units((*others, steps[self.rule]), told), self.cautions)


def correct_water(
    water_used: Measure,
    *,
    measured: Measure,
    wanted: Measure,
    rule: CorrectionRule = "count",
    count: int = 3,
    ratio: float | None = None,
    base: str | BaseTemperature | None = None,
    yeast: str | None = None,
) -> Correction:
    """Find the water for the next mix: T_next = T_used + ratio * (T_wanted - T_measured).

    Args:
        water_used: the water of this mix; below freezing it stands for ice.
        measured: the temperature at which its dough came off.
        wanted: the temperature it should have had.
        rule: whose ratio the answer follows: "count" (N, as the rule itself says), "trade" (3, whatever is summed) or
            "ratio" (the one given).
        count: N, the number of temperatures the rule sums: flour, room and water are 3, with one preferment 4.
        ratio: kelvins of water for each kelvin of dough by an energy balance, a number above 0; about 1.5 to 1.8.
        base: the base temperature in use, as text or as a result; it is moved by the same step.
        yeast: the form of yeast that is stirred into this water, if any.

    Returns:
        ``water`` by the rule chosen, ``by_count``, ``by_trade`` and ``by_ratio`` side by side, and ``new_base_c``; with
        the cautions of ``water_temperature`` and one for a dough so far off that a reading may be wrong.

    Raises:
        QuantityError: for every bad argument at once; ``rule="ratio"`` without a ratio; a base of another count.

    Accuracy: the next mix must be like this one: same masses, same mixing, same flour and room.  By the balance a step of
    3 is nearly twice too large, so a dough corrected by "count" or "trade" tends to come off too far on the other side;
    halve the step when it does.

    Example:
        >>> made = correct_water("15 °C", measured="26 °C", wanted="24 °C", base="70 °C")
        >>> made.water_c, made.new_base_c
        (9.0, 64.0)
    """
    with Door() as door:
        used_c = door.read(TEMPERATURE, water_used, "water_used")
        measured_c = door.read(TEMPERATURE, measured, "measured")
        wanted_c = door.read(TEMPERATURE, wanted, "wanted")
        form = read_yeast(door, yeast)
        _check(door, rule, count, ratio)
        summed, base_c = (count, None) if base is None else read_base_at(door, base, count)
        if summed != count:
            expected = f"one of the {count} temperatures of the rule"
            door.refuse("base", f"a sum of {summed} temperatures", expected, "say count= or base.for_count()")
    chosen = TRADE_RATIO.value if rule == "trade" else float(count) if ratio is None or rule == "count" else ratio
    water_c = corrected_water_c(used_c, measured_c, wanted_c, chosen)
    new_base_c = None if base_c is None else corrected_water_c(base_c, measured_c, wanted_c, chosen)
    cautions = list(water_cautions(water_c, form))
    if new_base_c is not None:
        cautions += base_cautions(new_base_c, count)
    if abs(measured_c - wanted_c) > _FAR_OFF_K:
        text = (
            f"The dough was {shown(abs(measured_c - wanted_c), 3)} K off: check readings and masses before correcting."
        )
        cautions.append(Caution("far-off", text))
    return Correction(
        water_used_c=used_c,
        measured_c=measured_c,
        wanted_c=wanted_c,
        rule=rule,
        count=count,
        ratio=ratio,
        by_count_c=corrected_water_c(used_c, measured_c, wanted_c, float(count)),
        by_trade_c=corrected_water_c(used_c, measured_c, wanted_c, TRADE_RATIO.value),
        by_ratio_c=None if ratio is None else corrected_water_c(used_c, measured_c, wanted_c, ratio),
        water_c=water_c,
        base_c=base_c,
        new_base_c=new_base_c,
        cautions=tuple(cautions),
    )


def _check(door: Door, rule: str, count: object, ratio: object) -> None:
    fault = count_fault(count)
    if fault is not None:
        door.faults.append(fault)
    if rule not in get_args(CorrectionRule):
        door.refuse("rule", repr(rule), 'one of "count", "trade", "ratio"')
    if ratio is None:
        if rule == "ratio":
            door.refuse("ratio", "nothing", "a number above 0", "an energy balance gives it, about 1.5 to 1.8")
    elif isinstance(ratio, bool) or not isinstance(ratio, (int, float)) or not 0 < ratio < math.inf:
        door.refuse("ratio", cited(ratio), "a number above 0", "kelvins of water for each kelvin of dough")
