"""Processes that solve, and what becomes of a batch when they die, hang or are no longer wanted."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from functools import partial
from pathlib import Path

import pytest

from sequencer.workers.batch import solving
from sequencer.workers.batch.job import DEFECT, DIED, TOO_LONG, BatchSettings
from sequencer.workers.batch.solving import SolvingProcess, death
from sequencer.workers.pool import Ending
from sequencer.workers.refusals import ShuttingDown
from tests.batch import dying_child
from tests.batch.folder import IMPOSSIBLE, Here, batch, ended, job, locally, put, stored

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 60
"""Seconds after which a test that waits for something gives up; nothing is measured by it."""


@pytest.fixture(name="dying")
def dying_children(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let processes die or hang by the names of scenarios."""
    monkeypatch.setattr(solving, "WORK", dying_child.solved)


@pytest.mark.usefixtures("dying")
def test_one_that_dies_is_tried_again_once_and_the_others_go_on(tmp_path: Path) -> None:
    """One process after another, so that every scenario but the first comes after one that did its process harm."""
    for name in ("killed", "killed once", "prints", "well"):
        put(tmp_path, f"{name}.json")
    told: list[str] = []
    found = batch(tmp_path, locally(1), told=told)
    reasons = {outcome.name: outcome.reason for outcome in found.outcomes}
    assert ended(found) == {
        "killed.json": DIED,
        "killed once.json": "optimal",
        "prints.json": "optimal",
        "well.json": "optimal",
    }
    killed = "its process was ended by the signal SIGKILL (the machine may have been short of memory); it was tried 2 times"
    assert reasons["killed.json"] == killed
    assert set(stored(tmp_path / "results")) == {"killed once.json.json", "prints.json.json", "well.json.json"}
    assert len(told) == 4 and told[-1].startswith("4 done, 0 left: ")
    here = Here()
    assert batch(tmp_path, here).left == ()
    assert here.names == ["killed.json"], "what failed is tried again by the next batch"


def test_how_a_process_ended_is_told() -> None:
    assert death(7) == "its process ended by itself, with exit code 7"
    assert death(-signal.SIGSEGV) == "its process was ended by the signal SIGSEGV"
    assert death(-signal.SIGKILL).endswith("SIGKILL (the machine may have been short of memory)")


@pytest.mark.usefixtures("dying")
def test_one_that_hangs_is_ended_and_not_tried_again(tmp_path: Path) -> None:
    put(tmp_path, "hangs.json")
    found = batch(tmp_path, locally(1), BatchSettings(seconds=0.5, grace=4))
    assert ended(found) == {"hangs.json": TOO_LONG}
    assert found.outcomes[0].reason == "it had not ended after 5 s"


def test_a_batch_over_processes_is_one_over_this_process(tmp_path: Path) -> None:
    for name in ("a", "b", "c"):
        put(tmp_path, f"{name}.json")
    put(tmp_path, "none.json", IMPOSSIBLE)
    put(tmp_path, "x/a.json", "units: [")
    batches = [batch(tmp_path, runner, results=tmp_path / f".{number}") for number, runner in enumerate((Here(), locally()))]
    assert ended(batches[0]) == ended(batches[1])
    assert stored(tmp_path / ".0") == stored(tmp_path / ".1")
    assert len(stored(tmp_path / ".0")) == 4


def test_what_raises_is_a_defect_and_the_others_go_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    put(tmp_path, "a.json")
    put(tmp_path, "b.json")
    real, raised = __import__("sequencer.workers.batch.scenario_work", fromlist=["solve"]).solve, []

    def solve(*arguments: object) -> object:
        if not raised:
            raised.append(arguments)
            raise ZeroDivisionError("division by zero")
        return real(*arguments)

    monkeypatch.setattr("sequencer.workers.batch.scenario_work.solve", solve)
    found = batch(tmp_path)
    assert ended(found) == {"a.json": DEFECT, "b.json": "optimal"}
    assert found.outcomes[0].reason == "ZeroDivisionError: division by zero"


@pytest.mark.usefixtures("dying")
def test_a_process_is_ended_once_nobody_wants_its_work(tmp_path: Path) -> None:
    put(tmp_path, "hangs.json")
    wanted = threading.Event()
    wanted.set()
    process = SolvingProcess()
    process.start()
    pid = process.process.pid
    assert pid is not None
    threading.Timer(0.5, wanted.clear).start()
    with pytest.raises(ShuttingDown):
        process.work(partial(dying_child.solved, job(tmp_path, "hangs.json")), Ending(wanted=wanted.is_set), lambda _: None)
    assert not there(pid)


@pytest.mark.usefixtures("dying")
def test_a_process_does_not_outlive_its_owner(tmp_path: Path) -> None:
    put(tmp_path, "hangs.json")
    code = f"""
import sys
from pathlib import Path
from functools import partial
from sequencer.workers.batch import solving
from tests.batch import dying_child
from tests.batch.folder import job
solving.WORK = dying_child.solved
process = solving.SolvingProcess()
process.start()
print(process.process.pid, flush=True)
process.work(partial(solving.WORK, job(Path({str(tmp_path)!r}), "hangs.json")), solving.Ending(), lambda _: None)
"""
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True, cwd=ROOT) as owner:
        assert owner.stdout is not None
        pid = int(owner.stdout.readline())
        assert there(pid)
        owner.send_signal(signal.SIGKILL)
    until = time.monotonic() + PATIENCE
    while there(pid):
        assert time.monotonic() < until, "the process goes on without its owner"
        time.sleep(0.05)


def there(pid: int) -> bool:
    """Whether a process is there, and not only waits to be asked how it ended."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    status = Path(f"/proc/{pid}/stat")
    return not (status.exists() and status.read_text().rpartition(")")[2].split()[0] == "Z")
