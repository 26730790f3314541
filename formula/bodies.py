"""What goes into a mix as bodies of heat: each with its weight, its specific heat and the temperature it arrives with.

The lines of one stage of a batch (as a rule the final dough) are sorted into what is poured, whose temperature is sought
or told by itself, and the bodies of known temperature: ingredients, stages built before, and the bowl.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import ClassVar, Final, Literal, cast

from attrs import frozen

from .batch import Batch
from .capacity import STEEL_CP, WATER_CP, SpecificHeat, ingredient_cp
from .ingredient import INGREDIENT_KINDS, folded
from .quantity import MASS, TEMPERATURE, Door, Measure, View
from .sources import Constant
from .stage import FINAL
from .table import SMALL
from .working import Caution

__all__ = ["AIR", "BOWL", "Bodies", "Body", "Poured", "bodies_of"]

Role = Literal["flour", "ingredient", "stage", "bowl", "air"]

BOWL: Final = "bowl"
AIR: Final = "air"
AIR_CP: Final = Constant(1.006, "kJ/kg K", 0.002, "dry-air", "at room temperature")
_PERISHABLE: Final = ("liquid", "egg", "dairy")


@frozen
class Body:
    """One body of heat: what it is, how heavy, its specific heat, and the temperature it arrives with."""

    name: str
    role: Role
    mass_g: float
    cp_kj_kg_k: float
    temperature_c: float
    source: str = ""
    note: str = ""
    heat: SpecificHeat | None = None
    """How its specific heat is known, where it is an ingredient's."""

    mass: ClassVar[View] = View(MASS, "mass_g", "Its weight.")
    temperature: ClassVar[View] = View(TEMPERATURE, "temperature_c", "The temperature it arrives with.")

    @property
    def capacity_kj_k(self) -> float:
        """The heat it takes up to become one kelvin warmer, kJ/K."""
        return self.mass_g / 1000 * self.cp_kj_kg_k


@frozen
class Poured:
    """What is poured into the mix at one temperature; ``water_g`` is the water of it, which ice can replace."""

    name: str
    mass_g: float
    cp_kj_kg_k: float
    water_g: float
    source: str = ""
    heat: SpecificHeat | None = None
    """How its specific heat is known, where it is that of one ingredient."""

    mass: ClassVar[View] = View(MASS, "mass_g", "Its weight.")
    water: ClassVar[View] = View(MASS, "water_g", "The weight of the water of it.")

    @property
    def capacity_kj_k(self) -> float:
        """The heat it takes up to become one kelvin warmer, kJ/K."""
        return self.mass_g / 1000 * self.cp_kj_kg_k


@frozen
class Bodies:
    """What goes into a mix: the ``bodies`` of known temperature, what is ``poured``, and what to know about both."""

    bodies: tuple[Body, ...]
    poured: Poured
    cautions: tuple[Caution, ...]


@frozen
class _Names:
    """The temperatures as given, by what each name means in this mix."""

    stages: Mapping[str, float]
    lines: Mapping[str, float]
    kinds: Mapping[str, float]
    bowl: float | None

    def of(self, line: str, kind: str) -> float | None:
        """Return the temperature given for a line: by its own name before its kind."""
        return self.stages.get(line, self.lines.get(line, self.kinds.get(kind)))


@frozen
class _Arrival:
    """A line of the mix, or the part of one that is added later, on its way to become a body or to be poured."""

    name: str
    role: Role
    kind: str
    mass_g: float
    cp_kj_kg_k: float
    temperature_c: float | None
    unknown: tuple[str, ...]
    note: str
    heat: SpecificHeat | None = None

    def body(self, room_c: float) -> Body:
        """Return the body; what has no temperature of its own has the room's."""
        temperature_c = room_c if self.temperature_c is None else self.temperature_c
        source = self.heat.source if self.heat else ""
        return Body(self.name, self.role, self.mass_g, self.cp_kj_kg_k, temperature_c, source, self.note, self.heat)


