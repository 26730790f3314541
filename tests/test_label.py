"""The list of ingredients: published rows, the rules of both regions, blanks, and every refusal."""

import copy
import pickle
from typing import Any, cast

import pytest

from formula import Catalogue, Culture, Formula, Ingredient, Losses, Stage, declaration, salt_target, standard_names
from formula.breadnames import CALCIUM_MG_PER_LB, ENRICHED_MG_PER_LB, is_bread_by_solids
from formula.errors import FormulaError, UnknownNameError
from formula.label import Declaration
from formula.legalnames import _table, legal_name
from tests.arithmetic import check_working
from tests.rows import rows

PLAIN = {"unenriched bread flour": 100, "water": 65, "salt": 2, "fresh yeast": 2}
BAKED = Losses(bake="12 %")


def loaf(extra: dict[str, float] | None = None, **facts: Any) -> Formula:  # noqa: ANN401
    return Formula.from_percents("Loaf", PLAIN | (extra or {}), **{"losses": BAKED, **facts})


def names(made: Declaration) -> list[str]:
    return [entry.listed.name for entry in made.entries]


def told(text: str) -> dict[str, str]:
    return dict(part.split("=", 1) for part in text.split("; "))


@pytest.mark.parametrize("row", rows("labels"))
def test_published(row: dict[str, str]) -> None:
    given, expected, tolerance = told(row["given"]), told(row["expected"]), float(row["tolerance"])
    match row["what"]:
        case "water by difference":
            lines = {"unenriched bread flour": given["flour"], "fresh yeast": given["yeast"]}
            lines |= {name: given[name] for name in ("water", "salt")}
            bread = Formula.from_percents("Row", {name: float(value) for name, value in lines.items()})
            made = declaration(bread, region="eu", losses=Losses(bake=given["loss"]))
            entries = {entry.listed.name: entry for entry in made.entries}
            water = entries["water"]
            assert made.loaf.finished_g == pytest.approx(float(expected["finished"]), abs=tolerance)
            others_g = sum(entry.mass_g for entry in made.entries if entry is not water)
            assert others_g == pytest.approx(float(expected["others"]), abs=tolerance)
            assert water.mass_g == pytest.approx(float(expected["water"]), abs=tolerance)
            assert water.percent == pytest.approx(float(expected["water_percent"]), abs=0.05)
            # The row sets salt and yeast equal, so they may stand either way round.
            assert expected["order"] == "flour > water > salt/yeast"
            assert names(made)[:2] == ["wheat flour", "water"]
            assert set(names(made)[2:]) == {"salt", "yeast"}
        case "salt from sodium":
            flour = Ingredient("salted flour", kind="flour", sodium_mg=float(given["sodium"].removesuffix(" mg")))
            bread = Formula.from_percents("Row", {"salted flour": 100}, catalogue=Catalogue().adding(flour))
            found = salt_target(bread, "1 %").salt_percent
            assert found == pytest.approx(float(expected["salt"]), abs=tolerance)
        case "enriched bread":
            calcium = float(given.pop("calcium").removesuffix(" mg"))
            assert calcium == CALCIUM_MG_PER_LB.value
            for vitamin, mass in given.items():
                assert ENRICHED_MG_PER_LB[vitamin].value == pytest.approx(
                    float(mass.removesuffix(" mg")), abs=tolerance
                )
            found_names = standard_names(loaf(losses=Losses(bake="20 %")), enrichment=given)
            assert found_names.check("enriched bread").may is (expected["may"] == "yes")
        case _:
            solids = 100 - float(given["water"].removesuffix(" %"))
            assert solids == pytest.approx(float(expected["solids"]), abs=tolerance)
            assert is_bread_by_solids(solids) is (expected["may"] == "yes")


