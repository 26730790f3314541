"""The loss of a divided piece and its spread: how the weight as sold scatters with the divider and with the oven.

The weight as sold is the scaling weight less what falls after the divider, so its spread has two parents:

    s_baked^2 = (1 - L)^2 s_divider^2 + d^2 s_loss^2,    d = Qn / (1 - L)

L is the loss after the divider and s_loss its standard deviation, both as shares of the scaling weight d.  d is taken at
the nominal weight, so that one spread serves all rules; a heavier piece scatters a little more.
"""

from __future__ import annotations

import math
from typing import Final

from attrs import frozen

from .errors import cited
from .losses import Losses, dough_mass_g
from .quantity import SHARE, Door, Measure
from .readerunits import with_units
from .working import Step

__all__ = ["PieceLoss", "baked_sd_g", "divider_sd_g", "divider_steps", "read_piece_loss", "spread_steps"]

_UNITS: Final = {"g": "nominal s_divider s", "1": "loss s_loss"}

_LOSS: Final = 'write loss="11 %", or losses=Losses(bake="10 %", cool="1 %")'


def baked_sd_g(divider_sd_g: float, scaling_weight_g: float, loss_share: float, loss_sd_share: float) -> float:
    """Return the spread of the weight as sold: sqrt((1 - L)^2 s_divider^2 + d^2 s_loss^2).

    Args:
        divider_sd_g: standard deviation of the divided weight, g.
        scaling_weight_g: d, the divided weight, g.
        loss_share: L, what falls after the divider, as a fraction of d.
        loss_sd_share: standard deviation of L, as a fraction of d.

    Accuracy: first order; it leaves out s_divider * s_loss, a few hundredths of a percent of it.

    Example:
        >>> baked_sd_g(6.0, 500.0, 0.2, 0.0128)
        8.0
    """
    variance = ((1 - loss_share) * divider_sd_g) ** 2 + (scaling_weight_g * loss_sd_share) ** 2
    spread_g: float = variance**0.5
    return spread_g


def divider_sd_g(sd_g: float, scaling_weight_g: float, loss_share: float, loss_sd_share: float) -> float:
    """Return the divider's spread that a spread as sold leaves: sqrt(s^2 - d^2 s_loss^2) / (1 - L).

    Args:
        sd_g: spread of the weight as sold, g, no smaller than d * s_loss.
        scaling_weight_g: d, the divided weight, g.
        loss_share: L, what falls after the divider, as a fraction of d.
        loss_sd_share: standard deviation of L, as a fraction of d.

    Example:
        >>> round(divider_sd_g(8.0, 500.0, 0.2, 0.0128), 9)
        6.0
    """
    left_g: float = (sd_g**2 - (scaling_weight_g * loss_sd_share) ** 2) ** 0.5
    return left_g / (1 - loss_share)


@frozen
class PieceLoss:
    """What falls after the divider, as a share of the scaling weight, with its spread; and what is left before it."""

    share: float
    sd_share: float
    before_left: float = 1.0

    def piece_g(self, baked_g: float) -> float:
        """Return the divided piece behind a weight as sold, g."""
        return dough_mass_g(baked_g, 1 - self.share)

    def baked_sd_g(self, nominal_g: float, divider_sd_g: float) -> float:
        """Return the spread of the weight as sold with a divider's, at the nominal weight's own scaling weight, g."""
        return baked_sd_g(divider_sd_g, self.piece_g(nominal_g), self.share, self.sd_share)

    def divider_sd_g(self, nominal_g: float, sd_g: float) -> float:
        """Return the divider's spread that a spread of the weight as sold leaves, g."""
        return divider_sd_g(sd_g, self.piece_g(nominal_g), self.share, self.sd_share)


def spread_steps(loss: PieceLoss, nominal_g: float, divider_sd_g: float, word: str = "") -> list[Step]:
    """Return how the spread as sold comes about, as steps of a working: the piece, about, and the spread.

    Args:
        loss: what falls after the divider.
        nominal_g: the nominal weight, g.
        divider_sd_g: spread of the divided weight, g.
        word: what tells the spreads of two dividers apart, such as ``"_old"``.
    """
    values = {
        f"s_divider{word}": divider_sd_g,
        "loss": loss.share,
        "d": loss.piece_g(nominal_g),
        "s_loss": loss.sd_share,
    }
    expression = f"((1 - loss) ** 2 * s_divider{word} ** 2 + d ** 2 * s_loss ** 2) ** 0.5"
    sd_g, note = loss.baked_sd_g(nominal_g, divider_sd_g), "spread of the weight as sold"
    spread = Step(f"s{word}", expression, values, sd_g, "g", note=note)
    return [*with_units((_piece_step(loss, nominal_g), spread), _UNITS)]


def divider_steps(loss: PieceLoss, nominal_g: float, sd_g: float) -> list[Step]:
    """Return how the divider's spread comes about from the spread as sold, as steps of a working.

    Args:
        loss: what falls after the divider.
        nominal_g: the nominal weight, g.
        sd_g: spread of the weight as sold, g.
    """
    values = {"s": sd_g, "loss": loss.share, "d": loss.piece_g(nominal_g), "s_loss": loss.sd_share}
    expression = "(s ** 2 - d ** 2 * s_loss ** 2) ** 0.5 / (1 - loss)"
    left_g, note = loss.divider_sd_g(nominal_g, sd_g), "what is left for the divider"
    left = Step("s_divider", expression, values, left_g, "g", note=note)
    return [*with_units((_piece_step(loss, nominal_g), left), _UNITS)]


def _piece_step(loss: PieceLoss, nominal_g: float) -> Step:
    values = {"nominal": nominal_g, "loss": loss.share}
    return Step("d", "nominal / (1 - loss)", values, loss.piece_g(nominal_g), "g", note="the divided piece, about")


def read_piece_loss(door: Door, loss: Measure | None, losses: Losses | None, loss_sd: Measure) -> PieceLoss:
    """Read what falls after the divider, as one share or as the losses one by one, and its spread.

    Args:
        door: where faults are noted.
        loss: a share of the scaling weight.
        losses: the losses one by one.
        loss_sd: the standard deviation of the loss, as a share of the scaling weight.
    """
    sd_share = door.read(SHARE, loss_sd, "loss_sd")
    if sd_share >= 1:
        door.refuse("loss_sd", cited(loss_sd), "less than 100 %", 'a spread of 1 % of the piece is written "1 %"')
    if loss is None and losses is None:
        door.refuse("loss", "neither loss nor losses", "one of them", _LOSS)
        return PieceLoss(math.nan, sd_share)
    if loss is not None and losses is not None:
        door.refuse("loss", "loss and losses", "one of them", _LOSS)
    if loss is None:
        if not isinstance(losses, Losses):  # pyright: ignore[reportUnnecessaryIsInstance]
            door.refuse("losses", cited(losses), "losses", 'make them with Losses(bake="10 %", cool="1 %")')
            return PieceLoss(math.nan, sd_share)
        return PieceLoss(1 - losses.after_divider_left, sd_share, losses.before_divider_left)
    share = door.read(SHARE, loss, "loss")
    if share >= 1:
        door.refuse("loss", cited(loss), "a loss below 100 % of the scaling weight")
    return PieceLoss(share, sd_share)
