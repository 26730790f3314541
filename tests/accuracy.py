"""The page of accuracy, made anew from the tables of check values: how near print the library is, and where it is not."""

import math
import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from statistics import median

from attrs import frozen

from formula.capacity import component_cp_kj_kg_k
from formula.growth import yeast_growth
from formula.working import escaped_markdown
from tests.beside import WAYS, Beside, beside, typical_ripe
from tests.checkvalues import ORACLES, Row, read_rows
from tests.handbooks import dose_errors, misses_of_rates, printed_doses
from tests.lossfits import misses as loss_misses

SUBJECTS = {
    "base_temperature": "base temperature",
    "capacity": "specific heat of foods and their parts",
    "cooling": "cooling and warming by conduction",
    "correction": "correcting the next mix",
    "dividing": "dividing",
    "dose": "yeast for another time",
    "formulas": "baker's percentages and weights",
    "friction": "friction",
    "growth": "growth of yeast in dough",
    "heat": "heat of kneading and of hydration",
    "ice": "ice",
    "levain": "levain: growth and ripening",
    "losses": "dough for a baked weight, and back",
    "moisture": "moisture bases and hydration",
    "net_weight": "net weight",
    "nutrition": "nutrition of a bread",
    "orders": "dough for orders",
    "rates": "rates of fermentation",
    "schedule": "schedules in hours at one temperature",
    "stages": "formulas with stages",
    "typical_losses": "losses in print, on one base",
    "water": "water temperature",
    "weights": "weights between systems",
    "wheat_loaf": "the line of the wheat loaf",
    "yeast_forms": "forms of yeast",
}
"""The tables whose numbers are compared, in words."""
WORD_FOR_WORD = {
    "composition": ("the larder's figures, digit for digit", "test_larder"),
    "constants": ("numbers of laws, tables and abstracts, digit for digit", "test_constants"),
    "finished_breads": ("published breads, digit for digit", "test_nutrition"),
    "handbook_doses": ("doses of handbooks, which no rule meets: see the models below", "test_handbooks"),
    "label_rounding": ("rounding on labels, word for word", "test_nutrition"),
    "labels": ("statements about labels", "test_label"),
    "slips": ("printed slips that must be found: see below", "test_printed"),
}
"""The other tables: what is in them, and the module of tests that holds every row."""
SHOWN = 12
"""How many of the farthest numbers the page lists."""


@frozen
class Miss:
    """A number that is not met, or a slip of print: what is printed, what the library says, and why they differ."""

    row: str
    printed: str
    found: str
    reason: str


def compared(table: str) -> list[Beside]:
    return [each for row in read_rows(table) for each in beside(table, row)]


def number(value: float) -> str:
    """Write a number with five digits, without an exponent where it is near 1."""
    if abs(value) < 1e-9:
        return "0"
    return f"{value:.5g}" if abs(value) < 1e5 else f"{value:.0f}"


def percent_off(each: Beside) -> float:
    """Return how far a number is from print, in percent of print; of the tolerance, where that is the larger of the two."""
    whole = max(abs(each.printed), each.tolerance)
    return 100 * each.miss / whole if whole else 0.0 if each.within else math.inf


def is_disputed(row: Row) -> bool:
    return bool(row.get("disputed")) or "disputed" in row["known"]


def percent(value: float) -> str:
    return f"{value:.0f} %" if value >= 10 else f"{value:.2g} %"


def table(head: Sequence[str], lines: Iterable[Sequence[str]]) -> str:
    """Write a Markdown table; the cells are Markdown already."""
    return "\n".join(f"| {' | '.join(cells)} |" for cells in (head, ["---"] * len(head), *lines)) + "\n"


def shown(each: Beside) -> str:
    unit = escaped_markdown(f" {each.unit}" if each.unit not in {"", "1"} else "")
    return f"{number(each.printed)} → {number(each.found)}{unit}"


# -- the parts of the page ---------------------------------------------------------------------------------------------


