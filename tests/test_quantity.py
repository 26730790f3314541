"""The edge: quantities of any registry, bare numbers, threads, and everything that is refused."""

import math
import pickle
from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Any

import numpy as np
import pint
import pytest

from formula.errors import FileError, QuantityError
from formula.quantity import (
    CONDUCTIVITY,
    DENSITY,
    DIFFERENCE,
    ENERGY,
    HEAT_TRANSFER,
    KINDS,
    LENGTH,
    MASS,
    SHARE,
    SPECIFIC_HEAT,
    TEMPERATURE,
    TIME,
    VOLUME,
    WARMING,
    Door,
    Kind,
    grid,
    read,
    view,
)

LB = 453.59237
# pint gives these two no types.
application_registry: Any = pint.get_application_registry
set_application_registry: Any = pint.set_application_registry
MAKERS: dict[str, Callable[[], Any]] = {
    "application": application_registry,
    "plain": pint.UnitRegistry,
    "converts offsets": lambda: pint.UnitRegistry(autoconvert_offset_to_baseunit=True),
    "of Decimals": lambda: pint.UnitRegistry(non_int_type=Decimal),
    "of Fractions": lambda: pint.UnitRegistry(non_int_type=Fraction),
    "reduces by itself": lambda: pint.UnitRegistry(auto_reduce_dimensions=True),
    "of arrays": lambda: pint.UnitRegistry(force_ndarray=True),
}


@pytest.fixture(scope="module", params=MAKERS)
def registry(request: pytest.FixtureRequest) -> Any:  # noqa: ANN401 - pint's registries share no public type
    made = MAKERS[request.param]()
    if request.param == "plain":
        made.formatter.default_format = "~P"
    return made


GOOD = [
    (MASS, 1.5, "kilogram", 1500.0),
    (MASS, 3, "pound", 3 * LB),
    (MASS, 8, "ounce", LB / 2),
    (MASS, 2, "metric_ton", 2_000_000.0),
    (TEMPERATURE, 25, "degree_Celsius", 25.0),
    (TEMPERATURE, 77, "degree_Fahrenheit", 25.0),
    (TEMPERATURE, 298.15, "kelvin", 25.0),
    (TEMPERATURE, -18, "degree_Celsius", -18.0),
    (DIFFERENCE, 8, "kelvin", 8.0),
    (DIFFERENCE, 8, "delta_degree_Celsius", 8.0),
    (DIFFERENCE, 9, "delta_degree_Fahrenheit", 5.0),
    (DIFFERENCE, -9, "delta_degree_Fahrenheit", -5.0),
    (DIFFERENCE, 9, "degree_Rankine", 5.0),
    (TIME, 90, "minute", 1.5),
    (TIME, 2, "day", 48.0),
    (VOLUME, 2, "liter", 2000.0),
    (VOLUME, 1, "cup", 236.5882365),
    (VOLUME, 1, "decimeter ** 3", 1000.0),
    (ENERGY, 4, "watt_hour", 14.4),
    (ENERGY, 1, "kilocalorie", 4.184),
    (SHARE, 12, "percent", 0.12),
    (SHARE, 0.12, "dimensionless", 0.12),
    (SHARE, 12, "gram / kilogram", 0.012),
    (LENGTH, 3, "inch", 0.0762),
    (DENSITY, 1.21, "gram / milliliter", 1210.0),
    (SPECIFIC_HEAT, 2700, "joule / kilogram / kelvin", 2.7),
    (CONDUCTIVITY, 0.5, "watt / meter / delta_degree_Celsius", 0.5),
    (HEAT_TRANSFER, 10, "watt / meter ** 2 / kelvin", 10.0),
    (WARMING, 9, "delta_degree_Fahrenheit / hour", 5.0),
]


@pytest.mark.parametrize(("kind", "number", "unit", "value"), GOOD)
def test_a_quantity_of_any_registry_is_read(
    registry: Any,  # noqa: ANN401
    kind: Kind,
    number: float,
    unit: str,
    value: float,
) -> None:
    assert read(kind, registry.Quantity(number, unit), "x") == grid(kind, value)


@pytest.mark.parametrize(
    "number",
    [
        Decimal("1.5"),
        Fraction(3, 2),
        np.float64(1.5),
        np.float32(1.5),
        np.array(1.5),
    ],
    ids=lambda value: type(value).__name__,
)
def test_any_single_number_may_be_the_magnitude(registry: Any, number: object) -> None:  # noqa: ANN401
    assert read(MASS, registry.Quantity(number, "kilogram"), "x") == 1500.0
    assert read(TEMPERATURE, registry.Quantity(number, "degree_Celsius"), "x") == 1.5
    assert read(DIFFERENCE, registry.Quantity(number, "delta_degree_Celsius"), "x") == 1.5


