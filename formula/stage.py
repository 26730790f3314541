"""Stages: preferments, soakers, scalds and autolyses, each a small formula inside the formula.

A stage has baker's percentages of its own, on its own flour (or on its grain and seed, or on the lines named as its
``base``).  How large it is, is said in exactly one of the four ways of the trade: by the share of the flour it takes,
by the share of another ingredient, by its weight on all the flour, or by its weight on the flour of the final dough.
Nothing is guessed.  How the stages of a formula fit together is worked out in ``table.py``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import ClassVar, Final, TypeAlias, cast

from attrs import fields, frozen

from .catalogue import Catalogue
from .errors import Fault, FormulaError, cited
from .lines import Lines
from .quantity import MASS, SHARE, Door, Measure, OptionalView, grid

__all__ = ["COUNTED", "FINAL", "Amounts", "Culture", "Stage", "base_of", "on_base", "percent_lines"]

FINAL: Final = "final"
"""The reserved name of the last stage, the final dough."""

COUNTED: Final = ("returned", "line", "split")
STAGE_KINDS: Final = ("preferment", "soaker", "scald", "autolyse")
PROTECTED_BASE: Final = ("seed",)
LARGEST_PERCENT: Final = 1e12
"""More than any dough holds of anything, and little enough that sums stay finite."""

Amounts: TypeAlias = Mapping[str, float] | Mapping[str, Measure]
"""Lines as a caller writes them: bare numbers are baker's percentages, text and quantities are weights."""


def percent_lines(amounts: Amounts, where: str) -> tuple[Lines[float], bool]:
    """Read lines as a caller writes them, and tell whether they are weights.

    Args:
        amounts: name -> bare number (a percentage), or name -> text or quantity (a weight); never both.
        where: what the lines belong to, for the message.

    Returns:
        The lines as floats, and True if they are grams.

    Raises:
        FormulaError: with every line that is not a number or weight of 0 or more.
    """
    if not isinstance(amounts, Mapping):  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
        kind = type(amounts).__name__
        raise FormulaError(Fault(where, f"an object of type {kind}", "names with their amounts", 'write {"water": 70}'))
    door = Door(FormulaError)
    numbers: list[tuple[str, float]] = []
    weighed = [name for name, amount in amounts.items() if isinstance(amount, str) or hasattr(amount, "units")]
    if weighed and len(weighed) < len(amounts):
        bare = ", ".join(name for name in amounts if name not in weighed)
        door.refuse(
            where, f"weights beside bare numbers ({bare})", "all weights or all percentages", "give one kind only"
        )
        door.close()
    for name, amount in amounts.items():
        place = f"{where}: {name}"
        if not isinstance(name, str) or not name.strip():  # pyright: ignore[reportUnnecessaryIsInstance]
            door.refuse(where, repr(name), "the name of an ingredient as text")
        elif weighed:
            numbers.append((name, door.read(MASS, amount, place)))  # type: ignore[arg-type]
        elif _is_percent(amount):
            numbers.append((name, float(cast("float", amount))))
        else:
            door.refuse(
                place, cited(amount), "a finite percentage of 0 or more as a bare number, or a weight with its unit"
            )
    door.close()
    if not numbers:
        raise FormulaError(Fault(where, "no lines", "at least one ingredient"))
    return Lines(numbers), bool(weighed)


def _is_percent(value: object) -> bool:
    is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
    return is_number and 0 <= cast("float", value) <= LARGEST_PERCENT


def base_of(lines: Iterable[str], catalogue: Catalogue, named: tuple[str, ...] = (), *, final: bool) -> tuple[str, ...]:
    """Find the lines that are the 100 %.

    Args:
        lines: the names of the lines.
        catalogue: what the names mean.
        named: the lines that the user named as the base; they win.
        final: whether this is a dough, which stands on flour alone, or a stage, which may stand on its grain and seed.
    """
    names = tuple(lines)
    if named:
        wanted = {catalogue.find(name).name for name in named}
        return tuple(name for name in names if catalogue.find(name).name in wanted)
    flours = tuple(name for name in names if catalogue.find(name).is_flour)
    if flours or final:
        return flours
    return tuple(name for name in names if catalogue.find(name).kind in PROTECTED_BASE)


