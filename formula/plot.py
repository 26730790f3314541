"""Plots where bakers look rather than read; needs the extra ``plot`` (matplotlib), which is imported when one is drawn.

Colours are told apart by the colour-blind (the palette of Okabe and Ito), and lines by their style as well.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from .dose import yeast_for_schedule
from .errors import MissingExtraError
from .handbooks import HandbookDose, handbook_doses
from .quantity import TEMPERATURE, TIME, Door, Measure, write
from .schedule import Schedule
from .steps import Hold

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["plot_schedule", "plot_yeast_for_time"]

BLUE: Final = "#0072B2"
ORANGE: Final = "#D55E00"
GREY: Final = "#555555"
_MARKS: Final = ("o", "s", "^", "D", "v", "P", "X")
_POINTS: Final = 240


def _figure() -> tuple[Figure, Any]:
    try:
        from matplotlib.figure import Figure  # noqa: PLC0415 - an extra, and half a second
    except ImportError:
        raise MissingExtraError("plot", "matplotlib") from None
    figure = Figure(figsize=(8, 4.5), layout="constrained")
    return figure, figure.subplots()


def plot_schedule(schedule: Schedule) -> Figure:
    """Draw a schedule: the dough's temperature over time, and how fast the yeast works beside it.

    Args:
        schedule: the steps; its own rate is drawn, in percent of the fastest it can be.

    Raises:
        MissingExtraError: without matplotlib.

    Example:
        >>> from formula.steps import Cool
        >>> night = Schedule(Hold("1 h", "24 °C"), Cool("16 h", to="4 °C", tau="1.5 h"))
        >>> plot_schedule(night).axes[0].get_xlabel()
        'hours from the end of mixing'
    """
    figure, axes = _figure()
    hours: list[float] = []
    celsius: list[float] = []
    begun = 0.0
    for leg in schedule.legs:
        for point in range(_POINTS + 1):
            passed = leg.time_h * point / _POINTS
            hours.append(begun + passed)
            celsius.append(leg.temperature_c(passed))
        begun += leg.time_h
    activity = [100 * schedule.rate.at(value) for value in celsius]
    axes.plot(hours, celsius, color=ORANGE, linestyle="--", label="dough temperature")
    axes.set_xlabel("hours from the end of mixing")
    axes.set_ylabel("dough temperature, °C")
    beside = axes.twinx()
    beside.plot(hours, activity, color=BLUE, label="activity of the yeast")
    beside.fill_between(hours, activity, color=BLUE, alpha=0.15)
    beside.set_ylabel("activity, % of the fastest")
    beside.set_ylim(bottom=0)
    lines = [*axes.get_lines(), *beside.get_lines()]
    axes.legend(lines, [line.get_label() for line in lines], loc="center")
    axes.set_title(str(schedule), fontsize="medium", wrap=True)
    return figure


def plot_yeast_for_time(
    dose: Measure,
    *,
    time: Measure,
    temperature: Measure = "26 °C",
    shortest: Measure = "1 h",
    longest: Measure = "18 h",
) -> Figure:
    """Draw the yeast for every time from one known dose, with its band, and what handbooks print as dots.

    Args:
        dose: fresh yeast that does it in ``time``, on the flour it ferments.
        time: from the end of mixing to the oven.
        temperature: the dough's.
        shortest: where the curve begins.
        longest: where it ends.

    Raises:
        QuantityError: for every bad argument at once; a longest time that is not longer than the shortest.
        MissingExtraError: without matplotlib.

    Example:
        >>> plot_yeast_for_time("2 %", time="2 h").axes[0].get_yscale()
        'log'
    """
    with Door() as door:
        first_h = door.read(TIME, shortest, "shortest")
        last_h = door.read(TIME, longest, "longest")
        celsius = door.read(TEMPERATURE, temperature, "temperature")
        if not door.faults and not 0 < first_h < last_h:
            door.refuse("longest", write(TIME, last_h), f"longer than the shortest, {write(TIME, first_h)}, above zero")
    at = write(TEMPERATURE, celsius)
    usual = Schedule(Hold(time, at))
    hours = [first_h * (last_h / first_h) ** (point / 60) for point in range(61)]
    found = [yeast_for_schedule(dose, usual, Schedule(Hold(write(TIME, each), at))) for each in hours]
    figure, axes = _figure()
    axes.plot(hours, [each.dose_percent for each in found], color=BLUE, label="constant yeast (the inverse rule)")
    low, high = [each.low_percent for each in found], [each.high_percent for each in found]
    axes.fill_between(hours, low, high, color=BLUE, alpha=0.2, label="band: growth as counted to none")
    tables: dict[str, list[HandbookDose]] = {}
    for row in handbook_doses():
        tables.setdefault(row.table, []).append(row)
    for mark, (table, rows) in zip(_MARKS, tables.items(), strict=False):
        dots = [row.middle for row in rows]
        axes.scatter(
            [x for x, _ in dots], [y for _, y in dots], marker=mark, color=GREY, s=28, label=f"printed: {table}"
        )
    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_xlabel("hours from the end of mixing to the oven")
    axes.set_ylabel("fresh yeast, % of its flour")
    ticks = [each for each in (1, 2, 3, 4, 6, 8, 12, 18, 24) if first_h <= each <= last_h]
    axes.set_xticks(ticks, [str(each) for each in ticks])
    axes.set_xticks([], minor=True)
    axes.set_yticks([0.1, 0.2, 0.5, 1, 2, 5], ["0.1", "0.2", "0.5", "1", "2", "5"])
    axes.set_yticks([], minor=True)
    axes.legend(fontsize="small")
    axes.set_title(f"Yeast for the time, dough at {at}")
    return figure
