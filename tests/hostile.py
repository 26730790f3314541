"""Readers of all that comes from outside, each fed with one file: it is read, or refused in words that name the file.

Used by ``tests/test_hostile.py``, which draws broken files, and by ``tests/fuzz/run.py``, which hunts for them by hand.
"""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import formula
from formula.catalogue import Catalogue
from formula.errors import FormulaError
from formula.kinds import KINDS
from formula.money import read_money, read_price
from formula.quantity import Door, read
from formula.timeofday import WallClock, read_moment

__all__ = ["EXAMPLES", "TARGETS", "Feed", "corpus", "day_files", "fed"]

EXAMPLES = Path(__file__).parents[1] / "docs" / "examples"
HARBOUR = EXAMPLES / "harbour"
SMALL = EXAMPLES / "tutorial"
DAY = ("orders.toml", "bakery.toml", "workshop.toml", "ingredients.toml", "breads/pier-loaf.toml")
"""The files of a day's folder that are broken, one at a time; the others are those of the tutorial."""

Feed = Callable[[bytes, Path], None]
"""Writes bytes into a folder under the name of its file and has them read."""


def fed(read_it: Callable[[Path], object], name: str) -> Feed:
    """Make a target of a reader of one file."""

    def feed(data: bytes, folder: Path) -> None:
        file = folder / name
        file.parent.mkdir(exist_ok=True)
        file.write_bytes(data)
        refused(lambda: read_it(file), Path(name).name)

    return feed


def refused(make: Callable[[], object], name: str) -> bool:
    """Tell whether something is refused; the refusal names what is refused, in whole characters, and says why."""
    try:
        make()
    except FormulaError as error:
        told = str(error)
        faults = error.faults
    else:
        return False
    assert faults
    for fault in faults:
        assert name in fault.where, fault
        assert fault.got, fault
        assert fault.expected, fault
    assert len(told) < 200_000
    told.encode()
    return True


def texts(data: bytes, _: Path) -> None:
    """Read text as a quantity of every kind, as money, a price, a time of day, a date and a zone."""
    text = data.decode("utf-8", "surrogateescape")
    for kind in KINDS:
        refused(lambda kind=kind: read(kind, text, "flour"), "flour")  # type: ignore[misc]
    for reads in (read_money, read_price):
        refused(lambda reads=reads: reads(text, "flour"), "flour")  # type: ignore[misc]
    with_door(text)
    refused(lambda: WallClock(text), "date")
    refused(lambda: WallClock("2026-11-25", text), "zone")
    refused(lambda: Catalogue().find(text), "ingredient")


def with_door(text: str) -> None:
    """Read text as a time of day."""

    def read_it() -> None:
        with Door() as door:
            read_moment(door, text, "flour")

    refused(read_it, "flour")


def a_formula(file: Path) -> None:
    """Read a formula; what is read can be written, and scaled or refused as a whole."""
    bread = formula.load(file)
    again = file.with_name(f"again{file.suffix}")
    formula.dump(bread, again)
    assert formula.load(again) == bread
    refused(lambda: str(bread.scale(dough="10 kg")), "")


def a_log(file: Path) -> None:
    """Read a log; each entry can be written."""
    for entry in formula.read_log(file).standing:
        assert type(entry).from_table(entry.to_table()) == entry
        str(entry)


def an_assortment(file: Path) -> None:
    """Read formulas in columns; what is read can be scaled, and comes back when it is written."""
    table = formula.load_assortment(file)
    again = file.with_name("again.csv")
    formula.dump_assortment(table, again)
    assert formula.load_assortment(again) == table
    formula.dump_assortment(table.scale(dough_g=[1000.0] * len(table)), again)


def a_day(data: bytes, folder: Path) -> None:
    """Read a day with one file broken; the first byte says which."""
    name = DAY[data[0] % len(DAY)] if data else DAY[0]
    place = folder / "day"
    if not place.exists():
        shutil.copytree(SMALL, place)
    kept = (place / name).read_bytes() if (place / name).exists() else None
    (place / name).write_bytes(data[1:])
    try:
        bad = [refused(lambda: reads(place), ".toml") for reads in (formula.load_day, formula.load_workshop)]  # noqa: B023
        if not any(bad):
            planned(place)
    finally:
        (place / name).write_bytes(kept) if kept is not None else (place / name).unlink()


def planned(place: Path) -> None:
    """Plan a day that could be read; whatever its numbers are, it is planned or refused."""
    shop = formula.load_workshop(place)

    def plan() -> None:
        day = formula.plan_day(*formula.load_day(place), shop)
        str(day.working())
        if shop:
            str(formula.timetable(day, shop))

    refused(plan, "")


def day_files() -> Iterator[tuple[int, bytes]]:
    """Give the good files of a day, each with its number in ``DAY``."""
    larder = b'[rye-mix]\nkind = "flour"\nwater_g = 13.0\nallergens = ["rye"]\nhousehold = {"1 cup" = 120.0}\n'
    for number, name in enumerate(DAY):
        yield number, (SMALL / name).read_bytes() if (SMALL / name).exists() else larder


TARGETS: dict[str, Feed] = {
    "text": texts,
    "formula-toml": fed(a_formula, "bread.toml"),
    "formula-json": fed(a_formula, "bread.json"),
    "day": a_day,
    "log": fed(a_log, "log.jsonl"),
    "trials": fed(formula.read_trials, "trials.csv"),
    "weighings": fed(formula.read_weighings, "weighings.csv"),
    "losses": fed(formula.read_loss_weighings, "losses.csv"),
    "prices": fed(formula.load_prices, "prices.toml"),
    "stock": fed(formula.load_stock, "stock.toml"),
    "assortment": fed(an_assortment, "breads.csv"),
}


def corpus(target: str) -> list[bytes]:
    """Return good files for a target, from the examples of the documentation."""
    breads = sorted(path for path in EXAMPLES.rglob("*.toml") if path.parent.name in {"breads", "notes"})
    if target == "text":
        units = [f"1.5 {spelling}".encode() for kind in KINDS for spelling in kind.spellings]
        return [*units, b"1 lb 8 oz", b"1 h 20 min", "1 ½ cup".encode(), b"1 1/2 cup", b"05:30", b"20:00 the day before",
                b"1.20 EUR/kg", b"18.50 EUR/25 kg", b"2026-11-25", b"Europe/Berlin", b"bread flour", b"../../x", b"1e999 g"]  # fmt: skip
    if target == "formula-toml":
        return [path.read_bytes() for path in breads]
    if target == "formula-json":
        from formula.layout import to_json

        return [to_json(formula.load(path)).encode() for path in breads]
    if target == "day":
        return [bytes([number]) + data for number, data in day_files()]
    named = {
        "log": EXAMPLES / "harbour-night.jsonl",
        "weighings": EXAMPLES / "samples.csv",
        "losses": EXAMPLES / "weighings.csv",
        "prices": HARBOUR / "prices.toml",
        "stock": HARBOUR / "stock.toml",
        "assortment": EXAMPLES / "breads.csv",
    }
    if target == "trials":
        return ["flour,room,preferment,preferment 2,water,dough,mixer,speed,time,mass\n"
                "21 °C,23 °C,18 °C,,12 °C,25 °C,spiral,slow,8 min,93 kg\n".encode()]  # fmt: skip
    return [named[target].read_bytes()]
