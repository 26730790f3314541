"""Money: amounts and prices as decimal numbers with a currency code, rounded once, at the end, by a named rule.

Text is a number with a decimal point and a code of ISO 4217: "1.20 EUR", "1.20 EUR/kg", "18.50 EUR/25 kg" (or "18.50 EUR
per 25 kg"), "2.50 USD/lb", "1.10 EUR/L", "0.35 GBP/piece", "0.30 EUR/kWh", "24.00 EUR/h".
A currency sign stands for several currencies and is not read.  No amount is ever a float.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Context, Decimal
from fractions import Fraction
from typing import Final, Literal, get_args

from attrs import frozen

from .errors import Fault, QuantityError, cited
from .kinds import Unit
from .lines import Lines
from .quantity import ENERGY, MASS, TIME, VOLUME, Kind

__all__ = [
    "MONEY_RULES",
    "NO_MONEY",
    "PIECES",
    "Money",
    "MoneyRule",
    "Price",
    "apportioned",
    "read_money",
    "read_price",
    "rounded_money",
]

MoneyRule = Literal["half up", "half even"]
MONEY_RULES: Final[tuple[MoneyRule, ...]] = get_args(MoneyRule)
"""How an amount is rounded that lies half way between two coins: up, as a till does, or to the even one of the two."""

PIECES: Final = Kind(
    name="a number of pieces",
    pint_unit="dimensionless",
    example='"piece" or "12 pieces"',
    units=(Unit(("piece", "pieces"), Fraction(1)),),
)
ISO_4217: Final = "iso-4217"
_DECIMALS: Final = Lines(
    [(code, 0) for code in ("CLP", "ISK", "JPY", "KRW", "PYG", "RWF", "UGX", "VND", "XAF", "XOF", "XPF")]
    + [(code, 3) for code in ("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND")]
)
"""Digits after the point where they are not two, from memory of ISO 4217 (``iso-4217``)."""
_CONTEXT: Final = Context(prec=60)
"""Our own, because a host may have set another for its own sums."""
_AMOUNT: Final = r"([0-9]{1,18}(?:\.[0-9]{1,9})?) ([A-Z]{3})"
_PER: Final = re.compile(r"(?:([0-9]{1,9}(?:\.[0-9]{1,9})?) )?(\D.*)")


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


def rounded_money(exact: Fraction, currency: str, rule: MoneyRule = "half up", digits: int | None = None) -> Money:
    """Round an exact amount to the currency's smallest unit: the only place where money is rounded.

    Args:
        exact: the amount, not rounded before.
        currency: the code; a few have no cents, a few a thousandth.
        rule: what becomes of halves.
        digits: digits after the point instead, where a cent is too coarse, such as for the cost of one roll.

    Example:
        >>> str(rounded_money(Fraction(1005, 1000), "EUR")), str(rounded_money(Fraction(5, 2), "JPY"))
        ('1.01 EUR', '3 JPY')
        >>> str(rounded_money(Fraction(1005, 1000), "EUR", "half even"))
        '1.00 EUR'
    """
    places = minor_digits(currency) if digits is None else digits
    return _coins(_in_coins(exact, places, rule), currency, places)


def apportioned(
    parts: Iterable[Fraction], currency: str, rule: MoneyRule = "half up", digits: int | None = None
) -> tuple[Money, ...]:
    """Round the parts of a whole so that they add up to the rounded whole, by largest remainder.

    Each part is cut down to whole coins; the coins then missing go, one each, to the parts that lost most, of equal ones
    to the first.  So each part moves by less than one coin, and a part shown may be a coin off its own rounding.

    Args:
        parts: exact amounts of zero or more.
        currency: their code.
        rule: how the whole is rounded.
        digits: digits after the point, if not the currency's.

    Example:
        >>> thirds = apportioned([Fraction(1, 3)] * 3, "EUR")
        >>> [str(part) for part in thirds]
        ['0.34 EUR', '0.33 EUR', '0.33 EUR']
    """
    places = minor_digits(currency) if digits is None else digits
    scaled = [part * 10**places for part in parts]
    coins = [part.numerator // part.denominator for part in scaled]
    missing = _in_coins(sum(scaled, Fraction(0)), 0, rule) - sum(coins)
    for place in sorted(range(len(coins)), key=lambda place: coins[place] - scaled[place])[:missing]:
        coins[place] += 1
    return tuple(_coins(each, currency, places) for each in coins)


def minor_digits(currency: str) -> int:
    """Return the digits after the point of a currency's smallest unit: 2 for most.

    Example:
        >>> minor_digits("EUR"), minor_digits("JPY")
        (2, 0)
    """
    return _DECIMALS.get(currency, 2)


def _in_coins(exact: Fraction, places: int, rule: MoneyRule) -> int:
    whole = exact * 10**places
    # In whole numbers, because no quotient of decimals is exact enough to decide on a half.
    found: int = (2 * whole.numerator + whole.denominator) // (2 * whole.denominator)
    return round(whole) if rule == "half even" else found


def _coins(count: int, currency: str, places: int) -> Money:
    return Money(Decimal(count).scaleb(-places, _CONTEXT), currency)


@frozen
class Price:
    """Money for an amount of something: ``amount`` of ``currency`` for ``per``, "kg", "25 kg", "L", "piece", "kWh" or "h".

    Raises:
        QuantityError: when ``per`` is no such amount.

    Example:
        >>> sack = Price(Decimal("18.50"), "EUR", "25 kg")
        >>> str(sack), float(sack.of(1000.0))
        ('18.50 EUR/25 kg', 0.74)
    """

    amount: Decimal
    currency: str
    per: str

    def __attrs_post_init__(self) -> None:
        """Refuse what is no amount of anything."""
        if _measured(self.per) is None:
            raise QuantityError(Fault("price: per", cited(self.per), "what it is for", _for_one_of(_PRICED)))

    def __str__(self) -> str:
        """Return the price as it is written; it reads back to the same."""
        return f"{self.amount:f} {self.currency}/{self.per}"

    @property
    def kind(self) -> Kind:
        """What it is for: a mass, a volume, pieces, an energy or a time."""
        return self._measure[0]

    @property
    def size(self) -> Fraction:
        """How much it is for, in the canonical unit of its kind: 25000 (g) for "25 kg"."""
        return self._measure[1]

    @property
    def _measure(self) -> tuple[Kind, Fraction]:
        measured = _measured(self.per)
        assert measured is not None  # noqa: S101 - the constructor has seen to it
        return measured

    @property
    def is_per_piece(self) -> bool:
        """Whether it is for pieces, not for a mass."""
        return self.kind is PIECES

    def of(self, amount: float | Fraction) -> Fraction:
        """Return the exact cost of an amount, to be added up and rounded at the end by ``rounded_money``.

        Args:
            amount: in the canonical unit of the price's kind: a mass in g, a volume in mL, an energy in kJ, a time in h,
                or a number of pieces.

        Example:
            >>> price = read_price("2.40 EUR/kg", "price")
            >>> str(rounded_money(price.of(125.0), price.currency))
            '0.30 EUR'
        """
        # A float stands for the decimal number it prints as, as in dividing.
        exact = amount if isinstance(amount, Fraction) else Fraction(repr(float(amount)))
        return Fraction(self.amount) * exact / self.size


_PRICED: Final = (MASS, VOLUME, PIECES, ENERGY, TIME)


def _measured(per: str) -> tuple[Kind, Fraction] | None:
    """Return what an amount such as "25 kg" measures and how much of its canonical unit it is; None if it is none."""
    match = _PER.fullmatch(per)
    if match is None:
        return None
    found = next(((kind, kind.spellings[match[2]]) for kind in _PRICED if match[2] in kind.spellings), None)
    size = Fraction(match[1] or 1)
    return (found[0], size * found[1].factor) if found and size else None


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


def read_price(value: str | Price, where: str, kinds: tuple[Kind, ...] = (MASS, PIECES)) -> Price:
    """Read a price, for a mass or a piece if nothing else is asked for.

    Args:
        value: text such as "1.20 EUR/kg", "18.50 EUR per 25 kg" or "0.35 GBP/piece", or a ``Price``.
        where: the name of the argument, for the message.
        kinds: what it may be for.

    Raises:
        QuantityError: for anything else, with the mend.

    Example:
        >>> str(read_price("18.50 EUR per 25 kg", "price"))
        '18.50 EUR/25 kg'
        >>> read_price("1,20 EUR/kg", "price")
        Traceback (most recent call last):
        ...
        formula.errors.QuantityError: price: got '1,20 EUR/kg', expected a price; write a decimal point, not a comma: '1.20 EUR/kg'
    """
    if isinstance(value, Price):
        if value.kind in kinds:
            return value
        raise QuantityError(Fault(where, str(value), "a price", _for_one_of(kinds)))
    match = re.fullmatch(rf"{_AMOUNT}(?:/| per )(.+)", value) if isinstance(value, str) else None  # pyright: ignore[reportUnnecessaryIsInstance]
    measured = match and _measured(match[3])
    if match is None or not measured or measured[0] not in kinds:
        raise QuantityError(Fault(where, cited(value), "a price", _mend(value, _EXAMPLES[kinds[0].name], kinds)))
    return Price(Decimal(match[1]), match[2], match[3])


_EXAMPLES: Final = Lines(
    [
        (MASS.name, "1.20 EUR/kg"),
        (PIECES.name, "0.03 EUR/piece"),
        (ENERGY.name, "0.30 EUR/kWh"),
        (TIME.name, "24 EUR/h"),
    ]
)


def _for_one_of(kinds: tuple[Kind, ...]) -> str:
    units = (spelling for kind in kinds for unit in kind.units if not unit.household for spelling in unit.spellings[:1])
    return f"a price is for one of {', '.join(units)}"


def _mend(value: object, example: str, kinds: tuple[Kind, ...] = ()) -> str:
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
        (kinds and "/" not in value and " per " not in value, f"say what it is for: {model}"),
        (kinds, f"{_for_one_of(kinds)}: {model}"),
    )  # fmt: skip
    return next((mend for is_it, mend in mends if is_it), model)
