"""Presses: heads for pieces, heads from a dough, and the limits of the plate."""

import copy
import pickle
from collections.abc import Callable
from typing import Any

import pytest

from formula.errors import FormulaError
from formula.press import Heads, Press, heads_for, heads_from
from tests.arithmetic import check_working

ROLLS = Press(30, lightest="1 kg", heaviest="3 kg")


def told(make: Callable[[], object]) -> str:
    with pytest.raises(FormulaError) as caught:
        make()
    return str(caught.value)


@pytest.mark.parametrize("parts", [2, 15, 18, 30, 36, 52])
def test_a_head_is_its_parts(parts: int) -> None:
    made = heads_for(parts * 4, Press(parts), piece="50 g")
    assert (made.heads, made.head_g, made.last_pieces, made.last_g) == (4, parts * 50.0, 0, 0.0)
    assert made.dough_g == parts * 4 * 50.0


def test_pieces_with_a_short_last_head() -> None:
    made = heads_for(200, ROLLS, piece="62 g")
    # 6 heads of 1,860 g are 180 pieces; 20 more are 1,240 g.
    assert (made.heads, made.head_g, made.last_pieces, made.last_g, made.dough_g) == (6, 1860.0, 20, 1240.0, 12_400.0)
    assert [caution.code for caution in made.cautions] == ["short-head"]
    assert "10 pieces over" in made.cautions[0].text
    few = heads_for(7, ROLLS, piece="62 g")
    assert (few.heads, few.last_pieces, few.last_g, few.pieces) == (0, 7, 434.0, 7)


def test_heads_on_the_scale() -> None:
    made = heads_for(200, ROLLS, piece="62 g", step="50 g")
    # 1,860 g become 1,900 g, 63.33 g a piece; 20 of these are 1,266.7 g, which the scale shows as 1,300 g.
    assert (made.head_g, made.unrounded_g, made.last_g) == (1900.0, 1860.0, 1300.0)
    assert made.piece_g == pytest.approx(190 / 3, rel=1e-12)
    assert made.remainder_g == pytest.approx(1300 - 20 * 190 / 3, rel=1e-9)
    down = heads_for(180, ROLLS, piece="62 g", step="50 g", rounding="down")
    assert (down.head_g, [caution.code for caution in down.cautions]) == (1850.0, ["scaled-short"])


def test_heads_from_a_dough() -> None:
    made = heads_from("12.5 kg", ROLLS, head="1.86 kg")
    # 12,500 - 6 x 1,860 = 1,340 g, which are 21 pieces of 62 g and 38 g.
    assert (made.heads, made.last_g, made.last_pieces, made.pieces, made.remainder_g) == (6, 1340.0, 21, 201, 38.0)
    assert [caution.code for caution in made.cautions] == ["short-head", "remainder"]
    same = heads_from("12.5 kg", ROLLS, piece="62 g")
    assert (same.heads, same.head_g, same.asked_g) == (6, 1860.0, 62.0)
    assert heads_from("11160 g", ROLLS, piece="62 g").cautions == ()


def test_a_piece_that_is_no_decimal_number() -> None:
    # A third of a gram more than 63 g: 1,330 g of it are 21 pieces exactly.
    made = heads_from("3230 g", ROLLS, head="1.9 kg")
    assert (made.heads, made.last_pieces, made.remainder_g) == (1, 21, 0.0)


@pytest.mark.parametrize("pieces", range(1, 60))
def test_ounces_that_do_not_fit_twelve_digits(pieces: int) -> None:
    made = heads_from(f"{600 * 2.15 + pieces * 2.15:.2f} oz", ROLLS, piece="2.15 oz")
    assert (made.pieces, made.remainder_g) == (600 + pieces, 0.0)


