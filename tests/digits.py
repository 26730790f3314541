"""Change every number that mutmut leaves alone by its last printed digit, one at a time, and see whether a test notices.

    python -m tests.digits                  # every room outside the faces: by hand, it takes hours
    python -m tests.digits tin water        # these rooms alone; the record keeps what it has of the others
    python -m tests.digits --left           # only what no test noticed the last time

These are the numbers of constants, tables, fields, default arguments and properties: 0.25 becomes 0.26, and 80 becomes 81.
The work is done in a copy under ``.build``.  First each number meets the examples and the tests of its room and of those who
use it.  Those that none of them notices are then changed all at once, the whole suite says which tests could notice, and each
number alone meets these; so on, until no more are found.  What is left is written into ``docs/measured/digits.json``, where
each needs a reason.
"""

import ast
import compileall
import doctest
import importlib
import json
import os
import re
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import UTC, datetime
from decimal import Decimal
from functools import cache
from pathlib import Path

import pint
import pytest
from attrs import frozen

import formula
from tests.copies import copy_project
from tests.test_house import FLOORS, imports, tree
from tests.trust import MEASURED, NOT_JUDGED, measured

ROOT = Path(__file__).parents[1]
PLACE = ROOT / ".build" / "digits"
ROOMS = [room for floor in FLOORS[:-1] for room in floor if (ROOT / "formula" / f"{room}.py").exists()]
NOT_OF_NUMBERS = {
    "deprecation", "docs_glossary", "docs_index", "house", "import", "links", "minimum", "names", "outside", "pages",
    "shown", "trust", "types",
}  # fmt: skip
"""Tests of other things than what is computed."""
AT_ONCE = (
    "attrs", "cattrs", "click", "hypothesis", "iapws", "jinja2", "jsonschema", "markdown_it", "matplotlib", "numpy", "openpyxl",
    "ortools.sat.python.cp_model", "pandas", "pint", "rich", "scipy.integrate", "scipy.optimize", "scipy.stats", "sybil",
)  # fmt: skip
"""Packages loaded once for all changes; the library and its tests are loaded anew for each."""
MOST_SECONDS = 120
"""A number that makes a search endless is noticed; a run of the whole suite may take longer."""
ENDLESS = "a search without an end"
NUMERAL = re.compile(r"-?\d[\d_]*(?:\.\d+)?(?:e[-+]?\d+)?")


@frozen
class Number:
    """A number in a room: who holds it, the text of its line, and its bytes before and after the change."""

    room: str
    owner: str
    line: str
    change: str
    start: int
    end: int
    after: bytes


def one_digit_more(printed: str) -> str:
    """Return a number with its last printed digit one higher: 0.25 is 0.26, 1_000 is 1_001, and 2e-9 is 3e-9."""
    mantissa, exponential, exponent = printed.partition("e")
    value = Decimal(mantissa)
    last = Decimal(1).scaleb(int(value.as_tuple().exponent)).copy_sign(value)
    more = f"{value + last:,f}".replace(",", "_" if "_" in mantissa else "")
    return f"{more}{exponential}{exponent}"


def literals(node: ast.AST) -> Iterator[ast.Constant]:
    """Yield the numbers in a piece of code, and the texts that are read as exact numbers."""
    for each in ast.walk(node):
        if isinstance(each, ast.Constant) and type(each.value) in {int, float}:
            yield each
        elif isinstance(each, ast.Call) and ast.unparse(each.func) in {"Fraction", "Decimal"}:
            yield from (one for one in each.args if isinstance(one, ast.Constant) and isinstance(one.value, str))


def held(tree: ast.Module) -> Iterator[tuple[str, ast.Constant]]:
    """Yield the numbers of assignments outside functions, of default arguments and of properties, with who holds them."""

    def assigned(body: Iterable[ast.stmt], within: str) -> Iterator[tuple[str, ast.Constant]]:
        for node in body:
            if isinstance(node, ast.ClassDef):
                yield from assigned(node.body, f"{within}{node.name}.")
            elif isinstance(node, (ast.Assign, ast.AnnAssign)) and node.value:
                target = node.target if isinstance(node, ast.AnnAssign) else node.targets[0]
                yield from ((f"{within}{ast.unparse(target)}", each) for each in literals(node.value))
            elif isinstance(node, ast.FunctionDef) and any("property" in ast.unparse(d) for d in node.decorator_list):
                yield from ((f"{within}{node.name}", each) for part in node.body for each in literals(part))

    yield from assigned(tree.body, "")
    for node in ast.walk(tree):
        if isinstance(node, (ast.FunctionDef, ast.Lambda)):
            name = getattr(node, "name", "lambda")
            defaults = [*node.args.defaults, *(each for each in node.args.kw_defaults if each)]
            yield from ((f"{name}()", each) for default in defaults for each in literals(default))


