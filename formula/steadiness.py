"""Steadiness: how wide a spread the law leaves room for at a given mean, and how much of it the oven leaves the divider.

The same limits as in ``netweight``, asked the other way round: s = min((mean - Qn + T) / z1, (mean - Qn + 2 T) / z2).
"""

from __future__ import annotations

from typing import ClassVar

from attrs import frozen

from .allowances import z_leaving
from .errors import Fault, QuantityError
from .losses import Losses
from .netweight import NONE_SHARE, piece_limits, read_none_share, sd_for_limit_g
from .packrules import WeightRule, read_rule, weight_rule
from .pieceloss import PieceLoss, divider_steps, read_piece_loss
from .quantity import MASS, SHARE, Door, Measure, OptionalView, View, write
from .readerunits import with_units
from .working import Caution, Step, Working, shown

__all__ = ["LargestSd", "largest_sd", "room_for_spread", "room_steps"]


def room_for_spread(law: WeightRule, nominal_g: float, mean_g: float, none_share: float) -> dict[str, float]:
    """Return the largest standard deviation that each limit of a rule leaves, by the limit's name, g.

    Args:
        law: the rule.
        nominal_g: the nominal weight, g.
        mean_g: the process mean, g.
        none_share: the share that stands for "none".

    Example:
        >>> rooms = room_for_spread(weight_rule("eu"), 400.0, 400.0, 0.0001)
        >>> {name: round(room, 2) for name, room in rooms.items()}
        {'T': 6.12, '2T': 6.45}
    """
    limits = piece_limits(law, nominal_g, none_share)
    return {name: sd_for_limit_g(mean_g, limit_g, z_leaving(share)) for name, (limit_g, share) in limits.items()}


def room_steps(law: WeightRule, nominal_g: float, mean_g: float, none_share: float) -> list[Step]:
    """Return how the largest standard deviation comes about, as steps of a working.

    Args:
        law: the rule.
        nominal_g: the nominal weight, g.
        mean_g: the process mean, g.
        none_share: the share that stands for "none".
    """
    rooms = {f"s_{name}": room for name, room in room_for_spread(law, nominal_g, mean_g, none_share).items()}
    steps: list[Step] = []
    for name, (_, share) in piece_limits(law, nominal_g, none_share).items():
        z = f"z_{name}"
        values = {"mean": mean_g, "nominal": nominal_g, "T": law.tolerance_g(nominal_g), z: z_leaving(share)}
        expression = f"(mean - nominal + {'2 * T' if name == '2T' else 'T'}) / {z}"
        note = f"{write(SHARE, share)} of the pieces below"
        steps.append(Step(f"s_{name}", expression, values, rooms[f"s_{name}"], "g", note=note))
    least = f"min({', '.join(rooms)})" if len(rooms) > 1 else next(iter(rooms))
    spread = Step("s", least, rooms, min(rooms.values()), "g", note="of the weight as sold")
    return [*with_units((*steps, spread), {"g": "mean nominal T", "1": "z"})]


@frozen
class LargestSd:
    """The largest spread of the weight as sold, ``sd``, at which a mean still holds the rule; ``set_by`` names the limit.

    ``divider_sd`` is what the divider may have of it, where a loss was given; otherwise it is None.
    """

    nominal_g: float
    mean_g: float
    rule: str
    none_share: float
    loss: PieceLoss | None
    set_by: str
    sd_g: float
    divider_sd_g: float | None
    cautions: tuple[Caution, ...] = ()

    nominal: ClassVar[View] = View(MASS, "nominal_g", "The nominal weight.")
    mean: ClassVar[View] = View(MASS, "mean_g", "The process mean, without allowances.")
    sd: ClassVar[View] = View(MASS, "sd_g", "The largest spread of the weight as sold.")
    divider_sd: ClassVar[OptionalView] = OptionalView(MASS, "divider_sd_g", "The largest spread of the divided weight.")

    def working(self) -> Working:
        """Show the steps; the last line is the divider's spread where a loss was given, else that of the weight as sold."""
        law = weight_rule(self.rule)
        room = room_steps(law, self.nominal_g, self.mean_g, self.none_share)
        steps = [law.tolerance_step(self.nominal_g), *room]
        if self.loss is not None and self.divider_sd_g is not None:
            steps += divider_steps(self.loss, self.nominal_g, self.sd_g)
        return Working(f"Largest spread, {law.place}", tuple(steps), self.cautions)


def largest_sd(
    nominal: Measure,
    *,
    mean: Measure | None = None,
    rule: str = "eu",
    none_share: Measure = NONE_SHARE,
    loss: Measure | None = None,
    losses: Losses | None = None,
    loss_sd: Measure = "0 %",
) -> LargestSd:
    """Find the largest spread at which a mean still holds the rule: min((mean - Qn + T) / z1, (mean - Qn + 2 T) / z2).

    Args:
        nominal: the promised weight Qn, a mass.
        mean: the process mean, a mass of Qn or more, without allowances; Qn itself if left out: then nothing is given
            away.
        rule: the name of a rule; see ``weight_rules``.
        none_share: the share that stands for "none" short beyond the outer limit, below 2 %.
        loss: what falls after the divider, as a share of the scaling weight, to find what is left for the divider.
        losses: instead, the losses one by one.
        loss_sd: the standard deviation of that loss, as a share of the scaling weight.

    Returns:
        ``sd``, of the weight as sold within a batch, and with a loss ``divider_sd``.

    Raises:
        QuantityError: for every bad argument at once; a mean below the nominal weight; a loss whose own spread is
            already wider than what the rule leaves.

    Range and accuracy: the inverse of ``target_mass`` and ``net_weight``, exact for the bell curve.

    Example:
        >>> found = largest_sd("400 g", loss="11 %", loss_sd="1 %")
        >>> round(found.sd_g, 2), found.set_by, round(found.divider_sd_g, 2)
        (6.12, 'T', 4.67)
    """
    with Door() as door:
        nominal_g = door.read(MASS, nominal, "nominal")
        law = read_rule(door, rule, nominal_g)
        mean_g = nominal_g if mean is None else door.read(MASS, mean, "mean")
        if mean_g < nominal_g:
            expected = f"the nominal weight, {write(MASS, nominal_g)}, or more"
            door.refuse("mean", write(MASS, mean_g), expected, "every rule wants the mean to reach it")
        none = read_none_share(door, none_share)
        if loss is None and losses is None:
            fall = None
            if read_piece_loss(door, "0 %", None, loss_sd).sd_share > 0:
                door.refuse("loss", "a spread of no loss", "the loss beside its spread", 'write loss="11 %"')
        else:
            fall = read_piece_loss(door, loss, losses, loss_sd)
    rooms = room_for_spread(law, nominal_g, mean_g, none)
    set_by = min(rooms, key=lambda name: rooms[name])
    left_g = None
    if fall is not None:
        alone_g = fall.baked_sd_g(nominal_g, 0.0)
        if alone_g >= rooms[set_by]:
            got = f"a spread of {shown(alone_g, 3)} g from the loss alone"
            expected = f"less than the {shown(rooms[set_by], 3)} g that the rule leaves at this mean"
            raise QuantityError(Fault("loss_sd", got, expected, "steady the oven first, or raise the mean"))
        left_g = fall.divider_sd_g(nominal_g, rooms[set_by])
    return LargestSd(
        nominal_g=nominal_g,
        mean_g=mean_g,
        rule=law.name,
        none_share=none,
        loss=fall,
        set_by=set_by,
        sd_g=rooms[set_by],
        divider_sd_g=left_g,
        cautions=law.cautions(nominal_g),
    )
