"""What an interrupt (Ctrl-C) does where nothing is to be kept: it ends the program at once, without a word."""

from __future__ import annotations

import os
import signal
from types import FrameType

INTERRUPTED = 130
"""The exit code of a program that an interrupt ended, as shells have it."""


def leave(_signal: int | None = None, _frame: FrameType | None = None) -> None:
    """End the program at once. No exception: it could be raised, and be lost, wherever the program happens to be."""
    os._exit(INTERRUPTED)


def leave_when_interrupted() -> None:
    """Have an interrupt end the program, from now on, unless somebody has settled what it does."""
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, leave)
