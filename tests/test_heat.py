"""The heat balance: check values, every way to ask, stages and late additions, cautions, refusals."""

import copy
import itertools
import math
import pickle
from typing import Any

import numpy as np
import pint
import pytest
from iapws import IAPWS95
from scipy.integrate import quad
from scipy.optimize import brentq

from formula.balance import (
    HYDRATION_HEAT,
    HeatBalance,
    Motor,
    balanced_dough_c,
    balanced_water_c,
    mixing_work_kj,
    rise_from_work_k,
    water_per_dough_k,
)
from formula.batch import Batch
from formula.bodies import Body, Poured
from formula.capacity import FLOUR_CP, ICE_CP, LATENT_HEAT, STEEL_CP, WATER_CP, composition_cp_kj_kg_k, ingredient_cp
from formula.catalogue import Catalogue
from formula.errors import QuantityError, UnknownNameError
from formula.formula import Formula
from formula.friction import friction_factor
from formula.heat import INTENSE_WORK, heat_balance
from formula.ingredient import Ingredient
from formula.quantity import ENERGY_PER_MASS, read
from formula.stage import Stage
from tests.arithmetic import check_working
from tests.rows import holds, rows

PLAIN = {"bread flour": 100, "water": 65, "salt": 2, "fresh yeast": 1}
LOAF = Formula.from_percents("Quay loaf", PLAIN).scale(flour="50 kg")
BIGA = Stage("biga", {"bread flour": 100, "water": 55, "fresh yeast": 0.2}, flour="40 %")
SOAKER = Stage("soaker", {"sunflower seeds": 100, "water": 80}, takes=("sunflower seeds", "100 %"))
SEEDED = Formula.from_percents(
    "Mole loaf",
    {"bread flour": 80, "medium rye flour": 20, "water": 75, "salt": 2, "fresh yeast": 1, "sunflower seeds": 10},
    stages=[Stage("biga", {"bread flour": 100, "water": 55, "fresh yeast": 0.2}, flour="40 %"), SOAKER],
).scale(flour="50 kg")
BUN = Formula.from_percents(
    "Gull bun", {"bread flour": 100, "whole milk": 60, "egg": 8, "butter": 10, "sugar": 8, "salt": 2, "fresh yeast": 3}
).scale(flour="10 kg")
LATE = Formula.from_percents(
    "Wet loaf", {"bread flour": 100, "water": 80, "salt": 2, "raisins": 20}, later={"water": 10, "raisins": 20}
).scale(flour="10 kg")
AUTOLYSE = Formula.from_percents(
    "Rested loaf",
    PLAIN,
    stages=[Stage("autolyse", {"bread flour": 100, "water": 65}, flour="100 %")],
).scale(flour="50 kg")

STIFF = Formula.from_percents(
    "Bollard",
    {"bread flour": 100, "water": 65},
    stages=[Stage("sponge", {"bread flour": 100, "water": 70}, flour="70 %")],
).scale(flour="50 kg")

WARM: dict[str, Any] = {"room": "22 °C", "temperatures": {"flour": "20 °C"}}
CASES: list[tuple[Batch, dict[str, Any]]] = [
    (LOAF, {**WARM, "target": "25 °C", "work": "4 Wh/kg"}),
    (LOAF, {**WARM, "target": "25 °C", "work": "4 Wh/kg", "bowl": "60 kg", "friction": "16 K"}),
    (LOAF, {**WARM, "target": "20 °C", "work": "9 Wh/kg", "tap": "18 °C", "ice": "-10 °C", "bowl": "60 kg"}),
    (LOAF, {**WARM, "target": "25 °C", "work": "1 Wh/kg", "tap": "14 °C"}),
    (LOAF, {**WARM, "water": "14 °C", "work": "4 Wh/kg", "friction": "16 K"}),
    (LOAF, {**WARM, "water": "-6 °C", "power": "6 kW", "time": "8 min", "share": "80 %"}),
    (LOAF, {**WARM, "target": "25 °C", "water": "14 °C"}),
    (SEEDED, {**WARM, "target": "24 °C", "power": "6 kW", "time": "8 min", "share": "70 %", "friction": "20 K"}),
    (SEEDED, {"room": "22 °C", "temperatures": {"biga": "8 °C", "medium rye flour": "17 °C"}, "target": "24 °C", "work": "20 kJ/kg"}),
    (SEEDED, {**WARM, "target": "26 °C", "water": "30 °C", "bowl": "40 kg"}),
    (SEEDED, {"room": "22 °C", "target": "20 °C", "work": "0 Wh/kg", "stage": "biga"}),
    (BUN, {**WARM, "target": "26 °C", "work": "5 Wh/kg"}),
    (LATE, {**WARM, "target": "24 °C", "work": "5 Wh/kg"}),
    (LATE, {**WARM, "target": "24 °C", "work": "5 Wh/kg", "later": {"water": "5 °C", "raisins": "22 °C"}}),
    (AUTOLYSE, {"room": "22 °C", "temperatures": {"autolyse": "21 °C"}, "work": "4 Wh/kg"}),
    (AUTOLYSE, {"room": "22 °C", "temperatures": {"autolyse": "21 °C"}, "target": "25 °C"}),
]  # fmt: skip


def codes(batch: Batch, **case: Any) -> list[str]:  # noqa: ANN401 - as a caller would write them
    return [caution.code for caution in heat_balance(batch, **case).cautions]


def caution(made: HeatBalance, code: str) -> str:
    return next(str(each) for each in made.cautions if each.code == code)


def answer(made: HeatBalance) -> float:
    """What the last line of the working must show."""
    if made.sought == "water":
        return made.ice_g or made.water_c or 0.0
    return made.dough_c if made.sought == "dough" else made.work_kj_kg


# -- check values ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", rows("heat"))
def test_published(row: dict[str, str]) -> None:
    holds("heat", row)


def test_the_disputed_answer_is_marked_and_the_two_bases_differ() -> None:
    disputed = {case.id: case.values[0]["disputed"] for case in rows("heat")}  # type: ignore[index]
    assert [name for name, mark in disputed.items() if mark] == ["thermal/E04"]


