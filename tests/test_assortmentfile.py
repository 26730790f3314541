"""Many formulas in one CSV file are read as their formulas alone would be, come back as they were, and do no harm."""

import csv
import io
from pathlib import Path
from random import Random
from typing import Any, Literal

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula import (
    Assortment,
    Catalogue,
    ContradictionError,
    FileError,
    Formula,
    FormulaError,
    Ingredient,
    UnknownNameError,
    bulkcsv,
    dump_assortment,
    load,
    load_assortment,
    load_prices,
)
from formula.bulkcsv import MOST_DIFFERENT, MOST_ROWS
from formula.intake import MOST_FAULTS
from formula.part import MOST_GUESSED
from tests.rarely import rarely
from tests.test_assortment import formulas

HARBOUR = Path(__file__).parents[1] / "docs" / "examples" / "harbour"
NAMES = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=12).map(str.strip).filter(
    lambda name: name and not set("\r\n") & set(name)
)  # fmt: skip
"""Whatever a bread may be called on one line; many of them begin as a spreadsheet's formula does."""
TEMPTING = st.builds(str.__add__, st.sampled_from(["", "=", "+", "-", "@", "'", "''", "'=", '"', "'\"", ","]), NAMES)


def table(tmp_path: Path, text: str | bytes) -> Path:
    path = tmp_path / "breads.csv"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def refused(tmp_path: Path, text: str | bytes, kind: type[FormulaError] = FileError) -> str:
    path = table(tmp_path, text)
    with pytest.raises(kind) as caught:
        load_assortment(path)
    return str(caught.value).replace(f"{path}: ", "")


class TestEqualsTheFormulas:
    """What columns give is what formulas give, value for value."""

    @rarely(0.5)
    @given(breads=formulas())
    def test_from_columns(self, breads: list[Formula]) -> None:
        table = Assortment.of(breads)
        for columns in (table.columns(), pd.DataFrame(table.columns()), pa.table(table.columns())):
            assert Assortment.from_columns(columns) == table

    @rarely(0.5)
    @given(breads=formulas(), names=st.lists(TEMPTING, min_size=6, max_size=6, unique=True))
    def test_a_file_comes_back_as_it_was(
        self, breads: list[Formula], names: list[str], tmp_path_factory: pytest.TempPathFactory
    ) -> None:
        table = Assortment.of(breads, ids=names[: len(breads)])
        path = tmp_path_factory.getbasetemp() / "back.csv"
        dump_assortment(table, path)
        assert load_assortment(path) == table
        for row in csv.reader(io.StringIO(path.read_text(encoding="utf-8"), newline="")):
            assert not row[0].startswith(("=", "+", "-", "@"))

    @rarely(0.5)
    @given(breads=formulas(), order=st.randoms(use_true_random=False))
    def test_the_order_of_the_lines_does_not_matter(
        self, breads: list[Formula], order: Random, tmp_path_factory: pytest.TempPathFactory
    ) -> None:
        table = Assortment.of(breads)
        frame = pd.DataFrame(table.columns())
        rows = list(range(len(frame)))
        order.shuffle(rows)
        path = tmp_path_factory.getbasetemp() / "mixed.csv"
        frame.iloc[rows].to_csv(path, index=False)
        found = load_assortment(path)
        ones, others = (each.scale(flour_g=dict.fromkeys(table.ids, 1000.0)) for each in (table, found))
        assert set(found.ids) == set(table.ids)
        for name in table.ids:
            assert ones.masses_of(name) == others.masses_of(name)

    def test_the_breads_of_the_harbour(self, tmp_path: Path) -> None:
        """Each bread added up by hand from its file, its stages among them, and its costs as the assortment's."""
        breads = [load(path) for path in sorted((HARBOUR / "breads").glob("*.toml"))]
        larder = Catalogue(tuple({mine.name: mine for bread in breads for mine in bread.catalogue.own}.values()))
        flours = sorted({flour for bread in breads for flour in bread.named_flours})
        dump_assortment(Assortment.of(breads), tmp_path / "breads.csv")
        found = load_assortment(tmp_path / "breads.csv", larder, flours=flours)
        weights = np.linspace(1e3, 1e5, len(breads))
        masses = found.scale(dough_g=weights)
        for bread, grams in zip(breads, weights.tolist(), strict=True):
            rows = {bread.catalogue.find(row.name).name: row.mass_g for row in bread.scale(dough=f"{grams!r} g").rows}
            assert masses.masses_of(bread.name) == pytest.approx(rows, rel=1e-12)
        prices = load_prices(HARBOUR / "prices.toml")
        assert found.price(prices).costs_per_kg() == pytest.approx(
            Assortment.of(breads).price(prices).costs_per_kg(), rel=1e-12
        )


