"""Old dough: deducted line by line, only where everything in it is declared, only within the bakery's limits."""

import copy
import pickle
from collections.abc import Callable
from typing import Any

import pytest

from formula.catalogue import Catalogue
from formula.errors import ContradictionError, FormulaError, QuantityError
from formula.formula import Formula
from formula.ingredient import Ingredient
from formula.losses import Losses
from formula.olddough import OldDough, WithOldDough, with_old_dough
from formula.stage import Stage
from tests.arithmetic import check_working

LIMITS = {"oldest": "12 h", "warmest": "8 °C"}
LINES = {"bread flour": 100, "water": 68, "salt": 2, "fresh yeast": 1}
BREAD = Formula.from_percents("Quay Round", LINES)
LEAN = Formula.from_percents("Mooring Stick", {"bread flour": 100, "water": 60, "salt": 2, "fresh yeast": 2})
BIGA = Stage("biga", {"bread flour": 100, "water": 55, "fresh yeast": 0.2}, flour="40 %")


def old(bread: Formula = LEAN, mass: str = "8.2 kg", age: str = "10 h", temperature: str = "5 °C") -> OldDough:
    return OldDough(bread, mass, age=age, temperature=temperature)


def put(bread: Formula, dough: OldDough, flour: str = "50 kg", **options: Any) -> WithOldDough:  # noqa: ANN401
    return with_old_dough(bread.scale(flour=flour), dough, **{**LIMITS, **options})


def told(make: Callable[[], object], error: type[FormulaError] = ContradictionError) -> str:
    with pytest.raises(error) as caught:
        make()
    return str(caught.value)


def final(made: WithOldDough) -> dict[str, float]:
    return {row.name: row.mass_g for row in made.batch.final.rows}


def test_it_is_deducted_line_by_line() -> None:
    made = put(BREAD, old())
    # 8,200 g at 164 % are 5,000 g of flour, 3,000 g of water, 100 g of salt and 100 g of yeast.
    assert dict(made.brought_g) == pytest.approx({"bread flour": 5000, "water": 3000, "salt": 100, "fresh yeast": 100})
    expected = {"bread flour": 45_000, "water": 31_000, "salt": 900, "fresh yeast": 400, "old dough": 8200}
    assert final(made) == pytest.approx(expected)
    assert made.formula.percents == BREAD.percents
    assert made.formula.prefermented_flour == pytest.approx(10.0)
    assert made.dough_g == pytest.approx(85_500)
    assert made.kept_g == 0.0


def test_what_limits_it() -> None:
    made = put(BREAD, old(mass="90 kg"))
    # The yeast: 500 g in the bread, a part of 2 / 164 of the old dough: 41,000 g.
    assert made.limited_by == "fresh yeast"
    assert made.used_g == pytest.approx(41_000)
    assert made.kept_g == pytest.approx(49_000)
    assert "fresh yeast" not in final(made)
    salty = Formula.from_percents("Brine", {"bread flour": 100, "water": 60, "salt": 4, "fresh yeast": 1})
    made = put(BREAD, old(salty, "90 kg"))
    assert made.limited_by == "salt"
    assert made.most_g == pytest.approx(1000 * 165 / 4)
    assert "salt" not in final(made)


def test_the_same_bread_goes_into_itself_whole() -> None:
    made = put(BREAD, old(BREAD, "100 kg"))
    assert made.used_g == pytest.approx(85_500)
    assert list(final(made)) == ["old dough"]


def test_its_own_stages_are_resolved() -> None:
    staged = Formula.from_percents("Staged", LINES, stages=[BIGA])
    first, second = put(BREAD, old(staged)), put(BREAD, old(BREAD))
    assert final(first) == pytest.approx(final(second))


def test_the_bread_s_own_stages_keep_their_size() -> None:
    for size in ({"flour": "40 %"}, {"weight": "62.08 %"}, {"weight_on_final": "103.4666666667 %"}):
        stage = Stage("biga", {"bread flour": 100, "water": 55, "fresh yeast": 0.2}, **size)  # type: ignore[arg-type]
        bread = Formula.from_percents("Biga loaf", LINES, stages=[stage])
        made = put(bread, old())
        assert made.batch.mass_g("biga") == pytest.approx(bread.scale(flour="50 kg").mass_g("biga"), rel=1e-9)
        assert made.formula.percents == bread.percents
        assert made.formula.prefermented_flour == pytest.approx(50.0)
        # The stage has 80 g of the yeast; of the 420 g in the final dough the old dough takes the place.
        assert made.most_g == pytest.approx((500 - 40) / 2 * 164, rel=1e-6)
        check_working(made.working(), made.dough_g)


def test_a_stage_that_takes_everything_leaves_no_room() -> None:
    starter = Stage("sponge", {"bread flour": 100, "water": 60, "fresh yeast": 2}, flour="50 %")
    bread = Formula.from_percents("Sponge loaf", LINES, stages=[starter])
    assert "no fresh yeast that old dough could take the place of" in told(lambda: put(bread, old()))


