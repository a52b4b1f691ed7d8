"""The periods in which the one class of a raw scenario meets, read from the plain data."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from tests.builders import Data

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True)
class Period:
    """One period: its date, number and school week, from 0."""

    date: date
    number: int
    week: int


def days_of(entry: Data) -> set[date]:
    """The dates of an entry that lies ``on`` some dates or from ``first`` to ``last``."""
    if "on" in entry:
        listed = [entry["on"]] if isinstance(entry["on"], str) else entry["on"]
        return {date.fromisoformat(day) for day in listed}
    first, last = date.fromisoformat(entry["first"]), date.fromisoformat(entry["last"])
    return {first + timedelta(days=count) for count in range((last - first).days + 1)}


def periods_of(scenario: Data) -> list[Period]:
    """Every period of the only class, in order of time; closures are of whole days and of everybody."""
    (of_class,) = scenario["classes"]
    timetable = of_class["timetable"]
    labels = scenario["term"].get("cycle", ["every"])
    if all(key in WEEKDAYS for key in timetable):
        timetable = dict.fromkeys(labels, timetable)
    closed = {day for entry in scenario.get("closures", ()) for day in days_of(entry)}
    away = {day for entry in scenario.get("holidays", ()) for day in days_of(entry)}
    days = sorted(days_of(scenario["term"]) - away)
    mondays = sorted({day - timedelta(days=day.weekday()) for day in days if day.weekday() < 5})
    week_of = {monday: number for number, monday in enumerate(mondays)}
    found = []
    for day in days:
        monday = day - timedelta(days=day.weekday())
        if day in closed or monday not in week_of:
            continue
        week = week_of[monday]
        for number in timetable[labels[week % len(labels)]].get(WEEKDAYS[day.weekday()], ()):
            found.append(Period(day, number, week))
    return found


def school_days(scenario: Data) -> list[date]:
    """Weekdays of term that are neither holiday nor closed."""
    gone = {day for kind in ("closures", "holidays") for entry in scenario.get(kind, ()) for day in days_of(entry)}
    return sorted(day for day in days_of(scenario["term"]) - gone if day.weekday() < 5)


def row(scenario: Data, period: Period, unit: str, lesson: str, **more: object) -> Data:
    """A row that says where a lesson lies."""
    class_id = scenario["classes"][0]["id"]
    return {
        "class": class_id, "unit": unit, "lesson": lesson, "date": period.date.isoformat(), "period": period.number, **more,
    }  # fmt: skip