class TestEurope:
    def test_water_stands_by_what_is_left_of_it(self) -> None:
        """At 105 % of water more goes in than flour; after the oven less is left, and flour leads."""
        wet = Formula.from_percents("Wet", {"unenriched bread flour": 100, "water": 105, "salt": 2}, losses=BAKED)
        assert names(declaration(wet, region="eu")) == ["wheat flour", "water", "salt"]
        assert names(declaration(wet, region="us")) == ["water", "wheat flour", "salt"]
        # 207 x 0.88 - 102
        assert declaration(wet, region="eu").entries[1].mass_g == pytest.approx(80.16, rel=1e-12)

    def test_little_added_water_is_left_out(self) -> None:
        """100 flour + 60 milk + 8 water, 3 % lost: 168 x 0.97 - 160 = 2.96 of 162.96, which is 1.8 %."""
        milky = {"unenriched bread flour": 100, "whole milk": 60, "water": 8}
        made = declaration(Formula.from_percents("Milky", milky, losses=Losses(bake="3 %")), region="eu")
        assert names(made) == ["wheat flour", "whole milk"]
        assert made.left_out[0].mass_g == pytest.approx(2.96, rel=1e-12)
        assert "water-left-out" in {caution.code for caution in made.cautions}
        check_working(made.working(), made.listed_g, exact=False)

    @pytest.mark.parametrize(("water", "is_listed"), [(9.99, False), (10, False), (10.01, True)])
    def test_five_percent_is_the_limit(self, water: float, is_listed: bool) -> None:  # noqa: FBT001
        """100 flour + 90 milk + 10 water hold 5 % of added water exactly, which may still be left out."""
        milky = {"unenriched bread flour": 100, "whole milk": 90, "water": water}
        assert ("water" in names(declaration(Formula.from_percents("Milky", milky), region="eu"))) is is_listed

    def test_water_and_ice_are_water_and_all_yeast_is_yeast(self) -> None:
        lines = {
            "unenriched bread flour": 100,
            "water": 45,
            "ice": 20,
            "salt": 2,
            "fresh yeast": 1,
            "instant yeast": 0.5,
        }
        made = declaration(Formula.from_percents("Loaf", lines), region="eu")
        assert names(made) == ["wheat flour", "water", "salt", "yeast"]
        assert [entry.mass_g for entry in made.entries] == pytest.approx([100, 65, 2, 1.5])
        check_working(made.working(), made.listed_g, exact=False)

    def test_forms_under_other_names_stay_apart(self) -> None:
        half = {"unenriched bread flour": 50, "whole wheat flour": 50, "water": 70}
        assert names(declaration(Formula.from_percents("Loaf", half), region="eu"))[1:] == [
            "wheat flour",
            "wholemeal wheat flour",
        ]

    def test_a_plain_flour_is_not_added_to_one_of_unknown_additions(self) -> None:
        half = Formula.from_percents("Loaf", {"unenriched bread flour": 50, "bread flour": 50, "water": 60})
        assert names(declaration(half, region="eu")).count("wheat flour") == 2
        told = declaration(half, region="eu", parts={"bread flour": []})
        assert names(told) == ["wheat flour", "water"]
        assert not told.gaps

    def test_a_levain_is_its_flour_and_water(self) -> None:
        levain = Stage(
            "levain", {"unenriched bread flour": 100, "water": 100, "culture": 20}, flour="20 %", culture="split"
        )
        sour = Formula.from_percents("Sour", {"unenriched bread flour": 100, "water": 70, "salt": 2}, stages=[levain])
        assert names(declaration(sour, region="eu")) == ["wheat flour", "water", "salt"]

    def test_the_percentage_is_ingoing_over_finished(self) -> None:
        """20 raisins in 189 x 0.88 g of bread are 12.03 %."""
        made = declaration(loaf({"raisins": 20}), region="eu", emphasised=["raisins"])
        entry = next(entry for entry in made.entries if entry.is_emphasised)
        assert entry.quid_percent == pytest.approx(100 * 20 / (189 * 0.88), rel=1e-12)
        assert "raisins (12 %)" in made.text()
        assert made.percentages == ("raisins 12 %",)
        check_working(made.working(), made.listed_g, exact=False)

    def test_more_than_it_weighs_is_told_in_grams(self) -> None:
        """A crisp that lost 45 % of its weight holds 100 g of flour in 93.5 g: 107 g per 100 g."""
        crisp = Formula.from_percents("Crisp", {"unenriched bread flour": 100, "water": 70}, losses=Losses(bake="45 %"))
        made = declaration(crisp, region="eu", emphasised=["unenriched bread flour"])
        assert "(107 g per 100 g)" in made.text()

    @pytest.mark.parametrize(
        ("percent", "text"),
        [(0.2, "< 0.5 %"), (0.25, "0.5 %"), (4.74, "4.5 %"), (4.75, "5 %"), (5.49, "5 %"), (5.5, "6 %")],
    )
    def test_the_percentage_is_rounded_to_half_or_whole(self, percent: float, text: str) -> None:
        rest = 100 - percent
        bread = Formula.from_weights("Loaf", {"unenriched bread flour": f"{rest!r} g", "raisins": f"{percent!r} g"})
        assert f"raisins ({text})" in declaration(bread, region="eu", emphasised=["raisins"]).text()

    def test_the_name_of_the_bread_asks_for_a_percentage(self) -> None:
        bread = Formula.from_percents("Walnut Loaf", PLAIN | {"walnuts": 20})
        codes = {caution.code for caution in declaration(bread, region="eu").cautions}
        assert "quid" in codes
        assert "quid" not in {c.code for c in declaration(bread, region="eu", emphasised=["walnuts"]).cautions}

    def test_dry_milk_may_stand_as_the_milk_it_makes(self) -> None:
        """5 of dry milk at 96.84 % solids make 52.86 of skimmed milk at 9.16 %."""
        bread = loaf({"nonfat dry milk": 5})
        made = declaration(bread, region="eu", reconstituted={"nonfat dry milk": "skim milk"})
        entry = made.entries[1]
        assert entry.listed.name == "reconstituted skimmed milk"
        assert entry.mass_g == pytest.approx(5 * 96.84 / 9.16, rel=1e-12)
        assert names(made)[2] in {"water", "salt"}
        check_working(made.working(), made.listed_g, exact=False)
        with pytest.raises(FormulaError, match="g of water to make up nonfat dry milk"):
            declaration(loaf({"nonfat dry milk": 9}), region="eu", reconstituted={"nonfat dry milk": "skim milk"})
        with pytest.raises(FormulaError, match="a dry ingredient and the liquid it makes"):
            declaration(bread, region="eu", reconstituted={"nonfat dry milk": "salt"})

    def test_what_leaves_with_the_water_shares_its_fate(self) -> None:
        """Rum and water together are the difference, in proportion to what went in: 6 parts to 60."""
        bread = Formula.from_percents(
            "Rum Loaf", {"unenriched bread flour": 100, "water": 60, "rum": 6}, losses=Losses(bake="20 %")
        )
        made = declaration(bread, region="eu", volatile=["rum"])
        pool = 166 * 0.8 - 100
        assert [entry.mass_g for entry in made.entries] == pytest.approx([100, pool * 60 / 66, pool * 6 / 66])
        check_working(made.working(), made.listed_g, exact=False)

    def test_below_two_percent_is_marked(self) -> None:
        assert [entry.is_small for entry in declaration(loaf(), region="eu").entries] == [False, False, True, True]


