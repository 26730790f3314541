"""The index of what can be imported from ``formula``: each name with one line, and the way to its entry in the reference."""

import inspect
import re

import formula

REFERENCE = "docs/reference.md"


def home(name: str) -> str:
    """Return the room that a public name lives in."""
    return str(getattr(formula, name).__module__)


def summary(name: str) -> str:
    """Return the first sentence of what a name says of itself."""
    says = inspect.getdoc(getattr(formula, name)) or ""
    first = " ".join(says.partition("\n\n")[0].split())
    return re.split(r"(?<=[.?])(?: |$)(?![a-z])", first)[0]


def index() -> str:
    """Return the alphabetical table as Markdown for the documentation, whose links are checked by its build."""
    names = sorted(formula.__all__, key=lambda each: (each.lower(), each))
    lines = [f"| {{py:obj}}`{name} <{home(name)}.{name}>` | {summary(name)} |" for name in names]
    return "\n".join(["| name | what |", "|---|---|", *lines]) + "\n"
