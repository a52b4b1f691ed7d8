"""Better sequences near the one held: all lessons but a few are left where they are."""

from __future__ import annotations

from sequencer.aims.base import Objective
from sequencer.solver.held_search import Closer, HeldSearch, no_closer
from sequencer.solver.solver_calls import Budget, share_of_next
from sequencer.solver.sought import Held, Movable

SHARE_NEAR = 0.3
"""Share of an aim's time and effort for sequences near the one held, before the whole model is searched."""

AT_A_TIME = 44
"""Lessons that may move in one try; more at a time once that no longer helps."""

MOST_AT_A_TIME = 0.6
"""Where a try would move more than this share of the lessons, the whole model is searched instead."""


class NearSearch(HeldSearch[Held]):
    """Looks for something better near what is held, and then in the whole model."""

    def improve(self, aim: Objective, budget: Budget, parts: int = 1, bound: int | None = None) -> int:
        """Make the aim small, as the next of so many pieces of work; the bound proven, no less than the one known."""
        with self.made_small(aim, aim.floor if bound is None else max(bound, aim.floor)):
            whole = budget.part(share_of_next(parts))
            with budget.lent(share_of_next(parts) * SHARE_NEAR) as near:
                self._by_futures(aim, near)
                self._by_time(aim, near)
            budget.effort -= self.search(aim, whole)
        return self.bound

    def from_below(self, aim: Objective, bound: int, budget: Budget, closer: Closer = no_closer) -> int:
        """Look for a sequence at the bound and, where there is none, at one more, and so on; the bound proven."""
        while self.value(aim.name) > bound and not budget.over and self.seek(aim, bound, budget, closer) is False:
            bound += 1
        return bound

    def _by_futures(self, aim: Objective, budget: Budget) -> None:
        """Better what is held with one future at a time free to move, again and again."""
        self.one_by_one(aim, list(self.model.together()), budget)

    def one_by_one(self, aim: Objective, every: list[frozenset[Movable]], budget: Budget) -> None:
        """Free one set after the other, and all of them again once that helped."""
        waiting = list(every)
        while waiting and self._goes_on(aim, budget):
            before = self.value(aim.name)
            self.attempt(aim, self.held, waiting.pop(0), budget)
            if self.value(aim.name) < before:
                waiting = list(every)

    def _by_time(self, aim: Objective, budget: Budget) -> None:
        """Better what is held with only lessons that follow one another in time free to move, again and again."""
        size, every = AT_A_TIME, self.model.movable(self.model.class_indices)
        while size <= MOST_AT_A_TIME * len(every):
            before = self.value(aim.name)
            in_time = self.model.in_time(self.held)
            if in_time is None:
                return
            for free in _stretches(in_time, every, size):
                if self._goes_on(aim, budget):
                    self.attempt(aim, self.held, free, budget)
            if not self._goes_on(aim, budget):
                return
            if self.value(aim.name) == before:
                size *= 2

    def _goes_on(self, aim: Objective, budget: Budget) -> bool:
        return self.value(aim.name) > self.bound and not budget.over


def _stretches(in_time: list[Movable], every: frozenset[Movable], size: int) -> list[frozenset[Movable]]:
    """Lessons of so many at a time in order of time, every stretch half over the one before; those left out are in each."""
    left_out = every - frozenset(in_time)
    return [left_out.union(in_time[first : first + size]) for first in range(0, max(1, len(in_time) - size // 2), size // 2)]
