"""Cooling and warming: published and derived rows, a grid as a second engine, cautions, workings and every refusal."""

import copy
import math
import pickle
from typing import Any

import pint
import pytest
from attrs.exceptions import FrozenInstanceError
from scipy import integrate

from formula.chill import Cooling, cooling
from formula.conduction import excess
from formula.course import WHERES, Where
from formula.errors import QuantityError
from formula.newton import newton_c
from formula.piece import (
    AIR_HEAT_TRANSFER,
    DOUGH_CONDUCTIVITY,
    DOUGH_DENSITY,
    DOUGH_SPECIFIC_HEAT,
    cylinder_diameter_m,
    sphere_diameter_m,
)
from tests.arithmetic import check_working
from tests.beside import made_arrival
from tests.rows import holds, rows
from tests.test_conduction import GRID_BAND, Grid

ROWS = [row for row in rows("cooling") if str(row.id).startswith(("thermal/Q", "thermal/N06"))]

BODY: dict[str, Any] = {
    "heat_transfer": "8 W/m2K", "conductivity": "0.45 W/mK", "density": "1100 kg/m3", "specific_heat": "2.8 kJ/kgK",
}  # fmt: skip
SHAPES: dict[str, dict[str, Any]] = {
    "sphere": {"shape": "sphere"},
    "slab": {"shape": "slab", "thickness": "8 cm"},
    "tub": {"shape": "slab", "thickness": "20 cm", "faces": 1},
    "by diameter": {"shape": "cylinder", "diameter": "7 cm"},
    "by length": {"shape": "cylinder", "length": "30 cm"},
    "by ratio": {"shape": "cylinder", "ratio": 4},
}
WARMINGS = ["0 K/h", "0.2 K/h"]


def piece(like: str = "sphere", /, **change: Any) -> Cooling:  # noqa: ANN401 - arguments of every kind
    given = {"start": "26 °C", "air": "3 °C", **SHAPES[like], **BODY} | change
    return cooling("1 kg", **given)


def test_the_rows_are_all_there() -> None:
    assert len(ROWS) == 4 + 12


@pytest.mark.parametrize("row", ROWS)
def test_published_and_derived(row: dict[str, str]) -> None:
    holds("cooling", row)
    _, arrival = made_arrival(row)
    check_working(arrival.working(), arrival.time_h)


def test_a_thick_layer_is_not_lumped() -> None:
    """The core of a layer of 10 cm takes 40 % longer than the lumped formula says."""
    series = piece("slab", thickness="10 cm").time_to(core="8 °C")
    lumped = piece("slab", thickness="10 cm", method="lumped").time_to(core="8 °C")
    assert series.time_h / lumped.time_h == pytest.approx(11.424 / 8.16, rel=1e-3)


@pytest.mark.parametrize("warming", WARMINGS)
@pytest.mark.parametrize("shape", ["sphere", "slab", "tub"])
def test_a_grid_agrees_in_degrees(shape: str, warming: str) -> None:
    made = piece(shape, self_warming=warming)
    (axis,) = made.axes
    grid = Grid(axis.shape, axis.biot)
    warming_k_h = float(warming.removesuffix(" K/h"))
    for time_h in (0.5, 2.0, 6.0):
        fourier = axis.rate_per_h * time_h
        found = 3.0 + 23.0 * grid.excess(fourier) + warming_k_h / axis.rate_per_h * grid.warmed(fourier)
        state = made.after(f"{time_h} h")
        assert state.core_c == pytest.approx(found[0], abs=23 * GRID_BAND)
        assert state.mean_c == pytest.approx(float(grid.shares @ found), abs=23 * GRID_BAND)
        # The last shell's middle lies half a shell inside.
        assert state.surface_c == pytest.approx(1.5 * found[-1] - 0.5 * found[-2], abs=23 * GRID_BAND)


