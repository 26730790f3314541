"""Dividing by hand: the spread of sums, against independent statistics and drawn pieces."""

import copy
import math
import pickle
import random
from typing import Any

import pytest
from scipy.stats import norm

from formula.byhand import dough_by_hand, kept_in_hand_g, last_short_share, pieces_at, pieces_by_hand
from formula.errors import QuantityError
from tests.arithmetic import check_working


@pytest.mark.parametrize(
    ("pieces", "mean", "sd"), [(1, 900.0, 10.0), (111, 900.0, 10.0), (2000, 58.0, 3.0), (7, 1250.0, 0.5)]
)
def test_kernels_against_scipy(pieces: int, mean: float, sd: float) -> None:
    total = norm(pieces * mean, sd * math.sqrt(pieces))
    dough = total.ppf(0.975)
    assert kept_in_hand_g(pieces, mean, sd, norm.ppf(0.975)) == pytest.approx(dough, rel=1e-12)
    assert last_short_share(dough, pieces, mean, sd) == pytest.approx(0.025, rel=1e-6)
    assert last_short_share(pieces * mean - sd, pieces, mean, sd) == pytest.approx(
        total.sf(pieces * mean - sd), rel=1e-9
    )
    assert pieces_at(dough, mean, sd, norm.ppf(0.975)) == pytest.approx(pieces, rel=1e-10)


def test_a_limit_is_so_many_standard_deviations() -> None:
    made = pieces_by_hand("100 kg", piece="900 g", limit="20 g", sigmas=2)
    assert made.sd_g == 10.0
    assert made == pieces_by_hand("100 kg", piece="900 g", sd="10 g")
    assert pieces_by_hand("100 kg", piece="900 g", limit="30 g", sigmas=3).sd_g == 10.0


def test_what_a_dough_yields() -> None:
    made = pieces_by_hand("100 kg", piece="900 g", sd="10 g")
    # 111 pieces take 99,900 g on average, with a spread of 10 sqrt(111) = 105.4 g: 100 g are 0.949 of it.
    assert (made.planned, made.fewest, made.most) == (111, 110, 111)
    assert made.short_share == pytest.approx(norm.sf(100 / (10 * math.sqrt(111))), rel=1e-9)
    for count, least in ((made.fewest, True), (made.fewest + 1, False)):
        assert (count * 900 + 1.959964 * 10 * math.sqrt(count) <= 100_000) is least


def test_pieces_that_run_heavy_eat_up_the_last_ones() -> None:
    made = pieces_by_hand("100 kg", piece="900 g", sd="10 g", mean="910 g")
    assert (made.planned, made.drift_g, made.given_away_g) == (111, 10.0, 1110.0)
    # 100,000 / 910 = 109.9.
    assert (made.fewest, made.most) == (109, 110)
    assert made.short_share > 0.999
    light = pieces_by_hand("100 kg", piece="900 g", sd="10 g", mean="890 g")
    assert light.drift_g == -10.0
    assert "runs-light" in [caution.code for caution in light.cautions]
    assert light.fewest == 112


def test_planned_pieces_may_be_said() -> None:
    made = pieces_by_hand("100 kg", piece="900 g", sd="10 g", pieces=110)
    assert made.short_share < 1e-12
    check_working(made.working(), float(made.fewest))


def test_drawn_pieces_agree() -> None:
    """Ten thousand doughs divided piece by piece, with another normal generator."""
    draw = random.Random(7)  # noqa: S311 - a simulation
    made = pieces_by_hand("20 kg", piece="400 g", sd="15 g", pieces=49)
    yields: list[int] = []
    for _ in range(10_000):
        left, count = 20_000.0, 0
        while (left := left - draw.gauss(400, 15)) >= 0:
            count += 1
        yields.append(count)
    short = sum(count < 49 for count in yields) / len(yields)
    assert short == pytest.approx(made.short_share, abs=4 * math.sqrt(short * (1 - short) / len(yields)) + 1e-3)
    assert sum(count >= made.fewest for count in yields) / len(yields) >= 0.97
    assert sum(count <= made.most for count in yields) / len(yields) >= 0.97
    dough = dough_by_hand(49, piece="400 g", sd="15 g").mass_g
    enough = sum(sum(draw.gauss(400, 15) for _ in range(49)) <= dough for _ in range(10_000)) / 10_000
    assert enough == pytest.approx(0.975, abs=0.0065)