def test_whole_numbers_of_numpy(registry: Any) -> None:  # noqa: ANN401
    assert read(MASS, registry.Quantity(np.int64(3), "pound"), "x") == grid(MASS, 3 * LB)


FINITE = "the number must be finite"
SINGLE = "a mass as a single number"
BAD = [
    (MASS, -1, "kilogram", "a mass", "a mass cannot be less than zero"),
    (MASS, -1e-9, "gram", "a mass", "a mass cannot be less than zero"),
    (MASS, math.nan, "kilogram", "a mass", FINITE),
    (MASS, math.inf, "kilogram", "a mass", FINITE),
    (MASS, -math.inf, "kilogram", "a mass", FINITE),
    (MASS, np.float64("nan"), "kilogram", "a mass", FINITE),
    (MASS, Decimal("NaN"), "kilogram", "a mass", FINITE),
    (MASS, 3, "meter", "a mass", 'write for example "93 kg"'),
    (MASS, 3, "force_pound", "a mass", 'write for example "93 kg"'),
    (MASS, 3, "degree_Celsius", "a mass", 'write for example "93 kg"'),
    (MASS, 3, "dimensionless", "a mass", 'write for example "93 kg"'),
    (MASS, np.array([1.0, 2.0]), "kilogram", SINGLE, "pass arrays to the kernels, which take floats"),
    (MASS, np.array([1.0]), "kilogram", SINGLE, "pass arrays to the kernels, which take floats"),
    (MASS, np.array([]), "kilogram", SINGLE, "pass arrays to the kernels, which take floats"),
    (MASS, 1 + 2j, "kilogram", SINGLE, "give it as a plain number"),
    (TEMPERATURE, 3, "kilogram", "a temperature", 'write for example "25 °C"'),
    (TEMPERATURE, -1, "kelvin", "a temperature", "nothing is colder than -273.15 °C"),
    (TEMPERATURE, -300, "degree_Celsius", "a temperature", "nothing is colder than -273.15 °C"),
    (TEMPERATURE, 5, "delta_degree_Celsius", "a temperature, not a difference", "use degree_Celsius or text"),
    (TEMPERATURE, 5, "delta_degree_Fahrenheit", "a temperature, not a difference", "use degree_Fahrenheit or text"),
    (
        DIFFERENCE,
        5,
        "degree_Celsius",
        "a temperature difference, not a temperature",
        "use delta_degree_Celsius, kelvin",
    ),
    (
        DIFFERENCE,
        0,
        "degree_Celsius",
        "a temperature difference, not a temperature",
        "use delta_degree_Celsius, kelvin",
    ),
    (DIFFERENCE, 14, "degree_Fahrenheit", "a temperature difference, not a temperature", "use delta_degree_Fahrenheit"),
    (DIFFERENCE, 5, "kilogram", "a temperature difference", 'write for example "8 K"'),
    (SHARE, -5, "percent", "a share", "a share cannot be less than zero"),
    (TIME, -1, "hour", "a time", "a time cannot be less than zero"),
]


@pytest.mark.parametrize(("kind", "number", "unit", "expected", "fix"), BAD, ids=lambda value: str(value)[:24])
def test_a_quantity_that_does_not_fit_is_refused(
    registry: Any,  # noqa: ANN401
    kind: Kind,
    number: object,
    unit: str,
    expected: str,
    fix: str,
) -> None:
    quantity = registry.Quantity(number, unit)
    with pytest.raises(QuantityError) as caught:
        read(kind, quantity, "dough")
    (fault,) = caught.value.faults
    assert fault.where == "dough"
    assert fault.got.startswith("the quantity ")
    assert fault.got.endswith(f" {quantity.units:D}")
    assert fault.expected == expected
    assert fault.fix.startswith(fix)


@pytest.mark.parametrize(
    "number", [10**400, 10**5000, Decimal("1e400"), Decimal("sNaN")], ids=["400", "5000", "D", "s"]
)
def test_a_number_beyond_floats_is_refused(registry: Any, number: object) -> None:  # noqa: ANN401
    with pytest.raises(QuantityError) as caught:
        read(MASS, registry.Quantity(number, "kilogram"), "dough")
    assert caught.value.faults[0].fix in {"the number is too large", FINITE}
    assert len(str(caught.value)) < 200


