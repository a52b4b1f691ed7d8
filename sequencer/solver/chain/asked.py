"""What is asked of one class's lessons, and what an aim counts of them, as a programme over its periods steps through it."""

from __future__ import annotations

from collections.abc import Mapping
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
    carry_from
        The first slot from which it may be left to the next plan.
    made
        What was made for it: placed only where it serves, and nothing else of ``by`` could.
    """

    lesson: int
    by: tuple[int, ...]
    high: Numbers
    old_only: bool
    before: tuple[int, ...]
    carry_from: int
    made: frozenset[int]


@dataclass(frozen=True)
class MeetsAgain:
    """A retrieval lesson and the lessons that it meets again, each with its preferred distance in days."""

    lesson: int
    members: tuple[int, ...]
    preferred: tuple[int, ...]


@dataclass(frozen=True)
class MeetingWindow:
    """One time that a lesson is met again: between ``low[s]`` and ``high[s]``, counted from slot s, late where that is said."""

    low: Numbers
    high: Numbers
    preferred: int
    carry_from: int
    late: Flags


@dataclass(frozen=True)
class MetByChoice:
    """A lesson to be met again in some of several lessons, or several times: steps choose who meets it.

    Parameters
    ----------
    times
        Each time that it is to be met, on dates of their own; none ends before an earlier one, nor begins.
    chained
        Whether each is counted from the one before.
    """

    lesson: int
    by: tuple[int, ...]
    times: tuple[MeetingWindow, ...]
    chained: bool


@dataclass(frozen=True)
class MetInTurn:
    """Lessons to be met again once, by choice, alike in when: those taught first are met first.

    Parameters
    ----------
    room
        The lessons in which they may be met, and how many in each, with those of other groups; the same for all groups.
    """

    lessons: frozenset[int]
    room: Mapping[int, int]
    window: MeetingWindow


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
    carried, late
        Whether what is left to the next plan costs 1, and what is late.
    """

    distance: bool = False
    spare_before: frozenset[int] = frozenset()
    starts: dict[tuple[int, int], int] = field(default_factory=dict)
    absent: dict[int, int] = field(default_factory=dict)
    heaviest: bool = False
    carried: bool = False
    late: bool = False
