"""What is asked of one class's lessons, and what an aim counts of them, as a programme over its periods steps through it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

NEVER = 10**6
"""More than anything can cost, or than any slot's number."""

Numbers: TypeAlias = npt.NDArray[np.int32]
Flags: TypeAlias = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class StartWindow:
    """When both are placed, ``after`` starts between ``low[s]`` and ``high[s]``, where ``before`` starts in slot s.

    Lessons by their place among the class's; the lists have an entry for each slot and never fall.
    """

    before: int
    after: int
    low: Numbers
    high: Numbers


@dataclass(frozen=True)
class Served:
    """A dense lesson and what may practise it: one of them starts by ``high[s]``, where the lesson starts in slot s.

    Parameters
    ----------
    old_only
        Whether no new content may lie between.
    before
        Lessons that come after what serves it.
    """

    lesson: int
    by: tuple[int, ...]
    high: Numbers
    old_only: bool
    before: tuple[int, ...]


@dataclass(frozen=True)
class MeetsAgain:
    """A retrieval lesson and the lessons that it meets again, each with its preferred distance in days."""

    lesson: int
    members: tuple[int, ...]
    preferred: tuple[int, ...]


@dataclass
class StepPrice:
    """What one aim counts, as far as steps tell: days off preferred distances, spare slots, starts, lessons left out.

    Parameters
    ----------
    spare_before
        Lessons before the last of which a spare slot costs 1.
    starts
        (lesson, slot) to what a start there costs.
    absent
        Lesson to what it costs that it is not placed.
    heaviest
        Whether it is the greatest load of a school week, and nothing else.
    """

    distance: bool = False
    spare_before: frozenset[int] = frozenset()
    starts: dict[tuple[int, int], int] = field(default_factory=dict)
    absent: dict[int, int] = field(default_factory=dict)
    heaviest: bool = False
