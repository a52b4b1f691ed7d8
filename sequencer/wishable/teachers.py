"""The teacher's day and week, over all classes (rule 10), and the minutes that it counts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from sequencer.facts import LessonFacts, TeacherFacts
from sequencer.naming import day_text, named
from sequencer.scenario.schema import WISHED_MINUTES
from sequencer.sequence import Laid
from sequencer.wishable.violation import Violation, of_lessons
from sequencer.words import LIVE


def teacher_weeks(laid: Laid) -> Iterator[Violation]:
    """Rule 10: most dense lessons and live lessons a day, most minutes of marking and of preparation a school week.

    Unit: a lesson too many a day, each begun 30 minutes too many a week.
    """
    for teacher in laid.instance.teachers:
        if not teacher.limited:
            continue
        lessons = list(laid.taught_by(teacher))
        yield from _daily(laid, teacher, (lesson for lesson in lessons if lesson.dense), teacher.dense_a_day, "dense lessons")
        live = (lesson for lesson in lessons if laid.taught(lesson.index) == LIVE)
        yield from _daily(laid, teacher, live, teacher.live_a_day, "lessons live")
        marking, preparation = marking_by_week(laid, teacher), preparation_by_week(laid, teacher)
        marked = [lesson for lesson in lessons if lesson.marking_minutes]
        prepared = [lesson for lesson in lessons if lesson.preparation_minutes]
        yield from _weekly(laid, teacher, marking, teacher.marking_a_week, "marking", marked, 0)
        # Week 0 is the holiday before the first school week: counted, but not capped.
        capped = {week: minutes for week, minutes in preparation.items() if week > 0}
        yield from _weekly(laid, teacher, capped, teacher.preparation_a_week, "preparation", prepared, 1)


def _daily(laid: Laid, teacher: TeacherFacts, lessons: Iterable[LessonFacts], most: int | None, what: str) -> Iterator[Violation]:
    by_day: dict[date, list[LessonFacts]] = {}
    for lesson in lessons:
        by_day.setdefault(laid.date(lesson.index), []).append(lesson)
    for day, group in sorted(by_day.items()):
        if most is not None and len(group) > most:
            message = f"{teacher.name}: {len(group)} {what} on {day_text(day)}, at most {most} asked: {named(group)}"
            yield of_lessons(laid, 10, group, message, len(group) - most, teacher.wish)


def _weekly(
    laid: Laid,
    teacher: TeacherFacts,
    minutes: dict[int, int],
    most: int | None,
    what: str,
    lessons: list[LessonFacts],
    weeks_before: int,
) -> Iterator[Violation]:
    for week, value in sorted(minutes.items()):
        if most is not None and value > most:
            group = [lesson for lesson in lessons if laid.first_slot(lesson.index).week.number - weeks_before == week]
            message = f"{teacher.name}: {value} minutes of {what} in week {week}, at most {most} asked"
            yield of_lessons(laid, 10, group, message, -(-(value - most) // WISHED_MINUTES), teacher.wish)


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

    The same lesson for parallel classes of the teacher is prepared once, for the earliest.
    """
    first_week: dict[str, int] = {}
    minutes: dict[str, int] = {}
    for lesson in laid.taught_by(teacher):
        if lesson.preparation_minutes:
            week = laid.first_slot(lesson.index).week.number
            first_week[lesson.ref] = min(week, first_week.get(lesson.ref, week))
            minutes[lesson.ref] = lesson.preparation_minutes
    found: dict[int, int] = {}
    for ref, week in first_week.items():
        found[week - 1] = found.get(week - 1, 0) + minutes[ref]
    return found
