"""The pour: what goes into a mix as liquid, how warm it must be, and how much of it is ice.

The factor rule gives the temperature, with one temperature more for every stage that goes into the dough; where the tap
is too warm for it, ice replaces a part of the water.
"""

from __future__ import annotations

from typing import Final

from attrs import frozen

from .bakery import Bakery, Mixer
from .batch import Batch
from .counting import on_step
from .formula import Formula
from .ice import IceFor, ice_for, ice_takes_k
from .quantity import DIFFERENCE, MASS, TEMPERATURE, write
from .reach import out_of_reach
from .stage import FINAL
from .water import YEAST_LIMIT, WaterTemperature, water_temperature
from .weighing import Row
from .working import Caution, shown

__all__ = ["Pour", "pour_for"]

LIQUIDS: Final = ("water", "liquid")
SMALL_STAGE: Final = 0.15
"""The part of the dough below which the rule's equal weights mislead (common practice, no source)."""


@frozen
class Pour:
    """What to pour into a mix: its temperature, and the ice where the tap is too warm.

    ``liquid_g`` is all that is poured, ``water_g`` the water of it; ``ice_g`` (rounded up to the scale's step) replaces
    water, so that ``draw_g`` of water is left to draw from the tap.  ``stage`` is where it is poured: the final dough, or
    the autolyse with which the mix begins.
    """

    temperature: WaterTemperature
    liquid_g: float
    water_g: float
    ice_g: float = 0.0
    ice: IceFor | None = None
    cautions: tuple[Caution, ...] = ()
    stage: str = FINAL

    @property
    def draw_g(self) -> float:
        """The water to draw from the tap."""
        return self.water_g - self.ice_g


def pour_for(bread: Formula, batch: Batch, mixer: Mixer, bakery: Bakery) -> Pour | None:
    """Find the temperature of what is poured into a mix, and the ice if the tap is too warm for it.

    An autolyse is the beginning of the mix itself: its water is what is poured, and its temperature is set there.  Every
    other stage is a body of its own temperature, one more in the rule.
    """
    if bread.dough_temperature_c is None:
        return None
    larder = bread.catalogue
    begins = {stage.name for stage in bread.stages if stage.kind == "autolyse"}
    stages = {stage.name for stage in bread.stages}
    entering = [row for row in batch.final.rows if row.name in stages - begins]
    poured, at = _poured(bread, batch, begins)
    water_g = sum(mass_g for mass_g, kind in poured if kind == "water")
    liquid_g = sum(mass_g for mass_g, kind in poured if kind in LIQUIDS)
    found = water_temperature(
        write(TEMPERATURE, bread.dough_temperature_c),
        flour=write(TEMPERATURE, bakery.flour_c),
        room=write(TEMPERATURE, bakery.room_c),
        friction=write(DIFFERENCE, mixer.friction_for_k(3 + len(entering))),
        preferments=[write(TEMPERATURE, bakery.stages_c.get(row.name, bakery.room_c)) for row in entering],
    )
    wanted_c, tap_c = found.temperature_c, bakery.tap_c
    cautions: list[Caution] = [caution for caution in found.cautions if caution.code != "needs-ice"]
    cautions += _about_stages(entering, batch.dough_g, bakery)
    if liquid_g == 0:
        text = "no water or other liquid goes into the final dough: its temperature cannot be set by pouring"
        return Pour(found, 0.0, 0.0, cautions=(*cautions, Caution("nothing-to-pour", text)), stage=at)
    if wanted_c >= tap_c or wanted_c > YEAST_LIMIT.value:
        return Pour(found, liquid_g, water_g, cautions=tuple(cautions), stage=at)
    # The coldest that can be had: all the water as ice.
    coldest_c = tap_c - water_g / liquid_g * (tap_c + ice_takes_k("trade", bakery.ice_c))
    steps = [step for line, step in bakery.steps_g.items() if line in larder and larder.find(line).kind == "water"]
    if wanted_c >= coldest_c:
        ice = ice_for(
            write(MASS, liquid_g),
            tap=write(TEMPERATURE, tap_c),
            wanted=write(TEMPERATURE, wanted_c),
            ice=write(TEMPERATURE, bakery.ice_c),
        )
        # Ice is rounded up and the water to draw down, so that their sum stays what the weigh sheet says.
        ice_g = min(water_g, on_step(ice.ice_g, (steps or [bakery.steps_g["default"]])[0]))
        return Pour(found, liquid_g, water_g, ice_g, ice, (*cautions, *ice.cautions), at)
    limit = f"with all {shown(water_g)} g of its water as ice it is {shown(coldest_c, 3)} °C"
    if water_g < liquid_g:
        limit += f"; chill the other liquid to {shown(wanted_c, 3)} °C"
    cautions.append(Caution("cannot-be-reached", str(out_of_reach(wanted_c, coldest_c, limit, found))))
    return Pour(found, liquid_g, water_g, cautions=tuple(cautions), stage=at)


def _poured(bread: Formula, batch: Batch, begins: set[str]) -> tuple[list[tuple[float, str]], str]:
    """Return what goes in as it is, as (mass, kind) pairs, and the stage where the water is poured."""
    names = {stage.name for stage in bread.stages}
    # What is held back and added later has a temperature of its own: only what is poured into the mix counts here.
    later_g = {row.name: row.mass_g for row in batch.later}
    rows = [(max(0.0, row.mass_g - later_g.get(row.name, 0.0)), row.name) for row in batch.final.rows]
    at = FINAL
    for name in begins:
        at = name
        rows += [(row.mass_g, row.name) for row in batch.stages[name].rows]
    return [(mass_g, bread.catalogue.find(name).kind) for mass_g, name in rows if name not in names], at


def _about_stages(entering: list[Row], dough_g: float, bakery: Bakery) -> list[Caution]:
    """Say what the rule assumes of the stages: their temperature, and that each weighs as much as the flour."""
    found: list[Caution] = []
    for row in entering:
        if row.name not in bakery.stages_c:
            text = f"the {row.name} is taken to be as warm as the room ({shown(bakery.room_c)} °C); measure it"
            found.append(Caution("stage-temperature-assumed", text))
        if row.mass_g < SMALL_STAGE * dough_g:
            share = f"{100 * row.mass_g / dough_g:.0f} %"
            text = f"the {row.name} is {share} of the dough, but the rule weighs it like the flour: trust a heat balance more"
            found.append(Caution("small-stage", text))
    return found
