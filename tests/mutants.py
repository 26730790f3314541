"""Change every kernel in small ways, one at a time, and see whether a test notices; by hand, it takes a while.

    pip install mutmut==3.8.1
    python -m tests.mutants                 # all kernels: about half an hour
    python -m tests.mutants ice. water.     # only those whose names begin so; nothing is written down

The work is done in a copy under ``.build``, with the tests of the rooms that hold kernels.  What no test notices is written
into ``docs/measured/mutation.json``, where each needs a reason.  Texts and workings are no kernels and stay as they are.
"""

import json
import os
import re
import subprocess
import sys
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

from tests.copies import copy_project
from tests.test_dimensions import KERNELS
from tests.trust import MEASURED, measured

ROOT = Path(__file__).parents[1]
PLACE = ROOT / ".build" / "mutants"
OTHERS = {"draws"}
"""Rooms whose kernels are none of the trade."""
BESIDE = (
    "capacity", "conduction", "cooling", "culture", "dividing", "formula_rows", "heat", "losstable", "numeric", "nutrition",
    "portion", "press", "samples", "yeast_rows",
)  # fmt: skip
"""Tests of kernels in rooms of another name."""
NOTICED = {"killed", "timeout", "segfault", "suspicious"}
"""An endless search is noticed as well."""


def selected() -> list[str]:
    """Return the tests of all rooms that hold kernels, as they are named after them, and of the others that use them."""
    names = sorted({name.partition(".")[0] for name in KERNELS} - OTHERS | {*BESIDE})
    files = (Path("tests") / folder / f"test_{name}.py" for name in names for folder in (".", "laws"))
    return [str(file) for file in files if (ROOT / file).exists()]


def prepare(rooms: set[str]) -> None:
    """Copy what is committed or about to be, and tell mutmut what to change and what to run."""
    copy_project(PLACE)
    config = {
        "source_paths": ["formula"],
        "only_mutate": [f"formula/{room}.py" for room in sorted(rooms)],
        "also_copy": ["README.md", "DEVELOPERS.md", "docs"],
        "pytest_add_cli_args": ["-q", "-x", "-W", "ignore"],
        "pytest_add_cli_args_test_selection": selected(),
    }
    lines = "\n".join(f"{key} = {json.dumps(value)}" for key, value in config.items())
    with (PLACE / "pyproject.toml").open("a", encoding="utf-8") as file:
        file.write(f"\n[tool.mutmut]\n{lines}\n")


def mutmut(*arguments: str) -> str:
    """Run mutmut in the copy and return what it says."""
    environment = {**os.environ, "FORMULA_HYPOTHESIS": "again"}
    ran = subprocess.run(
        [Path(sys.executable).parent / "mutmut", *arguments],
        cwd=PLACE, env=environment, check=False, capture_output=True, text=True,
    )  # fmt: skip
    return ran.stdout


def change(name: str) -> str:
    """Return what a mutant changes, from one line to the other."""
    lines = [line for line in mutmut("show", name).splitlines() if re.match(r"[-+](?![-+])", line)]
    return " → ".join(line[1:].strip() for line in lines)


def main() -> None:
    """Change the kernels, run the tests, and write down what they let pass."""
    wanted = sys.argv[1:]
    kernels = [
        name
        for name in KERNELS
        if name.partition(".")[0] not in OTHERS and (not wanted or name.startswith(tuple(wanted)))
    ]
    rooms = {name.partition(".")[0] for name in kernels}
    prepare(rooms)
    patterns = [
        f"formula.{room}.x_{function}__mutmut_*" for room, _, function in (name.partition(".") for name in kernels)
    ]
    said = mutmut("run", "--max-children", "1", *patterns)
    if "Mutant results" not in said:
        sys.exit(f"mutmut did not come to its end:\n{said[-3000:]}")
    found: dict[str, str] = dict(re.findall(r"^\s*(\S+): (.+)$", mutmut("results", "--all", "true"), re.MULTILINE))
    mine = {
        name: went
        for name, went in found.items()
        if any(name.startswith(pattern.removesuffix("*")) for pattern in patterns)
    }
    left = [name for name, went in mine.items() if went not in NOTICED]
    print(f"{len(mine)} changes of {len(kernels)} kernels, {len(mine) - len(left)} noticed")  # noqa: T201
    known = {
        (each["kernel"], each["change"]): each["reason"]
        for each in (measured("mutation") or {"survivors": []})["survivors"]
    }
    survivors = []
    for name in left:
        kernel = re.sub(r"^formula\.(\w+)\.x_(\w+?)__mutmut_\d+$", r"\1.\2", name)
        changed = change(name)
        survivors.append({"kernel": kernel, "change": changed, "reason": known.get((kernel, changed), "")})
        print(f"{name} ({mine[name]}): {changed}")  # noqa: T201
    if not wanted:
        record = {
            "date": f"{datetime.now(tz=UTC):%Y-%m-%d}",
            "tool": f"mutmut {version('mutmut')}",
            "kernels": len(kernels),
            "killed": len(mine) - len(left),
            "survived": len(left),
            "survivors": survivors,
        }
        (MEASURED / "mutation.json").write_text(
            json.dumps(record, indent=1, ensure_ascii=False) + "\n", encoding="utf-8"
        )


if __name__ == "__main__":
    main()
