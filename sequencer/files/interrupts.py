"""What an interrupt (Ctrl-C) does where nothing is to be kept: it ends the program at once, without a word."""

from __future__ import annotations

# What `signal` is made of, which takes milliseconds to load: an interrupt in them would not be quiet.
import _signal  # type: ignore[import-not-found]
import os

INTERRUPTED = 130
"""The exit code of a program that an interrupt ended, as shells have it."""


def leave(_number: int | None = None, _frame: object = None) -> None:
    """End the program at once. No exception: it could be raised, and be lost, wherever the program happens to be."""
    os._exit(INTERRUPTED)


def leave_when_interrupted() -> None:
    """Have an interrupt end the program, from now on, unless somebody has settled what it does."""
    if _signal.getsignal(_signal.SIGINT) is _signal.default_int_handler:
        _signal.signal(_signal.SIGINT, leave)
