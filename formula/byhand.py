"""Dividing by hand: the spread of the pieces, how many a dough yields, and how much to keep in hand for all of them.

A hand divider keeps a tolerance, and a tolerance is no standard deviation until somebody says how many of them it stands
for.  The sum of n pieces has the mean n * mean and the standard deviation sd * sqrt(n).
"""

from __future__ import annotations

import math
from typing import ClassVar, Final

from attrs import frozen

from .counting import even, read_count, read_weight, whole_pieces
from .errors import cited
from .quantity import MASS, SHARE, Door, Measure, View, write
from .readerunits import with_units
from .working import Caution, Step, Working, shown

__all__ = [
    "DoughByHand",
    "PiecesByHand",
    "dough_by_hand",
    "kept_in_hand_g",
    "last_short_share",
    "pieces_at",
    "pieces_by_hand",
]

_UNITS: Final = {"g": "dough piece mean sd sd_all", "1": "planned z pieces"}

WIDEST: Final = 0.25
"""The standard deviation, in parts of the piece, from which the sums say little (common practice, no source)."""


def kept_in_hand_g(pieces: int, mean_g: float, sd_g: float, z: float) -> float:
    """Return the dough that n pieces take at most, but for the chance that z stands for: n * mean + z * sd * sqrt(n).

    Args:
        pieces: how many whole pieces are wanted, n.
        mean_g: what they weigh on average, g.
        sd_g: the standard deviation of one, g.
        z: the normal quantile of the confidence; 1.96 for 97.5 %.

    Example:
        >>> kept_in_hand_g(100, 900.0, 10.0, 2.0)
        90200.0
    """
    return pieces * mean_g + z * sd_g * math.sqrt(pieces)


def pieces_at(dough_g: float, mean_g: float, sd_g: float, z: float) -> float:
    """Return the number of pieces whose dough, by ``kept_in_hand_g``, is just this one: the inverse in closed form.

    With r = (sqrt((z * sd)^2 + 4 * mean * dough) - z * sd) / (2 * mean), it is r^2.

    Args:
        dough_g: the dough, g.
        mean_g: what the pieces weigh on average, g.
        sd_g: the standard deviation of one, g.
        z: the normal quantile; below zero for the many pieces that light scaling may give.

    Example:
        >>> round(pieces_at(90_200.0, 900.0, 10.0, 2.0), 9)
        100.0
    """
    half = z * sd_g
    return ((math.sqrt(half * half + 4 * mean_g * dough_g) - half) / (2 * mean_g)) ** 2


def last_short_share(dough_g: float, pieces: int, mean_g: float, sd_g: float) -> float:
    """Return the chance that n pieces take more than the dough, so that the last is short: 1 - Phi((dough - n mean) / (sd sqrt(n))).

    Args:
        dough_g: the dough, g.
        pieces: n, 1 or more.
        mean_g: what they weigh on average, g.
        sd_g: the standard deviation of one, g, more than zero.

    Example:
        >>> last_short_share(90_000.0, 100, 900.0, 10.0)
        0.5
    """
    return 0.5 * math.erfc((dough_g - pieces * mean_g) / (sd_g * math.sqrt(2 * pieces)))


