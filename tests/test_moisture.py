"""Moisture bases, tempering and the three ways to count hydration."""

from fractions import Fraction

import numpy as np
import pytest

from formula.catalogue import Catalogue
from formula.errors import FormulaError
from formula.formula import Formula
from formula.ingredient import Ingredient
from formula.moisture import (
    absorption_as_is,
    absorption_at_basis,
    tempering_water_percent,
)
from tests.rows import holds, rows

RICH = Formula.from_percents("Rich", {"bread flour": 100, "water": 25, "whole milk": 40, "egg": 10})


@pytest.mark.parametrize("row", rows("moisture"))
def test_a_published_relation(row: dict[str, str]) -> None:
    holds("moisture", row)


@pytest.mark.parametrize("moisture", [8.0, 12.0, 14.0, 15.5])
@pytest.mark.parametrize("absorption", [0.0, 55.0, 62.5, 110.0])
def test_absorption_is_equal_water_on_equal_dry_flour(absorption: float, moisture: float) -> None:
    water, dry = Fraction(absorption) + Fraction(moisture), 100 - Fraction(moisture)
    at_basis = water / dry * 86 - 14
    assert absorption_at_basis(absorption, moisture) == pytest.approx(float(at_basis), abs=1e-12)
    water, dry = Fraction(absorption) + 14, Fraction(86)
    as_is = water / dry * (100 - Fraction(moisture)) - Fraction(moisture)
    assert absorption_as_is(absorption, moisture) == pytest.approx(float(as_is), abs=1e-12)


def test_absorption_there_and_back() -> None:
    assert absorption_as_is(absorption_at_basis(63.7, 11.3), 11.3) == pytest.approx(63.7, abs=1e-12)
    assert absorption_at_basis(absorption_as_is(63.7, 11.3, 13.5), 11.3, 13.5) == pytest.approx(63.7, abs=1e-12)


def test_tempered_grain_has_the_moisture_that_was_wanted() -> None:
    water = tempering_water_percent(11.0, 16.0)
    assert 100 * (11.0 + water) / (100 + water) == pytest.approx(16.0, abs=1e-12)
    assert tempering_water_percent(16.0, 16.0) == 0


def test_kernels_take_arrays() -> None:
    moistures = np.array([10.0, 14.0, 15.0])
    found = absorption_at_basis(60.0, moistures)  # type: ignore[arg-type]
    assert list(found) == [absorption_at_basis(60.0, float(moisture)) for moisture in moistures]  # type: ignore[call-overload]


def test_dough_yield_counts_liquids() -> None:
    assert RICH.dough_yield_percent == 175
    assert Formula.from_percents("Plain", {"bread flour": 100, "water": 60, "salt": 2}).dough_yield_percent == 160


def test_ice_and_several_waters_are_added_water() -> None:
    loaf = Formula.from_percents("Iced", {"bread flour": 100, "water": 50, "ice": 10})
    assert loaf.hydration() == 60
    assert loaf.hydration("content") == 60, "poured water counts in full, although the table says 99.9 %"


def test_content_leaves_out_the_flours_alone() -> None:
    # By the table, sugar 0.02 %, butter 17.94 %, salt 0.2 %.
    loaf = Formula.from_percents("Bun", {"bread flour": 100, "water": 50, "butter": 10, "sugar": 5, "salt": 2})
    assert loaf.hydration("content") == pytest.approx(50 + 1.794 + 0.001 + 0.004, abs=1e-9)


def test_content_of_named_flours() -> None:
    loaf = Formula.from_percents(
        "Bran", {"bread flour": 90, "wheat bran": 10, "water": 70}, flours=["bread flour", "wheat bran"]
    )
    assert loaf.hydration("content") == 70


def test_content_tells_every_gap() -> None:
    loaf = Formula.from_percents("Stout", {"bread flour": 100, "water": 30, "beer": 30, "ricotta": 10})
    with pytest.raises(FormulaError, match="no water content for beer, ricotta"):
        loaf.hydration("content")


def test_a_gap_of_nothing_is_no_gap() -> None:
    loaf = Formula.from_percents("Dry", {"bread flour": 100, "water": 60, "beer": 0})
    assert loaf.hydration("content") == 60


def test_content_by_a_catalogue_of_your_own() -> None:
    larder = Catalogue().adding(Ingredient("harbour stout", kind="liquid", water_g=91.0))
    loaf = Formula.from_percents("Stout", {"bread flour": 100, "water": 30, "harbour stout": 40}, catalogue=larder)
    assert loaf.hydration("content") == pytest.approx(30 + 0.91 * 40)
    assert loaf.hydration("liquid") == 70


def test_another_way_is_refused_with_the_ways() -> None:
    with pytest.raises(FormulaError, match="got 'wet', expected one of added, liquid, content"):
        RICH.hydration("wet")
