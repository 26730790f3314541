"""Allergen table and matrix, names of standardised bread, the draft, and the checks beside a label."""

import copy
import pickle

import pytest

from formula import (
    Catalogue,
    Cool,
    Formula,
    Hold,
    Ingredient,
    Losses,
    Ramp,
    Schedule,
    acrylamide_class,
    allergen_matrix,
    allergen_table,
    declaration,
    held_dough,
    label_draft,
    salt_target,
    standard_names,
)
from formula.errors import FormulaError
from tests.arithmetic import check_working

PLAIN = {"unenriched bread flour": 100, "water": 65, "salt": 2, "fresh yeast": 2}


def bread(name: str, extra: dict[str, float] | None = None, loss: str = "12 %") -> Formula:
    return Formula.from_percents(name, PLAIN | (extra or {}), losses=Losses(bake=loss))


class TestAllergenTable:
    def test_none_is_said_only_where_all_is_known(self) -> None:
        rice = Formula.from_percents("Rice", {"rice flour": 100, "water": 100})
        assert "none in the plain ingredients" in str(allergen_table(rice))
        fat = Formula.from_percents("Rice", {"rice flour": 100, "water": 100, "margarine": 5})
        table = allergen_table(fat)
        assert table.unknown == ("margarine",)
        assert "none" not in str(table)
        assert table.cautions[0].code == "allergen-unknown"
        with pytest.raises(FormulaError, match="no word on the allergens of margarine"):
            allergen_table(fat, unknown="refuse")
        assert allergen_table(fat, allergens={"margarine": []}, unknown="refuse").unknown == ()

    def test_toppings_count(self) -> None:
        seeded = Formula.from_percents("Round", PLAIN, toppings={"sesame seeds": "5 g"})
        assert allergen_table(seeded).contains["sesame"] == ("sesame seeds",)

    def test_each_region_has_its_list(self) -> None:
        mixed = bread("Mixed", {"medium rye flour": 0, "malt flour": 1, "pine nuts": 5, "mustard seeds": 1})
        assert set(allergen_table(mixed).contains) == {"wheat", "barley", "mustard"}
        assert set(allergen_table(mixed, region="us").contains) == {"wheat", "pine nut"}

    def test_an_exempt_ingredient_brings_none(self) -> None:
        assert "soya" not in allergen_table(bread("A", {"soybean oil": 3}), exempt=["soya oil"]).contains

    def test_bad_words(self) -> None:
        with pytest.raises(FormulaError) as error:
            allergen_table(bread("A"), region="uk", unknown="hm")  # type: ignore[arg-type]
        assert [fault.where for fault in error.value.faults] == ["region", "unknown"]


class TestMatrix:
    tables = (
        allergen_table(bread("A")),
        allergen_table(bread("B", {"sesame seeds": 5, "egg": 5})),
        allergen_table(bread("C", {"margarine": 5})),
    )

    def test_only_what_shares_a_line_may_be_in_it(self) -> None:
        alone = allergen_matrix(self.tables)
        assert alone.may_contain("A") == ()
        assert alone.cell("A", "sesame") == "-"
        shared = allergen_matrix(self.tables, {"the oven": ["A", "B"]})
        assert shared.may_contain("A") == ("egg", "sesame")
        assert shared.may_contain("B") == ()
        assert shared.shared["A"] == (("B", "the oven"),)

    def test_what_is_not_known_is_never_none(self) -> None:
        matrix = allergen_matrix(self.tables, {"the oven": ["A", "C"]})
        assert matrix.cell("C", "egg") == "not known"
        assert matrix.cell("A", "egg") == "not known"
        assert matrix.cell("B", "wheat") == "contains"
        head, a, b, c = matrix.rows()
        assert head[-1] == "others"
        assert (a[-1], b[-1], c[-1]) == ("not known", "-", "not known")
        assert "allergen-unknown" in {caution.code for caution in matrix.cautions}

    def test_it_is_written_as_text_and_as_a_table(self) -> None:
        matrix = allergen_matrix(self.tables, {"the day": ["A", "B", "C"]})
        assert str(matrix).splitlines()[0].split() == ["bread", "wheat", "egg", "sesame", "others"]
        assert matrix.markdown().splitlines()[1] == "| --- | --- | --- | --- | --- |"
        assert "| A | contains | may contain | may contain | not known |" in matrix.markdown()

    def test_refusals(self) -> None:
        us = allergen_table(bread("A"), region="us")
        with pytest.raises(FormulaError) as error:
            allergen_matrix([self.tables[0], us], {"x": ["A", "Z"]})
        assert len(error.value.faults) == 3
        with pytest.raises(FormulaError, match="at least one bread"):
            allergen_matrix([])

    def test_it_is_a_value(self) -> None:
        matrix = allergen_matrix(self.tables, {"the oven": ["A", "B"]})
        assert pickle.loads(pickle.dumps(matrix)) == copy.deepcopy(matrix) == matrix  # noqa: S301 - our own bytes
        assert hash(matrix) == hash(copy.deepcopy(matrix))


