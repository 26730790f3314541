"""Dividing: published counts, the remainder that is never dropped, even shares and loads."""

import copy
import pickle
from typing import Any

import numpy as np
import pytest

from formula.counting import loads, on_step, share_pieces, whole_pieces
from formula.errors import QuantityError
from formula.portion import divide
from tests.arithmetic import check_working
from tests.rows import holds, rows


@pytest.mark.parametrize("row", rows("dividing"))
def test_published(row: dict[str, str]) -> None:
    holds("dividing", row)
    made = divide(row["dough"], piece=row["piece"])
    check_working(made.working(), float(made.pieces), exact=True)


@pytest.mark.parametrize(
    ("total_g", "piece_g", "pieces", "remainder_g"),
    [
        (0.3, 0.1, 3, 0.0),
        (58_750.0, 1250.0, 47, 0.0),
        (58_749.999, 1250.0, 46, 1249.999),
        (999.0, 1000.0, 0, 999.0),
        (0.0, 1000.0, 0, 0.0),
        (1e7, 1e-3, 10**10, 0.0),
    ],
)
def test_counting_is_exact(total_g: float, piece_g: float, pieces: int, remainder_g: float) -> None:
    assert whole_pieces(total_g, piece_g) == (pieces, remainder_g)


@pytest.mark.parametrize("count", range(1, 200))
def test_ounces_that_do_not_fit_twelve_digits(count: int) -> None:
    """21.5 oz is 609.5147471875 g, one digit more than is kept: multiples of it are whole all the same."""
    made = divide(f"{21.5 * count} oz", piece="21.5 oz")
    assert (made.pieces, made.remainder_g) == (count, 0.0)


def test_numpy_floats_are_floats() -> None:
    assert whole_pieces(np.float64(0.3), np.float64(0.1)) == (3, 0.0)


def test_the_remainder_is_reported() -> None:
    made = divide("62 kg", piece="1.5 kg")
    assert [caution.code for caution in made.cautions] == ["remainder"]
    assert "500 g" in made.cautions[0].text
    assert divide("61.5 kg", piece="1.5 kg").cautions == ()


def test_working() -> None:
    made = divide("62 kg", piece="1.5 kg")
    check_working(made.working(), 41.0)
    assert [str(step) for step in made.working().steps] == [
        "n = dough / piece = 62000 / 1500 = 41.3333",
        "remainder = dough - floor(n) * piece = 62000 - floor(41.3333) * 1500 = 500 g",
        "pieces = floor(n) = floor(41.3333) = 41",
    ]


def test_views_and_values() -> None:
    made = divide("62 kg", piece="1.5 kg")
    assert [view.m_as("kg") for view in (made.dough, made.piece, made.remainder)] == pytest.approx([62, 1.5, 0.5])
    assert made == divide("62000 g", piece="1500 g")
    assert hash(made) == hash(divide("62000 g", piece="1500 g"))
    assert pickle.loads(pickle.dumps(made)) == copy.deepcopy(made) == made  # noqa: S301 - our own bytes


def test_refusals() -> None:
    with pytest.raises(QuantityError, match="piece: got 0 g, expected a mass above zero"):
        divide("8 kg", piece="0 g")
    with pytest.raises(QuantityError, match="piece: got 1250 g, expected no more than the dough, 800 g"):
        divide("800 g", piece="1.25 kg")
    with pytest.raises(QuantityError) as caught:
        divide("8", piece=400)  # type: ignore[arg-type]
    assert [fault.where for fault in caught.value.faults] == ["dough", "piece"]
    assert divide("1.25 kg", piece="1.25 kg").pieces == 1


@pytest.mark.parametrize(
    ("pieces", "parts", "shares"),
    [(400, 3, (134, 133, 133)), (401, 3, (134, 134, 133)), (2, 4, (1, 1, 0, 0)), (0, 2, (0, 0)), (7, 1, (7,))],
)
def test_even_shares(pieces: int, parts: int, shares: tuple[int, ...]) -> None:
    assert share_pieces(pieces, parts) == shares


@pytest.mark.parametrize(
    ("pieces", "capacity", "count"), [(8000, 56, 143), (56, 56, 1), (57, 56, 2), (0, 56, 0), (1, 1, 1)]
)
def test_loads(pieces: int, capacity: int, count: int) -> None:
    assert loads(pieces, capacity) == count


@pytest.mark.parametrize("bad", [-1, 1.5, True, "8", None])
def test_counts_are_whole_numbers(bad: int) -> None:
    with pytest.raises(QuantityError, match=r"pieces: got .* expected a whole number of 0 or more"):
        loads(bad, 56)
    with pytest.raises(QuantityError) as caught:
        share_pieces(bad, 0)
    assert [fault.where for fault in caught.value.faults] == ["pieces", "parts"]
    with pytest.raises(QuantityError, match="capacity: got 0, expected a whole number of 1 or more"):
        loads(8, 0)


