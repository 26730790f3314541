"""Each kernel once under quantities: what its argument names promise, its arithmetic keeps.

A kernel is a function of floats with the units in its argument names.  Here it is given quantities of those units instead,
and its constants their own; a sum of grams and degrees, or a share that is a weight, would be refused.  What it returns
must have the dimension of its own name, and the value that floats give.
"""

import ast
import importlib
import inspect
import math
import types
from collections.abc import Callable
from typing import Any

import pint
import pytest

from formula.sources import Constant
from tests.conftest import HOUSE

UNITS = {
    # The longest ending decides.
    "_kj_kg_k": "kJ/kg/K", "_w_m2_k": "W/m**2/K", "_w_m_k": "W/m/K", "_kg_m3": "kg/m**3", "_k_per_min": "K/min",
    "_kj_kg": "kJ/kg", "_kj_k": "kJ/K", "_m2_h": "m**2/h", "_m2_kg": "m**2/kg", "_per_h": "1/h", "_kcal": "kcal",
    "_kj": "kJ", "_ml": "mL", "_mg": "mg", "_min": "min", "_share": "", "_percent": "", "_g": "g", "_kg": "kg", "_c": "K",
    "_k": "K", "_h": "h", "_m": "m",
}  # fmt: skip
FLOATS = {"float", "int", "Sequence[float]", "Iterable[float]", "float | None"}

GIVEN: dict[str, tuple[Any, ...]] = {
    # Where the numbers made up from the names are none that the kernel is for: the floats, in its own units.
    "basetemp.water_from_base_c": (60.0, [20.0, 22.0]),
    "ice.iced_water_c": (20_000.0, 18.0, 1000.0, 80.0),
    "newton.newton_time_h": (26.0, 5.0, 10.0, 3.0),
    "newton.newton_tau_h": (26.0, 5.0, 10.0, 3.0),
    "souring.phi_from_log": (0.1, 0.4, 6.0),
    "souring.ripening_time_h": (0.1, 0.4, 0.8),
    "water.dough_temperature_c": ([20.0, 22.0], 15.0, 8.0),
    "water.water_temperature_c": (25.0, [20.0, 22.0], 8.0),
}

WITHOUT = {
    # Numbers without a unit, or of one that is written into the arithmetic.
    "allowances.z_leaving": "a share in, a number of spreads out, by the standard library",
    "basetemp.base_in_celsius": "is a conversion of units",
    "basetemp.base_in_fahrenheit": "is a conversion of units",
    "counting.even": "takes what may be any number",
    "dose.square_law_dose_percent": "an empirical rule: its constant swallows hours and degrees",
    "growth.growth_sum_h": "compares with constants in hours and percent; the sum itself is held by quadrature in its tests",
    "growth.growth_z": "an exponent of fitted constants in hours",
    "mixtime.minutes_of": "writes minutes for the eye",
    "netweight.below_share": "the normal distribution, by the standard library",
    "otherrates.q10_rate": "a factor for 10 degrees: the 10 is a constant with a unit inside",
    "rates.spread_factor": "a ratio in, a factor out; its limits are compared as numbers",
    "samplecheck.mean_factor": "Student's t of a number",
    "spread.student_t": "Student's t of a number",
    "spread.student_t95": "Student's t of a number",
    "tin.water_density_kg_m3": "a fitted table of degrees",
}


FACTORS = (1, 1e3, 1e-3, 1e6, 1e-6, 3.6, 1 / 3.6, 3600, 1 / 3600, 10, 0.1)
"""Factors of units that a kernel has inside, which the quantities have made already; 10 is the cube root of 1000."""

ANSWERS = {"balance.water_per_dough_k": ""}
"""What the name of a kernel does not tell of its answer: kelvins for each kelvin."""


class Maths:
    """The functions of the module ``math`` for quantities: roots keep a dimension, all others need a plain number."""

    @staticmethod
    def sqrt(value: Any) -> Any:  # noqa: ANN401
        return value**0.5

    @staticmethod
    def cbrt(value: Any) -> Any:  # noqa: ANN401
        return value ** (1 / 3)

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401
        return getattr(math, name)


