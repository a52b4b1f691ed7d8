"""Calendars and tables from other programs: read as the scenario means them; what is wrong is told by its line."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject

from sequencer import (
    Scenario,
    UnusableInput,
    load_scenario,
    read_foreign_calendar,
    read_foreign_table,
    scenario_data,
    with_foreign,
)

LONDON = ZoneInfo("Europe/London")

BEFORE = """\
format: 1
term: {first: 2026-10-05, last: 2026-11-27, cycle: [A, B]}
time_zone: Europe/London
periods:
  - {number: 1, starts: "09:00", ends: "10:00"}
  - {number: 2, starts: "10:00", ends: "11:00"}
  - {number: 4, starts: "13:30", ends: "14:30"}
units: [{id: rivers, lessons: [{id: source}]}]
classes:
  - {id: 9B, units: rivers, timetable: {Mon: 1}}
  - {id: 9BX, units: rivers, timetable: {Tue: 1}}
"""

MEANT = {
    "term": {"first": "2026-10-05", "last": "2026-11-27", "cycle": ["A", "B"]},
    "holidays": [{"name": "Autumn half-term", "first": "2026-10-26", "last": "2026-10-30"}],
    "closures": [{"name": "INSET day", "on": "2026-11-13"}],
    "9B": {"A": {"Mon": [1, 2], "Thu": [4]}, "B": {"Mon": [1, 2]}},
}
"""What both calendars say: Mondays, a double; Thursdays of weeks A alone. Clocks change in between, on 25 October."""


@pytest.fixture(name="before", scope="module")
def a_scenario() -> Scenario:
    return load_scenario(BEFORE)


def by_icalendar() -> bytes:
    calendar = icalendar.Calendar()
    calendar.add("prodid", "-//A writer//EN")
    calendar.add("version", "2.0")

    def put(uid: str, summary: str, begins: date, ends: date, **more: object) -> None:
        event = icalendar.Event()
        event.add("uid", uid)
        event.add("dtstamp", datetime(2026, 9, 1, tzinfo=ZoneInfo("UTC")))
        event.add("summary", summary)
        event.add("dtstart", begins)
        event.add("dtend", ends)
        for name, value in more.items():
            event.add(name, value)
        calendar.add_component(event)

    put("t", "Autumn term", date(2026, 10, 5), date(2026, 11, 28))
    put("h", "Autumn half-term", date(2026, 10, 26), date(2026, 10, 31))
    put("c", "INSET day", date(2026, 11, 13), date(2026, 11, 14))
    put("o", "Open evening", date(2026, 11, 5), date(2026, 11, 6))
    monday = datetime(2026, 10, 5, 9, tzinfo=LONDON)
    until = {"freq": "weekly", "until": datetime(2026, 11, 30, tzinfo=ZoneInfo("UTC"))}
    put("m", "9B Geography", monday, monday.replace(hour=11), rrule=until, exdate=monday + timedelta(weeks=3))
    # The half-term takes a week out of the cycle, so weeks A go on in another rhythm after it.
    for day in (8, 43):
        thursday = datetime(2026, 10, 1, 13, 30, tzinfo=LONDON) + timedelta(days=day - 1)
        end = thursday.replace(hour=14, minute=30)
        put(f"th{day}", "Geography (9B), room 4", thursday, end, rrule={"freq": "weekly", "interval": 2, "count": 2})
    put("d", "Duty", monday.replace(hour=12), monday.replace(hour=13), rrule={"freq": "weekly", "count": 5})
    calendar.add_missing_timezones()
    return calendar.to_ical()  # type: ignore[no-any-return]


def by_vobject() -> bytes:
    calendar = vobject.iCalendar()

    def put(uid: str, summary: str, begins: date, ends: date, rule: str = "") -> None:
        event = calendar.add("vevent")
        event.add("uid").value = uid
        event.add("summary").value = summary
        event.add("dtstart").value = begins
        event.add("dtend").value = ends
        if rule:
            event.add("rrule").value = rule

    put("b", "Term begins", date(2026, 10, 5), date(2026, 10, 6))
    put("e", "Last day of term", date(2026, 11, 27), date(2026, 11, 28))
    put("h", "Autumn half-term", date(2026, 10, 26), date(2026, 10, 31))
    put("c", "INSET day", date(2026, 11, 13), date(2026, 11, 14))
    utc = vobject.icalendar.utc
    # In UTC and with no rule: what some programs write. 09:00 in London is 08:00 in summer time and 09:00 in winter.
    for week in (0, 1, 2, 4, 5, 6, 7):
        hour = 8 if week < 3 else 9
        begins = datetime(2026, 10, 5, hour, tzinfo=utc) + timedelta(weeks=week)
        put(f"m{week}", "9b geography", begins, begins + timedelta(hours=1))
        put(f"n{week}", "9b geography", begins + timedelta(hours=1), begins + timedelta(hours=2))
    for week in (0, 2, 5, 7):
        begins = datetime(2026, 10, 8, 12 if week < 3 else 13, 30, tzinfo=utc) + timedelta(weeks=week)
        put(f"t{week}", "9B", begins, begins + timedelta(hours=1))
    return calendar.serialize().encode()  # type: ignore[no-any-return]


@pytest.mark.parametrize("writer", [by_icalendar, by_vobject])
def test_a_calendar_is_read_as_it_is_meant(writer: object, before: Scenario) -> None:
    foreign = read_foreign_calendar(writer(), before)  # type: ignore[operator]
    data = scenario_data(with_foreign(before, foreign))
    assert {key: data[key] for key in ("term", "holidays", "closures")} == {
        key: MEANT[key] for key in ("term", "holidays", "closures")
    }
    weeks = data["classes"][0]["timetable"]
    assert plain(weeks) == MEANT["9B"]
    assert plain(data["classes"][1]["timetable"]) == {"every": {"Tue": [1]}}
    told = " | ".join(says for _, says in foreign.told)
    assert "9B Mon period 1 in weeks A: 4 dates" in told
    if writer is by_icalendar:
        assert '"Open evening", Thu 5 Nov 2026: neither' in told and '"Duty" names no class' in told


def plain(timetables: object) -> dict[str, dict[str, list[int]]]:
    """A timetable as weekday to period numbers, by label."""
    found = timetables
    if isinstance(found, list):
        (found,) = found
    assert isinstance(found, dict)
    weeks = found.get("weeks", found)
    if "Mon" in weeks or "Tue" in weeks:
        weeks = {"every": weeks}
    numbers = {}
    for label, days in weeks.items():
        entries = {day: value if isinstance(value, list) else [value] for day, value in days.items()}
        numbers[label] = {
            day: [each["period"] if isinstance(each, dict) else each for each in own] for day, own in entries.items()
        }
    return numbers


TABLE = """\
kind,name,first,last,class,weekday,period,week
term,,2026-10-05,2026-11-27,,,,
holiday,Autumn half-term,2026-10-26,2026-10-30,,,,
closure,"INSET day",2026-11-13,,,,,
lesson,,,,9B,Monday,1,
lesson,,,,9B,Mon,2,
lesson,,,,9B,Thu,4,A
"""


def test_a_table_is_read_as_it_is_meant(before: Scenario) -> None:
    foreign = read_foreign_table(TABLE.replace("\n", "\r\n").encode(), before)
    data = scenario_data(with_foreign(before, foreign))
    assert (data["term"], data["holidays"], data["closures"]) == (MEANT["term"], MEANT["holidays"], MEANT["closures"])
    assert plain(data["classes"][0]["timetable"]) == MEANT["9B"]
    assert (7, "9B Thu period 4 in weeks A") in foreign.told
    again = with_foreign(with_foreign(before, foreign), read_foreign_table(TABLE.encode(), before))
    assert scenario_data(again) == data, "taken twice it changes nothing"


def event(*lines: str) -> str:
    begin = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//x//EN", "BEGIN:VEVENT"]
    return "\r\n".join([*begin, *lines, "END:VEVENT", "END:VCALENDAR", ""])


DAY = ("UID:1", "SUMMARY:INSET day", "DTSTART;VALUE=DATE:20261113")
LESSON = ("UID:1", "SUMMARY:9B", "DTSTART;TZID=Europe/London:20261005T090000", "DTEND;TZID=Europe/London:20261005T100000")

SPOILT = {
    "nothing at all": (b"", 1, "BEGIN:VCALENDAR"),
    "no calendar": (b"Dear colleague,\nthe term begins\n", 1, "BEGIN:VCALENDAR"),
    "no event": (b"BEGIN:VCALENDAR\nVERSION:2.0\nEND:VCALENDAR\n", 1, "holds no event"),
    "not UTF-8": (event("UID:1", "SUMMARY:Fl\u00fcsse", DAY[2]).encode("latin-1"), 6, "UTF-8"),
    "no colon": (event(*DAY, "a line of nothing").encode(), 8, "no colon"),
    "an event that does not end": (event(*DAY).replace("END:VEVENT\r\n", "").encode(), 8, "ends VCALENDAR"),
    "cut off": (event(*DAY).split("END:VEVENT")[0].encode(), 4, "does not end"),
    "an end too many": (event(*DAY, "END:VEVENT").encode(), 9, "ends VEVENT"),
    "no UID": (event(*DAY[1:]).encode(), 4, "without UID"),
    "no DTSTART": (event(*DAY[:2]).encode(), 4, "without DTSTART"),
    "a date that is none": (event(*DAY[:2], "DTSTART;VALUE=DATE:20261332").encode(), 7, "DTSTART"),
    "a year far off": (event(*DAY[:2], "DTSTART;VALUE=DATE:02261113").encode(), 7, "year 226"),
    "two beginnings": (event(*DAY, DAY[2]).encode(), 7, "second DTSTART"),
    "an end before the beginning": (event(*DAY, "DTEND;VALUE=DATE:20261110").encode(), 8, "before DTSTART"),
    "a date and a time": (event(*LESSON[:3], "DTEND;VALUE=DATE:20261006").encode(), 8, "a date where"),
    "a zone that nobody knows": (event(*LESSON[:2], "DTSTART;TZID=Nowhere/Town:20261005T090000").encode(), 7, "Nowhere/Town"),
    "a rule that is none": (event(*LESSON, "RRULE:EVERY=week").encode(), 9, "DAILY"),
    "every second": (event(*LESSON, "RRULE:FREQ=SECONDLY").encode(), 9, "DAILY"),
    "a count and an end": (event(*LESSON, "RRULE:FREQ=WEEKLY;COUNT=3;UNTIL=20261101T000000Z").encode(), 9, "both COUNT"),
    "an end and a duration": (event(*LESSON, "DURATION:PT1H").encode(), 9, "beside a DTEND"),
    "a duration that is none": (event(*LESSON[:3], "DURATION:an hour").encode(), 8, "DURATION"),
    "one UID twice": (event(*DAY, "END:VEVENT", "BEGIN:VEVENT", *DAY).encode(), 10, "line 4"),
    "too large": (event(*DAY, *["X-FILL:" + "x" * 60] * 40_000).encode(), 1, "too large"),
}


@pytest.mark.parametrize("name", SPOILT)
def test_a_spoilt_calendar_is_told_by_its_line(name: str, before: Scenario) -> None:
    text, line, says = SPOILT[name]
    with pytest.raises(UnusableInput) as told:
        with_foreign(before, read_foreign_calendar(text, before))
    assert [(each.line, says in each.message) for each in told.value.problems] == [(line, True)], told.value.problems


SPOILT_TABLES = {
    "nothing": ("", 1, "names no columns"),
    "no kind": ("name,first\nx,2026-11-13\n", 1, "no column kind"),
    "a column nobody knows": ("kind,colour\n", 1, '"colour"'),
    "a column twice": ("kind,name,name\n", 1, "twice"),
    "a row too short": (TABLE + "closure,Snow\n", 8, "2 cells"),
    "a kind nobody knows": (TABLE.replace("closure,", "strike,"), 4, '"strike"'),
    "a date that is none": (TABLE.replace("2026-11-13", "13/11/2026"), 4, "13/11/2026"),
    "the wrong way round": (TABLE.replace("2026-10-30", "2026-10-20"), 3, "before first"),
    "no class": (TABLE.replace("9B,Thu", "7X,Thu"), 7, '"7X"'),
    "no weekday": (TABLE.replace("9B,Thu", "9B,Someday"), 7, "weekday"),
    "no period": (TABLE.replace("Thu,4", "Thu,four"), 7, "period"),
    "no week": (TABLE.replace("4,A", "4,C"), 7, "weeks are A, B"),
    "a quote left open": (TABLE.replace('"INSET day"', '"INSET day'), 7, "RFC 4180"),
    "what does not belong": (TABLE.replace("2026-11-13,,,,,", "2026-11-13,,9B,,,"), 4, "has a class"),
}


@pytest.mark.parametrize("name", SPOILT_TABLES)
def test_a_spoilt_table_is_told_by_its_line(name: str, before: Scenario) -> None:
    text, line, says = SPOILT_TABLES[name]
    with pytest.raises(UnusableInput) as told:
        read_foreign_table(text.encode(), before)
    assert (line, True) in [(each.line, says in each.message) for each in told.value.problems], told.value.problems
