"""Exercises for a class: problem sheets about the arithmetic of the bench, and the key with every working.

Each topic has its makers of problems, level by level, in the rooms before this one.  They draw numbers that a bakery meets
and keep a draw only where the answer is round enough for the board; the sums are the library's own.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from html import escape
from textwrap import fill
from typing import Any, Final

from attrs import frozen

from .costproblems import COST_PROBLEMS
from .draws import Dice
from .errors import Fault, FormulaError, UnknownNameError, cited
from .lossproblems import LOSS_PROBLEMS, NET_WEIGHT_PROBLEMS
from .percentproblems import PERCENT_PROBLEMS, SCALING_PROBLEMS
from .preferproblems import PREFERMENT_PROBLEMS
from .problems import Problem
from .waterproblems import ICE_PROBLEMS, WATER_PROBLEMS
from .words import whole_page
from .working import escaped_markdown
from .yeastproblems import YEAST_PROBLEMS

__all__ = ["LEVELS", "MOST_PROBLEMS", "TOPICS", "Exercises", "Topic", "exercises"]

Maker = Callable[[Dice], Problem | None]
LEVELS: Final = (1, 2, 3)
"""1: one step in grams and degrees Celsius; 2: more steps, pounds and Fahrenheit; 3: two calculations, one after the other."""
MOST_PROBLEMS: Final = 50
"""On one sheet; more than a class does in a week."""
_MOST_DRAWS: Final = 20_000
_WIDTH: Final = 78
_NO_BREAK: Final = "\N{NO-BREAK SPACE}"
_STYLE: Final = """\
:root { color-scheme: light dark; }
body { margin: 0 auto; max-width: 46rem; padding: 1rem; font: 1.1rem/1.5 sans-serif; }
h1 { font-size: 1.5em; }
h3 { font-size: 1em; margin: 0.6em 0 0.2em; }
li { margin: 0 0 1.2em; }
li li { margin: 0.3em 0; }
li li span, li li cite { display: block; font-size: 0.8em; opacity: 0.85; }
.sheet li { break-inside: avoid; margin-bottom: 3em; }
.line { display: inline-block; border-bottom: 1px solid; width: 14em; height: 2.2em; }
p.caution, p.note { border-left: 0.3em solid; padding-left: 0.6em; }
"""


@frozen
class Topic:
    """What problems are about: its ``name``, in a line what is practised, and a ``note`` for every sheet."""

    name: str
    about: str
    note: str
    levels: tuple[tuple[Maker, ...], ...]


TOPICS: Final = (
    Topic("baker's percent", "from a percentage to a weight and back", "", PERCENT_PROBLEMS),
    Topic("scaling", "from the dough or the pieces to what is weighed", "", SCALING_PROBLEMS),
    Topic("preferment", "what goes into it, and what is left for the final dough", "", PREFERMENT_PROBLEMS),
    Topic(
        "dough temperature",
        "the water temperature, the friction of the mixer",
        "Water above 50 °C (122 °F) kills yeast and scalds: pour it away from yourself.",
        WATER_PROBLEMS,
    ),
    Topic(
        "ice",
        "how much ice for water that the tap does not give",
        "Ice must be of drinking quality and must have melted before mixing ends.",
        ICE_PROBLEMS,
    ),
    Topic(
        "yeast",
        "from one form to another, and the dose for another time",
        "The factors are common ones: the maker's own table goes first. Dose times time holds for small changes only.",
        YEAST_PROBLEMS,
    ),
    Topic(
        "losses",
        "the dough for a baked weight",
        "Weigh your own bread: losses differ from oven to oven.",
        LOSS_PROBLEMS,
    ),
    Topic(
        "net weight",
        "tare, limits, and the mean that holds a promised weight",
        "A rule for the class. Weights and labels are law: local codes and licensed practice decide.",
        NET_WEIGHT_PROBLEMS,
    ),
    Topic("cost", "from the price of a sack to what a loaf must bring in", "All prices are invented.", COST_PROBLEMS),
)
"""The topics, in the order in which a class meets them."""


@frozen
class Exercises:
    """A sheet of problems on one topic, with its key."""

    topic: str
    level: int
    seed: int
    problems: tuple[Problem, ...]

    @property
    def title(self) -> str:
        """The head of the sheet; with the seed, so that the key can be found again."""
        return f"{self.topic[0].upper()}{self.topic[1:]}, level {self.level}, sheet {self.seed}"

    @property
    def note(self) -> str:
        """What must be said on every sheet of the topic; "" if nothing."""
        return next((topic.note for topic in TOPICS if topic.name == self.topic), "")

    def __str__(self) -> str:
        """Return the sheet as text."""
        return self.text()

    def text(self) -> str:
        """Return the sheet as plain text for the printer, with a line for each answer."""
        parts = [self.title]
        for number, problem in enumerate(self.problems, 1):
            parts.append(f"{_wrapped(problem.text, f'{number}. ')}\n\n    Answer: {'_' * 24}\n")
        return "\n\n".join([*parts, *([_wrapped(self.note, "")] if self.note else [])]) + "\n"

    def markdown(self) -> str:
        """Return the sheet as Markdown."""
        items = [f"{number}. {escaped_markdown(problem.text)}" for number, problem in enumerate(self.problems, 1)]
        note = [f"> {escaped_markdown(self.note)}"] if self.note else []
        return "\n\n".join([f"# {escaped_markdown(self.title)}", *items, *note]) + "\n"

    def html(self) -> str:
        """Return the sheet as a page for the printer that stands alone, all text escaped."""
        items = [
            f'<li>{escape(_kept_together(problem.text))}<br>Answer: <span class="line"></span></li>'
            for problem in self.problems
        ]
        return self._page(self.title, "sheet", items)

    def key_text(self) -> str:
        """Return the key as plain text: answer and tolerance, the working, and what wrong answers reveal."""
        parts = [f"Key: {self.title}"]
        for number, problem in enumerate(self.problems, 1):
            working = problem.working().text().strip()
            mistakes = "\n".join(f"  {problem.told(each.value)}: {each.reveals}" for each in problem.mistakes)
            parts.append(f"{number}. {_answer(problem)}\n\n{working}\n\nWrong answers:\n{mistakes}")
        return "\n\n".join(parts) + "\n"

    def key_markdown(self) -> str:
        """Return the key as Markdown."""
        parts = [f"# Key: {escaped_markdown(self.title)}"]
        for number, problem in enumerate(self.problems, 1):
            mistakes = "\n".join(
                f"- {escaped_markdown(f'{problem.told(each.value)}: {each.reveals}')}" for each in problem.mistakes
            )
            parts += [
                f"## {number}. {escaped_markdown(_answer(problem))}",
                problem.working().markdown().strip(),
                f"Wrong answers:\n\n{mistakes}",
            ]
        return "\n\n".join(parts) + "\n"

    def key_html(self) -> str:
        """Return the key as a page that stands alone, with MathML, all text escaped."""
        items: list[str] = []
        for problem in self.problems:
            mistakes = "".join(f"<li>{escape(f'{problem.told(m.value)}: {m.reveals}')}</li>" for m in problem.mistakes)
            items.append(
                f"<li><strong>{escape(_answer(problem))}</strong>{problem.working().html()}"
                f"<p>Wrong answers:</p><ul>{mistakes}</ul></li>"
            )
        return self._page(f"Key: {self.title}", "key", items)

    def to_tables(self) -> dict[str, Any]:
        """Return sheet and key as plain tables, for JSON.

        Example:
            >>> tables = exercises("ice", count=2).to_tables()
            >>> tables["topic"], len(tables["problems"]), tables["problems"][0]["unit"]
            ('ice', 2, 'kg')
        """
        return {
            "topic": self.topic,
            "level": self.level,
            "seed": self.seed,
            "note": self.note,
            "problems": [_problem_tables(number, problem) for number, problem in enumerate(self.problems, 1)],
        }

    def _page(self, title: str, kind: str, items: Sequence[str]) -> str:
        note = f'\n<p class="note">{escape(self.note)}</p>' if self.note else ""
        listed = "\n".join(items)
        body = f'<h1>{escape(title)}</h1>\n<ol class="{kind}">\n{listed}\n</ol>{note}\n'
        return whole_page(title, _STYLE, body)


def _answer(problem: Problem) -> str:
    asks = f"{problem.asks[0].upper()}{problem.asks[1:]}"
    return f"{asks}: {problem.answer} ({problem.tolerance_text}: {problem.tolerance_reason})"


def _kept_together(text: str) -> str:
    """Keep a number and its unit on one line: "2 %" is no end of a line."""
    return re.sub("(?<=[0-9]) ", _NO_BREAK, text)


def _wrapped(text: str, start: str) -> str:
    inside = " " * len(start)
    lines = fill(_kept_together(text), _WIDTH, initial_indent=start, subsequent_indent=inside, break_on_hyphens=False)
    return lines.replace(_NO_BREAK, " ")


def _problem_tables(number: int, problem: Problem) -> dict[str, Any]:
    working = problem.working()
    return {
        "number": number,
        "text": problem.text,
        "asks": problem.asks,
        "givens": dict(problem.givens),
        "answer": problem.answer,
        "value": problem.value,
        "unit": problem.unit,
        "kind": problem.kind,
        "tolerance": problem.tolerance,
        "tolerance_reason": problem.tolerance_reason,
        "mistakes": [{"value": each.value, "reveals": each.reveals} for each in problem.mistakes],
        "working": [str(step) for step in working.steps],
        "cautions": [{"code": caution.code, "text": caution.text} for caution in working.cautions],
    }


def exercises(topic: str, count: int = 5, seed: int = 0, level: int = 1) -> Exercises:
    """Set problems on a topic, with answers, workings and the mistakes that are often made.

    The same topic, level and seed give the same problems everywhere, and a longer sheet begins like a shorter one.

    Args:
        topic: "baker's percent", "scaling", "preferment", "dough temperature", "ice", "yeast", "losses", "net weight" or
            "cost".
        count: how many, 1 to 50; no two are the same.
        seed: the number of the sheet, any whole number.
        level: 1 (one step), 2 (more steps, pounds and Fahrenheit) or 3 (two calculations, one after the other).

    Returns:
        The sheet, with its key.

    Raises:
        UnknownNameError: for an unknown topic.
        FormulaError: for a count, seed or level that is none; all faults at once.

    Range and accuracy: numbers are drawn within what a bakery meets, and a draw is kept where its answer is round: half
    degrees or whole °F, a step of 1 to 5 g, 50 g, 0.1 lb or oz, a tenth of a percent, a cent.  Answer and mistakes lie more
    than two tolerances apart.

    Example:
        >>> sheet = exercises("dough temperature", count=5, seed=7)
        >>> first = sheet.problems[0]
        >>> first.check(first.answer).right, first.check("18 kg").right
        (True, False)
    """
    subject = _find(topic)
    faults = [] if subject else [_unknown(topic)]
    if not _is_count(count) or not 1 <= count <= MOST_PROBLEMS:
        faults.append(Fault("count", cited(count), f"a whole number from 1 to {MOST_PROBLEMS}", "write count=5"))
    if not _is_count(seed):
        faults.append(Fault("seed", cited(seed), "a whole number", "write seed=7"))
    if not _is_count(level) or level not in LEVELS:
        faults.append(Fault("level", cited(level), f"one of {', '.join(map(str, LEVELS))}", "1 is the easiest"))
    if subject is None:
        raise UnknownNameError(*faults)
    if faults:
        raise FormulaError(*faults)
    makers = subject.levels[level - 1]
    dice = Dice(f"{subject.name}/{level}/{seed}")
    problems: list[Problem] = []
    texts: set[str] = set()
    while len(problems) < count:
        problem = _drawn(makers[len(problems) % len(makers)], dice, texts)
        problems.append(problem)
        texts.add(problem.text)
    return Exercises(topic=subject.name, level=level, seed=seed, problems=tuple(problems))


def _drawn(maker: Maker, dice: Dice, texts: set[str]) -> Problem:
    """Draw until a problem is good for the board and not on the sheet yet."""
    for _ in range(_MOST_DRAWS):
        problem = maker(dice)
        if problem is not None and problem.text not in texts:
            return problem
    message = f"{maker.__name__} finds no new problem in {_MOST_DRAWS} draws"
    raise RuntimeError(message)


def _is_count(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _find(name: object) -> Topic | None:
    """Return the topic of a name, or None; capitals, underscores and hyphens do not matter."""
    plain = " ".join(name.casefold().replace("_", " ").replace("-", " ").split()) if isinstance(name, str) else ""
    plain = plain.replace("\N{RIGHT SINGLE QUOTATION MARK}", "'").replace("bakers ", "baker's ")
    return next((topic for topic in TOPICS if plain == topic.name), None)


def _unknown(name: object) -> Fault:
    return Fault("topic", cited(name), f"one of {', '.join(topic.name for topic in TOPICS)}")
