"""The aims of starters, and what an assignment is made of."""

from __future__ import annotations

from dataclasses import dataclass

WORST, FORGOTTEN, PREREQUISITES, OFF, USED = "worst served", "forgotten", "prerequisites not met", "days off", "places used"
STARTER_AIMS = (WORST, FORGOTTEN, PREREQUISITES, OFF, USED)
"""What is made small, most important first."""


@dataclass(frozen=True)
class Assigned:
    """A topic put into an opening: positions in ``Question.topics`` and ``Question.openings``."""

    topic: int
    opening: int
