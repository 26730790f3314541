"""Limits: what must be known of a dose of yeast, and what bears on it besides time and temperature.

Sugar and salt slow yeast.  Nothing was found in print that says by how much in a dough, so nothing is worked out: the
answer holds for a recipe that stays as it is, and says so where it does not.
"""

from __future__ import annotations

import math
from typing import Final

from attrs import frozen

from .growth import read_dose
from .processes import handbook_caution, typical_processes
from .quantity import SHARE, Door, Measure
from .schedule import Schedule, schedule_cautions
from .sources import Constant
from .working import Caution, shown

__all__ = ["Extras", "check_schedules", "dose_cautions", "read_extras", "read_new_form"]

LEAST_PERCENT: Final = 0.05
MOST_PERCENT: Final = 6.0
"""Fresh yeast on its flour, beyond which hardly anything is printed."""
SUGAR_PERCENT: Final = Constant(
    5.0, "%", 2.5, "marek-bushuk-1967", "gas rises with sugar up to 5 %, then falls; others 6 to 10"
)
_MARGIN: Final = 1e-9


@frozen
class Extras:
    """What else bears on the dose: sugar and salt on the flour (NaN: not told), and what the yeast ferments."""

    sugar_percent: float
    salt_percent: float
    new_salt_percent: float
    of: str


def read_extras(door: Door, sugar: Measure | None, salt: Measure | None, new_salt: Measure | None, of: str) -> Extras:
    """Read what else bears on the dose."""

    def percent(value: Measure | None, where: str) -> float:
        return math.nan if value is None else float(f"{100 * door.read(SHARE, value, where):.12g}")

    names = ("dough", "preferment", *(process.name for process in typical_processes()))
    if of not in names:
        door.refuse("of", repr(of), f"one of {', '.join(names)}", "say whose yeast, time and flour are meant")
    if new_salt is not None and salt is None:
        door.refuse("salt", "nothing", "the old salt beside new_salt", 'for example salt="2 %"')
    return Extras(percent(sugar, "sugar"), percent(salt, "salt"), percent(new_salt, "new_salt"), of)


def read_new_form(door: Door, new_form: str | None, form: str) -> str:
    """Read the form of the new dose, the old one's if none is named."""
    return form if new_form is None else read_dose(door, "1 %", new_form, "new dose")[1]


def check_schedules(door: Door, old: Schedule, new: Schedule) -> None:
    """Refuse what is no schedule, two rates, and schedules in which nothing ferments."""
    for where, schedule in (("old", old), ("new", new)):
        if not isinstance(schedule, Schedule):  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
            door.refuse(where, f"an object of type {type(schedule).__name__}", "a Schedule")
        elif not schedule.sum_h > 0:
            low_c, high_c = schedule.rate.edges_c
            expected = f"some time at which dough ferments, between {shown(low_c)} and {shown(high_c)} °C"
            fix = f"nothing ferments in it; the nearest that does is just above {shown(low_c)} °C"
            door.refuse(where, str(schedule), expected, fix)
    if not door.faults and old.rate != new.rate:
        door.refuse("new", "another rate than the old schedule's", "one rate for both", "give both the same rate=")


def dose_cautions(
    old_fresh: float, new_fresh: float, schedules: tuple[Schedule, Schedule], form: str, extras: Extras
) -> tuple[Caution, ...]:
    """Return what must be known of a new dose, in percent of fresh yeast."""
    old, new = schedules
    found: list[Caution] = []
    times = max(new_fresh / old_fresh, old_fresh / new_fresh, new.time_h / old.time_h, old.time_h / new.time_h)
    if times > 2 + _MARGIN:
        text = (
            f"Time or yeast changes by a factor of {shown(times, 3)}: the rule is printed for narrow limits, about two, and"
            " beyond them tables differ from it by a factor of 1.3 to 1.4, one by up to 4. Try a small dough first."
        )
        found.append(Caution("large-change", text))
    if not LEAST_PERCENT - _MARGIN <= new_fresh <= MOST_PERCENT + _MARGIN:
        text = (
            f"{shown(new_fresh, 3)} % of fresh yeast lies outside what is usual,"
            f" {shown(LEAST_PERCENT)} to {shown(MOST_PERCENT)} % of the flour."
        )
        found.append(Caution("outside-usual-dose", text))
    seen = {caution.code: caution for schedule in schedules for caution in schedule_cautions(schedule)}
    found += seen.values()
    temperatures = [celsius for leg in new.legs for celsius in (leg.first_c, leg.last_c) if celsius is not None]
    if max(temperatures) - min(temperatures) <= 1.5:
        found += handbook_caution(new_fresh, new.time_h, sum(temperatures) / len(temperatures), extras.of)
    if extras.sugar_percent > SUGAR_PERCENT.value + _MARGIN:
        better = "" if form.startswith("osmotolerant") else " Osmotolerant instant yeast suits such a dough better."
        text = (
            f"With {shown(extras.sugar_percent, 3)} % sugar on the flour yeast gases less; above 5 % it slows, and no curve"
            f" was found that says by how much: the dose holds for an unchanged recipe only.{better}"
        )
        found.append(Caution("sugar", text))
    if not math.isnan(extras.new_salt_percent) and extras.new_salt_percent != extras.salt_percent:
        text = (
            f"Salt changes from {shown(extras.salt_percent, 3)} to {shown(extras.new_salt_percent, 3)} %: it slows yeast,"
            " and no figures were found; the dose takes no account of it."
        )
        found.append(Caution("salt-changed", text))
    return tuple(found)
