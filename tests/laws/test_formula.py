"""The laws of baker's percentage, on random breads with stages in stages."""

from collections.abc import Mapping
from fractions import Fraction

import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from formula.formula import Formula
from formula.lines import Lines
from formula.units import MASS, write
from tests.laws.strategies import FLOURS, Written, in_grams, lines, masses_g, stage_name, written


def near(value: float) -> object:
    return pytest.approx(value, rel=1e-9, abs=1e-9)


def exactly(bread: Written) -> dict[str, Fraction]:
    """Derive the overall weights anew in exact fractions, following the dough backwards stage by stage."""

    def content(number: int, amount: Fraction) -> dict[str, Fraction]:
        stage = {name: Fraction(str(grams)) for name, grams in bread.stages[number].items()}
        convention = bread.cultures[number]
        culture = stage.pop("culture", Fraction(0))
        ripe = sum(stage.values()) + (culture if convention != "returned" else 0)
        base = sum(grams for name, grams in stage.items() if name in FLOURS)
        kept = Fraction(str(bread.keeps[number])) / 100 * base
        share = amount / (ripe - kept)
        # What goes on is taken evenly from everything in the ripe stage.
        share *= (ripe - kept) / ripe
        found: dict[str, Fraction] = {}
        for name, grams in stage.items():
            inner = (
                content(int(name.split()[1]) - 1, grams * share)
                if name.startswith("preferment")
                else {name: grams * share}
            )
            for line, more in inner.items():
                found[line] = found.get(line, Fraction(0)) + more
        if convention == "line":
            found["culture"] = found.get("culture", Fraction(0)) + culture * share
        if convention == "split":
            own = {name: grams for name, grams in stage.items() if not name.startswith("preferment")}
            for name, grams in own.items():
                found[name] = found.get(name, Fraction(0)) + culture * share * grams / sum(own.values())
        return found

    whole: dict[str, Fraction] = {}
    for name, grams in bread.final.items():
        amount = Fraction(str(grams))
        inner = content(int(name.split()[1]) - 1, amount) if name.startswith("preferment") else {name: amount}
        for line, more in inner.items():
            whole[line] = whole.get(line, Fraction(0)) + more
    return whole


class TestPartsMakeTheWhole:
    """The lines of the final dough, and the overall lines, both sum to the dough; flours sum to 100."""

    @given(written(), masses_g)
    def test_of_a_batch(self, bread: Written, dough_g: float) -> None:
        batch = bread.formula().scale(dough=write(MASS, dough_g))
        assert batch.dough_g == pytest.approx(dough_g, rel=1e-12)
        assert sum(row.mass_g for row in batch.rows) == pytest.approx(dough_g, rel=1e-12)
        assert sum(row.mass_g for row in batch.final.rows) == pytest.approx(dough_g, rel=1e-12)

    @given(written())
    def test_of_percentages(self, bread: Written) -> None:
        formula = bread.formula()
        assert sum(formula.percent(name) for name in formula.flours) == pytest.approx(100, rel=1e-12)
        assert sum(formula.true_percents.values()) == pytest.approx(100, rel=1e-12)
        assert formula.total_percent == pytest.approx(sum(formula.percents.values()), rel=1e-12)


class TestExactFractionsAgree:
    """The overall formula of a final dough with stages is that of exact fractions, followed backwards."""

    @given(written())
    def test_overall(self, bread: Written) -> None:
        formula = bread.formula()
        exact = exactly(bread)
        flour = sum(grams for name, grams in exact.items() if name in FLOURS)
        assert set(formula.percents) == set(exact)
        for name, grams in exact.items():
            assert formula.percent(name) == near(float(100 * grams / flour)), name


