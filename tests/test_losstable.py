"""The losses in print: every published row, its base, its source, and the look-up."""

import copy
import pickle

import pytest

from formula.errors import UnknownNameError
from formula.losses import Losses
from formula.losstable import LOSS_KINDS, TypicalLoss, typical_losses
from formula.sources import source
from tests.rows import holds, rows

ALL = typical_losses()


@pytest.mark.parametrize("row", rows("typical_losses"))
def test_published(row: dict[str, str]) -> None:
    holds("typical_losses", row)


@pytest.mark.parametrize("row", ALL, ids=lambda row: f"{row.product} {row.kind} {row.printed}")
def test_a_row_is_whole(row: TypicalLoss) -> None:
    assert row.kind in LOSS_KINDS
    assert row.on in {"dough", "bread", "flour"}
    assert 0 <= row.low_share <= row.high_share < 1
    assert row.printed
    assert row.product
    assert row.source in str(row)
    assert row.known_by.startswith(source(row.source).known_by)
    assert row.limit_share == pytest.approx((row.high_share - row.low_share) / 2)
    if row.dough_g and row.bread_g and row.low_share == row.high_share:
        on_dough = 1 - row.bread_g / row.dough_g
        assert row.low_on_dough_share == pytest.approx(on_dough, abs=1e-9)


def test_a_row_from_memory_says_so() -> None:
    remembered = {row.source for row in ALL if "memory" in row.known_by}
    assert remembered == {"baguette-rule", "ireks-loss-tables"}
    assert all("memory" in str(row) for row in ALL if row.source in remembered)


def test_the_base_as_printed_and_on_the_dough() -> None:
    pounds = next(row for row in ALL if row.printed == "allow 50 to 65 g for 500 g baked")
    assert (pounds.on, pounds.low_share, pounds.high_share) == ("bread", 0.10, 0.13)
    assert pounds.low.m_as("percent") == pytest.approx(10)
    assert pounds.high.m_as("percent") == pytest.approx(13)
    assert pounds.high_on_dough is not None
    assert pounds.high_on_dough.m_as("percent") == pytest.approx(100 * 65 / 565)
    assert pounds.bread is not None
    assert pounds.dough is None
    assert pounds.limit.m_as("percent") == pytest.approx(1.5)
    assert Losses(bake=pounds.low, on="bread").dough_for("500 g").mass_g == pytest.approx(550)


def test_a_share_of_the_flour_has_none_on_the_dough() -> None:
    (row,) = (row for row in ALL if row.on == "flour")
    assert (row.low_on_dough_share, row.high_on_dough, row.low_on_dough) == (None, None, None)
    assert "of the flour" in str(row)


def test_every_kind_has_rows_and_the_look_up_narrows() -> None:
    assert {row.kind for row in ALL} == set(LOSS_KINDS)
    assert sum(len(typical_losses(kind)) for kind in LOSS_KINDS) == len(ALL)
    rye = typical_losses("bake", product="RYE")
    assert {row.product for row in rye} == {"rye hearth loaf", "mixed rye loaf"}


def test_unknown_names_are_told_the_known_ones() -> None:
    with pytest.raises(UnknownNameError, match=r"kind: got 'baking', expected one of handling, ferment, bake"):
        typical_losses("baking")
    with pytest.raises(UnknownNameError, match=r"product: got 'brioche', expected a word of: .*baguette"):
        typical_losses(product="brioche")
    with pytest.raises(UnknownNameError, match="product: got 3, expected text"):
        typical_losses(product=3)  # type: ignore[arg-type]


def test_values_not_objects() -> None:
    for row in ALL:
        assert pickle.loads(pickle.dumps(row)) == row  # noqa: S301 - our own bytes
        assert copy.deepcopy(row) == row
    assert len(set(ALL)) == len(ALL)
