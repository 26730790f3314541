"""The laws of scaling and rounding, on random breads with stages in stages and random scales."""

from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from formula.batch import Batch
from formula.formula import Formula
from formula.losses import Losses
from formula.rounding import PROTECTED, apportioned
from formula.units import MASS, SHARE, write
from tests.laws.strategies import Scale, Written, doughs_g, in_grams, lines, scales, steps_g, whole_grams, written
from tests.laws.strategies import losses as shares

NOISE = 1e-6
"""Grams below which a difference is what floats leave behind."""


def stages_of(batch: Batch) -> set[str]:
    return {stage.name for stage in batch.formula.stages}


def is_protected(batch: Batch, line: str) -> bool:
    return batch.formula.catalogue.find(line).kind in PROTECTED


class TestRoundingAStraightDough:
    """Without stages each line moves less than one step, the total at most half the coarsest, all on the scale."""

    @given(lines(most=15), doughs_g, scales())
    def test_law(self, drawn: dict[str, float], dough_g: float, scale: Scale) -> None:
        exact = Formula.from_weights("x", in_grams(drawn)).scale(dough=write(MASS, dough_g))
        rounded = exact.rounded(scale.steps())
        for before, after in zip(exact.rows, rounded.rows, strict=True):
            step = scale.of(before.name)
            assert abs(after.mass_g - before.mass_g) < step, before.name
            assert after.mass_g == pytest.approx(round(after.mass_g / step) * step, abs=NOISE)
            assert after.mass_g >= 0
        assert abs(rounded.dough_g - exact.dough_g) <= scale.coarsest(exact.rows) / 2 + NOISE
        assert rounded.exact_g == exact.masses_g


class TestRoundingStages:
    """A stage that uses no other is rounded like a straight dough; every weight stays on the scale and above zero."""

    @given(written(), doughs_g, scales())
    def test_law(self, bread: Written, dough_g: float, scale: Scale) -> None:
        exact = bread.formula().scale(dough=write(MASS, dough_g))
        rounded = exact.rounded(scale.steps())
        names = stages_of(exact)
        for stage in exact.stages.values():
            after = rounded.stages[stage.name]
            inner = [row for row in stage.rows if row.name in names]
            for row, found in zip(stage.rows, after.rows, strict=True):
                step = scale.of(row.name)
                assert found.mass_g >= 0
                if row.name not in names:
                    assert found.mass_g == pytest.approx(round(found.mass_g / step) * step, abs=NOISE)
                    assert abs(found.mass_g - row.mass_g) < step or inner, row.name
            if not inner:
                assert abs(after.total_g - stage.total_g) <= scale.coarsest(stage.rows) / 2 + NOISE


class TestRoundedPartsMakeTheWhole:
    """What stages hand on is what others take, and the overall lines sum to the dough, to the last step of the scale."""

    @given(written(), doughs_g, scales(), st.sampled_from(("nearest", "up", "down")))
    def test_law(self, bread: Written, dough_g: float, scale: Scale, mode: str) -> None:
        exact = bread.formula().scale(dough=write(MASS, dough_g))
        rounded = exact.rounded(scale.steps(), mode=mode)
        for name in stages_of(exact):
            stage = rounded.stages[name]
            taken = sum(row.mass_g for other in rounded.stages.values() for row in other.rows if row.name == name)
            assert stage.handed_on_g == pytest.approx(taken, abs=NOISE)
            assert stage.kept_g >= -NOISE
        assert sum(row.mass_g for row in rounded.rows) == pytest.approx(rounded.dough_g, abs=NOISE)


class TestTheDoughKeepsItsWeight:
    """The dough moves at most half the coarsest step, as long as its free lines can take up what the stages moved."""

    @given(written(), doughs_g, scales())
    def test_law(self, bread: Written, dough_g: float, scale: Scale) -> None:
        exact = bread.formula().scale(dough=write(MASS, dough_g))
        rounded = exact.rounded(scale.steps())
        every = [row for stage in exact.stages.values() for row in stage.rows]
        coarsest = scale.coarsest(tuple(every))
        own = tuple(row for row in exact.final.rows if row.name not in stages_of(exact))
        free = [row.mass_g for row in own if not is_protected(exact, row.name)]
        assume(free and max(free) > 2 * len(every) * coarsest)
        assert abs(rounded.dough_g - exact.dough_g) <= scale.coarsest(own) / 2 + NOISE


class TestTheFinalDoughMakesUp:
    """What stages round away of an ingredient, the final dough makes up: overall it moves less than one step."""

    @given(written(), doughs_g, scales())
    def test_law(self, bread: Written, dough_g: float, scale: Scale) -> None:
        exact = bread.formula().scale(dough=write(MASS, dough_g))
        rounded = exact.rounded(scale.steps())
        names = stages_of(exact)
        # What is kept back is a part of everything in its stage, and is itself weighed on a scale.
        assume(not any(stage.keep_percent for stage in exact.formula.stages))
        places = len(names) + 1
        final = {row.name: row.mass_g for row in exact.final.rows if row.name not in names}
        # The largest free line may move further: it takes what no other can.
        largest = max((mass for line, mass in final.items() if not is_protected(exact, line)), default=0.0)
        for before, after in zip(exact.rows, rounded.rows, strict=True):
            step = scale.of(before.name)
            room = places * scale.coarsest(exact.rows)
            if room < final.get(before.name, 0.0) < largest - room:
                assert abs(after.mass_g - before.mass_g) < step + NOISE, before.name


