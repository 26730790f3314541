"""Exercises for a class: every answer is worked out anew, and every judgement of an answer is the right one."""

import json
import pickle
import random
import re
from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import cache
from html.parser import HTMLParser

import pint
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from formula import Exercises, FormulaError, Problem, UnknownNameError, exercises
from formula.draws import Dice
from formula.exercise import LEVELS, MOST_PROBLEMS, TOPICS
from formula.problems import Checked
from tests import boardsums
from tests.arithmetic import check_working
from tests.boardsums import solved

NAMES = [topic.name for topic in TOPICS]
SEEDS = range(6)
SHEETS = [(topic, level) for topic in NAMES for level in LEVELS]


@cache
def sheet(topic: str, level: int, seed: int) -> Exercises:
    # Twelve, so that every maker of a level has its turn three times.
    return exercises(topic, count=12, seed=seed, level=level)


def drawn(topic: str, level: int) -> Iterator[Problem]:
    for seed in SEEDS:
        yield from sheet(topic, level, seed).problems


def as_text(value: Fraction) -> str:
    return f"{float(value):.9f}"


@pytest.mark.parametrize(("topic", "level"), SHEETS)
class TestEveryProblem:
    def test_its_answer_is_that_of_the_question(self, topic: str, level: int) -> None:
        for problem in drawn(topic, level):
            assert abs(Fraction(problem.value) - solved(topic, problem)) < Fraction(1, 10**6), problem.text

    def test_its_givens_stand_in_its_text(self, topic: str, level: int) -> None:
        for problem in drawn(topic, level):
            for name, text in problem.givens.items():
                assert text in problem.text, f"{name} {text}: {problem.text}"

    def test_its_working_ends_with_its_answer(self, topic: str, level: int) -> None:
        for problem in drawn(topic, level):
            working = problem.working()
            check_working(working, working.value, carried=True)
            assert working.value == pytest.approx(problem.value, rel=1e-9)
            assert working.steps[-1].unit == problem.unit
            number, unit = problem.answer.split(" ")
            assert str(working.steps[-1]).endswith(f" = {float(number):g} {unit}"), problem.answer

    def test_its_answer_is_right_in_its_own_unit(self, topic: str, level: int) -> None:
        for problem in drawn(topic, level):
            assert problem.check(problem.answer) == Checked(right=True, hint="Right.")

    def test_every_mistake_is_known_and_told_apart(self, topic: str, level: int) -> None:
        for problem in drawn(topic, level):
            assert len(problem.mistakes) >= 2
            numbers = [problem.value, *(mistake.value for mistake in problem.mistakes)]
            assert min(abs(a - b) for i, a in enumerate(numbers) for b in numbers[:i]) > problem.tolerance
            for mistake in problem.mistakes:
                checked = problem.check(problem.told(mistake.value))
                assert not checked.right
                assert mistake.reveals in checked.hint
                assert problem.answer not in checked.hint

    def test_what_is_off_by_more_than_the_tolerance_is_wrong(self, topic: str, level: int) -> None:
        for problem in drawn(topic, level):
            for side in (-1, 1):
                inside = problem.value + side * 0.98 * problem.tolerance
                outside = problem.value + side * 1.02 * problem.tolerance
                if problem.kind == "an amount of money":
                    inside, outside = problem.value + side * 0.01, problem.value + side * 0.02
                told = [f"{value:.9f} {problem.unit}" for value in (inside, outside)]
                assert problem.check(told[0]).right
                assert not problem.check(told[1]).right

    def test_it_is_round_enough_for_the_board(self, topic: str, level: int) -> None:
        steps = {"g": "0.1", "kg": "0.05", "oz": "0.1", "lb": "0.1", "°C": "0.5", "°F": "1", "K": "0.5", "%": "0.05",
                 "h": "0.25", "EUR": "0.01", "USD": "0.01"}  # fmt: skip
        for problem in drawn(topic, level):
            number = problem.answer.split(" ")[0]
            assert (Fraction(number) / Fraction(steps[problem.unit])).denominator == 1, problem.answer
            assert len(number.replace(".", "")) <= 5, problem.answer
            for text in problem.givens.values():
                assert max(len(each.replace(".", "")) for each in re.findall(r"[0-9.]+", text)) <= 5, text

    def test_no_two_of_a_sheet_are_the_same(self, topic: str, level: int) -> None:
        for seed in SEEDS:
            problems = sheet(topic, level, seed).problems
            assert len({problem.text for problem in problems}) == len(problems)

    def test_a_longer_sheet_begins_like_a_shorter_one(self, topic: str, level: int) -> None:
        assert exercises(topic, 3, 1, level).problems == sheet(topic, level, 1).problems[:3]

    def test_the_longest_sheet(self, topic: str, level: int) -> None:
        problems = exercises(topic, MOST_PROBLEMS, 99, level).problems
        assert len({problem.text for problem in problems}) == MOST_PROBLEMS

    def test_it_is_a_value(self, topic: str, level: int) -> None:
        first, again = exercises(topic, 2, 3, level), exercises(topic, 2, 3, level)
        assert first == again
        assert hash(first) == hash(again)
        assert pickle.loads(pickle.dumps(first)) == first  # noqa: S301 - our own
        assert first != exercises(topic, 2, 4, level)


