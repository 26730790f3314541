"""Exchanges of yeast, milk and flour, by numbers worked out by hand."""

import pickle
from collections.abc import Mapping
from fractions import Fraction

import pytest
from attrs import evolve

from formula import Culture, Formula, Losses, Stage, exchange_flour, exchange_milk, exchange_yeast
from formula.catalogue import Catalogue
from formula.errors import ContradictionError, FormulaError, UnknownNameError
from formula.exchange import Exchange
from formula.ingredient import Ingredient
from formula.lines import Lines
from tests.arithmetic import check_working

PLAIN = Formula.from_percents("Plain", {"bread flour": 100, "water": 65, "salt": 2, "fresh yeast": 2})
POOLISH = Stage("poolish", {"bread flour": 100, "water": 100, "fresh yeast": 0.2}, flour="30 %")
STAGED = Formula.from_percents(
    "Staged", {"bread flour": 100, "water": 66, "salt": 2, "fresh yeast": 1.06}, stages=[POOLISH]
)
MILK_SPONGE = Formula.from_percents(
    "Milk sponge",
    {"bread flour": 100, "whole milk": 54, "fresh yeast": 1.2, "butter": 10, "water": 5},
    stages=[Stage("sponge", {"bread flour": 100, "whole milk": 90, "fresh yeast": 2}, flour="60 %")],
)


def near(lines: Mapping[str, float]) -> dict[str, object]:
    return {line: pytest.approx(percent, rel=1e-12, abs=1e-12) for line, percent in lines.items()}


def column(formula: Formula, stage: str) -> dict[str, float]:
    """Return what is weighed into a stage, per 100 of all the flour."""
    found = next(each for each in formula.table.columns if each.name == stage)
    return dict(zip(found.lines, found.percents, strict=True))


def checked(exchange: Exchange) -> Formula:
    """Do the working's sums anew, and see that parts and whole agree; return the new formula."""
    working = exchange.working()
    check_working(working, exchange.total_percent)
    assert working.cautions == exchange.cautions
    made = exchange.formula
    assert sum(column(made, "final").values()) == pytest.approx(made.total_percent, rel=1e-12)
    assert sum(made.percents[line] for line in made.flours) == pytest.approx(100, rel=1e-12)
    # What the formula says of itself is enough to build it again.
    again = Formula.from_percents(
        made.name, made.percents, stages=made.stages, flours=made.named_flours, catalogue=made.catalogue
    )
    assert again.percents == made.percents
    return made


# -- yeast ---------------------------------------------------------------------------------------------------------------


def test_fresh_to_instant_by_hand() -> None:
    made = checked(exchange_yeast(PLAIN, "fresh yeast", "instant yeast"))
    # 2 x 0.33 = 0.66; 1.34 falls away and comes back as water.
    assert made.percents == near({"bread flour": 100, "water": 66.34, "salt": 2, "instant yeast": 0.66})
    assert list(made.percents) == ["bread flour", "water", "salt", "instant yeast"], "it stands where the old one stood"
    assert made.total_percent == pytest.approx(PLAIN.total_percent, rel=1e-15)


def test_active_dry_to_instant_by_hand() -> None:
    loaf = Formula.from_percents("Dry", {"bread flour": 100, "water": 65, "active dry yeast": 1})
    made = checked(exchange_yeast(loaf, "active dry yeast", "instant yeast"))
    assert made.percents == near({"bread flour": 100, "water": 65 + 1 - 0.33 / 0.4, "instant yeast": 0.33 / 0.4})


def test_there_and_back_and_by_way_of_a_third() -> None:
    one = exchange_yeast(PLAIN, "fresh yeast", "instant yeast").formula
    assert exchange_yeast(one, "instant yeast", "fresh yeast").formula.percents == near(PLAIN.percents)
    dry = exchange_yeast(PLAIN, "fresh yeast", "active dry yeast").formula
    assert exchange_yeast(dry, "active dry yeast", "instant yeast").formula.percents == near(one.percents)


def test_every_stage_with_water_keeps_its_weight() -> None:
    made = checked(exchange_yeast(STAGED, "fresh yeast", "instant yeast"))
    # Of 30 flour the poolish holds 0.06 of yeast: 0.0198 stays, 0.0402 comes back as its own water.
    assert column(made, "poolish") == near({"bread flour": 30, "water": 30.0402, "instant yeast": 0.0198})
    assert column(made, "final") == near(
        {"bread flour": 70, "water": 36.67, "salt": 2, "instant yeast": 0.33, "poolish": 60.06}
    )
    assert made.stages[0].flour_percent == 30


