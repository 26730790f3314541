"""The kernels for arrays: where a kernel compares, takes a logarithm or counts whole pieces, the same for many at once.

Most kernels are plain arithmetic, and arrays of numpy pass through them as they are.  Those that are not have a form here
under their name in the plural, with the same arguments: numbers or arrays that fit together, as numpy fits them.  For any
kernel that has none, ``elementwise`` asks it once for every element.  All need the extra ``many`` (numpy).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, TypeAlias

from .counting import READING, Rounding, on_step, whole_pieces
from .ice import ICE_HEAT_RATIO, LATENT_K, ice_replacing_g
from .packed import load_numpy

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = [
    "cardinal_rates",
    "elementwise",
    "ices_replacing_g",
    "newton_taus_h",
    "newton_times_h",
    "on_steps",
    "pieces_and_rest",
    "sphere_diameters_m",
    "square_rates",
]

Numbers: TypeAlias = "float | Sequence[float] | NDArray[Any]"
"""What every argument here may be: a number, a sequence of numbers or an array."""

_NEAR = 1e-6
"""A count of steps or pieces nearer to a whole number than this is decided by the exact kernel."""


def elementwise(kernel: Callable[..., float], *numbers: Numbers) -> NDArray[Any]:
    """Ask a kernel once for every element of its arguments: as slow as a loop, and right for every kernel.

    Args:
        kernel: a function of floats.
        numbers: its arguments, numbers or arrays that fit together.

    Returns:
        An array of floats of the shape that they have together.

    Raises:
        MissingExtraError: without numpy.

    Example:
        >>> from formula.growth import growth_z
        >>> elementwise(growth_z, [-1.0, 3.21], 1.0).round(3).tolist()
        [0.0, 0.543]
    """
    np = load_numpy()
    fitted = np.broadcast_arrays(*(np.asarray(each, dtype=float) for each in numbers))
    values = [kernel(*row) for row in zip(*(each.ravel().tolist() for each in fitted), strict=True)]
    found: NDArray[Any] = np.array(values, dtype=float).reshape(fitted[0].shape)
    return found


def cardinal_rates(temperature_c: Numbers, low_c: Numbers, best_c: Numbers, high_c: Numbers) -> NDArray[Any]:
    """Return ``cardinal_rate`` for arrays: the rate relative to that at the best temperature, zero outside Tl to Th.

    Args:
        temperature_c: T, the dough's temperature, °C.
        low_c: Tl, where it begins, °C.
        best_c: Tb, where it is fastest, °C.
        high_c: Th, where it ends, °C.

    Raises:
        MissingExtraError: without numpy.

    Example:
        >>> cardinal_rates([-5.0, 26.0, 38.0, 60.0], 0.0, 38.0, 48.0).round(5).tolist()
        [0.0, 0.65666, 1.0, 0.0]
    """
    np = load_numpy()
    t, low, best, high = (np.asarray(each, dtype=float) for each in (temperature_c, low_c, best_c, high_c))
    inside = (low < t) & (t < high)
    # Outside, the fraction may have no value: there it is worked out at the best temperature and thrown away.
    t = np.where(inside, t, best)
    rise = best - low
    below = rise * (rise * (t - best) - (best - high) * (best + low - 2 * t))
    found: NDArray[Any] = np.where(inside, (t - high) * (t - low) ** 2 / below, 0.0)
    return found


def square_rates(temperature_c: Numbers, low_c: Numbers) -> NDArray[Any]:
    """Return ``square_rate`` for arrays: (T - Tl)^2, and zero below Tl.

    Args:
        temperature_c: T, the dough's temperature, °C.
        low_c: Tl, where it begins, °C.

    Raises:
        MissingExtraError: without numpy.

    Example:
        >>> square_rates([-2.0, 16.0, 24.0], 0.0).tolist()
        [0.0, 256.0, 576.0]
    """
    np = load_numpy()
    above = np.maximum(np.asarray(temperature_c, dtype=float) - np.asarray(low_c, dtype=float), 0.0)
    found: NDArray[Any] = above**2
    return found


def newton_times_h(start_c: Numbers, air_c: Numbers, target_c: Numbers, tau_h: Numbers) -> NDArray[Any]:
    """Return ``newton_time_h`` for arrays: t = tau ln((start - air) / (target - air)).

    Args:
        start_c: the temperatures at the beginning, °C.
        air_c: those around, °C.
        target_c: temperatures between the two, °C; where one is not, the answer is no number (NaN), or without end.
        tau_h: the time constants, h.

    Raises:
        MissingExtraError: without numpy.

    Example:
        >>> newton_times_h([96.0, 90.0], 24.0, 30.0, 1.5).round(3).tolist()
        [3.727, 3.597]
    """
    np = load_numpy()
    start, air, target, tau = (np.asarray(each, dtype=float) for each in (start_c, air_c, target_c, tau_h))
    with np.errstate(divide="ignore", invalid="ignore"):
        found: NDArray[Any] = tau * np.log((start - air) / (target - air))
    return found


def newton_taus_h(start_c: Numbers, air_c: Numbers, reading_c: Numbers, time_h: Numbers) -> NDArray[Any]:
    """Return ``newton_tau_h`` for arrays: the time constants that one reading each shows.

    Args:
        start_c: the temperatures at the beginning, °C.
        air_c: those around, °C.
        reading_c: the temperatures read, °C, between the two; where one is not, the answer is no number (NaN).
        time_h: when they were read, h.

    Raises:
        MissingExtraError: without numpy.

    Example:
        >>> newton_taus_h([96.0, 90.0], 24.0, [48.0, 48.0], 1.5).round(4).tolist()
        [1.3654, 1.4828]
    """
    np = load_numpy()
    start, air, reading, time = (np.asarray(each, dtype=float) for each in (start_c, air_c, reading_c, time_h))
    with np.errstate(divide="ignore", invalid="ignore"):
        found: NDArray[Any] = time / np.log((start - air) / (reading - air))
    return found


def sphere_diameters_m(mass_g: Numbers, density_kg_m3: Numbers) -> NDArray[Any]:
    """Return ``sphere_diameter_m`` for arrays: d = cbrt(6 m / (pi rho)).

    Args:
        mass_g: what the pieces weigh, g.
        density_kg_m3: their density, kg/m³.

    Raises:
        MissingExtraError: without numpy.

    Example:
        >>> sphere_diameters_m([500.0, 1000.0], 600.0).round(3).tolist()
        [0.117, 0.147]
    """
    np = load_numpy()
    mass, density = (np.asarray(each, dtype=float) for each in (mass_g, density_kg_m3))
    found: NDArray[Any] = np.cbrt(6 * mass / 1000 / (np.pi * density))
    return found


def ices_replacing_g(
    water_g: Numbers,
    tap_c: Numbers,
    wanted_c: Numbers,
    ice_c: Numbers = 0.0,
    latent_k: Numbers = LATENT_K[0][1].value,
    ice_heat_ratio: Numbers = ICE_HEAT_RATIO.value,
) -> NDArray[Any]:
    """Return the ice for many mixes, some of which need none: ``ice_replacing_g`` where the tap is too warm, and 0 elsewhere.

    Args:
        water_g: water and ice together, g.
        tap_c: the tap water, °C.
        wanted_c: the temperature the water must act like, °C.
        ice_c: the ice, °C, at most 0.
        latent_k: heat of fusion over heat capacity of water, K; the trade's if left out.
        ice_heat_ratio: heat capacity of ice over that of water.

    Returns:
        Grams of ice; no number (NaN) where even all the water as ice is not cold enough.

    Raises:
        MissingExtraError: without numpy.

    Example:
        >>> ices_replacing_g(30_000.0, 18.0, [20.0, 13.0, -90.0]).round(1).tolist()
        [0.0, 1530.6, nan]
    """
    np = load_numpy()
    water, tap, wanted, ice = (np.asarray(each, dtype=float) for each in (water_g, tap_c, wanted_c, ice_c))
    kernel: Callable[..., Any] = ice_replacing_g
    asked = np.where(wanted < tap, kernel(water, tap, wanted, ice, latent_k, ice_heat_ratio), 0.0)
    found: NDArray[Any] = np.where(asked <= water, asked, np.nan)
    return found


def on_steps(amount: Numbers, step: Numbers, rounding: Rounding = "up") -> NDArray[Any]:
    """Return ``on_step`` for arrays: amounts on whole numbers of a scale's steps, such as scaling weights.

    Args:
        amount: what is to be weighed.
        step: the scale's step, in the same unit, more than zero.
        rounding: "up", "down" or "nearest" (halves up).

    Raises:
        MissingExtraError: without numpy.

    Example:
        >>> on_steps([917.1, 920.0, 64.3], [5.0, 5.0, 0.1]).tolist()
        [920.0, 920.0, 64.3]
    """
    np = load_numpy()
    amounts, steps = np.broadcast_arrays(np.asarray(amount, dtype=float), np.asarray(step, dtype=float))
    counts = amounts / steps
    halves = 0.5 if rounding == "nearest" else 0.0
    whole = np.ceil(counts) if rounding == "up" else np.floor(counts + halves)
    found: NDArray[Any] = np.array(whole * steps)
    # Digits after the ninth are cut as the kernel cuts them, and what is near a whole number of steps it decides itself.
    off = np.abs(counts + halves - np.round(counts + halves)) < _NEAR
    off |= found != np.round(found)
    for place in map(tuple, np.argwhere(off)):
        found[place] = on_step(float(amounts[place]), float(steps[place]), rounding)
    return found


def pieces_and_rest(total_g: Numbers, piece_g: Numbers) -> tuple[NDArray[Any], NDArray[Any]]:
    """Return ``whole_pieces`` for arrays: how many whole pieces each dough holds, and what is left of it, g.

    The count is exact, as that of the kernel.  What is left is total - pieces * piece in floats, except near a whole piece:
    there, as in the kernel, it is exact.

    Args:
        total_g: the doughs, g.
        piece_g: one piece of each, g, more than zero.

    Raises:
        MissingExtraError: without numpy.

    Example:
        >>> pieces, rest_g = pieces_and_rest([58_750.0, 0.3], [1_250.0, 0.1])
        >>> pieces.tolist(), rest_g.tolist()
        ([47, 3], [0.0, 0.0])
    """
    np = load_numpy()
    totals, each = np.broadcast_arrays(np.asarray(total_g, dtype=float), np.asarray(piece_g, dtype=float))
    counts = totals / each
    pieces: NDArray[Any] = np.array(np.floor(counts), dtype=np.int64)
    rest: NDArray[Any] = np.array(totals - pieces * each)
    # How far a count can be off: the reading of the weights, and the floats.
    near = np.abs(counts - np.round(counts)) < _NEAR + 2 * float(READING) * counts
    for place in map(tuple, np.argwhere(near)):
        pieces[place], rest[place] = whole_pieces(float(totals[place]), float(each[place]))
    return pieces, rest
