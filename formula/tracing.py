"""Tracing: from a lot of an ingredient to every mix and delivery that it touched, and from a loaf back to every lot.

What the log does not tell is not known: a mix whose lot was not written down may have had any, and a load of which nobody
wrote where it went may have gone to any order of its bread.  Both are named, never left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from attrs import frozen

from .batch import Batch
from .breadplan import BreadPlan
from .day import DayPlan
from .daylog import Log
from .errors import ContradictionError, Fault, UnknownNameError, cited
from .logentry import Entry
from .orders import Order
from .stage import FINAL
from .working import Caution

__all__ = ["Delivery", "LoafTrace", "LotTrace", "MixTrace", "Origin", "trace_loaf", "trace_lot"]

_LAW: Final = Caution(
    "trace-law",
    "Many places require by law that a bakery can name whom each lot came from and whom it went to, one step back and one"
    " step forward: your local code and authority decide what to keep, for how long, and what to do in a recall. Treat what"
    " is not known as touched.",
)


@frozen
class Origin:
    """Where an ingredient of a mix came from: its ``lots``, none if that is not known; ``via`` is the built stage it came in."""

    ingredient: str
    via: str
    lots: tuple[str, ...]

    @property
    def is_known(self) -> bool:
        """Whether a lot was written down."""
        return bool(self.lots)


@frozen
class MixTrace:
    """A mix: when it was begun and by whom ("" if not known), the origin of each ingredient, and the loads that are logged."""

    bread: str
    mix: int
    begun: str
    who: str
    origins: tuple[Origin, ...]
    loads: tuple[int, ...]

    @property
    def unknown(self) -> tuple[Origin, ...]:
        """Ingredients of which no lot was written down."""
        return tuple(origin for origin in self.origins if not origin.is_known)


@frozen
class Delivery:
    """An order that was touched: for certain, or perhaps, where it was not written down where each piece went."""

    bread: str
    due: str
    pieces: int
    certain: bool


@frozen
class LotTrace:
    """What a lot went into: ``mixes`` and ``builds`` of stages for certain, ``perhaps`` where a lot was not written down.

    ``ingredients`` are the names under which the lot was used; none if the log does not know it.
    """

    lot: str
    ingredients: tuple[str, ...]
    builds: tuple[str, ...]
    mixes: tuple[MixTrace, ...]
    perhaps: tuple[MixTrace, ...]
    deliveries: tuple[Delivery, ...]
    cautions: tuple[Caution, ...]

    def to_tables(self) -> dict[str, Any]:
        """Return it as plain tables for other programs."""
        return {
            "lot": self.lot,
            "ingredients": list(self.ingredients),
            "builds": list(self.builds),
            "mixes": [_mix_tables(mix) for mix in self.mixes],
            "perhaps": [_mix_tables(mix) for mix in self.perhaps],
            "deliveries": [_delivery_tables(each) for each in self.deliveries],
            "cautions": [{"code": caution.code, "text": caution.text} for caution in self.cautions],
        }


@frozen
class LoafTrace:
    """Where a loaf came from: the mixes it was made of for certain, and those of which it may have been made."""

    bread: str
    mixes: tuple[MixTrace, ...]
    perhaps: tuple[MixTrace, ...]
    cautions: tuple[Caution, ...]

    def to_tables(self) -> dict[str, Any]:
        """Return it as plain tables for other programs."""
        return {
            "bread": self.bread,
            "mixes": [_mix_tables(mix) for mix in self.mixes],
            "perhaps": [_mix_tables(mix) for mix in self.perhaps],
            "cautions": [{"code": caution.code, "text": caution.text} for caution in self.cautions],
        }


def _mix_tables(mix: MixTrace) -> dict[str, Any]:
    origins = [
        {"ingredient": origin.ingredient, "via": origin.via, "lots": list(origin.lots) if origin.lots else None}
        for origin in mix.origins
    ]
    known = {"begun": mix.begun or None, "who": mix.who or None, "loads": list(mix.loads) or None}
    return {"bread": mix.bread, "mix": mix.mix, **known, "origins": origins}


def _delivery_tables(delivery: Delivery) -> dict[str, Any]:
    return {"bread": delivery.bread, "due": delivery.due, "pieces": delivery.pieces, "certain": delivery.certain}


def trace_lot(log: Log, day: DayPlan, lot: str) -> LotTrace:
    """Find every mix, built stage and order that a lot touched.

    Args:
        log: what was used, as lots of the lines "mix begun", "mix ended" and "stage built"; and what was sent.
        day: the day's mixes and orders.
        lot: the lot number; capitals and spaces do not matter.

    Returns:
        What it touched for certain; ``perhaps`` the mixes with an ingredient of that kind of which no lot was written
        down, or, where the log does not know the lot, with any such ingredient.

    Raises:
        UnknownNameError: a log with a bread or mix that the day has not.

    Example:
        >>> from formula import load_day, plan_day, read_log
        >>> day = plan_day(*load_day("docs/examples/harbour"))
        >>> log = read_log("docs/examples/harbour-night.jsonl")
        >>> [(mix.bread, mix.mix) for mix in trace_lot(log, day, "4712").mixes]
        [('Quay Round', 1)]
    """
    traces = _Traces(log, day)
    wanted = _same(lot)

    def has(origin: Origin) -> bool:
        return any(_same(each) == wanted for each in origin.lots)

    every = [trace for plan in day.breads for trace in traces.of_bread(plan)]
    names = dict.fromkeys(origin.ingredient for trace in every for origin in trace.origins if has(origin))
    builds, more = traces.builds_with(wanted)
    # A stage that was built and went into no mix yet tells of the lot as well.
    names |= more
    touched = [trace for trace in every if any(has(origin) for origin in trace.origins)]
    perhaps = [
        trace
        for trace in every
        if trace not in touched and any(not names or origin.ingredient in names for origin in trace.unknown)
    ]
    cautions = [_LAW, *traces.cautions]
    if not names:
        known = dict.fromkeys(each for trace in every for origin in trace.origins for each in origin.lots)
        text = f"The log does not know the lot {lot}; it knows {', '.join(known) or 'none'}."
        cautions.insert(0, Caution("unknown-lot", text))
    deliveries = traces.deliveries({(trace.bread, trace.mix) for trace in touched}, {trace.bread for trace in perhaps})
    return LotTrace(
        lot=lot,
        ingredients=tuple(names),
        builds=builds,
        mixes=tuple(touched),
        perhaps=tuple(perhaps),
        deliveries=tuple(deliveries),
        cautions=tuple(cautions),
    )


def trace_loaf(
    log: Log, day: DayPlan, bread: str, *, mix: int | None = None, load: int | None = None, due: str = ""
) -> LoafTrace:
    """Find the mixes that a loaf may have come from, with the lots of every ingredient and who mixed.

    Args:
        log: what was used and sent.
        day: the day's mixes and orders.
        bread: the bread, as the plan calls it.
        mix: its mix, if that is known.
        load: with ``mix``, its load.
        due: else the delivery it came with.

    Returns:
        The mixes it came from for certain, and those of which it may have come.

    Raises:
        UnknownNameError: a bread, mix, load or delivery that the day or the log does not know.
        ContradictionError: a load without its mix, or a mix and a delivery.

    Example:
        >>> from formula import load_day, plan_day, read_log
        >>> day = plan_day(*load_day("docs/examples/harbour"))
        >>> log = read_log("docs/examples/harbour-night.jsonl")
        >>> [(mix.begun, mix.who) for mix in trace_loaf(log, day, "Quay Round", mix=1).mixes]
        [('18:29 the day before', 'M.')]
    """
    traces = _Traces(log, day)
    plan = traces.plan(bread)
    every = traces.of_bread(plan)
    if (load is not None and mix is None) or (mix is not None and due):
        got = "a load without its mix" if mix is None else "a mix and a delivery"
        raise ContradictionError(Fault("trace", got, "a mix and perhaps a load of it, or a delivery"))
    cautions = (_LAW, *traces.cautions)
    if mix is not None:
        found = tuple(trace for trace in every if trace.mix == mix)
        _known(f"mix of {bread}", mix, [trace.mix for trace in every])
        if load is not None:
            _known(f"load of mix {mix}", load, found[0].loads)
        return LoafTrace(bread, found, (), cautions)
    if not due:
        return LoafTrace(bread, every, (), cautions) if len(every) == 1 else LoafTrace(bread, (), every, cautions)
    orders = [order for order in plan.orders if order.due == due]
    _known(f"delivery of {bread}", due, [order.due for order in plan.orders])
    sent = [entry for entry in log.of("sent", bread) if entry.due == due]
    ordered = sum(order.pieces for order in orders)
    certain = tuple(trace for trace in every if any(entry.mix == trace.mix for entry in sent))
    if _pieces(sent) >= ordered:
        return LoafTrace(bread, certain, (), cautions)
    perhaps = tuple(trace for trace in every if trace not in certain and not traces.all_gone(plan, trace.mix))
    return LoafTrace(bread, certain, perhaps, cautions)


def _known(what: str, got: object, known: Iterable[object]) -> None:
    names = list(known)
    if got not in names:
        expected = f"one of {', '.join(map(str, names))}" if names else "one that is in the log; it has none"
        raise UnknownNameError(Fault(what, cited(got, str), expected))


def _same(lot: str) -> str:
    return " ".join(lot.split()).casefold()


def _pieces(sent: Iterable[Entry]) -> int:
    """Return how many pieces were sent as far as it is known."""
    return sum(entry.pieces or 0 for entry in sent)


class _Traces:
    """The mixes of a day with the origin of all that went into them."""

    def __init__(self, log: Log, day: DayPlan) -> None:
        self.log, self.day = log, day
        self.cautions: list[Caution] = list(log.cautions)
        faults = [
            Fault(log.where(entry), cited(entry.bread), f"one of {', '.join(plan.name for plan in day.breads)}")
            for entry in log.standing
            if entry.bread and all(entry.bread != plan.name for plan in day.breads)
        ]
        numbers = {plan.name: [number for number, _ in _batches(plan)] for plan in day.breads}
        faults += [
            Fault(log.where(entry), f"mix {entry.mix} of {entry.bread}", f"one of {len(numbers[entry.bread])} mixes")
            for entry in log.standing
            if entry.mix is not None and entry.bread in numbers and entry.mix not in numbers[entry.bread]
        ]
        if faults:
            raise UnknownNameError(*faults)

    def plan(self, bread: str) -> BreadPlan:
        _known("bread", bread, [plan.name for plan in self.day.breads])
        return next(plan for plan in self.day.breads if plan.name == bread)

    def of_bread(self, plan: BreadPlan) -> tuple[MixTrace, ...]:
        return tuple(self._mix(plan, number, batch) for number, batch in _batches(plan))

    def _mix(self, plan: BreadPlan, number: int, batch: Batch) -> MixTrace:
        own = [*self.log.of("mix begun", plan.name, number), *self.log.of("mix ended", plan.name, number)]
        begun = next((str(entry.at) for entry in own if entry.what == "mix begun"), "")
        who = ", ".join(dict.fromkeys(entry.who for entry in own if entry.who))
        lots = _lots(plan, own)
        larder = plan.bread.catalogue
        toppings = dict.fromkeys(larder.find(name).name for name in plan.bread.toppings_g)
        origins = list(self._origins(plan, batch, FINAL, lots, "", frozenset(toppings)))
        origins += [Origin(name, "topping", lots.get(name, ())) for name in toppings]
        loads = dict.fromkeys(
            entry.load
            for entry in self.log.standing
            if (entry.bread, entry.mix) == (plan.name, number) and entry.load is not None
        )
        return MixTrace(plan.name, number, begun, who, tuple(dict.fromkeys(origins)), tuple(loads))

    def _origins(
        self,
        plan: BreadPlan,
        batch: Batch,
        stage: str,
        lots: Mapping[str, tuple[str, ...]],
        via: str,
        told: frozenset[str] = frozenset(),
    ) -> Iterator[Origin]:
        """Go through the lines of a stage, and through the builds of the stages that went into it.

        What was used without standing in the formula comes last, unless it is ``told`` elsewhere.
        """
        kinds = {each.name: each.kind for each in plan.bread.stages}
        rows = [row.name for row in batch.stages[stage].rows] if stage in batch.stages else []
        soaked = [name for name in rows if kinds.get(name) == "autolyse"]
        # An autolyse is the beginning of the mix itself.
        rows += [row.name for name in soaked for row in batch.stages[name].rows]
        names: dict[str, None] = {}
        for name in rows:
            if name in kinds:
                names |= {} if name in soaked else {name: None}
            else:
                ingredient = plan.bread.catalogue.find(name)
                # Tap water has no lot.
                names |= {ingredient.name: None} if ingredient.kind != "water" or ingredient.name in lots else {}
        beside = [name for name in lots if name not in names and name not in told]
        for name in (*names, *beside):
            yield Origin(name, via if name in names else "not in the formula", lots.get(name, ()))
            builds = [
                entry
                for each in lots.get(name, ())
                for entry in self.log.of("stage built")
                if entry.stage == name and _same(entry.lot) == _same(each)
            ]
            for entry in builds:
                # A build that went into itself is followed once.
                if f"{name} {entry.lot}" not in via.split(" < "):
                    inside = f"{name} {entry.lot}{' < ' + via if via else ''}"
                    yield from self._origins(plan, batch, name, _lots(plan, [entry]), inside)
            if name in kinds and not builds:
                yield from self._origins(plan, batch, name, {}, name)

    def builds_with(self, lot: str) -> tuple[tuple[str, ...], dict[str, None]]:
        """Return the builds of stages that a lot went into, also through other builds, and the names it has there."""
        found: dict[str, None] = {}
        names: dict[str, None] = {}
        sought = [("", lot)]
        for name, wanted in sought:
            for entry in self.log.of("stage built"):
                own = next((plan for plan in self.day.breads if entry.stage in _stages(plan)), self.day.breads[0])
                held = [key for key, lots in _lots(own, [entry]).items() if any(_same(each) == wanted for each in lots)]
                if any(name in ("", key) for key in held) and f"{entry.stage} {entry.lot}" not in found:
                    found[f"{entry.stage} {entry.lot}"] = None
                    names |= {} if name else dict.fromkeys(held)
                    sought.append((entry.stage, _same(entry.lot)))
        return tuple(found), names

    def all_gone(self, plan: BreadPlan, mix: int) -> bool:
        """Whether it is written down where each piece of a mix went."""
        pieces = next(each.pieces for each in plan.mixes if each.first <= mix <= each.last)
        return _pieces(self.log.of("sent", plan.name, mix)) >= pieces

    def deliveries(self, touched: set[tuple[str, int]], perhaps: set[str]) -> Iterator[Delivery]:
        """Return the orders that got pieces of these mixes, and those that may have."""
        for plan in self.day.breads:
            mixes = [mix for bread, mix in touched if bread == plan.name]
            sent = {entry.due for mix in mixes for entry in self.log.of("sent", plan.name, mix)}
            unsure = plan.name in perhaps or any(not self.all_gone(plan, mix) for mix in mixes)
            orders: tuple[Order, ...] = plan.orders
            for order in orders:
                if order.due in sent or unsure:
                    yield Delivery(plan.name, order.due, order.pieces, order.due in sent)


def _batches(plan: BreadPlan) -> Iterator[tuple[int, Batch]]:
    return ((number, mix.batch) for mix in plan.mixes for number in range(mix.first, mix.last + 1))


def _stages(plan: BreadPlan) -> set[str]:
    return {stage.name for stage in plan.bread.stages}


def _lots(plan: BreadPlan, entries: Iterable[Entry]) -> dict[str, tuple[str, ...]]:
    """Return the lots of some entries by the ingredient's or the stage's own name."""
    larder, stages = plan.bread.catalogue, _stages(plan)
    found: dict[str, tuple[str, ...]] = {}
    for entry in entries:
        for written, lots in entry.lots.items():
            name = larder.find(written).name if written not in stages and written in larder else written
            found[name] = tuple(dict.fromkeys((*found.get(name, ()), *lots)))
    return found