def test_the_heat_of_hydration_is_per_flour_that_goes_in_dry() -> None:
    made = heat_balance(SEEDED, **WARM, target="24 °C", work="4 Wh/kg")
    assert made.dry_flour_g == pytest.approx(30_000.0)
    assert made.hydration_kj == pytest.approx(15.12 * 30)
    assert read(ENERGY_PER_MASS, "6.5 Btu/lb", "heat") == pytest.approx(HYDRATION_HEAT.value, abs=0.005)


@pytest.mark.parametrize(
    ("hydration", "expected"), [(55.0, 1.80), (60.0, 1.73), (65.0, 1.68), (70.0, 1.63), (80.0, 1.55)]
)
def test_the_water_change_for_one_kelvin_of_dough(hydration: float, expected: float) -> None:
    """Derived in the reference for flour 1.84 and water 4.18, to two decimals; the trade says 3, and the rule says N."""
    assert water_per_dough_k(hydration, 1.84, 4.18) == pytest.approx(expected, abs=0.005)
    assert water_per_dough_k(hydration) == pytest.approx(expected, abs=0.005)
    batch = Formula.from_percents("Bare", {"bread flour": 100, "water": hydration}).scale(flour="1 kg")
    made = heat_balance(batch, **WARM, target="25 °C", work="4 Wh/kg")
    assert made.water_per_dough_k == pytest.approx(water_per_dough_k(hydration), rel=1e-12)
    assert made.water_per_flour_k == pytest.approx(water_per_dough_k(hydration) - 1, rel=1e-12)


def test_a_kelvin_of_flour_lowers_the_water_by_less_than_by_the_rule() -> None:
    assert [round(water_per_dough_k(hydration) - 1, 2) for hydration in (55.0, 80.0)] == [0.80, 0.55]
    colder = heat_balance(LOAF, target="25 °C", room="22 °C", temperatures={"flour": "20 °C"}, work="4 Wh/kg")
    warmer = heat_balance(LOAF, target="25 °C", room="22 °C", temperatures={"flour": "21 °C"}, work="4 Wh/kg")
    assert colder.water_c is not None
    assert warmer.water_c is not None
    assert colder.water_c - warmer.water_c == pytest.approx(0.6756, abs=5e-4)
    # Done for one more kelvin in the dough, the water needs the whole ratio.
    dough = heat_balance(LOAF, target="26 °C", room="22 °C", temperatures={"flour": "20 °C"}, work="4 Wh/kg")
    assert dough.water_c is not None
    assert dough.water_c - colder.water_c == pytest.approx(colder.water_per_dough_k)


# -- the sums ----------------------------------------------------------------------------------------------------------


def test_by_hand() -> None:
    """All the terms once, with the numbers written out."""
    made = heat_balance(LOAF, target="25 °C", temperatures={"flour": "20 °C"}, room="22 °C", work="4 Wh/kg")
    flour, salt, yeast, water = 50 * 1.84, 1 * 0.864, 0.5 * 3.2, 32.5 * 4.19
    heat = 4 * 3.6 * 84 + 15.12 * 50
    assert made.water_c == pytest.approx(25 + (flour * 5 + salt * 3 + yeast * 3 - heat) / water, abs=1e-9)
    assert made.rise_k == pytest.approx(14.4 * 84 / (flour + salt + yeast + water))
    assert made.hydration_rise_k == pytest.approx(15.12 * 50 / (flour + salt + yeast + water))


@pytest.mark.parametrize(("batch", "case"), CASES)
def test_energy_is_conserved(batch: Batch, case: dict[str, Any]) -> None:
    energies = heat_balance(batch, **case).energies_kj
    assert abs(math.fsum(energies.values())) <= 1e-9 * max(1.0, *map(abs, energies.values()))
    assert {"mixing work", "heat of hydration"} < set(energies)


@pytest.mark.parametrize(("batch", "case"), CASES)
def test_working(batch: Batch, case: dict[str, Any]) -> None:
    made = heat_balance(batch, **case)
    check_working(made.working(), answer(made), exact=made.sought != "water")
    text = made.working().text()
    for body in made.bodies:
        assert body.name in text
    assert math.isfinite(answer(made))


@pytest.mark.parametrize(("batch", "case"), CASES)
def test_each_of_the_three_follows_from_the_other_two(batch: Batch, case: dict[str, Any]) -> None:
    made = heat_balance(batch, **case)
    rest = {name: case[name] for name in ("room", "temperatures", "bowl", "later", "stage") if name in case}
    three: dict[str, Any] = {"target": made.dough, "water": made.water, "work": made.work}
    for name, sought in three.items():
        if sought is None or (name == "work" and made.work_kj_kg < 0):
            continue
        two = {other: value for other, value in three.items() if other != name and value is not None}
        if made.water is None and len(two) == 2:
            continue
        again = heat_balance(batch, **rest, **two)
        assert again.dough_c == pytest.approx(made.dough_c, abs=1e-7)
        assert again.work_kj_kg == pytest.approx(made.work_kj_kg, abs=1e-7)
        if made.water_c is not None:
            assert again.water_c == pytest.approx(made.water_c, abs=1e-7)


def test_ice_replaces_water_by_energy() -> None:
    made = heat_balance(LOAF, **WARM, target="20 °C", work="9 Wh/kg", tap="18 °C", ice="-10 °C")
    assert made.water_c is not None
    assert made.ice_g is not None
    assert made.draw_g is not None
    assert made.water_c < 0
    assert made.ice_g + made.draw_g == pytest.approx(32_500.0)
    # Warming the ice, melting it and warming what it becomes takes the heat that the tap's water gives, all down to T.
    taken = made.ice_g * (2.03 * 10 + 333.427 + 4.19 * made.water_c)
    assert taken == pytest.approx(made.draw_g * 4.19 * (18 - made.water_c))
    assert made.energies_kj["ice to melt"] == pytest.approx(-made.ice_g / 1000 * (20.3 + 333.427 + 4.19 * 20))
    assert "water" in made.energies_kj
    warmer_ice = heat_balance(LOAF, **WARM, target="20 °C", work="9 Wh/kg", tap="18 °C")
    assert warmer_ice.ice_g is not None
    assert warmer_ice.ice_g > made.ice_g


