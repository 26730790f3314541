"""A sample of weighings held against a rule of net weight: its mean, and how many of its pieces are short.

The mean of a sample is in doubt, so the test of the European law and its kin gives it the benefit of it: it accepts where

    mean >= Qn - t(confidence, n - 1) / sqrt(n) * s

and a lot is then rejected only where that much is against it.  This is a check of one's own process, by the arithmetic of
the official test: it is not the official test, which the authority draws and judges, and a process that only just passes
it is not one whose mean reaches the nominal weight.
"""

from __future__ import annotations

import math
from statistics import fmean, stdev
from typing import ClassVar, Final, Literal

from attrs import frozen

from .errors import cited
from .packrules import SamplingPlan, WeightRule, memory_caution, read_rule, weight_rule
from .quantity import MASS, Door, Measure, View, grid
from .readerunits import with_units
from .samples import Weighings, read_sample
from .spread import student_t
from .working import Caution, Step, Working, shown, summed_steps

__all__ = ["Clause", "WeighingCheck", "check_weighings", "mean_factor"]

Verdict = Literal["accept", "reject", "second sample"]

OWN_CHECK: Final = Caution(
    "own-check",
    "A check of your own process, not the official test; a packer's own sampling must be stricter than it (oiml-g21-2017).",
)
NO_SPREAD: Final = Caution(
    "no-spread", "All weighings are the same: the scale's step may be too coarse to see a spread."
)


def mean_factor(confidence_share: float, count: int) -> float:
    """Return how many standard deviations a sample's mean may lie below: t(confidence, n - 1) / sqrt(n).

    Args:
        confidence_share: the one-sided confidence, 0.995 in Europe.
        count: n, the size of the sample, 2 or more.

    Example:
        >>> round(mean_factor(0.995, 30), 3), round(mean_factor(0.995, 50), 3)
        (0.503, 0.379)
    """
    return student_t(confidence_share, count - 1) / math.sqrt(count)


@frozen
class Clause:
    """One clause of a rule: its ``name``, whether the sample ``passed`` (None: a second sample decides), and why."""

    name: str
    passed: bool | None
    reason: str

    def __str__(self) -> str:
        """Return it as one line."""
        word = "undecided" if self.passed is None else "passed" if self.passed else "failed"
        return f"{self.name}: {word}; {self.reason}"


@frozen
class WeighingCheck:
    """A sample judged: the ``verdict``, "accept", "reject" or "second sample", with a reason for each of the ``clauses``.

    ``margin`` is how far the sample's mean lies above the lowest that is accepted of it (below, where it is negative);
    ``beyond`` and ``beyond_outer`` are how many weighings are short by more than the tolerance and the
    outer limit, ``wanted`` the size of a second sample.
    """

    nominal_g: float
    rule: str
    lot: int
    destructive: bool
    masses_g: tuple[float, ...]
    factor: float
    mean_g: float
    sd_g: float
    lowest_mean_g: float
    margin_g: float
    beyond: int
    beyond_outer: int
    clauses: tuple[Clause, ...]
    wanted: int
    cautions: tuple[Caution, ...] = ()

    nominal: ClassVar[View] = View(MASS, "nominal_g", "The nominal weight.")
    mean: ClassVar[View] = View(MASS, "mean_g", "The mean of the sample.")
    sd: ClassVar[View] = View(MASS, "sd_g", "The standard deviation of the sample.")
    lowest_mean: ClassVar[View] = View(MASS, "lowest_mean_g", "The lowest mean accepted of such a sample.")
    margin: ClassVar[View] = View(MASS, "margin_g", "How far the mean lies above it.")

    @property
    def verdict(self) -> Verdict:
        """What comes of all the clauses together."""
        outcomes = [clause.passed for clause in self.clauses]
        return "reject" if False in outcomes else "second sample" if None in outcomes else "accept"

    def __str__(self) -> str:
        """Return the verdict with a line for each clause."""
        more = f" of {self.wanted} more" if self.verdict == "second sample" else ""
        return "\n".join((f"{self.verdict}{more}", *(str(clause) for clause in self.clauses)))

    def working(self) -> Working:
        """Show the steps; the last line is the margin of the mean."""
        names = {f"m_{place}": mass_g for place, mass_g in enumerate(self.masses_g, 1)}
        steps, total = summed_steps("total", names, unit="g")
        count = {"n": float(len(names))}
        steps.append(Step("mean", "total / n", {"total": total, **count}, self.mean_g, "g"))
        values = {"nominal": self.nominal_g}
        lowest = "nominal"
        if self.factor:
            squares = math.fsum((mass_g - self.mean_g) ** 2 for mass_g in self.masses_g)
            known = {"squares": squares, **count}
            note = "squares is the sum of (m - mean) ** 2"
            steps.append(Step("s", "(squares / (n - 1)) ** 0.5", known, self.sd_g, "g", note=note))
            t = self.factor * math.sqrt(len(names))
            steps.append(Step("k", "t / n ** 0.5", {"t": t, **count}, self.factor, "1", note="Student's t of n - 1"))
            values |= {"k": self.factor, "s": self.sd_g}
            lowest = "nominal - k * s"
        law = weight_rule(self.rule)
        steps.append(
            Step("lowest", lowest, values, self.lowest_mean_g, "g", law.sources[0], "mean accepted of the sample")
        )
        last = {"mean": self.mean_g, "lowest": self.lowest_mean_g}
        steps.append(Step("margin", "mean - lowest", last, self.margin_g, "g"))
        told = {"g": "m nominal", "1": "n t", "g2": "squares"}
        return Working(f"Sample mean, {law.place}", with_units(steps, told), self.cautions)


