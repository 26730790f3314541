"""A copy of the project to be changed by a program: what is committed, or about to be."""

import shutil
import subprocess
from pathlib import Path

__all__ = ["copy_project"]

ROOT = Path(__file__).parents[1]


def copy_project(place: Path) -> None:
    """Copy what a clone would hold, and what is about to be added to it, into a folder that is emptied first."""
    shutil.rmtree(place, ignore_errors=True)
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],  # noqa: S607
        cwd=ROOT, check=True, capture_output=True, text=True,
    ).stdout.splitlines()  # fmt: skip
    for name in listed:
        if (ROOT / name).is_file():
            (place / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, place / name)
