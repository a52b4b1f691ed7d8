"""Meetings: the dates on which lessons are met again where the sequence has a choice (rule 4 in full).

A meeting is a variable of its own, apart from any lesson: the date of one retrieval of one lesson. On that date some lesson lists
it, or has room to meet it by choice. Dates are enough: a meeting lies at least a day after what is met, so that every lesson of
its date comes after it. A date is named by the first slot of the class on it.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from sequencer.instance.facts import Instance, LessonFacts, RetrievalNumbers
from sequencer.plan.outcomes import unavoidably_broken
from sequencer.solver.day_numbers import ClassDays
from sequencer.solver.domains import Domains
from sequencer.solver.servings import listed_once
from sequencer.solver.starts import StartsAlone


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
    given_up
        How many of the lesson's meetings cannot take place any more, whichever: too few dates are left for all.
    """

    lesson: int
    number: int
    numbers: RetrievalNumbers
    dates: tuple[int, ...]
    windows: dict[int, Window]
    carry_from: int
    given_up: int = 0


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


def meetings(instance: Instance, days: tuple[ClassDays, ...], alone: StartsAlone, domains: Domains) -> tuple[Meeting, ...]:
    """Every retrieval that is not served by listed lessons alone; without those that can no longer take place."""
    found = []
    for lesson in instance.lessons:
        if lesson.retrievals and not listed_once(instance, lesson):
            found += _Retrievals(instance, days[lesson.class_index], alone, domains, lesson).meetings()
    return tuple(found)


class _Retrievals:
    """The retrievals of one lesson."""

    def __init__(self, instance: Instance, here: ClassDays, alone: StartsAlone, domains: Domains, lesson: LessonFacts) -> None:
        self.instance = instance
        self.here = here
        self.alone = alone
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
        broken, gone_by = self._unavoidable()
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
            if number + 1 not in gone_by:
                given_up = broken - len(gone_by)
                found.append(Meeting(self.lesson.index, number, numbers, dates, windows, carry_from, given_up))
        return found

    def _carry_from(self, numbers: RetrievalNumbers) -> int:
        """The first start from which the window reaches beyond the class's last slot."""
        if not self.lesson.earlier or numbers.chained:
            return self.here.first_from(self.here.last_day - numbers.most + 1)
        return -1 if self.here.day_of(self.lesson, -1) + numbers.most > self.here.last_day else self.here.count

    def _dates(self) -> tuple[int, ...]:
        """Dates on which something may meet it: a lesson that lists it, or any with room."""
        holding: set[int] = set()
        for index in self._meeters():
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

    def _unavoidable(self) -> tuple[int, frozenset[int]]:
        """How many retrievals of the lesson can no longer take place, and which of them in any case (from 1)."""
        told = self.lesson.delivered is not None
        if not told and all(self.usable):
            return 0, frozenset()
        found = self._broken_from(self.alone.__getitem__)
        if told or not found[0]:
            return found
        return found if self._broken_from(self.alone.once, untouched=True)[0] < found[0] else (0, frozenset())

    def _broken_from(self, starts: StartsAlone.Of, untouched: bool = False) -> tuple[int, frozenset[int]]:
        taught = self._days_of(self.lesson, starts)
        met = {day for index in self._meeters() for day in self._days_of(self.instance.lessons[index], starts)}
        facts = self.instance.class_of(self.lesson)
        return unavoidably_broken(self.lesson, facts, map(date.fromordinal, taught), map(date.fromordinal, met), untouched)

    def _meeters(self) -> list[int]:
        """Lessons that list it or, still to be placed, have room for it."""
        return [
            index
            for index in self.instance.class_of(self.lesson).lessons
            if index in self.lesson.revisited_by or (self.lesson.chosen and self.instance.lessons[index].chooses)
        ]

    def _days_of(self, lesson: LessonFacts, starts: StartsAlone.Of) -> Iterator[int]:
        return (self.here.day_of(lesson, start) for start in starts(lesson.index))
