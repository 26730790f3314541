"""Orders changed while the day is under way: what has been mixed stays, the rest of the bread is split into mixes anew."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from attrs import evolve

from .bakery import Order
from .day import BreadPlan, DayPlan, Mix
from .errors import Fault, FormulaError, UnknownNameError
from .logentry import Entry
from .mixes import split_dough
from .pour import pour_for
from .quantity import MASS, SHARE, write
from .working import Caution

__all__ = ["with_changed_orders"]


def with_changed_orders(
    day: DayPlan, changes: Iterable[Entry], begun: Collection[tuple[str, int]]
) -> tuple[DayPlan, tuple[Caution, ...]]:
    """Return the day with changed numbers of pieces; mixes that have begun keep their number and pieces.

    Args:
        day: the day as it was planned.
        changes: entries "order changed", in the order in which they were written; 0 pieces call an order off.
        begun: the mixes that have begun, by bread and number.

    Returns:
        The day, and a caution for each bread of which more has been mixed than is ordered now.

    Raises:
        UnknownNameError: for every change of an order that is not there.
    """
    faults: list[Fault] = []
    plans: list[BreadPlan] = []
    cautions: list[Caution] = []
    changed = list(changes)
    for plan in day.breads:
        orders: tuple[Order, ...] = plan.orders
        for entry in changed:
            if entry.bread == plan.name:
                orders = _changed(orders, plan, entry, faults)
        if orders == plan.orders:
            plans.append(plan)
            continue
        made = _split_anew(plan, orders, [mix for bread, mix in begun if bread == plan.name], day)
        if made.mixes:
            plans.append(made)
        over = made.pieces - sum(order.pieces_made for order in orders)
        if over > 0:
            text = f"{plan.name}: {over} pieces more have been mixed than are ordered now."
            cautions.append(Caution("surplus", text))
    if faults:
        raise UnknownNameError(*faults)
    if not plans:
        raise FormulaError(Fault("orders", "all of them called off", "at least one", "there is nothing to plan"))
    return evolve(day, breads=tuple(plans)), tuple(cautions)


def _changed(orders: tuple[Order, ...], plan: BreadPlan, entry: Entry, faults: list[Fault]) -> tuple[Order, ...]:
    mine = [order for order in orders if order.due == entry.due] if entry.due else list(orders)
    if len(mine) != 1:
        dues = ", ".join(order.due or "no time" for order in plan.orders)
        which = f"{plan.name}{', due ' + entry.due if entry.due else ''}"
        got = f"{len(mine) or 'no'} orders of {which}"
        faults.append(Fault("order changed", got, f"one; they are due at {dues}", "say which by its due"))
        return orders
    (old,) = mine
    if not entry.pieces:
        return tuple(order for order in orders if order is not old)
    new = Order(
        old.bread,
        pieces=entry.pieces,
        baked=write(MASS, old.baked_g),
        due=old.due,
        spares=old.spares,
        reject=write(SHARE, old.reject_share),
        where=old.where,
    )
    return tuple(new if order is old else order for order in orders)


def _split_anew(plan: BreadPlan, orders: tuple[Order, ...], begun: list[int], day: DayPlan) -> BreadPlan:
    kept = [
        evolve(mix, first=number, last=number)
        for mix in plan.mixes
        for number in range(mix.first, mix.last + 1)
        if number in begun
    ]
    there = sum(mix.pieces for mix in kept)
    left = sum(order.pieces_made for order in orders) - there
    mixes, slack_g = list(kept), plan.slack_g
    first = 1 + max((mix.last for mix in kept), default=0)
    split = split_dough(plan.bread, left, plan.piece_g, plan.mixer, day.bakery, plan.most) if left > 0 else None
    for pieces, count, batch in split.batches if split else ():
        mixes.append(Mix(first, first + count - 1, pieces, batch, pour_for(plan.bread, batch, plan.mixer, day.bakery)))
        first += count
    return evolve(
        plan,
        orders=orders,
        pieces=there + max(0, left),
        mixes=tuple(mixes),
        slack_g=split.slack_g if split else slack_g,
        begun_pieces=there,
        begun_mixes=len(kept),
    )
