"""The commands about losses, tins, trays and bake time; a thin face like ``cli``."""

from __future__ import annotations

from pathlib import Path
from typing import Any, cast

import click

from .baketime import bake_time
from .losses import On
from .lossestimate import Method, estimate_loss
from .lossfit import measured_loss, read_loss_weighings
from .losstable import LOSS_KINDS, TypicalLoss, typical_losses
from .screen import UNITS, new_console, print_json, show_cautions, show_working, weight
from .shape import SHAPES, LoafShape
from .tin import Tin, fill_tin
from .tray import Tray, fill_tray
from .working import shown

__all__ = ["baketime", "loss", "tin", "tray"]

JSON = click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
WORKING = click.option("--working", is_flag=True, help="Show every step of the arithmetic.")
UNIT = click.option(
    "--unit", type=click.Choice(sorted(UNITS)), default="g", show_default=True, help="Unit of the weights."
)
KNOWN = click.option("--known", required=True, help="Dough of the loaf that is known.")
NEW = click.option("--new", required=True, help="Dough of the loaf to come.")
SHAPE = click.option(
    "--shape", default="round", show_default=True, metavar="SHAPE",
    help=f"Its shape: {', '.join(SHAPES)}; a number after it is its first proportion, such as \"long 10\".",
)  # fmt: skip
NEW_SHAPE = click.option("--new-shape", metavar="SHAPE", help="The new loaf's shape, where it is another.")


def _shape(text: str) -> str | LoafShape:
    """Read "long 10" as a long loaf ten times as long as it is thick; a bare name stays as it is."""
    name, _, number = text.partition(" ")
    if not number or name not in SHAPES:
        return text
    try:
        ratio: Any = float(number)
    except ValueError:
        ratio = number
    return LoafShape(name, **{next(iter(SHAPES[name])): ratio})


def _percent(share: float) -> str:
    return f"{shown(share * 100, 3)} %"


def _answer(found: Any, tables: dict[str, Any], words: str, *, as_json: bool, working: bool) -> None:  # noqa: ANN401 - any result with cautions and a working
    if as_json:
        cautions = [{"code": caution.code, "text": caution.text} for caution in found.cautions]
        print_json({**tables, "cautions": cautions})
        return
    console = new_console()
    console.print(words)
    show_cautions(console, found.cautions)
    if working:
        show_working(console, found.working())


@click.group()
def loss() -> None:
    """Look up, estimate and measure what bread loses."""


@loss.command()
@click.argument("product", required=False)
@click.option("--kind", type=click.Choice(LOSS_KINDS), help="Where the loss falls.")
@JSON
def typical(product: str | None, kind: str | None, as_json: bool) -> None:  # noqa: FBT001 - flags, as click hands them over
    """List the losses that are printed, of breads with the word PRODUCT in their name."""
    rows = typical_losses(kind, product=product)
    if as_json:
        print_json({"losses": [_row(row) for row in rows]})
        return
    console = new_console()
    for row in rows:
        console.print(str(row))


def _row(row: TypicalLoss) -> dict[str, Any]:
    names = (
        "product", "kind", "low_share", "high_share", "on", "low_on_dough_share", "high_on_dough_share", "dough_g",
        "bread_g", "printed", "includes", "source", "known_by", "note",
    )  # fmt: skip
    return {name: getattr(row, name) for name in names}


@loss.command()
@click.argument("share")
@KNOWN
@NEW
@SHAPE
@NEW_SHAPE
@click.option(
    "--on", type=click.Choice(["dough", "bread"]), default="dough", show_default=True, help="What SHARE is of."
)
@click.option(
    "--method", type=click.Choice(["fitted", "geometric"]), default="fitted", show_default=True,
    help="A power fitted to printed losses, or in proportion to the skin.",
)  # fmt: skip
@click.option("--exponent", type=float, help="A power of your own.")
@UNIT
@JSON
@WORKING
def estimate(
    share: str,
    known: str,
    new: str,
    shape: str,
    new_shape: str | None,
    on: str,
    method: str,
    exponent: float | None,
    unit: str,
    as_json: bool,  # noqa: FBT001
    working: bool,  # noqa: FBT001
) -> None:
    """Estimate the bake loss of another size or shape from SHARE, that of a known loaf."""
    found = estimate_loss(
        share,
        known=known,
        new=new,
        shape=_shape(shape),
        new_shape=None if new_shape is None else _shape(new_shape),
        on=cast("On", on),
        method=cast("Method", method),
        exponent=exponent,
    )
    words = f"about {_percent(found.loss_share)} of the dough"
    if found.low_share != found.high_share:
        words += f", between {_percent(found.low_share)} and {_percent(found.high_share)}"
    words += f": {shown(found.lost_g / UNITS[unit], 2)} of {weight(found.new.mass_g, unit)}"
    tables = {
        "loss_share": found.loss_share,
        "low_share": found.low_share,
        "high_share": found.high_share,
        "exponent": found.exponent,
        "surface_ratio": found.ratio,
        "lost_g": found.lost_g,
        "bread_g": found.bread_g,
    }
    _answer(found, tables, words, as_json=as_json, working=working)


