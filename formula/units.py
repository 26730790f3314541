"""The units of the trade, and how they are written as text.

A ``Kind`` is one physical dimension with one canonical unit, in which every float inside the library is kept.  Text is
read by a strict grammar, a number and a unit of a fixed list, never by an expression evaluator.  Factors are exact by
definition (international pound and gallon, 1959; BIPM SI brochure) and kept as fractions, floats being made of them once.

A temperature and a temperature difference are two kinds: 25 °C is 77 °F, but a rise of 25 K is one of 45 °F.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import cached_property
from typing import Final

from attrs import field, frozen

from .errors import Fault, QuantityError, cited

__all__ = [
    "DIFFERENCE",
    "ENERGY",
    "KINDS",
    "MASS",
    "SHARE",
    "TEMPERATURE",
    "TIME",
    "VOLUME",
    "Kind",
    "Unit",
    "grid",
    "parse",
    "write",
]

NUMBER: Final = r"[0-9]+(?:\.[0-9]+)?(?:e[+-][0-9]{2,3})?"
VULGAR: Final[Mapping[str, Fraction]] = {
    "½": Fraction(1, 2), "¼": Fraction(1, 4), "¾": Fraction(3, 4), "⅓": Fraction(1, 3), "⅔": Fraction(2, 3),
    "⅛": Fraction(1, 8), "⅜": Fraction(3, 8), "⅝": Fraction(5, 8), "⅞": Fraction(7, 8),
}  # fmt: skip
FRACTION: Final = rf"(?:([0-9]+) ([0-9]+)/([0-9]+)|()([0-9]+)/([0-9]+)|([0-9]*) ?([{''.join(VULGAR)}]))"

_AMOUNT: Final = rf"(?:[0-9]+ [0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]* ?[{''.join(VULGAR)}]|{NUMBER})"
LONGEST: Final = 80
"""Characters. Our own writer needs 30; what is longer is no quantity, and not worth a big number's arithmetic."""
_IN_WORDS: Final[Mapping[str, str]] = {
    plural: unit
    for unit, words in {
        "g": "gr gram", "kg": "kilo kilogram", "t": "ton tonne", "lb": "pound", "oz": "ounce", "h": "hr hour",
        "min": "minute", "s": "sec second", "d": "day", "L": "liter litre", "mL": "milliliter millilitre",
        "gal": "gallon", "qt": "quart", "pt": "pint", "cup": "cup", "tbsp": "tablespoon", "tsp": "teaspoon",
        "°C": "celsius centigrade", "°F": "fahrenheit", "K": "kelvin", "%": "percent pct",
    }.items()
    for word in words.split()
    for plural in (word, f"{word}s")
}  # fmt: skip
"""Words for the message only: a text with one of these is refused and told the spelling we read."""


def _either(spellings: Iterable[str]) -> str:
    return "|".join(re.escape(spelling) for spelling in sorted(spellings, key=len, reverse=True))


@frozen
class Unit:
    """A unit: its spellings (the first is the one we write), its size and its zero in the canonical unit."""

    spellings: tuple[str, ...]
    factor: Fraction
    offset: Fraction = Fraction(0)
    household: bool = False


@frozen(eq=False)
class Kind:
    """One dimension: what it is called, its units, its canonical unit and an example for messages.

    ``pint_unit`` is the canonical unit as pint names it; ``signed`` tells whether less than zero makes sense;
    ``compound`` names the pairs that may be written together ("1 lb 8 oz"); ``lowest`` is the smallest value allowed.
    """

    name: str
    pint_unit: str
    example: str
    units: tuple[Unit, ...]
    signed: bool = False
    lowest: float = 0.0
    compound: tuple[tuple[str, int], ...] = ()
    spellings: dict[str, Unit] = field(init=False)
    scale: dict[str, tuple[float, float]] = field(init=False)

    def __attrs_post_init__(self) -> None:
        """Prepare the table of spellings and the factors as floats."""
        table = {spelling: unit for unit in self.units for spelling in unit.spellings}
        object.__setattr__(self, "spellings", table)
        object.__setattr__(self, "scale", {s: (float(unit.factor), float(unit.offset)) for s, unit in table.items()})

    @cached_property
    def pattern(self) -> re.Pattern[str]:
        """The grammar of a number and a unit, compiled when a text of this kind is first read."""
        sign = "([+-]?)" if self.signed else "()"
        return re.compile(rf"{sign}({NUMBER}) ?({_either(self.spellings)})")

    @cached_property
    def household_pattern(self) -> re.Pattern[str] | None:
        """The grammar of a fraction and a household unit, if this kind has such units."""
        household = [spelling for spelling, unit in self.spellings.items() if unit.household]
        return re.compile(rf"{FRACTION} ?({_either(household)})") if household else None

    def __repr__(self) -> str:
        """Return the kind's name."""
        return f"<Kind {self.name}>"

    def __reduce__(self) -> str:
        """Pickle by name: a kind is one of the constants of this room."""
        return next(name for name, kind in globals().items() if kind is self)


