"""Trials written by hand and read from a file: what they hold, and every mistake of a file told with its place."""

import copy
import pickle
from pathlib import Path

import pytest

from formula.errors import FileError, QuantityError
from formula.trials import MOST_TRIALS, Trial, read_trials

HARBOUR = """\
mixer,speed,time,mass,flour,room,preferment,water,dough
the big spiral,second,8 min,140 kg,21 °C,23 °C,,12 °C,25 °C
the big spiral,second,8 min,140 kg,70 °F,74 °F,,53 °F,77.5 °F

the slow arm,first,14 min,60 kg,21 °C,23 °C,18 °C,16 °C,22.5 °C
"""


def written(folder: Path, text: str, name: str = "trials.csv") -> Path:
    path = folder / name
    path.write_bytes(text.encode("utf-8"))
    return path


def test_a_file_of_trials(tmp_path: Path) -> None:
    first, second, third = read_trials(written(tmp_path, HARBOUR))
    assert first == Trial(
        flour="21 °C", room="23 °C", water="12 °C", dough="25 °C", mixer="the big spiral", speed="second", time="8 min", mass="140 kg"
    )  # fmt: skip
    assert first.friction_k == 19.0
    assert second.friction_k * 1.8 == pytest.approx(3 * 77.5 - 70 - 74 - 53, abs=1e-6)
    assert (third.preferments_c, third.measured_count, third.friction_k) == ((18.0,), 4, 12.0)


def test_a_file_may_be_short_and_in_any_order(tmp_path: Path) -> None:
    text = "\ufeffDough , water,FLOUR,preferment 2,preferment\r\n25 °C,12 °C,21 °C,19 °C,18 °C\r\n"
    (trial,) = read_trials(written(tmp_path, text))
    assert trial == Trial(flour="21 °C", water="12 °C", dough="25 °C", preferments=["19 °C", "18 °C"])
    assert (trial.room, trial.time, trial.mass) == (None, None, None)


def test_quoted_cells(tmp_path: Path) -> None:
    text = 'flour,water,dough,mixer\n"21 °C","12 °C","25 °C","big, ""old"" spiral"\n'
    assert read_trials(written(tmp_path, text))[0].mixer == 'big, "old" spiral'


def test_every_mistake_is_told_with_its_place(tmp_path: Path) -> None:
    text = (
        "flour,room,preferment,preferment 2,water,dough,time\n"
        "21,23 °C,,,12 °C,25 °C,8 min\n"
        "21 °C,23 °C,,18 C,12 °C,,8\n"
        "21 °C,23 °C,12,5 °C,25 °C\n"
        "21 °C,23 °C,,,12 °C,25 °C,0 min\n"
    )
    path = written(tmp_path, text)
    with pytest.raises(FileError) as caught:
        read_trials(path)
    assert [fault.where for fault in caught.value.faults] == [
        f"{path}: line 2, column flour",
        f"{path}: line 3, column preferment 2",
        f"{path}: line 3, column dough",
        f"{path}: line 3, column time",
        f"{path}: line 4",
        f"{path}: line 5, column time",
    ]
    assert "5 cells, expected 7" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "an empty file"),
        ("\n \n", "an empty file"),
        ("flour,water,dough\n", "a header alone"),
        ("flour,water\n21 °C,12 °C\n", "no column dough"),
        ("flour,water,dough,dough\n", "dough 2 times"),
        ("flour (°C),water,dough\n21,12,25\n", "units go into the cells"),
        ("flour;water;dough\n21 °C;12 °C;25 °C\n", "save the file as CSV with commas"),
        ('flour,water,dough\n21 °C,"12 °C" x,25 °C\n', "line 2: got a CSV mistake"),
        ('flour,water,dough\n21 °C,"12 °C,25 °C\n', "a CSV mistake"),
        ("flour,water,dough\n" + "21 °C,12 °C,25 °C\n" * (MOST_TRIALS + 1), "at most 400"),
        ("x" * 2_000_001, "at most 1 MB"),
    ],
)
def test_files_that_are_none(tmp_path: Path, text: str, words: str) -> None:
    path = written(tmp_path, text)
    with pytest.raises(FileError) as caught:
        read_trials(path)
    assert words in str(caught.value)
    assert str(path) in str(caught.value)


def test_a_file_of_the_most_trials(tmp_path: Path) -> None:
    text = "flour,water,dough\n" + "21 °C,12 °C,25 °C\n" * MOST_TRIALS
    assert len(read_trials(written(tmp_path, text))) == MOST_TRIALS


def test_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="there is no such file"):
        read_trials(tmp_path / "none.csv")
    path = tmp_path / "latin.csv"
    path.write_bytes("flour,water,dough\n21 °C,12 °C,25 °C\n".encode("latin-1"))
    with pytest.raises(FileError, match="UTF-8"):
        read_trials(path)


def test_every_bad_argument_is_named_at_once() -> None:
    with pytest.raises(QuantityError) as caught:
        Trial(flour="21", room="23", water="12", dough=25, preferments="18", mixer=3, time="0 min", mass="4")  # type: ignore[arg-type]
    assert [fault.where for fault in caught.value.faults] == [
        "flour", "room", "preferments", "water", "dough", "mass", "mixer", "time",
    ]  # fmt: skip


def test_views_and_values() -> None:
    trial = Trial(flour="21 °C", room="23 °C", water="12 °C", dough="25 °C", time="8 min", mass="140 kg")
    assert trial.time is not None
    assert trial.mass is not None
    assert trial.time.m_as("minute") == pytest.approx(8.0)
    assert trial.mass.m_as("kg") == pytest.approx(140.0)
    assert [value.m_as("degC") for value in (trial.flour, trial.water, trial.dough)] == pytest.approx(
        [21.0, 12.0, 25.0]
    )
    assert pickle.loads(pickle.dumps(trial)) == copy.deepcopy(trial) == trial  # noqa: S301 - our own bytes
    assert hash(copy.deepcopy(trial)) == hash(trial)
