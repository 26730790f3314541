"""Laws of the heat balance."""

import math
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.balance import balanced_dough_c, balanced_water_c, mixing_work_kj, water_per_dough_k
from formula.batch import Batch
from formula.capacity import FLOUR_CP, STEEL_CP, WATER_CP, composition_cp_kj_kg_k
from formula.formula import Formula
from formula.heat import heat_balance
from formula.quantity import DIFFERENCE, ENERGY_PER_MASS, MASS, TEMPERATURE, write
from formula.water import dough_temperature_c, water_temperature_c
from tests.laws.strategies import (
    any_shares,
    bodies,
    capacities_kj_k,
    differences_k,
    heat_mixes,
    heats_kj,
    loaves,
    temperatures_c,
    works_kj_kg,
    written,
)


def tolerance_c(pairs: Sequence[tuple[float, float]], heat_kj: float, water_kj_k: float) -> float:
    """Floats carry 16 digits: the sum of all the heats loses the last of them, and so does what is shared out of it."""
    largest = sum(capacity * (abs(temperature) + 100) for capacity, temperature in pairs) + heat_kj + 100 * water_kj_k
    return 1e-13 * largest / water_kj_k + 1e-11


def celsius(value: float) -> str:
    return write(TEMPERATURE, value)


def work(value: float) -> str:
    return write(ENERGY_PER_MASS, value)


class TestTheRuleFallsOutOfTheBalance:
    """With flour, water and bodies at the room's and the stages' temperatures of one heat capacity, and the friction as
    heat of the factor times that capacity, the balance is the rule, for water and for dough, with any number of bodies.
    """

    @given(temperatures_c, st.lists(temperatures_c, min_size=1, max_size=5), differences_k, capacities_kj_k)
    def test_law(self, dough_c: float, known_c: list[float], friction_k: float, capacity_kj_k: float) -> None:
        capacities = [capacity_kj_k] * len(known_c)
        heat_kj = friction_k * capacity_kj_k
        found = balanced_water_c(dough_c, capacities, known_c, heat_kj, capacity_kj_k)
        assert found == pytest.approx(water_temperature_c(dough_c, known_c, friction_k), abs=1e-9)
        back = balanced_dough_c([*capacities, capacity_kj_k], [*known_c, dough_c], heat_kj)
        assert back == pytest.approx(dough_temperature_c(known_c, dough_c, friction_k), abs=1e-9)

    @given(temperatures_c, temperatures_c, temperatures_c, st.floats(0.0, 40.0), st.sampled_from(["target", "water"]))
    def test_shell(self, given_c: float, flour_c: float, room_c: float, friction_k: float, asked: str) -> None:
        water_percent = 100 * FLOUR_CP.value / WATER_CP.value
        batch = Formula.from_percents("Equal", {"bread flour": 100, "water": water_percent}).scale(flour="10 kg")
        capacity_kj_k = 10 * FLOUR_CP.value
        made = heat_balance(
            batch,
            room=celsius(room_c),
            temperatures={"flour": celsius(flour_c)},
            bowl=f"{capacity_kj_k / STEEL_CP.value:.9f} kg",
            work=work(friction_k * capacity_kj_k / (batch.dough_g / 1000)),
            hydration_heat="0 kJ/kg",
            friction=write(DIFFERENCE, friction_k),
            target=celsius(given_c) if asked == "target" else None,
            water=celsius(given_c) if asked == "water" else None,
        )
        assert made.rule_difference_k == pytest.approx(0.0, abs=1e-7)