class TestNames:
    def test_a_moist_loaf_is_no_bread(self) -> None:
        """100 flour + 65 water + 2 salt + 2 yeast, 12 % lost: water 13.36 + 65 + 1.384 - 20.28 of 148.72 g."""
        made = standard_names(bread("Moist"))
        solids = 100 - 100 * (13.36 + 65 + 2 * 0.69 + 0.004 - 169 * 0.12) / 148.72
        assert solids < 62
        assert made.loaf.solids_percent == pytest.approx(solids, rel=1e-12)
        assert made.may_be_called == ()
        assert f"solids {solids:.2f} % < 62 %" in made.check("bread").why
        check_working(made.working(), made.working().value)

    def test_half_a_pound_is_bread_and_less_a_roll(self) -> None:
        dry = bread("Dry", loss="20 %")
        assert "bread" in standard_names(dry, baked="226.796185 g").may_be_called
        assert "roll or bun" in standard_names(dry, baked="226 g").may_be_called
        check_working(standard_names(dry, baked="226 g").working(), standard_names(dry, baked="226 g").working().value)

    @pytest.mark.parametrize(("milk", "may"), [(69.0, False), (69.1, True)])
    def test_milk_bread(self, milk: float, may: bool) -> None:  # noqa: FBT001
        """Whole milk holds 11.87 % solids: 8.2 parts are 69.08 of milk."""
        lines = {"unenriched bread flour": 100, "whole milk": milk, "salt": 2}
        made = standard_names(Formula.from_percents("Milk", lines, losses=Losses(bake="15 %")))
        assert made.check("milk bread").may is may

    def test_milk_is_the_only_moistener(self) -> None:
        lines = {"unenriched bread flour": 100, "whole milk": 70, "water": 2}
        made = standard_names(Formula.from_percents("Milk", lines, losses=Losses(bake="20 %")))
        assert made.check("milk bread").may is False
        assert "water beside the milk" in made.check("milk bread").why

    @pytest.mark.parametrize(("egg", "may"), [(12.75, False), (12.85, True)])
    def test_egg_bread(self, egg: float, may: bool) -> None:  # noqa: FBT001
        """Egg holds 23.85 % solids: e x 0.2385 = 0.0256 x 0.9 x (120 + e) gives e = 2.7648 / 0.21546 = 12.832."""
        lines = {"unenriched bread flour": 100, "water": 20, "egg": egg}
        made = standard_names(Formula.from_percents("Egg", lines, losses=Losses(bake="10 %")))
        assert made.check("egg bread").may is may

    def test_raisins_and_whole_wheat(self) -> None:
        lines = {"whole wheat flour": 100, "water": 50, "raisins": 50, "salt": 2}
        made = standard_names(Formula.from_percents("R", lines, losses=Losses(bake="15 %")))
        assert {"bread", "raisin bread", "whole wheat bread"} <= set(made.may_be_called)
        fewer = standard_names(Formula.from_percents("R", lines | {"raisins": 49.9}, losses=Losses(bake="15 %")))
        assert "raisin bread" not in fewer.may_be_called
        mixed = {"whole wheat flour": 99, "unenriched bread flour": 1, "water": 50}
        assert "whole wheat bread" not in standard_names(Formula.from_percents("W", mixed)).may_be_called

    def test_enrichment_is_told_or_open(self) -> None:
        dry = bread("Dry", loss="20 %")
        assert standard_names(dry).check("enriched bread").may is None
        short = {
            "thiamin": "1.7 mg",
            "riboflavin": "1.1 mg",
            "niacin": "15 mg",
            "folic acid": "0.43 mg",
            "iron": "13 mg",
        }
        assert standard_names(dry, enrichment=short).check("enriched bread").may is False
        made = standard_names(dry, enrichment=short | {"thiamin": "1.8 mg"})
        assert made.check("enriched bread").may is True
        check_working(made.working(), made.working().value)
        with pytest.raises(FormulaError, match="enrichment: got 'zinc'"):
            standard_names(dry, enrichment={"zinc": "1 mg"})

    def test_milk_and_egg_of_unknown_water_stay_open(self) -> None:
        own = Catalogue().adding(Ingredient("whole milk", kind="liquid"), Ingredient("egg", kind="egg"))
        rich = Formula.from_percents("Rich", {"bread flour": 100, "whole milk": 90, "egg": 9}, catalogue=own)
        made = standard_names(rich)
        assert (made.check("milk bread").may, made.check("egg bread").may) == (None, None)

    def test_what_is_not_known_stays_open(self) -> None:
        made = standard_names(bread("Open", {"old dough": 10}))
        assert made.check("bread").may is None
        assert "old dough" in made.check("bread").why
        assert "cannot be told" in str(made)
        assert "bread" in made.cannot_be_told
        check_working(made.working(), made.working().value)


