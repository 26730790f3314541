"""What handbooks print about yeast and time, beside what the models say: the tables of ``docs/fermentation.md``."""

import math
from collections.abc import Callable, Mapping, Sequence
from itertools import groupby

from formula.dose import dose_for
from formula.ferment import fermentation_percent_h
from formula.numeric import bracketed_root
from formula.otherrates import Q10, SquareLaw
from formula.rates import GasCurve, Rate
from formula.schedule import Schedule
from formula.steps import Hold
from tests.checkvalues import read_rows

GROWTHS = (0.0, 0.5, 1.0)
RATES: Mapping[str, Rate] = {
    "gas": GasCurve(),
    "q2": Q10(2.0),
    "q2.59": Q10(2.59),
    "square": SquareLaw(),
}
CAKE_PERCENT = 1.0
"""What a cake of yeast is taken for in a loaf's flour."""
PER_LITRE_PERCENT = 0.1 * 3
"""A gram in a litre of all the water, of which the poolish has a third, is 3 g in a litre of its own, and in a kilogram
of its flour."""


def printed_doses() -> dict[str, list[tuple[float, float, float]]]:
    """Return for each table its rows: hours, °C, and the dose in percent of fresh yeast; ranges by their middle."""
    factors = {"%": 1.0, "cake": CAKE_PERCENT, "g per litre of all the dough water": PER_LITRE_PERCENT}

    def point(row: Mapping[str, str]) -> tuple[float, float, float]:
        hours = (float(row["time_h"]) + float(row["to_h"])) / 2
        dose = (float(row["dose"]) + float(row["to_dose"])) / 2
        return hours, float(row["temperature_c"]), dose * factors[row["unit"]]

    rows = sorted(read_rows("handbook_doses"), key=lambda row: row["table"])
    return {table: [point(row) for row in found] for table, found in groupby(rows, lambda row: row["table"])}


def misses(points: Sequence[tuple[float, float, float]], growth: float) -> list[float]:
    """Return the logarithms of predicted over printed doses, the one constant being fitted to the table."""
    schedules = [Schedule(Hold.of(hours, celsius)) for hours, celsius, _ in points]
    printed = [math.log(dose) for _, _, dose in points]

    def predicted(log_fermentation: float) -> list[float]:
        return [bracketed_root(_missing(schedule, growth, log_fermentation), -80.0, 9.0) for schedule in schedules]

    def bias(log_fermentation: float) -> float:
        return sum(predicted(log_fermentation)) - sum(printed)

    done = [
        math.log(fermentation_percent_h(math.exp(dose), schedule, growth))
        for dose, schedule in zip(printed, schedules, strict=True)
    ]
    constant = bracketed_root(bias, min(done) - 1, max(done) + 1)
    return [model - dose for model, dose in zip(predicted(constant), printed, strict=True)]


def _missing(schedule: Schedule, growth: float, log_fermentation: float) -> Callable[[float], float]:
    return lambda log_dose: math.log(fermentation_percent_h(math.exp(log_dose), schedule, growth)) - log_fermentation


def typical(found: Sequence[float]) -> float:
    """Return the typical factor of an error, from logarithms."""
    return math.exp(math.sqrt(math.fsum(each * each for each in found) / len(found)))


def dose_errors() -> dict[str, list[float]]:
    """Return for each table, and for all rows together, the typical factors at growth 0, 0.5 and 1."""
    tables = printed_doses()
    found = {table: [misses(points, growth) for growth in GROWTHS] for table, points in tables.items()}
    errors = {table: [typical(each) for each in columns] for table, columns in found.items()}
    everything = [[each for columns in found.values() for each in columns[place]] for place in range(len(GROWTHS))]
    return {**errors, "all": [typical(each) for each in everything]}


def inverse_ratios() -> dict[str, list[float]]:
    """Return predicted over printed by the inverse rule, for every pair of rows of every table, by ratio of times."""
    found: dict[str, list[float]] = {"up to 2": [], "2 to 4.2": [], "above 4.2": []}
    for points in printed_doses().values():
        for here, (hours, _, dose) in enumerate(points):
            for other_hours, _, other_dose in points[here + 1 :]:
                short, long = sorted(((hours, dose), (other_hours, other_dose)))
                times = long[0] / short[0]
                key = "up to 2" if times <= 2 else "2 to 4.2" if times <= 4.2 else "above 4.2"
                found[key].append(short[1] * short[0] / long[0] / long[1])
    return found


def dose_table() -> str:
    """Return the Markdown table of errors."""
    tables = printed_doses()
    lines = ["| table | rows | hours | inverse rule | growth 0.5 | growth 1 |", "|---|---|---|---|---|---|"]
    for table, errors in dose_errors().items():
        hours = [each for each, _, _ in tables.get(table, [])]
        span = f"{min(hours):g} to {max(hours):g}" if hours else ""
        count = len(hours) or sum(map(len, tables.values()))
        lines.append(f"| {table} | {count} | {span} | {' | '.join(f'{error:.2f}' for error in errors)} |")
    return "\n".join(lines)


def misses_of_rates() -> dict[str, float]:
    """Return by how much the gas curve misses each printed ratio of rates, as a part of what is printed."""
    found = {}
    for row in read_rows("rates"):
        if row["rate"] == "gas" and row["beside_c"] != "best":
            ratio = RATES["gas"].at(float(row["temperature_c"])) / RATES["gas"].at(float(row["beside_c"]))
            found[row["id"]] = abs(ratio / float(row["expected"]) - 1)
    return found


def ratio_table() -> str:
    """Return the Markdown table of the printed ratios of rates beside each curve's."""
    lines = ["| check value | °C | printed | gas curve | Q10 2 | Q10 2.59 | square |", "|---|---|---|---|---|---|---|"]
    for row in read_rows("rates"):
        if row["rate"] != "gas" or row["beside_c"] == "best":
            continue
        warm, beside = float(row["temperature_c"]), float(row["beside_c"])
        ratios = [rate.at(warm) / rate.at(beside) for rate in RATES.values()]
        shown = " | ".join(f"{ratio:.2g}" if ratio < 1 else f"{ratio:.2f}" for ratio in ratios)
        lines.append(f"| {row['id']} | {warm:.3g} / {beside:.3g} | {float(row['expected']):g} | {shown} |")
    return "\n".join(lines)


def growth_table() -> str:
    """Return the Markdown table of doses for other times, from 2 % for 2 h at 26 °C."""
    hours = (1.0, 1.5, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0)
    lines = [f"| new time, h | {' | '.join(f'{each:g}' for each in hours)} |", f"|---{'|---' * len(hours)}|"]
    old = Schedule(Hold("2 h", "26 °C"))
    for growth in GROWTHS:
        doses = [dose_for(2.0, old, Schedule(Hold.of(each, 26.0)), growth) for each in hours]
        lines.append(f"| growth {growth:g}, % | {' | '.join(f'{dose:.3f}' for dose in doses)} |")
    return "\n".join(lines)
