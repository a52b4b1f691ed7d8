"""A batch over a Dask cluster of two workers, which the test starts, is the batch without it; one worker may be lost."""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path
from threading import Event
from typing import Any

import pytest

from sequencer import UnusableSettings
from sequencer.__main__ import main
from sequencer.workers.batch import cluster
from sequencer.workers.batch.cluster import Cluster
from sequencer.workers.batch.results import Results
from sequencer.workers.batch.run import Batch, run_batch
from tests.batch.folder import IMPOSSIBLE, SETTINGS, SMALL, batch, ended, put, stored
from tests.batch.test_processes import PATIENCE, there

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"

needs_distributed = pytest.mark.skipif(
    find_spec("distributed") is None, reason="the extra cluster (the package distributed) is not installed"
)


def test_without_the_package_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: Any) -> None:
    put(tmp_path, "a.json")
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert main(["batch", str(tmp_path), "--cluster", "tcp://127.0.0.1:1"]) == 2
    message = "--cluster needs the package distributed, which is not installed: pip install 'unit-sequencer[cluster]'"
    assert capsys.readouterr().err.splitlines() == [message]


@needs_distributed
@pytest.mark.parametrize("address", ["tcp://127.0.0.1:1", "nowhere://x"])
def test_where_nothing_answers_it_says_so(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "PATIENCE", 0.5)
    with pytest.raises(UnusableSettings, match=f"no cluster answers at {address}"):
        Cluster(address)


@pytest.fixture(name="two_workers", scope="module")
def a_cluster_of_two_workers() -> Iterator[Any]:
    """Start a scheduler and two workers, each in a process of its own."""
    from distributed import LocalCluster

    with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as started:
        yield started


@pytest.mark.slow
@needs_distributed
def test_over_a_cluster_it_is_the_same_and_one_worker_may_be_lost(two_workers: Any, tmp_path: Path) -> None:
    for name in ("a", "b", "c", "d"):
        put(tmp_path, f"{name}.json", {**SMALL, "title": name})
    put(tmp_path, "none.json", IMPOSSIBLE)
    put(tmp_path, "slip.yaml", "units: [")
    lost: list[int] = []

    def lose_a_worker(line: str) -> None:
        """Once the first is done, kill a worker that is at work."""
        if lost or "slip" in line:
            return
        busy = next(address for address, tasks in running.client.processing().items() if tasks)
        lost.append(next(each.pid for each in two_workers.workers.values() if each.worker_address == busy))
        os.kill(lost[0], signal.SIGKILL)

    running = Cluster(two_workers.scheduler_address)
    over = run_batch(tmp_path, SETTINGS, Results(tmp_path / ".cluster"), lambda: running, lose_a_worker, Event())
    assert lost and not there(lost[0])
    without: Batch = batch(tmp_path, results=tmp_path / ".here")
    assert ended(over) == ended(without)
    assert sum(outcome.ended == "optimal" for outcome in over.outcomes) == 4
    assert stored(tmp_path / ".cluster") == stored(tmp_path / ".here")


@pytest.mark.slow
@needs_distributed
def test_stopped_it_takes_back_what_workers_are_at(two_workers: Any, tmp_path: Path) -> None:
    put(tmp_path, "a.json")
    for name in ("b.yaml", "c.yaml", "d.yaml"):
        put(tmp_path, name, (SCENARIOS / "six-classes.yaml").read_text(encoding="utf-8"))
    stop, kept = Event(), Results(tmp_path / ".results")
    running = Cluster(two_workers.scheduler_address)

    def stop_it(_line: str) -> None:
        assert children(two_workers), "workers solve in processes of their own"
        stop.set()

    over = run_batch(tmp_path, replace(SETTINGS, seconds=600), kept, lambda: running, stop_it, stop)
    assert ended(over) == {"a.json": "optimal"} and over.left == ("b.yaml", "c.yaml", "d.yaml")
    until = time.monotonic() + PATIENCE
    while children(two_workers):
        assert time.monotonic() < until, "a worker goes on with what nobody wants any more"
        time.sleep(0.05)


def children(two_workers: Any) -> list[int]:
    """Return the solving processes beneath the workers: each was forked from one that has loaded all."""
    found: list[int] = []
    waiting = [each.pid for each in two_workers.workers.values()]
    while waiting:
        parent = waiting.pop()
        beneath = _beneath(parent)
        waiting += beneath
        found += [pid for pid in beneath if "forkserver" in _command(pid) == _command(parent)]
    return found


def _beneath(pid: int) -> list[int]:
    try:
        return [int(child) for each in Path(f"/proc/{pid}/task").iterdir() for child in (each / "children").read_text().split()]
    except OSError:  # it has just ended
        return []


def _command(pid: int) -> str:
    try:
        return Path(f"/proc/{pid}/cmdline").read_text()
    except OSError:
        return ""
