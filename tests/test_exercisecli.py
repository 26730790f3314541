"""The command about exercises prints what the library sets, judges answers, and refuses in one message."""

import json

import pytest

from formula import exercises
from formula.exercise import TOPICS
from tests.conftest import Run

ICE = exercises("ice", count=3, seed=4, level=2)
CALL = ("exercises", "ice", "--count", 3, "--seed", 4, "--level", 2)


def test_without_a_topic_it_lists_them(run: Run) -> None:
    code, out, err = run("exercises")
    assert (code, err) == (0, "")
    for topic in TOPICS:
        assert topic.name in out
        assert topic.about in out


@pytest.mark.parametrize("option", [("--key",), ("--json",), ("--check", 1, "3 kg")])
def test_the_list_has_no_key(run: Run, option: tuple[object, ...]) -> None:
    code, out, err = run("exercises", *option)
    assert (code, out) == (2, "")
    assert "name a topic" in err


def test_a_sheet(run: Run) -> None:
    assert run(*CALL) == (0, ICE.text(), "")


def test_its_key(run: Run) -> None:
    assert run(*CALL, "--key") == (0, ICE.key_text(), "")


def test_as_markdown_and_as_a_page(run: Run) -> None:
    assert run(*CALL, "--to", "markdown")[1] == ICE.markdown()
    assert run(*CALL, "--to", "markdown", "--key")[1] == ICE.key_markdown()
    assert run(*CALL, "--to", "html")[1] == ICE.html()
    assert run(*CALL, "--to", "html", "--key")[1] == ICE.key_html()


def test_json_holds_sheet_and_key(run: Run) -> None:
    code, out, _ = run(*CALL, "--json")
    assert code == 0
    assert json.loads(out) == ICE.to_tables()


def test_what_is_not_said_is_five_problems_of_the_first_level(run: Run) -> None:
    assert run("exercises", "cost")[1] == exercises("cost", count=5, seed=0, level=1).text()


def test_a_topic_of_two_words_needs_no_quotes(run: Run) -> None:
    sheet = exercises("dough temperature", seed=7).text()
    assert run("exercises", "dough", "temperature", "--seed", 7)[1] == sheet
    assert run("exercises", "dough temperature", "--seed", 7)[1] == sheet


class TestCheck:
    def test_a_right_answer(self, run: Run) -> None:
        assert run(*CALL, "--check", 2, ICE.problems[1].answer) == (0, "Right.\n", "")

    def test_a_known_mistake(self, run: Run) -> None:
        problem = ICE.problems[1]
        mistake = problem.mistakes[0]
        code, out, _ = run(*CALL, "--check", 2, problem.told(mistake.value))
        assert code == 0
        assert mistake.reveals in out
        assert problem.answer not in out

    def test_without_a_unit(self, run: Run) -> None:
        assert run(*CALL, "--check", 2, "3")[1] == "Say the unit as well: g, kg, oz or lb.\n"

    @pytest.mark.parametrize("number", [0, 4, -1])
    def test_a_problem_that_is_not_there(self, run: Run, number: int) -> None:
        code, out, err = run(*CALL, "--check", number, "3 kg")
        assert (code, out) == (2, "")
        assert "the sheet has problems 1 to 3" in err


def test_an_unknown_topic_lists_what_there_is(run: Run) -> None:
    code, out, err = run("exercises", "rye", "bread")
    assert (code, out) == (1, "")
    assert err.count("\n") == 1
    for topic in TOPICS:
        assert topic.name in err


def test_an_unknown_level_and_count(run: Run) -> None:
    code, out, err = run("exercises", "ice", "--level", 4, "--count", 0)
    assert (code, out) == (1, "")
    assert "one of 1, 2, 3" in err
    assert "from 1 to 50" in err


def test_working_takes_only_commands_with_a_working_of_their_own(run: Run) -> None:
    code, _, err = run("working", "exercises", "ice")
    assert code == 2
    assert "no working of 'exercises'" in err
    assert (
        run("working", "water", "--dough", "25 °C", "--flour", "20 °C", "--room", "22 °C", "--friction", "8 K")[0] == 0
    )
