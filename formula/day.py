"""The day: from the orders to mixes, each with its weigh sheet, its water and its pieces.

The dough of each bread is split into equal mixes within the mixer's limits, in whole pieces that differ by at most one
from mix to mix.  No mix leaves the order short: scaling weights are rounded up to the divider's step, and a mix weighs
what its pieces need or more, by no more than the coarsest step of the scales.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from functools import cached_property
from typing import Any, ClassVar, Final

from attrs import evolve, frozen

from .bakery import Bakery, Mixer
from .breadplan import BreadPlan, Dough, Mix, weighed_name
from .counting import on_step
from .doughs import common_dough, dough_key
from .errors import Fault, FormulaError
from .formula import Formula
from .keepup import largest_mix
from .lines import Lines
from .losses import Losses
from .mixes import Need, split_dough
from .orders import Order
from .pour import pour_for
from .quantity import MASS, View, write
from .readerunits import with_units
from .working import Caution, Step, Working, shown
from .workshop import Workshop

__all__ = ["DayPlan", "plan_day", "replanned"]

MOST_MIXES: Final = 10_000
"""Of one dough in a day; a mixer turns out some hundred."""


@frozen
class DayPlan:
    """The day's breads in the order in which they were ordered."""

    bakery: Bakery
    breads: tuple[BreadPlan, ...]

    @cached_property
    def doughs(self) -> tuple[Dough, ...]:
        """The doughs in the order of their first bread, each with the breads that are made of it."""
        numbers = dict.fromkeys(plan.dough_number for plan in self.breads)
        return tuple(Dough(tuple(plan for plan in self.breads if plan.dough_number == number)) for number in numbers)

    def dough_of(self, name: str) -> Dough:
        """Return the dough with a name, or the one of which a bread is made."""
        return next(
            dough for dough in self.doughs if name == dough.name or name in (plan.name for plan in dough.breads)
        )

    @cached_property
    def ingredients_g(self) -> Lines[float]:
        """Grams of every ingredient to have ready, all stages of all mixes and the toppings together."""
        sums: dict[str, float] = {}
        for dough in self.doughs:
            for mix in dough.mixes:
                mixed = mix.batch.formula
                stages = {stage.name for stage in mixed.stages}
                for stage in mix.batch.stages.values():
                    for row in stage.rows:
                        if row.name not in stages:
                            name = mixed.catalogue.find(row.name).name
                            sums[name] = sums.get(name, 0.0) + mix.count * row.mass_g
        for plan in self.breads:
            catalogue = plan.bread.catalogue
            for name, grams in plan.toppings_g().items():
                sums[catalogue.find(name).name] = sums.get(catalogue.find(name).name, 0.0) + grams
        return Lines(sorted(sums.items(), key=lambda item: -item[1]))

    @property
    def pieces(self) -> int:
        """All pieces made."""
        return sum(plan.pieces for plan in self.breads)

    @property
    def dough_g(self) -> float:
        """All dough mixed."""
        return sum(dough.dough_g for dough in self.doughs)

    dough: ClassVar[View] = View(MASS, "dough_g", "All dough mixed, as a quantity.")

    @property
    def mix_count(self) -> int:
        """The number of mixes of the day."""
        return sum(dough.mix_count for dough in self.doughs)

    @cached_property
    def shared_cautions(self) -> tuple[Caution, ...]:
        """The cautions that hold for more than one dough, each once."""
        every = [caution for dough in self.doughs for caution in dict.fromkeys(dough.cautions)]
        return tuple(dict.fromkeys(caution for caution in every if every.count(caution) > 1))

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """The shared cautions, and those of one dough with its name before them."""
        own = [
            Caution(caution.code, f"{dough.title}: {caution.text}")
            for dough in self.doughs
            for caution in dough.cautions
            if caution not in self.shared_cautions
        ]
        return (*self.shared_cautions, *own)

    def working(self) -> Working:
        """Return how the day's dough comes about from its mixes; each bread and each dough has a working of its own."""
        steps: list[Step] = []
        doughs: dict[str, float] = {}
        for number, dough in enumerate(self.doughs, 1):
            values: dict[str, float] = {}
            for group, mix in enumerate(dough.mixes, 1):
                values |= {f"n_{number}_{group}": float(mix.count), f"m_{number}_{group}": mix.batch.dough_g}
            names = list(values)
            expression = " + ".join(f"{count} * {mass}" for count, mass in zip(names[::2], names[1::2], strict=True))
            inside = tuple(mix.batch.working() for mix in dough.mixes)
            steps.append(Step(f"d_{number}", expression, values, dough.dough_g, "g", note=dough.title, inside=inside))
            doughs[f"d_{number}"] = dough.dough_g
        steps.append(Step("dough", " + ".join(doughs), doughs, self.dough_g, "g", note="all breads, as weighed"))
        return Working(f"{self.bakery.name}: the day", with_units(steps, {"1": "n", "g": "m"}), self.cautions)

    def to_tables(self) -> dict[str, Any]:
        """Return the plan as plain tables for other programs; weights in g, temperatures in °C."""
        return {
            "bakery": self.bakery.name,
            "pieces": self.pieces,
            "mixes": self.mix_count,
            "dough_g": self.dough_g,
            "breads": [_bread_tables(plan, self.dough_of(plan.name)) for plan in self.breads],
            "ingredients_g": dict(self.ingredients_g),
            "cautions": [{"code": caution.code, "text": caution.text} for caution in self.cautions],
        }


