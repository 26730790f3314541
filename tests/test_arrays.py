"""Each kernel takes arrays and answers, element by element, what floats give; or it has a form that does, or a reason."""

import importlib
import math
import sys
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula import MissingExtraError
from formula.arrays import (
    elementwise,
    ices_replacing_g,
    newton_times_h,
    on_steps,
    pieces_and_rest,
)
from formula.counting import Rounding, on_step, whole_pieces
from formula.ice import ice_replacing_g, iced_water_c
from formula.losses import left_after
from formula.packed import Packed
from tests.laws import strategies as draw
from tests.test_dimensions import GIVEN, KERNELS, made_up

FORMS = {
    # Kernels that compare or take a logarithm, and the form of each for arrays.
    "newton.newton_tau_h": "newton_taus_h",
    "newton.newton_time_h": "newton_times_h",
    "otherrates.square_rate": "square_rates",
    "piece.sphere_diameter_m": "sphere_diameters_m",
    "rates.cardinal_rate": "cardinal_rates",
}

ONE_BY_ONE = {
    # What is asked for one dough, one bakery or one table at a time: ``elementwise`` asks the kernel for every element.
    "allowances.z_leaving": "the inverse of the normal distribution, a search in the standard library",
    "byhand.kept_in_hand_g": "a square root of the library of floats; one batch is divided by hand at a time",
    "byhand.last_short_share": "the normal distribution of the standard library",
    "byhand.pieces_at": "a square root and a floor; one batch is divided by hand at a time",
    "counting.even": "compares with the nearest whole number; on_steps and pieces_and_rest have it inside",
    "draws.number": "writes text and reads it again",
    "growth.growth_sum_h": "three ways to work it out, by the size of the exponent",
    "growth.growth_z": "an exponential of the library of floats, and none before the lag ends",
    "keepup.rounds_kept_up": "counts the rounds of a shop one by one",
    "mixtime.minutes_of": "writes text",
    "netweight.below_share": "the normal distribution of the standard library, and a spread of nothing",
    "piece.cylinder_diameter_m": "a cube root of the library of floats",
    "rates.spread_factor": "a table of limits, asked once for a result",
    "samplecheck.mean_factor": "Student's t of the size of a sample, a search",
    "souring.phi_from_log": "a logarithm; from one row of a levain's log",
    "souring.ripening_time_h": "a logarithm; asked for one levain",
    "spread.fitted_rate": "fits a line to a whole table",
    "spread.student_t": "a search",
    "spread.student_t95": "a search",
    "tin.water_density_kg_m3": "a table of degrees, asked for one tin",
    "uncertainty.propagated": "a root of the sum over one result's inputs",
}

OWN_GIVEN: dict[str, tuple[Any, ...]] = {
    # Where the numbers made up for the dimensions are outside the kernel's range.
    "allowances.z_leaving": (0.2,),
    "rates.cardinal_rate": (26.0, 0.0, 38.0, 48.0),
    "samplecheck.mean_factor": (0.95, 5),
    "souring.seed_share_after": (6.0, 0.4, 0.8),
    "spread.student_t": (0.95, 5),
}
SIZE = 7


def many_of(name: str) -> list[Any]:
    """Return arrays for the arguments of a kernel; where it takes a sequence, a sequence of arrays."""
    values = OWN_GIVEN.get(name) or GIVEN.get(name) or made_up(KERNELS[name])
    spread = 1 + 0.002 * np.arange(SIZE)
    found: list[Any] = []
    for (_, kind), value in zip(KERNELS[name], values, strict=True):
        if isinstance(value, list):
            found.append([each * spread for each in value])
        else:
            found.append(value + np.arange(SIZE) if kind == "int" else value * spread)
    return found


def one_of(arguments: list[Any], place: int) -> list[Any]:
    return [[one[place].item() for one in each] if isinstance(each, list) else each[place].item() for each in arguments]