@pytest.mark.parametrize("shape", ["sphere", "slab", "by ratio"])
def test_the_heat_given_off_has_passed_the_surface(shape: str) -> None:
    """An account of its own: what the air took up at the surface is what the mean temperature says."""
    made = piece(shape)
    if shape == "by ratio":
        # Of a cylinder the surface is known on its side's middle only: average over side and ends by the product.
        (around, along), area = made.axes, made.area_m2
        diameter, length = made.diameter_m or 0.0, made.length_m or 0.0

        def surface_excess(time_h: float) -> float:
            fr, fl = around.rate_per_h * time_h, along.rate_per_h * time_h
            side = excess("cylinder", around.biot, fr, 1.0) * excess("slab", along.biot, fl, None)
            end = excess("cylinder", around.biot, fr, None) * excess("slab", along.biot, fl, 1.0)
            return (side * math.pi * diameter * length + end * math.pi / 2 * diameter**2) / area
    else:

        def surface_excess(time_h: float) -> float:
            return made.excess("surface", time_h)

    for time_h in (0.3, 2.0):
        passed, _ = integrate.quad(surface_excess, 0, time_h, epsabs=1e-10, limit=200)
        # 8 W/m²K over an area and 23 K; 3.6 kJ in a Wh.
        heat_kj = 3.6 * 8 * made.area_m2 * 23 * passed
        assert made.after(f"{time_h} h").heat_kj == pytest.approx(heat_kj, rel=2e-6)


def test_sizes() -> None:
    ball = piece()
    assert ball.diameter_m == sphere_diameter_m(1000.0, 1100.0)
    assert math.pi / 6 * (ball.diameter_m or 0) ** 3 * 1100 == pytest.approx(1.0, rel=1e-12)
    long = piece("by ratio")
    assert long.diameter_m == cylinder_diameter_m(1000.0, 1100.0, 4.0)
    assert long.length_m == 4 * (long.diameter_m or 0)
    for shape in ("by diameter", "by length", "by ratio"):
        made = piece(shape)
        diameter, length = made.diameter_m or 0, made.length_m or 0
        assert math.pi / 4 * diameter**2 * length * 1100 == pytest.approx(1.0, rel=1e-12)
        area = math.pi * diameter * length + math.pi / 2 * diameter**2
        assert made.area_m2 == pytest.approx(area, rel=1e-12)
        assert made.volume_per_area_m == pytest.approx(1 / 1100 / area, rel=1e-12)
    assert piece("by length").length_m == 0.3
    assert piece("by diameter").diameter_m == 0.07
    assert ball.area_m2 == pytest.approx(math.pi * (ball.diameter_m or 0) ** 2, rel=1e-12)


def test_a_slab_on_one_face_is_half_of_one_twice_as_thick() -> None:
    tub = piece("slab", thickness="10 cm", faces=1).after("5 h")
    free = piece("slab", thickness="20 cm", faces=2).after("5 h")
    assert (tub.core_c, tub.mean_c, tub.surface_c) == (free.core_c, free.mean_c, free.surface_c)


def test_the_method_goes_by_the_biot_number() -> None:
    # h = 10, k = 0.45: volume over area must stay under 4.5 mm, a sphere under 27 mm in diameter.
    given: dict[str, Any] = {"start": "26 °C", "air": "3 °C", **BODY, "heat_transfer": "10 W/m2K", "shape": "sphere"}

    def by_diameter(diameter_m: float) -> Cooling:
        return cooling(f"{math.pi / 6 * diameter_m**3 * 1100:.12f} kg", **given)

    assert (by_diameter(0.0269).method, by_diameter(0.0271).method) == ("lumped", "series")
    assert cooling("1 g", **given, method="series").method == "series"
    lumped = cooling("1 g", **given)
    state = lumped.after("10 min")
    assert state.core_c == state.mean_c == state.surface_c
    assert state.core_c == pytest.approx(newton_c(26.0, 3.0, 1 / 6, lumped.tau_h), rel=1e-10)
    series = cooling("1 g", **given, method="series").after("10 min")
    assert series.mean_c == pytest.approx(state.mean_c, abs=23 * 0.01)


