"""Lines: a mapping that keeps its written order, forgets it for equality, and never changes."""

import copy
import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.lines import Lines
from tests.laws.strategies import names, percents

BREAD = Lines({"bread flour": 100.0, "water": 70.0, "salt": 2.0})
TURNED = Lines([("salt", 2.0), ("water", 70.0), ("bread flour", 100.0)])


def test_it_reads_like_a_mapping() -> None:
    assert BREAD["water"] == 70.0
    assert len(BREAD) == 3
    assert "salt" in BREAD
    assert BREAD.get("malt") is None
    assert dict(BREAD) == {"bread flour": 100.0, "water": 70.0, "salt": 2.0}
    with pytest.raises(KeyError):
        BREAD["malt"]


def test_it_keeps_the_written_order() -> None:
    assert list(BREAD) == ["bread flour", "water", "salt"]
    assert list(TURNED) == ["salt", "water", "bread flour"]
    assert repr(TURNED) == "Lines({'salt': 2.0, 'water': 70.0, 'bread flour': 100.0})"


def test_order_does_not_matter_for_equality_and_hash() -> None:
    assert BREAD == TURNED
    assert hash(BREAD) == hash(TURNED)
    assert len({BREAD, TURNED}) == 1


def test_it_equals_a_plain_mapping_and_nothing_else() -> None:
    plain: object = dict(TURNED)
    assert plain == BREAD
    assert BREAD != {**TURNED, "malt": 0.5}
    assert list(BREAD.items()) != BREAD
    nothing: object = {}
    assert Lines() == nothing


def test_a_name_stands_once() -> None:
    with pytest.raises(ValueError, match="water stands more than once"):
        Lines([("water", 50.0), ("water", 20.0)])


def test_it_takes_over_and_does_not_follow_the_source() -> None:
    source = {"water": 70.0}
    taken = Lines(source)
    source["water"] = 80.0
    assert taken["water"] == 70.0


def test_it_cannot_be_changed() -> None:
    with pytest.raises(AttributeError, match="cannot be changed"):
        BREAD.note = "x"
    with pytest.raises(AttributeError, match="cannot be changed"):
        del BREAD._pairs
    with pytest.raises(TypeError):
        BREAD["water"] = 71.0  # type: ignore[index]


def test_copies_are_itself() -> None:
    assert copy.copy(BREAD) is BREAD
    assert copy.deepcopy(BREAD) == BREAD


@pytest.mark.parametrize("protocol", range(pickle.HIGHEST_PROTOCOL + 1))
def test_it_is_pickled_in_order(protocol: int) -> None:
    again = pickle.loads(pickle.dumps(TURNED, protocol))  # noqa: S301 - our own bytes
    assert again == TURNED
    assert list(again) == list(TURNED)
    assert hash(again) == hash(TURNED)


@given(st.dictionaries(names, percents, max_size=8), st.randoms(use_true_random=False))
def test_any_order_is_the_same_lines(pairs: dict[str, float], random: object) -> None:
    mixed = list(pairs.items())
    random.shuffle(mixed)  # type: ignore[attr-defined]
    assert Lines(mixed) == Lines(pairs)
    assert hash(Lines(mixed)) == hash(Lines(pairs))
    assert list(Lines(mixed)) == [name for name, _ in mixed]
