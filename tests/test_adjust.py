"""Another hydration, salt or pre-fermented share, holding what the caller says to hold."""

from collections.abc import Mapping

import pytest

from formula import Culture, Formula, Losses, Stage, with_percent, with_prefermented
from formula.errors import ContradictionError, FormulaError, UnknownNameError
from formula.exchange import Exchange
from tests.arithmetic import check_working

BIGA = Stage("biga", {"bread flour": 100, "water": 50, "fresh yeast": 0.5}, flour="40 %")
LOAF = Formula.from_percents(
    "Loaf", {"bread flour": 100, "water": 65, "salt": 2, "fresh yeast": 1, "walnuts": 10}, stages=[BIGA]
)


def near(lines: Mapping[str, float]) -> dict[str, object]:
    return {line: pytest.approx(percent, rel=1e-12, abs=1e-12) for line, percent in lines.items()}


def column(formula: Formula, stage: str) -> dict[str, float]:
    """Return what is weighed into a stage, per 100 of all the flour."""
    found = next(each for each in formula.table.columns if each.name == stage)
    return dict(zip(found.lines, found.percents, strict=True))


def checked(exchange: Exchange) -> Formula:
    """Do the working's sums anew, and see that parts and whole agree; return the new formula."""
    check_working(exchange.working(), exchange.total_percent)
    made = exchange.formula
    assert sum(column(made, "final").values()) == pytest.approx(made.total_percent, rel=1e-12)
    assert sum(made.percents[line] for line in made.flours) == pytest.approx(100, rel=1e-12)
    again = Formula.from_percents(
        made.name, made.percents, stages=made.stages, flours=made.named_flours, catalogue=made.catalogue
    )
    assert again.percents == made.percents
    return made


# -- one line --------------------------------------------------------------------------------------------------------------


def test_stages_held() -> None:
    made = checked(with_percent(LOAF, "water", 70))
    assert made.percents == near({"bread flour": 100, "water": 70, "salt": 2, "fresh yeast": 1, "walnuts": 10})
    assert made.stages == LOAF.stages
    assert column(made, "final")["water"] == pytest.approx(50)


def test_proportions_held() -> None:
    made = checked(with_percent(LOAF, "water", 78, hold="proportions"))
    assert column(made, "biga") == near({"bread flour": 40, "water": 24, "fresh yeast": 0.2})
    assert column(made, "final")["water"] == pytest.approx(54)
    assert made.stages[0].percents == near({"bread flour": 100, "water": 60, "fresh yeast": 0.5})


def test_an_alias_means_the_line() -> None:
    assert checked(with_percent(LOAF, "tap water", 70)).percent("water") == 70
    aliased = Formula.from_percents(
        "x",
        {"bread flour": 100, "water": 60},
        stages=[Stage("s", {"strong flour": 100, "tap water": 60}, flour="50 %")],
    )
    made = checked(with_percent(aliased, "added water", 72, hold="proportions"))
    assert column(made, "s") == near({"strong flour": 50, "tap water": 36})


@pytest.mark.parametrize(
    "size",
    [{"flour": "40 %"}, {"weight": "60.2 %"}, {"weight_on_final": "100.3333333333 %"}, {"takes": ("water", "30 %")}],
)
def test_proportions_keep_the_flour_of_a_stage_however_its_size_is_said(size: dict[str, str]) -> None:
    stage = Stage("biga", {"bread flour": 100, "water": 50, "fresh yeast": 0.5}, **size)  # type: ignore[arg-type]
    loaf = Formula.from_percents("x", {"bread flour": 100, "water": 65, "fresh yeast": 1}, stages=[stage])
    made = checked(with_percent(loaf, "water", 78, hold="proportions"))
    before, after = column(loaf, "biga"), column(made, "biga")
    assert after["bread flour"] == pytest.approx(before["bread flour"], rel=1e-12)
    assert after["water"] == pytest.approx(1.2 * before["water"], rel=1e-12)


