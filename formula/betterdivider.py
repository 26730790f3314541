"""A better divider: what the saved giveaway is worth, when it pays a price back, and which spread would pay it at all."""

from __future__ import annotations

from fractions import Fraction
from typing import ClassVar

from attrs import frozen

from .counting import read_count
from .errors import QuantityError
from .losses import Losses
from .money import NO_MONEY, Money, Price, read_money, rounded_money
from .netweight import NONE_SHARE, TargetMass, lowest_target, read_none_share
from .packrules import read_rule
from .pieceloss import PieceLoss, divider_steps, read_piece_loss, spread_steps
from .quantity import MASS, Door, Measure, OptionalView, View, write
from .readerunits import with_units
from .scalingweight import read_mass_price
from .steadiness import room_for_spread, room_steps
from .working import Caution, Step, Working, shown

__all__ = ["BetterDivider", "PayingDivider", "better_divider", "divider_that_pays"]


@frozen
class BetterDivider:
    """What a steadier divider saves: ``saving`` on each piece, ``day`` and ``year`` on all of them.

    ``old`` and ``new`` are the lowest process means with either divider.  ``payback_days`` is None without a cost, or
    where nothing is saved.
    """

    old: TargetMass
    new: TargetMass
    old_sd_g: float
    new_sd_g: float
    loss: PieceLoss
    pieces: int
    days: int
    price: Price | None
    cost: Money | None
    saving_g: float
    cautions: tuple[Caution, ...] = ()

    old_sd: ClassVar[View] = View(MASS, "old_sd_g", "The spread of the divider that there is.")
    new_sd: ClassVar[View] = View(MASS, "new_sd_g", "The spread of the better one.")
    saving: ClassVar[View] = View(MASS, "saving_g", "What is saved on each piece, weighed as sold.")
    day: ClassVar[View] = View(MASS, "day_g", "What is saved in a day.")
    year: ClassVar[View] = View(MASS, "year_g", "What is saved in a year.")

    @property
    def day_g(self) -> float:
        """What is saved in a day, g."""
        return self.saving_g * self.pieces

    @property
    def year_g(self) -> float:
        """What is saved in a year, g."""
        return self.day_g * self.days

    @property
    def day_money(self) -> Money | None:
        """What that is worth in a day; None without a price."""
        return None if self.price is None else rounded_money(self.price.of(self.day_g), self.price.currency)

    @property
    def year_money(self) -> Money | None:
        """What that is worth in a year, rounded once; None without a price."""
        return None if self.price is None else rounded_money(self.price.of(self.year_g), self.price.currency)

    @property
    def payback_days(self) -> float | None:
        """After how many baking days the cost is saved; None without a cost, and where nothing is saved."""
        if self.price is None or self.cost is None or self.saving_g == 0:
            return None
        return float(Fraction(self.cost.amount) / self.price.of(self.day_g))

    def working(self) -> Working:
        """Show the steps; the last line is the saving on each piece."""
        steps = [
            *_mean_steps(self.old, self.old_sd_g, self.loss, "_old"),
            *spread_steps(self.loss, self.new.nominal_g, self.new_sd_g, "_new")[1:],
            *self.new.mean_steps("_new"),
            Step("saving", "mean_old - mean_new", {"mean_old": self.old.mean_g, "mean_new": self.new.mean_g},
                 self.saving_g, "g", note="on each piece, weighed as sold"),
        ]  # fmt: skip
        return Working(f"A better divider, {self.old.law.place}", tuple(steps), self.cautions)


@frozen
class PayingDivider:
    """The widest spread of a divider that saves its cost in time, ``divider_sd``; None where no divider does.

    ``needed`` is what it must save on each piece, ``most`` what one without any spread would save.
    """

    old: TargetMass
    best: TargetMass
    old_sd_g: float
    loss: PieceLoss
    cost: Money
    price: Price
    within: int
    needed_g: float
    divider_sd_g: float | None
    cautions: tuple[Caution, ...] = ()

    old_sd: ClassVar[View] = View(MASS, "old_sd_g", "The spread of the divider that there is.")
    needed: ClassVar[View] = View(MASS, "needed_g", "What must be saved on each piece.")
    most: ClassVar[View] = View(MASS, "most_g", "What a divider without any spread saves on each piece.")
    divider_sd: ClassVar[OptionalView] = OptionalView(MASS, "divider_sd_g", "The widest spread that pays.")

    @property
    def most_g(self) -> float:
        """What a divider without any spread saves on each piece, g."""
        return self.old.mean_g - self.best.mean_g

    def working(self) -> Working:
        """Show the steps; the last line is the divider's spread, or the most that can be saved where none pays."""
        steps = _mean_steps(self.old, self.old_sd_g, self.loss, "_old")
        per_g = float(self.price.of(1.0))
        paid = {"cost": float(self.cost.amount), "price_g": per_g, "pieces": float(self.within)}
        note = f"the cost of {self.cost} spread over the pieces, at {self.price}"
        told = {self.cost.currency: "cost", f"{self.cost.currency}/g": "price_g", "1": "pieces"}
        steps.append(Step("needed", "cost / price_g / pieces", paid, self.needed_g, "g", note=note))
        known: dict[str, float] = {"mean_old": self.old.mean_g}
        if self.divider_sd_g is None:
            steps += [*spread_steps(self.loss, self.best.nominal_g, 0.0, "_best")[1:], *self.best.mean_steps("_best")]
            values = known | {"mean_best": self.best.mean_g}
            note = "with no spread at all, less than is needed"
            steps.append(Step("most", "mean_old - mean_best", values, self.most_g, "g", note=note))
            return Working("No divider pays", with_units(steps, told), self.cautions)
        mean_g = self.old.mean_g - self.needed_g
        steps.append(Step("mean", "mean_old - needed", known | {"needed": self.needed_g}, mean_g, "g"))
        room = room_steps(self.old.law, self.old.nominal_g, mean_g, self.old.none_share)
        steps += [*room, *divider_steps(self.loss, self.old.nominal_g, room[-1].value)[1:]]
        return Working("The divider that pays", with_units(steps, told), self.cautions)


