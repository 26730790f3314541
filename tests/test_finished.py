"""The finished loaf: what went in, what is left, and every refusal."""

import copy
import pickle

import pytest

from formula import Culture, Formula, Losses, Stage, finished_loaf
from formula.errors import ContradictionError, FormulaError, UnknownNameError
from formula.finished import FinishedLoaf
from tests.arithmetic import check_working

LEAN = {"bread flour": 100, "water": 62, "salt": 2, "fresh yeast": 2}


def masses(made: FinishedLoaf) -> dict[str, float]:
    return {each.name: round(each.mass_g, 6) for each in made.ingoing}


def test_the_mass_balance_by_hand() -> None:
    """100 flour + 62 water + 2 salt + 2 fresh yeast, 12 % lost: 146.1 g with 38.9 % of water."""
    made = finished_loaf(Formula.from_percents("Loaf", LEAN, losses=Losses(bake="12 %")))
    assert made.finished_g == pytest.approx(166 * 0.88, rel=1e-12)
    assert made.water_g == pytest.approx(13.36 + 62 + 2 * 0.002 + 2 * 0.69 - 166 * 0.12, rel=1e-12)
    assert made.water_percent == pytest.approx(38.9, abs=0.05)
    assert made.solids_percent == pytest.approx(100 - (made.water_percent or 0), rel=1e-12)
    check_working(made.working(), made.solids_percent or 0.0)


@pytest.mark.parametrize("combine", ["compound", "add"])
@pytest.mark.parametrize("on", ["dough", "bread"])
def test_dough_left_in_the_bowl_is_no_water(combine: str, on: str) -> None:
    losses = Losses(handling="10 %", divider="4 %", bulk="1 %", bake="10 %", combine=combine, on=on)  # type: ignore[arg-type]
    made = finished_loaf(Formula.from_percents("Loaf", LEAN, losses=losses), piece="900 g")
    left_g = 900 * losses.after_divider_left
    assert made.left_g == pytest.approx(left_g, rel=1e-12)
    bake = 0.1 if on == "dough" else 0.1 / 1.1
    bulk = 0.01 if on == "dough" else 0.01 / 1.01
    handling = 0.1 if on == "dough" else 0.1 / 1.1
    divider = 0.04 if on == "dough" else 0.04 / 1.04
    if combine == "compound":
        expected = (1 - bake) * (1 - bulk)
    else:
        expected = (1 - bake - bulk - handling - divider) / (1 - handling - divider)
    assert made.left_g / made.dough_g == pytest.approx(expected, rel=1e-12)
    check_working(made.working(), made.solids_percent or 0.0)


def test_bowl_losses_change_nothing_in_the_loaf() -> None:
    loaf = Formula.from_percents("Loaf", LEAN)
    a = finished_loaf(loaf, losses=Losses(bake="12 %"))
    b = finished_loaf(loaf, losses=Losses(handling="30 %", divider="5 %", bake="12 %"))
    assert (a.ingoing, a.finished_g) == (b.ingoing, b.finished_g)


def test_the_piece_and_the_baked_weight_say_the_same() -> None:
    loaf = Formula.from_percents("Loaf", LEAN, losses=Losses(handling="2 %", ferment="1 %", bake="11 %"))
    scaled_g = loaf.losses.dough_for("800 g").scaling_weight_g
    by_baked, by_piece = finished_loaf(loaf, baked="800 g"), finished_loaf(loaf, piece=f"{scaled_g!r} g")
    assert by_baked.finished_g == pytest.approx(800, rel=1e-12)
    assert masses(by_baked) == pytest.approx(masses(by_piece), rel=1e-9)
    assert by_baked.per_piece


def test_toppings_are_in_the_loaf_and_lose_nothing() -> None:
    loaf = Formula.from_percents(
        "Loaf", LEAN | {"sesame seeds": 2}, losses=Losses(bake="10 %"), toppings={"sesame seeds": "6 g"}
    )
    made = finished_loaf(loaf, piece="840 g")
    assert masses(made)["sesame seeds"] == pytest.approx(840 * 2 / 168 + 6)
    assert made.finished_g == pytest.approx(840 * 0.9 + 6, rel=1e-12)
    check_working(made.working(), made.solids_percent or 0.0)
    with pytest.raises(FormulaError, match=r"Loaf: got toppings \(sesame seeds\) without the weight of a piece"):
        finished_loaf(loaf)