class TestPlausible:
    def test_water_is_neither_ice_nor_hot(self) -> None:
        for level in LEVELS:
            for problem in drawn("dough temperature", level):
                if problem.asks == "water temperature":
                    assert 3 <= boardsums.temperature(problem.answer) <= 40

    def test_ice_is_less_than_half_of_the_water(self) -> None:
        for level in LEVELS:
            for problem in drawn("ice", level):
                assert boardsums.mass(problem.answer) < boardsums.mass(problem.givens["water"]) / 2

    def test_doses_and_doughs(self) -> None:
        for level in LEVELS:
            for problem in drawn("yeast", level):
                if problem.asks == "dose of yeast":
                    assert Fraction("0.002") <= boardsums.share(problem.answer) <= Fraction("0.065")
            for topic in ("scaling", "losses"):
                assert all(
                    problem.kind != "a mass" or boardsums.mass(problem.answer) <= 160_000
                    for problem in drawn(topic, level)
                )

    def test_pounds_and_fahrenheit_come_with_the_second_level(self) -> None:
        strange = {"lb", "oz", "°F", "USD"}
        for topic in NAMES:
            assert not {problem.unit for problem in drawn(topic, 1)} & strange
            second = {word for level in (2, 3) for problem in drawn(topic, level) for word in problem.text.split(" ")}
            assert {word.strip(".,;?") for word in second} & strange


def mistaken(topic: str, reveals: str) -> list[tuple[Problem, Fraction]]:
    """Find the problems with a mistake, and its value."""
    found = [
        (problem, Fraction(mistake.value))
        for level in LEVELS
        for problem in drawn(topic, level)
        for mistake in problem.mistakes
        if mistake.reveals.startswith(reveals)
    ]
    assert found, reveals
    return found


def of_friction(times: int) -> Callable[[Problem], Fraction]:
    def wrong(problem: Problem) -> Fraction:
        factor = boardsums.friction(problem.givens)
        if problem.asks == "dough temperature":
            # Each of three temperatures and the factor counts a third.
            return boardsums.dough_temperature(problem) + (times - 1) * factor / 3
        return boardsums.water_for(problem.givens, times * factor)

    return wrong


def added_losses(problem: Problem) -> Fraction:
    together = sum(
        (boardsums.share(text) for name, text in problem.givens.items() if name.endswith(" loss")), Fraction(0)
    )
    count = boardsums.pieces(problem.givens["pieces"]) if "pieces" in problem.givens else 1
    return boardsums.mass(problem.givens["baked weight"]) / (1 - together) * count


def on_bread(problem: Problem) -> Fraction:
    return boardsums.mass(problem.givens["baked weight"]) * (1 + boardsums.share(problem.givens["bake loss"]))


def off_bread(problem: Problem) -> Fraction:
    return boardsums.mass(problem.givens["baked weight"]) * boardsums.left(problem.givens)


def no_preferment(problem: Problem) -> Fraction:
    flour = boardsums.flour_of(problem.givens)
    return flour if problem.asks == "flour of the final dough" else flour * boardsums.share(problem.givens["water"])


def whole_preferment(problem: Problem) -> Fraction:
    givens = problem.givens
    ratio = boardsums.share(givens["water of the preferment"])
    part = boardsums.flour_of(givens) * boardsums.share(givens["prefermented flour"]) * (1 + ratio)
    return no_preferment(problem) - part


def of_dough(problem: Problem) -> Fraction:
    givens = problem.givens
    weights = {name: boardsums.mass(text) for name, text in givens.items() if boardsums.is_mass(text)}
    line = problem.asks.removeprefix("percentage of the ")
    return weights[line] / sum(weights.values())