def _bread_tables(plan: BreadPlan, dough: Dough) -> dict[str, Any]:
    return {
        "bread": plan.bread.name,
        "dough": dough.name,
        "due": plan.due,
        "ordered": plan.ordered,
        "spares": plan.spares,
        "pieces": plan.pieces,
        "baked_g": plan.baked_g,
        "scaling_weight_g": plan.piece_g,
        "dough_g": plan.dough_g,
        "mixer": plan.mixer.name,
        "toppings_g": dict(plan.toppings_g()),
        "mixes": [
            {
                "first": mix.first,
                "last": mix.last,
                "pieces": plan.portion(mix).pieces,
                "portions": [
                    {"bread": portion.bread, "pieces": portion.pieces, "scaling_weight_g": portion.piece_g}
                    for portion in mix.portions
                ],
                "dough_g": mix.batch.dough_g,
                "stages": {
                    stage.name: {row.name: row.mass_g for row in stage.rows} for stage in mix.batch.stages.values()
                },
                "water_c": mix.pour.temperature.temperature_c if mix.pour else None,
                "poured_at": mix.pour.stage if mix.pour else None,
                "ice_g": mix.pour.ice_g if mix.pour else 0.0,
                "draw_g": mix.pour.draw_g if mix.pour else None,
                "later_g": {row.name: row.mass_g for row in mix.batch.later},
            }
            for mix in plan.mixes
        ],
    }


def plan_day(
    orders: Iterable[Order], bakery: Bakery, workshop: Workshop | None = None, *, share: bool | None = None
) -> DayPlan:
    """Turn a day's orders into doughs and mixes.

    Orders for the same bread at the same baked weight and with the same losses are one dough.  Pieces made =
    (ordered + spares) / (1 - reject), rounded up; scaling weight = baked weight before the losses after the divider,
    rounded up to the divider's step; dough = pieces x scaling weight / what the losses before the divider leave; mixes =
    the fewest that the mixer holds, in whole pieces that differ by at most one.  A dough goes to a mixer that its mixes are large enough for, if there is
    one; of several to the one that needs the fewest mixes, of those to the smallest.

    With ``share`` breads of the same dough (see ``dough_key``) and of several weights are mixed together and divided
    apart.  Each has its own losses, and its pieces are shared out over all the mixes, whole and as evenly as they go.

    Args:
        orders: at least one.
        bakery: mixers, scale steps and temperatures.
        workshop: with it, no mix has more pieces of a bread whose process it has than its ovens keep up with.  The breads
            of a shared mix are each counted alone, as if they came to the ovens one after the other; whether there is room
            for all of them the timetable finds out.
        share: whether one dough is mixed for several breads; as the bakery does it, if left out.

    Returns:
        The plan, with the cautions a baker must see.

    Raises:
        FormulaError: no orders, or a piece heavier than every mixer holds; all at once.

    Example:
        >>> loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 65, "salt": 2})
        >>> spiral = Mixer("spiral", capacity="60 kg", friction="20 K")
        >>> bakery = Bakery("Harbour", mixers=[spiral], flour="21 °C", room="23 °C", tap="14 °C")
        >>> plan_day([Order(loaf, pieces=100, baked="800 g")], bakery).breads[0].mix_count
        2
    """
    groups: dict[tuple[Formula, float, Losses], list[Order]] = {}
    for order in orders:
        groups.setdefault((order.bread, order.baked_g, order.losses), []).append(order)
    if not groups:
        raise FormulaError(Fault("orders", "none", "at least one order"))
    is_shared = bakery.share_doughs if share is None else share
    faults: list[Fault] = []
    wanted: dict[Hashable, list[_Wanted]] = {}
    for name, ((bread, baked_g, losses), lines) in zip(_names(list(groups)), groups.items(), strict=True):
        try:
            each = _want(name, bread, baked_g, losses, tuple(lines), bakery, workshop)
            wanted.setdefault(dough_key(bread) if is_shared else name, []).append(each)
        except FormulaError as error:
            faults += error.faults
    plans: dict[str, BreadPlan] = {}
    for number, together in enumerate(wanted.values(), 1):
        try:
            plans |= {plan.name: plan for plan in _plan_dough(number, together, bakery, bakery.mixers)}
        except FormulaError as error:
            faults += error.faults
    if faults:
        raise FormulaError(*faults)
    return DayPlan(bakery, tuple(plans[name] for name in _names(list(groups))))


def _names(groups: Sequence[tuple[Formula, float, Losses]]) -> list[str]:
    """Name each bread of the day: with its weight where there are several of its name, numbered where even that is not enough."""
    names = [bread.name for bread, _, _ in groups]
    weighed = [
        bread.name if names.count(bread.name) == 1 else weighed_name(bread, baked_g) for bread, baked_g, _ in groups
    ]
    return [
        name if weighed.count(name) == 1 else f"{name} ({weighed[: place + 1].count(name)})"
        for place, name in enumerate(weighed)
    ]


