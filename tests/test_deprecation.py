"""An old name works until its version comes, and the public surface does not change unseen."""

import re
import warnings
from importlib.metadata import version
from pathlib import Path

import pytest

import formula
from formula import deprecation
from formula.deprecation import DEPRECATED, Deprecated, overdue, successor
from tests.surface import surface

OLD = Deprecated("water_heat", "water_temperature", "0.2.0", "0.4.0")


def test_no_name_has_outlived_its_time() -> None:
    assert overdue(version("dough-formula")) == ()


@pytest.mark.parametrize("entry", DEPRECATED or [OLD])
def test_a_name_that_goes_has_a_successor(entry: Deprecated) -> None:
    assert entry.instead in formula.__all__
    assert entry.name not in formula.__all__
    assert re.fullmatch(r"\d+\.\d+\.\d+", entry.since)
    assert re.fullmatch(r"\d+\.\d+\.\d+", entry.gone)


def test_the_old_name_is_the_new_one_and_warns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(deprecation.successor, "__defaults__", ((OLD,),))
    with pytest.warns(
        DeprecationWarning, match="water_heat is named water_temperature since 0.2.0 and goes with 0.4.0"
    ) as told:
        found = formula.water_heat  # type: ignore[attr-defined] # the name that went
    assert found is formula.water_temperature
    assert told[0].filename == __file__
    assert "water_heat" not in dir(formula)


def test_each_old_name_has_its_own_successor() -> None:
    other = Deprecated("dough_heat", "dough_temperature", "0.2.0", "0.4.0")
    with pytest.warns(DeprecationWarning, match="dough_heat is named dough_temperature"):
        assert successor("dough_heat", (OLD, other)) == "dough_temperature"


def test_any_other_name_is_no_name() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pytest.raises(AttributeError, match="has no attribute 'water_heat'"):
            _ = formula.water_heat  # type: ignore[attr-defined]
        assert successor("water_heat") is None


@pytest.mark.parametrize(
    ("at", "gone"),
    [
        ("0.3.9", False),
        ("0.4.0", True),
        ("0.4", True),
        ("0.10.0", True),
        ("1.0.0", True),
        ("0.4.0.dev1", True),
        ("0.3", False),
    ],
)
def test_overdue(at: str, gone: bool) -> None:  # noqa: FBT001
    assert overdue(at, (OLD,)) == ((OLD,) if gone else ())


def test_the_surface_is_the_one_that_is_written_down() -> None:
    written = (Path(__file__).parent / "surface.txt").read_text(encoding="utf-8").splitlines()
    assert surface() == written, "a public name or parameter changed: see DEVELOPERS.md"
