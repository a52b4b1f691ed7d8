"""What lessons open with: how many earlier topics, and how long after a topic was taught it is due again."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sequencer.scenario.fields import Model

Distance = Annotated[int, Field(ge=1, le=800)]

PLACES = 3
DISTANCES, HEAVIER = (2, 7, 28, 90, 365), (14,)
"""What holds where a scenario states nothing: the last lesson, last week, last month, an earlier term, last year; common
practice, no source."""


class Openings(Model):
    """The earlier topics that each lesson opens with; they are assigned when the sequence is found, and change nothing in it."""

    places: Annotated[int, Field(ge=1, le=10)] = Field(
        PLACES,
        description="How many earlier topics a lesson opens with at most, those that rule 4 has put into its starter included.",
    )
    distances: Annotated[tuple[Distance, ...], Field(min_length=1, max_length=12)] = Field(
        DISTANCES, description="How many days after it was taught a topic is due again, each time once."
    )
    heavier: Annotated[tuple[Distance, ...], Field(max_length=12)] = Field(
        HEAVIER, description="And how many days after for high-load topics besides."
    )
    soonest: Distance = Field(
        1,
        description="A topic is put into a starter no fewer days than this after it was taught or from any day it is met again.",
    )
