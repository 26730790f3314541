"""The versions that are asked for are those that were tested: the oldest allowed are written down one by one."""

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


def test_the_oldest_versions_are_those_of_the_project() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    asked = [*project["dependencies"], *extras["cli"], *extras["sheet"], *extras["plot"]]
    oldest = dict(re.findall(r"^([a-z0-9-]+)==([0-9.]+)$", (ROOT / "tests" / "minimum.txt").read_text(), re.MULTILINE))
    found = {}
    for each in asked:
        name, version = re.fullmatch(r"([a-z0-9-]+)>=([0-9.]+)(?:,<[0-9.]+)?", each).groups()  # type: ignore[union-attr]
        found[name] = version
    padded = {name: ".".join(([*version.split("."), "0", "0"])[:3]) for name, version in found.items()}
    assert padded == oldest


@pytest.mark.parametrize("file", ["constraints.txt", "minimum.txt"])
def test_each_package_is_pinned_once(file: str) -> None:
    names = re.findall(r"^([A-Za-z0-9_.-]+)==", (ROOT / "tests" / file).read_text(encoding="utf-8"), re.MULTILINE)
    assert len(names) > 5
    several = {name for name in names if names.count(name) > 1}
    lines = (ROOT / "tests" / file).read_text(encoding="utf-8").splitlines()
    # A package that needs another version on another Python says so behind a semicolon.
    assert all("; python" in line for line in lines if line.partition("==")[0] in several)
