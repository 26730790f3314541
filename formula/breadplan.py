"""The plan of one bread and of one dough: pieces, scaling weight, mixes, and how they come about.

A dough is mostly that of one bread.  Breads that share one are mixed together and divided apart: they have the same mixes,
and each has its portion of every mix.
"""

from __future__ import annotations

from typing import ClassVar, Final

from attrs import frozen

from .bakery import Mixer
from .batch import Batch
from .counting import even
from .formula import Formula
from .lines import Lines
from .losses import Losses
from .mixes import Portion
from .orders import Order, order_steps
from .pour import Pour
from .quantity import MASS, View, write
from .readerunits import with_units
from .working import Caution, Step, Working

__all__ = ["BreadPlan", "Dough", "Mix", "weighed_name"]

_UNITS: Final = {"g": "capacity slack piece p", "1": "kept n pieces kept_up begun n_begun"}


def weighed_name(bread: Formula, baked_g: float) -> str:
    """Return a bread's name with the weight at which it is sold."""
    return f"{bread.name} {write(MASS, baked_g)}"


@frozen
class Mix:
    """Some equal mixes of one dough: the first and last number, what each holds of each bread, and what to weigh for it."""

    first: int
    last: int
    portions: tuple[Portion, ...]
    batch: Batch
    pour: Pour | None

    @property
    def pieces(self) -> int:
        """The pieces of all breads in one mix."""
        return sum(portion.pieces for portion in self.portions)

    @property
    def needed_g(self) -> float:
        """The dough that the pieces in one mix need; the batch is this or more, by no more than the scale's step."""
        return sum(portion.needed_g for portion in self.portions)

    @property
    def count(self) -> int:
        """How many mixes are alike."""
        return self.last - self.first + 1


@frozen
class BreadPlan:
    """One bread of the day: its pieces, its dough and its mixes.

    ``divider_g`` is the step that ``piece_g`` is rounded up to; ``slack_g`` is left free in the mixer where a full mix,
    rounded to the scale, would be heavier than it holds.  ``name`` is the bread's, with the weight where the day has it in
    several; ``most`` is the number of pieces in a mix that the oven keeps up with, None if that sets no limit.
    ``mixes`` are those that hold some of it.  Breads with the same ``dough_number`` are mixed together; ``is_shared`` says
    whether there are others.  Where an order was changed during the day, ``begun_mixes`` with ``begun_pieces`` had begun
    before.
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
    dough_number: int = 0
    is_shared: bool = False
    begun_pieces: int = 0
    begun_mixes: int = 0

    @property
    def losses(self) -> Losses:
        """The losses on the way, as the orders have them."""
        return self.orders[0].losses

    @property
    def weighed_name(self) -> str:
        """The bread's name with its weight: what a process is called that holds for this weight alone."""
        return weighed_name(self.bread, self.baked_g)

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

    def portion(self, mix: Mix) -> Portion:
        """Return what one of its mixes holds of this bread."""
        return next(portion for portion in mix.portions if portion.bread == self.name)

    @property
    def dough_g(self) -> float:
        """Its dough in all mixes: of a shared mix the part that its pieces need of what all of them need."""
        return sum(mix.count * mix.batch.dough_g * (self.portion(mix).needed_g / mix.needed_g) for mix in self.mixes)

    dough: ClassVar[View] = View(MASS, "dough_g", "Its dough in all mixes, as a quantity.")
    piece: ClassVar[View] = View(MASS, "piece_g", "The scaling weight, as a quantity.")
    baked: ClassVar[View] = View(MASS, "baked_g", "The weight of a piece when sold, as a quantity.")

    @property
    def mix_count(self) -> int:
        """The number of mixes that hold some of it."""
        return sum(mix.count for mix in self.mixes)

    def toppings_g(self) -> Lines[float]:
        """Grams of each topping to issue for all the pieces."""
        return Lines((name, grams * self.pieces) for name, grams in self.bread.toppings_g.items())

    def working(self) -> Working:
        """Return how pieces, scaling weight, dough and mixes come about."""
        steps = order_steps(self.orders, self.pieces, self.piece_g, self.divider_g)
        left = self.losses.before_divider_left
        if self.is_shared:
            counts = {f"n_{number}": float(mix.count) for number, mix in enumerate(self.mixes, 1)}
            note = "mixes that hold some of it, with other breads of this dough"
            steps.append(Step("mixes", " + ".join(counts), counts, float(self.mix_count), "", note=note))
            return Working(f"{self.name}: {_mixes(self.mix_count)}", with_units(steps, _UNITS), self.cautions)
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
        return Working(f"{self.bread.name}: {self.mix_count} mixes", with_units(steps, _UNITS), self.cautions)


