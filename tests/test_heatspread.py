"""How sure a heat balance is: partials by hand and by moving an input, the plus-minus by sampling; work from trials."""

import random
from statistics import stdev

import pytest

from formula.balance import HeatBalance
from formula.errors import FormulaError
from formula.formula import Formula
from formula.heat import heat_balance
from formula.heatspread import heat_uncertainty, work_from_trials, work_of_trial
from formula.trials import Trial
from tests.arithmetic import check_working


def batch(hydration: float = 65) -> Formula:
    return Formula.from_percents("Loaf", {"bread flour": 100, "water": hydration, "butter": 5})


def water(
    flour: float = 20, butter: float = 15, target: float = 25, work: float = 14, wetting: float = 15.12
) -> HeatBalance:
    return heat_balance(
        batch().scale(dough="100 kg"),
        target=f"{target!r} °C",
        room="22 °C",
        temperatures={"flour": f"{flour!r} °C", "butter": f"{butter!r} °C"},
        work=f"{work!r} kJ/kg",
        hydration_heat=f"{wetting!r} kJ/kg",
    )


PLUS_MINUS = {"flour": "1 K", "butter": "2 K", "dough": "0.3 K", "work": "1.5 kJ/kg", "hydration": "1 kJ/kg"}


@pytest.mark.parametrize(("hydration", "printed"), [(55, 0.80), (60, 0.73), (65, 0.68), (70, 0.63), (80, 0.55)])
def test_a_kelvin_of_flour(hydration: float, printed: float) -> None:
    # 1.84 / (4.18 x hydration): the balance's 0.80 to 0.55 where the rule says 1.
    lean = Formula.from_percents("x", {"bread flour": 100, "water": hydration}).scale(dough="10 kg")
    found = heat_balance(lean, target="25 °C", room="22 °C", work="4 Wh/kg")
    sure = heat_uncertainty(found, {"flour": "1 K"})
    assert sure.contributions[0].partial == pytest.approx(-printed, abs=0.005)
    assert sure.plus_minus_k == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize(
    ("name", "moved", "by"),
    [("flour", {"flour": 21}, 1), ("butter", {"butter": 16}, 1), ("dough", {"target": 26}, 1)],
)
def test_a_partial_is_what_moving_the_input_does(name: str, moved: dict[str, float], by: float) -> None:
    before, after = water(), water(**moved)
    assert before.water_c is not None
    assert after.water_c is not None
    sure = heat_uncertainty(before, {name: "1 K"})
    assert after.water_c - before.water_c == pytest.approx(sure.contributions[0].partial * by, abs=1e-6)


@pytest.mark.parametrize(("name", "moved"), [("work", {"work": 15}), ("hydration", {"wetting": 16.12})])
def test_a_heat_counts_by_the_kelvins_it_makes(name: str, moved: dict[str, float]) -> None:
    before, after = water(), water(**moved)
    assert before.water_c is not None
    assert after.water_c is not None
    sure = heat_uncertainty(before, {name: "1 kJ/kg"})
    assert abs(after.water_c - before.water_c) == pytest.approx(sure.plus_minus_k, rel=1e-6)


def test_sampling_agrees() -> None:
    drawn = random.Random(5)  # noqa: S311 - no secret
    answers = []
    for _ in range(4000):
        found = water(
            flour=drawn.gauss(20, 1),
            butter=drawn.gauss(15, 2),
            target=drawn.gauss(25, 0.3),
            work=drawn.gauss(14, 1.5),
            wetting=drawn.gauss(15.12, 1),
        )
        assert found.water_c is not None
        answers.append(found.water_c)
    sure = heat_uncertainty(water(), PLUS_MINUS)
    # The deviation of 4000 draws is known to 1.1 %; three times that.
    assert stdev(answers) == pytest.approx(sure.plus_minus_k, rel=0.034)
    assert sum(part.share for part in sure.contributions) == pytest.approx(1)
    assert sure.worst_k >= sure.plus_minus_k
    assert sure.contributions[0].name == sure.matters_most == "work"
    check_working(sure.working(), sure.plus_minus_k)


