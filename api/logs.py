"""What the service writes down: one line a thing, in which no character of anybody's does anything."""

from __future__ import annotations

import logging
import sys
from typing import TextIO

from sequencer import visible


class _Lines(logging.Formatter):
    """Writes every record as one line of visible characters."""

    def format(self, record: logging.LogRecord) -> str:
        """The line."""
        return visible(super().format(record))


def handler_of(stream: TextIO) -> logging.Handler:
    """Writes such lines to a stream."""
    handler = logging.StreamHandler(stream)
    handler.setFormatter(_Lines("%(asctime)s %(name)s %(levelname)s %(message)s"))
    return handler


def log_in_lines() -> None:
    """Write the log of this process to the error stream, that of requests included."""
    logging.getLogger().addHandler(handler_of(sys.stderr))
    logging.getLogger("api.requests").setLevel(logging.INFO)
