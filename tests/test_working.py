"""Workings: shown in four notations from one expression, and every sum can be done again."""

import copy
import pickle
import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula.readerunits import in_units
from formula.working import FUNCTIONS, Caution, Step, Working, shown
from tests.arithmetic import check_step, check_working, evaluate

WATER = Step(
    "T_water",
    "n * T_dough - (T_flour + T_room + friction)",
    {"n": 3, "T_dough": 25.0, "T_flour": 20.0, "T_room": 22.0, "friction": 8.0},
    25.0,
    "°C",
    "common-practice",
    "factor rule",
    {"n": "1", "T_dough": "°C", "T_flour": "°C", "T_room": "°C", "friction": "K"},
)
COLD = Step("rise", "T_out - T_in", {"T_out": -4.0, "T_in": -18.5}, 14.5, "K", units={"T_out": "°C", "T_in": "°C"})
HOT = Caution("hot-water", "Water above 50 °C <kills> yeast & more.")
WORKING = Working("Water temperature", (WATER, COLD), (HOT,))


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-0.0, "0"),
        (2.0, "2"),
        (0.1, "0.1"),
        (0.1 + 0.2, "0.3"),
        (16747.058823529, "16747.1"),
        (1234567.8, "1234568"),
        (-4.25, "-4.25"),
        (0.000123456789, "0.000123457"),
        (1e-12, "0.000000000001"),
        (float("inf"), "inf"),
        (float("nan"), "nan"),
        (99.9999999, "100"),
    ],
)
def test_a_number_for_the_eye(value: float, text: str) -> None:
    assert shown(value) == text


@given(st.floats(1e-3, 1e9))
def test_what_is_shown_is_right_to_its_digits(value: float) -> None:
    assert float(shown(value)) == pytest.approx(value, rel=5e-6)
    assert "e" not in shown(value)


def test_a_step_on_one_line() -> None:
    assert str(WATER) == ("T_water = n * T_dough - (T_flour + T_room + friction) = 3 * 25 - (20 + 22 + 8) = 25 °C")


def test_negative_numbers_stand_in_brackets() -> None:
    assert COLD.numbers == "(-4) - (-18.5)"
    assert evaluate(COLD.numbers, {}) == 14.5


def test_a_given_number_is_not_repeated() -> None:
    assert str(Step("flour", "flour", {"flour": 10.0}, 10.0, "kg")) == "flour = 10 kg"
    assert str(Step("parts", "5", {}, 5.0, "")) == "parts = 5"


def test_a_function_keeps_its_name_and_a_literal_its_exponent() -> None:
    step = Step("e", "exp(1e-3 * e_1)", {"e_1": 0.0}, 1.0, "1")
    assert step.numbers == "exp(1e-3 * 0)"
    assert set(FUNCTIONS) == {"abs", "ceil", "exp", "floor", "ln", "max", "min"}


def test_the_sums_hold() -> None:
    check_working(WORKING, 14.5)


@pytest.mark.parametrize(
    "wrong",
    [
        Step("a", "b + c", {"b": 1.0, "c": 2.0}, 4.0, "g"),
        Step("a", "b", {"b": 1.0, "c": 2.0}, 1.0, "g"),
        Step("a", "b", {"b": 1.0}, 1.0, "g", "no-such-source"),
    ],
)
def test_a_wrong_step_does_not_pass_the_check(wrong: Step) -> None:
    with pytest.raises(AssertionError):
        check_step(wrong)


def test_the_last_line_is_the_value() -> None:
    assert WORKING.value == 14.5


def test_text() -> None:
    assert str(WORKING) == (
        "Water temperature\n\n"
        "1. T_water = n * T_dough - (T_flour + T_room + friction) = 3 * 25 - (20 + 22 + 8) = 25 °C"
        "   (factor rule)   [common-practice]\n"
        "2. rise = T_out - T_in = (-4) - (-18.5) = 14.5 K\n"
        "Caution: Water above 50 °C <kills> yeast & more.\n"
    )


def test_markdown_escapes_what_is_not_ours() -> None:
    drawn = Working("A *loud* title", WORKING.steps, WORKING.cautions).markdown()
    assert drawn.startswith("**A \\*loud\\* title**\n\n1. `T_water = ")
    assert "*(common-practice)*" in drawn
    assert "\\<kills\\>" in drawn


