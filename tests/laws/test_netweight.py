"""Laws of net weight."""

import math
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from formula.betterdivider import better_divider
from formula.counting import on_step
from formula.netweight import target_mass
from formula.packrules import weight_rule
from formula.quantity import MASS, write
from formula.scalingweight import net_weight
from formula.steadiness import largest_sd
from tests.laws.strategies import loss_spread_texts, loss_texts, nominals_g, relative_spreads, weight_rule_names


def mass(grams: float, unit: str = "g") -> Any:  # noqa: ANN401 - text, as a caller writes it
    return write(MASS, grams, unit)


class TestALargerSpreadNeverNeedsASmallerMean:
    """The lowest mean grows with the spread, or stays."""

    @given(nominals_g, relative_spreads, relative_spreads, weight_rule_names)
    def test_law(self, nominal_g: float, first: float, second: float, rule: str) -> None:
        small, large = sorted((first * nominal_g, second * nominal_g))
        means = [target_mass(mass(nominal_g), sd=mass(sd_g), rule=rule).mean_g for sd_g in (small, large)]
        assert means[0] <= means[1]


class TestTheMeanIsNeverBelowTheNominalWeight:
    """Every rule wants the mean to reach the nominal weight, and every allowance raises it further."""

    @given(nominals_g, relative_spreads, weight_rule_names, st.integers(0, 100), st.integers(1, 20))
    def test_law(self, nominal_g: float, spread: float, rule: str, tenths: int, batches: int) -> None:
        sd, drift = mass(spread * nominal_g), mass(tenths / 10)
        plain = target_mass(mass(nominal_g), sd=sd, rule=rule)
        found = target_mass(mass(nominal_g), sd=sd, rule=rule, drift=drift, between_sd=drift, batches=batches)
        assert nominal_g <= plain.mean_g <= found.mean_g


class TestSharesNeverExceedTheRules:
    """At the lowest mean no more is expected beyond the limits than the rule and the convention allow."""

    @given(nominals_g, relative_spreads, weight_rule_names)
    def test_law(self, nominal_g: float, spread: float, rule: str) -> None:
        found = target_mass(mass(nominal_g), sd=mass(spread * nominal_g), rule=rule)
        allowed = weight_rule(rule).beyond_share
        assert allowed is None or found.below_limit_share <= allowed * (1 + 1e-9)
        assert found.below_outer_limit_share <= 1e-4 * (1 + 1e-9)
        assert found.below_nominal_share <= 0.5


class TestEveryUnitOfMassGivesTheSameAnswer:
    """Grams, kilograms, ounces and pounds are the same loaf."""

    @given(nominals_g, weight_rule_names, loss_texts, loss_spread_texts)
    def test_law(self, nominal_g: float, rule: str, loss: Any, loss_sd: Any) -> None:  # noqa: ANN401
        answers = {
            net_weight(
                mass(nominal_g, unit), divider_sd=mass(nominal_g / 50, unit), loss=loss, loss_sd=loss_sd, rules=rule
            )
            for unit in ("g", "kg", "oz", "lb")
        }
        assert len(answers) == 1


class TestTheWayBackReturns:
    """The largest spread at the lowest mean is the spread it was made for, the divider's as well."""

    @given(nominals_g, relative_spreads, weight_rule_names, loss_texts, loss_spread_texts)
    def test_law(self, nominal_g: float, spread: float, rule: str, loss: Any, loss_sd: Any) -> None:  # noqa: ANN401
        divided = mass(spread * nominal_g)
        forward = net_weight(mass(nominal_g), divider_sd=divided, loss=loss, loss_sd=loss_sd, rules=rule)
        target = forward.rules[rule].target
        assume(target.set_by != "mean")
        # A mean that lies barely above the nominal weight, or a divider lost in the oven's spread, comes back roughly.
        assume(forward.divider_sd_g > 0.2 * forward.baked_sd_g)
        back = largest_sd(mass(nominal_g), mean=mass(target.mean_g), rule=rule, loss=loss, loss_sd=loss_sd)
        assert back.sd_g == pytest.approx(forward.baked_sd_g, rel=1e-8)
        assert back.divider_sd_g == pytest.approx(forward.divider_sd_g, rel=1e-6)
        assert back.set_by == target.set_by or math.isclose(back.sd_g, forward.baked_sd_g, rel_tol=1e-8)


class TestTheLargestSpreadGivesNothingAway:
    """With the largest spread at the nominal weight the lowest mean is the nominal weight; a little more needs more."""

    @given(nominals_g, weight_rule_names)
    def test_law(self, nominal_g: float, rule: str) -> None:
        found = largest_sd(mass(nominal_g), rule=rule)
        assert target_mass(mass(nominal_g), sd=mass(found.sd_g), rule=rule).mean_g == pytest.approx(
            nominal_g, rel=1e-10
        )
        assert target_mass(mass(nominal_g), sd=mass(1.01 * found.sd_g), rule=rule).mean_g > nominal_g


class TestASteadierDividerNeverCostsMore:
    """A smaller spread saves something or nothing, never less; and no more than all that is given away."""

    @given(nominals_g, relative_spreads, relative_spreads, weight_rule_names, loss_texts)
    def test_law(self, nominal_g: float, first: float, second: float, rule: str, loss: Any) -> None:  # noqa: ANN401
        small, large = sorted((first * nominal_g, second * nominal_g))
        assume(float(f"{small:.9g}") < float(f"{large:.9g}"))
        found = better_divider(mass(nominal_g), old_sd=mass(large), new_sd=mass(small), loss=loss, rule=rule)
        assert 0 <= found.saving_g <= found.old.giveaway_g


class TestTheStepNeverLowersTheWeight:
    """Rounded up to the step, a weight rises by less than one step, and is a whole number of them."""

    @given(st.floats(1, 5000), st.sampled_from([0.1, 0.5, 1.0, 2.0, 5.0, 7.08738078125]))
    def test_law(self, grams: float, step_g: float) -> None:
        found = on_step(grams, step_g)
        assert grams * (1 - 1e-9) - 1e-8 <= found < grams + step_g * (1 + 1e-9)
        assert found / step_g == pytest.approx(round(found / step_g), abs=1e-6)


class TestTheToleranceNeverFalls:
    """A heavier nominal weight never has a smaller tolerance; Canada's printed table falls at 1.5 kg and is left out."""

    @given(nominals_g, nominals_g, st.sampled_from(["eu", "uk", "de", "oiml", "us"]))
    def test_law(self, first: float, second: float, rule: str) -> None:
        small, large = sorted((first, second))
        assert weight_rule(rule).tolerance_g(small) <= weight_rule(rule).tolerance_g(large)
