"""The screen for costs: a batch, a day and two formulas beside each other, in money."""

from __future__ import annotations

from rich.console import Console

from .bill import BatchCost
from .costchange import CostComparison
from .daycost import DayCost
from .screen import heading, new_table, show_table
from .words import counted, weight
from .working import shown

__all__ = ["show_cost", "show_cost_comparison", "show_day_cost"]


def show_cost(console: Console, found: BatchCost) -> None:
    """Show a cost: its lines, which add up, and what a mix, a piece and a kilogram come to."""
    heading(console, found.name)
    columns = [("all", found.costs())]
    columns += [("a mix", found.costs("mix"))] if found.mixes > 1 else []
    columns += [("a piece sold", found.costs("piece"))] if found.pieces else []
    columns += [("a kg", found.costs("kg"))]
    table = new_table("", "amount", "price", *(f"{name}, {found.currency}" for name, _ in columns))
    for line in found.lines:
        amount = weight(line.amount, "g") if line.unit == "g" else f"{shown(line.amount, 4)} {line.unit}"
        if line.unit == "kJ":
            amount = f"{shown(line.amount / 3600)} kWh"
        cells = (f"{costs[line.name].amount:f}" for _, costs in columns)
        table.add_row(line.name, amount, str(line.price or ("free" if not line.exact else "")), *cells)
    wholes = {"all": found.total, "a mix": found.per_mix, "a piece sold": found.per_piece, "a kg": found.per_kg}
    table.add_row(
        "together", "", "", *(f"{whole.amount:f}" for name, _ in columns if (whole := wholes[name])), style="bold"
    )
    show_table(console, table)
    if found.pieces:
        console.print(
            f"{counted(found.pieces, 'piece')} of {weight(round(found.baked_g, 1), 'g')}, {shown(float(found.sold))} of them sold:"
            f" {found.per_piece} a piece sold, {found.per_piece_made} a piece made, {found.per_sold_kg} a kg sold"
        )
    else:
        console.print(f"{weight(round(found.bread_g, 1), 'g')} of bread: {found.per_kg} a kg")
    if found.carried:
        console.print("of which " + ", ".join(f"{name} {money}" for name, money in found.carried.items()))


def show_cost_comparison(console: Console, found: CostComparison) -> None:
    """Show two costs side by side, the lines that differ in bold; each column adds up."""
    table = new_table(f"for a {found.per}" if found.per != "all" else "all", found.first, found.second, "difference")
    for line in (*found.lines, found.whole):
        cells = (str(line.first), str(line.second), f"{line.difference.amount:+f}" if line.difference.amount else "")
        table.add_row(line.name, *cells, style="bold" if line.difference.amount else "")
    show_table(console, table)


def show_day_cost(console: Console, found: DayCost) -> None:
    """Show what a day costs: a line a bread, then the lines of the whole."""
    table = new_table("bread", "pieces", "sold", "mixes", "cost", "a mix", "a piece sold", "a kg")
    for name, bread in found.breads.items():
        cells = (str(bread.pieces), shown(float(bread.sold)), str(bread.mixes), str(found.costs[name]))
        table.add_row(name, *cells, str(bread.per_mix), str(bread.per_piece), str(bread.per_kg))
    show_table(console, table)
    console.print()
    show_cost(console, found.whole)
