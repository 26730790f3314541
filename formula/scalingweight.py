"""From the promised weight to the divider's scale: what every rule asks for, and what is given away for it.

The lowest mean of each rule is divided by what the loss leaves, and rounded up to the step of the scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import ClassVar

from attrs import frozen

from .allowances import CONFIDENCE, read_allowances
from .counting import on_step, read_count, step_steps
from .errors import QuantityError, cited
from .lines import Lines
from .losses import Losses
from .money import NO_MONEY, Money, Price, read_price, rounded_money
from .netweight import (
    NONE_SHARE,
    TargetMass,
    below_share,
    lowest_target,
    read_none_share,
    read_spread,
)
from .packrules import WeightRule, read_rule, weight_rules
from .pieceloss import PieceLoss, baked_sd_g, read_piece_loss, spread_steps
from .quantity import MASS, SHARE, Door, Measure, View
from .readerunits import with_units
from .working import Caution, Step, Working

__all__ = [
    "NetWeight",
    "WeightUnderRule",
    "net_weight",
    "read_mass_price",
]


@frozen
class WeightUnderRule:
    """What one rule asks for: the ``scaling_weight`` on the divider's scale, and what follows from it.

    ``target`` is the lowest process mean by itself.  With a step of the scale the scaling weight is rounded up, and
    ``mean``, the shares and the giveaway are those that then follow.  ``dough`` is what is mixed for a piece.
    """

    target: TargetMass
    divider_sd_g: float
    loss: PieceLoss
    step_g: float | None
    pieces: int
    price: Price | None
    scaling_weight_g: float

    scaling_weight: ClassVar[View] = View(MASS, "scaling_weight_g", "The weight on the divider's scale.")
    mean: ClassVar[View] = View(MASS, "mean_g", "The mean of the weight as sold.")
    dough: ClassVar[View] = View(MASS, "dough_g", "The dough to mix for one piece.")
    giveaway: ClassVar[View] = View(MASS, "giveaway_g", "What is given away on average with each piece.")
    giveaway_total: ClassVar[View] = View(MASS, "giveaway_total_g", "What is given away with all the pieces.")
    below_nominal: ClassVar[View] = View(
        SHARE, "below_nominal_share", "The share expected below the nominal weight, in percent."
    )
    below_limit: ClassVar[View] = View(SHARE, "below_limit_share", "The share expected below the limit, in percent.")
    below_outer_limit: ClassVar[View] = View(
        SHARE, "below_outer_limit_share", "The share expected below the outer limit, in percent."
    )
    actual_sd: ClassVar[View] = View(
        MASS, "actual_sd_g", "The spread of the weight as sold at this very scaling weight."
    )

    @property
    def rule(self) -> str:
        """The name of the rule."""
        return self.target.rule

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What to know before using it."""
        return self.target.cautions

    @property
    def mean_g(self) -> float:
        """The mean of the weight as sold, g."""
        return self.target.mean_g if self.step_g is None else self.scaling_weight_g * (1 - self.loss.share)

    @property
    def dough_g(self) -> float:
        """The dough to mix for one piece, g."""
        return self.scaling_weight_g / self.loss.before_left

    @property
    def giveaway_g(self) -> float:
        """What is given away on average with each piece, g."""
        return self.mean_g - self.target.nominal_g

    @property
    def giveaway_total_g(self) -> float:
        """What is given away with all the pieces, g."""
        return self.giveaway_g * self.pieces

    @property
    def giveaway_cost(self) -> Money | None:
        """What that is worth, halves of the smallest coin rounded up; None without a price."""
        return None if self.price is None else rounded_money(self.price.of(self.giveaway_total_g), self.price.currency)

    @property
    def below_nominal_share(self) -> float:
        """The share expected below the nominal weight."""
        return below_share(self.target.nominal_g, self.mean_g, self.target.sd_g)

    @property
    def below_limit_share(self) -> float:
        """The share expected below the limit, the nominal weight less the tolerance."""
        return below_share(self.target.limit_g, self.mean_g, self.target.sd_g)

    @property
    def below_outer_limit_share(self) -> float:
        """The share expected below the outer limit."""
        return below_share(self.target.outer_limit_g, self.mean_g, self.target.sd_g)

    @property
    def actual_sd_g(self) -> float:
        """The spread at this very scaling weight, nothing left out, g: a little wider than the one reckoned with."""
        own = baked_sd_g(self.divider_sd_g, self.scaling_weight_g, self.loss.share, self.loss.sd_share)
        return math.hypot(own, self.divider_sd_g * self.loss.sd_share)

    def working(self) -> Working:
        """Show the steps; the last line is the scaling weight."""
        loss = {"loss": self.loss.share}
        exact_g = self.loss.piece_g(self.target.mean_g)
        values = {"mean": self.target.mean_g, **loss}
        last = Step("scaling_weight", "mean / (1 - loss)", values, exact_g, "g", note="on the divider's scale")
        steps = [
            *spread_steps(self.loss, self.target.nominal_g, self.divider_sd_g),
            *self.target.limit_steps(),
            *self.target.mean_steps(),
        ]
        if self.step_g is None:
            steps.append(last)
        else:
            steps.append(Step("exact", "mean / (1 - loss)", values, exact_g, "g"))
            steps += step_steps("exact", exact_g, self.step_g)
        title = f"Scaling weight, {self.target.law.place}"
        return Working(title, with_units(steps, {"1": "loss"}), self.cautions)


