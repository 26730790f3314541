"""The law of the workbook that calculates, on random breads with stages in stages and cultures of every kind."""

import ast
import io
import operator
import re
from collections.abc import Callable, Mapping
from typing import Any

import openpyxl
import pytest
from attrs import evolve
from hypothesis import assume, given
from hypothesis import strategies as st

from formula.batch import Batch
from formula.errors import FormulaError
from formula.formula import Formula
from formula.sheet import formula_sheet
from formula.stage import Stage
from tests.laws.strategies import Written, written
from tests.rarely import rarely

FLOUR_G = 12_345.0
SIGNS: Mapping[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
}


class Calculator:
    """Calculates the cells of a sheet as a spreadsheet program does: sums, differences, products and quotients."""

    def __init__(self, cells: Mapping[str, Any]) -> None:
        self.cells = dict(cells)
        self.found: dict[str, float] = {}
        self.asked: set[str] = set()

    def value(self, name: str) -> float:
        if name not in self.found:
            assert name not in self.asked, f"{name} is calculated from itself"
            self.asked.add(name)
            written_ = self.cells[name]
            self.found[name] = self._calculated(written_) if isinstance(written_, str) else float(written_)
        return self.found[name]

    def _calculated(self, words: str) -> float:
        def summed(match: re.Match[str]) -> str:
            column, first, last = match.groups()
            return f"({'+'.join(f'{column}{row}' for row in range(int(first), int(last) + 1))})"

        plain = re.sub(r"SUM\(([A-D])(\d+):[A-D](\d+)\)", summed, words.removeprefix("="))
        return self._node(ast.parse(plain, mode="eval").body)

    def _node(self, node: ast.expr) -> float:
        match node:
            case ast.BinOp(left=left, op=sign, right=right):
                return SIGNS[type(sign)](self._node(left), self._node(right))
            case ast.Name(id="flour_weight"):
                return self.value("B4")
            case ast.Name(id=name):
                return self.value(name)
            case ast.Constant(value=int() | float() as number):
                return float(number)
        raise AssertionError(ast.dump(node))


def sheet_of(formula: Formula) -> dict[str, Any]:
    sheet = openpyxl.load_workbook(io.BytesIO(formula_sheet(formula).xlsx()))["Formula"]
    return {cell.coordinate: cell.value for row in sheet.iter_rows() for cell in row if cell.value is not None}


def rows_of(cells: Mapping[str, Any]) -> list[dict[str, int]]:
    """Return name -> row for the lines of each table, the whole formula first and the final dough last."""
    heads = [int(place[1:]) for place, value in cells.items() if place[0] == "A" and value == "ingredient"]
    found = []
    for row in heads:
        lines: dict[str, int] = {}
        while (name := str(cells[f"A{row + 1 + len(lines)}"])) != "together":
            lines[name] = row + 1 + len(lines)
        found.append(lines)
    return found


def check(cells: Mapping[str, Any], batch: Batch) -> None:
    """Hold every weight against a batch, to a part in a thousand million of the dough."""
    calculator = Calculator(cells)
    whole, *stages = rows_of(cells)
    near = 1e-9 * (1 + max(sum(stage.total_g for stage in batch.stages.values()), batch.dough_g))
    for row in batch.rows:
        assert calculator.value(f"C{whole[row.name]}") == pytest.approx(row.mass_g, abs=near)
    for lines, stage in zip(stages, batch.stages.values(), strict=True):
        for row in stage.rows:
            assert calculator.value(f"C{lines[row.name]}") == pytest.approx(row.mass_g, abs=near), (
                stage.name,
                row.name,
            )
    assert calculator.value("B5") == pytest.approx(batch.dough_g, abs=near)


class TestWorkbook:
    """Every weight of the workbook is that of the library, for any flour, and after a percentage of a stage was edited."""

    @given(written())
    @rarely(0.4)
    def test_every_weight_follows_the_flour(self, bread: Written) -> None:
        formula = bread.formula()
        cells = sheet_of(formula)
        cells["B4"] = FLOUR_G
        check(cells, formula.scale(flour=f"{FLOUR_G} g"))

    @given(written(), st.data())
    @rarely(0.4)
    def test_an_edited_percentage_is_another_formula(self, bread: Written, data: st.DataObject) -> None:
        formula = bread.formula()
        assume(formula.stages)
        stage = data.draw(st.sampled_from(formula.stages))
        counted = stage.culture.counted if stage.culture else ""
        # A culture that is a line of the whole formula stands there too: one cell alone makes no bread.
        lines = [line for line in stage.percents if counted != "line" or line != "culture"]
        flours = set(formula.flours)
        line = data.draw(st.sampled_from([line for line in lines if line not in flours and line not in stage.base]))
        percent = stage.percents[line] * data.draw(st.sampled_from((0.5, 0.9)))
        other = edited(formula, stage, line, percent)
        cells = sheet_of(formula)
        cells["B4"] = FLOUR_G
        places = rows_of(cells)[1 + [column.name for column in formula.table.columns].index(stage.name)]
        assert cells[f"B{places[line]}"] == pytest.approx(stage.percents[line], rel=1e-14)
        cells[f"B{places[line]}"] = percent
        expected = other.scale(flour=f"{FLOUR_G} g")
        assume([list(each) for each in rows_of(sheet_of(other))] == [list(each) for each in rows_of(cells)])
        check(cells, expected)


def edited(formula: Formula, stage: Stage, line: str, percent: float) -> Formula:
    """Return the formula with another percentage in a stage, where there is one."""
    lines = {name: percent if name == line else own for name, own in stage.percents.items()}
    culture = stage.culture
    stages = [
        each.changed(percents=type(each.percents)(lines), culture=culture) if each.name == stage.name else each
        for each in formula.stages
    ]
    try:
        return Formula.from_percents(formula.name, dict(formula.percents), stages=stages)
    except FormulaError:
        assume(condition=False)
        return evolve(formula)
