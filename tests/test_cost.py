"""Cost: by hand, to the cent; what is missing is told; what is shown adds up."""

import copy
import pickle
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve

from formula.batch import Batch
from formula.bill import BatchCost
from formula.catalogue import Catalogue
from formula.clockwork import timetable
from formula.cost import cost_per_piece_sold, price
from formula.costchange import compare_costs, sensitivity
from formula.day import DayPlan, plan_day
from formula.daycost import price_day
from formula.dayjobs import plan_jobs
from formula.errors import FileError, FormulaError, QuantityError, UnknownNameError
from formula.expenses import Expenses
from formula.files import load
from formula.folder import load_day
from formula.formula import Formula
from formula.ingredient import Ingredient
from formula.losses import Losses
from formula.money import MONEY_RULES, Money, Price, apportioned, read_price, rounded_money
from formula.prices import Prices, load_prices
from formula.pricing import break_even, margin_of_markup, sale_price
from formula.process import Process, Wait
from formula.quantity import ENERGY, MASS, TIME, VOLUME
from formula.scalingweight import net_weight
from formula.stage import Stage
from formula.workshop import Oven, Shift, Workshop
from tests.arithmetic import check_working

HARBOUR = Path(__file__).parents[1] / "docs" / "examples" / "harbour"

PRICES = {
    "bread flour": "20.00 EUR/25 kg",
    "water": "free",
    "salt": "0.50 EUR/kg",
    "sesame seeds": "4.00 EUR/kg",
}


def plain() -> Formula:
    """Flour 100, water 70, salt 2: 172 % in all; a piece of 860 g holds 500 g of flour."""
    return Formula.from_percents("Loaf", {"bread flour": 100, "water": 70, "salt": 2})


def full() -> tuple[Batch, Prices, Expenses]:
    """100 pieces of 860 g on the scale, a tenth lost before the divider and a fifth after it, 10 % sorted out, 20 % unsold.

    Dough mixed is 86 kg / 0.9 = 95.5556 kg with 55.5556 kg of flour.
    """
    bread = Formula.from_percents(
        "Loaf",
        {"bread flour": 100, "water": 70, "salt": 2},
        losses=Losses(handling="10 %", bake="20 %"),
        reject="10 %",
        toppings={"sesame seeds": "5 g"},
    )
    prices = Prices(
        PRICES, energy="0.30 EUR/kWh", labour="24.00 EUR/h", packaging={"paper bag": "30.00 EUR/1000 pieces"}
    )
    expenses = Expenses(load="18 kWh", load_pieces=40, labour="40 min", packaging=["paper bag"], unsold="20 %")
    return bread.scale(pieces=100, piece="860 g"), prices, expenses


def full_cost(**options: Any) -> BatchCost:  # noqa: ANN401
    batch, prices, expenses = full()
    return price(batch, prices, expenses=expenses, **options)


class TestMoney:
    @pytest.mark.parametrize(
        ("text", "kind", "size"),
        [
            ("18.50 EUR/25 kg", MASS, 25_000),
            ("18.50 EUR per 25 kg", MASS, 25_000),
            ("1.10 EUR/L", VOLUME, 1000),
            ("9.00 USD/US gal", VOLUME, Fraction("3785.411784")),
            ("0.30 EUR/kWh", ENERGY, 3600),
            ("24.00 EUR/h", TIME, 1),
            ("0.40 EUR/min", TIME, Fraction(1, 60)),
        ],
    )
    def test_what_a_price_is_for(self, text: str, kind: Any, size: Fraction) -> None:  # noqa: ANN401
        found = read_price(text, "price", (kind,))
        assert (found.kind, found.size) == (kind, size)
        assert str(found) == text.replace(" per ", "/")
        assert read_price(str(found), "price", (kind,)) == found
        assert found.of(size) == Fraction(found.amount)

    def test_a_dozen(self) -> None:
        found = read_price("2.40 EUR/12 pieces", "price")
        assert found.is_per_piece
        assert found.of(3) == Fraction("0.6")

    @pytest.mark.parametrize(
        "text", ["18.50 EUR/0 kg", "18.50 EUR/25kg", "18.50 EUR/25 stone", "18.50 EUR/", "1 EUR/-2 kg"]
    )
    def test_no_amount_of_anything(self, text: str) -> None:
        with pytest.raises(QuantityError, match="price: got"):
            read_price(text, "price")

    def test_a_price_of_another_kind(self) -> None:
        for value in ("24.00 EUR/h", read_price("24.00 EUR/h", "labour", (TIME,))):
            with pytest.raises(QuantityError, match="for one of kJ, Wh, kWh"):
                read_price(value, "energy", (ENERGY,))
        with pytest.raises(QuantityError, match="price: per"):
            Price(Decimal(1), "EUR", "stone")

    @pytest.mark.parametrize(
        ("exact", "up", "even"), [("0.125", "0.13", "0.12"), ("0.135", "0.14", "0.14"), ("0.1249", "0.12", "0.12")]
    )
    def test_halves_by_either_rule(self, exact: str, up: str, even: str) -> None:
        assert str(rounded_money(Fraction(exact), "EUR", "half up").amount) == up
        assert str(rounded_money(Fraction(exact), "EUR", "half even").amount) == even

    def test_digits_beyond_the_coin(self) -> None:
        assert str(rounded_money(Fraction(1, 3), "EUR", digits=4)) == "0.3333 EUR"

    def test_lines_make_the_whole(self) -> None:
        # 0.333 + 0.333 + 0.334 are 1.00; cut to cents they are 0.99, and the largest remainder has the cent.
        parts = apportioned([Fraction("0.333"), Fraction("0.333"), Fraction("0.334")], "EUR")
        assert [str(part.amount) for part in parts] == ["0.33", "0.33", "0.34"]
        assert apportioned([], "EUR") == ()


