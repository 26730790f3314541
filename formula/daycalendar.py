"""The day as a calendar that other programs read: an event for each task at a station (RFC 5545).

Times are in UTC where the workshop has a date and a zone; with a date alone they are the bakery's own clock.  What only
waits (bulk, proof, cooling) is no event.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Final

from .clockwork import Timetable
from .errors import Fault, FormulaError
from .stations import Task
from .words import counted, one_line

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["day_ics"]

WORK: Final = ("clean", "autolyse", "mix", "divide", "shape", "bake", "slice", "pack")
LINE_OCTETS: Final = 75


def day_ics(table: Timetable, *, stamp: datetime | None = None) -> str:
    """Return a day as an iCalendar file: what is done at mixers, bench, ovens, slicer and packing, and when.

    Args:
        table: the day on the clock; its workshop needs a date.
        stamp: when the calendar was made, with its zone; now if left out.

    Raises:
        FormulaError: for a workshop without a date.

    An event keeps its name from one writing to the next, so that a program that has the day already brings it up to date.

    Example:
        >>> from formula import Bakery, Formula, Mixer, Order, Oven, Process, Workshop, plan_day, timetable
        >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 65, "salt": 2})
        >>> spiral = Mixer("spiral", capacity="80 kg", friction="20 K")
        >>> bakery = Bakery("Harbour", mixers=[spiral], flour="21 °C", room="23 °C", tap="14 °C")
        >>> process = Process(mix="12 min", bulk="1 h", proof="1 h", bake="35 min", loads={"deck": 60})
        >>> shop = Workshop(opens="01:00", ovens=[Oven("deck")], processes={"Loaf": process}, day="2026-11-25")
        >>> table = timetable(plan_day([Order(loaf, pieces=40, baked="800 g", due="06:00")], bakery), shop)
        >>> day_ics(table).splitlines()[0]
        'BEGIN:VCALENDAR'
    """
    wall = table.workshop.wall
    if not wall.date:
        fault = Fault("calendar", "a day without a date", "the date of the deliveries", 'give one: "2026-11-25"')
        raise FormulaError(fault)
    made = _utc((stamp or datetime.now(UTC)).astimezone(UTC))
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//dough-formula//day//EN", "CALSCALE:GREGORIAN"]
    for task in sorted((task for task in table.tasks if task.what in WORK), key=lambda task: task.begin_min):
        lines += _event(table, task, made)
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in _folded(line))


def _event(table: Timetable, task: Task, made: str) -> Iterator[str]:
    from uuid import NAMESPACE_OID, uuid5  # noqa: PLC0415 - only a calendar pays for it

    wall = table.workshop.wall
    load = f", load {task.load}" if task.load else ""
    name = f"{table.day.bakery.name} {wall.date} {task.what} {task.bread} {task.mix} {task.load}"
    yield "BEGIN:VEVENT"
    yield f"UID:{uuid5(NAMESPACE_OID, name)}"
    yield f"DTSTAMP:{made}"
    yield f"DTSTART:{_utc(wall.moment(task.begin_min))}"
    yield f"DTEND:{_utc(wall.moment(task.end_min))}"
    pieces = f", {counted(task.pieces, 'piece')}" if task.pieces else ""
    what = "clean before" if task.what == "clean" else task.what
    yield f"SUMMARY:{_text(f'{what} {task.bread}, mix {task.mix}{load}{pieces}')}"
    yield f"LOCATION:{_text(task.station)}"
    yield "END:VEVENT"


def _utc(moment: datetime) -> str:
    return moment.strftime("%Y%m%dT%H%M%S") + ("Z" if moment.tzinfo else "")


def _text(text: str) -> str:
    r"""Write text as a value: backslash, semicolon and comma are told apart from the calendar's own."""
    plain = one_line(text)
    for sign in ("\\", ";", ","):
        plain = plain.replace(sign, f"\\{sign}")
    return plain


def _folded(line: str) -> Iterator[str]:
    """Break a line after at most 75 octets, never within a sign; what follows begins with a space."""
    part = ""
    for sign in line:
        if len((part + sign).encode()) > LINE_OCTETS:
            yield part
            part = " "
        part += sign
    yield part
