"""Words that screen and paper share: weights in a unit of the scale, which mixes are meant, and what to pour."""

from __future__ import annotations

from html import escape
from typing import Final

from .breadplan import Mix
from .pour import Pour
from .stage import FINAL
from .working import Caution, shown

__all__ = [
    "RAW",
    "UNITS",
    "counted",
    "holds_words",
    "mix_name",
    "mixes_words",
    "one_line",
    "pour_words",
    "weight",
    "whole_page",
]

UNITS: Final = {"g": 1.0, "kg": 1000.0, "oz": 28.349523125, "lb": 453.59237}

RAW: Final = Caution(
    "raw-dough", "raw dough and flour are not food; stop the mixer before a hand goes in; raise no dust"
)
"""What stands on every sheet that somebody weighs and mixes by."""


def weight(grams: float, unit: str) -> str:
    """Return a weight for the eye, in a unit of the scale; ten kilograms and more are not shown in grams.

    No step of a scale is cut: they are shown to a tenth of a gram, hundreds of kilograms to a gram.

    Example:
        >>> weight(920, "g"), weight(12_500, "g")
        ('920 g', '12.5 kg')
    """
    if unit == "g" and grams >= 10_000:
        return f"{grams / 1000:.{4 if grams < 100_000 else 3}f}".rstrip("0").rstrip(".") + " kg"
    return f"{shown(grams / UNITS[unit])} {unit}"


def mix_name(mix: Mix, count: int) -> str:
    """Return which mixes of a bread are meant, "mixes 1-6 of 13"."""
    which = f"mix {mix.first}" if mix.count == 1 else f"mixes {mix.first}-{mix.last}"
    return f"{which} of {count}"


def whole_page(title: str, style: str, body: str) -> str:
    """Return a page of HTML that stands alone, for a screen of any width.

    Args:
        title: what the page is called; it is escaped here.
        style: its rules, with a line break at the end.
        body: what stands on it, escaped, with a line break at the end.

    Example:
        >>> "<title>Rye &amp; wheat</title>" in whole_page("Rye & wheat", "", "")
        True
    """
    return f"""\
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(title)}</title>
<style>
{style}</style>
</head>
<body>
{body}</body>
</html>
"""


def counted(count: int, one: str) -> str:
    """Return a number of things in words, of which there may be one.

    Example:
        >>> counted(1, "piece"), counted(47, "piece")
        ('1 piece', '47 pieces')
    """
    return f"{count} {one}" if count == 1 else f"{count} {one}s"


def mixes_words(count: int) -> str:
    """Return a number of mixes in words."""
    return "1 mix" if count == 1 else f"{count} mixes"


def holds_words(mix: Mix) -> str:
    """Return what a mix holds: its pieces, bread by bread where it is shared: "34 + 66 pieces"."""
    return f"{' + '.join(str(portion.pieces) for portion in mix.portions)} pieces"


def pour_words(pour: Pour | None, unit: str) -> str:
    """Return what to pour into a mix: how warm it is, and its ice."""
    if pour is None or pour.liquid_g == 0:
        return "nothing to pour"
    celsius = pour.temperature.temperature_c
    what = "water" if pour.water_g == pour.liquid_g else "liquid" if pour.water_g == 0 else "water and other liquid"
    words = f"{what} at {shown(celsius, 3)} °C ({shown(celsius * 1.8 + 32, 3)} °F)"
    if pour.stage != FINAL:
        words += f", set at the {pour.stage},"
    if pour.ice_g:
        words += f" needs ice: {weight(pour.ice_g, unit)} of ice, {weight(pour.draw_g, unit)} of water from the tap"
    return words


def one_line(text: str) -> str:
    r"""Return text on one line; what cannot be seen (breaks, a terminal's commands) has no place on paper.

    Example:
        >>> one_line("Quay\n Round")
        'Quay Round'
    """
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())