BARE = [
    (3, "the bare number 3", 'say the unit, for example "3 g"'),
    (2.5, "the bare number 2.5", 'say the unit, for example "2.5 g"'),
    (-1, "the bare number -1", 'say the unit, for example "-1 g"'),
    (Decimal("2.50"), "the bare number 2.50", 'say the unit, for example "2.50 g"'),
    (Fraction(3, 2), "the bare number 3/2", 'say the unit, for example "93 kg"'),
    (np.float64(2.5), "the bare number 2.5", 'say the unit, for example "2.5 g"'),
    (np.int32(3), "the bare number 3", 'say the unit, for example "3 g"'),
    (math.nan, "the bare number nan", 'say the unit, for example "93 kg"'),
    (10**5000, "the bare number too long to write", 'say the unit, for example "93 kg"'),
    (True, "True", 'write for example "93 kg"'),
    (False, "False", 'write for example "93 kg"'),
    (None, "None", 'write for example "93 kg"'),
    (b"3 kg", "an object of type bytes", 'write for example "93 kg"'),
    ([3], "an object of type list", 'write for example "93 kg"'),
    ((3, "kg"), "an object of type tuple", 'write for example "93 kg"'),
    ({"kg": 3}, "an object of type dict", 'write for example "93 kg"'),
    (np.array([1.0]), "an object of type ndarray", 'write for example "93 kg"'),
    (object(), "an object of type object", 'write for example "93 kg"'),
]


@pytest.mark.parametrize(("value", "got", "fix"), BARE, ids=lambda value: str(type(value).__name__))
def test_what_has_no_unit_is_refused(value: Any, got: str, fix: str) -> None:  # noqa: ANN401
    with pytest.raises(QuantityError) as caught:
        read(MASS, value, "dough")
    (fault,) = caught.value.faults
    assert (fault.where, fault.got, fault.expected) == ("dough", got, "a mass")
    assert fault.fix.startswith(fix)


def test_a_unit_alone_is_no_quantity(registry: Any) -> None:  # noqa: ANN401
    with pytest.raises(QuantityError, match="an object of type Unit"):
        read(MASS, registry.gram, "dough")


def test_a_temperature_and_a_difference_are_two_kinds() -> None:
    assert read(TEMPERATURE, "9 °F", "x") == grid(TEMPERATURE, -12.7777777778)
    assert read(DIFFERENCE, "9 °F", "x") == 5.0


def test_a_quantity_means_what_its_own_registry_says() -> None:
    odd: Any = pint.UnitRegistry()
    odd.define("baker_sack = 25 * kilogram")
    odd.define("pound = 500 * gram")
    assert read(MASS, odd.Quantity(2, "baker_sack"), "x") == 50_000.0
    assert read(MASS, odd.Quantity(2, "pound"), "x") == 1000.0
    assert read(MASS, "2 lb", "x") == grid(MASS, 2 * LB)


@pytest.mark.parametrize(
    ("kind", "value", "unit", "number"),
    [
        (MASS, 1250.0, "kilogram", 1.25),
        (TEMPERATURE, 25.0, "kelvin", 298.15),
        (DIFFERENCE, 5.0, "delta_degree_Fahrenheit", 9.0),
        (TIME, 1.5, "minute", 90.0),
        (VOLUME, 500.0, "liter", 0.5),
        (ENERGY, 14.4, "watt_hour", 4.0),
        (SHARE, 0.12, "percent", 12.0),
        (SHARE, 0.12, "dimensionless", 0.12),
    ],
)
def test_what_goes_out_is_a_quantity(kind: Kind, value: float, unit: str, number: float) -> None:
    assert view(kind, value).to(unit).magnitude == pytest.approx(number, rel=1e-12)


@pytest.mark.parametrize("kind", KINDS)
def test_what_goes_out_comes_back(kind: Kind) -> None:
    for value in (0.0, 0.07, 12.5, 25.0, 99.999):
        assert read(kind, view(kind, value), "x") == value


@pytest.fixture
def another_application_registry() -> Iterator[Any]:
    before = application_registry().get()
    other: Any = pint.UnitRegistry()
    set_application_registry(other)
    yield other
    set_application_registry(before)


def test_what_goes_out_lives_in_the_application_registry_of_the_moment(another_application_registry: Any) -> None:  # noqa: ANN401
    assert view(MASS, 5.0) + another_application_registry.Quantity(1, "gram") == another_application_registry("6 gram")


