"""Orders changed at night: what the stages that stand carry, and what to do else."""

import copy
import json
import pickle
from typing import Any

import pytest
from attrs import evolve

from formula.errors import FormulaError
from formula.evening import StageBuilds, stage_builds
from formula.losses import Losses
from formula.nightorders import ChangedOrders, changed_orders
from formula.orders import Order
from formula.process import Wait
from formula.stage import Stage
from tests.arithmetic import check_working
from tests.evenings import OVERALL, POOLISH, WAIT, bread, poolish, process, table

LOAF, STICK = bread("Loaf", poolish()), bread("Stick", poolish(flour="20 %"))
WAYS = {"Loaf": process(), "Stick": process()}
# Of the dough: 60.03 of 172.8 parts in the loaf, 40.02 in the stick.
LOAF_SHARE, STICK_SHARE = 60.03 / 172.8, 40.02 / 172.8


def orders(loaf: int, stick: int = 0, **more: Any) -> list[Order]:  # noqa: ANN401 - what an order takes
    """Loaves of 1 kg and sticks of 500 g."""
    both = [Order(LOAF, pieces=loaf, baked="1 kg", due="06:00", **more)] if loaf else []
    return both + ([Order(STICK, pieces=stick, baked="500 g", due="06:00")] if stick else [])


def tonight(loaf: int = 60, stick: int = 60, loss: str = "0 %") -> StageBuilds:
    return stage_builds(table(orders(loaf, stick), WAYS), stage_loss=loss)


def changed(builds: StageBuilds, new: list[Order], **more: Any) -> ChangedOrders:  # noqa: ANN401 - what it takes
    """Hold new orders against the builds, and check what must be true of every answer."""
    found = changed_orders(builds, new, **more)
    check_working(found.working(), found.carried_share)
    for stage in found.stages:
        check_working(stage.working(), stage.short_g or stage.left_over_g)
        assert stage.usable_g + stage.short_g == pytest.approx(stage.needed_g + stage.surplus_g)
    for each in found.breads:
        check_working(each.working(), float(each.most))
    for stretch in found.stretches.values():
        check_working(stretch.working(), stretch.new_time_h)
    assert pickle.loads(pickle.dumps(found)) == found == copy.deepcopy(found)  # noqa: S301 - our own bytes
    assert json.loads(json.dumps(found.to_tables()))["carried_share"] == found.carried_share
    return found


class TestWhatIsCarried:
    def test_the_same_orders(self) -> None:
        found = changed(tonight(), orders(60, 60))
        assert found.are_carried
        assert found.carried_share == 1
        assert [(each.bread, each.most, each.is_carried) for each in found.breads] == [
            ("Loaf", 60, True),
            ("Stick", 60, True),
        ]
        assert not found.stretches
        assert found.cautions == ()

    def test_more_loaves(self) -> None:
        # 60 loaves and 60 sticks stand: 20.84 kg and 6.95 kg. 80 loaves take 27.79 kg and leave nothing for sticks.
        found = changed(tonight(), orders(80, 60))
        (stage,) = found.stages
        assert stage.standing_g == pytest.approx(60_000 * LOAF_SHARE + 30_000 * STICK_SHARE, abs=2)
        assert stage.short_g == pytest.approx(20_000 * LOAF_SHARE, abs=3)
        loaf, stick = found.breads
        # Beside 60 sticks there is enough for 60 loaves, beside 80 loaves for no stick.
        assert (loaf.most, loaf.is_carried, stick.most, stick.is_carried) == (60, False, 0, False)
        assert found.carried_share == pytest.approx(stage.usable_g / stage.needed_g)
        assert not found.are_carried
        assert stage.standing.m_as("kg") == pytest.approx(27.79, abs=0.01)

    def test_fewer_sticks_make_room_for_loaves(self) -> None:
        found = changed(tonight(), orders(60, 45))
        loaf, stick = found.breads
        # The 7.5 kg of dough less in sticks hold 1.737 kg of poolish, five loaves take 1.737 kg: as much to the gram.
        assert loaf.most in (64, 65)
        assert stick.most == 60
        assert found.are_carried

    def test_rejects_and_spares(self) -> None:
        (loaf,) = changed(tonight(100, 0), orders(80, reject="10 %", spares=5)).breads
        # 100 pieces of which 90 are good, 5 of them spare.
        assert (loaf.most, loaf.most_ordered) == (100, 85)
        # Nobody can order less than nothing.
        assert evolve(loaf, spares=200).most_ordered == 0
        # 85 pieces to bake with 10 % of rejects: (80 + 5) / 0.9.
        assert loaf.pieces == 95

    def test_losses_of_the_order_itself(self) -> None:
        # A tenth of the dough is lost before the divider: a loaf of 1 kg takes the poolish of 1111 g.
        lossy = [Order(LOAF, pieces=50, baked="1 kg", due="06:00", losses=Losses(handling="10 %"))]
        (loaf,) = changed(tonight(100, 0), lossy).breads
        assert loaf.parts[0][3] == pytest.approx(1000 / 0.9 * LOAF_SHARE)
        assert loaf.most == 90

    def test_a_bread_that_nobody_built_for(self) -> None:
        other = bread("Rye", Stage("rye sour", {**POOLISH, "water": 90}, flour="20 %"))
        builds = stage_builds(table(orders(60), {**WAYS, "Rye": process(stages={"rye sour": WAIT})}))
        found = changed(builds, [*orders(60), Order(other, pieces=10, baked="1 kg")])
        rye = found.stage("rye sour")
        assert rye is not None
        assert (rye.standing_g, found.breads[1].most, found.carried_share) == (0, 0, 0)
        assert {caution.code for caution in found.cautions} == {"not-ripe", "nothing-stands"}
        assert found.stage("biga") is None

    def test_a_stage_of_the_same_name_that_is_another(self) -> None:
        other = bread("Wet", poolish(water=120.0))
        builds = stage_builds(table(orders(60), {**WAYS, "Wet": process()}))
        found = changed(builds, [*orders(60), Order(other, pieces=10, baked="1 kg")])
        assert [stage.name for stage in found.stages] == ["poolish", "poolish of Wet"]

    def test_a_bread_that_is_no_longer_ordered(self) -> None:
        found = changed(tonight(), orders(60))
        assert [each.bread for each in found.breads] == ["Loaf"]
        # The poolish of 30 kg of sticks would do for 20 loaves.
        assert found.breads[0].most in (79, 80)


