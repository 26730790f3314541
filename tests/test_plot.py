"""Plots show the library's own numbers, and what handbooks print beside them."""

import csv
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from formula.errors import FormulaError, QuantityError, UnknownNameError
from formula.handbooks import handbook_doses
from formula.plot import picture, plot_schedule, plot_timetable, plot_weighings, plot_yeast_for_time
from formula.samples import Weighing, control_limits
from formula.schedule import Schedule
from formula.sources import all_sources
from formula.steps import Cool, Hold, Ramp
from formula.timing import yeast_for_time
from formula.words import one_line
from tests.shopdays import small_day, small_workshop

NIGHT = Schedule(Hold("1 h", "24 °C"), Cool("16 h", to="4 °C", tau="1.5 h"), Ramp("2 h", to="26 °C"))


def drawn(axes: Axes) -> tuple[list[float], list[float]]:
    """Return the points of the first line."""
    line = axes.get_lines()[0]
    return np.asarray(line.get_xdata(), float).tolist(), np.asarray(line.get_ydata(), float).tolist()


def test_a_schedule() -> None:
    axes, beside = plot_schedule(NIGHT).axes
    hours, celsius = drawn(axes)
    assert [hours[0], hours[-1]] == pytest.approx([0, 19])
    assert [celsius[0], celsius[-1]] == pytest.approx([24, 26])
    # After one lag 37 % of the difference to the room is left: 4 + 20 / e.
    nearest = min(range(len(hours)), key=lambda place: abs(hours[place] - 2.5))
    assert celsius[nearest] == pytest.approx(11.36, abs=0.5)
    activity = drawn(beside)[1]
    assert max(activity) <= 100
    assert activity[0] == pytest.approx(100 * NIGHT.rate.at(24))
    assert axes.get_ylabel().endswith("°C")


def heights(axes: Axes) -> dict[str, float]:
    """Return where each horizontal line stands, by the first word of its label."""
    lines = ((str(line.get_label()), np.asarray(line.get_ydata(), float)) for line in axes.get_lines())
    return {label.split(",")[0]: float(ys[0]) for label, ys in lines if "," in label}