class TestDraft:
    def test_every_particular_is_filled_or_a_visible_blank(self) -> None:
        for region in ("eu", "us"):
            for sold in ("prepacked", "packed-on-site", "loose"):
                draft = label_draft(declaration(bread("Quay"), region=region), sold=sold)
                for each in draft.particulars:
                    assert each.value or each.asked == "no" or f"[to fill in: {each.what}]" in draft.text()
                    assert each.where in draft.text()
                    assert not each.is_from_memory or "from memory" in each.rule
                assert "local law decides" in draft.notice
                assert "licensed person" in draft.notice

    def test_what_is_told_fills_the_blanks(self) -> None:
        facts = {"name": "wheat bread", "date_mark": "best before 3 May", "operator": "Harbour Bakery, Old Quay"}
        draft = label_draft(declaration(bread("Quay"), region="eu"), net="1.2 kg", **facts)  # type: ignore[arg-type]
        assert draft.particular("net").value == "1.2 kg"
        assert draft.particular("operator").shown_value == "Harbour Bakery, Old Quay"
        assert not {"name of the food", "net quantity"} & set(draft.blanks)
        assert draft.working() == draft.declaration.working()

    def test_loose_bread_in_europe_must_tell_its_allergens(self) -> None:
        draft = label_draft(declaration(bread("Quay"), region="eu"), sold="loose")
        assert [each.key for each in draft.particulars if each.asked == "must"] == ["allergens"]

    @pytest.mark.parametrize(
        ("net", "text"),
        [
            ("800 g", "Net Wt 28.2 oz (1 lb 12.2 oz) 800 g"),
            ("1 lb", "Net Wt 16 oz (1 lb 0 oz) 453.592 g"),
            ("60 g", "Net Wt 2.1 oz 60 g"),
        ],
    )
    def test_ounces_never_say_more_than_there_is(self, net: str, text: str) -> None:
        draft = label_draft(declaration(bread("Quay"), region="us"), net=net)
        assert draft.particular("net").value == text

    def test_it_is_escaped(self) -> None:
        odd = Formula.from_percents("<Quay> & *Round*", PLAIN)
        draft = label_draft(declaration(odd, region="eu"), name="a <b> name")
        assert "<h2>&lt;Quay&gt; &amp; *Round*</h2>" in draft.html()
        assert "a &lt;b&gt; name" in draft.html()
        assert "<strong>wheat</strong> flour" in draft.html()
        assert draft.markdown().startswith("# \\<Quay\\> & \\*Round\\*\n")
        assert "**wheat** flour" in draft.markdown()

    def test_gaps_in_allergens_show_in_their_line(self) -> None:
        draft = label_draft(declaration(bread("Fat", {"margarine": 8}), region="eu"))
        assert draft.particular("allergens").value == "wheat, [to fill in: allergens of margarine]"
        assert "allergens of margarine" in draft.blanks
        rice = Formula.from_percents("Rice", {"rice flour": 100, "water": 100})
        assert label_draft(declaration(rice, region="eu")).particular("allergens").value.startswith("none in the plain")

    def test_refusals(self) -> None:
        with pytest.raises(FormulaError) as error:
            label_draft(declaration(bread("Quay"), region="us"), sold="posted", net="3 h", lot="L1")  # type: ignore[arg-type]
        assert [fault.where for fault in error.value.faults] == ["sold", "net", "lot"]
        with pytest.raises(FormulaError, match="a weight above zero"):
            label_draft(declaration(bread("Quay"), region="us"), net="0 g")

    def test_it_is_a_value(self) -> None:
        draft = label_draft(declaration(bread("Quay"), region="us"), net="800 g")
        assert pickle.loads(pickle.dumps(draft)) == copy.deepcopy(draft) == draft  # noqa: S301 - our own bytes
        assert hash(draft) == hash(copy.deepcopy(draft))
        assert str(draft) == draft.text()


