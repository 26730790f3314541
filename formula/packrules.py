"""Rules of net weight: what the law of each place lets a piece fall short by, as data from ``packrules.toml``.

A rule has a table of tolerances T over the nominal weight (in the European law the tolerable negative error, in the
handbook of the United States the maximum allowable variation).  The mean must reach the nominal weight; a small share of
the pieces may fall short by more than T, and none by more than the outer limit, which is 2 T, or T itself where there is
no such share.  All of it is to be verified before legal use: law changes, and some rows are from memory.
"""

from __future__ import annotations

import math
import pkgutil
import tomllib
from functools import cache
from typing import Any, ClassVar, Final, cast

from attrs import frozen

from .errors import Fault, QuantityError, UnknownNameError
from .quantity import MASS, SHARE, Door, Measure, View, grid, read, write
from .sources import source
from .working import Caution, Step, Working, shown

__all__ = [
    "VERIFY",
    "SamplingPlan",
    "ScaleInterval",
    "ToleranceRow",
    "WeightRule",
    "memory_caution",
    "read_rule",
    "scale_interval",
    "weight_rule",
    "weight_rules",
]

VERIFY: Final = Caution(
    "verify-before-legal-use",
    "Verify before legal use: weights and measures law differs from place to place and changes; the local authority and"
    " licensed practice decide.",
)


@frozen
class ToleranceRow:
    """One row of a rule's table: up to ``to_g`` the tolerance is ``percent`` of the nominal weight, or ``mass_g``.

    ``in_grams_g`` is what the table prints in grams beside pounds, a rounding of the same.
    """

    to_g: float
    percent: float | None
    mass_g: float | None
    in_grams_g: float | None
    source: str


@frozen
class SamplingPlan:
    """From ``lot`` pieces on, how many are weighed and how many of them may be short beyond the tolerance.

    With more than ``accept`` and fewer than ``reject`` a second sample decides: of ``both`` pieces together,
    ``accept_both`` may be short.
    """

    lot: int
    sample: int
    accept: int
    reject: int
    source: str
    both: int | None = None
    accept_both: int | None = None


@frozen
class WeightRule:
    """The rule of one place.

    Attributes:
        name: how it is called for here, such as "eu".
        place: where it holds.
        law: the text it stands in.
        from_g: the smallest nominal weight of its table.
        rows: the table.
        beyond_share: the share that may be short by more than T; None where T is the outer limit itself.
        outer: how many T nobody may be short by.
        doubly: pieces of a sample that may be short beyond the outer limit all the same.
        steps_per_g: percentages are rounded up to whole steps of this many a gram; None where they are not.
        confidence_share: of the test of a sample's mean; None where a sample's mean is compared as it is.
        plans: how samples of a lot are judged.
        destructive: the plans where weighing destroys the piece.
        whole_lots_below: lots smaller than this are weighed whole; 0 where the rule has no such number.
        sources: ids of the sources of its rules, beside those of its rows.
    """

    name: str
    place: str
    law: str
    from_g: float
    rows: tuple[ToleranceRow, ...]
    beyond_share: float | None
    outer: int
    doubly: int
    steps_per_g: int | None
    confidence_share: float | None
    plans: tuple[SamplingPlan, ...]
    destructive: tuple[SamplingPlan, ...]
    whole_lots_below: int
    sources: tuple[str, ...]

    def __str__(self) -> str:
        """Return the rule in words."""
        return f"{self.name}: {self.place}, {self.law}, {self.range}"

    @property
    def range(self) -> str:
        """The nominal weights of its table, in words."""
        low = write(MASS, self.from_g) if self.from_g else "above 0 g"
        last = self.rows[-1]
        if math.isinf(last.to_g):
            return f"{low} and more"
        return f"{low} to {write(MASS, last.to_g, 'lb' if last.in_grams_g else 'kg')}"

    @property
    def outer_name(self) -> str:
        """What the outer limit is called: "2T", or "MAV" where it is the tolerance itself."""
        return "MAV" if self.beyond_share is None else f"{self.outer}T"

    def covers(self, nominal_g: float) -> bool:
        """Whether the table has a row for a nominal weight, g."""
        return 0 < nominal_g <= self.rows[-1].to_g and nominal_g >= self.from_g

    def row(self, nominal_g: float) -> ToleranceRow:
        """Return the row for a nominal weight, g, that the table covers."""
        return next(row for row in self.rows if nominal_g <= row.to_g)

    def tolerance_g(self, nominal_g: float) -> float:
        """Return the tolerance T of a nominal weight, g: that of its row, or its percentage, rounded up if so ruled.

        Example:
            >>> weight_rule("eu").tolerance_g(400.0), weight_rule("eu").tolerance_g(7.5)
            (12.0, 0.7)
        """
        row = self.row(nominal_g)
        if row.percent is None:
            return row.mass_g or 0.0
        if self.steps_per_g is None:
            return nominal_g * row.percent / 100
        # Multiplied out first, 400 * 3 * 10 stays exact; 400 * 0.03 * 10 would not, and be rounded up a step too far.
        return math.ceil(nominal_g * row.percent * self.steps_per_g / 100) / self.steps_per_g

    def tolerance_step(self, nominal_g: float) -> Step:
        """Return how the tolerance comes about, as a step of a working."""
        row, tolerance_g = self.row(nominal_g), self.tolerance_g(nominal_g)
        note = f"{self.law}, {self.place}"
        if row.percent is None:
            return Step("T", "T_table", {"T_table": tolerance_g}, tolerance_g, "g", row.source, note, {"T_table": "g"})
        values, units = {"nominal": nominal_g, "percent": row.percent}, {"nominal": "g", "percent": "%"}
        if self.steps_per_g is None:
            return Step("T", "nominal * percent / 100", values, tolerance_g, "g", row.source, note, units)
        per = str(self.steps_per_g)
        expression = f"ceil(nominal * percent * {per} / 100) / {per}"
        return Step("T", expression, values, tolerance_g, "g", row.source, f"{note}; rounded up", units)

    def cautions(self, nominal_g: float) -> tuple[Caution, ...]:
        """Return what to know before using the rule for a nominal weight, g."""
        return (VERIFY, *memory_caution(f"rule {self.name}", self.row(nominal_g).source, self.sources[0]))


