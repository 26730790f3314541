"""The same stage: which preferments, sours and soakers of a day are one, though several breads take them.

Stages are the same where their lines on their own base are, their kind, how a culture is counted, what is kept or boils
off, and how warm they stand.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final, TypeAlias

from attrs import evolve, frozen

from .bakery import Bakery
from .breadplan import BreadPlan, Mix
from .catalogue import Catalogue
from .clockwork import Timetable
from .feeding import StageUse
from .lines import Lines
from .process import NOTHING, Wait
from .quantity import Door
from .stage import FINAL, Stage
from .weighing import BatchStage

__all__ = ["Key", "Recipe", "at_the_mixer", "recipes_of", "uses_at_mixes"]

Key: TypeAlias = tuple[object, ...]
"""What two stages have in common that are the same."""
DIGITS: Final = 9
"""Significant digits to which the lines of two stages agree where they are the same."""


def at_the_mixer(plan: BreadPlan, mix: Mix) -> tuple[BatchStage, ...]:
    """Return what is weighed at the mixer: an autolyse, with which the mix begins, and the final dough."""
    final = {row.name for row in mix.batch.final.rows}
    begins = {stage.name for stage in plan.bread.stages if stage.kind == "autolyse" and stage.name in final}
    return tuple(stage for stage in mix.batch.stages.values() if stage.name in begins or stage.name == FINAL)


@frozen
class Owner:
    """A dough that has a stage (named like its bread, or all that share it), the stage's name there, and how long it ripens."""

    bread: str
    stage: str
    ripe: Wait


@frozen
class Recipe:
    """A stage as it is built, whichever breads it is for: each line's part of what is weighed, and what leaves it.

    ``level`` is 0 for a stage without others in it, and above that of the stages in it; ``inner`` holds their recipes.
    """

    key: Key
    level: int
    name: str
    kind: str
    shares: Lines[float]
    inner: Lines[Key]
    catalogue: Catalogue
    seeded_share: float
    boiled_share: float
    waits: Lines[Wait]
    owners: tuple[Owner, ...] = ()


def recipes_of(table: Timetable, door: Door) -> dict[Key, Recipe]:
    """Find the stages that are built, each once for all breads; one without its ripening time is noted at the door."""
    found: dict[Key, Recipe] = {}
    for dough in table.day.doughs:
        # Breads that share a dough have the same stages, and the same times for them.
        plan = dough.breads[0]
        process = table.workshop.process_of(plan.weighed_name, plan.bread.name)
        waits = Lines[Wait]() if process is None else process.stages
        stages = {stage.name: stage for stage in plan.bread.stages}
        mixed = {sheet.name for sheet in at_the_mixer(plan, plan.mixes[0])}
        own: dict[str, Recipe] = {}
        for column in plan.bread.table.columns:
            if column.name in mixed or column.total <= 0:
                continue
            stage = stages[column.name]
            if stage.name not in waits:
                there = f"; its process has: {', '.join(waits)}" if waits else ""
                mend = f'add stages={{"{stage.name}": Wait("14 h", earliest="12 h", latest="16 h")}} to its process'
                door.refuse(f"{dough.name}: {stage.name}", "no ripening time", f"the time before its use{there}", mend)
            inner = {line: own[line].key for line in column.lines if line in own}
            key = _key_of(stage, inner, plan.bread.catalogue, table.day.bakery)
            made = Recipe(
                key=key,
                level=1 + max((own[line].level for line in inner), default=-1),
                name=stage.name,
                kind=stage.kind,
                shares=Lines((line, part / column.total) for line, part in zip(column.lines, column.percents, strict=True)),
                inner=Lines(inner),
                catalogue=plan.bread.catalogue,
                seeded_share=(column.returned + column.kept) / (column.total - column.boiled_off),
                boiled_share=column.boiled_off / column.total,
                waits=waits,
            )  # fmt: skip
            ripe = waits.get(stage.name, NOTHING)
            known = found.get(key, made)
            found[key] = own[stage.name] = evolve(known, owners=(*known.owners, Owner(dough.name, stage.name, ripe)))
    return found


def _key_of(stage: Stage, inner: dict[str, Key], catalogue: Catalogue, bakery: Bakery) -> Key:
    """Return what two stages must have in common to be one: lines, kind, culture, what is kept, and their temperature."""

    def agreed(lines: Lines[float]) -> frozenset[tuple[object, float]]:
        return frozenset(
            (inner.get(line) or catalogue.find(line).name, float(f"{percent:.{DIGITS}g}"))
            for line, percent in lines.items()
            if percent > 0
        )

    culture = (stage.culture.counted, agreed(stage.culture.percents)) if stage.culture else None
    leaves = (stage.keep_percent, stage.boiled_off_percent)
    return (stage.kind, agreed(stage.percents), culture, *leaves, bakery.stages_c.get(stage.name, bakery.room_c))


def uses_at_mixes(table: Timetable, recipes: Mapping[Key, Recipe]) -> Iterator[tuple[Key, StageUse]]:
    """Yield every use of a built stage at the mixer: in the final dough when it is mixed, in an autolyse when that begins."""
    begins: dict[tuple[str, int, str], int] = {}
    for task in table.tasks:
        if task.what in ("autolyse", "mix"):
            begins[task.bread, task.mix, task.what] = task.begin_min
    owned = {(owner.bread, owner.stage): (key, owner.ripe) for key, each in recipes.items() for owner in each.owners}
    for dough in table.day.doughs:
        for mix in dough.mixes:
            sheets = at_the_mixer(dough.breads[0], mix)
            for number in range(mix.first, mix.last + 1):
                mixed = begins.get((dough.name, number, "mix"))
                if mixed is None:
                    continue
                for sheet in sheets:
                    at = mixed if sheet.name == FINAL else begins.get((dough.name, number, "autolyse"), mixed)
                    for row in sheet.rows:
                        if (dough.name, row.name) in owned and row.mass_g > 0:
                            key, ripe = owned[dough.name, row.name]
                            yield key, StageUse(dough.name, number, at, row.mass_g, ripe)
