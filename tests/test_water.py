"""Water temperature, dough temperature and friction: published rows, the two scales, cautions and every refusal."""

import copy
import pickle
from collections.abc import Callable
from typing import Any

import numpy as np
import pint
import pytest

from formula import friction, water
from formula.errors import QuantityError
from formula.friction import FrictionFactor, friction_factor
from formula.quantity import TEMPERATURE, read
from formula.water import dough_temperature, water_temperature
from tests.arithmetic import check_working
from tests.beside import made_water
from tests.rows import holds, rows

WATER: Any = water
FRICTION: Any = friction


def in_unit(temperature_c: float, unit: str) -> float:
    return temperature_c * 9 / 5 + 32 if unit == "°F" else temperature_c


@pytest.mark.parametrize("row", rows("water"))
def test_published(row: dict[str, str]) -> None:
    holds("water", row)
    found = made_water(row)
    check_working(found.working(), found.temperature_c)
    if row["find"] == "dough":
        return
    # A trial mix with the printed water gives the friction back.
    water = f"{row['expected']} {row['unit']}"
    mix = {name: row[name] for name in ("flour", "room") if row[name]}
    preferments = [row["preferment"]] if row["preferment"] else []
    factor = friction_factor(dough=row["dough"], water=water, preferments=preferments, **mix)
    tolerance = float(row["tolerance"])
    assert factor.friction_k == pytest.approx(found.friction_k, abs=tolerance)
    assert factor.rise_k == pytest.approx(found.rise_k, abs=tolerance)


def test_a_rise_counts_for_every_temperature() -> None:
    three = water_temperature("26 °C", flour="22 °C", room="22 °C", rise="3 K")
    four = water_temperature("26 °C", flour="22 °C", room="22 °C", rise="3 K", preferments=["6 °C"])
    assert (three.friction_k, four.friction_k) == (9.0, 12.0)
    assert (three.rise_k, four.rise_k) == (3.0, 3.0)


def test_a_difference_in_fahrenheit_has_no_zero_point() -> None:
    assert water_temperature("25 °C", flour="20 °C", room="22 °C", friction="14.4 °F").friction_k == pytest.approx(8.0)


def test_a_dropped_room_leaves_two_temperatures() -> None:
    made = water_temperature("21 °C", flour="27 °C", friction="0 K")
    assert (made.measured_count, made.room_c, made.room) == (2, None, None)
    assert made.working().steps[-1].source == "two-temperatures-2010"


@pytest.mark.parametrize("given", [str, lambda each: [each], lambda each: (each,), lambda each: iter([each])])
def test_one_preferment(given: Callable[[str], Any]) -> None:
    made = water_temperature("25 °C", flour="20 °C", room="22 °C", friction="8 K", preferments=given("18 °C"))
    assert made.preferments_c == (18.0,)
    assert made.temperature_c == 4 * 25 - 20 - 22 - 18 - 8


def test_quantities() -> None:
    quantity = pint.UnitRegistry().Quantity
    made = water_temperature(
        quantity(77.0, "degF"),
        flour=quantity(20.0, "degC"),
        room="22 °C",
        friction=quantity(8.0, "delta_degC"),
        preferments=quantity(291.15, "kelvin"),
    )
    assert made == water_temperature("25 °C", flour="20 °C", room="22 °C", friction="8 K", preferments=["18 °C"])


def test_two_preferments_have_names_of_their_own() -> None:
    made = water_temperature("25 °C", flour="20 °C", room="22 °C", rise="2 K", preferments=["18 °C", "30 °C"])
    assert made.temperature_c == 5 * 25 - 20 - 22 - 18 - 30 - 10
    check_working(made.working(), made.temperature_c)
    rise, water = made.working().steps
    assert str(rise) == "friction = N * rise = 5 * 2 = 10 K"
    assert water.expression == "N * T_dough - T_flour - T_room - T_preferment_1 - T_preferment_2 - friction"
    assert water.numbers == "5 * 25 - 20 - 22 - 18 - 30 - 10"


TRIAL: dict[str, Any] = {"dough": "26 °C", "flour": "22 °C", "room": "22 °C", "water": "25 °C"}


def trial() -> FrictionFactor:
    return friction_factor(**TRIAL)


