"""The numbers of a wall chart: axes, cells, marks and refusals."""

import copy
import pickle
from typing import Any

import pint
import pytest

from formula.errors import QuantityError
from formula.friction import friction_factor
from formula.wallchart import MARKS, MOST_CELLS, temperatures_between, water_chart
from formula.water import water_temperature
from tests.arithmetic import check_working

AXES: dict[str, Any] = {"flour": ["18 °C", "22 °C", "26 °C"], "room": ["20 °C", "30 °C"]}


def test_every_cell_is_the_rule() -> None:
    chart = water_chart("25 °C", **AXES, friction="20 K", preferments=["18 °C", "19 °C"])
    for row, room in zip(chart.water_c, AXES["room"], strict=True):
        for cell, flour in zip(row, AXES["flour"], strict=True):
            mix = {"flour": flour, "room": room, "preferments": ["18 °C", "19 °C"]}
            found = water_temperature("25 °C", **mix, friction="20 K")
            assert cell == pytest.approx(found.temperature_c, abs=1e-12)
    assert (chart.count, chart.base_c) == (5, 68.0)
    check_working(chart.working(), chart.water_c[0][0])


def test_a_rise_and_a_factor_of_a_trial() -> None:
    by_rise = water_chart("25 °C", **AXES, rise="5 K")
    assert (by_rise.friction_k, by_rise.water_c[0]) == (15.0, (22.0, 18.0, 14.0))
    check_working(by_rise.working(), 22.0)
    factor = friction_factor(dough="25 °C", flour="18 °C", room="20 °C", water="22 °C")
    assert water_chart("25 °C", **AXES, friction=factor).water_c == by_rise.water_c
    with pytest.raises(QuantityError, match=r"for_count\(4\)"):
        water_chart("25 °C", **AXES, friction=factor, preferments="18 °C")


def test_marks() -> None:
    axes: dict[str, Any] = {"flour": ["0 °C"], "room": ["-0.1 °C", "0 °C", "48 °C", "48.1 °C", "130 °C", "130.1 °C"]}
    chart = water_chart("20 °C", **axes, friction="10 K")
    assert [row[0] for row in chart.marks] == ["hot", "", "", "ice", "ice", "none"]
    assert [caution.code for caution in chart.cautions] == ["cells-ice", "cells-hot", "cells-none"]
    assert chart.cautions[0].text.startswith("2 of 6 cells are marked *")
    chilled = water_chart("20 °C", **axes, friction="10 K", coldest="14 °C")
    assert [row[0] for row in chilled.marks] == ["hot", "", "ice", "ice", "ice", "none"]
    assert len({sign for _, sign, _ in MARKS}) == len(MARKS) == 3


def test_axes() -> None:
    assert temperatures_between("14 °C", "20 °C", "2.5 K") == ("14 °C", "16.5 °C", "19 °C")
    assert temperatures_between("14 °C", "14 °C", "1 K") == ("14 °C",)
    fahrenheit = temperatures_between("50 °F", "100 °F", "5 °F")
    assert len(fahrenheit) == 11
    chart = water_chart("78 °F", flour=fahrenheit, room=["70 °F"], friction="24 °F", unit="°F")
    assert [round(value * 1.8 + 32, 6) for value in chart.flour_c] == [50 + 5 * place for place in range(11)]
    assert len(temperatures_between("1 °C", "40 °C", "1 K")) == MOST_CELLS


def test_bad_axes() -> None:
    with pytest.raises(QuantityError, match="step: got 41 temperatures, expected at most 40; take a larger step"):
        temperatures_between("0 °C", "40 °C", "1 K")
    with pytest.raises(QuantityError) as caught:
        temperatures_between("20 °C", "14 °C", "0 K")
    assert [fault.where for fault in caught.value.faults] == ["step", "last"]
    with pytest.raises(QuantityError) as caught:
        temperatures_between("20", "14", pint.UnitRegistry().Quantity(2.0, "degC"))
    assert [fault.where for fault in caught.value.faults] == ["first", "last", "step"]


@pytest.mark.parametrize("axis", [[], ["20 °C"] * 41, "20 °C", pint.UnitRegistry().Quantity(20.0, "degC"), 20])
def test_an_axis_is_1_to_40_temperatures(axis: Any) -> None:  # noqa: ANN401 - whatever a caller may write
    with pytest.raises(QuantityError) as caught:
        water_chart("25 °C", flour=axis, room=["20 °C"], friction="8 K")
    assert [fault.where for fault in caught.value.faults] == ["flour"]


def test_every_bad_argument_is_named_at_once() -> None:
    with pytest.raises(QuantityError) as caught:
        water_chart("25", flour=["20 °C", "21"], room=["20"], preferments="3", coldest="1", unit="K", title=4)  # type: ignore[arg-type]
    assert [fault.where for fault in caught.value.faults] == [
        "dough", "flour[1]", "room[0]", "preferments", "friction", "coldest", "unit", "title",
    ]  # fmt: skip
    with pytest.raises(QuantityError, match="coldest: got -1 °C, expected liquid water"):
        water_chart("25 °C", **AXES, friction="8 K", coldest="-1 °C")


def test_views_and_values() -> None:
    chart = water_chart("25 °C", **AXES, friction="15 K", preferments="20 °C", title="Quay Round")
    assert chart.dough.m_as("degF") == pytest.approx(77.0)
    assert chart.friction.m_as("delta_degC") == pytest.approx(15.0)
    assert chart.rise.m_as("delta_degC") == pytest.approx(15 / 4)
    assert chart.coldest.m_as("degC") == pytest.approx(2.0)
    assert [value.m_as("degC") for value in chart.flour] == pytest.approx([18.0, 22.0, 26.0])
    assert [value.m_as("degC") for value in chart.room] == pytest.approx([20.0, 30.0])
    assert [value.m_as("degC") for value in chart.preferments] == pytest.approx([20.0])
    assert chart.water[1][2].m_as("degC") == pytest.approx(100 - 15 - 20 - 26 - 30)
    assert pickle.loads(pickle.dumps(chart)) == copy.deepcopy(chart) == chart  # noqa: S301 - our own bytes
    assert hash(copy.deepcopy(chart)) == hash(chart)
