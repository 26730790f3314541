"""Losses from the mixer to the sale: published rows, both bases, both ways to combine, and every refusal."""

import copy
import pickle
from typing import Any

import numpy as np
import pint
import pytest

from formula import losses as room
from formula.errors import FormulaError, QuantityError, UnknownNameError
from formula.losses import Losses
from tests.arithmetic import check_working
from tests.rows import holds, rows

ALL = {
    "handling": "2 %",
    "bulk": "1.5 %",
    "divider": "5 ‰",
    "ferment": "1 %",
    "bake": "11 %",
    "cool": "1 %",
    "dry": "0.7 %",
}
KERNELS: Any = room
VARIANTS = [{"combine": combine, "on": on} for combine in ("compound", "add") for on in ("dough", "bread")]


@pytest.mark.parametrize("row", rows("losses"))
def test_published(row: dict[str, str]) -> None:
    holds("losses", row)


def test_the_example_of_the_trade() -> None:
    made = Losses(handling="2 %", ferment="1 %", bake="11 %", cool="1 %").dough_for("800 g")
    assert made.mass_g == pytest.approx(800 / (0.98 * 0.99 * 0.89 * 0.99), rel=1e-12)
    assert made.scaling_weight_g == pytest.approx(800 / (0.99 * 0.89 * 0.99), rel=1e-12)
    assert (round(made.mass_g, 1), round(made.scaling_weight_g, 1)) == (935.8, 917.1)


def test_added_shares_are_taken_on_the_dough_mixed() -> None:
    losses = Losses(handling="2 %", ferment="1 %", bake="11 %", cool="1 %", combine="add")
    made = losses.dough_for("850 g")
    assert made.mass_g == pytest.approx(1000.0, rel=1e-12)
    assert made.scaling_weight_g == pytest.approx(980.0, rel=1e-12)
    assert losses.bread_from("980 g", at="divider").mass_g == pytest.approx(850.0, rel=1e-12)


def test_a_share_of_the_bread_is_turned_loss_by_loss() -> None:
    losses = Losses(handling="25 %", bake="25 %", on="bread")
    assert losses.dough_for("800 g").mass_g == pytest.approx(800 * 1.25 * 1.25, rel=1e-12)
    added = Losses(handling="25 %", bake="25 %", on="bread", combine="add")
    assert added.dough_for("600 g").mass_g == pytest.approx(600 / (1 - 0.2 - 0.2), rel=1e-12)


@pytest.mark.parametrize("name", ["handling", "bulk", "divider"])
def test_losses_before_the_divider_do_not_reach_its_scale(name: str) -> None:
    losses = Losses(**{name: "20 %"})  # type: ignore[arg-type]
    made = losses.dough_for("800 g")
    assert (made.mass_g, made.scaling_weight_g) == (1000.0, 800.0)
    assert (losses.before_divider_left, losses.after_divider_left) == (0.8, 1.0)
    assert losses.bread_from("800 g", at="divider").mass_g == 800.0


@pytest.mark.parametrize("name", ["ferment", "bake", "cool", "dry"])
def test_losses_after_the_divider_are_weighed_in(name: str) -> None:
    losses = Losses(**{name: "20 %"})  # type: ignore[arg-type]
    made = losses.dough_for("800 g")
    assert (made.mass_g, made.scaling_weight_g) == (1000.0, 1000.0)
    assert (losses.before_divider_left, losses.after_divider_left) == (1.0, 0.8)


def test_no_losses() -> None:
    assert Losses().is_none
    assert Losses(combine="add", on="bread").is_none
    assert not Losses(dry="1 ‰").is_none
    assert Losses().dough_for("800 g").mass_g == 800.0
    assert Losses().bread_from("800 g").mass_g == 800.0


def test_views() -> None:
    losses = Losses(**ALL)  # type: ignore[arg-type]
    found = {name: getattr(losses, name).m_as("percent") for name in ALL}
    assert found == pytest.approx(
        {"handling": 2, "bulk": 1.5, "divider": 0.5, "ferment": 1, "bake": 11, "cool": 1, "dry": 0.7}, rel=1e-12
    )
    made = Losses(handling="10 %", bake="20 %").dough_for("720 g")
    assert made.bread.m_as("kg") == pytest.approx(0.72)
    assert made.mass.m_as("kg") == pytest.approx(1.0)
    assert made.scaling_weight.m_as("kg") == pytest.approx(0.9)
    back = Losses(handling="10 %", bake="20 %").bread_from("1 kg")
    assert back.dough.m_as("g") == pytest.approx(1000.0)
    assert back.mass.m_as("g") == pytest.approx(720.0)