def test_a_stage_without_water_leaves_the_water_to_the_final_dough() -> None:
    made = checked(exchange_yeast(MILK_SPONGE, "fresh yeast", "instant yeast"))
    assert column(made, "sponge") == near({"bread flour": 60, "whole milk": 54, "instant yeast": 0.396})
    assert column(made, "final") == near({"bread flour": 40, "butter": 10, "water": 5.804, "sponge": 114.396})
    assert made.total_percent == pytest.approx(MILK_SPONGE.total_percent, rel=1e-15)
    back = exchange_yeast(made, "instant yeast", "fresh yeast").formula
    assert column(back, "sponge") == near(column(MILK_SPONGE, "sponge"))
    assert back.percents == near(MILK_SPONGE.percents)
    assert back == evolve(MILK_SPONGE, percents=back.percents, stages=back.stages)


@pytest.mark.parametrize(
    "size",
    [{"flour": "60 %"}, {"weight": "115.2 %"}, {"weight_on_final": "288 %"}, {"takes": ("fresh yeast", "100 %")}],
)
def test_a_stage_keeps_its_flour_however_its_size_is_said(size: dict[str, str]) -> None:
    sponge = Stage("sponge", {"bread flour": 100, "whole milk": 90, "fresh yeast": 2}, **size)  # type: ignore[arg-type]
    loaf = evolve(MILK_SPONGE, stages=(sponge,))
    made = checked(exchange_yeast(loaf, "fresh yeast", "instant yeast"))
    assert column(made, "sponge") == near({"bread flour": 60, "whole milk": 54, "instant yeast": 0.396})
    stage = made.stages[0]
    if "takes" in size:
        assert (stage.taken, stage.taken_percent) == ("instant yeast", 100)
    elif "weight" in size:
        assert stage.weight_percent == pytest.approx(114.396)
    elif "weight_on_final" in size:
        assert stage.weight_on_final_percent == pytest.approx(114.396 / 0.4)


def test_a_stage_in_a_stage_follows() -> None:
    """The milk sponge shrinks a little; the dough that takes all of it takes all of it still."""
    inner = Stage("milk starter", {"bread flour": 100, "whole milk": 90, "fresh yeast": 10})
    outer = Stage("sponge", {"bread flour": 100, "water": 60, "milk starter": 50}, weight="84 %")
    loaf = Formula.from_percents(
        "Twice", {"bread flour": 100, "water": 60, "whole milk": 10, "fresh yeast": 3}, stages=[inner, outer]
    )
    before = column(loaf, "milk starter")
    made = checked(exchange_yeast(loaf, "fresh yeast", "instant yeast"))
    expected = {**before, "instant yeast": before["fresh yeast"] * 0.33}
    del expected["fresh yeast"]
    assert column(made, "milk starter") == near(expected)
    assert column(made, "sponge")["bread flour"] == pytest.approx(column(loaf, "sponge")["bread flour"], rel=1e-12)
    assert column(made, "sponge")["milk starter"] == pytest.approx(sum(expected.values()), rel=1e-12)
    assert not made.stages[0].is_sized


def test_a_dough_without_water_gets_the_line_and_loses_it_again() -> None:
    bun = Formula.from_percents("Bun", {"bread flour": 100, "whole milk": 60, "fresh yeast": 3})
    made = checked(exchange_yeast(bun, "fresh yeast", "instant yeast"))
    assert made.percents == near({"bread flour": 100, "whole milk": 60, "instant yeast": 0.99, "water": 2.01})
    back = exchange_yeast(made, "instant yeast", "fresh yeast").formula
    assert set(back.percents) == set(bun.percents)
    assert back.percents == near(bun.percents)


def test_water_makes_up_for_it_before_ice_does() -> None:
    iced = Formula.from_percents("Iced", {"bread flour": 100, "ice": 20, "tap water": 45, "fresh yeast": 2})
    made = checked(exchange_yeast(iced, "fresh yeast", "instant yeast"))
    assert made.percents == near({"bread flour": 100, "ice": 20, "tap water": 46.34, "instant yeast": 0.66})
    only = Formula.from_percents("Iced", {"bread flour": 100, "ice": 60, "fresh yeast": 2})
    assert checked(exchange_yeast(only, "fresh yeast", "instant yeast")).percent("ice") == pytest.approx(61.34)


def test_more_yeast_than_water_to_hold_back() -> None:
    bun = Formula.from_percents("Bun", {"bread flour": 100, "whole milk": 60, "water": 1, "instant yeast": 1})
    with pytest.raises(ContradictionError) as caught:
        exchange_yeast(bun, "instant yeast", "fresh yeast")
    assert str(caught.value).startswith(
        "exchanging instant yeast for fresh yeast: got 2.0303 % of water to hold back, of 1 % that is there, expected"
    )


