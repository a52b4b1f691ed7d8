"""A teacher's minutes of marking and preparation by school week, as weighted literals (rule 10 and the aim ``even week``)."""

from __future__ import annotations

from sequencer.instance.facts import LessonFacts, TeacherFacts
from sequencer.solver.posting import Literal, PostedStatement, Posting
from sequencer.solver.variables import Variables

Weighted = tuple[Literal, int]


def marking_terms(variables: Variables, teacher: TeacherFacts) -> dict[int, list[Weighted]]:
    """Minutes of marking by school week, as weighted literals."""
    found: dict[int, list[Weighted]] = {}
    for lesson, start, literal in _starts(variables, teacher):
        if lesson.marking_minutes:
            week = variables.instance.slots_for(lesson)[start].week.number
            found.setdefault(week, []).append((literal, lesson.marking_minutes))
    return found


def preparation_terms(posting: Posting, variables: Variables, teacher: TeacherFacts) -> dict[int, list[Weighted]]:
    """Minutes of preparation by school week (0 for the first), as weighted literals.

    For parallel classes a literal per week says that one of them has had the lesson by then; the lesson is prepared in
    the week before that literal turns true.
    """
    found: dict[int, list[Weighted]] = {}
    by_ref: dict[str, dict[int, list[tuple[int, Literal]]]] = {}
    minutes: dict[str, int] = {}
    for lesson, start, literal in _starts(variables, teacher):
        if lesson.preparation_minutes and lesson.shared_ref not in teacher.prepared:
            week = variables.instance.slots_for(lesson)[start].week.number
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
                posting, f"{teacher.name} {ref} taught by week {week}", [*literals, *([before] if before is not None else [])]
            )
            found.setdefault(week - 1, []).append((so_far, minutes[ref]))
            if before is not None:
                found[week - 1].append((before, -minutes[ref]))
            before = so_far
    return found


def _any(posting: Posting, name: str, literals: list[Literal]) -> Literal:
    """A literal that holds exactly when one of the others does."""
    either = posting.boolean(name)
    statement = PostedStatement(10, name)
    for literal in literals:
        posting.clause(statement, ~literal, either)
    posting.clause(statement, ~either, *literals)
    return either


def _starts(variables: Variables, teacher: TeacherFacts) -> list[tuple[LessonFacts, int, Literal]]:
    """Every start of a lesson of this model in a slot of the teacher."""
    classes = variables.instance.classes
    here = (classes[each] for each in teacher.classes if each in variables.classes)
    own = (variables.lessons[index] for facts in here for index in (*facts.earlier, *facts.lessons))
    return [
        (each.lesson, start, each.at(start))
        for each in own
        for start in each.starts
        if (each.lesson.class_index, start) in teacher.slots
    ]