def _mean_steps(target: TargetMass, spread_g: float, loss: PieceLoss, word: str) -> list[Step]:
    """Show limits, spread and lowest mean of one divider."""
    return [*target.limit_steps(), *spread_steps(loss, target.nominal_g, spread_g, word), *target.mean_steps(word)]


def better_divider(
    nominal: Measure,
    *,
    old_sd: Measure,
    new_sd: Measure,
    loss: Measure | None = None,
    losses: Losses | None = None,
    loss_sd: Measure = "0 %",
    pieces: int = 1000,
    days: int = 365,
    price: str | Price | None = None,
    cost: str | Money | None = None,
    rule: str = "eu",
    none_share: Measure = NONE_SHARE,
) -> BetterDivider:
    """Find what a steadier divider saves: the lowest mean with the old spread less that with the new one.

    Args:
        nominal: the promised weight, a mass.
        old_sd: standard deviation of the divided weight now, a mass above zero.
        new_sd: that of the better divider, a smaller mass.
        loss: what falls after the divider, as a share of the scaling weight.
        losses: instead, the losses one by one.
        loss_sd: the standard deviation of that loss, as a share of the scaling weight.
        pieces: pieces a day.
        days: baking days a year.
        price: what the bread is worth by mass, such as "2.40 EUR/kg".
        cost: what the divider costs, such as "18000 EUR", to find when it is paid back; needs a price.
        rule: the name of a rule; see ``weight_rules``.
        none_share: the share that stands for "none" short beyond the outer limit, below 2 %.

    Returns:
        ``saving`` a piece, ``day`` and ``year`` with their money, and ``payback_days``.  Allowances on the mean and the
        step of the scale are the same for both dividers and left out.

    Raises:
        QuantityError: for every bad argument at once; a new spread that is no smaller; a cost without a price, or in
            another currency.

    Range and accuracy: that of ``net_weight``.  Below the spread at which the mean may sit at the nominal weight
    (``largest_sd``) a steadier divider saves nothing more.

    Example:
        >>> found = better_divider("400 g", old_sd="9 g", new_sd="6 g", loss="11 %", loss_sd="1 %", pieces=8000,
        ...     price="2.40 EUR/kg", cost="18000 EUR")
        >>> round(found.saving_g, 2), str(found.day_money), round(found.payback_days)
        (8.2, '157.46 EUR', 114)
    """
    with Door() as door:
        nominal_g = door.read(MASS, nominal, "nominal")
        law = read_rule(door, rule, nominal_g)
        old_g = _read_old(door, old_sd)
        new_g = door.read(MASS, new_sd, "new_sd")
        if new_g >= old_g:
            expected = f"a spread below the old one, {write(MASS, old_g)}"
            door.refuse("new_sd", write(MASS, new_g), expected, "exchange the two, or look for a steadier divider")
        fall = read_piece_loss(door, loss, losses, loss_sd)
        read_count(door, pieces, "pieces", 1)
        read_count(door, days, "days", 1)
        worth = None if price is None else read_mass_price(door, price)
        paid = None if cost is None else _read_cost(door, cost, worth)
        if cost is not None and price is None:
            door.refuse(
                "cost", "a cost without a price", "the price of the bread beside it", 'write price="2.40 EUR/kg"'
            )
        none = read_none_share(door, none_share)
    old, new = (
        lowest_target(nominal_g, fall.baked_sd_g(nominal_g, spread_g), law, none) for spread_g in (old_g, new_g)
    )
    saving_g = old.mean_g - new.mean_g
    cautions = law.cautions(nominal_g)
    if saving_g == 0:
        text = "Nothing is saved: the mean may already sit at the nominal weight with the divider there is."
        cautions = (*cautions, Caution("nothing-saved", text))
    return BetterDivider(
        old=old,
        new=new,
        old_sd_g=old_g,
        new_sd_g=new_g,
        loss=fall,
        pieces=pieces,
        days=days,
        price=worth,
        cost=paid,
        saving_g=saving_g,
        cautions=cautions,
    )