def test_html_is_well_formed_and_escaped() -> None:
    drawn = WORKING.html()
    root = ET.fromstring(drawn)  # noqa: S314 - our own text
    assert root.tag == "section"
    # Symbol and expression, numbers, outcome: a line may break between them.
    assert [len(item.findall("./math")) for item in root.findall("./ol/li")] == [3, 3]
    assert "".join(root.findall("./ol/li/math")[2].itertext()) == "=25\N{NO-BREAK SPACE}°C"
    assert "".join(root.find("./p").itertext()) == f"Caution: {HOT.text}"  # type: ignore[union-attr]
    assert "<kills>" not in drawn
    assert "<msub><mi>T</mi><mtext>water</mtext></msub>" in drawn


@pytest.mark.parametrize(
    ("expression", "latex"),
    [
        ("a * b / 100", r"\frac{a \times b}{100}"),
        ("a - (b + c)", r"a - \left(b + c\right)"),
        ("a - (b - c)", r"a - \left(b - c\right)"),
        ("a - b - c", "a - b - c"),
        ("a + b * c", r"a + b \times c"),
        ("(a + b) * c", r"\left(a + b\right) \times c"),
        ("(a / b) ** c", r"{\left(\frac{a}{b}\right)}^{c}"),
        ("a ** (b + c)", "{a}^{b + c}"),
        ("(a ** b) ** c", r"{\left({a}^{b}\right)}^{c}"),
        ("-a ** 2", "-{a}^{2}"),
        ("(-a) ** 2", r"{\left(-a\right)}^{2}"),
        ("a * -b", r"a \times \left(-b\right)"),
        ("-(a + b)", r"-\left(a + b\right)"),
        ("a / (b * c)", r"\frac{a}{b \times c}"),
        ("ceil(a / b)", r"\operatorname{ceil}\left(\frac{a}{b}\right)"),
        ("max(a, 0)", r"\operatorname{max}\left(a, 0\right)"),
        ("water_1 + flour_total_g", r"\mathrm{water}_{\mathrm{1}} + \mathrm{flour}_{\mathrm{total g}}"),
    ],
)
def test_latex_keeps_the_meaning(expression: str, latex: str) -> None:
    values = dict.fromkeys(["a", "b", "c", "water_1", "flour_total_g"], 1.0)
    drawn = Working("x", (Step("y", expression, values, 1.0, ""),)).latex()
    assert f"&= {latex} = " in drawn


def read_back(node: ET.Element) -> str:
    """Return drawn MathML as Python's arithmetic; a fraction and a power hold together by their drawing."""
    inside = [read_back(each) for each in node]
    match node.tag:
        case "mfrac":
            return f"(({inside[0]}) / ({inside[1]}))"
        case "msup":
            # What is raised keeps its brackets, else only its last sign would seem to be.
            return f"({inside[0]} ** ({inside[1]}))"
        case "mo":
            return {"×": "*", "−": "-"}.get(node.text or "", node.text or "")  # noqa: RUF001 - the signs of printed arithmetic
        case _:
            return "".join(inside) or node.text or ""


@pytest.mark.parametrize("second", ["+", "-", "*", "/", "**"])
@pytest.mark.parametrize("first", ["+", "-", "*", "/", "**"])
def test_a_drawing_keeps_every_bracket_that_counts(first: str, second: str) -> None:
    values = {"a": 7.0, "b": 3.0, "c": 2.0}
    for expression in (f"a {first} (b {second} c)", f"(a {first} b) {second} c", f"-(a {first} b) {second} c"):
        worth = eval(expression, {}, values)  # noqa: S307 - written here
        drawn = Working("x", (Step("y", expression, values, worth, ""),)).html()
        (first_of_three,) = re.findall(r"<math><mrow><mi>y</mi><mo>=</mo>(.*?)</mrow></math> <math>", drawn)
        found = read_back(ET.fromstring(f"<mrow>{first_of_three}</mrow>"))  # noqa: S314 - drawn by us
        assert eval(found, {}, values) == worth, (expression, found)  # noqa: S307


