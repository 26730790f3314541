"""What stands at night: a stage that was built in the evening, and the largest order of a bread that it carries."""

from __future__ import annotations

import math
from typing import ClassVar

from attrs import frozen

from .counting import even
from .quantity import MASS, View
from .readerunits import with_units
from .working import Step, Working

__all__ = ["CarriedBread", "StandingStage"]


@frozen
class StandingStage:
    """A stage that stands at night: what of it can be used, and what the changed orders take.

    ``standing_g`` is all of the ripe stage; of it ``loss_share`` is lost, ``seed_g`` kept for tomorrow and ``inner_g`` has
    gone into other stages.  ``limit_g`` is the most of it that the bakery holds as old dough.
    """

    name: str
    standing_g: float
    loss_share: float
    seed_g: float
    inner_g: float
    needed_g: float
    limit_g: float = 0.0

    @property
    def usable_g(self) -> float:
        """What the mixes can have of it."""
        return max(0.0, self.standing_g * (1 - self.loss_share) - self.seed_g - self.inner_g)

    @property
    def short_g(self) -> float:
        """What the changed orders lack of it."""
        return max(0.0, self.needed_g - self.usable_g)

    @property
    def surplus_g(self) -> float:
        """What they leave of it."""
        return max(0.0, self.usable_g - self.needed_g)

    @property
    def held_g(self) -> float:
        """What of the surplus may be held as old dough."""
        return min(self.surplus_g, self.limit_g)

    @property
    def left_over_g(self) -> float:
        """What then is left over."""
        return self.surplus_g - self.held_g

    standing: ClassVar[View] = View(MASS, "standing_g", "All of the ripe stage.")
    usable: ClassVar[View] = View(MASS, "usable_g", "What the mixes can have of it.")
    needed: ClassVar[View] = View(MASS, "needed_g", "What the changed orders take.")
    short: ClassVar[View] = View(MASS, "short_g", "What they lack of it.")
    surplus: ClassVar[View] = View(MASS, "surplus_g", "What they leave of it.")
    held: ClassVar[View] = View(MASS, "held_g", "What of the surplus may be held as old dough.")
    left_over: ClassVar[View] = View(MASS, "left_over_g", "What then is left over.")

    def working(self) -> Working:
        """Show the steps; the last line is what is short, or what is left over."""
        values = {
            "standing": self.standing_g, "loss": self.loss_share, "seed": self.seed_g, "inner": self.inner_g,
        }  # fmt: skip
        note = "seed: kept for tomorrow; inner: has gone into other stages"
        steps = [Step("usable", "max(0, standing * (1 - loss) - seed - inner)", values, self.usable_g, "g", note=note)]
        both = {"usable": self.usable_g, "needed": self.needed_g}
        if self.short_g > 0:
            steps.append(Step("short", "needed - usable", both, self.short_g, "g", note="for the changed orders"))
        else:
            steps.append(Step("surplus", "usable - needed", both, self.surplus_g, "g"))
            values = {"surplus": self.surplus_g, "limit": self.limit_g}
            steps.append(Step("held", "min(surplus, limit)", values, self.held_g, "g", note="as old dough"))
            values = {"surplus": self.surplus_g, "held": self.held_g}
            steps.append(Step("left_over", "surplus - held", values, self.left_over_g, "g"))
        told = {"g": "standing seed inner needed limit", "1": "loss"}
        return Working(f"{self.name}: what stands", with_units(steps, told))


@frozen
class CarriedBread:
    """The largest order of one bread that the stages carry, the other breads being made as they are ordered.

    ``pieces`` is what the changed orders make of it, ``most`` what could be made; ``parts`` holds for each of its stages
    (name, usable, what the other breads take, what one piece takes), in g.
    """

    bread: str
    pieces: int
    most: int
    reject_share: float
    spares: int
    parts: tuple[tuple[str, float, float, float], ...]

    @property
    def most_ordered(self) -> int:
        """The order that so many pieces fill, with the same spares and rejects."""
        return max(0, math.floor(even(self.most * (1 - self.reject_share))) - self.spares)

    @property
    def is_carried(self) -> bool:
        """Whether the changed order of this bread can be made as it is."""
        return self.most >= self.pieces

    def working(self) -> Working:
        """Show the steps; the last line is the most pieces."""
        steps: list[Step] = []
        fits: dict[str, float] = {}
        for number, (name, usable_g, others_g, piece_g) in enumerate(self.parts, 1):
            values = {f"usable_{number}": usable_g, f"others_{number}": others_g, f"each_{number}": piece_g}
            fits[f"fit_{number}"] = even(max(0.0, usable_g - others_g) / piece_g)
            expression = f"max(0, usable_{number} - others_{number}) / each_{number}"
            note = f"pieces that the {name} is enough for; others: what other breads take, each: what a piece takes"
            steps.append(Step(f"fit_{number}", expression, values, fits[f"fit_{number}"], "", note=note))
        least = next(iter(fits)) if len(fits) == 1 else f"min({', '.join(fits)})"
        whole = math.floor(min(fits.values()))
        steps.append(Step("whole", f"floor({least})", fits, float(whole), "", note="in whole pieces"))
        values = {"whole": float(whole), "rounding": float(whole - self.most)}
        note = "rounding: pieces more than by exact weights that the weigh sheets, rounded to the scale, take"
        steps.append(Step("most", "whole - rounding", values, float(self.most), "", note=note))
        told = {"g": "usable others each", "1": "rounding"}
        return Working(f"{self.bread}: the largest order", with_units(steps, told))
