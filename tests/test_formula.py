"""The formula: its three ways in, what follows from it, and what is refused."""

import copy
import pickle
from collections.abc import Callable
from typing import Any

import pint
import pytest

from formula.catalogue import Catalogue
from formula.errors import ContradictionError, FormulaError, UnknownNameError
from formula.formula import Formula
from formula.ingredient import Ingredient
from formula.losses import Losses
from formula.stage import Culture, Stage
from tests.arithmetic import check_working

OVERALL = {"bread flour": 90, "whole wheat flour": 10, "water": 70, "salt": 2, "fresh yeast": 0.8}
BIGA = Stage("biga", {"bread flour": 100, "water": 55, "fresh yeast": 0.2}, flour="40 %")
BREAD = Formula.from_percents("Biga loaf", OVERALL, stages=[BIGA])


def told(make: Callable[[], object]) -> str:
    with pytest.raises(FormulaError) as caught:
        make()
    return str(caught.value)


class TestFromPercents:
    def test_percentages(self) -> None:
        assert BREAD.percent("water") == 70
        assert BREAD.percent("strong flour") == 90
        assert BREAD.total_percent == pytest.approx(172.8)
        assert BREAD.true_percent("salt") == pytest.approx(100 * 2 / 172.8)
        assert BREAD.true_percents["water"] == pytest.approx(100 * 70 / 172.8)
        assert BREAD.flours == ("bread flour", "whole wheat flour")
        assert BREAD.prefermented_flour_percent == pytest.approx(40)

    def test_the_final_dough_on_its_own_flour(self) -> None:
        # 60 of flour stay: 48 of water, 2 of salt, 0.72 of yeast and 62.08 of biga.
        final = {"bread flour": 50, "whole wheat flour": 10, "water": 48, "salt": 2, "fresh yeast": 0.72, "biga": 62.08}
        assert dict(BREAD.final) == pytest.approx({name: amount / 0.6 for name, amount in final.items()})
        assert list(BREAD.final) == list(final)

    def test_all_the_flour_in_a_stage(self) -> None:
        all_in = Stage("biga", {"bread flour": 100, "water": 55}, flour="100 %")
        bread = Formula.from_percents("x", {"bread flour": 100, "water": 70, "salt": 2}, stages=[all_in])
        assert "all the flour in stages" in told(lambda: bread.final)
        batch = bread.scale(flour="10 kg")
        assert {row.name: row.mass_g for row in batch.final.rows} == pytest.approx(
            {"water": 1500, "salt": 200, "biga": 15500}
        )

    def test_the_flours_can_be_named(self) -> None:
        lines = {"bread flour": 80, "cornmeal": 20, "water": 70}
        bread = Formula.from_percents("x", lines, flours=["bread flour", "cornmeal"])
        assert bread.flours == ("bread flour", "cornmeal")
        assert bread.scale(flour="1 kg").mass_g("water") == pytest.approx(700)
        assert Formula.from_percents("x", {"bread flour": 100, "cornmeal": 20}, flours="bread flour").flours == (
            "bread flour",
        )
        assert "= 80, expected flours that sum to 100" in told(lambda: Formula.from_percents("x", lines))

    def test_facts(self) -> None:
        bread = Formula.from_percents(
            "x",
            OVERALL,
            losses=Losses(bake="11 %"),
            dough_temperature="77 °F",
            toppings={"sesame seeds": "6 g"},
            reject="0.5 %",
            later={"water": 5},
        )
        assert bread.dough_temperature_c == 25
        assert bread.dough_temperature is not None
        assert bread.dough_temperature.m_as("degC") == pytest.approx(25)
        assert bread.reject.m_as("percent") == pytest.approx(0.5)
        assert dict(bread.toppings_g) == {"sesame seeds": 6}
        assert dict(bread.later) == {"water": 5}
        assert bread.losses.left == pytest.approx(0.89)
        assert BREAD.dough_temperature is None
        assert BREAD.losses.is_none

    def test_quantities_of_any_registry(self) -> None:
        registry: pint.UnitRegistry[float] = pint.UnitRegistry()
        bread = Formula.from_percents("x", OVERALL, dough_temperature=registry.Quantity(77, "degF"))
        assert bread == Formula.from_percents("x", OVERALL, dough_temperature="25 °C")

    def test_a_bakery_s_own_ingredient(self) -> None:
        larder = Catalogue().adding(Ingredient("harbour mix", kind="flour"))
        bread = Formula.from_percents("x", {"harbour mix": 100, "water": 70}, catalogue=larder)
        assert bread.flours == ("harbour mix",)