def levain(counted: str) -> Formula:
    stage = Stage("levain", {"bread flour": 100, "water": 50, "culture": 30}, flour="20 %", culture=Culture(counted))
    return Formula.from_percents(
        "Sour",
        {"bread flour": 100, "water": 65, "salt": 2} | ({"culture": 6} if counted == "line" else {}),
        stages=[stage],
    )


def test_a_culture_taken_back_out_is_not_in_the_loaf() -> None:
    assert masses(finished_loaf(levain("returned"))) == {"bread flour": 100, "water": 65, "salt": 2}


def test_a_culture_that_is_split_is_in_its_flour_and_water() -> None:
    assert masses(finished_loaf(levain("split"))) == {"bread flour": 100, "water": 65, "salt": 2}


def test_a_culture_that_is_a_line_is_its_flour_and_water() -> None:
    found = masses(finished_loaf(levain("line")))
    assert found == pytest.approx({"bread flour": 100 + 4, "water": 65 + 2, "salt": 2})


def test_old_dough_of_the_same_bread_is_the_bread() -> None:
    loaf = Formula.from_percents("Loaf", LEAN | {"old dough": 33.2})
    found = masses(finished_loaf(loaf, cultures={"scrap dough": loaf}))
    assert found == pytest.approx({name: percent * 1.2 for name, percent in LEAN.items()})


def test_old_dough_of_another_bread_and_a_culture_in_percentages() -> None:
    rye = Formula.from_percents("Rye", {"medium rye flour": 100, "water": 80, "rye culture": 20})
    loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 60, "old dough": 40})
    found = masses(
        finished_loaf(
            loaf.from_percents("Loaf", dict(loaf.percents) | {"rye culture": 18}),
            cultures={"old dough": rye, "rye culture": {"medium rye flour": 100, "water": 80}},
        )
    )
    # 40 of old dough is 4 of rye culture and 36 of its flour and water; with 18 more, 22 of culture at 100 to 80.
    rye_g = 36 * 100 / 180 + 22 * 100 / 180
    assert found == pytest.approx({"bread flour": 100, "water": 60 + 58 - rye_g, "medium rye flour": rye_g})


def test_a_culture_nobody_explains_stays_a_gap() -> None:
    made = finished_loaf(Formula.from_percents("Loaf", LEAN | {"old dough": 20}))
    assert made.water_gaps == ("old dough",)
    assert (made.water_g, made.water_percent, made.solids_percent, made.water) == (None, None, None, None)
    assert [caution.code for caution in made.cautions] == ["water-unknown"]
    check_working(made.working(), made.finished_g)
    with pytest.raises(FormulaError, match="no water content for old dough"):
        made.water_steps()


def test_refusals() -> None:
    loaf = Formula.from_percents("Loaf", LEAN | {"old dough": 20})
    with pytest.raises(ContradictionError, match=r"97\.01 g of water lost, expected less than the 75\.36 g"):
        finished_loaf(Formula.from_percents("Rusk", {"bread flour": 100, "water": 62}), losses=Losses(bake="59.88 %"))
    with pytest.raises(UnknownNameError, match="cultures: got 'culture', expected one of bread flour"):
        finished_loaf(loaf, cultures={"culture": {"bread flour": 100}})
    with pytest.raises(FormulaError, match="one of piece= and baked="):
        finished_loaf(loaf, piece="1 kg", baked="0 g")
    with pytest.raises(FormulaError, match="a weight above zero"):
        finished_loaf(loaf, baked="0 g")
    with pytest.raises(FormulaError, match="cultures: old dough: got nothing"):
        finished_loaf(loaf, cultures={"old dough": {"old dough": 100}})
    both = Formula.from_percents("Loaf", LEAN | {"old dough": 20, "culture": 5})
    circle = {"old dough": {"water": 10, "culture": 100}, "culture": {"bread flour": 10, "old dough": 100}}
    with pytest.raises(ContradictionError, match="old dough -> culture -> old dough"):
        finished_loaf(both, cultures=circle)


def test_it_is_a_value() -> None:
    made = finished_loaf(Formula.from_percents("Loaf", LEAN, losses=Losses(bake="12 %")), baked="1 kg")
    for twin in (copy.deepcopy(made), pickle.loads(pickle.dumps(made))):  # noqa: S301 - our own bytes
        assert (twin, hash(twin)) == (made, hash(made))
    assert made.finished.m_as("kg") == pytest.approx(1)
    assert made.lost.m_as("g") == pytest.approx(made.lost_g)
