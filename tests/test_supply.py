"""Water supply: taps, blends, ice, what cannot be reached and what would do instead, and the limits of yeast."""

import copy
import pickle
from typing import Any

import numpy as np
import pint
import pytest

from formula import ice, supply
from formula.errors import QuantityError
from formula.ice import ice_for
from formula.mixtime import friction_from_minutes
from formula.reach import highest_c, out_of_reach, use_cautions
from formula.supply import Draw, draw_water, to_step_g
from formula.water import dough_temperature, water_temperature
from tests.arithmetic import check_working

SUPPLY: Any = supply
ICE: Any = ice


def codes(made: Draw) -> list[str]:
    return [caution.code for caution in made.cautions]


def parts(made: Draw) -> dict[str, float]:
    return {part.name: part.mass_g for part in made.parts}


@pytest.mark.parametrize(
    ("wanted", "name"),
    [("14 °C", "tap"), ("4 °C", "chilled"), ("58 °C", "hot"), ("57.2 °F", "tap")],
)
def test_one_tap_alone(wanted: str, name: str) -> None:
    made = draw_water(wanted, "20 kg", tap="14 °C", chilled="4 °C", hot="58 °C", ice="0 °C", use="none")
    assert (made.method, parts(made), made.reachable) == ("one", {name: 20_000.0}, True)
    assert made.reached_c == made.wanted_c
    check_working(made.working(), made.reached_c)


def test_a_tap_that_is_right_but_for_a_rounding() -> None:
    rule = water_temperature("25.1 °C", flour="20.2 °C", room="22.3 °C", friction="18.8 K")
    assert rule.temperature_c != 14.0
    made = draw_water(rule, "20 kg", tap="14 °C")
    assert (made.method, made.reachable) == ("one", True)


def test_a_blend_of_two() -> None:
    """18 kg of 30 °C from 60 °C and 15 °C: (30 - 15) / (60 - 15) is a third."""
    made = draw_water("30 °C", "18 kg", tap="15 °C", hot="60 °C")
    assert made.method == "blend"
    assert parts(made) == pytest.approx({"hot": 6000.0, "tap": 12_000.0})
    assert made.reached_c == pytest.approx(30.0)
    assert codes(made) == ["hot-tap"]
    check_working(made.working(), made.reached_c)


def test_the_two_nearest_taps_are_blended() -> None:
    taps: dict[str, Any] = {"tap": "15 °C", "chilled": "5 °C", "hot": "45 °C"}
    assert parts(draw_water("9 °C", "10 kg", **taps)) == pytest.approx({"tap": 4000.0, "chilled": 6000.0})
    assert parts(draw_water("21 °C", "10 kg", **taps)) == pytest.approx({"hot": 2000.0, "tap": 8000.0})
    assert parts(draw_water("9 °C", "10 kg", tap="5 °C", hot="25 °C")) == pytest.approx({"hot": 2000.0, "tap": 8000.0})


def test_a_blend_on_the_scale() -> None:
    made = draw_water("40 °C", "20 kg", tap="12 °C", hot="60 °C", step="100 g")
    # 20 kg * 28 / 48 = 11667 g of hot: down to the step, and the rest is cold.
    assert parts(made) == {"hot": 11_600.0, "tap": 8400.0}
    assert made.reached_c == pytest.approx((11_600 * 60 + 8400 * 12) / 20_000)
    check_working(made.working(), made.reached_c)


@pytest.mark.parametrize("keep", ["total", "water"])
@pytest.mark.parametrize("latent", ["trade", "physical"])
@pytest.mark.parametrize("cold", ["0 °C", "-8 °C"])
def test_ice_as_ice_for_has_it(keep: Any, latent: Any, cold: str) -> None:  # noqa: ANN401
    made = draw_water("4 °C", "20 kg", tap="18 °C", ice=cold, keep=keep, latent=latent)
    same = ice_for("20 kg", tap="18 °C", wanted="4 °C", ice=cold, keep=keep, latent=latent)
    assert (made.ice_g, made.liquid_g) == pytest.approx((same.ice_g, same.water_g), rel=1e-12)
    assert made.reached_c == pytest.approx(4.0, abs=1e-9)
    check_working(made.working(), made.reached_c)


def test_ice_goes_with_the_coldest_tap() -> None:
    made = draw_water("0 °C", "20 kg", tap="18 °C", chilled="4 °C", ice="0 °C")
    assert parts(made) == pytest.approx({"chilled": 20_000 * 80 / 84, "ice": 20_000 * 4 / 84})


