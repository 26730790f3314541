"""Stages: how large they are, what they stand on, how a culture is counted, and what is refused."""

import copy
import pickle
from collections.abc import Callable

import pytest

from formula.errors import ContradictionError, FormulaError, UnknownNameError
from formula.formula import Formula
from formula.lines import Lines
from formula.stage import Culture, Stage, percent_lines

FLOUR = {"bread flour": 100.0, "water": 55.0}
OVERALL = {"bread flour": 100, "water": 70, "salt": 2, "fresh yeast": 1}


def told(make: Callable[[], object]) -> str:
    with pytest.raises(FormulaError) as caught:
        make()
    return str(caught.value)


class TestSizes:
    """Each of the four ways, worked out by hand on 100 of flour."""

    def test_by_flour(self) -> None:
        bread = Formula.from_percents("x", OVERALL, stages=[Stage("biga", FLOUR, flour="40 %")])
        batch = bread.scale(flour="1 kg")
        assert batch.mass_g("bread flour", stage="biga") == pytest.approx(400)
        assert batch.mass_g("water", stage="biga") == pytest.approx(220)
        assert batch.mass_g("biga", stage="final") == pytest.approx(620)
        assert batch.mass_g("water", stage="final") == pytest.approx(480)

    def test_by_another_ingredient(self) -> None:
        soaker = Stage("soaker", {"flaxseed": 100, "water": 150}, takes=("linseed", "80 %"))
        bread = Formula.from_percents("x", {**OVERALL, "flaxseed": 10}, stages=[soaker])
        batch = bread.scale(flour="1 kg")
        assert batch.mass_g("flaxseed", stage="soaker") == pytest.approx(80)
        assert batch.mass_g("water", stage="soaker") == pytest.approx(120)
        assert batch.mass_g("flaxseed", stage="final") == pytest.approx(20)

    def test_by_its_weight_on_all_the_flour(self) -> None:
        bread = Formula.from_percents("x", OVERALL, stages=[Stage("biga", FLOUR, weight="31 %")])
        assert bread.scale(flour="1 kg").mass_g("bread flour", stage="biga") == pytest.approx(200)

    def test_by_its_weight_on_the_final_flour(self) -> None:
        # k of flour goes into the biga, 100 - k stay; 1.55 k = 0.31 (100 - k), so k = 31 / 1.86.
        bread = Formula.from_percents("x", OVERALL, stages=[Stage("biga", FLOUR, weight_on_final="31 %")])
        assert bread.scale(flour="1 kg").mass_g("bread flour", stage="biga") == pytest.approx(310 / 1.86)
        assert bread.final["biga"] == pytest.approx(31)

    def test_none_when_only_other_stages_use_it(self) -> None:
        levain = Stage("levain", {"bread flour": 100, "water": 100, "starter build": 20}, flour="10 %")
        build = Stage("starter build", {"bread flour": 100, "water": 100})
        bread = Formula.from_percents("x", OVERALL, stages=[levain, build])
        batch = bread.scale(flour="10 kg")
        # 10 % of all the flour is weighed straight into the levain, on which the build stands at 20 %.
        assert batch.mass_g("starter build", stage="levain") == pytest.approx(200)
        assert batch.mass_g("bread flour", stage="starter build") == pytest.approx(100)
        assert [stage.name for stage in batch.stages.values()] == ["starter build", "levain", "final"]

    def test_the_views(self) -> None:
        assert Stage("biga", FLOUR, flour="40 %").flour == Stage("biga", FLOUR, flour="400 ‰").flour
        by_weight = Stage("biga", FLOUR, weight="31 %")
        assert by_weight.weight is not None
        assert by_weight.weight.m_as("percent") == pytest.approx(31)
        on_final = Stage("biga", FLOUR, weight_on_final="31 %")
        assert on_final.weight_on_final is not None
        assert on_final.weight_on_final.m_as("percent") == pytest.approx(31)
        assert by_weight.flour is None
        assert by_weight.weight_on_final is None
        assert on_final.weight is None
        assert not Stage("biga", FLOUR).is_sized


