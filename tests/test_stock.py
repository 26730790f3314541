"""What to have ready for a day, in sacks, and what to order."""

import json
import pickle
import shutil
from pathlib import Path

import pytest

from formula import cli
from formula.day import plan_day
from formula.errors import FileError, FormulaError, UnknownNameError
from formula.evening import stage_builds
from formula.folder import load_day
from formula.formula import Formula
from formula.orders import Order
from formula.stock import ReadyList, Stock, load_stock, to_have_ready
from tests.arithmetic import check_working
from tests.evenings import bread, poolish, process, table

PLAIN = Formula.from_percents(
    "Plain", {"bread flour": 100, "water": 60, "salt": 2}, dough_temperature="25 °C", toppings={"sesame seeds": "5 g"}
)
# 500 pieces of 810 g: 405 kg of dough from 250 kg of flour, 150 kg of water and 5 kg of salt, and 2.5 kg of sesame.
FOUND = table([Order(PLAIN, pieces=500, baked="810 g")], {"Plain": process(stages={})})


def listed(**stock: Stock) -> ReadyList:
    found = to_have_ready(FOUND.day, {name.replace("_", " "): each for name, each in stock.items()})
    assert pickle.loads(pickle.dumps(found)) == found  # noqa: S301 - our own bytes
    check_working(found.working(), found.needed_g)
    return found


class TestSacks:
    @pytest.mark.parametrize(("sack", "sacks"), [("25 kg", 10), ("24 kg", 11), ("250 kg", 1), ("1000 kg", 1)])
    def test_rounded_up(self, sack: str, sacks: int) -> None:
        line = listed(bread_flour=Stock(sack=sack)).line("bread flour")
        assert (line.needed_g, line.sacks) == (250_000, sacks)
        check_working(line.working(), float(sacks))

    def test_nothing_is_known(self) -> None:
        line = listed().line("water")
        assert (line.sacks, line.left_g, line.order_sacks, line.order_g, line.missing_g) == (None, None, None, 0, 0)
        assert line.left is None
        check_working(line.working(), 150_000.0)

    def test_toppings_are_there(self) -> None:
        found = listed()
        assert found.line("sesame seeds").needed_g == 2500
        assert found.needed.m_as("kg") == pytest.approx(407.5)
        assert [line.name for line in found.lines] == ["bread flour", "water", "salt", "sesame seeds"]

    def test_losses_of_stages_are_there(self) -> None:
        loaf = bread("Loaf", poolish())
        day = table([Order(loaf, pieces=100, baked="1 kg")], {"Loaf": process()})
        builds = stage_builds(day, stage_loss="10 %")
        more = to_have_ready(builds).line("bread flour").needed_g - to_have_ready(day.day).line("bread flour").needed_g
        # The poolish has 17.36 kg of flour, which is nine tenths of what is built.
        assert more == pytest.approx(100_000 * 30 / 172.8 / 9, abs=5)


class TestOrders:
    @pytest.mark.parametrize(
        ("on_hand", "point", "left", "order", "sacks", "missing"),
        [
            # 300 - 250 = 50 left, 150 wanted: 100 kg, 4 sacks.
            ("300 kg", "150 kg", 50_000, 100_000, 4, 0),
            # 51 left: 99 kg, still 4 sacks.
            ("301 kg", "150 kg", 51_000, 99_000, 4, 0),
            # As much left as must be: nothing.
            ("400 kg", "150 kg", 150_000, 0, 0, 0),
            ("399.9 kg", "150 kg", 149_900, 100, 1, 0),
            ("399.9995 kg", "150 kg", 149_999.5, 0.5, 1, 0),
            # 40 missing today, and the order point on top of that.
            ("210 kg", "150 kg", -40_000, 190_000, 8, 40_000),
            ("210 kg", None, -40_000, 40_000, 2, 40_000),
            ("260 kg", None, 10_000, 0, 0, 0),
        ],
    )
    def test_by_hand(
        self, on_hand: str, point: str | None, left: float, order: float, sacks: int, missing: float
    ) -> None:
        found = listed(bread_flour=Stock(sack="25 kg", on_hand=on_hand, order_point=point))
        line = found.line("bread flour")
        assert (line.left_g, line.order_g, line.order_sacks, line.missing_g) == (left, order, sacks, missing)
        assert [each.name for each in found.to_order] == (["bread flour"] if order else [])
        assert [caution.code for caution in found.cautions] == (["short-today"] if missing else [])
        check_working(line.working(), float(sacks))

    def test_without_sacks_in_grams(self) -> None:
        line = listed(salt=Stock(on_hand="6 kg", order_point="3 kg")).line("salt")
        assert (line.order_g, line.order_sacks) == (2000, None)
        check_working(line.working(), 2000.0)

    def test_what_the_day_does_not_take_is_watched_too(self) -> None:
        line = listed(raisins=Stock(sack="10 kg", on_hand="4 kg", order_point="5 kg")).line("raisins")
        assert (line.needed_g, line.sacks, line.order_sacks) == (0, 0, 1)

    def test_the_tables(self) -> None:
        flour, water, *_ = listed(bread_flour=Stock(sack="25 kg", on_hand="300 kg")).to_tables()["ingredients"]
        assert flour == {
            "ingredient": "bread flour", "needed_g": 250_000, "sack_g": 25_000, "sacks": 10, "on_hand_g": 300_000,
            "left_g": 50_000, "missing_g": 0, "order_point_g": None, "order_g": 0, "order_sacks": 0,
        }  # fmt: skip
        assert water["sacks"] is None


