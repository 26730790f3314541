"""The series: the one-term table, scipy's roots, and a grid of finite volumes as a second engine."""

import math
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import integrate, linalg, optimize, sparse, special
from scipy.sparse.linalg import expm_multiply

from formula.conduction import (
    DIMENSIONS,
    MOST_TERMS,
    Axis,
    Shape,
    body_excess,
    body_excess_integral_h,
    coefficient,
    eigenvalues,
    excess,
    modes,
    terms_needed,
    volume_nodes,
)
from tests.rows import holds, rows

SHAPES: list[Shape] = [shape for shape, _ in DIMENSIONS]
POWER = {shape: count - 1 for shape, count in DIMENSIONS}
TABLE = [row for row in rows("cooling") if str(row.id).startswith("thermal/T")]
BIOTS = [1e-6, 1e-4, 0.01, 0.1, 0.5, 1.0, 1.0001, 2.0, 5.0, 10.0, 100.0, 1e4, 1e6]


def test_the_table_is_whole() -> None:
    assert len(TABLE) == 36


@pytest.mark.parametrize("row", TABLE)
def test_the_first_term(row: dict[str, str]) -> None:
    holds("cooling", row)


def condition(shape: Shape, biot: float, x: float) -> float:
    if shape == "slab":
        return float(x * np.sin(x) - biot * np.cos(x))
    if shape == "cylinder":
        return float(x * special.j1(x) - biot * special.j0(x))
    # sin x - x cos x is x² times the spherical Bessel function of order 1.
    return float(x * special.spherical_jn(1, x) - biot * special.spherical_jn(0, x))


@pytest.mark.parametrize("biot", BIOTS)
@pytest.mark.parametrize("shape", SHAPES)
def test_the_roots_are_those_of_scipy(shape: Shape, biot: float) -> None:
    found = eigenvalues(shape, biot, MOST_TERMS)
    assert list(found) == sorted(found)
    for number, root in enumerate(found):
        low, high = max(number * math.pi, 1e-9), (number + 1) * math.pi
        reference = optimize.brentq(lambda x: condition(shape, biot, x), low, high, xtol=1e-14, rtol=1e-14)
        assert root == pytest.approx(reference, rel=1e-12)


@pytest.mark.parametrize("biot", [0.01, 1.0, 10.0])
@pytest.mark.parametrize("shape", SHAPES)
def test_the_weights_are_those_of_the_expansion(shape: Shape, biot: float) -> None:
    """A weight is the mean of the profile over the mean of its square: here by quadrature, without the closed form."""
    power = POWER[shape]

    def profile(x: float) -> float:
        functions = {"slab": np.cos, "cylinder": special.j0, "sphere": lambda y: special.spherical_jn(0, y)}
        return float(functions[shape](x))

    for root in eigenvalues(shape, biot, 6):

        def over(degree: int, root: float = root) -> float:
            value, _ = integrate.quad(lambda place: place**power * profile(root * place) ** degree, 0, 1, epsabs=1e-13)
            return float(value)

        assert coefficient(shape, biot, root) == pytest.approx(over(1) / over(2), rel=1e-9)


@pytest.mark.parametrize("biot", [0.05, 1.0, 20.0])
@pytest.mark.parametrize("shape", SHAPES)
def test_the_mean_is_the_mean_over_the_volume(shape: Shape, biot: float) -> None:
    power = POWER[shape]
    for fourier in (0.01, 0.2, 1.0):

        def shell(place: float, fourier: float = fourier) -> float:
            return (power + 1) * place**power * excess(shape, biot, fourier, place)

        value, _ = integrate.quad(shell, 0, 1, epsabs=1e-12)
        assert excess(shape, biot, fourier, None) == pytest.approx(value, abs=1e-10)


