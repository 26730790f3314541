"""Workings for the board: on a terminal, or as Markdown, LaTeX or a page for the projector, in the reader's units."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final

from rich.console import Console
from rich.text import Text

from .words import whole_page
from .working import Step, Working

__all__ = ["LOOKS", "show_working", "taken_workings", "working_page"]

_TAKEN: ContextVar[list[Working] | None] = ContextVar("taken", default=None)

_STYLE: Final = """\
:root { color-scheme: light dark; }
body { margin: 0 auto; max-width: 60rem; padding: 1rem; font: clamp(1rem, 2.2vw, 1.6rem)/1.6 sans-serif; }
h3 { font-size: 1.3em; margin: 1em 0 0.3em; }
main { overflow-x: auto; }
li { margin: 0.5em 0; }
li span, li cite { display: block; font-size: 0.75em; opacity: 0.85; }
details { font-size: 0.85em; margin: 0.3em 0; }
summary { cursor: pointer; }
.caution { border-left: 0.3em solid currentColor; padding-left: 0.6em; }
"""


def working_page(workings: Iterable[Working], *, opened: bool = False) -> str:
    """Return workings as one HTML page that stands alone, large enough for a projector, light or dark as the reader's own.

    Args:
        workings: what to show, in order; at least one.
        opened: whether what is inside a step stands open at first; it opens and closes on the page.

    Example:
        >>> step = Step("dough", "flour + water", {"flour": 10.0, "water": 7.0}, 17.0, "kg")
        >>> "<mi>dough</mi>" in working_page([Working("A & B", (step,))])
        True
    """
    shown = list(workings)
    sections = "\n".join(working.html(opened=opened) for working in shown)
    return whole_page(shown[0].title, _STYLE, f"<main>\n{sections}\n</main>\n")


LOOKS: Final[Mapping[str, Callable[[list[Working], bool], str]]] = {
    "text": lambda workings, opened: "\n".join(working.text(opened=opened) for working in workings),
    "markdown": lambda workings, opened: "\n".join(working.markdown(opened=opened) for working in workings),
    "latex": lambda workings, opened: "\n".join(working.latex(opened=opened) for working in workings),
    "html": lambda workings, opened: working_page(workings, opened=opened),
}
"""What a working can be written as, its steps opened or not."""


@contextmanager
def taken_workings() -> Generator[list[Working]]:
    """Take the workings that commands would show, in place of showing them."""
    taken: list[Working] = []
    token = _TAKEN.set(taken)
    try:
        yield taken
    finally:
        _TAKEN.reset(token)


def show_working(console: Console, working: Working, *, opened: bool = False) -> None:
    """Show every step of a working, the outcomes standing out on a terminal that can; or hand it over to who takes it.

    Args:
        console: where to show it.
        working: what to show.
        opened: whether the workings inside its steps follow them, set in.
    """
    taken = _TAKEN.get()
    if taken is not None:
        taken.append(working)
        return
    console.print()
    for line in _lines(working, opened):
        console.print(line, soft_wrap=True)
    if working.can_be_opened and not opened:
        hint = "▸ has a working inside: formula working --open and the same command"
        console.print(Text(hint, style="dim"), soft_wrap=True)
    console.print()


def _lines(working: Working, opened: bool) -> Iterator[Text]:  # noqa: FBT001
    yield Text(working.title, style="bold")
    yield Text()
    for number, step in enumerate(working.steps, 1):
        line = _line(number, step)
        if step.inside and not opened:
            line.append("   ▸")
        yield line
        if opened:
            for inner in step.inside:
                yield Text()
                for each in _lines(inner, opened):
                    yield Text("    ") + each if each else each
        if opened and step.inside:
            yield Text()
    for caution in working.cautions:
        yield Text(f"Caution: {caution.text}", style="bold")


def _line(number: int, step: Step) -> Text:
    whole = str(step)
    before, _, outcome = whole.rpartition(" = ")
    line = Text(f"{number}. {before} = ")
    line.append(outcome, style="bold")
    if step.note:
        line.append(f"   ({step.note})", style="dim")
    if step.source:
        line.append(f"   [{step.source}]", style="dim")
    return line
