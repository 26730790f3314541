"""Workings in the weights and degrees of the reader: pounds on the scale, Fahrenheit on the thermometer.

A step is carried over number by number, and its expression is done again with the new numbers.  Where that gives the
new outcome (the factor rule holds in any degrees, a share of a weight in any weight), the step is shown so.  Where it
does not (a constant of the expression holds in one unit only), the step keeps its own numbers, and its outcome is
written in the reader's unit beside it.
"""

from __future__ import annotations

import ast
import math
import operator
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Final

from attrs import evolve

from .errors import Fault, UnknownNameError
from .kinds import DIFFERENCE, MASS, TEMPERATURE, Kind
from .working import FUNCTIONS, Step, Working, shown

__all__ = ["MASSES", "TEMPERATURES", "in_units", "with_grams", "with_units"]

MASSES: Final = ("g", "kg", "oz", "lb")
TEMPERATURES: Final = ("°C", "°F")
_DEGREES: Final[Mapping[str, str]] = {"°C": "K", "°F": "°F"}
"""The unit of a difference that goes with each scale of temperatures; a difference in °F is written so, too."""
_DIFFERENCE_F: Final = "°F difference"
_OPERATORS: Final[Mapping[type[ast.operator], Callable[[float, float], float]]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}


def in_units(working: Working, *, mass: str = "", temperature: str = "") -> Working:
    """Return a working in the reader's weights and degrees.

    Args:
        working: any result's ``working()``.
        mass: "g", "kg", "oz" or "lb"; left out, weights stay as they are.
        temperature: "°C" or "°F"; left out, degrees stay as they are.

    Raises:
        UnknownNameError: for another unit.

    Only numbers whose unit is written down are carried over; a step with another keeps its numbers.  The workings
    inside its steps are carried over, too.

    Example:
        >>> dough = Step("T_water", "2 * T_dough - T_flour", {"T_dough": 25.0, "T_flour": 20.0}, 30.0, "°C",
        ...              units={"T_dough": "°C", "T_flour": "°C"})
        >>> print(in_units(Working("Water", (dough,)), temperature="°F").steps[0])
        T_water = 2 * T_dough - T_flour = 2 * 77 - 68 = 86 °F
    """
    for name, unit, known in (("mass", mass, MASSES), ("temperature", temperature, TEMPERATURES)):
        if unit and unit not in known:
            raise UnknownNameError(Fault(name, repr(unit), f"one of {', '.join(known)}"))
    to = _Reader(mass, temperature)
    units: dict[str, str] = {}
    steps: list[Step] = []
    for step in working.steps:
        inside = tuple(in_units(each, mass=mass, temperature=temperature) for each in step.inside)
        steps.append(evolve(to.carried(step, {**units, **step.units}), inside=inside))
        units[step.symbol] = step.unit or "1"
    return evolve(working, steps=tuple(steps))


def with_grams(names: Iterable[str], *weights: str) -> dict[str, str]:
    """Return the units of the names of a step: grams for the weights, "1" for all others.

    Example:
        >>> with_grams(("bread", "bake"), "bread")
        {'bread': 'g', 'bake': '1'}
    """
    return {name: "g" if name in weights else "1" for name in names}


def with_units(steps: Iterable[Step], told: Mapping[str, str]) -> tuple[Step, ...]:
    """Tell steps the unit of every number that no step before has found.

    A number that a step only repeats under its own name has the unit of that step.

    Args:
        steps: the steps of a working, in their order.
        told: unit -> the names that are in it, with spaces between.  A name stands for itself, also with numbers or with
            words behind it: "piece" for ``piece_2`` and ``piece_old`` too, where these are not told by themselves.

    Example:
        >>> mixed = Step("dough_1", "pieces_1 * piece_1", {"pieces_1": 3.0, "piece_1": 900.0}, 2700.0, "g")
        >>> dict(with_units([mixed], {"1": "pieces", "g": "piece"})[0].units)
        {'pieces_1': '1', 'piece_1': 'g'}
    """
    table = {name: unit for unit, names in told.items() for name in names.split()}
    found: set[str] = set()
    done: list[Step] = []
    for step in steps:
        units = dict(step.units)
        for name in step.values:
            if name not in units and name not in found:
                itself = step.unit or "1" if name == step.symbol else ""
                head = name.partition("_")[0]
                spelt = (name, name.rstrip("_0123456789"), head, head.rstrip("0123456789"))
                if unit := itself or next((table[each] for each in spelt if each in table), ""):
                    units[name] = unit
        done.append(step if len(units) == len(step.units) else evolve(step, units=units))
        found.add(step.symbol)
    return tuple(done)


class _Reader:
    """Carries numbers and steps over to the reader's units."""

    def __init__(self, mass: str, temperature: str) -> None:
        self.units: dict[str, tuple[Kind, str]] = dict.fromkeys(("g", "kg", "mg", "t", "oz", "lb"), (MASS, mass))
        self.units |= {"°C": (TEMPERATURE, temperature), "K": (DIFFERENCE, _DEGREES.get(temperature, ""))}

    def number(self, value: float, unit: str) -> tuple[float, str]:
        """Return a number and its unit; what the reader has no wish for stays as it is."""
        kind, wanted = self.units.get(unit, (None, ""))
        if kind is None or not wanted or wanted == unit:
            return value, unit
        moved = _moved(kind, value, unit, wanted)
        return moved, _DIFFERENCE_F if kind is DIFFERENCE else wanted

    def carried(self, step: Step, units: Mapping[str, str]) -> Step:
        """Return a step in the reader's units, or with its outcome in them beside."""
        value, unit = self.number(step.value, step.unit)
        known = all(units.get(name) for name in step.values)
        if known:
            moved = {name: self.number(old, units[name]) for name, old in step.values.items()}
            if unit == step.unit and all(moved[name][1] == units[name] for name in moved):
                return step
            values = {name: number for name, (number, _) in moved.items()}
            if _holds(step.expression, values, value):
                named = {name: moved[name][1] for name in step.units if name in moved}
                return evolve(step, values=values, value=value, unit=unit, units=named)
        return step if unit == step.unit else evolve(step, beside=f"{shown(value)} {unit}")


def _moved(kind: Kind, value: float, unit: str, wanted: str) -> float:
    factor, offset = kind.scale[unit]
    wanted_factor, wanted_offset = kind.scale[wanted]
    return (value * factor + offset - wanted_offset) / wanted_factor


def _holds(expression: str, values: Mapping[str, float], value: float) -> bool:
    try:
        found = _done(ast.parse(expression, mode="eval").body, values)
    except (ArithmeticError, ValueError):
        return False
    return math.isclose(found, value, rel_tol=1e-9, abs_tol=1e-9)


def _done(node: ast.expr, values: Mapping[str, float]) -> float:
    """Do the arithmetic of an expression of our own; the kinds of node are those that ``Working`` draws."""

    def arguments(nodes: list[ast.expr]) -> Iterator[float]:
        return (_done(each, values) for each in nodes)

    match node:
        case ast.Name(id=name):
            return values[name]
        case ast.Constant(value=float() | int() as number):
            return float(number)
        case ast.UnaryOp(op=ast.USub(), operand=inner):
            return -_done(inner, values)
        case ast.BinOp(left=left, op=sign, right=right):
            return _OPERATORS[type(sign)](_done(left, values), _done(right, values))
        case ast.Call(func=ast.Name(id=name), args=nodes):
            return float(FUNCTIONS[name](*arguments(nodes)))
        case _:
            message = f"no arithmetic of a working: {ast.dump(node)}"
            raise ValueError(message)
