"""Periods that a class could gain, where there are too few: on which dates, and as what number."""

from __future__ import annotations

from datetime import date

from sequencer.instance.facts import Instance
from sequencer.questions.explaining.shortage import Shortage
from sequencer.questions.explaining.statement import Statement
from sequencer.questions.explaining.statements import Stated
from sequencer.questions.explaining.steps import Dial, Level
from sequencer.scenario.changes.calendar_changes import GainPeriod
from sequencer.scenario.school_weeks import covers, dates_of, days_between, monday_of
from sequencer.words import WEEKDAYS

MOST_GAINED = 3
LAST_PERIOD = 30


def gained(stated: Stated, statement: Statement, shortage: Shortage | None) -> Dial | None:
    """A dial that gives the class of a timetable more periods, spread over the stretch that is too short; or over the term."""
    (place,) = statement.classes
    instance, term = stated.instance, stated.scenario.term
    first, last = term.first, stated.scenario.classes[place].leaves or term.last
    if shortage is not None and shortage.class_index == place:
        slots = shortage.instance.classes[place].slots
        first = slots[shortage.first].date if 0 < shortage.first < len(slots) else first
        last = slots[shortage.last].date if 0 <= shortage.last < len(slots) - 1 else last
    days = [day for day in days_between(first, last) if _can_meet(stated, instance, place, day)] if first <= last else []
    levels = []
    for count in range(1, min(MOST_GAINED, len(days)) + 1):
        chosen = [days[(2 * number + 1) * len(days) // (2 * count)] for number in range(count)]
        gains = [_gain(stated, place, day) for day in chosen]
        if all(gains):
            changes = tuple(gain for gain in gains if gain is not None)
            levels.append(Level(stated.scenario.repair_costs.extra_period * count, changes))
    return Dial((*statement.key, str(first), str(last)), tuple(levels)) if levels else None


def _can_meet(stated: Stated, instance: Instance, place: int, day: date) -> bool:
    scenario = stated.scenario
    if day.weekday() > 4 or (scenario.today is not None and day < scenario.today):
        return False
    if monday_of(day) not in {week.monday for week in instance.calendar.weeks}:
        return False
    class_id = scenario.classes[place].id
    closed = any(
        not closure.periods and covers(closure, frozenset(dates_of(closure)), class_id, day, 0) for closure in scenario.closures
    )
    return not closed and not any(day in dates_of(holiday) for holiday in scenario.holidays)


def _gain(stated: Stated, place: int, day: date) -> GainPeriod | None:
    """The first number that is free on this weekday in every week of the timetable."""
    teaching_class = stated.scenario.classes[place]
    weekday = WEEKDAYS[day.weekday()]
    used = {
        entry.period
        for timetable in teaching_class.timetable
        for days in timetable.weeks.values()
        for entry in days.get(weekday, ())  # type: ignore[call-overload]
    }
    period = next((number for number in range(1, LAST_PERIOD + 1) if number not in used), None)
    if period is None:
        return None
    change = {"change": "gain period", "class": teaching_class.id, "date": day.isoformat(), "period": period}
    return GainPeriod.model_validate(change)
