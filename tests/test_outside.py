"""Every public function is held against something from outside the library, or it is said what holds it instead.

From outside are the check values from print, in ``tests/oracles/``.  What nobody has printed is held by another way to the
same answer: exact fractions, a brute force over all choices, sampling, an independent checker.
"""

import ast
import inspect
from functools import cache
from pathlib import Path

import pytest

import formula

TESTS = Path(__file__).parent
LOOKS_THROUGH_ALL = {"test_names.py", "test_outside.py", "test_shown.py", "test_values.py"}

FRACTIONS = "the sum done anew on random breads, line by line"
HAND = "sums done by hand, written beside the expected number"
INVERSE = "the inverse of a function with check values, returned to the digit"
FILES = "reads or writes: what goes in comes out, and every bad file is refused"
FACE = "shows numbers of other functions, held to them"
WORDS = "names and signs, held to the law's own lists"
REPLAY = "followed minute by minute by a checker of its own"
ALL_CHOICES = "every choice tried one by one"
SAMPLED = "sampling, and propagation by differences"

ELSEWHERE = {
    "acrylamide_class": ("test_labelchecks", WORDS),
    "all_origins": ("test_provenance", "the constants found by another way"),
    "allergen_order": ("laws/test_allergens", ALL_CHOICES),
    "allergen_matrix": ("test_labelchecks", WORDS),
    "allergen_table": ("laws/test_label", WORDS),
    "allergens_of": ("test_allergens", WORDS),
    "append_log": ("test_daylog", FILES),
    "bake_time": ("test_baketime", HAND),
    "blend": ("laws/test_comparison", FRACTIONS),
    "break_even": ("test_cost", HAND),
    "calibrated": ("laws/test_culture", "levains that all follow one constant give it back"),
    "changed_orders": ("laws/test_evening", "the largest order is carried, and one piece more is not"),
    "chart_csv": ("test_chart", FACE),
    "chart_html": ("test_chart", FACE),
    "chart_text": ("test_chart", FACE),
    "check_weighings": ("test_samples", HAND),
    "compare": ("laws/test_comparison", FRACTIONS),
    "compare_costs": ("test_cost", HAND),
    "day_three_ways": ("test_threeways", "three engines held to each other on a grid"),
    "divide_among": ("laws/test_dividing", "nothing is lost and nobody gets more than wanted"),
    "dough_by_hand": ("laws/test_dividing", INVERSE),
    "dough_uncertainty": ("test_uncertainty", SAMPLED),
    "draw_water": ("laws/test_supply", "the heat of the parts is the heat of the whole"),
    "dump": ("test_files", FILES),
    "dump_assortment": ("test_assortmentfile", FILES),
    "exchange_flour": ("laws/test_exchange", FRACTIONS),
    "exchange_milk": ("laws/test_exchange", FRACTIONS),
    "exchange_yeast": ("laws/test_exchange", FRACTIONS),
    "exercises": ("test_exercise", "each problem solved anew in exact fractions"),
    "fill_tin": ("test_tin", HAND),
    "fill_tray": ("test_tin", HAND),
    "finished_loaf": ("test_finished", HAND),
    "friction_from_trials": ("test_trialfit", HAND),
    "from_measures": ("test_household", "the weights of cups and spoons of a table that was read"),
    "heads_for": ("laws/test_dividing", INVERSE),
    "heads_from": ("laws/test_dividing", "heads, last pieces and remainder are the dough"),
    "heat_uncertainty": ("test_heatspread", SAMPLED),
    "held_dough": ("test_labelchecks", "the hours between two temperatures of a code, by hand"),
    "household_mass": ("test_household", "the weights of cups and spoons of a table that was read"),
    "in_units": ("test_readerunits", "every sum done anew by the tests' own arithmetic"),
    "largest_mix": ("test_keepup", "by hand, and a mix that is really placed"),
    "levain_builds": ("laws/test_culture", INVERSE),
    "levain_for": ("test_builds", INVERSE),
    "levain_seed": ("laws/test_culture", INVERSE),
    "levain_upkeep": ("laws/test_culture", "what is fed is what is taken and discarded"),
    "load_assortment": ("test_assortmentfile", FILES),
    "load_prices": ("test_cost", FILES),
    "load_stock": ("test_stock", FILES),
    "logged_masses": ("test_tracing", FILES),
    "logged_trials": ("test_tracing", FILES),
    "measured_loss": ("test_lossfit", "intervals of a library of statistics"),
    "mix_waits": ("test_mixwaits", HAND),
    "optimise": ("laws/test_optimum", ALL_CHOICES),
    "origins": ("test_provenance", "the constants found by another way"),
    "pace_of": ("test_pace", HAND),
    "pieces_by_hand": ("laws/test_dividing", INVERSE),
    "plan_days": ("test_manydays", "day by day the plan of a function that is followed by a checker"),
    "plot_bake_loss": ("test_breadplot", FACE),
    "plot_balance": ("test_breadplot", FACE),
    "plot_water_chart": ("test_breadplot", FACE),
    "price": ("laws/test_cost", FRACTIONS),
    "price_day": ("test_cost", HAND),
    "read_log": ("test_daylog", FILES),
    "read_loss_weighings": ("test_lossfit", FILES),
    "read_trials": ("test_trials", FILES),
    "read_weighings": ("test_samples", FILES),
    "remedies": ("laws/test_relief", REPLAY),
    "replan": ("laws/test_replanning", REPLAY),
    "sale_price": ("laws/test_cost", FRACTIONS),
    "sensitivity": ("laws/test_cost", FRACTIONS),
    "stage_builds": ("laws/test_evening", ALL_CHOICES),
    "stretch_preferment": ("test_stretch", HAND),
    "temperatures_between": ("laws/test_wallchart", "begins, steps and ends where it was told"),
    "to_have_ready": ("test_stock", HAND),
    "trace_loaf": ("test_tracing", FILES),
    "trace_lot": ("test_tracing", FILES),
    "typical_process": ("test_processes", "looks up what is printed, row by row"),
    "typical_processes": ("test_processes", "looks up what is printed, row by row"),
    "water_chart": ("laws/test_wallchart", "cell by cell the water of a function with check values"),
    "water_three_ways": ("test_threeways", "three engines held to each other on a grid"),
    "water_uncertainty": ("test_uncertainty", SAMPLED),
    "waters": ("test_doughs", "hour by hour the water of a function with check values"),
    "with_old_dough": ("laws/test_olddough", FRACTIONS),
    "with_percent": ("laws/test_exchange", FRACTIONS),
    "with_prefermented": ("laws/test_exchange", FRACTIONS),
    "work_from_trials": ("test_heatspread", "the work put into made-up trials comes out"),
}  # fmt: skip
"""What no printed number is compared with: the tests that hold it, and by what."""

FUNCTIONS = [
    name
    for name in formula.__all__
    if not inspect.isclass(getattr(formula, name)) and inspect.isfunction(inspect.unwrap(getattr(formula, name)))
]


@cache
def names(path: Path) -> frozenset[str]:
    """Return the names that a module of tests uses."""
    tree = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
    return frozenset(node.id for node in tree if isinstance(node, ast.Name))


@cache
def beside_print() -> frozenset[str]:
    """Return the names used in modules that read check values."""
    found: set[str] = set()
    for path in TESTS.glob("*.py"):
        if path.name not in LOOKS_THROUGH_ALL and {"rows", "read_rows", "beside", "holds"} & names(path):
            found |= names(path)
    return frozenset(found)


@pytest.mark.parametrize("name", [name for name in FUNCTIONS if name not in ELSEWHERE])
def test_a_public_function_stands_beside_check_values(name: str) -> None:
    assert name in beside_print(), f"{name}: give it a check value, or say in ELSEWHERE what holds it"


@pytest.mark.parametrize("name", ELSEWHERE)
def test_what_is_held_otherwise_is_held_there(name: str) -> None:
    file, how = ELSEWHERE[name]
    assert name in FUNCTIONS
    assert name in names(TESTS / f"{file}.py")
    assert how
