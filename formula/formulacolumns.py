"""Formulas in columns: a row for each line of each formula, checked all at once and laid into the parts of a table.

What ``Formula.from_percents`` asks of one formula is asked of each here: names that the catalogue knows, each ingredient
once, percentages of 0 or more, flours that sum to 100.  Only sums over the columns do it, and no formula is made.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final, NamedTuple, cast

from attrs import frozen

from .bulknames import Coded, coded
from .catalogue import Catalogue
from .errors import MOST_TOLD, ContradictionError, Fault, FormulaError, Gathered, UnknownNameError, cited
from .packed import Packed, load_numpy
from .part import MOST_GUESSED
from .stage import LARGEST_PERCENT
from .working import shown

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["COLUMNS", "STAGE", "LaidOut", "laid", "laid_columns"]

COLUMNS: Final = ("formula", "ingredient", "percent")
STAGE: Final = "stage"


class LaidOut(NamedTuple):
    """The parts of a table of formulas, in the order in which ``FormulaTable`` takes them; made by ``laid``."""

    ids: tuple[str, ...]
    ingredients: tuple[str, ...]
    catalogues: tuple[Catalogue, ...]
    starts: Packed
    places: Packed
    percents: Packed


def laid_columns(columns: Mapping[str, Any], catalogue: Catalogue, flours: Iterable[str]) -> LaidOut:
    """Lay columns in memory into the parts of a table.

    Args:
        columns: "formula", "ingredient" and "percent", and if it is there "stage"; sequences, arrays or columns of a frame.
        catalogue: what the names mean.
        flours: as in ``laid``.

    Raises:
        FormulaError: a column that is missing, of another length or of other things; and as ``laid``.
    """
    np = load_numpy()
    tried = Gathered()
    given: dict[str, Any] = {}
    for name in (*COLUMNS, STAGE):
        try:
            given[name] = columns[name]
        except KeyError:
            if name != STAGE:
                tried.refuse(FormulaError, "columns", f"no column {name}", f"the columns {', '.join(COLUMNS)}")
    tried.close()
    percents = given.pop("percent")
    percents = np.asarray(percents if hasattr(percents, "dtype") else _listed(percents))
    if len(percents) and (percents.dtype.kind not in "iuf" or percents.ndim != 1):
        tried.refuse(FormulaError, "percent", f"a column of {percents.dtype}", "bare numbers, in one column")
    texts: dict[str, Coded] = {}
    for name, column in given.items():
        cells = _listed(column)
        odd = next((number for number, cell in enumerate(cells) if not _is_name(cell, name)), None)
        if odd is not None:
            tried.refuse(FormulaError, f"{name}[{odd}]", cited(cells[odd]), "a name, as text")
            continue
        texts[name] = coded(cells)
    tried.close()
    lengths = {name: len(column.places) for name, column in texts.items()} | {"percent": len(percents)}
    if len(set(lengths.values())) > 1 or not len(percents):
        got = ", ".join(f"{name} {count}" for name, count in lengths.items())
        raise FormulaError(Fault("columns", f"rows: {got}", "columns of one length, with at least one row"))
    return laid(texts, percents.astype(float), catalogue, flours, lambda row: f"row {row}")


def _is_name(cell: object, column: str) -> bool:
    return isinstance(cell, str) and (bool(cell.strip()) or (column == STAGE and not cell))


def _listed(column: Any) -> Sequence[Any]:  # noqa: ANN401 - a column of any kind of frame
    for way in ("to_pylist", "tolist"):
        if hasattr(column, way):
            return cast("list[Any]", getattr(column, way)())
    return list(column)


def laid(
    texts: Mapping[str, Coded],
    percents: NDArray[Any],
    catalogue: Catalogue,
    flours: Iterable[str],
    where: Callable[[int], str],
) -> LaidOut:
    """Check the rows of formulas and lay them into the parts of a table.

    The rows of a formula may stand apart.  With a column of stages its lines are added up over its stages.

    Args:
        texts: the columns "formula" and "ingredient", and if it is there "stage".
        percents: for each row its percentage of all the flour of its formula.
        catalogue: what the names mean.
        flours: the ingredients that make the 100 % of those formulas where it is not what the catalogue counts as flour.
        where: names a row, for messages.

    Raises:
        FormulaError: percentages that are negative or no numbers, formulas whose flours do not sum to 100.
        UnknownNameError: names that the catalogue does not know.
        ContradictionError: an ingredient that stands twice in a formula, or in a stage of one.
    """
    np = load_numpy()
    tried = Gathered()
    bad = np.flatnonzero(~((percents >= 0) & (percents <= LARGEST_PERCENT)))
    for row in bad[:MOST_TOLD].tolist():
        expected = "a finite percentage of 0 or more"
        tried.refuse(FormulaError, f"{where(row)}, column percent", cited(percents[row].item(), str), expected)
    larder = _names(texts["ingredient"], catalogue, where, tried)
    named = tried.attempt(lambda: frozenset(catalogue.find(name).name for name in flours))
    tried.close()
    ingredients = tuple(dict.fromkeys(larder))
    numbers = {name: number for number, name in enumerate(ingredients)}
    places = np.fromiter((numbers[name] for name in larder), "i8", len(larder))[texts["ingredient"].places.array()]
    owners = texts["formula"].places.array()
    rows = np.arange(len(owners))
    if (owners[1:] < owners[:-1]).any():
        rows = np.argsort(owners, kind="stable")
        owners, places, percents = owners[rows], places[rows], percents[rows]
    table = _Rows(texts, rows, where)
    keys = owners * len(ingredients) + places
    stages = texts.get(STAGE)
    if stages is None:
        table.check_once(keys)
    else:
        table.check_once(keys * len(stages.names) + stages.places.array()[rows])
        _, first, same = np.unique(keys, return_index=True, return_inverse=True)
        order = np.argsort(first, kind="stable")
        percents = np.bincount(same, weights=percents)[order]
        owners, places = owners[first[order]], places[first[order]]
        table = _Rows(texts, rows[first[order]], where)

    def flour(counted: Iterable[bool]) -> NDArray[Any]:
        sums: NDArray[Any] = np.bincount(owners, weights=percents * np.fromiter(counted, "f8")[places])
        return sums

    whole = flour(catalogue.find(name).is_flour for name in ingredients)
    wrong = np.abs(whole - 100) > 1e-6
    if named and wrong.any():
        wrong &= np.abs(flour(name in named for name in ingredients) - 100) > 1e-6
    if wrong.any():
        table.refuse_flour(owners, np.flatnonzero(wrong), whole)
    count = len(texts["formula"].names)
    starts = np.concatenate([[0], np.cumsum(np.bincount(owners, minlength=count))])
    return LaidOut(
        texts["formula"].names,
        ingredients,
        (catalogue,) * len(ingredients),
        Packed.of(starts, "i8"),
        Packed.of(places, "i8"),
        Packed.of(percents),
    )


def _names(column: Coded, catalogue: Catalogue, where: Callable[[int], str], tried: Gathered) -> list[str]:
    """Return the catalogue's name for each way of writing one."""
    found: list[str] = []
    unknown = 0
    for place, name in enumerate(column.names):
        if unknown >= MOST_GUESSED and name not in catalogue:
            unknown += 1
            row = f"{where(column.first(place))}, column ingredient"
            tried.refuse(UnknownNameError, row, cited(name), "a name of the larder")
            if unknown >= MOST_TOLD:
                break
            continue
        try:
            found.append(catalogue.find(name).name)
        except UnknownNameError as error:
            unknown += 1
            fault = error.faults[0]
            row = f"{where(column.first(place))}, column ingredient"
            tried.refuse(UnknownNameError, row, fault.got, fault.expected, fault.fix)
    return found


