"""Laws of friction from trials."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.friction import friction_factor
from formula.quantity import TEMPERATURE, write
from formula.trialfit import friction_from_trials
from formula.trials import Trial
from tests.laws.strategies import trials


class TestOneTrialIsItsOwnFactor:
    """The friction from a single trial is the friction factor of that mix."""

    @given(trials())
    def test_law(self, trial: Trial) -> None:
        made = friction_from_trials([trial])
        assert trial.room_c is not None
        flour, room, water, dough = (
            write(TEMPERATURE, value) for value in (trial.flour_c, trial.room_c, trial.water_c, trial.dough_c)
        )
        factor = friction_factor(dough=dough, flour=flour, room=room, water=water)
        assert made.friction_k == factor.friction_k
        assert made.for_count(4).friction_k == pytest.approx(factor.for_count(4).friction_k, rel=1e-12, abs=1e-12)


class TestTheOrderOfTrialsDoesNotMatter:
    """Trials may be written down in any order."""

    @given(st.lists(trials(), min_size=2, max_size=12), st.sampled_from(["mean", "time"]), st.booleans(), st.randoms())
    def test_law(self, made: list[Trial], by: str, drop: bool, chance: object) -> None:  # noqa: FBT001 - drawn
        shuffled = list(made)
        chance.shuffle(shuffled)  # type: ignore[attr-defined]
        one = friction_from_trials(made, by=by, drop_outliers=drop)  # type: ignore[arg-type]
        other = friction_from_trials(shuffled, by=by, drop_outliers=drop)  # type: ignore[arg-type]
        assert other.friction_k == pytest.approx(one.friction_k, rel=1e-9, abs=1e-9)
        assert other.standard_deviation_k == pytest.approx(one.standard_deviation_k, rel=1e-6, abs=1e-6)
        assert len(other.outliers) == len(one.outliers)


class TestTheMeanIsTheBestFit:
    """No other factor has a smaller sum of squares over the trials than the mean, nor another rate than the one fitted."""

    @given(st.lists(trials(), min_size=2, max_size=12), st.floats(0.01, 5.0), st.sampled_from([-1, 1]))
    def test_law(self, made: list[Trial], away: float, side: int) -> None:
        def squares(factors: list[float]) -> float:
            return sum((trial.friction_k - factor) ** 2 for trial, factor in zip(made, factors, strict=True))

        mean_k = friction_from_trials(made).friction_k
        assert squares([mean_k] * len(made)) <= squares([mean_k + side * away] * len(made)) + 1e-6
        rate = friction_from_trials(made, by="time").rate_k_per_min or 0.0
        minutes = [(trial.time_h or 0.0) * 60 for trial in made]
        moved = [(rate + side * away) * time for time in minutes]
        assert squares([rate * time for time in minutes]) <= squares(moved) + 1e-6


class TestMoreFrictionInEveryTrialIsMoreFriction:
    """A dough warmer by a kelvin in every trial is a factor larger by N kelvins, with the same spread."""

    @given(st.lists(trials(), min_size=2, max_size=8))
    def test_law(self, made: list[Trial]) -> None:
        warmer = [
            Trial(
                flour=write(TEMPERATURE, trial.flour_c),
                room=write(TEMPERATURE, trial.room_c or 0.0),
                water=write(TEMPERATURE, trial.water_c),
                dough=write(TEMPERATURE, trial.dough_c + 1),
            )
            for trial in made
        ]
        one, other = friction_from_trials(made), friction_from_trials(warmer)
        assert other.friction_k - one.friction_k == pytest.approx(3.0, abs=1e-7)
        assert other.standard_deviation_k == pytest.approx(one.standard_deviation_k, abs=1e-6)