class Grid:
    """A shape cut into equal shells: d(excess)/d(Fourier) of each by the heat that its two neighbours exchange with it."""

    def __init__(self, shape: Shape, biot: float, shells: int = 200) -> None:
        power = POWER[shape]
        edges = np.linspace(0, 1, shells + 1)
        step = 1 / shells
        volumes = np.diff(edges ** (power + 1)) / (power + 1)
        inner = edges[1:-1] ** power / step
        # From the middle of the last shell to the air: half a shell in series with the surface.
        outer = 1 / (step / 2 + 1 / biot)
        diagonal = -(np.append(0.0, inner) + np.append(inner, outer))
        self.shares = volumes * (power + 1)
        self.centres = (edges[1:] + edges[:-1]) / 2
        self.matrix = (np.diag(diagonal) + np.diag(inner, 1) + np.diag(inner, -1)) / volumes[:, None]
        # Weighted by the roots of the volumes the matrix is symmetric.
        weights = np.sqrt(volumes)
        self.rates, vectors = linalg.eigh_tridiagonal(diagonal / volumes, inner / weights[1:] / weights[:-1])
        self._back = vectors / weights[:, None]
        self._start = vectors.T @ weights

    def excess(self, fourier: float) -> NDArray[np.float64]:
        """Return the excess of each shell after a start at 1."""
        found: NDArray[np.float64] = self._back @ (np.exp(self.rates * fourier) * self._start)
        return found

    def warmed(self, fourier: float) -> NDArray[np.float64]:
        """Return what a source of 1 in each shell has made of a start at 0."""
        found: NDArray[np.float64] = self._back @ (np.expm1(self.rates * fourier) / self.rates * self._start)
        return found


GRID_BAND = 2e-4
"""Of the first difference. The grid of 200 shells is of second order; halving its step quarters what is left."""


@pytest.mark.parametrize("biot", [0.3, 1.5, 8.0])
@pytest.mark.parametrize("shape", SHAPES)
def test_a_grid_of_finite_volumes_agrees(shape: Shape, biot: float) -> None:
    grid = Grid(shape, biot)
    for fourier in (0.02, 0.1, 0.5, 2.0):
        found = grid.excess(fourier)
        series = [excess(shape, biot, fourier, float(place)) for place in grid.centres[::5]]
        assert np.abs(found[::5] - series).max() < GRID_BAND
        assert float(grid.shares @ found) == pytest.approx(excess(shape, biot, fourier, None), abs=GRID_BAND)


def test_a_finer_grid_agrees_better() -> None:
    """The disagreement is the grid's: with half the step it is a quarter."""
    for shape in SHAPES:
        errors = []
        for shells in (50, 100, 200):
            grid = Grid(shape, 1.5, shells)
            errors.append(abs(float(grid.shares @ grid.excess(0.2)) - excess(shape, 1.5, 0.2, None)))
        assert errors[0] / errors[1] == pytest.approx(4, rel=0.1)
        assert errors[1] / errors[2] == pytest.approx(4, rel=0.1)


@pytest.mark.parametrize("biot", [0.3, 8.0])
@pytest.mark.parametrize("shape", SHAPES)
def test_a_grid_that_warms_itself_agrees(shape: Shape, biot: float) -> None:
    grid, axis = Grid(shape, biot), [Axis(shape, biot, 1.0)]
    for fourier in (0.02, 0.5, 3.0):
        found = grid.warmed(fourier)
        for shell in (0, -1):
            series = body_excess_integral_h(axis, [float(grid.centres[shell])], fourier)
            assert found[shell] == pytest.approx(series, abs=GRID_BAND)
        assert float(grid.shares @ found) == pytest.approx(body_excess_integral_h(axis, [None], fourier), abs=GRID_BAND)


def test_a_cylinder_with_ends_agrees_with_a_grid() -> None:
    """The product of a cylinder and a slab against two dimensions on a grid of 60 by 60 cells."""
    biot_round, biot_long, long_rate = 0.8, 2.0, (0.8 / 2.0) ** 2
    around, along = Grid("cylinder", biot_round, 60), Grid("slab", biot_long, 60)
    unit = sparse.identity(60)
    both: Any = sparse.kron(sparse.csr_matrix(around.matrix), unit)
    both += sparse.kron(unit, sparse.csr_matrix(along.matrix * long_rate))
    axes = [Axis("cylinder", biot_round, 1.0), Axis("slab", biot_long, long_rate)]
    inside, outside = float(around.centres[0]), float(around.centres[-1])
    for time_h in (0.1, 0.6):
        grid = expm_multiply(both * time_h, np.ones(3600)).reshape(60, 60)
        assert grid[0, 0] == pytest.approx(body_excess(axes, [inside, inside], time_h), abs=5e-4)
        assert grid[-1, 0] == pytest.approx(body_excess(axes, [outside, inside], time_h), abs=5e-4)
        assert grid[0, -1] == pytest.approx(body_excess(axes, [inside, outside], time_h), abs=5e-4)
        mean = around.shares @ grid @ along.shares
        assert mean == pytest.approx(body_excess(axes, [None, None], time_h), abs=5e-4)


