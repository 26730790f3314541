"""The screen: results laid out as tables for a terminal; the only room that knows rich."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Generator, Iterable, Mapping, Sequence
from contextlib import contextmanager
from threading import Event, Thread
from typing import Any

from rich.box import HORIZONTALS
from rich.console import Console
from rich.table import Table
from rich.text import Text

from .board import show_working
from .breadplan import BreadPlan, Dough
from .clockwork import Timetable
from .comparison import Change, Comparison
from .day import DayPlan
from .daypages import STAGES, PageTable, day_pages, verdict
from .errors import FormulaError
from .formula import Formula
from .scalingweight import NetWeight
from .stage import FINAL
from .stock import ReadyList
from .threeways import ThreeWays
from .weighing import BatchStage
from .words import UNITS, holds_words, mix_name, mixes_words, one_line, pour_words, weight
from .working import Caution, shown

__all__ = [
    "UNITS",
    "heading",
    "json_text",
    "new_console",
    "new_table",
    "print_json",
    "show_batch_stage",
    "show_by_stage",
    "show_cautions",
    "show_clock",
    "show_comparison",
    "show_day",
    "show_net_weight",
    "show_ready",
    "show_rows",
    "show_table",
    "show_three_ways",
    "show_working",
    "waiting",
    "weight",
]


class _PlainConsole(Console):
    """A console that leaves it to the caller what to do when its reader has gone."""

    def on_broken_pipe(self) -> None:
        """Raise on what newer versions of rich would end the program for."""
        raise BrokenPipeError


def new_console() -> Console:
    """Return a console that prints plain text; to a file or a pipe no line is broken."""
    return _PlainConsole(highlight=False, markup=False, emoji=False, width=None if sys.stdout.isatty() else 1000)


def json_text(tables: Mapping[str, Any], *, plain: bool = False) -> str:
    """Return tables as JSON; ``plain`` writes all signs beyond ASCII as escapes."""
    return json.dumps(tables, ensure_ascii=plain, indent=2) + "\n"


def print_json(tables: Mapping[str, Any]) -> None:
    """Print tables as JSON; where the output does not know all signs, they are written as escapes."""
    plain = (sys.stdout.encoding or "").lower().replace("-", "") != "utf8"
    sys.stdout.write(json_text(tables, plain=plain))
    sys.stdout.flush()


def heading(console: Console, text: str) -> None:
    """Show a heading."""
    console.print(Text(text, style="bold"))


def new_table(*columns: str) -> Table:
    """Return a table with these columns, numbers to the right."""
    table = Table(box=HORIZONTALS, show_edge=False, pad_edge=False)
    for number, column in enumerate(columns):
        table.add_column(column, justify="left" if number == 0 else "right", no_wrap=True)
    return table


def show_table(console: Console, table: Table) -> None:
    """Show a table whole: where the terminal is too narrow, it breaks the lines, and no name or weight is cut."""
    width = console.width
    console.width = max(width, console.measure(table, options=console.options.update(max_width=10_000)).maximum)
    console.print(table, crop=False)
    console.width = width


def show_rows(console: Console, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Show rows of text under their heads."""
    table = new_table(*columns)
    for column in table.columns:
        column.justify = "left"
    for row in rows:
        table.add_row(*row)
    show_table(console, table)


def show_batch_stage(console: Console, stage: BatchStage, unit: str) -> None:
    """Show what to weigh into one stage."""
    table = new_table(stage.name, "weight", "of all flour")
    for row in stage.rows:
        table.add_row(row.name, weight(row.mass_g, unit), f"{shown(row.percent, 4)} %")
    table.add_row("together", weight(stage.total_g, unit), "", style="bold")
    for word, grams in (
        ("taken back out", stage.returned_g),
        ("kept for tomorrow", stage.kept_g),
        ("boiled off", stage.boiled_off_g),
    ):
        if grams:
            table.add_row(word, weight(grams, unit), "")
    show_table(console, table)
    console.print()


def show_cautions(console: Console, cautions: Iterable[Caution]) -> None:
    """Show cautions, a line each."""
    for caution in cautions:
        console.print(f"Caution: {caution.text}")


def show_day(console: Console, plan: DayPlan, unit: str = "g") -> None:
    """Show a day: all breads, then each with its weigh sheets, then what to have ready."""
    heading(console, plan.bakery.name)
    console.print(f"{plan.pieces} pieces from {weight(plan.dough_g, unit)} of dough in {mixes_words(plan.mix_count)}")
    console.print()
    table = new_table("bread", "due", "pieces", "baked", "scale at", "dough", "mixes")
    for bread in plan.breads:
        cells = (bread.due, str(bread.pieces), weight(bread.baked_g, unit), weight(bread.piece_g, unit))
        table.add_row(bread.bread.name, *cells, weight(bread.dough_g, unit), str(bread.mix_count))
    show_table(console, table)
    for dough in plan.doughs:
        console.print()
        _show_dough(console, dough, plan.shared_cautions, unit)
    if plan.shared_cautions:
        console.print()
        heading(console, "For the whole day")
        show_cautions(console, plan.shared_cautions)
    console.print()
    heading(console, "To have ready")
    table = new_table("ingredient", "weight")
    for name, grams in plan.ingredients_g.items():
        table.add_row(name, weight(grams, unit))
    show_table(console, table)


