"""Money: amounts and prices as decimal numbers with a currency code, rounded once, at the end, by a named rule.

Text is a number with a decimal point and a code of ISO 4217: "1.20 EUR", "1.20 EUR/kg", "2.50 USD/lb", "0.35 GBP/piece".
A currency sign stands for several currencies and is not read.  No amount is ever a float.
"""

from __future__ import annotations

import re
from decimal import Context, Decimal
from fractions import Fraction
from typing import Final

from attrs import frozen

from .errors import Fault, QuantityError, cited
from .lines import Lines
from .quantity import MASS

__all__ = ["NO_MONEY", "Money", "Price", "read_money", "read_price", "rounded_money"]

PIECE: Final = "piece"
ISO_4217: Final = "iso-4217"
_DECIMALS: Final = Lines(
    [(code, 0) for code in ("CLP", "ISK", "JPY", "KRW", "PYG", "RWF", "UGX", "VND", "XAF", "XOF", "XPF")]
    + [(code, 3) for code in ("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND")]
)
"""Digits after the point where they are not two, from memory of ISO 4217 (``iso-4217``)."""
_CONTEXT: Final = Context(prec=60)
"""Our own, because a host may have set another for its own sums."""
_AMOUNT: Final = r"([0-9]{1,18}(?:\.[0-9]{1,9})?) ([A-Z]{3})"


@frozen
class Money:
    """An amount of a currency, as exact as it was written or rounded.

    Example:
        >>> str(Money(Decimal("1.20"), "EUR"))
        '1.20 EUR'
    """

    amount: Decimal
    currency: str

    def __str__(self) -> str:
        """Return the amount with its currency, which reads back to the same."""
        return f"{self.amount:f} {self.currency}"


NO_MONEY: Final = Money(Decimal("NaN"), "XXX")
"""What a bad argument is answered with until its fault is told; XXX is the standard's code for no currency."""


def rounded_money(exact: Fraction, currency: str) -> Money:
    """Round an exact amount to the currency's smallest unit, halves up: the only place where money is rounded.

    Args:
        exact: the amount, not rounded before.
        currency: the code; a few have no cents, a few a thousandth.

    Example:
        >>> str(rounded_money(Fraction(1005, 1000), "EUR")), str(rounded_money(Fraction(5, 2), "JPY"))
        ('1.01 EUR', '3 JPY')
    """
    digits = _DECIMALS.get(currency, 2)
    whole = exact * 10**digits
    # In whole numbers, because no quotient of decimals is exact enough to decide on a half.
    steps = (2 * whole.numerator + whole.denominator) // (2 * whole.denominator)
    return Money(Decimal(steps).scaleb(-digits, _CONTEXT), currency)


@frozen
class Price:
    """Money for a mass or for a piece: ``amount`` of ``currency`` for one ``per``, "kg", "lb", "g" or "piece"."""

    amount: Decimal
    currency: str
    per: str

    def __str__(self) -> str:
        """Return the price as it is written; it reads back to the same."""
        return f"{self.amount:f} {self.currency}/{self.per}"

    @property
    def is_per_piece(self) -> bool:
        """Whether it is for a piece, not for a mass."""
        return self.per == PIECE

    def of(self, amount: float | Fraction) -> Fraction:
        """Return the exact cost of an amount, to be added up and rounded at the end by ``rounded_money``.

        Args:
            amount: a mass in g, or a number of pieces where the price is for a piece.

        Example:
            >>> price = read_price("2.40 EUR/kg", "price")
            >>> str(rounded_money(price.of(125.0), price.currency))
            '0.30 EUR'
        """
        # A float stands for the decimal number it prints as, as in dividing.
        exact = amount if isinstance(amount, Fraction) else Fraction(repr(float(amount)))
        unit = Fraction(1) if self.is_per_piece else MASS.spellings[self.per].factor
        return Fraction(self.amount) * exact / unit


def read_money(value: str | Money, where: str) -> Money:
    """Read an amount of money.

    Args:
        value: text such as "1800 EUR", or ``Money``.
        where: the name of the argument, for the message.

    Raises:
        QuantityError: for anything else, with the mend.

    Example:
        >>> str(read_money("1800.00 EUR", "cost"))
        '1800.00 EUR'
    """
    if isinstance(value, Money):
        return value
    match = re.fullmatch(_AMOUNT, value) if isinstance(value, str) else None  # pyright: ignore[reportUnnecessaryIsInstance]
    if match is None:
        raise QuantityError(Fault(where, cited(value), "an amount of money", _mend(value, "1800 EUR")))
    return Money(Decimal(match[1]), match[2])


def read_price(value: str | Price, where: str) -> Price:
    """Read a price for a mass or a piece.

    Args:
        value: text such as "1.20 EUR/kg" or "0.35 GBP/piece", or a ``Price``.
        where: the name of the argument, for the message.

    Raises:
        QuantityError: for anything else, with the mend.

    Example:
        >>> str(read_price("1.20 EUR/kg", "price"))
        '1.20 EUR/kg'
        >>> read_price("1,20 EUR/kg", "price")
        Traceback (most recent call last):
        ...
        formula.errors.QuantityError: price: got '1,20 EUR/kg', expected a price; write a decimal point, not a comma: '1.20 EUR/kg'
    """
    if isinstance(value, Price):
        return value
    match = re.fullmatch(rf"{_AMOUNT}/(\S+)", value) if isinstance(value, str) else None  # pyright: ignore[reportUnnecessaryIsInstance]
    if match is None or match[3] not in (*MASS.spellings, PIECE):
        raise QuantityError(Fault(where, cited(value), "a price", _mend(value, "1.20 EUR/kg")))
    return Price(Decimal(match[1]), match[2], match[3])


def _mend(value: object, example: str) -> str:
    """Say how to write what was not read."""
    model = f'write for example "{example}"'
    if not isinstance(value, str):
        return f"{model}, as text: money is never a plain number"
    mends = (
        (re.match(r"[0-9]+,[0-9]{1,2}(?![0-9.,])", value), f"write a decimal point, not a comma: {value.replace(',', '.')!r}"),
        ("," in value, f"write the number without commas: {model}"),
        (value.startswith("-"), "an amount cannot be less than zero"),
        (re.search(r"[$€£¥]", value), f"write the currency's code of three letters, not its sign: {model}"),
        (re.fullmatch(r"[A-Z]{3} ?[0-9.]+.*", value), f"write the number first: {model}"),
        (re.match(r"[0-9.]+ ?[A-Za-z]{3}(/|$)", value) and not re.match(_AMOUNT, value),
         f"the code is three capitals after one space: {model}"),
        ("/" in example and "/" not in value, f"say what it is for: {model}"),
        ("/" in example, f"a price is for one of {', '.join((*MASS.spellings, PIECE))}: {model}"),
    )  # fmt: skip
    return next((mend for is_it, mend in mends if is_it), model)