def bodies_of(
    door: Door,
    batch: Batch,
    stage: str,
    room_c: float,
    temperatures: Mapping[str, Measure],
    later: Mapping[str, Measure],
    bowl: Measure | None,
    air_kj_k: float | None = None,
) -> Bodies:
    """Sort what goes into a stage of a batch into bodies; bad names and temperatures are noted at the door.

    Args:
        door: where faults are noted.
        batch: the batch.
        stage: one of its stages, ``"final"`` for the final dough.
        room_c: what has no temperature of its own has the room's, °C.
        temperatures: stage, ingredient, kind of ingredient or ``"bowl"`` -> temperature.
        later: late addition -> temperature, of those that count; the others are left out.
        bowl: the mass of steel that comes to the dough's temperature, or None.
        air_kj_k: heat exchanged with the air for each kelvin of difference, over the whole mix, or None.
    """
    rows = {row.name: row.mass_g for row in batch.stages[stage].rows if row.mass_g > 0}
    names = _read_names(door, batch, rows, temperatures, has_bowl=bowl is not None)
    late = _read_late(door, batch, stage, later)
    arrivals = [each for line, mass_g in rows.items() for each in _arrivals(batch, line, mass_g, names, late)]
    waters = [each for each in arrivals if each.kind == "water" and each.temperature_c is None]
    # Milk and the like are poured where there is no water to pour; with water they come as they are.
    pour = waters or [each for each in arrivals if each.kind == "liquid" and each.temperature_c is None]
    others = [each for each in arrivals if each not in pour]
    found = [each.body(room_c) for each in others]
    if bowl is not None:
        steel_g = door.read(MASS, bowl, "bowl")
        bowl_c = room_c if names.bowl is None else names.bowl
        found.append(Body(BOWL, "bowl", steel_g, STEEL_CP.value, bowl_c, STEEL_CP.source, STEEL_CP.where))
    if air_kj_k is not None:
        # As much air as would give this heat when it came to the dough's temperature.
        note = "as much room air as exchanges this heat; its specific heat from memory"
        found.append(Body(AIR, "air", 1000 * air_kj_k / AIR_CP.value, AIR_CP.value, room_c, AIR_CP.source, note))
    unnamed = [each for each in others if each.temperature_c is None]
    assumed = {
        "stage": [each.name for each in unnamed if each.role == "stage"],
        "perishable": [each.name for each in unnamed if each.kind in _PERISHABLE],
        "cp": [name for each in arrivals for name in each.unknown],
        "left out": [line for line in rows if line in late and late[line][1] is None],
    }
    return Bodies(tuple(found), _together(pour), _cautions(assumed, room_c))


def _arrivals(
    batch: Batch, line: str, mass_g: float, names: _Names, late: Mapping[str, tuple[float, float | None]]
) -> Iterator[_Arrival]:
    """Yield what a line brings into the mix: itself, and what is added later where that counts."""
    if line in batch.stages:
        cp, unknown = _stage_cp(batch, line)
        yield _Arrival(line, "stage", "", mass_g, cp, names.of(line, ""), unknown, "the mean of what is in it")
        return
    ingredient = batch.formula.catalogue.find(line)
    heat = ingredient_cp(ingredient)
    role: Role = "flour" if ingredient.is_flour else "ingredient"
    unknown = (line,) if heat.way == "assumed" else ()
    late_g, late_c = late.get(line, (0.0, None))
    for name, part_g, temperature_c in (
        (line, mass_g - late_g, names.of(line, ingredient.kind)),
        (f"{line}, later", late_g if late_c is not None else 0.0, late_c),
    ):
        # Where all of a line comes late, the subtraction leaves a hair, and rounding to the scale less than nothing.
        if part_g > SMALL * mass_g:
            about = (heat.cp_kj_kg_k, temperature_c, unknown, heat.where, heat)
            yield _Arrival(name, role, ingredient.kind, part_g, *about)


def _together(pour: Sequence[_Arrival]) -> Poured:
    mass_g = sum(each.mass_g for each in pour)
    if mass_g == 0:
        return Poured("", 0.0, WATER_CP.value, 0.0)
    first = pour[0]
    alone = len(pour) == 1
    cp = first.cp_kj_kg_k if alone else sum(each.mass_g * each.cp_kj_kg_k for each in pour) / mass_g
    name = " and ".join(each.name for each in pour)
    source = first.heat.source if first.heat else ""
    return Poured(name, mass_g, cp, mass_g if first.kind == "water" else 0.0, source, first.heat if alone else None)