class TestWhatLeaves:
    """What is kept for tomorrow, boiled off, or taken back out as ripe culture."""

    def test_kept(self) -> None:
        # 155 ripe, 15.5 kept: a tenth of everything stays, so 10 / 0.9 of the flour is weighed for 10 in the dough.
        sour = Stage("levain", FLOUR, flour="10 %", keep=15.5)
        batch = Formula.from_percents("x", OVERALL, stages=[sour]).scale(flour="9 kg")
        assert batch.mass_g("bread flour", stage="levain") == pytest.approx(1000)
        assert batch.stages["levain"].kept_g == pytest.approx(155)
        assert batch.mass_g("levain", stage="final") == pytest.approx(1395)
        assert batch.mass_g("levain") == pytest.approx(1550)

    def test_boiled_off(self) -> None:
        scald = Stage(
            "scald", {"rye meal": 100, "water": 200}, takes=("rye meal", "100 %"), boiled_off=20, base="rye meal"
        )
        overall = {"bread flour": 95, "medium rye flour": 5, "water": 70, "rye meal": 10}
        batch = Formula.from_percents("x", overall, stages=[scald], flours=["bread flour", "medium rye flour"]).scale(
            flour="1 kg"
        )
        assert batch.mass_g("water", stage="scald") == pytest.approx(200)
        assert batch.stages["scald"].boiled_off_g == pytest.approx(20)
        assert batch.mass_g("scald", stage="final") == pytest.approx(280)
        # The water that is gone is in no total: 180 of the scald and 520 of the final dough are the 700.
        assert batch.mass_g("water", stage="final") == pytest.approx(520)
        assert batch.mass_g("water") == pytest.approx(700)

    @pytest.mark.parametrize("counted", ["returned", "line", "split"])
    def test_a_culture_in_all_three_conventions(self, counted: str) -> None:
        levain = Stage("levain", {**FLOUR, "culture": 20}, flour="10 %", culture=counted)
        batch = Formula.from_percents("x", OVERALL, stages=[levain]).scale(flour="10 kg")
        final = batch.mass_g("levain", stage="final")
        if counted == "returned":
            assert batch.stages["levain"].returned_g == pytest.approx(200)
            assert final == pytest.approx(1550)
            assert "culture" not in batch.formula.percents
        elif counted == "line":
            assert final == pytest.approx(1750)
            assert batch.formula.percent("culture") == pytest.approx(2)
        else:
            # Counted as its own flour and water: 20 of 175 of the flour line stands for culture.
            assert final == pytest.approx(1750)
            assert batch.mass_g("bread flour") == pytest.approx(10_000)
            assert batch.mass_g("bread flour", stage="final") == pytest.approx(9000 - 200 / 1.55)

    def test_a_culture_of_another_formula(self) -> None:
        culture = Culture("split", {"bread flour": 100, "water": 25})
        levain = Stage("levain", {**FLOUR, "culture": 20}, flour="10 %", culture=culture)
        batch = Formula.from_percents("x", OVERALL, stages=[levain]).scale(flour="10 kg")
        assert batch.mass_g("bread flour", stage="final") == pytest.approx(9000 - 160)
        assert batch.mass_g("water", stage="final") == pytest.approx(7000 - 550 - 40)


class TestKind:
    @pytest.mark.parametrize(
        ("name", "kind", "expected"),
        [
            ("Rye soaker", "", "soaker"),
            ("scald", "", "scald"),
            ("long autolyse", "", "autolyse"),
            ("poolish", "", ""),
            ("scald", "preferment", "preferment"),
        ],
    )
    def test_the_name_tells_or_it_is_said(self, name: str, kind: str, expected: str) -> None:
        assert Stage(name, FLOUR, kind=kind).kind == expected

    def test_an_autolyse_ferments_nothing(self) -> None:
        still = Formula.from_percents("x", OVERALL, stages=[Stage("autolyse", FLOUR, flour="40 %")])
        alive = Formula.from_percents("x", OVERALL, stages=[Stage("biga", FLOUR, flour="40 %")])
        assert still.prefermented_flour_percent == 0
        assert alive.prefermented_flour_percent == pytest.approx(40)