def test_latex_escapes_units() -> None:
    drawn = Working("x", (Step("y", "a", {"a": 5.0}, 5.0, "%"), Step("z", "a", {"a": 5.0}, 5.0, "°C"))).latex()
    assert r"\,\mathrm{\%}" in drawn
    assert r"\,\mathrm{{^\circ}C}" in drawn
    assert drawn.startswith("\\begin{align*}\n")
    assert drawn.endswith("\n\\end{align*}\n")


@pytest.mark.parametrize("expression", ["a // b", "a if b else a", "a.b", "a % b", "'a'", "[a]", "a < b"])
def test_what_is_not_arithmetic_is_not_drawn(expression: str) -> None:
    working = Working("x", (Step("y", expression, {"a": 1.0, "b": 1.0}, 1.0, ""),))
    with pytest.raises(ValueError, match="a working cannot draw"):
        working.latex()
    with pytest.raises(ValueError, match="a working cannot draw"):
        working.html()


class TestInside:
    """A step that takes a number ready-made can be opened."""

    LEAF = Working("The rate", (Step("k", "k", {"k": 0.5}, 0.5, "1"),), (HOT,))
    MIDDLE = Working("The sum", (Step("s", "k * t", {"k": 0.5, "t": 4.0}, 2.0, "h", inside=(LEAF,)),))
    OUTER = Working("A & B", (Step("dose", "s * y", {"s": 2.0, "y": 3.0}, 6.0, "%", note="new", inside=(MIDDLE,)),))

    def test_closed_it_is_marked(self) -> None:
        assert self.OUTER.can_be_opened
        assert not WORKING.can_be_opened
        assert self.OUTER.text() == "A & B\n\n1. dose = s * y = 2 * 3 = 6 %   (new)   ▸\n"
        assert "The sum" not in self.OUTER.markdown() + self.OUTER.latex()

    def test_opened_it_follows_set_in(self) -> None:
        assert self.OUTER.text(opened=True).split("\n") == [
            "A & B",
            "",
            "1. dose = s * y = 2 * 3 = 6 %   (new)",
            "",
            "    The sum",
            "",
            "    1. s = k * t = 0.5 * 4 = 2 h",
            "",
            "        The rate",
            "",
            "        1. k = 0.5",
            f"        Caution: {HOT.text}",
            "",
            "",
        ]

    def test_markdown_and_latex(self) -> None:
        assert "\n\n    **The sum**\n\n    1. `s = k * t = 0.5 * 4 = 2 h`\n" in self.OUTER.markdown(opened=True)
        drawn = self.OUTER.latex(opened=True)
        assert drawn.count(r"\begin{align*}") == 3
        assert drawn.index(r"\paragraph{The sum}") < drawn.index(r"\paragraph{The rate}")

    def test_html_unfolds(self) -> None:
        root = ET.fromstring(self.OUTER.html().replace("&#160;", "\N{NO-BREAK SPACE}"))  # noqa: S314 - our own text
        assert [each.text for each in root.iter("summary")] == ["The sum", "The rate"]
        assert len(root.findall("./ol/li/details/ol/li/details/ol/li")) == 1

    def test_the_insides_are_shown_in_the_readers_units(self) -> None:
        inner = Working("Flour", (Step("flour", "2 * a", {"a": 1000.0}, 2000.0, "g", units={"a": "g"}),))
        step = Step("dough", "flour * 2", {"flour": 2000.0}, 4000.0, "g", units={"flour": "g"}, inside=(inner,))
        found = in_units(Working("Dough", (step,)), mass="kg")
        assert str(found.steps[0].inside[0].steps[0]) == "flour = 2 * a = 2 * 1 = 2 kg"


def test_value_semantics() -> None:
    again = pickle.loads(pickle.dumps(WORKING))  # noqa: S301 - our own bytes
    assert again == copy.deepcopy(WORKING) == WORKING
    assert hash(again) == hash(copy.deepcopy(WORKING)) == hash(WORKING)
    assert str(HOT) == HOT.text
    with pytest.raises(AttributeError):
        WORKING.title = "x"  # type: ignore[misc]
