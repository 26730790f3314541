"""The workbook that calculates, held against the library: a spreadsheet program recalculates it with another flour."""

import hashlib
import io
import shutil
import subprocess
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from attrs import frozen
from openpyxl.workbook.defined_name import DefinedName

from formula import Batch, Culture, Formula, Losses, Stage, formula_sheet, label_sheet, load, mix_sheet
from formula.sheet import Sheet
from formula.words import UNITS
from tests.test_sheet import FOUL, HARBOUR, MIX, QUAY, SHEETS, Reader, tables

PRINTED = Path(__file__).parent / "oracles" / "printed"
OVERALL = {"bread flour": 100, "water": 70, "salt": 2, "fresh yeast": 0.8}
HALF = {"bread flour": 100, "water": 55}
FLOURS = {"flours": ["bread flour", "medium rye flour"]}


def biga(**changes: Any) -> Formula:  # noqa: ANN401 - whatever a stage takes
    return Formula.from_percents("x", OVERALL, stages=[Stage("biga", HALF, **{"flour": "40 %", **changes})])


def scalded(**changes: Any) -> Formula:  # noqa: ANN401
    lines = {"rye meal": 100, "water": 200}
    made = {"takes": ("rye meal", "100 %"), "boiled_off": 20, "base": "rye meal", **changes}
    overall = {"bread flour": 95, "medium rye flour": 5, "water": 70, "rye meal": 10}
    return Formula.from_percents("x", overall, stages=[Stage("scald", lines, **made)], flours=FLOURS["flours"])


def levain(counted: str | Culture, culture: float = 20, **changes: Any) -> Formula:  # noqa: ANN401
    stage = Stage("levain", {**HALF, "culture": culture}, **{"flour": "10 %", "culture": counted, **changes})
    return Formula.from_percents("x", OVERALL, stages=[stage])


def nested(keep: float = 0.0, seed: float = 20) -> Formula:
    """A levain that is built from another, which is kept from, and both go on."""
    first = Stage("starter build", {"bread flour": 100, "water": 60}, keep=keep)
    second = Stage("levain", {"bread flour": 100, "water": 60, "starter build": seed}, flour="20 %", keep=keep / 2)
    return Formula.from_percents("x", OVERALL, stages=[first, second])


FORMULAS: dict[str, Formula] = {
    **{path.stem: load(path) for path in sorted(HARBOUR.glob("*.toml"))},
    **{f"printed {path.stem}": load(path) for path in sorted(PRINTED.glob("*.toml"))},
    "flour": biga(),
    "weight": biga(flour=None, weight="62 %"),
    "weight on final": biga(flour=None, weight_on_final="62 %"),
    "takes": biga(flour=None, takes=("water", "30 %")),
    "kept": biga(keep=15.5),
    "kept, of two flours": Formula.from_percents(
        "x",
        {**OVERALL, "bread flour": 80, "whole wheat flour": 20},
        stages=[Stage("biga", {"bread flour": 50, "whole wheat flour": 50, "water": 55}, flour="20 %", keep=15.5)],
    ),
    "kept, by weight": biga(flour=None, weight="62 %", keep=15.5),
    "kept, takes": biga(flour=None, takes=("water", "30 %"), keep=15.5),
    "scald": scalded(),
    "returned": levain("returned"),
    "line": levain("line"),
    "split": levain("split"),
    "split, its own": levain(Culture("split", {"bread flour": 100, "water": 25})),
    "split, kept": levain("split", keep=10),
    "nested": nested(),
    "nested, kept": nested(keep=16),
    "all in stages": biga(flour="100 %"),
    "from weights": Formula.from_weights(
        "x",
        {"bread flour": "10 kg", "water": "7 kg", "salt": "200 g"},
        stages=[Stage("poolish", {"bread flour": "3 kg", "water": "3 kg"})],
    ),
    "from stages": Formula.from_stages(
        "x",
        final={"bread flour": 100, "water": 55, "salt": 3, "poolish": 90},
        stages={"poolish": {"bread flour": 100, "water": 100}},
    ),
    "later": Formula.from_percents("x", {**OVERALL, "raisins": 20}, later={"water": 5, "raisins": 20}),
    "hostile": FOUL,
}


