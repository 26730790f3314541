"""The commands about water: its temperature, its ice, a mixer's friction and the wall chart; a thin face like ``cli``."""

from __future__ import annotations

from pathlib import Path
from typing import Any, cast

import click

from .chart import chart_csv, chart_html, chart_text
from .ice import IceFor, Keep, Latent, ice_for
from .quantity import TEMPERATURE, read, write
from .screen import new_console, print_json, show_cautions, show_working, weight
from .trialfit import By, TrialFriction, friction_from_trials
from .trials import read_trials
from .wallchart import ChartUnit, temperatures_between, water_chart
from .water import water_temperature
from .working import Caution, shown

__all__ = ["chart", "friction", "ice", "water"]

JSON = click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
WORKING = click.option("--working", is_flag=True, help="Show every step of the arithmetic.")


def _told(cautions: tuple[Caution, ...]) -> list[dict[str, str]]:
    return [{"code": caution.code, "text": caution.text} for caution in cautions]


def _degrees(value_c: float) -> str:
    return f"{shown(value_c, 4)} °C  ({shown(value_c * 1.8 + 32, 4)} °F)"


@click.command()
@click.option("--dough", required=True, help="Desired dough temperature.")
@click.option("--flour", required=True, help="Flour temperature.")
@click.option("--room", help="Room temperature; left out, the rule has one temperature less.")
@click.option("--friction", help='Friction factor on the scale of the sum, such as "24 K".')
@click.option("--rise", help="Instead of --friction: how much the mixer warms the dough itself.")
@click.option("--preferment", multiple=True, help="Temperature of a preferment or soaker; may be given again.")
@click.option("--water", "water_mass", help="Water of the mix, to find the ice.")
@click.option("--tap", help="Temperature of the tap water, to find the ice.")
@JSON
@WORKING
def water(
    dough: str,
    flour: str,
    room: str | None,
    friction: str | None,
    rise: str | None,
    preferment: tuple[str, ...],
    water_mass: str | None,
    tap: str | None,
    as_json: bool,  # noqa: FBT001
    working: bool,  # noqa: FBT001
) -> None:
    """Find the water temperature for a dough temperature, and the ice for it."""
    if (water_mass is None) != (tap is None):
        message = "--water and --tap go together"
        raise click.UsageError(message)
    found = water_temperature(dough, flour=flour, room=room, friction=friction, rise=rise, preferments=preferment)
    frozen: IceFor | None = None
    if water_mass is not None and tap is not None:
        # Water that must be warmer than the tap's needs no ice; the same call then checks the two texts.
        wanted_c = min(found.temperature_c, read(TEMPERATURE, tap, "tap"))
        frozen = ice_for(water_mass, tap=tap, wanted=write(TEMPERATURE, wanted_c))
    cautions = (*found.cautions, *(frozen.cautions if frozen else ()))
    if as_json:
        answer: dict[str, Any] = {"water_c": found.temperature_c, "water_f": found.temperature_c * 1.8 + 32}
        if frozen:
            answer |= {"ice_g": frozen.ice_g, "draw_g": frozen.water_g}
        print_json({**answer, "cautions": _told(cautions)})
        return
    console = new_console()
    console.print(f"water {_degrees(found.temperature_c)}")
    if frozen and frozen.ice_g:
        console.print(f"ice {weight(frozen.ice_g, 'g')}, and {weight(frozen.water_g, 'g')} of water from the tap")
    elif frozen:
        console.print("no ice: the tap is cold enough")
    show_cautions(console, cautions)
    if working:
        show_working(console, found.working())
        if frozen and frozen.ice_g:
            show_working(console, frozen.working())


