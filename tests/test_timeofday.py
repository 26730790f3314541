"""Times of day through midnight and through a change of the clocks."""

import copy
import pickle

import pytest

from formula.errors import QuantityError
from formula.quantity import Door
from formula.timeofday import NO_DATE, WallClock, clock, read_clock, read_moment

SPRING = WallClock("2026-03-29", "Europe/Berlin")
"""At 02:00 the clocks are put forward to 03:00."""
AUTUMN = WallClock("2026-10-25", "Europe/Berlin")
"""At 03:00 they are put back to 02:00."""


def read(text: object, *, other_days: bool = True) -> int:
    with Door() as door:
        return read_clock(door, text, "opens", other_days=other_days)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("00:00", 0), ("05:30", 330), ("23:59", 1439), ("20:00 the day before", -240), ("01:15 the day after", 1515)],
)
def test_text_in_text_out(text: str, minutes: int) -> None:
    assert read(text) == minutes
    assert clock(minutes) == text


@pytest.mark.parametrize(
    "text", ["", "5:30", "24:00", "05:60", "05.30", "05:30 ", "20:00 the eve", "20:00 2 days before", 530, None]
)
def test_what_is_no_time_of_day(text: object) -> None:
    with pytest.raises(QuantityError, match=r"opens: got .*, expected a time of day"):
        read(text)


def test_another_day_only_where_it_makes_sense() -> None:
    with pytest.raises(QuantityError, match="opens: got '20:00 the day before'"):
        read("20:00 the day before", other_days=False)


def test_without_a_date_every_hour_has_its_place() -> None:
    for minutes in (-600, 0, 150, 2000):
        assert NO_DATE.elapsed(minutes) == NO_DATE.wall(minutes) == minutes
    assert NO_DATE.text(-240) == "20:00 the day before"


def test_the_night_in_spring_is_an_hour_shorter() -> None:
    assert SPRING.elapsed(119) == 119
    assert SPRING.elapsed(180) == 120
    assert SPRING.elapsed(330) == 270
    assert SPRING.elapsed(-240) == -240
    assert SPRING.text(270) == "05:30"
    assert [SPRING.wall(minute) for minute in (119, 120, 121)] == [119, 180, 181]


def test_the_hour_that_is_skipped_is_refused() -> None:
    with pytest.raises(QuantityError, match="02:30 on 2026-03-29, expected a time that the clocks show"):
        SPRING.elapsed(150)


def test_the_night_in_autumn_is_an_hour_longer() -> None:
    assert AUTUMN.elapsed(150) == 150
    assert AUTUMN.elapsed(330) == 390
    assert (AUTUMN.text(150), AUTUMN.text(210)) == ("02:30", "02:30 (the second time)")
    assert AUTUMN.text(390) == "05:30"


def test_the_second_showing_is_read_as_it_is_written() -> None:
    with Door() as door:
        moment = read_moment(door, AUTUMN.text(210), "now")
    assert AUTUMN.elapsed(moment.wall_min, again=moment.again) == 210
    assert str(moment) == "02:30 (the second time)"


@pytest.mark.parametrize("wall", [NO_DATE, SPRING, AUTUMN])
def test_a_time_that_is_shown_once_has_no_second(wall: WallClock) -> None:
    with pytest.raises(QuantityError, match=r"05:30 \(the second time\), expected a time that the clocks show twice"):
        wall.elapsed(330, again=True)


@pytest.mark.parametrize("wall", [NO_DATE, SPRING, AUTUMN, WallClock("2026-06-01", "America/New_York")])
def test_every_elapsed_minute_is_shown_and_found_again(wall: WallClock) -> None:
    for minute in range(-1440, 2880, 7):
        again = wall.elapsed(wall.wall(minute))
        assert again == minute or (again == minute - 60 and "the second time" in wall.text(minute))


@pytest.mark.parametrize(
    ("date", "zone", "words"),
    [
        ("2026-02-30", "", "date: got '2026-02-30'"),
        ("yesterday", "", "a date such as"),
        ("", "Europe/Berlin", "without a date"),
        ("2026-03-29", "Harbour/Quay", "zone: got 'Harbour/Quay'"),
        ("2026-03-29", "../etc/passwd", "an IANA time zone"),
    ],
)
def test_what_is_no_day(date: str, zone: str, words: str) -> None:
    with pytest.raises(QuantityError) as caught:
        WallClock(date, zone)
    assert words in str(caught.value)


def test_it_travels() -> None:
    again = pickle.loads(pickle.dumps(SPRING))  # noqa: S301 - our own bytes
    assert again == copy.deepcopy(SPRING) == SPRING
    assert hash(SPRING) == hash(WallClock("2026-03-29", "Europe/Berlin"))