class TestByHand:
    def test_a_plain_batch(self) -> None:
        # 50 kg of flour at 0.80 is 40.00, 1 kg of salt 0.50: 40.50 for 100 pieces of 860 g.
        cost = price(plain().scale(pieces=100, piece="860 g"), PRICES)
        assert str(cost.total) == "40.50 EUR"
        assert str(cost.per_piece) == "0.41 EUR"
        assert str(price(plain().scale(pieces=100, piece="860 g"), PRICES, digits=3).per_piece) == "0.405 EUR"
        assert (
            str(price(plain().scale(pieces=100, piece="860 g"), PRICES, rounding="half even").per_piece) == "0.40 EUR"
        )
        assert str(cost.per_kg) == "0.47 EUR"  # 40.50 / 86 kg = 0.4709
        assert cost.per_mix == cost.total
        assert [(line.name, str(line.price)) for line in cost.lines][1] == ("water", "None")

    def test_everything_that_is_paid_for(self) -> None:
        cost = full_cost()
        flour = Fraction(500) / Fraction(9, 10) / 1000 * 100  # kg
        lines = {
            "bread flour": flour * Fraction("0.80"),
            "water": Fraction(0),
            "salt": flour * Fraction("0.02") * Fraction("0.50"),
            "sesame seeds (topping)": Fraction("2.00"),  # 500 g at 4.00
            "oven": 3 * 18 * Fraction("0.30"),  # 100 pieces are three loads of 40
            "labour": Fraction(16),  # 40 min at 24.00
            "paper bag (packaging)": 90 * Fraction("0.03"),  # the pieces that are not sorted out
        }
        assert [line.name for line in cost.lines] == list(lines)
        for line in cost.lines:
            assert float(line.exact) == pytest.approx(float(lines[line.name]), rel=1e-12)
        total = float(sum(lines.values()))
        assert float(cost.total.amount) == pytest.approx(total, abs=0.005)
        assert float(cost.sold) == pytest.approx(72)  # 100 x 0.9 x 0.8
        assert float(cost.per_piece_exact) == pytest.approx(total / 72)
        assert float(cost.per_piece_exact) == pytest.approx(cost_per_piece_sold(total, 100, 0.1, 0.2))
        assert cost.per_piece_made == cost.money(cost.exact / 100)
        assert float(cost.per_kg_exact) == pytest.approx(total / 68.8)  # 860 g x 0.8, a hundred times
        assert cost.per_sold_kg == cost.money(cost.exact / (72 * Fraction("0.688")))

    def test_what_is_carried(self) -> None:
        cost = full_cost()
        dough = 45  # 0.81 for each kg of 55.5556 kg of flour
        assert float(cost.carried_exact["dough lost"]) == pytest.approx(dough / 10)
        assert float(cost.carried_exact["rejects"]) == pytest.approx(float(cost.exact) / 10)
        assert float(cost.carried_exact["unsold"]) == pytest.approx(float(cost.exact) * 0.9 * 0.2)
        assert "giveaway" not in cost.carried

    def test_the_giveaway_is_a_part_of_the_dough(self) -> None:
        batch, prices, expenses = full()
        with_it = price(batch, prices, expenses=expenses.changed(giveaway="8.6 g"))
        assert with_it.exact == full_cost().exact
        # 8.6 g of 688 g baked is an eightieth of the bread, and of the 40.50 of divided dough.
        assert float(with_it.carried_exact["giveaway"]) == pytest.approx(40.50 / 80)
        assert with_it.per_sold_kg == with_it.money(with_it.exact / (72 * Fraction("0.6794")))

    def test_the_giveaway_of_a_rule(self) -> None:
        rule = net_weight("600 g", rules=["eu"], divider_sd="5 g", loss="20 %", step="5 g").rules["eu"]
        expenses = Expenses(giveaway=rule)
        divided = f"{rule.scaling_weight_g!r} g"
        bread = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70, "salt": 2}, losses=Losses(bake="20 %"))
        cost = price(bread.scale(pieces=10, piece=divided), PRICES, expenses=expenses)
        assert cost.baked_g - cost.giveaway_g == pytest.approx(600)
        assert {caution.code for caution in cost.cautions} == {"partial-cost"}
        other = price(bread.scale(pieces=10, piece="900 g"), PRICES, expenses=expenses)
        assert {caution.code for caution in other.cautions} == {"partial-cost", "other-scaling-weight"}

    def test_a_load_given_as_money(self) -> None:
        batch, prices, expenses = full()
        cost = price(batch, prices, expenses=expenses.changed(load="5.40 EUR"))
        assert cost.exact == full_cost().exact
        assert expenses.changed(load=Money(Decimal("5.40"), "EUR")).load_money == Money(Decimal("5.40"), "EUR")
        check_working(cost.working(), float(cost.money(cost.per_piece_exact).amount))

    def test_by_the_litre_and_by_the_piece(self) -> None:
        bread = Formula.from_percents("Bun", {"bread flour": 100, "whole milk": 50, "egg": 10})
        prices = Prices(
            {"strong flour": "0.80 EUR/kg", "whole milk": "1.22 EUR/L", "egg": "2.50 EUR/10 pieces"},
            pieces={"our roll": "60 g", "banana": "120 g", "egg": "50 g"},
        )
        cost = price(bread.scale(flour="10 kg"), prices)
        # A cup of milk, 236.588 mL, is 244 g: 5 kg are 4.848 L.  1 kg of egg is 20 eggs.
        assert [round(float(line.exact), 4) for line in cost.lines] == [
            8,
            round(5000 / (244 / 236.5882365) * 0.00122, 4),
            5,
        ]
        check_working(cost.working(), float(cost.per_kg.amount))

    def test_water_by_the_litre(self) -> None:
        cost = price(plain().scale(flour="10 kg"), PRICES | {"water": "4.00 EUR/1000 L"})
        assert float(cost.lines[1].exact) == pytest.approx(0.028)

    def test_two_bags_for_a_piece(self) -> None:
        batch, prices, expenses = full()
        cost = price(batch, prices, expenses=expenses.changed(packaging=["paper bag", "paper bag"]))
        assert float(cost.exact - full_cost().exact) == pytest.approx(2.70)
        assert len(cost.costs()) == len(cost.lines)

    def test_of_a_stage_only_what_ends_in_the_dough_is_paid_for(self) -> None:
        soaker = Stage("soaker", {"cracked rye": 100, "water": 150}, boiled_off=30, keep=10)
        bread = Formula.from_stages("Rye", {"bread flour": 100, "water": 50, "soaker": 44}, [soaker])
        batch = bread.scale(dough="10 kg")
        prices = {"bread flour": "1 EUR/kg", "cracked rye": "1 EUR/kg", "water": "1 EUR/kg"}
        assert float(price(batch, prices).exact) == pytest.approx(10)

    def test_stages_are_resolved(self) -> None:
        bread = load(HARBOUR / "breads" / "quay-round.toml")
        batch = bread.scale(pieces=150, baked="800 g")
        cost = price(batch, load_prices(HARBOUR / "prices.toml"))
        amounts = {line.name: line.amount for line in cost.lines if line.kind == "dough"}
        assert amounts == {name: pytest.approx(batch.mass_g(name)) for name in bread.percents}

    def test_values_not_objects(self) -> None:
        cost = full_cost()
        assert cost == full_cost()
        assert hash(cost) == hash(full_cost())
        assert pickle.loads(pickle.dumps(cost)) == copy.deepcopy(cost) == cost  # noqa: S301 - our own bytes
        assert cost.baked.m_as("g") == pytest.approx(688)
        assert cost.bread.m_as("kg") == pytest.approx(68.8)


