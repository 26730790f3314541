"""The numbers that a tool for kernels leaves alone: they are found and changed, and a view of a value holds none."""

import ast
from collections.abc import Iterator

import pytest

from tests import digits
from tests.conftest import HOUSE

ROOM = b'''"""A room."""
LEAST: Final = Constant(0.25, "1", 1e-9, "a-source", "page 7")
POUND = Fraction("453.59237")
SIZES = {"small": (1_000, -80)}

class Tray:
    rows: int = field(default=2)
    is_warm: bool = True

    @cached_property
    def pieces(self):
        return 3 * self.rows  # \xc2\xb0C

def bake(tray, at_c: float = 230.0, *, doors=None, turns=1):
    return 5 * at_c
'''

CONVERTS = {
    "handbooks.dose": "a percentage as a share, as a view with percent=True makes it",
    "processes.dose": "a percentage as a share, as a view with percent=True makes it",
    "tablefigure.amount": "chooses the unit by the name of the nutrient: its factors are constants of the room",
}
"""Properties that make quantities and have a factor of units inside; it is changed as all numbers of properties are."""


@pytest.mark.parametrize(
    ("printed", "after"),
    [
        ("0.25", "0.26"), ("80", "81"), ("1e-9", "2e-9"), ("1_000", "1_001"), ("4.00", "4.01"), ("9", "10"), ("0.29", "0.30"),
        ("-273.15", "-273.16"), ("1.2089e-3", "1.2090e-3"), ("0.0", "0.1"),
    ],
)  # fmt: skip
def test_the_last_printed_digit_is_one_higher(printed: str, after: str) -> None:
    assert digits.one_digit_more(printed) == after


def test_numbers_outside_kernels_are_found_and_those_inside_are_not() -> None:
    found = {(each.owner, each.change) for each in digits.numbers("tray", ROOM)}
    assert found == {
        ("LEAST", "0.25 → 0.26"), ("LEAST", "1e-9 → 2e-9"), ("POUND", "453.59237 → 453.59238"),
        ("SIZES", "1_000 → 1_001"), ("SIZES", "80 → 81"), ("Tray.rows", "2 → 3"), ("Tray.pieces", "3 → 4"),
        ("bake()", "230.0 → 230.1"), ("bake()", "1 → 2"),
    }  # fmt: skip


def test_a_change_changes_one_number() -> None:
    for each in digits.numbers("tray", ROOM):
        changed = ROOM[: each.start] + each.after + ROOM[each.end :]
        before, after = each.change.split(" → ")
        assert ROOM.count(before.encode()) - 1 == changed.count(before.encode()) - after.count(before)
        assert [a == b for a, b in zip(ROOM.splitlines(), changed.splitlines(), strict=True)].count(False) == 1


def test_every_number_of_a_room_has_a_name_of_its_own() -> None:
    for room in digits.ROOMS:
        found = digits.numbers(room, (HOUSE / f"{room}.py").read_bytes())
        assert len({(each.owner, each.line, each.change) for each in found}) == len(found)


def classes() -> Iterator[tuple[str, ast.ClassDef]]:
    for path in sorted(HOUSE.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef):
                yield path.stem, node


def test_a_view_holds_a_kind_and_a_name_and_no_arithmetic() -> None:
    views = 0
    for room, owner in classes():
        for call in (each for each in ast.walk(owner) if isinstance(each, ast.Call)):
            if ast.unparse(call.func) in {"View", "OptionalView"}:
                kind, name, what = call.args
                views += 1
                told = f"{room}.{owner.name}: {ast.unparse(call)}"
                assert isinstance(kind, ast.Name), told
                assert isinstance(name, ast.Constant), told
                assert isinstance(what, ast.Constant), told
                assert [ast.unparse(each) for each in call.keywords] in ([], ["percent=True"]), told
    assert views > 400


def test_a_property_that_makes_quantities_does_no_arithmetic() -> None:
    sums = set()
    for room, owner in classes():
        for each in owner.body:
            if isinstance(each, ast.FunctionDef) and "Quantity" in ast.unparse(each.returns or ast.Constant(None)):
                is_view = any("property" in ast.unparse(one) for one in each.decorator_list)
                body = [inner for line in each.body for inner in ast.walk(line)]
                if is_view and any(isinstance(one, (ast.BinOp, ast.UnaryOp, ast.AugAssign)) for one in body):
                    sums.add(f"{room}.{each.name}")
    assert sums == CONVERTS.keys()
