"""Steps of a derivation: how a number came about, for whoever has to teach it or check it.

Every public result answers ``working()`` with a ``Working``.  A step is *symbol = expression = numbers = value [unit]*;
its numbers are not typed a second time but put into the expression, so that the two cannot drift apart, and anybody
can evaluate the expression anew.  Expressions are ordinary arithmetic with + - * / ** and the functions named in
``FUNCTIONS``; text, Markdown, HTML (MathML) and LaTeX are all drawn from the same expression.
"""

from __future__ import annotations

import ast
import math
import re
from collections.abc import Callable, Mapping

from attrs import field, frozen

from .lines import Lines

__all__ = ["FUNCTIONS", "Caution", "Step", "Working", "escaped_markdown", "shown", "summed_steps"]

_BLOCK = 20
"""More terms than this in one sum cannot be read any more."""

FUNCTIONS: Mapping[str, Callable[..., float]] = {
    "ceil": math.ceil, "exp": math.exp, "floor": math.floor, "ln": math.log, "max": max, "min": min, "abs": math.fabs,
}  # fmt: skip


@frozen
class Caution:
    """Something the reader must know before using a number: a stable ``code`` for programs and a sentence.

    Example:
        >>> from formula import water_temperature
        >>> made = water_temperature("25 °C", flour="26 °C", room="30 °C", friction="24 K")
        >>> made.cautions[0].code
        'needs-ice'
    """

    code: str
    text: str

    def __str__(self) -> str:
        """Return the sentence."""
        return self.text


def shown(value: float, digits: int = 6) -> str:
    """Return a number for the eye: at most ``digits`` significant digits, no exponent in a baker's range.

    Args:
        value: any finite number.
        digits: significant digits kept before the decimal point has been passed; whole parts are never cut.

    Example:
        >>> shown(16747.058823529), shown(0.1), shown(2.0)
        ('16747.1', '0.1', '2')
    """
    if value == 0 or not math.isfinite(value):
        return str(int(value)) if value == 0 else str(value)
    before = math.floor(math.log10(abs(value))) + 1
    text = f"{value:.{max(0, min(12, digits - before))}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _floats(values: Mapping[str, float]) -> Lines[float]:
    return Lines((name, float(value)) for name, value in values.items())


def _texts(units: Mapping[str, str]) -> Lines[str]:
    return Lines(units.items())


@frozen
class Step:
    """One line of a working: ``symbol = expression = numbers = value [unit]``, with its source.

    Args:
        symbol: the name of what this step finds, such as ``"T_water"``.
        expression: plain arithmetic over the names in ``values``.
        values: the number behind each name.
        value: the outcome.
        unit: the outcome's unit as text; "1" for a ratio, "" for a count.
        source: the id of a source, or "" where it is plain arithmetic.
        note: what the step does, in words.
        units: the unit of each name in ``values`` that no earlier step has found, "1" for a plain number; where they
            are told, the step can be shown in the weights and degrees of the reader (``in_units``).
        beside: the outcome once more in another unit, for the reader.
        inside: the workings behind numbers that the step takes ready-made; the last line of each is such a number.

    Example:
        >>> print(Step("dough", "flour * total / 100", {"flour": 10.0, "total": 170.0}, 17.0, "kg"))
        dough = flour * total / 100 = 10 * 170 / 100 = 17 kg
    """

    symbol: str
    expression: str
    values: Lines[float] = field(converter=_floats)
    value: float
    unit: str
    source: str = ""
    note: str = ""
    units: Lines[str] = field(default=Lines[str](()), converter=_texts)
    beside: str = ""
    inside: tuple[Working, ...] = ()

    @property
    def numbers(self) -> str:
        """The expression with the numbers put in."""

        def put(match: re.Match[str]) -> str:
            name = match.group()
            if name not in self.values:
                return name
            number = shown(self.values[name])
            return f"({number})" if number.startswith("-") else number

        return re.sub(r"\b[^\W\d]\w*", put, self.expression)

    def __str__(self) -> str:
        """Return the step on one line."""
        middle = "" if self.numbers in (self.expression, shown(self.value)) else f" = {self.numbers}"
        right = f"{shown(self.value)} {'' if self.unit == '1' else self.unit}".rstrip()
        right += f" ({self.beside})" if self.beside else ""
        expression = "" if self.expression in (self.symbol, shown(self.value)) else f" = {self.expression}"
        return f"{self.symbol}{expression}{middle} = {right}"


