"""Published formulas with preferments and soakers: typed as printed, every printed number of the other notation found."""

from pathlib import Path

import pytest

from formula.files import load
from formula.formula import Formula
from formula.units import MASS, parse
from tests.rows import ORACLES, rows

PRINTED = ORACLES / "printed"


def pairs(text: str) -> list[tuple[str, str, str]]:
    found = []
    for part in text.split("; "):
        what, printed = part.split("=", 1)
        number, unit = printed.split(" ", 1)
        found.append((what, number, unit))
    return found


def percent_of(formula: Formula, what: str) -> float:
    """Find a percentage: of all the flour, or "on base" of a stage's own flour, grain or seed."""
    if what == "prefermented":
        return formula.prefermented_flour
    stage, line = what.split(".", 1)
    if stage == "overall":
        return formula.total_percent if line == "total" else formula.percent(line)
    lines = formula.final if stage == "final" else next(s.percents for s in formula.stages if s.name == stage)
    if line == "on base":
        return sum(lines.values())
    return lines[line.removesuffix(" on base")]


@pytest.mark.parametrize("row", rows("stages"))
def test_a_published_formula_with_stages(row: dict[str, str]) -> None:
    formula = load(PRINTED / row["file"])
    by, amount = row["asked"].split("=", 1)
    batch = formula.scale(dough=amount) if by == "dough" else formula.scale(flour=amount)
    tolerance = float(row["tolerance"])
    for what, number, unit in pairs(row["expected"]):
        if unit == "%":
            assert percent_of(formula, what) == pytest.approx(float(number), abs=tolerance), what
            continue
        stage, line = what.split(".", 1)
        if line == "total":
            found_g = batch.stages[stage].total_g
        elif stage == "overall":
            found_g = batch.mass_g(line)
        else:
            found_g = batch.mass_g(line, stage=stage)
        assert found_g / parse(MASS, f"1 {unit}", what) == pytest.approx(float(number), abs=tolerance), what


def test_every_printed_formula_is_checked() -> None:
    used = {param.values[0]["file"] for param in rows("stages")}  # type: ignore[index]
    assert used == {path.name for path in Path(PRINTED).glob("*.toml")}