def test_no_ice_where_the_tap_is_cold_enough() -> None:
    made = heat_balance(LOAF, **WARM, target="25 °C", work="4 Wh/kg", tap="10 °C")
    assert made.ice_g == 0.0
    assert made.draw_g == 32_500.0
    assert made.working().steps[-1].symbol == "T_water"


def test_motor_and_work_say_the_same() -> None:
    by_motor = heat_balance(LOAF, **WARM, target="25 °C", power="5.6 kW", time="6 min", share="60 %")
    assert by_motor.work_kj == pytest.approx(5.6 * 360 * 0.6)
    assert by_motor.motor is not None
    assert by_motor.motor.power.m_as("W") == pytest.approx(5600)
    assert by_motor.motor.time.m_as("min") == pytest.approx(6)
    by_work = heat_balance(LOAF, **WARM, target="25 °C", work=f"{by_motor.work_kj / 84:.9f} kJ/kg")
    assert by_work.water_c == pytest.approx(by_motor.water_c, abs=1e-6)


def test_the_work_of_a_trial_mix_serves_the_next_one() -> None:
    trial = heat_balance(LOAF, room="21 °C", temperatures={"flour": "19 °C"}, water="16 °C", target="25.5 °C")
    assert trial.sought == "work"
    next_mix = heat_balance(LOAF, room="27 °C", temperatures={"flour": "25 °C"}, target="25.5 °C", work=trial.work)
    again = heat_balance(LOAF, room="27 °C", temperatures={"flour": "25 °C"}, water=next_mix.water, work=trial.work)
    assert again.dough_c == pytest.approx(25.5, abs=1e-7)


# -- what goes in ------------------------------------------------------------------------------------------------------


def bodies(made: HeatBalance) -> dict[str, Body]:
    return {body.name: body for body in made.bodies}


def test_stages_come_as_bodies_of_their_own_temperature() -> None:
    given = {"biga": "17 °C", "soaker": "9 °C", "flour": "20 °C", "medium rye flour": "18 °C"}
    made = heat_balance(SEEDED, target="24 °C", room="22 °C", work="4 Wh/kg", temperatures=given)
    found = bodies(made)
    assert {name: body.temperature_c for name, body in found.items()} == {
        "bread flour": 20.0, "medium rye flour": 18.0, "salt": 22.0, "fresh yeast": 22.0, "biga": 17.0, "soaker": 9.0,
    }  # fmt: skip
    biga = (100 * FLOUR_CP.value + 55 * WATER_CP.value + 0.2 * 3.2) / 155.2
    assert found["biga"].cp_kj_kg_k == pytest.approx(biga)
    assert found["biga"].mass_g == pytest.approx(SEEDED.mass_g("biga"))
    # Poured is only the water that is still to be poured.
    assert made.poured == Poured(
        "water",
        SEEDED.mass_g("water", stage="final"),
        WATER_CP.value,
        made.poured.mass_g,
        "iapws",
        ingredient_cp(SEEDED.formula.catalogue.find("water")),
    )
    assert made.mass_g == pytest.approx(SEEDED.dough_g)
    assert [each.code for each in made.cautions] == ["bowl-left-out"]


def test_a_specific_heat_put_together_from_a_composition_shows_how() -> None:
    batch = Formula.from_percents("x", {"bread flour": 100, "water": 70, "sunflower seeds": 10}).scale(dough="20 kg")
    working = heat_balance(batch, target="24 °C", room="22 °C", work="4 Wh/kg").working()
    inside = {step.note.partition(":")[0]: [each.title for each in step.inside] for step in working.steps}
    # What was looked up has its source and needs no working.
    assert inside["water"] == inside["bread flour"] == []
    assert inside["sunflower seeds"] == ["Specific heat of sunflower seeds"]
    check_working(working, working.value)


def test_a_stage_in_a_stage_and_what_boils_off() -> None:
    scald = Stage("scald", {"medium rye flour": 100, "water": 300}, boiled_off=50)
    sponge = Stage("sponge", {"bread flour": 100, "water": 60, "scald": 100}, flour="50 %")
    lines = {"bread flour": 80, "medium rye flour": 20, "water": 80, "salt": 2}
    batch = Formula.from_percents("Deep", lines, stages=[sponge, scald]).scale(flour="10 kg")
    made = heat_balance(batch, target="26 °C", room="22 °C", work="4 Wh/kg", temperatures={"sponge": "24 °C"})
    inner = (100 * 1.84 + 250 * 4.19) / 350
    scald_g, flour_g, water_g = (batch.mass_g(name, stage="sponge") for name in ("scald", "bread flour", "water"))
    outer = (scald_g * inner + flour_g * 1.84 + water_g * 4.19) / (scald_g + flour_g + water_g)
    assert bodies(made)["sponge"].cp_kj_kg_k == pytest.approx(outer)


def test_the_water_of_a_stage_can_be_found_by_itself() -> None:
    made = heat_balance(
        AUTOLYSE, room="22 °C", temperatures={"flour": "19 °C"}, target="21 °C", work="0.5 Wh/kg", stage="autolyse"
    )
    assert made.poured.mass_g == pytest.approx(32_500)
    assert made.dry_flour_g == pytest.approx(50_000)
    assert "of the autolyse" in made.working().title
    # In the dough that follows nothing is poured and no flour is dry.
    dough = heat_balance(AUTOLYSE, room="22 °C", temperatures={"autolyse": made.dough}, work="4 Wh/kg")
    assert (dough.water_c, dough.water, dough.dry_flour_g, dough.hydration_kj) == (None, None, 0.0, 0.0)
    assert dough.water_per_dough_k is None
    assert dough.water_per_flour_k is None
    assert dough.dough_c > 21.0


def test_milk_is_poured_where_there_is_no_water() -> None:
    made = heat_balance(BUN, **WARM, target="26 °C", work="5 Wh/kg")
    assert (made.poured.name, made.poured.water_g, made.poured.cp_kj_kg_k) == ("whole milk", 0.0, 3.85)
    assert bodies(made)["egg"].temperature_c == 22.0
    cold = {"dairy": "5 °C", "egg": "5 °C", "butter": "16 °C", "flour": "20 °C"}
    chilled = heat_balance(BUN, room="22 °C", temperatures=cold, target="26 °C", work="5 Wh/kg")
    assert bodies(chilled)["egg"].temperature_c == 5.0
    assert bodies(chilled)["butter"].temperature_c == 16.0
    assert chilled.water_c is not None
    assert made.water_c is not None
    assert chilled.water_c > made.water_c
    # Named, it is a body like another, and nothing is left to pour.
    named = heat_balance(BUN, room="22 °C", temperatures={"whole milk": "5 °C"}, work="5 Wh/kg")
    assert named.water is None
    assert bodies(named)["whole milk"].temperature_c == 5.0


