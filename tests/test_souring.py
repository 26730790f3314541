"""Growth curves and ripening times against print: the growth table, the sourdough tables, and how far off the model is."""

import math
import re
from pathlib import Path
from statistics import stdev
from typing import Any

import numpy as np
import pint
import pytest

from formula.culture import levain_time
from formula.errors import QuantityError
from formula.quantity import SHARE, read
from formula.souring import (
    BACTERIA,
    COLDEST_C,
    CURVES,
    LEAST_SHARE,
    MOST_SHARE,
    YEAST,
    growth_rate_per_h,
    optimum_c,
    phi_from_log,
    ripening_time_h,
    seed_share_after,
    share_from_starter,
    starter_from_share,
    temperature_for_rate_c,
)
from tests.beside import beside, ripe_h, ripe_in_range, ripe_ratio, seed_share, typical_ripe
from tests.rows import holds, rows

PAGE = Path(__file__).parents[1] / "docs" / "levain.md"
ROWS: list[dict[str, str]] = [case.values[0] for case in rows("levain")]  # type: ignore[misc]
TYPICAL = {"peak": 1.11, "sour": 1.27}
"""What the typical factor between print and model may be, with all printed times at temperatures within the range."""


def of(*quantities: str) -> list[Any]:
    return [case for case in rows("levain") if case.values[0]["quantity"] in quantities]  # type: ignore[index]


# -- the growth table --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", of("rate"))
def test_the_curve_meets_the_growth_table(row: dict[str, str]) -> None:
    holds("levain", row)


@pytest.mark.parametrize("curve", CURVES.values(), ids=CURVES)
def test_the_fit_is_as_good_as_it_says_and_no_better(curve: Any) -> None:  # noqa: ANN401
    table = [row for row in ROWS if row["quantity"] == "rate" and row["ripe"] == curve.ripe]
    misses = [abs(growth_rate_per_h(float(row["temperature_c"]), curve) - float(row["expected"])) for row in table]
    assert len(misses) == 16
    assert curve.fit_error.value == round(max(misses), 4)
    assert curve.fit_error.uncertainty == 0


@pytest.mark.parametrize("curve", CURVES.values(), ids=CURVES)
def test_the_constants_are_the_least_squares_of_the_table(curve: Any) -> None:  # noqa: ANN401
    """To the last digit written, and each as sure as its standard error: steps of Gauss and Newton from far beside."""
    table = [row for row in ROWS if row["quantity"] == "rate" and row["ripe"] == curve.ripe]
    x = curve.highest.value - np.array([float(row["temperature_c"]) for row in table])
    measured = np.array([float(row["expected"]) for row in table])
    constants = (curve.a, curve.b, curve.c)
    a, b, c = found = np.array([1.02, 0.99, 1.01]) * [each.value for each in constants]
    for _ in range(20):
        a, b, c = found
        model = a * x**b * np.exp(-c * x)
        slopes = np.stack([model / a, model * np.log(x), -model * x], axis=1)
        step, *_ = np.linalg.lstsq(slopes, measured - model, rcond=None)
        found += step
    variance = np.sum((measured - model) ** 2) / (len(table) - 3)
    errors = np.sqrt(variance * np.diag(np.linalg.inv(slopes.T @ slopes)))
    for constant, value, error in zip(constants, found, errors, strict=True):
        assert constant.value == float(f"{value:.5g}") or constant.value == float(f"{value:.4g}")
        digits = len(f"{constant.uncertainty:f}".replace(".", "").strip("0"))
        assert constant.uncertainty == float(f"{error:.{digits}g}")


def test_the_page_tells_the_ranges_that_are_held() -> None:
    page = PAGE.read_text(encoding="utf-8")
    told = dict(re.findall(r"^\| (.*?) \| (.*) \|$", page, re.MULTILINE))
    cold = COLDEST_C.value
    curves = [CURVES[ripe] for ripe in ("peak", "sour")]
    ends = [(each.coldest.value, each.warmest.value, each.limit.value) for each in curves]
    assert told["temperature with printed times"] == " | ".join(f"{low:g} to {high:g} °C" for low, high, _ in ends)
    assert told["answered with a caution"] == " | ".join(
        f"{cold:g} to {low:g}, {high:g} to {limit:g} °C" for low, high, limit in ends
    )
    assert told["refused"] == " | ".join(f"below {cold:g}, above {limit:g} °C" for _, _, limit in ends)
    assert told["seed share"].startswith(f"{100 * LEAST_SHARE.value:g} to {100 * MOST_SHARE.value:g} %; ")
    temperatures = [float(row["temperature_c"]) for row in ROWS if row["quantity"] == "rate"]
    assert (min(temperatures), max(temperatures)) == (cold, CURVES["sour"].limit.value)


