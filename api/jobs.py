"""A bounded pool of threads for work that takes longer than the event loop may be held up."""

from __future__ import annotations

import asyncio
import logging
import threading
from collections.abc import Awaitable, Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any, TypeVar

from api.errors import ClientGone, PoolFull, ShuttingDown
from sequencer import StopSignal

Outcome = TypeVar("Outcome")

_log = logging.getLogger(__name__)


class Pool:
    """Runs a few jobs at once, lets a few more wait, and turns the rest away.

    Parameters
    ----------
    running, waiting
        Number of jobs that run at once, and that may wait for their turn.
    retry_after
        Seconds after which those turned away should try again.

    Notes
    -----
    Every job ends in exactly one way: with its result, with what it raised, or, when it was still waiting, cancelled. A job
    that runs is ended by its signal only, and keeps its place until it has ended.
    """

    def __init__(self, running: int, waiting: int, retry_after: int) -> None:
        self._threads = ThreadPoolExecutor(running, thread_name_prefix="job")
        self._most = running
        self._places = running + waiting
        self._retry_after = retry_after
        self._lock = threading.Lock()
        self._jobs: dict[Future[Any], StopSignal] = {}
        self._closing = False

    @property
    def jobs(self) -> int:
        """Number of jobs that run or wait."""
        with self._lock:
            return len(self._jobs)

    def counts(self) -> tuple[int, int]:
        """Number of jobs that run, and that wait."""
        jobs = self.jobs
        running = min(jobs, self._most)
        return running, jobs - running

    def refuse_if_full(self) -> None:
        """Turn a request away before its body is read, if there is no place for it now.

        Raises
        ------
        PoolFull, ShuttingDown
        """
        with self._lock:
            self._check_room()

    async def run(self, work: Callable[[StopSignal], Outcome], gone: Callable[[], Awaitable[object]]) -> Outcome:
        """Run a job and wait for its outcome.

        Parameters
        ----------
        work
            The job, called in a thread of the pool. It should end soon after its signal is given.
        gone
            Awaited meanwhile; when it returns, nobody wants the outcome any more and the job is stopped.

        Raises
        ------
        PoolFull, ShuttingDown, ClientGone
        """
        return await self.outcome(*self.begin(work), gone)

    def begin(self, work: Callable[[StopSignal], Outcome]) -> tuple[Future[Outcome], StopSignal]:
        """Give a job its place; whoever does must await its outcome.

        Raises
        ------
        PoolFull, ShuttingDown
        """
        stop = StopSignal()
        with self._lock:
            self._check_room()
            job = self._threads.submit(work, stop)
            self._jobs[job] = stop
        job.add_done_callback(self._forget)
        return job, stop

    async def outcome(self, job: Future[Outcome], stop: StopSignal, gone: Callable[[], Awaitable[object]]) -> Outcome:
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
                raise ShuttingDown("The server is shutting down.")
            if not outcome.done():
                raise ClientGone("The client went away.")
            return outcome.result()
        finally:
            leaving.cancel()
            if not outcome.done():
                # Also when this request is itself cancelled: nobody is left to want the outcome.
                stop.stop()
                outcome.cancel()

    def close(self) -> None:
        """Stop what runs, cancel what waits, take nothing more; returns at once."""
        with self._lock:
            self._closing = True
            jobs = dict(self._jobs)
        for job, stop in jobs.items():
            stop.stop()
            job.cancel()

    async def closed(self) -> None:
        """Close, and wait until every job has ended."""
        self.close()
        await asyncio.to_thread(self._threads.shutdown)

    def _check_room(self) -> None:
        if self._closing:
            raise ShuttingDown("The server is shutting down.")
        if len(self._jobs) >= self._places:
            raise PoolFull("As many requests as this server takes are being worked on.", {"Retry-After": str(self._retry_after)})

    def _forget(self, job: Future[Outcome]) -> None:
        with self._lock:
            stop = self._jobs.pop(job)
        if stop.stopped and not job.cancelled() and (error := job.exception()) is not None:
            # Its request may be gone, so that nobody else sees this.
            _log.error("a job failed after it was stopped", exc_info=error)
