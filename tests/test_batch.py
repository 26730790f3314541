"""The batch: its four sizes, what is asked of it, rounding to the scale, and how it shows its sums."""

import copy
import pickle
from collections.abc import Callable
from typing import Any

import pint
import pytest

from formula.batch import Batch
from formula.errors import FormulaError, QuantityError, UnknownNameError
from formula.formula import Formula
from formula.losses import Losses
from formula.quantity import MASS, read
from formula.rounding import apportioned
from formula.stage import Stage
from tests.arithmetic import check_working

LINES = {"bread flour": 100, "water": 70, "salt": 2, "fresh yeast": 0.8}
LOSSES = Losses(handling="2 %", bulk="1 %", ferment="1 %", bake="11 %", cool="1 %")
PLAIN = Formula.from_percents("Loaf", LINES, losses=LOSSES)
BIGA = Stage("biga", {"bread flour": 100, "water": 55, "fresh yeast": 0.2}, flour="40 %")
STAGED = Formula.from_percents("Biga loaf", LINES, stages=[BIGA])
SOUR = Formula.from_percents(
    "Sour",
    {"medium rye flour": 50, "bread flour": 50, "water": 72, "salt": 2},
    stages=[Stage("sour", {"medium rye flour": 100, "water": 80, "culture": 9}, flour="30 %", culture="returned")],
)
DEEP = Formula.from_stages(
    "Deep",
    {"bread flour": "700 g", "water": "400 g", "salt": "20 g", "levain": "301 g", "build": "57 g"},
    [
        Stage("levain", {"bread flour": 100, "water": 60, "build": 33}, keep=12),
        Stage("build", {"whole wheat flour": 100, "water": 90, "culture": 11}, culture="split"),
    ],
)


def told(make: Callable[[], object]) -> str:
    with pytest.raises(FormulaError) as caught:
        make()
    return str(caught.value)


class TestSizes:
    def test_by_dough(self) -> None:
        batch = PLAIN.scale(dough="172.8 kg")
        assert [row.mass_g for row in batch.rows] == pytest.approx([100_000, 70_000, 2_000, 800])
        assert batch.dough_g == pytest.approx(172_800)
        assert (batch.asked, batch.asked_g) == ("dough", 172_800)

    def test_by_flour(self) -> None:
        batch = PLAIN.scale(flour="50 lb")
        assert batch.flour_g == pytest.approx(50 * 453.59237)
        assert batch.mass_g("water") == pytest.approx(35 * 453.59237)

    def test_by_pieces_on_the_divider_s_scale(self) -> None:
        # 47 pieces of 1.25 kg are what 0.98 x 0.99 of the dough leave.
        batch = PLAIN.scale(pieces=47, piece="1.25 kg")
        assert batch.dough_g == pytest.approx(58_750 / (0.98 * 0.99))
        assert (batch.pieces, batch.piece_g, batch.baked_g) == (47, 1250, 0)
        assert STAGED.scale(pieces=47, piece="1.25 kg").dough_g == pytest.approx(58_750)

    def test_by_baked_weight(self) -> None:
        batch = PLAIN.scale(pieces=600, baked="800 g")
        assert batch.piece_g == pytest.approx(800 / (0.99 * 0.89 * 0.99))
        assert batch.dough_g == pytest.approx(600 * 800 / (0.98 * 0.99 * 0.99 * 0.89 * 0.99))
        assert batch.baked_g == 800

    def test_losses_said_win_over_the_formula_s(self) -> None:
        assert PLAIN.scale(pieces=10, baked="800 g", losses=Losses(bake="20 %")).dough_g == pytest.approx(10_000)
        assert PLAIN.scale(pieces=10, baked="800 g", losses=Losses()).dough_g == pytest.approx(8_000)

    def test_by_what_is_at_hand_the_scarcest_sets_it(self) -> None:
        batch = PLAIN.scale(using={"water": "70 kg", "fresh yeast": "400 g"})
        assert batch.flour_g == pytest.approx(50_000)
        assert batch.asked == "using fresh yeast"
        assert PLAIN.scale(using={"baker's yeast": "400 g"}).flour_g == pytest.approx(50_000)

    def test_text_and_quantities_give_equal_batches(self) -> None:
        registry: pint.UnitRegistry[float] = pint.UnitRegistry()
        asked: tuple[Any, ...] = ("93 kg", "93000 g", "0.093 t", registry.Quantity(93.0, "kg"))
        assert len({PLAIN.scale(dough=dough) for dough in asked}) == 1

    def test_the_views(self) -> None:
        batch = PLAIN.scale(pieces=10, baked="800 g")
        for view, grams in (
            (batch.dough, batch.dough_g),
            (batch.flour, batch.flour_g),
            (batch.piece, batch.piece_g),
            (batch.baked, batch.baked_g),
            (batch.mass("water"), batch.mass_g("water")),
            (batch.rows[0].mass, batch.rows[0].mass_g),
            (batch.final.total, batch.final.total_g),
            (batch.final.handed_on, batch.final.handed_on_g),
        ):
            assert view.m_as("g") == pytest.approx(grams, rel=1e-12)


