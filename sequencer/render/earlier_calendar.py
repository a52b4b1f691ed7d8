"""A calendar written before, what of it a new one changes or cancels, and what is told of that."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from icalendar import Calendar, Component, Event, vInt

from sequencer.errors import Problem, UnusableInput
from sequencer.render.shown import Shown
from sequencer.scenario.calendar_schema import Term
from sequencer.scenario.schema import Scenario

CLASS, TEACHER, TERM = "X-UNIT-SEQUENCER-CLASS", "X-UNIT-SEQUENCER-TEACHER", "X-UNIT-SEQUENCER-TERM"
"""What our events say beside the standard: the id of their class, its teacher, and the first day of the term they belong to."""

MOST_BYTES = 10_000_000

_TELLING = ("DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "CATEGORIES", "STATUS", "TRANSP")
"""What makes a new version of an event when it changes."""


def brought_up_to_date(planned: Iterable[Component], term: Term, shown: Shown) -> list[Component]:
    """The planned events, with what the earlier calendar's people must know: higher SEQUENCE, and cancellations.

    Events of the earlier calendar are cancelled when they are of this term, or lie in it, and are of a class and teacher shown.
    """
    earlier = earlier_events(shown.previous) if shown.previous is not None else {}
    events = []
    for event in planned:
        before = earlier.pop(str(event["UID"]), None)
        if before is not None:
            changed = _telling(before) != _telling(_as_read(event))
            event["SEQUENCE"] = value(before, "SEQUENCE") + changed
            if not changed:
                event["DTSTAMP"] = before["DTSTAMP"]
        events.append(event)
    gone = (event for event in earlier.values() if _concerned(event, term, shown))
    return events + [_cancelled(event, shown.now) for event in gone]


def earlier_events(text: bytes) -> dict[str, Component]:
    """Our events of an earlier calendar by UID, of several with one the latest."""
    found = events_in(text)
    if not found:
        raise _unusable("holds no lesson that was written here")
    return found


def events_in(text: bytes) -> dict[str, Component]:
    """The same, and nothing where it holds none of ours."""
    if len(text) > MOST_BYTES:
        raise _unusable(f"is too large: at most {MOST_BYTES:,} bytes can be read")
    found: dict[str, Component] = {}
    try:
        for event in Calendar.from_ical(text).walk("VEVENT"):
            if CLASS in event and "RECURRENCE-ID" not in event:
                known = _known(event)
                uid = str(known["UID"])
                if uid not in found or value(known, "SEQUENCE") >= value(found[uid], "SEQUENCE"):
                    found[uid] = known
    except Exception as error:  # a damaged file can make the library fail in any way
        raise _unusable("is not a calendar that can be read (RFC 5545)") from error
    return found


def _known(event: Component) -> Component:
    """What we need of an event that was read, each thing stated once and of a form that we write; ValueError otherwise."""
    known = Event()
    for name in ("UID", "DTSTAMP", "SEQUENCE", *_TELLING, CLASS, TEACHER, TERM):
        if name not in event:
            continue
        stated = value(event, name)
        if isinstance(stated, list) or _UNFIT.search(stated.to_ical()):
            raise ValueError(name)
        if name in _MOMENTS:
            known.add(name, _moment(stated.dt, name))
        elif stated.params:
            raise ValueError(name)
        else:
            known[name] = stated
    missing = {"UID", "DTSTAMP", "DTSTART"} - known.keys()
    sequence = int(value(known, "SEQUENCE")) if "SEQUENCE" in known else 0
    if missing or sequence < 0:
        raise ValueError("SEQUENCE")
    known["SEQUENCE"] = vInt(sequence)
    known.to_ical()
    return known


def _moment(stated: object, name: str) -> date:
    """A date, or a moment with a zone that is known, of a year that a school knows."""
    if not isinstance(stated, date) or not _YEARS[0] < stated.year < _YEARS[1]:
        raise ValueError(name)
    if isinstance(stated, datetime):
        if name == "DTSTAMP":
            return stated.astimezone(UTC)
        if stated.tzinfo is not UTC:
            ZoneInfo(getattr(stated.tzinfo, "key", ""))
    elif name == "DTSTAMP":
        raise ValueError(name)
    return stated


_MOMENTS = {"DTSTAMP", "DTSTART", "DTEND"}
_YEARS = (1900, 2200)
_UNFIT = re.compile(rb"[\x00-\x08\x0a-\x1f\x7f]")


def _unusable(message: str) -> UnusableInput:
    return UnusableInput((Problem("", f"the earlier calendar {message}"),))


def _as_read(event: Component) -> Component:
    """An event as it would be read back, so that two can be compared."""
    return Event.from_ical(event.to_ical())


def _telling(event: Component) -> list[object]:
    stated = (value(event, name) if name in event else None for name in _TELLING)
    return [(each.to_ical(), sorted(each.params.items())) if each is not None else None for each in stated]


def _concerned(event: Component, term: Term, shown: Shown) -> bool:
    """Whether an event that is no longer planned is this plan's to cancel."""
    moment = value(event, "DTSTART").dt
    day = moment.date() if isinstance(moment, datetime) else moment
    ours = str(event.get(TERM)) == term.first.isoformat() or (isinstance(day, date) and term.begins <= day <= term.last)
    teacher = str(event[TEACHER]) if TEACHER in event else None
    return ours and shown.shows(str(event[CLASS]), teacher)


