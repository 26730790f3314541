"""Changes to a day that does not fit: another order, other hours, one more pair of hands, one more oven.

A change is a plain fact; applied to a day and its workshop it makes others of them, which are then planned anew.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from copy import copy
from itertools import pairwise
from typing import Final, Literal, TypeVar, get_args

from attrs import evolve, frozen

from .bakery import Mixer
from .clockwork import InOrder, Timetable, timetable
from .day import DayPlan, replanned
from .dayjobs import plan_jobs
from .errors import FormulaError
from .lines import Lines
from .process import Process
from .timeofday import clock
from .workshop import Oven, Shift, Workshop

__all__ = ["KINDS", "Change", "Kind", "Setting", "alike", "doubled", "possible_changes"]

Kind = Literal[
    "order", "break", "other mixer", "mixes", "process", "opening", "shift", "people", "turn-round", "places", "gear",
    "mixer", "oven",
]  # fmt: skip
KINDS: Final = get_args(Kind)
"""From what costs nothing but thought, to hours, to hands, to things: the plain rule of what is cheap."""

_STEPS_MIN: Final = (30, 60)
"""Half an hour and an hour: what one can ask of a crew."""
_PLACES: Final = {
    "proof_places": "places at proof",
    "cool_places": "places to cool",
    "tubs": "tubs",
    "slicers": "slicers",
    "packers": "packing places",
}
T = TypeVar("T")


@frozen
class Change:
    """One change: its kind, in words, how many units of its cost it takes, and what it is done to.

    ``units`` are hours for an opening or a shift, otherwise how many more there are, or 1.
    """

    kind: Kind
    what: str
    units: float = 1.0
    name: str = ""
    numbers: tuple[int, ...] = ()
    process: Process | None = None

    @property
    def rank(self) -> tuple[int, float]:
        """Its place in the plain rule: the kind, and of one kind the smaller change first."""
        return KINDS.index(self.kind), self.units


@frozen
class Setting:
    """What a day is planned from, beside its orders."""

    day: DayPlan
    workshop: Workshop
    order: InOrder = "given"

    def planned(self) -> Timetable | None:
        """Put it on the clock; None where a mix fits nowhere."""
        try:
            return timetable(self.day, self.workshop, order=self.order)
        except FormulaError:
            return None

    def with_change(self, change: Change) -> Setting | None:
        """Return the setting after a change; None where it cannot be made."""
        return _APPLY[change.kind](self, change)

    def with_workshop(self, **facts: object) -> Setting:
        """Return the setting with some facts of its workshop changed."""
        return evolve(self, workshop=_changed(self.workshop, **facts))


def _changed(thing: T, **facts: object) -> T:
    """Return a copy of something frozen with facts changed that were read and checked before."""
    made = copy(thing)
    for name, value in facts.items():
        object.__setattr__(made, name, value)
    return made


def alike(workshop: Workshop, oven: Oven) -> tuple[Oven, ...]:
    """Return an oven and those that are like it in all but the name: every bread's load is the same in them."""

    def facts(each: Oven) -> tuple[object, ...]:
        loads = tuple(process.loads.get(each.name) for process in workshop.processes.values())
        return _changed(each, name=""), loads

    return tuple(each for each in workshop.ovens if facts(each) == facts(oven))


def possible_changes(setting: Setting, variants: Mapping[str, Mapping[str, Process]]) -> tuple[Change, ...]:
    """Return every single change that could be made, the cheapest by the plain rule first.

    Args:
        setting: the day, its workshop, and the order of its mixes.
        variants: bread -> name -> another process for it.
    """
    found = [
        *_of_order(setting),
        *_of_breads(setting),
        *(Change("process", f"make {bread} another way: {name}", name=bread, process=process)
          for bread, named in variants.items() for name, process in named.items()),
        *_of_hours(setting.workshop),
        *_of_things(setting),
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda change: change.rank))


def _of_order(setting: Setting) -> Iterator[Change]:
    if setting.order == "given":
        yield Change("order", "make what is due first before the rest")
    for number, shift in enumerate(setting.workshop.shifts):
        for place, (begin, end) in enumerate(shift.breaks_min):
            for by in (*(-step for step in reversed(_STEPS_MIN)), *_STEPS_MIN):
                what = f"move the break of {clock(begin)} to {clock(begin + by)}"
                if shift.begin_min <= begin + by and end + by <= shift.end_min:
                    yield Change("break", what, abs(by) / 60, numbers=(number, place, by))


def _of_breads(setting: Setting) -> Iterator[Change]:
    for number, dough in enumerate(setting.day.doughs):
        for mixer in setting.day.bakery.mixers:
            if not mixer.is_like(dough.mixer):
                what = f"mix {dough.name} in {mixer.name}"
                yield Change("other mixer", what, name=mixer.name, numbers=(number,))
        for count in sorted({dough.mix_count - 1, dough.mix_count + 1, 2 * dough.mix_count}):
            if 1 <= count <= max(plan.pieces for plan in dough.breads):
                what = f"make {dough.name} in {count} mix{'es' if count > 1 else ''} instead of {dough.mix_count}"
                yield Change("mixes", what, abs(count - dough.mix_count), numbers=(number, count))