@frozen
class _Rows:
    """Rows of formulas in the order of the table, to be told of: ``rows`` says as which each was given."""

    texts: Mapping[str, Coded]
    rows: NDArray[Any]
    where: Callable[[int], str]

    def check_once(self, keys: NDArray[Any]) -> None:
        """Refuse an ingredient that stands twice in a formula, under one name or two: rows with the same key."""
        np = load_numpy()
        ordered = np.sort(keys)
        if not (ordered[1:] == ordered[:-1]).any():
            return
        order = np.argsort(keys, kind="stable")
        again = order[1:][keys[order][1:] == keys[order][:-1]]
        faults: list[Fault] = []
        for row in np.sort(self.rows[again])[:MOST_TOLD].tolist():
            line, bread = (
                column.names[column.places.array()[row]] for column in (self.texts["ingredient"], self.texts["formula"])
            )
            got = f"{cited(line)} once more in {cited(bread)}"
            faults.append(Fault(self.where(row), got, "each ingredient once", "add them up in one line"))
        raise ContradictionError(*faults)

    def refuse_flour(self, owners: NDArray[Any], wrong: NDArray[Any], whole: NDArray[Any]) -> None:
        """Tell of formulas whose flours do not sum to 100."""
        faults: list[Fault] = []
        for owner in wrong[:MOST_TOLD].tolist():
            row = int(self.rows[load_numpy().searchsorted(owners, owner)])
            total = whole[owner].item()
            fix = "use percentages of all the flour, or name the ingredients that are the 100 % with flours="
            if abs(total - 1) < 1e-6:
                fix = "these look like fractions: multiply every line by 100"
            place = f"{self.where(row)}: formula {cited(self.texts['formula'].names[owner])}"
            faults.append(Fault(place, f"flours that sum to {shown(total, 9)}", "flours that sum to 100", fix))
        raise FormulaError(*faults)
