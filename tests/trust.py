"""The page of trust: what holds the numbers, put together from the tests and from what was measured by hand.

Laws and check values are read from the tests with each build.  What takes longer is measured by hand and written down in
``docs/measured/``, each with its date: how, stands in DEVELOPERS.md.
"""

import json
import sys
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from formula.sources import all_sources
from tests import accuracy
from tests.engines import listed
from tests.lawbook import laws

MEASURED = Path(__file__).parents[1] / "docs" / "measured"


def measured(name: str) -> dict[str, Any] | None:
    """Return what was written down, or None where nobody has measured it."""
    path = MEASURED / f"{name}.json"
    return json.loads(path.read_text(encoding="utf-8")) if path.exists() else None


def table(head: tuple[str, ...], rows: Sequence[tuple[object, ...]]) -> str:
    """Return a Markdown table."""
    lines = [head, ("---",) * len(head), *rows]
    return "\n".join("| " + " | ".join(str(cell).replace("|", "\\|") for cell in line) + " |" for line in lines) + "\n"


def summary() -> str:
    """Return the whole in one table."""
    rows: list[tuple[object, ...]] = [
        (
            "laws, searched by random examples",
            f"{len(list(laws()))} in {len({each for each, _, _ in laws()})} subjects",
        ),
        ("check values from print", accuracy.PARTS["sentence"]().strip()),
        ("sources", f"{len(all_sources())}, each used; {_known()}"),
    ]
    for each in (measured(name) for name in SUITES):
        if each:
            went = f"{each['passed']} passed, {each['failed'] + each['error']} failed, {each['skipped']} skipped"
            said = f"suite on Python {each['python']}, pint {each['pint']}, attrs {each['attrs']}"
            rows.append((said, f"{went} ({each['date']})"))
    if found := measured("long"):
        went = f"{found['passed']} passed, {found['failed']} failed, {found['not_reached']} not reached in the time"
        rows.append((f"laws, each searched with up to {found['examples']} examples", f"{went} ({found['date']})"))
    if found := measured("coverage"):
        rows.append(("branches and lines run by the suite", f"{found['percent']} % ({found['date']})"))
    if found := measured("mutation"):
        changes = found["killed"] + found["survived"]
        share = f"{found['killed']} of {changes}, {100 * found['killed'] / changes:.1f} %"
        rows.append(("changed kernels that a test noticed", f"{share} ({found['date']})"))
    if found := measured("digits"):
        share = f"{found['noticed']} of {found['changed']}, {100 * found['noticed'] / found['changed']:.1f} %"
        rows.append(("changed digits of constants that a test noticed", f"{share} ({found['date']})"))
    if found := measured("fuzz"):
        hours = f"{found['seconds'] / 3600:.2f} h, {found['executions']} inputs"
        rows.append(("fuzzing", f"{hours} ({found['date']})"))
    return table(("what", "found"), rows)


def _known() -> str:
    counts = Counter(each.known_by for each in all_sources().values())
    return ", ".join(f"{count} {kind}" for kind, count in counts.most_common())


def budgets() -> str:
    """Return the budgets as they were measured last."""
    found = measured("budgets")
    if not found:
        return NOBODY
    rows = [
        (each["what"], each["measured"], "-" if each["limit"] is None else each["limit"], each["compared_with"])
        for each in found["rows"]
    ]
    return f"Measured {found['date']} on Python {found['python']}.\n\n" + table(
        ("what", "measured", "limit", "compared with"), rows
    )


def coverage() -> str:
    """Return the rooms outside the faces that are not run in full, with the lines."""
    found = measured("coverage")
    if not found:
        return NOBODY
    rows = [
        (f"`{room}`", each["lines"] or "-", each["branches"] or "-", each["reason"])
        for room, each in found["rooms"].items()
    ]
    head = f"Measured {found['date']}: {found['percent']} % of all lines and branches.\n\n"
    return head + (
        table(("room", "lines not run", "branches not taken", "why"), rows)
        if rows
        else "All rooms outside the faces are run in full.\n"
    )


def mutation() -> str:
    """Return the changes that no test noticed, each with its reason."""
    found = measured("mutation")
    if not found:
        return NOBODY
    rows = [(f"`{each['kernel']}`", f"`{each['change']}`", each["reason"]) for each in found["survivors"]]
    head = f"{found['tool']}, {found['date']}: {found['killed']} noticed, {found['survived']} not.\n\n"
    return head + (table(("kernel", "change", "why it survives"), rows) if rows else "")


def engines() -> str:
    """Return the pairs of engines that are held to each other."""
    return table(("question", "one way", "the other way", "where", "no further apart than"), listed())


def digits() -> str:
    """Return the numbers outside kernels whose last digit no test noticed, each with its reason."""
    found = measured("digits")
    if not found:
        return NOBODY
    rows = [
        (f"`{each['room']}`", f"`{each['number']}`", f"`{each['line']}`", each["change"], each["reason"])
        for each in found["survivors"]
    ]
    unjudged = sum(each["reason"] == NOT_JUDGED for each in found["survivors"])
    head = f"{found['date']}: {found['changed']} numbers changed, {found['noticed']} noticed, {len(rows)} not"
    head += f"; {unjudged} of these {NOT_JUDGED}.\n\n" if unjudged else ".\n\n"
    return head + (table(("room", "number", "line", "change", "why it survives"), rows) if rows else "")


NOT_JUDGED = "not judged yet"
NOBODY = "Not measured yet.\n"
SUITES = ("suite-oldest", "suite-3.11", "suite-3.12", "suite-3.13")
"""The first with the oldest versions that are allowed."""
PARTS: Mapping[str, Callable[[], str]] = {
    "summary": summary,
    "engines": engines,
    "budgets": budgets,
    "coverage": coverage,
    "mutation": mutation,
    "digits": digits,
}


def record_coverage(report: Path, faces: frozenset[str]) -> None:
    """Write down what a report of coverage (JSON) says of the rooms outside the faces."""
    found = json.loads(report.read_text(encoding="utf-8"))
    known = (measured("coverage") or {"rooms": {}})["rooms"]
    rooms = {}
    for name, each in sorted(found["files"].items()):
        room = Path(name).stem
        if room not in faces and (each["missing_lines"] or each.get("missing_branches")):
            lines = ", ".join(map(str, each["missing_lines"]))
            branches = ", ".join(
                f"{start} to {max(end, 0) or 'the end'}" for start, end in each.get("missing_branches", ())
            )
            reason = known.get(room, {}).get("reason", "")
            rooms[room] = {"lines": lines, "branches": branches, "reason": reason}
    total = {
        "date": f"{datetime.now(tz=UTC):%Y-%m-%d}",
        "percent": round(found["totals"]["percent_covered"], 2),
        "rooms": rooms,
    }
    (MEASURED / "coverage.json").write_text(json.dumps(total, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    from tests.test_house import FLOORS

    record_coverage(Path(sys.argv[1]), frozenset(FLOORS[-1]))
