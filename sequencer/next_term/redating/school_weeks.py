"""Where the dates of one school year lie in another: the same weekday of the school week with the same number."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from sequencer.rules.verdict import day_text
from sequencer.scenario.calendar_schema import Term
from sequencer.scenario.school_weeks import Calendar, monday_of


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
        if number > len(self.new.weeks):
            return Nowhere(f"it lay in school week {number}, and the new calendar has {len(self.new.weeks)}")
        return self.new.weeks[number - 1].monday + timedelta(days=day.weekday())

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
