"""What a dough loses on its way from the mixer to the customer.

Dough sticks to the bowl and the bench, sugar leaves as gas, water leaves in the oven and on the shelf.  Before the
divider are handling, bulk fermentation and the divider itself; after it, on the piece, are fermentation (bench rest and
proof), bake, cooling and drying until the bread is sold.  The weight on the divider's scale must allow for the second
group only, the dough to mix for both.

The trade disagrees twice, so both are named arguments.  ``combine``: each share is taken on what is left ("compound"),
or all of them on the dough mixed and added up ("add").  ``on``: a share is meant on the dough that enters that part of
the way ("dough"), or on the weight that comes out of it ("bread").
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import ClassVar, Final, Literal, get_args

from attrs import field, frozen

from .errors import Fault, UnknownNameError
from .lines import Lines
from .quantity import MASS, SHARE, Door, Measure, View, grid, read, write
from .readerunits import with_grams
from .working import Caution, Step, Working

__all__ = [
    "BEFORE_DIVIDER",
    "NO_LOSSES",
    "BreadFrom",
    "DoughFor",
    "Losses",
    "bread_mass_g",
    "dough_mass_g",
    "left_after",
    "share_on_dough",
    "times",
    "turned_steps",
    "written_left",
]

Combine = Literal["compound", "add"]
On = Literal["dough", "bread"]
At = Literal["mixer", "divider"]

BEFORE_DIVIDER: Final = ("handling", "bulk", "divider")
AFTER_DIVIDER: Final = ("ferment", "bake", "cool", "dry")
PLACES: Final = BEFORE_DIVIDER + AFTER_DIVIDER
DOUGH_LOSSES: Final = ("handling", "divider")
"""Dough that is lost as it is; everywhere else water leaves, and a little sugar as gas, which is counted as water."""
_WORDS: Final = Lines({"compound": "compounded", "add": "added up on the dough mixed"})


def dough_mass_g(bread_g: float, left: float) -> float:
    """Return the dough behind a bread: bread / left.

    Args:
        bread_g: baked weight, g.
        left: the fraction of the dough that is left, 0 < left <= 1.

    Example:
        >>> dough_mass_g(800.0, 0.8)
        1000.0
    """
    return bread_g / left


def bread_mass_g(dough_g: float, left: float) -> float:
    """Return the bread that comes from a dough: dough * left.

    Args:
        dough_g: dough weight, g.
        left: the fraction of the dough that is left, 0 < left <= 1.

    Example:
        >>> bread_mass_g(1000.0, 0.8)
        800.0
    """
    return dough_g * left


def left_after(shares: Iterable[float], combine: Combine = "compound") -> float:
    """Return the fraction that losses leave: the product of (1 - share), or 1 - their sum.

    Args:
        shares: losses as fractions of the dough that enters each part of the way, or ("add") of the dough mixed.
        combine: "compound" or "add".

    Example:
        >>> left_after([0.5, 0.25]), left_after([0.5, 0.25], "add")
        (0.375, 0.25)
    """
    return 1.0 - sum(shares) if combine == "add" else math.prod(1.0 - share for share in shares)


def share_on_dough(share_on_bread: float) -> float:
    """Turn a loss on the weight that comes out into the same loss on the weight that goes in: share / (1 + share).

    Args:
        share_on_bread: the loss as a fraction of what is left after it.

    Example:
        >>> share_on_dough(0.25)
        0.2
    """
    return share_on_bread / (1.0 + share_on_bread)


@frozen(init=False)
class Losses:
    """The losses of one bread, each as a share with its unit; what is left out is no loss.

    On the dough and compounded, what is left is the product of (1 - share) over all losses; added, it is 1 - their
    sum.  A share on the bread is first turned into one on the dough, share / (1 + share), loss by loss, in both cases.

    Args:
        handling: dough left in the bowl, on the bench, on hands and scrapers.
        bulk: bulk fermentation.
        divider: dough left in or trimmed at the divider.
        ferment: bench rest and proof of the divided piece.
        bake: the oven.
        cool: cooling until the bread is packed or weighed.
        dry: drying from there until it is sold.
        combine: "compound" or "add".
        on: "dough" or "bread": what the shares are a share of.

    Raises:
        QuantityError: a share that cannot be read, a loss of the whole dough or more, added losses that leave nothing,
            an unknown ``combine`` or ``on``; all of them at once.

    Published bake losses run from 10 % of the dough for pan bread to 40 % for thin rings: weigh your own bread.

    Example:
        >>> losses = Losses(handling="2 %", ferment="1 %", bake="11 %", cool="1 %")
        >>> made = losses.dough_for("800 g")
        >>> round(made.mass_g, 1), round(made.scaling_weight_g, 1)
        (935.8, 917.1)
    """

    handling_share: float = field(default=0.0, alias="handling")
    bulk_share: float = field(default=0.0, alias="bulk")
    divider_share: float = field(default=0.0, alias="divider")
    ferment_share: float = field(default=0.0, alias="ferment")
    bake_share: float = field(default=0.0, alias="bake")
    cool_share: float = field(default=0.0, alias="cool")
    dry_share: float = field(default=0.0, alias="dry")
    combine: Combine = "compound"
    on: On = "dough"

    # Our own constructor, because attrs' would stop at the first share that cannot be read.
    def __init__(
        self,
        *,
        handling: Measure = "0 %",
        bulk: Measure = "0 %",
        divider: Measure = "0 %",
        ferment: Measure = "0 %",
        bake: Measure = "0 %",
        cool: Measure = "0 %",
        dry: Measure = "0 %",
        combine: Combine = "compound",
        on: On = "dough",
    ) -> None:
        given = (handling, bulk, divider, ferment, bake, cool, dry)
        with Door() as door:
            shares = {name: door.read(SHARE, value, name) for name, value in zip(PLACES, given, strict=True)}
            if combine not in get_args(Combine):
                door.refuse("combine", repr(combine), 'one of "compound", "add"')
            if on not in get_args(On):
                door.refuse("on", repr(on), 'one of "dough", "bread"')
            taken = {name: share_on_dough(share) if on == "bread" else share for name, share in shares.items()}
            for name, share in taken.items():
                if share >= 1.0:
                    mend = 'a loss counted on the weight of bread is written with on="bread"'
                    door.refuse(name, write(SHARE, shares[name]), "a loss below 100 % of the dough", mend)
            total = grid(SHARE, math.fsum(taken.values())) if combine == "add" else 0.0
            if total >= 1.0 and not door.faults:
                added = " + ".join(f"{name} {write(SHARE, share)}" for name, share in taken.items() if share)
                mend = 'combine="compound" takes each share on what is left'
                door.refuse("losses", f"{added} = {write(SHARE, total)}", "less than 100 % together", mend)
        for name, share in shares.items():
            object.__setattr__(self, f"{name}_share", share)
        object.__setattr__(self, "combine", combine)
        object.__setattr__(self, "on", on)

    handling: ClassVar[View] = View(SHARE, "handling_share", "The handling loss, in percent.")
    bulk: ClassVar[View] = View(SHARE, "bulk_share", "The loss in bulk fermentation, in percent.")
    divider: ClassVar[View] = View(SHARE, "divider_share", "The loss at the divider, in percent.")
    ferment: ClassVar[View] = View(SHARE, "ferment_share", "The fermentation loss of the divided piece, in percent.")
    bake: ClassVar[View] = View(SHARE, "bake_share", "The bake loss, in percent.")
    cool: ClassVar[View] = View(SHARE, "cool_share", "The loss in cooling, in percent.")
    dry: ClassVar[View] = View(SHARE, "dry_share", "The loss in drying until sale, in percent.")

    @property
    def is_none(self) -> bool:
        """Whether nothing is lost at all."""
        return not _given(self, PLACES)

    @property
    def left(self) -> float:
        """The fraction of the dough mixed that is left as bread, 0 < left <= 1."""
        return _left(self, PLACES)

    @property
    def before_divider_left(self) -> float:
        """The fraction of the dough mixed that reaches the divider's scale."""
        return _left(self, BEFORE_DIVIDER)

    @property
    def after_divider_left(self) -> float:
        """The fraction of the weight on the divider's scale that is left as bread.

        Together with ``before_divider_left`` it makes ``left``, also where the shares are added.
        """
        return self.left / self.before_divider_left if self.combine == "add" else _left(self, AFTER_DIVIDER)

    @property
    def moist_left(self) -> float:
        """What is left of the weight of the dough that ends as bread, once its water has left: 1 where none does.

        Dough stuck to bowls and dividers is lost with all that is in it and changes nothing in what a loaf holds.
        """
        others = tuple(name for name in PLACES if name not in DOUGH_LOSSES)
        return self.left / _left(self, DOUGH_LOSSES) if self.combine == "add" else _left(self, others)

    def dough_for(self, bread: Measure) -> DoughFor:
        """Find the dough to mix, and the weight to divide at, for a baked weight: dough = bread / left.

        Args:
            bread: the promised weight of the bread (or of all the breads), a mass.

        Raises:
            QuantityError: when ``bread`` is no mass.

        Example:
            >>> Losses(bake="20 %").dough_for("800 g").mass_g
            1000.0
        """
        bread_g = read(MASS, bread, "bread")
        return DoughFor(
            bread_g=bread_g,
            losses=self,
            mass_g=dough_mass_g(bread_g, self.left),
            scaling_weight_g=dough_mass_g(bread_g, self.after_divider_left),
        )

    def bread_from(self, dough: Measure, at: At = "mixer") -> BreadFrom:
        """Find the baked weight that comes from a dough: bread = dough * left.

        Args:
            dough: a mass of dough.
            at: where it was weighed: "mixer" (all losses are still to come) or "divider" (the first group is behind it).

        Raises:
            QuantityError: when ``dough`` is no mass.
            UnknownNameError: when ``at`` is neither.

        Example:
            >>> Losses(handling="10 %", bake="20 %").bread_from("1 kg", at="divider").mass_g
            800.0
        """
        dough_g = read(MASS, dough, "dough")
        if at not in get_args(At):
            raise UnknownNameError(Fault("at", repr(at), 'one of "mixer", "divider"'))
        mass_g = bread_mass_g(dough_g, self.left if at == "mixer" else self.after_divider_left)
        return BreadFrom(dough_g=dough_g, at=at, losses=self, mass_g=mass_g)


