"""The command that drafts a nutrition table; a thin face like ``cli``."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import click

from .files import load
from .legalnames import Region
from .nutrients import ENERGY_WAYS
from .nutritiondraft import nutrition
from .screen import new_console, print_json, show_working

__all__ = ["nutrition_table"]


@click.command("nutrition")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--region", type=click.Choice(get_args(Region)), default="eu", show_default=True, help="By whose rules.")
@click.option("--serving", help='A serving of the bread, such as "50 g".')
@click.option(
    "--served-as", default="bread", show_default=True, help="What it is eaten as, for the reference amount of the USA."
)
@click.option("--energy", type=click.Choice(ENERGY_WAYS), help="How calories are reckoned in the USA.")
@click.option(
    "--tap-water", type=click.Choice(["plain", "table"]), default="plain", show_default=True,
    help="Water alone, or with the minerals of the larder's tap water.",
)  # fmt: skip
@click.option("--piece", help="Weight of a piece on the divider's scale; needed, or --baked, where there are toppings.")
@click.option("--baked", help="Weight of a piece when sold, without its toppings.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
@click.option("--working", is_flag=True, help="Show every step of the arithmetic.")
def nutrition_table(
    file: Path,
    region: str,
    serving: str | None,
    served_as: str,
    energy: str | None,
    tap_water: str,
    piece: str | None,
    baked: str | None,
    as_json: bool,  # noqa: FBT001 - flags, as click hands them over
    working: bool,  # noqa: FBT001
) -> None:
    """Draft the nutrition table of the bread in FILE, after the losses told there: for 100 g and for a serving."""
    found = nutrition(
        load(file),
        region=region,
        serving=serving,
        served_as=served_as,
        energy=energy,
        tap_water=tap_water,
        piece=piece,
        baked=baked,
    )
    if as_json:
        print_json(
            {**found.to_tables(), "cautions": [{"code": each.code, "text": each.text} for each in found.cautions]}
        )
        return
    console = new_console()
    console.print(found.text(), end="", soft_wrap=True)
    if working:
        show_working(console, found.working())
