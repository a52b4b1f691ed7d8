"""The calendar, naively: dates walked one by one to the slots of a class.

A second reading of the written words; entries are read in every form in which a user may write them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

Raw = dict[str, Any]
DAY = timedelta(days=1)
WEEKDAY_NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True)
class Slot:
    """One timetabled period of one class on one date."""

    day: date
    period: int
    week: int
    label: str
    cycle: int
    remote: str
    """Empty in class, else open, live or set work."""
    offers: frozenset[str]
    teacher: str | None
    refusals: tuple[Raw, ...]
    usable: bool = True
    """Whether it can still be used: on or after today, and free of delivered lessons."""


# -- dates -------------------------------------------------------------------------------------------------------------


def listed(value: Any) -> list[Any]:
    """One word, number or mapping stands for a list of one."""
    if value is None:
        return []
    return list(value) if isinstance(value, list | tuple) else [value]


def day_of(text: str) -> date:
    return date.fromisoformat(text)


def _walk(first: date, last: date) -> Iterator[date]:
    while first <= last:
        yield first
        first += DAY


def dates_of(entry: Raw) -> set[date]:
    if entry.get("on"):
        return {day_of(text) for text in listed(entry["on"])}
    return set(_walk(day_of(entry["first"]), day_of(entry["last"])))


def _concerns(entry: Raw, class_id: str, day: date, period: int) -> bool:
    return (
        day in dates_of(entry)
        and (not entry.get("classes") or class_id in listed(entry["classes"]))
        and (not entry.get("periods") or period in listed(entry["periods"]))
    )


@dataclass(frozen=True)
class Weeks:
    """School weeks by their Monday: number, label and cycle."""

    number: dict[date, int]
    label: dict[date, str]
    cycle: dict[date, int]


def _monday(day: date) -> date:
    return day - day.weekday() * DAY


def _holidays(data: Raw) -> set[date]:
    return {day for entry in data.get("holidays", []) for day in dates_of(entry)}


def school_weeks(data: Raw) -> Weeks:
    term, holidays = data["term"], _holidays(data)
    cycle = listed(term.get("cycle", ["A"]))
    at = cycle.index(term.get("first_label") or cycle[0])
    days = [day for day in _walk(day_of(term["first"]), day_of(term["last"])) if day.weekday() < 5 and day not in holidays]
    mondays = sorted({_monday(day) for day in days})
    weeks = Weeks({}, {}, {})
    before, cycles = None, 0
    earlier = [monday for monday in mondays if monday < _monday(day_of(term.get("week_one") or term["first"]))]
    offset = len(earlier) if len(earlier) < len(mondays) else 0
    for count, monday in enumerate(mondays):
        moved = (monday - mondays[0]).days // 7 if term.get("labels_follow") == "calendar weeks" else count
        place = (at + moved) % len(cycle)
        if before is None or place <= before:
            cycles += 1
        weeks.number[monday], weeks.label[monday], weeks.cycle[monday] = count + 1 - offset, cycle[place], cycles
        before = place
    return weeks


def school_days(data: Raw) -> frozenset[date]:
    term, gone = data["term"], _holidays(data)
    for closure in data.get("closures", []):
        if not closure.get("classes") and not closure.get("periods"):
            gone |= dates_of(closure)
    days = _walk(day_of(term["first"]), day_of(term["last"]))
    return frozenset(day for day in days if day.weekday() < 5 and day not in gone)


# -- slots -------------------------------------------------------------------------------------------------------------


def _timetables(raw: Any, term_first: str) -> list[tuple[date, Raw]]:
    if isinstance(raw, dict):
        raw = [{"weeks": {"every": raw} if all(key in WEEKDAY_NAMES for key in raw) else raw}]
    return [(day_of(entry.get("first") or term_first), entry["weeks"]) for entry in raw]


def _designation(spell: Raw, class_id: str, day: date, period: int) -> str:
    taught: str = spell.get("taught", "open")
    for entry in spell.get("fixed", []):
        if (
            (not entry.get("classes") or class_id in listed(entry["classes"]))
            and (not entry.get("weekdays") or WEEKDAY_NAMES[day.weekday()] in listed(entry["weekdays"]))
            and (not entry.get("periods") or period in listed(entry["periods"]))
            and (not entry.get("on") or day in {day_of(text) for text in listed(entry["on"])})
        ):
            taught = entry["taught"]
    return taught


def _lost(data: Raw, class_id: str, day: date, period: int) -> bool:
    """Whether the record says that the period did not take place; where it names no period, none of the date did."""
    return any(
        entry.get("what") == "lost" and entry["class"] == class_id and day_of(entry["date"]) == day
        and entry.get("period") in (None, period)
        for entry in data.get("record", [])
    )  # fmt: skip


def slots_of(data: Raw, group: Raw, weeks: Weeks) -> tuple[Slot, ...]:
    term, holidays = data["term"], _holidays(data)
    timetables = _timetables(group["timetable"], term["first"])
    last = min(day_of(term["last"]), day_of(group.get("leaves") or term["last"]))
    slots = []
    for day in _walk(day_of(term["first"]), last):
        monday = _monday(day)
        in_force = [table for start, table in timetables if start <= day]
        if day in holidays or monday not in weeks.number or not in_force:
            continue
        label = weeks.label[monday]
        for key in (label, "every"):
            for entry in listed(in_force[-1].get(key, {}).get(WEEKDAY_NAMES[day.weekday()])):
                entry = entry if isinstance(entry, dict) else {"period": entry}
                period = entry["period"]
                closed = any(_concerns(closure, group["id"], day, period) for closure in data.get("closures", []))
                if closed or _lost(data, group["id"], day, period):
                    continue
                spells = [spell for spell in data.get("remote_spells", []) if _concerns(spell, group["id"], day, period)]
                if spells:
                    remote = _designation(spells[-1], group["id"], day, period)
                    offers = frozenset(listed(spells[-1].get("offers")))
                else:
                    remote = ""
                    offers = frozenset(["in school", *listed(group.get("offers")), *listed(entry.get("offers"))])
                restricted = data.get("restricted_days", [])
                refusals = tuple(r["refuses"] for r in restricted if _concerns(r, group["id"], day, period))
                teacher = entry.get("teacher") or group.get("teacher")
                where = (weeks.number[monday], label, weeks.cycle[monday])
                slots.append(Slot(day, period, *where, remote, offers, teacher, refusals))
    return tuple(sorted(slots, key=lambda slot: (slot.day, slot.period)))