@pytest.mark.parametrize("row", of("relative rate"))
def test_round_statements_on_growth(row: dict[str, str]) -> None:
    (found,) = beside("levain", row)
    assert found.within is not bool(row["disputed"])


@pytest.mark.parametrize("row", of("optimum"))
def test_the_optimum(row: dict[str, str]) -> None:
    holds("levain", row)


# -- the sourdough tables ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", of("time"))
def test_printed_times(row: dict[str, str]) -> None:
    """A printed time lies within the band of the model, or is said to disagree and why."""
    (found,) = beside("levain", row)
    assert found.within is not bool(row["disputed"]), f"{row['id']}: predicted {found.found} h"


@pytest.mark.parametrize("ripe", ["peak", "sour"])
def test_the_typical_error_does_not_grow(ripe: str) -> None:
    count, factor = typical_ripe(ripe)
    assert count == {"peak": 8, "sour": 13}[ripe]
    assert factor <= TYPICAL[ripe]


@pytest.mark.parametrize("ripe", ["peak", "sour"])
def test_the_logarithm_is_better_than_the_inverse_rule(ripe: str) -> None:
    """Twice the seed does not halve the time: with the best constant for each, the inverse rule misses by far more."""
    times = [row for row in ROWS if row["quantity"] == "time" and row["ripe"] == ripe and ripe_in_range(row)]
    hours = [float(row["expected"]) * growth_rate_per_h(float(row["temperature_c"]), CURVES[ripe]) for row in times]
    seeds = [seed_share(row) for row in times]
    by_logarithm = stdev(math.log(math.log(1 / s) / h) for s, h in zip(seeds, hours, strict=True))
    by_inverse = stdev(math.log(1 / (s * h)) for s, h in zip(seeds, hours, strict=True))
    assert by_inverse > 2 * by_logarithm


@pytest.mark.parametrize("row", [case for case in of("time") if float(case.values[0]["temperature_c"]) > 34])
def test_what_print_does_hot_is_refused(row: dict[str, str]) -> None:
    with pytest.raises(QuantityError, match="the nearest is 34 °C"):
        levain_time(
            seed=f"{seed_share(row):.6f} kg", total="1 kg", temperature=f"{row['temperature_c']} °C", ripe=row["ripe"]
        )


@pytest.mark.parametrize("row", of("sum", "division", "soured flour"))
def test_printed_arithmetic(row: dict[str, str]) -> None:
    expected = float(row["expected"])
    if row["quantity"] == "sum":
        starter = float(row["starter_percent"]) / 100
        found = float(row["seed"]) / share_from_starter(starter, float(row["hydration_percent"]) / 100)
    elif row["quantity"] == "division":
        # The share whose dilution is the printed factor.
        found = float(row["seed"]) * read(SHARE, f"{100 / float(row['total']):.12f} %", "share")
    else:
        found = float(row["total"]) * read(SHARE, f"{row['seed']} %", "soured flour")
    assert found == pytest.approx(expected, rel=float(row["tolerance"]))


@pytest.mark.parametrize("row", of("salt"))
def test_salt_is_cautioned(row: dict[str, str]) -> None:
    made = levain_time(
        starter=f"{row['starter_percent']} %",
        hydration=f"{row['hydration_percent']} %",
        temperature="26 °C",
        ripe="sour",
        salt=f"{row['seed']} %",
    )
    assert [caution.code for caution in made.cautions] == [row["expected"]]


# -- the page ----------------------------------------------------------------------------------------------------------


def page_table() -> str:
    """Return the table of the page: every printed time beside the model's."""
    lines = [
        "| check value | ripe | seed | printed at | printed | model | model / print |",
        "|---|---|---|---|---|---|---|",
    ]
    for row in ROWS:
        if row["quantity"] != "time":
            continue
        mark = " *" if row["disputed"] else ""
        found = f"{ripe_h(row):.1f} h" if ripe_h(row) < 100 else f"{ripe_h(row):.0f} h"
        lines.append(
            f"| {row['id']} | {row['ripe']} | {100 * seed_share(row):.1f} % | {row['printed_temperature']} | {row['printed']} |"
            f" {found} | {ripe_ratio(row):.2f}{mark} |"
        )
    for ripe, word in (("peak", "top of the rise"), ("sour", "full sour")):
        count, factor = typical_ripe(ripe)
        lines.append(f"| *typical, {word}* | {ripe} | | in the range | {count} times | | x/÷ {factor:.2f} |")
    return "\n".join(lines)


