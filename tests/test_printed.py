"""Printed formulas that contradict themselves are reported with the arithmetic, and those that do not are left alone."""

import pytest

from formula.errors import ContradictionError, FormulaError
from formula.printed import Printed, check_printed
from tests.rows import rows


def pairs(text: str) -> dict[str, str]:
    return dict(part.split("=", 1) for part in text.split("; ")) if text else {}


@pytest.mark.parametrize("row", rows("slips"))
def test_a_printed_slip_is_named(row: dict[str, str]) -> None:
    printed = Printed(
        row["where"],
        pairs(row["percents"]),
        weights=pairs(row["weights"]) or None,
        total_percent=row["total_percent"] or None,
        total=row["total"] or None,
    )
    found = check_printed(printed)
    assert not found.agrees
    for slip in row["found"].split("; "):
        line, _, figure = slip.rpartition(": ")
        assert any(line in fault.where and figure in str(fault) for fault in found.contradictions), slip
    with pytest.raises(ContradictionError) as raised:
        found.or_raise()
    assert raised.value.faults == found.contradictions


CLEAN = {
    "where": "poolish",
    "percents": {"bread flour": 100, "water": 100, "fresh yeast": 0.2},
    "weights": {"bread flour": "3.300 kg", "water": "3.300 kg", "fresh yeast": "0.007 kg"},
    "total_percent": 200.2,
    "total": "6.607 kg",
}


def test_a_weight_without_a_percentage_counts_in_the_total_alone() -> None:
    # 100 g of flour, 60 g of water and 2 g of salt are 162 g; what the salt is on the flour is not printed.
    weights = {"salt": "2 g", "bread flour": "100 g", "water": "60 g"}
    assert check_printed(Printed("dough", {"bread flour": 100, "water": 60}, weights=weights, total="162 g")).agrees
    found = check_printed(Printed("dough", {"bread flour": 100, "water": 70}, weights=weights, total="165 g"))
    assert [fault.where for fault in found.contradictions] == ["dough: water", "dough"]


def test_the_mended_poolish_agrees() -> None:
    # The same list as formulas/B01 with its two slips mended as its source's note says.
    printed = Printed(**CLEAN)  # type: ignore[arg-type]
    found = check_printed(printed)
    assert found.agrees, str(found)
    assert str(found) == "all printed numbers agree"
    found.or_raise()


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"weights": {**CLEAN["weights"], "water": "3.400 kg"}}, "poolish: water"),  # type: ignore[dict-item]
        ({"percents": {**CLEAN["percents"], "water": 101}}, "poolish: water"),  # type: ignore[dict-item]
        ({"total": "6.650 kg"}, "poolish"),
        ({"total_percent": 201.2}, "poolish"),
    ],
)
def test_one_wrong_figure_is_found(change: dict[str, object], where: str) -> None:
    found = check_printed(Printed(**{**CLEAN, **change}))  # type: ignore[arg-type]
    assert where in {fault.where for fault in found.contradictions}


def test_columns_in_two_systems_are_independent_roundings() -> None:
    # formulas/A12: 1 lb 8 oz is printed beside 700 g, which is no conversion (680 g) and no slip.
    agreeing = Printed(
        "cake",
        {"cake flour": 100, "sugar": 125},
        weights={"cake flour": "1 lb 8 oz", "sugar": "1 lb 14 oz"},
        other_weights={"cake flour": "700 g", "sugar": "875 g"},
    )
    assert check_printed(agreeing).agrees
    wrong = Printed("cake", {"cake flour": 100, "sugar": 125}, other_weights={"cake flour": "700 g", "sugar": "785 g"})
    assert [fault.where for fault in check_printed(wrong).contradictions] == ["cake: sugar"]


def test_a_total_rounded_down_to_a_whole_number_is_no_slip() -> None:
    # formulas/A12 prints 452 for 452.5.
    lines: dict[str, float | str] = {
        "cake flour": 100,
        "sugar": 125,
        "shortening": 50,
        "egg white": "67.5",
        "milk": 110,
    }
    assert check_printed(Printed("cake", lines, total_percent=452)).agrees


def test_all_lists_are_told_of_at_once() -> None:
    one = Printed("one", {"bread flour": 100, "water": "60.0"}, total_percent="170.0")
    other = Printed("other", {"bread flour": 100, "water": "60.0"}, total_percent="150.0")
    assert [fault.where for fault in check_printed(one, other).contradictions] == ["one", "other"]


def test_digits_decide() -> None:
    lines = {"bread flour": "3.0 kg", "water": "2.0 kg"}
    assert check_printed(Printed("x", {"bread flour": 100, "water": 67}, weights=lines)).agrees
    assert not check_printed(Printed("x", {"bread flour": "100.0", "water": "60.0"}, weights=lines)).agrees


@pytest.mark.parametrize(
    "wrong",
    [
        {"percents": {"water": "6,7"}},
        {"percents": {"water": True}},
        {"percents": {"water": -3}},
        {"percents": {"water": float("nan")}},
        {"weights": {"water": "3"}},
        {},
    ],
)
def test_what_cannot_be_read_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(FormulaError, match="list"):
        Printed("list", **wrong)  # type: ignore[arg-type]


def test_a_list_of_weights_needs_a_base() -> None:
    with pytest.raises(FormulaError, match="name it with base="):
        check_printed(Printed("syrup", {"water": 100}, weights={"water": "1 kg"}))
    assert check_printed(Printed("syrup", {"water": 100}, weights={"water": "1 kg"}, base=["water"])).agrees