@frozen
class Edit:
    """A formula, cells edited by hand in its workbook, and the formula that the workbook should then be."""

    before: Formula
    cells: tuple[tuple[str, str, float], ...]
    after: Formula


def changed(**percents: float) -> Formula:
    lines = {**OVERALL, **{name.replace("_", " "): percent for name, percent in percents.items()}}
    return Formula.from_percents("x", lines, stages=[Stage("biga", HALF, flour="40 %")])


WETTER = {"bread flour": 100, "water": 60}
EDITS = {
    "more water": Edit(biga(), (("Whole formula", "water", 75),), changed(water=75)),
    "a larger biga": Edit(biga(), (("biga", "size", 50),), biga(flour="50 %")),
    "a wetter biga": Edit(
        biga(),
        (("biga", "water", 60),),
        Formula.from_percents("x", OVERALL, stages=[Stage("biga", WETTER, flour="40 %")]),
    ),
    "a wetter biga by weight": Edit(
        biga(flour=None, weight="62 %"),
        (("biga", "water", 60),),
        Formula.from_percents("x", OVERALL, stages=[Stage("biga", WETTER, weight="62 %")]),
    ),
    "more kept": Edit(biga(keep=15.5), (("biga", "kept for tomorrow", 31),), biga(keep=31)),
    "more boiled off": Edit(scalded(), (("scald", "boiled off", 40),), scalded(boiled_off=40)),
    "more culture": Edit(levain("returned"), (("levain", "culture", 30),), levain("returned", 30)),
    "more culture, split": Edit(levain("split"), (("levain", "culture", 30),), levain("split", 30)),
    "a wetter levain, split": Edit(
        levain("split"),
        (("levain", "water", 60),),
        Formula.from_percents(
            "x", OVERALL, stages=[Stage("levain", {**WETTER, "culture": 20}, flour="10 %", culture="split")]
        ),
    ),
    "more seed": Edit(nested(keep=16), (("levain", "starter build", 25),), nested(keep=16, seed=25)),
    "flour for flour": Edit(
        Formula.from_percents("x", {"bread flour": 90, "whole wheat flour": 10, "water": 70}),
        (("Whole formula", "bread flour", 80), ("Whole formula", "whole wheat flour", 20)),
        Formula.from_percents("x", {"bread flour": 80, "whole wheat flour": 20, "water": 70}),
    ),
}

BATCHES: dict[str, tuple[Batch, str]] = {
    "rounded": (MIX, "g"),
    "pieces in pounds": (QUAY.scale(pieces=47, piece="2 lb"), "lb"),
    "dough in ounces": (QUAY.scale(dough="93 kg"), "oz"),
    "flour in kilograms": (QUAY.scale(flour="50 kg"), "kg"),
}
NEW_FLOUR = 12.345
"""The flour that is typed in, in the unit of the sheet."""


@frozen
class Block:
    """A table of the workbook as a reader finds it: name -> row of cells B, C and D."""

    title: str
    rows: dict[str, int]


def blocks(sheet: Any) -> list[Block]:  # noqa: ANN401 - a package without types
    """Find the tables by what stands in them: a title, perhaps rows of its size, the heads, lines up to the total."""
    found: list[Block] = []
    names = [cell.value for cell in sheet["A"]]
    for number, name in enumerate(names, 1):
        if name != "ingredient":
            continue
        top = number - 1
        while names[top - 1] is not None and top > 1 and names[top - 2] is not None:
            top -= 1
        above = {
            ("size" if str(names[row - 1]).startswith("size") else names[row - 1]): row
            for row in range(top + 1, number)
        }
        end = next(row for row in range(number, len(names) + 2) if row > len(names) or names[row - 1] is None)
        found.append(Block(names[top - 1], {**above, **{names[row - 1]: row for row in range(number + 1, end)}}))
    return found


