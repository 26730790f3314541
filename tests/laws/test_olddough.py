"""The laws of old dough, on random breads."""

import pytest
from hypothesis import assume, given

from formula.errors import FormulaError
from formula.formula import Formula
from formula.olddough import OldDough, WithOldDough, with_old_dough
from formula.quantity import MASS, write
from tests.arithmetic import check_working
from tests.laws.strategies import Written, dough_parts, replaceable, written


def put(bread: Formula, old: Formula, part: float) -> WithOldDough:
    """Put old dough into a bread: as much as a part of the dough, or as fits."""
    batch = bread.scale(flour="50 kg")
    dough = OldDough(old, write(MASS, batch.dough_g * part), age="10 h", temperature="5 °C")
    try:
        return with_old_dough(batch, dough, oldest="12 h", warmest="8 °C")
    except FormulaError as error:
        # The bread's own stages may have taken all of a line, or the old dough may hold two cultures of its own.
        assume("could take the place of" not in str(error) and "ripe culture" not in str(error))
        raise


class TestTheOverallFormulaStays:
    """Old dough of the same bread leaves every overall percentage and the weight of the dough what they were."""

    @given(replaceable(), dough_parts)
    def test_law(self, drawn: Written, part: float) -> None:
        bread = drawn.formula()
        made = put(bread, bread, part)
        assert list(made.formula.percents) == list(bread.percents)
        for line, percent in bread.percents.items():
            assert made.formula.percents[line] == pytest.approx(percent, abs=1e-9)
        assert made.dough_g == pytest.approx(made.before.dough_g, rel=1e-9)


class TestTheWeightsAddUp:
    """What the old dough brings and what the rest of the batch weighs is every line of the bread; no line is below zero."""

    @given(written(), written(kept=False), dough_parts)
    def test_law(self, drawn: Written, other: Written, part: float) -> None:
        old = other.formula("Old")
        lines = {**dict.fromkeys(old.percents, 0.0), **drawn.formula().percents}
        wanted = {line: max(percent, 2.0) for line, percent in lines.items()}
        flours = [line for line in wanted if line in old.flours or line in drawn.formula().flours]
        whole = sum(wanted[line] for line in flours)
        bread = Formula.from_percents("Next", {line: 100 * percent / whole for line, percent in wanted.items()})
        made = put(bread, old, part)
        for line in bread.percents:
            in_stages = sum(
                row.mass_g for stage in made.batch.stages.values() for row in stage.rows if row.name == line
            )
            assert in_stages == pytest.approx(made.before.mass_g(line), rel=1e-9, abs=1e-6)
        assert min(row.mass_g for row in made.batch.final.rows) >= 0
        assert made.batch.mass_g(made.stage) == pytest.approx(made.used_g, rel=1e-9)
        assert sum(made.brought_g.values()) == pytest.approx(made.used_g, rel=1e-9)
        check_working(made.working(), made.dough_g)


class TestTheMostIsTheMost:
    """The most that fits empties the line that limits it; a part in a thousand more is refused."""

    @given(replaceable())
    def test_law(self, drawn: Written) -> None:
        bread = drawn.formula()
        made = put(bread, bread, 1.0)
        assert made.used_g <= made.most_g * (1 + 1e-12)
        left = made.batch.final.rows
        if made.used_g == made.most_g:
            assert made.limited_by not in {row.name for row in left if row.mass_g > 1e-4}
        more = OldDough(bread, write(MASS, made.most_g * 2), age="1 h", temperature="5 °C")
        with pytest.raises(FormulaError, match="runs out in the final dough"):
            with_old_dough(made.before, more, oldest="2 h", warmest="5 °C", amount=write(MASS, made.most_g * 1.001))


class TestItsFlourIsPrefermented:
    """The pre-fermented flour grows by the flour of the old dough, whatever of it is in the bread already."""

    @given(replaceable(), dough_parts)
    def test_law(self, drawn: Written, part: float) -> None:
        bread = drawn.formula()
        made = put(bread, bread, part)
        grown = 100 * sum(made.brought_g[line] for line in bread.flours if line in made.brought_g) / 50_000
        assert made.formula.prefermented_flour == pytest.approx(bread.prefermented_flour + grown, abs=1e-6)