class TestTheUnitedStates:
    def test_everything_stands_as_added_with_a_group_at_the_end(self) -> None:
        """2 of salt in 148.72 g of bread are 1.34 %; 4 of sugar are 2.6 % of 152.24."""
        made = declaration(loaf({"sugar": 4}), region="us")
        assert made.text() == (
            "Ingredients: wheat flour, water, sugar, contains 2 % or less of: salt, yeast. Contains: wheat."
        )
        assert made.listed_g == pytest.approx(173, rel=1e-12)
        check_working(made.working(), made.listed_g, exact=False)

    @pytest.mark.parametrize(("group", "grouped"), [("2 %", 2), ("1.5 %", 2), ("1 %", 0), ("0.5 %", 0), (None, 0)])
    def test_the_thresholds(self, group: str | None, grouped: int) -> None:
        made = declaration(loaf(), region="us", group=group)
        assert ("or less of" in made.text()) is bool(grouped)

    def test_an_enriched_flour_brings_its_list(self) -> None:
        enriched = Formula.from_percents("Loaf", {"bread flour": 100, "water": 65})
        text = declaration(enriched, region="us").text()
        assert "enriched flour (wheat flour, niacin, iron, thiamine mononitrate, riboflavin, folic acid)" in text

    def test_allergens_stand_in_the_list_and_behind_it(self) -> None:
        bread = loaf({"butter": 5, "soy flour": 2, "almonds": 9, "malt flour": 1, "mustard seeds": 1, "pine nuts": 3})
        text = declaration(bread, region="us").text()
        assert "butter (milk)" in text
        assert text.endswith("Contains: wheat, soy, milk, almonds, pine nuts.")
        assert "(mustard)" not in text
        assert "MUSTARD seeds" in declaration(bread, region="eu").text()
        assert "PINE" not in declaration(bread, region="eu").text()

    def test_sulphites_are_named_but_are_no_major_allergen(self) -> None:
        text = declaration(loaf({"dried apricots": 10}), region="us").text()
        assert "dried apricots (sulfites)" in text
        assert text.endswith("Contains: wheat.")


