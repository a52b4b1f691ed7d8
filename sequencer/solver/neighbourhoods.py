"""Better sequences near the one held: all lessons but a few are left where they are."""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Protocol

from sequencer.solver.aim_terms import Aim
from sequencer.solver.solver_calls import Budget
from sequencer.solver.sought import Held, Movable, Sought

AT_A_TIME = 44
"""Lessons that may move in one try; more at a time once that no longer helps.

Measured on years of 175 lessons: tries of 44 bring the distance from 347 to 136 in 2 s (best: 135), where 55 s over the whole
model reached 171."""

MOST_AT_A_TIME = 0.6
"""Where a try would move more than this share of the lessons, the whole model is searched instead."""


class Search(Protocol[Held]):
    """What is asked of the search whose sequence is bettered (``search.GroupSearch``)."""

    @property
    def model(self) -> Sought[Held]:
        """What is searched."""

    @property
    def held(self) -> Held:
        """The best sequence so far."""

    def value(self, aim: str) -> int:
        """The referee's count of an aim of the best sequence so far."""

    def attempt(self, aim: Aim, sequence: Held, free: frozenset[Movable], budget: Budget) -> bool:
        """Look for a better sequence with all lessons but the free ones as they are in a sequence; whether one exists at all."""

    def seek(self, aim: Aim, most: int, budget: Budget) -> bool | None:
        """Look for a sequence in which the aim is no more than so much: whether one exists, None where that is not settled."""


@dataclass(frozen=True)
class Beside:
    """What an aim comes to for some classes in one sequence and in another; ``constant`` is what is no term of the aim."""

    classes: tuple[int, ...]
    value: int
    other: int
    constant: int


class Apart(Protocol[Held]):
    """What a search asks of those over parts of its classes (``apart.ClassesApart``)."""

    @property
    def parts(self) -> tuple[tuple[int, ...], ...]:
        """The classes of each part."""

    @property
    def clocked(self) -> bool:
        """Whether the clock cut any of them short."""

    def bound(self, place: int, aim: Aim, held: Held, budget: Budget) -> int:
        """A bound for all classes together."""

    def least(self) -> Iterable[tuple[int, tuple[int, ...], int]]:
        """For each part the place of the aim that was last bounded, its classes, and what their terms come to at least."""

    def know(self, place: int, classes: tuple[int, ...], least: int) -> None:
        """Know what the aim last bounded comes to at least for the classes of one part."""

    def bounds(self, place: int) -> dict[tuple[int, ...], int]:
        """What the aim at this place comes to at least for each part."""

    def beside(self, place: int, one: Held, other: Held) -> list[Beside]:
        """What the aim at a place comes to for each part in one sequence and in another."""

    def sequence(self) -> Held:
        """What the parts found, side by side."""

    def within(self, most: Mapping[str, int]) -> bool:
        """Whether that comes to no more than so much on any aim."""

    def hold(self, place: int, value: int) -> None:
        """Keep an aim at its value over all classes."""


def side_by_side(search: Search[Held], aim: Aim, apart: Apart[Held], budget: Budget) -> None:
    """All parts as they are best by themselves or, where they do not go together, as many as do, the largest first."""
    sequence = apart.sequence()
    if search.attempt(aim, sequence, frozenset(), budget):
        return
    model = search.model
    free = model.movable(model.class_indices)
    for part in sorted((model.movable(part) for part in apart.parts), key=lambda part: -len(part)):
        if search.attempt(aim, sequence, free - part, budget):
            free -= part


def by_parts(search: Search[Held], aim: Aim, apart: Apart[Held], bound: int, budget: Budget) -> None:
    """Better the sequence held with all parts but one left as they are and, where that helped, with all but two."""
    began = search.value(aim.name)
    for size in (1, 2):
        every = [search.model.movable(sum(few, ())) for few in combinations(apart.parts, size)]
        waiting = list(every) if size == 1 or search.value(aim.name) < began else []
        while waiting and _goes_on(search, aim, bound, budget):
            before = search.value(aim.name)
            search.attempt(aim, search.held, waiting.pop(0), budget)
            if search.value(aim.name) < before:
                waiting = list(every)


def from_below(search: Search[Held], aim: Aim, bound: int, budget: Budget) -> int:
    """Look for a sequence at the bound and, where there is none, at one more, and so on; the bound proven."""
    while _goes_on(search, aim, bound, budget) and search.seek(aim, bound, budget) is False:
        bound += 1
    return bound


def by_futures(search: Search[Held], aim: Aim, bound: int, budget: Budget) -> None:
    """Better what is held with one future at a time free to move, again and again."""
    waiting = list(search.model.together())
    while waiting and _goes_on(search, aim, bound, budget):
        before = search.value(aim.name)
        search.attempt(aim, search.held, waiting.pop(0), budget)
        if search.value(aim.name) < before:
            waiting = list(search.model.together())


def by_time(search: Search[Held], aim: Aim, bound: int, budget: Budget) -> None:
    """Better the sequence held with only lessons that follow one another in time free to move, again and again."""
    size, every = AT_A_TIME, search.model.movable(search.model.class_indices)
    while size <= MOST_AT_A_TIME * len(every):
        before = search.value(aim.name)
        in_time = search.model.in_time(search.held)
        if in_time is None:
            return
        for free in _stretches(in_time, every, size):
            if _goes_on(search, aim, bound, budget):
                search.attempt(aim, search.held, free, budget)
        if not _goes_on(search, aim, bound, budget):
            return
        if search.value(aim.name) == before:
            size *= 2


def _stretches(in_time: list[Movable], every: frozenset[Movable], size: int) -> list[frozenset[Movable]]:
    """Lessons of so many at a time in order of time, every stretch half over the one before; those left out are in each."""
    left_out = every - frozenset(in_time)
    return [left_out.union(in_time[first : first + size]) for first in range(0, max(1, len(in_time) - size // 2), size // 2)]


def _goes_on(search: Search[Held], aim: Aim, bound: int, budget: Budget) -> bool:
    return search.value(aim.name) > bound and budget.effort > 0 and time.monotonic() < budget.ends
