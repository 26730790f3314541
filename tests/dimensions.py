"""Of what kind a number is, a mass or a time, as its unit says; and whether a step of a working adds up in kind."""

import ast
import re
from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import cache, lru_cache

from formula.lines import Lines
from formula.working import Step

Kind = Lines[Fraction]
"""The powers of mass, length, time, temperature and money; of none of them for a plain number."""

PLAIN = Lines[Fraction](())
_ENERGY = {"mass": 1, "length": 2, "time": -2}
_UNITS: Mapping[tuple[str, ...], Mapping[str, int]] = {
    ("1", "%", "piece", "pieces", "loads", "summed", "serving", "day"): {},
    ("mcg", "µg", "mg", "g", "kg", "oz", "lb"): {"mass": 1},
    ("°C", "°F", "K"): {"temperature": 1},
    ("min", "h"): {"time": 1},
    ("m",): {"length": 1},
    ("mL", "L"): {"length": 3},
    ("kJ", "kcal"): _ENERGY,
    ("W", "kW"): {**_ENERGY, "time": -3},
}
_BASES: Mapping[str, Mapping[str, int]] = {name: bases for names, bases in _UNITS.items() for name in names}
_FITTED = "^b"
"""A unit to a power that was fitted to measurements: of no kind that could be held against another."""


class MixedKindsError(ValueError):
    """A unit that nobody knows, or numbers of two kinds in one sum."""


@cache
def kind_of(unit: str) -> Kind:
    """Read "kJ/kg K" as energy over mass and temperature, "m2" as a length twice, "g/100 g" as a plain number."""
    above, _, below = (unit or "1").removesuffix(" difference").partition("/")
    kind = PLAIN
    for side, sign in ((above, 1), (below, -1)):
        for word in side.strip("()").split():
            match = re.fullmatch(r"[0-9.]+|(\D+?)\^?([0-9])?", word)
            name = match.group(1) if match else word
            if not name:
                continue
            bases = {"money": 1} if re.fullmatch("[A-Z]{3}", name) else _BASES.get(name)
            if bases is None or not match:
                message = f"no unit {word!r}, of {unit!r}"
                raise MixedKindsError(message)
            power = sign * int(match.group(2) or 1)
            kind = _times(kind, Lines((base, Fraction(times)) for base, times in bases.items()), power)
    return kind


def check_kinds(step: Step, units: Mapping[str, str]) -> None:
    """Hold the outcome of a step against the kinds of its numbers, whose units are told; a sum of two kinds has none.

    A number written into the expression is a plain one: 1000 g are a kilogram.  Only where 4 stands for 4 kcal in a
    gram, what comes out has more to it than the numbers it is made of.
    """
    _held(step.expression, Lines(units), step.unit)


@lru_cache(maxsize=4096)
def _held(expression: str, units: Lines[str], unit: str) -> None:
    if any(_FITTED in each for each in units.values()):
        return
    found = _kind(expression, units)
    wanted = kind_of(unit)
    by_factors = found == PLAIN and wanted in (kind_of("kJ/g"), kind_of("kcal/g"))
    if found not in (None, wanted) and not by_factors:
        message = f"{expression}: {units} make {found}, and not {unit or 'a plain number'}"
        raise MixedKindsError(message)


def _kind(expression: str, units: Mapping[str, str]) -> Kind | None:
    """Return the kind of an expression; None for a number that may be of any."""

    def of(node: ast.expr) -> Kind | None:
        match node:
            case ast.Name(id=name):
                kind: Kind | None = kind_of(units[name])
            case ast.UnaryOp(operand=inner):
                kind = of(inner)
            case ast.BinOp(left=left, op=ast.Pow(), right=power):
                kind = _powered(of(left), power)
            case ast.BinOp(left=left, op=ast.Add() | ast.Sub(), right=right):
                kind = same((left, right))
            case ast.BinOp(left=ast.Constant(value=0), op=ast.Mult()):
                kind = None
            case ast.BinOp(left=left, op=sign, right=right):
                parts = of(left), of(right)
                power_of = 1 if isinstance(sign, ast.Mult) else -1
                kind = None if parts == (None, None) else _times(parts[0] or PLAIN, parts[1] or PLAIN, power_of)
            case ast.Call(func=ast.Name(id="exp" | "ln"), args=[inner]):
                kind = _plain(of(inner), node)
            case ast.Call(args=inner):
                kind = same(inner)
            case _:
                kind = None
        return kind

    def same(nodes: Iterable[ast.expr]) -> Kind | None:
        kinds = {kind for kind in map(of, nodes) if kind is not None}
        if len(kinds) > 1:
            message = f"{expression}: a sum of {kinds}"
            raise MixedKindsError(message)
        return next(iter(kinds), None)

    return of(ast.parse(expression, mode="eval").body)


def _plain(kind: Kind | None, node: ast.expr) -> Kind:
    if kind not in (None, PLAIN):
        message = f"{ast.unparse(node)} of no plain number: {kind}"
        raise MixedKindsError(message)
    return PLAIN


def _times(first: Kind, second: Kind, power: int | Fraction) -> Kind:
    bases = dict.fromkeys((*first, *second))
    zero = Fraction(0)
    product = ((base, first.get(base, zero) + power * second.get(base, zero)) for base in bases)
    return Lines((base, each) for base, each in product if each)


def _powered(kind: Kind | None, power: ast.expr) -> Kind | None:
    """Return the kind of a power: a plain number's is plain, and of another only a written number tells it."""
    if not kind:
        return kind
    match power:
        case ast.Constant(value=int() | float() as number):
            return _times(PLAIN, kind, Fraction(number))
        case ast.BinOp(left=ast.Constant(value=int() as above), op=ast.Div(), right=ast.Constant(value=int() as below)):
            return _times(PLAIN, kind, Fraction(above, below))
    message = f"{kind} to the power {ast.unparse(power)}, which tells no kind"
    raise MixedKindsError(message)
