"""What a place in a source prints of a constant beside its value: its spread, its other unit, and that a law has no doubt."""

import importlib
import math
import re
import statistics
from decimal import Decimal
from pathlib import Path

import attrs
import pint
import pytest

from formula.allowances import CONFIDENCE, Allowances
from formula.baketime import CORE_DONE
from formula.balance import HYDRATION_HEAT
from formula.basetemp import HIGHEST_PRINTED_BASE, LOWEST_PRINTED_BASE
from formula.capacity import (
    ASHRAE_WATER,
    COMPONENTS,
    COMPOSITION_EXCESS,
    FLOUR_CP,
    ICE_CP,
    LATENT_HEAT,
    MEASURED_CP,
    STEEL_CP,
    WATER_CP,
)
from formula.cooled import SELF_WARMING
from formula.correction import TRADE_RATIO
from formula.draft import _OUNCE_G
from formula.growth import COLDEST_C
from formula.heat import INTENSE_WORK
from formula.ice import ICE_HEAT_RATIO, LARGEST_TABULATED_SHARE, LATENT_K
from formula.ingredient import FIGURES
from formula.kinds import MASS
from formula.labelchecks import COLD_C, COOL_C, HOT_C
from formula.lossestimate import FIT_RANGE_G, FIT_RATIO
from formula.piece import PROPERTIES
from formula.quantity import SHARE, read
from formula.rates import BEST_C, HIGH_C
from formula.reach import ACTIVE_DRY_HIGHEST, ACTIVE_DRY_LOWEST, YEAST_IN_FLOUR_PRINTED
from formula.ripening import SALT_FELT
from formula.shape import LOAF_DENSITY, SHAPES
from formula.sources import Constant, source
from formula.souring import COLDEST_C as BEGINS_C
from formula.souring import CURVES, LEAST_SHARE, MOST_SHARE
from formula.spread import MAD_SIGMA
from formula.tablefigure import _KJ
from formula.timing import ASSUMED_C
from formula.tin import WATER_DENSITY
from formula.water import COLDEST_DRAWN, FRESH_YEAST_LIMIT, YEAST_LIMIT
from formula.yeast import YEAST_FORMS
from tests.checkvalues import read_rows
from tests.test_sources import CONSTANTS

BTU_LB_KJ_KG = 2.326
POUND_KG = 0.45359237
FACTORS = {form.name: form.factor for form in YEAST_FORMS}
AIR, CONDUCTION, DENSITY, HEAT = (row[2] for row in PROPERTIES)


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) * 5 / 9


SPREADS: list[tuple[Constant, str, str, float, float]] = [
    # The constant, the two ends as its place prints them, and the same in its own unit.
    (FLOUR_CP, "1.80", "1.88", 1.80, 1.88),
    (WATER_CP, "4.179", "4.219", 4.179, 4.219),
    (ICE_CP, "1.964", "2.097", 1.964, 2.097),
    (STEEL_CP, "0.46", "0.50", 0.46, 0.50),
    (MEASURED_CP["old bread"], "2.72", "2.85", 2.72, 2.85),
    (MEASURED_CP["skim milk"], "3.98", "4.02", 3.98, 4.02),
    (MEASURED_CP["whole milk"], "3.85", "3.9", 3.85, 3.9),
    (MEASURED_CP["sugar"], "1.162", "1.25", 1.162, 1.25),
    (CORE_DONE[2], "200", "210", celsius(200), celsius(210)),
    (CORE_DONE[3], "93", "99", 93, 99),
    (AIR, "8", "15", 8, 15),
    (CONDUCTION, "0.45", "0.55", 0.45, 0.55),
    (DENSITY, "1233", "1193", 1193, 1233),
    (HEAT, "2.15", "3.19", 2.15, 3.19),
    (SELF_WARMING, "1", "2", 1, 2),
    (TRADE_RATIO, "2.5", "3", 2.5, 3),
    (COLDEST_C, "1.3", "4.3", 1.3, 4.3),
    (ASSUMED_C, "24", "27", 24, 27),
    (FACTORS["active dry"], "0.33", "0.50", 0.33, 0.50),
    (FACTORS["instant"], "0.28", "0.40", 0.28, 0.40),
    (BEST_C, "35", "40", 35, 40),
    (HIGH_C, "42", "55", 42, 55),
    (ACTIVE_DRY_LOWEST, "35", "38", 35, 38),
    (LOAF_DENSITY, "5", "2.5", 1000 / 5, 1000 / 2.5),
    (COLDEST_DRAWN, "2", "3", 2, 3),
]  # fmt: skip


