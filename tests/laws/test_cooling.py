"""Laws of cooling and warming."""

import math
from typing import Any

import pytest
from attrs import evolve
from hypothesis import assume, given
from hypothesis import strategies as st

from formula.chill import Cooling, cooling
from formula.conduction import Axis, Shape, body_excess, body_excess_integral_h, excess
from formula.course import Where
from formula.newton import cooling_from_reading, newton_c, newton_tau_h, newton_time_h
from formula.quantity import (
    TEMPERATURE,
    TIME,
    grid,
    write,
)
from tests.laws.strategies import (
    biots,
    cooling_pieces,
    depths,
    fouriers,
    parts_of_a_time,
    shapes,
    taus_h,
    temperatures_c,
    times_h,
    wheres,
)


class TestOneWayOnly:
    """Without self-warming a temperature goes one way, from the start to the air, and never past it."""

    @given(shapes, biots, fouriers, st.floats(1.0, 3.0), depths)
    def test_series(self, shape: Shape, biot: float, fourier: float, later: float, place: float | None) -> None:
        before, after = excess(shape, biot, fourier, place), excess(shape, biot, fourier * later, place)
        assert after >= -1e-12
        assert after <= before + 1e-11
        assert before <= 1 + 1e-11

    @given(cooling_pieces(), wheres, times_h, times_h)
    def test_degrees(self, made: Cooling, where: Where, first_h: float, second_h: float) -> None:
        early_c, late_c = (made.temperature_c(where, time_h) for time_h in sorted((first_h, second_h)))
        way = math.copysign(1.0, made.air_c - made.start_c)
        slack = 1e-4
        assert way * made.start_c - slack <= way * early_c <= way * late_c + slack <= way * made.air_c + 2 * slack


class TestAHotterStartIsNeverColderLater:
    """Of two pieces that differ in their start alone, the hotter one stays so; likewise for the air."""

    @given(cooling_pieces(), st.floats(0.1, 20.0), wheres, times_h)
    def test_law(self, made: Cooling, more_k: float, where: Where, time_h: float) -> None:
        here_c = made.temperature_c(where, time_h)
        for warmer in (evolve(made, start_c=made.start_c + more_k), evolve(made, air_c=made.air_c + more_k)):
            assert warmer.temperature_c(where, time_h) >= here_c - 1e-4


class TestSimilarBodiesCoolAlike:
    """Twice the size with half the heat transfer takes four times as long: Biot and Fourier number tell all."""

    @given(cooling_pieces(), st.floats(0.3, 3.0), wheres, parts_of_a_time)
    def test_law(self, made: Cooling, scale: float, where: Where, left: float) -> None:
        sizes: dict[str, Any] = {
            name: None if (size := getattr(made, name)) is None else size * scale
            for name in ("thickness_m", "diameter_m", "length_m")
        }
        other = evolve(
            made, mass_g=made.mass_g * scale**3, heat_transfer_w_m2_k=made.heat_transfer_w_m2_k / scale, **sizes
        )
        time_h = -made.tau_h * math.log(left)
        assert other.temperature_c(where, time_h * scale**2) == pytest.approx(
            made.temperature_c(where, time_h), abs=1e-8
        )


class TestASmallBodyFollowsNewton:
    """As the Biot number goes to nothing, the series becomes Newton's exponential, off by no more than the Biot number."""

    @given(shapes, st.floats(math.log(1e-6), math.log(0.1)).map(math.exp), depths, st.floats(0.01, 5.0))
    def test_law(self, shape: Shape, biot: float, place: float | None, times: float) -> None:
        directions = {"slab": 1, "cylinder": 2, "sphere": 3}[shape]
        # tau = rho c V / (h A), in Fourier numbers 1 / (directions Bi).
        fourier = times / (directions * biot)
        assert excess(shape, biot, fourier, place) == pytest.approx(math.exp(-times), abs=biot)


class TestTheMeanLiesBetween:
    """The mean temperature lies between those of the surface and of the core, whichever is warmer."""

    @given(cooling_pieces(), times_h)
    def test_law(self, made: Cooling, time_h: float) -> None:
        state = made._state(time_h)
        slack = 1e-4
        if made.axes[1:]:
            # The middle of a cylinder's side is not the coldest place on it: its ends are.
            assert abs(state.mean_c - made.air_c) <= abs(state.core_c - made.air_c) + slack
        else:
            low_c, high_c = sorted((state.core_c, state.surface_c))
            assert low_c - slack <= state.mean_c <= high_c + slack


class TestHeatIsKept:
    """What a piece gives off, by what its mean temperature has lost, is what has passed its surface."""

    @given(cooling_pieces(), times_h)
    def test_in_kilojoules(self, made: Cooling, time_h: float) -> None:
        assume(len(made.axes) == 1)
        difference_k = made.start_c - made.air_c
        # h A (T_surface - air) summed up over time; 3.6 kJ in a Wh.
        flow = 3.6 * made.heat_transfer_w_m2_k * made.area_m2 * difference_k
        passed_kj = flow * made.warmed_h("surface", time_h)
        capacity_kj_k = made.mass_g / 1000 * made.specific_heat_kj_kg_k
        slack = (1e-9 if made.method == "lumped" else 2e-5 * (1 + made.axes[0].biot) ** 2) * abs(difference_k)
        assert made._state(time_h).heat_kj == pytest.approx(passed_kj, abs=capacity_kj_k * slack)

    @given(shapes, biots, st.floats(0.001, 2.0))
    def test_by_the_kernels(self, shape: Shape, biot: float, fourier: float) -> None:
        directions = {"slab": 1, "cylinder": 2, "sphere": 3}[shape]
        axis = [Axis(shape, biot, 1.0)]
        passed = directions * biot * body_excess_integral_h(axis, [1.0], fourier)
        lost = 1 - excess(shape, biot, fourier, None)
        # The sum over time holds 32 terms.
        assert passed == pytest.approx(lost, abs=2e-5 * (1 + biot) ** 2)


