"""The public surface as text: every public name, what it is, and the parameters that callers may write.

A change of it is a promise changed; it is compared with ``tests/surface.txt``.  To write that anew:

    python -m tests.surface > tests/surface.txt
"""

import inspect
import sys
from collections.abc import Iterator

import formula


def surface() -> list[str]:
    """Return a line for each public name, and under a class one for each of its public attributes."""
    return [line for name in formula.__all__ for line in _lines(name)]


def _lines(name: str) -> Iterator[str]:
    value = getattr(formula, name)
    if inspect.isclass(value):
        yield f"class {name}({_parameters(value)})"
        inherited = {each for base in value.__mro__ if base.__module__ == "builtins" for each in dir(base)}
        for attribute in sorted(set(dir(value)) - inherited):
            if not attribute.startswith("_"):
                member = inspect.getattr_static(value, attribute)
                if isinstance(member, (staticmethod, classmethod)):
                    member = member.__func__
                called = inspect.isfunction(member)
                yield f"    {attribute}({_parameters(member)})" if called else f"    {attribute}"
    elif callable(value):
        yield f"{name}({_parameters(inspect.unwrap(value))})"
    else:
        yield name


def _parameters(called: object) -> str:
    try:
        parameters = inspect.signature(called).parameters.values()  # type: ignore[arg-type]
    except (TypeError, ValueError):
        return "..."
    words: list[str] = []
    for place, each in enumerate(parameters):
        if place == 0 and each.name in {"self", "cls"}:
            continue
        sign = "*" if each.kind == each.VAR_POSITIONAL else "**" if each.kind == each.VAR_KEYWORD else ""
        if each.kind == each.KEYWORD_ONLY and not any(word.startswith("*") for word in words):
            words.append("*")
        words.append(f"{sign}{each.name}" + ("" if each.default is each.empty else "=..."))
    return ", ".join(words)


if __name__ == "__main__":
    sys.stdout.write("\n".join(surface()) + "\n")
