"""Typical processes: every figure is there, has a source, and is used for a look over the shoulder."""

import pickle
from typing import get_args, get_type_hints

import pytest

from formula.errors import UnknownNameError
from formula.processes import Process, handbook_caution, typical_process, typical_processes
from formula.sources import all_sources

NAMES = ["straight", "short", "no-time", "overnight", "retarded", "poolish", "short poolish", "biga", "sponge"]


def test_all_are_there() -> None:
    assert [process.name for process in typical_processes()] == NAMES


@pytest.mark.parametrize("process", typical_processes(), ids=NAMES)
def test_a_process_is_whole(process: Process) -> None:
    assert process.of in get_args(get_type_hints(Process)["of"])
    for low, high in (process.dose_percent, process.time_h, process.temperature_c, process.desired_c):
        assert low <= high
    assert process.sources
    assert set(process.sources) <= set(all_sources())
    assert process.note.endswith((".", "tenfold."))
    assert pickle.loads(pickle.dumps(process)) == process  # noqa: S301 - our own bytes
    assert [each.m_as("percent") for each in process.dose] == pytest.approx(list(process.dose_percent))
    assert [each.m_as("h") for each in process.time] == pytest.approx(list(process.time_h))
    assert [each.m_as("degC") for each in process.temperature] == pytest.approx(list(process.temperature_c))
    assert [each.m_as("degC") for each in process.desired] == pytest.approx(list(process.desired_c))


@pytest.mark.parametrize("process", typical_processes(), ids=NAMES)
def test_what_is_printed_is_not_cautioned(process: Process) -> None:
    for time_h in process.time_h:
        for celsius in process.temperature_c:
            for dose in process.dose_percent:
                assert handbook_caution(dose, time_h, celsius, process.name) == ()


@pytest.mark.parametrize(
    ("dose", "time_h", "celsius", "of", "says"),
    [
        (0.2, 2.0, 24.0, "dough", "a tenth of what handbooks print, 2 to 5 % (straight)"),
        (0.5, 2.0, 24.0, "dough", "a quarter of"),
        (0.1, 2.0, 24.0, "dough", "a twentieth of"),
        (0.3, 2.0, 24.0, "dough", "0.15 times the least of"),
        (2.0 / 7, 2.0, 24.0, "dough", "one 7th of"),
        (12.5, 2.0, 24.0, "dough", "2.5 times the most of"),
        (5.0, 12.0, 22.0, "poolish", "10 times the most of what handbooks print, 0.1 to 0.5 % (poolish)"),
    ],
)
def test_far_from_all_print(dose: float, time_h: float, celsius: float, of: str, says: str) -> None:
    (caution,) = handbook_caution(dose, time_h, celsius, of)
    assert caution.code == "unlike-handbooks"
    assert says in caution.text


def test_where_nothing_is_printed_nothing_is_said() -> None:
    assert handbook_caution(0.001, 300.0, 24.0, "dough") == ()
    assert handbook_caution(0.001, 2.0, 45.0, "dough") == ()
    assert handbook_caution(1.01, 2.0, 24.0, "dough") == ()


def test_an_unknown_process_is_told_the_known_ones() -> None:
    assert typical_process("biga").of == "preferment"
    with pytest.raises(UnknownNameError, match="short poolish"):
        typical_process("levain")


@pytest.mark.parametrize(
    ("times", "said"),
    [
        (3, "a third"),
        (4, "a quarter"),
        (5, "a fifth"),
        (8, "an eighth"),
        (10, "a tenth"),
        (20, "a twentieth"),
        (7, "one 7th"),
    ],
)
def test_a_part_is_said_in_words(times: int, said: str) -> None:
    straight = typical_process("straight")
    hours, celsius = straight.time_h[0], straight.temperature_c[0]
    (caution,) = handbook_caution(straight.dose_percent[0] / times, hours, celsius, "straight")
    assert f" is {said} of what handbooks print" in caution.text