@pytest.mark.parametrize("heat_transfer", ["5 W/m2K", "15 W/m2K", "100 W/m2K"])
@pytest.mark.parametrize("shape", [*SHAPES, "baguette"])
def test_the_exponential_that_stands_for_the_course(shape: str, heat_transfer: str) -> None:
    change = {"heat_transfer": heat_transfer} | ({"ratio": 12} if shape == "baguette" else {})
    made = piece("by ratio" if shape == "baguette" else shape, **change)
    early, late = (0.08, 0.005) if made.biot < 0.7 else (0.18, 0.01)
    for where in ("core", "mean"):
        tau_h, lag_h = made.exponential_h(where)
        assert (lag_h > 0) == (where == "core")
        for step in range(1, 400):
            time_h = step * made.tau_h / 50
            left = made.excess(where, time_h)
            stands = min(1.0, math.exp(-(time_h - lag_h) / tau_h))
            assert stands == pytest.approx(left, abs=late if left <= 0.5 else early)


def test_the_exponential_of_a_lumped_body_is_exact() -> None:
    made = piece(method="lumped")
    assert made.exponential_h() == (made.tau_h, 0.0)
    assert [made.weight(where) for where in ("core", "mean", "surface")] == [1.0, 1.0, 1.0]
    # One term alone, at every place: after its time constant 1/e of the difference is left.
    assert made.after(f"{made.tau_h!r} h").core_c == pytest.approx(made.air_c + (made.start_c - made.air_c) / math.e)


def test_times_are_the_inverse_of_temperatures() -> None:
    for shape in SHAPES:
        for warming in ("0 K/h", "0.2 K/h"):
            made = piece(shape, self_warming=warming, air="2 °C", heat_transfer="30 W/m2K")
            for where in WHERES:
                arrival = made.time_to(**{where: "19 °C"})
                assert made.temperature_c(where, arrival.time_h) == pytest.approx(19.0, abs=1e-9)
                assert arrival.low_h == arrival.time_h == arrival.high_h
                assert (arrival.where, arrival.temperature_c) == (where, 19.0)


def test_the_start_takes_no_time() -> None:
    arrival = piece().time_to(core="26 °C")
    assert (arrival.time_h, arrival.low_h, arrival.high_h) == (0.0, 0.0, 0.0)


def test_warming_is_cooling_upside_down() -> None:
    cold = piece("slab", start="5 °C", air="28 °C")
    warm = piece("slab", start="28 °C", air="5 °C")
    for time_h in (0.1, 1.0, 8.0):
        assert cold.temperature_c("core", time_h) + warm.temperature_c("core", time_h) == pytest.approx(33.0, abs=1e-10)
    assert cold.time_to(core="25 °C").time_h == pytest.approx(warm.time_to(core="8 °C").time_h, rel=1e-12)
    assert cold.after("2 h").heat_kj == pytest.approx(-warm.after("2 h").heat_kj, rel=1e-12)


def test_what_was_not_given_is_assumed_and_spreads_the_time() -> None:
    made = cooling("1 kg", shape="sphere", start="26 °C", air="3 °C")
    assert made.heat_transfer_w_m2_k == AIR_HEAT_TRANSFER.value
    assert made.conductivity_w_m_k == DOUGH_CONDUCTIVITY.value
    assert made.density_kg_m3 == DOUGH_DENSITY.value
    assert made.specific_heat_kj_kg_k == DOUGH_SPECIFIC_HEAT.value
    (caution,) = made.cautions
    assert caution.code == "assumed-properties"
    assert "heat transfer 11.5 ± 3.5 W/m2K, conductivity 0.5 ± 0.05 W/mK" in caution.text
    arrival = made.time_to(core="5 °C")
    assert arrival.low_h < arrival.time_h < arrival.high_h
    slow: dict[str, Any] = {
        "heat_transfer": "8 W/m2K", "conductivity": "0.45 W/mK", "specific_heat": "3.2 kJ/kgK", "density": "1210 kg/m3",
    }  # fmt: skip
    fast = slow | {"heat_transfer": "15 W/m2K", "conductivity": "0.55 W/mK", "specific_heat": "2.2 kJ/kgK"}
    for corner, expected in ((slow, arrival.high_h), (fast, arrival.low_h)):
        found = cooling("1 kg", shape="sphere", start="26 °C", air="3 °C", **corner).time_to(core="5 °C")
        assert found.time_h == pytest.approx(expected, rel=1e-9)
        assert found.cautions == ()


