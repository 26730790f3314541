"""Reading TOML files strictly: one error that names file, table and key, for all faults at once.

A file is opened with a limit on its size, must be UTF-8 and valid TOML, and is then laid into an attrs class whose
field types say what each key holds.  Nothing is coerced: a number is not a name, text is not a number, true is not one,
and a weight, temperature, time or share is text with its unit.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Iterator
from functools import cache, partial
from itertools import islice
from typing import TYPE_CHECKING, Any, Final, NewType, TypeVar, cast, get_args, get_origin

from attrs import fields, fields_dict, has, resolve_types

from .errors import Fault, FileError, FormulaError, cited
from .intake import MOST_FAULTS, MOST_VALUES, check_dotted, check_tables, check_values, read_text
from .quantity import DIFFERENCE, MASS, SHARE, TEMPERATURE, TIME, VOLUME, Kind, read

if TYPE_CHECKING:
    from pathlib import Path

    from cattrs import Converter

__all__ = ["Celsius", "Grams", "Hours", "Kelvins", "MassText", "Millilitres", "Share", "lay", "read_toml"]

T = TypeVar("T")

Grams = NewType("Grams", float)
Celsius = NewType("Celsius", float)
Kelvins = NewType("Kelvins", float)
Hours = NewType("Hours", float)
Millilitres = NewType("Millilitres", float)
Share = NewType("Share", float)
MassText = NewType("MassText", str)
"""A mass that stays text, because its printed digits matter."""

_MEASURES: Final[tuple[tuple[Any, Kind], ...]] = (
    (Grams, MASS), (Celsius, TEMPERATURE), (Kelvins, DIFFERENCE), (Hours, TIME), (Millilitres, VOLUME), (Share, SHARE),
)  # fmt: skip

LONGEST_TOLD: Final = 200
"""Characters of a parser's message."""


def read_toml(path: Path, most: int = MOST_VALUES) -> dict[str, Any]:
    """Read a TOML file as plain tables.

    Args:
        path: the file.
        most: the most values, list items and headings together.

    Raises:
        FileError: when the file cannot be read as text (see ``read_text``), is not TOML, or is too large, too deep or
            holds too much.
    """
    name = str(path)
    text = read_text(path)
    check_values(text, name, "=,[{", most)
    check_dotted(text, name)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise FileError(Fault(name, f"a TOML mistake: {_short(error)}", "valid TOML", "mend the line")) from None
    except RecursionError:
        raise FileError(Fault(name, "tables nested too deeply", "a flat file", "mend the file")) from None
    except ValueError:
        raise FileError(Fault(name, "a whole number of thousands of digits", "valid TOML", "mend the number")) from None
    check_tables(data, name)
    return data


def _short(error: Exception) -> str:
    """Return the message of a parser, which may quote a name as long as the file."""
    text = str(error)
    return text if len(text) <= LONGEST_TOLD else f"{text[: LONGEST_TOLD // 2]} ... {text[-LONGEST_TOLD // 2 :]}"


def lay(data: object, shape: type[T], where: str) -> T:
    """Lay plain tables into an attrs class, and tell of every fault at once.

    Args:
        data: tables as ``tomllib`` or ``json`` reads them.
        shape: an attrs class; its field types say what each key holds. One whose ``SHORT`` names its first key may also be
            written as the value of that key alone.
        where: the name of the file, for the message.

    Raises:
        FileError: with one fault for each unknown, missing or wrong key, each with its path.
    """
    from cattrs import BaseValidationError  # noqa: PLC0415 - 60 ms that only a reader of files pays

    converter = _converter()
    try:
        return converter.structure(data, shape)
    except BaseValidationError as error:
        faults = tuple(islice(_faults(error, where), MOST_FAULTS))
    except (FormulaError, TypeError, ValueError, KeyError, AttributeError) as error:
        faults = tuple(islice(_faults(error, where), MOST_FAULTS))
    raise FileError(*faults)


@cache
def _converter() -> Converter:
    from cattrs import Converter  # noqa: PLC0415

    converter = Converter(detailed_validation=True, forbid_extra_keys=True, use_alias=True)
    for kind, hook in ((float, _number), (int, _count), (str, _word), (bool, _truth)):
        converter.register_structure_hook(kind, cast("Callable[[Any, Any], Any]", hook))
    for measure, kind_ in _MEASURES:
        converter.register_structure_hook(measure, _measure(kind_))
    converter.register_structure_hook(MassText, _mass_text)

    # Left alone, cattrs would take the text "abc" for a list of three letters, and a list or a number for a table.
    def table_hook(shape: type[Any]) -> Callable[[Any, Any], Any]:
        fill = converter.gen_structure_attrs_fromdict(shape)
        short: str = getattr(shape, "SHORT", "")

        def hook(value: object, _: object) -> object:
            if not isinstance(value, dict):
                if short and not isinstance(value, list):
                    kind = cast("type[Any]", fields_dict(resolve_types(shape))[short].type)
                    return shape(converter.structure(value, kind))
                raise _refuse(value, "a table of keys and values")
            return fill(cast("dict[str, Any]", value), shape)

        return hook

    converter.register_structure_hook_factory(has, table_hook)
    converter.register_structure_hook_factory(_is_tuple, partial(_list_hook, converter))
    return converter