@loss.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--bread", help="The bread, where FILE holds several.")
@click.option("--drop-outliers", is_flag=True, help="Leave out the weighings that stand apart.")
@JSON
@WORKING
def measured(file: Path, bread: str | None, drop_outliers: bool, as_json: bool, working: bool) -> None:  # noqa: FBT001
    """Find the loss of a bread from the weighings in FILE, a CSV file with the columns scaled, baked, count and bread."""
    found = measured_loss(read_loss_weighings(file), bread=bread, drop_outliers=drop_outliers)
    words = (
        f"{_percent(found.loss_share)} of the dough, the mean of {found.pieces} pieces: between {_percent(found.low_share)} and"
        f" {_percent(found.high_share)}; single pieces scatter with a standard deviation of {_percent(found.spread_share)}"
    )
    tables = {
        "bread": found.bread,
        "loss_share": found.loss_share,
        "low_share": found.low_share,
        "high_share": found.high_share,
        "spread_share": found.spread_share,
        "standard_error_share": found.standard_error_share,
        "trend_share_for_100_g": found.trend_share,
        "trend_error_share": found.trend_error_share,
        "has_trend": found.has_trend,
        "weighings": len(found.weighings),
        "pieces": found.pieces,
        "outliers": list(found.outliers),
    }
    _answer(found, tables, words, as_json=as_json, working=working)


@click.command()
@click.option("--volume", help='Volume of the tin, such as "1.5 L".')
@click.option("--water", help="Instead: the mass of the water that fills it.")
@click.option("--temperature", help="With --water: the water's temperature.")
@click.option("--length", help="Instead: its length at the rim, with --width and --height.")
@click.option("--width", help="Its width at the rim.")
@click.option("--diameter", help="Instead: the diameter of a round one, with --height.")
@click.option("--height", help="Its height.")
@click.option("--dough", help="Dough of one piece.")
@click.option("--filling", help='Dough for each volume of tin, such as "450 g/L".')
@click.option("--filled", help="Instead: the part of the tin that the dough takes up before it rises.")
@UNIT
@JSON
@WORKING
def tin(
    dough: str | None,
    filling: str | None,
    filled: str | None,
    unit: str,
    as_json: bool,  # noqa: FBT001
    working: bool,  # noqa: FBT001
    **sizes: str | None,
) -> None:
    """Find the dough for a tin, the filling that a dough makes, or the tin that a dough needs."""
    own = Tin(**sizes) if any(size is not None for size in sizes.values()) else None
    found = fill_tin(own, dough=dough, filling=filling, filled=filled)
    words = (
        f"{weight(found.dough_g, unit)} of dough in a tin of {shown(found.volume_ml / 1000, 4)} L:"
        f" {shown(found.filling_kg_m3, 4)} g for each litre"
    )
    tables = {
        "dough_g": found.dough_g,
        "volume_ml": found.volume_ml,
        "filling_g_l": found.filling_kg_m3,
        "filled_share": found.filled_share,
        "sought": found.sought,
    }
    _answer(found, tables, words, as_json=as_json, working=working)


@click.command()
@click.option("--area", help='Area of the tray, such as "0.24 m2".')
@click.option("--length", help="Instead: its length, with --width.")
@click.option("--width", help="Its width.")
@click.option("--diameter", help="Instead: the diameter of a round one.")
@click.option("--dough", help="All the dough on it.")
@click.option("--filling", help='Dough for each area, such as "5 kg/m2".')
@UNIT
@JSON
@WORKING
def tray(
    dough: str | None,
    filling: str | None,
    unit: str,
    as_json: bool,  # noqa: FBT001
    working: bool,  # noqa: FBT001
    **sizes: str | None,
) -> None:
    """Find the dough for a tray, the filling that a dough makes, or the area that a dough needs."""
    own = Tray(**sizes) if any(size is not None for size in sizes.values()) else None
    found = fill_tray(own, dough=dough, filling=filling)
    words = (
        f"{weight(found.dough_g, unit)} of dough on a tray of {shown(found.area_m2, 4)} m²:"
        f" {shown(found.filling_kg_m2, 4)} kg for each m²"
    )
    tables = {
        "dough_g": found.dough_g,
        "area_m2": found.area_m2,
        "filling_kg_m2": found.filling_kg_m2,
        "sought": found.sought,
    }
    _answer(found, tables, words, as_json=as_json, working=working)


@click.command("bake-time")
@click.argument("time")
@KNOWN
@NEW
@SHAPE
@NEW_SHAPE
@JSON
@WORKING
def baketime(
    time: str,
    known: str,
    new: str,
    shape: str,
    new_shape: str | None,
    as_json: bool,  # noqa: FBT001
    working: bool,  # noqa: FBT001
) -> None:
    """Estimate the bake time of another size or shape from TIME, that of a known loaf; a rough start."""
    new_form = None if new_shape is None else _shape(new_shape)
    found = bake_time(time, known=known, new=new, shape=_shape(shape), new_shape=new_form)
    minutes = [f"{shown(hours * 60, 3)} min" for hours in (found.low_h, found.high_h)]
    tables = {"time_h": found.time_h, "low_h": found.low_h, "high_h": found.high_h, "thickness_ratio": found.ratio}
    _answer(found, tables, f"between {minutes[0]} and {minutes[1]}", as_json=as_json, working=working)
