"""The loss of one's own bread, from weighings: its mean, how far pieces scatter, and whether it goes with their weight.

A weighing is what a piece, or a tray of several together, weighed on the divider's scale and again when it was baked.
The mean says what to reckon with, the standard deviation of single pieces how much of the spread of a net weight comes
from the oven.  Pieces weighed together hide their spread: it is taken back from that of the trays by sqrt(n).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar, Final

from attrs import frozen

from .csvtable import read_csv
from .errors import Fault, QuantityError, UnknownNameError, cited
from .quantity import MASS, SHARE, Door, Measure, OptionalView, View, write
from .readerunits import with_units
from .spread import outlying, student_t95
from .working import Caution, Step, Working, shown, summed_steps

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["COLUMNS", "LossWeighing", "MeasuredLoss", "loss_of", "measured_loss", "read_loss_weighings"]

COLUMNS: Final = ("scaled", "baked", "count", "bread")
"""The columns of a file of weighings; scaled and baked must be there."""
MOST_WEIGHINGS: Final = 2000
"""Loaves: years of weighing one by one."""
LEAST_WEIGHINGS: Final = 2
LEAST_FOR_TREND: Final = 4
FEW_WEIGHINGS: Final = 10
_ALIKE_SHARE: Final = 0.001
"""Losses that agree to a tenth of a percent of the dough are as alike as scales can tell: no outlier and no trend lies
within."""
_STEP_G: Final = 100.0


def loss_of(scaled_g: float, baked_g: float) -> float:
    """Return the loss of a weighing, a fraction of the dough: 1 - baked / scaled.

    Args:
        scaled_g: the dough, g.
        baked_g: the bread of it, g.

    Example:
        >>> loss_of(500.0, 437.5)
        0.125
    """
    return 1 - baked_g / scaled_g


@frozen(init=False)
class LossWeighing:
    """What a piece, or a tray of pieces weighed together, weighed before and after.

    Args:
        scaled: the dough on the scale, a mass; of all the pieces where there are several.
        baked: the same pieces when they are baked, and cooled if the loss is to hold that too.
        count: how many pieces were weighed together.
        bread: the bread's name; the same for all that belong together.

    Raises:
        QuantityError: for every bad argument at once; bread that is heavier than its dough.

    Example:
        >>> LossWeighing("800 g", "700 g").loss_share
        0.125
    """

    scaled_g: float
    baked_g: float
    count: int
    bread: str

    def __init__(self, scaled: Measure, baked: Measure, *, count: int = 1, bread: str = "") -> None:
        """Read every argument and tell of all the bad ones at once."""
        with Door() as door:
            scaled_g = door.read_above_zero(MASS, scaled, "scaled")
            baked_g = door.read_above_zero(MASS, baked, "baked")
            if baked_g > scaled_g:
                expected = f"no more than was scaled, {write(MASS, scaled_g)}"
                door.refuse("baked", write(MASS, baked_g), expected, "the two weights may be exchanged")
            if isinstance(count, bool) or not isinstance(count, int) or count < 1:  # pyright: ignore[reportUnnecessaryIsInstance]
                door.refuse("count", cited(count), "a whole number of 1 or more", "leave it out for a single piece")
            if not isinstance(bread, str):  # pyright: ignore[reportUnnecessaryIsInstance]
                door.refuse("bread", cited(bread), "text", "put it between quotes")
        for name, value in (("scaled_g", scaled_g), ("baked_g", baked_g), ("count", count), ("bread", bread)):
            object.__setattr__(self, name, value)

    scaled: ClassVar[View] = View(MASS, "scaled_g", "The dough, of all its pieces.")
    baked: ClassVar[View] = View(MASS, "baked_g", "The bread of it.")
    loss: ClassVar[View] = View(SHARE, "loss_share", "The loss, of the dough.")

    @property
    def loss_share(self) -> float:
        """The loss as a fraction of the dough."""
        return loss_of(self.scaled_g, self.baked_g)

    @property
    def piece_g(self) -> float:
        """The dough of one piece, g; the mean where several were weighed together."""
        return self.scaled_g / self.count


def read_loss_weighings(path: Path) -> tuple[LossWeighing, ...]:
    r"""Read weighings from a CSV file, one a line: scaled and baked, and if there are any count and bread.

    A cell is text with its unit; a count is a plain whole number, one left empty is 1.

    Args:
        path: the file, UTF-8, cells parted by commas.

    Raises:
        FileError: for everything wrong in the file at once, each with its line and column.

    Example:
        >>> import tempfile, pathlib
        >>> path = pathlib.Path(tempfile.mkdtemp()) / "weighings.csv"
        >>> _ = path.write_text("scaled,baked,count\n900 g,801 g,\n9 kg,8 kg,10\n", encoding="utf-8")
        >>> [weighing.piece_g for weighing in read_loss_weighings(path)]
        [900.0, 900.0]
    """
    return read_csv(path, _weighing, columns=COLUMNS, needed=("scaled", "baked"), most=MOST_WEIGHINGS, noun="weighing")


def _weighing(row: dict[str, str]) -> LossWeighing:
    written = row.get("count") or "1"
    # What is no whole number goes on as it is, and is refused with all else that is wrong in the line.
    count = int(written) if written.isascii() and written.isdigit() and len(written) < 10 else written
    return LossWeighing(row["scaled"], row["baked"], count=count, bread=row.get("bread", ""))  # type: ignore[arg-type]  # pyright: ignore[reportArgumentType]


@frozen
class MeasuredLoss:
    """The loss that weighings add up to; good wherever a loss is asked for: ``Losses(bake=found.loss)``.

    ``loss`` is the mean of the pieces as a share of the dough, from ``low`` to ``high`` in nineteen cases of twenty.
    ``spread`` is the standard deviation of single pieces, the ``standard_error`` that of the mean.  ``trend`` is by how much
    the loss changes for 100 g more of dough a piece, with its ``trend_error``; None where the pieces have too little
    difference in weight to tell; ``has_trend`` says whether it can be told from none.  ``outliers`` are the places of
    weighings that stand apart, counted from 1, and left out only if ``dropped``.
    """

    weighings: tuple[LossWeighing, ...]
    bread: str
    loss_share: float
    low_share: float
    high_share: float
    spread_share: float
    standard_error_share: float
    trend_share: float | None
    trend_error_share: float | None
    has_trend: bool
    outliers: tuple[int, ...]
    dropped: bool
    cautions: tuple[Caution, ...] = ()

    loss: ClassVar[View] = View(SHARE, "loss_share", "The mean loss, of the dough.")
    low: ClassVar[View] = View(SHARE, "low_share", "The lower end of the mean's interval.")
    high: ClassVar[View] = View(SHARE, "high_share", "The upper end of the mean's interval.")
    spread: ClassVar[View] = View(SHARE, "spread_share", "The standard deviation of single pieces.")
    standard_error: ClassVar[View] = View(SHARE, "standard_error_share", "The standard deviation of the mean.")
    trend: ClassVar[OptionalView] = OptionalView(
        SHARE, "trend_share", "The change of the loss for 100 g more of dough a piece."
    )
    trend_error: ClassVar[OptionalView] = OptionalView(SHARE, "trend_error_share", "The standard error of the trend.")

    @property
    def kept(self) -> tuple[int, ...]:
        """The places of the weighings that count, from 1."""
        places = range(1, len(self.weighings) + 1)
        return tuple(place for place in places if not self.dropped or place not in self.outliers)

    @property
    def pieces(self) -> int:
        """How many pieces count."""
        return sum(self.weighings[place - 1].count for place in self.kept)

    def working(self) -> Working:
        """Show the steps; the last line is the mean loss."""
        together = any(weighing.count > 1 for weighing in self.weighings)
        steps: list[Step] = []
        losses: dict[str, float] = {}
        names: dict[str, float] = {}
        for place in self.kept:
            weighing = self.weighings[place - 1]
            values = {f"baked_{place}": weighing.baked_g, f"scaled_{place}": weighing.scaled_g}
            expression = f"1 - baked_{place} / scaled_{place}"
            steps.append(Step(f"loss_{place}", expression, values, weighing.loss_share, "1"))
            names[f"loss_{place}"] = weighing.loss_share
            if together:
                names[f"n_{place}"] = float(weighing.count)
                losses[f"n_{place} * loss_{place}"] = weighing.count * weighing.loss_share
            else:
                losses[f"loss_{place}"] = weighing.loss_share
        summed, total = summed_steps("total", losses, names)
        apart = {f"d_{place}": self.weighings[place - 1].loss_share - self.loss_share for place in self.kept}
        terms = {
            f"n_{place} * d_{place} * d_{place}" if together else f"d_{place} * d_{place}": (
                self.weighings[place - 1].count * apart[f"d_{place}"] ** 2
            )
            for place in self.kept
        }
        squared, squares = summed_steps("squares", terms, names | apart)
        pieces, freedom = float(self.pieces), len(self.kept) - 1
        mean, error = {"mean": self.loss_share}, {"s": self.spread_share, "N": pieces}
        band = {"t": student_t95(freedom), "error": self.standard_error_share}
        steps += [
            *summed,
            Step("mean", "total / N", {"total": total, "N": pieces}, self.loss_share, "1", note="the mean of the pieces"),
            *(
                Step(name, f"loss_{place} - mean", {f"loss_{place}": names[f"loss_{place}"], **mean}, apart[name], "1")
                for place, name in zip(self.kept, apart, strict=True)
            ),
            *squared,
            Step(
                "s", "(squares / f) ** (1 / 2)", {"squares": squares, "f": float(freedom)}, self.spread_share, "1",
                note="the standard deviation of single pieces",
            ),
            Step("error", "s / N ** (1 / 2)", error, self.standard_error_share, "1", note="that of the mean"),
            Step("low", "mean - t * error", mean | band, self.low_share, "1", note="Student's t, nineteen times of twenty"),
            Step("high", "mean + t * error", mean | band, self.high_share, "1"),
            Step("loss", "mean", mean, self.loss_share, "1", note="of the dough"),
        ]  # fmt: skip
        told = {"g": "baked scaled", "1": "n N f t"}
        return Working(f"Loss from {len(self.kept)} weighings", with_units(steps, told), self.cautions)


def measured_loss(
    weighings: Iterable[LossWeighing], *, bread: str | None = None, drop_outliers: bool = False
) -> MeasuredLoss:
    """Find the loss of a bread from weighings: the mean over all pieces of 1 - baked / scaled.

    Where pieces were weighed together, a weighing counts for as many as it holds, and the standard deviation of single
    pieces is taken back from that of the trays: s² = sum n (loss - mean)² / (weighings - 1).  That holds when pieces vary
    on their own; where trays differ as a whole, by their place in the oven, it comes out too large.

    Args:
        weighings: the weighings, 2 at least; of one bread, unless ``bread`` picks it out.
        bread: the name of the bread, where the weighings hold several.
        drop_outliers: leave out the weighings that stand apart.

    Raises:
        QuantityError: too few weighings, or several breads.
        UnknownNameError: when no weighing is of this bread.

    Accuracy: of the arithmetic, exact; of the answer, its own interval.  What the weights hold is measured, no more: bread
    weighed hot has not yet lost what it loses in cooling.

    Example:
        >>> weighed = [LossWeighing("900 g", baked) for baked in ("801 g", "805.5 g", "796.5 g", "801 g")]
        >>> found = measured_loss(weighed)
        >>> round(100 * found.loss_share, 2), round(100 * found.spread_share, 2), round(100 * found.high_share, 2)
        (11.0, 0.41, 11.65)
    """
    taken = _of_bread(tuple(weighings), bread)
    if len(taken) < LEAST_WEIGHINGS:
        got = f"{len(taken)} weighing{'' if len(taken) == 1 else 's'}"
        mend = f"weigh at least {LEAST_WEIGHINGS}; with {FEW_WEIGHINGS} the spread can be used"
        raise QuantityError(Fault("weighings", got, f"{LEAST_WEIGHINGS} or more", mend))
    middle = _mean(taken)
    apart = [math.sqrt(weighing.count) * (weighing.loss_share - middle) for weighing in taken]
    places = outlying(apart, _ALIKE_SHARE)
    kept = [weighing for place, weighing in enumerate(taken) if not drop_outliers or place not in places]
    mean = _mean(kept)
    pieces, freedom = sum(weighing.count for weighing in kept), len(kept) - 1
    squares = math.fsum(weighing.count * (weighing.loss_share - mean) ** 2 for weighing in kept)
    spread = math.sqrt(squares / freedom)
    error = spread / math.sqrt(pieces)
    reach = student_t95(freedom) * error
    slope, slope_error, has_trend = _trend(kept, mean)
    outliers = tuple(place + 1 for place in places)
    return MeasuredLoss(
        weighings=taken,
        bread=taken[0].bread,
        loss_share=mean,
        low_share=mean - reach,
        high_share=mean + reach,
        spread_share=spread,
        standard_error_share=error,
        trend_share=slope,
        trend_error_share=slope_error,
        has_trend=has_trend,
        outliers=outliers,
        dropped=drop_outliers,
        cautions=tuple(_doubts(kept, outliers, slope if has_trend else None, dropped=drop_outliers)),
    )


def _of_bread(weighings: tuple[LossWeighing, ...], bread: str | None) -> tuple[LossWeighing, ...]:
    breads = dict.fromkeys(weighing.bread for weighing in weighings)
    known = ", ".join(repr(name) for name in breads)
    if bread is None:
        if len(breads) > 1:
            raise QuantityError(
                Fault("weighings", f"several breads: {known}", "those of one bread", "name it: bread=...")
            )
        return weighings
    if bread not in breads:
        raise UnknownNameError(
            Fault("bread", cited(bread), f"one of: {known}" if known else "a bread that was weighed")
        )
    return tuple(weighing for weighing in weighings if weighing.bread == bread)


def _mean(weighings: Iterable[LossWeighing]) -> float:
    known = [(weighing.count, weighing.loss_share) for weighing in weighings]
    return math.fsum(count * share for count, share in known) / sum(count for count, _ in known)


def _trend(weighings: list[LossWeighing], mean: float) -> tuple[float | None, float | None, bool]:
    """Return the slope of the loss over the weight of a piece for 100 g, its standard error, and whether it tells."""
    if len(weighings) < LEAST_FOR_TREND:
        return None, None, False
    pieces = sum(weighing.count for weighing in weighings)
    middle_g = math.fsum(weighing.count * weighing.piece_g for weighing in weighings) / pieces
    points = [(float(w.count), w.piece_g - middle_g, w.loss_share - mean) for w in weighings]
    across = math.fsum(n * x * x for n, x, _ in points)
    if across <= pieces * (1e-4 * middle_g) ** 2:
        return None, None, False
    slope = math.fsum(n * x * y for n, x, y in points) / across
    left = math.fsum(n * (y - slope * x) ** 2 for n, x, y in points)
    freedom = len(points) - 2
    error = math.sqrt(left / freedom / across)
    ends = [x for _, x, _ in points]
    tells = abs(slope) > student_t95(freedom) * error and abs(slope) * (max(ends) - min(ends)) > _ALIKE_SHARE
    return slope * _STEP_G, error * _STEP_G, tells


def _doubts(
    kept: list[LossWeighing], outliers: tuple[int, ...], trend: float | None, *, dropped: bool
) -> Iterable[Caution]:
    if len(kept) < FEW_WEIGHINGS:
        text = f"{len(kept)} weighings say little about the spread: weigh {FEW_WEIGHINGS} or more."
        yield Caution("few-weighings", text)
    if outliers:
        listed = " and ".join(str(place) for place in outliers)
        what = "was left out" if dropped else "stands apart from the others and may be a slip"
        yield Caution("outlier", f"Weighing {listed} {what}: a wrong scale, a torn or an exchanged piece?")
    if any(weighing.count > 1 for weighing in kept):
        text = (
            "Pieces weighed together hide their spread; it was taken back by the square root of their number, which is too"
            " large where whole trays differ."
        )
        yield Caution("weighed-together", text)
    if trend is not None:
        text = (
            f"The loss goes with the weight of the piece, by {shown(100 * trend, 3)} % of the dough for 100 g more: it holds for"
            " the weights that were tried."
        )
        yield Caution("trend", text)
