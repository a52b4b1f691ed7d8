"""What a part of a scenario is called when it is listed as no longer fitting."""

from __future__ import annotations

from typing import Any

from sequencer.rules.verdict import day_text
from sequencer.scenario.calendar_schema import Spread
from sequencer.scenario.places import Path, where_text
from sequencer.scenario.schema import Scenario

_DATED = {
    "not_before": "not before {}",
    "not_after": "not after {}",
    "on": "on {}",
    "report_deadline": "reports due {}",
    "leaves": "leaves {}",
    "first": "from {}",
    "last": "to {}",
    "date": "taught {}",
    "exam_date": "to be known on {}",
}
"""A date in words, by its key."""

_ENTRIES = {
    "holidays": "Holiday",
    "closures": "Closure",
    "remote_spells": "Remote spell",
    "restricted_days": "Restricted days",
}


def subject(scenario: Scenario, path: Path) -> str:
    """What stands at a path, or the lesson or class that it belongs to: ``"Rivers test" (rivers/test)``."""
    match path:
        case ("units", int(unit), "lessons", int(lesson), *_):
            return lesson_name(scenario, unit, lesson)
        case ("units", int(unit), "strands", int(strand), *_):
            return f"unit {scenario.units[unit].id}, strand {scenario.units[unit].strands[strand].tag}"
        case ("units", int(unit), *_):
            return f"unit {scenario.units[unit].id}"
        case ("classes", int(place), "lessons", str(lesson), *_):
            return f"{scenario.classes[place].id}, {lesson}"
        case ("classes", int(place), "timetable", *_):
            return f"{scenario.classes[place].id}, timetable"
        case ("classes", int(place), "rules", "live_quotas", *_):
            return f"{scenario.classes[place].id}, live quota"
        case ("classes", int(place), *_):
            return scenario.classes[place].id
        case ("rules", "live_quotas", int(place), *_):
            teacher = (scenario.rules.live_quotas or ())[place].teacher
            return "live quota" if teacher is None else f"live quota of {teacher}"
        case ("teachers", int(place), *_):
            return f"limits of {scenario.teachers[place].name}"
    return where_text(path[:2])


def lesson_name(scenario: Scenario, unit: int, lesson: int) -> str:
    """A lesson of a unit: ``"Rivers test" (rivers/test)``."""
    named = scenario.units[unit].lessons[lesson]
    ref = f"{scenario.units[unit].id}/{named.id}"
    return f'"{named.title}" ({ref})' if named.title is not None else ref


def dated(key: str, day: Any) -> str:
    """A date with what it is for: ``reports due Wed 9 Dec 2026``."""
    return _DATED.get(key, f"{key} {{}}").format(day_text(day))


def entry_name(key: str, entry: Spread) -> str:
    """An entry of the calendar with its dates: ``Closure "Training day", Fri 27 Nov 2026``."""
    if entry.first is not None and entry.last is not None:
        days = f"{day_text(entry.first)} to {day_text(entry.last)}"
    else:
        days = ", ".join(day_text(day) for day in sorted(entry.on))
    return f'{_ENTRIES[key]} "{entry.name}", {days}'
