"""The bakery, its orders and the day's plan: pieces, mixes, weigh sheets, water and ice, and the day's folder."""

import pickle
import shutil
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from formula.bakery import Bakery, Mixer
from formula.breadplan import BreadPlan
from formula.counting import loads, on_step
from formula.day import DayPlan, plan_day
from formula.errors import FileError, FormulaError
from formula.folder import load_day
from formula.formula import Formula
from formula.losses import Losses
from formula.orders import Order
from formula.pour import Pour
from formula.quantity import TIME, read, write
from formula.stage import Stage
from tests.arithmetic import check_working
from tests.days import check_day

HARBOUR = Path(__file__).parents[1] / "docs" / "examples" / "harbour"
LINES = {"bread flour": 100, "water": 60, "salt": 2}
LEAN = Formula.from_percents("Lean", LINES)
LOSSY = Formula.from_percents("Lossy", LINES, losses=Losses(handling="2 %", bake="11 %"))
SPIRAL = Mixer("spiral", capacity="160 kg", friction="20 K")


def told(make: Callable[[], object]) -> str:
    with pytest.raises(FormulaError) as caught:
        make()
    return str(caught.value)


def bakery(*mixers: Mixer, **changes: Any) -> Bakery:  # noqa: ANN401 - what a bakery takes
    facts: dict[str, Any] = {"flour": "21 °C", "room": "23 °C", "tap": "14 °C", "steps": "1 g", **changes}
    return Bakery("Test", mixers=mixers or (SPIRAL,), **facts)


def planned(bread: Formula, pieces: int, baked: str, *mixers: Mixer, **changes: Any) -> BreadPlan:  # noqa: ANN401
    place = bakery(*mixers, **changes)
    order = Order(bread, pieces=pieces, baked=baked)
    plan = plan_day([order], place)
    check_day(plan, (order,), place)
    return plan.breads[0]


class TestPieces:
    @pytest.mark.parametrize(
        ("ordered", "spares", "reject", "made"),
        [
            (400, 0, "0 %", 400),
            (398, 2, "0 %", 400),
            (99, 0, "1 %", 100),
            (198, 0, "1 %", 200),
            (100, 0, "1 %", 102),
            (1700, 6, "0.5 %", 1715),
            (1, 0, "99 %", 100),
            (7, 0, "30 %", 10),
            (993, 0, "0.7 %", 1000),
            # In floats these three come out a hair above: 21 / (1 - 0.3) is 30.000000000000004.
            (21, 0, "30 %", 30),
            (117, 0, "6.4 %", 125),
            (161, 0, "19.5 %", 200),
            (10**6, 0, "0.0001 %", 1_000_002),
        ],
    )
    def test_made_is_rounded_up(self, ordered: int, spares: int, reject: str, made: int) -> None:
        order = Order(LEAN, pieces=ordered, baked="100 g", spares=spares, reject=reject)
        assert order.pieces_made == made
        plan = plan_day([order], bakery(divider="1 g"))
        assert plan.pieces == made
        check_working(plan.breads[0].working(), float(plan.mix_count))

    def test_the_bread_s_own_reject_share(self) -> None:
        bread = Formula.from_percents("x", LINES, reject="1 %")
        assert Order(bread, pieces=99, baked="100 g").pieces_made == 100
        assert Order(bread, pieces=99, baked="100 g", reject="0 %").pieces_made == 99

    def test_rejects_are_no_loss_of_weight(self) -> None:
        sorted_out = Order(LOSSY, pieces=99, baked="800 g", reject="1 %")
        plain = Order(LOSSY, pieces=100, baked="800 g")
        first, second = (plan_day([order], bakery()).breads[0] for order in (sorted_out, plain))
        assert first.piece_g == second.piece_g
        assert first.dough_g == second.dough_g
        assert (first.ordered, first.pieces) == (99, 100)

    def test_orders_of_one_bread_at_one_weight_are_one_dough(self) -> None:
        orders = (
            Order(LEAN, pieces=99, baked="500 g", due="10:00", reject="1 %"),
            Order(LEAN, pieces=50, baked="1 kg"),
            Order(LEAN, pieces=49, baked="0.5 kg", due="05:30", spares=1),
        )
        plan = plan_day(orders, bakery())
        check_day(plan, orders, bakery())
        small, large = plan.breads
        assert (small.pieces, small.ordered, small.spares, small.due) == (150, 148, 1, "05:30")
        assert (large.pieces, large.due) == (50, "")
        check_working(small.working(), 1.0)