def test_the_dough_to_keep_in_hand() -> None:
    made = dough_by_hand(100, piece="900 g", sd="10 g")
    assert made.mass_g == pytest.approx(90_000 + 1.959964 * 10 * 10, abs=1e-3)
    assert made.spare_g == pytest.approx(195.9964, abs=1e-3)
    heavy = dough_by_hand(100, piece="900 g", sd="10 g", mean="905 g", confidence="99 %")
    assert heavy.spare_g == pytest.approx(500 + norm.ppf(0.99) * 100, abs=1e-6)
    assert dough_by_hand(100, piece="900 g", sd="0 g").mass_g == 90_000.0


@pytest.mark.parametrize(
    "options", [{"sd": "10 g"}, {"sd": "10 g", "mean": "912.5 g"}, {"sd": "3 g", "pieces": 55}, {"sd": "300 g"}]
)
@pytest.mark.parametrize("dough", ["100 kg", "49876.5 g", "900 g", "90 kg"])
def test_working(dough: str, options: Any) -> None:  # noqa: ANN401
    made = pieces_by_hand(dough, piece="900 g", **options)
    check_working(made.working(), float(made.fewest))
    options.pop("pieces", None)
    kept = dough_by_hand(57, piece="900 g", **options)
    check_working(kept.working(), kept.mass_g)


@pytest.mark.parametrize("pieces", [1, 2, 3, 7, 100, 111, 12_345])
def test_dough_kept_in_hand_gives_just_so_many(pieces: int) -> None:
    kept = dough_by_hand(pieces, piece="900 g", sd="10 g")
    made = pieces_by_hand(f"{kept.mass_g!r} g", piece="900 g", sd="10 g")
    assert made.fewest == pieces
    check_working(made.working(), float(pieces))


def test_views_and_values() -> None:
    made = pieces_by_hand("100 kg", piece="900 g", sd="10 g", mean="905 g")
    views = (made.dough, made.piece, made.mean, made.sd, made.drift, made.given_away)
    assert [view.m_as("g") for view in views] == [100_000, 900, 905, 10, 5, 555]
    assert (made.confidence.m_as("percent"), made.short.m_as("percent")) == pytest.approx(
        (97.5, 100 * made.short_share)
    )
    kept = dough_by_hand(100, piece="900 g", sd="10 g")
    assert [view.m_as("g") for view in (kept.piece, kept.mean, kept.sd, kept.spare)] == pytest.approx(
        [900, 900, 10, kept.spare_g]
    )
    assert (kept.mass.m_as("g"), kept.confidence.m_as("percent")) == pytest.approx((kept.mass_g, 97.5))
    for result in (made, kept):
        assert pickle.loads(pickle.dumps(result)) == copy.deepcopy(result) == result  # noqa: S301 - our own bytes
        assert isinstance(hash(result), int)


def test_cautions() -> None:
    assert [caution.code for caution in dough_by_hand(9, piece="90 g", sd="30 g").cautions] == [
        "half-are-lighter",
        "wide-spread",
    ]


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({}, "spread: got neither a limit nor a standard deviation"),
        ({"limit": "20 g", "sigmas": 2, "sd": "10 g"}, "spread: got a limit and a standard deviation"),
        ({"limit": "20 g"}, "sigmas: got None, expected the number of standard deviations"),
        ({"limit": "20 g", "sigmas": 0}, "sigmas: got 0"),
        ({"limit": "20 g", "sigmas": True}, "sigmas: got True"),
        ({"limit": "20 g", "sigmas": math.inf}, "sigmas: got inf"),
        ({"limit": "0 g", "sigmas": 2}, "limit: got 0 g, expected a mass above zero"),
        ({"sd": "10 g", "sigmas": 2}, "sigmas: got 2, expected nothing beside sd="),
        ({"sd": "0 g"}, "sd: got no spread, expected a spread above zero"),
        ({"sd": "900 g"}, "sd: got 900 g, expected less than a piece, 900 g"),
        ({"sd": "10 g", "confidence": "50 %"}, "confidence: got 50 %, expected more than 50 % and less than 100 %"),
        ({"sd": "10 g", "confidence": "100 %"}, "confidence: got 100 %"),
        ({"sd": "10 g", "confidence": 0.975}, "confidence: got the bare number 0.975"),
        ({"sd": "10 g", "mean": "0 g"}, "mean: got 0 g"),
        ({"sd": "10 g", "pieces": 0}, "pieces: got 0, expected a whole number of 1 or more"),
        ({"sd": "10 g", "piece": "101 kg"}, "piece: got 101000 g, expected no more than the dough, 100000 g"),
        ({"sd": "10 g", "piece": "0 g"}, "piece: got 0 g"),
    ],
)
def test_refusals(options: Any, message: str) -> None:  # noqa: ANN401
    with pytest.raises(QuantityError) as caught:
        pieces_by_hand("100 kg", **{"piece": "900 g", **options})
    assert message in str(caught.value)