@pytest.mark.parametrize(
    "made",
    [
        heads_for(200, ROLLS, piece="62 g"),
        heads_for(200, ROLLS, piece="62 g", step="50 g"),
        heads_for(200, ROLLS, piece="61.7 g", step="7 g", rounding="nearest"),
        heads_for(180, ROLLS, piece="62 g", step="20 g"),
    ],
)
def test_working_for_pieces(made: Heads) -> None:
    check_working(made.working(), made.dough_g)


@pytest.mark.parametrize(
    "made",
    [
        heads_from("12.5 kg", ROLLS, head="1.86 kg"),
        heads_from("12.5 kg", ROLLS, head="1.86 kg", step="50 g"),
        heads_from("12.5 kg", ROLLS, piece="61.7 g"),
        heads_from("12.5 kg", Press(7), piece="61.7 g", step="30 g"),
        heads_from("3230 g", ROLLS, head="1.9 kg"),
        heads_from("500 g", ROLLS, head="1.9 kg"),
    ],
)
def test_working_from_a_dough(made: Heads) -> None:
    check_working(made.working(), float(made.pieces))


def test_the_plate_is_checked_or_said_not_to_be() -> None:
    assert "head: got 900 g, expected at least the 1000 g of the press's plate" in told(
        lambda: heads_for(60, ROLLS, piece="30 g")
    )
    assert "head: got 3030 g, expected at most the 3000 g" in told(lambda: heads_from("9 kg", ROLLS, piece="101 g"))
    assert heads_for(30, ROLLS, piece="100 g").head_g == 3000.0
    assert [caution.code for caution in heads_for(30, Press(30), piece="100 g").cautions] == ["plate-not-checked"]


def test_views_and_values() -> None:
    made = heads_from("12.5 kg", ROLLS, piece="62 g", step="20 g")
    views = (made.dough, made.asked, made.head, made.piece, made.last, made.step, made.remainder)
    assert [view.m_as("g") for view in views] == pytest.approx([12_500, 62, 1860, 62, 1340, 20, 38])
    assert ROLLS.lightest is not None
    assert ROLLS.heaviest is not None
    assert (ROLLS.lightest.m_as("kg"), ROLLS.heaviest.m_as("kg")) == (1.0, 3.0)
    assert Press(30).lightest is None
    assert pickle.loads(pickle.dumps(made)) == copy.deepcopy(made) == made  # noqa: S301 - our own bytes
    assert hash(made) == hash(heads_from("12500 g", ROLLS, piece="62 g", step="0.02 kg"))


@pytest.mark.parametrize("parts", [1, 0, -30, 2.5, True, "30", None])
def test_parts_are_a_whole_number(parts: Any) -> None:  # noqa: ANN401
    assert "parts: got" in told(lambda: Press(parts))


def test_refusals() -> None:
    message = told(lambda: Press(1, lightest="0 g", heaviest="3"))
    assert message.count("\n  - ") == 3
    assert "lightest: got 3000 g, expected at most the heaviest head, 1000 g" in told(
        lambda: Press(30, lightest="3 kg", heaviest="1 kg")
    )
    message = told(lambda: heads_for(0, ROLLS, piece="0 g", step="0 g", rounding="sideways"))  # type: ignore[arg-type]
    assert message.count("\n  - ") == 4
    assert "press: got 30, expected a Press" in told(lambda: heads_for(60, 30, piece="60 g"))  # type: ignore[arg-type]
    assert "press: got 30, expected a Press" in told(lambda: heads_from("6 kg", 30, piece="60 g"))  # type: ignore[arg-type]
    down = heads_from("9 kg", ROLLS, head="1.86 kg", step="50 g", rounding="down")
    assert "scaled-short" in [caution.code for caution in down.cautions]
    assert "head: got neither a piece nor a head" in told(lambda: heads_from("1 kg", ROLLS))
    assert "head: got a piece and a head" in told(lambda: heads_from("1 kg", ROLLS, piece="60 g", head="1.8 kg"))
    assert "piece: got 62 g, expected no more than the dough, 50 g" in told(
        lambda: heads_from("50 g", ROLLS, piece="62 g")
    )
