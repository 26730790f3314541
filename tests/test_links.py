"""Every link of the texts leads somewhere: to a file that is there, to a heading of it, or to one of a few places outside."""

import os
import re
from collections.abc import Iterator
from functools import cache
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
from markdown_it import MarkdownIt
from markdown_it.token import Token

PROJECT = Path(__file__).parents[1]
PAGES = sorted([*PROJECT.glob("*.md"), *(PROJECT / "docs").glob("**/*.md")])
PAGES = [page for page in PAGES if "_generated" not in page.parts]
OUTSIDE = {"https://pint.readthedocs.io"}
"""Nothing else outside of the project is linked: a link that nobody can check here grows old unseen."""
DEEPEST = 3
"""Headings below this level get no anchor in the documentation (``myst_heading_anchors``)."""
BUILT = os.environ.get("FORMULA_DOCS", "")
"""The folder of the built documentation, where there is one."""


@cache
def tokens(page: Path) -> list[Token]:
    text = page.read_text(encoding="utf-8")
    if text.startswith("---\n"):
        text = text.partition("\n---\n")[2]
    return MarkdownIt("commonmark").enable("table").parse(text)


def slug(heading: str) -> str:
    """Make an anchor of a heading as the hosts of repositories do, and the documentation as well."""
    return re.sub(r"[^\w\- ]", "", heading.strip().lower()).replace(" ", "-")


@cache
def anchors(page: Path) -> set[str]:
    found: list[str] = []
    parts = tokens(page)
    for opening, inside in pairwise(parts):
        if opening.type == "heading_open" and int(opening.tag[1:]) <= DEEPEST:
            words = [child.content for child in inside.children or [] if child.type in {"text", "code_inline"}]
            name = slug("".join(words))
            repeated = sum(re.fullmatch(rf"{re.escape(name)}(-\d+)?", other) is not None for other in found)
            found.append(f"{name}-{repeated}" if repeated else name)
    return set(found)


def links(page: Path) -> Iterator[str]:
    """Yield where the links and pictures of a page lead, and the files it includes."""
    for token in tokens(page):
        for child in token.children or []:
            target = child.attrGet("href") or child.attrGet("src")
            if target:
                yield str(target)


def fault(page: Path, target: str) -> str | None:
    """Say what is wrong with a link of a page, if anything is."""
    parts = urlsplit(target)
    if parts.scheme:
        return None if target in OUTSIDE else "leads outside, to a place that is not on the list"
    if "_generated" in Path(parts.path).parts:
        return None  # drawn by the build: looked for among the built pages
    file = (page.parent / unquote(parts.path)).resolve() if parts.path else page
    if not file.is_relative_to(PROJECT.resolve()):
        return "leads out of the project"
    if not file.exists():
        return "leads to no file"
    if parts.fragment and parts.fragment not in anchors(file):
        return f"leads to no heading; there are {sorted(anchors(file))}"
    return None


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(PROJECT)))
def test_the_links_of_a_page_lead_somewhere(page: Path) -> None:
    faults = {target: fault(page, target) for target in links(page)}
    assert {target: wrong for target, wrong in faults.items() if wrong} == {}


def test_there_are_links_to_look_at() -> None:
    found = {page: list(links(page)) for page in PAGES}
    assert len(found[PROJECT / "README.md"]) > 20
    assert any("#" in target for targets in found.values() for target in targets)
    assert {target for targets in found.values() for target in targets if "://" in target} == OUTSIDE


def test_every_page_is_linked_in_the_readme_or_by_a_page() -> None:
    """A page that nothing links to is found by nobody who reads the files; the lessons are linked by ``class.md``."""
    linked = {(page.parent / urlsplit(target).path).resolve() for page in PAGES for target in links(page)}
    alone = [page.name for page in PAGES if page.resolve() not in linked and page.parent != PROJECT]
    assert alone == []


def test_a_dead_link_is_seen(tmp_path: Path) -> None:
    page = PROJECT / "docs" / "water.md"
    assert fault(page, "heat.md") is None
    assert fault(page, "#the-rule") is None
    assert fault(page, "heat.md#no-such-heading") is not None
    assert fault(page, "no-such-page.md") is not None
    assert fault(page, "https://example.org/") is not None
    assert fault(page, str(tmp_path)) is not None


def test_anchors_are_those_of_the_hosts(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text("# What's `that`?\n\n## Ice, and *water*\n\n## Ice and water\n\n#### Too deep\n", encoding="utf-8")
    assert anchors(page) == {"whats-that", "ice-and-water", "ice-and-water-1"}


# -- the built pages ---------------------------------------------------------------------------------------------------


class Built(HTMLParser):
    """What a built page can be linked by, and where it leads."""

    def __init__(self, page: Path) -> None:
        super().__init__()
        self.names: set[str] = set()
        self.targets: set[str] = set()
        self.feed(page.read_text(encoding="utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.names |= {value for key in ("id", "name") if (value := given.get(key))}
        keys = ("href", "src") if tag != "link" or given.get("rel") not in {"canonical", "preconnect"} else ()
        self.targets |= {value for key in keys if (value := given.get(key))}


def test_every_link_inside_the_built_pages_leads_somewhere() -> None:
    if not BUILT:
        pytest.skip("FORMULA_DOCS names no folder with built pages")
    folder = Path(BUILT).resolve()
    pages = {page: Built(page) for page in folder.glob("**/*.html")}
    assert len(pages) > len(PAGES) - 2, "the documentation is built from all pages"
    dead = []
    for page, built in pages.items():
        for target in built.targets:
            parts = urlsplit(target)
            if parts.scheme or parts.netloc:
                continue
            file = (page.parent / unquote(parts.path)).resolve() if parts.path else page
            is_there = file.exists() and file.is_relative_to(folder)
            if not is_there or (parts.fragment and file in pages and unquote(parts.fragment) not in pages[file].names):
                dead.append((page.name, target))
    assert sorted(dead) == []
