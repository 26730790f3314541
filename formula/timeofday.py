"""Times of day: read, written, and counted as minutes through midnight and through a change of the clocks.

A plan counts elapsed minutes from midnight of its day; the evening before is negative.  "20:00 the day before" is how
such a time is written and read.  With a date and a zone (a name of the IANA time zone database) the clock on the wall
may skip an hour or show one twice, and a night is an hour shorter or longer than it looks.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from attrs import field, frozen

from .errors import Fault, QuantityError, cited
from .quantity import Door

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

__all__ = ["DAY_MIN", "NO_DATE", "Moment", "WallClock", "clock", "read_clock", "read_moment"]

DAY_MIN: Final = 1440
_CLOCK: Final = re.compile(r"([01][0-9]|2[0-3]):([0-5][0-9])( the day before| the day after)?")
_AGAIN: Final = " (the second time)"
_DAYS: Final = {None: 0, " the day before": -1, " the day after": 1}


def read_clock(door: Door, text: object, where: str, *, other_days: bool = False) -> int:
    """Read a time of day as minutes after midnight; a bad one is noted at the door and answered with 0.

    Args:
        door: where a bad one is noted.
        text: "05:30"; with ``other_days`` also "20:00 the day before" and "01:00 the day after".
        where: what it is, for the message.
        other_days: whether it may lie on the day before or after.
    """
    found = _CLOCK.fullmatch(text) if isinstance(text, str) else None
    if found is None or (found[3] and not other_days):
        mend = 'write for example "05:30"' + (' or "20:00 the day before"' if other_days else "")
        door.refuse(where, cited(text), 'a time of day from "00:00" to "23:59"', mend)
        return 0
    return 60 * int(found[1]) + int(found[2]) + DAY_MIN * _DAYS[found[3]]


def clock(minutes: float) -> str:
    """Write minutes after midnight of the day of the dough as a time of day, with the day where it is another.

    Example:
        >>> clock(270), clock(-360), clock(-1800), clock(1500)
        ('04:30', '18:00 the day before', '18:00 2 days before', '01:00 the day after')
    """
    whole = round(minutes)
    day, left = divmod(whole, DAY_MIN)
    number, which = abs(day), "before" if day < 0 else "after"
    words = "" if day == 0 else f" the day {which}" if number == 1 else f" {number} days {which}"
    return f"{left // 60:02d}:{left % 60:02d}{words}"


@frozen
class Moment:
    """What a clock shows, in minutes after midnight of the day; ``again`` if it shows it for the second time that night.

    Example:
        >>> str(Moment(150)), str(Moment(150, again=True))
        ('02:30', '02:30 (the second time)')
    """

    wall_min: int
    again: bool = False

    def __str__(self) -> str:
        """Write it as it is read."""
        return clock(self.wall_min) + (_AGAIN if self.again else "")


def read_moment(door: Door, text: object, where: str) -> Moment:
    """Read a time of day that may lie on the day before or after, and be the second of its kind in a night.

    Args:
        door: where a bad one is noted; it is answered with midnight.
        text: "05:30", "20:00 the day before", "02:30 (the second time)".
        where: what it is, for the message.
    """
    again = isinstance(text, str) and text.endswith(_AGAIN)
    first = text.removesuffix(_AGAIN) if isinstance(text, str) else text
    return Moment(read_clock(door, first, where, other_days=True), again)


def _date(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except (TypeError, ValueError):
        fault = Fault("date", cited(text), "a date such as 2026-11-25", "write year, month and day")
        raise QuantityError(fault) from None


_ZONE: Final = re.compile(r"[A-Za-z0-9_+-]{1,40}(/[A-Za-z0-9_+-]{1,40}){0,3}")
"""What a zone may be called: with a dot in it, the look-up would take it for a module or a path."""


@lru_cache(maxsize=16)
def _zone(name: str) -> ZoneInfo:
    from zoneinfo import ZoneInfo  # noqa: PLC0415 - only a plan with a zone pays for it

    if not isinstance(name, str) or not _ZONE.fullmatch(name):  # pyright: ignore[reportUnnecessaryIsInstance]
        raise QuantityError(Fault("zone", cited(name), 'an IANA time zone such as "Etc/GMT-1"', "check the name"))
    try:
        return ZoneInfo(name)
    except (OSError, ValueError, KeyError, TypeError):
        mend = "pip install tzdata, if this computer has no time zones"
        raise QuantityError(Fault("zone", cited(name), 'an IANA time zone such as "Etc/GMT-1"', mend)) from None


@frozen
class WallClock:
    """The clock on the wall of one day: turns its times into elapsed minutes from the day's midnight, and back.

    Args:
        date: the day of the deliveries, "2026-03-29"; "" for any day, on which every hour has its place.
        zone: the IANA name of the bakery's time zone; "" if the clocks never change.

    Raises:
        QuantityError: for what is no date or no zone, or one without the other.

    Example:
        >>> spring = WallClock("2026-03-29", "Europe/Berlin")
        >>> spring.elapsed(60 * 5 + 30), spring.text(270)
        (270, '05:30')
    """

    date: str = field(default="")
    zone: str = field(default="")

    def __attrs_post_init__(self) -> None:
        """Refuse at once what cannot be a day."""
        if _date(self.date) is None and self.zone:
            fault = Fault(
                "zone", f"{cited(self.zone)} without a date", "a date too", "the clocks change on certain days"
            )
            raise QuantityError(fault)
        if self.zone:
            _zone(self.zone)

    def elapsed(self, wall_min: int, *, again: bool = False) -> int:
        """Return the minutes that pass from midnight of the day to a time on the wall.

        A time that the wall shows twice means the first; one that it skips is refused.

        Args:
            wall_min: minutes after midnight as the clock shows them, negative for the evening before.
            again: the second time that the wall shows it.

        Raises:
            QuantityError: when the clocks skip this time, or do not show it twice.
        """
        first = self._elapsed(wall_min, fold=0)
        if not again:
            return first
        second = self._elapsed(wall_min, fold=1)
        if second == first:
            fault = Fault("time", str(Moment(wall_min, again=True)), "a time that the clocks show twice that night")
            raise QuantityError(fault)
        return second

    def _elapsed(self, wall_min: int, fold: int) -> int:
        day = _date(self.date)
        if day is None or not self.zone:
            return wall_min
        zone = _zone(self.zone)
        shown = datetime(day.year, day.month, day.day) + timedelta(minutes=wall_min)  # noqa: DTZ001 - gets its zone below
        moment = shown.replace(tzinfo=zone, fold=fold).astimezone(UTC)
        if moment.astimezone(zone).replace(tzinfo=None) != shown:
            got = f"{clock(wall_min)} on {self.date}"
            fault = Fault("time", got, "a time that the clocks show", "they are put forward then; give another time")
            raise QuantityError(fault)
        return round((moment - self._midnight()).total_seconds() / 60)

    def wall(self, elapsed_min: int) -> int:
        """Return what the clock on the wall shows, as minutes after midnight, when some minutes have passed since."""
        if not self.zone:
            return elapsed_min
        day = _date(self.date) or date.min
        shown = (self._midnight() + timedelta(minutes=elapsed_min)).astimezone(_zone(self.zone)).replace(tzinfo=None)
        return round((shown - datetime(day.year, day.month, day.day)).total_seconds() / 60)  # noqa: DTZ001 - both are what the wall shows

    def text(self, elapsed_min: int) -> str:
        """Write a moment as the wall shows it; the second showing of an hour that comes twice is marked."""
        shown = self.wall(elapsed_min)
        again = self.elapsed(shown) != elapsed_min
        return str(Moment(shown, again))

    def moment(self, elapsed_min: int) -> datetime:
        """Return a moment with its date: in UTC where the zone is known, else as the clock on the wall shows it.

        Args:
            elapsed_min: minutes that have passed since midnight of the day.

        Raises:
            QuantityError: without a date.

        Example:
            >>> print(WallClock("2026-11-25", "Etc/GMT-1").moment(90), WallClock("2026-11-25").moment(-60))
            2026-11-25 00:30:00+00:00 2026-11-24 23:00:00
        """
        day = _date(self.date)
        if day is None:
            fault = Fault("date", "none", "the date of the day", 'give one, such as date = "2026-11-25"')
            raise QuantityError(fault)
        if self.zone:
            return self._midnight() + timedelta(minutes=elapsed_min)
        return datetime(day.year, day.month, day.day) + timedelta(minutes=elapsed_min)  # noqa: DTZ001 - has no zone

    def _midnight(self) -> datetime:
        day = _date(self.date) or date.min
        return datetime(day.year, day.month, day.day, tzinfo=_zone(self.zone)).astimezone(UTC)


NO_DATE: Final = WallClock()
