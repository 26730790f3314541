"""The command about dividing: pieces, presses, several products and the bread that comes of them; a thin face."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final, cast, get_args

import click

from .byhand import DoughByHand, PiecesByHand, dough_by_hand, pieces_by_hand
from .counting import Rounding
from .files import load
from .lines import Lines
from .portion import Division, Remainder, divide
from .press import Heads, Press, heads_from
from .products import DividedAmong, Product, Short, divide_among
from .quantity import MASS, write
from .screen import UNITS, new_console, print_json, show_cautions, show_working, weight
from .words import counted
from .working import Caution, shown
from .yielded import BreadFromDough, bread_from_dough

__all__ = ["divide_dough"]

Answer = Division | DividedAmong | Heads | BreadFromDough

_PRODUCT = re.compile(r"(?P<name>[^=]*[^=\s])\s*=\s*(?P<pieces>[0-9]{1,9})\s*x\s*(?P<piece>.+)")
_GOES_WITH: Final[Lines[tuple[str, ...]]] = Lines(
    {
        "parts": ("head", "lightest", "heaviest"),
        "product": ("fill", "short"),
        "piece": ("remainder", "limit", "sigmas", "sd"),
    }
)
_NOT_WITH: Final[Lines[tuple[str, ...]]] = Lines(
    {
        "parts": ("product", "bread", "remainder", "limit", "sigmas", "sd"),
        "limit": ("bread", "remainder"),
        "sd": ("bread", "remainder"),
    }
)


def _choices(literal: object) -> click.Choice[str]:
    return click.Choice([word.replace(" ", "-") for word in get_args(literal)])


@click.command("divide")
@click.argument("dough")
@click.option("--piece", help="Weight of a piece on the divider's scale.")
@click.option("--step", help='The step of that scale, such as "5 g".')
@click.option(
    "--rounding", type=_choices(Rounding), default="up", show_default=True, help="How weights go onto the step."
)
@click.option(
    "--remainder", type=_choices(Remainder), default="report", show_default=True, help="What becomes of what is left."
)
@click.option("--parts", type=int, help="Divide into heads for a press that makes so many parts.")
@click.option("--head", help="With --parts: weight of a head, instead of --piece.")
@click.option("--lightest", help="With --parts: the lightest head, from the press's plate.")
@click.option("--heaviest", help="With --parts: the heaviest head, from the press's plate.")
@click.option(
    "--product", multiple=True, metavar="NAME=PIECESxWEIGHT", help='One of several products, such as "large=20x920 g".'
)
@click.option("--fill", default="", metavar="NAME", help="With --product: the one that takes what is over.")
@click.option(
    "--short",
    type=_choices(Short),
    default="refuse",
    show_default=True,
    help="With --product: if the dough is too little.",
)
@click.option("--limit", help="Divided by hand: the ± that the divider keeps, with --sigmas.")
@click.option("--sigmas", type=float, help="How many standard deviations the limit stands for, such as 2.")
@click.option("--sd", help="Divided by hand: the standard deviation of a piece, instead of --limit.")
@click.option(
    "--bread", type=click.Path(path_type=Path), help="A formula file: DOUGH is as mixed, and its losses give the bread."
)
@click.option("--unit", type=click.Choice(sorted(UNITS)), default="g", show_default=True, help="Unit of the weights.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON, weights in g.")
@click.option("--working", is_flag=True, help="Show every step of the arithmetic.")
def divide_dough(dough: str, unit: str, as_json: bool, working: bool, **options: Any) -> None:  # noqa: ANN401, FBT001 - as click hands them over
    """Divide DOUGH, such as "62 kg", into pieces, heads or products."""
    _check_usage(options)
    answer = _answer(dough, options)
    by_hand = _by_hand(answer, options)
    found = (answer, *by_hand)
    if as_json:
        tables = _tables(answer) | (_hand_tables(*by_hand) if by_hand else {})
        print_json({**tables, "cautions": [{"code": each.code, "text": each.text} for each in _cautions(found)]})
        return
    console = new_console()
    for line in _lines(answer, unit):
        console.print(line)
    if by_hand:
        console.print(_hand_words(*by_hand, unit))
    show_cautions(console, _cautions(found))
    if working:
        for each in found:
            show_working(console, each.working())


def _check_usage(options: dict[str, Any]) -> None:
    """Refuse options that do not go together; what they say is the library's to check."""
    ways = [way for way in ("piece", "head", "product") if options[way]]
    if len(ways) != 1:
        _refuse("say one of --piece, --head and --product")
    changed = {"remainder": options["remainder"] != "report", "short": options["short"] != "refuse"}
    given = {name: value not in (None, (), "") for name, value in options.items()} | changed
    for needed, names in _GOES_WITH.items():
        for name in names:
            if given[name] and not given[needed]:
                _refuse(f"--{name} goes with --{needed}")
    for name, others in _NOT_WITH.items():
        for other in others:
            if given[name] and given[other]:
                _refuse(f"--{name} does not go with --{other}")


def _refuse(message: str) -> None:
    raise click.UsageError(message)


