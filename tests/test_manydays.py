"""Many days at once are the same days, here and on the workers of a cluster; one that fails loses no other."""

import importlib.util
import logging
import os
import pickle
import signal
import threading
import time
import warnings
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from formula import (
    Bakery,
    Formula,
    FormulaError,
    ManyDays,
    Mixer,
    Order,
    load_day,
    load_workshop,
    plan_day,
    plan_days,
)
from formula.manydays import Day

HARBOUR = Path(__file__).parents[1] / "docs" / "examples" / "harbour"
ORDERS, BAKERY = load_day(HARBOUR)
WORKSHOP = load_workshop(HARBOUR)
LOAF = Formula.from_percents(
    "Loaf", {"bread flour": 100, "water": 70, "salt": 2, "fresh yeast": 1}, dough_temperature="25 °C"
)


def bakery(name: str, flour: str = "20 °C") -> Bakery:
    mixers = [Mixer("spiral", capacity="160 kg", friction="20 K")]
    return Bakery(name, mixers=mixers, flour=flour, room="22 °C", tap="14 °C")


def small_day(number: int) -> tuple[list[Order], Bakery]:
    return [Order(LOAF, pieces=100 + number, baked="812 g")], bakery(f"pier {number}", f"{18 + number % 7} °C")


class OddBakery(Bakery):
    """One whose plans come to no good."""

    def __reduce__(self) -> Any:  # noqa: ANN401
        return other, (type(self),)


class WrongBakery(OddBakery):
    """Something the library does not reckon with: it is found out only when the day is planned."""

    @property
    def share_doughs(self) -> bool:
        message = "the cat sat on it"
        raise RuntimeError(message)


class DeadlyBakery(OddBakery):
    """Ends the process that plans with it."""

    @property
    def share_doughs(self) -> bool:
        os._exit(3)


def other(kind: type[Bakery]) -> Bakery:
    made = object.__new__(kind)
    plain = bakery("odd")
    for name in ("name", "mixers", "flour_c", "room_c", "tap_c", "ice_c", "steps_g", "divider_g", "stages_c", "hours"):
        object.__setattr__(made, name, getattr(plain, name))
    return made


class TestHere:
    """Without a cluster, the days are planned one after the other."""

    def test_they_are_the_plans_of_plan_day(self) -> None:
        found = plan_days([HARBOUR, (ORDERS, BAKERY), (iter(ORDERS), BAKERY, None), small_day(3)])
        orders, pier = small_day(3)
        wanted = [plan_day(ORDERS, BAKERY, WORKSHOP), plan_day(ORDERS, BAKERY), plan_day(ORDERS, BAKERY)]
        assert [day.plan for day in found.days] == [*wanted, plan_day(orders, pier)]
        assert [day.name for day in found.days] == [str(HARBOUR), BAKERY.name, f"{BAKERY.name} (2)", "pier 3"]
        assert found.check() is found

    @pytest.mark.parametrize("folder", [HARBOUR, str(HARBOUR)])
    def test_one_folder_is_one_day(self, folder: str | Path) -> None:
        assert [day.name for day in plan_days(folder).days] == [str(HARBOUR)]

    def test_doughs_are_shared_if_asked(self) -> None:
        for share in (True, False):
            found = plan_days([(ORDERS, BAKERY)], share=share)
            assert found.days[0].plan == plan_day(ORDERS, BAKERY, share=share)

    def test_sums(self) -> None:
        found = plan_days({str(number): small_day(number) for number in range(3)})
        plans = [plan_day(*small_day(number)) for number in range(3)]
        assert found.dough_g == pytest.approx(sum(plan.dough_g for plan in plans), rel=1e-12)
        flour_g = sum(plan.ingredients_g["bread flour"] for plan in plans)
        assert found.ingredients_g["bread flour"] == pytest.approx(flour_g, rel=1e-12)

    def test_columns_go_into_a_frame(self) -> None:
        import pandas as pd

        found = plan_days([small_day(1), ([], BAKERY), small_day(2)])
        frame = pd.DataFrame(found.columns())
        assert frame["day"].tolist() == ["pier 1", "pier 2"]
        assert frame["pieces"].tolist() == [101, 102]
        assert frame["dough_g"].sum() == pytest.approx(found.dough_g, rel=1e-12)
        lines = pd.DataFrame(found.ingredient_columns())
        assert lines.groupby("ingredient")["mass_g"].sum().to_dict() == pytest.approx(dict(found.ingredients_g))

    def test_they_are_a_value(self) -> None:
        found = plan_days([small_day(1), ([], BAKERY)])
        again = pickle.loads(pickle.dumps(found))  # noqa: S301 - our own bytes
        assert again == found
        assert hash(again) == hash(plan_days([small_day(1), ([], BAKERY)]))


