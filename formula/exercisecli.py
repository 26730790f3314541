"""The command about exercises: a sheet of problems, its key, or an answer judged; a thin face like ``cli``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

import click

from .exercise import TOPICS, Exercises, exercises
from .screen import new_console, print_json, show_rows

__all__ = ["exercise_sheet"]

_SHEETS: Final[Mapping[str, Callable[[Exercises], str]]] = {
    "text": Exercises.text,
    "markdown": Exercises.markdown,
    "html": Exercises.html,
}
_KEYS: Final[Mapping[str, Callable[[Exercises], str]]] = {
    "text": Exercises.key_text,
    "markdown": Exercises.key_markdown,
    "html": Exercises.key_html,
}


@click.command("exercises")
@click.argument("words", metavar="[TOPIC]", nargs=-1)
@click.option("--count", type=int, default=5, show_default=True, help="How many problems.")
@click.option(
    "--seed", type=int, default=0, show_default=True, help="Number of the sheet: the same number, the same sheet."
)
@click.option("--level", type=int, default=1, show_default=True, help="1 to 3; 3 takes two calculations for a problem.")
@click.option("--key", is_flag=True, help="Print the key instead: answers, workings, and what wrong answers reveal.")
@click.option(
    "--check", type=(int, str), metavar="NUMBER ANSWER", help='Judge an answer to a problem, such as 2 "18 °C".'
)
@click.option(
    "--to", "look", type=click.Choice(sorted(_SHEETS)), default="text", show_default=True, help="What to write."
)
@click.option("--json", "as_json", is_flag=True, help="Print sheet and key as JSON.")
def exercise_sheet(
    words: tuple[str, ...],
    count: int,
    seed: int,
    level: int,
    key: bool,  # noqa: FBT001 - flags, as click hands them over
    check: tuple[int, str] | None,
    look: str,
    as_json: bool,  # noqa: FBT001
) -> None:
    """Set a sheet of problems on TOPIC for a class; without TOPIC, list the topics."""
    if not words:
        if key or check or as_json:
            message = "name a topic; formula exercises without one lists them"
            raise click.UsageError(message)
        show_rows(new_console(), ("topic", "what is practised"), [(topic.name, topic.about) for topic in TOPICS])
        return
    sheet = exercises(" ".join(words), count=count, seed=seed, level=level)
    if check is not None:
        number, answer = check
        if not 1 <= number <= len(sheet.problems):
            message = f"--check {number}: the sheet has problems 1 to {len(sheet.problems)}"
            raise click.UsageError(message)
        click.echo(sheet.problems[number - 1].check(answer).hint)
    elif as_json:
        print_json(sheet.to_tables())
    else:
        click.echo((_KEYS if key else _SHEETS)[look](sheet), nl=False)
