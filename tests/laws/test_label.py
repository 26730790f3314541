"""Laws of the finished loaf and the list of ingredients."""

from typing import Literal

import pytest
from hypothesis import given

from formula import Formula, Losses, allergen_table, declaration, finished_loaf
from formula.allergens import allergen_pattern, listed_allergens
from tests.laws.strategies import label_breads, regions

Region = Literal["eu", "us"]


class TestTheListFalls:
    """The entries of a list stand in falling weight, and none of them twice."""

    @given(label_breads(), regions)
    def test_law(self, bread: Formula, region: Region) -> None:
        made = declaration(bread, region=region)
        masses = [entry.mass_g for entry in made.entries]
        assert masses == sorted(masses, reverse=True)
        assert len({entry.listed for entry in made.entries}) == len(made.entries)


class TestPartsMakeTheWhole:
    """All entries together weigh the finished bread (EU) or what went in (USA), and every ingredient stands in one."""

    @given(label_breads(), regions)
    def test_law(self, bread: Formula, region: Region) -> None:
        made = declaration(bread, region=region)
        others_g = sum(entry.mass_g for entry in made.entries if not entry.by_difference)
        whole_g = made.loaf.dough_g if region == "us" else max(made.loaf.finished_g, others_g)
        assert made.listed_g == pytest.approx(whole_g, rel=1e-12)
        listed = [name for entry in (*made.entries, *made.left_out) for name in entry.ingredients]
        assert sorted(listed) == sorted(each.name for each in made.loaf.ingoing)


class TestEveryAllergenIsNamed:
    """Every allergen of every ingredient that the law names stands in the list, and what is not known is a blank."""

    @given(label_breads(), regions)
    def test_law(self, bread: Formula, region: Region) -> None:
        text = declaration(bread, region=region).text()
        for line in bread.percents:
            ingredient = bread.catalogue.find(line)
            for word in set(ingredient.allergens or ()) & set(listed_allergens(region)):
                assert allergen_pattern(word).search(text), f"{word} of {line}"
            if ingredient.allergens is None:
                assert f"[to fill in: allergens of {line}]" in text


class TestTableAndListAgree:
    """The allergen table of a bread and its list name the same allergens."""

    @given(label_breads(), regions)
    def test_law(self, bread: Formula, region: Region) -> None:
        table = allergen_table(bread, region=region)
        made = declaration(bread, region=region)
        assert tuple(table.contains) == made.allergens
        assert {f"allergens of {name}" for name in table.unknown} == set(made.allergen_gaps)


class TestTheOrderOfLinesDoesNotMatter:
    """The same bread written in another order has the same list."""

    @given(label_breads(), regions)
    def test_law(self, bread: Formula, region: Region) -> None:
        turned = Formula.from_percents("Drawn", dict(reversed(list(bread.percents.items()))), losses=bread.losses)
        assert finished_loaf(turned).ingoing == finished_loaf(bread).ingoing
        assert declaration(turned, region=region).text() == declaration(bread, region=region).text()


class TestOnlyWaterLeaves:
    """Solids in are solids out, whatever is lost; and dough left in bowls changes nothing in a loaf."""

    @given(label_breads())
    def test_law(self, bread: Formula) -> None:
        baked, raw = finished_loaf(bread), finished_loaf(bread, losses=Losses(handling="10 %"))
        assert baked.dough_g == raw.finished_g
        if baked.water_g is not None and raw.water_g is not None:
            assert baked.finished_g - baked.water_g == pytest.approx(raw.finished_g - raw.water_g, rel=1e-9)
