"""The dates of a scenario's lessons, classes and rules: each where it lies in the new calendar, or left out and listed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Any

from pydantic import BaseModel

from sequencer.next_term.redating.draft import Draft
from sequencer.next_term.redating.entry_names import dated, subject
from sequencer.next_term.redating.school_weeks import Nowhere, TwoYears
from sequencer.scenario.new_calendar import REPLACED
from sequencer.scenario.places import Path
from sequencer.scenario.schema import Scenario

BEGINNINGS = ("not_before", "first")
ENDINGS = ("not_after", "last", "leaves", "report_deadline")
SINGLE_DAYS = ("on", "date", "exam_date")
"""Keys of dates that move, by what they say; a test holds the schema to them."""

LAST_YEARS = ("today", "record")
"""Keys of what happened last year, which nothing of the new year follows from."""

_AS_A_WHOLE = ("live_quotas", "timetable", "taught_before")
"""Lists whose entries mean nothing, or something else, without one of their dates."""


@dataclass(frozen=True)
class Dated:
    """A date of the old scenario and its path."""

    path: Path
    day: date

    @property
    def key(self) -> str:
        """What the date is."""
        return next(part for part in reversed(self.path) if isinstance(part, str))

    @property
    def owner(self) -> Path:
        """What is left out when the date has no place: itself, or the entry that it belongs to."""
        if len(self.path) > 2 and self.path[-3] in _AS_A_WHOLE:
            return self.path[:-1]
        return self.path


def dates_of_lessons_and_rules(scenario: Scenario) -> Iterator[Dated]:
    """Every date that moves, in the order of the schema."""
    for name, field in type(scenario).model_fields.items():
        key = field.alias or name
        if key not in REPLACED and key not in LAST_YEARS:
            yield from _dates_in(getattr(scenario, name), (key,))


def _dates_in(value: Any, path: Path) -> Iterator[Dated]:
    if isinstance(value, date):
        yield Dated(path, value)
    elif isinstance(value, BaseModel):
        for name, field in type(value).model_fields.items():
            yield from _dates_in(getattr(value, name), (*path, field.alias or name))
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from _dates_in(inner, (*path, key))
    elif isinstance(value, tuple):
        for place, inner in enumerate(value):
            yield from _dates_in(inner, (*path, place))


def move_dates(scenario: Scenario, draft: Draft, years: TwoYears) -> list[Dated]:
    """Move every date of the draft that has a place in the new calendar, and leave out the others.

    Returns
    -------
    list[Dated]
        What has moved, with the old dates.
    """
    moved = []
    for old in dates_of_lessons_and_rules(scenario):
        if draft.get(old.path) is None:
            continue  # the class has a timetable of its own in the new calendar, or the entry has been left out
        new = _place(old, years)
        if isinstance(new, Nowhere):
            leave_out(scenario, draft, old, new.reason)
        else:
            draft.put(old.path, new.isoformat())
            moved.append(old)
    _timetables_follow_one_another(scenario, draft)
    return moved


def leave_out(scenario: Scenario, draft: Draft, old: Dated, reason: str) -> None:
    """Leave out a date that has no place, with what means nothing without it, and list it."""
    draft.leave_out(old.owner, f"{_what(scenario, old)}: left out, since {reason}{_instead(scenario, draft, old)}")
    if old.key == "on":
        draft.drop((*old.path[:-1], "period"))


def _timetables_follow_one_another(scenario: Scenario, draft: Draft) -> None:
    """Of two timetables that began in one holiday, and now would on one day, the earlier never held."""
    for place, class_ in enumerate(scenario.classes):
        firsts = [
            ((("classes", place, "timetable", number)), timetable.first) for number, timetable in enumerate(class_.timetable)
        ]
        for (earlier, first), (later, _) in pairwise(firsts):
            same = draft.get((*earlier, "first")) == draft.get((*later, "first"))
            if same and first is not None and draft.get(earlier) is not None:
                old = Dated((*earlier, "first"), first)
                draft.leave_out(earlier, f"{_what(scenario, old)}: left out, since the next one holds from the same day")


def _place(old: Dated, years: TwoYears) -> date | Nowhere:
    if old.key in BEGINNINGS:
        new = years.beginning(old.day)
    elif old.key in ENDINGS:
        new = years.ending(old.day)
    else:
        new = years.same_day(old.day)
    if old.key == "report_deadline":
        return years.as_school_day(old.day, new)
    if "live_quotas" in old.path or "taught_before" in old.path:
        return new
    if "timetable" in old.path:
        late = isinstance(new, date) and new > years.new_term.last
        return years.in_term(new) if late else new
    return years.in_term(new)


def _what(scenario: Scenario, old: Dated) -> str:
    """What the date belongs to and what it says."""
    words = dated(old.key, old.day)
    quota = _at(scenario, old.path[:-1]) if "live_quotas" in old.path else None
    if quota is not None and quota.first is not None and quota.last is not None:
        words = f"{dated('first', quota.first)} {dated('last', quota.last)}"
    period = getattr(_at(scenario, old.path[:-1]), "period", None) if old.key == "on" else None
    return f"{subject(scenario, old.path)}, {words}" + (f", period {period}" if period is not None else "")


def _instead(scenario: Scenario, draft: Draft, old: Dated) -> str:
    """Say so where the date that a unit gives the lesson now holds for a class that had one of its own."""
    match old.path:
        case ("classes", int(place), "lessons", str(ref), str(key)):
            for path in lessons_meant(scenario, place, ref):
                if draft.get((*path, key)) is not None:
                    return "; the date that the unit gives it holds instead"
    return ""


def lessons_meant(scenario: Scenario, place: int, ref: str) -> Iterator[Path]:
    """The path of the lesson that a class names under `lessons`."""
    for unit_place, unit in enumerate(scenario.units):
        for lesson_place, lesson in enumerate(unit.lessons):
            if unit.id in scenario.classes[place].units and ref in (lesson.id, f"{unit.id}/{lesson.id}"):
                yield ("units", unit_place, "lessons", lesson_place)


def _at(scenario: Scenario, path: Path) -> Any:
    """The model at a path."""
    value: Any = scenario
    for part in path:
        value = getattr(value, str(part)) if isinstance(value, BaseModel) else value[part]
    return value