def summary() -> str:
    """Return each table with its rows, its numbers, how many are within their tolerance, and the farthest of these."""
    lines = []
    for name, subject in SUBJECTS.items():
        found = compared(name)
        far = max((each for each in found if each.within), key=percent_off)
        off = percent(percent_off(far)) if far.miss > 1e-6 * abs(far.printed) else "none"
        within = sum(each.within for each in found)
        farthest = f"{escaped_markdown(far.row)}: {shown(far)}" if off != "none" else ""
        lines.append([subject, f"`{name}`", str(len(read_rows(name))), f"{within} of {len(found)}", off, farthest])
    return table(["what", "table", "rows", "numbers within tolerance", "farthest", "printed → found"], lines)


def others() -> str:
    lines = [
        [f"`{name}`", words, str(len(read_rows(name))), f"`tests/{module}.py`"]
        for name, (words, module) in WORD_FOR_WORD.items()
    ]
    return table(["table", "what", "rows", "held by"], lines)


def how_known(text: str) -> str:
    """Sort the words on how a value is known into the few kinds that count: the weakest word decides."""
    for word, kind in (
        ("memory", "from memory, wholly or in part"),
        ("derived", "derived by arithmetic from what was read"),
        ("computed", "derived by arithmetic from what was read"),
        ("measured by a library", "measured by a reference library"),
        ("read in a copy", "read in a copy"),
        ("second hand", "read in a copy"),
    ):
        if word in text:
            return kind
    return "read"


def known() -> str:
    tables = [path.stem for path in sorted(ORACLES.glob("*.csv"))]
    counted = Counter(how_known(row["known"]) for name in tables for row in read_rows(name))
    return table(["how the row is known", "rows"], [[kind, str(count)] for kind, count in counted.most_common()])


def undisputed() -> list[tuple[Row, Beside]]:
    return [
        (row, each)
        for name in SUBJECTS
        for row in read_rows(name)
        if not is_disputed(row)
        for each in beside(name, row)
    ]


def farthest() -> str:
    """Return the undisputed numbers that are farthest from print, with the reason of their tolerance."""
    found = sorted(undisputed(), key=lambda pair: percent_off(pair[1]), reverse=True)[:SHOWN]
    lines = [
        [
            escaped_markdown(f"{each.row} {each.what}".strip()),
            shown(each),
            percent(percent_off(each)),
            escaped_markdown(row["reason"]),
        ]
        for row, each in found
    ]
    return table(["check value", "printed → found", "off", "why this is allowed"], lines)


def disputes() -> list[Miss]:
    """Return what is disputed: where the library does not meet print, and says why."""
    found = []
    for name in SUBJECTS:
        for row in read_rows(name):
            if not is_disputed(row):
                continue
            told = row.get("disputed", "")
            reason = told if len(told) > len("yes") else row["reason"].removeprefix("disputed: ")
            for each in beside(name, row):
                printed = row.get("printed_ice") or row.get("printed") or number(each.printed)
                unit = "" if re.search("[a-z]", printed) or each.unit == "1" else f" {each.unit}"
                ours = f"{number(each.found)} {each.unit}".removesuffix(" 1").strip()
                found.append(Miss(each.row, f"{printed}{unit}", ours, reason))
    return list(dict.fromkeys(found))


def disputed() -> str:
    lines = [[escaped_markdown(part) for part in (m.row, m.printed, m.found, m.reason)] for m in disputes()]
    return table(["check value", "printed", "the library", "why they differ"], lines)


def slips() -> str:
    """Return the slips of print that ``check_printed`` must find."""
    lines = [
        [escaped_markdown(part) for part in (row["id"], row["where"], row["found"], row["reason"])]
        for row in read_rows("slips")
    ]
    return table(["check value", "where", "what would agree", "the slip"], lines)


def _span(factors: Mapping[str, Sequence[float]], place: int) -> str:
    by_table = [each[place] for name, each in factors.items() if name != "all"]
    return f"{min(by_table):.2f} to {max(by_table):.2f}"


