"""Every page of the documentation has one place in the index, and README.md leads to it."""

import re
import tomllib
from collections import Counter
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[1]
DOCS = PROJECT / "docs"
PAGES = sorted(path.stem for path in DOCS.glob("*.md") if path.stem != "index")
INDEX = (DOCS / "index.md").read_text(encoding="utf-8")
README = (PROJECT / "README.md").read_text(encoding="utf-8")
STAR = "*"
"""Stands for every page that no list of the index names: the build puts them in its place."""


def named(index: str) -> Counter[str]:
    """Return the entries of all lists of the index, with how often each is named."""
    lists = re.findall(r"^```\{toctree\}\n(.*?)^```$", index, re.MULTILINE | re.DOTALL)
    lines = [line for each in lists for line in each.splitlines()]
    return Counter(line for line in lines if line and not line.startswith(":"))


def test_every_entry_of_the_index_is_a_page_and_named_once() -> None:
    entries = named(INDEX)
    assert set(entries) - set(PAGES) == {STAR}
    assert set(entries.values()) == {1}


def test_the_index_has_its_four_parts() -> None:
    captions = re.findall(r"^:caption: (.*)$", INDEX, re.MULTILINE)
    assert captions == ["Start here", "How to", "Explanation", "Reference"]


@pytest.mark.parametrize("page", PAGES)
def test_readme_leads_to_a_page(page: str) -> None:
    assert f"](docs/{page}.md)" in README, f"link docs/{page}.md in README.md, under More"


def test_no_two_pages_have_one_title() -> None:
    titles = Counter((DOCS / f"{page}.md").read_text(encoding="utf-8").partition("\n")[0] for page in PAGES)
    assert [title for title, count in titles.items() if count > 1] == []


def test_a_page_named_twice_is_seen() -> None:
    assert named("```{toctree}\n:glob:\n\nwater\n```\n\n```{toctree}\nwater\n*\n```\n") == {"water": 2, "*": 1}


@pytest.mark.parametrize(
    ("page", "file"),
    [
        ("tutorial", "tutorial/breads/pier-loaf.toml"),
        ("tutorial", "tutorial/orders.toml"),
        ("howto-baker", "notes/old-note.toml"),
    ],
)
def test_a_file_that_a_page_shows_is_the_one_that_its_commands_read(page: str, file: str) -> None:
    shown = re.findall(
        r"^```toml\n(.*?)^```$", (DOCS / f"{page}.md").read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL
    )
    meant = tomllib.loads((DOCS / "examples" / file).read_text(encoding="utf-8"))
    assert meant in [tomllib.loads(block) for block in shown]