def _stage_cp(batch: Batch, name: str) -> tuple[float, tuple[str, ...]]:
    """Return the mean specific heat of what a stage holds, stages in it included, and what only its kind is known of."""
    stage = batch.stages[name]
    heat = -stage.boiled_off_g * WATER_CP.value
    unknown: tuple[str, ...] = ()
    for row in stage.rows:
        if row.name in batch.stages:
            cp, inner = _stage_cp(batch, row.name)
            unknown += inner
        else:
            found = ingredient_cp(batch.formula.catalogue.find(row.name))
            cp = found.cp_kj_kg_k
            unknown += (row.name,) if found.way == "assumed" and row.mass_g > 0 else ()
        heat += row.mass_g * cp
    return heat / (stage.total_g - stage.boiled_off_g), unknown


def _read_names(
    door: Door, batch: Batch, rows: Mapping[str, float], temperatures: Mapping[str, Measure], *, has_bowl: bool
) -> _Names:
    """Find out what each name in ``temperatures`` means in this mix: a stage, then a kind, then an ingredient."""
    stages, lines, kinds = dict[str, float](), dict[str, float](), dict[str, float]()
    bowl_c: float | None = None
    catalogue = batch.formula.catalogue
    for name, value in temperatures.items():
        where = f"temperatures: {name}"
        temperature_c = door.read(TEMPERATURE, value, where)
        word = folded(name) if isinstance(cast("object", name), str) else ""
        meant = catalogue.find(name).name if word and name in catalogue else ""
        same = [line for line in rows if line not in batch.stages and meant and catalogue.find(line).name == meant]
        if name in rows and name in batch.stages:
            stages[name] = temperature_c
        elif name in batch.stages:
            users = [stage.name for stage in batch.stages.values() if name in {row.name for row in stage.rows}]
            door.refuse(
                where, f"a stage that goes into {' and '.join(users)}", "what goes into this mix", "leave it out"
            )
        elif word == BOWL:
            bowl_c = temperature_c
            if not has_bowl:
                door.refuse(where, "the temperature of a bowl without its weight", "both", 'give bowl="60 kg"')
        elif word == "water" or any(catalogue.find(line).kind == "water" for line in same):
            fix = "give water=, or target= to have it found; water added afterwards is told by later="
            door.refuse(where, "the temperature of what is poured", "that of the other bodies", fix)
        elif word in INGREDIENT_KINDS:
            kinds[word] = temperature_c
        elif same:
            lines[same[0]] = temperature_c
        else:
            expected = f"a line of this mix ({', '.join(rows)}), a kind of ingredient such as flour, or bowl"
            door.refuse(where, "a name that is nothing in this mix", expected, "correct it or leave it out")
    return _Names(stages, lines, kinds, bowl_c)


def _read_late(
    door: Door, batch: Batch, stage: str, later: Mapping[str, Measure]
) -> dict[str, tuple[float, float | None]]:
    """Return the late additions of the final dough: their weight, and their temperature where they are to count."""
    late: dict[str, tuple[float, float | None]] = {}
    if stage == FINAL:
        late = {row.name: (row.mass_g, None) for row in batch.later if row.mass_g > 0}
    for name, value in later.items():
        temperature_c = door.read(TEMPERATURE, value, f"later: {name}")
        if name in late:
            late[name] = (late[name][0], temperature_c)
        else:
            expected = f"one of {', '.join(late)}" if late else "nothing: this mix has no late additions"
            door.refuse(f"later: {name}", "what is not added later", expected, "leave it out")
    return late


def _cautions(assumed: Mapping[str, list[str]], room_c: float) -> tuple[Caution, ...]:
    texts = {
        "stage": (
            "stage-temperature-assumed",
            f"{{}} is taken to be as warm as the room ({room_c:g} °C); measure it and name it in temperatures=",
        ),
        "perishable": (
            "room-temperature-assumed",
            f"{{}} is taken to be as warm as the room ({room_c:g} °C); name it in temperatures= if it comes from the cold",
        ),
        "cp": (
            "specific-heat-assumed",
            "nobody has said what {} is made of: the specific heat is taken from the kind; give the composition",
        ),
        "left out": ("later-left-out", "{} added after the mix is left out: this is the dough before it goes in"),
    }
    return tuple(
        Caution(code, text.format(", ".join(dict.fromkeys(assumed[key]))))
        for key, (code, text) in texts.items()
        if assumed[key]
    )
