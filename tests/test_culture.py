"""When a levain is ripe, how much seed it takes, the bakery's own log, and every refusal with the nearest that works."""

import copy
import math
import pickle
import re
from typing import Any

import pytest

from formula.culture import LevainSeed, LevainTime, levain_seed, levain_time
from formula.errors import FormulaError, QuantityError
from formula.levainlog import LevainRecord, calibrated
from formula.souring import BACTERIA, YEAST
from tests.arithmetic import check_working

SEED: dict[str, Any] = {"total": "1 kg", "time": "10 h", "temperature": "24 °C"}
TIME: dict[str, Any] = {"seed": "50 g", "total": "1 kg", "temperature": "24 °C"}


def mu(temperature_c: float, curve: Any = YEAST) -> float:  # noqa: ANN401
    """The growth rate by arithmetic of our own."""
    x = curve.highest.value - temperature_c
    return float(curve.a.value * math.exp(curve.b.value * math.log(x) - curve.c.value * x))


def record(seed: float, temperature_c: float, time_h: float, ripe: str = "peak") -> LevainRecord:
    return LevainRecord(
        seed=f"{seed} g", total="1 kg", temperature=f"{temperature_c} °C", time=f"{time_h} h", ripe=ripe
    )


# -- the answers -------------------------------------------------------------------------------------------------------


def test_time_by_hand() -> None:
    made = levain_time(seed="16 g", total="360 g", temperature="21 °C", ripe="peak")
    assert made.share_percent == pytest.approx(100 * 16 / 360)
    assert made.time_h == pytest.approx(math.log(360 / 16) / (0.83 * mu(21.0)))
    assert (made.low_h / made.time_h, made.high_h / made.time_h) == pytest.approx((0.6, 1.4))
    sour = levain_time(seed="16 g", total="360 g", temperature="21 °C", ripe="sour")
    assert sour.time_h == pytest.approx(math.log(360 / 16) / (0.43 * mu(21.0, BACTERIA)))


def test_a_starter_on_flour_is_converted_and_shown() -> None:
    made = levain_time(starter="10 %", hydration="110 %", temperature="29 °C", ripe="sour")
    assert made.share_percent == pytest.approx(100 * 10 / 220)
    assert made.starter_percent == 10.0
    assert made.hydration_percent == pytest.approx(110.0)
    assert made.seed_g is None
    weighed = levain_time(starter="10 %", hydration="110 %", total="440 g", temperature="29 °C", ripe="sour")
    assert weighed.seed_g == pytest.approx(20.0)
    assert weighed.time_h == made.time_h
    assert "100 * 10 / (100 + 110 + 0 + 10)" in str(made.working())


def test_seed_by_hand() -> None:
    made = levain_seed(**SEED, hydration="80 %")
    share = math.exp(-0.83 * mu(24.0) * 10)
    assert made.seed_g == pytest.approx(1000 * share)
    assert made.flour_g == pytest.approx(1000 * (1 - share) / 1.8)
    assert made.water_g == pytest.approx(800 * (1 - share) / 1.8)
    assert made.flour_g is not None
    assert made.starter_percent == pytest.approx(100 * made.seed_g / made.flour_g)
    plain = levain_seed(**SEED)
    assert (plain.starter_percent, plain.flour_g, plain.water_g) == (None, None, None)
    assert (plain.starter, plain.flour, plain.water, plain.hydration) == (None, None, None, None)


def test_the_band_of_the_seed_is_that_of_the_time() -> None:
    """With the low seed, a levain as fast as the band allows is ripe in time; with the high seed one as slow."""
    made = levain_seed(**SEED)
    low = levain_time(seed=f"{made.low_g:.9f} g", total="1 kg", temperature="24 °C")
    high = levain_time(seed=f"{made.high_g:.9f} g", total="1 kg", temperature="24 °C")
    assert low.low_h == pytest.approx(10, rel=1e-9)
    assert high.high_h == pytest.approx(10, rel=1e-9)


def test_your_own_constant() -> None:
    own = levain_time(**TIME, phi=1.66)
    assert own.time_h == pytest.approx(levain_time(**TIME).time_h / 2)
    assert own.phi_from == "given"
    assert "given" in str(own.working())


def test_what_it_prints() -> None:
    assert str(levain_time(**TIME)) == "ripe (peak) after 9.9 h, 5.94 to 13.9 h, if the levain stays at 24 °C"
    said = str(levain_seed(**SEED))
    assert said.endswith("if the levain stays at 24 °C")
    assert "% of the levain" in said


