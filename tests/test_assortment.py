"""Many formulas at once give what each gives alone, as a value that shows its working and fits into a data frame."""

import copy
import pickle
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pint
import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formula import (
    Assortment,
    AssortmentCosts,
    Catalogue,
    Formula,
    FormulaError,
    Ingredient,
    Stage,
    UnknownNameError,
    load,
    load_prices,
    price,
)
from formula.prices import Prices
from tests.arithmetic import check_working
from tests.laws.strategies import masses_g, percents
from tests.rarely import rarely

HARBOUR = Path(__file__).parents[1] / "docs" / "examples" / "harbour"
BREADS = [load(path) for path in sorted((HARBOUR / "breads").glob("*.toml"))]
PRICES = load_prices(HARBOUR / "prices.toml")

LINES = ("water", "salt", "fresh yeast", "sugar", "butter", "milk", "sesame seed")
"""Beside the flours."""


@st.composite
def formulas(draw: st.DrawFn) -> list[Formula]:
    """Draw some formulas of one or two flours and some of the other lines, some with a poolish."""
    found = []
    for number in range(draw(st.integers(1, 6))):
        rye = draw(st.sampled_from([0, 20, 45.5, 100]))
        flours = {name: share for name, share in (("whole rye flour", rye), ("bread flour", 100 - rye)) if share}
        others = draw(st.dictionaries(st.sampled_from(LINES), percents, max_size=len(LINES)))
        stages = []
        if others.get("water", 0) >= 30 and "bread flour" in flours and draw(st.booleans()):
            stages = [Stage("poolish", {"bread flour": 100, "water": 100}, flour="20 %")]
        found.append(Formula.from_percents(f"bread {number}", {**flours, **others}, stages=stages))
    return found


PRICE_LIST = Prices(
    {
        "bread flour": "18.50 EUR/25 kg",
        "whole rye flour": "0.95 EUR/kg",
        "water": "0.004 EUR/L",
        "salt": "0.40 EUR/kg",
        "fresh yeast": "2.50 EUR/kg",
        "sugar": "free",
        "butter": "6.20 EUR/kg",
        "milk": "1.10 EUR/L",
        "sesame seed": "3.30 EUR/500 g",
    }
)


class TestOneByOne:
    """Scaling and pricing all at once is scaling and pricing one by one, to a part in 10^12."""

    @rarely(0.4)
    @given(formulas(), st.data())
    def test_scaling(self, breads: list[Formula], data: st.DataObject) -> None:
        table = Assortment.of(breads)
        weights = data.draw(st.lists(masses_g, min_size=len(breads), max_size=len(breads)))
        by_dough, by_flour = table.scale(dough_g=weights), table.scale(flour_g=weights)
        sums: dict[str, float] = {}
        for bread, grams in zip(breads, weights, strict=True):
            batch = bread.scale(dough=f"{grams!r} g")
            wanted = {bread.catalogue.find(row.name).name: row.mass_g for row in batch.rows}
            assert by_dough.masses_of(bread.name) == pytest.approx(wanted, rel=1e-12)
            for name, mass_g in wanted.items():
                sums[name] = sums.get(name, 0.0) + mass_g
            rows = {bread.catalogue.find(row.name).name: row.mass_g for row in bread.scale(flour=f"{grams!r} g").rows}
            assert by_flour.masses_of(bread.name) == pytest.approx(rows, rel=1e-12)
        assert dict(by_dough.totals_g) == pytest.approx(sums, rel=1e-12)
        assert by_dough.doughs_g().tolist() == pytest.approx(weights, rel=1e-12)

    @rarely(0.4)
    @given(formulas())
    def test_pricing(self, breads: list[Formula]) -> None:
        found = Assortment.of(breads).price(PRICE_LIST)
        for bread, each in zip(breads, found.costs_per_kg().tolist(), strict=True):
            assert each == pytest.approx(float(price(bread.scale(dough="1 kg"), PRICE_LIST).exact), rel=1e-12)
            assert found.per_kg(bread.name) == each

    @rarely(0.4)
    @given(formulas())
    def test_the_working_ends_in_the_answer(self, breads: list[Formula]) -> None:
        table = Assortment.of(breads)
        masses, costs = table.scale(flour_g=[1000.0] * len(breads)), table.price(PRICE_LIST)
        for number, bread in enumerate(breads):
            check_working(masses.working_of(bread.name), masses.doughs_g()[number].item())
            check_working(costs.working_of(bread.name), costs.per_kg(bread.name))