class TestEnergyIsConserved:
    """What all bodies, the work and the wetting give to the dough is nothing, to 1e-9 of the largest of them."""

    @given(heat_mixes(), temperatures_c, works_kj_kg, st.sampled_from(["target", "water", "both"]))
    def test_law(self, mix: tuple[Batch, dict[str, Any]], given_c: float, work_kj_kg: float, way: str) -> None:
        batch, asked = mix
        told: dict[str, Any] = {"target": celsius(given_c), "water": celsius(given_c + 1)}
        if way != "both":
            told = {way: celsius(given_c), "work": work(work_kj_kg)}
        energies = heat_balance(batch, **asked, **told).energies_kj
        assert abs(math.fsum(energies.values())) <= 1e-9 * max(map(abs, energies.values()))

    @given(heat_mixes(), temperatures_c, works_kj_kg, st.integers(0, 300), st.integers(-300, 0))
    def test_with_ice(
        self, mix: tuple[Batch, dict[str, Any]], target_c: float, work_kj_kg: float, tap: int, ice: int
    ) -> None:
        batch, asked = mix
        cold: dict[str, Any] = {"tap": f"{tap / 10} °C", "ice": f"{ice / 10} °C"}
        made = heat_balance(batch, **asked, target=celsius(target_c), work=work(work_kj_kg), **cold)
        energies = made.energies_kj
        assert abs(math.fsum(energies.values())) <= 1e-9 * max(map(abs, energies.values()))
        if made.ice_g is not None:
            assert 0.0 <= made.ice_g <= made.poured.mass_g
            assert ("ice to melt" in energies) == (made.ice_g > 0)

    @given(written(), temperatures_c, temperatures_c, works_kj_kg)
    def test_any_bread(self, bread: Any, room_c: float, water_c: float, work_kj_kg: float) -> None:  # noqa: ANN401
        batch = bread.formula().scale(dough="10 kg")
        for stage in batch.stages:
            poured = heat_balance(
                batch, room=celsius(room_c), work=work(work_kj_kg), stage=stage, **_water(batch, stage, water_c)
            )
            energies = poured.energies_kj
            assert abs(math.fsum(energies.values())) <= 1e-9 * max(map(abs, energies.values()))
            assert poured.mass_g == pytest.approx(batch.stages[stage].total_g, rel=1e-9)


def _water(batch: Batch, stage: str, water_c: float) -> dict[str, Any]:
    """Give water its temperature where something is poured into the stage."""
    poured = {"water", "whole milk", "skim milk"} & {row.name for row in batch.stages[stage].rows if row.mass_g > 0}
    return {"water": celsius(water_c)} if poured else {}


class TestWaterDoughAndWorkAreInverses:
    """From any two of water, dough and work follows the third, and from it the others again."""

    @given(bodies, temperatures_c, heats_kj, capacities_kj_k)
    def test_law(self, pairs: list[tuple[float, float]], dough_c: float, heat_kj: float, water_kj_k: float) -> None:
        capacities, temperatures = [pair[0] for pair in pairs], [pair[1] for pair in pairs]
        water_c = balanced_water_c(dough_c, capacities, temperatures, heat_kj, water_kj_k)
        every, warm = [*capacities, water_kj_k], [*temperatures, water_c]
        assert balanced_dough_c(every, warm, heat_kj) == pytest.approx(
            dough_c, abs=tolerance_c(pairs, heat_kj, water_kj_k)
        )
        found = mixing_work_kj(dough_c, every, warm, 0.0)
        assert found == pytest.approx(heat_kj, abs=tolerance_c(pairs, heat_kj, water_kj_k) * sum(every))

    @given(heat_mixes(), temperatures_c, works_kj_kg)
    def test_shell(self, mix: tuple[Batch, dict[str, Any]], water_c: float, work_kj_kg: float) -> None:
        batch, asked = mix
        made = heat_balance(batch, **asked, water=celsius(water_c), work=work(work_kj_kg))
        ratio = made.water_per_dough_k or 1.0
        back = heat_balance(batch, **asked, target=celsius(made.dough_c), work=work(work_kj_kg))
        # The dough's temperature is handed back on a grid of 1e-9 K, which the ratio magnifies.
        assert back.water_c == pytest.approx(water_c, abs=ratio * 2e-9)
        trial = heat_balance(batch, **asked, target=celsius(made.dough_c), water=celsius(water_c))
        per_mass = made.capacity_kj_k / made.mass_g * 1000
        assert trial.work_kj_kg == pytest.approx(work_kj_kg, abs=per_mass * 2e-9)


class TestWarmerOrMoreMeansColderWater:
    """Warmer flour, a warmer room, more work, more heat of hydration: colder water; a warmer dough: warmer water."""

    @given(loaves(), temperatures_c, temperatures_c, works_kj_kg, st.floats(0.01, 20.0))
    def test_law(self, batch: Batch, flour_c: float, room_c: float, work_kj_kg: float, more: float) -> None:
        def water_c(
            *,
            flour: float = flour_c,
            room: float = room_c,
            per_kg: float = work_kj_kg,
            wet: float = 15.0,
            dough: float = 25.0,
        ) -> float:
            made = heat_balance(
                batch,
                room=celsius(room),
                temperatures={"flour": celsius(flour)},
                target=celsius(dough),
                work=work(per_kg),
                bowl="10 kg",
                hydration_heat=work(wet),
            )
            assert made.water_c is not None
            return made.water_c

        plain = water_c()
        assert water_c(flour=flour_c + more) < plain
        assert water_c(room=room_c + more) < plain
        assert water_c(per_kg=work_kj_kg + more) < plain
        assert water_c(wet=15.0 + more) < plain
        assert water_c(dough=25.0 + more) > plain