class TestWhatStands:
    def test_weighed_at_night(self) -> None:
        found = changed(tonight(loss="2 %"), orders(60, 60), standing={"poolish": "20 kg"})
        (stage,) = found.stages
        assert stage.usable_g == pytest.approx(19_600)
        assert stage.short_g == pytest.approx(stage.needed_g - 19_600)

    def test_the_seed_is_kept(self) -> None:
        levain = Stage("levain", {"bread flour": 100, "water": 100, "culture": 20}, flour="20 %", culture="returned")
        sour = bread("Sour", levain, overall={"bread flour": 100, "water": 70, "salt": 2})
        way = {"Sour": process(stages={"levain": WAIT})}
        order = [Order(sour, pieces=50, baked="1 kg", due="06:00")]
        builds = stage_builds(table(order, way))
        (stage,) = changed(builds, order).stages
        assert stage.usable_g == pytest.approx(stage.standing_g - builds.builds[0].seed_g)
        # Less than the seed: nothing for the dough.
        (none,) = changed(builds, order, standing={"levain": "1 kg"}).stages
        assert none.usable_g == 0

    def test_what_has_gone_into_another_stage_is_not_there(self) -> None:
        inner = Stage("poolish", POOLISH, flour="10 %")
        outer = Stage("sponge", {"bread flour": 100, "water": 60, "poolish": 50}, flour="20 %")
        nested = bread("Nested", inner, outer)
        way = {"Nested": process(stages={"poolish": WAIT, "sponge": Wait("4 h", earliest="3 h", latest="5 h")})}
        order = [Order(nested, pieces=50, baked="1 kg", due="12:00")]
        found = changed(stage_builds(table(order, way)), order)
        stage = found.stage("poolish")
        assert stage is not None
        assert stage.inner_g > 0
        assert found.are_carried
        # Weighed at night it no longer holds what went into the sponge.
        stands = {"poolish": f"{stage.usable_g} g"}
        weighed = changed(stage_builds(table(order, way)), order, standing=stands).stage("poolish")
        assert weighed is not None
        assert weighed.usable_g == pytest.approx(stage.usable_g)

    def test_stages_in_stages_that_nobody_built(self) -> None:
        inner = Stage("old sour", {"bread flour": 100, "water": 80, "culture": 10}, culture="returned")
        outer = Stage("sponge", {"bread flour": 100, "water": 60, "old sour": 50}, flour="20 %")
        nested = bread("Nested", inner, outer)
        way = {"old sour": WAIT, "sponge": Wait("4 h", earliest="3 h", latest="5 h")}
        builds = stage_builds(table(orders(60), {**WAYS, "Nested": process(stages=way)}))
        found = changed(builds, [Order(nested, pieces=10, baked="1 kg", due="06:00")])
        assert [stage.name for stage in found.stages] == ["poolish", "sponge"]
        assert found.breads[0].most == 0

    def test_mixes_at_another_hour(self) -> None:
        late = [Order(LOAF, pieces=60, baked="1 kg", due="20:00")]
        found = changed(tonight(), late)
        (caution,) = (each for each in found.cautions if each.code == "not-ripe")
        assert caution.text.startswith("Loaf: no poolish that stands is ripe, and not over, for mix 1 at ")