class TestSelfWarmingIsAddedOn:
    """A self-warming makes every place warmer at every time, in proportion, and never by more than the warming itself."""

    @given(cooling_pieces(warming=True), wheres, times_h)
    def test_law(self, made: Cooling, where: Where, time_h: float) -> None:
        plain_c = evolve(made, self_warming_k_h=0.0).temperature_c(where, time_h)
        added_k = made.temperature_c(where, time_h) - plain_c
        assert -1e-6 <= added_k <= made.self_warming_k_h * time_h + 1e-3
        twice = evolve(made, self_warming_k_h=2 * made.self_warming_k_h)
        assert twice.temperature_c(where, time_h) - plain_c == pytest.approx(2 * added_k, rel=1e-9, abs=1e-9)


class TestTimeAndTemperatureAreInverses:
    """After the time to a temperature, the temperature is that."""

    @given(cooling_pieces(), wheres, parts_of_a_time)
    def test_series(self, made: Cooling, where: Where, left: float) -> None:
        target_c = grid(TEMPERATURE, made.air_c + left * (made.start_c - made.air_c))
        arrival = made.time_to(**{where: write(TEMPERATURE, target_c)})
        assert made.temperature_c(where, arrival.time_h) == pytest.approx(target_c, abs=1e-9)

    @given(temperatures_c, temperatures_c, parts_of_a_time, taus_h)
    def test_newton(self, start_c: float, air_c: float, left: float, tau_h: float) -> None:
        assume(abs(start_c - air_c) > 1)
        target_c = air_c + left * (start_c - air_c)
        time_h = newton_time_h(start_c, air_c, target_c, tau_h)
        assert newton_c(start_c, air_c, time_h, tau_h) == pytest.approx(target_c, abs=1e-9)
        assert newton_tau_h(start_c, air_c, target_c, time_h) == pytest.approx(tau_h, rel=1e-9)


class TestAReadingForetellsTheOthers:
    """The time constant of one reading gives back the reading, and the same constant from any other time."""

    @given(temperatures_c, temperatures_c, parts_of_a_time, times_h, times_h)
    def test_law(self, start_c: float, air_c: float, left: float, time_h: float, other_h: float) -> None:
        assume(abs(start_c - air_c) > 1)
        assume(0.02 < other_h / time_h < 5)
        reading_c = grid(TEMPERATURE, air_c + left * (start_c - air_c))
        given_: dict[str, Any] = {"start": write(TEMPERATURE, start_c), "air": write(TEMPERATURE, air_c)}
        made = cooling_from_reading(**given_, reading=write(TEMPERATURE, reading_c), after=write(TIME, time_h))
        assert made.after(write(TIME, time_h)).temperature_c == pytest.approx(reading_c, abs=1e-9)
        then_c = made.after(write(TIME, other_h)).temperature_c
        assume(abs(then_c - air_c) > 1e-3)
        again = cooling_from_reading(**given_, reading=write(TEMPERATURE, then_c), after=write(TIME, other_h))
        assert again.tau_h == pytest.approx(made.tau_h, rel=1e-4)


class TestCelsiusAndFahrenheitAgree:
    """A piece cools alike whichever scale its temperatures are written in."""

    @given(temperatures_c, temperatures_c, times_h)
    def test_law(self, start_c: float, air_c: float, time_h: float) -> None:
        celsius, fahrenheit = (
            cooling("1 kg", shape="sphere", start=texts[0], air=texts[1])
            for texts in (
                (write(TEMPERATURE, start_c), write(TEMPERATURE, air_c)),
                tuple(f"{value * 1.8 + 32:.10f} °F" for value in (start_c, air_c)),
            )
        )
        assert fahrenheit.temperature_c("core", time_h) == pytest.approx(
            celsius.temperature_c("core", time_h), abs=1e-8
        )


class TestAnEndlessCylinderHasNoEnds:
    """A cylinder with ends cools faster than one without, and like one without when it is long."""

    @given(biots, fouriers, st.floats(1.0, 100.0))
    def test_law(self, biot: float, fourier: float, ratio: float) -> None:
        endless = excess("cylinder", biot, fourier)
        rate = 1 / ratio**2
        axes = [Axis("cylinder", biot, 1.0), Axis("slab", biot * ratio, rate)]
        assert body_excess(axes, [0.0, 0.0], fourier) <= endless + 1e-9
        far = [Axis("cylinder", biot, 1.0), Axis("slab", biot * 1000, 1e-6)]
        assert body_excess(far, [0.0, 0.0], fourier) == pytest.approx(endless, abs=1e-9)
