"""``formula cost`` answers as the library does, money as text, and refuses in one message."""

import json
from functools import partial
from pathlib import Path
from shutil import copy, copytree
from typing import Any

import pytest

from formula.clockwork import timetable
from formula.cost import price
from formula.costchange import compare_costs, sensitivity
from formula.day import plan_day
from formula.daycost import price_day
from formula.files import load
from formula.folder import load_day
from formula.prices import load_prices
from formula.pricing import break_even, sale_price
from formula.shopfile import load_workshop
from tests.conftest import Run

HARBOUR = Path(__file__).parents[1] / "docs" / "examples" / "harbour"
ROUND, PRICES = HARBOUR / "breads" / "quay-round.toml", HARBOUR / "prices.toml"
BATCH = (ROUND, "--prices", PRICES, "--pieces", 150, "--baked", "800 g")


@pytest.fixture
def run(run: Run) -> Run:
    """Run the command ``cost``."""
    return partial(run, "cost")


def answer(run: Run, *arguments: object) -> dict[str, Any]:
    code, out, err = run(*arguments, "--json")
    assert (code, err) == (0, "")
    found: dict[str, Any] = json.loads(out)
    return found


def test_a_batch(run: Run) -> None:
    cost = price(load(ROUND).scale(pieces=150, baked="800 g"), load_prices(PRICES))
    found = answer(run, *BATCH)
    assert found["total"] == str(cost.total.amount)
    assert found["per_piece"] == str(cost.per_piece.amount if cost.per_piece else "")
    assert [line["cost"] for line in found["lines"]] == [str(money.amount) for money in cost.costs().values()]
    code, out, _ = run(*BATCH)
    assert code == 0
    assert f"{cost.per_piece} a piece sold" in out
    assert "of which dough lost" in out


def test_options_go_before_the_price_list(run: Run) -> None:
    given = ("--unsold", "10 %", "--labour", "2 h", "--load", "5 EUR", "--packaging", "carton", "--reject", "0 %")
    found = answer(run, *BATCH, *given, "--load-pieces", 50, "--giveaway", "8 g")
    costs = {line["name"]: line["cost"] for line in found["lines"]}
    assert (costs["labour"], costs["oven"], costs["carton (packaging)"]) == ("48.00", "15.00", "72.00")
    assert found["pieces_sold"] == 135
    assert "giveaway" in found["carried"]


def test_price_break_even_rise_and_comparison(run: Run) -> None:
    prices = load_prices(PRICES)
    cost = price(load(ROUND).scale(pieces=150, baked="800 g"), prices)
    spelt = HARBOUR / "breads" / "breakwater-spelt.toml"
    other = price(load(spelt).scale(pieces=150, baked="800 g"), prices)
    more = ("--margin", "35 %", "--fixed", "300 EUR", "--rise", "10 %", "--against", spelt)
    found = answer(run, *BATCH, *more)
    sold = sale_price(cost, margin="35 %")
    assert found["sale"]["price"] == str(sold.price.amount)
    assert found["break_even"]["pieces"] == break_even("300 EUR", price=sold.price, cost=cost).pieces
    assert found["rise"]["adds"] == {each.item: str(each.shown.amount) for each in sensitivity(cost).effects}
    assert found["against"]["lines"]["together"]["difference"] == str(
        compare_costs(cost, other).whole.difference.amount
    )
    code, out, _ = run(*BATCH, *more, "--working")
    assert code == 0
    for words in (f"price {sold.price}", "pieces sold carry 300 EUR", "for a piece", "price = cost / (1 - margin)"):
        assert words in out


def test_markup_price_and_rounding(run: Run) -> None:
    assert answer(run, *BATCH, "--markup", "50 %")["sale"]["markup_share"] == pytest.approx(0.5, abs=0.01)
    assert answer(run, *BATCH, "--digits", 4)["per_piece"].count(".") == 1
    assert len(answer(run, *BATCH, "--digits", 4, "--rounding", "half-even")["per_piece"].split(".")[1]) == 4
    code, out, _ = run(*BATCH, "--price", "0.50 EUR")
    assert code == 0
    assert "Caution: This price does not pay" in out


def test_by_dough(run: Run, tmp_path: Path) -> None:
    prices = tmp_path / "prices.toml"
    rows = ("bread flour", "whole wheat flour", "salt", "fresh yeast", "honey", "spelt flour")
    prices.write_text("[ingredients]\nwater = 'free'\n" + "".join(f"'{name}' = '1 EUR/kg'\n" for name in rows))
    spelt = HARBOUR / "breads" / "breakwater-spelt.toml"
    code, out, _ = run(spelt, "--prices", prices, "--dough", "10 kg")
    assert code == 0
    assert "of bread:" in out
    assert "Caution: no energy and no labour" in out
    assert answer(run, spelt, "--prices", prices, "--dough", "10 kg")["per_piece"] is None


def test_a_day(run: Run) -> None:
    workshop = load_workshop(HARBOUR)
    plan = plan_day(*load_day(HARBOUR), workshop)
    found = price_day(plan, load_prices(PRICES))
    tables = answer(run, "--day", HARBOUR, "--prices", PRICES)
    assert tables["total"] == str(found.total.amount)
    assert tables["costs"] == {name: str(money.amount) for name, money in found.costs.items()}
    assert set(tables["breads"]) == set(found.breads)
    code, out, _ = run("--day", HARBOUR, "--prices", PRICES, "--working")
    assert code == 0
    assert "Harbour Bakery, Old Quay: cost" in out
    assert workshop is not None
    clocked = price_day(plan, load_prices(PRICES), timetable=timetable(plan, workshop))
    assert answer(run, "--day", HARBOUR, "--prices", PRICES, "--clock")["total"] == str(clocked.total.amount)


def test_a_day_without_a_clock(run: Run, tmp_path: Path) -> None:
    for name in ("bakery.toml", "orders.toml"):
        copy(HARBOUR / name, tmp_path)
    copytree(HARBOUR / "breads", tmp_path / "breads")
    assert run("--day", tmp_path, "--prices", PRICES)[0] == 0
    code, _, err = run("--day", tmp_path, "--prices", PRICES, "--clock")
    assert code == 1
    assert "workshop.toml: got no such file" in err


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--prices", PRICES), "say a formula FILE, or --day"),
        ((ROUND, "--day", HARBOUR, "--prices", PRICES), "say a formula FILE, or --day"),
        (("--day", HARBOUR, "--prices", PRICES, "--load-pieces", 3), "does not go with --load-pieces"),
        ((*BATCH, "--margin", "3 %", "--price", "1 EUR"), "say one of --margin and --price"),
        ((*BATCH, "--fixed", "300 EUR"), "--fixed goes with"),
        ((*BATCH, "--clock"), "--clock goes with --day"),
        ((ROUND,), "Missing option '--prices'"),
    ],
)
def test_wrong_usage(run: Run, arguments: tuple[object, ...], message: str) -> None:
    code, _, err = run(*arguments)
    assert code == 2
    assert message in err


def test_bad_input(run: Run) -> None:
    code, _, err = run(*BATCH, "--margin", "100 %")
    assert code == 1
    assert "a share below 100 %" in err
    assert run(ROUND, "--prices", ROUND, "--pieces", 3, "--baked", "800 g")[0] == 1
