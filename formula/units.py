"""How measures are written as text: read by a strict grammar, and written so that they read back the same.

Text is a number and a unit of a fixed list, never anything for an expression evaluator.  What cannot be read is refused
with the mend for it.  The kinds and their units are those of ``kinds``; they can be taken from here as well.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Final

from .errors import Fault, QuantityError, cited
from .kinds import (
    AREA,
    CONDUCTANCE,
    CONDUCTIVITY,
    DENSITY,
    DIFFERENCE,
    ENERGY,
    ENERGY_PER_MASS,
    HEAT_TRANSFER,
    KINDS,
    LENGTH,
    MASS,
    MASS_PER_AREA,
    NUMBER,
    POWER,
    SHARE,
    SPECIFIC_HEAT,
    TEMPERATURE,
    TIME,
    VOLUME,
    VULGAR,
    WARMING,
    Kind,
    Unit,
)

__all__ = [
    "AREA",
    "CONDUCTANCE",
    "CONDUCTIVITY",
    "DENSITY",
    "DIFFERENCE",
    "ENERGY",
    "ENERGY_PER_MASS",
    "HEAT_TRANSFER",
    "KINDS",
    "LENGTH",
    "MASS",
    "MASS_PER_AREA",
    "POWER",
    "SHARE",
    "SPECIFIC_HEAT",
    "TEMPERATURE",
    "TIME",
    "VOLUME",
    "WARMING",
    "Kind",
    "Unit",
    "grid",
    "parse",
    "write",
]


_AMOUNT: Final = rf"(?:[0-9]+ [0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]* ?[{''.join(VULGAR)}]|{NUMBER})"
LONGEST: Final = 80
"""Characters. Our own writer needs 30; what is longer is no quantity, and not worth a big number's arithmetic."""
_IN_WORDS: Final[Mapping[str, str]] = {
    plural: unit
    for unit, words in {
        "g": "gr gram", "kg": "kilo kilogram", "t": "ton tonne", "lb": "pound", "oz": "ounce", "h": "hr hour",
        "min": "minute", "s": "sec second", "d": "day", "L": "liter litre", "mL": "milliliter millilitre",
        "gal": "gallon", "qt": "quart", "pt": "pint", "cup": "cup", "tbsp": "tablespoon", "tsp": "teaspoon",
        "m": "meter metre", "cm": "centimeter centimetre", "mm": "millimeter millimetre", "in": "inch",
        "°C": "celsius centigrade", "°F": "fahrenheit", "K": "kelvin", "%": "percent pct",
    }.items()
    for word in words.split()
    for plural in (word, f"{word}s")
}  # fmt: skip
"""Words for the message only: a text with one of these is refused and told the spelling we read."""


def grid(kind: Kind, value: float) -> float:
    """Put a value on the grid that makes equal inputs equal objects: 12 significant digits, temperatures to 1e-9 K.

    Exact factors alone do not make 1.001 kg and 1001 g the same float; the grid does.  Negative zero becomes zero.
    """
    if kind is TEMPERATURE or kind is DIFFERENCE:
        return round(value, 9) + 0.0
    return float(f"{value:.12g}") + 0.0


def parse(kind: Kind, text: str, where: str) -> float:
    """Read text as a value of a kind, in the kind's canonical unit.

    Args:
        kind: what is expected.
        text: a number and a unit with at most one space between; "1 lb 8 oz" and "1 h 20 min" for masses and times,
            "1 1/2 cup" and "½ cup" for household volumes.
        where: the name of the argument or key, for the message.

    Raises:
        QuantityError: for everything else, with the mend.

    Example:
        >>> parse(MASS, "1 lb 8 oz", "dough")
        680.388555
    """
    simple = kind.pattern.fullmatch(text)
    if simple is not None:
        sign, number, spelling = simple.groups()
        factor, offset = kind.scale[spelling]
        value = float(number) * factor
        value = grid(kind, (-value if sign == "-" else value) + offset)
    else:
        found = _fraction_or_compound(kind, text)
        if found is None:
            raise QuantityError(Fault(where, cited(text), kind.name, _mend(kind, text)))
        value = grid(kind, float(found))
    if not math.isfinite(value):
        raise QuantityError(Fault(where, cited(text), kind.name, "the number is too large"))
    if value < kind.lowest:
        raise QuantityError(Fault(where, repr(text), kind.name, "nothing is colder than -273.15 °C"))
    return value


