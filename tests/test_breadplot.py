"""Plots of water and formulas show the library's own numbers, and no meaning rests on colour alone."""

import sys
from itertools import combinations, pairwise
from typing import Any

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.colors import to_rgb
from matplotlib.container import ErrorbarContainer
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from formula import (
    Formula,
    estimate_loss,
    plot_bake_loss,
    plot_balance,
    plot_water_chart,
    temperatures_between,
    typical_losses,
    water_chart,
    water_temperature,
)
from formula.breadplot import MOST_BREADS
from formula.errors import FormulaError, MissingExtraError, QuantityError
from formula.losstable import TypicalLoss
from formula.plot import BLUE, ORANGE
from formula.wallchart import WaterChart

FLOURS = temperatures_between("4 °C", "34 °C", "5 K")
ROOMS = temperatures_between("10 °C", "34 °C", "6 K")
LEAN = Formula.from_percents("Lean", {"bread flour": 80, "rye flour": 20, "water": 70, "salt": 2})
RICH = Formula.from_percents("Rich", {"bread flour": 100, "whole milk": 60, "butter": 12, "olive oil": 3, "salt": 1.8})


def chart_of(friction: str = "24 K", rooms: tuple[str, ...] = ROOMS, unit: str = "°C") -> WaterChart:
    return water_chart("25 °C", friction=friction, flour=FLOURS, room=rooms, unit=unit, title="Quay Round")  # type: ignore[arg-type]


def words(axes: Axes) -> list[str]:
    return [text.get_text().strip() for text in axes.texts]


def hatches(axes: Axes) -> list[str]:
    return [hatch for patch in axes.patches if (hatch := patch.get_hatch())]


class TestTheWater:
    def test_every_point_is_the_rule_of_its_room(self) -> None:
        (axes,) = plot_water_chart(chart_of()).axes
        lines = axes.get_lines()
        assert [line.get_label() for line in lines] == [f"room {room}" for room in ROOMS]
        for line, room in zip(lines, ROOMS, strict=True):
            wanted = [water_temperature("25 °C", flour=f, room=room, friction="24 K").temperature_c for f in FLOURS]
            assert np.asarray(line.get_ydata(), float).tolist() == pytest.approx(wanted)
            assert np.asarray(line.get_xdata(), float).tolist() == [float(f.split()[0]) for f in FLOURS]
        assert (axes.get_xlabel(), axes.get_ylabel()) == ("flour, °C", "water, °C")
        assert axes.get_title() == "Quay Round"
        assert set(words(axes)) >= {f"room {room}" for room in ROOMS}

    def test_in_fahrenheit(self) -> None:
        (axes,) = plot_water_chart(chart_of(unit="°F")).axes
        # 3 * 77 - 39.2 - 50 - 43.2, by hand
        assert np.asarray(axes.get_lines()[0].get_ydata(), float)[0] == pytest.approx(98.6)
        assert axes.get_xlabel() == "flour, °F"
        assert "room 50 °F" in words(axes)

    @pytest.mark.parametrize(
        ("friction", "rooms", "told"),
        [
            ("24 K", ROOMS, ["ice"]),
            ("0 K", ("0 °C", "10 °C"), ["scalds"]),
            ("24 K", ("10 °C",), []),
            ("10 K", ("2 °C", "34 °C"), ["ice", "scalds"]),
        ],
    )
    def test_what_cannot_be_drawn_is_said_and_hatched(
        self, friction: str, rooms: tuple[str, ...], told: list[str]
    ) -> None:
        (axes,) = plot_water_chart(chart_of(friction, rooms)).axes
        areas = [text for text in words(axes) if not text.startswith("room")]
        assert [text.split()[-1] for text in areas] == told
        assert len(set(hatches(axes))) == len(hatches(axes)) == len(told)
        assert len(axes.patches) == 2 * len(told)  # a tint and a hatch each

    def test_the_edges_of_the_areas_are_the_limits(self) -> None:
        chart = chart_of("10 K", ("2 °C", "34 °C"))
        (axes,) = plot_water_chart(chart).axes
        cold, hot = (patch for patch in axes.patches if isinstance(patch, Rectangle) and patch.get_hatch())
        assert max(cold.get_y(), cold.get_y() + cold.get_height()) == pytest.approx(chart.coldest_c)
        # 50 °C kills yeast and scalds.
        assert min(hot.get_y(), hot.get_y() + hot.get_height()) == pytest.approx(50)

    def test_lines_side_by_side_differ_in_style_as_well(self) -> None:
        (axes,) = plot_water_chart(chart_of()).axes
        styles = [line.get_linestyle() for line in axes.get_lines()]
        assert all(first != second for first, second in pairwise(styles))

    def test_of_many_rooms_some_are_drawn(self) -> None:
        rooms = temperatures_between("10 °C", "34 °C", "1 K")
        labels = [line.get_label() for line in plot_water_chart(chart_of(rooms=rooms)).axes[0].get_lines()]
        assert len(labels) == 7
        assert (labels[0], labels[-1]) == ("room 10 °C", "room 34 °C")

    def test_no_name_is_cut_off(self) -> None:
        figure = plot_water_chart(chart_of())
        check_inside(figure)