NO_LOSSES: Final = Losses()


@frozen
class DoughFor:
    """The dough behind a baked weight: ``mass`` to mix, ``scaling_weight`` on the divider's scale."""

    bread_g: float
    losses: Losses
    mass_g: float
    scaling_weight_g: float
    cautions: tuple[Caution, ...] = ()

    bread: ClassVar[View] = View(MASS, "bread_g", "The baked weight asked for.")
    mass: ClassVar[View] = View(MASS, "mass_g", "The dough to mix, with all losses allowed for.")
    scaling_weight: ClassVar[View] = View(
        MASS,
        "scaling_weight_g",
        "The weight the divider's scale must show: only the losses after the divider are allowed for.",
    )

    def working(self) -> Working:
        """Show the steps; the last line is the dough to mix."""
        before, before_values = written_left(self.losses, BEFORE_DIVIDER)
        bread = {"bread": self.bread_g}
        if self.losses.combine == "compound":
            after, after_values = written_left(self.losses, AFTER_DIVIDER)
            scaled = (f"bread{times('/', after)}", bread | after_values)
            mixed = (f"scaling_weight{times('/', before)}", {"scaling_weight": self.scaling_weight_g, **before_values})
        else:
            whole, values = written_left(self.losses, PLACES)
            scaled = (f"bread{times('*', before)}{times('/', whole)}", bread | values)
            mixed = (f"bread{times('/', whole)}", bread | values)
        to_mix = f"to mix; losses {_WORDS[self.losses.combine]}"
        steps = (
            *turned_steps(self.losses),
            Step(
                "scaling_weight",
                *scaled,
                self.scaling_weight_g,
                "g",
                note="on the divider's scale",
                units=with_grams(scaled[1], "bread"),
            ),
            Step("dough", *mixed, self.mass_g, "g", note=to_mix, units=with_grams(mixed[1], "bread", "scaling_weight")),
        )
        return Working("Dough for a baked weight", steps, self.cautions)