def check_weighings(
    weighings: Weighings, nominal: Measure, *, rule: str = "eu", lot: int, destructive: bool = False
) -> WeighingCheck:
    """Hold a sample of weighings against a rule: the mean against Qn - t / sqrt(n) s, the short pieces against the plan.

    Args:
        weighings: the sample in the order it was weighed, as ``Weighing``, from ``read_weighings``, or plain masses:
            drawn at random from the lot, weighed as sold.
        nominal: the promised weight Qn, a mass.
        rule: the name of a rule; see ``weight_rules``.
        lot: how many pieces the lot has.
        destructive: whether weighing destroys the piece (its wrapping, say); Europe has a smaller plan for that.

    Returns:
        The verdict, and the reason of each clause, which are "mean", "T" (short by more than the tolerance) and "2T" ("MAV"
        alone).  The mean is of all weighings; pieces are counted in the first so many that the plan asks for, and where
        the first sample does not decide, in both.

    Raises:
        QuantityError: for every bad argument at once; a sample smaller than the plan asks for, with the size that it needs;
            a lot that the rule's plans do not reach.

    Range and accuracy: the factors are Student's t of the rule's confidence, to three digits those printed (0.503, 0.379,
    0.640; 0.291 of the United States' 48 comes out as 0.290).  Lots below 100 in Europe must be weighed whole; Canada's
    bulletin is held against the sample as it stands, without any doubt of it.  Weighings that are all the same have no
    spread: the mean is then compared as it is, and a caution says so.  Which plans are from memory the cautions tell.

    Example:
        >>> found = check_weighings(["397 g", "404 g", "401 g", "399 g", "403 g"] * 6, "400 g", lot=400)
        >>> found.verdict, round(found.margin_g, 2)
        ('accept', 2.11)
        >>> print(found.clauses[0])
        mean: passed; 400.8 g, accepted from 398.69 g
    """
    with Door() as door:
        nominal_g = door.read(MASS, nominal, "nominal")
        law = read_rule(door, rule, nominal_g)
        sample = read_sample(door, weighings)
        if isinstance(lot, bool) or not isinstance(lot, int) or lot < 2:  # pyright: ignore[reportUnnecessaryIsInstance]
            door.refuse("lot", cited(lot), "a whole number of 2 or more", "say how many pieces the lot has")
        elif not door.faults:
            _check_size(door, law, lot, len(sample), destructive=destructive)
    masses_g = tuple(weighing.mass_g for weighing in sample)
    plan = _plan(law, lot, destructive=destructive)
    factor = 0.0 if plan is None else mean_factor(law.confidence_share or 0.5, len(masses_g))
    mean_g, sd_g = fmean(masses_g), stdev(masses_g)
    lowest_g = nominal_g - factor * sd_g
    tolerance_g = law.tolerance_g(nominal_g)
    limit_g, outer_g = (grid(MASS, nominal_g - times * tolerance_g) for times in (1, law.outer))
    short, shorter = ([mass_g < least for mass_g in masses_g] for least in (limit_g, outer_g))
    comparison = f"{shown(mean_g)} g, accepted from {shown(lowest_g, 5)} g"
    clauses = [
        Clause("mean", grid(MASS, mean_g) >= grid(MASS, lowest_g), comparison),
        _count_clause("MAV" if law.beyond_share is None else "T", short, limit_g, plan, law),
    ]
    if law.beyond_share is not None:
        reason = f"{sum(shorter)} below {shown(outer_g)} g, allowed {law.doubly}"
        clauses.append(Clause(law.outer_name, sum(shorter) <= law.doubly, reason))
    sources = [plan.source] if plan else []
    return WeighingCheck(
        nominal_g=nominal_g,
        rule=law.name,
        lot=lot,
        destructive=destructive,
        masses_g=masses_g,
        factor=factor,
        mean_g=mean_g,
        sd_g=sd_g,
        lowest_mean_g=lowest_g,
        margin_g=mean_g - lowest_g,
        beyond=sum(short),
        beyond_outer=sum(shorter),
        clauses=tuple(clauses),
        wanted=max(0, (plan.both if plan and plan.both else 0) - len(masses_g)),
        cautions=(
            OWN_CHECK,
            *law.cautions(nominal_g),
            *memory_caution("the sampling plan", *sources),
            *((NO_SPREAD,) if sd_g == 0 else ()),
        ),
    )