class TestAllergens:
    def test_the_word_is_emphasised_or_put_behind(self) -> None:
        bread = loaf({"butter": 8, "egg": 6, "malt syrup": 3, "soy flour": 2.5})
        made = declaration(bread, region="eu")
        assert "butter (MILK)" in made.text()
        assert "EGG" in made.text()
        assert "BARLEY malt extract" in made.text()
        assert "SOYA flour" in made.text()
        assert "**EGG**" not in made.markdown()
        assert "**egg**" in made.markdown()
        assert "<strong>egg</strong>" in made.html()

    def test_buckwheat_is_no_wheat(self) -> None:
        made = declaration(Formula.from_percents("Cake", {"buckwheat flour": 100, "water": 90}), region="eu")
        assert made.text() == "Ingredients: buckwheat flour, water."
        assert made.allergens == ()

    def test_a_compound_has_its_list_with_its_own_allergens(self) -> None:
        parts = {"margarine": ["rapeseed oil", "water", "whey powder", "soya lecithin"]}
        made = declaration(loaf({"margarine": 8}), region="eu", parts=parts, allergens={"margarine": ["milk", "soya"]})
        assert "margarine (rapeseed oil, water, whey powder (MILK), SOYA lecithin)" in made.text()
        assert made.allergens == ("wheat", "soya", "milk")
        assert not made.gaps

    def test_parts_by_percentage_fall_and_nest(self) -> None:
        parts = {"improver": {"malt flour": 20, "wheat starch": 70, "lecithin": 10}, "lecithin": ["soya lecithins"]}
        text = declaration(loaf({"improver": 1}), region="eu", parts=parts).text()
        assert "improver (WHEAT starch, malt flour (BARLEY), lecithin (SOYA lecithins))" in text

    def test_parts_in_a_circle_are_refused(self) -> None:
        parts = {"improver": ["old bread"], "old bread": ["wheat flour", "improver"]}
        with pytest.raises(FormulaError, match="improver -> old bread -> improver"):
            declaration(loaf({"improver": 1, "old bread": 4}), region="eu", parts=parts)

    def test_what_nobody_told_is_a_blank(self) -> None:
        made = declaration(loaf({"margarine": 8}), region="us")
        assert "margarine [to fill in: what margarine is made of] [to fill in: allergens of margarine]" in made.text()
        assert made.text().endswith("Contains: wheat, [to fill in: allergens of margarine].")
        assert made.allergen_gaps == ("allergens of margarine",)
        with pytest.raises(FormulaError, match="no word on the allergens of margarine"):
            declaration(loaf({"margarine": 8}), region="us", unknown="refuse")

    def test_a_part_nobody_knows_is_a_gap_too(self) -> None:
        made = declaration(loaf({"margarine": 8}), region="eu", parts={"margarine": ["palm fat", "water"]})
        assert made.gaps == ("allergens of palm fat",)

    def test_what_mills_add_by_law_has_no_allergen(self) -> None:
        parts = {"improver": ["wheat starch", "calcium carbonate", "niacin"]}
        made = declaration(loaf({"improver": 1}), region="eu", parts=parts)
        assert "improver (WHEAT starch, calcium carbonate, niacin)" in made.text()
        assert made.allergen_gaps == ()

    def test_an_exemption_is_yours_to_claim(self) -> None:
        made = declaration(loaf({"soybean oil": 5}), region="eu", exempt=["soybean oil"])
        assert "SOYA" not in made.text()
        assert made.allergens == ("wheat",)
        assert "exempt" in {caution.code for caution in made.cautions}

    def test_the_seed_of_a_levain_leaves_its_allergen(self) -> None:
        levain = Stage(
            "levain", {"unenriched bread flour": 100, "water": 100, "rye culture": 20}, flour="20 %", culture=Culture()
        )
        sour = Formula.from_percents("Sour", {"unenriched bread flour": 100, "water": 70, "salt": 2}, stages=[levain])
        made = declaration(sour, region="eu")
        assert made.text().endswith(" [to fill in: rye from the ripe culture].")
        assert made.gaps == ("rye from the ripe culture",)
        cautions = {caution.code: caution.text for caution in made.cautions}
        assert "rye" in cautions["seed-culture"]
        assert "seed-culture" not in {caution.code for caution in declaration(sour, region="us").cautions}

    def test_what_shares_the_line_may_be_in_it(self) -> None:
        made = declaration(loaf(), region="eu", may_contain=["sesame", "wheat", "egg"])
        assert made.may_contain == ("egg", "sesame")
        assert made.text().endswith(" May contain: EGG, SESAME.")