def test_two_waters_and_milk_beside_them() -> None:
    lines = {"bread flour": 100, "water": 30, "municipal water": 20, "whole milk": 10}
    batch = Formula.from_percents("Mixed", lines).scale(flour="10 kg")
    made = heat_balance(batch, **WARM, target="26 °C", work="5 Wh/kg")
    assert made.poured.name == "water and municipal water"
    assert made.poured.mass_g == pytest.approx(5_000)
    assert bodies(made)["whole milk"].temperature_c == 22.0
    assert "room-temperature-assumed" in [each.code for each in made.cautions]


def test_late_additions_are_left_out_or_counted() -> None:
    without = heat_balance(LATE, **WARM, target="24 °C", work="5 Wh/kg")
    assert without.poured.mass_g == pytest.approx(7_000)
    assert set(bodies(without)) == {"bread flour", "salt"}
    assert caution(without, "later-left-out").startswith("water, raisins added after the mix is left out")
    counted = heat_balance(LATE, **WARM, target="24 °C", work="5 Wh/kg", later={"water": "5 °C", "raisins": "20 °C"})
    assert counted.poured.mass_g == pytest.approx(7_000)
    late = bodies(counted)
    assert late["water, later"].mass_g == pytest.approx(1_000)
    assert (late["water, later"].temperature_c, late["raisins, later"].temperature_c) == (5.0, 20.0)
    assert counted.mass_g == pytest.approx(LATE.dough_g)
    assert "later-left-out" not in [each.code for each in counted.cautions]


def test_the_bowl() -> None:
    made = heat_balance(LOAF, **WARM, target="25 °C", work="4 Wh/kg", bowl="60 kg")
    assert bodies(made)["bowl"] == Body("bowl", "bowl", 60_000.0, STEEL_CP.value, 22.0, STEEL_CP.source, STEEL_CP.where)
    assert made.mass_g == pytest.approx(84_000)
    cold = heat_balance(
        LOAF,
        room="22 °C",
        temperatures={"flour": "20 °C", "bowl": "8 °C"},
        target="25 °C",
        work="4 Wh/kg",
        bowl="60 kg",
    )
    assert cold.water_c is not None
    assert made.water_c is not None
    assert cold.water_c - made.water_c == pytest.approx(60 * 0.48 * 14 / (32.5 * 4.19))


def test_a_name_counts_before_its_kind_and_any_spelling_will_do() -> None:
    given = {"Flour": "20 °C", "MEDIUM_RYE flour": "15 °C"}
    found = bodies(heat_balance(SEEDED, room="22 °C", temperatures=given, target="24 °C", work="4 Wh/kg"))
    assert (found["bread flour"].temperature_c, found["medium rye flour"].temperature_c) == (20.0, 15.0)
    # A kind that this mix has none of is no mistake: the same list serves many breads.
    assert "room-temperature-assumed" not in codes(
        LOAF, **{**WARM, "temperatures": {"dairy": "4 °C"}}, target="25 °C", work="4 Wh/kg"
    )


def test_hydration_heat_can_be_given() -> None:
    none = heat_balance(LOAF, **WARM, target="25 °C", work="4 Wh/kg", hydration_heat="0 kJ/kg")
    assert none.hydration_kj == 0.0
    usual = heat_balance(LOAF, **WARM, target="25 °C", work="4 Wh/kg", hydration_heat="15.12 kJ/kg")
    assert usual == heat_balance(LOAF, **WARM, target="25 °C", work="4 Wh/kg")


# -- beside the rule ---------------------------------------------------------------------------------------------------


def test_beside_the_rule() -> None:
    made = heat_balance(LOAF, **WARM, target="25 °C", work="4 Wh/kg", friction="16 K")
    assert made.rule_c == pytest.approx(3 * 25 - 20 - 22 - 16)
    assert made.rule_difference_k == pytest.approx(17.0 - (made.water_c or 0))
    back = heat_balance(LOAF, **WARM, water="14 °C", work="4 Wh/kg", friction="16 K")
    assert back.rule_c == pytest.approx((20 + 22 + 14 + 16) / 3)
    assert back.rule_difference_k == pytest.approx((back.rule_c or 0) - back.dough_c)
    assert heat_balance(LOAF, **WARM, target="25 °C", work="4 Wh/kg").rule_difference_k is None


def test_beside_the_rule_with_stages() -> None:
    given = {"biga": "17 °C", "soaker": "9 °C", "flour": "20 °C", "medium rye flour": "17 °C"}
    made = heat_balance(SEEDED, target="24 °C", room="22 °C", work="4 Wh/kg", temperatures=given, friction="25 K")
    flour_c = (
        20 * SEEDED.mass_g("bread flour", stage="final") + 17 * SEEDED.mass_g("medium rye flour", stage="final")
    ) / 30_000
    assert made.rule_c == pytest.approx(5 * 24 - flour_c - 22 - 17 - 9 - 25)
    factor = friction_factor(dough="24 °C", flour="20 °C", room="22 °C", water="14 °C")
    with pytest.raises(QuantityError, match=r"friction: got a factor for 3 temperatures.*rescale it"):
        heat_balance(SEEDED, target="24 °C", room="22 °C", work="4 Wh/kg", temperatures=given, friction=factor)


