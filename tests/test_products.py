"""Several products from one dough: what each gets, what is over, and what happens where it does not suffice."""

import copy
import pickle
from collections.abc import Callable
from typing import Any

import pytest

from formula.errors import FormulaError
from formula.products import Product, divide_among
from tests.arithmetic import check_working

LARGE = Product("large", pieces=30, piece="920 g")
SMALL = Product("small", pieces=40, piece="460 g")


def counts(*args: Any, **options: Any) -> dict[str, int]:  # noqa: ANN401 - what divide_among takes
    return {product.name: product.pieces for product in divide_among(*args, **options).products}


def told(make: Callable[[], object]) -> str:
    with pytest.raises(FormulaError) as caught:
        make()
    return str(caught.value)


def test_each_gets_its_pieces_and_the_rest_is_over() -> None:
    made = divide_among("48 kg", [LARGE, SMALL])
    # 30 x 920 + 40 x 460 = 46,000 g.
    assert [(each.name, each.pieces, each.piece_g) for each in made.products] == [
        ("large", 30, 920),
        ("small", 40, 460),
    ]
    assert (made.remainder_g, made.pieces) == (2000.0, 70)
    assert [caution.code for caution in made.cautions] == ["remainder"]
    assert divide_among("46 kg", [LARGE, SMALL]).cautions == ()


def test_one_product_takes_what_is_over() -> None:
    made = divide_among("48 kg", [LARGE, SMALL], fill="small")
    # 2,000 g are 4 more of 460 g and 160 g.
    assert [each.pieces for each in made.products] == [30, 44]
    assert made.remainder_g == 160.0
    assert counts("48 kg", [LARGE, SMALL], fill="large") == {"large": 32, "small": 40}


def test_the_step_of_the_scale() -> None:
    made = divide_among("46 kg", [LARGE, Product("small", pieces=30, piece="458 g")], step="5 g")
    assert made.products[1].piece_g == 460.0
    assert made.products[1].asked_g == 458.0
    down = divide_among("46 kg", [LARGE, Product("small", pieces=30, piece="458 g")], step="5 g", rounding="down")
    assert down.products[1].piece_g == 455.0
    assert [caution.code for caution in down.cautions] == ["scaled-short", "remainder"]
    assert "small is scaled 3 g lighter" in down.cautions[0].text


def test_too_little_is_refused_by_name() -> None:
    message = told(lambda: divide_among("30 kg", [LARGE, SMALL]))
    # 27,600 g go into the large ones, 2,400 g into 5 small ones; 46,000 - 30,000 g are short.
    assert message.startswith(
        "small: got dough for 5 of 40 pieces, 35 short, expected dough for every piece; mix 16000 g"
    )
    both = told(lambda: divide_among("10 kg", [LARGE, SMALL]))
    assert "large: got dough for 10 of 30 pieces, 20 short" in both
    assert "small: got dough for 1 of 40 pieces, 39 short" in both


def test_in_order_the_first_are_served_first() -> None:
    assert counts("30 kg", [LARGE, SMALL], short="in order") == {"large": 30, "small": 5}
    assert counts("30 kg", [SMALL, LARGE], short="in order") == {"small": 40, "large": 12}
    # 10,000 g are 10 large ones and 800 g, which is still one small one.
    made = divide_among("10 kg", [LARGE, SMALL], short="in order")
    assert [each.pieces for each in made.products] == [10, 1]
    assert made.remainder_g == 340.0
    assert [caution.code for caution in made.cautions] == ["short-of-dough", "short-of-dough", "remainder"]


def test_by_share_everybody_gets_the_same_part() -> None:
    # 30 / 46 of 30 is 19.57 and of 40 is 26.09: 19 and 26 leave 560 g, which is not a large one but a small one.
    assert counts("30 kg", [LARGE, SMALL], short="share") == {"large": 19, "small": 27}
    assert counts("23 kg", [LARGE, SMALL], short="share") == {"large": 15, "small": 20}
    assert counts("46 kg", [LARGE, SMALL], short="share") == {"large": 30, "small": 40}
    assert counts("900 kg", [LARGE, SMALL], short="share") == {"large": 30, "small": 40}


def test_ounces_that_do_not_fit_twelve_digits() -> None:
    products = [Product("a", pieces=2, piece="21.5 oz"), Product("b", pieces=1, piece="21.5 oz")]
    made = divide_among("64.5 oz", products)
    assert ([each.pieces for each in made.products], made.remainder_g) == ([2, 1], 0.0)
    check_working(made.working(), 3.0)


@pytest.mark.parametrize("short", ["in order", "share"])
def test_working(short: Any) -> None:  # noqa: ANN401
    made = divide_among("30 kg", [LARGE, SMALL], short=short)
    check_working(made.working(), float(made.pieces))


def test_views_and_values() -> None:
    made = divide_among("48 kg", [LARGE, SMALL])
    assert [view.m_as("kg") for view in (made.dough, made.remainder)] == [48.0, 2.0]
    first = made.products[0]
    assert [view.m_as("g") for view in (first.asked, first.piece, first.mass)] == [920.0, 920.0, 27_600.0]
    assert [view.m_as("g") for view in (LARGE.piece, LARGE.needed)] == [920.0, 27_600.0]
    assert hash(made) == hash(divide_among("48000 g", [LARGE, SMALL]))
    assert pickle.loads(pickle.dumps(made)) == copy.deepcopy(made) == made  # noqa: S301 - our own bytes


def test_refusals() -> None:
    message = told(lambda: Product("", pieces=0, piece="920"))
    assert message.count("\n  - ") == 3
    bad: Any = [LARGE, LARGE, "small"]
    message = told(lambda: divide_among("0 g", bad, step="0 g", rounding="sideways", short="sometimes", fill="none"))  # type: ignore[arg-type]
    for part in (
        "dough: got 0 g, expected a mass above zero",
        "step: got 0 g",
        "rounding: got 'sideways', expected one of 'up', 'down', 'nearest'",
        "short: got 'sometimes'",
        "products: got 'large' twice",
        "products: got 'small', expected a Product",
        "fill: got 'none', expected one of the products: large",
    ):
        assert part in message
    assert "products: got none" in told(lambda: divide_among("1 kg", []))
    tiny = Product("tiny", pieces=1, piece="2 g")
    assert "tiny: got 2 g, which rounds to nothing" in told(
        lambda: divide_among("1 kg", [tiny], step="5 g", rounding="down")
    )