def test_a_known_property_narrows_the_time() -> None:
    wide = cooling("1 kg", shape="sphere", start="26 °C", air="3 °C").time_to(core="5 °C")
    given: dict[str, Any] = {"heat_transfer": "11.5 W/m2K"}
    narrow = cooling("1 kg", shape="sphere", start="26 °C", air="3 °C", **given).time_to(core="5 °C")
    assert wide.time_h == narrow.time_h
    assert wide.low_h < narrow.low_h < narrow.high_h < wide.high_h


@pytest.mark.parametrize(
    ("change", "codes"),
    [
        ({}, []),
        ({"method": "lumped"}, ["lumped-too-large"]),
        ({"method": "lumped", "heat_transfer": "1 W/m2K"}, []),
        ({"self_warming": "1 K/h"}, ["self-warming"]),
        ({"air": "-4 °C"}, []),
        ({"air": "-4.1 °C"}, ["freezing"]),
        ({"start": "-18 °C"}, ["freezing"]),
        ({"start": "60 °C"}, []),
        ({"start": "96 °C"}, ["too-hot-for-dough"]),
        ({"air": "200 °C"}, ["too-hot-for-dough"]),
    ],
)
def test_cautions(change: dict[str, str], codes: list[str]) -> None:
    made = piece(**change)
    assert [caution.code for caution in made.cautions] == codes
    assert made.after("1 h").cautions == made.local_temperatures("1 h").cautions == made.cautions
    assert all(caution.text.endswith(".") for caution in made.cautions)


def test_a_dough_that_warms_itself() -> None:
    made = piece("slab", thickness="20 cm", self_warming="1.5 K/h", air="26 °C")
    assert made.after("1 h").core_c == pytest.approx(27.5, abs=0.02)
    # Steady: w L² / (2 alpha) + w L² / (alpha Bi) above the air at the core, the second part at the surface.
    (axis,) = made.axes
    for where, above in (("core", 0.5 + 1 / axis.biot), ("surface", 1 / axis.biot)):
        assert made.settles_c(where) == pytest.approx(26 + 1.5 * above / axis.rate_per_h, rel=1e-5)  # type: ignore[arg-type]
    assert piece().settles_c("core") == 3.0
    lumped = piece(method="lumped", self_warming="2 K/h", start="20 °C", air="20 °C")
    assert lumped.settles_c("mean") == pytest.approx(20 + 2 * lumped.tau_h)
    # All heat it made and did not keep has gone to the air.
    state = lumped.after("3 h")
    assert state.heat_kj == pytest.approx(2.8 * (20 + 6 - state.mean_c))


def test_a_temperature_that_turns() -> None:
    made = piece("slab", thickness="40 cm", self_warming="1 K/h", air="20 °C", heat_transfer="15 W/m2K")
    # The surface cools at once, and the warming dough overtakes it.
    low, high = made.extremes_c("surface")
    assert 20 < low < 26 < high
    assert made.settles_c("surface") > 26
    first = made.time_to(surface=f"{low + 0.3:.6f} °C")
    assert made.temperature_c("surface", first.time_h / 2) > first.temperature_c
    up = made.time_to(core="27 °C")
    assert made.temperature_c("core", up.time_h) == pytest.approx(27.0, abs=1e-9)
    with pytest.raises(
        QuantityError, match=r"surface: got .* expected a temperature that the surface reaches, between"
    ):
        made.time_to(surface=f"{low - 0.3:.6f} °C")


