"""The tables of check values as they stand in ``oracles/``; needs nothing but Python, so that the documentation reads them too."""

import csv
from pathlib import Path

ORACLES = Path(__file__).parent / "oracles"
Row = dict[str, str]


def read_rows(name: str) -> list[Row]:
    """Return the rows of ``oracles/<name>.csv``."""
    with (ORACLES / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
