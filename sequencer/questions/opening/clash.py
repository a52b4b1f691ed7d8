"""The first period that futures cannot share, and what each could hold there after a beginning that all of them share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from ortools.sat.python import cp_model

from sequencer.instance.facts import Instance
from sequencer.plan.differences import LessonName, Period
from sequencer.questions.opening.futures_side_by_side import OpeningPeriods, Together, prepared_futures, solved
from sequencer.solver.posting import Statement, total
from sequencer.solver.solver_calls import Calls


@dataclass(frozen=True)
class Wanted:
    """What one future could hold in the period: lessons, and None where it could be spare."""

    future: str
    lessons: tuple[LessonName | None, ...]


@dataclass(frozen=True)
class Clash:
    """Where futures must part.

    Parameters
    ----------
    class_id, period
        The first period that they cannot share, though they could share every one before it.
    wanted
        For each future all that it could hold there, whatever the others do from there on.
    """

    class_id: str
    period: Period
    wanted: tuple[Wanted, ...]

    @property
    def apart(self) -> bool:
        """Whether nothing could be held by all; otherwise what could be takes different lessons before it."""
        return not set.intersection(*(set(each.lessons) for each in self.wanted))


def first_clash(
    instances: Mapping[str, Instance], day: date, periods: tuple[OpeningPeriods, ...], calls: Calls, ends: float
) -> Clash | None:
    """The clash on a day before which these futures could begin alike, and after which not; None when the time ran out.

    Periods are looked at in order of time, and where classes meet at one time, in the order of the classes.
    """
    order = sorted(
        ((period, place) for place, each in enumerate(periods) for period in each.common if period[0] == day),
    )
    shared = 0
    while shared < len(order) - 1:
        possible = solved(_together(instances, day, periods, order[: shared + 1]), calls, ends)
        if possible is None:
            return None
        if not possible:
            break
        shared += 1
    period, place = order[shared]
    class_id = periods[place].class_id
    wanted = []
    for name in instances:
        lessons = _could_hold(_together(instances, day, periods, order[:shared]), name, class_id, period, calls, ends)
        if lessons is None:
            return None
        wanted.append(Wanted(name, lessons))
    return Clash(class_id, period, tuple(wanted))


def _together(
    instances: Mapping[str, Instance], day: date, periods: tuple[OpeningPeriods, ...], also: list[tuple[Period, int]]
) -> Together:
    """The futures alike before the day, and in these of its periods."""
    together = Together(prepared_futures(instances), day)
    for place, each in enumerate(periods):
        together.begin_alike(replace(each, common=tuple(period for period, of in also if of == place)))
    return together


def _could_hold(
    together: Together, name: str, class_id: str, period: Period, calls: Calls, ends: float
) -> tuple[LessonName | None, ...] | None:
    """All that one future could hold in the period, found one after the other; None when the time ran out."""
    literals = together.holding(name, class_id, period)
    found: list[LessonName | None] = []

    def hear(solver: cp_model.CpSolver) -> None:
        held = (lesson for lesson, here in literals.items() if any(solver.boolean_value(literal) for literal, _ in here))
        found.append(next(held, None))

    while possible := solved(together, calls, ends, hear):
        last = found[-1]
        label = f"{class_id}: {last[1:] if last is not None else 'nothing'} no more in period {period[1]} of {period[0]}"
        if last is not None:
            together.posting.linear(Statement(0, label), total(literals[last]) == 0)
        elif literals:
            every = [literal for here in literals.values() for literal in here]
            together.posting.linear(Statement(0, label), total(every) >= 1)
        else:
            return (None,)
    lessons = [lesson for lesson in (*literals, None) if lesson in found]
    return tuple(lessons) if possible is False else None
