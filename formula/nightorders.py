"""Orders changed at night, when preferments, levains and soakers already stand: what they carry, and what to do else.

Where too little stands: the largest order that it carries, bread by bread, or a preferment stretched over all the dough.
Where too much stands: more of a bread that takes it, a dough with more of it, or old dough for tomorrow, up to a limit.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any

from attrs import frozen

from .breadplan import BreadPlan
from .clockwork import Timetable, timetable
from .counting import even
from .day import DayPlan, plan_day
from .errors import FormulaError
from .evening import StageBuilds
from .growth import read_growth
from .lines import Lines
from .mixes import SMALL_G
from .orders import Order
from .quantity import MASS, TEMPERATURE, TIME, Door, Measure, write
from .readerunits import with_units
from .refit import parts_of
from .samestage import Key, Recipe, at_the_mixer, recipes_of, uses_at_mixes
from .stage import FINAL
from .standing import CarriedBread, StandingStage
from .stretch import Stretch, stretch_preferment
from .working import Caution, Step, Working

__all__ = ["ChangedOrders", "changed_orders"]


@frozen
class ChangedOrders:
    """What the stages that stand mean for changed orders: the ``stages``, the ``breads``, and stretched doughs.

    ``stretches`` holds, by the bread's name, the dough in which all of its preferments that stand are used as they are.
    """

    table: Timetable
    stages: tuple[StandingStage, ...]
    breads: tuple[CarriedBread, ...]
    stretches: Lines[Stretch]
    cautions: tuple[Caution, ...] = ()

    @property
    def day(self) -> DayPlan:
        """The plan of the changed orders, as if every stage were there."""
        return self.table.day

    @property
    def are_carried(self) -> bool:
        """Whether the changed orders can be made as they are."""
        return all(stage.short_g <= SMALL_G for stage in self.stages)

    @property
    def carried_share(self) -> float:
        """The part of the changed orders that can be made if all breads are cut alike; at most 1."""
        return min([1.0, *(stage.usable_g / stage.needed_g for stage in self.stages if stage.needed_g > 0)])

    def stage(self, name: str) -> StandingStage | None:
        """Return a stage by the name of its build; None if there is none."""
        return next((stage for stage in self.stages if stage.name == name), None)

    def working(self) -> Working:
        """Show the part of the changed orders that every stage carries; the last line is the least of them."""
        shares: dict[str, float] = {}
        steps: list[Step] = []
        for number, stage in enumerate((each for each in self.stages if each.needed_g > 0), 1):
            values = {f"usable_{number}": stage.usable_g, f"needed_{number}": stage.needed_g}
            shares[f"part_{number}"] = stage.usable_g / stage.needed_g
            expression = f"usable_{number} / needed_{number}"
            steps.append(Step(f"part_{number}", expression, values, shares[f"part_{number}"], "1", note=stage.name))
        whole = f"min(1, {', '.join(shares)})" if shares else "1"
        steps.append(Step("carried", whole, shares, self.carried_share, "1", note="of the orders, all cut alike"))
        return Working("Changed orders and what stands", with_units(steps, {"g": "usable needed"}), self.cautions)

    def to_tables(self) -> dict[str, Any]:
        """Return everything as plain tables for other programs; weights in g, times in h, percentages of all the flour."""
        return {
            "are_carried": self.are_carried,
            "carried_share": self.carried_share,
            "stages": [
                {
                    "stage": stage.name,
                    "standing_g": stage.standing_g,
                    "usable_g": stage.usable_g,
                    "needed_g": stage.needed_g,
                    "short_g": stage.short_g,
                    "surplus_g": stage.surplus_g,
                    "held_g": stage.held_g,
                    "left_over_g": stage.left_over_g,
                }
                for stage in self.stages
            ],
            "breads": [
                {
                    "bread": each.bread,
                    "pieces": each.pieces,
                    "most": each.most,
                    "most_ordered": each.most_ordered,
                }
                for each in self.breads
            ],
            "stretches": {
                name: {
                    "prefermented_percent": each.percent,
                    "yeast": each.yeast,
                    "more_percent": each.more_percent,
                    "time_h": each.time_h,
                    "new_time_h": each.new_time_h,
                    "low_h": each.low_h,
                    "high_h": each.high_h,
                    "cautions": [{"code": caution.code, "text": caution.text} for caution in each.cautions],
                }
                for name, each in self.stretches.items()
            },
            "cautions": [{"code": caution.code, "text": caution.text} for caution in self.cautions],
        }


def changed_orders(
    builds: StageBuilds,
    orders: Iterable[Order],
    *,
    standing: Mapping[str, Measure] | None = None,
    hold: Mapping[str, Measure] | None = None,
    growth: float = 1.0,
) -> ChangedOrders:
    """Hold changed orders against the stages that stand.

    usable = standing * (1 - loss) - seed, and what the changed orders take is the sum over their mixes.  The most of a bread
    = (usable - what the other breads take) / what a piece takes, rounded down, over all its stages.  A preferment is
    stretched by usable / needed, over all the breads that take it.

    Args:
        builds: the builds as they were planned and made in the evening.
        orders: all that is still to be mixed.
        standing: build -> what stands of it now, weighed; as planned where it is left out.
        hold: build -> the most of it that the bakery holds as old dough; nothing where it is left out.
        growth: how much the yeast in preferments has grown, 0 to 1; see ``stretch_preferment``.

    Returns:
        Each stage with what is short or left, each bread with the largest order, and each bread with preferments stretched
        over its dough where they do not stand in the right amount.

    Raises:
        FormulaError: bad arguments, all at once; what ``plan_day`` and ``timetable`` refuse of the orders.

    Range: the largest order looks at stages alone, not at ovens or the clock; that a build is ripe when the changed mixes
    come is checked, and told where it is not.  The changed day is planned as a whole from the opening on.

    Example:
        >>> from formula import load_day, load_workshop, plan_day, timetable
        >>> shop = load_workshop("docs/examples/harbour")
        >>> table = timetable(plan_day(*load_day("docs/examples/harbour"), shop), shop)
        >>> from formula import stage_builds
        >>> made = changed_orders(stage_builds(table), [order.order for order in table.orders])
        >>> [stage.short_g for stage in made.stages if stage.name == "biga"]
        [0.0]
    """
    workshop, bakery = builds.table.workshop, builds.table.day.bakery
    with Door(FormulaError) as door:
        read_growth(door, growth)
        old = recipes_of(builds.table, door)
        names = {key: builds.name_of(each.owners[0].bread, each.owners[0].stage) for key, each in old.items()}
        known = dict.fromkeys(build.name for build in builds.builds)
        told = {
            what: {name: door.read(MASS, value, f"{what}: {name}") for name, value in (given or {}).items()}
            for what, given in (("standing", standing), ("hold", hold))
        }
        for what, given in told.items():
            for name in given:
                if name not in known:
                    door.refuse(f"{what}: {name}", "no build of tonight", f"one of: {', '.join(known) or 'none'}")
    share = any(dough.is_shared for dough in builds.table.day.doughs) or bakery.share_doughs
    table = timetable(plan_day(orders, bakery, workshop, share=share), workshop)
    with Door(FormulaError) as door:
        recipes = recipes_of(table, door)
    for key, recipe in recipes.items():
        own = recipe.name if recipe.name not in names.values() else f"{recipe.name} of {recipe.owners[0].bread}"
        names.setdefault(key, own)
    built = {(owner.bread, owner.stage): names[key] for key, each in recipes.items() for owner in each.owners}
    takes = {plan.name: _taken_g(plan, built, table.day.dough_of(plan.name).name) for plan in table.day.breads}
    needed = {name: math.fsum(each.get(name, 0.0) for each in takes.values()) for name in names.values()}
    stages = tuple(
        _standing(name, builds, needed[name], told["standing"].get(name), told["hold"].get(name, 0.0))
        for name in dict.fromkeys(names.values())
        if needed[name] > 0 or name in known
    )
    usable = {stage.name: stage.usable_g for stage in stages}
    breads = tuple(
        _carried(plan, takes[plan.name], needed, usable, built, table) for plan in table.day.breads if takes[plan.name]
    )
    stretches, cautions = _stretches(table, built, {s.name: s for s in stages}, growth)
    cautions = [*_not_ripe(table, builds, recipes, names), *cautions]
    if any(stage.held_g > 0 for stage in stages):
        text = "old dough is raw dough: hold it cold and covered, use it within the time your practice and local rules allow, and only in breads with the same allergens"
        cautions.append(Caution("old-dough", text))
    return ChangedOrders(table, stages, breads, stretches, tuple(dict.fromkeys(cautions)))


def _standing(
    name: str, builds: StageBuilds, needed_g: float, weighed_g: float | None, limit_g: float
) -> StandingStage:
    own = [build for build in builds.builds if build.name == name]
    planned_g = math.fsum(build.weighed_g * (1 - build.boiled_share) for build in own)
    return StandingStage(
        name=name,
        standing_g=planned_g if weighed_g is None else weighed_g,
        loss_share=own[0].loss_share if own else 0.0,
        seed_g=math.fsum(build.seed_g for build in own),
        # What was weighed at night no longer holds what has gone into other stages.
        inner_g=math.fsum(use.mass_g for build in own for use in build.uses if not use.mix and weighed_g is None),
        needed_g=needed_g,
        limit_g=limit_g,
    )


def _taken_g(plan: BreadPlan, built: Mapping[tuple[str, str], str], dough: str) -> dict[str, float]:
    """Return what all mixes of a bread take of each build; of a shared dough the part of its pieces."""
    sums: dict[str, float] = {}
    for mix in plan.mixes:
        part = plan.portion(mix).needed_g / mix.needed_g
        for sheet in at_the_mixer(plan, mix):
            for row in sheet.rows:
                name = built.get((dough, row.name))
                if name is not None and row.mass_g > 0:
                    sums[name] = sums.get(name, 0.0) + mix.count * row.mass_g * part
    return sums


def _carried(
    plan: BreadPlan,
    takes: Mapping[str, float],
    needed: Mapping[str, float],
    usable: Mapping[str, float],
    built: Mapping[tuple[str, str], str],
    table: Timetable,
) -> CarriedBread:
    """Find the most pieces of a bread, and make sure that their weigh sheets hold no more than there is."""
    of = table.day.dough_of(plan.name).name
    mixed = {sheet.name for sheet in at_the_mixer(plan, plan.mixes[0])}
    columns = [column for column in plan.bread.table.columns if column.name in mixed]
    dough = next(column.total for column in columns if column.name == FINAL)
    dough_g = plan.piece_g / plan.losses.before_divider_left
    parts: list[tuple[str, float, float, float]] = []
    for name in takes:
        percent = sum(
            part
            for column in columns
            for line, part in zip(column.lines, column.percents, strict=True)
            if built.get((of, line)) == name
        )
        parts.append((name, usable[name], needed[name] - takes[name], percent / dough * dough_g))
    # The sheets are rounded to the scale, up or down by less than a step a mix: what they take decides.
    slack_g = plan.mix_count * _step_g(table)
    rooms = [(max(0.0, there - others), each) for _, there, others, each in parts]
    most = math.floor(min(even((room + slack_g) / each) if room else 0.0 for room, each in rooms))
    while most > 0:
        order = Order(plan.bread, pieces=most, baked=write(MASS, plan.baked_g), reject="0 %", losses=plan.losses)
        again = plan_day([order], table.day.bakery, table.workshop).breads[0]
        sheets = _taken_g(
            again, {(again.name, own): name for (bread, own), name in built.items() if bread == of}, again.name
        )
        # In pieces, how much more the sheets take than there is.
        over = max((sheets.get(name, 0.0) - max(0.0, there - others)) / each for name, there, others, each in parts)
        if over <= SMALL_G:
            break
        most = max(0, most - max(1, math.floor(over)))
    reject = max(order.reject_share for order in plan.orders)
    return CarriedBread(plan.name, plan.pieces, most, reject, plan.spares, tuple(parts))


def _stretches(
    table: Timetable, built: Mapping[tuple[str, str], str], stages: Mapping[str, StandingStage], growth: float
) -> tuple[Lines[Stretch], list[Caution]]:
    """Stretch the preferments of every bread over its dough, where they stand in another amount than it takes."""
    found: list[tuple[str, Stretch]] = []
    cautions: list[Caution] = []
    bakery = table.day.bakery
    for dough in table.day.doughs:
        plan = dough.breads[0]
        process = table.workshop.process_of(plan.weighed_name, plan.bread.name)
        # What only goes into other stages is not taken at the mixer, and does not count here.
        taken = {line.name for sheet in at_the_mixer(plan, plan.mixes[0]) for line in sheet.rows if line.mass_g > 0}
        mine = {own: stages[name] for (bread, own), name in built.items() if bread == dough.name and own in taken}
        short = [name for name, stage in mine.items() if stage.short_g > SMALL_G]
        parts = {name: stage.usable_g / stage.needed_g for name, stage in mine.items()}
        raised = {part.stage.name for part in parts_of(plan.bread) if part.ferments}
        ferments = {name: part for name, part in parts.items() if name in raised}
        for name in short:
            if name not in ferments:
                text = f"{dough.name}: the {name} is short and no preferment: soak more of it if there is time, or make fewer"
                cautions.append(Caution("short-soaker", text))
        if not ferments or process is None:
            continue
        factor = min(ferments.values())
        if factor == 0:
            cautions.append(
                Caution("nothing-stands", f"{dough.name}: nothing of its preferment stands: none of it can be made")
            )
            continue
        if abs(factor - 1) * max(stage.needed_g for stage in mine.values()) <= _step_g(table):
            continue
        minutes = process.bulk.best_min + process.rest.best_min + process.proof.best_min
        try:
            made = stretch_preferment(
                plan.bread,
                plan.bread.prefermented_flour * factor,
                ripened={name: write(TIME, wait.best_h) for name, wait in process.stages.items()},
                stages={name: write(TEMPERATURE, bakery.stages_c.get(name, bakery.room_c)) for name in process.stages},
                time=write(TIME, minutes / 60),
                temperature=None if plan.bread.dough_temperature_c is not None else write(TEMPERATURE, bakery.room_c),
                growth=growth,
            )
        except FormulaError as error:
            cautions.append(Caution("cannot-stretch", f"{dough.name}: {error}"))
            continue
        found.append((dough.name, made))
    return Lines(found), cautions


def _step_g(table: Timetable) -> float:
    """Return the coarsest step of the scales: less than this on a mix is no reason to change a dough."""
    return max(table.day.bakery.steps_g.values())


def _not_ripe(
    table: Timetable, builds: StageBuilds, recipes: Mapping[Key, Recipe], names: Mapping[Key, str]
) -> list[Caution]:
    """Tell of every mix that comes when no build that stands is ripe for it."""
    begins: dict[str, list[int]] = {}
    for build in builds.builds:
        begins.setdefault(build.name, []).append(build.begin_min)
    missed: dict[tuple[str, str], list[str]] = {}
    for key, use in uses_at_mixes(table, recipes):
        opens, closes = use.window
        if not any(opens <= begin <= closes for begin in begins.get(names[key], [])):
            missed.setdefault((use.into, names[key]), []).append(f"mix {use.mix} at {table.clock(use.at_min)}")
    return [
        Caution("not-ripe", f"{bread}: no {name} that stands is ripe, and not over, for {', '.join(mixes)}")
        for (bread, name), mixes in missed.items()
    ]
