"""Yeast: its forms, and how much of one form does the work of another.

One factor is kept for each form, its weight per 1 of fresh yeast, and never one for a pair: so a conversion there and
back returns, and going by way of a third form changes nothing.  Published tables disagree about the factors by a third
and more; the defaults sit in the middle, ``low`` and ``high`` show the spread, and ``factor`` takes the maker's own
figure, which is always the better one.
"""

from __future__ import annotations

from typing import ClassVar, Final

from attrs import frozen

from .errors import Fault, QuantityError, UnknownNameError
from .quantity import MASS, Door, Measure, View
from .readerunits import with_grams
from .sources import Constant
from .working import Caution, Step, Working, shown

__all__ = ["YEAST_FORMS", "YeastConversion", "YeastForm", "convert_yeast", "converted_mass_g", "yeast_form"]


@frozen
class YeastForm:
    """A form in which baker's yeast is bought.

    Attributes:
        name: the trade's name of the form.
        factor: its weight per 1 of fresh yeast.
        low: the smallest published factor.
        high: the largest published factor.
        solids: its share of dry matter.
        aliases: other names it answers to.
    """

    name: str
    factor: Constant
    low: float
    high: float
    solids: Constant
    aliases: tuple[str, ...] = ()

    @property
    def equal_solids_factor(self) -> float:
        """The weight that holds as much dry matter as 1 of fresh yeast: what drying without any loss would leave.

        Example:
            >>> round(yeast_form("active dry").equal_solids_factor, 3)
            0.326
        """
        return yeast_form("fresh").solids.value / self.solids.value


LARGEST_FACTOR: Final = 1000.0
"""A factor above this is a slip of the decimal point, whatever the forms."""

_SOLIDS: Final = "aacc-89-01"
_FACTORS: Final = "yeast-conversion-ckbk"
_INSTANT_SOLIDS: Final = Constant(0.95, "1", 0.005, _SOLIDS, "abstract: instant dry yeast")

# The published spreads: active dry 0.33 (dry yeast as one third, German household rule and a Russian table) to 0.50
# (Gisslen, Professional Cooking; a bakery's guide); instant 0.28 (the middle of a German lexicon's 0.25 to 0.30 for dry
# yeast) to 0.40.  Equal solids would ask for 0.326 and 0.316: drying kills part of the yeast, so most bakers use more.
YEAST_FORMS: Final = (
    YeastForm(
        name="fresh",
        factor=Constant(1.0, "1", 0.0, "common-practice", "the yardstick of the other forms"),
        low=1.0,
        high=1.0,
        solids=Constant(0.30, "1", 0.005, _SOLIDS, "abstract: fresh yeast, so 70 % water"),
        aliases=("compressed", "cake", "block"),
    ),
    YeastForm(
        name="active dry",
        factor=Constant(0.40, "1", 0.085, _FACTORS, "yeast conversions, fresh to dry; published spread 0.33 to 0.50"),
        low=0.33,
        high=0.50,
        solids=Constant(0.92, "1", 0.005, _SOLIDS, "abstract: active dry yeast"),
        aliases=("ady",),
    ),
    YeastForm(
        name="instant",
        factor=Constant(0.33, "1", 0.06, _FACTORS, "yeast conversions, fresh to dry; published spread 0.28 to 0.40"),
        low=0.28,
        high=0.40,
        solids=_INSTANT_SOLIDS,
        aliases=("instant dry", "instant active dry", "idy"),
    ),
    YeastForm(
        name="osmotolerant instant",
        factor=Constant(0.33, "1", 0.06, "common-practice", "weight for weight like instant, in sweet doughs"),
        low=0.28,
        high=0.40,
        solids=_INSTANT_SOLIDS,
        aliases=("osmotolerant", "osmotolerant instant dry", "instant osmotolerant"),
    ),
)
"""The forms, each with one factor relative to fresh yeast."""

_BY_NAME: Final = {name: form for form in YEAST_FORMS for name in (form.name, *form.aliases)}


