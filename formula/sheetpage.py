"""A sheet as one page of HTML that stands alone: to be pinned up, read aloud by a screen reader, or ticked on a tablet.

It prints on whatever paper the printer holds, breaks no row, follows the reader's light or dark screen and is always
black on white on paper.  Nothing is loaded and nothing runs: the page forbids it for itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from .errors import MissingExtraError
from .sheetparts import SheetPage
from .words import one_line

if TYPE_CHECKING:
    from jinja2 import Template

__all__ = ["DARK", "LIGHT", "html_page", "page_template"]

LIGHT: Final = {
    "paper": "#ffffff",
    "ink": "#1a2225",
    "quiet": "#4a565c",
    "line": "#6f7b81",
    "hair": "#cfd6d8",
    "mark": "#124a5c",
    "warn": "#7c3b00",
}
"""The colours of a light screen and of paper; text on paper holds 7 to 1, lines hold 3 to 1."""
DARK: Final = {
    "paper": "#12181b",
    "ink": "#e8edee",
    "quiet": "#b3bfc4",
    "line": "#7f8d94",
    "hair": "#333e43",
    "mark": "#93cadb",
    "warn": "#f2b98a",
}
"""The colours of a dark screen."""

_PAGE: Final = """\
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>{{ page.title }}: {{ page.kind }}</title>
<style>
:root { color-scheme: light dark; {% for name, colour in light.items() %}--{{ name }}: {{ colour }}; {% endfor %}}
@media screen and (prefers-color-scheme: dark) {
:root { {% for name, colour in dark.items() %}--{{ name }}: {{ colour }}; {% endfor %}}
}
@page { margin: 13mm 14mm; }
* { box-sizing: border-box; }
html { background: var(--paper); }
body { margin: 0; color: var(--ink); background: var(--paper); font: 12pt/1.4 system-ui, sans-serif; }
main { max-width: 52rem; margin: 0 auto; padding: 1.5rem 1rem 3rem; }
header { border-bottom: 3px solid var(--mark); padding-bottom: .4rem; }
h1, h2 { font-family: Georgia, "Times New Roman", serif; font-weight: normal; line-height: 1.15; break-after: avoid; }
h1 { font-size: 30pt; margin: 0; overflow-wrap: anywhere; }
h2 { font-size: 19pt; margin: 1.6rem 0 .2rem; color: var(--mark); overflow-wrap: anywhere; }
p { margin: .5rem 0; overflow-wrap: anywhere; }
.kind { margin: 0; color: var(--mark); font-weight: 600; letter-spacing: .06em; }
.facts { display: grid; grid-template-columns: repeat(auto-fill, minmax(10.5rem, 1fr)); gap: .5rem 1.5rem; margin: .9rem 0; }
.facts div { break-inside: avoid; }
.facts .long { grid-column: 1 / -1; }
.facts dt { color: var(--quiet); }
.facts dd { margin: 0; font-size: 15pt; font-weight: 600; overflow-wrap: anywhere; }
.facts .long { display: flex; flex-wrap: wrap; gap: 0 .6rem; align-items: baseline; }
.facts .long dd { font-size: 12pt; }
table { border-collapse: collapse; width: 100%; font-size: 14pt; font-variant-numeric: tabular-nums lining-nums; }
caption { text-align: left; color: var(--quiet); font-size: 12pt; padding-bottom: .3rem; break-after: avoid; }
thead { display: table-header-group; }
tfoot { display: table-row-group; }
tr { break-inside: avoid; }
th, td { padding: .28em .4em; border-bottom: 1px solid var(--hair); vertical-align: baseline; }
th { text-align: left; font-weight: normal; overflow-wrap: anywhere; }
thead th { font-size: 12pt; font-weight: 600; color: var(--quiet); border-bottom: 2px solid var(--line); vertical-align: bottom; overflow-wrap: normal; }
tfoot th, tfoot td { border-top: 2px solid var(--line); border-bottom: 0; break-before: avoid; }
tfoot th, tfoot td.far { font-weight: 600; }
.number { text-align: right; }
td.number { white-space: nowrap; }
.number[data-after]::after { content: attr(data-after); visibility: hidden; }
.weigh td.far, .lines td.far { font-weight: 700; }
.weigh td.far { font-size: 21pt; line-height: 1.15; }
.weigh th.far, .weigh td.far { width: 11.5rem; padding-right: .2em; }
.weigh th[scope="row"] { font-size: 16pt; min-width: 6.5rem; }
.lines th:first-child { width: 50%; }
.lines { table-layout: fixed; }
.unit { display: inline-block; min-width: 1.7em; text-align: left; font-size: 14pt; font-weight: 600; padding-left: .25em; }
.weigh td:last-child { color: var(--quiet); }
.tick { width: 3.4rem; white-space: nowrap; }
.weigh tbody th, .weigh tbody td, .weigh tfoot th, .weigh tfoot td { vertical-align: middle; }
input[type="checkbox"] { appearance: none; width: 1.7rem; height: 1.7rem; margin: 0; vertical-align: middle; border: 2px solid var(--line); border-radius: 3px; background: transparent; display: inline-grid; place-content: center; }
input[type="checkbox"]:checked { border-color: var(--mark); }
input[type="checkbox"]:checked::before { content: "\\2713"; font: bold 17pt/1 system-ui, sans-serif; color: var(--mark); }
.notes { margin: .5rem 0 0; padding-left: 1.2rem; }
fieldset { border: 0; margin: .8rem 0 0; padding: 0; min-inline-size: 0; break-inside: avoid; }
legend { padding: 0; color: var(--quiet); }
.hand { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(19rem, 100%), 1fr)); gap: .5rem 1.8rem; }
.hand label { display: flex; align-items: end; gap: .5rem; min-height: 2.5rem; }
.hand input { flex: 1; min-width: 4rem; border: 0; border-bottom: 2px solid var(--line); background: transparent; color: var(--ink); font: inherit; padding: .1rem; }
input:focus-visible { outline: 3px solid var(--mark); outline-offset: 2px; }
.particulars dt { font-weight: 600; margin-top: 1rem; break-after: avoid; }
.particulars dd { margin: 0; font-size: 14pt; break-inside: avoid; }
.particulars dd p { margin: .1rem 0; }
.particulars .rule { font-size: 12pt; color: var(--quiet); }
.blank { border-left: 5px solid var(--warn); padding-left: .6rem; color: var(--warn); }
.notice, .cautions { border-left: 5px solid var(--warn); padding: .1rem 0 .1rem .8rem; }
.cautions ul { margin: .3rem 0; padding-left: 1.1rem; }
.cautions h2 { color: var(--warn); margin-top: .2rem; }
.cautions { margin-top: 1.8rem; break-inside: avoid; }
.short { break-inside: avoid; }
@media (max-width: 34rem) {
main { padding: 1rem .7rem 2rem; }
h1 { font-size: 25pt; }
table { font-size: 13pt; }
th, td { padding: .3em .2em; }
.weigh td.far { font-size: 18pt; }
.weigh th.far, .weigh td.far { width: 7rem; }
.weigh th[scope="row"] { font-size: 14pt; min-width: 5.4rem; }
.weigh td:last-child { font-size: 12pt; }
.unit { font-size: 13pt; min-width: 1.5em; padding-left: .15em; }
.tick { width: 2.6rem; }
}
@media print {
:root { color-scheme: light; }
main { max-width: none; padding: 0; }
input[type="checkbox"] { border-color: #000; }
h2 { margin-top: 1rem; }
}
</style>
</head>
<body>
<main>
<header>
<p class="kind">{{ page.kind }}</p>
<h1>{{ page.title }}</h1>
</header>
{% if page.about %}<p class="notice">{{ page.about }}</p>
{% endif -%}
{% if page.facts %}<dl class="facts">
{% for is_long in (false, true) %}{% for term, value in page.facts if (value | length > 17 or term | length > 26) == is_long -%}
<div{% if is_long %} class="long"{% endif %}><dt>{{ term }}</dt><dd>{{ value }}</dd></div>
{% endfor %}{% endfor %}</dl>
{% endif -%}
{% macro hand(legend, labels) -%}
<fieldset><legend>{{ legend }}</legend><div class="hand">
{% for label in labels %}<label>{{ label }} <input type="text" autocomplete="off"></label>
{% endfor %}</div></fieldset>
{% endmacro -%}
{% if page.by_hand %}{{ hand("To write in", page.by_hand) }}{% endif -%}
{% for table in page.tables -%}
{% set place = loop.index -%}
<section{% if table.rows | length < 13 %} class="short"{% endif %} aria-labelledby="part-{{ place }}">
<h2 id="part-{{ place }}">{{ table.title }}</h2>
<table class="{{ 'weigh' if table.tick else 'lines' }}">
<caption>{{ table.about }}</caption>
<thead><tr>
{%- if table.tick %}<th scope="col" class="tick">done</th><th scope="col" class="number far">{{ table.columns[1] }}</th>
{%- endif %}<th scope="col">{{ table.columns[0] }}</th>
{%- for head in table.columns[2 if table.tick else 1:] %}<th scope="col" class="number">{{ head }}</th>{% endfor %}</tr></thead>
<tbody>
{% for row in table.rows %}{% set line = loop.index -%}
<tr>
{%- if table.tick %}<td class="tick"><input type="checkbox" id="tick-{{ place }}-{{ line }}"></td>
{{- number(table, row[1], 1) }}<th scope="row"><label for="tick-{{ place }}-{{ line }}">{{ row[0] }}</label></th>
{%- else %}<th scope="row">{{ row[0] }}</th>{{ number(table, row[1], 1) }}{% endif %}
{%- for cell in row[2:] %}{{ number(table, cell, loop.index + 1) }}{% endfor %}</tr>
{% endfor %}</tbody>
{% if table.total %}<tfoot><tr>
{%- if table.tick %}<td></td>{{ number(table, table.total[1], 1) }}<th scope="row">{{ table.total[0] }}</th>
{%- else %}<th scope="row">{{ table.total[0] }}</th>{{ number(table, table.total[1], 1) }}{% endif %}
{%- for cell in table.total[2:] %}{{ number(table, cell, loop.index + 1) }}{% endfor %}</tr></tfoot>
{% endif %}</table>
{% if table.notes %}<ul class="notes">
{% for note in table.notes %}<li>{{ note }}</li>
{% endfor %}</ul>
{% endif -%}
{% if table.by_hand %}{{ hand("To write in: " ~ table.title, table.by_hand) }}{% endif -%}
</section>
{% endfor -%}
{% if page.particulars %}<dl class="particulars">
{% for each in page.particulars %}<dt>{{ each.term }}</dt>
<dd{% if each.is_blank %} class="blank"{% endif %}>
{%- if each.html %}{{ each.html | safe }}{% else %}<p>{{ each.text }}</p>{% endif %}<p class="rule">{{ each.rule }}</p></dd>
{% endfor %}</dl>
{% endif -%}
{% if page.cautions %}<section class="cautions" aria-labelledby="cautions">
<h2 id="cautions">Cautions</h2>
<ul>
{% for caution in page.cautions %}<li>{{ caution.text }}</li>
{% endfor %}</ul>
</section>
{% endif -%}
</main>
</body>
</html>
"""
_NUMBER: Final = """\
{% macro number(table, cell, column) -%}
{% set after = table.after_point(column, cell) -%}
<td class="number{% if column == 1 %} far{% endif %}"{% if after %} data-after="{{ after }}"{% endif %}>
{%- if " " in cell %}{{ cell.partition(" ")[0] }}<span class="unit"> {{ cell.partition(" ")[2] }}</span>{% else %}{{ cell }}{% endif %}</td>
{%- endmacro -%}
"""


def html_page(page: SheetPage) -> str:
    """Return a page of HTML that stands alone.

    Args:
        page: what stands on the sheet.

    Raises:
        MissingExtraError: without jinja2.
    """
    return page_template(_NUMBER + _PAGE).render(page=page, light=LIGHT, dark=DARK) + "\n"


def page_template(text: str) -> Template:
    """Return a template of HTML that escapes every text, sets it on one line, and leaves nothing out.

    Raises:
        MissingExtraError: without jinja2.
    """
    try:
        from jinja2 import Environment, StrictUndefined  # noqa: PLC0415 - an extra
    except ImportError:
        raise MissingExtraError("sheet", "jinja2") from None
    return Environment(autoescape=True, undefined=StrictUndefined, finalize=_seen).from_string(text)


def _seen(value: object) -> object:
    # Text that is already safe is a subclass of text and stays as it is.
    return one_line(value) if type(value) is str else value
