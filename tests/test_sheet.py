"""Sheets to pin up: all of it on the page, nothing that acts, legible in light, dark and print, in Markdown as well."""

import re
from collections.abc import Callable
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest

from formula import (
    Formula,
    FormulaError,
    Sheet,
    Stage,
    UnknownNameError,
    declaration,
    formula_sheet,
    label_draft,
    label_sheet,
    load,
    mix_sheet,
)
from formula.errors import FileError
from formula.sheetlayout import label_page
from formula.sheetpage import DARK, LIGHT
from tests.conftest import Run

HARBOUR = Path(__file__).parents[1] / "docs" / "examples" / "harbour" / "breads"
BREADS = sorted(path.stem for path in HARBOUR.glob("*.toml"))
QUAY = load(HARBOUR / "quay-round.toml")
MIX = QUAY.scale(pieces=120, baked="800 g").rounded("5 g")
SOUR = load(HARBOUR / "harbour-sour.toml")
LABEL = label_draft(declaration(QUAY, region="eu", baked="800 g"), name="wheat bread", net="800 g")
SHEETS = {"formula": formula_sheet(QUAY), "mix": mix_sheet(MIX), "label": label_sheet(LABEL)}

HOSTILE = "<script>alert(1)</script> \"quoted\" & 'more' | *bold*"
FOUL = Formula.from_percents(
    f"{HOSTILE}\n\x1b[31m",
    {"bread flour": 100, "water": 60},
    stages=[Stage(HOSTILE, {"bread flour": 100, "water": 100}, flour="20 %", kind="preferment")],
)

VOID = {"meta", "input", "br", "hr", "img", "link"}


