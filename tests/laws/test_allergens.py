"""The laws of the order of doughs by their allergens."""

from itertools import pairwise, permutations

from hypothesis import given
from hypothesis import strategies as st

from formula.doughorder import allergen_order, fewest_cleanings, lost_allergens
from formula.formula import Formula
from tests.arithmetic import check_working
from tests.laws.strategies import allergen_sets

BRINGS = {"milk": {"whole milk": 10.0}, "egg": {"egg": 8.0}, "sesame": {"sesame seeds": 5.0}}


def cleanings(order: list[tuple[str, ...]]) -> int:
    return sum(bool(set(before) - set(after)) for before, after in pairwise(order))


class TestNoOrderNeedsFewerCleanings:
    """Of all orders of some doughs, which the test goes through one by one, none needs fewer cleanings."""

    @given(allergen_sets)
    def test_law(self, given_sets: list[tuple[str, ...]]) -> None:
        order = fewest_cleanings(given_sets)
        assert sorted(order) == list(range(len(given_sets)))
        found = cleanings([given_sets[place] for place in order])
        assert found == min(cleanings(list(each)) for each in permutations(given_sets))

    @given(allergen_sets)
    def test_fewest_first(self, given_sets: list[tuple[str, ...]]) -> None:
        order = fewest_cleanings(given_sets)
        assert len(given_sets[order[0]]) == min(map(len, given_sets))


class TestTheWorkingCounts:
    """What is said to be cleaned away before each dough is what the one before has and it lacks."""

    @given(st.lists(st.sets(st.sampled_from(sorted(BRINGS))), min_size=1, max_size=5))
    def test_law(self, drawn: list[set[str]]) -> None:
        breads = []
        for number, words in enumerate(drawn):
            more = {line: percent for word in sorted(words) for line, percent in BRINGS[word].items()}
            breads.append(Formula.from_percents(f"bread {number}", {"bread flour": 100, "water": 60, **more}))
        found = allergen_order(breads)
        assert sorted(bread.name for bread in found.breads) == sorted(bread.name for bread in breads)
        check_working(found.working(), float(found.cleanings))
        for number in range(1, len(breads)):
            assert found.lost[number] == lost_allergens(found.allergens[number - 1], found.allergens[number])
        assert found.lost[0] == ()
        assert found.cleanings == cleanings(list(found.allergens))