def test_ice_is_rounded_up_and_water_down() -> None:
    made = draw_water("6 °C", "20 kg", tap="18 °C", ice="0 °C", step="50 g")
    assert (made.ice_g, made.liquid_g) == (2450.0, 17_550.0)
    assert made.reached_c < 6.0
    check_working(made.working(), made.reached_c)
    on_top = draw_water("6 °C", "20 kg", tap="18 °C", ice="0 °C", step="50 g", keep="water")
    assert (on_top.ice_g, on_top.liquid_g) == (2800.0, 20_000.0)
    assert "more-water" in codes(on_top)
    check_working(on_top.working(), on_top.reached_c)


def test_a_whole_number_of_steps_stays() -> None:
    # 84 kg from 20 °C to 4 °C: 84 * 16 / 100 = 13.44 kg, whatever the arithmetic leaves behind it.
    assert draw_water("4 °C", "84 kg", tap="20 °C", ice="0 °C", step="10 g").ice_g == 13_440.0
    assert to_step_g(3 * 0.1, 0.1, 1.0, up=True) == pytest.approx(0.3)
    assert to_step_g(0.7 / 0.1 * 0.1, 0.1, 1.0, up=False) == pytest.approx(0.7)


def test_ice_never_outweighs_the_water() -> None:
    most = draw_water("-79.9 °C", "1005 g", tap="18 °C", ice="0 °C", step="100 g")
    assert (most.ice_g, most.liquid_g, most.reachable) == (1005.0, 0.0, True)
    beyond = draw_water("-95 °C", "20 kg", tap="18 °C", ice="0 °C")
    assert (beyond.reachable, parts(beyond), beyond.reached_c) == (False, {"tap": 0.0, "ice": 20_000.0}, -80.0)
    check_working(beyond.working(), beyond.reached_c)
    on_top = draw_water("-50 °C", "20 kg", tap="18 °C", ice="0 °C", keep="water")
    # As much ice as water: (18 - 80) / 2.
    assert (on_top.reachable, parts(on_top), on_top.reached_c) == (False, {"tap": 20_000.0, "ice": 20_000.0}, -31.0)


def test_much_ice_is_cautioned() -> None:
    assert "much-ice" in codes(draw_water("-40 °C", "20 kg", tap="18 °C", ice="0 °C"))
    assert "much-ice" not in codes(draw_water("-30 °C", "20 kg", tap="18 °C", ice="0 °C"))


def test_too_cold_for_the_taps() -> None:
    rule = water_temperature("17 °C", flour="22 °C", room="28 °C", friction="20 K")
    made = draw_water(rule, "20 kg", tap="0 °C", rate="2 K")
    assert rule.temperature_c == -19.0
    missed = made.out_of_reach
    assert missed is not None
    assert (made.reachable, made.aimed_c, parts(made)) == (False, 0.0, {"tap": 20_000.0})
    # 19 K too warm: the dough by 19 / 3, or else the flour, the room or the friction must make them up.
    assert missed.dough_c == pytest.approx(17 + 19 / 3)
    assert (missed.flour_c, missed.room_c, missed.friction_k) == (3.0, 9.0, 1.0)
    assert missed.shorter_h == pytest.approx(9.5 / 60)
    assert missed.alternatives == (
        "cool the flour to 3 °C (37.4 °F)",
        "cool the room to 9 °C (48.2 °F)",
        "shorten mixing by 9.5 min",
    )
    assert "The coldest dough is 23.3 °C (74 °F). Cool the flour to 3 °C" in str(missed)
    assert codes(made)[0] == "out-of-reach"
    assert made.cautions[0].text == str(missed)


def test_what_would_do_does() -> None:
    """Each alternative, put back into the rule, gives the dough with the water that can be had."""
    friction = friction_from_minutes("10 min", friction="2 K")
    rule = water_temperature("17 °C", flour="22 °C", room="28 °C", friction=friction)
    missed = draw_water(rule, "20 kg", tap="0 °C", rate="2 K").out_of_reach
    assert missed is not None
    mix: dict[str, Any] = {"flour": "22 °C", "room": "28 °C", "friction": "20 K", "water": "0 °C"}
    assert missed.dough_c == dough_temperature(**mix).temperature_c
    shorter = friction_from_minutes(f"{10 - (missed.shorter_h or 0) * 60} min", friction="2 K")
    for other in (
        {"flour": f"{missed.flour_c} °C"},
        {"room": f"{missed.room_c} °C"},
        {"friction": f"{missed.friction_k} K"},
        {"friction": shorter},
    ):
        assert dough_temperature(**(mix | other)).temperature_c == pytest.approx(17.0, abs=1e-8)