def test_the_rule_and_the_balance_agree_where_the_factor_was_measured_and_part_away_from_it() -> None:
    """One trial mix gives both a factor and a work.  In its own conditions they agree; on a hot day they do not."""
    trial: dict[str, Any] = {"room": "20 °C", "water": "16 °C"}
    made = heat_balance(LOAF, **trial, temperatures={"flour": "20 °C"}, target="24 °C", bowl="60 kg")
    factor = friction_factor(dough="24 °C", flour="20 °C", **trial)
    same = heat_balance(
        LOAF,
        room="20 °C",
        temperatures={"flour": "20 °C"},
        target="24 °C",
        work=made.work,
        friction=factor,
        bowl="60 kg",
    )
    assert same.rule_difference_k == pytest.approx(0.0, abs=1e-6)
    summer = heat_balance(
        LOAF,
        room="30 °C",
        temperatures={"flour": "28 °C"},
        target="24 °C",
        work=made.work,
        friction=factor,
        bowl="60 kg",
    )
    assert summer.water_c is not None
    # By the rule the water must make up for all of the 8 and 10 K, by the balance only for their share.
    assert summer.rule_c == pytest.approx(16.0 - 18.0)
    assert summer.water_c == pytest.approx(16.0 - 8 * 92 / 136.175 - 10 * (60 * 0.48 + 0.864 + 1.6) / 136.175, abs=1e-6)
    assert summer.rule_difference_k == pytest.approx(-10.3, abs=0.05)


# -- how far off -------------------------------------------------------------------------------------------------------


def test_constant_specific_heats_move_the_dough_by_less_than_a_tenth_of_a_kelvin() -> None:
    """Against heats that change with temperature: water by IAPWS-95, flour by the slope of its composition."""
    grid_c = np.arange(0.01, 60.0, 1.0)
    heats = np.array([IAPWS95(T=273.15 + value, P=0.101325).h for value in grid_c.tolist()])

    def water_kj_kg(temperature_c: float) -> float:
        return float(np.interp(temperature_c, grid_c, heats))

    def composition(temperature_c: float) -> float:
        return composition_cp_kj_kg_k(0.1336, 0.1198, 0.0166, 0.7013, 0.024, 0.0047, temperature_c)

    def flour_kj_kg(low_c: float, high_c: float) -> float:
        return float(quad(composition, low_c, high_c)[0]) * FLOUR_CP.value / composition(20.0)

    worst, counted = 0.0, 0
    for hydration, flour_c, water_c, work in itertools.product(
        (0.55, 0.8), (0.0, 10.0, 20.0, 35.0), (2.0, 10.0, 20.0, 30.0, 50.0), (0.0, 20.0, 39.0)
    ):
        heat_kj = work * (1 + hydration) + HYDRATION_HEAT.value
        capacities, temperatures = (FLOUR_CP.value, hydration * WATER_CP.value), (flour_c, water_c)
        closed_c = balanced_dough_c(capacities, temperatures, heat_kj)
        if not 10 <= closed_c <= 35:
            continue

        def surplus(
            dough_c: float, f: float = flour_c, w: float = water_c, h: float = hydration, q: float = heat_kj
        ) -> float:
            return flour_kj_kg(f, dough_c) + h * (water_kj_kg(dough_c) - water_kj_kg(w)) - q

        worst = max(worst, abs(brentq(surplus, 1.0, 59.0, xtol=1e-9) - closed_c))
        counted += 1
    assert counted > 50
    assert 0.02 < worst < 0.1


def test_the_spread_of_the_flours_specific_heat_moves_the_dough_by_less_than_is_said() -> None:
    for hydration in (0.55, 0.65, 0.8):
        found = [
            balanced_dough_c((cp, hydration * WATER_CP.value), (9.0, 33.0 if hydration < 0.6 else 30.0), 0.0)
            for cp in (FLOUR_CP.value - FLOUR_CP.uncertainty, FLOUR_CP.value + FLOUR_CP.uncertainty)
        ]
        assert found[0] - 9.0 < 15.0
        assert (found[0] - found[1]) / 2 < 0.15


# -- cautions ----------------------------------------------------------------------------------------------------------


def test_the_bowl_and_what_is_assumed_are_named() -> None:
    assert codes(LOAF, **WARM, target="25 °C", work="4 Wh/kg") == ["bowl-left-out"]
    assert codes(LOAF, **WARM, target="25 °C", work="4 Wh/kg", bowl="60 kg") == []
    made = heat_balance(SEEDED, **WARM, target="24 °C", work="4 Wh/kg", bowl="60 kg")
    assert caution(made, "stage-temperature-assumed").startswith(
        "biga, soaker is taken to be as warm as the room (22 °C)"
    )
    made = heat_balance(BUN, **WARM, target="26 °C", work="5 Wh/kg", bowl="20 kg")
    assert caution(made, "room-temperature-assumed").startswith("egg is taken")


def test_an_unknown_composition_is_named_also_in_a_stage() -> None:
    own = Catalogue().adding(Ingredient("harbour spice", kind="other"))
    soaker = Stage(
        "soaker", {"sunflower seeds": 100, "water": 80, "harbour spice": 10}, takes=("sunflower seeds", "100 %")
    )
    lines = {"bread flour": 100, "water": 75, "sunflower seeds": 10, "harbour spice": 1, "improver": 1}
    batch = Formula.from_percents("Spiced", lines, stages=[soaker], catalogue=own).scale(flour="10 kg")
    made = heat_balance(batch, **WARM, target="24 °C", work="4 Wh/kg")
    assert caution(made, "specific-heat-assumed").startswith("nobody has said what improver, harbour spice is made of")


def water_codes(**case: Any) -> list[str]:  # noqa: ANN401
    return codes(LOAF, room="22 °C", bowl="60 kg", **case)


def test_water_that_cannot_be_poured_or_kills_yeast() -> None:
    assert water_codes(water="0.5 °C", work="4 Wh/kg") == ["very-cold"]
    assert water_codes(water="2 °C", work="4 Wh/kg") == []
    assert water_codes(water="-0.5 °C", work="4 Wh/kg") == ["needs-ice"]
    assert water_codes(water="50 °C", work="4 Wh/kg") == []
    assert water_codes(water="50.1 °C", work="4 Wh/kg") == ["too-hot-for-yeast", "scald", "cannot-be-reached"]
    assert water_codes(water="100 °C", work="4 Wh/kg")[0] == "steam"
    assert water_codes(water="-85 °C", work="4 Wh/kg") == ["cannot-be-reached"]
    assert water_codes(target="20 °C", work="6 Wh/kg") == ["needs-ice"]
    assert water_codes(target="20 °C", work="6 Wh/kg", tap="14 °C") == ["clean-ice"]
    assert water_codes(target="0 °C", work="10 Wh/kg", tap="14 °C") == ["clean-ice", "much-ice"]


