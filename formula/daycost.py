"""What a day costs: every bread by itself, and all of them together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from attrs import evolve, frozen

from .bill import LINE_KINDS, BatchCost, CostLine
from .breadplan import BreadPlan
from .clockwork import Timetable
from .cost import Made, check_rounding, cost_of, named
from .day import DayPlan
from .errors import FormulaError
from .expenses import Expenses
from .lines import Lines
from .money import Money, MoneyRule, Price, apportioned
from .prices import Prices
from .quantity import Door
from .working import Caution, Working

__all__ = ["DayCost", "price_day"]


@frozen
class DayCost:
    """The cost of a day: ``breads`` by name, and the ``whole`` with the lines of all of them added up."""

    whole: BatchCost
    breads: Lines[BatchCost]

    @property
    def total(self) -> Money:
        """The cost of the day."""
        return self.whole.total

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What to know before using it."""
        return self.whole.cautions

    @property
    def costs(self) -> Lines[Money]:
        """What each bread costs; they add up to the total, to the last coin."""
        whole = self.whole
        parts = apportioned((bread.exact for bread in self.breads.values()), whole.currency, whole.rule, whole.digits)
        return Lines(zip(self.breads, parts, strict=True))

    def working(self) -> Working:
        """Show the day's lines and their sum; each bread has a working of its own."""
        return self.whole.working()


def price_day(
    plan: DayPlan,
    prices: Prices | Mapping[str, str | Price],
    *,
    timetable: Timetable | None = None,
    rounding: MoneyRule = "half up",
    digits: int | None = None,
) -> DayCost:
    """Find what a day costs, bread by bread.

    The dough is paid for as it is weighed, rounded mixes and all.  Of the pieces made, those ordered are offered for
    sale: rejects, as many as the orders allow for, and spares are carried by them; ``reject`` of the expenses is not asked.
    A piece weighs what the divider's step makes of it, and what that is
    more than ordered is giveaway, unless the bread's expenses say how much that is.

    Args:
        plan: the day.
        prices: the price list; with the expenses of each bread, under the name it has in the day ("Quay Round 800 g", or
            "Quay Round" whatever it weighs).
        timetable: of this day: then loads are those it sets, and labour is the time of its people at the bench (dividing
            and shaping), in place of the expenses' ``load_pieces`` and ``labour``.
        rounding: "half up" or "half even".
        digits: digits after the point in all that is shown; the currency's own if left out.

    Raises:
        FormulaError: every price that is missing for any bread, a second currency, a timetable of another day or with
            mixes for which it found no place; all at once.

    Example:
        >>> from formula import load_day, load_prices, plan_day
        >>> day = plan_day(*load_day("docs/examples/harbour"))
        >>> cost = price_day(day, load_prices("docs/examples/harbour/prices.toml"))
        >>> cost.total == cost.whole.total
        True
    """
    with Door(FormulaError) as door:
        check_rounding(door, rounding, digits)
        if timetable and timetable.day != plan:
            door.refuse("timetable", "one of another day", "one of this day", "make it of this plan")
        elif timetable and timetable.unplaced:
            got = f"{len(timetable.unplaced)} mixes without a place"
            door.refuse("timetable", got, "one in which every mix has its place", "make room in the workshop first")
    price_list = prices if isinstance(prices, Prices) else Prices(prices)
    found: dict[str, BatchCost] = {}
    gate = Door(FormulaError)
    for bread in plan.breads:
        taken = price_list.expenses_of(bread.name, bread.bread.name)
        made = _made(bread, taken, timetable)
        cost = cost_of(gate, made, price_list, taken, rounding, digits, bread.piece_g)
        found[bread.name] = evolve(cost, name=bread.name)
    if gate.faults:
        # What several breads lack is missing once.
        raise FormulaError(*dict.fromkeys(gate.faults))
    return DayCost(_whole(plan.bakery.name, tuple(found.values())), Lines(found))


def _made(plan: BreadPlan, expenses: Expenses, timetable: Timetable | None) -> Made:
    dough_g: dict[str, float] = {}
    for mix in plan.mixes:
        for name, grams in named(mix.batch).items():
            dough_g[name] = dough_g.get(name, 0.0) + mix.count * grams
    tasks = [task for task in timetable.tasks if task.bread == plan.name] if timetable else []
    bench_min = sum(task.count * (task.end_min - task.begin_min) for task in tasks if task.station == "bench")
    baked_g = plan.piece_g * plan.losses.after_divider_left
    return Made(
        bread=plan.bread,
        dough_g=Lines(dough_g),
        mixes=plan.mix_count,
        pieces=plan.pieces,
        baked_g=baked_g,
        bread_g=plan.pieces * baked_g,
        losses=plan.losses,
        good=Fraction(plan.ordered),
        packed=Fraction(plan.ordered + plan.spares),
        giveaway_g=expenses.giveaway_g or baked_g - plan.baked_g,
        loads=sum(task.what == "bake" for task in tasks) if timetable else None,
        labour_h=bench_min / 60 if timetable else None,
    )


def _whole(name: str, costs: tuple[BatchCost, ...]) -> BatchCost:
    """Add up the breads; what stands for one piece is a mean over all of them."""
    pieces, bread_g = sum(cost.pieces for cost in costs), sum(cost.bread_g for cost in costs)
    given_g = sum(cost.pieces * cost.giveaway_g for cost in costs)
    carried: dict[str, Fraction] = {}
    for cost in costs:
        for what, amount in cost.carried_exact.items():
            carried[what] = carried.get(what, Fraction(0)) + amount
    first = costs[0]
    return BatchCost(
        name=name,
        lines=tuple(_added(costs)),
        currency=first.currency,
        rule=first.rule,
        digits=first.digits,
        mixes=sum(cost.mixes for cost in costs),
        pieces=pieces,
        baked_g=bread_g / pieces,
        bread_g=bread_g,
        good=sum((cost.good for cost in costs), Fraction(0)),
        sold=sum((cost.sold for cost in costs), Fraction(0)),
        giveaway_g=given_g / pieces,
        carried_exact=Lines(carried),
        cautions=_cautions(costs),
    )


def _added(costs: Iterable[BatchCost]) -> Iterable[CostLine]:
    """Add up the lines of all breads, the same at the same price into one."""
    sums: dict[str, CostLine] = {}
    for cost in costs:
        for line in cost.lines:
            name, known = line.name, sums.get(line.name)
            if known and (known.price, known.per_unit, known.unit) != (line.price, line.per_unit, line.unit):
                # One oven paid by the load and another by the kilowatt-hour cannot be counted together.
                name = f"{line.name} ({cost.name})"
                known = sums.get(name)
            amount = line.amount + (known.amount if known else 0.0)
            total = line.exact + (known.exact if known else Fraction(0))
            sums[name] = evolve(line, name=name, amount=amount, exact=total)
    return sorted(sums.values(), key=lambda line: LINE_KINDS.index(line.kind))


def _cautions(costs: tuple[BatchCost, ...]) -> tuple[Caution, ...]:
    """Tell what holds for every bread once, and what holds for some with their names."""
    names: dict[Caution, list[str]] = {}
    for cost in costs:
        for caution in cost.cautions:
            names.setdefault(caution, []).append(cost.name)
    return tuple(
        caution if len(breads) == len(costs) else evolve(caution, text=f"{', '.join(breads)}: {caution.text}")
        for caution, breads in names.items()
    )
