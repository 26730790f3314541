"""Every name that can be imported has a type that a type checker knows."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest


@pytest.mark.skipif("FORMULA_INSTALLED" not in os.environ, reason="asked of the installed package alone")
def test_all_of_the_public_surface_is_typed(tmp_path: Path) -> None:
    pytest.importorskip("pyright")
    scripts = Path(sys.executable).parent
    ran = subprocess.run(
        [scripts / "pyright", "--verifytypes", "formula", "--ignoreexternal", "--outputjson"],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        cwd=tmp_path,
        env={**os.environ, "PATH": f"{scripts}{os.pathsep}{os.environ['PATH']}", "VIRTUAL_ENV": str(scripts.parent)},
    )
    found = json.loads(ran.stdout)["typeCompleteness"]
    unknown = [each["name"] for each in found["symbols"] if not each["isTypeKnown"]]
    assert unknown == []
    assert found["completenessScore"] == 1
    assert found["exportedSymbolCounts"]["withKnownType"] > 5000