@rarely(0.5)
@given(
    rows=st.lists(
        st.tuples(
            TEMPTING, st.sampled_from(["a", " b", "", "c "]), st.sampled_from(["1", "2.5", " 7", "1e-3", "x", "-1"])
        ),
        min_size=1,
    ),
    quoting=st.sampled_from([0, 1]),
    end=st.sampled_from(["\n", "\r\n"]),
)
def test_both_ways_to_read_are_one(
    rows: list[tuple[str, str, str]], quoting: Literal[0, 1], end: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Lines without quotes are cut at their commas, the others read by the ``csv`` of Python; 1 puts quotes around all."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=quoting, lineterminator=end)
    writer.writerows([("name", "part", "number"), *rows])
    path = tmp_path_factory.getbasetemp() / "ways.csv"
    path.write_bytes(out.getvalue().encode())

    def read() -> object:
        try:
            return bulkcsv.read_bulk(
                path, texts=["name", "part"], numbers=["number"], needed=["name", "number"], noun="line"
            )
        except FileError as error:
            return error.faults

    plain = read()
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(bulkcsv, "_plain", lambda _chunk, _width: None)
        assert read() == plain
    if all(number in {"1", "2.5", " 7", "1e-3"} for _, _, number in rows):
        assert isinstance(plain, bulkcsv.BulkTable)
        assert plain.numbers["number"].array().tolist() == [float(number) for _, _, number in rows]
        assert list(plain.lines.array()) == list(range(2, len(rows) + 2))


HEAD = "formula,ingredient,percent\n"
LOAF = "Loaf,bread flour,100\nLoaf,water,70\n"


class TestStages:
    """With a column of stages the lines of a formula are added up over them."""

    def test_by_hand(self, tmp_path: Path) -> None:
        rows = (
            "percent,stage,formula,ingredient\n40,biga,Loaf,bread flour\n20.8,biga,Loaf,water\n60,,Loaf,bread flour\n"
            "49.2,,Loaf,water\n2,,Loaf,salt\n100,,Plain,bread flour\n"
        )
        found = load_assortment(table(tmp_path, rows))
        assert found.ids == ("Loaf", "Plain")
        assert found.ingredients == ("bread flour", "water", "salt")
        assert found.percents.array().tolist() == [100.0, 70.0, 2.0, 100.0]
        assert found.starts.array().tolist() == [0, 3, 4]

    def test_twice_in_a_stage(self, tmp_path: Path) -> None:
        rows = "stage,formula,ingredient,percent\nbiga,Loaf,bread flour,50\nbiga,Loaf,strong flour,50\n"
        assert "line 3: got 'strong flour' once more in 'Loaf'" in refused(tmp_path, rows, ContradictionError)


class TestFlours:
    """The flours sum to 100, as the catalogue counts or as is said."""

    def test_named(self, tmp_path: Path) -> None:
        rows = HEAD + "Corn,bread flour,70\nCorn,cornmeal,30\nPlain,bread flour,100\nPlain,water,60\n"
        larder = Catalogue().adding(Ingredient("cornmeal", kind="other"))
        with pytest.raises(FormulaError, match="line 2: formula 'Corn': got flours that sum to 70, expected"):
            load_assortment(table(tmp_path, rows), larder)
        found = load_assortment(table(tmp_path, rows), larder, flours=["bread flour", "cornmeal"])
        assert found.total_percents().tolist() == [100.0, 160.0]

    def test_fractions(self, tmp_path: Path) -> None:
        told = refused(tmp_path, HEAD + LOAF + "White,bread flour,1\nWhite,water,0.7\n", FormulaError)
        assert told == (
            "line 4: formula 'White': got flours that sum to 1, expected flours that sum to 100; "
            "these look like fractions: multiply every line by 100"
        )


class TestRefusals:
    """Whatever is wrong in a file is told by its line, and all of it at once."""

    @pytest.mark.parametrize(
        ("text", "told"),
        [
            ("", "got an empty file"),
            (HEAD, "got a header alone, expected one line for each line of a formula"),
            ("formula;ingredient;percent\nLoaf;water;1\n", "expected cells parted by commas"),
            ("formula,ingredient\nLoaf,water\n", "got no column percent, expected at least formula, ingredient, percent"),
            (HEAD.replace("percent", "percent (%)") + LOAF, "header: got 'percent (%)', expected one of formula,"),
            (HEAD + LOAF + "Loaf,salt,2,0\n", "line 4: got 4 cells, expected 3, as the header has; a comma too many"),
            (HEAD + LOAF + "Loaf,salt,2 %\n", "line 4, column percent: got '2 %', expected a bare number of 0 or more"),
            (HEAD + LOAF + 'Loaf,salt,"2,5"\n', "line 4, column percent: got '2,5', expected a bare number"),
            (HEAD + LOAF + "Loaf,salt,1_0\n", "got '1_0', expected a bare number"),
            (HEAD + LOAF + "Loaf,salt,٣\n", "got '٣', expected a bare number"),
            (HEAD + LOAF + "Loaf,salt,\n", "line 4, column percent: got nothing, expected a bare number"),
            (HEAD + LOAF + "Loaf,salt,1e999\n", "got '1e999', expected a bare number"),
            (HEAD + LOAF + "Loaf,salt,-2\n", "got '-2', expected a bare number"),
            (HEAD + LOAF + "Loaf,,2\n", "line 4, column ingredient: got nothing, expected a name"),
            (HEAD + LOAF + ",salt,2\n", "line 4, column formula: got nothing, expected a name"),
            (HEAD + LOAF + "x" * 1001 + ",salt,2\n", "(1003 characters), expected a name on one line"),
            (HEAD + LOAF + "Lo\x1b[2Jaf,salt,2\n", r"line 4, column formula: got 'Lo\x1b[2Jaf', expected a name on one line"),
            (HEAD + LOAF + "Lo\raf,salt,2\n", "line 4: got a CSV mistake: new-line character seen in unquoted field"),
            (HEAD.strip() + ",x" * 50 + "\n" + LOAF, "header: got 53 cells, expected at most 50"),
            (HEAD + LOAF + '"Loaf\n two",salt,2\n', "line 4: got a cell that goes on in the next line"),
            (HEAD + LOAF + '"Loaf,salt,2\n', "line 4: got a CSV mistake: unexpected end of data"),
            (HEAD.encode() + b"Loaf,water,1\nLo\xffaf,water,70\n", "line 3: got a byte that is not UTF-8"),
            (HEAD.replace(",percent", ",percent,percent") + LOAF, "got percent 2 times"),
            (HEAD + "x" * 70_000 + "\n", "line 2: got more than 65,000 bytes, expected a short line"),
            (HEAD + "Loaf,water,1\n" * (MOST_ROWS + 1), "got more than 300000 lines, a line of a formula each"),
            (HEAD + "".join(f"{n},water,1\n" for n in range(MOST_DIFFERENT + 1)), "got more than 50000 different names"),
        ],
    )  # fmt: skip
    def test_of_a_file(self, text: str | bytes, told: str, tmp_path: Path) -> None:
        assert told in refused(tmp_path, text)

    def test_all_at_once(self, tmp_path: Path) -> None:
        told = refused(tmp_path, HEAD + "Loaf,bread flour,x\nLoaf,water\nLoaf,salt,y\n")
        assert told.startswith("3 faults:")
        assert [line in told for line in ("line 2, ", "line 3: ", "line 4, ")] == [True] * 3

    @pytest.mark.parametrize("line", ["Loaf,salt,x\n", "Loaf,salt\n", "Loaf,chalk{n},1\n"])
    def test_only_so_many_faults_are_told(self, line: str, tmp_path: Path) -> None:
        text = HEAD + LOAF + "".join(line.format(n=number) for number in range(9_000))
        with pytest.raises(FormulaError) as caught:
            load_assortment(table(tmp_path, text))
        assert len(caught.value.faults) == MOST_FAULTS
        assert "line 103" in str(caught.value)
        assert "line 104" not in str(caught.value)

    def test_many_unknown_names_among_known_ones(self, tmp_path: Path) -> None:
        names = [f"chalk {number}" for number in range(MOST_GUESSED)] + ["salt", "more chalk"]
        told = refused(tmp_path, HEAD + LOAF + "".join(f"Loaf,{name},1\n" for name in names), UnknownNameError)
        assert told.startswith(f"{MOST_GUESSED + 1} faults:")
        assert told.count("the nearest are") <= MOST_GUESSED
        assert f"line {len(names) + 3}, column ingredient: got 'more chalk', expected a name of the larder" in told

    def test_unknown_names(self, tmp_path: Path) -> None:
        told = refused(tmp_path, HEAD + LOAF + "Loaf,watr,2\nLoaf,chalk,2\nTwo,chalk,1\n", UnknownNameError)
        assert told.startswith("2 faults:")
        assert "line 4, column ingredient: got 'watr', expected a name of the larder; the nearest are 'water'" in told
        assert "line 5, column ingredient: got 'chalk'" in told

    def test_the_apostrophe_may_be_left_out(self, tmp_path: Path) -> None:
        text = HEAD + "'=Loaf,bread flour,100\n=Loaf,water,70\n"
        found = load_assortment(table(tmp_path, text))
        assert list(found.ids) == ["=Loaf"]

    def test_twice_under_two_names(self, tmp_path: Path) -> None:
        rows = HEAD + LOAF + "Other,bread flour,100\nLoaf,Water,2\n"
        told = refused(tmp_path, rows, ContradictionError)
        assert told == "line 5: got 'Water' once more in 'Loaf', expected each ingredient once; add them up in one line"

    def test_too_much_of_anything(self, tmp_path: Path) -> None:
        told = refused(tmp_path, HEAD + LOAF + "Loaf,salt,1e13\n", FormulaError)
        assert told == "line 4, column percent: got 10000000000000.0, expected a finite percentage of 0 or more"

    @pytest.mark.parametrize("name", [" Loaf", "Loaf\n", "Lo\naf", "x" * 1001, "", "\ud800"])
    def test_a_name_that_would_not_come_back(self, name: str, tmp_path: Path) -> None:
        bread = Formula.from_percents("Loaf", {"bread flour": 100})
        with pytest.raises(FileError, match=r"got .*, expected a name"):
            dump_assortment(Assortment.of([bread], ids=[name]), tmp_path / "x.csv")
        assert not list(tmp_path.iterdir())

    def test_more_lines_than_can_be_read(self, tmp_path: Path) -> None:
        lines = {"bread flour": 100.0} | dict.fromkeys(("water", "salt", "sugar", "butter", "honey"), 1.0)
        count = MOST_ROWS // 6 + 1
        large = Assortment.of([Formula.from_percents("x", lines)] * count, ids=map(str, range(count)))
        with pytest.raises(FileError, match=r"got 300006 lines of formulas, expected at most 300000"):
            dump_assortment(large, tmp_path / "x.csv")
        dump_assortment(
            large.price({"water": "free"} | dict.fromkeys(set(lines) - {"water"}, "1 EUR/kg")), tmp_path / "x.csv"
        )

    @pytest.mark.parametrize(
        ("columns", "told"),
        [
            ({"formula": ["a"], "ingredient": ["water"]}, "columns: got no column percent"),
            ({"formula": ["a"], "ingredient": ["water"], "percent": ["1"]}, "percent: got a column of <U1, expected bare numbers"),
            ({"formula": ["a"], "ingredient": ["water"], "percent": [1, 2]}, "got rows: formula 1, ingredient 1, percent 2"),
            ({"formula": [], "ingredient": [], "percent": []}, "with at least one row"),
            ({"formula": ["a"], "ingredient": [1], "percent": [1]}, r"ingredient\[0\]: got 1, expected a name"),
            ({"formula": ["a"], "ingredient": ["bread flour"], "percent": [float("nan")]}, "row 0, column percent: got nan"),
        ],
    )  # fmt: skip
    def test_of_columns(self, columns: dict[str, Any], told: str) -> None:
        with pytest.raises(FormulaError, match=told):
            Assortment.from_columns(columns)


def test_what_a_spreadsheet_leaves_behind(tmp_path: Path) -> None:
    """A mark in front, lines that end in two signs, rows of commas alone, and lines that are empty."""
    rows = b"\xef\xbb\xbf" + (HEAD + LOAF + ",,\n\n").replace("\n", "\r\n").encode()
    found = load_assortment(table(tmp_path, rows))
    assert found == Assortment.of([Formula.from_percents("Loaf", {"bread flour": 100, "water": 70})])


def test_masses_and_costs_are_written_as_their_columns_have_them(tmp_path: Path) -> None:
    breads = [Formula.from_percents(f"Loaf {n}", {"bread flour": 100, "water": 60 + n / 7}) for n in range(5000)]
    table = Assortment.of(breads)
    for found in (
        table,
        table.scale(flour_g=np.linspace(1, 1e5, 5000)),
        table.price({"bread flour": "0.83 EUR/kg", "water": "free"}),
    ):
        dump_assortment(found, tmp_path / "x.csv")
        header, *rows = csv.reader((tmp_path / "x.csv").read_text(encoding="utf-8").splitlines())
        columns = found.columns()
        assert header == list(columns)
        for cells, column in zip(zip(*rows, strict=True), columns.values(), strict=True):
            wanted = column.tolist() if isinstance(column, np.ndarray) else column
            assert [float(cell) if isinstance(wanted[0], float) else cell for cell in cells] == wanted
