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
from sequencer.rules.distances import SCHOOL_DAY
from sequencer.solver.day_numbers import ClassDays
from sequencer.solver.posting import PostedStatement, Posting
from sequencer.solver.variables import LessonVariables

Limits = tuple[int | None, int | None]
"""Least and most; None where there is none."""

Measure = Sequence[int]
"""A number for each start of a lesson, never falling."""


@dataclass(frozen=True)
class Gap:
    """Two lessons that may both be placed, with the measures of their starts."""

    posting: Posting
    statement: PostedStatement
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


def apart_costs(
    posting: Posting,
    days: tuple[ClassDays, ...],
    statement: PostedStatement,
    lessons: tuple[LessonVariables, LessonVariables],
    unit: str,
    limits: Limits,
    wish: int,
) -> Iterator[CostTerm]:
    """What it costs that the second lesson lies less than the least or more than the most beyond the first.

    Where one of them was delivered, each start of the other has its cost. That may be a start before the other's, to which no
    school days lead; otherwise the second comes after the first where it has one.
    """
    before, after = lessons
    least, most = limits
    if limits == (None, None) or not before.starts or not after.starts:
        return
    at = [
        tuple(days[each.lesson.class_index].number_of(unit, each.lesson, start, each is before) for start in each.starts)
        for each in lessons
    ]
    if before.lesson.delivered is not None or after.lesson.delivered is not None:
        fixed = before.lesson.delivered is not None
        moved = after if fixed else before
        for place, start in enumerate(moved.starts):
            distance = at[1][place] - at[0][0] if fixed else at[1][0] - at[0][place]
            distance = max(0, distance) if unit == SCHOOL_DAY else distance
            short = 0 if least is None else least - distance
            over = 0 if most is None else distance - most
            if max(short, over) > 0:
                yield CostTerm(moved.at(start), max(short, over) * wish, f"{statement.label}: outside what is wished")
        return
    if unit == SCHOOL_DAY and before.starts[0] + before.lesson.length > after.starts[-1]:
        # It is too late for the two to come in their order, which is not asked for then.
        at = [(0,) * len(before.starts), (0,) * len(after.starts)]
    gap = Gap(posting, statement, before, after, at[0], at[1], wish)
    if least is not None:
        yield from gap.short(least)
    if most is not None:
        yield from gap.over(most)


def _last(lesson: LessonVariables, at: Measure, number: int) -> int:
    """The last start with at most this number; a slot before the first start when there is none."""
    place = bisect_right(at, number)
    return lesson.starts[place - 1] if place else lesson.starts[0] - 1
