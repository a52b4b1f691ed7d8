"""A sequence as a calendar (RFC 5545): one event per lesson, which a second import brings up to date.

An event keeps its UID over all plans of one term. Where an earlier calendar is given, SEQUENCE rises for what changed, and what
is no longer planned becomes a cancellation.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from icalendar import Calendar, Component, Event, Timezone, TimezoneDaylight, TimezoneStandard

from sequencer.instance.build import build_instance
from sequencer.instance.calendar import Slot
from sequencer.instance.facts import ClassFacts
from sequencer.outlines.outlined import outline_sequence
from sequencer.plan.notes import cautions_of
from sequencer.plan.sequence import Laid, Previous, Sequence
from sequencer.questions.solve import Answer
from sequencer.render.answers.outlined import tags_of
from sequencer.render.earlier_calendar import CLASS, TEACHER, TERM, brought_up_to_date, value
from sequencer.render.shown import Line, Shown, details, how_taught, laid_out, lines_of, notes_of, one_line
from sequencer.scenario.schema import Scenario

_OURS = UUID("5b0f1c56-3a0e-4b53-9a8c-6f2f4d5a7c11")
"""The namespace of the events' UIDs."""

_DAY, _MINUTE = timedelta(days=1), timedelta(minutes=1)


def answer_calendar(answer: Answer, shown: Shown) -> bytes:
    """The lessons of an answer as a calendar.

    Events have the bell times where the scenario states them together with a time zone, and last the whole day otherwise.
    """
    laid = laid_out(answer)
    events = brought_up_to_date(_planned(laid, shown), answer.instance.scenario.term, shown)
    return written_calendar(answer.instance.scenario, events, f" {answer.run.version}")


def sequence_calendar(scenario: Scenario, previous: Sequence | Previous) -> bytes:
    """The calendar of a sequence that was made before, as an earlier one to bring up to date.

    A period that the class no longer has counts too: what lay there has moved or is cancelled; so do lessons that are gone.
    """
    before = previous if isinstance(previous, Previous) else Previous(previous)
    shown = Shown()
    laid = Laid(build_instance(scenario), before.sequence)
    events = planned_events(laid, shown)
    owners = {owner.id: owner for owner in laid.instance.classes}
    for gone in before.gone:
        events.append(_stood(scenario, owners[gone.class_id], (gone.unit, gone.lesson), gone.title, gone.date, shown))
    return written_calendar(scenario, events, "")


def planned_events(laid: Laid, shown: Shown) -> list[Component]:
    """An event for each lesson of a sequence that is shown, also where its class does not meet in the period that it has."""
    scenario = laid.instance.scenario
    events = list(_planned(laid, shown))
    for stray in laid.sequence.strays:
        lesson = laid.instance.lessons[stray.lesson]
        owner = laid.instance.class_of(lesson)
        if not laid.placed(stray.lesson) and shown.shows(owner.id, owner.teacher):
            events.append(_stood(scenario, owner, (lesson.unit, lesson.id), lesson.title, stray.date, shown))
    return events


def _stood(scenario: Scenario, owner: ClassFacts, name: tuple[str, str], title: str, day: date, shown: Shown) -> Event:
    """A lesson that was planned for a day and is not where a period is any more."""
    event = begun(uid_of(scenario, owner.id, *name), shown.now)
    event.add("dtstart", day)
    event.add("summary", f"{owner.name}: {one_line(title)}")
    told_apart(event, scenario, owner.id, owner.teacher)
    return event


def written_calendar(scenario: Scenario, events: Iterable[Component], version: str) -> bytes:
    """Events as a calendar, with the time zones that they name."""
    events = list(events)
    calendar = Calendar()
    calendar.add("prodid", f"-//Unit sequencer//Unit sequencer{version}//EN")
    calendar.add("version", "2.0")
    if scenario.title:
        calendar.add("name", one_line(scenario.title))
    for part in (*_time_zones(events), *events):
        calendar.add_component(part)
    text: bytes = calendar.to_ical()
    return text


def _planned(laid: Laid, shown: Shown) -> Iterator[Component]:
    scenario = laid.instance.scenario
    bells = _Bells(scenario)
    outlined = _outlined(laid)
    return (_event(scenario, bells, line, outlined.get(line.lesson.index, ()), shown.now) for line in lines_of(laid, shown))


def _outlined(laid: Laid) -> dict[int, tuple[str, ...]]:
    """What is done in each lesson that has parts, minute by minute, and the cautions that this calls for."""
    if not any(lesson.parts for lesson in laid.instance.lessons):
        return {}
    found = {}
    for each in outline_sequence(laid).lessons:
        told = ["No outline: its parts do not fit"] if each.why_not is not None else []
        for row in each.laid.rows if each.laid is not None else ():
            told.append(f"{row.start} to {row.start + row.minutes} min: {one_line(row.title)}")
        index = each.inside.lesson
        found[index] = (*told, *cautions_of(laid, laid.instance.lessons[index], tags_of(each)))
    return found


