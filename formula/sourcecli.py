"""The command that tells where a number comes from; a thin face like ``cli``."""

from __future__ import annotations

from typing import Any

import click

from .provenance import Origin, origins
from .screen import new_console, print_json
from .sources import Source, all_sources

__all__ = ["sources"]


@click.command()
@click.argument("words", metavar="[WHAT]...", nargs=-1)
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
def sources(words: tuple[str, ...], as_json: bool) -> None:  # noqa: FBT001 - flags, as click hands them over
    """Tell where the numbers come from whose name, room or source has the words WHAT; without it, list all sources."""
    what = " ".join(words)
    found = origins(what) if what else ()
    if as_json:
        everything = [_source_table(each) for each in all_sources().values()]
        print_json({"origins": [_table(each) for each in found]} if what else {"sources": everything})
        return
    console = new_console()

    def tell(line: str) -> None:
        console.print(line, soft_wrap=True)

    if not what:
        for source in all_sources().values():
            tell(f"{source.id}: {source}")
        return
    if not found:  # a source that rules alone rest on, or a note
        tell(f"{what}: {all_sources()[what]}")
    told: set[str] = set()
    for each in found:
        tell(str(each))
        if each.where or each.note:
            tell(f"    {'; '.join(text for text in (each.where, each.note) if text)}")
        # A source that stands for many numbers is told in full once.
        tell(f"    <- {each.source.id}" + ("" if each.source.id in told else f": {each.source}"))
        told.add(each.source.id)


def _source_table(source: Source) -> dict[str, Any]:
    return {"id": source.id, "source": str(source), "known_by": source.known_by, "note": source.note}


def _table(origin: Origin) -> dict[str, Any]:
    return {
        "name": origin.name,
        "place": origin.place,
        "value": origin.value,
        "unit": origin.unit,
        "uncertainty": origin.uncertainty,
        "where": origin.where,
        "note": origin.note,
        "source": _source_table(origin.source),
    }
