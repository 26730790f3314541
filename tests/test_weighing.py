"""Lines too small to weigh, flour rounded up, and what goes in after the mix."""

import pytest

from formula.bakery import Bakery, Mixer
from formula.day import plan_day
from formula.errors import FormulaError
from formula.formula import Formula
from formula.orders import Order
from formula.pour import Pour
from formula.stage import Stage

# 1 kg of flour: 0.5 g of yeast, 2 g of salt.
LEAN = Formula.from_percents("Lean", {"bread flour": 100, "water": 70, "salt": 0.2, "fresh yeast": 0.05})
BATCH = LEAN.scale(flour="1 kg")


def codes(batch: object) -> list[str]:
    return [caution.code for caution in batch.cautions]  # type: ignore[attr-defined]


class TestTooSmallToWeigh:
    def test_it_says_how_to_dilute_and_what_batch_would_do(self) -> None:
        found = BATCH.rounded("0.5 g", minimum="1 g")
        (caution,) = found.cautions
        assert caution.code == "too-small-to-weigh"
        # 0.5 g in ten parts is 5 g; twice the dough (1702.5 g) has 1 g of yeast.
        assert "0.5 g of fresh yeast" in caution.text
        assert "9 parts of the water" in caution.text
        assert "5 g of that" in caution.text
        assert "3.405 kg of dough" in caution.text

    def test_a_least_for_each_ingredient(self) -> None:
        assert codes(BATCH.rounded("0.1 g", minimum={"default": "0.1 g", "salt": "5 g"})) == ["too-small-to-weigh"]
        assert codes(BATCH.rounded("0.1 g", minimum={"default": "0.1 g", "compressed yeast": "0.5 g"})) == []

    def test_without_a_minimum_nothing_is_too_small(self) -> None:
        assert codes(BATCH.rounded("0.1 g")) == []

    def test_a_line_a_thousand_times_too_small(self) -> None:
        (caution,) = LEAN.scale(flour="1 kg").rounded("0.5 g", minimum={"default": "0.5 g", "yeast": "499 g"}).cautions
        assert "999 parts" in caution.text

    def test_a_stage_is_no_line_of_the_scale(self) -> None:
        # 1 kg of flour, 0.25 % of it in a poolish: 2.5 g each of flour and water, and 5 g of it in the dough.
        poolish = Stage("poolish", {"bread flour": 100, "water": 100}, flour="0.25 %")
        bread = Formula.from_percents("x", {"bread flour": 100, "water": 70}, stages=[poolish])
        cautions = bread.scale(flour="1 kg").rounded("0.5 g", minimum="10 g").cautions
        assert [caution.text.partition(" is less than ")[0] for caution in cautions] == [
            "poolish: 2.5 g of bread flour",
            "poolish: 2.5 g of water",
        ]

    @pytest.mark.parametrize("wrong", ["0 g", "1", {"salt": "1 g"}, {"default": "1 g", "chalk": "1 g"}])
    def test_a_minimum_that_is_none(self, wrong: object) -> None:
        with pytest.raises(FormulaError, match="minimum"):
            BATCH.rounded("1 g", minimum=wrong)  # type: ignore[arg-type]


class TestFlourRoundedUp:
    def test_a_factor_rounded_up(self) -> None:
        # formulas/A19 (read in a garbled copy): 150 lb at 168.25 % is a factor of 0.89, rounded up to 0.9 lb per percent.
        bread = Formula.from_percents("French bread", {"bread flour": 100, "water": 66.25, "salt": 2})
        batch = bread.scale(dough="150 lb").with_flour_up_to("10 lb")
        assert batch.flour.m_as("lb") == pytest.approx(90)
        assert batch.mass("salt").m_as("lb") == pytest.approx(0.9 * 2)
        assert batch.dough.m_as("lb") == pytest.approx(0.9 * 168.25)

    def test_a_whole_number_of_steps_stays(self) -> None:
        assert LEAN.scale(flour="30 kg").with_flour_up_to("10 kg").flour_g == pytest.approx(30_000)

    def test_a_step_of_nothing_is_refused(self) -> None:
        with pytest.raises(FormulaError, match="step"):
            BATCH.with_flour_up_to("0 g")


