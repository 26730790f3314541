"""Hunt by hand for input that breaks a reader, led by which lines of the library it reaches.

    pip install atheris
    python tests/fuzz/run.py TARGET [--seconds N] [--keep FOLDER]

Without a target it lists them.  What is found is written as ``crash-...`` into the folder that is kept, and belongs into
``tests/test_hostile.py``.  Never run by the suite: atheris is in no extra, and a search by chance has no place in a test.
"""

import argparse
import os
import shutil
import sys
import tempfile
import warnings
from pathlib import Path

import atheris

sys.path.insert(0, str(Path(__file__).parents[2]))
with atheris.instrument_imports(include=["formula", "tomllib"]):
    import formula

    for each in formula.__all__:
        getattr(formula, each)  # rooms are loaded on first use, and are seen into only if that is now
    from tests.hostile import TARGETS, corpus


def main() -> None:
    """Read the command line and search."""
    parser = argparse.ArgumentParser(description="Search for input that breaks a reader.")
    parser.add_argument("target", nargs="?", choices=sorted(TARGETS))
    parser.add_argument("--seconds", type=int, default=60, help="how long to search (60)")
    parser.add_argument("--keep", type=Path, default=Path(".build/fuzz"), help="where what is found is kept")
    asked = parser.parse_args()
    if asked.target is None:
        print("\n".join(sorted(TARGETS)))
        return
    kept = asked.keep.absolute() / asked.target
    kept.mkdir(parents=True, exist_ok=True)
    for number, data in enumerate(corpus(asked.target)):
        (kept / f"example-{number}").write_bytes(data)
    # The files that are written for every try stay in memory where the system has such a place.
    memory = Path("/dev/shm")  # noqa: S108 - only where a folder of our own is made
    scratch = Path(tempfile.mkdtemp(prefix="formula-fuzz-", dir=memory if memory.is_dir() else None))
    warnings.simplefilter("error")
    feed = TARGETS[asked.target]
    own = [f"-max_total_time={asked.seconds}", "-max_len=20000", "-timeout=10", "-rss_limit_mb=1024"]
    try:
        atheris.Setup([sys.argv[0], *own, f"-artifact_prefix={kept.parent}{os.sep}{asked.target}-", "-print_final_stats=1", str(kept)],
                      lambda data: feed(data, scratch))  # fmt: skip
        atheris.Fuzz()
    finally:
        shutil.rmtree(scratch, ignore_errors=True)


if __name__ == "__main__":
    main()
