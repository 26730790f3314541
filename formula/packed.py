"""Long rows of numbers as values: kept as bytes, read by numpy in place.

A tuple of a million floats costs forty times its eight megabytes and an array can be written to.  Bytes are neither:
they compare and hash by value, pickle as they are, and an array over them refuses to be changed.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Literal

from attrs import frozen

from .errors import MissingExtraError

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Packed", "load_numpy"]


def load_numpy() -> Any:  # noqa: ANN401 - a module imported late
    """Return numpy, which is an extra, and which nobody should pay for who does not use it.

    Raises:
        MissingExtraError: when it is not installed.
    """
    try:
        import numpy as np  # noqa: PLC0415 - an extra
    except ImportError:
        raise MissingExtraError("many", "numpy") from None
    return np


@frozen(repr=False)
class Packed:
    """A row of numbers that never changes; made by ``Packed.of``.

    Attributes:
        kind: "f8" for floats, "i8" for whole numbers; the eight bytes of each stand with the lowest first.
        data: the bytes.

    Example:
        >>> row = Packed.of([1.5, 2.0])
        >>> row, row == Packed.of((1.5, 2.0)), row.array().sum().item()
        (Packed(2 numbers), True, 3.5)
    """

    kind: Literal["f8", "i8"]
    data: bytes

    @classmethod
    def of(cls, values: Iterable[float] | NDArray[Any], kind: Literal["f8", "i8"] = "f8") -> Packed:
        """Pack numbers.

        Args:
            values: the numbers, a sequence or an array of one dimension.
            kind: what they are kept as.
        """
        np = load_numpy()
        taken = values if hasattr(values, "dtype") else tuple(values)
        # Zero is added, so that -0.0 becomes 0.0: equal rows have equal bytes.
        return cls(kind, (np.asarray(taken, dtype=f"<{kind}") + 0).tobytes())

    def array(self) -> NDArray[Any]:
        """Return them as an array that cannot be written to; it shares the bytes and costs nothing."""
        found: NDArray[Any] = load_numpy().frombuffer(self.data, dtype=f"<{self.kind}")
        return found

    def __len__(self) -> int:
        """Return how many numbers there are."""
        return len(self.data) // 8

    def __repr__(self) -> str:
        """Say how many there are, and not all of them."""
        return f"Packed({len(self)} numbers)"