class TestFromWeights:
    def test_percentages(self) -> None:
        loaf = Formula.from_weights("x", {"bread flour": "1 lb 8 oz", "water": "1 lb", "salt": "0.5 oz"})
        assert loaf.percent("water") == pytest.approx(100 * 16 / 24)
        assert loaf.percent("salt") == pytest.approx(100 * 0.5 / 24)

    def test_stages_in_weights_on_the_same_footing(self) -> None:
        biga = Stage("biga", {"bread flour": "400 g", "water": "220 g"})
        loaf = Formula.from_weights("x", {"bread flour": "1 kg", "water": "700 g", "salt": "20 g"}, stages=[biga])
        assert loaf.prefermented_flour_percent == pytest.approx(40)
        assert loaf.stages[0].flour_percent == pytest.approx(40)
        batch = loaf.scale(flour="10 kg")
        assert batch.mass_g("water", stage="final") == pytest.approx(4800)

    def test_a_soaker_in_weights_has_a_weight(self) -> None:
        soaker = Stage("soaker", {"flaxseed": "80 g", "water": "120 g"})
        lines = {"bread flour": "1 kg", "water": "700 g", "flaxseed": "100 g"}
        loaf = Formula.from_weights("x", lines, stages=[soaker])
        assert loaf.stages[0].weight_percent == pytest.approx(20)
        assert loaf.final["flaxseed"] == pytest.approx(2)

    def test_stages_in_percentages(self) -> None:
        loaf = Formula.from_weights("x", {"bread flour": "1 kg", "water": "700 g", "fresh yeast": "5 g"}, stages=[BIGA])
        assert loaf.prefermented_flour_percent == pytest.approx(40)


class TestFromStages:
    def test_gathering(self) -> None:
        # 90 of poolish are 45 of flour and 45 of water: 145 of flour, 100 of water.
        loaf = Formula.from_stages(
            "x",
            final={"bread flour": 100, "water": 55, "poolish": 90},
            stages={"poolish": {"bread flour": 100, "water": 100}},
        )
        assert loaf.percent("water") == pytest.approx(100 * 100 / 145)
        assert loaf.prefermented_flour_percent == pytest.approx(100 * 45 / 145)
        assert loaf.final["poolish"] == pytest.approx(90)

    def test_in_weights_every_list_on_its_own(self) -> None:
        final = {"bread flour": "10 kg", "water": "5.5 kg", "poolish": "9 kg"}
        loaf = Formula.from_stages("x", final, {"poolish": {"bread flour": "1 lb", "water": "1 lb"}})
        assert loaf.percent("water") == pytest.approx(100 * 10 / 14.5)

    def test_a_line_that_is_nowhere_else(self) -> None:
        loaf = Formula.from_stages("x", {"bread flour": 100, "soaker": 50}, {"soaker": {"flaxseed": 100, "water": 150}})
        assert dict(loaf.percents) == pytest.approx({"bread flour": 100, "flaxseed": 20, "water": 30})

    def test_all_the_flour_in_the_stage(self) -> None:
        final = {"water": "10 g", "salt": "2 g", "sponge": "150 g"}
        loaf = Formula.from_stages("x", final, {"sponge": {"bread flour": 100, "water": 50}})
        assert loaf.percent("water") == pytest.approx(60)