def _mixes(count: int) -> str:
    return "1 mix" if count == 1 else f"{count} mixes"


@frozen
class Dough:
    """One dough of the day: the ``breads`` that are made of it, mostly one, and their mixes."""

    breads: tuple[BreadPlan, ...]

    @property
    def name(self) -> str:
        """The bread's name; of a shared dough all of them."""
        return " + ".join(plan.name for plan in self.breads)

    @property
    def is_shared(self) -> bool:
        """Whether several breads are made of it."""
        return len(self.breads) > 1

    @property
    def mixer(self) -> Mixer:
        """Where it is mixed."""
        return self.breads[0].mixer

    @property
    def mixes(self) -> tuple[Mix, ...]:
        """All its mixes, in their order."""
        every = {mix.first: mix for plan in self.breads for mix in plan.mixes}
        return tuple(every[first] for first in sorted(every))

    @property
    def mix_count(self) -> int:
        """The number of mixes."""
        return sum(mix.count for mix in self.mixes)

    @property
    def dough_g(self) -> float:
        """The dough of all mixes, as weighed."""
        return sum(mix.count * mix.batch.dough_g for mix in self.mixes)

    dough: ClassVar[View] = View(MASS, "dough_g", "The dough of all mixes, as weighed.")

    @property
    def title(self) -> str:
        """What it is called where weights do not matter: the bread, or all that share it."""
        return self.name if self.is_shared else self.breads[0].bread.name

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What to know of its mixes."""
        return self.breads[0].cautions

    def working(self) -> Working:
        """Return how its mixes come about; that of a dough of one bread is the bread's."""
        if not self.is_shared:
            return self.breads[0].working()
        steps: list[Step] = []
        needs: dict[str, float] = {}
        for number, plan in enumerate(self.breads, 1):
            left = plan.losses.before_divider_left
            values = {f"pieces_{number}": float(plan.pieces), f"piece_{number}": plan.piece_g, f"kept_{number}": left}
            needs[f"dough_{number}"] = plan.pieces * plan.piece_g / left
            expression = f"pieces_{number} * piece_{number} / kept_{number}"
            steps.append(Step(f"dough_{number}", expression, values, needs[f"dough_{number}"], "g", note=plan.name))
        together = sum(needs.values())
        steps.append(Step("together", " + ".join(needs), needs, together, "g", note="all breads of this dough"))
        heaviest = max(self.mixes, key=lambda mix: mix.needed_g)
        parts = {f"p_{number}": portion.needed_g for number, portion in enumerate(heaviest.portions, 1)}
        sizes = ", ".join(f"{portion.pieces} of {portion.bread}" for portion in heaviest.portions)
        steps.append(Step("heaviest", " + ".join(parts), parts, heaviest.needed_g, "g", note=f"a mix with {sizes}"))
        plan = self.breads[0]
        values = {"capacity": self.mixer.capacity_g, "slack": plan.slack_g, "heaviest": heaviest.needed_g}
        spare = self.mixer.capacity_g - plan.slack_g - heaviest.needed_g
        note = f"what the {self.mixer.name} could hold beside it; slack: for rounding to the scale"
        steps.append(Step("spare", "capacity - slack - heaviest", values, spare, "g", note=note))
        counts = {f"n_{number}": float(mix.count) for number, mix in enumerate(self.mixes, 1)}
        note = "the fewest in which no mix is too heavy"
        note += " or more than the oven keeps up with" if any(plan.most for plan in self.breads) else ""
        steps.append(Step("mixes", " + ".join(counts), counts, float(self.mix_count), "", note=note))
        return Working(f"{self.name}: {_mixes(self.mix_count)}", with_units(steps, _UNITS), self.cautions)
