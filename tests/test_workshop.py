"""Processes, ovens, shifts and the workshop: what they read, and everything they refuse, all at once."""

import copy
import pickle
from collections.abc import Callable
from functools import partial
from typing import Any

import pytest

from formula.errors import FormulaError
from formula.process import Process, Wait, busy_min, minutes_up
from formula.workshop import Oven, Shift, Workshop

LEAST: dict[str, Any] = {"mix": "20 min", "bulk": "2 h", "proof": "1 h", "bake": "30 min", "loads": {"deck": 20}}


def told(make: Callable[[], object]) -> str:
    with pytest.raises(FormulaError) as caught:
        make()
    return str(caught.value)


def test_minutes_are_rounded_up() -> None:
    assert [minutes_up(time_h) for time_h in (0.0, 1 / 60, 0.1 * 3, 45.2 / 60)] == [0, 1, 18, 46]
    assert busy_min(61, 60) == 61
    assert busy_min(165, 220, 3) == 15
    assert busy_min(1, 600, 4) == 1


def test_a_wait() -> None:
    wait = Wait("1 h", earliest="50 min", latest="75 min")
    assert (wait.earliest_min, wait.best_min, wait.latest_min) == (50, 60, 75)
    assert wait.latest.to("min").magnitude == pytest.approx(75)
    assert Wait("40 min") == Wait("40 min", earliest="40 min", latest="40 min")
    assert "expected times in this order" in told(partial(Wait, "1 h", latest="50 min"))
    assert "wait: earliest: got '5'" in told(partial(Wait, "1 h", earliest="5"))


def test_a_process() -> None:
    process = Process(
        **LEAST, stages={"biga": Wait("12 h", latest="16 h")}, folds=["30 min", "1 h"], gear={"tins": "bake"}
    )
    assert (process.mix_min, process.bake_min, process.folds_min) == (20, 30, (30, 60))
    assert process.bulk == Wait("2 h")
    assert process.stages["biga"].latest_min == 960
    assert process == Process(
        **LEAST, stages={"biga": Wait("12 h", latest="16 h")}, folds=["30 min", "1 h"], gear={"tins": "bake"}
    )
    again = pickle.loads(pickle.dumps(process))  # noqa: S301 - our own bytes
    assert again == process == copy.deepcopy(process)
    assert hash(again) == hash(process)


def test_every_bad_argument_of_a_process_at_once() -> None:
    wrong: dict[str, Any] = {
        "mix": "20", "bulk": "-1 h", "proof": "soon", "bake": "30 °C", "loads": {"deck": 0}, "divide": -1, "shape_people": 0,
        "pack": 2.5, "gear": {"tins": "sale"}, "where": "Quay Round",
    }  # fmt: skip
    text = told(lambda: Process(**wrong))
    for where in ("mix", "bulk", "proof", "bake", "loads: deck", "divide", "shape_people", "pack", "gear: tins"):
        assert f"Quay Round: {where}: got" in text


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"loads": {}}, "loads: got none"),
        ({"mix": "0 min"}, "mix: got 0 min, expected a time above zero"),
        ({"bake": "0 s"}, "bake: got 0 min"),
        ({"folds": ["3 h"]}, "folds: got 180 min, expected within the bulk fermentation of 120 min"),
        ({"divide": True}, "divide: got True"),
    ],
)
def test_processes_that_make_no_sense(change: dict[str, Any], words: str) -> None:
    assert words in told(lambda: Process(**(LEAST | change)))


def test_an_oven_is_hot_between_its_firings() -> None:
    clay = Oven("clay", fired=["23:00 the day before", "02:00"], firing="1 h", lasts="3 h", slows="20 %")
    assert clay.hot() == ((0, 120), (180, 360))
    assert [clay.bake_min(10, at=minute) for minute in (0, 60, 61, 119, 180, 240)] == [10, 12, 13, 14, 10, 12]
    assert Oven("deck").bake_min(10, at=500) == 10


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"name": " "}, "a name as text"),
        ({"name": "deck", "turn_round": "5"}, "oven deck: turn_round: got '5'"),
        ({"name": "clay", "fired": ["02:00"]}, "expected firing and lasts"),
        ({"name": "clay", "lasts": "2 h"}, "expected fired as well"),
        ({"name": "clay", "fired": ["2 am"], "firing": "1 h", "lasts": "2 h"}, "oven clay: fired[0]"),
        ({"name": "clay", "fired": ["02:00", "02:30"], "firing": "1 h", "lasts": "2 h"}, "firings one after the other"),
    ],
)
def test_ovens_that_make_no_sense(facts: dict[str, Any], words: str) -> None:
    assert words in told(lambda: Oven(**facts))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (partial(Shift, "20:00", "04:00", people=3), 'begins "the day before"'),
        (partial(Shift, "00:00", "8:00", people=3), "shift: end: got '8:00'"),
        (partial(Shift, "00:00", "08:00", people=0), "shift: people: got 0"),
        (partial(Shift, "00:00", "08:00", people=2, breaks=[("07:00", "09:00")]), "expected within 00:00 to 08:00"),
        (partial(Shift, "00:00", "08:00", people=2, breaks=[("02:00", "03:00"), ("02:30", "04:00")]), "breaks that overlap"),
    ],
)  # fmt: skip
def test_shifts_that_make_no_sense(make: Callable[[], object], words: str) -> None:
    assert words in told(make)


def test_a_workshop_needs_an_oven_and_knows_what_its_processes_name() -> None:
    text = told(
        lambda: Workshop(opens="00:00", ovens=[], processes={"Quay Round": Process(**LEAST, gear={"tins": "bake"})})
    )
    assert "ovens: got none, expected at least one oven; nothing can be baked without" in text
    assert "Quay Round: loads: got 'deck', expected one of the ovens: none" in text
    assert "Quay Round: gear: got 'tins', expected one of: none; say how many there are" in text


def test_every_bad_argument_of_a_workshop_at_once() -> None:
    deck = Oven("deck")
    wrong = {
        "opens": "0",
        "turn_round": "5",
        "cleaning": "x",
        "gear_return": "1",
        "tubs": 0,
        "gear": {"tins": 0},
        "zone": "Harbour/Quay",
        "day": "2026-01-01",
    }
    text = told(lambda: Workshop(ovens=[deck, deck], processes={}, **wrong))  # type: ignore[arg-type]
    for words in (
        "opens: got '0'",
        "turn_round",
        "cleaning",
        "gear_return",
        "tubs: got 0",
        "tins: got 0",
        "zone: got",
        "deck 2 times",
    ):
        assert words in text


def test_an_opening_that_the_clocks_skip() -> None:
    shop = Workshop(opens="02:30", ovens=[Oven("deck")], processes={}, day="2026-03-29", zone="Europe/Berlin")
    with pytest.raises(FormulaError, match="02:30 on 2026-03-29"):
        _ = shop.opening_min
