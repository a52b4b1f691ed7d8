"""Rule 10: what a teacher's day and week can hold over all classes."""

from __future__ import annotations

from datetime import date

from sequencer.instance.facts import LessonFacts, TeacherFacts
from sequencer.solver.parts import Parts
from sequencer.solver.posting import Literal, Statement, total
from sequencer.words import LIVE

Weighted = tuple[Literal, int]


def teachers_days_and_weeks_are_bearable(parts: Parts) -> None:
    """At most so many dense lessons and live lessons a day, and minutes of marking and preparation a school week (rule 10)."""
    for teacher in parts.instance.teachers:
        if not teacher.limited or not any(class_index in parts.variables.classes for class_index, _ in teacher.slots):
            continue
        if teacher.wish:
            continue
        _daily(parts, teacher)
        limits = [("marking", teacher.marking_a_week, marking_terms(parts, teacher))]
        if all(class_index in parts.variables.classes for class_index, _ in teacher.slots):
            # Of some of a teacher's classes it cannot be said whether another one has had the lesson prepared before.
            limits.append(("preparation", teacher.preparation_a_week, preparation_terms(parts, teacher)))
        for what, most, minutes in limits:
            gone = _delivered_minutes(parts, teacher, what)
            for week, terms in minutes.items():
                if most is None or gone.get(week, 0) > most:
                    continue  # no limit, or one that what was delivered breaks already
                if week > 0 and sum(weight for _, weight in terms if weight > 0) > most:
                    statement = Statement(10, f"{teacher.name}: minutes of {what} in week {week}")
                    parts.posting.linear(statement, total(terms) <= most)


def _delivered_minutes(parts: Parts, teacher: TeacherFacts, what: str) -> dict[int, int]:
    """Minutes by week of what was delivered; preparation in the week before, once, for the earliest."""
    weeks: dict[str, int] = {}
    found: dict[int, int] = {}
    for lesson, start, _ in _starts(parts, teacher):
        if lesson.delivered is None:
            continue
        week = parts.instance.slots_for(lesson)[start].week.number
        if what == "marking":
            found[week] = found.get(week, 0) + lesson.marking_minutes
        elif lesson.preparation_minutes and lesson.shared_ref not in teacher.prepared:
            weeks[lesson.shared_ref] = min(week, weeks.get(lesson.shared_ref, week))
    if what == "preparation":
        minutes = {lesson.shared_ref: lesson.preparation_minutes for lesson, _, _ in _starts(parts, teacher)}
        for ref, week in weeks.items():
            found[week - 1] = found.get(week - 1, 0) + minutes[ref]
    return found


def _daily(parts: Parts, teacher: TeacherFacts) -> None:
    dense: dict[date, list[Literal]] = {}
    live: dict[date, list[Literal]] = {}
    done: dict[str, dict[date, int]] = {"dense lessons": {}, "lessons live": {}}
    for lesson, start, literal in _starts(parts, teacher):
        day = parts.instance.slots_for(lesson)[start].date
        if lesson.dense:
            dense.setdefault(day, []).append(literal)
        if lesson.delivered is not None:
            for what, counts in (("dense lessons", lesson.dense), ("lessons live", lesson.delivered.taught == LIVE)):
                done[what][day] = done[what].get(day, 0) + counts
    for class_index, slot in sorted(teacher.slots):
        starts_live = parts.variables.classes[class_index].starts_live(slot) if class_index in parts.variables.classes else None
        if starts_live is not None:
            day = parts.instance.classes[class_index].slots[slot].date
            live.setdefault(day, []).append(starts_live)
    for by_day, most, what in ((dense, teacher.dense_a_day, "dense lessons"), (live, teacher.live_a_day, "lessons live")):
        for day, literals in by_day.items():
            if most is not None and done[what].get(day, 0) <= most < len(literals):
                statement = Statement(10, f"{teacher.name}: {what} on {day}")
                parts.posting.linear(statement, sum(literals) <= most)


def marking_terms(parts: Parts, teacher: TeacherFacts) -> dict[int, list[Weighted]]:
    """Minutes of marking by school week, as weighted literals."""
    found: dict[int, list[Weighted]] = {}
    for lesson, start, literal in _starts(parts, teacher):
        if lesson.marking_minutes:
            week = parts.instance.slots_for(lesson)[start].week.number
            found.setdefault(week, []).append((literal, lesson.marking_minutes))
    return found


def preparation_terms(parts: Parts, teacher: TeacherFacts) -> dict[int, list[Weighted]]:
    """Minutes of preparation by school week (0 for the first), as weighted literals.

    For parallel classes a literal per week says that one of them has had the lesson by then; the lesson is prepared in
    the week before that literal turns true.
    """
    found: dict[int, list[Weighted]] = {}
    by_ref: dict[str, dict[int, list[tuple[int, Literal]]]] = {}
    minutes: dict[str, int] = {}
    for lesson, start, literal in _starts(parts, teacher):
        if lesson.preparation_minutes and lesson.shared_ref not in teacher.prepared:
            week = parts.instance.slots_for(lesson)[start].week.number
            by_ref.setdefault(lesson.shared_ref, {}).setdefault(week, []).append((lesson.index, literal))
            minutes[lesson.shared_ref] = lesson.preparation_minutes
    for ref, by_week in by_ref.items():
        single = len({index for entries in by_week.values() for index, _ in entries}) == 1
        before: Literal | None = None
        for week in sorted(by_week):
            literals = [literal for _, literal in by_week[week]]
            if single:
                found.setdefault(week - 1, []).extend((literal, minutes[ref]) for literal in literals)
                continue
            so_far = _any(
                parts, f"{teacher.name} {ref} taught by week {week}", [*literals, *([before] if before is not None else [])]
            )
            found.setdefault(week - 1, []).append((so_far, minutes[ref]))
            if before is not None:
                found[week - 1].append((before, -minutes[ref]))
            before = so_far
    return found


def minutes_by_week(parts: Parts, teacher: TeacherFacts) -> dict[int, list[Weighted]]:
    """Minutes of marking and of preparation together."""
    found = marking_terms(parts, teacher)
    for week, more in preparation_terms(parts, teacher).items():
        found.setdefault(week, []).extend(more)
    return found


def _any(parts: Parts, name: str, literals: list[Literal]) -> Literal:
    """A literal that holds exactly when one of the others does."""
    either = parts.posting.boolean(name)
    statement = Statement(10, name)
    for literal in literals:
        parts.posting.clause(statement, ~literal, either)
    parts.posting.clause(statement, ~either, *literals)
    return either


def _starts(parts: Parts, teacher: TeacherFacts) -> list[tuple[LessonFacts, int, Literal]]:
    """Every start of a lesson of this model in a slot of the teacher."""
    return [
        (variables.lesson, start, variables.at(start))
        for variables in parts.variables.lessons.values()
        for start in variables.starts
        if (variables.lesson.class_index, start) in teacher.slots
    ]