@pytest.mark.parametrize("variant", VARIANTS)
@pytest.mark.parametrize(
    "shares", [ALL, {"bake": "11 %"}, {"handling": "2 %", "divider": "1 %"}, {"bulk": "1 %", "bake": "12 %"}, {}]
)
def test_working(shares: dict[str, str], variant: dict[str, str]) -> None:
    losses = Losses(**shares, **variant)  # type: ignore[arg-type]
    made = losses.dough_for("800 g")
    check_working(made.working(), made.mass_g)
    assert made.working().steps[-2].value == made.scaling_weight_g
    for at in ("mixer", "divider"):
        back = losses.bread_from("900 g", at=at)
        check_working(back.working(), back.mass_g)


def test_working_shows_the_shares() -> None:
    steps = Losses(handling="2 %", bake="20 %").dough_for("784 g").working().steps
    assert [str(step) for step in steps] == [
        "scaling_weight = bread / (1 - bake) = 784 / (1 - 0.2) = 980 g",
        "dough = scaling_weight / (1 - handling) = 980 / (1 - 0.02) = 1000 g",
    ]


def test_every_bad_share_is_named_at_once() -> None:
    with pytest.raises(QuantityError) as caught:
        Losses(handling=2, bake="11", cool="1 K", dry="100 %", combine="both", on="flour")  # type: ignore[arg-type]
    assert [fault.where for fault in caught.value.faults] == ["handling", "bake", "cool", "combine", "on", "dry"]
    assert "bare number" in caught.value.faults[0].got
    assert 'on="bread"' in caught.value.faults[-1].fix


def test_a_share_of_the_bread_may_pass_a_hundred() -> None:
    assert Losses(bake="100 %", on="bread").dough_for("500 g").mass_g == 1000.0
    with pytest.raises(QuantityError, match="bake"):
        Losses(bake="1e+20 %", on="bread")


def test_added_losses_leave_something() -> None:
    with pytest.raises(QuantityError, match=r"handling 60 % \+ bake 40 % = 100 %, expected less than 100 % together"):
        Losses(handling="60 %", bake="40 %", combine="add")
    assert Losses(handling="60 %", bake="40 %").left == pytest.approx(0.24)
    # 0.01 + 0.01 + 0.29 + 0.69 is a hair under one in binary fractions.
    with pytest.raises(FormulaError):
        Losses(handling="1 %", bulk="1 %", bake="29 %", cool="69 %", combine="add")


def test_where_the_dough_was_weighed() -> None:
    with pytest.raises(UnknownNameError, match=r'at: got .oven., expected one of "mixer", "divider"'):
        Losses().bread_from("900 g", at="oven")  # type: ignore[arg-type]
    with pytest.raises(QuantityError, match="dough"):
        Losses().bread_from("900")
    with pytest.raises(QuantityError, match="bread"):
        Losses().dough_for("5 %")


def test_values_not_objects() -> None:
    losses = Losses(bake="11 %")
    assert losses == Losses(bake="110 ‰")
    assert hash(losses) == hash(Losses(bake=pint.UnitRegistry().Quantity(11.0, "percent")))
    assert losses != Losses(bake="11 %", on="bread")
    made = losses.dough_for("800 g")
    assert pickle.loads(pickle.dumps(made)) == made  # noqa: S301 - our own bytes
    assert copy.deepcopy(losses) == losses
    assert made == losses.dough_for("0.8 kg")
    with pytest.raises(AttributeError):
        losses.bake_share = 0.5  # type: ignore[misc]


def test_kernels_keep_their_dimensions() -> None:
    registry: Any = pint.UnitRegistry()
    kg, dimensionless = registry.kilogram, registry.dimensionless
    assert KERNELS.dough_mass_g(800 * kg, 0.8).m_as("kg") == pytest.approx(1000)
    assert KERNELS.bread_mass_g(1000 * kg, 0.8).m_as("kg") == pytest.approx(800)
    assert KERNELS.left_after([0.5 * dimensionless, 0.25 * dimensionless]).m_as("") == pytest.approx(0.375)
    assert KERNELS.left_after([0.5 * dimensionless, 0.25 * dimensionless], "add").m_as("") == pytest.approx(0.25)
    assert KERNELS.share_on_dough(0.25 * dimensionless).m_as("") == pytest.approx(0.2)


def test_kernels_take_arrays() -> None:
    bread_g, left = np.array([400.0, 800.0]), np.array([0.8, 0.5])
    assert KERNELS.dough_mass_g(bread_g, left).tolist() == [500.0, 1600.0]
    assert KERNELS.bread_mass_g(bread_g, left).tolist() == [320.0, 400.0]
    both = [np.array([0.5, 0.25]), np.array([0.25, 0.5])]
    assert KERNELS.left_after(both).tolist() == [0.375, 0.375]
    assert KERNELS.left_after(both, "add").tolist() == [0.25, 0.25]