def opened(content: bytes) -> Any:  # noqa: ANN401
    return openpyxl.load_workbook(io.BytesIO(content))


WRONG = (("flours", "B10", 95.0), ("a stage too large", "B18", 300.0))
"""Edits that make no bread: bread flour of 95 beside 10, and a biga of three times all the flour."""


def typed(sheet: Sheet, flour: float = NEW_FLOUR) -> Any:  # noqa: ANN401
    """Open a workbook and type another flour into it."""
    book = opened(sheet.xlsx())
    book["Formula"]["B4"] = flour
    return book


def cases() -> Iterator[tuple[str, Any]]:
    """Yield the name and the sheet of every workbook whose flour or percentages are edited by hand."""
    for name, formula in FORMULAS.items():
        yield name, typed(formula_sheet(formula))["Formula"]
    for name, edit in EDITS.items():
        sheet = typed(formula_sheet(edit.before, unit="kg"))["Formula"]
        for title, line, percent in edit.cells:
            (block,) = (block for block in blocks(sheet) if block.title == title)
            cell = sheet.cell(block.rows[line], 2)
            assert isinstance(cell.value, (int, float)), "a cell to be edited holds a number, not a formula"
            cell.value = percent
        yield f"edit {name}", sheet
    for name, place, value in WRONG:
        sheet = typed(formula_sheet(QUAY))["Formula"]
        sheet[place] = value
        yield f"wrong {name}", sheet


def gathered(sheets: dict[str, Any]) -> Any:  # noqa: ANN401
    """Put sheets into one workbook, each with a name of its own for its flour: one file is opened faster than fifty."""
    book = openpyxl.Workbook()
    for number, sheet in enumerate(sheets.values()):
        own = book.create_sheet(f"s{number}")
        own.defined_names["flour_weight"] = DefinedName("flour_weight", attr_text=f"'s{number}'!$B$4")
        for row in sheet.iter_rows():
            for cell in row:
                if cell.value is not None:
                    copy = own[cell.coordinate]
                    copy.value = cell.value
                    copy.data_type = cell.data_type
    return book


@pytest.fixture(scope="session")
def recalculated(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Any]:
    """Let LibreOffice open the workbooks, recalculate and save them, all in one start; give each sheet by its name."""
    office = shutil.which("soffice")
    if office is None:
        pytest.skip("soffice is not on the path: no spreadsheet program to recalculate with")
    folder = tmp_path_factory.mktemp("books")
    sheets = dict(cases())
    books = {"gathered": gathered(sheets)}
    for name, (batch, unit) in BATCHES.items():
        books[name] = opened(mix_sheet(batch, unit=unit).xlsx())
        books[f"{name}, other flour"] = typed(mix_sheet(batch, unit=unit))
    for number, book in enumerate(books.values()):
        book.save(folder / f"{number}.xlsx")
    arguments = ["--headless", "--norestore", f"-env:UserInstallation={(folder / 'profile').as_uri()}"]
    files = [str(folder / f"{number}.xlsx") for number in range(len(books))]
    subprocess.run(
        [office, *arguments, "--convert-to", "xlsx", "--outdir", str(folder / "out"), *files],
        check=True,
        capture_output=True,
        timeout=300,
    )
    found = {
        name: openpyxl.load_workbook(folder / "out" / f"{number}.xlsx", data_only=True)
        for number, name in enumerate(books)
    }
    places = {name: f"s{number}" for number, name in enumerate(sheets)}

    def sheet(name: str, page: str = "Formula") -> Any:  # noqa: ANN401
        return found["gathered"][places[name]] if name in places else found[name][page]

    return sheet


