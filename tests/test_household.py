"""Cups, spoons and counts, against the composition table's own measures and by hand."""

import math

import pint
import pytest

from formula import from_measures, household_mass
from formula.catalogue import Catalogue
from formula.errors import ContradictionError, FormulaError, QuantityError, UnknownNameError
from formula.ingredient import Ingredient
from tests.arithmetic import check_working

CUP_ML = 236.5882365
FLOZ_ML = 29.5735295625


@pytest.mark.parametrize(
    ("measure", "ingredient", "grams"),
    [
        # Straight from the table, by hand.
        ("1 cup", "bread flour", 137),
        ("2 cup", "all-purpose flour", 250),
        ("3 tsp", "salt", 18),
        ("2 tbsp", "salt", 36),
        ("1 cup", "whole milk", 244),
        ("2 tbsp", "whole milk", 30),
        ("1 cup", "honey", 339),
        ("2 large", "egg", 100),
        ("3 medium", "egg", 132),
        ("2 extra large", "eggs", 112),
        ("4 large", "egg yolk", 68),
        ("1 packet", "active dry yeast", 7.2),
        ("2 stick", "butter", 226),
        ("1 cup, chopped", "walnuts", 117),
        ("2 cup packed", "brown sugar", 440),
        ("1 cake (0.6 oz)", "fresh yeast", 17),
        ("1 cup (4.86 large eggs)", "egg", 243),
        # The table's words for units, and ours.
        ("2 tbsp", "olive oil", 27),
        ("1 qt", "whole milk", 976),
        ("2 quart", "whole milk", 1952),
        ("1 tablespoon", "olive oil", 13.5),
        ("500 mL", "water", 500),
        ("0.5 L", "water", 500),
        ("1 l", "water", 1000),
        # The table gives the weight of several.
        ("3 cloves", "garlic", 9),
        ("2 clove", "garlic", 6),
        ("20 raisins", "raisins", 10.4),
        ("1 cup, diced", "potato", 150),
        # Fractions, in every spelling.
        ("1 1/2 cup", "bread flour", 205.5),
        ("1/2 cup", "bread flour", 68.5),
        ("1.5 cup", "bread flour", 205.5),
        ("½ tsp", "salt", 3),
        ("1½ tsp", "salt", 9),
        ("1 ½ tsp", "salt", 9),
        ("¼ cup", "honey", 84.75),
        ("¾ cup", "honey", 254.25),
        ("⅓ cup", "honey", 113),
        ("⅔ cup", "honey", 226),
        ("⅛ cup", "whole milk", 30.5),
        ("⅜ cup", "whole milk", 91.5),
        ("⅝ cup", "whole milk", 152.5),
        ("⅞ cup", "whole milk", 213.5),
        ("½ large", "egg", 25),
        ("1 1/2", "egg", 75),
        ("3", "eggs", 150),
        ("1 US cup", "honey", 339),
        ("1cup", "honey", 339),
        ("0 cup", "honey", 0),
    ],
)  # fmt: skip
def test_a_measure_by_hand(measure: str, ingredient: str, grams: float) -> None:
    found = household_mass(measure, ingredient)
    assert found.mass_g == pytest.approx(grams, rel=1e-12)
    assert found.mass.m_as("g") == found.mass_g
    check_working(found.working(), found.mass_g)


@pytest.mark.parametrize(
    ("measure", "ingredient", "grams"),
    [
        # No measure of this size in the table: by the density of its largest.
        ("250 mL", "whole milk", 250 * 976 / (4 * CUP_ML)),
        ("1 gal", "whole milk", 4 * 976),
        ("1 US gal", "whole milk", 4 * 976),
        ("2 tbsp", "bread flour", 2 / 16 * 137),
        ("1 pt", "honey", 2 * 339),
        ("100 ml", "olive oil", 100 * 216 / CUP_ML),
        ("2 tsp", "flaxseed", 2 / 48 * 168),
        ("1 cup", "powdered sugar", 120),
        ("8 fl oz", "honey", 339),
    ],
)
def test_a_measure_by_density(measure: str, ingredient: str, grams: float) -> None:
    found = household_mass(measure, ingredient)
    assert found.mass_g == pytest.approx(grams, rel=1e-9)
    check_working(found.working(), found.mass_g)