@frozen
class PiecesByHand:
    """What a dough yields by hand: ``planned`` pieces, from ``fewest`` to ``most``, and the chance that the last is short.

    ``sd_g`` is the standard deviation of one piece, ``mean_g`` what they weigh on average; ``drift_g`` is how much heavier
    than the scaling weight that is, and ``given_away_g`` the same over all the planned pieces.
    """

    dough_g: float
    piece_g: float
    mean_g: float
    sd_g: float
    confidence_share: float
    z: float
    planned: int
    fewest: int
    most: int
    short_share: float
    cautions: tuple[Caution, ...] = ()

    dough: ClassVar[View] = View(MASS, "dough_g", "The dough to divide.")
    piece: ClassVar[View] = View(MASS, "piece_g", "The scaling weight.")
    mean: ClassVar[View] = View(MASS, "mean_g", "What the pieces weigh on average.")
    sd: ClassVar[View] = View(MASS, "sd_g", "The standard deviation of one piece.")
    confidence: ClassVar[View] = View(
        SHARE, "confidence_share", "The share of doughs that give at least the fewest pieces."
    )
    short: ClassVar[View] = View(SHARE, "short_share", "The chance that the last of the planned pieces is short.")
    drift: ClassVar[View] = View(MASS, "drift_g", "How much heavier than the scaling weight the pieces run.")
    given_away: ClassVar[View] = View(
        MASS, "given_away_g", "The dough that the planned pieces take beyond their scaling weight."
    )

    @property
    def drift_g(self) -> float:
        """How much heavier (or, below zero, lighter) than the scaling weight the pieces run."""
        return self.mean_g - self.piece_g

    @property
    def given_away_g(self) -> float:
        """The dough that the planned pieces take beyond their scaling weight; below zero where they run light."""
        return self.planned * self.drift_g

    def working(self) -> Working:
        """Show the steps; the last line is the fewest pieces."""
        planned = {"planned": float(self.planned)}
        over_g = self.dough_g - self.planned * self.mean_g
        together_g = self.sd_g * math.sqrt(self.planned)
        steps: list[Step] = []
        pieces, left_g = whole_pieces(self.dough_g, self.piece_g)
        if pieces == self.planned:
            n = pieces + left_g / self.piece_g
            steps.append(Step("n", "dough / piece", {"dough": self.dough_g, "piece": self.piece_g}, n, ""))
            steps.append(Step("planned", "floor(n)", {"n": n}, float(pieces), "", note="whole pieces at their weight"))
        else:
            steps.append(
                Step("planned", "planned", planned, float(self.planned), "", note="pieces as they are planned")
            )
        t = planned | {"dough": self.dough_g, "mean": self.mean_g, "sd_all": together_g}
        note = f"the last piece is short in {shown(100 * self.short_share, 3)} % of doughs: the normal share above t"
        steps += [
            Step("drift", "mean - piece", {"mean": self.mean_g, "piece": self.piece_g}, self.drift_g, "g"),
            Step("given_away", "planned * drift", planned | {"drift": self.drift_g}, self.given_away_g, "g"),
            Step("sd_all", "sd * planned ** 0.5", planned | {"sd": self.sd_g}, together_g, "g", note="of all of them"),
            Step("t", "(dough - planned * mean) / sd_all", t, over_g / together_g, "1", note=note),
        ]
        base = {"dough": self.dough_g, "mean": self.mean_g, "sd": self.sd_g, "z": self.z}
        sure = f"in {shown(100 * self.confidence_share, 4)} % of doughs"
        for name, count, sign, note in (
            ("most", self.most, "+", f"{sure} no more than so many"),
            ("fewest", self.fewest, "-", f"{sure} no fewer"),
        ):
            expression = f"((((z * sd) ** 2 + 4 * mean * dough) ** 0.5 {sign} z * sd) / (2 * mean)) ** 2"
            value = even(pieces_at(self.dough_g, self.mean_g, self.sd_g, -self.z if sign == "+" else self.z))
            steps.append(Step(f"n_{name}", expression, base, value, ""))
            steps.append(Step(name, f"floor(n_{name})", {f"n_{name}": value}, float(count), "", note=note))
        return Working("Pieces by hand", with_units(steps, _UNITS), self.cautions)


@frozen
class DoughByHand:
    """The dough to keep in hand for whole pieces by hand: ``mass``, of which ``spare`` is beyond pieces x scaling weight."""

    pieces: int
    piece_g: float
    mean_g: float
    sd_g: float
    confidence_share: float
    z: float
    mass_g: float
    cautions: tuple[Caution, ...] = ()

    piece: ClassVar[View] = View(MASS, "piece_g", "The scaling weight.")
    mean: ClassVar[View] = View(MASS, "mean_g", "What the pieces weigh on average.")
    sd: ClassVar[View] = View(MASS, "sd_g", "The standard deviation of one piece.")
    confidence: ClassVar[View] = View(SHARE, "confidence_share", "How often it suffices.")
    mass: ClassVar[View] = View(MASS, "mass_g", "The dough to have on the bench.")
    spare: ClassVar[View] = View(MASS, "spare_g", "What of it is beyond pieces x scaling weight.")

    @property
    def spare_g(self) -> float:
        """The dough beyond pieces x scaling weight."""
        return self.mass_g - self.pieces * self.piece_g

    def working(self) -> Working:
        """Show the steps; the last line is the dough to keep in hand."""
        pieces = {"pieces": float(self.pieces)}
        together_g = self.sd_g * math.sqrt(self.pieces)
        values = pieces | {"mean": self.mean_g, "z": self.z, "sd_all": together_g}
        note = f"enough in {shown(100 * self.confidence_share, 4)} % of doughs"
        steps = (
            Step("sd_all", "sd * pieces ** 0.5", pieces | {"sd": self.sd_g}, together_g, "g", note="of all of them"),
            Step("dough", "pieces * mean + z * sd_all", values, self.mass_g, "g", note=note),
        )
        return Working("Dough to keep in hand", with_units(steps, _UNITS), self.cautions)


