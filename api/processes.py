"""Work done in a process of its own, whose death costs one request and whose memory is bounded."""

from __future__ import annotations

import atexit
import contextlib
import itertools
import logging
import multiprocessing
import os
import pickle
import threading
import time
import weakref
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from api.calls import Job, Raised, Tell
from api.errors import ShuttingDown, TooMuch, WorkerDied
from api.jobs import Ending
from api.worker import ENDED, MEGABYTE, STOP, TOLD, WORK, serve

TICK = 0.05
"""Seconds after which a worker that says nothing is looked at: whether it shall stop, and what memory it takes."""

EXIT_SECONDS = 2.0
"""How long a worker that has nothing to do may take to end."""

KEPT = 0.5
"""Share of its bound of memory that a worker may hold on to between jobs; one with more is replaced by a fresh one."""

TRIES = 3
"""How often a job is handed to a fresh process when the one before ended without having taken it."""

_log = logging.getLogger("api.workers")

_numbers = itertools.count(1)
_starting = threading.Lock()


def _context() -> Any:
    """How worker processes are started: from one that has loaded everything already, where there is such a way."""
    if "forkserver" in multiprocessing.get_all_start_methods():
        context = multiprocessing.get_context("forkserver")
        context.set_forkserver_preload(["api.preloaded"])
        return context
    return multiprocessing.get_context("spawn")


class _NotTaken(Exception):
    """The process ended before it had the job."""


class WorkerProcess:
    """Works on one job at a time, in a process that is started with the first one and again whenever it has ended.

    Parameters
    ----------
    memory
        Megabytes that the process may take, the program itself included.
    """

    def __init__(self, memory: int) -> None:
        self._memory = memory
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self.busy = False
        """Whether it has a job and has not done it."""
        _all.add(self)

    @property
    def pid(self) -> int | None:
        """The process's number; None where there is none now."""
        return self._process.pid if self._process is not None else None

    def start(self) -> None:
        """Start the process unless it runs."""
        if self._process is not None and self._process.is_alive():
            return
        self.kill()
        context = _context()
        ours, theirs = context.Pipe()
        process = context.Process(target=serve, args=(theirs, self._memory), daemon=True)
        with _starting:
            process.start()
        theirs.close()
        self._process, self._pipe = process, ours

    def work(self, job: Job, ending: Ending, tell: Tell) -> Any:
        """Do a job and return its outcome.

        Raises
        ------
        WorkerDied, TooMuch, ShuttingDown
            When the process ended before the job did: by itself, because it took too much, or because it did not heed a signal.
        """
        packed = pickle.dumps(job)
        for _ in range(TRIES):
            number = next(_numbers)
            try:
                self._hand_over(number, packed)
                outcome = self._awaited(number, ending, tell)
                break
            except _NotTaken:
                # It had ended while it had nothing to do: no request is the worse for it.
                continue
            except BaseException:
                # Whatever the process still has to say of this job, the next one must not hear it.
                self.kill()
                raise
        else:
            raise WorkerDied.alone()
        if self.used() > KEPT * self._memory * MEGABYTE:
            self.kill()
        if isinstance(outcome, Raised):
            if isinstance(outcome.error, MemoryError):
                raise self._too_much()
            if outcome.where:
                _log.error("a job failed: %s", outcome.where)
            raise outcome.error
        return outcome

    def close(self) -> None:
        """Let the process end; no job is being worked on."""
        if self._pipe is not None:
            self._pipe.close()
        if self._process is not None:
            self._process.join(EXIT_SECONDS)
        self.kill()

    def kill(self) -> None:
        """End the process at once."""
        if self._pipe is not None:
            self._pipe.close()
        if self._process is not None:
            self._process.kill()
            self._process.join(EXIT_SECONDS)
        self._process = self._pipe = None
        self.busy = False

    def _hand_over(self, number: int, packed: bytes) -> None:
        self.start()
        assert self._pipe is not None
        try:
            self._pipe.send((WORK, number, packed))
        except OSError:
            self.kill()
            raise _NotTaken from None

    def _awaited(self, number: int, ending: Ending, tell: Tell) -> Any:
        """What the job ends with; what it tells on the way is passed on."""
        assert self._pipe is not None
        self.busy = stopped = False
        looked = time.monotonic()
        while True:
            if wait([self._pipe], TICK):
                try:
                    kind, of, what = self._pipe.recv()
                except (EOFError, OSError):
                    taken = self.busy
                    self.kill()
                    if not taken:
                        raise _NotTaken from None
                    _log.error("a worker process died; its request failed")
                    raise WorkerDied.alone() from None
                assert of == number, "a process has one job at a time"
                self.busy = kind != ENDED
                if kind == ENDED:
                    return what
                if kind == TOLD:
                    tell(what)
            now = time.monotonic()
            if now < looked + TICK:
                continue
            looked = now
            if ending.signal.stopped and not stopped:
                stopped = True
                with contextlib.suppress(OSError):
                    self._pipe.send((STOP, number, b""))
            if now > ending.last:
                self.kill()
                # Where its client has gone nobody hears this.
                raise ShuttingDown("The server is shutting down.")
            if self.used() > self._memory * MEGABYTE:
                self.kill()
                _log.error("a worker process took more than %d MB; its request failed", self._memory)
                raise self._too_much()

    def _too_much(self) -> TooMuch:
        most = self._memory
        return TooMuch("memory", most, f"Working on this takes more than {most:,} MB of memory, the most for one request.")

    def used(self) -> int:
        """Bytes of memory that the process takes now; 0 where that cannot be known."""
        try:
            pages = Path(f"/proc/{self.pid}/statm").read_text(encoding="ascii").split()[1]
        except OSError:
            return 0
        return int(pages) * os.sysconf("SC_PAGE_SIZE")


_all: weakref.WeakSet[WorkerProcess] = weakref.WeakSet()


def _end_all() -> None:
    for worker in list(_all):
        worker.kill()


# Before the standard library would wait for them: they heed no signal that can be ignored.
atexit.register(_end_all)
