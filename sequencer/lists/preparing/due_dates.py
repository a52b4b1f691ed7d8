"""Working days before and after a date: school days of the calendar."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from datetime import date

from sequencer.scenario.school_weeks import Calendar


def working_days_before(calendar: Calendar, day: date, count: int) -> date | None:
    """The school day that lies ``count`` school days before a date: 1 is the last one before it; None if that is before term."""
    place = bisect_left(calendar.school_days, day) - count
    return calendar.school_days[place] if place >= 0 else None


def working_days_after(calendar: Calendar, day: date, count: int) -> date:
    """The school day by which ``count`` school days after a date have passed; the last of term if that comes sooner."""
    days = calendar.school_days
    if not days:
        return day
    return days[max(0, min(bisect_right(days, day) + max(count, 1) - 1, len(days) - 1))]


def last_day_of_week(calendar: Calendar, day: date) -> date:
    """The last school day of a date's Monday-to-Sunday week, or the date itself if it comes later."""
    last = [other for other in calendar.school_days if other.isocalendar()[:2] == day.isocalendar()[:2]]
    return max([day, *last])
