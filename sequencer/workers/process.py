"""Work done in a process of its own, whose death costs one request and whose memory is bounded."""

from __future__ import annotations

import atexit
import contextlib
import itertools
import logging
import multiprocessing
import os
import pickle
import queue
import signal
import threading
import time
import weakref
from collections.abc import Iterator
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from sequencer.workers.pool import Ending
from sequencer.workers.refusals import TooMuch, WorkerDied
from sequencer.workers.serving import END, ENDED, MEGABYTE, READY, STOP, TIME_UP, TOLD, WORK, Job, Raised, Tell, serve

TICK = 0.05
"""Seconds after which a worker that says nothing is looked at: whether it shall stop, and what memory it takes."""

EXIT_SECONDS = 2.0
"""How long a worker that has nothing to do may take to end."""

STOPPED = "T"
"""The letter of a process that was stopped by a signal (proc(5))."""

ANSWERING_SECONDS, STARTING_SECONDS = 2.0, 30.0
"""How long it may take to say that it has a job, or be stopped; and one that was just started, which may have to load all."""

KEPT = 0.5
"""Share of its bound of memory that a worker may hold on to between jobs; one with more is replaced by a fresh one."""

TRIES = 3
"""How often a job is handed to a fresh process when the one before ended, or did not answer, without having taken it."""

_log = logging.getLogger(__name__)
_log.addHandler(logging.NullHandler())  # said where the program writes a log; a batch tells of it by its outcomes

_numbers = itertools.count(1)
_starting = threading.Lock()


def _context(loads: str) -> Any:
    """How worker processes are started: from one that has loaded everything already, where there is such a way."""
    if "forkserver" in multiprocessing.get_all_start_methods():
        context = multiprocessing.get_context("forkserver")
        context.set_forkserver_preload([loads, "sequencer.workers.preloaded"])
        return context
    return multiprocessing.get_context("spawn")


@contextlib.contextmanager
def _as_one_that_may_start() -> Iterator[None]:
    """Start processes one at a time, from a worker of a cluster too, and out of the way of Ctrl-C.

    The standard library lets no process that ends with another one (a daemon) have processes of its own; ours end with their
    pipe, whatever becomes of their owner.
    """
    ours = multiprocessing.current_process()._config  # type: ignore[attr-defined]
    masked = hasattr(signal, "pthread_sigmask")
    with _starting:
        was = ours.get("daemon")
        before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT}) if masked else set()
        try:
            ours["daemon"] = False
            yield
        finally:
            ours["daemon"] = was
            if masked:
                signal.pthread_sigmask(signal.SIG_SETMASK, before)


class _NotTaken(Exception):
    """The process ended, or did not answer, before it had the job."""


class _Gone:
    """Stands for what a process would have sent, had it not ended."""