def test_ice_out_of_reach_tells_what_would_do() -> None:
    asked: dict[str, Any] = {"room": "30 °C", "bowl": "60 kg"}
    made = heat_balance(STIFF, **asked, target="25 °C", work="10 Wh/kg", tap="20 °C")
    assert (made.ice_g, made.ice, made.draw_g, made.draw) == (None, None, None, None)
    text = caution(made, "cannot-be-reached")
    coldest_c = -LATENT_HEAT.value / WATER_CP.value
    reached = heat_balance(STIFF, **asked, water=f"{coldest_c:.9f} °C", work="10 Wh/kg")
    assert f"at {coldest_c:.1f} °C the dough comes to {reached.dough_c:.1f} °C" in text
    flour_c = float(text.split("with the flour at ")[1].split(" ")[0])
    less_wh = float(text.split(" or with ")[1].split(" ")[0])
    cooled = heat_balance(STIFF, **asked, temperatures={"flour": f"{flour_c} °C"}, target="25 °C", work="10 Wh/kg")
    shorter = heat_balance(STIFF, **asked, target="25 °C", work=f"{10 - less_wh:.6f} Wh/kg")
    for changed in (cooled, shorter):
        assert changed.water_c == pytest.approx(coldest_c, abs=0.2)


def test_ice_colder_than_freezing_reaches_further() -> None:
    coldest_c = -(LATENT_HEAT.value + ICE_CP.value * 20) / WATER_CP.value
    case: dict[str, Any] = {"room": "22 °C", "work": "6 Wh/kg", "tap": "14 °C"}
    target = heat_balance(LOAF, room="22 °C", work="6 Wh/kg", water=f"{coldest_c + 0.01:.9f} °C").dough
    assert heat_balance(LOAF, target=target, **case).ice is None
    made = heat_balance(LOAF, target=target, ice="-20 °C", **case)
    assert made.ice_g == pytest.approx(32_500, rel=1e-3)


def test_warm_water_out_of_reach_tells_what_would_do() -> None:
    made = heat_balance(
        LOAF, room="12 °C", temperatures={"flour": "5 °C"}, target="36 °C", work="1 Wh/kg", bowl="60 kg"
    )
    text = caution(made, "cannot-be-reached")
    flour_c = float(text.split("with the flour at ")[1].split(" ")[0])
    warmed = heat_balance(
        LOAF, room="12 °C", temperatures={"flour": f"{flour_c} °C"}, target="36 °C", work="1 Wh/kg", bowl="60 kg"
    )
    assert warmed.water_c == pytest.approx(50.0, abs=0.1)
    assert "less mixing work" not in text
    far = heat_balance(LOAF, room="0 °C", target="60 °C", work="1 Wh/kg", bowl="60 kg")
    assert "no single change is enough" in caution(far, "cannot-be-reached")


def test_milk_cannot_be_replaced_by_ice() -> None:
    made = heat_balance(BUN, room="30 °C", target="15 °C", work="8 Wh/kg", tap="15 °C", bowl="20 kg")
    assert made.ice is None
    assert "whole milk of" in caution(made, "cannot-be-reached")
    assert "colder than it can be poured: at 0 °C the dough comes to" in caution(made, "cannot-be-reached")


def test_without_dry_flour_the_flour_is_no_way_out() -> None:
    lines = {"bread flour": 100, "water": 65}
    batch = Formula.from_percents(
        "All wet", lines, stages=[Stage("sponge", {"bread flour": 100, "water": 50}, flour="100 %")]
    ).scale(flour="10 kg")
    made = heat_balance(batch, room="30 °C", target="5 °C", work="1 Wh/kg", tap="15 °C")
    assert made.ice is None
    assert "flour at" not in caution(made, "cannot-be-reached")


def test_odd_work() -> None:
    made = heat_balance(LOAF, room="22 °C", target="18 °C", water="18 °C", bowl="60 kg")
    assert made.work_kj_kg < 0
    assert [each.code for each in made.cautions] == ["negative-work"]
    assert codes(LOAF, room="22 °C", target="30 °C", work="5 Wh/lb", bowl="60 kg", tap="14 °C") == ["clean-ice"]
    assert codes(LOAF, room="22 °C", target="40 °C", work="12 Wh/kg", bowl="60 kg") == ["much-work"]
    assert read(ENERGY_PER_MASS, "5 Wh/lb", "work") == pytest.approx(INTENSE_WORK.value, abs=0.005)


# -- refusals ----------------------------------------------------------------------------------------------------------

ASK: dict[str, Any] = {"room": "22 °C", "target": "25 °C", "work": "4 Wh/kg"}