def check_inside(figure: Figure) -> None:
    figure.draw_without_rendering()
    whole = figure.bbox
    for axes in figure.axes:
        for text in axes.texts:
            box = text.get_window_extent()
            assert whole.x0 <= box.x0, text
            assert box.x1 <= whole.x1, text
            assert whole.y0 <= box.y0, text
            assert box.y1 <= whole.y1, text


def pairs(x: Any, y: Any) -> list[tuple[float, float]]:  # noqa: ANN401 - whatever matplotlib keeps
    return list(zip(np.asarray(x, float).tolist(), np.asarray(y, float).tolist(), strict=True))


class TestTheBakeLoss:
    def drawn(self, loss: str = "11 %", **given: Any) -> tuple[Axes, dict[str, list[tuple[float, float]]]]:  # noqa: ANN401
        (axes,) = plot_bake_loss(loss, **({"known": "900 g"} | given)).axes
        _, labels = axes.get_legend_handles_labels()
        lines = {str(line.get_label()): line for line in axes.get_lines()}
        points = {name: pairs(line.get_xdata(), line.get_ydata()) for name, line in lines.items()}
        for container in axes.containers:  # printed losses, with their ends
            assert isinstance(container, ErrorbarContainer)
            points[str(container.get_label())] = pairs(*container.lines[0].get_data())
        assert set(labels) <= {*points, "the band printed losses leave"}
        return axes, points

    def test_the_line_is_the_estimate(self) -> None:
        _, points = self.drawn()
        line = points["round, estimated from the known one"]
        assert [line[0][0], line[-1][0]] == pytest.approx([112.5, 7200])
        for dough_g, percent in line[::20]:
            found = estimate_loss("11 %", known="900 g", new=f"{dough_g} g")
            assert percent == pytest.approx(100 * found.loss_share)
        assert points["the known loaf"][0] == pytest.approx((900, 11))

    def test_the_band_is_that_of_the_estimate_and_is_hatched(self) -> None:
        axes, _ = self.drawn()
        tint, hatched = axes.collections[:2]
        assert isinstance(tint, PolyCollection)
        assert hatched.get_hatch() == "///"
        corners = np.asarray(tint.get_paths()[0].vertices)
        small = estimate_loss("11 %", known="900 g", new="112.5 g")
        at_the_left = corners[np.isclose(corners[:, 0], 112.5), 1]
        assert (min(at_the_left), max(at_the_left)) == pytest.approx((100 * small.low_share, 100 * small.high_share))

    def test_a_power_of_your_own_has_no_band(self) -> None:
        axes, points = self.drawn(exponent=1.0)
        assert not any(collection.get_hatch() for collection in axes.collections)
        line = points["round, estimated from the known one"]
        # Twice as long each way is half the skin for its mass.
        assert line[-1][1] == pytest.approx(11 / 2)

    def test_on_the_bread(self) -> None:
        _, points = self.drawn("12.5 %", on="bread")
        assert points["the known loaf"][0] == pytest.approx((900, 100 / 9))

    def test_every_printed_loss_of_a_size_is_there(self) -> None:
        _, points = self.drawn()
        shown = [point for name, these in points.items() if name.startswith("printed: ") for point in these]
        wanted = [
            each
            for each in typical_losses("bake")
            if each.on != "flour" and (each.dough_g or each.bread_g) and 112.5 <= self.size(each) <= 7200
        ]
        assert len(shown) == len(wanted) > 15
        # 88 lb of dough made 18 loaves that lost 13.5 lb together.
        assert any(point == pytest.approx((88 * 453.59237 / 18, 100 * 13.5 / 88)) for point in points["printed: round"])
        assert points["printed: ring"][0] == pytest.approx((1670, 100 * 670 / 1670))

    @staticmethod
    def size(row: TypicalLoss) -> float:
        if row.dough_g:
            return row.dough_g / row.loaves
        assert row.bread_g
        assert row.low_on_dough_share is not None
        assert row.high_on_dough_share is not None
        return row.bread_g / (1 - (row.low_on_dough_share + row.high_on_dough_share) / 2)

    def test_shapes_differ_in_their_mark_as_well(self) -> None:
        axes, _ = self.drawn()
        marks = [each.lines[0].get_marker() for each in axes.containers if isinstance(each, ErrorbarContainer)]
        assert len(set(marks)) == len(marks) > 3

    def test_a_loaf_that_would_lose_half_is_not_drawn(self) -> None:
        _, points = self.drawn("40 %", known="60 g", shape="roll")
        line = points["roll, estimated from the known one"]
        assert line[0][0] > 60 / 8
        assert max(percent for _, percent in line) <= 50

    def test_nothing_is_cut_off(self) -> None:
        figure = plot_bake_loss("11 %", known="900 g")
        check_inside(figure)
        legend = figure.axes[0].get_legend()
        assert legend
        box = legend.get_window_extent()
        assert figure.bbox.x0 <= box.x0 <= box.x1 <= figure.bbox.x1
        assert figure.bbox.y0 <= box.y0 <= box.y1 <= figure.bbox.y1

    def test_a_bad_loss_is_refused(self) -> None:
        with pytest.raises(QuantityError, match="loss: got 100 %"):
            plot_bake_loss("100 %", known="900 g")


