"""The house keeps its floors: what may import what, how long a room may be, and what stands at the front door."""

import ast
import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import formula
from tests.conftest import HOUSE

FLOORS = (
    (
        "errors",
        "deprecation",
        "lines",
        "sources",
        "working",
        "kinds",
        "units",
        "readerunits",
        "quantity",
        "intake",
        "tables",
        "csvtable",
        "numeric",
        "spread",
        "money",
        "timeofday",
        "bookings",
        "packed",
        "bulknames",
        "bulkcsv",
    ),
    ("ingredient", "catalogue"),
    (
        "moisture",
        "losses",
        "losssteps",
        "stage",
        "part",
        "facts",
        "table",
        "notation",
        "formula",
        "printed",
        "rounding",
        "weighing",
        "batch",
        "layout",
        "files",
    ),
    (
        "yeast",
        "household",
        "refit",
        "exchange",
        "adjust",
        "comparison",
        "rates",
        "otherrates",
        "growth",
        "steps",
        "schedule",
        "ready",
        "ferment",
        "processes",
        "handbooks",
        "limits",
        "dose",
        "timing",
        "souring",
        "levainlog",
        "ripening",
        "culture",
        "levainplan",
        "builds",
        "upkeep",
        "ice",
        "friction",
        "mixtime",
        "water",
        "basetemp",
        "reach",
        "supply",
        "trials",
        "trialdoubts",
        "trialfit",
        "correction",
        "uncertainty",
        "wallchart",
        "capacity",
        "bodies",
        "balance",
        "heat",
        "heatspread",
        "newton",
        "conduction",
        "piece",
        "course",
        "cooled",
        "chill",
        "counting",
        "portion",
        "products",
        "byhand",
        "press",
        "olddough",
        "orders",
        "ordered",
        "yielded",
        "packrules",
        "allowances",
        "shape",
        "losstable",
        "lossestimate",
        "lossfit",
        "tin",
        "tray",
        "baketime",
        "netweight",
        "pieceloss",
        "scalingweight",
        "steadiness",
        "betterdivider",
        "samples",
        "samplecheck",
        "finished",
        "arrays",
    ),
    (
        "expenses",
        "prices",
        "bill",
        "cost",
        "pricing",
        "costchange",
        "legalnames",
        "allergens",
        "listing",
        "label",
        "breadnames",
        "labelchecks",
        "draft",
        "labelrounding",
        "energyfactors",
        "nutrients",
        "breadband",
        "tablefigure",
        "nutritiontable",
        "nutritiondraft",
        "bakery",
        "process",
        "workshop",
        "keepup",
        "folder",
        "shopfile",
        "pour",
        "doughs",
        "doughorder",
        "mixes",
        "breadplan",
        "day",
        "threeways",
        "stations",
        "placing",
        "delivered",
        "dayjobs",
        "clockwork",
        "hourwater",
        "mixwaits",
        "feeding",
        "samestage",
        "evening",
        "stock",
        "stretch",
        "standing",
        "nightorders",
        "logentry",
        "daylog",
        "pace",
        "underway",
        "happened",
        "reorder",
        "replanning",
        "tracing",
        "measured",
        "changes",
        "relief",
        "daymodel",
        "solver",
        "optimum",
        "daycost",
        "formulacolumns",
        "formulatable",
        "assortment",
        "assortmentfile",
        "manydays",
    ),
    (
        "words",
        "sheetparts",
        "sheetlayout",
        "sheetpage",
        "workbook",
        "livesheet",
        "livebook",
        "sheet",
        "daypages",
        "daysheet",
        "daycalendar",
        "chart",
        "plot",
        "breadplot",
        "problems",
        "draws",
        "percentproblems",
        "preferproblems",
        "waterproblems",
        "yeastproblems",
        "lossproblems",
        "costproblems",
        "exercise",
        "provenance",
        "board",
        "screen",
        "logcli",
        "costscreen",
        "daycli",
        "watercli",
        "yeastcli",
        "dividecli",
        "weightcli",
        "losscli",
        "stockcli",
        "costcli",
        "sheetcli",
        "labelcli",
        "nutritioncli",
        "sourcecli",
        "exercisecli",
        "cli",
        "__main__",
    ),
)
"""From the ground up; within a floor a room may use the rooms before it. A room not built yet is simply not there."""

LATE_UPWARD = {("formula", "batch"), ("formula", "sheet"), ("batch", "sheet")}
"""``Formula.scale`` builds a batch, and what a notebook shows is drawn by the sheet: both inside the function."""

DEAR = {
    "cattrs",
    "click",
    "dask",
    "distributed",
    "jinja2",
    "matplotlib",
    "numpy",
    "openpyxl",
    "ortools",
    "pint",
    "rich",
    "scipy",
}
"""Packages that nobody should pay for who does not use them: imported inside functions only."""