class TestSurplus:
    def test_old_dough_up_to_a_limit(self) -> None:
        (stage,) = changed(tonight(100, 0), orders(90), hold={"poolish": "2 kg"}).stages
        assert stage.surplus_g == pytest.approx(10_000 * LOAF_SHARE, abs=3)
        assert stage.held_g == 2000
        assert stage.left_over_g == pytest.approx(stage.surplus_g - 2000)
        found = changed(tonight(100, 0), orders(90), hold={"poolish": "5 kg"})
        assert found.stages[0].left_over_g == 0
        assert [caution.code for caution in found.cautions] == ["old-dough"]

    def test_all_of_it_in_a_smaller_final_dough(self) -> None:
        found = changed(tonight(100, 0), orders(80))
        made = found.stretches["Loaf"]
        # What was for 100 pieces goes into 80: 30 % of pre-fermented flour becomes 37.5 %.
        assert made.percent == pytest.approx(37.5, abs=0.01)
        assert made.more_percent < 0
        assert made.new_time_h < made.time_h


class TestStretching:
    def test_over_all_that_take_it(self) -> None:
        found = changed(tonight(60, 60), orders(72, 72))
        assert {name: round(each.percent, 2) for name, each in found.stretches.items()} == {
            "Loaf": 25.0,
            "Stick": 16.67,
        }
        # Two hours of bulk and proof in this process.
        assert {each.time_h for each in found.stretches.values()} == {2.0}
        replanned = [
            Order(each.formula, pieces=72, baked=baked)
            for each, baked in zip(found.stretches.values(), ("1 kg", "500 g"), strict=True)
        ]
        again = stage_builds(table(replanned, WAYS))
        assert again.builds[0].used_g == pytest.approx(found.stages[0].usable_g, abs=5)

    def test_by_the_preferment_that_is_shortest(self) -> None:
        two = bread("Two", poolish(), Stage("biga", {"bread flour": 100, "water": 55}, flour="20 %"))
        way = {"Two": process(stages={"poolish": WAIT, "biga": WAIT})}
        builds = stage_builds(table([Order(two, pieces=50, baked="1 kg", due="06:00")], way))
        masses = {build.name: build.mass_g for build in builds.builds}
        stands = {"poolish": f"{0.9 * masses['poolish']} g", "biga": f"{0.8 * masses['biga']} g"}
        found = changed(builds, [Order(two, pieces=50, baked="1 kg", due="06:00")], standing=stands)
        assert found.stretches["Two"].factor == pytest.approx(0.8, abs=1e-3)

    def test_a_soaker_cannot_be_stretched(self) -> None:
        soaker = Stage(
            "soaker", {"cracked rye": 100, "water": 100}, takes=("cracked rye", "100 %"), base=["cracked rye"]
        )
        seeded = bread("Seeded", soaker, overall={**OVERALL, "cracked rye": 10.0})
        way = {"Seeded": process(stages={"soaker": WAIT})}
        builds = stage_builds(table([Order(seeded, pieces=50, baked="1 kg", due="06:00")], way))
        found = changed(builds, [Order(seeded, pieces=60, baked="1 kg", due="06:00")])
        assert not found.stretches
        assert [caution.code for caution in found.cautions] == ["short-soaker"]
        assert found.breads[0].most == 50

    def test_what_cannot_be_reached_is_told(self) -> None:
        # Five times as much poolish as the dough takes is more than all its flour.
        found = changed(tonight(250, 0), orders(50))
        (caution,) = found.cautions
        assert caution.code == "cannot-stretch"
        assert not found.stretches

    def test_a_dough_as_warm_as_the_room(self) -> None:
        cool = bread("Cool", poolish())
        cool = type(cool).from_percents("Cool", dict(cool.percents), stages=cool.stages)
        builds = stage_builds(table([Order(cool, pieces=60, baked="1 kg", due="06:00")], {"Cool": process()}))
        found = changed(builds, [Order(cool, pieces=72, baked="1 kg", due="06:00")])
        assert found.stretches["Cool"].percent == pytest.approx(25, abs=0.01)


def test_what_is_refused() -> None:
    with pytest.raises(FormulaError) as caught:
        changed_orders(
            tonight(), orders(60), standing={"biga": "3 kg", "poolish": "3"}, hold={"sour": "1 kg"}, growth=2
        )
    assert sorted(fault.where for fault in caught.value.faults) == [
        "growth",
        "hold: sour",
        "standing: biga",
        "standing: poolish",
    ]


def test_a_plain_bread_takes_nothing() -> None:
    plain = bread("Plain")
    builds = stage_builds(table(orders(60), {**WAYS, "Plain": process(stages={})}))
    found = changed(builds, [Order(plain, pieces=10, baked="1 kg")])
    assert (found.breads, found.carried_share, found.are_carried) == ((), 1.0, True)
