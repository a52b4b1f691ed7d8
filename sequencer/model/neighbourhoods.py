"""Better sequences near the one held: all lessons but a few are left where they are."""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping
from itertools import combinations
from typing import Protocol

from sequencer.model.aims import Aim
from sequencer.model.calls import Budget
from sequencer.model.parts import Parts
from sequencer.sequence import Sequence

AT_A_TIME = 44
"""Lessons that may move in one try; more at a time once that no longer helps.

Measured on years of 175 lessons: tries of 44 bring the distance from 347 to 136 in 2 s (best: 135), where 55 s over the whole
model reached 171."""

MOST_AT_A_TIME = 0.6
"""Where a try would move more than this share of the lessons, the whole model is searched instead."""


class Search(Protocol):
    """What is asked of the search whose sequence is bettered (``search.GroupSearch``)."""

    @property
    def held(self) -> Sequence:
        """The best sequence so far."""

    def value(self, aim: str) -> int:
        """The referee's count of an aim of the best sequence so far."""

    def attempt(self, aim: Aim, sequence: Sequence, free: frozenset[int], budget: Budget) -> bool:
        """Look for a better sequence with all lessons but the free ones as they are in a sequence; whether one exists at all."""

    def seek(self, aim: Aim, most: int, budget: Budget) -> bool | None:
        """Look for a sequence in which the aim is no more than so much: whether one exists, None where that is not settled."""


class Apart(Protocol):
    """What a search asks of those over parts of its classes (``apart.ClassesApart``)."""

    @property
    def parts(self) -> tuple[tuple[int, ...], ...]:
        """The classes of each part."""

    @property
    def clocked(self) -> bool:
        """Whether the clock cut any of them short."""

    def bound(self, place: int, aim: Aim, held: Sequence, budget: Budget) -> int:
        """A bound for all classes together."""

    def least(self, place: int) -> Iterable[tuple[tuple[int, ...], int]]:
        """The classes of each part, and what their terms of the aim whose bound was asked for last come to at least."""

    def sequence(self) -> Sequence:
        """What the parts found, side by side."""

    def within(self, most: Mapping[str, int]) -> bool:
        """Whether that comes to no more than so much on any aim."""

    def hold(self, place: int, value: int) -> None:
        """Keep an aim at its value over all classes."""


def side_by_side(search: Search, aim: Aim, apart: Apart, parts: Parts, budget: Budget) -> None:
    """All parts as they are best by themselves or, where they do not go together, as many as do, the largest first."""
    sequence = apart.sequence()
    if search.attempt(aim, sequence, frozenset(), budget):
        return
    free = _lessons(parts, parts.variables.class_indices)
    for part in sorted(apart.parts, key=lambda part: -len(_lessons(parts, part))):
        if search.attempt(aim, sequence, free - _lessons(parts, part), budget):
            free -= _lessons(parts, part)


def by_parts(search: Search, aim: Aim, apart: Apart, parts: Parts, bound: int, budget: Budget) -> None:
    """Better the sequence held with all parts but one left as they are and, where that helped, with all but two."""
    began = search.value(aim.name)
    for size in (1, 2):
        every = [frozenset().union(*(_lessons(parts, part) for part in few)) for few in combinations(apart.parts, size)]
        waiting = list(every) if size == 1 or search.value(aim.name) < began else []
        while waiting and _goes_on(search, aim, bound, budget):
            before = search.value(aim.name)
            search.attempt(aim, search.held, waiting.pop(0), budget)
            if search.value(aim.name) < before:
                waiting = list(every)


def from_below(search: Search, aim: Aim, bound: int, budget: Budget) -> int:
    """Look for a sequence at the bound and, where there is none, at one more, and so on; the bound proven."""
    while _goes_on(search, aim, bound, budget) and search.seek(aim, bound, budget) is False:
        bound += 1
    return bound


def by_time(search: Search, aim: Aim, parts: Parts, bound: int, budget: Budget) -> None:
    """Better the sequence held with only lessons that follow one another in time free to move, again and again."""
    size = AT_A_TIME
    while size <= MOST_AT_A_TIME * len(parts.variables.lessons):
        before = search.value(aim.name)
        for free in _stretches(search.held, parts, size):
            if _goes_on(search, aim, bound, budget):
                search.attempt(aim, search.held, free, budget)
        if not _goes_on(search, aim, bound, budget):
            return
        if search.value(aim.name) == before:
            size *= 2


def _stretches(sequence: Sequence, parts: Parts, size: int) -> list[frozenset[int]]:
    """Lessons of so many at a time in order of time, every stretch half over the one before; those left out are in each."""
    day = {each.lesson: parts.days[_class_of(parts, each.lesson)].day[each.slot] for each in sequence.placements}
    in_time = sorted(day, key=lambda lesson: (day[lesson], lesson))
    left_out = frozenset(parts.variables.lessons) - frozenset(in_time)
    return [left_out.union(in_time[first : first + size]) for first in range(0, max(1, len(in_time) - size // 2), size // 2)]


def _class_of(parts: Parts, lesson: int) -> int:
    return parts.variables.lessons[lesson].lesson.class_index


def _lessons(parts: Parts, classes: tuple[int, ...]) -> frozenset[int]:
    """The lessons of some classes."""
    return frozenset(index for index in parts.variables.lessons if _class_of(parts, index) in classes)


def _goes_on(search: Search, aim: Aim, bound: int, budget: Budget) -> bool:
    return search.value(aim.name) > bound and budget.effort > 0 and time.monotonic() < budget.ends