def pieces_by_hand(
    dough: Measure,
    *,
    piece: Measure,
    limit: Measure | None = None,
    sigmas: float | None = None,
    sd: Measure | None = None,
    mean: Measure | None = None,
    pieces: int | None = None,
    confidence: Measure = "97.5 %",
) -> PiecesByHand:
    """Find how many pieces a dough yields when it is divided by hand, and the chance that the last is short.

    With z the normal quantile of the confidence, the fewest are the most n with n * mean + z * sd * sqrt(n) <= dough, and
    the most the same with -z.  The last of the planned pieces is short where n of them, each as the hand scales it,
    take more than the dough: the chance is 1 - Phi((dough - n * mean) / (sd * sqrt(n))).

    Args:
        dough: the dough on the bench, a mass.
        piece: the scaling weight that the hand aims at, a mass above zero.
        limit: the ± that the divider keeps, a mass, together with
        sigmas: how many standard deviations it stands for, a bare number such as 2 or 3; there is no default.
        sd: instead of both, the standard deviation of the pieces.
        mean: what the pieces weigh on average where they run heavy or light; the scaling weight if left out.
        pieces: how many are planned; floor(dough / piece) if left out.
        confidence: how often there are at least the fewest, above 50 %.

    Raises:
        QuantityError: a bad mass or count, both or neither of limit and sd, a spread of nothing, a piece heavier than
            the dough; all at once.

    Accuracy: as good as the spread, which is learned by weighing fifty pieces of one's own.  Pieces are taken to be
    independent: a divider whose eye drifts during the dough is worse than these sums.

    Example:
        >>> made = pieces_by_hand("100 kg", piece="900 g", limit="20 g", sigmas=2)
        >>> made.planned, made.fewest, made.most, round(made.short_share, 3)
        (111, 110, 111, 0.171)
    """
    with Door() as door:
        dough_g = read_weight(door, dough, "dough")
        piece_g = read_weight(door, piece, "piece")
        mean_g, sd_g, confidence_share = _read_spread(door, piece_g, limit, sigmas, sd, mean, confidence)
        planned = 0 if pieces is None else read_count(door, pieces, "pieces", 1)
        if sd_g == 0:
            door.refuse("sd", "no spread", "a spread above zero", "pieces that are all alike are counted by divide()")
        if not door.faults and pieces is None:
            planned = whole_pieces(dough_g, piece_g)[0]
            if planned == 0:
                door.refuse("piece", write(MASS, piece_g), f"no more than the dough, {write(MASS, dough_g)}")
    z = _quantile(confidence_share)
    fewest, most = (math.floor(even(pieces_at(dough_g, mean_g, sd_g, way))) for way in (z, -z))
    return PiecesByHand(
        dough_g=dough_g,
        piece_g=piece_g,
        mean_g=mean_g,
        sd_g=sd_g,
        confidence_share=confidence_share,
        z=z,
        planned=planned,
        fewest=fewest,
        most=most,
        short_share=last_short_share(dough_g, planned, mean_g, sd_g),
        cautions=_about(piece_g, mean_g, sd_g),
    )


