"""What a bread takes beside its dough: a place in the oven, hours, bags, and the pieces that are not sold."""

from __future__ import annotations

import copy
import math
from collections.abc import Iterable
from typing import Any, ClassVar, Final, cast

from attrs import fields, frozen

from .errors import FormulaError, QuantityError, cited
from .lines import Lines
from .money import Money, read_money
from .quantity import ENERGY, MASS, SHARE, TIME, Door, Measure, OptionalView, View, write
from .scalingweight import WeightUnderRule

__all__ = ["Expenses"]


_FIELDS: Final = Lines(
    {
        "load": ("load_kj", "load_money"),
        "load_pieces": ("load_pieces",),
        "labour": ("labour_h",),
        "packaging": ("packaging",),
        "unsold": ("unsold_share",),
        "reject": ("reject_share",),
        "giveaway": ("giveaway_g", "scaled_g"),
    }
)


@frozen(init=False)
class Expenses:
    """What a bread takes beside its dough and toppings, and what of it is not sold.

    Args:
        load: the energy of one oven load, as an energy ("18 kWh") or as money ("5.40 EUR").
        load_pieces: pieces in a full load.  A half-empty oven burns as much: whole loads are counted.
        labour: the time of one person for one mix, from weighing in to packing: two people for 20 min are "40 min".
        packaging: names of the price list's packaging; each good piece takes one of each.
        unsold: the share of the good pieces that comes back or is given away in the evening.
        reject: the share of the pieces made that is sorted out before packing; the bread's own if left out.
        giveaway: what a piece weighs on average beyond what it is sold as: a mass, or a rule's answer from
            ``net_weight``.  It is in the dough already, and is told as a part of the cost, never added to it.

    Raises:
        FormulaError: every bad argument at once.

    Example:
        >>> Expenses(load="18 kWh", load_pieces=120, labour="40 min", unsold="4 %").unsold_share
        0.04
    """

    load_kj: float | None
    load_money: Money | None
    load_pieces: int | None
    labour_h: float
    packaging: tuple[str, ...]
    unsold_share: float
    reject_share: float | None
    giveaway_g: float
    scaled_g: float | None

    def __init__(
        self,
        *,
        load: Measure | Money | None = None,
        load_pieces: int | None = None,
        labour: Measure = "0 h",
        packaging: Iterable[str] = (),
        unsold: Measure = "0 %",
        reject: Measure | None = None,
        giveaway: Measure | WeightUnderRule = "0 g",
    ) -> None:
        """Read every argument and tell of all the bad ones at once."""
        ruled = giveaway if isinstance(giveaway, WeightUnderRule) else None
        with Door(FormulaError) as door:
            load_kj, load_money = _read_load(door, load)
            facts: dict[str, object] = {
                "load_kj": load_kj,
                "load_money": load_money,
                "load_pieces": load_pieces,
                "labour_h": door.read(TIME, labour, "labour"),
                "packaging": _words(door, packaging, "packaging"),
                "unsold_share": _below_one(door, unsold, "unsold"),
                "reject_share": None if reject is None else _below_one(door, reject, "reject"),
                # The scaling weight goes with it: a batch that is divided at another one holds another giveaway.
                "giveaway_g": ruled.giveaway_g if ruled else door.read(MASS, cast("Measure", giveaway), "giveaway"),
                "scaled_g": ruled.scaling_weight_g if ruled else None,
            }
            if load_pieces is not None and (
                isinstance(load_pieces, bool) or not isinstance(load_pieces, int) or load_pieces < 1  # pyright: ignore[reportUnnecessaryIsInstance]
            ):
                door.refuse("load_pieces", cited(load_pieces), "a whole number of 1 or more", "count a full oven")
        for name, value in facts.items():
            object.__setattr__(self, name, value)

    labour: ClassVar[View] = View(TIME, "labour_h", "The time of one person for one mix.")
    load: ClassVar[OptionalView] = OptionalView(
        ENERGY, "load_kj", "The energy of one oven load; None where it is money or nothing."
    )
    reject: ClassVar[OptionalView] = OptionalView(
        SHARE, "reject_share", "The share of the pieces made that is sorted out; None for the bread's own."
    )
    unsold: ClassVar[View] = View(SHARE, "unsold_share", "The share of the good pieces that is not sold.")
    giveaway: ClassVar[View] = View(MASS, "giveaway_g", "What a piece weighs beyond what it is sold as.")

    def changed(self, **given: Any) -> Expenses:  # noqa: ANN401 - the constructor's arguments, which it checks
        """Return the same with some of the constructor's arguments given anew.

        Args:
            given: the arguments, as the constructor takes them.

        Example:
            >>> Expenses(labour="40 min", unsold="4 %").changed(unsold="2 %").unsold_share
            0.02
        """
        new, told = copy.copy(self), Expenses(**given)
        for argument in given:
            for each in fields(Expenses):
                if each.name in _FIELDS[argument]:
                    object.__setattr__(new, each.name, getattr(told, each.name))
        return new


def _read_load(door: Door, load: Measure | Money | None) -> tuple[float | None, Money | None]:
    """Read the energy of a load: (kJ, None), (None, money) or (None, None)."""
    if load is None:
        return None, None
    try:
        return None, read_money(cast("str", load), "load")
    except QuantityError:
        pass
    energy = Door()
    found = energy.read_above_zero(ENERGY, cast("Measure", load), "load")
    for fault in energy.faults:
        door.refuse("load", fault.got, "an energy or an amount of money", 'write for example "18 kWh" or "5.40 EUR"')
    return found, None


def _below_one(door: Door, value: Measure, where: str) -> float:
    share = door.read(SHARE, value, where)
    if share >= 1:
        door.refuse(where, write(SHARE, share), "a share below 100 %", "something must be sold to carry the cost")
    return 0.0 if math.isnan(share) else share


def _words(door: Door, words: Iterable[str], where: str) -> tuple[str, ...]:
    if isinstance(words, str):
        door.refuse(where, cited(words), "a list of names", f"write [{cited(words)}]")
        return ()
    taken = tuple(words)
    for word in taken:
        if not isinstance(word, str):  # pyright: ignore[reportUnnecessaryIsInstance]
            door.refuse(where, cited(word), "a name as text")
    return taken