@pytest.mark.parametrize(
    ("change", "target", "words"),
    [
        (
            {},
            "3 °C",
            r"core: got 3 °C, expected .* between 3 and 26 °C; it nears 3 °C .* it is at 3.5 °C after [0-9.]+ h",
        ),
        ({}, "2 °C", "between 3 and 26 °C"),
        ({}, "26.5 °C", "between 3 and 26 °C"),
        ({"air": "26 °C"}, "25 °C", "between 26 and 26 °C; it nears 26 °C without ever quite being there$"),
        ({"self_warming": "1.5 K/h"}, "3.1 °C", r"it nears [0-9.]+ °C without"),
    ],
)
def test_a_temperature_that_is_never_reached(change: dict[str, str], target: str, words: str) -> None:
    with pytest.raises(QuantityError, match=words):
        piece(**change).time_to(core=target)


def test_an_assumed_property_may_mean_never() -> None:
    made = cooling("5 kg", shape="sphere", start="26 °C", air="4 °C", self_warming="1.5 K/h")
    arrival = made.time_to(core=f"{made.settles_c('core') + 1:.6f} °C")
    assert math.isinf(arrival.high_h)
    assert math.isfinite(arrival.time_h)


@pytest.mark.parametrize(
    ("asked", "got"),
    [({}, "nothing"), ({"core": "5 °C", "mean": "5 °C"}, "core and mean")],
)
def test_one_place_is_asked_for(asked: dict[str, Any], got: str) -> None:
    with pytest.raises(QuantityError, match=f"time_to: got {got}, expected one of core, mean and surface"):
        piece().time_to(**asked)


BAD: list[tuple[dict[str, Any], str]] = [
    ({"shape": "ball"}, "shape: got 'ball', expected one of 'sphere', 'cylinder', 'slab'"),
    ({"thickness": "3 cm"}, "thickness: got a value, expected nothing, for a sphere; leave it out"),
    ({"ratio": 3}, "ratio: got a value, expected nothing, for a sphere"),
    ({"shape": "slab"}, "size: got nothing, expected thickness for a slab"),
    ({"shape": "slab", "diameter": "3 cm"}, "size: got diameter, expected thickness for a slab"),
    ({"shape": "cylinder"}, "size: got nothing, expected one of diameter, length, ratio for a cylinder"),
    ({"shape": "cylinder", "diameter": "7 cm", "ratio": 3}, "size: got diameter and ratio"),
    ({"shape": "cylinder", "ratio": 0}, "ratio: got 0, expected a number above zero"),
    ({"shape": "cylinder", "ratio": -1.5}, "ratio: got -1.5"),
    ({"shape": "cylinder", "ratio": True}, "ratio: got True"),
    ({"shape": "cylinder", "ratio": math.inf}, "ratio: got inf"),
    ({"shape": "cylinder", "ratio": math.nan}, "ratio: got nan"),
    ({"shape": "cylinder", "ratio": "3"}, "ratio: got '3'"),
    ({"shape": "cylinder", "length": "0 cm"}, "length: got 0 m, expected a length above zero"),
    ({"faces": 1}, "faces: got 1, expected 2 for a sphere; leave it out"),
    ({"shape": "slab", "thickness": "3 cm", "faces": 3}, "faces: got 3, expected 1 or 2"),
    ({"shape": "slab", "thickness": "3 cm", "faces": 1.0}, "faces: got 1.0"),
    ({"shape": "slab", "thickness": "3 cm", "faces": True}, "faces: got True"),
    ({"density": "0 kg/m3"}, "density: got 0 kg/m³, expected a density above zero"),
    ({"conductivity": "0.5"}, "conductivity: got '0.5', expected a thermal conductivity"),
    ({"heat_transfer": "10 W/m2"}, "did you mean W/m"),
    ({"heat_transfer": "1e+200 W/m2K"}, "expected a heat transfer coefficient that a bakery meets"),
    ({"specific_heat": "2.7 kJ/kg"}, "kJ/kg is a unit of an energy per mass"),
    ({"heat_transfer": "100000000 W/m2K"}, "piece: got Biot numbers of"),
    ({"heat_transfer": "0.000001 W/m2K"}, "expected from 1e-06 to 1000000.0; check the size"),
    ({"self_warming": "1.5 K"}, "self_warming: got '1.5 K', expected a rate of warming"),
    ({"method": "exact"}, "method: got 'exact', expected one of 'auto', 'lumped', 'series'"),
    ({"start": "26"}, "start: got '26'"),
    ({"air": 3}, "air: got the bare number 3"),
]


