"""Published formulas with preferments and soakers: typed as printed, every printed number of the other notation found."""

from pathlib import Path

import pytest

from tests.checkvalues import ORACLES
from tests.rows import holds, rows

PRINTED = ORACLES / "printed"


@pytest.mark.parametrize("row", rows("stages"))
def test_a_published_formula_with_stages(row: dict[str, str]) -> None:
    holds("stages", row)


def test_every_printed_formula_is_checked() -> None:
    used = {param.values[0]["file"] for param in rows("stages")}  # type: ignore[index]
    assert used == {path.name for path in Path(PRINTED).glob("*.toml")}
