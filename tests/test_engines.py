"""Two engines that answer one question part no further than is said, and the page of trust says it."""

from pathlib import Path

import pytest

from tests import trust
from tests.engines import ELSEWHERE, PAIRS, Pair, listed

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: f"{pair.question}: {pair.other}")
def test_the_band_holds_on_the_grid(pair: Pair) -> None:
    apart = list(pair.apart())
    assert len(apart) > 10
    assert all(each <= pair.band for each in apart)
    if pair.models:
        # A band far wider than the grid needs would say nothing.
        assert max(apart) > pair.band / 1.2


@pytest.mark.parametrize("row", ELSEWHERE, ids=lambda row: row[0])
def test_the_others_have_tests_of_their_own(row: tuple[str, ...]) -> None:
    *_, file, word = row
    assert word in (ROOT / file).read_text(encoding="utf-8")


def test_the_page_lists_them_all() -> None:
    table = trust.engines()
    assert table.count("\n") == len(listed()) + 2 == len(PAIRS) + len(ELSEWHERE) + 2
    for row in listed():
        assert "| " + " | ".join(row) + " |" in table
