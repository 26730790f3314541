"""The day: from the orders to mixes, each with its weigh sheet, its water and its pieces.

The dough of each bread is split into equal mixes within the mixer's limits, in whole pieces that differ by at most one
from mix to mix.  No mix leaves the order short: scaling weights are rounded up to the divider's step, and a mix weighs
what its pieces need or more, by no more than the coarsest step of the scales.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import Any

from attrs import evolve, frozen

from .bakery import Bakery, Mixer
from .batch import Batch
from .counting import even, on_step
from .errors import Fault, FormulaError
from .formula import Formula
from .keepup import largest_mix
from .lines import Lines
from .losses import Losses
from .mixes import split_dough
from .orders import Order, order_steps
from .pour import Pour, pour_for
from .quantity import MASS, View, write
from .working import Caution, Step, Working, shown
from .workshop import Workshop

__all__ = ["BreadPlan", "DayPlan", "Mix", "plan_day"]


@frozen
class Mix:
    """Some equal mixes of one bread: the first and last number, the pieces of each, and what to weigh for each."""

    first: int
    last: int
    pieces: int
    batch: Batch
    pour: Pour | None

    @property
    def count(self) -> int:
        """How many mixes are alike."""
        return self.last - self.first + 1


@frozen
class BreadPlan:
    """One bread of the day: its pieces, its dough and its mixes.

    ``divider_g`` is the step that ``piece_g`` is rounded up to; ``slack_g`` is left free in the mixer where a full mix,
    rounded to the scale, would be heavier than it holds.  ``name`` is the bread's, with the weight where the day has it in
    several; ``most`` is the number of pieces in a mix that the oven keeps up with, None if that sets no limit.  Where an order
    was changed during the day, ``begun_mixes`` with ``begun_pieces`` had begun before.
    """

    bread: Formula
    orders: tuple[Order, ...]
    mixer: Mixer
    pieces: int
    baked_g: float
    piece_g: float
    mixes: tuple[Mix, ...]
    divider_g: float
    slack_g: float = 0.0
    cautions: tuple[Caution, ...] = ()
    name: str = ""
    most: int | None = None
    begun_pieces: int = 0
    begun_mixes: int = 0

    @property
    def losses(self) -> Losses:
        """The losses on the way, as the orders have them."""
        return self.orders[0].losses

    @property
    def weighed_name(self) -> str:
        """The bread's name with its weight: what a process is called that holds for this weight alone."""
        return _weighed_name(self.bread, self.baked_g)

    @property
    def ordered(self) -> int:
        """Pieces ordered."""
        return sum(order.pieces for order in self.orders)

    @property
    def spares(self) -> int:
        """Pieces asked for beyond the order."""
        return sum(order.spares for order in self.orders)

    @property
    def due(self) -> str:
        """The earliest time of day at which some of them are due; "" if none is."""
        return min((order.due for order in self.orders if order.due), default="")

    @property
    def dough_g(self) -> float:
        """The dough of all mixes."""
        return sum(mix.count * mix.batch.dough_g for mix in self.mixes)

    dough = View(MASS, "dough_g", "The dough of all mixes, as a quantity.")
    piece = View(MASS, "piece_g", "The scaling weight, as a quantity.")
    baked = View(MASS, "baked_g", "The weight of a piece when sold, as a quantity.")

    @property
    def mix_count(self) -> int:
        """The number of mixes."""
        return sum(mix.count for mix in self.mixes)

    def toppings_g(self) -> Lines[float]:
        """Grams of each topping to issue for all the pieces."""
        return Lines((name, grams * self.pieces) for name, grams in self.bread.toppings_g.items())

    def working(self) -> Working:
        """Return how pieces, scaling weight, dough and mixes come about."""
        steps = order_steps(self.orders, self.pieces, self.piece_g, self.divider_g)
        left = self.losses.before_divider_left
        values = {"capacity": self.mixer.capacity_g, "slack": self.slack_g, "kept": left, "piece": self.piece_g}
        fit = even((self.mixer.capacity_g - self.slack_g) * left / self.piece_g)
        note = f"pieces that the {self.mixer.name} holds; slack: for rounding to the scale, kept: left at the divider"
        steps.append(Step("fit", "(capacity - slack) * kept / piece", values, fit, "", note=note))
        values = {"pieces": float(self.pieces), "fit": fit}
        holds = "floor(fit)"
        if self.most is not None:
            values["kept_up"] = float(self.most)
            holds = "min(floor(fit), kept_up)"
        note = "" if self.most is None else "kept_up: pieces in a mix that the oven keeps up with"
        whole = f"ceil(pieces / {holds})"
        if self.begun_mixes:
            whole = f"n_begun + ceil((pieces - begun) / {holds})"
            values |= {"n_begun": float(self.begun_mixes), "begun": float(self.begun_pieces)}
        steps.append(Step("mixes", whole, values, float(self.mix_count), "", note=note))
        return Working(f"{self.bread.name}: {self.mix_count} mixes", tuple(steps), self.cautions)


