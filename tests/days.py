"""What must be true of every day's plan, worked out anew from the orders and the bakery."""

import math
from collections.abc import Mapping
from fractions import Fraction

import pytest

from formula.bakery import Bakery
from formula.batch import Batch
from formula.breadplan import BreadPlan
from formula.day import DayPlan
from formula.formula import Formula
from formula.orders import Order

TINY = 1e-5
"""Grams that no scale shows."""


def step_of(bakery: Bakery, bread: Formula, line: str) -> float:
    own = {bread.catalogue.find(name).name: step for name, step in bakery.steps_g.items() if name in bread.catalogue}
    return own.get(bread.catalogue.find(line).name, bakery.steps_g["default"])


def made(order: Order) -> int:
    """Pieces to make, in exact fractions: (ordered + spares) / (1 - reject), rounded up."""
    return math.ceil((order.pieces + order.spares) / (1 - Fraction(repr(order.reject_share))))


def ingredients(batch: Batch) -> dict[str, float]:
    """All that is weighed out of bags and taps for one mix."""
    stages = {stage.name for stage in batch.formula.stages}
    sums: dict[str, float] = {}
    for stage in batch.stages.values():
        for row in stage.rows:
            if row.name not in stages:
                name = batch.formula.catalogue.find(row.name).name
                sums[name] = sums.get(name, 0.0) + row.mass_g
    return sums


def check_bread(plan: BreadPlan, bakery: Bakery) -> None:
    losses, coarsest = plan.bread.losses, max(bakery.steps_g.values())
    assert plan.pieces == sum(map(made, plan.orders))
    exact_g = plan.baked_g / losses.after_divider_left
    assert exact_g - TINY <= plan.piece_g < exact_g + bakery.divider_g + TINY
    assert plan.piece_g == pytest.approx(round(plan.piece_g / bakery.divider_g) * bakery.divider_g, abs=TINY)
    sizes = [mix.pieces for mix in plan.mixes for _ in range(mix.count)]
    assert sum(sizes) == plan.pieces
    assert max(sizes) - min(sizes) <= 1
    assert sizes == sorted(sizes, reverse=True)
    assert [mix.first for mix in plan.mixes] == [1, *(mix.last + 1 for mix in plan.mixes[:-1])]
    assert plan.mixes[-1].last == plan.mix_count == len(sizes)
    for mix in plan.mixes:
        needed_g = mix.pieces * plan.piece_g / losses.before_divider_left
        assert needed_g - TINY <= mix.batch.dough_g <= needed_g + coarsest + TINY
        assert mix.batch.dough_g <= plan.mixer.capacity_g + TINY
        check_sheet(mix.batch, bakery)
        pour = mix.pour
        assert (pour is None) == (plan.bread.dough_temperature_c is None)
        if pour is not None:
            assert pour.ice_g + pour.draw_g == pytest.approx(pour.water_g, abs=TINY)
            assert 0 <= pour.ice_g <= pour.water_g <= pour.liquid_g
            water_step = step_of(bakery, plan.bread, "water")
            assert pour.ice_g == pytest.approx(round(pour.ice_g / water_step) * water_step, abs=TINY)


def check_sheet(batch: Batch, bakery: Bakery) -> None:
    """Every line can be weighed, and all that is weighed less what leaves the stages is the dough."""
    stages = {stage.name for stage in batch.formula.stages}
    for stage in batch.stages.values():
        for row in stage.rows:
            assert row.mass_g >= 0
            if row.name not in stages:
                step = step_of(bakery, batch.formula, row.name)
                assert row.mass_g == pytest.approx(round(row.mass_g / step) * step, abs=TINY)
    gone = sum(stage.returned_g + stage.kept_g + stage.boiled_off_g for stage in batch.stages.values())
    assert sum(ingredients(batch).values()) - gone == pytest.approx(batch.dough_g, abs=TINY)