def test_proportions_reach_through_stages_in_stages() -> None:
    inner = Stage("starter", {"bread flour": 100, "water": 100})
    outer = Stage("levain", {"bread flour": 100, "water": 60, "starter": 40}, flour="20 %", keep=10)
    loaf = Formula.from_percents("x", {"bread flour": 100, "water": 65}, stages=[outer, inner])
    made = checked(with_percent(loaf, "water", 65 * 1.1, hold="proportions"))
    for stage in ("starter", "levain", "final"):
        before, after = column(loaf, stage), column(made, stage)
        if stage != "final":
            assert after["bread flour"] == pytest.approx(before["bread flour"], rel=1e-12)
            assert after["water"] == pytest.approx(1.1 * before["water"], rel=1e-12)
    assert made.table.columns[0].handed_on == pytest.approx(column(made, "levain")["starter"], rel=1e-12)


def test_proportions_of_a_line_that_a_stage_stands_on() -> None:
    """The seed becomes less, the soaker's water stays."""
    soaker = Stage("soaker", {"flaxseed": 100, "water": 300}, takes=("flaxseed", "100 %"), keep=0)
    loaf = Formula.from_percents("x", {"bread flour": 100, "water": 80, "flaxseed": 7}, stages=[soaker])
    made = checked(with_percent(loaf, "flaxseed", 5, hold="proportions"))
    assert column(made, "soaker") == near({"flaxseed": 5, "water": 21})
    assert made.stages[0].percents == near({"flaxseed": 100, "water": 420})
    assert made.stages[0].taken_percent == 100
    other = Stage("soaker", {"flaxseed": 60, "sesame": 40, "water": 300}, weight="40 %", keep=20, boiled_off=10)
    loaf = Formula.from_percents("x", {"bread flour": 100, "water": 80, "flaxseed": 9, "sesame": 7}, stages=[other])
    before = loaf.table.columns[0]
    made = checked(with_percent(loaf, "flaxseed", 4.5, hold="proportions"))
    after = made.table.columns[0]
    assert column(made, "soaker")["flaxseed"] == pytest.approx(column(loaf, "soaker")["flaxseed"] / 2, rel=1e-12)
    assert column(made, "soaker")["sesame"] == pytest.approx(column(loaf, "soaker")["sesame"], rel=1e-12)
    assert after.kept == pytest.approx(before.kept)
    assert after.boiled_off == pytest.approx(before.boiled_off)


def test_a_stage_sized_by_its_share_of_the_line_grows_with_it() -> None:
    soaker = Stage("soaker", {"flaxseed": 100, "water": 300}, takes=("flaxseed", "100 %"))
    loaf = Formula.from_percents("x", {"bread flour": 100, "water": 80, "flaxseed": 7}, stages=[soaker])
    made = checked(with_percent(loaf, "flaxseed", 5))
    assert made.stages == loaf.stages
    assert column(made, "soaker") == near({"flaxseed": 5, "water": 15})


def test_nothing_of_what_a_stage_stands_on() -> None:
    soaker = Stage("soaker", {"flaxseed": 100, "water": 300, "salt": 10}, weight="28 %")
    loaf = Formula.from_percents("x", {"bread flour": 100, "water": 80, "flaxseed": 7, "salt": 2}, stages=[soaker])
    with pytest.raises(FormulaError, match="stage soaker: got nothing left of flaxseed, which is its 100 %"):
        with_percent(loaf, "flaxseed", 0, hold="proportions")
    assert column(checked(with_percent(loaf, "salt", 0, hold="proportions")), "soaker")["salt"] == 0
    salted = Formula.from_percents(
        "x",
        {"bread flour": 100, "water": 80, "flaxseed": 7, "salt": 2},
        stages=[Stage("soaker", {"flaxseed": 100, "water": 300, "salt": 10}, takes=("salt", "35 %"))],
    )
    with pytest.raises(FormulaError, match="a size by its share of salt, of which there is nothing left"):
        with_percent(salted, "salt", 0, hold="proportions")


def test_stages_that_hold_more_than_the_new_percentage() -> None:
    with pytest.raises(
        ContradictionError, match="the biga uses 40 % of the flour at 50 % water: 20 % of water, but the"
    ):
        with_percent(LOAF, "water", 15)


