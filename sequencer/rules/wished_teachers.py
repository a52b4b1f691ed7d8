"""Wishes about a teacher's day and week, over all classes (rule 10)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from sequencer.instance.facts import LessonFacts, TeacherFacts
from sequencer.instance.naming import named
from sequencer.plan.minutes import marking_by_week, preparation_by_week
from sequencer.plan.sequence import Laid
from sequencer.rules.wish import Ungranted, by_lessons
from sequencer.scenario.rules_schema import WISHED_MINUTES
from sequencer.words import LIVE, count_text, day_text


def teacher_weeks(laid: Laid) -> Iterator[Ungranted]:
    """Rule 10: lessons a day, minutes a week. Unit: a lesson too many a day, each begun 30 minutes too many a week."""
    here = {facts.index for facts in laid.classes}
    for teacher in laid.instance.teachers:
        if not teacher.wish or not here.issuperset(class_index for class_index, _ in teacher.slots):
            continue
        lessons = list(laid.taught_by(teacher))
        yield from _daily(laid, teacher, (lesson for lesson in lessons if lesson.dense), teacher.dense_a_day, "dense lesson")
        live = (lesson for lesson in lessons if laid.taught(lesson.index) == LIVE)
        yield from _daily(laid, teacher, live, teacher.live_a_day, "lesson", " live")
        for what, minutes, most, concerned, weeks_before in (
            ("marking", marking_by_week(laid, teacher), teacher.marking_a_week, "marking_minutes", 0),
            ("preparation", preparation_by_week(laid, teacher), teacher.preparation_a_week, "preparation_minutes", 1),
        ):
            for week, value in sorted(minutes.items()):
                # Week 0 is the holiday before the first school week: counted, but not capped.
                if most is not None and value > most and week > 0:
                    group = [lesson for lesson in lessons if getattr(lesson, concerned)]
                    group = [x for x in group if laid.first_slot(x.index).week.number - weeks_before == week]
                    message = f"{teacher.name}: {count_text(value, 'minute')} of {what} in week {week}, at most {most} wished"
                    yield by_lessons(laid, 10, group, -(-(value - most) // WISHED_MINUTES), teacher.wish, message)


def _daily(
    laid: Laid, teacher: TeacherFacts, lessons: Iterable[LessonFacts], most: int | None, what: str, how: str = ""
) -> Iterator[Ungranted]:
    by_day: dict[date, list[LessonFacts]] = {}
    for lesson in lessons:
        by_day.setdefault(laid.date(lesson.index), []).append(lesson)
    for day, group in sorted(by_day.items()):
        if most is not None and len(group) > most:
            message = (
                f"{teacher.name}: {count_text(len(group), what)}{how} on {day_text(day)}, at most {most} wished: {named(group)}"
            )
            yield by_lessons(laid, 10, group, len(group) - most, teacher.wish, message)