class TestTheUnitDoesNotMatter:
    """°C and °F, g and lb, Wh/kg and Btu/lb give the same answer, to 1e-8 K."""

    @given(loaves(), temperatures_c, temperatures_c, temperatures_c, works_kj_kg, st.sampled_from(["target", "water"]))
    def test_law(
        self, batch: Batch, flour_c: float, room_c: float, given_c: float, work_kj_kg: float, asked: str
    ) -> None:
        metric = heat_balance(
            batch,
            room=celsius(room_c),
            temperatures={"flour": celsius(flour_c)},
            work=work(work_kj_kg),
            target=celsius(given_c) if asked == "target" else None,
            water=celsius(given_c) if asked == "water" else None,
        )
        customary = heat_balance(
            batch,
            room=f"{room_c * 1.8 + 32:.10f} °F",
            temperatures={"flour": f"{flour_c * 1.8 + 32:.10f} °F"},
            work=f"{work_kj_kg / 2.326:.13f} Btu/lb",
            target=f"{given_c * 1.8 + 32:.10f} °F" if asked == "target" else None,
            water=f"{given_c * 1.8 + 32:.10f} °F" if asked == "water" else None,
        )
        found = (customary.dough_c, customary.water_c)
        assert found == pytest.approx((metric.dough_c, metric.water_c), abs=1e-8)


class TestTheDoughLiesBetweenWhatGoesIn:
    """Without work and heat the dough is no colder than the coldest body and no warmer than the warmest."""

    @given(bodies)
    def test_law(self, pairs: list[tuple[float, float]]) -> None:
        temperatures = [pair[1] for pair in pairs]
        found = balanced_dough_c([pair[0] for pair in pairs], temperatures, 0.0)
        assert min(temperatures) - 1e-9 <= found <= max(temperatures) + 1e-9


class TestTheSizeOfTheBatchDoesNotMatter:
    """Without a bowl, the water's temperature is that of any other size of the same dough."""

    @given(loaves(), st.floats(0.01, 100.0), temperatures_c, works_kj_kg)
    def test_law(self, batch: Batch, factor: float, room_c: float, work_kj_kg: float) -> None:
        other = batch.formula.scale(dough=write(MASS, batch.dough_g * factor))
        asked: dict[str, Any] = {"room": celsius(room_c), "target": "25 °C", "work": work(work_kj_kg)}
        assert heat_balance(other, **asked).water_c == pytest.approx(heat_balance(batch, **asked).water_c, abs=1e-8)


class TestTheWaterMovesMoreThanTheDough:
    """The water must change by more than the dough does, by less the wetter the dough, and never by the trade's 3."""

    @given(st.floats(50.0, 120.0), st.floats(0.1, 20.0))
    def test_law(self, hydration_percent: float, more: float) -> None:
        ratio = water_per_dough_k(hydration_percent)
        assert 1.0 < water_per_dough_k(hydration_percent + more) < ratio < 2.0


class TestTheSpecificHeatOfAMixtureIsTheMean:
    """The specific heat of a food lies between those of its components, and splits by their shares."""

    @given(st.lists(any_shares, min_size=6, max_size=6), st.floats(0.0, 100.0))
    def test_law(self, drawn: list[float], temperature_c: float) -> None:
        total = sum(drawn)
        parts = [share / total for share in drawn] if total else [1.0, 0.0, 0.0, 0.0, 0.0, 0.0]
        found = composition_cp_kj_kg_k(*_six(parts), temperature_c)
        pure = [
            composition_cp_kj_kg_k(*_six([float(place == each) for each in range(6)]), temperature_c)
            for place in range(6)
        ]
        assert min(pure) - 1e-9 <= found <= max(pure) + 1e-9
        assert found == pytest.approx(sum(share * cp for share, cp in zip(parts, pure, strict=True)))


def _six(parts: list[float]) -> tuple[float, float, float, float, float, float]:
    one, two, three, four, five, six = parts
    return one, two, three, four, five, six