class TestScaling:
    """Scaling by k scales every weight by k and no percentage; up and then down is where it began."""

    @given(written(), masses_g, st.integers(2, 1000))
    def test_by_k(self, bread: Written, dough_g: float, k: int) -> None:
        formula = bread.formula()
        small = formula.scale(dough=write(MASS, dough_g))
        large = formula.scale(dough=write(MASS, small.asked_g * k))
        for before, after in zip(small.masses_g, large.masses_g, strict=True):
            assert after == pytest.approx(before * k, rel=1e-11)
        assert [row.percent for row in small.rows] == [row.percent for row in large.rows]

    @given(written(), masses_g)
    def test_up_and_down(self, bread: Written, dough_g: float) -> None:
        formula = bread.formula()
        first = formula.scale(dough=write(MASS, dough_g))
        back = formula.scale(flour=write(MASS, first.flour_g))
        assert back.masses_g == pytest.approx(first.masses_g, rel=1e-11)


class TestOrderOfLines:
    """The order of the lines changes nothing but the order in which they are printed."""

    @given(st.randoms(use_true_random=False), lines(most=12))
    def test_of_a_plain_formula(self, random: object, drawn: dict[str, float]) -> None:
        shuffled = list(drawn.items())
        random.shuffle(shuffled)  # type: ignore[attr-defined]
        first, second = Formula.from_weights("x", in_grams(drawn)), Formula.from_weights("x", in_grams(dict(shuffled)))
        for name in drawn:
            assert first.percent(name) == near(second.percent(name))
        evened = {name: round(percent) for name, percent in first.percents.items() if name not in FLOURS}
        one = Formula.from_percents("x", {"bread flour": 100, **evened})
        other = Formula.from_percents("x", {**dict(reversed(evened.items())), "bread flour": 100})
        assert one == other
        assert hash(one) == hash(other)


class TestUnits:
    """Grams, kilograms, ounces and pounds give the same batch."""

    @given(written(), masses_g, st.sampled_from(("kg", "lb", "oz", "mg", "t")))
    def test_of_the_dough(self, bread: Written, dough_g: float, unit: str) -> None:
        formula = bread.formula()
        assert formula.scale(dough=write(MASS, dough_g)) == formula.scale(dough=write(MASS, dough_g, unit))


class TestNotations:
    """Overall to stages to overall is the identity, and so are weights to percentages to weights."""

    @given(written())
    def test_overall_and_back(self, bread: Written) -> None:
        formula = bread.formula()
        again = Formula.from_percents("Drawn", dict(formula.percents), stages=formula.stages)
        assert again == formula
        column = formula.table.columns[-1]
        final: Mapping[str, float] = dict(zip(column.lines, column.percents, strict=True))
        unsized = [stage.changed(flour_percent=None, weight_percent=None) for stage in formula.stages]
        back = Formula.from_stages("Drawn", in_grams(final), unsized)
        for name, percent in formula.percents.items():
            assert back.percent(name) == near(percent)

    @given(written())
    def test_the_final_dough_is_what_was_written(self, bread: Written) -> None:
        formula = bread.formula()
        written_flour = sum(grams for name, grams in bread.final.items() if name in FLOURS)
        for name, grams in bread.final.items():
            assert formula.final[name] == near(100 * grams / written_flour)

    @given(lines(most=15))
    def test_weights_and_back(self, drawn: dict[str, float]) -> None:
        formula = Formula.from_weights("x", in_grams(drawn))
        flour = sum(grams for name, grams in drawn.items() if name in FLOURS)
        batch = formula.scale(flour=write(MASS, flour))
        for name, grams in drawn.items():
            assert batch.mass_g(name) == near(grams)


class TestStagesHandOn:
    """What a stage hands on is what the others and the final dough take of it."""

    @given(written(), masses_g)
    def test_in_a_batch(self, bread: Written, dough_g: float) -> None:
        batch = bread.formula().scale(dough=write(MASS, dough_g))
        for number in range(len(bread.stages)):
            name = stage_name(number)
            taken = sum(row.mass_g for stage in batch.stages.values() for row in stage.rows if row.name == name)
            assert batch.stages[name].handed_on_g == pytest.approx(taken, rel=1e-9)


class TestAValue:
    """A formula is a value: equal ones hash alike, and the cached table does not count."""

    @given(written())
    def test_equal_and_hashed(self, bread: Written) -> None:
        one, other = bread.formula(), bread.formula()
        assert one.table is not None
        assert one == other
        assert hash(one) == hash(other)
        assert evolve(one, name="Another") != one
        assert isinstance(one.percents, Lines)
