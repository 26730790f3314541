"""Sheets worth pinning up: a formula, a mix to weigh by and a label draft, as a page, as Markdown and as a workbook.

A ``Sheet`` holds what it shows and writes it when asked.  What a notebook shows of a formula and a batch is drawn here too.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final, TypeAlias

from attrs import frozen

from .batch import Batch
from .draft import LabelDraft
from .errors import Fault, FormulaError, UnknownNameError, cited
from .files import write_whole
from .formula import Formula
from .livebook import live_workbook, page_workbook
from .sheetlayout import formula_page, label_page, mix_page
from .sheetpage import html_page
from .sheetparts import SheetPage, markdown_page, table_fragments
from .words import UNITS

__all__ = ["FORMS", "Sheet", "formula_sheet", "label_sheet", "mix_sheet", "notebook_html"]

FORMS: Final = {
    ".html": "html",
    ".htm": "html",
    ".md": "markdown",
    ".markdown": "markdown",
    ".xlsx": "xlsx",
}
"""The ending of a file -> what is written into it."""

Shown: TypeAlias = Formula | Batch | LabelDraft


@frozen
class Sheet:
    """A sheet: what it shows, and the unit of its weights.

    Example:
        >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70, "salt": 2})
        >>> print(Sheet(loaf).markdown().splitlines()[0])
        # Loaf
    """

    shows: Shown
    unit: str = "g"

    @property
    def page(self) -> SheetPage:
        """What stands on it."""
        if isinstance(self.shows, Batch):
            return mix_page(self.shows, self.unit)
        if isinstance(self.shows, Formula):
            return formula_page(self.shows, self.unit)
        return label_page(self.shows)

    def html(self) -> str:
        """Return the sheet as one page of HTML that stands alone, for paper and screen.

        Raises:
            MissingExtraError: without jinja2.
        """
        return html_page(self.page)

    def markdown(self) -> str:
        """Return the sheet in Markdown."""
        return markdown_page(self.page)

    def xlsx(self) -> bytes:
        """Return the sheet as a workbook; that of a formula or batch calculates: its flour and percentages are to be edited.

        Raises:
            MissingExtraError: without openpyxl.

        The same sheet gives the same bytes.  A rounded batch shows its weights on the scale beside the exact ones, for
        as long as nobody edits the flour.
        """
        if isinstance(self.shows, LabelDraft):
            return page_workbook(self.page)
        return live_workbook(self.shows, self.page, self.unit)

    def written(self, form: str) -> str | bytes:
        """Return the sheet in one of its forms.

        Args:
            form: "html", "markdown" or "xlsx".

        Raises:
            UnknownNameError: for another form.
            MissingExtraError: without the package that writes it.
        """
        if form == "html":
            return self.html()
        if form == "markdown":
            return self.markdown()
        if form == "xlsx":
            return self.xlsx()
        raise UnknownNameError(Fault("form", cited(form), f"one of {', '.join(dict.fromkeys(FORMS.values()))}"))

    def save(self, path: str | os.PathLike[str]) -> None:
        """Write the sheet into a file, whose ending says as what; the old file stays whole until the new one is complete.

        Args:
            path: a file that ends in ".html", ".htm", ".md", ".markdown" or ".xlsx"; an existing one is replaced.

        Raises:
            UnknownNameError: for another ending, naming those that there are.
            FileError: when the file cannot be written.
            MissingExtraError: without the package that writes it.
        """
        file = Path(path)
        form = FORMS.get(file.suffix.lower())
        if form is None:
            expected = f"a file that ends in one of {', '.join(FORMS)}"
            raise UnknownNameError(Fault("sheet", cited(file.name), expected, f"such as {file.stem or 'sheet'}.html"))
        write_whole(file, self.written(form))

    def __str__(self) -> str:
        """Return the sheet in Markdown."""
        return self.markdown()

    def _repr_html_(self) -> str:
        """Return its tables for a notebook."""
        return table_fragments(self.page)


def _checked(shows: object, kind: type[Shown], where: str, unit: str) -> None:
    if not isinstance(shows, kind):
        hint = {"Batch": "use mix_sheet", "Formula": "scale it first, or use formula_sheet"}.get(
            type(shows).__name__, ""
        )
        got = f"an object of type {type(shows).__name__}"
        raise FormulaError(Fault(where, got, f"a {kind.__name__}", hint))
    if unit not in UNITS:
        raise UnknownNameError(Fault("unit", cited(unit), f"one of {', '.join(UNITS)}"))


def formula_sheet(formula: Formula, *, unit: str = "g") -> Sheet:
    """Make the sheet of a formula: the whole formula, each stage, the final dough, key figures and cautions.

    Args:
        formula: the bread.
        unit: the unit of weights: "g", "kg", "oz" or "lb".  Only toppings and the workbook have any.

    Returns:
        The sheet; its workbook begins with a kilogram of flour.

    Raises:
        FormulaError: for what is no formula.
        UnknownNameError: for another unit.

    Percentages are shown to five digits and computed with all of them.

    Example:
        >>> loaf = Formula.from_percents("Quay Loaf", {"bread flour": 100, "water": 70, "salt": 2})
        >>> print(formula_sheet(loaf).markdown())  # doctest: +ELLIPSIS
        # Quay Loaf
        <BLANKLINE>
        Formula
        <BLANKLINE>
        * **Hydration:** 70 %
        ...
        | ingredient | % of flour | % of dough |
        | --- | ---: | ---: |
        | bread flour | 100 | 58.14 |
        ...
    """
    _checked(formula, Formula, "formula", unit)
    return Sheet(formula, unit)


def mix_sheet(batch: Batch, *, unit: str = "g") -> Sheet:
    """Make the sheet that somebody weighs and mixes by: weights to be read from afar, boxes to tick, lines to write on.

    Args:
        batch: the formula in weights; round it to the scale first (``batch.rounded``) to see what can be weighed.
        unit: the unit of the weights: "g", "kg", "oz" or "lb"; ten kilograms and more are not shown in grams.

    Returns:
        The sheet; its workbook begins with the flour of the batch.

    Raises:
        FormulaError: for what is no batch.
        UnknownNameError: for another unit.

    Example:
        >>> loaf = Formula.from_percents("Quay Loaf", {"bread flour": 100, "water": 70, "salt": 2})
        >>> print(mix_sheet(loaf.scale(flour="20 kg")).markdown())  # doctest: +ELLIPSIS
        # Quay Loaf
        ...
        | done | ingredient | weigh | % of flour |
        | :-: | --- | ---: | ---: |
        | ☐ | bread flour | 20 kg | 100 |
        | ☐ | water | 14 kg | 70 |
        | ☐ | salt | 400 g | 2 |
        ...
    """
    _checked(batch, Batch, "batch", unit)
    return Sheet(batch, unit)


def label_sheet(draft: LabelDraft) -> Sheet:
    """Make the sheet of a label draft: every particular, filled in or as a blank, and the rule that asks for it.

    Args:
        draft: what ``label_draft`` made of a declaration.

    Returns:
        The sheet; its workbook is text.

    Raises:
        FormulaError: for what is no label draft.

    It is a draft for somebody who is allowed to sign it: local law decides.

    Example:
        >>> from formula import declaration, label_draft
        >>> loaf = Formula.from_percents("Quay Loaf", {"unenriched bread flour": 100, "water": 70, "salt": 2})
        >>> "to fill in: lot" in label_sheet(label_draft(declaration(loaf, region="eu"))).markdown()
        True
    """
    _checked(draft, LabelDraft, "draft", "g")
    return Sheet(draft)


def notebook_html(shows: Formula | Batch) -> str:
    """Return what a notebook shows of a formula or a batch: its tables, all text escaped; needs no package."""
    return table_fragments(Sheet(shows).page)
