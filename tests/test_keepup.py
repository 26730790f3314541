"""The largest mix that the oven keeps up with: by hand, and against a mix that is really placed."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.errors import FormulaError
from formula.keepup import largest_mix, rounds_kept_up
from formula.placing import fits
from formula.process import Process, Wait
from formula.stations import Job, Stations
from formula.workshop import Oven, Workshop
from tests.arithmetic import check_working


def process(**more: Any) -> Process:  # noqa: ANN401
    facts: dict[str, Any] = {
        "mix": "20 min",
        "bulk": "2 h",
        "shape": 300,
        "shape_people": 4,
        "proof": Wait("1 h", earliest="50 min", latest="1 h 40 min"),
        "bake": "34 min",
        "loads": {"deck": 60},
    }
    return Process(**(facts | more))


DECK = Oven("deck", turn_round="6 min")


def test_by_hand() -> None:
    """3 s a piece at the bench: a load of 60 is shaped in 3 min and baked in 40; 48 min of room hold one more round."""
    found = largest_mix(process(), [DECK])
    assert found.pieces == 60 * (1 + (48 - 3) // (40 - 3))
    check_working(found.working(), 120.0)


def test_two_ovens_take_a_round_together() -> None:
    two = process(loads={"deck": 60, "deck 2": 40})
    found = largest_mix(two, [DECK, Oven("deck 2", turn_round="6 min"), Oven("deck 3")])
    assert (found.together, found.load, found.pieces) == (100, 60, 100 * (1 + (48 - 3) // (40 - 5)))
    check_working(found.working(), 200.0)


def test_an_oven_that_is_quicker_than_the_bench_sets_no_limit() -> None:
    """0.75 min a piece: a load is shaped in 45 min, within the 48 of room, and baked in 40."""
    found = largest_mix(process(shape=80, shape_people=1), [DECK])
    assert found.pieces is None
    check_working(found.working(), 40 - 60 * 0.75)


def test_what_is_not_shaped_comes_as_it_is_divided() -> None:
    assert largest_mix(process(shape=0, divide=120, divide_people=2), [DECK]).shape_min == 0.25
    assert largest_mix(process(shape=0, divide=0), [DECK]).shape_min == 0.0
    assert largest_mix(process(divide=60), [DECK]).shape_min == 0.05


def test_a_firing_counts_with_its_longest_bake() -> None:
    clay = Oven("clay", fired=["01:00"], firing="1 h", lasts="2 h", slows="25 %")
    assert largest_mix(process(loads={"clay": 60}, bake="20 min"), [clay]).cycle_min == 30


def test_less_than_a_load() -> None:
    """12 s a piece: in the 3 min that the proof has to spare, 15 pieces are shaped."""
    found = largest_mix(process(shape=300, shape_people=1, proof=Wait("1 h", latest="1 h 5 min")), [DECK])
    assert found.pieces == 15
    check_working(found.working(), 15.0)


@pytest.mark.parametrize("latest", ["1 h", "1 h 1 min", "1 h 2 min"])
def test_no_room_at_all(latest: str) -> None:
    with pytest.raises(FormulaError, match=r"proof: got 60 to 6\d min, expected room for the minutes"):
        largest_mix(process(proof=Wait("1 h", latest=latest)), [DECK])


def test_the_kernel_by_hand() -> None:
    assert rounds_kept_up(40.0, 20.0, 40.0, 0.5, 30.0) == 1 + (40 - 10) / (30 - 20)
    assert rounds_kept_up(5.0, 20.0, 40.0, 0.5, 30.0) == 0.5
    # Half a minute to spare, while a round of the oven takes 20 min more than the bench for as many pieces.
    assert rounds_kept_up(10.5, 20.0, 40.0, 0.5, 40.0) == 1 + 0.5 / 20
    # Half a minute more than the bench is still slower; as fast as the bench, the mix may be as large as one likes.
    assert rounds_kept_up(40.0, 20.0, 40.0, 0.5, 20.5) == 1 + 30 / 0.5
    assert rounds_kept_up(40.0, 20.0, 40.0, 0.5, 20.0) == math.inf


class TestTheOvenReallyKeepsUp:
    """A mix of that size finds room at once in a workshop where nothing else is made."""

    @given(
        shape=st.integers(60, 800),
        people=st.integers(1, 6),
        window=st.integers(4, 90),
        bake=st.integers(5, 60),
        loads=st.lists(st.integers(5, 150), min_size=1, max_size=4),
        turn=st.integers(0, 10),
        divide=st.sampled_from((0, 300, 1500)),
    )
    def test_placed(
        self, shape: int, people: int, window: int, bake: int, loads: list[int], turn: int, divide: int
    ) -> None:
        ovens = [Oven(f"oven {number}", turn_round=f"{turn} min") for number in range(len(loads))]
        held = {oven.name: load for oven, load in zip(ovens, loads, strict=True)}
        proof = Wait("50 min", latest=f"{50 + window} min")
        bread = process(
            shape=shape, shape_people=people, divide=divide, proof=proof, bake=f"{bake} min", loads=held, rest="10 min"
        )
        pieces = largest_mix(bread, ovens).pieces
        shop = Workshop(opens="00:00", ovens=ovens, processes={})
        job = Job("round", 1, 2000 if pieces is None else pieces, "spiral", bread)
        assert fits(job, Stations(shop, ["spiral"]))