@frozen
class BreadFrom:
    """The baked weight, ``mass``, that comes from a dough weighed at the mixer or at the divider."""

    dough_g: float
    at: At
    losses: Losses
    mass_g: float
    cautions: tuple[Caution, ...] = ()

    dough: ClassVar[View] = View(MASS, "dough_g", "The dough asked about.")
    mass: ClassVar[View] = View(MASS, "mass_g", "The baked weight.")

    def working(self) -> Working:
        """Show the steps; the last line is the baked weight."""
        whole, values = written_left(self.losses, PLACES)
        over = ""
        if self.at == "divider" and self.losses.combine == "add":
            over = written_left(self.losses, BEFORE_DIVIDER)[0]
        elif self.at == "divider":
            whole, values = written_left(self.losses, AFTER_DIVIDER)
        expression = f"dough{times('*', whole)}{times('/', over)}"
        note = f"weighed at the {self.at}; losses {_WORDS[self.losses.combine]}"
        step = Step(
            "bread",
            expression,
            {"dough": self.dough_g, **values},
            self.mass_g,
            "g",
            note=note,
            units=with_grams(values, "dough") | {"dough": "g"},
        )
        return Working("Bread from a dough", (*turned_steps(self.losses), step), self.cautions)


def _given(losses: Losses, names: Iterable[str]) -> dict[str, float]:
    """Return the shares as they were given, those that are not zero."""
    return {name: share for name in names if (share := getattr(losses, f"{name}_share"))}