def test_the_dough_for_a_given_water() -> None:
    found = heat_balance(
        batch().scale(dough="100 kg"), water="15 °C", room="22 °C", temperatures={"flour": "20 °C"}, work="14 kJ/kg"
    )
    sure = heat_uncertainty(found, {"water": "1 K", "flour": "1 K"})
    warmer = heat_balance(
        batch().scale(dough="100 kg"), water="16 °C", room="22 °C", temperatures={"flour": "20 °C"}, work="14 kJ/kg"
    )
    partials = {part.name: part.partial for part in sure.contributions}
    assert warmer.dough_c - found.dough_c == pytest.approx(partials["water"])
    assert sure.temperature_c == found.dough_c


def test_no_plus_minus_at_all() -> None:
    sure = heat_uncertainty(water(), {"flour": "0 K"})
    assert (sure.plus_minus_k, sure.matters_most) == (0, "")


def test_what_is_refused() -> None:
    with pytest.raises(FormulaError) as raised:
        heat_uncertainty(water(), {"milk": "1 K", "flour": "-1 K", "work": "1 K"})
    assert len(raised.value.faults) == 3
    with pytest.raises(FormulaError, match="at least one input"):
        heat_uncertainty(water(), {})
    learned = heat_balance(batch().scale(dough="1 kg"), target="25 °C", water="15 °C", room="20 °C")
    with pytest.raises(FormulaError, match="whose water or dough was sought"):
        heat_uncertainty(learned, {"flour": "1 K"})


class TestWorkFromTrials:
    BATCH = Formula.from_percents("Loaf", {"bread flour": 100, "water": 65}).scale(dough="165 kg")

    @staticmethod
    def trial(water_c: float, dough_c: float) -> Trial:
        return Trial(flour="20 °C", room="20 °C", water=f"{water_c} °C", dough=f"{dough_c} °C")

    def test_by_hand(self) -> None:
        # Flour 1.84, water 4.19: 100 x 1.84 x 5 + 65 x 4.19 x 9 - 100 x 15.12 = 1859.2 kJ in 165 kg.
        assert work_of_trial(self.BATCH, self.trial(16, 25)).work_kj_kg == pytest.approx(1859.2 / 165, abs=0.005)
        found = work_from_trials(self.BATCH, [self.trial(16, 25), self.trial(14, 24)])
        assert found.work_kj_kg == pytest.approx((1859.2 + 1947.5) / 2 / 165, abs=0.005)
        assert found.standard_deviation_kj_kg == pytest.approx(abs(1859.2 - 1947.5) / 165 / 2**0.5, abs=0.005)
        assert not found.cautions
        check_working(found.working(), found.work_kj_kg)

    def test_it_predicts_its_own_trial(self) -> None:
        found = work_from_trials(self.BATCH, [self.trial(16, 25)])
        again = heat_balance(
            self.BATCH,
            target="25 °C",
            room="20 °C",
            work=f"{found.work_kj_kg:.12g} kJ/kg",
            temperatures={"flour": "20 °C"},
        )
        assert again.water_c == pytest.approx(16)
        assert found.standard_deviation is None

    def test_scatter_is_told(self) -> None:
        found = work_from_trials(self.BATCH, [self.trial(16, 25), self.trial(22, 25)])
        assert [caution.code for caution in found.cautions] == ["trials-scatter"]

    def test_every_bad_trial_is_named(self) -> None:
        no_room = Trial(flour="20 °C", water="16 °C", dough="25 °C")
        with pytest.raises(FormulaError) as raised:
            work_from_trials(self.BATCH, [no_room, self.trial(16, 25), self.trial(25, 15)])
        assert [fault.where for fault in raised.value.faults] == ["trial 1", "trial 3"]
        with pytest.raises(FormulaError, match="at least one trial"):
            work_from_trials(self.BATCH, [])
