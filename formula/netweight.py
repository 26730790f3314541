"""Net weight: the lowest process mean at which the pieces hold their nominal weight in law.

A divider and an oven scatter, so the mean must lie above what the law lets single pieces fall short by:

    mean = max(Qn, Qn - T + z1 s, Qn - 2 T + z2 s) + allowances

s is the standard deviation of the weight as sold, within a batch; z1 leaves the share beyond T that the rule allows (1.96
for 1 in 40), z2 the share that stands for "none" (3.719 for 1 in 10,000: of a bell curve no share is none).  What moves
a whole batch, the spread between batches, a drifting divider and the doubt of a sample, is no part of s, but is added to
the mean.  All limits are on the weight at the time of sale, drying included.
"""

from __future__ import annotations

import math
from typing import ClassVar, Final

from attrs import frozen

from .allowances import CONFIDENCE, NO_ALLOWANCES, Allowances, read_allowances, z_leaving
from .errors import cited
from .packrules import WeightRule, read_rule, weight_rule
from .quantity import MASS, SHARE, Door, Measure, View, write
from .readerunits import with_units
from .sources import Constant
from .working import Caution, Step, Working

__all__ = [
    "NONE_SHARE",
    "TargetMass",
    "below_share",
    "lowest_target",
    "mean_for_limit_g",
    "piece_limits",
    "read_none_share",
    "read_spread",
    "sd_for_limit_g",
    "target_mass",
]

PACKERS_CODE: Final = "uk-packers-code"
_NONE: Final = Constant(0.0001, "1", 0.0, PACKERS_CODE, "z = 3.72: 1 in 10,000")
NONE_SHARE: Final = write(SHARE, _NONE.value)
"""The share that stands for "none short", by the convention of the packers' code of the United Kingdom."""
_MOST_FOR_NONE: Final = 0.02
"""One in fifty is no longer what anybody calls none; our own limit."""


def mean_for_limit_g(limit_g: float, sd_g: float, z: float) -> float:
    """Return the mean that keeps all but a share of the pieces above a limit: limit + z * sd.

    Args:
        limit_g: the limit, g.
        sd_g: standard deviation within a batch, g.
        z: standard deviations that leave the share below, from ``z_leaving``.

    Example:
        >>> mean_for_limit_g(388.0, 5.0, 2.0)
        398.0
    """
    return limit_g + z * sd_g


def sd_for_limit_g(mean_g: float, limit_g: float, z: float) -> float:
    """Return the largest standard deviation at which a mean keeps all but a share above a limit: (mean - limit) / z.

    Args:
        mean_g: the process mean, g.
        limit_g: the limit, g.
        z: standard deviations that leave the share below, from ``z_leaving``.

    Example:
        >>> sd_for_limit_g(398.0, 388.0, 2.0)
        5.0
    """
    return (mean_g - limit_g) / z


def below_share(limit_g: float, mean_g: float, sd_g: float) -> float:
    """Return the share of a bell curve below a limit.

    Args:
        limit_g: the limit, g.
        mean_g: the mean, g.
        sd_g: the standard deviation, g; without any all pieces weigh as much as the mean.

    Example:
        >>> round(below_share(388.0, 400.0, 6.0), 4)
        0.0228
    """
    if sd_g == 0:
        return float(mean_g < limit_g)
    return math.erfc((mean_g - limit_g) / (sd_g * math.sqrt(2))) / 2