def _on_dough(losses: Losses, names: Iterable[str]) -> dict[str, float]:
    """Return the same as shares of the dough."""
    given = _given(losses, names)
    return given if losses.on == "dough" else {name: share_on_dough(share) for name, share in given.items()}


def _left(losses: Losses, names: Iterable[str]) -> float:
    return left_after(_on_dough(losses, names).values(), losses.combine)


def written_left(losses: Losses, names: Iterable[str]) -> tuple[str, dict[str, float]]:
    """Write what some losses leave as an expression with its numbers; nothing where nothing is lost."""
    shares = _on_dough(losses, names)
    if losses.combine == "add" and shares:
        return f"({' - '.join(('1', *shares))})", shares
    factors = " * ".join(f"(1 - {name})" for name in shares)
    return f"({factors})" if len(shares) > 1 else factors, shares


def times(sign: str, remaining: str) -> str:
    """Write what is left as a factor or, with "/", a divisor; nothing where nothing is lost."""
    return f" {sign} {remaining}" if remaining else ""


def turned_steps(losses: Losses, places: Iterable[str] = PLACES) -> Iterable[Step]:
    """Show how shares on the bread become shares on the dough."""
    if losses.on == "bread":
        for name, share in _given(losses, places).items():
            on_bread = f"{name}_on_bread"
            note = "from a share of the bread to one of the dough"
            yield Step(
                name,
                f"{on_bread} / (1 + {on_bread})",
                {on_bread: share},
                share_on_dough(share),
                "1",
                note=note,
                units={on_bread: "1"},
            )