def yeast_form(name: str, where: str = "yeast form") -> YeastForm:
    """Return the form of yeast with a name; case, underscores, hyphens and a closing "yeast" do not matter.

    Args:
        name: "fresh", "active dry", "instant", "osmotolerant instant", or another name of one of these.
        where: the name of the argument, for the message.

    Raises:
        UnknownNameError: when no form has this name.  Plain "dry yeast" has none: it may be active dry or instant.

    Example:
        >>> yeast_form("Compressed yeast").name, yeast_form("active_dry").factor.value
        ('fresh', 0.4)
    """
    if isinstance(name, str):  # pyright: ignore[reportUnnecessaryIsInstance] - callers without a type checker
        plain = " ".join(name.casefold().replace("_", " ").replace("-", " ").split()).removesuffix(" yeast")
        if plain in _BY_NAME:
            return _BY_NAME[plain]
    known = ", ".join(f'"{form.name}"' for form in YEAST_FORMS)
    mend = (
        'dry yeast is "active dry" or "instant": the packet says which'
        if str(name).casefold().startswith("dry")
        else ""
    )
    raise UnknownNameError(Fault(where, repr(name), f"one of {known}", mend))


def converted_mass_g(mass_g: float, factor_from: float, factor_to: float) -> float:
    """Return the weight of one form that does the work of another: mass * factor_to / factor_from.

    Args:
        mass_g: weight of the form at hand, g.
        factor_from: weight of that form per 1 of fresh yeast.
        factor_to: weight of the wanted form per 1 of fresh yeast.

    Example:
        >>> converted_mass_g(100.0, 1.0, 0.4)
        40.0
    """
    return mass_g * factor_to / factor_from


@frozen
class YeastConversion:
    """How much of ``to_form`` replaces an ``amount`` of ``from_form``.

    ``low`` and ``high`` follow from the published spread of the factors.  ``water_change`` is the weight the yeast
    loses, to be made up with water: positive means add water to the dough, negative means hold it back.
    """

    amount_g: float
    from_form: str
    to_form: str
    factor: float | None
    mass_g: float
    low_g: float
    high_g: float
    water_change_g: float
    cautions: tuple[Caution, ...] = ()

    amount: ClassVar[View] = View(MASS, "amount_g", "The yeast to replace.")
    mass: ClassVar[View] = View(MASS, "mass_g", "The yeast that replaces it.")
    low: ClassVar[View] = View(MASS, "low_g", "The least that published factors ask for.")
    high: ClassVar[View] = View(MASS, "high_g", "The most that published factors ask for.")
    water_change: ClassVar[View] = View(
        MASS, "water_change_g", "The water that keeps the dough at its weight; below zero, water to hold back."
    )

    def working(self) -> Working:
        """Show the steps; the last line is the weight of yeast."""
        title = f"From {self.from_form} to {self.to_form} yeast"
        made_up = "water that keeps the dough at its weight"
        if self.factor is not None:
            values = {"amount": self.amount_g, "factor": self.factor}
            steps: tuple[Step, ...] = (
                Step(
                    "factor", "factor", {"factor": self.factor}, self.factor, "1", note="given", units={"factor": "1"}
                ),
                Step(
                    "water",
                    "amount * (1 - factor)",
                    values,
                    self.water_change_g,
                    "g",
                    note=made_up,
                    units=with_grams(values, "amount"),
                ),
                Step("mass", "amount * factor", values, self.mass_g, "g", units=with_grams(values, "amount")),
            )
            return Working(title, steps, self.cautions)
        old, new = yeast_form(self.from_form).factor, yeast_form(self.to_form).factor
        values = {"amount": self.amount_g, "f_from": old.value, "f_to": new.value}
        steps = (
            _factor_step("f_from", self.from_form, old),
            _factor_step("f_to", self.to_form, new),
            Step(
                "water",
                "amount * (1 - f_to / f_from)",
                values,
                self.water_change_g,
                "g",
                note=made_up,
                units=with_grams(values, "amount"),
            ),
            Step("mass", "amount * f_to / f_from", values, self.mass_g, "g", units=with_grams(values, "amount")),
        )
        return Working(title, steps, self.cautions)


