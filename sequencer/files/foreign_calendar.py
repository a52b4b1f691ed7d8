"""A calendar that another program wrote (RFC 5545), understood as dates of term, days off and a teacher's timetable.

An event of whole days is a holiday or a closure, or says when the term begins or ends, by its categories or the words of its
summary. One with times is a lesson where its summary names a class and its times are those of a period. Recurrences are laid out
over the term. The libraries read events and recurrences; only where something stands is looked up here, so that what is wrong is
told by its line.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from icalendar import Calendar, Component

from sequencer.errors import Problem
from sequencer.files.foreign import (
    CLOSURE,
    HOLIDAY,
    MOST_BYTES,
    MOST_ENTRIES,
    Foreign,
    ForeignDays,
    ForeignPeriod,
    at_line,
    refuse,
)
from sequencer.render.earlier_calendar import value
from sequencer.scenario.schema import Scenario
from sequencer.words import day_text

_HOLIDAY = re.compile(r"\b(holidays?|half[ -]term|vacation|break|easter|christmas)\b", re.IGNORECASE)
_CLOSURE = re.compile(r"\b(inset|training days?|closed|closures?|staff days?|no pupils)\b", re.IGNORECASE)
_BEGINS = re.compile(r"\b(term|school)\b.*\b(begins|starts|opens)\b|\b(first day|start|beginning) of term\b", re.IGNORECASE)
_ENDS = re.compile(r"\b(term|school)\b.*\b(ends|finishes)\b|\b(last day|end) of term\b", re.IGNORECASE)
_TERM = re.compile(r"\bterm\b", re.IGNORECASE)

_DAY = timedelta(days=1)


@dataclass(frozen=True)
class _EventLines:
    """The lines of an event, and the number of the first."""

    first: int
    lines: list[str]

    def line_of(self, name: str) -> int:
        """The line at which a property stands; that of the event's beginning where it does not."""
        found = (number for number, line in enumerate(self.lines) if re.match(rf"{re.escape(name)}[;:]", line, re.IGNORECASE))
        return self.first + next(found, 0)


def read_foreign_calendar(text: bytes, scenario: Scenario) -> Foreign:
    """Understand a calendar for a scenario.

    Raises
    ------
    UnusableInput
        With everything that is wrong, each at its line.
    """
    parts = _parts(text)
    problems: list[Problem] = []
    foreign, bells = Foreign(), _BellPeriods(scenario)
    events = [(part, event) for part in parts[1] if (event := _event(part, parts[0], problems)) is not None]
    seen: dict[tuple[str, str], int] = {}
    for part, event in events:
        name = (str(value(event, "UID")), str(value(event, "RECURRENCE-ID").to_ical()) if "RECURRENCE-ID" in event else "")
        if name in seen:
            problems.append(at_line(part.line_of("UID"), f"is the UID of the event at line {seen[name]} too"))
        seen[name] = part.first
    refuse(problems)
    timed: list[tuple[_EventLines, Component]] = []
    for part, event in events:
        if isinstance(value(event, "DTSTART").dt, datetime):
            timed.append((part, event))
        else:
            _whole_days(part, event, foreign)
    term = (foreign.first or scenario.term.first, foreign.last or scenario.term.last)
    classes = {each.id: re.compile(rf"(?<!\w){re.escape(each.id)}(?!\w)", re.IGNORECASE) for each in scenario.classes}
    for part, event in timed:
        summary = str(event.get("SUMMARY", ""))
        named = [class_id for class_id, words in classes.items() if words.search(summary)]
        if len(named) != 1:
            why = "names no class of the scenario" if not named else f"names {' and '.join(named)}"
            foreign.tell(part.first, f'"{summary}" {why}: not understood')
        elif "RECURRENCE-ID" not in event:
            own = [each for _, each in timed if value(each, "UID") == value(event, "UID")]
            _lessons(part, own, parts[0], named[0], term, bells, foreign, problems)
    refuse(problems)
    foreign.told.sort(key=lambda each: each[0])
    return foreign


