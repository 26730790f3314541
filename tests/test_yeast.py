"""Yeast forms: published conversions, their spread, the water that goes with them, and every refusal."""

import copy
import pickle
from typing import Any

import numpy as np
import pint
import pytest

from formula.errors import FormulaError, QuantityError, UnknownNameError
from formula.sources import all_sources
from formula.yeast import YEAST_FORMS, YeastForm, convert_yeast, converted_mass_g, yeast_form
from tests.arithmetic import check_working
from tests.rows import holds, rows


@pytest.mark.parametrize("row", rows("yeast_forms"))
def test_published(row: dict[str, str]) -> None:
    holds("yeast_forms", row)


def test_the_dough_keeps_its_weight() -> None:
    made = convert_yeast("100 g", "fresh", "active dry")
    assert (made.mass_g, made.water_change_g) == (40.0, 60.0)
    back = convert_yeast("40 g", "active dry", "fresh")
    assert (back.mass_g, back.water_change_g) == (100.0, -60.0)
    assert made.water_change_g + made.mass_g == made.amount_g


def test_the_spread_is_the_published_one() -> None:
    made = convert_yeast("100 g", "fresh", "instant")
    assert (made.low_g, made.mass_g, made.high_g) == pytest.approx((28.0, 33.0, 40.0))
    back = convert_yeast("28 g", "instant", "fresh")
    assert (back.low_g, back.high_g) == pytest.approx((70.0, 100.0))
    dry = convert_yeast("100 g", "active dry", "instant")
    assert (dry.low_g, dry.mass_g, dry.high_g) == pytest.approx((28 / 0.5, 33 / 0.4, 40 / 0.33))


@pytest.mark.parametrize("form", YEAST_FORMS, ids=lambda form: form.name)
def test_a_form_stands_on_its_sources(form: YeastForm) -> None:
    shape = yeast_form(form.name)
    assert shape is form
    assert shape.low <= shape.factor.value <= shape.high
    assert shape.factor.uncertainty == pytest.approx((shape.high - shape.low) / 2)
    assert shape.factor.source in all_sources()
    assert shape.solids.source in all_sources()
    same = convert_yeast("10 g", shape.name, shape.name)
    assert (same.low_g, same.mass_g, same.high_g, same.water_change_g) == (10.0, 10.0, 10.0, 0.0)


def test_osmotolerant_replaces_instant_weight_for_weight() -> None:
    made = convert_yeast("10 g", "instant", "osmotolerant instant")
    assert (made.low_g, made.mass_g, made.high_g) == (10.0, 10.0, 10.0)


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("fresh", "fresh"),
        ("Compressed", "fresh"),
        ("fresh yeast", "fresh"),
        ("active_dry", "active dry"),
        ("Active-Dry Yeast", "active dry"),
        ("IDY", "instant"),
        ("instant  dry yeast", "instant"),
        ("Osmotolerant", "osmotolerant instant"),
    ],
)
def test_names_of_the_trade(written: str, name: str) -> None:
    assert yeast_form(written).name == name
    assert convert_yeast("1 g", written, "fresh").from_form == name


def test_no_name_means_two_forms() -> None:
    names = [name for form in YEAST_FORMS for name in (form.name, *form.aliases)]
    assert len(set(names)) == len(names)
    assert all(name == name.casefold() for name in names)


def test_dry_alone_says_too_little() -> None:
    with pytest.raises(UnknownNameError, match='dry yeast is "active dry" or "instant"'):
        convert_yeast("7 g", "dry yeast", "fresh")


def test_every_bad_argument_is_named_at_once() -> None:
    with pytest.raises(UnknownNameError) as caught:
        convert_yeast("40", "beer", "wine", factor=-1)
    assert [fault.where for fault in caught.value.faults] == ["from_form", "to_form", "amount", "factor"]
    with pytest.raises(UnknownNameError):
        yeast_form(None)  # type: ignore[arg-type]
    with pytest.raises(QuantityError, match="2 %"):
        convert_yeast("2 %", "fresh", "instant")


@pytest.mark.parametrize("factor", [0, -0.4, float("nan"), float("inf"), True, "0.4", 1000.1, 10**400])
def test_a_factor_is_a_number_above_zero(factor: float) -> None:
    with pytest.raises(FormulaError, match=r"factor: got .* expected a number above zero"):
        convert_yeast("40 g", "fresh", "instant", factor=factor)


def test_your_own_factor_goes_first() -> None:
    made = convert_yeast("40 g", "fresh", "instant", factor=0.3)
    assert (made.low_g, made.mass_g, made.high_g, made.water_change_g) == (12.0, 12.0, 12.0, 28.0)
    assert made.cautions == ()
    assert convert_yeast("40 g", "fresh", "instant", factor=1).factor == 1.0


@pytest.mark.parametrize(
    ("factor", "cautioned"), [(0.279, True), (0.28, False), (0.4, False), (0.401, True), (3, True)]
)
def test_a_factor_that_nobody_publishes_is_cautioned(factor: float, cautioned: bool) -> None:  # noqa: FBT001
    made = convert_yeast("40 g", "fresh", "instant", factor=factor)
    assert [caution.code for caution in made.cautions] == ["outside-published-spread"] * cautioned


def test_nothing_stays_nothing() -> None:
    made = convert_yeast("0 g", "fresh", "instant")
    assert (made.mass_g, made.low_g, made.high_g, made.water_change_g) == (0.0, 0.0, 0.0, 0.0)


@pytest.mark.parametrize("factor", [None, 0.3])
def test_working(factor: float | None) -> None:
    made = convert_yeast("40 g", "fresh", "instant", factor=factor)
    check_working(made.working(), made.mass_g)
    assert made.working().steps[-2].value == made.water_change_g


def test_views_and_values() -> None:
    made = convert_yeast("1 kg", "fresh", "instant")
    found = [view.m_as("g") for view in (made.amount, made.mass, made.low, made.high, made.water_change)]
    assert found == pytest.approx([1000, 330, 280, 400, 670])
    assert made == convert_yeast("1000 g", "compressed", "idy")
    assert hash(made) == hash(convert_yeast("1000 g", "compressed", "idy"))
    assert pickle.loads(pickle.dumps(made)) == copy.deepcopy(made) == made  # noqa: S301 - our own bytes


def test_the_kernel() -> None:
    kernel: Any = converted_mass_g
    gram = pint.UnitRegistry().gram
    assert kernel(100 * gram, 1.0, 0.4).m_as("g") == pytest.approx(40)
    assert kernel(np.array([10.0, 20.0]), 0.4, 1.0).tolist() == [25.0, 50.0]
