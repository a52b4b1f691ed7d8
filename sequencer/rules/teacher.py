"""Rule 10: a teacher's day and week, over all classes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sequencer.instance.facts import Instance, LessonFacts, TeacherFacts
from sequencer.plan.minutes import preparation_by_week
from sequencer.plan.sequence import Laid, Sequence
from sequencer.rules.counting import PREPARED, STARTS, STARTS_LIVE, Count, CountingRule
from sequencer.rules.verdict import day_text, named
from sequencer.scenario.rules_schema import WISHED_MINUTES
from sequencer.words import count_text


class TeacherRule(CountingRule):
    """Over all classes of a named teacher: most dense lessons and most lessons live a day, most minutes of marking and of
    preparation a school week.

    Marking counts in the week of the lesson marked. Preparation counts in the school week before the lesson, week 1's in a week 0
    that is not capped; once for parallel classes, for the earliest; a group of which one class has had the lesson is prepared,
    whenever that was. As a wish it costs for each lesson too many a day, and for each begun 30 minutes too many a week.
    """

    number, name = 10, "teacher's week"

    def all_counts(self, instance: Instance) -> Iterator[Count]:
        for teacher in instance.teachers:
            if teacher.limited:
                lessons = [instance.lessons[index] for each in teacher.classes for index in instance.classes[each].lessons]
                yield from _a_day(instance, teacher, lessons)
                yield from _a_week(instance, teacher, lessons)

    def counted(self, laid: Laid, count: Count) -> tuple[int, list[LessonFacts]]:
        value, lessons = super().counted(laid, count)
        if count.how == PREPARED:
            teacher, week = count.about
            value = preparation_by_week(laid, teacher).get(week, 0)
            lessons = [lesson for lesson in lessons if laid.first_slot(lesson.index).week.number - 1 == week]
        return value, lessons

    def owners(self, instance: Instance, count: Count, counted: list[LessonFacts]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(instance.class_of(lesson).id for lesson in counted))

    def says(self, count: Count, value: int, asked: str, lessons: list[LessonFacts]) -> str:
        by_lessons = count.how == STARTS_LIVE or count.what == "dense lesson"
        return f"{self.holds(count, value)}, {asked}" + (f": {named(lessons)}" if by_lessons else "")

    def holds(self, count: Count, value: int) -> str:
        if count.how == STARTS_LIVE:
            return f"{count.owner}: {count_text(value, 'lesson')} live {count.where}"
        if count.what == "dense lesson":
            return f"{count.owner}: {count_text(value, 'dense lesson')} {count.where}"
        return f"{count.owner}: {count_text(value, 'minute')} of {count.what} {count.where}"

    def couples(self, instance: Instance) -> Iterable[Iterable[int]]:
        return [teacher.classes for teacher in instance.teachers if teacher.limited]


def _a_day(instance: Instance, teacher: TeacherFacts, lessons: list[LessonFacts]) -> Iterator[Count]:
    days: dict[str, list[tuple[int, int]]] = {}
    for class_index, slot in sorted(teacher.slots, key=lambda place: (instance.classes[place[0]].slots[place[1]].date, place)):
        days.setdefault(day_text(instance.classes[class_index].slots[slot].date), []).append((class_index, slot))
    dense = {lesson.index: 1 for lesson in lessons if lesson.dense}
    for what, most, how, weights in (
        ("dense lesson", teacher.dense_a_day, STARTS, dense),
        ("lesson", teacher.live_a_day, STARTS_LIVE, {lesson.index: 1 for lesson in lessons}),
    ):
        for day, slots in days.items() if most is not None else ():
            label = f"{teacher.name}: {'dense lessons' if how == STARTS else 'lessons live'} on {day}"
            yield Count(label, teacher.name, f"on {day}", tuple(slots), weights, None, most, what, how, wish=teacher.wish)


def _a_week(instance: Instance, teacher: TeacherFacts, lessons: list[LessonFacts]) -> Iterator[Count]:
    weeks: dict[int, list[tuple[int, int]]] = {}
    every = tuple(sorted(teacher.slots))
    for class_index, slot in every:
        weeks.setdefault(instance.classes[class_index].slots[slot].week.number, []).append((class_index, slot))
    marking = {lesson.index: lesson.marking_minutes for lesson in lessons if lesson.marking_minutes}
    for week in sorted(weeks) if teacher.marking_a_week is not None else ():
        yield Count(
            f"{teacher.name}: minutes of marking in week {week}", teacher.name, f"in week {week}", tuple(weeks[week]), marking,
            None, teacher.marking_a_week, "marking", wish=teacher.wish, unit=WISHED_MINUTES,
        )  # fmt: skip
    if teacher.preparation_a_week is None:
        return
    preparation = {lesson.index: lesson.preparation_minutes for lesson in lessons if lesson.preparation_minutes}
    told = preparation_by_week(Laid(instance, Sequence(()), teacher.classes), teacher)
    for week in (week - 1 for week in sorted(weeks) if week > 1):
        yield Count(
            f"{teacher.name}: minutes of preparation in week {week}", teacher.name, f"in week {week}", every, preparation, None,
            teacher.preparation_a_week, "preparation", PREPARED, wish=teacher.wish, unit=WISHED_MINUTES, told=told.get(week, 0),
            about=(teacher, week),
        )  # fmt: skip
