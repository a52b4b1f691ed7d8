"""Each teacher's minutes of preparation and marking by school week, and which weeks are hard."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from sequencer.calendar import SchoolWeek
from sequencer.facts import TeacherFacts
from sequencer.minutes import marking_by_week, preparation_by_week
from sequencer.sequence import Laid

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
    """

    teacher: str | None
    week: SchoolWeek | None
    preparation: int
    marking: int
    hard: bool

    @property
    def minutes(self) -> int:
        """Preparation and marking together."""
        return self.preparation + self.marking


def weeks_of(laid: Laid) -> tuple[TeacherWeek, ...]:
    """Every school week of every teacher who prepares or marks; the days before the first one where they hold something."""
    return tuple(week for teacher in laid.instance.teachers for week in _weeks(laid, teacher))


def _weeks(laid: Laid, teacher: TeacherFacts) -> list[TeacherWeek]:
    marking, preparation = marking_by_week(laid, teacher), preparation_by_week(laid, teacher)
    if not marking and not preparation:
        return []
    weeks = laid.instance.calendar.weeks
    totals = {week.number: preparation.get(week.number, 0) + marking.get(week.number, 0) for week in weeks}
    average = Fraction(sum(totals.values()), len(weeks))
    before = [TeacherWeek(teacher.name, None, preparation[0], 0, hard=False)] if preparation.get(0) else []
    return before + [
        TeacherWeek(
            teacher.name, week, preparation.get(week.number, 0), marking.get(week.number, 0),
            hard=totals[week.number] >= HARD_MINUTES and totals[week.number] >= HARD * average,
        )
        for week in weeks
    ]  # fmt: skip