def memory_caution(what: str, *names: str) -> tuple[Caution, ...]:
    """Say so if one of some sources is known from memory alone.

    Args:
        what: the name of what rests on them.
        names: ids of the sources.

    Example:
        >>> print(*memory_caution("rule us", "nist-hb-133-tables"))
        From memory, not read: rule us (nist-hb-133-tables).
    """
    recalled = [name for name in dict.fromkeys(names) if source(name).known_by == "memory"]
    return (Caution("from-memory", f"From memory, not read: {what} ({', '.join(recalled)})."),) if recalled else ()


@cache
def _file() -> dict[str, Any]:
    text = cast("bytes", pkgutil.get_data("formula", "packrules.toml")).decode("utf-8")
    return tomllib.loads(text)


@cache
def weight_rules() -> tuple[WeightRule, ...]:
    """Return every rule of net weight.

    Example:
        >>> for rule in weight_rules():
        ...     print(rule)
        eu: European Union, Directive 76/211/EEC, 5 g to 10 kg
        uk: United Kingdom, Packaged Goods Regulations 2006, 5 g and more
        de: Germany, Fertigpackungsverordnung 2020, section 9, 5 g to 10 kg
        oiml: OIML, Recommendation R 87, 5 g and more
        ca: Canada, Food Inspection Agency, retail bulletin, above 0 g to 10 kg
        us: United States, NIST Handbook 133, above 0 g to 4.7 lb
    """
    file = _file()
    plans = {
        name: tuple(SamplingPlan(**row) for row in rows) for name, rows in cast("dict[str, Any]", file["plans"]).items()
    }
    return tuple(
        WeightRule(
            name=name,
            place=facts["place"],
            law=facts["law"],
            from_g=read(MASS, facts["from"], name),
            rows=tuple(_row(row) for table in facts["tables"] for row in file["tables"][table]),
            beyond_share=read(SHARE, facts["beyond"], name) if "beyond" in facts else None,
            outer=facts["outer"],
            doubly=facts.get("doubly", 0),
            steps_per_g=round(1 / read(MASS, facts["round_up"], name)) if "round_up" in facts else None,
            confidence_share=read(SHARE, facts["confidence"], name) if "confidence" in facts else None,
            plans=plans.get(facts.get("plans", ""), ()),
            destructive=plans.get(facts.get("destructive", ""), ()),
            whole_lots_below=facts.get("whole_lots_below", 0),
            sources=tuple(facts["sources"]),
        )
        for name, facts in cast("dict[str, Any]", file["rules"]).items()
    )


