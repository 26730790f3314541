"""Plots of water, of bake loss and of formulas, where bakers look rather than read; needs the extra ``plot``, imported when one is drawn.

No meaning rests on colour alone: lines are labelled where they end, areas carry a word and a hatch.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from .errors import Fault, FormulaError, QuantityError
from .formula import Formula
from .ingredient import INGREDIENT_KINDS
from .losses import On
from .lossestimate import LossEstimate, estimate_loss
from .losstable import typical_losses
from .plot import BLUE, GREY, MARKS, ORANGE, new_figure
from .quantity import MASS, TEMPERATURE, Measure, write
from .shape import LoafShape
from .wallchart import WaterChart
from .water import YEAST_LIMIT
from .words import one_line
from .working import shown

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["MOST_BREADS", "plot_bake_loss", "plot_balance", "plot_water_chart"]

MOST_BREADS: Final = 20
"""Breads in one picture; more cannot be compared at a glance."""
_MOST_LINES: Final = 7
"""Room temperatures in one picture; of more, evenly spaced ones are drawn."""
_REACH: Final = 8.0
"""How many times heavier and lighter than the known loaf is still drawn: half and twice its thickness."""
_MOST_LOSS: Final = 0.5
_POINTS: Final = 120
_TICKS: Final = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000)
_STYLES: Final = ("-", "--", "-.", ":")


def plot_water_chart(chart: WaterChart) -> Figure:
    """Draw a wall chart: the water over the flour's temperature, a line for each room, and where it needs ice or scalds.

    Args:
        chart: as ``water_chart`` gives it; it is drawn on its own scale, °C or °F.

    Raises:
        MissingExtraError: without matplotlib.

    Of more than seven rooms, seven evenly spaced ones are drawn.

    Example:
        >>> from formula.wallchart import water_chart
        >>> chart = water_chart("25 °C", friction="24 K", flour=["14 °C", "18 °C"], room=["16 °C", "20 °C"])
        >>> [line.get_label() for line in plot_water_chart(chart).axes[0].get_lines()][:2]
        ['room 16 °C', 'room 20 °C']
    """

    def to(celsius: float) -> float:
        return celsius if chart.unit == "°C" else celsius * 1.8 + 32

    figure = new_figure(8, 4.5)
    axes = figure.subplots()
    count = len(chart.room_c)
    rows = list(range(count))
    if count > _MOST_LINES:
        rows = [round(place * (count - 1) / (_MOST_LINES - 1)) for place in range(_MOST_LINES)]
    flour = [to(value) for value in chart.flour_c]
    for place, row in enumerate(rows):
        name = f"room {write(TEMPERATURE, round(chart.room_c[row], 6), chart.unit)}"
        water = [to(value) for value in chart.water_c[row]]
        axes.plot(
            flour, water, color=BLUE, linestyle=_STYLES[place % len(_STYLES)], marker="o", markersize=3, label=name
        )
        axes.annotate(f" {name}", (flour[-1], water[-1]), va="center", fontsize="small", color=GREY)
    every = [line for row in rows for line in map(to, chart.water_c[row])]
    bottom, top = axes.get_ylim()
    for limit, edge, reached, colour, hatch, words in (
        (to(chart.coldest_c), bottom, min(every) < to(chart.coldest_c), BLUE, "///", "colder than drawn: weigh ice"),
        (
            to(YEAST_LIMIT.value),
            top,
            max(every) > to(YEAST_LIMIT.value),
            ORANGE,
            "xxx",
            "too hot for yeast, and it scalds",
        ),
    ):
        if reached:
            # Two areas, as an SVG draws the lines of a hatch in a tint of their own area until they cannot be seen.
            axes.axhspan(edge, limit, facecolor=(colour, 0.12))
            axes.axhspan(edge, limit, facecolor="none", hatch=hatch, edgecolor=(colour, 0.5))
            box = {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1}
            # Lines fall to the right: the cold area is free at its left, the hot one at its right.
            at, side = (max(flour), "right") if colour == ORANGE else (min(flour), "left")
            axes.annotate(words, (at, (edge + limit) / 2), va="center", ha=side, fontsize="small", bbox=box)
    axes.set_ylim(bottom, top)
    width = max(flour) - min(flour) or 1.0
    axes.set_xlim(min(flour) - 0.05 * width, max(flour) + 0.2 * width)  # room for the names at the ends
    axes.set_xlabel(f"flour, {chart.unit}")
    axes.set_ylabel(f"water, {chart.unit}")
    axes.set_title(one_line(chart.title), fontsize="medium", wrap=True)
    return figure


def plot_bake_loss(
    loss: Measure,
    *,
    known: Measure,
    shape: str | LoafShape = "round",
    on: On = "dough",
    exponent: float | None = None,
) -> Figure:
    """Draw the bake loss over the size of a loaf, from one that is known, with its band, and what is printed beside it.

    Args:
        loss: the known bake loss, a share.
        known: the dough of the loaf that has it, a mass on the divider's scale.
        shape: its shape, and that of the loaves that are drawn; see ``estimate_loss``.
        on: whether the known loss is a share of the "dough" or of the "bread"; the picture is of the dough.
        exponent: a power of your own, from two losses that you weighed; then there is no band.

    Raises:
        QuantityError: for what ``estimate_loss`` refuses.
        MissingExtraError: without matplotlib.

    Drawn from an eighth of the known size to eight times it, and no loaf that would lose half its dough.  What is printed
    is printed of other ovens and doughs: it shows how far breads differ, not what yours should lose.

    Example:
        >>> (axes,) = plot_bake_loss("11 %", known="900 g").axes
        >>> axes.get_xlabel(), axes.get_ylabel()
        ('dough of one loaf, g', 'bake loss, % of the dough')
    """
    whole = estimate_loss(loss, known=known, new=known, shape=shape, on=on, exponent=exponent)
    known_g, first, last = whole.known.mass_g, whole.known.mass_g / _REACH, whole.known.mass_g * _REACH
    grams = [first * (last / first) ** (place / _POINTS) for place in range(_POINTS + 1)]
    estimates: list[LossEstimate] = []
    for each_g in grams:
        try:
            found = estimate_loss(loss, known=known, new=write(MASS, each_g), shape=shape, on=on, exponent=exponent)
        except QuantityError:  # a loaf so small that nothing would be left of it
            continue
        if found.high_share <= _MOST_LOSS:
            estimates.append(found)
    figure = new_figure(8, 4.8)
    axes = figure.subplots()
    doughs = [found.new.mass_g for found in estimates]
    low, middle, high = (
        [100 * share for share in shares]
        for shares in zip(*((each.low_share, each.loss_share, each.high_share) for each in estimates), strict=True)
    )
    if low != high:
        axes.fill_between(doughs, low, high, facecolor=(BLUE, 0.12))
        axes.fill_between(
            doughs,
            low,
            high,
            facecolor="none",
            hatch="///",
            edgecolor=(BLUE, 0.3),
            label="the band printed losses leave",
        )
    named = f"{whole.known.shape.name}, estimated from the known one"
    axes.plot(doughs, middle, color=BLUE, label=named)
    axes.plot([known_g], [100 * whole.known_share], "*", color="black", markersize=13, label="the known loaf", zorder=4)
    for place, (name, points) in enumerate(_printed_losses(first, last).items()):
        x, ends = [point[0] for point in points], [point[1:] for point in points]
        middles = [100 * (start + end) / 2 for start, end in ends]
        spread = [50 * (end - start) for start, end in ends]
        axes.errorbar(
            x, middles, spread, fmt=MARKS[place % len(MARKS)], color=ORANGE, mfc="white", label=f"printed: {name}"
        )
    axes.set_xscale("log")
    ticks = [tick for tick in _TICKS if first <= tick <= last]
    axes.set_xticks(ticks, [shown(tick) for tick in ticks])
    axes.set_xticks([], minor=True)
    axes.set_ylim(bottom=0)
    axes.set_xlabel("dough of one loaf, g")
    axes.set_ylabel("bake loss, % of the dough")
    axes.grid(visible=True, alpha=0.3)
    axes.legend(fontsize="small", loc="upper left", bbox_to_anchor=(1, 1))
    return figure


def _printed_losses(first_g: float, last_g: float) -> dict[str, list[tuple[float, float, float]]]:
    """Return the printed losses of loaves between two sizes, by shape: the dough, the least and the most of it."""
    found: dict[str, list[tuple[float, float, float]]] = {}
    for row in typical_losses("bake"):
        low, high = row.low_on_dough_share, row.high_on_dough_share
        if low is None or high is None or not (row.dough_g or row.bread_g):
            continue
        dough_g = row.dough_g or (row.bread_g or 0.0) / (1 - (low + high) / 2)
        if first_g <= dough_g / row.loaves <= last_g:
            name = row.shape.name if row.shape else "no shape named"
            found.setdefault(name, []).append((dough_g / row.loaves, low, high))
    return dict(sorted(found.items(), key=lambda each: (each[0] == "no shape named", each[0])))


def plot_balance(formulas: Iterable[Formula]) -> Figure:
    """Draw the balance of several breads side by side: what of each kind of ingredient goes with 100 of flour.

    Args:
        formulas: the breads, at most twenty; two of one name are told apart by their place.

    Raises:
        FormulaError: for no bread, or more than twenty.
        MissingExtraError: without matplotlib.

    Each kind has its own column and scale, so that salt can be compared as well as water.  Flour is left out: it is 100.

    Example:
        >>> lean = Formula.from_percents("Lean", {"bread flour": 100, "water": 70, "salt": 2})
        >>> rich = Formula.from_percents("Rich", {"bread flour": 100, "whole milk": 60, "butter": 12, "salt": 1.8})
        >>> [axes.get_title() for axes in plot_balance([lean, rich]).axes]
        ['water', 'liquid', 'salt', 'fat']
    """
    breads = list(formulas)
    if not 0 < len(breads) <= MOST_BREADS:
        raise FormulaError(Fault("formulas", f"{len(breads)} breads", f"1 to {MOST_BREADS}"))
    sums: dict[str, list[float]] = {}
    for place, bread in enumerate(breads):
        for name, percent in bread.percents.items():
            if name in bread.flours:
                continue
            kind = bread.catalogue.find(name).kind
            sums.setdefault(kind, [0.0] * len(breads))[place] += percent
    sums = {kind: sums[kind] for kind in INGREDIENT_KINDS if kind in sums}
    figure = new_figure(1.5 + 1.7 * max(len(sums), 1), 1.2 + 0.45 * len(breads))
    columns = figure.subplots(1, max(len(sums), 1), sharey=True, squeeze=False)[0]
    names = [one_line(bread.name) for bread in breads]
    for axes, (kind, percents) in zip(columns, sums.items(), strict=False):
        axes.barh(range(len(breads)), percents, color=BLUE, height=0.6)
        for place, percent in enumerate(percents):
            if percent:
                axes.annotate(f" {shown(percent, 3)}", (percent, place), va="center", fontsize="small")
        axes.set_title(kind, fontsize="medium")
        axes.set_xlim(0, 1.35 * max(percents))
        axes.set_xlabel("%", fontsize="small")
        axes.spines[["top", "right"]].set_visible(False)
    columns[0].set_yticks(range(len(breads)), names)
    columns[0].invert_yaxis()
    figure.supxlabel("in percent of all the flour; each column has its own scale", fontsize="small")
    return figure