class TestMixes:
    def test_four_hundred_in_three(self) -> None:
        plan = planned(LEAN, 400, "500 g", Mixer("small", capacity="67 kg", friction="20 K"))
        assert [(mix.first, mix.last, mix.pieces, mix.count) for mix in plan.mixes] == [(1, 1, 134, 1), (2, 3, 133, 2)]
        assert [mix.batch.dough_g for mix in plan.mixes] == [67_000, 66_500]

    def test_each_mix_has_its_own_handling_loss(self) -> None:
        # 134 pieces of 500 g are what 98 % of the dough leave.
        bread = Formula.from_percents("x", LINES, losses=Losses(handling="2 %"))
        plan = planned(bread, 400, "500 g", Mixer("small", capacity="69 kg", friction="20 K"))
        assert [mix.pieces for mix in plan.mixes] == [134, 133]
        assert plan.mixes[0].batch.dough_g == pytest.approx(67_000 / 0.98, abs=1)

    def test_a_full_mixer_is_not_overfilled_by_rounding(self) -> None:
        # 120 pieces are 119,995 g, and 8 g less than the mixer holds; in steps of 10 g that is 120,000 g or more.
        bread = Formula.from_percents("x", {"bread flour": 100, "water": 61.3})
        mixer = Mixer("small", capacity="119998 g", friction="20 K")
        plan = planned(bread, 240, "999.96 g", mixer, steps="10 g", divider="0.01 g")
        assert (plan.mix_count, plan.slack_g) == (3, 10)
        check_working(plan.working(), 3.0)
        assert planned(bread, 240, "999.9 g", mixer, steps="10 g", divider="0.01 g").mix_count == 2

    def test_a_mix_that_fills_it_to_the_gram(self) -> None:
        assert planned(LEAN, 200, "800 g").mix_count == 1
        assert planned(LEAN, 201, "800 g").mix_count == 2

    def test_scaling_weights_are_on_the_divider_s_step(self) -> None:
        plan = planned(LOSSY, 100, "800 g", divider="5 g")
        assert plan.piece_g == 900  # 800 / 0.89 = 898.9
        assert planned(LOSSY, 100, "801 g", divider="5 g").piece_g == 900
        assert planned(LOSSY, 100, "801 g", divider="0.1 g").piece_g == 900
        assert planned(LEAN, 100, "800 g", divider="5 g").piece_g == 800

    def test_a_hair_over_a_step_is_that_step(self) -> None:
        assert on_step(0.1 + 0.2, 0.1) == 0.3
        assert on_step(5.000001, 5.0) == 10.0

    @pytest.mark.parametrize(("loaves", "per_load", "number"), [(8_000, 56, 143), (8_008, 56, 143), (8_009, 56, 144)])
    def test_loads_of_an_oven(self, loaves: int, per_load: int, number: int) -> None:
        # Common practice, no source: 8,000 loaves in loads of 56 need 143 loads.
        assert loads(loaves, per_load) == number

    def test_a_shaper_s_seconds(self) -> None:
        # Common practice, no source: 600 large loaves in 12 h are 72 s for each.
        assert write(TIME, read(TIME, "12 h", "shift") / 600, "s") == "72 s"


class TestChoosingAMixer:
    BIG = Mixer("big", capacity="160 kg", smallest="25 kg", friction="20 K")
    SMALL = Mixer("small", capacity="90 kg", smallest="8 kg", friction="12 K")

    def test_the_fewest_mixes(self) -> None:
        assert planned(LEAN, 200, "800 g", self.SMALL, self.BIG).mixer.name == "big"

    def test_of_equal_mixes_the_smaller_mixer(self) -> None:
        assert planned(LEAN, 100, "800 g", self.BIG, self.SMALL).mixer.name == "small"

    def test_one_that_the_mixes_are_large_enough_for(self) -> None:
        coarse = Mixer("coarse", capacity="50 kg", smallest="40 kg", friction="12 K")
        plan = planned(LEAN, 20, "1 kg", coarse, self.BIG, self.SMALL)
        assert plan.mixer.name == "small"
        assert plan.cautions == ()

    def test_a_mix_too_small_for_all_is_a_caution(self) -> None:
        plan = planned(LEAN, 2, "1 kg", self.BIG, self.SMALL)
        assert [caution.code for caution in plan.cautions] == ["small-mix"]
        assert "2 kg is less than the small mixes well (8 kg)" in plan.cautions[0].text

    def test_a_piece_heavier_than_every_mixer(self) -> None:
        orders = [Order(LEAN, pieces=1, baked="170 kg"), Order(LOSSY, pieces=1, baked="150 kg")]
        text = told(lambda: plan_day(orders, bakery(self.BIG, self.SMALL)))
        assert text.startswith("2 faults")
        assert "Lean: got pieces of 170000 g" in text
        assert "at most 160000 g" in text
        assert "with their losses 171980 g of dough" in text