class _BellPeriods:
    """Which period a time is."""

    def __init__(self, scenario: Scenario) -> None:
        self._zone = ZoneInfo(scenario.time_zone) if scenario.time_zone is not None else None
        bells = ((time.fromisoformat(each.starts), time.fromisoformat(each.ends), each.number) for each in scenario.periods)
        self._periods = {(starts, ends): number for starts, ends, number in bells}
        self.stated = bool(self._periods)

    def periods(self, begins: datetime, ends: datetime) -> tuple[int, ...]:
        """The periods that lie in a span of time, which begins with one and ends with one; none otherwise."""
        here = [self._local(each) for each in (begins, ends)]
        first, last = (each.time().replace(tzinfo=None) for each in here)
        inside = sorted((span, number) for span, number in self._periods.items() if first <= span[0] and span[1] <= last)
        fits = bool(inside) and inside[0][0][0] == first and inside[-1][0][1] == last
        return tuple(number for _, number in inside) if fits else ()

    def _local(self, moment: datetime) -> datetime:
        return moment.astimezone(self._zone) if moment.tzinfo is not None and self._zone is not None else moment


def _whole_days(part: _EventLines, event: Component, foreign: Foreign) -> None:
    """Understand an event of whole days."""
    summary = " ".join(str(event.get("SUMMARY", "")).split()) or "Without a name"
    first: date = value(event, "DTSTART").dt
    end: date = (
        value(event, "DTEND").dt if "DTEND" in event else first + (value(event, "DURATION").dt if "DURATION" in event else _DAY)
    )
    last = max(first, end - _DAY)
    categories: Any = event.get("CATEGORIES")
    said = " ".join([summary, *(str(each) for each in (categories.cats if hasattr(categories, "cats") else ()))])
    dates = day_text(first) if first == last else f"{day_text(first)} to {day_text(last)}"
    if _BEGINS.search(summary):
        foreign.first = first
        foreign.tell(part.first, f'"{summary}": the term begins on {day_text(first)}')
    elif _ENDS.search(summary):
        foreign.last = last
        foreign.tell(part.first, f'"{summary}": the term ends on {day_text(last)}')
    elif _CLOSURE.search(said) or _HOLIDAY.search(said):
        kind = CLOSURE if _CLOSURE.search(said) else HOLIDAY
        foreign.days.append(ForeignDays(kind, summary[:200], first, last, part.first))
        foreign.tell(part.first, f'"{summary}": a {kind}, {dates}')
    elif _TERM.search(said) and (last - first).days >= 14:
        foreign.first, foreign.last = first, last
        foreign.tell(part.first, f'"{summary}": the term, {dates}')
    else:
        foreign.tell(part.first, f'"{summary}", {dates}: neither a holiday nor a closure nor the term: not understood')


def _lessons(
    part: _EventLines,
    events: list[Component],
    zones: _EventLines,
    class_id: str,
    term: tuple[date, date],
    bells: _BellPeriods,
    foreign: Foreign,
    problems: list[Problem],
) -> None:
    """Lay out a lesson of a class over the term."""
    import recurring_ical_events  # here alone, since few ask for it

    calendar = Calendar()
    for each in (*Calendar.from_ical(_wrapped(zones, None)).subcomponents, *events):
        calendar.add_component(each)
    try:
        found = recurring_ical_events.of(calendar).between(term[0], term[1] + _DAY)
    except Exception as error:  # the library fails in any way over what cannot be laid out
        problems.append(at_line(part.line_of("RRULE"), f"cannot be laid out over the term ({type(error).__name__})"))
        return
    if len(found) > MOST_ENTRIES:
        problems.append(at_line(part.line_of("RRULE"), f"comes more than {MOST_ENTRIES:,} times in the term"))
        return
    for each in found:
        begins = value(each, "DTSTART").dt
        ends = value(each, "DTEND").dt if "DTEND" in each else begins
        periods = bells.periods(begins, ends)
        if not periods:
            why = "are not those of a period" if bells.stated else "say no period: the scenario states no bell times"
            foreign.tell(part.first, f"{class_id}: its times, {begins:%H:%M} to {ends:%H:%M}, {why}: not understood")
            return
        foreign.periods += [ForeignPeriod(class_id, begins.date(), period, part.first) for period in periods]