def _answer(dough: str, options: dict[str, Any]) -> Answer:
    step, rounding = options["step"], options["rounding"]
    scale: dict[str, Any] = {"step": step, "rounding": rounding}
    products = [_product(text) for text in options["product"]]
    among: dict[str, Any] = {"fill": options["fill"], "short": options["short"].replace("-", " ")}
    remainder = cast("Remainder", options["remainder"].replace("-", " "))
    if options["parts"] is not None:
        press = Press(options["parts"], lightest=options["lightest"], heaviest=options["heaviest"])
        return heads_from(dough, press, piece=options["piece"], head=options["head"], **scale)
    if options["bread"] is not None:
        bread = load(options["bread"])
        if products:
            return bread_from_dough(dough, bread, products=products, **scale, **among)
        return bread_from_dough(dough, bread, piece=options["piece"], remainder=remainder, **scale)
    if products:
        return divide_among(dough, products, **scale, **among)
    return divide(dough, piece=options["piece"], remainder=remainder, **scale)


def _product(text: str) -> Product:
    match = _PRODUCT.fullmatch(text.strip())
    if match is None:
        message = f'--product {text!r}: write NAME=PIECESxWEIGHT, such as "large=20x920 g"'
        raise click.UsageError(message)
    return Product(match["name"].strip(), pieces=int(match["pieces"]), piece=match["piece"])


def _by_hand(answer: Answer, options: dict[str, Any]) -> tuple[()] | tuple[PiecesByHand, DoughByHand]:
    """Say what a divider's tolerance makes of it, if there is one."""
    if not isinstance(answer, Division) or not any(options[name] is not None for name in ("limit", "sigmas", "sd")):
        return ()
    spread = {name: options[name] for name in ("limit", "sigmas", "sd")}
    dough, piece = (write(MASS, grams) for grams in (answer.dough_g, answer.piece_g))
    return (
        pieces_by_hand(dough, piece=piece, pieces=answer.pieces, **spread),
        dough_by_hand(answer.pieces, piece=piece, **spread),
    )


def _cautions(found: tuple[Answer | PiecesByHand | DoughByHand, ...]) -> tuple[Caution, ...]:
    return tuple(dict.fromkeys(caution for each in found for caution in each.cautions))


def _lines(answer: Answer, unit: str) -> Iterator[str]:
    if isinstance(answer, Heads):
        yield f"{answer.heads} heads of {weight(answer.head_g, unit)}, pieces of {weight(answer.piece_g, unit)}"
        if answer.last_g:
            yield f"and {weight(answer.last_g, unit)} left, {counted(answer.last_pieces, 'piece')} by hand"
        yield f"{counted(answer.pieces, 'piece')} in all"
        return
    if isinstance(answer, BreadFromDough):
        yield f"{weight(answer.at_divider_g, unit)} of dough at the divider"
        for each in answer.portions:
            name = f"{each.name}: " if each.name else ""
            baked = weight(round(each.baked_g, 1), unit)
            yield f"{name}{counted(each.pieces, 'piece')} of {weight(each.piece_g, unit)}, {baked} each when sold"
        yield f"{weight(round(answer.bread_g, 1), unit)} of bread"
    elif isinstance(answer, DividedAmong):
        for product in answer.products:
            yield f"{product.name}: {counted(product.pieces, 'piece')} of {weight(product.piece_g, unit)}"
    else:
        for portion in answer.portions:
            noun = "piece" if portion.pieces == 1 else "pieces"
            yield f"{portion.pieces} {noun} of {weight(portion.piece_g, unit)}"
    yield f"{weight(answer.remainder_g, unit)} left over" if answer.remainder_g else "nothing left over"


def _hand_words(made: PiecesByHand, dough: DoughByHand, unit: str) -> str:
    share = shown(100 * made.confidence_share, 4)
    return (
        f"by hand: {made.fewest} to {counted(made.most, 'piece')}; the last of {made.planned} is short in"
        f" {shown(100 * made.short_share, 3)} % of doughs; {weight(dough.mass_g, unit)} suffices in {share} % of them"
    )


def _tables(answer: Answer) -> dict[str, Any]:
    common = {"dough_g": answer.dough_g, "pieces": answer.pieces, "remainder_g": answer.remainder_g}
    if isinstance(answer, Heads):
        own = _values(answer, "head_g", "heads", "piece_g", "last_g", "last_pieces")
        return common | {"parts": answer.press.parts} | own
    if isinstance(answer, BreadFromDough):
        portions = [_values(each, "name", "pieces", "piece_g", "baked_g") for each in answer.portions]
        return common | _values(answer, "at_divider_g", "bread_g") | {"portions": portions}
    if isinstance(answer, DividedAmong):
        names = ("name", "wanted", "asked_g", "pieces", "piece_g")
        return common | {"products": [_values(each, *names) for each in answer.products]}
    portions = [_values(each, "pieces", "piece_g") for each in answer.portions]
    return common | _values(answer, "asked_g", "piece_g") | {"portions": portions}


def _values(result: object, *names: str) -> dict[str, Any]:
    return {name: getattr(result, name) for name in names}


def _hand_tables(made: PiecesByHand, dough: DoughByHand) -> dict[str, Any]:
    own = _values(made, "sd_g", "fewest", "most", "short_share", "confidence_share")
    return own | {"dough_by_hand_g": dough.mass_g, "spare_g": dough.spare_g}
