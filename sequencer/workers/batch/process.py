"""One solving process as its owner sees it, and what is done when it dies."""

from __future__ import annotations

import contextlib
import os
import pickle
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable

from sequencer.workers.batch.job import DIED, TOO_LONG, Job, Outcome

CHILD = "sequencer.workers.batch.child"
"""The module that the process runs."""

TRIES = 2
"""How often a scenario is begun whose process dies."""

_POLL = 0.1
"""Seconds after which it is looked again whether a process is to be ended."""


class SolvingProcess:
    """A process that solves one scenario after another.

    It is no ``multiprocessing`` process, since those may not be started by the workers of a cluster. It has a session of its own,
    so that Ctrl-C reaches its owner only.
    """

    def __init__(self) -> None:
        path = [entry or os.getcwd() for entry in sys.path]  # what is imported here is what is imported there
        begin = f"import runpy, sys; sys.path[:] = {path!r}; runpy.run_module({CHILD!r}, run_name='__main__')"
        self._process = subprocess.Popen(
            [sys.executable, "-c", begin], stdin=subprocess.PIPE, stdout=subprocess.PIPE, start_new_session=True
        )
        self._late = False

    @property
    def pid(self) -> int:
        """Its number."""
        return self._process.pid

    @property
    def alive(self) -> bool:
        """Whether it can be given another scenario."""
        return self._process.poll() is None

    def run(self, job: Job, wanted: Callable[[], bool]) -> Outcome:
        """What comes of a scenario; when the process dies or is ended over it, that.

        Parameters
        ----------
        wanted
            Asked from time to time; the process is ended once nobody wants the outcome.
        """
        assert self._process.stdin is not None and self._process.stdout is not None
        over = threading.Event()
        watch = threading.Thread(target=self._watch, args=(job.settings.deadline, wanted, over), daemon=True)
        watch.start()
        try:
            pickle.dump(job, self._process.stdin)
            self._process.stdin.flush()
            outcome: Outcome = pickle.load(self._process.stdout)
        except (OSError, EOFError, pickle.UnpicklingError):
            self.end()
            if self._late:
                return Outcome(job.name, TOO_LONG, f"it had not ended after {job.settings.deadline:g} s")
            return Outcome(job.name, DIED, death(self._process.returncode))
        finally:
            over.set()
            watch.join()  # it may be ending the process this moment
        return outcome

    def end(self) -> None:
        """End it, whatever it is doing."""
        self._process.kill()
        self._process.wait()
        for stream in (self._process.stdin, self._process.stdout):
            assert stream is not None
            with contextlib.suppress(OSError):
                stream.close()  # what was still to be sent has nowhere to go

    def _watch(self, seconds: float, wanted: Callable[[], bool], over: threading.Event) -> None:
        until = time.monotonic() + seconds
        while not over.wait(_POLL):
            self._late = time.monotonic() > until
            if self._late or not wanted():
                self._process.kill()
                return


def tried(
    job: Job,
    take: Callable[[], SolvingProcess] = SolvingProcess,
    give_back: Callable[[SolvingProcess], None] = SolvingProcess.end,
    wanted: Callable[[], bool] = lambda: True,
) -> Outcome:
    """What comes of a scenario; where its process dies it is tried once again, in another one.

    Parameters
    ----------
    take, give_back
        Where solving processes come from, and where one goes that has done its work; one of its own each time unless stated.
    wanted
        Whether anybody still wants the outcome.
    """
    reasons: list[str] = []
    while len(reasons) < TRIES:
        process = take()
        try:
            outcome = process.run(job, wanted)
        except BaseException:
            process.end()
            raise
        if process.alive:
            give_back(process)
        else:
            process.end()
        if outcome.ended != DIED or not wanted():
            return outcome
        reasons.append(outcome.reason)
    told = reasons[0] if len(set(reasons)) == 1 else ", then ".join(reasons)
    return Outcome(job.name, DIED, f"{told}; it was tried {TRIES} times")


def death(code: int) -> str:
    """How a process ended, by its exit code."""
    if code >= 0:
        return f"its process ended by itself, with exit code {code}"
    name = signal.Signals(-code).name if -code in {each.value for each in signal.Signals} else str(-code)
    killed = " (the machine may have been short of memory)" if name == "SIGKILL" else ""
    return f"its process was ended by the signal {name}{killed}"