def on_base(lines: Lines[float], base: tuple[str, ...]) -> Lines[float]:
    """Turn weights into percentages of the base: 100 x weight / weight of the base."""
    whole = sum(lines[name] for name in base)
    return Lines((name, 100 * amount / whole) for name, amount in lines.items())


@frozen(init=False)
class Culture:
    """How the ripe culture that seeds a levain is counted; all three conventions are published, so it must be said.

    Args:
        counted: ``"returned"``: as much is taken back out before the final mix, and it is in no total;
            ``"line"``: it is a line of its own in the overall formula; ``"split"``: it is counted as its flour and water.
        percents: the culture's own formula, on its own flour; left out, it is the same as the levain it seeds.

    Raises:
        FormulaError: on an unknown convention, or lines that cannot be read.

    Example:
        >>> Culture("split", {"bread flour": 100, "water": 125}).counted
        'split'
    """

    counted: str
    percents: Lines[float]

    def __init__(self, counted: str = "returned", percents: Amounts | None = None) -> None:
        """Read both arguments."""
        if counted not in COUNTED:
            expected = f"one of {', '.join(COUNTED)}"
            raise FormulaError(Fault("culture", repr(counted), expected, "say how the culture is counted"))
        object.__setattr__(self, "counted", counted)
        object.__setattr__(self, "percents", percent_lines(percents, "culture")[0] if percents else Lines[float]())


def _culture(value: Culture | str | None) -> Culture | None:
    return value if value is None or isinstance(value, Culture) else Culture(value)


def _read_sizes(
    door: Door,
    where: str,
    flour: Measure | None,
    takes: tuple[str, Measure] | None,
    weight: Measure | None,
    weight_on_final: Measure | None,
) -> dict[str, float]:
    """Read the one size that a stage says, as a percentage."""
    share = takes[1] if takes else None
    asked = {"flour": flour, "takes": share, "weight": weight, "weight_on_final": weight_on_final}
    sizes = {
        size: grid(SHARE, 100 * door.read(SHARE, given, f"{where}: {size}"))
        for size, given in asked.items()
        if given is not None
    }
    if len(sizes) > 1:
        door.refuse(where, f"{' and '.join(sizes)} together", "its size said in one way", "keep one of them")
    return sizes


def _is_pair(takes: object) -> bool:
    return isinstance(takes, (tuple, list)) and len(cast("list[object]", takes)) == 2


