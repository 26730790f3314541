"""Three methods for one water: they agree where they were measured, and part no further than is said."""

from itertools import product
from pathlib import Path

import pytest

from formula.bakery import Bakery, Mixer
from formula.batch import Batch
from formula.day import plan_day
from formula.errors import FormulaError
from formula.folder import load_day
from formula.formula import Formula
from formula.orders import Order
from formula.stage import Stage
from formula.threeways import day_three_ways, water_three_ways
from formula.trials import Trial
from tests.arithmetic import check_working

HARBOUR = Path(__file__).parents[1] / "docs" / "examples" / "harbour"
LEAN = Formula.from_percents("Lean", {"bread flour": 100, "water": 65, "salt": 2}).scale(dough="100 kg")
BIGA = Formula.from_percents(
    "Biga loaf",
    {"bread flour": 100, "water": 68, "salt": 2, "fresh yeast": 1},
    stages=[Stage("biga", {"bread flour": 100, "water": 52, "fresh yeast": 0.3}, flour="30 %")],
).scale(dough="100 kg")
TRIAL = Trial(flour="20 °C", room="21 °C", water="16 °C", dough="25 °C")
BIGA_TRIAL = Trial(flour="20 °C", room="21 °C", water="16 °C", dough="25 °C", preferments="18 °C")


@pytest.mark.parametrize(("batch", "trial"), [(LEAN, TRIAL), (BIGA, BIGA_TRIAL)])
def test_under_the_conditions_of_the_trial_all_agree(batch: Batch, trial: Trial) -> None:
    stages = {"biga": "18 °C"} if trial.preferments_c else None
    found = water_three_ways(batch, target="25 °C", trial=trial, flour="20 °C", room="21 °C", stages=stages)
    assert (found.rule_c, found.balance_c, found.correction_c) == pytest.approx((16, 16, 16), abs=1e-6)
    assert found.moved_k == 0
    assert found.spread_k == pytest.approx(0, abs=1e-6)
    check_working(found.working(), found.spread_k)


@pytest.mark.parametrize(("flour", "room", "biga"), list(product((5, 15, 20, 28, 35), (15, 21, 32), (4, 18, 26))))
def test_the_stated_band_holds_on_a_grid(flour: int, room: int, biga: int) -> None:
    found = water_three_ways(
        BIGA,
        target="25 °C",
        trial=BIGA_TRIAL,
        flour=f"{flour} °C",
        room=f"{room} °C",
        stages={"biga": f"{biga} °C"},
    )
    moved = abs(flour - 20) + abs(room - 21) + abs(biga - 18)
    assert found.moved_k == pytest.approx(moved)
    assert abs(found.rule_c - found.balance_c) <= moved + 1e-6
    # The correction leaves out what moved, the rule counts all of it.
    assert found.rule_c - found.correction_c == pytest.approx(20 + 21 + 18 - flour - room - biga)


@pytest.mark.parametrize("wanted", [22, 24, 27])
def test_another_dough_temperature_moves_rule_and_correction_alike(wanted: int) -> None:
    found = water_three_ways(LEAN, target=f"{wanted} °C", trial=TRIAL, flour="20 °C", room="21 °C")
    # N = 3: three kelvins of water for each of the dough.
    assert found.rule_c == pytest.approx(16 + 3 * (wanted - 25))
    assert found.correction_c == pytest.approx(found.rule_c)
    # The balance: (100 x 1.84 + 65 x 4.18 + salt) / (65 x 4.18), about 1.7.
    assert (found.balance_c - 16) / (wanted - 25 or 1) == pytest.approx(1.68, abs=0.02)


def test_warmer_flour_by_hand() -> None:
    # 6 K more in the flour: 6 x 1.84 / (0.65 x 4.18) = 4.06 K less in the water by heat, 6 K by the rule.
    found = water_three_ways(LEAN, target="25 °C", trial=TRIAL, flour="26 °C", room="21 °C")
    assert found.rule_c == pytest.approx(10)
    assert found.balance_c == pytest.approx(16 - 4.06, abs=0.03)
    assert found.correction_c == pytest.approx(16)


def test_the_harbour_day() -> None:
    plan = plan_day(*load_day(HARBOUR))
    found = day_three_ways(plan)
    assert list(found) == [bread.bread.name for bread in plan.breads]
    for bread in plan.breads:
        ways = found[bread.bread.name]
        pour = bread.mixes[0].pour
        assert pour is not None
        assert ways.rule_c == pytest.approx(pour.temperature.temperature_c)
        assert abs(ways.rule_c - ways.balance_c) <= ways.moved_k + 1e-6
        assert abs(ways.rule_c - ways.correction_c) <= ways.moved_k + 1e-6
        assert "trial-assumed" in {caution.code for caution in ways.cautions}
        check_working(ways.working(), ways.spread_k)


def test_a_measured_mix_of_a_bread_of_the_day() -> None:
    plan = plan_day(*load_day(HARBOUR))
    measured = Trial(flour="21 °C", room="23 °C", water="9 °C", dough="24.5 °C")
    ways = day_three_ways(plan, {"Ember Flat": measured})["Ember Flat"]
    # The same flour and room: only the half kelvin of the dough is left to correct, 3 x 0.5.
    assert ways.rule_c == pytest.approx(9 - 1.5)
    assert ways.correction_c == pytest.approx(9 - 1.5)
    assert ways.balance_c == pytest.approx(9 - 0.86, abs=0.05)
    assert not ways.cautions
    with pytest.raises(FormulaError, match="a bread of the day"):
        day_three_ways(plan, {"Anchor": measured})


def test_only_breads_whose_water_is_tempered_have_answers() -> None:
    lines = {"bread flour": 100, "water": 60}
    dry = Formula.from_percents("Dry", {"bread flour": 100, "butter": 60}, dough_temperature="25 °C")
    breads = [
        Formula.from_percents("As it comes", lines),
        dry,
        Formula.from_percents("Warm", lines, dough_temperature="25 °C"),
    ]
    mixer = Mixer("spiral", capacity="100 kg", friction="20 K")
    place = Bakery("Harbour", mixers=[mixer], flour="20 °C", room="21 °C", tap="14 °C")
    plan = plan_day([Order(bread, pieces=10, baked="500 g") for bread in breads], place)
    assert list(day_three_ways(plan)) == ["Warm"]


def test_a_trial_that_does_not_fit() -> None:
    with pytest.raises(FormulaError) as raised:
        water_three_ways(
            BIGA,
            target="25",
            trial=Trial(flour="20 °C", water="16 °C", dough="25 °C"),
            flour="20 °C",
            room="21 °C",
            stages={"sponge": "20 °C"},
        )
    assert [fault.where for fault in raised.value.faults] == ["target", "stages: sponge", "trial", "trial"]


def test_a_dough_with_nothing_to_pour() -> None:
    dry = Formula.from_percents("Dry", {"bread flour": 100, "butter": 60}).scale(dough="10 kg")
    with pytest.raises(FormulaError):
        water_three_ways(dry, target="25 °C", trial=TRIAL, flour="20 °C", room="21 °C")


def test_a_trial_colder_than_its_parts_is_refused() -> None:
    cold = Trial(flour="25 °C", room="25 °C", water="25 °C", dough="20 °C")
    with pytest.raises(FormulaError, match="check its thermometers"):
        water_three_ways(LEAN, target="25 °C", trial=cold, flour="25 °C", room="25 °C")
