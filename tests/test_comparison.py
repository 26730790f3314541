"""Two formulas side by side, and two doughs in one bowl."""

import pytest
from attrs import evolve

from formula import Culture, Formula, Losses, Stage, blend, compare
from formula.catalogue import Catalogue
from formula.errors import ContradictionError, FormulaError
from formula.ingredient import Ingredient
from tests.arithmetic import check_working

BIGA = Stage("biga", {"bread flour": 100, "water": 50, "fresh yeast": 0.5}, flour="40 %")
OLD = Formula.from_percents("Old", {"bread flour": 100, "water": 65, "salt": 2, "fresh yeast": 1}, stages=[BIGA])


def test_only_what_differs_is_a_change() -> None:
    new = Formula.from_percents(
        "New", {"bread flour": 100, "water": 68, "salt": 1.8, "fresh yeast": 1, "honey": 2}, stages=[BIGA]
    )
    found = compare(OLD, new)
    assert [(line.name, line.first_percent, line.second_percent) for line in found.changed] == [
        ("water", 65, 68), ("salt", 2, 1.8), ("honey", 0, 2),
    ]  # fmt: skip
    assert [line.name for line in found.lines] == ["bread flour", "water", "salt", "fresh yeast", "honey"]
    assert found.difference_percent == pytest.approx(4.8)
    assert (found.first_total_percent, found.second_total_percent) == (168, 172.8)
    check_working(found.working(), found.difference_percent)


def test_the_other_way_round() -> None:
    new = Formula.from_percents("New", {"bread flour": 100, "water": 68, "honey": 2}, stages=[])
    there, back = compare(OLD, new), compare(new, OLD)
    changes = {line.name: line.difference_percent for line in there.changed}
    assert changes == {line.name: -line.difference_percent for line in back.changed}
    assert set(changes) == {"water", "salt", "fresh yeast", "honey"}


def test_with_itself_nothing_changed() -> None:
    found = compare(OLD, OLD)
    assert found.changed == ()
    assert not found.changed_stages
    assert found.difference_percent == 0
    check_working(found.working(), 0.0)


def test_aliases_are_the_same_line_in_stages_too() -> None:
    biga = Stage("biga", {"strong flour": 100, "tap water": 50, "compressed yeast": 0.5}, flour="40 %")
    other = Formula.from_percents(
        "Other", {"white flour": 100, "Water": 65, "table salt": 2, "cake_yeast": 1}, stages=[biga]
    )
    assert compare(OLD, other).changed == ()
    assert not compare(OLD, other).changed_stages


def test_stages_are_compared_on_all_the_flour() -> None:
    smaller = evolve(OLD, stages=(BIGA.changed(flour_percent=20.0),), name="Smaller")
    found = compare(OLD, smaller)
    assert found.changed == ()
    assert list(found.stages) == ["biga", "final"]
    biga = {line.name: line.difference_percent for line in found.changed_stages["biga"]}
    assert biga == {"bread flour": -20, "water": -10, "fresh yeast": pytest.approx(-0.1)}
    final = {line.name: line.difference_percent for line in found.changed_stages["final"]}
    assert final == {
        "bread flour": 20, "water": 10, "fresh yeast": pytest.approx(0.1), "biga": pytest.approx(-30.1),
    }  # fmt: skip


def test_a_stage_that_is_only_in_one() -> None:
    straight = Formula.from_percents("Straight", dict(OLD.percents))
    for one, other in ((OLD, straight), (straight, OLD)):
        found = compare(one, other)
        assert list(found.stages) == ["biga", "final"], "the final dough comes last"
        assert found.changed == ()
        assert {abs(line.difference_percent) for line in found.changed_stages["biga"]} == {40, 20, 0.2}


def test_a_stage_named_like_an_ingredient_is_the_stage() -> None:
    """Nothing keeps a bread without a bought culture from calling its levain "starter"."""
    levain = {"bread flour": 100, "water": 100}
    one = Formula.from_stages("One", {"bread flour": 100, "water": 60, "starter": 30}, {"starter": levain})
    other = Formula.from_stages(
        "Other", {"bread flour": 100, "water": 60, "ripe culture": 30}, {"ripe culture": levain}
    )
    found = compare(one, other)
    assert [line.name for line in found.changed_stages["final"]] == ["starter", "ripe culture"]


def test_a_difference_too_small_to_weigh() -> None:
    near = Formula.from_percents("Near", {**OLD.percents, "water": 65 + 1e-7}, stages=[BIGA])
    assert compare(OLD, near).changed == ()
    near = Formula.from_percents("Near", {**OLD.percents, "water": 65 + 1e-5}, stages=[BIGA])
    assert len(compare(OLD, near).changed) == 1


def test_each_formula_reads_its_own_catalogue() -> None:
    ours = Catalogue().adding(Ingredient("Harbour Mix", kind="flour", water_g=13.0))
    theirs = Catalogue().adding(Ingredient("harbour-mix", kind="flour", also=["quay mix"]))
    one = Formula.from_percents("One", {"harbour mix": 100, "water": 60}, catalogue=ours)
    other = Formula.from_percents("Other", {"quay mix": 100, "water": 60}, catalogue=theirs)
    assert compare(one, other).changed == ()


def test_the_table_shows_names_of_any_length() -> None:
    one = evolve(OLD, name="A bread with a long name")
    text = str(compare(one, Formula.from_percents("B", dict(OLD.percents))))
    assert text.splitlines()[0].split() == ["A", "bread", "with", "a", "long", "name", "B", "difference"]
    assert len({len(line) for line in text.splitlines()[:5]}) == 1
    assert text.splitlines()[6] == "biga"
    straight = Formula.from_percents("A", dict(OLD.percents))
    assert str(compare(straight, straight)).count("\n") == 4, "no table of stages where there is none"