def test_every_place_that_lacks_water_is_told_at_once() -> None:
    stiff = Stage("stiff", {"bread flour": 100, "whole milk": 60, "water": 0.1, "instant yeast": 1}, flour="20 %")
    dry = Stage("dry", {"bread flour": 100, "whole milk": 60, "water": 0.2, "instant yeast": 1}, flour="20 %")
    loaf = Formula.from_percents(
        "x", {"bread flour": 100, "whole milk": 60, "water": 0.3, "instant yeast": 1}, stages=[stiff, dry]
    )
    with pytest.raises(ContradictionError) as caught:
        exchange_yeast(loaf, "instant yeast", "fresh yeast")
    places = [fault.where for fault in caught.value.faults]
    assert places == ["exchanging instant yeast for fresh yeast", "stage stiff", "stage dry"]


def test_yeast_that_is_there_already_is_added_up() -> None:
    loaf = Formula.from_percents(
        "Both",
        {"bread flour": 100, "water": 60, "idy": 0.5, "fresh yeast": 1},
        stages=[
            Stage("sponge", {"bread flour": 100, "water": 50, "Instant-Yeast": 0.5, "cake yeast": 1}, flour="50 %")
        ],
    )
    made = checked(exchange_yeast(loaf, "compressed yeast", "instant yeast"))
    assert made.percents == near({"bread flour": 100, "water": 60.67, "idy": 0.83})
    assert made.stages[0].percents == near({"bread flour": 100, "water": 50.67, "Instant-Yeast": 0.83})
    other = checked(exchange_yeast(loaf, "idy", "fresh yeast"))
    assert other.percents["fresh yeast"] == pytest.approx(1 + 0.5 / 0.33)
    assert set(other.stages[0].percents) == {"bread flour", "water", "cake yeast"}


def test_a_taken_share_holds_the_size_when_the_new_yeast_stands_elsewhere_too() -> None:
    sponge = Stage("sponge", {"bread flour": 100, "water": 50, "fresh yeast": 2}, takes=("fresh yeast", "100 %"))
    loaf = Formula.from_percents(
        "Both", {"bread flour": 100, "water": 60, "instant yeast": 0.34, "fresh yeast": 1}, stages=[sponge]
    )
    made = checked(exchange_yeast(loaf, "fresh yeast", "instant yeast"))
    assert column(made, "sponge")["bread flour"] == pytest.approx(50)
    assert made.stages[0].taken_percent == pytest.approx(100 * 0.33 / 0.67)


def test_the_same_yeast_under_another_name_changes_nothing() -> None:
    exchange = exchange_yeast(PLAIN, "fresh yeast", "cake yeast")
    assert checked(exchange) == PLAIN
    assert not exchange.changes


def test_your_own_factor() -> None:
    made = checked(exchange_yeast(PLAIN, "fresh yeast", "instant yeast", factor=0.4))
    assert made.percents == near({"bread flour": 100, "water": 66.2, "salt": 2, "instant yeast": 0.8})
    assert not exchange_yeast(PLAIN, "fresh yeast", "instant yeast", factor=0.4).cautions
    strange = exchange_yeast(PLAIN, "fresh yeast", "instant yeast", factor=2.5)
    assert [caution.code for caution in strange.cautions] == ["outside-published-spread"]
    stronger = exchange_yeast(PLAIN, "fresh yeast", "cake yeast", factor=0.9).formula
    assert stronger.percents == near({"bread flour": 100, "water": 65.2, "salt": 2, "fresh yeast": 1.8})


def test_a_yeast_of_your_own_needs_a_factor() -> None:
    larder = Catalogue().adding(Ingredient("harbour yeast", kind="yeast"))
    loaf = evolve(PLAIN, catalogue=larder)
    with pytest.raises(UnknownNameError, match=r"harbour yeast: got 'harbour yeast', expected one of .*; give factor="):
        exchange_yeast(loaf, "fresh yeast", "harbour yeast")
    made = checked(exchange_yeast(loaf, "fresh yeast", "harbour yeast", factor=0.5))
    assert made.percents == near({"bread flour": 100, "water": 66, "salt": 2, "harbour yeast": 1})


@pytest.mark.parametrize("factor", [0, -1, True, "0.4", float("nan"), float("inf"), 1001, None.__class__])
def test_a_factor_is_a_number_above_zero(factor: object) -> None:
    with pytest.raises(FormulaError, match=r"factor: got .*, expected a number above zero"):
        exchange_yeast(PLAIN, "fresh yeast", "instant yeast", factor=factor)  # type: ignore[arg-type]


def test_what_is_no_yeast_is_refused() -> None:
    with pytest.raises(UnknownNameError, match="salt: got 'salt', expected one of"):
        exchange_yeast(PLAIN, "salt", "instant yeast")
    with pytest.raises(UnknownNameError) as caught:
        exchange_yeast(PLAIN, "salt", "water")
    assert len(caught.value.faults) == 2
    with pytest.raises(FormulaError, match="got 'salt', expected a yeast"):
        exchange_yeast(PLAIN, "salt", "instant yeast", factor=0.5)
    with pytest.raises(UnknownNameError, match="one of its lines"):
        exchange_yeast(PLAIN, "active dry yeast", "instant yeast")
    with pytest.raises(UnknownNameError, match="unobtainium"):
        exchange_yeast(PLAIN, "fresh yeast", "unobtainium")


