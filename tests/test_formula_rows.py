"""Published formulas: percentages, totals and weights against what is printed."""

import pytest

from formula.formula import Formula
from tests.rows import holds, rows


@pytest.mark.parametrize("row", rows("formulas"))
def test_a_published_formula(row: dict[str, str]) -> None:
    holds("formulas", row)


@pytest.mark.parametrize("row", rows("weights"))
def test_weights_between_systems(row: dict[str, str]) -> None:
    holds("weights", row)


def test_a_day_of_orders_is_the_sum_of_its_doughs() -> None:
    # formulas/A24 (read): student baker notes, jazandosblog.blogspot.com 2007; printed sum 67.9 kg.
    lean = Formula.from_percents("Lean", {"bread flour": 100, "water": 60, "salt": 2})
    lines = ((48, 800), (6, 800), (6, 800), (6, 550), (10, 550), (3, 550), (5, 450), (6, 400), (6, 400), (6, 400))
    doughs = [lean.scale(pieces=pieces, piece=f"{grams} g").dough_g for pieces, grams in lines]
    assert sum(doughs) == pytest.approx(67_900, abs=1e-6)
