"""The table of an assortment: the overall baker's percentages of many formulas, a row for each and a column for each ingredient.

Most of the table is empty, so only the lines are kept, formula by formula, as numpy reads them (the extra ``many``).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Self, TypeAlias

from attrs import field, frozen

from .catalogue import Catalogue
from .errors import Fault, FormulaError, UnknownNameError, cited
from .formula import Formula
from .formulacolumns import laid_columns
from .packed import Packed, load_numpy
from .quantity import Door

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["FormulaTable", "Grams", "by_formula", "lines_of", "read_weights"]

Grams: TypeAlias = "Sequence[float] | Mapping[str, float] | NDArray[Any]"
"""A weight for each formula, g: in their order, or by their ids; one that is not named has none."""


@frozen
class FormulaTable:
    """Many formulas in one table; made by ``FormulaTable.of``.

    Attributes:
        ids: what the formulas are called, each once.
        ingredients: the catalogue's names, in the order in which they first come up.
        catalogues: for each ingredient the catalogue that says what it is.
        starts: where the lines of each formula begin; one more for the end of the last.
        places: for each line its ingredient, as its place among the ingredients.
        percents: for each line its percentage of all the flour.

    Example:
        >>> rye = Formula.from_percents("Rye", {"dark rye flour": 100, "water": 80, "salt": 2})
        >>> white = Formula.from_percents("White", {"bread flour": 100, "water": 65, "salt": 2})
        >>> both = FormulaTable.of([rye, white])
        >>> both.ids, both.ingredients
        (('Rye', 'White'), ('dark rye flour', 'water', 'salt', 'bread flour'))
        >>> both.total_percents().tolist()
        [182.0, 167.0]
        >>> both.matrix()[1].tolist()
        [80.0, 65.0]
    """

    ids: tuple[str, ...]
    ingredients: tuple[str, ...]
    catalogues: tuple[Catalogue, ...] = field(repr=False)
    starts: Packed
    places: Packed
    percents: Packed

    @classmethod
    def of(cls, formulas: Iterable[Formula], ids: Iterable[str] | None = None) -> Self:
        """Lay formulas into one table.

        Args:
            formulas: at least one.
            ids: what each is called here, such as an article number; its name if left out.

        Raises:
            FormulaError: no formula, an id that stands twice, one name that means two ingredients; all at once.
            MissingExtraError: without numpy.
        """
        taken = tuple(formulas)
        with Door(FormulaError) as door:
            for number, each in enumerate(taken):
                if not isinstance(each, Formula):  # pyright: ignore[reportUnnecessaryIsInstance]
                    door.refuse(f"formulas[{number}]", cited(each), "a Formula")
            if not taken:
                door.refuse("formulas", "none", "at least one formula")
            door.close()
            named = tuple(each.name for each in taken) if ids is None else tuple(ids)
            if len(named) != len(taken):
                door.refuse("ids", f"{len(named)} ids", f"one for each of the {len(taken)} formulas")
            for name, count in Counter(named).items():
                if count > 1:
                    door.refuse(
                        "ids", f"{cited(name)} {count} times", "each once", "give ids=, such as article numbers"
                    )
            larder = _Larder()
            starts, places, percents = [0], list[int](), list[float]()
            for bread in taken:
                places += [larder.place(line, bread) for line in bread.percents]
                percents += bread.percents.values()
                starts.append(len(places))
            for name, where in larder.twice.items():
                got = f"another ingredient of that name in {where} than before"
                door.refuse(f"ingredient {name!r}", got, "one meaning", "rename one of the two in its catalogue")
        return cls(
            named,
            tuple(larder.found),
            tuple(larder.found.values()),
            Packed.of(starts, "i8"),
            Packed.of(places, "i8"),
            Packed.of(percents),
        )

    @classmethod
    def from_columns(
        cls, columns: Mapping[str, Any], catalogue: Catalogue | None = None, *, flours: Iterable[str] = ()
    ) -> Self:
        """Lay columns into a table: a row for each line of each formula, as ``columns`` returns them.

        No formula is made, so that a hundred thousand take no longer than a few, but the same is asked of them as of one.
        With a fourth column ``stage`` the lines of a formula are added up over its stages, all in percent of all its flour.

        Args:
            columns: ``formula``, ``ingredient`` and ``percent`` of all the flour; a data frame, an Arrow table or a mapping.
            catalogue: what the names mean; the built-in larder if left out.
            flours: the ingredients that make the 100 % of those formulas where it is not what the catalogue counts as flour.

        Raises:
            FormulaError: columns that are missing or do not fit together, percentages that are negative or no numbers,
                formulas whose flours do not sum to 100.
            UnknownNameError: names that the catalogue does not know, with the nearest that it does.
            ContradictionError: an ingredient that stands twice in a formula.
            MissingExtraError: without numpy.

        Example:
            >>> columns = {"formula": ["Rye"] * 2, "ingredient": ["dark rye flour", "water"], "percent": [100, 80]}
            >>> FormulaTable.from_columns(columns) == FormulaTable.of(
            ...     [Formula.from_percents("Rye", {"dark rye flour": 100, "water": 80})])
            True
        """
        return cls(*laid_columns(columns, catalogue or Catalogue(), flours))

    def __len__(self) -> int:
        """Return the number of formulas."""
        return len(self.ids)

    def total_percents(self) -> NDArray[Any]:
        """Return the sum of all lines of each formula, in percent of its flour."""
        return by_formula(self, self.percents.array())

    def matrix(self) -> NDArray[Any]:
        """Return the whole table, ingredients down and formulas across, in percent of the flour; absent lines are 0.

        It takes eight bytes for each ingredient of each formula: 300 ingredients in 100,000 formulas are 240 MB.
        """
        np = load_numpy()
        found: NDArray[Any] = np.zeros((len(self.ingredients), len(self)))
        owners = np.repeat(np.arange(len(self)), np.diff(self.starts.array()))
        found[self.places.array(), owners] = self.percents.array()
        found.setflags(write=False)
        return found

    def columns(self) -> dict[str, Any]:
        """Return the lines as columns, a row for each line of each formula: ``formula``, ``ingredient``, ``percent``."""
        return {
            "formula": [name for name, count in zip(self.ids, self._counts(), strict=True) for _ in range(count)],
            "ingredient": [self.ingredients[place] for place in self.places.array().tolist()],
            "percent": self.percents.array(),
        }

    def _counts(self) -> list[int]:
        """Return how many lines each formula has."""
        return [last - first for first, last in pairwise(self.starts.array().tolist())]


def lines_of(table: FormulaTable, name: str) -> slice:
    """Return where the lines of a formula stand.

    Args:
        table: the formulas.
        name: the id of one.

    Raises:
        UnknownNameError: when there is no such formula.
    """
    if name not in table.ids:
        raise UnknownNameError(Fault("formula", cited(name), _known(table)))
    number = table.ids.index(name)
    first, last = table.starts.array()[number : number + 2].tolist()
    return slice(first, last)


def by_formula(table: FormulaTable, values: NDArray[Any]) -> NDArray[Any]:
    """Add up what stands at the lines of each formula.

    Args:
        table: the formulas; each has at least one line.
        values: a number for each line.
    """
    found: NDArray[Any] = load_numpy().add.reduceat(values, table.starts.array()[:-1])
    found.setflags(write=False)
    return found


def read_weights(table: FormulaTable, given: Grams, where: str) -> NDArray[Any]:
    """Read a weight in g for each formula.

    Args:
        table: the formulas.
        given: numbers in the order of the formulas, or by their ids.
        where: the argument's name, for messages.

    Raises:
        FormulaError: too many or too few, or one that is negative or no number.
        UnknownNameError: an id that is not there.
    """
    np = load_numpy()
    if isinstance(given, Mapping):
        unknown = given.keys() - set(table.ids)
        if unknown:
            raise UnknownNameError(*(Fault(where, cited(name), _known(table)) for name in sorted(unknown, key=str)))
        given = [given.get(name, 0.0) for name in table.ids]
    if hasattr(given, "magnitude"):
        raise FormulaError(Fault(where, "a quantity", "numbers, in grams", 'write quantity.m_as("g")'))
    try:
        taken = np.asarray(given)
    except ValueError:
        taken = np.empty(0, dtype=object)
    if taken.dtype.kind not in "iuf":
        raise FormulaError(Fault(where, cited(given), "numbers, in grams", "write 93000, not '93 kg'"))
    if taken.shape != (len(table),):
        raise FormulaError(
            Fault(where, f"weights of the shape {taken.shape}", f"one for each of {len(table)} formulas")
        )
    weights: NDArray[Any] = taken.astype(float)
    bad = np.flatnonzero(~(np.isfinite(weights) & (weights >= 0)))
    if bad.size:
        more = f" and {bad.size - 1} more such" if bad.size > 1 else ""
        first = int(bad[0])
        raise FormulaError(
            Fault(f"{where}: {table.ids[first]}", f"{weights[first]}{more}", "a weight in g, zero or more")
        )
    return weights


def _known(table: FormulaTable) -> str:
    return f"one of the {len(table)} here, such as {', '.join(table.ids[:5])}"


class _Larder:
    """Gives every ingredient its place, asking each catalogue once for each way of writing it."""

    def __init__(self) -> None:
        """Begin with none."""
        self.found: dict[str, Catalogue] = {}
        self.twice: dict[str, str] = {}
        self._places: dict[str, int] = {}
        self._known: dict[Catalogue, dict[str, int]] = {}
        self._last: tuple[Catalogue | None, dict[str, int]] = (None, {})

    def place(self, line: str, bread: Formula) -> int:
        """Return the place of an ingredient by the name of a line of a bread."""
        catalogue = bread.catalogue
        if catalogue is not self._last[0]:
            self._last = (catalogue, self._known.setdefault(catalogue, {}))
        known = self._last[1]
        if line not in known:
            meant = catalogue.find(line)
            if self.found.setdefault(meant.name, catalogue).find(meant.name) != meant:
                self.twice.setdefault(meant.name, bread.name)
            known[line] = self._places.setdefault(meant.name, len(self._places))
        return known[line]
