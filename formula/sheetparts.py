"""The parts of a sheet: what stands on it, in order, before anybody asks how it is written.

A page is a heading, facts, tables, particulars, what is written in by hand and cautions, all of it plain text.  Markdown and
the tables of a notebook are written here; whole pages of HTML and workbooks have rooms of their own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape
from typing import Final

from attrs import frozen

from .words import one_line
from .working import Caution, escaped_markdown

__all__ = ["Particulars", "SheetPage", "SheetTable", "markdown_page", "table_fragments"]

_BOX: Final = "☐"
_BY_HAND: Final = "…………"


@frozen
class SheetTable:
    """A table: a heading, a line about it, columns of which the first holds names, rows, and what is below them.

    ``tick`` gives every row a box to tick and makes the second column the one that is read from afar; ``by_hand`` are
    the labels of what is written in below the table.
    """

    title: str
    about: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    total: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    tick: bool = False
    by_hand: tuple[str, ...] = ()

    def after_point(self, column: int, cell: str) -> str:
        """Return the digits that a bare number lacks for the points of its column to stand below each other.

        Example:
            >>> SheetTable("", "", ("what", "percent"), (("water", "69"), ("yeast", "0.7"))).after_point(1, "69")
            '.0'
        """
        if " " in cell or not cell:
            return ""
        cells = [row[column] for row in (*self.rows, self.total) if len(row) > column]
        longest = max((len(each.partition(".")[2]) for each in cells if " " not in each), default=0)
        digits = len(cell.partition(".")[2])
        return ("." if longest and not digits else "") + "0" * (longest - digits)


@frozen
class Particulars:
    """One particular of a label: what it is, its value as text, HTML (escaped) and Markdown, and what is asked of it."""

    term: str
    text: str
    html: str
    markdown: str
    rule: str
    is_blank: bool = False


@frozen
class SheetPage:
    """Everything that stands on a sheet; ``kind`` says what sheet it is."""

    kind: str
    title: str
    about: str = ""
    facts: tuple[tuple[str, str], ...] = ()
    tables: tuple[SheetTable, ...] = ()
    particulars: tuple[Particulars, ...] = ()
    by_hand: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()


def _plain(text: str) -> str:
    return escaped_markdown(one_line(text))


def _cells(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _markdown_table(table: SheetTable) -> Iterator[str]:
    """Write a table; numbers stand to the right, and a box to tick before the name."""
    box = ["done"] if table.tick else []
    yield from (f"## {_plain(table.title)}", "", _plain(table.about), "")
    yield _cells([*box, *map(_plain, table.columns)])
    yield _cells([*(":-:" for _ in box), "---", *("---:" for _ in table.columns[1:])])
    for row in table.rows:
        yield _cells([*(_BOX for _ in box), *map(_plain, row)])
    if table.total:
        bold = (f"**{_plain(cell)}**" if cell else "" for cell in table.total)
        yield _cells([*("" for _ in box), *bold])
    yield ""
    if table.notes:
        yield from (*(f"* {_plain(note)}" for note in table.notes), "")
    if table.by_hand:
        yield from (*(f"* {_plain(label)}: {_BY_HAND}" for label in table.by_hand), "")


def markdown_page(page: SheetPage) -> str:
    r"""Write a page in Markdown, every sign that means something there escaped.

    Args:
        page: what stands on the sheet.

    Example:
        >>> page = SheetPage("Formula", "Rye | Loaf", facts=(("Hydration", "70 %"),))
        >>> print(markdown_page(page), end="")
        # Rye \| Loaf
        <BLANKLINE>
        Formula
        <BLANKLINE>
        * **Hydration:** 70 %
    """
    lines = [f"# {_plain(page.title)}", "", _plain(page.kind), ""]
    if page.about:
        lines += [f"> {_plain(page.about)}", ""]
    facts = [f"* **{_plain(term)}:** {_plain(value)}" for term, value in page.facts]
    facts += [f"* {_plain(label)}: {_BY_HAND}" for label in page.by_hand]
    facts += [
        f"* **{_plain(each.term)}:** {one_line(each.markdown) or _plain(each.text)} *({_plain(each.rule)})*"
        for each in page.particulars
    ]
    lines += [*facts, ""] if facts else []
    for table in page.tables:
        lines += _markdown_table(table)
    if page.cautions:
        lines += ["## Cautions", "", *(f"* {_plain(caution.text)}" for caution in page.cautions)]
    return "\n".join(lines).rstrip() + "\n"


def _seen(text: str) -> str:
    return escape(one_line(text))


def table_fragments(page: SheetPage) -> str:
    """Write the tables of a page alone as HTML for a notebook, all text escaped; needs no package.

    Args:
        page: what stands on the sheet.

    Example:
        >>> table = SheetTable("Dough", "to weigh", ("what", "weight"), (("salt & spice", "20 g"),))
        >>> "salt &amp; spice</th><td>20 g</td>" in table_fragments(SheetPage("Mix", "Loaf", tables=(table,)))
        True
    """
    found: list[str] = []
    for table in page.tables:
        heads = "".join(f'<th scope="col">{_seen(head)}</th>' for head in table.columns)
        rows = [*table.rows, *([table.total] if table.total else [])]
        body = "".join(
            f'<tr><th scope="row">{_seen(row[0])}</th>{"".join(f"<td>{_seen(cell)}</td>" for cell in row[1:])}</tr>'
            for row in rows
        )
        caption = f"{_seen(page.title)}, {_seen(table.title)}: {_seen(table.about)}"
        found.append(f"<table><caption>{caption}</caption><thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>")
    return "".join(found)
