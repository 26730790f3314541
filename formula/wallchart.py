"""The numbers of a wall chart: water temperature over flour and room temperature, for one dough and one mixer.

Whoever stands at the mixer in the morning reads two thermometers and finds the water in the crossing cell, with a mark
where it cannot simply be drawn.  How the chart looks on paper is not decided here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar, Final, Literal, get_args

from attrs import frozen

from .basetemp import BASE_RULE, base_temperature_c, water_from_base_c
from .errors import cited
from .friction import RISE_RULE, Friction, Given, Preferments, read_mix
from .ice import LATENT_K
from .quantity import DIFFERENCE, TEMPERATURE, Door, Measure, View, view, write
from .readerunits import with_units
from .water import COLDEST_DRAWN, YEAST_LIMIT, read_friction
from .working import Caution, Step, Working

if TYPE_CHECKING:
    from .quantity import Quantity

__all__ = ["MARKS", "MOST_CELLS", "Mark", "WaterChart", "temperatures_between", "water_chart"]

Mark = Literal["", "ice", "hot", "none"]
ChartUnit = Literal["°C", "°F"]

MARKS: Final[tuple[tuple[str, str, str], ...]] = (
    ("ice", "*", "colder than it can be drawn: weigh a part of it as ice"),
    ("hot", "!", "too hot for yeast, and it scalds: warm the flour or the room instead"),
    ("none", "x", "cannot be had, even with ice alone: cool the flour or the room"),
)
"""What a cell is marked with: the mark's name, its sign and its meaning."""
MOST_CELLS: Final = 40
"""Columns or rows. More cannot be read from a sheet of paper on a wall."""


def temperatures_between(first: Measure, last: Measure, step: Measure) -> tuple[str, ...]:
    """Return the temperatures of an axis, from the first to the last by steps, as text.

    Args:
        first: the first temperature.
        last: the last; it is left out if the steps do not meet it.
        step: a temperature difference above 0.

    Raises:
        QuantityError: for every bad argument at once, and for more than 40 temperatures.

    Example:
        >>> temperatures_between("14 °C", "22 °C", "4 K")
        ('14 °C', '18 °C', '22 °C')
    """
    with Door() as door:
        first_c = door.read(TEMPERATURE, first, "first")
        last_c = door.read(TEMPERATURE, last, "last")
        step_k = door.read(DIFFERENCE, step, "step")
        if step_k <= 0:
            door.refuse("step", write(DIFFERENCE, step_k), "a difference above 0 K")
        if last_c < first_c:
            door.refuse("last", write(TEMPERATURE, last_c), f"at least the first, {write(TEMPERATURE, first_c)}")
        steps = 0
        if not door.faults:
            # A hair is forgiven: a step of 5 °F is no round number of kelvins.
            steps = math.floor((last_c - first_c) / step_k + 1e-6)
            if steps + 1 > MOST_CELLS:
                door.refuse("step", f"{steps + 1} temperatures", f"at most {MOST_CELLS}", "take a larger step")
    return tuple(write(TEMPERATURE, first_c + number * step_k) for number in range(steps + 1))


@frozen
class WaterChart:
    """Water temperatures for flour (columns) and room (rows): ``water_c[row][column]``, ``marks`` likewise.

    ``unit`` is the scale it is shown in; the numbers are kept in °C, and ``base`` is the base temperature less that of the
    preferments: what flour, room and water add up to.
    """

    title: str
    unit: ChartUnit
    dough_c: float
    friction_k: float
    rise_k: float
    given: Given
    preferments_c: tuple[float, ...]
    flour_c: tuple[float, ...]
    room_c: tuple[float, ...]
    coldest_c: float
    water_c: tuple[tuple[float, ...], ...]
    marks: tuple[tuple[Mark, ...], ...]
    cautions: tuple[Caution, ...] = ()

    dough: ClassVar[View] = View(TEMPERATURE, "dough_c", "The desired dough temperature.")
    friction: ClassVar[View] = View(DIFFERENCE, "friction_k", "The friction factor on the scale of the sum.")
    rise: ClassVar[View] = View(DIFFERENCE, "rise_k", "How much the mixer warms the dough itself.")

    @property
    def preferments(self) -> tuple[Quantity, ...]:
        """The temperatures of the preferments."""
        return tuple(view(TEMPERATURE, value) for value in self.preferments_c)

    coldest: ClassVar[View] = View(TEMPERATURE, "coldest_c", "The coldest water that can be drawn.")

    @property
    def flour(self) -> tuple[Quantity, ...]:
        """The flour temperatures of the columns."""
        return tuple(view(TEMPERATURE, value) for value in self.flour_c)

    @property
    def room(self) -> tuple[Quantity, ...]:
        """The room temperatures of the rows."""
        return tuple(view(TEMPERATURE, value) for value in self.room_c)

    @property
    def water(self) -> tuple[tuple[Quantity, ...], ...]:
        """The water temperatures, a row for each room."""
        return tuple(tuple(view(TEMPERATURE, value) for value in row) for row in self.water_c)

    @property
    def count(self) -> int:
        """N: the number of temperatures in the sum, that of the water included."""
        return 3 + len(self.preferments_c)

    @property
    def base_c(self) -> float:
        """What flour, room and water must add up to, °C: a sum of three temperatures."""
        return base_temperature_c(self.dough_c, self.friction_k, self.count) - sum(self.preferments_c)

    def working(self) -> Working:
        """Show the steps for the first cell; the last line is its water temperature."""
        count = {"N": float(self.count)}
        steps: list[Step] = []
        if self.given == "rise":
            note = "from the dough's own rise to the sum scale"
            steps.append(
                Step("friction", "N * rise", count | {"rise": self.rise_k}, self.friction_k, "K", RISE_RULE, note)
            )
        known = {f"T_preferment_{place}": value for place, value in enumerate(self.preferments_c, 1)}
        values = count | {"T_dough": self.dough_c, "friction": self.friction_k, **known}
        expression = " - ".join(("N * T_dough", "friction", *known))
        note = "what flour, room and water add up to, in every cell"
        steps.append(Step("base", expression, values, self.base_c, "°C summed", BASE_RULE, note))
        cell = {"base": self.base_c, "T_flour": self.flour_c[0], "T_room": self.room_c[0]}
        steps.append(Step("T_water", "base - T_flour - T_room", cell, self.water_c[0][0], "°C", note="the first cell"))
        told = {"1": "N", "K": "rise friction", "°C": "T"}
        return Working(f"Water chart: {self.title}", with_units(steps, told), self.cautions)


