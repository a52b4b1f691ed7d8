"""A bounded pool of workers, for whatever takes longer than its owner may be held up, and how each of its jobs is told to end."""

from __future__ import annotations

import asyncio
import math
import os
import threading
import time
from collections.abc import Awaitable, Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any, Protocol

from sequencer import StopSignal
from sequencer.workers.refusals import ClientGone, PoolFull, ShuttingDown, TooMuch
from sequencer.workers.serving import Job, Tell

GONE_SECONDS = 0.25
"""How long a job may go on when nobody wants its outcome any more; then whatever works on it is ended."""

CLOSING_SECONDS = 5.0
"""How long a job may take to say what it has when the server ends, on a machine that has nothing else to do."""

MOST_STRETCHED = 4.0


def stretched(seconds: float) -> float:
    """As long as it takes for what a quiet machine does in so many seconds, up to four times as long on a busy one."""
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else 0.0
    return seconds * min(MOST_STRETCHED, max(1.0, load / (os.cpu_count() or 1)))


class Allowance:
    """How long a request may be worked on, over all that is done for it; while it waits for its turn no time passes.

    After so many seconds whatever works on it is told to stop, and to answer with what it has; after the grace it is ended.
    """

    def __init__(self, seconds: float, grace: float) -> None:
        self._seconds, self._grace = seconds, grace
        self._spent = 0.0

    @property
    def left(self) -> float:
        """Seconds that are left before what works on it is told to stop."""
        return max(0.0, self._seconds - self._spent)

    @property
    def patience(self) -> float:
        """Seconds that are left before it is ended."""
        return self.left + self._grace

    def spend(self, seconds: float) -> None:
        """So many were worked."""
        self._spent += seconds

    def overrun(self) -> TooMuch:
        """What is told of a request that was ended."""
        message = (
            f"This was worked on for more than the {self._seconds:g} s allowed and {self._grace:g} s of grace, and then ended. "
            "Only this request failed; allow more seconds, or send it again when the server has less to do."
        )
        return TooMuch("grace", self._grace, message)


class Ending:
    """Tells a job to end, and knows by when it must have: by what its request, and what it itself, may take.

    From time to time it asks whether the outcome is still ``wanted``.
    """

    def __init__(
        self, allowance: Allowance | None = None, most: float = math.inf, wanted: Callable[[], bool] = lambda: True
    ) -> None:
        self.signal = StopSignal()
        self.time_up = math.inf
        """Time of the monotonic clock at which it is to be told to stop."""
        self.why: Exception = ShuttingDown.now()
        """What is told where patience ends first."""
        self._allowance, self._most, self._wanted = allowance, most, wanted
        self._last = self._asked = math.inf
        self._began = math.inf
        self._lock = threading.Lock()

    def begin(self) -> None:
        """It is worked on, from the beginning: from now on its time passes."""
        now = self._began = time.monotonic()
        with self._lock:
            self._last, self.why = self._asked, ShuttingDown.now()
        if self._allowance is not None:
            self.time_up = now + self._allowance.left
            self._end_by(now + self._allowance.patience, self._allowance.overrun())
        if self._most < math.inf:
            message = f"Reading this, and checking it, takes longer than {self._most:g} s, the most for one request."
            self._end_by(now + self._most, TooMuch("reading_seconds", self._most, message))

    def over(self) -> None:
        """It is worked on no more."""
        if self._allowance is not None:
            self._allowance.spend(max(0.0, time.monotonic() - self._began))

    def end(self, seconds: float) -> None:
        """Tell it to end within so many seconds; safe to call from any thread, more than once."""
        # Where its client has gone nobody hears this.
        self._asked = min(self._asked, time.monotonic() + seconds)
        self._end_by(self._asked, ShuttingDown.now())
        self.signal.stop()

    def is_over(self, now: float) -> bool:
        """Whether patience has ended at a time of the monotonic clock, for the reason ``why``."""
        return now > self._last or not self._wanted()

    def _end_by(self, last: float, why: Exception) -> None:
        with self._lock:
            if last < self._last:
                self._last, self.why = last, why


class Worker(Protocol):
    """Works on one job at a time."""

    def work(self, job: Job, ending: Ending, tell: Tell) -> Any:
        """Do a job and return its outcome, or raise what it raised."""

    def start(self) -> None:
        """Get ready, so that the first job need not wait for that."""

    def close(self) -> None:
        """End; no job is being worked on."""