def numbers(room: str, source: bytes) -> list[Number]:
    """Return every number of a room that is to be changed, in the order of its lines."""
    lines = source.splitlines(keepends=True)
    starts = [sum(map(len, lines[:row])) for row in range(len(lines))]
    found: dict[int, Number] = {}
    seen: Counter[tuple[str, str, str]] = Counter()
    for owner, node in sorted(held(ast.parse(source)), key=lambda each: (each[1].lineno, each[1].col_offset)):
        start = starts[node.lineno - 1] + node.col_offset
        end = starts[(node.end_lineno or node.lineno) - 1] + (node.end_col_offset or 0)
        printed = source[start:end].decode()
        before = printed.strip("\"'")
        if start in found or not NUMERAL.fullmatch(before):
            continue
        assert ast.literal_eval(printed) == node.value, (room, node.lineno, printed)
        after, line = one_digit_more(before), lines[node.lineno - 1].decode().strip()
        change = f"{before} → {after}"
        seen[owner, line, change] += 1
        if (times := seen[owner, line, change]) > 1:
            change += f" (no. {times})"
        found[start] = Number(room, owner, line, change, start, end, printed.replace(before, after).encode())
    return [*found.values()]


def prepare() -> None:
    """Copy what is committed or about to be."""
    copy_project(PLACE)
    compileall.compile_dir(PLACE, quiet=1)
    sys.dont_write_bytecode = True


@cache
def users() -> dict[str, set[str]]:
    """Return for each file of tests the rooms whose names it imports."""
    found = {}
    for path in sorted([*PLACE.glob("tests/test_*.py"), *PLACE.glob("tests/laws/test_*.py")]):
        if path.stem.removeprefix("test_") not in NOT_OF_NUMBERS:
            rooms = set()
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.ImportFrom) and node.module == "formula":
                    rooms |= {vars(formula)["_ROOMS"].get(each.name, each.name) for each in node.names}
                elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("formula."):
                    rooms.add(str(node.module).removeprefix("formula."))
            found[str(path.relative_to(PLACE))] = rooms
    return found


class Only:
    """Lets only some tests run, if it is told which, and keeps the names of those that fail."""

    def __init__(self, wanted: frozenset[str]) -> None:
        self.wanted = wanted
        self.failed: set[str] = set()

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        if self.wanted:
            # The name of a file stands for all of its tests: under all changes at once it could not be read.
            items[:] = [item for item in items if {item.nodeid, item.nodeid.partition("::")[0]} & self.wanted]

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed:
            self.failed.add(report.nodeid)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.add(report.nodeid)


def run_tests(files: Sequence[str], only: Only, *, first: bool) -> None:
    """Run tests quietly in this process, to the first that fails or all of them."""
    if files:
        quiet = [
            "-q",
            "--tb=no",
            "--assert=plain",
            "-W",
            "ignore",
            "-x" if first else "--continue-on-collection-errors",
        ]
        pytest.main([*files, *quiet], [only])


def examples_fail(room: str) -> bool:
    """Tell whether an example in the docstrings of a room fails, or the room itself."""
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE)
    try:
        module = importlib.import_module(f"formula.{room}")
    except Exception:  # noqa: BLE001 - whatever a changed number brings about
        return True
    return any(
        runner.run(test, out=lambda _: None).failed for test in doctest.DocTestFinder().find(module, module.__name__)
    )


def aside(work: Callable[[], object], seconds: float) -> object:
    """Return what the work returns in a process of its own that knows nothing yet; None where it comes to no end."""
    answer = PLACE / ".answer.json"
    answer.unlink(missing_ok=True)
    child = os.fork()
    if not child:
        os.setsid()
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        os.chdir(PLACE)
        os.environ |= {"FORMULA_HYPOTHESIS": "seen", "COLUMNS": "120", "NO_COLOR": "1", "PYTHONDONTWRITEBYTECODE": "1"}
        for name in [each for each in sys.modules if each.partition(".")[0] in {"formula", "tests"}]:
            del sys.modules[name]
        sys.path.insert(0, str(PLACE))
        try:
            answer.write_text(json.dumps(work()), encoding="utf-8")
        finally:
            os._exit(0)
    until = time.monotonic() + seconds
    while os.waitpid(child, os.WNOHANG) == (0, 0):
        if time.monotonic() > until:
            os.killpg(child, signal.SIGKILL)
            os.waitpid(child, 0)
            break
        time.sleep(0.02)
    return json.loads(answer.read_text(encoding="utf-8")) if answer.exists() else None


class Changed:
    """The copy with some of its numbers changed, for a while."""

    def __init__(self, some: Sequence[Number]) -> None:
        self.paths = {room: PLACE / "formula" / f"{room}.py" for room in {each.room for each in some}}
        self.before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in self.paths.values()}
        self.some = sorted(some, key=lambda each: -each.start)

    def __enter__(self) -> None:
        for room, path in self.paths.items():
            source = path.read_bytes()
            for each in self.some:
                if each.room == room:
                    source = source[: each.start] + each.after + source[each.end :]
            path.write_bytes(source)

    def __exit__(self, *_: object) -> None:
        for path, (source, when) in self.before.items():
            path.write_bytes(source)
            os.utime(path, ns=(when, when))  # so that its bytecode is taken again


