"""No number without a source: what is no ``Constant`` is arithmetic, or it is said what it is.

A number of the trade or of physics is a ``Constant`` with its source.  Beside these stand small whole numbers, powers of ten
and tolerances, which are arithmetic; limits and thresholds of our own, each with its reason under it or in a comment; and the
few below, inside functions.  Faces compute nothing and are left out.
"""

import ast
import math
import re
from collections.abc import Iterator

import pytest

from tests.conftest import HOUSE
from tests.test_house import FLOORS

ROOMS = [room for floor in FLOORS[:-1] for room in floor if (HOUSE / f"{room}.py").exists()]
TOLERANCE = 1e-3
"""Up to this a number says what counts as equal, or how fine a search is."""
ARITHMETIC = {*range(11), 12, 16, 24, 60, 1440, 3600, 0.5, 3.6}
"""Small whole numbers, hours, minutes, seconds; 3.6 kJ are a watt-hour."""

SEARCH = "where a search begins, how wide its steps are, how often it tries at the most"
THRESHOLD = "from where on a caution is told: our own choice, said in its text or docstring"
DEFINITION = "a definition of a unit"
FORMULA = "a number of a mathematical formula, named in the docstring"
LIMIT = "how much may be asked for at once: our own choice"
MACHINE = "a number of the machine, not of the world"

IN_FUNCTIONS: dict[str, dict[str, str]] = {
    "basetemp": {"32": DEFINITION, "160": DEFINITION, "273.15": DEFINITION},
    "batch": {"0.1": THRESHOLD},
    "betterdivider": {"365": "days of a year"},
    "catalogue": {"4096": MACHINE},
    "chill": {"32": LIMIT},
    "conduction": {"256": MACHINE, "20": FORMULA},
    "course": {"0.1": "a tenth, as its name says"},
    "daylog": {"0o666": MACHINE, "200": LIMIT},
    "evening": {"0.1": THRESHOLD},
    "files": {"0o777": MACHINE, "0o644": MACHINE},
    "heatspread": {"0.25": THRESHOLD},
    "labelchecks": {"50": "the larger part of the flour"},
    "limits": {"1.5": "how much a dough may warm and still count as held at one temperature, in a caution"},
    "newton": {"0.1": THRESHOLD},
    "numeric": {
        "200": SEARCH, "64": MACHINE, "0.75": FORMULA, "40": SEARCH, "25": FORMULA, "21": FORMULA, "0.25": FORMULA,
    },
    "optimum": {"0.1": "seconds that a solver gets at the least"},
    "otherrates": {"202": SEARCH},
    "part": {"0.01": "near enough to 1 to look like fractions, in a message"},
    "processes": {"0.05": "near enough to a whole number to be said as one, in a message"},
    "ready": {"1.25": SEARCH, "90": SEARCH, "17": SEARCH},
    "relief": {"200": LIMIT},
    "spread": {"0.975": "one side of 95 %, as its name says"},
    "threeways": {"20.0": "the temperature that flour and room are assumed to have, told in a caution"},
    "timing": {"1.25": SEARCH},
}  # fmt: skip
"""For each room, the numbers in its functions that are neither arithmetic nor explained beside them."""


def is_arithmetic(value: float) -> bool:
    """Say whether a number states no fact of its own."""
    value = abs(value)
    power = value > 0 and math.isclose(math.log10(value), round(math.log10(value)), abs_tol=1e-12)
    return value in ARITHMETIC or value <= TOLERANCE or (power and value >= 1)


def numbers(room: str) -> Iterator[tuple[bool, str, ast.stmt]]:
    """Give each number outside a ``Constant``: whether it stands inside a function, how it is printed, its statement."""
    text = (HOUSE / f"{room}.py").read_text(encoding="utf-8")

    def walk(node: ast.AST, statement: ast.stmt, *, inside: bool) -> Iterator[tuple[bool, str, ast.stmt]]:
        if isinstance(node, ast.Call) and ast.unparse(node.func).endswith("Constant"):
            return
        if isinstance(node, ast.Constant) and isinstance(node.value, int | float) and not isinstance(node.value, bool):
            if not is_arithmetic(node.value):
                yield inside, str(ast.get_source_segment(text, node)), statement
            return
        function = isinstance(node, ast.FunctionDef | ast.Lambda)
        for child in ast.iter_child_nodes(node):
            if not isinstance(child, ast.JoinedStr):
                here = child if isinstance(child, ast.stmt) else statement
                yield from walk(child, here, inside=inside or function)

    for each in ast.parse(text).body:
        yield from walk(each, each, inside=False)


def is_said(room: str, statement: ast.stmt) -> bool:
    """Say whether a statement has its reason: a text under it, or a comment in it or above it."""
    lines = (HOUSE / f"{room}.py").read_text(encoding="utf-8").splitlines()
    last = statement.end_lineno or statement.lineno
    above = lines[statement.lineno - 2].strip()
    # A text under the last of a group stands for all of the group.
    below = (line for line in lines[last:] if not re.match(r"\w+(: [\w\[\], ]+)? = ", line))
    under = next(below, "").strip()
    own = [re.sub(r"#\s*(fmt|noqa)\b.*", "", line) for line in lines[statement.lineno - 1 : last]]
    return under.startswith(('"""', 'r"""')) or above.startswith("#") or any("#" in line for line in own)


@pytest.mark.parametrize("room", ROOMS)
def test_a_number_has_a_source_or_a_reason(room: str) -> None:
    told = IN_FUNCTIONS.get(room, {})
    for inside, printed, statement in numbers(room):
        if inside:
            assert told.get(printed) or is_said(room, statement), f"line {statement.lineno}: {printed} has no reason"
        else:
            assert is_said(room, statement), f"line {statement.lineno}: {printed} has neither a source nor a reason"


@pytest.mark.parametrize("room", IN_FUNCTIONS)
def test_no_reason_is_left_over(room: str) -> None:
    found = {printed for inside, printed, _ in numbers(room) if inside}
    assert set(IN_FUNCTIONS[room]) <= found


def test_a_number_without_a_reason_is_found() -> None:
    assert not is_arithmetic(1.15)
    assert not is_arithmetic(100_001)
    assert is_arithmetic(100_000)
    assert is_arithmetic(-1e-9)