def _of_hours(workshop: Workshop) -> Iterator[Change]:
    for by in _STEPS_MIN:
        what = f"open {by} min earlier, at {clock(workshop.opens_min - by)}"
        with_it = any(shift.begin_min <= workshop.opens_min for shift in workshop.shifts)
        yield Change("opening", what + (", with the shift that begins then" if with_it else ""), by / 60, numbers=(by,))
    for number, shift in enumerate(workshop.shifts):
        span = f"the shift from {clock(shift.begin_min)} to {clock(shift.end_min)}"
        for by in _STEPS_MIN:
            if shift.begin_min - by >= workshop.opens_min:
                yield Change("shift", f"begin {span} {by} min earlier", by / 60, numbers=(number, by, 0))
            yield Change("shift", f"end {span} {by} min later", by / 60, numbers=(number, 0, by))
        yield Change("people", f"one more person on {span}", numbers=(number,))


def _of_things(setting: Setting) -> Iterator[Change]:
    workshop = setting.workshop
    if workshop.turn_round_min > 1:
        half = math.ceil(workshop.turn_round_min / 2)
        yield Change("turn-round", f"fill a mixer again {half} min after it is emptied, not {workshop.turn_round_min}")
    seen: set[Oven] = set()
    for oven in workshop.ovens:
        if oven in seen:
            continue
        group = alike(workshop, oven)
        seen.update(group)
        if oven.turn_round_min > 1:
            half = math.ceil(oven.turn_round_min / 2)
            what = f"load {_named(group)} again {half} min after they are drawn, not {oven.turn_round_min}"
            yield Change("turn-round", what.replace("they are", "it is") if len(group) == 1 else what, name=oven.name)
        yield Change("oven", f"one more oven like {oven.name}", name=oven.name)
    for field, word, there in _counted(setting):
        yield _more_of("places", field, word, there)
    for name, there in workshop.gear.items():
        yield _more_of("gear", name, name, there)
    for mixer in dict.fromkeys(plan.mixer for plan in setting.day.breads):
        yield Change("mixer", f"one more mixer like {mixer.name}", name=mixer.name)


def _counted(setting: Setting) -> Iterator[tuple[str, str, int]]:
    """Return the places that are counted and used: their field, their name, and how many there are."""
    processes = [part.process for job in plan_jobs(setting.day, setting.workshop) for part in job.breads]
    unused = {
        "slicers": not any(process.slice_rate for process in processes),
        "packers": not any(process.pack_rate for process in processes),
    }
    for field, word in _PLACES.items():
        there: int | None = getattr(setting.workshop, field)
        if there is not None and not unused.get(field):
            yield field, word, there


def _named(group: Sequence[Oven] | Sequence[Mixer]) -> str:
    first = group[0].name
    return first if len(group) == 1 else f"{first} and {group[1].name if len(group) == 2 else 'those like it'}"


def _more_of(kind: Kind, name: str, word: str, there: int) -> Change:
    more = math.ceil(there / 4)
    return Change(kind, f"{there + more} {word} instead of {there}", more, name=name, numbers=(more,))


def doubled(setting: Setting) -> Iterator[tuple[str, Setting]]:
    """Return every station with the setting in which there is twice as much of it.

    Alike ovens, and alike mixers, are one station.
    """
    workshop, bakery = setting.workshop, setting.day.bakery
    used = [plan.mixer for plan in setting.day.breads]
    for number, mixer in enumerate(bakery.mixers):
        group = [each for each in bakery.mixers if each.is_like(mixer)]
        if any(each.is_like(mixer) for each in used) and not any(
            each.is_like(mixer) for each in bakery.mixers[:number]
        ):
            yield mixer.name, _more_mixers(setting, [each.name for each in group])
    if workshop.shifts:
        twice = tuple(_changed(shift, people=2 * shift.people) for shift in workshop.shifts)
        yield "bench", setting.with_workshop(shifts=twice)
    loaded = {name for job in plan_jobs(setting.day, workshop) for part in job.breads for name in part.process.loads}
    for oven in workshop.ovens:
        ovens = alike(workshop, oven)
        if oven.name in loaded and oven == ovens[0]:
            yield _named(ovens), _more_ovens(setting, [each.name for each in ovens])
    for field, word, there in _counted(setting):
        yield word, setting.with_workshop(**{field: 2 * there})
    for name, there in workshop.gear.items():
        yield name, setting.with_workshop(gear=Lines({**workshop.gear, name: 2 * there}))


def _new_name(name: str, taken: Sequence[str]) -> str:
    """Return a name for one more of something that nothing has yet."""
    number = 1
    while f"{name} (new {number})" in taken:
        number += 1
    return f"{name} (new {number})"