class WorkerProcess:
    """Works on one job at a time, in a process that is started with the first one and again whenever it has ended.

    It may take so many megabytes of ``memory``, the program itself included; ``loads`` is the module of its jobs.
    """

    def __init__(self, memory: float, loads: str) -> None:
        self._memory, self._loads = memory, loads
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._sent: queue.SimpleQueue[Any] = queue.SimpleQueue()
        """What the process has sent. A thread waits at its pipe, since one that is stopped may have sent half of something."""
        self._reading: threading.Thread | None = None
        self._ready = threading.Event()
        """Whether it has begun."""
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
        context = _context(self._loads)
        ours, theirs = context.Pipe()
        process = context.Process(target=serve, args=(theirs, self._memory, self._loads), daemon=True)
        with _as_one_that_may_start():
            process.start()
        theirs.close()
        self._process, self._pipe = process, ours
        self._sent, self._ready = queue.SimpleQueue(), threading.Event()
        self._reading = threading.Thread(target=_pass_on, args=(ours, self._sent, self._ready), name="pipe", daemon=True)
        self._reading.start()

    def work(self, job: Job, ending: Ending, tell: Tell) -> Any:
        """Do a job and return its outcome.

        Raises
        ------
        WorkerDied, TooMuch, ShuttingDown
            When the process ended before the job did: by itself, because it took too much memory or time, or because it did not
            heed a signal.
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
        if self._process is not None and self._pipe is not None:
            with contextlib.suppress(OSError):
                self._pipe.send((END, 0, b""))
            self._process.join(EXIT_SECONDS)
        self.kill()

    def kill(self) -> None:
        """End the process at once."""
        if self._process is not None:
            self._process.kill()
            self._process.join(EXIT_SECONDS)
        if self._reading is not None:
            # It ends where the pipe does; before that, closing would take the pipe away under it.
            self._reading.join(EXIT_SECONDS)
        if self._pipe is not None:
            self._pipe.close()
        self._process = self._pipe = self._reading = None
        self.busy = False

    def _hand_over(self, number: int, packed: bytes) -> None:
        self.start()
        assert self._pipe is not None and self._process is not None
        # One that is stopped takes no more than the pipe holds: whoever sends would wait with it.
        late = threading.Timer(self._patience, self._process.kill)
        late.daemon = True
        late.start()
        try:
            self._pipe.send((WORK, number, packed))
        except OSError:
            self.kill()
            raise _NotTaken from None
        finally:
            late.cancel()

    @property
    def _patience(self) -> float:
        """Seconds that it may take to say that it has a job."""
        return ANSWERING_SECONDS if self._ready.is_set() else STARTING_SECONDS

    def _awaited(self, number: int, ending: Ending, tell: Tell) -> Any:
        """What the job ends with; what it tells on the way is passed on."""
        assert self._pipe is not None
        self.busy = stopped = False
        began = looked = moved = time.monotonic()
        while True:
            with contextlib.suppress(queue.Empty):
                sent = self._sent.get(timeout=TICK)
                if isinstance(sent, _Gone):
                    taken, process = self.busy, self._process
                    self.kill()
                    if not taken:
                        raise _NotTaken
                    _log.error("a worker process died; its request failed")
                    raise WorkerDied.alone(process.exitcode if process is not None else None)
                kind, of, what = sent
                assert of == number, "a process has one job at a time"
                if not self.busy:
                    ending.begin()
                self.busy = kind != ENDED
                if kind == ENDED:
                    return what
                if kind == TOLD:
                    tell(what)
            now = time.monotonic()
            if now < looked + TICK:
                continue
            looked = now
            if (ending.signal.stopped or now > ending.time_up) and not stopped:
                stopped = True
                with contextlib.suppress(OSError):
                    self._pipe.send((STOP if ending.signal.stopped else TIME_UP, number, b""))
            if ending.is_over(now):
                self.kill()
                if isinstance(ending.why, TooMuch):
                    _log.error("a worker process did not end in time; its request failed")
                raise ending.why
            if not self.busy and now > began + self._patience:
                self.kill()
                _log.error("a worker process does not answer; another one takes its place")
                raise _NotTaken
            state, used = self._seen()
            moved = moved if state == STOPPED else now
            if now > moved + ANSWERING_SECONDS:
                taken = self.busy
                self.kill()
                if not taken:
                    raise _NotTaken
                _log.error("a worker process was stopped; its request failed")
                raise WorkerDied("The process that worked on this request was stopped, and then ended. " + WorkerDied.AGAIN)
            if used > self._memory * MEGABYTE:
                self.kill()
                _log.error("a worker process took more than %.0f MB; its request failed", self._memory)
                raise self._too_much()

    def _too_much(self) -> TooMuch:
        most = int(self._memory)
        return TooMuch("memory", most, f"Working on this takes more than {most:,} MB of memory, the most for one request.")

    def used(self) -> int:
        """Bytes of memory that the process takes now; 0 where that cannot be known."""
        return self._seen()[1]

    def _seen(self) -> tuple[str, int]:
        """What the process does now, in the system's letter, and the bytes that it takes; nothing where that cannot be known."""
        try:
            told = Path(f"/proc/{self.pid}/stat").read_text(encoding="ascii", errors="replace")
        except OSError:
            return "", 0
        # Its name, in brackets, may hold anything.
        facts = told.rpartition(")")[2].split()
        return facts[0], int(facts[21]) * os.sysconf("SC_PAGE_SIZE")


def _pass_on(pipe: Connection, sent: queue.SimpleQueue[Any], ready: threading.Event) -> None:
    """Take what comes through a pipe until its other end is closed."""
    try:
        while True:
            message = pipe.recv()
            if message[0] == READY:
                ready.set()
            else:
                sent.put(message)
    except (EOFError, OSError):
        sent.put(_Gone())


_all: weakref.WeakSet[WorkerProcess] = weakref.WeakSet()


def _end_all() -> None:
    for worker in list(_all):
        worker.kill()


# Before the standard library would wait for them: they heed no signal that can be ignored.
atexit.register(_end_all)
