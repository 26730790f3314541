"""What bread loses in print: losses of handling, fermentation, oven and shelf, each with its base, size and source.

They are no rules.  Books print the loss now of the dough and now of the bread, some with cooling and some without, and
between a pan loaf and a thin ring lies a factor of four.  Weigh your own bread; take these to see whether it is likely.
"""

from __future__ import annotations

import pkgutil
import tomllib
from functools import cache
from typing import Any, ClassVar, Final, Literal, cast, get_args

from attrs import frozen

from .errors import Fault, UnknownNameError, cited
from .losses import share_on_dough
from .quantity import MASS, SHARE, OptionalView, View, grid, read
from .shape import LoafShape
from .sources import source
from .working import shown

__all__ = ["LOSS_KINDS", "TypicalLoss", "typical_losses"]

LossKind = Literal["handling", "ferment", "bake", "overbake", "dry", "whole"]
Base = Literal["dough", "bread", "flour"]

LOSS_KINDS: Final[tuple[LossKind, ...]] = get_args(LossKind)
"""Where a printed loss falls: before the divider, on the piece, in the oven, too long in it, on the shelf, or all together."""


@frozen
class TypicalLoss:
    """One loss as it is printed.

    Attributes:
        product: what bread, in plain words.
        kind: where it falls, one of ``LOSS_KINDS``.
        low_share: the least that is printed, as a fraction of the base.
        high_share: the most; the same where one figure is printed.  The two are limits, and half their distance is no
            standard deviation.
        on: the base as printed: "dough" is what goes into that part of the way (of drying and overbaking the loaf as it
            began), "bread" what comes out of it, "flour" the flour.
        dough_g: its size as dough, where that is printed or follows.
        bread_g: its size as bread, likewise.
        shape: its shape, where the trade's name tells it; the proportions are ours.
        printed: the source's figures.
        includes: what the figure covers, where that is said.
        source: id of the source, which says how it is known.
        derived: whether the share was reckoned from printed weights.
        fit: whether the row takes part in the fitted exponent.
        note: what else must be known.
        loaves: how many loaves the two weights are of.
    """

    product: str
    kind: LossKind
    low_share: float
    high_share: float
    on: Base
    dough_g: float | None
    bread_g: float | None
    shape: LoafShape | None
    printed: str
    includes: str
    source: str
    derived: bool
    fit: bool
    note: str
    loaves: int = 1

    low: ClassVar[View] = View(SHARE, "low_share", "The least, of the base.")
    high: ClassVar[View] = View(SHARE, "high_share", "The most, of the base.")
    low_on_dough: ClassVar[OptionalView] = OptionalView(SHARE, "low_on_dough_share", "The least, of what goes in.")
    high_on_dough: ClassVar[OptionalView] = OptionalView(SHARE, "high_on_dough_share", "The most, of what goes in.")
    limit: ClassVar[View] = View(
        SHARE, "limit_share", "Half the way from the least to the most: a limit, no standard deviation."
    )
    dough: ClassVar[OptionalView] = OptionalView(MASS, "dough_g", "The dough of one loaf, or of all that were weighed.")
    bread: ClassVar[OptionalView] = OptionalView(MASS, "bread_g", "The bread of it.")

    @property
    def low_on_dough_share(self) -> float | None:
        """The least as a fraction of what goes in; None for a share of the flour, which needs the formula."""
        return _on_dough(self.low_share, self.on)

    @property
    def high_on_dough_share(self) -> float | None:
        """The most as a fraction of what goes in; None for a share of the flour."""
        return _on_dough(self.high_share, self.on)

    @property
    def limit_share(self) -> float:
        """Half the way from the least to the most: a limit, no standard deviation."""
        return (self.high_share - self.low_share) / 2

    @property
    def known_by(self) -> str:
        """How the figure is known: read, in a copy, from memory; "derived" where it was reckoned from printed weights."""
        known = source(self.source).known_by
        return f"{known}, share derived" if self.derived else known

    def __str__(self) -> str:
        """Return the row in one line."""
        ends = dict.fromkeys(shown(share * 100, 3) for share in (self.low_share, self.high_share))
        base = {"dough": "what goes in", "bread": "what comes out", "flour": "the flour"}[self.on]
        words = f"{self.product}, {self.kind}: {' to '.join(ends)} % of {base}"
        words += f" ({self.includes})" if self.includes else ""
        return f"{words} [{self.source}, {self.known_by}]"


def typical_losses(kind: str | None = None, *, product: str | None = None) -> tuple[TypicalLoss, ...]:
    """Return the losses that are printed, all of them or some.

    Args:
        kind: only those of a kind: "handling", "ferment", "bake", "overbake", "dry" or "whole".
        product: only those whose product has this word in its name, such as "baguette" or "rye".

    Raises:
        UnknownNameError: when there is no such kind, or no such product among the rows.

    Example:
        >>> for row in typical_losses("bake", product="baguette"):
        ...     print(row)
        baguette, bake: 23.9 % of what goes in [baguette-news-2023, read, share derived]
        baguette, bake: 28.6 % of what goes in [baguette-rule, memory, share derived]
    """
    if kind is not None and kind not in LOSS_KINDS:
        raise UnknownNameError(Fault("kind", cited(kind), f"one of {', '.join(LOSS_KINDS)}"))
    rows = tuple(row for row in _all() if kind in (None, row.kind))
    if product is None:
        return rows
    if not isinstance(product, str):  # pyright: ignore[reportUnnecessaryIsInstance]
        raise UnknownNameError(Fault("product", cited(product), "text", "write for example 'baguette'"))
    found = tuple(row for row in rows if product.casefold() in row.product.casefold())
    if not found:
        known = ", ".join(dict.fromkeys(row.product for row in rows))
        raise UnknownNameError(Fault("product", cited(product), f"a word of: {known}"))
    return found


@cache
def _all() -> tuple[TypicalLoss, ...]:
    text = cast("bytes", pkgutil.get_data("formula", "losses.toml")).decode("utf-8")
    return tuple(_row(facts) for facts in tomllib.loads(text)["row"])


def _row(facts: dict[str, Any]) -> TypicalLoss:
    """Make a row; what the two weights or a weight and a share leave open follows from them."""
    on: Base = facts.get("on", "dough")
    dough_g, bread_g = (read(MASS, facts[key], key) if key in facts else None for key in ("dough", "bread"))
    derived = "low_percent" not in facts
    if derived:
        low = high = grid(SHARE, 1 - cast("float", bread_g) / cast("float", dough_g))
    else:
        low, high = (facts[f"{end}_percent"] / 100 for end in ("low", "high"))
        if facts.get("fit"):
            dough_g = grid(MASS, cast("float", bread_g) * (1 + low))
    shape = LoafShape(facts["shape"], **facts.get("proportions", {})) if "shape" in facts else None
    return TypicalLoss(
        product=facts["product"],
        kind=facts["kind"],
        low_share=low,
        high_share=high,
        on=on,
        dough_g=dough_g,
        bread_g=bread_g,
        shape=shape,
        printed=facts["printed"],
        includes=facts.get("includes", ""),
        source=facts["source"],
        derived=derived,
        fit=facts.get("fit", False),
        note=facts.get("note", ""),
        loaves=facts.get("loaves", 1),
    )


def _on_dough(share: float, on: Base) -> float | None:
    if on == "flour":
        return None
    return share_on_dough(share) if on == "bread" else share
