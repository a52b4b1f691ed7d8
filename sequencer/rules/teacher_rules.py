"""The referee on rules over several classes: the teacher's day and week, in step, shared classes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from sequencer.instance.facts import LessonFacts, TeacherFacts
from sequencer.instance.wished import most_apart
from sequencer.plan.minutes import marking_by_week, preparation_by_week
from sequencer.plan.sequence import Laid, Sequence
from sequencer.rules.alone import is_past, is_teachers_own
from sequencer.rules.past import dates_left, slots_once
from sequencer.rules.verdict import Breach, day_text, named, when
from sequencer.words import LIVE, count_text


def teacher_weeks(laid: Laid) -> Iterator[Breach]:
    """Rule 10: most dense lessons and live lessons a day, most minutes of marking and of preparation a school week."""
    for teacher in laid.instance.teachers:
        if not teacher.limited or teacher.wish:
            continue
        lessons = list(laid.taught_by(teacher))
        yield from _daily(laid, teacher, (lesson for lesson in lessons if lesson.dense), teacher.dense_a_day, "dense lesson")
        live = (lesson for lesson in lessons if laid.taught(lesson.index) == LIVE)
        yield from _daily(laid, teacher, live, teacher.live_a_day, "lesson", " live")
        marking, preparation = marking_by_week(laid, teacher), preparation_by_week(laid, teacher)
        marked = [lesson for lesson in lessons if lesson.marking_minutes]
        prepared = [lesson for lesson in lessons if lesson.preparation_minutes]
        delivered = Laid(laid.instance, Sequence(()), tuple(facts.index for facts in laid.classes))
        done = marking_by_week(delivered, teacher), preparation_by_week(delivered, teacher)
        yield from _weekly(laid, teacher, marking, done[0], teacher.marking_a_week, "marking", marked, 0)
        # Week 0 is the holiday before the first school week: counted, but not capped.
        capped = {week: minutes for week, minutes in preparation.items() if week > 0}
        yield from _weekly(laid, teacher, capped, done[1], teacher.preparation_a_week, "preparation", prepared, 1)


def _daily(
    laid: Laid, teacher: TeacherFacts, lessons: Iterable[LessonFacts], most: int | None, what: str, how: str = ""
) -> Iterator[Breach]:
    by_day: dict[date, list[LessonFacts]] = {}
    for lesson in lessons:
        by_day.setdefault(laid.date(lesson.index), []).append(lesson)
    for day, group in sorted(by_day.items()):
        if most is not None and len(group) > most:
            yield _breach(
                laid, 10, group,
                f"{teacher.name}: {count_text(len(group), what)}{how} on {day_text(day)}, at most {most} asked: {named(group)}",
                sum(lesson.delivered is not None for lesson in group) > most,
            )  # fmt: skip


def _weekly(
    laid: Laid,
    teacher: TeacherFacts,
    minutes: dict[int, int],
    done: dict[int, int],
    most: int | None,
    what: str,
    lessons: list[LessonFacts],
    weeks_before: int,
) -> Iterator[Breach]:
    for week, value in sorted(minutes.items()):
        if most is not None and value > most:
            group = [lesson for lesson in lessons if laid.first_slot(lesson.index).week.number - weeks_before == week]
            message = f"{teacher.name}: {count_text(value, 'minute')} of {what} in week {week}, at most {most} asked"
            yield _breach(laid, 10, group, message, done.get(week, 0) > most)


def in_step(laid: Laid) -> Iterator[Breach]:
    """Rule 11: the same lesson of one unit in parallel classes lies within so many days, over the classes where it is placed."""
    lessons = laid.instance.lessons
    for group in laid.instance.parallels:
        bound = [lessons[index] for index in group if laid.placed(index) and lessons[index].in_step is not None]
        apart = [
            (_cannot_keep_step(laid, one, other, most), -abs(laid.days(one.index, other.index)), one, other)
            for place, one in enumerate(bound)
            for other in bound[place + 1 :]
            if (most := most_apart(one, other)) is not None and abs(laid.days(one.index, other.index)) > most
        ]
        if apart:
            # One breach a lesson: of those that could be mended, or else of all, the widest.
            past, days, one, other = min(apart, key=lambda found: found[:2])
            limit = most_apart(one, other)
            classes = " and ".join(laid.instance.class_of(lesson).id for lesson in (one, other))
            message = f"{classes}: {named((one,))} lies {count_text(-days, 'day')} apart, at most {limit} asked"
            yield _breach(laid, 11, [one, other], message, past)


def _cannot_keep_step(laid: Laid, one: LessonFacts, other: LessonFacts, most: int) -> bool:
    def could(dates: list[list[date]]) -> bool:
        return any(abs((here - there).days) <= most for here in dates[0] for there in dates[1])

    if could([dates_left(laid, lesson) for lesson in (one, other)]):
        return False
    told = one.delivered is not None or other.delivered is not None
    return told or could([[slot.date for slot in slots_once(laid, lesson)] for lesson in (one, other)])


def shared_classes(laid: Laid) -> Iterator[Breach]:
    """Rule 13: a lesson tied to a teacher starts in a slot of that teacher."""
    for lesson in laid.all_placed():
        slot = laid.first_slot(lesson.index)
        if not is_teachers_own(lesson, slot):
            owner = laid.instance.class_of(lesson).id
            yield _breach(
                laid, 13, [lesson], f"{owner}: {named((lesson,))} is {lesson.teacher}'s, but {when(slot)} is {slot.teacher}'s",
                is_past(laid.instance, lesson, 13, "teacher"),
            )  # fmt: skip


def _breach(laid: Laid, rule: int, lessons: list[LessonFacts], message: str, past: bool = False) -> Breach:
    owners = tuple(dict.fromkeys(laid.instance.class_of(lesson).id for lesson in lessons))
    slots = tuple(laid.first_slot(lesson.index) for lesson in lessons if not lesson.earlier)
    return Breach(rule, owners, tuple(lesson.index for lesson in lessons), slots, message, past)
