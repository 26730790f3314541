"""The laws of the evening: builds are ripe for what they feed, add up, and are the fewest; changed orders are carried."""

import json
from itertools import chain

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from formula.evening import StageBuilds, stage_builds
from formula.feeding import begin_near, fewest_builds
from formula.nightorders import changed_orders
from formula.orders import Order
from tests.evenings import check_builds, least_points
from tests.laws.strategies import Evening, evenings, windows


def built(evening: Evening) -> StageBuilds:
    """Return the builds of an evening."""
    return stage_builds(evening.table, stage_loss=evening.loss)


class TestBuildsHold:
    """Every use of a stage lies inside its window, masses add up, nothing is forgotten, and builds are the fewest."""

    @given(evenings())
    def test_they_hold(self, evening: Evening) -> None:
        check_builds(json.loads(json.dumps(built(evening).to_tables())), evening.table)

    @given(evenings())
    def test_twice_is_the_same(self, evening: Evening) -> None:
        assert built(evening) == built(evening)


class TestTheFewest:
    """Windows are grouped so that each has a moment in common, and no way needs fewer groups."""

    @given(st.lists(windows, max_size=9))
    def test_they_are(self, given_windows: list[tuple[int, int]]) -> None:
        groups = fewest_builds(given_windows)
        assert sorted(chain.from_iterable(groups)) == list(range(len(given_windows)))
        for group in groups:
            assert max(given_windows[place][0] for place in group) <= min(given_windows[place][1] for place in group)
        assert len(groups) == least_points(given_windows)


class TestNoMinuteIsNearer:
    """No minute of the window is nearer to the farthest of the best times, but for half a minute of rounding."""

    @given(windows, st.lists(st.integers(-80, 120), min_size=1, max_size=4))
    def test_none_is(self, window: tuple[int, int], bests: list[int]) -> None:
        begin = begin_near(*window, bests)
        assert window[0] <= begin <= window[1]
        assert max(abs(begin - best) for best in bests) == min(
            max(abs(minute - best) for best in bests) for minute in range(window[0], window[1] + 1)
        )


class TestTheLargestOrder:
    """The largest order of each bread is carried, and but for the steps of the scale one piece more is not."""

    @given(evenings(), st.integers(1, 400))
    def test_it_is(self, evening: Evening, pieces: int) -> None:
        builds = built(evening)
        assume(builds.builds and not evening.table.unplaced)
        plan = evening.table.day.breads[0]
        order = Order(plan.bread, pieces=pieces, baked="600 g", due="12:00")
        found = changed_orders(builds, [order])
        (bread,) = found.breads
        # Rounding moves a weigh sheet by a step a mix at the most, for every stage in it.
        step_g = 5 * (2 + bread.most * 0.6 / 99) * len(bread.parts)
        assert all(others_g == 0 for _, _, others_g, _ in bread.parts)
        assert all(bread.most * each <= usable + step_g for _, usable, _, each in bread.parts)
        assert any((bread.most + 1) * each + step_g > usable for _, usable, _, each in bread.parts)
        if bread.most:
            again = changed_orders(builds, [Order(plan.bread, pieces=bread.most, baked="600 g", due="12:00")])
            assert again.are_carried
            assert again.carried_share == 1


class TestAStretchedDoughTakesWhatStands:
    """With its preferments stretched a bread takes what stands of them, but for the steps of the scale."""

    @given(evenings(), st.integers(1, 400))
    def test_it_does(self, evening: Evening, pieces: int) -> None:
        builds = built(evening)
        assume(builds.builds and not evening.table.unplaced)
        plan = evening.table.day.breads[0]
        found = changed_orders(builds, [Order(plan.bread, pieces=pieces, baked="600 g", due="12:00")])
        assume(plan.bread.name in found.stretches)
        made = found.stretches[plan.bread.name]
        mixes = found.day.breads[0].mixes
        usable_g = next(s.usable_g for s in found.stages if s.name == builds.name_of(plan.name, "poolish"))
        taken_g = sum(
            mix.count * made.formula.scale(dough=f"{mix.batch.dough_g} g").mass_g("poolish", stage="final")
            for mix in mixes
        )
        # What the planned sheets were rounded up, the factor takes along.
        assert taken_g == pytest.approx(usable_g, abs=20 * len(mixes), rel=5e-3)