def test_later_additions() -> None:
    loaf = Formula.from_percents(
        "x",
        {"bread flour": 100, "water": 70, "walnuts": 10},
        later={"water": 7, "walnuts": 10},
        losses=Losses(bake="12 %"),
        dough_temperature="25 °C",
        toppings={"sesame": "2 g"},
        reject="2 %",
    )
    held = checked(with_percent(loaf, "water", 80))
    assert held.later == {"water": 7, "walnuts": 10}
    scaled = checked(with_percent(loaf, "water", 80, hold="proportions"))
    assert scaled.later == near({"water": 8, "walnuts": 10})
    for made in (held, scaled):
        assert (made.losses, made.dough_temperature_c) == (loaf.losses, 25)
        assert (made.toppings_g, made.reject_share) == (loaf.toppings_g, 0.02)
    with pytest.raises(FormulaError, match="10 % of walnuts added later, expected at most the 8 % of it"):
        with_percent(loaf, "walnuts", 8)
    assert checked(with_percent(loaf, "walnuts", 8, hold="proportions")).later["walnuts"] == pytest.approx(8)


@pytest.mark.parametrize("percent", [-1, True, "70", float("nan"), float("inf"), None, 10**400])
def test_a_percentage_is_a_plain_number(percent: object) -> None:
    with pytest.raises(FormulaError, match="percent: got"):
        with_percent(LOAF, "water", percent)  # type: ignore[arg-type]
    with pytest.raises(FormulaError, match="percent: got"):
        with_prefermented(LOAF, percent)  # type: ignore[arg-type]


def test_every_bad_argument_is_told_at_once() -> None:
    with pytest.raises(FormulaError) as caught:
        with_percent(LOAF, "bread flour", -3, hold="everything")
    assert [fault.where for fault in caught.value.faults] == ["line", "hold", "percent"]
    with pytest.raises(UnknownNameError, match="one of its lines"):
        with_percent(LOAF, "honey", 3)
    loaf = Formula.from_percents("x", {"bread flour": 100, "water": 60, "salt": 0})
    with pytest.raises(FormulaError, match=r'a line of 0 %.*use hold="stages"'):
        with_percent(loaf, "salt", 2, hold="proportions")
    assert checked(with_percent(loaf, "salt", 2)).percent("salt") == 2
    straight = Formula.from_percents("x", {"bread flour": 100, "water": 60})
    with pytest.raises(FormulaError) as caught:
        with_prefermented(straight, 120, hold="everything")
    assert [fault.where for fault in caught.value.faults] == ["hold", "x", "percent"]


# -- pre-fermented flour ---------------------------------------------------------------------------------------------------


def test_overall_held() -> None:
    exchange = with_prefermented(LOAF, 20)
    made = checked(exchange)
    assert made.prefermented_flour == pytest.approx(20, rel=1e-12)
    assert made.percents == LOAF.percents
    assert column(made, "biga") == near({"bread flour": 20, "water": 10, "fresh yeast": 0.1})
    assert not exchange.changes


def test_final_held() -> None:
    exchange = with_prefermented(LOAF, 25, hold="final")
    made = checked(exchange)
    assert made.prefermented_flour == pytest.approx(25, rel=1e-12)
    final = {line: percent for line, percent in LOAF.final.items() if line != "biga"}
    assert {line: percent for line, percent in made.final.items() if line != "biga"} == near(final)
    # On the final dough's flour there are 25/75 instead of 40/60 of flour in the biga, at 150.5 % of it.
    assert made.final["biga"] == pytest.approx(100 * 25 / 75 * 1.505)
    assert exchange.steps[0].value == pytest.approx(0.5)


def test_the_share_that_is_there_changes_nothing() -> None:
    for hold in ("overall", "final"):
        made = checked(with_prefermented(LOAF, 40, hold=hold))
        assert made.percents == near(LOAF.percents)
        assert made.stages == LOAF.stages


MANY = Formula.from_percents(
    "Many",
    {"bread flour": 70, "whole wheat flour": 10, "rye": 20, "water": 80, "salt": 2, "flaxseed": 7, "fresh yeast": 1},
    stages=[
        Stage("poolish", {"bread flour": 100, "water": 100, "fresh yeast": 0.2}, flour="20 %"),
        Stage("rye sour", {"rye": 100, "water": 80, "culture": 10}, takes=("rye", "50 %"), culture="returned"),
        Stage(
            "levain",
            {"bread flour": 100, "water": 110, "starter": 20, "ripe culture": 20},
            weight="15 %",
            culture=Culture("split", {"bread flour": 100, "water": 125}),
            keep=15,
        ),
        Stage("starter", {"whole wheat flour": 100, "water": 100}, kind="preferment"),
        Stage("soaker", {"flaxseed": 100, "water": 200}, takes=("flaxseed", "100 %")),
        Stage("autolyse", {"bread flour": 100, "water": 55}, weight_on_final="40 %"),
    ],
)