@pytest.mark.parametrize("place", [0.0, 0.9, 0.99, 1.0, None])
@pytest.mark.parametrize("biot", [0.01, 0.5, 1.0, 1.0001, 2.0, 10.0, 100.0])
@pytest.mark.parametrize("shape", SHAPES)
def test_early_and_late_meet(shape: Shape, biot: float, place: float | None) -> None:
    change = 30 / (MOST_TERMS * math.pi) ** 2
    before, after = (excess(shape, biot, change * factor, place) for factor in (1 - 1e-9, 1 + 1e-9))
    assert before == pytest.approx(after, abs=1e-6 * (1 + biot))


def test_early_on_the_surface_is_that_of_an_endless_body() -> None:
    # Half-space with convection: theta = exp(Bi² Fo) erfc(Bi sqrt(Fo)), Bi and Fo over any length.
    for biot, fourier in ((1.0, 1e-4), (50.0, 1e-4), (1e5, 1e-6), (3.0, 1e-12)):
        expected = special.erfcx(biot * math.sqrt(fourier))
        assert excess("slab", biot, fourier, 1.0) == pytest.approx(expected, rel=1e-6)
    assert excess("sphere", 5.0, 1e-5, 0.0) == 1.0


def test_in_the_end_a_source_makes_a_parabola() -> None:
    # Steady, with a source of 1: theta = (1 - place²) / (2 n) + 1 / (n Bi) for n directions.
    for shape, directions in DIMENSIONS:
        for biot in (0.5, 3.0):
            for place in (0.0, 0.6, 1.0):
                expected = (1 - place**2) / (2 * directions) + 1 / (directions * biot)
                found = body_excess_integral_h([Axis(shape, biot, 1.0)], [place], math.inf)
                assert found == pytest.approx(expected, abs=1e-5 * (1 + biot))


@pytest.mark.parametrize(
    ("fourier", "count"), [(10.0, 2), (1.0, 3), (0.2, 5), (0.01, 19), (1e-4, 128), (1e-300, 128), (math.inf, 1)]
)
def test_as_many_terms_as_needed(fourier: float, count: int) -> None:
    assert terms_needed(fourier) == count


@pytest.mark.parametrize("shape", SHAPES)
def test_what_is_left_out_is_nothing(shape: Shape) -> None:
    for biot in (0.1, 2.0, 50.0):
        for fourier in (2e-4, 0.003, 0.05, 0.2, 1.0):
            for place in (0.0, 0.5, 1.0, None):
                every = math.fsum(w * math.exp(-rate * fourier) for w, rate in modes(shape, biot, place, MOST_TERMS))
                assert excess(shape, biot, fourier, place) == pytest.approx(every, abs=1e-11)


@pytest.mark.parametrize("shape", SHAPES)
def test_one_term_is_enough_for_a_textbook_only(shape: Shape) -> None:
    """Above a Fourier number of 0.2 the first term alone is within 2 % of the first difference, as is taught."""
    for biot in (0.1, 1.0, 10.0, 100.0):
        ((weight, rate),) = modes(shape, biot, 0.0, 1)
        for fourier in (0.2, 0.5, 1.0):
            assert weight * math.exp(-rate * fourier) == pytest.approx(excess(shape, biot, fourier), abs=0.02)
    ((weight, rate),) = modes(shape, 10.0, 0.0, 1)
    assert abs(weight * math.exp(-rate * 0.02) - excess(shape, 10.0, 0.02)) > 0.1


def test_at_the_start_nothing_is_lost() -> None:
    assert excess("cylinder", 2.0, 0.0, 1.0) == excess("cylinder", 2.0, 0.0, None) == 1.0
    assert body_excess_integral_h([Axis("cylinder", 2.0, 1.0)], [1.0], 0.0) == 0.0


@pytest.mark.parametrize("count", [2, 3, 8])
@pytest.mark.parametrize("shape", SHAPES)
def test_places_over_the_volume(shape: Shape, count: int) -> None:
    nodes = volume_nodes(shape, count)
    assert math.fsum(share for _, share in nodes) == pytest.approx(1.0, abs=1e-15)
    power = POWER[shape]
    # The mean of place² over the volume.
    expected = (power + 1) / (power + 3)
    if 2 * count - 1 >= power + 2:
        assert math.fsum(share * place**2 for place, share in nodes) == pytest.approx(expected, rel=1e-13)
