"""The command of the sheets: a formula or a mix to pin up, as a page, as Markdown or as a workbook that calculates."""

from __future__ import annotations

from pathlib import Path

import click

from .files import load, write_whole
from .sheet import FORMS, Sheet, formula_sheet, mix_sheet
from .words import UNITS

__all__ = ["at_hand", "sheet", "write_sheet"]

_FORMS = tuple(dict.fromkeys(FORMS.values()))


def write_sheet(made: Sheet, form: str | None, out: Path | None) -> None:
    """Write a sheet into a file, as its ending says, or what can be read onto the screen."""
    meant = FORMS.get(out.suffix.lower()) if out else None
    if out and not form and not meant:
        message = f"{out.name}: end the file in one of {', '.join(FORMS)}, or say --to"
        raise click.UsageError(message)
    if form and meant and form != meant:
        message = f"--to {form} does not go into {out}, which is for {meant}"
        raise click.UsageError(message)
    form = form or meant or "markdown"
    if out:
        write_whole(out, made.written(form))
        click.echo(f"{out} written")
    elif form == "xlsx":
        message = "--to xlsx needs a file to write into: -o mix.xlsx"
        raise click.UsageError(message)
    else:
        click.echo(made.written(form), nl=False)


def at_hand(using: tuple[str, ...]) -> dict[str, str] | None:
    """Read NAME=WEIGHT; None where nothing is told."""
    found: dict[str, str] = {}
    for text in using:
        name, sign, amount = (part.strip() for part in text.partition("="))
        if not sign or not name:
            message = f'--using {text!r}: write NAME=WEIGHT, such as "milk=50 g"'
            raise click.UsageError(message)
        if name in found:
            message = f"--using {name} stands twice"
            raise click.UsageError(message)
        found[name] = amount
    return found or None


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--dough", help='For a mix sheet: dough to mix, such as "93 kg".')
@click.option("--flour", help='For a mix sheet: all the flour, such as "50 lb".')
@click.option("--pieces", type=int, help="For a mix sheet: number of pieces.")
@click.option("--piece", help="With --pieces: weight of a piece on the divider's scale.")
@click.option("--baked", help="With --pieces: weight of a piece when sold; the file's losses are added.")
@click.option("--using", multiple=True, metavar="NAME=WEIGHT", help="For a mix sheet: an ingredient at hand.")
@click.option("--round", "step", help='For a mix sheet: the scale\'s step, such as "5 g".')
@click.option("--minimum", help="With --round: the least that the scale weighs well.")
@click.option("--unit", type=click.Choice(sorted(UNITS)), default="g", show_default=True, help="Unit of the weights.")
@click.option(
    "--to", "form", type=click.Choice(_FORMS), help="What to write; if left out, what the file's ending says."
)
@click.option(
    "-o", "--out", type=click.Path(path_type=Path), help="The file to write, such as mix.html; else the screen."
)
def sheet(
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
    form: str | None,
    out: Path | None,
) -> None:
    """Write a sheet to pin up: the formula in FILE, or with an amount the mix to weigh."""
    bread = load(file)
    is_mix = bool(using) or any(given is not None for given in (dough, flour, pieces, piece, baked))
    for option, given, needed in (("--round", step, is_mix), ("--minimum", minimum, step is not None)):
        if given is not None and not needed:
            message = f"{option} goes with {'--round' if option == '--minimum' else 'an amount: a mix sheet'}"
            raise click.UsageError(message)
    if not is_mix:
        write_sheet(formula_sheet(bread, unit=unit), form, out)
        return
    batch = bread.scale(dough=dough, flour=flour, pieces=pieces, piece=piece, baked=baked, using=at_hand(using))
    if step is not None:
        batch = batch.rounded(step, minimum=minimum)
    write_sheet(mix_sheet(batch, unit=unit), form, out)
