"""The catalogue: what a name leads to.

The built-in larder is ``ingredients.toml`` beside this file; a ``Catalogue`` lays a bakery's own ingredients over it.
The file is opened on the first look-up, never at import, and each table of it is read when first asked for: reading them
all would cost as much as the rest of a formula.
"""

from __future__ import annotations

import pkgutil
import re
import tomllib
from collections.abc import Mapping
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any, Final, cast

from attrs import asdict, evolve, field, fields_dict, frozen

from .errors import Fault, FileError, FormulaError, UnknownNameError, cited
from .ingredient import FIGURES, Ingredient, folded
from .lines import Lines
from .quantity import Door
from .tables import read_toml

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Catalogue"]

LONGEST_GUESSED: Final = 60
"""Characters of a name to which the nearest are looked for; comparing longer ones takes long and finds nothing."""


@cache
def _shelves() -> tuple[dict[str, str], dict[str, str]]:
    """Return the built-in larder unread: each ingredient's table as text, and the name behind each folded spelling."""
    # The file is plain TOML; a test holds this cut at the headings against a reading of the whole file.
    text = cast("bytes", pkgutil.get_data("formula", "ingredients.toml")).decode("utf-8").replace("\r\n", "\n")
    tables, names = dict[str, str](), dict[str, str]()
    for table in text.split('\n["')[1:]:
        name = table[: table.index('"]\n')]
        also = re.search(r'^also = \["(.*)"\]$', table, re.MULTILINE)
        tables[name] = '["' + table
        names |= dict.fromkeys(map(folded, [name, *(also[1].split('", "') if also else ())]), name)
    return tables, names


@cache
def _built_in(name: str) -> Ingredient:
    return Ingredient(name, **tomllib.loads(_shelves()[0][name])[name])


@lru_cache(4096)
def _known(spelling: str) -> Ingredient | None:
    """Return a built-in ingredient by any spelling of any of its names."""
    name = _shelves()[1].get(folded(spelling))
    return _built_in(name) if name else None