@frozen
class NetWeight:
    """The answer of ``net_weight``: the ``baked_sd`` of the weight as sold, and under ``rules`` what each rule asks for."""

    nominal_g: float
    divider_sd_g: float
    loss: PieceLoss
    pieces: int
    baked_sd_g: float
    rules: Lines[WeightUnderRule]
    cautions: tuple[Caution, ...] = ()

    nominal: ClassVar[View] = View(MASS, "nominal_g", "The promised weight.")
    divider_sd: ClassVar[View] = View(MASS, "divider_sd_g", "The standard deviation of the divided weight.")
    baked_sd: ClassVar[View] = View(MASS, "baked_sd_g", "The standard deviation of the weight as sold.")

    def working(self) -> Working:
        """Show the steps; the last line is the spread of the weight as sold.  Each of ``rules`` has its own working."""
        steps = spread_steps(self.loss, self.nominal_g, self.divider_sd_g)
        return Working("Spread of the weight as sold", tuple(steps), self.cautions)


def net_weight(
    nominal: Measure,
    *,
    divider_sd: Measure | None = None,
    divider_limit: Measure | None = None,
    sigmas: float | None = None,
    loss: Measure | None = None,
    losses: Losses | None = None,
    loss_sd: Measure = "0 %",
    step: Measure | None = None,
    pieces: int = 1000,
    price: str | Price | None = None,
    rules: str | Iterable[str] | None = None,
    none_share: Measure = NONE_SHARE,
    between_sd: Measure = "0 g",
    batches: int = 1,
    confidence: Measure = CONFIDENCE,
    drift: Measure = "0 g",
    sampling: Measure = "0 g",
) -> NetWeight:
    """Find what to divide at so that the bread holds its weight in law, and what is given away for it, rule by rule.

    The spread of the weight as sold is s^2 = (1 - L)^2 s_divider^2 + d^2 s_loss^2 at d = Qn / (1 - L); each rule then asks
    for a lowest mean (see ``target_mass``), and the scaling weight is mean / (1 - L).

    Args:
        nominal: the promised weight Qn at the time of sale, a mass.
        divider_sd: standard deviation of the divided weight within a batch, a mass above zero.
        divider_limit: instead, the maker's ± as a mass; then ``sigmas`` says how many standard deviations it is.
        sigmas: 2 or 3 for such a ±; ask the maker.
        loss: L, all that falls after the divider until the sale, drying included, as a share of the scaling weight.
        losses: instead, the losses one by one; what falls before the divider counts for the dough to mix only.
        loss_sd: standard deviation of L from piece to piece, as a share of the scaling weight: "1 %" if L is 10 to 12 %
            for two of three pieces.
        step: the step of the divider's scale, a mass; the scaling weight is rounded up to it.
        pieces: how many pieces the giveaway is added up for.
        price: what the bread is worth by mass, such as "2.40 EUR/kg", to tell the giveaway in money.
        rules: the name of a rule, or of several; all whose table has the nominal weight if left out.
        none_share: the share that stands for "none" short beyond the outer limit, below 2 %.
        between_sd: standard deviation of the means of whole batches as sold, a mass.
        batches: how many batches a lot mixes.
        confidence: how sure the lot's mean shall be, a share of 50 % or more.
        drift: how far the weight as sold creeps between two adjustments, a mass.
        sampling: what your own sampling cannot see, a mass.

    Returns:
        ``baked_sd`` and ``rules``, by name: scaling weight, mean, shares expected below the limits, dough to mix,
        giveaway for a piece and for all ``pieces``, in grams and in money.

    Raises:
        QuantityError: for every bad argument at once; a nominal weight that no rule asked for has in its table.

    Range and accuracy: the bell curve's, in the divider and in the loss, and the two independent.  The spread is taken at
    the nominal weight's own piece and to first order, so it is too small by at most the share given away and half of
    (s_divider / d)^2 (``actual_sd`` of each rule has neither left out); and the product of two bell curves leans to the
    heavy side, which works the other way.  Against the exact share: for the loaf below, told shares below the limits are
    right within 4 %, or a fifth too large; with a loss that scatters by 1.5 % under Canada's rule up to a third too small.

    Example:
        >>> found = net_weight("400 g", divider_sd="6 g", loss="11 %", loss_sd="1 %", step="1 g")
        >>> round(found.baked_sd_g, 2)
        6.98
        >>> european = found.rules["eu"]
        >>> round(european.target.mean_g, 1), european.scaling_weight_g, round(european.giveaway_total_g)
        (402.0, 452.0, 2280)
    """
    with Door() as door:
        nominal_g = door.read(MASS, nominal, "nominal")
        divided_g = read_spread(door, divider_sd, divider_limit, sigmas, "divider_")
        fall = read_piece_loss(door, loss, losses, loss_sd)
        step_g = None if step is None else door.read(MASS, step, "step")
        if step_g == 0:
            door.refuse("step", "0 g", "a step above zero", "leave it out if the scale has none to speak of")
        read_count(door, pieces, "pieces", 1)
        worth = None if price is None else read_mass_price(door, price)
        none = read_none_share(door, none_share)
        allowances = read_allowances(door, between_sd, batches, confidence, drift, sampling)
        laws = _asked(door, rules, nominal_g)
    spread_g = fall.baked_sd_g(nominal_g, divided_g)
    answers: dict[str, WeightUnderRule] = {}
    for law in laws:
        target = lowest_target(nominal_g, spread_g, law, none, allowances)
        exact_g = fall.piece_g(target.mean_g)
        answers[law.name] = WeightUnderRule(
            target=target,
            divider_sd_g=divided_g,
            loss=fall,
            step_g=step_g,
            pieces=pieces,
            price=worth,
            scaling_weight_g=exact_g if step_g is None else on_step(exact_g, step_g),
        )
    cautions = dict.fromkeys(caution for answer in answers.values() for caution in answer.cautions)
    return NetWeight(
        nominal_g=nominal_g,
        divider_sd_g=divided_g,
        loss=fall,
        pieces=pieces,
        baked_sd_g=spread_g,
        rules=Lines(answers),
        cautions=(*cautions, *(() if rules is not None else _left_out(answers))),
    )