@frozen
class Working:
    """The ordered steps behind one result, ready for the board: as text, Markdown, HTML and LaTeX.

    Example:
        >>> from formula import Losses
        >>> working = Losses(bake="20 %").dough_for("800 g").working()
        >>> print(working.steps[0])
        scaling_weight = bread / (1 - bake) = 800 / (1 - 0.2) = 1000 g
        >>> working.value
        1000.0
    """

    title: str
    steps: tuple[Step, ...]
    cautions: tuple[Caution, ...] = ()

    @property
    def value(self) -> float:
        """The number of the last line, which is the result."""
        return self.steps[-1].value

    def __str__(self) -> str:
        """Return the working as text."""
        return self.text()

    @property
    def can_be_opened(self) -> bool:
        """Whether some step has a working of its own inside."""
        return any(step.inside for step in self.steps)

    def text(self, *, opened: bool = False) -> str:
        """Return the working as plain text, one step a line.

        Args:
            opened: whether the workings inside its steps follow them, set in; else such a step ends with "▸".
        """
        lines = [self.title, ""]
        for number, step in enumerate(self.steps, 1):
            note = f"   ({step.note})" if step.note else ""
            origin = f"   [{step.source}]" if step.source else ""
            mark = "   ▸" if step.inside and not opened else ""
            lines.append(f"{number}. {step}{note}{origin}{mark}")
            lines += self._set_in(step, opened, lambda inner: inner.text(opened=True))
        lines += [f"Caution: {caution.text}" for caution in self.cautions]
        return "\n".join(lines) + "\n"

    def markdown(self, *, opened: bool = False) -> str:
        """Return the working as a Markdown list.

        Args:
            opened: whether the workings inside its steps follow them, set in.
        """
        lines = [f"**{escaped_markdown(self.title)}**", ""]
        for number, step in enumerate(self.steps, 1):
            note = f" — {escaped_markdown(step.note)}" if step.note else ""
            origin = f" *({escaped_markdown(step.source)})*" if step.source else ""
            lines.append(f"{number}. `{step}`{note}{origin}")
            lines += self._set_in(step, opened, lambda inner: inner.markdown(opened=True))
        lines += [f"\n> Caution: {escaped_markdown(caution.text)}" for caution in self.cautions]
        return "\n".join(lines) + "\n"

    @staticmethod
    def _set_in(step: Step, opened: bool, drawn: Callable[[Working], str]) -> list[str]:  # noqa: FBT001
        """Return the lines of the workings inside a step, set in by the width of its number."""
        if not opened or not step.inside:
            return []
        told = "\n\n".join(drawn(inner).rstrip("\n") for inner in step.inside)
        return ["", *(f"    {line}".rstrip() for line in told.split("\n")), ""]

    def latex(self, *, opened: bool = False) -> str:
        """Return the working as a LaTeX ``align*`` block.

        Args:
            opened: whether the workings inside its steps follow, each a block of its own under its title.
        """
        rows = []
        for step in self.steps:
            unit = rf"\,\mathrm{{{_latex_text(step.unit)}}}" if step.unit not in ("", "1") else ""
            beside = rf"\;(\text{{{_latex_text(step.beside)}}})" if step.beside else ""
            rows.append(
                rf"{_latex_name(step.symbol)} &= {_drawn(step.expression, _LATEX)}"
                rf" = {_drawn(step.numbers, _LATEX)} = {shown(step.value)}{unit}{beside}"
            )
        inner = [each for step in self.steps for each in step.inside] if opened else []
        blocks = (rf"\paragraph{{{_latex_text(each.title)}}}" + "\n" + each.latex(opened=True) for each in inner)
        return "\\begin{align*}\n" + " \\\\\n".join(rows) + "\n\\end{align*}\n" + "".join(blocks)

    def html(self, *, opened: bool = False) -> str:
        """Return the working as an HTML list with MathML, all text escaped; what is inside a step unfolds.

        Args:
            opened: whether it stands unfolded at first.
        """
        return f"<section><h3>{_escaped_html(self.title)}</h3>{_html_list(self, opened)}</section>"

    def _repr_html_(self) -> str:
        """Return the working for a notebook."""
        return self.html()