def _more_ovens(setting: Setting, names: Sequence[str]) -> Setting:
    """Return the setting with one more oven like each of those named."""
    for name in names:
        workshop = setting.workshop
        oven = next(each for each in workshop.ovens if each.name == name)
        new = _new_name(name, [each.name for each in workshop.ovens])
        processes = Lines(
            (bread, _changed(process, loads=Lines({**process.loads, new: process.loads[name]})))
            if name in process.loads
            else (bread, process)
            for bread, process in workshop.processes.items()
        )
        setting = setting.with_workshop(ovens=(*workshop.ovens, _changed(oven, name=new)), processes=processes)
    return setting


def _more_mixers(setting: Setting, names: Sequence[str]) -> Setting:
    """Return the setting with one more mixer like each of those named."""
    bakery = setting.day.bakery
    mixers = list(bakery.mixers)
    for name in names:
        mixer = next(each for each in mixers if each.name == name)
        mixers.append(_changed(mixer, name=_new_name(name, [each.name for each in mixers])))
    return evolve(setting, day=evolve(setting.day, bakery=_changed(bakery, mixers=tuple(mixers))))


def _ordered(setting: Setting, _: Change) -> Setting | None:
    return evolve(setting, order="due")


def _with_shift(setting: Setting, number: int, **facts: object) -> Setting:
    shifts = list(setting.workshop.shifts)
    shifts[number] = _changed(shifts[number], **facts)
    return setting.with_workshop(shifts=tuple(shifts))


def _break_moved(setting: Setting, change: Change) -> Setting | None:
    number, place, by = change.numbers
    shift: Shift = setting.workshop.shifts[number]
    breaks = list(shift.breaks_min)
    breaks[place] = breaks[place][0] + by, breaks[place][1] + by
    breaks.sort()
    is_apart = all(earlier[1] <= later[0] for earlier, later in pairwise(breaks))
    if not is_apart or breaks[0][0] < shift.begin_min or breaks[-1][1] > shift.end_min:
        return None
    return _with_shift(setting, number, breaks_min=tuple(breaks))


def _hours_moved(setting: Setting, change: Change) -> Setting | None:
    number, sooner, longer = change.numbers
    shift = setting.workshop.shifts[number]
    return _with_shift(setting, number, begin_min=shift.begin_min - sooner, end_min=shift.end_min + longer)


def _one_more_person(setting: Setting, change: Change) -> Setting | None:
    (number,) = change.numbers
    return _with_shift(setting, number, people=setting.workshop.shifts[number].people + 1)


def _opened(setting: Setting, change: Change) -> Setting | None:
    (by,) = change.numbers
    workshop = setting.workshop
    shifts = tuple(
        _changed(shift, begin_min=shift.begin_min - by) if shift.begin_min <= workshop.opens_min else shift
        for shift in workshop.shifts
    )
    return setting.with_workshop(opens_min=workshop.opens_min - by, shifts=shifts)


def _quicker(setting: Setting, change: Change) -> Setting | None:
    workshop = setting.workshop
    if not change.name:
        return setting.with_workshop(turn_round_min=math.ceil(workshop.turn_round_min / 2))
    group = alike(workshop, next(each for each in workshop.ovens if each.name == change.name))
    ovens = tuple(
        _changed(oven, turn_round_min=math.ceil(oven.turn_round_min / 2)) if oven in group else oven
        for oven in workshop.ovens
    )
    return setting.with_workshop(ovens=ovens)


def _more_places(setting: Setting, change: Change) -> Setting | None:
    (more,) = change.numbers
    return setting.with_workshop(**{change.name: getattr(setting.workshop, change.name) + more})


def _more_gear(setting: Setting, change: Change) -> Setting | None:
    (more,) = change.numbers
    gear = setting.workshop.gear
    return setting.with_workshop(gear=Lines({**gear, change.name: gear[change.name] + more}))


def _other_process(setting: Setting, change: Change) -> Setting | None:
    named = [plan.weighed_name for plan in setting.day.breads if change.name in {plan.weighed_name, plan.bread.name}]
    processes = {**setting.workshop.processes, **dict.fromkeys(named, change.process)}
    return setting.with_workshop(processes=Lines(processes))


def _remixed(setting: Setting, change: Change) -> Setting | None:
    """Give a dough another number of mixes, or another mixer."""
    number, *counts = change.numbers
    dough = setting.day.doughs[number]
    mixers = [mixer for mixer in setting.day.bakery.mixers if mixer.name == (change.name or dough.mixer.name)]
    try:
        made = replanned(setting.day, dough, mixers, *counts)
    except FormulaError:
        return None
    changed = made.doughs[number]
    if (counts and changed.mix_count != counts[0]) or min(
        mix.batch.dough_g for mix in changed.mixes
    ) < changed.mixer.smallest_g:
        return None
    return evolve(setting, day=made)


_APPLY: Final[Mapping[Kind, Callable[[Setting, Change], Setting | None]]] = {
    "order": _ordered,
    "break": _break_moved,
    "other mixer": _remixed,
    "mixes": _remixed,
    "process": _other_process,
    "opening": _opened,
    "shift": _hours_moved,
    "people": _one_more_person,
    "turn-round": _quicker,
    "places": _more_places,
    "gear": _more_gear,
    "mixer": lambda setting, change: _more_mixers(setting, [change.name]),
    "oven": lambda setting, change: _more_ovens(setting, [change.name]),
}