@pytest.mark.parametrize("bread", BREADS, ids=lambda bread: bread.name)
def test_the_breads_of_the_harbour(bread: Formula) -> None:
    table = Assortment.of(BREADS)
    batch = bread.scale(pieces=100, baked="800 g")
    masses = table.scale(dough_g={bread.name: batch.dough_g})
    wanted = {bread.catalogue.find(row.name).name: row.mass_g for row in batch.rows}
    assert masses.masses_of(bread.name) == pytest.approx(wanted, rel=1e-12)
    # The others are not made, so all that is to be had ready is of this one.
    assert {name: grams for name, grams in masses.totals_g.items() if grams} == pytest.approx(
        {name: grams for name, grams in wanted.items() if grams}, rel=1e-12
    )
    dough = sum(line.exact for line in price(batch, PRICES).lines if line.kind == "dough")
    found = table.price(PRICES)
    assert found.per_kg(bread.name) == pytest.approx(1000 * float(dough) / batch.dough_g, rel=1e-12)


def test_the_matrix_holds_every_percentage_once() -> None:
    table = Assortment.of(BREADS)
    matrix = table.matrix()
    assert matrix.shape == (len(table.ingredients), len(BREADS))
    for number, bread in enumerate(BREADS):
        named = {bread.catalogue.find(line).name: percent for line, percent in bread.percents.items()}
        column = dict(zip(table.ingredients, matrix[:, number].tolist(), strict=True))
        assert {name: percent for name, percent in column.items() if percent} == {n: p for n, p in named.items() if p}
    flours_g = np.arange(1.0, len(BREADS) + 1)
    found = table.scale(flour_g=flours_g).totals_g
    np.testing.assert_allclose(list(found.values()), matrix @ flours_g / 100, rtol=1e-12)


class TestColumns:
    """What is answered goes into a data frame or an Arrow table as it is."""

    def test_pandas(self) -> None:
        table = Assortment.of(BREADS)
        masses = table.scale(flour_g=[1000.0] * len(BREADS))
        frame = pd.DataFrame(masses.columns())
        assert list(frame.columns) == ["formula", "ingredient", "percent", "mass_g"]
        assert len(frame) == sum(len(bread.percents) for bread in BREADS)
        sums = frame.groupby("ingredient")["mass_g"].sum().to_dict()
        assert sums == pytest.approx(dict(masses.totals_g), rel=1e-12)
        totals = pd.DataFrame(masses.total_columns())
        assert dict(zip(totals["ingredient"], totals["mass_g"], strict=True)) == dict(masses.totals_g)

    def test_arrow(self) -> None:
        table = Assortment.of(BREADS)
        arrow = pa.table(table.price(PRICES).columns())
        assert arrow.column_names == ["formula", "cost_per_kg", "currency"]
        assert [str(kind) for kind in arrow.schema.types] == ["string", "double", "string"]
        assert arrow.column("cost_per_kg").to_pylist() == table.price(PRICES).costs_per_kg().tolist()
        assert pa.table(table.columns()).num_rows == sum(len(bread.percents) for bread in BREADS)

    def test_a_column_cannot_be_written_to(self) -> None:
        table = Assortment.of(BREADS)
        masses, costs = table.scale(flour_g=[1.0] * len(BREADS)), table.price(PRICES)
        columns = [table.columns(), masses.columns(), masses.total_columns(), costs.columns()]
        arrays = [each for found in columns for each in found.values() if isinstance(each, np.ndarray)]
        for array in [*arrays, table.matrix(), table.total_percents(), masses.doughs_g()]:
            with pytest.raises(ValueError, match="read-only"):
                array[0] = 1.0


class TestValues:
    """An assortment and what it answers with are values."""

    def test_equal_and_alike(self) -> None:
        one, other = Assortment.of(BREADS), Assortment.of(copy.deepcopy(BREADS))
        weights = [1000.0] * len(BREADS)
        pairs: list[tuple[Any, Any]] = [
            (one, other),
            (one.scale(flour_g=weights), other.scale(flour_g=np.array(weights))),
            (one.price(PRICES), other.price(PRICES)),
        ]
        for left, right in pairs:
            assert left == right
            assert hash(left) == hash(right)
            again = pickle.loads(pickle.dumps(left))  # noqa: S301 - our own bytes
            assert again == left
            assert hash(again) == hash(left)
        assert one != Assortment.of(BREADS[1:])
        assert one.scale(flour_g=weights) != one.scale(dough_g=weights)

    def test_its_text_stays_short(self) -> None:
        breads = [Formula.from_percents(f"b{number}", {"bread flour": 100}) for number in range(2)]
        assert "Packed(2 numbers)" in repr(Assortment.of(breads))


