"""What the command line does with a log of the day: the rest of the day planned anew, and a lot or a loaf traced."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Final

import click
from rich.console import Console

from .clockwork import Timetable
from .day import plan_day
from .daylog import Log, read_log
from .folder import load_day
from .replanning import Moved, Replan
from .screen import heading, new_console, print_json, show_cautions, show_rows
from .shopfile import load_workshop
from .stations import Task
from .tracing import LoafTrace, LotTrace, MixTrace, trace_loaf, trace_lot
from .words import counted

__all__ = ["show_replan", "trace"]

_DONE: Final = ("autolyse", "mix", "divide", "shape", "bake", "slice", "pack")
_NOT_KNOWN: Final = "not known"


def show_replan(console: Console, found: Replan) -> None:
    """Show what is still to be done, in the order of time, with what it was before; and the orders that become late."""
    table = found.timetable
    heading(console, f"From {table.clock(found.now_min)} on")
    for order in found.late:
        due = "" if order.due_min is None else f", due {table.clock(order.due_min)}"
        late = f"{counted(order.late_pieces, 'piece')} late, by {order.late_min} min at most"
        short = f"{counted(order.short_pieces, 'piece')} short"
        told = [text for text, count in ((late, order.late_pieces), (short, order.short_pieces)) if count]
        console.print(f"LATER THAN PLANNED. {order.name}{due}: {'; '.join(told)}")
    if not found.late:
        console.print("No order becomes later than planned.")
    show_cautions(console, found.cautions)
    console.print()
    was = {(each.bread, each.mix, each.what, each.load): each for each in found.moved}
    rows = [
        (
            table.clock(task.begin_min),
            table.clock(task.end_min),
            _was(table, task, was.get((task.bread, task.mix, task.what, task.load))),
            task.what,
            task.bread,
            str(task.mix),
            str(task.load or ""),
            task.station,
            str(task.pieces),
        )
        for task in found.rest
        if task.what in _DONE
    ]
    show_rows(console, ("begin", "end", "was", "what", "bread", "mix", "load", "where", "pieces"), rows)


def _was(table: Timetable, task: Task, moved: Moved | None) -> str:
    if moved is None:
        return ""
    if moved.old_begin_min is None:
        return "new"
    return table.clock(moved.old_begin_min) + (f", {moved.old_station}" if moved.old_station != task.station else "")


@click.command()
@click.argument("words", nargs=-1, required=True, metavar="[LOT] FOLDER")
@click.option("--log", "log_file", required=True, type=click.Path(path_type=Path), help="The log of that day.")
@click.option("--bread", help="Instead of a lot: the bread of a loaf, as the plan calls it.")
@click.option("--mix", type=int, help="With --bread: its mix.")
@click.option("--load", type=int, help="With --mix: its load.")
@click.option("--due", default="", help="With --bread: the delivery it came with, such as 05:30.")
@click.option("--json", "as_json", is_flag=True, help="Print the trace as JSON.")
def trace(
    words: tuple[str, ...],
    log_file: Path,
    bread: str | None,
    mix: int | None,
    load: int | None,
    due: str,
    as_json: bool,  # noqa: FBT001 - a flag, as click hands it over
) -> None:
    """Trace a LOT to every mix and delivery of the day in FOLDER, or a loaf (--bread) back to its lots."""
    if bread is None and (mix is not None or load is not None or due):
        message = "--mix, --load and --due go with --bread"
        raise click.UsageError(message)
    if len(words) != (2 if bread is None else 1):
        message = "write LOT FOLDER, or --bread NAME FOLDER"
        raise click.UsageError(message)
    folder = Path(words[-1])
    orders, bakery = load_day(folder)
    day = plan_day(orders, bakery, load_workshop(folder))
    log: Log = read_log(log_file)
    found = trace_lot(log, day, words[0]) if bread is None else trace_loaf(log, day, bread, mix=mix, load=load, due=due)
    if as_json:
        print_json(found.to_tables())
        return
    console = new_console()
    if isinstance(found, LotTrace):
        _show_lot(console, found)
    else:
        _show_loaf(console, found)
    show_cautions(console, found.cautions)


def _show_lot(console: Console, found: LotTrace) -> None:
    heading(console, f"Lot {found.lot}: {', '.join(found.ingredients) or 'not in the log'}")
    for build in found.builds:
        console.print(f"built stage: {build}")
    _show_mixes(console, found.mixes, "touched")
    _show_mixes(console, found.perhaps, "may be touched: no lot written down")
    if found.deliveries:
        rows = [
            (each.bread, each.due or "no time", str(each.pieces), "yes" if each.certain else "may be: not written down")
            for each in found.deliveries
        ]
        show_rows(console, ("delivery", "due", "pieces", "touched"), rows)
        console.print()


def _show_mixes(console: Console, mixes: Iterable[MixTrace], title: str) -> None:
    alike: dict[tuple[str, str, str, str], list[str]] = {}
    for mix in mixes:
        loads = ", ".join(map(str, mix.loads)) or _NOT_KNOWN
        alike.setdefault((mix.bread, mix.begun or _NOT_KNOWN, mix.who or _NOT_KNOWN, loads), []).append(str(mix.mix))
    if alike:
        rows = [(bread, ", ".join(numbers), *known) for (bread, *known), numbers in alike.items()]
        show_rows(console, (title, "mix", "begun", "mixed by", "loads"), rows)
        console.print()


def _show_loaf(console: Console, found: LoafTrace) -> None:
    for mixes, words in ((found.mixes, ""), (found.perhaps, "perhaps ")):
        for mix in mixes:
            heading(
                console,
                f"{words}{mix.bread}, mix {mix.mix}: begun {mix.begun or _NOT_KNOWN}, mixed by {mix.who or _NOT_KNOWN}",
            )
            rows = [
                (origin.ingredient, origin.via or "the mix", ", ".join(origin.lots) or _NOT_KNOWN)
                for origin in mix.origins
            ]
            show_rows(console, ("ingredient", "through", "lots"), rows)
            console.print()
