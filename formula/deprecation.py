"""Names that go: an old public name works until the version that is written beside it, and warns.

Until 1.0 a minor version may change a name, from 1.0 a major one (semantic versioning); the change log says so.  A test
fails when a version is reached in which a name should be gone, so that none stays for ever.
"""

from __future__ import annotations

import warnings
from typing import Final

from attrs import frozen

__all__ = ["DEPRECATED", "Deprecated", "overdue", "successor"]


@frozen
class Deprecated:
    """A public name that is to go.

    Args:
        name: the old name, as it was imported from ``formula``.
        instead: the public name that takes its place.
        since: the version that has both.
        gone: the version that has only the new one.
    """

    name: str
    instead: str
    since: str
    gone: str

    def __str__(self) -> str:
        """Return what a caller is told."""
        return f"formula.{self.name} is named {self.instead} since {self.since} and goes with {self.gone}"


DEPRECATED: Final[tuple[Deprecated, ...]] = ()
"""All that are to go, none at present."""


def successor(name: str, entries: tuple[Deprecated, ...] = DEPRECATED) -> str | None:
    """Return the name in the place of an old one, and warn whoever uses the old one; None if it is no old name.

    Args:
        name: what was asked for.
        entries: the old names.

    Example:
        >>> successor("Formula") is None
        True
    """
    for entry in entries:
        if entry.name == name:
            # 3: past this function and the package's own look-up, where the old name is written.
            warnings.warn(str(entry), DeprecationWarning, stacklevel=3)
            return entry.instead
    return None


def overdue(version: str, entries: tuple[Deprecated, ...] = DEPRECATED) -> tuple[Deprecated, ...]:
    """Return the names that should be gone in a version.

    Args:
        version: numbers with points, such as "1.2.0"; what comes after them (".dev1", "rc1") does not count.
        entries: the old names.

    Example:
        >>> overdue("0.1.0")
        ()
    """
    return tuple(entry for entry in entries if _numbers(version) >= _numbers(entry.gone))


def _numbers(version: str) -> tuple[int, ...]:
    found: list[int] = []
    for part in version.split("."):
        if not part.isdigit():
            break
        found.append(int(part))
    return (*found, 0, 0, 0)[:3]