@frozen(init=False)
class Stage:
    """A preferment, soaker, scald or autolyse, with its size said in one of four ways.

    Args:
        name: the stage's name, as it appears in the final dough; ``"final"`` is taken.
        percents: its lines as percentages of its own base (bare numbers), or as weights with units; a line may be
            another stage.
        flour: how much of all the flour is weighed into it (pre-fermented flour), such as ``"40 %"``.
        takes: another ingredient and the share of it that goes in here, such as ``("flaxseed", "100 %")``.
        weight: the stage's weight on all the flour, as it goes into the dough.
        weight_on_final: the same weight on the flour of the final dough.
        kind: ``"preferment"``, ``"soaker"``, ``"scald"`` or ``"autolyse"``; left out, the name tells if it holds one of
            these words, else a stage with flour is a preferment and one without is a soaker.
        base: the lines that are its 100 %; left out, its flours, or without flour its grain and seed.
        culture: how a line of ripe culture is counted: ``"returned"``, ``"line"``, ``"split"`` or a ``Culture``.
        keep: what is kept back for tomorrow, in percent of the base, beyond a returned culture.
        boiled_off: water that a scald loses and nobody makes up, in percent of the base.

    Raises:
        FormulaError: on a taken or empty name, more than one size, an unknown kind, a negative number; all at once.

    Example:
        >>> Stage("biga", {"bread flour": 100, "water": 55, "fresh yeast": 0.2}, flour="40 %").flour_percent
        40.0
    """

    name: str
    percents: Lines[float]
    in_grams: bool
    flour_percent: float | None
    taken: str
    taken_percent: float | None
    weight_percent: float | None
    weight_on_final_percent: float | None
    kind: str
    base: tuple[str, ...]
    culture: Culture | None
    keep_percent: float
    boiled_off_percent: float

    def __init__(
        self,
        name: str,
        percents: Amounts,
        *,
        flour: Measure | None = None,
        takes: tuple[str, Measure] | None = None,
        weight: Measure | None = None,
        weight_on_final: Measure | None = None,
        kind: str = "",
        base: Iterable[str] | str = (),
        culture: Culture | str | None = None,
        keep: float = 0.0,
        boiled_off: float = 0.0,
    ) -> None:
        """Read every argument and tell of all the bad ones at once."""
        door = Door(FormulaError)
        if not isinstance(name, str) or not name.strip():  # pyright: ignore[reportUnnecessaryIsInstance] - callers may be untyped
            door.refuse("stage", repr(name), "a name")
        elif name == FINAL:
            door.refuse("stage", repr(name), "another name", "the final dough is the stage called final")
        where = f"stage {name}"
        lines, in_grams = Lines[float](), False
        try:
            lines, in_grams = percent_lines(percents, where)
        except FormulaError as error:
            door.faults.extend(error.faults)
        if takes is not None and not _is_pair(takes):
            door.refuse(f"{where}: takes", repr(takes), "an ingredient and its share", 'write ("flaxseed", "100 %")')
            takes = None
        sizes = _read_sizes(door, where, flour, takes, weight, weight_on_final)
        if kind not in ("", *STAGE_KINDS):
            door.refuse(f"{where}: kind", repr(kind), f"one of {', '.join(STAGE_KINDS)}")
        for label, percent in (("keep", keep), ("boiled_off", boiled_off)):
            if not _is_percent(percent):
                expected = "a percentage of the stage's base as a bare number of 0 or more"
                door.refuse(f"{where}: {label}", repr(percent), expected)
        try:
            counted = _culture(culture)
        except FormulaError as error:
            door.faults.extend(error.faults)
            counted = None
        door.close()
        told = next((word for word in STAGE_KINDS if word in name.lower()), "")
        for field_name, value in (
            ("name", name),
            ("percents", lines),
            ("in_grams", in_grams),
            ("flour_percent", sizes.get("flour")),
            ("taken", takes[0] if takes else ""),
            ("taken_percent", sizes.get("takes")),
            ("weight_percent", sizes.get("weight")),
            ("weight_on_final_percent", sizes.get("weight_on_final")),
            ("kind", kind or told),
            ("base", (base,) if isinstance(base, str) else tuple(base)),
            ("culture", counted),
            ("keep_percent", float(keep)),
            ("boiled_off_percent", float(boiled_off)),
        ):
            object.__setattr__(self, field_name, value)

    @property
    def is_sized(self) -> bool:
        """Whether the stage says its own size; one that does not is sized by the stages that use it."""
        sizes = (self.flour_percent, self.taken_percent, self.weight_percent, self.weight_on_final_percent)
        return any(size is not None for size in sizes)

    flour: ClassVar[OptionalView] = OptionalView(
        SHARE, "flour_percent", "The share of all the flour that is weighed into this stage.", percent=True
    )
    weight: ClassVar[OptionalView] = OptionalView(
        SHARE, "weight_percent", "The stage's weight on all the flour.", percent=True
    )
    weight_on_final: ClassVar[OptionalView] = OptionalView(
        SHARE, "weight_on_final_percent", "The stage's weight on the flour of the final dough.", percent=True
    )

    def changed(self, **changes: object) -> Stage:
        """Return a copy with some fields (by their own names, in canonical units) replaced; for internal use."""
        copy = object.__new__(Stage)
        for name in (attribute.name for attribute in fields(Stage)):
            object.__setattr__(copy, name, changes.get(name, getattr(self, name)))
        return copy