def summed_steps(
    symbol: str, terms: dict[str, float], names: dict[str, float] | None = None, unit: str = ""
) -> tuple[list[Step], float]:
    """Add up terms in blocks that still can be read, and the blocks in turn; return the steps and the sum.

    Args:
        symbol: the name of the sum.
        terms: each term as it is written, "flour" or "m * t", with its value.
        names: the values of the names in the terms, where a term is more than a name.
        unit: that of the sum.

    Example:
        >>> steps, total = summed_steps("total", {"white": 900.0, "rye": 100.0})
        >>> print(steps[0].expression, "=", total)
        white + rye = 1000.0
    """
    expressions = list(terms)
    blocks = [expressions[start : start + _BLOCK] for start in range(0, len(expressions), _BLOCK)]
    steps: list[Step] = []
    sums: dict[str, float] = {}
    for number, block in enumerate(blocks, 1):
        name = symbol if len(blocks) == 1 else f"{symbol}_{number}"
        sums[name] = math.fsum(terms[expression] for expression in block)
        used = {word for expression in block for word in expression.split(" * ")}
        values = {word: (names or terms)[word] for word in sorted(used)}
        steps.append(Step(name, " + ".join(block), values, sums[name], unit))
    total = math.fsum(terms.values())
    if len(blocks) > 1:
        steps.append(Step(symbol, " + ".join(sums), sums, total, unit))
    return steps, total


def escaped_markdown(text: str) -> str:
    """Return text with the signs escaped that mean something in Markdown."""
    return re.sub(r"([\\`*_{}\[\]<>#|])", r"\\\1", text)


def _escaped_html(text: str) -> str:
    from html import escape  # noqa: PLC0415 - 1 ms that only a page pays

    return escape(text)


def _html_list(working: Working, opened: bool) -> str:  # noqa: FBT001
    """Return the steps and cautions of a working, and of what is inside its steps, without its title."""
    items = []
    for step in working.steps:
        # Three formulas, so that a narrow page breaks the line at a sign of equality and hides no outcome.
        said = _escaped_html("" if step.unit == "1" else step.unit)
        beside = _escaped_html(f" ({step.beside})" if step.beside else "")
        math_ml = (
            f"<math><mrow>{_ml_name(step.symbol)}<mo>=</mo>{_drawn(step.expression, _MATHML)}</mrow></math> "
            f"<math><mrow><mo>=</mo>{_drawn(step.numbers, _MATHML)}</mrow></math> "
            f"<math><mrow><mo>=</mo><mn>{shown(step.value)}</mn><mtext>&#160;{said}{beside}</mtext></mrow></math>"
        )
        note = f" <span>{_escaped_html(step.note)}</span>" if step.note else ""
        origin = f" <cite>{_escaped_html(step.source)}</cite>" if step.source else ""
        inside = "".join(
            f"<details{' open' if opened else ''}><summary>{_escaped_html(each.title)}</summary>{_html_list(each, opened)}</details>"
            for each in step.inside
        )
        items.append(f"<li>{math_ml}{note}{origin}{inside}</li>")
    cautions = "".join(f'<p class="caution">Caution: {_escaped_html(c.text)}</p>' for c in working.cautions)
    return f"<ol>{''.join(items)}</ol>{cautions}"


def _latex_text(text: str) -> str:
    escaped = re.sub(r"([&%$#_{}])", r"\\\1", text)
    return escaped.replace("°", r"{^\circ}").replace("‰", r"\text{\textperthousand}")


