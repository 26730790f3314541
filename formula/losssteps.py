"""The losses before the divider as steps of a working: what must be mixed for pieces, and what of a dough reaches the divider."""

from __future__ import annotations

from .losses import BEFORE_DIVIDER, Losses, bread_mass_g, dough_mass_g, times, turned_steps, written_left
from .readerunits import with_grams
from .working import Step

__all__ = ["divider_steps", "mixed_step"]


def mixed_step(losses: Losses, pieces: int, piece_g: float) -> Step:
    """Show the dough to mix for pieces as they are scaled: only the losses before the divider are still to be added.

    Args:
        losses: the losses on the way.
        pieces: how many there are.
        piece_g: the weight of each on the divider's scale, g.
    """
    before, shares = written_left(losses, BEFORE_DIVIDER)
    values = {"pieces": float(pieces), "piece": piece_g, **shares}
    mass_g = dough_mass_g(pieces * piece_g, losses.before_divider_left)
    return Step(
        "dough",
        f"pieces * piece{times('/', before)}",
        values,
        mass_g,
        "g",
        note="to mix",
        units=with_grams(values, "piece"),
    )


def divider_steps(losses: Losses, dough_g: float) -> tuple[Step, ...]:
    """Show what of a dough reaches the divider: the losses before it are taken off.

    Args:
        losses: the losses on the way.
        dough_g: the dough as it was mixed, g.
    """
    before, shares = written_left(losses, BEFORE_DIVIDER)
    mass_g = bread_mass_g(dough_g, losses.before_divider_left)
    values = {"dough": dough_g, **shares}
    step = Step(
        "at_divider",
        f"dough{times('*', before)}",
        values,
        mass_g,
        "g",
        note="what reaches the divider",
        units=with_grams(values, "dough"),
    )
    return *turned_steps(losses, BEFORE_DIVIDER), step