@frozen
class DayPlan:
    """The day's breads in the order in which they were ordered."""

    bakery: Bakery
    breads: tuple[BreadPlan, ...]

    @cached_property
    def ingredients_g(self) -> Lines[float]:
        """Grams of every ingredient to have ready, all stages of all mixes and the toppings together."""
        sums: dict[str, float] = {}
        for plan in self.breads:
            catalogue = plan.bread.catalogue
            stages = {stage.name for stage in plan.bread.stages}
            for mix in plan.mixes:
                for stage in mix.batch.stages.values():
                    for row in stage.rows:
                        if row.name not in stages:
                            name = catalogue.find(row.name).name
                            sums[name] = sums.get(name, 0.0) + mix.count * row.mass_g
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
        return sum(plan.dough_g for plan in self.breads)

    dough = View(MASS, "dough_g", "All dough mixed, as a quantity.")

    @property
    def mix_count(self) -> int:
        """The number of mixes of the day."""
        return sum(plan.mix_count for plan in self.breads)

    @cached_property
    def shared_cautions(self) -> tuple[Caution, ...]:
        """The cautions that hold for more than one bread, each once."""
        every = [caution for plan in self.breads for caution in dict.fromkeys(plan.cautions)]
        return tuple(dict.fromkeys(caution for caution in every if every.count(caution) > 1))

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """The shared cautions, and those of one bread with its name before them."""
        own = [
            Caution(caution.code, f"{plan.bread.name}: {caution.text}")
            for plan in self.breads
            for caution in plan.cautions
            if caution not in self.shared_cautions
        ]
        return (*self.shared_cautions, *own)

    def working(self) -> Working:
        """Return how the day's dough comes about from its mixes; each bread has a working of its own."""
        steps: list[Step] = []
        doughs: dict[str, float] = {}
        for number, plan in enumerate(self.breads, 1):
            values: dict[str, float] = {}
            for group, mix in enumerate(plan.mixes, 1):
                values |= {f"n_{number}_{group}": float(mix.count), f"m_{number}_{group}": mix.batch.dough_g}
            names = list(values)
            expression = " + ".join(f"{count} * {mass}" for count, mass in zip(names[::2], names[1::2], strict=True))
            steps.append(Step(f"d_{number}", expression, values, plan.dough_g, "g", note=plan.bread.name))
            doughs[f"d_{number}"] = plan.dough_g
        steps.append(Step("dough", " + ".join(doughs), doughs, self.dough_g, "g", note="all breads, as weighed"))
        return Working(f"{self.bakery.name}: the day", tuple(steps), self.cautions)

    def to_tables(self) -> dict[str, Any]:
        """Return the plan as plain tables for other programs; weights in g, temperatures in °C."""
        return {
            "bakery": self.bakery.name,
            "pieces": self.pieces,
            "mixes": self.mix_count,
            "dough_g": self.dough_g,
            "breads": [_bread_tables(plan) for plan in self.breads],
            "ingredients_g": dict(self.ingredients_g),
            "cautions": [{"code": caution.code, "text": caution.text} for caution in self.cautions],
        }