def kernel_of(name: str) -> Callable[..., Any]:
    room, _, function = name.partition(".")
    found: Callable[..., Any] = getattr(importlib.import_module(f"formula.{room}"), function)
    return found


def assert_alike(found: Any, wanted: list[float]) -> None:  # noqa: ANN401
    assert isinstance(found, np.ndarray)
    assert found.shape == (SIZE,)
    # Powers and logarithms of numpy and of the library of floats differ in the last place.
    np.testing.assert_allclose(found, wanted, rtol=4e-15, atol=0)


@pytest.mark.parametrize("name", [name for name in KERNELS if name not in {*FORMS, *ONE_BY_ONE}])
def test_arrays_pass_through_a_kernel(name: str) -> None:
    arguments = many_of(name)
    kernel = kernel_of(name)
    wanted = [kernel(*one_of(arguments, place)) for place in range(SIZE)]
    assert len(set(wanted)) > 1, "the numbers do not matter"
    assert_alike(kernel(*arguments), wanted)


@pytest.mark.parametrize("name", FORMS)
def test_a_kernel_has_a_form_for_arrays(name: str) -> None:
    arguments = many_of(name)
    kernel = kernel_of(name)
    form = kernel_of(f"arrays.{FORMS[name]}")
    wanted = [kernel(*one_of(arguments, place)) for place in range(SIZE)]
    assert_alike(form(*arguments), wanted)
    # Numbers, lists and arrays may stand beside each other, in any shape that fits.
    table = form(np.array(arguments[0]).reshape(SIZE, 1), *(each[:1].item() for each in arguments[1:]))
    assert table.shape == (SIZE, 1)
    assert table[0, 0] == pytest.approx(wanted[0], rel=4e-15)


@pytest.mark.parametrize("name", [*FORMS, *ONE_BY_ONE])
def test_an_exception_is_one(name: str) -> None:
    arguments = many_of(name)
    kernel = kernel_of(name)
    assert not isinstance(kernel(*one_of(arguments, 0)), np.ndarray)
    with pytest.raises((TypeError, ValueError)):
        kernel(*arguments)


@pytest.mark.parametrize(
    "name", [name for name in ONE_BY_ONE if {kind for _, kind in KERNELS[name]} == {"float"} and name != "mixtime.minutes_of"]
)  # fmt: skip
def test_elementwise_asks_any_kernel_for_every_element(name: str) -> None:
    arguments = many_of(name)
    kernel = kernel_of(name)
    wanted = [kernel(*one_of(arguments, place)) for place in range(SIZE)]
    assert elementwise(kernel, *arguments).tolist() == wanted


def test_elementwise_fits_shapes() -> None:
    found = elementwise(ice_replacing_g, np.array([[30_000.0], [10_000.0]]), 18.0, [13.0, 10.0, 6.0])
    assert found.shape == (2, 3)
    assert found[1, 2] == ice_replacing_g(10_000.0, 18.0, 6.0)


def test_losses_of_many_breads_are_left_at_once() -> None:
    bake, cool = np.array([0.1, 0.12, 0.15]), np.array([0.01, 0.0, 0.02])
    kernel: Callable[..., Any] = left_after
    for way in ("compound", "add"):
        wanted = [left_after(pair, way) for pair in zip(bake.tolist(), cool.tolist(), strict=True)]
        np.testing.assert_allclose(kernel([bake, cool], way), wanted, rtol=4e-15)


