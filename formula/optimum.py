"""The best order of the mixes: found by a constraint solver instead of by rule, with a proof of how good it is.

Needs the extra ``plan`` (OR-tools), which is imported when a day is optimised.  The tasks are those of the plain planner,
with the same windows, places and people; which begins when, and which oven takes which load, is the solver's choice.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from attrs import field, frozen

from .bookings import FOREVER, Bookings
from .clockwork import Timetable, made_table, timetable
from .day import DayPlan
from .errors import FormulaError, MissingExtraError, cited
from .process import busy_min
from .quantity import TIME, Door, Measure
from .solver import ChosenLoad, ChosenMix, ChosenPart, DaySolver, after_cooling
from .stations import Job, Task
from .working import Caution
from .workshop import Workshop

__all__ = ["Optimum", "optimise"]


@frozen
class Optimum:
    """The best plan found for a day, the plain plan beside it, and what is proven of it.

    ``bound_piece_min`` is proven: no plan of these mixes with full loads is less late.  ``bound_span_min`` likewise: none that
    is no later is done in less time, from the first mix to the last piece packed.
    """

    timetable: Timetable
    plain: Timetable
    bound_piece_min: int
    bound_span_min: int
    cautions: tuple[Caution, ...] = field(default=())

    @property
    def late_piece_min(self) -> int:
        """The minutes by which each piece is late, summed."""
        return self.timetable.late_piece_min

    @property
    def span_min(self) -> int:
        """Minutes from the first mix to the last piece packed."""
        return _span(self.timetable)

    @property
    def proven(self) -> bool:
        """Whether it is proven that no plan of these mixes is less late."""
        return not self.timetable.unplaced and self.late_piece_min <= self.bound_piece_min

    @property
    def span_proven(self) -> bool:
        """Whether it is also proven that none as late is done in less time."""
        return self.proven and self.span_min <= self.bound_span_min

    @property
    def is_better(self) -> bool:
        """Whether it is better than the plain plan."""
        return _score(self.timetable) < _score(self.plain)

    @property
    def said(self) -> tuple[str, ...]:
        """What was found and what is proven, a sentence each."""
        plain, late = self.plain.late_piece_min, self.late_piece_min
        proof = "none is less late" if self.proven else f"none is late by less than {self.bound_piece_min}"
        lines = [f"Minutes by which pieces are late, summed: {late}, in the plain plan {plain}; {proof}."]
        lines.append(
            f"From the first mix to the last piece: {self.span_min} min, in the plain plan {_span(self.plain)}."
        )
        return (*lines, *(f"{caution.text[:1].upper()}{caution.text[1:]}." for caution in self.cautions))

    def to_tables(self) -> dict[str, Any]:
        """Return what is proven as plain tables, with the timetable."""
        return {
            "late_piece_min": self.late_piece_min,
            "bound_piece_min": self.bound_piece_min,
            "proven": self.proven,
            "span_min": self.span_min,
            "bound_span_min": self.bound_span_min,
            "span_proven": self.span_proven,
            "plain_late_piece_min": self.plain.late_piece_min,
            "plain_span_min": _span(self.plain),
            "timetable": self.timetable.to_tables(),
            "cautions": [{"code": caution.code, "text": caution.text} for caution in self.cautions],
        }


def _span(table: Timetable) -> int:
    return table.end_min - table.begin_min if table.tasks else 0


def _score(table: Timetable) -> tuple[int, int, int]:
    """What is worse than what: pieces not made, then how late they are, then how long it all takes."""
    return table.short_pieces, table.late_piece_min, _span(table)


def optimise(
    day: DayPlan,
    workshop: Workshop,
    *,
    time_limit: Measure = "10 s",
    workers: int = 8,
    progress: Callable[[str], None] | None = None,
) -> Optimum:
    """Choose the order of a day's mixes and the ovens of their loads for least lateness, then for the shortest day.

    Lateness is the sum over all pieces of the minutes by which each is packed after it is due: ten loaves late by a minute
    are as bad as one late by ten.  The day's length is from the first mix to the last piece packed.

    Args:
        day: the day's doughs and mixes, from ``plan_day``; they are not changed.
        workshop: as for ``timetable``.
        time_limit: how long may be searched; what is best by then is returned, with what is proven so far.
        workers: how many searches run side by side.
        progress: is called with a line whenever something better is found.

    Returns:
        The best plan, never worse than the plain one, which it begins from; where nothing better is found, the plain one
        is returned and a caution says so.

    Raises:
        MissingExtraError: without OR-tools.
        FormulaError: a time limit of nothing, and all that ``timetable`` refuses.

    Range: days of some dozen mixes; a larger one begins from the plain plan and may not get far from it.  Several searches
    side by side, and a limit by the clock, make the answer differ from run to run unless it is proven.

    Example:
        >>> from formula import Bakery, Formula, Mixer, Order, Oven, Process, Wait, plan_day
        >>> bakery = Bakery("Harbour Bakery", mixers=[Mixer("spiral", capacity="100 kg", friction="20 K")],
        ...     flour="20 °C", room="22 °C", tap="14 °C")
        >>> process = Process(mix="20 min", bulk="1 h", proof=Wait("1 h", latest="1 h 20 min"),
        ...     bake="30 min", loads={"deck": 40})
        >>> shop = Workshop(opens="00:00", ovens=[Oven("deck")], processes=dict.fromkeys(("Quay Round", "Mooring Stick"), process))
        >>> lean = {"bread flour": 100, "water": 68, "salt": 2, "fresh yeast": 1}
        >>> orders = [
        ...     Order(Formula.from_percents("Quay Round", lean), pieces=80, baked="800 g", due="03:30"),
        ...     Order(Formula.from_percents("Mooring Stick", lean), pieces=40, baked="300 g", due="02:50"),
        ... ]
        >>> best = optimise(plan_day(orders, bakery, shop), shop)
        >>> best.plain.late_piece_min, best.late_piece_min, best.proven
        (2400, 800, True)
    """
    with Door(FormulaError) as door:
        limit_h = door.read(TIME, time_limit, "time_limit")
        if limit_h <= 0:
            door.refuse("time_limit", cited(time_limit), "a time above zero")
        if isinstance(workers, bool) or not isinstance(workers, int) or workers < 1:  # pyright: ignore[reportUnnecessaryIsInstance]
            door.refuse("workers", cited(workers), "a whole number of 1 or more")
    try:
        from ortools.sat.python import cp_model  # noqa: PLC0415 - an extra, and half a second
    except ImportError:
        raise MissingExtraError("plan", "ortools") from None
    plain = timetable(day, workshop)
    ends = time.monotonic() + 3600 * limit_h
    search = DaySolver(cp_model, plain)

    def told(late: int, bound: int) -> None:
        if progress is not None:
            progress(f"late by {late} minutes of pieces; no plan is late by less than {bound}")

    def spanned(span: int, bound: int) -> None:
        if progress is not None:
            progress(f"done in {span} min; no plan as late is done in less than {bound}")

    # The greater part of the time for the first aim; what it leaves is for the second.
    late_bound = search.least_lateness(2400 * limit_h, workers, told)
    span_bound = 0
    if late_bound is not None:
        span_bound = search.least_span(max(0.1, ends - time.monotonic()), workers, spanned)
    bound = late_bound or 0
    found = made_table(day, workshop, _tasks(search.found(), workshop), "earliest") if late_bound is not None else plain
    if _score(found) < _score(plain):
        return Optimum(found, plain, bound, span_bound)
    text = "nothing better than the plain plan was found in this time"
    if search.is_impossible:
        text = "no plan makes all the pieces: the plain plan is given, and what to change is another question"
    elif not plain.unplaced and plain.late_piece_min <= bound:
        text = "the plain plan is given: none is less late, and none that is shorter was found"
    return Optimum(plain, plain, bound, span_bound, (Caution("plain-plan", text),))


def _tasks(mixes: Sequence[ChosenMix], workshop: Workshop) -> tuple[Task, ...]:
    """Write what was chosen as the tasks of a timetable."""
    tasks = [task for mix in mixes for task in _of_mix(mix)]
    loads = [
        (part.job, number, load) for mix in mixes for part in mix.parts for number, load in enumerate(part.loads, 1)
    ]
    return (*tasks, *_finished(loads, workshop))


def _of_mix(mix: ChosenMix) -> Iterator[Task]:
    job, process = mix.job, mix.job.process
    mixing = mix.begin_min + process.autolyse_min
    mixed = mixing + process.mix_min
    if process.autolyse_min:
        yield Task("autolyse", job.bread, job.mix, mix.mixer, mix.begin_min, mixing, job.pieces)
    yield Task("mix", job.bread, job.mix, mix.mixer, mixing, mixed, job.pieces)
    yield Task("bulk", job.bread, job.mix, "tubs", mixed, mix.parts[0].divide_min, job.pieces)
    for part in mix.parts:
        yield from _of_part(part)


def _of_part(part: ChosenPart) -> Iterator[Task]:
    job, process = part.job, part.job.process

    def task(what: str, station: str, begin: int, end: int, count: int = 1) -> Task:
        return Task(what, job.bread, job.mix, station, begin, end, job.pieces, count)

    if process.divide_rate:
        divided = part.divide_min + busy_min(job.pieces, process.divide_rate, process.divide_people)
        yield task("divide", "bench", part.divide_min, divided, process.divide_people)
    if process.shape_rate:
        shaped = part.shape_min + busy_min(job.pieces, process.shape_rate, process.shape_people)
        if part.shape_min > part.divide_min:
            yield task("rest", "boards", part.divide_min, part.shape_min)
        yield task("shape", "bench", part.shape_min, shaped, process.shape_people)
    for number, load in enumerate(part.loads, 1):
        yield Task(
            "proof", job.bread, job.mix, "proof", load.shaped_min, load.begin_min, load.pieces, load.pieces, number
        )
        yield Task("bake", job.bread, job.mix, load.oven, load.begin_min, load.drawn_min, load.pieces, 1, number)


def _finished(loads: Sequence[tuple[Job, int, ChosenLoad]], workshop: Workshop) -> Iterator[Task]:
    """Cool, slice and pack, each in the order that was chosen, and as soon as there is room: never later than was chosen."""
    ready = {(job.bread, job.mix, number): load.drawn_min + job.process.cool_min for job, number, load in loads}
    leaves: dict[tuple[str, int, int], int] = {}
    for what, station, there in (("slice", "slicing", workshop.slicers), ("pack", "packing", workshop.packers)):
        calendar = Bookings(FOREVER if there is None else there)
        queue = [
            (load.later_min[steps.index(what)], job, number, load)
            for job, number, load in loads
            if what in (steps := after_cooling(job.process))
        ]
        for _, job, number, load in sorted(queue, key=lambda each: each[0]):
            key = job.bread, job.mix, number
            long = busy_min(load.pieces, job.process.slice_rate if what == "slice" else job.process.pack_rate)
            begin = calendar.first(ready[key], long, 1) or 0  # Without an end there is always room.
            calendar.take(begin, begin + long, 1)
            leaves.setdefault(key, begin)
            ready[key] = begin + long
            yield Task(what, job.bread, job.mix, station, begin, begin + long, load.pieces, 1, number)
    for job, number, load in loads:
        key = job.bread, job.mix, number
        left = leaves.get(key, ready[key])
        yield Task("cool", job.bread, job.mix, "cooling", load.drawn_min, left, load.pieces, load.pieces, number)