class Pool:
    """Runs so many jobs at once, each by a worker of its own, lets a few more wait, and turns the rest away.

    Those turned away should try again after so many seconds; a job may take ``most`` seconds.

    Notes
    -----
    Every job ends in exactly one way: with its result, with what it raised, or, when it was still waiting, cancelled. A job
    that runs is ended by its signal, or with its worker; it keeps its place until it has ended.
    """

    def __init__(
        self, running: int, waiting: int, retry_after: int, worker: Callable[[], Worker], most: float = math.inf
    ) -> None:
        # A thread for each worker does nothing but wait for it.
        self._threads = ThreadPoolExecutor(running, thread_name_prefix="job")
        self.workers = tuple(worker() for _ in range(running))
        self._idle = list(self.workers)
        self._running = running
        self._places = running + waiting
        self._retry_after = retry_after
        self._most = most
        self._lock = threading.Lock()
        self._jobs: dict[Future[Any], Ending] = {}
        self._closing = False

    @property
    def jobs(self) -> int:
        """Number of jobs that run or wait."""
        with self._lock:
            return len(self._jobs)

    def counts(self) -> tuple[int, int]:
        """Number of jobs that run, and that wait."""
        jobs = self.jobs
        running = min(jobs, self._running)
        return running, jobs - running

    def start(self) -> None:
        """Let every worker get ready, before the first job, which waits for its worker; returns at once."""
        while self._idle:
            self._threads.submit(self._get_ready, self._idle.pop())

    def refuse_if_full(self) -> None:
        """Turn a request away before its body is read, if there is no place for it now.

        Raises
        ------
        PoolFull, ShuttingDown
        """
        with self._lock:
            self._check_room()

    async def run(self, job: Job, gone: Callable[[], Awaitable[object]], allowance: Allowance | None = None) -> Any:
        """Run a job and wait for its outcome.

        ``gone`` is awaited meanwhile; when it returns, nobody wants the outcome any more and the job is stopped.

        Raises
        ------
        PoolFull, ShuttingDown, ClientGone, TooMuch
        """
        return await self.outcome(*self.begin(job, allowance), gone)

    def begin(
        self, job: Job, allowance: Allowance | None = None, tell: Tell | None = None, most: float = math.inf
    ) -> tuple[Future[Any], Ending]:
        """Give a job, which may take so many seconds, its place; whoever does must await its outcome.

        ``tell`` is given what the job tells, from any thread.

        Raises
        ------
        PoolFull, ShuttingDown
        """
        ending = Ending(allowance, min(most, self._most))
        with self._lock:
            self._check_room()
            future = self._threads.submit(self._work, job, ending, tell or (lambda _: None))
            self._jobs[future] = ending
        future.add_done_callback(self._forget)
        return future, ending

    async def outcome(self, job: Future[Any], ending: Ending, gone: Callable[[], Awaitable[object]]) -> Any:
        """Wait for a job's outcome, and stop it when nobody wants that any more.

        Raises
        ------
        ShuttingDown, ClientGone
        """
        outcome = asyncio.wrap_future(job)
        leaving = asyncio.ensure_future(gone())
        try:
            either: set[asyncio.Future[Any]] = {outcome, leaving}
            await asyncio.wait(either, return_when=asyncio.FIRST_COMPLETED)
            if outcome.cancelled():
                raise ShuttingDown.now()
            if not outcome.done():
                raise ClientGone("The client went away.")
            return outcome.result()
        finally:
            leaving.cancel()
            if not outcome.done():
                # Also when this request is itself cancelled: nobody is left to want the outcome.
                ending.end(GONE_SECONDS)
                outcome.cancel()

    def close(self, seconds: float | None = None) -> None:
        """Stop what runs within so many seconds, cancel what waits, take nothing more; returns at once."""
        with self._lock:
            self._closing = True
            jobs = dict(self._jobs)
        for job, ending in jobs.items():
            ending.end(stretched(CLOSING_SECONDS) if seconds is None else seconds)
            job.cancel()

    def wait_closed(self) -> None:
        """Wait until every job has ended; the pool is closed."""
        self._threads.shutdown()
        for worker in self.workers:
            worker.close()

    async def closed(self) -> None:
        """Close, and wait until every job has ended."""
        self.close()
        await asyncio.to_thread(self.wait_closed)

    def _work(self, job: Job, ending: Ending, tell: Tell) -> Any:
        with self._lock:
            # The one that worked last: what it needs is most likely still at hand.
            worker = self._idle.pop()
        try:
            return worker.work(job, ending, tell)
        finally:
            ending.over()
            with self._lock:
                self._idle.append(worker)

    def _get_ready(self, worker: Worker) -> None:
        try:
            worker.start()
        finally:
            with self._lock:
                self._idle.append(worker)

    def _check_room(self) -> None:
        if self._closing:
            raise ShuttingDown.now()
        if len(self._jobs) >= self._places:
            raise PoolFull("As many requests as this server takes are being worked on.", {"Retry-After": str(self._retry_after)})

    def _forget(self, job: Future[Any]) -> None:
        with self._lock:
            del self._jobs[job]