class TestSaltAndYeastKeepTheirs:
    """Salt, yeast, culture and improvers go to their nearest step as long as another line has a rest to round."""

    @given(
        st.lists(st.tuples(st.floats(0.5, 20.0), st.just(1.0), st.just(value=True)), min_size=1, max_size=3),
        st.lists(
            st.tuples(st.floats(50.0, 5_000.0), st.sampled_from((1.0, 5.0, 10.0)), st.just(value=False)), min_size=3
        ),
    )
    def test_law(self, protected: list[tuple[float, float, bool]], free: list[tuple[float, float, bool]]) -> None:
        amounts, steps, safe = map(list, zip(*protected, *free, strict=True))
        found = apportioned(amounts, steps, safe)
        rests = [amount / step % 1 for amount, step, _ in free]
        # Up to three protected lines leave at most one and a half steps, which three open lines can always take.
        assume(sum(0.01 < rest < 0.99 for rest in rests) >= 2 * len(protected) + 1)
        assume(all(abs(amount % 1 - 0.5) > 1e-6 for amount, _, _ in protected))
        assert found[: len(protected)] == [float(round(amount)) for amount, _, _ in protected]

    @given(written(most_stages=0), doughs_g)
    def test_a_finer_scale_for_yeast(self, bread: Written, dough_g: float) -> None:
        exact = bread.formula().scale(dough=write(MASS, dough_g))
        assume("fresh yeast" in exact.formula.percents)
        rounded = exact.rounded({"default": "10 g", "fresh yeast": "0.1 g"})
        assert abs(rounded.mass_g("fresh yeast") - exact.mass_g("fresh yeast")) <= 0.05 + NOISE


class TestModes:
    """Rounding up moves no overall line down, rounding down none up, and each by less than a step without stages."""

    @given(lines(most=15), doughs_g, scales())
    def test_law(self, drawn: dict[str, float], dough_g: float, scale: Scale) -> None:
        exact = Formula.from_weights("x", in_grams(drawn)).scale(dough=write(MASS, dough_g))
        up, down = (exact.rounded(scale.steps(), mode=mode) for mode in ("up", "down"))
        for before, more, less in zip(exact.rows, up.rows, down.rows, strict=True):
            step = scale.of(before.name)
            assert before.mass_g - NOISE <= more.mass_g < before.mass_g + step
            assert before.mass_g - step < less.mass_g <= before.mass_g + NOISE


class TestRoundingTwice:
    """A rounded batch is rounded from its exact weights, so a coarse scale in between leaves no trace."""

    @given(written(), doughs_g, scales(), scales())
    def test_law(self, bread: Written, dough_g: float, first: Scale, second: Scale) -> None:
        exact = bread.formula().scale(dough=write(MASS, dough_g))
        assert exact.rounded(first.steps()).rounded(second.steps()) == exact.rounded(second.steps())


class TestApportioning:
    """Every amount ends on its step, nearer than one step, and their sum within half the coarsest."""

    @given(st.lists(st.tuples(st.floats(0.0, 1e6), steps_g, st.booleans()), min_size=1, max_size=20))
    def test_law(self, drawn: list[tuple[float, float, bool]]) -> None:
        amounts, steps, protected = map(list, zip(*drawn, strict=True))
        found = apportioned(amounts, steps, protected)
        for amount, step, new in zip(amounts, steps, found, strict=True):
            assert abs(new - amount) < step
            assert new == pytest.approx(round(new / step) * step, abs=NOISE)
        assert abs(sum(found) - sum(amounts)) <= max(steps) / 2 + NOISE

    @given(st.lists(st.floats(0.0, 1e5), min_size=2, max_size=12), steps_g)
    def test_the_largest_remainders_are_served(self, amounts: list[float], step: float) -> None:
        found = apportioned(amounts, [step] * len(amounts), [False] * len(amounts))
        moved = [(amount / step % 1, new > amount) for amount, new in zip(amounts, found, strict=True)]
        by_rest = sorted((rest, up) for rest, up in moved if 1e-6 < rest < 1 - 1e-6)
        for (lower, up), (higher, also) in pairwise(by_rest):
            assert also or not up or higher == pytest.approx(lower, abs=1e-9)


class TestBakedToScaleToBaked:
    """The dough scaled for a baked weight bakes back to it, piece by piece."""

    @given(
        lines(most=8), st.integers(1, 5_000), whole_grams, shares, shares, shares, st.sampled_from(("compound", "add"))
    )
    def test_law(
        self, drawn: dict[str, float], pieces: int, baked_g: float, handling: float, bake: float, cool: float, way: str
    ) -> None:
        assume(handling + bake + cool < 0.9)
        losses = Losses(
            handling=write(SHARE, handling),
            bake=write(SHARE, bake),
            cool=write(SHARE, cool),
            combine=way,  # type: ignore[arg-type]
        )
        bread = Formula.from_weights("x", in_grams(drawn), losses=losses)
        batch = bread.scale(pieces=pieces, baked=write(MASS, baked_g))
        assert batch.dough_g * losses.left == pytest.approx(pieces * baked_g, rel=1e-11)
        assert batch.piece_g * losses.after_divider_left == pytest.approx(baked_g, rel=1e-11)
        assert batch.dough_g * losses.before_divider_left == pytest.approx(pieces * batch.piece_g, rel=1e-11)
