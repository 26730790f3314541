"""When each order is packed: pieces go to the orders in the order in which they are packed and due."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from .breadplan import BreadPlan
from .orders import Order
from .quantity import Door
from .stations import Task
from .timeofday import read_clock
from .workshop import Workshop

__all__ = ["OrderTime", "by_due", "order_times"]


@frozen
class OrderTime:
    """When an order is packed: the last of its pieces at ``ready_min``, due at ``due_min`` (None if it does not matter).

    ``late_pieces`` are packed after that, by ``late_piece_min`` all together, ``short_pieces`` not at all.
    """

    order: Order
    name: str
    ready_min: int
    due_min: int | None
    late_pieces: int
    short_pieces: int
    late_piece_min: int = 0

    @property
    def late_min(self) -> int:
        """Minutes from the time due until all of it that is made is packed, 0 if in time."""
        return 0 if self.due_min is None else max(0, self.ready_min - self.due_min)


def by_due(plan: BreadPlan, workshop: Workshop) -> list[tuple[int | None, Order]]:
    """Return a bread's orders with the moment at which each is due, those that are due first before the rest."""
    with Door() as door:
        pairs = [
            (workshop.wall.elapsed(read_clock(door, order.due, "due")) if order.due else None, order)
            for order in plan.orders
        ]
    return sorted(pairs, key=lambda pair: (pair[0] is None, pair[0] or 0))


def order_times(plan: BreadPlan, tasks: Sequence[Task], workshop: Workshop) -> list[OrderTime]:
    """Give the pieces to the orders in the order in which they are packed and due."""
    ends: dict[tuple[int, int], tuple[int, int]] = {}
    for task in tasks:
        if task.bread == plan.name and task.load:
            key = task.mix, task.load
            ends[key] = max(ends.get(key, (task.end_min, 0))[0], task.end_min), task.pieces
    loads = sorted(ends.values())
    found: list[OrderTime] = []
    for due, order in by_due(plan, workshop):
        left, ready, late, late_piece_min = order.pieces_made, 0, 0, 0
        while left and loads:
            end, pieces = loads[0]
            taken = min(left, pieces)
            loads[0] = end, pieces - taken
            if not loads[0][1]:
                loads.pop(0)
            left -= taken
            ready = end
            if due is not None and end > due:
                late += taken
                late_piece_min += taken * (end - due)
        found.append(OrderTime(order, plan.name, ready, due, late, left, late_piece_min))
    return found
