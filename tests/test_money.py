"""Money: strict text, exact cost, one rounding."""

import copy
import pickle
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from formula.errors import QuantityError
from formula.money import Money, Price, read_money, read_price, rounded_money


@pytest.mark.parametrize(
    ("text", "mend"),
    [
        ("1,20 EUR/kg", "not a comma: '1.20 EUR/kg'"),
        ("1,234.50 EUR/kg", "without commas"),
        ("€1.20/kg", "not its sign"),
        ("1.20 €/kg", "not its sign"),
        ("1.20 eur/kg", "three capitals"),
        ("1.20EUR/kg", "three capitals"),
        ("EUR 1.20/kg", "number first"),
        ("1.20 EUR", "what it is for"),
        ("1.20 EUR/stone", "one of g, kg, mg, t, lb, oz, piece"),
        ("1.20 EUR/ kg", "one of g, kg"),
        ("-1.20 EUR/kg", "less than zero"),
        ("", "write for example"),
        (1.2, "never a plain number"),
        (None, "never a plain number"),
    ],
)
def test_a_price_that_is_none(text: Any, mend: str) -> None:  # noqa: ANN401
    with pytest.raises(QuantityError) as caught:
        read_price(text, "price")
    assert caught.value.faults[0].where == "price"
    assert mend in caught.value.faults[0].fix


@pytest.mark.parametrize(
    "text", ["18000", "18000 EUR/kg", "18 000 EUR", "18000 Eur", "1e3 EUR", "1. EUR", "nan EUR", 18000]
)
def test_an_amount_that_is_none(text: Any) -> None:  # noqa: ANN401
    with pytest.raises(QuantityError, match="cost: got"):
        read_money(text, "cost")


@pytest.mark.parametrize("text", ["1.20 EUR/kg", "2.50 USD/lb", "0.12 GBP/g", "0.350 EUR/piece", "300 JPY/kg"])
def test_a_price_reads_back(text: str) -> None:
    assert str(read_price(text, "price")) == text
    assert read_price(read_price(text, "price"), "price") == read_price(text, "price")


def test_an_amount_reads_back() -> None:
    assert str(read_money("18000.50 EUR", "cost")) == "18000.50 EUR"
    assert read_money(Money(Decimal(5), "EUR"), "cost") == read_money("5.00 EUR", "cost")
    assert hash(read_money("5 EUR", "cost")) == hash(read_money("5.00 EUR", "cost"))


def test_the_cost_of_a_mass_is_exact() -> None:
    # A pound of 453.59237 g at 2.50 a pound is 2.50, to the last digit.
    assert read_price("2.50 USD/lb", "price").of(453.59237) == Fraction(5, 2)
    assert read_price("1.20 EUR/kg", "price").of(1957.3) == Fraction("2.34876")
    assert read_price("0.35 GBP/piece", "price").of(3) == Fraction("1.05")
    # 0.1 + 0.2 g are floats, each the number it prints as.
    price = read_price("1 EUR/g", "price")
    assert price.of(0.1) + price.of(Fraction("0.2")) == Fraction("0.3")


@pytest.mark.parametrize(
    ("exact", "currency", "printed"),
    [
        ("1.005", "EUR", "1.01 EUR"),
        ("1.00499999999999999999", "EUR", "1.00 EUR"),
        ("2.675", "USD", "2.68 USD"),
        ("0", "EUR", "0.00 EUR"),
        ("12.5", "JPY", "13 JPY"),
        ("1.2345", "KWD", "1.235 KWD"),
        ("123456789012345678901234567890.125", "EUR", "123456789012345678901234567890.13 EUR"),
    ],
)
def test_halves_are_rounded_up_once(exact: str, currency: str, printed: str) -> None:
    assert str(rounded_money(Fraction(exact), currency)) == printed


def test_values_not_objects() -> None:
    price = read_price("1.20 EUR/kg", "price")
    assert price == Price(Decimal("1.2"), "EUR", "kg")
    assert hash(price) == hash(Price(Decimal("1.2"), "EUR", "kg"))
    assert pickle.loads(pickle.dumps(price)) == copy.deepcopy(price)  # noqa: S301 - our own bytes
    assert not price.is_per_piece
    assert read_price("1 EUR/piece", "price").is_per_piece