def test_late_additions_are_not_there_to_be_taken() -> None:
    bread = Formula.from_percents("Late", LINES, later={"water": 66})
    made = put(bread, old(mass="60 kg"))
    # 2 % of 50 kg of water are left for it, and 60 / 164 of it is water.
    assert made.limited_by == "water"
    assert made.most_g == pytest.approx(1000 * 164 / 60)
    assert made.formula.later == {"water": 66}


def test_old_dough_in_old_dough() -> None:
    first = put(BREAD, old())
    made = put(BREAD, old(first.formula, "5 kg"))
    assert "older-than-its-age" in [caution.code for caution in made.cautions]
    assert made.formula.percents == BREAD.percents
    again = told(lambda: put(first.formula, old()), FormulaError)
    assert "two stages of this name" in again
    assert put(first.formula, old(mass="1 kg"), stage="old dough of yesterday").formula.prefermented_flour > 10


def test_a_culture_line_goes_with_it() -> None:
    levain = Stage("levain", {"bread flour": 100, "water": 100, "culture": 10}, flour="10 %", culture="line")
    bread = Formula.from_percents("Sour", {"bread flour": 100, "water": 68, "salt": 2, "culture": 2}, stages=[levain])
    made = put(bread, old(bread, "1 kg"))
    assert made.formula.percents == pytest.approx(dict(bread.percents))
    assert final(made)["culture"] == pytest.approx(50_000 * 0.01 - 1000 * 2 / 172)


def test_names_and_aliases() -> None:
    aliased = Formula.from_percents("Alias", {"strong flour": 100, "tap water": 60, "salt": 2, "compressed yeast": 2})
    assert final(put(BREAD, old(aliased))) == pytest.approx(final(put(BREAD, old(LEAN))))


def test_named_flours_and_lines_of_nothing() -> None:
    corn = Formula.from_percents(
        "Corn",
        {"bread flour": 80, "cornmeal": 20, "rye flour": 0, "water": 60},
        flours=["bread flour", "cornmeal", "rye flour"],
    )
    bread = Formula.from_percents("Polenta", {**LINES, "cornmeal": 10})
    made = put(bread, old(corn, "8 kg"))
    assert dict(made.brought_g) == pytest.approx({"bread flour": 4000, "cornmeal": 1000, "water": 3000})
    assert made.formula.prefermented_flour == pytest.approx(8.0)
    # And the other way round: the next bread counts its cornmeal as flour, the old one does not.
    named = Formula.from_percents(
        "Corn bread", {"bread flour": 80, "cornmeal": 20, "water": 65}, flours=["bread flour", "cornmeal"]
    )
    plain = Formula.from_percents("Plain", {"bread flour": 100, "cornmeal": 10, "water": 60})
    made = put(named, old(plain, "8.5 kg"))
    assert dict(made.brought_g) == pytest.approx({"bread flour": 5000, "cornmeal": 500, "water": 3000})
    assert made.formula.prefermented_flour == pytest.approx(11.0)


def test_everything_must_be_a_line() -> None:
    rich = Formula.from_percents("Gull Bun", {**LEAN.percents, "sugar": 8, "butter": 6, "egg": 5})
    message = told(lambda: put(BREAD, old(rich)))
    for part in (
        "sugar, which is no line of Quay Round",
        "butter, which",
        "egg, which",
        "allergen egg, in its egg",
        "milk",
    ):
        assert part in message


def test_an_allergen_the_bread_has_not() -> None:
    rye = Formula.from_percents("Rye", {"bread flour": 90, "medium rye flour": 10, "water": 60})
    message = told(lambda: put(BREAD, old(rye), declared="allergens"))
    assert "the allergen rye, in its medium rye flour, expected an allergen that Quay Round declares: wheat" in message
    # The same name in another larder with another allergen is found as well.
    larder = Catalogue().adding(Ingredient("bread flour", kind="flour", allergens=["wheat", "lupin"]))
    mixed = Formula.from_percents("Lupin", {"bread flour": 100, "water": 60}, catalogue=larder)
    assert "the allergen lupin, in its bread flour" in told(lambda: put(BREAD, old(mixed)))


def test_allergens_alone_bring_new_lines() -> None:
    sweet = Formula.from_percents("Sweet", {**LEAN.percents, "sugar": 8})
    made = put(BREAD, old(sweet, "8.6 kg"), declared="allergens")
    # 8,600 g at 172 % are 5,000 g of flour and 400 g of sugar, which come on top of the 85,500 g.
    assert made.added == ("sugar",)
    assert made.formula.percent("sugar") == pytest.approx(0.8)
    assert {line: made.formula.percent(line) for line in LINES} == pytest.approx(LINES)
    assert made.dough_g == pytest.approx(85_900)
    assert final(made)["bread flour"] == pytest.approx(45_000)
    assert "declared-anew" in [caution.code for caution in made.cautions]
    check_working(made.working(), made.dough_g)
    spelt = Formula.from_percents("Spelt", {"spelt flour": 100, "water": 60})
    assert "spelt flour, which is no line" in told(lambda: put(BREAD, old(spelt), declared="allergens"))
    larder = Catalogue().adding(Ingredient("harbour glaze", kind="sugar"))
    unknown = Formula.from_percents("Glaze", {**LINES, "harbour glaze": 1}, catalogue=larder)
    assert "harbour glaze, whose allergens nobody knows" in told(lambda: put(BREAD, old(unknown), declared="allergens"))