def dough_by_hand(
    pieces: int,
    *,
    piece: Measure,
    limit: Measure | None = None,
    sigmas: float | None = None,
    sd: Measure | None = None,
    mean: Measure | None = None,
    confidence: Measure = "97.5 %",
) -> DoughByHand:
    """Find the dough to keep in hand for whole pieces by hand: n * mean + z * sd * sqrt(n).

    Args:
        pieces: how many whole pieces are wanted, n.
        piece: the scaling weight that the hand aims at, a mass above zero.
        limit: the ± that the divider keeps, a mass, together with
        sigmas: how many standard deviations it stands for, a bare number such as 2 or 3; there is no default.
        sd: instead of both, the standard deviation of the pieces.
        mean: what the pieces weigh on average where they run heavy or light; the scaling weight if left out.
        confidence: how often the dough shall suffice, above 50 %.

    Raises:
        QuantityError: a bad mass or count, both or neither of limit and sd; all at once.

    Accuracy: see ``pieces_by_hand``.

    Example:
        >>> made = dough_by_hand(100, piece="900 g", sd="10 g")
        >>> round(made.mass_g, 1), round(made.spare_g, 1)
        (90196.0, 196.0)
    """
    with Door() as door:
        count = read_count(door, pieces, "pieces", 1)
        piece_g = read_weight(door, piece, "piece")
        mean_g, sd_g, confidence_share = _read_spread(door, piece_g, limit, sigmas, sd, mean, confidence)
    z = _quantile(confidence_share)
    return DoughByHand(
        pieces=count,
        piece_g=piece_g,
        mean_g=mean_g,
        sd_g=sd_g,
        confidence_share=confidence_share,
        z=z,
        mass_g=kept_in_hand_g(count, mean_g, sd_g, z),
        cautions=_about(piece_g, mean_g, sd_g),
    )


def _quantile(share: float) -> float:
    from statistics import NormalDist  # noqa: PLC0415 - only these two calls pay for it

    return NormalDist().inv_cdf(share)


def _read_spread(
    door: Door,
    piece_g: float,
    limit: Measure | None,
    sigmas: float | None,
    sd: Measure | None,
    mean: Measure | None,
    confidence: Measure,
) -> tuple[float, float, float]:
    """Read what the pieces weigh on average, their standard deviation, and the confidence."""
    mean_g = piece_g if mean is None else read_weight(door, mean, "mean")
    sd_g = read_sd(door, limit, sigmas, sd)
    share = door.read(SHARE, confidence, "confidence")
    if not 0.5 < share < 1 and not math.isnan(share):
        door.refuse("confidence", write(SHARE, share), "more than 50 % and less than 100 %")
    if sd_g >= mean_g:
        door.refuse("sd", write(MASS, sd_g), f"less than a piece, {write(MASS, mean_g)}")
    return mean_g, sd_g, share


def read_sd(door: Door, limit: Measure | None, sigmas: float | None, sd: Measure | None) -> float:
    """Read a standard deviation, or a ± limit with the number of standard deviations that it stands for."""
    if (limit is None) == (sd is None):
        got = "neither a limit nor a standard deviation" if sd is None else "a limit and a standard deviation"
        door.refuse("spread", got, "one of limit= (with sigmas=) and sd=", 'write limit="20 g", sigmas=2 or sd="10 g"')
        return math.nan
    if sd is not None:
        if sigmas is not None:
            door.refuse("sigmas", cited(sigmas), "nothing beside sd=", "sigmas= says what limit= stands for")
        return door.read(MASS, sd, "sd")
    if isinstance(sigmas, bool) or not isinstance(sigmas, (int, float)) or not 0 < sigmas < math.inf:
        fix = "a limit that 95 % of the pieces keep is 2, one that 99.7 % keep is 3"
        door.refuse("sigmas", cited(sigmas), "the number of standard deviations that the limit stands for", fix)
        sigmas = math.nan
    return read_weight(door, limit if limit is not None else "", "limit") / sigmas


def _about(piece_g: float, mean_g: float, sd_g: float) -> tuple[Caution, ...]:
    text = (
        "half of all pieces are lighter than their average: how light a loaf may be when it is sold, the law of the"
        " place decides"
    )
    found = [Caution("half-are-lighter", text)]
    if mean_g < piece_g:
        text = f"the pieces run {shown(piece_g - mean_g)} g light: the bread may be short of its promised weight"
        found.append(Caution("runs-light", text))
    if sd_g > WIDEST * mean_g:
        found.append(Caution("wide-spread", "the spread is so wide that these sums say little: weigh every piece"))
    return tuple(found)