class TestHydration:
    BUN = Formula.from_percents("x", {"bread flour": 100, "water": 25, "whole milk": 40, "egg": 10, "salt": 2})

    def test_three_ways(self) -> None:
        larder = self.BUN.catalogue
        milk, egg = larder.find("whole milk").water_g, larder.find("egg").water_g
        assert milk is not None
        assert egg is not None
        assert self.BUN.hydration() == 25
        assert self.BUN.hydration("liquid") == 75
        salt = larder.find("salt").water_g
        assert salt is not None
        assert self.BUN.hydration("content") == pytest.approx(25 + 0.4 * milk + 0.1 * egg + 0.02 * salt)

    def test_what_cannot_be_told(self) -> None:
        assert "one of added, liquid, content" in told(lambda: self.BUN.hydration("baker"))
        larder = Catalogue().adding(Ingredient("harbour syrup", kind="sugar"))
        lines = {"bread flour": 100, "water": 60, "harbour syrup": 5}
        syrupy = Formula.from_percents("x", lines, catalogue=larder)
        assert syrupy.hydration() == 60
        assert "no water content for harbour syrup" in told(lambda: syrupy.hydration("content"))


class TestAValue:
    def test_order_does_not_matter_but_is_kept(self) -> None:
        other = Formula.from_percents("Biga loaf", dict(reversed(OVERALL.items())), stages=[BIGA])
        assert other == BREAD
        assert hash(other) == hash(BREAD)
        assert list(BREAD.percents) == list(OVERALL)
        assert list(other.percents) == list(reversed(OVERALL))

    def test_pickle_and_copy(self) -> None:
        assert BREAD.table is not None
        again = pickle.loads(pickle.dumps(BREAD))  # noqa: S301 - our own pickle
        assert again == BREAD
        assert again.scale(dough="1 kg") == BREAD.scale(dough="1 kg")
        assert copy.deepcopy(BREAD) == BREAD

    def test_nothing_can_be_set(self) -> None:
        with pytest.raises(AttributeError):
            BREAD.name = "Another"  # type: ignore[misc]

    def test_as_text(self) -> None:
        assert str(BREAD).splitlines()[0] == "Biga loaf"
        assert str(BREAD).splitlines()[-1].split() == ["total", "172.8", "%"]
        assert len(str(BREAD).splitlines()) == 7

    def test_working(self) -> None:
        check_working(BREAD.working(), BREAD.total_percent)


