"""The lessons run from clean, and say what is so: every sum of the text stands in a cell of its own, done by hand."""

import re
from pathlib import Path

import pytest

from tests.classroom import FOLDER, LESSONS, cells, page, run_as_notebook, run_plainly

IDS = [lesson.stem for lesson in LESSONS]


def text_of(lesson: Path) -> str:
    return lesson.read_text(encoding="utf-8")


def test_there_are_three_lessons() -> None:
    assert [name[0] for name in IDS] == ["1", "2", "3"]


@pytest.mark.parametrize("lesson", LESSONS, ids=IDS)
def test_a_lesson_runs_from_clean(lesson: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(FOLDER)
    assert run_plainly(text_of(lesson), lesson.name)


@pytest.mark.parametrize("lesson", LESSONS, ids=IDS)
def test_no_cell_is_overlooked(lesson: Path) -> None:
    text = text_of(lesson)
    found = list(cells(text))
    assert len(found) == text.count("```{code-cell}")
    assert text.count("```") == 2 * len(found), "a lesson has cells and no other block"


@pytest.mark.parametrize("lesson", LESSONS, ids=IDS)
def test_what_is_printed_is_checked(lesson: Path) -> None:
    """An answer is followed by its check, and a check holds something."""
    kinds = [(options, code) for options, code in cells(text_of(lesson))]
    for (options, _), (after, _) in zip(kinds, [*kinds[1:], ("", "")], strict=True):
        if "answer" in options:
            assert "check" in after
    for options, code in kinds:
        if "check" in options:
            assert "assert " in code
        else:
            assert "assert " not in code


@pytest.mark.parametrize("lesson", LESSONS, ids=IDS)
def test_every_question_has_its_answer(lesson: Path) -> None:
    questions, _, answers = text_of(lesson).partition("\n## Answers\n")
    asked = re.findall(r"^\*\*Question (\d+)\.\*\*", questions, re.MULTILINE)
    assert asked == [str(number) for number in range(1, len(asked) + 1)]
    assert len(asked) >= 4
    assert re.findall(r"^\*\*(\d+)\.\*\*", answers, re.MULTILINE) == asked
    assert sum("answer" in options for options, _ in cells(answers)) == len(asked)


def test_a_wrong_sum_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(FOLDER)
    text = text_of(LESSONS[0])
    wrong = text.replace("== [8160, 240, 144]", "== [8160, 240, 145]")
    assert wrong != text
    with pytest.raises(AssertionError):
        run_plainly(wrong, "wrong")


@pytest.mark.filterwarnings("ignore")  # what the kernel's packages warn of among themselves is theirs
@pytest.mark.parametrize("lesson", LESSONS, ids=IDS)
def test_a_kernel_runs_it_too(lesson: Path, tmp_path: Path) -> None:
    for package in ("jupytext", "nbclient", "ipykernel"):
        pytest.importorskip(package, reason="the extra `class` is not installed")
    notebook = run_as_notebook(lesson)
    ran = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert len(ran) == len(list(cells(text_of(lesson))))
    assert not [output for cell in ran for output in cell.outputs if output.output_type == "error"]
    shown = page(notebook, tmp_path)
    assert "assert " not in shown
    assert (
        shown.count("<details>") == shown.count("</details>") == sum("answer" in o for o, _ in cells(text_of(lesson)))
    )
    for _, picture in re.findall(r"!\[([^\]]+)\]\(([^)]+)\)", shown):
        assert (FOLDER / picture).resolve().read_text(encoding="utf-8").startswith("<?xml")