@pytest.mark.parametrize(
    "made",
    [
        levain_time(**TIME),
        levain_time(starter="20 %", hydration="60 %", temperature="30 °C", ripe="sour", salt="1.5 %", phi=0.5),
    ],
    ids=["weighed", "on flour"],
)
def test_working_of_the_time(made: LevainTime) -> None:
    check_working(made.working(), made.time_h)


@pytest.mark.parametrize(
    "made",
    [levain_seed(**SEED), levain_seed(**SEED, hydration="100 %", ripe="sour", salt="2 %")],
    ids=["plain", "with flour"],
)
def test_working_of_the_seed(made: LevainSeed) -> None:
    check_working(made.working(), made.seed_g)


def test_views_and_values() -> None:
    made = levain_time(starter="10 %", hydration="110 %", total="440 g", temperature="84.2 °F", ripe="sour", salt="1 %")
    assert made.time.m_as("minute") == pytest.approx(60 * made.time_h)
    assert (made.low.m_as("h"), made.high.m_as("h")) == (made.low_h, made.high_h)
    assert made.temperature.m_as("degF") == pytest.approx(84.2)
    assert made.share.m_as("percent") == pytest.approx(made.share_percent)
    assert made.salt.m_as("percent") == pytest.approx(1)
    assert made.starter is not None
    assert made.starter.m_as("percent") == pytest.approx(10)
    assert made.hydration is not None
    assert made.hydration.m_as("percent") == pytest.approx(110)
    assert made.seed is not None
    assert made.seed.m_as("g") == pytest.approx(made.seed_g)
    assert made.total is not None
    assert made.total.m_as("kg") == pytest.approx(0.44)
    same = levain_time(starter="10 %", hydration="110 %", total="0.44 kg", temperature="29 °C", ripe="sour", salt="1 %")
    assert (same, hash(same)) == (made, hash(made))
    assert pickle.loads(pickle.dumps(made)) == copy.deepcopy(made) == made  # noqa: S301 - our own bytes
    bare = levain_time(starter="10 %", hydration="110 %", temperature="29 °C")
    assert (bare.seed, bare.total) == (None, None)
    weighed = levain_time(**TIME)
    assert (weighed.starter, weighed.hydration) == (None, None)
    seed = levain_seed(**SEED, hydration="100 %")
    grams = [view.m_as("g") for view in (seed.total, seed.seed, seed.low, seed.high)]
    assert grams == [1000.0, seed.seed_g, seed.low_g, seed.high_g]
    assert seed.flour is not None
    assert seed.water is not None
    assert (seed.flour.m_as("g"), seed.water.m_as("g")) == (seed.flour_g, seed.water_g)
    assert seed.starter is not None
    assert seed.hydration is not None
    assert seed.starter.m_as("percent") == pytest.approx(seed.starter_percent)
    assert seed.hydration.m_as("percent") == pytest.approx(100)
    assert seed.time.m_as("h") == 10.0
    assert seed.share.m_as("percent") == pytest.approx(seed.share_percent)
    assert pickle.loads(pickle.dumps(seed)) == seed  # noqa: S301 - our own bytes


# -- cautions ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changed", "codes"),
    [
        ({}, []),
        ({"temperature": "20 °C"}, []),
        ({"temperature": "19.9 °C"}, ["cold-levain"]),
        ({"temperature": "30 °C"}, []),
        ({"temperature": "30.1 °C"}, ["hot-levain"]),
        ({"temperature": "33 °C"}, ["hot-levain"]),
        ({"temperature": "32 °C", "ripe": "sour"}, []),
        ({"temperature": "34 °C", "ripe": "sour"}, ["hot-levain"]),
        ({"seed": "400 g"}, []),
        ({"seed": "401 g"}, ["unusual-seed"]),
        ({"seed": "5 g"}, []),
        ({"seed": "4.9 g"}, ["unusual-seed"]),
        ({"seed": "199 g", "ripe": "sour"}, []),
        ({"seed": "200 g", "ripe": "sour"}, ["rich-sour"]),
        ({"salt": "1 %"}, []),
        ({"salt": "1.1 %"}, ["salted-levain"]),
        ({"salt": "3.9 %", "ripe": "sour"}, ["salted-levain"]),
        ({"salt": "5 %"}, ["salted-levain"]),
    ],
)
def test_cautions(changed: dict[str, str], codes: list[str]) -> None:
    found = levain_time(**{**TIME, **changed}).cautions
    assert [caution.code for caution in found] == codes
    assert all(caution.text.endswith(".") for caution in found)