@pytest.mark.parametrize(
    ("batch", "case", "words"),
    [
        (LOAF, {"work": None}, 'work: got nothing, expected the mixing work; there is no default: give work="4 Wh/kg"'),
        (LOAF, {"work": None, "target": None}, "work: got nothing"),
        (LOAF, {"work": None, "target": None, "water": "9 °C"}, "work: got nothing"),
        (LOAF, {"target": None}, "target: got neither target nor water, expected one of the two"),
        (LOAF, {"water": "9 °C"}, "heat_balance: got target, water and mixing work, expected two of the three"),
        (LOAF, {"work": "4 Wh"}, "work: got '4 Wh', expected an energy per mass; Wh is a unit of an energy"),
        (LOAF, {"power": "4 kW"}, "work: got work and the motor's power"),
        (LOAF, {"work": None, "power": "4 kW"}, "work: got no time and share, expected power, time and share"),
        (LOAF, {"work": None, "power": "4 kW", "time": "6 min"}, "work: got no share"),
        (LOAF, {"work": None, "power": "4 kW", "time": "6 min", "share": "120 %"}, "share: got 120%, expected at most 100 %"),
        (LOAF, {"tap": "-1 °C"}, "tap: got -1 °C, expected liquid water"),
        (LOAF, {"tap": "101 °C"}, "tap: got 101 °C"),
        (LOAF, {"tap": "9 °C", "target": None, "water": "9 °C"}, "tap: got a tap while the water's temperature is not sought"),
        (LOAF, {"ice": "1 °C"}, "ice: got 1 °C, expected ice, at most 0 °C"),
        (LOAF, {"temperatures": {"water": "9 °C"}}, "temperatures: water: got the temperature of what is poured"),
        (LOAF, {"temperatures": {"tap water": "9 °C"}}, "temperatures: tap water: got the temperature of what is poured"),
        (LOAF, {"temperatures": {"biga": "9 °C"}}, "temperatures: biga: got a name that is nothing in this mix"),
        (LOAF, {"temperatures": {"rye flour": "9 °C"}}, "temperatures: rye flour: got a name that is nothing in this mix, expected a line of this mix"),
        (LOAF, {"temperatures": {"bowl": "9 °C"}}, "temperatures: bowl: got the temperature of a bowl without its weight"),
        (LOAF, {"later": {"water": "9 °C"}}, "later: water: got what is not added later, expected nothing"),
        (LATE, {"later": {"salt": "9 °C"}}, "later: salt: got what is not added later, expected one of water, raisins"),
        (LOAF, {"friction": "8"}, "friction: got '8', expected a temperature difference"),
        (AUTOLYSE, {}, "target: got a mix into which nothing is poured, expected water to pour; set the temperature of what is already wet"),
        (AUTOLYSE, {"target": None, "water": "9 °C"}, "water: got a mix into which nothing is poured"),
        (AUTOLYSE, {"target": None, "friction": "8 K"}, "friction: got a factor where nothing is poured"),
        (LOAF, {"work": None, "water": "9 °C", "friction": "8 K"}, "friction: got a factor where nothing is poured, no flour is dry or the work is sought"),
    ],
)  # fmt: skip
def test_refusals(batch: Batch, case: dict[str, Any], words: str) -> None:
    asked = {name: value for name, value in {**ASK, **case}.items() if value is not None}
    with pytest.raises(QuantityError) as caught:
        heat_balance(batch, **asked)
    assert words in str(caught.value)
    assert len(caught.value.faults) == 1


def test_stages_that_are_elsewhere() -> None:
    scald = Stage("scald", {"medium rye flour": 100, "water": 300})
    sponge = Stage("sponge", {"bread flour": 100, "water": 60, "scald": 100}, flour="50 %")
    lines = {"bread flour": 80, "medium rye flour": 20, "water": 80, "salt": 2}
    batch = Formula.from_percents("Deep", lines, stages=[sponge, scald]).scale(flour="10 kg")
    with pytest.raises(QuantityError, match="temperatures: scald: got a stage that goes into sponge"):
        heat_balance(batch, **ASK, temperatures={"scald": "60 °C"})
    with pytest.raises(UnknownNameError, match="stage: got 'poolish', expected one of scald, sponge, final"):
        heat_balance(batch, **ASK, stage="poolish")


def test_a_factor_needs_dry_flour() -> None:
    lines = {"bread flour": 100, "water": 65}
    batch = Formula.from_percents(
        "All wet", lines, stages=[Stage("sponge", {"bread flour": 100, "water": 50}, flour="100 %")]
    ).scale(flour="10 kg")
    with pytest.raises(QuantityError, match="friction: got a factor where nothing is poured, no flour is dry"):
        heat_balance(batch, **ASK, friction="8 K")


def test_a_stage_may_not_bear_a_name_of_the_balance() -> None:
    stage = Stage("mixing work", {"bread flour": 100, "water": 60}, flour="50 %")
    batch = Formula.from_percents("Odd", {"bread flour": 100, "water": 65}, stages=[stage]).scale(flour="10 kg")
    with pytest.raises(QuantityError, match="mixing work: got a line with a name of the balance's own"):
        heat_balance(batch, **ASK)


def test_every_bad_argument_is_named_at_once() -> None:
    with pytest.raises(QuantityError) as caught:
        heat_balance(
            SEEDED,
            room=22,  # type: ignore[arg-type]
            target="25 C",
            water="3",
            power="4",
            temperatures={"biga": "x", "poolish": "3 °C", "bowl": "4 °C"},
            later={"salt": "4 °C"},
            tap="-3 °C",
            ice="3 °C",
            hydration_heat="15",
        )
    assert [fault.where for fault in caught.value.faults] == [
        "room", "target", "water", "hydration_heat", "work", "tap", "ice", "temperatures: biga", "temperatures: poolish",
        "temperatures: bowl", "later: salt", "heat_balance",
    ]  # fmt: skip


def test_something_that_is_no_batch() -> None:
    with pytest.raises(QuantityError, match="batch: got an object of type Formula, expected a batch"):
        heat_balance(Formula.from_percents("Loaf", PLAIN), **ASK)  # type: ignore[arg-type]


# -- values ------------------------------------------------------------------------------------------------------------


def test_views_and_values() -> None:
    asked: dict[str, Any] = {
        "target": "20 °C",
        "work": "9 Wh/kg",
        "tap": "18 °C",
        "ice": "-10 °C",
        "bowl": "60 kg",
        "friction": "16 K",
    }
    made = heat_balance(LOAF, **WARM, **asked)
    for view, value, unit in (
        (made.dough, made.dough_c, "degC"),
        (made.water, made.water_c, "degC"),
        (made.work, made.work_kj_kg, "kJ/kg"),
        (made.hydration_heat, 15.12, "kJ/kg"),
        (made.tap, 18.0, "degC"),
        (made.ice_temperature, -10.0, "degC"),
        (made.ice, made.ice_g, "g"),
        (made.draw, made.draw_g, "g"),
        (made.rule, made.rule_c, "degC"),
        (made.rise, made.rise_k, "delta_degC"),
        (made.hydration_rise, made.hydration_rise_k, "delta_degC"),
        (made.poured.mass, 32_500.0, "g"),
        (made.poured.water, 32_500.0, "g"),
        (made.bodies[0].mass, 50_000.0, "g"),
        (made.bodies[0].temperature, 20.0, "degC"),
    ):
        assert view is not None
        assert view.m_as(unit) == pytest.approx(value)
    plain = heat_balance(LOAF, **WARM, water="14 °C", work="4 Wh/kg")
    assert plain.tap is plain.ice is plain.draw is plain.rule is None
    in_fahrenheit: dict[str, Any] = {
        "target": "68 °F",
        "work": "32.4 kJ/kg",
        "tap": "64.4 °F",
        "ice": "14 °F",
        "bowl": "60000 g",
        "friction": "28.8 °F",
    }
    same = heat_balance(LOAF, room="71.6 °F", temperatures={"flour": "68 °F"}, **in_fahrenheit)
    assert (made, hash(made)) == (same, hash(same))
    assert pickle.loads(pickle.dumps(made)) == copy.deepcopy(made) == made  # noqa: S301 - our own bytes


