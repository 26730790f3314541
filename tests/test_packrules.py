"""Rules of net weight: their tables, to the last row, against exact fractions, and what they say of themselves."""

import math
import re
from fractions import Fraction

import pytest

from formula.errors import QuantityError, UnknownNameError
from formula.packrules import scale_interval, weight_rule, weight_rules
from formula.quantity import MASS, read
from formula.sources import source
from tests.arithmetic import check_working

# The European table as it is printed: from, to (g), percent or grams.
EUROPE = [
    (5, 50, "9 %"), (50, 100, "4.5 g"), (100, 200, "4.5 %"), (200, 300, "9 g"), (300, 500, "3 %"), (500, 1000, "15 g"),
    (1000, 10000, "1.5 %"),
]  # fmt: skip
CANADA = [
    (0, 60, "10 %"), (60, 600, "6 g"), (600, 1000, "1 %"), (1000, 1500, "10 g"), (1500, 3000, "0.66 %"), (3000, 4000, "20 g"),
    (4000, 10000, "0.5 %"),
]  # fmt: skip


def printed(table: list[tuple[int, int, str]], nominal: Fraction) -> Fraction:
    """Return the tolerance of a printed table, exactly and not rounded."""
    amount = next(amount for _, to, amount in table if nominal <= to)
    number = Fraction(amount.split()[0])
    return nominal * number / 100 if amount.endswith("%") else number


@pytest.mark.parametrize("name", ["eu", "uk", "de", "oiml"])
def test_every_tenth_of_a_gram_of_the_european_table(name: str) -> None:
    """Percentages are rounded up to 0.1 g, exactly where binary fractions would go a step too far."""
    rule = weight_rule(name)
    for tenths in range(50, 100_001, 7):
        nominal = Fraction(tenths, 10)
        expected = Fraction(math.ceil(printed(EUROPE, nominal) * 10), 10)
        assert rule.tolerance_g(tenths / 10) == float(expected), tenths


@pytest.mark.parametrize(
    ("nominal_g", "tolerance_g"),
    [
        (5.0, 0.5), (7.5, 0.7), (10.0, 0.9), (50.0, 4.5), (51.0, 4.5), (110.0, 5.0), (200.0, 9.0), (250.0, 9.0), (300.0, 9.0),
        (310.0, 9.3), (400.0, 12.0), (430.0, 12.9), (433.0, 13.0), (500.0, 15.0), (800.0, 15.0), (1000.0, 15.0),
        (1250.0, 18.8), (10000.0, 150.0),
    ],
)  # fmt: skip
def test_tolerances_by_hand(nominal_g: float, tolerance_g: float) -> None:
    assert weight_rule("eu").tolerance_g(nominal_g) == tolerance_g


def test_heavy_pieces_from_memory() -> None:
    rule = weight_rule("uk")
    assert [rule.tolerance_g(grams) for grams in (12_000.0, 15_000.0, 15_010.0, 20_000.0)] == [150, 150, 150.1, 200]
    assert [caution.code for caution in rule.cautions(12_000.0)] == ["verify-before-legal-use", "from-memory"]
    assert [caution.code for caution in rule.cautions(400.0)] == ["verify-before-legal-use"]
    assert not weight_rule("eu").covers(12_000.0)


def test_the_table_of_canada_and_its_drop() -> None:
    rule = weight_rule("ca")
    for grams in range(1, 10_001, 3):
        assert rule.tolerance_g(float(grams)) == pytest.approx(float(printed(CANADA, Fraction(grams))), rel=1e-12)
    # As it is printed: 0.66 % of 1.5 kg is less than the 10 g below it, and of 3 kg less than the 20 g above it.
    assert rule.tolerance_g(1500.0) == 10
    assert rule.tolerance_g(1500.1) == pytest.approx(9.90066)
    assert rule.tolerance_g(3000.0) == pytest.approx(19.8)