def _asked(door: Door, rules: str | Iterable[str] | None, nominal_g: float) -> tuple[WeightRule, ...]:
    """Return the rules asked for; without a choice, all that have the nominal weight."""
    if rules is not None:
        if not isinstance(rules, Iterable):  # pyright: ignore[reportUnnecessaryIsInstance]
            door.refuse("rules", cited(rules), "the name of a rule, or of several", 'write rules="eu"')
            return ()
        names = [rules] if isinstance(rules, str) else list(rules)
        if not names:
            door.refuse("rules", "none", "at least one rule", "leave it out for all of them")
        return tuple(read_rule(door, name, nominal_g) for name in names)
    found = tuple(rule for rule in weight_rules() if rule.covers(nominal_g))
    if not found and not math.isnan(nominal_g):
        door.refuse("nominal", f"{nominal_g} g", "a weight that some rule has in its table, above 0 g")
    return found


def _left_out(answers: dict[str, WeightUnderRule]) -> tuple[Caution, ...]:
    missing = [f"{rule.name} ({rule.range})" for rule in weight_rules() if rule.name not in answers]
    return (Caution("rules-left-out", f"Outside their tables, so left out: {', '.join(missing)}."),) if missing else ()


def read_mass_price(door: Door, price: str | Price) -> Price:
    """Read a price by mass; a bad one is noted and answered with a price of no currency.

    Args:
        door: where faults are noted.
        price: such as "2.40 EUR/kg".
    """
    try:
        found = read_price(price, "price")
    except QuantityError as error:
        door.faults.extend(error.faults)
        return Price(NO_MONEY.amount, NO_MONEY.currency, "kg")
    if found.is_per_piece:
        door.refuse("price", str(found), "a price by mass", 'what is given away is no piece: write "2.40 EUR/kg"')
    if found.amount == 0:
        door.refuse("price", str(found), "a price above zero", "leave it out if it is not known")
    return found
