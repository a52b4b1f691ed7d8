"""Each teacher's minutes of preparation and marking by school week, and which weeks are hard."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from sequencer.instance.facts import TeacherFacts
from sequencer.lists.preparing.tasks import MARK, Task
from sequencer.plan.minutes import marking_by_week, preparation_by_week
from sequencer.plan.sequence import Laid
from sequencer.scenario.school_weeks import SchoolWeek

HARD, HARD_MINUTES = Fraction(5, 4), 60
"""A week is hard when it holds this many times a teacher's average and so many minutes, or more; common sense, no source."""


@dataclass(frozen=True)
class TeacherWeek:
    """A teacher's minutes in one school week, over all classes.

    Parameters
    ----------
    teacher
        None for the one teacher of classes that name none.
    week
        None for the days before the first school week, in which that week's lessons are prepared.
    hard
        Whether it holds at least an hour, and a quarter more than the average of the teacher's school weeks.
    marking_due
        The last days for the marking that is counted here, in the week of what is marked; they may lie in a later week.
    """

    teacher: str | None
    week: SchoolWeek | None
    preparation: int
    marking: int
    hard: bool
    marking_due: tuple[date, ...] = ()

    @property
    def minutes(self) -> int:
        """Preparation and marking together."""
        return self.preparation + self.marking


def weeks_of(laid: Laid, tasks: Iterable[Task]) -> tuple[TeacherWeek, ...]:
    """Every school week of every teacher who prepares or marks; the days before the first one where they hold something."""
    marked = [task for task in tasks if task.what == MARK]
    return tuple(week for teacher in laid.instance.teachers for week in _weeks(laid, teacher, marked))


def _weeks(laid: Laid, teacher: TeacherFacts, marked: list[Task]) -> list[TeacherWeek]:
    marking, preparation = marking_by_week(laid, teacher), preparation_by_week(laid, teacher)
    if not marking and not preparation:
        return []
    due: dict[int, set[date]] = {}
    for task in marked:
        if task.who == teacher.name and task.by is not None:
            due.setdefault(laid.first_slot(task.lessons[0]).week.number, set()).add(task.by)
    weeks = laid.instance.calendar.weeks
    totals = {week.number: preparation.get(week.number, 0) + marking.get(week.number, 0) for week in weeks}
    average = Fraction(sum(totals.values()), len(weeks))
    before = [TeacherWeek(teacher.name, None, preparation[0], 0, hard=False)] if preparation.get(0) else []
    return before + [
        TeacherWeek(
            teacher.name, week, preparation.get(week.number, 0), marking.get(week.number, 0),
            hard=totals[week.number] >= HARD_MINUTES and totals[week.number] >= HARD * average,
            marking_due=tuple(sorted(due.get(week.number, ()))),
        )
        for week in weeks
    ]  # fmt: skip
