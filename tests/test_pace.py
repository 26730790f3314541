"""The pace of a dough, held against the gas curve written out."""

import copy
import pickle

import pytest

from formula.errors import QuantityError
from formula.pace import pace_of
from formula.process import Process, Wait
from tests.arithmetic import check_working

MADE = Process(
    mix="15 min", bulk=Wait("2 h", earliest="100 min", latest="3 h"), rest="20 min", proof="1 h", bake="30 min", loads={"deck": 60}
)  # fmt: skip


def rate(celsius: float) -> float:
    """The gas curve with its ends at 0, 38 and 48 °C, written out."""
    below = 38 * (38 * (celsius - 38) + 10 * (38 - 2 * celsius))
    return (celsius - 48) * celsius**2 / below


def test_two_kelvins_too_warm() -> None:
    found = pace_of(MADE, "25 °C", [("0 h", "27 °C")])
    factor = rate(25) / rate(27)
    assert found.factor == pytest.approx(factor)
    assert factor == pytest.approx(0.884, abs=5e-4)
    assert (found.bulk.earliest_min, found.bulk.best_min, found.bulk.latest_min) == (89, 107, 160)
    assert (found.rest.best_min, found.proof.best_min) == (18, 54)
    assert found.low < found.factor < found.high
    check_working(found.working(), found.factor)


def test_a_colder_dough_takes_longer() -> None:
    found = pace_of(MADE, "25 °C", [("0 h", "22 °C")])
    assert found.bulk.best_min > 120
    assert found.factor == pytest.approx(rate(25) / rate(22))


def test_a_reading_holds_until_the_next() -> None:
    found = pace_of(MADE, "25 °C", [("10 min", "27 °C"), ("1 h", "25 °C")])
    # 60 min at 27 °C are worth 60 x rate(27) / rate(25) at 25 °C; the rest is at 25 °C.
    left = 120 - 60 * rate(27) / rate(25)
    assert found.ready is not None
    assert found.ready.time_h * 60 == pytest.approx(60 + left)
    assert found.proof.best_min == 60


def test_the_planned_temperature_changes_nothing() -> None:
    found = pace_of(MADE, "25 °C", [("0 h", "25 °C")])
    assert (found.bulk, found.rest, found.proof) == (MADE.bulk, MADE.rest, MADE.proof)


def test_without_bulk() -> None:
    found = pace_of(
        Process(mix="15 min", bulk="0 min", proof="1 h", bake="30 min", loads={"deck": 60}), "25 °C", [("0 h", "27 °C")]
    )
    assert (found.ready, found.bulk.best_min) == (None, 0)
    check_working(found.working(), found.factor)


def test_it_travels() -> None:
    found = pace_of(MADE, "25 °C", [("0 h", "27 °C")])
    assert pickle.loads(pickle.dumps(found)) == copy.deepcopy(found) == found  # noqa: S301 - our own bytes
    assert hash(copy.deepcopy(found)) == hash(found)


@pytest.mark.parametrize(
    ("planned", "readings", "words"),
    [
        ("25 °C", [], "readings: got none"),
        ("25 °C", [("1 h", "27 °C"), ("1 h", "26 °C")], "times that do not rise"),
        ("25", [("0 h", "27 °C")], "planned: got '25'"),
        ("25 °C", [("0 h", "49 °C")], "between 0 and 48 °C"),
        ("-1 °C", [("0 h", "27 °C")], "planned: got -1 °C"),
    ],
)
def test_what_is_refused(planned: str, readings: list[tuple[str, str]], words: str) -> None:
    with pytest.raises(QuantityError) as caught:
        pace_of(MADE, planned, readings)
    assert words in str(caught.value)
