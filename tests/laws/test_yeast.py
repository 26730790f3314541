"""Laws of yeast conversion."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.quantity import MASS, write
from formula.yeast import YeastForm, convert_yeast, converted_mass_g
from tests.laws.strategies import masses_g, yeast_form_names, yeast_forms


class TestConversionIsInvertible:
    """There and back is the same yeast."""

    @given(masses_g, yeast_forms, yeast_forms)
    def test_law(self, mass_g: float, one: YeastForm, other: YeastForm) -> None:
        a, b = one.factor.value, other.factor.value
        assert converted_mass_g(converted_mass_g(mass_g, a, b), b, a) == pytest.approx(mass_g, rel=1e-15)


class TestConversionIsTransitive:
    """Going by way of a third form changes nothing."""

    @given(masses_g, yeast_forms, yeast_forms, yeast_forms)
    def test_law(self, mass_g: float, one: YeastForm, other: YeastForm, third: YeastForm) -> None:
        a, b, c = (form.factor.value for form in (one, other, third))
        by_way = converted_mass_g(converted_mass_g(mass_g, a, b), b, c)
        assert by_way == pytest.approx(converted_mass_g(mass_g, a, c), rel=1e-15)


class TestTheSpreadHoldsTheAnswer:
    """The answer lies within the published spread, and the spread back and forth holds the beginning."""

    @given(masses_g, yeast_form_names, yeast_form_names)
    def test_law(self, mass_g: float, one: str, other: str) -> None:
        made = convert_yeast(write(MASS, mass_g), one, other)
        assert made.low_g <= made.mass_g <= made.high_g
        low = convert_yeast(f"{made.low_g:.12e} g", other, one)
        high = convert_yeast(f"{made.high_g:.12e} g", other, one)
        assert low.high_g == pytest.approx(mass_g, rel=1e-11)
        assert high.low_g == pytest.approx(mass_g, rel=1e-11)


class TestTheDoughKeepsItsWeight:
    """Yeast and water change make up the weight of the yeast that is replaced."""

    @given(masses_g, yeast_form_names, yeast_form_names)
    def test_law(self, mass_g: float, one: str, other: str) -> None:
        made = convert_yeast(write(MASS, mass_g), one, other)
        assert made.mass_g + made.water_change_g == pytest.approx(mass_g, rel=1e-12)


class TestTwiceTheYeastIsTwiceTheYeast:
    """Conversion is proportional, and one's own factor is multiplied with."""

    @given(masses_g, yeast_form_names, yeast_form_names, st.floats(0.01, 100.0))
    def test_law(self, mass_g: float, one: str, other: str, factor: float) -> None:
        twice, once = write(MASS, mass_g * 2), write(MASS, mass_g)
        doubled = convert_yeast(twice, one, other).mass_g
        assert doubled == pytest.approx(2 * convert_yeast(once, one, other).mass_g, rel=1e-11)
        assert convert_yeast(once, one, other, factor).mass_g == pytest.approx(mass_g * factor, rel=1e-12)