def check(sheet: Any, batch: Batch, unit: str = "g") -> int:  # noqa: ANN401
    """Hold every weight of a recalculated sheet against a batch; return how many were compared."""
    factor = UNITS[unit]
    whole, *stages = blocks(sheet)
    compared = 0

    def same(row: int, column: int, expected: float) -> None:
        nonlocal compared
        compared += 1
        found = sheet.cell(row, column).value
        assert found == pytest.approx(expected, rel=1e-9, abs=1e-9), sheet.cell(row, 1).value

    for row in batch.rows:
        same(whole.rows[row.name.replace("\n", " ")], 3, row.mass_g / factor)
        same(whole.rows[row.name], 2, row.percent)
    same(whole.rows["together"], 3, sum(row.mass_g for row in batch.rows) / factor)
    same(whole.rows["together"], 2, batch.formula.total_percent)
    for block, stage in zip(stages, batch.stages.values(), strict=True):
        for row in stage.rows:
            same(block.rows[row.name], 3, row.mass_g / factor)
        same(block.rows["together"], 3, stage.total_g / factor)
        for words, mass_g in (
            ("ripe culture taken back out", stage.returned_g),
            ("boiled off", stage.boiled_off_g),
            ("kept for tomorrow", stage.kept_g),
        ):
            assert (words in block.rows) == bool(mass_g)
            if mass_g:
                same(block.rows[words], 3, mass_g / factor)
                same(block.rows["goes on"], 3, stage.handed_on_g / factor)
    same(5, 2, batch.dough_g / factor)
    assert sheet["B6"].value == "adds up"
    return compared


@pytest.mark.parametrize("name", FORMULAS)
def test_every_formula_has_its_pages(name: str) -> None:
    formula = FORMULAS[name]
    batch = formula.scale(flour="10 kg")
    for sheet in (formula_sheet(formula), mix_sheet(batch), mix_sheet(batch.rounded("1 g"), unit="oz")):
        page = Reader(sheet.html())
        assert page.within("h2")[-2:] == [
            "Final dough" if batch.stages.keys() - {"final"} or sheet.page.kind == "Mix sheet" else "Whole formula",
            "Cautions",
        ]
        assert all(len({len(row) for row in table}) == 1 for table in tables(sheet.markdown()))
    for shown in (formula, batch):
        assert Reader(shown._repr_html_()).named("table")


