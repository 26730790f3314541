"""Laws of the losses between mixer and sale."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.losses import PLACES, Losses
from formula.quantity import MASS, SHARE, write
from tests.laws.strategies import loss_bases, loss_chains, loss_ways, masses_g, third_losses, whole_grams
from tests.laws.strategies import losses as loss_shares


class TestCompoundedLossNeverExceedsAddedLoss:
    """Taking each share on what is left takes no more than taking all of them on the dough mixed."""

    @given(loss_chains, loss_bases)
    def test_law(self, chain: dict[str, Any], on: Any) -> None:  # noqa: ANN401
        compounded, added = Losses(**chain, on=on), Losses(**chain, on=on, combine="add")
        assert compounded.left >= added.left - 1e-15
        if len(chain) < 2:
            assert compounded.left == pytest.approx(added.left, rel=1e-15)


class TestBakedToDoughToBakedReturns:
    """The dough for a bread gives that bread, from the mixer and from the divider."""

    @given(masses_g, loss_chains, loss_bases, loss_ways)
    def test_law(self, bread_g: float, chain: dict[str, Any], on: Any, combine: Any) -> None:  # noqa: ANN401
        losses = Losses(**chain, on=on, combine=combine)
        made = losses.dough_for(write(MASS, bread_g))
        mixed = losses.bread_from(f"{made.mass_g:.12e} g")
        divided = losses.bread_from(f"{made.scaling_weight_g:.12e} g", at="divider")
        assert mixed.mass_g == pytest.approx(bread_g, rel=1e-11)
        assert divided.mass_g == pytest.approx(bread_g, rel=1e-11)


class TestTheDividerStandsInTheMiddle:
    """What is left before the divider times what is left after it is what is left; so does the weight on its scale."""

    @given(masses_g, loss_chains, loss_bases, loss_ways)
    def test_law(self, bread_g: float, chain: dict[str, Any], on: Any, combine: Any) -> None:  # noqa: ANN401
        losses = Losses(**chain, on=on, combine=combine)
        assert losses.before_divider_left * losses.after_divider_left == pytest.approx(losses.left, rel=1e-12)
        made = losses.dough_for(write(MASS, bread_g))
        assert made.mass_g * losses.before_divider_left == pytest.approx(made.scaling_weight_g, rel=1e-12)
        assert bread_g <= made.scaling_weight_g * (1 + 1e-12)
        assert made.scaling_weight_g <= made.mass_g * (1 + 1e-12)


class TestMoreLossNeedsMoreDough:
    """Raising one share never lowers the dough to mix."""

    @given(loss_chains, st.sampled_from(PLACES), third_losses, loss_bases, loss_ways)
    def test_law(self, chain: dict[str, Any], place: str, share: str, on: Any, combine: Any) -> None:  # noqa: ANN401
        without = {name: value for name, value in chain.items() if name != place}
        less = Losses(**without, on=on, combine=combine).dough_for("1 kg").mass_g
        more = Losses(**without, **{place: share}, on=on, combine=combine).dough_for("1 kg").mass_g
        assert more >= less * (1 - 1e-14)


class TestABasisIsOnlyAWayOfSaying:
    """A loss of x on the bread is one of x / (1 + x) on the dough."""

    @given(loss_shares)
    def test_law(self, share: float) -> None:
        bread = Losses(bake=write(SHARE, share), on="bread").dough_for("1 kg").mass_g
        assert bread == pytest.approx(1000 * (1 + share), rel=1e-12)


class TestEveryUnitOfMassGivesTheSameAnswer:
    """Grams, kilograms, pounds and ounces are the same bread."""

    @given(whole_grams, loss_chains)
    def test_law(self, grams: float, chain: dict[str, Any]) -> None:
        losses = Losses(**chain)
        answers = {losses.dough_for(write(MASS, grams, unit)) for unit in ("g", "kg", "lb", "oz")}
        assert len(answers) == 1