def test_fluid_ounces_are_no_ounces() -> None:
    assert household_mass("8 fl oz", "water").mass_g == pytest.approx(8 * 29.6)
    loaf = from_measures("x", {"bread flour": "8 oz", "water": "8 fl oz", "honey": "1 fl oz"})
    ounce_g = 453.59237 / 16
    assert loaf.percent("water") == pytest.approx(100 * 8 * 29.6 / (8 * ounce_g), rel=1e-9)
    assert loaf.percent("honey") == pytest.approx(100 * 339 / 8 / (8 * ounce_g), rel=1e-9)


def test_a_quantity_is_read_like_text() -> None:
    ureg: pint.UnitRegistry[float] = pint.UnitRegistry()
    assert household_mass(ureg.Quantity(250, "milliliter"), "water").mass_g == pytest.approx(250)
    assert household_mass(ureg.Quantity(2, "cup"), "honey").mass_g == pytest.approx(678, rel=1e-9)
    loaf = from_measures(
        "x", {"bread flour": ureg.Quantity(1, "kg"), "water": ureg.Quantity(0.6, "liter"), "salt": "20 g"}
    )
    assert dict(loaf.percents) == {"bread flour": 100, "water": pytest.approx(60), "salt": 2}


@pytest.mark.parametrize(
    ("measure", "ingredient", "code"),
    [
        ("1 cup", "bread flour", "household-measure"),
        ("1 tsp", "salt", "household-measure"),
        ("1 tsp", "active dry yeast", "household-measure"),
        ("1 cup, chopped", "walnuts", "household-measure"),
        ("1 cup unsifted", "powdered sugar", "household-measure"),
        ("100 mL", "sugar", "household-measure"),
        ("1 cup", "nonfat dry milk", "household-measure"),
        ("1 tbsp", "dried whole egg", "household-measure"),
        ("2 large", "egg", "egg-size"),
        ("2", "egg", "egg-size"),
        ("1 cup", "egg", ""),
        ("1 cup", "honey", ""),
        ("1 cup", "whole milk", ""),
        ("1 cup", "heavy cream", ""),
        ("1 cup", "water", ""),
        ("1 cup", "olive oil", ""),
        ("1 stick", "butter", ""),
        ("3 cloves", "garlic", ""),
    ],
)
def test_what_lies_loose_comes_with_a_caution(measure: str, ingredient: str, code: str) -> None:
    found = household_mass(measure, ingredient)
    assert [caution.code for caution in found.cautions] == ([code] if code else [])
    assert found.working().cautions == found.cautions
    if code == "household-measure":
        assert found.ingredient in found.cautions[0].text


@pytest.mark.parametrize(
    ("measure", "ingredient", "message"),
    [
        ("1 cup", "instant yeast", "instant yeast: measure: got '1 cup', expected a weight such as \"250 g\"; weigh it"),
        ("2 huge", "egg", "one of its measures (1 large; 1 extra large; 1 jumbo;"),
        ("3", "onion", "1 large;"),
        ("3", "bread flour", "one of its measures (1 cup) or a volume or a weight"),
        ("2 cups", "bread flour", "did you mean cup?"),
        ("500 grams", "bread flour", "did you mean g?"),
        ("1,5 cup", "bread flour", "write a decimal point, not a comma: '1.5 cup'"),
        ("1/0 cup", "bread flour", "a fraction cannot have a zero below the line"),
        ("1 1/0 cup", "bread flour", "a fraction cannot have a zero below the line"),
        ("-1 cup", "bread flour", "a volume cannot be less than zero"),
        ("1 1/2 1 cup", "bread flour", "got '1 1/2 1 cup'"),
        ("500 g", "bread flour", "got '500 g'"),
        (" 1 cup", "bread flour", "leave no more than one space"),
        ("1 cup ", "bread flour", "leave no more than one space"),
        ("", "bread flour", "got ''"),
        ("nan cup", "bread flour", "the number must be finite"),
        ("9" * 500 + " cup", "bread flour", "(506 characters)"),
        ("1 (cup", "bread flour", "got '1 (cup'"),
        ("\u0661 cup", "bread flour", "got '\u0661 cup'"),
    ],
)  # fmt: skip
def test_a_measure_without_a_weight_is_refused(measure: str, ingredient: str, message: str) -> None:
    with pytest.raises(QuantityError) as caught:
        household_mass(measure, ingredient)
    assert message in str(caught.value)


def test_a_bare_number_and_an_unknown_ingredient_are_refused() -> None:
    with pytest.raises(QuantityError, match="the bare number 2"):
        household_mass(2, "egg")  # type: ignore[arg-type]
    with pytest.raises(UnknownNameError, match="unobtainium"):
        household_mass("1 cup", "unobtainium")