def test_the_facts_of_a_bread_survive() -> None:
    bread = Formula.from_percents(
        "Whole",
        {"bread flour": 100, "water": 65, "salt": 2, "fresh yeast": 2, "walnuts": 10},
        losses=Losses(bake="12 %"),
        dough_temperature="25 °C",
        toppings={"sesame seeds": "3 g"},
        later={"water": 5, "walnuts": 10, "fresh yeast": 1},
        reject="1 %",
    )
    for exchange in (
        exchange_yeast(bread, "fresh yeast", "instant yeast"),
        exchange_flour(bread, "bread flour", "whole wheat flour", absorption=4),
    ):
        made = checked(exchange)
        assert made.losses == bread.losses
        assert made.dough_temperature_c == 25
        assert made.toppings_g == bread.toppings_g
        assert made.reject_share == 0.01
        assert made.name == bread.name
    yeast = exchange_yeast(bread, "fresh yeast", "instant yeast").formula
    assert yeast.later == near({"water": 5, "walnuts": 10, "instant yeast": 0.33})
    assert yeast.scale(flour="10 kg").plain_dough_g == pytest.approx(17900 - 1533)


def test_what_goes_in_later_must_still_be_there() -> None:
    bun = Formula.from_percents(
        "Bun", {"bread flour": 100, "water": 60, "nonfat dry milk": 6}, later={"water": 15, "nonfat dry milk": 0.5}
    )
    # 6 % of dry milk becomes 63.4 % of fluid milk: 57.4 % of water falls away, and 2.6 % are left to pour.
    with pytest.raises(FormulaError, match=r"added later, expected at most the 2\.56"):
        exchange_milk(bun, "nonfat dry milk", "skim milk")


# -- milk ----------------------------------------------------------------------------------------------------------------

WHOLE, POWDER = 100 - 88.13, 100 - 2.47
SKIM, SKIM_POWDER = 100 - 90.84, 100 - 3.16


def test_whole_milk_to_dry_by_hand() -> None:
    bun = Formula.from_percents("Bun", {"bread flour": 100, "whole milk": 50, "water": 5, "butter": 8})
    exchange = exchange_milk(bun, "milk", "dry whole milk")
    made = checked(exchange)
    dry = 50 * WHOLE / POWDER
    assert made.percents == near({"bread flour": 100, "dry whole milk": dry, "water": 55 - dry, "butter": 8})
    assert dry == pytest.approx(6.085, abs=5e-4)
    assert not exchange.cautions, "3.25 g of fat for 3.251 g"
    back = exchange_milk(made, "dry whole milk", "whole milk").formula
    assert back.percents == near(bun.percents)


def test_water_content_stays_the_same() -> None:
    bun = Formula.from_percents("Bun", {"bread flour": 100, "skim milk": 50, "water": 5})
    made = checked(exchange_milk(bun, "skimmed milk", "nonfat dry milk"))
    assert made.hydration("content") == pytest.approx(bun.hydration("content"), rel=1e-12)


def test_dough_of_milk_alone_gets_water_and_loses_it_again() -> None:
    bun = Formula.from_percents(
        "Bun",
        {"bread flour": 100, "whole milk": 60, "fresh yeast": 3},
        stages=[Stage("sponge", {"bread flour": 100, "milk": 80, "fresh yeast": 5}, flour="50 %")],
    )
    made = checked(exchange_milk(bun, "whole milk", "whole milk powder"))
    dry = 40 * WHOLE / POWDER
    assert column(made, "sponge") == near(
        {"bread flour": 50, "whole milk powder": dry, "fresh yeast": 2.5, "water": 40 - dry}
    )
    assert sum(column(made, "sponge").values()) == pytest.approx(92.5, rel=1e-12), "the sponge keeps its weight"
    back = checked(exchange_milk(made, "whole milk powder", "whole milk"))
    assert back.percents == near(bun.percents)
    assert set(back.stages[0].percents) == {"bread flour", "whole milk", "fresh yeast"}


def test_dry_milk_for_more_fluid_milk_than_there_is_water_for() -> None:
    bun = Formula.from_percents("Bun", {"bread flour": 100, "water": 50, "nonfat dry milk": 6})
    fluid = 6 * SKIM_POWDER / SKIM
    with pytest.raises(ContradictionError, match=rf"{fluid - 6:.4f} % of water to hold back, of 50 % that is there"):
        exchange_milk(bun, "dry milk", "skim milk")


