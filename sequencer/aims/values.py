"""The aims' values of a sequence, counted in plain Python from the words of the rules."""

from __future__ import annotations

from collections.abc import Callable

from sequencer.plan.minutes import marking_by_week, preparation_by_week
from sequencer.plan.outcomes import CARRIED, LATE, practices, retrievals
from sequencer.plan.sequence import Laid
from sequencer.rules.wishes import ungranted
from sequencer.words import (
    AIMS,
    CARRIED_OVER,
    DENSE_SET_WORK,
    DISTANCE,
    EARLY_FINISH,
    EVEN_LOAD,
    EVEN_WEEK,
    LEFT_OUT,
    MADE_LESSONS,
    NEXT_PLAN,
    SET_WORK,
    WISHES,
)


def aim_values(laid: Laid) -> dict[str, int]:
    """Every aim the product knows, by name, whether or not the scenario lists it."""
    return {aim: _COUNTS[aim](laid) for aim in AIMS}


def _left_out(laid: Laid) -> int:
    return sum(lesson.priority for lesson in laid.lessons() if lesson.optional and not laid.placed(lesson.index))


def _carried_over(laid: Laid) -> int:
    return sum(outcome.state in (CARRIED, LATE) for outcome in practices(laid) + retrievals(laid))


def _left_for_the_next_plan(laid: Laid) -> int:
    return sum(outcome.state == CARRIED for outcome in practices(laid) + retrievals(laid))


def _made_lessons(laid: Laid) -> int:
    return sum(lesson.made is not None for lesson in laid.all_placed())


def _wishes(laid: Laid) -> int:
    return sum(wish.cost for wish in ungranted(laid))


def _dense_as_set_work(laid: Laid) -> int:
    return sum(lesson.better_live and laid.taught(lesson.index) == SET_WORK for lesson in laid.all_placed())


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


def _early_finish(laid: Laid) -> int:
    total = 0
    for facts in laid.classes:
        last = max((laid.pos(lesson.index) for lesson in laid.in_order(facts.index) if lesson.to_finish), default=0)
        total += sum(slot.number < last for slot in laid.spare_slots(facts.index))
    return total


_COUNTS: dict[str, Callable[[Laid], int]] = {
    LEFT_OUT: _left_out,
    CARRIED_OVER: _carried_over,
    NEXT_PLAN: _left_for_the_next_plan,
    MADE_LESSONS: _made_lessons,
    WISHES: _wishes,
    EARLY_FINISH: _early_finish,
    DENSE_SET_WORK: _dense_as_set_work,
    DISTANCE: _distance,
    EVEN_LOAD: _even_load,
    EVEN_WEEK: _even_week,
}