# -- refusals ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"seed": "0 g"}, "seed: got 0 g, expected more than nothing; a levain without ripe seed never gets ripe; the nearest is 5 g"),
        ({"seed": "1 kg"}, "seed: got 1000 g, expected less than the total, 1000 g"),
        ({"total": "0 g"}, "total: got 0 g"),
        ({"total": None}, "total: got nothing"),
        ({"seed": None}, "seed: got nothing, expected seed= with total=, or starter= with hydration="),
        ({"starter": "5 %"}, "seed: got seed and starter together"),
        ({"seed": None, "starter": "5 %"}, 'so say the water too, such as hydration="100 %"'),
        ({"seed": None, "starter": "0 %", "hydration": "60 %"}, "starter: got 0 %"),
        ({"temperature": "33.1 °C"}, 'the nearest is 33 °C, or ask for ripe="sour"'),
        ({"temperature": "40 °C"}, "the nearest is 33 °C"),
        ({"temperature": "34.1 °C", "ripe": "sour"}, "expected 2 °C to 34 °C for 'sour'"),
        ({"temperature": "1.9 °C"}, "the nearest is 2 °C"),
        ({"ripe": "doubled"}, 'expected "peak" (the top of the rise) or "sour" (fully soured)'),
        ({"ripe": ["peak"]}, "ripe: got ['peak']"),
        ({"ripe": "sour", "salt": "4 %"}, "expected less than 4 % of the flour, which stops the bacteria"),
        ({"phi": 0}, "phi: got 0, expected a number above 0 and at most 20"),
        ({"phi": float("nan")}, "phi: got nan"),
        ({"phi": True}, "phi: got True"),
        ({"phi": "0.8"}, "phi: got '0.8'"),
        ({"temperature": 24}, "the bare number 24"),
    ],
)  # fmt: skip
def test_bad_input(changed: dict[str, Any], says: str) -> None:
    with pytest.raises(QuantityError, match=re.escape(says)):
        levain_time(**{**TIME, **changed})


def test_every_bad_argument_is_named_at_once() -> None:
    with pytest.raises(QuantityError) as caught:
        levain_time(seed="1", total="2 h", temperature="24", ripe="soon", phi=-1, salt="x")
    assert [fault.where for fault in caught.value.faults] == ["ripe", "temperature", "salt", "phi", "total", "seed"]
    with pytest.raises(QuantityError) as caught:
        levain_seed(total="0 g", time="x", temperature="24 °C", hydration="1")
    assert [fault.where for fault in caught.value.faults] == ["time", "hydration", "total"]


def refused(**changed: Any) -> str:  # noqa: ANN401
    with pytest.raises(QuantityError) as caught:
        levain_seed(**{**SEED, **changed})
    (fault,) = caught.value.faults
    assert fault.where == "time"
    return str(fault)


@pytest.mark.parametrize("ripe", ["peak", "sour"])
@pytest.mark.parametrize("temperature", ["3 °C", "18 °C", "24 °C", "27 °C", "30 °C", "33 °C"])
def test_the_nearest_time_works(ripe: str, temperature: str) -> None:
    """The two times that a refusal names are accepted, and a hundredth of an hour beyond them is not."""
    for time in ("60 d", "1 min"):
        told = re.search(r"expected ([0-9.]+) h to ([0-9.]+) h", refused(time=time, temperature=temperature, ripe=ripe))
        assert told
        for hours, beyond in ((float(told[1]), -0.01), (float(told[2]), 0.01)):
            made = levain_seed(total="1 kg", time=f"{hours} h", temperature=temperature, ripe=ripe)
            assert 0.5 <= made.share_percent <= 40
            refused(time=f"{hours + beyond:.4f} h", temperature=temperature, ripe=ripe)


@pytest.mark.parametrize(
    ("time", "temperature"), [("24 h", "24 °C"), ("40 h", "22 °C"), ("4 d", "20 °C"), ("3 h", "22 °C")]
)
def test_the_nearest_temperature_works(time: str, temperature: str) -> None:
    told = re.search(r"keep it at ([0-9.]+) °C", refused(time=time, temperature=temperature))
    assert told
    assert levain_seed(total="1 kg", time=time, temperature=f"{told[1]} °C").seed_g > 0


def test_too_long_is_better_in_builds_and_too_short_is_too_short() -> None:
    assert "make it in 2 builds, or keep it at 21.1 °C" in refused(time="24 h")
    assert "no temperature is fast enough; the least is 2.61 h, at 27.1 °C" in refused(time="2 h")
    assert "no temperature is fast enough" in refused(time="0 h")
    # Even at 2 °C a yeast is ripe long before four months are over, and nobody makes 165 builds of one levain.
    assert refused(time="120 d").endswith("begin later")
    assert refused(time=f"1{'0' * 60} h").endswith("begin later")
    assert "make it in 12 builds" in refused(time="200 h")