def test_fat_that_goes_missing_is_said_with_its_amount() -> None:
    bun = Formula.from_percents("Bun", {"bread flour": 100, "whole milk": 50, "water": 20})
    leaner = exchange_milk(bun, "whole milk", "nonfat dry milk")
    checked(leaner)
    ratio = WHOLE / SKIM_POWDER
    assert 50 * (3.25 - 0.77 * ratio) / 100 == pytest.approx(1.58, abs=0.005)
    assert [caution.code for caution in leaner.cautions] == ["milk-fat"]
    assert leaner.cautions[0].text == (
        "with nonfat dry milk for whole milk the dough has less fat, by 1.6 % of the flour: "
        "make up for it with butter or other fat"
    )
    skim = exchange_milk(leaner.formula, "nonfat dry milk", "skim milk")
    assert not skim.cautions
    richer = exchange_milk(skim.formula, "skim milk", "whole milk")
    assert "has more fat, by 1.6 % of the flour: hold back butter" in richer.cautions[0].text
    little = Formula.from_percents("Bun", {"bread flour": 100, "whole milk": 5, "water": 55})
    assert not exchange_milk(little, "whole milk", "nonfat dry milk").cautions


def test_fat_that_is_not_known_is_said() -> None:
    larder = Catalogue().adding(Ingredient("harbour milk powder", kind="dairy", water_g=4.0))
    bun = Formula.from_percents("Bun", {"bread flour": 100, "whole milk": 50}, catalogue=larder)
    exchange = exchange_milk(bun, "whole milk", "harbour milk powder")
    checked(exchange)
    assert "the fat of whole milk or harbour milk powder is not known" in exchange.cautions[0].text


def test_milk_poured_later_is_poured_later_as_water() -> None:
    bun = Formula.from_percents(
        "Bun", {"bread flour": 100, "whole milk": 50, "water": 5}, later={"whole milk": 10, "water": 1}
    )
    made = checked(exchange_milk(bun, "whole milk", "whole milk powder"))
    dry = 10 * WHOLE / POWDER
    assert made.later == near({"whole milk powder": dry, "water": 11 - dry})
    back = checked(exchange_milk(made, "whole milk powder", "whole milk"))
    assert back.later == near({"whole milk": 10, "water": 1})
    alone = Formula.from_percents("Bun", {"bread flour": 100, "whole milk": 50}, later={"whole milk": 10})
    made = checked(exchange_milk(alone, "whole milk", "whole milk powder"))
    back = checked(exchange_milk(made, "whole milk powder", "whole milk"))
    assert back.later == near({"whole milk": 10})


def test_egg_is_exchanged_likewise() -> None:
    bun = Formula.from_percents("Bun", {"bread flour": 100, "egg": 10, "water": 50})
    made = checked(exchange_milk(bun, "egg", "dried whole egg"))
    assert made.percent("dried whole egg") == pytest.approx(10 * 23.85 / 97.22, rel=1e-12)


def test_what_is_no_milk_is_refused_all_at_once() -> None:
    with pytest.raises(FormulaError) as caught:
        exchange_milk(PLAIN, "salt", "ricotta")
    assert [str(fault) for fault in caught.value.faults] == [
        "salt: got an ingredient of the kind salt, expected milk or egg, fluid or dry",
        "ricotta: got no solids known, expected its water content; add it to the catalogue with water_g",
    ]
    with pytest.raises(FormulaError, match="of the kind flour"):
        exchange_milk(PLAIN, "bread flour", "whole milk")


# -- flour ---------------------------------------------------------------------------------------------------------------


def test_a_drier_flour_takes_more_water() -> None:
    loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 65, "salt": 2})
    exchange = exchange_flour(loaf, "bread flour", "all-purpose flour", old_moisture="14 %", new_moisture="12 %")
    made = checked(exchange)
    # 65 + 14 of water on 86 of dry flour; on 88 it is 79/86 x 88 = 80.837, of which the flour brings 12.
    assert made.percents == near({"all-purpose flour": 100, "water": float(Fraction(79 * 88, 86) - 12), "salt": 2})
    assert exchange.steps[-2].value == made.hydration()
    back = exchange_flour(made, "all-purpose flour", "bread flour", old_moisture="12 %", new_moisture="14 %")
    assert checked(back).percents == near(loaf.percents)


def test_an_absorption_that_differs_is_stated_on_the_basis() -> None:
    loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 60})
    made = checked(
        exchange_flour(loaf, "bread flour", "spelt flour", old_moisture="13 %", new_moisture="11 %", absorption=-4)
    ).percents
    at_basis = Fraction(160) * 86 / 87 - 100 - 4
    assert made["water"] == pytest.approx(float((at_basis + 100) * 89 / 86 - 100), abs=1e-12)
    plain = checked(
        exchange_flour(loaf, "bread flour", "spelt flour", old_moisture="14 %", new_moisture="14 %", absorption=-4)
    )
    assert plain.percent("water") == pytest.approx(56, abs=1e-12)


