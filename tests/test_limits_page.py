"""The limits that the page on files promises are those that are held."""

import re
from pathlib import Path

import pytest

from formula import day, daylog, files, folder, intake, lossfit, samples, trials

PAGE = Path(__file__).parents[1] / "docs" / "formula-file.md"
ROWS = re.findall(
    r"^\| ([\d,]+(?: MB)?(?:, [\d,]+)*) \| (.*?) \| .*\|$", PAGE.read_text(encoding="utf-8"), re.MULTILINE
)
HELD = {
    # What the row is of, and the limits that are held, in its order.
    "a file; a log of a day": [intake.LARGEST_FILE / 1_000_000],
    "values, list items and headings of a file": [intake.MOST_VALUES],
    "the same of `orders.toml`": [folder.MOST_ORDERED],
    "tables in each other": [intake.DEEPEST],
    "characters of a name or a text": [intake.LONGEST_TEXT],
    "digits of a whole number": [len(str(intake.LARGEST_WHOLE)) - 1],
    "lines of a bread, all its lists together; ingredients of its own": [files.MOST_LINES],
    "stages of a bread": [files.MOST_STAGES],
    "trials, weighings of a loss, weighings of a sample in a CSV file": [
        trials.MOST_TRIALS, lossfit.MOST_WEIGHINGS, samples.MOST_WEIGHINGS,
    ],
    "lines of a log": [daylog.MOST_LINES],
    "mixes of one dough in a day": [day.MOST_MIXES],
}  # fmt: skip


def test_every_row_is_held() -> None:
    assert [what for _, what in ROWS] == [*HELD]


@pytest.mark.parametrize(("told", "what"), ROWS, ids=[what for _, what in ROWS])
def test_a_limit_is_the_one_that_is_told(told: str, what: str) -> None:
    numbers = [float(each.replace(",", "")) for each in re.findall(r"[\d,]*\d", told.replace(", ", " "))]
    assert numbers == HELD[what]


def test_two_of_them_are_held_twice() -> None:
    assert daylog.LARGEST_LOG == intake.LARGEST_FILE
    assert files.MOST_OWN == files.MOST_LINES
    assert 10 ** (len(str(intake.LARGEST_WHOLE)) - 1) == intake.LARGEST_WHOLE
