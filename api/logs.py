"""What the service writes down: one line a thing, in which no character of anybody's does anything."""

from __future__ import annotations

import logging
import re

_ACTING = re.compile(r"[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")


class _Lines(logging.Formatter):
    """Writes every record as one line of visible characters."""

    def format(self, record: logging.LogRecord) -> str:
        """The line."""
        return _ACTING.sub(lambda mark: f"\\u{ord(mark[0]):04x}", super().format(record))


def log_in_lines() -> None:
    """Write the log of this process to standard error, and that of requests with it."""
    handler = logging.StreamHandler()
    handler.setFormatter(_Lines("%(asctime)s %(name)s %(levelname)s %(message)s"))
    logging.getLogger().addHandler(handler)
    logging.getLogger("api.requests").setLevel(logging.INFO)