@frozen
class TargetMass:
    """The lowest process mean, ``mean``, under one rule, and what it is made of.

    ``set_by`` says what decides: "mean" (the nominal weight itself), "T", or "2T" ("MAV" under the rule of the United
    States).  ``limit`` is Qn - T and ``outer_limit`` Qn - 2 T; under the rule of the United States they are the same.
    The shares are those expected below the nominal weight and the two limits in a batch with this mean.
    """

    nominal_g: float
    sd_g: float
    rule: str
    none_share: float
    allowances: Allowances
    tolerance_g: float
    set_by: str
    mean_g: float
    cautions: tuple[Caution, ...] = ()

    nominal: ClassVar[View] = View(MASS, "nominal_g", "The nominal weight.")
    sd: ClassVar[View] = View(MASS, "sd_g", "The standard deviation of the weight as sold, within a batch.")
    tolerance: ClassVar[View] = View(MASS, "tolerance_g", "The tolerance T of the rule.")
    limit: ClassVar[View] = View(MASS, "limit_g", "The nominal weight less the tolerance.")
    outer_limit: ClassVar[View] = View(MASS, "outer_limit_g", "The weight that nobody may be below.")
    mean: ClassVar[View] = View(MASS, "mean_g", "The lowest process mean.")
    giveaway: ClassVar[View] = View(MASS, "giveaway_g", "What is given away on average with each piece.")
    below_nominal: ClassVar[View] = View(
        SHARE, "below_nominal_share", "The share expected below the nominal weight, in percent."
    )
    below_limit: ClassVar[View] = View(SHARE, "below_limit_share", "The share expected below the limit, in percent.")
    below_outer_limit: ClassVar[View] = View(
        SHARE, "below_outer_limit_share", "The share expected below the outer limit, in percent."
    )

    @property
    def law(self) -> WeightRule:
        """The rule itself."""
        return weight_rule(self.rule)

    @property
    def limit_g(self) -> float:
        """The nominal weight less the tolerance, g."""
        return self.nominal_g - self.tolerance_g

    @property
    def outer_limit_g(self) -> float:
        """The weight that nobody may be below, g."""
        return self.nominal_g - self.law.outer * self.tolerance_g

    @property
    def giveaway_g(self) -> float:
        """What is given away on average with each piece, g."""
        return self.mean_g - self.nominal_g

    @property
    def below_nominal_share(self) -> float:
        """The share expected below the nominal weight."""
        return below_share(self.nominal_g, self.mean_g, self.sd_g)

    @property
    def below_limit_share(self) -> float:
        """The share expected below the limit."""
        return below_share(self.limit_g, self.mean_g, self.sd_g)

    @property
    def below_outer_limit_share(self) -> float:
        """The share expected below the outer limit."""
        return below_share(self.outer_limit_g, self.mean_g, self.sd_g)

    def limit_steps(self) -> list[Step]:
        """Return the steps to the tolerance and the limits."""
        steps = [self.law.tolerance_step(self.nominal_g)]
        known = {"nominal": self.nominal_g, "T": self.tolerance_g}
        for name, (limit_g, _) in piece_limits(self.law, self.nominal_g, self.none_share).items():
            limit = "nominal - 2 * T" if name == "2T" else "nominal - T"
            steps.append(Step(f"limit_{name}", limit, known, limit_g, "g"))
        return [*with_units(steps, {"g": "nominal"})]

    def mean_steps(self, word: str = "") -> list[Step]:
        """Return the steps from the limits to the mean; ``word`` tells two of them apart, such as "_old"."""
        steps: list[Step] = []
        means = {"nominal": self.nominal_g}
        for name, (limit_g, share) in piece_limits(self.law, self.nominal_g, self.none_share).items():
            z = z_leaving(share)
            values = {f"limit_{name}": limit_g, f"z_{name}": z, f"s{word}": self.sd_g}
            mean_g = means[f"mean_{name}{word}"] = mean_for_limit_g(limit_g, self.sd_g, z)
            source = PACKERS_CODE if name == self.law.outer_name else self.law.sources[0]
            note = f"{write(SHARE, share)} of the pieces below"
            expression = f"limit_{name} + z_{name} * s{word}"
            steps.append(Step(f"mean_{name}{word}", expression, values, mean_g, "g", source, note))
        more, added = self.allowances.steps()
        expression = " + ".join((f"max({', '.join(means)})", *added))
        note = "the nominal weight decides" if self.set_by == "mean" else f"the limit {self.set_by} decides"
        mean = Step(f"mean{word}", expression, means | added, self.mean_g, "g", note=note)
        return [*with_units((*steps, *more, mean), {"g": "nominal limit s drift sampling", "1": "z"})]

    def working(self) -> Working:
        """Show the steps; the last line is the lowest process mean."""
        return Working(
            f"Lowest process mean, {self.law.place}", (*self.limit_steps(), *self.mean_steps()), self.cautions
        )


def target_mass(
    nominal: Measure,
    *,
    sd: Measure | None = None,
    limit: Measure | None = None,
    sigmas: float | None = None,
    rule: str = "eu",
    none_share: Measure = NONE_SHARE,
    between_sd: Measure = "0 g",
    batches: int = 1,
    confidence: Measure = CONFIDENCE,
    drift: Measure = "0 g",
    sampling: Measure = "0 g",
) -> TargetMass:
    """Find the lowest process mean at which pieces hold their nominal weight: max(Qn, Qn - T + z1 s, Qn - 2 T + z2 s).

    Args:
        nominal: the promised weight Qn at the time of sale, a mass.
        sd: the standard deviation of the weight as sold within one batch, a mass above zero.  It is that of the baked
            piece, not of the divider alone: ``net_weight`` works it out of the divider's and the oven's.
        limit: instead of ``sd``, a maker's ± as a mass; then ``sigmas`` says how many standard deviations it is.
        sigmas: 2 for a ± that 95 of 100 pieces keep, 3 for one that nearly all keep; ask the maker.
        rule: "eu", "uk", "de", "oiml", "ca" or "us"; see ``weight_rules``.
        none_share: the share that stands for "none" short beyond the outer limit, below 2 %.
        between_sd: the standard deviation of the means of whole batches, a mass.
        batches: how many batches a lot mixes, over which that spread averages out.
        confidence: how sure the lot's mean shall be, a share of 50 % or more.
        drift: how far the divider creeps between two adjustments, a mass, added as it is.
        sampling: what your own sampling cannot see, a mass, added as it is.

    Returns:
        ``mean`` with the limits, what decides, the shares expected below them and the giveaway.

    Raises:
        QuantityError: for every bad argument at once; both or neither of ``sd`` and ``limit``; a spread of zero; an
            unknown rule, or a nominal weight outside its table.

    Range and accuracy: exact for a spread that follows the bell curve.  A divider that now and then makes a runt does
    not; then the share beyond the outer limit is larger than it says.  "None" cannot be met to the letter; 1 in 10,000
    is the convention of the code ``uk-packers-code``, which is from memory.

    Example:
        >>> found = target_mass("400 g", sd="5 g")
        >>> found.mean_g, found.set_by, round(found.below_limit_share, 4)
        (400.0, 'mean', 0.0082)
        >>> wide = target_mass("400 g", sd="7 g", rule="de")
        >>> round(wide.mean_g, 2), wide.set_by
        (402.38, 'T')
    """
    with Door() as door:
        nominal_g = door.read(MASS, nominal, "nominal")
        sd_g = read_spread(door, sd, limit, sigmas)
        law = read_rule(door, rule, nominal_g)
        none = read_none_share(door, none_share)
        allowances = read_allowances(door, between_sd, batches, confidence, drift, sampling)
    return lowest_target(nominal_g, sd_g, law, none, allowances)


