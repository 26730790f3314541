"""Uncertainty: by hand, by sampling, and which input matters most."""

import copy
import pickle
import random
from statistics import fmean, stdev
from typing import Any

import numpy as np
import pytest

from formula import uncertainty
from formula.errors import QuantityError
from formula.trialfit import friction_from_trials
from formula.trials import Trial
from formula.uncertainty import Uncertainty, dough_uncertainty, propagated, water_uncertainty
from formula.water import dough_temperature_c, water_temperature_c
from tests.arithmetic import check_working

KERNELS: Any = uncertainty
MIX: dict[str, Any] = {"flour": "20 °C", "room": "22 °C"}


def shares(made: Uncertainty) -> dict[str, float]:
    return {part.name: part.share for part in made.contributions}


def test_the_water_by_hand() -> None:
    """sqrt(1² + 1² + 2²) = 2.449; the friction makes 4 of 6 parts of the variance."""
    doubts = {"flour": "1 K", "room": "1 K", "friction": "2 K"}
    made = water_uncertainty("25 °C", **MIX, friction="8 K", plus_minus=doubts)
    assert (made.temperature_c, made.found, made.worst_k) == (25.0, "water", 4.0)
    assert made.plus_minus_k == pytest.approx(6**0.5)
    assert shares(made) == pytest.approx({"friction": 4 / 6, "flour": 1 / 6, "room": 1 / 6})
    assert made.matters_most == "friction"
    assert str(made) == "water 25 ± 2.4 °C; the friction matters most"
    assert made.cautions == ()
    check_working(made.working(), made.plus_minus_k, exact=False)


def test_a_dough_thermometer_and_a_rise_count_n_times() -> None:
    doubts = {"dough": "0.5 K", "flour": "0 K", "rise": "0.25 K", "preferments": "1 K"}
    made = water_uncertainty("25 °C", flour="20 °C", rise="3 K", preferments=["18 °C", "19 °C"], plus_minus=doubts)
    partials = {part.name: part.partial for part in made.contributions}
    assert partials == {"dough": 4.0, "rise": -4.0, "preferment_1": -1.0, "preferment_2": -1.0, "flour": -1.0}
    assert made.plus_minus_k == pytest.approx((2**2 + 1**2 + 1 + 1) ** 0.5)
    assert made.matters_most == "dough"
    check_working(made.working(), made.plus_minus_k, exact=False)


def test_the_dough_by_hand() -> None:
    """Each of three inputs moves the dough by a third; 3, 3 and 6 K make sqrt(1 + 1 + 4)."""
    doubts = {"flour": "0 K", "room": "3 K", "water": "3 K", "friction": "6 K"}
    made = dough_uncertainty(**MIX, water="25 °C", friction="8 K", plus_minus=doubts)
    assert (made.temperature_c, made.found) == (25.0, "dough")
    assert made.plus_minus_k == pytest.approx(6**0.5)
    assert made.worst_k == pytest.approx(4.0)
    one = dough_uncertainty(**MIX, water="25 °C", rise="3 K", preferments="18 °C", plus_minus={"rise": "0.5 K"})
    assert one.plus_minus_k == pytest.approx(0.5)
    assert [caution.code for caution in one.cautions] == ["taken-as-exact"]
    assert "flour, water, room, preferments" in one.cautions[0].text
    check_working(one.working(), one.plus_minus_k, exact=False)
    two = dough_uncertainty(flour="21 °C", water="31 °C", friction="0 K", plus_minus={"flour": "2 K"})
    assert (two.temperature_c, two.plus_minus_k) == (26.0, 1.0)


def test_trials_bring_their_own_scatter() -> None:
    doughs = ("25 °C", "26 °C", "25.5 °C")
    trials = [Trial(flour="20 °C", room="22 °C", water="14 °C", dough=dough) for dough in doughs]
    friction = friction_from_trials(trials)
    made = water_uncertainty("25 °C", **MIX, friction=friction, plus_minus={"flour": "0 K", "room": "0 K"})
    # The doughs scatter by 0.5 K, the factors by 1.5 K, and the mean of three is in doubt by a third of the variance.
    assert made.plus_minus_k == pytest.approx(1.5 * (4 / 3) ** 0.5)
    assert made.cautions == ()
    other = water_uncertainty("25 °C", **MIX, friction=friction, plus_minus={"friction": "1 K"})
    assert other.plus_minus_k == pytest.approx(1.0)
    alone = friction_from_trials(trials[:1])
    lone = water_uncertainty("25 °C", **MIX, friction=alone, plus_minus={"flour": "1 K", "room": "1 K"})
    assert "friction" in lone.cautions[0].text


