"""The evening before: preferments, levains, sours and soakers, each built once for all the mixes that it feeds.

A stage ripens for as long as the process of its bread says.  Stages of several breads that are the same (equal lines on
their own flour, of one kind, counted and kept alike, and equally warm) are one build, for as long as it is ripe for all
its mixes, and the fewest builds where it is not.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cached_property
from typing import Any, ClassVar

from attrs import frozen

from .bakery import Bakery
from .bookings import Bookings
from .breadplan import BreadPlan
from .clockwork import Timetable
from .errors import Fault, FormulaError
from .feeding import StageBuild, StageUse, begin_near, fewest_builds
from .lines import Lines
from .mixes import SMALL_G
from .quantity import MASS, SHARE, Door, Measure, View, write
from .readerunits import with_units
from .rounding import PROTECTED, apportioned
from .samestage import Key, Recipe, at_the_mixer, recipes_of, uses_at_mixes
from .weighing import BatchStage
from .working import Caution, Step, Working, shown
from .workshop import Workshop

__all__ = ["StageBuilds", "stage_builds"]


@frozen
class StageBuilds:
    """The builds of a day in the order of the clock; ``names`` holds (bread, stage of its formula, name of the build)."""

    table: Timetable
    builds: tuple[StageBuild, ...]
    names: tuple[tuple[str, str, str], ...]
    cautions: tuple[Caution, ...] = ()

    @property
    def evening(self) -> tuple[StageBuild, ...]:
        """The builds that are begun before the workshop opens."""
        return tuple(build for build in self.builds if build.begin_min < self.table.workshop.opening_min)

    @cached_property
    def mass_g(self) -> float:
        """The ripe stages of all builds together."""
        return math.fsum(build.mass_g for build in self.builds)

    mass: ClassVar[View] = View(MASS, "mass_g", "The ripe stages of all builds together.")

    def name_of(self, bread: str, stage: str) -> str:
        """Return the name under which a stage of a bread is built."""
        doughs = [dough.name for dough in self.table.day.doughs if bread in (plan.name for plan in dough.breads)]
        found = next((name for each, own, name in self.names if each in (bread, *doughs) and own == stage), None)
        if found is None:
            known = ", ".join(f"{own} of {each}" for each, own, _ in self.names) or "none"
            raise FormulaError(Fault("stage", f"{stage} of {bread}", f"one of those that are built: {known}"))
        return found

    def mix_sheet(self, bread: str, mix: int) -> tuple[BatchStage, ...]:
        """Return what is weighed at the mixer: the autolyse, if there is one, and the final dough with its built stages.

        What the built stages are made of stands on the sheets of their builds, and is not weighed a second time.

        Args:
            bread: its name in the day.
            mix: the number of the mix.

        Raises:
            FormulaError: when there is no such mix.
        """
        for dough in self.table.day.doughs:
            if bread in (dough.name, *(plan.name for plan in dough.breads)):
                for each in dough.mixes:
                    if each.first <= mix <= each.last:
                        return at_the_mixer(dough.breads[0], each)
        raise FormulaError(Fault("mix", f"mix {mix} of {bread}", "a mix of the day"))

    @cached_property
    def ingredients_g(self) -> Lines[float]:
        """Grams of every ingredient to have ready: all builds with their losses, all mixes, and the toppings."""
        sums: dict[str, float] = {}

        def add(plan: BreadPlan, lines: Iterable[tuple[str, float]], times: int = 1) -> None:
            for line, mass_g in lines:
                name = plan.bread.catalogue.find(line).name
                sums[name] = sums.get(name, 0.0) + times * mass_g

        owners = {name: self.table.day.dough_of(bread).breads[0] for bread, _, name in self.names}
        for build in self.builds:
            add(
                owners[build.name],
                ((line, mass_g) for line, mass_g in build.lines_g.items() if line not in build.inner),
            )
        for plan in self.table.day.breads:
            add(plan, plan.toppings_g().items())
        for dough in self.table.day.doughs:
            plan = dough.breads[0]
            own = {stage.name for stage in plan.bread.stages}
            for mix in dough.mixes:
                for sheet in at_the_mixer(plan, mix):
                    add(plan, ((row.name, row.mass_g) for row in sheet.rows if row.name not in own), mix.count)
        return Lines(sorted(sums.items(), key=lambda item: -item[1]))

    def working(self) -> Working:
        """Show the mass of every build; the last line is all of them together."""
        masses = {f"mass_{number}": build.mass_g for number, build in enumerate(self.builds, 1)}
        steps: list[Step] = []
        for (name, mass_g), build in zip(masses.items(), self.builds, strict=True):
            values = {f"used_{name}": build.used_g, f"seed_{name}": build.seed_g, "loss": build.loss_share}
            told = f"{build.title}, built at {build.begin}"
            steps.append(Step(name, f"(used_{name} + seed_{name}) / (1 - loss)", values, mass_g, "g", note=told))
        whole = " + ".join(masses) or "none"
        steps.append(Step("mass", whole, masses or {"none": 0.0}, self.mass_g, "g", note="all builds together"))
        units = {"g": "used seed none", "1": "loss"}
        return Working("Preferments, sours and soakers of the day", with_units(steps, units), self.cautions)

    def to_tables(self) -> dict[str, Any]:
        """Return the builds, and what to weigh at the mixer, as plain tables; weights in g, minutes from midnight."""
        opening = self.table.workshop.opening_min
        return {
            "builds": [{**build.to_tables(), "evening": build.begin_min < opening} for build in self.builds],
            "mixes": [
                {
                    "bread": dough.name,
                    "first": mix.first,
                    "last": mix.last,
                    "sheets": {
                        sheet.name: {row.name: row.mass_g for row in sheet.rows}
                        for sheet in at_the_mixer(dough.breads[0], mix)
                    },
                    "built_as": {own: name for bread, own, name in self.names if bread == dough.name},
                }
                for dough in self.table.day.doughs
                for mix in dough.mixes
            ],
            "ingredients_g": dict(self.ingredients_g),
            "cautions": [{"code": caution.code, "text": caution.text} for caution in self.cautions],
        }


def _named(recipes: Iterable[Recipe]) -> dict[Key, str]:
    """Name each build after its stage; where two different stages share a name, the bread tells them apart."""
    taken = list(recipes)
    names = [recipe.name for recipe in taken]
    return {
        recipe.key: recipe.name if names.count(recipe.name) == 1 else f"{recipe.name} of {recipe.owners[0].bread}"
        for recipe in taken
    }


def stage_builds(table: Timetable, *, stage_loss: Measure = "0 %") -> StageBuilds:
    """Plan the builds of a day: what to build when, and how much, so that it is ripe for every mix that it feeds.

    mass = (sum of uses + seed) / (1 - loss), and the seed is what the formula keeps or takes back out of a ripe culture.
    A build begins between its last use less the longest ripening time and its first use less the shortest, where somebody
    is on shift if there is such a moment, as near the best time as may be.  Where the uses lie farther apart than that,
    it is made in the fewest builds.  A stage that goes into another one is used when that one is built.

    Args:
        table: the day on the clock, whose processes say how long each stage ripens before it is used.
        stage_loss: the part of every ripe stage that stays in its tub and on the scraper, a share.

    Returns:
        The builds in the order of the clock, with their weigh sheets; ``mix_sheet`` says what is left to weigh at the
        mixer.

    Raises:
        FormulaError: every stage without its ripening time; a loss and a seed that leave nothing.

    Range: that a mixer or a person is free for the build itself is not looked after, nor that there is a tub for it.
    Ripening times are the bakery's own; how warm a stage must stand for them, it knows.

    Example:
        >>> from formula import load_day, load_workshop, plan_day, timetable
        >>> shop = load_workshop("docs/examples/harbour")
        >>> table = timetable(plan_day(*load_day("docs/examples/harbour"), shop), shop)
        >>> stage_builds(table).builds[0].title
        'biga 1 of 2'
    """
    with Door(FormulaError) as door:
        loss = door.read(SHARE, stage_loss, "stage_loss")
        recipes = recipes_of(table, door)
        for recipe in recipes.values():
            if loss + recipe.seeded_share >= 1:
                got = f"{write(SHARE, loss)} lost and {write(SHARE, recipe.seeded_share)} kept for tomorrow"
                door.refuse(f"stage_loss ({recipe.name})", got, "less than all of it")
    names = _named(recipes.values())
    uses: dict[Key, list[StageUse]] = {key: [] for key in recipes}
    for key, use in uses_at_mixes(table, recipes):
        uses[key].append(use)
    builds: list[StageBuild] = []
    # What goes into another stage is used when that is built: the outer ones are settled first.
    for recipe in sorted(recipes.values(), key=lambda each: -each.level):
        made = _builds_of(recipe, uses[recipe.key], table, loss, names)
        builds += made
        for build in made:
            for line, inner in recipe.inner.items():
                mass_g = build.lines_g[names[inner]]
                if mass_g > 0:
                    uses[inner].append(StageUse(build.name, 0, build.begin_min, mass_g, recipe.waits[line]))
    builds.sort(key=lambda build: (build.begin_min, build.name))
    cautions = [caution for build in builds for caution in build.cautions]
    if table.unplaced:
        text = f"{len(table.unplaced)} mixes have no place in the day: nothing is built for them"
        cautions.append(Caution("unplaced", text))
    built_as = [(owner.bread, owner.stage, names[key]) for key, recipe in recipes.items() for owner in recipe.owners]
    return StageBuilds(table, tuple(builds), tuple(built_as), tuple(dict.fromkeys(cautions)))


def _builds_of(
    recipe: Recipe, uses: list[StageUse], table: Timetable, loss: float, names: dict[Key, str]
) -> list[StageBuild]:
    """Make the fewest builds of a stage that are ripe for all its uses."""
    groups = fewest_builds([use.window for use in uses])
    made: list[StageBuild] = []
    for number, places in enumerate(groups, 1):
        own = sorted((uses[place] for place in places), key=lambda use: use.at_min)
        opens = max(use.window[0] for use in own)
        closes = min(use.window[1] for use in own)
        wanted = begin_near(opens, closes, [use.best_begin_min for use in own])
        begin = _staffed_near(wanted, opens, closes, table.workshop)
        used_g = math.fsum(use.mass_g for use in own)
        needed_g = used_g / (1 - loss - recipe.seeded_share) / (1 - recipe.boiled_share)
        lines_g, cautions = _weighable(recipe, needed_g, table.day.bakery)
        title = names[recipe.key] if len(groups) == 1 else f"{names[recipe.key]} {number} of {len(groups)}"
        if begin is None:
            begin = wanted
            when = table.clock(wanted)
            text = f"{title}: nobody is on shift at {when}, nor at any other minute that would do"
            cautions.append(Caution("nobody-there", text))
        elif not table.workshop.shifts and begin < table.workshop.opening_min:
            text = f"{title}: built at {table.clock(begin)}, before the opening; no shifts are given, so see that somebody is there"
            cautions.append(Caution("before-opening", text))
        made.append(
            StageBuild(
                name=names[recipe.key],
                kind=recipe.kind,
                number=number,
                count=len(groups),
                begin_min=begin,
                uses=tuple(own),
                lines_g=Lines((names.get(recipe.inner.get(line, ()), line), mass) for line, mass in lines_g.items()),
                inner=tuple(names[inner] for inner in recipe.inner.values()),
                loss_share=loss,
                seeded_share=recipe.seeded_share,
                boiled_share=recipe.boiled_share,
                wall=table.workshop.wall,
                cautions=tuple(cautions),
            )
        )
    return made


def _staffed_near(wanted: int, opens: int, closes: int, workshop: Workshop) -> int | None:
    """Return the minute nearest to the wanted one, within the window, at which somebody is on shift; None if nobody is."""
    if not workshop.shifts:
        return wanted
    there = workshop.wall.elapsed
    stretches = [
        (there(begin), there(end), people)
        for shift in workshop.shifts
        for begin, end, people in shift.stretches()
    ]  # fmt: skip
    people = Bookings.within(stretches)
    # Somebody comes or goes only where a stretch begins or ends.
    edges = {moment for begin, end, _ in stretches for moment in (begin, begin - 1, end, end - 1)}
    tried = [moment for moment in {wanted, opens, closes, *edges} if opens <= moment <= closes]
    staffed = [moment for moment in tried if people.least(moment, moment + 1) > 0]
    return min(staffed, key=lambda moment: (abs(moment - wanted), moment), default=None)


def _weighable(recipe: Recipe, needed_g: float, bakery: Bakery) -> tuple[dict[str, float], list[Caution]]:
    """Return the weigh sheet of at least so much, every line on a step of its scale, and what rounding does to it."""
    catalogue = recipe.catalogue
    own = {catalogue.find(name).name: step for name, step in bakery.steps_g.items() if name in catalogue}
    lines = list(recipe.shares)
    plain = [None if line in recipe.inner else catalogue.find(line) for line in lines]
    default = bakery.steps_g["default"]
    steps = [own.get(each.name, default) if each else default for each in plain]
    protected = [each is not None and each.kind in PROTECTED for each in plain]
    wanted_g = needed_g
    while True:
        exact = [share * wanted_g for share in recipe.shares.values()]
        rounded = apportioned(exact, steps, protected, 0.0, "nearest")
        if math.fsum(rounded) >= needed_g - SMALL_G:
            break
        wanted_g += max(steps) / 2
    cautions = [
        Caution(
            "coarse-scale",
            f"{recipe.name}: rounding moves {line} from {shown(share * needed_g)} g to {shown(mass_g)} g: use a finer scale or a dilution",
        )
        for (line, share), mass_g in zip(recipe.shares.items(), rounded, strict=True)
        if abs(mass_g - share * needed_g) > 0.1 * share * needed_g
    ]
    return dict(zip(lines, rounded, strict=True)), cautions