def lowest_target(
    nominal_g: float, sd_g: float, law: WeightRule, none_share: float, allowances: Allowances = NO_ALLOWANCES
) -> TargetMass:
    """Return the lowest process mean for values that have been read; see ``target_mass``.

    Args:
        nominal_g: the nominal weight, g, covered by the rule's table.
        sd_g: the standard deviation within a batch, g.
        law: the rule.
        none_share: the share that stands for "none".
        allowances: what is added.
    """
    means = {"mean": nominal_g}
    for name, (limit_g, share) in piece_limits(law, nominal_g, none_share).items():
        means[name] = mean_for_limit_g(limit_g, sd_g, z_leaving(share))
    set_by = max(means, key=lambda name: means[name])
    return TargetMass(
        nominal_g=nominal_g,
        sd_g=sd_g,
        rule=law.name,
        none_share=none_share,
        allowances=allowances,
        tolerance_g=law.tolerance_g(nominal_g),
        set_by=set_by,
        mean_g=means[set_by] + allowances.total_g,
        cautions=law.cautions(nominal_g),
    )


def piece_limits(law: WeightRule, nominal_g: float, none_share: float) -> dict[str, tuple[float, float]]:
    """Return the limits of single pieces by name, each in g and with the share that may lie below it.

    Args:
        law: the rule.
        nominal_g: the nominal weight, g.
        none_share: the share that stands for "none".

    Example:
        >>> piece_limits(weight_rule("eu"), 400.0, 0.0001)
        {'T': (388.0, 0.025), '2T': (376.0, 0.0001)}
    """
    tolerance_g = law.tolerance_g(nominal_g)
    limits: dict[str, tuple[float, float]] = {}
    if law.beyond_share is not None:
        limits["T"] = (nominal_g - tolerance_g, law.beyond_share)
    limits[law.outer_name] = (nominal_g - law.outer * tolerance_g, none_share)
    return limits


def read_spread(door: Door, sd: Measure | None, limit: Measure | None, sigmas: float | None, word: str = "") -> float:
    """Read a standard deviation, or a ± with the standard deviations it stands for, g.

    Args:
        door: where faults are noted.
        sd: the standard deviation, a mass.
        limit: a ± as a mass.
        sigmas: how many standard deviations the ± is.
        word: what stands before the arguments' names, such as ``"divider_"``.
    """
    named, ending = f"{word}sd", f"{word}limit"
    where, given = (ending, limit) if sd is None else (named, sd)
    if given is None or (sd is not None and limit is not None):
        got = "neither a standard deviation nor a ±" if given is None else "a standard deviation and a ±"
        door.refuse(named, got, "one of them", f'write {named}="5 g", or {ending}="10 g" with sigmas=2')
        return math.nan
    if (limit is None) != (sigmas is None):
        got = f"sigmas={cited(sigmas)} with a standard deviation" if limit is None else "nothing with a ±"
        mend = f"leave it out, or give {ending}" if limit is None else "ask the maker: often 2, sometimes 3"
        door.refuse("sigmas", got, "how many standard deviations a ± is", mend)
    elif sigmas is not None and (isinstance(sigmas, bool) or not isinstance(sigmas, (int, float)) or not 0 < sigmas <= 10):  # pyright: ignore[reportUnnecessaryIsInstance]  # fmt: skip
        door.refuse("sigmas", cited(sigmas), "a number above 0, up to 10", "write sigmas=2")
        return math.nan
    spread_g = door.read(MASS, given, where)
    if spread_g == 0:
        mend = "weigh a sample: no divider and no oven is without spread"
        door.refuse(where, "0 g", "a spread above zero", mend)
    return spread_g / (sigmas or 1)


def read_none_share(door: Door, none_share: Measure) -> float:
    """Read the share that stands for "none".

    Args:
        door: where faults are noted.
        none_share: a share above zero and below 2 %.
    """
    share = door.read(SHARE, none_share, "none_share")
    if not math.isnan(share) and not 0 < share < _MOST_FOR_NONE:
        mend = f'no share of a bell curve is none; the convention is "{NONE_SHARE}"'
        door.refuse("none_share", write(SHARE, share), "a share above zero and below 2 %", mend)
        return math.nan
    return share