MASS: Final = Kind(
    name="a mass",
    pint_unit="gram",
    example='"93 kg", "250 g" or "1 lb 8 oz"',
    units=(
        Unit(("g",), Fraction(1)),
        Unit(("kg",), Fraction(1000)),
        Unit(("mg",), Fraction(1, 1000)),
        Unit(("t",), Fraction(1_000_000)),
        Unit(("lb",), Fraction("453.59237")),
        Unit(("oz",), Fraction("453.59237") / 16),
    ),
    compound=(("lb", 0), ("oz", 16)),
)
TEMPERATURE: Final = Kind(
    name="a temperature",
    pint_unit="degree_Celsius",
    example='"25 °C" or "78 °F"',
    units=(
        Unit(("°C", "℃", "degC"), Fraction(1)),
        Unit(("°F", "℉", "degF"), Fraction(5, 9), Fraction(-160, 9)),
        Unit(("K",), Fraction(1), Fraction("-273.15")),
    ),
    signed=True,
    lowest=-273.15,
)
DIFFERENCE: Final = Kind(
    name="a temperature difference",
    pint_unit="delta_degree_Celsius",
    example='"8 K" or "14 °F" (read as a difference)',
    units=(Unit(("K", "°C", "℃", "degC"), Fraction(1)), Unit(("°F", "℉", "degF"), Fraction(5, 9))),
    signed=True,
    lowest=-math.inf,
)
TIME: Final = Kind(
    name="a time",
    pint_unit="hour",
    example='"4 h", "90 min" or "1 h 20 min"',
    units=(
        Unit(("h",), Fraction(1)),
        Unit(("min",), Fraction(1, 60)),
        Unit(("s",), Fraction(1, 3600)),
        Unit(("d",), Fraction(24)),
    ),
    compound=(("d", 0), ("h", 24), ("min", 60), ("s", 60)),
)
_GALLON_ML: Final = Fraction("3785.411784")
VOLUME: Final = Kind(
    name="a volume",
    pint_unit="milliliter",
    example='"500 mL", "2 L" or "1 1/2 cup" (US customary)',
    units=(
        Unit(("mL", "ml"), Fraction(1)),
        Unit(("L", "l"), Fraction(1000)),
        *(
            Unit((f"US {name}", name), _GALLON_ML / parts, household=True)
            for name, parts in (
                ("gal", 1),
                ("qt", 4),
                ("pt", 8),
                ("cup", 16),
                ("fl oz", 128),
                ("tbsp", 256),
                ("tsp", 768),
            )
        ),
    ),
)
ENERGY: Final = Kind(
    name="an energy",
    pint_unit="kilojoule",
    example='"150 kJ" or "4 Wh"',
    units=(
        Unit(("kJ",), Fraction(1)),
        Unit(("Wh",), Fraction("3.6")),
        Unit(("kWh",), Fraction(3600)),
        Unit(("Btu",), Fraction("1.05505585262")),
    ),
)
SHARE: Final = Kind(
    name="a share",
    pint_unit="dimensionless",
    example='"12 %" or "5 ‰"',
    units=(Unit(("%",), Fraction(1, 100)), Unit(("‰",), Fraction(1, 1000))),
)
KINDS: Final = (MASS, TEMPERATURE, DIFFERENCE, TIME, VOLUME, ENERGY, SHARE)


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
    strange = re.search(rf"[^\x00-\x7f°℃℉‰{''.join(VULGAR)}]", text)
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
        (strange, f"{strange and strange.group()!r} has no place here: use the plain digits 0-9, - for minus and °"),
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