class TestShown:
    @pytest.mark.parametrize("rule", MONEY_RULES)
    @pytest.mark.parametrize("digits", [None, 0, 4])
    def test_lines_add_up_to_what_is_shown(self, rule: Any, digits: int | None) -> None:  # noqa: ANN401
        cost = full_cost(rounding=rule, digits=digits)
        wholes = {"all": cost.total, "mix": cost.per_mix, "piece": cost.per_piece, "kg": cost.per_kg}
        for per, whole in wholes.items():
            lines = cost.costs(per)  # type: ignore[arg-type]
            assert whole is not None
            assert sum(money.amount for money in lines.values()) == whole.amount

    def test_the_working(self) -> None:
        cost = full_cost()
        assert cost.per_piece is not None
        check_working(cost.working(), float(cost.per_piece.amount))
        by_dough = price(plain().scale(dough="10 kg"), PRICES)
        check_working(by_dough.working(), float(by_dough.per_kg.amount))

    def test_the_working_at_a_half(self) -> None:
        # 0.405 is no float: the last line still is the cent that is shown, by either rule.
        for rule, shown in (("half up", 0.41), ("half even", 0.40)):
            cost = price(plain().scale(pieces=100, piece="860 g"), PRICES, rounding=rule)  # type: ignore[arg-type]
            check_working(cost.working(), shown)

    def test_a_part_of_the_cost_is_called_so(self) -> None:
        assert not full_cost().cautions
        (caution,) = price(plain().scale(dough="1 kg"), PRICES).cautions
        assert "no energy and no labour" in caution.text

    def test_per_nothing_known(self) -> None:
        with pytest.raises(UnknownNameError, match="one of all, mix, piece, kg"):
            full_cost().costs("loaf")  # type: ignore[arg-type]
        with pytest.raises(FormulaError, match="not in pieces"):
            price(plain().scale(dough="1 kg"), PRICES).costs("piece")
        by_dough = price(plain().scale(dough="1 kg"), PRICES)
        assert (by_dough.per_piece, by_dough.per_piece_made, by_dough.per_sold_kg) == (None, None, None)