@pytest.mark.parametrize(
    ("constant", "one", "other", "low", "high"), SPREADS, ids=[f"{each[0].where[:40]}" for each in SPREADS]
)
def test_the_uncertainty_is_the_spread_that_the_place_prints(
    constant: Constant, one: str, other: str, low: float, high: float
) -> None:
    """Half of it, or the way to its farther end, to the digits of the uncertainty."""
    assert one in f"{constant.value} {constant.where}"
    assert other in constant.where
    assert low <= constant.value <= high
    half, farther = (high - low) / 2, max(constant.value - low, high - constant.value)
    digits = len(f"{constant.uncertainty:g}".replace(".", "").strip("0"))
    assert constant.uncertainty in {float(f"{each:.{digits}g}") for each in (half, farther)}


MIDDLE = [
    each
    for each in SPREADS
    if each[0]
    not in {
        WATER_CP,
        TRADE_RATIO,
        ACTIVE_DRY_LOWEST,
        COLDEST_DRAWN,
        FACTORS["active dry"],
        FACTORS["instant"],
        MEASURED_CP["whole milk"],
    }
]
"""All but those where one of the printed ends, another printed number or the mean over the range was taken."""


@pytest.mark.parametrize(("constant", "low", "high"), [(each[0], *each[3:]) for each in MIDDLE])
def test_the_number_is_the_middle_of_what_is_printed(constant: Constant, low: float, high: float) -> None:
    """To its own last digit."""
    last = Decimal(1).scaleb(int(Decimal(f"{constant.value:g}").as_tuple().exponent))
    zeros = len(f"{constant.value:g}") - len(f"{constant.value:g}".rstrip("0")) if constant.value >= 100 else 0
    assert abs(constant.value - (low + high) / 2) <= float(last) * 10**zeros / 2 + 1e-9


@pytest.mark.parametrize(
    ("constant", "printed", "value"),
    [
        (HYDRATION_HEAT, "6.5 Btu per lb", 6.5 * BTU_LB_KJ_KG),
        (INTENSE_WORK, "5 Wh per lb", 5 * 3.6 / POUND_KG),
        (CORE_DONE[2], "200 to 210 °F", celsius(205)),
        (COLD_C, "41 °F", celsius(41)),
        (HOT_C, "135 °F", celsius(135)),
        (COOL_C, "70 °F", celsius(70)),
        (YEAST_LIMIT, "122 °F", celsius(122)),
        (FRESH_YEAST_LIMIT, "95 °F", celsius(95)),
        (MEASURED_CP["fresh yeast"], "0.77 Btu", 0.77 * 4.1868),
        (ICE_HEAT_RATIO, "2.03 kJ/kg K for ice from -18 to 0 °C over 4.19 for water", 2.03 / 4.19),
    ],
    ids=lambda each: each if isinstance(each, str) else "",
)
def test_the_number_is_the_printed_one_in_another_unit(constant: Constant, printed: str, value: float) -> None:
    assert printed in constant.where
    digits = len(f"{constant.value:.15g}".partition(".")[2])
    assert constant.value == pytest.approx(round(value, digits), abs=1e-12)


def test_a_number_printed_in_another_unit_is_as_sure_as_its_last_digit() -> None:
    assert HYDRATION_HEAT.uncertainty == round(0.05 * BTU_LB_KJ_KG, 2)
    assert ICE_HEAT_RATIO.uncertainty == round((2.097 - 1.964) / 2 / 4.19, 3)


