"""Timetables, closures and remote spells, turned into each class's teaching slots in order."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sequencer.scenario.calendar_schema import RemoteSpell
from sequencer.scenario.class_schema import TeachingClass
from sequencer.scenario.schema import Scenario
from sequencer.scenario.school_weeks import Calendar, SchoolWeek, covers, dates_of, days_between, monday_of
from sequencer.scenario.timetable_schema import Timetable
from sequencer.words import EVERY_WEEK, IN_CLASS, IN_SCHOOL, LIVE, LOST, OPEN, WEEKDAYS


@dataclass(frozen=True)
class Slot:
    """One timetabled period of one class on one date, its ``number`` its place among the class's slots, from 0.

    Parameters
    ----------
    taught
        ``in class``, or in a remote spell ``live``, ``set work`` or ``open``.
    offers, teacher
        What it offers among the things that lessons need, sorted; who teaches it, None when the scenario does not say.
    restrictions
        Positions in ``scenario.restricted_days`` of the entries that cover it.
    """

    number: int
    date: date
    period: int
    week: SchoolWeek
    taught: str
    offers: tuple[str, ...]
    teacher: str | None
    restrictions: tuple[int, ...]

    @property
    def remote(self) -> bool:
        """Whether the class meets remotely."""
        return self.taught != IN_CLASS

    @property
    def can_be_live(self) -> bool:
        """Whether a lesson in it can be taught live."""
        return self.taught in (LIVE, OPEN)


def slots_of(scenario: Scenario, calendar: Calendar, teaching_class: TeachingClass) -> tuple[Slot, ...]:
    """A class's slots in order of date and period number, numbered from 0."""
    term = scenario.term
    holidays = frozenset(day for holiday in scenario.holidays for day in dates_of(holiday))
    closures = [(closure, frozenset(dates_of(closure))) for closure in scenario.closures]
    spells = [(spell, frozenset(dates_of(spell))) for spell in scenario.remote_spells]
    restricted = [(entry, frozenset(dates_of(entry))) for entry in scenario.restricted_days]
    week_at = {week.monday: week for week in calendar.weeks}
    lost = {(entry.date, entry.period) for entry in scenario.record if entry.what == LOST and entry.class_ == teaching_class.id}
    in_class_offers = {IN_SCHOOL, *teaching_class.offers}
    last = term.last if teaching_class.leaves is None else min(term.last, teaching_class.leaves)

    slots: list[Slot] = []
    for day in days_between(term.first, last):
        week = week_at.get(monday_of(day))
        timetable = _timetable_on(teaching_class.timetable, day)
        if week is None or timetable is None or day in holidays:
            continue
        weekday = WEEKDAYS[day.weekday()]
        entries = [
            entry
            for label in (EVERY_WEEK, week.label)
            for entry in timetable.weeks.get(label, {}).get(weekday, ())  # type: ignore[call-overload]
        ]
        for entry in sorted(entries, key=lambda entry: entry.period):
            here = (teaching_class.id, day, entry.period)
            if any(covers(closure, dates, *here) for closure, dates in closures) or lost & {(day, entry.period), (day, None)}:
                continue
            spell = next((spell for spell, dates in reversed(spells) if covers(spell, dates, *here)), None)
            offers = in_class_offers | set(entry.offers) if spell is None else set(spell.offers)
            slots.append(
                Slot(
                    number=len(slots),
                    date=day,
                    period=entry.period,
                    week=week,
                    taught=IN_CLASS if spell is None else _taught_in(spell, teaching_class.id, day, entry.period),
                    offers=tuple(sorted(offers)),
                    teacher=entry.teacher or teaching_class.teacher,
                    restrictions=tuple(place for place, (entry_, dates) in enumerate(restricted) if covers(entry_, dates, *here)),
                )
            )
    return tuple(slots)


def _timetable_on(timetables: tuple[Timetable, ...], day: date) -> Timetable | None:
    in_force = [timetable for timetable in timetables if timetable.first is None or timetable.first <= day]
    return in_force[-1] if in_force else None


def _taught_in(spell: RemoteSpell, class_id: str, day: date, period: int) -> str:
    taught: str = spell.taught
    for fixed in spell.fixed:
        if (
            (not fixed.classes or class_id in fixed.classes)
            and (not fixed.weekdays or WEEKDAYS[day.weekday()] in fixed.weekdays)
            and (not fixed.periods or period in fixed.periods)
            and (not fixed.on or day in fixed.on)
        ):
            taught = fixed.taught
    return taught


def taught_together(slots: tuple[Slot, ...]) -> str | None:
    """How one lesson over these slots is taught: ``in class``, ``live``, ``set work``, ``open``, or None if they disagree.

    All slots of a lesson agree: an open one goes with a fixed neighbour, a slot in class with no remote one.
    """
    kinds = {slot.taught for slot in slots}
    if kinds == {OPEN}:
        return OPEN
    kinds.discard(OPEN)
    if len(kinds) > 1 or (kinds == {IN_CLASS} and any(slot.remote for slot in slots)):
        return None
    return kinds.pop()