class TestTheStepOfTheScale:
    @pytest.mark.parametrize(
        ("rounding", "piece", "codes"),
        [("up", 920.0, []), ("nearest", 915.0, ["scaled-short"]), ("down", 915.0, ["scaled-short"])],
    )
    def test_the_piece_goes_onto_it(self, rounding: Any, piece: float, codes: list[str]) -> None:  # noqa: ANN401
        made = divide("62 kg", piece="917.1 g", step="5 g", rounding=rounding)
        assert (made.piece_g, made.asked_g) == (piece, 917.1)
        assert made.drift_g == pytest.approx(piece - 917.1)
        assert [caution.code for caution in made.cautions if caution.code != "remainder"] == codes
        assert made.pieces == 62_000 // int(piece)
        check_working(made.working(), float(made.pieces))

    def test_a_piece_on_it_stays(self) -> None:
        for step in ("5 g", "0.1 g", "920 g", "0.92 kg"):
            assert divide("62 kg", piece="920 g", step=step).piece_g == 920.0
        assert divide("10 lb", piece="0.3 lb", step="0.1 lb").piece_g == pytest.approx(0.3 * 453.59237)
        assert on_step(917.5, 5.0, "nearest") == 920.0


class TestTheRemainder:
    def test_spread_over_the_pieces(self) -> None:
        made = divide("62 kg", piece="1.5 kg", remainder="spread")
        assert (made.pieces, made.remainder_g) == (41, 0.0)
        assert made.piece_g == pytest.approx(62_000 / 41, rel=1e-15)
        assert [caution.code for caution in made.cautions] == ["spread"]
        check_working(made.working(), made.piece_g)

    def test_spread_in_steps(self) -> None:
        # 500 g are 100 steps of 5 g: two for each of the 41 pieces, and one more for 18.
        made = divide("62 kg", piece="1.5 kg", step="5 g", remainder="spread")
        assert [(each.pieces, each.piece_g) for each in made.portions] == [(18, 1515.0), (23, 1510.0)]
        assert (made.piece_g, made.pieces, made.remainder_g) == (1510.0, 41, 0.0)
        check_working(made.working(), 1510.0)
        # 507 g are 101 steps and 2 g.
        made = divide("62.007 kg", piece="1.5 kg", step="5 g", remainder="spread")
        assert [(each.pieces, each.piece_g) for each in made.portions] == [(19, 1515.0), (22, 1510.0)]
        assert made.remainder_g == 2.0
        assert "2 g, less than a step for any of them, stays over" in made.cautions[0].text
        check_working(made.working(), 1510.0)

    def test_less_than_a_step_cannot_be_spread(self) -> None:
        made = divide("61.504 kg", piece="1.5 kg", step="5 g", remainder="spread")
        assert [(each.pieces, each.piece_g) for each in made.portions] == [(41, 1500.0)]
        assert (made.remainder_g, [caution.code for caution in made.cautions]) == (4.0, ["remainder"])
        check_working(made.working(), 1500.0)

    @pytest.mark.parametrize("steps", range(1, 200))
    def test_whole_steps_in_pounds_stay_whole(self, steps: int) -> None:
        """A dough in pounds is read to twelve digits: what is left of it is a whole number of steps all the same."""
        made = divide(f"{300 + steps / 100:.2f} lb", piece="3 lb", step="0.01 lb", remainder="spread")
        assert (made.pieces, made.remainder_g) == (100, 0.0)
        assert sum(each.pieces * each.piece_g for each in made.portions) == pytest.approx(made.dough_g, rel=1e-11)

    def test_held_as_old_dough(self) -> None:
        made = divide("62 kg", piece="1.5 kg", remainder="old dough")
        assert (made.remainder_g, [caution.code for caution in made.cautions]) == (500.0, ["held-as-old-dough"])
        check_working(made.working(), 41.0)

    def test_one_odd_piece(self) -> None:
        made = divide("62 kg", piece="1.5 kg", remainder="odd piece")
        assert [(each.pieces, each.piece_g) for each in made.portions] == [(41, 1500.0), (1, 500.0)]
        assert (made.pieces, made.remainder_g, [c.code for c in made.cautions]) == (41, 0.0, ["odd-piece"])
        check_working(made.working(), 41.0)

    @pytest.mark.parametrize("choice", ["report", "spread", "old dough", "odd piece"])
    @pytest.mark.parametrize("dough", ["61.5 kg", "64.5 oz"])
    def test_no_remainder_needs_no_choice(self, dough: str, choice: Any) -> None:  # noqa: ANN401
        made = divide(dough, piece="1.5 kg" if dough == "61.5 kg" else "21.5 oz", remainder=choice)
        assert (len(made.portions), made.remainder_g, made.cautions) == (1, 0.0, ())
        check_working(made.working(), float(made.pieces))


def test_views_of_the_scale() -> None:
    made = divide("62 kg", piece="917 g", step="5 g")
    views = (made.asked, made.step, made.drift, made.portions[0].piece)
    assert [view.m_as("g") for view in views] == pytest.approx([917, 5, 3, 920])


def test_more_refusals() -> None:
    with pytest.raises(QuantityError) as caught:
        divide("8 kg", piece="1 g", step="0 g", rounding="sideways", remainder="eat")  # type: ignore[arg-type]
    assert [fault.where for fault in caught.value.faults] == ["step", "rounding", "remainder"]
    with pytest.raises(QuantityError, match="piece: got 2 g, which rounds to nothing, expected at least a step"):
        divide("8 kg", piece="2 g", step="5 g", rounding="nearest")
    with pytest.raises(QuantityError, match="piece: got 805 g, expected no more than the dough, 803 g"):
        divide("803 g", piece="802 g", step="5 g")
