"""Meetings: the dates on which lessons are met again where the sequence has a choice (rule 4 in full).

A meeting is a variable of its own, apart from any lesson: the date of one retrieval of one lesson. On that date some lesson lists
it, or has room to meet it by choice. Dates are enough: a meeting lies at least a day after what is met, so that every lesson of
its date comes after it. A date is named by the first slot of the class on it.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

from sequencer.facts import Instance, LessonFacts, RetrievalNumbers
from sequencer.model.domains import Domains
from sequencer.model.links import ClassDays, listed_once


@dataclass(frozen=True)
class Meeting:
    """One retrieval of one lesson.

    Parameters
    ----------
    lesson, number
        The lesson met again, and which of its retrievals, from 0.
    numbers
        Its window in days, from the lesson or, when chained, from the retrieval before.
    dates
        First slots of the dates on which it may take place, rising.
    windows
        For each start of what it is counted from: the first and last slot of the window, and whether it is late then.
    carry_from
        The first start of what it is counted from that leaves it to the next plan; the number of slots when none does.
    """

    lesson: int
    number: int
    numbers: RetrievalNumbers
    dates: tuple[int, ...]
    windows: dict[int, Window]
    carry_from: int


@dataclass(frozen=True)
class Window:
    """Slots from ``first`` to ``last``, empty when last comes before first."""

    first: int
    last: int
    late: bool = False

    @property
    def empty(self) -> bool:
        """Whether no slot lies in it."""
        return self.last < self.first


def meetings(instance: Instance, days: tuple[ClassDays, ...], domains: Domains) -> tuple[Meeting, ...]:
    """Every retrieval that is not served by listed lessons alone; without those that can no longer take place."""
    found = []
    for lesson in instance.lessons:
        if lesson.retrievals and not listed_once(instance, lesson):
            found += _Retrievals(instance, days[lesson.class_index], domains, lesson).meetings()
    return tuple(found)


class _Retrievals:
    """The retrievals of one lesson."""

    def __init__(self, instance: Instance, here: ClassDays, domains: Domains, lesson: LessonFacts) -> None:
        self.instance = instance
        self.here = here
        self.domains = domains
        self.lesson = lesson
        self.usable = instance.class_of(lesson).usable
        firsts = [slot for slot, day in enumerate(here.day) if slot == 0 or here.day[slot - 1] != day]
        self.usable_days = sorted({here.day[slot] for slot, usable in enumerate(self.usable) if usable})
        self.first_on = {here.day[slot]: slot for slot in firsts}
        delivered = [instance.lessons[index].delivered for index in lesson.revisited_by]
        self.met_already = {here.day[each.slot] for each in delivered if each is not None and each.slot is not None}

    def meetings(self) -> list[Meeting]:
        """One for each retrieval that can still take place; none for one counted from a retrieval that no longer can."""
        found: list[Meeting] = []
        dates = self._dates()
        late_days: dict[int, tuple[int, ...]] = {}
        for number, numbers in enumerate(self.lesson.retrievals):
            if numbers.chained and number:
                if not found or found[-1].number != number - 1:
                    continue
                starts = found[-1].dates
            else:
                starts = self.domains.starts[self.lesson.index]
            windows = {}
            for start in starts:
                day = self.here.day_of(self.lesson, start)
                taken = () if numbers.chained else late_days.get(start, ())
                window, due = self._window(day, number, numbers, taken)
                windows[start] = window
                if due is not None and not numbers.chained:
                    late_days[start] = (*taken, due)
            carry_from = self._carry_from(numbers)
            meeting = Meeting(self.lesson.index, number, numbers, dates, windows, carry_from)
            if not self._gone_by(meeting):
                found.append(meeting)
        return found

    def _carry_from(self, numbers: RetrievalNumbers) -> int:
        """The first start from which the window reaches beyond the class's last slot."""
        if not self.lesson.earlier or numbers.chained:
            return self.here.first_from(self.here.last_day - numbers.most + 1)
        return -1 if self.here.day_of(self.lesson, -1) + numbers.most > self.here.last_day else self.here.count

    def _dates(self) -> tuple[int, ...]:
        """Dates on which something may meet it: a lesson that lists it, or any with room."""
        holding: set[int] = set()
        for index in self.instance.class_of(self.lesson).lessons:
            other = self.instance.lessons[index]
            if index in self.lesson.revisited_by or (self.lesson.chosen and other.chooses):
                holding.update(self.first_on[self.here.day[start]] for start in self.domains.starts[index])
        return tuple(sorted(holding))

    def _window(self, day: int, number: int, numbers: RetrievalNumbers, taken: tuple[int, ...]) -> tuple[Window, int | None]:
        """The window when it is counted from a day, and the late date where it is one."""
        first, last = self.here.in_days(day, numbers.least, numbers.most)
        inside = bisect_left(self.usable_days, day + numbers.least)
        fits = inside < len(self.usable_days) and self.usable_days[inside] <= day + numbers.most
        if fits or any(day + numbers.least <= met <= day + numbers.most for met in self.met_already):
            return Window(first, last), None
        later = [each for each in self.usable_days if each > day + numbers.most and each not in taken]
        if not later:
            return Window(first, min(last, first - 1)), None
        if self.lesson.delivered is not None and not (numbers.chained and number):
            return Window(self.first_on[later[0]], self.here.count - 1, late=True), None
        return Window(self.first_on[later[0]], self.here.last_by(later[0]), late=True), later[0]

    def _gone_by(self, meeting: Meeting) -> bool:
        """Whether the lesson was delivered and nothing that is still to be placed can meet it in time."""
        if self.lesson.delivered is None or (meeting.numbers.chained and meeting.number):
            return False
        (start,) = meeting.windows
        if self.here.last_day - self.here.day_of(self.lesson, start) < meeting.numbers.most:
            return False
        window = meeting.windows[start]
        left = any(self.usable[slot] for slot in range(window.first, window.last + 1))
        met = any(self.here.day[slot] in self.met_already for slot in range(window.first, window.last + 1))
        members = [self.instance.lessons[index] for index in self.instance.class_of(self.lesson).lessons]
        can_meet = any(
            other.delivered is None and (other.index in self.lesson.revisited_by or (self.lesson.chosen and other.chooses))
            for other in members
        )
        return not met and not (left and can_meet)
