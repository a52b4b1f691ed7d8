"""A teacher's minutes of marking and preparation by school week, as rule 10 and the aim ``even week`` count them."""

from __future__ import annotations

from sequencer.instance.facts import TeacherFacts
from sequencer.plan.sequence import Laid


def marking_by_week(laid: Laid, teacher: TeacherFacts) -> dict[int, int]:
    """Minutes of marking by school week, counted in the week of the lesson marked (rule 10)."""
    found: dict[int, int] = {}
    for lesson in laid.taught_by(teacher):
        if lesson.marking_minutes:
            week = laid.first_slot(lesson.index).week.number
            found[week] = found.get(week, 0) + lesson.marking_minutes
    return found


def preparation_by_week(laid: Laid, teacher: TeacherFacts) -> dict[int, int]:
    """Minutes of preparation by school week: the week before the lesson, week 1's in week 0 (rule 10).

    The same lesson for parallel classes of the teacher is prepared once, for the earliest; what one of them had before its first
    slot is prepared.
    """
    first_week: dict[str, int] = {}
    minutes: dict[str, int] = {}
    for lesson in laid.taught_by(teacher):
        if lesson.preparation_minutes and lesson.shared_ref not in teacher.prepared:
            week = laid.first_slot(lesson.index).week.number
            first_week[lesson.shared_ref] = min(week, first_week.get(lesson.shared_ref, week))
            minutes[lesson.shared_ref] = lesson.preparation_minutes
    found: dict[int, int] = {}
    for ref, week in first_week.items():
        found[week - 1] = found.get(week - 1, 0) + minutes[ref]
    return found