class TestPour:
    BREAD = Formula.from_percents("x", LINES, dough_temperature="24 °C")

    def pour(self, bread: Formula, **changes: Any) -> Pour:  # noqa: ANN401
        found = planned(bread, 100, "800 g", **changes).mixes[0].pour
        assert found is not None
        return found

    def test_the_water_s_temperature(self) -> None:
        # 3 x 24 - 21 - 23 - 20 = 8, colder than the tap.
        pour = self.pour(self.BREAD, steps="10 g")
        assert pour.temperature.temperature_c == pytest.approx(8)
        exact = pour.water_g * (14 - 8) / (14 + 80)
        assert pour.ice_g == on_step(exact, 10)
        assert pour.draw_g == pour.water_g - pour.ice_g

    def test_no_ice_where_the_tap_is_cold_enough(self) -> None:
        pour = self.pour(self.BREAD, flour="15 °C")
        assert pour.temperature.temperature_c == pytest.approx(14)
        assert (pour.ice_g, pour.ice) == (0, None)
        assert pour.draw_g == pour.water_g

    def test_the_steps_of_the_water_s_scale(self) -> None:
        steps = {"default": "1 g", "tap water": "50 g"}
        pour = self.pour(self.BREAD, steps=steps)
        assert pour.ice_g % 50 == 0

    def test_a_stage_is_one_temperature_more(self) -> None:
        biga = Stage("biga", {"bread flour": 100, "water": 50}, flour="30 %")
        bread = Formula.from_percents("x", LINES, stages=[biga], dough_temperature="24 °C")
        # 4 x 24 - 21 - 23 - 18 - 20 x 4/3.
        pour = self.pour(bread, stages={"biga": "18 °C"})
        assert pour.temperature.temperature_c == pytest.approx(34 - 80 / 3)
        assert pour.water_g == pytest.approx(planned(bread, 100, "800 g").mixes[0].batch.mass_g("water", stage="final"))
        assumed = planned(bread, 100, "800 g")
        assert assumed.mixes[0].pour is not None
        assert assumed.mixes[0].pour.temperature.temperature_c == pytest.approx(29 - 80 / 3)
        assert "stage-temperature-assumed" in [caution.code for caution in assumed.cautions]

    def test_the_mixer_s_friction_was_measured_with_so_many(self) -> None:
        mixer = Mixer("m", capacity="160 kg", friction="20 K", count=4)
        found = planned(self.BREAD, 100, "800 g", mixer).mixes[0].pour
        assert found is not None
        assert found.temperature.temperature_c == pytest.approx(28 - 15)

    def test_milk_without_water(self) -> None:
        lines = {"bread flour": 100, "whole milk": 60, "salt": 2}
        cold = self.pour(Formula.from_percents("x", lines, dough_temperature="24 °C"))
        assert cold.water_g == 0
        assert cold.liquid_g > 0
        assert cold.ice_g == cold.draw_g == 0
        assert "chill the other liquid to 8 °C" in cold.cautions[-1].text
        warm = self.pour(Formula.from_percents("x", lines, dough_temperature="30 °C"))
        assert warm.cautions == ()

    def test_a_dough_that_nothing_is_poured_into(self) -> None:
        stage = Stage("sponge", {"bread flour": 100, "water": 100}, flour="60 %")
        bread = Formula.from_percents("x", LINES, stages=[stage], dough_temperature="24 °C")
        pour = self.pour(bread, stages={"sponge": "20 °C"})
        assert (pour.liquid_g, pour.ice_g) == (0, 0)
        assert [caution.code for caution in pour.cautions] == ["nothing-to-pour"]

    def test_what_ice_cannot_reach(self) -> None:
        pour = self.pour(self.BREAD, flour="60 °C", room="80 °C")
        assert pour.ice_g == 0
        assert "cannot-be-reached" in [caution.code for caution in pour.cautions]

    def test_ice_in_coarse_steps_is_no_more_than_the_water(self) -> None:
        # 80 kg of 162 %: 29.63 kg of milk and water, of which 4.94 kg is water; 3 x 24 - 25 - 27 - 20 = 0 °C from a tap
        # of 14 °C asks for 29.63 x 14 / 94 = 4.41 kg of ice, and shovels of 1 kg would make 5 of it.
        lines = {"bread flour": 100, "whole milk": 50, "water": 10, "salt": 2}
        bread = Formula.from_percents("x", lines, dough_temperature="24 °C")
        pour = self.pour(bread, flour="25 °C", room="27 °C", steps={"default": "1 g", "ice": "1 kg"})
        assert pour.temperature.temperature_c == pytest.approx(0)
        assert pour.ice is not None
        assert pour.ice.ice_g == pytest.approx(80_000 * 60 / 162 * 14 / 94, abs=1)
        assert pour.ice_g == pour.water_g == pytest.approx(80_000 * 10 / 162, abs=1)
        assert pour.draw_g == 0
        assert "cannot-be-reached" not in [caution.code for caution in pour.cautions]

    def test_water_that_kills_yeast(self) -> None:
        pour = self.pour(self.BREAD, flour="2 °C", room="-5 °C")
        assert pour.temperature.temperature_c == pytest.approx(55)
        assert {"too-hot-for-yeast", "scald"} <= {caution.code for caution in pour.cautions}

    def test_a_bread_without_a_temperature(self) -> None:
        assert planned(LEAN, 100, "800 g").mixes[0].pour is None


