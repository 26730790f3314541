"""Every kind of result is a value: it compares and hashes by what it holds, travels, and holds nothing that can change.

The results are those of the examples that the docstrings show, one at least of almost every public class.
"""

import copy
import doctest
import inspect
import pickle
import warnings
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import redirect_stdout
from datetime import date, datetime, time
from decimal import Decimal
from fractions import Fraction
from functools import cache
from io import StringIO
from pathlib import Path
from threading import Barrier
from typing import Any

import attrs
import pint
import pytest

import formula
from formula.errors import FormulaError
from formula.lines import Lines
from tests.conftest import run_fresh

SIMPLE = (str, bytes, float, int, bool, type(None))


@cache
def results() -> dict[str, tuple[Any, ...]]:
    """Run the examples of every public name and keep what they make, by class."""
    found: dict[str, list[Any]] = {}
    finder = doctest.DocTestFinder(recurse=True)
    for name in formula.__all__:
        value = getattr(formula, name)
        if not (inspect.isclass(value) or callable(value)):
            continue
        for test in finder.find(
            inspect.unwrap(value), name, globs=dict(vars(inspect.getmodule(inspect.unwrap(value))))
        ):
            names = dict(test.globs)
            before = set(names)
            for example in test.examples:
                try:
                    code = compile(example.source, name, "exec")
                    with warnings.catch_warnings(), redirect_stdout(StringIO()):
                        warnings.simplefilter("ignore")
                        exec(code, names)  # noqa: S102 - the library's own examples
                except FormulaError:  # an example that shows a refusal
                    continue
            for key in set(names) - before:
                for each in _inside(names[key]):
                    found.setdefault(type(each).__name__, []).append(each)
    return {name: tuple(values) for name, values in found.items()}


def _inside(value: Any) -> Iterator[Any]:  # noqa: ANN401
    if attrs.has(type(value)) and type(value).__module__.startswith("formula."):
        yield value
        for field in attrs.fields(type(value)):
            yield from _inside(getattr(value, field.name))
    elif isinstance(value, tuple):
        for each in value:
            yield from _inside(each)


RESULTS = results()
NAMES = sorted(RESULTS)
CLASSES = [name for name in formula.__all__ if attrs.has(getattr(formula, name))]
ELSEWHERE = {
    # Of these no example makes one; each is compared, hashed and pickled in the tests of its room.
    "Constant", "Hour", "LevainRecord", "LoafTrace", "LotTrace", "MixTrace", "MixWait",     "OwnRate", "Product", "Q10", "ReadyList", "Replan", "Sheet", "SquareLaw", "StageBuilds", "Tin", "Weighing",
}  # fmt: skip


def test_nearly_every_public_class_is_here() -> None:
    assert {name for name in CLASSES if name not in RESULTS} == ELSEWHERE


@pytest.mark.parametrize("name", NAMES)
def test_it_is_a_value(name: str) -> None:
    for value in RESULTS[name]:
        for again in (copy.deepcopy(value), copy.copy(value), pickle.loads(pickle.dumps(value))):  # noqa: S301 - our own bytes
            assert again == value
            assert hash(again) == hash(value)
            assert type(again) is type(value)
        assert value != object()


@pytest.mark.parametrize("name", NAMES)
def test_nothing_in_it_can_be_changed(name: str) -> None:
    value = RESULTS[name][0]
    for field in attrs.fields(type(value)):
        with pytest.raises(AttributeError):
            setattr(value, field.name, None)
        assert_still(getattr(value, field.name), f"{name}.{field.name}")


def assert_still(value: Any, place: str) -> None:  # noqa: ANN401
    """No list, dict, set, array, function or quantity, at any depth."""
    if isinstance(value, Lines):
        with pytest.raises(AttributeError):
            value.anything = None
        value = tuple(value.items())
    if isinstance(value, (tuple, frozenset)):
        for each in value:
            assert_still(each, place)
    elif not isinstance(value, (*SIMPLE, Fraction, Decimal, date, time, datetime)):
        assert attrs.has(type(value)), f"{place} holds a {type(value).__name__}"
        assert type(value).__module__.startswith("formula."), f"{place} holds a {type(value).__name__}"
        assert type(value).__hash__ is not None
        for field in attrs.fields(type(value)):
            assert_still(getattr(value, field.name), f"{place}.{field.name}")


def test_they_travel_to_a_process_that_knows_nothing_and_back(tmp_path: Path) -> None:
    values = [value for name in NAMES for value in RESULTS[name]]
    there, back = tmp_path / "there", tmp_path / "back"
    there.write_bytes(pickle.dumps((values, [hash(value) for value in values])))
    ran = run_fresh("-c", f"""
import pickle, sys
with open({str(there)!r}, "rb") as file:
    values, hashes = pickle.load(file)
# Texts hash anew in each process, so only what holds none of them keeps its hash; equal values keep equal ones.
assert all(hash(value) == hash(pickle.loads(pickle.dumps(value))) for value in values)
assert "pint" not in sys.modules, "a result brought pint with it"
with open({str(back)!r}, "wb") as file:
    pickle.dump(values, file)
""")  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    returned = pickle.loads(back.read_bytes())  # noqa: S301 - our own bytes
    assert returned == values
    assert [hash(value) for value in returned] == [hash(value) for value in values]


def test_a_result_gives_its_quantities_in_the_registry_of_the_process_that_asks(tmp_path: Path) -> None:
    """Nothing of the registry of the one who made it goes along."""
    registry: Any = pint.UnitRegistry()
    made = formula.water_temperature(registry.Quantity(25.0, "degC"), flour="20 °C", room="22 °C", friction="8 K")
    file = tmp_path / "water"
    file.write_bytes(pickle.dumps(made))
    ran = run_fresh("-c", f"""
import pickle, pint
own = pint.UnitRegistry()
pint.set_application_registry(own)
with open({str(file)!r}, "rb") as file:
    made = pickle.load(file)
assert made.temperature.to("degC").magnitude == 25.0
assert made.temperature._REGISTRY is own
print(made.temperature_c)
""")  # fmt: skip
    assert (ran.stdout, ran.stderr) == ("25.0\n", "")


def test_two_registries_may_be_mixed() -> None:
    one: Any = pint.UnitRegistry()
    other: Any = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    mixed = formula.water_temperature(
        one.Quantity(25.0, "degC"),
        flour=other.Quantity(68.0, "degF"),
        room="22 °C",
        friction=one.Quantity(8.0, "delta_degC"),
    )
    assert mixed == formula.water_temperature("25 °C", flour="20 °C", room="22 °C", friction="8 K")


def test_eight_threads_read_the_same_values_at_once() -> None:
    """What is worked out on first use is the same whoever comes first."""
    values = [value for name in NAMES for value in RESULTS[name] if hasattr(value, "working")]
    fresh = [pickle.loads(pickle.dumps(value)) for value in values]  # noqa: S301 - nothing cached
    barrier = Barrier(8)

    def read(_: int) -> list[str]:
        barrier.wait()
        return [value.working().text() for value in fresh]

    with ThreadPoolExecutor(8) as pool:
        read_by = list(pool.map(read, range(8)))
    assert read_by == [[value.working().text() for value in values]] * 8