class Reader(HTMLParser):
    """Reads a page: that every tag is closed, what stands in each, and with which attributes."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[tuple[tuple[str, ...], str]] = []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert len({name for name, _ in attrs}) == len(attrs)
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if data.strip():
            self.texts.append((tuple(self.open), data.strip()))

    def within(self, tag: str) -> list[str]:
        return [text for path, text in self.texts if tag in path]

    def named(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


def read(sheet: Sheet) -> Reader:
    return Reader(sheet.html())


class TestPage:
    @pytest.mark.parametrize("kind", SHEETS)
    def test_it_is_whole_and_says_what_it_is(self, kind: str) -> None:
        page = read(SHEETS[kind])
        assert SHEETS[kind].html().startswith("<!DOCTYPE html>\n")
        assert page.named("html") == [{"lang": "en"}]
        words = {"formula": "Formula", "mix": "Mix sheet", "label": "Label draft"}[kind]
        assert page.within("title") == [f"Quay Round: {words}"]
        assert page.within("h1") == ["Quay Round"]

    @pytest.mark.parametrize("kind", SHEETS)
    def test_headings_go_down_one_at_a_time(self, kind: str) -> None:
        levels = [int(tag[1]) for tag, _ in read(SHEETS[kind]).tags if re.fullmatch(r"h\d", tag)]
        assert levels[0] == 1
        assert levels.count(1) == 1
        assert all(after - before <= 1 for before, after in pairwise(levels))

    @pytest.mark.parametrize("kind", SHEETS)
    def test_it_stands_alone(self, kind: str) -> None:
        page = read(SHEETS[kind])
        assert not {"script", "link", "img", "iframe", "object", "svg"} & {tag for tag, _ in page.tags}
        for _, attributes in page.tags:
            assert not {"src", "href", "style", "action", "srcset"} & set(attributes)
            assert not [name for name in attributes if name.startswith("on")]
        assert "default-src 'none'" in SHEETS[kind].html()
        assert not re.search(r"https?://|url\(|@import", SHEETS[kind].html())

    @pytest.mark.parametrize("kind", ["formula", "mix"])
    def test_tables_say_what_each_cell_belongs_to(self, kind: str) -> None:
        page = read(SHEETS[kind])
        tables = len(page.named("table"))
        assert tables == {"formula": 3, "mix": 2}[kind]
        assert len(page.within("caption")) == tables
        assert {attributes.get("scope") for attributes in page.named("th")} == {"col", "row"}
        sections = [attributes["aria-labelledby"] for attributes in page.named("section")]
        assert sections == [attributes["id"] for attributes in page.named("h2")]

    def test_every_box_and_line_has_its_label(self) -> None:
        page = read(mix_sheet(MIX))
        boxes = [each for each in page.named("input") if each["type"] == "checkbox"]
        assert len(boxes) == sum(len(stage.rows) for stage in MIX.stages.values()) == 9
        ids = [box["id"] for box in boxes]
        assert len(set(ids)) == len(ids)
        labels = [each["for"] for each in page.named("label") if "for" in each]
        assert labels == ids
        lines = [each for each in page.named("input") if each["type"] == "text"]
        around = [each for each in page.named("label") if "for" not in each]
        assert len(lines) == len(around) == 4 + 4 + 6
        assert {"Date", "Water temperature", "Dough temperature", "Mixing began"} <= set(page.within("label"))
        assert page.within("legend") == ["To write in", "To write in: biga", "To write in: Final dough"]

    @pytest.mark.parametrize("bread", BREADS)
    def test_every_weight_of_a_mix_stands_on_it(self, bread: str) -> None:
        batch = load(HARBOUR / f"{bread}.toml").scale(pieces=80, piece="500 g").rounded("1 g")
        page = read(mix_sheet(batch))
        cells = [text for path, text in page.texts if path[-1] in {"td", "label"} and "tbody" in path]
        found = list(zip(cells[::3], cells[1::3], strict=True))
        assert [name for _, name in found] == [row.name for stage in batch.stages.values() for row in stage.rows]
        units = [text for path, text in page.texts if path[-1] == "span" and "tbody" in path]
        grams = [float(number) * {"g": 1, "kg": 1000}[unit] for (number, _), unit in zip(found, units, strict=True)]
        # Ten kilograms and more are shown to a tenth of a gram: nothing is cut.
        assert grams == pytest.approx([row.mass_g for stage in batch.stages.values() for row in stage.rows], abs=0.06)

    @pytest.mark.parametrize("sheet", [formula_sheet(FOUL), mix_sheet(FOUL.scale(flour="10 kg"))])
    def test_a_hostile_name_stays_a_name(self, sheet: Sheet) -> None:
        page = read(sheet)
        assert page.named("script") == []
        assert page.within("h1") == [HOSTILE + " [31m"]
        assert HOSTILE in page.within("h2")
        assert "\x1b" not in sheet.html()

    def test_the_label_draft_keeps_its_blanks_and_its_emphasis(self) -> None:
        page = read(label_sheet(LABEL))
        assert page.within("strong")[:2] == ["wheat", "wheat"]
        terms = page.within("dt")
        assert terms == [each.what for each in LABEL.particulars]
        blanks = [each for each in page.named("dd") if each.get("class") == "blank"]
        assert len(blanks) == sum(each.is_blank for each in LABEL.particulars) > 3
        assert "[to fill in: lot]" in page.within("dd")
        assert LABEL.notice in page.within("p")
        assert len(label_page(LABEL).cautions) == len(LABEL.cautions)

    def test_a_hostile_label_stays_a_label(self) -> None:
        parts = {"bread flour": [HOSTILE], "whole wheat flour": []}
        draft = label_draft(
            declaration(QUAY, region="eu", baked="800 g", parts=parts), name=HOSTILE, operator=f"{HOSTILE}\x00"
        )
        page = read(label_sheet(draft))
        assert page.named("script") == []
        assert page.within("dd").count(HOSTILE) == 2
        assert any("<script>alert(1)</script>" in text for text in page.within("dd") if text != HOSTILE)
        text = label_sheet(draft).markdown()
        assert "<script" not in text.replace("\\<script", "")

    def test_cautions_stand_on_every_sheet(self) -> None:
        for sheet, words in (
            (SHEETS["formula"], "not food"),
            (SHEETS["mix"], "stop the mixer"),
            (SHEETS["label"], "dust"),
        ):
            assert words in " ".join(read(sheet).within("li"))
        assert "allergens of margarine" not in SHEETS["mix"].html()
        soft = Formula.from_percents("Soft", {"bread flour": 100, "water": 60, "margarine": 5})
        assert "The allergens of margarine are not known" in " ".join(read(formula_sheet(soft)).within("li"))
        scald = Stage("scald", {"rye meal": 100, "water": 200}, takes=("rye meal", "100 %"), base="rye meal")
        hot = Formula.from_percents(
            "Hot", {"bread flour": 90, "rye meal": 10, "water": 70}, flours=["bread flour", "rye meal"], stages=[scald]
        )
        assert "scald: pour away from yourself" in " ".join(read(mix_sheet(hot.scale(flour="1 kg"))).within("li"))

    def test_a_coarse_scale_is_told_of(self) -> None:
        coarse = QUAY.scale(flour="1 kg").rounded("50 g")
        assert coarse.cautions
        told = read(mix_sheet(coarse)).within("li")
        assert any("use a finer scale" in line for line in told)

    def test_what_leaves_a_stage(self) -> None:
        """Harbour Sour: 20 % of 50 kg of flour at 15 % culture: 10 kg * 15 / 100 = 1500 g go back out."""
        told = read(mix_sheet(SOUR.scale(flour="50 kg"))).within("li")
        assert "Ripe culture taken back out before it goes on: 1500 g" in told
        assert "Goes on: 20 kg" in told

    def test_key_figures_of_a_formula(self) -> None:
        page = read(formula_sheet(QUAY))
        facts = dict(zip(page.within("dt"), page.within("dd"), strict=True))
        assert facts["Hydration"] == "69 %"
        assert facts["Prefermented flour"] == "30 %"
        assert facts["All lines together"] == "171.7 %"
        assert facts["Dough temperature"] == "25 °C (77 °F)"
        assert facts["Losses"] == "handling 1.5 %, proof 1 %, oven 11 %, cooling 1 %"
        assert facts["On each piece"] == "6 g of sesame seeds"
        assert facts["Allergens of the plain ingredients"].startswith("wheat (bread flour")
        bun = read(formula_sheet(load(HARBOUR / "gull-bun.toml")))
        liquids = dict(zip(bun.within("dt"), bun.within("dd"), strict=True))
        assert (liquids["Hydration"], liquids["Hydration with all liquids"]) == ("0 %", "60 %")

    def test_all_the_flour_in_stages(self) -> None:
        whole = Stage("sponge", {"bread flour": 100, "water": 60}, flour="100 %")
        bread = Formula.from_percents("Sponge", {"bread flour": 100, "water": 65, "salt": 2}, stages=[whole])
        page = read(formula_sheet(bread))
        assert any("has none of its own" in text for text in page.within("caption"))
        assert "160" in page.within("td")

    def test_what_goes_in_later(self) -> None:
        bread = Formula.from_percents("Late", {"bread flour": 100, "water": 70}, later={"water": 5})
        assert "Hold back 500 g of the water above; it goes in after mixing" in read(
            mix_sheet(bread.scale(flour="10 kg"))
        ).within("li")

    def test_the_reader_s_unit(self) -> None:
        page = mix_sheet(QUAY.scale(flour="100 lb"), unit="lb").html()
        assert '60<span class="unit"> lb</span>' in page
        assert "kg" not in re.sub(r"<style>.*</style>", "", page, flags=re.DOTALL)


def luminance(colour: str) -> float:
    """Relative luminance of sRGB as WCAG 2 defines it."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_rule_for_contrast() -> None:
    """Published: black on white is 21; #767676 on white is the lightest grey above 4.5."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") > 4.5 > contrast("#777777", "#ffffff")


class TestStyle:
    STYLE = re.search(r"<style>(.*)</style>", SHEETS["mix"].html(), re.DOTALL)
    TEXT = STYLE.group(1) if STYLE else ""

    @pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
    def test_contrast(self, colours: dict[str, str]) -> None:
        for name in ("ink", "quiet", "mark", "warn"):
            assert contrast(colours[name], colours["paper"]) >= 7, name
        # What is not text but must be seen: boxes and lines to write on.
        assert contrast(colours["line"], colours["paper"]) >= 3

    def test_the_colours_tested_are_the_colours_used(self) -> None:
        outside = re.sub(r":root \{[^}]*\}", "", self.TEXT)
        assert set(re.findall(r"#[0-9a-f]{3,6}\b", outside)) <= {"#000"}
        for colours in (LIGHT, DARK):
            for name, colour in colours.items():
                assert f"--{name}: {colour};" in self.TEXT
        assert set(re.findall(r"var\(--(\w+)\)", self.TEXT)) <= set(LIGHT)
        assert list(LIGHT) == list(DARK)
        assert "opacity" not in self.TEXT

    def test_dark_is_for_screens_alone(self) -> None:
        before, _, after = self.TEXT.partition("@media screen and (prefers-color-scheme: dark)")
        assert DARK["paper"] not in before
        assert DARK["paper"] in after.split("@page")[0]
        assert DARK["paper"] not in after.split("@page")[1]

    def test_paper_of_any_size_and_no_broken_row(self) -> None:
        assert "@page { margin:" in self.TEXT
        assert "size:" not in re.sub(r"font-size:|box-sizing:|inline-size:", "", self.TEXT)
        assert "tr { break-inside: avoid; }" in self.TEXT
        assert "thead { display: table-header-group; }" in self.TEXT
        assert "@media print" in self.TEXT

    def test_nothing_is_smaller_than_12_pt(self) -> None:
        sizes = [float(size) for size in re.findall(r"(?:font-size|font): ?(?:bold )?([\d.]+)pt", self.TEXT)]
        assert min(sizes) == 12
        assert "font: 12pt/1.4" in self.TEXT
        assert float(re.findall(r"\.weigh td\.far \{ font-size: (\d+)pt", self.TEXT)[0]) >= 20
        assert not re.search(r"font-size: [\d.]+(?:em|rem|px|%)", self.TEXT)


def tables(markdown: str) -> list[list[list[str]]]:
    """Parse the tables of Markdown as its dialects do: cells between bars that no backslash escapes."""
    found: list[list[list[str]]] = []
    inside = False
    for line in markdown.splitlines():
        if line.startswith("|"):
            cells = [cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]]
            if not inside:
                found.append([])
            found[-1].append(cells)
        inside = line.startswith("|")
    return found


class TestMarkdown:
    @pytest.mark.parametrize("sheet", [*SHEETS.values(), formula_sheet(FOUL), mix_sheet(FOUL.scale(flour="10 kg"))])
    def test_tables_have_as_many_cells_in_every_row(self, sheet: Sheet) -> None:
        for table in tables(sheet.markdown()):
            assert len({len(row) for row in table}) == 1
            assert all(re.fullmatch(r":?-+:?", cell) for cell in table[1])

    def test_a_mix(self) -> None:
        (biga, final) = tables(mix_sheet(MIX).markdown())
        assert biga[0] == ["done", "ingredient", "weigh", "% of flour"]
        assert biga[2] == ["☐", "bread flour", "19.52 kg", "30"]
        assert [row[1] for row in final[2:]] == [row.name for row in MIX.final.rows] + ["**together**"]
        assert "* Dough temperature: …" in mix_sheet(MIX).markdown()

    def test_signs_that_mean_something_are_escaped(self) -> None:
        text = formula_sheet(FOUL).markdown()
        assert "\\| \\*bold\\*" in text
        assert "\\<script\\>" in text
        assert "<script" not in text.replace("\\<script", "")
        assert "\x1b" not in text

    def test_a_label(self) -> None:
        text = label_sheet(LABEL).markdown()
        assert "**Wheat** flour" in text or "**wheat** flour" in text
        assert "\\[to fill in: lot\\]" in text


class TestSaving:
    @pytest.mark.parametrize("kind", SHEETS)
    def test_the_same_sheet_gives_the_same_bytes(self, kind: str, tmp_path: Path) -> None:
        for ending in (".html", ".htm", ".md", ".markdown", ".xlsx"):
            one, other = tmp_path / f"one{ending}", tmp_path / f"other{ending}"
            SHEETS[kind].save(one)
            SHEETS[kind].save(str(other))
            assert one.read_bytes() == other.read_bytes()
        assert len(list(tmp_path.iterdir())) == 10

    def test_the_ending_decides_in_any_case(self, tmp_path: Path) -> None:
        SHEETS["mix"].save(tmp_path / "MIX.HTML")
        assert (tmp_path / "MIX.HTML").read_text(encoding="utf-8") == SHEETS["mix"].html()

    @pytest.mark.parametrize("name", ["mix.pdf", "mix", "mix.", ".html", "mix.html.bak"])
    def test_another_ending_names_those_that_there_are(self, name: str, tmp_path: Path) -> None:
        with pytest.raises(UnknownNameError, match=r"\.html, \.htm, \.md, \.markdown, \.xlsx"):
            SHEETS["mix"].save(tmp_path / name)
        assert list(tmp_path.iterdir()) == []

    def test_nothing_half_written(self, tmp_path: Path) -> None:
        with pytest.raises(FileError, match="no writable file"):
            SHEETS["mix"].save(tmp_path / "nowhere" / "mix.html")
        old = tmp_path / "mix.html"
        old.write_text("old", encoding="utf-8")
        SHEETS["mix"].save(old)
        assert old.read_text(encoding="utf-8").endswith("</html>\n")
        assert [path.name for path in tmp_path.iterdir()] == ["mix.html"]

    def test_an_unknown_form(self) -> None:
        with pytest.raises(UnknownNameError, match="got 'pdf', expected one of html, markdown, xlsx"):
            SHEETS["mix"].written("pdf")


class TestRefusals:
    def test_what_is_not_what_it_should_be(self) -> None:
        with pytest.raises(FormulaError, match="an object of type Batch, expected a Formula; use mix_sheet"):
            formula_sheet(MIX)  # type: ignore[arg-type]
        with pytest.raises(FormulaError, match="an object of type Formula, expected a Batch; scale it first"):
            mix_sheet(QUAY)  # type: ignore[arg-type]
        with pytest.raises(FormulaError, match="an object of type str, expected a LabelDraft"):
            label_sheet("label")  # type: ignore[arg-type]

    def test_an_unknown_unit(self) -> None:
        with pytest.raises(UnknownNameError, match="unit: got 'stone', expected one of g, kg, oz, lb"):
            mix_sheet(MIX, unit="stone")

    @pytest.mark.parametrize(("package", "form"), [("jinja2", "html"), ("openpyxl", "xlsx")])
    def test_without_a_package_it_says_what_to_install(
        self, package: str, form: str, fresh_python: Callable[[str], str]
    ) -> None:
        code = f"""
