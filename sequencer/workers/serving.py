"""What a job is, and what a worker process does: one job after another, until the other end of its pipe is closed.

Called with its caller, a job ends with an outcome, a refusal or a defect.
"""

from __future__ import annotations

import gc
import importlib
import math
import os
import pickle
import queue
import signal
import sys
import threading
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from sequencer import RefereeDisagrees, SequencerError, StopSignal
from sequencer.workers.refusals import UNEXPECTED, Defect, NotDone

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
"""New objects after which the garbage collector looks in the middle of a job, where there is hardly any; it does after each."""


Tell = Callable[[Any], None]
"""Is given what a job tells on its way."""


@dataclass(frozen=True)
class Caller:
    """Whoever asked for a job: is told of improvements and of parts that are ready, and may ask it to stop."""

    stop: StopSignal
    tell: Tell


Job = Callable[[Caller], Any]
"""A function with its arguments (``functools.partial``), so that it can be handed to another process."""


@dataclass(frozen=True)
class Raised:
    """How a job failed: what its request is answered with, and where it happened when that was a defect of ours."""

    error: Exception
    where: str = ""


def attempted(job: Callable[[], Any]) -> Any:
    """The outcome of a job, or how it failed."""
    try:
        return job()
    except MemoryError as error:
        return Raised(error)
    except RefereeDisagrees as error:
        return Raised(Defect("The referee rejects what the solver found: a defect of this program."), where_raised(error))
    except (SequencerError, NotDone) as error:
        return Raised(error)
    except Exception as error:
        return Raised(Defect(UNEXPECTED), where_raised(error))


def where_raised(error: BaseException) -> str:
    """The kind of an exception and the lines that it passed through, without its message, which may quote what was sent."""
    frames = traceback.extract_tb(error.__traceback__)
    lines = " < ".join(f"{Path(frame.filename).name}:{frame.lineno} {frame.name}" for frame in reversed(frames[-12:]))
    return f"{type(error).__name__} at {lines}"


class ServingPool:
    """One worker process, with the pipe where jobs come from and outcomes go to."""

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
            outcome = attempted(partial(self._done, packed, Caller(stop, partial(self._send, TOLD, number))))
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

    def _send(self, kind: str, number: int, what: object) -> None:
        with self._sending:
            self._pipe.send((kind, number, what))


def set_aside_what_is_loaded() -> None:
    """Keep the garbage collector from looking through the program itself, again and again."""
    gc.collect()
    gc.freeze()


def _bound(memory: float) -> None:
    """Let this process reserve so many megabytes beyond what the program itself has.

    Whoever watches over it looks at what it uses, which is less, so that this only matters where much is asked for at once.
    """
    if resource is None or memory == math.inf or not _SIZES.exists():
        return
    reserved = int(_SIZES.read_text(encoding="ascii").split()[5]) * resource.getpagesize()
    most = reserved + int(memory * MEGABYTE)
    _, hard = resource.getrlimit(resource.RLIMIT_DATA)
    resource.setrlimit(resource.RLIMIT_DATA, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard))


def serve(pipe: Connection, memory: float, loads: str) -> None:
    """Be a worker process that takes so many megabytes of memory at most, and loads a module before the first job comes."""
    # Signals are for the process that is asked for answers; it ends its workers, each when its job has ended.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    if sys.stdout is not None and sys.stderr is not None:
        os.dup2(sys.stderr.fileno(), sys.stdout.fileno())  # what a job prints is no part of what its owner does
    if loads not in sys.modules or not gc.get_freeze_count():
        importlib.import_module(loads)
        set_aside_what_is_loaded()
    _bound(memory)
    gc.set_threshold(MOST_YOUNG, 10, 10)
    ServingPool(pipe).for_ever()