def only_melting(problem: Problem) -> Fraction:
    givens = problem.givens
    wanted = (
        boardsums.temperature(givens["water wanted"])
        if "water wanted" in givens
        else boardsums.water_for(givens, boardsums.friction(givens))
    )
    cooled = boardsums.temperature(givens["tap water"]) - wanted
    return boardsums.mass(givens["water"]) * cooled / boardsums.difference(givens["heat of melting"])


def without_factor(problem: Problem) -> Fraction:
    if "flour" not in problem.givens:
        return boardsums.mass(problem.givens["yeast"])
    form = problem.asks.removeprefix("weight of the ").removesuffix(" yeast")
    return boardsums.yeast(problem) / boardsums.factor(problem.givens, form)


def turned_times(problem: Problem) -> Fraction:
    old, new = (boardsums.time(problem.givens[name]) for name in ("time", "new time"))
    return boardsums.yeast(problem) * (new / old) ** 2


def gross(problem: Problem) -> Fraction:
    return boardsums.mass(problem.givens["weight on the scale"])


def all_sold(problem: Problem) -> Fraction:
    return boardsums.cost(problem) * (1 - boardsums.share(problem.givens["unsold"]))


def dough_as_flour(problem: Problem) -> Fraction:
    share = boardsums.share(problem.givens["water"]) if problem.asks == "weight of the water" else Fraction(1)
    return boardsums.dough_mass(problem.givens) * share


WRONG_SUMS = [
    ("dough temperature", "the friction was forgotten", of_friction(0)),
    ("dough temperature", "the friction was added instead of taken off", of_friction(-1)),
    ("dough temperature", "the friction was taken off instead of added", of_friction(-1)),
    ("losses", "the losses were added up", added_losses),
    ("losses", "the loss was added to the baked weight", on_bread),
    ("losses", "the loss was taken off the baked weight", off_bread),
    ("preferment", "the preferment was forgotten: its water", no_preferment),
    ("preferment", "the preferment was forgotten: its flour was", no_preferment),
    ("preferment", "the whole preferment was taken off", whole_preferment),
    ("baker's percent", "the weight was divided by the whole dough", of_dough),
    ("scaling", "the weight of the dough was taken for the weight of the flour", dough_as_flour),
    ("ice", "only the melting of the ice was counted", only_melting),
    ("yeast", "the yeast factor was forgotten", without_factor),
    ("yeast", "the two times stand the wrong way round", turned_times),
    ("net weight", "the tare was forgotten", gross),
    ("cost", "the unsold loaves were forgotten", all_sold),
]


@pytest.mark.parametrize(("topic", "reveals", "wrong_sum"), WRONG_SUMS, ids=[reveals for _, reveals, _ in WRONG_SUMS])
def test_a_mistake_is_what_comes_out_of_the_wrong_sum(
    topic: str, reveals: str, wrong_sum: Callable[[Problem], Fraction]
) -> None:
    for problem, value in mistaken(topic, reveals):
        expected = boardsums.in_board_units(problem, wrong_sum(problem))
        assert float(value) == pytest.approx(float(expected), rel=1e-7), problem.text


def find(topic: str, level: int, asks: str, unit: str) -> Problem:
    return next(problem for problem in drawn(topic, level) if (problem.asks, problem.unit) == (asks, unit))


WATER = find("dough temperature", 1, "water temperature", "°C")
SALT = find("baker's percent", 1, "weight of the salt", "g")
DOSE = find("yeast", 1, "dose of yeast", "%")
TIME = find("yeast", 2, "time", "h")
FRICTION = find("dough temperature", 2, "friction factor", "K")
MONEY = find("cost", 1, "cost of the flour", "EUR")