@pytest.mark.parametrize("percent", [15.0, 30.0, 48.0])
def test_several_preferments_of_every_size_overall_held(percent: float) -> None:
    made = checked(with_prefermented(MANY, percent))
    factor = percent / MANY.prefermented_flour
    assert made.prefermented_flour == pytest.approx(percent, rel=1e-12)
    assert made.percents == near(MANY.percents)
    for stage in ("poolish", "rye sour", "levain", "starter"):
        assert column(made, stage) == near({line: factor * each for line, each in column(MANY, stage).items()})
    for stage in ("soaker", "autolyse"):
        assert column(made, stage) == near(column(MANY, stage))
    sizes = {stage.name: stage for stage in made.stages}
    assert sizes["rye sour"].taken_percent == pytest.approx(50 * factor)
    assert sizes["levain"].weight_percent == pytest.approx(15 * factor)
    assert not sizes["starter"].is_sized
    assert sizes["soaker"].taken_percent == 100
    assert sizes["autolyse"].weight_on_final_percent is not None


@pytest.mark.parametrize("percent", [15.0, 30.0, 60.0])
def test_several_preferments_of_every_size_final_held(percent: float) -> None:
    made = checked(with_prefermented(MANY, percent, hold="final"))
    assert made.prefermented_flour == pytest.approx(percent, rel=1e-12)
    grows = {"poolish", "rye sour", "levain"}
    assert {line: each for line, each in made.final.items() if line not in grows} == near(
        {line: each for line, each in MANY.final.items() if line not in grows}
    )
    ratios = [made.final[stage] / MANY.final[stage] for stage in sorted(grows)]
    assert ratios == pytest.approx([ratios[0]] * 3, rel=1e-12)
    old, new = MANY.table.columns[-1], made.table.columns[-1]
    scale = sum(new.percents) / sum(old.percents)
    assert scale != pytest.approx(1)
    for stage, was in zip(made.stages, MANY.stages, strict=True):
        if stage.name != "levain":
            assert stage.percents == near(was.percents)


def test_a_preferment_in_an_autolyse_takes_more_room_there() -> None:
    loaf = Formula.from_percents(
        "x",
        {"bread flour": 100, "water": 72},
        stages=[
            Stage("levain", {"bread flour": 100, "water": 100}, kind="preferment"),
            Stage("autolyse", {"bread flour": 100, "water": 60, "levain": 40}, weight="100 %"),
        ],
    )
    for hold in ("overall", "final"):
        made = checked(with_prefermented(loaf, 20, hold=hold))
        assert made.prefermented_flour == pytest.approx(20, rel=1e-12)
    overall = with_prefermented(loaf, 20).formula
    assert column(overall, "autolyse")["bread flour"] == pytest.approx(50, rel=1e-12)
    assert column(overall, "autolyse")["levain"] == pytest.approx(40, rel=1e-12)
    assert not overall.stages[0].is_sized


def test_a_soaker_in_a_preferment_grows_with_it() -> None:
    loaf = Formula.from_percents(
        "x",
        {"bread flour": 80, "rye": 20, "water": 72, "rye flakes": 4},
        stages=[
            Stage("soaker", {"rye flakes": 50, "rye": 50, "water": 100}, base=["rye", "rye flakes"], kind="soaker"),
            Stage("rye levain", {"rye": 100, "water": 100, "soaker": 80}, flour="10 %", kind="preferment"),
        ],
    )
    # 10 % of the flour in the levain itself, 2 in its soaker, which is no preferment.
    assert loaf.prefermented_flour == pytest.approx(10)
    made = checked(with_prefermented(loaf, 15))
    assert column(made, "soaker") == near({"rye flakes": 3, "rye": 3, "water": 6})
    final = checked(with_prefermented(loaf, 15, hold="final"))
    assert final.prefermented_flour == pytest.approx(15, rel=1e-12)
    assert {line: each for line, each in final.final.items() if line != "rye levain"} == near(
        {line: each for line, each in loaf.final.items() if line != "rye levain"}
    )