@frozen
class Catalogue:
    """The built-in larder with a bakery's own ingredients laid over it.

    An ingredient of your own hides a built-in one that bears its name or one of its other names.  Where it has the name
    of a built-in one, the other names of that one lead to yours too.

    Args:
        own: the ingredients of your own.

    Raises:
        FormulaError: when two of your own claim the same name.

    Example:
        >>> larder = Catalogue().adding(Ingredient("harbour mix", kind="flour", allergens=["wheat"]))
        >>> larder.find("Harbour Mix").is_flour, larder.find("linseed").name
        (True, 'flaxseed')
    """

    own: tuple[Ingredient, ...] = field(default=(), converter=tuple[Ingredient, ...])
    # Only the way to the own ingredients; the built-in larder is never held, so copies stay small.
    _named: Lines[Ingredient] = field(init=False, repr=False, eq=False)

    def __attrs_post_init__(self) -> None:
        """Index the own ingredients by every name they bear."""
        named: dict[str, Ingredient] = {}
        door = Door(FormulaError)
        for ingredient in self.own:
            if not isinstance(cast("object", ingredient), Ingredient):
                door.refuse("catalogue", repr(ingredient), "an Ingredient", 'write Ingredient("rye mix", kind="flour")')
                continue
            for spelling in (ingredient.name, *ingredient.also):
                holder = named.setdefault(folded(spelling), ingredient)
                if holder is not ingredient:
                    got = f"two ingredients, {holder.name!r} and {ingredient.name!r}"
                    door.refuse(f"the name {spelling!r}", got, "one", "leave the name out of one of them")
                    break
        door.close()
        object.__setattr__(self, "_named", Lines(named))

    def find(self, name: str) -> Ingredient:
        """Return the ingredient a name leads to.

        Args:
            name: the name or another name; capitals, hyphens, underscores and apostrophes make no difference.

        Raises:
            UnknownNameError: with the nearest names, when nothing answers to it.

        Example:
            >>> Catalogue().find("plain_flour").name, Catalogue().find("Active Dry Yeast").solids_g
            ('all-purpose flour', 94.92)
        """
        found = self._look(name) if isinstance(cast("object", name), str) else None
        if found is None:
            raise UnknownNameError(self._unknown(name))
        return found

    def same(self, a: str, b: str) -> bool:
        """Return whether two names lead to the same ingredient.

        Args:
            a: a name.
            b: another.

        Raises:
            UnknownNameError: when nothing answers to one of them.
        """
        return self.find(a).name == self.find(b).name

    def __contains__(self, name: object) -> bool:
        """Return whether a name leads to an ingredient."""
        return isinstance(name, str) and self._look(name) is not None

    def names(self) -> tuple[str, ...]:
        """Return the name of every ingredient once, the own ones first."""
        return (*(mine.name for mine in self.own), *(n for n in _shelves()[0] if folded(n) not in self._named))

    def adding(self, *ingredients: Ingredient) -> Catalogue:
        """Return a catalogue with more ingredients of your own; one of the same name is replaced.

        Args:
            ingredients: what to add.

        Raises:
            FormulaError: when two of your own claim the same name.

        Example:
            >>> drier = Ingredient("bread flour", kind="flour", water_g=12.0, allergens=["wheat"])
            >>> Catalogue().adding(drier).find("strong flour").water_g
            12.0
        """
        new = {folded(each.name) for each in ingredients if isinstance(cast("object", each), Ingredient)}
        return Catalogue((*(mine for mine in self.own if folded(mine.name) not in new), *ingredients))

    def with_file(self, path: str | Path) -> Catalogue:
        """Return a catalogue with the ingredients of a TOML file laid over it.

        The layout is that of the built-in larder: a table for each ingredient, headed by its name.  For an ingredient
        the catalogue has, the file gives only the keys that differ, and the others stay; a new one needs its ``kind``.

        Args:
            path: the file.

        Raises:
            FileError: when it cannot be read, or with every fault in it: unknown keys, wrong values, a name twice.
        """
        from pathlib import Path  # noqa: PLC0415 - what only a reader of files pays

        try:
            return self.with_tables(read_toml(Path(path)), Path(path).name)
        except FileError:
            raise
        except FormulaError as error:
            raise FileError(*(evolve(fault, where=f"{path}: {fault.where}") for fault in error.faults)) from None

    def with_tables(self, tables: Mapping[str, Any], where: str = "") -> Catalogue:
        """Return a catalogue with plain tables laid over it, as ``with_file`` lays those of a file.

        Args:
            tables: ingredient -> its keys.
            where: the name of the file, which notes on changed figures give.

        Raises:
            FormulaError: with every fault in them.
        """
        faults, laid = list[Fault](), list[Ingredient]()
        for heading, table in tables.items():
            try:
                laid.append(_laid(heading, table, self.find(heading) if heading in self else None, where))
            except FormulaError as error:
                faults += error.faults
        try:
            catalogue = self.adding(*laid)
            if not faults:
                return catalogue
        except FormulaError as error:
            faults += error.faults
        raise FormulaError(*faults)

    def to_tables(self) -> dict[str, dict[str, Any]]:
        """Return the own ingredients as plain tables, which ``with_tables`` reads back."""
        tables: dict[str, dict[str, Any]] = {}
        for mine in self.own:
            facts = asdict(
                mine, recurse=False, filter=lambda field, value: field.name != "name" and value not in (None, "")
            )
            tables[mine.name] = {
                key: _plain(value) for key, value in facts.items() if value != () or key == "allergens"
            }
        return tables

    def _look(self, name: str) -> Ingredient | None:
        if not self.own:
            return _known(name)
        mine = self._named.get(folded(name))
        theirs = None if mine else _known(name)
        return self._named.get(folded(theirs.name), theirs) if theirs else mine

    def _unknown(self, name: object) -> Fault:
        import difflib  # noqa: PLC0415 - what only a wrong name pays

        spellings = _shelves()[1] | {spelling: mine.name for spelling, mine in self._named.items()}
        word = folded(str(name))
        near = difflib.get_close_matches(word, list(spellings), 12, 0.5) if len(word) <= LONGEST_GUESSED else []
        nearest = [repr(each) for each in dict.fromkeys(spellings[spelling] for spelling in near)][:3]
        hint = f"; the nearest are {', '.join(nearest)}" if nearest else ""
        fix = "add it with Catalogue.adding(Ingredient(...)) or an ingredients file"
        return Fault("ingredient", cited(name), f"a name of the larder{hint}", fix)


def _laid(heading: str, table: Any, base: Ingredient | None, file: str) -> Ingredient:  # noqa: ANN401 - as TOML has it
    """Return the ingredient a table of a file describes, over what is known of it already."""
    if not isinstance(table, dict):
        raise FormulaError(Fault(heading, repr(table), "a table", f'write ["{heading}"] above its keys'))
    facts = cast("dict[str, Any]", table)
    keys = [key for key in fields_dict(Ingredient) if key != "name"]
    expected = f"one of {', '.join(keys)}"
    faults = [Fault(f"{heading}: {key}", "an unknown key", expected) for key in facts if key not in keys]
    told: dict[str, Any] = asdict(base, recurse=False) if base else {"name": heading, "kind": None}
    told |= {key: value for key, value in facts.items() if key in keys}
    figures = ", ".join(key for key in facts if key in FIGURES or key == "household")
    if base and base.source and figures and "source" not in facts:
        # The source still stands for the figures that stay; the new ones must not pass for its own.
        told["note"] = f"{told['note']}; {figures}: {file}".removeprefix("; ")
    try:
        new = Ingredient(**told)
        if not faults:
            return new
    except FormulaError as error:
        prefix = f"{told['name']}: "
        faults += [evolve(fault, where=f"{heading}: {fault.where.removeprefix(prefix)}") for fault in error.faults]
    raise FormulaError(*faults)


def _plain(value: Any) -> Any:  # noqa: ANN401 - a field of an ingredient, as a file holds it
    if isinstance(value, tuple):
        return list(cast("tuple[str, ...]", value))
    return dict(cast("Lines[float]", value)) if isinstance(value, Lines) else value
