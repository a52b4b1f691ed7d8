"""The time allowed, watched while a model is built: no solver runs then that would watch it."""

from __future__ import annotations

import math
import time
from collections.abc import Callable


class OutOfTime(Exception):
    """The time allowed is over, or a hand asked to stop: ``by`` time or hand."""

    def __init__(self, by: str) -> None:
        super().__init__(by)
        self.by = by


class Deadline:
    """When preparing and building have to end: by the monotonic clock, or when ``stopped`` says what asked to stop."""

    def __init__(self, ends: float = math.inf, stopped: Callable[[], str | None] = lambda: None) -> None:
        self._ends = ends
        self._stopped = stopped

    def check(self) -> None:
        """Raise ``OutOfTime`` when the work has to end now."""
        if (by := self._stopped()) is not None:
            raise OutOfTime(by)
        if time.monotonic() >= self._ends:
            raise OutOfTime("time")


NO_DEADLINE = Deadline()
"""For work that may take its time."""
