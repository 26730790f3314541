"""The commands about labels: the draft of one bread, and the allergens of a day; a thin face like ``cli``."""

from __future__ import annotations

from pathlib import Path
from typing import Any, get_args

import click

from .allergens import AllergenMatrix, allergen_matrix, allergen_table
from .breadnames import StandardNames, standard_names
from .day import plan_day
from .draft import LabelDraft, Sold, label_draft
from .files import load
from .folder import load_day
from .label import declaration
from .labelchecks import AcrylamideClass, SaltCheck, acrylamide_class
from .labelchecks import salt_target as check_salt
from .legalnames import Region
from .screen import new_console, print_json, show_cautions, show_working
from .sheet import label_sheet
from .sheetcli import write_sheet
from .working import Caution

__all__ = ["allergens", "label"]

_REGION = click.Choice(get_args(Region))


def _told(cautions: tuple[Caution, ...]) -> list[dict[str, str]]:
    return [{"code": caution.code, "text": caution.text} for caution in cautions]


def _named(given: tuple[str, ...], option: str) -> dict[str, list[str]]:
    """Read NAME=WORD, WORD; nothing behind the sign is an empty list."""
    found: dict[str, list[str]] = {}
    for text in given:
        name, sign, parts = text.partition("=")
        if not sign or not name.strip():
            message = f"--{option} {text!r}: write NAME=WORD, WORD, or NAME= for none"
            raise click.UsageError(message)
        found[name.strip()] = [part.strip() for part in parts.split(",") if part.strip()]
    return found


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--region", type=_REGION, required=True, help="Whose rules.")
@click.option(
    "--sold", type=click.Choice(get_args(Sold)), default="prepacked", show_default=True, help="How it is sold."
)
@click.option("--piece", help="Weight of a piece on the divider's scale; needed, or --baked, with toppings.")
@click.option("--baked", help="Weight of a piece when sold, without toppings.")
@click.option(
    "--part",
    multiple=True,
    metavar="NAME=PART, PART",
    help='What an ingredient is made of; "NAME=" says nothing is added.',
)
@click.option(
    "--allergens", multiple=True, metavar="NAME=WORD, WORD", help='The allergens its supplier tells; "NAME=" for none.'
)
@click.option("--emphasise", multiple=True, metavar="NAME", help="An ingredient whose percentage is given (EU).")
@click.option("--volatile", multiple=True, metavar="NAME", help="An ingredient that leaves with the water (EU).")
@click.option("--exempt", multiple=True, metavar="NAME", help="An ingredient whose allergen the law exempts.")
@click.option("--may-contain", multiple=True, metavar="WORD", help="An allergen that a shared line may bring.")
@click.option("--group", default="2 %", show_default=True, help="Threshold of the group at the end (USA).")
@click.option(
    "--unknown", type=click.Choice(["gap", "refuse"]), default="gap", show_default=True, help="Unknown allergens."
)
@click.option("--salt-target", help='The most salt in the loaf, such as "1.1 %".')
@click.option("--name", help="The name of the food.")
@click.option("--net", help='Net quantity, such as "800 g".')
@click.option("--date", "date_mark", help="The date mark.")
@click.option("--storage", help="Storage and use.")
@click.option("--operator", help="Name and address of the business.")
@click.option("--origin", help="Country of origin.")
@click.option("--lot", help="The lot.")
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "markdown", "html"]),
    default="text",
    show_default=True,
    help="How to write the draft.",
)
@click.option(
    "--json", "as_json", is_flag=True, help="Print the draft as JSON: weights in g of one piece or of 100 g of flour."
)
@click.option("--working", is_flag=True, help="Show every step of the arithmetic.")
@click.option(
    "-o", "--out", type=click.Path(path_type=Path), help="Write the draft as a sheet: label.html, .md or .xlsx."
)
def label(
    file: Path,
    region: Region,
    part: tuple[str, ...],
    allergens: tuple[str, ...],
    emphasise: tuple[str, ...],
    salt_target: str | None,
    form: str,
    as_json: bool,  # noqa: FBT001 - flags, as click hands them over
    working: bool,  # noqa: FBT001
    out: Path | None,
    **given: Any,  # noqa: ANN401 - the options that go on as they are
) -> None:
    """Draft the label of the bread in FILE: ingredients, allergens and every other particular; in the USA its names too."""
    aside = {"--json": as_json, "--working": working, "--salt-target": salt_target}
    if out and any(aside.values()):
        message = f"-o writes the draft alone, without {' and '.join(name for name, given in aside.items() if given)}"
        raise click.UsageError(message)
    bread = load(file)
    told = {key: value for key, value in given.items() if value not in (None, ())}
    weights = {key: told.pop(key) for key in ("piece", "baked") if key in told}
    listed = {key: told.pop(key) for key in ("volatile", "exempt", "may_contain", "group", "unknown") if key in told}
    made = declaration(
        bread,
        region=region,
        parts=_named(part, "part"),
        allergens=_named(allergens, "allergens"),
        emphasised=emphasise,
        **weights,
        **listed,
    )
    draft = label_draft(made, **told)
    if out:
        write_sheet(label_sheet(draft), None, out)
        return
    names = standard_names(bread, **weights) if region == "us" else None
    acrylamide = acrylamide_class(bread) if region == "eu" else None
    salt = check_salt(bread, salt_target, **weights) if salt_target else None
    if as_json:
        print_json({**_tables(draft, names), **_checks(salt, acrylamide)})
        return
    console = new_console()
    console.print({"text": draft.text, "markdown": draft.markdown, "html": draft.html}[form](), soft_wrap=True)
    others = [check for check in (names, salt, acrylamide) if check]
    if form == "text":
        for check in others:
            console.print(str(check), soft_wrap=True)
            show_cautions(console, [caution for caution in check.cautions if caution not in draft.cautions])
    if working:
        show_working(console, draft.working())
        for check in others:
            show_working(console, check.working())


