"""Settings of the documentation: Sphinx with Markdown pages and a reference drawn from the docstrings."""

import re
import sys
from contextlib import chdir
from doctest import DocTestParser
from importlib.metadata import version as installed_version
from pathlib import Path
from typing import Any

from sphinx.application import Sphinx

from formula.sources import KNOWN_BY, all_sources
from formula.working import escaped_markdown

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests import accuracy, classroom, lawbook, publicnames, trust

project = "formula"
author = "the formula authors"
copyright = "the formula authors"
release = installed_version("dough-formula")
version = release

extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
source_suffix = {".md": "markdown"}
exclude_patterns = ["_build", "examples"]
myst_enable_extensions = ["colon_fence", "dollarmath"]
myst_heading_anchors = 3
html_theme = "furo"
html_title = "formula"
html_static_path = ["_static"]
html_css_files = ["pages.css"]

autodoc_member_order = "bysource"
autodoc_typehints = "description"
autodoc_typehints_description_target = "documented_params"
napoleon_google_docstring = True
napoleon_numpy_docstring = False
# A result's fields and their quantities are described where they are declared; once is enough.
napoleon_use_ivar = True

# Names of other packages cannot be looked up: the documentation is built without the network.
nitpick_ignore_regex = [
    ("py:.*", r"(pint|cattrs|attrs?|rich|collections|datetime|fractions|pathlib|re|os|types|enum)\..*"),
    # A room's own helpers, named by a leading underscore, have no page.
    ("py:.*", r"formula\.\w+\._\w+"),
    # Type variables and aliases for the type checker alone have no page.
    (
        "py:.*",
        r"(.*\.)?(T|V|Measure|Quantity|QuantityLike|Amounts|Preferments|Shape|Any|Path|Callable|Mapping|Iterator|Facts|Figure|MoneyRule|On|Template|Workbook|NDArray|Numbers|Grams|Self)",
    ),
]


def _keep_the_sentence(_app: Sphinx, what: str, _name: str, _obj: object, _options: object, lines: list[str]) -> None:
    """Keep a field's sentence whole: napoleon would take what stands before a colon in its first line for a type, so an empty comment goes first."""
    if what in {"attribute", "data", "property"}:
        lines[:0] = ["..", ""]


def _draw(app: Sphinx) -> None:
    """Draw the pictures of charts.md by the very code that stands there: each block's last figure, in the order of the images."""
    here = Path(app.srcdir)
    page = (here / "charts.md").read_text(encoding="utf-8")
    blocks = re.findall(r"```python\n(.*?)```.*?!\[[^\]]*\]\(_generated/(\w+)\.svg\)", page, re.DOTALL)
    (here / "_generated").mkdir(exist_ok=True)
    with chdir(here.parent):
        for code, name in blocks:
            names: dict[str, Any] = {}
            for example in DocTestParser().get_examples(code):
                exec(example.source, names)  # noqa: S102 - our own page
            drawn = [value for value in names.values() if hasattr(value, "savefig")]
            drawn[-1].savefig(here / "_generated" / f"{name}.svg", metadata={"Date": None})


def _list_sources(app: Sphinx) -> None:
    """Write the bibliography from the library's own table, grouped by how a source is known."""
    here = Path(app.srcdir) / "_generated"
    here.mkdir(exist_ok=True)
    groups: dict[str, list[str]] = {kind: [] for kind in KNOWN_BY}
    for name, each in all_sources().items():
        note = f" {escaped_markdown(each.note)}" if each.note else ""
        groups[each.known_by].append(f"* `{name}`: {escaped_markdown(str(each))}{note}")
    parts = [f"## Known by: {kind}\n\n" + "\n".join(sorted(lines)) + "\n" for kind, lines in groups.items() if lines]
    (here / "sources.txt").write_text("\n".join(parts), encoding="utf-8")


def _name_the_rest(app: Sphinx, page: str, source: list[str]) -> None:
    """Let the star of index.md stand for the pages that it does not name, so that none appears twice."""
    if page == "index":
        lines = source[0].splitlines()
        rest = sorted(found for found in app.env.found_docs - {page, *lines} if "/" not in found)
        source[0] = "\n".join(found for line in lines for found in (rest if line == "*" else [line]))


def _measure(app: Sphinx) -> None:
    """Write the laws, and the parts of the pages of accuracy and trust, from the tests and what they measured."""
    here = Path(app.srcdir) / "_generated"
    here.mkdir(exist_ok=True)
    for page, parts in (("accuracy", accuracy.PARTS), ("trust", trust.PARTS)):
        for name, part in parts.items():
            (here / f"{page}-{name}.txt").write_text(part(), encoding="utf-8")
    (here / "laws.txt").write_text(lawbook.law_lists(), encoding="utf-8")


def _list_names(app: Sphinx) -> None:
    """Write the index of the public names."""
    here = Path(app.srcdir) / "_generated"
    here.mkdir(exist_ok=True)
    (here / "names.txt").write_text(publicnames.index(), encoding="utf-8")


def _show(app: Sphinx, page: str, source: list[str]) -> None:
    """Show a lesson of the class as it runs: its cells by a kernel from clean, each with what it prints.

    On every page the word that stands for an empty line in a checked example is an empty line to the reader.
    """
    source[0] = source[0].replace("\n<BLANKLINE>", "\n")
    if page.startswith("class/"):
        lesson = Path(app.srcdir) / f"{page}.md"
        pictures = Path(app.srcdir) / "_generated" / lesson.stem
        source[0] = classroom.page(classroom.run_as_notebook(lesson), pictures)


def setup(app: Sphinx) -> None:
    """Write what is made anew with each build, run the lessons, fill the index, and see the docstrings before napoleon does."""
    app.connect("builder-inited", _draw)
    app.connect("builder-inited", _list_sources)
    app.connect("builder-inited", _list_names)
    app.connect("builder-inited", _measure)
    app.connect("source-read", _name_the_rest)
    app.connect("source-read", _show)
    app.connect("autodoc-process-docstring", _keep_the_sentence, priority=100)