def bad_days(folder: Path) -> dict[str, Any]:
    broken = folder / "broken"
    broken.mkdir()
    (broken / "bakery.toml").write_text("name = ", encoding="utf-8")
    return {
        "good": small_day(1),
        "no orders": ([], BAKERY),
        "nowhere": folder / "nowhere",
        "broken": broken,
        "too heavy": ([Order(LOAF, pieces=1, baked="900 kg")], bakery("small")),
        "no day": 5,
        "no bakery": (ORDERS, "Harbour"),
        "no order": (["loaf"], BAKERY),
        "no workshop": (ORDERS, BAKERY, "Harbour"),
        "odd": (ORDERS, other(WrongBakery)),
        "good as well": small_day(2),
    }


WRONG = {
    "no orders": "orders: got none, expected at least one order",
    "nowhere": "nowhere: got no folder",
    "broken": "bakery.toml",
    "too heavy": "Loaf",
    "no day": "day: got 5, expected a folder, or (orders, bakery)",
    "no bakery": "bakery: got 'Harbour', expected a Bakery",
    "no order": "orders[0]: got 'loaf', expected an Order",
    "no workshop": "workshop: got 'Harbour', expected a Workshop or None",
    "odd": "day: got RuntimeError: the cat sat on it",
}


def check_bad_days(found: ManyDays) -> None:
    assert list(found.plans) == ["good", "good as well"]
    assert [day.name for day in found.failed] == list(WRONG)
    for day in found.failed:
        assert WRONG[day.name] in str(day.faults[0])
    with pytest.raises(FormulaError) as refused:
        found.check()
    assert {fault.where.partition(":")[0] for fault in refused.value.faults} == set(WRONG)


def test_a_bad_day_brings_its_fault_by_name_and_loses_no_other(tmp_path: Path) -> None:
    check_bad_days(plan_days(bad_days(tmp_path)))


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"days": []}, "days: got none, expected at least one day"),
        ({"days": {}}, "days: got none, expected at least one day"),
        ({"bundle": 0}, "bundle: got 0, expected a whole number of at least 1"),
        ({"client": "tcp://127.0.0.1:8786"}, "expected a client of Dask; make one with distributed.Client"),
    ],
)
def test_what_is_refused_at_once(arguments: dict[str, Any], message: str) -> None:
    given: dict[str, Any] = {"days": [small_day(1)], **arguments}
    with pytest.raises(FormulaError, match=message):
        plan_days(given.pop("days"), **given)


needs_dask = pytest.mark.skipif(
    importlib.util.find_spec("distributed") is None,
    reason="dask is not installed; this needs: pip install 'dough-formula[many]'",
)