def check_day(plan: DayPlan, orders: tuple[Order, ...], bakery: Bakery) -> None:
    for bread in plan.breads:
        check_bread(bread, bakery)
    assert sorted(map(made, orders)) == sorted(made(order) for bread in plan.breads for order in bread.orders)
    assert plan.pieces == sum(map(made, orders))
    needed_g = sum(bread.pieces * bread.piece_g / bread.bread.losses.before_divider_left for bread in plan.breads)
    assert needed_g - TINY <= plan.dough_g <= needed_g + max(bakery.steps_g.values()) * plan.mix_count + TINY
    check_stores(plan)


def check_stores(plan: DayPlan) -> None:
    """What is to be had ready is the sum of every weigh sheet, and of the toppings."""
    sums: dict[str, float] = {}

    def add(lines: Mapping[str, float], times: int) -> None:
        for name, grams in lines.items():
            sums[name] = sums.get(name, 0.0) + times * grams

    for bread in plan.breads:
        for mix in bread.mixes:
            add(ingredients(mix.batch), mix.count)
        for name, grams in bread.bread.toppings_g.items():
            add({bread.bread.catalogue.find(name).name: grams}, bread.pieces)
    assert dict(plan.ingredients_g) == pytest.approx(sums, rel=1e-9, abs=TINY)
    amounts = list(plan.ingredients_g.values())
    assert amounts == sorted(amounts, reverse=True)


def check_doughs(plan: DayPlan, orders: tuple[Order, ...], bakery: Bakery) -> None:
    """What must be true of a day whose doughs are shared: every piece in a mix, every mix within limits, all dough accounted for."""
    coarsest = max(bakery.steps_g.values())
    assert sorted(map(made, orders)) == sorted(made(order) for bread in plan.breads for order in bread.orders)
    assert sorted(bread.name for dough in plan.doughs for bread in dough.breads) == sorted(b.name for b in plan.breads)
    assert plan.pieces == sum(map(made, orders))
    assert plan.dough_g == pytest.approx(sum(bread.dough_g for bread in plan.breads), rel=1e-12)
    for dough in plan.doughs:
        assert [mix.first for mix in dough.mixes] == [1, *(mix.last + 1 for mix in dough.mixes[:-1])]
        assert dough.mixes[-1].last == dough.mix_count == sum(mix.count for mix in dough.mixes)
        totals = [mix.pieces for mix in dough.mixes for _ in range(mix.count)]
        assert max(totals) - min(totals) <= 1
        for bread in dough.breads:
            sizes = [
                sum(portion.pieces for portion in mix.portions if portion.bread == bread.name)
                for mix in dough.mixes
                for _ in range(mix.count)
            ]
            assert sum(sizes) == bread.pieces == sum(map(made, bread.orders))
            assert max(sizes) - min(sizes) <= 1
            assert bread.mix_count == sum(size > 0 for size in sizes)
            exact_g = bread.baked_g / bread.losses.after_divider_left
            assert exact_g - TINY <= bread.piece_g < exact_g + bakery.divider_g + TINY
        for mix in dough.mixes:
            # Each bread has its own losses before the divider.
            needed_g = sum(
                bread.portion(mix).pieces * bread.piece_g / bread.losses.before_divider_left
                for bread in dough.breads
                if mix in bread.mixes
            )
            assert needed_g - TINY <= mix.batch.dough_g <= needed_g + coarsest + TINY
            assert mix.batch.dough_g <= dough.mixer.capacity_g + TINY
            check_sheet(mix.batch, bakery)
    sums: dict[str, float] = {}
    for dough in plan.doughs:
        for mix in dough.mixes:
            for name, grams in ingredients(mix.batch).items():
                sums[name] = sums.get(name, 0.0) + mix.count * grams
    for bread in plan.breads:
        for name, grams in bread.bread.toppings_g.items():
            topping = bread.bread.catalogue.find(name).name
            sums[topping] = sums.get(topping, 0.0) + bread.pieces * grams
    assert dict(plan.ingredients_g) == pytest.approx(sums, rel=1e-9, abs=TINY)