def convert_yeast(amount: Measure, from_form: str, to_form: str, factor: float | None = None) -> YeastConversion:
    """Convert an amount of yeast to another form: mass = amount * f_to / f_from.

    Args:
        amount: the yeast at hand, a mass.
        from_form: its form; see ``yeast_form`` for the names.
        to_form: the wanted form.
        factor: your own figure instead of the published ones: the weight of ``to_form`` per 1 of ``from_form``, a plain
            number above zero.

    Returns:
        ``mass`` with the published spread ``low`` and ``high``, and ``water_change``: fresh yeast is 70 % water, so the
        weight that falls away is made up with water and the dough keeps its weight.

    Raises:
        UnknownNameError: when a form has no such name.
        QuantityError: when the amount is no mass or the factor no number above zero.

    Accuracy: published factors differ from the defaults by -18 to +25 % (active dry) and -15 to +21 % (instant); makers'
    own tables go first.  Forms with the same factors are exchanged weight for weight, without spread; with your own
    factor ``low`` and ``high`` equal ``mass``.

    Example:
        >>> made = convert_yeast("40 g", "fresh", "instant")
        >>> round(made.mass_g, 2), round(made.low_g, 2), round(made.high_g, 2), round(made.water_change_g, 2)
        (13.2, 11.2, 16.0, 26.8)
    """
    unknown = [*_unknown(from_form, "from_form"), *_unknown(to_form, "to_form")]
    with Door(UnknownNameError if unknown else QuantityError) as door:
        door.faults.extend(unknown)
        amount_g = door.read(MASS, amount, "amount")
        if factor is not None and not _is_factor(factor):
            mend = "give the weight of the new form per 1 of the old, for example 0.33"
            door.refuse("factor", repr(factor), "a number above zero, at most 1000", mend)
    old, new = yeast_form(from_form), yeast_form(to_form)
    if factor is not None:
        factor = float(factor)
        mass_g = low_g = high_g = amount_g * factor
    else:
        mass_g = converted_mass_g(amount_g, old.factor.value, new.factor.value)
        # Forms of the same strength share their uncertainty; it cancels between them.
        same = (old.factor.value, old.low, old.high) == (new.factor.value, new.low, new.high)
        low_g = mass_g if same else converted_mass_g(amount_g, old.high, new.low)
        high_g = mass_g if same else converted_mass_g(amount_g, old.low, new.high)
    return YeastConversion(
        amount_g=amount_g,
        from_form=old.name,
        to_form=new.name,
        factor=factor,
        mass_g=mass_g,
        low_g=low_g,
        high_g=high_g,
        water_change_g=amount_g - mass_g,
        cautions=_cautions(old, new, factor),
    )


def _factor_step(symbol: str, name: str, factor: Constant) -> Step:
    note = f"{name} per 1 of fresh; {factor.where}"
    return Step(symbol, symbol, {symbol: factor.value}, factor.value, "1", factor.source, note, {symbol: "1"})


def _unknown(name: str, where: str) -> tuple[Fault, ...]:
    try:
        yeast_form(name, where)
    except UnknownNameError as error:
        return error.faults
    return ()


def _is_factor(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and 0 < value <= LARGEST_FACTOR


def _cautions(old: YeastForm, new: YeastForm, factor: float | None) -> tuple[Caution, ...]:
    low, high = converted_mass_g(1.0, old.high, new.low), converted_mass_g(1.0, old.low, new.high)
    if factor is None or low <= factor <= high:
        return ()
    text = (
        f"The factor {shown(factor)} from {old.name} to {new.name} yeast lies outside what is published,"
        f" {shown(low, 2)} to {shown(high, 2)}; check that it is the weight of {new.name} per 1 of {old.name}."
    )
    return (Caution("outside-published-spread", text),)
