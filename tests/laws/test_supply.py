"""Laws of the water supply."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.quantity import DIFFERENCE, MASS, TEMPERATURE, write
from formula.supply import draw_water
from formula.water import dough_temperature, water_temperature
from tests.arithmetic import check_working
from tests.laws.strategies import masses_g, supplies, tap_tenths_c, temperatures_c, wanted_c


class TestTheHeatOfThePartsIsTheHeatOfTheWhole:
    """What can be reached is reached, and what cannot is missed by as little as the supply allows."""

    @given(supplies(), masses_g, wanted_c)
    def test_law(self, supply: dict[str, Any], mass_g: float, wanted: float) -> None:
        made = draw_water(f"{wanted:.6f} °C", write(MASS, mass_g), **supply)
        assert made.reached_c == pytest.approx(made.aimed_c, abs=1e-6)
        if made.reachable:
            assert made.aimed_c == made.wanted_c
        else:
            assert made.aimed_c != made.wanted_c
            assert made.out_of_reach is not None
            assert made.out_of_reach.water_c == made.aimed_c
        check_working(made.working(), made.reached_c)


class TestThePartsAreTheWater:
    """All parts together weigh what was asked for, whatever the scale; only ice on top adds to it, and never doubles it."""

    @given(supplies(), masses_g, wanted_c, st.none() | st.sampled_from(["1 g", "10 g", "0.3 g", "1 oz"]))
    def test_law(self, supply: dict[str, Any], mass_g: float, wanted: float, step: str | None) -> None:
        made = draw_water(f"{wanted:.6f} °C", write(MASS, mass_g), step=step, **supply)
        assert all(part.mass_g >= 0 for part in made.parts)
        total_g = sum(part.mass_g for part in made.parts)
        on_top_g = made.ice_g if made.keep == "water" else 0.0
        assert total_g == pytest.approx(mass_g + on_top_g, rel=1e-12)
        assert made.ice_g <= mass_g
        check_working(made.working(), made.reached_c)


class TestRoundingNeverWarms:
    """Weighed to the step of a scale, the water is not warmer than without one, and colder by less than the step can do."""

    @given(supplies(), st.floats(100.0, 1e6), wanted_c)
    def test_law(self, supply: dict[str, Any], mass_g: float, wanted: float) -> None:
        exact = draw_water(f"{wanted:.6f} °C", write(MASS, mass_g), **supply)
        weighed = draw_water(f"{wanted:.6f} °C", write(MASS, mass_g), step="10 g", **supply)
        # 10 g of anything here cannot move the water by more than the 200 K between steam and ice for each gram.
        assert exact.reached_c - 200 * 10 / mass_g <= weighed.reached_c <= exact.reached_c + 1e-6


class TestColderWaterNeedsMoreOfTheColder:
    """The colder the water wanted, the less of the warmer tap and the more of the ice."""

    @given(st.integers(1, 40), masses_g, st.floats(-60.0, 90.0), st.floats(0.01, 5.0))
    def test_law(self, tap: int, mass_g: float, wanted: float, less: float) -> None:
        supply: dict[str, Any] = {"tap": f"{tap} °C", "hot": "95 °C", "ice": "0 °C", "use": "none"}
        warm, cold = (draw_water(f"{value:.6f} °C", write(MASS, mass_g), **supply) for value in (wanted, wanted - less))
        assert cold.mass_g("hot") <= warm.mass_g("hot")
        assert cold.ice_g >= warm.ice_g


class TestTheAlternativesBringTheDoughHome:
    """With the nearest water, the flour, the room or the friction advised gives the wanted dough."""

    @given(temperatures_c, temperatures_c, temperatures_c, st.floats(0.0, 60.0), tap_tenths_c)
    def test_law(self, dough_c: float, flour_c: float, room_c: float, friction_k: float, tap_c: float) -> None:
        flour, room = write(TEMPERATURE, flour_c), write(TEMPERATURE, room_c)
        friction = write(DIFFERENCE, friction_k)
        rule = water_temperature(write(TEMPERATURE, dough_c), flour=flour, room=room, friction=friction)
        missed = draw_water(rule, "10 kg", tap=f"{tap_c} °C").out_of_reach
        if missed is None:
            return
        mix: dict[str, Any] = {"flour": flour, "room": room, "friction": friction, "water": f"{tap_c} °C"}
        assert missed.dough_c == pytest.approx(dough_temperature(**mix).temperature_c, abs=1e-9)
        for name, kind, value in (
            ("flour", TEMPERATURE, missed.flour_c),
            ("room", TEMPERATURE, missed.room_c),
            ("friction", DIFFERENCE, missed.friction_k),
        ):
            if value is not None:
                other = mix | {name: write(kind, value)}
                assert dough_temperature(**other).temperature_c == pytest.approx(dough_c, abs=1e-8)