def _list_hook(converter: Converter, shape: Any) -> Callable[[Any, Any], Any]:  # noqa: ANN401 - such as tuple[str, ...]
    """Lay a list item by item, until so many are wrong that nobody reads on."""
    from cattrs import IterableValidationError, IterableValidationNote  # noqa: PLC0415

    inner = get_args(shape)[0]

    def hook(value: object, _: object) -> object:
        if not isinstance(value, list):
            raise _refuse(value, "a list", "put it between [ and ], or a table under [[ and ]]")
        made: list[Any] = []
        errors: list[Exception] = []
        for number, item in enumerate(value):
            try:
                made.append(converter.structure(item, inner))
            except Exception as error:  # noqa: BLE001 - as cattrs does; each is told of with its place
                error.add_note(IterableValidationNote("an item", number, inner))
                errors.append(error)
                if len(errors) == MOST_FAULTS:
                    break
        if errors:
            message = "a list"
            raise IterableValidationError(message, errors, shape)  # pyright: ignore[reportCallIssue] - as cattrs makes it
        return tuple(made)

    return hook


def _is_tuple(shape: object) -> bool:
    return get_origin(shape) is tuple


def _refuse(value: object, expected: str, fix: str = "") -> FormulaError:
    got = "a table" if isinstance(value, dict) else "a list" if isinstance(value, list) else cited(value)
    return FormulaError(Fault("", got, expected, fix))


def _number(value: object, _: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise _refuse(value, "a number", "write it without quotes")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise _refuse(value, "a finite number")
    return number


def _count(value: object, _: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise _refuse(value, "a whole number", "write it without quotes or decimals")
    return value


def _word(value: object, _: object) -> str:
    if not isinstance(value, str):
        raise _refuse(value, "text", "put it between quotes")
    return value


def _truth(value: object, _: object) -> bool:
    if not isinstance(value, bool):
        raise _refuse(value, "true or false")
    return value


def _mass_text(value: object, _: object) -> str:
    if not isinstance(value, str):
        raise _refuse(value, MASS.name, f"write text with a unit: {MASS.example}")
    read(MASS, value, "")
    return value


def _measure(kind: Kind) -> Callable[[Any, Any], float]:
    def hook(value: Any, _: object) -> float:  # noqa: ANN401 - whatever stands in the file
        if not isinstance(value, str):
            raise _refuse(value, kind.name, f"write text with a unit: {kind.example}")
        return read(kind, value, "")

    return hook


def _faults(error: BaseException, where: str) -> Iterator[Fault]:
    """Walk the tree of validation errors down to its leaves, gathering the path on the way."""
    from cattrs import (  # noqa: PLC0415
        AttributeValidationNote,
        BaseValidationError,
        ForbiddenExtraKeysError,
        IterableValidationNote,
    )

    if isinstance(error, BaseValidationError):
        for inner in error.exceptions:
            step = ""
            notes: tuple[object, ...] = getattr(inner, "__notes__", ())
            for note in (each for each in notes if isinstance(each, (AttributeValidationNote, IterableValidationNote))):
                if isinstance(note, AttributeValidationNote):
                    step = f".{note.name}"
                else:
                    step = f"[{note.index!r}]" if isinstance(note.index, int) else f".{note.index}"
            joined = where + step if ": " in where else f"{where}: {step.lstrip('.')}"
            yield from _faults(inner, joined if step else where)
    elif isinstance(error, ForbiddenExtraKeysError):
        known = ", ".join(sorted(field.alias or field.name for field in fields(error.cl)))
        for key in sorted(error.extra_fields):
            yield Fault(
                f"{where}: {key}" if ": " not in where else f"{where}.{key}", "an unknown key", f"one of {known}"
            )
    elif isinstance(error, FormulaError):
        for fault in error.faults:
            place = f"{where} ({fault.where})" if fault.where else where
            yield Fault(place, fault.got, fault.expected, fault.fix)
    elif isinstance(error, KeyError):
        yield Fault(where, "nothing", f"the key {error.args[0]!r}", "add it")
    else:
        # A mapping of free keys asks its value for its items before any hook of ours sees it.
        yield Fault(where, "something else", "a table of keys and values")
