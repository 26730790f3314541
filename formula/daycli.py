"""The command of the day: the plan and its clock on the screen, on sheets, in a calendar and as a picture."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, cast

import click

from .bakery import Bakery
from .clockwork import Aim, InOrder, Timetable, timetable
from .day import DayPlan, plan_day
from .daycalendar import day_ics
from .daylog import read_log
from .daypages import verdict
from .daysheet import day_html, day_xlsx
from .errors import Fault, FileError, Gathered
from .files import write_whole
from .folder import load_day
from .hourwater import waters
from .logcli import show_replan
from .optimum import Optimum, optimise
from .orders import Order
from .plot import picture, plot_timetable
from .relief import Remedies, remedies
from .replanning import Replan, replan
from .screen import (
    UNITS,
    json_text,
    new_console,
    print_json,
    show_clock,
    show_day,
    show_three_ways,
    show_working,
    waiting,
)
from .shopfile import load_workshop
from .threeways import ThreeWays, day_three_ways

__all__ = ["day"]


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON: weights in g, temperatures in °C.")
@click.option("--unit", type=click.Choice(sorted(UNITS)), default="g", show_default=True, help="Unit of the weights.")
@click.option("--methods", is_flag=True, help="Show the water by three methods: rule, heat balance, correction.")
@click.option("--working", is_flag=True, help="Show every step of the arithmetic.")
@click.option(
    "--aim",
    type=click.Choice(["latest", "earliest"]),
    help="Begin as late as the deliveries allow (if left out), or as early as the shop opens.",
)
@click.option("--share", is_flag=True, help="Mix one dough for all breads that are made of it, and divide it apart.")
@click.option(
    "--order",
    type=click.Choice(["given", "allergens"]),
    help="The doughs of a mixer as ordered (if left out), or as they need the fewest cleanings for allergens.",
)
@click.option("--date", default="", metavar="YYYY-MM-DD", help="The day of the deliveries, in the place of the file's.")
@click.option("--sheet", type=click.Choice(["html", "xlsx", "json", "ics"]), help="Write the day into the file --out.")
@click.option("--out", type=click.Path(path_type=Path), help="With --sheet: the file to write.")
@click.option(
    "--plot", "drawing", type=click.Path(path_type=Path), help="Draw the clock into a picture, such as day.png."
)
@click.option("--remedies", "mend", is_flag=True, help="Say what the day waits for, and what would mend it.")
@click.option(
    "--optimise", "best_order", is_flag=True, help="Search for the best order of the mixes (needs the extra plan)."
)
@click.option("--time-limit", metavar="TIME", help='With --optimise: how long to search, "10 s" if left out.')
@click.option(
    "--replan",
    "log_file",
    type=click.Path(path_type=Path),
    help="The log of what happened: plan the rest of the day anew.",
)
@click.option("--now", help='With --replan: from when on, such as "02:10"; the latest line of the log, if left out.')
def day(
    folder: Path,
    as_json: bool,  # noqa: FBT001 - flags, as click hands them over
    unit: str,
    methods: bool,  # noqa: FBT001
    working: bool,  # noqa: FBT001
    aim: Aim | None,
    share: bool,  # noqa: FBT001
    order: InOrder | None,
    date: str,
    sheet: str | None,
    out: Path | None,
    drawing: Path | None,
    mend: bool,  # noqa: FBT001
    best_order: bool,  # noqa: FBT001
    time_limit: str | None,
    log_file: Path | None,
    now: str | None,
) -> None:
    """Plan a day: mixes, weigh sheets, water and pieces from the orders in FOLDER, and its clock by workshop.toml."""
    _together(
        {
            "--sheet and --out go together": (sheet is None) != (out is None),
            "--now goes with --replan": bool(now and not log_file),
            "--optimise chooses when to begin, without --aim": bool(aim and best_order),
            "--time-limit goes with --optimise": bool(time_limit and not best_order),
        }
    )
    tried = Gathered()
    files = tried.attempt(lambda: load_day(folder))
    workshop = tried.attempt(lambda: load_workshop(folder, date=date))
    tried.close()
    # Without faults there are files.
    orders, bakery = cast("tuple[tuple[Order, ...], Bakery]", files)
    with waiting("planning the day"):
        plan = plan_day(orders, bakery, workshop, share=share or None)
        table = timetable(plan, workshop, aim=aim or "latest", order=order or "given") if workshop else None
    best, found = _searched(table, time_limit or "10 s" if best_order else None, mend=mend)
    table = best.timetable if best else table
    replanned = _replanned(table, log_file, now)
    if replanned:
        plan, table = replanned.timetable.day, replanned.timetable
    ways = day_three_ways(plan) if methods else {}
    tables = _tables(plan, table, ways) | _more_tables(best, found, replanned)
    if table is None:
        _need_workshop(
            folder,
            {
                "--remedies": mend,
                "--optimise": best_order,
                "--replan": log_file,
                "--aim": aim,
                "--order": order,
                "--date": date,
                "--plot": drawing,
                "--sheet": sheet if sheet != "json" else "",
            },
        )
    if out:
        with waiting(f"writing {out.name}"):
            write_whole(out, _sheet(sheet, table, tables, unit))
        click.echo(f"{out} written", err=as_json)
    if drawing and table:
        with waiting(f"drawing {drawing.name}"):
            write_whole(drawing, picture(plot_timetable(table), drawing.suffix))
        click.echo(f"{drawing} written", err=as_json)
    if as_json:
        print_json(tables)
    elif replanned and not out and not drawing:
        show_replan(new_console(), replanned)
    elif not out and not drawing:
        _show(plan, table, ways, unit, working=working)
        for line in (*(best.said if best else ()), *(found.said if found else ())):
            click.echo(line)
        return
    if table and not table.fits:
        click.echo(f"THE DAY DOES NOT FIT. {verdict(table)}", err=True)


def _together(wrong: Mapping[str, bool]) -> None:
    """Refuse options that do not go together."""
    for message, is_wrong in wrong.items():
        if is_wrong:
            raise click.UsageError(message)


def _replanned(table: Timetable | None, log_file: Path | None, now: str | None) -> Replan | None:
    if not table or not log_file:
        return None
    with waiting("planning the rest of the day"):
        return replan(table, read_log(log_file), now)


def _more_tables(best: Optimum | None, found: Remedies | None, replanned: Replan | None) -> dict[str, Any]:
    tables: dict[str, Any] = {}
    if best:
        # The timetable stands there already.
        tables["optimum"] = {name: value for name, value in best.to_tables().items() if name != "timetable"}
    if found:
        tables["remedies"] = found.to_tables()
    if replanned:
        tables["replan"] = replanned.to_tables()
    return tables


def _searched(table: Timetable | None, time_limit: str | None, *, mend: bool) -> tuple[Optimum | None, Remedies | None]:
    """Search for the best order and for remedies, where asked, with a line on what has been found so far."""
    best = found = None
    if table and time_limit:
        with waiting("searching for the best order") as say:
            best = optimise(table.day, table.workshop, time_limit=time_limit, progress=say)
    if table and mend:
        with waiting("looking for remedies") as say:
            found = remedies(table, progress=say)
    return best, found


def _tables(plan: DayPlan, table: Timetable | None, ways: Mapping[str, ThreeWays]) -> dict[str, Any]:
    tables = plan.to_tables()
    if ways:
        tables["methods"] = {name: _way(found) for name, found in ways.items()}
    if table:
        tables["timetable"] = table.to_tables()
        if plan.bakery.hours:
            tables["waters"] = [water.to_table() for water in waters(table)]
    return tables


def _way(found: ThreeWays) -> dict[str, Any]:
    return {
        "rule_c": found.rule_c,
        "balance_c": found.balance_c,
        "correction_c": found.correction_c,
        "moved_k": found.moved_k,
        "cautions": [{"code": caution.code, "text": caution.text} for caution in found.cautions],
    }


def _need_workshop(folder: Path, options: Mapping[str, object]) -> None:
    """Refuse what only a day with a clock can do."""
    given = [name for name, value in options.items() if value]
    if given:
        got = f"no such file, but {' and '.join(given)}"
        mend = "say there when it opens, with which ovens and people, and how each bread is made"
        raise FileError(Fault(str(folder / "workshop.toml"), got, "a file that puts the day on the clock", mend))


def _show(plan: DayPlan, table: Timetable | None, ways: Mapping[str, ThreeWays], unit: str, *, working: bool) -> None:
    console = new_console()
    show_day(console, plan, unit)
    if ways:
        show_three_ways(console, ways)
    if table:
        show_clock(console, table)
    if working:
        for found in ways.values():
            show_working(console, found.working())
        for bread in plan.breads:
            show_working(console, bread.working())
        for dough in plan.doughs:
            if dough.is_shared:
                show_working(console, dough.working())
        show_working(console, plan.working())


def _sheet(kind: str | None, table: Timetable | None, tables: Mapping[str, Any], unit: str) -> str | bytes:
    if table is None or kind == "json":
        return json_text(tables)
    if kind == "ics":
        return day_ics(table)
    return day_xlsx(table, unit=unit) if kind == "xlsx" else day_html(table, unit=unit)
