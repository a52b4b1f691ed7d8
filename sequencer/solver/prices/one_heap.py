"""One heap for all threads: what many models need of memory is then a tenth less.

The C library of most Linux systems (glibc) gives each thread a heap of its own, and what is freed in one is of no use to others.
Where two threads ask hundreds of models in turn that adds up; they ask for memory too seldom to wait for each other.
"""

from __future__ import annotations

import ctypes
from contextlib import suppress

_M_ARENA_MAX = -8
"""The number by which glibc's ``mallopt`` knows the most heaps; from its ``malloc.h``."""


def share_one_heap() -> None:
    """Let threads that are still to come share the heaps that there are; with another C library nothing is done."""
    with suppress(AttributeError, OSError, TypeError):
        ctypes.CDLL(None).mallopt(_M_ARENA_MAX, 1)