def _checks(salt: SaltCheck | None, acrylamide: AcrylamideClass | None) -> dict[str, Any]:
    return {
        "salt": salt
        and {
            "salt_percent": salt.salt_percent,
            "target_percent": salt.target_percent,
            "is_met": salt.is_met,
            "line_percent": salt.line_percent,
            "unknown": list(salt.unknown),
        },
        "acrylamide": acrylamide
        and {"class": acrylamide.bread_class, "benchmark_ug_per_kg": acrylamide.benchmark_ug_per_kg},
    }


def _tables(draft: LabelDraft, names: StandardNames | None) -> dict[str, Any]:
    made = draft.declaration
    return {
        "bread": made.bread,
        "region": made.region,
        "sold": draft.sold,
        "notice": draft.notice,
        "ingredients": made.text(),
        "entries": [
            {
                "name": entry.listed.name,
                "ingredients": list(entry.ingredients),
                "parts": [part.name for part in entry.listed.parts],
                "allergens": list(entry.listed.allergens),
                "gaps": list(entry.listed.gaps),
                "mass_g": entry.mass_g,
                "ingoing_g": entry.ingoing_g,
                "percent": entry.percent,
                "quid_percent": entry.quid_percent if entry.is_emphasised else None,
                "below_two_percent": entry.is_small,
            }
            for entry in made.entries
        ],
        "left_out": [entry.listed.name for entry in made.left_out],
        "allergens": list(made.allergens),
        "may_contain": list(made.may_contain),
        "finished_g": made.loaf.finished_g,
        "water_percent": made.loaf.water_percent,
        "particulars": [
            {
                "key": each.key,
                "what": each.what,
                "value": each.value or None,
                "asked": each.asked,
                "rule": each.where,
                "source": each.source,
                "from_memory": each.is_from_memory,
            }
            for each in draft.particulars
        ],
        "blanks": list(draft.blanks),
        "names": None if names is None else [{"name": c.name, "may": c.may, "why": c.why} for c in names.checks],
        "cautions": _told(draft.cautions),
    }


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--region", type=_REGION, default="eu", show_default=True, help="Whose list of allergens.")
@click.option(
    "--share",
    type=click.Choice(["mixer", "day", "nothing"]),
    default="mixer",
    show_default=True,
    help="What breads share.",
)
@click.option("--part", multiple=True, metavar="NAME=PART, PART", help="What an ingredient is made of.")
@click.option("--allergens", "told", multiple=True, metavar="NAME=WORD, WORD", help="The allergens its supplier tells.")
@click.option(
    "--unknown", type=click.Choice(["gap", "refuse"]), default="gap", show_default=True, help="Unknown allergens."
)
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "markdown"]),
    default="text",
    show_default=True,
    help="How to write it.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the matrix as JSON.")
def allergens(
    folder: Path,
    region: Region,
    share: str,
    part: tuple[str, ...],
    told: tuple[str, ...],
    unknown: str,
    form: str,
    as_json: bool,  # noqa: FBT001
) -> None:
    """Lay out the allergens of the day in FOLDER: breads by allergens, with what shares a mixer."""
    plan = plan_day(*load_day(folder))
    parts, suppliers = _named(part, "part"), _named(told, "allergens")
    tables = [
        allergen_table(bread.bread, region=region, parts=parts, allergens=suppliers, unknown=unknown)
        for bread in plan.breads
    ]
    lines: dict[str, list[str]] = {}
    for bread in plan.breads:
        lines.setdefault("the day" if share == "day" else bread.mixer.name, []).append(bread.bread.name)
    matrix = allergen_matrix(tables, {} if share == "nothing" else lines)
    if as_json:
        print_json(_matrix_tables(matrix))
        return
    console = new_console()
    console.print(str(matrix) if form == "text" else matrix.markdown(), soft_wrap=True)
    show_cautions(console, matrix.cautions)


def _matrix_tables(matrix: AllergenMatrix) -> dict[str, Any]:
    return {
        "region": matrix.region,
        "breads": [
            {
                "bread": table.bread,
                "contains": {word: list(names) for word, names in table.contains.items()},
                "may_contain": list(matrix.may_contain(table.bread)),
                "unknown": list(table.unknown),
                "shares_with": dict(matrix.shared[table.bread]),
            }
            for table in matrix.tables
        ],
        "cautions": _told(matrix.cautions),
    }