def divider_that_pays(
    nominal: Measure,
    *,
    old_sd: Measure,
    cost: str | Money,
    price: str | Price,
    within: int,
    loss: Measure | None = None,
    losses: Losses | None = None,
    loss_sd: Measure = "0 %",
    rule: str = "eu",
    none_share: Measure = NONE_SHARE,
) -> PayingDivider:
    """Find the widest spread of a divider that saves its cost within a number of pieces, if there is one.

    It must save cost / price / pieces on each, which gives the mean it must allow, and that the spread, in closed form.

    Args:
        nominal: the promised weight, a mass.
        old_sd: standard deviation of the divided weight now, a mass above zero.
        cost: what the better divider costs, such as "18000 EUR", above zero.
        price: what the bread is worth by mass, such as "2.40 EUR/kg".
        within: within how many pieces it shall pay.
        loss: what falls after the divider, as a share of the scaling weight.
        losses: instead, the losses one by one.
        loss_sd: the standard deviation of that loss, as a share of the scaling weight.
        rule: the name of a rule; see ``weight_rules``.
        none_share: the share that stands for "none" short beyond the outer limit, below 2 %.

    Returns:
        ``divider_sd``, or None where even a divider without spread would not pay: a caution then says by how much.

    Raises:
        QuantityError: for every bad argument at once; a cost or a price of nothing, or of two currencies.

    Range and accuracy: that of ``better_divider``, of which it is the inverse.

    Example:
        >>> found = divider_that_pays("400 g", old_sd="9 g", cost="18000 EUR", price="2.40 EUR/kg", within=1_000_000,
        ...     loss="11 %", loss_sd="1 %")
        >>> round(found.needed_g, 2), round(found.divider_sd_g, 2)
        (7.5, 6.27)
        >>> print(divider_that_pays("400 g", old_sd="5 g", cost="18000 EUR", price="2.40 EUR/kg", within=1_000_000,
        ...     loss="11 %").cautions[-1])
        No divider pays: 7.5 g must be saved on each piece, and one without any spread saves 0 g.
    """
    with Door() as door:
        nominal_g = door.read(MASS, nominal, "nominal")
        law = read_rule(door, rule, nominal_g)
        old_g = _read_old(door, old_sd)
        fall = read_piece_loss(door, loss, losses, loss_sd)
        read_count(door, within, "within", 1)
        worth = read_mass_price(door, price)
        paid = _read_cost(door, cost, worth)
        none = read_none_share(door, none_share)
    old = lowest_target(nominal_g, fall.baked_sd_g(nominal_g, old_g), law, none)
    best = lowest_target(nominal_g, fall.baked_sd_g(nominal_g, 0.0), law, none)
    needed_g = float(Fraction(paid.amount) / worth.of(1.0) / within)
    most_g, left_g = old.mean_g - best.mean_g, None
    cautions = law.cautions(nominal_g)
    mean_g = old.mean_g - needed_g
    spread_g = min(room_for_spread(law, nominal_g, mean_g, none).values())
    if needed_g > most_g or spread_g <= best.sd_g:
        got, most = f"{shown(needed_g, 3)} g must be saved on each piece", f"{shown(most_g, 3)} g"
        text = f"No divider pays: {got}, and one without any spread saves {most}."
        cautions = (*cautions, Caution("no-divider-pays", text))
    else:
        left_g = fall.divider_sd_g(nominal_g, spread_g)
    return PayingDivider(
        old=old,
        best=best,
        old_sd_g=old_g,
        loss=fall,
        cost=paid,
        price=worth,
        within=within,
        needed_g=needed_g,
        divider_sd_g=left_g,
        cautions=cautions,
    )


def _read_old(door: Door, old_sd: Measure) -> float:
    old_g = door.read(MASS, old_sd, "old_sd")
    if old_g == 0:
        door.refuse("old_sd", "0 g", "a spread above zero", "weigh a sample: no divider is without spread")
    return old_g


def _read_cost(door: Door, cost: str | Money, price: Price | None) -> Money:
    try:
        found = read_money(cost, "cost")
    except QuantityError as error:
        door.faults.extend(error.faults)
        return NO_MONEY
    if found.amount == 0:
        door.refuse("cost", str(found), "more than nothing", "leave out what costs nothing")
    if price is not None and price.currency not in (found.currency, NO_MONEY.currency):
        door.refuse("cost", str(found), f"an amount of {price.currency}, as the price is", "change it into one of them")
    return found
