"""The command about stock: what to have ready for a day in sacks, and what to order; a thin face like ``cli``."""

from __future__ import annotations

import os
from pathlib import Path

import click

from .day import plan_day
from .folder import load_day
from .intake import own_file
from .screen import UNITS, new_console, print_json, show_cautions, show_ready, show_working
from .stock import load_stock, to_have_ready

__all__ = ["ready"]


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--stock", type=click.Path(path_type=Path), help="What is in store; FOLDER/stock.toml if it is there.")
@click.option("--unit", type=click.Choice(sorted(UNITS)), default="g", show_default=True, help="Unit of the weights.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
@click.option("--working", is_flag=True, help="Show every step of the arithmetic.")
def ready(folder: Path, stock: Path | None, unit: str, as_json: bool, working: bool) -> None:  # noqa: FBT001 - flags, as click hands them over
    """List what the day in FOLDER takes, in sacks, and what to order."""
    own = own_file(folder, "stock.toml")
    file = stock or (own if os.path.lexists(own) else None)
    found = to_have_ready(plan_day(*load_day(folder)), load_stock(file) if file else None)
    if as_json:
        print_json(found.to_tables())
        return
    console = new_console()
    show_ready(console, found, unit)
    show_cautions(console, found.cautions)
    if working:
        show_working(console, found.working())
