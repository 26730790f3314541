"""The pour: what goes into a mix as liquid, how warm it must be, and how much of it is ice.

The factor rule gives the temperature, with one temperature more for every stage that goes into the dough; where the tap
is too warm for it, ice replaces a part of the water.
"""

from __future__ import annotations

import math
from typing import Final

from attrs import frozen

from .bakery import Bakery, Mixer
from .batch import Batch
from .errors import FormulaError
from .formula import Formula
from .ice import IceFor, ice_for
from .quantity import DIFFERENCE, MASS, TEMPERATURE, write
from .water import YEAST_LIMIT, WaterTemperature, water_temperature
from .working import Caution, shown

__all__ = ["Pour", "pour_for", "up_to_step"]

LIQUIDS: Final = ("water", "liquid")


@frozen
class Pour:
    """What to pour into a mix: its temperature, and the ice where the tap is too warm.

    ``liquid_g`` is all that is poured, ``water_g`` the water of it; ``ice_g`` (rounded up to the scale's step) replaces
    water, so that ``draw_g`` of water is left to draw from the tap.
    """

    temperature: WaterTemperature
    liquid_g: float
    water_g: float
    ice_g: float = 0.0
    ice: IceFor | None = None
    cautions: tuple[Caution, ...] = ()

    @property
    def draw_g(self) -> float:
        """The water to draw from the tap."""
        return self.water_g - self.ice_g


def up_to_step(amount: float, step: float) -> float:
    """Return the amount rounded up to a whole number of steps; a hair over a step is that step."""
    return round(math.ceil(amount / step - 1e-9) * step, 9)


def pour_for(bread: Formula, batch: Batch, mixer: Mixer, bakery: Bakery) -> Pour | None:
    """Find the temperature of what is poured into the final dough, and the ice if the tap is too warm for it."""
    if bread.dough_temperature_c is None:
        return None
    larder = bread.catalogue
    stages = {stage.name for stage in bread.stages}
    # What is held back and added later has a temperature of its own: only what is poured into the mix counts here.
    later_g = {row.name: row.mass_g for row in batch.later}
    rows = [
        (max(0.0, row.mass_g - later_g.get(row.name, 0.0)), larder.find(row.name).kind)
        for row in batch.final.rows
        if row.name not in stages
    ]
    water_g = sum(mass_g for mass_g, kind in rows if kind == "water")
    liquid_g = sum(mass_g for mass_g, kind in rows if kind in LIQUIDS)
    entering = [row.name for row in batch.final.rows if row.name in stages]
    found = water_temperature(
        write(TEMPERATURE, bread.dough_temperature_c),
        flour=write(TEMPERATURE, bakery.flour_c),
        room=write(TEMPERATURE, bakery.room_c),
        friction=write(DIFFERENCE, mixer.friction_for_k(3 + len(entering))),
        preferments=[write(TEMPERATURE, bakery.stages_c.get(name, bakery.room_c)) for name in entering],
    )
    wanted_c = found.temperature_c
    cautions: list[Caution] = [caution for caution in found.cautions if caution.code != "needs-ice"]
    for name in entering:
        if name not in bakery.stages_c:
            text = f"the {name} is taken to be as warm as the room ({shown(bakery.room_c)} °C); measure it"
            cautions.append(Caution("stage-temperature-assumed", text))
    if liquid_g == 0:
        text = "no water or other liquid goes into the final dough: its temperature cannot be set by pouring"
        return Pour(found, 0.0, 0.0, cautions=(*cautions, Caution("nothing-to-pour", text)))
    if wanted_c >= bakery.tap_c or wanted_c > YEAST_LIMIT.value:
        return Pour(found, liquid_g, water_g, cautions=tuple(cautions))
    try:
        ice = ice_for(
            write(MASS, liquid_g),
            tap=write(TEMPERATURE, bakery.tap_c),
            wanted=write(TEMPERATURE, wanted_c),
            ice=write(TEMPERATURE, bakery.ice_c),
        )
    except FormulaError as error:
        cautions.append(
            Caution("cannot-be-reached", f"what is poured would have to be at {shown(wanted_c, 3)} °C: {error}")
        )
        return Pour(found, liquid_g, water_g, cautions=tuple(cautions))
    # Ice is rounded up and the water to draw down, so that their sum stays what the weigh sheet says.
    steps = [step for line, step in bakery.steps_g.items() if line in larder and larder.find(line).kind == "water"]
    ice_g = up_to_step(ice.ice_g, *(steps[:1] or [bakery.steps_g["default"]]))
    if ice_g > water_g:
        text = f"{shown(ice_g)} g of ice would be needed, but only {shown(water_g)} g of water goes in: chill the other liquid to {shown(wanted_c, 3)} °C"
        cautions.append(Caution("cannot-be-reached", text))
        return Pour(found, liquid_g, water_g, cautions=tuple(cautions))
    return Pour(found, liquid_g, water_g, ice_g, ice, (*cautions, *ice.cautions))
