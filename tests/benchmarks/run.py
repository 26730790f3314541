"""Measure the budgets: ratios within one run, both sides interleaved, medians of many rounds.

Run by hand on a quiet machine: ``python tests/benchmarks/run.py``, with ``--record docs/measured/budgets.json`` for the page
of trust. Never a test: a busy machine must not turn red.
"""

import json
import os
import platform
import resource
import shutil
import subprocess
import sys
import tempfile
import time
import timeit
from collections.abc import Callable
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from statistics import median
from typing import Any

ROOT = Path(__file__).parents[2]
ROUNDS = 21
Side = Callable[[], object]

PERCENTS = {
    "bread flour": 70.0, "whole wheat flour": 20.0, "rye flour": 10.0, "water": 68.0, "salt": 2.0, "fresh yeast": 0.8,
    "butter": 4.0, "sugar": 3.0, "milk": 6.0, "egg": 5.0, "sesame seed": 2.0, "sunflower seed": 3.0,
}  # fmt: skip
STAGE = {"bread flour": 100.0, "water": 60.0, "fresh yeast": 0.2}
FROM_PERCENTS = """
from formula import Formula
Formula.from_percents("lean", {"bread flour": 100, "water": 68, "salt": 2, "fresh yeast": 1})
"""


class NotThereYetError(Exception):
    """The library has no such thing so far."""


