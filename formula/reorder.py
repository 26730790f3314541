"""Orders changed while the day is under way: what has been mixed stays, the rest of the bread is split into mixes anew."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from attrs import evolve

from .breadplan import BreadPlan, Mix
from .day import DayPlan
from .errors import Fault, FormulaError, UnknownNameError
from .logentry import Entry
from .mixes import Need, split_dough
from .orders import Order
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
        The day, and a caution for each bread of which more has been mixed than is ordered now; the surplus is an order
        without a time.

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
        kept = _begun(plan, [mix for bread, mix in begun if bread == plan.name])
        over = sum(mix.pieces for mix in kept) - sum(order.pieces_made for order in orders)
        if over > 0:
            text = f"{plan.name}: {over} pieces more have been mixed than are ordered now."
            cautions.append(Caution("surplus", text))
            orders = (*orders, _with_pieces(plan.orders[0], over, surplus=True))
        if orders:
            plans.append(_split_anew(plan, orders, kept, day))
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
    new = _with_pieces(old, entry.pieces)
    return tuple(new if order is old else order for order in orders)


def _with_pieces(order: Order, pieces: int, *, surplus: bool = False) -> Order:
    """Return an order for another number of pieces; a surplus has no time, no spares and no rejects of its own."""
    return Order(
        order.bread,
        pieces=pieces,
        baked=write(MASS, order.baked_g),
        due="" if surplus else order.due,
        spares=0 if surplus else order.spares,
        reject="0 %" if surplus else write(SHARE, order.reject_share),
        losses=order.losses,
        where=order.where,
    )


def _begun(plan: BreadPlan, begun: Collection[int]) -> list[Mix]:
    """Return the mixes that have begun, each for itself."""
    return [
        evolve(mix, first=number, last=number)
        for mix in plan.mixes
        for number in range(mix.first, mix.last + 1)
        if number in begun
    ]


def _split_anew(plan: BreadPlan, orders: tuple[Order, ...], kept: list[Mix], day: DayPlan) -> BreadPlan:
    """Keep the mixes that have begun, and split the rest of the pieces into as few more as the mixer holds."""
    pieces, there = sum(order.pieces_made for order in orders), sum(mix.pieces for mix in kept)
    split = None
    if pieces > there:
        need = Need(plan.name, pieces - there, plan.piece_g, plan.losses.before_divider_left, plan.most)
        split = split_dough(plan.bread, [need], plan.mixer, day.bakery)
    mixes, first = list(kept), 1 + max((mix.last for mix in kept), default=0)
    for count, portions, batch in split.runs if split else ():
        pour = pour_for(plan.bread, batch, plan.mixer, day.bakery)
        mixes.append(Mix(first, first + count - 1, portions, batch, pour))
        first += count
    return evolve(
        plan,
        orders=orders,
        pieces=pieces,
        mixes=tuple(mixes),
        slack_g=split.slack_g if split else plan.slack_g,
        begun_pieces=there,
        begun_mixes=len(kept),
    )