def test_where_suppliers_told_everything_no_packet_is_left_to_read() -> None:
    told = (
        Ingredient("mill flour", kind="flour", allergens=["wheat"]),
        Ingredient("well water", kind="water", allergens=[]),
    )
    bread = Formula.from_percents("Loaf", {"mill flour": 100, "well water": 65}, catalogue=Catalogue().adding(*told))
    assert "read-the-packet" not in {caution.code for caution in declaration(bread, region="us").cautions}
    assert "read-the-packet" in {caution.code for caution in declaration(loaf(), region="us").cautions}


def test_text_is_escaped() -> None:
    odd = Ingredient("<b>mix</b> & *seed*", kind="seed", allergens=["sesame"])
    bread = Formula.from_percents("Loaf", PLAIN | {odd.name: 5}, catalogue=Catalogue().adding(odd))
    made = declaration(bread, region="eu")
    assert "&lt;b&gt;mix&lt;/b&gt; &amp; *seed* (<strong>sesame</strong>)" in made.html()
    assert "\\<b\\>mix\\</b\\> & \\*seed\\* (**sesame**)" in made.markdown()


def test_own_flour_is_a_gap_until_its_additions_are_told() -> None:
    mill = Catalogue().adding(Ingredient("pier flour", kind="flour", allergens=["wheat"]))
    bread = Formula.from_percents("Loaf", {"pier flour": 100, "water": 65}, catalogue=mill)
    assert declaration(bread, region="eu").gaps == ("what is added to pier flour",)
    made = declaration(bread, region="eu", parts={"pier flour": ["wheat flour", "ascorbic acid"]})
    assert made.text() == "Ingredients: pier flour (WHEAT flour, ascorbic acid), water."


def test_every_built_in_legal_name_is_of_the_larder() -> None:
    larder = Catalogue()
    for name, row in _table().items():
        assert larder.find(name).name == name
        assert set(row) <= {"eu", "us", "parts", "eu_parts", "us_parts", "unknown", "source"}
        for region in ("eu", "us"):
            assert legal_name(larder.find(name), region).name.strip()


def test_every_fault_is_told_at_once() -> None:
    with pytest.raises(FormulaError) as error:
        declaration(loaf(), region=cast("Any", "mars"), may_contain=["chalk"], unknown="maybe")
    assert [fault.where for fault in error.value.faults] == ["region", "unknown", "may_contain"]
    with pytest.raises(FormulaError) as error:
        declaration(loaf(), region="us", group="3 %", emphasised=["salt"], volatile=["water"])
    assert [fault.where for fault in error.value.faults] == ["group", "emphasised", "volatile"]


def test_one_name_may_stand_for_itself() -> None:
    bread = loaf({"raisins": 20, "soybean oil": 2})
    made = declaration(bread, region="eu", emphasised="raisins", may_contain="egg", exempt="soybean oil")
    assert made == declaration(bread, region="eu", emphasised=["raisins"], may_contain=["egg"], exempt=["soybean oil"])


def test_other_refusals() -> None:
    with pytest.raises(FormulaError, match=r"parts: got .*, expected ingredients and what they are made of"):
        declaration(loaf(), region="eu", parts=cast("Any", ["margarine"]))
    with pytest.raises(FormulaError, match="salt: allergens: got 'wheat', expected a list of words"):
        declaration(loaf(), region="eu", allergens={"salt": "wheat"})
    with pytest.raises(UnknownNameError, match="got 'raisins', expected one of its ingredients"):
        declaration(loaf(), region="eu", emphasised=["raisins"])
    with pytest.raises(FormulaError, match="parts: margarine: got 'oil', expected several names"):
        declaration(loaf({"margarine": 5}), region="eu", parts={"margarine": "oil"})
    with pytest.raises(FormulaError, match="parts: margarine: got 3, expected the name of a part"):
        declaration(loaf({"margarine": 5}), region="eu", parts={"margarine": [3]})  # type: ignore[list-item]
    with pytest.raises(FormulaError, match="g of water lost, expected less than"):
        declaration(loaf(losses=Losses(bake="50 %")), region="eu")
    with pytest.raises(FormulaError, match="chalk"):
        declaration(loaf(), region="eu", allergens={"salt": ["chalk"]})


def test_it_is_a_value() -> None:
    made = declaration(loaf({"margarine": 8}), region="eu", emphasised=["salt"], may_contain=["egg"])
    for twin in (copy.deepcopy(made), pickle.loads(pickle.dumps(made))):  # noqa: S301 - our own bytes
        assert (twin, hash(twin), str(twin)) == (made, hash(made), made.text())
    assert made.entries[0].mass.m_as("g") == made.entries[0].mass_g
