"""What every test here shares: how hypothesis draws, and processes that know nothing yet."""

import gc
import json
import os
import platform
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, settings

import formula

# "ci" always draws the same examples, so that a red run stays red; "long" is for a search by hand:
#     FORMULA_HYPOTHESIS=long python -m pytest tests/laws
# "few" is for a suite whose question is another one, such as whether all of the library is in the wheel.
settings.register_profile(
    "ci",
    derandomize=True,
    database=None,
    deadline=None,
    max_examples=100,
    print_blob=True,
    # What is drawn depends on the modules that are loaded (their numbers are tried too), and so would it whether the first few
    # dozen draws happen to be in vain. A law that finds no example at all still fails.
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
settings.register_profile("long", parent=settings.get_profile("ci"), derandomize=False, max_examples=2_000)
settings.register_profile("few", parent=settings.get_profile("ci"), max_examples=15)
# "again" is for a program that runs the suite several times in one process, each time with new objects of the classes.
settings.register_profile(
    "again",
    parent=settings.get_profile("few"),
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.differing_executors],
)
# "seen" is for a program that asks only whether a test fails: it looks for no smaller example.
settings.register_profile("seen", parent=settings.get_profile("again"), phases=[Phase.explicit, Phase.generate])
settings.load_profile(os.environ.get("FORMULA_HYPOTHESIS", "ci"))

HOUSE = Path(formula.__file__).parent
"""The folder of the library under test: the source tree, or site-packages when a wheel is tested."""


def run_fresh(*arguments: str, folder: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run Python anew with the same ``formula`` as here, and nothing from the current folder."""
    environment = {
        **os.environ,
        "PYTHONPATH": str(HOUSE.parent),
        "PYTHONSAFEPATH": "1",
        "PYTHONUTF8": "1",
        "COLUMNS": "120",
        "NO_COLOR": "1",
    }
    return subprocess.run(
        [sys.executable, "-W", "error", *arguments],
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=300,
        check=False,
        cwd=folder,
        env=environment,
    )


@pytest.fixture(scope="session")
def fresh_python() -> Callable[[str], str]:
    """Give a function that runs Python code in a fresh process and returns what it printed."""

    def run(code: str) -> str:
        ran = run_fresh("-c", code)
        assert ran.returncode == 0, ran.stderr
        return ran.stdout

    return run


Run = Callable[..., tuple[int, str, str]]
"""Runs the command line and returns its exit code, its output and its errors."""


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Give a function that runs the command line in this process."""
    from formula import cli

    def call(*arguments: object) -> tuple[int, str, str]:
        code = cli.run([str(argument) for argument in arguments])
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return call


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Write down how a run of the suite went, where ``FORMULA_RECORD`` names a file: for the page of trust."""
    record = os.environ.get("FORMULA_RECORD")
    if record:
        counts = {key: len(terminalreporter.stats.get(key, [])) for key in ("passed", "failed", "error", "skipped")}
        about = {
            "date": f"{datetime.now(tz=UTC):%Y-%m-%d}",
            "python": platform.python_version(),
            "pint": version("pint"),
            "attrs": version("attrs"),
            "examples": settings.get_current_profile_name(),
        }
        Path(record).write_text(json.dumps(about | counts, indent=1) + "\n", encoding="utf-8")


def pytest_collection_finish() -> None:
    """Put what was collected out of the collector's way: it would look through a million objects again and again."""
    gc.collect()
    gc.freeze()
