"""How dates and deadlines are eased: to the next dates that make a difference."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from sequencer.changes.edits import part_at
from sequencer.explaining.statement import Statement
from sequencer.explaining.statements import Stated
from sequencer.explaining.steps import MOST_DAYS, Level, Ways, costs_of, lesson_ref, once, owner_of
from sequencer.facts import LessonFacts
from sequencer.scenario.changes_schema import (
    ChangeLeaving,
    MoveDates,
)
from sequencer.scenario.schema import LessonDates


def _leaves(stated: Stated, statement: Statement) -> Ways:
    (place,) = statement.classes
    leaves = stated.scenario.classes[place].leaves
    assert leaves is not None
    days = (stated.scenario.term.last - leaves).days
    change = ChangeLeaving(**{"change": "leaves", "class": statement.about[0], "leaves": "off"})  # type: ignore[arg-type]
    yield from once(costs_of(stated).day * max(1, days), change)


def _move(statement: Statement, **dates: Any) -> MoveDates:
    written = {key: value.isoformat() if isinstance(value, date) else value for key, value in dates.items()}
    return MoveDates.model_validate(
        {"change": "move dates", "lesson": lesson_ref(statement), "class": owner_of(statement), **written}
    )


def _dates_of_slots(stated: Stated, statement: Statement) -> list[date]:
    classes = {stated.instance.lessons[index].class_index for index in statement.lessons}
    return sorted({slot.date for place in classes for slot in stated.instance.classes[place].slots})


def _stated_date(stated: Stated, statement: Statement, field: str) -> date:
    node = part_at(stated.scenario, statement.path[:-1])
    assert isinstance(node, LessonDates)
    value = getattr(node, field)
    assert isinstance(value, date)
    return value


def _still_ahead(stated: Stated, day: date) -> bool:
    """Whether a date has not gone by: to what has, no lesson can be moved."""
    today = stated.scenario.today
    return today is None or day >= today


def _not_after(stated: Stated, statement: Statement) -> Ways:
    day = _stated_date(stated, statement, "not_after")
    ahead = (slot for slot in _dates_of_slots(stated, statement) if _still_ahead(stated, slot))
    later = [slot for slot in ahead if 0 < (slot - day).days <= MOST_DAYS]
    yield "", [Level(costs_of(stated).day * (slot - day).days, (_move(statement, not_after=slot),)) for slot in later]


def _not_before(stated: Stated, statement: Statement) -> Ways:
    day = _stated_date(stated, statement, "not_before")
    earlier = [slot for slot in reversed(_dates_of_slots(stated, statement)) if 0 < (day - slot).days <= MOST_DAYS]
    yield "", [Level(costs_of(stated).day * (day - slot).days, (_move(statement, not_before=slot),)) for slot in earlier]


def _on(stated: Stated, statement: Statement) -> Ways:
    """A fixed date becomes a window round it, as far as other dates of the lessons leave one; nearest dates first."""
    day = _stated_date(stated, statement, "on")
    term = stated.scenario.term
    lessons = [stated.instance.lessons[index] for index in statement.lessons]
    first = max(
        [term.first, *(lesson.not_before for lesson in lessons if lesson.not_before), stated.scenario.today or term.first]
    )
    last = min([term.last, *(lesson.not_after for lesson in lessons if lesson.not_after)])

    def within(days: int) -> MoveDates:
        return _move(
            statement, on="off", not_before=max(first, day - timedelta(days)), not_after=min(last, day + timedelta(days))
        )

    near = sorted({abs((slot - day).days) for slot in _dates_of_slots(stated, statement) if first <= slot <= last} - {0})
    yield "", [Level(costs_of(stated).day * days, (within(days),)) for days in near if days <= MOST_DAYS]


def _period(stated: Stated, statement: Statement) -> Ways:
    yield from once(costs_of(stated).period, _move(statement, period="off"))


def _deadline(stated: Stated, statement: Statement) -> Ways:
    """Later by so many days that one more date of the class lies early enough."""
    due = _stated_date(stated, statement, "report_deadline")
    lessons = [stated.instance.lessons[index] for index in statement.lessons]
    levels: list[Level] = []
    reached = _in_time(stated, lessons, due)
    for days in range(1, MOST_DAYS + 1):
        later = due + timedelta(days)
        now = _in_time(stated, lessons, later)
        if now > reached:
            reached = now
            levels.append(Level(costs_of(stated).deadline_day * days, (_move(statement, report_deadline=later),)))
    yield "", levels


def _in_time(stated: Stated, lessons: list[LessonFacts], due: date) -> int:
    """How many slots of the lessons' classes leave time for marking."""
    instance = stated.instance
    return sum(
        slot.date <= due and instance.school_days_later(slot.date, due) >= (lesson.marking.least if lesson.marking else 0)
        for lesson in lessons
        for slot in instance.slots_for(lesson)
    )


DATES: dict[str, Callable[[Stated, Statement], Ways]] = {
    "leaves": _leaves,
    "not after": _not_after,
    "not before": _not_before,
    "on": _on,
    "period": _period,
    "report deadline": _deadline,
}
