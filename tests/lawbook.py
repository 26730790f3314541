"""The laws in words, from the docstrings of their classes, for the page that lists them."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from formula.working import escaped_markdown

LAWS = Path(__file__).parent / "laws"


def laws() -> Iterator[tuple[str, str, str]]:
    """Yield each law: the subject (its file), the name of its class, and its sentence."""
    for path in sorted(LAWS.glob("test_*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and node.name.startswith("Test"):
                said = (ast.get_docstring(node) or "").split("\n\n")[0]
                yield path.stem.removeprefix("test_"), node.name, re.sub(r"\s+", " ", said)


def law_lists() -> str:
    """Return the laws as Markdown, a list for each subject."""
    lines: list[str] = []
    last = ""
    for subject, _, said in laws():
        if subject != last:
            lines += ["", f"## {TITLES[subject]}", ""]
            last = subject
        # A docstring writes code between two backticks, Markdown between one.
        lines.append("* " + re.sub(r"\\`\\`(.+?)\\`\\`", lambda match: f"`{match.group(1)}`", escaped_markdown(said)))
    return "\n".join(lines).strip() + "\n"


TITLES = {
    "allergens": "Allergens of the day",
    "basetemp": "Base temperature",
    "batch": "Batches and rounding",
    "clockwork": "The day on the clock",
    "comparison": "Two breads",
    "cooling": "Cooling",
    "correction": "Correcting the next mix",
    "cost": "Cost",
    "culture": "Levain",
    "day": "The day",
    "dividing": "Dividing on a scale",
    "dose": "Yeast for another time",
    "doughs": "Doughs of the day",
    "evening": "The evening before",
    "exchange": "Exchanging ingredients",
    "formula": "Formulas",
    "heat": "The heat of a dough",
    "ice": "Ice",
    "label": "Labels",
    "layout": "Formula files",
    "livesheet": "Sheets that calculate",
    "losses": "Losses",
    "lossfit": "Losses of another loaf",
    "netweight": "Net weight",
    "nutrition": "Nutrition",
    "olddough": "Old dough",
    "optimum": "The best order of the day",
    "ordered": "Dough for orders",
    "portion": "Dividing",
    "quantity": "Quantities in and out",
    "relief": "When the day does not fit",
    "replanning": "The rest of the day planned anew",
    "schedule": "Schedules",
    "supply": "Water as it is there",
    "tin": "Tins and trays",
    "trialfit": "Friction from trials",
    "uncertainty": "Plus and minus",
    "wallchart": "The wall chart",
    "water": "Water temperature",
    "yeast": "Forms of yeast",
}
"""What the page calls the subjects."""