def test_what_would_not_do_is_not_advised() -> None:
    missed = out_of_reach(
        -60.0, 10.0, "no ice", water_temperature("10 °C", flour="25 °C", room="30 °C", friction="35 K"), 2.0
    )
    assert (missed.flour_c, missed.room_c, missed.friction_k, missed.shorter_h) == (None, None, None, None)
    assert missed.alternatives == ()
    assert str(missed).endswith("The coldest dough is 33.3 °C (92 °F).")
    hot = out_of_reach(90.0, 50.0, "yeast", water_temperature("45 °C", flour="20 °C", friction="-20 K"))
    assert (hot.flour_c, hot.room_c) == (None, None)
    without_rate = out_of_reach(-5.0, 2.0, "no ice", water_temperature("20 °C", flour="25 °C", friction="20 K"))
    assert without_rate.alternatives[-1] == "shorten mixing until its friction factor is 13 K"


def test_too_warm_for_the_taps() -> None:
    made = draw_water("30 °C", "20 kg", tap="14 °C")
    assert (made.reachable, made.reached_c) == (False, 14.0)
    assert str(made.out_of_reach) == "Water of 30 °C (86 °F) cannot be reached: the warmest water is 14 °C."
    assert made.out_of_reach is not None
    assert made.out_of_reach.dough_c is None


def test_too_hot_for_yeast() -> None:
    rule = water_temperature("32 °C", flour="10 °C", room="12 °C", friction="20 K")
    made = draw_water(rule, "20 kg", tap="14 °C", hot="60 °C", rate="2 K", step="100 g")
    assert rule.temperature_c == 54.0
    assert (made.reachable, made.aimed_c) == (False, 50.0)
    assert made.reached_c <= 50.0
    assert "too-hot-for-yeast" not in codes(made)
    missed = made.out_of_reach
    assert missed is not None
    assert missed.alternatives[0] == "warm the flour to 14 °C (57.2 °F)"
    assert missed.alternatives[-1] == "lengthen mixing by 2 min"
    assert "no yeast may meet water above 50 °C." in str(missed)
    assert "The warmest dough" in str(missed)
    also_cold = draw_water(rule, "20 kg", tap="14 °C")
    assert "above 50 °C, and the warmest here is 14 °C" in str(also_cold.out_of_reach)
    assert also_cold.reached_c == 14.0


def test_a_tap_hotter_than_yeast_bears() -> None:
    made = draw_water("55 °C", "20 kg", tap="60 °C")
    assert (made.reachable, made.reached_c) == (False, 60.0)
    assert "too-hot-for-yeast" in codes(made)


def test_a_scald_has_no_yeast() -> None:
    made = draw_water("90 °C", "5 kg", tap="15 °C", hot="95 °C", use="none")
    assert made.reachable
    assert codes(made) == ["scald", "hot-tap"]
    assert [highest_c(use) for use in ("in water", "in flour", "after wetting", "none")] == [50.0, 50.0, 100.0, 100.0]
    steam = draw_water("120 °C", "5 kg", tap="15 °C", hot="100 °C", use="none")
    assert "water boils at 100 °C" in str(steam.out_of_reach)


@pytest.mark.parametrize(
    ("water_c", "yeast", "use", "codes_"),
    [
        (35.0, "fresh", "in water", []),
        (35.1, "fresh", "in water", ["too-warm-for-fresh-yeast"]),
        (35.1, "instant", "in water", []),
        (37.9, "active dry", "in water", ["too-cold-for-active-dry-yeast"]),
        (38.0, "active dry", "in water", []),
        (46.0, "active dry", "in water", []),
        (46.1, "active dry", "in water", ["too-warm-for-active-dry-yeast"]),
        (9.0, "active dry", "in water", ["too-cold-for-active-dry-yeast"]),
        (50.1, "active dry", "in water", ["too-hot-for-yeast", "scald"]),
        (35.0, "instant", "in flour", []),
        (50.0, "instant", "in flour", ["yeast-in-flour"]),
        (50.1, "instant", "in flour", ["too-hot-for-yeast", "scald", "yeast-in-flour"]),
        (9.9, "fresh", "in water", ["yeast-after-wetting"]),
        (10.0, "fresh", "in water", []),
        (-5.0, "instant", "in flour", ["yeast-after-wetting"]),
        (-5.0, "", "in water", ["yeast-after-wetting"]),
        (-5.0, "fresh", "after wetting", []),
        (40.0, "fresh", "after wetting", []),
        (60.0, "fresh", "after wetting", ["scald"]),
        (5.0, "", "none", []),
    ],
)
def test_limits_by_form_and_use(water_c: float, yeast: str, use: Any, codes_: list[str]) -> None:  # noqa: ANN401
    assert [caution.code for caution in use_cautions(water_c, yeast, use)] == codes_


