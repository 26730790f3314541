"""The edge: quantities come in through here as text or as pint quantities, and go out through here.

Inside the library every value is a plain float in one canonical unit.  Text never touches pint.  pint is imported only
when the first quantity crosses the edge, under one lock, and never configured: a quantity's own registry says what its
units mean, and what goes out is built in the application registry of the moment.

A host program that first uses pint itself in several threads is outside this lock: let it use pint once before.
"""

from __future__ import annotations

import math
import re
import sys
import threading
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from numbers import Number
from types import TracebackType
from typing import TYPE_CHECKING, Any, Final, Protocol, Self, TypeAlias, overload

from .errors import Fault, FormulaError, QuantityError, cited
from .units import (
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
    POWER,
    SHARE,
    SPECIFIC_HEAT,
    TEMPERATURE,
    TIME,
    VOLUME,
    WARMING,
    Kind,
    grid,
    parse,
    write,
)

if TYPE_CHECKING:
    from pint.facets.plain import PlainQuantity

    Quantity: TypeAlias = PlainQuantity[float]

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
    "Door",
    "Kind",
    "Measure",
    "OptionalView",
    "QuantityLike",
    "View",
    "grid",
    "read",
    "view",
    "write",
]


class QuantityLike(Protocol):
    """What the edge needs of a quantity: pint's own fulfil it, whatever their registry."""

    @property
    def magnitude(self) -> Any:  # noqa: ANN401 - a registry may hold any number type
        """The number before the unit."""

    @property
    def units(self) -> Any:  # noqa: ANN401 - each registry has its own unit class
        """The unit."""

    def m_as(self, units: Any, /) -> Any:  # noqa: ANN401
        """The number after conversion to a unit."""


Measure: TypeAlias = str | QuantityLike
"""What a caller may write wherever a unit is needed: text such as "93 kg", or a pint quantity of any registry."""

_lock = threading.Lock()
_ready = False


def _registry() -> Any:  # noqa: ANN401 - pint's registries share no public static type
    """Return the application registry of the moment, having woken pint up once, under the lock."""
    global _ready  # noqa: PLW0603 - the one piece of process-wide state, see below
    if not _ready:
        with _lock:
            import pint  # noqa: PLC0415 - 100 ms that a caller of text should not pay

            # The application registry is lazy: the first conversion builds it, and eight threads that
            # build it at once break it.  So one conversion happens here before anybody is let through.
            application_registry: Any = pint.get_application_registry
            application_registry().Quantity(1.0, "kilogram").to("gram")
            _ready = True
    return sys.modules["pint"].get_application_registry()


def view(kind: Kind, value: float) -> Quantity:
    """Return a canonical value as a quantity in pint's application registry.

    Args:
        kind: what the value is.
        value: in the kind's canonical unit.

    Example:
        >>> view(MASS, 1250.0).to("kg").magnitude
        1.25
    """
    registry = _registry()
    if kind is SHARE:
        quantity: Quantity = registry.Quantity(value * 100, "percent")
    else:
        quantity = registry.Quantity(value, kind.pint_unit)
    return quantity


class OptionalView(property):
    """A ``View`` of a value that may not be known; then it is None as well."""

    def __init__(self, kind: Kind, name: str, what: str, *, percent: bool = False) -> None:
        def seen(owner: object) -> Quantity | None:
            value = getattr(owner, name)
            return None if value is None else view(kind, value / 100 if percent else value)

        super().__init__(seen, doc=what)

    @overload
    def __get__(self, owner: None, cls: type, /) -> Self: ...
    @overload
    def __get__(self, owner: object, cls: type | None = None, /) -> Quantity | None: ...
    def __get__(self, owner: object, cls: type | None = None, /) -> object:
        """Return the quantity, or the view itself when asked of the class."""
        return super().__get__(owner, cls)


class View(OptionalView):
    """A value that its owner keeps as a plain float, seen as a quantity: ``time = View(TIME, "time_h", "The time.")``.

    Args:
        kind: what the value is.
        name: the attribute that holds it, in the kind's canonical unit.
        what: the docstring.
        percent: the attribute holds a share as a percentage.
    """

    @overload
    def __get__(self, owner: None, cls: type, /) -> Self: ...
    @overload
    def __get__(self, owner: object, cls: type | None = None, /) -> Quantity: ...
    def __get__(self, owner: object, cls: type | None = None, /) -> object:
        """Return the quantity, or the view itself when asked of the class."""
        return super().__get__(owner, cls)


def read(kind: Kind, value: Measure, where: str) -> float:
    """Read text or a quantity as a value of a kind, in the kind's canonical unit and on the grid.

    Args:
        kind: what is expected.
        value: text such as ``"93 kg"``, or a pint quantity of any registry.
        where: the name of the argument or key, for the message.

    Raises:
        QuantityError: a bare number, a wrong dimension, an array, a value that is not finite or out of range, a plain
            temperature given as a difference, or text outside the grammar.

    Example:
        >>> read(TEMPERATURE, "77 °F", "dough"), read(DIFFERENCE, "9 °F", "friction")
        (25.0, 5.0)
    """
    if isinstance(value, str):
        return parse(kind, value, where)
    # Without pint nothing can be a quantity; while another thread is still importing it, the class is not there yet.
    quantity_class = getattr(sys.modules.get("pint.facets.plain"), "PlainQuantity", None)
    if quantity_class is None or not isinstance(value, quantity_class):
        raise QuantityError(_not_a_measure(kind, value, where))
    return _from_quantity(kind, value, where)


