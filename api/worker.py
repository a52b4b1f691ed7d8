"""What a worker process does: one job after another, as they come through its pipe, until the other end is closed."""

from __future__ import annotations

import gc
import os
import pickle
import queue
import signal
import threading
from functools import partial
from multiprocessing.connection import Connection
from pathlib import Path

import api.work  # noqa: F401  every job is a function of it: at hand before the first one comes
from api.calls import Caller, Job, Told, attempted
from sequencer import StopSignal

try:
    import resource
except ImportError:  # not on Windows, where a process cannot bound its own memory
    resource = None  # type: ignore[assignment]

WORK, STOP, TIME_UP, END = "work", "stop", "time up", "end"
"""What a worker is sent: a job with its number, that the job of a number shall stop or has no time left, that it shall end."""

READY, TAKEN, TOLD, ENDED = "ready", "taken", "told", "ended"
"""What it sends: that it has begun, that it has a job, an improvement or a part of the answer, a job's outcome."""

MEGABYTE = 1_000_000

_SIZES = Path("/proc/self/statm")

MOST_YOUNG = 50_000
"""New objects after which the collector looks for rubbish in the middle of a job, where hardly any is; it does after each."""


class Serving:
    """One worker process.

    Parameters
    ----------
    pipe
        Where jobs come from and outcomes go to.
    """

    def __init__(self, pipe: Connection) -> None:
        self._pipe = pipe
        self._sending = threading.Lock()
        self._jobs: queue.SimpleQueue[tuple[int, bytes, StopSignal]] = queue.SimpleQueue()
        self._latest = 0, StopSignal()

    def for_ever(self) -> None:
        """Work on what comes; the process ends where the pipe does."""
        self._send(READY, 0, None)
        threading.Thread(target=self._listen, daemon=True).start()
        while True:
            number, packed, stop = self._jobs.get()
            outcome = attempted(partial(self._done, packed, Caller(stop, partial(self._tell, number))))
            self._send(ENDED, number, outcome)
            # Nobody waits meanwhile, and what a job leaves behind does not grow from one to the next.
            del outcome, packed, stop
            gc.collect()

    def _done(self, packed: bytes, caller: Caller) -> object:
        job: Job = pickle.loads(packed)
        return job(caller)

    def _listen(self) -> None:
        while True:
            try:
                kind, number, packed = self._pipe.recv()
            except (EOFError, OSError):
                # Whoever wanted the outcome has gone, whatever is being worked on.
                os._exit(0)
            except BaseException:
                # A job that cannot be taken (for want of memory, say) would be waited for without end.
                os._exit(1)
            if kind == WORK:
                self._send(TAKEN, number, None)
                self._latest = number, StopSignal()
                self._jobs.put((number, packed, self._latest[1]))
            elif kind == END:
                os._exit(0)
            elif number == self._latest[0]:
                self._latest[1].stop("time" if kind == TIME_UP else "hand")

    def _tell(self, number: int, told: Told) -> None:
        self._send(TOLD, number, told)

    def _send(self, kind: str, number: int, what: object) -> None:
        with self._sending:
            self._pipe.send((kind, number, what))


def set_aside_what_is_loaded() -> None:
    """Keep the collector of rubbish from looking through the program itself, again and again: 90 ms each time."""
    if not gc.get_freeze_count():
        gc.collect()
        gc.freeze()


def _bound(memory: int) -> None:
    """Let this process reserve so many megabytes beyond what the program itself has.

    Whoever watches over it looks at what it uses, which is less, so that this only matters where much is asked for at once.
    """
    if resource is None or not _SIZES.exists():
        return
    reserved = int(_SIZES.read_text(encoding="ascii").split()[5]) * resource.getpagesize()
    most = reserved + memory * MEGABYTE
    _, hard = resource.getrlimit(resource.RLIMIT_DATA)
    resource.setrlimit(resource.RLIMIT_DATA, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard))


def serve(pipe: Connection, memory: int) -> None:
    """Be a worker process that takes so many megabytes of memory at most."""
    # Signals are for the process that is asked for answers; it ends its workers, each when its job has ended.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    _bound(memory)
    set_aside_what_is_loaded()
    gc.set_threshold(MOST_YOUNG, 10, 10)
    Serving(pipe).for_ever()