class TestUnits:
    @pytest.mark.parametrize("unit", ["g", "kg", "oz", "lb"])
    def test_a_mass(self, unit: str) -> None:
        value = Fraction(SALT.value) / boardsums.GRAMS[unit]
        assert SALT.check(f"{as_text(value)} {unit}").right
        assert not SALT.check(f"{as_text(value * Fraction('1.02'))} {unit}").right

    def test_pounds_and_ounces(self) -> None:
        ounces = Fraction(SALT.value) / boardsums.GRAMS["oz"]
        pounds = ounces // 16
        assert SALT.check(f"{pounds} lb {as_text(ounces - 16 * pounds)} oz").right

    def test_a_temperature(self) -> None:
        celsius = Fraction(WATER.value)
        for text in (
            f"{as_text(celsius)} °C",
            f"{as_text(celsius)}°C",
            f"{as_text(celsius * 9 / 5 + 32)} °F",
            f"{round(celsius * 9 / 5 + 32)} °F",
            f"{as_text(celsius + Fraction('273.15'))} K",
        ):
            assert WATER.check(text).right, text
        assert not WATER.check(f"{as_text(celsius)} °F").right

    def test_a_difference_has_no_zero_at_freezing(self) -> None:
        kelvins = Fraction(FRICTION.value)
        assert FRICTION.check(f"{as_text(kelvins)} K").right
        assert FRICTION.check(f"{as_text(kelvins)} °C").right
        assert FRICTION.check(f"{as_text(kelvins * 9 / 5)} °F").right
        assert not FRICTION.check(f"{as_text(kelvins * 9 / 5 + 32)} °F").right

    def test_a_share_and_a_time(self) -> None:
        assert DOSE.check(f"{as_text(10 * Fraction(DOSE.value))} ‰").right
        assert not DOSE.check(f"{as_text(Fraction(DOSE.value) / 100)} %").right
        assert TIME.check(f"{as_text(60 * Fraction(TIME.value))} min").right
        minutes = 60 * Fraction(TIME.value)
        assert TIME.check(f"{minutes // 60} h {minutes % 60} min").right

    def test_money(self) -> None:
        assert MONEY.check(f"{MONEY.value:.2f} EUR").right
        assert "EUR" in MONEY.check(f"{MONEY.value:.2f} USD").hint
        assert not MONEY.check(f"{MONEY.value:.2f} USD").right

    def test_a_quantity(self) -> None:
        quantity = pint.UnitRegistry().Quantity
        assert WATER.check(quantity(WATER.value, "degree_Celsius")).right
        assert SALT.check(quantity(SALT.value / 1000, "kilogram")).right
        assert not SALT.check(quantity(SALT.value, "kilogram")).right
        assert not SALT.check(quantity(float("nan"), "kilogram")).right

    def test_blanks_around_do_not_matter(self) -> None:
        assert WATER.check(f"  {WATER.answer} \n").right


class TestHints:
    def test_without_a_unit(self) -> None:
        for answer in ("18", "18.5", "18,5", "-3", "+2"):
            assert WATER.check(answer) == Checked(right=False, hint="Say the unit as well: °C or °F.")
        assert SALT.check("500").hint == "Say the unit as well: g, kg, oz or lb."
        assert MONEY.check("3.20").hint == "Say the unit as well: EUR."
        bare: list[object] = [18, 18.5, Fraction(37, 2)]
        for number in bare:
            assert WATER.check(number).hint == "Say the unit as well: °C or °F."  # type: ignore[arg-type]

    def test_a_unit_of_another_kind(self) -> None:
        assert WATER.check("18 kg").hint == "'18 kg' is a mass; what is asked for is a temperature, in °C or °F."
        assert SALT.check("18 °C").hint == "'18 °C' is a temperature; what is asked for is a mass, in g, kg, oz or lb."
        assert SALT.check("2 %").hint == "'2 %' is a share; what is asked for is a mass, in g, kg, oz or lb."
        assert DOSE.check("2 h").hint == "'2 h' is a time; what is asked for is a share, in %."
        assert SALT.check("2.00 EUR").hint.startswith("'2.00 EUR' is an amount of money")
        assert MONEY.check("2 kg").hint == "'2 kg' is a mass; what is asked for is an amount of money, in EUR."

    def test_what_cannot_be_read_is_mended(self) -> None:
        assert "write the degree sign: °C" in WATER.check("18 C").hint
        assert "write a decimal point, not a comma" in WATER.check("18,5 °C").hint
        assert "did you mean kg?" in SALT.check("2 kilos").hint

    def test_close_and_far(self) -> None:
        near = WATER.value + 3 * WATER.tolerance
        assert WATER.check(f"{near} °C").hint == "Close, but not within ± 0.3 °C: round at the end, not on the way."
        assert WATER.check("99 °C").hint == "That is too warm: do the sum again."
        assert WATER.check("-40 °C").hint == "That is too cold: do the sum again."
        assert SALT.check("9 t").hint == "That is too much: do the sum again."
        assert SALT.check("1 mg").hint == "That is too little: do the sum again."

    def test_a_mend_does_not_give_the_answer_away(self) -> None:
        # The reader of temperatures shows "25 °C" as its example.
        for problem in drawn("dough temperature", 1):
            for answer in ("", "warm", "25,0 C", "° C"):
                assert problem.answer not in problem.check(answer).hint

    @pytest.mark.parametrize(
        "answer",
        ["", " ", "warm", "°C", "nan °C", "inf °C", "1e999 °C", "-300 °C", "18 °C 19 °C", "1.2.3 °C", "18 °C; 0", "٣ °C", "9" * 500 + " °C",
         "\x00", "{}", "18 °C\x1b[31m", None, True, b"18 \xc2\xb0C", object(), [], 1j, float("nan"), 10**400],
    )  # fmt: skip
    def test_nonsense_is_wrong_and_no_error(self, answer: object) -> None:
        for problem in (WATER, SALT, DOSE, TIME, FRICTION, MONEY):
            checked = problem.check(answer)  # type: ignore[arg-type]
            assert not checked.right
            assert checked.hint
            assert len(checked.hint) < 400

    @given(st.text(max_size=40) | st.from_regex(r"-?[0-9.,]{1,8} ?[a-zA-Z°%£]{0,4}", fullmatch=True))
    def test_whatever_is_written_is_judged(self, answer: str) -> None:
        for problem in (WATER, SALT, DOSE, TIME, FRICTION, MONEY):
            assert problem.check(answer).hint


