"""Processes: how dough and preferments are usually fermented, as handbooks print it, for a look over the shoulder.

They are no rules.  Handbooks differ by a factor of ten where one process goes by one name; a dose that lies far outside
all of them is more often a slip of the decimal point than a discovery.
"""

from __future__ import annotations

import pkgutil
import tomllib
from functools import cache
from typing import TYPE_CHECKING, Any, Final, Literal, cast

from attrs import field, frozen

from .errors import Fault, UnknownNameError
from .quantity import SHARE, TEMPERATURE, TIME, view
from .working import Caution, shown

if TYPE_CHECKING:
    from .quantity import Quantity

__all__ = ["Process", "handbook_caution", "typical_process", "typical_processes"]

_FAR: Final = 2.0
"""A dose is told when it is less than half of the least, or more than twice the most, that is printed."""
_ABOUT_K: Final = 0.5


def _ends(pair: Any) -> tuple[float, float]:  # noqa: ANN401 - whatever stands in the file; a test reads it all
    low, high = pair
    return float(low), float(high)


@frozen
class Process:
    """One usual way to ferment: each figure from the least to the most that is printed.

    Attributes:
        name: the name of the trade.
        of: "dough" or "preferment".
        dose_percent: fresh yeast in percent of the flour it ferments.
        time_h: from the end of mixing to the oven; of a preferment until it is used.
        temperature_c: the dough's while it ferments.
        desired_c: the dough's at the end of mixing.
        sources: ids of the sources.
        note: which figure comes from where.
    """

    name: str
    of: Literal["dough", "preferment"]
    dose_percent: tuple[float, float] = field(converter=_ends)
    time_h: tuple[float, float] = field(converter=_ends)
    temperature_c: tuple[float, float] = field(converter=_ends)
    desired_c: tuple[float, float] = field(converter=_ends)
    sources: tuple[str, ...] = field(converter=tuple[str, ...])
    note: str

    @property
    def dose(self) -> tuple[Quantity, Quantity]:
        """Fresh yeast on the flour it ferments, the least and the most."""
        low, high = self.dose_percent
        return view(SHARE, low / 100), view(SHARE, high / 100)

    @property
    def time(self) -> tuple[Quantity, Quantity]:
        """The shortest and the longest time."""
        low, high = self.time_h
        return view(TIME, low), view(TIME, high)

    @property
    def temperature(self) -> tuple[Quantity, Quantity]:
        """The coldest and the warmest that the dough is while it ferments."""
        low, high = self.temperature_c
        return view(TEMPERATURE, low), view(TEMPERATURE, high)

    @property
    def desired(self) -> tuple[Quantity, Quantity]:
        """The coldest and the warmest desired dough temperature."""
        low, high = self.desired_c
        return view(TEMPERATURE, low), view(TEMPERATURE, high)


@cache
def typical_processes() -> tuple[Process, ...]:
    """Return the usual processes.

    Example:
        >>> [process.name for process in typical_processes()][:4]
        ['straight', 'short', 'no-time', 'overnight']
    """
    text = cast("bytes", pkgutil.get_data("formula", "processes.toml")).decode("utf-8")
    return tuple(Process(name, **facts) for name, facts in tomllib.loads(text).items())


def typical_process(name: str) -> Process:
    """Return a usual process by its name.

    Args:
        name: such as "straight" or "poolish".

    Raises:
        UnknownNameError: when there is none of this name.

    Example:
        >>> typical_process("poolish").time_h
        (8.0, 16.0)
    """
    for process in typical_processes():
        if process.name == name:
            return process
    known = ", ".join(process.name for process in typical_processes())
    raise UnknownNameError(Fault("process", repr(name), f"one of: {known}"))


def handbook_caution(fresh_percent: float, time_h: float, temperature_c: float, of: str) -> tuple[Caution, ...]:
    """Say so if a dose is far from all that is printed for such a time and temperature; nothing where none is.

    Args:
        fresh_percent: fresh yeast, in percent of the flour it ferments.
        time_h: the time it has, h.
        temperature_c: the dough's temperature, °C.
        of: "dough", "preferment", or the name of a process.

    Example:
        >>> print(*handbook_caution(0.2, 2.0, 24.0, "dough"))
        0.2 % fresh for 2 h at 24 °C is a tenth of what handbooks print, 2 to 5 % (straight).
    """
    fits = [
        process
        for process in typical_processes()
        if of in (process.of, process.name)
        and process.time_h[0] <= time_h <= process.time_h[1]
        and process.temperature_c[0] - _ABOUT_K <= temperature_c <= process.temperature_c[1] + _ABOUT_K
    ]
    if not fits:
        return ()
    low = min(process.dose_percent[0] for process in fits)
    high = max(process.dose_percent[1] for process in fits)
    if low / _FAR <= fresh_percent <= high * _FAR:
        return ()
    if fresh_percent < low:
        times = low / fresh_percent
        beside = _PARTS.get(round(times), f"one {round(times)}th") if abs(times - round(times)) < 0.05 else None
        beside = beside or f"{shown(1 / times, 2)} times the least"
    else:
        beside = f"{shown(fresh_percent / high, 2)} times the most"
    names = ", ".join(process.name for process in fits)
    text = (
        f"{shown(fresh_percent, 3)} % fresh for {shown(time_h, 3)} h at {shown(temperature_c, 3)} °C is {beside} of what"
        f" handbooks print, {shown(low)} to {shown(high)} % ({names})."
    )
    return (Caution("unlike-handbooks", text),)


# How one says it.
_PARTS: Final = {3: "a third", 4: "a quarter", 5: "a fifth", 8: "an eighth", 10: "a tenth", 20: "a twentieth"}
