"""One period more on one date, in a timetable that knows only weeks: a timetable of its own for that day."""

from __future__ import annotations

from datetime import timedelta

from sequencer.instance.changes.named_parts import NotThere
from sequencer.scenario.changes_schema import GainPeriod
from sequencer.scenario.timetable_schema import Timetable, TimetabledPeriod
from sequencer.words import EVERY_WEEK, WEEKDAYS


def with_period(timetables: tuple[Timetable, ...], change: GainPeriod) -> tuple[Timetable, ...]:
    """A class's timetables with one period more on the date."""
    day, after = change.date, change.date + timedelta(days=1)
    in_force = [timetable for timetable in timetables if timetable.first is None or timetable.first <= day]
    if not in_force:
        raise NotThere("date", f"lies before the first timetable of {change.class_}: {day}")
    now = in_force[-1]
    weekday = WEEKDAYS[day.weekday()]
    if any(entry.period == change.period for days in now.weeks.values() for entry in days.get(weekday, ())):  # type: ignore[call-overload]
        raise NotThere("period", f"is timetabled on {weekday} already: {change.period}")
    more = TimetabledPeriod(period=change.period, offers=change.offers, teacher=change.teacher)
    weeks = {label: dict(days) for label, days in now.weeks.items()}
    every = weeks.setdefault(EVERY_WEEK, {})
    every[weekday] = (*every.get(weekday, ()), more)  # type: ignore[index, call-overload]
    place = len(in_force) - 1
    before = list(timetables[:place]) if now.first == day else list(timetables[: place + 1])
    later = list(timetables[place + 1 :])
    if not later or later[0].first != after:
        later = [now.model_copy(update={"first": after}), *later]
    return (*before, now.model_copy(update={"first": day, "weeks": weeks}), *later)