def _show_dough(console: Console, dough: Dough, shared: tuple[Caution, ...], unit: str) -> None:
    if dough.is_shared:
        heading(console, dough.name)
        console.print(
            f"one dough, divided apart; {weight(dough.dough_g, unit)} in {mixes_words(dough.mix_count)}, {dough.mixer.name}"
        )
    for plan in dough.breads:
        if not dough.is_shared:
            heading(console, plan.bread.name)
        console.print(f"{plan.name}: {_pieces(plan, unit)}" if dough.is_shared else _pieces(plan, unit))
    for stage in dough.mixes[0].batch.stages.values():
        heads = [f"{mix_name(mix, dough.mix_count)},\n{holds_words(mix)}" for mix in dough.mixes]
        table = new_table(stage.name, *heads, "of all flour")
        for place, row in enumerate(stage.rows):
            cells = [weight(mix.batch.stages[stage.name].rows[place].mass_g, unit) for mix in dough.mixes]
            table.add_row(row.name, *cells, f"{shown(row.percent, 4)} %")
        totals = [weight(mix.batch.stages[stage.name].total_g, unit) for mix in dough.mixes]
        table.add_row("together", *totals, "", style="bold")
        show_table(console, table)
    for mix in dough.mixes:
        if mix.pour:
            console.print(f"{mix_name(mix, dough.mix_count)}, {holds_words(mix)}: {pour_words(mix.pour, unit)}")
        later = [f"{weight(row.mass_g, unit)} of {row.name}" for row in mix.batch.later]
        if later:
            console.print(f"{mix_name(mix, dough.mix_count)}, held back and added later: {', '.join(later)}")
        if dough.is_shared:
            parts = [f"{each.pieces} of {each.bread} at {weight(each.piece_g, unit)}" for each in mix.portions]
            console.print(f"{mix_name(mix, dough.mix_count)}, to divide: {', '.join(parts)}")
    for plan in dough.breads:
        toppings = [f"{weight(grams, unit)} of {name}" for name, grams in plan.toppings_g().items()]
        if toppings:
            console.print(f"Topping{f' of {plan.name}' if dough.is_shared else ''}: {', '.join(toppings)}")
    show_cautions(console, [caution for caution in dough.cautions if caution not in shared])


def _pieces(plan: BreadPlan, unit: str) -> str:
    more = [f"{plan.ordered} ordered"]
    rejects = plan.pieces - plan.ordered - plan.spares
    more += [f"{plan.spares} spare"] if plan.spares else []
    more += [f"{rejects} for rejects"] if rejects else []
    words = f"{plan.pieces} pieces ({', '.join(more)}), scaled at {weight(plan.piece_g, unit)} to be {weight(plan.baked_g, unit)}"
    if plan.is_shared:
        return words
    return f"{words}; {weight(plan.dough_g, unit)} of dough in {mixes_words(plan.mix_count)}, {plan.mixer.name}"


def show_clock(console: Console, table: Timetable) -> None:
    """Show the clock of a day: the orders and the way of every mix, what is built before, and the loads of each oven."""
    wanted = {STAGES, *(oven.name for oven in table.workshop.ovens)}
    first, *others = day_pages(table)
    for page in (first, *(page for page in others if page.title in wanted)):
        console.print()
        heading(console, one_line(page.title))
        console.print(page.about, soft_wrap=True)
        for each in page.tables:
            console.print()
            console.print(one_line(each.title))
            _show_page_table(console, each)
    if not table.fits:
        console.print()
        heading(console, f"THE DAY DOES NOT FIT. {verdict(table)}")


def _show_page_table(console: Console, page: PageTable) -> None:
    table = new_table(*page.columns)
    for place, column in enumerate(table.columns):
        column.justify = "right" if page.is_count(place) else "left"
    for row in page.rows:
        table.add_row(*(one_line(str(cell)) for cell in row))
    show_table(console, table)


@contextmanager
def waiting(what: str) -> Generator[Callable[[str], None]]:
    """Say on a terminal's error line what takes longer than a second, and wipe it off when it is done.

    What it gives is called with another line to say.
    """
    said = [what]
    if not sys.stderr.isatty():
        yield said.append
        return
    done = Event()

    def tell() -> None:
        seconds = 0
        while not done.wait(1):
            seconds += 1
            sys.stderr.write(f"\r\x1b[K{said[-1]}: {seconds} s ")
            sys.stderr.flush()
        if seconds:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()

    teller = Thread(target=tell, daemon=True)
    teller.start()
    try:
        yield said.append
    finally:
        done.set()
        teller.join()