def test_a_factor_remembers_its_count() -> None:
    factor = trial()
    assert (factor.friction_k, factor.count, factor.rise_k, factor.cautions) == (9.0, 3, 3.0, ())
    made = water_temperature("26 °C", flour="22 °C", room="22 °C", friction=factor)
    assert (made.temperature_c, made.rise_k) == (25.0, 3.0)
    back = dough_temperature(flour="22 °C", room="22 °C", water="25 °C", friction=factor)
    assert back.temperature_c == 26.0


def test_a_factor_is_refused_for_another_count() -> None:
    words = r"friction: got a factor for 3 temperatures, expected one for the 4 .* friction\.for_count\(4\)"
    with pytest.raises(QuantityError, match=words):
        water_temperature("26 °C", flour="22 °C", room="22 °C", friction=trial(), preferments=["6 °C"])
    with pytest.raises(QuantityError, match=r"for_count\(2\)"):
        dough_temperature(flour="22 °C", water="25 °C", friction=trial())
    made = water_temperature("26 °C", flour="22 °C", room="22 °C", friction=trial().for_count(4), preferments=["6 °C"])
    assert made.temperature_c == 42.0


def test_rescaling() -> None:
    factor = trial()
    four = factor.for_count(4)
    assert (four.friction_k, four.count, four.rise_k, four.measured_count) == (12.0, 4, 3.0, 3)
    assert four.for_count(3) == factor
    check_working(factor.working(), 9.0)
    check_working(four.working(), 12.0)


@pytest.mark.parametrize("count", [1, 0, -3, 2.5, True, "3", None])
def test_a_count_is_two_or_more(count: int) -> None:
    with pytest.raises(QuantityError, match=r"count: got .* expected a whole number of 2 or more"):
        trial().for_count(count)


def test_a_mixer_that_cools_is_cautioned() -> None:
    factor = friction_factor(dough="20 °C", flour="22 °C", room="22 °C", water="25 °C")
    assert factor.friction_k == -9.0
    assert [caution.code for caution in factor.cautions] == ["negative-friction"]


@pytest.mark.parametrize(
    ("water_c", "yeast", "codes"),
    [
        (-0.1, None, ["needs-ice"]),
        (0.0, None, ["very-cold"]),
        (1.9, None, ["very-cold"]),
        (2.0, None, []),
        (35.0, "fresh", []),
        (35.1, "fresh", ["too-warm-for-fresh-yeast"]),
        (35.1, "compressed", ["too-warm-for-fresh-yeast"]),
        (35.1, "instant", []),
        (35.1, None, []),
        (50.0, None, []),
        (50.1, None, ["too-hot-for-yeast", "scald"]),
        (50.1, "fresh", ["too-hot-for-yeast", "scald"]),
        (100.0, None, ["steam", "too-hot-for-yeast", "scald"]),
    ],
)
def test_cautions(water_c: float, yeast: str | None, codes: list[str]) -> None:
    # 2 * 40 - flour = water
    made = water_temperature("40 °C", flour=f"{80 - water_c:.1f} °C", friction="0 K", yeast=yeast)
    assert made.temperature_c == pytest.approx(water_c)
    assert [caution.code for caution in made.cautions] == codes
    assert made.working().cautions == made.cautions
    if yeast is None:
        back = dough_temperature(flour="20 °C", water=f"{water_c} °C", friction="0 K")
        assert [caution.code for caution in back.cautions] == codes


def test_neither_and_both() -> None:
    with pytest.raises(QuantityError, match=r'friction: got neither, .*friction="0 K" for a dough mixed by hand'):
        water_temperature("25 °C", flour="20 °C", room="22 °C")
    with pytest.raises(QuantityError, match=r"friction: got both, expected one of .*; leave one out"):
        dough_temperature(flour="20 °C", water="22 °C", friction="8 K", rise="3 K")


def test_every_bad_argument_is_named_at_once() -> None:
    with pytest.raises(QuantityError) as caught:
        water_temperature(25, flour="20", room="22 C", preferments=["6 °C", "7 g"], yeast="beer")  # type: ignore[arg-type]
    assert [fault.where for fault in caught.value.faults] == [
        "dough",
        "flour",
        "room",
        "preferments[1]",
        "friction",
        "yeast",
    ]
    with pytest.raises(QuantityError) as caught:
        dough_temperature(flour="20", water="22", rise="3", preferments=18)  # type: ignore[arg-type]
    assert [fault.where for fault in caught.value.faults] == ["water", "flour", "preferments", "rise"]
    with pytest.raises(QuantityError) as caught:
        friction_factor(dough="25", flour="20", water="22", room="24", preferments=None)  # type: ignore[arg-type]
    assert [fault.where for fault in caught.value.faults] == ["dough", "water", "flour", "room", "preferments"]


