"""Ice: the trade's table, disputed examples put right, both forms, cautions and every refusal."""

import copy
import pickle
from typing import Any

import numpy as np
import pint
import pytest

from formula.errors import QuantityError
from formula.ice import ice_for, ice_on_top_g, ice_replacing_g
from formula.quantity import MASS, read
from formula.units import ENERGY, ENERGY_PER_MASS, parse
from tests.arithmetic import check_working
from tests.beside import beside
from tests.rows import holds, rows

CASES = [
    {"tap": "18 °C", "wanted": "6 °C"},
    {"tap": "18 °C", "wanted": "6 °C", "ice": "-18 °C"},
    {"tap": "18 °C", "wanted": "6 °C", "keep": "water"},
    {"tap": "18 °C", "wanted": "-6 °C", "ice": "-12 °C", "keep": "water", "latent": "physical"},
    {"tap": "18 °C", "wanted": "18 °C", "latent": "physical"},
    {"tap": "18 °C", "wanted": "-80 °C"},
]
KERNELS: tuple[Any, ...] = (ice_replacing_g, ice_on_top_g)


@pytest.mark.parametrize("row", rows("ice"))
def test_published(row: dict[str, str]) -> None:
    holds("ice", row)
    if float(row["latent_K"]) == 80 and not row["ice_heat_ratio"]:
        (found,) = beside("ice", row)
        made = ice_for(row["water"], tap=row["tap"], wanted=row["wanted"], ice=row["ice"], keep=row["keep"])  # type: ignore[arg-type]
        assert made.ice_g / read(MASS, f"1 {row['unit']}", "unit") == found.found


def test_the_shortcut_of_fusion_alone_takes_too_much() -> None:
    made = ice_for("30 kg", tap="18 °C", wanted="13 °C")
    assert made.ice_g < 1875.0
    # What 1.875 kg of ice in 28.125 kg of water really gives: the melted ice must be warmed as well.
    really_c = (28.125 * 18 - 1.875 * 80) / 30
    assert really_c == pytest.approx(11.875)


@pytest.mark.parametrize("case", CASES)
def test_the_heat_balances(case: dict[str, str]) -> None:
    made = ice_for("20 kg", **case)  # type: ignore[arg-type]
    latent_k = 80.0 if made.latent == "trade" else 79.4
    given = made.water_g * (made.tap_c - made.wanted_c)
    taken = made.ice_g * (latent_k + made.wanted_c - 2.03 / 4.19 * made.ice_temperature_c)
    assert taken == pytest.approx(given, rel=1e-9, abs=1e-6)
    assert made.total_g == pytest.approx(made.ice_g + made.water_g, rel=1e-12)
    assert (made.total_g if made.keep == "total" else made.water_g) == 20_000.0


def test_no_ice() -> None:
    for keep in ("total", "water"):
        made = ice_for("20 kg", tap="18 °C", wanted="18 °C", keep=keep)
        assert (made.ice_g, made.water_g, made.total_g, made.cautions) == (0.0, 20_000.0, 20_000.0, ())


def test_all_ice() -> None:
    made = ice_for("20 kg", tap="18 °C", wanted="-80 °C")
    assert (made.ice_g, made.water_g) == (20_000.0, 0.0)
    colder = ice_for("20 kg", tap="18 °C", wanted="-80 °C", ice="-10 °C")
    assert colder.ice_g < 20_000.0


def test_the_two_values_of_the_heat_of_fusion() -> None:
    trade = ice_for("20 kg", tap="20 °C", wanted="5 °C")
    physical = ice_for("20 kg", tap="20 °C", wanted="5 °C", latent="physical")
    assert physical.ice_g / trade.ice_g == pytest.approx(1.006, abs=0.0005)


def test_colder_ice_takes_less() -> None:
    plain = ice_for("20 kg", tap="20 °C", wanted="5 °C").ice_g
    assert ice_for("20 kg", tap="20 °C", wanted="5 °C", ice="-18 °C").ice_g / plain == pytest.approx(0.92, abs=0.005)


def codes(**case: Any) -> list[str]:  # noqa: ANN401 - as a caller would write them
    return [caution.code for caution in ice_for("20 kg", **case).cautions]


def test_cautions() -> None:
    assert codes(tap="18 °C", wanted="6 °C") == ["clean-ice"]
    assert codes(tap="18 °C", wanted="0 °C") == ["clean-ice"]
    assert codes(tap="18 °C", wanted="-1 °C") == ["clean-ice", "below-freezing"]
    assert codes(tap="80 °F", wanted="-30 °F") == ["clean-ice", "below-freezing"]
    assert codes(tap="80 °F", wanted="-31 °F") == ["clean-ice", "below-freezing", "much-ice"]
    assert codes(tap="18 °C", wanted="6 °C", keep="water") == ["clean-ice", "more-water"]