def page_reasons() -> str:
    """Return why each disputed row disagrees."""
    reasons: dict[str, list[str]] = {}
    for row in ROWS:
        if row["quantity"] in {"time", "relative rate"} and row["disputed"]:
            reasons.setdefault(row["disputed"], []).append(row["id"])
    return "\n".join(f"* {', '.join(names)}: {reason}." for reason, names in reasons.items())


@pytest.mark.parametrize(("name", "made"), [("times", page_table), ("reasons", page_reasons)])
def test_the_page_shows_what_the_model_says(name: str, made: Any) -> None:  # noqa: ANN401
    page = PAGE.read_text(encoding="utf-8")
    found = re.search(rf"<!-- {name} -->\n\n(.*?)\n\n<!-- end of {name} -->", page, re.DOTALL)
    assert found, f"docs/levain.md has no part called {name}"
    assert found[1] == made(), f"put this between the marks of docs/levain.md:\n\n{made()}"


# -- the kernels -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("curve", CURVES.values(), ids=CURVES)
def test_nothing_grows_where_it_is_too_hot(curve: Any) -> None:  # noqa: ANN401
    highest = curve.highest.value
    assert growth_rate_per_h(highest, curve) == 0
    assert growth_rate_per_h(highest + 20, curve) == 0
    assert 0 < growth_rate_per_h(highest - 0.1, curve) < 0.03


@pytest.mark.parametrize("curve", CURVES.values(), ids=CURVES)
def test_the_optimum_is_the_top_of_the_curve(curve: Any) -> None:  # noqa: ANN401
    top = optimum_c(curve)
    best = growth_rate_per_h(top, curve)
    assert all(growth_rate_per_h(top + step, curve) < best for step in (-5, -0.01, 0.01, 5))


def test_the_cooler_of_two_temperatures() -> None:
    for temperature in (2.0, 10.0, 20.0, 26.9):
        found = temperature_for_rate_c(growth_rate_per_h(temperature), YEAST)
        assert found == pytest.approx(temperature, abs=1e-6)
    assert temperature_for_rate_c(0.346) == pytest.approx(23.4, abs=0.1)
    assert temperature_for_rate_c(0.004) is None
    assert temperature_for_rate_c(0.43) is None


def test_arrays_pass_through() -> None:
    temperatures = np.array([2.0, 20.0, 36.0, 60.0])
    kernel: Any = growth_rate_per_h
    assert kernel(temperatures).tolist() == pytest.approx([growth_rate_per_h(float(t)) for t in temperatures])
    after: Any = seed_share_after
    assert after(np.array([1.0, 2.0]), 0.3, 0.8).tolist() == pytest.approx([math.exp(-0.24), math.exp(-0.48)])
    counted: Any = share_from_starter
    assert counted(np.array([0.1, 1.0]), 1.0).tolist() == pytest.approx([0.1 / 2.1, 1 / 3])


def test_dimensions() -> None:
    registry: Any = pint.UnitRegistry()
    kernel: Any = ripening_time_h
    found = kernel(0.05, 0.3 / registry.hour, 0.8)
    assert found.m_as("minute") == pytest.approx(60 * math.log(20) / 0.24)
    own: Any = phi_from_log
    assert own(0.05, 0.3 / registry.hour, 10 * registry.hour).m_as("") == pytest.approx(math.log(20) / 3)


def test_kernels_by_hand() -> None:
    assert ripening_time_h(math.exp(-2), 0.25, 0.8) == pytest.approx(10)
    assert seed_share_after(10, 0.25, 0.8) == pytest.approx(math.exp(-2))
    assert phi_from_log(math.exp(-2), 0.25, 10) == pytest.approx(0.8)
    assert share_from_starter(0.20, 0.80, 0.02) == pytest.approx(0.2 / 2.02)
    assert starter_from_share(0.5, 1.0) == pytest.approx(2.0)
    assert growth_rate_per_h(40.0, BACTERIA) == pytest.approx(0.11182 * math.exp(-0.19748))
