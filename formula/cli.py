"""The command line: a thin face that reads files and options, calls the library and lays out what it answers.

Exit codes: 0 done, 1 bad input (one message, no traceback), 2 wrong usage or a package that is not installed.
"""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterator
from contextlib import redirect_stdout, suppress
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import click

from .batch import Batch
from .board import LOOKS, show_working, taken_workings
from .comparison import compare as compare_formulas
from .costcli import cost
from .daycli import day
from .dividecli import divide_dough
from .errors import FormulaError, MissingExtraError
from .exercisecli import exercise_sheet
from .files import load
from .labelcli import allergens, label
from .layout import NOTATIONS, to_json, to_toml
from .logcli import trace
from .losscli import baketime, loss, tin, tray
from .nutritioncli import nutrition_table
from .readerunits import MASSES, TEMPERATURES, in_units
from .screen import (
    UNITS,
    heading,
    new_console,
    print_json,
    show_batch_stage,
    show_by_stage,
    show_cautions,
    show_comparison,
    weight,
)
from .sheetcli import at_hand, sheet
from .sourcecli import sources
from .stockcli import ready
from .watercli import chart, friction, ice, water
from .weightcli import weight as net_weight
from .words import counted
from .yeastcli import levain, yeast

__all__ = ["commands", "run"]


def run(arguments: list[str] | None = None) -> int:
    """Run the command line and return its exit code."""
    _prepare_streams()
    try:
        code = commands.main(args=arguments, prog_name="formula", standalone_mode=False)
    except (FormulaError, MissingExtraError) as error:
        sys.stderr.write(f"{error}\n")
        return 1 if isinstance(error, FormulaError) else 2
    except click.Abort:
        return 1
    except click.ClickException as error:
        error.show(sys.stderr)
        return error.exit_code
    except (BrokenPipeError, SystemExit):
        # The reader (a pager, head) has seen enough, which click answers by ending the program.
        _drop_output()
        return 0
    except OSError as error:
        sys.stderr.write(f"{error.filename or 'the output'}: {error.strerror}\n")
        _drop_output()
        return 1
    return code if isinstance(code, int) else 0


def _prepare_streams() -> None:
    """Make sure that there is something to write to, and that a sign it does not know is no reason to stop."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, io.StringIO())
    if isinstance(sys.stdout, io.TextIOWrapper) and sys.stdout.errors == "strict":
        sys.stdout.reconfigure(errors="backslashreplace")


def _drop_output() -> None:
    """Send what is still waiting to be written nowhere, so that nothing complains of it when the program ends."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _version() -> str:
    try:
        return version("dough-formula")
    except PackageNotFoundError:
        return "unknown (not installed)"


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(_version(), prog_name="formula")
def commands() -> None:
    """Dough formulas for bread bakers: from orders to mixes, weights and water temperature."""


@commands.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--dough", help='Dough to mix, such as "93 kg".')
@click.option("--flour", help='All the flour, such as "50 lb".')
@click.option("--pieces", type=int, help="Number of pieces.")
@click.option("--piece", help="Weight of a piece on the divider's scale.")
@click.option("--baked", help="Weight of a piece when sold; the file's losses are added.")
@click.option("--using", multiple=True, metavar="NAME=WEIGHT", help='An ingredient at hand, such as "milk=50 g".')
@click.option("--round", "step", help='The scale\'s step, such as "5 g".')
@click.option("--minimum", help="With --round: the least that the scale weighs well.")
@click.option("--unit", type=click.Choice(sorted(UNITS)), default="g", show_default=True, help="Unit of the weights.")
@click.option("--json", "as_json", is_flag=True, help="Print the batch as JSON, weights in g.")
@click.option("--working", is_flag=True, help="Show every step of the arithmetic.")
def scale(
    file: Path,
    dough: str | None,
    flour: str | None,
    pieces: int | None,
    piece: str | None,
    baked: str | None,
    using: tuple[str, ...],
    step: str | None,
    minimum: str | None,
    unit: str,
    as_json: bool,  # noqa: FBT001
    working: bool,  # noqa: FBT001
) -> None:
    """Turn the formula in FILE into weights."""
    bread = load(file)
    batch = bread.scale(dough=dough, flour=flour, pieces=pieces, piece=piece, baked=baked, using=at_hand(using))
    if minimum is not None and step is None:
        message = "--minimum goes with --round"
        raise click.UsageError(message)
    if step is not None:
        batch = batch.rounded(step, minimum=minimum)
    if as_json:
        print_json(_batch_tables(batch))
        return
    console = new_console()
    heading(console, bread.name)
    facts = [f"{weight(batch.dough_g, unit)} of dough", f"{weight(batch.flour_g, unit)} of flour"]
    if batch.pieces:
        facts.append(f"{counted(batch.pieces, 'piece')} of {weight(batch.piece_g, unit)} on the scale")
    if batch.baked_g:
        facts.append(f"{weight(batch.baked_g, unit)} each when sold")
    console.print(", ".join(facts))
    for stage in batch.stages.values():
        show_batch_stage(console, stage, unit)
    for row in batch.later:
        console.print(f"held back and added later: {weight(row.mass_g, unit)} of {row.name}")
    show_cautions(console, batch.cautions)
    if working:
        show_working(console, batch.working())


