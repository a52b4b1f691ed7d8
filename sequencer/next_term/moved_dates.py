"""The dates of a scenario's lessons, classes and rules: each where it lies in the new calendar, or left out and listed.

A date lies on the same weekday of the school week with the same number.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

from pydantic import BaseModel

from sequencer.next_term.draft import Draft, dated
from sequencer.rules.verdict import day_text
from sequencer.scenario.calendar_schema import Term
from sequencer.scenario.new_calendar import REPLACED
from sequencer.scenario.places import Path
from sequencer.scenario.schema import Scenario
from sequencer.scenario.school_weeks import Calendar, monday_of

BEGINNINGS = ("not_before", "first")
ENDINGS = ("not_after", "last", "leaves", "report_deadline")
SINGLE_DAYS = ("on", "date", "exam_date", "fixed_assessments")
"""Keys of dates that move, by what they say; a test holds the schema to them."""

LAST_YEARS = ("today", "record")
"""Keys of what happened last year, which nothing of the new year follows from."""

_AS_A_WHOLE = ("live_quotas", "timetable", "taught_before")
"""Lists whose entries mean nothing, or something else, without one of their dates."""


@dataclass(frozen=True)
class Nowhere:
    """A date that has no place in the new calendar, and why: ``left out, since …``."""

    reason: str


@dataclass(frozen=True)
class TwoYears:
    """The old calendar and the new one.

    A date that begins or ends something may lie in a holiday between two school weeks, where no class meets: it says the
    same as the first day of the week after, or the last of the week before, and moves as that.
    """

    old: Calendar
    new: Calendar
    old_term: Term
    new_term: Term

    def same_day(self, day: date) -> date | Nowhere:
        """The same weekday of the week with the same number; before the first week, as many weeks before it."""
        monday = monday_of(day)
        if self.old.weeks and self.new.weeks and monday < self.old.weeks[0].monday:
            return day + (self.new.weeks[0].monday - self.old.weeks[0].monday)
        number = next((week.number for week in self.old.weeks if week.monday == monday), None)
        if number is None:
            return Nowhere("it lay in no school week")
        same = next((week.monday for week in self.new.weeks if week.number == number), None)
        if same is None:
            return Nowhere(f"it lay in school week {number}, and the new calendar has {len(self.new.own_weeks)}")
        return same + timedelta(days=day.weekday())

    def beginning(self, day: date) -> date | Nowhere:
        """Where something begins that began on a date; in a holiday, on the Monday of the week after."""
        return self.same_day(next((week.monday for week in self.old.weeks if self._in_holiday(day) and week.monday > day), day))

    def ending(self, day: date) -> date | Nowhere:
        """Where something ends that ended on a date; in a holiday, on the last day of term in the week before."""
        if not self._in_holiday(day):
            return self.same_day(day)
        monday = [week.monday for week in self.old.weeks if week.monday < day][-1]
        ended = self.same_day(monday + timedelta(days=6))
        return ended if isinstance(ended, Nowhere) else min(ended, self.new_term.last)

    def _in_holiday(self, day: date) -> bool:
        """Whether a date lies between two school weeks."""
        mondays = [week.monday for week in self.old.weeks]
        return bool(mondays) and mondays[0] < day < mondays[-1] and monday_of(day) not in mondays

    def in_term(self, day: date | Nowhere) -> date | Nowhere:
        """A date of the new term, or why it is none."""
        if isinstance(day, Nowhere) or self.new_term.first <= day <= self.new_term.last:
            return day
        return Nowhere(f"{day_text(day)} lies {'before' if day < self.new_term.first else 'after'} the new term")

    def as_school_day(self, day: date, moved: date | Nowhere) -> date | Nowhere:
        """Where a date has moved to, if that is a school day or the date was none itself."""
        if isinstance(moved, Nowhere) or day not in self.old.school_days or moved in self.new.school_days:
            return moved
        return Nowhere(f"{day_text(moved)} is no school day in the new calendar")


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
    """Move every date of the draft that has a place in the new calendar, leave out the others; return what moved, as it was."""
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
    draft.leave_out(old.owner, f"{_what(scenario, draft, old)}: left out, since {reason}{_instead(scenario, draft, old)}")
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
                draft.leave_out(earlier, f"{_what(scenario, draft, old)}: left out, since the next one holds from the same day")


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


def _what(scenario: Scenario, draft: Draft, old: Dated) -> str:
    """What the date belongs to and what it says."""
    words = dated(old.key, old.day)
    quota = _at(scenario, old.path[:-1]) if "live_quotas" in old.path else None
    if quota is not None and quota.first is not None and quota.last is not None:
        words = f"{dated('first', quota.first)} {dated('last', quota.last)}"
    period = getattr(_at(scenario, old.path[:-1]), "period", None) if old.key == "on" else None
    return f"{draft.subject(old.path)}, {words}" + (f", period {period}" if period is not None else "")


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
