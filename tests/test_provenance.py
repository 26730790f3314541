"""Where a number comes from is found by looking, and nothing is left out."""

import json
import re

import pytest

from formula import all_origins, origins
from formula.errors import UnknownNameError
from formula.sources import all_sources
from tests.conftest import HOUSE, Run
from tests.test_sources import CONSTANTS

IN_PAGES_ALONE = {
    # What cautions, labels and explanations rest on, without a number of the library.
    "aacc-basis", "bakers-dozen-2018", "cengel-boles-2015", "eu-1169-2011", "fda-allergens", "flour-dust-explosions",
    "french-bread-weights", "german-measures-act", "hse-bakery", "iso-4217", "karpinski-2003", "mill-manual",
    "oiml-g21-2017", "professional-cooking", "raw-flour-2016",
}  # fmt: skip


def test_every_constant_is_there_once() -> None:
    """The tests find the constants by another way: through all that a room holds, imported or not."""
    found = [(each.value, each.unit, each.source.id, each.where) for each in all_origins() if each.value is not None]
    wanted = {id(each): (each.value, each.unit, each.source, each.where) for _, each in CONSTANTS}
    assert sorted(found) == sorted(wanted.values())


def test_a_constant_is_told_with_the_room_that_it_stands_in() -> None:
    for each in all_origins():
        if each.value is not None:
            text = (HOUSE / f"{each.place}.py").read_text(encoding="utf-8")
            name = each.name.partition(",")[0].replace(" ", "_")
            assert re.search(rf"^_*{name}\b", text, re.MULTILINE | re.IGNORECASE), each


@pytest.mark.parametrize("table", sorted(path.name for path in HOUSE.glob("*.toml") if path.name != "sources.toml"))
def test_every_row_of_a_table_is_there(table: str) -> None:
    text = re.sub(r"^#.*$", "", (HOUSE / table).read_text(encoding="utf-8"), flags=re.MULTILINE)
    ids = re.findall(r'\bsource = "([^"]+)"', text)
    for several in re.findall(r"\bsources = \[([^\]]*)\]", text):
        ids += re.findall(r'"([^"]+)"', several)
    mine = [each for each in all_origins() if each.place == table]
    assert sorted(each.source.id for each in mine) == sorted(ids)
    assert all(each.name for each in mine)


def test_every_source_has_something_that_rests_on_it() -> None:
    assert set(all_sources()) - {each.source.id for each in all_origins()} == IN_PAGES_ALONE


@pytest.mark.parametrize(
    ("what", "name", "place", "id_"),
    [
        ("latent heat", "latent heat", "capacity", "iapws"),
        ("LATENT Heat", "latent heat", "capacity", "iapws"),
        ("sfbi-2009", "mix temperatures", "friction", "sfbi-2009"),
        ("rye flour light", "light rye flour", "ingredients.toml", "usda-sr28"),
        ("baguette", "baguette", "losses.toml", "baguette-rule"),
        ("poolish Calvel", "a poolish after Calvel", "handbooks.toml", "calvel-poolish"),
        ("retarded", "retarded", "processes.toml", "bakers-dictionary"),
        ("milk solids", "milk solids", "breadnames", "cfr-21-136"),
    ],
)
def test_words_find_it(what: str, name: str, place: str, id_: str) -> None:
    assert (name, place, id_) in [(each.name, each.place, each.source.id) for each in origins(what)]


def test_the_id_of_a_source_finds_what_rests_on_it_and_nothing_else() -> None:
    found = origins("koerner-ice-table")
    assert {each.source.id for each in found} == {"koerner-ice-table"}
    assert len(found) == 2
    assert origins("aacc-basis") == ()


@pytest.mark.parametrize("what", ["", "  ", "no such thing", 3, None])
def test_what_nothing_is_called_is_refused(what: object) -> None:
    with pytest.raises(UnknownNameError, match=r"^what: got"):
        origins(what)  # type: ignore[arg-type]


class TestTheCommand:
    def test_a_number(self, run: Run) -> None:
        code, out, err = run("sources", "latent", "heat")
        assert (code, err) == (0, "")
        assert out.startswith("latent heat [capacity]: 333.427 ± 0.001 kJ/kg\n")
        assert "    <- iapws: International Association" in out

    def test_a_source_is_told_in_full_once(self, run: Run) -> None:
        _, out, _ = run("sources", "koerner-ice-table")
        assert out.count("<- koerner-ice-table") == 2
        assert out.count("Ice Temperature Table") == 1

    def test_a_source_of_pages_alone(self, run: Run) -> None:
        _, out, _ = run("sources", "aacc-basis")
        assert out == f"aacc-basis: {all_sources()['aacc-basis']}\n"

    def test_all_sources(self, run: Run) -> None:
        _, out, _ = run("sources")
        assert len(out.splitlines()) == len(all_sources())

    def test_json(self, run: Run) -> None:
        found = json.loads(run("sources", "latent", "heat", "--json")[1])["origins"]
        assert (found[0]["value"], found[0]["unit"], found[0]["source"]["id"]) == (333.427, "kJ/kg", "iapws")
        listed = json.loads(run("sources", "--json")[1])["sources"]
        assert [each["id"] for each in listed] == list(all_sources())

    def test_nothing_of_that_name(self, run: Run) -> None:
        code, out, err = run("sources", "no such thing")
        assert (code, out) == (1, "")
        assert "no such thing" in err