@pytest.mark.parametrize("curve", CURVES.values(), ids=CURVES.keys())
def test_the_band_of_a_calibrated_curve_is_the_share_that_is_printed(curve: object) -> None:
    phi: Constant = curve.phi  # type: ignore[attr-defined]
    assert "the band is 40 %" in phi.where
    assert phi.uncertainty == round(0.4 * phi.value, 2)


@pytest.mark.parametrize("name", [name for name in COMPONENTS if name not in {"water", "ice"}])
def test_a_coefficient_is_as_sure_as_its_last_printed_digit(name: str) -> None:
    """Five digits are printed of each."""
    for each in COMPONENTS[name]:
        last = 10.0 ** (math.floor(math.log10(abs(each.value))) - 4)
        assert each.uncertainty == pytest.approx(last / 2)


@pytest.mark.parametrize(
    "form", [form for form in YEAST_FORMS if form.solids.source == "aacc-89-01"], ids=lambda form: form.name
)
def test_solids_printed_in_percent_are_as_sure_as_half_a_percent(form: object) -> None:
    assert form.solids.uncertainty == 0.005  # type: ignore[attr-defined]


EXACT = (
    "bread-band", "cfr-", "eu-", "fda-food-code", "icc-115", "shewhart-limits", "uk-packers-code", "us-less-fibre",
    "iglewicz-hoaglin-1993",
)  # fmt: skip
"""Laws, standards and rules: what they print is so by definition."""


@pytest.mark.parametrize(
    ("place", "constant"),
    [(place, each) for place, each in CONSTANTS if each.source.startswith(EXACT)],
    ids=[place for place, each in CONSTANTS if each.source.startswith(EXACT)],
)
def test_what_a_law_or_a_rule_prints_has_no_doubt(place: str, constant: Constant) -> None:
    """Only a number that is rounded from another one has: the last digit of 1 / 0.6745."""
    assert constant.uncertainty == (0.0001 if "1 / 0.6745" in constant.where else 0.0), place


def test_the_spread_by_the_median_is_that_of_a_normal_distribution() -> None:
    assert MAD_SIGMA.value == round(1 / statistics.NormalDist().inv_cdf(0.75), 4)


@pytest.mark.parametrize("name", [name for name in FIGURES if name.endswith(("_g", "_mg", "_ug"))])
def test_a_hundred_grams_hold_no_more_than_a_hundred_grams(name: str) -> None:
    in_a_gram = {"g": 1, "mg": 1_000, "ug": 1_000_000}[name.rpartition("_")[2]]
    assert FIGURES[name] == 100 * in_a_gram


def test_the_two_latent_heats_of_ice_are_as_far_apart_as_they_say() -> None:
    (_, trade), (_, physical) = LATENT_K
    assert trade.uncertainty == round(trade.value - physical.value, 1)


def test_the_most_ice_that_is_tabulated_is_by_the_rule_of_its_table() -> None:
    """T + 112 in °F: from 80 °F of the tap to -30 °F calculated."""
    assert "tap 80 °F, calculated water -30 °F" in LARGEST_TABULATED_SHARE.where
    assert LARGEST_TABULATED_SHARE.value == round((80 + 30) / (80 + 112), 3)
    assert LARGEST_TABULATED_SHARE.uncertainty == 0.001 / 2


ONE_NUMBER = {
    "baking-trust-nz", "base-temperatures-printed", "bocevska-dough-mass", "boutroux-1897", "brandt-2004", "cengel-heat-transfer",
    "dough-yeast-counts", "go2hr-2015", "latvian-bakery",
}  # fmt: skip
"""Sources that print one number, without a spread or a second one beside it."""


@pytest.mark.parametrize(
    ("place", "constant"),
    [(place, each) for place, each in CONSTANTS if each.source in ONE_NUMBER],
    ids=[place for place, each in CONSTANTS if each.source in ONE_NUMBER],
)
def test_where_no_spread_is_printed_none_is_made_up(place: str, constant: Constant) -> None:
    assert constant.uncertainty == 0, place


