"""The commands about yeast and levain; a thin face like ``cli``."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import click

from .builds import levain_builds, levain_for
from .culture import levain_seed, levain_time
from .dose import YeastDose, yeast_for_schedule
from .errors import Fault, FormulaError
from .files import load
from .levainplan import LevainPlan
from .processes import typical_processes
from .schedule import Schedule
from .screen import new_console, print_json, show_cautions, show_working, weight
from .steps import Cool, Hold, Ramp
from .timeofday import clock
from .timing import Conditions, YeastTime, time_for_yeast, yeast_for_time
from .upkeep import levain_upkeep
from .working import Caution, Working, shown
from .yeast import YeastConversion, convert_yeast

__all__ = ["levain", "yeast"]

_STEPS = {
    "hold": re.compile(r"hold (?P<time>.+?) at (?P<temperature>.+)"),
    "ramp": re.compile(r"ramp (?P<time>.+?)(?: from (?P<start>.+?))? to (?P<to>.+)"),
    "cool": re.compile(r"(?:cool|warm) (?P<time>.+?)(?: from (?P<start>.+?))? to (?P<to>.+?) lag (?P<tau>.+)"),
}
_HOW = '"hold 1 h at 24 °C", "ramp 3 h to 30 °C", "cool 16 h to 4 °C lag 1.5 h" or "warm 2 h to 26 °C lag 1 h"'


def _told(cautions: tuple[Caution, ...]) -> list[dict[str, str]]:
    return [{"code": caution.code, "text": caution.text} for caution in cautions]


def _step(text: str) -> Hold | Ramp | Cool:
    word = text.partition(" ")[0].replace("warm", "cool")
    match = _STEPS[word].fullmatch(text) if word in _STEPS else None
    if match is None:
        raise FormulaError(Fault("step", repr(text), f"a step such as {_HOW}"))
    told = {name: value for name, value in match.groupdict().items() if value is not None}
    made: Hold | Ramp | Cool
    if word == "hold":
        made = Hold(told["time"], told["temperature"])
    elif word == "ramp":
        made = Ramp(told.pop("time"), **told)
    else:
        made = Cool(told.pop("time"), **told)
    return made


def _answer(found: Any, tables: dict[str, Any], words: str, *, as_json: bool, working: bool) -> None:  # noqa: ANN401 - any result with cautions and a working
    cautions: tuple[Caution, ...] = found.cautions
    if as_json:
        print_json({**tables, "cautions": _told(cautions)})
        return
    console = new_console()
    console.print(words, soft_wrap=True)
    show_cautions(console, cautions)
    if working:
        told: Working = found.working()
        show_working(console, told)


def _band(low: float, high: float, unit: str) -> str:
    return f" (from {shown(low, 3)} to {shown(high, 3)} {unit})" if high > low else ""


@click.command()
@click.option("--dose", help='Yeast on the flour that it ferments, such as "2 %".')
@click.option("--time", help="Its time from the end of mixing to the oven.")
@click.option("--new-time", help="The time there is now.")
@click.option("--new-dose", help="Instead: the yeast there is now; the time is found.")
@click.option("--temperature", help="The dough's temperature.")
@click.option("--new-temperature", help="The dough's temperature now.")
@click.option("--room", help="The room's temperature, with --lag: the dough nears it.")
@click.option("--new-room", help="The room's temperature now, with --lag.")
@click.option("--lag", help="How long a difference to the room takes to shrink to 37 %.")
@click.option("--phase", help="The one phase whose time is meant, such as proof; with --other-time.")
@click.option("--other-time", help="The time of all other phases.")
@click.option("--growth", type=float, help="0: constant yeast; 1: growth as counted.")
@click.option("--form", help="The form of the yeast: fresh, active dry, instant.")
@click.option("--new-form", help="Another form for the answer.")
@click.option("--sugar", help="Sugar on the flour.")
@click.option("--salt", help="Salt on the flour.")
@click.option("--new-salt", help="Salt in the new dough.")
@click.option("--of", help="Whose yeast it is: dough, preferment, or a process such as poolish.")
@click.option("--step", "steps", multiple=True, help=f"A step of a schedule, in order: {_HOW}.")
@click.option("--at", help="With --step: the temperature to compare the schedule with.")
@click.option("--amount", help="A weight of yeast to convert from --form to --new-form.")
@click.option("--processes", is_flag=True, help="List the usual processes with their times, temperatures and doses.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
@click.option("--working", is_flag=True, help="Show every step of the arithmetic.")
def yeast(
    steps: tuple[str, ...],
    at: str | None,
    amount: str | None,
    processes: bool,  # noqa: FBT001 - flags, as click hands them over
    as_json: bool,  # noqa: FBT001
    working: bool,  # noqa: FBT001
    **given: Any,  # noqa: ANN401 - the other options by their names
) -> None:
    """Find the yeast for a time, the time for a yeast, or what a schedule is worth."""
    told = {name: value for name, value in given.items() if value is not None}
    if processes:
        _list_processes(as_json=as_json)
    elif amount is not None:
        _convert(amount, told, as_json=as_json, working=working)
    elif steps:
        _schedule(Schedule(*map(_step, steps)), at, told, as_json=as_json, working=working)
    else:
        _for_time(told, as_json=as_json, working=working)


def _needs(told: dict[str, Any], *names: str) -> list[Any]:
    missing = [f"--{name.replace('_', '-')}" for name in names if name not in told]
    if missing:
        message = f"give {' and '.join(missing)}"
        raise click.UsageError(message)
    return [told.pop(name) for name in names]


def _convert(amount: str, told: dict[str, Any], *, as_json: bool, working: bool) -> None:
    old, new = _needs(told, "form", "new_form")
    found: YeastConversion = convert_yeast(amount, old, new)
    words = f"{weight(found.mass_g, 'g')} of {found.to_form} yeast{_band(found.low_g, found.high_g, 'g')}"
    words += f", {weight(abs(found.water_change_g), 'g')} {'more' if found.water_change_g >= 0 else 'less'} water"
    tables = {
        "mass_g": found.mass_g,
        "low_g": found.low_g,
        "high_g": found.high_g,
        "water_change_g": found.water_change_g,
    }
    _answer(found, tables, words, as_json=as_json, working=working)


def _dose(found: YeastDose, *, as_json: bool, working: bool) -> None:
    tables = {"dose_percent": found.dose_percent, "low_percent": found.low_percent, "high_percent": found.high_percent}
    words = (
        f"{shown(found.dose_percent, 3)} % of {found.new_form} yeast{_band(found.low_percent, found.high_percent, '%')}"
    )
    _answer(found, tables, words, as_json=as_json, working=working)


def _schedule(plan: Schedule, at: str | None, told: dict[str, Any], *, as_json: bool, working: bool) -> None:
    if "dose" in told:
        dose, time, temperature = _needs(told, "dose", "time", "temperature")
        keys = ("growth", "form", "new_form", "sugar", "salt", "new_salt", "of")
        facts = {key: told.pop(key) for key in keys if key in told}
        _nothing_left(told)
        found = yeast_for_schedule(dose, Schedule(Hold(time, temperature)), plan, **facts)
        _dose(found, as_json=as_json, working=working)
        return
    _nothing_left(told)
    if at is None:
        message = "give --at, the temperature to compare with, or --dose, --time and --temperature of the usual dough"
        raise click.UsageError(message)
    worth = plan.equivalent(at)
    tables = {"time_h": worth.time_h, "low_h": worth.low_h, "high_h": worth.high_h, "steps_h": list(worth.steps_h)}
    words = f"worth {shown(worth.time_h, 4)} h at {at}{_band(worth.low_h, worth.high_h, 'h')}"
    _answer(worth, tables, words, as_json=as_json, working=working)


def _nothing_left(told: dict[str, Any]) -> None:
    if told:
        message = f"with --step there is no use for {', '.join('--' + name.replace('_', '-') for name in told)}"
        raise click.UsageError(message)


def _for_time(told: dict[str, Any], *, as_json: bool, working: bool) -> None:
    dose, time = _needs(told, "dose", "time")
    new_time, new_dose = told.pop("new_time", None), told.pop("new_dose", None)
    conditions: Conditions = told  # type: ignore[assignment] # pyright: ignore[reportAssignmentType] - the options are its keys
    if new_dose is None:
        _dose(yeast_for_time(dose, time=time, new_time=new_time, **conditions), as_json=as_json, working=working)
        return
    if new_time is not None:
        message = "give one of --new-time and --new-dose"
        raise click.UsageError(message)
    found: YeastTime = time_for_yeast(dose, time=time, new_dose=new_dose, **conditions)
    tables = {"time_h": found.time_h, "low_h": found.low_h, "high_h": found.high_h}
    words = f"{shown(found.time_h, 3)} h{_band(found.low_h, found.high_h, 'h')}"
    _answer(found, tables, words, as_json=as_json, working=working)


def _list_processes(*, as_json: bool) -> None:
    found = typical_processes()
    if as_json:
        print_json(
            {
                process.name: {
                    "fresh_percent": process.dose_percent,
                    "time_h": process.time_h,
                    "temperature_c": process.temperature_c,
                }
                for process in found
            }
        )
        return
    console = new_console()
    for process in found:
        ranges = (process.dose_percent, process.time_h, process.temperature_c)
        words = [f"{shown(low)} to {shown(high)}" for low, high in ranges]
        console.print(f"{process.name}: {words[0]} % fresh yeast, {words[1]} h, dough of {words[2]} °C")


@click.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--dough", help="With FILE: dough to mix.")
@click.option("--flour", help="With FILE: all the flour.")
@click.option("--stage", help="With FILE: the stage that is the levain.")
@click.option("--total", help="The ripe levain that the dough takes; or with --seed the whole levain.")
@click.option("--ready", help="When it must be ripe, as 05:00.")
@click.option("--start", help="When the first build is made.")
@click.option("--builds", type=int, help="How many builds, of equal time.")
@click.option("--time", "times", multiple=True, help="The time of each build, or of the one levain with --total.")
@click.option("--share", "shares", multiple=True, help="The seed's share of each build.")
@click.option("--temperature", required=True, multiple=True, help="The levain's own; once, or for each build.")
@click.option("--ripe", type=click.Choice(["peak", "sour"]), default="peak", show_default=True, help="What ripe means.")
@click.option("--hydration", help="The water fed on the flour fed.")
@click.option("--keep", help="What is kept of the ripe levain.")
@click.option("--phi", type=float, help="The culture's own constant.")
@click.option("--seed", help="The ripe seed, to find the time.")
@click.option("--starter", help="The ripe seed on the flour fed, to find the time; with --hydration.")
@click.option(
    "--feed", "feedings", multiple=True, help="A time of day at which the culture is fed, to plan its upkeep."
)
@click.option("--take", help="With --feed: what the dough takes at each feeding.")
@click.option("--smallest", help="With --feed: the least that the culture may weigh when fed.")
@click.option("--days", type=int, help="With --feed: days until the plan begins again.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
@click.option("--working", is_flag=True, help="Show every step of the arithmetic.")
def levain(
    file: Path | None,
    temperature: tuple[str, ...],
    ripe: str,
    as_json: bool,  # noqa: FBT001
    working: bool,  # noqa: FBT001
    **given: Any,  # noqa: ANN401
) -> None:
    """Find when a levain is ripe, its seed, its builds by the clock, or the upkeep of a culture."""
    told = {name: value for name, value in given.items() if value not in (None, ())}
    whole: dict[str, Any] = {"temperature": temperature if len(temperature) != 1 else temperature[0], "ripe": ripe}
    if "phi" in told:
        whole["phi"] = told.pop("phi")
    if "feedings" in told:
        upkeep = levain_upkeep(**told, **whole)
        keys = ("day", "start", "taken_g", "seed_g", "discard_g", "flour_g", "water_g", "total_g")
        rows = [{key: getattr(feeding, key) for key in keys} for feeding in upkeep.feedings]
        _answer(upkeep, {"feedings": rows}, str(upkeep), as_json=as_json, working=working)
    elif "seed" in told or "starter" in told:
        found = levain_time(**told, **whole)
        tables = {"time_h": found.time_h, "low_h": found.low_h, "high_h": found.high_h}
        _answer(found, tables, str(found), as_json=as_json, working=working)
    elif file is not None or "ready" in told:
        _plan(file, told, whole, as_json=as_json, working=working)
    else:
        total, times = _needs(told, "total", "times")
        seed = levain_seed(total=total, time=times[0], **told, **whole)
        tables = {
            "seed_g": seed.seed_g,
            "low_g": seed.low_g,
            "high_g": seed.high_g,
            "share_percent": seed.share_percent,
        }
        _answer(seed, tables, str(seed), as_json=as_json, working=working)


def _plan(file: Path | None, told: dict[str, Any], whole: dict[str, Any], *, as_json: bool, working: bool) -> None:
    for name in ("times", "shares"):
        if name in told and len(told[name]) == 1:
            told[name] = told[name][0]
    plan: LevainPlan
    if file is None:
        (total,) = _needs(told, "total")
        plan = levain_builds(total, **told, **whole)
    else:
        batch = load(file).scale(dough=told.pop("dough", None), flour=told.pop("flour", None))
        plan = levain_for(batch, **told, **whole)
    builds = [
        {
            "start": build.start,
            "ready": build.ready,
            "earliest": clock(build.earliest_min),
            "latest": clock(build.latest_min),
            "seed_g": build.seed_g,
            "fed_g": dict(build.fed_g),
            "total_g": build.total_g,
        }
        for build in plan.builds
    ]
    _answer(plan, {"builds": builds, "seed_g": plan.seed_g}, str(plan), as_json=as_json, working=working)
