"""Every example runs: the doctests of the rooms, and the code blocks of README.md and docs/."""

import doctest
import importlib
import io
import json
import re
import shlex
import tomllib
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pytest
from sybil import Document, Example, Region
from sybil.parsers.myst import CodeBlockParser, PythonCodeBlockParser
from sybil.typing import Parser

from formula import cli
from tests.classroom import LESSONS
from tests.conftest import HOUSE
from tests.readme_commands import commands

PROJECT = Path(__file__).parents[1]
PAGES = sorted([*PROJECT.glob("*.md"), *(PROJECT / "docs").glob("**/*.md")])
FACES = {"cli", "__main__"}
ROOMS = sorted(path.stem for path in HOUSE.glob("*.py") if path.stem not in FACES | {"__init__"})
OPTIONS = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
SHOWN_ONLY = {
    "bash",
    "text",
    "{eval-rst}",
    "{toctree}",
    "{note}",
    "{warning}",
    "{include}",
    "{glossary}",
    "{code-cell}",
}
"""Blocks that do not run here: the README's two commands are run by the whole check, the cells of a lesson by
``test_class``, the rest is no code."""


def printed_by(arguments: list[str]) -> str:
    """Run the command line here, as a process of its own would on a plain screen 120 letters wide."""
    out, errors = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(errors):
        cli.run(arguments)
    return out.getvalue() + errors.getvalue()


def run_console(example: Example) -> str | None:
    """Run ``$ formula ...`` lines and compare what they print with what the page shows."""
    for part in re.split(r"^(?=\$ )", example.parsed, flags=re.MULTILINE):
        command, _, shown = part.partition("\n")
        if not command:
            continue
        words = shlex.split(command.removeprefix("$ "))
        if words[:1] != ["formula"]:
            return f"a console block may only call formula: {command}"
        printed = printed_by(words[1:])
        if not doctest.OutputChecker().check_output(shown, printed, OPTIONS):
            return f"{command}\nshows:\n{shown}\nbut prints:\n{printed}"
    return None


def parse_toml(example: Example) -> None:
    tomllib.loads(example.parsed)


def parse_json(example: Example) -> None:
    json.loads(example.parsed)


PARSERS: list[Parser] = [
    PythonCodeBlockParser(doctest_optionflags=OPTIONS),
    CodeBlockParser("console", run_console),
    CodeBlockParser("toml", parse_toml),
    CodeBlockParser("json", parse_json),
]
RUN = {"python", "console", "toml", "json"}


def blocks(page: Path) -> Iterator[str]:
    for fence in re.finditer(
        r"^ *```+ *(\S*)[^\n]*\n.*?^ *```+$", page.read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL
    ):
        yield fence.group(1)


@pytest.mark.parametrize(
    "page", [page for page in PAGES if page not in LESSONS], ids=lambda page: str(page.relative_to(PROJECT))
)
def test_the_code_blocks_of_a_page_run(page: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(PROJECT)
    monkeypatch.setenv("COLUMNS", "120")
    monkeypatch.setenv("NO_COLOR", "1")
    for example in Document.parse(str(page), *PARSERS):
        example.evaluate()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(PROJECT)))
def test_every_block_has_a_language_that_is_run_or_is_no_code(page: Path) -> None:
    assert set(blocks(page)) <= RUN | SHOWN_ONLY


def test_the_readme_has_its_two_commands() -> None:
    first, second = commands((PROJECT / "README.md").read_text(encoding="utf-8"))
    assert first.endswith("formula day docs/examples/harbour")
    assert second.endswith("-m pytest")


def docstrings() -> list[doctest.DocTest]:
    finder = doctest.DocTestFinder(exclude_empty=True)
    found = []
    for room in ROOMS:
        module = importlib.import_module(f"formula.{room}")
        found += [test for test in finder.find(module, module.__name__) if test.examples]
    return found


@pytest.mark.parametrize("example", docstrings(), ids=lambda example: example.name)
def test_the_example_of_a_docstring_runs(example: doctest.DocTest, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(PROJECT)
    report: list[str] = []
    result = doctest.DocTestRunner(optionflags=OPTIONS).run(example, out=report.append)
    assert not result.failed, "".join(report)


def test_a_wrong_example_fails() -> None:
    """The net has no hole: a wrong result in any kind of block is caught."""
    for language, source in (
        ("python", ">>> 1 + 1\n3\n"),
        ("python", "assert 1 + 1 == 3\n"),
        ("toml", "a = \n"),
        ("json", "{'a': 1}\n"),
        ("console", "$ other --version\n1\n"),
    ):
        document = Document(f"```{language}\n{source}```\n", "page.md")
        for parser in PARSERS:
            for region in parser(document):
                assert isinstance(region, Region)
                document.add(region)
        (example,) = document
        with pytest.raises(Exception):  # noqa: B017, PT011 - whatever it is, it must not pass
            example.evaluate()