class TestAValue:
    def test_hash_pickle_and_copy(self) -> None:
        stage = Stage("biga", FLOUR, flour="40 %", culture=Culture("split", {"bread flour": 100, "water": 50}))
        same = Stage("biga", dict(reversed(FLOUR.items())), flour="400 ‰", culture=stage.culture)
        assert stage == same
        assert hash(stage) == hash(same)
        assert pickle.loads(pickle.dumps(stage)) == stage  # noqa: S301 - our own pickle
        assert copy.deepcopy(stage) == stage
        assert stage.changed(flour_percent=50.0) != stage

    def test_weights_are_told_from_percentages(self) -> None:
        assert percent_lines({"water": "1 kg"}, "x") == (Lines({"water": 1000.0}), True)
        assert percent_lines({"water": 70}, "x") == (Lines({"water": 70.0}), False)


class TestRefused:
    """Every refusal names the stage, what came and what is expected; several come together."""

    def test_all_at_once(self) -> None:
        def make() -> object:
            return Stage(
                "p",
                {"bread flour": float("nan"), "water": -1, "salt": True, "": 5},
                flour="0.5",
                weight="10 %",
                kind="levain",
                culture="taken",
                keep=-1,
                boiled_off=float("inf"),
            )

        text = told(make)
        for part in (
            "10 faults", "bread flour: got nan", "water: got -1", "salt: got True", "got ''", "flour: got '0.5'",
            "flour and weight together", "kind: got 'levain'", "keep: got -1", "boiled_off: got inf", "got 'taken'",
        ):  # fmt: skip
            assert part in text, part

    @pytest.mark.parametrize("number", [10**400, 1e13, float("inf"), None, [70]])
    def test_a_number_that_is_none(self, number: object) -> None:
        assert "water" in told(lambda: Stage("p", {"bread flour": 100, "water": number}))  # type: ignore[arg-type]

    def test_names(self) -> None:
        assert "'final', expected another name" in told(lambda: Stage("final", FLOUR))
        assert "a name" in told(lambda: Stage("  ", FLOUR))
        assert "a name" in told(lambda: Stage(None, FLOUR))  # type: ignore[arg-type]

    def test_lines(self) -> None:
        assert "at least one ingredient" in told(lambda: Stage("p", {}))
        assert "type list" in told(lambda: Stage("p", ["bread flour"]))  # type: ignore[arg-type]
        mixed = {"bread flour": 100, "water": "55 g"}
        assert "weights beside bare numbers (bread flour)" in told(lambda: Stage("p", mixed))  # type: ignore[arg-type]
        assert "decimal point" in told(lambda: Stage("p", {"bread flour": "1,5 kg"}))

    @pytest.mark.parametrize("takes", ["flaxseed", ("flaxseed",), ("flaxseed", "1 %", "2 %"), 5])
    def test_takes_that_is_no_pair(self, takes: object) -> None:
        assert "an ingredient and its share" in told(lambda: Stage("p", FLOUR, takes=takes))  # type: ignore[arg-type]

    @pytest.mark.parametrize("culture", ["", "x", 5, True])
    def test_a_convention_that_is_none(self, culture: object) -> None:
        assert "one of returned, line, split" in told(lambda: Stage("p", FLOUR, culture=culture))  # type: ignore[arg-type]

    @pytest.mark.parametrize(
        ("stage", "text"),
        [
            (Stage("p", {"bread flour": 60, "water": 40}, flour="10 %"), "a base of 100"),
            (Stage("p", {"bread flour": 1, "water": 0.6}, flour="10 %"), "look like fractions"),
            (Stage("p", {"water": 100, "salt": 5}, weight="10 %"), "no flour, grain or seed"),
            (Stage("p", {"bread flour": "0 g", "water": "10 g"}, flour="10 %"), "0 of bread flour"),
            (Stage("p", {**FLOUR, "culture": 10}, flour="10 %"), "the way it is counted"),
            (Stage("p", {**FLOUR, "culture": 10, "rye culture": 5}, flour="10 %", culture="line"), "2 lines of ripe"),
            (Stage("p", {**FLOUR, "culture": 10}, flour="10 %", culture=Culture("split", {"water": 0})), "of nothing"),
            (Stage("p", FLOUR, flour="10 %", base="flaxseed"), "p: base: got 'flaxseed'"),
            (Stage("p", FLOUR), "no size"),
            (Stage("soaker", {"flaxseed": 100, "water": 100}, flour="10 %"), "a stage with flour"),
            (Stage("p", FLOUR, takes=("salt", "10 %")), "of both the formula and the stage"),
            (Stage("p", FLOUR, takes=("saltt", "10 %")), "of both the formula and the stage"),
            (Stage("p", {**FLOUR, "strong flour": 0}, flour="10 %"), "each ingredient once"),
        ],
    )
    def test_a_stage_in_a_formula(self, stage: Stage, text: str) -> None:
        found = told(lambda: Formula.from_percents("x", {**OVERALL, "flaxseed": 5}, stages=[stage]))
        assert text in found
        assert f"stage {stage.name}" in found

    def test_names_that_nobody_knows(self) -> None:
        with pytest.raises(UnknownNameError, match=r"stage p: ingredient: got 'flower'.*bread flour"):
            Formula.from_percents("x", OVERALL, stages=[Stage("p", {"flower": 100}, flour="10 %")])

    @pytest.mark.parametrize(
        ("stages", "text"),
        [
            ([Stage("p", FLOUR, flour="100.00001 %")], "100 % of bread flour, but the formula has 100 %"),
            ([Stage("p", FLOUR, flour="150 %")], "150 % of bread flour, but the formula has 100 %"),
            (
                [Stage("p", FLOUR, flour="60 %"), Stage("q", FLOUR, flour="60 %")],
                "the q uses 60 %.*and the p uses 60 %",
            ),
            ([Stage("p", {**FLOUR, "q": 5}, flour="10 %"), Stage("q", {**FLOUR, "p": 5})], "p -> q -> p"),
            ([Stage("p", {**FLOUR, "p": 5}, flour="10 %")], "p -> p"),
            ([Stage("p", FLOUR, flour="10 %", keep=155)], "155 % kept back, expected less than the 155 %"),
            ([Stage("scald", FLOUR, flour="10 %", boiled_off=55.5)], "55.5 % boiled off"),
            ([Stage("p", {**FLOUR, "q": 50}, flour="10 %"), Stage("q", FLOUR, weight="1 %")], "more taken by other"),
        ],
    )
    def test_what_contradicts_itself(self, stages: list[Stage], text: str) -> None:
        with pytest.raises(ContradictionError, match=text):
            Formula.from_percents("x", OVERALL, stages=stages)

    def test_two_stages_of_a_name_and_a_name_that_is_taken(self) -> None:
        twice = [Stage("p", FLOUR, flour="10 %"), Stage("p", FLOUR, flour="10 %")]
        assert "two stages of this name" in told(lambda: Formula.from_percents("x", OVERALL, stages=twice))
        butter = [Stage("butter", FLOUR, flour="10 %")]
        assert Formula.from_percents("x", OVERALL, stages=butter).stages
        rich = {**OVERALL, "unsalted butter": 5}
        assert "a name of its own" in told(lambda: Formula.from_percents("x", rich, stages=butter))
        water = [Stage("water", FLOUR, flour="10 %")]
        assert "water: got a stage" in told(lambda: Formula.from_percents("x", OVERALL, stages=water))
        flour = [Stage("strong flour", FLOUR, flour="10 %")]
        assert "a name of its own" in told(lambda: Formula.from_percents("x", OVERALL, stages=flour))

    def test_a_final_dough_that_does_not_use_a_stage(self) -> None:
        assert "no use of it" in told(lambda: Formula.from_stages("x", FLOUR, {"poolish": FLOUR}))
        sized = [Stage("poolish", FLOUR, flour="10 %")]
        assert "no size" in told(lambda: Formula.from_stages("x", {**FLOUR, "poolish": 5}, sized))