class TestLookingUp:
    BATCH = STAGED.scale(flour="10 kg")

    def test_an_ingredient_in_all_or_in_one_stage(self) -> None:
        assert self.BATCH.mass_g("water") == pytest.approx(7_000)
        assert self.BATCH.mass_g("water", stage="biga") == pytest.approx(2_200)
        assert self.BATCH.mass_g("strong flour", stage="biga") == pytest.approx(4_000)
        assert self.BATCH.mass_g("compressed yeast") == pytest.approx(80)

    def test_a_stage_whole_and_in_the_final_dough(self) -> None:
        assert self.BATCH.mass_g("biga") == pytest.approx(6_208)
        assert self.BATCH.mass_g("biga", stage="final") == pytest.approx(6_208)
        assert self.BATCH.final.total_g == self.BATCH.dough_g
        sour = SOUR.scale(flour="10 kg")
        assert sour.mass_g("sour") == pytest.approx(5_670)
        assert sour.mass_g("sour", stage="final") == pytest.approx(5_400)

    def test_rows(self) -> None:
        assert [row.name for row in self.BATCH.rows] == list(LINES)
        assert [row.percent for row in self.BATCH.rows] == list(LINES.values())
        assert list(self.BATCH.stages) == ["biga", "final"]
        assert [row.name for row in self.BATCH.final.rows] == ["bread flour", "water", "salt", "fresh yeast", "biga"]

    def test_what_is_not_there(self) -> None:
        for name, stage in (("milk", None), ("final", None), ("salt", "biga"), ("biga", "biga"), ("mikl", "final")):
            with pytest.raises(UnknownNameError, match="one of its lines: bread flour"):
                self.BATCH.mass_g(name, stage=stage)
        with pytest.raises(UnknownNameError, match="one of biga, final"):
            self.BATCH.mass("water", stage="poolish")


class TestLateAdditions:
    def test_what_is_held_back(self) -> None:
        bread = Formula.from_percents("x", {**LINES, "raisins": 20}, later={"water": 5, "raisins": 20})
        batch = bread.scale(flour="10 kg")
        assert {row.name: row.mass_g for row in batch.later} == pytest.approx({"water": 500, "raisins": 2000})
        assert batch.plain_dough_g == pytest.approx(batch.dough_g - 2500)
        assert PLAIN.scale(flour="10 kg").later == ()


