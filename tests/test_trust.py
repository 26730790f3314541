"""The page of trust says what was measured, and the list of laws leaves none out."""

import json
from pathlib import Path

import pytest

from tests import lawbook, trust
from tests.test_house import FLOORS

FACES = frozenset(FLOORS[-1])


def test_every_law_has_a_sentence_and_a_subject() -> None:
    found = list(lawbook.laws())
    assert len(found) > 150
    for subject, name, said in found:
        assert said.endswith((".", "?")), f"{name} does not say its law in a sentence"
        assert subject in lawbook.TITLES
    assert {subject for subject, _, _ in found} == set(lawbook.TITLES)
    assert lawbook.law_lists().count("\n* ") == len(found)


def test_what_nobody_measured_is_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(trust, "MEASURED", tmp_path)
    assert trust.budgets() == trust.coverage() == trust.mutation() == trust.digits() == trust.NOBODY
    assert "suite on Python" not in trust.summary()


def test_what_was_measured_is_shown(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(trust, "MEASURED", tmp_path)
    records = {
        "suite-3.12": {"date": "2031-01-02", "python": "3.12.1", "pint": "0.26", "attrs": "26.1", "passed": 7, "failed": 0, "error": 1, "skipped": 2},
        "mutation": {"date": "2031-01-03", "tool": "a tool 1.0", "killed": 19, "survived": 1,
                     "survivors": [{"kernel": "ice.x", "change": "a | b", "reason": "the same number"}]},
        "digits": {"date": "2031-01-05", "changed": 8, "noticed": 6,
                   "survivors": [{"room": "ice", "number": "LEAST", "line": "LEAST = 3", "change": "3 → 4", "reason": "a limit"},
                                 {"room": "tin", "number": "MOST", "line": "MOST = 5", "change": "5 → 6", "reason": "not judged yet"}]},
        "long": {"date": "2031-01-05", "examples": 2000, "passed": 30, "failed": 0, "not_reached": 2},
        "budgets": {"date": "2031-01-04", "python": "3.11.7",
                    "rows": [{"what": "import", "measured": 1.1, "limit": None, "compared_with": "attrs"}]},
    }  # fmt: skip
    for name, record in records.items():
        (tmp_path / f"{name}.json").write_text(json.dumps(record), encoding="utf-8")
    summary = trust.summary()
    assert "| suite on Python 3.12.1, pint 0.26, attrs 26.1 | 7 passed, 1 failed, 2 skipped (2031-01-02) |" in summary
    assert "| 19 of 20, 95.0 % (2031-01-03) |" in summary
    assert (
        "| laws, each searched with up to 2000 examples | 30 passed, 0 failed, 2 not reached in the time (2031-01-05) |"
        in summary
    )
    assert "| 6 of 8, 75.0 % (2031-01-05) |" in summary
    assert "| `ice` | `LEAST` | `LEAST = 3` | 3 → 4 | a limit |" in trust.digits()
    assert "8 numbers changed, 6 noticed, 2 not; 1 of these not judged yet." in trust.digits()
    assert "| import | 1.1 | - | attrs |" in trust.budgets()
    assert r"| `ice.x` | `a \| b` | the same number |" in trust.mutation()


def test_a_report_of_coverage_is_written_down_and_keeps_its_reasons(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(trust, "MEASURED", tmp_path)
    report = tmp_path / "report.json"
    files = {
        "formula/water.py": {"missing_lines": [3, 4], "missing_branches": [[2, -1]]},
        "formula/ice.py": {"missing_lines": [], "missing_branches": []},
        "formula/board.py": {"missing_lines": [9], "missing_branches": []},
    }
    report.write_text(json.dumps({"files": files, "totals": {"percent_covered": 99.123}}), encoding="utf-8")
    trust.record_coverage(report, FACES)
    written = json.loads((tmp_path / "coverage.json").read_text(encoding="utf-8"))
    assert written["rooms"] == {"water": {"lines": "3, 4", "branches": "2 to the end", "reason": ""}}
    written["rooms"]["water"]["reason"] = "needs another machine"
    (tmp_path / "coverage.json").write_text(json.dumps(written), encoding="utf-8")
    trust.record_coverage(report, FACES)
    assert "| `water` | 3, 4 | 2 to the end | needs another machine |" in trust.coverage()
    assert "99.12 %" in trust.coverage()


@pytest.mark.parametrize("path", sorted(trust.MEASURED.glob("*.json")), ids=lambda path: path.stem)
def test_a_record_has_its_date_and_every_gap_a_reason(path: Path) -> None:
    record = json.loads(path.read_text(encoding="utf-8"))
    assert record["date"].count("-") == 2
    for gap in (*record.get("survivors", ()), *record.get("rooms", {}).values()):
        assert gap["reason"], gap
