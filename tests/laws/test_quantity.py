"""Laws of the edge."""

import math
from typing import Any

import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from formula.errors import QuantityError
from formula.quantity import DIFFERENCE, KINDS, MASS, TEMPERATURE, Kind, grid, read, view
from formula.units import parse, write
from tests.laws.strategies import VALUES, differences_k, masses_g, temperatures_c, text_pieces, whole_grams

UNITS = [(kind, unit.spellings[0]) for kind in KINDS for unit in kind.units]
REGISTRY: Any = pint.UnitRegistry()


class TestRoundTrip:
    """What is written reads back to the same value, in every unit."""

    @pytest.mark.parametrize(("kind", "unit"), UNITS, ids=str)
    @given(data=st.data())
    def test_text(self, kind: Kind, unit: str, data: st.DataObject) -> None:
        value = data.draw(VALUES[kind])
        assert parse(kind, write(kind, value, unit), "x") == value

    @pytest.mark.parametrize("kind", KINDS)
    @given(data=st.data())
    def test_quantity(self, kind: Kind, data: st.DataObject) -> None:
        value = data.draw(VALUES[kind])
        assert read(kind, view(kind, value), "x") == value


class TestTwoWritings:
    """The same value in another unit is the same value, and hashes alike."""

    @given(whole_grams)
    def test_whole_grams(self, mass_g: float) -> None:
        texts = [write(MASS, mass_g, unit) for unit in ("g", "kg", "mg", "t", "lb", "oz")]
        values = [parse(MASS, text, "x") for text in texts]
        quantities = [REGISTRY.Quantity(mass_g, "gram").to(unit) for unit in ("kilogram", "pound", "ounce")]
        values += [read(MASS, quantity, "x") for quantity in quantities]
        assert values == [mass_g] * len(values)
        assert len(set(values)) == 1

    @given(temperatures_c)
    def test_temperatures(self, temperature_c: float) -> None:
        fahrenheit = REGISTRY.Quantity(temperature_c, "degree_Celsius").to("degree_Fahrenheit")
        assert read(TEMPERATURE, fahrenheit, "x") == pytest.approx(temperature_c, abs=1.1e-9)

    @given(st.integers(0, 500), st.integers(0, 15))
    def test_pounds_and_ounces(self, pounds: int, ounces: int) -> None:
        together = parse(MASS, f"{pounds} lb {ounces} oz", "x")
        assert together == pytest.approx(parse(MASS, f"{16 * pounds + ounces} oz", "x"), rel=1e-11, abs=1e-12)


class TestGrid:
    """A value on the grid stays where it is, and the grid moves nothing by more than its step."""

    @given(masses_g)
    def test_mass(self, mass_g: float) -> None:
        assert grid(MASS, mass_g) == mass_g

    @given(st.floats(1e-3, 1e7))
    def test_step_of_a_mass(self, mass_g: float) -> None:
        assert grid(MASS, mass_g) == pytest.approx(mass_g, rel=5.1e-12)
        assert grid(MASS, grid(MASS, mass_g)) == grid(MASS, mass_g)

    @given(st.floats(-300, 300))
    def test_step_of_a_temperature(self, temperature_c: float) -> None:
        assert grid(TEMPERATURE, temperature_c) == pytest.approx(temperature_c, abs=5.1e-10)


class TestTemperatureAndDifference:
    """A temperature plus a difference is a temperature, in Celsius and in Fahrenheit alike."""

    @given(temperatures_c, differences_k)
    def test_sum(self, temperature_c: float, difference_k: float) -> None:
        warm_f = 1.8 * temperature_c + 32
        step_f = 1.8 * difference_k
        warm = parse(TEMPERATURE, f"{warm_f:.12f} °F", "x")
        step = parse(DIFFERENCE, f"{step_f:.12f} °F", "x")
        assert warm + step == pytest.approx(temperature_c + difference_k, abs=3e-9)


class TestAnyText:
    """Whatever the text: a finite number on the grid, or one error with a mend."""

    @staticmethod
    def hold(kind: Kind, text: str) -> None:
        error: QuantityError | None = None
        value = math.nan
        try:
            value = parse(kind, text, "x")
        except QuantityError as refused:
            error = refused
        if error is not None:
            (fault,) = error.faults
            assert fault.fix
            assert len(str(error)) < 600
            return
        assert math.isfinite(value)
        assert value == grid(kind, value)
        assert value >= kind.lowest
        assert parse(kind, write(kind, value), "x") == value

    @pytest.mark.parametrize("kind", KINDS)
    @given(text=st.text(max_size=60))
    @example(text="9" * 5000 + "/2 cup")
    @example(text="1 " + "9" * 5000 + "/2 cup")
    @example(text="9" * 5000 + " lb 8 oz")
    @example(text="1 lb " + "9" * 5000 + " oz")
    @example(text="1 lb 8e+999 oz")
    @example(text="1 h 1e-999 min")
    @example(text="0/0 cup")
    @example(text="\ud800 kg")
    @example(text="3 \x00kg")
    def test_anything(self, kind: Kind, text: str) -> None:
        self.hold(kind, text)

    @pytest.mark.parametrize("kind", KINDS)
    @given(pieces=st.lists(text_pieces, max_size=8))
    def test_nearly_right(self, kind: Kind, pieces: list[str]) -> None:
        self.hold(kind, "".join(pieces))
