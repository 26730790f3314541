"""The pages of the day: what each station does and when, ready to be printed, shown or opened in a spreadsheet.

One page for the head baker, one for each mixer, the bench and each oven, and one for packing and dispatch.  Times stand
under the day they belong to, so that "22:35" needs no more words.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Final

from attrs import frozen

from .breadplan import Dough
from .clockwork import Timetable
from .delivered import OrderTime
from .errors import Fault, FormulaError, UnknownNameError, cited
from .evening import StageBuilds, stage_builds
from .feeding import StageBuild
from .hourwater import waters
from .samestage import at_the_mixer
from .stations import Task
from .timeofday import DAY_MIN, clock
from .words import RAW, UNITS, counted, holds_words, mix_name, mixes_words, pour_words, weight
from .working import Caution, shown
from .workshop import Oven

__all__ = ["STAGES", "PageTable", "StationPage", "day_pages", "verdict"]

STAGES: Final = "Preferments and soakers"
"""The title of the page of what is built before."""

Cell = str | int
Row = tuple[int, tuple[Cell, ...]]
"""A moment by which rows are put in order, and the cells."""

HOT: Final = Caution(
    "hot-oven", "ovens, trays and steam burn: gloves and long sleeves, and stand aside when a door opens"
)
FIRE: Final = Caution(
    "open-fire", "a fired oven gives off carbon monoxide: keep its draught open and the room aired, as local codes say"
)
PACKED: Final = Caution("net-weight", "check net weights and labels as the law of the place asks; keep allergens apart")


@frozen
class PageTable:
    """A table of a page: a title, heads, rows of text and counts, and notes below; ``tick`` if its rows are ticked off."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    notes: tuple[str, ...] = ()
    tick: bool = False

    def is_count(self, column: int) -> bool:
        """Tell whether a column holds counts."""
        cells = [row[column] for row in self.rows if row[column] != ""]
        return bool(cells) and all(isinstance(cell, int) for cell in cells)


@frozen
class StationPage:
    """The page of one station: its title, a line about it, its tables and cautions."""

    title: str
    about: str
    tables: tuple[PageTable, ...]
    cautions: tuple[Caution, ...] = ()


def day_pages(table: Timetable, unit: str = "g") -> tuple[StationPage, ...]:
    """Lay a timetable out in pages: the whole day, what is built before, each mixer, the bench, each oven, packing.

    Preferments, sours and soakers have a page of their own, and the mixers weigh them ripe, where the processes say how
    long each ripens; otherwise what they are made of stands on the sheets of the mixers.

    Args:
        table: the day on the clock.
        unit: the unit of the weights: "g", "kg", "oz" or "lb".

    Returns:
        The pages, without those of stations that have nothing to do.

    Raises:
        UnknownNameError: for another unit.

    Example:
        >>> from formula import load_day, load_workshop, plan_day, timetable
        >>> shop = load_workshop("docs/examples/harbour")
        >>> table = timetable(plan_day(*load_day("docs/examples/harbour"), shop), shop)
        >>> [page.title for page in day_pages(table)][:3]
        ['The whole day', 'Preferments and soakers', 'the big spiral']
    """
    if unit not in UNITS:
        raise UnknownNameError(Fault("unit", cited(unit), f"one of {', '.join(UNITS)}"))
    desk = _Desk(table, unit)
    pages = [desk.whole(), desk.stages(), *(desk.mixer(mixer.name) for mixer in table.day.bakery.mixers), desk.bench()]
    pages += [*(desk.oven(oven) for oven in table.workshop.ovens), desk.packing()]
    return tuple(page for page in pages if page.tables)


def verdict(table: Timetable) -> str:
    """Say in a sentence whether the day fits, and which station is busiest."""
    if not table.tasks:
        return f"NOTHING FITS: {counted(table.short_pieces, 'piece')} SHORT"
    late = [order for order in table.orders if order.late_min]
    parts = [f"From {table.clock(table.begin_min)} to {table.clock(table.end_min)}"]
    if table.fits:
        parts.append("every order is packed in time")
    if late:
        orders = "1 order" if len(late) == 1 else f"{len(late)} orders"
        parts.append(f"{orders} LATE: {counted(table.late_pieces, 'piece')}, by up to {table.late_min} min")
    if table.short_pieces:
        parts.append(f"{counted(table.short_pieces, 'piece')} SHORT, for which there is no room")
    busiest = table.bottleneck
    parts.append(f"busiest: {busiest}, at work {100 * table.busy[busiest]:.0f} % of that time")
    return "; ".join(parts)


