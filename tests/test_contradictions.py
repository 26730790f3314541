"""Formulas that cannot be true are refused with the arithmetic, everything that is found at once."""

import pytest

from formula import Culture, Formula, Stage
from formula.errors import ContradictionError, FormulaError, UnknownNameError


def faults(error: type[FormulaError], *, percents: dict[str, float], stages: list[Stage] | None = None) -> list[str]:
    """Return what is told of a formula that is refused, a sentence a fault."""
    with pytest.raises(error) as caught:
        Formula.from_percents("Loaf", percents, stages=stages or [])
    assert type(caught.value) is error
    return [str(fault) for fault in caught.value.faults]


def test_an_ingredient_under_two_names() -> None:
    found = faults(
        ContradictionError,
        percents={"bread flour": 60, "strong flour": 40, "water": 60, "tap water": 5, "added water": 1, "salt": 2},
    )
    assert [fault.split(", expected")[0] for fault in found] == [
        "formula 'Loaf': got 'bread flour' and 'strong flour', which are both bread flour",
        "formula 'Loaf': got 'water' and 'tap water', which are both water",
        "formula 'Loaf': got 'water' and 'added water', which are both water",
    ]
    assert all(fault.endswith("add them up in one line") for fault in found)


def test_an_ingredient_under_two_names_in_several_stages() -> None:
    stages = [
        Stage("poolish", {"bread flour": 50, "wheat flour": 50, "water": 100}, flour="20 %"),
        Stage("levain", {"bread flour": 100, "water": 50, "tap water": 50}, flour="20 %"),
    ]
    found = faults(ContradictionError, percents={"bread flour": 100, "water": 70}, stages=stages)
    assert [fault.split(":")[0] for fault in found] == ["stage poolish", "stage levain"]


def test_every_unknown_name() -> None:
    found = faults(UnknownNameError, percents={"bread flour": 100, "unobtainium": 5, "watr": 60})
    assert ["'unobtainium'" in found[0], "the nearest are 'water'" in found[1]] == [True, True]


def test_more_taken_than_there_is_of_several_lines() -> None:
    poolish = Stage("poolish", {"bread flour": 100, "water": 250, "fresh yeast": 2, "salt": 1}, flour="33 %")
    found = faults(
        ContradictionError, percents={"bread flour": 100, "water": 67, "fresh yeast": 0.5, "salt": 2}, stages=[poolish]
    )
    assert [fault.split(", expected")[0] for fault in found] == [
        "final dough: water: got the poolish uses 33 % of the flour at 250 % water: 82.5 % of water, but the formula has 67 %",
        "final dough: fresh yeast: got the poolish uses 33 % of the flour at 2 % fresh yeast: 0.66 % of fresh yeast, but the formula has 0.5 %",
    ]


def test_two_stages_that_together_take_more_than_there_is() -> None:
    stages = [
        Stage("poolish", {"bread flour": 100, "water": 120}, flour="30 %"),
        Stage("soaker", {"flaxseed": 100, "tap water": 400}, takes=("flaxseed", "100 %")),
    ]
    found = faults(ContradictionError, percents={"bread flour": 100, "water": 60, "flaxseed": 7}, stages=stages)
    assert len(found) == 1
    assert "the poolish uses 30 % of the flour at 120 % water: 36 %" in found[0]
    # A soaker without flour uses none of it; what the two take is added up.
    assert "the soaker takes 28 %" in found[0]
    assert "together 64 %" in found[0]
    assert found[0].split(", expected")[0].endswith("of water, but the formula has 60 %")


def test_all_the_flour_and_more() -> None:
    stages = [
        Stage("biga", {"bread flour": 100, "water": 50}, flour="60 %"),
        Stage("poolish", {"bread flour": 100, "water": 100}, flour="60 %"),
    ]
    found = faults(ContradictionError, percents={"bread flour": 100, "water": 200}, stages=stages)
    assert "the biga uses 60 % of the flour at 100 % bread flour: 60 %" in found[0]
    assert "together 120 %, of bread flour, but the formula has 100 %" in found[0]


def test_what_a_stage_has_and_the_formula_has_not() -> None:
    biga = Stage("biga", {"bread flour": 100, "water": 50, "honey": 1}, flour="40 %")
    found = faults(ContradictionError, percents={"bread flour": 100, "water": 70}, stages=[biga])
    assert "0.4 % of honey, but the formula has 0 %" in found[0]


@pytest.mark.parametrize("length", [1, 2, 3, 7])
def test_a_circle_of_stages(length: int) -> None:
    names = [f"build {number}" for number in range(length)]
    stages = [
        Stage(name, {"bread flour": 100, "water": 100, names[(number + 1) % length]: 20}, flour="5 %")
        for number, name in enumerate(names)
    ]
    found = faults(ContradictionError, percents={"bread flour": 100, "water": 100}, stages=stages)
    circle = " -> ".join([*names, names[0]])
    assert found == [f"stage build 0: got stages that need each other: {circle}, expected no circle"]


def test_a_stage_that_others_use_up() -> None:
    stages = [
        Stage("levain", {"bread flour": 100, "water": 100}, flour="5 %"),
        Stage("sponge", {"bread flour": 100, "water": 60, "levain": 100}, flour="20 %"),
    ]
    found = faults(ContradictionError, percents={"bread flour": 100, "water": 70}, stages=stages)
    assert found[0].startswith("stage levain: got 10 % more taken by other stages than it hands on")


