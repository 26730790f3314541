"""Bookings against a plain list of minutes."""

from hypothesis import given
from hypothesis import strategies as st

from formula.bookings import FOREVER, Bookings

SPAN = 60
bookings = st.lists(st.tuples(st.integers(0, SPAN - 1), st.integers(1, 20), st.integers(1, 3)), max_size=12)


def by_minute(there: int, taken: list[tuple[int, int, int]]) -> list[int]:
    """Return what is free in each minute, counted one by one."""
    return [
        there - sum(count for begin, length, count in taken if begin <= minute < begin + length)
        for minute in range(3 * SPAN)
    ]


def booked(there: int, taken: list[tuple[int, int, int]]) -> Bookings:
    calendar = Bookings(there)
    for begin, length, count in taken:
        calendar.take(begin, begin + length, count)
    return calendar


class TestEveryMinuteCounts:
    """The earliest moment and the fewest free are those of a list with one number for each minute."""

    @given(bookings, st.integers(1, 6), st.integers(0, SPAN), st.integers(1, 25), st.integers(1, 4))
    def test_first(self, taken: list[tuple[int, int, int]], there: int, begin: int, length: int, count: int) -> None:
        free = by_minute(there, taken)
        calendar = booked(there, taken)
        starts = (start for start in range(begin, 2 * SPAN) if min(free[start : start + length]) >= count)
        assert calendar.first(begin, length, count) == next(starts, None)
        assert calendar.least(begin, begin + length) == min(free[begin : begin + length])

    @given(bookings, bookings, st.integers(1, 6))
    def test_what_is_given_back_leaves_no_trace(
        self, taken: list[tuple[int, int, int]], more: list[tuple[int, int, int]], there: int
    ) -> None:
        calendar = booked(there, taken)
        for begin, length, count in more:
            calendar.take(begin, begin + length, count)
        for begin, length, count in reversed(more):
            calendar.give_back(begin, begin + length, count)
        free = by_minute(there, taken)
        assert [calendar.least(minute, minute + 1) for minute in range(3 * SPAN)] == free

    @given(bookings, st.integers(1, 6))
    def test_a_copy_is_apart(self, taken: list[tuple[int, int, int]], there: int) -> None:
        calendar = booked(there, taken)
        other = calendar.copy()
        other.take(0, SPAN, 1)
        assert [calendar.least(m, m + 1) for m in range(SPAN)] == by_minute(there, taken)[:SPAN]
        assert [other.least(m, m + 1) for m in range(SPAN)] == [free - 1 for free in by_minute(there, taken)[:SPAN]]


def test_only_within_stretches() -> None:
    calendar = Bookings.within([(0, 60, 3), (20, 30, -3), (40, 50, 2)])
    assert calendar.first(0, 20, 3) == 0
    assert calendar.first(0, 21, 1) == 30
    assert calendar.first(0, 5, 5) == 40
    assert calendar.first(0, 31, 1) is None
    assert calendar.first(60, 1, 1) is None


def test_a_booking_of_no_time_is_none() -> None:
    calendar = Bookings(1)
    calendar.take(5, 5, 1)
    calendar.give_back(5, 5, 1)
    assert calendar.least(0, 10) == 1


def test_what_is_closed_is_what_was_free() -> None:
    bench = Bookings.within([(0, 60, 3), (20, 30, -3)])
    bench.close(10, 40, 2)
    # In the break there is nobody to be missing.
    assert [bench.least(minute, minute + 1) for minute in (5, 15, 25, 35, 45)] == [3, 1, 0, 1, 3]
    bench.close(50, 50, 1)
    assert bench.least(50, 51) == 3
    bench.close(50, FOREVER)
    assert bench.first(50, 5, 1) is None


def test_more_taken_than_there_are() -> None:
    deck = Bookings(1)
    assert deck.overbooked(0) is None
    deck.take(10, 30, 1)
    deck.take(20, 40, 1)
    assert deck.overbooked(0) == (20, 1)
    assert deck.overbooked(25) == (25, 1)
    assert deck.overbooked(30) is None