def refused(call: Callable[[], object]) -> list[str]:
    with pytest.raises(FormulaError) as caught:
        call()
    return [str(fault) for fault in caught.value.faults]


class TestRefusals:
    def test_every_missing_price_at_once(self) -> None:
        batch, _, expenses = full()
        lacks = Prices({"bread flour": "0.80 EUR/kg"})
        told = refused(lambda: price(batch, lacks, expenses=expenses))
        for name in ("water", "salt", "sesame seeds", "energy", "labour", "packaging: paper bag"):
            assert any(fault.startswith(f"prices: {name}: got no price") for fault in told), name

    def test_two_currencies(self) -> None:
        told = refused(lambda: Prices({"bread flour": "0.80 EUR/kg", "salt": "0.50 USD/kg"}, labour="20 EUR/h"))
        (fault,) = told
        assert fault.startswith("prices: got EUR (bread flour, labour); USD (salt), expected one currency;")
        batch, prices, expenses = full()
        assert "one currency" in refused(lambda: price(batch, prices, expenses=expenses.changed(load="5 USD")))[0]
        usd = price(plain().scale(dough="1 kg"), {"bread flour": "1 USD/kg", "water": "free", "salt": "free"})
        assert "EUR and USD" in refused(lambda: compare_costs(full_cost(), usd))[0]
        assert "an amount in EUR" in refused(lambda: sale_price(full_cost(), price="2 USD"))[0]
        assert len(refused(lambda: break_even("9 USD", price="2 USD", cost=full_cost()))) == 2

    @pytest.mark.parametrize(
        ("value", "mend"),
        [
            ("0 EUR/kg", 'write "free"'),
            ("-1 EUR/kg", "less than zero"),
            ("1,20 EUR/kg", "decimal point"),
            ("1.20 EUR", "say what it is for"),
            ("1.20 EUR/h", "a price is for one of g, kg"),
            (1.2, "never a plain number"),
        ],
    )
    def test_no_price_of_an_ingredient(self, value: Any, mend: str) -> None:  # noqa: ANN401
        (told,) = refused(lambda: Prices({"salt": value}))
        assert told.startswith("salt: got")
        assert mend in told

    def test_a_list_that_prices_nothing(self) -> None:
        assert "at least one" in refused(lambda: Prices({}))[0]
        assert "nothing but what is free" in refused(lambda: Prices({"water": "free"}))[0]
        assert (
            "a second price beside that of bread flour"
            in refused(lambda: Prices({"bread flour": "1 EUR/kg", "strong flour": "2 EUR/kg"}))[0]
        )
        assert "above zero" in refused(lambda: Prices(PRICES, labour="0 EUR/h"))[0]
        assert "pieces: egg" in refused(lambda: Prices(PRICES, pieces={"egg": "0 g"}))[0]

    def test_no_density_and_no_weight_of_a_piece(self) -> None:
        larder = Catalogue().adding(Ingredient("house oil", kind="fat"))
        bread = Formula.from_percents("Bun", {"bread flour": 100, "house oil": 5, "egg": 10}, catalogue=larder)
        prices = {"bread flour": "1 EUR/kg", "house oil": "5 EUR/L", "egg": "0.25 EUR/piece"}
        told = refused(lambda: price(bread.scale(flour="1 kg"), prices))
        assert "density is not known" in told[0]
        assert "weight of a piece is not known" in told[1]

    @pytest.mark.parametrize(
        ("given", "expected"),
        [
            ({"unsold": "100 %"}, "a share below 100 %"),
            ({"reject": "120 %"}, "a share below 100 %"),
            ({"unsold": 0.04}, "a share"),
            ({"load": "18"}, "an energy or an amount of money"),
            ({"load": "0 kWh"}, "an energy or an amount of money"),
            ({"load_pieces": 0}, "a whole number of 1 or more"),
            ({"load_pieces": True}, "a whole number of 1 or more"),
            ({"packaging": "bag"}, "a list of names"),
            ({"packaging": [3]}, "a name as text"),
            ({"labour": "40"}, "a time"),
            ({"giveaway": "6"}, "a mass"),
        ],
    )
    def test_expenses(self, given: dict[str, Any], expected: str) -> None:
        assert f"expected {expected}" in refused(lambda: Expenses(**given))[0]

    def test_all_expenses_at_once(self) -> None:
        assert len(refused(lambda: Expenses(unsold="100 %", labour="40", giveaway="6"))) == 3

    def test_a_batch_that_is_not_in_pieces(self) -> None:
        batch, prices, expenses = full()
        (told,) = refused(lambda: price(batch.formula.scale(dough="10 kg"), prices, expenses=expenses))
        assert "(toppings, packaging, oven loads)" in told
        assert refused(lambda: sale_price(price(plain().scale(dough="1 kg"), PRICES), margin="20 %"))

    def test_loads_without_their_pieces(self) -> None:
        batch, prices, _ = full()
        assert "load_pieces" in refused(lambda: price(batch, prices, expenses=Expenses(load="18 kWh")))[0]

    def test_more_given_away_than_there_is(self) -> None:
        batch, prices, expenses = full()
        assert (
            "less than the bread"
            in refused(lambda: price(batch, prices, expenses=expenses.changed(giveaway="688 g")))[0]
        )

    def test_no_rounding_and_no_batch(self) -> None:
        told = refused(lambda: price("loaf", PRICES, rounding="down", digits=12))  # type: ignore[arg-type]
        assert [fault.split(":")[0] for fault in told] == ["rounding", "digits", "batch"]