# -- the log -----------------------------------------------------------------------------------------------------------


def test_a_log_gives_its_constant_back() -> None:
    log = [record(50, 24, math.log(20) / (0.7 * mu(24.0))), record(100, 21, math.log(10) / (0.7 * mu(21.0)))]
    log.append(record(20, 26, math.log(50) / (0.7 * mu(26.0))))
    found = calibrated(log)
    assert found.phi == pytest.approx(0.7)
    assert found.count == 3
    assert found.scatter_percent == pytest.approx(0, abs=1e-6)
    # However well they agree, ripeness is not read more exactly than to 5 %: t(2) * 0.05 * sqrt(4 / 3).
    assert found.high_factor == pytest.approx(math.exp(4.302653 * 0.05 * math.sqrt(4 / 3)), rel=1e-6)
    assert found.low_factor == pytest.approx(1 / found.high_factor)
    made = levain_time(**TIME, phi=found)
    assert made.time_h == pytest.approx(math.log(20) / (0.7 * mu(24.0)))
    assert made.high_h == pytest.approx(found.high_factor * made.time_h)
    assert made.phi_from == "own log of 3"
    check_working(made.working(), made.time_h)
    check_working(found.working(), found.phi, exact=False)


def test_the_mean_is_geometric_and_the_scatter_is_its_own() -> None:
    log = [record(50, 24, hours) for hours in (8.0, 10.0, 12.5)]
    found = calibrated(log)
    assert found.phi == pytest.approx(math.log(20) / (mu(24.0) * 10))
    assert found.scatter_percent == pytest.approx(100 * (1.25 - 1))
    assert found.scatter is not None
    assert found.scatter.m_as("percent") == pytest.approx(25)
    assert found.high_factor == pytest.approx(math.exp(4.302653 * math.log(1.25) * math.sqrt(4 / 3)), rel=1e-6)
    assert found.cautions == ()


def test_too_few_records_are_cautioned_wherever_they_are_used() -> None:
    one, two = calibrated([record(50, 24, 9)]), calibrated([record(50, 24, 9), record(50, 24, 10)])
    assert (one.scatter, one.scatter_percent) == (None, None)
    assert two.scatter_percent is not None
    for found in (one, two):
        assert (found.low_factor, found.high_factor) == (0.6, 1.4)
        assert [caution.code for caution in found.cautions] == ["too-few-records"]
        assert [caution.code for caution in levain_time(**TIME, phi=found).cautions] == ["too-few-records"]
        assert [caution.code for caution in levain_seed(**SEED, phi=found).cautions] == ["too-few-records"]
    assert str(one) == "phi 0.913 (peak), of 1"


def test_a_record_that_does_not_fit_is_named_and_kept() -> None:
    log = [record(50, 24, hours) for hours in (9.0, 9.2, 8.9, 9.1, 16.0)]
    found = calibrated(log)
    (caution,) = found.cautions
    assert caution.code == "outlying-record"
    assert caution.text.startswith("Record 5 (5 % seed, 24 °C, 16 h)")
    assert found.count == 5


def test_a_log_is_of_one_meaning() -> None:
    with pytest.raises(FormulaError, match="peak and sour, expected one meaning of ripe"):
        calibrated([record(50, 24, 9), record(50, 24, 15, "sour")])
    with pytest.raises(FormulaError, match="records: got none"):
        calibrated([])
    with pytest.raises(FormulaError, match="record 1: got '9 h', expected a LevainRecord"):
        calibrated(["9 h"])  # type: ignore[list-item]
    with pytest.raises(QuantityError, match="phi: got a calibration for 'sour', expected one for 'peak'"):
        levain_time(**TIME, phi=calibrated([record(50, 24, 15, "sour")]))


def test_records() -> None:
    one = LevainRecord(starter="10 %", hydration="110 %", temperature="84.2 °F", time="13 h", ripe="sour")
    assert one.share_percent == pytest.approx(100 / 22)
    assert one.share.m_as("percent") == pytest.approx(100 / 22)
    assert one.temperature.m_as("degC") == pytest.approx(29)
    assert one.time.m_as("h") == 13.0
    assert one.phi == pytest.approx(math.log(22) / (mu(29.0, BACTERIA) * 13))
    with pytest.raises(FormulaError) as caught:
        LevainRecord(temperature="1 °C", time="0 h")
    assert [fault.where for fault in caught.value.faults] == ["seed", "temperature", "time"]
    found = calibrated([one])
    assert pickle.loads(pickle.dumps(found)) == found  # noqa: S301 - our own bytes
    assert hash(found) == hash(calibrated([one]))
