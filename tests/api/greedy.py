"""Jobs that misbehave, for worker processes to do."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable

from api.calls import Event
from sequencer import NothingToShow, Problem, UnusableInput, UnusableSettings
from sequencer.workers.serving import Caller
from tests.api.service import PATIENCE

MEGABYTE = 1_000_000

FAILURES: tuple[Exception, ...] = (
    UnusableInput((Problem("units[0]", "must be there", "/units/0", 3, 4), Problem("", "is empty")), "a.yaml"),
    UnusableSettings(["one", "two"]),
    NothingToShow("infeasible"),
)


def own_number(_: Caller) -> int:
    """Say which process this is."""
    return os.getpid()


def die(trace: str, _: Caller) -> None:
    """End without a word, but for a line in a file."""
    with open(trace, "a", encoding="utf-8") as file:
        file.write("died\n")
    os.kill(os.getpid(), signal.SIGKILL)


def take_slowly(most: int, _: Caller) -> int:
    """Take so many megabytes one by one, and use them; return how many were given."""
    held = []
    for number in range(most):
        held.append(b"x" * MEGABYTE)
        time.sleep(0.001)
        assert len(held) == number + 1
    return len(held)


def take_at_once(most: int, _: Caller) -> int:
    """Ask for so many megabytes in one piece."""
    return len(bytearray(most * MEGABYTE))


def heed_nothing(_: Caller) -> None:
    """Go on, whatever the caller says."""
    time.sleep(PATIENCE)


def until_stopped(caller: Caller) -> str:
    """Go on until told to stop, and say by what."""
    while not caller.stop.stopped:
        time.sleep(0.01)
    return caller.stop.by


def be_stopped(_: Caller) -> None:
    """Be stopped at work, as a process may be from outside."""
    os.kill(os.getpid(), signal.SIGSTOP)
    time.sleep(PATIENCE)


def length_of(text: bytes, _: Caller) -> int:
    """Say how long a text is."""
    return len(text)


def fail(number: int, _: Caller) -> None:
    """Fail as a job may."""
    raise FAILURES[number]


def fail_by_a_defect(secret: str, _: Caller) -> None:
    """Fail as no job should."""
    raise KeyError(secret)


def tell_and_end(name: str, caller: Caller) -> str:
    """Tell of a part, and end with a name."""
    caller.tell(Event("part", b"1"))
    return name


def _no_room() -> None:
    raise MemoryError


class Unreadable:
    """What can be packed, and fails for want of memory where it is unpacked."""

    def __reduce__(self) -> tuple[Callable[[], None], tuple[()]]:
        return _no_room, ()
