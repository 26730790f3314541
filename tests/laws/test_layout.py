"""The laws of the formula file: what is written reads back as the same formula, in every notation."""

import json
import tomllib

import pytest
from hypothesis import given

from formula.files import from_tables
from formula.formula import Formula
from formula.layout import to_json, to_toml
from formula.notation import ROUNDED
from formula.units import MASS, write
from tests.laws.strategies import Written, masses_g, written


def alike(one: Formula, other: Formula) -> bool:
    return one.percents.keys() == other.percents.keys() and all(
        other.percents[line] == pytest.approx(percent, rel=1e-9, abs=1e-9) for line, percent in one.percents.items()
    )


def straight_shares(formula: Formula) -> list[float]:
    """Return the part of each stage that goes straight into the final dough, of those that other stages use too."""
    *stages, final = formula.table.columns
    straight = dict(zip(final.lines, final.percents, strict=True))
    inner = {line for column in stages for line in column.lines}
    return [straight.get(column.name, 0.0) / column.handed_on for column in stages if column.name in inner]


class TestOverallIsExact:
    """The overall notation keeps every value and the order of the lines."""

    @given(written())
    def test_toml(self, bread: Written) -> None:
        formula = bread.formula()
        again = from_tables(tomllib.loads(to_toml(formula)), "file")
        assert again == formula
        assert list(again.percents) == list(formula.percents)

    @given(written())
    def test_json(self, bread: Written) -> None:
        formula = bread.formula()
        assert from_tables(json.loads(to_json(formula)), "file") == formula


class TestOtherNotations:
    """The final notation and the weights lead back to the same overall formula and the same final dough.

    By weight, what other stages use up but for a thousandth is taken to be used up: printed weights are rounded.
    """

    @given(written())
    def test_final(self, bread: Written) -> None:
        formula = bread.formula()
        again = from_tables(tomllib.loads(to_toml(formula, "final")), "file")
        assert alike(again, formula)
        assert again.final == pytest.approx(dict(formula.final), rel=1e-9)

    @given(written(), masses_g)
    def test_weights(self, bread: Written, dough_g: float) -> None:
        formula = bread.formula()
        # Weights are written on the grid of twelve digits.
        batch = formula.scale(dough=write(MASS, max(dough_g, 1000.0)))
        again = from_tables(tomllib.loads(to_toml(formula, "weights", batch)), "file")
        assert again.percents == pytest.approx(dict(formula.percents), rel=1e-6, abs=1e-7)
        if not any(0 < straight < ROUNDED * 1.001 for straight in straight_shares(formula)):
            assert again.final == pytest.approx(dict(formula.final), rel=1e-6, abs=1e-6)

    @given(written())
    def test_percent_is_the_straight_list(self, bread: Written) -> None:
        formula = bread.formula()
        again = from_tables(tomllib.loads(to_toml(formula, "percent")), "file")
        assert again.percents == formula.percents
        assert again.stages == ()