def test_the_kernels_keep_their_dimensions() -> None:
    registry: Any = pint.UnitRegistry()
    kelvin, kilojoule = registry.kelvin, registry.kilojoule
    capacities = (1.84 * kilojoule / kelvin, 2.72 * kilojoule / kelvin)
    temperatures = (293.15 * kelvin, 288.15 * kelvin)
    dough: Any = balanced_dough_c(capacities, temperatures, 20 * kilojoule)
    assert dough.m_as("kelvin") == pytest.approx(balanced_dough_c((1.84, 2.72), (293.15, 288.15), 20.0))
    water: Any = balanced_water_c(dough, capacities[:1], temperatures[:1], 20 * kilojoule, capacities[1])
    assert water.m_as("kelvin") == pytest.approx(288.15)
    work: Any = mixing_work_kj(dough, capacities, temperatures, 0 * kilojoule)
    assert work.m_as("kilojoule") == pytest.approx(20.0)
    rise: Any = rise_from_work_k(39.6 * kilojoule / registry.kilogram, 2.7 * kilojoule / registry.kilogram / kelvin)
    assert rise.m_as("kelvin") == pytest.approx(14.667, abs=5e-4)


def test_the_kernels_take_arrays() -> None:
    flours: Any = np.array([15.0, 20.0, 25.0])
    found: Any = balanced_dough_c((1.84, 2.72), (flours, 15.0), 20.0)
    assert found.tolist() == pytest.approx(
        [balanced_dough_c((1.84, 2.72), (value, 15.0), 20.0) for value in flours.tolist()], rel=1e-14
    )
    found = balanced_water_c(25.0, (1.84,), (flours,), 20.0, 2.72)
    assert found.tolist() == pytest.approx(
        [balanced_water_c(25.0, (1.84,), (value,), 20.0, 2.72) for value in flours.tolist()], rel=1e-14
    )
    found = mixing_work_kj(25.0, (1.84, 2.72), (flours, 15.0), 5.0)
    assert found.tolist() == pytest.approx(
        [mixing_work_kj(25.0, (1.84, 2.72), (value, 15.0), 5.0) for value in flours.tolist()], rel=1e-14
    )
    hydrations: Any = np.array([55.0, 80.0])
    assert water_per_dough_k(hydrations).tolist() == [water_per_dough_k(55.0), water_per_dough_k(80.0)]  # type: ignore[attr-defined]


class TestTheAir:
    """Heat from the room's air: surface times coefficient times time, for each kelvin between room and dough."""

    LOAF = Formula.from_percents("Air loaf", {"bread flour": 100, "water": 65}).scale(dough="100 kg")
    GIVEN = {"room": "35 °C", "temperatures": {"flour": "20 °C"}, "work": "4 Wh/kg"}  # noqa: RUF012 - never changed

    def test_by_hand(self) -> None:
        # 12 W/K over 10 minutes is 7.2 kJ/K: at 35 - 25 = 10 K it brings 72 kJ, which colder water makes up for.
        without = heat_balance(self.LOAF, target="25 °C", **self.GIVEN)  # type: ignore[arg-type]
        with_air = heat_balance(self.LOAF, target="25 °C", air="12 W/K", time="10 min", **self.GIVEN)  # type: ignore[arg-type]
        assert with_air.energies_kj["air"] == pytest.approx(72)
        assert without.water_c is not None
        assert with_air.water_c is not None
        poured_kj_k = without.poured.capacity_kj_k
        assert without.water_c - with_air.water_c == pytest.approx(72 / poured_kj_k)
        assert sum(with_air.energies_kj.values()) == pytest.approx(0, abs=1e-9 * 1e4)
        # The air is no dough.
        assert with_air.mass_g == without.mass_g
        check_working(with_air.working(), with_air.water_c)

    def test_a_room_at_the_dough_s_temperature_gives_nothing(self) -> None:
        given = {**self.GIVEN, "room": "25 °C"}
        found = heat_balance(self.LOAF, target="25 °C", air="12 W/K", time="10 min", **given)  # type: ignore[arg-type]
        assert found.energies_kj["air"] == pytest.approx(0, abs=1e-9)

    def test_with_a_motor_the_time_is_the_motor_s(self) -> None:
        given = {"room": "35 °C", "power": "5 kW", "share": "50 %", "time": "10 min"}
        found = heat_balance(self.LOAF, target="25 °C", air="12 W/K", **given)  # type: ignore[arg-type]
        assert found.energies_kj["air"] == pytest.approx(72)

    def test_it_needs_a_time(self) -> None:
        with pytest.raises(QuantityError, match="how long the dough is in the mixer"):
            heat_balance(self.LOAF, target="25 °C", air="12 W/K", **self.GIVEN)  # type: ignore[arg-type]
        with pytest.raises(QuantityError, match="a heat exchange"):
            heat_balance(self.LOAF, target="25 °C", air="12 W", time="10 min", **self.GIVEN)  # type: ignore[arg-type]


def test_the_work_of_a_motor_is_its_power_times_its_time() -> None:
    units: pint.UnitRegistry[float] = pint.UnitRegistry()
    motor = Motor(power_kw=5.5, time_h=0.2, share=0.6)
    work = 0.6 * units.Quantity(5.5, "kW") * units.Quantity(0.2, "h")
    assert motor.work_kj == pytest.approx(work.to("kJ").magnitude)


def test_each_body_needs_its_temperature() -> None:
    with pytest.raises(ValueError, match="shorter"):
        balanced_dough_c((1.84, 2.7), (20.0,), 10.0)
    with pytest.raises(ValueError, match="shorter"):
        balanced_water_c(25.0, (1.84, 2.7), (20.0,), 10.0, 2.7)
    with pytest.raises(ValueError, match="shorter"):
        mixing_work_kj(25.0, (1.84, 2.7), (20.0,), 10.0)