def _bread_tables(plan: BreadPlan) -> dict[str, Any]:
    return {
        "bread": plan.bread.name,
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
                "pieces": mix.pieces,
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


def plan_day(orders: Iterable[Order], bakery: Bakery, workshop: Workshop | None = None) -> DayPlan:
    """Turn a day's orders into doughs and mixes.

    Orders for the same bread at the same baked weight and with the same losses are one dough.  Pieces made = (ordered + spares) / (1 - reject),
    rounded up; scaling weight = baked weight before the losses after the divider, rounded up to the divider's step;
    dough = pieces x scaling weight / what the losses before the divider leave; mixes = the fewest that the mixer holds,
    in whole pieces that differ by at most one.  A dough goes to a mixer that its mixes are large enough for, if there is
    one; of several to the one that needs the fewest mixes, of those to the smallest.

    Args:
        orders: at least one.
        bakery: mixers, scale steps and temperatures.
        workshop: with it, no mix of a bread whose process it has is larger than its ovens keep up with.

    Returns:
        The plan, with the cautions a baker must see.

    Raises:
        FormulaError: no orders, or a piece heavier than every mixer holds; all at once.
    """
    groups: dict[tuple[Formula, float, Losses], list[Order]] = {}
    for order in orders:
        groups.setdefault((order.bread, order.baked_g, order.losses), []).append(order)
    if not groups:
        raise FormulaError(Fault("orders", "none", "at least one order"))
    plans: list[BreadPlan] = []
    faults: list[Fault] = []
    for name, (key, lines) in zip(_names(groups), groups.items(), strict=True):
        bread, baked_g, losses = key
        try:
            process = workshop.process_of(_weighed_name(bread, baked_g), bread.name) if workshop else None
            most = largest_mix(process, workshop.ovens).pieces if process and workshop else None
            plan = _plan_bread(bread, baked_g, losses, tuple(lines), bakery, most)
            plans.append(evolve(plan, name=name, most=most))
        except FormulaError as error:
            faults += error.faults
    if faults:
        raise FormulaError(*faults)
    return DayPlan(bakery, tuple(plans))


def _names(groups: Iterable[tuple[Formula, float, Losses]]) -> list[str]:
    """Name each bread of the day: by its name, with the weight where it comes in several, and a number if need be."""
    keys = list(groups)
    breads = [bread.name for bread, _, _ in keys]
    names = [
        bread.name if breads.count(bread.name) == 1 else _weighed_name(bread, baked_g) for bread, baked_g, _ in keys
    ]
    return [
        name if names.count(name) == 1 else f"{name} ({names[: place + 1].count(name)})"
        for place, name in enumerate(names)
    ]


def _weighed_name(bread: Formula, baked_g: float) -> str:
    return f"{bread.name} {write(MASS, baked_g)}"


def _plan_bread(
    bread: Formula, baked_g: float, losses: Losses, orders: tuple[Order, ...], bakery: Bakery, most: int | None
) -> BreadPlan:
    pieces = sum(order.pieces_made for order in orders)
    exact_g = losses.dough_for(write(MASS, baked_g)).scaling_weight_g
    piece_g = on_step(exact_g, bakery.divider_g)
    mixed_g = piece_g / losses.before_divider_left
    splits = [split for mixer in bakery.mixers if (split := split_dough(bread, pieces, mixed_g, mixer, bakery, most))]
    if not splits:
        got = f"pieces of {shown(piece_g)} g, with their losses {shown(mixed_g)} g of dough"
        expected = f"pieces that a mixer holds, at most {shown(max(each.capacity_g for each in bakery.mixers))} g"
        where = ", ".join(order.where for order in orders if order.where)
        place = f"{where} ({bread.name}: baked)" if where else bread.name
        raise FormulaError(Fault(place, got, expected, "a larger mixer or smaller pieces"))
    split = min(splits, key=lambda each: each.rank)
    mixes: list[Mix] = []
    first = 1
    for size, count, batch in split.batches:
        mixes.append(Mix(first, first + count - 1, size, batch, pour_for(bread, batch, split.mixer, bakery)))
        first += count
    cautions = [caution for mix in mixes for caution in (*mix.batch.cautions, *(mix.pour.cautions if mix.pour else ()))]
    if split.smallest_g < split.mixer.smallest_g:
        text = f"a mix of {shown(split.smallest_g / 1000)} kg is less than the {split.mixer.name} mixes well ({shown(split.mixer.smallest_g / 1000)} kg)"
        cautions.append(Caution("small-mix", text))
    return BreadPlan(
        bread=bread,
        orders=orders,
        mixer=split.mixer,
        pieces=pieces,
        baked_g=baked_g,
        piece_g=piece_g,
        mixes=tuple(mixes),
        divider_g=bakery.divider_g,
        slack_g=split.slack_g,
        cautions=tuple(dict.fromkeys(cautions)),
    )