class TestHarbour:
    ORDERS, BAKERY = load_day(HARBOUR)
    PLAN = plan_day(ORDERS, BAKERY)

    def test_everything_adds_up(self) -> None:
        check_day(self.PLAN, self.ORDERS, self.BAKERY)

    def test_it_is_a_full_day(self) -> None:
        assert len(self.PLAN.breads) >= 8
        assert 7_500 <= sum(order.pieces for order in self.ORDERS) <= 8_500
        assert self.PLAN.dough.m_as("kg") == pytest.approx(self.PLAN.dough_g / 1000)

    def test_every_sum_anew(self) -> None:
        for bread in self.PLAN.breads:
            check_working(bread.working(), float(bread.mix_count))
            assert bread.dough.m_as("g") == pytest.approx(bread.dough_g)
            assert bread.piece.m_as("g") == pytest.approx(bread.piece_g)
            assert bread.baked.m_as("g") == pytest.approx(bread.baked_g)
        check_working(self.PLAN.working(), self.PLAN.dough_g)

    def test_cautions_of_more_than_one_bread_are_told_once(self) -> None:
        texts = [caution.text for caution in self.PLAN.cautions]
        assert len(texts) == len(set(texts))
        for caution in self.PLAN.shared_cautions:
            assert sum(caution in bread.cautions for bread in self.PLAN.breads) > 1
        own = [caution for bread in self.PLAN.breads for caution in bread.cautions]
        assert {caution.code for caution in own} == {caution.code for caution in self.PLAN.cautions}

    def test_the_tables_say_the_same(self) -> None:
        tables = self.PLAN.to_tables()
        assert tables["pieces"] == self.PLAN.pieces
        assert tables["mixes"] == sum(
            mix["last"] - mix["first"] + 1 for bread in tables["breads"] for mix in bread["mixes"]
        )
        for bread, plan in zip(tables["breads"], self.PLAN.breads, strict=True):
            for mix, planned_mix in zip(bread["mixes"], plan.mixes, strict=True):
                assert sum(mix["stages"]["final"].values()) == pytest.approx(mix["dough_g"])
                assert mix["dough_g"] == planned_mix.batch.dough_g
                assert planned_mix.pour is not None
                assert mix["water_c"] == planned_mix.pour.temperature.temperature_c
        assert tables["ingredients_g"] == dict(self.PLAN.ingredients_g)

    def test_a_value(self) -> None:
        again: DayPlan = pickle.loads(pickle.dumps(self.PLAN))  # noqa: S301 - our own pickle
        assert again == self.PLAN
        assert hash(again) == hash(self.PLAN)