def _plan(law: WeightRule, lot: int, *, destructive: bool) -> SamplingPlan | None:
    """Return the plan for a lot; None where the sample is held against the rule as it stands."""
    if lot < law.whole_lots_below:
        return None
    plans = law.destructive if destructive and law.destructive else law.plans
    return max((plan for plan in plans if plan.lot <= lot), key=lambda plan: plan.lot, default=None)


def _check_size(door: Door, law: WeightRule, lot: int, count: int, *, destructive: bool) -> None:
    """See that the sample is large enough for the plan of the lot, and the lot for any plan."""
    plan = _plan(law, lot, destructive=destructive)
    if count > lot:
        door.refuse("lot", str(lot), f"at least as many as were weighed, {count}", "give the size of the whole lot")
    elif lot < law.whole_lots_below:
        if destructive:
            got, larger = f"a lot of {lot} to be destroyed", f"a lot of {law.whole_lots_below} or more"
            door.refuse("destructive", got, larger, "smaller lots are weighed whole")
        if count < lot:
            door.refuse("weighings", str(count), f"all {lot} pieces of so small a lot", f"weigh {lot - count} more")
    elif plan is None and law.plans:
        least = min(plan.lot for plan in law.plans)
        door.refuse("lot", str(lot), f"a lot of {least} or more, the smallest that rule {law.name} has a plan for")
    else:
        least = 2 if plan is None else plan.sample
        if count < least:
            mend = f"weigh {least - count} more"
            door.refuse("weighings", str(count), f"at least {least} for a lot of {lot} under rule {law.name}", mend)


def _count_clause(name: str, short: list[bool], limit_g: float, plan: SamplingPlan | None, law: WeightRule) -> Clause:
    """Judge the number of short pieces by the plan, or by the share that the rule allows."""
    below = f"below {shown(limit_g)} g"
    if plan is None:
        # A share such as 2.5 % of 40 is one piece; the slack is for the last digit of a float.
        allowed = math.floor((law.beyond_share or 0.0) * len(short) + 1e-9)
        return Clause(name, sum(short) <= allowed, f"{sum(short)} of {len(short)} {below}, allowed {allowed}")
    first = sum(short[: plan.sample])
    reason = f"{first} of the first {plan.sample} {below}, accepted with {plan.accept}, rejected with {plan.reject}"
    if first <= plan.accept or first >= plan.reject:
        return Clause(name, first <= plan.accept, reason)
    if plan.both is None or plan.accept_both is None or len(short) < plan.both:
        return Clause(name, None, f"{reason}: a second sample decides")
    both = sum(short[: plan.both])
    reason = f"{reason}; {both} of both together, {plan.both}, accepted with {plan.accept_both}"
    return Clause(name, both <= plan.accept_both, reason)
