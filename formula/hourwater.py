"""The water of every single mix, by the flour, the room and the tap at the hour at which it is mixed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from attrs import frozen

from .bakery import Bakery
from .breadplan import Dough, Mix
from .clockwork import Timetable
from .pour import Pour, pour_for
from .quantity import TEMPERATURE, View
from .stations import Task
from .working import Caution, Working

__all__ = ["MixWater", "SingleMix", "single_mixes", "waters"]


@frozen
class SingleMix:
    """One mix on the clock: its dough, its number, its sheet, when it begins, and its stretch of bulk in the timetable."""

    dough: Dough
    number: int
    mix: Mix
    begin_min: int
    bulk: Task

    def bakery(self, table: Timetable) -> Bakery:
        """Return the bakery as it is when the mix begins."""
        return table.day.bakery.at(table.workshop.wall.wall(self.begin_min))


def single_mixes(table: Timetable) -> Iterator[SingleMix]:
    """Return every mix that found room, in the order in which they begin."""
    doughs = {dough.name: dough for dough in table.day.doughs}
    begins: dict[tuple[str, int], int] = {}
    bulks: dict[tuple[str, int], Task] = {}
    for task in table.tasks:
        if task.what in ("autolyse", "mix"):
            begins.setdefault((task.bread, task.mix), task.begin_min)
        elif task.what == "bulk":
            bulks[task.bread, task.mix] = task
    for (name, number), begin in sorted(begins.items(), key=lambda each: each[1]):
        mix = next(mix for mix in doughs[name].mixes if mix.first <= number <= mix.last)
        yield SingleMix(doughs[name], number, mix, begin, bulks[name, number])


@frozen
class MixWater:
    """What to pour into one mix, begun at ``begin`` by the clock on the wall, and what the thermometers show then."""

    dough: str
    mix: int
    begin_min: int
    begin: str
    flour_c: float
    room_c: float
    tap_c: float
    pour: Pour

    flour: ClassVar[View] = View(TEMPERATURE, "flour_c", "The flour's temperature at that hour.")
    room: ClassVar[View] = View(TEMPERATURE, "room_c", "The room's.")
    tap: ClassVar[View] = View(TEMPERATURE, "tap_c", "The tap water's.")
    water: ClassVar[View] = View(TEMPERATURE, "water_c", "The temperature of what is poured.")

    @property
    def water_c(self) -> float:
        """The temperature of what is poured, °C."""
        return self.pour.temperature.temperature_c

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What to know before pouring."""
        return self.pour.cautions

    def working(self) -> Working:
        """Show how the temperature comes about; the last line is the temperature."""
        steps = self.pour.temperature.working().steps
        return Working(f"Water of {self.dough}, mix {self.mix} at {self.begin}", steps, self.cautions)

    def to_table(self) -> dict[str, Any]:
        """Return it as a plain table for other programs; temperatures in °C, weights in g."""
        return {
            "dough": self.dough,
            "mix": self.mix,
            "begin_min": self.begin_min,
            "begin": self.begin,
            "flour_c": self.flour_c,
            "room_c": self.room_c,
            "tap_c": self.tap_c,
            "water_c": self.water_c,
            "poured_at": self.pour.stage,
            "ice_g": self.pour.ice_g,
            "draw_g": self.pour.draw_g,
        }


def waters(table: Timetable) -> tuple[MixWater, ...]:
    """Find the water of every single mix of a day: by the rule, with the temperatures of the hour at which it begins.

    Args:
        table: the day on the clock; its bakery says the temperatures over the day (``Hour``).

    Returns:
        One for each mix that found room, in the order in which they begin; doughs without a temperature of their own are
        left out.

    Accuracy: that of the rule (see ``water_temperature``); between two readings of the thermometers the earlier one holds.
    Preferments keep the temperature that the bakery gives them, at every hour; those without one are as warm as the room.

    Example:
        >>> from formula import load_day, load_workshop, plan_day, timetable
        >>> shop = load_workshop("docs/examples/harbour")
        >>> table = timetable(plan_day(*load_day("docs/examples/harbour"), shop), shop)
        >>> first = waters(table)[0]
        >>> first.begin, round(first.water_c, 1)
        ('18:29 the day before', 11.3)
    """
    found: list[MixWater] = []
    for each in single_mixes(table):
        now = each.bakery(table)
        pour = pour_for(each.mix.batch.formula, each.mix.batch, each.dough.mixer, now)
        if pour is not None:
            begin = table.clock(each.begin_min)
            facts = (each.begin_min, begin, now.flour_c, now.room_c, now.tap_c)
            found.append(MixWater(each.dough.name, each.number, *facts, pour))
    return tuple(found)
