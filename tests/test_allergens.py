"""Allergens of doughs, and the order of doughs that needs the fewest cleanings."""

import pytest

from formula.catalogue import Catalogue
from formula.doughorder import allergen_order, allergens_of, lost_allergens
from formula.errors import FormulaError
from formula.formula import Formula
from formula.ingredient import Ingredient
from formula.stage import Stage
from tests.arithmetic import check_working

LEAN = {"bread flour": 100, "water": 65, "salt": 2}


def bread(name: str, **more: float) -> Formula:
    return Formula.from_percents(name, {**LEAN, **{line.replace("_", " "): percent for line, percent in more.items()}})


class TestAllergensOf:
    def test_of_every_line_of_every_stage(self) -> None:
        soaker = Stage("soaker", {"sesame seeds": 100, "water": 100}, takes=("sesame seeds", "100 %"))
        made = Formula.from_percents("x", {**LEAN, "sesame seeds": 8, "butter": 5}, stages=[soaker])
        assert allergens_of(made) == ("milk", "sesame", "wheat")

    def test_toppings_are_not_in_the_mixer(self) -> None:
        made = Formula.from_percents("x", LEAN, toppings={"sesame seeds": "5 g"})
        assert allergens_of(made) == ("wheat",)

    def test_what_nobody_knows_is_an_allergen_of_its_own(self) -> None:
        larder = Catalogue().adding(Ingredient("harbour mix", kind="other"))
        made = Formula.from_percents("x", {**LEAN, "harbour mix": 3}, catalogue=larder)
        assert allergens_of(made) == ("what is in harbour mix", "wheat")
        found = allergen_order([made, bread("plain")])
        assert [each.name for each in found.breads] == ["plain", "x"]
        (text,) = [caution.text for caution in found.cautions if caution.code == "allergens-unknown"]
        assert "harbour mix; they count" in text


class TestOrder:
    def test_wheat_doughs_share_wheat(self) -> None:
        found = allergen_order([bread("one"), bread("two", rye_flour=0)])
        assert found.cleanings == 0 or "rye" in found.allergens[1]

    def test_a_chain_needs_none(self) -> None:
        # wheat < wheat, milk < wheat, milk, egg: each has all of the one before.
        breads = [bread("egg", egg=8, whole_milk=10), bread("plain"), bread("milk", whole_milk=10)]
        found = allergen_order(breads)
        assert [each.name for each in found.breads] == ["plain", "milk", "egg"]
        assert found.cleanings == 0

    def test_by_hand(self) -> None:
        # Sets: plain {wheat}, milk, sesame, both.  plain - milk - both loses nothing; sesame after both loses milk: one
        # cleaning.  No order does with none, since neither of milk and sesame holds the other.
        breads = [bread("both", whole_milk=5, sesame_seeds=5), bread("sesame", sesame_seeds=5), bread("milk", butter=5), bread("plain")]  # fmt: skip
        found = allergen_order(breads)
        assert found.breads[0].name == "plain"
        assert found.cleanings == 1
        check_working(found.working(), 1.0)
        assert "cross-contact" in [caution.code for caution in found.cautions]

    def test_the_given_order_decides_among_equals(self) -> None:
        breads = [bread("b"), bread("a"), bread("c")]
        assert [each.name for each in allergen_order(breads).breads] == ["b", "a", "c"]

    def test_matching_moves_what_stands_in_the_way(self) -> None:
        # Greedily milk would take egg-milk-sesame, and nothing would be left for sesame.
        sets = [bread("milk", butter=5), bread("sesame", sesame_seeds=5), bread("ms", butter=5, sesame_seeds=5), bread("me", butter=5, egg=5)]  # fmt: skip
        assert allergen_order(sets).cleanings == 1

    def test_one_alone(self) -> None:
        found = allergen_order([bread("plain")])
        assert (found.cleanings, found.lost) == (0, ((),))
        check_working(found.working(), 0.0)

    def test_refused(self) -> None:
        with pytest.raises(FormulaError, match="at least one formula"):
            allergen_order([])
        with pytest.raises(FormulaError, match="a Formula"):
            allergen_order([bread("plain"), "Quay Round"])  # type: ignore[list-item]

    def test_lost(self) -> None:
        assert lost_allergens(("egg", "milk", "wheat"), ("wheat",)) == ("egg", "milk")
        assert lost_allergens((), ("wheat",)) == ()
