"""Worker processes that solve the scenarios of a batch: a few of this machine, or one for a scenario of a cluster."""

from __future__ import annotations

import math
import signal
import sys
from collections.abc import Callable
from concurrent.futures import Future
from functools import partial
from typing import Any

from sequencer.workers.batch.job import DIED, TOO_LONG, Job, ScenarioOutcome
from sequencer.workers.batch.scenario_work import worked
from sequencer.workers.pool import Ending, Pool
from sequencer.workers.process import WorkerProcess
from sequencer.workers.refusals import TooMuch, WorkerDied
from sequencer.workers.serving import Tell

WORK = worked
"""What a worker process does with a scenario."""

TRIES = 2
"""How often a scenario is begun whose process dies."""


class SolvingProcess:
    """A worker process for which every scenario comes to an outcome: where the process dies it is tried again, in a fresh one."""

    def __init__(self) -> None:
        self.process = WorkerProcess(math.inf, WORK.__module__)
        self.start, self.close = self.process.start, self.process.close

    def work(self, job: Callable[..., Any], ending: Ending, tell: Tell) -> ScenarioOutcome:
        """What comes of a scenario; when its process dies or is ended over it, that."""
        assert isinstance(job, partial)
        scenario: Job = job.args[0]
        reasons: list[str] = []
        while len(reasons) < TRIES:
            try:
                outcome: ScenarioOutcome = self.process.work(job, ending, tell)
            except TooMuch:
                return ScenarioOutcome(scenario.name, TOO_LONG, f"it had not ended after {scenario.settings.deadline:g} s")
            except WorkerDied as died:
                reasons.append(death(died.code) if died.code is not None else str(died))
            else:
                return outcome
        told = reasons[0] if len(set(reasons)) == 1 else ", then ".join(reasons)
        return ScenarioOutcome(scenario.name, DIED, f"{told}; it was tried {TRIES} times")


class LocalProcesses:
    """Runs so many scenarios at once, each process one after another, and as many wait as there are."""

    def __init__(self, count: int) -> None:
        self._pool = Pool(count, sys.maxsize, 0, SolvingProcess)

    def submit(self, job: Job) -> Future[ScenarioOutcome]:
        """Have a scenario solved when there is room."""
        return self._pool.begin(partial(WORK, job), most=job.settings.deadline)[0]

    def reason_lost(self, error: BaseException) -> str:
        """Why a scenario has no outcome."""
        return f"its process could not be used ({error})"

    def close(self) -> None:
        """End every process, whatever it is doing, and take nothing more."""
        self._pool.close(0)
        self._pool.wait_closed()


def tried(job: Job, wanted: Callable[[], bool]) -> ScenarioOutcome:
    """What comes of a scenario in a process of its own, which is ended once nobody wants that any more."""
    process = SolvingProcess()
    try:
        return process.work(partial(WORK, job), Ending(most=job.settings.deadline, wanted=wanted), lambda _: None)
    finally:
        process.process.kill()


def death(code: int) -> str:
    """How a process ended, by its exit code."""
    if code >= 0:
        return f"its process ended by itself, with exit code {code}"
    name = signal.Signals(-code).name if -code in {each.value for each in signal.Signals} else str(-code)
    killed = " (the machine may have been short of memory)" if name == "SIGKILL" else ""
    return f"its process was ended by the signal {name}{killed}"