def water_chart(
    dough: Measure,
    *,
    flour: Iterable[Measure],
    room: Iterable[Measure],
    friction: Measure | Friction | None = None,
    rise: Measure | None = None,
    preferments: Preferments = (),
    coldest: Measure | None = None,
    unit: ChartUnit = "°C",
    title: str = "",
) -> WaterChart:
    """Find the water temperatures of a wall chart: base - T_flour - T_room in each cell.

    Args:
        dough: desired dough temperature.
        flour: flour temperatures of the columns, at most 40; see ``temperatures_between``.
        room: room temperatures of the rows, at most 40.
        friction: friction factor on the scale of the sum, or a result such as that of ``friction_from_trials``.
        rise: instead of ``friction``: how much the mixer warms the dough itself.
        preferments: temperature of the preferment, or of each of several; the same in every cell.
        coldest: the coldest water that can be drawn, tap or chilled; 2 °C if left out.
        unit: the scale to show it in, "°C" or "°F".
        title: the name of the dough or the mixer, for the head of the chart.

    Returns:
        ``water_c`` and ``marks`` by rows: "ice" below the coldest water, "hot" above 50 °C, "none" below what ice alone
        could stand for, "" else.

    Raises:
        QuantityError: for every bad argument at once, as ``water_temperature`` does; an axis with no or too many cells.

    Accuracy: that of ``water_temperature``.

    Example:
        >>> chart = water_chart("25 °C", flour=["18 °C", "22 °C"], room=["20 °C", "40 °C"], friction="16 K")
        >>> chart.water_c, chart.marks
        (((21.0, 17.0), (1.0, -3.0)), (('', ''), ('ice', 'ice')))
    """
    with Door() as door:
        dough_c = door.read(TEMPERATURE, dough, "dough")
        flour_c, room_c = _read_axis(door, flour, "flour"), _read_axis(door, room, "room")
        mix = read_mix(door, "0 °C", "0 °C", preferments)
        friction_k, rise_k, given = read_friction(door, friction, rise, mix.measured_count)
        coldest_c = COLDEST_DRAWN.value if coldest is None else door.read(TEMPERATURE, coldest, "coldest")
        if unit not in get_args(ChartUnit):
            door.refuse("unit", repr(unit), '"°C" or "°F"')
        if not isinstance(title, str):  # pyright: ignore[reportUnnecessaryIsInstance]
            door.refuse("title", repr(title), "text")
        if coldest_c < 0:
            door.refuse("coldest", write(TEMPERATURE, coldest_c), "liquid water, at least 0 °C")
    base_c = base_temperature_c(dough_c, friction_k, mix.measured_count) - sum(mix.preferments_c)
    water_c = tuple(tuple(water_from_base_c(base_c, (column, row)) for column in flour_c) for row in room_c)
    return WaterChart(
        title=title,
        unit=unit,
        dough_c=dough_c,
        friction_k=friction_k,
        rise_k=rise_k,
        given=given,
        preferments_c=mix.preferments_c,
        flour_c=flour_c,
        room_c=room_c,
        coldest_c=coldest_c,
        water_c=water_c,
        marks=tuple(tuple(_mark(value, coldest_c) for value in row) for row in water_c),
        cautions=_cautions(water_c, coldest_c),
    )


def _read_axis(door: Door, values: Iterable[Measure], where: str) -> tuple[float, ...]:
    # One text is iterable, and so is a quantity: both are one temperature and no axis.
    if isinstance(values, str) or hasattr(values, "magnitude") or not isinstance(values, Iterable):  # pyright: ignore[reportUnnecessaryIsInstance]
        door.refuse(where, cited(values), "several temperatures", "put it between [ and ]")
        return ()
    taken = list(values)
    if not taken or len(taken) > MOST_CELLS:
        mend = "take a larger step" if taken else "see temperatures_between"
        door.refuse(where, f"{len(taken)} temperatures", f"1 to {MOST_CELLS}, to be read from the wall", mend)
        return ()
    return tuple(door.read(TEMPERATURE, value, f"{where}[{place}]") for place, value in enumerate(taken))


def _mark(water_c: float, coldest_c: float) -> Mark:
    if water_c > YEAST_LIMIT.value:
        return "hot"
    if water_c < -dict(LATENT_K)["trade"].value:
        return "none"
    return "ice" if water_c < coldest_c else ""


def _cautions(water_c: tuple[tuple[float, ...], ...], coldest_c: float) -> tuple[Caution, ...]:
    marks = [_mark(value, coldest_c) for row in water_c for value in row]
    found: list[Caution] = []
    for name, sign, meaning in MARKS:
        if name in marks:
            text = f"{marks.count(name)} of {len(marks)} cells are marked {sign}: {meaning}."
            found.append(Caution(f"cells-{name}", text))
    return tuple(found)