def test_a_temperature_is_no_friction() -> None:
    warm = pint.UnitRegistry().Quantity(8.0, "degC")
    with pytest.raises(QuantityError, match=r"friction: .*a temperature difference, not a temperature"):
        water_temperature("25 °C", flour="20 °C", room="22 °C", friction=warm)


def test_views_and_values() -> None:
    made = water_temperature("25 °C", flour="20 °C", room="22 °C", rise="3 K", preferments=["18 °C"])
    back = dough_temperature(flour="20 °C", room="22 °C", water="28 °C", rise="3 K", preferments=["18 °C"])
    factor = friction_factor(dough="25 °C", flour="20 °C", room="22 °C", water="28 °C", preferments=["18 °C"])
    for result in (made, back, factor):
        assert result.flour.m_as("degC") == pytest.approx(20.0)
        assert result.room is not None
        assert result.room.m_as("degC") == pytest.approx(22.0)
        assert [value.m_as("degC") for value in result.preferments] == pytest.approx([18.0])
        assert result.friction.m_as("delta_degF") == pytest.approx(21.6)
        assert result.rise.m_as("delta_degC") == pytest.approx(3.0)
        assert pickle.loads(pickle.dumps(result)) == copy.deepcopy(result) == result  # noqa: S301 - our own bytes
        assert hash(copy.deepcopy(result)) == hash(result)
    for view_ in (made.temperature, back.water, factor.water):
        assert view_.m_as("degC") == pytest.approx(28.0)
    for view_ in (made.dough, back.temperature, factor.dough):
        assert view_.m_as("degF") == pytest.approx(77.0)
    assert made == water_temperature("77 °F", flour="68 °F", room="71.6 °F", rise="5.4 °F", preferments=["64.4 °F"])


def test_the_kernels_keep_their_dimensions() -> None:
    kelvin = pint.UnitRegistry().delta_degC
    known = (20 * kelvin, 22 * kelvin)
    assert WATER.water_temperature_c(25 * kelvin, known, 8 * kelvin).m_as("delta_degC") == pytest.approx(25)
    assert WATER.dough_temperature_c(known, 25 * kelvin, 8 * kelvin).m_as("delta_degC") == pytest.approx(25)
    assert FRICTION.friction_factor_k(25 * kelvin, known, 25 * kelvin).m_as("delta_degC") == pytest.approx(8)
    assert FRICTION.friction_from_rise_k(2 * kelvin, 4).m_as("delta_degC") == pytest.approx(8)


def test_the_kernels_take_arrays() -> None:
    flour_c = np.array([20.0, 30.0])
    water_c = WATER.water_temperature_c(25.0, (flour_c, 22.0), 8.0)
    assert water_c.tolist() == [25.0, 15.0]
    assert WATER.dough_temperature_c((flour_c, 22.0), water_c, 8.0).tolist() == [25.0, 25.0]
    assert FRICTION.friction_factor_k(25.0, (flour_c, 22.0), water_c).tolist() == [8.0, 8.0]


def test_text_of_the_edge_goes_in_again() -> None:
    """The answer, written out, is an argument of the next question."""
    made = water_temperature("78 °F", flour="66.5 °F", room="71 °F", friction="24 °F")
    text = f"{made.temperature_c:.9f} °C"
    back = dough_temperature(flour="66.5 °F", room="71 °F", water=text, friction="24 °F")
    assert back.temperature_c == pytest.approx(read(TEMPERATURE, "78 °F", "dough"), abs=1e-8)


def test_preferments_are_counted_from_one() -> None:
    made = water_temperature("25 °C", flour="20 °C", room="22 °C", friction="8 K", preferments=["18 °C", "24 °C"])
    assert made.named_c == {"T_flour": 20, "T_room": 22, "T_preferment_1": 18, "T_preferment_2": 24}
