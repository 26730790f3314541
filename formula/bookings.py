"""Bookings: when so many of something are free, be it people, places or the one oven.

What there is may change with the time (shifts, breaks, an oven that is down).  Times are whole minutes, so that nothing
overlaps by a hair.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Final

__all__ = ["FOREVER", "Bookings"]

FOREVER: Final = 10**9
"""Minutes after which nothing is planned: some two thousand years."""


class Bookings:
    """A calendar of one resource: how many of it are free in each stretch of time.

    Args:
        there: how many there are, from now until ever.

    Example:
        >>> oven = Bookings(1)
        >>> oven.take(0, 40, 1)
        >>> oven.first(30, 20, 1)
        40
    """

    def __init__(self, there: int) -> None:
        """Start with all of them free at all times."""
        self._begins = [-FOREVER]
        self._free = [there]

    @classmethod
    def within(cls, stretches: Iterable[tuple[int, int, int]]) -> Bookings:
        """Make a calendar of what is there only in stretches of time: (begin, end, how many), which add up."""
        made = cls(0)
        for begin, end, there in stretches:
            made.take(begin, end, -there)
        return made

    def copy(self) -> Bookings:
        """Return a calendar with the same bookings, to try something on."""
        made = Bookings(0)
        made._begins, made._free = self._begins[:], self._free[:]
        return made

    def take(self, begin: int, end: int, count: int) -> None:
        """Take so many of it for a while; a negative count gives some."""
        if begin >= end:
            return
        first, last = self._cut(begin), self._cut(end)
        for place in range(first, last):
            self._free[place] -= count

    def close(self, begin: int, end: int, count: int | None = None) -> None:
        """Take so many of those that are still free for a while; all of them if it is not said how many."""
        if begin >= end:
            return
        first = self._cut(begin)
        for place in range(first, self._cut(end) if end < FOREVER else len(self._free)):
            free = max(0, self._free[place])
            self._free[place] -= free if count is None else min(count, free)

    def least(self, begin: int, end: int) -> int:
        """Return the fewest that are free at any moment of a while."""
        place = bisect_right(self._begins, begin) - 1
        least = self._free[place]
        place += 1
        while place < len(self._begins) and self._begins[place] < end:
            least = min(least, self._free[place])
            place += 1
        return least

    def stretches(self, begin: int, end: int) -> Iterator[tuple[int, int, int]]:
        """Return (begin, end, how many are free) of each stretch between two moments."""
        moments = [max(begin, min(end, each)) for each in (*self._begins, end)]
        for (since, until), free in zip(pairwise(moments), self._free, strict=True):
            if since < until:
                yield since, until, free

    @property
    def most(self) -> int:
        """The most that are free at any time."""
        return max(self._free)

    def overbooked(self, since: int) -> tuple[int, int] | None:
        """Return from when, and by how many, more are taken than there are; None if that is never so from a moment on."""
        for place, free in enumerate(self._free):
            ends = self._begins[place + 1] if place + 1 < len(self._begins) else FOREVER
            if free < 0 and ends > since:
                return max(since, self._begins[place]), -free
        return None

    def first(self, begin: int, length: int, count: int) -> int | None:
        """Return the earliest moment from ``begin`` on at which so many are free for so long; None if there is none."""
        begins, free = self._begins, self._free
        place, last = bisect_right(begins, begin) - 1, len(begins) - 1
        start = begin
        while True:
            if free[place] < count:
                if place == last:
                    return None
                place += 1
                start = begins[place]
            elif place == last or begins[place + 1] >= start + length:
                return start
            else:
                place += 1

    def _cut(self, moment: int) -> int:
        place = bisect_right(self._begins, moment) - 1
        if self._begins[place] == moment:
            return place
        self._begins.insert(place + 1, moment)
        self._free.insert(place + 1, self._free[place])
        return place + 1

    def give_back(self, begin: int, end: int, count: int) -> None:
        """Undo a booking, and forget the moments that only it had cut."""
        if begin >= end:
            return
        self.take(begin, end, -count)
        for moment in (end, begin):
            place = bisect_right(self._begins, moment) - 1
            if place and self._begins[place] == moment and self._free[place] == self._free[place - 1]:
                del self._begins[place], self._free[place]