class TestRefused:
    @pytest.mark.parametrize(
        ("asked", "text"),
        [
            ({}, "got nothing, expected one of dough=, flour=, pieces=, using="),
            ({"dough": "1 kg", "flour": "1 kg"}, "got dough and flour"),
            ({"pieces": 5, "piece": "1 kg", "dough": "1 kg"}, "got dough and pieces"),
            ({"dough": "1 kg", "piece": "1 kg"}, "without pieces"),
            ({"flour": "1 kg", "baked": "1 kg"}, "without pieces"),
            ({"dough": "1 kg", "losses": Losses()}, "without pieces"),
            ({"dough": "0 g"}, "dough: got 0 g"),
            ({"flour": "0 lb"}, "flour: got 0 g"),
            ({"dough": "-1 kg"}, "less than zero"),
            ({"flour": "inf kg"}, "finite"),
            ({"dough": "nan g"}, "finite"),
            ({"dough": "1,5 kg"}, "decimal point"),
            ({"dough": "25 °C"}, "°C is a unit of a temperature"),
            ({"dough": 93}, "bare number 93"),
            ({"flour": 93}, "bare number 93"),
            ({"pieces": 0, "piece": "1 kg"}, "pieces: got 0"),
            ({"pieces": -5, "piece": "1 kg"}, "pieces: got -5"),
            ({"pieces": 5.0, "piece": "1 kg"}, "pieces: got 5.0"),
            ({"pieces": True, "piece": "1 kg"}, "pieces: got True"),
            ({"pieces": 5}, "neither a piece weight nor a baked weight"),
            ({"pieces": 5, "piece": "1 kg", "baked": "1 kg"}, "a piece weight and a baked weight"),
            ({"pieces": 5, "piece": "0 g"}, "piece: got 0 g"),
            ({"pieces": 5, "baked": "0 g"}, "baked: got 0 g"),
            ({"pieces": 5, "baked": "x"}, "baked: got 'x'"),
            ({"using": {}}, "using: got nothing"),
            ({"using": {"milk": "1 kg"}}, "got 'milk', expected one of its lines"),
            ({"using": {"salt": "0 g"}}, "0 g at 2 %"),
        ],
    )
    def test_one(self, asked: dict[str, Any], text: str) -> None:
        assert text in told(lambda: PLAIN.scale(**asked))

    def test_several_at_once(self) -> None:
        assert told(lambda: PLAIN.scale(pieces=0, baked="-1 g")).startswith("2 faults")
        many = {"milk": "1 kg", "salt": "0 g", "water": "1,5 kg"}
        assert told(lambda: PLAIN.scale(using=many)).startswith("3 faults")

    def test_what_cannot_be_read_is_a_quantity_error(self) -> None:
        with pytest.raises(QuantityError):
            PLAIN.scale(dough="93,5 kg")

    def test_a_line_of_nothing_cannot_set_the_batch(self) -> None:
        bread = Formula.from_percents("x", {**LINES, "milk": 0})
        assert "1000 g at 0 %" in told(lambda: bread.scale(using={"milk": "1 kg"}))