@pytest.mark.parametrize(("change", "words"), BAD, ids=lambda value: str(value)[:40])
def test_bad_arguments(change: dict[str, Any], words: str) -> None:
    with pytest.raises(QuantityError) as caught:
        piece(**change)
    assert words in str(caught.value)


def test_all_bad_arguments_are_told_at_once() -> None:
    with pytest.raises(QuantityError) as caught:
        cooling("x", shape="slab", start="y", air="z", diameter="w", faces=7, method="?")  # type: ignore[arg-type]
    told = {fault.where for fault in caught.value.faults}
    assert told == {"mass", "start", "air", "diameter", "size", "faces", "method"}


@pytest.mark.parametrize("steps", [0, -1, 10_001, 2.0, True, "3"])
def test_steps_are_counted(steps: Any) -> None:  # noqa: ANN401
    with pytest.raises(QuantityError, match=r"steps: got .* expected a whole number from 1 to 10,000"):
        piece().course("3 h", steps=steps)


@pytest.mark.parametrize("nodes", [1, 33, 8.0, False])
def test_places_are_counted(nodes: Any) -> None:  # noqa: ANN401
    with pytest.raises(QuantityError, match=r"nodes: got .* expected a whole number from 2 to 32"):
        piece().local_temperatures("3 h", nodes=nodes)


def test_a_course() -> None:
    made = piece()
    course = made.course("6 h", steps=4)
    assert [state.time_h for state in course] == [0.0, 1.5, 3.0, 4.5, 6.0]
    first = course[0]
    assert (first.core_c, first.mean_c, first.surface_c, first.heat_kj) == (26.0, 26.0, 26.0, 0.0)
    assert course[-1] == made.after("6 h")
    assert len(made.course("6 h")) == 13


@pytest.mark.parametrize("shape", SHAPES)
def test_local_temperatures(shape: str) -> None:
    made = piece(shape)
    time_h = 0.06 / min(axis.rate_per_h for axis in made.axes)
    places = made.local_temperatures(f"{time_h:.9f} h")
    assert math.fsum(places.shares) == pytest.approx(1.0, abs=1e-14)
    assert len(places.shares) == len(places.temperatures_c) == 8 ** len(made.axes)
    assert places.mean_c == pytest.approx(made.temperature_c("mean", places.time_h), abs=23e-6)
    assert min(places.temperatures_c) > 3.0
    assert max(places.temperatures_c) < 26.0 + 1e-9
    early = made.local_temperatures("30 s")
    assert early.mean_c == pytest.approx(made.after("30 s").mean_c, abs=0.23)


def test_the_rate_at_the_mean_is_not_the_mean_of_the_rates() -> None:
    places = piece("tub").local_temperatures("8 h")

    def doubling(temperature_c: float) -> float:
        return math.exp(temperature_c / 10 * math.log(2))

    at_core, of_all = doubling(places.course.temperature_c("core", 8.0)), places.mean_of(doubling)
    assert doubling(places.mean_c) < of_all < at_core
    with_more = piece("tub").local_temperatures("8 h", nodes=24)
    assert of_all == pytest.approx(with_more.mean_of(doubling), rel=1e-6)


def test_local_temperatures_of_a_lumped_body() -> None:
    places = piece(method="lumped").local_temperatures("1 h")
    assert (places.shares, places.temperatures_c) == ((1.0,), (piece(method="lumped").after("1 h").core_c,))


@pytest.mark.parametrize("warming", WARMINGS)
@pytest.mark.parametrize("method", ["lumped", "series"])
@pytest.mark.parametrize("shape", SHAPES)
def test_workings(shape: str, method: str, warming: str) -> None:
    made = piece(shape, method=method, self_warming=warming)
    check_working(made.working(), made.tau_h)
    state, places = made.after("3 h"), made.local_temperatures("3 h", nodes=3)
    for where, value in (("core", state.core_c), ("mean", state.mean_c), ("surface", state.surface_c)):
        check_working(state.working(where), value)  # type: ignore[arg-type]
        arrival = made.time_to(**{where: "23 °C"})
        check_working(arrival.working(), arrival.time_h)
    check_working(places.working(), places.mean_c)
    assert made.working().cautions == made.cautions