def process_seconds(code: str) -> float:
    """Return the seconds of a fresh process that runs some code."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    # An installed library has its bytecode; without it the compiler would be measured.
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT, env=environment)
    return time.perf_counter() - start


def interleaved(left: Callable[[], float], right: Callable[[], float]) -> tuple[float, float]:
    """Return the medians of two measurements taken in turns, so that a slow moment meets both."""
    pairs = [(left(), right()) for _ in range(ROUNDS)]
    return median(one for one, _ in pairs), median(other for _, other in pairs)


def timed(side: Side, number: int) -> Callable[[], float]:
    """Return a measurement: the seconds of one call, averaged over ``number``."""
    return lambda: min(timeit.repeat(side, repeat=3, number=number)) / number


def fresh_process(code: str) -> float:
    """Compare a fresh process with one that imports attrs."""
    process_seconds(code)
    ours, attrs = interleaved(lambda: process_seconds(code), lambda: process_seconds("import attrs"))
    return ours / attrs


def scaling(dough: Callable[[], Any]) -> float:
    """Compare a whole batch of twelve lines and one stage with the same arithmetic on bare floats."""
    try:
        from formula import Formula, Stage
    except ImportError:
        raise NotThereYetError from None
    bread = Formula.from_percents("twelve", PERCENTS, stages=[Stage("sponge", STAGE, flour="20 %")])
    overall = tuple(PERCENTS.values())
    stage = tuple(0.2 * percent for percent in STAGE.values())
    places = tuple(list(PERCENTS).index(name) for name in STAGE)
    total = sum(overall)
    wanted = dough()

    def bare() -> tuple[list[float], list[float], list[float]]:
        per_percent = 93_000.0 / total
        masses = [percent * per_percent for percent in overall]
        first = [percent * per_percent for percent in stage]
        final = list(masses)
        for place, mass in zip(places, first, strict=True):
            final[place] -= mass
        return masses, first, final

    ours, floats = interleaved(timed(lambda: bread.scale(dough=wanted), 500), timed(bare, 5_000))
    return ours / floats


def quantity() -> Any:  # noqa: ANN401 - a quantity of any registry
    """Return the dough as a quantity."""
    import pint

    registry: Any = pint.get_application_registry
    return registry().Quantity(93.0, "kilogram")


def kernel_calls(kernel: Side, inline: Side) -> float:
    """Return what a kernel costs beyond its expression, in empty function calls."""

    def empty() -> None:
        pass

    number = 100_000
    rounds = [[timed(side, number)() for side in (kernel, inline, empty)] for _ in range(ROUNDS)]
    ours, plain, nothing = (median(column) for column in zip(*rounds, strict=True))
    return float((ours - plain) / nothing)


def yeast_call() -> float:
    """Compare the yeast kernel with its expression."""
    from formula.yeast import converted_mass_g

    mass, old, new = 40.0, 1.0, 0.33
    return kernel_calls(lambda: converted_mass_g(mass, old, new), lambda: mass * new / old)


def losses_call() -> float:
    """Compare the losses kernel with its expression."""
    from formula.losses import dough_mass_g

    bread, left = 800.0, 0.88
    return kernel_calls(lambda: dough_mass_g(bread, left), lambda: bread / left)


def numpy_values() -> float:
    """Compare a million values of a kernel with the same numpy expression."""
    import numpy as np

    from formula.yeast import converted_mass_g

    mass = np.linspace(1.0, 1000.0, 1_000_000)
    kernel: Callable[..., object] = converted_mass_g
    ours, plain = interleaved(timed(lambda: kernel(mass, 1.0, 0.33), 5), timed(lambda: mass * 0.33 / 1.0, 5))
    return ours / plain


FORMULAS = 100_000


@cache
def assortment() -> Any:  # noqa: ANN401 - imported late, as all else here
    """Return 100,000 formulas of twelve lines each, of a hundred different ones."""
    from formula.assortment import Assortment
    from formula.formula import Formula

    breads = [
        Formula.from_percents(f"bread {number}", {**PERCENTS, "water": 60 + number / 10}) for number in range(100)
    ]
    return Assortment.of(breads * (FORMULAS // 100), ids=map(str, range(FORMULAS)))


def scaled_at_once() -> float:
    """Compare scaling 100,000 formulas, and what of each ingredient they take together, with the bare products of numpy."""
    import numpy as np

    table = assortment()
    flours = np.linspace(1e3, 1e6, FORMULAS)
    percents, places = table.percents.array().reshape(FORMULAS, 12), table.places.array()

    def ours() -> object:
        return table.scale(flour_g=flours).totals_g

    def bare() -> object:
        masses = percents * (flours / 100)[:, None]
        return np.bincount(places, weights=masses.ravel())

    mine, plain = interleaved(timed(ours, 1), timed(bare, 1))
    return mine / plain


def priced_at_once() -> float:
    """Compare pricing 100,000 formulas with the bare products of numpy on the same lines."""
    import numpy as np

    from formula.prices import Prices

    table = assortment()
    prices = Prices({name: f"{number}.50 EUR/kg" for number, name in enumerate(table.ingredients, 1)})
    each = np.arange(1.5, len(table.ingredients) + 1)
    percents, places = table.percents.array().reshape(FORMULAS, 12), table.places.array().reshape(FORMULAS, 12)

    def ours() -> object:
        return table.price(prices).costs_per_kg()

    def bare() -> object:
        return (percents * each[places]).sum(axis=1) / percents.sum(axis=1)

    mine, plain = interleaved(timed(ours, 1), timed(bare, 1))
    return mine / plain


def one_by_one() -> float:
    """Compare scaling one formula after the other with all at once, for 1,000."""
    from formula.assortment import Assortment
    from formula.formula import Formula

    breads = [Formula.from_percents(f"bread {number}", PERCENTS) for number in range(1_000)]
    table = Assortment.of(breads)
    doughs = dict.fromkeys(table.ids, 93_000.0)
    alone, together = interleaved(
        timed(lambda: [bread.scale(dough="93 kg").rows for bread in breads], 1),
        timed(lambda: table.scale(dough_g=doughs).masses_g(), 1),
    )
    return alone / together


def a_day(loaves: int) -> float:
    """Return the seconds of planning a day of twenty breads."""
    try:
        from formula.day import plan_day
        from formula.folder import load_day
        from formula.formula import Formula
        from formula.orders import Order
    except ImportError:
        raise NotThereYetError from None
    _, bakery = load_day(ROOT / "docs" / "examples" / "harbour")
    breads = [Formula.from_percents(f"bread {number}", PERCENTS) for number in range(20)]
    orders = [Order(bread, pieces=loaves // 20, baked="800 g") for bread in breads]
    return median(timed(lambda: plan_day(orders, bakery), 1)() for _ in range(5))


def clocked_day(loaves: int, aim: str) -> float:
    """Return the seconds of planning a day of twenty breads and putting it on the clock; the workshop grows with the day."""
    try:
        from formula.bakery import Bakery, Mixer
        from formula.clockwork import timetable
        from formula.day import plan_day
        from formula.formula import Formula
        from formula.orders import Order
        from formula.process import Process, Wait
        from formula.workshop import Oven, Shift, Workshop
    except ImportError:
        raise NotThereYetError from None
    size = loaves // 8_000
    ovens = [Oven(f"deck {number}", turn_round="5 min") for number in range(5 * size)]
    process = Process(
        mix="20 min",
        bulk=Wait("90 min", earliest="80 min", latest="2 h 30 min"),
        divide=800,
        rest=Wait("20 min", earliest="15 min", latest="40 min"),
        shape=150,
        shape_people=4,
        proof=Wait("1 h", earliest="45 min", latest="1 h 45 min"),
        bake="35 min",
        loads={oven.name: 120 for oven in ovens},
        cool="1 h 30 min",
        pack=1_500,
    )
    breads = [Formula.from_percents(f"bread {number}", PERCENTS) for number in range(20)]
    workshop = Workshop(
        opens="16:00 the day before",
        ovens=ovens,
        shifts=[Shift("16:00 the day before", "14:00", people=14 * size)],
        processes={bread.name: process for bread in breads},
        turn_round="5 min",
        proof_places=3_000 * size,
        packers=2 * size,
    )
    bakery = Bakery(
        "the benchmark's",
        mixers=[Mixer(f"spiral {number}", capacity="160 kg", friction="20 K") for number in range(2 * size)],
        flour="20 °C",
        room="22 °C",
        tap="14 °C",
        steps="10 g",
        divider="5 g",
    )
    orders = [
        Order(bread, pieces=loaves // 20, baked="800 g", due=f"{11 + number // 10}:00")
        for number, bread in enumerate(breads)
    ]

    def plan() -> None:
        found = timetable(plan_day(orders, bakery, workshop), workshop, aim=aim)  # type: ignore[arg-type]
        if not found.fits:
            message = "the day does not fit: something else would be measured"
            raise ArithmeticError(message)

    rounds = 5 if loaves < 100_000 else 1
    # The time of the processor: a busy machine must not count.
    return median(timeit.timeit(plan, number=1, timer=time.process_time) for _ in range(rounds))


def schedule_hours(*, step_by_step: bool) -> float:
    """Compare the hours of a six-step schedule with adaptive quadrature good to 1e-9.

    The other side is one integral with its five breaks told, or six integrals cut by hand, which need fewer points.
    """
    try:
        from formula.rates import cardinal_rate
        from formula.schedule import Schedule
        from formula.steps import Cool, Hold, Ramp
    except ImportError:
        raise NotThereYetError from None
    from scipy.integrate import quad

    schedule = Schedule(
        Hold("1 h", "24 °C"),
        Cool("16 h", to="4 °C", tau="1.5 h"),
        Cool("3 h", to="24 °C", tau="2 h"),
        Ramp("1 h", to="28 °C"),
        Hold("30 min", "28 °C"),
        Ramp("15 min", to="35 °C"),
    )
    breaks = [sum(leg.time_h for leg in schedule.legs[:count]) for count in range(1, 6)]
    reference = cardinal_rate(26.0, 0.0, 38.0, 48.0)

    def at_once() -> float:
        whole = quad(schedule.rate_at, 0, schedule.time_h, points=breaks, epsabs=1e-9, epsrel=1e-9, limit=500)[0]
        return float(whole / reference)

    def by_step() -> float:
        courses = ((leg.temperature_c, leg.time_h) for leg in schedule.legs)
        parts = (
            quad(lambda hour, at=at: cardinal_rate(at(hour), 0.0, 38.0, 48.0), 0, end, epsabs=1e-9, epsrel=1e-9)[0]
            for at, end in courses
        )
        return float(sum(parts) / reference)

    other = by_step if step_by_step else at_once
    if abs(other() / schedule.equivalent("26 °C").time_h - 1) > 1e-9:
        message = "the two do not agree"
        raise ArithmeticError(message)
    ours, theirs = interleaved(timed(lambda: schedule.equivalent("26 °C"), 1_000), timed(other, 50))
    return ours / theirs


MANY_IN_ONE_FILE = 11_000
JOB = """
from formula import dump_assortment, load_assortment
breads = load_assortment({source!r})
dump_assortment(breads.scale(dough_g=[100.0 + number for number in range(len(breads))]), {target!r})
"""
CSV_TOLD = "Text - txt - csv (StarCalc):44,34,76,1,,1033,false,true,false,false,false,-1,true"
"""Commas, quotes, UTF-8, from the first line on, numbers as in English, and cells that begin with = are reckoned."""


@cache
def file_to_file() -> tuple[float, float, float, float]:
    """Return seconds for 11,000 formulas of twelve lines: read from a CSV file, scaled, written to another.

    They are those of a running process and of a fresh one, then those of LibreOffice, started from the command line: once with
    a fourth column whose cells are its own formulas for the mass, and once where it has nothing to reckon.  All four are
    seconds of the processor, children among them, for a busy machine must not count.
    """
    office = shutil.which("soffice")
    if office is None:
        raise NotThereYetError
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        lines = [f"{name},{percent}" for name, percent in PERCENTS.items()]
        rows = [f"bread {number},{line}" for number in range(MANY_IN_ONE_FILE) for line in lines]
        source, sheet, target = (folder / f"{name}.csv" for name in ("breads", "sheet", "masses"))
        source.write_text("\n".join(["formula,ingredient,percent", *rows, ""]), encoding="utf-8")
        each = 100 / sum(PERCENTS.values())
        scaled = [f"{row},=C{line + 2}*{each * (100 + line // len(lines)) / 100!r}" for line, row in enumerate(rows)]
        sheet.write_text("\n".join(["formula,ingredient,percent,mass_g", *scaled, ""]), encoding="utf-8")
        job = JOB.format(source=str(source), target=str(target))

        def here() -> float:
            begin = time.process_time()
            exec(job, {})  # noqa: S102 - our own words, the same that the fresh process runs
            return time.process_time() - begin

        def child(*words: str) -> float:
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            environment = {**os.environ, "PYTHONPATH": str(ROOT)}
            environment.pop("PYTHONDONTWRITEBYTECODE", None)
            subprocess.run(words, check=True, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime

        def libreoffice(path: Path) -> float:
            profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
            told = (
                office,
                "--headless",
                profile,
                f"--infilter={CSV_TOLD}",
                "--convert-to",
                "csv",
                "--outdir",
                str(folder / "out"),
            )
            return child(*told, str(path))

        libreoffice(source)
        rounds = [
            (here(), child(sys.executable, "-c", job), libreoffice(sheet), libreoffice(source))
            for _ in range(ROUNDS // 3)
        ]
        _check_masses(target, folder / "out" / "sheet-sheet.csv")
    ours, fresh, reckoned, converted = (median(column) for column in zip(*rounds, strict=True))
    return ours, fresh, reckoned, converted


def _check_masses(ours: Path, theirs: Path) -> None:
    """Hold our masses against those of the spreadsheet, which writes about ten digits."""
    import csv

    tables = [list(csv.reader(path.read_text(encoding="utf-8").splitlines())) for path in (ours, theirs)]
    for mine, other in zip(*tables, strict=True):
        # Ingredients come out under the names of the larder.
        same = mine[0] == other[0] and (mine[3] == other[3] or abs(float(mine[3]) - float(other[3])) < 0.001)
        if not same:
            message = f"the two do not agree: {mine} and {other}"
            raise ArithmeticError(message)


ROWS: tuple[tuple[str, str, float | None, Callable[[], float]], ...] = (
    ("import formula", "x a process that imports attrs", 1.2, lambda: fresh_process("import formula")),
    ("one from_percents, fresh process", "x a process that imports attrs", 2.0, lambda: fresh_process(FROM_PERCENTS)),
    ('scale(dough="93 kg"), 12 lines, a stage', "x bare floats", 8.0, lambda: scaling(lambda: "93 kg")),
    ("the same from a quantity", "x bare floats", None, lambda: scaling(quantity)),
    ("yeast kernel", "empty calls beyond its expression", 2.0, yeast_call),
    ("losses kernel", "empty calls beyond its expression", 2.0, losses_call),
    ("1,000,000 kernel values", "x the numpy expression", 3.0, numpy_values),
    ("100,000 formulas scaled at once, 12 lines", "x the numpy products", 3.0, scaled_at_once),
    ("100,000 formulas priced at once, 12 lines", "x the numpy products", 3.0, priced_at_once),
    ("1,000 formulas scaled one by one", "x all at once", None, one_by_one),
    ("hours of a six-step schedule", "x one quadrature", 1 / 20, lambda: schedule_hours(step_by_step=False)),
    ("the same, cut by hand", "x six quadratures", None, lambda: schedule_hours(step_by_step=True)),
    ("a day of 8,000 loaves, 20 breads", "s", 0.1, lambda: a_day(8_000)),
    ("a day of 1,000,000 loaves, per 8,000", "s", 0.1, lambda: a_day(1_000_000) / 125),
    ("8,000 loaves on the clock", "s", 0.1, lambda: clocked_day(8_000, "latest")),
    ("the same from the opening on", "s", 0.1, lambda: clocked_day(8_000, "earliest")),
    ("64,000 loaves on the clock, per 8,000", "s", 0.1, lambda: clocked_day(64_000, "latest") / 8),
    ("256,000 loaves on the clock, per 8,000", "s", 0.1, lambda: clocked_day(256_000, "latest") / 32),
    ("1,000,000 loaves on the clock, per 8,000", "s", 0.1, lambda: clocked_day(1_000_000, "latest") / 125),
    ("the same from the opening on", "s", 0.1, lambda: clocked_day(1_000_000, "earliest") / 125),
    ("11,000 formulas from file to file", "x LibreOffice", 1 / 10, lambda: file_to_file()[0] / file_to_file()[2]),
    ("the same in a fresh process", "x LibreOffice", None, lambda: file_to_file()[1] / file_to_file()[2]),
    ("the same, beside one that only converts", "x LibreOffice", None, lambda: file_to_file()[0] / file_to_file()[3]),
    ("11,000 formulas from file to file", "s", None, lambda: file_to_file()[0]),
)


def main() -> None:
    """Print the table, and write it down where ``--record FILE`` says."""
    rows: list[dict[str, Any]] = []
    print(f"{'what':<42}{'measured':>10}{'limit':>8}  compared with")
    for what, unit, limit, measure in ROWS:
        most = "-" if limit is None else f"{limit:g}"
        try:
            found = measure()
        except (NotThereYetError, ImportError):
            print(f"{what:<42}{'not there yet':>18}  {unit}")
        else:
            over = "   OVER" if limit is not None and found > limit else ""
            print(f"{what:<42}{found:>10.3g}{most:>8}  {unit}{over}", flush=True)
            rows.append({"what": what, "compared_with": unit, "limit": limit, "measured": float(f"{found:.3g}")})
    if "--record" in sys.argv:
        written = {"date": f"{datetime.now(tz=UTC):%Y-%m-%d}", "python": platform.python_version(), "rows": rows}
        path = Path(sys.argv[sys.argv.index("--record") + 1])
        path.write_text(json.dumps(written, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main()