class TestViews:
    def test_of_a_bakery(self) -> None:
        place = bakery(ice="-8 °C", divider="5 g")
        assert place.flour.m_as("degC") == pytest.approx(21)
        assert place.room.m_as("degC") == pytest.approx(23)
        assert place.tap.m_as("degC") == pytest.approx(14)
        assert place.ice.m_as("degC") == pytest.approx(-8)
        assert place.divider.m_as("g") == 5
        assert place.steps_g == {"default": 1}

    def test_of_a_mixer(self) -> None:
        assert SPIRAL.capacity.m_as("kg") == 160
        assert SPIRAL.smallest.m_as("g") == 0
        assert SPIRAL.friction.m_as("delta_degC") == 20

    def test_of_an_order(self) -> None:
        order = Order(LEAN, pieces=5, baked="1 lb", reject="2 %")
        assert order.baked.m_as("lb") == pytest.approx(1)
        assert order.reject.m_as("percent") == pytest.approx(2)
        elsewhere = Order(LEAN, pieces=5, baked="1 lb", reject="20 ‰", where="another list")
        assert elsewhere == order
        assert hash(elsewhere) == hash(order)


class TestRefused:
    def test_no_orders(self) -> None:
        assert "at least one order" in told(lambda: plan_day([], bakery()))

    def test_an_order(self) -> None:
        text = told(
            lambda: Order(LEAN, pieces=0, baked="0 g", due="5:30", spares=-1, reject="100 %"),
        )
        for part in ("5 faults", "Lean: pieces: got 0", "baked: got 0 g", "due: got '5:30'", "spares: got -1", "100 %"):
            assert part in text, part
        for pieces in (True, 2.0, "2", None):
            assert "a whole number of at least 1" in told(partial(Order, LEAN, pieces=pieces, baked="1 g"))  # type: ignore[arg-type]
        for due in ("24:00", "05:60", "05.30", 530):
            assert "a time of day" in told(partial(Order, LEAN, pieces=1, baked="1 g", due=due))  # type: ignore[arg-type]
        assert "a Formula" in told(lambda: Order("Lean", pieces=1, baked="1 g"))  # type: ignore[arg-type]

    def test_a_mixer(self) -> None:
        text = told(lambda: Mixer("", capacity="0 g", smallest="1 kg", friction="20", count=1))
        for part in (
            "5 faults",
            "capacity: got 0 g",
            "at most its capacity, 0 g",
            "friction: got '20'",
            "2 or more",
            "a name",
        ):
            assert part in text, part
        assert "got '1000000 g', " not in text

    def test_a_bakery(self) -> None:
        text = told(
            lambda: Bakery(
                " ", mixers=[], flour="21", room="23 °C", tap="120 °C", ice="1 °C", steps={"salt": "0 g"}, divider="0 g"
            )
        )
        for part in (
            "8 faults", "flour: got '21'", "at least one mixer", "steps: salt: got 0 g", "divider: got 0 g", "no default",
            "ice: got 1 °C", "tap: got 120 °C", "a name",
        ):  # fmt: skip
            assert part in text, part
        assert "a Mixer" in told(lambda: bakery("spiral"))  # type: ignore[arg-type]