class TestRefused:
    @pytest.mark.parametrize(
        ("lines", "text"),
        [
            ({}, "no lines"),
            ({"bread flour": 90, "water": 70}, "bread flour 90 = 90, expected flours that sum to 100"),
            ({"bread flour": 80, "whole wheat flour": 25, "water": 70}, "bread flour 80 + whole wheat flour 25 = 105"),
            ({"bread flour": 1, "water": 0.7}, "look like fractions"),
            ({"bread flour": 0, "water": 70}, "no flour among bread flour, water"),
            ({"water": 100, "salt": 2}, "no flour among water, salt"),
            ({"bread flour": 100, "water": -70}, "water: got -70"),
            ({"bread flour": 100, "water": float("nan")}, "water: got nan"),
            ({"bread flour": 100, "water": float("inf")}, "water: got inf"),
            ({"bread flour": 100, "water": True}, "water: got True"),
            ({"bread flour": "1 kg", "water": "700 g"}, "use from_weights"),
            ({"bread flour": 100, "strong flour": 0}, "each ingredient once"),
            ({"bread flour": 100.00001}, "100.00001"),
        ],
    )
    def test_percentages(self, lines: dict[str, float], text: str) -> None:
        assert text in told(lambda: Formula.from_percents("x", lines))

    def test_several_at_once(self) -> None:
        lines = {"bread flour": 100, "water": -1, "salt": float("nan"), "egg": None}
        text = told(lambda: Formula.from_percents("x", lines))  # type: ignore[arg-type]
        assert text.startswith("3 faults")
        with pytest.raises(UnknownNameError, match=r"(?s)watter.*sallt"):
            Formula.from_percents("x", {"bread flour": 100, "watter": 70, "sallt": 2})

    @pytest.mark.parametrize("name", ["", "  ", None, 5])
    def test_names(self, name: str) -> None:
        assert "the bread's name as text" in told(lambda: Formula.from_percents(name, OVERALL))

    def test_weights(self) -> None:
        assert "use from_percents" in told(lambda: Formula.from_weights("x", {"bread flour": 10}))  # type: ignore[dict-item]
        assert "no flour" in told(lambda: Formula.from_weights("x", {"bread flour": "0 g", "water": "1 g"}))
        assert "decimal point" in told(lambda: Formula.from_weights("x", {"bread flour": "1,5 kg"}))

    def test_stages(self) -> None:
        poolish = {"poolish": {"bread flour": 100, "water": 100}}
        final = {"bread flour": 90, "poolish": 90}
        assert "flours that sum to 100" in told(lambda: Formula.from_stages("x", final, poolish))
        seedy = {"soaker": {"flaxseed": 100, "water": 150}}
        final_g = {"water": "1 g", "soaker": "9 g"}
        assert "no flour" in told(lambda: Formula.from_stages("x", final_g, seedy))

    def test_an_overall_formula_that_lists_a_stage(self) -> None:
        lines = {**OVERALL, "biga": 60}
        with pytest.raises(FormulaError):
            Formula.from_percents("x", lines, stages=[BIGA])

    def test_facts(self) -> None:
        bare: dict[str, Any] = {"flaxseed": 5}

        def make() -> object:
            return Formula.from_percents(
                "x", OVERALL, dough_temperature="25", reject="100 %", toppings=bare, later={"water": 80}
            )

        text = told(make)
        for part in ("4 faults", "dough_temperature: got '25'", "reject", "weights per piece", "80 % of water added"):
            assert part in text, part
        assert "weights" in told(lambda: Formula.from_percents("x", OVERALL, later={"water": "5 g"}))  # type: ignore[dict-item]
        text = told(lambda: Formula.from_percents("x", OVERALL, toppings={"flaxseed": "much"}, later={"water": -5}))
        for part in ("2 faults", "toppings: flaxseed: got 'much'", "later: water: got -5"):
            assert part in text, part
        with pytest.raises(UnknownNameError, match="toppings"):
            Formula.from_percents("x", OVERALL, toppings={"seedz": "5 g"})

    def test_lines_that_are_not_there(self) -> None:
        for ask in (BREAD.percent, BREAD.true_percent, BREAD.line):
            for name in ("milk", "no such thing"):
                with pytest.raises(UnknownNameError, match="one of its lines: bread flour"):
                    ask(name)

    def test_more_than_there_is(self) -> None:
        wet = Stage("wet", {"bread flour": 100, "water": 200}, flour="40 %")
        with pytest.raises(ContradictionError, match=r"40 % of the flour at 200 % water: 80 % of water.*70 %"):
            Formula.from_percents("x", OVERALL, stages=[wet])
        split = Stage(
            "levain", {"bread flour": 100, "water": 50, "culture": 900}, flour="20 %", culture=Culture("split")
        )
        with pytest.raises(ContradictionError, match="bread flour"):
            Formula.from_percents("x", OVERALL, stages=[split])


def test_a_final_dough_with_hardly_any_flour_of_its_own() -> None:
    loaf = Formula.from_percents(
        "Sponge",
        {"bread flour": 100, "water": 60},
        stages=[Stage("sponge", {"bread flour": 100, "water": 60}, flour="99.5 %")],
    )
    # 99.5 of flour and 59.7 of water, on half a percent of flour.
    assert loaf.final["sponge"] == pytest.approx(159.2 / 0.5 * 100)
