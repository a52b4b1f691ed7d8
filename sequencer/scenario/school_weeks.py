"""The dates of a school's calendar: school weeks with their numbers, labels and cycles, and school days."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from sequencer.scenario.base_schema import BaseScenario
from sequencer.scenario.calendar_schema import Partial, Spread
from sequencer.scenario.new_calendar import NewCalendar

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True)
class SchoolWeek:
    """A Monday-to-Sunday week with at least one weekday of term that is not holiday; its Monday need not be a day of term.

    Its number counts from 1, the first of the term's own (those of the term before have lower ones); so does that of its cycle.
    """

    number: int
    monday: date
    label: str
    cycle: int

    @property
    def own(self) -> bool:
        """Whether it is not of the term before."""
        return self.number > 0


@dataclass(frozen=True)
class Calendar:
    """The school's calendar: what every class shares."""

    weeks: tuple[SchoolWeek, ...]
    school_days: tuple[date, ...]

    @property
    def own_weeks(self) -> tuple[SchoolWeek, ...]:
        """The weeks that are not of the term before."""
        return tuple(week for week in self.weeks if week.own)


def monday_of(day: date) -> date:
    """The Monday of the day's Monday-to-Sunday week."""
    return day - day.weekday() * ONE_DAY


def days_between(first: date, last: date) -> Iterator[date]:
    """Every date from ``first`` to ``last``, both included."""
    for offset in range((last - first).days + 1):
        yield first + offset * ONE_DAY


def dates_of(spread: Spread) -> tuple[date, ...]:
    """The dates an entry lies on, in order."""
    if spread.first is not None and spread.last is not None:
        return tuple(days_between(spread.first, spread.last))
    return tuple(sorted(spread.on))


def covers(entry: Partial, dates: frozenset[date], class_id: str, day: date, period: int) -> bool:
    """Whether an entry that lies on ``dates`` concerns this class in this period of this day."""
    return day in dates and (not entry.classes or class_id in entry.classes) and (not entry.periods or period in entry.periods)


def school_calendar(scenario: BaseScenario | NewCalendar) -> Calendar:
    """School weeks with numbers, labels and cycles, and school days.

    A school day is a Monday-to-Friday date of term that is not holiday and not closed to the whole school, that is,
    not covered by a closure which names neither classes nor periods.
    """
    term = scenario.term
    holidays = frozenset(day for holiday in scenario.holidays for day in dates_of(holiday))
    whole_school = frozenset(
        day for closure in scenario.closures if not closure.classes and not closure.periods for day in dates_of(closure)
    )
    weekdays_of_term = [day for day in days_between(term.first, term.last) if day.weekday() < 5 and day not in holidays]

    labels = term.cycle
    start = labels.index(term.first_label) if term.first_label is not None else 0
    weeks: list[SchoolWeek] = []
    mondays = sorted({monday_of(day) for day in weekdays_of_term})
    # Where no school week comes after them, none is of the term before.
    before = sum(monday < monday_of(term.begins) for monday in mondays) % max(1, len(mondays))
    for monday in mondays:
        runs_on = weeks and term.labels_follow == "calendar weeks"
        steps = (monday - weeks[0].monday).days // 7 if runs_on else len(weeks)
        place = (start + steps) % len(labels)
        # A cycle begins where the label comes no later in the cycle than the label of the week before.
        begins = bool(weeks) and place <= labels.index(weeks[-1].label)
        cycle = weeks[-1].cycle + begins if weeks else 1
        weeks.append(SchoolWeek(len(weeks) + 1 - before, monday, labels[place], cycle))
    return Calendar(tuple(weeks), tuple(day for day in weekdays_of_term if day not in whole_school))
