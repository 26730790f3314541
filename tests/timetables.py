"""An independent checker: whether a timetable can be followed, from its plain tables and what the workshop has alone.

It shares no code with the planner: no calendar, no placing, only the written tasks held against the written facts.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise
from typing import Any

Table = Mapping[str, Any]


def most_at_once(uses: Iterable[tuple[int, int, int]]) -> int:
    """Return how much of a thing is in use at the busiest moment; a use that ends when another begins does not meet it."""
    changes = sorted(change for begin, end, count in uses if end > begin for change in ((begin, count), (end, -count)))
    # At one moment what ends comes before what begins: (moment, -count) sorts before (moment, +count).
    most = now = 0
    for _, count in changes:
        now += count
        most = max(most, now)
    return most


def check_tables(tables: Table, facts: Table) -> list[str]:
    """Return everything that is wrong with a timetable, a sentence each; none if it can be followed."""
    wrong: list[str] = []
    tasks: list[Table] = list(tables["tasks"])
    for task in tasks:
        if task["begin_min"] > task["end_min"]:
            wrong.append(f"time flows backwards in {task}")
        if task["begin_min"] < facts["opens_min"]:
            wrong.append(f"before the opening: {task}")
    wrong += [*_machines(tasks, facts), *_places(tasks, facts)]
    wrong += _people(tasks, facts)
    wrong += _mixes(tasks, facts)
    made: defaultdict[str, int] = defaultdict(int)
    for task in tasks:
        made[task["bread"]] += task["pieces"] if task["what"] == "bake" else 0
    for bread, pieces in facts["pieces"].items():
        if made[bread] + facts["unplaced"].get(bread, 0) != pieces:
            wrong.append(f"{bread}: {made[bread]} pieces baked of {pieces}")
    wrong += _orders(tables, tasks)
    return wrong


def _mixes(tasks: list[Table], facts: Table) -> Iterator[str]:
    """Every mix of every dough goes its way, together up to the divider and then bread by bread; nothing else is made."""
    by: defaultdict[tuple[str, int], list[Table]] = defaultdict(list)
    for task in tasks:
        by[task["bread"], task["mix"]].append(task)
    seen: set[tuple[str, int]] = set()
    for dough, breads in facts["doughs"].items():
        for mix in sorted(number for name, number in by if name == dough):
            keys = [key for key in ((bread, mix) for bread in breads) if key in by]
            seen |= {(dough, mix), *keys}
            parts = [(by[key], facts["processes"][key[0]]) for key in keys]
            yield from (f"{dough} mix {mix}: {text}" for text in _way(by[dough, mix], parts))
    yield from (f"{bread} mix {mix} is no mix of a dough" for bread, mix in by if (bread, mix) not in seen)


def _machines(tasks: list[Table], facts: Table) -> Iterator[str]:
    """No mixer and no oven has two things in it, the turn-round counted, and every oven is hot."""
    for name, turn in facts["mixers"].items():
        yield from _cleaned([task for task in tasks if task["station"] == name], turn, facts)
    turns = {**facts["mixers"], **{oven: each["turn"] for oven, each in facts["ovens"].items()}}
    for name, turn in turns.items():
        own = sorted(
            (task["begin_min"], task["end_min"])
            for task in tasks
            if task["station"] == name and task["what"] != "clean"
        )
        for earlier, later in pairwise(own):
            # An autolyse goes over into its own mix.
            if later[0] < earlier[1] + (0 if name in facts["mixers"] and later[0] == earlier[1] else turn):
                yield f"{name} is used twice at {later[0]}"
    for task in tasks:
        oven = facts["ovens"].get(task["station"])
        if oven and not any(
            begin <= task["begin_min"] and task["end_min"] + oven["turn"] <= end for begin, end in oven["hot"]
        ):
            yield f"{task['station']} is cold at {task['begin_min']}"


def _cleaned(own: list[Table], turn: int, facts: Table) -> Iterator[str]:
    """A mixer is cleaned before each dough that lacks an allergen of the one before it, in time, and not otherwise."""
    cleanings = [task for task in own if task["what"] == "clean"]
    begins = {(task["bread"], task["mix"]): task["begin_min"] for task in own if task["what"] == "autolyse"}
    needed = 0
    mixes = sorted((task for task in own if task["what"] == "mix"), key=lambda task: task["begin_min"])
    for before, after in pairwise(mixes):
        if facts["cleaning"] and facts["allergens"][before["bread"]] - facts["allergens"][after["bread"]]:
            needed += 1
            since = before["end_min"] + turn
            until = begins.get((after["bread"], after["mix"]), after["begin_min"])
            if not any(
                since <= task["begin_min"]
                and task["end_min"] <= until
                and task["end_min"] - task["begin_min"] == facts["cleaning"]
                for task in cleanings
            ):
                yield f"not cleaned for {after['bread']} at {until}"
    if needed != len(cleanings):
        yield f"cleaned {len(cleanings)} times, needed {needed} times"


def _places(tasks: list[Table], facts: Table) -> Iterator[str]:
    """No more places are used than there are."""
    for station, there in facts["places"].items():
        most = most_at_once(
            (task["begin_min"], task["end_min"], task["count"]) for task in tasks if task["station"] == station
        )
        if there is not None and most > there:
            yield f"{most} of {there} {station} used at once"
    for gear, there in facts["gear"].items():
        most = most_at_once(_gear(tasks, facts, gear))
        if most > there:
            yield f"{most} of {there} {gear} used at once"


def _gear(tasks: list[Table], facts: Table, gear: str) -> Iterator[tuple[int, int, int]]:
    """How many of a gear each load uses, from when, and until it is back."""
    for bake in (task for task in tasks if task["what"] == "bake"):
        until = facts["processes"][bake["bread"]]["gear"].get(gear)
        if until:
            same = [task for task in tasks if all(task[key] == bake[key] for key in ("bread", "mix", "load"))]
            begin = next(task["begin_min"] for task in same if task["what"] == "proof")
            free = bake["begin_min"] if until == "proof" else bake["end_min"]
            yield begin, free + facts["gear_return"], bake["pieces"]


def _people(tasks: list[Table], facts: Table) -> list[str]:
    if not facts["shifts"]:
        return []
    uses = [(task["begin_min"], task["end_min"], task["count"]) for task in tasks if task["station"] == "bench"]
    moments = sorted({moment for use in uses for moment in use[:2]} | {m for s in facts["shifts"] for m in s[:2]})
    wrong: list[str] = []
    for moment in moments:
        busy = sum(count for begin, end, count in uses if begin <= moment < end)
        there = sum(count for begin, end, count in facts["shifts"] if begin <= moment < end)
        if busy > there:
            wrong.append(f"{busy} people at the bench at {moment}, where {there} are on shift")
    return wrong


def _way(own: list[Table], parts: list[tuple[list[Table], Table]]) -> Iterator[str]:
    """Every part of a mix follows the one before, within its waits; every piece goes all the way."""
    by: defaultdict[str, list[Table]] = defaultdict(list)
    for task in own:
        by[task["what"]].append(task)
    if len(by["mix"]) != 1 or len(by["bulk"]) != 1:
        yield "not mixed and risen once"
        return
    mix, bulk = by["mix"][0], by["bulk"][0]
    made, divided = 0, None
    for tasks, process in parts:
        # What is mixed and risen together is so for every bread.
        yield from _together(by, process)
        of: defaultdict[str, list[Table]] = defaultdict(list)
        for task in tasks:
            of[task["what"]].append(task)
        pieces = sum(task["pieces"] for task in of["bake"])
        made += pieces
        earliest = bulk["end_min"] if divided is None else divided
        latest = earliest if divided is None else max(divided, mix["end_min"] + process["bulk"][1])
        at_once = {"begin_min": earliest, "end_min": earliest, "pieces": pieces}
        divide = of["divide"][0] if of["divide"] else at_once
        if not earliest <= divide["begin_min"] <= latest or bool(of["divide"]) != bool(process["divide"]):
            yield "the dough waits for the divider"
        divided = divide["end_min"]
        yield from _part(of, divide, pieces, process)
    if made != mix["pieces"]:
        yield f"{made} pieces of {mix['pieces']}"


def _together(by: Mapping[str, list[Table]], process: Table) -> Iterator[str]:
    """Autolyse, mix and bulk follow each other, each as long as the process of a bread says."""
    mix, bulk = by["mix"][0], by["bulk"][0]
    if mix["end_min"] - mix["begin_min"] != process["mix"]:
        yield "mixed too long or too short"
    stands = [task["end_min"] - task["begin_min"] for task in by.get("autolyse", [])]
    if stands != [process["autolyse"]] * bool(process["autolyse"]):
        yield "the autolyse is too long or too short"
    if any(task["end_min"] != mix["begin_min"] for task in by.get("autolyse", [])):
        yield "the autolyse does not lead into the mix"
    long = bulk["end_min"] - bulk["begin_min"]
    if bulk["begin_min"] != mix["end_min"] or not process["bulk"][0] <= long <= process["bulk"][1]:
        yield f"bulk of {long} min"


def _part(by: Mapping[str, list[Table]], divide: Table, pieces: int, process: Table) -> Iterator[str]:
    """One bread of a mix from the divider on."""
    if not pieces:
        yield "nothing of it is baked"
        return
    steps = ["proof", "bake", "cool", *(what for what in ("divide", "shape", "slice", "pack") if process[what])]
    yield from (f"{what}: not every piece" for what in steps if sum(task["pieces"] for task in by[what]) != pieces)
    for what in ("divide", "shape"):
        for task in by[what]:
            if (task["end_min"] - task["begin_min"]) * process[what] * task["count"] < 60 * task["pieces"]:
                yield f"{what} faster than people can"
    for shape in by["shape"]:
        first = shape["begin_min"] - divide["begin_min"]
        if first < process["rest"][0] or shape["end_min"] - divide["end_min"] < process["rest"][0]:
            yield f"rest of {first} min"
    rested = {key: divide[key] + process["rest_best"] for key in ("begin_min", "end_min")}
    yield from _loads(by, by["shape"][0] if by["shape"] else rested, pieces, process)


def _loads(by: Mapping[str, list[Table]], shaped: Table, pieces: int, process: Table) -> Iterator[str]:
    """Each load holds what its oven takes, and no piece in it proofs too short or too long."""
    done, rate = 0, (shaped["end_min"] - shaped["begin_min"]) / pieces
    for load in sorted(by["bake"], key=lambda task: task["load"]):
        first, last = (
            load["begin_min"] - shaped["begin_min"] - rate * piece for piece in (done, done + load["pieces"])
        )
        # A whole minute may stand between when a piece is shaped and when the clock says so.
        if last < process["proof"][0] - 1e-9 or first > process["proof"][1] + 1 + 1e-9:
            yield f"load {load['load']}: its pieces proof {last} to {first} min"
        if load["pieces"] > process["loads"][load["station"]]:
            yield f"load {load['load']}: more than the oven holds"
        if load["end_min"] - load["begin_min"] < process["bake"]:
            yield f"load {load['load']}: baked too short"
        done += load["pieces"]
        yield from _after(load, by, process)


def _after(load: Table, by: Mapping[str, list[Table]], process: Table) -> Iterator[str]:
    """From the oven a load cools, is sliced and packed, in this order and not too early."""
    at = load["end_min"] + process["cool"]
    for proof in _of(by["proof"], load):
        if proof["end_min"] != load["begin_min"] or proof["pieces"] != load["pieces"]:
            yield f"load {load['load']}: proof and oven do not meet"
    for what in ("slice", "pack"):
        for task in _of(by[what], load):
            if task["begin_min"] < at:
                yield f"load {load['load']}: {what} before it may"
            if (task["end_min"] - task["begin_min"]) * process[what] < 60 * load["pieces"]:
                yield f"load {load['load']}: {what} too fast"
            at = task["end_min"]
    for what in ("proof", "cool", *(what for what in ("slice", "pack") if process[what])):
        if len(_of(by[what], load)) != 1:
            yield f"load {load['load']}: {what} {len(_of(by[what], load))} times"


def _of(tasks: list[Table], load: Table) -> list[Table]:
    return [task for task in tasks if task["load"] == load["load"]]


def _orders(tables: Table, tasks: list[Table]) -> list[str]:
    """What is said of each order follows from when its pieces are packed, those due first being served first."""
    wrong: list[str] = []
    ends: defaultdict[tuple[str, int, int], list[int]] = defaultdict(lambda: [-(10**9), 0])
    for task in tasks:
        if task["load"]:
            load = ends[task["bread"], task["mix"], task["load"]]
            load[0], load[1] = max(load[0], task["end_min"]), task["pieces"]
    for bread in {order["bread"] for order in tables["orders"]}:
        packed = sorted(end for (name, _, _), (end, pieces) in ends.items() if name == bread for _ in range(pieces))
        orders = [order for order in tables["orders"] if order["bread"] == bread]
        for order in sorted(orders, key=lambda each: 10**9 if each["due_min"] is None else each["due_min"]):
            mine, packed = packed[: order["pieces"]], packed[order["pieces"] :]
            if order["short_pieces"] != order["pieces"] - len(mine):
                wrong.append(f"{bread}: {order['short_pieces']} said to be short")
            due = order["due_min"]
            late = 0 if due is None else sum(end > due for end in mine)
            if order["late_pieces"] != late:
                wrong.append(f"{bread}: {order['late_pieces']} said to be late, {late} are")
            minutes = 0 if due is None else sum(max(0, end - due) for end in mine)
            if order["late_piece_min"] != minutes:
                wrong.append(f"{bread}: {order['late_piece_min']} minutes of pieces said to be late, {minutes} are")
            if mine and order["ready_min"] != mine[-1]:
                wrong.append(f"{bread}: said to be ready at {order['ready_min']}, but at {mine[-1]}")
    return wrong


def facts_of(table: Any) -> Table:  # noqa: ANN401 - the timetable, of which only what went into it is read
    """Write down what a workshop has, in plain numbers, from its own fields."""
    shop, wall = table.workshop, table.workshop.wall.elapsed
    forever = 10**9

    def moment(minutes: int) -> int:
        return minutes if abs(minutes) >= forever else wall(minutes)

    return {
        "opens_min": wall(shop.opens_min),
        "mixers": {mixer.name: shop.turn_round_min for mixer in table.day.bakery.mixers},
        "ovens": {
            oven.name: {"turn": oven.turn_round_min, "hot": [(moment(begin), moment(end)) for begin, end in oven.hot()]}
            for oven in shop.ovens
        },
        "places": {
            "tubs": shop.tubs,
            "proof": shop.proof_places,
            "cooling": shop.cool_places,
            "slicing": shop.slicers,
            "packing": shop.packers,
        },
        "gear": dict(shop.gear),
        "gear_return": shop.gear_return_min,
        "shifts": [
            (wall(begin), wall(end), people) for shift in shop.shifts for begin, end, people in shift.stretches()
        ],
        "pieces": {plan.name: plan.pieces for plan in table.day.breads},
        "unplaced": {
            plan.name: sum(part.pieces for job in table.unplaced for part in job.breads if part.bread == plan.name)
            for plan in table.day.breads
        },
        "doughs": {dough.name: [plan.name for plan in dough.breads] for dough in table.day.doughs},
        "cleaning": shop.cleaning_min,
        "allergens": {
            dough.name: {
                word
                for plan in dough.breads
                for line in plan.bread.percents
                for word in plan.bread.catalogue.find(line).allergens or ()
            }
            for dough in table.day.doughs
        },
        "processes": {
            plan.name: _process(shop.process_of(plan.weighed_name, plan.bread.name)) for plan in table.day.breads
        },
    }


def _process(process: Any) -> Table:  # noqa: ANN401 - a process, of which only the fields are read
    return {
        "mix": process.mix_min,
        "autolyse": process.autolyse_min,
        "bulk": (process.bulk.earliest_min, process.bulk.latest_min),
        "divide": process.divide_rate,
        "rest": (process.rest.earliest_min, process.rest.latest_min),
        "rest_best": process.rest.best_min,
        "shape": process.shape_rate,
        "proof": (process.proof.earliest_min, process.proof.latest_min),
        "bake": process.bake_min,
        "loads": dict(process.loads),
        "cool": process.cool_min,
        "slice": process.slice_rate,
        "pack": process.pack_rate,
        "gear": dict(process.gear),
    }
