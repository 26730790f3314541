"""A preferment stretched: what it asks of the yeast, or of the time."""

import copy
import math
import pickle

import pytest

from formula.culture import levain_time
from formula.errors import ContradictionError, FormulaError
from formula.formula import Formula
from formula.stage import Stage
from formula.stretch import Stretch, stretch_preferment
from tests.arithmetic import check_working

BIGA = Stage("biga", {"bread flour": 100, "water": 55, "fresh yeast": 1}, flour="40 %")
LOAF = Formula.from_percents(
    "Loaf", {"bread flour": 100, "water": 68, "salt": 2, "fresh yeast": 1.2}, stages=[BIGA], dough_temperature="26 °C"
)
LEVAIN = Stage("levain", {"bread flour": 100, "water": 100, "culture": 15}, flour="20 %", culture="returned")
SOUR = Formula.from_percents("Sour", {"bread flour": 100, "water": 70, "salt": 2}, stages=[LEVAIN])


def grown_share(dose_percent: float, hours: float) -> float:
    """By what part yeast grows at 27 °C, step by step: dY/dt = 0.336 Y (1 - (Y - Y0) / 0.593) after a lag of 2.79 h."""
    steps = 20_000
    yeast, step_h = dose_percent, max(0.0, hours - 2.79) / steps
    for _ in range(steps):
        middle = yeast + step_h / 2 * 0.336 * yeast * (1 - (yeast - dose_percent) / 0.593)
        yeast += step_h * 0.336 * middle * (1 - (middle - dose_percent) / 0.593)
    return yeast / dose_percent - 1


def stretched(percent: float, bread: Formula = LOAF, hours: float = 6, growth: float = 1.0) -> Stretch:
    found = stretch_preferment(
        bread, percent, ripened={"biga": f"{hours} h"}, stages={"biga": "27 °C"}, time="3 h", growth=growth
    )
    check_working(found.working(), found.new_time_h)
    assert pickle.loads(pickle.dumps(found)) == found == copy.deepcopy(found)  # noqa: S301 - our own bytes
    assert found.percent == pytest.approx(percent)
    return found


class TestYeast:
    @pytest.mark.parametrize("percent", [10, 30, 38, 44, 60])
    @pytest.mark.parametrize("hours", [2, 6, 14])
    def test_what_does_not_grow_is_made_up_for(self, percent: float, hours: float) -> None:
        # The biga holds 0.4 % of yeast on all the flour.
        z = grown_share(1.0, hours)
        found = stretched(percent, hours=hours)
        lacking = (1 - percent / 40) * 0.4 * z
        assert found.more_percent == pytest.approx(lacking, abs=1e-6)
        assert found.formula.percent("fresh yeast") == pytest.approx(1.2 + lacking, abs=1e-6)
        assert found.slow.percent("fresh yeast") == 1.2
        # Three hours, longer as there is less yeast at work.
        active = 1.2 + 0.4 * z
        assert found.new_time_h == pytest.approx(3 * active / (active - lacking), rel=1e-6)
        assert found.low_h <= min(3, found.new_time_h)
        assert found.high_h >= max(3, found.new_time_h)
        assert found.formula.prefermented_flour == pytest.approx(percent)

    def test_all_else_stays(self) -> None:
        found = stretched(30)
        for line in ("bread flour", "water", "salt"):
            assert found.formula.percent(line) == LOAF.percent(line)
        assert found.formula.stages[0].percents == BIGA.percents

    def test_without_growth_there_is_nothing_to_make_up_for(self) -> None:
        found = stretched(20, growth=0.0)
        assert (found.more_percent, found.new_time_h) == (0, 3)
        assert found.formula == found.slow

    def test_another_form(self) -> None:
        biga = Stage("biga", {"bread flour": 100, "water": 55, "instant yeast": 0.4}, flour="40 %")
        lines = {"bread flour": 100, "water": 68, "salt": 2, "instant yeast": 0.48}
        dry = Formula.from_percents("Dry", lines, stages=[biga], dough_temperature="26 °C")
        found = stretched(30, dry)
        # As much growth as of the same yeast fresh, and as instant again.
        fresh_percent = 0.4 / found.yeast_factor
        lacking = 0.25 * 0.4 * fresh_percent * grown_share(fresh_percent, 6) * found.yeast_factor
        assert found.yeast == "instant yeast"
        assert found.more_percent == pytest.approx(lacking, rel=1e-5)

    def test_more_than_the_dough_can_give_up(self) -> None:
        lines = {"bread flour": 100, "water": 68, "salt": 2, "fresh yeast": 0.42}
        lean = Formula.from_percents("Lean", lines, stages=[BIGA], dough_temperature="26 °C")
        found = stretched(42, lean, hours=14)
        # All the yeast that is left in the final dough, 0.42 - 0.42 = 0, and the time is shorter.
        assert found.more_percent == pytest.approx(0, abs=1e-9)
        assert found.new_time_h < 3
        assert "too-little-yeast" in {caution.code for caution in found.cautions}

    def test_less_flavour_is_told(self) -> None:
        assert "less-preferment" in {caution.code for caution in stretched(30).cautions}
        assert "less-preferment" not in {caution.code for caution in stretched(50).cautions}

    def test_yeast_in_a_soaker_stays_out(self) -> None:
        lines = {"cracked rye": 100, "water": 100, "fresh yeast": 1}
        soaker = Stage("soaker", lines, takes=("cracked rye", "100 %"), base=["cracked rye"])
        seeded = Formula.from_percents(
            "Seeded", {**LOAF.percents, "cracked rye": 10.0}, stages=[BIGA, soaker], dough_temperature="26 °C"
        )
        assert stretched(30, seeded).more_percent == pytest.approx(stretched(30).more_percent)

    def test_a_preferment_of_grain_alone_is_taken_not_to_grow(self) -> None:
        lines = {"cracked rye": 100, "water": 100, "fresh yeast": 1}
        grain = Stage("ferment", lines, takes=("cracked rye", "100 %"), base=["cracked rye"], kind="preferment")
        seeded = Formula.from_percents(
            "Seeded", {**LOAF.percents, "cracked rye": 10.0}, stages=[BIGA, grain], dough_temperature="26 °C"
        )
        assert stretched(30, seeded).more_percent == pytest.approx(stretched(30).more_percent)