class TestRounding:
    def test_by_hand(self) -> None:
        # 1 kg / 1.728: 578.7, 405.1, 11.6 and 4.6 g; in steps of 5 g salt and yeast go to their nearest, and one of the
        # two missing steps is left, for the water has a rest of 0.09 and the flour one of 3.7.
        rounded = PLAIN.scale(dough="1 kg").rounded("5 g")
        assert [row.mass_g for row in rounded.rows] == [580, 405, 10, 5]
        assert rounded.dough_g == 1000

    def test_a_finer_scale_for_the_yeast(self) -> None:
        rounded = PLAIN.scale(dough="1 kg").rounded({"default": "5 g", "baker's yeast": "0.1 g", "salt": "1 g"})
        assert [row.mass_g for row in rounded.rows] == [580, 405, 12, 4.6]

    def test_quantities(self) -> None:
        step = read(MASS, "5 g", "step")
        registry: pint.UnitRegistry[float] = pint.UnitRegistry()
        assert PLAIN.scale(dough="1 kg").rounded(registry.Quantity(step, "g")) == PLAIN.scale(dough="1 kg").rounded(
            "5 g"
        )

    def test_the_final_dough_makes_up_for_its_stages(self) -> None:
        # All the flour 1020 and the water 714 g; the biga takes 408 and 224.4 g and 0.8 of yeast in steps of 10 g.
        rounded = STAGED.scale(flour="1020 g").rounded("10 g")
        assert {row.name: row.mass_g for row in rounded.stages["biga"].rows} == {
            "bread flour": 410, "water": 220, "fresh yeast": 0,
        }  # fmt: skip
        final = {row.name: row.mass_g for row in rounded.final.rows}
        assert final["biga"] == 630
        assert final["bread flour"] == 610
        assert final["water"] == 490
        assert rounded.mass_g("bread flour") == 1020
        assert rounded.dough_g == pytest.approx(1760)

    def test_modes(self) -> None:
        batch = PLAIN.scale(dough="1 kg")
        assert [row.mass_g for row in batch.rounded("5 g", mode="up").rows] == [580, 410, 15, 5]
        assert [row.mass_g for row in batch.rounded("5 g", mode="down").rows] == [575, 405, 10, 0]
        flour_up = STAGED.scale(flour="1021 g").rounded("10 g", mode="up")
        assert flour_up.mass_g("bread flour") == 1030
        assert STAGED.scale(flour="1021 g").rounded("10 g", mode="down").mass_g("bread flour") == 1020

    def test_the_ripe_culture_taken_back_out_is_what_was_weighed_of_it(self) -> None:
        rounded = SOUR.scale(flour="10.07 kg").rounded("10 g")
        sour = rounded.stages["sour"]
        assert sour.returned_g == rounded.mass_g("culture", stage="sour") == 270
        assert rounded.mass_g("sour", stage="final") == sour.total_g - 270

    def test_a_stage_that_two_others_use_is_shared_out(self) -> None:
        exact = DEEP.scale(dough="50 kg")
        rounded = exact.rounded("10 g")
        shares = [rounded.mass_g("build", stage=stage) for stage in ("levain", "final")]
        assert sum(shares) == pytest.approx(rounded.stages["build"].handed_on_g)
        assert shares == pytest.approx([exact.mass_g("build", stage=stage) for stage in ("levain", "final")], abs=15)
        assert rounded.dough_g == pytest.approx(50_000, abs=5)

    def test_no_share_is_more_than_what_is_left(self) -> None:
        # 12.2 g of the build are 10 g on the scale, and the first of its three users, who needs 6 g, takes them all.
        shares = (("first", 6.0), ("second", 6.0), ("final", 0.2))
        stages = [Stage(name, {"bread flour": "1000 g", "build": f"{grams} g"}) for name, grams in shares[:2]]
        build = Stage("build", {"bread flour": 100, "water": 22})
        final = {"bread flour": "1000 g", "first": "1006 g", "second": "1006 g", "build": "0.2 g"}
        exact = Formula.from_stages("x", final, [*stages, build]).scale(dough="3012.2 g")
        assert [exact.mass_g("build", stage=name) for name, _ in shares] == pytest.approx([6, 6, 0.2])
        rounded = exact.rounded("10 g")
        assert [rounded.mass_g("build", stage=name) for name, _ in shares] == [10, 0, 0]
        assert rounded.dough_g == pytest.approx(exact.dough_g, abs=5)

    def test_what_is_kept_is_the_rest(self) -> None:
        rounded = DEEP.scale(dough="50 kg").rounded("10 g")
        levain = rounded.stages["levain"]
        assert levain.kept_g == pytest.approx(DEEP.scale(dough="50 kg").stages["levain"].kept_g, abs=10)
        assert levain.total_g == pytest.approx(levain.kept_g + rounded.mass_g("levain", stage="final"))

    def test_drift_is_told(self) -> None:
        assert (
            set(PLAIN.scale(dough="1 kg").drift.values()) == {0}
            or max(map(abs, PLAIN.scale(dough="1 kg").drift.values())) < 1e-12
        )
        drift = PLAIN.scale(dough="1 kg").rounded("5 g").drift
        assert drift["bread flour"] == pytest.approx(0, abs=1e-12)
        assert drift["water"] == pytest.approx(100 * 405 / 580 - 70)
        assert drift["salt"] == pytest.approx(100 * 10 / 580 - 2)

    def test_a_scale_too_coarse_is_a_caution(self) -> None:
        cautions = PLAIN.scale(dough="1 kg").rounded("5 g").cautions
        assert [caution.code for caution in cautions] == ["coarse-scale"]
        assert "rounding moves salt from 2 % to 1.72414 %" in cautions[0].text
        assert PLAIN.scale(dough="1 kg").rounded("0.1 g").cautions == ()
        assert PLAIN.scale(dough="1 kg").cautions == ()

    def test_a_batch_smaller_than_the_step(self) -> None:
        gone = PLAIN.scale(dough="1 g").rounded("1 kg")
        assert gone.dough_g == 0
        assert {caution.code for caution in gone.cautions} == {"coarse-scale"}
        assert gone.drift["water"] == -70
        assert STAGED.scale(dough="1 g").rounded("1 kg").dough_g == 0
        assert DEEP.scale(dough="1 g").rounded("1 kg").dough_g == 0
        assert str(gone).startswith("Loaf: 0 kg of dough")

    def test_all_the_flour_in_a_stage(self) -> None:
        stage = Stage("sponge", {"bread flour": 100, "water": 60}, flour="100 %")
        bread = Formula.from_percents("x", {"bread flour": 100, "water": 60, "salt": 2}, stages=[stage])
        rounded = bread.scale(dough="3333 g").rounded({"default": "10 g", "salt": "1 g"})
        assert rounded.mass_g("salt") == 41
        assert rounded.dough_g == 3_290 + 41

    @pytest.mark.parametrize(
        ("steps", "text"),
        [
            ("0 g", "a step above zero"),
            ("5", "add the unit"),
            ({"salt": "1 g"}, "no default"),
            ({"default": "1 g", "slat": "1 g"}, "'slat', expected an ingredient or default"),
            ({"default": "-1 g"}, "less than zero"),
        ],
    )
    def test_steps_that_are_none(self, steps: Any, text: str) -> None:  # noqa: ANN401
        assert text in told(lambda: PLAIN.scale(dough="1 kg").rounded(steps))

    def test_a_mode_that_is_none(self) -> None:
        assert "one of nearest, up, down" in told(lambda: PLAIN.scale(dough="1 kg").rounded("1 g", mode="even"))