class TestPricing:
    def test_margin_and_markup_are_two_things(self) -> None:
        # 0.80 with a margin of 20 % is 1.00, with a mark-up of 20 % it is 0.96.
        margin, markup = sale_price("0.80 EUR", margin="20 %"), sale_price("0.80 EUR", markup="20 %")
        assert (str(margin.price), str(markup.price)) == ("1.00 EUR", "0.96 EUR")
        assert [margin.margin_share, margin.markup_share] == pytest.approx([0.2, 0.25])
        assert [markup.margin_share, markup.markup_share] == pytest.approx([1 / 6, 0.2])
        assert margin_of_markup(0.25) == pytest.approx(0.2)
        assert str(margin.profit) == "0.20 EUR"
        assert margin.margin.m_as("percent") == pytest.approx(20)
        check_working(margin.working(), 1.00)
        check_working(markup.working(), 0.96)

    def test_what_a_price_leaves(self) -> None:
        found = sale_price("0.80 EUR", price="1.00 EUR")
        assert [found.margin_share, found.markup_share] == pytest.approx([0.2, 0.25])
        check_working(found.working(), found.margin_share)
        below = sale_price("0.80 EUR", price="0.64 EUR")
        assert str(below.profit) == "-0.16 EUR"
        assert below.margin_share == pytest.approx(-0.25)
        assert [caution.code for caution in below.cautions] == ["below-cost"]

    def test_the_cost_of_a_batch_is_that_of_a_piece_sold(self) -> None:
        cost = full_cost()
        found = sale_price(cost, margin="50 %")
        assert found.price == cost.money(2 * cost.per_piece_exact)
        assert sale_price("0.405 EUR", markup="0 %").price == Money(Decimal("0.41"), "EUR")

    @pytest.mark.parametrize(
        ("given", "expected"),
        [
            ({"margin": "100 %"}, "a share below 100 %"),
            ({"margin": "150 %"}, "a share below 100 %"),
            ({"margin": 0.2}, "a share"),
            ({}, "one of margin=, markup=, price="),
            ({"margin": "20 %", "markup": "20 %"}, "one of margin=, markup=, price="),
            ({"price": "0 EUR"}, "an amount above zero"),
            ({"price": "1.20"}, "an amount of money"),
        ],
    )
    def test_refusals(self, given: dict[str, Any], expected: str) -> None:
        assert f"expected {expected}" in refused(lambda: sale_price("0.80 EUR", **given))[0]

    def test_costs_of_nothing(self) -> None:
        free = price(
            plain().scale(pieces=1, piece="1 kg"),
            {"bread flour": "free", "water": "free", "salt": "free", "rye flour": "1 EUR/kg"},
        )
        assert "above zero" in refused(lambda: sale_price(free, margin="20 %"))[0]
        assert "above zero" in refused(lambda: sensitivity(free))[0]
        assert "above zero" in refused(lambda: sale_price("0 EUR", margin="20 %"))[0]
        assert "in coins" in refused(lambda: sale_price("0.001 EUR", margin="20 %"))[0]

    def test_break_even(self) -> None:
        # 300 / (1.60 - 0.85) = 400 exactly; a cent more is one piece more.
        found = break_even("300 EUR", price="1.60 EUR", cost="0.85 EUR")
        assert (found.pieces, str(found.turnover)) == (400, "640.00 EUR")
        assert break_even("300.01 EUR", price="1.60 EUR", cost="0.85 EUR").pieces == 401
        check_working(found.working(), 400)
        assert "adds to the loss" in refused(lambda: break_even("300 EUR", price="0.85 EUR", cost="0.85 EUR"))[0]


