"""Wishes about counts, as sums with limits: caps and threads, live quotas, weekly shape, the teacher's day and week.

What looks at several classes is a wish of models that hold them all.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from sequencer.aims.base import CostTerm
from sequencer.instance.calendar import Slot
from sequencer.instance.facts import ClassFacts, TeacherFacts
from sequencer.scenario.rules_schema import WISHED_MINUTES
from sequencer.solver.costs import WishedLimit
from sequencer.solver.parts import Parts
from sequencer.solver.posted.counted import held_in, stretches
from sequencer.solver.posted.teacher_weeks import marking_terms, preparation_terms
from sequencer.solver.posting import Literal, Statement


def count_wishes(parts: Parts) -> Iterator[CostTerm]:
    """What lies outside wished counts (rules 2, 5, 9 and 10)."""
    for limits in (_tags, _quotas, _weeks, _teachers):
        for limit in limits(parts):
            yield from limit.costs(parts.posting)


def _tags(parts: Parts) -> Iterator[WishedLimit]:
    lessons = parts.instance.lessons
    for facts in parts.classes():
        spare = parts.variables.classes[facts.index].spare
        for cap in facts.caps:
            tagged = [index for index in facts.lessons if cap.tag in lessons[index].tags]
            for window in _windows(facts, cap.break_days, cap.of, short_ones=True) if cap.wish else ():
                statement = Statement(2, f"{facts.id}: {cap.tag} in {cap.of} slots from {window[0].number}")
                held = _ones(held_in(parts, facts, window, tagged))
                yield WishedLimit(statement, held, None, cap.most, cap.wish or 0, greatest=len(window))
        for thread in facts.threads:
            tagged = [index for index in facts.lessons if thread.tag in lessons[index].tags]
            for window in _windows(facts, thread.break_days, thread.of, short_ones=False) if thread.wish else ():
                statement = Statement(2, f"{facts.id}: {thread.tag} or spare in {thread.of} slots from {window[0].number}")
                serving = [*held_in(parts, facts, window, tagged), *(spare[slot.number] for slot in window)]
                yield WishedLimit(statement, _ones(serving), thread.least, None, thread.wish or 0)


def _windows(facts: ClassFacts, break_days: int | None, of: int, short_ones: bool) -> Iterator[tuple[Slot, ...]]:
    """Any so many consecutive slots; of a shorter stretch all, where those count."""
    for stretch in stretches(facts.slots, break_days):
        size = min(of, len(stretch)) if short_ones else of
        yield from (stretch[first : first + size] for first in range(len(stretch) - size + 1))


def _ones(literals: list[Literal]) -> tuple[tuple[Literal, int], ...]:
    return tuple((literal, 1) for literal in literals)


def _quotas(parts: Parts) -> Iterator[WishedLimit]:
    classes = parts.variables.classes
    for count in parts.instance.live_counts:
        if count.wish and all(class_index in classes for class_index, _ in count.slots):
            starts = [classes[class_index].starts_live(slot) for class_index, slot in count.slots]
            live = _ones([literal for literal in starts if literal is not None])
            statement = Statement(5, f"{count.owner}: lessons live in {count.span}")
            yield WishedLimit(statement, live, count.least, count.most, count.wish)


def _weeks(parts: Parts) -> Iterator[WishedLimit]:
    for facts in parts.classes():
        for week in (week for week in facts.weeks if week.wish):
            terms = parts.in_week(facts, week.week)
            lessons = _ones([literal for _, literal in terms])
            load = tuple((literal, lesson.load) for lesson, literal in terms)
            statement = Statement(9, f"{facts.id}: shape of week {week.week.number}")
            yield WishedLimit(statement, lessons, week.least_lessons, week.most_lessons, week.wish, greatest=len(week.slots))
            yield WishedLimit(statement, load, week.least_load, week.most_load, week.wish)


def _teachers(parts: Parts) -> Iterator[WishedLimit]:
    for teacher in parts.instance.teachers:
        if not teacher.wish or not all(class_index in parts.variables.classes for class_index, _ in teacher.slots):
            continue
        for what, most, by_day in (
            ("dense lessons", teacher.dense_a_day, _dense_by_day(parts, teacher)),
            ("lessons live", teacher.live_a_day, _live_by_day(parts, teacher)),
        ):
            for day, literals in by_day.items():
                yield WishedLimit(Statement(10, f"{teacher.name}: {what} on {day}"), _ones(literals), None, most, teacher.wish)
        for what, most, minutes in (
            ("marking", teacher.marking_a_week, marking_terms),
            ("preparation", teacher.preparation_a_week, preparation_terms),
        ):
            for week, terms in minutes(parts, teacher).items() if most is not None else ():
                # Week 0 is the holiday before the first school week: counted, but not capped.
                if week > 0:
                    statement = Statement(10, f"{teacher.name}: minutes of {what} in week {week}")
                    yield WishedLimit(statement, tuple(terms), None, most, teacher.wish, WISHED_MINUTES)


def _dense_by_day(parts: Parts, teacher: TeacherFacts) -> dict[date, list[Literal]]:
    found: dict[date, list[Literal]] = {}
    for variables in parts.variables.lessons.values():
        lesson = variables.lesson
        for start in variables.starts if lesson.dense else ():
            if (lesson.class_index, start) in teacher.slots:
                day = parts.instance.slots_for(lesson)[start].date
                found.setdefault(day, []).append(variables.at(start))
    return found


def _live_by_day(parts: Parts, teacher: TeacherFacts) -> dict[date, list[Literal]]:
    found: dict[date, list[Literal]] = {}
    for class_index, slot in sorted(teacher.slots):
        starts_live = parts.variables.classes[class_index].starts_live(slot)
        if starts_live is not None:
            found.setdefault(parts.instance.classes[class_index].slots[slot].date, []).append(starts_live)
    return found