def test_the_same_flour_from_a_drier_sack() -> None:
    loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 60})
    made = checked(exchange_flour(loaf, "bread flour", "bread flour", old_moisture="14 %", new_moisture="12.5 %"))
    assert set(made.percents) == {"bread flour", "water"}
    assert made.percent("water") == pytest.approx(float(Fraction(160) * Fraction("87.5") / 86 - 100), abs=1e-12)
    half = exchange_flour(
        loaf, "bread flour", "strong flour", share="50 %", old_moisture="14 %", new_moisture="12.5 %"
    ).formula
    assert set(half.percents) == {"bread flour", "water"}
    assert half.percent("water") == pytest.approx(float(Fraction(160) * Fraction("86.75") / 86 - 100), abs=1e-12)


def test_moistures_of_the_catalogue() -> None:
    loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 60})
    made = checked(exchange_flour(loaf, "bread flour", "whole wheat flour"))
    assert made.percent("water") == pytest.approx(160 * 89.26 / 86.64 - 100, abs=1e-12)


def test_a_share_of_one_flour_of_two() -> None:
    loaf = Formula.from_percents("Loaf", {"bread flour": 80, "medium rye flour": 20, "water": 70})
    exchange = exchange_flour(
        loaf, "bread flour", "spelt flour", share="25 %", old_moisture="14 %", new_moisture="12 %", absorption=5
    )
    made = checked(exchange)
    # Mean moisture: (80 x 14 + 20 x 10.97) / 100 = 13.394 before, 0.4 less after; 20 of 100 flour absorb 5 more.
    before = Fraction("13.394")
    at_basis = Fraction(170) * 86 / (100 - before) + 1
    water = at_basis * (100 - before + Fraction("0.4")) / 86 - 100
    assert made.percents == near({"bread flour": 60, "spelt flour": 20, "medium rye flour": 20, "water": float(water)})
    back = exchange_flour(
        made, "spelt flour", "bread flour", old_moisture="12 %", new_moisture="14 %", absorption=-5
    ).formula
    # The catalogue's 13.36 % now stands for the bread flour that stayed: a tenth of a hundredth of the water.
    assert back.percent("water") == pytest.approx(70, abs=2e-3)
    both = evolve(loaf, catalogue=Catalogue().adding(Ingredient("bread flour", kind="flour", water_g=14.0)))
    there = checked(exchange_flour(both, "bread flour", "spelt flour", share="25 %", new_moisture="12 %", absorption=5))
    home = checked(exchange_flour(there, "spelt flour", "bread flour", old_moisture="12 %", absorption=-5))
    assert home.percents == near(loaf.percents)


def test_a_flour_beside_it_whose_moisture_nobody_knows_counts_as_the_basis() -> None:
    loaf = Formula.from_percents("Loaf", {"bread flour": 50, "spelt flour": 50, "water": 70})
    made = checked(exchange_flour(loaf, "bread flour", "all-purpose flour", old_moisture="14 %", new_moisture="12 %"))
    assert made.percent("water") == pytest.approx(float(Fraction(170) * 87 / 86 - 100), abs=1e-12)


def test_liquids_count_as_what_the_flour_absorbs() -> None:
    bun = Formula.from_percents("Bun", {"bread flour": 100, "whole milk": 50, "egg": 10, "water": 5})
    made = checked(exchange_flour(bun, "bread flour", "all-purpose flour", old_moisture="14 %", new_moisture="12 %"))
    assert made.hydration("liquid") == pytest.approx(float(Fraction(165) * 88 / 86 - 100), abs=1e-12)
    assert made.percent("whole milk") == 50


def test_a_milk_dough_gets_water_for_a_drier_flour_but_cannot_give_any() -> None:
    bun = Formula.from_percents("Bun", {"bread flour": 100, "whole milk": 65})
    made = checked(exchange_flour(bun, "bread flour", "all-purpose flour", old_moisture="14 %", new_moisture="12 %"))
    assert made.percent("water") == pytest.approx(float(Fraction(165) * 88 / 86 - 165), abs=1e-12)
    with pytest.raises(ContradictionError) as caught:
        exchange_flour(bun, "bread flour", "all-purpose flour", old_moisture="12 %", new_moisture="14 %")
    assert str(caught.value).startswith("water: got 0 % - 3.75 % = -3.75 %, expected 0 % or more")
    back = exchange_flour(made, "all-purpose flour", "bread flour", old_moisture="12 %", new_moisture="14 %")
    assert checked(back).percents == near(bun.percents)
    assert "water" not in back.formula.percents
    same = checked(exchange_flour(bun, "bread flour", "spelt flour", old_moisture="14 %", new_moisture="14 %"))
    assert set(same.percents) == {"spelt flour", "whole milk"}, "no water where none is needed"