def show_ready(console: Console, found: ReadyList, unit: str = "g") -> None:
    """Show what to have ready, and what to order; what is not known stays empty."""
    table = new_table("ingredient", "needed", "sacks", "left", "to order")
    for line in found.lines:
        left = "" if line.left_g is None else weight(line.left_g, unit)
        if line.missing_g:
            left = f"{weight(line.missing_g, unit)} short"
        order = "" if not line.order_g else weight(line.order_g, unit)
        if line.order_sacks:
            order = f"{line.order_sacks} of {weight(line.stock.sack_g or 0.0, unit)}"
        sacks = "" if line.sacks is None else str(line.sacks)
        table.add_row(line.name, weight(line.needed_g, unit), sacks, left, order)
    show_table(console, table)


def show_by_stage(console: Console, formula: Formula) -> None:
    """Show a formula ingredient by stage: overall in percent of all the flour, each stage in percent of its own."""
    columns: list[tuple[str, dict[str, float]]] = [("overall", dict(formula.percents))]
    columns += [(stage.name, dict(stage.percents)) for stage in formula.stages]
    try:
        columns.append((FINAL, dict(formula.final)))
    except FormulaError:
        # All the flour is in stages: the final dough has no flour of its own to count on.
        console.print("The final dough has no flour of its own and is not shown in percent.")
    table = new_table(formula.name, *(name for name, _ in columns))
    for line in dict.fromkeys(line for _, lines in columns for line in lines):
        table.add_row(line, *(f"{shown(lines[line], 5)} %" if line in lines else "" for _, lines in columns))
    totals = (f"{shown(sum(lines.values()), 6)} %" for _, lines in columns)
    table.add_row("together", *totals, style="bold")
    show_table(console, table)
    console.print(
        f"pre-fermented flour {shown(formula.prefermented_flour, 4)} %, hydration {shown(formula.hydration(), 4)} %"
    )


def show_comparison(console: Console, found: Comparison) -> None:
    """Show two formulas side by side, the lines that differ in bold."""
    _show_changes(console, "overall", found.lines, found)
    for name, changes in found.stages.items():
        if len(found.stages) > 1:
            _show_changes(console, name, changes, found)


def _show_changes(console: Console, name: str, changes: tuple[Change, ...], found: Comparison) -> None:
    table = new_table(name, found.first, found.second, "difference")
    for change in changes:
        differs = abs(change.difference_percent) > 1e-6
        cells = (change.first_percent, change.second_percent)
        sign = "+" if change.difference_percent > 0 else ""
        difference = f"{sign}{shown(change.difference_percent, 4)} points" if differs else ""
        table.add_row(
            change.name, *(f"{shown(cell, 5)} %" for cell in cells), difference, style="bold" if differs else ""
        )
    show_table(console, table)
    console.print()


def show_three_ways(console: Console, ways: Mapping[str, ThreeWays]) -> None:
    """Show the water of every bread by three methods, with what has moved since the trial."""
    console.print()
    heading(console, "The water by three methods")
    table = new_table("bread", "rule", "heat balance", "correction", "moved since the trial")
    for name, found in ways.items():
        cells = (found.rule_c, found.balance_c, found.correction_c)
        table.add_row(name, *(f"{shown(cell, 3)} °C" for cell in cells), f"{shown(found.moved_k, 3)} K")
    show_table(console, table)
    show_cautions(console, dict.fromkeys(caution for found in ways.values() for caution in found.cautions))


def show_net_weight(console: Console, found: NetWeight, unit: str = "g") -> None:
    """Show what every rule asks for: what to divide at, the mean, the shares below the limits, the giveaway."""

    def to(grams: float, digits: int = 5) -> str:
        return f"{shown(grams / UNITS[unit], digits)} {unit}"

    console.print(f"spread of the weight as sold {to(found.baked_sd_g, 3)} (standard deviation)")
    console.print()
    money = any(answer.price for answer in found.rules.values())
    each = f"given away,\n{found.pieces} pieces"
    columns = (
        "divide at",
        "mean",
        "set by",
        "below\nnominal",
        "below T",
        "below 2T\nor MAV",
        "given away\na piece",
        each,
    )
    table = new_table("rule", *columns, *(["worth"] if money else []))
    for name, answer in found.rules.items():
        has_two = answer.target.law.beyond_share is not None
        shares = (
            shown(100 * answer.below_nominal_share, 3),
            shown(100 * answer.below_limit_share, 3) if has_two else "",
            shown(100 * answer.below_outer_limit_share, 2),
        )
        table.add_row(
            name,
            to(answer.scaling_weight_g),
            to(answer.mean_g),
            answer.target.set_by,
            *(f"{share} %" if share else "" for share in shares),
            to(answer.giveaway_g, 4),
            weight(answer.giveaway_total_g, unit),
            *([str(answer.giveaway_cost)] if money else []),
        )
    show_table(console, table)