class TestChanges:
    def test_flour_moves_a_loaf_most(self) -> None:
        cost = full_cost()
        found = sensitivity(cost, "10 %")
        assert [effect.item for effect in found.effects][:2] == ["bread flour", "oven"]
        dearer = Prices(
            PRICES | {"bread flour": "22.00 EUR/25 kg"},
            energy="0.30 EUR/kWh",
            labour="24.00 EUR/h",
            packaging={"paper bag": "30.00 EUR/1000 pieces"},
        )
        batch, _, expenses = full()
        assert price(batch, dearer, expenses=expenses).per_piece_exact - cost.per_piece_exact == found.effects[0].change
        assert sum(effect.part_share for effect in found.effects) == pytest.approx(1)
        check_working(found.working(), float(found.effects[0].change), exact=False)
        assert "expected a share above zero" in refused(lambda: sensitivity(cost, "0 %"))[0]

    def test_one_price_in_the_dough_and_on_top(self) -> None:
        bread = Formula.from_percents(
            "Seeded", {"bread flour": 100, "water": 70, "sesame seeds": 4}, toppings={"sesame seeds": "5 g"}
        )
        cost = price(bread.scale(pieces=10, piece="870 g"), PRICES)
        items = [effect.item for effect in sensitivity(cost).effects]
        assert sorted(items) == ["bread flour", "sesame seeds"]

    def test_two_breads_line_by_line(self) -> None:
        richer = Formula.from_percents("Richer", {"strong flour": 100, "water": 70, "salt": 2, "honey": 3})
        prices = PRICES | {"honey": "6.00 EUR/kg"}
        found = compare_costs(
            price(plain().scale(flour="50 kg"), prices), price(richer.scale(flour="50 kg"), prices), "all"
        )
        assert [(line.name, str(line.difference)) for line in found.lines] == [
            ("bread flour", "0.00 EUR"), ("water", "0.00 EUR"), ("salt", "0.00 EUR"), ("honey", "9.00 EUR")
        ]  # fmt: skip
        assert str(found.whole.difference) == "9.00 EUR"
        check_working(found.working(), 9.0)
        assert compare_costs(full_cost(), full_cost()).per == "piece"


