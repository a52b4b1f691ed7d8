"""The assessments of each year group, those of other subjects that are fixed elsewhere among them, and what its weeks hold."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from sequencer.instance.facts import CohortFacts, LessonFacts
from sequencer.plan.sequence import Laid
from sequencer.scenario.school_weeks import SchoolWeek, monday_of


@dataclass(frozen=True)
class CohortAssessment:
    """An assessment of a subject on a date: the position of the lesson, None where it is fixed elsewhere."""

    date: date
    subject: str
    lesson: int | None


@dataclass(frozen=True)
class CohortWeek:
    """What one pupil has in a school week, of each subject in the class with most: assessments, minutes, dense lessons."""

    week: SchoolWeek
    assessments: int
    homework: int
    dense: int


@dataclass(frozen=True)
class CohortCalendar:
    """A cohort's assessments in order of time, and its weeks."""

    cohort: CohortFacts
    assessments: tuple[CohortAssessment, ...]
    weeks: tuple[CohortWeek, ...]


def assessments(laid: Laid) -> tuple[CohortCalendar, ...]:
    """The calendar of each cohort, or of each class by itself where the scenario states none."""
    instance = laid.instance
    return tuple(_calendar(laid, cohort) for cohort in instance.cohorts or instance.classes_alone)


def _calendar(laid: Laid, cohort: CohortFacts) -> CohortCalendar:
    instance, found = laid.instance, []
    for subject in cohort.subjects:
        lessons = [lesson for each in subject.classes for lesson in laid.in_order(each) if lesson.kind == "assessment"]
        own = [lesson for lesson in lessons if laid.first_slot(lesson.index).week.own]
        found += [CohortAssessment(laid.date(lesson.index), subject.name, lesson.index) for lesson in own]
        found += [CohortAssessment(day, subject.name, None) for day in subject.fixed]
    # Those of one date by period; of one period, and without one, as the cohort lists their subjects.
    found.sort(key=lambda each: (each.date, 0 if each.lesson is None else laid.first_slot(each.lesson).period))
    weeks = []
    for week in instance.calendar.own_weeks:
        fixed = sum(monday_of(day) == week.monday for subject in cohort.subjects for day in subject.fixed)
        tests = _most(laid, cohort, week, laid.starting, lambda lesson: int(lesson.kind == "assessment"))
        homework = _most(laid, cohort, week, laid.due, lambda lesson: lesson.homework.minutes if lesson.homework else 0)
        dense = _most(laid, cohort, week, laid.starting, lambda lesson: int(lesson.dense))
        weeks.append(CohortWeek(week, tests + fixed, homework, dense))
    return CohortCalendar(cohort, tuple(found), tuple(weeks))


def _most(
    laid: Laid,
    cohort: CohortFacts,
    week: SchoolWeek,
    by_place: dict[tuple[int, int], list[LessonFacts]],
    much: Callable[[LessonFacts], int],
) -> int:
    """What the week holds, of each subject in the class with most."""
    classes = laid.instance.classes
    return sum(
        max(
            sum(
                much(lesson)
                for slot in classes[each].slots
                if slot.week == week
                for lesson in by_place.get((each, slot.number), ())
            )
            for each in subject.classes
        )
        for subject in cohort.subjects
        if subject.classes
    )
