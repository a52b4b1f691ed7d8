"""Processes of this machine, a few at once, each solving one scenario after another."""

from __future__ import annotations

import queue
from concurrent.futures import Future, ThreadPoolExecutor

from sequencer.workers.batch.job import Job, Outcome
from sequencer.workers.batch.process import SolvingProcess, tried


class LocalProcesses:
    """Runs so many scenarios at once.

    A thread waits for each process. A process is used again, since it takes as long to begin as a small scenario to solve; one
    that died or was stopped is replaced.
    """

    def __init__(self, count: int) -> None:
        self._threads = ThreadPoolExecutor(count, thread_name_prefix="batch")
        self._idle: queue.SimpleQueue[SolvingProcess] = queue.SimpleQueue()
        self._closing = False

    def submit(self, job: Job) -> Future[Outcome]:
        """Have a scenario solved when there is room."""
        return self._threads.submit(tried, job, self._take, self._idle.put, lambda: not self._closing)

    def reason_lost(self, error: BaseException) -> str:
        """Why a scenario has no outcome."""
        return f"its process could not be used ({error})"

    def close(self) -> None:
        """End every process, whatever it is doing, and take nothing more."""
        self._closing = True
        self._threads.shutdown(cancel_futures=True)
        while not self._idle.empty():
            self._idle.get().end()

    def _take(self) -> SolvingProcess:
        try:
            return self._idle.get_nowait()
        except queue.Empty:
            return SolvingProcess()
