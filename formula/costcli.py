"""The command about cost: of a batch or a day, with the price for a margin, break-even and what moves it; a thin face."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import click

from .bill import BatchCost
from .clockwork import timetable
from .cost import price
from .costchange import CostComparison, Sensitivity, compare_costs, sensitivity
from .costscreen import show_cost, show_cost_comparison, show_day_cost
from .day import plan_day
from .daycost import DayCost, price_day
from .errors import Fault, FileError
from .expenses import Expenses
from .files import load
from .folder import load_day
from .money import MONEY_RULES, Money, MoneyRule
from .prices import Prices, load_prices
from .pricing import BreakEven, SalePrice, break_even, sale_price
from .screen import new_console, print_json, show_cautions, show_working
from .shopfile import load_workshop
from .words import counted
from .working import shown

__all__ = ["cost"]

_BATCH: Final = ("dough", "flour", "pieces", "piece", "baked")
_EXPENSES: Final = ("load", "load_pieces", "labour", "packaging", "unsold", "reject", "giveaway")


@click.command()
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.option(
    "--prices", "price_file", type=click.Path(path_type=Path), required=True, help="The price list, a TOML file."
)
@click.option("--day", "folder", type=click.Path(path_type=Path), help="Price the day in this folder instead of FILE.")
@click.option("--clock", is_flag=True, help="With --day: count the loads and the bench hours of its timetable.")
@click.option("--dough", help='Dough to mix, such as "93 kg".')
@click.option("--flour", help='All the flour, such as "50 lb".')
@click.option("--pieces", type=int, help="Number of pieces.")
@click.option("--piece", help="Weight of a piece on the divider's scale.")
@click.option("--baked", help="Weight of a piece when sold.")
@click.option("--load", help='Energy of an oven load: "18 kWh", or money.')
@click.option("--load-pieces", type=int, help="Pieces in a full load; whole loads are counted.")
@click.option("--labour", help='Time of one person for a mix, such as "40 min".')
@click.option("--packaging", multiple=True, metavar="NAME", help="Packaging of the price list, one a piece.")
@click.option("--unsold", help='Share of the good pieces that is not sold, such as "4 %".')
@click.option("--reject", help="Share of the pieces that is sorted out; the formula's own if left out.")
@click.option("--giveaway", help="What a piece weighs beyond what it is sold as.")
@click.option("--margin", help="Find the price of which this share is left.")
@click.option("--markup", help="Find the price that lies this share of the cost above it.")
@click.option("--price", "at", help='Look at a price, such as "1.60 EUR".')
@click.option("--fixed", help="With one of the three: fixed costs, to find the pieces that carry them.")
@click.option("--rise", help='Show what a rise of each price adds, such as "10 %".')
@click.option("--against", type=click.Path(path_type=Path), help="Another formula file to compare with, line by line.")
@click.option(
    "--rounding", type=click.Choice([rule.replace(" ", "-") for rule in MONEY_RULES]), default="half-up", show_default=True,
    help="What becomes of half a cent.",
)  # fmt: skip
@click.option("--digits", type=int, help="Digits after the point; the currency's own if left out.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON, money as text.")
@click.option("--working", is_flag=True, help="Show every step of the arithmetic.")
def cost(
    file: Path | None,
    price_file: Path,
    folder: Path | None,
    clock: bool,  # noqa: FBT001 - flags, as click hands them over
    as_json: bool,  # noqa: FBT001
    working: bool,  # noqa: FBT001
    **options: Any,  # noqa: ANN401 - handed on under the same names
) -> None:
    """Find what the bread in FILE costs: by the batch, the piece sold and the kilogram; or a day."""
    given = {name: value for name, value in options.items() if value not in (None, ())}
    rounding: dict[str, Any] = {"rounding": _rule(given.pop("rounding")), "digits": given.pop("digits", None)}
    _check_usage(file, folder, given)
    prices = load_prices(price_file)
    if folder is not None:
        _day(_day_cost(folder, prices, rounding, clock=clock), as_json=as_json, working=working)
        return
    if clock:
        message = "--clock goes with --day"
        raise click.UsageError(message)
    found = _batch_cost(file, prices, given, rounding)
    sold = _sale(found, given)
    carried = break_even(given["fixed"], price=sold.price, cost=found) if sold and "fixed" in given else None
    moved = sensitivity(found, given["rise"]) if "rise" in given else None
    other = compare_costs(found, _batch_cost(given["against"], prices, given, rounding)) if "against" in given else None
    if as_json:
        print_json(_tables(found) | _more(sold, carried, moved, other) | {"cautions": _told(found)})
        return
    console = new_console()
    show_cost(console, found)
    for line in _words(sold, carried, moved):
        console.print(line)
    if other:
        console.print()
        show_cost_comparison(console, other)
    show_cautions(console, dict.fromkeys((*found.cautions, *(sold.cautions if sold else ()))))
    if working:
        for each in (found, sold, carried, moved, other):
            if each:
                show_working(console, each.working())


def _rule(word: str) -> MoneyRule:
    return next(rule for rule in MONEY_RULES if rule.replace(" ", "-") == word)


def _check_usage(file: Path | None, folder: Path | None, given: dict[str, Any]) -> None:
    if (file is None) == (folder is None):
        message = "say a formula FILE, or --day and the day's folder"
        raise click.UsageError(message)
    if folder is not None and given:
        message = f"--day does not go with {', '.join('--' + name.replace('_', '-') for name in given)}; say expenses in the price list"
        raise click.UsageError(message)
    ways = [f"--{name}" for name, key in (("margin", "margin"), ("markup", "markup"), ("price", "at")) if key in given]
    if len(ways) > 1:
        message = f"say one of {' and '.join(ways)}"
        raise click.UsageError(message)
    if "fixed" in given and not ways:
        message = "--fixed goes with --margin, --markup or --price"
        raise click.UsageError(message)


def _batch_cost(file: Path | None, prices: Prices, given: dict[str, Any], rounding: dict[str, Any]) -> BatchCost:
    bread = load(str(file))
    batch = bread.scale(**{name: given[name] for name in _BATCH if name in given})
    changes = {name: given[name] for name in _EXPENSES if name in given}
    own: Expenses = prices.expenses_of(bread.name)
    return price(batch, prices, expenses=own.changed(**changes), **rounding)


def _sale(found: BatchCost, given: dict[str, Any]) -> SalePrice | None:
    if not {"margin", "markup", "at"} & set(given):
        return None
    return sale_price(found, margin=given.get("margin"), markup=given.get("markup"), price=given.get("at"))


def _day_cost(folder: Path, prices: Prices, rounding: dict[str, Any], *, clock: bool) -> DayCost:
    workshop = load_workshop(folder)
    if clock and workshop is None:
        got = "no such file, but --clock"
        raise FileError(Fault(str(folder / "workshop.toml"), got, "a file that puts the day on the clock"))
    plan = plan_day(*load_day(folder), workshop)
    table = timetable(plan, workshop) if clock and workshop else None
    return price_day(plan, prices, timetable=table, **rounding)


def _day(found: DayCost, *, as_json: bool, working: bool) -> None:
    if as_json:
        breads = {name: _tables(bread) for name, bread in found.breads.items()}
        shares = {name: _amount(money) for name, money in found.costs.items()}
        print_json(_tables(found.whole) | {"breads": breads, "costs": shares, "cautions": _told(found.whole)})
        return
    console = new_console()
    show_day_cost(console, found)
    show_cautions(console, found.cautions)
    if working:
        for bread in found.breads.values():
            show_working(console, bread.working())
        show_working(console, found.working())


def _words(sold: SalePrice | None, carried: BreakEven | None, moved: Sensitivity | None) -> list[str]:
    lines: list[str] = []
    if sold:
        margin, markup = (f"{shown(100 * share, 4)} %" for share in (sold.margin_share, sold.markup_share))
        lines.append(
            f"price {sold.price}: {sold.profit} a piece left, a margin of {margin} on the price, a mark-up of {markup} on the cost"
        )
    if carried:
        lines.append(f"{counted(carried.pieces, 'piece')} sold carry {carried.fixed} of fixed costs")
    if moved:
        lines.append(f"a rise of {shown(100 * moved.rise_share, 4)} % in one price adds to a {moved.per}:")
        lines += [f"  {each.item}: {each.shown}" for each in moved.effects]
    return lines


def _amount(money: Money | None) -> str | None:
    # As text: a reader of JSON would make a float of the number.
    return None if money is None else f"{money.amount:f}"


def _tables(found: BatchCost) -> dict[str, Any]:
    costs = found.costs()
    return {
        "bread": found.name,
        "currency": found.currency,
        "mixes": found.mixes,
        "pieces": found.pieces,
        "pieces_sold": float(found.sold),
        "baked_g": found.baked_g,
        "bread_g": found.bread_g,
        "total": _amount(found.total),
        "per_mix": _amount(found.per_mix),
        "per_piece": _amount(found.per_piece),
        "per_piece_made": _amount(found.per_piece_made),
        "per_kg": _amount(found.per_kg),
        "per_sold_kg": _amount(found.per_sold_kg),
        "lines": [
            {
                "name": line.name,
                "kind": line.kind,
                "amount": line.amount,
                "unit": line.unit,
                "price": str(line.price) if line.price else None,
                "cost": _amount(costs[line.name]),
            }
            for line in found.lines
        ],
        "carried": {name: _amount(money) for name, money in found.carried.items()},
    }


def _more(
    sold: SalePrice | None, carried: BreakEven | None, moved: Sensitivity | None, other: CostComparison | None
) -> dict[str, Any]:
    tables: dict[str, Any] = {}
    if sold:
        tables["sale"] = {
            "price": _amount(sold.price),
            "profit": _amount(sold.profit),
            "margin_share": sold.margin_share,
            "markup_share": sold.markup_share,
        }
    if carried:
        tables["break_even"] = {"fixed": _amount(carried.fixed), "pieces": carried.pieces}
    if moved:
        effects = {each.item: _amount(each.shown) for each in moved.effects}
        tables["rise"] = {"rise_share": moved.rise_share, "per": moved.per, "adds": effects}
    if other:
        tables["against"] = {
            "bread": other.second,
            "per": other.per,
            "lines": {
                line.name: {
                    "first": _amount(line.first), "second": _amount(line.second), "difference": _amount(line.difference)
                }
                for line in (*other.lines, other.whole)
            },
        }  # fmt: skip
    return tables


def _told(found: BatchCost) -> list[dict[str, str]]:
    return [{"code": caution.code, "text": caution.text} for caution in found.cautions]
