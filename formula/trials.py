"""Trials: mixes that were measured, from which a mixer's friction is learned.

One trial carries the errors of four thermometers; several show how far they can be trusted.  They are written down here
by hand or read from a CSV file: a header with the names of ``COLUMNS``, cells with their units ("21 °C", "8 min").
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Final

from attrs import frozen

from .csvtable import read_csv
from .errors import cited
from .friction import MixTemperatures, Preferments, friction_factor_k, read_mix
from .quantity import MASS, TEMPERATURE, TIME, Door, Measure, OptionalView, View

if TYPE_CHECKING:
    from pathlib import Path


__all__ = ["COLUMNS", "MOST_TRIALS", "Trial", "read_trials"]

COLUMNS: Final = ("flour", "room", "preferment", "water", "dough", "mixer", "speed", "time", "mass")
"""The columns of a file of trials; flour, water and dough must be there, more preferments are "preferment 2" and so on."""
MOST_TRIALS: Final = 400
"""More than a mixer sees in a year; a longer list is likely the wrong file."""


@frozen(init=False)
class Trial(MixTemperatures):
    """A mix as it was measured.

    Args:
        flour: flour temperature.
        water: water temperature; below freezing it stands for ice.
        dough: temperature at which the dough came off.
        room: room temperature; None drops the room from the rule.
        preferments: temperature of the preferment, or of each of several.
        mixer: what the bakers call the mixer.
        speed: its speed, in their words.
        time: how long it ran.
        mass: the weight of the dough.

    Raises:
        QuantityError: for every bad argument at once.

    Example:
        >>> Trial(flour="21 °C", room="23 °C", water="12 °C", dough="25 °C", mixer="the big spiral").friction_k
        19.0
    """

    water_c: float
    dough_c: float
    mixer: str
    speed: str
    time_h: float | None
    mass_g: float | None

    def __init__(
        self,
        *,
        flour: Measure,
        water: Measure,
        dough: Measure,
        room: Measure | None = None,
        preferments: Preferments = (),
        mixer: str = "",
        speed: str = "",
        time: Measure | None = None,
        mass: Measure | None = None,
    ) -> None:
        """Read every argument and tell of all the bad ones at once."""
        with Door() as door:
            mix = read_mix(door, flour, room, preferments)
            water_c = door.read(TEMPERATURE, water, "water")
            dough_c = door.read(TEMPERATURE, dough, "dough")
            time_h = None if time is None else door.read(TIME, time, "time")
            mass_g = None if mass is None else door.read(MASS, mass, "mass")
            for name, word in (("mixer", mixer), ("speed", speed)):
                if not isinstance(word, str):  # pyright: ignore[reportUnnecessaryIsInstance]
                    door.refuse(name, cited(word), "text", "put it between quotes")
            for name, amount in (("time", time_h), ("mass", mass_g)):
                if amount == 0:
                    door.refuse(name, "0", "more than nothing", "leave it out if it is not known")
        facts = {
            "flour_c": mix.flour_c,
            "room_c": mix.room_c,
            "preferments_c": mix.preferments_c,
            "water_c": water_c,
            "dough_c": dough_c,
            "mixer": mixer,
            "speed": speed,
            "time_h": time_h,
            "mass_g": mass_g,
        }
        for name, value in facts.items():
            object.__setattr__(self, name, value)

    water: ClassVar[View] = View(TEMPERATURE, "water_c", "The water's temperature.")
    dough: ClassVar[View] = View(TEMPERATURE, "dough_c", "The temperature at which the dough came off.")
    time: ClassVar[OptionalView] = OptionalView(TIME, "time_h", "How long the mixer ran, if it was written down.")
    mass: ClassVar[OptionalView] = OptionalView(MASS, "mass_g", "The weight of the dough, if it was written down.")

    @property
    def friction_k(self) -> float:
        """The friction factor of this trial alone, on the scale of its own number of temperatures, K."""
        return friction_factor_k(self.dough_c, self.known_c, self.water_c)

    def factor_k(self, count: int) -> float:
        """Return the friction factor rescaled to another number of temperatures, the dough's own rise kept, K.

        Args:
            count: number of temperatures in the sum, that of the water included.
        """
        own = self.measured_count
        return self.friction_k if own == count else self.friction_k * count / own


def read_trials(path: Path) -> tuple[Trial, ...]:
    r"""Read trials from a CSV file, one a line.

    The header names the columns, in any order: flour, water and dough; if known room, preferment (and "preferment 2" and
    so on), mixer, speed, time and mass.  A cell is text with its unit; one left empty is not known.

    Args:
        path: the file, UTF-8, cells parted by commas.

    Raises:
        FileError: for everything wrong in the file at once, each with its line and column.

    Example:
        >>> import tempfile, pathlib
        >>> path = pathlib.Path(tempfile.mkdtemp()) / "trials.csv"
        >>> _ = path.write_text("flour,room,water,dough\n21 °C,23 °C,12 °C,25 °C\n", encoding="utf-8")
        >>> [trial.friction_k for trial in read_trials(path)]
        [19.0]
    """
    return read_csv(
        path,
        _trial,
        columns=COLUMNS,
        needed=("flour", "water", "dough"),
        most=MOST_TRIALS,
        noun="trial",
        more="preferment",
        column=_column,
    )


def _trial(row: dict[str, str]) -> Trial:
    # A cell left empty says that nothing is known; for one that is needed the reader's own refusal tells it.
    return Trial(
        flour=row["flour"],
        water=row["water"],
        dough=row["dough"],
        room=row.get("room") or None,
        preferments=[row[name] for name in _preferments(row)],
        mixer=row.get("mixer", ""),
        speed=row.get("speed", ""),
        time=row.get("time") or None,
        mass=row.get("mass") or None,
    )


def _preferments(row: dict[str, str]) -> list[str]:
    return [name for name, cell in row.items() if name.startswith("preferment") and cell]


def _column(where: str, row: dict[str, str]) -> str:
    """Return the column that a fault of the trial stands for: preferments[1] is the second that is filled in."""
    if where.startswith("preferments["):
        return _preferments(row)[int(where.removeprefix("preferments[").removesuffix("]"))]
    return where
