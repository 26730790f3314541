"""Dividing: published counts, the remainder that is never dropped, even shares and loads."""

import copy
import pickle

import numpy as np
import pytest

from formula.counting import loads, share_pieces, whole_pieces
from formula.errors import QuantityError
from formula.portion import divide
from formula.quantity import MASS, read
from tests.arithmetic import check_working
from tests.rows import rows


@pytest.mark.parametrize("row", rows("dividing"))
def test_published(row: dict[str, str]) -> None:
    made = divide(row["dough"], piece=row["piece"])
    assert made.pieces == int(row["expected_pieces"])
    remainder = made.remainder_g / read(MASS, f"1 {row['unit']}", "unit")
    assert remainder == pytest.approx(float(row["expected_remainder"]), abs=float(row["tolerance"]), rel=0)
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