def test_the_yeast_of_the_rule_is_the_yeast_of_the_draw() -> None:
    rule = water_temperature("30 °C", flour="20 °C", room="22 °C", friction="10 K", yeast="compressed")
    assert rule.temperature_c == 38.0
    made = draw_water(rule, "20 kg", tap="38 °C")
    assert (made.yeast, codes(made)) == ("fresh", ["too-warm-for-fresh-yeast"])
    assert codes(draw_water(rule, "20 kg", tap="38 °C", yeast="instant")) == []
    assert codes(draw_water(rule, "20 kg", tap="38 °C", use="in flour")) == ["yeast-in-flour"]


def test_every_bad_argument_is_named_at_once() -> None:
    with pytest.raises(QuantityError) as caught:
        draw_water("6", "20", tap="18", chilled="4", hot="60", ice="0", step="10", rate="1", yeast="beer", use="x", keep="y", latent="z")  # type: ignore[arg-type] # fmt: skip
    assert [fault.where for fault in caught.value.faults] == [
        "wanted", "mass", "tap", "chilled", "hot", "ice", "step", "rate", "yeast", "keep", "latent", "use",
    ]  # fmt: skip
    with pytest.raises(QuantityError) as caught:
        draw_water("6 °C", "0 g", tap="18 °C", chilled="19 °C", hot="101 °C", ice="1 °C", step="0 g", rate="0 K")
    assert [fault.where for fault in caught.value.faults] == ["mass", "hot", "chilled", "ice", "step", "rate"]
    with pytest.raises(QuantityError, match="hot: got 17 °C, expected not colder than the tap, 18 °C"):
        draw_water("6 °C", "20 kg", tap="18 °C", hot="17 °C")
    warm = pint.UnitRegistry().Quantity(1.0, "degC")
    with pytest.raises(QuantityError, match=r"rate: .*a temperature difference"):
        draw_water("6 °C", "20 kg", tap="18 °C", rate=warm)


def test_views_and_values() -> None:
    made = draw_water("6 °C", "20 kg", tap="18 °C", ice="0 °C", step="10 g")
    assert made.wanted.m_as("degF") == pytest.approx(42.8)
    assert made.reached.m_as("degC") == pytest.approx(made.reached_c)
    assert made.ice.m_as("kg") == pytest.approx(2.45)
    assert made.liquid.m_as("kg") == pytest.approx(17.55)
    assert made.parts[0].mass.m_as("kg") == pytest.approx(17.55)
    assert made.parts[0].temperature.m_as("degC") == pytest.approx(18.0)
    rule = water_temperature("17 °C", flour="22 °C", room="28 °C", friction="20 K")
    missed = draw_water(rule, "20 kg", tap="0 °C", rate="2 K")
    reach: Any = missed.out_of_reach
    for quantity, value in (
        (reach.wanted, -19.0), (reach.water, 0.0), (reach.dough, 70 / 3), (reach.flour, 3.0), (reach.room, 9.0),
    ):  # fmt: skip
        assert quantity.m_as("degC") == pytest.approx(value)
    assert reach.friction.m_as("delta_degC") == pytest.approx(1.0)
    assert reach.shorter.m_as("minute") == pytest.approx(9.5)
    plain: Any = draw_water("30 °C", "20 kg", tap="14 °C").out_of_reach
    assert (plain.dough, plain.flour, plain.room, plain.friction, plain.shorter) == (None,) * 5
    for result in (made, missed):
        assert pickle.loads(pickle.dumps(result)) == copy.deepcopy(result) == result  # noqa: S301 - our own bytes
        assert hash(copy.deepcopy(result)) == hash(result)
    in_other_units = draw_water("42.8 °F", "20000 g", tap="64.4 °F", ice="32 °F", step="0.01 kg")
    assert in_other_units == made


def test_the_kernels_take_arrays_and_keep_their_dimensions() -> None:
    assert SUPPLY.blend_g(18_000.0, np.array([30.0, 15.0]), 60.0, 15.0).tolist() == [6000.0, 0.0]
    assert ICE.iced_water_c(15_000.0, 20.0, np.array([0.0, 5000.0])).tolist() == [20.0, -5.0]
    registry: Any = pint.UnitRegistry()
    gram, kelvin = registry.gram, registry.delta_degC
    assert SUPPLY.blend_g(18 * gram, 30 * kelvin, 60 * kelvin, 15 * kelvin).m_as("gram") == pytest.approx(6)
    assert ICE.iced_water_c(15 * gram, 20 * kelvin, 5 * gram, 80 * kelvin).m_as("delta_degC") == pytest.approx(-5)
