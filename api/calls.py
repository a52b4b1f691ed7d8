"""What a job is, wherever it is worked on: called with its caller, it ends with an outcome, a refusal or a defect."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from api.errors import UNEXPECTED, ApiError, Defect
from sequencer import Progress, RefereeDisagrees, SequencerError, StopSignal


@dataclass(frozen=True)
class Event:
    """A part of an answer that is ready: the kind of event that tells of it, and its data, JSON without line ends."""

    name: str
    data: bytes


Told = Progress | Event
"""What is told of while a job is worked on."""

Tell = Callable[[Told], None]


@dataclass(frozen=True)
class Caller:
    """Whoever asked for a job: is told of improvements and of parts that are ready, and may ask it to stop."""

    stop: StopSignal
    tell: Tell


Job = Callable[[Caller], Any]
"""A function of ``api.work`` with its arguments (``functools.partial``), so that it can be handed to another process."""


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
    except (SequencerError, ApiError) as error:
        return Raised(error)
    except Exception as error:
        return Raised(Defect(UNEXPECTED), where_raised(error))


def where_raised(error: BaseException) -> str:
    """The kind of an exception and the lines that it passed through, without its message, which may quote what was sent."""
    frames = traceback.extract_tb(error.__traceback__)
    lines = " < ".join(f"{Path(frame.filename).name}:{frame.lineno} {frame.name}" for frame in reversed(frames[-12:]))
    return f"{type(error).__name__} at {lines}"
