"""How far two lessons lie outside a window, as cost terms: sums over order literals, exact and tight.

A measure gives every start a number that never falls (its day, school day or school week, or the slot's own number). By how
much the number of ``after`` exceeds that of ``before`` plus ``most`` is the count of numbers t such that ``before`` has
started by t - most and ``after`` not by t; its mirror counts by how much it falls short of ``least``.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from sequencer.aims.base import CostTerm
from sequencer.solver.posting import Posting, Statement
from sequencer.solver.variables import LessonVariables

Measure = Sequence[int]
"""A number for each start of a lesson, never falling."""


@dataclass(frozen=True)
class Gap:
    """Two lessons that may both be placed, with the measures of their starts."""

    posting: Posting
    statement: Statement
    before: LessonVariables
    after: LessonVariables
    before_at: Measure
    after_at: Measure
    wish: int

    def over(self, most: int) -> Iterator[CostTerm]:
        """What it costs that ``after`` lies more than ``most`` beyond ``before``."""
        for mark, following, started, met in self._marks(most):
            if started >= self.before.starts[0] and met < self.after.starts[-1]:
                gap = self.posting.boolean(f"{self.statement.label}: too far by {mark}")
                self.posting.clause(self.statement, ~self.before.by(started), ~self.after.placed, self.after.by(met), gap)
                yield CostTerm(gap, (following - mark) * self.wish, f"{self.statement.label}: too far")

    def short(self, least: int) -> Iterator[CostTerm]:
        """What it costs that ``after`` lies less than ``least`` beyond ``before``."""
        for mark, following, started, met in self._marks(least):
            if met >= self.after.starts[0] and started < self.before.starts[-1]:
                gap = self.posting.boolean(f"{self.statement.label}: too near by {mark}")
                self.posting.clause(self.statement, ~self.after.by(met), ~self.before.placed, self.before.by(started), gap)
                yield CostTerm(gap, (following - mark) * self.wish, f"{self.statement.label}: too near")

    def _marks(self, distance: int) -> Iterator[tuple[int, int, int, int]]:
        """Numbers between which nothing changes: a number, the one after it, the last start of each lesson by the number."""
        marks = sorted({number + distance for number in self.before_at} | set(self.after_at))
        for mark, following in pairwise(marks):
            started = _last(self.before, self.before_at, mark - distance)
            yield mark, following, started, _last(self.after, self.after_at, mark)


def _last(lesson: LessonVariables, at: Measure, number: int) -> int:
    """The last start with at most this number; a slot before the first start when there is none."""
    place = bisect_right(at, number)
    return lesson.starts[place - 1] if place else lesson.starts[0] - 1