# -- two doughs in one bowl ------------------------------------------------------------------------------------------------

WHITE = Formula.from_percents("White", {"bread flour": 100, "water": 60, "salt": 2})
BROWN = Formula.from_percents("Brown", {"whole wheat flour": 80, "strong flour": 20, "tap water": 80, "honey": 5})


def test_a_blend_by_hand() -> None:
    # 324 g of white: 200 flour, 120 water, 4 salt; 370 g of brown: 160 + 40 flour, 160 water, 10 honey.
    made = blend(WHITE, "324 g", BROWN, "370 g")
    assert made.percents == {
        "bread flour": pytest.approx(60), "water": pytest.approx(70), "salt": pytest.approx(1),
        "whole wheat flour": pytest.approx(40), "honey": pytest.approx(2.5),
    }  # fmt: skip
    assert made.name == "White and Brown"
    assert made.scale(flour="400 g").dough_g == pytest.approx(694)
    assert blend(WHITE, "324 g", BROWN, "370 g", name="Grey").name == "Grey"


def test_the_order_does_not_matter() -> None:
    one, other = blend(WHITE, "0.3 kg", BROWN, "1 lb"), blend(BROWN, "1 lb", WHITE, "0.3 kg")
    assert compare(one, other).changed == ()


def test_a_blend_with_itself() -> None:
    found = blend(OLD, "1 kg", OLD, "3 kg", name="Old")
    assert found == Formula.from_percents("Old", found.percents)
    assert compare(OLD, found).changed == ()
    assert not found.stages


def test_stages_are_resolved_and_what_leaves_them_is_not_in_the_bowl() -> None:
    levain = Stage(
        "levain",
        {"bread flour": 100, "water": 100, "culture": 20},
        flour="20 %",
        culture=Culture("split", {"rye": 100, "water": 125}),
        keep=10,
    )
    sour = Formula.from_percents("Sour", {"bread flour": 95, "rye": 5, "water": 70}, stages=[levain])
    made = blend(sour, "1700 g", WHITE, "1620 g")
    assert made.percents == {
        "bread flour": pytest.approx(97.5), "rye": pytest.approx(2.5), "water": pytest.approx(65), "salt": pytest.approx(1),
    }  # fmt: skip


def test_flours_that_were_named_stay_named() -> None:
    malt = Formula.from_percents(
        "Malt", {"bread flour": 95, "malt flour": 5, "water": 60}, flours=["bread flour", "malt flour"]
    )
    made = blend(malt, "160 g", WHITE, "162 g")
    assert made.flours == ("bread flour", "malt flour")
    assert sum(made.percents[line] for line in made.flours) == pytest.approx(100)
    assert blend(malt, "1 kg", malt, "1 kg").percents == {line: pytest.approx(p) for line, p in malt.percents.items()}


def test_facts_are_not_blended() -> None:
    hot = evolve(WHITE, losses=Losses(bake="12 %"), dough_temperature_c=25.0)
    made = blend(hot, "1 kg", hot, "1 kg")
    assert made.dough_temperature_c is None
    assert made.losses == WHITE.losses


def test_doughs_of_two_catalogues() -> None:
    ours = Catalogue().adding(Ingredient("harbour mix", kind="flour"))
    theirs = Catalogue().adding(Ingredient("quay mix", kind="flour"))
    one = Formula.from_percents("One", {"harbour mix": 100, "water": 60}, catalogue=ours)
    other = Formula.from_percents("Other", {"quay mix": 100, "water": 80}, catalogue=theirs)
    made = blend(one, "160 g", other, "180 g")
    assert made.percents == {
        "harbour mix": pytest.approx(50), "water": pytest.approx(70), "quay mix": pytest.approx(50),
    }  # fmt: skip
    assert made.catalogue.find("quay mix").is_flour
    assert made.catalogue.find("harbour mix").is_flour
    assert blend(one, "160 g", one, "160 g").catalogue == ours


def test_a_name_that_means_two_things_is_refused() -> None:
    ours = Catalogue().adding(Ingredient("harbour mix", kind="flour", water_g=13.0))
    theirs = Catalogue().adding(Ingredient("harbour mix", kind="sugar"), Ingredient("salt", kind="salt", water_g=1.0))
    one = Formula.from_percents("One", {"harbour mix": 100, "water": 60, "salt": 2}, catalogue=ours)
    other = Formula.from_percents("Other", {"bread flour": 100, "water": 80, "harbour mix": 5}, catalogue=theirs)
    with pytest.raises(ContradictionError) as caught:
        blend(one, "1 kg", other, "1 kg")
    assert [fault.where for fault in caught.value.faults] == ["One: harbour mix", "One: salt"]
    # What the formulas do not use may differ.
    plain = Formula.from_percents("Plain", {"bread flour": 100, "water": 60}, catalogue=ours)
    assert blend(plain, "1 kg", evolve(plain, catalogue=theirs), "1 kg").percent("water") == pytest.approx(60)


def test_doughs_are_weights_above_zero() -> None:
    with pytest.raises(FormulaError) as caught:
        blend(WHITE, "0 g", BROWN, "1,5 kg")
    assert [fault.where for fault in caught.value.faults] == ["second_dough", "first_dough"]
    with pytest.raises(FormulaError, match="the bare number 3"):
        blend(WHITE, "1 kg", BROWN, 3)  # type: ignore[arg-type]
