"""Do a working's sums anew, without the library's own arithmetic."""

import ast
import math
import operator
import re
from collections.abc import Callable, Mapping

from formula.readerunits import in_units
from formula.sources import all_sources
from formula.working import Step, Working
from tests.dimensions import check_kinds, kind_of

_OPERATORS: Mapping[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}
_FUNCTIONS: Mapping[str, Callable[..., float]] = {
    "abs": abs,
    "ceil": math.ceil,
    "exp": math.exp,
    "floor": math.floor,
    "ln": math.log,
    "max": max,
    "min": min,
}
GRAMS = {"mg": 0.001, "g": 1.0, "kg": 1000.0, "t": 1e6, "oz": 453.59237 / 16, "lb": 453.59237}
ONE_UNIT = {
    r"\bL_c\b|\bD\b": "the heat that melts ice, counted in degrees Celsius of water",
    r"\b(ceil|floor)\(": "whole numbers, or tenths of a gram, which the last digit in another unit can tip over",
    r"sodium / 1000": "milligrams over grams",
    r"^Q \*\* ": "so many times for every ten degrees Celsius",
    r"T_low\) \*\* 2$": "a rate that grows with the square of degrees Celsius",
}
"""How a step begins or what is in it, where a constant holds in one unit only; and why."""


def evaluate(expression: str, values: Mapping[str, float]) -> float:
    """Evaluate plain arithmetic; anything else in the expression is an error."""

    def number(node: ast.expr) -> float:
        match node:
            case ast.Constant(value=int() | float() as value) if not isinstance(value, bool):
                return float(value)
            case ast.Name(id=name):
                return values[name]
            case ast.UnaryOp(op=ast.USub(), operand=inner):
                return -number(inner)
            case ast.BinOp(left=left, op=sign, right=right):
                return _OPERATORS[type(sign)](number(left), number(right))
            case ast.Call(func=ast.Name(id=name), args=arguments, keywords=[]):
                return float(_FUNCTIONS[name](*(number(argument) for argument in arguments)))
        message = f"not plain arithmetic: {ast.unparse(node)}"
        raise ValueError(message)

    return number(ast.parse(expression, mode="eval").body)


def check_step(step: Step) -> None:
    """A step's expression with its values gives its value, and its source is known."""
    found = evaluate(step.expression, step.values)
    assert math.isclose(found, step.value, rel_tol=1e-9, abs_tol=1e-9), f"{step}: the sum gives {found!r}"
    written = {node.id for node in ast.walk(ast.parse(step.expression)) if isinstance(node, ast.Name)}
    unused = set(step.values) - written
    assert not unused, f"{step}: {unused} stand in the values, but not in the expression"
    if step.source:
        assert step.source in all_sources(), f"{step}: no source {step.source!r}"


def check_working(working: Working, result: float, *, exact: bool = True, carried: bool = False) -> None:
    """Every step holds, a name means the same number all the way down, what is inside is taken, and the last line is the result.

    ``exact`` asks for the very float of the result; without it 1e-12 of it is enough.  A working that has been ``carried``
    over to the units of a reader is not carried once more.
    """
    found: dict[str, float] = {}
    for step in working.steps:
        check_step(step)
        for name, value in step.values.items():
            known = found.get(name, value)
            assert math.isclose(known, value, rel_tol=1e-12, abs_tol=1e-12), f"{name} is {known!r}, then {value!r}"
            found[name] = value
        found[step.symbol] = step.value
        for inner in step.inside:
            check_working(inner, inner.value)
            taken = (step.value, *step.values.values())
            assert any(math.isclose(inner.value, number, rel_tol=1e-12) for number in taken), f"{step}: not {inner}"
    if exact:
        assert working.value == result
    else:
        assert math.isclose(working.value, result, rel_tol=1e-12, abs_tol=1e-12)
    for drawn in (working.text(), working.markdown(), working.html(), working.latex()):
        assert drawn.strip()
    if carried:
        check_units(working)
    else:
        check_readers(working, "lb", "°F")


def check_units(working: Working) -> None:
    """Each number has a unit, told by its step or found by an earlier one, which makes that of the outcome."""
    found: dict[str, str] = {}
    known: dict[str, str] = {}
    for step in working.steps:
        strangers = [name for name in step.units if name not in step.values]
        assert not strangers, f"{step}: {strangers} have a unit, but no value"
        for name in step.values:
            unit = step.units.get(name) or found.get(name)
            assert unit, f"{step}: {name} has no unit"
            assert known.get(name, unit) == unit, f"{step}: {name} was in {known[name]}, and is in {unit}"
            known[name] = unit
        check_kinds(step, {name: known[name] for name in step.values})
        found[step.symbol] = known[step.symbol] = step.unit or "1"


def check_readers(working: Working, mass: str, temperature: str) -> Working:
    """Every sum holds in the units of a reader, where it can be shown so, and has the outcome that it had before."""
    check_units(working)
    moved = in_units(working, mass=mass, temperature=temperature)
    assert [step.symbol for step in moved.steps] == [step.symbol for step in working.steps]
    found: dict[str, str] = {}
    for old, new in zip(working.steps, moved.steps, strict=True):
        check_step(new)
        units = {name: old.units.get(name) or found[name] for name in old.values}
        found[old.symbol] = old.unit or "1"
        if new.values == old.values and not _holds_in_one_unit_only(old, units):
            left = [name for name, unit in units.items() if _moves(old.values[name], unit, mass, temperature)]
            assert not left, f"{new}: {left} could be in the unit of the reader"
        assert _alike(back(new.value, new.unit, old.unit), old.value, 1e-9), f"{new}: it was {old}"
        if new.beside:
            number, _, unit = new.beside.partition(" ")
            assert (new.value, new.unit) == (old.value, old.unit)
            zero, one = (back(each, unit, old.unit) for each in (0.0, 1.0))
            # It is written with six digits.
            assert _alike(float(number), (old.value - zero) / (one - zero), 5.1e-6), f"{new}: it was {old}"
    assert moved.cautions == working.cautions
    return moved


def _moves(value: float, unit: str, mass: str, temperature: str) -> bool:
    """Whether a number is another one in the unit of the reader."""
    if unit == "°C":
        return temperature == "°F"
    return value != 0 and (temperature == "°F" if unit == "K" else unit in GRAMS and mass not in ("", unit))


def _holds_in_one_unit_only(step: Step, units: Mapping[str, str]) -> bool:
    """Whether a step rightly keeps its numbers in every unit, and shows its outcome beside."""
    others = {unit for unit in (*units.values(), step.unit) if unit not in (*GRAMS, "°C", "K")}
    compound = any("/" in unit or {"mass", "temperature"} & {*kind_of(unit)} for unit in others)
    return compound or any(re.search(written, step.expression) for written in ONE_UNIT)


def back(value: float, unit: str, old: str) -> float:
    """Turn a number of a reader's unit into that of the step as it was."""
    if unit == "°F":
        return (value - 32) / 1.8
    if unit == "°F difference":
        return value / 1.8
    return value * GRAMS[unit] / GRAMS[old] if unit in GRAMS else value


def _alike(found: float, wanted: float, within: float) -> bool:
    return math.isclose(found, wanted, rel_tol=within, abs_tol=within)