def _latex_name(name: str) -> str:
    head, _, tail = name.partition("_")
    head = _latex_text(head) if len(head) == 1 else rf"\mathrm{{{_latex_text(head)}}}"
    return head if not tail else rf"{head}_{{\mathrm{{{_latex_text(tail.replace('_', ' '))}}}}}"


def _ml_name(name: str) -> str:
    head, _, tail = name.partition("_")
    drawn = f"<mi>{_escaped_html(head)}</mi>"
    return drawn if not tail else f"<msub>{drawn}<mtext>{_escaped_html(tail.replace('_', ' '))}</mtext></msub>"


@frozen
class _Pen:
    """How one notation draws a name, a number, a fraction, a power, a bracket, a sign and a function call."""

    name: Callable[[str], str]
    number: Callable[[float], str]
    fraction: str
    power: str
    bracket: str
    signs: Lines[str]
    call: str


_LATEX = _Pen(
    name=_latex_name,
    number=shown,
    fraction=r"\frac{{{0}}}{{{1}}}",
    power=r"{{{0}}}^{{{1}}}",
    bracket=r"\left({0}\right)",
    signs=Lines({"Add": " + ", "Sub": " - ", "Mult": r" \times ", "USub": "-"}),
    call=r"\operatorname{{{0}}}\left({1}\right)",
)
_MATHML = _Pen(
    name=_ml_name,
    number=lambda value: f"<mn>{shown(value)}</mn>",
    fraction="<mfrac><mrow>{0}</mrow><mrow>{1}</mrow></mfrac>",
    power="<msup><mrow>{0}</mrow><mrow>{1}</mrow></msup>",
    bracket="<mo>(</mo>{0}<mo>)</mo>",
    signs=Lines({"Add": "<mo>+</mo>", "Sub": "<mo>−</mo>", "Mult": "<mo>×</mo>", "USub": "<mo>−</mo>"}),  # noqa: RUF001 - the sign of printed arithmetic
    call="<mi>{0}</mi><mo>(</mo>{1}<mo>)</mo>",
)
_RANK = {"Add": 1, "Sub": 1, "Mult": 2, "Div": 3, "Pow": 3}


def _rank(node: ast.expr) -> int:
    match node:
        case ast.UnaryOp():
            return 0
        case ast.BinOp(op=operator):
            return _RANK.get(type(operator).__name__, 0)
        case _:
            return 4


def _drawn(expression: str, pen: _Pen) -> str:
    """Draw an arithmetic expression of our own with a pen; it is parsed, never evaluated."""

    def draw(node: ast.expr, at_least: int = 0) -> str:
        drawn = bare(node)
        return pen.bracket.format(drawn) if _rank(node) < at_least else drawn

    def bare(node: ast.expr) -> str:
        match node:
            case ast.Name(id=name):
                drawn = pen.name(name)
            case ast.Constant(value=float() | int() as value):
                drawn = pen.number(float(value))
            case ast.UnaryOp(op=ast.USub(), operand=inner):
                drawn = pen.signs["USub"] + draw(inner, 2)
            case ast.BinOp(left=left, op=ast.Div(), right=right):
                # A fraction is drawn with its own line and needs no brackets inside.
                drawn = pen.fraction.format(draw(left), draw(right))
            case ast.BinOp(left=left, op=ast.Pow(), right=right):
                drawn = pen.power.format(draw(left, 4), draw(right))
            case ast.BinOp(left=left, op=ast.Add() | ast.Sub() | ast.Mult() as operator, right=right):
                sign = type(operator).__name__
                # a - (b + c): the right side of a minus keeps its brackets.
                drawn = draw(left, _RANK[sign]) + pen.signs[sign] + draw(right, _RANK[sign] + (sign == "Sub"))
            case ast.Call(func=ast.Name(id=name), args=arguments):
                drawn = pen.call.format(name, ", ".join(draw(argument) for argument in arguments))
            case _:
                message = f"a working cannot draw {ast.dump(node)}"
                raise ValueError(message)
        return drawn

    return draw(ast.parse(expression, mode="eval").body)