class TestLater:
    BREAD = Formula.from_percents(
        "Wet",
        {"bread flour": 100, "water": 80, "raisins": 20},
        later={"tap water": 10, "raisins": 20},
        dough_temperature="20 °C",
    )
    BAKERY = Bakery(
        "drawn", mixers=[Mixer("spiral", capacity="300 kg", friction="10 K")], flour="20 °C", room="20 °C", tap="20 °C"
    )

    def test_the_plain_dough_is_without_it(self) -> None:
        batch = self.BREAD.scale(flour="10 kg")
        assert [(row.name, row.mass_g) for row in batch.later] == [("water", 1000.0), ("raisins", 2000.0)]
        assert batch.dough_g == pytest.approx(20_000)
        assert batch.plain_dough_g == pytest.approx(17_000)

    def test_only_what_is_poured_into_the_mix_is_tempered(self) -> None:
        # 100 pieces of 200 g are 20 kg of dough, 10 kg of flour: 7 kg of water to pour, and 1 kg by and by.
        (plan,) = plan_day([Order(self.BREAD, pieces=100, baked="200 g")], self.BAKERY).breads
        pour = plan.mixes[0].pour
        assert pour is not None
        assert pour.water_g == pytest.approx(7000)
        # 3 x 20 - 20 - 20 - 10 = 10 °C from a tap of 20 °C: 7 kg x 10 / (20 + 80) = 700 g of ice.
        assert pour.ice_g == pytest.approx(700)
        assert pour.draw_g == pytest.approx(6300)

    def test_more_later_than_there_is(self) -> None:
        with pytest.raises(FormulaError, match="at most the 80 %"):
            Formula.from_percents("Wet", {"bread flour": 100, "water": 80}, later={"water": 81})


class TestWhereItIsPoured:
    """An autolyse is the beginning of the mix; every other stage is a body of its own."""

    BAKERY = Bakery(
        "drawn",
        mixers=[Mixer("spiral", capacity="300 kg", friction="15 K")],
        flour="20 °C",
        room="20 °C",
        tap="12 °C",
        ice="0 °C",
        stages={"soaker": "18 °C"},
    )

    @staticmethod
    def bread(kind: str, share: str = "50 %") -> Formula:
        stage = Stage("first", {"bread flour": 100, "water": 60}, flour=share, kind=kind)
        return Formula.from_percents("x", {"bread flour": 100, "water": 70}, stages=[stage], dough_temperature="24 °C")

    def pour(self, bread: Formula) -> Pour:
        (plan,) = plan_day([Order(bread, pieces=100, baked="1.7 kg")], self.BAKERY).breads
        pour = plan.mixes[0].pour
        assert pour is not None
        return pour

    def test_an_autolyse(self) -> None:
        pour = self.pour(self.bread("autolyse"))
        # 170 kg of dough, 100 kg of flour: all 70 kg of water is still to be poured, most of it at the autolyse.
        assert pour.stage == "first"
        assert pour.water_g == pytest.approx(70_000)
        # Three temperatures: 3 x 24 - 20 - 20 - 15 = 17 °C.
        assert pour.temperature.temperature_c == pytest.approx(17)

    def test_a_preferment(self) -> None:
        pour = self.pour(self.bread("preferment"))
        assert pour.stage == "final"
        assert pour.water_g == pytest.approx(40_000)
        # Four: 4 x 24 - 20 - 20 - 20 (as the room) - 15 x 4/3 = 16 °C.
        assert pour.temperature.temperature_c == pytest.approx(16)
        assert "stage-temperature-assumed" in codes(pour)

    def test_a_stage_that_is_a_small_part_of_the_dough(self) -> None:
        # 5 % of the flour with its water: 8 kg of 170 kg of dough.
        assert "small-stage" in codes(self.pour(self.bread("preferment", "5 %")))
        assert "small-stage" not in codes(self.pour(self.bread("preferment", "50 %")))

    def test_water_out_of_reach_comes_with_what_would_help(self) -> None:
        hot = Bakery("hot", mixers=self.BAKERY.mixers, flour="45 °C", room="45 °C", tap="30 °C", ice="0 °C")
        bread = Formula.from_percents("x", {"bread flour": 100, "water": 10}, dough_temperature="5 °C")
        (plan,) = plan_day([Order(bread, pieces=10, baked="1 kg")], hot).breads
        pour = plan.mixes[0].pour
        assert pour is not None
        # 3 x 5 - 45 - 45 - 15 = -90 °C; all of it ice is 30 - (30 + 80) = -80 °C, and the dough 25/3 °C warm.
        (caution,) = [each for each in pour.cautions if each.code == "cannot-be-reached"]
        assert "-80 °C" in caution.text
        assert "The coldest dough is 8.33 °C" in caution.text
        assert "the flour to 35 °C" in caution.text