# The two columns of the table as recalled: label to (lb), variation (lb), variation (g).
HANDBOOK = """
0.12 0.008 3.6 | 0.18 0.012 5.4 | 0.26 0.016 7.3 | 0.34 0.020 9.1 | 0.46 0.024 10.9 | 0.58 0.028 12.7 | 0.70 0.032 14.5
0.84 0.036 16.3 | 0.94 0.040 18.1 | 1.08 0.044 20.0 | 1.26 0.048 21.8 | 1.40 0.052 23.6 | 1.54 0.056 25.4 | 1.70 0.060 27.2
1.88 0.064 29.0 | 2.14 0.070 31.8 | 2.48 0.078 35.4 | 2.76 0.086 39.0 | 3.20 0.094 42.6 | 3.90 0.11 49.9 | 4.70 0.12 54.4
"""


def test_the_two_columns_of_the_handbook_agree() -> None:
    rule = weight_rule("us")
    recalled = [row.split() for row in re.split(r"[|\n]", HANDBOOK.strip())]
    assert len(rule.rows) == len(recalled) + 1
    for row, (to_lb, pounds, grams) in zip(rule.rows[1:], recalled, strict=True):
        assert row.to_g == read(MASS, f"{to_lb} lb", "to")
        assert row.mass_g == read(MASS, f"{pounds} lb", "tolerance")
        assert row.in_grams_g == float(grams)
        # The column in grams is rounded to a tenth.
        assert float(pounds) * 453.59237 == pytest.approx(float(grams), abs=0.05 + 1e-9)
        assert rule.tolerance_g(read(MASS, f"{to_lb} lb", "label")) == row.mass_g
    # A label of less than 0.08 lb: a tenth of it.
    assert rule.tolerance_g(30.0) == pytest.approx(3.0)


def test_what_each_rule_asks() -> None:
    asked = {rule.name: (rule.beyond_share, rule.outer, rule.outer_name) for rule in weight_rules()}
    assert asked == {
        "eu": (0.025, 2, "2T"),
        "uk": (0.025, 2, "2T"),
        "de": (0.02, 2, "2T"),
        "oiml": (0.025, 2, "2T"),
        "ca": (0.025, 2, "2T"),
        "us": (None, 1, "MAV"),
    }


def test_the_german_outer_limit_is_twice_the_tolerance() -> None:
    """The market limits as they are printed: 18 %, 9 g, 9 %, 18 g, 6 %, 30 g, 3 %."""
    limits = ["18 %", "9 g", "9 %", "18 g", "6 %", "30 g", "3 %"]
    rule = weight_rule("de")
    for row, limit in zip(rule.rows, limits, strict=True):
        assert rule.outer * (row.percent or row.mass_g or 0) == float(limit.split()[0])


def test_every_row_has_its_source_and_says_when_it_is_recalled() -> None:
    for rule in weight_rules():
        for name in (*rule.sources, *(row.source for row in rule.rows), *(plan.source for plan in rule.plans)):
            assert source(name).known_by
        for row in rule.rows:
            codes = [caution.code for caution in rule.cautions(min(row.to_g, 20_000.0))]
            recalled = "memory" in {source(row.source).known_by, source(rule.sources[0]).known_by}
            assert codes == ["verify-before-legal-use", *(["from-memory"] if recalled else [])]


def test_an_unknown_rule_is_told_the_known_ones() -> None:
    with pytest.raises(UnknownNameError) as caught:
        weight_rule("fr")
    for rule in weight_rules():
        assert f'"{rule.name}" ({rule.place})' in str(caught.value)


def test_scale_interval() -> None:
    found = scale_interval("400 g")
    check_working(found.working(), 1.0)
    assert (found.interval.m_as("g"), found.nominal.m_as("kg")) == pytest.approx((1.0, 0.4))
    for outside in ("174.9 g", "5 kg"):
        with pytest.raises(QuantityError, match="175 g to below 5 kg, the rows that were read"):
            scale_interval(outside)
    with pytest.raises(QuantityError, match="nominal"):
        scale_interval("400")
