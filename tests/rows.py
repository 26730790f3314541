"""The check values: one row of a file in ``oracles/``, one case of a test, named by its id."""

import pytest
from _pytest.mark import ParameterSet

from tests.beside import beside
from tests.checkvalues import Row, read_rows


def rows(name: str) -> list[ParameterSet]:
    """Return the rows of ``oracles/<name>.csv`` as cases; every row has an id, a reason for its tolerance and a source."""
    table = read_rows(name)
    assert table, f"{name}.csv is empty"
    ids = [row["id"] for row in table]
    assert len(set(ids)) == len(ids), f"{name}.csv names a row twice"
    for row in table:
        assert row["tolerance"], row["id"]
        assert row["reason"], row["id"]
        assert row["source"], row["id"]
        assert row["known"], row["id"]
    return [pytest.param(row, id=row["id"]) for row in table]


def holds(table: str, row: Row) -> None:
    """Hold every printed number of a row against the library's; a row without a number to meet is a fault of the test."""
    found = beside(table, row)
    assert found, f"{row['id']} has no number to meet"
    for each in found:
        assert each.within, (
            f"{each.row} {each.what}: {each.found} instead of {each.printed} ± {each.tolerance} {each.unit}"
        )
