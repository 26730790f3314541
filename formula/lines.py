"""An immutable list of named numbers, such as the lines of a formula.

Results hold no dict and no list, so that equal results hash alike and survive pickling, copying and threads.
``Lines`` is what they hold instead: a mapping over a tuple of pairs.  It prints in the order it was written;
equality and hash ignore the order, because a formula is the same formula when salt is written before water.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Generic, TypeVar, cast

__all__ = ["Lines"]

V = TypeVar("V")


class Lines(Mapping[str, V], Generic[V]):
    """A frozen mapping from names to values that keeps its written order.

    Args:
        pairs: a mapping, or (name, value) pairs; a name may stand only once.

    Raises:
        ValueError: when a name stands twice.

    Example:
        >>> Lines({"water": 70.0, "salt": 2.0}) == Lines({"salt": 2.0, "water": 70.0})
        True
    """

    __slots__ = ("_index", "_pairs")

    _pairs: tuple[tuple[str, V], ...]
    _index: dict[str, V]

    def __init__(self, pairs: Mapping[str, V] | Iterable[tuple[str, V]] = ()) -> None:
        """Take the pairs over, once and for all."""
        written = cast("Mapping[str, V]", pairs).items() if isinstance(pairs, Mapping) else pairs
        taken = tuple(written)
        index = dict(taken)
        if len(index) != len(taken):
            names = [name for name, _ in taken]
            twice = sorted({name for name in names if names.count(name) > 1})
            message = f"lines: {', '.join(twice)} stands more than once"
            raise ValueError(message)
        object.__setattr__(self, "_pairs", taken)
        object.__setattr__(self, "_index", index)

    def __getitem__(self, name: str) -> V:
        """Return the value of a line."""
        return self._index[name]

    def __iter__(self) -> Iterator[str]:
        """Iterate over the names in written order."""
        return iter(self._index)

    def __len__(self) -> int:
        """Return the number of lines."""
        return len(self._pairs)

    def __eq__(self, other: object) -> bool:
        """Compare names and values with any mapping; the order does not matter."""
        if isinstance(other, Lines):
            return self._index == other._index
        if isinstance(other, Mapping):
            return self._index == dict(other)
        return NotImplemented

    def __hash__(self) -> int:
        """Hash names and values without their order."""
        return hash(frozenset(self._pairs))

    def __repr__(self) -> str:
        """Return the lines as they were written."""
        return f"Lines({self._index!r})"

    def __setattr__(self, name: str, value: object) -> None:
        """Refuse every change."""
        message = f"Lines cannot be changed: {name}"
        raise AttributeError(message)

    def __delattr__(self, name: str) -> None:
        """Refuse every change."""
        message = f"Lines cannot be changed: {name}"
        raise AttributeError(message)

    def __copy__(self) -> Lines[V]:
        """Return itself: what cannot change needs no copy."""
        return self

    def __reduce__(self) -> tuple[type[Lines[V]], tuple[tuple[tuple[str, V], ...]]]:
        """Pickle as the pairs."""
        return type(self), (self._pairs,)
