"""A time zone's clock changes over some dates, as a calendar states them (RFC 5545, section 3.6.5).

The library makes such descriptions too, but its onsets in spring are an hour late: they must stand in the time before the change.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from icalendar import Timezone, TimezoneDaylight, TimezoneStandard

_DAY, _MINUTE = timedelta(days=1), timedelta(minutes=1)


def time_zone(name: str, first: date, last: date) -> Timezone:
    """What a zone's clocks show from ``first`` to ``last``."""
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