def test_a_preferment_used_in_two_places() -> None:
    loaf = Formula.from_percents(
        "x",
        {"bread flour": 100, "water": 72},
        stages=[
            Stage("levain", {"bread flour": 100, "water": 100}, flour="20 %"),
            Stage("sponge", {"bread flour": 100, "water": 60, "levain": 20}, flour="20 %"),
        ],
    )
    for hold in ("overall", "final"):
        made = checked(with_prefermented(loaf, 30, hold=hold))
        assert made.prefermented_flour == pytest.approx(30, rel=1e-12)
        assert made.stages[1].percents == near(loaf.stages[1].percents)


def test_the_facts_of_a_bread_survive() -> None:
    loaf = Formula.from_percents(
        "x",
        {"bread flour": 100, "water": 70, "walnuts": 12},
        stages=[Stage("biga", {"bread flour": 100, "water": 50}, flour="40 %")],
        later={"walnuts": 12, "water": 6},
        losses=Losses(bake="12 %"),
        dough_temperature="25 °C",
        toppings={"sesame": "2 g"},
        reject="2 %",
    )
    overall = checked(with_prefermented(loaf, 20))
    assert overall.later == loaf.later
    final = checked(with_prefermented(loaf, 25, hold="final"))
    # The flour becomes 60 + 20 of 100: what goes in later is 100/80 as much of it.
    assert final.later == near({"walnuts": 15, "water": 7.5})
    for made in (overall, final):
        assert (made.losses, made.dough_temperature_c) == (loaf.losses, 25)
        assert (made.toppings_g, made.reject_share) == (loaf.toppings_g, 0.02)


def test_more_than_there_is() -> None:
    wet = Stage("biga", {"bread flour": 100, "water": 110}, flour="40 %")
    dough = Formula.from_percents("x", {"bread flour": 100, "water": 65}, stages=[wet])
    with pytest.raises(ContradictionError, match="the biga uses 60 % of the flour at 110 % water: 66 % of water, but"):
        with_prefermented(dough, 60)
    rye = Stage("sour", {"rye": 100, "water": 80}, takes=("rye", "100 %"))
    loaf = Formula.from_percents("x", {"bread flour": 80, "rye": 20, "water": 70}, stages=[rye])
    with pytest.raises(ContradictionError, match="final dough: rye"):
        with_prefermented(loaf, 25)
    assert checked(with_prefermented(loaf, 25, hold="final")).prefermented_flour == pytest.approx(25)


def test_a_share_beside_a_final_dough_without_flour_of_its_own() -> None:
    whole = Formula.from_percents(
        "x", {"bread flour": 100, "water": 70}, stages=[Stage("s", {"bread flour": 100, "water": 60}, flour="100 %")]
    )
    with pytest.raises(FormulaError, match=r"100 % of the flour in preferments.*room for 50 % beside the final dough"):
        with_prefermented(whole, 50, hold="final")
    assert checked(with_prefermented(whole, 50)).prefermented_flour == pytest.approx(50)


def test_a_share_that_what_the_preferments_contain_leaves_no_room_for() -> None:
    loaf = Formula.from_percents(
        "x",
        {"bread flour": 100, "water": 72},
        stages=[
            Stage("scald", {"bread flour": 100, "water": 100}),
            Stage("levain", {"bread flour": 100, "water": 100, "scald": 200}, flour="10 %"),
        ],
    )
    # Half of what grows is no preferment: never more than half of the flour is pre-fermented.
    assert checked(with_prefermented(loaf, 45, hold="final")).prefermented_flour == pytest.approx(45)
    with pytest.raises(FormulaError, match="room for 50 %"):
        with_prefermented(loaf, 50, hold="final")


def test_what_is_kept_of_an_autolyse_with_levain_in_it() -> None:
    loaf = Formula.from_percents(
        "x",
        {"bread flour": 100, "water": 72},
        stages=[
            Stage("levain", {"bread flour": 100, "water": 100}, kind="preferment"),
            Stage("autolyse", {"bread flour": 100, "water": 60, "levain": 40}, weight="100 %", keep=10),
        ],
    )
    with pytest.raises(FormulaError, match="keep nothing back from a stage that holds a preferment"):
        with_prefermented(loaf, 5)
