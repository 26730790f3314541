"""Every public calculation shows its working, and those that do not are listed with the reason."""

import inspect
import re
import sys

import pytest

import formula

WITHOUT = {
    # What reads, writes, draws or looks up computes nothing.
    **dict.fromkeys(("append_log", "dump", "in_units"), "writes what it is given"),
    **dict.fromkeys(
        ("chart_csv", "chart_html", "chart_text", "day_html", "day_ics", "day_pages", "day_xlsx"), "a face"
    ),
    **dict.fromkeys(("formula_sheet", "label_sheet", "mix_sheet"), "a face"),
    **dict.fromkeys((name for name in formula.__all__ if name.startswith("plot_")), "a picture"),
    **dict.fromkeys(("load_day", "load_prices", "load_stock", "load_workshop"), "reads files"),
    **dict.fromkeys(("read_log", "read_loss_weighings", "read_trials", "read_weighings"), "reads files"),
    **dict.fromkeys(("logged_masses", "logged_trials", "trace_loaf", "trace_lot"), "finds lines of a log"),
    **dict.fromkeys(("origins",), "looks up or lists"),
    **dict.fromkeys(("source", "temperatures_between", "typical_losses", "typical_process"), "looks up or lists"),
    # Names and signs, no numbers.
    **dict.fromkeys(("allergen_matrix", "allergen_table", "allergens_of"), "a list of names"),
    "exercises": "a face: every problem it sets has its own working",
    "check_printed": "sets what a page prints beside what it adds up to, line by line: each line is its own sum",
    # Plans are held against an independent checker; the number of steps is that of the day's tasks, which its tables list.
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