import sys
sys.modules["{package}"] = None
from formula import Formula, MissingExtraError, formula_sheet
sheet = formula_sheet(Formula.from_percents("Loaf", {{"bread flour": 100, "water": 70}}))
sheet.markdown()
try:
    sheet.{form}()
except MissingExtraError as error:
    print(error)
"""
        assert fresh_python(code) == f"{package} is not installed; this needs: pip install 'dough-formula[sheet]'\n"


class TestNotebook:
    @pytest.mark.parametrize("shown", [QUAY, MIX, FOUL, SHEETS["mix"]])
    def test_tables_for_a_notebook(self, shown: Formula) -> None:
        page = Reader(shown._repr_html_())
        assert page.named("table")
        assert page.named("script") == []
        assert len(page.within("caption")) == len(page.named("table"))

    def test_a_working(self) -> None:
        assert QUAY.working()._repr_html_() == QUAY.working().html()

    def test_a_notebook_needs_no_package(self, fresh_python: Callable[[str], str]) -> None:
        code = """
import sys
sys.modules["jinja2"] = sys.modules["openpyxl"] = None
from formula import Formula
loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70})
print(loaf._repr_html_().count("<tr>"), loaf.scale(flour="1 kg")._repr_html_().count("<tr>"))
"""
        assert fresh_python(code) == "4 4\n"


class TestCommand:
    QUAY = HARBOUR / "quay-round.toml"

    def test_without_an_amount_it_is_the_formula(self, run: Run) -> None:
        code, out, _ = run("sheet", self.QUAY)
        assert code == 0
        assert out == formula_sheet(QUAY).markdown()

    def test_with_an_amount_it_is_the_mix(self, run: Run, tmp_path: Path) -> None:
        target = tmp_path / "mix.html"
        code, out, _ = run("sheet", self.QUAY, "--pieces", 120, "--baked", "800 g", "--round", "5 g", "-o", target)
        assert (code, out) == (0, f"{target} written\n")
        assert target.read_text(encoding="utf-8") == mix_sheet(MIX).html()

    @pytest.mark.parametrize(
        ("amount", "words"),
        [
            (("--dough", "93 kg"), "93 kg"),
            (("--flour", "50 lb"), "22.6796 kg"),
            (("--pieces", "10", "--piece", "1 kg"), "10 of"),
            (("--using", "fresh yeast=70 g", "--using", "salt=9 kg"), "10 kg"),
        ],
    )
    def test_every_amount(self, run: Run, amount: tuple[str, ...], words: str) -> None:
        code, out, _ = run("sheet", self.QUAY, *amount)
        assert code == 0
        assert "Mix sheet" in out
        assert words in out

    def test_to_and_unit(self, run: Run, tmp_path: Path) -> None:
        code, out, _ = run("sheet", self.QUAY, "--to", "html", "--dough", "100 lb", "--unit", "lb")
        assert (code, out) == (0, mix_sheet(QUAY.scale(dough="100 lb"), unit="lb").html())
        target = tmp_path / "mix.txt"
        assert run("sheet", self.QUAY, "--to", "markdown", "-o", target)[0] == 0
        assert target.read_text(encoding="utf-8") == formula_sheet(QUAY).markdown()
        book = tmp_path / "mix.xlsx"
        assert run("sheet", self.QUAY, "-o", book)[0] == 0
        assert book.read_bytes() == formula_sheet(QUAY).xlsx()

    @pytest.mark.parametrize(
        ("options", "words"),
        [
            (("-o", "mix.pdf"), ".html, .htm, .md, .markdown, .xlsx"),
            (("--to", "html", "-o", "mix.xlsx"), "--to html does not go into mix.xlsx"),
            (("--to", "xlsx"), "needs a file"),
            (("--round", "5 g"), "--round goes with an amount"),
            (("--flour", "1 kg", "--minimum", "5 g"), "--minimum goes with --round"),
        ],
    )
    def test_wrong_usage(self, run: Run, options: tuple[str, ...], words: str) -> None:
        code, out, err = run("sheet", self.QUAY, *options)
        assert (code, out) == (2, "")
        assert words in err

    def test_a_wrong_amount_is_one_message(self, run: Run) -> None:
        code, _, err = run("sheet", self.QUAY, "--pieces", "10")
        assert code == 1
        assert "one of piece= and baked=" in err

    def test_a_label(self, run: Run, tmp_path: Path) -> None:
        target = tmp_path / "label.html"
        arguments = ("--region", "eu", "--baked", "800 g", "--name", "wheat bread", "--net", "800 g")
        code, out, _ = run("label", self.QUAY, *arguments, "-o", target)
        assert (code, out) == (0, f"{target} written\n")
        assert target.read_text(encoding="utf-8") == label_sheet(LABEL).html()
        code, out, err = run("label", self.QUAY, *arguments, "--json", "--salt-target", "1.1 %", "-o", target)
        assert (code, out) == (2, "")
        assert "without --json and --salt-target" in err


def test_a_sheet_is_a_value() -> None:
    assert formula_sheet(QUAY) == formula_sheet(load(HARBOUR / "quay-round.toml"))
    assert hash(formula_sheet(QUAY)) == hash(formula_sheet(load(HARBOUR / "quay-round.toml")))
    assert str(formula_sheet(QUAY)) == formula_sheet(QUAY).markdown()
    assert mix_sheet(QUAY.scale(dough="1 kg")) != mix_sheet(QUAY.scale(dough="2 kg"))