def test_sampling_agrees() -> None:
    """A hundred thousand mixes with thermometers that err as said: the scatter is that of first order."""
    chance = random.Random(20)  # noqa: S311 - a sample, no secret
    doubts = {"dough": "0.3 K", "flour": "1 K", "room": "1.5 K", "preferments": "0.5 K", "friction": "2 K"}
    made = water_uncertainty("25 °C", **MIX, friction="8 K", preferments="18 °C", plus_minus=doubts)
    waters = [
        water_temperature_c(
            chance.gauss(25, 0.3),
            (chance.gauss(20, 1), chance.gauss(22, 1.5), chance.gauss(18, 0.5)),
            chance.gauss(8, 2),
        )
        for _ in range(100_000)
    ]
    # The standard error of a deviation from 100,000 is 0.22 % of it.
    assert stdev(waters) == pytest.approx(made.plus_minus_k, rel=0.01)
    assert fmean(waters) == pytest.approx(made.temperature_c, abs=0.05)
    back = dough_uncertainty(
        **MIX, water="32 °C", friction="8 K", preferments="18 °C", plus_minus={"water": "3 K", "friction": "2 K"}
    )
    doughs = [dough_temperature_c((20.0, 22.0, 18.0), chance.gauss(32, 3), chance.gauss(8, 2)) for _ in range(100_000)]
    assert stdev(doughs) == pytest.approx(back.plus_minus_k, rel=0.01)


def test_nothing_in_doubt() -> None:
    made = water_uncertainty("25 °C", **MIX, friction="8 K", plus_minus={"flour": "0 K"})
    assert (made.plus_minus_k, made.matters_most, str(made)) == (0.0, "", "water 25 ± 0 °C")
    assert set(shares(made).values()) == {0.0}
    check_working(made.working(), 0.0)


def test_refusals() -> None:
    with pytest.raises(QuantityError) as caught:
        water_uncertainty(
            "25 °C", **MIX, friction="8 K", plus_minus={"flour": "1", "water": "1 K", "rise": "1 K", "room": "-1 K"}
        )
    assert [fault.where for fault in caught.value.faults] == [
        "plus_minus: water", "plus_minus: rise", "plus_minus: flour", "plus_minus: room",
    ]  # fmt: skip
    assert "one of the inputs given: dough, flour, room, friction" in str(caught.value)
    with pytest.raises(QuantityError, match="plus_minus: preferments"):
        dough_uncertainty(**MIX, water="25 °C", friction="8 K", plus_minus={"preferments": "1 K"})
    with pytest.raises(QuantityError, match="friction: got neither"):
        dough_uncertainty(**MIX, water="25 °C", plus_minus={"flour": "1 K"})


def test_views_and_values() -> None:
    doubts = {"flour": "1 K", "room": "1 K", "friction": "2 K"}
    made = water_uncertainty("25 °C", **MIX, friction="8 K", plus_minus=doubts)
    assert made.temperature.m_as("degC") == pytest.approx(25.0)
    assert made.plus_minus.m_as("delta_degF") == pytest.approx(6**0.5 * 1.8)
    assert made.worst.m_as("delta_degC") == pytest.approx(4.0)
    assert made.contributions[0].plus_minus.m_as("delta_degC") == pytest.approx(2.0)
    assert pickle.loads(pickle.dumps(made)) == copy.deepcopy(made) == made  # noqa: S301 - our own bytes
    assert hash(copy.deepcopy(made)) == hash(made)
    fahrenheit = {"flour": "1.8 °F", "room": "1.8 °F", "friction": "3.6 °F"}
    assert water_uncertainty("77 °F", flour="68 °F", room="71.6 °F", friction="14.4 °F", plus_minus=fahrenheit) == made


def test_the_kernel_takes_arrays_as_sequences() -> None:
    assert KERNELS.propagated(np.array([1.0, -1.0]), np.array([3.0, 4.0])) == pytest.approx(5.0)


def test_each_input_needs_its_plus_minus() -> None:
    with pytest.raises(ValueError, match="shorter"):
        propagated([1.0, 2.0], [0.5])
