"""The aims' values of a sequence, counted in plain Python from the words of the rules."""

from __future__ import annotations

from collections.abc import Callable

from sequencer.facts import TeacherFacts
from sequencer.outcomes import practices, retrievals
from sequencer.sequence import Laid
from sequencer.words import (
    AIMS,
    CARRIED_OVER,
    DISTANCE,
    EARLY_FINISH,
    EVEN_LOAD,
    EVEN_WEEK,
    LEFT_OUT,
    LIVE,
    MADE_LESSONS,
    SET_WORK,
    WISHES,
)


def aim_values(laid: Laid) -> dict[str, int]:
    """Every aim the product knows, by name, whether or not the scenario lists it."""
    return {aim: _COUNTS[aim](laid) for aim in AIMS}


def _left_out(laid: Laid) -> int:
    return sum(lesson.priority for lesson in laid.lessons() if lesson.optional and not laid.placed(lesson.index))


def _carried_over(laid: Laid) -> int:
    outcomes = practices(laid) + retrievals(laid)
    return sum(outcome.state in ("carried over", "late") for outcome in outcomes)


def _made_lessons(laid: Laid) -> int:
    return sum(lesson.made is not None for lesson in laid.all_placed())


def _wishes(laid: Laid) -> int:
    placed = list(laid.all_placed())
    set_work = sum(lesson.wants_live and laid.taught(lesson.index) == SET_WORK for lesson in placed)
    live = sum(lesson.live == "avoid" and laid.taught(lesson.index) == LIVE for lesson in placed)
    return set_work + live


def _distance(laid: Laid) -> int:
    return sum(outcome.distance for outcome in retrievals(laid))


def _even_load(laid: Laid) -> int:
    total = 0
    for facts in laid.classes:
        weekly: dict[int, int] = {}
        for lesson in laid.in_order(facts.index):
            week = laid.first_slot(lesson.index).week.number
            weekly[week] = weekly.get(week, 0) + lesson.load
        total += max(weekly.values(), default=0)
    return total


def _even_week(laid: Laid) -> int:
    total = 0
    for teacher in laid.instance.teachers:
        minutes = marking_by_week(laid, teacher)
        for week, more in preparation_by_week(laid, teacher).items():
            minutes[week] = minutes.get(week, 0) + more
        total += max(minutes.values(), default=0)
    return total


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
            first_week[lesson.shared_ref] = min(week, first_week.get(lesson.shared_ref, week))
            minutes[lesson.shared_ref] = lesson.preparation_minutes
    found: dict[int, int] = {}
    for ref, week in first_week.items():
        found[week - 1] = found.get(week - 1, 0) + minutes[ref]
    return found


def _early_finish(laid: Laid) -> int:
    total = 0
    for facts in laid.classes:
        ends = [laid.end(lesson.index) for lesson in laid.in_order(facts.index) if not lesson.optional]
        total += sum(slot.number < max(ends) for slot in laid.spare_slots(facts.index)) if ends else 0
    return total


_COUNTS: dict[str, Callable[[Laid], int]] = {
    LEFT_OUT: _left_out,
    MADE_LESSONS: _made_lessons,
    CARRIED_OVER: _carried_over,
    WISHES: _wishes,
    DISTANCE: _distance,
    EVEN_LOAD: _even_load,
    EVEN_WEEK: _even_week,
    EARLY_FINISH: _early_finish,
}
