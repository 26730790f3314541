"""A small made-up evening, and an independent checker of builds from their plain tables.

The checker shares no code with the planner: windows, masses and the fewest builds are worked out anew.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import Any

import pytest

from formula.bakery import Bakery, Mixer
from formula.clockwork import Timetable, timetable
from formula.day import plan_day
from formula.formula import Formula
from formula.orders import Order
from formula.process import Process, Wait
from formula.stage import Stage
from formula.workshop import Oven, Shift, Workshop

POOLISH = {"bread flour": 100, "water": 100, "fresh yeast": 0.1}
OVERALL = {"bread flour": 100, "water": 70, "salt": 2, "fresh yeast": 0.8}
NIGHT = (Shift("06:00 the day before", "12:00", people=4),)
WAIT = Wait("12 h", earliest="10 h", latest="14 h")


def poolish(name: str = "poolish", flour: str = "30 %", **lines: float) -> Stage:
    """A poolish, or one with other lines."""
    return Stage(name, {**POOLISH, **{line.replace("_", " "): percent for line, percent in lines.items()}}, flour=flour)


def bread(name: str, *stages: Stage, **facts: Any) -> Formula:  # noqa: ANN401 - what a formula takes
    """A lean bread with stages; pieces lose nothing."""
    overall = facts.pop("overall", OVERALL)
    return Formula.from_percents(name, overall, stages=stages, dough_temperature="25 °C", **facts)


def process(**changes: Any) -> Process:  # noqa: ANN401 - what a process takes
    """A quick process with one oven."""
    facts: dict[str, Any] = {
        "mix": "20 min", "bulk": Wait("1 h", earliest="40 min", latest="2 h"), "bake": "30 min", "loads": {"deck": 400},
        "proof": Wait("1 h", earliest="40 min", latest="2 h"), "stages": {"poolish": WAIT}, **changes,
    }  # fmt: skip
    return Process(**facts)


def bakery(**changes: Any) -> Bakery:  # noqa: ANN401 - what a bakery takes
    """One mixer of 100 kg, scales of 1 g."""
    facts: dict[str, Any] = {
        "mixers": [Mixer("arm", capacity="100 kg", friction="12 K")], "flour": "20 °C", "room": "22 °C", "tap": "14 °C", **changes,
    }  # fmt: skip
    return Bakery("harbour", **facts)


def table(
    orders: Sequence[Order],
    processes: Mapping[str, Process],
    shop: Bakery | None = None,
    **changes: Any,  # noqa: ANN401 - what a workshop takes
) -> Timetable:
    """Put the orders on the clock of a small workshop."""
    facts: dict[str, Any] = {"opens": "22:00 the day before", "shifts": NIGHT, **changes}
    workshop = Workshop(ovens=[Oven("deck")], processes=processes, **facts)
    return timetable(plan_day(orders, shop or bakery(), workshop), workshop)


def least_points(windows: Sequence[tuple[int, int]]) -> int:
    """The fewest moments that every window holds one of, by trying all sets of ends of windows."""
    ends = sorted({closes for _, closes in windows})
    for count in range(len(ends) + 1):
        for moments in combinations(ends, count):
            if all(any(opens <= moment <= closes for moment in moments) for opens, closes in windows):
                return count
    raise AssertionError(windows)


def check_builds(tables: Mapping[str, Any], found: Timetable) -> None:
    """Every use lies inside its window, all that mixes take is built, masses add up, and builds are the fewest."""
    builds: list[dict[str, Any]] = tables["builds"]
    windows: defaultdict[str, list[tuple[int, int]]] = defaultdict(list)
    for build in builds:
        _check_masses(build)
        for use in build["feeds"]:
            earliest, latest = _allowed(build["stage"], use, tables, found)
            assert earliest <= use["at_min"] - build["begin_min"] <= latest
            windows[build["stage"]].append((use["at_min"] - latest, use["at_min"] - earliest))
    for name, own in windows.items():
        counts = [build["count"] for build in builds if build["stage"] == name]
        assert counts == [len(counts)] * len(counts)
        if len(set(own)) <= 12:
            assert len(counts) == least_points(sorted(set(own)))
    _check_nothing_is_forgotten(tables, found)


def _allowed(stage: str, use: Mapping[str, Any], tables: Mapping[str, Any], found: Timetable) -> tuple[int, int]:
    """Look up, in the processes, how long a stage may ripen for a use; and when that use really is."""
    begins = {(task.bread, task.mix, task.what): task.begin_min for task in found.tasks}
    if use["mix"]:
        own = next(mix["built_as"] for mix in tables["mixes"] if mix["bread"] == use["into"])
        whats = ("mix", "autolyse")
        assert use["at_min"] in [begins.get((use["into"], use["mix"], what)) for what in whats]
        bread = use["into"]
    else:
        assert (use["into"], use["at_min"]) in [(build["stage"], build["begin_min"]) for build in tables["builds"]]
        # Of the breads that share a stage, the first says how long what goes into it ripens.
        first = next(mix for mix in tables["mixes"] if use["into"] in mix["built_as"].values())
        own, bread = first["built_as"], first["bread"]
    names = {each.name: each.bread.name for each in found.day.breads}
    way = found.workshop.process_of(bread, names[bread])
    assert way is not None
    wait = next(way.stages[key] for key, name in own.items() if name == stage and key in way.stages)
    return wait.earliest_min, wait.latest_min


def _check_masses(build: Mapping[str, Any]) -> None:
    """What is used, lost and kept is the ripe stage, and no less is weighed."""
    assert build["used_g"] == pytest.approx(sum(use["mass_g"] for use in build["feeds"]))
    assert build["mass_g"] * (1 - build["loss_share"]) == pytest.approx(build["used_g"] + build["seed_g"])
    assert sum(build["lines_g"].values()) >= build["mass_g"] - 1e-5


def _check_nothing_is_forgotten(tables: Mapping[str, Any], found: Timetable) -> None:
    """What the sheets of mixes and builds take of every stage is what its builds feed."""
    builds: list[dict[str, Any]] = tables["builds"]
    placed = {(task.bread, task.mix) for task in found.tasks}
    wanted: defaultdict[str, float] = defaultdict(float)
    for build in builds:
        wanted[build["stage"]] -= build["used_g"]
    for mix in tables["mixes"]:
        times = sum((mix["bread"], number) in placed for number in range(mix["first"], mix["last"] + 1))
        for sheet in mix["sheets"].values():
            for line, mass_g in sheet.items():
                if line in mix["built_as"]:
                    wanted[mix["built_as"][line]] += times * mass_g
    for build in builds:
        for line, mass_g in build["lines_g"].items():
            if line in wanted:
                wanted[line] += mass_g
    assert dict(wanted) == pytest.approx(dict.fromkeys(wanted, 0.0), abs=1e-4)
