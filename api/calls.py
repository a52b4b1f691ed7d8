"""What a job of the service tells on its way, beside improvements."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer import Progress


@dataclass(frozen=True)
class Event:
    """A part of an answer that is ready: the kind of event that tells of it, and its data, JSON without line ends."""

    name: str
    data: bytes


Told = Progress | Event
"""What is told of while a job is worked on."""
