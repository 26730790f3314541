"""When the day does not fit: what is late or short, which station it waits for, and the cheapest changes that mend it.

Nothing is estimated: every change is planned anew, and what is said of it is read off the new timetable.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from typing import Any, ClassVar, Final

from attrs import field, frozen

from .changes import KINDS, Change, Kind, Setting, doubled, possible_changes
from .clockwork import Timetable
from .errors import FormulaError, QuantityError, cited
from .money import Money, read_money, rounded_money
from .process import Process
from .quantity import TIME, Door, Measure, OptionalView, write
from .working import Caution
from .workshop import check_gear, check_ovens

__all__ = ["Remedies", "Remedy", "Strain", "remedies"]

HOURS: Final = "the hours"
MOST_HELPING: Final = 5
"""Changes that only help are listed as far as a baker will read them."""


@frozen
class Remedy:
    """One change, or two together, and the day as it is after them.

    ``cost`` is what it costs where costs were given as money, ``work_h`` where they were given as time; else None.
    """

    what: str
    kinds: tuple[Kind, ...]
    timetable: Timetable
    cost: Money | None = None
    work_h: float | None = None

    work: ClassVar[OptionalView] = OptionalView(
        TIME, "work_h", "The work that it takes, where costs were given as time."
    )

    @property
    def fits(self) -> bool:
        """Whether everything is packed in time with it."""
        return self.timetable.fits

    @property
    def late_min(self) -> int:
        """Minutes by which the latest order is still late."""
        return self.timetable.late_min

    @property
    def late_pieces(self) -> int:
        """Pieces that are still late."""
        return self.timetable.late_pieces

    @property
    def short_pieces(self) -> int:
        """Pieces for which there is still no room."""
        return self.timetable.short_pieces


@frozen
class Strain:
    """What is left of the lateness if there were twice as much of a station: the less, the more the day waits for it."""

    station: str
    short_pieces: int
    late_pieces: int
    late_piece_min: int


@frozen
class Remedies:
    """What is wrong with a day, and what would mend it.

    ``strains`` has every station, the one that the day waits for most first; ``remedies`` the cheapest that mend it
    wholly first, then the five that help most; ``replans`` is how often the day was planned for it.
    """

    timetable: Timetable
    strains: tuple[Strain, ...]
    remedies: tuple[Remedy, ...]
    replans: int
    cautions: tuple[Caution, ...] = field(default=())

    @property
    def bottleneck(self) -> str:
        """The station whose doubling takes most of the lateness away; "the hours" if that of none takes any.

        "" for a day that fits.
        """
        if not self.strains:
            return ""
        first = self.strains[0]
        if _score(first) < _score(self.timetable):
            return first.station
        return HOURS

    @property
    def best(self) -> Remedy | None:
        """The cheapest remedy that mends the day wholly, if there is one."""
        return next((each for each in self.remedies if each.fits), None)

    @property
    def said(self) -> tuple[str, ...]:
        """What is wrong and what would mend it, a sentence each."""
        table = self.timetable
        if table.fits:
            return ("The day fits: every order is packed in time.",)
        lines = [
            f"{table.late_pieces} pieces are late, the last of them by {table.late_min} min."
            if table.late_pieces
            else "No piece is late."
        ]
        if table.short_pieces:
            lines.append(f"For {table.short_pieces} pieces there is no room at all.")
        lines.append(f"The day waits for {self.bottleneck}.")
        for remedy in self.remedies:
            left = "then all is in time"
            if not remedy.fits:
                left = f"then {remedy.late_pieces} pieces are late, the last by {remedy.late_min} min"
                left += f", and {remedy.short_pieces} short" if remedy.short_pieces else ""
            cost = "" if remedy.cost is None else f" ({remedy.cost})"
            work = "" if remedy.work_h is None else f" ({write(TIME, remedy.work_h)})"
            lines.append(f"{remedy.what[:1].upper()}{remedy.what[1:]}{cost}{work}: {left}.")
        return tuple(lines)

    def to_tables(self) -> dict[str, Any]:
        """Return all of it as plain tables for other programs; the timetables are left to each remedy."""
        table = self.timetable
        return {
            "fits": table.fits,
            "late_min": table.late_min,
            "late_pieces": table.late_pieces,
            "late_piece_min": table.late_piece_min,
            "short_pieces": table.short_pieces,
            "bottleneck": self.bottleneck,
            "strains": [
                {
                    "station": each.station,
                    "short_pieces": each.short_pieces,
                    "late_pieces": each.late_pieces,
                    "late_piece_min": each.late_piece_min,
                }
                for each in self.strains
            ],
            "remedies": [
                {
                    "what": each.what,
                    "kinds": list(each.kinds),
                    "cost": None if each.cost is None else str(each.cost),
                    "work_h": each.work_h,
                    "fits": each.fits,
                    "late_min": each.late_min,
                    "late_pieces": each.late_pieces,
                    "late_piece_min": each.timetable.late_piece_min,
                    "short_pieces": each.short_pieces,
                }
                for each in self.remedies
            ],
            "replans": self.replans,
            "cautions": [{"code": caution.code, "text": caution.text} for caution in self.cautions],
        }


def _score(found: Timetable | Strain) -> tuple[int, int]:
    """What is worse than what: pieces not made at all, then the minutes by which pieces are late."""
    return found.short_pieces, found.late_piece_min


@frozen
class _Tried:
    """Some changes with the day planned anew after them."""

    changes: tuple[Change, ...]
    timetable: Timetable

    def rank(self, costs: _Costs | None) -> tuple[object, ...]:
        """What mends the day before what only helps; the former by what it costs, the latter by what is left."""
        rule = (len(self.changes), sorted((each.rank for each in self.changes), reverse=True))
        price = (costs.total(self.changes) if costs else 0, *rule)
        return (False, *price) if self.timetable.fits else (True, _score(self.timetable), *price)

    def told(self, costs: _Costs | None) -> Remedy:
        """Return it as a remedy."""
        what = " and ".join(change.what for change in self.changes)
        kinds: tuple[Kind, ...] = tuple(change.kind for change in self.changes)
        if costs is None:
            return Remedy(what, kinds, self.timetable)
        total = costs.total(self.changes)
        if not costs.currency:
            return Remedy(what, kinds, self.timetable, work_h=float(total))
        return Remedy(what, kinds, self.timetable, rounded_money(total, costs.currency))


@frozen
class _Costs:
    """What a unit of each kind of change costs: exact money, or hours where the currency is empty."""

    units: Mapping[Kind, Fraction]
    currency: str

    def total(self, changes: tuple[Change, ...]) -> Fraction:
        return sum((self.units[each.kind] * Fraction(each.units) for each in changes), Fraction())


class _Search:
    """Plan the day again and again, up to a number of times."""

    def __init__(self, most: int, progress: Callable[[str], None] | None) -> None:
        self.done, self.most, self.progress = 0, most, progress

    def plan(self, setting: Setting | None, what: str) -> Timetable | None:
        """Plan a setting, if there is one and it is not too much."""
        if setting is None or self.done >= self.most:
            return None
        self.done += 1
        if self.progress is not None:
            self.progress(f"{self.done} of at most {self.most}: {what}")
        return setting.planned()

    def tried(self, setting: Setting, *changes: Change) -> _Tried | None:
        """Plan the day after some changes, one after the other."""
        made: Setting | None = setting
        for change in changes:
            made = made.with_change(change) if made else None
        table = self.plan(made, " and ".join(change.what for change in changes))
        return None if table is None else _Tried(changes, table)


def remedies(
    table: Timetable,
    *,
    variants: Mapping[str, Mapping[str, Process]] | None = None,
    costs: Mapping[Kind, Measure | Money] | None = None,
    most_replans: int = 200,
    progress: Callable[[str], None] | None = None,
) -> Remedies:
    """Find what a day that does not fit waits for, and the cheapest changes that mend it.

    Every station is doubled in turn, and the day planned anew: the one with which least lateness is left is the
    bottleneck.  Then every single change is planned: mixes in the order of their deliveries, a break moved, a bread in
    another mixer or in more or fewer mixes, another process, an earlier opening, a longer shift, one more person, a
    quicker turn-round, more places, tubs or gear, one more mixer or oven.  If none of them is enough, two together.

    Args:
        table: the day that does not fit.
        variants: bread -> name -> another process for it, such as one retarded overnight: its times are yours.
        costs: what a change of each kind costs, all as money ("90 EUR") or all as work ("2 h"): an opening, a shift or the
            moving of a break by the hour, everything else by the piece.  What is not named is not to be had.  Without it,
            all are tried and ordered by a plain rule: what costs nothing but thought, then hours, then hands, then places
            and gear, then machines; the smaller change first.
        most_replans: how often the day may be planned for all this.
        progress: is called with a line before each time.

    Returns:
        What is late or short, the bottleneck, and the remedies, each with its timetable; nothing to mend if it fits.

    Raises:
        FormulaError: an unknown kind of change or bread, a process with an oven or gear that is not there; all at once.

    Accuracy: a remedy that is said to mend the day does, in the plan that is given with it.  That none is found does not
    prove that there is none: the plain plan is not the best there is, and no more than two changes are joined.

    Example:
        >>> from formula import Bakery, Formula, Mixer, Order, Oven, Wait, Workshop, plan_day, timetable
        >>> bakery = Bakery("Harbour Bakery", mixers=[Mixer("spiral", capacity="100 kg", friction="20 K")],
        ...     flour="20 °C", room="22 °C", tap="14 °C")
        >>> rounds = Process(mix="20 min", bulk="1 h", proof=Wait("1 h", latest="1 h 20 min"),
        ...     bake="30 min", loads={"deck": 40})
        >>> shop = Workshop(opens="00:00", ovens=[Oven("deck")], processes={"Quay Round": rounds})
        >>> bread = Formula.from_percents("Quay Round", {"bread flour": 100, "water": 68, "salt": 2, "fresh yeast": 1})
        >>> day = plan_day([Order(bread, pieces=80, baked="800 g", due="03:00")], bakery, shop)
        >>> found = remedies(timetable(day, shop))
        >>> found.bottleneck, found.best.what
        ('deck', 'open 30 min earlier, at 23:30 the day before')
    """
    setting = Setting(table.day, table.workshop, table.order)
    priced = _check(setting, variants or {}, costs)
    if table.fits:
        return Remedies(table, (), (), 0)
    search = _Search(most_replans, progress)
    strains = tuple(sorted(_strains(setting, search), key=_score))
    changes = [change for change in possible_changes(setting, variants or {}) if costs is None or change.kind in costs]
    single = [tried for change in changes if (tried := search.tried(setting, change))]
    found = [tried for tried in single if _score(tried.timetable) < _score(table)]
    if not any(tried.timetable.fits for tried in found):
        found += [
            pair
            for one, other in _pairs(single, table)
            if (pair := search.tried(setting, *one.changes, *other.changes))
            and _score(pair.timetable) < min(_score(one.timetable), _score(other.timetable))
        ]
    cautions = []
    if search.done >= most_replans:
        text = f"stopped after {most_replans} plans of the day: there may be cheaper remedies"
        cautions.append(Caution("search-stopped", text))
    found.sort(key=lambda tried: tried.rank(priced))
    mending = [tried for tried in found if tried.timetable.fits]
    helping = found[len(mending) :]
    listed = tuple(tried.told(priced) for tried in (*mending, *helping[:MOST_HELPING]))
    return Remedies(table, strains, listed, search.done, tuple(cautions))


def _strains(setting: Setting, search: _Search) -> Iterator[Strain]:
    for station, twice in doubled(setting):
        table = search.plan(twice, f"twice as much of {station}")
        if table is not None:
            yield Strain(station, table.short_pieces, table.late_pieces, table.late_piece_min)


def _pairs(single: list[_Tried], table: Timetable) -> list[tuple[_Tried, _Tried]]:
    """Return two changes at a time, those first that help most alone; one of the two must help."""
    ranked = sorted(single, key=lambda tried: _score(tried.timetable))
    pairs = [
        (one, other)
        for place, one in enumerate(ranked)
        if _score(one.timetable) < _score(table)
        for other in ranked[place:]
        if _go_together(*one.changes, *other.changes)
    ]
    return sorted(
        pairs, key=lambda pair: [sum(each) for each in zip(*(_score(t.timetable) for t in pair), strict=True)]
    )


def _go_together(one: Change, other: Change) -> bool:
    """Whether two changes are more than the one: people and machines can be added twice, two openings are one."""
    if one == other:
        return one.kind in {"people", "mixer", "oven"}
    return one.kind != other.kind or one.kind != "opening"


def _check(
    setting: Setting,
    variants: Mapping[str, Mapping[str, Process]],
    costs: Mapping[Kind, Measure | Money] | None,
) -> _Costs | None:
    """Hold what was given against the day, and read the costs."""
    workshop = setting.workshop
    names = dict.fromkeys(name for plan in setting.day.breads for name in (plan.weighed_name, plan.bread.name))
    units: dict[Kind, Fraction] = {}
    currencies: set[str] = set()
    with Door(FormulaError) as door:
        for bread, named in variants.items():
            if bread not in names:
                door.refuse("variants", cited(bread), f"a bread of the day: {', '.join(names)}")
            told = {f"variants: {bread}: {name}": process for name, process in named.items()}
            check_ovens(door, workshop.ovens, told)
            check_gear(door, workshop.gear, told)
        for kind, cost in (costs or {}).items():
            if kind not in KINDS:
                door.refuse("costs", cited(kind), f"one of {', '.join(KINDS)}")
                continue
            try:
                money = read_money(cost, "") if isinstance(cost, (str, Money)) else None
            except QuantityError:
                money = None
            hours = 0.0 if money else door.read(TIME, cost, f"costs: {kind}")  # type: ignore[arg-type]
            if money or not math.isnan(hours):
                units[kind] = Fraction(money.amount) if money else Fraction(hours)
                currencies.add(money.currency if money else "")
        if len(currencies) > 1:
            got = " and ".join(sorted(each or "time" for each in currencies))
            door.refuse("costs", got, "all of them as money of one currency, or all as time")
    return None if costs is None else _Costs(units, *(currencies or {""}))