class TestApportioning:
    def test_the_missing_steps_go_to_the_largest_remainders(self) -> None:
        assert apportioned([33.4, 33.3, 33.3], [1.0] * 3, [False] * 3) == [34, 33, 33]
        # Lines that are whole already still take up what others left, where that is more than half a step.
        assert apportioned([10.0, 5.0], [1.0] * 2, [False] * 2, carry=0.55) == [11, 5]
        assert apportioned([10.0, 5.0], [1.0] * 2, [False] * 2, carry=0.45) == [10, 5]
        assert apportioned([1.2, 2.3, 3.9, 4.6], [1.0] * 4, [False] * 4) == [1, 2, 4, 5]

    def test_a_hair_under_a_step_is_that_step(self) -> None:
        assert apportioned([0.1 + 0.2, 0.7], [0.1, 0.1], [False, False]) == [0.3, 0.7]

    def test_protected_lines_go_to_their_nearest(self) -> None:
        # 0.4 + 0.4 + 0.3 are one step; it is the flour's, though salt and yeast have the larger remainders.
        assert apportioned([2.4, 1.4, 50.3], [1.0] * 3, [True, True, False]) == [2, 1, 51]
        assert apportioned([2.6, 1.6, 50.3], [1.0] * 3, [True, True, False]) == [3, 2, 50]
        # On a finer scale than the flour's they are not moved for its sake either.
        assert apportioned([2.4, 1.4, 504.0], [1.0, 1.0, 10.0], [True, True, False]) == [2, 1, 500]

    def test_protected_lines_take_it_only_when_nothing_else_can(self) -> None:
        assert apportioned([2.4, 1.4, 50.0], [1.0] * 3, [True, True, False]) == [3, 1, 50]
        assert apportioned([2.4, 1.3, 5.4], [1.0] * 3, [True] * 3) == [2, 1, 6]

    def test_what_others_left_goes_to_the_largest_line_if_need_be(self) -> None:
        assert apportioned([100.0, 50.0], [1.0, 1.0], [False, False], 2.6) == [103, 50]
        assert apportioned([100.0, 50.0], [1.0, 1.0], [False, False], -2.6) == [97, 50]
        assert apportioned([1.0, 1.0], [1.0, 1.0], [False, False], -2.6) == [0, 1]
        # Salt alone is left in peace.
        assert apportioned([20.2], [1.0], [True], 4.0) == [20]

    def test_nothing(self) -> None:
        assert apportioned([], [], []) == []