class TestRefusals:
    """What cannot be laid out, scaled or priced is refused by name."""

    def test_no_formula(self) -> None:
        with pytest.raises(FormulaError, match="formulas: got none"):
            Assortment.of([])

    def test_no_formulas_but_texts(self) -> None:
        with pytest.raises(FormulaError, match=r"formulas\[1\]: got 'Loaf', expected a Formula"):
            Assortment.of([BREADS[0], "Loaf"])  # type: ignore[list-item]

    def test_an_id_twice(self) -> None:
        with pytest.raises(FormulaError, match=r"2 times, expected each once; give ids="):
            Assortment.of([BREADS[0], BREADS[0]])
        assert Assortment.of([BREADS[0], BREADS[0]], ids=["a", "b"]).ids == ("a", "b")

    def test_too_few_ids(self) -> None:
        with pytest.raises(FormulaError, match="ids: got 1 ids, expected one for each of the 2 formulas"):
            Assortment.of(BREADS[:2], ids=["a"])

    def test_one_name_for_two_ingredients(self) -> None:
        def mixed(name: str, water_g: float) -> Formula:
            larder = Catalogue().adding(Ingredient("harbour mix", kind="flour", water_g=water_g))
            return Formula.from_percents(name, {"harbour mix": 100, "water": 70}, catalogue=larder)

        with pytest.raises(FormulaError, match="'harbour mix': got another ingredient of that name in B"):
            Assortment.of([mixed("A", 13.0), mixed("B", 14.0)])
        assert Assortment.of([mixed("A", 13.0), mixed("B", 13.0)]).ingredients == ("harbour mix", "water")

    @pytest.mark.parametrize(
        ("weights", "message"),
        [
            ([1.0], "weights of the shape"),
            ([1.0] * 9 + [-1.0], r"dough_g: .*: got -1.0, expected a weight in g"),
            ([float("nan")] * 10, "got nan and 9 more such"),
            (["93 kg"] * 10, "expected numbers, in grams; write 93000, not '93 kg'"),
            ([[1.0], [1.0, 2.0]], "expected numbers, in grams"),
            ([True] * 10, "expected numbers, in grams"),
            ({"Quay Round": "93 kg"}, "expected numbers, in grams"),
        ],
    )
    def test_weights(self, weights: Any, message: str) -> None:  # noqa: ANN401
        with pytest.raises(FormulaError, match=message):
            Assortment.of(BREADS).scale(dough_g=weights)

    def test_a_quantity(self) -> None:
        registry: Any = pint.UnitRegistry()
        with pytest.raises(FormulaError, match=r'write quantity.m_as\("g"\)'):
            Assortment.of(BREADS).scale(dough_g=registry.Quantity(np.ones(len(BREADS)), "kg"))

    def test_neither_or_both(self) -> None:
        with pytest.raises(FormulaError, match="scale: got neither"):
            Assortment.of(BREADS).scale()
        with pytest.raises(FormulaError, match="scale: got both"):
            Assortment.of(BREADS).scale(dough_g=[1.0], flour_g=[1.0])

    def test_an_unknown_formula(self) -> None:
        table = Assortment.of(BREADS)
        calls = (
            lambda: table.scale(dough_g={"Quay": 1.0}),
            lambda: table.scale(dough_g=[1.0] * len(BREADS)).masses_of("Quay"),
            lambda: table.price(PRICES).per_kg("Quay"),
            lambda: table.price(PRICES).working_of("Quay"),
        )
        for call in calls:
            with pytest.raises(UnknownNameError, match="'Quay', expected one of the 10 here"):
                call()

    def test_every_price_that_is_missing(self) -> None:
        with pytest.raises(FormulaError) as refused:
            Assortment.of([BREADS[0]]).price({"salt": "0.40 EUR/kg"})
        missing = {fault.where for fault in refused.value.faults}
        names = {BREADS[0].catalogue.find(line).name for line in BREADS[0].percents}
        assert missing == {f"prices: {name}" for name in names - {"salt"}}


def test_what_is_in_no_dough_needs_no_price() -> None:
    loaf = Formula.from_percents("Loaf", {"bread flour": 100, "water": 70, "saffron": 0}, catalogue=Catalogue().adding(Ingredient("saffron", kind="other")))  # fmt: skip
    found = Assortment.of([loaf]).price({"bread flour": "1.70 EUR/kg", "water": "free"})
    assert isinstance(found, AssortmentCosts)
    assert found.per_kg("Loaf") == pytest.approx(1.0, rel=1e-12)