@pytest.fixture(scope="module")
def cluster(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Start two workers, processes of this machine that are reached over its loopback alone; no page, no log."""
    import dask
    from distributed import LocalCluster

    settings = {
        "distributed.scheduler.allowed-failures": 1,
        "distributed.comm.timeouts.connect": "2s",  # what lay with a worker that died is asked for so long
        "distributed.worker.profile.enabled": False,
    }
    with (
        warnings.catch_warnings(),
        dask.config.set(settings),
        LocalCluster(  # type: ignore[no-untyped-call]
            n_workers=2,
            threads_per_worker=1,
            processes=True,
            host="127.0.0.1",
            dashboard_address=None,
            scheduler_kwargs={"dashboard_address": "127.0.0.1:0"},  # else it holds a port that another may want
            silence_logs=logging.CRITICAL,
            local_directory=str(tmp_path_factory.mktemp("workers")),
        ) as started,
    ):
        yield started


@pytest.fixture(scope="module")
def client(cluster: Any) -> Iterator[Any]:  # noqa: ANN401
    from distributed import Client

    with Client(cluster) as made:  # type: ignore[no-untyped-call]
        yield made


@needs_dask
class TestOnWorkers:
    """Two processes plan the same days to the last bit."""

    @pytest.mark.parametrize("bundle", [None, 1, 7])
    def test_equal_to_the_last_bit(self, client: Any, bundle: int | None) -> None:  # noqa: ANN401
        days: list[Day] = [HARBOUR, (ORDERS, BAKERY, WORKSHOP), *map(small_day, range(20))]
        here, there = plan_days(days), plan_days(days, client, bundle=bundle)
        assert there == here
        assert hash(there) == hash(here)
        # Equal floats may still differ in a sign of zero; what they print as differs in nothing.
        assert repr(there) == repr(here)
        assert [day.name for day in there.days] == [day.name for day in here.days]

    def test_bad_days(self, client: Any, tmp_path: Path) -> None:  # noqa: ANN401
        days = bad_days(tmp_path)
        found = plan_days(days, client, bundle=3)
        check_bad_days(found)
        assert found == plan_days(days)

    def test_both_workers_work(self, client: Any, cluster: Any) -> None:  # noqa: ANN401
        assert len(client.nthreads()) == 2
        pids = set(client.run(os.getpid).values())
        assert len(pids | {os.getpid()}) == 3
        assert cluster.scheduler_address.startswith("tcp://127.0.0.1:")

    def test_a_day_that_cannot_be_sent_loses_no_other(self, client: Any) -> None:  # noqa: ANN401
        class Unsendable(Bakery):
            def __reduce__(self) -> Any:  # noqa: ANN401
                message = "not to be pickled"
                raise RuntimeError(message)

        found = plan_days({"good": small_day(1), "stays": (ORDERS, other(Unsendable))}, client, bundle=2)
        assert list(found.plans) == ["good"]
        assert [day.name for day in found.failed] == ["stays"]

    def test_a_worker_killed_in_the_middle_loses_nothing(self, client: Any, cluster: Any) -> None:  # noqa: ANN401
        days: list[Day] = [(ORDERS, BAKERY, WORKSHOP)] * 60
        victim = next(iter(client.run(os.getpid).values()))
        answers: list[ManyDays] = []
        thread = threading.Thread(target=lambda: answers.append(plan_days(days, client, bundle=1)))

        def states() -> Counter[str]:
            return Counter(task.state for task in list(cluster.scheduler.tasks.values()))

        thread.start()
        latest = time.monotonic() + 60
        while states()["memory"] < 5 and time.monotonic() < latest:
            time.sleep(0.005)
        os.kill(victim, signal.SIGKILL)
        assert states()["memory"] < 50, "all was planned before the worker died: nothing is shown"
        thread.join(60)
        assert not thread.is_alive()
        assert answers == [plan_days(days)]
        assert victim not in client.run(os.getpid).values()

    def test_a_day_that_kills_its_worker_every_time_is_lost_alone(
        self,
        client: Any,  # noqa: ANN401
        cluster: Any,  # noqa: ANN401
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        monkeypatch.setattr(cluster.scheduler, "allowed_failures", 0)
        days: dict[str, Day] = {"good": small_day(1), "deadly": (ORDERS, other(DeadlyBakery)), "last": small_day(2)}
        found = plan_days(days, client, bundle=3)
        assert list(found.plans) == ["good", "last"]
        assert "KilledWorker" in str(found.failed[0].faults[0])

    def test_an_asynchronous_client_is_refused(self) -> None:
        from distributed import Client

        with pytest.raises(FormulaError, match="client: got an asynchronous one, expected one that waits"):
            plan_days([small_day(1)], object.__new__(type("Later", (Client,), {"asynchronous": True})))
