"""Whether the rest of a replanned day can be followed, from plain tables: what has begun is taken as it is."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import Any

from tests.timetables import most_at_once

Table = Mapping[str, Any]


def check_rest(tables: Table, facts: Table, now: int, begun: set[tuple[str, int]], downs: list[tuple[str, int, int]]) -> list[str]:  # fmt: skip
    """Return what is wrong with the tasks that begin after now: stations twice, too few places or people, a station down.

    A shortage that is told in a caution is none of the plan's.
    """
    tasks = list(tables["tasks"])
    told = {caution["text"].split(":")[0] for caution in tables["cautions"] if caution["code"] == "overfull"}
    wrong = [text for station, text in _stations(tasks, facts, now, begun) if station not in told]
    for task in tasks:
        mix = task["bread"], task["mix"]
        if mix not in begun and task["begin_min"] < now:
            wrong.append(f"not begun, and planned before now: {task}")
        if task["begin_min"] <= now:
            continue
        for station, begin, end in downs:
            if task["station"] == station and task["begin_min"] < end and begin < task["end_min"]:
                wrong.append(f"{station} is down: {task}")
    return wrong


def _stations(tasks: list[Table], facts: Table, now: int, begun: set[tuple[str, int]]) -> Iterator[tuple[str, str]]:
    """Look at each station from now on."""
    turns = {**facts["mixers"], **{oven: each["turn"] for oven, each in facts["ovens"].items()}}
    uses: defaultdict[str, list[tuple[int, int, int]]] = defaultdict(list)
    for task in tasks:
        # An autolyse and its mix are one stay in the mixer.
        turn = 0 if task["what"] == "autolyse" else turns.get(task["station"], 0)
        if task["end_min"] + turn > now:
            uses[task["station"]].append((max(now, task["begin_min"]), task["end_min"] + turn, task["count"]))
    for task in tasks:
        # What has begun may stand in its own way; what has not is never put into a machine that is taken.
        # A mix follows its autolyse in the same mixer, where it has begun if that has.
        goes_on = task["what"] == "mix" and (task["bread"], task["mix"]) in begun
        if task["begin_min"] > now and task["station"] in turns and not goes_on:
            end = task["end_min"] + (0 if task["what"] == "autolyse" else turns[task["station"]])
            others = [
                each
                for each in tasks
                if each["station"] == task["station"] and each is not task and each["what"] != "autolyse"
            ]
            for other in others:
                own_mix = task["what"] == "autolyse" and (other["bread"], other["mix"]) == (task["bread"], task["mix"])
                if (
                    not own_mix
                    and task["begin_min"] < other["end_min"] + turns[task["station"]]
                    and other["begin_min"] < end
                ):
                    yield "", f"{task['station']} is taken: {task}, {other}"
    for name, there in facts["places"].items():
        most = most_at_once(uses[name])
        if there is not None and most > there:
            yield name, f"{most} of {there} {name}"
    for begin, end, count in uses["bench"] if facts["shifts"] else ():
        moments = {begin} | {moment for shift in facts["shifts"] for moment in shift[:2] if begin <= moment < end}
        for moment in moments:
            busy = sum(people for since, until, people in uses["bench"] if since <= moment < until)
            there = sum(people for since, until, people in facts["shifts"] if since <= moment < until)
            if busy > there:
                yield "bench", f"{busy} of {there} people at {moment} ({count} from {begin})"
