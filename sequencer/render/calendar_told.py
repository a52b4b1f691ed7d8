"""What is to be told beside a calendar: that its events last all day for want of a time zone, and what is new in it."""

from __future__ import annotations

from icalendar import Component

from sequencer.render.earlier_calendar import events_in, value
from sequencer.scenario.schema import Scenario

NO_ZONE = (
    "Bell times are stated without a time zone, so every event lasts all day: state time_zone (in a workbook on the sheet Term), "
    "such as Europe/London."
)

NEW, MOVED, CHANGED, CANCELLED, UNCHANGED = "new", "moved", "changed otherwise", "cancelled", "unchanged"


def calendar_notes(scenario: Scenario, previous: bytes | None = None, text: bytes = b"") -> list[str]:
    """Sentences to tell beside a calendar, or before one is made.

    Parameters
    ----------
    scenario
        Whose lessons it holds.
    previous
        The earlier calendar that it brings up to date, where there is one.
    text
        The calendar.
    """
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