def test_a_final_dough_that_has_no_water_to_give() -> None:
    poolish = Stage("poolish", {"bread flour": 100, "water": 120}, flour="50 %")
    loaf = Formula.from_percents("Wet poolish", {"bread flour": 100, "water": 61}, stages=[poolish])
    with pytest.raises(
        ContradictionError, match="the poolish uses 50 % of the flour at 120 % water: 60 % of water, but"
    ):
        exchange_flour(loaf, "bread flour", "spelt flour", old_moisture="13 %", new_moisture="14 %")


def test_flour_changes_in_every_stage_and_keeps_it_its_size() -> None:
    larder = Catalogue().adding(Ingredient("bread flour", kind="flour", water_g=14.0))
    stages = [
        Stage("poolish", {"strong flour": 100, "water": 100, "fresh yeast": 0.2}, flour="30 %"),
        Stage("rye sour", {"rye": 60, "bread flour": 40, "water": 80}, takes=("rye", "100 %")),
        Stage("autolyse", {"bread flour": 100, "water": 60}, weight="32 %", base="bread flour"),
    ]
    loaf = Formula.from_percents(
        "Three", {"bread flour": 85, "rye": 15, "water": 78, "fresh yeast": 1}, stages=stages, catalogue=larder
    )
    made = checked(exchange_flour(loaf, "bread flour", "spelt flour", new_moisture="12 %"))
    for stage in ("poolish", "rye sour", "autolyse"):
        before, after = column(loaf, stage), column(made, stage)
        assert sum(after.values()) == pytest.approx(sum(before.values()), rel=1e-12)
        assert after["water"] == pytest.approx(before["water"], rel=1e-12), "the final dough takes the difference"
        assert after["spelt flour"] == pytest.approx(
            before.get("bread flour", before.get("strong flour", 0)), rel=1e-12
        )
    assert made.stages[2].base == ("spelt flour",)
    assert made.prefermented_flour == pytest.approx(loaf.prefermented_flour, rel=1e-12)
    back = checked(exchange_flour(made, "spelt flour", "bread flour", old_moisture="12 %"))
    assert back.percents == near(loaf.percents)


def test_a_share_of_the_flour_in_stages_too() -> None:
    loaf = Formula.from_percents(
        "Half",
        {"bread flour": 100, "water": 70},
        stages=[
            Stage("autolyse", {"bread flour": 100, "water": 60}, takes=("bread flour", "40 %"), base=["bread flour"]),
            Stage("poolish", {"bread flour": 100, "water": 100}, takes=("bread flour", "30 %")),
        ],
    )
    made = checked(exchange_flour(loaf, "bread flour", "spelt flour", share="50 %", new_moisture="13.36 %"))
    assert column(made, "autolyse") == near({"bread flour": 20, "spelt flour": 20, "water": 24})
    assert column(made, "poolish") == near({"bread flour": 15, "spelt flour": 15, "water": 30})
    assert made.stages[0].base == ("bread flour", "spelt flour")
    assert made.stages[0].taken_percent == 40
    assert made.percents == near({"bread flour": 50, "spelt flour": 50, "water": 70})


def test_a_stage_that_takes_all_of_the_old_flour_keeps_its_size() -> None:
    """With the wheat there is a hundred of it; the stage that took all the rye must not take all of that."""
    sour = Stage("sour", {"rye": 100, "water": 80}, takes=("rye", "100 %"))
    loaf = Formula.from_percents("Mixed", {"bread flour": 80, "rye": 20, "water": 70}, stages=[sour])
    made = checked(exchange_flour(loaf, "rye", "bread flour", old_moisture="14 %", new_moisture="14 %"))
    assert column(made, "sour") == near({"bread flour": 20, "water": 16})
    assert made.stages[0].taken == "bread flour"
    assert made.stages[0].taken_percent == pytest.approx(20)


@pytest.mark.parametrize("counted", ["returned", "line", "split"])
def test_a_culture_of_its_own_flour_changes_too(counted: str) -> None:
    culture = Culture(counted, {"bread flour": 100, "water": 125})
    levain = Stage("levain", {"bread flour": 100, "water": 110, "culture": 20}, weight="46 %", culture=culture, keep=10)
    loaf = Formula.from_percents("Levain", {"bread flour": 100, "water": 68, "salt": 2}, stages=[levain])
    made = checked(exchange_flour(loaf, "bread flour", "spelt flour", old_moisture="14 %", new_moisture="14 %"))
    assert "bread flour" not in made.percents
    assert column(made, "final") == {
        {"bread flour": "spelt flour"}.get(line, line): pytest.approx(percent, abs=1e-12)
        for line, percent in column(loaf, "final").items()
    }
    stage = made.stages[0]
    assert stage.culture == Culture(counted, {"spelt flour": 100, "water": 125})


