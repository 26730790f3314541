"""The lessons of ``docs/class``: their cells, run plainly or by a notebook's kernel, and the pages made of them."""

import logging
import os
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

PROJECT = Path(__file__).parents[1]
FOLDER = PROJECT / "docs" / "class"
LESSONS = sorted(FOLDER.glob("[0-9]*.md"))
CELL = re.compile(r"^```\{code-cell\} python\n((?::[^\n]*\n)*)\n?(.*?)^```$", re.MULTILINE | re.DOTALL)
ANSWER = re.compile(r"^\*\*(\d+)\.\*\* ", re.MULTILINE)
"""An answer begins with its number; the cell after it ends it."""


def cells(text: str) -> Iterator[tuple[str, str]]:
    """Yield the options and the code of each cell, without the magic lines that a kernel alone understands."""
    for options, code in CELL.findall(text):
        yield options, re.sub(r"^%.*\n", "", code, flags=re.MULTILINE)


def run_plainly(text: str, name: str) -> dict[str, Any]:
    """Run all cells in one namespace, from clean, and return it; the first error is raised where it stands."""
    names: dict[str, Any] = {"__name__": "__main__"}
    for number, (_, code) in enumerate(cells(text), start=1):
        exec(compile(code, f"{name}, cell {number}", "exec"), names)  # noqa: S102 - our own lesson
    return names


def run_as_notebook(lesson: Path) -> Any:  # noqa: ANN401 - a notebook's node has no type of its own
    """Run a lesson by a new kernel, in the lesson's folder, and return the notebook with its outputs."""
    import jupytext
    from nbclient import NotebookClient

    logging.getLogger("traitlets").setLevel(logging.WARNING)
    notebook = jupytext.read(lesson)
    with tempfile.TemporaryDirectory() as private:
        client = NotebookClient(
            notebook,
            timeout=120,
            kernel_name="python3",
            extra_arguments=["--log-level=ERROR"],
            resources={"metadata": {"path": str(lesson.parent)}},
        )
        return client.execute(env={**os.environ, "IPYTHONDIR": private})


def page(notebook: Any, pictures: Path) -> str:  # noqa: ANN401 - see above
    """Write an executed notebook as a Markdown page: checks left out, answers folded, pictures put into a folder."""
    parts = []
    for number, cell in enumerate(notebook.cells, start=1):
        tags = cell.metadata.get("tags", [])
        if cell.cell_type == "markdown":
            parts.append(ANSWER.sub(r"<details><summary>Answer to question \1</summary>\n\n", cell.source))
        elif "check" not in tags:
            code = re.sub(r"^%.*\n", "", cell.source, flags=re.MULTILINE)
            shown = [f"```python\n{code}\n```"]
            for place, output in enumerate(cell.outputs):
                shown.append(_shown(output, pictures / f"{number}-{place}.svg", cell.metadata.get("alt", "")))
            parts += [*shown, "</details>"] if "answer" in tags else shown
    return "\n\n".join(parts) + "\n"


def _shown(output: Any, picture: Path, alt: str) -> str:  # noqa: ANN401 - see above
    if output.output_type == "stream":
        return _printed(output.text)
    if "image/svg+xml" in output.data:
        assert alt, "a picture needs words for those who cannot see it"
        picture.parent.mkdir(parents=True, exist_ok=True)
        picture.write_text(output.data["image/svg+xml"], encoding="utf-8")
        return f"![{alt}]({os.path.relpath(picture, FOLDER)})"
    return _printed(output.data["text/plain"])


def _printed(text: str) -> str:
    return f"```{{code-block}} text\n:class: printed\n\n{text.rstrip()}\n```"