class TestCautions:
    def test_what_the_library_warns_of_stands_in_the_key(self) -> None:
        on_top = next(problem for problem in drawn("ice", 2) if "on top" in problem.text)
        assert {caution.code for caution in on_top.working().cautions} == {"clean-ice", "more-water"}
        limit = next(problem for problem in drawn("net weight", 1) if problem.asks == "limit")
        assert "verify-before-legal-use" in {caution.code for caution in limit.working().cautions}

    def test_what_the_question_says_need_not_be_assumed(self) -> None:
        for problem in drawn("yeast", 1):
            assert "assumed-temperature" not in {caution.code for caution in problem.working().cautions}
            if problem.asks == "dose of yeast":
                assert "at the same temperature" in problem.text


class TestOfOnesOwn:
    def test_a_kind_and_a_unit_that_are_none(self) -> None:
        with pytest.raises(FormulaError, match=r"kind: got 'taste', expected one of a mass, .* an amount of money"):
            evolve(SALT, kind="taste")
        with pytest.raises(FormulaError, match=r"unit: got 'kg', expected a unit of a temperature, such as °C or °F"):
            evolve(WATER, unit="kg")


class TestTheSameEverywhere:
    @given(st.sampled_from(NAMES), st.sampled_from(LEVELS), st.integers())
    def test_law_every_seed_gives_a_sheet_that_holds(self, topic: str, level: int, seed: int) -> None:
        found = exercises(topic, count=3, seed=seed, level=level)
        assert found == exercises(topic, count=3, seed=seed, level=level)
        for problem in found.problems:
            assert abs(Fraction(problem.value) - solved(topic, problem)) < Fraction(1, 10**6)
            assert problem.check(problem.answer).right
            assert not any(problem.check(problem.told(mistake.value)).right for mistake in problem.mistakes)

    def test_in_another_process(self, fresh_python: Callable[[str], str]) -> None:
        code = "from formula import exercises\nfor name in {names}:\n    print(exercises(name, seed=7, level=3).key_text())"
        printed = fresh_python(code.format(names=NAMES))
        assert printed == "".join(exercises(name, seed=7, level=3).key_text() + "\n" for name in NAMES)

    def test_the_dice_use_nothing_but_what_python_promises_to_keep(self) -> None:
        falls = random.Random("ice/1/0")  # noqa: S311
        dice = Dice("ice/1/0")
        assert [dice.pick(range(1000)) for _ in range(50)] == [int(falls.random() * 1000) for _ in range(50)]
        assert dice.number(5, 10, 0.5) == 5 + int(falls.random() * 11) / 2

    def test_the_dice_reach_both_ends(self) -> None:
        dice = Dice("ends")
        assert {dice.number(1, 3, 0.5) for _ in range(200)} == {1, 1.5, 2, 2.5, 3}