def test_the_bakery_s_limits() -> None:
    assert "old dough: age: got 13 h, expected at most 12 h, the bakery's limit" in told(
        lambda: put(BREAD, old(age="13 h"))
    )
    assert "old dough: temperature: got 9 °C, expected at most 8 °C" in told(
        lambda: put(BREAD, old(temperature="9 °C"))
    )
    assert put(BREAD, old(age="12 h", temperature="8 °C")).used_g == 8200.0
    with pytest.raises(TypeError, match="oldest"):
        with_old_dough(BREAD.scale(flour="50 kg"), old())  # type: ignore[call-arg]
    sweet = Formula.from_percents("Sweet", {**LEAN.percents, "sugar": 8})
    everything = told(lambda: put(BREAD, old(sweet, age="13 h", temperature="9 °C")))
    assert everything.startswith("3 faults")


def test_the_amount_may_be_said() -> None:
    made = put(BREAD, old(), amount="4.1 kg")
    assert (made.used_g, made.kept_g) == (4100.0, 4100.0)
    assert "amount: got 9000 g, expected at most what there is, 8200 g" in told(
        lambda: put(BREAD, old(), amount="9 kg")
    )
    message = told(lambda: put(BREAD, old(mass="90 kg"), amount="50 kg"))
    assert (
        "amount: got 50000 g, expected at most 41000 g: with more, fresh yeast runs out in the final dough" in message
    )
    assert put(BREAD, old(mass="90 kg"), amount="41 kg").used_g == pytest.approx(41_000)


def test_a_rounded_batch_counts_with_its_exact_weights() -> None:
    batch = BREAD.scale(flour="50 kg")
    assert with_old_dough(batch.rounded("1 kg"), old(), **LIMITS) == with_old_dough(batch, old(), **LIMITS)  # type: ignore[arg-type]


def test_pieces_stay_pieces() -> None:
    bread = Formula.from_percents(
        "Quay Round", LINES, losses=Losses(handling="2 %", bake="11 %"), toppings={"sesame seeds": "5 g"}
    )
    batch = bread.scale(pieces=100, baked="800 g")
    made = with_old_dough(batch, old(), oldest="12 h", warmest="8 °C")
    assert (made.batch.pieces, made.batch.piece_g, made.batch.baked_g) == (100, batch.piece_g, 800.0)
    assert made.batch.dough_g == pytest.approx(batch.dough_g, rel=1e-11)
    assert made.formula.losses == bread.losses
    assert made.formula.toppings_g == {"sesame seeds": 5.0}
    check_working(made.batch.working(), made.batch.dough_g, exact=False)


@pytest.mark.parametrize("mass", ["8.2 kg", "90 kg", "1 g"])
def test_working(mass: str) -> None:
    bread = Formula.from_percents("Seeded", {**LINES, "sesame seeds": 5, "honey": 1})
    made = put(bread, old(mass=mass))
    check_working(made.working(), made.dough_g)


def test_working_of_a_single_line() -> None:
    flour = Formula.from_percents("Flour", {"bread flour": 100})
    made = put(BREAD, old(flour, "5 kg"))
    check_working(made.working(), made.dough_g)


def test_cautions() -> None:
    assert [caution.code for caution in put(BREAD, old()).cautions] == ["raw-dough", "fermented-flour"]
    bun = Formula.from_percents("Bun", {**LINES, "egg": 5})
    assert "egg-or-milk" in [caution.code for caution in put(bun, old(bun)).cautions]


def test_views_and_values() -> None:
    made = put(BREAD, old())
    assert [view.m_as("g") for view in (made.used, made.most, made.kept, made.dough)] == pytest.approx(
        [8200, 41_000, 0, 85_500]
    )
    assert (made.oldest.m_as("h"), made.warmest.m_as("degC")) == (12.0, 8.0)
    dough = made.old
    assert (dough.mass.m_as("g"), dough.age.m_as("h"), dough.temperature.m_as("degC"), dough.flour.m_as("g")) == (
        8200,
        10,
        5,
        5000,
    )
    assert dict(dough.contents_g) == pytest.approx(
        {"bread flour": 5000, "water": 3000, "salt": 100, "fresh yeast": 100}
    )
    assert pickle.loads(pickle.dumps(made)) == copy.deepcopy(made) == made  # noqa: S301 - our own bytes
    assert hash(made) == hash(put(BREAD, old()))


def test_refusals() -> None:
    message = told(lambda: OldDough("bread", "0 g", age="10", temperature="5 C"), FormulaError)  # type: ignore[arg-type]
    assert message.startswith("4 faults")
    message = told(lambda: with_old_dough(BREAD, old(), **LIMITS), FormulaError)  # type: ignore[arg-type]
    assert message.startswith("batch: got an object of type Formula, expected a Batch; scale the formula first")
    message = told(lambda: put(BREAD, old(), oldest="12", warmest="8", amount="0 g", declared="nothing"), QuantityError)
    assert message.startswith("4 faults")