class TestFile:
    def test_the_harbour_list(self) -> None:
        prices = load_prices(HARBOUR / "prices.toml")
        assert prices.currency == "EUR"
        assert prices.ingredients["water"] is None
        assert prices.expenses.packaging == ("paper bag",)
        bun = prices.expenses_of("Gull Bun 70 g", "gull bun")
        # What the bread says is its own, what it does not say is everybody's.
        assert (bun.load_pieces, bun.packaging, bun.unsold_share) == (400, (), 0.04)
        assert prices.expenses_of("Quay Round") == prices.expenses
        assert pickle.loads(pickle.dumps(prices)) == prices  # noqa: S301 - our own bytes
        assert hash(prices) == hash(load_prices(HARBOUR / "prices.toml"))

    def told(self, folder: Path, text: str) -> list[str]:
        file = folder / "prices.toml"
        file.write_text(text, encoding="utf-8")
        with pytest.raises(FileError) as caught:
            load_prices(file)
        return [str(fault).replace(str(file), "prices.toml") for fault in caught.value.faults]

    def test_every_fault_with_its_place(self, tmp_path: Path) -> None:
        told = self.told(
            tmp_path,
            """
            labour = "24 EUR"
            [ingredients]
            salt = "0 EUR/kg"
            water = "free"
            [expenses]
            unsold = "100 %"
            [[bread]]
            name = "Bun"
            labour = "2"
            [[bread]]
            name = "Bun"
            """,
        )
        assert [fault.split(": got")[0] for fault in told] == [
            "prices.toml: expenses.unsold",
            "prices.toml: bread[0].labour",
            "prices.toml: bread[1].name",
            "prices.toml: salt",
            "prices.toml: labour",
        ]

    def test_only_an_expense_is_wrong(self, tmp_path: Path) -> None:
        (told,) = self.told(tmp_path, '[ingredients]\nsalt = "1 EUR/kg"\n[expenses]\nlabour = "2"\n')
        assert "expenses.labour" in told

    @pytest.mark.parametrize(
        "text",
        [
            "",
            "[ingredients]\nsalt = 1.2\n",
            'flour = "1 EUR/kg"\n[ingredients]\nsalt = "1 EUR/kg"\n',
            '[ingredients]\nsalt = "1 EUR/kg"\n[[bread]]\nload = "3 kWh"\n',
            '[ingredients]\nsalt = "1 EUR/kg"\n[expenses]\nload_pieces = "40"\n',
        ],
    )
    def test_another_layout(self, tmp_path: Path, text: str) -> None:
        assert self.told(tmp_path, text)


@pytest.fixture(scope="module")
def day() -> DayPlan:
    return plan_day(*load_day(HARBOUR))