def _parts(text: bytes) -> tuple[_EventLines, list[_EventLines]]:
    """The lines of time zones, and those of each event.

    Raises
    ------
    UnusableInput
    """
    if len(text) > MOST_BYTES:
        refuse([at_line(1, f"is too large: at most {MOST_BYTES:,} bytes can be read")])
    lines: list[str] = []
    problems: list[Problem] = []
    for number, raw in enumerate(text.removeprefix(b"\xef\xbb\xbf").split(b"\n"), 1):
        try:
            lines.append(raw.rstrip(b"\r").decode())
        except UnicodeDecodeError:
            problems.append(at_line(number, "is not UTF-8"))
            lines.append("")
    zones: list[str] = []
    events: list[_EventLines] = []
    open_: list[tuple[str, int]] = []
    if not lines or lines[0].strip().upper() != "BEGIN:VCALENDAR":
        refuse([*problems, at_line(1, "must be BEGIN:VCALENDAR")])
    for number, line in enumerate(lines, 1):
        word, _, what = line.strip().partition(":")
        if word.upper() == "BEGIN":
            open_.append((what.upper(), number))
        elif word.upper() == "END":
            if not open_ or open_[-1][0] != what.upper():
                refuse([*problems, at_line(number, f"ends {what}, which is not begun or not the last that was")])
            kind, first = open_.pop()
            part = _EventLines(first, lines[first - 1 : number])
            if kind == "VEVENT":
                events.append(part)
            elif kind == "VTIMEZONE":
                zones += part.lines
        elif line and line[0] not in " \t" and ":" not in line:
            problems.append(at_line(number, "has no colon: a name, a colon and a value are expected"))
    if open_:
        problems.append(at_line(open_[-1][1], f"begins {open_[-1][0]}, which does not end"))
    if not problems and not events:
        problems.append(at_line(1, "holds no event"))
    if len(events) > MOST_ENTRIES:
        problems.append(at_line(1, f"holds more than {MOST_ENTRIES:,} events"))
    refuse(problems)
    return _EventLines(0, zones), events


def _wrapped(zones: _EventLines, part: _EventLines | None) -> str:
    own = part.lines if part is not None else []
    return "\r\n".join(["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//-//-//EN", *zones.lines, *own, "END:VCALENDAR", ""])


def _event(part: _EventLines, zones: _EventLines, problems: list[Problem]) -> Component | None:
    """An event as the library reads it; what is wrong with it is put to the problems."""
    before = len(problems)
    try:
        event = Calendar.from_ical(_wrapped(zones, part)).walk("VEVENT")[0]
    except Exception:  # a damaged event can make the library fail in any way
        problems.append(at_line(part.first, "is an event that cannot be read"))
        return None
    for name, _ in event.errors:
        problems.append(at_line(part.line_of(str(name)), f"is no {name} as RFC 5545 has it"))
    missing = [name for name in ("UID", "DTSTART") if name not in event]
    problems += [at_line(part.first, f"is an event without {name}") for name in missing if name not in dict(event.errors)]
    problems += [
        at_line(part.line_of(name), f"is a second {name}")
        for name in ("DTSTART", "DTEND", "RRULE", "UID", "SUMMARY")
        if isinstance(event.get(name), list) and name in event
    ]
    if len(problems) == before:
        _check_times(part, event, problems)
    return event if len(problems) == before else None


def _check_times(part: _EventLines, event: Component, problems: list[Problem]) -> None:
    begins = value(event, "DTSTART").dt
    if not 1900 < begins.year < 2200:
        problems.append(at_line(part.line_of("DTSTART"), f"is in the year {begins.year}"))
    for name in {"DTSTART", "DTEND"} & event.keys():
        zone = value(event, name).params.get("TZID")
        if zone is not None and getattr(value(event, name).dt, "tzinfo", None) is None:
            problems.append(at_line(part.line_of(name), f"names a time zone that is not known, {zone}"))
    if "DTEND" in event:
        ends = value(event, "DTEND").dt
        if "DURATION" in event:
            problems.append(at_line(part.line_of("DURATION"), "stands beside a DTEND: one of the two is expected"))
        elif isinstance(begins, datetime) is not isinstance(ends, datetime):
            problems.append(at_line(part.line_of("DTEND"), "is a date where DTSTART is a time, or the other way round"))
        elif isinstance(begins, datetime) and (begins.tzinfo is None) is not (ends.tzinfo is None):
            problems.append(at_line(part.line_of("DTEND"), "has a time zone where DTSTART has none, or the other way round"))
        elif ends < begins:
            problems.append(at_line(part.line_of("DTEND"), "lies before DTSTART"))
    if "RRULE" in event:
        rule = value(event, "RRULE")
        often = str(rule.get("FREQ", [""])[0]).upper()
        if often not in ("DAILY", "WEEKLY", "MONTHLY", "YEARLY"):
            problems.append(at_line(part.line_of("RRULE"), "must come DAILY, WEEKLY, MONTHLY or YEARLY"))
        if any(isinstance(each, int) and each < 1 for each in rule.get("INTERVAL", [])):
            problems.append(at_line(part.line_of("RRULE"), "has an INTERVAL of less than 1"))
        if "COUNT" in rule and "UNTIL" in rule:
            problems.append(at_line(part.line_of("RRULE"), "has both COUNT and UNTIL"))
