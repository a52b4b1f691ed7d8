"""The arithmetic of a conflict: a stretch of a class's periods in which more must lie than fits, and periods gained there."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, replace
from datetime import date

from sequencer.instance.build import build_instance
from sequencer.instance.facts import Instance, LessonFacts
from sequencer.questions.explaining.stated_calendar import LAST_PERIOD
from sequencer.questions.explaining.statement import Dial, Level, Statement, change_of
from sequencer.questions.explaining.statements import Stated
from sequencer.scenario.changes.calendar_changes import GainPeriod
from sequencer.scenario.schema import Scenario
from sequencer.scenario.school_weeks import covers, dates_of, days_between, monday_of
from sequencer.solver.day_numbers import class_days
from sequencer.solver.links import Link
from sequencer.solver.model import Prepared, prepare
from sequencer.solver.starts import starts_alone
from sequencer.words import WEEKDAYS

MOST_GAINED = 3
"""Periods that a class could gain, at most."""


@dataclass(frozen=True)
class Shortage:
    """Lessons that must all lie in a stretch of their class's periods, and do not fit.

    The stretch runs from one slot number to another; the last comes before the first where it holds none. ``needed`` are the
    periods that the lessons take, ``there`` those of the stretch that can be used; the facts are those of the conflict alone.
    """

    instance: Instance
    class_index: int
    first: int
    last: int
    lessons: tuple[LessonFacts, ...]
    needed: int
    there: int


def shortage_of(core: Scenario, whole: Instance) -> Shortage | None:
    """The shortage that fewest lessons show; None where the conflict is of another kind.

    Periods are counted as the whole scenario has them: there may be more by the statements in conflict alone.
    """
    instance = build_instance(core)
    prepared = prepare(instance)
    windows = _Windows(prepared)
    found = [each for facts in instance.classes for each in windows.shortages(facts.index)]
    least = min(found, key=lambda each: (len(each.lessons), each.last - each.first), default=None)
    return None if least is None else replace(least, there=_there(least, whole))


def _there(shortage: Shortage, whole: Instance) -> int:
    """Usable periods of the whole scenario in a stretch."""
    slots = shortage.instance.classes[shortage.class_index].slots[shortage.first : shortage.last + 1]
    if not slots:
        return 0
    first, last = (slots[0].date, slots[0].period), (slots[-1].date, slots[-1].period)
    facts = whole.classes[shortage.class_index]
    return sum(first <= (slot.date, slot.period) <= last and facts.usable[slot.number] for slot in facts.slots)


class _Windows:
    """First and last slot that each sure lesson can start in, by dates and order; how many come before it is not counted."""

    def __init__(self, prepared: Prepared) -> None:
        self.instance = prepared.instance
        self.sure = prepared.domains.sure
        alone = starts_alone(self.instance, class_days(self.instance))
        self.first = {index: alone[index][0] for index in self.sure if alone[index]}
        self.last = {index: alone[index][-1] for index in self.sure if alone[index]}
        links = [link for link in prepared.links if self._known(link)]
        for serving in (*prepared.practice, *prepared.retrieval):
            if len(serving.links) == 1 and self._known(serving.links[0]) and self.last[serving.lesson] < serving.carry_from:
                links.append(serving.links[0])
        for _ in range(len(links) + 1):
            if not sum(self._cut(link) for link in links):
                break

    def _known(self, link: Link) -> bool:
        lessons = (link.before, link.after)
        return all(index in self.first and self.first[index] >= 0 for index in lessons)

    def _cut(self, link: Link) -> bool:
        """Let each end of a link be no sooner and no later than the other allows; whether that changed anything."""
        one, other = link.before, link.after
        before = self.first[one], self.last[one], self.first[other], self.last[other]
        if link.plain:
            # In order, and no more: that the lessons before take periods of their own is what is to be counted.
            self.first[other] = max(self.first[other], self.first[one])
            self.last[one] = min(self.last[one], self.last[other])
        else:
            at = max(0, min(self.first[one], len(link.low) - 1))
            until = max(0, min(self.last[one], len(link.high) - 1))
            self.first[other] = max(self.first[other], link.low[at])
            self.last[other] = min(self.last[other], link.high[until])
            self.first[one] = max(self.first[one], bisect_left(link.high, self.first[other], hi=self._count(link)))
            self.last[one] = min(self.last[one], bisect_right(link.low, self.last[other], hi=self._count(link)) - 1)
        return before != (self.first[one], self.last[one], self.first[other], self.last[other])

    def _count(self, link: Link) -> int:
        return len(self.instance.slots_for(self.instance.lessons[link.before]))

    def shortages(self, class_index: int) -> list[Shortage]:
        """Every stretch between a first and a last slot of lessons that is too short for those inside it."""
        facts = self.instance.classes[class_index]
        lessons = [
            self.instance.lessons[index]
            for index in facts.lessons
            if index in self.first and self.instance.lessons[index].delivered is None
        ]
        ends = {lesson.index: self.last[lesson.index] + lesson.length - 1 for lesson in lessons}
        found = []
        for first in sorted({self.first[lesson.index] for lesson in lessons}):
            for last in sorted(set(ends.values())):
                inside = [lesson for lesson in lessons if self.first[lesson.index] >= first and ends[lesson.index] <= last]
                needed = sum(lesson.length for lesson in inside)
                there = sum(facts.usable[first : last + 1]) if last >= first else 0
                if inside and needed > there:
                    found.append(Shortage(self.instance, class_index, first, last, tuple(inside), needed, there))
        return found


def gained(stated: Stated, statement: Statement, shortage: Shortage | None) -> Dial | None:
    """A dial that gives the class of a timetable more periods, spread over the stretch that is too short; or over the term."""
    (place,) = statement.classes
    instance, term = stated.instance, stated.scenario.term
    first, last = term.first, stated.scenario.classes[place].leaves or term.last
    if shortage is not None and shortage.class_index == place:
        slots = shortage.instance.classes[place].slots
        first = slots[shortage.first].date if 0 < shortage.first < len(slots) else first
        last = slots[shortage.last].date if 0 <= shortage.last < len(slots) - 1 else last
    days = [day for day in days_between(first, last) if _can_meet(stated, instance, place, day)] if first <= last else []
    levels = []
    for count in range(1, min(MOST_GAINED, len(days)) + 1):
        chosen = [days[(2 * number + 1) * len(days) // (2 * count)] for number in range(count)]
        gains = [_gain(stated, place, day) for day in chosen]
        if all(gains):
            changes = tuple(gain for gain in gains if gain is not None)
            levels.append(Level(sum(change.price(stated.scenario) for change in changes), changes))
    return Dial((*statement.key, str(first), str(last)), tuple(levels)) if levels else None


def _can_meet(stated: Stated, instance: Instance, place: int, day: date) -> bool:
    scenario = stated.scenario
    if day.weekday() > 4 or (scenario.today is not None and day < scenario.today):
        return False
    if monday_of(day) not in {week.monday for week in instance.calendar.weeks}:
        return False
    class_id = scenario.classes[place].id
    closed = any(
        not closure.periods and covers(closure, frozenset(dates_of(closure)), class_id, day, 0) for closure in scenario.closures
    )
    return not closed and not any(day in dates_of(holiday) for holiday in scenario.holidays)


def _gain(stated: Stated, place: int, day: date) -> GainPeriod | None:
    """The first number that is free on this weekday in every week of the timetable."""
    teaching_class = stated.scenario.classes[place]
    weekday = WEEKDAYS[day.weekday()]
    used = {
        entry.period
        for timetable in teaching_class.timetable
        for days in timetable.weeks.values()
        for entry in days.get(weekday, ())  # type: ignore[call-overload]
    }
    period = next((number for number in range(1, LAST_PERIOD + 1) if number not in used), None)
    if period is None:
        return None
    gain: GainPeriod = change_of(GainPeriod, class_=teaching_class.id, date=day, period=period)
    return gain