class TestFolder:
    """Every fault of every file of a day is told at once, with file, table and key."""

    @pytest.fixture
    def folder(self, tmp_path: Path) -> Path:
        return Path(shutil.copytree(HARBOUR, tmp_path / "day"))

    @staticmethod
    def change(file: Path, old: str, new: str) -> None:
        text = file.read_text(encoding="utf-8")
        assert old in text
        file.write_text(text.replace(old, new, 1), encoding="utf-8")

    @staticmethod
    def told(folder: Path) -> str:
        with pytest.raises(FileError) as caught:
            load_day(folder)
        return str(caught.value)

    def test_all_at_once(self, folder: Path) -> None:
        self.change(folder / "bakery.toml", 'divider = "5 g"', 'divider = "0 g"')
        self.change(folder / "orders.toml", "pieces = 1700", "pieces = 0")
        self.change(folder / "orders.toml", 'bread = "gull-bun"', 'bread = "gul-bun"')
        self.change(folder / "orders.toml", 'due = "06:30"', 'due = "6:30"')
        self.change(folder / "breads" / "ballast-tin.toml", "water = 74", 'water = "74"')
        text = self.told(folder)
        for part in (
            "5 faults", "bakery.toml: divider: got 0 g", "orders.toml: order[0] (Quay Round: pieces): got 0",
            "orders.toml: order[4].bread: got 'gul-bun', expected one of the files in breads: ballast-tin",
            "orders.toml: order[3] (Lighthouse Rye: due)", "ballast-tin.toml: percent.water",
        ):  # fmt: skip
            assert part in text, part

    def test_a_bread_that_is_ordered_twice_is_told_of_once(self, folder: Path) -> None:
        self.change(folder / "breads" / "quay-round.toml", "water = 69", 'water = "69"')
        assert self.told(folder).count("quay-round") == 1

    def test_a_step_for_what_is_no_ingredient(self, folder: Path) -> None:
        self.change(folder / "bakery.toml", '"fresh yeast" = "1 g"', '"fresh yeats" = "1 g"')
        assert "bakery.toml: steps.fresh yeats: got 'fresh yeats', expected an ingredient" in self.told(folder)

    def test_own_ingredients(self, folder: Path) -> None:
        (folder / "ingredients.toml").write_text('["harbour mix"]\nkind = "flour"\n', encoding="utf-8")
        self.change(folder / "breads" / "ballast-tin.toml", '"bread flour" = 20', '"harbour mix" = 20')
        self.change(folder / "bakery.toml", '"fresh yeast" = "1 g"', '"fresh yeast" = "1 g"\n"harbour mix" = "100 g"')
        orders, place = load_day(folder)
        plan = plan_day(orders, place)
        check_day(plan, orders, place)
        assert plan.ingredients_g["harbour mix"] % 100 == pytest.approx(0)
        (folder / "ingredients.toml").write_text('["harbour mix"]\nkind = "flower"\n', encoding="utf-8")
        assert "ingredients.toml: harbour mix: kind" in self.told(folder)

    def test_files_that_are_not_there(self, folder: Path) -> None:
        assert "no folder" in self.told(folder / "nowhere")
        (folder / "bakery.toml").unlink()
        (folder / "orders.toml").unlink()
        text = self.told(folder)
        assert "bakery.toml: got nothing" in text
        assert "orders.toml: got nothing" in text
        shutil.rmtree(folder / "breads")
        (folder / "orders.toml").write_text('[[order]]\nbread = "x"\npieces = 1\nbaked = "1 g"\n', encoding="utf-8")
        assert "one of the files in breads: none" in self.told(folder)

    @pytest.mark.parametrize("text", ["", "order = []\n", "# nothing today\n"])
    def test_no_orders(self, folder: Path, text: str) -> None:
        (folder / "orders.toml").write_text(text, encoding="utf-8")
        assert "at least one [[order]] table" in self.told(folder)

    def test_no_mixer(self, folder: Path) -> None:
        text = (folder / "bakery.toml").read_text(encoding="utf-8")
        (folder / "bakery.toml").write_text(text[: text.index("[[mixer]]")], encoding="utf-8")
        assert "bakery.toml: mixers: got none" in self.told(folder)

    def test_a_piece_heavier_than_the_mixers_names_its_order(self, folder: Path) -> None:
        self.change(folder / "orders.toml", 'baked = "1 kg"', 'baked = "1 t"')
        with pytest.raises(FormulaError, match=r"orders.toml: order\[3\] \(Lighthouse Rye: baked\)"):
            plan_day(*load_day(folder))

    def test_what_is_left_out_has_its_usual_value(self, folder: Path) -> None:
        (folder / "bakery.toml").write_text(
            'name = "Small"\n[temperature]\nflour = "20 °C"\nroom = "20 °C"\ntap = "10 °C"\n'
            '[[mixer]]\nname = "m"\ncapacity = "1 t"\nfriction = "20 K"\n',
            encoding="utf-8",
        )
        place = load_day(folder)[1]
        assert (place.divider_g, place.ice_c, dict(place.steps_g), dict(place.stages_c)) == (1, 0, {"default": 1}, {})
        assert (place.mixers[0].smallest_g, place.mixers[0].count) == (0, 3)


def test_what_holds_for_two_of_three_doughs_is_told_once() -> None:
    lines = {"bread flour": 100, "water": 65, "salt": 2}
    hot = [Formula.from_percents(name, lines, dough_temperature="39 °C") for name in ("first", "second")]
    breads = [*hot, Formula.from_percents("third", lines)]
    plan = plan_day([Order(bread, pieces=20, baked="500 g") for bread in breads], load_day(HARBOUR)[1])
    assert [len(dough.cautions) for dough in plan.doughs] == [2, 2, 0]
    assert [caution.code for caution in plan.shared_cautions] == ["too-hot-for-yeast", "scald"]
    assert plan.cautions == plan.shared_cautions