@pytest.mark.parametrize(
    ("constant", "printed"),
    [(FRESH_YEAST_LIMIT, "35 °C"), (ACTIVE_DRY_HIGHEST, "41 to 46 °C"), (YEAST_IN_FLOUR_PRINTED, "49 to 55 °C")],
    ids=lambda each: each if isinstance(each, str) else "",
)
def test_a_limit_is_the_upper_end_of_what_is_printed_and_has_no_spread(constant: Constant, printed: str) -> None:
    assert printed in constant.where
    assert f"{constant.value:g} °C" == " ".join(printed.split()[-2:])
    assert constant.uncertainty == 0


def test_the_ends_of_the_printed_bases_are_those_that_were_read() -> None:
    note = source(LOWEST_PRINTED_BASE.source).note
    read = [float(each) for each in re.findall(r"\d+", note.partition("°C")[0])]
    assert (LOWEST_PRINTED_BASE.value, HIGHEST_PRINTED_BASE.value) == (min(read), max(read))


def named(place: str) -> Constant:
    """Return the constant at a place such as ``capacity.MEASURED_CP.butter``."""
    room, name, *keys = place.split(".")
    found = getattr(importlib.import_module(f"formula.{room}"), name)
    for key in keys:
        found = found[int(key) if key.isdecimal() else key]
    assert isinstance(found, Constant)
    return found


@pytest.mark.parametrize("row", read_rows("constants"), ids=lambda row: row["id"])
def test_a_constant_is_the_printed_number(row: dict[str, str]) -> None:
    constant = named(row["constant"])
    assert (constant.value, constant.unit) == (float(row["printed"]), row["unit"])


def test_the_mean_of_water_is_that_of_its_range() -> None:
    assert "the mean from 0 to 30 °C is 4.192" in WATER_CP.where
    assert WATER_CP.value == round(4.192, 2)


@pytest.mark.parametrize("constant", [LATENT_HEAT, *(density for _, density in WATER_DENSITY)])
def test_what_a_library_gives_is_as_sure_as_its_last_digit_written(constant: Constant) -> None:
    assert constant.source == "iapws"
    assert constant.uncertainty == 0.001
    assert constant.value == round(constant.value, 3)


def test_the_coefficient_of_water_in_2006_is_as_sure_as_its_last_digit() -> None:
    assert ASHRAE_WATER.uncertainty == 0.0001 / 2


def test_what_is_certain_enough_stands_twice_and_is_one_number() -> None:
    """As text in the signatures, for the reader, and as the share that the sums take."""
    assert attrs.fields(Allowances).confidence_share.default == read(SHARE, CONFIDENCE, "confidence")


@pytest.mark.parametrize(
    "constant",
    [*FIT_RANGE_G, FIT_RATIO, LEAST_SHARE, MOST_SHARE, BEGINS_C, SALT_FELT, COMPOSITION_EXCESS],
    ids=lambda each: each.where[:40],
)
def test_where_a_range_ends_there_is_no_spread(constant: Constant) -> None:
    assert constant.uncertainty == 0


def test_the_page_on_losses_tells_the_proportions_that_are_taken() -> None:
    page = (Path(__file__).parents[1] / "docs" / "losses.md").read_text(encoding="utf-8")
    for line in re.findall(r"^\| (`\".*) \|$", page, re.MULTILINE):
        shapes = re.findall(r'`"(\w+)"`', line.partition("|")[0])
        told = {name: float(value) for name, value in re.findall(r"`(\w+_to_\w+)` ([\d.]+)", line)}
        told |= {name: float(value) / 100 for name, value in re.findall(r'`(\w+)` "([\d.]+) %"', line)}
        for shape in shapes:
            assert told == {name: each.value for name, each in SHAPES[shape].items()}


def test_an_ounce_is_the_sixteenth_of_a_pound() -> None:
    assert float(MASS.spellings["lb"].factor / 16) == _OUNCE_G
    assert _KJ["kcal"] == pytest.approx(pint.UnitRegistry().Quantity(1, "kcal").to("kJ").magnitude)