def _not_a_measure(kind: Kind, value: object, where: str) -> Fault:
    if isinstance(value, bool) or value is None:
        return Fault(where, repr(value), kind.name, f"write for example {kind.example}")
    if isinstance(value, Number):
        number, unit = cited(value, str), kind.units[0].spellings[0]
        example = f'"{number} {unit}"' if re.fullmatch(r"-?[0-9.]+", number) else kind.example
        return Fault(where, f"the bare number {number}", kind.name, f"say the unit, for example {example}")
    return Fault(where, f"an object of type {type(value).__name__}", kind.name, f"write for example {kind.example}")


def _from_quantity(kind: Kind, value: Any, where: str) -> float:  # noqa: ANN401 - a quantity of any registry
    def fault(fix: str, expected: str = kind.name) -> Fault:
        # The host may have set a format of its own for quantities: ask for the long one.
        return Fault(where, f"the quantity {cited(value.magnitude, str)} {value.units:D}", expected, fix)

    single = f"{kind.name} as a single number"
    if getattr(value.magnitude, "shape", ()) != ():
        raise QuantityError(fault("pass arrays to the kernels, which take floats", single))
    target = "kelvin" if kind is DIFFERENCE else kind.pint_unit
    if not value.is_compatible_with(target):
        raise QuantityError(fault(f"write for example {kind.example}"))
    try:
        if kind.signed:
            name = next(iter(value.unit_items()))[0]
            if kind is TEMPERATURE and name.startswith("delta_"):
                mend = f"use {name.removeprefix('delta_')} or text such as {kind.example}"
                raise QuantityError(fault(mend, "a temperature, not a difference"))
            # What is not zero at zero has an offset: it is a place on a scale, not a step along it.
            if kind is DIFFERENCE and _converted(value.__class__(0, value.units), "kelvin") != 0:
                mend = f'use delta_{name}, kelvin or text such as "14 °F"'
                raise QuantityError(fault(mend, "a temperature difference, not a temperature"))
        number = _converted(value, target)
    except OverflowError:
        raise QuantityError(fault("the number is too large")) from None
    except ArithmeticError:
        raise QuantityError(fault("the number must be finite")) from None
    except TypeError:
        raise QuantityError(fault("give it as a plain number", single)) from None
    if not math.isfinite(number):
        raise QuantityError(fault("the number must be finite"))
    number = grid(kind, number)
    if number < kind.lowest:
        low = "nothing is colder than -273.15 °C" if kind.signed else f"{kind.name} cannot be less than zero"
        raise QuantityError(fault(low))
    return number


def _converted(value: Any, target: str) -> float:  # noqa: ANN401 - a quantity of any registry
    """Convert by the quantity's own registry; its factors are floats, Decimals or Fractions and take only their own."""
    for number_type in _NUMBER_TYPES:
        try:
            return float(value.__class__(number_type(value.magnitude), value.units).m_as(target))
        except TypeError:
            continue
        except ValueError:
            # A signalling NaN of Decimals has no float.
            return math.nan
    message = "no number type fits"
    raise TypeError(message)


def _as_it_is(number: Any) -> Any:  # noqa: ANN401 - whatever the registry holds
    return number


def _decimal(number: Any) -> Decimal:  # noqa: ANN401 - whatever the registry holds
    return Decimal(float(number))


_NUMBER_TYPES: Final[tuple[Callable[[Any], Any], ...]] = (_as_it_is, float, _decimal, Fraction)


_SMALLEST, _LARGEST = 1e-9, 1e12
"""In each canonical unit. What lies outside is a slip, and would only run out of floats further on."""


class Door:
    """Read many arguments and tell of all the bad ones at once.

    Example:
        >>> with Door() as door:
        ...     dough_c = door.read(TEMPERATURE, "25 °C", "dough")
        >>> dough_c
        25.0
    """

    def __init__(self, error: type[FormulaError] = QuantityError) -> None:
        """Start with no faults; ``error`` is what is raised if there are any at the end."""
        self.faults: Final[list[Fault]] = []
        self._error = error

    def read(self, kind: Kind, value: Measure, where: str) -> float:
        """Read one argument; a bad one is noted and answered with NaN."""
        try:
            return read(kind, value, where)
        except QuantityError as error:
            self.faults.extend(error.faults)
            return math.nan

    def read_above_zero(self, kind: Kind, value: Measure, where: str) -> float:
        """Read one argument that must be more than nothing, and of a size that a bakery meets."""
        number = self.read(kind, value, where)
        example = f"write for example {kind.example}"
        if number == 0:
            self.refuse(where, write(kind, number), f"{kind.name} above zero", example)
        elif number < _SMALLEST or number > _LARGEST:
            self.refuse(where, write(kind, number), f"{kind.name} that a bakery meets", example)
        return number

    def read_number(self, value: object, where: str, least: float, most: float) -> float:
        """Read a plain number without a unit, such as a ratio or a power, from ``least`` to ``most``."""
        if isinstance(value, (int, float)) and not isinstance(value, bool) and least <= value <= most:
            return float(value)
        self.refuse(where, cited(value), f"a plain number from {least:g} to {most:g}", "it carries no unit")
        return math.nan

    def refuse(self, where: str, got: str, expected: str, fix: str = "") -> None:
        """Note a fault that no reader could see."""
        self.faults.append(Fault(where, got, expected, fix))

    def close(self) -> None:
        """Raise one error with every fault noted, if there are any."""
        if self.faults:
            raise self._error(*self.faults)

    def __enter__(self) -> Self:
        """Open the door."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the door, unless something else went wrong inside."""
        if kind is None:
            self.close()