def _builds(table: Timetable) -> StageBuilds | None:
    """Return what is built before; None where a process does not say how long one of its stages ripens."""
    try:
        return stage_builds(table)
    except FormulaError:
        return None


class _Desk:
    """Writes the pages of one timetable."""

    def __init__(self, table: Timetable, unit: str) -> None:
        self.table, self.unit = table, unit
        self.plans = {plan.name: plan for plan in table.day.breads}
        # A task is for a dough up to the divider, and for one of its breads from there on.
        named = [(name, dough) for dough in table.day.doughs for name in (dough.name, *(b.name for b in dough.breads))]
        self.doughs = dict(named)
        self.pours = {(water.dough, water.mix): water.pour for water in waters(table)}
        self.builds = _builds(table)

    def time(self, minutes: int) -> str:
        """Return the time of day alone; an hour that the night has twice stays marked."""
        text = self.table.clock(minutes)
        return text[:5] + (" (the second time)" if text.endswith(")") else "")

    def times(self, task: Task) -> tuple[str, str]:
        """Return when a task begins and ends."""
        return self.time(task.begin_min), self.time(task.end_min)

    def span(self, tasks: Sequence[Task]) -> str:
        """Return from when to when some tasks are done."""
        begin, end = min(task.begin_min for task in tasks), max(task.end_min for task in tasks)
        return f"{self.time(begin)}-{self.time(end)}"

    def which(self, task: Task) -> str:
        """Return which mix of how many a task is for."""
        return f"{task.mix}/{self.doughs[task.bread].mix_count}"

    def by_day(self, title: str, columns: tuple[str, ...], rows: Iterable[Row]) -> Iterator[PageTable]:
        """Make a table for each day on which something begins, in the order of the clock."""
        wall = self.table.workshop.wall
        ordered = sorted(rows, key=lambda row: row[0])
        for number, own in groupby(ordered, key=lambda row: wall.wall(row[0]) // DAY_MIN):
            words = clock(number * DAY_MIN)[5:].strip() or "the day"
            yield PageTable(f"{title}, {words}", columns, tuple(cells for _, cells in own), tick=True)

    def whole(self) -> StationPage:
        """Write the head baker's page: every order, and the way of every mix in a line."""
        table = self.table
        mixes: dict[tuple[str, int], list[Task]] = {}
        for task in table.tasks:
            if task.what != "clean":
                mixes.setdefault((task.bread, task.mix), []).append(task)
        for (name, mix), tasks in list(mixes.items()):
            dough = self.doughs[name]
            if dough.is_shared and name != dough.name:
                # What is done for the whole dough is a part of the way of each of its breads.
                mixes[name, mix] = [*mixes[dough.name, mix], *tasks]
        mixes = {key: tasks for key, tasks in mixes.items() if key[0] in self.plans}
        columns = ("mixing", "bread", "mix", "pieces", "divide", "shape", "in and out", "packed")
        ways = self.by_day("Mixes", columns, map(self.way, mixes.values()))
        return StationPage(
            "The whole day", verdict(table), (self.orders(), *ways), (*table.day.cautions, *table.cautions)
        )

    def way(self, tasks: Sequence[Task]) -> Row:
        """Write the way of one mix."""
        by = {what: [task for task in tasks if task.what == what] for what in {task.what for task in tasks}}
        mixing = [*by.get("autolyse", []), *by["mix"]]
        divide, shape = (self.time(by[what][0].begin_min) if what in by else "" for what in ("divide", "shape"))
        mix = by["mix"][0]
        packed = self.time(max(task.end_min for task in tasks))
        cells = (
            self.span(mixing),
            by["bake"][0].bread,
            self.which(mix),
            sum(task.pieces for task in by["bake"]),
            divide,
            shape,
            self.span(by["bake"]),
            packed,
        )
        return mixing[0].begin_min, cells

    def orders(self) -> PageTable:
        """Write the orders as they are due."""
        rows = sorted(self.table.orders, key=lambda order: (order.due_min is None, order.due_min or 0, order.name))
        return PageTable(
            "Orders", ("due", "bread", "ordered", "packed", "note"), tuple(map(self.order, rows)), tick=True
        )

    def order(self, row: OrderTime) -> tuple[Cell, ...]:
        """Write one order."""
        due = "" if row.due_min is None else self.table.clock(row.due_min)
        notes: list[str] = []
        if row.short_pieces:
            notes.append(f"SHORT {counted(row.short_pieces, 'piece')}")
        if row.late_min:
            notes.append(f"LATE {row.late_min} min, {counted(row.late_pieces, 'piece')}")
        if row.due_min is not None and not notes:
            notes.append(f"{row.due_min - row.ready_min} min to spare")
        ready = self.table.clock(row.ready_min) if row.short_pieces < row.order.pieces_made else "never"
        return due, row.name, row.order.pieces, ready, "; ".join(notes)

    def stages(self) -> StationPage:
        """Write the page of what is built before: when, for what, and what to weigh."""
        builds = self.builds.builds if self.builds else ()
        columns = ("build", "ripe from", "use by", "what", "weighed")
        times = self.by_day("To build", columns, map(self.build, builds))
        cautions = self.builds.cautions if self.builds else ()
        return StationPage(
            STAGES,
            "Each is built once for all the mixes that it feeds",
            (*times, *map(self.build_sheet, builds)),
            cautions,
        )

    def build(self, build: StageBuild) -> Row:
        """Write when one stage is built, and until when it may be used."""
        times = (self.time(build.begin_min), build.ripe, build.over)
        return build.begin_min, (*times, build.title, weight(build.weighed_g, self.unit))

    def build_sheet(self, build: StageBuild) -> PageTable:
        """Write what to weigh into one stage, and what it is for."""
        rows = [(line, weight(grams, self.unit)) for line, grams in build.lines_g.items()]
        into = ", ".join(dict.fromkeys(use.into for use in build.uses))
        notes = [f"for {into}"]
        if build.seed_g:
            notes.append(f"take out {weight(round(build.seed_g), self.unit)} for tomorrow")
        return PageTable(f"{build.title}: to weigh", ("line", "weight"), tuple(rows), tuple(notes), tick=True)

    def mixer(self, name: str) -> StationPage:
        """Write a mixer's page: what to mix when, with its water, and the weigh sheets."""
        tasks = [task for task in self.table.tasks if task.station == name]
        columns = ("begin", "end", "do", "bread", "mix", "dough", "water at", "ice")
        mixing = self.by_day("Mixing", columns, map(self.mixing, tasks))
        here = {task.bread for task in tasks}
        sheets = (sheet for dough in self.table.day.doughs if dough.name in here for sheet in self.weigh_sheets(dough))
        about = f"{mixes_words(sum(task.what == 'mix' for task in tasks))}; the weigh sheets follow"
        return StationPage(name, about, (*mixing, *sheets), (RAW,))

    def mixing(self, task: Task) -> Row:
        """Write one mix at its mixer."""
        dough = self.doughs[task.bread]
        mix = next(mix for mix in dough.mixes if mix.first <= task.mix <= mix.last)
        if task.what == "clean":
            return task.begin_min, (*self.times(task), "clean before", task.bread, self.which(task), "", "", "")
        pour = self.pours.get((task.bread, task.mix))
        warm = f"{shown(pour.temperature.temperature_c, 3)} °C" if pour and pour.liquid_g else ""
        ice = weight(pour.ice_g, self.unit) if pour and pour.ice_g else ""
        cells = (task.what, task.bread, self.which(task), weight(mix.batch.dough_g, self.unit), warm, ice)
        return task.begin_min, (*self.times(task), *cells)

    def weigh_sheets(self, dough: Dough) -> Iterator[PageTable]:
        """Write what to weigh into each mix of a dough, stage by stage, what to pour, and how it is divided apart."""
        heads = tuple(f"{mix_name(mix, dough.mix_count)}, {holds_words(mix)}" for mix in dough.mixes)
        notes: list[str] = []
        for mix, head in zip(dough.mixes, heads, strict=True):
            if mix.pour and not self.table.day.bakery.hours:
                notes.append(f"{head}: {pour_words(mix.pour, self.unit)}")
            later = [f"{weight(row.mass_g, self.unit)} of {row.name}" for row in mix.batch.later]
            notes += [f"{head}, held back and added later: {', '.join(later)}"] if later else []
            if dough.is_shared:
                parts = [f"{each.pieces} of {each.bread} at {weight(each.piece_g, self.unit)}" for each in mix.portions]
                notes.append(f"{head}, to divide: {', '.join(parts)}")
        if self.table.day.bakery.hours and any(mix.pour for mix in dough.mixes):
            notes.append("The water of each mix, by the hour at which it begins, stands above.")
        stages = tuple(dough.mixes[0].batch.stages)
        if self.builds:
            # What stands built is weighed as one line; what it is made of stands on its own page.
            stages = tuple(sheet.name for sheet in at_the_mixer(dough.breads[0], dough.mixes[0]))
        for name in stages:
            batches = [mix.batch.stages[name] for mix in dough.mixes]
            rows = [
                (row.name, *(weight(batch.rows[place].mass_g, self.unit) for batch in batches))
                for place, row in enumerate(batches[0].rows)
            ]
            rows.append(("together", *(weight(batch.total_g, self.unit) for batch in batches)))
            last = tuple(notes) if name == stages[-1] else ()
            yield PageTable(f"{dough.name}, {name}: to weigh for one mix", (name, *heads), tuple(rows), last)

    def bench(self) -> StationPage:
        """Write the page of the bench: folds, dividing, shaping, and what goes on top."""
        columns = ("begin", "end", "do", "bread", "mix", "pieces", "each", "people")
        rows = [row for task in self.table.tasks for row in self.at_bench(task)]
        toppings = [
            (f"{plan.name}: {weight(grams, self.unit)} of {name} on each piece",)
            for plan in self.table.day.breads
            for name, grams in plan.bread.toppings_g.items()
        ]
        tops = [PageTable("Toppings and washes", ("to issue",), tuple(toppings))] if toppings and rows else []
        return StationPage("The bench", "Fold, divide and shape", (*self.by_day("Bench", columns, rows), *tops), (RAW,))

    def at_bench(self, task: Task) -> Iterator[Row]:
        """Write what the bench has to do for a task: itself, or the folds that follow a mix."""
        which = self.which(task)
        if task.what in {"divide", "shape"}:
            each = weight(self.plans[task.bread].piece_g, self.unit) if task.what == "divide" else ""
            cells = (*self.times(task), task.what, task.bread, which, task.pieces, each, task.count)
            yield task.begin_min, cells
        plan = self.doughs[task.bread].breads[0]
        process = self.table.workshop.process_of(plan.weighed_name, plan.bread.name)
        if task.what == "mix" and process:
            for fold_min in process.folds_min:
                at = task.end_min + fold_min
                yield at, (self.time(at), "", "fold", task.bread, which, "", "", "")

    def oven(self, oven: Oven) -> StationPage:
        """Write the page of an oven: its firings, and each load in and out."""
        tasks = [task for task in self.table.tasks if task.station == oven.name]
        rows = [(task.begin_min, (*self.times(task), *self.load(task))) for task in tasks]
        loads = self.by_day("Loads", ("in", "out", "bread", "mix", "load", "pieces"), rows)
        cells = tuple(
            (clock(fired), clock(begin), clock(end))
            for fired, (begin, end) in zip(oven.fired_min, oven.hot(), strict=False)
        )
        fires = [PageTable("Firings", ("fire at", "bake from", "until"), cells, tick=True)] if cells and tasks else []
        about = f"{len(tasks)} loads, {oven.turn_round_min} min between two of them"
        return StationPage(oven.name, about, (*fires, *loads), (HOT, FIRE) if cells else (HOT,))

    def load(self, task: Task) -> tuple[Cell, ...]:
        """Write which load of which mix a task is for."""
        return task.bread, self.which(task), task.load, task.pieces

    def packing(self) -> StationPage:
        """Write the page of packing and dispatch: the orders, and what is sliced and packed when."""
        rows = [
            (task.begin_min, (*self.times(task), task.what, *self.load(task)))
            for task in self.table.tasks
            if task.what in {"slice", "pack"}
        ]
        columns = ("begin", "end", "do", "bread", "mix", "load", "pieces")
        tables = (self.orders(), *self.by_day("Packing", columns, rows))
        return StationPage("Packing and dispatch", verdict(self.table), tables, (PACKED,))