@frozen
class _Wanted:
    """One bread at one weight: its orders, and what it needs of a dough."""

    bread: Formula
    baked_g: float
    orders: tuple[Order, ...]
    need: Need


def _want(
    name: str,
    bread: Formula,
    baked_g: float,
    losses: Losses,
    orders: tuple[Order, ...],
    bakery: Bakery,
    workshop: Workshop | None,
) -> _Wanted:
    process = workshop.process_of(weighed_name(bread, baked_g), bread.name) if workshop else None
    most = largest_mix(process, workshop.ovens).pieces if process and workshop else None
    piece_g = on_step(losses.dough_for(write(MASS, baked_g)).scaling_weight_g, bakery.divider_g)
    if piece_g <= 0:
        where, got = orders[0].where or name, f"pieces of {write(MASS, baked_g)}"
        raise FormulaError(Fault(where, got, "pieces that the divider's scale shows", "check the baked weight"))
    pieces = sum(order.pieces_made for order in orders)
    return _Wanted(bread, baked_g, orders, Need(name, pieces, piece_g, losses.before_divider_left, most))


def _plan_dough(number: int, together: Sequence[_Wanted], bakery: Bakery, mixers: Sequence[Mixer]) -> list[BreadPlan]:
    """Plan the mixes of one dough, and tell each of its breads which of them it is in."""
    dough = common_dough([each.bread for each in together])
    needs = [each.need for each in together]
    splits = [split for mixer in mixers if (split := split_dough(dough, needs, mixer, bakery))]
    if not splits:
        raise FormulaError(_too_heavy(max(together, key=lambda each: each.need.piece_g / each.need.left), bakery))
    split = min(splits, key=lambda each: each.rank)
    if split.count > MOST_MIXES:
        where = together[0].orders[0].where or together[0].need.bread
        fix = "check the pieces and their weight"
        raise FormulaError(Fault(where, f"{split.count} mixes of one dough", f"at most {MOST_MIXES} in a day", fix))
    mixes: list[Mix] = []
    first = 1
    for count, portions, batch in split.runs:
        mixes.append(Mix(first, first + count - 1, portions, batch, pour_for(dough, batch, split.mixer, bakery)))
        first += count
    cautions = [caution for mix in mixes for caution in (*mix.batch.cautions, *(mix.pour.cautions if mix.pour else ()))]
    if split.smallest_g < split.mixer.smallest_g:
        text = f"a mix of {shown(split.smallest_g / 1000)} kg is less than the {split.mixer.name} mixes well ({shown(split.mixer.smallest_g / 1000)} kg)"
        cautions.append(Caution("small-mix", text))
    return [
        BreadPlan(
            bread=each.bread,
            orders=each.orders,
            mixer=split.mixer,
            pieces=each.need.pieces,
            baked_g=each.baked_g,
            piece_g=each.need.piece_g,
            mixes=tuple(mix for mix in mixes if any(portion.bread == each.need.bread for portion in mix.portions)),
            divider_g=bakery.divider_g,
            slack_g=split.slack_g,
            cautions=tuple(dict.fromkeys(cautions)),
            name=each.need.bread,
            most=each.need.most,
            dough_number=number,
            is_shared=len(together) > 1,
        )
        for each in together
    ]


def _too_heavy(heavy: _Wanted, bakery: Bakery) -> Fault:
    need = heavy.need
    got = f"pieces of {shown(need.piece_g)} g, with their losses {shown(need.piece_g / need.left)} g of dough"
    expected = f"pieces that a mixer holds, at most {shown(max(each.capacity_g for each in bakery.mixers))} g"
    where = ", ".join(order.where for order in heavy.orders if order.where)
    place = f"{where} ({heavy.bread.name}: baked)" if where else heavy.bread.name
    return Fault(place, got, expected, "a larger mixer or smaller pieces")


def replanned(day: DayPlan, dough: Dough, mixers: Sequence[Mixer], mixes: int | None = None) -> DayPlan:
    """Plan one dough of a day anew: in another mixer, or in another number of mixes.

    Args:
        day: the day.
        dough: one of its doughs.
        mixers: in which of them it may be mixed.
        mixes: in how many mixes; None for as few as the mixer holds and the ovens keep up with.

    Raises:
        FormulaError: none of the mixers holds a piece.
    """
    together = [
        _Wanted(
            plan.bread,
            plan.baked_g,
            plan.orders,
            Need(
                plan.name,
                plan.pieces,
                plan.piece_g,
                plan.losses.before_divider_left,
                -(-plan.pieces // mixes) if mixes else plan.most,
            ),
        )
        for plan in dough.breads
    ]
    made = _plan_dough(dough.breads[0].dough_number, together, day.bakery, mixers)
    changed = {plan.name: plan for plan in made}
    return evolve(day, breads=tuple(changed.get(plan.name, plan) for plan in day.breads))