class TestLevain:
    @pytest.mark.parametrize("percent", [10, 15, 25])
    def test_the_time_of_a_levain_of_its_share(self, percent: float) -> None:
        found = stretch_preferment(SOUR, percent, ripened={}, stages={}, time="6 h", temperature="25 °C")
        check_working(found.working(), found.new_time_h)
        # On 172 of dough: as much flour, as much water.
        shares = [2 * 20 / 172, 2 * percent / 172]
        old, new = (levain_time(seed=f"{share} kg", total="1 kg", temperature="25 °C") for share in shares)
        assert found.new_time_h == pytest.approx(6 + new.time_h - old.time_h)
        assert found.new_time_h - 6 == pytest.approx(math.log(20 / percent) / (old.phi * old.rate_per_h))
        assert found.low_h <= found.new_time_h <= found.high_h
        assert (found.yeast, found.more_percent, found.formula) == ("", 0, found.slow)
        assert found.cautions[0].code == "levain-alone"

    def test_a_sour_with_yeast_beside_it(self) -> None:
        lines = {"bread flour": 100, "water": 70, "salt": 2, "fresh yeast": 0.5}
        both = Formula.from_percents("Both", lines, stages=[LEVAIN])
        found = stretch_preferment(both, 15, ripened={}, stages={}, time="3 h", temperature="25 °C")
        assert found.more_percent == 0
        assert "culture-not-counted" in {caution.code for caution in found.cautions}


class TestWhatIsRefused:
    def test_all_at_once(self) -> None:
        with pytest.raises(FormulaError) as caught:
            stretch_preferment(LOAF, 120, ripened={}, stages={}, time="0 h", growth=2.0)
        places = [fault.where for fault in caught.value.faults]
        assert places == ["growth", "percent", "time", "ripened: biga", "stages: biga"]

    def test_no_formula(self) -> None:
        with pytest.raises(FormulaError, match="a Formula"):
            stretch_preferment("loaf", 20, ripened={}, stages={}, time="3 h")  # type: ignore[arg-type]

    def test_no_temperature(self) -> None:
        with pytest.raises(FormulaError, match="temperature: got nothing, expected the dough's temperature"):
            stretch_preferment(SOUR, 15, ripened={}, stages={}, time="3 h")

    def test_a_time_that_nothing_grows_in(self) -> None:
        with pytest.raises(FormulaError, match="biga: time: got 0 h"):
            stretch_preferment(LOAF, 20, ripened={"biga": "0 h"}, stages={"biga": "20 °C"}, time="3 h")

    def test_no_preferment(self) -> None:
        plain = Formula.from_percents("Plain", {"bread flour": 100, "water": 70, "fresh yeast": 1})
        with pytest.raises(FormulaError, match="no pre-fermented flour"):
            stretch_preferment(plain, 20, ripened={}, stages={}, time="3 h", temperature="25 °C")

    def test_nothing_that_raises_it(self) -> None:
        flat = Formula.from_percents(
            "Flat", {"bread flour": 100, "water": 70}, stages=[Stage("sponge", {"bread flour": 100, "water": 60}, flour="30 %")]
        )  # fmt: skip
        with pytest.raises(FormulaError, match="neither yeast nor a ripe culture"):
            stretch_preferment(flat, 20, ripened={}, stages={}, time="3 h", temperature="25 °C")

    def test_more_than_there_is(self) -> None:
        # 99 % of the flour with 55 % of water on it would hold 54.45 of 50 parts.
        stiff = Formula.from_percents("Stiff", {**LOAF.percents, "water": 50}, stages=[BIGA], dough_temperature="26 °C")
        with pytest.raises(ContradictionError):
            stretched(99, stiff)

    def test_ripe_before_it_is_mixed(self) -> None:
        with pytest.raises(FormulaError, match="so that the dough is not ripe before it is mixed"):
            stretch_preferment(SOUR, 60, ripened={}, stages={}, time="1 h", temperature="25 °C")