def test_more_kept_or_boiled_off_than_there_is() -> None:
    stages = [
        Stage("levain", {"bread flour": 100, "water": 100}, flour="20 %", keep=200),
        Stage("scald", {"rye": 100, "water": 100}, flour="5 %", boiled_off=120),
    ]
    found = faults(ContradictionError, percents={"bread flour": 95, "rye": 5, "water": 70}, stages=stages)
    assert found == [
        "stage levain: got 200 % kept back, expected less than the 200 % that is there to keep from",
        "stage scald: got 120 % boiled off, expected no more than its water, 100 %",
    ]


def test_faults_of_several_kinds_in_the_stages_are_told_together() -> None:
    stages = [
        Stage("poolish", {"bread flour": 90, "water": 100}, flour="20 %"),
        Stage("levain", {"bread flour": 100, "tap water": 60, "water": 50}, flour="20 %"),
        Stage("mash", {"water": 100}, weight="5 %"),
        Stage("sponge", {"bread flour": 100, "unobtainium": 5}, flour="20 %"),
        Stage("chef", {"bread flour": 100, "water": 50, "culture": 50}, flour="5 %"),
    ]
    found = faults(FormulaError, percents={"bread flour": 100, "water": 70}, stages=stages)
    assert [fault.split(":")[0] for fault in found] == [
        "stage poolish", "stage levain", "stage mash", "stage sponge", "stage chef",
    ]  # fmt: skip


def test_several_stages_without_size() -> None:
    stages = [
        Stage("poolish", {"bread flour": 100, "water": 100}),
        Stage("soaker", {"flaxseed": 100, "water": 200}, flour="5 %"),
        Stage("scald", {"rye": 100, "water": 200}, takes=("barley flour", "100 %")),
    ]
    found = faults(FormulaError, percents={"bread flour": 95, "rye": 5, "water": 70, "flaxseed": 7}, stages=stages)
    assert {fault.split(", expected")[0] for fault in found} == {
        "stage poolish: got no size",
        "stage soaker: flour: got a share of the flour",
        "stage scald: takes: got 'barley flour'",
    }


def test_flours_that_do_not_sum_to_a_hundred_are_told_with_the_sum() -> None:
    found = faults(FormulaError, percents={"bread flour": 80, "rye": 30, "water": 70})
    assert "got bread flour 80 + rye 30 = 110, expected flours that sum to 100" in found[0]


def test_a_culture_that_is_split_must_find_its_flour() -> None:
    levain = Stage(
        "levain",
        {"bread flour": 100, "water": 100, "culture": 30},
        flour="20 %",
        culture=Culture("split", {"rye": 100, "water": 100}),
    )
    found = faults(ContradictionError, percents={"bread flour": 100, "water": 70}, stages=[levain])
    assert "of rye, but the formula has 0 %" in found[0]


def test_numbers_that_no_line_can_have_are_told_at_once() -> None:
    found = faults(
        FormulaError,
        percents={"bread flour": -100, "water": float("nan"), "salt": "2", "honey": True, "sugar": 3},  # type: ignore[dict-item]
    )
    assert len(found) == 1, "text is a weight, and weights do not stand beside percentages"
    found = faults(FormulaError, percents={"bread flour": -100, "water": float("nan"), "honey": True, "sugar": 3})
    assert [fault.split(": got")[0] for fault in found] == [
        "formula 'Loaf': bread flour", "formula 'Loaf': water", "formula 'Loaf': honey",
    ]  # fmt: skip


def test_everything_that_is_wrong_is_told_at_once() -> None:
    """Fractions, a typing mistake, an ingredient twice, a circle, a culture uncounted, and facts that cannot be."""
    stages = [
        Stage("one", {"bread flour": 100, "water": 50, "two": 10}, flour="20 %"),
        Stage("two", {"bread flour": 100, "water": 50, "one": 10}),
        Stage("three", {"bread flour": 100, "water": 50, "three": 10}, flour="20 %"),
        Stage("levain", {"bread flour": 90, "water": 100, "culture": 10}, flour="20 %"),
    ]
    with pytest.raises(FormulaError) as raised:
        Formula.from_percents(
            "x",
            {"bread flour": 0.9, "strong flour": 0.1, "watr": 0.7, "levain": 0.2},
            stages=stages,
            toppings={"seedz": "3 g"},
            reject="100 %",
        )
    text = str(raised.value)
    for part in (
        "'watr'",
        "which are both bread flour",
        "one -> two -> one",
        "three -> three",
        "the way it is counted",
        "a base of 100",
        "use from_stages",
        "'seedz'",
        "a share below 100 %",
    ):
        assert part in text, part


def test_a_wrong_flour_sum_does_not_hide_what_is_wrong_in_a_stage() -> None:
    biga = Stage("biga", {"bread flour": 1, "water": 0.5}, flour="40 %")
    with pytest.raises(FormulaError) as raised:
        Formula.from_percents("x", {"bread flour": 1, "water": 0.7}, stages=[biga])
    assert len(raised.value.faults) == 2
    assert all("fractions" in fault.fix for fault in raised.value.faults)


def test_a_final_dough_tells_of_everything_too() -> None:
    with pytest.raises(FormulaError) as raised:
        Formula.from_stages(
            "x",
            {"bread flour": 90, "water": 50, "poolish": 30},
            [Stage("poolish", {"bread flour": 90, "water": 100})],
        )
    assert [fault.expected for fault in raised.value.faults] == ["flours that sum to 100", "a base of 100"]
    poolish = {"bread flour": 100, "water": 100}
    with pytest.raises(FormulaError) as raised:
        Formula.from_stages(
            "x",
            {"bread flour": 100, "water": 50, "poolish": 30},
            [Stage("poolish", poolish, flour="20 %"), Stage("biga", poolish)],
        )
    assert {fault.got for fault in raised.value.faults} == {"a size of its own", "no use of it"}