def test_a_culture_like_its_levain_follows_the_exchange_of_yeast() -> None:
    levain = Stage(
        "levain", {"bread flour": 100, "water": 110, "fresh yeast": 1, "culture": 20}, flour="20 %", culture="split"
    )
    loaf = Formula.from_percents("Levain", {"bread flour": 100, "water": 68, "fresh yeast": 1}, stages=[levain])
    made = checked(exchange_yeast(loaf, "fresh yeast", "instant yeast"))
    before, after = column(loaf, "final"), column(made, "final")
    assert after["instant yeast"] == pytest.approx(0.33 * before["fresh yeast"], rel=1e-12)
    assert after["levain"] == pytest.approx(before["levain"], rel=1e-12)


def test_named_flours() -> None:
    loaf = Formula.from_percents(
        "Malt", {"bread flour": 95, "malt flour": 5, "water": 60, "rye": 3}, flours=["strong flour", "malt flour"]
    )
    made = checked(exchange_flour(loaf, "bread flour", "spelt flour", old_moisture="14 %", new_moisture="14 %"))
    assert set(made.flours) == {"spelt flour", "malt flour"}
    part = checked(
        exchange_flour(loaf, "bread flour", "spelt flour", share="10 %", old_moisture="14 %", new_moisture="14 %")
    )
    assert set(part.flours) == {"bread flour", "spelt flour", "malt flour"}
    assert part.percent("spelt flour") == pytest.approx(9.5)
    merged = checked(exchange_flour(loaf, "malt flour", "bread flour", old_moisture="14 %", new_moisture="14 %"))
    assert merged.flours == ("bread flour",)
    malted = checked(exchange_flour(loaf, "bread flour", "malt flour", share="10 %", new_moisture="8 %"))
    assert malted.percent("malt flour") == pytest.approx(14.5)
    with pytest.raises(FormulaError, match="rye stands outside the 100 %"):
        exchange_flour(loaf, "bread flour", "medium rye flour")
    with pytest.raises(FormulaError, match="old: got 'rye', expected a flour of the formula: bread flour, malt flour"):
        exchange_flour(loaf, "rye", "spelt flour", new_moisture="14 %")


def test_every_bad_argument_is_told_at_once() -> None:
    with pytest.raises(FormulaError) as caught:
        exchange_flour(
            PLAIN, "salt", "water", share="120 %", old_moisture="100 %", new_moisture="12", absorption="4"  # type: ignore[arg-type]
        )  # fmt: skip
    assert [fault.where for fault in caught.value.faults] == [
        "old", "new", "share", "old_moisture", "new_moisture", "absorption",
    ]  # fmt: skip
    with pytest.raises(FormulaError, match="new: got 'honey', expected a flour"):
        exchange_flour(PLAIN, "bread flour", "honey")
    with pytest.raises(FormulaError, match="share: got 0 %"):
        exchange_flour(PLAIN, "bread flour", "rye", share="0 %")
    for absorption in (True, float("nan"), float("inf")):
        with pytest.raises(FormulaError, match="percentage points as a bare number"):
            exchange_flour(PLAIN, "bread flour", "rye", absorption=absorption)


def test_a_moisture_that_nobody_knows_is_asked_for() -> None:
    with pytest.raises(FormulaError) as caught:
        exchange_flour(PLAIN, "bread flour", "spelt flour")
    assert str(caught.value) == (
        "new_moisture: got no moisture of spelt flour known, expected the flour's moisture; "
        'give new_moisture="13 %" from the mill\'s sheet'
    )
    spelt = Formula.from_percents("Spelt", {"spelt flour": 100, "water": 60})
    with pytest.raises(FormulaError) as both:
        exchange_flour(spelt, "spelt flour", "whole spelt flour")
    assert [fault.where for fault in both.value.faults] == ["old_moisture", "new_moisture"]


def test_the_working_tells_the_story() -> None:
    text = exchange_yeast(PLAIN, "fresh yeast", "instant yeast").working().text()
    assert "new_total = old_total + change_1 + change_2 + change_3" in text
    assert "ratio = f_new / f_old = 0.33 / 1 = 0.33" in text
    assert "new = old * ratio = 2 * 0.33 = 0.66 %" in text
    assert "water = old * (1 - ratio) = 2 * (1 - 0.33) = 1.34 %" in text


def test_an_exchange_is_a_value() -> None:
    one, other = (exchange_yeast(PLAIN, "fresh yeast", "instant yeast") for _ in range(2))
    assert one == other
    assert hash(one) == hash(other)
    assert pickle.loads(pickle.dumps(one)) == one  # noqa: S301 - our own bytes
    assert isinstance(one.changes, Lines)
    assert one.changes == near({"water": 1.34, "fresh yeast": -2, "instant yeast": 0.66})
