"""The command about net weight: what to divide at under every rule, or a sample held against one; a thin face like ``cli``."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from .allowances import CONFIDENCE
from .money import Money
from .netweight import NONE_SHARE
from .packrules import weight_rules
from .samplecheck import WeighingCheck, check_weighings
from .samples import read_weighings
from .scalingweight import NetWeight, WeightUnderRule, net_weight
from .screen import UNITS, new_console, print_json, show_cautions, show_net_weight, show_working
from .working import Caution

__all__ = ["weight"]

_RULES = [rule.name for rule in weight_rules()]


@click.command()
@click.argument("nominal")
@click.option("--divider-sd", help="Standard deviation of the divided weight.")
@click.option("--divider-limit", help="Instead, the maker's ±; needs --sigmas.")
@click.option("--sigmas", type=float, help="How many standard deviations that ± is: 2 or 3.")
@click.option("--loss", help="All that falls after the divider until the sale, as a share of the scaling weight.")
@click.option("--loss-sd", help="Standard deviation of the loss from piece to piece.  [default: 0 %]")
@click.option("--step", help="Step of the divider's scale; the scaling weight is rounded up to it.")
@click.option("--pieces", type=int, help="Pieces that the giveaway is added up for.  [default: 1000]")
@click.option("--price", help='What the bread is worth by mass, such as "2.40 EUR/kg".')
@click.option("--rule", "rules", multiple=True, type=click.Choice(_RULES), help="A rule; may be given again.")
@click.option("--none-share", help=f'The share that stands for "none".  [default: {NONE_SHARE}]')
@click.option("--between-sd", help="Standard deviation of the means of batches as sold.")
@click.option("--batches", type=int, help="Batches in a lot.  [default: 1]")
@click.option("--confidence", help=f"How sure the lot's mean shall be.  [default: {CONFIDENCE}]")
@click.option("--drift", help="How far the weight creeps between two adjustments.")
@click.option("--sampling", help="What your own sampling cannot see.")
@click.option(
    "--check", "file", type=click.Path(path_type=Path), help="A CSV file of weighings to hold against --rule."
)
@click.option("--lot", type=int, help="With --check: pieces in the lot.")
@click.option("--destructive", is_flag=True, help="With --check: weighing destroys the piece.")
@click.option("--unit", type=click.Choice(sorted(UNITS)), default="g", show_default=True, help="Unit of the weights.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON, weights in g.")
@click.option("--working", is_flag=True, help="Show every step of the arithmetic.")
def weight(
    nominal: str,
    rules: tuple[str, ...],
    file: Path | None,
    lot: int | None,
    destructive: bool,  # noqa: FBT001 - flags, as click hands them over
    unit: str,
    as_json: bool,  # noqa: FBT001
    working: bool,  # noqa: FBT001
    **options: Any,  # noqa: ANN401 - handed on to ``net_weight`` under the same names
) -> None:
    """Find what to divide at so that bread of NOMINAL weight holds it in law, or check weighings of it."""
    given = {name: value for name, value in options.items() if value is not None}
    if file is not None:
        if lot is None or len(rules) != 1 or given:
            message = "--check goes with --lot and one --rule, and with no option about the divider"
            raise click.UsageError(message)
        _check(check_weighings(read_weighings(file), nominal, rule=rules[0], lot=lot, destructive=destructive),
               as_json=as_json, working=working)  # fmt: skip
        return
    if lot is not None or destructive:
        message = "--lot and --destructive go with --check"
        raise click.UsageError(message)
    found = net_weight(nominal, rules=rules or None, **given)
    if as_json:
        print_json(_tables(found))
        return
    console = new_console()
    show_net_weight(console, found, unit)
    show_cautions(console, found.cautions)
    if working:
        for answer in found.rules.values():
            show_working(console, answer.working())


def _check(found: WeighingCheck, *, as_json: bool, working: bool) -> None:
    if as_json:
        print_json(
            {
                "verdict": found.verdict,
                "weighings": len(found.masses_g),
                "mean_g": found.mean_g,
                "sd_g": found.sd_g,
                "lowest_mean_g": found.lowest_mean_g,
                "margin_g": found.margin_g,
                "beyond": found.beyond,
                "beyond_outer": found.beyond_outer,
                "second_sample": found.wanted if found.verdict == "second sample" else 0,
                "clauses": [
                    {"name": clause.name, "passed": clause.passed, "reason": clause.reason} for clause in found.clauses
                ],
                "cautions": _told(found.cautions),
            }
        )
        return
    console = new_console()
    console.print(str(found))
    show_cautions(console, found.cautions)
    if working:
        show_working(console, found.working())


def _tables(found: NetWeight) -> dict[str, Any]:
    return {
        "nominal_g": found.nominal_g,
        "baked_sd_g": found.baked_sd_g,
        "pieces": found.pieces,
        "rules": {name: _answer(answer) for name, answer in found.rules.items()},
        "cautions": _told(found.cautions),
    }


def _answer(answer: WeightUnderRule) -> dict[str, Any]:
    target = answer.target
    return {
        "set_by": target.set_by,
        "limit_g": target.limit_g,
        "outer_limit_g": target.outer_limit_g,
        "lowest_mean_g": target.mean_g,
        "scaling_weight_g": answer.scaling_weight_g,
        "mean_g": answer.mean_g,
        "below_nominal_share": answer.below_nominal_share,
        "below_limit_share": answer.below_limit_share,
        "below_outer_limit_share": answer.below_outer_limit_share,
        "dough_g": answer.dough_g,
        "giveaway_g": answer.giveaway_g,
        "giveaway_total_g": answer.giveaway_total_g,
        "giveaway_cost": _money(answer.giveaway_cost),
    }


def _money(money: Money | None) -> dict[str, str] | None:
    # As text: a reader of JSON would make a float of the number.
    return None if money is None else {"amount": f"{money.amount:f}", "currency": money.currency}


def _told(cautions: tuple[Caution, ...]) -> list[dict[str, str]]:
    return [{"code": caution.code, "text": caution.text} for caution in cautions]