class TestSteps:
    """Many weights come onto the scale's steps as one does, to the last digit."""

    @given(
        st.lists(draw.masses_g, min_size=1, max_size=20),
        st.sampled_from([0.1, 0.5, 1.0, 2.0, 5.0, 10.0, 28.349523125]),
        st.sampled_from(["up", "down", "nearest"]),
    )
    def test_as_one_does(self, amounts: list[float], step: float, rounding: Rounding) -> None:
        assert on_steps(amounts, step, rounding).tolist() == [on_step(each, step, rounding) for each in amounts]

    @given(st.integers(1, 100_000), st.sampled_from([0.1, 0.3, 5.0]), st.sampled_from(["up", "down", "nearest"]))
    def test_what_misses_a_step_by_a_hair_is_on_it(self, count: int, step: float, rounding: Rounding) -> None:
        amounts = [count * step, math.nextafter(count * step, 0), math.nextafter(count * step, 1e9)]
        assert on_steps(amounts, step, rounding).tolist() == [on_step(each, step, rounding) for each in amounts]
        assert on_steps(amounts[0], step, rounding).shape == ()


class TestPieces:
    """Many doughs are divided as one is: the count exactly, the rest to the reading of the weights."""

    @given(st.lists(st.tuples(draw.masses_g, st.floats(1.0, 2_000.0)), min_size=1, max_size=20))
    def test_as_one_is(self, doughs: list[tuple[float, float]]) -> None:
        pieces, rest_g = pieces_and_rest(*zip(*doughs, strict=True))
        for (total_g, piece_g), count, left_g in zip(doughs, pieces.tolist(), rest_g.tolist(), strict=True):
            wanted, wanted_g = whole_pieces(total_g, piece_g)
            assert count == wanted
            assert left_g == pytest.approx(wanted_g, abs=1e-11 * max(total_g, 1.0))

    @given(st.integers(1, 10_000), st.integers(1, 20_000))
    def test_a_dough_of_whole_pieces_leaves_nothing(self, count: int, tenths: int) -> None:
        piece_g = tenths / 10
        pieces, rest_g = pieces_and_rest([count * piece_g], [piece_g])
        assert (pieces.tolist(), rest_g.tolist()) == ([count], [0.0])


class TestIce:
    """Ice for many mixes acts as cold as each was wanted; none where the tap is cold enough, no number where none helps."""

    @given(st.lists(st.tuples(draw.masses_g, st.floats(2.0, 30.0), st.floats(-120.0, 40.0)), min_size=1, max_size=20))
    def test_as_cold_as_wanted(self, mixes: list[tuple[float, float, float]]) -> None:
        water_g, tap_c, wanted_c = (np.array(each) for each in zip(*mixes, strict=True))
        for (water, tap, wanted), ice in zip(mixes, ices_replacing_g(water_g, tap_c, wanted_c).tolist(), strict=True):
            if wanted >= tap:
                assert ice == 0
            elif math.isnan(ice):
                assert wanted < -80 + 1e-9
            else:
                assert iced_water_c(water - ice, tap, ice) == pytest.approx(wanted, abs=1e-9)


def test_what_is_never_reached_is_no_number() -> None:
    found = newton_times_h(90.0, 24.0, [30.0, 24.0, 20.0], 1.5)
    assert np.isfinite(found).tolist() == [True, False, False]


def test_without_numpy_an_error_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "numpy", None)
    with pytest.raises(MissingExtraError, match=r"dough-formula\[many\]"):
        on_steps([1.0], 5.0)


class TestPacked:
    """A packed row is a value: equal numbers make equal bytes, and what is read from it cannot be changed."""

    @given(st.lists(st.floats(allow_nan=False), max_size=20))
    def test_it_holds_what_was_given(self, values: list[float]) -> None:
        row = Packed.of(values)
        assert row.array().tolist() == values
        assert len(row) == len(values)
        assert row == Packed.of(np.array(values, dtype=float))
        assert hash(row) == hash(Packed.of(row.array()))

    def test_minus_zero_is_zero(self) -> None:
        assert Packed.of([-0.0]) == Packed.of([0.0])

    def test_it_cannot_be_written_to(self) -> None:
        values = Packed.of([1.0, 2.0]).array()
        with pytest.raises(ValueError, match="read-only"):
            values[0] = 3.0
        with pytest.raises(ValueError, match="WRITEABLE"):
            values.setflags(write=True)