def _row(facts: dict[str, str]) -> ToleranceRow:
    text, in_grams = facts["tolerance"], facts.get("in_grams")
    is_share = text.endswith("%")
    return ToleranceRow(
        to_g=read(MASS, facts["to"], "to") if facts["to"] else math.inf,
        percent=grid(SHARE, 100 * read(SHARE, text, "tolerance")) if is_share else None,
        mass_g=None if is_share else read(MASS, text, "tolerance"),
        in_grams_g=read(MASS, in_grams, "in_grams") if in_grams else None,
        source=facts["source"],
    )


def weight_rule(name: str) -> WeightRule:
    """Return a rule of net weight by its name.

    Args:
        name: "eu", "uk", "de", "oiml", "ca" or "us".

    Raises:
        UnknownNameError: when there is none of this name.

    Example:
        >>> weight_rule("de").beyond_share
        0.02
    """
    for rule in weight_rules():
        if rule.name == name:
            return rule
    known = ", ".join(f'"{rule.name}" ({rule.place})' for rule in weight_rules())
    raise UnknownNameError(Fault("rule", repr(name), f"one of {known}"))


def read_rule(door: Door, rule: str, nominal_g: float) -> WeightRule:
    """Read a rule by its name at a door, and see that its table covers the nominal weight.

    Args:
        door: where faults are noted.
        rule: the rule's name.
        nominal_g: the nominal weight, g; NaN if it could not be read.
    """
    try:
        found = weight_rule(rule)
    except UnknownNameError as error:
        door.faults.extend(error.faults)
        return weight_rules()[0]
    if not math.isnan(nominal_g) and not found.covers(nominal_g):
        wider = ", ".join(other.name for other in weight_rules() if other.covers(nominal_g))
        mend = f"the rules that have it: {wider}" if wider else "no rule here has such a weight"
        door.refuse("nominal", f"{shown(nominal_g)} g", f'{found.range}, the table of rule "{found.name}"', mend)
    return found


@frozen
class ScaleInterval:
    """The largest scale interval, ``interval``, of the scale that checks pieces of a nominal weight in Germany."""

    nominal_g: float
    interval_g: float
    source: str
    cautions: tuple[Caution, ...] = (VERIFY,)

    nominal: ClassVar[View] = View(MASS, "nominal_g", "The nominal weight asked about.")
    interval: ClassVar[View] = View(MASS, "interval_g", "The largest scale interval allowed.")

    def working(self) -> Working:
        """Show the step; it is the row of a table."""
        values = {"d_table": self.interval_g}
        step = Step(
            "d",
            "d_table",
            values,
            self.interval_g,
            "g",
            self.source,
            f"for {shown(self.nominal_g)} g",
            {"d_table": "g"},
        )
        return Working("Largest scale interval", (step,), self.cautions)


def scale_interval(nominal: Measure) -> ScaleInterval:
    """Find the largest scale interval that a checking scale may have in Germany for a nominal weight.

    Args:
        nominal: the nominal weight of the piece, a mass.

    Raises:
        QuantityError: when it is no mass, or outside the rows of the table that were read, 175 g to below 5 kg.

    The source is ``fpackv-2020``, the annex on scale intervals.

    Example:
        >>> scale_interval("400 g").interval_g, scale_interval("500 g").interval_g
        (1.0, 2.0)
    """
    nominal_g = read(MASS, nominal, "nominal")
    rows: list[dict[str, str]] = _file()["intervals"]["rows"]
    for row in rows:
        if read(MASS, row["from"], "from") <= nominal_g < read(MASS, row["below"], "below"):
            return ScaleInterval(nominal_g, read(MASS, row["interval"], "interval"), row["source"])
    expected = f"{rows[0]['from']} to below {rows[-1]['below']}, the rows that were read"
    raise QuantityError(Fault("nominal", write(MASS, nominal_g), expected, "look it up in the regulation"))
