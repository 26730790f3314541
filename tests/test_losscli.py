"""The commands about losses, tins, trays and bake time answer as the library does, and refuse in one message."""

import json
from pathlib import Path

import pytest

from formula.baketime import bake_time
from formula.lossestimate import estimate_loss
from formula.lossfit import measured_loss, read_loss_weighings
from formula.losstable import typical_losses
from formula.shape import LoafShape
from formula.tin import Tin, fill_tin
from formula.tray import Tray, fill_tray
from tests.conftest import Run

WEIGHINGS = Path(__file__).parents[1] / "docs" / "examples" / "weighings.csv"


def test_typical(run: Run) -> None:
    code, out, _ = run("loss", "typical", "rye", "--json")
    assert code == 0
    tables = json.loads(out)["losses"]
    assert [row["low_share"] for row in tables] == [row.low_share for row in typical_losses(product="rye")]
    assert {"memory", "read"} <= {word for row in tables for word in row["known_by"].split(", ")}
    _, out, _ = run("loss", "typical", "--kind", "whole")
    assert out == f"{typical_losses('whole')[0]}\n"
    code, _, err = run("loss", "typical", "brioche")
    assert code == 1
    assert "baguette" in err


def test_estimate(run: Run) -> None:
    words = ("loss", "estimate", "11 %", "--known", "900 g", "--new", "350 g", "--new-shape", "long 10")
    found = estimate_loss("11 %", known="900 g", new="350 g", new_shape=LoafShape("long", length_to_diameter=10))
    _, out, _ = run(*words, "--json")
    tables = json.loads(out)
    assert (tables["loss_share"], tables["low_share"], tables["high_share"]) == (
        found.loss_share, found.low_share, found.high_share,
    )  # fmt: skip
    assert tables["cautions"][0]["code"] == "rough-estimate"
    _, out, _ = run(*words, "--working")
    assert "about 23 % of the dough, between 14.4 % and 26.1 %: 81 of 350 g" in out
    assert "loss = loss_known * r ** p" in out
    _, out, _ = run(*words, "--method", "geometric")
    # By hand: (skin 8.134 to 5.757 of one volume) * (900 / 350)^(1/3) = 1.936 times as much, 11 % * 1.936 = 21.3 %.
    assert out.startswith("about 21.3 % of the dough: 75 of 350 g")


@pytest.mark.parametrize(
    ("shape", "words"), [("oval", "got 'oval'"), ("oval 3", "got 'oval 3'"), ("long x", "got 'x'")]
)
def test_a_shape_that_is_none(run: Run, shape: str, words: str) -> None:
    code, _, err = run("loss", "estimate", "11 %", "--known", "900 g", "--new", "1 kg", "--shape", shape)
    assert code == 1
    assert words in err


def test_measured(run: Run) -> None:
    found = measured_loss(read_loss_weighings(WEIGHINGS), bread="Pilot Stick")
    _, out, _ = run("loss", "measured", WEIGHINGS, "--bread", "Pilot Stick", "--json")
    tables = json.loads(out)
    assert (tables["loss_share"], tables["spread_share"]) == (found.loss_share, found.spread_share)
    assert (tables["weighings"], tables["pieces"], tables["outliers"]) == (4, 48, [])
    _, out, _ = run("loss", "measured", WEIGHINGS, "--bread", "Quay Round", "--working")
    assert "10 pieces" in out
    assert "s = (squares / f) ** (1 / 2)" in out
    code, _, err = run("loss", "measured", WEIGHINGS)
    assert code == 1
    assert "several breads: 'Quay Round', 'Pilot Stick'" in err


def test_tin(run: Run) -> None:
    _, out, _ = run("tin", "--water", "1.48 kg", "--temperature", "20 °C", "--dough", "680 g", "--json")
    found = fill_tin(Tin(water="1.48 kg", temperature="20 °C"), dough="680 g")
    assert json.loads(out)["filling_g_l"] == found.filling_kg_m3
    _, out, _ = run("tin", "--dough", "900 g", "--filling", "450 g/L", "--working")
    assert "a tin of 2 L" in out
    assert "V = 1000 * dough / filling" in out
    code, _, err = run("tin", "--volume", "1.5 L")
    assert code == 1
    assert "tin alone" in err


def test_tray(run: Run) -> None:
    _, out, _ = run("tray", "--length", "60 cm", "--width", "40 cm", "--dough", "1.2 kg", "--json")
    assert json.loads(out)["filling_kg_m2"] == fill_tray(Tray("0.24 m2"), dough="1.2 kg").filling_kg_m2
    _, out, _ = run("tray", "--dough", "1.2 kg", "--filling", "5 kg/m2")
    assert "a tray of 0.24 m²" in out


def test_bake_time(run: Run) -> None:
    found = bake_time("40 min", known="1 kg", new="500 g", shape="pan", new_shape="long")
    words = ("bake-time", "40 min", "--known", "1 kg", "--new", "500 g", "--shape", "pan", "--new-shape", "long")
    _, out, _ = run(*words, "--json")
    assert json.loads(out)["time_h"] == found.time_h
    _, out, _ = run(*words, "--working")
    assert "burn" in out
    assert "t = t_known * r ** n" in out
