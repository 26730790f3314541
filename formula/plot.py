"""Plots where bakers look rather than read; needs the extra ``plot`` (matplotlib), which is imported when one is drawn.

Colours are told apart by the colour-blind (the palette of Okabe and Ito), and lines by their style as well.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from itertools import accumulate
from statistics import fmean
from typing import TYPE_CHECKING, Any, Final

from .clockwork import Timetable
from .daypages import verdict
from .dose import yeast_for_schedule
from .errors import Fault, FormulaError, MissingExtraError, UnknownNameError, cited
from .handbooks import HandbookDose, handbook_doses
from .packrules import read_rule
from .quantity import MASS, TEMPERATURE, TIME, Door, Measure, write
from .samples import SIGMAS, Weighings, control_limits
from .schedule import Schedule
from .stations import Task
from .steps import Hold
from .words import one_line
from .working import shown

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["MARKS", "new_figure", "picture", "plot_schedule", "plot_timetable", "plot_weighings", "plot_yeast_for_time"]

BLUE: Final = "#0072B2"
ORANGE: Final = "#D55E00"
GREY: Final = "#555555"
MARKS: Final = ("o", "s", "^", "D", "v", "P", "X")
_POINTS: Final = 240
_BREADS: Final = ("#56B4E9", "#E69F00", "#009E73", "#F0E442", "#CC79A7", "#0072B2", "#D55E00", "#BBBBBB")
_HATCHES: Final = ("", "///", "...", "xxx", "---", "\\\\\\", "|||", "ooo", "+++")


def new_figure(width: float, height: float) -> Figure:
    """Return an empty figure of a size in inches, or say what is missing."""
    try:
        from matplotlib.figure import Figure  # noqa: PLC0415 - an extra, and half a second
    except ImportError:
        raise MissingExtraError("plot", "matplotlib") from None
    return Figure(figsize=(width, height), layout="constrained")


def _figure(width: float = 8, height: float = 4.5) -> tuple[Figure, Any]:
    figure = new_figure(width, height)
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
    for mark, (table, rows) in zip(MARKS, tables.items(), strict=False):
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


def plot_weighings(
    weighings: Weighings, nominal: Measure, *, rule: str = "eu", target: Measure | None = None, size: int = 5
) -> Figure:
    """Draw a control chart: weighings in their order, the limits of the rule, and subgroup means with their own limits.

    Args:
        weighings: the sample in its order, as ``Weighing``, from ``read_weighings``, or plain masses.
        nominal: the promised weight, a mass.
        rule: the name of a rule; see ``weight_rules``.
        target: the mean aimed at, such as that of ``target_mass``; the mean of the weighings if left out.
        size: weighings in a subgroup, where not every weighing names its batch; see ``control_limits``.

    Raises:
        QuantityError: for a bad argument; fewer than two subgroups.
        MissingExtraError: without matplotlib.

    Example:
        >>> loaves = ["401 g", "398 g", "404 g", "400 g", "403 g", "399 g"]
        >>> plot_weighings(loaves, "400 g", size=3).axes[0].get_ylabel()
        'weight as sold, g'
    """
    with Door() as door:
        nominal_g = door.read(MASS, nominal, "nominal")
        law = read_rule(door, rule, nominal_g)
    found = control_limits(weighings, size=size, target=target)
    figure, axes = _figure()
    places = range(1, len(found.masses_g) + 1)
    axes.plot(places, found.masses_g, color=GREY, linestyle="", marker="o", markersize=3, label="one piece")
    tolerance_g = law.tolerance_g(nominal_g)
    lines = [("nominal weight", nominal_g, "-")]
    lines += [("nominal - T", nominal_g - tolerance_g, "--")] if law.outer > 1 else []
    lines.append((f"nominal - {law.outer_name}", nominal_g - law.outer * tolerance_g, ":"))
    for word, height_g, style in lines:
        axes.axhline(height_g, color=ORANGE, linestyle=style, label=f"{word}, {shown(height_g)} g")
    word = "mean" if target is None else "target"
    axes.axhline(found.centre_g, color=BLUE, linestyle="-.", label=f"{word}, {shown(found.centre_g, 4)} g")
    word = f"{shown(SIGMAS.value)}-sigma limits of a subgroup's mean"
    for group in found.groups:
        span = [min(group.places) - 0.5, max(group.places) + 0.5]
        axes.fill_between(span, group.low_g, group.high_g, color=BLUE, alpha=0.15, linewidth=0, label=word)
        word = ""
    middles = [fmean(group.places) for group in found.groups]
    means = [group.mean_g for group in found.groups]
    axes.plot(middles, means, color=BLUE, marker="s", label="mean of a subgroup")
    out = [(x, group.mean_g) for x, group in zip(middles, found.groups, strict=True) if group.is_out]
    if out:
        axes.scatter(*zip(*out, strict=True), s=140, facecolors="none", edgecolors="black", label="outside its limits")
    axes.set_xlabel("weighing, in order")
    axes.set_ylabel("weight as sold, g")
    axes.legend(fontsize="small", loc="center left", bbox_to_anchor=(1, 0.5))
    axes.set_title(f"Weighings of {write(MASS, nominal_g)}, {law.place}")
    return figure


def plot_timetable(table: Timetable) -> Figure:
    """Draw a day: a row for each station, a bar for each task in the colour and hatching of its bread, and the times due.

    Args:
        table: the day on the clock.

    Raises:
        MissingExtraError: without matplotlib.
        FormulaError: for a day in which nothing finds room.

    What is done at once at one station (people at the bench, packers) stands one above the other.  Firings are grey.

    Example:
        >>> from formula import load_day, load_workshop, plan_day, timetable
        >>> shop = load_workshop("docs/examples/harbour")
        >>> table = timetable(plan_day(*load_day("docs/examples/harbour"), shop), shop)
        >>> plot_timetable(table).axes[0].get_yticklabels()[0].get_text()
        'the big spiral'
    """
    if not table.tasks:
        raise FormulaError(Fault("timetable", "no tasks", "something to draw", "nothing of this day finds room"))
    names = [*table.stations, *(name for name in ("slicing", "packing") if any(t.station == name for t in table.tasks))]
    lanes = {name: _lanes(task for task in table.tasks if task.station == name) for name in names}
    figure, axes = _figure(13, 2.6 + 0.28 * sum(map(len, lanes.values())))
    breads = [plan.name for plan in table.day.breads]
    # A dough that several breads share is drawn like the first of them.
    places = {dough.name: breads.index(dough.breads[0].name) for dough in table.day.doughs}
    places |= {name: place for place, name in enumerate(breads)}
    drawn: dict[str, Any] = {}
    top = 0
    for name, rows in lanes.items():
        for begin, end in _firings(table, name):
            axes.barh(top + 0.5, end - begin, left=begin, height=0.8, color=GREY, alpha=0.5)
        for number, task in ((number, task) for number, tasks in enumerate(rows) for task in tasks):
            place = places[task.bread]
            drawn[task.bread] = axes.barh(
                top + number + 0.5,
                task.end_min - task.begin_min,
                left=task.begin_min,
                height=0.8,
                color=_BREADS[place % len(_BREADS)],
                hatch=_HATCHES[place % len(_HATCHES)],
                edgecolor="black",
                linewidth=0.5,
            )
        top += len(rows)
        axes.axhline(top, color=GREY, linewidth=0.5)
    for due in sorted({order.due_min for order in table.orders if order.due_min is not None}):
        axes.axvline(due, color="black", linestyle="--", linewidth=1)
        axes.text(due, -0.1, f"due {table.clock(due)[:5]}", rotation=90, ha="right", va="bottom", fontsize="x-small")
    first, last = table.begin_min // 60, -(-table.end_min // 60)
    step = max(1, (last - first) // 16)
    ticks = [60 * hour for hour in range(first, last + 1, step)]
    axes.set_xticks(ticks, [table.clock(tick)[:5] for tick in ticks])
    ends = list(accumulate(map(len, lanes.values())))
    middles = [end - len(rows) / 2 for end, rows in zip(ends, lanes.values(), strict=True)]
    axes.set_yticks(middles, [_plain(name) for name in names])
    axes.set_ylim(top, -1.7)
    axes.set_xlim(60 * first, 60 * last)
    axes.grid(axis="x", color=GREY, alpha=0.25)
    axes.set_axisbelow(True)
    shown = [bread for bread in breads if bread in drawn]
    handles = [drawn[bread] for bread in shown]
    figure.legend(
        handles,
        [_plain(bread) for bread in shown],
        loc="outside lower center",
        ncols=6,
        fontsize="small",
        handleheight=1.2,
    )
    title = _plain(f"{table.day.bakery.name} {table.workshop.wall.date}")
    axes.set_title(f"{title}\n{_plain(verdict(table))}", fontsize="medium")
    return figure


def _plain(name: str) -> str:
    """Return a name as it is drawn: a dollar begins no formula, and a line below at its head does not hide it."""
    plain = one_line(name).replace("$", r"\$")
    return f" {plain}" if plain.startswith("_") else plain


def _lanes(tasks: Iterable[Task]) -> list[list[Task]]:
    """Spread tasks over as few lanes as keep those apart that are done at once."""
    lanes: list[list[Task]] = []
    for task in sorted(tasks, key=lambda task: task.begin_min):
        lane = next((lane for lane in lanes if lane[-1].end_min <= task.begin_min), None)
        if lane is None:
            lanes.append([task])
        else:
            lane.append(task)
    return lanes


def _firings(table: Timetable, station: str) -> list[tuple[int, int]]:
    wall = table.workshop.wall.elapsed
    return [
        (wall(begin), wall(begin + oven.firing_min))
        for oven in table.workshop.ovens
        if oven.name == station
        for begin in oven.fired_min
    ]


def picture(figure: Figure, ending: str) -> bytes:
    """Return a figure as the content of a picture file.

    Args:
        figure: what was drawn.
        ending: the file's, such as ".png", ".pdf" or ".svg".

    Raises:
        UnknownNameError: for an ending that matplotlib writes nothing for.
    """
    kinds = figure.canvas.get_supported_filetypes()
    kind = ending.lower().removeprefix(".")
    if kind not in kinds:
        raise UnknownNameError(
            Fault("picture", cited(ending), f"a file that ends in one of: {', '.join(sorted(kinds))}")
        )
    out = io.BytesIO()
    figure.savefig(out, format=kind, dpi=150)
    return out.getvalue()