class TestAsked:
    def test_the_public_call(self) -> None:
        found = exercises("dough temperature", count=5, seed=7)
        assert (found.topic, found.level, found.seed, len(found.problems)) == ("dough temperature", 1, 7, 5)

    @pytest.mark.parametrize(
        "name", ["Dough temperature", "dough_temperature", "  dough   Temperature ", "dough-temperature"]
    )
    def test_a_name_is_read_kindly(self, name: str) -> None:
        assert exercises(name).topic == "dough temperature"

    @pytest.mark.parametrize("name", ["bakers percent", "Baker’s percent", "baker's percent"])  # noqa: RUF001
    def test_with_and_without_the_apostrophe(self, name: str) -> None:
        assert exercises(name).topic == "baker's percent"

    def test_an_unknown_topic_lists_what_there_is(self) -> None:
        with pytest.raises(UnknownNameError) as caught:
            exercises("rye")
        for name in NAMES:
            assert name in str(caught.value)
        for odd in (None, 3, ""):
            with pytest.raises(UnknownNameError):
                exercises(odd)  # type: ignore[arg-type]

    @pytest.mark.parametrize("level", [0, 4, 1.0, "1", True, None])
    def test_an_unknown_level_lists_what_there_is(self, level: object) -> None:
        with pytest.raises(FormulaError, match=r"level: got .* expected one of 1, 2, 3"):
            exercises("ice", level=level)  # type: ignore[arg-type]

    @pytest.mark.parametrize("count", [0, -1, 51, 2.0, True, "5"])
    def test_a_count_that_is_none(self, count: object) -> None:
        with pytest.raises(FormulaError, match=r"count: got .* expected a whole number from 1 to 50"):
            exercises("ice", count=count)  # type: ignore[arg-type]

    def test_all_faults_at_once(self) -> None:
        with pytest.raises(UnknownNameError) as caught:
            exercises("rye", count=0, seed="a", level=9)  # type: ignore[arg-type]
        assert [fault.where for fault in caught.value.faults] == ["topic", "count", "seed", "level"]


class Tags(HTMLParser):
    """Count what is opened and closed."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.text = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        del attrs
        if tag not in {"meta", "br"}:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data


@pytest.mark.parametrize("topic", NAMES)
class TestPaper:
    def test_the_sheet_holds_the_questions_and_no_answers(self, topic: str) -> None:
        found = sheet(topic, 2, 1)
        text, page = found.text(), Tags(found.html())
        assert str(found) == text
        assert not page.open
        assert max(map(len, text.splitlines())) <= 78
        for number, problem in enumerate(found.problems, 1):
            assert f"\n{number}. " in text
            assert problem.text in " ".join(text.split())
            assert problem.text in page.text.replace("\N{NO-BREAK SPACE}", " ")
            assert problem.text in found.markdown().replace("\\", "")
        for shape in (text, page.text, found.markdown()):
            assert not any(mistake.reveals in shape for problem in found.problems for mistake in problem.mistakes)
            assert all(working.steps[-1].expression not in shape for working in map(Problem.working, found.problems))

    def test_the_key_holds_answers_workings_and_mistakes(self, topic: str) -> None:
        found = sheet(topic, 3, 1)
        text, markdown, page = found.key_text(), found.key_markdown().replace("\\", ""), Tags(found.key_html())
        assert not page.open
        for problem in found.problems:
            for shape in (text, markdown, page.text):
                assert (
                    f"{problem.asks[1:]}: {problem.answer} ({problem.tolerance_text}: {problem.tolerance_reason})"
                    in shape
                )
                assert all(f"{problem.told(each.value)}: {each.reveals}" in shape for each in problem.mistakes)
            assert str(problem.working().steps[-1]) in text
            assert all(caution.text in text for caution in problem.working().cautions)

    def test_what_must_be_said_stands_on_the_sheet(self, topic: str) -> None:
        found = sheet(topic, 1, 1)
        words = {"ice": "drinking quality", "dough temperature": "scalds", "net weight": "local codes"}
        for shape in (found.text(), found.markdown(), found.html()):
            assert words.get(topic, "") in " ".join(shape.split())

    def test_tables(self, topic: str) -> None:
        found = sheet(topic, 2, 2)
        tables = json.loads(json.dumps(found.to_tables()))
        assert tables == found.to_tables()
        assert [each["number"] for each in tables["problems"]] == list(range(1, 13))
        for each, problem in zip(tables["problems"], found.problems, strict=True):
            assert each["givens"] == dict(problem.givens)
            assert (each["value"], each["unit"], each["answer"]) == (problem.value, problem.unit, problem.answer)
            assert each["working"][-1] == str(problem.working().steps[-1])
            assert each["mistakes"][0] == {"value": problem.mistakes[0].value, "reveals": problem.mistakes[0].reveals}
