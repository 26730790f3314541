"""``import formula`` costs next to nothing, and text never wakes pint."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

import formula

LOADED = "print(sorted({name.split('.')[0] for name in sys.modules} & {'attrs', 'attr', 'cattrs', 'numpy', 'pint'}))"
Fresh = Callable[[str], str]


def test_importing_the_library_loads_nothing_else(fresh_python: Fresh) -> None:
    assert fresh_python(f"import formula, sys; {LOADED}") == "[]\n"


def test_a_name_that_is_not_used_is_not_loaded(fresh_python: Fresh) -> None:
    code = (
        "import formula, sys; formula.FormulaError; print(sorted(n for n in sys.modules if n.startswith('formula.')))"
    )
    assert fresh_python(code) == "['formula.errors']\n"


def test_listing_the_names_loads_nothing(fresh_python: Fresh) -> None:
    assert fresh_python(f"import formula, sys; dir(formula); formula.__all__; {LOADED}") == "[]\n"


@pytest.mark.parametrize(
    "line",
    [
        "read(MASS, '1 lb 8 oz', 'dough')",
        "read(TEMPERATURE, '78 °F', 'dough')",
        "write(TEMPERATURE, 25.0, '°F')",
    ],
)
def test_text_loads_no_pint(fresh_python: Fresh, line: str) -> None:
    code = f"import sys; from formula.quantity import *; {line}; {LOADED}"
    assert fresh_python(code) == "['attr', 'attrs']\n"


@pytest.mark.parametrize("value", ["1.5", "None", "True", "[1]", "object()"])
def test_a_refusal_loads_no_pint(fresh_python: Fresh, value: str) -> None:
    code = f"""
import sys
from formula.quantity import *
from formula import QuantityError
try:
    read(MASS, {value}, 'dough')
except QuantityError:
    {LOADED}
"""
    assert fresh_python(code) == "['attr', 'attrs']\n"


def test_a_formula_from_percentages_loads_neither_pint_nor_cattrs(fresh_python: Fresh) -> None:
    code = f"""
import sys
from formula import Formula
Formula.from_percents("lean", {{"bread flour": 100, "water": 68, "salt": 2}}).scale(dough="93 kg").mass_g("water")
{LOADED}
"""
    assert fresh_python(code) == "['attr', 'attrs']\n"


def test_the_first_quantity_out_loads_pint(fresh_python: Fresh) -> None:
    code = f"import sys; from formula.quantity import *; view(MASS, 1.0); {LOADED}"
    assert "'pint'" in fresh_python(code)


@pytest.mark.skipif("FORMULA_INSTALLED" not in os.environ, reason="the sources are under test, not a wheel")
def test_the_installed_library_is_the_one_under_test() -> None:
    assert "site-packages" in Path(formula.__file__).parts
    assert not (Path(__file__).parents[1] / "formula").exists()