def kernels() -> dict[str, list[tuple[str, str]]]:
    """Find every public function whose arguments and answer are floats: its name, and its arguments with what they are."""
    found = {}
    for path in sorted(HOUSE.glob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and node.returns:
                arguments = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
                kinds = [ast.unparse(each.annotation) if each.annotation else "" for each in arguments]
                if kinds and set(kinds) <= FLOATS and ast.unparse(node.returns) == "float":
                    found[f"{path.stem}.{node.name}"] = list(zip([a.arg for a in arguments], kinds, strict=True))
    return found


KERNELS = kernels()
REGISTRY: pint.UnitRegistry[Any] = pint.UnitRegistry()


def unit_of(name: str) -> str | None:
    endings = [ending for ending in UNITS if name.endswith(ending)]
    return UNITS[max(endings, key=len)] if endings else None


def made_up(arguments: list[tuple[str, str]]) -> list[Any]:
    """Return numbers that no two arguments share: shares below one half, percentages, and plain ones."""
    values: list[Any] = []
    for place, (name, kind) in enumerate(arguments):
        if name.endswith("_share") or name in {"left", "ratio"}:
            value: Any = 0.1 + 0.07 * place
        elif kind == "int":
            value = 3
        else:
            value = 20.0 + 3 * place
        values.append([value, value + 2] if "[" in kind else value)
    return values


def quantity(name: str, value: Any) -> Any:  # noqa: ANN401
    unit = unit_of(name)
    if unit is None:
        return value
    return (
        [REGISTRY.Quantity(each, unit) for each in value] if isinstance(value, list) else REGISTRY.Quantity(value, unit)
    )


def with_quantities(kernel: Callable[..., float]) -> Callable[..., Any]:
    """Return a kernel whose constants are quantities, as are those of the kernels that it calls."""

    def put(value: Any) -> Any:  # noqa: ANN401
        if isinstance(value, Constant):
            unit = {"1": "", "%": ""}.get(value.unit, value.unit.replace("kJ/kg K", "kJ/kg/K").replace("°C", "K"))
            return types.SimpleNamespace(value=REGISTRY.Quantity(value.value, unit))
        if (
            isinstance(value, types.FunctionType)
            and f"{value.__module__.partition('.')[2]}.{value.__name__}" in KERNELS
        ):
            return with_quantities(value)
        return value

    assert isinstance(kernel, types.FunctionType)
    names = {
        name: put(value) if name in kernel.__code__.co_names else value
        for name, value in vars(inspect.getmodule(kernel)).items()
    }
    if "math" in names:
        names["math"] = Maths()
    copied = types.FunctionType(kernel.__code__, names, kernel.__name__, kernel.__defaults__, kernel.__closure__)
    copied.__kwdefaults__ = kernel.__kwdefaults__
    return copied


def called(name: str) -> tuple[float, Any]:
    room, _, function = name.partition(".")
    kernel = getattr(importlib.import_module(f"formula.{room}"), function)
    arguments = KERNELS[name]
    values = list(GIVEN.get(name, made_up(arguments)))
    quantities = [quantity(argument, value) for (argument, _), value in zip(arguments, values, strict=True)]
    return kernel(*values), with_quantities(kernel)(*quantities)


@pytest.mark.parametrize("name", [name for name in KERNELS if name not in WITHOUT])
def test_a_kernel_keeps_its_dimensions(name: str) -> None:
    plain, found = called(name)
    assert math.isfinite(plain)
    wanted = ANSWERS.get(name, unit_of(name) or "")
    if not hasattr(found, "to"):
        assert wanted == ""
        assert found == pytest.approx(plain, rel=1e-9)
        return
    ratio = found.to(wanted).magnitude / plain
    assert min(abs(ratio / factor - 1) for factor in FACTORS) < 1e-9, (plain, found)


@pytest.mark.parametrize("name", WITHOUT)
def test_an_exception_is_a_kernel_that_needs_to_be_one(name: str) -> None:
    assert name in KERNELS