def write(kind: Kind, value: float, unit: str | None = None) -> str:
    """Write a canonical value as text that reads back to the same value.

    Args:
        kind: what the value is.
        value: in the kind's canonical unit; it is put on the grid.
        unit: the spelling of the unit to write in; the canonical one if left out ("%" for a share).

    Raises:
        QuantityError: when the kind has no such unit.

    Example:
        >>> write(MASS, 93000.0, "kg"), write(TEMPERATURE, 25.0, "°F")
        ('93 kg', '77 °F')
    """
    spelling = kind.units[0].spellings[0] if unit is None else unit
    if spelling not in kind.scale:
        raise QuantityError(Fault("unit", repr(spelling), f"a unit of {kind.name}: {_listed(kind)}"))
    factor, offset = kind.scale[spelling]
    on_grid = grid(kind, value)
    number = (on_grid - offset) / factor
    # The shortest number that reads back: 300 °F, not the 300.0000000006 °F that the grid made of it.
    texts = (f"{number:.{digits}g}" for digits in (9, 10, 11, 12, 15, 17))
    same = (text for text in texts if grid(kind, float(text) * factor + offset) == on_grid)
    return f"{next(same, repr(number))} {spelling}"


def _fraction_or_compound(kind: Kind, text: str) -> Fraction | None:
    if len(text) > LONGEST:
        return None
    amount = _household(kind, text)
    return _compound(kind, text) if amount is None else amount


def _household(kind: Kind, text: str) -> Fraction | None:
    match = kind.household_pattern.fullmatch(text) if kind.household_pattern else None
    if match is None:
        return None
    *parts, spelling = match.groups()
    whole, top, bottom = (parts[0], parts[1], parts[2]) if parts[1] else (parts[3], parts[4], parts[5])
    if parts[7]:
        amount = Fraction(int(parts[6] or 0)) + VULGAR[parts[7]]
    elif int(bottom) == 0:
        return None
    else:
        amount = Fraction(int(whole or 0)) + Fraction(int(top), int(bottom))
    return amount * kind.spellings[spelling].factor


def _compound(kind: Kind, text: str) -> Fraction | None:
    """Read "1 lb 8 oz": units of the kind's ladder in falling order, whole numbers but for the last."""
    words = text.split(" ")
    ladder = [spelling for spelling, _ in kind.compound]
    if len(words) < 4 or len(words) % 2:
        return None
    numbers, spellings = words[::2], words[1::2]
    if any(spelling not in ladder for spelling in spellings):
        return None
    places = [ladder.index(spelling) for spelling in spellings]
    if places != list(range(places[0], places[0] + len(places))):
        return None
    if not all(re.fullmatch("[0-9]+", number) for number in numbers[:-1]) or not re.fullmatch(NUMBER, numbers[-1]):
        return None
    limits = [kind.compound[place][1] for place in places]
    if any(Fraction(number) >= limit for number, limit in zip(numbers[1:], limits[1:], strict=True)):
        return None
    return sum(
        (
            Fraction(number) * kind.spellings[spelling].factor
            for number, spelling in zip(numbers, spellings, strict=True)
        ),
        Fraction(0),
    )


def _listed(kind: Kind) -> str:
    return ", ".join(spelling for unit in kind.units for spelling in unit.spellings)