def test_weighings() -> None:
    loaves = [Weighing(f"{400 + place % 4} g", batch=str(place // 5)) for place in range(15)]
    loaves += [Weighing(f"{420 + place % 4} g", batch="late") for place in range(5)]
    (axes,) = plot_weighings(loaves, "400 g", target="402 g").axes
    assert heights(axes) == {"nominal weight": 400, "nominal - T": 388, "nominal - 2T": 376, "target": 402}
    assert drawn(axes)[1] == [loaf.mass_g for loaf in loaves]
    found = control_limits(loaves, target="402 g")
    means = next(line for line in axes.get_lines() if line.get_label() == "mean of a subgroup")
    assert np.asarray(means.get_ydata(), float).tolist() == [group.mean_g for group in found.groups]
    # Three batches of one kind and one 20 g heavier: the last stands outside, and is ringed.
    assert [group.is_out for group in found.groups] == [False, False, False, True]
    (ring,) = [found for found in axes.collections if found.get_label() == "outside its limits"]
    assert np.asarray(ring.get_offsets(), float).tolist() == [[18.0, found.groups[-1].mean_g]]


def test_weighings_under_a_rule_with_one_limit() -> None:
    (axes,) = plot_weighings(["401 g", "399 g", "402 g", "400 g"], "400 g", rule="us", size=2).axes
    found = heights(axes)
    assert found == {"nominal weight": 400, "nominal - MAV": pytest.approx(400 - 0.04 * 453.59237), "mean": 400.5}
    assert not [found for found in axes.collections if found.get_label() == "outside its limits"]
    with pytest.raises(QuantityError, match="nominal"):
        plot_weighings(["401 g"], "400")


def test_yeast_for_every_time() -> None:
    (axes,) = plot_yeast_for_time("2 %", time="2 h", shortest="1 h", longest="16 h").axes
    hours, doses = drawn(axes)
    # The inverse rule: 2 % x 2 h = 4.
    assert [hour * dose for hour, dose in zip(hours, doses, strict=True)] == pytest.approx([4] * len(hours))
    assert doses[-1] == pytest.approx(yeast_for_time("2 %", time="2 h", new_time="16 h").dose_percent)
    dots = sum(
        len(np.asarray(each.get_offsets())) for each in axes.collections if str(each.get_label()).startswith("printed")
    )
    assert dots == len(handbook_doses())


def test_every_printed_row_stands_in_the_check_values() -> None:
    """The dots are the rows of the check values, in percent: 0.3 for a gram in a litre of all the water, 1 for a cake."""
    with (Path(__file__).parent / "oracles" / "handbook_doses.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["table"] != "G"]  # a formula, not a table
    factors = {"%": 1.0, "cake": 1.0, "g per litre of all the dough water": 0.3}
    printed = sorted(
        (
            float(row["time_h"]),
            float(row["to_h"]),
            *(float(row[key]) * factors[row["unit"]] for key in ("dose", "to_dose")),
        )
        for row in rows
    )
    found = sorted((*dose.time_h, *dose.dose_percent) for dose in handbook_doses())
    assert len(found) == len(printed)
    for one, other in zip(found, printed, strict=True):
        assert one == pytest.approx(other)


def test_every_table_has_its_source() -> None:
    assert {row.source for row in handbook_doses()} <= set(all_sources())
    row = handbook_doses()[0]
    assert [each.m_as("hour") for each in row.time] == pytest.approx(row.time_h)
    assert [each.m_as("percent") for each in row.dose] == pytest.approx(row.dose_percent)


def test_it_can_be_saved(tmp_path: Path) -> None:
    for number, figure in enumerate((plot_schedule(NIGHT), plot_yeast_for_time("1 %", time="3 h"))):
        file = tmp_path / f"{number}.png"
        figure.savefig(file)
        assert file.read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("wrong", [{"shortest": "0 h"}, {"longest": "1 h"}, {"shortest": "2 h", "longest": "1 h"}])
def test_a_curve_of_no_length(wrong: dict[str, str]) -> None:
    with pytest.raises(QuantityError, match="longer than the shortest"):
        plot_yeast_for_time("2 %", time="2 h", **wrong)


def test_every_bad_argument_at_once() -> None:
    with pytest.raises(QuantityError) as raised:
        plot_yeast_for_time("2 %", time="2 h", temperature="26", shortest="1", longest="9")
    assert [fault.where for fault in raised.value.faults] == ["shortest", "longest", "temperature"]


def test_without_matplotlib_it_says_what_to_install(fresh_python: Callable[[str], str]) -> None:
    code = """
import sys
sys.modules["matplotlib"] = None
from formula import Hold, MissingExtraError, Schedule, plot_schedule
try:
    plot_schedule(Schedule(Hold("1 h", "24 °C")))
except MissingExtraError as error:
    print(error)
"""
    assert fresh_python(code) == "matplotlib is not installed; this needs: pip install 'dough-formula[plot]'\n"


class TestTimetable:
    DAY = small_day()

    def test_a_row_for_every_station_and_a_bar_for_every_task(self) -> None:
        axes = plot_timetable(self.DAY).axes[0]
        names = [label.get_text() for label in axes.get_yticklabels()]
        assert names == ["+spiral", "bench", "-deck [1]", "clay/oven", "slicing", "packing"]
        bars = sorted((round(bar.get_x()), round(bar.get_x() + bar.get_width())) for bar in rectangles(axes))
        firings = [(0, 30), (240, 270)]
        tasks = [(task.begin_min, task.end_min) for task in self.DAY.tasks if task.station in names]
        assert bars == sorted([*tasks, *firings])

    def test_nothing_lies_over_another_bar(self) -> None:
        bars = rectangles(plot_timetable(self.DAY).axes[0])
        rows: dict[float, list[tuple[float, float]]] = {}
        for bar in bars:
            rows.setdefault(bar.get_y(), []).append((bar.get_x(), bar.get_x() + bar.get_width()))
        for row in rows.values():
            ordered = sorted(row)
            assert all(earlier[1] <= later[0] for earlier, later in pairwise(ordered))

    def test_breads_differ_by_colour_and_hatching_and_due_times_are_marked(self) -> None:
        figure = plot_timetable(self.DAY)
        axes = figure.axes[0]
        looks = {(bar.get_facecolor(), bar.get_hatch()) for bar in rectangles(axes)}
        assert len({look[0] for look in looks}) == len({look[1] for look in looks if look[1]}) + 2
        texts = [text.get_text() for text in axes.texts]
        assert texts == ["due 04:30", "due 06:00"]
        assert "every order is packed in time" in axes.get_title()
        (legend,) = figure.legends
        assert [text.get_text() for text in legend.get_texts()] == [one_line(plan.name) for plan in self.DAY.day.breads]

    def test_what_it_draws_from(self) -> None:
        with pytest.raises(FormulaError, match="nothing of this day finds room"):
            plot_timetable(small_day(small_workshop(opens="23:00 the day after")))
        with pytest.raises(UnknownNameError, match="ends in one of"):
            picture(plot_timetable(self.DAY), "")
        assert picture(plot_timetable(self.DAY), ".png").startswith(b"\x89PNG")


def rectangles(axes: Axes) -> list[Rectangle]:
    return [patch for patch in axes.patches if isinstance(patch, Rectangle)]
