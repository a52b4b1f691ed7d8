"""One heap for all threads: what many models need of memory is then a tenth less.

The C library of most Linux systems (glibc) gives each thread a heap of its own, and what is freed in one is of no use to others.
Where two threads ask hundreds of models in turn that adds up. It holds for the whole process from then on; who has set
``MALLOC_ARENA_MAX`` for it has decided that already.
"""

from __future__ import annotations

import ctypes
import os
from contextlib import suppress

_M_ARENA_MAX = -8
"""The number by which glibc's ``mallopt`` knows the most heaps; from its ``malloc.h``."""


def share_one_heap() -> None:
    """Let threads that are still to come share the heaps that there are; with another C library nothing is done."""
    if "MALLOC_ARENA_MAX" not in os.environ:
        with suppress(AttributeError, OSError, TypeError):
            ctypes.CDLL(None).mallopt(_M_ARENA_MAX, 1)