FACES = {
    "cli": {"rich", "click"},
    "daycli": {"click"},
    "board": {"rich"},
    "screen": {"rich"},
    "costscreen": {"rich"},
    "watercli": {"click"},
    "yeastcli": {"click"},
    "losscli": {"click"},
    "stockcli": {"click"},
    "labelcli": {"click"},
    "nutritioncli": {"click"},
    "sourcecli": {"click"},
    "sheetcli": {"click"},
    "weightcli": {"click"},
    "dividecli": {"click"},
    "costcli": {"click"},
    "logcli": {"rich", "click"},
    "exercisecli": {"click"},
}
"""The command line is loaded by ``__main__`` alone, after it has seen that its packages are there."""

MOST_LINES = 400
LONGER: dict[str, str] = {}
"""Rooms a little over the line, each with its reason; none may pass ``NEVER_MORE_LINES``."""
NEVER_MORE_LINES = 450

ORDER = {room: place for place, room in enumerate(room for floor in FLOORS for room in floor)}
ROOMS = sorted(path.stem for path in HOUSE.glob("*.py") if path.stem != "__init__")
PUBLIC = sorted(formula.__all__)


def tree(room: str) -> ast.Module:
    return ast.parse((HOUSE / f"{room}.py").read_text(encoding="utf-8"))


def imports(node: ast.AST, depth: str = "module") -> Iterator[tuple[str, str]]:
    """Yield (where the import stands, what is imported); a room of this house is written with a leading dot."""
    for child in ast.iter_child_nodes(node):
        inner = depth
        if isinstance(child, (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda)):
            inner = "function"
        elif isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test):
            inner = "typing"
        if isinstance(child, ast.Import):
            for name in child.names:
                is_ours = name.name.split(".")[0] == "formula"
                yield depth, name.name.removeprefix("formula") if is_ours else name.name
        elif isinstance(child, ast.ImportFrom):
            module = child.module or ""
            if child.level:
                for name in child.names:
                    yield depth, f".{module or name.name}"
            elif module.split(".")[0] == "formula":
                for name in child.names:
                    yield depth, module.removeprefix("formula") or f".{name.name}"
            else:
                yield depth, module
        else:
            yield from imports(child, inner)


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_stands_on_a_floor(room: str) -> None:
    assert room in ORDER, f"{room}.py is not in the plan of the house: give it a floor in FLOORS"


@pytest.mark.parametrize("room", ROOMS)
def test_imports_point_downwards(room: str) -> None:
    for depth, target in imports(tree(room)):
        if not target.startswith("."):
            continue
        below = target.removeprefix(".").split(".")[0]
        if room == "__main__" and below == "cli":
            continue
        assert below in ORDER, f"{room} imports {below}, which is no room"
        if ORDER[below] < ORDER[room]:
            continue
        late = depth in {"function", "typing"} and (room, below) in LATE_UPWARD
        assert late, f"{room} imports {below}, which stands above it ({depth})"


@pytest.mark.parametrize("room", ROOMS)
def test_nothing_dear_is_imported_with_a_room(room: str) -> None:
    at_once = {target.split(".")[0] for depth, target in imports(tree(room)) if depth == "module"}
    assert not at_once & DEAR - FACES.get(room, set())


def test_the_command_line_is_loaded_by_main_alone() -> None:
    users = {room for room in ROOMS for _, target in imports(tree(room)) if target == ".cli"}
    assert users <= {"__main__"}


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_can_be_read_in_one_sitting(room: str) -> None:
    length = len((HOUSE / f"{room}.py").read_text(encoding="utf-8").splitlines())
    most = NEVER_MORE_LINES if room in LONGER else MOST_LINES
    assert length <= most, f"{room}.py has {length} lines: likely two subjects"


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_says_what_it_is_for(room: str) -> None:
    says = ast.get_docstring(tree(room))
    assert says
    assert says.splitlines()[0].endswith((".", "?", "!", ":"))


def test_the_top_level_holds_nothing_else() -> None:
    top = Path(__file__).parents[1]
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "formula", "tests", "docs"}
    found = {entry.name for entry in top.iterdir() if not entry.name.startswith(".")}
    # An archive of the sources carries its own description, which its builder puts there.
    assert found - {"PKG-INFO"} <= allowed


LAWS = Path(__file__).parent / "laws"


@pytest.mark.parametrize("file", sorted(LAWS.glob("test_*.py")), ids=lambda file: file.stem)
def test_what_laws_are_drawn_from_stands_in_one_file(file: Path) -> None:
    """Else nobody sees at a glance how far the laws reach."""
    drawn = [
        ast.unparse(node).splitlines()[0]
        for node in ast.parse(file.read_text(encoding="utf-8")).body
        if (isinstance(node, ast.FunctionDef) and any("composite" in ast.unparse(each) for each in node.decorator_list))
        or (isinstance(node, ast.Assign | ast.AnnAssign) and re.search(r"\b(st|strategies)\.[a-z]", ast.unparse(node)))
    ]
    assert drawn == [], "move these to tests/laws/strategies.py"


