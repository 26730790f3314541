"""What a caller does not tell: of a loss, a mass or a time there is none, of people and batches there is one."""

import ast
import calendar
from collections.abc import Iterator
from datetime import date

import pytest

from tests.conftest import HOUSE
from tests.test_house import FLOORS

NONE = {
    "absorption", "bake_share", "baked_g", "begun_mixes", "begun_pieces", "between_sd_g", "boiled_off", "boiled_off_g",
    "bulk_share", "carry", "cool_share", "divide", "divider_share", "drift_g", "dry_share", "ferment_share", "flour_g",
    "handling_share", "ice_g", "keep", "kept", "kept_g", "late_piece_min", "least_sigma", "limit_g", "line", "load", "pack", "piece_g",
    "reject_share", "returned", "returned_g", "salt", "salt_share", "sampling_g", "shape", "slack_g", "slice", "slows",
    "smallest", "spares", "step_g",
}  # fmt: skip
MELTING_ICE = {"ice", "ice_c", "ice_temperature_c"}
"""Ice whose temperature nobody tells is melting."""
ONE = {
    "batches", "divide_people", "every", "load_pieces", "loaves", "packers", "people", "shape_people", "slicers", "times",
}  # fmt: skip
WHOLE = {"before_left", "carried", "mixed_share", "part", "units"}
"""Parts: all of it."""


def defaults() -> Iterator[tuple[str, str, float]]:
    """Yield every number that stands for what is not told: where, the name of the field or argument, the number."""

    def number(node: ast.expr) -> list[float]:
        return [
            each.value
            for each in ast.walk(node)
            if isinstance(each, ast.Constant)
            and isinstance(each.value, (int, float))
            and not isinstance(each.value, bool)
        ]

    for path in sorted(path for path in HOUSE.glob("*.py") if path.stem not in FLOORS[-1]):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef):
                told = [
                    (each.target, each.value) for each in node.body if isinstance(each, ast.AnnAssign) and each.value
                ]
                yield from (
                    (f"{path.stem}.{node.name}", ast.unparse(name), each)
                    for name, value in told
                    for each in number(value)
                )
            elif isinstance(node, ast.FunctionDef):
                places = [*node.args.posonlyargs, *node.args.args]
                pairs = [
                    *zip(places[len(places) - len(node.args.defaults) :], node.args.defaults, strict=True),
                    *zip(node.args.kwonlyargs, node.args.kw_defaults, strict=True),
                ]
                plain = [(name.arg, value) for name, value in pairs if isinstance(value, ast.Constant)]
                yield from ((f"{path.stem}.{node.name}", name, each) for name, value in plain for each in number(value))


DEFAULTS = [each for each in defaults() if each[1] in NONE | MELTING_ICE | ONE | WHOLE]


def test_every_name_is_that_of_a_default() -> None:
    assert {name for _, name, _ in DEFAULTS} == NONE | MELTING_ICE | ONE | WHOLE


@pytest.mark.parametrize(("place", "name", "number"), DEFAULTS, ids=[f"{place}.{name}" for place, name, _ in DEFAULTS])
def test_what_is_not_told_changes_nothing(place: str, name: str, number: float) -> None:
    assert number == (1 if name in ONE | WHOLE else 0), place


TEMPERATURES = ("flour", "room", "water")
"""What is summed where nobody tells how many temperatures are."""
SUMMED = ("bakery.", "basetemp.", "correction.", "folder.", "mixtime.")


@pytest.mark.parametrize(
    ("place", "number"), [(place, number) for place, name, number in defaults() if name == "count"]
)
def test_temperatures_are_three_and_anything_else_is_one(place: str, number: float) -> None:
    assert number == (len(TEMPERATURES) if place.startswith(SUMMED) else 1)


@pytest.mark.parametrize(
    ("place", "days"),
    [
        ("upkeep.levain_upkeep", len(calendar.day_name)),
        ("betterdivider.better_divider", (date(2027, 1, 1) - date(2026, 1, 1)).days),
    ],
)
def test_days_are_those_of_a_week_and_of_a_year(place: str, days: int) -> None:
    assert [number for where, name, number in defaults() if (where, name) == (place, "days")] == [days]