@click.command()
@click.option("--water", "mass", required=True, help="The water that the formula asks for.")
@click.option("--tap", required=True, help="Temperature of the tap water.")
@click.option("--wanted", required=True, help="The water temperature wanted; below freezing it is bookkeeping.")
@click.option("--ice", "cold", default="0 °C", show_default=True, help="Temperature of the ice.")
@click.option(
    "--keep",
    type=click.Choice(["total", "water"]),
    default="total",
    show_default=True,
    help="What keeps its weight: all together (ice replaces water), or the water (ice comes on top).",
)
@click.option(
    "--latent",
    type=click.Choice(["trade", "physical"]),
    default="trade",
    show_default=True,
    help="The heat of melting.",
)
@JSON
@WORKING
def ice(mass: str, tap: str, wanted: str, cold: str, keep: str, latent: str, as_json: bool, working: bool) -> None:  # noqa: FBT001 - flags, as click hands them over
    """Find the ice that brings the water from the tap's temperature to the wanted one."""
    found = ice_for(mass, tap=tap, wanted=wanted, ice=cold, keep=cast("Keep", keep), latent=cast("Latent", latent))
    if as_json:
        print_json(
            {"ice_g": found.ice_g, "draw_g": found.water_g, "total_g": found.total_g, "cautions": _told(found.cautions)}
        )
        return
    console = new_console()
    console.print(f"ice {weight(found.ice_g, 'g')}, and {weight(found.water_g, 'g')} of water from the tap")
    show_cautions(console, found.cautions)
    if working:
        show_working(console, found.working())


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--by", type=click.Choice(["mean", "time"]), default="mean", show_default=True, help="A mean, or a rate per minute."
)
@click.option("--time", help="With --by time: how long the mixes to come run.")
@click.option(
    "--count", type=int, help="Number of temperatures the factor is for; trials of another number are rescaled."
)
@click.option("--drop-outliers", is_flag=True, help="Leave out the trials that stand apart.")
@JSON
@WORKING
def friction(
    file: Path,
    by: str,
    time: str | None,
    count: int | None,
    drop_outliers: bool,  # noqa: FBT001
    as_json: bool,  # noqa: FBT001
    working: bool,  # noqa: FBT001
) -> None:
    """Learn a mixer's friction factor from the trials in FILE, a CSV file with units in its cells."""
    found = friction_from_trials(
        read_trials(file), by=cast("By", by), time=time, count=count, drop_outliers=drop_outliers
    )
    if as_json:
        print_json(_factor(found))
        return
    console = new_console()
    console.print(_factor_words(found))
    for group in found.groups or (found,):
        who = " ".join(filter(None, (group.mixer, group.speed)))
        if found.groups:
            console.print(f"{who}: {_factor_words(group)}")
        for size in group.sizes:
            console.print(f"{' '.join(filter(None, (who, size.mass_range)))}: {_factor_words(size)}")
    show_cautions(console, found.cautions)
    if working:
        show_working(console, found.working())


def _factor(found: TrialFriction) -> dict[str, Any]:
    return {
        "mixer": found.mixer,
        "speed": found.speed,
        "masses_g": found.masses_g,
        "friction_k": found.friction_k,
        "count": found.count,
        "trials": len(found.trials),
        "rate_k_per_min": found.rate_k_per_min,
        "standard_deviation_k": found.standard_deviation_k,
        "low_k": found.low_k,
        "high_k": found.high_k,
        "outliers": list(found.outliers),
        "cautions": _told(found.cautions),
        "groups": [_factor(group) for group in found.groups],
        "sizes": [_factor(size) for size in found.sizes],
    }


def _factor_words(found: TrialFriction) -> str:
    words = f"friction factor {shown(found.friction_k, 3)} K ({shown(found.friction_k * 1.8, 3)} °F) on {found.count} temperatures"
    words += f", from {len(found.trials)} trials" if len(found.trials) > 1 else ", from 1 trial"
    if found.low_k is not None and found.high_k is not None:
        words += f"; the next mix between {shown(found.low_k, 3)} and {shown(found.high_k, 3)} K"
    return words


@click.group()
def chart() -> None:
    """Draw charts for the wall."""


@chart.command("water")
@click.option("--dough", required=True, help="Desired dough temperature.")
@click.option(
    "--flour", nargs=3, required=True, metavar="FROM TO STEP", help='Flour temperatures, such as "15 °C" "30 °C" "1 K".'
)
@click.option("--room", nargs=3, required=True, metavar="FROM TO STEP", help="Room temperatures.")
@click.option("--friction", "factor", help='Friction factor on the scale of the sum, such as "24 K".')
@click.option("--rise", help="Instead of --friction: how much the mixer warms the dough itself.")
@click.option("--preferment", multiple=True, help="Temperature of a preferment or soaker; may be given again.")
@click.option("--coldest", help="The coldest water that can be drawn.")
@click.option(
    "--unit", type=click.Choice(["°C", "°F"]), default="°C", show_default=True, help="The scale of the chart."
)
@click.option("--title", default="", help="The name of the dough or the mixer.")
@click.option(
    "--as", "shape", type=click.Choice(["text", "html", "csv"]), default="text", show_default=True, help="Its form."
)
def chart_water(
    dough: str,
    flour: tuple[str, str, str],
    room: tuple[str, str, str],
    factor: str | None,
    rise: str | None,
    preferment: tuple[str, ...],
    coldest: str | None,
    unit: str,
    title: str,
    shape: str,
) -> None:
    """Draw the water temperature over flour and room temperature for one dough and mixer."""
    made = water_chart(
        dough,
        flour=temperatures_between(*flour),
        room=temperatures_between(*room),
        friction=factor,
        rise=rise,
        preferments=preferment,
        coldest=coldest,
        unit=cast("ChartUnit", unit),
        title=title,
    )
    forms = {"text": chart_text, "html": chart_html, "csv": chart_csv}
    click.echo(forms[shape](made).removesuffix("\n"))