class TestRecalculated:
    @pytest.mark.parametrize("name", FORMULAS)
    def test_every_weight_follows_the_flour(self, name: str, recalculated: Callable[..., Any]) -> None:
        formula = FORMULAS[name]
        sheet = recalculated(name)
        lines = sum(len(column.lines) for column in formula.table.columns)
        assert check(sheet, formula.scale(flour=f"{NEW_FLOUR} g")) > lines + len(formula.percents)
        final = blocks(sheet)[-1]
        try:
            percents = formula.final
        except ValueError:
            assert {sheet.cell(final.rows[line], 2).value for line in formula.table.columns[-1].lines} == {None}
            return
        for line, percent in percents.items():
            assert sheet.cell(final.rows[line], 2).value == pytest.approx(percent, rel=1e-9)

    @pytest.mark.parametrize("name", EDITS)
    def test_every_weight_follows_an_edited_percentage(self, name: str, recalculated: Callable[..., Any]) -> None:
        check(recalculated(f"edit {name}"), EDITS[name].after.scale(flour=f"{NEW_FLOUR} kg"), "kg")

    @pytest.mark.parametrize("name", BATCHES)
    def test_a_batch_begins_with_its_own_flour(self, name: str, recalculated: Callable[..., Any]) -> None:
        batch, unit = BATCHES[name]
        exact = QUAY.scale(pieces=120, baked="800 g") if batch is MIX else batch
        sheet = recalculated(name)
        check(sheet, exact, unit)
        flour = sheet["B4"].value
        assert flour == pytest.approx(exact.flour_g / UNITS[unit], rel=1e-11)
        other = recalculated(f"{name}, other flour")
        check(other, QUAY.scale(flour=f"{NEW_FLOUR} {unit}"), unit)

    @pytest.mark.parametrize("name", ["rounded", "pieces in pounds"])
    def test_pieces_give_the_flour(self, name: str, recalculated: Callable[..., Any]) -> None:
        batch, unit = BATCHES[name]
        sheet = recalculated(name, "Pieces")
        assert sheet["B4"].value == batch.pieces
        flour_g = sheet["B8"].value * UNITS[unit]
        exact = QUAY.scale(pieces=120, baked="800 g") if batch is MIX else batch
        assert flour_g == pytest.approx(exact.flour_g, rel=1e-12)
        assert sheet["B7"].value * UNITS[unit] == pytest.approx(exact.dough_g, rel=1e-12)

    def test_what_the_scale_shows_is_for_its_own_flour_alone(self, recalculated: Callable[..., Any]) -> None:
        own = recalculated("rounded")
        other = recalculated("rounded, other flour")
        for block, stage in zip(blocks(own)[1:], MIX.stages.values(), strict=True):
            for row in stage.rows:
                assert own.cell(block.rows[row.name], 4).value == pytest.approx(row.mass_g, rel=1e-12)
                assert not other.cell(block.rows[row.name], 4).value

    def test_what_goes_in_later(self, recalculated: Callable[..., Any]) -> None:
        sheet = recalculated("later")
        row = next(cell.row for cell in sheet["A"] if str(cell.value).startswith("Of these weights")) + 1
        found = {sheet.cell(each, 1).value: sheet.cell(each, 3).value for each in (row, row + 1)}
        expected = {each.name: each.mass_g for each in FORMULAS["later"].scale(flour=f"{NEW_FLOUR} g").later}
        assert found == pytest.approx(expected)

    def test_what_makes_no_bread_is_told(self, recalculated: Callable[..., Any]) -> None:
        assert recalculated("wrong flours")["B6"].value == "the flours are not 100 %"
        assert recalculated("wrong a stage too large")["B6"].value == "a stage takes more than there is"

    def test_a_hostile_name_is_no_formula_after_it_was_opened(self, recalculated: Callable[..., Any]) -> None:
        sheet = recalculated("hostile")
        assert sheet["A1"].value.startswith("<script>")
        assert sheet["A1"].data_type == "s"


SIGNS = ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1+1", "\r=1+1", "\n=1+1", '=HYPERLINK("x")', "=cmd|'/C calc'!A0")


def calculating(sheet: Sheet) -> dict[str, str]:
    """Return every formula of a workbook."""
    page = opened(sheet.xlsx())["Formula"]
    return {cell.coordinate: cell.value for row in page.iter_rows() for cell in row if cell.data_type == "f"}


