"""The laws of exchanges and adjustments, on random breads with stages in stages."""

from collections.abc import Callable

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from formula.adjust import with_percent, with_prefermented
from formula.errors import ContradictionError
from formula.exchange import Exchange, exchange_flour, exchange_milk, exchange_yeast
from formula.formula import Formula
from formula.moisture import absorption_as_is, absorption_at_basis
from formula.table import SMALL
from tests.arithmetic import check_working
from tests.laws.strategies import Written, moistures, written

FORMS = ("fresh yeast", "active dry yeast", "instant yeast")


def near(value: float) -> object:
    # The table leaves out what is less than SMALL.
    return pytest.approx(value, rel=1e-9, abs=10 * SMALL)


def same(one: Formula, other: Formula) -> bool:
    """Whether all lines are the same, overall and as they are weighed into every stage; lines of nothing do not count."""

    def lines(formula: Formula) -> dict[tuple[str, str], float]:
        columns = [("overall", formula.percents.items())]
        columns += [(column.name, zip(column.lines, column.percents, strict=True)) for column in formula.table.columns]  # type: ignore[misc]
        return {(name, line): percent for name, pairs in columns for line, percent in pairs if percent > 1e-9}

    first, second = lines(one), lines(other)
    return all(first.get(key, 0.0) == near(second.get(key, 0.0)) for key in {*first, *second})


def columns(formula: Formula) -> dict[str, dict[str, float]]:
    return {column.name: dict(zip(column.lines, column.percents, strict=True)) for column in formula.table.columns}


def attempted(make: Callable[[], Exchange]) -> Exchange:
    """Make an exchange, where the bread has the water for it."""
    try:
        return make()
    except ContradictionError:
        assume(condition=False)
        raise


def holds_together(exchange: Exchange) -> Formula:
    check_working(exchange.working(), exchange.total_percent)
    made = exchange.formula
    assert sum(made.percents[line] for line in made.flours) == pytest.approx(100, rel=1e-12)
    # The table leaves out lines of less than a thousand-millionth of a percent: up to twenty of them.
    assert sum(columns(made)["final"].values()) == pytest.approx(made.total_percent, rel=1e-12, abs=20 * SMALL)
    again = Formula.from_percents(made.name, made.percents, stages=made.stages)
    assert again == made
    return made


def with_yeast(bread: Written) -> Formula:
    formula = bread.formula()
    assume("fresh yeast" in formula.percents)
    return formula


class TestYeastHoldsTheDough:
    """An exchange of yeast leaves the total, every stage with water its weight, and every stage its flour."""

    @given(written(), st.sampled_from(FORMS[1:]))
    def test_weights(self, bread: Written, form: str) -> None:
        formula = with_yeast(bread)
        made = holds_together(exchange_yeast(formula, "fresh yeast", form))
        assert made.total_percent == pytest.approx(formula.total_percent, rel=1e-12)
        assert made.prefermented_flour == near(formula.prefermented_flour)
        weighed = columns(made)
        for name, before in columns(formula).items():
            after = weighed[name]
            assert sum(after.values()) == pytest.approx(sum(before.values()), rel=1e-12, abs=20 * SMALL)
            for line, percent in before.items():
                if line not in {"fresh yeast", "water"}:
                    assert after.get(line, 0.0) == near(percent), (name, line)


class TestYeastReturns:
    """Another form of yeast and back is where it began; by way of a third form nothing changes."""

    @given(written(), st.sampled_from(FORMS[1:]))
    def test_there_and_back(self, bread: Written, form: str) -> None:
        formula = with_yeast(bread)
        there = exchange_yeast(formula, "fresh yeast", form).formula
        assert same(exchange_yeast(there, form, "fresh yeast").formula, formula)

    @given(written(), st.permutations(FORMS[1:]))
    def test_by_way_of_a_third(self, bread: Written, forms: list[str]) -> None:
        formula = with_yeast(bread)
        one = exchange_yeast(formula, "fresh yeast", forms[1]).formula
        by_way = exchange_yeast(exchange_yeast(formula, "fresh yeast", forms[0]).formula, *forms).formula
        assert same(by_way, one)


class TestMilkReturns:
    """Dry milk with water for fluid milk holds the dough, its solids and every stage; back is where it began."""

    @given(written())
    def test_there_and_back(self, bread: Written) -> None:
        formula = bread.formula()
        assume("whole milk" in formula.percents)
        made = holds_together(exchange_milk(formula, "whole milk", "whole milk powder"))
        assert made.total_percent == pytest.approx(formula.total_percent, rel=1e-12)
        solids = [formula.catalogue.find(name).solids_g or 0 for name in ("whole milk", "whole milk powder")]
        was, now = formula.percents["whole milk"] * solids[0], made.percents["whole milk powder"] * solids[1]
        assert now == pytest.approx(was, rel=1e-12)
        weighed = columns(made)
        for name, before in columns(formula).items():
            assert sum(weighed[name].values()) == pytest.approx(sum(before.values()), rel=1e-12, abs=20 * SMALL)
        assert same(exchange_milk(made, "whole milk powder", "whole milk").formula, formula)


