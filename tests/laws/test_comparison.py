"""The laws of comparing and blending, on random breads."""

import pytest
from hypothesis import given

from formula.comparison import blend, compare
from formula.formula import Formula
from formula.units import MASS, write
from tests.arithmetic import check_working
from tests.laws.strategies import Written, masses_g, written


class TestComparisonIsAntisymmetric:
    """The other way round, every difference has the other sign, overall and in every stage."""

    @given(written(), written())
    def test_both_ways(self, one: Written, other: Written) -> None:
        first, second = one.formula("First"), other.formula("Second")
        there, back = compare(first, second), compare(second, first)
        check_working(there.working(), there.difference_percent)
        assert there.difference_percent == pytest.approx(-back.difference_percent, rel=1e-9, abs=1e-9)
        pairs = [(there.lines, back.lines), *((there.stages[name], back.stages[name]) for name in there.stages)]
        assert set(there.stages) == set(back.stages)
        for forth, home in pairs:
            assert {line.name: line.difference_percent for line in forth} == {
                line.name: -line.difference_percent for line in home
            }

    @given(written(), written())
    def test_every_line_of_both_once(self, one: Written, other: Written) -> None:
        first, second = one.formula("First"), other.formula("Second")
        found = compare(first, second)
        assert [line.name for line in found.lines] == list(dict.fromkeys([*first.percents, *second.percents]))
        for line in found.lines:
            assert line.first_percent == first.percents.get(line.name, 0.0)
            assert line.second_percent == second.percents.get(line.name, 0.0)
        assert found.difference_percent == pytest.approx(second.total_percent - first.total_percent, abs=1e-9)


class TestTheSame:
    """A formula compared with itself has not changed; blended with itself, it is itself."""

    @given(written(), masses_g, masses_g)
    def test_of_one_formula(self, bread: Written, one_g: float, other_g: float) -> None:
        formula = bread.formula()
        found = compare(formula, formula)
        assert found.changed == ()
        assert not found.changed_stages
        made = blend(formula, write(MASS, one_g), formula, write(MASS, other_g))
        assert made.percents == {
            line: pytest.approx(percent, rel=1e-9, abs=1e-9) for line, percent in formula.percents.items()
        }


def weighed(formula: Formula, dough_g: float) -> dict[str, float]:
    return {row.name: row.mass_g for row in formula.scale(dough=write(MASS, dough_g)).rows}


class TestABlendIsTheSum:
    """Every ingredient of a blend weighs what both doughs bring; the order of the doughs does not matter."""

    @given(written(), written(), masses_g, masses_g)
    def test_ingredient_by_ingredient(self, one: Written, other: Written, one_g: float, other_g: float) -> None:
        first, second = one.formula("First"), other.formula("Second")
        made = blend(first, write(MASS, one_g), second, write(MASS, other_g))
        parts = weighed(first, one_g), weighed(second, other_g)
        whole = weighed(made, one_g + other_g)
        assert set(whole) == {*parts[0], *parts[1]}
        for name, grams in whole.items():
            expected = parts[0].get(name, 0.0) + parts[1].get(name, 0.0)
            assert grams == pytest.approx(expected, rel=1e-9, abs=2e-11 * (one_g + other_g)), name
        turned = blend(second, write(MASS, other_g), first, write(MASS, one_g))
        assert compare(made, turned).changed == ()
