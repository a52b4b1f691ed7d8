"""How dates and deadlines are eased: to the next dates that make a difference."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

from sequencer.instance.facts import Instance, LessonFacts
from sequencer.questions.explaining.statement import Level, Way, change_of
from sequencer.scenario.changes.lesson_changes import MoveDates
from sequencer.scenario.numbers import MOST_DAYS
from sequencer.scenario.schema import Scenario


def date_ways(
    scenario: Scenario, instance: Instance, field: str, value: Any, ref: str, class_id: str | None, lessons: list[LessonFacts]
) -> Iterator[Way]:
    """The ways to ease one date of a lesson, of one class or as its unit says it for every class."""
    if field == "period":
        change = change_of(MoveDates, lesson=ref, class_=class_id, period="off")
        yield "", [Level(change.price(scenario), (change,))], True
        return
    classes = {lesson.class_index for lesson in lessons}
    slots = sorted({slot.date for place in classes for slot in instance.classes[place].slots})
    costs, day = scenario.repair_costs, value
    if field == "report_deadline":
        found = {days: {field: day + timedelta(days)} for days in _deadlines(instance, day, lessons)}
    elif field == "on":
        # A fixed date becomes a window round it; nearest dates first.
        found = {days: _round(scenario, day, days) for days in sorted({abs((slot - day).days) for slot in slots})}
    else:
        after = 1 if field == "not_after" else -1
        found = {after * (slot - day).days: {field: slot} for slot in slots[::after]}
    cost = costs.deadline_day if field == "report_deadline" else costs.day
    levels = [
        Level(cost * days, (change_of(MoveDates, lesson=ref, class_=class_id, **dates),))
        for days, dates in found.items()
        if 0 < days <= MOST_DAYS
    ]
    yield "", levels, False


def _round(scenario: Scenario, day: date, days: int) -> dict[str, Any]:
    term = scenario.term
    first, last = max(term.first, day - timedelta(days)), min(term.last, day + timedelta(days))
    return {"on": "off", "not_before": first, "not_after": last}


def _deadlines(instance: Instance, due: date, lessons: list[LessonFacts]) -> Iterator[int]:
    """By how many days later a deadline lets one more date of the classes lie early enough for marking."""

    def in_time(later: date) -> int:
        return sum(
            slot.date <= later and instance.school_days_later(slot.date, later) >= (lesson.marking.least if lesson.marking else 0)
            for lesson in lessons
            for slot in instance.slots_for(lesson)
        )

    reached = in_time(due)
    for days in range(1, MOST_DAYS + 1):
        now = in_time(due + timedelta(days))
        if now > reached:
            reached = now
            yield days
