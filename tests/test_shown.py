"""Every public calculation shows its working, and those that do not are listed with the reason."""

import doctest
import functools
import inspect
import itertools
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

import formula
from formula.readerunits import MASSES, TEMPERATURES
from formula.working import Working
from tests.arithmetic import check_readers

HARBOUR = Path(__file__).parents[1] / "docs" / "examples" / "harbour"
WITHOUT = {
    # What reads, writes, draws or looks up computes nothing.
    **dict.fromkeys(("append_log", "dump", "dump_assortment", "in_units"), "writes what it is given"),
    **dict.fromkeys(
        ("chart_csv", "chart_html", "chart_text", "day_html", "day_ics", "day_pages", "day_xlsx"), "a face"
    ),
    **dict.fromkeys(("formula_sheet", "label_sheet", "mix_sheet"), "a face"),
    **dict.fromkeys((name for name in formula.__all__ if name.startswith("plot_")), "a picture"),
    **dict.fromkeys(("load_assortment", "load_day", "load_prices", "load_stock", "load_workshop"), "reads files"),
    **dict.fromkeys(("read_log", "read_loss_weighings", "read_trials", "read_weighings"), "reads files"),
    **dict.fromkeys(("logged_masses", "logged_trials", "trace_loaf", "trace_lot"), "finds lines of a log"),
    **dict.fromkeys(("origins",), "looks up or lists"),
    **dict.fromkeys(("source", "temperatures_between", "typical_losses", "typical_process"), "looks up or lists"),
    # Names and signs, no numbers.
    **dict.fromkeys(("allergen_matrix", "allergen_table", "allergens_of"), "a list of names"),
    "exercises": "a face: every problem it sets has its own working",
    "check_printed": "sets what a page prints beside what it adds up to, line by line: each line is its own sum",
    # Plans are held against an independent checker; the number of steps is that of the day's tasks, which its tables list.
    "plan_days": "the plans of many days, each of which shows its own working",
    **dict.fromkeys(("timetable", "optimise", "replan", "remedies"), "a plan: its tasks are its steps"),
}

FUNCTIONS = sorted(name for name in formula.__all__ if inspect.isfunction(getattr(formula, name)))


def answers(name: str) -> list[type]:
    """Find the classes that a function says it answers with, also inside a tuple or lines, or beside None."""
    function = getattr(formula, name)
    room = vars(sys.modules[function.__module__])
    words = re.findall(r"\w+", str(inspect.signature(function).return_annotation))
    return [room[word] for word in words if inspect.isclass(room.get(word))]


def shows(kind: type) -> bool:
    return callable(getattr(kind, "working", None))


@pytest.mark.parametrize("name", [name for name in FUNCTIONS if name not in WITHOUT])
def test_an_answer_shows_its_working(name: str) -> None:
    assert any(shows(kind) for kind in answers(name)), f"{name} answers with {answers(name)}"


@pytest.mark.parametrize("name", WITHOUT)
def test_an_exception_is_one(name: str) -> None:
    assert name in FUNCTIONS
    assert not any(shows(kind) for kind in answers(name)), f"{name} shows its working after all"


def workings(answer: object) -> Iterator[Working]:
    """Find the workings of an answer, also of several in a tuple or in lines, and those inside their steps."""
    if isinstance(answer, Mapping):
        answer = tuple(answer.values())
    if isinstance(answer, tuple):
        yield from itertools.chain.from_iterable(map(workings, answer))
    elif shows(type(answer)):
        yield from opened(answer.working())  # type: ignore[attr-defined]


def opened(working: Working) -> Iterator[Working]:
    yield working
    for step in working.steps:
        yield from itertools.chain.from_iterable(map(opened, step.inside))


@functools.cache
def harbour_day() -> Mapping[str, object]:
    """Answer what needs the day of a whole bakery, and so has no example beside it: with the harbour bakery's."""
    orders, bakery = formula.load_day(HARBOUR)
    workshop = formula.load_workshop(HARBOUR)
    assert workshop is not None
    day = formula.plan_day(orders, bakery, workshop)
    table = formula.timetable(day, workshop)
    builds = formula.stage_builds(table)
    return {
        "load": formula.load(HARBOUR / "breads" / "quay-round.toml"),
        "plan_day": (day, *day.breads, *day.doughs),
        "stage_builds": (builds, *builds.builds),
        "waters": tuple(formula.waters(table)),
        "mix_waits": formula.mix_waits(table) + formula.mix_waits(table, "cooler"),
        "changed_orders": formula.changed_orders(builds, orders[1:]),
        "day_three_ways": formula.day_three_ways(day),
        "price_day": formula.price_day(day, formula.load_prices(HARBOUR / "prices.toml")),
    }


def answered_in_its_example(name: str, monkeypatch: pytest.MonkeyPatch) -> Iterable[object]:
    """Run the example of a public function, and return what the function answered in it."""
    function: Callable[..., object] = getattr(formula, name)
    if ">>>" not in (function.__doc__ or ""):
        return (harbour_day()[name],)
    found: list[object] = []

    @functools.wraps(function)
    def recorded(*given: Any, **named: Any) -> object:  # noqa: ANN401 - whatever the function takes
        found.append(function(*given, **named))
        return found[-1]

    monkeypatch.setattr(formula, name, recorded, raising=False)
    around = {**vars(sys.modules[function.__module__]), name: recorded}
    example = doctest.DocTestParser().get_doctest(inspect.getdoc(function) or "", around, name, None, None)
    doctest.DocTestRunner(verbose=False).run(example, out=lambda _: None)
    return found


@pytest.mark.parametrize("name", [name for name in FUNCTIONS if name not in WITHOUT])
def test_an_example_is_shown_in_the_units_of_every_reader(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    shown = [working for each in answered_in_its_example(name, monkeypatch) for working in workings(each)]
    assert shown, f"{name} has no example whose answer shows its working"
    for working in shown:
        for mass, temperature in itertools.product(("", *MASSES), ("", *TEMPERATURES)):
            check_readers(working, mass, temperature)