class TestSalt:
    def test_the_line_that_meets_the_target_meets_it(self) -> None:
        made = salt_target(bread("Loaf"), "1.1 %")
        assert made.is_met is False
        assert made.line_percent is not None
        meets = salt_target(bread("Loaf", {"salt": made.line_percent}), "1.1 %")
        assert meets.salt_percent == pytest.approx(1.1, rel=1e-9)
        assert meets.is_met is True
        check_working(made.working(), made.salt_percent, exact=False)
        assert "not met" in str(made)

    def test_with_toppings_too(self) -> None:
        seeded = Formula.from_percents("S", PLAIN, toppings={"salt": "0.2 g", "sesame seeds": "5 g"})
        made = salt_target(seeded, "1 %", piece="500 g")
        assert made.line_percent is not None

    def test_unknown_sodium_is_at_least(self) -> None:
        made = salt_target(bread("Loaf", {"margarine": 2, "old dough": 10}), "2 %")
        assert made.unknown == ("old dough",)
        assert made.is_met is None
        assert made.line_percent is None
        assert "at least" in str(made)
        assert [caution.code for caution in made.cautions] == ["sodium-unknown"]
        assert salt_target(bread("Loaf", {"old dough": 10}), "1 %").is_met is False

    def test_no_salt_line_and_a_target_out_of_reach(self) -> None:
        assert salt_target(Formula.from_percents("None", {"bread flour": 100, "water": 60}), "1 %").line_percent is None
        cheesy = bread("Cheese", {"parmesan": 60})
        assert salt_target(cheesy, "0.5 %").line_percent is None


class TestAcrylamide:
    @pytest.mark.parametrize(
        ("lines", "form", "level"),
        [
            ({"bread flour": 50, "medium rye flour": 50}, "soft", 50),
            ({"bread flour": 49, "medium rye flour": 51}, "soft", 100),
            ({"bread flour": 100}, "crispbread", 350),
            ({"bread flour": 100}, "cracker", 400),
        ],
    )
    def test_the_classes(self, lines: dict[str, float], form: str, level: float) -> None:
        made = acrylamide_class(Formula.from_percents("Loaf", lines | {"water": 60}), form=form)  # type: ignore[arg-type]
        assert made.benchmark_ug_per_kg == level
        assert f"benchmark {level} µg" in str(made)
        check_working(made.working(), level)

    def test_another_form(self) -> None:
        with pytest.raises(FormulaError, match="form: got 'toast'"):
            acrylamide_class(bread("A"), form="toast")  # type: ignore[arg-type]


class TestHeldDough:
    def test_a_lean_dough_has_no_limit(self) -> None:
        made = held_dough(bread("Lean", {"butter": 5}), Schedule(Hold("20 h", "24 °C")))
        assert (made.rich, made.is_within, made.cautions) == ((), True, ())

    @pytest.mark.parametrize(("degrees", "limit"), [("21 °C", 6), ("21.1 °C", 4)])
    def test_six_hours_only_below_21_degrees(self, degrees: str, limit: float) -> None:
        made = held_dough(bread("Rich", {"egg": 5}), Schedule(Hold("5 h", degrees)))
        assert (made.limit_h, made.is_within) == (limit, limit > 5)
        check_working(made.working(), 5.0)

    def test_cold_and_hot_hours_do_not_count(self) -> None:
        """From 0 to 60 °C in 6 h the dough is between 5 and 57 °C for 52 / 60 of it."""
        made = held_dough(
            bread("Rich", {"whole milk": 5}),
            Schedule(Hold("9 h", "5 °C"), Ramp("6 h", start="0 °C", to="60 °C"), Hold("3 h", "57 °C")),
        )
        assert made.warm_h == pytest.approx(5.2, rel=1e-12)
        assert made.is_within is False
        assert [caution.code for caution in made.cautions] == ["rich-dough-warm"]

    def test_cooling_counts_until_it_is_cold(self) -> None:
        """From 25 to 1 °C with a lag of 2 h the dough passes 5 °C after 2 ln(24 / 4) h."""
        made = held_dough(bread("Rich", {"egg": 5}), Schedule(Cool("20 h", start="25 °C", to="1 °C", tau="2 h")))
        assert made.warm_h == pytest.approx(2 * 1.791759469228055, rel=1e-9)
        assert made.is_within
        assert [caution.code for caution in made.cautions] == ["rich-dough"]
        check_working(made.working(), made.warm_h)