class TestDay:
    def test_the_whole_is_its_breads(self, day: DayPlan) -> None:
        found = price_day(day, load_prices(HARBOUR / "prices.toml"))
        assert found.whole.exact == sum((bread.exact for bread in found.breads.values()), Fraction(0))
        assert sum(money.amount for money in found.costs.values()) == found.total.amount
        assert sum(money.amount for money in found.whole.costs().values()) == found.total.amount
        assert (found.whole.pieces, found.whole.mixes) == (day.pieces, day.mix_count)
        assert found.whole.per_piece is not None
        check_working(found.working(), float(found.whole.per_piece.amount))
        for bread in found.breads.values():
            assert bread.per_piece is not None
            check_working(bread.working(), float(bread.per_piece.amount))
        assert found.cautions == ()
        assert hash(found) == hash(copy.deepcopy(found))

    def test_a_bread_by_hand(self, day: DayPlan) -> None:
        found = price_day(day, load_prices(HARBOUR / "prices.toml")).breads["Quay Round"]
        plan = next(bread for bread in day.breads if bread.name == "Quay Round")
        lines = {line.name: line for line in found.lines}
        flour_g = sum(mix.count * mix.batch.mass_g("bread flour") for mix in plan.mixes)
        assert lines["bread flour"].amount == pytest.approx(flour_g)
        assert float(lines["bread flour"].exact) == pytest.approx(flour_g * 18.50 / 25_000)
        assert float(lines["oven"].exact) == pytest.approx(-(-plan.pieces // 120) * 18 * 0.30)
        assert float(lines["labour"].exact) == pytest.approx(plan.mix_count * 20)
        assert lines["paper bag (packaging)"].amount == plan.ordered + plan.spares
        assert float(found.sold) == pytest.approx(plan.ordered * 0.96)
        # The scaling weight is put on the divider's step, and the bread is as much heavier than ordered.
        assert found.giveaway_g == pytest.approx(plan.piece_g * plan.losses.after_divider_left - 800)

    def test_what_all_breads_lack_is_told_once(self, day: DayPlan) -> None:
        told = refused(lambda: price_day(day, Prices({"bread flour": "1 EUR/kg"})))
        assert len(told) == len(set(told))
        assert any("prices: salt:" in fault for fault in told)

    def test_cautions_name_their_breads(self, day: DayPlan) -> None:
        prices = load_prices(HARBOUR / "prices.toml")
        bare = Expenses()
        partly = {"Gull Bun": bare, "Ember Flat": bare}
        given: dict[str, Any] = {name: getattr(prices, name) for name in ("energy", "labour", "packaging", "expenses")}
        every = {name: found or "free" for name, found in prices.ingredients.items()}
        found = price_day(day, Prices(every, pieces={"egg": "50 g"}, breads=partly, **given))
        (caution,) = found.cautions
        assert caution.text.startswith("Gull Bun, Ember Flat: no energy")
        none = price_day(day, Prices(every, pieces={"egg": "50 g"}))
        assert [each.text.split(":")[0] for each in none.cautions] == ["no energy and no labour counted"]

    def test_ovens_paid_in_two_ways_stay_apart(self, day: DayPlan) -> None:
        prices = load_prices(HARBOUR / "prices.toml")
        given: dict[str, Any] = {name: getattr(prices, name) for name in ("energy", "labour", "packaging", "expenses")}
        every = {name: found or "free" for name, found in prices.ingredients.items()}
        wood = prices.expenses.changed(load="9.00 EUR")
        found = price_day(
            day, Prices(every, pieces={"egg": "50 g"}, breads={"Ember Flat": wood, "Gull Bun": wood}, **given)
        )
        names = [line.name for line in found.whole.lines if line.kind == "energy"]
        assert names == ["oven", "oven (Gull Bun)", "oven (Ember Flat)"]
        assert sum(money.amount for money in found.whole.costs().values()) == found.total.amount

    def test_loads_and_hands_from_the_timetable(self, day: DayPlan) -> None:
        process = Process(
            mix="15 min",
            bulk="1 h",
            divide=1200,
            shape=600,
            shape_people=2,
            proof=Wait("1 h", latest="4 h"),
            bake="30 min",
            loads={"deck": 2000},
        )
        workshop = Workshop(
            opens="00:00 the day before",
            ovens=[Oven("deck")],
            shifts=[Shift("00:00 the day before", "23:00", people=30)],
            processes={bread.name: process for bread in day.breads},
        )
        clock = timetable(day, workshop, aim="earliest")
        prices = load_prices(HARBOUR / "prices.toml")
        found = price_day(day, prices, timetable=clock)
        for plan in day.breads:
            lines = {line.name: line for line in found.breads[plan.name].lines}
            # A load holds any of these mixes whole.
            kwh = 6 if plan.name == "Ember Flat" else 18
            assert lines["oven"].amount == pytest.approx(plan.mix_count * kwh * 3600)
            sizes = [mix.pieces for mix in plan.mixes for _ in range(mix.count)]
            minutes = sum(-(-60 * size // 1200) + 2 * -(-60 * size // 1200) for size in sizes)
            assert lines["labour"].amount == pytest.approx(minutes / 60)
        full_up = evolve(clock, unplaced=plan_jobs(day, workshop)[:2])
        assert "2 mixes without a place" in refused(lambda: price_day(day, prices, timetable=full_up))[0]
        other = plan_day(load_day(HARBOUR)[0][:1], load_day(HARBOUR)[1])
        assert "another day" in refused(lambda: price_day(other, prices, timetable=clock))[0]