def front_door() -> tuple[dict[str, str], dict[str, str], list[str]]:
    """Read ``__init__.py``: the names for type checkers, the names at run time, and ``__all__``."""
    tree_ = ast.parse((HOUSE / "__init__.py").read_text(encoding="utf-8"))
    typed: dict[str, str] = {}
    table: dict[str, str] = {}
    listed: list[str] = []
    for node in ast.walk(tree_):
        if isinstance(node, ast.ImportFrom) and node.level:
            for name in node.names:
                assert name.asname == name.name, f"{name.name} is not exported again under its own name"
                typed[name.name] = str(node.module)
        targets = (
            node.targets if isinstance(node, ast.Assign) else [node.target] if isinstance(node, ast.AnnAssign) else []
        )
        value = node.value if isinstance(node, (ast.Assign, ast.AnnAssign)) else None
        for target in targets:
            if isinstance(target, ast.Name) and isinstance(value, ast.Dict):
                table |= ast.literal_eval(value)
            if isinstance(target, ast.Name) and target.id == "__all__" and value is not None:
                listed = ast.literal_eval(value)
    return typed, table, listed


def test_the_front_door_tells_all_readers_the_same() -> None:
    typed, table, listed = front_door()
    assert typed == table
    assert listed == sorted(table)
    assert dir(formula) == sorted(table)


def test_every_public_name_is_public_in_its_room() -> None:
    for name, room in front_door()[1].items():
        statements = tree(room).body
        exported = next(
            ast.literal_eval(node.value)
            for node in statements
            if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__"
        )
        assert name in exported, f"{room}.__all__ does not list {name}"


def test_no_room_shares_its_name_with_a_public_name() -> None:
    assert not set(ROOMS) & set(PUBLIC)


# One process for each room. Importing a room binds its name on the package, and nothing else does: so a public name can only
# be lost to a room, and whether one was is seen without loading all the others. The room's own names are loaded.
AFTER_A_ROOM = """
import importlib, json, sys, types
import formula
room, names = json.loads({facts!r})
if room != "cli":
    importlib.import_module("formula." + room)
for name in names:
    assert not isinstance(vars(formula).get(name), types.ModuleType), name
for name in names:
    if formula._ROOMS[name] == room:
        value = getattr(formula, name)
        assert value is getattr(sys.modules["formula." + room], name), name
        exec("from formula import " + name + " as once_more")
        assert once_more is value, name
print("ok")
"""

# Every name after every room, and every room after every name.
AFTER_ALL_ROOMS = """
import importlib, json, sys, types
import formula
rooms, names = json.loads({facts!r})
for every in rooms:
    importlib.import_module("formula." + every)
    for name in names:
        value = getattr(formula, name)
        assert not isinstance(value, types.ModuleType), (every, name)
        assert value is getattr(sys.modules["formula." + formula._ROOMS[name]], name), (every, name)
        exec("from formula import " + name + " as once_more")
        assert once_more is value, (every, name)
print("ok")
"""


@pytest.mark.parametrize("room", ROOMS)
def test_every_name_is_there_after_every_room(room: str, fresh_python: Callable[[str], str]) -> None:
    facts = json.dumps([room, PUBLIC])
    assert fresh_python(AFTER_A_ROOM.format(facts=facts)) == "ok\n"


@pytest.mark.parametrize("backwards", [False, True])
def test_every_name_stays_through_all_rooms(backwards: bool, fresh_python: Callable[[str], str]) -> None:  # noqa: FBT001
    rooms = sorted(set(ROOMS) - {"cli", "__main__"}, reverse=backwards)
    assert fresh_python(AFTER_ALL_ROOMS.format(facts=json.dumps([rooms, PUBLIC]))) == "ok\n"


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="module 'formula' has no attribute 'loaf'"):
        _ = formula.loaf  # type: ignore[attr-defined]


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_has_its_section_in_the_reference(room: str) -> None:
    reference = (Path(__file__).parents[1] / "docs" / "reference.md").read_text(encoding="utf-8")
    assert f".. automodule:: formula.{room}\n" in reference or room in {"cli", "__main__"}


def test_the_guide_for_developers_has_the_same_floors() -> None:
    guide = Path(__file__).parents[1] / "DEVELOPERS.md"
    if not guide.exists():
        pytest.skip("the guide is not here")
    written = re.findall(r"^\| [0-5] .*? \| (.*?) \|", guide.read_text(encoding="utf-8"), re.MULTILINE)
    rooms = [[each for each in re.findall(r"`([^`]+)`", row) if "." not in each] for row in written]
    assert rooms == [list(floor) for floor in reversed(FLOORS)]
