"""The check values: one row of a file in ``oracles/``, one case of a test, named by its id."""

import csv
from pathlib import Path

import pytest
from _pytest.mark import ParameterSet

ORACLES = Path(__file__).parent / "oracles"


def rows(name: str) -> list[ParameterSet]:
    """Return the rows of ``oracles/<name>.csv`` as cases; every row has an id, a reason for its tolerance and a source."""
    with (ORACLES / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        table = list(csv.DictReader(file))
    assert table, f"{name}.csv is empty"
    ids = [row["id"] for row in table]
    assert len(set(ids)) == len(ids), f"{name}.csv names a row twice"
    for row in table:
        assert row["tolerance"], row["id"]
        assert row["reason"], row["id"]
        assert row["source"], row["id"]
        assert row["known"], row["id"]
    return [pytest.param(row, id=row["id"]) for row in table]