class TestCells:
    @pytest.mark.parametrize("name", SIGNS)
    def test_no_text_becomes_a_formula(self, name: str) -> None:
        bread = Formula.from_percents(
            name, {"bread flour": 100, "water": 70}, stages=[Stage(name, HALF, flour="20 %", kind="preferment")]
        )
        tame = Formula.from_percents(
            "bread", {"bread flour": 100, "water": 70}, stages=[Stage("starter", HALF, flour="20 %", kind="preferment")]
        )
        pairs = [
            (formula_sheet(bread), formula_sheet(tame)),
            (mix_sheet(bread.scale(flour="1 kg").rounded("1 g")), mix_sheet(tame.scale(flour="1 kg").rounded("1 g"))),
        ]
        for sheet, other in pairs:
            # What calculates is the same whatever the bread is called.
            assert calculating(sheet) == calculating(other)
            page = opened(sheet.xlsx())["Formula"]
            texts = [cell for row in page.iter_rows() for cell in row if cell.data_type == "s"]
            plain = name.strip()
            named = [cell for cell in texts if cell.value == plain]
            assert len(named) == 3
            assert all(cell.quotePrefix for cell in texts)
            assert page["A1"].value == plain

    def test_text_of_a_label_is_no_formula(self) -> None:
        from formula import declaration, label_draft

        draft = label_draft(
            declaration(QUAY, region="eu", baked="800 g"), name='=HYPERLINK("x")', operator="@shop\x00\x0b"
        )
        page = opened(label_sheet(draft).xlsx()).worksheets[0]
        cells = [cell for row in page.iter_rows() for cell in row if cell.value is not None]
        assert {cell.data_type for cell in cells} == {"s"}
        assert {'=HYPERLINK("x")', "@shop"} <= {cell.value for cell in cells}
        values = [each.shown_value for each in draft.particulars if each.key not in ("name", "operator")]
        assert set(values) <= {cell.value for cell in cells}

    def test_what_xml_forbids_becomes_a_space(self) -> None:
        bread = Formula.from_percents("Qu\x00ay\x0b\ufffe Round\x1b", {"bread flour": 100, "water": 70})
        book = opened(formula_sheet(bread).xlsx())
        assert book["Formula"]["A1"].value == "Qu ay Round"
        assert book.properties.title == "Qu ay Round: Formula"

    @pytest.mark.parametrize("name", FORMULAS)
    def test_every_weight_is_a_formula(self, name: str) -> None:
        sheet = opened(formula_sheet(FORMULAS[name]).xlsx())["Formula"]
        for block in blocks(sheet):
            for line, row in block.rows.items():
                if line in ("size", "ingredient"):
                    continue
                weight = sheet.cell(row, 3).value
                assert isinstance(weight, str), line
                assert weight.startswith("=SUM(" if line == "together" else "="), line
        numbers = [cell.coordinate for row in sheet.iter_rows() for cell in row if cell.data_type == "n" and cell.value]
        assert all(place.startswith("B") for place in numbers)

    def test_the_input_is_named_and_nothing_is_locked(self) -> None:
        book = opened(formula_sheet(QUAY, unit="kg").xlsx())
        assert book.defined_names["flour_weight"].attr_text == "'Formula'!$B$4"
        assert book["Formula"]["B4"].value == 1.0
        assert {"pieces", "piece_weight", "loss_before_divider"} <= set(book.defined_names)
        for sheet in book.worksheets:
            assert not sheet.protection.sheet
            assert sheet.page_setup.fitToWidth == 1
            assert sheet.page_setup.fitToHeight == 0
            assert sheet.sheet_properties.pageSetUpPr.fitToPage
            # The printer's own paper, A4 or Letter.
            assert sheet.page_setup.paperSize is None
        assert not book.security or not book.security.lockStructure
        assert book.calculation.fullCalcOnLoad

    @pytest.mark.parametrize("kind", SHEETS)
    def test_the_clock_leaves_no_trace(self, kind: str) -> None:
        with zipfile.ZipFile(io.BytesIO(SHEETS[kind].xlsx())) as book:
            assert book.testzip() is None
            assert {entry.date_time for entry in book.infolist()} == {(1980, 1, 1, 0, 0, 0)}
            core = book.read("docProps/core.xml").decode()
        assert core.count("1980-01-01T00:00:00Z") == 2

    def test_the_same_bytes_in_another_process(self, fresh_python: Callable[[str], str]) -> None:
        code = """
import hashlib
from formula import Formula, formula_sheet
loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70})
print(hashlib.sha256(formula_sheet(loaf).xlsx()).hexdigest())
"""
        here = formula_sheet(Formula.from_percents("Loaf", {"bread flour": 100, "water": 70})).xlsx()
        assert fresh_python(code) == f"{hashlib.sha256(here).hexdigest()}\n"

    def test_losses_before_the_divider(self) -> None:
        bread = Formula.from_percents("x", OVERALL, losses=Losses(handling="2 %", bake="11 %"))
        sheet = opened(Sheet(bread).xlsx())["Pieces"]
        assert sheet["B6"].value == pytest.approx(2)
