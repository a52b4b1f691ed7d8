"""What is on on a date, in a teacher's words: holidays, closures, remote spells, restricted days."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from sequencer.instance.facts import ClassFacts
from sequencer.render.document import short_day
from sequencer.render.shown import one_line
from sequencer.scenario.calendar_schema import Partial, Spread
from sequencer.scenario.schema import Scenario
from sequencer.scenario.school_weeks import ONE_DAY, Calendar, SchoolWeek, dates_of


def days_of(week: SchoolWeek, classes: Iterable[ClassFacts]) -> list[date]:
    """Monday to Friday, and what else of the week some class meets on."""
    meeting = {slot.date for facts in classes for slot in facts.slots if slot.week.number == week.number}
    return [day for day in (week.monday + offset * ONE_DAY for offset in range(7)) if day.weekday() < 5 or day in meeting]


@dataclass(frozen=True)
class Occasion:
    """An entry of the calendar on a date: its name, whom it concerns where not all, and what it means for lessons."""

    name: str
    whom: str
    means: str

    @property
    def in_short(self) -> str:
        """Its name, and whom it concerns."""
        return f"{self.name} ({self.whom})" if self.whom else self.name

    @property
    def in_full(self) -> str:
        """And what it means for lessons."""
        return f"{self.in_short}: {self.means}" if self.means else self.in_short


NO_SCHOOL, REMOTE, NOT_ALL = "no school", "remote", "not for every lesson"


def what_is_on(scenario: Scenario, day: date, classes: Iterable[ClassFacts]) -> list[Occasion]:
    """What the calendar says of a date, as far as it concerns some of the classes."""
    if not scenario.term.begins <= day <= scenario.term.last:
        return [Occasion("not in term", "", "")]
    shown = {facts.id: facts.name for facts in classes}
    found = [Occasion(one_line(holiday.name), "", "") for holiday in scenario.holidays if day in dates_of(holiday)]
    kinds = ((scenario.closures, NO_SCHOOL), (scenario.remote_spells, REMOTE), (scenario.restricted_days, NOT_ALL))
    for entries, means in kinds:
        for entry in entries:
            if day in dates_of(entry) and (not entry.classes or shown.keys() & set(entry.classes)):
                found.append(Occasion(one_line(entry.name), _whom(entry, shown), means))
    return found


def days_off(scenario: Scenario, class_id: str) -> list[tuple[date, date, str]]:
    """Holidays and closures of a class in term, in order: the first day, the last, and what it is."""
    told: list[tuple[Spread, str]] = [(holiday, one_line(holiday.name)) for holiday in scenario.holidays]
    for closure in scenario.closures:
        if not closure.classes or class_id in closure.classes:
            told.append((closure, Occasion(one_line(closure.name), _whom(closure, {}), NO_SCHOOL).in_full))
    found: list[tuple[date, date, str]] = []
    for spread, said in told:
        days = [day for day in dates_of(spread) if scenario.term.begins <= day <= scenario.term.last]
        for place, day in enumerate(days):
            # A weekend does not part a spell.
            if place and (day - days[place - 1]).days <= (3 if day.weekday() == 0 else 1):
                found[-1] = (found[-1][0], day, said)
            else:
                found.append((day, day, said))
    return sorted(found)


def _whom(entry: Partial, shown: dict[str, str]) -> str:
    told = [shown[name] for name in entry.classes if name in shown]
    if entry.periods:
        told.append(f"period {', '.join(map(str, entry.periods))}")
    return ", ".join(told)


def week_name(week: SchoolWeek, calendar: Calendar) -> str:
    """A week by number, and by label where there are several: ``Week 3 A``."""
    several = len({each.label for each in calendar.weeks}) > 1
    return f"Week {week.number} {week.label}" if several else f"Week {week.number}"


def week_span(week: SchoolWeek) -> str:
    """The dates of a week from Monday to Friday, without the year."""
    return f"{short_day(week.monday)} to {short_day(week.monday + timedelta(days=4))}"


def weeks_told(scenario: Scenario, weeks: Iterable[SchoolWeek]) -> Iterator[tuple[SchoolWeek, list[str]]]:
    """Each of some weeks, with the holidays between the one before and it."""
    before = None
    for week in weeks:
        yield week, holidays_between(scenario, before, week) if before is not None else []
        before = week


def holidays_between(scenario: Scenario, earlier: SchoolWeek, later: SchoolWeek) -> list[str]:
    """Names of the holidays between two school weeks, with their dates."""
    found = []
    for holiday in scenario.holidays:
        days = dates_of(holiday)
        if any(earlier.monday + timedelta(days=7) <= day < later.monday for day in days):
            found.append(f"{one_line(holiday.name)}, {short_day(days[0])} to {short_day(days[-1])}")
    return found