def begun(uid: UUID, now: datetime) -> Event:
    """An event, before it is said what it is of."""
    event = Event()
    event.add("uid", str(uid))
    event.add("dtstamp", now.replace(microsecond=0))
    event.add("sequence", 0)
    event.add("status", "CONFIRMED")
    return event


def told_apart(event: Event, scenario: Scenario, class_id: str, teacher: str | None) -> None:
    """Say what the next calendar needs to know of an event."""
    event.add(CLASS, class_id)
    if teacher is not None:
        event.add(TEACHER, teacher)
    event.add(TERM, scenario.term.first.isoformat())


def _event(scenario: Scenario, bells: _Bells, line: Line, outlined: tuple[str, ...], now: datetime) -> Event:
    event = begun(uid_of(scenario, line.owner.id, line.lesson.unit, line.lesson.id), now)
    begins, ends = bells.times(line.slots)
    event.add("dtstart", begins)
    event.add("dtend", ends)
    how = how_taught(line.taught)
    title = f"{line.title} ({how})" if how else line.title
    periods = f"{'Period' if len(line.slots) == 1 else 'Periods'} {line.periods}"
    event.add("summary", f"{line.owner.name}: {title}" if bells.stated else f"{periods}, {line.owner.name}: {title}")
    told = (f"{periods}, {line.lesson.kind}", *details(line), *notes_of(line), *outlined, *line.cautions)
    event.add("description", "\n".join(dict.fromkeys(told)))
    event.add("categories", [line.owner.name])
    event.add("transp", "OPAQUE" if bells.stated else "TRANSPARENT")
    told_apart(event, scenario, line.owner.id, line.teacher)
    return event


def uid_of(scenario: Scenario, class_id: str, unit: str, lesson: str) -> UUID:
    """The same for a lesson of a class however its date and title change; another one in another term."""
    names = (scenario.term.first.isoformat(), class_id, unit, lesson)
    return uuid5(_OURS, json.dumps(names))


class _Bells:
    """When periods begin and end, where the scenario says so."""

    def __init__(self, scenario: Scenario) -> None:
        # Bell times without a zone would be read as this or that zone's, an hour off: whole days are safer.
        self._zone = ZoneInfo(scenario.time_zone) if scenario.time_zone is not None else None
        self._times = {bell.number: (bell.starts, bell.ends) for bell in scenario.periods}
        self.stated = self._zone is not None and bool(self._times)

    def times(self, slots: tuple[Slot, ...]) -> tuple[date, date]:
        """When a lesson over these slots begins and ends: two moments, or its date and the day after."""
        day = slots[0].date
        if not self.stated:
            return day, day + timedelta(days=1)
        begins, ends = self._times[slots[0].period][0], self._times[slots[-1].period][1]
        return tuple(datetime.combine(day, time.fromisoformat(clock), self._zone) for clock in (begins, ends))  # type: ignore[return-value]


def _time_zones(events: Iterable[Component]) -> list[Timezone]:
    """The rules of every zone that the events name, over the time in which they lie."""
    days: dict[str, list[date]] = {}
    for event in events:
        for name in {"DTSTART", "DTEND"} & event.keys():
            moment = value(event, name)
            if "TZID" in moment.params:
                days.setdefault(moment.params["TZID"], []).append(moment.dt.date())
    return [time_zone(name, min(own), max(own)) for name, own in days.items()]


def time_zone(name: str, first: date, last: date) -> Timezone:
    """What a zone's clocks show from ``first`` to ``last`` (RFC 5545, section 3.6.5).

    The library makes such descriptions too, but its onsets in spring are an hour late: they must stand in the time before the
    change.
    """
    zone = ZoneInfo(name)
    found = Timezone()
    found.add("tzid", name)
    begins = datetime.combine(first, time(), UTC) - _DAY
    changes = list(_changes(zone, begins, datetime.combine(last, time(), UTC) + 2 * _DAY))
    for instant in (begins, *changes):
        local = instant.astimezone(zone)
        before = _offset(zone, instant - _MINUTE) if instant in changes else _offset(zone, instant)
        observance = TimezoneDaylight() if local.dst() else TimezoneStandard()
        observance.add("dtstart", (instant + before).replace(tzinfo=None))
        observance.add("tzoffsetfrom", before)
        observance.add("tzoffsetto", _offset(zone, instant))
        observance.add("tzname", local.tzname() or name)
        found.add_component(observance)
    return found


def _changes(zone: ZoneInfo, begins: datetime, ends: datetime) -> Iterator[datetime]:
    """The moments at which the zone's offset changes, to the minute."""
    while begins < ends:
        steady, changed = begins, begins + _DAY
        if _offset(zone, steady) != _offset(zone, changed):
            while changed - steady > _MINUTE:
                middle = steady + (changed - steady) // 2
                middle = middle.replace(second=0, microsecond=0)
                if middle == steady:
                    break
                if _offset(zone, middle) == _offset(zone, begins):
                    steady = middle
                else:
                    changed = middle
            yield changed
        begins += _DAY


def _offset(zone: ZoneInfo, instant: datetime) -> timedelta:
    offset = instant.astimezone(zone).utcoffset()
    assert offset is not None
    return offset