def _cancelled(event: Component, now: datetime) -> Component:
    if str(event.get("STATUS")) == "CANCELLED":
        return event
    gone = Event()
    for name in ("UID", "DTSTART", "DTEND", "SUMMARY", "CATEGORIES", CLASS, TEACHER, TERM):
        if name in event:
            gone[name] = event[name]
    gone.add("dtstamp", now.replace(microsecond=0))
    gone.add("sequence", value(event, "SEQUENCE") + 1)
    gone.add("status", "CANCELLED")
    gone.add("transp", "TRANSPARENT")
    return gone


def value(event: Component, name: str) -> Any:
    """A value of an event, of whatever type it has there."""
    return event[name]


# -- what is told ---------------------------------------------------------------------------------------------------------

NO_ZONE = (
    "Bell times are stated without a time zone, so every event lasts all day: state time_zone (in a workbook on the sheet Term), "
    "such as Europe/London."
)

NEW, MOVED, CHANGED, CANCELLED, UNCHANGED = "new", "moved", "changed otherwise", "cancelled", "unchanged"


def calendar_notes(scenario: Scenario, previous: bytes | None = None, text: bytes = b"") -> list[str]:
    """Sentences to tell beside the calendar of a scenario; ``previous`` is the earlier one that it brings up to date."""
    notes = [NO_ZONE] if scenario.periods and scenario.time_zone is None else []
    if previous is not None:
        counts = changes(previous, text)
        said = [f"{count} {what}" for what, count in counts.items() if count or what != CHANGED]
        notes.append(f"Beside the earlier calendar: {', '.join(said)}.")
    return notes


def changes(previous: bytes, text: bytes) -> dict[str, int]:
    """How many events of a calendar are new, moved, changed otherwise, cancelled and unchanged beside an earlier one.

    What was cancelled there already is not counted; what comes back is new.
    """
    earlier, counts = events_in(previous), dict.fromkeys((NEW, MOVED, CHANGED, CANCELLED, UNCHANGED), 0)
    for uid, event in events_in(text).items():
        before = earlier.get(uid)
        if before is not None and _is_cancelled(before):
            before = None
        if _is_cancelled(event):
            counts[CANCELLED] += before is not None
        elif before is None:
            counts[NEW] += 1
        elif _lies(before) != _lies(event):
            counts[MOVED] += 1
        else:
            counts[CHANGED if value(before, "SEQUENCE") != value(event, "SEQUENCE") else UNCHANGED] += 1
    return counts


def _is_cancelled(event: Component) -> bool:
    return str(event.get("STATUS")) == "CANCELLED"


def _lies(event: Component) -> list[object]:
    return [value(event, name).dt if name in event else None for name in ("DTSTART", "DTEND")]