def test_a_shared_registry_is_never_configured(another_application_registry: Any) -> None:  # noqa: ANN401
    def facts() -> tuple[object, ...]:
        return (
            another_application_registry.autoconvert_offset_to_baseunit,
            another_application_registry.formatter.default_format,
        )

    before = facts()
    quantity = another_application_registry.Quantity(93.0, "kilogram")
    read(MASS, quantity, "x")
    view(TEMPERATURE, 25.0)
    view(SHARE, 0.5)
    assert (quantity.magnitude, str(quantity.units)) == (93.0, "kilogram")
    assert facts() == before


# Text-only threads beside threads that are the first to need pint; each must get its answer or its refusal.
THREADS = """
import threading, sys
sys.setswitchinterval(1e-6)
from formula.quantity import MASS, TEMPERATURE, DIFFERENCE, read, view
from formula.errors import QuantityError
wall = threading.Barrier(8)
told = []
def work(number):
    wall.wait()
    try:
        read(MASS, number, "x")
    except QuantityError:
        pass
    quantity = view(MASS, 1000.0 + number)
    back = read(MASS, quantity, "x")
    warm = read(TEMPERATURE, view(TEMPERATURE, 20.0 + number), "x")
    step = read(DIFFERENCE, view(DIFFERENCE, 1.0 + number), "x")
    told.append((number, back - 1000.0, warm - 20.0, step - 1.0))
threads = [threading.Thread(target=work, args=(number,)) for number in range(8)]
for thread in threads: thread.start()
for thread in threads: thread.join()
assert sorted(told) == [(n, n, n, n) for n in range(8)], told
print("ok")
"""


@pytest.mark.parametrize("again", range(4))
def test_eight_threads_may_be_the_first(fresh_python: Callable[[str], str], again: int) -> None:
    assert fresh_python(THREADS) == "ok\n", again


def test_two_thousand_whole_grams_are_the_same_in_every_unit() -> None:
    ounce = Fraction("453.59237") / 16
    for grams in range(1, 2001):
        value = float(grams)
        same = {
            read(MASS, f"{grams} g", "x"),
            read(MASS, f"{grams / 1000!r} kg", "x"),
            read(MASS, f"{grams * 1000} mg", "x"),
            read(MASS, f"{float(grams / ounce)!r} oz", "x"),
            read(MASS, f"{float(grams / ounce / 16)!r} lb", "x"),
        }
        assert same == {value}


def test_whole_grams_given_as_quantities_are_the_same_too() -> None:
    application = application_registry()
    for grams in range(1, 2001, 7):
        same = {
            read(MASS, application.Quantity(float(grams), "gram"), "x"),
            read(MASS, application.Quantity(grams / 1000, "kilogram"), "x"),
            read(MASS, application.Quantity(float(grams), "gram").to("pound"), "x"),
            read(MASS, application.Quantity(float(grams), "gram").to("ounce"), "x"),
        }
        assert same == {float(grams)}


def test_the_door_tells_of_every_bad_argument_at_once() -> None:
    door = Door()
    good = door.read(MASS, "3 kg", "flour")
    bad = door.read(MASS, 3, "water")  # type: ignore[arg-type]
    worse = door.read(TEMPERATURE, "25", "dough")
    door.refuse("pieces", "0", "a whole number above 0")
    with pytest.raises(QuantityError) as caught:
        door.close()
    assert good == 3000.0
    assert math.isnan(bad)
    assert math.isnan(worse)
    assert [fault.where for fault in caught.value.faults] == ["water", "dough", "pieces"]
    assert str(caught.value).startswith("3 faults:\n  - water: got the bare number 3, expected a mass; ")
    again = pickle.loads(pickle.dumps(caught.value))  # noqa: S301 - our own bytes
    assert again.faults == caught.value.faults


def test_a_door_without_faults_lets_through() -> None:
    with Door() as door:
        assert door.read(SHARE, "12 %", "loss") == 0.12


def test_a_door_raises_at_the_end_and_as_the_error_it_was_given() -> None:
    with pytest.raises(FileError), Door(FileError) as door:
        door.read(MASS, "x", "water")


def test_a_door_does_not_hide_another_error() -> None:
    def go_through() -> None:
        with Door() as door:
            door.read(MASS, "x", "water")
            _ = 1 / 0

    with pytest.raises(ZeroDivisionError):
        go_through()