def test_a_working_tells_what_was_assumed() -> None:
    made = cooling("1 kg", shape="sphere", start="26 °C", air="3 °C", conductivity="0.45 W/mK")
    text = made.working().text()
    assert "assumed: heat transfer (dough-cooling-text), density (choi-okos-1986)" in text
    assert "assumed" not in piece().working().text()


def test_quantities_and_views() -> None:
    quantity = pint.UnitRegistry().Quantity
    made = cooling(
        quantity(1, "kilogram"),
        shape="slab",
        start=quantity(78.8, "degF"),
        air=quantity(3.0, "degC"),
        thickness=quantity(80, "millimeter"),
        heat_transfer=quantity(8, "W/m**2/K"),
        conductivity=quantity(0.45, "W/m/K"),
        density=quantity(1.1, "g/mL"),
        specific_heat=quantity(2800, "J/kg/delta_degC"),
        self_warming=quantity(2.7, "delta_degF/hour"),
    )
    assert made == piece("slab", self_warming="1.5 K/h")
    assert hash(made) == hash(piece("slab", self_warming="1.5 K/h"))
    views: dict[str, tuple[str, float]] = {
        "mass": ("gram", made.mass_g), "start": ("degC", 26.0), "air": ("degC", 3.0), "thickness": ("meter", 0.08),
        "heat_transfer": ("W/m**2/K", 8.0), "conductivity": ("W/m/K", 0.45), "density": ("kg/m**3", 1100.0),
        "specific_heat": ("kJ/kg/K", 2.8), "self_warming": ("K/hour", 1.5), "tau": ("hour", made.tau_h),
    }  # fmt: skip
    for name, (unit, value) in views.items():
        assert getattr(made, name).m_as(unit) == pytest.approx(value, rel=1e-12), name
    assert made.diameter is None
    assert made.length is None
    round_one = piece("by ratio")
    assert round_one.thickness is None
    assert round_one.diameter is not None
    assert round_one.length is not None
    assert round_one.diameter.m_as("meter") == round_one.diameter_m
    assert round_one.length.m_as("meter") == round_one.length_m
    state, arrival, places = made.after("3 h"), made.time_to(core="20 °C"), made.local_temperatures("3 h")
    for result, name, unit, value in (
        (state, "time", "hour", 3.0),
        (state, "core", "degC", state.core_c),
        (state, "mean", "degC", state.mean_c),
        (state, "surface", "degC", state.surface_c),
        (state, "heat", "kilojoule", state.heat_kj),
        (arrival, "time", "hour", arrival.time_h),
        (arrival, "low", "hour", arrival.low_h),
        (arrival, "high", "hour", arrival.high_h),
        (arrival, "temperature", "degC", 20.0),
        (places, "time", "hour", 3.0),
        (places, "mean", "degC", places.mean_c),
    ):
        assert getattr(result, name).m_as(unit) == pytest.approx(value, rel=1e-12), name
    assert [each.m_as("degC") for each in places.temperatures] == list(places.temperatures_c)


def test_results_are_values() -> None:
    made = piece("by ratio", self_warming="1 K/h")
    for result in (made, made.after("1 h"), made.time_to(core="20 °C"), made.local_temperatures("1 h")):
        assert pickle.loads(pickle.dumps(result)) == result  # noqa: S301 - our own bytes
        assert copy.deepcopy(result) == result
        assert len({result, copy.copy(result)}) == 1
        with pytest.raises(FrozenInstanceError):
            result.cautions = ()  # type: ignore[misc]


@pytest.mark.parametrize("where", WHERES)
def test_extremes(where: Where) -> None:
    assert piece().extremes_c(where) == (3.0, 26.0)
    assert piece(start="3 °C", air="26 °C").extremes_c(where) == (3.0, 26.0)