class TestWhatIsRefused:
    def test_stock(self) -> None:
        with pytest.raises(FormulaError) as caught:
            Stock(sack="0 kg", order_point="3 l", where="salt")
        places = [fault.where for fault in caught.value.faults]
        assert places == ["salt: order_point", "salt: sack", "salt: order_point"]

    def test_names(self) -> None:
        with pytest.raises(UnknownNameError) as caught:
            to_have_ready(FOUND.day, {"brd flour": Stock(), "salt": Stock(), "table salt": Stock()})
        assert caught.value.faults[0].where == "stock: brd flour"
        with pytest.raises(UnknownNameError, match="ingredient: got 'raisins', expected one of: bread flour"):
            to_have_ready(FOUND.day).line("raisins")

    def test_one_ingredient_under_two_names(self) -> None:
        other = next(name for name in ("tap water", "sea salt", "fine salt", "table salt") if name in PLAIN.catalogue)
        own = PLAIN.catalogue.find(other).name
        with pytest.raises(UnknownNameError, match=f"{own} a second time"):
            to_have_ready(FOUND.day, {own: Stock(), other: Stock()})


class TestTheCommand:
    HARBOUR = Path(__file__).parents[1] / "docs" / "examples" / "harbour"

    def test_it_answers_as_the_library_does(self, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
        found = to_have_ready(plan_day(*load_day(self.HARBOUR)), load_stock(self.HARBOUR / "stock.toml"))
        assert cli.run(["ready", str(self.HARBOUR), "--json"]) == 0
        assert json.loads(capsys.readouterr().out) == found.to_tables()
        bare = shutil.copytree(self.HARBOUR, tmp_path / "day")
        (bare / "stock.toml").unlink()
        assert cli.run(["ready", str(bare), "--unit", "kg"]) == 0
        out = capsys.readouterr().out
        assert "Caution" not in out
        assert "1998.92 kg" in out
        own = tmp_path / "own.toml"
        own.write_text('[stock.water]\non_hand = "1000 kg"\norder_point = "50 kg"\n', encoding="utf-8")
        assert cli.run(["ready", str(bare), "--stock", str(own), "--working"]) == 0
        out = capsys.readouterr().out
        # 1849.65 kg of water of 1000 kg: 849.65 kg short, 899.65 kg to order, which comes in no sacks.
        assert "849.65 kg short" in out
        assert "899.65 kg" in out
        assert "order_2 = max(0, point_2 - left_2)" in out
        assert cli.run(["ready", str(bare), "--stock", str(tmp_path / "none.toml")]) == 1
        assert "none.toml: got nothing, expected a file" in capsys.readouterr().err


class TestTheFile:
    def test_it_is_read(self, tmp_path: Path) -> None:
        file = tmp_path / "stock.toml"
        file.write_text('[stock."bread flour"]\nsack = "25 kg"\non_hand = "300 kg"\n[stock.salt]\n', encoding="utf-8")
        found = load_stock(file)
        assert found == {"bread flour": Stock(sack="25 kg", on_hand="300 kg"), "salt": Stock()}
        assert to_have_ready(FOUND.day, found).line("bread flour").left_g == 50_000

    @pytest.mark.parametrize(
        ("text", "told"),
        [
            ('[stock.salt]\nsacks = "25 kg"\n', "an unknown key"),
            ("[stock.salt]\nsack = 25\n", "a mass"),
            ("[salt]\n", "an unknown key"),
        ],
    )
    def test_what_is_wrong_with_it(self, text: str, told: str, tmp_path: Path) -> None:
        file = tmp_path / "stock.toml"
        file.write_text(text, encoding="utf-8")
        with pytest.raises(FileError, match=told):
            load_stock(file)

    def test_an_order_point_of_what_nobody_counted(self, tmp_path: Path) -> None:
        file = tmp_path / "stock.toml"
        file.write_text('[stock.salt]\norder_point = "5 kg"\n', encoding="utf-8")
        with pytest.raises(FormulaError, match=r"stock\.toml: salt: order_point: got no on_hand"):
            load_stock(file)
