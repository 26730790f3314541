"""Laws of the nutrition table."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.formula import Formula
from formula.losses import Losses
from formula.nutrients import ingredient_figures, rest_g
from formula.nutritiondraft import nutrition
from formula.nutritiontable import Nutrition
from formula.quantity import SHARE, write
from tests.laws.strategies import in_grams, nutrition_breads, regions, water_losses


def made(drawn: dict[str, float], loss: float, region: str, k: float = 1.0) -> Nutrition:
    scaled = {name: grams * k for name, grams in drawn.items()}
    return nutrition(
        Formula.from_weights("Drawn", in_grams(scaled)), losses=Losses(bake=write(SHARE, loss)), region=region
    )


class TestMassIsKept:
    """Water, protein, fat, carbohydrate, fibre and ash of a loaf make up all of its 100 g."""

    @given(nutrition_breads, water_losses)
    def test_law(self, drawn: dict[str, float], loss: float) -> None:
        found = made(drawn, loss, "eu")
        loaf = found.loaf
        minerals = 0.0
        for each in loaf.ingoing:
            if each.ingredient.kind != "water":
                minerals += each.mass_g * ((each.ingredient.ash_g or 0.0) + rest_g(each.ingredient)) / loaf.finished_g
        parts = [found.figure(key).per_100_g for key in ("protein_g", "fat_g", "carbohydrate_g", "fibre_g")]
        assert None not in parts
        assert found.water_percent is not None
        assert math.fsum([minerals, found.water_percent, *(part or 0.0 for part in parts)]) == pytest.approx(
            100, abs=1e-8
        )


class TestNothingButWaterLeaves:
    """What goes in of each figure is in the loaf: figure x finished weight is the sum of weight x figure."""

    @given(nutrition_breads, water_losses, regions)
    def test_law(self, drawn: dict[str, float], loss: float, region: str) -> None:
        found = made(drawn, loss, region)
        for nutrient in found.nutrients:
            brought = math.fsum(
                each.mass_g * (ingredient_figures(each.ingredient, found.way, "plain", {})[nutrient.key] or 0.0)
                for each in found.loaf.ingoing
            )
            assert nutrient.least_per_100_g * found.loaf.finished_g == pytest.approx(brought, abs=1e-7, rel=1e-12)


class TestScalingLeavesTheFigures:
    """A bread k times as large has the same table."""

    @given(nutrition_breads, water_losses, regions, st.sampled_from([0.25, 2.0, 7.0]))
    def test_law(self, drawn: dict[str, float], loss: float, region: str, k: float) -> None:
        one, other = made(drawn, loss, region).per_100_g, made(drawn, loss, region, k).per_100_g
        for key, value in one.items():
            assert other[key] == (None if value is None else pytest.approx(value, rel=1e-9, abs=1e-12))


class TestALargerLossRaisesEveryFigureButWater:
    """More water lost means more of everything else in 100 g, in the same proportion, and less water."""

    @given(nutrition_breads, water_losses, water_losses, regions)
    def test_law(self, drawn: dict[str, float], one: float, other: float, region: str) -> None:
        small, large = sorted((one, other))
        less, more = made(drawn, small, region), made(drawn, large, region)
        for nutrient in less.nutrients:
            raised = more.figure(nutrient.key).least_per_100_g
            assert raised == pytest.approx(nutrient.least_per_100_g * (1 - small) / (1 - large), rel=1e-9, abs=1e-12)
            assert raised >= nutrient.least_per_100_g * (1 - 1e-12)
        assert less.water_percent is not None
        assert more.water_percent is not None
        assert more.water_percent <= less.water_percent + 1e-9


class TestTheOrderOfLinesDoesNotMatter:
    """The same lines written backwards make the same table."""

    @given(nutrition_breads, water_losses, regions)
    def test_law(self, drawn: dict[str, float], loss: float, region: str) -> None:
        back = made(dict(reversed(drawn.items())), loss, region).per_100_g
        for key, value in made(drawn, loss, region).per_100_g.items():
            assert back[key] == (None if value is None else pytest.approx(value, rel=1e-12, abs=1e-12))
