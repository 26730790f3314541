"""Published formulas: percentages, totals and weights against what is printed."""

import re

import pytest

from formula.batch import Batch
from formula.formula import Formula
from formula.quantity import MASS
from formula.units import parse
from tests.rows import rows


def pairs(text: str) -> dict[str, str]:
    return dict(part.split("=", 1) for part in text.split("; ")) if text else {}


def typed(row: dict[str, str]) -> Formula:
    lines = pairs(row["lines"])
    if all(re.fullmatch(r"[0-9.]+", amount) for amount in lines.values()):
        return Formula.from_percents(row["id"], {name: float(amount) for name, amount in lines.items()})
    return Formula.from_weights(row["id"], lines)


def asked(formula: Formula, text: str) -> Batch:
    by = pairs(text)
    if "using" in by:
        name, weight = by["using"].split(" ", 1)
        return formula.scale(using={name: weight})
    if "pieces" in by:
        return formula.scale(pieces=int(by["pieces"]), piece=by["piece"])
    return formula.scale(dough=by.get("dough"), flour=by.get("flour"))


@pytest.mark.parametrize("row", rows("formulas"))
def test_a_published_formula(row: dict[str, str]) -> None:
    formula = typed(row)
    tolerance = float(row["tolerance"])
    batch = asked(formula, row["asked"]) if row["asked"] else None
    for what, printed in pairs(row["expected"]).items():
        number, unit = printed.split(" ", 1)
        if unit == "%":
            found = formula.total_percent if what == "total" else formula.percent(what)
            assert found == pytest.approx(float(number), abs=tolerance), what
            continue
        assert batch is not None
        found_g = {"dough": batch.dough_g, "flour": batch.flour_g}.get(what) or batch.mass_g(what)
        one_g = parse(MASS, f"1 {unit}", what)
        assert found_g / one_g == pytest.approx(float(number), abs=tolerance), what


# formulas/A02 (read): a culinary-school handout, scribd.com/doc/79999339; 28.35 g to the ounce is printed.
@pytest.mark.parametrize(
    ("text", "unit", "printed", "tolerance"),
    [
        pytest.param("10 oz", "g", 283.5, 0.05, id="formulas/A02 10 oz, printed to 0.1 g"),
        pytest.param("2 lb 8 oz", "oz", 40.0, 1e-9, id="formulas/A02 2 lb 8 oz, exact"),
        pytest.param("2 lb 8 oz", "g", 1134.0, 0.5, id="formulas/A02 2 lb 8 oz, printed to 1 g"),
        pytest.param("500 g", "lb", 1.10, 0.005, id="formulas/A02 500 g, printed to 0.01 lb"),
        # Printed 17.63 oz by cascading rounded numbers; 500 / 28.349523 is 17.637.
        pytest.param("500 g", "oz", 17.637, 0.0005, id="formulas/A02 500 g, disputed: prints 17.63 oz"),
    ],
)
def test_weights_between_systems(text: str, unit: str, printed: float, tolerance: float) -> None:
    assert parse(MASS, text, "x") / parse(MASS, f"1 {unit}", "x") == pytest.approx(printed, abs=tolerance)


def test_a_day_of_orders_is_the_sum_of_its_doughs() -> None:
    # formulas/A24 (read): student baker notes, jazandosblog.blogspot.com 2007; printed sum 67.9 kg.
    lean = Formula.from_percents("Lean", {"bread flour": 100, "water": 60, "salt": 2})
    lines = ((48, 800), (6, 800), (6, 800), (6, 550), (10, 550), (3, 550), (5, 450), (6, 400), (6, 400), (6, 400))
    doughs = [lean.scale(pieces=pieces, piece=f"{grams} g").dough_g for pieces, grams in lines]
    assert sum(doughs) == pytest.approx(67_900, abs=1e-6)