def models() -> str:
    """Return the models' own errors, each found anew."""
    doses = dose_errors()
    count = sum(map(len, printed_doses().values()))
    lines = [
        [
            f"yeast for another time, {words}",
            f"{count} doses of {len(doses) - 1} printed tables, one constant fitted to each",
            f"typically a factor of {doses['all'][place]:.2f}; {_span(doses, place)} by table",
        ]
        for place, words in enumerate(("inverse rule", "half the growth", "growth as counted"))
    ]
    rates = misses_of_rates()
    worst = max(rates, key=lambda name: rates[name])
    lines.append(
        [
            "rate of fermentation by temperature",
            f"{len(rates)} printed ratios",
            f"off by {100 * median(rates.values()):.0f} % (median), at the worst {100 * rates[worst]:.0f} % ({worst})",
        ]
    )
    counts = [
        each
        for row in read_rows("growth")
        if "fitted" in row["reason"] or "rounding" in row["reason"]
        for each in beside("growth", row)
    ]
    kept_out = next(each for each in compared("growth") if each.row == "yeast/GR06")
    sponge = yeast_growth("2 %", time="4 h").increase_percent
    met = f"fitted: {max(each.miss for each in counts):.2f} points"
    unseen = f"kept out: {kept_out.found:.0f} instead of {kept_out.printed:.0f} %"
    bakery = f"sponge of 2 %: {sponge:.0f} instead of 50 to 60 % in 4 h"
    lines.append(
        [
            "growth of yeast in dough",
            f"{len(counts)} counts that its three constants are fitted to; one kept out; a bakery's sponge",
            f"{met}; {unseen}; {bakery}",
        ]
    )
    for ripe, words in (("peak", "the top of its rise"), ("sour", "full sour")):
        times, factor = typical_ripe(ripe)
        lines.append(
            [f"levain to {words}", f"{times} printed times in the range", f"typically a factor of {factor:.2f}"]
        )
    factors = loss_misses()
    lines.append(
        [
            "bake loss of another size or shape",
            f"{len(factors)} pairs of printed losses, each by a fit that has not seen its source",
            f"half within a factor of {median(factors):.2f}, the worst {max(factors):.2f}",
        ]
    )
    foods = [each for row in read_rows("capacity") if row["kind"] == "food" for each in beside("capacity", row)]
    lines.append(
        [
            "specific heat by composition",
            f"{len(foods)} printed foods",
            f"within {max(each.miss for each in foods):.4f} kJ/kgK",
        ]
    )
    for kind in ("water", "ice"):
        rows = [row for row in read_rows("capacity") if row["kind"] == kind]
        off = [component_cp_kj_kg_k(kind, float(row["temperature_c"])) / float(row["expected"]) - 1 for row in rows]
        span = f"{100 * min(off):+.1f} to {100 * max(off):+.1f} %"
        lines.append([f"specific heat of {kind}", f"{len(rows)} values of a reference library", span])
    ice = [each for row in read_rows("ice") if row["id"].startswith("thermal/K") for each in beside("ice", row)]
    lines.append(
        [
            "ice, with 80 K for melting",
            f"{len(ice)} cells of a table of the trade, reckoned by hand",
            f"within {max(each.miss for each in ice):.4f} {ice[0].unit} of ice",
        ]
    )
    return table(["model", "held against", "error"], lines)


def sentence() -> str:
    """Say in one sentence how many numbers there are, and how many are met."""
    names = [path.stem for path in ORACLES.glob("*.csv")]
    rows = sum(len(read_rows(name)) for name in names)
    found = [each for name in SUBJECTS for each in compared(name)]
    missed = sum(not each.within for each in found)
    return (
        f"{rows} rows in {len(names)} tables. In {len(SUBJECTS)} of them numbers are compared, {len(found)} in all: "
        f"{len(found) - missed} lie within their tolerance, {missed} do not and are disputed.\n"
    )


PARTS: dict[str, Callable[[], str]] = {
    "sentence": sentence,
    "summary": summary,
    "others": others,
    "known": known,
    "models": models,
    "farthest": farthest,
    "disputed": disputed,
    "slips": slips,
}
"""The parts of the page by the names of the files they are written to."""
assert SUBJECTS.keys() == WAYS.keys()
