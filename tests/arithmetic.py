"""Do a working's sums anew, without the library's own arithmetic."""

import ast
import math
import operator
from collections.abc import Callable, Mapping

from formula.sources import all_sources
from formula.working import Step, Working

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


def check_working(working: Working, result: float, *, exact: bool = True) -> None:
    """Every step holds, a name means the same number all the way down, what is inside is taken, and the last line is the result.

    ``exact`` asks for the very float of the result; without it 1e-12 of it is enough.
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