@pytest.mark.parametrize("case", CASES)
def test_working(case: dict[str, str]) -> None:
    made = ice_for("20 kg", **case)  # type: ignore[arg-type]
    check_working(made.working(), made.ice_g, exact=True)
    assert made.working().steps[-2].value == made.water_g


@pytest.mark.parametrize(
    ("case", "words"),
    [
        ({"wanted": "19 °C"}, "wanted: got 19 °C, expected at most the tap's 18 °C; no ice is needed: warm the water"),
        ({"ice": "1 °C"}, "ice: got 1 °C, expected ice, at most 0 °C"),
        ({"tap": "-1 °C", "wanted": "-2 °C"}, "tap: got -1 °C, expected liquid water, from 0 to 100 °C"),
        ({"tap": "101 °C"}, "tap: got 101 °C"),
        ({"wanted": "-80.1 °C"}, r"expected no less than -80.0 °C, the coldest"),
        ({"wanted": "-79.5 °C", "latent": "physical"}, r"expected no less than -79.4 °C, the coldest"),
        ({"wanted": "-80 °C", "keep": "water"}, r"expected more than -80.0 °C, the coldest"),
        ({"keep": "ice"}, 'keep: got .ice., expected one of "total", "water"'),
        ({"latent": "exact"}, 'latent: got .exact., expected one of "trade", "physical"'),
    ],
)
def test_refusals(case: dict[str, str], words: str) -> None:
    with pytest.raises(QuantityError, match=words) as caught:
        ice_for("20 kg", **{"tap": "18 °C", "wanted": "6 °C", **case})  # type: ignore[arg-type]
    assert len(caught.value.faults) == 1


def test_every_bad_argument_is_named_at_once() -> None:
    with pytest.raises(QuantityError) as caught:
        ice_for("20", tap=18, wanted="6 C", ice="5 °C", keep="all", latent="none")  # type: ignore[arg-type]
    assert [fault.where for fault in caught.value.faults] == ["water", "tap", "wanted", "keep", "latent", "ice"]


def test_views_and_values() -> None:
    made = ice_for("20 kg", tap="18 °C", wanted="8 °C", ice="-10 °C")
    assert made.ice.m_as("kg") + made.water.m_as("kg") == pytest.approx(made.total.m_as("kg"))
    assert made.formula_water.m_as("kg") == pytest.approx(20)
    found = [view.m_as("degF") for view in (made.tap, made.wanted, made.ice_temperature)]
    assert found == pytest.approx([64.4, 46.4, 14.0])
    same = ice_for("20000 g", tap="64.4 °F", wanted="46.4 °F", ice="14 °F")
    assert (made, hash(made)) == (same, hash(same))
    assert pickle.loads(pickle.dumps(made)) == copy.deepcopy(made) == made  # noqa: S301 - our own bytes


def test_the_kernels_keep_their_dimensions() -> None:
    registry: Any = pint.UnitRegistry()
    kilogram, kelvin = registry.kilogram, registry.delta_degC
    for kernel in KERNELS:
        found = kernel(20 * kilogram, 18 * kelvin, 6 * kelvin, -10 * kelvin, 80 * kelvin)
        assert found.m_as("g") == pytest.approx(kernel(20_000, 18, 6, -10, 80))


def test_the_kernels_take_arrays() -> None:
    tap_c = np.array([12.0, 18.0])
    for kernel in KERNELS:
        found = kernel(np.array([1e3, 2e3]), tap_c, 6.0)
        assert found.tolist() == [kernel(1e3, 12.0, 6.0), kernel(2e3, 18.0, 6.0)]


def test_i07_the_cold_in_ice() -> None:
    # thermal/I07 (read, Baking Business, article 58994): 350 lb of ice at 144 Btu/lb are 50,400 Btu.
    per_kg = parse(ENERGY_PER_MASS, "144 Btu/lb", "latent")
    found = per_kg * parse(MASS, "350 lb", "ice") / 1000 / parse(ENERGY, "1 Btu", "unit")
    assert found == pytest.approx(50_400, abs=0.5)


def test_ice_melts_at_freezing_unless_told() -> None:
    assert ice_replacing_g(1000.0, 18.0, 6.0) == ice_replacing_g(1000.0, 18.0, 6.0, 0.0)
    assert ice_on_top_g(1000.0, 18.0, 6.0) == ice_on_top_g(1000.0, 18.0, 6.0, 0.0)
    assert ice_replacing_g(1000.0, 18.0, 6.0) != ice_replacing_g(1000.0, 18.0, 6.0, -1.0)