class TestAValue:
    def test_hash_pickle_and_copy(self) -> None:
        for batch in (STAGED.scale(dough="93 kg"), STAGED.scale(dough="93 kg").rounded("5 g")):
            assert batch.stages
            again = pickle.loads(pickle.dumps(batch))  # noqa: S301 - our own pickle
            assert again == batch
            assert hash(again) == hash(batch)
            assert copy.deepcopy(batch) == batch

    def test_as_text(self) -> None:
        text = str(STAGED.scale(flour="10 kg"))
        assert text.splitlines()[0] == "Biga loaf: 17.28 kg of dough"
        assert "\nbiga\n" in text
        assert "\nfinal\n" in text
        assert text.count("water") == 2


class TestWorking:
    BATCHES = (
        PLAIN.scale(dough="93 kg"),
        PLAIN.scale(flour="50 lb"),
        PLAIN.scale(pieces=47, piece="1.25 kg"),
        PLAIN.scale(pieces=600, baked="800 g"),
        PLAIN.scale(pieces=600, baked="800 g", losses=Losses(handling="2 %", bake="11 %", combine="add")),
        PLAIN.scale(pieces=600, baked="800 g", losses=Losses(handling="2 %", bake="11 %", on="bread")),
        PLAIN.scale(pieces=600, baked="800 g", losses=Losses()),
        PLAIN.scale(pieces=600, piece="800 g", losses=Losses()),
        PLAIN.scale(using={"salt": "350 g"}),
        STAGED.scale(dough="93 kg"),
        SOUR.scale(dough="93 kg"),
        DEEP.scale(dough="93 kg"),
    )

    @pytest.mark.parametrize("batch", BATCHES, ids=lambda batch: f"{batch.formula.name} by {batch.asked}")
    def test_every_sum_anew(self, batch: Batch) -> None:
        check_working(batch.working(), batch.dough_g, exact=True)
        rounded = batch.rounded("5 g")
        check_working(rounded.working(), rounded.dough_g, exact=True)

    def test_it_begins_with_what_was_asked_for(self) -> None:
        text = PLAIN.scale(pieces=600, baked="800 g").working().text()
        assert "scaling_weight = bread / ((1 - ferment) * (1 - bake) * (1 - cool))" in text
        assert "dough = pieces * scaling_weight / ((1 - handling) * (1 - bulk))" in text

    def test_where_nothing_is_lost_nothing_is_divided_by(self) -> None:
        plain = str(PLAIN.scale(pieces=40, piece="500 g", losses=Losses()).working().steps[0])
        assert plain == "dough = pieces * piece = 40 * 500 = 20000 g"
        lossy = str(PLAIN.scale(pieces=40, piece="500 g").working().steps[0])
        assert lossy.startswith("dough = pieces * piece / kept = 40 * 500 / 0.97")