class TestTheBalance:
    def test_the_bars_are_the_sums_of_each_kind(self) -> None:
        figure = plot_balance([LEAN, RICH])
        found = {
            axes.get_title(): [patch.get_width() for patch in axes.patches if isinstance(patch, Rectangle)]
            for axes in figure.axes
        }
        assert found == {"water": [70, 0], "liquid": [0, 60], "salt": [2, 1.8], "fat": [0, 15]}
        assert [label.get_text() for label in figure.axes[0].get_yticklabels()] == ["Lean", "Rich"]
        assert {axes.get_xlabel() for axes in figure.axes} == {"%"}
        assert [words(axes) for axes in figure.axes] == [["70"], ["60"], ["2", "1.8"], ["15"]]

    def test_flour_alone(self) -> None:
        (axes,) = plot_balance([Formula.from_percents("Flour", {"bread flour": 100})]).axes
        assert not axes.patches

    def test_two_of_one_name_stay_two(self) -> None:
        assert len(plot_balance([LEAN, LEAN]).axes[0].patches) == 2

    def test_no_name_is_cut_off(self) -> None:
        check_inside(plot_balance([LEAN, RICH] * (MOST_BREADS // 2)))

    @pytest.mark.parametrize("count", [0, MOST_BREADS + 1])
    def test_none_or_too_many_are_refused(self, count: int) -> None:
        with pytest.raises(FormulaError, match=f"formulas: got {count} breads, expected 1 to {MOST_BREADS}"):
            plot_balance([LEAN] * count)


def test_without_matplotlib_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "matplotlib.figure", None)
    with pytest.raises(MissingExtraError, match="plot"):
        plot_balance([LEAN])
    with pytest.raises(MissingExtraError, match="plot"):
        plot_water_chart(chart_of())
    with pytest.raises(MissingExtraError, match="plot"):
        plot_bake_loss("11 %", known="900 g")


# What is left of red, green and blue for who lacks red, green or blue cones: the matrices of Viénot and colleagues (1999)
# in linear light for the first two, from memory; a rough third by leaving blue out.
LACKING = {
    "red": ((0.11238, 0.88762, 0.0), (0.11238, 0.88762, 0.0), (0.00401, -0.00401, 1.0)),
    "green": ((0.29275, 0.70725, 0.0), (0.29275, 0.70725, 0.0), (-0.02234, 0.02234, 1.0)),
    "blue": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.5, 0.5, 0.0)),
}


@pytest.mark.parametrize("cones", LACKING)
def test_the_colours_of_ice_and_heat_stay_apart(cones: str) -> None:
    seen = [np.asarray(LACKING[cones]) @ np.asarray(to_rgb(colour)) ** 2.2 for colour in (BLUE, ORANGE)]
    assert all(float(np.linalg.norm(a - b)) > 0.2 for a, b in combinations(seen, 2))