class TestFlourReturns:
    """Another flour leaves everything but flour and final water; its hydration follows the moisture; back returns."""

    @given(written(), st.data(), moistures, moistures, st.integers(-80, 80))
    def test_there_and_back(self, bread: Written, data: st.DataObject, m_old: float, m_new: float, tenths: int) -> None:
        formula = bread.formula()
        old = data.draw(st.sampled_from(formula.flours))
        points = tenths / 10
        facts = {"old_moisture": f"{m_old} %", "new_moisture": f"{m_new} %"}
        exchange = attempted(lambda: exchange_flour(formula, old, "rice flour", absorption=points, **facts))
        made = holds_together(exchange)
        assert made.prefermented_flour == near(formula.prefermented_flour)
        weighed = columns(made)
        for name, before in columns(formula).items():
            after = weighed[name]
            for line, percent in before.items():
                if line == old:
                    assert after.get("rice flour", 0.0) == near(percent)
                elif name != "final" or line != "water":
                    assert after.get(line, 0.0) == near(percent), (name, line)
        assert made.hydration("liquid") == near(exchange.steps[-2].value)
        back = exchange_flour(
            made, "rice flour", old, old_moisture=f"{m_new} %", new_moisture=f"{m_old} %", absorption=-points
        )
        assert same(back.formula, formula)

    @given(written(), moistures, moistures)
    def test_a_moister_flour_takes_less_water(self, bread: Written, m_old: float, m_new: float) -> None:
        formula = bread.formula()
        exchange = attempted(
            lambda: exchange_flour(
                formula, formula.flours[0], "rice flour", old_moisture=f"{m_old} %", new_moisture=f"{m_new} %"
            )
        )
        change = exchange.steps[-1].value
        assert (change > 0) == (m_new < m_old) or abs(change) < 1e-9


class TestAbsorptionReturns:
    """An absorption put on a basis and taken off it is what it was."""

    @given(st.floats(0, 150), moistures, st.floats(0, 20))
    def test_on_and_off(self, absorption: float, moisture: float, basis: float) -> None:
        found = absorption_as_is(absorption_at_basis(absorption, moisture, basis), moisture, basis)
        assert found == pytest.approx(absorption, rel=1e-12, abs=1e-12)


class TestProportions:
    """A line changed in proportion changes in every stage by that factor, and nothing else changes; back returns."""

    @given(written(kept=False), st.data(), st.floats(0.5, 2))
    def test_of_every_weighed_line(self, bread: Written, data: st.DataObject, factor: float) -> None:
        formula = bread.formula()
        line = data.draw(st.sampled_from([line for line in formula.percents if line not in formula.flours]))
        made = holds_together(with_percent(formula, line, formula.percents[line] * factor, hold="proportions"))
        stages = {stage.name for stage in formula.stages}
        weighed = columns(made)
        for name, before in columns(formula).items():
            after = weighed[name]
            for each, percent in before.items():
                if each not in stages:
                    assert after.get(each, 0.0) == near(percent * factor if each == line else percent), (name, each)
        back = with_percent(made, line, formula.percents[line], hold="proportions").formula
        assert same(back, formula)


class TestStagesHeld:
    """A line changed with the stages held changes in the final dough alone."""

    @given(written(), st.data(), st.floats(0, 3))
    def test_only_the_final_dough(self, bread: Written, data: st.DataObject, factor: float) -> None:
        formula = bread.formula()
        choices = [line for line in formula.percents if line not in formula.flours]
        line = data.draw(st.sampled_from(choices))
        made = holds_together(attempted(lambda: with_percent(formula, line, formula.percents[line] * factor)))
        weighed = columns(made)
        for name, before in columns(formula).items():
            if name != "final":
                assert weighed[name] == {each: near(percent) for each, percent in before.items()}, name
        assert made.total_percent - formula.total_percent == near(formula.percents[line] * (factor - 1))


class TestPrefermentedShare:
    """The pre-fermented share becomes what was wanted, held is held, and back returns."""

    @given(written(), st.floats(0.2, 1.5))
    def test_overall_held(self, bread: Written, factor: float) -> None:
        formula = bread.formula()
        assume(1e-3 < formula.prefermented_flour * factor < 99)
        exchange = attempted(lambda: with_prefermented(formula, formula.prefermented_flour * factor))
        made = holds_together(exchange)
        assert made.prefermented_flour == near(formula.prefermented_flour * factor)
        assert made.percents == {line: near(percent) for line, percent in formula.percents.items()}
        assert same(with_prefermented(made, formula.prefermented_flour).formula, formula)

    @given(written(), st.floats(1, 95))
    def test_final_held(self, bread: Written, percent: float) -> None:
        formula = bread.formula()
        assume(1e-3 < formula.prefermented_flour < 99)
        made = holds_together(with_prefermented(formula, percent, hold="final"))
        assert made.prefermented_flour == near(percent)
        stages = {stage.name for stage in formula.stages}
        for line, each in formula.final.items():
            if line not in stages:
                assert made.final.get(line, 0.0) == near(each), line
        assert same(with_prefermented(made, formula.prefermented_flour, hold="final").formula, formula)
