"""One line of the day's log: what really happened, when, to which mix, with what was measured, weighed and used.

A line is a JSON object of plain keys; quantities are text with their units, times are times of day.  What must stand in it
and what may depends on ``what`` it tells of, see ``KINDS``; anything else is refused.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from itertools import islice
from typing import Any, ClassVar, Final, cast

from attrs import field, frozen

from .errors import FormulaError, cited
from .intake import LARGEST_WHOLE
from .lines import Lines
from .quantity import MASS, TEMPERATURE, Door, Kind, Measure, OptionalView, write
from .timeofday import Moment, read_moment

__all__ = ["KEYS", "KINDS", "Entry"]

_MIX: Final = ("bread", "mix")
_LOAD: Final = ("bread", "mix", "load")
KINDS: Final[Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]]] = {
    "stage built": (("stage", "lot"), ("dough", "weights", "lots")),
    "mix begun": (_MIX, ("station", "flour", "room", "water", "preferments", "weights", "lots")),
    "mix ended": (_MIX, ("dough", "weights", "lots")),
    "mix put off": (_MIX, ()),
    "dough measured": ((*_MIX, "dough"), ()),
    "divide begun": (_MIX, ()),
    "divide ended": (_MIX, ()),
    "shape begun": (_MIX, ()),
    "shape ended": (_MIX, ()),
    "load in": (_LOAD, ("station", "pieces")),
    "load out": (_LOAD, ()),
    "packed": (_LOAD, ()),
    "sent": ((*_LOAD, "due"), ("pieces",)),
    "pieces weighed": (("bread", "masses"), ("mix",)),
    "station down": (("station",), ("since", "until", "count")),
    "station back": (("station",), ()),
    "order changed": (("bread", "pieces"), ("due",)),
    "replanned": ((), ()),
    "note": ((), ()),
}
"""What a line may tell of: the keys that it needs, and those that it may have besides ``_ALWAYS``."""
_ALWAYS: Final = ("at", "what", "who", "note", "instead_of")
KEYS: Final = tuple(dict.fromkeys((*_ALWAYS, *(key for kind in KINDS.values() for keys in kind for key in keys))))
"""All keys of a line."""
_WORDS: Final = ("bread", "station", "stage", "lot", "due", "who", "note")
_COUNTS: Final = {"mix": 1, "load": 1, "count": 1, "pieces": 0, "instead_of": 1}
_TEMPERATURES: Final = ("dough", "flour", "room", "water")
LONGEST_WORD: Final = 500
"""Characters of a text; a note is not a diary."""
MOST_IN_A_LIST: Final = 10_000
"""Pieces weighed at once, lots of an ingredient and so on."""


@frozen(init=False)
class Entry:
    """One thing that happened.

    Args:
        at: when, as a time of day: "02:10", "23:40 the day before".
        what: one of ``KINDS``.
        bread: the bread, as the plan calls it.
        mix: the number of the mix.
        load: the number of the load of this mix.
        station: the oven of a load, the mixer of a mix, or what is down: an oven, a mixer, "bench", "proof" and so on.
        since: of a station that is down, from when; ``at`` if left out.
        until: until when; left out, it is not known.
        count: of how many there is, so many are down: people missing at the bench.  All if left out.
        pieces: pieces of a load, of what was sent, or now ordered.
        due: the order, by the time when it is due.
        dough: the dough's temperature as measured.
        flour: the flour's.
        room: the room's.
        water: the water's as poured.
        preferments: the temperatures of what else went into the mix.
        weights: ingredient -> what was really weighed of it.
        lots: ingredient or built stage -> its lot number, or several.
        stage: the stage that was built.
        lot: what this build of it is called; the mixes name it among their lots.
        masses: the weight of each piece that was weighed.
        who: who did it; initials will do.
        note: anything else.
        instead_of: the number of the line that this one takes the place of; nothing in a log is rewritten.
        where: names the line in messages.

    Raises:
        FormulaError: every bad argument at once; what this kind of line needs and lacks, and what it cannot have.

    Example:
        >>> begun = Entry("02:10", "mix begun", bread="Quay Round", mix=3, lots={"bread flour": "4711"}, who="M.")
        >>> print(begun)
        02:10 mix begun, Quay Round, mix 3
    """

    at: Moment
    what: str
    bread: str
    mix: int | None
    load: int | None
    station: str
    since: Moment | None
    until: Moment | None
    count: int | None
    pieces: int | None
    due: str
    dough_c: float | None
    flour_c: float | None
    room_c: float | None
    water_c: float | None
    preferments_c: tuple[float, ...]
    weights_g: Lines[float]
    lots: Lines[tuple[str, ...]]
    stage: str
    lot: str
    masses_g: tuple[float, ...]
    who: str
    note: str
    instead_of: int | None
    line: int = field(eq=False)

    def __init__(
        self,
        at: str,
        what: str,
        *,
        bread: str = "",
        mix: int | None = None,
        load: int | None = None,
        station: str = "",
        since: str = "",
        until: str = "",
        count: int | None = None,
        pieces: int | None = None,
        due: str = "",
        dough: Measure | None = None,
        flour: Measure | None = None,
        room: Measure | None = None,
        water: Measure | None = None,
        preferments: Iterable[Measure] = (),
        weights: Mapping[str, Measure] | None = None,
        lots: Mapping[str, str | Iterable[str]] | None = None,
        stage: str = "",
        lot: str = "",
        masses: Iterable[Measure] = (),
        who: str = "",
        note: str = "",
        instead_of: int | None = None,
        where: str = "entry",
        line: int = 0,
    ) -> None:
        """Read every argument and tell of all the bad ones at once."""
        words = dict(zip(_WORDS, (bread, station, stage, lot, due, who, note), strict=True))
        counts = dict(zip(_COUNTS, (mix, load, count, pieces, instead_of), strict=True))
        with Door(FormulaError) as door:
            facts: dict[str, Any] = {"at": read_moment(door, at, f"{where}: at"), "what": what, "line": line}
            for name, text in (("since", since), ("until", until)):
                facts[name] = read_moment(door, text, f"{where}: {name}") if text else None
            facts |= {name: _word(door, text, f"{where}: {name}") for name, text in words.items()}
            for name, number in counts.items():
                _check_count(door, number, f"{where}: {name}", _COUNTS[name])
            facts |= counts
            for name, value in zip(_TEMPERATURES, (dough, flour, room, water), strict=True):
                facts[f"{name}_c"] = None if value is None else door.read(TEMPERATURE, value, f"{where}: {name}")
            facts["preferments_c"] = _each(door, TEMPERATURE, preferments, f"{where}: preferments")
            facts["masses_g"] = _each(door, MASS, masses, f"{where}: masses")
            facts["weights_g"] = Lines(_named(door, weights, f"{where}: weights", _mass))
            facts["lots"] = Lines(_named(door, lots, f"{where}: lots", _lots))
            given = {key for key in KEYS if facts.get(_FIELDS.get(key, key)) not in (None, "", (), Lines[Any]())}
            _check_kind(door, what, given, where)
        for name, value in facts.items():
            object.__setattr__(self, name, value)

    dough: ClassVar[OptionalView] = OptionalView(TEMPERATURE, "dough_c", "The dough's temperature, if it was measured.")
    flour: ClassVar[OptionalView] = OptionalView(TEMPERATURE, "flour_c", "The flour's temperature, if it was measured.")
    room: ClassVar[OptionalView] = OptionalView(TEMPERATURE, "room_c", "The room's temperature, if it was measured.")
    water: ClassVar[OptionalView] = OptionalView(TEMPERATURE, "water_c", "The water's temperature, if it was measured.")

    def __str__(self) -> str:
        """Say in a few words what happened."""
        about = [self.bread or self.stage or self.station]
        about += [f"{name} {number}" for name, number in (("mix", self.mix), ("load", self.load)) if number is not None]
        return ", ".join(part for part in (f"{self.at} {self.what}", *about) if part)

    def to_table(self) -> dict[str, Any]:
        """Return it as it is written: the keys that say something, quantities as text with units."""
        table: dict[str, Any] = {"at": str(self.at), "what": self.what}
        for name in (*_WORDS, *_COUNTS, "since", "until"):
            value = getattr(self, name)
            if value not in (None, ""):
                table[name] = str(value) if isinstance(value, Moment) else value
        for name in _TEMPERATURES:
            celsius = getattr(self, f"{name}_c")
            if celsius is not None:
                table[name] = write(TEMPERATURE, celsius)
        if self.preferments_c:
            table["preferments"] = [write(TEMPERATURE, celsius) for celsius in self.preferments_c]
        if self.weights_g:
            table["weights"] = {name: write(MASS, grams) for name, grams in self.weights_g.items()}
        if self.lots:
            table["lots"] = {name: lots[0] if len(lots) == 1 else list(lots) for name, lots in self.lots.items()}
        if self.masses_g:
            table["masses"] = [write(MASS, grams) for grams in self.masses_g]
        return table

    @classmethod
    def from_table(cls, table: object, *, where: str = "entry", line: int = 0) -> Entry:
        """Read it as it is written.

        Args:
            table: keys and values as JSON has them.
            where: names the line in messages.
            line: its number in the log.

        Raises:
            FormulaError: for what is no table, an unknown key and every bad value.
        """
        with Door(FormulaError) as door:
            if not isinstance(table, dict):
                door.refuse(where, cited(table), "a table of keys and values", 'such as {"at": "02:10", "what": ...}')
                door.close()
            keys = cast("dict[str, Any]", table)
            for key in islice(keys, MOST_IN_A_LIST):
                if key not in KEYS:
                    door.refuse(f"{where}: {cited(key, str)}", "an unknown key", f"one of {', '.join(KEYS)}")
            for key in ("at", "what"):
                if key not in keys:
                    door.refuse(f"{where}: {key}", "nothing", f"the key {key!r}", "add it")
            for key, value in keys.items():
                if value is None:
                    door.refuse(f"{where}: {cited(key, str)}", "null", "a value", "leave out what is not known")
        return cls(**keys, where=where, line=line)


_FIELDS: Final = {
    **{name: f"{name}_c" for name in (*_TEMPERATURES, "preferments")}, "weights": "weights_g", "masses": "masses_g",
}  # fmt: skip


def _check_kind(door: Door, what: object, given: set[str], where: str) -> None:
    if not isinstance(what, str) or what not in KINDS:
        door.refuse(f"{where}: what", cited(what), f"one of {', '.join(KINDS)}")
        return
    needed, allowed = KINDS[what]
    for key in needed:
        if key not in given:
            door.refuse(f"{where}: {key}", "nothing", f'it, for "{what}"', "add it")
    for key in KEYS:
        if key in given and key not in (*_ALWAYS, *needed, *allowed):
            own = ", ".join((*needed, *allowed)) or "nothing but a note"
            door.refuse(f"{where}: {key}", f'it in "{what}"', f"{own}", "tell it in a line of its own")


def _word(door: Door, text: object, where: str) -> str:
    if not isinstance(text, str) or len(text) > LONGEST_WORD or not text.isprintable():
        door.refuse(where, cited(text), f"text on one line of at most {LONGEST_WORD} characters")
        return ""
    return text.strip()


def _check_count(door: Door, number: object, where: str, least: int) -> None:
    if number is not None and (
        isinstance(number, bool) or not isinstance(number, int) or not least <= number <= LARGEST_WHOLE
    ):
        door.refuse(where, cited(number), f"a whole number of {least} or more", "write it without quotes")


def _listed(door: Door, values: Any, where: str, what: str) -> tuple[Any, ...]:  # noqa: ANN401 - whatever is given
    """Take a list of things; a single text, which Python would take for a list of letters, is refused."""
    if isinstance(values, (str, Mapping)) or not isinstance(values, Iterable):
        door.refuse(where, cited(values), f"a list of {what}", "put it between [ and ]")
        return ()
    taken = tuple(values)
    if len(taken) > MOST_IN_A_LIST:
        door.refuse(where, f"{len(taken)} of them", f"at most {MOST_IN_A_LIST}", "write more lines")
        return ()
    return taken


def _each(door: Door, kind: Kind, values: object, where: str) -> tuple[float, ...]:
    taken = _listed(door, values, where, f"texts such as {kind.example}")
    return tuple(door.read(kind, value, f"{where}[{number}]") for number, value in enumerate(taken))


def _named(door: Door, values: Any, where: str, read: Any) -> list[tuple[str, Any]]:  # noqa: ANN401 - whatever is given, and either of two readers
    if values is None:
        return []
    if not isinstance(values, Mapping):
        door.refuse(where, cited(values), "a table of names and values", 'such as {"bread flour": ...}')
        return []
    if len(values) > MOST_IN_A_LIST:
        door.refuse(where, f"{len(values)} of them", f"at most {MOST_IN_A_LIST}", "write more lines")
        return []
    pairs = values.items()
    found = {_word(door, name, where): read(door, value, f"{where}: {cited(name, str)}") for name, value in pairs}
    if "" in found or len(found) < len(pairs):
        door.refuse(where, "a name that is empty or stands twice", "the name of an ingredient")
    return list(found.items())


def _mass(door: Door, value: Measure, where: str) -> float:
    grams = door.read(MASS, value, where)
    return 0.0 if math.isnan(grams) else grams


def _lots(door: Door, value: object, where: str) -> tuple[str, ...]:
    taken = [value] if isinstance(value, str) else _listed(door, value, where, "lot numbers as text")
    lots = tuple(_word(door, each, where) for each in taken)
    if not lots or "" in lots:
        door.refuse(where, "no lot number", "one or more", "leave out what is not known")
    return lots