def test_a_measure_of_your_own() -> None:
    ours = Ingredient("bread flour", kind="flour", household={"1 scoop": 820, "1 cup": 130})
    larder = Catalogue().adding(ours)
    assert household_mass("3 scoop", "strong flour", larder).mass_g == 2460
    assert household_mass("1 cup", "bread flour", larder).mass_g == 130
    assert household_mass("1 cup", "bread flour").mass_g == 137


def test_results_are_values() -> None:
    one, other = household_mass("1 cup", "honey"), household_mass("1 cup", "honey")
    assert one == other
    assert hash(one) == hash(other)


def test_a_recipe_in_mixed_measures() -> None:
    loaf = from_measures(
        "Kitchen loaf",
        {"bread flour": "4 cup", "water": "1 1/2 cup", "salt": "2 tsp", "instant yeast": "7 g", "egg": "1", "butter": "1 oz"},
    )  # fmt: skip
    flour_g = 548
    assert loaf.percent("water") == pytest.approx(100 * 1.5 * CUP_ML / flour_g, rel=1e-9)
    assert loaf.percent("salt") == pytest.approx(100 * 12 / flour_g)
    assert loaf.percent("instant yeast") == pytest.approx(100 * 7 / flour_g)
    assert loaf.percent("egg") == pytest.approx(100 * 50 / flour_g)
    assert loaf.percent("butter") == pytest.approx(100 * 453.59237 / 16 / flour_g)


def test_weights_of_every_kind_are_weights() -> None:
    loaf = from_measures("x", {"bread flour": "1 lb 8 oz", "water": "1 lb", "salt": "14g", "honey": "0.05 kg"})
    assert loaf.scale(flour="1 lb 8 oz").mass_g("salt") == pytest.approx(14)
    assert loaf.percent("water") == pytest.approx(100 * 16 / 24)


def test_facts_go_along() -> None:
    larder = Catalogue().adding(Ingredient("harbour mix", kind="flour", household={"1 cup": 128}))
    loaf = from_measures(
        "x", {"harbour mix": "2 cup", "water": "160 g"}, catalogue=larder, dough_temperature="25 °C", reject="1 %"
    )
    assert loaf.percent("water") == 62.5
    assert loaf.dough_temperature_c == 25
    assert loaf.reject_share == 0.01


def test_every_bad_line_is_told_at_once() -> None:
    with pytest.raises(FormulaError) as caught:
        from_measures(
            "x",
            {
                "bread flour": "4 cups",
                "water": "1,5 kg",
                "instant yeast": "2 tsp",
                "egg": "2 huge",
                "unobtainium": "5 g",
                "salt": 3,  # type: ignore[dict-item]
                "honey": "-20 g",
                "sugar": "1 tbsp",
            },
        )
    faults = [str(fault) for fault in caught.value.faults]
    assert [fault.split(":")[0] for fault in faults] == [
        "bread flour", "water", "instant yeast", "egg", "ingredient", "salt", "honey",
    ]  # fmt: skip
    assert "did you mean cup?" in faults[0]
    assert "write a decimal point, not a comma: '1.5 kg'" in faults[1]
    assert "a weight such as" in faults[2]
    assert "1 extra large" in faults[3]
    assert "unobtainium" in faults[4]
    assert "the bare number 3, expected a mass" in faults[5]
    assert "a mass cannot be less than zero" in faults[6]


def test_unknown_names_alone_are_told_as_such() -> None:
    with pytest.raises(UnknownNameError) as caught:
        from_measures("x", {"bread flour": "1 kg", "unobtainium": "5 g", "kryptonite": "1 cup"})
    assert len(caught.value.faults) == 2


def test_what_a_formula_refuses_is_refused_here_too() -> None:
    with pytest.raises(ContradictionError, match="'bread flour' and 'strong flour'"):
        from_measures("x", {"bread flour": "1 cup", "strong flour": "1 cup", "water": "1 cup"})
    with pytest.raises(FormulaError, match="no lines"):
        from_measures("x", {})
    with pytest.raises(FormulaError, match="no flour"):
        from_measures("x", {"water": "1 cup"})


def test_the_cup_is_the_us_customary_one() -> None:
    assert household_mass("1 cup", "water").mass_g == pytest.approx(CUP_ML, rel=1e-12)
    assert math.isclose(8 * FLOZ_ML, CUP_ML)
