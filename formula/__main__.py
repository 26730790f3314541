"""The door of the command line: needs only the standard library until it knows that the rest is there."""

from __future__ import annotations

import sys
from importlib.util import find_spec

__all__ = ["main"]


def main() -> int:
    """Run the command line; without its packages, say how to install them and exit with 2."""
    missing = [package for package in ("click", "rich") if find_spec(package) is None]
    if missing:
        needed = " and ".join(missing)
        sys.stderr.write(f"the command line needs {needed}: pip install 'dough-formula[cli]'\n")
        return 2
    from .cli import run  # noqa: PLC0415 - it imports click and rich

    return run()


if __name__ == "__main__":
    sys.exit(main())