@cache
def stands_on() -> dict[str, set[str]]:
    """Return for each room what it imports."""
    return {room: {target for _, target in imports(tree(room))} for room in ROOMS}


@cache
def nearest(room: str) -> list[str]:
    """Return the tests of a room, or of those that use it with the fewest others, or of the rooms on top of it."""
    own = [file for file in (f"tests/test_{room}.py", f"tests/laws/test_{room}.py") if file in users()]
    using = [file for file, rooms in sorted(users().items(), key=lambda each: (len(each[1]), each[0])) if room in rooms]
    above = [f"tests/test_{each}.py" for each, below in stands_on().items() if f".{room}" in below]
    return own or [file for file in (*using, *above) if file in users()][:2]


def failing(
    some: Sequence[Number], files: Sequence[str], wanted: Iterable[str] = (), *, first: bool = False
) -> set[str]:
    """Return the names of the tests and examples that fail under some changes at once, of all or of the wanted ones."""
    chosen = frozenset(wanted)
    rooms = sorted({f"examples of {each.room}" for each in some})

    def work() -> list[str]:
        failed = [name for name in rooms if (not chosen or name in chosen) and examples_fail(name.rpartition(" ")[2])]
        if not (first and failed):
            only = Only(chosen)
            run_tests(
                [name for name in files if not chosen or any(each.startswith(name) for each in chosen)],
                only,
                first=first,
            )
            failed += sorted(only.failed)
        return failed

    with Changed(some):
        found = aside(work, MOST_SECONDS if first else MOST_SECONDS + 10 * len(files))
    return set(found) if isinstance(found, list) else {ENDLESS}


def is_of(test: str, room: str) -> bool:
    """Tell whether a test is of a room: it stands in a file that uses the room, or names it among its parameters."""
    return f"[{room}." in test or test == f"examples of {room}" or room in users().get(test.partition("::")[0], ())


def left_by(files: Sequence[str], left: list[Number]) -> list[Number]:
    """Return the changes that the examples and these tests do not notice, each alone.

    Tests that use the room come first; any test that could notice comes before the end.
    """
    any_test = False
    while left and (could := failing(left, files)):
        mine = {room: {name for name in could if is_of(name, room)} for room in {each.room for each in left}}
        missed = []
        for each in left:
            wanted = could if any_test else mine[each.room]
            if not wanted or not failing([each], files, wanted - {ENDLESS}, first=True):
                missed.append(each)
        if len(missed) == len(left) and any_test:
            break
        any_test = len(missed) == len(left)
        left = missed
    return left


def write_down(rooms: dict[str, int], left: Sequence[Number]) -> None:
    """Put what was found about some rooms into the record; reasons stay with their numbers."""
    old = measured("digits") or {"changed_in": {}, "survivors": []}
    place = {room: number for number, room in enumerate(ROOMS)}
    known = {(each["room"], each["number"], each["line"], each["change"]): each["reason"] for each in old["survivors"]}
    survivors = [each for each in old["survivors"] if each["room"] not in rooms and each["room"] in place]
    for each in left:
        reason = known.get((each.room, each.owner, each.line, each.change), NOT_JUDGED)
        about = {"room": each.room, "number": each.owner, "line": each.line, "change": each.change, "reason": reason}
        survivors.append(about)
    changed = {room: count for room, count in (old["changed_in"] | rooms).items() if room in place}
    record = {
        "date": f"{datetime.now(tz=UTC):%Y-%m-%d}",
        "changed": sum(changed.values()),
        "noticed": sum(changed.values()) - len(survivors),
        "changed_in": dict(sorted(changed.items(), key=lambda each: place[each[0]])),
        "survivors": sorted(survivors, key=lambda each: place[each["room"]]),
    }
    (MEASURED / "digits.json").write_text(json.dumps(record, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def main() -> None:
    """Change the numbers, run the tests, and write down what they let pass."""
    prepare()
    for name in AT_ONCE:
        importlib.import_module(name)
    pint.get_application_registry().Quantity(1.0, "gram")  # type: ignore[no-untyped-call]
    if red := failing([], [*users()]):
        sys.exit(f"the tests are not green as they stand: {sorted(red)[:5]}")
    record = measured("digits") or {"survivors": []}
    old = {(each["room"], each["number"], each["line"], each["change"]) for each in record["survivors"]}
    only_left = sys.argv[1:] == ["--left"]
    rooms: dict[str, int] = {}
    left: list[Number] = []
    for room in ROOMS if only_left else sys.argv[1:] or ROOMS:
        all_of_it = numbers(room, (PLACE / "formula" / f"{room}.py").read_bytes())
        rooms[room] = len(all_of_it)
        some = [each for each in all_of_it if not only_left or (room, each.owner, each.line, each.change) in old]
        found = left_by(nearest(room), some)
        left += found
        print(f"{room}: {len(some)} changed, {len(found)} left by the nearest tests", flush=True)  # noqa: T201
    write_down(rooms, left_by([*users()], left))


if __name__ == "__main__":
    main()