@commands.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--to",
    "notation",
    type=click.Choice(NOTATIONS),
    default="overall",
    show_default=True,
    help="The notation to write.",
)
@click.option("--dough", help="With --to weights: dough to mix.")
@click.option("--flour", help="With --to weights: all the flour.")
@click.option("--table", is_flag=True, help="Show ingredient by stage, each stage on its own flour, instead of a file.")
@click.option("--json", "as_json", is_flag=True, help="Write JSON instead of TOML.")
def convert(file: Path, notation: str, dough: str | None, flour: str | None, table: bool, as_json: bool) -> None:  # noqa: FBT001
    """Write the formula in FILE in another notation, as a formula file."""
    bread = load(file)
    if notation == "weights" and dough is None and flour is None:
        message = "--to weights needs --dough or --flour"
        raise click.UsageError(message)
    if notation != "weights" and (dough is not None or flour is not None):
        message = "--dough and --flour go with --to weights"
        raise click.UsageError(message)
    if table:
        show_by_stage(new_console(), bread)
        return
    batch = bread.scale(dough=dough, flour=flour) if notation == "weights" else None
    click.echo((to_json if as_json else to_toml)(bread, notation, batch), nl=False)


@commands.command()
@click.argument("first", type=click.Path(path_type=Path))
@click.argument("second", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print the differences as JSON.")
def compare(first: Path, second: Path, as_json: bool) -> None:  # noqa: FBT001
    """Compare the formulas in FIRST and SECOND line by line, both in percent of all their flour."""
    found = compare_formulas(load(first), load(second))
    if as_json:
        lists = {"overall": found.lines, **found.stages}
        print_json(
            {
                name: [
                    {"name": line.name, "first_percent": line.first_percent, "second_percent": line.second_percent}
                    for line in lines
                ]
                for name, lines in lists.items()
            }
        )
        return
    show_comparison(new_console(), found)


_PLAIN = {"degC": "°C", "degF": "°F"}
"""The degrees for a keyboard without their sign."""


@commands.command(context_settings={"ignore_unknown_options": True, "allow_interspersed_args": False})
@click.option(
    "--to", "look", type=click.Choice(sorted(LOOKS)), default="text", show_default=True, help="What to write."
)
@click.option("--mass", type=click.Choice(MASSES), help="Unit of the weights.")
@click.option("--temperature", type=click.Choice((*TEMPERATURES, *_PLAIN)), help="Unit of the temperatures.")
@click.option("--open", "opened", is_flag=True, help="Open the steps that have a working inside (▸).")
@click.argument("words", metavar="COMMAND [ARGUMENTS]...", nargs=-1, required=True, type=click.UNPROCESSED)
@click.pass_context
def working(
    context: click.Context,
    look: str,
    mass: str | None,
    temperature: str | None,
    opened: bool,  # noqa: FBT001
    words: tuple[str, ...],
) -> None:
    """Show only the working of another command, for the board: formula working water --dough ..."""
    able = dict(_with_working(commands, ()))
    name = next((each for each in able if words[: len(each)] == each), None)
    if name is None:
        known = ", ".join(sorted(" ".join(each) for each in able))
        message = f"no working of {words[0]!r}: name one of {known}, with its own options after it"
        raise click.UsageError(message)
    spoken, arguments = " ".join(name), list(words[len(name) :])
    # A command remembers the help options of whoever calls it first: they must be those of all commands.
    settings: dict[str, Any] = {"help_option_names": context.help_option_names}
    if {"-h", "--help"} & set(arguments):
        click.echo(able[name].get_help(click.Context(able[name], info_name=f"formula {spoken}", **settings)))
        return
    with taken_workings() as taken, redirect_stdout(io.StringIO()):
        arguments.append("--working")
        code = able[name].main(args=arguments, prog_name=f"formula {spoken}", standalone_mode=False, **settings)
    if not taken:
        message = f"{spoken} had nothing to show with these options; --json and files have no working"
        raise click.UsageError(message)
    workings = [
        in_units(each, mass=mass or "", temperature=_PLAIN.get(temperature or "", temperature or "")) for each in taken
    ]
    if look == "text":
        console = new_console()
        for each in workings:
            show_working(console, each, opened=opened)
    else:
        click.echo(LOOKS[look](workings, opened), nl=False)
    context.exit(code if isinstance(code, int) else 0)


for _command in (
    day,
    ready,
    trace,
    divide_dough,
    water,
    ice,
    friction,
    chart,
    yeast,
    levain,
    net_weight,
    loss,
    tin,
    tray,
    baketime,
    cost,
    label,
    allergens,
    nutrition_table,
    sources,
    exercise_sheet,
    sheet,
):
    commands.add_command(_command)


def _with_working(group: click.Group, before: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    """Find the commands that have a working, by the words that call them."""
    for name, each in group.commands.items():
        if isinstance(each, click.Group):
            yield from _with_working(each, (*before, name))
        elif any(option.name == "working" for option in each.params):
            yield (*before, name), each


def _batch_tables(batch: Batch) -> dict[str, Any]:
    return {
        "bread": batch.formula.name,
        "dough_g": batch.dough_g,
        "flour_g": batch.flour_g,
        "pieces": batch.pieces,
        "scaling_weight_g": batch.piece_g,
        "baked_g": batch.baked_g,
        "overall": [{"name": row.name, "percent": row.percent, "mass_g": row.mass_g} for row in batch.rows],
        "stages": {
            stage.name: [{"name": row.name, "percent": row.percent, "mass_g": row.mass_g} for row in stage.rows]
            for stage in batch.stages.values()
        },
        "cautions": [{"code": caution.code, "text": caution.text} for caution in batch.cautions],
    }