def _mend(kind: Kind, text: str) -> str:
    """Find out what is wrong with a text and say how to write it."""
    number = re.match(rf"[+-]?{_AMOUNT}", text)
    if number is None or number.group() == text:
        return _mend_number(kind, text) or f"add the unit, for example {kind.example}"
    return _mend_number(kind, text) or _mend_unit(kind, text[number.end() :].removeprefix(" "))


def _mend_number(kind: Kind, text: str) -> str:
    strange = next((s for s in text if not s.isascii() and s not in f"°℃℉‰{''.join((*VULGAR, *kind.spellings))}"), "")
    if text[:1] in ("+", "-") and not kind.signed:
        sign = f"{kind.name} cannot carry a sign" if text[0] == "+" else f"{kind.name} cannot be less than zero"
    else:
        sign = ""
    mends = (
        (not text.strip(), f"write for example {kind.example}"),
        (len(text) > LONGEST, f"write no more than {LONGEST} characters, for example {kind.example}"),
        (re.search(r"^\s|\s$|\s\s|[\t\n\r\f\v]", text), "leave no more than one space, and none around it"),
        (re.search("[0-9]_", text), "write the digits without underscores"),
        (re.search(r"/0(?![0-9])", text), "a fraction cannot have a zero below the line"),
        (re.search(r"[0-9],[0-9]{3}(?![0-9])|[.,][0-9]+[.,][0-9]+,|\.[0-9]+,", text),
         "write the number without commas: a decimal point, no thousands mark"),
        (re.search(r"[0-9],[0-9]", text), f"write a decimal point, not a comma: {text.replace(',', '.')!r}"),
        (re.match(r"[+-]?(nan|inf)", text, re.IGNORECASE), "the number must be finite"),
        (strange, f"{strange!r} has no place here: use the plain digits 0-9, - for minus and °"),
        (sign, sign),
        (re.match(r"[+-] ", text), "leave no space between the sign and the number"),
        (re.match(r"[+-]{2}", text), "write one sign only"),
        (re.match(r"[+-]?[0-9]*\.[0-9]*\.", text), "the number has more than one decimal point"),
        (re.match(r"[+-]?\.[0-9]", text), "write a zero before the decimal point"),
        (re.match(r"[+-]?[0-9]+\.(?![0-9])", text), "write a digit after the decimal point, or leave the point away"),
        (re.match(r"[+-]?[0-9.]+[eE][+-]?[0-9]", text) and not re.match(rf"[+-]?{NUMBER} ?[^0-9eE]", text),
         "write the number out, without an exponent"),
        (not re.match(r"[+-]?[0-9½¼¾⅓⅔⅛⅜⅝⅞]", text), f"write the number first, then the unit, for example {kind.example}"),
    )  # fmt: skip
    return next((mend for is_it, mend in mends if is_it), "")


def _mend_unit(kind: Kind, word: str) -> str:
    from difflib import get_close_matches  # noqa: PLC0415 - only a mistake needs it

    first = re.match(r"[^\W\d]*", word)
    if kind in (TEMPERATURE, DIFFERENCE) and word in ("C", "F", "c", "f"):
        return f"write the degree sign: °{word.upper()}"
    if word in kind.spellings:
        return "fractions are for household volumes only; write a decimal number"
    for other in KINDS:
        if word in other.spellings:
            return f"{word} is a unit of {other.name}; write for example {kind.example}"
    if kind.compound and first and first.group() in kind.spellings and re.search("[0-9]", word):
        ladder = " ".join(spelling for spelling, _ in kind.compound)
        return (
            f"only {ladder} are written together: falling, a space between all, whole numbers but for the last, "
            "each part smaller than one of the unit before it"
        )
    near = [s for s in kind.spellings if s.lower() == word.lower() or s == _IN_WORDS.get(word.lower())]
    near = near or get_close_matches(word, list(kind.spellings), 1, 0.5)
    hint = f"did you mean {near[0]}? " if near else ""
    return f"{hint}the units are {_listed(kind)}; write for example {kind.example}"
